//! File locks: one program at a time, as long as it runs.
//!
//! The operating system releases the lock when the program ends for any reason, so stale locks never have to be removed by hand. The
//! database also has its own locking: two programs that write at the same time wait for each other.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{ErrorKind, Read, Seek, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// How long a lock may outlive a program that was killed: a process that it had just forked holds the open file until it executes its own
/// program, which took a loaded machine some tens of milliseconds.
const LINGER: Duration = Duration::from_millis(500);

/// A lock; dropping it releases it.
#[derive(Debug)]
pub struct Hold {
    /// To be removed, while it is still locked.
    gone: Option<PathBuf>,
    file: File,
}

/// Somebody else holds it, or it cannot be made.
#[derive(Debug, thiserror::Error)]
pub enum HoldError {
    /// Another program, as it described itself.
    #[error("{0}")]
    Held(String),
    /// The lock's file cannot be made.
    #[error("{0}")]
    Io(#[from] std::io::Error),
}

impl Hold {
    /// Takes the lock on `path` (made if it is not there) and writes into it who holds it, a line such as
    /// "a desk, process 4711". Gives up after [`LINGER`] where somebody else has it.
    ///
    /// # Errors
    /// Somebody else holds it, or the file cannot be made.
    pub fn take(path: &Path, who: &str) -> Result<Self, HoldError> {
        let begun = Instant::now();
        loop {
            match Self::take_now(path, who) {
                Err(HoldError::Held(_)) if begun.elapsed() < LINGER => std::thread::sleep(LINGER / 20),
                other => return other,
            }
        }
    }

    fn take_now(path: &Path, who: &str) -> Result<Self, HoldError> {
        loop {
            let mut file = open(path)?;
            match file.try_lock() {
                Ok(()) if is_at(&file, path) => {
                    say(&mut file, who)?;
                    return Ok(Self { gone: None, file });
                }
                // A file system without locks: the database and atomic renaming must be enough there.
                Err(TryLockError::Error(e)) if e.kind() == ErrorKind::Unsupported => {
                    return Ok(Self { gone: None, file });
                }
                // The previous holder removed the file between our open and our lock.
                Ok(()) => {}
                Err(e) => return Err(held(e, file)),
            }
        }
    }

    /// Takes a shared lock: nobody can [`Hold::take`] it in the meantime.
    ///
    /// # Errors
    /// Somebody holds it exclusively, or the file cannot be created.
    pub fn share(path: &Path, who: &str) -> Result<Self, HoldError> {
        let mut file = open(path)?;
        match file.try_lock_shared() {
            Ok(()) => {
                // Who needs it exclusively is told the name of one of the sharers.
                say(&mut file, who)?;
                Ok(Self { gone: None, file })
            }
            Err(TryLockError::Error(e)) if e.kind() == ErrorKind::Unsupported => Ok(Self { gone: None, file }),
            Err(e) => Err(held(e, file)),
        }
    }

    /// Removes the lock file on release: for a lock in a user's folder.
    #[must_use]
    pub fn leaving_nothing(mut self, path: &Path) -> Self {
        // On other systems an open file cannot be removed.
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

/// Writes the holder into the lock file, unless the file has hard links (a snapshot, or somebody else's file).
fn say(file: &mut File, who: &str) -> std::io::Result<()> {
    if names(&file.metadata()?) > 1 {
        return Ok(());
    }
    file.set_len(0)?;
    file.rewind()?;
    writeln!(file, "{who}")
}

/// Opens a lock file. A link is refused, because its target would be overwritten.
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
            // Some systems do not allow reading a locked file; then the holder is unknown.
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

/// True if the open file is still the file with that name.
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
    fn a_lock_that_outlives_its_program_for_a_moment_is_waited_for() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("finish.lock");
        let lingering = Hold::take(&path, "a killed run").unwrap();
        std::thread::scope(|s| {
            s.spawn(|| {
                std::thread::sleep(LINGER / 5);
                drop(lingering);
            });
            assert!(Hold::take(&path, "the next run").is_ok());
        });
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
