//! Flat rectangles in a picture: what a chart's patches look like one by one.

use geometry::{Point, point};
use pixels::{Picture, Plane};

/// The picture as cube roots of light over that of its brightest part: steps of about equal visibility, 0 to about 1.
pub struct Tones(Picture);

/// A flat, nearly rectangular region.
#[derive(Clone, Debug)]
pub struct Region {
    /// Its middle, picture pixels.
    pub centre: Point,
    /// Unit vectors along its sides: the one nearest to +x, and that turned a quarter clockwise.
    pub axes: [Point; 2],
    /// Its extent along the axes, pixels.
    pub size: [f64; 2],
    /// Its mean tone.
    pub tone: [f32; 3],
}

/// Least pixels of a region: under 6 by 6 blur leaves nothing flat.
const LEAST_PX: usize = 36;
/// Greatest share of the picture: a 2 by 2 chart that fills it.
const GREATEST_SHARE: f64 = 0.2;
/// Least share of its bounding rectangle that a patch's outline fills (a trapezium under slight tilt still does), and of the
/// outline that is flat (dust makes holes).
const LEAST_FILL: f64 = 0.82;
/// Most regions looked at, the largest first: charts have up to some three hundred patches; a page of text has thousands of flat
/// spots, and every one more costs time.
const MOST: usize = 1500;
/// Longest over shortest side of a patch.
const SLENDEREST: f64 = 4.0;

impl Tones {
    /// Of a linear picture, shrunk by a whole factor until its long side is `longest` at most; with that factor.
    pub fn of(linear: &Picture, longest: usize) -> (Self, f64) {
        let factor = linear.width().max(linear.height()).div_ceil(longest).max(1);
        let (w, h) = (linear.width() / factor, linear.height() / factor);
        let mean = |p: &Plane, x: usize, y: usize| {
            let sum: f32 = (0..factor).map(|j| p.row(y * factor + j)[x * factor..][..factor].iter().sum::<f32>()).sum();
            sum / (factor * factor) as f32
        };
        let small = [0, 1, 2].map(|b| Plane::from_fn(w, h, |x, y| mean(&linear.0[b], x, y)));
        let mut levels: Vec<f32> = small[1].data.iter().step_by(7).copied().collect();
        levels.sort_by(f32::total_cmp);
        // The 99th percentile: above glints, below nothing that matters.
        let white = levels.get(levels.len() * 99 / 100).copied().unwrap_or(1.0).max(1e-6);
        let tone = |v: f32| (v.max(0.0) / white).cbrt();
        (Self(Picture(small.map(|p| Plane { data: p.data.iter().map(|&v| tone(v)).collect(), ..p }))), factor as f64)
    }

    /// The steepest change of any channel at each pixel, squared, per pixel (Sobel's difference, the mean of three rows); the
    /// outermost pixels have none.
    pub fn steepness(&self) -> Plane {
        let (w, h) = (self.0.width(), self.0.height());
        let steep = |p: &Plane, x: usize, y: usize| {
            let [a, b, c] = [p.row(y - 1), p.row(y), p.row(y + 1)];
            let gx = (a[x + 1] - a[x - 1]) + 2.0 * (b[x + 1] - b[x - 1]) + (c[x + 1] - c[x - 1]);
            let gy = (c[x - 1] - a[x - 1]) + 2.0 * (c[x] - a[x]) + (c[x + 1] - a[x + 1]);
            (gx * gx + gy * gy) / 64.0
        };
        Plane::from_fn(w, h, |x, y| {
            let inner = x > 0 && y > 0 && x + 1 < w && y + 1 < h;
            if inner { self.0.0.iter().map(|p| steep(p, x, y)).fold(0.0, f32::max) } else { f32::INFINITY }
        })
    }
}

/// Blocks along each axis of a patch by which its evenness is judged: their means average grain away.
const BLOCKS: usize = 3;
/// Samples along each side of a block.
const BLOCK_SAMPLES: usize = 6;

impl Region {
    /// How much the tone changes over the central part that is read: the range of the means of three by three blocks, of the band in
    /// which it is greatest. A patch of a chart is of one colour; a small print's window has a picture in it.
    pub fn unevenness(&self, tones: &Tones) -> f64 {
        let Tones(picture) = tones;
        let n = BLOCKS * BLOCK_SAMPLES;
        let offset = |i: usize, k: usize| self.size[k] * super::READ_SHARE * ((i as f64 + 0.5) / n as f64 - 0.5);
        let mut sums = [[0.0f64; 3]; BLOCKS * BLOCKS];
        for k in 0..n * n {
            let (i, j) = (k % n, k / n);
            let p = self.centre + self.axes[0] * offset(i, 0) + self.axes[1] * offset(j, 1);
            let block = &mut sums[j / BLOCK_SAMPLES * BLOCKS + i / BLOCK_SAMPLES];
            (0..3).for_each(|b| block[b] += f64::from(picture.0[b].clamped(p.x as isize, p.y as isize)));
        }
        let range = |b: usize| {
            let (low, high) = sums.iter().fold((f64::MAX, 0.0f64), |(l, h), s| (l.min(s[b]), h.max(s[b])));
            (high - low) / (BLOCK_SAMPLES * BLOCK_SAMPLES) as f64
        };
        range(0).max(range(1)).max(range(2))
    }
}

