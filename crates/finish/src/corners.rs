//! Four corners in the form used in reports and recipes.

use base::wording::round;
use geometry::Quad;

/// Four corners in order.
pub type Corners = [[f64; 2]; 4];

/// The quadrilateral of these corners.
pub fn quad(corners: Corners) -> Quad {
    Quad(corners.map(|[x, y]| geometry::point(x, y)))
}

/// A quad rounded for a report, to a thousandth of a pixel (a fiftieth of the best outline's own uncertainty).
pub fn corners(quad: &Quad) -> Corners {
    quad.0.map(|p| [round(p.x, 1e3), round(p.y, 1e3)])
}
