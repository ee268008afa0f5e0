//! How much of a pixel lies beyond a straight edge, and how far a point is inside a rounded rectangle.

use geometry::Angle;

/// Coverage of a pixel by a straight edge at a fixed turn: the exact area of a unit square beyond a line.
#[derive(Clone, Copy)]
pub struct Edge {
    a: f32,
    b: f32,
    /// Frame pixels per millimetre.
    pub px: f32,
}

impl Edge {
    pub fn new(turn: Angle, px_per_mm: f64) -> Self {
        let (s, c) = turn.to_rad().sin_cos();
        // A hair of slope keeps the formula whole where the edge runs along the pixels.
        let (a, b) = (s.abs().max(1e-4), c.abs().max(1e-4));
        Self { a: a as f32, b: b as f32, px: px_per_mm as f32 }
    }
    /// Covered share of a pixel whose centre lies `mm` inside the edge.
    pub fn cover(&self, mm: f32) -> f32 {
        let d = mm * self.px;
        let (high, low) = ((self.a + self.b) / 2.0, (self.a - self.b).abs() / 2.0);
        let far = d.abs();
        let half = if far >= high {
            0.5
        } else if far <= low {
            far / self.a.max(self.b)
        } else {
            0.5 - (high - far).powi(2) / (2.0 * self.a * self.b)
        };
        if d > 0.0 { 0.5 + half } else { 0.5 - half }
    }
}

/// How far a point is inside a rounded rectangle around the origin, mm; negative outside.
pub fn inside(x: f32, y: f32, half: [f32; 2], radius: f32) -> f32 {
    let (u, v) = (x.abs() - half[0] + radius, y.abs() - half[1] + radius);
    if u > 0.0 && v > 0.0 { radius - (u * u + v * v).sqrt() } else { radius - u.max(v) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against a plain count of sub-pixels.
    #[test]
    fn an_edge_covers_the_area_beyond_it() {
        for turn in [0.0, 0.3f64, 12.0, 45.0, 77.0, 90.0] {
            let edge = Edge::new(Angle::deg(turn), 1.0);
            let (s, c) = turn.to_radians().sin_cos();
            for d in [-0.68, -0.4, -0.1, 0.0, 0.2, 0.49, 0.66] {
                let k = 400;
                let mut hits = 0;
                for i in 0..k * k {
                    let at = |i: usize| (i as f64 + 0.5) / k as f64 - 0.5;
                    hits += usize::from(at(i % k) * c + at(i / k) * s + d > 0.0);
                }
                assert!((f64::from(edge.cover(d as f32)) - hits as f64 / (k * k) as f64).abs() < 3e-3);
            }
        }
        assert_eq!(inside(0.0, 0.0, [10.0, 5.0], 1.0), 5.0);
        assert!((inside(10.0, 5.0, [10.0, 5.0], 1.0) - (1.0 - 2f32.sqrt())).abs() < 1e-6);
    }
}
