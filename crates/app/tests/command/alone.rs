//! One run at a time in a folder, nothing lost between two that meet, and nothing left by one that was killed.

use crate::small_project::copy::{copied, held, named};
use crate::small_project::{fallside, said};
use serde_json::Value;
use std::fs::File;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// A lock that another process would hold: the system's own, on the file that says who it is.
fn locked(path: &Path) -> File {
    std::fs::create_dir_all(path.parent().unwrap()).unwrap();
    std::fs::write(path, "another run, process 1\n").unwrap();
    let file = File::options().read(true).write(true).open(path).unwrap();
    file.lock().unwrap();
    file
}

fn begun(words: &[&str]) -> Child {
    let mut command = Command::new(env!("CARGO_BIN_EXE_fallside"));
    command.args(words).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap()
}

/// Waits until something is so, for as long as anybody would.
#[track_caller]
fn until(what: &str, is: impl Fn() -> bool) {
    let begun = Instant::now();
    while !is() {
        assert!(begun.elapsed() < Duration::from_secs(120), "never: {what}");
        std::thread::sleep(Duration::from_millis(1));
    }
}

fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

fn parts(folder: &Path) -> Vec<PathBuf> {
    let is_part = |p: &PathBuf| {
        let name = p.file_name().unwrap().to_string_lossy().into_owned();
        name.starts_with(".fallside-") && (name.ends_with(".part") || name.ends_with("lock"))
    };
    held(folder).into_keys().filter(is_part).collect()
}

#[test]
fn the_second_run_in_a_folder_is_told_of_the_first_and_a_dead_one_is_in_nobodys_way() {
    let tmp = tempfile::tempdir().unwrap();
    let top = tmp.path();
    let project = copied(top);
    for (command, file, lock) in [
        ("share", "out", "out/.fallside-lock"),
        ("gallery", "out", "out/.fallside-lock"),
        ("pack", "out", "out/.fallside-lock"),
        ("book", "out/book.pdf", "out/.fallside-book.pdf.lock"),
    ] {
        let out = top.join(command).join(file);
        let lock = top.join(command).join(lock);
        let run = || fallside(&[&command, &"--in", &project, &"--find", &"id:P0001", &"--out", &out]);
        let first = locked(&lock);
        let o = run();
        assert_eq!(o.status.code(), Some(2), "{command}: {}", said(&o));
        assert!(said(&o).contains("is in use by another run, process 1"), "{command}: {}", said(&o));
        // Its process is gone; the file that it left says what it said.
        drop(first);
        assert!(lock.exists());
        let o = run();
        assert!(o.status.code().is_some_and(|c| c < 2), "{command}: {}", said(&o));
        assert!(parts(&top.join(command)).is_empty(), "{:?}", parts(&top.join(command)));
    }
}

#[test]
fn nobody_finishes_into_results_that_are_read_and_nobody_reads_what_is_being_finished() {
    let tmp = tempfile::tempdir().unwrap();
    let top = tmp.path();
    let (project, results) = (copied(top), top.join("results"));
    let card = project.join("card");
    let finish = || fallside(&[&"finish", &card.join("F0.png"), &card.join("F1.png"), &"--out", &results]);
    let o = finish();
    assert!(o.status.success(), "{}", said(&o));
    let first = locked(&results.join(".fallside/finish.lock"));
    let before = held(&results);
    let o = finish();
    assert!(o.status.code() == Some(2) && said(&o).contains("is in use by another run, process 1"), "{}", said(&o));
    for command in ["share", "gallery", "pack", "book"] {
        let out = top.join(command);
        let o = fallside(&[&command, &"--in", &results, &"--all", &"--out", &out]);
        assert_eq!(o.status.code(), Some(2), "{command}: {}", said(&o));
        assert!(said(&o).contains("Results are being written into"), "{command}: {}", said(&o));
        assert!(!out.exists(), "{command}");
    }
    assert_eq!(held(&results), before);
    drop(first);
    // Several may read at once; whoever would write waits for them.
    let reader = File::options().read(true).write(true).open(results.join(".fallside/finish.lock")).unwrap();
    reader.lock_shared().unwrap();
    let o = fallside(&[&"share", &"--in", &results, &"--all", &"--out", &top.join("share")]);
    assert!(o.status.success(), "{}", said(&o));
    let o = finish();
    assert!(o.status.code() == Some(2) && said(&o).contains("is in use by"), "{}", said(&o));
    drop(reader);
    assert!(finish().status.success());
}

