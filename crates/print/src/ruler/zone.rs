//! Edge response at the frame's middle and corners, both ways, and how flat the field of focus is.

use super::{Value, spots};
use crate::esfr::{EdgeError, Response, esfr};
use geometry::{Point, Quad};
use pixels::{Frame, Plane};
use rayon::prelude::*;

/// Edges averaged for each direction of a zone, the nearest first: four halve the noise and stay within a square or two.
const EDGES: usize = 4;
/// How far from its spot a zone's edge may lie, as a share of the frame's diagonal.
const NEAR: f64 = 0.22;
/// Half the rows that are used, as a share of an edge's length: the corners' blur stays out.
const ROWS: f64 = 0.36;
/// Half the columns that are used, as a share of an edge's length: short of the code (0.33) and of the next square (0.3).
const COLUMNS: f64 = 0.26;
/// The edge may wander by this share of its length over the rows used, so that ink and paper stay beside it.
const WANDER: f64 = 0.06;
/// Half the columns that a response needs at most, pixels: a line spread has ended long before.
const ENOUGH: f64 = 40.0;

/// A frame's sharpness in one place.
#[derive(Clone, Debug, PartialEq)]
pub struct Zone {
    /// The spot: the frame's middle or a corner, pixels.
    pub spot: Point,
    /// Response across the frame (detail along x), from near-upright edges, or why there is none.
    pub across: Result<Sharpness, EdgeError>,
    /// Response down the frame (detail along y), from near-level edges.
    pub down: Result<Sharpness, EdgeError>,
}

/// The response of a zone in one direction.
#[derive(Clone, Debug, PartialEq)]
pub struct Sharpness {
    /// The mean response of the edges.
    pub response: Response,
    /// MTF50 in cycles per pixel, with its standard error by the scatter of the edges; `None` where the response never falls
    /// so low.
    pub mtf50: Option<Value>,
    /// MTF10 in cycles per pixel, likewise.
    pub mtf10: Option<Value>,
    /// Response at the half-sampling frequency, likewise.
    pub half_sampling: Value,
    /// The greatest response up to there (see [`Response::peak`]), likewise.
    pub peak: Value,
    /// Edges averaged.
    pub edges: usize,
    /// The mean of their middles, pixels: as near to the zone's spot as the sheet allows.
    pub at: Point,
}

impl Zone {
    /// Mean MTF50 of both directions, cycles per pixel.
    pub fn mtf50(&self) -> Option<f64> {
        let of = |s: &Result<Sharpness, EdgeError>| Some(s.as_ref().ok()?.mtf50?.value);
        Some((of(&self.across)? + of(&self.down)?) / 2.0)
    }
}

/// How sharpness runs over the frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Flatness {
    /// MTF50 of each corner over that of the middle, in the order of the zones.
    pub corners: [f64; 4],
    /// The least of them.
    pub worst: f64,
    /// Mean of the right corners over mean of the left, less 1: a plane of focus that leans about the image's upright axis.
    pub left_right: f64,
    /// Mean of the bottom corners over mean of the top, less 1.
    pub top_bottom: f64,
}

impl Flatness {
    /// From the five zones; `None` where one has no MTF50.
    pub fn of(zones: &[Zone; 5]) -> Option<Self> {
        let middle = zones[0].mtf50()?;
        let mut c = [0.0; 4];
        for (c, z) in c.iter_mut().zip(&zones[1..]) {
            *c = z.mtf50()? / middle;
        }
        Some(Self {
            corners: c,
            worst: c.iter().copied().fold(f64::INFINITY, f64::min),
            left_right: (c[1] + c[2]) / (c[0] + c[3]) - 1.0,
            top_bottom: (c[2] + c[3]) / (c[0] + c[1]) - 1.0,
        })
    }
}

