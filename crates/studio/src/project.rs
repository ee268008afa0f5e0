//! A project: a folder with its catalogue, finished files and sidecars.
//!
//! ```text
//! fallside.db    the catalogue            finished/   reports, masters, mounts, shares, previews
//! originals/     frames copied in         backups/    copies of the catalogue
//! charts/        values of colour charts
//! ```
//!
//! The folder can be moved: everything inside is known by its place in it. Originals that were not copied in are known by
//! where they lie and by their BLAKE3. Everything a page does goes through [`Project`]: a change is one entry of the journal,
//! and the sidecars of the prints it touched are written before the call returns.

mod describe;
mod face;
mod link;
mod mend;
mod rebuild;
mod sidecar;
mod stack;
mod take;

pub use catalogue;
pub use describe::{edit, pair, pair_off, split};
pub use link::{Choice, better_front};
pub use mend::{catch_up, mend, said, step};
pub use rebuild::{Rebuilt, rebuild};
pub use stack::{lift, propose, stack};
pub use take::{Take, TakeEvent, Taken, take};

use crate::finish::{MARK, write_beside};
use crate::job::FrameError;
use catalogue::{Catalogue, Entry, Frame, Hold, HoldError, PrintId, Writer};
use std::path::{Component, Path, PathBuf};

/// The catalogue's file.
pub const DATABASE: &str = "fallside.db";
/// Folder of finished files.
pub const FINISHED: &str = "finished";
/// Folder of originals that were copied in.
pub const ORIGINALS: &str = "originals";
/// Folder of the values of charts, each by its hash: small files that finishing again needs.
pub const CHARTS: &str = "charts";
/// Folder of copies of the catalogue.
pub const BACKUPS: &str = "backups";

/// Why a project could not do something.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The catalogue could not.
    #[error(transparent)]
    Catalogue(#[from] catalogue::Error),
    /// A file could not be read or written.
    #[error(transparent)]
    File(#[from] FrameError),
    /// Somebody else is at it.
    #[error("{0}")]
    Held(String),
    /// It cannot be so.
    #[error("{0}")]
    Refused(String),
}

/// A result of a project's work.
pub type Result<T> = std::result::Result<T, Error>;

/// What is done to a project that only one program may do at a time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Task {
    /// Being the desk: the page's server.
    Desk,
    /// Taking frames in: writing finished files.
    Take,
}

/// A project folder, open.
#[derive(Debug)]
pub struct Project {
    folder: PathBuf,
    catalogue: Catalogue,
}

impl Project {
    /// Opens the project in `folder`; makes folder and catalogue where there are none.
    ///
    /// # Errors
    /// The folder may not be written, or its catalogue is damaged or of a later version.
    pub fn open_or_begin(folder: &Path) -> Result<Self> {
        std::fs::create_dir_all(folder.join(MARK)).map_err(|e| FrameError::writing(folder, &e))?;
        let mut catalogue = Catalogue::open(&folder.join(DATABASE))?;
        if catalogue.about("begun")?.is_none() {
            catalogue.change("Began the project", |w| w.about("begun", env!("CARGO_PKG_VERSION")))?;
        }
        Self { folder: folder.to_owned(), catalogue }.settled()
    }

    /// Opens the project in `folder`.
    ///
    /// # Errors
    /// There is none, or as [`Project::open_or_begin`].
    pub fn open(folder: &Path) -> Result<Self> {
        if !folder.join(DATABASE).exists() {
            return Err(catalogue::Error::Missing(folder.display().to_string()).into());
        }
        Self::open_or_begin(folder)
    }

    /// False where nothing can be written into the project's folder: a disk that only reads, another person's project.
    pub fn is_writable(folder: &Path) -> bool {
        tempfile::Builder::new().prefix(".fallside-").tempfile_in(folder).is_ok()
    }

    /// Opens the project in `folder` for reading only, beside whoever writes.
    ///
    /// # Errors
    /// There is none, or its catalogue cannot be read.
    pub fn open_to_read(folder: &Path) -> Result<Self> {
        Ok(Self { folder: folder.to_owned(), catalogue: Catalogue::open_to_read(&folder.join(DATABASE))? })
    }

    /// Writes sidecars that an earlier, interrupted run still owes.
    fn settled(mut self) -> Result<Self> {
        self.settle()?;
        Ok(self)
    }

    /// The folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// The catalogue, for reading. Changes go through [`Project::change`].
    pub fn catalogue(&self) -> &Catalogue {
        &self.catalogue
    }

    /// Holds a task as long as the answer lives: whoever comes second is told who is first.
    ///
    /// # Errors
    /// Somebody else holds it, or the folder may not be written.
    pub fn hold(&self, task: Task) -> Result<Hold> {
        let (file, first) = match task {
            Task::Desk => ("desk.lock", "This project is open at"),
            Task::Take => ("take.lock", "Frames are being taken into this project by"),
        };
        let who = match task {
            Task::Desk => format!("a desk, process {}", std::process::id()),
            Task::Take => format!("process {}", std::process::id()),
        };
        let path = self.folder.join(MARK).join(file);
        Hold::take(&path, &who).map_err(|e| match e {
            HoldError::Held(by) => Error::Held(format!("{first} {by}. Close it first, or wait until it is done.")),
            HoldError::Io(e) => FrameError::writing(&path, &e).into(),
        })
    }

