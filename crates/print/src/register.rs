//! How one picture of a print lies over another that was taken without moving the camera: a small shift, turn and change of scale, to a
//! small fraction of a pixel, and whether the two show the same thing at all.
//!
//! The two may be lit differently (a flash at the other side, or the room alone), so light is taken out first: each picture becomes its
//! local contrast `(v - m) / (m + f)`, with `m` the mean around a pixel and `f` a small share of the picture's own level, which keeps
//! noise in blacks small. The similarity `T(x) = c + (1 + s) R(a) (x - c) + t` that minimises the robust sum of
//! `(k A(x) - B(T x))^2` is found by Gauss and Newton's method on the first picture's gradient (Lucas and Kanade 1981, IJCAI).

use geometry::polygon::spans;
use geometry::solve::LeastSquares;
use geometry::{Point, point};
use pixels::filter::box_mean;
use pixels::{Picture, Plane};

/// Where the second picture shows what the first shows at a place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Registration {
    /// The point about which is turned and scaled, pixels.
    pub centre: Point,
    /// Shift there, pixels.
    pub shift: Point,
    /// Turn, radians, from x towards y.
    pub turn: f64,
    /// Change of scale, as a share.
    pub growth: f64,
    /// Standard error of a place in the region, pixels: the worst of its corners.
    pub error_px: f64,
    /// Correlation of the two pictures' local contrast, 1 for the same picture without noise, about 0 for another.
    pub likeness: f64,
}

impl Registration {
    /// The place in the second picture of a place in the first.
    pub fn apply(&self, p: Point) -> Point {
        let d = p - self.centre;
        let (s, c) = self.turn.sin_cos();
        let k = 1.0 + self.growth;
        self.centre + point(c * d.x - s * d.y, s * d.x + c * d.y) * k + self.shift
    }

    /// The same for pictures `factor` times as large.
    pub fn enlarged(&self, factor: f64) -> Self {
        Self { centre: self.centre * factor, shift: self.shift * factor, error_px: self.error_px * factor, ..*self }
    }
}

/// Half the side of the square whose mean is taken as the light, pixels: contrast finer than that is compared.
const AROUND: usize = 12;
/// Share of the picture's own level that is added to the mean.
const FLOOR: f32 = 0.05;
/// Rounds of Gauss and Newton's method: from two pixels away it is settled after six.
const ROUNDS: usize = 12;
/// Neighbouring pixels of the smoothed contrast that err together: the smoothing's own area.
const KIN: f64 = 9.0;
/// Pixels of the region needed at least.
const LEAST: usize = 400;

/// Registers `second` to `first` within `region` (a polygon in their pixels). `None` where the region is too small or too plain.
pub fn register(first: &Picture, second: &Picture, region: &[Point]) -> Option<Registration> {
    if (first.width(), first.height()) != (second.width(), second.height()) {
        return None;
    }
    let inside = places(region, first.width(), first.height());
    if inside.len() < LEAST {
        return None;
    }
    let sum = region.iter().fold(Point::default(), |s, p| s + *p);
    let centre = sum * (1.0 / region.len().max(1) as f64);
    let reach = region.iter().map(|p| p.distance(centre)).fold(1.0, f64::max);
    let (a, b) = (contrast(first, &inside), contrast(second, &inside));
    let mut x = [0.0; 4];
    let mut worst = f64::INFINITY;
    // First broadly, so that detail a few pixels away still pulls; then as sharply as the noise allows.
    for blur in [3, 1] {
        let (a, b) = (box_mean(&box_mean(&a, blur), blur), box_mean(&box_mean(&b, blur), blur));
        let step = Steps { a: &a, b: &b, inside: &inside, centre, reach };
        for _ in 0..ROUNDS {
            let (d, error) = step.step(&x)?;
            (0..4).for_each(|i| x[i] += d[i]);
            worst = error;
            if d.iter().all(|d| d.abs() < 1e-3) {
                break;
            }
        }
    }
    // Turn and growth are kept as what they move the region's far end by, so that all four unknowns are pixels.
    let mut found = Registration {
        centre,
        shift: point(x[0], x[1]),
        turn: x[2] / reach,
        growth: x[3] / reach,
        error_px: worst,
        likeness: 0.0,
    };
    found.likeness = likeness(&a, &b, &inside, &found);
    Some(found)
}

