//! Atomic writing of results, and containment of panics.

use crate::Error;
use std::cell::Cell;
#[cfg(unix)]
use std::fs::File;
use std::io::{self, BufWriter, Seek, SeekFrom, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::Once;
use tempfile::NamedTempFile;

/// A file being written beside its place under a passing name.
///
/// Whatever happens, the file has either its old or its complete new content.
pub(crate) struct Beside {
    path: PathBuf,
    out: BufWriter<NamedTempFile>,
}

impl Beside {
    /// Starts a file that is to be `path`.
    pub fn begin(path: &Path) -> Result<Self, Error> {
        let mut builder = tempfile::Builder::new();
        builder.prefix(".fallside-").suffix(".part");
        #[cfg(unix)]
        {
            // Temporary files are private by default; a finished picture takes the rights any new file would get.
            use std::os::unix::fs::PermissionsExt;
            builder.permissions(std::fs::Permissions::from_mode(0o666));
        }
        let temp = builder.tempfile_in(folder(path)).map_err(|e| Error::write(path, &e))?;
        // 1 MiB: one strip or a few hundred rows per system call.
        Ok(Self { path: path.into(), out: BufWriter::with_capacity(1 << 20, temp) })
    }

    /// Flushes it to the disk and renames it over its place.
    pub fn settle(self) -> Result<(), Error> {
        let fail = |e: io::Error| Error::write(&self.path, &e);
        let temp = self.out.into_inner().map_err(|e| fail(e.into_error()))?;
        temp.as_file().sync_all().map_err(fail)?;
        temp.persist(&self.path).map_err(|e| fail(e.error))?;
        #[cfg(unix)]
        {
            // The new name must survive a power cut; a folder that cannot be flushed (network) is not an error.
            File::open(folder(&self.path)).and_then(|d| d.sync_all()).ok();
        }
        Ok(())
    }
}

impl Write for Beside {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.out.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.out.flush()
    }
}

impl Seek for Beside {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        self.out.seek(to)
    }
}

/// Writes a file beside `path` and renames it over it.
pub(crate) fn write_beside<T>(path: &Path, fill: impl FnOnce(&mut Beside) -> io::Result<T>) -> Result<T, Error> {
    let mut out = Beside::begin(path)?;
    let value = fill(&mut out).map_err(|e| Error::write(path, &e))?;
    out.settle()?;
    Ok(value)
}

fn folder(path: &Path) -> &Path {
    path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

thread_local! { static QUIET: Cell<bool> = const { Cell::new(false) }; }

/// Runs a decoder; a panic inside becomes [`Error::Damaged`] and prints nothing.
pub(crate) fn contain<T>(path: &Path, decode: impl FnOnce() -> Result<T, Error>) -> Result<T, Error> {
    static HOOK: Once = Once::new();
    HOOK.call_once(|| {
        let usual = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |info| {
            if !QUIET.get() {
                usual(info);
            }
        }));
    });
    let before = QUIET.replace(true);
    let result = catch_unwind(AssertUnwindSafe(decode));
    QUIET.set(before);
    result.unwrap_or_else(|_| Err(Error::damaged(path, "its decoder failed")))
}
