//! Tests of the whole: order in the source (`tests/tests/tidy.rs`). Whole runs of the command are in `crates/app/tests/command/`.
