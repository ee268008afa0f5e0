//! A smooth quantity over a frame, kept coarse.

use crate::Picture;

/// Three smooth bands over a frame: `grid` pixel (i, j) holds the value at frame position ((i + 0.5) step, (j + 0.5) step).
#[derive(Clone, Debug)]
pub struct Field {
    /// The coarse values, row major.
    pub grid: Picture,
    /// Frame pixels per grid cell.
    pub step: f64,
}

impl Field {
    /// The value at a frame position, bilinear between cell centres; within the half cell along the rim, and past it,
    /// the slope of the outermost two cells goes on.
    pub fn at(&self, x: f64, y: f64) -> [f32; 3] {
        let (i, fx) = place(x / self.step, self.grid.width());
        let (j, fy) = place(y / self.step, self.grid.height());
        std::array::from_fn(|b| {
            let p = &self.grid.0[b];
            let across = |j: usize| p.get(i.0, j) * (1.0 - fx) + p.get(i.1, j) * fx;
            across(j.0) * (1.0 - fy) + across(j.1) * fy
        })
    }

    /// The values along a row of the frame, at height `y`: for whoever asks for many of them.
    pub fn row(&self, y: f64) -> FieldRow {
        let (j, fy) = place(y / self.step, self.grid.height());
        let cell = |i: usize| -> [f32; 3] {
            std::array::from_fn(|b| {
                let p = &self.grid.0[b];
                p.get(i, j.0) * (1.0 - fy) + p.get(i, j.1) * fy
            })
        };
        FieldRow { cells: (0..self.grid.width()).map(cell).collect(), step: self.step }
    }

    /// Multiplies every value by `gain` of its frame position.
    pub fn scale(&mut self, gain: impl Fn(f64, f64) -> [f64; 3]) {
        for j in 0..self.grid.height() {
            for i in 0..self.grid.width() {
                let g = gain((i as f64 + 0.5) * self.step, (j as f64 + 0.5) * self.step);
                let at = j * self.grid.width() + i;
                (0..3).for_each(|b| self.grid.0[b].data[at] *= g[b] as f32);
            }
        }
    }
}

/// The values of a [`Field`] along a row of the frame.
#[derive(Clone, Debug)]
pub struct FieldRow {
    cells: Vec<[f32; 3]>,
    step: f64,
}

impl FieldRow {
    /// As [`Field::at`] at this row's height.
    #[inline]
    pub fn at(&self, x: f64) -> [f32; 3] {
        let (i, fx) = place(x / self.step, self.cells.len());
        let (a, b) = (self.cells[i.0], self.cells[i.1]);
        std::array::from_fn(|c| a[c] * (1.0 - fx) + b[c] * fx)
    }
}

/// The two cells around grid position `t` (centres at +0.5) and the share of the second, which leaves 0..1 past the rim.
fn place(t: f64, n: usize) -> ((usize, usize), f32) {
    let i = (t - 0.5).floor().clamp(0.0, n.saturating_sub(2) as f64) as usize;
    // One cell past the rim is as far as a slope is worth trusting.
    ((i, (i + 1).min(n - 1)), (t.clamp(-1.0, n as f64 + 1.0) - 0.5 - i as f64) as f32)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Plane;

    #[test]
    fn a_plane_is_returned_exactly_to_the_rim() {
        let grid =
            Picture([1.0, 2.0, 3.0].map(|k| Plane::from_fn(4, 3, |x, y| k * (x as f32 + 0.5) - (y as f32 + 0.5))));
        let f = Field { grid, step: 10.0 };
        for (x, y) in [(0.0, 0.0), (40.0, 30.0), (17.0, 22.0)] {
            let v = f.at(x, y);
            let row = f.row(y).at(x);
            (0..3).for_each(|b| assert!((v[b] as f64 - ((b + 1) as f64 * x - y) / 10.0).abs() < 1e-5));
            (0..3).for_each(|b| assert!((v[b] - row[b]).abs() < 1e-5));
        }
        let flat = Field { grid: Picture([(); 3].map(|_| Plane::filled(1, 1, 0.5))), step: 10.0 };
        assert_eq!(flat.at(3.0, 40.0), [0.5; 3]);
    }
}
