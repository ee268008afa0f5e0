//! What a photographer has is kept: the first box's results, the words of a damaged sidecar, the truth about a file that changed.

use crate::small_project::copy::{copied, held, named};
use crate::small_project::{fallside, said};
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

fn finish(inputs: &[PathBuf], out: &Path) -> std::process::Output {
    let mut words: Vec<&dyn AsRef<std::ffi::OsStr>> = vec![&"finish"];
    inputs.iter().for_each(|i| words.push(i));
    words.extend([&"--out" as &dyn AsRef<std::ffi::OsStr>, &out]);
    fallside(&words)
}

fn report(place: &Path) -> Value {
    serde_json::from_slice(&std::fs::read(place).unwrap()).unwrap()
}

#[test]
fn a_second_original_of_one_name_leaves_the_first_ones_results() {
    let tmp = tempfile::tempdir().unwrap();
    let top = tmp.path();
    let (card, other, out) = (copied(top).join("card"), top.join("other"), top.join("out"));
    std::fs::create_dir(&other).unwrap();
    std::fs::copy(card.join("F3.png"), other.join("F1.png")).unwrap();
    assert!(finish(&[card.join("F0.png"), card.join("F1.png")], &out).status.success());
    let first = held(&out);
    // With its list of names, and as an earlier version left it: known by the reports.
    for earlier in [false, true] {
        if earlier {
            std::fs::remove_file(out.join(".fallside/box.json")).unwrap();
        }
        let o = finish(&[other.join("F1.png")], &out);
        assert!(o.status.code().is_some_and(|c| c < 2), "{}", said(&o));
        let now = held(&out);
        let results = first.iter().filter(|(p, _)| {
            ["masters", "mounts", "shares", "reports", "previews"].iter().any(|f| p.starts_with(out.join(f)))
        });
        results.for_each(|(p, hash)| assert_eq!(now[p], *hash, "{}", p.display()));
        let second = named(&out.join("reports"), "F1-", ".report.json");
        let hash = blake3::hash(&std::fs::read(other.join("F1.png")).unwrap()).to_hex().to_string();
        assert_eq!(report(&second)["frame"]["blake3"], hash.as_str());
    }
    // Somebody's own files of the names of results, in a folder without our mark.
    let mine = top.join("mine");
    std::fs::create_dir_all(mine.join("masters")).unwrap();
    for name in ["index.html", "masters/F1.master.tif", "masters/.F1.part", ".hidden"] {
        std::fs::write(mine.join(name), "mine").unwrap();
    }
    let before = held(&mine);
    let o = finish(&[card.join("F1.png")], &mine);
    assert!(o.status.code() == Some(2) && said(&o).contains("not made by Fallside"), "{}", said(&o));
    std::fs::remove_dir_all(mine.join("masters")).unwrap();
    let o = finish(&[card.join("F1.png")], &mine);
    assert!(o.status.code() == Some(2) && said(&o).contains("not a page made by Fallside"), "{}", said(&o));
    assert!(held(&mine).iter().all(|(p, hash)| before[p] == *hash));
    // In a folder of ours, their hidden files and parts stay.
    for name in [".hidden", "masters/.mine.part", "masters/mine.part", "shares/.F9.jpg.part"] {
        std::fs::write(out.join(name), "mine").unwrap();
    }
    std::fs::write(out.join("masters/.fallside-F1.master.tif.part"), "half").unwrap();
    assert!(finish(&[card.join("F0.png"), card.join("F1.png")], &out).status.success());
    for name in [".hidden", "masters/.mine.part", "masters/mine.part", "shares/.F9.jpg.part"] {
        assert_eq!(std::fs::read(out.join(name)).unwrap(), b"mine", "{name}");
    }
    assert!(!out.join("masters/.fallside-F1.master.tif.part").exists());
}

#[test]
fn a_sidecar_that_cannot_be_read_is_set_aside_and_named() {
    let tmp = tempfile::tempdir().unwrap();
    let project = copied(tmp.path());
    let masters = project.join("finished/masters");
    let sidecar = named(&masters, "F1-", ".xmp");
    for (round, command) in [(1, "describe"), (2, "rebuild")] {
        // One wrong character, as an editor leaves it: an ampersand that begins no reference (XML 1.0, 2.4).
        let damaged = std::fs::read_to_string(&sidecar).unwrap().replace("Low water", "Low & water");
        std::fs::write(&sidecar, &damaged).unwrap();
        let o = match command {
            "describe" => fallside(&[&"describe", &"P0001", &"--note", &"more", &"--in", &project]),
            _ => fallside(&[&"rebuild", &"--in", &project]),
        };
        let kept = masters.join(format!("{}.unread-{round}.xmp", sidecar.file_stem().unwrap().to_str().unwrap()));
        assert_eq!(std::fs::read_to_string(&kept).unwrap(), damaged, "{command}: {}", said(&o));
        assert!(said(&o).contains(kept.to_str().unwrap()), "{command}: {}", said(&o));
        assert_eq!(o.status.code(), Some(i32::from(command == "rebuild")), "{}", said(&o));
        let title = "Low water <1>";
        assert!(
            std::fs::read_to_string(&sidecar).is_ok_and(|t| !t.contains("Low & ")) || command == "rebuild",
            "{title}"
        );
    }
}

#[test]
fn a_file_that_is_replaced_while_a_run_is_going_fails_its_frame() {
    let tmp = tempfile::tempdir().unwrap();
    let top = tmp.path();
    let (card, out) = (copied(top).join("card"), top.join("out"));
    // More frames of their own bytes, so that the last is still waiting when the first is in work.
    for n in 5..12 {
        let mut bytes = std::fs::read(card.join("F1.png")).unwrap();
        bytes.extend_from_slice(format!("{n}").as_bytes());
        std::fs::write(card.join(format!("F{n}.png")), bytes).unwrap();
    }
    let mut child = Command::new(env!("CARGO_BIN_EXE_fallside"))
        .args(["finish".as_ref(), card.as_os_str(), "--out".as_ref(), out.as_os_str()])
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let begun = Instant::now();
    while std::fs::read_dir(out.join("masters")).into_iter().flatten().next().is_none() {
        assert!(begun.elapsed() < Duration::from_secs(120) && child.try_wait().unwrap().is_none());
        std::thread::sleep(Duration::from_millis(2));
    }
    std::fs::copy(card.join("F2.png"), card.join("F11.png")).unwrap();
    let o = child.wait_with_output().unwrap();
    assert_eq!(o.status.code(), Some(1), "{}", said(&o));
    let line = said(&o).lines().find(|l| l.contains("F11.png")).map(str::to_owned).unwrap_or_default();
    assert!(line.contains("changed while it was read"), "{}", said(&o));
    assert!(!out.join("reports/F11.report.json").exists() && out.join("reports/F10.report.json").exists());
    // Every report that is there tells of the file that is there.
    for entry in std::fs::read_dir(out.join("reports")).unwrap().map(Result::unwrap) {
        let report = report(&entry.path());
        let original = out.join("reports").join(report["frame"]["path"].as_str().unwrap());
        let hash = blake3::hash(&std::fs::read(original).unwrap()).to_hex().to_string();
        assert_eq!(report["frame"]["blake3"], hash.as_str());
    }
    let o = finish(&[card], &out);
    assert!(o.status.success(), "{}", said(&o));
}
