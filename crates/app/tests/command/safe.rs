//! No command writes over a file that it reads, or over a file that is somebody's own: by its name, a link or a hard link.
//!
//! Each refusal is checked on the disk: every byte below the test's folder is what it was (BLAKE3).

use crate::small_project::copy::{copied, held, named};
use crate::small_project::{fallside, said};
use std::ffi::OsStr;
use std::os::unix::fs::symlink;
use std::path::{Path, PathBuf};

type Words<'a> = &'a [&'a dyn AsRef<OsStr>];

/// The command refuses, says why, and leaves every file below `top` as it was.
#[track_caller]
fn refused(top: &Path, words: Words, says: &str) {
    let before = held(top);
    let o = fallside(words);
    let text = said(&o);
    assert!(o.status.code().is_some_and(|c| c > 0), "it went on: {text}");
    assert!(text.contains(says), "{says}: {text}");
    let mut after = held(top);
    // Looking at a project makes no file of anybody's; its locks, the catalogue's log and a list of ours are our own.
    let ours = |p: &PathBuf| {
        [".fallside/", "fallside.db-", "out/.fallside-files"].iter().any(|n| p.to_string_lossy().contains(n))
    };
    after.retain(|p, _| before.contains_key(p) || !ours(p));
    let before: std::collections::BTreeMap<_, _> = before.into_iter().filter(|(p, _)| !ours(p)).collect();
    after.retain(|p, _| !ours(p));
    assert_eq!(after, before, "{text}");
}

/// A folder that says it was written by a command, in which `name` is a hard link to an original.
fn claimed(folder: &Path, kind: &str, name: &str, original: &Path) -> PathBuf {
    let place = folder.join(name);
    std::fs::create_dir_all(place.parent().unwrap()).unwrap();
    std::fs::hard_link(original, place).unwrap();
    list(folder, kind, "");
    folder.to_owned()
}

fn list(folder: &Path, kind: &str, lines: &str) {
    let first = format!("Fallside {kind}: files written here, each with its BLAKE3.\n");
    std::fs::write(folder.join(".fallside-files"), first + lines).unwrap();
}

#[test]
fn a_share_a_gallery_a_book_and_an_archive_never_go_over_what_they_read() {
    let tmp = tempfile::tempdir().unwrap();
    let top = tmp.path();
    let project = copied(top);
    let (card, original) = (project.join("card"), project.join("card/F1.png"));
    let hash = blake3::hash(&std::fs::read(&original).unwrap()).to_hex().to_string();
    for (command, kind, file) in [("share", "shares", "P0001-4x5.jpg"), ("gallery", "gallery", "prints/P0001.html")] {
        let hand =
            |out: &Path, says: &str| refused(top, &[&command, &"--in", &project, &"--all", &"--out", &out], says);
        hand(&card, "holds originals");
        // The list in the folder claims the original for ours, hash and all.
        list(&card, kind, &format!("{hash} F1.png\n"));
        hand(&card, "holds originals");
        let link = top.join(format!("{command}-link"));
        symlink(&card, &link).unwrap();
        hand(&link, "holds originals");
        std::fs::remove_file(card.join(".fallside-files")).unwrap();
        hand(&claimed(&top.join(command), kind, file, &original), "must not be overwritten");
        let away = top.join(format!("{command}-away"));
        std::fs::create_dir(&away).unwrap();
        list(&away, kind, "");
        symlink(&original, away.join(file.split('/').next().unwrap())).unwrap();
        let o = fallside(&[&command, &"--in", &project, &"--all", &"--out", &away]);
        assert_eq!(o.status.code(), Some(2), "{}", said(&o));
        assert_eq!(held(&card)[&original], hash);
    }
    // A picture of an earlier gallery that is a link of its own is no reason to write elsewhere.
    let pack = |out: &Path, says: &str| refused(top, &[&"pack", &project, &"--all", &"--out", &out], says);
    pack(&card, "inside each other");
    let bag = top.join("bag");
    std::fs::create_dir_all(bag.join("data")).unwrap();
    std::fs::write(bag.join("bag-info.txt"), "Bag-Software-Agent: Fallside 0\n").unwrap();
    symlink(&card, bag.join("data/originals")).unwrap();
    pack(&bag, "originals");
    std::fs::remove_file(bag.join("data/originals")).unwrap();
    std::fs::create_dir(bag.join("data/originals")).unwrap();
    std::fs::hard_link(&original, bag.join("data/originals/F1.png")).unwrap();
    pack(&bag, "must not be overwritten");
    let mount = named(&project.join("finished/mounts"), "F1-", ".mount.tif");
    let book = |out: &Path, says: &str| refused(top, &[&"book", &"--in", &project, &"--all", &"--out", &out], says);
    book(&original, "not made by Fallside");
    book(&mount, "not made by Fallside");
    symlink(&original, top.join("book.pdf")).unwrap();
    book(&top.join("book.pdf"), "not made by Fallside");
    std::fs::remove_file(top.join("book.pdf")).unwrap();
    // Of our own making, and read in this run: a font that is no font would be told later.
    let own = top.join("own.pdf");
    let o = fallside(&[&"book", &"--in", &project, &"--find", &"id:P0001", &"--out", &own]);
    assert!(o.status.code().is_some_and(|c| c < 2), "{}", said(&o));
    refused(top, &[&"book", &"--in", &project, &"--all", &"--font", &own, &"--out", &own], "must not be overwritten");
    std::fs::hard_link(&own, top.join("again.pdf")).unwrap();
    let again = top.join("again.pdf");
    refused(top, &[&"book", &"--in", &project, &"--all", &"--font", &own, &"--out", &again], "must not be overwritten");
}

#[test]
fn what_makes_results_never_goes_over_an_original() {
    let tmp = tempfile::tempdir().unwrap();
    let top = tmp.path();
    let project = copied(top);
    let card = project.join("card");
    let (theirs, out) = (top.join("theirs"), top.join("out"));
    std::fs::create_dir_all(&theirs).unwrap();
    std::fs::create_dir_all(&out).unwrap();
    std::fs::write(theirs.join("F1.jpg"), "mine").unwrap();
    for (to, says) in [(&card, "holds originals"), (&theirs, "leads out of")] {
        symlink(to, out.join("shares")).unwrap();
        refused(top, &[&"finish", &card, &"--out", &out], says);
        std::fs::remove_file(out.join("shares")).unwrap();
    }
    refused(top, &[&"finish", &card, &"--out", &card], "holds originals");
    // Taking in: where copies go, and where results go.
    let begun = top.join("begun");
    std::fs::create_dir_all(&begun).unwrap();
    symlink(&card, begun.join("originals")).unwrap();
    let before = held(&card);
    let o = fallside(&[&"take", &card, &"--copy", &"--in", &begun]);
    assert!(o.status.code() == Some(2) && said(&o).contains("leads out of the project"), "{}", said(&o));
    std::fs::create_dir_all(begun.join("finished")).unwrap();
    symlink(&card, begun.join("finished/previews")).unwrap();
    let o = fallside(&[&"take", &card, &"--in", &begun]);
    assert!(o.status.code() == Some(2) && said(&o).contains("holds originals"), "{}", said(&o));
    assert_eq!(held(&card), before);
    // Finishing one frame again: a result's name is a hard link to the original.
    let mount = named(&project.join("finished/mounts"), "F1-", ".mount.tif");
    std::fs::remove_file(&mount).unwrap();
    std::fs::hard_link(card.join("F1.png"), &mount).unwrap();
    refused(&card, &[&"mend", &"F1.png", &"--shadow", &"0.5", &"--in", &project], "must not be overwritten");
}

#[test]
fn single_files_go_over_none_but_their_own_kind() {
    let tmp = tempfile::tempdir().unwrap();
    let top = tmp.path();
    let project = copied(top);
    let original = project.join("card/F0.png");
    let at = |name: &str, text: &[u8]| {
        let place = top.join(name);
        std::fs::write(&place, text).unwrap();
        place
    };
    let letter = at("letter.pdf", b"%PDF-1.7 a letter");
    let page = at("index.html", b"<!doctype html>mine");
    let notes = at("notes.json", b"{\"schema\": \"mine\"}");
    let part = at("notes.part", b"mine");
    for place in [&original, &letter] {
        refused(top, &[&"ruler", &"--out", place], "so it was not changed");
    }
    let link = top.join("sheet.pdf");
    symlink(&letter, &link).unwrap();
    refused(top, &[&"ruler", &"--out", &link], "so it was not changed");
    let sheet = top.join("ruler.pdf");
    for _ in 0..2 {
        assert!(fallside(&[&"ruler", &"--out", &sheet]).status.success(), "a sheet of ours may be made again");
    }
    refused(top, &[&"plan", &"--format", &"square-integral", &"--card", &page], "is not a rig card");
    for place in [&notes, &original] {
        refused(top, &[&"check", &original, &"--out", place], "so it was not changed");
    }
    for place in [&original, &notes, &letter] {
        refused(top, &[&"backup", &"--to", place, &"--in", &project], "");
    }
    refused(
        top,
        &[&"backup", &"--to", &project.join("fallside.db"), &"--in", &project],
        "overwrite the catalogue itself",
    );
    let hard = top.join("hard.db");
    std::fs::hard_link(project.join("fallside.db"), &hard).unwrap();
    refused(top, &[&"backup", &"--to", &hard, &"--in", &project], "overwrite the catalogue itself");
    // What lies beside a backup's place is nobody's to take away.
    let to = top.join("notes.db");
    for _ in 0..2 {
        let o = fallside(&[&"backup", &"--to", &to, &"--in", &project]);
        assert!(o.status.success(), "{}", said(&o));
    }
    assert_eq!(std::fs::read(&part).unwrap(), b"mine");
}

#[test]
fn a_demonstration_goes_into_a_folder_of_its_own() {
    let tmp = tempfile::tempdir().unwrap();
    let top = tmp.path();
    let mine = top.join("mine");
    std::fs::create_dir_all(mine.join("frames")).unwrap();
    std::fs::write(mine.join("frames/F0101.jpg"), "mine").unwrap();
    std::fs::write(mine.join("chart.txt"), "mine").unwrap();
    refused(top, &[&"demo", &"--small", &"--only-draw", &"--out", &mine], "did not write");
    let out = top.join("out");
    let demo = |words: &[&dyn AsRef<OsStr>]| {
        fallside(&[&[&"demo" as &dyn AsRef<OsStr>, &"--only-draw", &"--out", &out], words].concat())
    };
    let o = demo(&[&"--small"]);
    assert!(o.status.success(), "{}", said(&o));
    // An earlier version kept no list: its frames are known by their camera, and may be drawn again.
    std::fs::remove_file(out.join(".fallside-files")).unwrap();
    let drawn = held(&out);
    let o = demo(&[&"--small"]);
    assert!(o.status.success(), "{}", said(&o));
    drawn.iter().for_each(|(p, hash)| assert_eq!(held(&out)[p], *hash, "{}", p.display()));
    let frame = drawn.keys().find(|p| p.extension().is_some_and(|e| e == "jpg")).unwrap();
    std::fs::write(frame, "mine").unwrap();
    refused(top, &[&"demo", &"--small", &"--only-draw", &"--out", &out], "changed since Fallside wrote it");
}

#[test]
fn copies_are_told_by_their_bytes_and_only_our_own_parts_are_swept() {
    let tmp = tempfile::tempdir().unwrap();
    let top = tmp.path();
    let (card, project) = (copied(top).join("card"), top.join("new"));
    let folder = project.join("originals");
    std::fs::create_dir_all(&folder).unwrap();
    let hash = blake3::hash(&std::fs::read(card.join("F1.png")).unwrap()).to_hex().to_string();
    let place = folder.join(format!("F1-{}.png", &hash[..10]));
    for name in ["mine.part", ".mine.part", ".fallside-x.part"] {
        std::fs::write(folder.join(name), "mine").unwrap();
    }
    let take = || fallside(&[&"take", &card.join("F0.png"), &card.join("F1.png"), &"--copy", &"--in", &project]);
    // Somebody's file has the copy's name, or a link to the card has it.
    std::fs::write(&place, "mine").unwrap();
    let o = take();
    assert!(o.status.code() == Some(1) && said(&o).contains("is not a copy of"), "{}", said(&o));
    assert_eq!(std::fs::read(&place).unwrap(), b"mine");
    std::fs::remove_file(&place).unwrap();
    symlink(card.join("F1.png"), &place).unwrap();
    let o = take();
    assert!(o.status.code() == Some(1) && said(&o).contains("is not a copy of"), "{}", said(&o));
    std::fs::remove_file(&place).unwrap();
    let o = take();
    assert!(o.status.success(), "{}", said(&o));
    assert_eq!(held(&folder)[&place], hash);
    assert!(folder.join("mine.part").exists() && folder.join(".mine.part").exists());
    assert!(!folder.join(".fallside-x.part").exists());
}
