//! Tells one print from another that shows the same picture.
//!
//! A reshoot is the same object: its picture lies in the same place of the same border, to within what flattening leaves
//! (a few tenths of a millimetre). A sibling is a second exposure of the same scene: hand and camera moved, so its picture
//! lies elsewhere in its window, or is a little larger, turned, or seen from a step aside. So both are asked: is it the
//! same picture, and does it lie in the same place? Where the border has marks of its own (stains, dents, smears, ink), it
//! must have them in both.
//!
//! Method: logarithm of light, so that exposure is a constant; less its own mean over a few millimetres, so that lamps,
//! veils and fading go as well; normalised correlation of tiles of the window, each tile let look around for its best place.
//!
//! Limits. A window without detail (fog, night, a blank wall) and a border without marks say nothing: the answer is
//! [`Same::Unsure`]. Two exposures from a tripod whose pictures lie within [`SAME_PLACE`] of each other, in clean borders,
//! would be taken for one print. A copy print made from another by machine is a different object that looks the same.

mod sieve;

use pixels::Plane;
use pixels::filter::box_mean;
use sieve::LATTICE;
pub use sieve::{SIEVE, Sought};

/// Samples for each millimetre of the face. Tiles are placed to a fifth of a sample by interpolation, 0.05 mm, well below
/// what flattening leaves; twice as many would cost four times as long.
pub const PER_MM: f64 = 4.0;
/// Detail coarser than this is lighting, veil and fading, mm: half a tile.
const COARSEST: f64 = 3.0;
/// Side of a tile, mm: large enough for a few details, small enough to show a picture that is turned or seen from aside.
const TILE: f64 = 9.0;
/// How far the picture of a second exposure may lie from the first's, mm: about an eighth of a window. Farther, and little
/// of the scene is shared.
const REACH: f64 = 12.0;
/// How far a tile may lie from where the whole picture lies, mm: perspective from a step aside.
const STRAY: f64 = 1.5;
/// Contrast (standard deviation of the logarithm of light) under which a tile has nothing to hold on to: noise of a good
/// frame at this scale is about 0.01.
const FAINT: f64 = 0.025;
/// Correlation from which a tile is found again.
const FOUND: f64 = 0.55;
/// A tile agrees with the others where it lies within this of where they say, mm: twice its own uncertainty on a frame with
/// curl. By chance one tile in fifteen would.
const AGREE: f64 = 0.4;
/// Tiles that must have detail, at the least, before anything is said.
const TILES: usize = 6;
/// Share of the detailed tiles that the same picture finds again. Dust, veils and clipped lights cost some.
const MOST: f64 = 0.5;
/// The same print's picture lies within this of where it was, mm: outlines are known to 0.30 mm at the worst in each frame.
pub const SAME_PLACE: f64 = 0.6;
/// And its rim by no more than this more, mm: outlines, curl and lens leave less.
const SAME_SHAPE: f64 = 0.6;
/// Between `SAME_PLACE` and this, mm, nobody can say.
const ELSEWHERE: f64 = 1.0;
/// A border with marks: standard deviation of the logarithm of light at half a millimetre to three. A clean one has 0.01.
const MARKED: f64 = 0.03;
/// Correlation under which two marked borders are not the same one.
const OTHER_BORDER: f64 = 0.2;

/// The face of a print: upright, seen from above, at [`PER_MM`].
#[derive(Clone, Debug)]
pub struct Face {
    /// Logarithm of light without what is coarser than [`COARSEST`], over the outer rectangle.
    detail: Plane,
    /// The window in samples: left, top, right, bottom.
    window: [usize; 4],
}

/// What two faces have in common.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Likeness {
    /// The answer.
    pub same: Same,
    /// Tiles with detail in both.
    pub tiles: usize,
    /// Share of them found again, where the others say.
    pub found: f64,
    /// How far the picture lies from where it lay, mm.
    pub shift_mm: f64,
    /// How much farther than that its rim lies, by stretch, turn or a step aside, mm.
    pub stray_mm: f64,
    /// Correlation of the borders' marks, where both have some.
    pub border: Option<f64>,
}

