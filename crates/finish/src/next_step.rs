//! The next step for a folder.

use crate::finding::Verdict;
use crate::{gather, reports_in};
use base::wording::count;
use std::path::Path;

/// One or a few lines for a call without a command.
pub fn advice(folder: &Path) -> Vec<String> {
    let finished = reports_in(folder);
    if !finished.is_empty() {
        return finished_box(&finished);
    }
    let found = gather(&[folder.to_owned()], Path::new(""));
    if !found.sources.is_empty() {
        let name = folder.canonicalize().ok().and_then(|p| p.file_name().map(|n| n.to_string_lossy().into_owned()));
        let out = format!("../{}-finished", name.unwrap_or_else(|| "box".into()));
        return vec![
            format!(
                "Here {} to finish.",
                if found.sources.len() == 1 {
                    "is 1 frame".into()
                } else {
                    format!("are {} frames", found.sources.len())
                }
            ),
            format!("Next: fallside finish . --out {out}"),
        ];
    }
    let results = inner(folder, |f| !reports_in(f).is_empty());
    if let Some(name) = results.first() {
        return vec![
            format!("{name} contains finished prints."),
            format!("Next: open {name}/index.html, or finish again (only changes are processed)."),
        ];
    }
    let boxes = inner(folder, |f| !gather(&[f.to_owned()], Path::new("")).sources.is_empty());
    match boxes.first() {
        Some(name) => vec![
            format!("No frames here, but {} with frames inside.", count(boxes.len(), "folder", "folders")),
            format!("Next: fallside finish {name} --out {name}-finished"),
        ],
        None => vec![
            "No frames here.".into(),
            "Next: go to a folder of frames, or try the demonstration box: fallside demo".into(),
        ],
    }
}

fn finished_box(reports: &[crate::report::Report]) -> Vec<String> {
    let of = |v: Verdict| reports.iter().filter(|r| r.verdict == v).count();
    let (look, reshoot) = (of(Verdict::Look), of(Verdict::Reshoot));
    let first = format!(
        "Here {} finished.",
        if reports.len() == 1 { "is 1 frame".into() } else { format!("are {} frames", reports.len()) }
    );
    let next = match (reshoot, look) {
        (0, 0) => "Nothing needs attention. Next: open index.html and look at them.".to_owned(),
        (0, n) => format!("{} a look. Next: open index.html.", count(n, "frame needs", "frames need")),
        (n, _) => format!(
            "{} to be taken again while the stand is up. Next: open index.html; they come first.",
            count(n, "frame needs", "frames need")
        ),
    };
    vec![first, next]
}

/// Names of the folders inside `folder` for which `holds` is true, in order.
fn inner(folder: &Path, holds: impl Fn(&Path) -> bool) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .into_iter()
        .flatten()
        .flatten()
        .filter(|e| !e.file_name().to_string_lossy().starts_with('.') && e.path().is_dir() && holds(&e.path()))
        .map(|e| e.file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_of_frames_an_empty_one_and_a_parent_each_get_their_next_step() {
        let top = tempfile::tempdir().unwrap();
        assert_eq!(advice(top.path())[0], "No frames here.");
        std::fs::create_dir(top.path().join("box")).unwrap();
        std::fs::write(top.path().join("box/F1.jpg"), b"").unwrap();
        assert_eq!(advice(top.path())[1], "Next: fallside finish box --out box-finished");
        assert_eq!(
            advice(&top.path().join("box")),
            ["Here is 1 frame to finish.", "Next: fallside finish . --out ../box-finished"]
        );
    }
}
