//! Random scenes by seed, for tests of the whole job.

use crate::noise::Rng;
use crate::rig::{Fault, Rig, Scene};
use crate::{Border, Format, Output, Picture, Print, Subject, dust};
use geometry::{Angle, Length, Point, Stops, point};
use optics::{Ambient, Camera, Curl, Light, Pose, Shape};

/// A scene drawn from the ranges of a real evening: any format, turn and light side, curl to 4 mm, lean to 1.5 degrees.
pub fn sample(seed: u64) -> Scene {
    let mut rng = Rng::new(seed);
    let format = rng.pick(&Format::ALL);
    let rig = rig(&mut rng, format);
    let print = print(&mut rng, format);
    let pose = pose(&mut rng, &print);
    let mut scene = Scene::of(rig, print, pose, seed);
    dirty(&mut rng, &mut scene);
    if scene.rig.camera.tilt().to_deg() > 1.0 {
        scene.faults.push(Fault::Tilted);
    }
    if scene.sheets[0].print.sheet.curl.lift().to_mm() > 2.5 {
        scene.faults.push(Fault::Curled);
    }
    scene
}

/// A rig whose field leaves room around a print of this format at any turn.
pub fn rig(rng: &mut Rng, format: Format) -> Rig {
    let [w, h, ..] = format.millimetres();
    // A print lies along or across the frame: its long side fits the height with a finger's breadth, and lies turned.
    let field = w.max(h) * rng.between(1.65, 1.95);
    let mut camera =
        Camera::over(3000.0, 2000.0, Length::mm(36.0), Length::mm(field), Length::mm(rng.between(340.0, 520.0)));
    camera.tilt_x = Angle::deg(rng.normal() * 0.4).min_abs(1.05);
    camera.tilt_y = Angle::deg(rng.normal() * 0.4).min_abs(1.05);
    camera.roll = Angle::deg(rng.between(-0.5, 0.5));
    camera.lens.k = [rng.between(-0.012, 0.016), rng.between(-0.003, 0.003), 0.0];
    camera.corner_angle = Angle::deg(rng.between(10.0, 18.0));
    camera.focus_height = Length::mm(rng.between(0.0, 1.0));
    let shape = match rng.pick(&[0, 0, 0, 1, 2]) {
        0 => Shape::Rectangle { width: mm(rng, 40.0, 90.0), height: mm(rng, 35.0, 60.0) },
        1 => Shape::Disc { diameter: mm(rng, 45.0, 90.0) },
        _ => Shape::Sphere { diameter: mm(rng, 40.0, 80.0) },
    };
    let azimuth = Angle::deg(rng.between(0.0, 360.0));
    let mut light = Light::at(azimuth, Angle::deg(rng.between(36.0, 55.0)), mm(rng, 550.0, 1300.0), shape);
    light.aim = optics::vec3(rng.between(-15.0, 15.0), rng.between(-15.0, 15.0), 0.0);
    let mut rig = Rig { camera, light, ..Rig::default() };
    rig.flash_rgb = [rng.between(0.97, 1.03), 1.0, rng.between(0.96, 1.04)];
    rig.room_bounce = Stops::new(rng.between(-7.5, -5.0));
    let tint = rng.pick(&[[0.82, 0.98, 1.38], [1.02, 1.05, 0.7], [1.4, 1.0, 0.55], [1.0, 1.0, 1.0]]);
    rig.ambient = Ambient { level: Stops::new(rng.between(-9.0, -3.5)), rgb: tint };
    let white = rng.between(0.86, 0.92);
    rig.bed.rgb = [white * rng.between(0.975, 0.995), white, white * rng.between(0.995, 1.02)];
    rig.bed.fibre = rng.between(0.002, 0.006);
    rig.bed.show_through = if rng.chance(0.3) { rng.between(0.008, 0.03) } else { 0.0 };
    rig.bed.grain = Angle::deg(rng.between(0.0, 180.0));
    let s = &mut rig.sensor;
    s.blur_px = rng.between(0.6, 1.2);
    s.sensitivity = [rng.between(0.44, 0.53), 1.0, rng.between(0.52, 0.71)];
    s.wb_error = [rng.between(0.975, 1.03), 1.0, rng.between(0.975, 1.03)];
    s.full_well = rng.between(45_000.0, 76_000.0);
    s.read_noise = rng.between(2.8, 6.0);
    s.bits = rng.pick(&[12, 14]);
    s.level = rng.between(0.6, 0.95);
    s.output = if rng.chance(0.3) { Output::Linear16 } else { Output::Srgb8 };
    rig
}

