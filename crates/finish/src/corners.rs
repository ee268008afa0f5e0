//! Four corners as a report and a recipe write them.

use base::wording::round;
use geometry::Quad;

/// Four corners in order.
pub type Corners = [[f64; 2]; 4];

/// The quadrilateral of these corners.
pub fn quad(corners: Corners) -> Quad {
    Quad(corners.map(|[x, y]| geometry::point(x, y)))
}

/// A quad as a report writes it, to a thousandth of a pixel (a fiftieth of the best outline's own uncertainty).
pub fn corners(quad: &Quad) -> Corners {
    quad.0.map(|p| [round(p.x, 1e3), round(p.y, 1e3)])
}