/// The pixels whose centres lie in a polygon, three pixels clear of the rim.
fn places(region: &[Point], width: usize, height: usize) -> Vec<(usize, usize)> {
    let mut all = vec![];
    for y in 3..height.saturating_sub(3) {
        for (from, to) in spans(region, y as f64 + 0.5) {
            let at = |v: f64| (v + 0.5).clamp(3.0, width.saturating_sub(3).max(3) as f64) as usize;
            all.extend((at(from)..at(to)).map(|x| (x, y)));
        }
    }
    all
}

/// A picture's local contrast.
fn contrast(p: &Picture, inside: &[(usize, usize)]) -> Plane {
    let (w, h) = (p.width(), p.height());
    let mut tone = Plane::filled(w, h, 0.0);
    for (k, v) in tone.data.iter_mut().enumerate() {
        *v = (p.0[0].data[k] + p.0[1].data[k] + p.0[2].data[k]) / 3.0;
    }
    let level = inside.iter().map(|&(x, y)| f64::from(tone.get(x, y))).sum::<f64>() / inside.len().max(1) as f64;
    let floor = (FLOOR * level as f32).max(1e-6);
    let mean = box_mean(&box_mean(&tone, AROUND), AROUND);
    tone.data.iter_mut().zip(&mean.data).for_each(|(v, m)| *v = ((*v - m) / (m + floor)).clamp(-1.0, 1.0));
    tone
}

struct Steps<'a> {
    a: &'a Plane,
    b: &'a Plane,
    inside: &'a [(usize, usize)],
    centre: Point,
    reach: f64,
}

impl Steps<'_> {
    /// The second picture's contrast at the place of a pixel under unknowns `x`.
    fn second(&self, x: &[f64; 4], at: (usize, usize)) -> f32 {
        let p = point(at.0 as f64 + 0.5, at.1 as f64 + 0.5);
        let d = (p - self.centre) * (1.0 / self.reach);
        let q = p + point(x[0] - x[2] * d.y + x[3] * d.x, x[1] + x[2] * d.x + x[3] * d.y);
        self.b.bilinear(q.x, q.y)
    }

    /// How far the unknowns must move, and the standard error of a place then.
    fn step(&self, x: &[f64; 4]) -> Option<([f64; 4], f64)> {
        // As many places as settle a hundredth of a pixel, spread evenly.
        let stride = (self.inside.len() / 250_000).max(1);
        let places = || self.inside.iter().copied().step_by(stride);
        let pairs: Vec<(f64, f64)> =
            places().map(|at| (f64::from(self.a.get(at.0, at.1)), f64::from(self.second(x, at)))).collect();
        // Contrast of the second over that of the first, so that a duller light does not look like a shift.
        let (ab, aa) = pairs.iter().fold((0.0, 1e-12), |s, (a, b)| (s.0 + a * b, s.1 + a * a));
        let gain = (ab / aa).max(0.05);
        let rest: Vec<f64> = pairs.iter().map(|(a, b)| b - gain * a).collect();
        let noise = geometry::fit::spread(&rest).max(1e-6);
        let mut system = LeastSquares::new(4);
        let (mut used, mut n) = (0.0, 0.0);
        for (at, r) in places().zip(&rest) {
            let (i, j) = (at.0 as isize, at.1 as isize);
            let slope = |dx: isize, dy: isize| {
                f64::from(self.a.clamped(i + dx, j + dy) - self.a.clamped(i - dx, j - dy)) / 2.0 * gain
            };
            let g = point(slope(1, 0), slope(0, 1));
            let d = (point(at.0 as f64 + 0.5, at.1 as f64 + 0.5) - self.centre) * (1.0 / self.reach);
            let row = [g.x, g.y, g.y * d.x - g.x * d.y, g.x * d.x + g.y * d.y];
            // Huber's weight: a reflection that only one of them has must not pull.
            let w = (1.5 * noise / r.abs().max(1e-12)).min(1.0);
            system.add(&row, -r, w);
            used += w * r * r;
            n += w;
        }
        let variance = used / f64::max(n, 1.0) * KIN;
        let d = system.solve(1e-9)?;
        let mut worst = 0.0f64;
        for corner in [[1.0, 0.0, 0.0, 0.7], [0.0, 1.0, 0.7, 0.7], [1.0, 0.0, 0.7, 0.7], [0.0, 1.0, 0.7, 0.0]] {
            let inverse = system.clone().with_right(&corner).solve(1e-9)?;
            worst = worst.max(corner.iter().zip(&inverse).map(|(a, b)| a * b).sum::<f64>() * variance);
        }
        // Never more than a pixel and a half at once: contrast says nothing of what lies farther.
        let limit = |v: f64| v.clamp(-1.5, 1.5);
        Some(([limit(d[0]), limit(d[1]), limit(d[2]), limit(d[3])], worst.sqrt()))
    }
}

