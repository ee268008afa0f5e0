//! The result folder: locks it for one run, removes parts of interrupted runs, and keeps the looks of earlier runs.

use crate::claim::Claims;
use crate::job::{Look, Outputs};
use crate::recipe::PIPELINE;
use crate::report::Report;
use crate::results::{FOLDERS, PAGE, named, outputs, read_report};
use base::Failure;
use base::files::write::{is_part, write_beside};
use base::files::{MARK, Originals, exclusive, is_below};
use catalogue::Hold;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

/// The folder with the looks of earlier runs and the lock.
const LOOKS: &str = "looks.json";
const EACH: &str = "looks";

/// The result folder, held by this run.
#[derive(Debug)]
pub(crate) struct Store {
    pub out: PathBuf,
    /// The owners of names.
    pub claims: Claims,
    /// True for a project, which keeps each look in a separate file, because a stand takes thousands of frames one by one.
    one_by_one: bool,
    _held: Hold,
}

/// Maximum number of prints per frame when searching for old results: more than are ever found in one frame.
const MOST: u32 = 16;

impl Store {
    /// Creates the folder and removes parts of interrupted runs. Nothing is written if the folder has originals, if somebody else's files
    /// have names of results, or while another run writes here.
    pub fn open(out: &Path, originals: &Originals, with_page: bool) -> Result<Self, Failure> {
        let folders = || FOLDERS.iter().chain(&[MARK, ""]).map(|f| out.join(f));
        folders().try_for_each(|f| originals.refuse_folder(&f))?;
        let files = [out.join(PAGE), out.join(crate::sitting::NAME)].into_iter();
        let hidden = [LOOKS, exclusive::RESULTS, crate::claim::FILE].map(|f| out.join(MARK).join(f));
        files.chain(hidden).try_for_each(|f| originals.refuse(&f))?;
        folders().try_for_each(|f| refuse_away(out, &f))?;
        crate::claim::refuse_foreign(out, with_page)?;
        let mark = out.join(MARK);
        std::fs::create_dir_all(&mark).map_err(|e| Failure::writing(&mark, &e))?;
        let held = exclusive::write_results(out)?;
        let sweep = with_page || first_time(out);
        for path in folders() {
            std::fs::create_dir_all(&path).map_err(|e| Failure::writing(&path, &e))?;
            if !sweep {
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

    /// The report of an earlier run, if it `stands` (is still valid, such as one with the same recipe) and all its files exist.
    pub fn finished(&self, outputs: &Outputs, stands: impl Fn(&Report) -> bool) -> Option<Report> {
        let report = read_report(&outputs.report.place)?;
        let there = named(&report).iter().all(|name| {
            let file = outputs.report.place.parent().unwrap_or(&self.out).join(name);
            std::fs::metadata(file).is_ok_and(|m| m.len() > 0)
        });
        (stands(&report) && there).then_some(report)
    }

    /// Removes results of earlier runs that divided the frame into another number of prints, under its own name or those of its prints.
    /// `stems` are the current names.
    pub fn clear_division(&self, frame: &str, blake3: &str, stems: &[&str]) {
        let whole = std::iter::once(frame.to_owned());
        let parts = (1..=MOST).flat_map(|n| [1, 2].map(|dashes| format!("{frame}{}{n}", "-".repeat(dashes))));
        for stem in whole.chain(parts).filter(|s| !stems.contains(&s.as_str())) {
            let outputs = self.outputs(&stem, true);
            let same = |r: &Report| r.frame.blake3 == blake3 && r.recipe.part.is_some() == (stem != frame);
            if outputs.report.place.exists() && read_report(&outputs.report.place).as_ref().is_some_and(same) {
                // Remove the report first: without it the other files have no meaning.
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

    /// Looks of earlier runs by file hash. Empty if each look has its own file.
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
    pub fn keep_looks(&self, by_blake3: BTreeMap<String, Look>, held: &BTreeMap<String, Look>) -> Result<(), Failure> {
        let text = |by_blake3| serde_json::to_string(&Looks { pipeline: PIPELINE, by_blake3 }).unwrap_or_default();
        if !self.one_by_one {
            return write_beside(&self.out.join(MARK).join(LOOKS), text(by_blake3).as_bytes());
        }
        let folder = self.out.join(MARK).join(EACH);
        std::fs::create_dir_all(&folder).map_err(|e| Failure::writing(&folder, &e))?;
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

/// True when this process opens a folder of results for the first time. A stand opens it every few frames, and searching a folder with
/// thousands of files takes long, so parts of killed runs are removed only the first time.
fn first_time(out: &Path) -> bool {
    static OPENED: Mutex<BTreeSet<PathBuf>> = Mutex::new(BTreeSet::new());
    let real = out.canonicalize().unwrap_or_else(|_| out.to_owned());
    OPENED.lock().unwrap_or_else(PoisonError::into_inner).insert(real)
}

/// Refuses a result folder that is a link to another place.
fn refuse_away(out: &Path, folder: &Path) -> Result<(), Failure> {
    let is_link = folder != out.join("") && std::fs::symlink_metadata(folder).is_ok_and(|m| m.is_symlink());
    if is_link && is_below(out, folder).is_none() {
        let says = format!("{} leads out of {}. Nothing was written.", folder.display(), out.display());
        return Err(Failure::new(says).with_remedy("Move the link elsewhere, or choose another folder with --out."));
    }
    Ok(())
}

/// Endings of parts as named by earlier versions: `.F1.master.tif.part`.
const EARLIER: [&str; 6] = [
    ".master.tif.part",
    ".mount.tif.part",
    ".mount.png.part",
    ".before.jpg.part",
    ".after.jpg.part",
    ".report.json.part",
];

/// True for a part that one of our runs left. Other parts are somebody else's.
fn is_half(entry: &std::fs::DirEntry) -> bool {
    let name = entry.file_name().to_string_lossy().into_owned();
    let earlier = || name.starts_with('.') && EARLIER.iter().any(|e| name.ends_with(e));
    // The project removes parts of sidecars, because another command may be writing one now.
    let of_sidecar = is_part(&name) && name.contains(".xmp-");
    (is_part(&name) || earlier()) && !of_sidecar && entry.file_type().is_ok_and(|t| t.is_file())
}

#[derive(Serialize, Deserialize)]
struct Looks {
    pipeline: u32,
    by_blake3: BTreeMap<String, Look>,
}
