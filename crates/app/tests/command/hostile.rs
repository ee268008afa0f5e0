//! Projects and folders that somebody sent: lists, reports, rows, sidecars and manifests that name files elsewhere. Nothing
//! outside is written, removed or handed on, and the command says so or goes on without.

use crate::served;
use crate::small_project::copy::{copied, held, named};
use crate::small_project::{fallside, said};
use serde_json::{Value, json};
use std::os::unix::fs::symlink;
use std::path::{Path, PathBuf};

/// What an attacker wants and never gets: a folder of somebody's own beside what was sent.
fn theirs(top: &Path) -> PathBuf {
    let place = top.join("theirs");
    std::fs::create_dir_all(place.join("sub")).unwrap();
    for name in ["letter.txt", "sub/F1.xmp", "F1.jpg"] {
        std::fs::write(place.join(name), "mine").unwrap();
    }
    place
}

fn change(report: &Path, with: impl FnOnce(&mut Value)) {
    let mut json: Value = serde_json::from_slice(&std::fs::read(report).unwrap()).unwrap();
    with(&mut json);
    std::fs::write(report, json.to_string()).unwrap();
}

fn holds(folder: &Path, needle: &[u8]) -> bool {
    held(folder).keys().any(|p| std::fs::read(p).unwrap().windows(needle.len()).any(|w| w == needle))
}

#[test]
fn a_list_of_a_hand_off_removes_nothing_that_we_did_not_make() {
    let tmp = tempfile::tempdir().unwrap();
    let top = tmp.path();
    let (project, victim, out) = (copied(top), theirs(top), top.join("out"));
    let run = |command: &str| {
        let o = fallside(&[&command, &"--in", &project, &"--find", &"id:P0001", &"--out", &out]);
        (o.status.code(), said(&o))
    };
    for (command, kind) in [("gallery", "gallery"), ("share", "shares")] {
        let _ = std::fs::remove_dir_all(&out);
        assert_eq!(run(command).0, Some(0));
        std::fs::create_dir_all(out.join("holiday")).unwrap();
        std::fs::create_dir_all(out.join("iiif/P9")).unwrap();
        for name in ["holiday/a.jpg", "notes.txt", "iiif/P9/mine.txt", "look"] {
            let _ = std::fs::write(out.join(name), "mine");
        }
        symlink(&victim, out.join("away")).unwrap();
        let mine = blake3::hash(b"mine").to_hex();
        let lines = [
            format!("begun {}/", victim.display()),
            "begun ../theirs/".into(),
            "begun iiif/../../theirs/".into(),
            "begun away/".into(),
            "begun away/sub/".into(),
            "begun holiday/".into(),
            "begun iiif/P9/".into(),
            "begun /".into(),
            format!("{mine} ../theirs/letter.txt"),
            format!("{mine} {}/F1.jpg", victim.display()),
            format!("{mine} away/F1.jpg"),
            format!("{mine} notes.txt"),
            format!("{mine} holiday/a.jpg"),
        ];
        let before = (held(&victim), held(&out.join("holiday")));
        let first = format!("Fallside {kind}: files written here, each with its BLAKE3.\n");
        let old = std::fs::read_to_string(out.join(".fallside-files")).unwrap();
        assert!(old.starts_with(&first));
        std::fs::write(out.join(".fallside-files"), old + &lines.join("\n") + "\n").unwrap();
        let (code, told) = run(command);
        // What looks like a picture of a gallery's own is named, so that a person can delete it.
        assert_eq!(code, Some(if kind == "gallery" { 1 } else { 0 }), "{told}");
        assert_eq!(told.contains("iiif/P9/ was changed since Fallside wrote it"), kind == "gallery", "{told}");
        assert_eq!((held(&victim), held(&out.join("holiday"))), before, "{command}");
        assert!(out.join("notes.txt").exists() && out.join("iiif/P9/mine.txt").exists(), "{command}");
    }
}

