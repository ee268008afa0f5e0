//! What a wild frame is like, drawn from its seed.

use super::{Compress, Grade, Grain, Kernel, Posting, Sharpen, Wild};
use crate::noise::Rng;
use crate::rig::{Bed, Rig, Scene};
use crate::{Border, Format, Ground, Output, Picture, Print, Subject, dust, truth};
use geometry::{Angle, Length, Stops, point};
use optics::{Ambient, Camera, Curl, Light, Panel, Pose, Shape, vec3};

/// The frame of a seed.
pub fn draw(seed: u64) -> Wild {
    // A seed of its own, so that no frame shares its numbers with `sample`.
    let mut rng = Rng::new(seed ^ 0x7711d);
    let mut tags = Vec::new();
    let size = size(&mut rng);
    let taken = taken(&mut rng, size);
    let format = rng.pick(&Format::ALL);
    let bed = bed(&mut rng, &mut tags);
    let print = print(&mut rng, format, &bed, &mut tags);
    let (camera, pose) = placed(&mut rng, &print, size, &mut tags);
    let k = taken.0 as f64 / size.0 as f64;
    let rig = rig(&mut rng, Rig { camera, bed, ..Rig::default() }, k, print.border.rgb[1], &mut tags);
    let mut scene = Scene::of(rig, print, pose, seed);
    dirty(&mut rng, &mut scene);
    let posting = posting(&mut rng, &mut tags);
    Wild { scene, taken, size, posting, tags }
}

/// Columns and rows of the posted picture.
fn size(rng: &mut Rng) -> (usize, usize) {
    // Small ones draw in milliseconds, which is what thousands need; one in a hundred and fifty is as large as a page shows.
    let long = if rng.chance(0.007) {
        rng.between(2400.0, 3000.0)
    } else {
        350.0 * (1600.0f64 / 350.0).powf(rng.unit().powf(1.6))
    };
    let aspect = rng.pick(&[1.5, 1.5, 1.5, 4.0 / 3.0, 4.0 / 3.0, 16.0 / 9.0, 1.0, 2.0]);
    let (long, short) = (long.round() as usize, (long / aspect).round() as usize);
    if rng.chance(0.3) { (short, long) } else { (long, short) }
}

/// Columns and rows of the camera's own picture: reduced for the page as a rule, now and then enlarged.
fn taken(rng: &mut Rng, (w, h): (usize, usize)) -> (usize, usize) {
    let k = match rng.pick(&[0, 0, 0, 0, 0, 1, 1, 1, 2, 2]) {
        0 => 1.0,
        1 => rng.between(1.05, 1.4),
        _ => rng.between(0.7, 0.95),
    };
    // Four camera pixels to one are worth their time only where there are few.
    let k = if w.max(h) < 520 && rng.chance(0.3) { 2.0 } else { k };
    // A large frame has pixels enough of its own.
    let k = if w.max(h) > 1000 { f64::min(k, 1.15) } else { k };
    let side = |n: usize| (n as f64 * k).round() as usize;
    (side(w), side(h))
}

fn mm(rng: &mut Rng, a: f64, b: f64) -> Length {
    Length::mm(rng.between(a, b))
}

fn deg(rng: &mut Rng, a: f64, b: f64) -> Angle {
    Angle::deg(rng.between(a, b))
}

/// Nearer to `a` than to `b`, by the square of a uniform number.
fn rarely(rng: &mut Rng, a: f64, b: f64) -> f64 {
    a + (b - a) * rng.unit().powi(2)
}

/// What lies under the print.
fn bed(rng: &mut Rng, tags: &mut Vec<&'static str>) -> Bed {
    let fibre = rarely(rng, 0.002, 0.02);
    let show_through = if rng.chance(0.15) { rng.between(0.008, 0.03) } else { 0.0 };
    let mut bed = Bed { fibre, show_through, grain: deg(rng, 0.0, 180.0), ..Bed::default() };
    let (rgb, ground, tag) = match rng.pick(&[0, 0, 0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 2, 3, 3, 4, 4, 5, 6, 6]) {
        0 => ([0.86, 0.88, 0.89].map(|v| v + rng.between(-0.02, 0.03)), Ground::Paper, None),
        1 => (cream(rng), Ground::Paper, Some("cream bed")),
        2 => ([rng.between(0.3, 0.75); 3].map(|v| v + rng.between(-0.02, 0.02)), Ground::Paper, Some("grey bed")),
        3 => {
            let wood = Ground::Wood { depth: rng.between(0.03, 0.14), lines: rng.between(0.25, 1.6) };
            let tone = rng.between(0.35, 0.75);
            ([tone, tone * rng.between(0.72, 0.88), tone * rng.between(0.45, 0.7)], wood, Some("wood"))
        }
        4 => ([rng.between(0.2, 0.65); 3], Ground::Stone { depth: rng.between(0.04, 0.2) }, Some("stone")),
        5 => ([rng.between(0.025, 0.06); 3], Ground::Paper, Some("black card")),
        _ => {
            let cloth = Ground::Cloth { depth: rng.between(0.03, 0.15), thread: rng.between(0.3, 1.3) };
            ([(); 3].map(|()| rarely(rng, 0.75, 0.1)), cloth, Some("cloth"))
        }
    };
    (bed.rgb, bed.ground) = (rgb, ground);
    tags.extend(tag);
    bed
}

