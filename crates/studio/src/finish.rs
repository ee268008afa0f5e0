//! Finish: folders and frames in, a folder of finished prints, reports and one page out.
//!
//! Order of work: gather the files, look at each once, give each its role, then finish them two at a time within a budget
//! of memory. Every result is written beside its place and renamed, the report last, so a report that is there stands for a
//! finished frame; the next run leaves such frames alone as long as their recipe is the same. A frame that fails is one
//! line, and the run goes on. Originals are opened for reading only.

mod claim;
mod gather;
mod look;
mod memory;
pub(crate) mod named;
mod names;
mod plan;
mod pool;
pub(crate) mod roles;
mod run;
pub(crate) mod state;

use crate::finding::Verdict;
use crate::job::Work;
use crate::recipe::{PartOf, Settings};
use crate::report::{Report, Role};
use crate::safe::Originals;
use std::collections::BTreeMap;
use std::path::PathBuf;

pub(crate) use crate::safe::beside::write_beside;
pub use gather::{Gathered, Source, gather};
pub(crate) use gather::{is_picture, pair_twins};
pub(crate) use names::{clean, with_hash};
pub(crate) use plan::relative;
pub(crate) use pool::{guarded, in_parallel, lock as held};
pub use roles::seconds_of;
pub(crate) use roles::{Seen, in_time, roles as roles_of};
pub use state::{MARK, reports_in};
pub(crate) use state::{as_finished, hash, outputs, read_report, unchanged};

/// What to finish, and how.
#[derive(Clone, Debug, Default)]
pub struct Request {
    /// Folders and files.
    pub inputs: Vec<PathBuf>,
    /// Where results go; never a folder that originals are read from.
    pub out: PathBuf,
    /// Frames said to be the bare bed. Empty: found among the inputs.
    pub blanks: Vec<PathBuf>,
    /// Frames said to be backs.
    pub backs: Vec<PathBuf>,
    /// The frame said to be the chart.
    pub chart: Option<PathBuf>,
    /// The chart's values.
    pub chart_values: Option<PathBuf>,
    /// The frame said to be without flash.
    pub ambient: Option<PathBuf>,
    /// The photographer's choices.
    pub settings: Settings,
    /// Set for a project, which holds many boxes.
    pub project: Option<OfProject>,
    /// Most memory that frames in work may take, bytes; `None` for a quarter of the machine's.
    pub memory: Option<u64>,
}

/// How a project's frames are finished: results of all boxes in one folder, so each is named by its frame's name and hash; no
/// page, since the project has its own; and what was finished before stands.
#[derive(Clone, Debug, Default)]
pub struct OfProject {
    /// The exposures, in order, instead of what `inputs` hold.
    pub sources: Vec<Source>,
    /// BLAKE3 of frames whose results stand, whatever recipe they would get now, as long as their role is the same: they
    /// are here to be looked at, for the sake of the others. Each with the number of prints that it was finished as.
    pub standing: BTreeMap<String, u32>,
}

/// What became of the whole run. The process exits with this number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u8)]
pub enum Exit {
    /// Every frame is finished (whatever its verdict).
    AllDone = 0,
    /// Some frame or folder could not be read or finished; each has its line.
    WithProblems = 1,
    /// Nothing could be done.
    NothingDone = 2,
}

/// What became of one file.
#[derive(Clone, Debug)]
pub enum Outcome {
    /// Finished now.
    Finished(Box<Report>),
    /// Finished by an earlier run with the same recipe.
    Already(Box<Report>),
    /// Not finished: the line says why.
    Failed(String),
}

impl Outcome {
    /// Its report, where there is one.
    pub fn report(&self) -> Option<&Report> {
        match self {
            Self::Finished(r) | Self::Already(r) => Some(r),
            Self::Failed(_) => None,
        }
    }
}

