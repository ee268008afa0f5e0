//! Second frames of a print by the built command: with the flash off, and lit from the other side; and a curled print's shading.
//!
//! The truth is that of the drawn scene (`crates/scene`): the same print drawn without the room's light, or flat.

use crate::drawn::shoot;
use geometry::{Angle, Length, Stops, point};
use optics::{Curl, Light, Panel, Pose};
use pixels::{Frame, Samples};
use scene::{Format, Picture, Print, Rig, Role, Scene, Subject};
use serde_json::Value;
use std::path::Path;
use std::process::Command;

const SEED: u64 = 11;

fn print() -> Print {
    Print::new(Format::SquareIntegral, Picture::new(Subject::Lake, SEED), SEED)
}

fn pose() -> Pose {
    Pose { centre: point(1.0, -1.0), rotation: Angle::deg(91.0) }
}

/// A rig under a room so many stops below its flash.
fn under(stops: f64) -> Rig {
    let mut rig = Rig::default();
    rig.ambient.level = Stops::new(-stops);
    // The sum of both must stay under full scale.
    rig.sensor.level *= 0.85;
    rig
}

fn front(rig: &Rig, print: &Print, seed: u64) -> Scene {
    Scene::of(rig.clone(), print.clone(), pose(), seed)
}

/// The same with the flash off and the print in place.
fn off(rig: &Rig, print: &Print, seed: u64) -> Scene {
    Scene { role: Role::FlashOff, ..front(rig, print, seed) }
}

/// Finishes a card; what it said and its exit code.
fn run(card: &Path, out: &Path, more: &[&str]) -> (String, Option<i32>) {
    let o = Command::new(env!("CARGO_BIN_EXE_fallside"))
        .arg("finish")
        .arg(card)
        .arg("--out")
        .arg(out)
        .arg("--srgb-png")
        .args(more)
        .output()
        .unwrap();
    (String::from_utf8_lossy(&o.stderr).into_owned(), o.status.code())
}

fn finish(card: &Path, out: &Path, more: &[&str]) -> String {
    let (said, code) = run(card, out, more);
    assert_eq!(code, Some(0), "{said}");
    said
}

/// The same where a frame that was given is not used: a line names it, and the run ends with the exit code for problems.
fn finish_without(name: &str, card: &Path, out: &Path, more: &[&str]) {
    let (said, code) = run(card, out, more);
    assert_eq!(code, Some(1), "{said}");
    assert!(said.lines().any(|l| l.starts_with(&format!("{name} is not used"))), "{said}");
}

fn report(out: &Path, stem: &str) -> Value {
    serde_json::from_slice(&std::fs::read(out.join(format!("reports/{stem}.report.json"))).unwrap()).unwrap()
}

/// The mount's picture as light, and its print's corners.
fn mount(out: &Path, stem: &str) -> (Frame, [f64; 4]) {
    let r = report(out, stem);
    let path = out.join("reports").join(r["canvas"]["srgb_png"].as_str().unwrap());
    let codec::Decoded { frame, .. } = codec::read(&path, &codec::Limits::default()).unwrap();
    assert!(matches!(frame.samples, Samples::U8(_)));
    let at = |k: usize, c: usize| r["canvas"]["print_px"][k][c].as_f64().unwrap();
    (frame, [at(0, 0), at(0, 1), at(2, 0), at(2, 1)])
}

/// Mean light of a mount in squares over the print, so that two mounts of one print can be compared.
fn squares(out: &Path, stem: &str) -> Vec<[f64; 3]> {
    const N: usize = 24;
    let (frame, [l, t, r, b]) = mount(out, stem);
    let end = |from: f64, to: f64, k: usize| (from + (to - from) * (0.03 + 0.94 * k as f64 / N as f64)) as usize;
    (0..N * N)
        .map(|k| {
            let (i, j) = (k % N, k / N);
            let (mut sum, mut n) = ([0.0; 3], 0.0);
            for y in end(t, b, j)..end(t, b, j + 1) {
                for x in end(l, r, i)..end(l, r, i + 1) {
                    let v = frame.linear(x, y);
                    (0..3).for_each(|c| sum[c] += f64::from(v[c]));
                    n += 1.0;
                }
            }
            sum.map(|v| v / n)
        })
        .collect()
}

