//! The canvas: an upright sheet of pixels with the print's rectangle on it, and the way from it to the frame.

use geometry::{Homography, Point, point};
use pixels::Plane;
use print::find::Found;
use print::register::Registration;
use std::ops::Range;

/// An upright canvas around a print: master, mount and PNG share it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Canvas {
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// Exact scale.
    pub px_per_mm: f64,
    /// Left, top, right and bottom of the print's rectangle, canvas pixels.
    pub print: [f64; 4],
}

impl Canvas {
    /// A canvas for a print of `size` mm with `margin` mm of bed at the left, top, right and bottom.
    ///
    /// The print's left and top edges lie on whole pixels, so that straight edges stay crisp.
    pub fn around(size: (f64, f64), margin: [f64; 4], px_per_mm: f64) -> Self {
        let px = margin.map(|m| (m * px_per_mm).ceil().max(1.0));
        let (right, bottom) = (px[0] + size.0 * px_per_mm, px[1] + size.1 * px_per_mm);
        Self {
            width: (right + px[2]).ceil() as usize,
            height: (bottom + px[3]).ceil() as usize,
            px_per_mm,
            print: [px[0], px[1], right, bottom],
        }
    }

    /// Width and height of the print, mm.
    pub fn print_size(&self) -> (f64, f64) {
        let [left, top, right, bottom] = self.print;
        ((right - left) / self.px_per_mm, (bottom - top) / self.px_per_mm)
    }

    /// The print point (mm from its top left) at a canvas position.
    pub fn print_from_canvas(&self, x: f64, y: f64) -> Point {
        point((x - self.print[0]) / self.px_per_mm, (y - self.print[1]) / self.px_per_mm)
    }

    /// The print's corners on the canvas, clockwise from the upright print's top left.
    pub fn corners(&self) -> [[f64; 2]; 4] {
        let [l, t, r, b] = self.print;
        [[l, t], [r, t], [r, b], [l, b]]
    }

    /// The share of column `x` that the print covers; times that of a row, the share of a pixel: exact for an upright
    /// rectangle.
    pub fn cover_across(&self, x: usize) -> f32 {
        overlap(self.print[0], self.print[2], x)
    }

    /// The share of row `y` that the print covers.
    pub fn cover_down(&self, y: usize) -> f32 {
        overlap(self.print[1], self.print[3], y)
    }
}

/// The share of pixel `i` of a line that lies between `from` and `to`.
fn overlap(from: f64, to: f64, i: usize) -> f32 {
    (to.min(i as f64 + 1.0) - from.max(i as f64)).clamp(0.0, 1.0) as f32
}

/// The way from print millimetres to frame pixels: the projective map of the outline's corners, bent inside the border by what
/// curl and lens add.
///
/// The picture is straightened; the print's own edge stays where it was seen, because the bed beyond it and the shadow that
/// the edge throws are seen by the same projective map. A curled print's sides are seen bowed by a few tenths of a
/// millimetre. If the edge were pulled straight, it would hide as much bed and shadow at one side and bare as much at the
/// other that nobody saw. So the bend dies out across the border, which takes the bow up.
#[derive(Clone, Debug)]
pub struct Warp {
    frame_from_print: Homography,
    size: (f64, f64),
    /// Bend in mm along x and along y, at nodes from edge to edge.
    bend: [Plane; 2],
    /// Width at the edge over which the bend grows from nothing to its whole, mm.
    border: f64,
    /// Moves the print's millimetres before all else: how another frame's own outline is off from the picture in it.
    moved: Option<Registration>,
}

/// Nodes of the bend across the print: a curl's bend is a cubic over the print, which straight lines between 33 nodes
/// follow to a thousandth of itself.
const NODES: usize = 33;

