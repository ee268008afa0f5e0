//! Whole-job tests live in `tests/tests/`.
