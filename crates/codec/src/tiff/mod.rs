//! TIFF 6.0 and BigTIFF: 8 and 16 bits, strips and tiles in, parallel strips out.

use crate::source::Reader;
use std::io::BufReader;

mod lzw;
mod read;
mod strip;
mod write;

pub(crate) use read::{probe, read, strips};
pub(crate) use strip::Strips;
pub use write::{Compression, Whole, Writer, pack, write, write_together};

/// The TIFF library on a file.
type Input = tiff::decoder::Decoder<BufReader<Reader>>;
