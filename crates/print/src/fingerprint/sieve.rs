//! The first sieve: small lattices of what is busy and what is calm in a picture, laid over one another at every size and place.
//!
//! Every new print is compared with all that are here, so that the cost of one comparison is what a box of thousands feels. All
//! that does not depend on both lattices is made once: sums of the sought one for each size and place, sums of the other over any
//! rectangle from a table of sums. What remains is one sum of products: both lattices have a rim of noughts, so that a move is a place to
//! begin at, and compilers make vectors of it. The sums are whole numbers, so that the answer is to the last bit that of adding up cell by
//! cell.

use super::{SIZES, Sums};
use pixels::Plane;
use wide::{i16x8, i32x4};

/// Columns and rows of a lattice.
pub(super) const LATTICE: usize = 32;
/// The same of its coarse form.
const HALF: usize = LATTICE / 2;
/// How far one lattice is moved over the other: an eighth of its side, which is an eighth of the window, as [`REACH`].
const PART: usize = 8;

/// From here on two lattices are worth a close look.
pub const SIEVE: f64 = 0.4;

/// A lattice to look for among many, at every size that its scene may stand at.
pub struct Sought {
    fine: Vec<AtSize<LATTICE>>,
    /// The same in half as many columns and rows: a tenth of the work.
    coarse: Vec<AtSize<HALF>>,
}

impl Sought {
    /// From a face's lattice.
    pub fn new(lattice: &[u8]) -> Self {
        let sizes = || [1.0].into_iter().chain(SIZES);
        square(lattice).map_or(Self { fine: vec![], coarse: vec![] }, |own| Self {
            fine: sizes().map(|k| AtSize::of(&own, k)).collect(),
            coarse: sizes().map(|k| AtSize::of(&half(&own), k)).collect(),
        })
    }

    /// How like another lattice is, -1 to 1, at the size and wherever one lies over the other best. A first sieve: the same picture
    /// gives more than [`SIEVE`], most others less; what is far below it is told roughly.
    pub fn alike(&self, other: &[u8]) -> f64 {
        let Some(other) = square(other) else { return 0.0 };
        let small = Other::of(&half(&other));
        let rough: Vec<Vec<f64>> = self.coarse.iter().map(|sized| sized.correlations(&small)).collect();
        let likely = |of: &[f64]| of.iter().any(|c| *c >= LIKELY);
        if !rough.iter().any(|of| likely(of)) {
            return rough.into_iter().flatten().reduce(f64::max).unwrap_or(0.0);
        }
        let other = Other::of(&other);
        let sizes = self.fine.iter().zip(&rough).filter(|(_, rough)| likely(rough));
        sizes.fold(None, |best, (sized, rough)| sized.best_near(rough, &other, best)).unwrap_or(0.0)
    }
}

/// From here on a coarse comparison calls for a fine one at its size and around its place: means of cells are about as alike as the
/// cells; a tenth is left for what they differ by.
const LIKELY: f64 = SIEVE - 0.1;

/// True where a move of a fine lattice has a likely coarse one beside it; `rough` are those of all moves of the coarse one, row by row.
fn is_near(rough: &[f64], by: [isize; 2]) -> bool {
    const REACH: isize = (HALF / PART) as isize;
    let beside = |d: isize| [d.div_euclid(2), (d + 1).div_euclid(2)];
    let at = |x: isize, y: isize| rough[((y + REACH) * (2 * REACH + 1) + x + REACH) as usize];
    beside(by[1]).iter().any(|y| beside(by[0]).iter().any(|x| at(*x, *y) >= LIKELY))
}

/// Cells of a lattice in as many columns as rows.
type Square<const N: usize> = [[i16; N]; N];

fn square(lattice: &[u8]) -> Option<Square<LATTICE>> {
    let cell = |y: usize, x: usize| i16::from(lattice[y * LATTICE + x] as i8);
    (lattice.len() == LATTICE * LATTICE).then(|| std::array::from_fn(|y| std::array::from_fn(|x| cell(y, x))))
}