#[test]
fn words_said_while_the_catalogue_is_made_anew_are_kept() {
    let tmp = tempfile::tempdir().unwrap();
    let project = copied(tmp.path());
    let title = |of: &str| {
        let o = fallside(&[&"describe", &of, &"--in", &project, &"--json"]);
        let print: Value = serde_json::from_slice(&o.stdout).unwrap();
        print[0]["facts"]["title"].as_str().unwrap().to_owned()
    };
    // Somebody makes it anew: a word waits.
    let rebuild = locked(&project.join(".fallside/catalogue.lock"));
    let mut child = begun(&["describe", "P0001", "--title", "Waited", "--in", text(&project)]);
    std::thread::sleep(Duration::from_millis(1500));
    assert!(child.try_wait().unwrap().is_none(), "it did not wait");
    assert_eq!(title("P0001"), "Low water <1>");
    drop(rebuild);
    assert!(child.wait().unwrap().success());
    assert_eq!(title("P0001"), "Waited");
    // In earnest: every word that was taken is there afterwards, in the catalogue and for the next rebuild.
    for round in 0..4 {
        let mut rebuild = begun(&["rebuild", "--in", text(&project)]);
        std::thread::sleep(Duration::from_millis(60 * round));
        let said: Vec<(&str, String)> =
            ["P0001", "P0002", "P0003", "P0004"].map(|p| (p, format!("{p} in round {round}"))).into();
        let mut all: Vec<Child> =
            said.iter().map(|(p, t)| begun(&["describe", p, "--title", t, "--in", text(&project)])).collect();
        assert!(all.iter_mut().all(|c| c.wait().unwrap().success()));
        // A rebuild that came second may be told that somebody writes; it is never told half of it.
        assert!(rebuild.wait().unwrap().code().is_some());
        for (print, words) in &said {
            assert_eq!(title(print), *words);
        }
        assert!(fallside(&[&"rebuild", &"--in", &project]).status.success());
        for (print, words) in &said {
            assert_eq!(title(print), *words, "from the sidecars");
        }
    }
}

#[test]
fn a_frame_whose_master_is_gone_is_finished_once_and_stands_again() {
    let tmp = tempfile::tempdir().unwrap();
    let project = copied(tmp.path());
    let card = project.join("card");
    let count = || {
        let o = fallside(&[&"list", &"frames", &"--in", &project, &"--json"]);
        serde_json::from_slice::<Value>(&o.stdout).unwrap().as_array().unwrap().len()
    };
    let frames = count();
    for kinds in [&["masters"][..], &["mounts"], &["reports"], &["masters", "mounts", "reports"]] {
        for kind in kinds {
            let tail = if *kind == "reports" { ".report.json" } else { ".tif" };
            std::fs::remove_file(named(&project.join("finished").join(kind), "F1-", tail)).unwrap();
        }
        let o = fallside(&[&"take", &card, &"--in", &project]);
        assert!(o.status.success(), "{kinds:?}: {}", said(&o));
        assert!(said(&o).contains("1 frame taken, 4 already known"), "{kinds:?}: {}", said(&o));
        assert_eq!(said(&o).lines().filter(|l| l.starts_with("F1.png")).count(), 1, "{kinds:?}: {}", said(&o));
        let o = fallside(&[&"take", &card, &"--in", &project]);
        assert!(said(&o).contains("0 frames taken, 5 already known"), "{kinds:?}: {}", said(&o));
        assert_eq!(count(), frames, "{kinds:?}");
    }
}

