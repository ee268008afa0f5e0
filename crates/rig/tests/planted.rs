//! A rig fault planted at random in each of twelve drawn sittings, and none in four: what `check` names, which way, how large.
//!
//! Every sitting has its own rig, room, paper and noise within the limits of a book, and its frames are JPEGs of our own renderer,
//! whose light is exact (`optics`); each truth is worked out here from the scene, never from the picture. `FALLSIDE_SEEDS=3..9`
//! draws other sittings. One size is not always told: how far a reflection reaches over a light picture (one of seeds 1 to 3 reads two
//! thirds too much), since no frame tells how much of the light is the picture's.

#[path = "planted/rig.rs"]
mod rig;

use ::rig::check::{Answer, Fault, Request, check};
use ::rig::plan::quantity::side_name;
use geometry::{Angle, Length, Point, Quad, Stops, point};
use optics::{Panel, Vec3};
use rayon::prelude::*;
use rig::{SIZE, Shot};
use scene::noise::Rng;
use scene::{Rig, Scene, dust};

/// A fault that a rig can have.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Plant {
    Nothing,
    Tilt,
    NearLight,
    BumpedLight,
    Ambient,
    WrongAperture,
    ShowThrough,
    SoftCorner,
    NoCard,
    ClippedBed,
    MixedLight,
    MovedCamera,
    DirtyBed,
}

use Plant::*;

const FAULTS: [Plant; 12] = [
    Tilt,
    NearLight,
    BumpedLight,
    Ambient,
    WrongAperture,
    ShowThrough,
    SoftCorner,
    NoCard,
    ClippedBed,
    MixedLight,
    MovedCamera,
    DirtyBed,
];
const CLEAN: usize = 4;

/// How far a size may be off, as a share.
const WITHIN: f64 = 0.2;

/// What a sitting should be told.
struct Truth {
    code: &'static str,
    /// The fault's size, and how it is read from the fault.
    size: f64,
    read: fn(&Fault) -> f64,
    /// Directions that are right.
    ways: Vec<String>,
    /// What the plant itself brings with it: a lamp beside the bed also lights it with the flash off.
    brings: &'static [&'static str],
}

impl Truth {
    fn new(code: &'static str, size: f64) -> Self {
        Self { code, size, read: |f| f.value, ways: vec![], brings: &[] }
    }
    fn step(self) -> Self {
        Self { read: |f| f.step.as_ref().map_or(f64::NAN, |s| s.by), ..self }
    }
    fn way(self, way: &str) -> Self {
        Self { ways: vec![way.into()], ..self }
    }
    fn towards(self, azimuth: f64) -> Self {
        // A side is told to an eighth of a turn: near a boundary either is right.
        Self { ways: [-12.0, 0.0, 12.0].iter().map(|o| side_name(azimuth + o).to_owned()).collect(), ..self }
    }
    fn brings(self, brings: &'static [&'static str]) -> Self {
        Self { brings, ..self }
    }
}

/// A sitting with a fault: its frames, and what is true.
fn sitting(plant: Plant, seed: u64) -> (Vec<Shot>, Option<Truth>) {
    let rng = &mut Rng::new(seed.wrapping_mul(31).wrapping_add(plant as u64));
    let mut r = rig::good(rng);
    let truth = match plant {
        Nothing => None,
        Tilt => Some(tilt(&mut r, rng)),
        NearLight => Some(near(&mut r, rng)),
        Ambient => Some(ambient(&mut r, rng)),
        ShowThrough => Some(show_through(&mut r, rng)),
        SoftCorner => Some(soft_corner(&mut r, rng)),
        ClippedBed => Some(clipped(&mut r, rng)),
        MixedLight => Some(mixed(&mut r, rng)),
        NoCard => Some(no_card(&mut r, rng)),
        BumpedLight | WrongAperture | MovedCamera | DirtyBed => None,
    };
    let mut scenes = vec![rig::ruler(&r, rng), rig::blank(&r, rng), rig::dark(&r, rng)];
    // A print is looked at for reflections; drawing one takes as long as all the rest.
    if matches!(plant, Nothing | NoCard | WrongAperture) {
        scenes.push(rig::print(&r, rng));
    }
    let f_number = 8.0;
    let mut shots: Vec<Shot> = scenes.into_iter().map(|scene| Shot { scene, f_number }).collect();
    let truth = match plant {
        BumpedLight => Some(bumped(&r, &mut shots, rng)),
        MovedCamera => Some(moved(&r, &mut shots, rng)),
        WrongAperture => Some(wrong_aperture(&mut shots, rng)),
        DirtyBed => Some(dirty(&r, &mut shots, rng)),
        NoCard => Some(veiled(truth.unwrap(), &mut shots)),
        _ => truth,
    };
    (shots, truth)
}

