//! The sides of a print and of its window, to a fraction of a pixel.

use crate::edge::{HALF, Reader, Step};
use crate::ends::Tip;
use crate::format::Format;
use crate::smooth::{Fitted, Scale};
use crate::strip::{self, Strip};
use geometry::fit::Polynomial;
use geometry::{Homography, Point, Quad, point};
use pixels::{Field, Frame};
use rayon::prelude::*;

/// One side as measured: how far outward it lies from a straight base line, along that line.
#[derive(Clone, Debug)]
pub struct Side {
    /// Outward deviation in mm over `t`, which runs -1 to 1 along the side, clockwise.
    pub curve: Polynomial,
    /// Robust spread of the single measurements about the curve, mm.
    pub spread: f64,
    /// Share of the places along the side that agree with the curve, 0 to 1.
    pub support: f64,
    /// Median size of the step, cube root of the ratio to the bed.
    pub step: f32,
    /// Share of the side inside the frame.
    pub seen: f64,
    /// The single measurements `(t, deviation mm)` that agree.
    pub points: Vec<(f64, f64)>,
    /// Standard error of the curve at t = -1 and t = 1, mm.
    pub ends: [f64; 2],
    /// How far (mm) another line that may be the side lies from this one, times how likely it is.
    pub rival: f64,
}

impl Side {
    /// A side that was not found, of which so much is in the frame.
    pub(crate) fn missing(seen: f64) -> Self {
        let (curve, ends) = (Polynomial(vec![0.0]), [f64::INFINITY; 2]);
        Self { curve, spread: f64::INFINITY, support: 0.0, step: 0.0, seen, points: Vec::new(), ends, rival: 0.0 }
    }

    /// True where enough of the side was found to rely on it.
    pub fn sure(&self) -> bool {
        // Half of the places: fewer can be a chance line through writing or a picture's own edges.
        self.support > 0.5
    }
}

/// A rectangle's four sides (top, right, bottom, left of the upright print) about a base.
#[derive(Clone, Debug)]
pub struct Sides {
    /// The rectangle in print millimetres.
    pub rect: Quad,
    /// The four sides.
    pub sides: [Side; 4],
}

/// Which rectangle is looked for: its profiles start in the border, whose paper is even, and go away from it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Which {
    /// The print's outer edge: from the border outward.
    Outer,
    /// The window's edge: from the border inward.
    Window,
}

/// How closely to look.
#[derive(Clone, Copy, Debug)]
pub struct Reach {
    /// How far (mm) into the border the profiles start.
    pub border: f64,
    /// How far (mm) past the base line they go.
    pub beyond: f64,
    /// Places along each side.
    pub places: usize,
    /// Degree of the side's curve.
    pub degree: usize,
    /// Distance between the samples of a profile, frame pixels.
    pub step_px: f64,
}

impl Reach {
    /// The reach with room enough on a coarse frame of `scale` pixels a millimetre, of a `border` (mm) four fifths at the most.
    ///
    /// A step is told by the quiet paper beside it: with less than [`ROOM`] to either side its own blur is all that there is.
    fn at_least(self, border: f64, scale: f64) -> Self {
        let room = ROOM / scale.max(1e-6);
        Self { border: self.border.max(room.min(0.8 * border)), beyond: self.beyond.max(room), ..self }
    }
}

/// Pixels of paper beside an edge: an edge with its sharpening's halo is four wide.
const ROOM: f64 = 8.0;

/// Samples half a pixel apart, for a sharp lens.
pub const SHARP: f64 = 0.5;
/// Samples two pixels apart, for a frame out of focus: a step is the difference of means of three samples, so an edge ten
/// pixels wide still stands out as one.
pub const SOFT: f64 = 2.0;

