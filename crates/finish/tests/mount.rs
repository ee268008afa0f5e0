//! The mount on frames of our own renderer, whose shadow is exact (`optics`): white beyond the shadow, the shadow itself, its
//! direction. Beds that clip, prints that curl, a corner that is lifted.
//!
//! White, fade and azimuth are measured as the frames with known truth are (`../shared/truth/score.py`), here against the
//! scene's own shadow and cover.

mod drawn;

use drawn::{Laid, laid, write};
use finish::frame::Frames;
use finish::recipe::Settings;
use finish::report::Report;
use finish::{Outcome, Request, finish, reports_in};
use geometry::{Angle, Length, point};
use optics::{Curl, Light, Pose, Shape};
use scene::{Format, Picture, Print, Rig, Scene, Subject};
use std::path::Path;

/// A frame to finish, and its blank.
struct Case {
    name: &'static str,
    scene: Scene,
    blank: Option<Scene>,
    /// Least share of the surround at full scale, most fade, most azimuth error (degrees).
    limits: (f64, f64, f64),
}

/// The bars: white on every frame, fade at worst, azimuth at worst.
const BARS: (f64, f64, f64) = (0.9999, 0.08, 10.0);

/// One lamp at the azimuth (degrees counter-clockwise from the right, as the world has it), near enough for a slope.
fn rig(azimuth: f64, level: f64) -> Rig {
    let mut rig = Rig::default();
    let shape = Shape::Rectangle { width: Length::mm(64.0), height: Length::mm(46.0) };
    rig.light = Light::at(Angle::deg(azimuth), Angle::deg(42.0), Length::mm(620.0), shape);
    rig.bed.sheet = Some(11);
    rig.sensor.level = level;
    rig
}

fn print(format: Format, curl: Curl) -> Print {
    Print::new(format, Picture::new(Subject::Lake, 5), 9).curled(curl)
}

fn scene(rig: &Rig, print: Print, turn: f64) -> Scene {
    let pose = Pose { centre: point(3.0, -2.0), rotation: Angle::deg(turn) };
    Scene::of(rig.clone(), print, pose, 21)
}

/// What the finished mount is like.
#[derive(Debug)]
struct Score {
    white: f64,
    /// The same for the 16-bit mount.
    white16: f64,
    fade: f64,
    azimuth: f64,
    findings: Vec<String>,
}

fn score(case: &Case) -> Score {
    let top = tempfile::tempdir().unwrap();
    let (frame, blank, out) = (top.path().join("F1.jpg"), top.path().join("F0.jpg"), top.path().join("done"));
    write(&case.scene, &frame);
    case.blank.iter().for_each(|b| write(b, &blank));
    let settings = Settings { srgb_png: true, ..Settings::default() };
    let blanks = case.blank.iter().map(|_| blank.clone()).collect();
    let request = Request { inputs: vec![frame], out: out.clone(), blanks, settings, ..Request::default() };
    let answer = finish(&request, &Frames::default(), &|_| {});
    let failed = |e: &finish::Entry| matches!(e.outcome, Outcome::Failed(_));
    assert!(!answer.entries.iter().any(failed), "{}: {:?}", case.name, answer.entries);
    let report = reports_in(&out).into_iter().find(|r| r.canvas.is_some());
    measured(case, &report.unwrap_or_else(|| panic!("{}: no print was found", case.name)), &out.join("reports"))
}

fn measured(case: &Case, report: &Report, reports: &Path) -> Score {
    let Laid { white, white16, fade } = laid(report, reports, &case.scene);
    let truth = -case.scene.rig.light.azimuth().to_deg() + 180.0;
    let azimuth = report.light.as_ref().and_then(|l| l.shadow_azimuth_deg).unwrap_or(f64::NAN);
    Score {
        white,
        white16,
        fade,
        azimuth: ((azimuth - truth + 180.0).rem_euclid(360.0) - 180.0).abs(),
        findings: report.findings.iter().map(|f| format!("{:?}", f.code)).collect(),
    }
}

