//! `fallside book` as a person uses it: a book of a folder of results and of a project, and everything that can stand in its way.

use crate::demo_box::{demo, results};
use crate::small_project::copy;
use crate::small_project::{fallside, said};
use serde_json::Value;
use std::path::Path;
use std::process::{Command, Output};

/// A book of the results with these words more; its certificate where it was made.
fn book(out: &Path, words: &[&dyn AsRef<std::ffi::OsStr>]) -> (Output, Value) {
    let folder = results();
    let mut all: Vec<&dyn AsRef<std::ffi::OsStr>> =
        vec![&"book", &"--in", &folder, &"--dated", &"2026-11-25", &"--out", &out];
    all.extend_from_slice(words);
    let o = fallside(&all);
    let text = std::fs::read(out.with_extension("certificate.json")).unwrap_or_default();
    (o, serde_json::from_slice(&text).unwrap_or_default())
}

#[test]
fn a_book_is_true_in_size_and_white_and_the_same_every_time() {
    let folder = tempfile::tempdir().unwrap();
    let (one, two) = (folder.path().join("one.pdf"), folder.path().join("two.pdf"));
    let (o, certificate) = book(&one, &[&"--title", &"A box of invented prints"]);
    // Small frames have few pixels, which is told; the book is made.
    assert!(o.status.code().is_some_and(|c| c <= 1), "{}", said(&o));
    assert!(said(&o).contains("true size") && said(&o).contains("Bare paper: 0 of"), "{}", said(&o));
    assert_eq!((&certificate["paper_white"], &certificate["numbers"]), (&true.into(), &"srgb".into()));
    for p in certificate["pictures"].as_array().unwrap() {
        let name = p["name"].as_str().unwrap();
        let report = std::fs::read(results().join(format!("reports/{name}.report.json"))).unwrap();
        let report: Value = serde_json::from_slice(&report).unwrap();
        let corner = |i: usize, k: usize| report["canvas"]["print_px"][i][k].as_f64().unwrap();
        let width = (corner(1, 0) - corner(0, 0)) / report["canvas"]["px_per_mm"].as_f64().unwrap();
        let print = |i: usize| p["print_mm"][i].as_f64().unwrap();
        assert!((print(2) / width - 1.0).abs() < 0.001, "{name}: {} of {width} mm", print(2));
        // Centred by itself on the page.
        assert!((print(0) + print(2) / 2.0 - 120.0).abs() < 0.002, "{name}");
        assert_eq!((&p["bare_with_ink_px"], &p["rim_with_ink_px"]), (&0.into(), &0.into()));
    }
    book(&two, &[&"--title", &"A box of invented prints"]);
    assert!(std::fs::read(&one).unwrap() == std::fs::read(&two).unwrap());
    let plan = std::fs::read_to_string(folder.path().join("one.flat-plan.svg")).unwrap();
    assert!(plan.contains("A box of invented prints") && plan.contains("<use "));
}

#[test]
fn a_book_for_a_press_is_in_its_inks() {
    let folder = tempfile::tempdir().unwrap();
    let icc = folder.path().join("press.icc");
    std::fs::write(&icc, publish::book::model::profile()).unwrap();
    let out = folder.path().join("book.pdf");
    let (o, certificate) = book(
        &out,
        &[
            &"--printer",
            &icc,
            &"--first-dot",
            &"5%",
            &"--layout",
            &"facing",
            &"--proof",
            &"--deck",
            &"--dummy",
            &"--soft-proof",
        ],
    );
    assert!(o.status.code().is_some_and(|c| c <= 1) && said(&o).contains("PDF/X-4 in the inks"), "{}", said(&o));
    for ending in ["pdf", "proof-sheet.pdf", "deck.pdf", "dummy.pdf", "soft-proof.pdf"] {
        let file = std::fs::read(out.with_extension(ending)).unwrap();
        assert!(file.starts_with(b"%PDF-1.6") && file.ends_with(b"%%EOF\n"), "{ending}");
    }
    assert_eq!(certificate["numbers"], "inks");
    assert!(
        certificate["pictures"].as_array().unwrap().iter().all(|p| p["first_tint"].as_f64().is_none_or(|t| t >= 0.05))
    );
}