/// World azimuths run counter-clockwise, the image's clockwise.
fn in_image(x: f64, y: f64) -> f64 {
    (-y).atan2(x).to_degrees().rem_euclid(360.0)
}

fn tilt(r: &mut Rig, rng: &mut Rng) -> Truth {
    let (lean, way) = (rng.between(0.35, 2.5), rng.between(0.0, 360.0f64).to_radians());
    let (x, y) = (lean * way.cos(), lean * way.sin());
    (r.camera.tilt_x, r.camera.tilt_y) = (Angle::deg(x), Angle::deg(y));
    // The bed is square to the camera's back once the edge that the back leans over is up: towards the image's top where x is
    // positive, towards its left where y is (`truth/README.md` has the axes).
    let (up, left) = (if x > 0.0 { "top" } else { "bottom" }, if y > 0.0 { "left" } else { "right" });
    let both = if x.abs() > y.abs() { format!("{up} and {left}") } else { format!("{left} and {up}") };
    let one = if x.abs() > y.abs() { up } else { left };
    // The lesser edge is said where it is a fifth of the lean or more.
    let share = x.abs().min(y.abs()) / lean;
    let ways = match share {
        s if s > 0.25 && (x.abs() - y.abs()).abs() < 0.05 * lean => {
            vec![format!("{up} and {left}"), format!("{left} and {up}")]
        }
        s if s > 0.25 => vec![both],
        s if s < 0.15 => vec![one.into()],
        _ => vec![one.into(), both],
    };
    Truth { ways, ..Truth::new("camera.tilt", lean) }
}

fn near(r: &mut Rig, rng: &mut Rng) -> Truth {
    let stops = rng.between(0.35, 1.3);
    let (azimuth, elevation) = (r.light.azimuth().to_deg(), r.light.elevation().to_deg());
    rig::lit(r, azimuth, elevation, r.light.shape, stops);
    Truth::new("light.near", rig::fall_off(r)).way("further")
}

fn ambient(r: &mut Rig, rng: &mut Rng) -> Truth {
    r.ambient.level = Stops::new(rng.between(-6.5, -2.0));
    // As the camera balances it: each band over the flash's own.
    let own: f64 = r.ambient.rgb_light().iter().zip(r.flash_rgb).map(|(a, f)| a / f).sum();
    let below = (3.0 * (1.0 + r.room_bounce.factor()) / own).log2();
    Truth::new("light.room", 8.0 - below).step().way("brighter").brings(&["light.mixed"])
}

fn show_through(r: &mut Rig, rng: &mut Rng) -> Truth {
    r.bed.show_through = rng.between(0.015, 0.06);
    let drawn = |share: f64| {
        let mut rig = r.clone();
        (rig.bed.fibre, rig.bed.show_through) = (0.0, share);
        rig.sensor = scene::Sensor { level: 0.5, ..scene::Sensor::ideal() };
        scene::render(&Scene::blank(rig, 1), SIZE.0, SIZE.1).frame
    };
    let (with, without) = (drawn(r.bed.show_through), drawn(0.0));
    let ratio: Vec<f64> = (0..SIZE.1)
        .step_by(3)
        .flat_map(|y| (0..SIZE.0).step_by(3).map(move |x| (x, y)))
        .map(|(x, y)| f64::from(with.linear(x, y)[1]) / f64::from(without.linear(x, y)[1]))
        .collect();
    let mean = ratio.iter().sum::<f64>() / ratio.len() as f64;
    let variance = ratio.iter().map(|v| (v / mean - 1.0).powi(2)).sum::<f64>() / ratio.len() as f64;
    Truth::new("bed.show_through", variance.sqrt())
}

