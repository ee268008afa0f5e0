//! Lays a lattice through flat rectangles of one size.

use crate::chart::patches::Region;
use geometry::fit::median;
use geometry::{Homography, Point, point};
use std::collections::{BTreeMap, HashMap, VecDeque};

/// A region that is a patch, with its row and column.
#[derive(Clone, Copy, Debug)]
pub struct Cell {
    /// Row.
    pub row: usize,
    /// Column.
    pub col: usize,
    /// Index of its region.
    pub region: usize,
}

/// A lattice with the regions that lie in it.
#[derive(Clone, Debug)]
pub struct Lattice {
    /// Rows.
    pub rows: usize,
    /// Columns.
    pub cols: usize,
    /// Cell units to picture pixels.
    pub picture_from_cell: Homography,
    /// Width and height of a patch in cells.
    pub patch_cells: [f64; 2],
    /// The patches seen.
    pub cells: Vec<Cell>,
    /// Root mean square distance of the patches' middles from the lattice, in cells.
    pub misfit: f64,
}

/// Sizes of one chart's patches, after noise has nibbled at them, lie within this factor.
const SIZE_FACTOR: f64 = 1.35;
/// Cosine of the greatest angle between the sides of two patches of one chart: 8 degrees.
const ALIGNED: f64 = 0.990;
/// Pitch over patch size: from touching patches to gaps as wide as they are. Flat parts are smaller than their patches.
const PITCH: [f64; 2] = [0.95, 2.6];
/// How far beside its row a neighbour may lie, in sizes of the patch.
const ASIDE: f64 = 0.35;
/// A neighbour is where the pitch says to within this share of it.
const NEAR: f64 = 0.22;
/// Least patches of a lattice: fewer are too often there by chance.
const LEAST: usize = 4;
/// An outermost row or column with less than this share of its cells seen is not the chart's.
const LEAST_LINE: f64 = 0.4;

/// Every lattice of [`LEAST`] or more patches, one for each group of regions of a size.
pub fn lattices(regions: &[Region]) -> Vec<Lattice> {
    let mut used = vec![false; regions.len()];
    let mut all = Vec::new();
    for seed in 0..regions.len() {
        if used[seed] {
            continue;
        }
        let alike: Vec<usize> = (0..regions.len()).filter(|&i| similar(&regions[seed], &regions[i])).collect();
        if alike.len() < LEAST {
            continue;
        }
        if let Some(lattice) = lattice(regions, &Group::new(regions, alike.clone())) {
            // What lies in this lattice, twice seen or not, starts no other.
            let near = |i: usize| lattice.holds(regions[i].centre);
            alike.iter().filter(|&&i| near(i)).for_each(|&i| used[i] = true);
            all.push(lattice);
        }
    }
    all
}

/// Regions of one size, with an index by place: a page of text has thousands of them, and each asks for its neighbours.
struct Group {
    /// Their indices, rising.
    members: Vec<usize>,
    /// Side of a square of the index, pixels.
    side: f64,
    squares: HashMap<(i32, i32), Vec<usize>>,
}

impl Group {
    fn new(regions: &[Region], members: Vec<usize>) -> Self {
        // About the distance of two patches, so that a search looks into a few squares that hold a few regions each.
        let side = members.first().map_or(1.0, |&i| regions[i].size[0].max(regions[i].size[1])).max(1.0);
        let mut squares: HashMap<(i32, i32), Vec<usize>> = HashMap::new();
        for &i in &members {
            squares.entry(square(regions[i].centre, side)).or_default().push(i);
        }
        Self { members, side, squares }
    }

    /// The members in the squares that come within `reach` of a place, and so at least those that do so themselves.
    fn around(&self, p: Point, reach: f64) -> impl Iterator<Item = usize> + '_ {
        let (low, high) = (square(p - point(reach, reach), self.side), square(p + point(reach, reach), self.side));
        let squares = (low.0..=high.0).flat_map(move |i| (low.1..=high.1).map(move |j| (i, j)));
        squares.filter_map(|at| self.squares.get(&at)).flatten().copied()
    }
}

/// The square of an index that a place lies in.
fn square(p: Point, side: f64) -> (i32, i32) {
    ((p.x / side).floor() as i32, (p.y / side).floor() as i32)
}

fn similar(a: &Region, b: &Region) -> bool {
    let close = |x: f64, y: f64| x < y * SIZE_FACTOR && y < x * SIZE_FACTOR;
    a.axes[0].dot(b.axes[0]) > ALIGNED && (0..2).all(|k| close(a.size[k], b.size[k]))
}

