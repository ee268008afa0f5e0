//! Selects the finished prints to hand on (plates), with their words.
//!
//! From a project: the prints of an edit in its order, or those a search finds. From a folder of results, which has no words: all prints.
//! Prints without a mount are left out and reported.

use base::Failure;
use base::files::MARK;
use base::files::{Originals, exclusive, is_below};
use base::wording::{count, some};
use base::workers::{in_parallel, lock};
use catalogue::{Finished, Frame, Hold, Order, PrintId, Query};
use finish::Role;
use finish::finding::Verdict;
use finish::report::Report;
use finish::{as_finished, read_report};
use geometry::Quad;
use project::{DATABASE, Error, Project, Result};
use publish::{Plate, Privacy, Words};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

/// Most prints that one line names: `fallside ready` names all of them.
pub(crate) const NAMED: usize = 12;

/// Which prints.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Which {
    /// All there are, by number or by name.
    All,
    /// Those of an edit, in its order.
    Edit(String),
    /// Those a line of search finds, by number.
    Found(String),
}

/// What is handed on.
#[derive(Debug)]
pub struct Plates {
    /// Finished prints, in order.
    pub plates: Vec<Plate>,
    /// Their numbers in the project; empty for a folder of results.
    pub prints: Vec<PrintId>,
    /// A line for each print that was asked for and has no mount.
    pub missing: Vec<String>,
    /// A line for each that is to be shot again: it is handed on as it is.
    pub reshoot: Vec<String>,
    /// Names of those of which nothing says which way is up.
    pub turn_unknown: Vec<String>,
    /// Names of those that say nothing of who may see them, where nobody has decided what that means.
    pub unsaid: BTreeSet<String>,
    /// Names of the prints of the project that nobody may see, chosen or not.
    pub(crate) private: BTreeSet<String>,
    /// Every file that is read for them, and every original behind them: none is ever written.
    pub(crate) reads: Originals,
    /// Prevents finishing into a folder of results while it is read.
    _unchanged: Option<Hold>,
    /// The reports of the mounts, to cast their shadows anew.
    pub(crate) reports: BTreeMap<PathBuf, Report>,
}

impl Plates {
    fn none(reads: Originals, unchanged: Option<Hold>) -> Self {
        Self {
            plates: vec![],
            prints: vec![],
            missing: vec![],
            reshoot: vec![],
            turn_unknown: vec![],
            unsaid: BTreeSet::new(),
            private: BTreeSet::new(),
            reads,
            _unchanged: unchanged,
            reports: BTreeMap::new(),
        }
    }

    /// One line about prints that say nothing of who may see them, where nobody has decided what that means.
    pub(crate) fn unsaid_note(&self) -> Option<String> {
        let says = count(self.unsaid.len(), "print says", "prints say");
        let note = format!(
            "{says} nothing of who may see {}, so names and places stay behind. Decide once for this project: fallside privacy \
             open, ask or private.",
            if self.unsaid.len() == 1 { "it" } else { "them" }
        );
        (!self.unsaid.is_empty()).then_some(note)
    }

    /// Notes what a person should know of a print before it leaves.
    fn judge(&mut self, report: &Report, name: &str) {
        self.reshoot.extend(to_reshoot(report, name));
        self.turn_unknown.extend(may_lie_upside_down(report).then(|| name.to_owned()));
    }

    /// One line about prints that may go out upside down, but for those that stay behind.
    pub(crate) fn turn_note(&self, stays: impl Fn(&str) -> bool) -> Option<String> {
        let names: Vec<&str> = self.turn_unknown.iter().map(String::as_str).filter(|name| !stays(name)).collect();
        let (it, goes, lay, is) = match names.len() {
            0 => return None,
            1 => ("it", "it goes", "it lay", "it is"),
            _ => ("them", "they go", "they lay", "they are"),
        };
        let shown = some(&names, NAMED);
        Some(format!(
            "{shown}: nothing on {it} says which way is up, so {goes} out as {lay} in the frame. Turn {it}, or say that {is} upright."
        ))
    }

