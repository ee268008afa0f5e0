//! Reads files named by a person or by another file, and only if they are regular files: reading a pipe can wait forever, and reading
//! a device can fill the memory.

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

/// Fails if a path is not a regular file.
pub fn check(path: &Path) -> Result<()> {
    open(path).map(drop)
}