/// Means of four cells.
fn half(own: &Square<LATTICE>) -> Square<HALF> {
    let sum = |y: usize, x: usize| own[y][x] + own[y][x + 1] + own[y + 1][x] + own[y + 1][x + 1];
    std::array::from_fn(|y| std::array::from_fn(|x| sum(2 * y, 2 * x) / 4))
}

/// A place of one lattice over another: moved by so many cells, and what of it then lies on the other.
struct Place {
    by: [isize; 2],
    /// Columns and rows of the other that it lies on, from and to below.
    xs: [usize; 2],
    ys: [usize; 2],
    /// Cells that lie on it, their sum and that of their squares.
    n: i32,
    sum: i32,
    squares: i32,
}

/// A lattice at one size, with every place it is tried at.
struct AtSize<const N: usize> {
    /// Its rows, with noughts at both ends of each as in [`Other`], and where the picture at this size has no whole cell.
    cells: Vec<i16>,
    /// The row that they begin with.
    from: usize,
    places: Vec<Place>,
}

impl<const N: usize> AtSize<N> {
    fn of(own: &Square<N>, k: f64) -> Self {
        let plane = Plane { data: own.iter().flatten().map(|v| f32::from(*v)).collect(), width: N, height: N };
        let middle = N as f64 / 2.0;
        let at = |v: usize| middle + (v as f64 + 0.5 - middle) / k;
        // Cells whose whole comes from inside.
        let rim = (middle - middle * k.min(1.0)).ceil() as usize;
        let rows = [rim, N - rim];
        let inside = |v: usize| (rows[0]..rows[1]).contains(&v);
        let cell = |y: usize, x: usize| {
            if inside(x) && inside(y) { i16::from(plane.bilinear(at(x), at(y)).round() as i8) } else { 0 }
        };
        let square: Square<N> = std::array::from_fn(|y| std::array::from_fn(|x| cell(y, x)));
        let reach = (N / PART) as isize;
        let moves = (-reach..=reach).flat_map(|dy| (-reach..=reach).map(move |dx| [dx, dy]));
        let places = moves.map(|by| Place::of(&square, rows, by)).collect();
        let cells = square[rows[0]..rows[1]].iter().flat_map(rimmed).collect();
        Self { cells, from: rows[0], places }
    }

    /// The correlation with another lattice at every place, row by row.
    fn correlations(&self, other: &Other<N>) -> Vec<f64> {
        self.places.iter().map(|place| self.sums(place, other).correlation()).collect()
    }

    /// The largest correlation with another lattice at places near likely ones, and at least `best`.
    fn best_near(&self, rough: &[f64], other: &Other<N>, mut best: Option<f64>) -> Option<f64> {
        for place in self.places.iter().filter(|place| is_near(rough, place.by)) {
            let sums = self.sums(place, other);
            if best.is_none_or(|best| may_pass(&sums, best)) {
                best = Some(sums.correlation().max(best.unwrap_or(f64::NEG_INFINITY)));
            }
        }
        best
    }

    /// Sums over the cells that lie on one another: this one's (x, y) on the other's (x + dx, y + dy).
    fn sums(&self, place: &Place, other: &Other<N>) -> Sums {
        let ab = products(&self.cells, other.from(self.from, place.by));
        let [b, bb] = other.over(place.xs, place.ys);
        let [n, a, b, aa, bb, ab] = [place.n, place.sum, b, place.squares, bb, ab].map(f64::from);
        Sums { n, a, b, aa, bb, ab }
    }
}

/// False only where a correlation is surely not over `best`: both sides squared and without a quotient, with more room than rounding takes.
/// The numbers themselves are whole and below 2^53.
fn may_pass(s: &Sums, best: f64) -> bool {
    let cov = s.ab * s.n - s.a * s.b;
    best <= 0.0
        || cov > 0.0 && cov * cov > (1.0 - 1e-9) * best * best * (s.aa * s.n - s.a * s.a) * (s.bb * s.n - s.b * s.b)
}

