//! The one door that every picture comes through: decoded in a process of its own where the program said so, else here.
//!
//! Decoder libraries meet bytes that nobody checked. In a process of its own a decoder that asks for all memory, runs without
//! end or is ended by the system costs one file's error and nothing else.

use crate::rows::{self, Rows};
use crate::source::Source;
use crate::{Error, Header, Limits, Unpacked, here};
use std::ffi::OsString;
use std::path::PathBuf;
use std::sync::OnceLock;

/// How this program is started again to decode one picture.
#[derive(Clone, Debug)]
pub struct Decoder {
    /// The program.
    pub program: PathBuf,
    /// Its first words; it must then call [`crate::serve`] with those that follow.
    pub words: Vec<OsString>,
}

static DECODER: OnceLock<Decoder> = OnceLock::new();

/// From now on decodes every picture in a process of its own. Said once, when a program starts; a program that never says
/// it decodes in its own process, where a decoder's abort is its own end.
pub fn decode_apart(decoder: Decoder) {
    // Only the first is heard: half of a run decoded otherwise than the rest would be hard to explain.
    let _ = DECODER.set(decoder);
}

#[cfg(unix)]
fn apart() -> Option<&'static Decoder> {
    DECODER.get()
}

/// Without a system's bounds on memory a process of its own would promise what it does not keep.
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
