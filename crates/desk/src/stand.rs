//! The stand: a folder is watched, and each frame that arrives in it is judged before the next print is down.
//!
//! The folder is looked through fifty times a second: unlike the system's own notices that also sees folders on a network or a
//! card. A file is taken when it is whole; half-written ones are waited for.

mod amiss;
mod mark;

use super::read::{role, short};
use super::wire::request::WatchRequest;
use super::wire::{Again, Did, Event, Last, Left, Stand, Watched, by_word};
use super::{Desk, held};
use finish::Role;
use finish::finding::{Code, Verdict};
use finish::recipe::Settings;
use finish::report::Report;
use finish::{Event as Finishing, Source, is_picture, pair_twins};
use project::catalogue::{Frame, PrintId, named};
use project::{Error, Result, Take, TakeEvent};
use std::collections::{BTreeMap, BTreeSet, HashSet};
use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant, SystemTime};

/// Time between two looks into the folder. A file must be the same in two of them, so this is added to every verdict once or
/// twice; a look costs a tenth of a millisecond.
const LOOK: Duration = Duration::from_millis(20);
/// How long a file that does not tell that it is whole must have stayed as it is: some cameras write something after the end.
const STILL: Duration = Duration::from_secs(1);
/// Frames taken together where many wait, as from a card that is copied: enough for both cores, few enough that the first verdict comes
/// soon, for all of them are looked at before one is judged.
const TOGETHER: usize = 4;
/// Most intervals that the pace is the median of: the last few minutes.
const PACE: usize = 12;
/// A pause this long is a pause, and no part of the pace, seconds.
const PAUSE: f64 = 180.0;

/// What the project remembers the watched folder under.
pub(super) const WATCHED: &str = "watched";

/// What the stand remembers of a sleeve.
#[derive(Debug, Default)]
pub(super) struct Sitting {
    watch: WatchRequest,
    /// What was watched last.
    remembered: Option<WatchRequest>,
    /// The take-in that all frames of the sleeve belong to.
    take: Option<String>,
    troubles: amiss::Troubles,
    /// Counts up with every wish: a watcher of an earlier one ends.
    turn: u64,
    last: Option<Last>,
    /// The verdicts on the prints of the frame that came last, in their order: one, or as many as lie in it.
    parts: Vec<Last>,
    /// Prints that came, and when the newest did.
    prints: BTreeSet<i64>,
    came: Vec<Instant>,
    reshoot: Vec<(i64, Again)>,
    owed: BTreeSet<i64>,
    /// Prints whose back came.
    backs: BTreeSet<i64>,
    /// The frame that somebody said they have seen.
    seen: Option<String>,
    /// The frame with whose verdict a second frame was offered: once in a sitting.
    offered: Option<String>,
}

impl Desk {
    /// The stand as it is.
    pub fn stand(&self) -> Stand {
        held(&self.stand).told()
    }

    /// Watches a folder, or stops.
    ///
    /// # Errors
    /// The folder is not there or may not be read, or this desk only reads.
    pub fn watch(self: &Arc<Self>, watch: WatchRequest) -> Result<Did> {
        self.may_write()?;
        let did = match &watch.folder {
            Some(folder) => {
                std::fs::read_dir(folder).map_err(|e| {
                    Error::Refused(format!("{} cannot be watched: {e}. Enter a folder's full path.", folder.display()))
                })?;
                format!("Watching {}", folder.display())
            }
            None => "Stopped watching".into(),
        };
        let known = self.known_paths()?;
        let turn = {
            let mut sitting = held(&self.stand);
            let same = sitting.watch.folder == watch.folder
                && (&sitting.watch.box_name, &sitting.watch.sleeve) == (&watch.box_name, &watch.sleeve);
            let turn = sitting.turn + 1;
            // Another sleeve is counted anew; the same one goes on.
            if !same {
                *sitting = Sitting { remembered: sitting.remembered.take(), ..Sitting::default() };
            }
            sitting.troubles.folder_is_there();
            (sitting.turn, sitting.watch) = (turn, watch.clone());
            if watch.folder.is_some() {
                sitting.remembered = Some(watch.clone());
            }
            turn
        };
        if watch.folder.is_some() {
            self.project().remember(WATCHED, &serde_json::to_string(&watch).unwrap_or_default())?;
        }
        if let Some(folder) = watch.folder {
            let desk = Arc::clone(self);
            std::thread::spawn(move || desk.watching(turn, &folder, known));
        }
        self.tell(&Event::Changed);
        let (undo, redo) = self.project().catalogue().can_undo_redo_in(&self.rooms())?;
        Ok(Did { did, undo, redo })
    }

