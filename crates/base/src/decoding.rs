//! Pictures decoded in a process of their own: this program, started again with a word of its own for each picture.

use std::ffi::OsString;
use std::path::PathBuf;

/// The command line's first word that starts the decoding of one picture.
pub const WORD: &str = "decode-one-picture";

/// From now on decodes every picture apart: an answer to a bad file costs that file and nothing else. Said once, when the
/// program starts.
pub fn apart() {
    keep_buffers();
    codec::decode_apart(codec::Decoder { program: program(), words: vec![WORD.into()] });
}

/// Lets buffers of rows and bands be used again instead of going back to the system each time. glibc learns from the largest buffer
/// freed so far, up to 32 MiB, which buffers it keeps; it learnt that from a decoder as long as one ran here. Without this a raw frame
/// takes a second of system time more.
fn keep_buffers() {
    // Just under the most it learns from; never touched, so that it costs no memory.
    drop(std::hint::black_box(Vec::<u8>::with_capacity((32 << 20) - (64 << 10))));
}

/// This program. On Linux by the system's own link, which leads to what runs, also after an update has replaced the file.
fn program() -> PathBuf {
    let link = PathBuf::from("/proc/self/exe");
    if link.exists() { link } else { std::env::current_exe().unwrap_or_else(|_| "fallside".into()) }
}

/// Decodes the picture on the standard input as the `words` after [`WORD`] ask; false where nobody asked so.
pub fn serve(words: &[OsString]) -> bool {
    #[cfg(unix)]
    return codec::serve(words);
    #[cfg(not(unix))]
    {
        let _ = words;
        false
    }
}
