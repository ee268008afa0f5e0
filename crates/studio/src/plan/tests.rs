//! The plan as a whole.
