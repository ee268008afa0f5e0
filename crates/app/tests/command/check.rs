//! `fallside check` as a photographer uses it: drawn frames of a rig, what is named, and words that cannot be.

use crate::drawn;
use crate::drawn::shoot;
use geometry::{Angle, Length, point, ruler::Paper};
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
        (&[&at("empty")], "no frames to check"),
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

/// A row of pixels as a mirror shows it.
fn flipped(row: &[u8]) -> Vec<u8> {
    row.chunks_exact(3).rev().flatten().copied().collect()
}

fn ruler_at(x: f64, y: f64) -> Scene {
    Scene::ruler(Rig::default(), Paper::A4, Pose { centre: point(x, y), rotation: Angle::deg(1.5) }, 3)
}

fn chart_at(x: f64, y: f64) -> Scene {
    Scene::chart(Rig::default(), Pose { centre: point(x, y), rotation: Angle::deg(0.5) }, 4)
}

/// A frame that cannot be used: its name, what is drawn, how a row of it is written, the word it is given under, and what is wrong with
/// what mends it.
type Bad = (&'static str, Scene, fn(&[u8]) -> Vec<u8>, [&'static str; 2], [&'static str; 2]);

/// Each frame that cannot be used is named with what is wrong and what to do, and the bed beside it is measured all the same.
#[test]
fn a_bad_frame_is_told_with_a_remedy_and_does_not_stop_the_rest() {
    let top = tempfile::tempdir().unwrap();
    let values = top.path().join("values.txt");
    std::fs::write(&values, scene::chart::cgats()).unwrap();
    let upright = <[u8]>::to_vec as fn(&[u8]) -> Vec<u8>;
    let ruler = ["--ruler", "--ruler"];
    let chart = ["--chart", "--chart"];
    // The world's x runs to the frame's right: a sheet far to the left leaves the right bare.
    let cases: [Bad; 7] = [
        ("half-out", ruler_at(-110.0, 0.0), upright, ["", ""], ["leaves the frame's right bare", "fill the frame"]),
        ("half-out-said", ruler_at(-110.0, 0.0), upright, ruler, ["leaves the frame's right bare", "fill the frame"]),
        ("no-ruler", Scene::blank(Rig::default(), 6), upright, ruler, ["no ruler sheet found", "lay it flat"]),
        (
            "mirrored-ruler",
            ruler_at(1.0, -2.0),
            flipped,
            ["", ""],
            ["ruler sheet is seen in a mirror", "use the frame"],
        ),
        ("mirrored-chart", chart_at(1.0, -2.0), flipped, chart, ["chart is seen in a mirror", "use the frame"]),
        ("half-a-chart", chart_at(-82.0, 0.0), upright, chart, ["chart", "whole chart"]),
        ("no-chart", Scene::blank(Rig::default(), 6), upright, chart, ["no colour chart found", "lay the whole chart"]),
    ];
    let blank = top.path().join("blank.png");
    shoot(top.path(), "blank.png", &Scene::blank(Rig::default(), 5), 1, 8.0);
    for (name, scene, row, word, [wrong, remedy]) in cases {
        let folder = top.path().join(name);
        let frame = folder.join("frame.png");
        drawn::shoot_as(&folder, "frame.png", &scene, 2, 8.0, row);
        let mut words: Vec<&dyn AsRef<std::ffi::OsStr>> = vec![&"--blank", &blank];
        if !word[0].is_empty() {
            words.push(&word[0]);
        }
        words.extend([&frame as &dyn AsRef<std::ffi::OsStr>, &"--chart-values", &values, &"--json"]);
        let o = check(&words);
        let lines = said(&o);
        assert_eq!(o.status.code(), Some(1), "{name}: {lines}");
        let line = lines.lines().find(|l| l.contains("frame.png")).unwrap_or_else(|| panic!("{name}: {lines}"));
        let low = line.to_lowercase();
        assert!(low.contains(wrong) && low.contains(remedy), "{name}: {line}");
        let answer: Value = serde_json::from_slice(&o.stdout).unwrap();
        assert!(answer["blank"].is_object() && answer["problems"].as_array().unwrap().len() == 1, "{name}: {answer:#}");
    }
}

/// Plan, shoot, check: a rig that is off its plan by known amounts, and the table that says so with the moves.
#[test]
fn a_rig_beside_its_plan_is_told_what_to_move_and_how_far() {
    let top = tempfile::tempdir().unwrap();
    // 8 pixels per mm, 203 ppi: what the web asks for. `Light::at` counts counter-clockwise from image right: 135 degrees is the frame's
    // upper left.
    let mut rig = Rig {
        camera: optics::Camera::over(3000.0, 2000.0, Length::mm(36.0), Length::mm(150.0), Length::mm(420.0)),
        ..Rig::default()
    };
    let focal = rig.camera.focal.to_mm();
    let words = [
        "--aim",
        "web",
        "--format",
        "square-integral",
        "--sensor",
        "36x24",
        "--pixels",
        "1200x800",
        "--field",
        "150mm",
        "--aperture",
        "f/8",
        "--light-from",
        "upper-left",
        "--elevation",
        "45deg",
        "--light-distance",
        "1.8m",
        "--json",
    ];
    let made = Command::new(env!("CARGO_BIN_EXE_fallside"))
        .arg("plan")
        .args(words)
        .args(["--lens", &format!("{focal}mm-macro")])
        .output()
        .unwrap();
    assert_eq!(made.status.code(), Some(0), "{}", said(&made));
    let plan = top.path().join("plan.json");
    std::fs::write(&plan, &made.stdout).unwrap();

    // Twelve millimetres too high and focused anew, the light knocked round by 30 degrees, one stop closed too far.
    rig.camera.distance = Length::mm(420.0 + 12.0);
    rig.light = optics::Light::at(Angle::deg(165.0), Angle::deg(45.0), Length::mm(1800.0), rig.light.shape);
    let card = top.path().join("card");
    shoot(
        &card,
        "F1.png",
        &Scene::ruler(rig.clone(), Paper::A4, Pose { centre: point(1.0, -2.0), rotation: Angle::deg(1.5) }, 3),
        1,
        11.3,
    );
    shoot(&card, "F2.png", &Scene::blank(rig.clone(), 5), 2, 11.3);
    let o = check(&[&card, &"--plan", &plan, &"--json"]);
    assert_eq!(o.status.code(), Some(0), "{}", said(&o));
    let answer: Value = serde_json::from_slice(&o.stdout).unwrap();
    let row = |figure: &str| {
        let all = answer["plan"].as_array().unwrap();
        let row = all.iter().find(|r| r["figure"] == figure).unwrap_or_else(|| panic!("{figure}: {answer:#}"));
        (
            row["planned"].as_f64().unwrap(),
            row["measured"]["value"].as_f64().unwrap(),
            row["differs"] == true,
            row["do"].as_str().unwrap_or_default().to_owned(),
        )
    };
    // Sensor to bed by the thin lens (Gauss): `d + f d / (d - f)`.
    let whole = |d: f64| d + focal * d / (d - focal);
    let (planned, measured, differs, remedy) = row("height");
    assert!((planned - whole(420.0)).abs() < 1.0 && (measured - whole(432.0)).abs() < 1.0, "{planned} {measured}");
    let off = whole(432.0) - whole(420.0);
    assert!(differs && remedy.starts_with("Lower the camera by "), "{remedy}");
    assert!((millimetres(&remedy) / off - 1.0).abs() < 0.2, "{remedy}, {off} mm off");
    // In the image azimuths run clockwise: from 225 to 195 degrees.
    let (planned, measured, differs, remedy) = row("light-azimuth");
    assert!((planned - 225.0).abs() < 0.5 && (measured - 195.0).abs() < 5.0 && differs, "{planned} {measured}");
    assert!(remedy.contains("30") || remedy.contains("29") || remedy.contains("31"), "{remedy}");
    assert!(remedy.ends_with("clockwise round the frame.") && !remedy.contains("counter"), "{remedy}");
    let (planned, measured, differs, remedy) = row("f-number");
    assert_eq!((planned, measured, differs, remedy.as_str()), (8.0, 11.3, true, "Open from f/11 to f/8."));
    let height = fault(&answer, "camera.aperture").unwrap_or_else(|| panic!("{:#}", answer["faults"]));
    assert_eq!((height["direction"].as_str(), height["step"]["unit"].as_str()), (Some("closed"), Some("stops")));
    // What is as planned says nothing.
    assert!(!row("pixels").2 && !row("level").2 && !row("focal-length").2, "{:#}", answer["plan"]);

    let text = String::from_utf8(check(&[&card, &"--plan", &plan]).stdout).unwrap();
    let line = text.lines().find(|l| l.contains("height")).unwrap_or_else(|| panic!("{text}"));
    assert!(text.contains("planned    measured") && line.starts_with('!') && line.ends_with("mm"), "{text}");
}

/// The first number of a sentence.
fn millimetres(sentence: &str) -> f64 {
    let digits: String =
        sentence.chars().skip_while(|c| !c.is_ascii_digit()).take_while(|c| c.is_ascii_digit() || *c == '.').collect();
    digits.parse().unwrap_or_else(|_| panic!("{sentence}"))
}