fn mm(rng: &mut Rng, a: f64, b: f64) -> Length {
    Length::mm(rng.between(a, b))
}

/// A print of this format with any picture, border, age and curl.
pub fn print(rng: &mut Rng, format: Format) -> Print {
    let subject = rng.pick(&Subject::ALL);
    let mut print = Print::new(format, Picture::new(subject, rng.bits()), rng.bits());
    let tint = rng.between(-0.02, 0.02);
    print.border = match rng.pick(&[0, 0, 0, 0, 0, 1, 2]) {
        0 => Border::colour(0.83 + tint, 0.825 + tint, 0.79 + 1.5 * tint),
        1 => Border::BLACK,
        _ => rng.pick(&[
            Border::colour(0.70, 0.42, 0.48),
            Border::colour(0.30, 0.50, 0.62),
            Border::colour(0.72, 0.62, 0.25),
            Border::colour(0.36, 0.52, 0.38),
        ]),
    };
    print.age = rng.between(0.0, 0.8);
    let corner = if format.has_foot() { rng.pick(&[0.0, 0.5, 1.0, 1.5]) } else { rng.pick(&[0.0, 0.2]) };
    print.sheet.corner_radius = Length::mm(corner);
    print.sheet.thickness = if format.has_foot() { mm(rng, 0.42, 0.7) } else { mm(rng, 0.28, 0.42) };
    print.sheet.curl = curl(rng);
    print.window_roughness = rng.between(0.035, 0.06);
    print.border_roughness = rng.between(0.16, 0.24);
    print
}

fn curl(rng: &mut Rng) -> Curl {
    // Small bows are common, large ones rare.
    let lift = Length::mm(0.3 + 3.7 * rng.unit().powi(2));
    match rng.pick(&[0, 1, 1, 1, 2, 3, 4]) {
        0 => Curl::Flat,
        1 => Curl::Cylinder { lift, axis: Angle::deg(rng.pick(&[0.0, 90.0]) + rng.between(-5.0, 5.0)) },
        2 => Curl::Cylinder { lift: lift * -0.6, axis: Angle::deg(rng.pick(&[0.0, 90.0, 45.0])) },
        3 => Curl::Saddle { lift: lift * 0.4, ratio: rng.between(0.3, 0.9) },
        _ => Curl::Corner { lift, right: rng.chance(0.5), top: rng.chance(0.5) },
    }
}

/// A place near the middle and a turn: usually near a quarter turn, as hands lay prints down, sometimes any.
fn pose(rng: &mut Rng, print: &Print) -> Pose {
    let lies = if print.sheet.height > print.sheet.width { 90.0 } else { 0.0 };
    let turn = lies + rng.pick(&[0.0, 180.0]);
    let askew = if rng.chance(0.75) { rng.normal() * 2.0 } else { rng.between(-12.0, 12.0) };
    let centre: Point = point(rng.between(-6.0, 6.0), rng.between(-4.0, 4.0));
    Pose { centre, rotation: Angle::deg(turn + askew) }
}

fn dirty(rng: &mut Rng, scene: &mut Scene) {
    let n = (rng.unit() * 6.0) as usize;
    scene.dust.extend(dust::scatter(rng, n, Length::mm(180.0), Length::mm(120.0), dust::Lies::Bed));
    let sheet = scene.sheets[0].print.sheet;
    let n = (rng.unit() * 5.0) as usize;
    scene.dust.extend(dust::scatter(rng, n, sheet.width, sheet.height, |p| dust::Lies::Print(0, p)));
    let n = (rng.unit() * 4.0) as usize;
    scene.dust.extend(dust::on_sensor(rng, n));
}

trait Limited {
    fn min_abs(self, degrees: f64) -> Self;
}
impl Limited for Angle {
    /// Cut to within so many degrees either way.
    fn min_abs(self, degrees: f64) -> Self {
        Angle::deg(self.to_deg().clamp(-degrees, degrees))
    }
}