    /// Keeps the plates, and the numbers of their prints, that are marked true.
    pub(crate) fn keep(&mut self, keep: &[bool]) {
        let mut kept = keep.iter();
        self.plates.retain(|_| kept.next().copied().unwrap_or(true));
        let mut kept = keep.iter();
        self.prints.retain(|_| kept.next().copied().unwrap_or(true));
    }

    /// Takes a plate in, with the files that are read for it.
    fn add(&mut self, plate: Plate) {
        std::iter::once(&plate.mount).chain(&plate.share).for_each(|f| self.reads.add(f));
        plate.back.iter().flat_map(|b| std::iter::once(&b.mount).chain(&b.share)).for_each(|f| self.reads.add(f));
        self.plates.push(plate);
    }
}

/// The plates of `folder`, a project or a folder of results.
///
/// # Errors
/// It is neither; the edit is not there; the line is not understood; nothing is left to hand on.
pub fn plates(folder: &Path, which: &Which) -> Result<Plates> {
    let plates = gathered(folder, which)?;
    if plates.plates.is_empty() {
        let first = plates.missing.first().map(|m| format!(" {m}")).unwrap_or_default();
        return Err(Error::Refused(format!("There are no finished prints to hand on.{first}")));
    }
    Ok(plates)
}

/// The plates of `folder`, none of them needing to be there.
///
/// # Errors
/// It is neither; the edit is not there; the line is not understood.
pub(crate) fn gathered(folder: &Path, which: &Which) -> Result<Plates> {
    if folder.join(DATABASE).exists() {
        return of_project(&Project::open_to_read(folder)?, which);
    }
    if folder.join(MARK).is_dir() {
        return of_results(folder, which);
    }
    Err(Failure::new(format!("{} is neither a project nor a folder of results.", folder.display()))
        .with_remedy("Give the folder that fallside take or fallside finish --out wrote.")
        .into())
}

fn of_project(project: &Project, which: &Which) -> Result<Plates> {
    let catalogue = project.catalogue();
    let mut all = Plates::none(project.originals()?, None);
    // Until somebody decides, a print that says nothing goes out as one marked "ask": without names and places.
    let decided = project.unsaid_privacy()?;
    let undecided = decided.is_none();
    let unsaid = decided.as_deref().unwrap_or("ask");
    all.private = catalogue.private(unsaid == "private")?.iter().map(ToString::to_string).collect();
    for id in chosen(project, which)? {
        let Some(print) = catalogue.print(id)? else { continue };
        let front = print.frames.iter().find(|f| Some(f.id) == print.front);
        let Some((mut plate, report)) = front.and_then(|f| of_frame(project, f, id.to_string())) else {
            all.missing.push(format!("{id} has no mount. Finish a front of it first."));
            continue;
        };
        plate.words = words(&print.facts, unsaid);
        if undecided && print.facts.privacy.is_empty() {
            all.unsaid.insert(plate.name.clone());
        }
        if !print.facts.format.is_empty() {
            plate.format.clone_from(&print.facts.format);
        }
        let back = print.frames.iter().rfind(|f| f.role == Role::Back.word() && !is_blank(f));
        all.judge(&report, &plate.name);
        all.reports.insert(plate.mount.clone(), report);
        plate.back = back.and_then(|f| of_frame(project, f, format!("{id}-back"))).map(|(plate, report)| {
            all.reports.insert(plate.mount.clone(), report);
            Box::new(plate)
        });
        all.add(plate);
        all.prints.push(id);
    }
    Ok(all)
}

