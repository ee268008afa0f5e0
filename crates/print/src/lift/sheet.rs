//! The sheet as one model: how it bends, how high it rests, where the light stands; and what outline and shadow say of it.

use super::Evidence;
use geometry::{Lens, Point, point};

/// Parameters: lean about x and y (degrees), camera distance (mm), centre x and y (mm), turn (rad), curvatures a, b, c (1/m),
/// k1, height of the lifted corner (mm), thickness (mm), cotangent of the light's elevation, its azimuth's offset (rad).
pub(super) const N: usize = 14;
pub(super) const CORNER: usize = 10;
pub(super) const THICK: usize = 11;
pub(super) const COT: usize = 12;
pub(super) const AZIMUTH: usize = 13;
/// Difference steps: a thousandth of what changes a reading by its noise, or less.
pub(super) const STEPS: [f64; N] = [1e-4, 1e-4, 1e-3, 1e-4, 1e-4, 1e-6, 1e-4, 1e-4, 1e-4, 1e-6, 1e-3, 1e-4, 1e-4, 1e-4];

/// Air under a sheet laid by hand, mm.
pub(super) const GAP: f64 = 0.02;
/// Elevation of a copy light and its spread, degrees: books on reproduction say 45, and lights are set by eye.
const ELEVATION: (f64, f64) = (45.0, 6.0);
/// Thickness of an instant print and its spread, mm: peel-apart 0.3 to 0.4, integral 0.45 to 0.75.
const THICKNESS: (f64, f64) = (0.5, 0.15);
/// How far a stand leans, degrees (standard deviation), as the pose takes it.
const TILT: f64 = 1.5;
/// How far a sheet is from a cylinder, 1/m: its smaller principal curvature. Paper hardly stretches.
const CYLINDER: f64 = 0.2;
/// Spread of the lens's k1 where nobody told it: a macro lens bends up to one per cent at the corner.
const K1: f64 = 0.008;

/// One idea of the sheet's form.
#[derive(Clone, Copy, Debug)]
pub(super) struct Form {
    /// Spread of its curvatures, 1/m: a flat one or a bent one.
    pub bend: f64,
    /// The corner that is lifted by itself (top left, top right, bottom right, bottom left), and by how much (spread, mm).
    pub corner: Option<usize>,
}

/// Curvature that a sheet called flat may have, 1/m: 0.13 mm at 50 mm.
const FLAT: f64 = 0.1;
/// Curvature of a bent one: 1.9 mm at 50 mm.
const BENT: f64 = 1.5;
/// Lift of a lifted corner, mm.
const LIFTED: f64 = 2.0;

impl Form {
    /// All forms that are tried: flat or bent, with no corner or one lifted.
    pub fn all() -> impl Iterator<Item = Self> {
        let corners = || [None, Some(0), Some(1), Some(2), Some(3)].into_iter();
        [FLAT, BENT].into_iter().flat_map(move |bend| corners().map(move |corner| Self { bend, corner }))
    }

    /// Spreads of what is known before looking, of the parameters that this form lets move.
    pub fn ln_priors(&self) -> f64 {
        3.0 * self.bend.ln() + self.corner_spread().ln()
    }

    fn corner_spread(&self) -> f64 {
        // A form without a lifted corner holds it at nothing.
        if self.corner.is_some() { LIFTED } else { 1e-3 }
    }
}

/// An outline point: on the print (origin its centre, y up), in the frame, and how its distance is counted.
#[derive(Clone, Copy, Debug)]
pub(super) struct Mark {
    pub print: Point,
    pub frame: Point,
    /// Across the edge, over the frame's scale and the point's error: residuals in standard deviations.
    pub normal: Point,
    /// Which side it lies on, and how far that may lie from its nominal place, in the point's standard deviations.
    pub side: usize,
    pub play: f64,
}

/// A reach of the shadow: side, place along it (mm from its left or top end), reach and its error (mm).
#[derive(Clone, Copy, Debug)]
pub(super) struct Reach {
    pub side: usize,
    pub along: f64,
    pub reach: f64,
    pub error: f64,
}

/// What is fitted.
#[derive(Clone, Debug)]
pub(super) struct Model {
    pub size: (f64, f64),
    pub form: Form,
    focal: f64,
    lens: Lens,
    k1: (f64, f64),
    /// Direction in which the shadow falls, radians counter-clockwise from the print's right, and its spread.
    pub azimuth: (f64, f64),
    /// Slope of the light, per mm.
    slope: f64,
    pub marks: Vec<Mark>,
    pub reaches: Vec<Reach>,
}

/// Left, top, right, bottom: outward normals with y up.
const NORMALS: [Point; 4] =
    [Point { x: -1.0, y: 0.0 }, Point { x: 0.0, y: 1.0 }, Point { x: 1.0, y: 0.0 }, Point { x: 0.0, y: -1.0 }];

/// Outward normal of a side (left, top, right, bottom), y up.
pub(super) fn normal(side: usize) -> Point {
    NORMALS[side % 4]
}

