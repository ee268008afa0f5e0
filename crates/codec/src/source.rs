//! A picture file opened once, read-only, with independent readers.

use crate::Error;
use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// An opened regular file. Every reader of it has a place of its own, so that workers read side by side and a file that is
/// replaced meanwhile changes nothing.
#[derive(Clone, Debug)]
pub(crate) struct Source {
    path: PathBuf,
    file: Arc<File>,
    length: u64,
}

impl Source {
    /// Opens a regular file, never empty. Folders, pipes, sockets and devices are refused before they are opened: opening
    /// a pipe would wait for its writer.
    pub fn open(path: &Path) -> Result<Self, Error> {
        open_regular(path).map_err(|e| Error::unreadable(path, &e)).and_then(|file| Self::of(path, file))
    }

    /// A file that was opened before; `path` is only its name in messages.
    pub fn of(path: &Path, file: File) -> Result<Self, Error> {
        let meta = file.metadata().and_then(regular).map_err(|e| Error::unreadable(path, &e))?;
        if meta.len() == 0 {
            return Err(Error::Empty { path: path.into() });
        }
        Ok(Self { path: path.into(), file: Arc::new(file), length: meta.len() })
    }

    /// Its name in messages.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Its length in bytes when it was opened.
    pub fn length(&self) -> u64 {
        self.length
    }

    /// The opened file.
    pub fn file(&self) -> &File {
        &self.file
    }

    /// A reader at the file's beginning.
    pub fn reader(&self) -> Reader {
        Reader { file: self.file.clone(), length: self.length, at: 0 }
    }

    /// The whole file, or its first `at_most` bytes.
    pub fn bytes(&self, at_most: u64) -> Result<Vec<u8>, Error> {
        let mut data = Vec::with_capacity(self.length.min(at_most) as usize);
        self.reader().take(at_most).read_to_end(&mut data).map_err(|e| Error::unreadable(&self.path, &e))?;
        Ok(data)
    }
}

/// Opens a regular file for reading, or reports what else it is: reading a pipe can wait forever, and a device never ends.
///
/// # Errors
/// An error of the system, or `InvalidInput` if it is not a regular file.
pub fn open_regular(path: &Path) -> io::Result<File> {
    regular(std::fs::metadata(path)?)?;
    let file = open_at_once(path)?;
    regular(file.metadata()?)?;
    Ok(file)
}

/// Accepts a regular file. A folder has its own error.
fn regular(meta: std::fs::Metadata) -> io::Result<std::fs::Metadata> {
    match () {
        () if meta.is_file() => Ok(meta),
        () if meta.is_dir() => Err(io::ErrorKind::IsADirectory.into()),
        () => Err(io::Error::new(io::ErrorKind::InvalidInput, format!("it is {}, not a regular file", kind(&meta)))),
    }
}

#[cfg(unix)]
fn kind(meta: &std::fs::Metadata) -> &'static str {
    use std::os::unix::fs::FileTypeExt;
    let t = meta.file_type();
    if t.is_fifo() {
        "a pipe"
    } else if t.is_socket() {
        "a socket"
    } else {
        "a device"
    }
}

#[cfg(not(unix))]
fn kind(_: &std::fs::Metadata) -> &'static str {
    "a device"
}

/// Opens without waiting, also where a pipe took the file's place since it was looked at.
#[cfg(unix)]
fn open_at_once(path: &Path) -> io::Result<File> {
    use std::os::unix::fs::OpenOptionsExt;
    // For a regular file the flag means nothing (POSIX open).
    let flags = rustix::fs::OFlags::NONBLOCK | rustix::fs::OFlags::NOCTTY;
    File::options().read(true).custom_flags(flags.bits() as i32).open(path)
}

#[cfg(not(unix))]
fn open_at_once(path: &Path) -> io::Result<File> {
    File::open(path)
}

/// A place in an opened file.
#[derive(Debug)]
pub(crate) struct Reader {
    file: Arc<File>,
    length: u64,
    at: u64,
}

impl Read for Reader {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        #[cfg(unix)]
        let n = std::os::unix::fs::FileExt::read_at(&*self.file, into, self.at)?;
        #[cfg(windows)]
        let n = std::os::windows::fs::FileExt::seek_read(&*self.file, into, self.at)?;
        self.at += n as u64;
        Ok(n)
    }
}

impl Seek for Reader {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        let place = match to {
            SeekFrom::Start(n) => Some(n),
            SeekFrom::End(n) => self.length.checked_add_signed(n),
            SeekFrom::Current(n) => self.at.checked_add_signed(n),
        };
        // Places over the largest signed number are refused by systems.
        match place.filter(|p| *p <= i64::MAX as u64) {
            Some(place) => {
                self.at = place;
                Ok(place)
            }
            None => Err(io::ErrorKind::InvalidInput.into()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn readers_do_not_disturb_each_other() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a");
        std::fs::write(&path, b"0123456789").unwrap();
        let source = Source::open(&path).unwrap();
        let (mut a, mut b) = (source.reader(), source.reader());
        let mut two = [0; 2];
        a.seek(SeekFrom::End(-2)).unwrap();
        b.read_exact(&mut two).unwrap();
        assert_eq!(&two, b"01");
        a.read_exact(&mut two).unwrap();
        assert_eq!(&two, b"89");
        assert!(a.read_exact(&mut two).is_err() && a.seek(SeekFrom::Current(-99)).is_err());
        assert_eq!(source.bytes(4).unwrap(), b"0123");
    }

    #[cfg(unix)]
    #[test]
    fn what_is_no_regular_file_is_named_and_not_waited_for() {
        let folder = tempfile::tempdir().unwrap();
        let socket = folder.path().join("socket.jpg");
        let _open = std::os::unix::net::UnixListener::bind(&socket).unwrap();
        let link = folder.path().join("link.jpg");
        std::os::unix::fs::symlink("/dev/zero", &link).unwrap();
        for (path, word) in [(socket.as_path(), "a socket"), (&link, "a device"), (folder.path(), "a folder")] {
            let says = Source::open(path).unwrap_err().to_string();
            assert!(says.contains(word) && says.contains(&path.display().to_string()), "{says}");
        }
    }
}