/// Measures four sides near the rectangle `rect` (print mm) under `frame_from_print`.
pub fn measure(
    frame: &Frame,
    bed: &Field,
    frame_from_print: &Homography,
    rect: Quad,
    which: Which,
    reach: Reach,
) -> Sides {
    let reader = Reader::new(frame);
    let sides: Vec<Side> =
        (0..4usize).into_par_iter().map(|i| side(&reader, bed, frame_from_print, rect.side(i), which, reach)).collect();
    Sides { rect, sides: sides.try_into().unwrap_or_else(|_| unreachable!("four sides in, four out")) }
}

fn side(
    reader: &Reader<'_>,
    bed: &Field,
    frame_from_print: &Homography,
    (a, b): (Point, Point),
    which: Which,
    reach: Reach,
) -> Side {
    let strip = Strip::read(reader, bed, frame_from_print, (a, b), which, reach);
    let seen = strip.places.iter().filter(|(_, p)| p.good > 0.9).count() as f64 / strip.places.len().max(1) as f64;
    // Edges agree with their curve to a twelfth of a millimetre, and to a pixel of a coarse frame.
    let pixel = 1.0 / frame_from_print.scale_at(a.lerp(b, 0.5)).max(1e-6);
    let tolerance = TOLERANCE.max(1.1 * pixel);
    let mut best = Side::missing(seen);
    // Where noise hides the side in single profiles, neighbours are averaged, and longer means compared.
    for &(blended, half) in WAYS {
        let other = (blended > 0).then(|| strip.blend(blended, half));
        let found = other.as_ref().unwrap_or(&strip).steps();
        let range = strip.range();
        let scale = Scale { step: strip.step, tolerance, blended, range };
        let side = choose(&found, scale, reach.degree, seen);
        if side.support > best.support + 0.1 {
            best = side;
        }
        if best.support > 0.6 * seen {
            break;
        }
    }
    // Profiles of a window run inward; deviations are told outward.
    best.curve.0.iter_mut().for_each(|c| *c *= strip.sign);
    best.points.iter_mut().for_each(|p| p.1 *= strip.sign);
    best
}

/// How far (mm) a single measurement may lie from its side's curve.
const TOLERANCE: f64 = 0.08;
/// Neighbours averaged on either side and samples in each mean, in the order they are tried: from a sharp clean frame to one
/// whose border differs from the bed by less than its grain.
const WAYS: &[(usize, usize)] = &[(0, HALF), (2, HALF), (2, 8), (4, 14)];

/// The chain of steps that is the side: the first one met coming from the border, unless the loudest is far better
/// supported. The first keeps the shadow's outer edge, which lies farther out, from being taken for the print's.
fn choose(found: &[strip::Found], scale: Scale, degree: usize, seen: f64) -> Side {
    let chain = |pick: &dyn Fn(&[Step]) -> Option<Step>| {
        let samples: Vec<(f64, f64, f64)> =
            found.iter().filter_map(|(t, s, _)| pick(s).map(|s| (*t, s.at, 1.0))).collect();
        let start = degree.min(samples.len() / 4);
        let (curve, _, _) = Polynomial::fit(&samples, start, 0.03)?;
        snap(found, &curve, scale, degree)
    };
    let first = chain(&|s| s.first().copied());
    let loudest = chain(&|s| s.iter().copied().max_by(|a, b| a.size.total_cmp(&b.size)));
    let (best, other) = match (first, loudest) {
        (Some(f), Some(l)) if l.support > f.support + 0.25 => (Some(l), Some(f)),
        (Some(f), l) => (Some(f), l),
        (None, l) => (l, None),
    };
    let Some(mut side) = best else { return Side::missing(seen) };
    // Another line with as much behind it may be the side: the less of this one was found, the likelier.
    if let Some(other) = other {
        let far = (other.curve.at(0.0) - side.curve.at(0.0)).abs();
        side.rival = far * (other.support - 0.5).clamp(0.0, 0.5) * (1.0 - side.support).max(0.0);
    }
    side.seen = seen;
    side
}