fn lattice(regions: &[Region], alike: &Group) -> Option<Lattice> {
    let across = pitch(regions, alike, 0)?;
    let down = pitch(regions, alike, 1)?;
    let mut index = walk(regions, alike, across, down);
    let mut map = None;
    // Each round fits the lattice to what lies in it and looks again for what else does.
    for _ in 0..4 {
        let (from, to): (Vec<Point>, Vec<Point>) =
            index.iter().map(|(&(i, j), &r)| (point(i as f64, j as f64), regions[r].centre)).unzip();
        let fit = fitted(&from, &to)?;
        index = gathered(regions, &alike.members, &fit)?;
        map = Some(fit);
    }
    let map = map?;
    let (low, high) = trimmed(&index)?;
    index.retain(|k, _| k.0 >= low.0 && k.0 <= high.0 && k.1 >= low.1 && k.1 <= high.1);
    let (cols, rows) = ((high.0 - low.0 + 1) as usize, (high.1 - low.1 + 1) as usize);
    if cols < 2 || rows < 2 || index.len() < LEAST {
        return None;
    }
    let cells: Vec<Cell> = index
        .iter()
        .map(|(&(i, j), &region)| Cell { row: (j - low.1) as usize, col: (i - low.0) as usize, region })
        .collect();
    // Middles sit at half cells.
    let shift = Homography::scale_then_move(1.0, low.0 as f64 - 0.5, low.1 as f64 - 0.5);
    let picture_from_cell = map.then_after(&shift);
    let back = picture_from_cell.inverse()?;
    let off = |c: &Cell| back.apply(regions[c.region].centre).distance(point(c.col as f64 + 0.5, c.row as f64 + 0.5));
    let misfit = (cells.iter().map(|c| off(c).powi(2)).sum::<f64>() / cells.len() as f64).sqrt();
    let share = |k: usize, step: Point| {
        median(&mut cells.iter().map(|c| regions[c.region].size[k] / step.norm()).collect::<Vec<_>>()).min(1.0)
    };
    Some(Lattice { rows, cols, picture_from_cell, patch_cells: [share(0, across), share(1, down)], cells, misfit })
}

/// The step to the next patch along axis `k`: the median over all that have one there.
fn pitch(regions: &[Region], alike: &Group, k: usize) -> Option<Point> {
    let next = |a: &Region| {
        // The farthest that the conditions below let pass.
        let reach = (PITCH[1] * a.size[k]).hypot(ASIDE * a.size[1 - k]);
        alike
            .around(a.centre, reach)
            .map(|i| regions[i].centre - a.centre)
            .filter(|d| {
                let (along, aside) = (d.dot(a.axes[k]), d.dot(a.axes[1 - k]).abs());
                (PITCH[0] * a.size[k]..=PITCH[1] * a.size[k]).contains(&along) && aside < ASIDE * a.size[1 - k]
            })
            .min_by(|a, b| a.norm().total_cmp(&b.norm()))
    };
    let steps: Vec<Point> = alike.members.iter().filter_map(|&i| next(&regions[i])).collect();
    let middle = |f: fn(&Point) -> f64| median(&mut steps.iter().map(f).collect::<Vec<_>>());
    (steps.len() >= 2).then(|| point(middle(|p| p.x), middle(|p| p.y)))
}

type Index = BTreeMap<(i32, i32), usize>;

/// Walks from patch to patch, numbering them by columns and rows; the largest connected part.
fn walk(regions: &[Region], alike: &Group, across: Point, down: Point) -> Index {
    let reach = NEAR * across.norm().min(down.norm());
    let at = |p: Point| alike.around(p, reach).filter(|&i| regions[i].centre.distance(p) < reach).min();
    let mut best = Index::new();
    let mut seen = vec![false; regions.len()];
    for &start in &alike.members {
        if seen[start] {
            continue;
        }
        seen[start] = true;
        let mut index = Index::from([((0, 0), start)]);
        let mut queue = VecDeque::from([((0, 0), start)]);
        while let Some(((i, j), r)) = queue.pop_front() {
            for (di, dj) in [(1, 0), (-1, 0), (0, 1), (0, -1)] {
                let p = regions[r].centre + across * f64::from(di) + down * f64::from(dj);
                let Some(n) = at(p).filter(|&n| !seen[n]) else { continue };
                seen[n] = true;
                index.insert((i + di, j + dj), n);
                queue.push_back(((i + di, j + dj), n));
            }
        }
        if index.len() > best.len() {
            best = index;
        }
    }
    best
}

