//! Rebuild: makes the catalogue from masters, reports and sidecars if the database is lost or damaged.
//!
//! Restored: every finished frame with its results and findings; prints with their numbers, words, frames and chosen fronts; edits with their
//! order; stacks. Not restored: the journal, hand-offs, and numbers of deleted prints that are in no sidecar, unless the old database can
//! still be read.

use super::sidecar::{self, Held};
use super::take::{own_name, part_of, result, role_word};
use super::{AGAIN, DATABASE, Error, FINISHED, IN_PLACE, Project, Result, Task, appearance, hold};
use base::Failure;
use catalogue::colour::MainColours;
use catalogue::{Catalogue, Hold, HoldError, NewFrame, PrintId};
use finish::read_report;
use finish::report::Report;
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::time::{Duration, Instant};

/// The result of a rebuild.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Rebuilt {
    /// Frames.
    pub frames: usize,
    /// Prints.
    pub prints: usize,
    /// Sidecars read.
    pub sidecars: usize,
    /// Lines about what could not be read.
    pub problems: Vec<String>,
    /// The new path of the old database.
    pub old: Option<String>,
}

struct Found {
    stem: String,
    report: Report,
    held: Option<Held>,
}

/// Rebuilds the catalogue of the project in `folder`. The old catalogue is kept under another name.
///
/// # Errors
/// There is nothing to rebuild from, the project is in use, or the new catalogue cannot be written.
pub fn rebuild(folder: &Path) -> Result<Rebuilt> {
    let reports = folder.join(FINISHED).join("reports");
    let mut rebuilt = Rebuilt::default();
    if !reports.is_dir() {
        return Err(nothing(&reports));
    }
    // Lock before reading: earlier changes are in the sidecars, and later ones wait.
    let _alone = alone(folder)?;
    let found = read_all(&reports, &mut rebuilt);
    if found.is_empty() {
        return Err(nothing(&reports));
    }
    let fresh = folder.join(format!("{DATABASE}.new"));
    for rest in [fresh.clone(), beside(&fresh, "-wal"), beside(&fresh, "-shm")] {
        let _ = std::fs::remove_file(rest);
    }
    let mut project = Project {
        folder: folder.to_owned(),
        catalogue: Catalogue::open(&fresh)?,
        asides: vec![],
        _in_place: None,
        patience: super::PATIENCE,
    };
    // The old one may still contain the used numbers.
    let old = Catalogue::open_to_read(&folder.join(DATABASE)).ok();
    let highest = old.as_ref().and_then(|old| old.highest_number().ok()).unwrap_or(PrintId(0));
    fill(&mut project, &found, highest, &mut rebuilt)?;
    if let Some(old) = old {
        // What no sidecar holds: searches by name, and what was decided for the project.
        let (searches, kept) = (old.saved_searches().unwrap_or_default(), old.abouts().unwrap_or_default());
        project.catalogue.change("Kept searches and settings", |w| {
            searches.iter().try_for_each(|(name, line)| w.save_search(name, line))?;
            kept.iter().filter(|(key, _)| key != "begun").try_for_each(|(key, value)| w.about(key, value))
        })?;
    }
    drop(project);
    rebuilt.old = put_in_place(folder, &fresh)?;
    // Whatever sidecars are now out of date is written again.
    Project::open_in_place(folder, None)?;
    Ok(rebuilt)
}

fn nothing(reports: &Path) -> Error {
    Error::Refused(format!("There is nothing to rebuild from: {} contains no reports.", reports.display()))
}

/// Locks out all other users of the project: the desk, takes, and changes.
fn alone(folder: &Path) -> Result<[Hold; 3]> {
    let mark = folder.join(base::files::MARK);
    std::fs::create_dir_all(&mark).map_err(|e| Failure::writing(folder, &e))?;
    let (desk, take) = (hold(folder, Task::Desk)?, hold(folder, Task::Take)?);
    let lock = mark.join(IN_PLACE);
    let begun = Instant::now();
    loop {
        match Hold::take(&lock, &format!("process {}", std::process::id())) {
            Ok(held) => return Ok([desk, take, held]),
            // A word is said in a moment.
            Err(HoldError::Held(_)) if begun.elapsed() < MOMENT => std::thread::sleep(AGAIN),
            Err(HoldError::Held(by)) => {
                return Err(Error::Held(format!(
                    "The catalogue is being written by {by}. Wait until that has finished, then rebuild."
                )));
            }
            Err(HoldError::Io(e)) => return Err(Failure::writing(&lock, &e).into()),
        }
    }
}