    /// Where the project's frames lie: those are not taken again.
    fn known_paths(&self) -> Result<BTreeSet<PathBuf>> {
        let project = self.project();
        let frames = project.catalogue().all_frames()?;
        let twins = |f: &Frame| f.twins.iter().map(PathBuf::from).collect::<Vec<_>>();
        Ok(frames.iter().flat_map(|f| twins(f).into_iter().chain([project.original(f)])).collect())
    }

    fn watching(&self, turn: u64, folder: &Path, known: BTreeSet<PathBuf>) {
        let real = |p: &Path| p.canonicalize().unwrap_or_else(|_| p.to_owned());
        let known: BTreeSet<PathBuf> = known.iter().map(|p| real(p)).collect();
        let mut seen = Seen { taken: known, ..Seen::default() };
        let folder = real(folder);
        let mut gone = false;
        while held(&self.stand).turn == turn {
            match seen.ready(&folder) {
                Ok(ready) => {
                    if std::mem::take(&mut gone) {
                        held(&self.stand).troubles.folder_is_there();
                        self.tell(&Event::Changed);
                    }
                    for together in ready.chunks(TOGETHER).take_while(|_| held(&self.stand).turn == turn) {
                        self.arrived(together).iter().for_each(|file| seen.failed(file));
                    }
                }
                // Told once: a card that was pulled out comes back, or does not.
                Err(e) if !std::mem::replace(&mut gone, true) => {
                    let told = held(&self.stand).troubles.folder_is_gone(&e);
                    self.tell(&Event::Trouble { says: format!("{}: {told}", folder.display()), at_stand: true });
                }
                Err(_) => {}
            }
            std::thread::sleep(LOOK);
        }
    }

    /// The take-in that the frames of this sleeve belong to, so that they can be undone as a whole.
    fn sleeve_take(&self) -> Result<String> {
        let (take, from) = {
            let sitting = held(&self.stand);
            let sleeve = sitting.watch.sleeve.as_deref().filter(|s| !s.is_empty()).map(|s| format!("sleeve {s}"));
            let words = [Some("the stand".to_owned()), sitting.watch.box_name.clone(), sleeve];
            (sitting.take.clone(), words.into_iter().flatten().filter(|w| !w.is_empty()).collect::<Vec<_>>().join(", "))
        };
        let take = take.map_or_else(|| self.project().begin_take(&from), Ok)?;
        held(&self.stand).take = Some(take.clone());
        Ok(take)
    }

    /// Takes in what has arrived; the files that could not be used.
    fn arrived(&self, files: &[PathBuf]) -> Vec<PathBuf> {
        let part_of = self.sleeve_take().ok();
        let request = {
            let sitting = held(&self.stand);
            Take {
                inputs: files.to_vec(),
                box_name: sitting.watch.box_name.clone().unwrap_or_default(),
                sleeve: sitting.watch.sleeve.clone().unwrap_or_default(),
                settings: Settings { one: sitting.watch.one, ..Settings::default() },
                part_of,
                ..Take::default()
            }
        };
        let hear = |event: &TakeEvent| match event {
            TakeEvent::Finishing(Finishing::Judged { path, report, .. })
                if request.inputs.iter().any(|i| i == path) =>
            {
                let part = report.recipe.part.map_or((1, 1), |p| (p.number as usize, p.of as usize));
                // One verdict for all prints of a frame, when the last of them is known.
                // The sitting is let go of before it is told of.
                let all = {
                    let mut sitting = held(&self.stand);
                    let verdict = sitting.offered(judged(path, report), report);
                    sitting.judged(part, verdict)
                };
                if all { self.tell_verdict() } else { self.tell(&Event::Changed) }
            }
            // A frame that came before is judged again, joined with the one that came now.
            TakeEvent::Finishing(Finishing::Judged { path, report, .. }) => {
                if held(&self.stand).joined(path, report) {
                    self.tell(&Event::Changed);
                }
            }
            TakeEvent::Saved { frame, print, .. } => {
                let (told, last) = held(&self.stand).saved(frame, *print);
                if !told {
                    self.tell_verdict();
                }
                self.tell(&Event::Settled(Box::new(last)));
            }
            TakeEvent::Finishing(_) | TakeEvent::Reading { .. } | TakeEvent::InHand { .. } => {}
        };
        let problems = match self.take_with(&request, &hear) {
            Ok(taken) => taken.lines(),
            Err(e) => vec![e.to_string()],
        };
        for says in &problems {
            held(&self.stand).troubles.add(says, files);
            self.tell(&Event::Trouble { says: says.clone(), at_stand: true });
        }
        let failed = |f: &&PathBuf| problems.iter().any(|p| p.starts_with(&f.display().to_string()));
        files.iter().filter(failed).cloned().collect()
    }

