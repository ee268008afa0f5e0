//! Lines of script on pale paper, seen a little askew: looks written, says nothing.

use super::canvas::{Canvas, V};
use crate::noise::{cell, fbm, smooth, value};

pub fn paint(seed: u32, width: usize, height: usize) -> Canvas {
    let turn = 0.2 * (value(seed ^ 1, 0.5, 0.5) - 0.5);
    let (s, c) = turn.sin_cos();
    let lines = 5.0 + (7.0 * value(seed ^ 2, 0.5, 0.5)).floor();
    let paper = V(0.72, 0.71, 0.66).mix(V(0.62, 0.66, 0.72), value(seed ^ 3, 0.5, 0.5));
    let ink = V(0.06, 0.06, 0.09);
    Canvas::paint(width, height, |u, v, size| {
        let (x, y) = (c * u + s * v, c * v - s * u);
        let row = (y * lines / 2.0 + 50.5).floor();
        let within = y * lines / 2.0 + 50.5 - row - 0.5;
        // A pen that wanders up and down along its line.
        let k = row * 7.31;
        let stroke = 0.5 * (value(seed ^ 4, x * 9.0, k) - 0.5) + 0.35 * (value(seed ^ 5, x * 26.0, k) - 0.5);
        let pen = 0.012 * lines;
        let near = smooth(pen + size * lines, pen, (within - stroke).abs());
        let word = smooth(0.22, 0.3, cell(seed ^ 6, x * 4.0 + 40.0, row));
        let margin = smooth(0.82, 0.8, x.abs());
        let written = near * word * margin * smooth(0.8, 0.78, y.abs());
        let shade = 1.0 + 0.12 * (fbm(seed ^ 7, u * 1.2, v * 1.2, 3, 0.5) - 0.5);
        (paper * shade).mix(ink, 0.9 * written)
    })
}
