//! Profiles across an edge, and where in them the edge lies.

use geometry::{Point, Ray};
use pixels::{Field, Frame, Samples};

/// A line of samples across a side: cube roots of the ratio to the bed, in steps of `step` from `start` (mm, outward).
pub struct Profile {
    /// Three bands per sample.
    pub values: Vec<[f32; 3]>,
    /// Outward position of the first sample, mm.
    pub start: f64,
    /// Distance between samples, mm.
    pub step: f64,
    /// Share of the samples that lay in the frame and below clipping.
    pub good: f32,
}

/// Reads linear light at continuous frame positions.
pub struct Reader<'a> {
    frame: &'a Frame,
    table: &'a [f32],
}

impl<'a> Reader<'a> {
    /// A reader of this frame.
    pub fn new(frame: &'a Frame) -> Self {
        Self { frame, table: frame.encoding.tone.table(frame.bits()) }
    }

    /// Bilinear linear light at a position; `None` outside the frame.
    pub fn at(&self, p: Point) -> Option<[f32; 3]> {
        match &self.frame.samples {
            Samples::U8(s) => self.mix(s, p),
            Samples::U16(s) => self.mix(s, p),
        }
    }

    /// Adds the light at each place of a ray, and 1 as fourth where the place lies in the frame.
    fn add(&self, ray: &Ray, sums: &mut [[f32; 4]]) {
        match &self.frame.samples {
            Samples::U8(s) => self.add_from(s, ray, sums),
            Samples::U16(s) => self.add_from(s, ray, sums),
        }
    }

    fn add_from<T: Copy + Into<u32>>(&self, samples: &[T], ray: &Ray, sums: &mut [[f32; 4]]) {
        for (k, sum) in sums.iter_mut().enumerate() {
            if let Some([r, g, b]) = self.mix(samples, ray.at(k as f64)) {
                *sum = [sum[0] + r, sum[1] + g, sum[2] + b, sum[3] + 1.0];
            }
        }
    }

    #[inline]
    fn mix<T: Copy + Into<u32>>(&self, samples: &[T], p: Point) -> Option<[f32; 3]> {
        let (x, y) = (p.x - 0.5, p.y - 0.5);
        let (w, h) = (self.frame.width, self.frame.height);
        if !(x >= 0.0 && y >= 0.0 && x < (w - 1) as f64 && y < (h - 1) as f64) {
            return None;
        }
        let (i, j) = (x as u32, y as u32);
        let (fx, fy) = ((x - f64::from(i)) as f32, (y - f64::from(j)) as f32);
        let k = 3 * (j as usize * w + i as usize);
        let top: &[T; 6] = samples.get(k..)?.first_chunk()?;
        let bottom: &[T; 6] = samples.get(k + 3 * w..)?.first_chunk()?;
        let v = |s: T| self.table[Into::<u32>::into(s) as usize];
        let across = |row: &[T; 6], c: usize| v(row[c]) + (v(row[c + 3]) - v(row[c])) * fx;
        Some(std::array::from_fn(|c| {
            let a = across(top, c);
            a + (across(bottom, c) - a) * fy
        }))
    }
}

/// Averages the profiles along `rays`, whose places are `count` outward distances in steps of `step` mm from `start`.
pub fn profile(reader: &Reader<'_>, bed: &Field, (start, step, count): (f64, f64, usize), rays: &[Ray]) -> Profile {
    let middle = rays[rays.len() / 2].at(count as f64 / 2.0);
    let b = bed.at(middle.x, middle.y).map(|v| v.max(1e-6));
    let mut sums = vec![[0f32; 4]; count];
    rays.iter().for_each(|ray| reader.add(ray, &mut sums));
    let good = sums.iter().filter(|s| s[3] as usize == rays.len()).count();
    let values = sums
        .iter()
        .map(|s| match s[3] {
            0.0 => [f32::NAN; 3],
            n => std::array::from_fn(|c| (s[c] / n / b[c]).clamp(0.0, 2.0).cbrt()),
        })
        .collect();
    Profile { values, start, step, good: good as f32 / count as f32 }
}

/// A step in a profile.
#[derive(Clone, Copy, Debug)]
pub struct Step {
    /// Outward position, mm.
    pub at: f64,
    /// Size of the step over three samples, in cube root of the ratio to the bed.
    pub size: f32,
    /// True where it grows lighter outward.
    pub rises: bool,
}

