//! The single entry point for decoding: in a separate process if the program enabled that, otherwise in this one.
//!
//! Decoder libraries read untrusted bytes. In a separate process, a decoder that requests all memory, never ends, or is killed by the system
//! causes the error of one file and nothing else.

use crate::decoder::Decoder;
use crate::source::Source;
use crate::{Error, Header, Limits, Unpacked, in_process};
use std::sync::OnceLock;

static DECODER: OnceLock<Decoder> = OnceLock::new();

/// Enables decoding of every picture in a separate process. Called once at program start. Without it, pictures are decoded in this process,
/// where an abort in a decoder ends the program.
pub fn decode_apart(decoder: Decoder) {
    // Only the first call counts: decoding half of a run differently from the rest would be confusing.
    let _ = DECODER.set(decoder);
}

#[cfg(unix)]
pub(crate) fn apart() -> Option<&'static Decoder> {
    DECODER.get()
}

/// Without memory limits of the operating system, a separate process would give no protection.
#[cfg(not(unix))]
pub(crate) fn apart() -> Option<&'static Decoder> {
    None
}

pub(crate) fn header(source: &Source) -> Result<Header, Error> {
    match apart() {
        #[cfg(unix)]
        Some(decoder) => crate::child::header(decoder, source),
        _ => in_process::header(source),
    }
}

pub(crate) fn unpack(source: &Source, limits: &Limits) -> Result<Unpacked, Error> {
    match apart() {
        #[cfg(unix)]
        Some(decoder) => crate::child::unpack(decoder, source, limits),
        _ => in_process::unpack(source, limits),
    }
}