    fn tell_verdict(&self) {
        self.tell(&Event::Verdict(Box::new(self.stand())));
    }
}

fn with_offer(verdict: Last) -> Last {
    let remedy = verdict.remedy.iter().map(String::as_str).chain([OFFER]).collect::<Vec<_>>().join(" ");
    Last { remedy: Some(remedy), ..verdict }
}

/// A verdict before anything was made or entered.
fn judged(path: &Path, report: &Report) -> Last {
    let name = base::files::name_of(path);
    // A note on a print that is kept stands on its sheet; at the stand it would only stop the hand.
    let worst = report.findings.first().filter(|_| !report.verdict.is_well());
    Last {
        frame: None,
        print: None,
        label: None,
        name,
        of: report.recipe.part.map_or(1, |p| p.of as usize),
        verdict: report.verdict,
        sentence: worst.map(|f| f.says.clone()).or_else(|| report.service.clone()).unwrap_or_else(|| FINE.to_owned()),
        remedy: worst.map(|f| f.action.clone()).filter(|a| !a.is_empty()),
        picture: None,
        role: report.frame.role,
        turn_unknown: report.findings.iter().any(|f| f.code == Code::TurnUnknown),
    }
}

/// What is remembered of a wish to watch a folder.
fn watched(watch: &WatchRequest) -> Option<Watched> {
    Some(Watched {
        folder: watch.folder.as_ref()?.to_string_lossy().into_owned(),
        box_name: watch.box_name.clone(),
        sleeve: watch.sleeve.clone(),
        of: watch.of,
        backs: watch.backs,
        one: watch.one,
    })
}

/// What is said of a frame without a finding.
const FINE: &str = "No problems found.";

/// The name of a frame's file.
fn file_of(frame: &Frame) -> String {
    match frame.part.is_whole() {
        true => frame.name.clone(),
        false => frame.path.rsplit(['/', '\\']).next().unwrap_or_default().to_owned(),
    }
}

/// The word on a frame: that of its worst print, which is named where there are several. It has a frame and a picture once all of
/// them are saved.
fn together(parts: &[Last]) -> Option<Last> {
    let of = parts.first()?.of;
    let rank = |l: &Last| [Verdict::Keep, Verdict::Look, Verdict::Reshoot].iter().position(|v| *v == l.verdict);
    let (number, worst) = parts.iter().enumerate().rev().max_by_key(|(_, l)| rank(l))?;
    let mut last = worst.clone();
    // Of several prints each is turned on its sheet.
    last.turn_unknown &= of == 1;
    if of > 1 && last.verdict != Verdict::Keep {
        last.sentence = format!("Print {} of {of}: {}", number + 1, last.sentence);
    }
    if parts.len() < of || parts.iter().any(|p| p.frame.is_none()) {
        (last.frame, last.picture) = (None, None);
    }
    Some(last)
}

/// What a second frame does for a print whose window mirrors the flash. One frame does not tell what it mirrors: a person sees that.
const OFFER: &str = "If it mirrors the flash, you can also leave print and camera as they are, move the flash to the opposite side and take \
                     a second frame: the two are joined without the reflection.";

/// True where a reflection in its window is what the stand says of a front.
fn is_veiled(report: &Report) -> bool {
    let first = report.findings.first().filter(|_| !report.verdict.is_well());
    report.frame.role == Role::Front && report.counter.is_none() && first.is_some_and(|f| f.code == Code::Veil)
}