impl Model {
    pub fn new(e: &Evidence, form: Form, azimuth: (f64, f64), marks: Vec<Mark>) -> Self {
        let pose = &e.found.pose;
        Self {
            size: pose.size,
            form,
            focal: pose.focal,
            lens: pose.lens,
            // What the pose found is no knowledge before looking: a told lens keeps its place, an untold one is straight.
            k1: e.lens_k1.map_or((0.0, K1), |(k, s)| (k, s.max(1e-4))),
            azimuth,
            slope: e.lamp.map_or(0.0, |l| l.slope_per_mm).max(0.0),
            marks,
            reaches: vec![],
        }
    }

    /// Where the fit begins: the pose as found.
    pub fn start(&self, e: &Evidence) -> [f64; N] {
        let p = &e.found.pose;
        let [a, b, c] = p.curl.map(|v| v * 1e3);
        let cot = 1.0 / ELEVATION.0.to_radians().tan();
        let (x, y) = (p.centre.x, p.centre.y);
        [p.tilt_x, p.tilt_y, p.distance, x, y, p.turn, a, b, c, p.lens.k[0], 0.0, THICKNESS.0, cot, 0.0]
    }

    /// Height over the sheet's own centre, and slope, at a print point.
    fn bend(&self, x: &[f64], p: Point) -> (f64, Point) {
        let [a, b, c] = [x[6] * 1e-3, x[7] * 1e-3, x[8] * 1e-3];
        let mut z = (a * p.x * p.x + 2.0 * b * p.x * p.y + c * p.y * p.y) / 2.0;
        let mut slope = point(a * p.x + b * p.y, b * p.x + c * p.y);
        if let Some(k) = self.form.corner {
            let (w, h) = (self.size.0 / 2.0, self.size.1 / 2.0);
            let (sx, sy) = [(-1.0, 1.0), (1.0, 1.0), (1.0, -1.0), (-1.0, -1.0)][k];
            let u = ((p.x * sx / w + p.y * sy / h) / 2.0).max(0.0);
            z += x[CORNER] * u * u;
            slope = slope + point(sx / w, sy / h) * (x[CORNER] * u);
        }
        (z, slope)
    }

    /// What the sheet's lowest place lies under its centre: it rests on the bed there.
    fn lowest(&self, x: &[f64]) -> f64 {
        self.rim(x).fold(0.0, f64::min)
    }

    /// The greatest height of the outline above or below the sheet's centre.
    pub fn curl(&self, x: &[f64]) -> f64 {
        self.rim(x).fold(0.0, |most, z| most.max(z.abs()))
    }

    /// Heights of the outline over the sheet's centre.
    fn rim(&self, x: &[f64]) -> impl Iterator<Item = f64> {
        let (w, h) = (self.size.0 / 2.0, self.size.1 / 2.0);
        (0..=8).flat_map(move |i| {
            let t = f64::from(i) / 4.0 - 1.0;
            [point(t * w, h), point(t * w, -h), point(w, t * h), point(-w, t * h)].map(|p| self.bend(x, p).0)
        })
    }

    /// Height of the top face over the bed at print points.
    pub fn heights(&self, x: &[f64], at: &[Point]) -> Vec<f64> {
        let base = x[THICK] + GAP - self.lowest(x);
        at.iter().map(|p| self.bend(x, *p).0 + base).collect()
    }

    /// The camera's right, up and backward directions in the world.
    fn camera(x: &[f64]) -> [[f64; 3]; 3] {
        let (sx, cx) = x[0].to_radians().sin_cos();
        let (sy, cy) = x[1].to_radians().sin_cos();
        [[cy, sx * sy, -cx * sy], [0.0, cx, sx], [sy, -sx * cy, cx * cy]]
    }

    /// The point of the bed's plane under the camera, print axes, and the camera's height over it, mm.
    pub fn nadir(&self, x: &[f64]) -> (Point, f64) {
        let back = Self::camera(x)[2];
        let from_print = point(back[0] * x[2] - x[3], back[1] * x[2] - x[4]);
        (turned(from_print, -x[5]), back[2] * x[2])
    }

    /// The frame's middle on the bed, print axes, mm: where the lamp's slope was measured.
    pub fn middle(&self, x: &[f64]) -> Point {
        turned(point(-x[3], -x[4]), -x[5])
    }

    /// One over the lamp's height, 1/mm: a point light whose illumination falls off by `slope` stands at `3 cos e / slope`.
    pub fn lamp_height_inverse(&self, x: &[f64]) -> f64 {
        self.slope * (1.0 + x[COT] * x[COT]) / (3.0 * x[COT].max(0.05))
    }

    /// How far the shadow of a point lies from where the point is seen, per millimetre of its height: away from the light,
    /// and towards the camera's foot, since a raised point is seen too far out.
    pub fn throw(&self, x: &[f64], p: Point, (nadir, height): (Point, f64)) -> Point {
        let away = Point::at_angle(self.azimuth.0 + x[AZIMUTH]) * x[COT];
        away + (p - self.middle(x)) * self.lamp_height_inverse(x) - (p - nadir) * (1.0 / height)
    }

