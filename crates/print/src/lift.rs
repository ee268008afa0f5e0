//! How high the edge of a print stands above the bed, along all four sides.
//!
//! The shadow tells `h cot e` along the sides it falls from, the bow of outline and window tells the bend itself (what is
//! nearer to the camera looks larger), and a sheet's form is simple: flat or bent one way, perhaps with one corner up. All are
//! fitted together; each form's evidence (its misfit, and how much of what it allows the data use up: MacKay 1992, doi
//! 10.1162/neco.1992.4.3.415) says how much it counts. See `docs/science/lift.md`.

mod sheet;
mod throw;

pub use throw::{CastLight, Throw, distance, mirrored};

use crate::find::Found;
use crate::outline::Sides;
use crate::pose::{KIN, NOISE, NOISE_PX};
use crate::shadow::{Cast, FAINT, Station};
use geometry::solve::{covariance, levenberg_marquardt};
use geometry::{Homography, Point, point};
use rayon::prelude::*;
use sheet::{AZIMUTH, COT, Form, Mark, Model, N, Reach, STEPS, THICK, normal};

/// What a frame shows of a print's lift.
#[derive(Clone, Copy, Debug)]
pub struct Evidence<'a> {
    /// The print found.
    pub found: &'a Found,
    /// Profiles of its shadow at the left, top, right and bottom.
    pub stations: &'a [Vec<Station>; 4],
    /// What the shadow as a whole says.
    pub cast: &'a Cast,
    /// The light's slope over the bed.
    pub lamp: Option<Lamp>,
    /// The lens's k1 and its standard error, where a ruler told them.
    pub lens_k1: Option<(f64, f64)>,
    /// True where the frame says its focal length, without which nobody knows how far the camera was.
    pub focal_known: bool,
    /// Standard deviation of the frame's blur on the bed, mm.
    pub blur_mm: f64,
}

/// The light's slope over the bed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lamp {
    /// Towards the lamp, degrees on the canvas (0 right, 90 down).
    pub azimuth_deg: f64,
    /// Its standard error, degrees.
    pub azimuth_error_deg: f64,
    /// Slope of ln light towards it, per mm.
    pub slope_per_mm: f64,
}

/// The edge of a print above the bed, and the light that showed it.
#[derive(Clone, Debug, PartialEq)]
pub struct Lift {
    /// The left, top, right and bottom edge, each from its left or top end.
    pub sides: [Edge; 4],
    /// Thickness of the print, mm.
    pub thickness_mm: f64,
    /// The light as it stood.
    pub light: Standing,
    /// The point of the bed under the camera, print mm (origin top left, y down).
    pub camera_foot_mm: Point,
    /// Height of the camera over the bed, mm.
    pub camera_height_mm: f64,
    /// The frame's middle on the bed, print mm: what the light's place is seen from.
    pub frame_middle_mm: Point,
    /// Light of the room in the frame, as a share of the bed's whole light.
    pub fill: f64,
}

/// How far a print's bend and a lifted corner take its outline above or below the middle of the sheet, at most.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Curl {
    /// That height, mm.
    pub mm: f64,
    /// One standard deviation of it, mm.
    pub sigma_mm: f64,
}

/// One edge.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Edge {
    /// True where the shadow that falls from it was measured; else its height follows from the sheet's form.
    pub seen: bool,
    /// Its heights.
    pub heights: Vec<Height>,
}

/// Height of an edge at one place.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Height {
    /// From the side's left or top end, mm.
    pub along_mm: f64,
    /// Where the edge is seen, print mm (origin top left, y down): on the sides of its rectangle but for their bow.
    pub seen_mm: Point,
    /// Height of the top face above the bed, mm.
    pub height_mm: f64,
    /// One standard deviation of it, mm.
    pub sigma_mm: f64,
    /// One standard deviation of `h cot e` with the frame's own elevation, mm: smaller, since the shadow measures the product.
    pub reach_sigma_mm: f64,
}

/// Where a light stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Standing {
    /// Where it comes from, degrees on the canvas (0 right, 90 down).
    pub azimuth_deg: f64,
    /// Standard deviation of it.
    pub azimuth_sigma_deg: f64,
    /// Above the bed, degrees.
    pub elevation_deg: f64,
    /// Standard deviation of it.
    pub elevation_sigma_deg: f64,
    /// What its face spans as seen from the print, degrees.
    pub size_deg: f64,
    /// From the bed at the frame's middle, mm; `None` where its light does not fall off.
    pub distance_mm: Option<f64>,
}