/// The prints of a project that are meant, in order.
///
/// # Errors
/// The edit is not there; the line is not understood.
pub(crate) fn chosen(project: &Project, which: &Which) -> Result<Vec<PrintId>> {
    let catalogue = project.catalogue();
    Ok(match which {
        Which::All => catalogue.find(&Query::default(), Order::Number)?,
        Which::Found(line) => catalogue.find(&Query::parse(line)?, Order::Number)?,
        Which::Edit(name) => catalogue.edit(name)?.map(|e| e.prints).ok_or_else(|| no_edit(project, name))?,
    })
}

fn no_edit(project: &Project, name: &str) -> Error {
    let names: Vec<String> =
        project.catalogue().edits().into_iter().flatten().map(|e| format!("“{}”", e.name)).collect();
    let there =
        if names.is_empty() { "There are none yet.".into() } else { format!("There are {}.", names.join(", ")) };
    Error::Refused(format!("There is no edit called “{name}”. {there}"))
}

fn is_blank(frame: &Frame) -> bool {
    frame.result.as_ref().is_some_and(|r| r.marks == "blank")
}

/// The plate of a frame.
fn of_frame(project: &Project, frame: &Frame, name: String) -> Option<(Plate, Report)> {
    let result: &Finished = frame.result.as_ref()?;
    let report = project.report(result)?;
    // The report names files beside itself; the catalogue names them in the project.
    let place = |p: &Option<String>| p.as_ref().and_then(|p| project.inside(p)).filter(|p| p.is_file());
    let plate = plate(&report, name, place(&result.mount)?, place(&result.share))?;
    Some((plate, report))
}

/// True for a print of which neither its borders nor a person says which way is up.
pub(crate) fn may_lie_upside_down(report: &Report) -> bool {
    report.print.as_ref().is_some_and(|p| !p.upright_known)
}

/// "F0109: reshoot. The print leaves the frame at the right by 8.6 mm."
fn to_reshoot(report: &Report, name: &str) -> Option<String> {
    let why = report.findings.first().map(|f| format!(" {}", f.says)).unwrap_or_default();
    (report.verdict == Verdict::Reshoot).then(|| format!("{name}: reshoot.{why}"))
}

fn of_results(folder: &Path, which: &Which) -> Result<Plates> {
    if *which != Which::All {
        return Err(Error::Refused(format!(
            "{} is a folder of results, which has neither edits nor words. Take its frames into a project first, with \
             fallside take.",
            folder.display()
        )));
    }
    let unchanged = exclusive::read_results(folder)?;
    let mut reports: Vec<PathBuf> = vec![];
    for entry in walk(folder)? {
        if entry.to_string_lossy().ends_with(".report.json") {
            reports.push(entry);
        }
    }
    reports.sort();
    let mut all = Plates::none(Originals::default(), unchanged);
    for path in reports {
        let name = base::files::name_of(&path);
        let name = name.trim_end_matches(".report.json").to_owned();
        let Some(report) = read_report(&path) else {
            all.missing.push(format!("{}: this report cannot be read.", path.display()));
            continue;
        };
        let beside = path.parent().unwrap_or(folder);
        all.reads.add(&path);
        all.reads.add(&beside.join(&report.frame.path));
        // A report from somebody else may name files anywhere: only files in this folder are handed on.
        let place = |p: &str| is_below(folder, &beside.join(p)).filter(|p| p.is_file());
        // Without a catalogue nothing ties a back to its front.
        let front = report.frame.role == Role::Front;
        let Some(canvas) = report.canvas.as_ref().filter(|_| front) else { continue };
        let share = canvas.share.as_deref().and_then(place);
        match place(&canvas.mount).and_then(|mount| plate(&report, name.clone(), mount, share)) {
            Some(plate) => {
                all.judge(&report, &name);
                all.reports.insert(plate.mount.clone(), report);
                all.add(plate);
            }
            None => all.missing.push(format!("{name}: its mount is missing. Finish it again.")),
        }
    }
    Ok(all)
}

