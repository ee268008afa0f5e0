//! Contents of a bag: for a folder of results, all its files and every original named by a report; for a project, the chosen prints with
//! all their frames, and the blank and chart frames that were used for their light and colour.

use super::shot::Shot;
use super::slashed;
use super::words::Words;
use crate::selection::{Which, chosen};
use base::Failure;
use base::files::MARK;
use base::files::alike;
use base::files::{Originals, exclusive};
use catalogue::{Frame, Hold, Print};
use finish::report::Report;
use finish::{is_picture, read_report};
use project::{CHARTS, DATABASE, Error, FINISHED, Project, Result};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// A file to carry.
pub(super) struct Item {
    /// Where it is.
    pub from: PathBuf,
    /// Its path in the bag.
    pub to: String,
    /// The BLAKE3 that its report gives.
    pub blake3: Option<String>,
    /// True for an original, false for what was made of one.
    pub original: bool,
}

impl Item {
    fn original(from: PathBuf, to: String, blake3: Option<String>) -> Self {
        Self { from, to, blake3, original: true }
    }
}

/// The hash that a report gives of the file at this path in the bag.
fn blake3_in_bag(report: &Report, to: &str) -> Option<String> {
    report.blake3_of(&format!("..{}", to.strip_prefix("data")?)).map(str::to_owned)
}

/// All that is to be packed.
pub(super) struct Inventory {
    pub items: Vec<Item>,
    pub shots: Vec<Shot>,
    /// Originals that are not where their report says.
    pub problems: Vec<String>,
    /// What the catalogue says of the prints; a folder of results has none.
    pub words: Option<Words>,
    /// Every file that is read, and every original behind it: none is ever written.
    pub reads: Originals,
    /// BLAKE3 of every original that this project or folder of results has: an archive of others is another box's.
    pub known: BTreeSet<String>,
    /// Prevents finishing into a folder of results while it is packed.
    _unchanged: Option<Hold>,
}

/// Lists what is to be packed of a project or of a folder of results.
///
/// # Errors
/// It is neither; the edit is not there; the line is not understood; nothing is left to pack.
pub(super) fn contents(folder: &Path, which: &Which) -> Result<Inventory> {
    if folder.join(DATABASE).exists() {
        return of_project(&Project::open_to_read(folder)?, which);
    }
    if *which != Which::All {
        let says = format!("{} is not a project, so it has neither edits nor words. Use --all.", folder.display());
        return Err(Error::Refused(says));
    }
    Ok(of_results(folder)?)
}

fn of_project(project: &Project, which: &Which) -> Result<Inventory> {
    let catalogue = project.catalogue();
    let mut prints: Vec<Print> = vec![];
    for id in chosen(project, which)? {
        prints.extend(catalogue.print(id)?);
    }
    if prints.is_empty() {
        return Err(Error::Refused("There are no prints to pack.".into()));
    }
    let sittings: BTreeSet<i64> = prints.iter().flat_map(|p| &p.frames).filter_map(|f| f.sitting).collect();
    // With all prints goes every frame there is; with some of them the bare bed, chart and ruler of their sittings.
    let helps = |f: &Frame| !f.holds_print() && f.sitting.is_some_and(|s| sittings.contains(&s));
    let mut others = catalogue.all_frames()?;
    others.retain(|f| f.print.is_none() && (*which == Which::All || helps(f)));
    let mut edits = catalogue.edits()?;
    match which {
        Which::All => {}
        Which::Edit(name) => edits.retain(|e| e.name == *name),
        Which::Found(_) => edits.clear(),
    }
    let mut all = Inventory {
        items: vec![],
        shots: vec![],
        problems: vec![],
        words: None,
        reads: project.originals()?,
        known: catalogue.all_frames()?.into_iter().map(|f| f.blake3).collect(),
        _unchanged: None,
    };
    let mut taken = BTreeSet::new();
    for frame in prints.iter().flat_map(|p| &p.frames).chain(&others) {
        all.shot(project, frame, &mut taken);
    }
    let charts = project.folder().join(CHARTS);
    // A link may lead to any folder.
    if std::fs::symlink_metadata(&charts).is_ok_and(|m| m.is_dir()) {
        walk(&charts, Path::new("data/charts"), &mut all.items)?;
    }
    all.items.sort_by(|a, b| a.to.cmp(&b.to));
    all.words = Some(Words { prints, edits });
    Ok(all)
}