/// Whether two faces are one print.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Same {
    /// One and the same print.
    Print,
    /// Two prints of one scene.
    Picture,
    /// Different pictures.
    Neither,
    /// It cannot be told.
    Unsure,
}

impl Face {
    /// A face from linear light over the print's outer rectangle, sampled at [`PER_MM`], with the window's left, top, width
    /// and height in mm.
    pub fn new(light: &Plane, window_mm: [f64; 4]) -> Self {
        // A five-hundredth of white: below it film and lens hold no detail, only noise.
        let log = Plane { data: light.data.iter().map(|v| v.max(0.002).ln()).collect(), ..*light };
        let coarse = box_mean(&log, (COARSEST * PER_MM / 2.0) as usize);
        let data = log.data.iter().zip(&coarse.data).map(|(a, b)| a - b).collect();
        // A millimetre inside the window: its rim belongs to the border, and outlines are not exact.
        let [x, y, w, h] = window_mm;
        let px = |mm: f64, most: usize| ((mm * PER_MM).round().max(0.0) as usize).min(most);
        let window = [
            px(x + 1.0, light.width),
            px(y + 1.0, light.height),
            px(x + w - 1.0, light.width),
            px(y + h - 1.0, light.height),
        ];
        Self { detail: Plane { data, ..*light }, window }
    }

    /// The same face turned by half a turn, for prints that do not say which way is up.
    pub fn turned(&self) -> Self {
        let (w, h) = (self.detail.width, self.detail.height);
        let data = self.detail.data.iter().rev().copied().collect();
        let [l, t, r, b] = self.window;
        Self { detail: Plane { data, width: w, height: h }, window: [w - r, h - b, w - l, h - t] }
    }

    /// Half the window's width and height, mm.
    fn half(&self) -> [f64; 2] {
        [0, 1].map(|k| self.window[k + 2].saturating_sub(self.window[k]) as f64 / PER_MM / 2.0)
    }

    /// The picture `k` times as large about the window's middle.
    fn sized(&self, k: f64) -> Self {
        let middle = [0, 1].map(|i| (self.window[i] + self.window[i + 2]) as f64 / 2.0);
        let detail = Plane::from_fn(self.detail.width, self.detail.height, |x, y| {
            let at = |v: usize, m: f64| m + (v as f64 + 0.5 - m) / k;
            self.detail.bilinear(at(x, middle[0]), at(y, middle[1]))
        });
        // What comes from outside the window is none of the picture.
        let window = [0, 1, 2, 3].map(|i| {
            let m = middle[i % 2];
            (m + (self.window[i] as f64 - m) * k.min(1.0)) as usize
        });
        Self { detail, window }
    }

    /// The picture at one value to two millimetres or so, a small thing to keep and to search by: 32 columns and rows of
    /// signed bytes.
    pub fn lattice(&self) -> Vec<u8> {
        let cells = self.cells(LATTICE, LATTICE);
        let scale = cells.iter().map(|v| v * v).sum::<f64>().sqrt().max(1e-9) / LATTICE as f64;
        // Three deviations fill the byte.
        cells.iter().map(|v| ((v / scale * 42.0).clamp(-127.0, 127.0) as i8) as u8).collect()
    }

    /// Strength of detail over the window in `w` by `h` cells, less its mean: where the picture is busy and where calm stays
    /// when it moves a little.
    fn cells(&self, w: usize, h: usize) -> Vec<f64> {
        let [l, t, r, b] = self.window;
        let at = |from: usize, to: usize, i: usize, of: usize| from + (to.saturating_sub(from)) * i / of;
        let mut out = Vec::with_capacity(w * h);
        for j in 0..h {
            for i in 0..w {
                let (xs, ys) = (at(l, r, i, w)..at(l, r, i + 1, w), at(t, b, j, h)..at(t, b, j + 1, h));
                let n = (xs.len() * ys.len()).max(1) as f64;
                let sum: f64 =
                    ys.map(|y| xs.clone().map(|x| f64::from(self.detail.get(x, y).abs())).sum::<f64>()).sum();
                // The logarithm again: a fair share of noise must not weigh as much as an edge.
                out.push((sum / n + 0.01).ln());
            }
        }
        let mean = out.iter().sum::<f64>() / out.len().max(1) as f64;
        out.iter_mut().for_each(|v| *v -= mean);
        out
    }
}

