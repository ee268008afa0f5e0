//! File identity: content by hash, and paths relative to a folder.

use super::regular;
use crate::Failure;
use std::path::Path;

/// BLAKE3 of a file, hex; the file is read once, in chunks.
///
/// ```
/// let folder = tempfile::tempdir().unwrap();
/// let place = folder.path().join("empty");
/// std::fs::write(&place, "").unwrap();
/// // BLAKE3 of nothing, from its published test vectors.
/// assert!(base::files::hash(&place).unwrap().starts_with("af1349b9f5f9a1a6"));
/// ```
pub fn hash(path: &Path) -> Result<String, Failure> {
    let read = || {
        let mut hasher = blake3::Hasher::new();
        hasher.update_reader(regular::open(path)?)?;
        std::io::Result::Ok(hasher.finalize().to_hex().to_string())
    };
    read().map_err(|e| Failure::reading(&e))
}

/// Fails if a file has changed since it was hashed: what was decoded in between may belong to either version.
pub fn unchanged(path: &Path, blake3: &str) -> Result<(), Failure> {
    if hash(path)? == blake3 {
        return Ok(());
    }
    Err(Failure::new(format!("{} changed while it was read, so it was not used.", path.display()))
        .with_remedy("Wait until it is complete, and run the same command again."))
}

/// `path` relative to `folder`, with `/` between parts; absolute if they share no root.
pub fn relative(path: &Path, folder: &Path) -> String {
    let (Ok(path), Ok(folder)) = (path.canonicalize(), folder.canonicalize()) else {
        return path.to_string_lossy().into_owned();
    };
    let shared = path.components().zip(folder.components()).take_while(|(a, b)| a == b).count();
    let up = folder.components().skip(shared).map(|_| "..".into());
    let down = path.components().skip(shared).map(|c| c.as_os_str().to_string_lossy().into_owned());
    up.chain(down).collect::<Vec<String>>().join("/")
}

/// The same for all names that some file system takes for one: those that differ only by case, or by the Unicode form of their
/// letters (é as one character or as two: Unicode Standard Annex 15, forms NFC and NFD).
pub fn alike(name: &str) -> String {
    composed(name).to_lowercase()
}

/// A name in the Unicode form NFC, whatever form it is stored in.
pub fn composed(name: &str) -> String {
    use unicode_normalization::UnicodeNormalization;
    name.nfc().collect()
}

/// A file's own name; empty where the path ends in none.
pub fn name_of(path: &Path) -> String {
    path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default()
}
