//! Atomic writing: a file is written as a part beside its final name and renamed when complete. Parts left by a killed run are removed.
//!
//! Every part is called `.fallside-….part`; a part with any other name is somebody else's and is kept.

use crate::Failure;
use std::io::Write;
use std::path::{Path, PathBuf};

/// How the names of our parts begin and end; `codec` uses the same names.
const HEAD: &str = ".fallside-";
const TAIL: &str = ".part";
/// Maximum bytes of the file's own name in the name of its part: with head, random letters and tail it stays within 255 bytes, the limit
/// of common file systems.
const NAME: usize = 200;

/// True for the name of one of our parts.
///
/// ```
/// use base::files::write::{is_part, part_of};
/// assert!(is_part(&part_of("book.pdf")) && !is_part("book.pdf.part"));
/// ```
pub fn is_part(name: &str) -> bool {
    name.starts_with(HEAD) && name.ends_with(TAIL)
}

/// The name of the part of a file that only one writer writes at a time.
pub fn part_of(name: &str) -> String {
    format!("{HEAD}{name}{TAIL}")
}

/// The folder of a file.
pub fn folder_of(place: &Path) -> &Path {
    place.parent().filter(|f| !f.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// Creates a new part for the file at `place`, in its folder and with a unique name.
pub fn part(place: &Path) -> std::io::Result<tempfile::NamedTempFile> {
    let mut name = crate::files::name_of(place);
    while name.len() > NAME {
        name.pop();
    }
    let head = format!("{HEAD}{name}-");
    let mut builder = tempfile::Builder::new();
    builder.prefix(&head).suffix(TAIL);
    // Temporary files are private to their owner; a result gets the permissions of any new file.
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    builder.tempfile_in(folder_of(place))
}

/// Renames a complete part to its final name. Its bytes are on disk before the rename, and the name before this returns.
pub fn settle(part: tempfile::NamedTempFile, place: &Path) -> std::io::Result<()> {
    part.as_file().sync_all()?;
    part.persist(place).map_err(|e| e.error)?;
    sync_folder(folder_of(place));
    Ok(())
}

/// Flushes a folder's entries to the disk, if the system allows it.
pub fn sync_folder(folder: &Path) {
    let _ = std::fs::File::open(folder).and_then(|d| d.sync_all());
}

/// Writes a small file atomically; its bytes and its name are on disk when this returns.
///
/// ```
/// let folder = tempfile::tempdir().unwrap();
/// let place = folder.path().join("list.txt");
/// base::files::write::write_beside(&place, b"one line").unwrap();
/// assert_eq!(std::fs::read(&place).unwrap(), b"one line");
/// ```
pub fn write_beside(place: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let write = || {
        let mut part = part(place)?;
        part.write_all(bytes)?;
        settle(part, place)
    };
    write().map_err(|e| Failure::writing(place, &e))
}

/// The same without waiting for the disk: for the many small files of a hand-off, which can be made again.
pub fn write_unsynced(place: &Path, bytes: &[u8]) -> Result<(), Failure> {
    replace(place, bytes).map_err(|e| Failure::writing(place, &e))
}

/// Replaces a file; other hard links to the old file keep the old content.
pub fn replace(place: &Path, bytes: &[u8]) -> std::io::Result<()> {
    let mut part = part(place)?;
    part.write_all(bytes)?;
    part.persist(place).map(drop).map_err(|e| e.error)
}

/// Removes parts that killed runs left in a folder; `ours` selects among our parts. The caller holds the folder's lock, so nobody is
/// writing these parts.
pub fn sweep(folder: &Path, ours: impl Fn(&str) -> bool) {
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        let name = entry.file_name().to_string_lossy().into_owned();
        if is_part(&name) && ours(&name) && entry.file_type().is_ok_and(|t| t.is_file()) {
            // A part that cannot be removed does no harm.
            let _ = std::fs::remove_file(entry.path());
        }
    }
}

/// The same for the parts of the files whose names begin with `stem`.
pub fn sweep_of(place: &Path) {
    let stem = place.file_stem().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let head = format!("{HEAD}{stem}.");
    sweep(folder_of(place), |name| name.starts_with(&head));
}

/// The path of the lock of a file in a user's folder.
pub fn lock_of(place: &Path) -> PathBuf {
    let name = crate::files::name_of(place);
    folder_of(place).join(format!("{HEAD}{name}.lock"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_our_own_parts_are_swept() {
        let top = tempfile::tempdir().unwrap();
        let at = |name: &str| top.path().join(name);
        let foreign = ["a.part", ".a.part", ".fallside-a", "fallside-a.part", ".book-aB3dE6.part"];
        for name in [&foreign[..], &[".fallside-book.pdf-aB3dE6.part", ".fallside-aB3dE6.part"]].concat() {
            std::fs::write(at(name), "half").unwrap();
        }
        std::fs::create_dir(at(".fallside-folder.part")).unwrap();
        sweep_of(&at("book.pdf"));
        assert!(!at(".fallside-book.pdf-aB3dE6.part").exists() && at(".fallside-aB3dE6.part").exists());
        sweep(top.path(), |_| true);
        assert!(!at(".fallside-aB3dE6.part").exists() && at(".fallside-folder.part").exists());
        assert!(foreign.iter().all(|name| at(name).exists()));
    }

    #[test]
    fn a_file_is_written_whole_and_leaves_nothing_beside_it() {
        let top = tempfile::tempdir().unwrap();
        let long = "ä".repeat(120);
        for name in ["a.txt", long.as_str()] {
            let place = top.path().join(name);
            write_beside(&place, b"1").unwrap();
            write_unsynced(&place, b"2").unwrap();
            assert_eq!(std::fs::read(&place).unwrap(), b"2");
        }
        assert_eq!(std::fs::read_dir(top.path()).unwrap().count(), 2);
    }
}
