//! Finds the sheet's squares in a frame, lays them in their lattice, and reads from their codes which they are.

use super::RulerError;
use crate::edge::Reader;
use geometry::fit::median;
use geometry::ruler::{self, Cell, Paper};
use geometry::{Homography, Point, Quad, point};
use pixels::{Frame, Plane};
use std::collections::VecDeque;

/// Long side, pixels, of the picture that is searched: at 5 px/mm (a field of 320 mm) a square still spans fifty.
const SEARCH_PX: usize = 1600;
/// Blocks along the long side over which the paper's own brightness is followed: a flash's fall-off is smooth over three of
/// them, and five hold paper somewhere even where squares are largest.
const BLOCKS: usize = 32;
/// Share of the paper's light under which a pixel is ink: solid ink reads a tenth at most, the paler steps and grey stay out.
const INK: f32 = 0.4;
/// Least side of a square in the search picture, pixels: under it codes cannot be read.
const LEAST_SIDE: f64 = 12.0;
/// Most blobs looked at, the largest first: a sheet has under two hundred squares.
const MOST_BLOBS: usize = 2000;
/// How far from its predicted place a neighbour may be, in pitches: tilt and lens bend by under 0.03, and a mirrored slant
/// would be off by 0.17.
const NEAR: f64 = 0.12;
/// Fewest squares that say which sheet it is: five of them agree by chance with one in 40 each, and with some 20,000 ways to
/// lay a sheet that is once in five thousand lattices of squares that are no sheet.
pub const LEAST_SQUARES: usize = 5;
/// Share of the squares' codes that must agree: nine in a block differ from every other place by more (`geometry::ruler`).
const AGREE: f64 = 0.7;
/// Under so many squares all but one must agree.
const FEW: usize = 9;

/// A square seen and known.
#[derive(Clone, Copy, Debug)]
pub struct Detection {
    /// Column on the sheet.
    pub col: i32,
    /// Row.
    pub row: i32,
    /// Its corners in the frame, roughly, in the order of `Sheet::square`.
    pub corners: Quad,
}

/// The squares of a sheet in a frame.
#[derive(Clone, Debug)]
pub struct Found {
    /// Its paper.
    pub paper: Paper,
    /// The squares seen.
    pub squares: Vec<Detection>,
}

/// Finds the sheet.
pub fn find(frame: &Frame) -> Result<Found, RulerError> {
    let factor = frame.width.max(frame.height).div_ceil(SEARCH_PX).max(1);
    if frame.width / factor < BLOCKS || frame.height / factor < BLOCKS {
        return Err(RulerError::NotFound);
    }
    let picture = frame.reduce(factor);
    let [r, g, b] = &picture.0;
    let light = Plane::from_fn(g.width, g.height, |x, y| (r.get(x, y) + g.get(x, y) + b.get(x, y)) / 3.0);
    let quads: Vec<Quad> = blobs(&light).iter().filter_map(|b| square(b)).collect();
    let quads: Vec<Quad> = quads.iter().map(|q| q.map(|p| p * factor as f64)).collect();
    let nodes = [1.0, -1.0].into_iter().map(|slant| lattice(&quads, slant)).max_by_key(Vec::len).unwrap_or_default();
    if nodes.len() < LEAST_SQUARES {
        return Err(RulerError::NotFound);
    }
    let reader = Reader::new(frame);
    let read: Vec<(Node, u16)> = nodes.into_iter().filter_map(|n| Some((n, code(&reader, &n.corners)?))).collect();
    identify(&read)
}