impl Sitting {
    /// Nothing is watched; what was watched last is offered.
    pub(super) fn remembering(watched: Option<&str>) -> Self {
        Self { remembered: watched.and_then(|text| serde_json::from_str(text).ok()), ..Self::default() }
    }

    /// A verdict, with the offer of a second frame where that would mend it and nobody was told yet.
    fn offered(&mut self, verdict: Last, report: &Report) -> Last {
        if !is_veiled(report) || self.offered.as_ref().is_some_and(|name| *name != verdict.name) {
            return verdict;
        }
        self.offered = Some(verdict.name.clone());
        with_offer(verdict)
    }

    /// Notes the verdict on an earlier frame that was joined with a second one; true where its print need no longer be shot again.
    fn joined(&mut self, path: &Path, report: &Report) -> bool {
        let name = base::files::name_of(path);
        let before = self.reshoot.len();
        if report.counter.is_some() && report.verdict != Verdict::Reshoot {
            self.reshoot.retain(|r| r.1.name != name);
        }
        self.reshoot.len() < before
    }

    /// Notes a verdict on a print, one of so many in its frame. True where it is the last of them.
    fn judged(&mut self, (number, of): (usize, usize), verdict: Last) -> bool {
        if number == 1 || self.last.as_ref().is_none_or(|l| l.name != verdict.name) {
            self.parts.clear();
        }
        self.parts.push(verdict);
        self.last = together(&self.parts);
        self.troubles.judged();
        number == of
    }

    /// Notes that a person said which way is up in a frame, or anything else that made its picture anew.
    pub(super) fn mended(&mut self, frame: &super::wire::Frame) {
        for last in self.parts.iter_mut().chain(&mut self.last).filter(|l| l.frame == Some(frame.id)) {
            last.turn_unknown &= !frame.turn_known;
            last.picture.clone_from(&frame.picture);
        }
    }

    /// Notes a frame that is saved: whether its verdict was told before, and the verdict.
    fn saved(&mut self, frame: &Frame, print: Option<PrintId>) -> (bool, Last) {
        let result = frame.result.clone().unwrap_or_default();
        let shows = frame.holds_print();
        let verdict = by_word(&result.verdict).unwrap_or(Verdict::Keep);
        let worst = result.findings.first().filter(|_| !verdict.is_well());
        let fine = match result.says.as_str() {
            _ if shows && verdict != Verdict::Used => FINE,
            "" => "Used for the other frames.",
            service => service,
        };
        let name = file_of(frame);
        let told = self.last.as_ref().is_some_and(|l| l.name == name && l.frame.is_none());
        let number = usize::try_from(frame.part.number - 1).unwrap_or(0);
        let last = Last {
            frame: Some(frame.id.0),
            print: print.map(|p| p.0),
            label: print.map(|p| p.to_string()),
            name,
            of: usize::try_from(frame.part.of).unwrap_or(1),
            sentence: worst.map_or(fine, |f| f.says.as_str()).to_owned(),
            remedy: worst.map(|f| f.remedy.clone()).filter(|r| !r.is_empty()),
            picture: result.after.as_ref().map(|_| short(&result.recipe)),
            role: role(frame),
            turn_unknown: result.findings.iter().any(|f| f.code == Code::TurnUnknown.word()),
            verdict,
        };
        let last =
            if self.offered.as_ref() == Some(&last.name) && !last.verdict.is_well() { with_offer(last) } else { last };
        // A second frame of a print changes nothing of what is owed.
        if let Some(print) = print.map(|p| p.0).filter(|_| last.verdict != Verdict::Used) {
            self.count(print, frame, &last);
        }
        // A frame that came since has the word now.
        if told || self.last.as_ref().is_none_or(|l| l.frame.is_some()) {
            match self.parts.get_mut(number).filter(|p| p.name == last.name) {
                Some(part) => *part = last.clone(),
                None => self.parts = vec![last.clone()],
            }
            self.last = together(&self.parts);
        }
        // Each print is told by its own name.
        (told, Last { name: frame.name.clone(), ..last })
    }