/// Files of a folder of results and of the folders in it.
fn walk(folder: &Path) -> Result<Vec<PathBuf>> {
    let mut files = vec![];
    let entries = std::fs::read_dir(folder).map_err(|e| Failure::reading(&e))?;
    for entry in entries.flatten() {
        let path = entry.path();
        // A link may lead anywhere, to a folder above it too.
        match entry.file_type() {
            Ok(t) if t.is_dir() && entry.file_name() != MARK => files.extend(walk(&path)?),
            Ok(t) if t.is_file() => files.push(path),
            _ => {}
        }
    }
    Ok(files)
}

fn plate(report: &Report, name: String, mount: PathBuf, share: Option<PathBuf>) -> Option<Plate> {
    let canvas = report.canvas.as_ref()?;
    Some(Plate {
        name,
        mount,
        blake3: report.blake3_of(&canvas.mount).map(str::to_owned),
        share,
        size_px: [canvas.width_px, canvas.height_px],
        px_per_mm: canvas.px_per_mm,
        print_px: Quad(canvas.print_px.map(|[x, y]| geometry::point(x, y))),
        format: report.print.as_ref().map(|p| p.format.clone()).unwrap_or_default(),
        stamp: report.recipe_blake3.clone(),
        words: Words::default(),
        shadow: report.shadow.as_ref().map_or_else(|| "as shot".to_owned(), |s| s.says()),
        remade: None,
        back: None,
    })
}

/// Leaves out every plate whose mount is no longer the file that was finished, and every such back; a line for each.
pub(crate) fn leave_out_damaged(chosen: &mut Plates) -> Vec<String> {
    let faults: Mutex<Vec<(PathBuf, String)>> = Mutex::default();
    let backs = chosen.plates.iter().filter_map(|p| p.back.as_deref());
    let all: Vec<&Plate> = chosen.plates.iter().chain(backs).collect();
    in_parallel(&all, |plate| {
        if let Err(e) = as_finished(&plate.mount, plate.blake3.as_deref()) {
            lock(&faults).push((plate.mount.clone(), format!("{}: {e}", plate.name)));
        }
    });
    let mut faults = faults.into_inner().unwrap_or_else(PoisonError::into_inner);
    faults.sort();
    let damaged = |p: &Plate| faults.iter().any(|(mount, _)| *mount == p.mount);
    let keep: Vec<bool> = chosen.plates.iter().map(|p| !damaged(p)).collect();
    for plate in &mut chosen.plates {
        plate.back = plate.back.take().filter(|b| !damaged(b));
    }
    chosen.keep(&keep);
    faults.into_iter().map(|(_, line)| line).collect()
}

fn words(facts: &catalogue::Facts, unsaid: &str) -> Words {
    let facts = facts.clone();
    Words {
        title: facts.title,
        alt: facts.alt,
        date: facts.date,
        place: facts.place,
        people: facts.people,
        subject: facts.subject,
        inscription: facts.inscription,
        film: facts.film,
        rights: facts.rights,
        privacy: match if facts.privacy.is_empty() { unsaid } else { &facts.privacy } {
            "private" => Privacy::Private,
            "ask" => Privacy::Ask,
            _ => Privacy::Open,
        },
        note: facts.note,
    }
}
/// Gives every plate a name that is fit for any disk and any address, and its own.
pub fn name_apart(plates: &mut [Plate]) {
    let mut taken = BTreeSet::new();
    for plate in plates {
        let safe: String = plate.name.chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '-' }).collect();
        let safe = if safe.trim_matches('-').is_empty() { "print".to_owned() } else { safe };
        let mut name = safe.clone();
        let mut n = 2;
        // Disks that take A and a for one must not mix two prints up.
        while !taken.insert(name.to_lowercase()) {
            name = format!("{safe}-{n}");
            n += 1;
        }
        if let Some(back) = &mut plate.back {
            back.name = format!("{name}-back");
        }
        plate.name = name;
    }
}
