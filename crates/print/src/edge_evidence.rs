//! The picture the finder looks at: what differs from the bed, turned so that edges run along rows and columns.

use geometry::{Point, point};
use pixels::{Field, Picture, Plane};
use rayon::prelude::*;

/// Tone and tint of a frame over its bed, in perceptual steps: tone 1 on the bed, 0 at black; tint 0 on the bed.
pub struct EdgeEvidence {
    /// Cube root of the mean of the three bands' ratios to the bed (the lightness power of CIE 15).
    pub tone: Plane,
    /// Blue minus red of the cube roots.
    pub tint: Plane,
    /// Frame pixels per pixel of these planes.
    pub scale: f64,
}

impl EdgeEvidence {
    /// From a reduced frame (`scale` frame pixels per pixel) and what the bed would read.
    pub fn new(picture: &Picture, scale: f64, bed: &Field) -> Self {
        let (w, h) = (picture.width(), picture.height());
        let root = |x: usize, y: usize| {
            let b = bed.at((x as f64 + 0.5) * scale, (y as f64 + 0.5) * scale);
            let p = picture.get(x, y);
            // Twice the bed's light is more than any matte sheet returns: past it lies only gloss and clipping.
            std::array::from_fn::<f32, 3, _>(|i| (p[i] / b[i].max(1e-6)).clamp(0.0, 2.0).cbrt())
        };
        let (mut tone, mut tint) = (Plane::filled(w, h, 0.0), Plane::filled(w, h, 0.0));
        let rows = tone.data.par_chunks_mut(w.max(1)).zip(tint.data.par_chunks_mut(w.max(1)));
        rows.enumerate().for_each(|(y, (tone, tint))| {
            for (x, (tone, tint)) in tone.iter_mut().zip(tint).enumerate() {
                let r = root(x, y);
                (*tone, *tint) = (r.iter().sum::<f32>() / 3.0, r[2] - r[0]);
            }
        });
        Self { tone, tint, scale }
    }
}

/// The step in tone or tint (cube root) against which others are weighed: half of the hundredth by which a white border
/// usually differs from the bed.
///
/// A faint side that runs on then counts for more than a few loud pixels; grain, which points every way, cancels along it. A
/// larger value loses pale borders in grain, a smaller one makes every fibre a side.
pub const FAINT: f32 = 0.005;

/// Length of a pair (tone, tint); both are too near 1 to need the care of `hypot`.
#[inline]
pub(crate) fn norm([a, b]: [f32; 2]) -> f32 {
    (a * a + b * b).sqrt()
}

/// Signed edges across one axis, with running sums along the other, in a turned copy of the look.
///
/// `turned` coordinates (u, v) are frame-proxy coordinates turned by `-angle` about the frame's centre, then moved so that
/// all of the frame has u, v >= 0.
pub struct Turned {
    /// Angle of the u axis in the frame, radians from +x towards +y.
    pub angle: f64,
    /// Width in u.
    pub width: usize,
    /// Height in v.
    pub height: usize,
    /// Tone in turned coordinates; NaN outside the frame.
    pub tone: Plane,
    /// Running sums of edge evidence across u, down v: `[tone, tint, weight]` at (v, u), `height + 1` rows.
    across_u: Vec<[f32; 3]>,
    /// Running sums of edge evidence across v, along u: at (v, u), `width + 1` columns.
    across_v: Vec<[f32; 3]>,
    /// Running area sums of busyness (unsigned edge strength) and weight, `(height + 1) * (width + 1)`.
    busy: Vec<[f32; 2]>,
    centre: Point,
    shift: Point,
}