/// Root mean square and greatest difference of two prints' squares.
fn apart(a: &[[f64; 3]], b: &[[f64; 3]]) -> (f64, f64) {
    let all: Vec<f64> = a.iter().flatten().zip(b.iter().flatten()).map(|(a, b)| (a - b).abs()).collect();
    ((all.iter().map(|d| d * d).sum::<f64>() / all.len() as f64).sqrt(), all.into_iter().fold(0.0, f64::max))
}

/// A ceiling panel that the window mirrors over a good part of it.
fn panel() -> Panel {
    Panel {
        height: Length::mm(1900.0),
        from: point(-150.0, -200.0),
        to: point(260.0, 260.0),
        level: 0.30,
        rgb: [1.0, 0.98, 0.88],
    }
}

#[test]
fn the_room_and_the_ceiling_go_with_the_flash_off_frame_beside_the_print() {
    let top = tempfile::tempdir().unwrap();
    let at = |name: &str| top.path().join(name);
    let (dark, mut lit) = (under(12.0), under(3.0));
    lit.ambient.rgb = [1.3, 1.0, 0.6];
    lit.panel = Some(panel());
    let other = Print::new(Format::SquareIntegral, Picture::new(Subject::Colours, 5), 5);
    shoot(&at("true"), "F1.png", &front(&dark, &print(), 1), 0, 8.0);
    shoot(&at("card"), "F1.png", &front(&lit, &print(), 1), 0, 8.0);
    shoot(&at("card"), "F2.png", &off(&lit, &print(), 2), 1, 8.0);
    shoot(&at("card"), "F3.png", &front(&lit, &other, 3), 2, 8.0);
    finish(&at("true"), &at("out-true"), &[]);
    let said = finish(&at("card"), &at("out"), &[]);
    let role = |stem: &str| report(&at("out"), stem)["frame"]["role"].as_str().unwrap().to_owned();
    assert_eq!([role("F1"), role("F2"), role("F3")], ["front", "ambient", "front"], "{said}");
    let r = report(&at("out"), "F1");
    let room = &r["room"];
    assert_eq!((room["shows"].as_str(), room["subtracted"].as_bool()), (Some("print-in-place"), Some(true)), "{r:#}");
    // The room lies three stops under the flash at the bed's middle, and the panel lights the bed too.
    let below = room["below_flash_stops"].as_f64().unwrap();
    assert!((1.8..3.1).contains(&below), "{room:#}");
    // Warm light: yellow, b* well over 0.
    assert!(room["colour_ab"][1].as_f64().unwrap() > 8.0, "{room:#}");
    assert!(r["recipe"]["inputs"]["flash_off"].is_string());
    assert!(report(&at("out"), "F3").get("room").is_none_or(|r| r["subtracted"].is_null()), "another print");
    let truth = squares(&at("out-true"), "F1");
    let (rms, worst) = apart(&squares(&at("out"), "F1"), &truth);
    // Codes of 8 bits and the noise of two frames; a veil of the panel is a tenth and more.
    assert!(rms < 0.006 && worst < 0.03, "{rms} {worst}");
    // Without it the panel stays.
    std::fs::remove_file(at("card").join("F2.png")).unwrap();
    finish(&at("card"), &at("out-veiled"), &[]);
    let (rms, worst) = apart(&squares(&at("out-veiled"), "F1"), &truth);
    assert!(rms > 0.02 && worst > 0.06, "the test must be able to fail: {rms} {worst}");
}

