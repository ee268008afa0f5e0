//! Measurements of a ruler frame, and the figures that the standards judge.

use super::answer::{EdgeFacts, GreyNoise, Judged, RulerFacts, Value, ZoneFacts};
use super::standards::Figure;
use crate::plan::Answer as Plan;
use finish::report::CameraWords;
use geometry::point;
use print::ruler::{Reading, Sharpness, Zone};

/// The frame's places in the order of the zones.
pub(super) const PLACES: [&str; 5] = ["middle", "top-left", "top-right", "bottom-right", "bottom-left"];

/// The image distance in pixels, and whether it had to be guessed: by the plan's lens and scale, else by the camera's words.
/// Close up it is `f (1 + m)`, with the magnification from pixels per millimetre times the pixel's pitch.
pub(super) fn image_distance(
    px_per_mm: f64,
    size: (usize, usize),
    focal_px: Option<f64>,
    words: &CameraWords,
    plan: Option<&Plan>,
) -> Option<f64> {
    let planned = plan.map(|p| (p.camera.focal_mm, pitch_mm(p, size)));
    let said = focal_px.zip(words.focal_mm).map(|(px, mm)| (mm, mm / px));
    let (focal, pitch) = said.or(planned)?;
    let f = focal / pitch * (1.0 + px_per_mm * pitch);
    (f.is_finite() && f > 0.0).then_some(f)
}

/// The planned sensor's pitch at this frame's size, mm.
pub(super) fn pitch_mm(plan: &Plan, size: (usize, usize)) -> f64 {
    plan.camera.sensor_mm[0].max(plan.camera.sensor_mm[1]) / size.0.max(size.1).max(1) as f64
}

/// A reading as facts.
pub(super) fn facts(path: String, r: &Reading, bar_said: bool) -> RulerFacts {
    let (s, lens, error) = (&r.stand, &r.place.lens, r.place.lens_error);
    let (w, h) = (r.frame.0 as f64, r.frame.1 as f64);
    let tilt = s.tilt_x_deg.value.hypot(s.tilt_y_deg.value);
    // The error along the lean.
    let along = (s.tilt_x_deg.value * s.tilt_x_deg.error).hypot(s.tilt_y_deg.value * s.tilt_y_deg.error);
    let principal = lens.centre - point(w / 2.0, h / 2.0);
    RulerFacts {
        path,
        paper: r.sheet.paper.name().into(),
        frame_px: [r.frame.0, r.frame.1],
        squares: r.squares,
        bar_assumed: !bar_said,
        focal_px: r.focal_px,
        focal_assumed: r.focal_guessed,
        tilt_x_deg: s.tilt_x_deg.into(),
        tilt_y_deg: s.tilt_y_deg.into(),
        tilt_deg: Value::with(tilt, along / tilt.max(1e-9)),
        rotation_deg: s.rotation_deg.into(),
        px_per_mm: s.px_per_mm.into(),
        ppi: Value::with(s.px_per_mm.value * 25.4, s.px_per_mm.error * 25.4),
        stretch: s.stretch.into(),
        k1: Value::with(lens.k[0], error[0]),
        k2: Value::with(lens.k[1], error[1]),
        principal_px: [Value::with(principal.x, error[2]), Value::with(principal.y, error[3])],
        distortion: distortion(r),
        lateral_px: [&r.lateral.red, &r.lateral.blue].map(|s| Value::with(s.worst_px, s.error_px)),
        edge_rms_px: r.place.edge_rms_px,
        zones: r.zones.iter().zip(PLACES).map(|(z, place)| zone(z, place)).collect(),
        flatness: flatness(&r.zones),
        // A difference of two places of a surface of fifteen terms through so many spots.
        fall_off_stops: r.light.as_ref().map(|l| {
            let error = l.rms * (2.0 * 15.0 / l.spots.max(15) as f64).sqrt() / std::f64::consts::LN_2;
            Value::with(l.fall_off_stops[1], error)
        }),
        noise: r
            .noise
            .greys
            .iter()
            .map(|g| GreyNoise {
                drawn: g.drawn,
                // A deviation from n pixels is known to 1 / root(2 n) of itself.
                lightness: Value::with(g.lightness_deviation, g.lightness_deviation / (2.0 * g.pixels as f64).sqrt()),
            })
            .collect(),
        electrons: electrons(r),
    }
}

/// One over the variance that a unit of light brings.
fn electrons(r: &Reading) -> Option<[Value; 3]> {
    let of = |v: &print::ruler::Value| Value::with(1.0 / v.value, v.error / (v.value * v.value));
    r.noise
        .shot
        .iter()
        .all(|v| v.value > 3.0 * v.error && v.error > 0.0)
        .then(|| std::array::from_fn(|c| of(&r.noise.shot[c])))
}