impl Warp {
    /// The way for a print found.
    ///
    /// Inside, the model of camera and sheet; at the edges, the edges as measured; what they differ by is blended across
    /// the print, each pair of opposite sides for its own direction (the boundary interpolation of Coons 1967). See [`Warp`] for
    /// what becomes of it in the border.
    pub fn new(found: &Found) -> Self {
        let (w, h) = found.format.outer;
        let rect = found.format.outer_quad();
        let corners = found.outline.corners().0;
        let frame_from_print = Homography::from_points(&rect.0, &corners.0).unwrap_or(found.outline.frame_from_print);
        let inverse = frame_from_print.inverse().unwrap_or(Homography::IDENTITY);
        let model = |p: Point| inverse.apply(found.pose.frame(p)) - p;
        // Deviation of side i from its straight line as measured, at a print point of the side.
        let measured =
            |i: usize| -> Vec<Point> { found.outline.polyline(i, 129).into_iter().map(|p| inverse.apply(p)).collect() };
        let (top, right, bottom, left) = (measured(0), measured(1), measured(2), measured(3));
        let across = |line: &[Point], x: f64| interpolate(line, x, |p| p.x, |p| p.y);
        let down = |line: &[Point], y: f64| interpolate(line, y, |p| p.y, |p| p.x);
        let mut bend = [0; 2].map(|_| Plane::filled(NODES, NODES, 0.0));
        for j in 0..NODES {
            for i in 0..NODES {
                let (u, v) = (i as f64 / (NODES - 1) as f64, j as f64 / (NODES - 1) as f64);
                let (x, y) = (u * w, v * h);
                let m = model(point(x, y));
                let rest_top = across(&top, x) - model(point(x, 0.0)).y;
                let rest_bottom = across(&bottom, x) - h - model(point(x, h)).y;
                let rest_left = down(&left, y) - model(point(0.0, y)).x;
                let rest_right = down(&right, y) - w - model(point(w, y)).x;
                bend[0].data[j * NODES + i] = (m.x + rest_left * (1.0 - u) + rest_right * u) as f32;
                bend[1].data[j * NODES + i] = (m.y + rest_top * (1.0 - v) + rest_bottom * v) as f32;
            }
        }
        Self { frame_from_print, size: (w, h), bend, border: found.format.border(), moved: None }
    }

    /// The way of a map alone, for a print of `size` mm.
    pub fn straight(frame_from_print: Homography, size: (f64, f64)) -> Self {
        Self {
            frame_from_print,
            size,
            bend: [0; 2].map(|_| Plane::filled(NODES, NODES, 0.0)),
            border: 1.0,
            moved: None,
        }
    }

    /// The way to where a registration in print millimetres places each point.
    pub fn moved(self, by: Registration) -> Self {
        Self { moved: Some(by), ..self }
    }

    /// The way without the bend: for the bed, which is flat. Beyond the print the two are the same.
    pub fn of_bed(&self) -> Self {
        Self::straight(self.frame_from_print, self.size)
    }

    /// Where the print's edge lies on a canvas, its sides bowed as they are seen.
    pub fn edge(&self, found: &Found, canvas: &Canvas) -> Edge {
        let inverse = self.frame_from_print.inverse().unwrap_or(Homography::IDENTITY);
        let side = |i: usize| -> Vec<Point> {
            let line = found.outline.polyline(i, 129).into_iter().map(|p| inverse.apply(p) * canvas.px_per_mm);
            line.map(|p| p + point(canvas.print[0], canvas.print[1])).collect()
        };
        Edge::new([side(0), side(1), side(2), side(3)], canvas)
    }

    /// The frame position of a print point (mm).
    pub fn frame(&self, p: Point) -> Point {
        let p = self.moved.map_or(p, |m| m.apply(p));
        let (w, h) = self.size;
        let inside = p.x.min(w - p.x).min(p.y).min(h - p.y);
        if inside <= 0.0 {
            return self.frame_from_print.apply(p);
        }
        let n = (NODES - 1) as f64;
        let at = |plane: &Plane| f64::from(plane.bilinear(p.x / w * n + 0.5, p.y / h * n + 0.5));
        let t = (inside / self.border).min(1.0);
        // Meets the bed and the picture without a kink.
        let share = t * t * (3.0 - 2.0 * t);
        self.frame_from_print.apply(p + point(at(&self.bend[0]), at(&self.bend[1])) * share)
    }
}

/// The print's edge on a canvas: where it crosses each row and each column.
#[derive(Clone, Debug)]
pub struct Edge {
    /// Left and right edge at the middle of each row.
    rows: Vec<[f64; 2]>,
    /// Top and bottom edge at the middle of each column.
    columns: Vec<[f64; 2]>,
    /// The last top edge and the first bottom edge of all columns: between them a row crosses no edge but its own.
    middle: [f64; 2],
    /// Left, top, right and bottom of the print's rectangle, and the radius of its corners, pixels.
    print: [f64; 4],
    radius: f64,
}

impl Edge {
    /// The edge of the sides top, right, bottom and left, polylines on the canvas that run from end to end.
    pub fn new([top, right, bottom, left]: [Vec<Point>; 4], canvas: &Canvas) -> Self {
        let ends = |from: &[Point], to: &[Point], at: f64, x: fn(&Point) -> f64, y: fn(&Point) -> f64| {
            [from, to].map(|line| interpolate(line, at, x, y))
        };
        let rows = (0..canvas.height).map(|y| ends(&left, &right, y as f64 + 0.5, |p| p.y, |p| p.x)).collect();
        let columns: Vec<[f64; 2]> =
            (0..canvas.width).map(|x| ends(&top, &bottom, x as f64 + 0.5, |p| p.x, |p| p.y)).collect();
        let middle = columns.iter().fold([0.0f64, f64::INFINITY], |m, c| [m[0].max(c[0]), m[1].min(c[1])]);
        Self { rows, columns, middle, print: canvas.print, radius: 0.0 }
    }