impl Lift {
    /// A level print of `size` mm, `height_mm` above the bed, in a light of 12 degrees from 45 degrees above, seen from so far away that nothing
    /// lies aside of where it is: what the closed forms hold for.
    pub fn level(size: (f64, f64), height_mm: f64, azimuth_deg: f64, fill: f64) -> Self {
        let (w, h) = size;
        let side = |s: usize| {
            let length = if s.is_multiple_of(2) { h } else { w };
            let at = |t: f64| [point(0.0, t), point(t, 0.0), point(w, t), point(t, h)][s];
            let heights = (0..PLACES).map(|k| {
                let along_mm = length * k as f64 / (PLACES - 1) as f64;
                Height { along_mm, seen_mm: at(along_mm), height_mm, ..Height::default() }
            });
            Edge { seen: true, heights: heights.collect() }
        };
        let light = Standing {
            azimuth_deg,
            azimuth_sigma_deg: 1.0,
            elevation_deg: 45.0,
            elevation_sigma_deg: 3.0,
            size_deg: 12.0,
            distance_mm: None,
        };
        Self {
            sides: [0, 1, 2, 3].map(side),
            thickness_mm: 0.5,
            light,
            camera_foot_mm: point(w / 2.0, h / 2.0),
            camera_height_mm: 1e7,
            frame_middle_mm: point(w / 2.0, h / 2.0),
            fill,
        }
    }
}

/// Places along a side at which the height is told: a sheet's bend is a parabola, which straight lines between 13 places follow to
/// a fiftieth of a millimetre for a bow of 3 mm.
const PLACES: usize = 13;
/// Neighbouring outline points taken as one: a bend shows over many.
const BUNCH: usize = 6;
/// Rounds of a fit: it starts from the pose found, and after four nothing moves by a tenth of its error.
const ROUNDS: usize = 5;
/// How far a side of a print, and of its window, lies from its nominal place (standard deviation, mm): prints are cut to about half a
/// millimetre from side to side, and which layer of a bent sheet keeps its length is not known to less.
const CUT: (f64, f64) = (0.1, 0.15);
/// Millimetres along a side over which reaches err together.
const REACH_KIN: f64 = 10.0;
/// Nearer to a corner than this the shadow turns, mm.
const NEAR_CORNER: f64 = 1.5;

/// Measures the lift and how much the sheet curls. `None` where the outline is not sure on three sides or nothing tells where the
/// light stands.
pub fn measure(e: &Evidence) -> Option<(Lift, Curl)> {
    let fits = fits(e, falls(e)?);
    Some((told(e, fits.first()?, &fits), curl(&fits)?))
}

/// How much the sheet curls by its outline alone, in a hundredth of a second: what is known before the shadow is measured. `None` where the
/// outline is not sure on three sides.
pub fn curl_by_outline(found: &Found, lens_k1: Option<(f64, f64)>, focal_known: bool) -> Option<Curl> {
    let (cast, stations) = (Cast::default(), Default::default());
    let e = Evidence { found, stations: &stations, cast: &cast, lamp: None, lens_k1, focal_known, blur_mm: 0.0 };
    // Without a shadow its direction tells nothing: any will do.
    curl(&fits(&e, (0.0, 1.0)))
}

/// All forms fitted, the likeliest first; none where the outline is not sure on three sides.
fn fits(e: &Evidence, azimuth: (f64, f64)) -> Vec<Fit> {
    // Three sides and the window still tell the bend.
    if e.found.outline.outer.sides.iter().filter(|s| s.sure()).count() < 3 {
        return vec![];
    }
    let marks = marks(e);
    let mut fits: Vec<Fit> =
        Form::all().collect::<Vec<_>>().into_par_iter().filter_map(|form| fit(e, form, azimuth, &marks)).collect();
    fits.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    fits
}

/// How far each form counts, beside the likeliest, which is the first.
fn weights(fits: &[Fit]) -> Vec<f64> {
    let likely: Vec<f64> = fits.iter().map(|f| (-(f.cost - fits[0].cost) / 2.0).exp()).collect();
    let all: f64 = likely.iter().sum();
    likely.iter().map(|w| w / all).collect()
}

/// The likeliest form's curl; its error is its own and what the other forms say otherwise, each as far as it counts.
fn curl(fits: &[Fit]) -> Option<Curl> {
    let best = fits.first()?;
    let mm = best.model.curl(&best.x);
    let apart: f64 = fits.iter().zip(weights(fits)).map(|(f, w)| w * (f.model.curl(&f.x) - mm).powi(2)).sum();
    Some(Curl { mm, sigma_mm: spread(best, |x| vec![best.model.curl(x)])[0].hypot(apart.sqrt()) })
}

