//! Files that a person or another file names, read as what they must be: regular files. A pipe would be waited for without end, and a
//! device fills all memory.

use std::fs::File;
use std::io::{Read, Result};
use std::path::Path;

pub use codec::open_regular as open;

/// Every byte of a file.
pub fn read(path: &Path) -> Result<Vec<u8>> {
    let mut bytes = vec![];
    open(path).and_then(|mut file: File| file.read_to_end(&mut bytes))?;
    Ok(bytes)
}

/// A file's text.
pub fn text(path: &Path) -> Result<String> {
    let mut text = String::new();
    open(path).and_then(|mut file: File| file.read_to_string(&mut text))?;
    Ok(text)
}

/// Fails where something lies at a path that is no regular file.
pub fn check(path: &Path) -> Result<()> {
    open(path).map(drop)
}
