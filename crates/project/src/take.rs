//! Take: frames from a card into the project.
//!
//! Each frame is hashed and, if its hash is not known, finished into the project's folder and entered. It is shown as saved
//! only when its files are in place and the catalogue is on disk. If the program ends at any moment, the next take continues from
//! there: finished frames that were not entered are entered, entered frames that were not linked are linked, and half-written
//! files are written again.

use super::link::{COUNTER, Placing, link};
use super::stop::{Stop, Stoppable, Unread};
use super::{Error, FINISHED, ORIGINALS, Project, Result, Task, appearance};
use base::Exit;
use base::Failure;
use base::files::hash;
use base::files::{Originals, is_below, write};
use catalogue::{Finding, Finished, Frame, FrameId, NewFrame, PrintId};
use finish::job::Work;
use finish::recipe::PartOf;
use finish::recipe::Settings;
use finish::report::Report;
use finish::{Entry, Event, OfProject, Outcome, Request, Source, finish, gather};
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

/// What to take in, and how.
#[derive(Clone, Debug, Default)]
pub struct Take {
    /// Folders and files.
    pub inputs: Vec<PathBuf>,
    /// True where originals are copied into the project.
    pub copy: bool,
    /// The box that the prints lie in.
    pub box_name: String,
    /// The sleeve in the box.
    pub sleeve: String,
    /// Frames said to be the bare bed.
    pub blanks: Vec<PathBuf>,
    /// Frames said to be backs.
    pub backs: Vec<PathBuf>,
    /// The frame said to be the chart.
    pub chart: Option<PathBuf>,
    /// The chart's values.
    pub chart_values: Option<PathBuf>,
    /// The photographer's choices.
    pub settings: Settings,
    /// Most memory that frames in work may take, bytes.
    pub memory: Option<u64>,
    /// The take-in that it belongs to, where several are one, as frame by frame at the stand; by itself where it is absent.
    pub part_of: Option<String>,
    /// Asks it to stop: the frames in work are still entered, and no other is begun.
    pub stop: Stop,
}

/// What the take has to say while it works.
#[derive(Debug)]
pub enum TakeEvent<'a> {
    /// Files are read to tell which are known.
    Reading {
        /// This one now.
        path: &'a Path,
        /// So many were read before it.
        done: usize,
        /// Of so many.
        of: usize,
    },
    /// A frame is being finished.
    InHand {
        /// Its file.
        path: &'a Path,
    },
    /// What finishing says.
    Finishing(Event<'a>),
    /// A frame is saved: its files are in place and the catalogue has it.
    Saved {
        /// It.
        frame: &'a Frame,
        /// Its print, where it has one.
        print: Option<PrintId>,
        /// Why that print, or why none.
        why: &'a str,
    },
}

/// What became of a take.
#[derive(Clone, Debug)]
pub struct Taken {
    /// Frames entered now, in the order they were taken.
    pub frames: Vec<FrameId>,
    /// How many were known.
    pub known: usize,
    /// Lines about what could not be done, but for single files.
    pub problems: Vec<String>,
    /// Files that could not be taken in.
    pub unread: Vec<Unread>,
    /// How many were left, because it was asked to stop.
    pub left: usize,
    /// How it ended.
    pub exit: Exit,
}

impl Taken {
    /// A line about each thing that could not be done.
    pub fn lines(&self) -> Vec<String> {
        self.problems.iter().cloned().chain(self.unread.iter().map(Unread::to_string)).collect()
    }
}

/// Frames less than this apart, seconds, are of one sitting: two hours, longer than any pause in an evening's work and
/// shorter than the night after it.
pub(super) const SITTING_GAP_S: i64 = 2 * 3600;
/// Known frames that are looked at beside new ones, so that their roles are told as if all had come at once: so many of each
/// kind of service frame, and so many prints.
const SERVICE: usize = 3;
const PRINTS: usize = 6;

type Tell<'a> = &'a (dyn Fn(TakeEvent) + Sync);

/// Takes frames in with `work` and reports events to `tell`.
///
/// # Errors
/// Another program is taking frames in, or the project cannot be written.
pub fn take(project: &mut Project, request: &Take, work: &dyn Work, tell: Tell) -> Result<Taken> {
    let _held = project.hold(Task::Take)?;
    let room = match &request.part_of {
        Some(room) => room.clone(),
        None => project.catalogue.begin_take(&from(&request.inputs))?,
    };
    // Everything that it enters is undone as a whole, and not by a key that means something else.
    let before = project.set_room(&room);
    let taken = take_now(project, request, work, tell);
    project.set_room(&before);
    taken
}