    fn count(&mut self, print: i64, frame: &Frame, last: &Last) {
        let reshoot = last.verdict == Verdict::Reshoot;
        if last.role == Role::Back {
            self.owed.remove(&print);
            self.backs.insert(print);
        } else {
            self.reshoot.retain(|r| r.0 != print);
            if reshoot {
                let label = last.label.clone().unwrap_or_default();
                let again = Again { label, name: frame.name.clone(), sentence: last.sentence.clone() };
                self.reshoot.push((print, again));
            }
            // A print that must be shot again stays as it lies; its back comes after that.
            let has_back = self.backs.contains(&print);
            // Only the prints that lie there can be turned over.
            let there: BTreeSet<i64> = self.parts.iter().filter_map(|p| p.print).collect();
            self.owed.retain(|p| there.contains(p) && *p != print);
            if self.watch.backs && !reshoot && !has_back {
                self.owed.insert(print);
            }
        }
        if self.prints.insert(print) {
            self.came.push(Instant::now());
        }
    }

    fn told(&self) -> Stand {
        let pace_s = self.pace();
        let count = self.prints.len();
        let left = self.watch.of.map(|of| of.saturating_sub(count));
        Stand {
            folder: self.watch.folder.as_ref().map(|f| f.to_string_lossy().into_owned()),
            last: self.last.clone(),
            count,
            pace_s,
            left: left.zip(pace_s).map(|(n, s)| Left { prints: n, minutes: n as f64 * s / 60.0 }),
            reshoot: self.reshoot.iter().map(|r| r.1.clone()).collect(),
            owed: self.owed_said(),
            box_name: self.watch.box_name.clone().filter(|b| !b.is_empty()),
            sleeve: self.watch.sleeve.clone().filter(|s| !s.is_empty()),
            sound: self.watch.sound,
            seen: self.seen.clone(),
            amiss: self.troubles.now(),
            remembered: self.remembered.as_ref().and_then(watched),
        }
    }

    fn owed_said(&self) -> Option<String> {
        let prints: Vec<PrintId> = self.owed.iter().copied().map(PrintId).collect();
        match prints.as_slice() {
            [] => None,
            [one] => Some(format!("Turn {one} over and photograph its back.")),
            more => Some(format!("Turn {} over without moving them and photograph their backs.", named(more))),
        }
    }

    /// Seconds from print to print: the median of the last, without pauses.
    fn pace(&self) -> Option<f64> {
        let apart = self.came.windows(2).map(|w| (w[1] - w[0]).as_secs_f64()).filter(|s| *s < PAUSE);
        let mut last: Vec<f64> = apart.collect::<Vec<_>>().into_iter().rev().take(PACE).collect();
        last.sort_by(f64::total_cmp);
        last.get(last.len() / 2).copied()
    }
}

/// A file as it was looked at: its size, when it was written, and whether it could be opened.
type Look = (u64, Option<SystemTime>, bool);

fn look(path: &Path) -> Look {
    let about = std::fs::metadata(path).ok();
    let (len, written) = about.map_or((0, None), |m| (m.len(), m.modified().ok()));
    (len, written, std::fs::File::open(path).is_ok())
}

/// Files seen in the folder.
#[derive(Default)]
struct Seen {
    taken: BTreeSet<PathBuf>,
    waiting: BTreeMap<PathBuf, (u64, Option<SystemTime>, Instant)>,
    /// Names in the folder that need no second look: taken, or no pictures.
    done: HashSet<OsString>,
    /// Files that could not be used, as they were then: one that is another now is taken again.
    failed: BTreeMap<PathBuf, Look>,
}

impl Seen {
    /// A file could not be used: it is looked at again once it is another, as when it is copied once more.
    fn failed(&mut self, path: &Path) {
        self.taken.remove(path);
        if let Some(name) = path.file_name() {
            self.done.remove(name);
        }
        self.failed.insert(path.to_owned(), look(path));
    }

