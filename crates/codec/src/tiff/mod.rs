//! TIFF 6.0 and BigTIFF: 8 and 16 bits, strips and tiles in, parallel strips out.

mod lzw;
mod read;
mod strip;
mod write;

pub(crate) use read::{probe, read, strips};
pub(crate) use strip::Strips;
pub use write::{Compression, Whole, Writer, pack, write, write_together};