/// The rectangles of a picture in which nothing changes by more than `limit` a pixel, none of them touching its edge.
pub fn regions(tones: &Tones, steepness: &Plane, limit: f32) -> Vec<Region> {
    let (w, h) = (tones.0.width(), tones.0.height());
    let greatest = (GREATEST_SHARE * (w * h) as f64) as usize;
    let mut open: Vec<bool> = steepness.data.iter().map(|&s| s <= limit * limit).collect();
    let mut found = Vec::new();
    let mut stack = Vec::new();
    for start in 0..w * h {
        if !std::mem::take(&mut open[start]) {
            continue;
        }
        stack.push(start);
        let mut members = Vec::new();
        // The first and last column of flat pixels are 1 and w - 2: the outermost have no difference.
        let mut at_edge = false;
        while let Some(i) = stack.pop() {
            members.push(i);
            let (x, y) = (i % w, i / w);
            at_edge |= x <= 1 || y <= 1 || x + 2 >= w || y + 2 >= h;
            for n in [i.wrapping_sub(1), i + 1, i.wrapping_sub(w), i + w] {
                if n < w * h && std::mem::take(&mut open[n]) {
                    stack.push(n);
                }
            }
        }
        if !at_edge && (LEAST_PX..=greatest).contains(&members.len()) {
            found.extend(region(tones, &members, w).map(|r| (members.len(), r)));
        }
    }
    // The sort is stable: regions of one size stay in the order of the picture.
    found.sort_by_key(|(n, _)| std::cmp::Reverse(*n));
    found.truncate(MOST);
    found.into_iter().map(|(_, r)| r).collect()
}

/// The rectangle about these pixels, where they fill one.
fn region(tones: &Tones, members: &[usize], w: usize) -> Option<Region> {
    let hull = hull(members, w);
    let n = hull.len();
    let area = (0..n).map(|i| hull[i].cross(hull[(i + 1) % n])).sum::<f64>().abs() / 2.0;
    let (axis, low, high) = least_rectangle(&hull)?;
    let size = [high.x - low.x, high.y - low.y];
    let (short, long) = (size[0].min(size[1]), size[0].max(size[1]));
    let full = area >= LEAST_FILL * size[0] * size[1] && members.len() as f64 >= LEAST_FILL * area;
    if !full || long > SLENDEREST * short {
        return None;
    }
    let down = axis.quarter_turn();
    let middle = (low + high) * 0.5;
    let mut tone = [0.0f32; 3];
    for &i in members {
        (0..3).for_each(|b| tone[b] += tones.0.0[b].data[i]);
    }
    Some(Region {
        centre: axis * middle.x + down * middle.y,
        axes: [axis, down],
        size,
        tone: tone.map(|t| t / members.len() as f32),
    })
}

/// The convex hull of the pixels' corners (monotone chain, Andrew 1979; from memory).
fn hull(members: &[usize], w: usize) -> Vec<Point> {
    let mut rows: std::collections::BTreeMap<usize, (usize, usize)> = Default::default();
    for &i in members {
        let e = rows.entry(i / w).or_insert((i % w, i % w));
        *e = (e.0.min(i % w), e.1.max(i % w));
    }
    let ends = |y: usize, (a, b): (usize, usize)| {
        [(a, y), (a, y + 1), (b + 1, y), (b + 1, y + 1)].map(|(x, y)| point(x as f64, y as f64))
    };
    let mut points: Vec<Point> = rows.into_iter().flat_map(|(y, e)| ends(y, e)).collect();
    points.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let half = |points: &mut dyn Iterator<Item = &Point>| {
        let mut chain: Vec<Point> = Vec::new();
        for &p in points {
            while let [.., a, b] = chain[..]
                && (b - a).cross(p - a) <= 0.0
            {
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
        chain
    };
    let mut all = half(&mut points.iter());
    all.extend(half(&mut points.iter().rev()));
    all
}

/// The rectangle of least area about a convex outline, one side of which lies along one of its own (Freeman and Shapira 1975):
/// its axis nearest to +x, and its least and greatest coordinates along that axis and a quarter turn from it.
fn least_rectangle(hull: &[Point]) -> Option<(Point, Point, Point)> {
    let side = |i: usize| (hull[(i + 1) % hull.len()] - hull[i]).unit();
    let upright = |mut a: Point| {
        for _ in 0..3 {
            if a.x < a.y.abs() {
                a = a.quarter_turn();
            }
        }
        a
    };
    (0..hull.len())
        .map(|i| {
            let axis = upright(side(i));
            let along = |p: &Point| point(p.dot(axis), p.dot(axis.quarter_turn()));
            let all: Vec<Point> = hull.iter().map(along).collect();
            let low = all.iter().fold(all[0], |m, p| point(m.x.min(p.x), m.y.min(p.y)));
            let high = all.iter().fold(all[0], |m, p| point(m.x.max(p.x), m.y.max(p.y)));
            (axis, low, high)
        })
        .min_by(|a, b| {
            let area = |r: &(Point, Point, Point)| (r.2.x - r.1.x) * (r.2.y - r.1.y);
            area(a).total_cmp(&area(b))
        })
}
