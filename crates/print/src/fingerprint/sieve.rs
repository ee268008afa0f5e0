//! The first sieve: small lattices of what is busy and what is calm in a picture, laid over one another at every size and place.

use super::{SIZES, Sums};
use pixels::Plane;

/// Columns and rows of a lattice.
pub(super) const LATTICE: usize = 32;
/// How far one lattice is moved over the other: four cells are an eighth of the window, as [`REACH`].
const CELLS: isize = 4;

/// From here on two lattices are worth a close look.
pub const SIEVE: f64 = 0.4;

/// A lattice to look for among many, at every size that its scene may stand at.
pub struct Sought {
    fine: Vec<AtSize>,
    /// The same in half as many columns and rows: a tenth of the work.
    coarse: Vec<AtSize>,
}

impl Sought {
    /// From a face's lattice.
    pub fn new(lattice: &[u8]) -> Self {
        let sized = |own: &Square| [1.0].into_iter().chain(SIZES).map(|k| AtSize::of(own, k)).collect();
        Square::of(lattice)
            .map_or(Self { fine: vec![], coarse: vec![] }, |own| Self { fine: sized(&own), coarse: sized(&own.half()) })
    }

    /// How like another lattice is, -1 to 1, at the size and wherever one lies over the other best. A first sieve: the same picture
    /// gives more than [`SIEVE`], most others less; what is far below it is told roughly.
    pub fn alike(&self, other: &[u8]) -> f64 {
        let Some(other) = Square::of(other) else { return 0.0 };
        let rough = best(&self.coarse, &other.half());
        // Means of cells are about as alike as the cells; a tenth is left for what they differ by.
        if rough < SIEVE - 0.1 { rough } else { best(&self.fine, &other) }
    }
}

fn best(sizes: &[AtSize], other: &Square) -> f64 {
    let reach = CELLS * other.side as isize / LATTICE as isize;
    let moves = || (-reach..=reach).flat_map(|dy| (-reach..=reach).map(move |dx| [dx, dy]));
    sizes.iter().flat_map(|sized| moves().map(|by| sized.over(other, by))).reduce(f64::max).unwrap_or(0.0)
}

/// Cells of a lattice in as many columns as rows.
struct Square {
    side: usize,
    cells: Vec<i8>,
}

impl Square {
    fn of(lattice: &[u8]) -> Option<Self> {
        let cells = lattice.iter().map(|v| *v as i8).collect();
        (lattice.len() == LATTICE * LATTICE).then_some(Self { side: LATTICE, cells })
    }

    /// Means of four cells.
    fn half(&self) -> Self {
        let (side, n) = (self.side / 2, self.side);
        let mean = |i: usize| {
            let at = 2 * (i / side * n + i % side);
            let sum: i32 = [at, at + 1, at + n, at + n + 1].iter().map(|c| i32::from(self.cells[*c])).sum();
            (sum / 4) as i8
        };
        Self { side, cells: (0..side * side).map(mean).collect() }
    }
}

/// A lattice at one size: rows and columns from `from` to below `to` are of the picture.
struct AtSize {
    cells: Square,
    from: isize,
    to: isize,
}

impl AtSize {
    fn of(own: &Square, k: f64) -> Self {
        let n = own.side;
        let plane = Plane { data: own.cells.iter().map(|v| f32::from(*v)).collect(), width: n, height: n };
        let middle = n as f64 / 2.0;
        let at = |v: usize| middle + (v as f64 + 0.5 - middle) / k;
        let cells = (0..n * n).map(|i| plane.bilinear(at(i % n), at(i / n)).round() as i8).collect();
        // Cells whose whole comes from inside.
        let rim = (middle - middle * k.min(1.0)).ceil() as isize;
        Self { cells: Square { side: n, cells }, from: rim, to: n as isize - rim }
    }

    /// Correlation with another lattice where this one's cell (x, y) lies on its (x + dx, y + dy).
    fn over(&self, other: &Square, [dx, dy]: [isize; 2]) -> f64 {
        let n = other.side;
        let span = |d: isize| self.from.max(-d) as usize..self.to.min(n as isize - d) as usize;
        let (xs, ys) = (span(dx), span(dy));
        // In whole numbers, which is fast; no sum passes 32 x 32 x 127 x 127.
        let mut sums = [0i32; 5];
        for y in ys.clone() {
            let a = &self.cells.cells[y * n..][xs.clone()];
            let b = &other.cells[(y as isize + dy) as usize * n..][(xs.start as isize + dx) as usize..][..xs.len()];
            for (a, b) in a.iter().zip(b).map(|(a, b)| (i32::from(*a), i32::from(*b))) {
                sums = [sums[0] + a, sums[1] + b, sums[2] + a * a, sums[3] + b * b, sums[4] + a * b];
            }
        }
        let [a, b, aa, bb, ab] = sums.map(f64::from);
        Sums { n: (xs.len() * ys.len()) as f64, a, b, aa, bb, ab }.correlation()
    }
}
