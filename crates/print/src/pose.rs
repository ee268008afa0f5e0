//! Where the camera stood and how the print curls, from its outline and window.
//!
//! A pinhole camera with radial distortion looks at a sheet `z = (a x^2 + 2 b x y + c y^2) / 2` above its centre. World
//! axes: x to the image's right, y up, z to the camera, origin where the optical axis meets the sheet's plane; the camera
//! is turned by `Rx(tilt_x) Ry(tilt_y)` about them (the roll is part of the print's turn).

use crate::format::Format;
use crate::outline::{Outline, Sides, Tip};
use geometry::solve::{covariance, levenberg_marquardt};
use geometry::{Lens, Point, point};

/// What the outline says of camera and sheet.
#[derive(Clone, Copy, Debug)]
pub struct Pose {
    /// Lean about the world's x axis, degrees.
    pub tilt_x: f64,
    /// Lean about the world's y axis, degrees.
    pub tilt_y: f64,
    /// From the camera to the plane of the print's centre along the optical axis, mm.
    pub distance: f64,
    /// The print's centre in the world, mm.
    pub centre: Point,
    /// The print's turn in the world, radians counter-clockwise as seen.
    pub turn: f64,
    /// Curvatures a, b, c of the sheet, 1/mm, x and y along the upright print (y up).
    pub curl: [f64; 3],
    /// The lens used, frame pixels.
    pub lens: Lens,
    /// Focal length, frame pixels.
    pub focal: f64,
    /// The print's size, mm.
    pub size: (f64, f64),
    /// Root mean square of the outline's distance from the model, mm.
    pub rms: f64,
    /// Standard error of the tilt, degrees, the larger of both axes: what curl and lens may take from it included.
    pub tilt_sigma: f64,
    /// Standard errors of a, b and c of `curl`, 1/mm: what tilt and lens may take from them included.
    pub curl_sigma: [f64; 3],
}

impl Pose {
    /// Fits the model to an outline. `focal` is the focal length in frame pixels; `size` the frame's size in pixels; `known` the
    /// lens with the standard error of its k1, where a ruler told it.
    pub fn fit(
        outline: &Outline,
        format: &Format,
        focal: f64,
        size: (usize, usize),
        known: Option<(Lens, f64)>,
    ) -> Self {
        let (w, h) = format.outer;
        let mut seen = gather(outline, &outline.outer).chain(gather(outline, &outline.window)).collect::<Vec<_>>();
        let on_sides = seen.len();
        if !outline.tips.is_empty() {
            // A scale from the border's width would carry the window's own play to the far side many times over; ends seen tell it better.
            let outer = gather(outline, &outline.outer).count();
            seen.iter_mut().skip(outer).for_each(|s| s.error = Some(WINDOW));
        }
        seen.extend(outline.tips.iter().map(|tip| end(outline, tip)));
        let middle = outline.frame_from_print.apply(point(w / 2.0, h / 2.0));
        let scale = outline.frame_from_print.scale_at(point(w / 2.0, h / 2.0));
        let noise = NOISE.hypot(NOISE_PX / scale.max(1e-6));
        let right = outline.frame_from_print.apply(point(w / 2.0 + 1.0, h / 2.0)) - middle;
        // Untold, a macro lens bends under one per cent at the corner. A told one is held as well as it is known, and never so
        // tightly that the fit cannot move.
        let (lens, k1_spread) = known
            .map_or((Lens::straight(size.0 as f64, size.1 as f64), 0.006), |(lens, error)| (lens, error.max(1e-4)));
        let make = |x: &[f64]| Self {
            tilt_x: x[0],
            tilt_y: x[1],
            distance: x[2],
            centre: point(x[3], x[4]),
            turn: x[5],
            curl: [x[6] * 1e-3, x[7] * 1e-3, x[8] * 1e-3],
            lens: Lens { k: [x[9], lens.k[1], lens.k[2]], ..lens },
            focal,
            size: (w, h),
            rms: 0.0,
            tilt_sigma: TILT,
            curl_sigma: [CURL; 3],
        };
        let residuals = |x: &[f64]| {
            let pose = make(x);
            let mut r: Vec<f64> = seen
                .iter()
                .map(|s| (pose.frame(s.print) - s.frame).dot(s.normal) / s.scale / s.error.unwrap_or(noise))
                .collect();
            // What is known before looking, each over its usual spread: a stand leans by a degree or so, a print lifts a few
            // millimetres (curvature 1e-3 is 1.2 mm at 50 mm).
            r.extend([x[0] / TILT, x[1] / TILT, x[6] / 1.5, x[7] / 1.5, x[8] / 1.5, (x[9] - lens.k[0]) / k1_spread]);
            // Paper bends one way at a time: a sheet that does not stretch is a cylinder, whose smaller principal curvature is
            // 0, and instant prints are stiff enough to keep to it within a fifth of a millimetre or so (common practice, no
            // source). A lens's radial distortion looks like the same curvature both ways; this is what tells them apart.
            let (mean, turn) = ((x[6] + x[8]) / 2.0, ((x[6] - x[8]) / 2.0).hypot(x[7]));
            r.push((mean.abs() - turn).abs() / 0.2);
            r
        };
        let distance = focal / scale;
        let start = [
            0.0,
            0.0,
            distance,
            (middle.x - lens.centre.x) / scale,
            -(middle.y - lens.centre.y) / scale,
            -right.angle(),
            0.0,
            0.0,
            0.0,
            lens.k[0],
        ];
        let steps = [1e-4, 1e-4, 1e-3, 1e-4, 1e-4, 1e-6, 1e-4, 1e-4, 1e-4, 1e-6];
        let (x, _) = levenberg_marquardt(residuals, &start, &steps, 40);
        let mut pose = make(&x);
        // Edges that are no print's can lead the fit to a camera a hand's breadth away or behind the bed. The outline has a scale of
        // its own; a pose that is far from it explains nothing, and a level camera at that scale takes its place.
        let close = (pose.px_per_mm() / scale - 1.0).abs() < ASTRAY;
        if !close {
            pose = make(&start);
        }
        let sides = &seen[..on_sides];
        let sum: f64 = sides.iter().map(|s| ((pose.frame(s.print) - s.frame).dot(s.normal) / s.scale).powi(2)).sum();
        pose.rms = (sum / sides.len().max(1) as f64).sqrt();
        if close {
            // Points along a side share what the model misses: a side tells as much as a few of them.
            let wide = KIN.sqrt() * (pose.rms / noise).max(1.0);
            let shared = |x: &[f64]| {
                let mut r = residuals(x);
                r[..seen.len()].iter_mut().for_each(|v| *v /= wide);
                r
            };
            if let Some(c) = covariance(shared, &x, &steps) {
                let variance = |i: usize| c[i * x.len() + i];
                pose.tilt_sigma = variance(0).max(variance(1)).sqrt().min(TILT);
                pose.curl_sigma = std::array::from_fn(|i| (variance(6 + i).sqrt() * 1e-3).min(CURL));
            }
        }
        pose
    }

