//! Drift over sittings that we draw: something planted in each, or nothing, all else jittering as it does at a desk.

use codec::{Info, Metadata, png};
use geometry::{Angle, Length, point};
use optics::{Curl, Pose, Vec3};
use pixels::Samples;
use rig::drift::{Drift, Event, Kind, Quantity, Request, drift};
use scene::noise::Rng;
use scene::{Format, Output, Picture, Print, Rig, Scene, Subject};
use std::path::Path;

/// Small frames of four and a half pixels to the millimetre: a print's outline is still found, and a sitting is drawn in a second or two.
const SIZE: (usize, usize) = (750, 500);
/// Frames of a sitting: a blank and so many prints.
const PRINTS: usize = 8;

/// What is planted after a frame.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Fault {
    Nothing,
    /// The flash moved by so much, mm in the world (y up).
    Light([f64; 3]),
    /// Its power, stops.
    Power(f64),
    /// Blue against green, factor.
    Colour(f64),
    /// What the camera sees of the bed, mm to the right and down.
    Shift([f64; 2]),
    /// The camera nearer (under 1) or farther.
    Height(f64),
}

/// A sitting in a folder, frames named in order; the fault begins with print `from` (0 for the first).
fn sitting(folder: &Path, seed: u64, fault: Fault, from: usize) {
    let mut rng = Rng::new(seed);
    let mut rig = Rig::default();
    rig.camera.tilt_x = Angle::deg(rng.between(-0.6, 0.6));
    rig.camera.tilt_y = Angle::deg(rng.between(-0.6, 0.6));
    rig.light.position = {
        let (a, e) = (rng.between(0.0, std::f64::consts::TAU), rng.between(0.65, 0.95));
        optics::vec3(e.cos() * a.cos(), e.cos() * a.sin(), e.sin()) * rng.between(750.0, 1000.0)
    };
    rig.bed.show_through = 0.006;
    rig.sensor.level = rng.between(0.6, 0.8);
    rig.sensor.output = Output::Linear16;
    // A pixel here stands for 64 of a frame of 24 megapixels, and holds their light.
    rig.sensor.full_well *= 64.0;
    rig.bed.sheet = Some(rng.bits());
    for i in 0..=PRINTS {
        let mut rig = rig.clone();
        // What every flash does: a few hundredths of a stop, half a per cent of colour.
        rig.sensor.level *= rng.between(-0.03, 0.03).exp2();
        rig.flash_rgb = [1.0 + rng.between(-0.004, 0.004), 1.0, 1.0 + rng.between(-0.004, 0.004)];
        if i > from {
            plant(&mut rig, fault);
        }
        // The camera's white balance was set once, so what the flash's colour does is seen.
        rig.sensor.wb_error = rig.flash_rgb;
        let scene = if i == 0 {
            Scene::blank(rig, rng.bits())
        } else {
            let mut print =
                Print::new(Format::SquareIntegral, Picture::new(rng.pick(&Subject::ALL), rng.bits()), rng.bits());
            print.sheet.curl =
                Curl::Cylinder { lift: Length::mm(rng.between(-1.0, 2.5)), axis: Angle::deg(rng.between(-5.0, 5.0)) };
            let turn = rng.pick(&[90.0, 270.0]) + rng.between(-2.0, 2.0);
            let place = point(rng.between(-5.0, 5.0), rng.between(-2.0, 2.0));
            Scene::of(rig, print, Pose { centre: place, rotation: Angle::deg(turn) }, rng.bits())
        };
        write(folder, i, &scene);
    }
}

fn plant(rig: &mut Rig, fault: Fault) {
    match fault {
        Fault::Nothing => {}
        Fault::Light([x, y, z]) => {
            let before = rig.light.position;
            rig.light.position = before + optics::vec3(x, y, z);
            // The renderer keeps the exposure; a lamp that goes nearer brightens: inverse square and cosine at the bed.
            let light = |p: Vec3| p.z / p.norm().powi(3);
            rig.sensor.level *= light(rig.light.position) / light(before);
        }
        Fault::Power(stops) => rig.sensor.level *= stops.exp2(),
        Fault::Colour(blue) => rig.flash_rgb[2] *= blue,
        // What the camera sees moves as if it had been pushed the other way.
        Fault::Shift([x, y]) => {
            let scale = rig.camera.px_per_mm();
            rig.camera.lens.centre = rig.camera.lens.centre + point(x * scale, y * scale);
        }
        Fault::Height(share) => rig.camera.distance = rig.camera.distance * share,
    }
}

