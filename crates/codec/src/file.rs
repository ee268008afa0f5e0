//! Files opened for reading only, results written beside their target and renamed, panics contained.

use crate::Error;
use std::cell::Cell;
use std::fs::File;
use std::io::{self, BufWriter, Read, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::sync::Once;

/// Opens a file for reading; a folder is refused. Returns its length in bytes as well, never zero.
pub(crate) fn open(path: &Path) -> Result<(File, u64), Error> {
    let file = File::open(path).map_err(|e| Error::unreadable(path, &e))?;
    let meta = file.metadata().map_err(|e| Error::unreadable(path, &e))?;
    if meta.is_dir() {
        return Err(Error::unreadable(path, &io::Error::from(io::ErrorKind::IsADirectory)));
    }
    if meta.len() == 0 {
        return Err(Error::Empty { path: path.into() });
    }
    Ok((file, meta.len()))
}

/// The whole file, or its first `at_most` bytes.
pub(crate) fn bytes(path: &Path, at_most: u64) -> Result<Vec<u8>, Error> {
    let (file, len) = open(path)?;
    let mut data = Vec::with_capacity(len.min(at_most) as usize);
    file.take(at_most).read_to_end(&mut data).map_err(|e| Error::unreadable(path, &e))?;
    Ok(data)
}

/// Writes a file beside `path` under a passing name, flushes it to the disk and renames it over `path`.
///
/// Whatever happens, `path` holds either its old content or the whole new one.
pub(crate) fn write_beside<T>(
    path: &Path,
    fill: impl FnOnce(&mut BufWriter<&File>) -> io::Result<T>,
) -> Result<T, Error> {
    let fail = |e: io::Error| Error::write(path, &e);
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut builder = tempfile::Builder::new();
    builder.prefix(".fallside-").suffix(".part");
    #[cfg(unix)]
    {
        // Temporary files are private by default; a finished picture takes the rights any new file would get.
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    let temp = builder.tempfile_in(folder).map_err(fail)?;
    // 1 MiB: one strip or a few hundred rows per system call.
    let mut out = BufWriter::with_capacity(1 << 20, temp.as_file());
    let value = fill(&mut out).map_err(fail)?;
    out.flush().map_err(fail)?;
    drop(out);
    temp.as_file().sync_all().map_err(fail)?;
    temp.persist(path).map_err(|e| fail(e.error))?;
    #[cfg(unix)]
    {
        // The new name itself must survive a power cut; a folder that cannot be flushed (network) is no reason to fail.
        File::open(folder).and_then(|d| d.sync_all()).ok();
    }
    Ok(value)
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
    result.unwrap_or_else(|_| Err(Error::damaged(path, "its decoder gave up")))
}