/// The homography of the matches; where they are few, an affine map, which four points of a noisy 2 by 2 do not bend.
fn fitted(from: &[Point], to: &[Point]) -> Option<Homography> {
    if from.len() >= 8 {
        return Homography::from_points(from, to);
    }
    let solve = |f: fn(&Point) -> f64| {
        let mut s = geometry::solve::LeastSquares::new(3);
        from.iter().zip(to).for_each(|(a, b)| s.add(&[a.x, a.y, 1.0], f(b), 1.0));
        s.solve(0.0)
    };
    let (x, y) = (solve(|p| p.x)?, solve(|p| p.y)?);
    Some(Homography([[x[0], x[1], x[2]], [y[0], y[1], y[2]], [0.0, 0.0, 1.0]]))
}

/// The regions that lie at whole places of the lattice, nearest first come.
fn gathered(regions: &[Region], alike: &[usize], map: &Homography) -> Option<Index> {
    let back = map.inverse()?;
    let mut places: Vec<(f64, (i32, i32), usize)> = alike
        .iter()
        .filter_map(|&r| {
            let p = back.apply(regions[r].centre);
            let off = p.distance(point(p.x.round(), p.y.round()));
            (off < NEAR && p.norm() < 1e3).then_some((off, (p.x.round() as i32, p.y.round() as i32), r))
        })
        .collect();
    places.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut index = Index::new();
    for (_, at, r) in places {
        index.entry(at).or_insert(r);
    }
    Some(index)
}

/// The least and greatest column and row after lines with too few patches are cut off the outside.
fn trimmed(index: &Index) -> Option<((i32, i32), (i32, i32))> {
    let bound = |f: fn(&(i32, i32)) -> i32| Some((index.keys().map(f).min()?, index.keys().map(f).max()?));
    let (mut i, mut j) = (bound(|k| k.0)?, bound(|k| k.1)?);
    loop {
        let inside = |k: &&(i32, i32)| k.0 >= i.0 && k.0 <= i.1 && k.1 >= j.0 && k.1 <= j.1;
        let col = |c: i32| index.keys().filter(inside).filter(|k| k.0 == c).count() as f64 / f64::from(j.1 - j.0 + 1);
        let row = |r: i32| index.keys().filter(inside).filter(|k| k.1 == r).count() as f64 / f64::from(i.1 - i.0 + 1);
        let lines = [col(i.0), col(i.1), row(j.0), row(j.1)];
        let worst = (0..4).min_by(|&a, &b| lines[a].total_cmp(&lines[b]))?;
        if lines[worst] >= LEAST_LINE {
            return Some(((i.0, j.0), (i.1, j.1)));
        }
        match worst {
            0 => i.0 += 1,
            1 => i.1 -= 1,
            2 => j.0 += 1,
            _ => j.1 -= 1,
        }
        if i.0 > i.1 || j.0 > j.1 {
            return None;
        }
    }
}

impl Lattice {
    /// True where a picture position is inside.
    fn holds(&self, p: Point) -> bool {
        let q = self.picture_from_cell.inverse().map(|h| h.apply(p));
        q.is_some_and(|q| q.x > 0.0 && q.y > 0.0 && q.x < self.cols as f64 && q.y < self.rows as f64)
    }

    /// The same lattice with this many rows and columns, in whichever order holds more of the patches seen; `None` where it
    /// has more lines than that both ways.
    pub fn with_grid(&self, rows: usize, cols: usize) -> Option<Self> {
        let fits = |(r, c): (usize, usize)| self.rows <= r && self.cols <= c;
        let (r, c) = [(rows, cols), (cols, rows)].into_iter().find(|&g| fits(g))?;
        // A line that was not seen lies on the side where the lattice has fewest patches in its outermost line.
        let weak = |f: fn(&Cell) -> usize, last: usize| {
            let count = |n: usize| self.cells.iter().filter(|x| f(x) == n).count();
            count(0) < count(last)
        };
        let before = |missing: usize, weak_start: bool| if weak_start { missing } else { 0 };
        let top = before(r - self.rows, weak(|x| x.row, self.rows - 1));
        let left = before(c - self.cols, weak(|x| x.col, self.cols - 1));
        let shift = Homography::scale_then_move(1.0, -(left as f64), -(top as f64));
        Some(Self {
            rows: r,
            cols: c,
            picture_from_cell: self.picture_from_cell.then_after(&shift),
            cells: self.cells.iter().map(|x| Cell { row: x.row + top, col: x.col + left, ..*x }).collect(),
            ..self.clone()
        })
    }
}
