//! A book by its author's list of pages: written for the first time, changed by hand, and everything that can be wrong with it.

use crate::demo_box::{demo, results};
use crate::small_project::{fallside, said};
use serde_json::Value;
use std::ffi::OsStr;
use std::path::Path;
use std::process::{Command, Output};

/// A book of the results with these words more.
fn book(out: &Path, words: &[&dyn AsRef<OsStr>]) -> Output {
    let folder = results();
    let mut all: Vec<&dyn AsRef<OsStr>> =
        vec![&"book", &"--in", &folder, &"--dated", &"2026-11-25", &"--title", &"A box", &"--out", &out];
    all.extend_from_slice(words);
    fallside(&all)
}

fn certificate(out: &Path) -> Value {
    serde_json::from_slice(&std::fs::read(out.with_extension("certificate.json")).unwrap()).unwrap()
}

fn made(o: &Output) {
    assert!(o.status.code().is_some_and(|c| c <= 1), "{}", said(o));
}

/// The width of a print by its report, mm.
fn width(name: &str) -> f64 {
    let report: Value =
        serde_json::from_slice(&std::fs::read(results().join(format!("reports/{name}.report.json"))).unwrap()).unwrap();
    let corner = |i: usize, k: usize| report["canvas"]["print_px"][i][k].as_f64().unwrap();
    (corner(1, 0) - corner(0, 0)) / report["canvas"]["px_per_mm"].as_f64().unwrap()
}

/// The list that `--write-layout` writes makes the book that `--layout` makes, to the byte, and is never written over.
#[test]
fn the_first_list_makes_the_same_book_as_its_layout() {
    let folder = tempfile::tempdir().unwrap();
    let [list, by_layout, by_list] = ["book.txt", "one.pdf", "two.pdf"].map(|n| folder.path().join(n));
    for layout in ["single,facing,grid=2x1", "facing,blank,row=2,single"] {
        let o = book(&by_layout, &[&"--layout", &layout, &"--write-layout", &list]);
        made(&o);
        assert!(!by_layout.exists() && said(&o).contains("--pages"), "{}", said(&o));
        let text = std::fs::read_to_string(&list).unwrap();
        assert!(text.starts_with("# Pages of “A box”") && text.contains("\ntitle\n"), "{text}");
        made(&book(&by_layout, &[&"--layout", &layout]));
        made(&book(&by_list, &[&"--pages", &list]));
        assert!(std::fs::read(&by_layout).unwrap() == std::fs::read(&by_list).unwrap(), "{layout}\n{text}");
        let again = book(&by_layout, &[&"--write-layout", &list]);
        assert!(
            again.status.code() == Some(2) && said(&again).contains("may hold changes of yours"),
            "{}",
            said(&again)
        );
        assert_eq!(std::fs::read_to_string(&list).unwrap(), text);
        [&list, &by_layout].iter().for_each(|f| std::fs::remove_file(f).unwrap());
    }
}