    /// Height of the sheet above its centre at a print point (mm, origin at the centre, y up).
    pub fn height(&self, p: Point) -> f64 {
        let [a, b, c] = self.curl;
        (a * p.x * p.x + 2.0 * b * p.x * p.y + c * p.y * p.y) / 2.0
    }

    /// Slope of the sheet at a print point (origin at the centre, y up), per axis of the print.
    pub fn slope(&self, p: Point) -> Point {
        let [a, b, c] = self.curl;
        point(a * p.x + b * p.y, b * p.x + c * p.y)
    }

    /// Frame position of a print point (mm, origin top left, y down).
    pub fn frame(&self, p: Point) -> Point {
        let q = point(p.x - self.size.0 / 2.0, self.size.1 / 2.0 - p.y);
        let z = self.height(q);
        // Bent paper keeps its length: a point at arc length s of a parabola z = k s^2 / 2 lies at s - k^2 s^3 / 6.
        let bend = self.slope(q) * (-z / 3.0);
        let (s, c) = self.turn.sin_cos();
        let flat = q + bend;
        let x = self.centre.x + flat.x * c - flat.y * s;
        let y = self.centre.y + flat.x * s + flat.y * c;
        self.project([x, y, z])
    }

    /// Frame position of a world point (mm).
    pub fn project(&self, [x, y, z]: [f64; 3]) -> Point {
        let (sx, cx) = self.tilt_x.to_radians().sin_cos();
        let (sy, cy) = self.tilt_y.to_radians().sin_cos();
        // Columns of Rx Ry: the camera's right, up and backward directions in the world.
        let right = [cy, sx * sy, -cx * sy];
        let up = [0.0, cx, sx];
        let back = [sy, -sx * cy, cx * cy];
        let d = [x - back[0] * self.distance, y - back[1] * self.distance, z - back[2] * self.distance];
        let dot = |a: [f64; 3]| a[0] * d[0] + a[1] * d[1] + a[2] * d[2];
        let depth = -dot(back);
        let centre = self.lens.centre;
        self.lens.distort(point(centre.x + self.focal * dot(right) / depth, centre.y - self.focal * dot(up) / depth))
    }

    /// Frame pixels per millimetre at the print's centre.
    pub fn px_per_mm(&self) -> f64 {
        let m = point(self.size.0 / 2.0, self.size.1 / 2.0);
        let dx = self.frame(m + point(0.5, 0.0)) - self.frame(m - point(0.5, 0.0));
        let dy = self.frame(m + point(0.0, 0.5)) - self.frame(m - point(0.0, 0.5));
        (dx.norm() + dy.norm()) / 2.0
    }

    /// The greatest height of the outline above or below the sheet's centre, mm.
    pub fn lift(&self) -> f64 {
        let (w, h) = (self.size.0 / 2.0, self.size.1 / 2.0);
        let rim = (0..=20).flat_map(|i| {
            let t = f64::from(i) / 10.0 - 1.0;
            [point(t * w, h), point(t * w, -h), point(w, t * h), point(-w, t * h)]
        });
        rim.map(|p| self.height(p).abs()).fold(0.0, f64::max)
    }

