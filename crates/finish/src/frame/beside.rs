//! What lies beside a print in its frame: what of the bed is its own, and how far its canvas may reach.

use super::Seen;
use geometry::{Homography, Point, point};
use print::several::grown;

/// Bed that counts as a neighbour's, mm: its contact shadow and the error of an outline from a first look.
const CLEAR: f64 = 1.0;
/// The narrowest strip of bed around a print on its canvas, mm, however near its neighbour lies: an edge needs something beside it.
const LEAST: f64 = 0.5;
/// Steps (mm) in which the way towards the light is looked along: a print is fifty times as wide.
const STEP: f64 = 1.0;
/// Error of the light's direction (degrees) from which it says nothing of which side a shadow falls to.
const VAGUE: f64 = 60.0;

/// The neighbours of a print, in its own millimetres.
pub(super) struct Neighbours {
    outlines: Vec<Vec<Point>>,
    size: (f64, f64),
    /// Towards the light, where that is known.
    light: Option<Point>,
}

impl Neighbours {
    /// Of a print seen; `None` where it lies alone.
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

    /// How far beyond the print's left, top, right and bottom edge its canvas may reach, mm: to where a neighbour begins. The
    /// canvas stops at the side that parts the two best.
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

    /// True where the bed at a print point is a neighbour's: it lies there, or what is dark there is its shadow. A place in the way
    /// of the light of both has the shadow of the nearer one; `reach` is how far shadows are looked for, mm.
    pub fn own(&self, p: Point, reach: f64) -> bool {
        self.outlines.iter().any(|outline| {
            let far = distance(outline, p);
            if far < CLEAR || inside(outline, p) {
                return true;
            }
            far < reach && far < self.to_print(p) && self.shades(outline, p, reach)
        })
    }

    /// True where an outline stands between a place and the light, nearer than `reach`.
    fn shades(&self, outline: &[Point], p: Point, reach: f64) -> bool {
        let Some(light) = self.light else { return true };
        // A light has a size, and its direction an error: a millimetre beside the way counts.
        let wide = grown(outline, CLEAR);
        (1..=(reach / STEP) as usize).any(|k| inside(&wide, p + light * (k as f64 * STEP)))
    }

    /// Distance of a place from the print, mm.
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

/// A polygon as the written forms have it.
pub(super) fn points(outline: &[[f64; 2]]) -> Vec<Point> {
    outline.iter().map(|[x, y]| point(*x, *y)).collect()
}

/// A polygon for the written forms, thinned to a few points a side: between two of them a bowed side departs from a straight line by a
/// fiftieth of its bow.
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
