//! Corrections: finishes one frame again with a given outline, format, turn or shadow, and undoes that.
//!
//! The same recipe gives the same bytes: a frame is finished again from the same inputs as before, including the first look and every file
//! that its recipe names; if one of them is missing, nothing is made. The frame is recorded while it is being finished again, so that the
//! next program can complete it after an interruption.

use super::take::result;
use super::{Error, FINISHED, Project, Result, Task};
use base::Failure;
use base::files::{MARK, hash, relative, to_write, write};
use catalogue::{Entry, Frame, FrameId, Rooms};
use finish::Role;
use finish::job::{FrameJob, Look, Reference, Work};
use finish::recipe::{ByHand, Recipe};
use finish::report::Report;
use finish::{finished_again, outputs, read_report};
use std::path::{Path, PathBuf};

/// Stores a correction of a frame and finishes it again. One entry of the journal, described by `says`.
///
/// # Errors
/// The frame has no print, a file that it was made from is not there, or a result cannot be written; then nothing is changed.
pub fn mend(project: &mut Project, id: FrameId, by_hand: &ByHand, says: &str, work: &dyn Work) -> Result<Report> {
    let frame = project.catalogue().frame(id)?.ok_or_else(|| Error::Refused("There is no such frame.".into()))?;
    let report = finish_again(project, &frame, by_hand, work)?;
    let said = serde_json::to_string(by_hand).unwrap_or_default();
    project.change(says, |w| w.said(id, &said))?;
    Ok(report)
}

/// Undoes the last thing done in some rooms, or with `forth` does again what was undone last there; the pictures of a frame of which something was said with
/// it follow.
///
/// # Errors
/// The catalogue cannot be written, or such a frame cannot be finished again: then all is as it was before.
pub fn step(project: &mut Project, forth: bool, rooms: &Rooms, work: &dyn Work) -> Result<Option<Entry>> {
    let go = |project: &mut Project, forth: bool| if forth { project.redo(rooms) } else { project.undo(rooms) };
    let before = project.catalogue().frames_by_hand()?;
    let entry = go(project, forth)?;
    if entry.is_none() {
        return Ok(None);
    }
    let known = |f: &Frame| before.iter().find(|b| b.id == f.id).map_or("", |b| b.said.as_str()) != f.said;
    let changed: Vec<Frame> = project.catalogue().frames_by_hand()?.into_iter().filter(known).collect();
    let followed = changed.iter().try_for_each(|frame| match made(project, frame)? == said(frame) {
        true => Ok(()),
        false => finish_again(project, frame, &said(frame), work).map(drop),
    });
    if let Err(e) = followed {
        go(project, !forth)?;
        // Those that had followed already go back with the rest.
        let _ = catch_up(project, work);
        let word = if forth { "redone" } else { "undone" };
        return Err(Error::Refused(format!("Nothing was {word}, because the pictures cannot be restored. {e}")));
    }
    // A frame that an earlier program left incomplete is no reason to refuse this.
    let _ = catch_up(project, work);
    Ok(entry)
}

/// Finishes again every frame whose pictures do not match its corrections, or that was interrupted; as many as possible.
///
/// # Errors
/// The catalogue cannot be read, or the first of the frames that could not be finished, after all others were tried.
pub fn catch_up(project: &mut Project, work: &dyn Work) -> Result<usize> {
    let left = half_made(project);
    let mut frames = project.catalogue().frames_by_hand()?;
    for id in &left {
        if !frames.iter().any(|f| f.id == *id) {
            frames.extend(project.catalogue().frame(*id)?);
        }
    }
    let (mut done, mut trouble) = (0, None);
    for frame in frames {
        let said = said(&frame);
        if left.contains(&frame.id) || made(project, &frame)? != said {
            match finish_again(project, &frame, &said, work) {
                Ok(_) => done += 1,
                Err(e) => {
                    trouble.get_or_insert(e);
                }
            }
        }
    }
    trouble.map_or(Ok(done), Err)
}