/// How long a rebuild waits for whoever is writing a few words: a change takes milliseconds, undoing a mend some seconds.
const MOMENT: Duration = Duration::from_secs(20);

fn beside(path: &Path, ending: &str) -> std::path::PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    name.into()
}

/// Every report with its sidecar, in the order the frames were taken.
fn read_all(reports: &Path, rebuilt: &mut Rebuilt) -> Vec<Found> {
    let mut found = vec![];
    for entry in std::fs::read_dir(reports).into_iter().flatten().flatten() {
        let name = entry.file_name().to_string_lossy().into_owned();
        let Some(stem) = name.strip_suffix(".report.json").filter(|s| !s.starts_with('.')) else { continue };
        let Some(report) = read_report(&entry.path()) else {
            rebuilt.problems.push(format!("{name} is not a report that this version can read."));
            continue;
        };
        let held = report.canvas.as_ref().and_then(|c| {
            let place = reports.join(&c.master).with_extension("xmp");
            // A report that leads out of the project names no sidecar of ours.
            let place = base::files::is_below(reports.parent()?, &place)?;
            match sidecar::read_file(&place) {
                Ok(held) => held,
                Err(line) => {
                    // It is set aside where it would be written over: see `Project::write_sidecars`.
                    let kept = sidecar::set_aside(&place);
                    let kept = kept.map_or_else(|e| e.to_string(), |k| format!("It is kept as {}.", k.display()));
                    rebuilt.problems.push(format!("{}: {line} {kept}", place.display()));
                    None
                }
            }
        });
        rebuilt.sidecars += usize::from(held.is_some());
        found.push(Found { stem: stem.to_owned(), report, held });
    }
    found.sort_by(|a, b| {
        // Prints of one frame lie together, in their order.
        let key = |f: &Found| {
            let part = part_of(&f.report);
            let stem = f.stem.strip_suffix(&part.number.to_string()).filter(|_| !part.is_whole()).unwrap_or(&f.stem);
            (f.report.frame.exif.taken.clone(), stem.to_owned(), part.number)
        };
        key(a).cmp(&key(b))
    });
    found
}

