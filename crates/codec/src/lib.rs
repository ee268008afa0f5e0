//! Reads and writes picture files.
//!
//! [`read`] returns the content of a file without corrections: code values as stored, the [`pixels::Encoding`] that defines
//! their meaning, the camera metadata ([`Metadata`]) and notes for the photographer. [`probe`] reads only
//! the header, [`rows`] gives a picture row by row. The writers ([`tiff`], [`png`], [`jpeg`], `dng`) write each file
//! atomically, so a half-written file is never visible under its final name; the same input gives the same bytes.
//!
//! Originals are opened once, read-only. Sizes and memory are checked from the header, before any buffer is allocated
//! ([`Limits`]). A panic in a decoder library becomes [`Error::Damaged`]. After [`decode_apart`], every picture is decoded in a
//! separate process with memory and time limits: a failure there affects one file only ([`Error::Stopped`]).
//!
//! Out of scope: corrections, resampling, CMYK, animations, layers, thumbnails inside files.

mod bounds;
#[cfg(unix)]
mod child;
mod completeness;
mod decoder;
#[cfg(feature = "raw")]
pub mod dng;
mod door;
mod error;
pub mod exif;
mod file;
#[doc(hidden)]
pub mod fuzzed;
pub mod icc;
mod ifd;
mod in_process;
mod info;
pub mod jpeg;
mod limits;
mod metadata;
pub mod png;
#[cfg(feature = "raw")]
pub mod raw;
mod read;
mod rows;
#[cfg(unix)]
mod serve;
pub mod sidecar;
mod sniff;
mod source;
pub mod tiff;
mod wire;
pub mod xmp;

pub use completeness::is_whole;
pub use decoder::Decoder;
pub use door::decode_apart;
pub use error::Error;
pub use info::Info;
pub use limits::Limits;
pub use metadata::Metadata;
pub use read::{Decoded, Header, Unpacked, probe, read, unpack};
pub use rows::{Rows, rows};
#[cfg(unix)]
pub use serve::serve;
pub use sniff::Format;
pub use source::open_regular;
pub mod cgats;

/// The same for every index, in no order: what packs badly, for tests.
#[cfg(test)]
fn noise(i: usize) -> u16 {
    (i as u32).wrapping_mul(2_654_435_761).rotate_right(i as u32 % 13) as u16
}