    /// Files that are whole now and were not taken, in the order they came.
    fn ready(&mut self, folder: &Path) -> std::io::Result<Vec<PathBuf>> {
        let mut ready: Vec<(Option<SystemTime>, PathBuf)> = vec![];
        for entry in std::fs::read_dir(folder)?.flatten() {
            // Thousands may lie there, and it is looked at many times a second.
            if self.done.contains(&entry.file_name()) {
                continue;
            }
            let path = entry.path();
            if self.taken.contains(&path) || !is_picture(&path) {
                self.done.insert(entry.file_name());
                continue;
            }
            // What a link leads to is what arrives; pipes and devices are nobody's frames.
            let Ok(about) = std::fs::metadata(&path) else { continue };
            if !about.is_file() || self.failed.get(&path).is_some_and(|then| *then == look(&path)) {
                continue;
            }
            let now = (about.len(), about.modified().ok());
            let since = match self.waiting.get(&path) {
                Some((len, at, since)) if (*len, *at) == now => *since,
                _ => {
                    self.waiting.insert(path, (now.0, now.1, Instant::now()));
                    continue;
                }
            };
            if now.0 > 0 && (codec::is_whole(&path) || since.elapsed() >= STILL) {
                ready.push((now.1, path));
            }
        }
        // An exposure in two files is waited for until both are whole.
        let are_ready: HashSet<&Path> = ready.iter().map(|r| r.1.as_path()).collect();
        let others = self.waiting.keys().filter(|w| !are_ready.contains(w.as_path()));
        let not_whole: HashSet<Option<&std::ffi::OsStr>> = others.map(|w| w.file_stem()).collect();
        let half = |path: &Path| not_whole.contains(&path.file_stem());
        let mut whole: Vec<_> = ready.iter().filter(|r| !half(&r.1)).cloned().collect();
        // By time and name: the clock of a disk may tick in seconds.
        whole.sort();
        for (_, path) in &whole {
            self.waiting.remove(path);
            self.taken.insert(path.clone());
            self.done.extend(path.file_name().map(std::ffi::OsStr::to_owned));
        }
        let order: BTreeMap<PathBuf, usize> = whole.iter().enumerate().map(|(i, w)| (w.1.clone(), i)).collect();
        let mut best: Vec<Source> = pair_twins(whole.into_iter().map(|w| w.1).collect());
        best.sort_by_key(|s| order.get(&s.path).copied());
        Ok(best.into_iter().map(|s| s.path).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use project::catalogue::{Finished, FrameId, PartOf};

    #[test]
    fn a_half_written_file_is_waited_for() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("F1.jpg");
        let mut seen = Seen::default();
        let ready = |seen: &mut Seen| seen.ready(folder.path()).unwrap();
        std::fs::write(&path, [0xFF, 0xD8, 1, 2]).unwrap();
        assert!(ready(&mut seen).is_empty());
        assert!(ready(&mut seen).is_empty(), "still, and not at its end");
        std::fs::write(&path, [0xFF, 0xD8, 1, 2, 0xFF, 0xD9]).unwrap();
        assert!(ready(&mut seen).is_empty(), "it has just changed");
        assert_eq!(ready(&mut seen), [path]);
        assert!(ready(&mut seen).is_empty(), "once");
        // Another kind is taken when it has been still for a second.
        std::fs::write(folder.path().join("F2.dng"), [1, 2, 3]).unwrap();
        assert!(ready(&mut seen).is_empty());
        std::thread::sleep(STILL);
        assert_eq!(ready(&mut seen).len(), 1);
    }

    #[test]
    fn a_file_that_could_not_be_used_is_taken_again_once_it_is_another() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("F1.jpg");
        let mut seen = Seen::default();
        std::fs::write(&path, [0xFF, 0xD8, 1, 2, 0xFF, 0xD9]).unwrap();
        let mut twice = || (0..2).flat_map(|_| seen.ready(folder.path()).unwrap()).collect::<Vec<_>>();
        assert_eq!(twice(), std::slice::from_ref(&path));
        seen.failed(&path);
        let mut twice = || (0..2).flat_map(|_| seen.ready(folder.path()).unwrap()).collect::<Vec<_>>();
        assert!(twice().is_empty(), "it is as it was");
        std::fs::write(&path, [0xFF, 0xD8, 1, 2, 3, 4, 0xFF, 0xD9]).unwrap();
        assert_eq!(twice(), [path]);
    }