    /// A point of a side's edge (left, top, right, bottom), `along` from its left or top end.
    pub fn edge(&self, side: usize, along: f64) -> Point {
        let (w, h) = (self.size.0 / 2.0, self.size.1 / 2.0);
        match side {
            0 => point(-w, h - along),
            1 => point(-w + along, h),
            2 => point(w, h - along),
            _ => point(-w + along, -h),
        }
    }

    /// Length of a side.
    pub fn length(&self, side: usize) -> f64 {
        if side.is_multiple_of(2) { self.size.1 } else { self.size.0 }
    }

    /// Reach of the shadow square to a side at a place along it, and the place whose shadow falls there.
    pub fn reach(&self, x: &[f64], side: usize, along: f64, base: f64, foot: (Point, f64)) -> (f64, f64) {
        let out = normal(side);
        let mut from = along;
        let mut reach = 0.0;
        // The shift along the side is a few millimetres over which the height changes by a tenth: three rounds settle it.
        for _ in 0..3 {
            let p = self.edge(side, from.clamp(0.0, self.length(side)));
            let cast = self.throw(x, p, foot) * (self.bend(x, p).0 + base);
            reach = cast.dot(out);
            let shift = if side.is_multiple_of(2) { -cast.y } else { cast.x };
            from = along - shift;
        }
        (reach, from)
    }

    /// Where a print point is seen in the frame. The layer half way down keeps its length (`s - k^2 s^3 / 6` along a parabola),
    /// and the top face lies half a thickness from it along the normal.
    fn frame(&self, x: &[f64], q: Point, camera: &[[f64; 3]; 3]) -> Point {
        let (z, slope) = self.bend(x, q);
        let flat = turned(q - slope * (z / 3.0 + x[THICK] / 2.0), x[5]) + point(x[3], x[4]);
        let [right, up, back] = camera;
        let d = [flat.x - back[0] * x[2], flat.y - back[1] * x[2], z - back[2] * x[2]];
        let dot = |a: &[f64; 3]| a[0] * d[0] + a[1] * d[1] + a[2] * d[2];
        let depth = -dot(back);
        let centre = self.lens.centre;
        let lens = Lens { k: [x[9], self.lens.k[1], self.lens.k[2]], ..self.lens };
        lens.distort(point(centre.x + self.focal * dot(right) / depth, centre.y - self.focal * dot(up) / depth))
    }

    /// Takes from each side's residuals what a side of unknown place would explain: with a common shift of standard deviation `t`
    /// their covariance is `I + t^2 1 1'`, and `r - (1 - 1 / sqrt(1 + n t^2)) mean(r)` is white again.
    fn forgive(&self, r: &mut [f64]) {
        let mut from = 0;
        for side in self.marks.chunk_by(|a, b| a.side == b.side) {
            let to = from + side.len();
            let n = side.len() as f64;
            let mean = r[from..to].iter().sum::<f64>() / n;
            let share = 1.0 - 1.0 / (1.0 + n * side[0].play.powi(2)).sqrt();
            r[from..to].iter_mut().for_each(|v| *v -= share * mean);
            from = to;
        }
    }

    /// Everything in units of its own standard deviation.
    pub fn residuals(&self, x: &[f64]) -> Vec<f64> {
        let camera = Self::camera(x);
        let mut r: Vec<f64> =
            self.marks.iter().map(|m| (self.frame(x, m.print, &camera) - m.frame).dot(m.normal)).collect();
        self.forgive(&mut r);
        let (base, foot) = (x[THICK] + GAP - self.lowest(x), self.nadir(x));
        r.extend(self.reaches.iter().map(|s| (self.reach(x, s.side, s.along, base, foot).0 - s.reach) / s.error));
        let (mean, turn) = ((x[6] + x[8]) / 2.0, ((x[6] - x[8]) / 2.0).hypot(x[7]));
        let e = ELEVATION.0.to_radians();
        r.extend([
            x[0] / TILT,
            x[1] / TILT,
            x[6] / self.form.bend,
            x[7] / self.form.bend,
            x[8] / self.form.bend,
            (x[9] - self.k1.0) / self.k1.1,
            (mean.abs() - turn).abs() / CYLINDER,
            x[CORNER] / self.form.corner_spread(),
            (x[THICK] - THICKNESS.0) / THICKNESS.1,
            // d cot e = de / sin^2 e.
            (x[COT] - 1.0 / e.tan()) / (ELEVATION.1.to_radians() / e.sin().powi(2)),
            x[AZIMUTH] / self.azimuth.1,
        ]);
        r
    }
}

/// A vector turned counter-clockwise (y up), radians.
fn turned(p: Point, by: f64) -> Point {
    let (s, c) = by.sin_cos();
    point(p.x * c - p.y * s, p.x * s + p.y * c)
}
