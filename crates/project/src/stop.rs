//! A take that can be stopped: the frames in work are finished and entered, no other is begun.

use base::Failure;
use finish::job::{Finished, FrameJob, Judged, Look, Reference, Work};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

/// Asks a take to stop. Copies of it ask the same take.
#[derive(Clone, Debug, Default)]
pub struct Stop(Arc<AtomicBool>);

impl Stop {
    /// Asks for it.
    pub fn stop(&self) {
        self.0.store(true, Ordering::Release);
    }

    /// True once somebody asked for it.
    pub fn is_asked(&self) -> bool {
        self.0.load(Ordering::Acquire)
    }
}

/// A file that could not be taken in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unread {
    /// The file.
    pub path: PathBuf,
    /// Why.
    pub says: String,
}

impl std::fmt::Display for Unread {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        write!(f, "{}: {}", self.path.display(), self.says)
    }
}

/// The work on frames, which begins none after it was asked to stop, and tells which one is in hand.
pub(super) struct Stoppable<'a> {
    work: &'a dyn Work,
    stop: &'a Stop,
    in_hand: &'a (dyn Fn(&Path) + Sync),
    begun: Mutex<BTreeSet<PathBuf>>,
    left: Mutex<BTreeSet<PathBuf>>,
}

impl<'a> Stoppable<'a> {
    pub fn new(work: &'a dyn Work, stop: &'a Stop, in_hand: &'a (dyn Fn(&Path) + Sync)) -> Self {
        Self { work, stop, in_hand, begun: Mutex::default(), left: Mutex::default() }
    }

    /// The files that were not begun.
    pub fn left(self) -> BTreeSet<PathBuf> {
        self.left.into_inner().unwrap_or_else(PoisonError::into_inner)
    }

    fn leaves(&self, path: &Path) -> Result<(), Failure> {
        if !self.stop.is_asked() {
            return Ok(());
        }
        self.left.lock().unwrap_or_else(PoisonError::into_inner).insert(path.to_owned());
        Err(Failure::new("Not begun: the import was stopped."))
    }
}

impl Work for Stoppable<'_> {
    fn may_look(&self, path: &Path) -> Result<(), Failure> {
        self.leaves(path)
    }

    fn look(&self, path: &Path) -> Result<Look, Failure> {
        self.work.look(path)
    }

    fn prepare(&self, blank: &Reference) {
        self.work.prepare(blank);
    }

    fn check_chart_values(&self, values: &Path) -> Result<(), Failure> {
        self.work.check_chart_values(values)
    }

    fn likeness(&self, one: (&Path, &Look), other: (&Path, &Look)) -> Option<f64> {
        self.work.likeness(one, other)
    }

    fn finish(&self, job: &FrameJob, judged: &Judged) -> Result<Finished, Failure> {
        // A frame of several prints is whole or not there: its other prints follow the first.
        let begun = |path: &Path| self.begun.lock().unwrap_or_else(PoisonError::into_inner).contains(path);
        if !begun(&job.path) {
            self.leaves(&job.path)?;
            self.begun.lock().unwrap_or_else(PoisonError::into_inner).insert(job.path.clone());
            (self.in_hand)(&job.path);
        }
        self.work.finish(job, judged)
    }
}
