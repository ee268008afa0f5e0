//! Hypotheses: which format, which way round, how large and where, judged by the eight edges it predicts.

use crate::edge_evidence::{Turned, norm};
use crate::format::Format;
use geometry::{Quad, point};
use rayon::prelude::*;

/// A format laid on the turned look.
#[derive(Clone, Copy, Debug)]
pub struct Hypothesis {
    /// Index in the list of formats.
    pub format: usize,
    /// Quarter turns clockwise of the upright print.
    pub turn: usize,
    /// Proxy pixels per millimetre.
    pub scale: f64,
    /// Left end in u, proxy pixels.
    pub u0: f64,
    /// Top end in v, proxy pixels.
    pub v0: f64,
    /// Mean evidence, 0 to 1.
    pub score: f32,
    /// Mean evidence of the outer edges that the frame shows.
    pub outer: f32,
    /// Mean evidence of the window edges that the frame shows.
    pub window: f32,
    /// True where only the outline was asked for: a back.
    pub back: bool,
}

/// The lines of a turned format in millimetres, outer, window, window, outer, along u and along v.
pub fn lines(format: &Format, turn: usize) -> ([f64; 4], [f64; 4]) {
    let ((w, h), (ww, wh), (x, y)) = (format.outer, format.window, format.inset);
    let across = [0.0, x, x + ww, w];
    let down = [0.0, y, y + wh, h];
    let flip = |l: [f64; 4]| [0.0, l[3] - l[2], l[3] - l[1], l[3]];
    match turn % 4 {
        0 => (across, down),
        1 => (flip(down), across),
        2 => (flip(across), flip(down)),
        _ => (down, flip(across)),
    }
}

impl Hypothesis {
    /// The outer and window rectangles in turned coordinates, clockwise from the upright print's top left.
    pub fn quads(&self, format: &Format) -> (Quad, Quad) {
        let (lu, lv) = lines(format, self.turn);
        let rect = |i: usize, j: usize| {
            let (a, b) = (self.u0 + self.scale * lu[i], self.u0 + self.scale * lu[j]);
            let (c, d) = (self.v0 + self.scale * lv[i], self.v0 + self.scale * lv[j]);
            Quad([point(a, c), point(b, c), point(b, d), point(a, d)]).rolled(self.turn)
        };
        (rect(0, 3), rect(1, 2))
    }
}

/// How far (proxy px) an edge may lie from its place: curl and tilt move it by up to one per cent of the print.
const SLACK: isize = 3;

/// Strength of an edge near a line: four pieces, each where it is strongest within the slack. Returns strength and the
/// share of the line inside the frame.
fn edge(t: &Turned, across_u: bool, at: f64, from: f64, to: f64) -> (f32, f32) {
    let (mut sum, mut seen) = (0.0f32, 0.0f32);
    for piece in 0..4 {
        let a = from + (to - from) * (f64::from(piece) + 0.1) / 4.0;
        let b = from + (to - from) * (f64::from(piece) + 0.9) / 4.0;
        let (mut best, mut share) = (0.0f32, 0.0f32);
        for o in -SLACK..=SLACK {
            let ([tone, tint], s) = t.line(across_u, at.floor() as isize + o, a, b);
            // A mild preference for the exact place keeps the template from wandering.
            best = best.max(norm([tone, tint]) * (1.0 - 0.04 * o.abs() as f32));
            share = share.max(s);
        }
        if share > 0.5 {
            sum += best;
            seen += 1.0;
        }
    }
    if seen == 0.0 { (0.0, 0.0) } else { (sum / seen, seen / 4.0) }
}