/// Where frames come from, in words.
fn from(inputs: &[PathBuf]) -> String {
    match inputs {
        [one] => one.display().to_string(),
        [one, ..] => format!("{} and {} more", one.display(), inputs.len() - 1),
        [] => String::new(),
    }
}

fn take_now(project: &mut Project, request: &Take, work: &dyn Work, tell: Tell) -> Result<Taken> {
    let placing = Placing { box_name: request.box_name.clone(), sleeve: request.sleeve.clone() };
    let finished = project.folder().join(FINISHED);
    let found = gather(&request.inputs, &finished);
    found.says.iter().for_each(|s| tell(TakeEvent::Finishing(Event::Says(s.clone()))));
    found.problems.iter().for_each(|p| tell(TakeEvent::Finishing(Event::Problem(p.clone()))));
    let mut problems = found.problems;
    if found.sources.is_empty() && problems.is_empty() {
        let named: Vec<String> = request.inputs.iter().map(|p| p.display().to_string()).collect();
        problems.push(format!("There are no pictures in {}.", named.join(", ")));
        tell(TakeEvent::Finishing(Event::Problem(problems[0].clone())));
    }
    link_loose(project, &placing, tell)?;
    let sorted = sort(project, found.sources, &request.stop, tell)?;
    let mut unread = sorted.unread;
    let known = sorted.known;
    let mut left = sorted.left;
    if request.stop.is_asked() {
        left += sorted.new.len();
        return Ok(taken(vec![], known, problems, unread, left));
    }
    if sorted.new.is_empty() {
        return Ok(taken(vec![], known, problems, unread, left));
    }
    let begun = sorted.begun;
    let new: Vec<Source> = if request.copy {
        copied(project, sorted.new, &request.stop, (&mut unread, &mut left), tell)?
    } else {
        sorted.new.into_iter().map(|n| n.0).collect()
    };
    let (context, standing) = context(project, begun)?;
    let order: HashMap<PathBuf, usize> = new
        .iter()
        .enumerate()
        .flat_map(|(i, s)| std::iter::once(&s.path).chain(&s.twins).map(move |p| (p.clone(), i)))
        .collect();
    let sources = context.into_iter().chain(new.iter().cloned()).collect();
    keep_values(project, request.chart_values.as_deref())?;
    let run = Request {
        inputs: request.inputs.clone(),
        out: finished,
        blanks: request.blanks.clone(),
        backs: request.backs.clone(),
        chart: request.chart.clone(),
        chart_values: request.chart_values.clone(),
        ambient: None,
        counters: vec![],
        settings: request.settings.clone(),
        project: Some(OfProject { sources, standing }),
        memory: request.memory,
    };
    let desk =
        Mutex::new(Desk { project, placing, next: (0, 1), waiting: BTreeMap::new(), frames: vec![], failed: None });
    let hear = |event: Event| {
        if let Event::Done { entry, .. } = &event {
            let mut desk = desk.lock().unwrap_or_else(PoisonError::into_inner);
            match order.get(&entry.path) {
                Some(place) => desk.arrived(*place, entry, &new, tell),
                None => desk.known_again(entry),
            }
        }
        tell(TakeEvent::Finishing(event));
    };
    let in_hand = |path: &Path| tell(TakeEvent::InHand { path });
    let work = Stoppable::new(work, &request.stop, &in_hand);
    let answer = finish(&run, &work, &hear);
    let unbegun = work.left();
    let desk = desk.into_inner().unwrap_or_else(PoisonError::into_inner);
    if let Some(error) = desk.failed {
        return Err(error);
    }
    problems.extend(answer.problems.iter().cloned());
    let mut unbegun_frames: BTreeSet<usize> = BTreeSet::new();
    for entry in &answer.entries {
        let Outcome::Failed(says) = &entry.outcome else { continue };
        // A known frame that came along to be looked at beside the new ones is none of those that are left.
        match unbegun.contains(&entry.path) {
            true => unbegun_frames.extend(order.get(&entry.path)),
            false => unread.push(Unread { path: entry.path.clone(), says: says.clone() }),
        }
    }
    Ok(taken(desk.frames, known, problems, unread, left + unbegun_frames.len()))
}

