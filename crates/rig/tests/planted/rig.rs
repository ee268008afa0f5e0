//! A rig drawn at random within what its aim allows, frames of it as a camera would write them, and what is true of its light.

use codec::{Info, Metadata, jpeg};
use geometry::{Angle, Length, Stops, point, ruler::Paper};
use optics::{Camera, Light, Pose, Shape};
use pixels::{Frame, Samples};
use scene::noise::Rng;
use scene::{Format, Output, Picture, Print, Rig, Scene, Sensor, Subject, dust};
use std::path::Path;

/// Frames of 2.7 megapixels: eight to thirteen pixels to the millimetre, where the ruler's codes are read and a hair is seen.
pub const SIZE: (usize, usize) = (2000, 1334);
/// The print that fall-off is measured over where nothing is planned, lying sideways, mm.
const PRINT: [f64; 2] = [107.0, 88.0];

/// One frame of a sitting and what the camera wrote into it.
pub struct Shot {
    pub scene: Scene,
    pub f_number: f64,
}

/// A rig whose every figure keeps well within the limits of a book.
pub fn good(rng: &mut Rng) -> Rig {
    let mut rig = Rig::default();
    let (field, height) = (Length::mm(rng.between(150.0, 215.0)), Length::mm(rng.between(380.0, 620.0)));
    let mut c = Camera::over(SIZE.0 as f64, SIZE.1 as f64, Length::mm(36.0), field, height);
    let (lean, way) = (rng.between(0.0, 0.12), rng.between(0.0, 360.0f64).to_radians());
    (c.tilt_x, c.tilt_y) = (Angle::deg(lean * way.cos()), Angle::deg(lean * way.sin()));
    c.roll = Angle::deg(rng.between(-0.5, 0.5));
    c.lens.k = [rng.between(-0.01, 0.01), rng.between(-0.002, 0.002), 0.0];
    c.corner_angle = Angle::deg(rng.between(8.0, 14.0));
    rig.camera = c;
    rig.room_bounce = Stops::new(rng.between(-7.0, -5.5));
    rig.ambient.level = Stops::new(rng.between(-11.0, -9.2));
    rig.bed.fibre = rng.between(0.002, 0.005);
    rig.bed.show_through = rng.between(0.0, 0.003);
    rig.bed.grain = Angle::deg(rng.between(0.0, 180.0));
    rig.bed.sheet = Some(rng.bits());
    rig.sensor.blur_px = rng.between(0.6, 1.0);
    rig.sensor.full_well = rng.between(40_000.0, 80_000.0);
    rig.sensor.level = rng.between(0.6, 0.85);
    let face = rng.between(40.0, 200.0);
    let shape = Shape::Rectangle { width: Length::mm(face), height: Length::mm(0.7 * face) };
    let (azimuth, elevation) = (rng.between(0.0, 360.0), rng.between(38.0, 55.0));
    lit(&mut rig, azimuth, elevation, shape, rng.between(0.10, 0.18));
    rig
}

/// Sets the light where its fall-off over a print in the middle, lens and room included, is `stops`.
pub fn lit(rig: &mut Rig, azimuth: f64, elevation: f64, shape: Shape, stops: f64) {
    let (mut near, mut far) = (200.0, 20_000.0f64);
    for _ in 0..40 {
        let d = (near * far).sqrt();
        rig.light = Light::at(Angle::deg(azimuth), Angle::deg(elevation), Length::mm(d), shape);
        if fall_off(rig) > stops { near = d } else { far = d }
    }
}

/// Light of the bare bed over that at its middle, at a place of the world: lamp, room, and lens.
pub fn light(rig: &Rig, x: f64, y: f64) -> [f64; 3] {
    let up = optics::Vec3::UP;
    let at = |x: f64, y: f64| -> [f64; 3] {
        let p = optics::vec3(x, y, 0.0);
        let e = rig.light.illumination(p, up) / rig.light.illumination(optics::Vec3::default(), up);
        let view = rig.camera.view();
        let lens = view.frame_from_world(p).map_or(1.0, |q| rig.camera.vignette(q));
        let own = rig.ambient.rgb_light();
        let panel = rig.panel.map_or([0.0; 3], |p| p.rgb.map(|v| v * p.light(optics::vec3(x, y, 0.0), up)));
        std::array::from_fn(|c| {
            lens * (rig.flash_rgb[c] * (e + rig.room_bounce.factor()) + own[c] + panel[c]) / rig.flash_rgb[c]
        })
    };
    let (here, middle) = (at(x, y), at(0.0, 0.0));
    std::array::from_fn(|c| here[c] / middle[c])
}