/// Judges a whole hypothesis: mean of its visible edges, less what disturbs the border.
fn judge(t: &Turned, formats: &[Format], h: &mut Hypothesis) {
    let (lu, lv) = lines(&formats[h.format], h.turn);
    let u = lu.map(|x| h.u0 + h.scale * x);
    let v = lv.map(|y| h.v0 + h.scale * y);
    let group = |a: usize, b: usize| {
        let e = [
            edge(t, true, u[a], v[a], v[b]),
            edge(t, true, u[b], v[a], v[b]),
            edge(t, false, v[a], u[a], u[b]),
            edge(t, false, v[b], u[a], u[b]),
        ];
        let seen: f32 = e.iter().map(|x| x.1).sum();
        let sum: f32 = e.iter().map(|x| x.0 * x.1).sum();
        let weakest = e.iter().filter(|x| x.1 > 0.5).map(|x| x.0).fold(1.0, f32::min);
        (if seen > 0.0 { sum / seen } else { 0.0 }, seen / 4.0, weakest)
    };
    let (outer, outer_seen, outer_weak) = group(0, 3);
    h.outer = outer;
    // An edge out of the frame says nothing; a print of which half the outline is missing is hardly a hypothesis.
    let shown = (outer_seen / 0.6).min(1.0);
    // 20 % of the border's width off each side keeps the edges themselves out of its smoothness.
    let strip = |a: f64, b: f64| (a + 0.25 * (b - a), b - 0.25 * (b - a));
    let mut busy = (0.0f32, 0.0f32);
    let mut add = |(b, n): (f32, f32)| {
        busy.0 += b * n;
        busy.1 += n;
    };
    let ((l0, l1), (r0, r1)) = (strip(u[0], u[1]), strip(u[2], u[3]));
    let ((t0, t1), (b0, b1)) = (strip(v[0], v[1]), strip(v[2], v[3]));
    add(t.busyness(l0, t0, l1, b1));
    add(t.busyness(r0, t0, r1, b1));
    add(t.busyness(l1, t0, r0, t1));
    add(t.busyness(l1, b0, r0, b1));
    let border = if busy.1 > 0.0 { busy.0 / busy.1 } else { 0.0 };
    if h.back {
        h.window = 0.0;
        h.score = (0.8 * outer + 0.2 * outer_weak) * shown - 0.3 * border;
        return;
    }
    let (window, window_seen, window_weak) = group(1, 2);
    h.window = window;
    let mean = (outer * outer_seen + window * window_seen) / (outer_seen + window_seen).max(1e-6);
    h.score = (0.8 * mean + 0.1 * (outer_weak + window_weak)) * shown - 0.3 * border;
}

/// How many hypotheses are looked into.
#[derive(Clone, Copy, Debug)]
pub struct Breadth {
    /// Places of each format and turn.
    pub laid: usize,
    /// Best of all, moved to their nearest maximum.
    pub climbed: usize,
    /// Best of an angle that are refined.
    pub taken: usize,
    /// Of one format at the most.
    pub alike: usize,
    /// Of all angles at the most.
    pub kept: usize,
}

/// Enough where a print's lines are the frame's strongest. Formats differ by a few per cent in shape, which only the refined
/// sides tell: each has its turn.
pub const USUAL: Breadth = Breadth { laid: 2, climbed: 8, taken: 4, alike: 2, kept: 9 };
/// For a frame whose first hypotheses came to little: four times the time at the most.
pub const WIDE: Breadth = Breadth { laid: 6, climbed: 32, taken: 16, alike: 5, kept: 28 };

/// The best hypotheses over all formats and quarter turns, best first. `back` asks for outlines without a window; `scales`
/// bounds proxy pixels per millimetre where the sitting knows them.
///
/// Two lines along u that may be two of the format's four give scale and place; what the other lines meet ranks them; the
/// best are laid against the lines along v in the same way; what is left is judged by all its edges.
pub fn search(
    t: &Turned,
    formats: &[Format],
    scales: Option<(f64, f64)>,
    back: bool,
    breadth: Breadth,
) -> Vec<Hypothesis> {
    let (pu, pv) = (Ridges::new(t, true), Ridges::new(t, false));
    let mut found: Vec<Hypothesis> = formats
        .par_iter()
        .enumerate()
        .flat_map_iter(|(format, f)| {
            let turns = if back || !f.has_foot() { 0..2 } else { 0..4 };
            turns
                .flat_map(|turn| lay(t, formats, (&pu, &pv), (format, turn, scales, back), breadth))
                .collect::<Vec<_>>()
        })
        .collect();
    found.sort_by(|a, b| b.score.total_cmp(&a.score));
    found.truncate(breadth.climbed);
    found.par_iter_mut().for_each(|h| climb(t, formats, h));
    found.sort_by(|a, b| b.score.total_cmp(&a.score));
    found
}