/// What became of a take.
fn taken(frames: Vec<FrameId>, known: usize, problems: Vec<String>, unread: Vec<Unread>, left: usize) -> Taken {
    let exit = match (frames.is_empty() && known == 0, problems.is_empty() && unread.is_empty()) {
        (_, true) => Exit::AllDone,
        (true, false) => Exit::NothingDone,
        (false, false) => Exit::WithProblems,
    };
    Taken { frames, known, problems, unread, left, exit }
}

/// Links frames that an interrupted take entered but did not link.
fn link_loose(project: &mut Project, placing: &Placing, tell: Tell) -> Result<()> {
    for frame in project.catalogue().loose_frames()?.iter().filter(|f| f.print_why.is_empty() && shows_print(f)) {
        let linked = link(project, frame.id, placing)?;
        tell(TakeEvent::Saved { frame, print: linked.print, why: &linked.why });
    }
    Ok(())
}

/// True where finishing found a print in the frame.
fn shows_print(frame: &Frame) -> bool {
    frame.result.as_ref().is_some_and(|r| !r.format.is_empty())
}

struct Sorted {
    /// Exposures to take in, with the hash of their best file.
    new: Vec<(Source, String)>,
    /// Those of them that the catalogue has, with something missing: each with its number of prints.
    begun: BTreeMap<String, u32>,
    known: usize,
    unread: Vec<Unread>,
    /// How many were not looked at, because it was asked to stop.
    left: usize,
}

/// Tells new exposures from known ones. A known one that lies elsewhere now, its old place being empty, is noted there.
fn sort(project: &mut Project, sources: Vec<Source>, stop: &Stop, tell: Tell) -> Result<Sorted> {
    let mut sorted = Sorted { new: vec![], begun: BTreeMap::new(), known: 0, unread: vec![], left: 0 };
    let mut seen = BTreeSet::new();
    let of = sources.len();
    for (done, source) in sources.into_iter().enumerate() {
        if stop.is_asked() {
            sorted.left = of - done;
            break;
        }
        tell(TakeEvent::Reading { path: &source.path, done, of });
        let blake3 = match hash(&source.path) {
            Ok(blake3) => blake3,
            Err(e) => {
                let failed = Unread { path: source.path, says: e.to_string() };
                tell(TakeEvent::Finishing(Event::Problem(failed.to_string())));
                sorted.unread.push(failed);
                continue;
            }
        };
        let frames = project.catalogue().frames_by_hash(&blake3)?;
        match frames.first() {
            Some(first) if frames.len() as i64 == first.part.of && frames.iter().all(|f| whole(project, f)) => {
                sorted.known += 1;
                if !project.original(first).exists() {
                    let path = absolute(&source.path);
                    project.change(&format!("{} is at {path} now", first.name), |w| {
                        frames.iter().try_for_each(|f| w.moved(f.id, &path))
                    })?;
                }
            }
            // One file under two names is one exposure.
            first if seen.insert(blake3.clone()) => {
                sorted.begun.extend(first.map(|f| (blake3.clone(), f.part.of as u32)));
                sorted.new.push((source, blake3));
            }
            _ => {}
        }
    }
    Ok(sorted)
}

/// True where everything that was made of a frame is still there.
fn whole(project: &Project, frame: &Frame) -> bool {
    let there = |f: &String| project.inside(f).is_some_and(|f| std::fs::metadata(f).is_ok_and(|m| m.len() > 0));
    frame
        .result
        .as_ref()
        .is_some_and(|r| [Some(&r.report), r.master.as_ref(), r.mount.as_ref()].into_iter().flatten().all(there))
}

