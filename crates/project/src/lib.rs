//! A project: a folder with its catalogue, finished files and sidecars.
//!
//! ```text
//! fallside.db    the catalogue            finished/   reports, masters, mounts, shares, previews
//! originals/     frames copied in         backups/    copies of the catalogue
//! charts/        values of colour charts
//! ```
//!
//! The folder can be moved: paths inside are relative. Originals that were not copied in are identified by path and BLAKE3. Everything that a
//! page does goes through [`Project`]: a change is one entry of the journal, and the sidecars of the changed prints are written before the
//! call returns.

mod appearance;
mod describe;
mod lights;
mod link;
mod mend;
mod outline;
mod rebuild;
mod sidecar;
mod stack;
mod stop;
mod table;
mod take;
pub mod words;

pub use appearance::learn_colours;
pub use catalogue;
pub use describe::{edit, pair, pair_off, split};
pub use lights::light_in;
pub use link::{Choice, better_front};
pub use mend::{catch_up, mend, said, step};
pub use rebuild::{Rebuilt, rebuild};
pub use sidecar::is_sidecar;
pub use stack::{lift, propose, stack};
pub use stop::{Stop, Unread};
pub use table::{TableRow, table};
pub use take::{Take, TakeEvent, Taken, take};

use base::Failure;
use base::files::MARK;
use base::files::write::write_beside;
use base::files::{Originals, exclusive, write};
use catalogue::{Catalogue, Entry, Frame, Hold, HoldError, PrintId, Rooms, TakenIn, Writer};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

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

/// The key of the decision about prints that say nothing of who may see them.
const UNSAID: &str = "unsaid-privacy";

/// Why a project could not do something.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The catalogue could not.
    #[error(transparent)]
    Catalogue(#[from] catalogue::Error),
    /// A file could not be read or written.
    #[error(transparent)]
    File(#[from] Failure),
    /// Somebody else is at it.
    #[error("{0}")]
    Held(String),
    /// It cannot be so.
    #[error("{0}")]
    Refused(String),
    /// The catalogue has it; sidecars do not yet.
    #[error("{0} What was said is kept, and its sidecars are written with the next change.")]
    Owed(String),
}

/// A result of a project's work.
pub type Result<T> = std::result::Result<T, Error>;

/// Tasks that only one program at a time may do in a project.
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
    /// Lines about sidecars that were set aside.
    asides: Vec<String>,
    /// Prevents a rebuild while this catalogue is written; none for a reader.
    _in_place: Option<Hold>,
    /// How long sidecars that somebody else writes are waited for.
    patience: Duration,
}

/// Held together by whoever writes, and alone by whoever makes the catalogue anew: a word said to the old one would be lost.
const IN_PLACE: &str = "catalogue.lock";
/// Held while sidecars are written.
const SIDECARS: &str = "sidecars.lock";
/// How long a word waits for a catalogue that is being made anew: longer than a project of some thousand frames takes.
const PATIENCE: Duration = Duration::from_secs(300);
/// How often it asks.
const AGAIN: Duration = Duration::from_millis(50);
/// The same for sidecars, which are written in milliseconds.
const SOON: Duration = Duration::from_millis(2);

/// Holds a task of the project in `folder`.
fn hold(folder: &Path, task: Task) -> Result<Hold> {
    let (file, first) = match task {
        Task::Desk => ("desk.lock", "This project is open in"),
        Task::Take => ("take.lock", "Frames are being taken into this project by"),
    };
    let who = match task {
        Task::Desk => format!("a desk, process {}", std::process::id()),
        Task::Take => format!("process {}", std::process::id()),
    };
    let path = folder.join(MARK).join(file);
    Hold::take(&path, &who).map_err(|e| match e {
        HoldError::Held(by) => Error::Held(format!("{first} {by}. Close it first, or wait until it has finished.")),
        HoldError::Io(e) => Failure::writing(&path, &e).into(),
    })
}

/// Waits for a running rebuild, and then prevents another.
fn in_place(folder: &Path) -> Result<Hold> {
    let lock = folder.join(MARK).join(IN_PLACE);
    let begun = Instant::now();
    loop {
        match Hold::share(&lock, &format!("process {}", std::process::id())) {
            Ok(held) => return Ok(held),
            Err(HoldError::Held(_)) if begun.elapsed() < PATIENCE => std::thread::sleep(AGAIN),
            Err(HoldError::Held(by)) => {
                return Err(Error::Held(format!(
                    "The catalogue is being rebuilt by {by}. Nothing was changed; try again when that has finished."
                )));
            }
            Err(HoldError::Io(e)) => return Err(Failure::writing(&lock, &e).into()),
        }
    }
}