#[test]
fn what_stands_in_the_way_is_told_and_nothing_is_overwritten() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("book.pdf");
    let rgb = folder.path().join("rgb.icc");
    std::fs::write(&rgb, codec::icc::srgb()).unwrap();
    let refused = |words: &[&dyn AsRef<std::ffi::OsStr>], hint: &str| {
        let (o, _) = book(&out, words);
        assert_eq!(o.status.code(), Some(2), "{hint}: {}", said(&o));
        assert!(said(&o).contains(hint), "{hint}: {}", said(&o));
        assert!(!out.exists() && !said(&o).contains("internal error"), "{hint}: {}", said(&o));
    };
    refused(&[&"--printer", &rgb], "a profile of RGB colour");
    refused(&[&"--printer", &"/nowhere.icc"], "no such file");
    refused(&[&"--trim", &"90x120mm"], "too small");
    refused(&[&"--layout", &"row=3", &"--trim", &"150x150"], "too small");
    refused(&[&"--layout", &"pile"], "is not a page arrangement");
    refused(&[&"--enlarge", &"3"], "too small");
    refused(&[&"--no-system-fonts", &"--title", &"港の時代"], "U+6E2F");
    refused(&[&"--edit", &"tight"], "neither edits nor words");
    refused(&[&"--keep-rgb"], "--printer");
    refused(&[&"--font", &rgb], "rgb.icc is not a TrueType");
    let o = fallside(&[&"book", &"--in", &results(), &"--dated", &"some day", &"--out", &out]);
    assert!(o.status.code() == Some(2) && said(&o).contains("is not a date") && !out.exists(), "{}", said(&o));
    // Somebody else's files, at any of the places.
    for ending in ["pdf", "certificate.json", "flat-plan.svg"] {
        let theirs = out.with_extension(ending);
        std::fs::write(&theirs, b"%PDF-1.4 somebody's work").unwrap();
        let (o, _) = book(&out, &[]);
        assert_eq!(o.status.code(), Some(2), "{}", said(&o));
        assert!(said(&o).contains("not made by Fallside"), "{}", said(&o));
        assert_eq!(std::fs::read(&theirs).unwrap(), b"%PDF-1.4 somebody's work");
        std::fs::remove_file(&theirs).unwrap();
    }
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1, "something was left behind");
    // Our own is made again.
    let made = |o: &Output| o.status.code().is_some_and(|c| c <= 1);
    assert!(made(&book(&out, &[]).0) && made(&book(&out, &[]).0));
}

#[test]
fn a_mount_that_is_gone_is_told_and_the_others_make_the_book() {
    let folder = tempfile::tempdir().unwrap();
    let copy = folder.path().join("results");
    copy::copy(&results(), &copy);
    let gone = std::fs::read_dir(copy.join("mounts")).unwrap().flatten().next().unwrap().path();
    let stem = gone.file_name().unwrap().to_string_lossy().split('.').next().unwrap().to_owned();
    std::fs::remove_file(&gone).unwrap();
    let out = folder.path().join("book.pdf");
    let o = fallside(&[&"book", &"--in", &copy, &"--all", &"--out", &out]);
    assert_eq!(o.status.code(), Some(1), "{}", said(&o));
    assert!(said(&o).contains(&format!("{stem}: its mount is missing")) && out.exists(), "{}", said(&o));
    // One that is damaged is left out as well, and named.
    let hurt = std::fs::read_dir(copy.join("mounts")).unwrap().flatten().next().unwrap().path();
    let bytes = std::fs::read(&hurt).unwrap();
    std::fs::write(&hurt, &bytes[..bytes.len() / 2]).unwrap();
    let damaged = hurt.file_name().unwrap().to_string_lossy().into_owned();
    let o = fallside(&[&"book", &"--in", &copy, &"--all", &"--out", &out]);
    assert_eq!(o.status.code(), Some(1), "{}", said(&o));
    assert!(said(&o).contains(&format!("{damaged} is damaged or was changed")), "{}", said(&o));
}

