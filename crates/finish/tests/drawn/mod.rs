//! A drawn scene as a camera's JPEG, and how a finished mount's shadow and white agree with what was drawn.
#![allow(dead_code, reason = "each test uses its part")]

use codec::{Info, Limits, Metadata, jpeg};
use finish::report::Report;
use geometry::{Homography, Point, point};
use pixels::filter::{box_mean, dilate};
use pixels::{Frame, Plane, Samples};
use scene::Scene;
use std::path::Path;

/// Eleven pixels to the millimetre: enough for a contact shadow, and drawn in seconds.
pub const SIZE: (usize, usize) = (1800, 1200);

/// Writes a scene as a JPEG that says its focal length.
pub fn write(scene: &Scene, path: &Path) {
    let frame = scene::render(scene, SIZE.0, SIZE.1).frame;
    let Samples::U8(code) = &frame.samples else { panic!("eight bits were asked for") };
    let focal = Some(scene.rig.camera.focal.to_mm());
    let original = Metadata { focal_length_mm: focal, focal_length_35_mm: focal, ..Metadata::default() };
    let info = Info { icc: Some(codec::icc::srgb()), original: Some(original), ..Info::default() };
    jpeg::write(path, SIZE.0, SIZE.1, code, 95, jpeg::Subsampling::Half, &info).unwrap();
}

/// Frame pixels from canvas pixels by the true corners.
fn way(report: &Report, truth: &Scene) -> Homography {
    let from = report.canvas.as_ref().unwrap().print_px.map(|[x, y]| point(x, y));
    let camera = truth.rig.camera.resized(SIZE.0 as f64, SIZE.1 as f64);
    let corners = scene::truth::of(truth, &camera, &[0.0], 0.0).prints[0].outer_px.0;
    Homography::from_points(&from, &corners).unwrap()
}

/// How a mount agrees with its truth.
#[derive(Debug)]
pub struct Laid {
    /// Share of the paper beyond print and shadow that is pure white in the PNG.
    pub white: f64,
    /// The same for the 16-bit mount.
    pub white16: f64,
    /// Root mean square error of the shadow over its zone, after a blur of 0.25 mm, as a share of white.
    pub fade: f64,
}

/// Compares the mount of a report in the folder `reports` with the shadow of `truth`, a scene in the same pose.
pub fn laid(report: &Report, reports: &Path, truth: &Scene) -> Laid {
    let canvas = report.canvas.as_ref().unwrap();
    let (w, h, scale) = (canvas.width_px, canvas.height_px, canvas.px_per_mm);
    let map = way(report, truth);
    let at = |plane: &Plane| {
        Plane::from_fn(w, h, |x, y| {
            let p: Point = map.apply(point(x as f64 + 0.5, y as f64 + 0.5));
            let inside = p.x > 1.0 && p.y > 1.0 && p.x < SIZE.0 as f64 - 1.0 && p.y < SIZE.1 as f64 - 1.0;
            if inside { plane.bilinear(p.x, p.y) } else { f32::NAN }
        })
    };
    let shadow = at(&scene::shadow(truth, SIZE.0, SIZE.1));
    let cover = at(&scene::coverage(truth, SIZE.0, SIZE.1));
    let read = |name: &str| codec::read(&reports.join(name), &Limits::default()).unwrap().frame;
    let (png, mount) = (read(canvas.srgb_png.as_ref().unwrap()), read(&canvas.mount));
    let px = |mm: f64| (mm * scale).round() as usize;
    let mask = |f: &dyn Fn(usize) -> bool| Plane {
        data: (0..w * h).map(|k| f32::from(u8::from(f(k)))).collect(),
        width: w,
        height: h,
    };
    let near_print = dilate(&mask(&|k| cover.data[k] > 0.004), px(0.25));
    let dark = mask(&|k| cover.data[k] < 0.004 && shadow.data[k] < 0.995);
    let near_dark = dilate(&dark, px(0.4));
    let pale = |k: &usize| shadow.data[*k].is_finite() && near_print.data[*k] == 0.0 && near_dark.data[*k] == 0.0;
    let share = |frame: &Frame| {
        let full = |k: usize| frame.linear(k % w, k / w).iter().all(|v| *v >= 1.0);
        let all = (0..w * h).filter(pale).count();
        (0..w * h).filter(pale).filter(|k| full(*k)).count() as f64 / all as f64
    };
    let luma = |k: usize| {
        let [r, g, b] = png.linear(k % w, k / w);
        0.2126 * r + 0.7152 * g + 0.0722 * b
    };
    // Three boxes make a bell of this deviation, mm 0.25.
    let blur = |p: Plane| (0..3).fold(p, |p, _| box_mean(&p, px(0.25)));
    let open = |k: usize| cover.data[k] < 0.004 && shadow.data[k].is_finite();
    let plane = |f: &dyn Fn(usize) -> f32| Plane {
        data: (0..w * h).map(|k| if open(k) { f(k) } else { 0.0 }).collect(),
        width: w,
        height: h,
    };
    let (weight, got, want) =
        (blur(plane(&|_| 1.0)), blur(plane(&luma)), blur(plane(&|k| shadow.data[k].clamp(0.0, 1.0))));
    let zone = |k: &usize| near_print.data[*k] == 0.0 && (0.05..0.995).contains(&shadow.data[*k]);
    let (sum, n) = (0..w * h).filter(zone).fold((0.0f64, 0.0f64), |(s, n), k| {
        (s + f64::from((got.data[k] - want.data[k]) / (weight.data[k] + 1e-6)).powi(2), n + 1.0)
    });
    Laid { white: share(&png), white16: share(&mount), fade: (sum / n.max(1.0)).sqrt() }
}