/// Correlation of two contrasts under a registration, both smoothed over three pixels.
fn likeness(a: &Plane, b: &Plane, inside: &[(usize, usize)], found: &Registration) -> f64 {
    let (a, b) = (box_mean(a, 1), box_mean(b, 1));
    let (mut ab, mut aa, mut bb) = (0.0, 1e-12, 1e-12);
    for &(x, y) in inside {
        let q = found.apply(point(x as f64 + 0.5, y as f64 + 0.5));
        let (u, v) = (f64::from(a.get(x, y)), f64::from(b.bilinear(q.x, q.y)));
        (ab, aa, bb) = (ab + u * v, aa + u * u, bb + v * v);
    }
    ab / (aa * bb).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A picture of sines whose value at any place is known in closed form, seen through `T`, under `light`.
    fn drawn(map: impl Fn(Point) -> Point + Sync, light: impl Fn(Point) -> f64 + Sync) -> Picture {
        let tone = |p: Point| {
            let q = map(p);
            1.0 + 0.5 * (0.31 * q.x + 0.11 * q.y).sin() + 0.4 * (0.23 * q.y - 0.17 * q.x).cos()
        };
        let plane = |k: f64| {
            Plane::from_fn(220, 180, |x, y| {
                let p = point(x as f64 + 0.5, y as f64 + 0.5);
                // Noise of a hundredth, the same numbers every time.
                let grain = ((x * 7919 + y * 104_729 + (k * 97.0) as usize) % 1013) as f64 / 1013.0 - 0.5;
                ((tone(p) * light(p) + 0.02 * grain) * k) as f32
            })
        };
        Picture([plane(0.30), plane(0.25), plane(0.2)])
    }

    fn region() -> Vec<Point> {
        [(30.0, 25.0), (190.0, 25.0), (190.0, 155.0), (30.0, 155.0)].map(|(x, y)| point(x, y)).to_vec()
    }

    /// A planted similarity under another light comes back; the closed form of the sines is the truth.
    #[test]
    fn a_planted_shift_turn_and_scale_come_back_under_another_light() {
        let first = drawn(|p| p, |p| 1.0 + p.x / 500.0);
        let planted = Registration {
            centre: point(110.0, 90.0),
            shift: point(1.3, -0.8),
            turn: 0.004,
            growth: 0.002,
            error_px: 0.0,
            likeness: 1.0,
        };
        let inverse = Registration { shift: planted.shift * -1.0, turn: -0.004, growth: -0.002, ..planted };
        // The second shows at T(x) what the first shows at x. The small terms' inverse is good to 1e-2 px here; take it exactly.
        let back = |p: Point| {
            let mut q = inverse.apply(p);
            (0..20).for_each(|_| q = q + (p - planted.apply(q)));
            q
        };
        let second = drawn(back, |p| 0.2 * (1.4 - p.y / 400.0));
        let found = register(&first, &second, &region()).unwrap();
        for p in region() {
            let off = found.apply(p).distance(planted.apply(p));
            assert!(off < 0.03, "{p:?} off by {off}, {found:?}");
        }
        assert!(found.likeness > 0.9 && found.error_px < 0.1, "{found:?}");
    }

    #[test]
    fn another_picture_and_a_plain_one_are_unlike() {
        let first = drawn(|p| p, |_| 1.0);
        let other = drawn(|p| point(1.7 * p.y + 40.0, 1.3 * p.x - 90.0), |_| 0.3);
        let like = register(&first, &other, &region()).map_or(0.0, |r| r.likeness);
        assert!(like < 0.3, "{like}");
        let plain = Picture([0; 3].map(|_| Plane::filled(220, 180, 0.1)));
        assert!(register(&first, &plain, &region()).is_none_or(|r| r.likeness < 0.3));
    }
}