/// Products of two rows of cells, summed up; no such sum passes 32 x 32 x 128 x 128.
fn products(a: &[i16], b: &[i16]) -> i32 {
    let eights = a.as_chunks::<8>().0.iter().zip(b.as_chunks::<8>().0);
    eights.fold(i32x4::ZERO, |sum, (a, b)| sum + i16x8::new(*a).dot(i16x8::new(*b))).reduce_add()
}

/// Cells from row to row with the noughts between them: a lattice is moved by so many at the most on either side. A multiple of eight.
const fn wide(n: usize) -> usize {
    (n + 2 * (n / PART)).next_multiple_of(8)
}

/// A row with noughts at both ends.
fn rimmed<const N: usize>(row: &[i16; N]) -> impl Iterator<Item = i16> {
    let rim = |n| std::iter::repeat_n(0, n);
    rim(N / PART).chain(row.iter().copied()).chain(rim(wide(N) - N - N / PART))
}

impl Place {
    fn of<const N: usize>(cells: &Square<N>, rows: [usize; 2], by: [isize; 2]) -> Self {
        let span = |d: isize| [rows[0].max((-d).max(0) as usize), rows[1].min((N as isize - d.max(0)) as usize)];
        let ([x0, x1], [y0, y1]) = (span(by[0]), span(by[1]));
        let on = |v: [usize; 2], d: isize| v.map(|v| (v as isize + d) as usize);
        let lying = cells[y0..y1].iter().flat_map(|row| &row[x0..x1]).map(|v| i32::from(*v));
        let (n, sum, squares) = lying.fold((0, 0, 0), |(n, s, q), v| (n + 1, s + v, q + v * v));
        Self { by, xs: on([x0, x1], by[0]), ys: on([y0, y1], by[1]), n, sum, squares }
    }
}

/// The lattice that another is laid over.
struct Other<const N: usize> {
    /// Its rows with noughts at both ends of each, and rows of noughts above and below, as far as anything is moved.
    cells: Vec<i16>,
    /// Sum of its cells, and of their squares, left of and above each corner (Crow 1984, from memory).
    sums: Vec<[i32; 2]>,
}

impl<const N: usize> Other<N> {
    const RIM: usize = N / PART;
    const WIDE: usize = wide(N);

    fn of(own: &Square<N>) -> Self {
        let none = || std::iter::repeat_n(0, Self::WIDE * Self::RIM);
        // A few more at both ends: the first row of a lattice may be moved to the left, the last to the right.
        let few = || std::iter::repeat_n(0, Self::RIM);
        let rows = own.iter().flat_map(rimmed);
        let cells = few().chain(none()).chain(rows).chain(none()).chain(few()).collect();
        let mut sums = vec![[0; 2]; (N + 1) * (N + 1)];
        for (y, row) in own.iter().enumerate() {
            let mut along = [0; 2];
            for (x, v) in row.iter().map(|v| i32::from(*v)).enumerate() {
                along = [along[0] + v, along[1] + v * v];
                let above = sums[y * (N + 1) + x + 1];
                sums[(y + 1) * (N + 1) + x + 1] = [above[0] + along[0], above[1] + along[1]];
            }
        }
        Self { cells, sums }
    }

    /// What lies under row `y` and those after it of a lattice moved by so many cells, with their ends.
    fn from(&self, y: usize, by: [isize; 2]) -> &[i16] {
        let first = (y + Self::RIM).wrapping_add_signed(by[1]) * Self::WIDE + Self::RIM;
        &self.cells[first.wrapping_add_signed(by[0])..]
    }

    /// Sum of the cells in a rectangle, and of their squares.
    fn over(&self, [x0, x1]: [usize; 2], [y0, y1]: [usize; 2]) -> [i32; 2] {
        let at = |x: usize, y: usize| self.sums[y * (N + 1) + x];
        std::array::from_fn(|i| at(x1, y1)[i] - at(x0, y1)[i] - at(x1, y0)[i] + at(x0, y0)[i])
    }
}

#[cfg(test)]
mod plain;