/// All steps of a profile in order of position: local maxima of the difference between neighbouring means of `half` samples
/// that stand clear of the profile's own restlessness.
///
/// A step is seen in cube roots, where a faint edge counts as much in shade as in light; it is placed in linear light,
/// where the lens blurs and half the light is half the edge. (A print's edge against its black shadow would otherwise lie
/// two thirds of a pixel too far out.)
pub fn steps(p: &Profile, half: usize) -> Vec<Step> {
    let n = p.values.len();
    if n < 4 * half {
        return Vec::new();
    }
    let seen = differences(&p.values, half);
    let light: Vec<[f32; 3]> = p.values.iter().map(|v| v.map(|v| v * v * v)).collect();
    let placed = differences(&light, half);
    let mut rest: Vec<f32> = seen[half..n - half].to_vec();
    rest.sort_by(f32::total_cmp);
    // The lower third of a profile is paper: an edge must stand six times above it, and above the fibre of paper itself, of
    // which a mean holds the less the longer it is.
    let floor = (6.0 * rest[rest.len() / 3]).max(0.008 * (HALF as f32 / half as f32).sqrt());
    let peak = |d: &[f32], k: usize| d[k] >= d[k - 1] && d[k] > d[k + 1];
    // Two steps nearer than their means are long are one.
    let apart = half * 2 / 3;
    (half + 1..n - half - 1)
        .filter(|&k| seen[k] > floor && peak(&seen, k))
        .filter(|&k| (k - apart..=(k + apart).min(n - 1)).all(|j| seen[j] <= seen[k]))
        .map(|k| {
            // The same step in light lies within its blur; where nothing peaks there, the place in cube roots stands.
            let near = (k - HALF).max(1)..=(k + HALF).min(n - 2);
            let best = near.filter(|&j| peak(&placed, j)).max_by(|&a, &b| placed[a].total_cmp(&placed[b]));
            let at = match best {
                Some(j) if half <= HALF => vertex(&placed, j, 1),
                _ => vertex(&seen, k, half / 2),
            };
            let sum = |v: &[[f32; 3]]| v.iter().flatten().sum::<f32>();
            let rises = sum(&light[k + 1..k + 1 + half]) > sum(&light[k - half..k]);
            Step { at: p.start + p.step * at, size: seen[k], rises }
        })
        .collect()
}

/// The steps with every dark line finer than the lens replaced by the edge that throws it.
///
/// A print's edge on its light side has a contact shadow of a few hundredths of a millimetre. Blurred, it is a fall and a
/// rise a pixel or two to either side of the edge, and neither is the edge. Blur keeps area and centre: a line of darkness
/// `D` and width `w` beyond an edge `e` between the levels `P` and `B` leaves the deficit `A = w D`, centred on `e + w / 2`,
/// under the blurred step; `D` is nearly all of `B`, since a crack is black.
pub fn with_contact(p: &Profile, steps: &[Step]) -> Vec<Step> {
    // Three and a half pixels of the frame between fall and rise: wider is a shadow whose two ends are seen apart.
    let finest = 7.0 * p.step;
    let mut out = Vec::with_capacity(steps.len());
    let mut rest = steps;
    while let [a, tail @ ..] = rest {
        rest = tail;
        match tail.first().filter(|b| !a.rises && b.rises && b.at - a.at < finest).map(|b| (b, crack(p, a, b))) {
            Some((b, Some(at))) => {
                out.push(Step { at, size: a.size.max(b.size), rises: b.size > a.size });
                rest = &tail[1..];
            }
            _ => out.push(*a),
        }
    }
    out
}

/// The edge beside a dark line between the steps `a` and `b`, mm; `None` where the profile ends too near, or dips too little.
fn crack(p: &Profile, a: &Step, b: &Step) -> Option<f64> {
    let light: Vec<f64> = p.values.iter().map(|v| v.iter().map(|v| f64::from(v * v * v)).sum::<f64>() / 3.0).collect();
    let index = |at: f64| (at - p.start) / p.step;
    // Past a step by two pixels the blur is over; the level is the mean of the next pixel and a half.
    let (from, to) = (index(a.at) - 4.0, index(b.at) + 4.0);
    if from < 3.0 || to + 4.0 > light.len() as f64 {
        return None;
    }
    let (from, to) = (from as usize, to.ceil() as usize);
    let inside = light[from - 3..from].iter().sum::<f64>() / 3.0;
    let outside = light[to + 1..to + 4].iter().sum::<f64>() / 3.0;
    let mut edge = (index(a.at) + index(b.at)) / 2.0;
    for _ in 0..4 {
        // Mean of an ideal step over sample k, which reaches half a sample to either side.
        let ideal = |k: usize| inside + (outside - inside) * (k as f64 + 0.5 - edge).clamp(0.0, 1.0);
        let (area, moment) = (from..=to).fold((0.0, 0.0), |(s, m), k| {
            let d = ideal(k) - light[k];
            (s + d, m + d * k as f64)
        });
        if area <= 0.0 {
            return None;
        }
        let next = moment / area - area / outside.max(1e-6) / 2.0;
        if !(from as f64..=to as f64).contains(&next) {
            return None;
        }
        edge = next;
    }
    Some(p.start + p.step * edge)
}

/// Samples in each of the two means that a step is the difference of: three at half-pixel steps are about the lens's blur,
/// so that noise falls and no edge is widened.
pub const HALF: usize = 3;

