//! What goes into a bag: every result of a run, and every original that a report names.

use super::slashed;
use crate::finish::MARK;
use crate::job::FrameError;
use crate::report::Report;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// A file to carry.
pub(super) struct Item {
    /// Where it is.
    pub from: PathBuf,
    /// Its path in the bag.
    pub to: String,
    /// The BLAKE3 that its report gives, of an original.
    pub blake3: Option<String>,
}

/// A frame, its original's path in the bag if it is there, and its report.
pub(super) struct Shot {
    pub original: Option<String>,
    pub report: Report,
}

/// All that is to be packed.
pub(super) struct Inventory {
    pub items: Vec<Item>,
    pub shots: Vec<Shot>,
    /// Originals that are not where their report says.
    pub problems: Vec<String>,
}

/// Lists a folder of results and the originals behind it.
pub(super) fn contents(results: &Path) -> Result<Inventory, FrameError> {
    let no_results = || {
        FrameError::new(format!("{} is no folder of results.", results.display()))
            .with_remedy("Name the folder that `fallside finish --out` wrote.")
    };
    if !results.join(MARK).is_dir() {
        return Err(no_results());
    }
    let mut items = Vec::new();
    walk(results, Path::new("data"), &mut items)?;
    items.sort_by(|a, b| a.to.cmp(&b.to));
    let reports: Vec<PathBuf> =
        items.iter().filter(|i| i.to.ends_with(".report.json")).map(|i| i.from.clone()).collect();
    if reports.is_empty() {
        return Err(no_results());
    }
    let (mut shots, mut problems, mut taken) = (Vec::new(), Vec::new(), BTreeSet::new());
    for path in reports {
        let Some(report) = read(&path) else {
            problems.push(format!("{}: this report cannot be read; its original is not packed.", path.display()));
            continue;
        };
        let from = path.parent().unwrap_or(results).join(&report.frame.path);
        if !from.is_file() {
            problems.push(format!("{}: this original is not there any more and is not packed.", from.display()));
            shots.push(Shot { original: None, report });
            continue;
        }
        let to = name_for(&from, &path, &mut taken);
        items.push(Item { from, to: to.clone(), blake3: Some(report.frame.blake3.clone()) });
        shots.push(Shot { original: Some(to), report });
    }
    Ok(Inventory { items, shots, problems })
}

fn read(report: &Path) -> Option<Report> {
    serde_json::from_slice(&std::fs::read(report).ok()?).ok()
}

/// An original keeps its name; where two have the same, the second takes that of its report, which is its own.
fn name_for(original: &Path, report: &Path, taken: &mut BTreeSet<String>) -> String {
    let word = |p: Option<&std::ffi::OsStr>| p.map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let name = format!("data/originals/{}", word(original.file_name()));
    let stem = word(report.file_name()).trim_end_matches(".report.json").to_owned();
    let own = format!("data/originals/{stem}.{}", word(original.extension()));
    let name = if taken.contains(&name.to_lowercase()) { own } else { name };
    // Archives are read on systems that take Ä and ä, A and a for one.
    taken.insert(name.to_lowercase());
    name
}

fn walk(folder: &Path, to: &Path, items: &mut Vec<Item>) -> Result<(), FrameError> {
    let failed = |e: std::io::Error| FrameError::new(format!("{} could not be read: {e}.", folder.display()));
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
            t if t.is_file() => items.push(Item { from: path, to: slashed(&to), blake3: None }),
            _ => {}
        }
    }
    Ok(())
}