/// Direction in which the shadow falls, radians counter-clockwise (y up) on the print, and its standard deviation before the
/// shadow's own reaches are weighed.
fn falls(e: &Evidence) -> Option<(f64, f64)> {
    // The slope of an even lamp; a wall nearby bends it by a degree or two.
    let lamp =
        e.lamp.filter(|l| l.azimuth_error_deg < 20.0).map(|l| (l.azimuth_deg + 180.0, l.azimuth_error_deg.hypot(1.5)));
    let own = e.cast.azimuth_deg.map(|a| (a, e.cast.azimuth_error_deg.hypot(7.0)));
    let (deg, sigma) = match (lamp, own) {
        (Some(l), Some(o)) => {
            let apart = (o.0 - l.0 + 180.0).rem_euclid(360.0) - 180.0;
            // A lamp whose pattern is uneven is no witness.
            if apart.abs() > 2.5 * l.1.hypot(o.1) { o } else { l }
        }
        (l, o) => l.or(o)?,
    };
    Some((-deg.to_radians(), sigma.to_radians()))
}

/// The outline's points in bunches.
fn marks(e: &Evidence) -> Vec<Mark> {
    let outline = &e.found.outline;
    let map = &outline.frame_from_print;
    let (w, h) = e.found.pose.size;
    let of = |sides: &Sides, first: usize, play: f64| -> Vec<Mark> {
        let mut out = vec![];
        for i in (0..4).filter(|i| sides.sides[*i].sure()) {
            let (a, b) = sides.rect.side(i);
            let outward = -(b - a).unit().quarter_turn();
            for bunch in sides.sides[i].points.chunks(BUNCH) {
                let n = bunch.len() as f64;
                let (t, d) = bunch.iter().fold((0.0, 0.0), |s, p| (s.0 + p.0 / n, s.1 + p.1 / n));
                let print = a.lerp(b, (t + 1.0) / 2.0);
                let frame = map.apply(print + outward * d);
                let out_px = map.apply(print + outward * (d + 1.0)) - frame;
                let scale = out_px.norm();
                let noise = NOISE.hypot(NOISE_PX / scale) * (KIN / n).sqrt() * (e.found.pose.rms / NOISE).max(1.0);
                // Without the focal length the camera's distance is a guess, and with it every height the bow tells.
                let noise = if e.focal_known { noise } else { 2.0 * noise };
                let print = point(print.x - w / 2.0, h / 2.0 - print.y);
                let (side, play) = (first + i, play / noise);
                out.push(Mark { print, frame, normal: out_px.unit() * (1.0 / (scale * noise)), side, play });
            }
        }
        out
    };
    let mut all = of(&outline.outer, 0, CUT.0);
    all.extend(of(&outline.window, 4, CUT.1));
    all
}

/// A form fitted.
struct Fit {
    model: Model,
    x: Vec<f64>,
    covariance: Vec<f64>,
    /// Minus twice the logarithm of its evidence.
    cost: f64,
}

fn fit(e: &Evidence, form: Form, azimuth: (f64, f64), marks: &[Mark]) -> Option<Fit> {
    let mut model = Model::new(e, form, azimuth, marks.to_vec());
    let mut x = model.start(e).to_vec();
    // Which places the shadow's profiles look at depends on the heights: settled in the second round.
    for _ in 0..2 {
        model.reaches = reaches(e, &model, &x);
        (x, _) = levenberg_marquardt(|x| model.residuals(x), &x, &STEPS, ROUNDS);
        x[COT] = x[COT].clamp(0.15, 4.0);
    }
    // A corner that goes down has the rest of the sheet go up: another form says that.
    if form.corner.is_some() && x[sheet::CORNER] < 0.0 {
        return None;
    }
    let covariance = covariance(|x| model.residuals(x), &x, &STEPS)?;
    let misfit: f64 = model.residuals(&x).iter().map(|v| v * v).sum();
    let cost = misfit - ln_det(&covariance)? + 2.0 * form.ln_priors();
    Some(Fit { model, x, covariance, cost })
}

/// Logarithm of the determinant of a positive definite matrix, by elimination.
fn ln_det(a: &[f64]) -> Option<f64> {
    let mut m = a.to_vec();
    let mut sum = 0.0;
    for k in 0..N {
        let pivot = m[k * N + k];
        if pivot.is_nan() || pivot <= 0.0 {
            return None;
        }
        sum += pivot.ln();
        for i in k + 1..N {
            let f = m[i * N + k] / pivot;
            (k..N).for_each(|j| m[i * N + j] -= f * m[k * N + j]);
        }
    }
    Some(sum)
}