/// Copies exposures into the project, each beside its place and renamed, and checked against the hash it had on the card.
///
/// # Errors
/// The folder of copies is where they lie, or the disk refuses. A frame that cannot be copied has its line and is left.
fn copied(
    project: &Project,
    new: Vec<(Source, String)>,
    stop: &Stop,
    (unread, left): (&mut Vec<Unread>, &mut usize),
    tell: Tell,
) -> Result<Vec<Source>> {
    let folder = project.folder().join(ORIGINALS);
    if std::fs::symlink_metadata(&folder).is_ok_and(|m| m.is_symlink()) && is_below(project.folder(), &folder).is_none()
    {
        let says = format!("{} leads out of the project. Nothing was copied.", folder.display());
        return Err(Failure::new(says)
            .with_remedy("Move the link elsewhere, or take the frames without --copy.")
            .into());
    }
    let files = || new.iter().flat_map(|(s, _)| std::iter::once(&s.path).chain(&s.twins));
    let card = Originals::of(files().filter(|f| !is_copy(&folder, f)));
    card.refuse_folder(&folder)?;
    std::fs::create_dir_all(&folder).map_err(|e| Failure::writing(&folder, &e))?;
    write::sweep(&folder, |_| true);
    let mut out = vec![];
    for (source, blake3) in new {
        if stop.is_asked() {
            *left += 1;
            continue;
        }
        let both = || -> Result<Source> {
            let path = copy(&folder, &source.path, &blake3)?;
            let twins = source.twins.iter().map(|t| copy(&folder, t, &hash(t)?)).collect::<Result<_>>()?;
            Ok(Source { path, twins })
        };
        match both() {
            Ok(copied) => out.push(copied),
            Err(Error::File(e)) if !e.stops_the_run => {
                let failed = Unread { path: source.path, says: e.to_string() };
                tell(TakeEvent::Finishing(Event::Problem(failed.to_string())));
                unread.push(failed);
            }
            Err(e) => return Err(e),
        }
    }
    Ok(out)
}

/// True for a file that lies in the folder of copies already.
fn is_copy(folder: &Path, file: &Path) -> bool {
    is_below(folder, file).is_some()
}

fn copy(folder: &Path, from: &Path, blake3: &str) -> Result<PathBuf> {
    // A frame that is taken again from its copy has one.
    if is_copy(folder, from) {
        return Ok(from.to_owned());
    }
    let text = |part: Option<&std::ffi::OsStr>| part.map(|p| p.to_string_lossy().into_owned()).unwrap_or_default();
    let name = finish::with_hash(&finish::clean(&text(from.file_stem())), blake3);
    let place = folder.join(format!("{name}.{}", text(from.extension())));
    if std::fs::symlink_metadata(&place).is_ok() {
        // The name proves nothing: only a separate file with these bytes is a copy.
        let is_file = std::fs::symlink_metadata(&place).is_ok_and(|m| m.is_file());
        let itself = Originals::of([from]).refuse(&place).is_err();
        if is_file && !itself && hash(&place)? == blake3 {
            return Ok(place);
        }
        let says = format!(
            "{} already exists and is not a copy of {}, so it was not changed.",
            place.display(),
            from.display()
        );
        return Err(Failure::new(says).with_remedy("Move it elsewhere and take the frame again.").into());
    }
    let write = || {
        let mut part = write::part(&place)?;
        std::io::copy(&mut std::fs::File::open(from)?, &mut part)?;
        Ok(part)
    };
    let part = write().map_err(|e| Failure::writing(&place, &e))?;
    if hash(part.path())? != blake3 {
        let says = format!("{} changed while it was copied.", from.display());
        return Err(Failure::new(says).with_remedy("Take it again.").into());
    }
    write::settle(part, &place).map_err(|e| Failure::writing(&place, &e))?;
    Ok(place)
}

/// Keeps the values of a chart with the project, so that a frame can be finished again without the card they came on.
fn keep_values(project: &Project, values: Option<&Path>) -> Result<()> {
    let Some((values, blake3)) = values.and_then(|v| Some((v, hash(v).ok()?))) else { return Ok(()) };
    let place = project.chart_values(&blake3);
    if hash(&place).is_ok_and(|held| held == blake3) {
        return Ok(());
    }
    let folder = project.folder().join(super::CHARTS);
    std::fs::create_dir_all(&folder).map_err(|e| Failure::writing(&folder, &e))?;
    let bytes = base::files::regular::read(values).map_err(|e| Failure::reading(&e))?;
    Ok(base::files::write::write_beside(&place, &bytes)?)
}

/// Known frames of the latest sitting to look at beside the new ones, and the hashes of all that stand, each with its number of
/// prints. Frames that were `begun` are finished as what they were, and are none of the context.
fn context(project: &Project, begun: BTreeMap<String, u32>) -> Result<(Vec<Source>, BTreeMap<String, u32>)> {
    let latest = project.catalogue().latest_sitting()?;
    let mut counts: HashMap<String, usize> = HashMap::new();
    let mut sources = vec![];
    let mut standing = begun;
    if latest.is_some() {
        project.catalogue().look_back(latest, |frame| {
            // One lit from the other side is told by the front before it: it comes along while that one does too.
            let second = frame.role == COUNTER;
            let shows = frame.holds_print();
            let kind = if shows { "print" } else { &frame.role };
            let count = counts.entry(kind.to_owned()).or_default();
            let wanted = *count < if shows { PRINTS } else { SERVICE } && !standing.contains_key(&frame.blake3);
            let path = project.folder().join(&frame.path);
            if wanted && path.exists() {
                *count += usize::from(!second);
                standing.insert(frame.blake3.clone(), frame.part.of as u32);
                sources.push(Source { path, twins: vec![] });
            }
            true
        })?;
    }
    sources.reverse();
    Ok((sources, standing))
}