#[test]
fn a_killed_book_and_a_killed_gallery_leave_nothing_behind_the_next() {
    let tmp = tempfile::tempdir().unwrap();
    let top = tmp.path();
    let (project, desk) = (copied(top), top.join("desk"));
    std::fs::create_dir(&desk).unwrap();
    let mine = [".mine.part", "book.part", ".book-aB3dE6.part"].map(|n| desk.join(n));
    mine.iter().for_each(|p| std::fs::write(p, "mine").unwrap());
    let book = desk.join("book.pdf");
    let words = ["book", "--in", text(&project), "--all", "--out", text(&book)];
    let mut child = begun(&words);
    let has_part = || parts(&desk).iter().any(|p| p.to_string_lossy().ends_with(".part"));
    until("a part of the book", || has_part() || book.exists());
    child.kill().unwrap();
    child.wait().unwrap();
    assert!(has_part() && !book.exists(), "it was too quick to be killed");
    let o = fallside(&words.iter().map(|w| w as &dyn AsRef<std::ffi::OsStr>).collect::<Vec<_>>());
    assert!(o.status.code().is_some_and(|c| c < 2), "{}", said(&o));
    assert!(book.exists() && parts(&desk).is_empty(), "{:?}", parts(&desk));
    assert!(mine.iter().all(|p| p.exists()));

    let site = top.join("site");
    let words = ["gallery", "--in", text(&project), "--all", "--out", text(&site)];
    let pictures = || held(&site).into_keys().filter(|p| p.ends_with("default.jpg")).collect::<Vec<_>>();
    let mut child = begun(&words);
    until("a picture", || site.join("iiif").is_dir() && !pictures().is_empty());
    child.kill().unwrap();
    child.wait().unwrap();
    assert!(!site.join("index.html").exists(), "it was too quick to be killed");
    // Half a picture, as a full disk leaves it too, and parts: one of ours, one of somebody else's.
    let half = pictures()[0].clone();
    std::fs::write(&half, b"\xff\xd8\xff").unwrap();
    std::fs::write(site.join(".fallside-index.html-aB3dE6.part"), "half").unwrap();
    std::fs::write(site.join(".mine.part"), "mine").unwrap();
    // Only one print now: what was begun of the others goes.
    let o = fallside(&[&"gallery", &"--in", &project, &"--find", &"id:P0001", &"--out", &site]);
    assert!(o.status.success(), "{}", said(&o));
    assert!(parts(&site).is_empty() && site.join(".mine.part").exists(), "{:?}", parts(&site));
    for picture in pictures() {
        assert!(picture.starts_with(site.join("iiif/P0001")), "{}", picture.display());
        codec::read(&picture, &codec::Limits::default()).unwrap_or_else(|e| panic!("{}: {e}", picture.display()));
    }
}

/// The order of system calls, as the system itself tells it (strace); where that is not installed, this test says so.
#[test]
fn a_report_and_a_sidecar_are_on_the_disk_before_they_have_their_names() {
    let tmp = tempfile::tempdir().unwrap();
    let project = copied(tmp.path());
    let log = tmp.path().join("calls");
    let traced = |words: &[&str]| {
        let mut command = Command::new("strace");
        command.args([
            "-f",
            "-y",
            "-e",
            "trace=fsync,fdatasync,rename,renameat,renameat2,link,linkat",
            "-o",
            text(&log),
        ]);
        command.arg(env!("CARGO_BIN_EXE_fallside")).args(words).stdout(Stdio::null()).stderr(Stdio::null());
        command.status().is_ok_and(|s| s.success())
    };
    let card = project.join("card");
    let (f0, f1, out) = (card.join("F0.png"), card.join("F1.png"), tmp.path().join("out"));
    if !traced(&["finish", text(&f0), text(&f1), "--out", text(&out)]) {
        // Past the test runner, which keeps back what a test that passed has printed.
        let says =
            b"\nNOT TESTED: that reports and sidecars are on the disk before they have their names. Install strace.\n";
        let _ = std::io::stderr().write_all(says);
        return;
    }
    synced(&log, "F1.report.json");
    synced(&log, "F1.master.tif");
    assert!(traced(&["describe", "P0001", "--title", "Synced", "--in", text(&project)]));
    synced(&log, ".master.xmp");
}

/// The file's part was flushed before it was renamed to the name, and its folder after.
#[track_caller]
fn synced(log: &Path, name: &str) {
    let calls = std::fs::read_to_string(log).unwrap();
    let calls: Vec<&str> = calls.lines().collect();
    let ends = format!("{name}\"");
    let renamed = calls.iter().rposition(|c| c.contains("rename") && c.contains(&ends) && !c.contains("ENOENT"));
    let renamed = renamed.unwrap_or_else(|| panic!("{name} was never renamed: {calls:#?}"));
    let part = calls[renamed].split('"').nth(1).unwrap();
    // What is renamed twice was flushed under its first name.
    let first = calls[..renamed].iter().find(|c| c.contains("rename") && c.contains(&format!("{part}\")")));
    let part = first.map_or(part, |c| c.split('"').nth(1).unwrap());
    let flushed = |c: &&str, what: &str| c.contains("sync(") && c.contains(&format!("<{what}>"));
    assert!(calls[..renamed].iter().any(|c| flushed(c, part)), "{part} was not flushed: {calls:#?}");
    let folder = Path::new(part).parent().unwrap().display().to_string();
    assert!(calls[renamed..].iter().any(|c| flushed(c, &folder)), "{folder} was not flushed: {calls:#?}");
}