/// The reaches that count: of sides that the light throws a shadow from, away from corners, seen to their end.
fn reaches(e: &Evidence, model: &Model, x: &[f64]) -> Vec<Reach> {
    if e.cast.depth <= FAINT {
        return vec![];
    }
    let foot = model.nadir(x);
    let base = model.heights(x, &[point(0.0, 0.0)])[0];
    let away = Point::at_angle(model.azimuth.0);
    let mut out = vec![];
    // The outline counts its sides from the top; from where an edge was not found no reach is told.
    let sure = |side: usize| e.found.outline.outer.sides[(side + 3) % 4].sure();
    for side in (0..4).filter(|s| away.dot(normal(*s)) > 0.05 && sure(*s)) {
        let length = model.length(side);
        let casts = |s: &&Station| s.whole() && s.depth > 0.4 * e.cast.depth && s.width_mm > 0.0;
        let on: Vec<&Station> = e.stations[side].iter().filter(casts).collect();
        // Where the far side is as dark, it is the room that both hide and no light that one of them does.
        let far = &e.stations[(side + 2) % 4];
        if on.len() < 8 || far.iter().filter(casts).count() > far.len() / 2 {
            continue;
        }
        for s in on {
            let (_, from) = model.reach(x, side, s.along_mm, base, foot);
            if from > NEAR_CORNER && from < length - NEAR_CORNER {
                // A working pixel, and three per cent for what grain and blur do to the half depth.
                let error = 0.1f64.hypot(0.03 * s.width_mm) * REACH_KIN.sqrt();
                out.push(Reach { side, along: s.along_mm, reach: s.width_mm, error });
            }
        }
    }
    out
}

/// The best form's heights; their error is its own and what the other forms say otherwise, each as far as it counts.
fn told(e: &Evidence, best: &Fit, fits: &[Fit]) -> Lift {
    let model = &best.model;
    let weights = weights(fits);
    let sides = std::array::from_fn(|side| {
        let length = model.length(side);
        let along = |k: usize| length * k as f64 / (PLACES - 1) as f64;
        let at: Vec<Point> = (0..PLACES).map(|k| model.edge(side, along(k))).collect();
        let own = spread(best, |x| model.heights(x, &at));
        let reach = spread(best, |x| model.heights(x, &at).iter().map(|h| h * x[COT]).collect());
        let (heights, seen) = (model.heights(&best.x, &at), seen(e.found, side));
        let others: Vec<(f64, Vec<f64>, f64)> =
            fits.iter().zip(&weights).map(|(f, w)| (*w, f.model.heights(&f.x, &at), f.x[COT])).collect();
        let heights = (0..PLACES)
            .map(|k| {
                let apart: f64 = others.iter().map(|(w, h, _)| w * (h[k] - heights[k]).powi(2)).sum();
                let apart_reach: f64 =
                    others.iter().map(|(w, h, c)| w * (h[k] * c - heights[k] * best.x[COT]).powi(2)).sum();
                Height {
                    along_mm: along(k),
                    seen_mm: seen[k],
                    height_mm: heights[k],
                    sigma_mm: own[k].hypot(apart.sqrt()),
                    reach_sigma_mm: reach[k].hypot(apart_reach.sqrt()),
                }
            })
            .collect();
        Edge { seen: model.reaches.iter().any(|r| r.side == side), heights }
    });
    let (x, c) = (&best.x, &best.covariance);
    let (foot, height) = model.nadir(x);
    let elevation = (1.0 / x[COT]).atan();
    let lamp = model.lamp_height_inverse(x);
    let azimuth = (-(model.azimuth.0 + x[AZIMUTH]).to_degrees() + 180.0).rem_euclid(360.0);
    let fill = fill(e.cast.depth);
    let light = Standing {
        azimuth_deg: azimuth,
        azimuth_sigma_deg: c[AZIMUTH * N + AZIMUTH].sqrt().to_degrees(),
        elevation_deg: elevation.to_degrees(),
        elevation_sigma_deg: (c[COT * N + COT].sqrt() * elevation.sin().powi(2)).to_degrees(),
        size_deg: size_deg(e, best),
        distance_mm: (lamp > 1e-6).then(|| 1.0 / (lamp * elevation.sin())),
    };
    let (w, h) = model.size;
    let on_print = |p: Point| point(p.x + w / 2.0, h / 2.0 - p.y);
    Lift {
        sides,
        thickness_mm: x[THICK],
        light,
        camera_foot_mm: on_print(foot),
        // The foot was found on the plane of the sheet's middle.
        camera_height_mm: height + model.heights(x, &[point(0.0, 0.0)])[0],
        frame_middle_mm: on_print(model.middle(x)),
        fill,
    }
}

