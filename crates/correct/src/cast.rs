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