fn cream(rng: &mut Rng) -> [f64; 3] {
    let tone = rng.between(0.74, 0.88);
    [tone, tone * rng.between(0.95, 0.99), tone * rng.between(0.8, 0.94)]
}

fn print(rng: &mut Rng, format: Format, bed: &Bed, tags: &mut Vec<&'static str>) -> Print {
    let mut print = Print::new(format, picture(rng, tags), rng.bits());
    (print.border, print.age) = border(rng, bed, tags);
    let foot = format.has_foot();
    print.sheet.corner_radius = if foot { mm(rng, 0.0, 2.0) } else { mm(rng, 0.0, 0.3) };
    print.sheet.thickness = Length::mm(if foot { rarely(rng, 0.4, 1.6) } else { rarely(rng, 0.25, 0.7) });
    print.sheet.curl = curl(rng, tags);
    print.window_roughness = rng.between(0.03, 0.07);
    print.border_roughness = rng.between(0.15, 0.28);
    print
}

fn picture(rng: &mut Rng, tags: &mut Vec<&'static str>) -> Picture {
    let subject = if rng.chance(0.7) { rng.pick(&Subject::ALL) } else { rng.pick(&Subject::HARD) };
    let stops = if rng.chance(0.5) { 0.0 } else { rng.normal() * 0.9 };
    let fade = if rng.chance(0.75) { 0.0 } else { rng.between(0.2, 0.93) };
    if fade > 0.6 || subject == Subject::Haze {
        tags.push("flat picture");
    }
    Picture { stops, fade, stock: true, ..Picture::new(subject, rng.bits()) }
}

/// A border and its age.
fn border(rng: &mut Rng, bed: &Bed, tags: &mut Vec<&'static str>) -> (Border, f64) {
    let of = |[r, g, b]: [f64; 3]| Border::colour(r, g, b);
    let age = rng.between(0.0, 0.6);
    let white = |rng: &mut Rng| {
        let tint = rng.between(-0.03, 0.03);
        Border::colour(0.83 + tint, 0.825 + tint, 0.79 + 1.5 * tint)
    };
    // On black card a black border has no outline that anybody could see.
    let black_bed = bed.rgb[1] < 0.1;
    match rng.pick(&[0, 0, 0, 0, 0, 0, 0, 0, 1, 1, 1, 2, 2, 2, 2, 3, 4, 4, 5, 5, 5]) {
        1 => {
            tags.push("yellowed");
            (of(cream(rng)), rng.between(0.5, 1.3))
        }
        2 if !black_bed => {
            tags.push("border darker than bed");
            let k = rng.between(0.82, 0.98);
            let green = [k * rng.between(0.94, 1.0), k, k * rng.between(0.92, 1.0)];
            (of(std::array::from_fn(|c| bed.rgb[c] * green[c])), 0.3 * age)
        }
        3 => {
            tags.push("border lighter than bed");
            let k = rng.between(1.01, 1.08);
            (of(bed.rgb.map(|v| (v * k).min(0.93))), 0.2 * age)
        }
        4 if !black_bed => {
            tags.push("black border");
            (Border::BLACK, age)
        }
        5 => {
            tags.push("coloured border");
            (of([(); 3].map(|()| rng.between(0.12, 0.8))), age)
        }
        _ => (white(rng), age),
    }
}

fn curl(rng: &mut Rng, tags: &mut Vec<&'static str>) -> Curl {
    let lift = Length::mm(rarely(rng, 0.2, 4.0));
    let axis = Angle::deg(rng.pick(&[0.0, 90.0, 90.0, 45.0]) + rng.normal() * 4.0);
    match rng.pick(&[0, 0, 0, 1, 1, 1, 1, 1, 1, 2, 2, 2, 3, 4, 4, 5, 5, 5]) {
        0 => Curl::Flat,
        1 => Curl::Cylinder { lift, axis },
        2 => Curl::Cylinder { lift: -lift, axis },
        3 => Curl::Saddle { lift: lift * 0.5, ratio: rng.between(0.3, 0.9) },
        4 => {
            tags.push("dome");
            // A negative ratio bends both ways alike: a dome, or a dish.
            let side = rng.pick(&[-0.6, -0.6, 0.6]);
            Curl::Saddle { lift: lift * side, ratio: -rng.between(0.3, 0.9) }
        }
        _ => {
            tags.push("lifted corner");
            Curl::Corner { lift: lift * 1.5, right: rng.chance(0.5), top: rng.chance(0.5) }
        }
    }
}