/// Sizes, besides its own, at which a scene may stand in its second exposure: from a step nearer to a step farther. They lie 7.5 % apart:
/// half of that moves the rim of an 80 mm window by [`STRAY`].
const SIZES: [f64; 4] = [0.86, 0.93, 1.075, 1.155];

/// Compares two faces of one format closely.
pub fn compare(a: &Face, b: &Face) -> Likeness {
    let own = compare_at(a, b, 1.0);
    if own.same != Same::Neither {
        return own;
    }
    // One print has one size: whatever is found at another is a second exposure.
    let sized = SIZES.map(|k| compare_at(&a.sized(k), b, k));
    let found = sized.into_iter().filter(|l| l.tiles >= TILES && l.found >= MOST);
    let best = found.max_by(|p, q| p.found.total_cmp(&q.found));
    best.map_or(own, |l| Likeness { same: Same::Picture, border: own.border, ..l })
}

/// Compares a face that was made `size` times as large with another.
fn compare_at(a: &Face, b: &Face, size: f64) -> Likeness {
    let tiles = tiles(a, b, whole_shift(a, b));
    let sure: Vec<&Tile> = tiles.iter().filter(|t| t.peak >= FOUND).collect();
    let lie = Lie::of(&sure);
    let found = sure.iter().filter(|t| lie.off(t) <= AGREE).count() as f64 / tiles.len().max(1) as f64;
    let half = a.half().map(|mm| mm / size.min(1.0));
    let (shift_mm, stray_mm) = (lie.middle[0].hypot(lie.middle[1]), lie.stray(half, size));
    let likeness = Likeness { same: Same::Unsure, tiles: tiles.len(), found, shift_mm, stray_mm, border: border(a, b) };
    Likeness { same: answer(&likeness), ..likeness }
}

/// How one picture lies over the other: where its middle is, and how much it is stretched, turned or seen from aside.
struct Lie {
    /// The tiles' middle, mm.
    at: [f64; 2],
    /// How far the picture lies there, mm.
    middle: [f64; 2],
    /// How much farther right and down it lies for each millimetre to the right, and for each downwards.
    slope: [[f64; 2]; 2],
}

impl Lie {
    /// From tiles of which some are wrong: medians of slopes between tiles far apart (Theil 1950, Sen 1968, from memory).
    fn of(tiles: &[&Tile]) -> Self {
        let at = [0, 1].map(|k| median(tiles.iter().map(|t| t.from[k]).collect()));
        let slope = [0, 1].map(|axis| [0, 1].map(|part| slope(tiles, axis, part)));
        let level =
            |t: &&Tile, k: usize| t.to[k] - (0..2).map(|axis| slope[axis][k] * (t.from[axis] - at[axis])).sum::<f64>();
        let middle = [0, 1].map(|k| median(tiles.iter().map(|t| level(t, k)).collect()));
        Self { at, middle, slope }
    }

    /// How far a tile lies from where it should, mm.
    fn off(&self, t: &Tile) -> f64 {
        let off = [0, 1].map(|k| {
            let there: f64 = (0..2).map(|axis| self.slope[axis][k] * (t.from[axis] - self.at[axis])).sum();
            t.to[k] - self.middle[k] - there
        });
        off[0].hypot(off[1])
    }

    /// How much farther than its middle the rim of a picture `size` times as large lies aside, mm.
    fn stray(&self, half: [f64; 2], size: f64) -> f64 {
        let own = |axis: usize, part: usize| if axis == part { size - 1.0 } else { 0.0 };
        let aside = |axis: usize| [0, 1].map(|part| size * self.slope[axis][part] + own(axis, part));
        (0..2).map(|axis| aside(axis)[0].hypot(aside(axis)[1]) * half[axis]).fold(0.0, f64::max)
    }
}