fn soft_corner(r: &mut Rig, rng: &mut Rng) -> Truth {
    let corner = rng.pick(&[0usize, 1, 2, 3]);
    r.sensor.soft_px[corner] = rng.between(1.6, 3.2);
    let name = ["top-left", "top-right", "bottom-right", "bottom-left"][corner];
    // The size follows from where the sheet's edges lie: see `told`.
    Truth::new("focus.corner", f64::NAN).way(name)
}

fn clipped(r: &mut Rig, rng: &mut Rng) -> Truth {
    // A sixth to all of it: full scale falls on a level that so much of the bed is over, in its strongest band.
    let all = rig::places(r);
    let mut lights: Vec<f64> = all.iter().map(|&(x, y)| rig::light(r, x, y)[2]).collect();
    lights.sort_by(f64::total_cmp);
    let white = lights[lights.len() - 1 - (rng.between(0.15, 0.7) * lights.len() as f64) as usize];
    let brightest = all.iter().map(|&(x, y)| rig::light(r, x, y)[1]).fold(0.0, f64::max);
    let balance = r.bed.rgb[2] / r.bed.rgb[1];
    r.sensor.level = brightest / (white * balance);
    let share = lights.iter().filter(|l| **l >= white).count() as f64 / lights.len() as f64;
    Truth::new("exposure.clipped", share).way("brighter")
}

/// A lamp beside the bed, of another colour than the flash.
fn mixed(r: &mut Rig, rng: &mut Rng) -> Truth {
    let (way, far, height) =
        (rng.between(0.0, 360.0f64).to_radians(), rng.between(250.0, 500.0), rng.between(200.0, 500.0));
    let (x, y) = (far * way.cos(), far * way.sin());
    let half = rng.between(30.0, 80.0);
    let warm = rng.chance(0.6);
    let panel = |level: f64| Panel {
        height: Length::mm(height),
        from: point(x - half, y - half),
        to: point(x + half, y + half),
        level,
        rgb: if warm { [1.35, 1.0, 0.5] } else { [0.7, 0.95, 1.35] },
    };
    // At most a third of the flash in the middle: a lamp that outshines it is the only light, and mixes nothing.
    let most = 0.33 / panel(1.0).light(Vec3::default(), Vec3::UP);
    let (want, mut low, mut high) = (rng.between(3.0, 9.0), 1e-4, most);
    for _ in 0..40 {
        let level = (low * high).sqrt();
        r.panel = Some(panel(level));
        if colour(r).0 > want { high = level } else { low = level }
    }
    let (size, towards) = colour(r);
    // Too far off or too high to colour the bed unevenly: another lamp.
    if size < 2.6 {
        return mixed(r, rng);
    }
    Truth::new("light.mixed", size).towards(towards).brings(&["light.room", "light.near"])
}

/// The greatest colour difference of the bed over the frame at one lightness, and where it is warmest.
fn colour(r: &Rig) -> (f64, f64) {
    let primaries = pixels::Primaries::srgb();
    let lab = |(x, y): (f64, f64)| {
        let v = rig::light(r, x, y);
        let level = v.iter().sum::<f64>() / 3.0;
        let lab = pixels::lab_from_xyz(primaries.xyz(v.map(|v| 0.87 * v / level)));
        [50.0, lab[1], lab[2]]
    };
    let places = rig::places(r);
    let labs: Vec<[f64; 3]> = places.iter().map(|p| lab(*p)).collect();
    let mut worst = 0.0f64;
    for (i, a) in labs.iter().enumerate() {
        labs[..i].iter().for_each(|b| worst = worst.max(pixels::ciede2000(*a, *b)));
    }
    let warmth = |x: f64, y: f64| {
        let v = rig::light(r, x, y);
        (v[0] / v[2]).ln()
    };
    let towards = in_image(warmth(50.0, 0.0) - warmth(-50.0, 0.0), warmth(0.0, 50.0) - warmth(0.0, -50.0));
    (worst, towards)
}

