//! What goes wrong at the stand: a file that cannot be read, a folder that is gone. It has the place of the verdict until somebody has read
//! it, until the next frame is judged, or, for the folder, until it is over.

use super::Sitting;
use crate::wire::Amiss;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

/// What went wrong so far, and was not read.
#[derive(Debug, Default)]
pub(super) struct Troubles {
    number: u64,
    /// Files that could not be used, the newest last.
    files: Vec<Amiss>,
    folder: Option<Amiss>,
}

impl Troubles {
    /// Notes what could not be done with the files of a take.
    pub(super) fn add(&mut self, problem: &str, files: &[PathBuf]) {
        self.number += 1;
        let (name, says, remedy) = told(problem, files);
        self.files.push(Amiss { number: self.number, name, says, remedy, seen: false, others: vec![] });
    }

    /// Notes that the folder cannot be read, once.
    pub(super) fn folder_is_gone(&mut self, error: &std::io::Error) -> String {
        self.number += 1;
        let says = match error.kind() {
            ErrorKind::NotFound => "The watched folder is not there.".to_owned(),
            _ => format!("The watched folder cannot be read: {error}."),
        };
        let remedy = "Connect the camera or its disk again, or watch another folder.".to_owned();
        let told = format!("{says} {remedy}");
        self.folder = Some(Amiss { number: self.number, name: None, says, remedy, seen: false, others: vec![] });
        told
    }

    /// The folder can be read: true where it could not before.
    pub(super) fn folder_is_there(&mut self) -> bool {
        self.folder.take().is_some()
    }

    /// A frame was judged: what went wrong with earlier ones is old.
    pub(super) fn judged(&mut self) {
        self.files.clear();
    }

    /// What has the place of the verdict: the folder until it was read, then the newest file; a folder that was read stands last.
    pub(super) fn now(&self) -> Option<Amiss> {
        let file = || {
            let (newest, others) = self.files.split_last()?;
            Some(Amiss { others: others.iter().filter_map(|t| t.name.clone()).collect(), ..newest.clone() })
        };
        let unread = self.folder.clone().filter(|f| !f.seen);
        unread.or_else(file).or_else(|| self.folder.clone())
    }

    /// Somebody has read this one, and whatever came before it. False where something else came since.
    fn read(&mut self, number: &str) -> bool {
        let Some(now) = self.now().filter(|n| n.number.to_string() == number) else { return false };
        match (now.name, &mut self.folder) {
            (None, Some(folder)) if folder.number == now.number => folder.seen = true,
            _ => self.files.clear(),
        }
        true
    }
}

impl Sitting {
    /// What went wrong was read; false where it is no longer what is shown.
    pub(super) fn notice(&mut self, number: &str) -> bool {
        self.troubles.read(number)
    }
}

/// A problem's file, what happened and what to do. No path is left in it: the paired device reads it too.
fn told(problem: &str, files: &[PathBuf]) -> (Option<String>, String, String) {
    let shown = |f: &Path| f.display().to_string();
    let of = files.iter().find(|f| problem.starts_with(&shown(f)));
    let mut text = problem.to_owned();
    for file in files {
        text = text.replace(&format!("{}: ", shown(file)), "").replace(&shown(file), &base::files::name_of(file));
        if let Some(folder) = file.parent() {
            text = text.replace(&shown(folder), "the watched folder");
        }
    }
    let (says, remedy) = text.split_once(". ").unwrap_or((&text, ""));
    let says = base::wording::capital(says.trim_end_matches('.'));
    let again = of.map(|_| "Or photograph the print again.").unwrap_or_default();
    let remedy = [remedy, again].into_iter().filter(|r| !r.is_empty()).collect::<Vec<_>>().join(" ");
    (of.map(|f| base::files::name_of(f)), format!("{says}."), remedy)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(problem: &str) -> (Option<String>, String, String) {
        told(problem, &[PathBuf::from("/media/card/F1.jpg")])
    }

    #[test]
    fn a_problem_is_told_without_its_path() {
        let says = "/media/card/F1.jpg: /media/card/F1.jpg: the file is truncated. Copy it from the card again.";
        let words = ("The file is truncated.", "Copy it from the card again. Or photograph the print again.");
        assert_eq!(of(says), (Some("F1.jpg".into()), words.0.into(), words.1.into()));
        let (name, says, _) = of("There are no pictures in /media/card.");
        assert_eq!((name, says.as_str()), (None, "There are no pictures in the watched folder."));
    }

    #[test]
    fn trouble_stands_until_it_is_read_over_or_old() {
        let files = [PathBuf::from("/c/F1.jpg"), PathBuf::from("/c/F2.jpg")];
        let mut it = Troubles::default();
        it.add("/c/F1.jpg: it is cut short.", &files);
        it.add("/c/F2.jpg: it is cut short.", &files);
        let now = it.now().unwrap();
        assert_eq!((now.number, now.name.as_deref(), now.others), (2, Some("F2.jpg"), vec!["F1.jpg".to_owned()]));
        assert!(!it.read("1") && it.read("2") && it.now().is_none());
        it.add("/c/F1.jpg: it is cut short.", &files);
        it.judged();
        assert!(it.now().is_none(), "the next frame is judged");
        it.folder_is_gone(&std::io::Error::from(ErrorKind::NotFound));
        it.add("/c/F1.jpg: it is cut short.", &files);
        assert!(it.now().unwrap().name.is_none(), "the folder comes first");
        assert!(it.read("4") && it.now().unwrap().name.is_some());
        assert!(it.read("5") && it.now().unwrap().seen, "it is not over");
        assert!(it.folder_is_there() && !it.folder_is_there() && it.now().is_none());
    }
}
