//! Packs originals and results into a bag (BagIt 1.0, RFC 8493) that a stranger can read and check in twenty years, and
//! verifies such bags.
//!
//! The bag is built in its final place. Every file is written atomically and recorded in `packing.txt`, so that packing can continue after
//! an interruption. `bagit.txt`, without which a folder is not a bag, is written last.

mod bag;
mod carry;
mod contents;
mod index;
mod shot;
mod verify;
mod words;

use crate::Event;
use crate::selection::Which;
use crate::share::note_hand_off;
use bag::{Bag, Entry};
pub use bag::{MANIFEST, can_go_on};
use base::Failure;
use base::wording::count;
use contents::{Item, contents};
use project::{FINISHED, Result};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
pub use verify::{Condition, Damage, Verified, verify};

/// The plain text of a bag, by its path in it: what is here and how it was made.
pub const READ_ME: &str = "data/READ-ME-FIRST.txt";
/// Its table of prints and words.
pub const PRINTS: &str = "data/prints.csv";

/// What to pack, and where.
#[derive(Clone, Debug)]
pub struct Request {
    /// A project, or a folder of results.
    pub folder: PathBuf,
    /// Which of its prints.
    pub which: Which,
    /// The bag.
    pub out: PathBuf,
    /// What the bag holds, in the photographer's words.
    pub title: Option<String>,
}

/// How packing went.
#[derive(Clone, Debug)]
pub struct Answer {
    /// Prints whose files are in the bag.
    pub prints: usize,
    /// Files in the bag.
    pub files: usize,
    /// Their bytes.
    pub bytes: u64,
    /// Files that were in it before.
    pub already: usize,
    /// One line for each thing that went wrong.
    pub problems: Vec<String>,
}

impl Answer {
    /// "812 files, 3 of them already there, 21.40 GB".
    pub fn says(&self) -> String {
        let already =
            if self.already > 0 { format!(", {} of them already there", self.already) } else { String::new() };
        format!("{}{already}, {:.2} GB", count(self.files, "file", "files"), self.bytes as f64 / 1e9)
    }
}

/// Packs prints with their originals, all that was made of them and, of a project, their words.
///
/// A missing or changed original is reported and left out; the rest is packed.
///
/// # Errors
/// There is nothing to pack, the folder holds something else, or the disk refuses: the folder is then no bag.
pub fn pack(request: &Request, tell: &(dyn Fn(Event) + Sync)) -> Result<Answer> {
    let mut problems = Vec::new();
    let inventory = contents(&request.folder, &request.which)?;
    let bag = Bag::begin(&request.out, &request.folder, &inventory)?;
    for line in &inventory.problems {
        problem(&mut problems, tell, line.clone());
    }
    let (done, already) = (AtomicUsize::new(0), AtomicUsize::new(0));
    let of = inventory.items.len();
    let failed: Mutex<Vec<(usize, Failure)>> = Mutex::new(Vec::new());
    let next = AtomicUsize::new(0);
    // Two at a time: one reads while the other hashes.
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                while let Some((i, item)) = next_of(&inventory.items, &next) {
                    if base::workers::lock(&failed).iter().any(|(_, e)| e.stops_the_run) {
                        return;
                    }
                    match bag.carry(item) {
                        Ok(was_there) => {
                            already.fetch_add(usize::from(was_there), Ordering::Relaxed);
                            tell(Event::Done { done: done.fetch_add(1, Ordering::Relaxed) + 1, of });
                        }
                        Err(e) => base::workers::lock(&failed).push((i, e)),
                    }
                }
            });
        }
    });
    let mut failed = failed.into_inner().unwrap_or_else(std::sync::PoisonError::into_inner);
    failed.sort_by_key(|(i, _)| *i);
    for (i, e) in failed {
        if e.stops_the_run {
            return Err(e.into());
        }
        problem(&mut problems, tell, format!("{}: {e}", inventory.items[i].from.display()));
    }
    if let Some(words) = &inventory.words {
        bag.put(PRINTS, words.csv(&inventory.shots).as_bytes())?;
    }
    let index = index::text(request, &inventory, &bag.entries(), &problems);
    bag.put(READ_ME, index.as_bytes())?;
    let entries = bag.finish(request.title.as_deref())?;
    // Packing again without new files is not a hand-off.
    if let Some(words) = inventory.words.as_ref().filter(|_| already.load(Ordering::Relaxed) < of) {
        let prints: Vec<_> = words.prints.iter().map(|p| p.id).collect();
        let noted = note_hand_off(&request.folder, "pack", &request.out, "", &prints)?;
        noted.into_iter().for_each(|line| tell(Event::Problem(line)));
    }
    Ok(Answer {
        prints: inventory.prints(),
        files: entries.len(),
        bytes: entries.values().map(|e| e.bytes).sum(),
        already: already.into_inner(),
        problems,
    })
}

fn next_of<'a>(items: &'a [Item], next: &AtomicUsize) -> Option<(usize, &'a Item)> {
    let i = next.fetch_add(1, Ordering::Relaxed);
    items.get(i).map(|item| (i, item))
}

fn problem(problems: &mut Vec<String>, tell: &(dyn Fn(Event) + Sync), line: String) {
    tell(Event::Problem(line.clone()));
    problems.push(line);
}

/// Where a file lies in the bag as seen from its texts: from a path in the bag, in the project, or in a report.
fn in_bag(path: &str) -> &str {
    let from = ["data", FINISHED, ".."].into_iter().find_map(|folder| path.strip_prefix(folder)?.strip_prefix('/'));
    from.unwrap_or(path)
}

/// Files of a bag by their path in it.
type Entries = BTreeMap<String, Entry>;

/// The path below a folder with `/` between its parts, as a manifest writes it.
fn slashed(path: &Path) -> String {
    path.iter().map(|p| p.to_string_lossy()).collect::<Vec<_>>().join("/")
}