/// Enters frames in the order they were taken, whatever order they are finished in.
struct Desk<'a> {
    project: &'a mut Project,
    placing: Placing,
    /// Place among the exposures, and which of its prints.
    next: (usize, u32),
    waiting: BTreeMap<(usize, u32), (PartOf, Option<Arrived>)>,
    frames: Vec<FrameId>,
    failed: Option<Error>,
}

/// A finished frame that waits for its turn.
struct Arrived {
    path: PathBuf,
    twins: Vec<PathBuf>,
    stem: String,
    report: Box<Report>,
}

impl Desk<'_> {
    fn arrived(&mut self, place: usize, entry: &Entry, new: &[Source], tell: Tell) {
        let arrived = entry.outcome.report().map(|report| Arrived {
            path: entry.path.clone(),
            twins: std::iter::once(&new[place].path)
                .chain(&new[place].twins)
                .filter(|p| **p != entry.path)
                .cloned()
                .collect(),
            stem: entry.stem.clone(),
            report: Box::new(report.clone()),
        });
        let part = entry.part.unwrap_or(PartOf { number: 1, of: 1 });
        self.waiting.insert((place, part.number), (part, arrived));
        while let Some((part, arrived)) = self.waiting.remove(&self.next) {
            let (place, _) = self.next;
            self.next = if part.number < part.of { (place, part.number + 1) } else { (place + 1, 1) };
            // After the first trouble with the catalogue nothing more is entered: the next take goes on from here.
            if let (Some(arrived), None) = (arrived, &self.failed)
                && let Err(e) = self.enter(&arrived, tell)
            {
                self.failed = Some(e);
            }
        }
    }

    fn enter(&mut self, arrived: &Arrived, tell: Tell) -> Result<()> {
        let id = enter(self.project, arrived)?;
        let linked = link(self.project, id, &self.placing)?;
        self.frames.push(id);
        if let Some(frame) = self.project.catalogue().frame(id)? {
            tell(TakeEvent::Saved { frame: &frame, print: linked.print, why: &linked.why });
        }
        Ok(())
    }

    /// A known frame whose role is clearer now that others came was finished again.
    fn known_again(&mut self, entry: &Entry) {
        let Outcome::Finished(report) = &entry.outcome else { return };
        if self.failed.is_none()
            && let Err(e) = again(self.project, &self.placing, report, &entry.stem)
        {
            self.failed = Some(e);
        }
    }
}

fn again(project: &mut Project, placing: &Placing, report: &Report, stem: &str) -> Result<()> {
    let all = project.catalogue().frames_by_hash(&report.frame.blake3)?;
    let Some(frame) = all.into_iter().find(|f| f.part == part_of(report)) else { return Ok(()) };
    let result = result(project.folder(), report, stem);
    project.catalogue.record(frame.id, &result, &report.recipe.canonical())?;
    let role = role_word(report);
    if frame.role != role {
        project.change(&format!("{} is {} after all", frame.name, report.frame.role.word()), |w| {
            w.give_role(frame.id, &role, &report.frame.role_reason)?;
            w.join(frame.id, None, "")
        })?;
        link(project, frame.id, placing)?;
    }
    Ok(())
}

/// The role as the catalogue writes it.
pub(super) fn role_word(report: &Report) -> String {
    serde_json::to_value(report.frame.role).ok().and_then(|v| v.as_str().map(str::to_owned)).unwrap_or_default()
}

fn absolute(path: &Path) -> String {
    path.canonicalize().unwrap_or_else(|_| path.to_owned()).to_string_lossy().into_owned()
}

/// The path of an original as stored in the catalogue: relative to the project if it was copied in.
fn place_of(project: &Project, path: &Path) -> String {
    let (real, folder) = (path.canonicalize(), project.folder().canonicalize());
    match (real, folder) {
        (Ok(real), Ok(folder)) if real.starts_with(&folder) => {
            let parts = real.strip_prefix(&folder).unwrap_or(&real).components();
            parts.map(|c| c.as_os_str().to_string_lossy().into_owned()).collect::<Vec<_>>().join("/")
        }
        _ => absolute(path),
    }
}

