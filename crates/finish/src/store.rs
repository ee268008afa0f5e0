//! The result folder: opened and held by one run, swept of what an interrupted one left, what earlier runs saw.

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

/// What earlier runs saw, and who is running.
const LOOKS: &str = "looks.json";
const EACH: &str = "looks";

/// The result folder, held by this run.
#[derive(Debug)]
pub(crate) struct Store {
    pub out: PathBuf,
    /// Whose names are taken.
    pub claims: Claims,
    /// True for a project, whose looks are kept each in a file of its own: a stand takes thousands of frames one by one.
    one_by_one: bool,
    _held: Hold,
}

/// Most prints of one frame whose results are looked for, to be put away: more than are ever told apart in one.
const MOST: u32 = 16;

impl Store {
    /// Makes the folder, and removes what an interrupted run left half written. Nothing is written where originals lie, where
    /// somebody else's files have the names of results, or while another run writes here.
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

/// True when this process opens a folder of results for the first time. A stand opens a project's for every few frames, and a folder of
/// thousands takes long to look through: what a killed run left half written is swept the first time only.
fn first_time(out: &Path) -> bool {
    static OPENED: Mutex<BTreeSet<PathBuf>> = Mutex::new(BTreeSet::new());
    let real = out.canonicalize().unwrap_or_else(|_| out.to_owned());
    OPENED.lock().unwrap_or_else(PoisonError::into_inner).insert(real)
}

/// Refuses a folder among the results that is a link to somewhere else: what lies there is somebody else's.
fn refuse_away(out: &Path, folder: &Path) -> Result<(), Failure> {
    let is_link = folder != out.join("") && std::fs::symlink_metadata(folder).is_ok_and(|m| m.is_symlink());
    if is_link && is_below(out, folder).is_none() {
        let says = format!("{} leads out of {}. Nothing was written.", folder.display(), out.display());
        return Err(Failure::new(says).with_remedy("Move the link elsewhere, or choose another folder with --out."));
    }
    Ok(())
}

/// Endings of the parts of results as earlier versions called them: `.F1.master.tif.part`.
const EARLIER: [&str; 6] = [
    ".master.tif.part",
    ".mount.tif.part",
    ".mount.png.part",
    ".before.jpg.part",
    ".after.jpg.part",
    ".report.json.part",
];

/// A file that a run of ours left half written. Any other part is somebody else's.
fn is_half(entry: &std::fs::DirEntry) -> bool {
    let name = entry.file_name().to_string_lossy().into_owned();
    let earlier = || name.starts_with('.') && EARLIER.iter().any(|e| name.ends_with(e));
    // A sidecar's part is the project's to sweep: whoever says a word of a print may be writing it now.
    let of_sidecar = is_part(&name) && name.contains(".xmp-");
    (is_part(&name) || earlier()) && !of_sidecar && entry.file_type().is_ok_and(|t| t.is_file())
}

#[derive(Serialize, Deserialize)]
struct Looks {
    pipeline: u32,
    by_blake3: BTreeMap<String, Look>,
}
