//! The neighbours of a print in its frame: which part of the bed belongs to the print, and how far its canvas can extend.

use super::Seen;
use geometry::{Homography, Point, point};
use print::several::grown;

/// Width of bed that counts as part of a neighbour, mm: its contact shadow and the error of an outline from a first look.
const CLEAR: f64 = 1.0;
/// Minimum bed around a print on its canvas, mm, however near a neighbour is: an edge needs bed beside it.
const LEAST: f64 = 0.5;
/// Step (mm) of the search along the direction towards the light: a print is fifty times as wide.
const STEP: f64 = 1.0;
/// Error of the light's direction (degrees) above which the direction of shadows is unknown.
const VAGUE: f64 = 60.0;

/// The neighbours of a print, in its own millimetres.
pub(super) struct Neighbours {
    outlines: Vec<Vec<Point>>,
    size: (f64, f64),
    /// Direction towards the light, if known.
    light: Option<Point>,
}

impl Neighbours {
    /// The neighbours of a print; `None` if it has none.
    pub fn of(seen: &Seen) -> Option<Self> {
        if seen.beside.is_empty() {
            return None;
        }
        let corners = seen.found.outline.corners().0;
        let print_from_frame = Homography::from_points(&corners.0, &seen.found.format.outer_quad().0)?;
        let outlines = seen.beside.iter().map(|o| o.iter().map(|p| print_from_frame.apply(*p)).collect()).collect();
        let lamp = &seen.light.lamp;
        let middle = corners.centre();
        let towards = middle + Point::at_angle(lamp.azimuth_deg.to_radians());
        let light = (lamp.azimuth_error_deg < VAGUE)
            .then(|| (print_from_frame.apply(towards) - print_from_frame.apply(middle)).unit());
        Some(Self { outlines, size: seen.found.format.outer, light })
    }

    /// How far the canvas can extend beyond the print's left, top, right and bottom edge, mm: up to the nearest neighbour. It stops at the
    /// side that separates the two best.
    pub fn room(&self) -> [f64; 4] {
        let (w, h) = self.size;
        let mut room = [f64::INFINITY; 4];
        for outline in &self.outlines {
            let [left, top, right, bottom] = outline.iter().fold([f64::INFINITY; 4], |m, p| {
                [m[0].min(-p.x), m[1].min(-p.y), m[2].min(p.x - w), m[3].min(p.y - h)]
            });
            let gaps = [left, top, right, bottom];
            let side = (0..4).max_by(|&a, &b| gaps[a].total_cmp(&gaps[b])).unwrap_or(0);
            room[side] = room[side].min((gaps[side] - CLEAR).max(LEAST));
        }
        room
    }

    /// True if the bed at a point belongs to a neighbour: the neighbour or its shadow is there. If both prints block the light, the point
    /// belongs to the nearer one. `reach` is the search distance for shadows, mm.
    pub fn own(&self, p: Point, reach: f64) -> bool {
        self.outlines.iter().any(|outline| {
            let far = distance(outline, p);
            if far < CLEAR || inside(outline, p) {
                return true;
            }
            far < reach && far < self.to_print(p) && self.shades(outline, p, reach)
        })
    }

    /// True if an outline is between a point and the light, nearer than `reach`.
    fn shades(&self, outline: &[Point], p: Point, reach: f64) -> bool {
        let Some(light) = self.light else { return true };
        // The light has a size and its direction an error, so a millimetre beside the line also counts.
        let wide = grown(outline, CLEAR);
        (1..=(reach / STEP) as usize).any(|k| inside(&wide, p + light * (k as f64 * STEP)))
    }

    /// Distance of a point from the print, mm.
    fn to_print(&self, p: Point) -> f64 {
        let past = |v: f64, size: f64| (-v).max(v - size).max(0.0);
        past(p.x, self.size.0).hypot(past(p.y, self.size.1))
    }
}

/// True inside a closed polygon (even-odd rule).
fn inside(polygon: &[Point], p: Point) -> bool {
    sides(polygon)
        .filter(|(a, b)| (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x))
        .count()
        % 2
        == 1
}

/// Distance from a polygon's sides.
fn distance(polygon: &[Point], p: Point) -> f64 {
    let to = |(a, b): (Point, Point)| {
        let along = b - a;
        let t = ((p - a).dot(along) / along.dot(along).max(1e-12)).clamp(0.0, 1.0);
        p.distance(a + along * t)
    };
    sides(polygon).map(to).fold(f64::INFINITY, f64::min)
}

fn sides(polygon: &[Point]) -> impl Iterator<Item = (Point, Point)> {
    (0..polygon.len()).map(|i| (polygon[i], polygon[(i + 1) % polygon.len()]))
}

/// A polygon in the form used in reports.
pub(super) fn points(outline: &[[f64; 2]]) -> Vec<Point> {
    outline.iter().map(|[x, y]| point(*x, *y)).collect()
}

/// A polygon for reports, thinned to a few points per side: between two points a bowed side deviates from a straight line by a fiftieth
/// of its bow.
pub(super) fn written(polygon: &[Point]) -> Vec<[f64; 2]> {
    let tenth = |v: f64| (v * 10.0).round() / 10.0;
    polygon.iter().step_by((polygon.len() / 24).max(1)).map(|p| [tenth(p.x), tenth(p.y)]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use geometry::Quad;

    /// A print of 54 by 86 mm with others 6 mm to its right and 9 mm below, the light at the left.
    fn two() -> Neighbours {
        let at = |x: f64, y: f64| Quad::rectangle(54.0, 86.0).map(|p| p + point(x, y)).0.to_vec();
        Neighbours { outlines: vec![at(60.0, 3.0), at(-2.0, 95.0)], size: (54.0, 86.0), light: Some(point(-1.0, 0.0)) }
    }

    #[test]
    fn a_canvas_stops_where_a_neighbour_begins() {
        assert_eq!(two().room(), [f64::INFINITY, f64::INFINITY, 5.0, 8.0]);
        let touching = Neighbours {
            outlines: vec![Quad::rectangle(54.0, 86.0).map(|p| p + point(54.2, 0.0)).0.to_vec()],
            ..two()
        };
        assert_eq!(touching.room()[2], LEAST);
    }

    #[test]
    fn a_shadow_that_falls_towards_a_neighbour_stays_the_prints_own() {
        let n = two();
        // Light from the left: the shadow between the two is this print's, up to the neighbour itself.
        assert!(!n.own(point(55.0, 40.0), 18.0) && !n.own(point(58.5, 40.0), 18.0));
        assert!(n.own(point(59.5, 40.0), 18.0) && n.own(point(80.0, 40.0), 18.0));
        // What lies to the left is in nobody's way.
        assert!(!n.own(point(-3.0, 40.0), 18.0));
    }

    #[test]
    fn a_neighbours_shadow_is_the_neighbours() {
        let n = Neighbours { light: Some(point(1.0, 0.0)), ..two() };
        // Light from the right: the neighbour's shadow falls towards the print, and the half beside it is the neighbour's.
        assert!(n.own(point(58.0, 40.0), 18.0));
        assert!(!n.own(point(55.5, 40.0), 18.0));
    }
}
