//! Pictures decoded in a process of their own: this program, started again with a word of its own for each picture.

use std::ffi::OsString;
use std::path::PathBuf;

/// The command line's first word that starts the decoding of one picture.
pub const WORD: &str = "decode-one-picture";

/// From now on decodes every picture apart: an answer to a bad file costs that file and nothing else. Said once, when the
/// program starts.
pub fn apart() {
    codec::decode_apart(codec::Decoder { program: program(), words: vec![WORD.into()] });
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