/// Brightest to darkest over a print in the middle, stops.
pub fn fall_off(rig: &Rig) -> f64 {
    let at = |i: i32, j: i32| {
        light(rig, PRINT[0] * (f64::from(i) / 8.0 - 0.5), PRINT[1] * (f64::from(j) / 8.0 - 0.5)).iter().sum::<f64>()
    };
    let all: Vec<f64> = (0..=8).flat_map(|j| (0..=8).map(move |i| at(i, j))).collect();
    (all.iter().copied().fold(0.0, f64::max) / all.iter().copied().fold(f64::INFINITY, f64::min)).log2()
}

/// Places over the whole frame, world mm, corners included.
pub fn places(rig: &Rig) -> Vec<(f64, f64)> {
    let view = rig.camera.view();
    let at = |i: i32, j: i32| {
        let q = point(SIZE.0 as f64 * f64::from(i) / 16.0, SIZE.1 as f64 * f64::from(j) / 16.0);
        let p = view.plane_from_frame(q, 0.0).unwrap();
        (p.x, p.y)
    };
    (0..=16).flat_map(|j| (0..=16).map(move |i| at(i, j))).collect()
}

/// The bare bed, with a few specks as beds have.
pub fn blank(rig: &Rig, rng: &mut Rng) -> Scene {
    let mut scene = Scene::blank(rig.clone(), rng.bits());
    let few = (rng.unit() * 4.0) as usize;
    scene.dust = dust::scatter(rng, few, Length::mm(150.0), Length::mm(100.0), dust::Lies::Bed);
    scene
}

/// The ruler sheet, somehow.
pub fn ruler(rig: &Rig, rng: &mut Rng) -> Scene {
    let turn = rng.pick(&[0.0, 180.0]) + rng.between(-2.5, 2.5);
    let pose = Pose { centre: point(rng.between(-6.0, 6.0), rng.between(-5.0, 5.0)), rotation: Angle::deg(turn) };
    let paper = rng.pick(&[Paper::A4, Paper::Letter]);
    let mut scene = Scene::ruler(rig.clone(), paper, pose, rng.bits());
    // A sheet lies with its long side along the frame's.
    let (w, h) = paper.size();
    if h > w {
        scene.sheets[0].pose.rotation = Angle::deg(turn + 90.0);
    }
    scene
}

/// The bare bed with the flash off.
pub fn dark(rig: &Rig, rng: &mut Rng) -> Scene {
    Scene::flash_off(rig.clone(), rng.bits())
}

/// A nearly flat print of some picture, near the middle.
pub fn print(rig: &Rig, rng: &mut Rng) -> Scene {
    let format = rng.pick(&[Format::SquareIntegral, Format::WideIntegral, Format::SquareMini, Format::PeelApart]);
    let mut print = Print::new(format, Picture::new(rng.pick(&Subject::ALL), rng.bits()), rng.bits());
    print.sheet.curl = optics::Curl::Cylinder { lift: Length::mm(rng.between(0.0, 0.8)), axis: Angle::deg(90.0) };
    let lies = if print.sheet.height > print.sheet.width { 90.0 } else { 0.0 };
    let centre = point(rng.between(-4.0, 4.0), rng.between(-3.0, 3.0));
    let rotation = Angle::deg(lies + rng.pick(&[0.0, 180.0]) + rng.between(-2.0, 2.0));
    Scene::of(rig.clone(), print, Pose { centre, rotation }, rng.bits())
}

/// Writes a sitting's frames, a minute apart.
pub fn write(folder: &Path, shots: &[Shot]) {
    for (i, shot) in shots.iter().enumerate() {
        let rig = &shot.scene.rig;
        let rig = Rig { sensor: Sensor { output: Output::Srgb8, ..rig.sensor }, ..rig.clone() };
        let frame: Frame = scene::render(&Scene { rig: rig.clone(), ..shot.scene.clone() }, SIZE.0, SIZE.1).frame;
        let Samples::U8(code) = &frame.samples else { panic!("eight bits were asked for") };
        let original = Metadata {
            model: Some("Drawn camera".into()),
            f_number: Some(shot.f_number),
            exposure_s: Some(1.0 / 160.0),
            iso: Some(100),
            focal_length_mm: Some(rig.camera.focal.to_mm()),
            focal_length_35_mm: Some(rig.camera.focal.to_mm()),
            taken: Some(format!("2026:11:07 20:{i:02}:00")),
            ..Metadata::default()
        };
        let info = Info { icc: Some(codec::icc::srgb()), original: Some(original), ..Info::default() };
        let path = folder.join(format!("F{i:02}.jpg"));
        jpeg::write(&path, SIZE.0, SIZE.1, code, 96, jpeg::Subsampling::Half, &info).unwrap();
    }
}