impl Inventory {
    /// Frames of a print that were finished.
    pub(super) fn finished(&self) -> usize {
        self.shots.iter().filter(|s| s.report.canvas.is_some()).count()
    }

    /// Prints, where they are known; else as many as were finished.
    pub(super) fn prints(&self) -> usize {
        self.words.as_ref().map_or_else(|| self.finished(), |w| w.prints.len())
    }

    /// Where an original of this hash lies in the bag already.
    fn packed(&self, blake3: &str) -> Option<String> {
        let same = |s: &&Shot| s.report.frame.blake3 == blake3 && s.report.recipe.part.is_some();
        self.shots.iter().filter(same).find_map(|s| s.original.clone())
    }

    /// Adds a frame of a project: its original with its lesser twins, and all that was made of it.
    fn shot(&mut self, project: &Project, frame: &Frame, taken: &mut BTreeSet<String>) {
        let made = frame.result.as_ref();
        let report = made.and_then(|r| project.report(r));
        let from = project.original(frame);
        self.reads.add(&from);
        let original_at = from.clone();
        let stem = PathBuf::from(made.map_or(&frame.name, |r| &r.report));
        // Several prints of one frame have one original.
        let packed = self.packed(&frame.blake3);
        let new = packed.is_none();
        let original = packed.or_else(|| from.is_file().then(|| name_for(&from, &stem, taken)));
        match &original {
            Some(to) if new => self.items.push(Item::original(from, to.clone(), Some(frame.blake3.clone()))),
            Some(_) => {}
            None => self.problems.push(gone(&from)),
        }
        for twin in frame.twins.iter().filter(|_| new).map(|t| project.folder().join(t)) {
            self.reads.add(&twin);
            // Another file of an exposure must be beside its original: a catalogue from somebody else may name any file.
            if twin.is_file() && twin.parent() == original_at.parent() && is_picture(&twin) {
                let to = name_for(&twin, &stem, taken);
                self.items.push(Item::original(twin, to, None));
            } else {
                self.problems.push(gone(&twin));
            }
        }
        for path in made.iter().flat_map(|r| files(r, frame.print.is_some())) {
            // The same may name a file outside the project, which is not ours to hand on.
            let from = project.inside(&path).unwrap_or_else(|| project.folder().join(&path));
            // As in a folder of results, so that a report finds its pictures beside it.
            let to =
                slashed(&Path::new("data").join(Path::new(&path).strip_prefix(FINISHED).unwrap_or(Path::new(&path))));
            if project.inside(&path).is_some() && from.is_file() {
                let blake3 = report.as_ref().and_then(|r| blake3_in_bag(r, &to));
                self.items.push(Item { from, to, blake3, original: false });
            } else {
                self.problems.push(format!("{}: this file is missing. Finish {} again.", from.display(), frame.name));
            }
        }
        if let (Some(made), None) = (made, &report) {
            let place = project.folder().join(&made.report);
            self.problems.push(format!(
                "{}: this report cannot be read. Finish {} again.",
                place.display(),
                frame.name
            ));
        }
        self.shots.extend(report.map(|report| Shot { original, report }));
    }
}

/// The files that finishing made of a frame, and the sidecar with its words. A frame that belongs to no print, as a back whose front is
/// not known, has no words.
fn files(made: &catalogue::Finished, of_a_print: bool) -> Vec<String> {
    let made_of = [&made.master, &made.mount, &made.srgb_png, &made.share, &made.before, &made.after];
    let sidecar = made.master.as_ref().filter(|_| of_a_print).map(|m| slashed(&Path::new(m).with_extension("xmp")));
    std::iter::once(made.report.clone()).chain(made_of.into_iter().flatten().cloned()).chain(sidecar).collect()
}

fn gone(original: &Path) -> String {
    format!("{}: this original is missing, so it is not packed.", original.display())
}