fn slope(tiles: &[&Tile], axis: usize, part: usize) -> f64 {
    let mut slopes = vec![];
    for (i, a) in tiles.iter().enumerate() {
        for b in &tiles[i + 1..] {
            let apart = b.from[axis] - a.from[axis];
            // Two tiles: nearer ones say little of a slope.
            if apart.abs() >= 2.0 * TILE {
                slopes.push((b.to[part] - a.to[part]) / apart);
            }
        }
    }
    median(slopes)
}

fn answer(l: &Likeness) -> Same {
    let other = l.border.is_some_and(|c| c < OTHER_BORDER);
    if l.tiles < TILES {
        return Same::Unsure;
    }
    if l.found < MOST {
        return Same::Neither;
    }
    match (l.shift_mm, l.stray_mm) {
        _ if other => Same::Picture,
        (shift, stray) if shift <= SAME_PLACE && stray <= SAME_SHAPE => Same::Print,
        (shift, stray) if shift >= ELSEWHERE || stray >= ELSEWHERE => Same::Picture,
        _ => Same::Unsure,
    }
}

/// A tile of the first face: its place, mm; how far from there it is found in the second, mm; and how surely.
struct Tile {
    peak: f64,
    from: [f64; 2],
    to: [f64; 2],
}

fn tiles(a: &Face, b: &Face, whole: [isize; 2]) -> Vec<Tile> {
    let side = (TILE * PER_MM) as usize;
    let [l, t, r, bottom] = a.window;
    let starts = |from: usize, to: usize| (from..to.saturating_sub(side - 1)).step_by(side);
    let places: Vec<[usize; 2]> = starts(t, bottom).flat_map(|y| starts(l, r).map(move |x| [x, y])).collect();
    use rayon::prelude::*;
    places.par_iter().filter_map(|&[x, y]| tile(a, b, [x, y], side, whole)).collect()
}

fn tile(a: &Face, b: &Face, [x, y]: [usize; 2], side: usize, whole: [isize; 2]) -> Option<Tile> {
    let detailed = |f: &Face, x: usize, y: usize| {
        let mut s = Sums::default();
        (y..y + side).for_each(|y| f.detail.row(y)[x..x + side].iter().for_each(|v| s.add(f64::from(*v), 0.0)));
        s.deviation() >= FAINT
    };
    let stray = (STRAY * PER_MM) as isize;
    let span = (2 * stray + 1) as usize;
    // A tile whose whole search would leave the other's window cannot be judged.
    let low = |v: usize, w: isize| v.checked_add_signed(w - stray);
    let (x0, y0) = (low(x, whole[0])?, low(y, whole[1])?);
    let inside = x0 >= b.window[0].saturating_sub(stray as usize)
        && y0 >= b.window[1].saturating_sub(stray as usize)
        && x0 + span + side <= b.detail.width
        && y0 + span + side <= b.detail.height
        && x0 + side + stray as usize <= b.window[2]
        && y0 + side + stray as usize <= b.window[3];
    if !inside || !detailed(a, x, y) || !detailed(b, x0 + stray as usize, y0 + stray as usize) {
        return None;
    }
    let score = |i: usize, j: usize| correlation(a, b, [x, y], [x0 + i, y0 + j], side);
    let grid: Vec<f64> = (0..span * span).map(|k| score(k % span, k / span)).collect();
    let best = (0..grid.len()).max_by(|p, q| grid[*p].total_cmp(&grid[*q]))?;
    let (i, j) = (best % span, best / span);
    let along = |before: Option<f64>, after: Option<f64>| match (before, after) {
        (Some(p), Some(n)) => vertex(p, grid[best], n),
        _ => 0.0,
    };
    let get = |i: usize, j: usize| (i < span && j < span).then(|| grid[j * span + i]);
    let dx = along(i.checked_sub(1).and_then(|i| get(i, j)), get(i + 1, j));
    let dy = along(j.checked_sub(1).and_then(|j| get(i, j)), get(i, j + 1));
    let mm = |from: usize, step: usize, part: f64, own: usize| ((from + step) as f64 + part - own as f64) / PER_MM;
    let from = [x, y].map(|v| (v + side / 2) as f64 / PER_MM);
    Some(Tile { peak: grid[best], from, to: [mm(x0, i, dx, x), mm(y0, j, dy, y)] })
}