/// The best places of one format and turn.
fn lay(
    t: &Turned,
    formats: &[Format],
    (pu, pv): (&Ridges, &Ridges),
    (format, turn, scales, back): (usize, usize, Option<(f64, f64)>, bool),
    breadth: Breadth,
) -> Vec<Hypothesis> {
    let f = &formats[format];
    if !back && !f.has_window() {
        return Vec::new();
    }
    let (lu, lv) = lines(f, turn);
    // The smallest print worth finding covers a sixth of the frame's short side; the largest overhangs it by half.
    let least = 0.17 * t.width.min(t.height) as f64 / f.outer.0.min(f.outer.1);
    let most = 1.5 * t.width.max(t.height) as f64 / f.outer.0.max(f.outer.1);
    let mut near: Vec<Hypothesis> = Vec::new();
    // Eighty places along u, eight along v for each: the right one has been within the first ten and three.
    for (_, scale, u0) in pu.places(&lu, scales.unwrap_or((least, most)), back, 80) {
        for (_, _, v0) in pv.places_at(&lv, scale, back, 8) {
            let mut h = Hypothesis { format, turn, scale, u0, v0, score: 0.0, outer: 0.0, window: 0.0, back };
            judge(t, formats, &mut h);
            near.push(h);
        }
    }
    near.sort_by(|a, b| b.score.total_cmp(&a.score));
    near.truncate(breadth.laid);
    near
}

/// The lines of edge evidence along one axis.
struct Ridges {
    /// Places of local maxima, strongest first.
    peaks: Vec<f64>,
    /// Strength within the slack of every place.
    near: Vec<f32>,
    /// Their mean.
    middling: f32,
}

impl Ridges {
    fn new(t: &Turned, across_u: bool) -> Self {
        let (n, along) = if across_u { (t.width, t.height) } else { (t.height, t.width) };
        // Twelve pieces: a side of the smallest print that a frame should hold is at least two of them.
        let strength: Vec<f32> = (0..n)
            .map(|i| {
                (0..12)
                    .map(|k| {
                        let (a, b) = (along as f64 * f64::from(k) / 12.0, along as f64 * f64::from(k + 1) / 12.0);
                        let ([tone, tint], s) = t.line(across_u, i as isize, a, b);
                        if s > 0.5 { (tone * tone + tint * tint).powf(0.75) } else { 0.0 }
                    })
                    .sum::<f32>()
                    .sqrt()
            })
            .collect();
        let window = |i: usize, r: usize| i.saturating_sub(r)..(i + r + 1).min(n);
        let mut order: Vec<usize> = (2..n.saturating_sub(2))
            .filter(|&i| strength[i] > 0.0 && window(i, 2).all(|j| strength[j] < strength[i] || j == i))
            .collect();
        order.sort_by(|&a, &b| strength[b].total_cmp(&strength[a]));
        // Two dozen lines hold the print's four, its shadow's two and the loudest of the picture's own.
        order.truncate(22);
        let near: Vec<f32> =
            (0..n).map(|i| window(i, SLACK as usize).map(|j| strength[j]).fold(0.0, f32::max)).collect();
        let middling = near.iter().sum::<f32>() / near.len().max(1) as f32;
        Self { peaks: order.into_iter().map(|i| i as f64 + 0.5).collect(), near, middling }
    }

