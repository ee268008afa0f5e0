//! Rendered frames against closed forms: light, penumbra, projection, chart, raw readings, determinism.

use geometry::{Angle, Length, point};
use optics::shadow::EdgeShadow;
use optics::{Curl, Light, Pose, Shape, vec3};
use pixels::Samples;
use scene::{Border, Format, Output, Picture, Print, Rig, Role, Scene, Sensor, Subject, chart, render, sample};

/// A still, straight, noiseless rig: what is seen is what the formulas say.
fn ideal() -> Rig {
    let mut rig = Rig { sensor: Sensor::ideal(), flash_rgb: [1.0; 3], ..Rig::default() };
    rig.bed.fibre = 0.0;
    rig.ambient.level = geometry::Stops::new(-30.0);
    rig.room_bounce = geometry::Stops::new(-30.0);
    rig
}

fn plain_print(format: Format) -> Print {
    let mut print = Print::new(format, Picture::new(Subject::Night, 3), 3);
    print.age = 0.0;
    print.sheet.curl = Curl::Flat;
    print
}

/// Inverse square and both cosines over the lamp's face (Lambert), times cos^4 of the lens.
#[test]
fn the_bed_is_lit_by_the_formula() {
    let scene = Scene::blank(ideal(), 1);
    let shot = render(&scene, 900, 600);
    let camera = scene.rig.camera.resized(900.0, 600.0);
    let predicted = |x: usize, y: usize| {
        let p = point(x as f64 + 0.5, y as f64 + 0.5);
        scene.rig.light.relative(camera.bed_from_frame(p).unwrap()) * camera.vignette(p)
    };
    let unit = f64::from(shot.frame.linear(450, 300)[1]) / predicted(450, 300);
    for (x, y) in [(3, 4), (890, 10), (20, 580), (880, 590), (200, 500), (600, 100)] {
        let ratio = f64::from(shot.frame.linear(x, y)[1]) / (unit * predicted(x, y));
        assert!((ratio - 1.0).abs() < 1e-3, "at {x}, {y}: {ratio}");
    }
    // The brightest place holds the level that was asked for.
    let most = (0..600)
        .flat_map(|y| (0..900).map(move |x| (x, y)))
        .map(|(x, y)| shot.frame.linear(x, y)[1])
        .fold(0.0, f32::max);
    assert!((most - 0.9).abs() < 0.01, "{most}");
}

/// A flat slab's shadow begins to lighten at h / tan(e + a) and ends at h / tan(e - a), e and a as the edge sees the lamp.
#[test]
fn the_penumbra_ends_where_geometry_says() {
    let mut rig = ideal();
    let shape = Shape::Rectangle { width: Length::mm(60.0), height: Length::mm(120.0) };
    rig.light = Light::at(Angle::deg(180.0), Angle::deg(42.0), Length::mm(700.0), shape);
    let mut print = plain_print(Format::PeelApart);
    print.sheet.thickness = Length::mm(2.0);
    let bare = Scene::blank(rig.clone(), 1);
    let scene = Scene::of(rig, print, Pose::default(), 1);
    let (w, h) = (3000, 2000);
    let (with, without) = (render(&scene, w, h), render(&bare, w, h));
    let view = scene.rig.camera.view();
    let edge = vec3(41.5, 0.0, 2.02);
    let (_, _, up) = scene.rig.light.frame();
    let seen = |s: f64| {
        let v = scene.rig.light.position + up * s - edge;
        edge.z * v.plan().norm() / v.z
    };
    let frame_x = |mm: f64| view.frame_from_world(vec3(41.5 + mm, 0.0, 0.0)).unwrap().x;
    let y = h / 2;
    let share = |x: usize| with.frame.linear(x, y)[1] / without.frame.linear(x, y)[1];
    let (umbra, end) = (frame_x(seen(1.0)), frame_x(seen(-1.0)));
    let first_lit = (umbra as usize - 6..).find(|&x| share(x) > 0.06).unwrap() as f64;
    let full = (umbra as usize..).find(|&x| share(x) > 0.985).unwrap() as f64;
    // 0.06 of the way in area (walls return up to 0.03) and 0.985 lie within a pixel and a half of the ends.
    assert!((first_lit - umbra).abs() < 2.0, "umbra ends at {first_lit}, not {umbra}");
    assert!((full - end).abs() < 2.0, "shadow ends at {full}, not {end}");
    // The rule with one elevation and one half angle says the same to half a per cent.
    let from_edge = scene.rig.light.position - edge;
    let elevation = Angle::rad(from_edge.z.atan2(from_edge.plan().norm()));
    let rule = EdgeShadow::new(Length::mm(edge.z), elevation, scene.rig.light.half_angle(), Angle::default()).unwrap();
    assert!((rule.end().to_mm() / seen(-1.0) - 1.0).abs() < 0.01);
    // And in between the share rises without a step or a turn.
    let rise: Vec<f32> = (umbra as usize + 2..end as usize - 1).map(share).collect();
    assert!(rise.windows(2).all(|p| p[1] > p[0]), "{rise:?}");
}

