//! Several prints in one frame, through the built command: each is finished, named, entered and known again by itself.
//!
//! Frames are drawn by `scene`, which knows where every print lies; a print that lies alone must be finished as it always was.

use crate::drawn::shoot;
use geometry::{Angle, Length, point};
use optics::{Camera, Pose};
use scene::{Format, Output, Picture, Placed, Print, Rig, Scene, Subject};
use serde_json::Value;
use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use std::process::Command;

fn fallside(words: &[&dyn AsRef<OsStr>]) -> (Option<i32>, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_fallside"));
    words.iter().for_each(|w| {
        command.arg(w);
    });
    let o = command.output().unwrap();
    let said = format!("{}{}", String::from_utf8_lossy(&o.stdout), String::from_utf8_lossy(&o.stderr));
    (o.status.code(), said)
}

/// A field of so many millimetres across, from a distance that keeps the lens.
fn rig(across: f64) -> Rig {
    let (field, far) = (Length::mm(across), Length::mm(across * 2.545));
    let camera = Camera::over(3000.0, 2000.0, Length::mm(36.0), field, far);
    let mut rig = Rig { camera, ..Rig::default() };
    rig.sensor.output = Output::Srgb8;
    rig
}

fn mini(seed: u64, (x, y): (f64, f64), turn: f64) -> Placed {
    let subject = Subject::ALL[seed as usize % Subject::ALL.len()];
    let print = Print::new(Format::MiniIntegral, Picture::new(subject, seed), seed);
    Placed { print, pose: Pose { centre: point(x, y), rotation: Angle::deg(turn) } }
}

fn scene(across: f64, sheets: Vec<Placed>, seed: u64) -> Scene {
    Scene { sheets, role: scene::Role::Front, ..Scene::blank(rig(across), seed) }
}

/// Two prints side by side, the right one drawn first.
fn two() -> Scene {
    scene(165.0, vec![mini(3, (34.0, 1.0), 0.7), mini(4, (-36.0, -1.0), -0.9)], 31)
}

/// Four in two rows; y is up.
fn four() -> Scene {
    let sheets = vec![
        mini(1, (-42.0, 48.0), 0.8),
        mini(2, (28.0, 47.0), -0.5),
        mini(5, (-40.0, -47.0), -1.0),
        mini(6, (30.0, -48.0), 0.3),
    ];
    scene(290.0, sheets, 41)
}

fn report(out: &Path, stem: &str) -> Value {
    let path = out.join(format!("reports/{stem}.report.json"));
    serde_json::from_slice(&std::fs::read(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))).unwrap()
}

fn names(folder: &Path) -> Vec<String> {
    let mut all: Vec<String> = std::fs::read_dir(folder)
        .into_iter()
        .flatten()
        .flatten()
        .map(|e| e.file_name().into_string().unwrap())
        .filter(|n| !n.starts_with('.'))
        .collect();
    all.sort();
    all
}

fn centre(report: &Value) -> [f64; 2] {
    let corners = report["print"]["outline_px"].as_array().unwrap();
    [0, 1].map(|i| corners.iter().map(|c| c[i].as_f64().unwrap()).sum::<f64>() / 4.0)
}

/// Where the scene says that its sheets lie, in the pixels of the drawn frame.
fn truth(scene: &Scene) -> Vec<[f64; 2]> {
    let shot = scene::render(scene, 1200, 800);
    shot.truth.prints.iter().map(|p| p.outer_px.centre()).map(|c| [c.x, c.y]).collect()
}

fn lies(report: &Value, [x, y]: [f64; 2]) -> bool {
    let c = centre(report);
    (c[0] - x).hypot(c[1] - y) < 4.0
}

fn card() -> (tempfile::TempDir, PathBuf, PathBuf) {
    let top = tempfile::tempdir().unwrap();
    let (card, out) = (top.path().join("card"), top.path().join("out"));
    (top, card, out)
}

