//! One desk at a time: a lock on a file of the project, held as long as the program lives.
//!
//! The system itself lets go of it when the program ends, however it ends, so a lock never has to be broken by hand. The
//! database keeps its own order besides: two programs that write at once wait for each other.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{Read, Seek, Write};
use std::path::Path;

/// A lock held; dropping it lets go.
#[derive(Debug)]
pub struct Hold {
    _file: File,
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
        let mut file = OpenOptions::new().read(true).write(true).create(true).truncate(false).open(path)?;
        match file.try_lock() {
            Ok(()) => {
                file.set_len(0)?;
                file.rewind()?;
                writeln!(file, "{who}")?;
                Ok(Self { _file: file })
            }
            Err(TryLockError::WouldBlock) => {
                let mut by = String::new();
                // Some systems do not let a locked file be read: then nobody is named.
                let _ = file.read_to_string(&mut by);
                let by = by.trim();
                Err(HoldError::Held(if by.is_empty() { "another program".into() } else { by.into() }))
            }
            Err(TryLockError::Error(e)) => Err(e.into()),
        }
    }
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
}