/// Refits a curve to the steps nearest to it, whichever their rank, and counts who agrees.
fn snap(found: &[strip::Found], curve: &Polynomial, scale: Scale, degree: usize) -> Option<Side> {
    let tolerance = scale.tolerance;
    let mut curve = curve.clone();
    let mut fitted = None;
    let mut near: Vec<(f64, Step)> = Vec::new();
    for cut in [4.0 * tolerance, 2.0 * tolerance, 2.0 * tolerance] {
        near = found
            .iter()
            .filter_map(|(t, steps, _)| {
                let want = curve.at(*t);
                let s = steps.iter().min_by(|a, b| (a.at - want).abs().total_cmp(&(b.at - want).abs()))?;
                ((s.at - want).abs() < cut).then_some((*t, *s))
            })
            .collect();
        if near.len() <= degree + 2 {
            break;
        }
        let samples: Vec<(f64, f64)> = near.iter().map(|(t, s)| (*t, s.at)).collect();
        if let Some(f) = Fitted::new(&samples, degree, scale) {
            curve = f.curve.clone();
            fitted = Some(f);
        }
    }
    let Fitted { spread, ends, .. } = fitted?;
    let within = (4.0 * spread).clamp(0.25 * tolerance, tolerance);
    near.retain(|(t, s)| (s.at - curve.at(*t)).abs() < within);
    let support = beyond_chance(near.len() as f64 / found.len().max(1) as f64, found, within, scale.range);
    let mut sizes: Vec<f64> = near.iter().map(|(_, s)| f64::from(s.size)).collect();
    let step = geometry::fit::median(&mut sizes) as f32;
    let points = near.iter().map(|(t, s)| (*t, s.at)).collect();
    Some(Side { curve, spread, support, step, seen: 1.0, points, ends, rival: 0.0 })
}

/// The share of places that agree less what steps thrown at random would give: with `p` the chance that one of a profile's
/// steps falls within reach of any line, `(share - p) / (1 - p)`.
fn beyond_chance(share: f64, found: &[strip::Found], within: f64, range: f64) -> f64 {
    let steps: usize = found.iter().map(|(_, s, _)| s.len()).sum();
    let each = steps as f64 / found.len().max(1) as f64;
    let p = 1.0 - (1.0 - (2.0 * within / range.max(1e-6)).min(1.0)).powf(each);
    ((share - p) / (1.0 - p).max(1e-6)).max(0.0)
}

impl Sides {
    /// The point of side `i` at `t` (-1 to 1, clockwise), print mm.
    pub fn at(&self, i: usize, t: f64) -> Point {
        let (a, b) = self.rect.side(i);
        let outward = -(b - a).unit().quarter_turn();
        a.lerp(b, (t + 1.0) / 2.0) + outward * self.sides[i % 4].curve.at(t)
    }

    /// The corner between side `i - 1` and side `i`: where their curves meet.
    pub fn corner(&self, i: usize) -> Point {
        let before = (i + 3) % 4;
        let (a, b) = self.rect.side(i);
        let (c, d) = self.rect.side(before);
        let (l, m) = ((b - a).norm(), (d - c).norm());
        let (mut t, mut u) = (-1.0, 1.0);
        // Each round moves one side's end by the other's deviation; slopes are under one in twenty, so it converges fast.
        for _ in 0..6 {
            t = -1.0 - 2.0 * self.sides[before].curve.at(u) / l;
            u = 1.0 + 2.0 * self.sides[i % 4].curve.at(t) / m;
        }
        self.at(i, t)
    }

    /// All four corners.
    pub fn corners(&self) -> Quad {
        Quad(std::array::from_fn(|i| self.corner(i)))
    }
}

/// A print's outline and window as measured, about a base map.
#[derive(Clone, Debug)]
pub struct Outline {
    /// Print millimetres (upright, origin top left, y down) to frame pixels: exact at the outer corners found.
    pub frame_from_print: Homography,
    /// The outer edge.
    pub outer: Sides,
    /// The window's edge.
    pub window: Sides,
    /// Where sides of a dark border end, seen where a neighbour is not.
    pub tips: Vec<Tip>,
}