/// `k1 r^2 + k2 r^4` where it is greatest between the principal point and the farthest corner.
fn distortion(r: &Reading) -> Value {
    let (lens, error) = (&r.place.lens, r.place.lens_error);
    let (w, h) = (r.frame.0 as f64, r.frame.1 as f64);
    let far = [point(0.0, 0.0), point(w, 0.0), point(w, h), point(0.0, h)].map(|p| p.distance(lens.centre) / lens.unit);
    let far = far.into_iter().fold(0.0, f64::max);
    let at = |k: i32| {
        let r2 = (far * f64::from(k) / 16.0).powi(2);
        (lens.k[0] * r2 + lens.k[1] * r2 * r2, (error[0] * r2).hypot(error[1] * r2 * r2))
    };
    let worst = (1..=16).map(at).max_by(|a, b| a.0.abs().total_cmp(&b.0.abs())).unwrap_or_default();
    Value::with(worst.0.abs(), worst.1)
}

fn zone(z: &Zone, place: &str) -> ZoneFacts {
    let edge = |s: &Sharpness| EdgeFacts {
        mtf50: s.mtf50.map(Value::from),
        mtf10: s.mtf10.map(Value::from),
        efficiency: Value { value: s.response.efficiency(), error: s.mtf10.map(|v| v.error / 0.5) },
        half_sampling: s.half_sampling.into(),
        sharpening: s.peak.into(),
    };
    let why = [&z.across, &z.down].into_iter().find_map(|s| s.as_ref().err()).map(ToString::to_string);
    ZoneFacts {
        place: place.into(),
        across: z.across.as_ref().ok().map(edge),
        down: z.down.as_ref().ok().map(edge),
        why,
    }
}

/// Each corner's MTF50, mean of both ways, over the middle's.
fn flatness(zones: &[Zone; 5]) -> Option<[Value; 4]> {
    let one = |z: &Zone| {
        let of = |s: &Result<Sharpness, _>| s.as_ref().ok().and_then(|s| s.mtf50);
        let (a, b) = (of(&z.across)?, of(&z.down)?);
        Some(((a.value + b.value) / 2.0, a.error.hypot(b.error) / 2.0))
    };
    let middle = one(&zones[0])?;
    let mut out = [Value::default(); 4];
    for (o, z) in out.iter_mut().zip(&zones[1..]) {
        let (v, e) = one(z)?;
        let ratio = v / middle.0;
        *o = Value::with(ratio, ratio * (e / v).hypot(middle.1 / middle.0));
    }
    Some(out)
}

/// What the standards judge in it.
pub(super) fn judged(r: &RulerFacts) -> Vec<Judged> {
    let edges = || r.zones.iter().flat_map(|z| [z.across, z.down]).flatten();
    let extreme = |f: &dyn Fn(&EdgeFacts) -> Option<Value>, most: bool, scale: f64| {
        let all = edges().filter_map(|e| f(&e));
        let order = |a: &Value, b: &Value| a.value.total_cmp(&b.value);
        let v = if most { all.max_by(order) } else { all.min_by(order) }?;
        Some(Value { value: v.value * scale, error: v.error.map(|e| e * scale) })
    };
    let noise = |most: bool| {
        let all = r.noise.iter().map(|n| n.lightness);
        if most {
            all.max_by(|a, b| a.value.total_cmp(&b.value))
        } else {
            all.min_by(|a, b| a.value.total_cmp(&b.value))
        }
    };
    let percent = |v: Value| Value { value: v.value * 100.0, error: v.error.map(|e| e * 100.0) };
    let lateral = if r.lateral_px[0].value > r.lateral_px[1].value { r.lateral_px[0] } else { r.lateral_px[1] };
    // Over 0.5 cycles per pixel, in per cent.
    let half = 200.0;
    [
        (Figure::Sampling, Some(r.ppi)),
        (Figure::Efficiency, extreme(&|e| Some(e.efficiency), false, 100.0)),
        (Figure::HalfSampling, extreme(&|e| Some(e.half_sampling), true, 1.0)),
        (Figure::Mtf50Low, extreme(&|e| e.mtf50, false, half)),
        (Figure::Mtf50High, extreme(&|e| e.mtf50, true, half)),
        (Figure::Sharpening, extreme(&|e| Some(e.sharpening), true, 1.0)),
        (Figure::Misregistration, Some(lateral)),
        (Figure::Distortion, Some(percent(r.distortion))),
        (Figure::Noise, noise(true)),
        (Figure::NoiseFloor, noise(false)),
    ]
    .into_iter()
    .filter_map(|(figure, value)| figure.judge(value?))
    .collect()
}
