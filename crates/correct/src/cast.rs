//! Casts a print's shadow anew: the visible share of a chosen light at each place of the bed, as a shade like a measured one.

use crate::canvas::Canvas;
use pixels::Plane;
use print::lift::Throw;
use print::shadow::Shade;
use rayon::prelude::*;

/// Pixels of a cell: where its corners and its neighbours' see all of the light, or none, so does it. At the working scale of ten
/// pixels to the millimetre a cell is under half a millimetre.
const CELL: usize = 4;
/// Within so much of the print's edge every pixel is asked by itself, mm: a flat print's shadow is no wider.
const RING: f64 = 0.8;
/// What lies deeper under the print than this is never seen, mm.
const DEEP: f64 = 1.0;

/// The shade of a throw on a working canvas.
pub fn shade(throw: &Throw, canvas: &Canvas) -> Shade {
    let (w, h) = (canvas.width, canvas.height);
    let (columns, rows) = (w.div_ceil(CELL), h.div_ceil(CELL));
    let inset = |x: f64, y: f64| {
        let [l, t, r, b] = canvas.print;
        (x - l).min(r - x).min(y - t).min(b - y) / canvas.px_per_mm
    };
    let seen = |x: f64, y: f64| throw.visible(canvas.print_from_canvas(x, y));
    let node = |k: usize| {
        let (x, y) = ((k % (columns + 1) * CELL) as f64, (k / (columns + 1) * CELL) as f64);
        let deep = inset(x, y);
        if deep > DEEP {
            Cell::Hidden
        } else if deep > -RING {
            Cell::Mixed
        } else {
            Cell::of(seen(x, y))
        }
    };
    let nodes: Vec<Cell> = (0..(columns + 1) * (rows + 1)).into_par_iter().map(node).collect();
    let cell = |i: usize, j: usize| {
        let mut all = None;
        for b in j.saturating_sub(1)..=(j + 2).min(rows) {
            for a in i.saturating_sub(1)..=(i + 2).min(columns) {
                let n = nodes[b * (columns + 1) + a];
                if *all.get_or_insert(n) != n {
                    return Cell::Mixed;
                }
            }
        }
        all.unwrap_or(Cell::Lit)
    };
    let mut darkness = Plane::filled(w, h, 0.0);
    darkness.data.par_chunks_mut(w * CELL).enumerate().for_each(|(j, band)| {
        let kinds: Vec<Cell> = (0..columns).map(|i| cell(i, j)).collect();
        for (y, row) in band.chunks_mut(w).enumerate() {
            for (x, out) in row.iter_mut().enumerate() {
                let (cx, cy) = (x as f64 + 0.5, (j * CELL + y) as f64 + 0.5);
                let visible = match kinds[x / CELL] {
                    Cell::Hidden => continue,
                    Cell::Lit => 1.0,
                    Cell::Dark => 0.0,
                    Cell::Mixed => seen(cx, cy),
                };
                *out = (1.0 - throw.share(canvas.print_from_canvas(cx, cy), visible)).clamp(0.0, 1.0) as f32;
            }
        }
    });
    Shade { darkness, unevenness: 0.0, level: 1.0, px_per_mm: canvas.px_per_mm }
}

/// What a place sees of the light.
#[derive(Clone, Copy, PartialEq)]
enum Cell {
    Lit,
    Dark,
    Mixed,
    /// Deep under the print.
    Hidden,
}

impl Cell {
    fn of(visible: f64) -> Self {
        if visible >= 1.0 {
            Self::Lit
        } else if visible <= 0.0 {
            Self::Dark
        } else {
            Self::Mixed
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geometry::point;
    use print::lift::{CastLight, Lift};

    const SIZE: (f64, f64) = (40.0, 50.0);

    fn lift(height: f64) -> Lift {
        Lift::level(SIZE, height, 180.0, 0.0)
    }

    fn throw(height: f64, azimuth_deg: f64, size_deg: f64) -> Throw {
        let (w, h) = SIZE;
        let from_mm = point(w / 2.0, h / 2.0);
        let light = CastLight { azimuth_deg, elevation_deg: 45.0, size_deg, distance_mm: 1e6, from_mm };
        Throw::new(&lift(height), SIZE, 0.0, &light, 0.0)
    }

    /// Beside a long edge the darkness is one less `clip((e + a - atan(h / x)) / 2a)` (closed form), soft or hard, high or low, and it
    /// falls outwards without a step back.
    #[test]
    fn the_shade_is_the_closed_form_beside_a_long_edge() {
        let canvas = Canvas::around(SIZE, [12.0; 4], 10.0);
        let middle = canvas.height / 2;
        for (height, size) in [(0.5f64, 4.0f64), (2.0, 12.0), (4.0, 30.0)] {
            let shade = shade(&throw(height, 180.0, size), &canvas);
            let half = (size / 2.0).to_radians();
            let row: Vec<f32> =
                (canvas.print[2] as usize..canvas.width).map(|x| shade.darkness.get(x, middle)).collect();
            assert!(row.windows(2).all(|w| w[1] <= w[0] + 1e-6), "{row:?}");
            for (k, got) in row.iter().enumerate() {
                let x = (k as f64 + 0.5) / 10.0;
                let lit = ((45f64.to_radians() + half - (height / x).atan()) / (2.0 * half)).clamp(0.0, 1.0);
                // A flat face seen slantwise is no even angle: a hundredth for each ten degrees of it.
                let slack = 0.01 + 0.001 * size;
                assert!((1.0 - lit - f64::from(*got)).abs() < slack, "{height} {size} {x}: {got} for {}", 1.0 - lit);
            }
        }
    }

    /// What is taken from a cell is what each of its places would say.
    #[test]
    fn cells_lose_nothing() {
        let canvas = Canvas::around(SIZE, [12.0; 4], 10.0);
        let throw = throw(3.0, 205.0, 3.0);
        let shade = shade(&throw, &canvas);
        for y in (0..canvas.height).step_by(3) {
            for x in (0..canvas.width).step_by(3) {
                let p = canvas.print_from_canvas(x as f64 + 0.5, y as f64 + 0.5);
                let inside = p.x.min(SIZE.0 - p.x).min(p.y).min(SIZE.1 - p.y);
                if inside < 0.0 {
                    let want = 1.0 - throw.share(p, throw.visible(p));
                    assert!((f64::from(shade.darkness.get(x, y)) - want).abs() < 1e-6, "{x} {y}");
                }
            }
        }
    }
}