    /// Standard error of [`Pose::lift`], mm, from the bend along either side.
    pub fn lift_sigma(&self) -> f64 {
        let (w, h) = (self.size.0 / 2.0, self.size.1 / 2.0);
        let [a, _, c] = self.curl_sigma;
        (a * w * w / 2.0).max(c * h * h / 2.0)
    }
}

/// Standard deviation assumed for one outline point, mm: edges agree with their curves to about this.
pub(crate) const NOISE: f64 = 0.02;
/// The same in frame pixels, as an edge is placed in its blur: what decides on a coarse frame.
pub(crate) const NOISE_PX: f64 = 0.15;

/// How much prints are bent before anything is seen of it, 1/mm (standard deviation).
const CURL: f64 = 1.5e-3;

/// How far a stand leans, degrees (standard deviation).
const TILT: f64 = 1.5;
/// Points along a side that err together: of some fifty to seventy on a side, a bow that the model does not know leaves a handful.
/// Checked on drawn frames by their true tilt (`tests/wild.rs`).
pub(crate) const KIN: f64 = 25.0;

/// How far (mm) windows lie from their nominal place in the format.
const WINDOW: f64 = 0.25;

/// How far the scale of a pose may be from that of its outline, as a share: a curl of 5 mm at 400 mm makes 1.3 %, a lean of 4 degrees
/// less. A fit that went astray is off by a fifth to many times.
const ASTRAY: f64 = 0.1;

struct Sighting {
    print: Point,
    frame: Point,
    normal: Point,
    scale: f64,
    /// Standard error, mm, where it is not an edge's own.
    error: Option<f64>,
}

/// The end of a side, which says where the print stops along that side.
fn end(outline: &Outline, tip: &Tip) -> Sighting {
    let map = &outline.frame_from_print;
    let (a, b) = outline.outer.rect.side(tip.side);
    let frame = map.apply(tip.at);
    let along = map.apply(tip.at + (b - a).unit()) - frame;
    let print = outline.outer.rect.0[tip.corner];
    Sighting { print, frame, normal: along.unit(), scale: along.norm(), error: Some(tip.error) }
}

fn gather<'a>(outline: &'a Outline, sides: &'a Sides) -> impl Iterator<Item = Sighting> + 'a {
    let map = &outline.frame_from_print;
    (0..4).filter(|&i| sides.sides[i].sure()).flat_map(move |i| {
        let (a, b) = sides.rect.side(i);
        let outward = -(b - a).unit().quarter_turn();
        sides.sides[i].points.iter().map(move |&(t, d)| {
            let print = a.lerp(b, (t + 1.0) / 2.0);
            let frame = map.apply(print + outward * d);
            let out = map.apply(print + outward * (d + 1.0)) - frame;
            Sighting { print, frame, normal: out.unit(), scale: out.norm(), error: None }
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Test vector T3, computed with OpenCV 5.0 (`docs/references.md`, geometry): an 88 by 107 mm rectangle 400 mm from a
    /// camera of 9000 px that leans about x.
    #[test]
    fn projects_a_tilted_rectangle_as_the_reference_does() {
        let pose = Pose {
            tilt_x: -2.0,
            tilt_y: 0.0,
            distance: 400.0,
            centre: point(0.0, 0.0),
            turn: 0.0,
            curl: [0.0; 3],
            lens: Lens::straight(6000.0, 4000.0),
            focal: 9000.0,
            size: (88.0, 107.0),
            rms: 0.0,
            tilt_sigma: 0.0,
            curl_sigma: [0.0; 3],
        };
        let near = |p: Point, x: f64, y: f64| assert!(p.distance(point(x, y)) < 1e-5, "{p:?} wanted {x} {y}");
        // The reference turns the sheet by +2 degrees about the x axis with y down, which is a camera leaning by -2.
        near(pose.frame(point(0.0, 0.0)), 2005.357199, 791.341507);
        near(pose.frame(point(88.0, 107.0)), 3985.400341, 3197.427347);
    }

    #[test]
    fn bent_paper_keeps_its_length() {
        let pose = Pose {
            tilt_x: 0.0,
            tilt_y: 0.0,
            distance: 1e9,
            centre: point(0.0, 0.0),
            turn: 0.0,
            curl: [4e-3, 0.0, 0.0],
            lens: Lens::straight(100.0, 100.0),
            focal: 1e9,
            size: (100.0, 100.0),
            rms: 0.0,
            tilt_sigma: 0.0,
            curl_sigma: [0.0; 3],
        };
        // Arc length of z = x^2 k / 2 from 0 to x by fine sums must return the paper's 50 mm.
        let end = pose.frame(point(100.0, 50.0)).x - 50.0;
        let n = 10000;
        let arc: f64 = (0..n)
            .map(|i| {
                let x = end * (f64::from(i) + 0.5) / f64::from(n);
                (1.0 + (4e-3 * x).powi(2)).sqrt() * end / f64::from(n)
            })
            .sum();
        assert!((arc - 50.0).abs() < 0.01, "{arc}");
    }
}
