//! Closed polygons: where rows of a picture cross them, and how near they come to its rim.

use crate::Point;

/// The narrowest bed between an outline and the frame's rim: pixels (negative where the outline leaves the frame) for the
/// left, top, right and bottom side.
pub fn margins(polygon: &[Point], width: usize, height: usize) -> [f64; 4] {
    polygon.iter().fold([f64::INFINITY; 4], |m, p| {
        [m[0].min(p.x), m[1].min(p.y), m[2].min(width as f64 - p.x), m[3].min(height as f64 - p.y)]
    })
}

/// The stretches of the row at height `y` that lie inside a closed polygon (even-odd rule), from left to right.
///
/// ```
/// use geometry::{Quad, polygon::spans};
/// assert_eq!(spans(&Quad::rectangle(10.0, 10.0).0, 5.0), [(0.0, 10.0)]);
/// ```
pub fn spans(polygon: &[Point], y: f64) -> Vec<(f64, f64)> {
    let mut crossings: Vec<f64> = (0..polygon.len())
        .map(|i| (polygon[i], polygon[(i + 1) % polygon.len()]))
        .filter(|(a, b)| (a.y > y) != (b.y > y))
        .map(|(a, b)| a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x))
        .collect();
    crossings.sort_by(f64::total_cmp);
    crossings.chunks_exact(2).map(|c| (c[0], c[1])).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Quad, point};

    #[test]
    fn spans_and_margins_of_a_square() {
        let q = Quad::rectangle(10.0, 10.0).map(|p| p + point(5.0, 7.0)).0;
        assert_eq!(spans(&q, 16.0), [(5.0, 15.0)]);
        assert!(spans(&q, 18.0).is_empty());
        assert_eq!(margins(&q, 20, 16), [5.0, 7.0, 5.0, -1.0]);
    }
}