/// Most of the frame's width or height that a print takes, with room for a thin bed on both sides.
const MOST: f64 = 0.92;
/// The least long side of a print, pixels: below it nobody would post the picture to show the print.
const LEAST_PX: f64 = 150.0;

/// A camera and a place of the print in its frame.
fn placed(rng: &mut Rng, print: &Print, (w, h): (usize, usize), tags: &mut Vec<&'static str>) -> (Camera, Pose) {
    let (w, h) = (w as f64, h as f64);
    let askew = match rng.pick(&[0, 0, 0, 0, 0, 1, 2]) {
        0 => rng.normal() * 2.5,
        1 => rng.between(-12.0, 12.0),
        _ => {
            tags.push("any turn");
            rng.between(-45.0, 45.0)
        }
    };
    let rotation = Angle::deg(rng.pick(&[0.0, 90.0, 180.0, 270.0]) + askew);
    let (pw, ph) = (print.sheet.width.to_mm(), print.sheet.height.to_mm());
    let (s, c) = (rotation.to_rad().sin().abs(), rotation.to_rad().cos().abs());
    let (across, down) = (pw * c + ph * s, pw * s + ph * c);
    let least = (LEAST_PX / pw.max(ph) * down / h).clamp(1.0 / 3.0, 0.85);
    let share = rng.between(least, 0.9);
    let mut field = (down / share * w / h).max(across / MOST);
    let distance = rng.between(0.85, 2.6);
    let (lean, way) = (rarely(rng, 0.0, 4.0), rng.between(0.0, std::f64::consts::TAU));
    let roll = deg(rng, -2.0, 2.0);
    let lens = [rng.between(-0.02, 0.025), rng.between(-0.004, 0.004), 0.0];
    let corner_angle = deg(rng, 5.0, 22.0);
    let f_number = optics::FNumber(rng.pick(&[8.0, 11.0, 16.0]));
    // From -1 to 1 of the room there is.
    let (x, y) = (rng.between(-1.0, 1.0), rng.between(-1.0, 1.0));
    let mut room = 1.0;
    loop {
        let over = Length::mm(field * distance * (w.max(h) / w));
        let mut camera = Camera::over(w, h, Length::mm(36.0 * w / w.max(h)), Length::mm(field), over);
        (camera.tilt_x, camera.tilt_y) = (Angle::deg(lean * way.cos()), Angle::deg(lean * way.sin()));
        (camera.roll, camera.lens.k, camera.corner_angle, camera.f_number) = (roll, lens, corner_angle, f_number);
        let free = |frame: f64, print: f64| room * (frame - print).max(0.0) / 2.0;
        let pose = Pose { centre: point(x * free(field, across), y * free(field * h / w, down)), rotation };
        let rig = Rig { camera, ..Rig::default() };
        let scene = Scene::of(rig, print.clone(), pose, 0);
        let margin = truth::of(&scene, &scene.rig.camera, &[], 0.0).prints[0].margin.to_mm();
        // A hundredth of the frame's height, as close as people frame; then nearer to the middle, and from farther away.
        if margin > 0.01 * field * h / w || room < 0.05 {
            return (camera, pose);
        }
        room *= 0.75;
        field *= 1.02;
    }
}

