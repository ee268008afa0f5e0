//! Rows of coloured patches on a dark or pale card: what a colour chart looks like in somebody's picture.

use super::canvas::{Canvas, V};
use crate::noise::{cell, smooth, value};

pub fn paint(seed: u32, width: usize, height: usize) -> Canvas {
    let pick = |k: u32| value(seed ^ k, 0.5, 0.5);
    let (columns, rows) = (3.0 + (4.0 * pick(1)).floor(), 2.0 + (4.0 * pick(2)).floor());
    let card = V(0.05, 0.05, 0.05).mix(V(0.75, 0.74, 0.72), (pick(3) > 0.4) as u8 as f32);
    let gap = 0.6 + 0.35 * pick(4);
    let half = width as f32 / height as f32;
    Canvas::paint(width, height, |u, v, size| {
        let (x, y) = ((u / half / 0.92 + 1.0) / 2.0 * columns, (v / 0.92 + 1.0) / 2.0 * rows);
        let (i, j) = (x.floor(), y.floor());
        let far = 2.0 * (x - i - 0.5).abs().max((y - j - 0.5).abs());
        let on_card = (0.0..columns).contains(&x) && (0.0..rows).contains(&y);
        let edge = size * columns.max(rows);
        let tone = |k: u32| 0.02 + 0.8 * cell(seed ^ k, i + 5.0, j + 5.0).powi(2);
        let patch = V(tone(5), tone(6), tone(7));
        let cover = if on_card { smooth(edge, -edge, far - gap) } else { 0.0 };
        card.mix(patch, cover)
    })
}