/// Something bright over the bed that a window in the middle mirrors.
fn no_card(r: &mut Rig, rng: &mut Rng) -> Truth {
    let high = rng.between(500.0, 900.0);
    let (w, h) = (rng.between(20.0, 36.0), rng.between(20.0, 36.0));
    let way = rng.between(0.0, 360.0f64).to_radians();
    let (x, y) = (18.0 * way.cos(), 18.0 * way.sin());
    // Seen in the bed's plane it lies where the ray from the lens goes up again.
    let far = (r.camera.distance.to_mm() + high) / r.camera.distance.to_mm();
    let at = |x: f64, y: f64| point(x * far, y * far);
    r.panel = Some(Panel {
        height: Length::mm(high),
        from: at(x - w / 2.0, y - h / 2.0),
        to: at(x + w / 2.0, y + h / 2.0),
        // A lamp's face, a glint of the flash on metal: far over white paper, which is what such things are.
        level: rng.between(2.0, 6.0),
        rgb: [1.0, 0.97, 0.9],
    });
    Truth::new("veil", f64::NAN).brings(&["light.room", "light.mixed", "light.near"])
}

/// Where in the window, and over how much of it, the reflection together with a picture of middling lightness (0.38 of the bed)
/// outshines white paper.
fn veiled(truth: Truth, shots: &mut [Shot]) -> Truth {
    let scene = &mut shots[3].scene;
    let (panel, eye) = (scene.rig.panel.unwrap(), scene.rig.camera.view().eye);
    let placed = &mut scene.sheets[0];
    placed.print.window_roughness = 0.03;
    let (sheet, surface) = (placed.print.sheet, placed.print.sheet.surface());
    let Quad([a, b, _, d]) = sheet.window().unwrap();
    let (mut bright, mut sum) = (0.0, Point::default());
    for (i, j) in (0..100).flat_map(|j| (0..100).map(move |i| (f64::from(i), f64::from(j)))) {
        let p = a.lerp(b, (i + 0.5) / 100.0) + (d - a) * ((j + 0.5) / 100.0);
        let up = |p: Point| placed.pose.world_from_print(surface.at(p));
        let at = up(p);
        let normal = (up(p + point(0.1, 0.0)) - at).cross(up(p + point(0.0, 0.1)) - at).unit();
        // Beside the bed, which the same thing lights.
        let bed = bed_light(&scene.rig, at.x, at.y);
        if panel.level * panel.seen(at, normal, eye, 0.03) > 0.7 * bed {
            (bright, sum) = (bright + 1.0, sum + at.plan());
        }
    }
    let middle = a.lerp(b, 0.5) + (d - a) * 0.5;
    let off = sum * (1.0 / f64::max(bright, 1.0)) - placed.pose.world_from_print(surface.at(middle)).plan();
    Truth { size: bright / 1e4, ..truth }.towards(in_image(off.x, off.y))
}

/// Green light of the bed at a place over that of a perfect white under the flash alone in the middle.
fn bed_light(r: &Rig, x: f64, y: f64) -> f64 {
    let of = |p: Vec3| r.light.illumination(p, Vec3::UP);
    let panel = r.panel.map_or(0.0, |p| p.light(optics::vec3(x, y, 0.0), Vec3::UP));
    let flash = of(optics::vec3(x, y, 0.0)) / of(Vec3::default());
    r.bed.rgb[1] * (flash + r.room_bounce.factor() + r.ambient.rgb_light()[1] + panel)
}

