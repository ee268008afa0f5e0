//! Copies of the small project, so that a test may spoil one, and what lies in a folder.

use super::project;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// A project of its own, with its card in it.
pub fn copied(top: &Path) -> PathBuf {
    let to = top.join("project");
    copy(project(), &to);
    to
}

/// Copies a folder with all in it.
pub fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap().map(Result::unwrap) {
        let place = to.join(entry.file_name());
        match entry.file_type().unwrap().is_dir() {
            true => copy(&entry.path(), &place),
            false => drop(std::fs::copy(entry.path(), place).unwrap()),
        }
    }
}

/// Every file below a folder, in order; none where there is no folder.
pub fn files(root: &Path) -> Vec<PathBuf> {
    let mut all = vec![];
    for e in std::fs::read_dir(root).into_iter().flatten().flatten() {
        if e.path().is_dir() { all.extend(files(&e.path())) } else { all.push(e.path()) }
    }
    all.sort();
    all
}

/// Every file below a folder with the BLAKE3 of its bytes; links are not followed.
pub fn held(folder: &Path) -> BTreeMap<PathBuf, String> {
    let mut all = BTreeMap::new();
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        match entry.file_type().unwrap() {
            t if t.is_dir() => all.extend(held(&entry.path())),
            t if t.is_file() => {
                let bytes = std::fs::read(entry.path()).unwrap();
                all.insert(entry.path(), blake3::hash(&bytes).to_hex().to_string());
            }
            _ => {}
        }
    }
    all
}

/// The one file of a folder whose name begins and ends so.
pub fn named(folder: &Path, head: &str, tail: &str) -> PathBuf {
    let names = std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().to_string_lossy().into_owned());
    let name = names.into_iter().find(|n| n.starts_with(head) && n.ends_with(tail));
    folder.join(name.unwrap_or_else(|| panic!("{head}…{tail} in {}", folder.display())))
}