#[test]
fn a_project_gives_its_words_keeps_its_secrets_and_notes_the_hand_off() {
    let folder = tempfile::tempdir().unwrap();
    let project = folder.path().join("project");
    let run = |words: &[&str]| {
        let o = Command::new(env!("CARGO_BIN_EXE_fallside")).args(words).arg("--in").arg(&project).output().unwrap();
        assert!(o.status.code().is_some_and(|c| c <= 1), "{words:?}: {}", said(&o));
        o
    };
    run(&["take", demo().join("frames").to_str().unwrap()]);
    run(&["describe", "P0001", "--title", "The ferry", "--place", "Old harbour", "--date", "2009-07~"]);
    run(&["describe", "P0002", "--privacy", "private"]);
    run(&["edit", "add", "sequence", "P0003", "P0001", "P0002"]);
    let out = folder.path().join("book.pdf");
    let o = run(&["book", "--edit", "sequence", "--out", out.to_str().unwrap()]);
    assert!(said(&o).contains("P0002 is marked private and was left out"), "{}", said(&o));
    let certificate: Value =
        serde_json::from_slice(&std::fs::read(out.with_extension("certificate.json")).unwrap()).unwrap();
    let names: Vec<&str> =
        certificate["pictures"].as_array().unwrap().iter().filter_map(|p| p["name"].as_str()).collect();
    assert_eq!(names, ["P0003", "P0001"]);
    let noted = said(&run(&["list", "hand-offs"]));
    assert!(noted.contains("book") && noted.contains("book.pdf") && noted.contains("P0003"), "{noted}");
    assert!(!noted.contains("P0002"), "{noted}");
}

/// Words of five scripts in one book: what the book's serif lacks is named all at once and before anything is made; with fonts for it the
/// book is made, says which font set what, and is the same every time.
#[test]
fn a_book_holds_several_scripts_and_names_all_that_is_missing() {
    let folder = tempfile::tempdir().unwrap();
    let (one, two) = (folder.path().join("one.pdf"), folder.path().join("two.pdf"));
    let title = "Θεσσαλονίκη, Київ, יפו, ميناء, 港の朝";
    let (o, _) = book(&one, &[&"--no-system-fonts", &"--title", &title, &"--author", &"ש"]);
    let says = said(&o);
    assert!(o.status.code() == Some(2) && std::fs::read_dir(folder.path()).unwrap().count() == 0, "{says}");
    // Three letters of Hebrew, four of Arabic, three of Japanese, one more in the author's name; none of Greek or Cyrillic.
    for c in "יפוشميناء港の朝".chars().filter(|c| *c != 'ش') {
        assert!(says.contains(&format!("(U+{:04X}) in the title", c as u32)), "{c}: {says}");
    }
    assert!(says.contains("U+05E9) in the author's name") && says.contains("--font"), "{says}");
    assert!(!says.contains("U+03B8") && !says.contains("U+043A"), "{says}");

    let faces = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/faces");
    let fonts = ["hebrew.ttf", "arabic.ttf", "japanese.otf"].map(|f| faces.join(f));
    let words: [&dyn AsRef<std::ffi::OsStr>; 12] = [
        &"--no-system-fonts",
        &"--title",
        &title,
        &"--author",
        &"ש",
        &"--proof",
        &"--font",
        &fonts[0],
        &"--font",
        &fonts[1],
        &"--font",
        &fonts[2],
    ];
    let (o, certificate) = book(&one, &words);
    assert!(o.status.code().is_some_and(|c| c <= 1), "{}", said(&o));
    assert!(said(&o).contains("Amiri (arabic.ttf, named)"), "{}", said(&o));
    let list = |key: &str| -> Vec<String> {
        let fonts = certificate["fonts"].as_array().unwrap();
        // Roman and italic of the book's own are two files of one family.
        let all = fonts.iter().filter(|f| f["name"] != "Alegreya-Italic");
        all.map(|f| f[key].as_str().unwrap_or_default().to_owned()).collect()
    };
    assert_eq!(list("family"), ["Alegreya", "Frank Ruhl Libre", "Amiri", "Shippori Mincho"]);
    assert_eq!(list("from"), ["book", "named", "named", "named"]);
    let hash = blake3::hash(&std::fs::read(&fonts[1]).unwrap()).to_hex().to_string();
    assert_eq!(list("blake3")[2], hash);
    book(&two, &words);
    assert!(std::fs::read(&one).unwrap() == std::fs::read(&two).unwrap());
}
