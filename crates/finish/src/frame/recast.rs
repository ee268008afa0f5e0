//! The lift of a print's edge as the report has it, and the shadow cast anew from it.

use super::Seen;
use super::loaded_frame::LoadedFrame;
use super::shadow_sampling::Shadow;
use crate::light::ShadowLight;
use crate::recipe::LensFacts;
use crate::report::{EdgeFacts, LiftFacts, ShadowFacts};
use base::wording::round;
use correct::canvas::Canvas;
use correct::rim::Rim;
use correct::shadow_layer::Tail;
use geometry::point;
use print::lift::{self, CastLight, Curl, Evidence, Lamp, Lift, Throw};
use print::shadow::{FAINT, Shade};

/// Errors of the height up to which a shadow can be cast anew, on average over the edges: mm, or as a share of the mean height. Beyond that
/// the end of a shadow would be as far off as that of a flat print is wide (our judgement, no source).
const KNOWN: (f64, f64) = (0.45, 0.25);
/// The blur that a look at a picture forgives, mm: errors are told after it.
const LOOK: f64 = 0.25;

/// Measures the lift of the print seen, and how much it curls.
pub(super) fn measure(
    sight: &LoadedFrame,
    seen: &Seen,
    shadow: &Shadow,
    lens: Option<&LensFacts>,
) -> Option<(Lift, Curl)> {
    let pose = &seen.found.pose;
    let scale = pose.px_per_mm();
    let own = &seen.light.lamp;
    // The room's light flattens the slope of the sum.
    let flash = 1.0 - lift::fill(shadow.cast.depth).min(0.9);
    let flash = if shadow.cast.depth > FAINT { flash } else { 1.0 };
    let lamp = Lamp {
        azimuth_deg: own.azimuth_deg - seen.found.outline.turn_deg(),
        azimuth_error_deg: own.azimuth_error_deg,
        slope_per_mm: own.slope_per_px * scale / flash,
    };
    // A sharp frame's edge is a bell of about a pixel, and the working canvas adds half of its own.
    let blur_mm = (1.0 / scale).hypot(0.5 / shadow.canvas.px_per_mm);
    lift::measure(&Evidence {
        found: &seen.found,
        stations: &shadow.profiles,
        cast: &shadow.cast,
        lamp: Some(lamp),
        lens_k1: lens.map(|l| (l.k1, l.k1_error)),
        focal_known: sight.focal_px.is_some(),
        blur_mm,
    })
}

/// What a shadow is cast on.
pub struct Bed<'a> {
    /// Canvas of the working scale.
    pub canvas: &'a Canvas,
    /// Radius of the print's corners, mm.
    pub corner_mm: f64,
    /// Darkness of the measured shadow's core.
    pub depth: f64,
    /// Robust spread of the lit bed: what is not well over it is not drawn.
    pub unevenness: f64,
}

impl<'a> From<&'a Shadow> for Bed<'a> {
    fn from(s: &'a Shadow) -> Self {
        Self { canvas: &s.canvas, corner_mm: s.corner_mm, depth: s.cast.depth, unevenness: s.shade.unevenness }
    }
}

/// How a mount's shadow came about, with the tail to lay where it is not as shot and the sides whose light changes.
pub fn cast(wanted: Option<&ShadowLight>, lift: Option<&Lift>, bed: &Bed) -> (Option<(Tail, Rim)>, ShadowFacts) {
    let size = bed.canvas.print_size();
    let (plan, facts) = plan(wanted, lift, bed.depth, size);
    let made = plan.map(|(lift, light)| {
        let throw = Throw::new(lift, size, bed.corner_mm, &light, lift.fill);
        let shade = Shade { unevenness: bed.unevenness, ..correct::cast::shade(&throw, bed.canvas) };
        (Tail::new(&shade, bed.canvas.print), Rim::between(lift.light.azimuth_deg, light.azimuth_deg))
    });
    (made, facts)
}

