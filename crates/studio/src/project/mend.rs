//! Mend: finishes one frame again with what a person said of it, its outline, format, turn or shadow.

use super::take::result;
use super::{CHARTS, Error, FINISHED, Project, Result, Task};
use crate::finish::{finished_again, outputs};
use crate::job::{FrameError, FrameJob, Reference, Work};
use crate::recipe::{ByHand, Recipe};
use crate::report::Report;
use catalogue::{Frame, FrameId};

/// Keeps what a person says of a frame and finishes it again so. One entry of the journal, called `says`.
///
/// # Errors
/// The frame has no print, its original is not there, or a result cannot be written; then nothing is changed.
pub fn mend(project: &mut Project, id: FrameId, by_hand: &ByHand, says: &str, work: &dyn Work) -> Result<Report> {
    let frame = project.catalogue().frame(id)?.ok_or_else(|| Error::Refused("There is no such frame.".into()))?;
    let report = finish_again(project, &frame, by_hand, work)?;
    let said = serde_json::to_string(by_hand).unwrap_or_default();
    project.change(says, |w| w.said(id, &said))?;
    Ok(report)
}

/// Finishes again every frame whose pictures are not what was said of it: after an undo, or a program that was ended.
///
/// # Errors
/// As [`mend`].
pub fn catch_up(project: &mut Project, work: &dyn Work) -> Result<usize> {
    let mut done = 0;
    for frame in project.catalogue().frames_by_hand()? {
        let said = said(&frame);
        if made(project, &frame)? != said {
            finish_again(project, &frame, &said, work)?;
            done += 1;
        }
    }
    Ok(done)
}

/// What was said of a frame.
pub fn said(frame: &Frame) -> ByHand {
    serde_json::from_str(&frame.said).unwrap_or_default()
}

/// What the frame's pictures were made by.
fn made(project: &Project, frame: &Frame) -> Result<ByHand> {
    let hash = frame.result.as_ref().map(|r| r.recipe.clone()).unwrap_or_default();
    let recipe = project.catalogue().recipe(&hash)?.unwrap_or_default();
    let recipe: Option<Recipe> = serde_json::from_str(&recipe).ok();
    Ok(recipe.and_then(|r| r.by_hand).unwrap_or_default())
}

/// Where a project keeps the values of a chart, by their hash.
pub(super) fn chart_values(project: &Project, blake3: &str) -> std::path::PathBuf {
    project.folder().join(CHARTS).join(format!("{blake3}.txt"))
}

fn finish_again(project: &mut Project, frame: &Frame, by_hand: &ByHand, work: &dyn Work) -> Result<Report> {
    let _held = project.hold(Task::Take)?;
    let job = job(project, frame, by_hand)?;
    let stem = job.1;
    let report = finished_again(&job.0, work)?;
    let result = result(project, &report, &stem);
    project.catalogue.record(frame.id, &result, &report.recipe.canonical())?;
    project.settle()?;
    Ok(report)
}

/// The job that made a frame's pictures, with something else said of it; and the name of its results.
fn job(project: &Project, frame: &Frame, by_hand: &ByHand) -> Result<(FrameJob, String)> {
    let refused = |says: String, remedy: &str| Error::File(FrameError::new(says).with_remedy(remedy));
    let held = frame.result.as_ref().filter(|_| frame.holds_print());
    let report = held.and_then(|r| project.report(r));
    let (Some(held), Some(old)) = (held, report) else {
        return Err(refused(format!("{} shows no print.", frame.name), "Say first that it is a front or a back."));
    };
    if let Some(corners) = &by_hand.outline_px {
        let size = (old.frame.width_px, old.frame.height_px);
        super::outline::check(corners, size)
            .map_err(|says| refused(says, "Give four corners in pixels of the frame."))?;
    }
    let path = project.original(frame);
    if !path.is_file() {
        let says = format!("The original of {} is not at {} any more.", frame.name, path.display());
        return Err(refused(says, "Connect its disk, or take it in again from where it is now."));
    }
    let referred = |hashes: &[String]| -> Result<Vec<Reference>> {
        let mut all = vec![];
        for hash in hashes {
            let known = project.catalogue().frames_by_hash(hash)?.first().map(|f| project.original(f));
            all.extend(known.filter(|p| p.is_file()).map(|path| Reference { path, blake3: hash.clone() }));
        }
        Ok(all)
    };
    let stem = held.report.rsplit('/').next().unwrap_or_default().trim_end_matches(".report.json").to_owned();
    let by_hand = Some(by_hand.clone()).filter(|b| *b != ByHand::default());
    let recipe = Recipe { by_hand, ..old.recipe };
    let inputs = &recipe.inputs;
    let one = |hash: &Option<String>| referred(hash.as_slice()).map(|r| r.into_iter().next());
    let values = inputs.chart_values.as_ref().map(|h| Reference { path: chart_values(project, h), blake3: h.clone() });
    let settings = recipe.by_hand.iter().fold(recipe.settings.clone(), |s, b| b.over(s));
    Ok((
        FrameJob {
            path,
            path_in_report: old.frame.path,
            blake3: frame.blake3.clone(),
            role: recipe.role,
            role_reason: old.frame.role_reason,
            look: crate::job::Look::default(),
            blanks: referred(&inputs.blanks)?,
            chart: one(&inputs.chart)?,
            chart_values: values.filter(|v| v.path.is_file()),
            ambient: one(&inputs.ambient)?,
            outputs: outputs(&project.folder().join(FINISHED), &stem, settings.srgb_png),
            settings,
            recipe,
            more: false,
        },
        stem,
    ))
}