fn fill(project: &mut Project, found: &[Found], highest: PrintId, rebuilt: &mut Rebuilt) -> Result<()> {
    let folder = project.folder.clone();
    let folder = folder.as_path();
    // Each reads a picture: as many at once as there are cores.
    let of = |f: &Found| (result(folder, &f.report, &f.stem), lattice(folder, f), colours(folder, f));
    let made: Vec<_> = found.par_iter().map(of).collect();
    let rows: Vec<_> = found.iter().zip(made).map(|(f, (result, lattice, main))| (f, result, lattice, main)).collect();
    // Words come from the chosen front's sidecar, since that is the one people see.
    let mut prints: BTreeMap<PrintId, &Held> = BTreeMap::new();
    for held in found.iter().filter_map(|f| f.held.as_ref()) {
        if let Some(id) = held.print {
            let known = prints.entry(id).or_insert(held);
            if held.front {
                *known = held;
            }
        }
    }
    let (count, problems) = project.catalogue.change("Rebuilt the catalogue from reports and sidecars", |w| {
        let mut problems = vec![];
        w.about("begun", env!("CARGO_PKG_VERSION"))?;
        for (id, held) in &prints {
            w.restore(*id)?;
            for (fact, value) in held.facts.pairs().into_iter().filter(|(_, v)| !v.is_empty()) {
                // A field that another program made unreadable is reported, and the others are restored.
                if let Err(e) = w.say(*id, fact, &value) {
                    problems.push(format!("{id}: {e}"));
                }
            }
        }
        let given = prints.keys().next_back().copied().unwrap_or(PrintId(0));
        w.never_again(given.max(highest))?;
        let mut fronts: BTreeSet<PrintId> = BTreeSet::new();
        for (f, result, lattice, main) in &rows {
            let held = f.held.clone().unwrap_or_default();
            let camera = f.report.frame.exif.camera.clone().unwrap_or_default();
            let taken = f.report.frame.exif.taken.clone();
            let sitting = w.sitting(&camera, result.frame_px, taken.as_deref(), super::take::SITTING_GAP_S)?;
            let or = |a: &str, b: &str| if a.is_empty() { b.to_owned() } else { a.to_owned() };
            let id = w.add_frame(&NewFrame {
                blake3: f.report.frame.blake3.clone(),
                name: own_name(Path::new(&f.report.frame.path), &f.report),
                part: part_of(&f.report),
                path: or(&held.original, &format!("{FINISHED}/reports/{}", f.report.frame.path)),
                twins: held.twins.clone(),
                taken,
                role: or(&held.role, &role_word(&f.report)),
                role_why: or(&held.role_why, &f.report.frame.role_reason),
                sitting: Some(sitting),
            })?;
            w.record(id, result, &f.report.recipe.canonical())?;
            lattice.iter().try_for_each(|l| w.keep_likeness(id, l))?;
            w.keep_colours(id, main)?;
            if !held.said.is_empty() {
                w.said(id, &held.said)?;
            }
            if let Some(print) = held.print {
                w.join(id, Some(print), &held.print_why)?;
                if held.front && fronts.insert(print) {
                    w.choose_front(print, id, &held.front_why, &held.front_by)?;
                }
            }
        }
        edits(w, &prints)?;
        prints.iter().try_for_each(|(id, held)| held.stacked.iter().try_for_each(|lies| w.lay_in(*id, lies)))?;
        Ok((prints.len(), problems))
    })?;
    rebuilt.frames = found.len();
    rebuilt.prints = count;
    rebuilt.problems.extend(problems);
    // Fronts and backs whose sidecars are gone are linked as if they came now.
    for frame in project.catalogue().loose_frames()? {
        if frame.print_why.is_empty() && frame.result.as_ref().is_some_and(|r| !r.format.is_empty()) {
            let linked = super::link::link(project, frame.id, &Default::default())?;
            rebuilt.prints +=
                usize::from(frame.role != "back" && linked.print.is_some_and(|p| !prints.contains_key(&p)));
        }
    }
    Ok(())
}

fn edits(w: &catalogue::Writer, prints: &BTreeMap<PrintId, &Held>) -> catalogue::Result<()> {
    let mut all: BTreeMap<(&str, &str), Vec<(i64, PrintId)>> = BTreeMap::new();
    for (id, held) in prints {
        for (kind, place, name) in &held.edits {
            all.entry((name, kind)).or_default().push((*place, *id));
        }
    }
    for ((name, kind), mut members) in all {
        members.sort();
        let members: Vec<PrintId> = members.into_iter().map(|(_, id)| id).collect();
        w.put_in(name, Some(kind), &members, None)?;
    }
    Ok(())
}

fn colours(folder: &Path, f: &Found) -> MainColours {
    let place = folder.join(FINISHED).join("reports").join(format!("{}.report.json", f.stem));
    let front = f.report.frame.role == finish::Role::Front;
    if front { appearance::colours_of(&f.report, &place) } else { vec![] }
}

fn lattice(folder: &Path, f: &Found) -> Option<Vec<u8>> {
    let place = folder.join(FINISHED).join("reports").join(format!("{}.report.json", f.stem));
    let front = f.report.frame.role == finish::Role::Front;
    front.then(|| appearance::face_of(&f.report, &place)).flatten().map(|f| f.lattice())
}

/// Puts the new database in the old one's place; the old one keeps its log beside it, should somebody want to look into it.
fn put_in_place(folder: &Path, fresh: &Path) -> Result<Option<String>> {
    let place = folder.join(DATABASE);
    let move_to = |from: &Path, to: &Path| std::fs::rename(from, to).map_err(|e| Failure::writing(to, &e));
    let mut old = None;
    if place.exists() {
        let names = (1..).map(|n| folder.join(format!("fallside-before-rebuild-{n}.db")));
        let kept = names.into_iter().find(|p| !p.exists()).unwrap_or_else(|| folder.join("fallside-old.db"));
        for ending in ["-wal", "-shm"] {
            if beside(&place, ending).exists() {
                move_to(&beside(&place, ending), &beside(&kept, ending))?;
            }
        }
        move_to(&place, &kept)?;
        old = kept.file_name().map(|n| n.to_string_lossy().into_owned());
    }
    move_to(fresh, &place)?;
    Ok(old)
}