/// The light that a shadow is cast by and the lift that it is cast from, where it is not as shot, and what the record says of it; `depth` is
/// the darkness of the measured shadow's core, `size` the print's, mm.
pub fn plan<'a>(
    wanted: Option<&ShadowLight>,
    lift: Option<&'a Lift>,
    depth: f64,
    size: (f64, f64),
) -> (Option<(&'a Lift, CastLight)>, ShadowFacts) {
    let as_shot = |why: Option<&str>| {
        (None, ShadowFacts { how: "as shot".into(), why: why.map(String::from), ..ShadowFacts::default() })
    };
    let chosen = match wanted {
        None | Some(ShadowLight::AsShot) => return as_shot(None),
        Some(ShadowLight::Mirrored) => None,
        Some(ShadowLight::CastAnew(c)) => Some(c),
    };
    let Some(lift) = lift else {
        return as_shot(Some("The lift of its edges was not measured, so its shadow stays as shot."));
    };
    if !known(lift, depth) {
        return as_shot(Some("The lift of its edges is not known well enough, so its shadow stays as shot."));
    }
    let light = chosen.map_or_else(
        || lift::mirrored(lift),
        |c| CastLight {
            azimuth_deg: c.azimuth_deg,
            elevation_deg: c.elevation_deg,
            size_deg: c.size_deg,
            distance_mm: lift::distance(lift),
            from_mm: point(size.0 / 2.0, size.1 / 2.0),
        },
    );
    let facts = ShadowFacts {
        how: if chosen.is_some() { "cast anew" } else { "mirrored" }.into(),
        name: chosen.and_then(|c| c.name.clone()),
        azimuth_deg: Some(round(light.azimuth_deg, 10.0)),
        elevation_deg: Some(round(light.elevation_deg, 10.0)),
        size_deg: Some(round(light.size_deg, 10.0)),
        distance_mm: Some(light.distance_mm.round()),
        fill: Some(round(lift.fill, 1e3)),
        expected_error: Some(round(expected_error(lift, &light, chosen.is_none()), 1e3)),
        why: None,
    };
    (Some((lift, light)), facts)
}

/// True where the lift is known well enough to cast a shadow from; `depth` is the darkness of the measured shadow's core.
fn known(lift: &Lift, depth: f64) -> bool {
    let heights = || lift.sides.iter().flat_map(|s| &s.heights);
    let n = heights().count().max(1) as f64;
    let (sigma, height) = heights().fold((0.0, 0.0), |s, h| (s.0 + h.sigma_mm / n, s.1 + h.height_mm / n));
    // Without a shadow nobody knows how much of the light the room gives.
    let shadowed = depth > FAINT && lift.sides.iter().any(|s| s.seen);
    shadowed && sigma < KNOWN.0.max(KNOWN.1 * height)
}

/// Expected error of the shadow: root mean square over its zone after a blur of 0.25 mm, as a share of white.
///
/// Where a shadow of width `w` ends softly over `s` and its end is off by `d`, the light there is wrong by `d / s` of its depth over
/// `s` of `w`: a root mean square of `d / sqrt(s w)` of the depth. The blur makes every end at least 2.56 x 0.25 mm soft.
fn expected_error(lift: &Lift, light: &CastLight, own: bool) -> f64 {
    let a = light.azimuth_deg.to_radians();
    let cot = 1.0 / light.elevation_deg.to_radians().tan();
    let half = light.size_deg.to_radians() / 2.0;
    let out = [(-1.0, 0.0), (0.0, -1.0), (1.0, 0.0), (0.0, 1.0)];
    let (mut sum, mut weight) = (0.0, 0.0);
    for (side, n) in lift.sides.iter().zip(out) {
        let falls = -(a.cos() * n.0 + a.sin() * n.1);
        if falls < 0.05 {
            continue;
        }
        for h in &side.heights {
            let w = h.height_mm * cot * falls;
            let d = if own { h.reach_sigma_mm } else { h.sigma_mm * cot } * falls;
            let s = (2.0 * half * h.height_mm * (1.0 + cot * cot) * falls).hypot(2.56 * LOOK);
            // Each place counts by the area of its shadow.
            sum += w * (d / (s * w.max(LOOK)).sqrt()).min(1.0).powi(2);
            weight += w;
        }
    }
    (1.0 - lift.fill) * (sum / f64::max(weight, 1e-9)).sqrt()
}

/// The lift as the report has it.
pub(super) fn facts(lift: &Lift, shadow: &Shadow) -> LiftFacts {
    let names = ["left", "top", "right", "bottom"];
    let edge = |(side, name): (&lift::Edge, &str)| {
        let list = |f: fn(&lift::Height) -> f64| side.heights.iter().map(|h| round(f(h), 1e3)).collect();
        EdgeFacts {
            side: name.into(),
            told_by: if side.seen { "shadow" } else { "bend" }.into(),
            along_mm: list(|h| h.along_mm),
            height_mm: list(|h| h.height_mm),
            sigma_mm: list(|h| h.sigma_mm),
            reach_sigma_mm: list(|h| h.reach_sigma_mm),
            seen_mm: side.heights.iter().map(|h| [round(h.seen_mm.x, 1e3), round(h.seen_mm.y, 1e3)]).collect(),
        }
    };
    let l = &lift.light;
    let pair = |p: geometry::Point| [round(p.x, 10.0), round(p.y, 10.0)];
    LiftFacts {
        edges: lift.sides.iter().zip(names).map(edge).collect(),
        thickness_mm: round(lift.thickness_mm, 1e3),
        corner_mm: round(shadow.corner_mm, 1e2),
        unevenness: round(shadow.shade.unevenness, 1e5),
        light_azimuth_deg: round(l.azimuth_deg, 10.0),
        light_azimuth_sigma_deg: round(l.azimuth_sigma_deg, 10.0),
        light_elevation_deg: round(l.elevation_deg, 10.0),
        light_elevation_sigma_deg: round(l.elevation_sigma_deg, 10.0),
        light_size_deg: round(l.size_deg, 10.0),
        light_distance_mm: l.distance_mm.map(f64::round),
        fill: round(lift.fill, 1e3),
        camera_foot_mm: pair(lift.camera_foot_mm),
        camera_height_mm: round(lift.camera_height_mm, 10.0),
        frame_middle_mm: pair(lift.frame_middle_mm),
    }
}

/// The lift that a report tells; `None` where it tells none that makes sense.
pub fn told(facts: &LiftFacts) -> Option<Lift> {
    let edge = |e: &EdgeFacts| -> Option<lift::Edge> {
        let n = e.along_mm.len();
        let lists = [&e.along_mm, &e.height_mm, &e.sigma_mm, &e.reach_sigma_mm];
        let sound = lists.iter().all(|l| l.len() == n && l.iter().all(|v| v.is_finite() && v.abs() < 1e4));
        let seen = e.seen_mm.len() == n && e.seen_mm.iter().flatten().all(|v| v.is_finite() && v.abs() < 1e4);
        (sound && seen && n >= 2).then(|| lift::Edge {
            seen: e.told_by == "shadow",
            heights: (0..n)
                .map(|k| lift::Height {
                    along_mm: e.along_mm[k],
                    seen_mm: point(e.seen_mm[k][0], e.seen_mm[k][1]),
                    height_mm: e.height_mm[k],
                    sigma_mm: e.sigma_mm[k],
                    reach_sigma_mm: e.reach_sigma_mm[k],
                })
                .collect(),
        })
    };
    let edges: Option<Vec<lift::Edge>> = facts.edges.iter().map(edge).collect();
    let f = facts;
    let near = [f.thickness_mm, f.corner_mm, f.unevenness, f.fill].iter().all(|v| (0.0..=100.0).contains(v));
    let far = [f.camera_foot_mm, f.frame_middle_mm].as_flattened().iter().all(|v| v.abs() < 1e5);
    let light = (1.0..90.0).contains(&f.light_elevation_deg) && (0.0..180.0).contains(&f.light_size_deg);
    // A camera or a lamp nearer than a print is thick, or farther than a hall is long, is none.
    let stands = |mm: f64| (10.0..1e8).contains(&mm);
    let sound = near && far && light && stands(f.camera_height_mm) && f.light_distance_mm.is_none_or(stands);
    if !sound || !f.light_azimuth_deg.is_finite() {
        return None;
    }
    Some(Lift {
        sides: edges?.try_into().ok()?,
        thickness_mm: f.thickness_mm,
        light: lift::Standing {
            azimuth_deg: f.light_azimuth_deg,
            azimuth_sigma_deg: f.light_azimuth_sigma_deg,
            elevation_deg: f.light_elevation_deg,
            elevation_sigma_deg: f.light_elevation_sigma_deg,
            size_deg: f.light_size_deg,
            distance_mm: f.light_distance_mm,
        },
        camera_foot_mm: point(f.camera_foot_mm[0], f.camera_foot_mm[1]),
        camera_height_mm: f.camera_height_mm,
        frame_middle_mm: point(f.frame_middle_mm[0], f.frame_middle_mm[1]),
        fill: f.fill,
    })
}
