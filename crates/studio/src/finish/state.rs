//! What is on disk: the result folder, what an earlier run finished, what an interrupted one left behind.

use super::claim::Claims;
use crate::job::{FrameError, Look, Output, Outputs};
use crate::recipe::PIPELINE;
use crate::report::{FileFacts, Report};
use crate::safe::Originals;
use catalogue::{Hold, HoldError};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

/// Marks a folder as results, and holds what the next run can use.
pub const MARK: &str = ".fallside";
/// Ending of files not yet finished.
const PART: &str = ".part";
/// What earlier runs saw, and who is running.
const LOOKS: &str = "looks.json";
const EACH: &str = "looks";
const LOCK: &str = "finish.lock";

/// The page of a result folder.
pub(super) const PAGE: &str = "index.html";

/// The result folder, held by this run.
#[derive(Debug)]
pub(super) struct Store {
    pub out: PathBuf,
    /// Whose names are taken.
    pub claims: Claims,
    /// True for a project, whose looks are kept each in a file of its own: a stand takes thousands of frames one by one.
    one_by_one: bool,
    _held: Hold,
}

/// Most prints of one frame whose results are looked for, to be put away: more than are ever told apart in one.
const MOST: u32 = 16;

/// Results by kind: masters for the archive, shares to send, each in a folder of its own.
pub(super) const FOLDERS: [&str; 5] = ["reports", "masters", "mounts", "shares", "previews"];

impl Store {
    /// Makes the folder, and removes what an interrupted run left half written. Nothing is written where originals lie, where
    /// somebody else's files have the names of results, or while another run writes here.
    pub fn open(out: &Path, originals: &Originals, with_page: bool) -> Result<Self, FrameError> {
        let folders = || FOLDERS.iter().chain(&[MARK, ""]).map(|f| out.join(f));
        folders().try_for_each(|f| originals.refuse_folder(&f))?;
        let files = [out.join(PAGE), out.join(crate::sitting::NAME)].into_iter();
        let hidden = [LOOKS, LOCK, super::claim::FILE].map(|f| out.join(MARK).join(f));
        files.chain(hidden).try_for_each(|f| originals.refuse(&f))?;
        super::claim::refuse_foreign(out, with_page)?;
        let mark = out.join(MARK);
        std::fs::create_dir_all(&mark).map_err(|e| FrameError::writing(&mark, &e))?;
        let held = hold(&mark)?;
        let first = first_time(out);
        for path in folders() {
            std::fs::create_dir_all(&path).map_err(|e| FrameError::writing(&path, &e))?;
            if !first {
                continue;
            }
            std::fs::read_dir(&path).into_iter().flatten().flatten().filter(is_half).for_each(|half| {
                let _ = std::fs::remove_file(half.path());
            });
        }
        Ok(Self { out: out.to_owned(), claims: Claims::read(out), one_by_one: !with_page, _held: held })
    }

    /// Where a frame's results go.
    pub fn outputs(&self, stem: &str, srgb_png: bool) -> Outputs {
        outputs(&self.out, stem, srgb_png)
    }

    /// The report of an earlier run, if it `stands` (as one of the same recipe does) and everything it names is there.
    pub fn finished(&self, outputs: &Outputs, stands: impl Fn(&Report) -> bool) -> Option<Report> {
        let report = read_report(&outputs.report.place)?;
        let there = named(&report).iter().all(|name| {
            let file = outputs.report.place.parent().unwrap_or(&self.out).join(name);
            std::fs::metadata(file).is_ok_and(|m| m.len() > 0)
        });
        (stands(&report) && there).then_some(report)
    }

    /// Removes what earlier runs made of the same frame as another number of prints: under its own name, or under those of its
    /// prints. `stems` are the names that stand now.
    pub fn clear_division(&self, frame: &str, blake3: &str, stems: &[&str]) {
        let whole = std::iter::once(frame.to_owned());
        let parts = (1..=MOST).flat_map(|n| [1, 2].map(|dashes| format!("{frame}{}{n}", "-".repeat(dashes))));
        for stem in whole.chain(parts).filter(|s| !stems.contains(&s.as_str())) {
            let outputs = self.outputs(&stem, true);
            let same = |r: &Report| r.frame.blake3 == blake3 && r.recipe.part.is_some() == (stem != frame);
            if outputs.report.place.exists() && read_report(&outputs.report.place).as_ref().is_some_and(same) {
                // The report first: without it the others stand for nothing.
                let mut all: Vec<_> = outputs.all().collect();
                all.reverse();
                all.iter().for_each(|o| drop(std::fs::remove_file(&o.place)));
            }
        }
    }

    /// True where earlier runs have kept looks.
    pub fn has_looks(&self) -> bool {
        let mut each = std::fs::read_dir(self.out.join(MARK).join(EACH)).into_iter().flatten();
        if self.one_by_one { each.next().is_some() } else { !self.looks().is_empty() }
    }