fn enter(project: &mut Project, arrived: &Arrived) -> Result<FrameId> {
    let Arrived { path, twins, stem, report } = arrived;
    let name = own_name(path, report);
    let frame = NewFrame {
        blake3: report.frame.blake3.clone(),
        name: name.clone(),
        part: part_of(report),
        path: place_of(project, path),
        twins: twins.iter().map(|t| place_of(project, t)).collect(),
        taken: report.frame.exif.taken.clone(),
        role: role_word(report),
        role_why: report.frame.role_reason.clone(),
        sitting: None,
    };
    let result = result(project.folder(), report, stem);
    let recipe = report.recipe.canonical();
    let camera = report.frame.exif.camera.clone().unwrap_or_default();
    let size = [report.frame.width_px as i64, report.frame.height_px as i64];
    project.change(&format!("Took {name}"), |w| {
        let sitting = w.sitting(&camera, size, frame.taken.as_deref(), SITTING_GAP_S)?;
        let id = w.add_frame(&NewFrame { sitting: Some(sitting), ..frame })?;
        w.record(id, &result, &recipe)?;
        Ok(id)
    })
}

/// The name the camera gave: a copy's own name without the hash that was put into it. One of several prints has the name without its
/// ending, and its number.
pub(super) fn own_name(path: &Path, report: &Report) -> String {
    let name = base::files::name_of(path);
    let mark = report.frame.blake3.get(..10).unwrap_or_default();
    let name = if mark.is_empty() { name } else { name.replacen(&format!("-{mark}."), ".", 1) };
    match report.recipe.part {
        Some(part) => format!("{}-{}", name.rsplit_once('.').map_or(name.as_str(), |(stem, _)| stem), part.number),
        None => name,
    }
}

/// Which of its frame's prints a report tells of, as the catalogue has it.
pub(super) fn part_of(report: &Report) -> catalogue::PartOf {
    let of = |p: PartOf| catalogue::PartOf { number: i64::from(p.number), of: i64::from(p.of) };
    report.recipe.part.map(of).unwrap_or_default()
}

/// What finishing made, with paths from the project's folder.
pub(super) fn result(folder: &Path, report: &Report, stem: &str) -> Finished {
    let place = format!("{FINISHED}/reports/{stem}.report.json");
    // Reports name files from their own folder.
    let from_project = |name: &str| format!("{FINISHED}/{}", name.trim_start_matches("../"));
    let canvas = report.canvas.as_ref();
    let is_back = report.frame.role == finish::Role::Back;
    let marks = if is_back { appearance::marks(report, &folder.join(&place)) } else { "" };
    Finished {
        verdict: report.verdict.word().into(),
        says: report.findings.first().map(|f| f.says.clone()).or_else(|| report.service.clone()).unwrap_or_default(),
        format: report.print.as_ref().map(|p| p.format.clone()).unwrap_or_default(),
        confidence: report.print.as_ref().map(|p| p.confidence),
        size_mm: report.print.as_ref().map(|p| p.size_mm),
        frame_px: [report.frame.width_px as i64, report.frame.height_px as i64],
        px_per_mm: canvas.map(|c| c.px_per_mm),
        canvas_px: canvas.map(|c| [c.width_px as i64, c.height_px as i64]),
        marks: marks.into(),
        report: place,
        master: canvas.map(|c| from_project(&c.master)),
        mount: canvas.map(|c| from_project(&c.mount)),
        srgb_png: canvas.and_then(|c| c.srgb_png.as_deref()).map(from_project),
        share: canvas.and_then(|c| c.share.as_deref()).map(from_project),
        before: report.previews.as_ref().map(|p| from_project(&p.before)),
        after: report.previews.as_ref().and_then(|p| p.after.as_deref()).map(from_project),
        recipe: report.recipe_blake3.clone(),
        findings: report.findings.iter().map(finding).collect(),
    }
}

fn finding(f: &finish::finding::Finding) -> Finding {
    let word = serde_json::to_value(f.severity).ok().and_then(|v| v.as_str().map(str::to_owned));
    Finding {
        code: f.code.word().into(),
        severity: word.unwrap_or_default(),
        value: Some(f.value),
        limit: Some(f.limit),
        unit: f.unit.clone(),
        says: f.says.clone(),
        remedy: f.action.clone(),
    }
}