#[test]
fn a_report_hands_on_nothing_from_outside_its_folder() {
    let tmp = tempfile::tempdir().unwrap();
    let top = tmp.path();
    let (project, secret) = (copied(top), top.join("secret"));
    let results = project.join("finished");
    std::fs::create_dir_all(results.join(".fallside")).unwrap();
    let report = named(&results.join("reports"), "F1-", ".report.json");
    // A real mount, so that only its place stands against it.
    std::fs::create_dir(&secret).unwrap();
    std::fs::copy(named(&results.join("mounts"), "F1-", ".mount.tif"), secret.join("mount.tif")).unwrap();
    symlink(&secret, results.join("mounts/link")).unwrap();
    let absolute = secret.join("mount.tif").display().to_string();
    for way in ["../../../secret/mount.tif", absolute.as_str(), "../mounts/link/mount.tif"] {
        change(&report, |r| r["canvas"]["mount"] = json!(way));
        for command in ["share", "gallery"] {
            let out = top.join(format!("{command}-{}", way.len()));
            let o = fallside(&[&command, &"--in", &results, &"--all", &"--out", &out]);
            assert_eq!(o.status.code(), Some(1), "{way}: {}", said(&o));
            assert!(said(&o).contains("its mount is missing"), "{way}: {}", said(&o));
            assert!(!held(&out).keys().any(|p| p.to_string_lossy().contains("F1-")), "{way}");
        }
    }
    // An original elsewhere is read where it lies, if it is the one of the report, and never changed.
    change(&report, |r| r["frame"]["path"] = json!("../../../secret/mount.tif"));
    let before = held(&secret);
    let bag = top.join("bag");
    let o = fallside(&[&"pack", &results, &"--out", &bag]);
    assert_eq!(o.status.code(), Some(1), "{}", said(&o));
    assert!(said(&o).contains("not the original that was finished"), "{}", said(&o));
    assert_eq!(held(&secret), before);
    assert!(!bag.join("data/originals/mount.tif").exists());
}

#[test]
fn rows_of_a_catalogue_name_nothing_outside_the_project() {
    let tmp = tempfile::tempdir().unwrap();
    let top = tmp.path();
    let (project, victim) = (copied(top), theirs(top));
    std::fs::write(project.join("card/F1.xmp"), "<my words/>").unwrap();
    std::fs::write(victim.join("key.pem"), "a secret of mine").unwrap();
    let sql = |text: &str| {
        let db = rusqlite::Connection::open(project.join("fallside.db")).unwrap();
        db.execute_batch(text).unwrap();
    };
    let frame = "(SELECT id FROM frame WHERE name = 'F1.png')";
    sql(&format!(
        "UPDATE result SET mount = '../theirs/F1.jpg', share = '../theirs/key.pem', after = '{}' WHERE frame = {frame};
         UPDATE result SET master = 'card/F1.png', recipe = '/../../../x' WHERE frame = {frame};
         UPDATE frame SET twins = '{}' WHERE name = 'F1.png';",
        victim.join("key.pem").display(),
        victim.join("key.pem").display()
    ));
    let before = (held(&victim), held(&project.join("card")));
    // A word is said: its sidecar would lie beside the original, over the photographer's own.
    let o = fallside(&[&"describe", &"P0001", &"--title", &"Told", &"--in", &project]);
    assert!(o.status.success(), "{}", said(&o));
    for (command, code) in [("share", 1), ("gallery", 1), ("pack", 1)] {
        let out = top.join(command);
        let o = fallside(&[&command, &"--in", &project, &"--all", &"--out", &out]);
        assert_eq!(o.status.code(), Some(code), "{command}: {}", said(&o));
        assert!(!holds(&out, b"a secret of mine"), "{command}");
    }
    assert_eq!((held(&victim), held(&project.join("card"))), before);
    // A path with dots that leads back into the bag is no name either.
    sql(&format!("UPDATE result SET mount = 'finished/../../theirs/F1.jpg' WHERE frame = {frame};"));
    let o = fallside(&[&"pack", &"--in", &project, &"--all", &"--out", &top.join("bag")]);
    assert_eq!(o.status.code(), Some(1), "{}", said(&o));
    assert_eq!(held(&victim), before.0);
    // A folder of charts that is a link.
    let _ = std::fs::remove_dir_all(project.join("charts"));
    symlink(&victim, project.join("charts")).unwrap();
    let o = fallside(&[&"pack", &"--in", &project, &"--all", &"--out", &top.join("bag2")]);
    assert!(o.status.code().is_some_and(|c| c < 2), "{}", said(&o));
    assert!(!holds(&top.join("bag2"), b"a secret of mine"));
}