    /// Looks of earlier runs, by the hash of the file. Empty where each is kept by itself.
    pub fn looks(&self) -> BTreeMap<String, Look> {
        if self.one_by_one { BTreeMap::new() } else { read_looks(&self.out.join(MARK).join(LOOKS)) }
    }

    /// The look of an earlier run at the file of this hash; `held` are those of [`Store::looks`].
    pub fn look(&self, held: &BTreeMap<String, Look>, blake3: &str) -> Option<Look> {
        if self.one_by_one { read_looks(&self.look_of(blake3)).remove(blake3) } else { held.get(blake3).cloned() }
    }

    fn look_of(&self, blake3: &str) -> PathBuf {
        self.out.join(MARK).join(EACH).join(format!("{blake3}.json"))
    }

    /// Keeps looks for the next run; `held` are those of [`Store::looks`].
    pub fn keep_looks(
        &self,
        by_blake3: BTreeMap<String, Look>,
        held: &BTreeMap<String, Look>,
    ) -> Result<(), FrameError> {
        let text = |by_blake3| serde_json::to_string(&Looks { pipeline: PIPELINE, by_blake3 }).unwrap_or_default();
        if !self.one_by_one {
            return write_beside(&self.out.join(MARK).join(LOOKS), text(by_blake3).as_bytes());
        }
        let folder = self.out.join(MARK).join(EACH);
        std::fs::create_dir_all(&folder).map_err(|e| FrameError::writing(&folder, &e))?;
        let new = by_blake3.into_iter().filter(|(hash, _)| self.look(held, hash).is_none());
        new.map(|(hash, look)| (self.look_of(&hash), text(BTreeMap::from([(hash, look)]))))
            .try_for_each(|(place, text)| write_beside(&place, text.as_bytes()))
    }
}

fn read_looks(place: &Path) -> BTreeMap<String, Look> {
    let text = std::fs::read_to_string(place).unwrap_or_default();
    match serde_json::from_str::<Looks>(&text) {
        Ok(looks) if looks.pipeline == PIPELINE => looks.by_blake3,
        _ => BTreeMap::new(),
    }
}

/// True when this process opens a folder of results for the first time. What a killed run left half written is swept then: while this
/// process lives, nobody else leaves anything there without its lock, and a folder of thousands takes long to look through.
fn first_time(out: &Path) -> bool {
    static OPENED: Mutex<BTreeSet<PathBuf>> = Mutex::new(BTreeSet::new());
    let real = out.canonicalize().unwrap_or_else(|_| out.to_owned());
    OPENED.lock().unwrap_or_else(PoisonError::into_inner).insert(real)
}

/// A file that a run of ours left half written: hidden, and called a part.
fn is_half(entry: &std::fs::DirEntry) -> bool {
    let name = entry.file_name().to_string_lossy().into_owned();
    name.starts_with('.') && name.ends_with(PART) && entry.file_type().is_ok_and(|t| t.is_file())
}

/// One run at a time in a result folder.
fn hold(mark: &Path) -> Result<Hold, FrameError> {
    let path = mark.join(LOCK);
    Hold::take(&path, "another run").map_err(|e| match e {
        HoldError::Held(by) => {
            let out = mark.parent().unwrap_or(mark);
            FrameError::new(format!("Results are being written into {} by {by}.", out.display()))
                .with_remedy("Wait until that is done, or name another folder with --out.")
        }
        HoldError::Io(e) => FrameError::writing(&path, &e),
    })
}

/// Where a frame's results go in a result folder.
pub(crate) fn outputs(out: &Path, stem: &str, srgb_png: bool) -> Outputs {
    let output = |folder: &str, file: String| Output {
        name: if folder == "reports" { file.clone() } else { format!("../{folder}/{file}") },
        part: out.join(folder).join(format!(".{file}{PART}")),
        place: out.join(folder).join(file),
    };
    Outputs {
        master: output("masters", format!("{stem}.master.tif")),
        mount: output("mounts", format!("{stem}.mount.tif")),
        srgb_png: srgb_png.then(|| output("mounts", format!("{stem}.mount.png"))),
        share: output("shares", format!("{stem}.jpg")),
        before: output("previews", format!("{stem}.before.jpg")),
        after: output("previews", format!("{stem}.after.jpg")),
        report: output("reports", format!("{stem}.report.json")),
    }
}

#[derive(Serialize, Deserialize)]
struct Looks {
    pipeline: u32,
    by_blake3: BTreeMap<String, Look>,
}

/// A report from its file; `None` where there is none or it is not one.
pub(crate) fn read_report(path: &Path) -> Option<Report> {
    serde_json::from_str(&std::fs::read_to_string(path).ok()?).ok()
}