/// Sizes and places by arithmetic: what a line says is where and how large the print stands.
#[test]
fn a_line_says_how_large_and_where() {
    let folder = tempfile::tempdir().unwrap();
    let [list, out] = ["pages.txt", "book.pdf"].map(|n| folder.path().join(n));
    made(&book(&out, &[]));
    let names: Vec<String> =
        certificate(&out)["pictures"].as_array().unwrap().iter().map(|p| p["name"].as_str().unwrap().into()).collect();
    let (a, b) = (&names[0], &names[1]);
    let text = format!(
        "page {b} at 50% left 30mm top 20mm no caption\nblank\nspread {a} | {b} detail 20x25mm from 10 12 at 200% right 15 foot 25.5 no caption\n\
         plates\n"
    );
    // A spread on a right page is refused, with what to do.
    std::fs::write(&list, text.replace("blank\n", "")).unwrap();
    made(&book(&out, &[&"--pages", &list]));
    std::fs::write(&list, &text).unwrap();
    let o = book(&out, &[&"--pages", &list]);
    assert!(o.status.code() == Some(2), "{}", said(&o));
    assert!(
        said(&o).contains("pages.txt, line 3: A spread begins on a left page, but this would be page 3"),
        "{}",
        said(&o)
    );
    std::fs::write(&list, text.replace("blank\n", "blank # its back\n\nblank\n")).unwrap();
    let o = book(&out, &[&"--pages", &list, &"--all"]);
    made(&o);
    let left = names.len() - 2;
    assert!(
        said(&o).contains(&format!("{left} other print")) && said(&o).contains("on no page of pages.txt"),
        "{}",
        said(&o)
    );
    let certificate = certificate(&out);
    let pictures = certificate["pictures"].as_array().unwrap();
    let seen: Vec<(&str, u64)> =
        pictures.iter().map(|p| (p["name"].as_str().unwrap(), p["page"].as_u64().unwrap())).collect();
    assert_eq!(seen, [(b.as_str(), 1), (a.as_str(), 4), (b.as_str(), 5)]);
    let print = |i: usize, k: usize| pictures[i]["print_mm"][k].as_f64().unwrap();
    assert!((print(0, 0) - 30.0).abs() < 0.001 && (print(0, 1) - 20.0).abs() < 0.001);
    assert!((print(0, 2) / width(b) - 0.5).abs() < 0.0005);
    assert!((print(1, 2) / width(a) - 1.0).abs() < 0.001 && (print(1, 0) + print(1, 2) / 2.0 - 120.0).abs() < 0.002);
    // 20 by 25 mm twice as large, 15 mm from the right and 25.5 mm from the foot of 240: whole pixels, a fifth of a millimetre each here.
    for (k, want) in [(0, 185.0), (1, 164.5), (2, 40.0), (3, 50.0)] {
        assert!((print(2, k) - want).abs() < 0.5, "{k}: {} for {want}", print(2, k));
    }
    assert_eq!(pictures[2]["detail_mm"], serde_json::json!([10.0, 12.0, 20.0, 25.0]));
    assert_eq!((&pictures[2]["bare_px"], &certificate["paper_white"]), (&0.into(), &true.into()));
    // The same command twice gives the same bytes.
    let first = std::fs::read(&out).unwrap();
    made(&book(&out, &[&"--pages", &list, &"--all"]));
    assert!(first == std::fs::read(&out).unwrap());
}

#[test]
fn every_mistake_is_named_with_its_line_and_no_book_is_made() {
    let folder = tempfile::tempdir().unwrap();
    let [list, out] = ["pages.txt", "book.pdf"].map(|n| folder.path().join(n));
    let name = {
        made(&book(&out, &[]));
        let name = certificate(&out)["pictures"][0]["name"].as_str().unwrap().to_owned();
        std::fs::remove_file(&out).unwrap();
        name
    };
    for (text, says) in [
        ("title\npage P9999\nleaf\n".to_owned(), vec!["pages.txt, line 3: “leaf” does not begin a page"]),
        (
            "title\npage nobody\n\npage \"no one\"\n".into(),
            vec!["line 2: There is no print “nobody”", "line 4: There is no print “no one”"],
        ),
        (format!("page {name} back\n"), vec!["line 1:", "has no back"]),
        (format!("page {name} detail 500x5 from 0 0\n"), vec!["line 1: The detail is larger", "the print is"]),
        (format!("title\npage {name} at 900%\n"), vec!["pages.txt, line 2: The page is too small for"]),
        (format!("page {name}, {name} left 100 top 100\n"), vec!["pages.txt, line 1:", "overlap"]),
        ("blank\n".into(), vec!["No print stands on any page of pages.txt"]),
    ] {
        std::fs::write(&list, &text).unwrap();
        let o = book(&out, &[&"--pages", &list]);
        assert_eq!(o.status.code(), Some(2), "{text}: {}", said(&o));
        says.iter().for_each(|s| assert!(said(&o).contains(s), "{text}: {}", said(&o)));
        assert!(!out.exists());
    }
    std::fs::write(&list, b"title\n\xff\xfe\n").unwrap();
    assert!(said(&book(&out, &[&"--pages", &list])).contains("line 2 is not UTF-8 text"));
    std::fs::write(&list, vec![b'\n'; 2 << 20]).unwrap();
    assert!(said(&book(&out, &[&"--pages", &list])).contains("larger than 1 MB"));
    assert!(said(&book(&out, &[&"--pages", &list, &"--layout", &"facing"])).contains("--layout"));
    // A book is never written over the list that it is made of.
    std::fs::write(&list, "title\n").unwrap();
    assert_eq!(book(&list, &[&"--pages", &list]).status.code(), Some(2));
    assert_eq!(std::fs::read_to_string(&list).unwrap(), "title\n");
}

