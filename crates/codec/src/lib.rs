//! Reads and writes picture files.
//!
//! [`read`] says what a file holds and corrects nothing: code values as stored, with the [`pixels::Encoding`] that gives
//! them meaning, the camera's words ([`Metadata`]) and notes on anything a photographer should know. [`probe`] reads only
//! the header, [`rows`] gives a picture row by row. The writers ([`tiff`], [`png`], [`jpeg`], `dng`) build each file beside
//! its target and rename it, so a half-written file is never seen under the target's name; the same input gives the same
//! bytes.
//!
//! Originals are opened once, for reading only. Sizes and memory are checked from the header, before any buffer is made
//! ([`Limits`]). A panic inside a decoder library becomes [`Error::Damaged`]. A program that calls [`decode_apart`] has every
//! picture decoded in a process of its own, bounded in memory and time: whatever a library does there costs one file
//! ([`Error::Stopped`]).
//!
//! Out of scope: corrections, resampling, CMYK, animations, layers, thumbnails inside files.

mod bounds;
#[cfg(unix)]
mod child;
#[cfg(feature = "raw")]
pub mod dng;
mod door;
mod error;
pub mod exif;
mod file;
#[doc(hidden)]
pub mod fuzzed;
mod here;
pub mod icc;
mod ifd;
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
mod whole;
mod wire;
pub mod xmp;

pub use door::{Decoder, decode_apart};
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
pub use whole::is_whole;
pub mod cgats;

/// The same for every index, in no order: what packs badly, for tests.
#[cfg(test)]
fn noise(i: usize) -> u16 {
    (i as u32).wrapping_mul(2_654_435_761).rotate_right(i as u32 % 13) as u16
}
