//! Opens a catalogue read-only, also if its folder is not writable: a read-only disk, or another person's project.
//!
//! SQLite keeps an index of the log beside the file even for a reader, and cannot create it in such a folder. A file without a log is
//! therefore opened as `immutable` (SQLite's page on URI filenames); a file with a log is copied together with it and the copy is read, so
//! that the latest changes are included.

use rusqlite::{Connection, ErrorCode, OpenFlags};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};

/// A copy in the system's folder for passing files, taken away with the catalogue that reads it.
#[derive(Debug)]
pub struct Copied {
    folder: PathBuf,
}

impl Drop for Copied {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.folder);
    }
}

/// Opens the catalogue at `path` for reading.
pub fn open(path: &Path) -> rusqlite::Result<(Connection, Option<Copied>)> {
    match beside_writers(path) {
        Err(e) if is_unwritable(&e) => unwritable(path).map_err(|_| e),
        opened => opened.map(|db| (db, None)),
    }
}

/// Beside whoever writes. Read-write, so that a log left by a program that was killed can be taken in; the caller keeps it from
/// changing anything else.
fn beside_writers(path: &Path) -> rusqlite::Result<Connection> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let db = Connection::open_with_flags(path, flags)
        .or_else(|_| Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_ONLY))?;
    touched(&db)?;
    Ok(db)
}

/// Reads the first page, because only then the database reports whether it can be read.
fn touched(db: &Connection) -> rusqlite::Result<()> {
    db.query_row("SELECT COUNT(*) FROM sqlite_schema", [], |_| Ok(()))
}

fn is_unwritable(error: &rusqlite::Error) -> bool {
    matches!(error.sqlite_error_code(), Some(ErrorCode::CannotOpen | ErrorCode::ReadOnly | ErrorCode::PermissionDenied))
}

fn unwritable(path: &Path) -> rusqlite::Result<(Connection, Option<Copied>)> {
    let log = beside(path, "-wal");
    if std::fs::metadata(&log).is_ok_and(|m| m.len() > 0) {
        let failed = |_| rusqlite::Error::InvalidPath(path.to_owned());
        let copy = copied(path, &log).map_err(failed)?;
        let db = beside_writers(&copy.folder.join(NAME))?;
        return Ok((db, Some(copy)));
    }
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI;
    let real = path.canonicalize().unwrap_or_else(|_| path.to_owned());
    let db = Connection::open_with_flags(format!("file:{}?immutable=1", escaped(&real)), flags)?;
    touched(&db)?;
    Ok((db, None))
}

/// The copy's name in its own folder.
const NAME: &str = "catalogue.db";

fn copied(path: &Path, log: &Path) -> std::io::Result<Copied> {
    static MADE: AtomicUsize = AtomicUsize::new(0);
    let n = MADE.fetch_add(1, Ordering::Relaxed);
    let folder = std::env::temp_dir().join(format!("fallside-read-{}-{n}", std::process::id()));
    let mut builder = std::fs::DirBuilder::new();
    // Only the owner may read it, because the catalogue contains private text. An existing folder belongs to somebody else.
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(&folder)?;
    let copy = Copied { folder };
    for (from, to) in [(path, NAME.to_owned()), (log, format!("{NAME}-wal"))] {
        let to = copy.folder.join(to);
        std::fs::copy(from, &to)?;
        // The copy inherits the permissions of a read-only source.
        #[cfg(unix)]
        std::fs::set_permissions(&to, std::os::unix::fs::PermissionsExt::from_mode(0o600))?;
    }
    Ok(copy)
}

fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    name.into()
}

/// A path as a URI writes it: RFC 3986 section 2.1, everything but letters, figures and `-._~/` as a percent sign and two figures.
fn escaped(path: &Path) -> String {
    let plain = |b: u8| b.is_ascii_alphanumeric() || b"-._~/".contains(&b);
    let bytes = path.as_os_str().as_encoded_bytes().iter();
    bytes.map(|b| if plain(*b) { char::from(*b).to_string() } else { format!("%{b:02X}") }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 3986 section 2.1.
    #[test]
    fn a_path_is_written_as_a_uri_has_it() {
        assert_eq!(escaped(Path::new("/a b/x?y#z%.db")), "/a%20b/x%3Fy%23z%25.db");
        assert_eq!(escaped(Path::new("/ä")), "/%C3%A4");
    }
}
