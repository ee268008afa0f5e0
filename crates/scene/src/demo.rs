//! The demonstration box: one evening at the desk, twelve prints from one invented bay.
//!
//! The story: a family rents the same house on a bay for ten summers and one winter, and somebody always has an instant
//! camera. There is a point with a lighthouse that was never built, a lake above the woods, a street that sells bread and
//! nails, and a house across the water where nobody was ever met. The box came down from a shelf with everything in it;
//! tonight the prints are photographed one after the other, under one flash, by somebody who gets tired. The place, the
//! people and the pictures do not exist: all is drawn by this crate.

use crate::noise::{Rng, mix};
use crate::rig::{Fault, Rig, Scene};
use crate::{Border, Format, Output, Picture, Print, Subject, dust};
use geometry::{Angle, Length, point};
use optics::{Curl, Panel, Pose};

/// One frame of the evening.
#[derive(Clone, Debug, PartialEq)]
pub struct DemoShot {
    /// The name the camera gave the file.
    pub name: String,
    /// What it shows, and with what.
    pub scene: Scene,
    /// What the family would write under it.
    pub caption: &'static str,
    /// The year of the print, where it is one.
    pub year: Option<u16>,
    /// What went wrong with the frame.
    pub trouble: Option<Fault>,
}

/// Columns and rows at which the demonstration is meant to be rendered: 6 megapixels.
pub const SIZE: (usize, usize) = (3000, 2000);