/// How much the means of `half` samples after and before each sample differ, over the three bands; 0 where the profile ends
/// too near, or a sample is unknown.
///
/// Sums run along the profile, so that long means cost no more than short ones.
fn differences(values: &[[f32; 3]], half: usize) -> Vec<f32> {
    let n = values.len();
    let mut sums = vec![[0f64; 3]; n + 1];
    for (k, v) in values.iter().enumerate() {
        sums[k + 1] = std::array::from_fn(|c| sums[k][c] + if v[c].is_nan() { UNKNOWN } else { f64::from(v[c]) });
    }
    let mean = |a: usize, b: usize| -> [f64; 3] { std::array::from_fn(|c| (sums[b][c] - sums[a][c]) / half as f64) };
    (0..n)
        .map(|k| {
            if k < half || k + half >= n {
                return 0.0;
            }
            let (a, b) = (mean(k - half, k), mean(k + 1, k + half + 1));
            let known = a[0].abs() < 1e3 && b[0].abs() < 1e3;
            if known { (0..3).map(|c| (b[c] - a[c]).powi(2)).sum::<f64>().sqrt() as f32 } else { 0.0 }
        })
        .collect()
}

/// Stands for an unknown sample in running sums: far above any ratio, and small enough to leave their digits.
const UNKNOWN: f64 = 1e6;

/// Where the parabola through a peak and its neighbours up to `reach` away is highest, in samples.
///
/// Least squares over `d[k - reach..=k + reach]`: with the sums S2 and S4 of the second and fourth powers of the distances,
/// `b = sum(j d) / S2` and `a = (n sum(j^2 d) - S2 sum(d)) / (n S4 - S2^2)`, highest at `-b / 2a`.
fn vertex(d: &[f32], k: usize, reach: usize) -> f64 {
    let reach = reach.max(1).min(k).min(d.len() - 1 - k);
    let (mut s0, mut s1, mut s2, mut p2, mut p4) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (i, v) in d[k - reach..=k + reach].iter().enumerate() {
        let (j, v) = (i as f64 - reach as f64, if v.is_nan() { 0.0 } else { f64::from(*v) });
        (s0, s1, s2) = (s0 + v, s1 + j * v, s2 + j * j * v);
        (p2, p4) = (p2 + j * j, p4 + j.powi(4));
    }
    let n = (2 * reach + 1) as f64;
    let a = (n * s2 - p2 * s0) / (n * p4 - p2 * p2).max(1e-9);
    let shift = -(s1 / p2.max(1e-9)) / (2.0 * a).min(-1e-9);
    let most = reach as f64 / 2.0;
    k as f64 + shift.clamp(-most, most)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_blurred_step_is_found_where_it_is() {
        // Logistic step of 8 % at 0.337 mm, half-pixel samples of 0.05 mm.
        let values = (0..80)
            .map(|k| {
                let s = -2.0 + 0.05 * f64::from(k);
                [(1.0 - 0.03 / (1.0 + (-(s - 0.337) / 0.05).exp())) as f32; 3]
            })
            .collect();
        let found = steps(&Profile { values, start: -2.0, step: 0.05, good: 1.0 }, HALF);
        assert_eq!(found.len(), 1);
        assert!((found[0].at - 0.337).abs() < 0.003, "{}", found[0].at);
    }

    #[test]
    fn an_edge_against_its_black_shadow_is_found_where_half_the_light_is() {
        // 0.9 falls to 0.02 through a logistic blur of about a pixel.
        let values = (0..80)
            .map(|k| {
                let s = -2.0 + 0.05 * f64::from(k);
                [(0.9 - 0.88 / (1.0 + (-(s - 0.337) / 0.03).exp())).cbrt() as f32; 3]
            })
            .collect();
        let found = steps(&Profile { values, start: -2.0, step: 0.05, good: 1.0 }, HALF);
        assert_eq!(found.len(), 1);
        assert!((found[0].at - 0.337).abs() < 0.005, "{}", found[0].at);
    }

    #[test]
    fn a_contact_shadow_finer_than_the_lens_does_not_move_the_edge() {
        // Border 0.90, bed 1.00, between them a crack of 20 micrometres: edge at 0.337 mm, all blurred by a logistic.
        for (border, crack) in [(0.9, 0.02), (0.97, 0.01), (0.8, 0.04)] {
            let up = |s: f64, at: f64| 1.0 / (1.0 + (-(s - at) / 0.03).exp());
            let values = (0..80)
                .map(|k| {
                    let s = -2.0 + 0.05 * f64::from(k);
                    [(border - border * up(s, 0.337) + up(s, 0.337 + crack)).cbrt() as f32; 3]
                })
                .collect();
            let p = Profile { values, start: -2.0, step: 0.05, good: 1.0 };
            let found = with_contact(&p, &steps(&p, HALF));
            assert_eq!(found.len(), 1, "{found:?}");
            assert!((found[0].at - 0.337).abs() < 0.01, "{border} {crack}: {}", found[0].at);
        }
    }
}
