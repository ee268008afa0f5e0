//! Four corners in the form used in reports and recipes.

use geometry::Quad;

/// Four corners in order.
pub type Corners = [[f64; 2]; 4];

/// The quadrilateral of these corners.
pub fn quad(corners: Corners) -> Quad {
    Quad(corners.map(|[x, y]| geometry::point(x, y)))
}

/// A quad rounded for a report, to a thousandth of a pixel (a fiftieth of the best outline's own uncertainty).
pub fn corners(quad: &Quad) -> Corners {
    quad.0.map(|p| [milli(p.x), milli(p.y)])
}

fn milli(v: f64) -> f64 {
    (v * 1000.0).round() / 1000.0
}
