//! JPEG (ITU-T T.81, JFIF, Exif): baseline and progressive, 8 bits, grey or YCbCr or RGB.

mod huffman;
mod progressive;
mod read;
mod scan;
mod walk;
mod write;

pub(crate) use read::{probe, read, scanned};
pub use write::{Subsampling, encode, write};