/// The light knocked about its place between the first blank and the last.
fn bumped(r: &Rig, shots: &mut Vec<Shot>, rng: &mut Rng) -> Truth {
    let mut after = r.clone();
    // Knocked round, or pushed towards the bed or away.
    let round = rng.chance(0.7);
    let turn = if round { rng.between(6.0, 40.0) * rng.pick(&[-1.0, 1.0]) } else { 0.0 };
    let (azimuth, elevation) = (r.light.azimuth().to_deg() + turn, r.light.elevation().to_deg());
    let near = rng.chance(0.5);
    let push = match (round, near) {
        (true, _) => rng.between(0.8, 1.25),
        (_, true) => rng.between(0.6, 0.85),
        (_, false) => rng.between(1.2, 1.7),
    };
    let distance = r.light.position.norm() * push;
    after.light = optics::Light::at(Angle::deg(azimuth), Angle::deg(elevation), Length::mm(distance), r.light.shape);
    let of = |r: &Rig| r.light.illumination(Vec3::default(), Vec3::UP);
    after.sensor.level *= of(&after) / of(r);
    let scene = rig::blank(&after, rng);
    shots.push(Shot { scene, f_number: 8.0 });
    if !round {
        return Truth::new("light.moved", slope_between(r, &after)).way(if near { "nearer" } else { "farther" });
    }
    // Counter-clockwise in the world is counter-clockwise as seen.
    Truth::new("light.moved", -turn).step().way(if turn > 0.0 { "counter-clockwise" } else { "clockwise" })
}

/// How much the light's shape differs across the frame's diagonal, stops: the plane that fits the logarithm of the ratio best.
fn slope_between(a: &Rig, b: &Rig) -> f64 {
    let places = rig::places(a);
    let half = (SIZE.0 as f64).hypot(SIZE.1 as f64) / 2.0 / a.camera.px_per_mm();
    let ratio = |&(x, y): &(f64, f64)| (rig::light(b, x, y)[1] / rig::light(a, x, y)[1]).ln();
    // The places lie evenly about the middle.
    let slope = |of: fn(&(f64, f64)) -> f64| {
        let (up, square) = places.iter().fold((0.0, 0.0), |(u, s), p| (u + of(p) * ratio(p), s + of(p) * of(p)));
        up / square * half
    };
    2.0 * slope(|p| p.0).hypot(slope(|p| p.1)) / std::f64::consts::LN_2
}

/// The column slipped, or the head, between the first ruler frame and the last.
fn moved(r: &Rig, shots: &mut Vec<Shot>, rng: &mut Rng) -> Truth {
    let mut after = r.clone();
    let truth = if rng.chance(0.7) {
        let down = rng.between(3.0, 25.0) * rng.pick(&[-1.0, 1.0]);
        after.camera.distance = Length::mm(r.camera.distance.to_mm() - down);
        // Half the time the lens stays where it was focused.
        if rng.chance(0.5) {
            after.camera.focus_height = Length::mm(-down);
        }
        Truth::new("camera.moved", down.abs()).step().way(if down > 0.0 { "lower" } else { "higher" })
    } else {
        let (lean, way) = (rng.between(0.4, 1.5), rng.between(0.0, 360.0f64).to_radians());
        let (x, y) = (lean * way.cos(), lean * way.sin());
        after.camera.tilt_x = Angle::deg(r.camera.tilt_x.to_deg() + x);
        after.camera.tilt_y = Angle::deg(r.camera.tilt_y.to_deg() + y);
        let mut sides = tilt(&mut r.clone(), &mut Rng::new(0));
        sides.ways = {
            let (up, left) = (if x > 0.0 { "top" } else { "bottom" }, if y > 0.0 { "left" } else { "right" });
            let (a, b) = (format!("{up} and {left}"), format!("{left} and {up}"));
            if x.abs() > y.abs() { vec![a, up.into()] } else { vec![b, left.into()] }
        };
        Truth { ways: sides.ways, ..Truth::new("camera.moved", lean) }
    };
    let scene = rig::ruler(&after, rng);
    shots.push(Shot { scene, f_number: 8.0 });
    truth.brings(&["camera.tilt"])
}

