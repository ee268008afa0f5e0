//! How the program starts itself again to decode one picture.

use std::ffi::OsString;
use std::path::PathBuf;

/// How to start this program again to decode one picture.
#[derive(Clone, Debug)]
pub struct Decoder {
    /// The program.
    pub program: PathBuf,
    /// Its first words; it must then call [`crate::serve`] with those that follow.
    pub words: Vec<OsString>,
}