/// The folder with one note for each frame that is being finished again: its report from before, which is removed before its results are
/// put in their places.
const MENDING: &str = "mending";

fn note(project: &Project, frame: FrameId) -> PathBuf {
    project.folder().join(MARK).join(MENDING).join(format!("{}.json", frame.0))
}

/// Writes down that a frame is being finished again. `before` is its report.
fn begin(project: &Project, frame: FrameId, before: Option<&Report>) -> Result<()> {
    let note = note(project, frame);
    let folder = write::folder_of(&note);
    std::fs::create_dir_all(folder).map_err(|e| Failure::writing(folder, &e))?;
    let text = serde_json::to_string(&before).map_err(|e| Failure::writing(&note, &e.into()))?;
    Ok(write::write_beside(&note, text.as_bytes())?)
}

/// The frames that were being finished again when a program was interrupted.
fn half_made(project: &Project) -> Vec<FrameId> {
    let all = std::fs::read_dir(project.folder().join(MARK).join(MENDING)).into_iter().flatten().flatten();
    let number = |name: String| name.strip_suffix(".json")?.parse().ok().map(FrameId);
    all.filter_map(|e| number(e.file_name().to_string_lossy().into_owned())).collect()
}

/// The corrections of a frame.
pub fn said(frame: &Frame) -> ByHand {
    serde_json::from_str(&frame.said).unwrap_or_default()
}

/// The recipe of the frame's pictures.
fn made(project: &Project, frame: &Frame) -> Result<ByHand> {
    Ok(recipe_of(project, frame)?.and_then(|r| r.by_hand).unwrap_or_default())
}

/// The recipe that the catalogue holds of a frame.
fn recipe_of(project: &Project, frame: &Frame) -> Result<Option<Recipe>> {
    let hash = frame.result.as_ref().map(|r| r.recipe.clone()).unwrap_or_default();
    let recipe = project.catalogue().recipe(&hash)?.unwrap_or_default();
    Ok(serde_json::from_str(&recipe).ok())
}

fn finish_again(project: &mut Project, frame: &Frame, by_hand: &ByHand, work: &dyn Work) -> Result<Report> {
    let _held = project.hold(Task::Take)?;
    let again = again(project, frame, by_hand, work)?;
    begin(project, frame.id, again.before.as_ref())?;
    let report = finished_again(&again.job, &again.notes, work);
    if let Ok(report) = &report {
        let result = result(project.folder(), report, &again.stem);
        project.catalogue.record(frame.id, &result, &report.recipe.canonical())?;
        let before = frame.result.as_ref().and_then(|r| r.master.as_ref());
        if let (Some(master), None) = (before, &result.master) {
            project.drop_sidecar(master)?;
        }
    }
    // Where it failed while results were put in their places, the old report is no longer there: the frame stays due.
    if report.is_ok() || again.job.outputs.report.place.exists() {
        let _ = std::fs::remove_file(note(project, frame.id));
    }
    // The sidecar tells the print's size, which is of what was made now.
    frame.print.map_or(Ok(()), |print| project.settle_print(print))?;
    project.settle()?;
    Ok(report?)
}

/// A frame's work, to be done again.
struct Again {
    job: FrameJob,
    /// The name of its results.
    stem: String,
    /// Its report as it was.
    before: Option<Report>,
    /// The notes of the run that finished it.
    notes: Vec<String>,
}