type Entry = (Subject, Format, u16, &'static str, Option<Fault>);

const BOX: [Entry; 12] = [
    (Subject::Coast, Format::SquareIntegral, 1991, "The point from the landing, our first evening", None),
    (Subject::Portrait, Format::SquareIntegral, 1991, "At the upstairs window, waiting for the boat", None),
    (Subject::Still, Format::PeelApart, 1992, "What the kitchen had left on Sunday", None),
    (Subject::Lake, Format::WideIntegral, 1993, "The upper lake, the day it did not rain", None),
    (Subject::Forest, Format::SquareIntegral, 1994, "The path down to the spring", Some(Fault::Curled)),
    (Subject::Beach, Format::WideIntegral, 1994, "Low water, everyone gone out too far", Some(Fault::Cropped)),
    (Subject::Street, Format::SquareIntegral, 1995, "The lower street, shops still open", Some(Fault::Veiled)),
    (Subject::Snow, Format::MiniIntegral, 1996, "The orchard after the second snow", None),
    (Subject::Night, Format::SquareMini, 1996, "The house across the water, power back on", None),
    (Subject::Coast, Format::PeelApartSquare, 1998, "The same point, the other end of the year", Some(Fault::Tilted)),
    (Subject::Portrait, Format::PeelApart, 1999, "She would not turn round", Some(Fault::OutOfFocus)),
    (Subject::Beach, Format::MiniIntegral, 2001, "The last swim", Some(Fault::Underexposed)),
];

/// The evening's frames in the order they were taken: flash off, bare bed, chart, twelve prints.
pub fn shots(seed: u64) -> Vec<DemoShot> {
    let mut rng = Rng::new(seed);
    let rig = rig();
    let on_sensor = dust::on_sensor(&mut rng, 3);
    let service = |scene: Scene, caption| (scene, caption, None, None);
    let mut frames = vec![
        service(Scene::flash_off(rig.clone(), mix(seed ^ 1)), "The bed without the flash"),
        service(Scene::blank(rig.clone(), mix(seed ^ 2)), "The bare bed"),
        service(chart(&rig, seed), "The colour chart"),
    ];
    for (i, entry) in BOX.iter().enumerate() {
        frames.push((print(&rig, entry, i, &mut rng), entry.3, Some(entry.2), entry.4));
    }
    frames
        .into_iter()
        .enumerate()
        .map(|(i, (mut scene, caption, year, trouble))| {
            scene.dust.extend_from_slice(&on_sensor);
            scene.faults = trouble.into_iter().collect();
            DemoShot { name: format!("F{:04}.jpg", 101 + i), scene, caption, year, trouble }
        })
        .collect()
}

/// The evening's rig: a 36 mm sensor over 165 mm of bed, one small soft box at the upper left, a dim warm room.
fn rig() -> Rig {
    let mut rig = Rig::default();
    rig.camera.tilt_x = Angle::deg(0.06);
    rig.camera.tilt_y = Angle::deg(-0.05);
    rig.camera.roll = Angle::deg(0.15);
    rig.camera.lens.k = [-0.004, 0.001, 0.0];
    rig.camera.focus_height = Length::mm(0.5);
    rig.bed.fibre = 0.0045;
    rig.bed.show_through = 0.006;
    rig.sensor.wb_error = [1.012, 1.0, 0.985];
    rig.sensor.level = 0.88;
    rig.sensor.output = Output::Camera8 { contrast: 0.2, sharpening: 0.3 };
    rig
}

fn chart(rig: &Rig, seed: u64) -> Scene {
    let pose = Pose { centre: point(-1.5, 1.0), rotation: Angle::deg(0.6) };
    Scene::chart(rig.clone(), pose, mix(seed ^ 3))
}

fn print(rig: &Rig, (subject, format, year, _, trouble): &Entry, i: usize, rng: &mut Rng) -> Scene {
    let seed = rng.bits();
    let mut print = Print::new(*format, Picture::new(*subject, seed), seed);
    print.age = ((2003.0 - f64::from(*year)) / 14.0).clamp(0.1, 0.85);
    print.border = match i {
        4 => Border::BLACK,
        6 => Border::colour(0.33, 0.50, 0.60),
        _ => Border::WHITE,
    };
    let lift = Length::mm(rng.between(0.3, 1.1));
    print.sheet.curl = Curl::Cylinder { lift, axis: Angle::deg(rng.pick(&[0.0, 90.0]) + rng.between(-4.0, 4.0)) };
    let lies = if print.sheet.height > print.sheet.width { 90.0 } else { 0.0 };
    let mut pose = Pose {
        centre: point(rng.between(-4.0, 4.0), rng.between(-3.0, 3.0)),
        rotation: Angle::deg(lies + if i == 2 || i == 8 { 180.0 } else { 0.0 } + rng.between(-2.2, 2.2)),
    };
    let mut rig = rig.clone();
    match trouble {
        Some(Fault::Cropped) => pose.centre = point(36.0, 2.0),
        Some(Fault::Curled) => {
            print.sheet.curl = Curl::Cylinder { lift: Length::mm(5.0), axis: Angle::deg(3.0) };
        }
        Some(Fault::Veiled) => {
            rig.panel = Some(ceiling_lamp());
            print.window_roughness = 0.03;
        }
        // Somebody leaned on the arm.
        Some(Fault::Tilted) => rig.camera.tilt_y = Angle::deg(1.6),
        // The ring was turned while the print was changed.
        // The ring was knocked: the lens is set to a hand's breadth above the bed.
        Some(Fault::OutOfFocus) => rig.camera.focus_height = Length::mm(45.0),
        // The flash had not recovered.
        Some(Fault::Underexposed) => rig.sensor.level *= 0.3,
        None => {}
    }
    let sheet = print.sheet;
    let mut scene = Scene::of(rig, print, pose, seed);
    let (few, some) = ((rng.unit() * 3.0) as usize, (rng.unit() * 4.0) as usize);
    scene.dust.extend(dust::scatter(rng, few, Length::mm(160.0), Length::mm(105.0), dust::Lies::Bed));
    scene.dust.extend(dust::scatter(rng, some, sheet.width, sheet.height, |p| dust::Lies::Print(0, p)));
    scene
}

/// A ceiling lamp that the window of a print in the middle mirrors, right of its centre.
fn ceiling_lamp() -> Panel {
    Panel {
        height: Length::mm(1900.0),
        from: point(-120.0, -70.0),
        to: point(210.0, 170.0),
        level: 0.30,
        rgb: [1.0, 0.98, 0.88],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render;

    #[test]
    fn the_box_holds_what_it_says() {
        let shots = shots(1);
        assert_eq!(shots.len(), 15);
        assert_eq!(shots.iter().filter(|s| s.year.is_some()).count(), 12);
        assert_eq!(shots.iter().filter(|s| s.trouble.is_some()).count(), 6);
        assert_eq!(shots, super::shots(1));
    }

    /// Every trouble shows in the truth of its frame, and no other frame has it.
    #[test]
    fn troubles_are_true() {
        for s in shots(1) {
            let t = render(&s.scene, 480, 320).truth;
            let Some(p) = t.prints.first().filter(|_| s.year.is_some()) else { continue };
            let is = |f: Fault| s.trouble == Some(f);
            assert_eq!(p.margin.to_mm() < 0.0, is(Fault::Cropped), "{}: margin {:?}", s.name, p.margin);
            assert_eq!(p.veil_share > 0.02, is(Fault::Veiled), "{}: veil {}", s.name, p.veil_share);
            assert_eq!(p.curl.to_mm() > 2.0, is(Fault::Curled), "{}", s.name);
            assert_eq!(t.tilt_y.to_deg().abs() > 0.5, is(Fault::Tilted), "{}", s.name);
            assert_eq!(t.bed_level < 0.5, is(Fault::Underexposed), "{}", s.name);
            let blur = s.scene.rig.camera.defocus_px(Length::mm(0.5));
            assert_eq!(blur > 3.0, is(Fault::OutOfFocus), "{}: blur {blur}", s.name);
        }
    }
}