/// Prints of the edit on no page, and pages of prints that are private or have no mount, are named; the other pages stay where they are.
#[test]
fn prints_without_a_page_and_pages_without_a_print_are_named() {
    let folder = tempfile::tempdir().unwrap();
    let project = folder.path().join("project");
    let run = |words: &[&str]| {
        let o = Command::new(env!("CARGO_BIN_EXE_fallside")).args(words).arg("--in").arg(&project).output().unwrap();
        made(&o);
        o
    };
    run(&["take", demo().join("frames").to_str().unwrap()]);
    run(&["describe", "P0001", "--title", "The ferry"]);
    run(&["describe", "P0002", "--privacy", "private"]);
    run(&["edit", "add", "sequence", "P0003", "P0001", "P0002"]);
    let [list, out] = ["book.txt", "book.pdf"].map(|n| folder.path().join(n).to_str().unwrap().to_owned());
    run(&["book", "--edit", "sequence", "--write-layout", &list]);
    let text = std::fs::read_to_string(&list).unwrap();
    assert!(text.contains("spread blank | P0003\n") && !text.contains("P0002"), "{text}");
    std::fs::write(&list, "title\nblank\npage p2\nblank\npage 1\nplates\n").unwrap();
    let o = run(&["book", "--edit", "sequence", "--pages", &list, "--out", &out]);
    assert!(said(&o).contains("book.txt, line 3: P0002 is marked private, so its place is empty."), "{}", said(&o));
    assert!(said(&o).contains("P0003: chosen, but on no page of book.txt."), "{}", said(&o));
    let certificate = certificate(Path::new(&out));
    let pictures = certificate["pictures"].as_array().unwrap();
    assert_eq!((pictures.len(), &pictures[0]["name"], &pictures[0]["page"]), (1, &"P0001".into(), &5.into()));
}

/// Texts stand where the list says, take as many pages as they need, and come from the list's own folder only.
#[test]
fn texts_come_from_the_list_s_own_folder() {
    let folder = tempfile::tempdir().unwrap();
    let own = folder.path().join("own");
    std::fs::create_dir_all(own.join("words")).unwrap();
    let [list, out] = ["pages.txt", "book.pdf"].map(|n| own.join(n));
    made(&book(&out, &[]));
    let name = certificate(&out)["pictures"][0]["name"].as_str().unwrap().to_owned();
    std::fs::write(
        own.join("words/essay.md"),
        format!("# Low water\n\n{}\n", "The ferry leaves at seven. ".repeat(300)),
    )
    .unwrap();
    std::fs::write(own.join("imprint.md"), "ISBN 978-3-16-148410-0\n\n© Ada Vale\n").unwrap();
    std::fs::write(&list, format!("title\ntext imprint.md foot\ntext words/essay.md\npage {name}\nplates\n")).unwrap();
    made(&book(&out, &[&"--pages", &list]));
    // 7 800 characters at 66 to a line and about 37 lines to a page are four pages: the plate comes after them.
    let page = certificate(&out)["pictures"][0]["page"].as_u64().unwrap();
    assert!((6..=8).contains(&page), "{page}");
    std::fs::write(folder.path().join("secret.md"), "not yours").unwrap();
    #[cfg(unix)]
    std::os::unix::fs::symlink(folder.path().join("secret.md"), own.join("link.md")).unwrap();
    std::fs::write(own.join("html.md"), "fine\n\n<b>bold</b>\n").unwrap();
    let secret = folder.path().join("secret.md");
    for (file, says) in [
        ("../secret.md", "no other is read"),
        (secret.to_str().unwrap(), "no other is read"),
        #[cfg(unix)]
        ("link.md", "lies outside the folder of pages.txt"),
        ("none.md", "There is no file none.md"),
        ("words", "essay"),
        ("html.md", "html.md, line 3: HTML cannot be set"),
    ] {
        std::fs::write(&list, format!("title\ntext \"{file}\"\npage {name}\n")).unwrap();
        let o = book(&out, &[&"--pages", &list]);
        assert!(o.status.code() == Some(2) && said(&o).contains("pages.txt, line 2: "), "{file}: {}", said(&o));
        assert!(file == "words" || said(&o).contains(says), "{file}: {}", said(&o));
    }
    // The book is never written over a text that it is made of.
    std::fs::write(&list, format!("title\ntext imprint.md\npage {name}\n")).unwrap();
    assert_eq!(book(&own.join("imprint.md"), &[&"--pages", &list]).status.code(), Some(2));
    assert!(std::fs::read_to_string(own.join("imprint.md")).unwrap().starts_with("ISBN"));
}