/// The job that made a frame's pictures, with different corrections.
fn again(project: &Project, frame: &Frame, by_hand: &ByHand, work: &dyn Work) -> Result<Again> {
    let refused = |says: String, remedy: &str| Error::File(Failure::new(says).with_remedy(remedy));
    let no_print = || {
        let says = format!("{} shows no print.", frame.name);
        refused(says, "Set its role to front or back first.")
    };
    let held = frame.result.as_ref().filter(|_| frame.holds_print()).ok_or_else(no_print)?;
    let place = to_write(project.folder(), &held.report).ok_or_else(no_print)?;
    // A program that was interrupted while it put results in their places may have left no report: its note has it.
    let old = read_report(&place).or_else(|| read_report(&note(project, frame.id)));
    let recipe = match &old {
        Some(report) => report.recipe.clone(),
        None => recipe_of(project, frame)?.ok_or_else(no_print)?,
    };
    // Without a report the frame's size is not known, and an outline stands as it was drawn.
    if let (Some(corners), Some(old)) = (&by_hand.outline_px, &old) {
        super::outline::check(corners, (old.frame.width_px, old.frame.height_px))
            .map_err(|says| refused(says, "Give four corners in frame pixels."))?;
    }
    let path = project.original(frame);
    if !path.is_file() {
        let says = format!("The original of {} is no longer at {}.", frame.name, path.display());
        return Err(refused(says, "Connect its disk, or take it again from its new place."));
    }
    let by_hand = Some(by_hand.clone()).filter(|b| *b != ByHand::default());
    let recipe = Recipe { by_hand, ..recipe }.of_this_version();
    let settings = recipe.chosen();
    // An outline that was drawn is taken as it is; else the print is looked for where the first look saw it.
    let look = match recipe.by_hand.as_ref().is_some_and(|b| b.outline_px.is_some()) && recipe.part.is_none() {
        true => Look::default(),
        false => work.look(&path)?,
    };
    let inputs = &recipe.inputs;
    let seek = |hash: &String, what: &str| find(project, frame, old.as_ref(), &place, hash, what);
    let one = |hash: &Option<String>, what: &str| hash.as_ref().map(|h| seek(h, what)).transpose();
    let job = FrameJob {
        path_in_report: match &old {
            Some(report) => report.frame.path.clone(),
            None => relative(&path, place.parent().unwrap_or(project.folder())),
        },
        path,
        blake3: frame.blake3.clone(),
        role: recipe.role,
        role_reason: old.as_ref().map_or_else(|| frame.role_why.clone(), |r| r.frame.role_reason.clone()),
        look,
        blanks: inputs.blanks.iter().map(|h| seek(h, Role::Blank.word())).collect::<Result<_>>()?,
        chart: one(&inputs.chart, Role::Chart.word())?,
        chart_values: one(&inputs.chart_values, "values of the colour chart")?,
        ambient: one(&inputs.ambient, "frame with the flash off")?,
        flash_off: one(&inputs.flash_off, "frame with the flash off")?,
        counter: one(&inputs.counter, Role::Counter.word())?,
        outputs: outputs(
            &project.folder().join(FINISHED),
            held.report.rsplit('/').next().unwrap_or_default().trim_end_matches(".report.json"),
            settings.srgb_png,
        ),
        settings,
        recipe,
        more: false,
    };
    let notes = old.as_ref().map(|r| r.run_notes().to_vec()).unwrap_or_default();
    let stem = held.report.rsplit('/').next().unwrap_or_default().trim_end_matches(".report.json").to_owned();
    Ok(Again { job, stem, before: old, notes })
}

/// A file that a frame's recipe names: among the project's frames, its charts' values, or where the report says that it lay.
fn find(
    project: &Project,
    frame: &Frame,
    report: Option<&Report>,
    place: &Path,
    blake3: &str,
    what: &str,
) -> Result<Reference> {
    let known = project.catalogue().frames_by_hash(blake3)?;
    let known = known.iter().map(|f| project.original(f));
    let told = report.and_then(|r| r.used.iter().find(|u| u.blake3 == blake3));
    let told = told.map(|u| place.parent().unwrap_or(project.folder()).join(&u.path));
    let mut all = told.into_iter().chain(known).chain([project.chart_values(blake3)]);
    match all.find(|p| p.is_file() && hash(p).is_ok_and(|h| h == blake3)) {
        Some(path) => Ok(Reference { path, blake3: blake3.to_owned() }),
        None => Err(Error::File(
            Failure::new(format!("The {what} that {} was finished with is missing.", frame.name))
                .with_remedy("Connect its disk, or put the file back where it was."),
        )),
    }
}
