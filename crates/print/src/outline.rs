//! The sides of a print and of its window, to a fraction of a pixel.

use geometry::fit::Polynomial;
use geometry::{Homography, Point, Quad, point};

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

/// A side's end as seen, short of the corner where its line meets its neighbour's.
#[derive(Clone, Copy, Debug)]
pub struct Tip {
    /// The corner that it is, counted from the upright print's top left.
    pub corner: usize,
    /// The side that ends there.
    pub side: usize,
    /// Where, print mm under the outline's base map.
    pub at: Point,
    /// Standard error along the side, mm.
    pub error: f64,
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
    /// Forgets the window: a back has none, and what was measured in its place is something else.
    pub(crate) fn without_window(&mut self) {
        self.window.sides.iter_mut().for_each(|s| {
            s.support = 0.0;
            s.points.clear();
        });
    }

    /// How far the upright print is turned in the frame, degrees: from frame x to print x, towards y.
    pub fn turn_deg(&self) -> f64 {
        let map = &self.frame_from_print;
        (map.apply(point(1.0, 0.0)) - map.apply(point(0.0, 0.0))).angle().to_degrees()
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