/// Ink pixels that touch, each blob as its pixels' centres; those at the rim are left out.
fn blobs(light: &Plane) -> Vec<Vec<Point>> {
    let (w, h) = (light.width, light.height);
    let paper = paper(light);
    let mut ink: Vec<bool> = (0..w * h).map(|k| light.data[k] < INK * paper.data[k]).collect();
    let mut out = Vec::new();
    for start in 0..w * h {
        if !ink[start] {
            continue;
        }
        ink[start] = false;
        let (mut blob, mut next, mut rim) = (Vec::new(), vec![start], false);
        while let Some(k) = next.pop() {
            let (x, y) = (k % w, k / w);
            blob.push(point(x as f64 + 0.5, y as f64 + 0.5));
            rim |= x == 0 || y == 0 || x + 1 == w || y + 1 == h;
            let around =
                [(x > 0, k.wrapping_sub(1)), (x + 1 < w, k + 1), (y > 0, k.wrapping_sub(w)), (y + 1 < h, k + w)];
            for (inside, n) in around {
                if inside && ink[n] {
                    ink[n] = false;
                    next.push(n);
                }
            }
        }
        // With its code taken out a square keeps nine tenths of its area.
        if !rim && blob.len() as f64 > 0.8 * LEAST_SIDE * LEAST_SIDE {
            out.push(blob);
        }
    }
    out.sort_by_key(|b| std::cmp::Reverse(b.len()));
    out.truncate(MOST_BLOBS);
    out
}

/// The light of bare paper around each pixel: the brightest of five by five blocks.
fn paper(light: &Plane) -> Plane {
    let side = light.width.max(light.height).div_ceil(BLOCKS);
    let (nx, ny) = (light.width.div_ceil(side), light.height.div_ceil(side));
    let brightest = |i: usize, j: usize| {
        let rows = j * side..((j + 1) * side).min(light.height);
        let columns = i * side..((i + 1) * side).min(light.width);
        rows.flat_map(|y| &light.row(y)[columns.clone()]).fold(0.0f32, |a, &v| a.max(v))
    };
    let blocks = Plane::from_fn(nx, ny, brightest);
    let wide = pixels::filter::dilate(&blocks, 2);
    let at = |x: usize, y: usize| wide.bilinear((x as f64 + 0.5) / side as f64, (y as f64 + 0.5) / side as f64);
    Plane::from_fn(light.width, light.height, at)
}

/// The corners of a blob that is a square, clockwise; `None` for any other shape.
fn square(blob: &[Point]) -> Option<Quad> {
    let n = blob.len() as f64;
    let middle = blob.iter().fold(Point::default(), |a, &p| a + p) * (1.0 / n);
    let farthest = |f: &dyn Fn(Point) -> f64| blob.iter().copied().max_by(|a, b| f(*a).total_cmp(&f(*b)));
    let a = farthest(&|p| p.distance(middle))?;
    let c = farthest(&|p| p.distance(a))?;
    let b = farthest(&|p| (c - a).cross(p - a))?;
    let d = farthest(&|p| -(c - a).cross(p - a))?;
    // Clockwise as seen: the corner to the right of the way from a to c comes last.
    let quad = Quad([a, d, c, b]);
    let sides: Vec<f64> = (0..4).map(|i| quad.side(i).0.distance(quad.side(i).1)).collect();
    let (low, high) = sides.iter().fold((f64::MAX, 0.0f64), |(l, h), &s| (l.min(s), h.max(s)));
    // Corners are pixel centres: half a pixel is missing on every side.
    let area = quad.area() + (sides.iter().sum::<f64>()) / 2.0;
    let right = (0..4).all(|i| {
        let (p, q) = quad.side(i);
        let (_, r) = quad.side(i + 1);
        (q - p).unit().dot((r - q).unit()).abs() < 0.2
    });
    (low > LEAST_SIDE && high < 1.2 * low && right && (0.78..1.08).contains(&(n / area))).then_some(quad)
}

/// A square with its lattice place as the frame shows it.
#[derive(Clone, Copy)]
struct Node {
    u: i32,
    v: i32,
    /// Corners from the one towards -u, -v, clockwise.
    corners: Quad,
}

