//! `fallside pack` and `fallside verify` as a person uses them: whole, interrupted, damaged, with a stale copy.

use crate::demo_box::{demo, results};
use crate::small_project::copy::{copied, files};
use crate::small_project::{fallside, said};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Duration;

fn packed(folder: &Path) -> PathBuf {
    let bag = folder.join("bag");
    let o = fallside(&[&"pack", &results(), &"--out", &bag, &"--title", &"A box of invented prints"]);
    assert!(o.status.success(), "{}", said(&o));
    bag
}

#[test]
fn a_box_is_packed_byte_for_byte_and_explained() {
    let folder = tempfile::tempdir().unwrap();
    let bag = packed(folder.path());
    // RFC 8493 section 2.1.1: exactly this.
    let declaration = std::fs::read(bag.join("bagit.txt")).unwrap();
    assert_eq!(declaration, b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n");
    for original in files(&demo().join("frames")) {
        let there = bag.join("data/originals").join(original.file_name().unwrap());
        if original.extension().is_some_and(|e| e == "jpg") {
            assert_eq!(std::fs::read(&there).unwrap(), std::fs::read(&original).unwrap(), "{}", there.display());
        }
    }
    let text = std::fs::read_to_string(bag.join("data/READ-ME-FIRST.txt")).unwrap();
    assert!(text.lines().filter(|l| !l.starts_with(' ')).all(|l| l.chars().count() <= 78));
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    for word in [
        "A box of invented prints",
        "exactly white (65535 of 65535)",
        "originals/F0103.jpg",
        "pixels per mm",
        "sha512sum",
    ] {
        assert!(text.contains(word), "{word}: {text}");
    }
    assert!(!bag.join("packing.txt").exists());
    let o = fallside(&[&"verify", &bag]);
    assert!(o.status.success() && said(&o).contains("good"), "{}", said(&o));
    // Again: nothing is new, and it is as good as before.
    let o = fallside(&[&"pack", &results(), &"--out", &bag]);
    assert!(o.status.success() && said(&o).contains("already there"), "{}", said(&o));
    assert!(fallside(&[&"verify", &bag]).status.success());
}

/// A project of the small box, with words of two prints and an edit of them.
fn project(top: &Path) -> PathBuf {
    let project = top.join("project");
    let o = fallside(&[&"take", &demo().join("frames"), &"--in", &project]);
    assert!(o.status.code().is_some_and(|c| c < 2), "{}", said(&o));
    for words in [
        vec!["describe", "P0002", "--title", "Low water, “Ebbe”", "--date", "2009-07?", "--people", "Ada Brook; Bo"],
        vec!["describe", "P0002", "--inscription", "says \"no\",\nand more", "--privacy", "private"],
        vec!["describe", "P0004", "--title", "The street"],
        vec!["edit", "add", "two", "P0004", "P0002", "--kind", "sequence"],
    ] {
        let mut all: Vec<&dyn AsRef<std::ffi::OsStr>> = words.iter().map(|w| w as _).collect();
        all.extend([&"--in" as &dyn AsRef<std::ffi::OsStr>, &project]);
        let o = fallside(&all);
        assert!(o.status.success(), "{}", said(&o));
    }
    project
}

#[test]
fn a_project_is_packed_with_its_words_and_comes_back_from_the_bag() {
    let top = tempfile::tempdir().unwrap();
    let project = project(top.path());
    let bag = top.path().join("bag");
    let o = fallside(&[&"pack", &"--in", &project, &"--all", &"--out", &bag]);
    assert!(o.status.success(), "{}", said(&o));
    assert!(fallside(&[&"verify", &bag]).status.success());
    // Every original there is, no database, nothing hidden.
    let frames = files(&demo().join("frames")).into_iter().filter(|f| f.extension().is_some_and(|e| e == "jpg"));
    for original in frames {
        let there = bag.join("data/originals").join(original.file_name().unwrap());
        assert_eq!(std::fs::read(&there).unwrap(), std::fs::read(&original).unwrap(), "{}", there.display());
    }
    let foreign = |f: &PathBuf| {
        f.extension().is_some_and(|e| e == "db") || f.file_name().unwrap().to_string_lossy().starts_with('.')
    };
    assert!(!files(&bag).iter().any(foreign));
    let text = std::fs::read_to_string(bag.join("data/READ-ME-FIRST.txt")).unwrap();
    for word in ["P0002  Low water, “Ebbe”", "2009-07?", "Ada Brook; Bo", "private", "P0004 P0002", "the chosen one"]
    {
        assert!(text.contains(word), "{word}: {text}");
    }
    // RFC 4180: the quotes and the line's end of the inscription.
    let csv = std::fs::read_to_string(bag.join("data/prints.csv")).unwrap();
    assert!(csv.contains("\"says \"\"no\"\",\nand more\"") && csv.lines().count() > 12, "{csv}");
    // The same words from reports, masters and sidecars alone.
    let again = top.path().join("again");
    std::fs::create_dir(&again).unwrap();
    std::fs::rename(bag.join("data"), again.join("finished")).unwrap();
    let o = fallside(&[&"rebuild", &"--in", &again]);
    assert!(o.status.success(), "{}", said(&o));
    let words = |of: &Path| {
        let o = fallside(&[&"describe", &"P0002", &"--in", &of, &"--json"]);
        let print: serde_json::Value = serde_json::from_slice(&o.stdout).unwrap();
        (print[0]["facts"].clone(), print[0]["edits"].clone())
    };
    assert_eq!(words(&again), words(&project));
    assert_eq!(words(&again).0["title"], "Low water, “Ebbe”");
}

/// A frame that belongs to no print has no words, and none are missed.
#[test]
fn a_frame_without_a_print_is_packed_and_nothing_is_missed() {
    let top = tempfile::tempdir().unwrap();
    let (folder, bag) = (copied(top.path()), top.path().join("bag"));
    let o = fallside(&[&"unpair", &"F2.png", &"--in", &folder]);
    assert!(o.status.success(), "{}", said(&o));
    let o = fallside(&[&"pack", &folder, &"--all", &"--out", &bag]);
    assert!(o.status.success(), "{}", said(&o));
    let masters: Vec<_> = files(&bag.join("data/masters"))
        .iter()
        .map(|f| f.file_name().unwrap().to_string_lossy().into_owned())
        .collect();
    assert!(masters.iter().any(|n| n.starts_with("F2") && n.ends_with(".tif")), "{masters:?}");
    assert!(fallside(&[&"verify", &bag]).status.success());
}

#[test]
fn an_edit_is_packed_with_its_frames_and_the_light_they_need() {
    let top = tempfile::tempdir().unwrap();
    let project = project(top.path());
    let bag = top.path().join("bag");
    let o = fallside(&[&"pack", &project, &"--edit", &"two", &"--out", &bag]);
    assert!(o.status.success(), "{}", said(&o));
    let originals: Vec<String> = files(&bag.join("data/originals"))
        .iter()
        .map(|f| f.file_name().unwrap().to_string_lossy().into_owned())
        .collect();
    // Two prints; bare bed, flash off and chart of their sitting.
    assert_eq!(originals.len(), 5, "{originals:?}");
    assert_eq!(files(&bag.join("data/mounts")).len(), 2);
    let o = fallside(&[&"list", &"hand-offs", &"--in", &project, &"--json"]);
    let list: serde_json::Value = serde_json::from_slice(&o.stdout).unwrap();
    assert_eq!(list[0]["kind"], "pack");
    assert_eq!(list[0]["prints"], serde_json::json!(["P0004", "P0002"]));
    let o = fallside(&[&"pack", &project, &"--edit", &"three", &"--out", &top.path().join("none")]);
    assert!(o.status.code() == Some(2) && said(&o).contains("no edit called"), "{}", said(&o));
    let o = fallside(&[&"pack", &results(), &"--edit", &"two", &"--out", &top.path().join("none")]);
    assert!(o.status.code() == Some(2) && said(&o).contains("not a project"), "{}", said(&o));
}

#[test]
fn every_damage_is_told_and_a_whole_copy_named() {
    let folder = tempfile::tempdir().unwrap();
    let bag = packed(folder.path());
    let copy = folder.path().join("copy");
    for f in files(&bag) {
        let to = copy.join(f.strip_prefix(&bag).unwrap());
        std::fs::create_dir_all(to.parent().unwrap()).unwrap();
        std::fs::copy(&f, to).unwrap();
    }
    let o = fallside(&[&"verify", &bag, &"--copy", &copy]);
    assert!(o.status.success() && said(&o).contains("The copies are identical"), "{}", said(&o));
    // One bit, one file gone, one file more, one tag file changed.
    let masters = files(&bag.join("data/masters"));
    let mut bytes = std::fs::read(&masters[0]).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    std::fs::write(&masters[0], bytes).unwrap();
    std::fs::remove_file(&files(&bag.join("data/originals"))[1]).unwrap();
    std::fs::write(bag.join("data/stranger.txt"), "x").unwrap();
    let info = std::fs::read_to_string(bag.join("bag-info.txt")).unwrap();
    std::fs::write(bag.join("bag-info.txt"), info.replace("invented", "inverted")).unwrap();
    let o = fallside(&[&"verify", &bag, &"--copy", &copy]);
    let text = said(&o);
    assert_eq!(o.status.code(), Some(1));
    let name = masters[0].file_name().unwrap().to_str().unwrap();
    for word in [
        name,
        "it is missing",
        "it is not listed in the manifest",
        "bag-info.txt: it has changed",
        "copy them back",
        "4 damages",
    ] {
        assert!(text.contains(word), "{word}: {text}");
    }
}

#[test]
fn a_kill_leaves_no_bag_and_the_next_run_goes_on() {
    let folder = tempfile::tempdir().unwrap();
    let bag = folder.path().join("bag");
    let (mut killed, mut pause) = (0, 4);
    for _ in 0..40 {
        let mut child = Command::new(env!("CARGO_BIN_EXE_fallside"))
            .args(["pack".as_ref(), results().as_os_str(), "--out".as_ref(), bag.as_os_str()])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        std::thread::sleep(Duration::from_millis(pause));
        pause += 3;
        child.kill().unwrap();
        let done = child.wait().unwrap().success();
        let declared = bag.join("bagit.txt").exists();
        killed += usize::from(!done);
        // Whatever looks like a bag is one.
        assert!(!declared || fallside(&[&"verify", &bag]).status.success());
        if done {
            break;
        }
    }
    assert!(killed > 2, "killed only {killed} times");
    let o = fallside(&[&"pack", &results(), &"--out", &bag]);
    assert!(o.status.success(), "{}", said(&o));
    assert!(fallside(&[&"verify", &bag]).status.success());
    assert!(files(&bag).iter().all(|f| !f.to_string_lossy().ends_with(".part")));
}

#[test]
fn a_bag_killed_before_its_first_line_is_begun_again() {
    let folder = tempfile::tempdir().unwrap();
    let bag = folder.path().join("bag");
    std::fs::create_dir(&bag).unwrap();
    std::fs::write(bag.join(".fallside-lock"), "").unwrap();
    std::fs::write(bag.join(".fallside-packing.txt-aB3dE6.part"), "Fallside pa").unwrap();
    let o = fallside(&[&"pack", &results(), &"--out", &bag]);
    assert!(o.status.success(), "{}", said(&o));
    assert!(!bag.join(".fallside-packing.txt-aB3dE6.part").exists());
}

#[test]
fn a_stale_copy_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let bag = packed(folder.path());
    let copy = folder.path().join("older");
    std::fs::create_dir(folder.path().join("results")).unwrap();
    let fewer = folder.path().join("results");
    for f in files(&results()).into_iter().filter(|f| !f.to_string_lossy().contains("shares")) {
        let to = fewer.join(f.strip_prefix(results()).unwrap());
        std::fs::create_dir_all(to.parent().unwrap()).unwrap();
        std::fs::copy(&f, to).unwrap();
    }
    // The reports name their originals from where they lie.
    std::os::unix::fs::symlink(demo().join("frames"), folder.path().join("frames")).unwrap();
    let o = fallside(&[&"pack", &fewer, &"--out", &copy]);
    assert!(copy.join("bagit.txt").exists(), "{}", said(&o));
    let o = fallside(&[&"verify", &bag, &"--copy", &copy]);
    assert_eq!(o.status.code(), Some(1));
    assert!(said(&o).contains("older is out of date"), "{}", said(&o));
}

#[test]
fn what_cannot_be_packed_is_told_and_nothing_is_overwritten() {
    let folder = tempfile::tempdir().unwrap();
    let foreign = folder.path().join("foreign");
    std::fs::create_dir(&foreign).unwrap();
    std::fs::write(foreign.join("letter.txt"), "mine").unwrap();
    let o = fallside(&[&"pack", &results(), &"--out", &foreign]);
    assert_eq!(o.status.code(), Some(2));
    assert!(said(&o).contains("contains something else"), "{}", said(&o));
    assert_eq!(files(&foreign).len(), 1);
    let o = fallside(&[&"pack", &foreign, &"--out", &folder.path().join("bag")]);
    assert_eq!(o.status.code(), Some(2));
    assert!(said(&o).contains("neither a project nor"), "{}", said(&o));
    let o = fallside(&[&"pack", &results(), &"--out", &results().join("bag")]);
    assert_eq!(o.status.code(), Some(2));
    assert!(said(&o).contains("inside each other"), "{}", said(&o));
    let o = fallside(&[&"verify", &foreign]);
    assert_eq!(o.status.code(), Some(2));
    assert!(said(&o).contains("no bag"), "{}", said(&o));
}
