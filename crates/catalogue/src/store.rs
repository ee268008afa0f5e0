//! The catalogue file: open, check, back up.

use crate::error::{Error, Result};
use crate::read_only::{self, Copied};
use crate::schema;
use rusqlite::{Connection, OpenFlags};
use std::path::Path;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

/// The catalogue of one project.
#[derive(Debug)]
pub struct Catalogue {
    pub(crate) db: Connection,
    reads_only: bool,
    /// The room that changes are made in.
    pub(crate) room: String,
    /// The copy that is read in its place, where its own folder may not be written and its log is not taken in yet.
    _copy: Option<Copied>,
}

/// How long one program waits for another's change: a change takes milliseconds, thousands of prints at once a second.
const PATIENCE: Duration = Duration::from_secs(10);

impl Catalogue {
    /// Opens a catalogue, creates it if missing, and migrates older formats.
    ///
    /// # Errors
    /// The file is not a catalogue, is damaged, comes from a newer version, or is not writable.
    pub fn open(path: &Path) -> Result<Self> {
        regular(path)?;
        born(path)?;
        let db = Connection::open(path).map_err(|e| opening(path, e))?;
        Self::begun(db).map_err(|e| naming(path, e))
    }

    /// A catalogue in memory.
    ///
    /// # Errors
    /// There is no memory for it.
    pub fn in_memory() -> Result<Self> {
        Self::begun(Connection::open_in_memory()?)
    }

    fn begun(db: Connection) -> Result<Self> {
        let mut it = Self { db, reads_only: false, room: String::new(), _copy: None };
        it.prepare()?;
        // Readers go on while one writes; a commit is on the disk before it is called done.
        log_ahead(&it.db)?;
        it.db.pragma_update(None, "synchronous", "full")?;
        it.db.pragma_update(None, "foreign_keys", true)?;
        schema::migrate(&mut it.db)?;
        Ok(it)
    }

    /// Opens a catalogue read-only, also while another program writes.
    ///
    /// # Errors
    /// It is missing, damaged, or in another format.
    pub fn open_to_read(path: &Path) -> Result<Self> {
        if !path.exists() {
            return Err(Error::Missing(path.parent().unwrap_or(path).display().to_string()));
        }
        regular(path)?;
        let (db, copy) = read_only::open(path).map_err(|e| naming(path, opening(path, e)))?;
        let it = Self { db, reads_only: true, room: String::new(), _copy: copy };
        it.prepare().map_err(|e| naming(path, e))?;
        it.db.pragma_update(None, "query_only", true)?;
        match it.form().map_err(|e| naming(path, e))? {
            found if found > schema::FORM => Err(Error::Newer { found, known: schema::FORM }),
            found if found < schema::FORM => {
                Err(Error::refused("This catalogue has an older format. Open it once for writing to update it."))
            }
            _ => Ok(it),
        }
    }

    fn prepare(&self) -> Result<()> {
        self.db.busy_timeout(PATIENCE)?;
        self.db.set_prepared_statement_cache_capacity(128);
        Ok(())
    }

    /// True where it was opened for reading only.
    pub fn reads_only(&self) -> bool {
        self.reads_only
    }

    /// The form of the file: how many steps made it.
    ///
    /// # Errors
    /// The database cannot be read.
    pub fn form(&self) -> Result<i64> {
        Ok(self.db.query_row("PRAGMA user_version", [], |r| r.get(0))?)
    }

    /// A number that changes when another program has changed the catalogue: a reason to look again.
    ///
    /// # Errors
    /// The database cannot be read.
    pub fn changes_elsewhere(&self) -> Result<i64> {
        Ok(self.db.query_row("PRAGMA data_version", [], |r| r.get(0))?)
    }

    /// Checks the whole file: structure, references, and the search index. No lines means no problems.
    ///
    /// # Errors
    /// The database cannot be read at all.
    pub fn check(&self) -> Result<Vec<String>> {
        let mut lines = vec![];
        let mut integrity = self.db.prepare("PRAGMA integrity_check")?;
        let said: Vec<String> = integrity.query_map([], |r| r.get(0))?.collect::<rusqlite::Result<_>>()?;
        lines.extend(said.into_iter().filter(|l| l != "ok"));
        let mut keys = self.db.prepare("PRAGMA foreign_key_check")?;
        let said = keys.query_map([], |r| {
            Ok(format!(
                "{} {}: refers to a {} that does not exist",
                r.get::<_, String>(0)?,
                r.get::<_, i64>(1)?,
                r.get::<_, String>(2)?
            ))
        })?;
        lines.extend(said.collect::<rusqlite::Result<Vec<_>>>()?);
        let astray: i64 = self.db.query_row(
            "SELECT (SELECT COUNT(*) FROM print WHERE id NOT IN (SELECT rowid FROM word))
                  + (SELECT COUNT(*) FROM word WHERE rowid NOT IN (SELECT id FROM print))",
            [],
            |r| r.get(0),
        )?;
        if astray > 0 {
            lines.push(format!("{astray} prints do not match the search index"));
        }
        Ok(lines)
    }

    /// Writes a complete, consistent copy to `to` atomically, also while others use the catalogue.
    ///
    /// # Errors
    /// The copy cannot be written.
    pub fn backup(&self, to: &Path) -> Result<()> {
        let name = to.file_name().unwrap_or_default().to_string_lossy();
        let part = to.with_file_name(format!(".fallside-{name}-{}.part", std::process::id()));
        let _ = std::fs::remove_file(&part);
        let copied = self.db.backup("main", &part, None::<fn(rusqlite::backup::Progress)>).map_err(Error::from);
        let settled = copied.and_then(|()| {
            let file = std::fs::File::open(&part).and_then(|f| f.sync_all());
            file.and_then(|()| std::fs::rename(&part, to)).map_err(|e| written(to, &e))
        });
        if settled.is_err() {
            let _ = std::fs::remove_file(&part);
        }
        settled
    }