    /// The same edge with corners of a radius, canvas pixels.
    pub fn rounded(mut self, radius: f64) -> Self {
        self.radius = radius;
        self.middle = [self.middle[0].max(self.print[1] + radius), self.middle[1].min(self.print[3] - radius)];
        self
    }

    /// The share of a pixel that the print covers.
    pub fn cover(&self, x: usize, y: usize) -> f32 {
        let [left, right] = self.rows[y];
        let across = overlap(left, right, x);
        if across == 0.0 || self.crosses_own_edges_only(y) {
            return across;
        }
        let [top, bottom] = self.columns[x];
        across * overlap(top, bottom, y) * self.within_arc(x, y)
    }

    /// The share of a pixel within the arc of the corner that it lies at, by the arc's distance: right to a few hundredths.
    fn within_arc(&self, x: usize, y: usize) -> f32 {
        let [left, top, right, bottom] = self.print;
        let (x, y) = (x as f64 + 0.5, y as f64 + 0.5);
        let (u, v) = (self.radius - (x - left).min(right - x), self.radius - (y - top).min(bottom - y));
        if u <= 0.0 || v <= 0.0 { 1.0 } else { (self.radius - u.hypot(v) + 0.5).clamp(0.0, 1.0) as f32 }
    }

    /// How far the middle of a pixel lies inside the left, top, right and bottom side, pixels.
    pub fn inset(&self, x: usize, y: usize) -> [f64; 4] {
        let ([left, right], [top, bottom]) = (self.rows[y], self.columns[x]);
        let (x, y) = (x as f64 + 0.5, y as f64 + 0.5);
        [x - left, y - top, right - x, bottom - y]
    }

    /// For a pixel at a round corner: how far its middle lies inside the arc, and the direction to the arc's middle.
    pub fn corner(&self, x: usize, y: usize) -> Option<(f64, [f64; 2])> {
        let [left, top, right, bottom] = self.print;
        let (x, y) = (x as f64 + 0.5, y as f64 + 0.5);
        let (u, v) = (self.radius - (x - left).min(right - x), self.radius - (y - top).min(bottom - y));
        if u <= 0.0 || v <= 0.0 {
            return None;
        }
        let away = u.hypot(v);
        let to = |d: f64, first: f64, last: f64| if first < last { d } else { -d };
        Some((self.radius - away, [to(u / away, x - left, right - x), to(v / away, y - top, bottom - y)]))
    }

    /// The share of every pixel of the canvas that the print covers.
    pub fn plane(&self) -> Plane {
        Plane::from_fn(self.columns.len(), self.rows.len(), |x, y| self.cover(x, y))
    }

    /// The columns of row `y` that the print covers, in part or whole, or would if its top and bottom were farther out.
    pub fn covered(&self, y: usize) -> Range<usize> {
        let [left, right] = self.rows[y];
        left.max(0.0) as usize..(right.ceil().max(0.0) as usize).min(self.columns.len())
    }

    /// The columns of row `y` that the print covers from edge to edge.
    pub fn covered_wholly(&self, y: usize) -> Range<usize> {
        let [left, right] = self.rows[y];
        if self.crosses_own_edges_only(y) { left.ceil().max(0.0) as usize..right.max(0.0) as usize } else { 0..0 }
    }

    fn crosses_own_edges_only(&self, y: usize) -> bool {
        y as f64 >= self.middle[0] && y as f64 + 1.0 <= self.middle[1]
    }
}

/// The value of `y` where a polyline's `x` is `at`, its points ordered in `x` either way; level past the ends.
fn interpolate(line: &[Point], at: f64, x: impl Fn(&Point) -> f64, y: impl Fn(&Point) -> f64) -> f64 {
    let rising = x(&line[line.len() - 1]) > x(&line[0]);
    let key = |p: &Point| if rising { x(p) } else { -x(p) };
    let at = if rising { at } else { -at };
    let i = line.partition_point(|p| key(p) < at).clamp(1, line.len() - 1);
    let (a, b) = (&line[i - 1], &line[i]);
    let t = ((at - key(a)) / (key(b) - key(a)).max(1e-12)).clamp(0.0, 1.0);
    y(a) + (y(b) - y(a)) * t
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cover_sums_to_the_prints_area() {
        let c = Canvas::around((8.8, 10.7), [2.0; 4], 3.3);
        let sum: f32 = (0..c.height)
            .flat_map(|y| (0..c.width).map(move |x| (x, y)))
            .map(|(x, y)| c.cover_across(x) * c.cover_down(y))
            .sum();
        assert!((f64::from(sum) - 8.8 * 10.7 * 3.3 * 3.3).abs() < 0.01, "{sum}");
        assert_eq!(c.print_from_canvas(c.print[0], c.print[1]), point(0.0, 0.0));
    }
}