#[test]
fn sidecars_and_reports_send_a_rebuild_nowhere() {
    let tmp = tempfile::tempdir().unwrap();
    let top = tmp.path();
    let (project, victim) = (copied(top), theirs(top));
    std::fs::write(victim.join("key.pem"), "a secret of mine").unwrap();
    std::fs::copy(project.join("card/F2.png"), victim.join("F1.png")).unwrap();
    let report = named(&project.join("finished/reports"), "F1-", ".report.json");
    // The master's sidecar would be `theirs/sub/F1.xmp`, which cannot be read and would be set aside.
    change(&report, |r| r["canvas"]["master"] = json!("../../../theirs/sub/F1.tif"));
    let second = named(&project.join("finished/masters"), "F2-", ".xmp");
    let text = std::fs::read_to_string(&second).unwrap();
    let key = victim.join("key.pem").display().to_string();
    assert!(text.contains("card/F2.png"));
    std::fs::write(&second, text.replace("card/F2.png", &key)).unwrap();
    let before = held(&victim);
    let o = fallside(&[&"rebuild", &"--in", &project]);
    assert!(o.status.code().is_some_and(|c| c < 2), "{}", said(&o));
    let o = fallside(&[&"describe", &"P0004", &"--title", &"Told", &"--in", &project]);
    assert!(o.status.success(), "{}", said(&o));
    let bag = top.join("bag");
    let o = fallside(&[&"pack", &"--in", &project, &"--all", &"--out", &bag]);
    assert_eq!(o.status.code(), Some(1), "{}", said(&o));
    assert_eq!(held(&victim), before);
    assert!(!holds(&bag, b"a secret of mine"));
}

#[test]
fn manifests_and_notes_of_an_archive_lead_nowhere() {
    let tmp = tempfile::tempdir().unwrap();
    let top = tmp.path();
    let (project, victim, bag) = (copied(top), theirs(top), top.join("bag"));
    let pack = || fallside(&[&"pack", &"--in", &project, &"--all", &"--out", &bag]);
    assert!(pack().status.success());
    let sum = "0".repeat(128);
    let hostile =
        format!("{sum}  ../theirs/letter.txt\n{sum}  {}/F1.jpg\n{sum}  data/../../theirs/F1.jpg\n", victim.display());
    let manifest = std::fs::read_to_string(bag.join("manifest-sha512.txt")).unwrap();
    std::fs::write(bag.join("manifest-sha512.txt"), manifest.clone() + &hostile).unwrap();
    std::fs::write(bag.join("packing.txt"), format!("{sum} 4 ../theirs/letter.txt\n{sum} 4 data/up/letter.txt\n"))
        .unwrap();
    let before = held(&victim);
    let o = pack();
    assert!(o.status.code().is_some_and(|c| c < 2), "{}", said(&o));
    let after = std::fs::read_to_string(bag.join("manifest-sha512.txt")).unwrap();
    assert!(!after.contains("theirs"), "{after}");
    assert_eq!(held(&victim), before);
    // Read again: a link in the payload is no file of the bag, whatever it leads to.
    let original = bag.join("data/originals/F1.png");
    std::fs::rename(&original, victim.join("F1.png")).unwrap();
    symlink(victim.join("F1.png"), &original).unwrap();
    let o = fallside(&[&"verify", &bag]);
    assert_eq!(o.status.code(), Some(1), "{}", said(&o));
    assert!(said(&o).contains("it is not a regular file of the bag"), "{}", said(&o));
    let o = pack();
    assert_eq!(o.status.code(), Some(2), "{}", said(&o));
    assert!(victim.join("F1.png").exists());
    // Somebody's own packing list is no note of ours.
    let own = top.join("own");
    std::fs::create_dir(&own).unwrap();
    std::fs::write(own.join("packing.txt"), "two shirts\na coat\n").unwrap();
    let before = held(&own);
    let o = fallside(&[&"pack", &"--in", &project, &"--all", &"--out", &own]);
    assert!(o.status.code() == Some(2) && said(&o).contains("contains something else"), "{}", said(&o));
    assert_eq!(held(&own), before);
}

#[test]
fn an_archive_keeps_its_originals_when_another_box_comes() {
    let tmp = tempfile::tempdir().unwrap();
    let top = tmp.path();
    let (first, bag) = (copied(&top.join("1")), top.join("bag"));
    let o = fallside(&[&"pack", &"--in", &first, &"--all", &"--out", &bag]);
    assert!(o.status.success(), "{}", said(&o));
    // Another box whose frames have the same names.
    let card = top.join("card");
    std::fs::create_dir(&card).unwrap();
    for (from, to) in [("F0.png", "F0.png"), ("F3.png", "F1.png")] {
        let mut bytes = std::fs::read(first.join("card").join(from)).unwrap();
        // What follows the end of a PNG is no picture (ISO/IEC 15948, 11.2.5): another file of the same look.
        bytes.extend_from_slice(b"another");
        std::fs::write(card.join(to), bytes).unwrap();
    }
    let second = top.join("second");
    let o = fallside(&[&"take", &card, &"--in", &second]);
    assert!(o.status.code().is_some_and(|c| c < 2), "{}", said(&o));
    let before = held(&bag);
    let o = fallside(&[&"pack", &"--in", &second, &"--all", &"--out", &bag]);
    assert_eq!(o.status.code(), Some(2), "{}", said(&o));
    assert!(said(&o).contains("archive of another box"), "{}", said(&o));
    assert_eq!(held(&bag), before);
}