#[test]
fn each_print_of_a_frame_has_its_own_report_in_reading_order() {
    let (_top, card, out) = card();
    shoot(&card, "F0007.png", &two(), 1, 8.0);
    let alone = scene(165.0, vec![mini(8, (3.0, 1.0), 90.5)], 51);
    shoot(&card, "F0008.png", &alone, 2, 8.0);
    let (code, said) = fallside(&[&"finish", &card, &"--out", &out]);
    assert_eq!(code, Some(0), "{said}");
    assert_eq!(names(&out.join("reports")), ["F0007-1", "F0007-2", "F0008"].map(|s| format!("{s}.report.json")));
    for folder in ["masters", "mounts", "shares"] {
        let files = names(&out.join(folder));
        assert_eq!(files.len(), 3, "{folder}: {files:?}");
        assert!(files[0].starts_with("F0007-1.") && files[1].starts_with("F0007-2."), "{folder}: {files:?}");
    }
    let (one, other, alone) = (report(&out, "F0007-1"), report(&out, "F0007-2"), report(&out, "F0008"));
    let places = truth(&two());
    assert!(lies(&one, places[1]) && lies(&other, places[0]), "{places:?}: {:?} {:?}", centre(&one), centre(&other));
    assert_eq!(one["frame"]["blake3"], other["frame"]["blake3"]);
    assert_eq!((&one["print"]["number_in_frame"], &one["print"]["prints_in_frame"]), (&1.into(), &2.into()));
    assert!(alone["print"].get("number_in_frame").is_none() && alone["recipe"].get("part").is_none());
    for r in [&one, &other] {
        let codes: Vec<_> = r["findings"].as_array().unwrap().iter().map(|f| f["code"].as_str().unwrap()).collect();
        assert!(!codes.contains(&"two-prints") && !codes.contains(&"left-out"), "{codes:?}");
    }
    // A second run has nothing to do; a report taken away is made again, and it alone.
    let bytes = |stem: &str| std::fs::read(out.join(format!("mounts/{stem}.mount.tif"))).unwrap();
    let (first, second) = (bytes("F0007-1"), bytes("F0007-2"));
    std::fs::remove_file(out.join("reports/F0007-2.report.json")).unwrap();
    let (code, said) = fallside(&[&"finish", &card, &"--out", &out, &"--json"]);
    assert_eq!(code, Some(0), "{said}");
    let state = |stem: &str| {
        let line =
            said.lines().find(|l| l.contains(&format!("/{stem}.report.json"))).unwrap_or_else(|| panic!("{said}"));
        serde_json::from_str::<Value>(line).unwrap()["state"].as_str().unwrap().to_owned()
    };
    assert_eq!(["F0007-1", "F0007-2", "F0008"].map(state), ["already", "finished", "already"]);
    assert_eq!((bytes("F0007-1"), bytes("F0007-2")), (first, second), "the same bytes again");
    // As one print: the surest is finished, and a finding names the other.
    let (code, said) = fallside(&[&"finish", &card, &"--out", &out, &"--one"]);
    assert_eq!(code, Some(0), "{said}");
    assert_eq!(names(&out.join("reports")), ["F0007.report.json", "F0008.report.json"]);
    assert_eq!(names(&out.join("masters")).len(), 2, "nothing of the two is left");
    let whole = report(&out, "F0007");
    assert!(whole["findings"].as_array().unwrap().iter().any(|f| f["code"] == "two-prints"), "{}", whole["findings"]);
}

#[test]
fn a_neighbour_never_shows_in_a_mount() {
    let (_top, card, out) = card();
    shoot(&card, "F0001.png", &two(), 1, 8.0);
    let (code, said) = fallside(&[&"finish", &card, &"--out", &out, &"--srgb-png"]);
    assert_eq!(code, Some(0), "{said}");
    for stem in ["F0001-1", "F0001-2"] {
        let report = report(&out, stem);
        let canvas = &report["canvas"];
        let of = |k: &str| canvas[k].as_f64().unwrap();
        let corner = |i: usize, k: usize| canvas["print_px"][i][k].as_f64().unwrap();
        let (left, right) = (corner(0, 0), corner(1, 0));
        let room = [left, of("width_px") - right].map(|px| px / of("px_per_mm"));
        // 70 mm between the centres of prints 54 mm wide: 16 mm of bed between them.
        assert!(room.iter().all(|mm| (0.5..18.5).contains(mm)), "{stem}: {room:?} mm of bed");
        let limits = codec::Limits::default();
        let mount = codec::read(&out.join(format!("mounts/{stem}.mount.png")), &limits).unwrap().frame;
        // Away from the print's own shadow, which falls to the lower right of a light at the upper left, all is white: codes 255.
        for y in 0..mount.height {
            for x in 0..(left - 1.0) as usize / 2 {
                assert!(mount.linear(x, y).iter().all(|v| *v >= 1.0), "{stem}: {x} {y} {:?}", mount.linear(x, y));
            }
        }
    }
}

