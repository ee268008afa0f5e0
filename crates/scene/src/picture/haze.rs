//! Mist in two tones, with nothing in it that has an edge.

use super::canvas::{Canvas, V};
use crate::noise::{fbm, smooth, value};

pub fn paint(seed: u32, width: usize, height: usize) -> Canvas {
    let level = 0.05 + 0.8 * value(seed ^ 1, 0.5, 0.5);
    let tint = V(1.0, 0.97, 0.93).mix(V(0.9, 0.97, 1.05), value(seed ^ 2, 0.5, 0.5));
    let bank = 0.8 * (value(seed ^ 3, 0.5, 0.5) - 0.5);
    Canvas::paint(width, height, |u, v, _| {
        let cloud = fbm(seed ^ 4, u * 0.8, v * 1.2, 3, 0.5) - 0.5;
        let low = smooth(0.5, -0.5, v - bank + 0.3 * cloud);
        tint * (level * (1.0 + 0.25 * cloud - 0.2 * low))
    })
}
