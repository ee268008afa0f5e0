//! Reads and writes picture files.