/// The reports of a result folder, in order of their names; empty where it is none.
pub fn reports_in(out: &Path) -> Vec<Report> {
    let mut files: Vec<PathBuf> =
        std::fs::read_dir(out.join("reports")).into_iter().flatten().flatten().map(|e| e.path()).collect();
    files.sort();
    files.iter().filter(|f| f.to_string_lossy().ends_with(".report.json")).filter_map(|f| read_report(f)).collect()
}

/// Every file a report names.
fn named(report: &Report) -> Vec<&str> {
    let canvas = report.canvas.iter().flat_map(|c| {
        [Some(c.master.as_str()), Some(c.mount.as_str()), c.srgb_png.as_deref(), c.share.as_deref()]
            .into_iter()
            .flatten()
    });
    let previews =
        report.previews.iter().flat_map(|p| [Some(p.before.as_str()), p.after.as_deref()].into_iter().flatten());
    canvas.chain(previews).collect()
}

/// Writes the hash of every file that was made, and that the report names, into the report.
pub(super) fn seal(outputs: &Outputs, report: &mut Report) -> Result<(), FrameError> {
    let is_named = |o: &&Output| named(report).contains(&o.name.as_str());
    let facts = |o: &Output| Ok(FileFacts { path: o.name.clone(), blake3: hash(&o.part)? });
    report.files = outputs.all().filter(is_named).map(facts).collect::<Result<_, FrameError>>()?;
    Ok(())
}

/// Fails where a finished file is no longer what its report says. A report that gives no hash says nothing.
pub(crate) fn as_finished(place: &Path, blake3: Option<&str>) -> Result<(), FrameError> {
    let Some(blake3) = blake3 else { return Ok(()) };
    let found = hash(place).map_err(|e| FrameError::new(format!("{}: {e}", place.display())))?;
    if found == blake3 {
        return Ok(());
    }
    Err(FrameError::new(format!(
        "{} is damaged or was changed: it is not the file that was finished.",
        place.display()
    ))
    .with_remedy("Finish its frame again, or bring the file back from a copy."))
}

/// Moves everything that was written to its place, the report last.
pub(super) fn settle(outputs: &Outputs, report: &Report) -> Result<(), FrameError> {
    let report_file = &outputs.report;
    std::fs::write(&report_file.part, report.to_json()).map_err(|e| FrameError::writing(&report_file.place, &e))?;
    // An older report must not stand beside newer pictures, should this be interrupted half way.
    let _ = std::fs::remove_file(&report_file.place);
    for output in outputs.all() {
        match std::fs::rename(&output.part, &output.place) {
            // Not made this time; what an earlier recipe made there would be taken for this one's.
            Err(e) if e.kind() == std::io::ErrorKind::NotFound && !named(report).contains(&output.name.as_str()) => {
                let _ = std::fs::remove_file(&output.place);
            }
            other => other.map_err(|e| FrameError::writing(&output.place, &e))?,
        }
    }
    Ok(())
}

/// Removes what a failed frame left half written.
pub(super) fn clear(outputs: &Outputs) {
    outputs.all().for_each(|o| drop(std::fs::remove_file(&o.part)));
}

/// Writes a small file beside its place and renames it.
pub(crate) fn write_beside(place: &Path, bytes: &[u8]) -> Result<(), FrameError> {
    let folder = place.parent().unwrap_or(Path::new("."));
    let write = || {
        let mut builder = tempfile::Builder::new();
        builder.prefix(".").suffix(PART);
        // Temporary files are made for their owner alone; a result takes the rights that any new file would get.
        #[cfg(unix)]
        builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
        let mut file = builder.tempfile_in(folder)?;
        std::io::Write::write_all(&mut file, bytes)?;
        file.persist(place).map_err(|e| e.error)
    };
    write().map(drop).map_err(|e| FrameError::writing(place, &e))
}

/// BLAKE3 of a file, hex, read once in pieces.
pub(crate) fn hash(path: &Path) -> Result<String, FrameError> {
    let read = || {
        let mut hasher = blake3::Hasher::new();
        // A pipe or a device would never end.
        if !std::fs::metadata(path)?.is_file() {
            return Err(std::io::Error::other("it is no file"));
        }
        hasher.update_reader(std::fs::File::open(path)?)?;
        std::io::Result::Ok(hasher.finalize().to_hex().to_string())
    };
    read().map_err(|e| FrameError::reading(&e))
}

/// Fails where a file is no longer the one that was hashed: what was decoded in between may be of either.
pub(crate) fn unchanged(path: &Path, blake3: &str) -> Result<(), FrameError> {
    if hash(path)? == blake3 {
        return Ok(());
    }
    Err(FrameError::new(format!(
        "{} was replaced or written to while it was read; nothing was made of it.",
        path.display()
    ))
    .with_remedy("Wait until it is whole, and run the same command again."))
}
