//! Reads and writes picture files.
pub mod cgats;
