//! PNG (ISO/IEC 15948, third edition): 8 and 16 bits.

mod read;
mod write;

pub(crate) use read::{probe, read};
pub use write::{Sample, write};