/// Where the parabola through three values one step apart has its top, steps from the middle one.
fn vertex(before: f64, top: f64, after: f64) -> f64 {
    let bend = before - 2.0 * top + after;
    if bend < 0.0 { (0.5 * (before - after) / bend).clamp(-0.5, 0.5) } else { 0.0 }
}

fn correlation(a: &Face, b: &Face, at: [usize; 2], to: [usize; 2], side: usize) -> f64 {
    let mut sums = Sums::default();
    for j in 0..side {
        let p = &a.detail.row(at[1] + j)[at[0]..at[0] + side];
        let q = &b.detail.row(to[1] + j)[to[0]..to[0] + side];
        p.iter().zip(q).for_each(|(p, q)| sums.add(f64::from(*p), f64::from(*q)));
    }
    sums.correlation()
}

/// Where the whole picture of the first lies in the second, samples: at a quarter of the scale, then at the full one by the tiles.
fn whole_shift(a: &Face, b: &Face) -> [isize; 2] {
    const STEP: usize = 4;
    let small = |f: &Face| {
        let (w, h) = (f.detail.width / STEP, f.detail.height / STEP);
        // Every fourth sample of a mean over four: detail of two millimetres and more.
        let mean = box_mean(&f.detail, STEP / 2);
        Plane::from_fn(w, h, |x, y| mean.get(x * STEP + STEP / 2, y * STEP + STEP / 2))
    };
    let (p, q) = (small(a), small(b));
    let window = |f: &Face| f.window.map(|v| (v / STEP) as isize);
    let ([l, t, r, d], [l2, t2, r2, d2]) = (window(a), window(b));
    let reach = (REACH * PER_MM / STEP as f64) as isize;
    let mut best = (f64::MIN, [0, 0]);
    for dy in -reach..=reach {
        for dx in -reach..=reach {
            let mut sums = Sums::default();
            for y in t.max(t2 - dy)..d.min(d2 - dy) {
                for x in l.max(l2 - dx)..r.min(r2 - dx) {
                    let (u, v) = (p.clamped(x, y), q.clamped(x + dx, y + dy));
                    sums.add(f64::from(u), f64::from(v));
                }
            }
            let c = sums.correlation();
            if c > best.0 {
                best = (c, [dx, dy]);
            }
        }
    }
    best.1.map(|v| v * STEP as isize)
}

/// Correlation of two borders' marks, where both have some. The rim, a millimetre and a half at the outer edge and at the
/// window, is left out: outlines are not exact.
fn border(a: &Face, b: &Face) -> Option<f64> {
    let rim = (1.5 * PER_MM) as usize;
    let (w, h) = (a.detail.width.min(b.detail.width), a.detail.height.min(b.detail.height));
    let [l, t, r, d] =
        [0, 1, 2, 3].map(|k| if k < 2 { a.window[k].min(b.window[k]) } else { a.window[k].max(b.window[k]) });
    // The window is kept a millimetre small, so it and the rim together are two and a half.
    let rim_in = rim + PER_MM as usize;
    let within = |x: usize, y: usize| x + rim_in > l && x < r + rim_in && y + rim_in > t && y < d + rim_in;
    let (p, q) = (box_mean(&a.detail, 1), box_mean(&b.detail, 1));
    let mut sums = Sums::default();
    for y in rim..h.saturating_sub(rim) {
        for x in (rim..w.saturating_sub(rim)).filter(|x| !within(*x, y)) {
            sums.add(f64::from(p.get(x, y)), f64::from(q.get(x, y)));
        }
    }
    (sums.deviation() >= MARKED && sums.other_deviation() >= MARKED).then(|| sums.correlation())
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(0.0)
}