/// Light, room and sensor, for a camera that takes `k` times the posted pixels of a border that reflects `lightest`.
fn rig(rng: &mut Rng, mut rig: Rig, k: f64, lightest: f64, tags: &mut Vec<&'static str>) -> Rig {
    rig.light = if rng.chance(0.6) { flash(rng) } else { window(rng, tags) };
    rig.flash_rgb = [rng.between(0.95, 1.05), 1.0, rng.between(0.94, 1.06)];
    rig.room_bounce = Stops::new(rng.between(-7.0, -2.5));
    let tint = rng.pick(&[[0.82, 0.98, 1.38], [1.02, 1.05, 0.7], [1.4, 1.0, 0.55], [1.0, 1.0, 1.0]]);
    rig.ambient = Ambient { level: Stops::new(-rarely(rng, 2.0, 9.0)), rgb: tint };
    if rng.chance(0.12) {
        tags.push("mirrors the ceiling");
        let (x, y) = (rng.between(-250.0, 250.0), rng.between(-250.0, 250.0));
        rig.panel = Some(Panel {
            height: mm(rng, 1400.0, 2200.0),
            from: point(x - rng.between(80.0, 300.0), y - rng.between(80.0, 300.0)),
            to: point(x + rng.between(80.0, 300.0), y + rng.between(80.0, 300.0)),
            level: rng.between(0.05, 0.35),
            rgb: [1.0, 0.98, 0.92],
        });
    }
    let s = &mut rig.sensor;
    s.blur_px = k * rng.between(0.45, 1.3);
    s.sensitivity = [rng.between(0.44, 0.56), 1.0, rng.between(0.52, 0.71)];
    s.wb_error = if rng.chance(0.5) {
        [rng.between(0.96, 1.04), 1.0, rng.between(0.96, 1.04)]
    } else {
        [rng.between(0.84, 1.18), 1.0, rng.between(0.84, 1.18)]
    };
    s.full_well = rng.between(8_000.0, 60_000.0);
    s.read_noise = rng.between(3.0, 12.0);
    s.bits = 12;
    let brightest = if rng.chance(0.08) {
        tags.push("overexposed");
        rng.between(1.0, 1.15)
    } else {
        rng.between(0.4, 0.97)
    };
    // People expose for the lightest thing in the frame, which on a dark ground is the print.
    let [bed, print] = [rig.bed.rgb[1], lightest.max(0.6)];
    s.level = brightest * bed / bed.max(print);
    s.output = Output::Linear16;
    rig
}

/// One hard flash or bulb.
fn flash(rng: &mut Rng) -> Light {
    let shape = match rng.pick(&[0, 0, 1, 2]) {
        0 => Shape::Rectangle { width: mm(rng, 20.0, 90.0), height: mm(rng, 15.0, 60.0) },
        1 => Shape::Disc { diameter: mm(rng, 15.0, 90.0) },
        _ => Shape::Sphere { diameter: mm(rng, 20.0, 80.0) },
    };
    aimed(rng, 25.0, 65.0, (450.0, 1600.0), shape)
}

/// A window of the room, or a large soft box.
fn window(rng: &mut Rng, tags: &mut Vec<&'static str>) -> Light {
    tags.push("window light");
    let shape = Shape::Rectangle { width: mm(rng, 350.0, 1100.0), height: mm(rng, 300.0, 800.0) };
    aimed(rng, 27.0, 60.0, (1300.0, 2500.0), shape)
}

fn aimed(rng: &mut Rng, low: f64, high: f64, (near, far): (f64, f64), shape: Shape) -> Light {
    let mut light = Light::at(deg(rng, 0.0, 360.0), deg(rng, low, high), mm(rng, near, far), shape);
    light.aim = vec3(rng.between(-25.0, 25.0), rng.between(-25.0, 25.0), 0.0);
    light
}

fn dirty(rng: &mut Rng, scene: &mut Scene) {
    let some = |rng: &mut Rng, most: f64| (rng.unit() * most) as usize;
    let n = some(rng, 8.0);
    scene.dust.extend(dust::scatter(rng, n, Length::mm(220.0), Length::mm(160.0), dust::Lies::Bed));
    let (sheet, n) = (scene.sheets[0].print.sheet, some(rng, 6.0));
    scene.dust.extend(dust::scatter(rng, n, sheet.width, sheet.height, |p| dust::Lies::Print(0, p)));
}

fn posting(rng: &mut Rng, tags: &mut Vec<&'static str>) -> Posting {
    let kernel = rng.pick(&[Kernel::Area, Kernel::Cubic]);
    let grade = if rng.chance(0.2) { Grade::NONE } else { grade(rng) };
    let grain = Grain {
        levels: if rng.chance(0.3) { 0.0 } else { rarely(rng, 2.0, 9.0) },
        size_px: rng.between(0.4, 1.0),
        coloured: if rng.chance(0.5) { 0.0 } else { rng.unit() },
    };
    let amount = if rng.chance(0.25) { 0.0 } else { rng.between(0.3, 1.5) };
    let sharpen = Sharpen { amount, radius_px: rng.between(0.6, 1.5) };
    if grain.levels * (1.0 + amount) > 8.0 {
        tags.push("coarse grain");
    }
    let compress = Compress { quality: rng.between(60.0, 96.0) as u8, half_colour: rng.chance(0.65) };
    Posting { kernel, grade, grain, sharpen, compress }
}

fn grade(rng: &mut Rng) -> Grade {
    let (black, white) = (rarely(rng, 0.0, 0.14), rarely(rng, 1.0, 0.86));
    Grade {
        gamma: rng.between(0.78, 1.3),
        contrast: rng.between(-0.15, 0.6),
        saturation: if rng.chance(0.07) { 0.0 } else { rng.between(0.5, 1.35) },
        black: [(); 3].map(|()| (black + rng.between(-0.03, 0.03)).max(0.0)),
        white: [(); 3].map(|()| (white + rng.between(-0.03, 0.03)).min(1.0)),
    }
}