    /// True for a file that is a catalogue, of this version or another.
    pub fn is_one(path: &Path) -> bool {
        let db = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX);
        let begun = |db: Connection| {
            db.query_row("SELECT value FROM project WHERE key = 'begun'", [], |r| r.get::<_, String>(0))
        };
        db.is_ok_and(|db| begun(db).is_ok())
    }

    /// Limits the growth of the file to this many pages, like a full disk; for tests.
    #[doc(hidden)]
    pub fn limit_pages_for_tests(&self, more: i64) -> Result<()> {
        let now: i64 = self.db.query_row("PRAGMA page_count", [], |r| r.get(0))?;
        self.db.pragma_update_and_check(None, "max_page_count", now + more, |_| Ok(()))?;
        Ok(())
    }

    /// All values about the project, by their keys.
    ///
    /// # Errors
    /// The database cannot be read.
    pub fn abouts(&self) -> Result<Vec<(String, String)>> {
        let mut query = self.db.prepare("SELECT key, value FROM project ORDER BY key")?;
        let rows = query.query_map([], |r| Ok((r.get(0)?, r.get(1)?)))?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }

    /// A value about the project.
    ///
    /// # Errors
    /// The database cannot be read.
    pub fn about(&self, key: &str) -> Result<Option<String>> {
        use rusqlite::OptionalExtension;
        let value = self.db.query_row("SELECT value FROM project WHERE key = ?1", [key], |r| r.get(0));
        Ok(value.optional()?)
    }
}

/// Has changes written to a log beside the file first. A new catalogue is born so; one restored from elsewhere may not be, and
/// while another program brings it over, `SQLite` answers "busy" at once, without the patience it has for a change.
fn log_ahead(db: &Connection) -> Result<()> {
    let begun = Instant::now();
    loop {
        match db.pragma_update_and_check(None, "journal_mode", "wal", |_| Ok(())).map_err(Error::from) {
            // A change takes milliseconds.
            Err(Error::Busy) if begun.elapsed() < PATIENCE => std::thread::sleep(Duration::from_millis(5)),
            done => return done,
        }
    }
}

/// Refuses a path that is not a regular file: opening a pipe could wait forever.
fn regular(path: &Path) -> Result<()> {
    match std::fs::metadata(path) {
        Ok(meta) if !meta.is_file() => {
            Err(Error::refused(format!("{} is not a regular file, so it is not a catalogue.", path.display())))
        }
        _ => Ok(()),
    }
}

/// Creates a catalogue atomically, so that a file with its name is always a catalogue.
fn born(path: &Path) -> Result<()> {
    static MADE: AtomicUsize = AtomicUsize::new(0);
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let folder = path.parent().unwrap_or(Path::new(""));
    if !path.exists() {
        let n = MADE.fetch_add(1, Ordering::Relaxed);
        let part = folder.join(format!(".{name}-{}-{n}.part", std::process::id()));
        let made = empty(&part, path);
        let _ = std::fs::remove_file(&part);
        // Another may have been quicker, and that is as good.
        if !path.exists() {
            made?;
        }
    }
    // Left over from a program that was killed, with its log.
    let starts = format!(".{name}-");
    let parts = std::fs::read_dir(if folder.as_os_str().is_empty() { Path::new(".") } else { folder });
    for entry in parts.into_iter().flatten().flatten() {
        let left = entry.file_name();
        if left.to_string_lossy().starts_with(&starts) && left.to_string_lossy().contains(".part") {
            let _ = std::fs::remove_file(entry.path());
        }
    }
    Ok(())
}

/// An empty catalogue, written to `part` and given its name.
fn empty(part: &Path, path: &Path) -> Result<()> {
    let empty = Catalogue::in_memory()?;
    empty.db.backup("main", part, None::<fn(rusqlite::backup::Progress)>).map_err(|e| opening(path, e))?;
    log_ahead(&Connection::open(part)?)?;
    let named = std::fs::File::open(part).and_then(|f| f.sync_all()).and_then(|()| {
        // A second name goes over no file; where a disk knows none, a new one must do.
        std::fs::hard_link(part, path).or_else(|e| if path.exists() { Err(e) } else { std::fs::rename(part, path) })
    });
    named.map_err(|e| written(path, &e))
}

fn opening(path: &Path, error: rusqlite::Error) -> Error {
    match error.sqlite_error_code() {
        Some(rusqlite::ErrorCode::CannotOpen) => {
            Error::refused(format!("{} cannot be opened. Does the folder exist, and is it writable?", path.display()))
        }
        _ => error.into(),
    }
}

fn naming(path: &Path, error: Error) -> Error {
    match error {
        Error::Damaged(_) => Error::Damaged(path.display().to_string()),
        // The file was opened, but not its companion files.
        Error::Database(e) if e.sqlite_error_code() == Some(rusqlite::ErrorCode::CannotOpen) => Error::ReadOnly,
        other => other,
    }
}

fn written(path: &Path, error: &std::io::Error) -> Error {
    match error.kind() {
        std::io::ErrorKind::StorageFull => Error::Full,
        _ => Error::refused(format!("{} could not be written: {error}.", path.display())),
    }
}