/// Sums for means, deviations and a correlation (Pearson's product moment).
#[derive(Default)]
struct Sums {
    n: f64,
    a: f64,
    b: f64,
    aa: f64,
    bb: f64,
    ab: f64,
}

impl Sums {
    fn add(&mut self, a: f64, b: f64) {
        self.n += 1.0;
        self.a += a;
        self.b += b;
        self.aa += a * a;
        self.bb += b * b;
        self.ab += a * b;
    }
    fn deviation(&self) -> f64 {
        (self.aa / self.n.max(1.0) - (self.a / self.n.max(1.0)).powi(2)).max(0.0).sqrt()
    }
    fn other_deviation(&self) -> f64 {
        (self.bb / self.n.max(1.0) - (self.b / self.n.max(1.0)).powi(2)).max(0.0).sqrt()
    }
    fn correlation(&self) -> f64 {
        let n = self.n.max(1.0);
        let both = self.deviation() * self.other_deviation();
        if both > 1e-12 { (self.ab / n - self.a / n * self.b / n) / both } else { 0.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An invented picture: blobs at places that a small generator of numbers gives (Park and Miller 1988, from memory).
    fn light(seed: u64, shift: [f64; 2], gain: f32, border_seed: u64) -> Plane {
        sized(seed, shift, gain, border_seed, 1.0)
    }

    /// The same with the picture `k` times as large about its middle.
    fn sized(seed: u64, shift: [f64; 2], gain: f32, border_seed: u64, k: f64) -> Plane {
        let mut state = seed.max(1);
        let mut next = move || {
            state = state * 48271 % 2147483647;
            state as f64 / 2147483647.0
        };
        let blobs: Vec<[f64; 4]> =
            (0..220).map(|_| [next() * 96.0 - 8.0, next() * 96.0 - 8.0, 0.4 + 2.0 * next(), next() - 0.5]).collect();
        let mut state = border_seed.max(1);
        let mut next = move || {
            state = state * 48271 % 2147483647;
            state as f64 / 2147483647.0
        };
        let marks: Vec<[f64; 3]> = (0..if border_seed == 0 { 0 } else { 160 })
            .map(|_| [next() * 88.0, next() * 107.0, 0.3 + 0.5 * next()])
            .collect();
        let (w, h) = ((88.0 * PER_MM) as usize, (107.0 * PER_MM) as usize);
        Plane::from_fn(w, h, |i, j| {
            let (x, y) = ((i as f64 + 0.5) / PER_MM, (j as f64 + 0.5) / PER_MM);
            let inside = (4.5..83.5).contains(&x) && (6.5..85.5).contains(&y);
            let at = |bx: f64, by: f64, r: f64| {
                let far = ((x - bx).powi(2) + (y - by).powi(2)) / (2.0 * r * r);
                if far < 9.0 { (-far).exp() } else { 0.0 }
            };
            let v = if inside {
                let (sx, sy) = (shift[0] + 4.5, shift[1] + 6.5);
                let (x, y) = (44.0 + (x - 44.0) / k, 46.0 + (y - 46.0) / k);
                let at = |bx: f64, by: f64, r: f64| {
                    let far = ((x - bx).powi(2) + (y - by).powi(2)) / (2.0 * r * r);
                    if far < 9.0 { (-far).exp() } else { 0.0 }
                };
                0.3 * blobs.iter().map(|b| at(b[0] + sx, b[1] + sy, b[2]) * b[3]).sum::<f64>().exp()
            } else {
                0.8 * (1.0 - 0.5 * marks.iter().map(|m| at(m[0], m[1], m[2])).sum::<f64>().min(1.0))
            };
            gain * v as f32
        })
    }

    const WINDOW: [f64; 4] = [4.5, 6.5, 79.0, 79.0];

    fn alike(a: &[u8], b: &[u8]) -> f64 {
        Sought::new(a).alike(b)
    }

    fn face(seed: u64, shift: [f64; 2], gain: f32, border: u64) -> Face {
        Face::new(&light(seed, shift, gain, border), WINDOW)
    }

    #[test]
    fn the_same_place_is_the_same_print_whatever_the_exposure() {
        let l = compare(&face(7, [0.0, 0.0], 1.0, 0), &face(7, [0.15, -0.1], 0.3, 0));
        assert_eq!(l.same, Same::Print, "{l:?}");
        assert!((l.shift_mm - 0.18).abs() < 0.05, "{l:?}");
    }

    #[test]
    fn the_same_picture_elsewhere_is_a_sibling_and_the_shift_is_measured() {
        for shift in [[1.6, 0.0], [-3.0, 2.0], [7.0, -6.0]] {
            let l = compare(&face(7, [0.0, 0.0], 1.0, 0), &face(7, shift, 1.0, 0));
            assert_eq!(l.same, Same::Picture, "{l:?}");
            assert!((l.shift_mm - shift[0].hypot(shift[1])).abs() < 0.1, "{shift:?}: {l:?}");
        }
    }

    #[test]
    fn a_step_nearer_or_farther_is_a_sibling_too() {
        for k in [0.88, 0.95, 1.04, 1.1, 1.14] {
            let b = Face::new(&sized(7, [-1.9, -1.9], 0.8, 0, k), WINDOW);
            let l = compare(&face(7, [0.0, 0.0], 1.0, 0), &b);
            assert_eq!(l.same, Same::Picture, "{k}: {l:?}");
            assert!((l.stray_mm - 38.5 * (k - 1.0).abs()).abs() < 1.2, "{k}: {l:?}");
            assert!(alike(&face(7, [0.0, 0.0], 1.0, 0).lattice(), &b.lattice()) > SIEVE, "{k}");
        }
    }

    #[test]
    fn marks_of_the_border_tell_two_prints_in_the_same_place() {
        let l = compare(&face(7, [0.0, 0.0], 1.0, 5), &face(7, [0.1, 0.0], 1.0, 6));
        assert_eq!(l.same, Same::Picture, "{l:?}");
        let l = compare(&face(7, [0.0, 0.0], 1.0, 5), &face(7, [0.1, 0.0], 1.0, 5));
        assert!(l.same == Same::Print && l.border.unwrap() > 0.9, "{l:?}");
    }

    #[test]
    fn other_pictures_are_neither_and_empty_ones_say_nothing() {
        for seed in 8..16 {
            let l = compare(&face(7, [0.0, 0.0], 1.0, 0), &face(seed, [0.0, 0.0], 1.0, 0));
            assert_eq!(l.same, Same::Neither, "{seed}: {l:?}");
        }
        let blank = Face::new(&Plane::filled(352, 428, 0.4), WINDOW);
        assert_eq!(compare(&blank, &blank).same, Same::Unsure);
    }

    #[test]
    fn half_a_turn_is_undone() {
        let a = face(7, [0.0, 0.0], 1.0, 0);
        let mut turned = light(7, [0.0, 0.0], 1.0, 0);
        turned.data.reverse();
        let b = Face::new(&turned, [4.5, 21.5, 79.0, 79.0]);
        assert_eq!(compare(&a, &b.turned()).same, Same::Print);
    }

    #[test]
    fn lattices_sieve() {
        let a = face(7, [0.0, 0.0], 1.0, 0).lattice();
        let moved = face(7, [4.0, -3.0], 0.4, 0).lattice();
        assert!(alike(&a, &moved) > SIEVE, "{}", alike(&a, &moved));
        assert!(alike(&a, &a) > 0.999);
        let other = face(8, [0.0, 0.0], 1.0, 0).lattice();
        assert!(alike(&a, &other) < alike(&a, &moved));
    }

    #[test]
    fn the_top_of_a_parabola() {
        let f = |x: f64| 3.0 - (x - 0.2).powi(2);
        assert!((vertex(f(-1.0), f(0.0), f(1.0)) - 0.2).abs() < 1e-12);
    }
}