#[test]
fn a_flash_off_frame_that_does_not_belong_is_named_and_not_used() {
    let top = tempfile::tempdir().unwrap();
    let at = |name: &str| top.path().join(name);
    let rig = under(3.0);
    let other = Print::new(Format::SquareIntegral, Picture::new(Subject::Colours, 5), 5);
    shoot(&at("card"), "F1.png", &front(&rig, &print(), 1), 0, 8.0);
    shoot(&at("else"), "other.png", &off(&rig, &other, 2), 1, 8.0);
    shoot(&at("else"), "stopped.png", &off(&rig, &print(), 2), 1, 5.6);
    let moved = Scene::of(rig.clone(), print(), Pose { centre: point(1.5, -1.0), ..pose() }, 2);
    shoot(&at("else"), "moved.png", &Scene { role: Role::FlashOff, ..moved }, 1, 8.0);
    finish(&at("card"), &at("out"), &[]);
    let before = squares(&at("out"), "F1");
    for (name, why) in [("other", "does not show this print"), ("stopped", "it was exposed 1 "), ("moved", "moved by")]
    {
        let out = at(&format!("out-{name}"));
        let file = at("else").join(format!("{name}.png"));
        finish_without(&format!("{name}.png"), &at("card"), &out, &["--flash-off", file.to_str().unwrap()]);
        let r = report(&out, "F1");
        let notes = r["notes"].to_string();
        assert!(notes.contains(&format!("{name}.png is not used")) && notes.contains(why), "{name}: {notes}");
        assert!(r.get("room").is_none());
        assert!(squares(&out, "F1") == before, "{name} changed the picture");
    }
}

/// A bare bed without the flash takes nothing from a print; it gives the shadow the depth that the flash alone would have thrown.
#[test]
fn a_bare_flash_off_frame_says_how_much_the_room_fills_the_shadow() {
    let top = tempfile::tempdir().unwrap();
    let at = |name: &str| top.path().join(name);
    let rig = under(3.0);
    let curled = print().curled(Curl::Cylinder { lift: Length::mm(2.0), axis: Angle::deg(0.0) });
    shoot(&at("card"), "F1.png", &front(&rig, &curled, 1), 0, 8.0);
    shoot(&at("else"), "bed.png", &Scene::flash_off(rig.clone(), 2), 1, 8.0);
    finish(&at("card"), &at("plain"), &["--no-unbend"]);
    let bed = at("else").join("bed.png");
    finish(&at("card"), &at("out"), &["--no-unbend", "--flash-off", bed.to_str().unwrap()]);
    let r = report(&at("out"), "F1");
    assert_eq!(r["room"]["shows"], "bare-bed", "{:#}", r["room"]);
    // Three stops under: one ninth of the bed's light, less what the room returns of the flash.
    let fill = r["room"]["shadow_fill"].as_f64().unwrap();
    assert!((0.09..0.13).contains(&fill), "{fill}");
    let deep = |out: &str| {
        let (frame, [l, t, right, b]) = mount(&at(out), "F1");
        let beyond = |x: usize, y: usize| {
            let (x, y) = (x as f64, y as f64);
            x < l - 8.0 || x > right + 8.0 || y < t - 8.0 || y > b + 8.0
        };
        let all = (0..frame.width * frame.height).map(|k| (k % frame.width, k / frame.width));
        all.filter(|(x, y)| beyond(*x, *y)).map(|(x, y)| frame.linear(x, y)[1]).fold(1.0, f32::min)
    };
    let (plain, own) = (1.0 - f64::from(deep("plain")), 1.0 - f64::from(deep("out")));
    assert!((own - plain / (1.0 - fill)).abs() < 0.02, "{plain} {own} {fill}");
    // The print is not touched.
    assert_eq!(apart(&squares(&at("plain"), "F1"), &squares(&at("out"), "F1")).1, 0.0);
}

