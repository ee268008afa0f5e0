//! Finishes one frame again, after a correction or its undo.

use crate::job::{FrameJob, Work};
use crate::report::Report;
use crate::results;
use base::files::Originals;
use base::workers::guarded;

/// Finishes one frame again; its files are written atomically.
///
/// `notes` are the notes of the run about this frame.
pub fn finished_again(job: &FrameJob, notes: &[String], work: &dyn Work) -> Result<Report, base::Failure> {
    let originals = Originals::of(job.reads());
    job.outputs.all().flat_map(|o| [&o.place, &o.part]).try_for_each(|place| originals.refuse(place))?;
    let finished = guarded(|| work.finish(job, &|_| {})).and_then(|done| {
        job.unchanged()?;
        let mut report = done.report;
        report.add_run_notes(notes);
        results::seal(&job.outputs, &mut report)?;
        results::settle(&job.outputs, &report)?;
        Ok(report)
    });
    if finished.is_err() {
        results::clear(&job.outputs);
    }
    finished
}
