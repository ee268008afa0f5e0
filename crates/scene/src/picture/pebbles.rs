//! Gravel, the same all over: fine structure everywhere and no large form.

use super::canvas::{Canvas, V};
use crate::noise::{cell, smooth};

pub fn paint(seed: u32, width: usize, height: usize) -> Canvas {
    let scale = 9.0 + 14.0 * cell(seed ^ 1, 0.5, 0.5);
    let warm = cell(seed ^ 2, 0.5, 0.5);
    Canvas::paint(width, height, |u, v, _| {
        let (x, y) = ((u + 3.0) * scale, (v + 3.0) * scale);
        let (i, j) = (x.floor(), y.floor());
        // The nearest and second nearest of scattered centres: a stone and the gap beside it.
        let (mut near, mut next, mut stone) = (9.0f32, 9.0f32, 0.5);
        for (a, b) in (0..9).map(|k| (i + (k % 3) as f32 - 1.0, j + (k / 3) as f32 - 1.0)) {
            let (p, q) = (a + cell(seed ^ 3, a, b), b + cell(seed ^ 4, a, b));
            let d = (x - p).powi(2) + (y - q).powi(2);
            if d < near {
                (next, near, stone) = (near, d, cell(seed ^ 5, a, b));
            } else {
                next = next.min(d);
            }
        }
        let body = smooth(0.02, 0.25, next.sqrt() - near.sqrt());
        let tone = 0.04 + (0.1 + 0.5 * stone * stone) * body;
        V(tone, tone * 0.97, tone * (1.0 - 0.2 * warm))
    })
}