/// One frame at another aperture, darker or brighter by as much.
fn wrong_aperture(shots: &mut [Shot], rng: &mut Rng) -> Truth {
    let stops = (rng.between(2.0, 6.0).round() / 3.0) * rng.pick(&[-1.0, 1.0]);
    let shot = &mut shots[rng.pick(&[0usize, 1, 3])];
    // Marks are rounded: f/5.66 is written 5.7.
    shot.f_number = (10.0 * 8.0 * (stops / 2.0).exp2()).round() / 10.0;
    shot.scene.rig.sensor.level *= (-stops).exp2();
    let way = if stops > 0.0 { "closed" } else { "open" };
    Truth::new("camera.aperture", stops).way(way).brings(&[
        "exposure.clipped",
        "exposure.low",
        "light.near",
        "light.room",
    ])
}

/// Crumbs and hairs on the bed in all frames.
fn dirty(r: &Rig, shots: &mut [Shot], rng: &mut Rng) -> Truth {
    let field = (SIZE.0 as f64 / r.camera.px_per_mm(), SIZE.1 as f64 / r.camera.px_per_mm());
    let count = (field.0 * field.1 / 1e4 * rng.between(12.0, 50.0)) as usize;
    let specks: Vec<dust::Speck> = (0..count)
        .map(|_| {
            let hair = rng.chance(0.4);
            let width = if hair { rng.between(0.07, 0.14) } else { rng.between(0.18, 0.6) };
            let length = width * if hair { rng.between(15.0, 50.0) } else { rng.between(1.0, 1.6) };
            dust::Speck {
                at: dust::Lies::Bed(point(rng.between(-0.48, 0.48) * field.0, rng.between(-0.48, 0.48) * field.1)),
                length: Length::mm(length),
                width: Length::mm(width),
                angle: Angle::deg(rng.between(0.0, 180.0)),
                bend: Length::mm(if hair { length * rng.between(-0.3, 0.3) } else { 0.0 }),
                opacity: rng.between(0.5, 0.95),
                tone: rng.between(0.05, 0.4),
            }
        })
        .collect();
    shots.iter_mut().for_each(|s| s.scene.dust = specks.clone());
    Truth::new("bed.dirty", count as f64)
}

/// What was told of a sitting beside what is true; a complaint where it is not.
fn told(plant: Plant, seed: u64) -> Result<String, String> {
    let (shots, truth) = sitting(plant, seed);
    let folder = tempfile::tempdir().unwrap();
    rig::write(folder.path(), &shots);
    let answer = check(&Request { inputs: vec![folder.path().into()], ..Request::default() });
    let head = format!("{seed:3} {plant:?}");
    if std::env::var_os("FALLSIDE_SAY").is_some() {
        eprintln!(
            "{:?} {:?} {:?}",
            answer.ruler.as_ref().map(|r| (r.focal_px, r.focal_assumed, r.px_per_mm)),
            shots[0].scene.rig.camera.focal_px(),
            shots[0].scene.rig.camera
        );
    }
    let all: Vec<&str> = answer.faults.iter().map(|f| f.code.as_str()).collect();
    if !answer.problems.is_empty() {
        return Err(format!("{head}: {:?}", answer.problems));
    }
    let Some(mut truth) = truth else {
        let said: Vec<&str> = answer.faults.iter().map(|f| f.says.as_str()).collect();
        return if said.is_empty() { Ok(format!("{head}: nothing")) } else { Err(format!("{head}: {said:?}")) };
    };
    if plant == SoftCorner {
        truth.size = softness(&shots[0], folder.path());
    }
    let Some(fault) = answer.faults.iter().find(|f| f.code == truth.code) else {
        return Err(format!("{head}: not named ({:.3}), but {all:?}; {}", truth.size, facts(&answer)));
    };
    let size = (truth.read)(fault);
    let line = format!(
        "{head}: {size:.3} for {:.3} ({:+.0} %), {:?}",
        truth.size,
        100.0 * (size / truth.size - 1.0),
        fault.direction
    );
    let right = truth.ways.is_empty() || truth.ways.iter().any(|w| Some(w) == fault.direction.as_ref());
    let others: Vec<&&str> = all.iter().filter(|c| **c != truth.code && !truth.brings.contains(*c)).collect();
    if !right {
        return Err(format!("{line}: wrong way, it is {:?}", truth.ways));
    }
    let off = (size / truth.size - 1.0).abs();
    if off.is_nan() || off >= WITHIN {
        return Err(format!("{line}: wrong size: {}", fault.says));
    }
    if !others.is_empty() {
        return Err(format!("{line}: also {others:?}"));
    }
    Ok(line)
}

