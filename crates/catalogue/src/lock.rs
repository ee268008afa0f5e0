//! One program at a time: a lock on a file, held as long as the program lives.
//!
//! The system itself lets go of it when the program ends, however it ends, so a lock never has to be broken by hand. The
//! database keeps its own order besides: two programs that write at once wait for each other.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{ErrorKind, Read, Seek, Write};
use std::path::{Path, PathBuf};

/// A lock held; dropping it lets go.
#[derive(Debug)]
pub struct Hold {
    /// To be removed, while it is still locked.
    gone: Option<PathBuf>,
    file: File,
}

/// Somebody else holds it, or it cannot be made.
#[derive(Debug, thiserror::Error)]
pub enum HoldError {
    /// Another program, with what it said of itself.
    #[error("{0}")]
    Held(String),
    /// The lock's file cannot be made.
    #[error("{0}")]
    Io(#[from] std::io::Error),
}

impl Hold {
    /// Takes the lock on `path` (made if it is not there) and writes into it who holds it, a line such as
    /// "a desk, process 4711". Gives at once where somebody else has it.
    ///
    /// # Errors
    /// Somebody else holds it, or the file cannot be made.
    pub fn take(path: &Path, who: &str) -> Result<Self, HoldError> {
        loop {
            let mut file = open(path)?;
            match file.try_lock() {
                Ok(()) if is_at(&file, path) => {
                    say(&mut file, who)?;
                    return Ok(Self { gone: None, file });
                }
                // A disk that knows no locks: what the database and the renaming of whole files keep must do there.
                Err(TryLockError::Error(e)) if e.kind() == ErrorKind::Unsupported => {
                    return Ok(Self { gone: None, file });
                }
                // Whoever held it removed the file between our opening and our locking it.
                Ok(()) => {}
                Err(e) => return Err(held(e, file)),
            }
        }
    }

    /// Takes the lock together with others that share it: nobody can [`Hold::take`] it meanwhile.
    ///
    /// # Errors
    /// Somebody holds it alone, or the file cannot be made.
    pub fn share(path: &Path, who: &str) -> Result<Self, HoldError> {
        let mut file = open(path)?;
        match file.try_lock_shared() {
            Ok(()) => {
                // Whoever wants it alone is told one of those who share it.
                say(&mut file, who)?;
                Ok(Self { gone: None, file })
            }
            Err(TryLockError::Error(e)) if e.kind() == ErrorKind::Unsupported => Ok(Self { gone: None, file }),
            Err(e) => Err(held(e, file)),
        }
    }

    /// Has the lock's file removed when it is let go: for a lock in a folder that is somebody's own.
    #[must_use]
    pub fn leaving_nothing(mut self, path: &Path) -> Self {
        // Elsewhere a file that is open cannot be removed.
        self.gone = cfg!(unix).then(|| path.to_owned());
        self
    }
}

impl Drop for Hold {
    fn drop(&mut self) {
        // Nobody holds it now, and what a run leaves does not depend on who ran. A name that stays, or a file, misleads nobody:
        // only the lock counts.
        let _ = self.file.metadata().map(|m| names(&m) == 1 && self.file.set_len(0).is_ok());
        if let Some(path) = &self.gone {
            let _ = std::fs::remove_file(path);
        }
    }
}

/// Writes into a lock who holds it; not into a file that has other names, of a snapshot or of somebody else.
fn say(file: &mut File, who: &str) -> std::io::Result<()> {
    if names(&file.metadata()?) > 1 {
        return Ok(());
    }
    file.set_len(0)?;
    file.rewind()?;
    writeln!(file, "{who}")
}

/// Opens a lock's file. A link is refused: what it leads to would be written over.
fn open(path: &Path) -> std::io::Result<File> {
    if std::fs::symlink_metadata(path).is_ok_and(|m| !m.is_file()) {
        return Err(std::io::Error::other("it is a link or not a regular file; move it away"));
    }
    OpenOptions::new().read(true).write(true).create(true).truncate(false).open(path)
}

fn held(error: TryLockError, mut file: File) -> HoldError {
    match error {
        TryLockError::WouldBlock => {
            let mut by = String::new();
            // Some systems do not let a locked file be read: then nobody is named.
            let _ = file.read_to_string(&mut by);
            let by = by.trim();
            HoldError::Held(if by.is_empty() { "another program".into() } else { by.into() })
        }
        TryLockError::Error(e) => e.into(),
    }
}

/// How many names a file has.
#[cfg(unix)]
fn names(about: &std::fs::Metadata) -> u64 {
    std::os::unix::fs::MetadataExt::nlink(about)
}

#[cfg(not(unix))]
fn names(_: &std::fs::Metadata) -> u64 {
    1
}

/// True where the open file is still the one of that name.
#[cfg(unix)]
fn is_at(file: &File, path: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    let identity = |m: std::io::Result<std::fs::Metadata>| m.ok().map(|m| (m.dev(), m.ino()));
    identity(file.metadata()) == identity(std::fs::symlink_metadata(path))
}

#[cfg(not(unix))]
fn is_at(_: &File, _: &Path) -> bool {
    true
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_second_hears_who_the_first_is_and_the_third_may_come_after() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("desk.lock");
        let first = Hold::take(&path, "a desk, process 1").unwrap();
        assert_eq!(Hold::take(&path, "x").unwrap_err().to_string(), "a desk, process 1");
        drop(first);
        Hold::take(&path, "b").unwrap();
    }

    #[test]
    fn several_may_share_and_keep_out_whoever_wants_it_alone() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("catalogue.lock");
        let (one, two) = (Hold::share(&path, "1").unwrap(), Hold::share(&path, "2").unwrap());
        assert!(matches!(Hold::take(&path, "x"), Err(HoldError::Held(_))));
        drop((one, two));
        let alone = Hold::take(&path, "a rebuild, process 1").unwrap();
        assert_eq!(Hold::share(&path, "3").unwrap_err().to_string(), "a rebuild, process 1");
        drop(alone);
    }

    #[cfg(unix)]
    #[test]
    fn a_lock_writes_into_nobody_elses_file_and_one_that_leaves_nothing_is_gone() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        std::fs::write(at("mine"), "mine").unwrap();
        std::os::unix::fs::symlink(at("mine"), at("soft.lock")).unwrap();
        std::fs::hard_link(at("mine"), at("hard.lock")).unwrap();
        assert!(matches!(Hold::take(&at("soft.lock"), "x"), Err(HoldError::Io(_))));
        assert!(Hold::take(&at("hard.lock"), "x").is_ok());
        assert_eq!(std::fs::read(at("mine")).unwrap(), b"mine");
        let held = Hold::take(&at("a.lock"), "x").unwrap().leaving_nothing(&at("a.lock"));
        assert!(at("a.lock").exists());
        drop(held);
        assert!(!at("a.lock").exists());
    }
}
