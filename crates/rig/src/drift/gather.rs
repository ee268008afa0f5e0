//! The files of a sitting: one file of each exposure, all of one kind.

use finish::{Source, gather as sources_in, reports_in};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// The frames to compare.
pub(super) struct Files {
    pub files: Vec<PathBuf>,
    pub notes: Vec<String>,
    pub problems: Vec<String>,
}

/// The frames of a folder, or the originals that a folder of results names.
///
/// Raw files and a camera's own JPEGs read differently, and drift is a difference: of every exposure the kind of file is taken
/// that most exposures have.
pub(super) fn gather(folder: &Path) -> Result<Files, Vec<String>> {
    let reports = reports_in(folder);
    let (inputs, mut problems) = if reports.is_empty() {
        (vec![folder.to_owned()], vec![])
    } else {
        let paths = reports.iter().map(|r| folder.join("reports").join(&r.frame.path));
        let (there, gone): (Vec<_>, Vec<_>) = paths.partition(|p: &PathBuf| p.exists());
        (there, gone.iter().map(|p| format!("{}: The original is missing.", p.display())).collect())
    };
    let found = sources_in(&inputs, Path::new(""));
    problems.extend(found.problems);
    if found.sources.is_empty() {
        if problems.is_empty() {
            problems.push(format!("There are no pictures in {}.", folder.display()));
        }
        return Err(problems);
    }
    let (files, notes) = one_kind(&found.sources);
    Ok(Files { files, notes, problems })
}

fn ending(path: &Path) -> String {
    path.extension().map(|e| e.to_string_lossy().to_lowercase()).unwrap_or_default()
}

/// The file of each exposure that has the ending most exposures have, the more faithful of equals; and what was left.
fn one_kind(sources: &[Source]) -> (Vec<PathBuf>, Vec<String>) {
    let all = |s: &Source| std::iter::once(s.path.clone()).chain(s.twins.iter().cloned()).collect::<Vec<_>>();
    let mut kinds: BTreeMap<String, (usize, usize)> = BTreeMap::new();
    for source in sources {
        for (rank, path) in all(source).iter().enumerate() {
            let kind = kinds.entry(ending(path)).or_insert((0, rank));
            *kind = (kind.0 + 1, kind.1.min(rank));
        }
    }
    let best = kinds.iter().max_by_key(|(_, (n, rank))| (*n, std::cmp::Reverse(*rank))).map(|(k, _)| k.clone());
    let Some(kind) = best else { return (vec![], vec![]) };
    let (mut files, mut left) = (vec![], vec![]);
    for source in sources {
        match all(source).into_iter().find(|p| ending(p) == kind) {
            Some(path) => files.push(path),
            None => left.push(base::files::name_of(&source.path)),
        }
    }
    let mut notes = vec![];
    if !left.is_empty() {
        let names: Vec<&str> = left.iter().map(String::as_str).collect();
        notes.push(format!(
            "Only .{kind} files are compared, because different file types give different values. Left out: {}.",
            base::wording::list(&names)
        ));
    }
    (files, notes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn like_is_compared_with_like() {
        let source =
            |path: &str, twins: &[&str]| Source { path: path.into(), twins: twins.iter().map(PathBuf::from).collect() };
        let (files, notes) = one_kind(&[
            source("F1.jpg", &[]),
            source("F2.dng", &["F2.JPG"]),
            source("F3.jpg", &[]),
            source("F4.dng", &[]),
        ]);
        assert_eq!(files, ["F1.jpg", "F2.JPG", "F3.jpg"].map(PathBuf::from));
        assert!(notes[0].ends_with("Left out: F4.dng."), "{notes:?}");
        let (files, notes) = one_kind(&[source("a.dng", &["a.jpg"]), source("b.dng", &["b.jpg"])]);
        assert_eq!((files, notes.len()), (["a.dng", "b.dng"].map(PathBuf::from).to_vec(), 0));
    }
}