/// The window's edges fall on the projected outline of the window, through tilt and lens.
#[test]
fn edges_fall_on_the_true_outline() {
    let mut rig = ideal();
    rig.camera.tilt_x = Angle::deg(1.2);
    rig.camera.tilt_y = Angle::deg(-0.7);
    rig.camera.lens.k = [0.01, -0.002, 0.0];
    let pose = Pose { centre: point(3.0, -2.0), rotation: Angle::deg(4.0) };
    let scene = Scene::of(rig, plain_print(Format::WideIntegral), pose, 1);
    let shot = render(&scene, 1500, 1000);
    let window = shot.truth.prints[0].window_px.unwrap();
    let (camera, sheet) = (scene.rig.camera.resized(1500.0, 1000.0), scene.sheets[0].print.sheet);
    let surface = sheet.surface();
    let project = |q| camera.frame_from_world(pose.world_from_print(surface.at(q))).unwrap();
    let at = |x: f64, y: f64| f64::from(shot.frame.linear(x as usize, y as usize)[1]);
    for side in 0..4 {
        let (a, b) = window.side(side);
        let out = -(b - a).unit().quarter_turn();
        for t in [0.3, 0.5, 0.7] {
            let (c, d) = sheet.window().unwrap().side(side);
            let p = project(c.lerp(d, t));
            // Along the row or column that crosses the edge most squarely.
            let step = if out.x.abs() > out.y.abs() { point(out.x.signum(), 0.0) } else { point(0.0, out.y.signum()) };
            let from = point(p.x.floor() + 0.5, p.y.floor() + 0.5) + step * -6.0;
            let line: Vec<f64> = (0..13).map(|k| at(from.x + step.x * k as f64, from.y + step.y * k as f64)).collect();
            // The dark length of the line, pixels seen partly counted in part: exact for an edge that averages over pixels.
            let (dark, bright) = (line[..4].iter().sum::<f64>() / 4.0, line[12]);
            let length: f64 = line.iter().map(|v| (bright - v) / (bright - dark)).sum();
            let cross = from + step * (length - 0.5);
            let off = (cross - p).dot(out);
            assert!(off.abs() < 0.05, "side {side} at {t}: {off} px from the true edge");
        }
    }
}

/// Each patch over the bed is the ratio of their reflectances, at the same light.
#[test]
fn the_chart_shows_its_values() {
    let rig = ideal();
    let scene = Scene::chart(rig.clone(), Pose::default(), 1);
    let (with, without) = (render(&scene, 900, 600), render(&Scene::blank(rig.clone(), 1), 900, 600));
    let camera = scene.rig.camera.resized(900.0, 600.0);
    for (i, patch) in chart::PATCHES.iter().enumerate() {
        let c = scene::truth::chart_patch(&scene, &camera, i).unwrap().centre();
        let (x, y) = (c.x as usize, c.y as usize);
        let (p, b) = (with.frame.linear(x, y), without.frame.linear(x, y));
        for k in 0..3 {
            let want = patch[k] / rig.bed.rgb[k];
            // The chart's face lies half a millimetre nearer to the lamp: a fifth of a per cent.
            assert!(
                (f64::from(p[k] / b[k]) / want - 1.0).abs() < 0.006,
                "patch {i} channel {k}: {} {want}",
                p[k] / b[k]
            );
        }
    }
    assert_eq!(with.truth.prints[0].format, "chart");
}