/// A curled print comes out lit as the flat one, and a flat one is not touched.
#[test]
fn a_curled_prints_shading_is_divided_out_and_a_flat_print_is_left() {
    let top = tempfile::tempdir().unwrap();
    let at = |name: &str| top.path().join(name);
    let rig = under(9.0);
    // Across the light of the default rig.
    let curled = print().curled(Curl::Cylinder { lift: Length::mm(3.5), axis: Angle::deg(90.0) });
    shoot(&at("flat"), "F1.png", &front(&rig, &print(), 1), 0, 8.0);
    shoot(&at("card"), "F1.png", &front(&rig, &curled, 1), 0, 8.0);
    finish(&at("flat"), &at("out-flat"), &[]);
    finish(&at("flat"), &at("out-flat-left"), &["--no-unbend"]);
    assert!(report(&at("out-flat"), "F1").get("unbend").is_none());
    assert_eq!(squares(&at("out-flat"), "F1"), squares(&at("out-flat-left"), "F1"));
    finish(&at("card"), &at("out"), &[]);
    finish(&at("card"), &at("left"), &["--no-unbend"]);
    let r = report(&at("out"), "F1");
    assert!(r["unbend"]["most_stops"].as_f64().unwrap() > 0.05, "{r:#}");
    assert!(report(&at("left"), "F1").get("unbend").is_none());
    assert_eq!(report(&at("left"), "F1")["recipe"]["settings"]["unbend"], false);
    let truth = squares(&at("out-flat"), "F1");
    let (with, without) = (apart(&squares(&at("out"), "F1"), &truth).0, apart(&squares(&at("left"), "F1"), &truth).0);
    assert!(with < 0.6 * without, "{with} {without}");
}

/// Two flashes: the reflection of one goes, and nothing else does. (What becomes of the noise is tested in `correct::counter`.)
#[test]
fn a_counter_frame_takes_the_reflection_away() {
    let top = tempfile::tempdir().unwrap();
    let at = |name: &str| top.path().join(name);
    let rig = under(9.0);
    let mut across = rig.clone();
    across.light = Light::at(Angle::deg(315.0), Angle::deg(45.0), Length::mm(900.0), rig.light.shape);
    // A lamp that stands beside the first flash alone: its image lies in the window.
    let mut veiled = rig.clone();
    veiled.panel = Some(Panel { level: 0.25, ..panel() });
    shoot(&at("true"), "F1.png", &front(&rig, &print(), 1), 0, 8.0);
    shoot(&at("card"), "F1.png", &front(&veiled, &print(), 2), 0, 8.0);
    shoot(&at("else"), "counter.png", &front(&across, &print(), 3), 1, 8.0);
    finish(&at("true"), &at("out-true"), &[]);
    finish(&at("card"), &at("plain"), &[]);
    let counter = at("else").join("counter.png");
    finish(&at("card"), &at("out"), &["--counter", counter.to_str().unwrap()]);
    let r = report(&at("out"), "F1");
    let c = &r["counter"];
    assert!(c["registered_px"].as_f64().unwrap() < 0.1, "{r:#}");
    assert!(c["front_left_out"].as_f64().unwrap() > 0.05, "{c:#}");
    let truth = squares(&at("out-true"), "F1");
    let (with, without) = (apart(&squares(&at("out"), "F1"), &truth), apart(&squares(&at("plain"), "F1"), &truth));
    assert!(without.0 > 0.02, "the test must be able to fail: {without:?}");
    assert!(with.0 < 0.008, "{with:?} {without:?}");
    // The shadow stays that of the front's flash alone.
    let side = |out: &str| report(&at(out), "F1")["light"]["shadow_azimuth_deg"].as_f64().unwrap();
    assert!((side("out") - side("plain")).abs() < 1.0);
    // A frame lit from the same side is no counter.
    shoot(&at("else"), "same.png", &front(&rig, &print(), 4), 1, 8.0);
    let same = at("else").join("same.png");
    finish_without("same.png", &at("card"), &at("out-same"), &["--counter", same.to_str().unwrap()]);
    let notes = report(&at("out-same"), "F1")["notes"].to_string();
    assert!(notes.contains("same.png is not used as the frame lit from the other side"), "{notes}");
}

/// The same rig with its flash on the opposite side.
fn across(rig: &Rig) -> Rig {
    let light = Light::at(Angle::deg(315.0), Angle::deg(45.0), Length::mm(900.0), rig.light.shape);
    Rig { light, ..rig.clone() }
}

