//! A wall of window panes: rectangles inside rectangles, as decoys for the window's own edges.

use super::canvas::{Canvas, V};
use crate::noise::{cell, fbm, smooth, value};

pub fn paint(seed: u32, width: usize, height: usize) -> Canvas {
    let pick = |k: u32| value(seed ^ k, 0.5, 0.5);
    let (columns, rows) = (1.0 + (3.0 * pick(1)).floor(), 1.0 + (3.0 * pick(2)).floor());
    let wall = V(0.16, 0.13, 0.11).mix(V(0.7, 0.66, 0.58), pick(3));
    let glass = V(0.03, 0.035, 0.05).mix(V(0.6, 0.7, 0.85), pick(4));
    let sash = V(0.75, 0.74, 0.7).mix(V(0.1, 0.09, 0.08), pick(5));
    let half = width as f32 / height as f32;
    Canvas::paint(width, height, |u, v, size| {
        let (x, y) = ((u / half + 1.0) / 2.0 * columns, (v + 1.0) / 2.0 * rows);
        let (i, j) = (x.floor(), y.floor());
        // Half distances from a pane's middle, 0 to 1.
        let (a, b) = (2.0 * (x - i - 0.5).abs(), 2.0 * (y - j - 0.5).abs());
        let edge = size * columns.max(rows);
        let inside = |at: f32| smooth(edge, -edge, a.max(b) - at);
        let lit = 0.6 + 0.8 * cell(seed ^ 6, i + 3.0, j + 3.0);
        let sky = glass * (lit * (0.8 + 0.4 * fbm(seed ^ 7, u * 1.5, v * 1.5, 3, 0.5)));
        let bars = smooth(edge, -edge, a.min(b) - 0.05);
        let brick = wall * (0.9 + 0.2 * value(seed ^ 8, u * 30.0, v * 60.0));
        brick.mix(sash, inside(0.86)).mix(sky.mix(sash, bars), inside(0.74))
    })
}
