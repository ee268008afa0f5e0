//! The single entry point for decoding: in a separate process if the program enabled that, otherwise in this one.
//!
//! Decoder libraries read untrusted bytes. In a separate process, a decoder that requests all memory, never ends, or is killed by the system
//! causes the error of one file and nothing else.

use crate::rows::{self, Rows};
use crate::source::Source;
use crate::{Error, Header, Limits, Unpacked, here};
use std::ffi::OsString;
use std::path::PathBuf;
use std::sync::OnceLock;

/// How to start this program again to decode one picture.
#[derive(Clone, Debug)]
pub struct Decoder {
    /// The program.
    pub program: PathBuf,
    /// Its first words; it must then call [`crate::serve`] with those that follow.
    pub words: Vec<OsString>,
}

static DECODER: OnceLock<Decoder> = OnceLock::new();

/// Enables decoding of every picture in a separate process. Called once at program start. Without it, pictures are decoded in this process,
/// where an abort in a decoder ends the program.
pub fn decode_apart(decoder: Decoder) {
    // Only the first call counts: decoding half of a run differently from the rest would be confusing.
    let _ = DECODER.set(decoder);
}

#[cfg(unix)]
fn apart() -> Option<&'static Decoder> {
    DECODER.get()
}

/// Without memory limits of the operating system, a separate process would give no protection.
#[cfg(not(unix))]
fn apart() -> Option<&'static Decoder> {
    None
}

pub(crate) fn header(source: &Source) -> Result<Header, Error> {
    match apart() {
        #[cfg(unix)]
        Some(decoder) => crate::child::header(decoder, source),
        _ => here::header(source),
    }
}

pub(crate) fn unpack(source: &Source, limits: &Limits) -> Result<Unpacked, Error> {
    match apart() {
        #[cfg(unix)]
        Some(decoder) => crate::child::unpack(decoder, source, limits),
        _ => here::unpack(source, limits),
    }
}

pub(crate) fn rows(source: &Source, limits: &Limits) -> Result<Rows, Error> {
    match apart() {
        #[cfg(unix)]
        Some(decoder) => crate::child::rows(decoder, source, limits),
        _ => rows::here(source, limits),
    }
}