impl Project {
    /// Opens the project in `folder`; creates folder and catalogue if missing.
    ///
    /// # Errors
    /// The folder may not be written, or its catalogue is damaged or of a later version.
    pub fn open_or_begin(folder: &Path) -> Result<Self> {
        std::fs::create_dir_all(folder.join(MARK)).map_err(|e| Failure::writing(folder, &e))?;
        let in_place = in_place(folder)?;
        Self::open_in_place(folder, Some(in_place))
    }

    /// Opens the project whose catalogue stays where it is.
    fn open_in_place(folder: &Path, in_place: Option<Hold>) -> Result<Self> {
        let mut catalogue = Catalogue::open(&folder.join(DATABASE))?;
        if catalogue.about("begun")?.is_none() {
            catalogue.change("Began the project", |w| w.about("begun", env!("CARGO_PKG_VERSION")))?;
        }
        Self { folder: folder.to_owned(), catalogue, asides: vec![], _in_place: in_place, patience: PATIENCE }.settled()
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

    /// False if the project's folder is not writable: a read-only disk, or another person's project.
    pub fn is_writable(folder: &Path) -> bool {
        tempfile::Builder::new().prefix(".fallside-").tempfile_in(folder).is_ok()
    }

    /// Opens the project in `folder` read-only, also while another program writes.
    ///
    /// # Errors
    /// There is none, or its catalogue cannot be read.
    pub fn open_to_read(folder: &Path) -> Result<Self> {
        let catalogue = Catalogue::open_to_read(&folder.join(DATABASE))?;
        Ok(Self { folder: folder.to_owned(), catalogue, asides: vec![], _in_place: None, patience: PATIENCE })
    }

    /// Writes sidecars that an earlier, interrupted run still owes.
    fn settled(mut self) -> Result<Self> {
        {
            let _alone = self.hold_sidecars()?;
            let of_sidecar = |name: &str| name.contains(".xmp-");
            write::sweep(&self.folder.join(FINISHED).join("masters"), of_sidecar);
        }
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

    /// Locks a task as long as the result lives; a second program is told who holds it.
    ///
    /// # Errors
    /// Somebody else holds it, or the folder may not be written.
    pub fn hold(&self, task: Task) -> Result<Hold> {
        hold(&self.folder, task)
    }

    /// Does one thing: one entry of the journal, undone in one step, with the sidecars of the prints it touched.
    ///
    /// # Errors
    /// The catalogue cannot be written, or `work` gave up; then nothing was changed. A sidecar that cannot be written is
    /// owed, and written with the next change.
    pub fn change<T>(&mut self, says: &str, work: impl FnOnce(&Writer) -> catalogue::Result<T>) -> Result<T> {
        let done = self.catalogue.change(says, work)?;
        self.settle_after()?;
        Ok(done)
    }

    /// What it means that a print says nothing of who may see it: `open`, `ask` or `private`; `None` until somebody has decided.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn unsaid_privacy(&self) -> Result<Option<String>> {
        Ok(self.catalogue.about(UNSAID)?.filter(|w| catalogue::PRIVACY.contains(&w.as_str())))
    }

    /// Decides what it means that a print says nothing of who may see it.
    ///
    /// # Errors
    /// The word is none of privacy's, or the catalogue cannot be written.
    pub fn decide_unsaid_privacy(&mut self, word: &str) -> Result<()> {
        let word = catalogue::Fact::Privacy.check(word)?;
        if word.is_empty() {
            return Err(Error::Refused("Write open, ask or private.".into()));
        }
        self.change("Decided what an unsaid privacy means", |w| w.about(UNSAID, &word))
    }

    /// Makes the following changes in a room of the desk's page; gives the one before.
    pub fn set_room(&mut self, room: &str) -> String {
        self.catalogue.set_room(room)
    }

    /// Remembers a value about the project. It is nothing that could be undone.
    ///
    /// # Errors
    /// The catalogue cannot be written.
    pub fn remember(&mut self, key: &str, value: &str) -> Result<()> {
        Ok(self.catalogue.change("Remembered a setting", |w| w.about(key, value))?)
    }

    /// A new name for a take-in from a place, for what several takes enter together.
    ///
    /// # Errors
    /// The catalogue cannot be written.
    pub fn begin_take(&mut self, from: &str) -> Result<String> {
        Ok(self.catalogue.begin_take(from)?)
    }

    /// Undoes a take-in as a whole; how many frames it had entered.
    ///
    /// # Errors
    /// Something that was done since depends on it, or the catalogue or a sidecar cannot be written.
    pub fn undo_take(&mut self, room: &str) -> Result<Option<TakenIn>> {
        let all = self.catalogue.taken_in(usize::MAX >> 1)?;
        let Some(taken) = all.into_iter().find(|t| t.room == room) else { return Ok(None) };
        self.catalogue.undo_all_of(room)?;
        self.settle_after()?;
        Ok(Some(taken))
    }

    /// Undoes the last thing done in some rooms.
    ///
    /// # Errors
    /// What was done elsewhere since depends on it, or the catalogue or a sidecar cannot be written.
    pub fn undo(&mut self, rooms: &Rooms) -> Result<Option<Entry>> {
        let entry = self.catalogue.undo_in(rooms)?;
        self.settle_after()?;
        Ok(entry)
    }

    /// Redoes what was undone last in some rooms.
    ///
    /// # Errors
    /// As [`Project::undo`].
    pub fn redo(&mut self, rooms: &Rooms) -> Result<Option<Entry>> {
        let entry = self.catalogue.redo_in(rooms)?;
        self.settle_after()?;
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
        let _alone = self.hold_sidecars()?;
        for (print, _) in &due {
            let asides = self.write_sidecars(*print)?;
            self.asides.extend(asides);
        }
        Ok(self.catalogue.sidecars_written(&due)?)
    }

    /// The same after the catalogue was changed, which stands whoever writes sidecars meanwhile.
    fn settle_after(&mut self) -> Result<()> {
        self.settle().map_err(|e| match e {
            Error::Held(says) => Error::Owed(says),
            other => other,
        })
    }

    /// Takes the sidecar of a master away that is no more. One that cannot be read is set aside.
    fn drop_sidecar(&mut self, master: &str) -> Result<()> {
        let beside = Path::new(master).with_extension("xmp").display().to_string();
        let Some(place) = self.finished(&beside) else { return Ok(()) };
        let _alone = self.hold_sidecars()?;
        match sidecar::read_file(&place) {
            Ok(None) => {}
            Ok(Some(_)) => std::fs::remove_file(&place).map_err(|e| Failure::writing(&place, &e))?,
            Err(line) => {
                let kept = sidecar::set_aside(&place)?;
                self.asides.push(format!("{}: {line} It is kept as {}.", place.display(), kept.display()));
            }
        }
        Ok(())
    }

    /// Writes the sidecars of one print, changed or not.
    fn settle_print(&mut self, print: PrintId) -> Result<()> {
        let _alone = self.hold_sidecars()?;
        let asides = self.write_sidecars(print)?;
        self.asides.extend(asides);
        Ok(())
    }

    /// Waits while another program writes sidecars: a few milliseconds for each print.
    fn hold_sidecars(&self) -> Result<Hold> {
        let lock = self.folder.join(MARK).join(SIDECARS);
        let begun = Instant::now();
        loop {
            match Hold::take(&lock, &format!("process {}", std::process::id())) {
                Ok(held) => return Ok(held),
                Err(HoldError::Held(_)) if begun.elapsed() < self.patience => std::thread::sleep(SOON),
                Err(HoldError::Held(by)) => return Err(Error::Held(format!("Sidecars are being written by {by}."))),
                Err(HoldError::Io(e)) => return Err(Failure::writing(&lock, &e).into()),
            }
        }
    }

    /// Lines about sidecars that could not be read and were set aside since this was asked last.
    pub fn asides(&mut self) -> Vec<String> {
        std::mem::take(&mut self.asides)
    }

    /// Writes the sidecars of a print; a line for each that was set aside.
    fn write_sidecars(&self, id: PrintId) -> Result<Vec<String>> {
        let mut asides = vec![];
        let Some(print) = self.catalogue.print(id)? else { return Ok(asides) };
        for frame in &print.frames {
            if let Some(master) = frame.result.as_ref().and_then(|r| r.master.as_deref()) {
                // A catalogue from somebody else may name files anywhere: a sidecar must be beside a master.
                if let Some(place) = self.finished(master).map(|m| m.with_extension("xmp")) {
                    // An unreadable sidecar may contain somebody's text, so it is never overwritten.
                    if let Err(line) = sidecar::read_file(&place) {
                        let kept = sidecar::set_aside(&place)?;
                        asides.push(format!("{}: {line} It is kept as {}.", place.display(), kept.display()));
                    }
                    let report = frame.result.as_ref().and_then(|r| self.report(r));
                    let shadow = report.and_then(|r| r.shadow).map(|s| s.says()).unwrap_or_default();
                    write_beside(&place, sidecar::write(&print, frame, &shadow).as_bytes())?;
                }
            }
        }
        Ok(asides)
    }

    /// Copies the catalogue to `to`, or into the folder of backups under the next free number.
    ///
    /// # Errors
    /// The copy cannot be written.
    pub fn backup(&self, to: Option<&Path>) -> Result<PathBuf> {
        let (place, _alone) = match to {
            Some(to) => {
                self.refuse_backup(to)?;
                let alone = exclusive::write_file(to)?;
                write::sweep_of(to);
                (to.to_owned(), alone)
            }
            None => {
                let folder = self.folder.join(BACKUPS);
                std::fs::create_dir_all(&folder).map_err(|e| Failure::writing(&folder, &e))?;
                let alone = exclusive::fill(&folder)?;
                write::sweep(&folder, |_| true);
                let names = (1..).map(|n| folder.join(format!("fallside-{n:04}.db")));
                let place = names.into_iter().find(|p| !p.exists()).unwrap_or_else(|| folder.join(DATABASE));
                (place, alone)
            }
        };
        self.catalogue.backup(&place)?;
        Ok(place)
    }

    /// Refuses a place for a backup that is, or leads to, the catalogue, an original, or anything but an earlier backup.
    fn refuse_backup(&self, to: &Path) -> Result<()> {
        if Originals::of([self.folder.join(DATABASE)]).refuse(to).is_err() {
            return Err(Error::Refused("A backup cannot overwrite the catalogue itself.".into()));
        }
        self.originals()?.refuse(to)?;
        if std::fs::symlink_metadata(to).is_err() || Catalogue::is_one(to) {
            return Ok(());
        }
        let says =
            format!("{} already exists and is not a backup of a catalogue, so it was not changed.", to.display());
        Err(Failure::new(says).with_remedy("Choose another name with --to.").into())
    }

    /// A file among the finished ones by its place in the project; `None` for any other.
    fn finished(&self, relative: &str) -> Option<PathBuf> {
        let place = self.inside(relative)?;
        base::files::is_below(&self.folder.join(FINISHED), &place)
    }

    /// A file of the project by its place in it; `None` for a place outside, however it is written, and for links that
    /// lead outside.
    pub fn inside(&self, relative: &str) -> Option<PathBuf> {
        let plain = base::files::is_plain(relative).then(|| self.folder.join(relative))?;
        base::files::is_below(&self.folder, &plain)
    }

    /// The report of a frame's results; `None` where it cannot be read or lies outside the project.
    pub fn report(&self, result: &catalogue::Finished) -> Option<finish::report::Report> {
        finish::read_report(&self.inside(&result.report)?)
    }

    /// Where the values of a chart are kept, by their BLAKE3.
    fn chart_values(&self, blake3: &str) -> PathBuf {
        self.folder().join(CHARTS).join(format!("{blake3}.txt"))
    }

    /// Every original in the catalogue, with the other files of its exposure: files that are never written.
    pub fn originals(&self) -> Result<Originals> {
        let mut originals = Originals::default();
        for frame in self.catalogue.all_frames()? {
            originals.add(&self.original(&frame));
            frame.twins.iter().for_each(|twin| originals.add(&self.folder.join(twin)));
        }
        Ok(originals)
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

    /// A word that the catalogue has is not called undone because sidecars must wait.
    #[test]
    fn a_word_is_kept_where_its_sidecars_must_wait() {
        let top = tempfile::tempdir().unwrap();
        let mut project = Project::open_or_begin(top.path()).unwrap();
        let other = Project::open(top.path()).unwrap();
        let held = other.hold_sidecars().unwrap();
        project.patience = Duration::ZERO;
        let print = std::cell::Cell::new(None);
        let error = project.change("Said a word", |w| {
            print.set(Some(w.mint()?));
            print.get().map_or(Ok(()), |p| w.say(p, catalogue::Fact::Title, "kept"))
        });
        assert!(matches!(&error, Err(Error::Owed(says)) if says.contains("Sidecars are being written")), "{error:?}");
        let kept = project.catalogue().print(print.get().unwrap()).unwrap().unwrap();
        assert_eq!(kept.facts.title, "kept");
        drop(held);
        project.settle().unwrap();
        assert!(project.catalogue().sidecars_due().unwrap().is_empty());
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