    /// Summed strength where the lines fall; a line outside the frame counts as a middling one.
    fn met(&self, lines: &[f64; 4], scale: f64, at: f64, back: bool) -> f32 {
        (0..4)
            .filter(|k| !back || *k == 0 || *k == 3)
            .map(|k| {
                let i = at + scale * lines[k];
                if i < 0.0 { self.middling } else { self.near.get(i as usize).copied().unwrap_or(self.middling) }
            })
            .sum()
    }

    /// The best (strength, scale, start) by pairs of peaks.
    fn places(&self, lines: &[f64; 4], scales: (f64, f64), back: bool, most: usize) -> Vec<(f32, f64, f64)> {
        let pairs: &[(usize, usize)] = if back { &[(0, 3)] } else { &[(0, 3), (1, 2), (0, 2), (1, 3)] };
        let mut out = Vec::new();
        for &a in &self.peaks {
            for &b in self.peaks.iter().filter(|&&b| b > a) {
                for &(i, j) in pairs {
                    let scale = (b - a) / (lines[j] - lines[i]);
                    if scale >= scales.0 && scale <= scales.1 {
                        let at = a - scale * lines[i];
                        out.push((self.met(lines, scale, at, back), scale, at));
                    }
                }
            }
        }
        thin(out, lines[3], most)
    }

    /// The best (strength, scale, start) at a known scale.
    fn places_at(&self, lines: &[f64; 4], scale: f64, back: bool, most: usize) -> Vec<(f32, f64, f64)> {
        let ends: &[usize] = if back { &[0, 3] } else { &[0, 1, 2, 3] };
        let out = self
            .peaks
            .iter()
            .flat_map(|p| ends.iter().map(move |&k| p - scale * lines[k]))
            .map(|at| (self.met(lines, scale, at, back), scale, at))
            .collect();
        thin(out, lines[3], most)
    }
}

/// Sorts places by strength and keeps the best of those that are the same within a pixel.
fn thin(mut all: Vec<(f32, f64, f64)>, size: f64, most: usize) -> Vec<(f32, f64, f64)> {
    all.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut kept: Vec<(f32, f64, f64)> = Vec::new();
    for p in all {
        if kept.len() == most {
            break;
        }
        if !kept.iter().any(|k| (k.2 - p.2).abs() < 1.5 && ((k.1 - p.1) * size).abs() < 1.5) {
            kept.push(p);
        }
    }
    kept
}

/// Moves a hypothesis to the nearest maximum of its score.
fn climb(t: &Turned, formats: &[Format], h: &mut Hypothesis) {
    let size = formats[h.format].outer.0.max(formats[h.format].outer.1);
    let mut step = 2.0;
    while step > 0.4 {
        let mut better = *h;
        for (du, dv, ds) in [
            (step, 0.0, 0.0),
            (-step, 0.0, 0.0),
            (0.0, step, 0.0),
            (0.0, -step, 0.0),
            (-step / 2.0, -step / 2.0, step),
            (step / 2.0, step / 2.0, -step),
        ] {
            let mut trial = Hypothesis { u0: h.u0 + du, v0: h.v0 + dv, scale: h.scale + ds / size, ..*h };
            judge(t, formats, &mut trial);
            if trial.score > better.score {
                better = trial;
            }
        }
        if better.score > h.score {
            *h = better;
        } else {
            step /= 2.0;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quarter_turns_carry_the_foot_round() {
        let f = &crate::format::known()[0];
        let (u, v) = lines(f, 1);
        assert_eq!((u, v), ([0.0, 21.5, 100.5, 107.0], [0.0, 4.5, 83.5, 88.0]));
        let h = Hypothesis {
            format: 0,
            turn: 1,
            scale: 1.0,
            u0: 0.0,
            v0: 0.0,
            score: 0.0,
            outer: 0.0,
            window: 0.0,
            back: false,
        };
        // Turned a quarter clockwise the upright print's top left lies at the top right.
        assert_eq!(h.quads(f).0.0[0], point(107.0, 0.0));
    }
}