fn write(folder: &Path, i: usize, scene: &Scene) {
    let drawn = scene::render(scene, SIZE.0, SIZE.1).frame;
    let Samples::U16(code) = &drawn.samples else { panic!("sixteen bits were asked for") };
    let original = Metadata {
        model: Some("Drawn camera".into()),
        f_number: Some(8.0),
        iso: Some(100),
        focal_length_mm: Some(f64::from(70)),
        taken: Some(format!("2026:11:07 20:{:02}:{:02}", i / 2, 30 * (i % 2))),
        ..Metadata::default()
    };
    let info = Info {
        icc: Some(codec::icc::linear(&pixels::Primaries::srgb(), "linear sRGB primaries")),
        original: Some(original),
        ..Info::default()
    };
    let (w, h) = SIZE;
    png::write(&folder.join(format!("F{i:02}.png")), w, h, &info, |rows| {
        code[rows.start * w * 3..rows.end * w * 3].to_vec()
    })
    .unwrap();
}

fn found(seed: u64, fault: Fault, from: usize) -> Drift {
    let top = tempfile::tempdir().unwrap();
    sitting(top.path(), seed, fault, from);
    let answer = drift(&Request { folder: top.path().into(), ..Request::default() });
    assert_eq!(answer.problems, Vec::<String>::new());
    answer.drift.unwrap()
}

/// The one event of a sitting, its frame and kind held against the plant.
fn one(seed: u64, fault: Fault, from: usize, kind: Kind) -> Event {
    let drift = found(seed, fault, from);
    assert_eq!(drift.events.len(), 1, "{seed} {fault:?}\n{}\n{}", drift.text(), drift.to_json());
    let event = drift.events[0].clone();
    assert_eq!((event.kind, event.after.as_str()), (kind, format!("F{from:02}.png").as_str()), "{}", drift.text());
    event
}

fn part(event: &Event, quantity: Quantity) -> Vec<f64> {
    event.parts.iter().find(|p| p.quantity == quantity).unwrap_or_else(|| panic!("{event:?}")).size.clone()
}

#[test]
fn nothing_is_named_where_nothing_moved() {
    let drift = found(1, Fault::Nothing, 0);
    assert_eq!(drift.events, [], "{}\n{}", drift.text(), drift.to_json());
    assert!(drift.text().contains("Nothing moved."));
}

/// Towards where the lamp went: brighter on the side it came nearer to.
#[test]
fn a_moved_lamp_is_named_with_its_way() {
    let [x, y] = [130.0, 40.0];
    let event = one(11, Fault::Light([x, y, 0.0]), 5, Kind::Light);
    let slope = part(&event, Quantity::Slope);
    // Image y runs down.
    let along = (slope[0] * x - slope[1] * y) / (slope[0].hypot(slope[1]) * x.hypot(y));
    assert!(along > 0.7, "{event:?}");
}

#[test]
fn flash_power_and_colour_are_told_apart() {
    let event = one(21, Fault::Power(-0.4), 4, Kind::Flash);
    assert!((part(&event, Quantity::Level)[0] + 0.4).abs() < 0.04, "{event:?}");
    let event = one(22, Fault::Colour(1.08), 4, Kind::Colour);
    assert!((part(&event, Quantity::Colour)[1] - 1.08f64.log2()).abs() < 0.02, "{event:?}");
}

/// Pushed, it shows the bed elsewhere; raised, it shows prints smaller.
#[test]
fn a_moved_camera_is_named() {
    let event = one(31, Fault::Shift([2.0, -1.0]), 4, Kind::Camera);
    let shift = part(&event, Quantity::Shift);
    assert!((shift[0] - 2.0).abs() < 0.15 && (shift[1] + 1.0).abs() < 0.15, "{event:?}");
    let event = one(32, Fault::Height(1.03), 4, Kind::Camera);
    // Refocused on the bed, a lens of focal length f magnifies by f / (d - f) (Gauss).
    let (d, f) = (Rig::default().camera.distance.to_mm(), Rig::default().camera.focal.to_mm());
    let want = ((d - f) / (1.03 * d - f)).ln();
    assert!((part(&event, Quantity::Scale)[0] - want).abs() < 0.003, "{want} {event:?}");
}