/// Without the flash the bed keeps what the room gives, at the sitting's exposure.
#[test]
fn flash_off_leaves_the_ambient() {
    let mut rig = ideal();
    rig.ambient.level = geometry::Stops::new(-4.0);
    rig.ambient.rgb = [1.0; 3];
    let (off, on) = (render(&Scene::flash_off(rig.clone(), 1), 300, 200), render(&Scene::blank(rig, 1), 300, 200));
    let ratio = on.frame.linear(150, 100)[1] / off.frame.linear(150, 100)[1];
    assert!((ratio - 17.0).abs() < 0.1, "flash and a sixteenth over a sixteenth: {ratio}");
    assert_eq!(off.truth.role, Role::FlashOff);
}

/// A raw mosaic holds the sensor's own readings: a neutral under the flash reads as `neutral` says.
#[test]
fn the_mosaic_holds_raw_readings() {
    let mut rig = ideal();
    rig.bed.rgb = [0.9; 3];
    rig.sensor = Sensor { mosaic: true, bits: 14, sensitivity: [0.5, 1.0, 0.6], ..Sensor::ideal() };
    let shot = render(&Scene::blank(rig, 1), 301, 203);
    let raw = shot.mosaic.unwrap();
    let light =
        |x: usize, y: usize| f64::from(raw.samples[y * raw.width + x] - raw.black) / f64::from(raw.white - raw.black);
    let (red, green, blue) = (light(150, 100), light(151, 100), light(151, 101));
    assert!((red / green - raw.neutral[0]).abs() < 0.002 && (blue / green - raw.neutral[2]).abs() < 0.002);
    // And the picture made of it is neutral.
    let [r, g, b] = shot.frame.linear(150, 100);
    assert!((r / g - 1.0).abs() < 0.003 && (b / g - 1.0).abs() < 0.003);
}

/// The same scene gives the same bytes, whatever the number of threads; another seed does not.
#[test]
fn the_same_scene_gives_the_same_bytes() {
    let pool = |n: usize| rayon::ThreadPoolBuilder::new().num_threads(n).build().unwrap();
    let draw = |n: usize, seed: u64| pool(n).install(|| render(&sample(seed), 420, 280).frame.samples);
    assert_eq!(draw(1, 5), draw(3, 5));
    assert_ne!(draw(1, 5), draw(1, 6));
}

/// Random scenes keep their prints in the frame, in focus enough, and their truth whole.
#[test]
fn samples_are_usable() {
    let mut formats = std::collections::HashSet::new();
    for seed in 0..60 {
        let scene = sample(seed);
        let camera = scene.rig.camera.resized(600.0, 400.0);
        let truth = scene::truth::of(&scene, &camera, &[0.0], 0.9);
        let p = &truth.prints[0];
        formats.insert(p.format);
        assert!(p.margin.to_mm() > 1.0, "seed {seed}: {} margin {:?}", p.format, p.margin);
        assert!(p.curl.to_mm() <= 4.0 && camera.tilt().to_deg() <= 1.5);
        assert!(p.outer_px.area() > 0.0, "corners run clockwise");
    }
    assert!(formats.len() >= 6);
}