fn facts(a: &Answer) -> String {
    let roles: Vec<String> = a.frames.iter().map(|f| format!("{:?}: {}", f.role, f.reason)).collect();
    a.blank.as_ref().map_or(format!("{roles:?}"), |b| {
        format!(
            "specks {:?}, through {:.4}, dE {:.2}, change {:?}, veils {:?}",
            b.specks_per_dm2, b.show_through, b.colour_delta_e, b.change, a.veils
        )
    })
}

/// The soft corner's true MTF50 over the middle's, at the edges that the sheet has nearest to them.
fn softness(shot: &Shot, folder: &std::path::Path) -> f64 {
    let frame = codec::read(&folder.join("F00.jpg"), &codec::Limits::default()).unwrap().frame;
    let r = print::ruler::measure(&frame, &print::ruler::Ask::default()).unwrap();
    let sensor = &shot.scene.rig.sensor;
    let mtf50 = |s: &print::ruler::Sharpness| {
        let soft = sensor.softness(2.0 * s.at.x / SIZE.0 as f64 - 1.0, 2.0 * s.at.y / SIZE.1 as f64 - 1.0);
        let (sin, cos) = s.response.slant_deg.to_radians().sin_cos();
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..40 {
            let f = (low + high) / 2.0;
            if scene::response(sensor.blur_px.hypot(soft), f * cos, f * sin) > 0.5 { low = f } else { high = f }
        }
        low
    };
    let zone =
        |z: &print::ruler::Zone| [&z.across, &z.down].iter().map(|s| mtf50(s.as_ref().as_ref().unwrap())).sum::<f64>();
    r.zones[1..].iter().map(|z| zone(z) / zone(&r.zones[0])).fold(f64::INFINITY, f64::min)
}

#[test]
fn twelve_planted_faults_are_named_and_clean_sittings_are_not() {
    let said = std::env::var("FALLSIDE_SEEDS").ok();
    let (from, to) = said
        .as_deref()
        .and_then(|s| s.split_once(".."))
        .map_or((1, 2), |(a, b)| (a.parse().unwrap(), b.parse().unwrap()));
    let only = std::env::var("FALLSIDE_PLANT").ok();
    let all: Vec<(Plant, u64)> = (from..to)
        .flat_map(|seed| {
            let clean = (0..CLEAN as u64).map(move |k| (Nothing, 1000 * seed + k));
            FAULTS.into_iter().map(move |plant| (plant, seed)).chain(clean)
        })
        .filter(|(p, _)| only.as_ref().is_none_or(|o| o.split(',').any(|o| format!("{p:?}") == o)))
        .collect();
    let results: Vec<Result<String, String>> = all.par_iter().map(|&(plant, seed)| told(plant, seed)).collect();
    let wrong: Vec<&String> = results.iter().filter_map(|r| r.as_ref().err()).collect();
    results.iter().flatten().for_each(|line| eprintln!("{line}"));
    assert!(
        wrong.is_empty(),
        "{} of {}:\n{}",
        wrong.len(),
        results.len(),
        wrong.iter().map(|w| w.as_str()).collect::<Vec<_>>().join("\n")
    );
}