    #[test]
    fn several_prints_of_a_frame_have_one_word_and_a_number_each() {
        let verdict = |verdict: Verdict| Last {
            frame: None,
            print: None,
            label: None,
            name: "F7.jpg".into(),
            of: 2,
            verdict,
            sentence: "It leaves the frame.".into(),
            remedy: None,
            picture: None,
            role: Role::Front,
            turn_unknown: false,
        };
        let mut s = Sitting { watch: WatchRequest { backs: true, ..WatchRequest::default() }, ..Sitting::default() };
        assert!(!s.judged((1, 2), verdict(Verdict::Keep)), "another is to come");
        assert!(s.judged((2, 2), verdict(Verdict::Reshoot)));
        let word = |s: &Sitting| s.last.clone().map(|l| (l.verdict, l.sentence, l.frame)).unwrap();
        assert_eq!(word(&s), (Verdict::Reshoot, "Print 2 of 2: It leaves the frame.".into(), None));
        let saved = |number: i64, word: &str| Frame {
            id: FrameId(number),
            blake3: "00".into(),
            name: format!("F7-{number}"),
            part: PartOf { number, of: 2 },
            path: "/card/F7.jpg".into(),
            twins: vec![],
            taken: None,
            role: "front".into(),
            role_why: String::new(),
            print: None,
            print_why: String::new(),
            sitting: None,
            said: String::new(),
            result: Some(Finished { verdict: word.into(), ..Finished::default() }),
        };
        let (told, own) = s.saved(&saved(1, "keep"), Some(PrintId(1)));
        assert!(told && own.name == "F7-1" && word(&s).2.is_none(), "the other is still being saved");
        s.saved(&saved(2, "reshoot"), Some(PrintId(2)));
        assert_eq!((word(&s).2, s.told().count, s.reshoot.len()), (Some(2), 2, 1));
        assert_eq!(s.told().owed.unwrap(), "Turn P0001 over and photograph its back.");
        s.saved(&saved(2, "keep"), Some(PrintId(2)));
        assert_eq!(s.told().owed.unwrap(), "Turn P0001 and P0002 over without moving them and photograph their backs.");
    }

    /// A second frame is offered where a reflection is what the stand says, with one verdict of the sitting; once it came, the print need not be shot again.
    #[test]
    fn a_second_frame_is_offered_once_and_settles_its_print() {
        let report = |says: &str, code: Code, joined: bool| -> Report {
            let facts = finish::report::FrameFacts {
                path: String::new(),
                blake3: String::new(),
                width_px: 1,
                height_px: 1,
                role: Role::Front,
                role_reason: String::new(),
                encoding: String::new(),
                bits: None,
                exif: finish::report::CameraWords::default(),
            };
            let recipe = finish::recipe::Recipe::new(Role::Front, Settings::default(), Default::default());
            let mut report = Report::of(facts, recipe);
            report.findings = vec![finish::finding::Finding {
                code,
                severity: finish::finding::Severity::Reshoot,
                value: 0.1,
                limit: 0.01,
                unit: "share".into(),
                part: None,
                says: says.into(),
                action: "Lower the flash.".into(),
            }];
            report.verdict = Verdict::Reshoot;
            if joined {
                report.verdict = Verdict::Keep;
                report.counter = Some(finish::report::CounterFacts::default());
            }
            report
        };
        let mut s = Sitting::default();
        let veiled = report("The window mirrors something bright over a tenth of the picture.", Code::Veil, false);
        let mut remedy =
            |name: &str, report: &Report| s.offered(judged(Path::new(name), report), report).remedy.unwrap_or_default();
        let soft = report("The sharpest edge is 0.6 mm wide on the print.", Code::FocusSoft, false);
        assert_eq!(remedy("F0.jpg", &soft), "Lower the flash.", "another finding is not mended by it");
        assert!(remedy("F1.jpg", &veiled).ends_with(OFFER));
        assert_eq!(remedy("F2.jpg", &veiled), "Lower the flash.", "said once");
        s.reshoot.push((1, Again { label: "P0001".into(), name: "F1.jpg".into(), sentence: String::new() }));
        assert!(!s.joined(Path::new("F1.jpg"), &veiled) && s.reshoot.len() == 1);
        assert!(s.joined(Path::new("F1.jpg"), &report("", Code::Veil, true)) && s.reshoot.is_empty());
    }

    #[test]
    fn pace_is_a_median_without_pauses() {
        let now = Instant::now();
        let at = |s: u64| now + Duration::from_secs(s);
        let came = vec![at(0), at(20), at(41), at(1000), at(1022), at(1050)];
        let sitting =
            Sitting { came, watch: WatchRequest { of: Some(10), ..WatchRequest::default() }, ..Sitting::default() };
        assert_eq!(sitting.pace(), Some(22.0));
    }
}