/// Any size can be drawn, in every output, and a back has no window.
#[test]
fn any_size_and_output() {
    let mut scene = sample(11);
    scene.sheets[0].print = scene.sheets[0].print.clone().turned_over().bordered(Border::WHITE);
    scene.role = Role::Back;
    for (w, h) in [(1, 1), (7, 333), (640, 5)] {
        for output in [Output::Linear16, Output::Srgb8, Output::Camera8 { contrast: 0.4, sharpening: 0.5 }] {
            scene.rig.sensor.output = output;
            scene.rig.sensor.mosaic = w > 1;
            let shot = render(&scene, w, h);
            match shot.frame.samples {
                Samples::U8(s) => assert_eq!(s.len(), 3 * w * h),
                Samples::U16(s) => assert_eq!(s.len(), 3 * w * h),
            }
            assert_eq!(shot.truth.prints[0].window_px, None);
        }
    }
}

/// The shadow map is the ratio of the two frames, and coverage adds up to the print's area.
#[test]
fn the_maps_of_truth_agree_with_the_frames() {
    let mut print = plain_print(Format::SquareMini);
    print.sheet.curl = Curl::Cylinder { lift: Length::mm(2.0), axis: Angle::deg(30.0) };
    let scene = Scene::of(ideal(), print, Pose { centre: point(2.0, 1.0), rotation: Angle::deg(7.0) }, 1);
    let (w, h) = (900, 600);
    let (with, without) = (render(&scene, w, h), render(&Scene::blank(scene.rig.clone(), 1), w, h));
    let (shadow, coverage) = (scene::shadow(&scene, w, h), scene::coverage(&scene, w, h));
    for y in 0..h {
        for x in 0..w {
            // Beyond the print and its side wall.
            let near = (0..9).any(|k| coverage.clamped((x + k % 3) as isize - 1, (y + k / 3) as isize - 1) > 0.0);
            if !near {
                let ratio = with.frame.linear(x, y)[1] / without.frame.linear(x, y)[1];
                assert!((ratio - shadow.get(x, y)).abs() < 0.002, "at {x}, {y}: {ratio} {}", shadow.get(x, y));
            }
        }
    }
    let outline: Vec<_> = with.truth.prints[0].outline_px.iter().flatten().copied().collect();
    let area = (0..outline.len()).map(|i| outline[i].cross(outline[(i + 1) % outline.len()])).sum::<f64>() / 2.0;
    let covered: f64 = coverage.data.iter().map(|&v| f64::from(v)).sum();
    // The rounded corners take (4 - pi) r^2 = 0.86 mm^2 away.
    let rounded = 0.858 * with.truth.prints[0].px_per_mm.powi(2);
    assert!((covered - (area - rounded)).abs() < 2e-4 * area, "{covered} {area}");
}

/// By the room's light alone the sky opens steadily on the way past a corner, for flat and curled prints.
#[test]
fn the_sky_opens_steadily_past_a_corner() {
    for curl in [Curl::Flat, Curl::Cylinder { lift: Length::mm(2.0), axis: Angle::deg(0.0) }] {
        let mut print = plain_print(Format::PeelApart);
        print.sheet.thickness = Length::mm(1.5);
        print.sheet.curl = curl;
        let mut rig = ideal();
        rig.ambient.level = geometry::Stops::new(0.0);
        let mut scene = Scene::of(rig, print, Pose::default(), 1);
        scene.role = Role::FlashOff;
        let (w, h) = (1800, 1200);
        let map = scene::shadow(&scene, w, h);
        let view = scene.rig.camera.resized(1800.0, 1200.0).view();
        // A line 1.2 mm above the top side, from a third of it to well past the corner.
        let frame = |x: f64| view.frame_from_world(vec3(x, 54.0 + 1.2, 0.0)).unwrap();
        let at = |x: f64| map.bilinear(frame(x).x, frame(x).y);
        let line: Vec<f32> = (0..80).map(|i| at(28.0 + 0.25 * f64::from(i))).collect();
        assert!(line.windows(2).all(|p| p[1] > p[0] - 0.004 && p[1] < p[0] + 0.08), "{curl:?} {line:?}");
        assert!(line[0] < 0.9 && line[79] > 0.96, "{curl:?} {line:?}");
    }
}
