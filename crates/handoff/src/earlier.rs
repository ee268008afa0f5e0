//! What earlier runs left in a hand-off folder: shares of prints that may no longer be there are removed, and named.

use base::output_folder::{GALLERY, OutputFolder, Removal, is_kind};
use publish::privacy::Said;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// A run that fills a folder of shares.
pub(crate) struct Run<'a> {
    /// The prints chosen, as [`chosen_by`] writes them.
    pub chosen_by: &'a str,
    /// Ending of this run's files.
    pub ending: &'a str,
    /// This run's files.
    pub files: &'a BTreeSet<String>,
    /// For each print of this run, what is said of it, as [`words_of`] writes it.
    pub words: &'a BTreeMap<String, String>,
    /// Names of the prints that nobody may see.
    pub private: &'a BTreeSet<String>,
}

/// Letters of a BLAKE3 that tell two choices or two sets of words apart: 64 bits.
const LETTERS: usize = 16;

fn short_hash(of: &impl std::fmt::Debug) -> String {
    blake3::hash(format!("{of:?}").as_bytes()).to_hex()[..LETTERS].to_owned()
}

/// One word for the prints that are asked for: an edit, a search, all.
pub(crate) fn chosen_by(which: &crate::selection::Which) -> String {
    short_hash(which)
}

/// One word for what goes out with a print.
pub(crate) fn words_of(said: &Said) -> String {
    short_hash(said)
}

/// What the list of a folder says that a share was made from.
pub(crate) fn made_from(print: &str, chosen_by: &str, words: &str) -> String {
    format!("{print}:{chosen_by}:{words}")
}

/// Removes the shares of earlier runs that may no longer be there: of private prints, of prints that left the edit, and those with
/// words that no longer go out. A sentence for each that is removed, and one for each that is still there because somebody changed it.
pub(crate) fn remove_outdated(handed: &OutputFolder, run: &Run) -> (Vec<String>, Vec<String>) {
    let (mut removed, mut problems) = (vec![], vec![]);
    for path in handed.paths().into_iter().filter(|p| p.ends_with(".jpg") && !run.files.contains(p)) {
        let Some(why) = why_outdated(&path, &made_of(&path, &handed.made_from(&path).unwrap_or_default()), run) else {
            continue;
        };
        match handed.remove(&path) {
            Removal::Removed => removed.push(format!("Removed {path}, which an earlier run wrote: {why}.")),
            Removal::Absent => {}
            Removal::Kept => problems.push(still_there(&handed.place(&path), why)),
        }
    }
    (removed, problems)
}

/// Print, choice and words of a share, from what the list of its folder says. Earlier versions listed none of them: there its name tells
/// the print.
fn made_of(path: &str, told: &str) -> [String; 3] {
    let mut parts = told.splitn(3, ':').map(str::to_owned);
    match (parts.next(), parts.next(), parts.next()) {
        (Some(print), Some(by), Some(words)) => [print, by, words],
        _ => [path.rsplit_once('-').map_or(path, |(print, _)| print).to_owned(), String::new(), String::new()],
    }
}

/// The print of a share, from its path and what the list of its folder says.
pub(crate) fn print_of(path: &str, told: &str) -> String {
    let [print, ..] = made_of(path, told);
    print
}

fn why_outdated(path: &str, [print, by, words]: &[String; 3], run: &Run) -> Option<&'static str> {
    let words_now = run.words.get(print);
    if run.private.contains(print) {
        Some("the print is private now")
    } else if by == run.chosen_by && words_now.is_none() {
        Some("the print is no longer among those chosen")
    } else if by == run.chosen_by && path.ends_with(run.ending) {
        Some("the print has another place in the order now")
    } else if !words.is_empty() && words_now.is_some_and(|now| now != words) {
        Some("what may be said of the print has changed")
    } else {
        None
    }
}

/// The sentence about a file that should go and cannot be removed by us.
pub(crate) fn still_there(place: &Path, why: &str) -> String {
    format!(
        "{} was changed since Fallside wrote it, so it is still there, but {why}. Delete it yourself.",
        place.display()
    )
}

/// The sentence about a site that still shows what is private now; nothing where there is none.
pub(crate) fn site_still_shows(out: &Path) -> String {
    match is_kind(out, GALLERY) {
        true => format!(" The site in {} still shows what an earlier run put there. Delete it.", out.display()),
        false => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use base::files::Originals;
    use base::output_folder::SHARES;

    #[test]
    fn a_share_is_of_the_print_that_the_list_says() {
        assert_eq!(print_of("001-P1-4x5.jpg", "P1:tight:w1"), "P1");
        assert_eq!(print_of("P1-1.91x1.jpg", ""), "P1");
    }

    #[test]
    fn shares_go_for_a_reason_and_only_if_they_are_ours() {
        let top = tempfile::tempdir().unwrap();
        let handed = OutputFolder::open(top.path(), SHARES, &Originals::default(), &[]).unwrap();
        let put = |file: &str, from: Option<[&str; 3]>| {
            handed.put(file, file.as_bytes()).unwrap();
            if let Some([print, by, words]) = from {
                handed.note_made_from(file, &made_from(print, by, words)).unwrap();
            }
        };
        put("01-P1-4x5.jpg", Some(["P1", "tight", "w1"]));
        put("02-P2-4x5.jpg", Some(["P2", "tight", "w2"]));
        put("P3-1x1.jpg", None);
        put("P4-1x1.jpg", None);
        put("P5-1x1.jpg", Some(["P5", "found", "w5"]));
        put("01-P6-1x1.jpg", Some(["P6", "tight", "w6"]));
        put("01-P7-1x1.jpg", Some(["P7", "wide", "w7"]));
        put("03-P1-4x5.jpg", Some(["P1", "tight", "w1"]));
        std::fs::write(top.path().join("P4-1x1.jpg"), "mine").unwrap();
        let words = |list: &[(&str, &str)]| list.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect();
        let run = Run {
            chosen_by: "tight",
            ending: "-4x5.jpg",
            files: &["03-P1-4x5.jpg".to_owned()].into(),
            words: &words(&[("P1", "w1"), ("P6", "w6"), ("P7", "other")]),
            private: &["P3".to_owned(), "P4".to_owned()].into(),
        };
        let (removed, problems) = remove_outdated(&handed, &run);
        let gone = ["01-P1-4x5.jpg: place", "01-P7-1x1.jpg: said", "02-P2-4x5.jpg: chosen", "P3-1x1.jpg: private"];
        assert_eq!(removed.len(), gone.len(), "{removed:#?}");
        for (line, expected) in removed.iter().zip(gone) {
            let (file, why) = expected.split_once(": ").unwrap();
            assert!(line.contains(file) && line.contains(why), "{line} for {expected}");
            assert!(!top.path().join(file).exists(), "{file}");
        }
        assert!(problems.len() == 1 && problems[0].contains("P4-1x1.jpg was changed"), "{problems:?}");
        for file in ["03-P1-4x5.jpg", "01-P6-1x1.jpg", "P5-1x1.jpg", "P4-1x1.jpg"] {
            assert!(top.path().join(file).exists(), "{file}");
        }
    }
}