impl Outline {
    /// Refines rough corners (frame px, from the upright print's top left) of a format by profiles of samples `step_px` frame
    /// pixels apart ([`SHARP`] or [`SOFT`]).
    pub fn refine(frame: &Frame, bed: &Field, format: &Format, rough: Quad, step_px: f64) -> Option<Self> {
        let rect = format.outer_quad();
        let mut base = Homography::from_points(&rect.0, &rough.0)?;
        // The narrowest border bounds how far profiles may start inside it.
        let border = format.border();
        let first = Reach { border: (border * 0.55).min(2.4), beyond: 2.4, places: 32, degree: 2, step_px }
            .at_least(border, base.scale_at(rect.centre()));
        let sides = measure(frame, bed, &base, rect, Which::Outer, first);
        base = base_on(&base, &sides, rect)?;
        Some(Self::close_to(frame, bed, format, base, step_px))
    }

    /// Measures a format's sides where they lie within half a millimetre of their place under `base`.
    pub fn close_to(frame: &Frame, bed: &Field, format: &Format, base: Homography, step_px: f64) -> Self {
        let (rect, inner) = (format.outer_quad(), format.window_quad());
        let border = format.border();
        let scale = base.scale_at(rect.centre());
        let close = Reach { border: (border * 0.4).min(1.6), beyond: 0.9, places: 72, degree: 4, step_px }
            .at_least(border, scale);
        let outer = measure(frame, bed, &base, rect, Which::Outer, close);
        let window_reach = Reach { border: (border * 0.5).min(2.0), beyond: 1.5, places: 48, degree: 3, step_px }
            .at_least(border, scale);
        let window = measure(frame, bed, &base, inner, Which::Window, window_reach);
        Self { frame_from_print: base, outer, window, tips: Vec::new() }
    }

    /// Forgets the window: a back has none, and what was measured in its place is something else.
    pub(crate) fn without_window(&mut self) {
        self.window.sides.iter_mut().for_each(|s| {
            s.support = 0.0;
            s.points.clear();
        });
    }

    /// Corners in frame pixels, outer and window, from the upright print's top left.
    pub fn corners(&self) -> (Quad, Quad) {
        let map = |s: &Sides| s.corners().map(|p| self.frame_from_print.apply(p));
        (map(&self.outer), map(&self.window))
    }

    /// Side `i` of the outline as `n` points in frame pixels, ends included.
    pub fn polyline(&self, i: usize, n: usize) -> Vec<Point> {
        let (a, b) = (self.outer.corner(i), self.outer.corner((i + 1) % 4));
        let (p, q) = self.outer.rect.side(i);
        let along = (q - p).unit();
        let length = (q - p).norm();
        let t = |c: Point| 2.0 * (c - p).dot(along) / length - 1.0;
        let (t0, t1) = (t(a), t(b));
        (0..n)
            .map(|k| self.outer.at(i, t0 + (t1 - t0) * k as f64 / (n - 1) as f64))
            .map(|p| self.frame_from_print.apply(p))
            .collect()
    }
}

/// The base map moved onto the corners just found; sides not found keep their place.
fn base_on(base: &Homography, sides: &Sides, rect: Quad) -> Option<Homography> {
    let mut sides = sides.clone();
    for s in &mut sides.sides {
        if !s.sure() {
            s.curve = Polynomial(vec![0.0]);
        }
    }
    let corners = sides.corners().map(|p| base.apply(p));
    Homography::from_points(&rect.0, &corners.0)
}

/// The upright corner's index when the corners are listed clockwise from the one nearest the frame's top left.
pub fn from_top_left(corners: Quad) -> (Quad, usize) {
    let nearest = (0..4)
        .min_by(|&a, &b| {
            let d = |i: usize| corners.0[i].distance(point(0.0, 0.0));
            d(a).total_cmp(&d(b))
        })
        .unwrap_or(0);
    (corners.rolled(nearest), (4 - nearest) % 4)
}
