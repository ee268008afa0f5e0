//! A sitting that remembers, as a photographer meets it: a ruler among the frames, and `sitting.toml` beside them.

use crate::drawn::shoot;
use geometry::{Angle, point, ruler::Paper};
use optics::Pose;
use scene::{Format, Picture, Print, Rig, Scene, Subject};
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// First radial term of the drawn lens, half diagonals: 1.5 % at the corner, more than a macro lens bends.
const K1: f64 = 0.015;

fn finish(card: &Path, out: &Path) -> Output {
    Command::new(env!("CARGO_BIN_EXE_fallside")).arg("finish").arg(card).arg("--out").arg(out).output().unwrap()
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

fn rig() -> Rig {
    let mut rig = Rig::default();
    rig.camera.lens.k[0] = K1;
    rig.camera.tilt_x = Angle::deg(0.4);
    rig
}

fn print(seed: u64) -> Scene {
    let print = Print::new(Format::SquareIntegral, Picture::new(Subject::Lake, seed), seed);
    Scene::of(rig(), print, Pose { centre: point(-2.0, 1.0), rotation: Angle::deg(91.0) }, seed)
}

fn ruler() -> Scene {
    Scene::ruler(rig(), Paper::A4, Pose { centre: point(1.0, -2.0), rotation: Angle::deg(1.5) }, 3)
}

fn report(out: &Path, stem: &str) -> Value {
    let path = out.join(format!("reports/{stem}.report.json"));
    serde_json::from_slice(&std::fs::read(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))).unwrap()
}

fn notes(report: &Value) -> String {
    report["notes"].to_string()
}

#[test]
fn a_ruler_frame_tells_the_lens_and_the_next_run_remembers_it() {
    let top = tempfile::tempdir().unwrap();
    let (card, out) = (top.path().join("card"), top.path().join("out"));
    shoot(&card, "F1.png", &ruler(), 1, 8.0);
    shoot(&card, "F2.png", &Scene::blank(rig(), 5), 2, 8.0);
    shoot(&card, "F3.png", &print(7), 3, 8.0);
    let done = finish(&card, &out);
    assert_eq!(done.status.code(), Some(0), "{}", said(&done));
    assert_eq!(report(&out, "F1")["frame"]["role"], "ruler");
    let front = report(&out, "F3");
    let k1 = front["recipe"]["lens"]["k1"].as_f64().unwrap_or_else(|| panic!("{front}"));
    assert!((k1 - K1).abs() < 1e-3, "{k1} for {K1}");
    assert!(
        notes(&front).contains("The lens distortion is corrected from the ruler frame F1.png."),
        "{}",
        notes(&front)
    );
    // The second run of the same frames finds nothing to do and leaves the file as it is.
    let held = std::fs::read_to_string(out.join("sitting.toml")).unwrap();
    assert!(held.contains("role = \"ruler\"") && held.contains("../card/F2.png"), "{held}");
    let before = std::fs::metadata(out.join("reports/F3.report.json")).unwrap().modified().unwrap();
    assert_eq!(finish(&card, &out).status.code(), Some(0));
    assert_eq!(std::fs::read_to_string(out.join("sitting.toml")).unwrap(), held);
    assert_eq!(std::fs::metadata(out.join("reports/F3.report.json")).unwrap().modified().unwrap(), before);
    assert!(!card.join("sitting.toml").exists(), "originals' folders are only read");
    // Another evening's one print into the same results: lens, blank and aperture are remembered.
    let later = top.path().join("later");
    shoot(&later, "G1.png", &print(8), 9, 11.0);
    let done = finish(&later, &out);
    assert_eq!(done.status.code(), Some(0), "{}", said(&done));
    let one = report(&out, "G1");
    assert_eq!(one["recipe"]["lens"]["k1"], front["recipe"]["lens"]["k1"]);
    assert_eq!(one["light"]["evened_by"], "blank", "{}", notes(&one));
    assert!(notes(&one).contains("the sitting's bare bed, F2.png, as sitting.toml has it"), "{}", notes(&one));
}

#[test]
fn what_the_photographer_wrote_beside_the_originals_counts_and_a_bad_file_is_one_line() {
    let top = tempfile::tempdir().unwrap();
    let (card, out) = (top.path().join("card"), top.path().join("out"));
    shoot(&card, "F1.png", &print(9), 1, 11.0);
    let place: PathBuf = card.join("sitting.toml");
    std::fs::write(&place, "[rig]\nf_number = 8.0\n\n[[roles]]\nrole = \"back\"\nfile = \"F1.png\"\n").unwrap();
    let done = finish(&card, &out);
    assert_eq!(done.status.code(), Some(0), "{}", said(&done));
    let one = report(&out, "F1");
    assert_eq!(
        (&one["frame"]["role"], &one["frame"]["role_reason"]),
        (&"back".into(), &"sitting.toml beside it says so".into())
    );
    let told = one["findings"].as_array().unwrap().iter().find(|f| f["code"] == "rig.changed").unwrap().clone();
    assert_eq!((&told["part"], &told["severity"]), (&"aperture".into(), &"note".into()), "{told}");
    assert!(
        told["says"].as_str().unwrap().contains("f/11") && told["says"].as_str().unwrap().contains("f/8"),
        "{told}"
    );
    std::fs::write(&place, "[rig]\nf_number = \"wide open\"\n").unwrap();
    let refused = finish(&card, &top.path().join("other"));
    assert_eq!(refused.status.code(), Some(2));
    let line = said(&refused);
    assert!(
        line.lines().count() == 1 && line.contains("sitting.toml: line 2: ") && line.contains("move it away"),
        "{line}"
    );
}

/// The same print under a flash that gave a third of a stop less and bluer light: the bed around it takes both out again.
#[test]
fn flash_to_flash_variation_is_evened_out() {
    let top = tempfile::tempdir().unwrap();
    let (card, out) = (top.path().join("card"), top.path().join("out"));
    let lit = |level: f64, blue: f64| {
        let mut scene = print(12);
        scene.rig.sensor.level *= level;
        scene.rig.flash_rgb[2] *= blue;
        // The camera's white balance was set once.
        scene.rig.sensor.wb_error[2] = blue;
        scene
    };
    shoot(&card, "F1.png", &Scene::blank(rig(), 5), 1, 8.0);
    shoot(&card, "F2.png", &lit(1.0, 1.0), 2, 8.0);
    shoot(&card, "F3.png", &lit(0.79, 1.03), 3, 8.0);
    let done = finish(&card, &out);
    assert_eq!(done.status.code(), Some(0), "{}", said(&done));
    let light = |stem: &str| {
        let frame = codec::read(&out.join(format!("shares/{stem}.jpg")), &codec::Limits::default()).unwrap().frame;
        frame.reduce(40)
    };
    let (a, b) = (light("F2"), light("F3"));
    assert_eq!((a.width(), a.height()), (b.width(), b.height()));
    let mut worst = 0.0f32;
    for (x, y) in (0..a.width()).flat_map(|x| (0..a.height()).map(move |y| (x, y))) {
        let (p, q) = (a.get(x, y), b.get(x, y));
        worst = (0..3).map(|c| (p[c] - q[c]).abs()).fold(worst, f32::max);
    }
    // Uncorrected it would be 0.2 of white; half a per cent is what the bed is evened to.
    assert!(worst < 0.006, "{worst}");
}