/// A frame lit from the other side that follows its print's is known by itself, is joined with it, and is no print of its own. A print that
/// lies at the very same place when the flash was moved is one, and so is another exposure of the same scene: where it is not certain,
/// its report asks.
#[test]
fn a_second_frame_is_known_by_itself_and_is_no_print_of_its_own() {
    let top = tempfile::tempdir().unwrap();
    let at = |name: &str| top.path().join(name);
    let rig = under(9.0);
    let mut veiled = rig.clone();
    veiled.panel = Some(Panel { level: 0.25, ..panel() });
    let lake = |seed: u64| Print::new(Format::SquareIntegral, Picture::new(Subject::Lake, seed), seed);
    let other = Print::new(Format::SquareIntegral, Picture::new(Subject::Colours, 5), 5);
    shoot(&at("card"), "F1.png", &front(&veiled, &print(), 2), 0, 8.0);
    shoot(&at("card"), "F2.png", &front(&across(&rig), &print(), 3), 1, 8.0);
    shoot(&at("card"), "F3.png", &front(&rig, &other, 4), 2, 8.0);
    shoot(&at("card"), "F4.png", &front(&across(&rig), &lake(SEED), 5), 3, 8.0);
    shoot(&at("card"), "F5.png", &front(&rig, &lake(SEED + 1), 6), 4, 8.0);
    let said = finish(&at("card"), &at("out"), &[]);
    let all: Vec<Value> = (1..6).map(|n| report(&at("out"), &format!("F{n}"))).collect();
    let roles: Vec<&str> = all.iter().map(|r| r["frame"]["role"].as_str().unwrap()).collect();
    assert_eq!(roles, ["front", "counter", "front", "front", "front"], "{said}");
    assert_eq!((all[1]["verdict"].as_str(), all[1]["canvas"].is_null()), (Some("used"), true), "{:#}", all[1]);
    assert!(all[1]["frame"]["role_reason"].as_str().unwrap().contains("F1.png"), "{:#}", all[1]);
    assert_eq!(all[0]["counter"]["frame"], "F2.png");
    assert!(all.iter().skip(2).all(|r| r["counter"].is_null() && r["canvas"].is_object()));
    let page = std::fs::read_to_string(at("out").join("index.html")).unwrap();
    assert!(page.contains("is joined with the first"), "the page says what it is for");
}

/// Frames that come one by one: the front is finished again when its second frame is there, and both are of one print.
#[test]
fn a_second_frame_that_comes_later_joins_its_print() {
    let top = tempfile::tempdir().unwrap();
    let at = |name: &str| top.path().join(name);
    let rig = under(9.0);
    shoot(&at("card"), "F1.png", &front(&rig, &print(), 2), 0, 8.0);
    shoot(&at("more"), "F2.png", &front(&across(&rig), &print(), 3), 1, 8.0);
    let project = at("project");
    let call = |words: &[&str]| -> Value {
        let o = Command::new(env!("CARGO_BIN_EXE_fallside")).args(words).arg("--in").arg(&project).output().unwrap();
        assert_eq!(o.status.code(), Some(0), "{}", String::from_utf8_lossy(&o.stderr));
        serde_json::from_slice(&o.stdout).unwrap_or(Value::Null)
    };
    let report = |stem: &str| -> Value {
        let files = std::fs::read_dir(project.join("finished/reports")).unwrap().map(|e| e.unwrap().path());
        let named = |p: &std::path::PathBuf| p.file_name().unwrap().to_string_lossy().starts_with(stem);
        serde_json::from_slice(&std::fs::read(files.into_iter().find(named).unwrap()).unwrap()).unwrap()
    };
    call(&["take", at("card").to_str().unwrap()]);
    assert!(report("F1")["counter"].is_null());
    // A word that was said of it before stays said.
    call(&["mend", "F1.png", "--shadow", "0.5"]);
    call(&["take", at("more").to_str().unwrap()]);
    let (first, second) = (report("F1"), report("F2"));
    assert_eq!(first["counter"]["frame"], "F2.png", "{first:#}");
    assert_eq!(first["recipe"]["by_hand"]["shadow"], 0.5);
    assert_eq!((second["frame"]["role"].as_str(), second["canvas"].is_null()), (Some("counter"), true));
    let frames = call(&["list", "frames", "--json"]);
    let prints: Vec<&Value> = frames.as_array().unwrap().iter().map(|f| &f["print"]).collect();
    assert!(prints.len() == 2 && prints[0] == prints[1] && !prints[0].is_null(), "{frames:#}");
}
