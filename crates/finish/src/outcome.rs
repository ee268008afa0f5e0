//! Events of a run, and the outcome of every file.

use crate::Role;
use crate::finding::Verdict;
use crate::recipe::PartOf;
use crate::report::Report;
use base::Exit;
use std::path::PathBuf;

/// The outcome of one file.
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

/// A file, or one of the prints in it, and its outcome.
#[derive(Clone, Debug)]
pub struct Entry {
    /// The original.
    pub path: PathBuf,
    /// Its name among the results.
    pub stem: String,
    /// Which of the frame's prints, where it holds several.
    pub part: Option<PartOf>,
    /// Its outcome.
    pub outcome: Outcome,
}

/// An event of a run.
#[derive(Clone, Debug)]
pub enum Event<'a> {
    /// A line about the whole: a folder left out, a chart without values, a twin.
    Says(String),
    /// A line about something that could not be done.
    Problem(String),
    /// Files looked at so far.
    Looked {
        /// This many.
        done: usize,
        /// Of this many.
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
    /// One more frame is done.
    Done {
        /// It.
        entry: &'a Entry,
        /// Frames done so far.
        done: usize,
        /// Of this many.
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
    pub(crate) fn nothing(problem: String) -> Self {
        Self { entries: vec![], problems: vec![problem], page: None, exit: Exit::NothingDone }
    }

    /// How many prints have each verdict: keep, look, reshoot. Of frames without a print only those count that a person should look
    /// at, since a print may have been forgotten there.
    pub fn verdicts(&self) -> [usize; 3] {
        [Verdict::Keep, Verdict::Look, Verdict::Reshoot]
            .map(|v| self.count(v, |r| r.shows_print() || v != Verdict::Keep))
    }

    /// How many bare beds, charts, rulers and flash-off frames cannot be used.
    pub fn unusable(&self) -> usize {
        self.count(Verdict::Unusable, |_| true)
    }

    fn count(&self, verdict: Verdict, counts: impl Fn(&Report) -> bool) -> usize {
        self.entries.iter().filter_map(|e| e.outcome.report()).filter(|r| r.verdict == verdict && counts(r)).count()
    }
}

/// Receives the events of a run.
pub type Tell<'a> = &'a (dyn Fn(Event) + Sync);

/// An entry and its place among the inputs.
pub(crate) type Ordered = (usize, Entry);