/// Lists a folder of results and the originals behind it.
fn of_results(results: &Path) -> std::result::Result<Inventory, Failure> {
    let no_results = || {
        Failure::new(format!("{} is neither a project nor a folder of results.", results.display()))
            .with_remedy("Give the folder that fallside take or fallside finish --out wrote.")
    };
    if !results.join(MARK).is_dir() {
        return Err(no_results());
    }
    let unchanged = exclusive::read_results(results)?;
    let mut items = Vec::new();
    walk(results, Path::new("data"), &mut items)?;
    items.sort_by(|a, b| a.to.cmp(&b.to));
    let reports: Vec<PathBuf> =
        items.iter().filter(|i| i.to.ends_with(".report.json")).map(|i| i.from.clone()).collect();
    if reports.is_empty() {
        return Err(no_results());
    }
    let mut made: BTreeMap<String, String> = BTreeMap::new();
    let (mut shots, mut problems, mut taken): (Vec<Shot>, _, _) = (Vec::new(), Vec::new(), BTreeSet::new());
    for path in reports {
        let Some(report) = read_report(&path) else {
            problems.push(format!("{}: this report cannot be read, so its original is not packed.", path.display()));
            continue;
        };
        let in_bag = |path: &str| path.strip_prefix("..").map(|p| format!("data{p}"));
        made.extend(report.files.iter().filter_map(|f| Some((in_bag(&f.path)?, f.blake3.clone()))));
        let from = path.parent().unwrap_or(results).join(&report.frame.path);
        if !from.is_file() {
            problems.push(gone(&from));
            shots.push(Shot { original: None, report });
            continue;
        }
        // Several prints of one frame have one original.
        let same = |s: &&Shot| s.report.frame.path == report.frame.path && s.report.recipe.part.is_some();
        let packed = shots.iter().filter(same).find_map(|s| s.original.clone());
        let to = packed.clone().unwrap_or_else(|| name_for(&from, &path, &mut taken));
        if packed.is_none() {
            items.push(Item::original(from, to.clone(), Some(report.frame.blake3.clone())));
        }
        shots.push(Shot { original: Some(to), report });
    }
    items.iter_mut().filter(|i| !i.original).for_each(|i| i.blake3 = made.remove(&i.to));
    let mut reads = Originals::of(items.iter().map(|i| &i.from));
    let known = shots.iter().map(|s| s.report.frame.blake3.clone()).collect();
    reads.add_folder(results);
    Ok(Inventory { items, shots, problems, words: None, reads, known, _unchanged: unchanged })
}

/// An original keeps its name; where two have the same, the second takes that of its report, which is its own.
fn name_for(original: &Path, report: &Path, taken: &mut BTreeSet<String>) -> String {
    let word = |p: Option<&std::ffi::OsStr>| p.map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let stem = word(report.file_name()).trim_end_matches(".report.json").to_owned();
    let ending = word(original.extension());
    let own = (1..).map(|n| if n == 1 { format!("{stem}.{ending}") } else { format!("{stem}-{n}.{ending}") });
    let names = std::iter::once(word(original.file_name())).chain(own);
    // Archives are read on systems that take Ä and ä, A and a for one.
    let free = names.map(|n| format!("data/originals/{n}")).find(|n| taken.insert(alike(n)));
    free.unwrap_or_default()
}

fn walk(folder: &Path, to: &Path, items: &mut Vec<Item>) -> std::result::Result<(), Failure> {
    let failed = |e: std::io::Error| Failure::new(format!("{} could not be read: {e}.", folder.display()));
    for entry in std::fs::read_dir(folder).map_err(failed)? {
        let entry = entry.map_err(failed)?;
        let name = entry.file_name();
        // What is hidden is ours for the next run, or half written.
        if name.to_string_lossy().starts_with('.') {
            continue;
        }
        let (path, to) = (entry.path(), to.join(&name));
        // Links are not followed: a bag holds files.
        match entry.file_type().map_err(failed)? {
            t if t.is_dir() => walk(&path, &to, items)?,
            t if t.is_file() => items.push(Item { from: path, to: slashed(&to), blake3: None, original: false }),
            _ => {}
        }
    }
    Ok(())
}