impl Turned {
    /// Turns a look by `-angle` radians.
    pub fn new(look: &EdgeEvidence, angle: f64) -> Self {
        let (w, h) = (look.tone.width as f64, look.tone.height as f64);
        let (c, s) = (angle.cos().abs(), angle.sin().abs());
        let (width, height) = ((w * c + h * s).ceil() as usize, (w * s + h * c).ceil() as usize);
        let centre = point(w / 2.0, h / 2.0);
        let shift = point(width as f64 / 2.0, height as f64 / 2.0);
        let (cos, sin) = (angle.cos(), angle.sin());
        let inside = |u: usize, v: usize| {
            let (x, y) = (u as f64 + 0.5 - shift.x, v as f64 + 0.5 - shift.y);
            let p = point(centre.x + x * cos - y * sin, centre.y + x * sin + y * cos);
            // One pixel from the rim the bilinear samples are all real.
            (p.x > 1.0 && p.y > 1.0 && p.x < w - 1.0 && p.y < h - 1.0).then_some(p)
        };
        let turn = |plane: &Plane| {
            Plane::from_fn(width, height, |u, v| inside(u, v).map_or(f32::NAN, |p| plane.bilinear(p.x, p.y)))
        };
        let (tone, tint) = (turn(&look.tone), turn(&look.tint));
        let step = |a: (isize, isize)| {
            let mut out = vec![[0f32; 3]; width * height];
            for v in 2..height.saturating_sub(2) {
                for u in 2..width.saturating_sub(2) {
                    let at =
                        |p: &Plane, k: isize| p.get((u as isize + a.0 * k) as usize, (v as isize + a.1 * k) as usize);
                    // A derivative of about 1 px smoothing: (p[+2] + 2 p[+1] - 2 p[-1] - p[-2]) / 3 is h for a step h.
                    let d = |p: &Plane| (at(p, 2) + 2.0 * at(p, 1) - 2.0 * at(p, -1) - at(p, -2)) / 3.0;
                    let (dt, dc) = (d(&tone), d(&tint));
                    if dt.is_nan() {
                        continue;
                    }
                    // Saturating: a weak step all along a side counts for more than a few loud pixels.
                    let n = norm([dt, dc]);
                    let k = 1.0 / (n + 2.5 * FAINT);
                    out[v * width + u] = [dt * k, dc * k, 1.0];
                }
            }
            out
        };
        let (du, dv) = rayon::join(|| step((1, 0)), || step((0, 1)));
        let mut across_u = vec![[0f32; 3]; width * (height + 1)];
        for v in 0..height {
            for u in 0..width {
                let (a, d) = (across_u[v * width + u], du[v * width + u]);
                across_u[(v + 1) * width + u] = [a[0] + d[0], a[1] + d[1], a[2] + d[2]];
            }
        }
        let mut across_v = vec![[0f32; 3]; (width + 1) * height];
        for v in 0..height {
            for u in 0..width {
                let (a, d) = (across_v[v * (width + 1) + u], dv[v * width + u]);
                across_v[v * (width + 1) + u + 1] = [a[0] + d[0], a[1] + d[1], a[2] + d[2]];
            }
        }
        let mut busy = vec![[0f32; 2]; (width + 1) * (height + 1)];
        for v in 0..height {
            let mut row = [0f32; 2];
            for u in 0..width {
                let (a, b) = (du[v * width + u], dv[v * width + u]);
                row[0] += norm([a[0], a[1]]).max(norm([b[0], b[1]]));
                row[1] += a[2];
                let up = busy[v * (width + 1) + u + 1];
                busy[(v + 1) * (width + 1) + u + 1] = [up[0] + row[0], up[1] + row[1]];
            }
        }
        Self { angle, width, height, tone, across_u, across_v, busy, centre, shift }
    }

    /// Turned coordinates to proxy coordinates.
    pub fn proxy(&self, p: Point) -> Point {
        let (x, y) = (p.x - self.shift.x, p.y - self.shift.y);
        let (c, s) = (self.angle.cos(), self.angle.sin());
        point(self.centre.x + x * c - y * s, self.centre.y + x * s + y * c)
    }

    /// Mean signed evidence across axis `u` (or `v`) on the line at `at` between `from` and `to` along the other axis, and
    /// the share of that stretch that lies inside the frame.
    pub fn line(&self, across_u: bool, at: isize, from: f64, to: f64) -> ([f32; 2], f32) {
        let (n, along) = if across_u { (self.width, self.height) } else { (self.height, self.width) };
        if at < 0 || at as usize >= n {
            return ([0.0; 2], 0.0);
        }
        let a = from.round().clamp(0.0, along as f64) as usize;
        let b = to.round().clamp(0.0, along as f64) as usize;
        if b <= a {
            return ([0.0; 2], 0.0);
        }
        let at = at as usize;
        let (s0, s1) = if across_u {
            (self.across_u[a * self.width + at], self.across_u[b * self.width + at])
        } else {
            (self.across_v[at * (self.width + 1) + a], self.across_v[at * (self.width + 1) + b])
        };
        let n = s1[2] - s0[2];
        let seen = n / (to - from).max(1.0) as f32;
        if n < 1.0 { ([0.0; 2], 0.0) } else { ([(s1[0] - s0[0]) / n, (s1[1] - s0[1]) / n], seen) }
    }

    /// Mean busyness (0 smooth to 1) of a rectangle in turned coordinates, and the weight (pixels) behind it.
    pub fn busyness(&self, u0: f64, v0: f64, u1: f64, v1: f64) -> (f32, f32) {
        let cu = |u: f64| u.round().clamp(0.0, self.width as f64) as usize;
        let cv = |v: f64| v.round().clamp(0.0, self.height as f64) as usize;
        let (a, b, c, d) = (cu(u0), cu(u1), cv(v0), cv(v1));
        if b <= a || d <= c {
            return (0.0, 0.0);
        }
        let at = |u: usize, v: usize| self.busy[v * (self.width + 1) + u];
        let sum = |k: usize| at(b, d)[k] - at(a, d)[k] - at(b, c)[k] + at(a, c)[k];
        let n = sum(1);
        if n < 1.0 { (0.0, 0.0) } else { (sum(0) / n, n) }
    }
}