/// The zones of a frame with the corners of its squares; of those that leave the frame the edges inside still count.
pub fn zones(frame: &Frame, squares: &[(i32, i32, Quad)]) -> [Zone; 5] {
    let sides: Vec<(Point, Point)> = squares.iter().flat_map(|s| (0..4).map(|i| s.2.side(i))).collect();
    let upright = |s: &(Point, Point)| (s.1.y - s.0.y).abs() > (s.1.x - s.0.x).abs();
    let reach = NEAR * (frame.width as f64).hypot(frame.height as f64);
    let zones: Vec<Zone> = spots((frame.width, frame.height))
        .into_par_iter()
        .map(|spot| {
            let of = |across: bool| {
                let mut near: Vec<(f64, (Point, Point))> = sides
                    .iter()
                    .filter(|s| upright(s) == across)
                    .map(|s| (s.0.lerp(s.1, 0.5).distance(spot), *s))
                    .filter(|(d, _)| *d < reach)
                    .collect();
                near.sort_by(|a, b| a.0.total_cmp(&b.0));
                sharpness(frame, &near, across)
            };
            Zone { spot, across: of(true), down: of(false) }
        })
        .collect();
    std::array::from_fn(|i| zones[i].clone())
}

/// The mean response of the nearest edges that can be trusted; else the first one's error.
fn sharpness(frame: &Frame, near: &[(f64, (Point, Point))], across: bool) -> Result<Sharpness, EdgeError> {
    let (mut good, mut why, mut at) = (Vec::new(), EdgeError::Small, Point::default());
    let areas = near.iter().filter_map(|(_, side)| Some((side, area(frame, *side, across)?)));
    // Twice as many may be tried: past them the zone would be another place.
    for (k, (side, area)) in areas.take(2 * EDGES).enumerate() {
        match esfr(&area) {
            Ok(r) => {
                at = at + side.0.lerp(side.1, 0.5);
                good.push(r);
            }
            Err(e) if k == 0 => why = e,
            Err(_) => {}
        }
        if good.len() == EDGES {
            break;
        }
    }
    let response = Response::mean(&good).ok_or(why)?;
    let of = |f: &dyn Fn(&Response) -> Option<f64>| {
        f(&response).map(|value| Value { value, error: error(&good.iter().filter_map(f).collect::<Vec<_>>()) })
    };
    let plain = |f: &dyn Fn(&Response) -> f64| of(&|r| Some(f(r))).unwrap_or_default();
    Ok(Sharpness {
        mtf50: of(&Response::mtf50),
        mtf10: of(&Response::mtf10),
        half_sampling: plain(&Response::at_half_sampling),
        peak: plain(&Response::peak),
        edges: good.len(),
        at: at * (1.0 / good.len() as f64),
        response,
    })
}

/// Standard error of a mean by the scatter of its values. One value alone says nothing of it; a twentieth is what single edges
/// of a noisy frame differ by.
fn error(each: &[f64]) -> f64 {
    let n = each.len() as f64;
    let mean = each.iter().sum::<f64>() / n.max(1.0);
    let deviation = if each.len() < 2 {
        0.05 * mean
    } else {
        (each.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt()
    };
    deviation / n.max(1.0).sqrt()
}

/// Luminance of the area about an edge, turned so that the edge runs down; `None` where it leaves the frame.
fn area(frame: &Frame, (a, b): (Point, Point), across: bool) -> Option<Plane> {
    let turn = |p: Point| if across { p } else { geometry::point(p.y, p.x) };
    let (a, b) = (turn(a), turn(b));
    let middle = a.lerp(b, 0.5);
    let length = a.distance(b);
    let slope = ((b.x - a.x) / (b.y - a.y)).abs();
    let rows = (ROWS * length).min(WANDER * length / slope.max(1e-6));
    let columns = (COLUMNS * length).min(ENOUGH + slope * rows);
    let (x, y) = ((middle.x - columns).round(), (middle.y - rows).round());
    let (w, h) = ((2.0 * columns) as usize, (2.0 * rows) as usize);
    let size = if across { (frame.width, frame.height) } else { (frame.height, frame.width) };
    if x < 0.0 || y < 0.0 || x as usize + w > size.0 || y as usize + h > size.1 || w == 0 || h == 0 {
        return None;
    }
    let (x, y) = (x as usize, y as usize);
    // ISO 12233 luminance: 0.213 R + 0.715 G + 0.072 B.
    let light = |p: [f32; 3]| 0.213 * p[0] + 0.715 * p[1] + 0.072 * p[2];
    let picture = if across { frame.read(x, y, w, h, 1) } else { frame.read(y, x, h, w, 1) };
    Some(Plane::from_fn(w, h, |i, j| light(if across { picture.get(i, j) } else { picture.get(j, i) })))
}
