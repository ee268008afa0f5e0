//! Places of the squares' edges in the frame, to a few hundredths of a pixel, in each channel.

use crate::edge::Reader;
use geometry::ruler::{Cell, Sheet};
use geometry::{Point, Quad};
use pixels::Frame;
use rayon::prelude::*;

/// Places looked at along an edge: many enough to pass through every phase of the pixel grid.
const PLACES: usize = 13;
/// Share of an edge that is used, from its middle: the corners' blur stays out.
const USED: f64 = 0.72;
/// How far each profile looks to either side, in sides of the square: short of the code (0.33) and of the next square's half
/// way (0.3).
const REACH: f64 = 0.2;
/// Step of a profile, pixels: half a pixel, as far as linear interpolation keeps what the pixels hold.
const STEP: f64 = 0.5;
/// Profiles averaged beside each other, one pixel apart along the edge: three halve the noise and stay one phase.
const TAPS: [f64; 3] = [-1.0, 0.0, 1.0];
/// Least step of light at an edge, of full scale.
const LEAST_STEP: f32 = 0.02;

/// One place on an edge.
#[derive(Clone, Copy, Debug)]
pub struct EdgePoint {
    /// Which edge: four to a square.
    pub edge: usize,
    /// On the sheet, true mm.
    pub sheet: Point,
    /// The edge's outward normal on the sheet.
    pub outward: Point,
    /// In the frame, by the green channel.
    pub frame: Point,
    /// The frame's normal there, outward.
    pub normal: Point,
    /// How much farther out than green the red and the blue channel have it, pixels.
    pub apart: [f64; 2],
}

/// The edges of the squares whose corners in the frame are `squares` (column, row, corners in the sheet's order).
pub fn edges(frame: &Frame, sheet: &Sheet, squares: &[(i32, i32, Quad)]) -> Vec<EdgePoint> {
    let reader = Reader::new(frame);
    let one = |(n, (col, row, seen)): (usize, &(i32, i32, Quad))| -> Vec<EdgePoint> {
        let known = sheet.square(*col, *row);
        (0..4).flat_map(|i| side(&reader, 4 * n + i, known.side(i), seen.side(i))).collect()
    };
    squares.par_iter().enumerate().map(one).collect::<Vec<_>>().concat()
}

/// The squares of a sheet that lie whole in a frame by `place`, with their corners there; `spare` pixels stay to the rim.
pub fn whole(
    sheet: &Sheet,
    frame: (usize, usize),
    spare: f64,
    place: impl Fn(Point) -> Point,
) -> Vec<(i32, i32, Quad)> {
    let inside = |p: &Point| p.x > spare && p.y > spare && p.x < frame.0 as f64 - spare && p.y < frame.1 as f64 - spare;
    sheet
        .cells()
        .filter(|c| matches!(c.2, Cell::Square(_)))
        .map(|(col, row, _)| (col, row, sheet.square(col, row).map(&place)))
        .filter(|(_, _, q)| q.0.iter().all(inside) && q.area() > 0.0)
        .collect()
}

/// The places along one side; a side that leaves the frame or shows no step gives fewer or none.
fn side(reader: &Reader<'_>, edge: usize, known: (Point, Point), seen: (Point, Point)) -> Vec<EdgePoint> {
    let along = (seen.1 - seen.0).unit();
    // Corners run clockwise as seen, so the inside lies a quarter turn clockwise of the way.
    let (normal, outward) = (-along.quarter_turn(), -(known.1 - known.0).unit().quarter_turn());
    let reach = (REACH * seen.0.distance(seen.1)).max(3.0);
    let one = |i: usize| {
        let t = 0.5 + USED * ((i as f64 + 0.5) / PLACES as f64 - 0.5);
        let at = seen.0.lerp(seen.1, t);
        let [r, g, b] = crossing(reader, at, along, normal, reach)?;
        let sheet = known.0.lerp(known.1, t);
        Some(EdgePoint { edge, sheet, outward, frame: at + normal * g, normal, apart: [r - g, b - g] })
    };
    (0..PLACES).filter_map(one).collect()
}

/// How far outward of `at` the light passes half way from ink to paper, per channel.
fn crossing(reader: &Reader<'_>, at: Point, along: Point, normal: Point, reach: f64) -> Option<[f64; 3]> {
    let n = (2.0 * reach / STEP).round() as usize + 1;
    let place = |k: usize| k as f64 * STEP - reach;
    let mut profile = vec![[0f32; 3]; n];
    for (k, v) in profile.iter_mut().enumerate() {
        for tap in TAPS {
            let light = reader.at(at + normal * place(k) + along * tap)?;
            (0..3).for_each(|c| v[c] += light[c] / TAPS.len() as f32);
        }
    }
    // The outer fifths are ink and paper at rest.
    let rest = (n / 5).max(1);
    let mean = |s: &[[f32; 3]], c: usize| s.iter().map(|v| v[c]).sum::<f32>() / s.len() as f32;
    let mut out = [0.0; 3];
    for (c, o) in out.iter_mut().enumerate() {
        let (ink, paper) = (mean(&profile[..rest], c), mean(&profile[n - rest..], c));
        if paper - ink < LEAST_STEP {
            return None;
        }
        let half = (ink + paper) / 2.0;
        // The rise nearest the middle of the look.
        let rises = (1..n).filter(|&k| profile[k - 1][c] < half && profile[k][c] >= half);
        let k = rises.min_by_key(|&k| (2 * k).abs_diff(n))?;
        let (a, b) = (profile[k - 1][c], profile[k][c]);
        *o = place(k - 1) + STEP * f64::from((half - a) / (b - a));
    }
    Some(out)
}