/// The largest lattice of squares whose rows lie `slant` (1 or -1 times the sheet's) anticlockwise of their sides.
fn lattice(quads: &[Quad], slant: f64) -> Vec<Node> {
    let centres: Vec<Point> = quads.iter().map(Quad::centre).collect();
    let sides: Vec<f64> =
        quads.iter().map(|q| (0..4).map(|i| q.side(i).0.distance(q.side(i).1)).sum::<f64>() / 4.0).collect();
    // Squares that showed the way to others: each would find the same lattice again.
    let mut led = vec![false; quads.len()];
    let mut best = Vec::new();
    for seed in 0..quads.len() {
        if led[seed] {
            continue;
        }
        let mut used = vec![false; quads.len()];
        used[seed] = true;
        let (a, b) = quads[seed].side(0);
        let mut nodes = vec![Node { u: 0, v: 0, corners: quads[seed] }];
        let mut next = VecDeque::from([(0, 0, seed, b - a)]);
        while let Some((u, v, at, side)) = next.pop_front() {
            led[at] = true;
            // The way to the neighbour along u: a pitch, turned back by the slant.
            let (s, c) = (-slant * ruler::SLANT.to_rad()).sin_cos();
            let along = point(side.x * c - side.y * s, side.x * s + side.y * c).unit()
                * (sides[at] * ruler::PITCH / ruler::SQUARE);
            for (du, dv) in [(1, 0), (0, 1), (-1, 0), (0, -1)] {
                let want = centres[at] + along * f64::from(du) + along.quarter_turn() * f64::from(dv);
                let near = NEAR * along.norm();
                let hit = (0..quads.len()).find(|&k| {
                    !used[k] && centres[k].distance(want) < near && (0.8..1.25).contains(&(sides[k] / sides[at]))
                });
                let Some(k) = hit else { continue };
                // Its own side that runs most nearly the same way.
                let turn = (0..4).max_by(|&i, &j| {
                    let run = |i: usize| (quads[k].side(i).1 - quads[k].side(i).0).dot(side);
                    run(i).total_cmp(&run(j))
                });
                let corners = quads[k].rolled(turn.unwrap_or(0));
                let own = corners.side(0).1 - corners.side(0).0;
                used[k] = true;
                nodes.push(Node { u: u + du, v: v + dv, corners });
                // A neutral step lies straight: it is in the lattice, but shows no way on. 3 degrees tell it.
                if own.unit().cross(side.unit()).abs() < 0.05 {
                    next.push_back((u + du, v + dv, k, own));
                }
            }
        }
        if nodes.len() > best.len() {
            best = nodes;
        }
    }
    best
}

/// The nine bits in a square's middle; `None` where it leaves the frame or its tones cannot be told apart.
fn code(reader: &Reader<'_>, corners: &Quad) -> Option<u16> {
    let unit = [point(-1.0, -1.0), point(1.0, -1.0), point(1.0, 1.0), point(-1.0, 1.0)];
    let map = Homography::from_points(&unit, &corners.0)?;
    let light = |p: Point| Some(reader.at(map.apply(p))?.iter().sum::<f32>());
    // Ink half way between code and edge; paper a little outside.
    let ring = |r: f64| [point(-r, 0.0), point(r, 0.0), point(0.0, -r), point(0.0, r)].map(|p| light(p).map(f64::from));
    let tone = |r: f64| {
        let mut v: Vec<f64> = ring(r).into_iter().flatten().collect();
        (v.len() > 1).then(|| median(&mut v))
    };
    let (ink, paper) = (tone(0.65)?, tone(1.3)?);
    if paper <= 1.5 * ink {
        return None;
    }
    let cell = ruler::CODE_CELL / (ruler::SQUARE / 2.0);
    (0..9).try_fold(0u16, |bits, i| {
        let middle = point((i % 3) as f64 - 1.0, (i / 3) as f64 - 1.0) * cell;
        let taps = [(0.0, 0.0), (-0.2, -0.2), (0.2, -0.2), (0.2, 0.2), (-0.2, 0.2)];
        let sum = taps.iter().try_fold(0.0, |a, &(x, y)| Some(a + f64::from(light(middle + point(x, y) * cell)?)))?;
        Some(bits | u16::from(sum / 5.0 > (ink + paper) / 2.0) << i)
    })
}

