//! The colour chart as a picture: in the middle of the window, on a grey table, without grain.

use crate::chart;

/// Share of the window's narrower fit that the chart spans.
const SPAN: f64 = 0.86;
/// Reflectance of the table around it.
const TABLE: f32 = 0.30;

/// Reflectance of each cell, row by row from the top.
pub fn paint(width: usize, height: usize) -> Vec<[f32; 3]> {
    let (w, h) = chart::size();
    // Chart millimetres a cell.
    let scale = (w / width as f64).max(h / height as f64) / SPAN;
    let at = |k: usize| {
        let x = ((k % width) as f64 + 0.5 - width as f64 / 2.0) * scale;
        let y = (height as f64 / 2.0 - (k / width) as f64 - 0.5) * scale;
        let on = x.abs() < w / 2.0 && y.abs() < h / 2.0;
        if on { chart::reflectance(x as f32, y as f32) } else { [TABLE; 3] }
    };
    (0..width * height).map(at).collect()
}