/// Where a side (left, top, right, bottom) is seen on the print's rectangle, from its left or top end, print mm.
fn seen(found: &Found, side: usize) -> Vec<Point> {
    let outline = &found.outline;
    let corners = outline.corners().0;
    let map = Homography::from_points(&found.format.outer_quad().0, &corners.0).and_then(|m| m.inverse());
    let map = map.unwrap_or(Homography::IDENTITY);
    let (of, back) = [(3, true), (0, false), (1, false), (2, true)][side];
    let mut line: Vec<Point> = outline.polyline(of, PLACES).into_iter().map(|p| map.apply(p)).collect();
    if back {
        line.reverse();
    }
    line
}

/// How much of the light that an edge hides of the room is lost: what hides it is lit by the room too, and returns about half
/// (common practice, no source).
const DIMMED: f64 = 0.5;

/// The room's light as a share of the bed's whole light, from the darkness of the core.
///
/// The core's middle lies half its reach from the edge, where under 45 degrees the edge hides 0.28 of the sky ([`sky`]).
pub fn fill(depth: f64) -> f64 {
    ((1.0 - depth) / (1.0 - DIMMED * 0.28)).clamp(0.0, 0.95)
}

/// Share of an even room's light that reaches the bed at `x` from a long edge of height `h`: `(1 + x / sqrt(x^2 + h^2)) / 2`, the
/// cosine-weighted half of the sky that the edge leaves (view factor of a strip).
pub fn sky(x: f64, h: f64) -> f64 {
    (1.0 + x / x.hypot(h).max(1e-9)) / 2.0
}

/// Standard deviations of what follows from a fit's parameters, by its slopes (the delta method).
fn spread(fit: &Fit, value: impl Fn(&[f64]) -> Vec<f64>) -> Vec<f64> {
    let columns: Vec<Vec<f64>> = (0..N)
        .map(|j| {
            let (mut up, mut down) = (fit.x.clone(), fit.x.clone());
            up[j] += STEPS[j];
            down[j] -= STEPS[j];
            value(&up).iter().zip(value(&down)).map(|(a, b)| (a - b) / (2.0 * STEPS[j])).collect()
        })
        .collect();
    let variance = |k: usize| -> f64 {
        (0..N)
            .flat_map(|i| (0..N).map(move |j| (i, j)))
            .map(|(i, j)| columns[i][k] * fit.covariance[i * N + j] * columns[j][k])
            .sum()
    };
    (0..columns[0].len()).map(|k| variance(k).max(0.0).sqrt()).collect()
}

/// What the light's face spans: its half angle `a` makes a soft end `2 a h (1 + cot^2 e)` wide, of which nine tenths to one tenth are
/// eight tenths. The frame's own blur (2.56 deviations from tenth to tenth) is taken out.
fn size_deg(e: &Evidence, fit: &Fit) -> f64 {
    let (model, x) = (&fit.model, &fit.x);
    let base = model.heights(x, &[point(0.0, 0.0)])[0];
    let (foot, wide) = (model.nadir(x), 1.0 + x[COT] * x[COT]);
    let of = |r: &Reach| {
        let s = e.stations[r.side].iter().find(|s| s.along_mm == r.along)?;
        let p = model.edge(r.side, model.reach(x, r.side, r.along, base, foot).1);
        let h = model.heights(x, &[p])[0];
        let turn = Point::at_angle(model.azimuth.0).dot(normal(r.side));
        let soft = (s.softness_mm.powi(2) - (2.56 * e.blur_mm).powi(2)).max(0.0).sqrt();
        // A low edge's soft end is all blur.
        (h > 0.8).then(|| soft / (0.8 * 2.0 * h * wide * turn))
    };
    let mut told: Vec<f64> = model.reaches.iter().filter_map(of).collect();
    told.sort_by(f64::total_cmp);
    // Whatever else there is (a bend within the millimetre of a profile, grain) makes an end softer, so the lower quartile tells.
    // Without high edges: a flash head of 60 mm at 900 mm.
    if told.len() < 8 { 4.0 } else { (2.0 * told[told.len() / 4]).to_degrees().clamp(1.0, 30.0) }
}