/// One way to lay a sheet over the lattice, and how well the codes bear it out.
#[derive(Clone, Copy)]
struct Laying {
    paper: Paper,
    mirrored: bool,
    turns: usize,
    offset: (i32, i32),
    agree: usize,
    compared: usize,
}

impl Laying {
    /// The sheet's column and row of a node; `None` off the sheet.
    fn place(&self, n: &Node) -> Option<(i32, i32)> {
        let (x, y) = self.paper.reach();
        let (c, r) = unturned(n.u, n.v, self.turns, self.mirrored);
        let (c, r) = (c + self.offset.0, r + self.offset.1);
        (c.abs() <= x && r.abs() <= y).then_some((c, r))
    }

    /// The same with its codes counted: how many could be compared, and how many of them agree to a bit.
    fn counted(mut self, read: &[(Node, u16)]) -> Self {
        for (node, bits) in read {
            let Some((col, row)) = self.place(node) else { continue };
            if let Cell::Square(code) = ruler::cell(self.paper, col, row) {
                let shown = ruler::turned_code(code, self.turns, self.mirrored);
                self.compared += 1;
                self.agree += usize::from((shown ^ bits).count_ones() <= 1);
            }
        }
        self
    }

    /// True where so many codes agree that it is no chance.
    fn sure(&self, read: usize) -> bool {
        // A third of what was read may be neutral steps, which have no code.
        let compared = self.compared.max(read * 2 / 3);
        let most = if compared < FEW { compared as f64 - 1.0 } else { AGREE * compared as f64 };
        self.agree >= LEAST_SQUARES && self.agree as f64 >= most
    }
}

/// Which sheet, which part of it and which way round, by the codes that agree.
fn identify(read: &[(Node, u16)]) -> Result<Found, RulerError> {
    let best = layings(read).map(|l| l.counted(read)).max_by_key(|l| l.agree).filter(|l| l.sure(read.len()));
    let Some(best) = best else { return Err(RulerError::Unknown) };
    if best.mirrored {
        return Err(RulerError::Mirrored);
    }
    let known = read.iter().filter_map(|(n, _)| Some((best.place(n)?, n)));
    let squares = known
        .filter(|((col, row), _)| matches!(ruler::cell(best.paper, *col, *row), Cell::Square(_)))
        // Sheet corner i stands at the frame's corner i + turns.
        .map(|((col, row), n)| Detection { col, row, corners: n.corners.rolled(best.turns) });
    Ok(Found { paper: best.paper, squares: squares.collect() })
}

/// Every paper, turn and mirror image at every offset that keeps some of the lattice on the sheet.
fn layings(read: &[(Node, u16)]) -> impl Iterator<Item = Laying> {
    let ways = Paper::ALL.into_iter().flat_map(|p| [false, true].map(|m| (p, m)));
    ways.flat_map(|(p, m)| (0..4).map(move |t| (p, m, t))).flat_map(move |(paper, mirrored, turns)| {
        let placed = read.iter().map(move |(n, _)| unturned(n.u, n.v, turns, mirrored));
        let range = |values: Vec<i32>, reach: i32| {
            let (low, high) = values.iter().fold((i32::MAX, i32::MIN), |(a, b), &v| (a.min(v), b.max(v)));
            if values.is_empty() { 0..0 } else { -reach - high..reach - low + 1 }
        };
        let (x, y) = paper.reach();
        let (across, down) = (range(placed.clone().map(|p| p.0).collect(), x), range(placed.map(|p| p.1).collect(), y));
        down.flat_map(move |dy| across.clone().map(move |dx| (dx, dy))).map(move |offset| Laying {
            paper,
            mirrored,
            turns,
            offset,
            agree: 0,
            compared: 0,
        })
    })
}

/// The sheet's place (up to an offset) of a place as the frame shows it.
fn unturned(u: i32, v: i32, turns: usize, mirrored: bool) -> (i32, i32) {
    let (mut x, mut y) = (u, v);
    // A turn clockwise takes (x, y) to (-y, x).
    (0..turns).for_each(|_| (x, y) = (y, -x));
    (if mirrored { -x } else { x }, y)
}