#[test]
fn what_a_folder_of_results_remembers_leads_nowhere() {
    let tmp = tempfile::tempdir().unwrap();
    let top = tmp.path();
    let (project, victim, out) = (copied(top), theirs(top), top.join("out"));
    let card = project.join("card");
    let hash = |name: &str| blake3::hash(&std::fs::read(card.join(name)).unwrap()).to_hex().to_string();
    std::fs::create_dir_all(out.join(".fallside")).unwrap();
    std::fs::create_dir_all(out.join("reports")).unwrap();
    let names = json!({ "../../theirs/F1": hash("F1.png"), "F1": hash("F1.png"), "/tmp/F0": hash("F0.png") });
    let claims = json!({ "schema": "fallside.box/1", "folders": ["../theirs"], "names": names });
    std::fs::write(out.join(".fallside/box.json"), claims.to_string()).unwrap();
    let letter = victim.join("letter.txt").display().to_string();
    let sitting = format!(
        "[[roles]]\nrole = \"blank\"\nfile = \"../theirs/letter.txt\"\n[[roles]]\nrole = \"blank\"\nfile = \"{letter}\"\n"
    );
    std::fs::write(out.join("sitting.toml"), sitting).unwrap();
    std::fs::copy(card.join("F0.png"), victim.join("F0.png")).unwrap();
    std::fs::write(victim.join("mine.png"), "mine").unwrap();
    let before = (held(&victim), held(&card));
    let o = fallside(&[&"finish", &card.join("F0.png"), &card.join("F1.png"), &"--out", &out]);
    assert!(o.status.code().is_some_and(|c| c < 2), "{}", said(&o));
    assert_eq!((held(&victim), held(&card)), before);
    assert!(out.join("reports/F1.report.json").exists());
}

#[test]
fn a_hand_off_is_made_again_nowhere_else() {
    let tmp = tempfile::tempdir().unwrap();
    let top = tmp.path();
    let (project, victim, real) = (copied(top), theirs(top), top.join("real"));
    // A gallery of somebody's own, and a project that was sent, whose hand-offs lead to it and to any folder.
    let o = fallside(&[&"gallery", &"--in", &project, &"--all", &"--out", &real]);
    assert!(o.status.success(), "{}", said(&o));
    std::fs::create_dir(project.join("handed-on")).unwrap();
    symlink(&real, project.join("handed-on/site")).unwrap();
    std::fs::create_dir(project.join("handed-on/archive")).unwrap();
    let forms = [
        ("site", json!({ "form": "gallery", "title": "Mine now" })),
        ("archive", json!({ "form": "pack", "place": victim })),
    ];
    let before = (held(&real), held(&victim));
    for (name, form) in forms {
        let none: [&str; 0] = [];
        let mut account = json!({
            "schema": "fallside.hand-off/1", "at": "2026-11-01T00:00:00Z", "edit": null, "whole": true, "count": 3,
            "says": none, "problems": none, "private": none, "difference": none, "alt_missing": none, "files": ["../../x"],
            "shares": none,
        });
        account.as_object_mut().unwrap().extend(form.as_object().unwrap().clone());
        std::fs::write(project.join(format!("handed-on/{name}.json")), account.to_string()).unwrap();
        let desk = served::Desk::open(&project);
        let answer = desk.post(&format!("/api/hand/{name}/again"), &json!({}));
        assert_eq!(answer.status, 200, "{name}: {}", answer.json());
        let ended = desk.until("/api/hand", |h| h["making"].is_null() && !h["ended"].is_null())["ended"].clone();
        let says = if name == "site" { "leads out of the project" } else { "contains something else" };
        assert!(ended["says"].as_str().unwrap().contains(says), "{name}: {ended:#}");
        assert_eq!((held(&real), held(&victim)), before, "{name}");
    }
}