/// A file, or one of the prints that it shows, and what became of it.
#[derive(Clone, Debug)]
pub struct Entry {
    /// The original.
    pub path: PathBuf,
    /// Its name among the results.
    pub stem: String,
    /// Which of the frame's prints, where it holds several.
    pub part: Option<PartOf>,
    /// What became of it.
    pub outcome: Outcome,
}

/// What the run has to say while it works.
#[derive(Clone, Debug)]
pub enum Event<'a> {
    /// A line about the whole: a folder left out, a chart without values, a twin.
    Says(String),
    /// A line about something that could not be done.
    Problem(String),
    /// Files looked at so far.
    Looked {
        /// So many.
        done: usize,
        /// Of so many.
        of: usize,
    },
    /// Roles are known; frames are about to be finished.
    Begins {
        /// Frames with a print.
        prints: usize,
        /// Other frames, by role.
        others: Vec<(Role, usize)>,
        /// Frames that an earlier run has finished.
        already: usize,
        /// All frames.
        of: usize,
    },
    /// The verdict of a frame, or of one print in it, is known; its pictures are being made.
    Judged {
        /// The original.
        path: &'a std::path::Path,
        /// Its name among the results.
        stem: &'a str,
        /// Its report so far.
        report: &'a Report,
    },
    /// One frame more is done.
    Done {
        /// It.
        entry: &'a Entry,
        /// Frames done so far.
        done: usize,
        /// Of so many.
        of: usize,
        /// Where its report is.
        report: Option<PathBuf>,
    },
}

/// The whole run.
#[derive(Clone, Debug)]
pub struct Answer {
    /// Every file, in the order of the inputs.
    pub entries: Vec<Entry>,
    /// Lines about files and folders that could not be read at all.
    pub problems: Vec<String>,
    /// The page.
    pub page: Option<PathBuf>,
    /// How it ended.
    pub exit: Exit,
}

impl Answer {
    fn nothing(problem: String) -> Self {
        Self { entries: vec![], problems: vec![problem], page: None, exit: Exit::NothingDone }
    }

    /// How many prints have each verdict: keep, look, reshoot. Of frames without a print only those count that a person should look
    /// at, since a print may have been forgotten there.
    pub fn verdicts(&self) -> [usize; 3] {
        [Verdict::Keep, Verdict::Look, Verdict::Reshoot]
            .map(|v| self.count(v, |r| r.frame.role.holds_print() || v != Verdict::Keep))
    }

    /// How many bare beds, charts, rulers and flash-off frames cannot be used.
    pub fn unusable(&self) -> usize {
        self.count(Verdict::Unusable, |_| true)
    }

    fn count(&self, verdict: Verdict, counts: impl Fn(&Report) -> bool) -> usize {
        self.entries.iter().filter_map(|e| e.outcome.report()).filter(|r| r.verdict == verdict && counts(r)).count()
    }
}

/// Finishes one frame again, its files beside and renamed.
///
/// `notes` are what the run that it belongs to has to say of it.
pub(crate) fn finished_again(
    job: &crate::job::FrameJob,
    notes: &[String],
    work: &dyn Work,
) -> Result<Report, crate::job::FrameError> {
    let originals = Originals::of(job.reads());
    job.outputs.all().flat_map(|o| [&o.place, &o.part]).try_for_each(|place| originals.refuse(place))?;
    let finished = guarded(|| work.finish(job, &|_| {})).and_then(|done| {
        job.unchanged()?;
        let mut report = done.report;
        report.add_run_notes(notes);
        state::seal(&job.outputs, &mut report)?;
        state::settle(&job.outputs, &report)?;
        Ok(report)
    });
    if finished.is_err() {
        state::clear(&job.outputs);
    }
    finished
}

/// Finishes what `request` names with `work`, telling `tell` as it goes.
pub fn finish(request: &Request, work: &dyn Work, tell: &(dyn Fn(Event) + Sync)) -> Answer {
    run::finish(request, work, tell)
}