#[test]
fn four_prints_are_entered_and_the_catalogue_can_be_made_anew() {
    let (top, card, _) = card();
    let project = top.path().join("archive");
    shoot(&card, "F0009.png", &four(), 1, 8.0);
    let (code, said) = fallside(&[&"take", &card, &"--in", &project]);
    assert_eq!(code, Some(0), "{said}");
    let frames = || -> Vec<(String, String, i64)> {
        let (code, said) = fallside(&[&"list", &"frames", &"--in", &project, &"--json"]);
        assert_eq!(code, Some(0), "{said}");
        let all: Value = serde_json::from_str(&said).unwrap_or_else(|e| panic!("{e}: {said}"));
        let row = |f: &Value| {
            let text = |k: &str| f[k].as_str().unwrap_or_default().to_owned();
            (text("name"), text("print"), f["part"]["number"].as_i64().unwrap_or_default())
        };
        all.as_array().unwrap().iter().map(row).collect()
    };
    let entered = frames();
    let want: Vec<_> = (1..=4).map(|n| (format!("F0009-{n}"), format!("P000{n}"), n)).collect();
    assert_eq!(entered, want, "{said}");
    let reports = names(&project.join("finished/reports"));
    let places = truth(&four());
    for (file, place) in reports.iter().zip(places) {
        let report = report(&project.join("finished"), file.trim_end_matches(".report.json"));
        assert!(lies(&report, place), "{file}: {:?}, not {place:?}", centre(&report));
    }
    // Taken again it is known; with one report gone it is made again, and no print comes twice.
    let (_, said) = fallside(&[&"take", &card, &"--in", &project]);
    assert!(said.contains('1') && frames() == want, "{said}");
    std::fs::remove_file(project.join("finished/reports").join(&reports[2])).unwrap();
    let (code, said) = fallside(&[&"take", &card, &"--in", &project]);
    assert_eq!((code, names(&project.join("finished/reports"))), (Some(0), reports.clone()), "{said}");
    assert_eq!(frames(), want);
    // One of them is mended by its own name; the frame's name alone is not enough.
    let (code, said) = fallside(&[&"mend", &"F0009", &"--shadow", &"0.5", &"--in", &project]);
    assert!(code == Some(2) && said.contains("F0009-1, F0009-2"), "{said}");
    let (code, said) = fallside(&[&"mend", &"F0009-3", &"--shadow", &"0.5", &"--in", &project]);
    assert_eq!(code, Some(0), "{said}");
    let mended = report(&project.join("finished"), reports[2].trim_end_matches(".report.json"));
    assert!(lies(&mended, truth(&four())[2]), "{:?}", centre(&mended));
    assert_eq!(mended["print"]["number_in_frame"], 3);
    // Made anew from reports and sidecars, all is as it was.
    let (code, said) = fallside(&[&"rebuild", &"--in", &project]);
    assert_eq!(code, Some(0), "{said}");
    assert_eq!(frames(), want, "{said}");
    // Packed, the four have one original.
    let bag = top.path().join("bag");
    let (code, said) = fallside(&[&"pack", &"--in", &project, &"--all", &"--out", &bag]);
    assert_eq!(code, Some(0), "{said}");
    assert_eq!(names(&bag.join("data/originals")), ["F0009.png"]);
    assert_eq!(names(&bag.join("data/reports")).len(), 4);
}

#[test]
fn what_is_cut_or_covered_is_named_beside_the_whole_print() {
    let (_top, card, out) = card();
    shoot(&card, "F0001.png", &scene(165.0, vec![mini(7, (-30.0, 2.0), 0.6), mini(8, (76.0, -2.0), 0.5)], 51), 1, 8.0);
    shoot(&card, "F0002.png", &scene(165.0, vec![mini(9, (-22.0, 2.0), 1.0), mini(10, (22.0, -2.0), 0.5)], 61), 2, 8.0);
    let (code, said) = fallside(&[&"finish", &card, &"--out", &out]);
    assert_eq!(code, Some(0), "{said}");
    assert_eq!(names(&out.join("reports")), ["F0001.report.json", "F0002.report.json"], "{said}");
    for (stem, word) in [("F0001", "the right"), ("F0002", "overlap")] {
        let report = report(&out, stem);
        let finding = report["findings"].as_array().unwrap().iter().find(|f| f["code"] == "left-out");
        let says = finding.and_then(|f| f["says"].as_str()).unwrap_or_else(|| panic!("{}", report["findings"]));
        assert!(says.contains(word), "{says}");
    }
}
