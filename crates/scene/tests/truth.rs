//! Our renderer against frames of an independent physically based renderer (Mitsuba 3), where they are at hand.
//!
//! The rigs and prints of `../shared/truth` are rebuilt from their parameters; corners, outlines, bed light and shadows
//! must agree. Nothing is tuned to them: what differs by model (bounces of light, roughness) is in the tolerances.

use geometry::{Angle, Length, Lens, Point, Quad, Stops, point};
use optics::{Ambient, Camera, Curl, Light, Panel, Pose, Shape, vec3};
use scene::{Bed, Format, Output, Picture, Print, Rig, Scene, Sensor, Subject};
use serde_json::Value;
use std::path::{Path, PathBuf};

fn truth() -> Option<PathBuf> {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    let found = ["../../../shared/truth", "../../../../shared/truth"].iter().map(|p| here.join(p)).find(|p| p.is_dir());
    if found.is_none() {
        eprintln!("skipped: no ../shared/truth beside the repository");
    }
    found
}

fn json(path: &Path) -> Value {
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

fn num(v: &Value) -> f64 {
    v.as_f64().unwrap()
}
fn three(v: &Value) -> [f64; 3] {
    std::array::from_fn(|i| num(&v[i]))
}
fn points(v: &Value) -> Vec<Point> {
    v.as_array().unwrap().iter().map(|p| point(num(&p[0]), num(&p[1]))).collect()
}

fn rebuilt(t: &Value) -> Scene {
    let c = &t["camera"];
    let (w, h, f) = (num(&c["width"]), num(&c["height"]), num(&c["f_px"]));
    let distance = num(&c["distance_mm"]);
    let mut camera = Camera::over(w, h, Length::mm(36.0), Length::mm(w * distance / f), Length::mm(distance));
    camera.tilt_x = Angle::deg(num(&c["tilt_x_deg"]));
    camera.tilt_y = Angle::deg(num(&c["tilt_y_deg"]));
    camera.roll = Angle::deg(num(&c["roll_deg"]));
    camera.lens = Lens { k: [num(&c["k1_halfdiag"]), num(&c["k2_halfdiag"]), 0.0], ..Lens::straight(w, h) };
    camera.corner_angle = Angle::deg(num(&t["vignette"]["corner_angle_deg"]));
    let l = &t["light"];
    let size = |i: usize| Length::mm(num(&l["size_mm"][i]));
    let shape = match l["shape"].as_str().unwrap() {
        "rect" => Shape::Rectangle { width: size(0), height: size(1) },
        _ => Shape::Sphere { diameter: size(0) },
    };
    let mut light = Light::at(
        Angle::deg(num(&l["azimuth_deg"])),
        Angle::deg(num(&l["elevation_deg"])),
        Length::mm(num(&l["distance_mm"])),
        shape,
    );
    light.aim = vec3(num(&l["aim_mm"][0]), num(&l["aim_mm"][1]), 0.0);
    let a = &t["ambient"];
    let rig = Rig {
        camera,
        light,
        flash_rgb: three(&t["flash_rgb"]),
        room_bounce: Stops::new(num(&a["flash_room_bounce_stops"])),
        ambient: Ambient { level: Stops::new(num(&a["stops"])), rgb: three(&a["rgb"]) },
        panel: t["panel"].as_object().map(|p| Panel {
            height: Length::mm(num(&p["height_mm"])),
            from: point(num(&p["panes_mm"][0][0]), num(&p["panes_mm"][0][1])),
            to: point(num(&p["panes_mm"][0][2]), num(&p["panes_mm"][0][3])),
            level: num(&p["specular_level"]),
            rgb: three(&p["rgb"]),
        }),
        bed: Bed { rgb: three(&t["bed"]["albedo"]), fibre: 0.0, show_through: 0.0, ..Bed::default() },
        sensor: Sensor { level: 0.5, output: Output::Linear16, ..Sensor::ideal() },
    };
    let p = &t["print"];
    let format = Format::ALL.into_iter().find(|f| f.name() == p["format"].as_str().unwrap()).unwrap();
    let mut print = Print::new(format, Picture::new(Subject::Night, 1), 1);
    print.border.rgb = three(&p["border_albedo"]);
    print.sheet.thickness = Length::mm(num(&p["thickness_mm"]));
    print.sheet.corner_radius = Length::mm(num(&p["corner_radius_mm"]));
    let (curl, lift) = (&p["curl"], Length::mm(num(&p["curl"]["lift_mm"])));
    print.sheet.curl = match curl["kind"].as_str().unwrap() {
        "cylinder" => Curl::Cylinder { lift, axis: Angle::deg(num(&curl["axis_deg"])) },
        "saddle" => Curl::Saddle { lift, ratio: num(&curl["ratio"]) },
        "corner" => Curl::Corner { lift, right: num(&curl["corner"][0]) > 0.0, top: num(&curl["corner"][1]) > 0.0 },
        _ => Curl::Flat,
    };
    let pose = Pose {
        centre: point(num(&t["pose"]["x_mm"]), num(&t["pose"]["y_mm"])),
        rotation: Angle::deg(num(&t["pose"]["rotation_deg"])),
    };
    Scene::of(rig, print, pose, 1)
}

fn frames(root: &Path) -> Vec<(String, Value)> {
    let mut names: Vec<PathBuf> = std::fs::read_dir(root.join("frames")).unwrap().map(|e| e.unwrap().path()).collect();
    names.sort();
    names.iter().map(|p| (p.file_name().unwrap().to_string_lossy().into(), json(&p.join("truth.json")))).collect()
}

/// Corners and outlines of every frame whose curl is a form we share (a saddle and a lifted corner are free forms, theirs
/// and ours differ in the middle of the sheet).
#[test]
fn corners_and_outlines_fall_where_the_other_renderer_puts_them() {
    let Some(root) = truth() else { return };
    let mut seen = 0;
    for (name, t) in frames(&root) {
        let scene = rebuilt(&t);
        let camera = &scene.rig.camera;
        let truth = scene::truth::of(&scene, camera, &[], 0.0);
        let p = &truth.prints[0];
        let shared = matches!(scene.sheets[0].print.sheet.curl, Curl::Flat | Curl::Cylinder { .. });
        // Our cylinders keep the length of their middle layer, theirs that of the bottom: half a thickness times the slope,
        // 0.04 mm at the strongest curl; a saddle and a lifted corner are drawn after different forms.
        let tolerance = if shared { 0.045 } else { 0.1 } * truth.px_per_mm;
        let corners =
            |q: Quad, want: &Value| q.0.iter().zip(points(want)).map(|(a, b)| a.distance(b)).fold(0.0, f64::max);
        let outer = corners(p.outer_px, &t["outer_corners_px"]);
        let window = corners(p.window_px.unwrap(), &t["window_corners_px"]);
        println!("{name}: outer {outer:.3} px, window {window:.3} px, {:?}", scene.sheets[0].print.sheet.curl);
        assert!(outer < tolerance, "{name}: outer corners differ by {outer} px");
        assert!(window < tolerance, "{name}: window corners differ by {window} px");
        if shared {
            for (ours, theirs) in p.outline_px.iter().zip(t["outline_px"].as_array().unwrap()) {
                let far = ours.iter().zip(points(theirs)).map(|(a, b)| a.distance(b)).fold(0.0, f64::max);
                assert!(far < tolerance, "{name}: outline differs by {far} px");
            }
        }
        let scale = num(&t["camera"]["px_per_mm_bed_centre"][0]);
        assert!((truth.px_per_mm / scale - 1.0).abs() < 1e-3, "{name}: scale {} is not {scale}", truth.px_per_mm);
        seen += 1;
    }
    assert!(seen >= 14);
}

/// The empty bed's light times the lens' vignette, as rendered, against `illum_A.tif` and `vignette.tif`.
#[test]
fn the_bare_bed_is_lit_as_the_other_renderer_lights_it() {
    let Some(root) = truth() else { return };
    for (rig, frame) in [("R01", "001"), ("R02", "002"), ("R03", "006"), ("R04", "010"), ("R05", "013")] {
        let t = json(&root.join("frames").join(frame).join("truth.json"));
        let scene = Scene::blank(rebuilt(&t).rig, 1);
        let (illum, w, h) = floats(&root.join("rigs").join(rig).join("illum_A.tif"));
        let (vignette, ..) = floats(&root.join("rigs").join(rig).join("vignette.tif"));
        let down =
            json(&root.join("rigs").join(rig).join("rig.json"))["blank"]["A"]["illum_downscale"].as_u64().unwrap();
        let full = (num(&t["camera"]["width"]), num(&t["camera"]["height"]));
        // Our frame at the map's own scale: whole blocks from the top left.
        let k = 1.0 / down as f64;
        let shot = scene::render(&scene, (full.0 * k).round() as usize, (full.1 * k).round() as usize);
        let at = |x: usize, y: usize| f64::from(shot.frame.linear(x, y)[1]);
        let per = vignette.len() / (w * h);
        let theirs = |x: usize, y: usize| f64::from(illum[3 * (y * w + x) + 1] * vignette[per * (y * w + x)]);
        let unit = at(w / 2, h / 2) / theirs(w / 2, h / 2);
        let mut worst: f64 = 0.0;
        for y in 1..h.min(shot.frame.height) - 1 {
            for x in 1..w.min(shot.frame.width) - 1 {
                worst = worst.max((at(x, y) / (unit * theirs(x, y)) - 1.0).abs());
            }
        }
        println!("{rig}: worst {:.3} %", worst * 100.0);
        assert!(worst < 0.012, "{rig}: bed light differs by {worst}");
    }
}

/// The shadow beside each print, rendered with and without it, against `shadow.png`.
#[test]
fn shadows_fall_as_the_other_renderer_casts_them() {
    let Some(root) = truth() else { return };
    for frame in ["002", "006", "008", "009", "012"] {
        let dir = root.join("frames").join(frame);
        let t = json(&dir.join("truth.json"));
        let scene = rebuilt(&t);
        let (w, h) = (num(&t["camera"]["width"]) as usize, num(&t["camera"]["height"]) as usize);
        let (with, without) = (scene::render(&scene, w, h), scene::render(&Scene::blank(scene.rig.clone(), 1), w, h));
        let shadow = png16(&dir.join("shadow.png"));
        let coverage = png16(&dir.join("coverage.png"));
        let (mut sum, mut n, mut worst_rows) = (0.0, 0usize, 0usize);
        for y in 0..h {
            for x in 0..w {
                let k = y * w + x;
                let truth = f64::from(shadow[k]) / 40_000.0;
                // The bed clear of the print, where anything happens.
                if coverage[k] > 0 || truth > 0.995 {
                    continue;
                }
                let luminance = |s: &scene::Shot| {
                    let [r, g, b] = s.frame.linear(x, y);
                    f64::from(0.2126 * r + 0.7152 * g + 0.0722 * b)
                };
                let ours = luminance(&with) / luminance(&without);
                sum += (ours - truth).powi(2);
                n += 1;
                worst_rows += usize::from((ours - truth).abs() > 0.1);
            }
        }
        let rms = (sum / n as f64).sqrt();
        println!("{frame}: {n} shadow pixels, rms {rms:.4}, beyond 0.1: {:.2} %", 100.0 * worst_rows as f64 / n as f64);
        assert!(rms < 0.06, "{frame}: shadow differs by rms {rms}");
    }
}

fn floats(path: &Path) -> (Vec<f32>, usize, usize) {
    let mut d = tiff::decoder::Decoder::new(std::fs::File::open(path).unwrap()).unwrap();
    let (w, h) = d.dimensions().unwrap();
    match d.read_image().unwrap() {
        tiff::decoder::DecodingResult::F32(v) => (v, w as usize, h as usize),
        _ => panic!("{}: not floating point", path.display()),
    }
}

fn png16(path: &Path) -> Vec<u16> {
    let mut reader =
        png::Decoder::new(std::io::BufReader::new(std::fs::File::open(path).unwrap())).read_info().unwrap();
    let mut buf = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut buf).unwrap();
    let buf = &buf[..info.buffer_size()];
    match info.bit_depth {
        png::BitDepth::Sixteen => buf.chunks_exact(2).map(|b| u16::from_be_bytes([b[0], b[1]])).collect(),
        _ => buf.iter().map(|&b| u16::from(b)).collect(),
    }
}
