//! `fallside check` as a photographer uses it: drawn frames of a rig, what is named, and words that cannot be.

mod drawn;

use drawn::shoot;
use geometry::{Angle, point, ruler::Paper};
use optics::Pose;
use scene::{Rig, Scene};
use serde_json::Value;
use std::path::Path;
use std::process::{Command, Output};

fn check(words: &[&dyn AsRef<std::ffi::OsStr>]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_fallside"));
    command.arg("check");
    words.iter().for_each(|w| {
        command.arg(w);
    });
    command.output().unwrap()
}

fn said(o: &Output) -> String {
    String::from_utf8_lossy(&o.stderr).into_owned()
}

/// A rig that leans by so many degrees about x and y.
fn leaning(x: f64, y: f64) -> Rig {
    let mut rig = Rig::default();
    (rig.camera.tilt_x, rig.camera.tilt_y) = (Angle::deg(x), Angle::deg(y));
    rig
}

/// Ruler and blank of a rig, and what `check` says of them.
fn checked(rig: &Rig, folder: &Path) -> Value {
    let lies = Pose { centre: point(1.0, -2.0), rotation: Angle::deg(1.5) };
    shoot(folder, "F1.png", &Scene::ruler(rig.clone(), Paper::A4, lies, 3), 1, 8.0);
    shoot(folder, "F2.png", &Scene::blank(rig.clone(), 5), 2, 8.0);
    let o = check(&[&folder, &"--json"]);
    assert_eq!(o.status.code(), Some(0), "{}", said(&o));
    serde_json::from_slice(&o.stdout).unwrap()
}

fn fault<'a>(answer: &'a Value, code: &str) -> Option<&'a Value> {
    answer["faults"].as_array().unwrap().iter().find(|f| f["code"] == code)
}

#[test]
fn a_leaning_camera_is_named_with_its_size_and_a_level_one_is_not() {
    let folder = tempfile::tempdir().unwrap();
    let answer = checked(&leaning(1.2, -0.6), &folder.path().join("leans"));
    assert_eq!(answer["schema"], "fallside.check/1");
    let ruler = &answer["ruler"];
    // The bar for rendered frames: 0.1 degree at the worst.
    for (axis, truth) in [("tilt_x_deg", 1.2), ("tilt_y_deg", -0.6)] {
        let read = ruler[axis]["value"].as_f64().unwrap();
        assert!((read - truth).abs() < 0.1, "{axis}: {read} for {truth}");
    }
    let tilt = fault(&answer, "camera.tilt").unwrap_or_else(|| panic!("{answer:#}"));
    let size = tilt["value"].as_f64().unwrap();
    let truth = 1.2f64.hypot(0.6);
    assert!((size / truth - 1.0).abs() < 0.2 && !tilt["do"].as_str().unwrap().is_empty(), "{tilt}");
    let level = checked(&leaning(0.0, 0.0), &folder.path().join("level"));
    assert!(fault(&level, "camera.tilt").is_none(), "{:#}", level["faults"]);
}

#[test]
fn what_cannot_be_checked_is_one_line() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    std::fs::create_dir(at("empty")).unwrap();
    std::fs::write(at("letter.jpg"), "Dear photographer").unwrap();
    std::fs::write(at("other.json"), "{\"schema\": \"fallside.report/1\"}").unwrap();
    shoot(folder.path(), "blank.png", &Scene::blank(Rig::default(), 5), 2, 8.0);
    let cases: [(&[&dyn AsRef<std::ffi::OsStr>], &str); 6] = [
        (&[&at("empty")], "no frame to check"),
        (&[&at("nowhere")], "nowhere"),
        (&[&at("letter.jpg")], "letter.jpg"),
        (&[&"--ruler", &at("blank.png")], "blank.png"),
        (&[&at("blank.png"), &"--plan", &at("other.json")], "other.json"),
        (&[&at("blank.png"), &"--bar-mm", &"15"], "bar"),
    ];
    for (words, told) in cases {
        let o = check(words);
        let line = said(&o);
        assert_eq!(o.status.code(), Some(2), "{told}: {line}");
        assert!(line.contains(told) && !line.contains("panicked"), "{told}: {line}");
    }
}