fn check(cases: &[Case]) -> Vec<Score> {
    let scores: Vec<Score> = cases.iter().map(score).collect();
    for (case, s) in cases.iter().zip(&scores) {
        eprintln!("{}: {s:?}", case.name);
    }
    for (case, s) in cases.iter().zip(&scores) {
        let (white, fade, azimuth) = case.limits;
        assert!(s.white >= white && s.white16 >= white, "{}: {s:?}", case.name);
        assert!(s.fade <= fade, "{}: {s:?}", case.name);
        assert!(s.azimuth <= azimuth, "{}: {s:?}", case.name);
    }
    scores
}

#[test]
fn a_bed_that_clips_in_a_corner_is_white_there() {
    let flat = || print(Format::SquareIntegral, Curl::Cylinder { lift: Length::mm(0.8), axis: Angle::deg(90.0) });
    let (over, right) = (rig(140.0, 1.35), rig(140.0, 0.9));
    let case = |name, blank: Option<&Rig>| Case {
        name,
        scene: scene(&over, flat(), 88.0),
        blank: blank.map(|r| Scene::blank(r.clone(), 4)),
        limits: BARS,
    };
    let scores =
        check(&[case("a blank", Some(&right)), case("no blank", None), case("a blank that clips", Some(&over))]);
    for s in scores {
        assert!(s.findings.iter().any(|f| f == "ExposureClipped"), "the finding stays: {s:?}");
    }
}

#[test]
fn curled_prints_lie_in_their_own_shadow() {
    let mm = Length::mm;
    let axis = Angle::deg(88.0);
    let forms = [
        ("edges up", Curl::Cylinder { lift: mm(4.0), axis }, Format::SquareIntegral, 92.0),
        ("domed", Curl::Cylinder { lift: mm(-3.0), axis: Angle::deg(2.0) }, Format::SquareIntegral, 91.0),
        ("domed the other way", Curl::Cylinder { lift: mm(-2.5), axis }, Format::WideIntegral, 178.0),
        ("a corner of 2.5 mm", Curl::Corner { lift: mm(2.5), right: true, top: true }, Format::SquareIntegral, 270.0),
        ("a corner of 5 mm", Curl::Corner { lift: mm(5.0), right: false, top: true }, Format::SquareIntegral, 90.0),
        ("a saddle", Curl::Saddle { lift: mm(1.5), ratio: 0.7 }, Format::SquareMini, 3.0),
    ];
    let cases: Vec<Case> = forms
        .into_iter()
        .enumerate()
        .map(|(k, (name, curl, format, turn))| {
            let rig = rig([140.0, 20.0, 250.0, 215.0, 60.0, 330.0][k], 0.9);
            let scene = scene(&rig, print(format, curl), turn);
            Case { name, scene, blank: Some(Scene::blank(rig, 4)), limits: BARS }
        })
        .collect();
    check(&cases);
}

/// A strong dome touches the bed with its corners only; a print that leaves the frame hides a side, and another print beside
/// it bends the bed's light: the direction must come from what is seen, lamp or shadow.
#[test]
fn the_shadows_direction_holds_on_domes_and_where_a_side_is_hidden() {
    let mm = Length::mm;
    let curled = |lift: f64, axis: f64| Curl::Cylinder { lift: mm(lift), axis: Angle::deg(axis) };
    let case = |name, azimuth: f64, curl, at: (f64, f64), format| {
        let mut rig = rig(azimuth, 0.9);
        let shape = Shape::Rectangle { width: mm(64.0), height: mm(46.0) };
        rig.light = Light::at(Angle::deg(azimuth), Angle::deg(45.0), mm(1100.0), shape);
        let mut scene = scene(&rig, print(format, curl), 91.0);
        scene.sheets[0].pose.centre = point(at.0, at.1);
        Case { name, scene, blank: None, limits: BARS }
    };
    let mut two = case("two prints", 140.0, curled(1.5, 88.0), (-30.0, -2.0), Format::SquareMini);
    let mut other = two.scene.sheets[0].clone();
    other.pose.centre = point(62.0, 2.0);
    two.scene.sheets.push(other);
    let integral = Format::SquareIntegral;
    check(&[
        case("a dome of 5 mm", 140.0, curled(-5.0, 2.0), (3.0, -2.0), integral),
        case("its fall side out of the frame", 140.0, curled(3.0, 2.0), (34.0, -2.0), integral),
        case("its light side out of the frame", 140.0, curled(3.0, 2.0), (-34.0, -2.0), integral),
        two,
    ]);
}