    /// Does one thing: one entry of the journal, undone in one step, with the sidecars of the prints it touched.
    ///
    /// # Errors
    /// The catalogue cannot be written, or `work` gave up; then nothing was changed. A sidecar that cannot be written is
    /// owed, and written with the next change.
    pub fn change<T>(&mut self, says: &str, work: impl FnOnce(&Writer) -> catalogue::Result<T>) -> Result<T> {
        let done = self.catalogue.change(says, work)?;
        self.settle()?;
        Ok(done)
    }

    /// Undoes the last thing done.
    ///
    /// # Errors
    /// The catalogue or a sidecar cannot be written.
    pub fn undo(&mut self) -> Result<Option<Entry>> {
        let entry = self.catalogue.undo()?;
        self.settle()?;
        Ok(entry)
    }

    /// Does again what was undone last.
    ///
    /// # Errors
    /// The catalogue or a sidecar cannot be written.
    pub fn redo(&mut self) -> Result<Option<Entry>> {
        let entry = self.catalogue.redo()?;
        self.settle()?;
        Ok(entry)
    }

    /// Writes the sidecars of every print that has changed since they were written.
    ///
    /// # Errors
    /// A sidecar cannot be written; it stays owed.
    pub fn settle(&mut self) -> Result<()> {
        let due = self.catalogue.sidecars_due()?;
        if due.is_empty() {
            return Ok(());
        }
        for (print, _) in &due {
            self.write_sidecars(*print)?;
        }
        Ok(self.catalogue.sidecars_written(&due)?)
    }

    fn write_sidecars(&self, id: PrintId) -> Result<()> {
        let Some(print) = self.catalogue.print(id)? else { return Ok(()) };
        for frame in &print.frames {
            if let Some(master) = frame.result.as_ref().and_then(|r| r.master.as_deref()) {
                // A catalogue that somebody sent may name a file anywhere.
                if let Some(place) = self.inside(master).map(|m| m.with_extension("xmp")) {
                    // What cannot be read holds somebody's words all the same: it is never written over.
                    if sidecar::read_file(&place).is_err() {
                        sidecar::set_aside(&place)?;
                    }
                    write_beside(&place, sidecar::write(&print, frame).as_bytes())?;
                }
            }
        }
        Ok(())
    }

    /// Copies the catalogue to `to`, or into the folder of backups under the next free number.
    ///
    /// # Errors
    /// The copy cannot be written.
    pub fn backup(&self, to: Option<&Path>) -> Result<PathBuf> {
        let place = match to {
            Some(to) => to.to_owned(),
            None => {
                let folder = self.folder.join(BACKUPS);
                std::fs::create_dir_all(&folder).map_err(|e| FrameError::writing(&folder, &e))?;
                let names = (1..).map(|n| folder.join(format!("fallside-{n:04}.db")));
                names.into_iter().find(|p| !p.exists()).unwrap_or_else(|| folder.join(DATABASE))
            }
        };
        if place.canonicalize().is_ok_and(|p| self.folder.join(DATABASE).canonicalize().is_ok_and(|d| d == p)) {
            return Err(Error::Refused("A backup cannot go over the catalogue itself.".into()));
        }
        self.catalogue.backup(&place)?;
        Ok(place)
    }

    /// A file of the project by its place in it; `None` for a place outside, however it is written, and for links that
    /// lead outside.
    pub fn inside(&self, relative: &str) -> Option<PathBuf> {
        let path = Path::new(relative);
        let plain = !relative.is_empty()
            && !relative.contains(['\\', '\0'])
            && path.components().all(|c| matches!(c, Component::Normal(_)));
        let place = plain.then(|| self.folder.join(path))?;
        let (real, folder) = (place.canonicalize().ok()?, self.folder.canonicalize().ok()?);
        real.starts_with(folder).then_some(real)
    }

    /// Where a frame's original lies.
    pub fn original(&self, frame: &Frame) -> PathBuf {
        self.folder.join(&frame.path)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_way_leads_outside() {
        let top = tempfile::tempdir().unwrap();
        let project = Project::open_or_begin(&top.path().join("p")).unwrap();
        std::fs::write(top.path().join("secret"), "x").unwrap();
        std::fs::write(top.path().join("p/note"), "x").unwrap();
        #[cfg(unix)]
        std::os::unix::fs::symlink(top.path().join("secret"), top.path().join("p/link")).unwrap();
        assert!(project.inside("note").is_some() && project.inside("fallside.db").is_some());
        for way in
            ["../secret", "/etc/passwd", "finished/../../secret", "link", "", ".", "./../secret", "..\\secret", "none"]
        {
            assert_eq!(project.inside(way), None, "{way}");
        }
    }

    #[test]
    fn the_second_desk_is_told_and_a_reader_may_come_in() {
        let top = tempfile::tempdir().unwrap();
        let first = Project::open_or_begin(top.path()).unwrap();
        let second = Project::open(top.path()).unwrap();
        let held = first.hold(Task::Desk).unwrap();
        let error = second.hold(Task::Desk).unwrap_err().to_string();
        assert!(error.contains("a desk, process"), "{error}");
        assert!(second.hold(Task::Take).is_ok(), "frames may still be taken in");
        assert!(Project::open_to_read(top.path()).unwrap().catalogue().reads_only());
        drop(held);
        second.hold(Task::Desk).unwrap();
    }
}
