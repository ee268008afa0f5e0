//! A book's pages imposed on sheets: what is asked for, what is refused, and the same bytes every time. Order and creep are tested by
//! folding in `publish`; the pages on the sheets are compared with the book's own by other readers (`tests/outside/book.py`).

use crate::demo_box::results;
use crate::small_project::{fallside, said};
use std::ffi::OsStr;
use std::path::Path;
use std::process::Output;

fn book(out: &Path, words: &[&dyn AsRef<OsStr>]) -> Output {
    let folder = results();
    let mut all: Vec<&dyn AsRef<OsStr>> = vec![&"book", &"--in", &folder, &"--dated", &"2026-11-25", &"--out", &out];
    all.extend_from_slice(words);
    fallside(&all)
}

#[test]
fn a_zine_has_two_sides_to_a_sheet_of_its_paper() {
    let folder = tempfile::tempdir().unwrap();
    let [out, zine] = ["book.pdf", "book.zine.pdf"].map(|n| folder.path().join(n));
    for (paper, media) in [("A4", "[0 0 841.8898 595.2756]"), ("letter", "[0 0 792 612]")] {
        let o = book(&out, &[&"--zine", &paper, &"--zine-size", &"fit", &"--zine-marks"]);
        assert!(o.status.code().is_some_and(|c| c <= 1), "{}", said(&o));
        let says = said(&o);
        let sheets: usize = says.split("Zine: ").nth(1).and_then(|t| t.split(' ').next()).unwrap().parse().unwrap();
        let pages: usize = says.split(" prints, ").nth(1).and_then(|t| t.split(' ').next()).unwrap().parse().unwrap();
        assert!(says.contains(&format!("of {paper}, printed on both sides and turned over the short edge")), "{says}");
        let bytes = std::fs::read(&zine).unwrap();
        let text = String::from_utf8_lossy(&bytes);
        // A sheet carries four pages, two on each side; 297 by 210 mm or 11 by 8.5 in, in points of 1/72 in.
        assert_eq!((sheets * 4, text.matches(&format!("/MediaBox {media}")).count()), (pages, sheets * 2), "{says}");
        book(&out, &[&"--zine", &paper, &"--zine-size", &"fit", &"--zine-marks"]);
        assert!(bytes == std::fs::read(&zine).unwrap());
    }
    // True size is the rule; nothing is reduced without being asked, and nothing is made then.
    std::fs::remove_file(&zine).unwrap();
    let o = book(&out, &[&"--zine", &"A4"]);
    assert_eq!(o.status.code(), Some(2));
    assert!(said(&o).contains("do not fit on A4 at 100 %: at most 61 %") && !zine.exists(), "{}", said(&o));
    for words in [["--zine", "A5"], ["--zine-size", "fit"], ["--zine-turn", "left"]] {
        assert_eq!(book(&out, &[&words[0], &words[1]]).status.code(), Some(2), "{words:?}");
    }
}
