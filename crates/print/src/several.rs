//! Several prints in one frame: every whole one, in reading order, and what else lies there.
//!
//! The surest print is found first. What is left of the frame is looked at again with the prints found so far painted over with
//! the bed, as long as something as large as a print is left. All prints of a frame lie on one bed, so they have one scale.

use crate::Rim;
use crate::find::{self, Found};
use crate::format::Format;
use crate::hints::Hints;
use crate::image_quality;
use geometry::polygon::{margins, spans};
use geometry::{Point, Quad, point};
use pixels::{Field, Frame, Picture};

/// Most prints looked for in a frame: more than lie side by side in any frame in which each has pixels enough to be finished.
const MOST: usize = 12;
/// A further print must have so much of its edges: the first was the best of the whole frame, the others are told from what is
/// left of it. Below it other outlines are as likely.
const SURE: f64 = 0.5;
/// Scales of two prints on one bed differ by less than this: a curl of 6 mm enlarges by 1 %, a lean of 2 degrees by another 1 %
/// over 150 mm, and the search itself allows 2.5 %.
const ONE_SCALE: f64 = 0.04;
/// How far (mm) a print may pass the frame's rim and still count as whole: more than an outline's uncertainty.
const AT_THE_RIM: f64 = 0.5;
/// Share of the smaller print from which two outlines overlap: a rim of half a millimetre along one side is less.
const OVERLAP: f64 = 0.015;
/// Bed painted over around a print already found, mm: the contact shadow and the outline's own error.
const CLEAR: f64 = 1.5;

/// What lies on the bed of a frame.
#[derive(Clone, Debug, Default)]
pub struct Lying {
    /// Whole prints in reading order; where none is whole, the surest one alone.
    pub prints: Vec<Found>,
    /// What else lies there.
    pub others: Vec<Other>,
}

/// Something on the bed that is not finished.
#[derive(Clone, Debug)]
pub struct Other {
    /// Why.
    pub why: Why,
    /// Its outline, frame pixels, clockwise.
    pub outline: Vec<Point>,
}

/// Why a print is not finished.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// It leaves the frame at this side.
    Cut(Rim),
    /// It and a print that is finished lie on one another.
    Overlaps,
}

/// Every whole print in a frame, in reading order: rows from top to bottom, each from left to right. Takes what [`find::find`]
/// takes. Where no print is whole, the surest one; empty where there is none.
pub fn find_all(
    frame: &Frame,
    proxy: &Picture,
    step: usize,
    bed: &Field,
    formats: &[Format],
    hints: &Hints,
) -> Vec<Found> {
    look(frame, proxy, step, bed, formats, hints).prints
}

/// As [`find_all`], with what else lies there.
pub fn look(frame: &Frame, proxy: &Picture, step: usize, bed: &Field, formats: &[Format], hints: &Hints) -> Lying {
    let Some(first) = find::find(frame, proxy, step, bed, formats, hints) else { return Lying::default() };
    // An outline that is a guess itself says nothing of the others' scale.
    if first.confidence < SURE || !image_quality::another(proxy, step as f64, bed, &first) {
        return Lying { prints: vec![first], others: vec![] };
    }
    let scale = first.pose.px_per_mm();
    let hints = Hints { px_per_mm: Some(hints.px_per_mm.unwrap_or(scale)), drawn: None, ..*hints };
    let mut all = vec![first];
    while all.len() < MOST {
        let known: Vec<Vec<Point>> = all.iter().map(|f| grown(&f.polygon(), CLEAR * scale)).collect();
        let rest = blanked(proxy, step as f64, bed, &known);
        // Whatever was found last: as much must be left.
        if !image_quality::another(&rest, step as f64, bed, &all[0]) {
            break;
        }
        let Some(next) = find::find(frame, &rest, step, bed, formats, &hints) else { break };
        let of_one_scale = (next.pose.px_per_mm() / scale - 1.0).abs() < ONE_SCALE;
        // What lies mostly on one that is known is not another.
        let new = all.iter().all(|f| shared(f, &next) < 0.5);
        if next.confidence < SURE || !of_one_scale || !new {
            break;
        }
        all.push(next);
    }
    sorted(all, (frame.width, frame.height))
}

/// Tells whole prints from the others: of two that overlap the surer one counts.
fn sorted(mut all: Vec<Found>, size: (usize, usize)) -> Lying {
    all.sort_by(|a, b| b.confidence.total_cmp(&a.confidence));
    let mut lying = Lying::default();
    let surest = all.first().cloned();
    for found in all {
        let outline = found.polygon();
        let why = if let Some(rim) = cut(&found, size) {
            Some(Why::Cut(rim))
        } else {
            lying.prints.iter().any(|f| shared(f, &found) > OVERLAP).then_some(Why::Overlaps)
        };
        match why {
            Some(why) => lying.others.push(Other { why, outline }),
            None => lying.prints.push(found),
        }
    }
    if lying.prints.is_empty() {
        let first = surest.as_ref().map(|f| f.polygon()).unwrap_or_default();
        lying.others.retain(|o| o.outline != first);
        lying.prints.extend(surest);
    }
    let boxes: Vec<[f64; 4]> = lying.prints.iter().map(|f| around(&f.polygon())).collect();
    let order = reading_order(&boxes);
    let mut prints: Vec<Option<Found>> = lying.prints.into_iter().map(Some).collect();
    lying.prints = order.into_iter().filter_map(|i| prints[i].take()).collect();
    lying
}

/// The side of the frame at which a print leaves it most.
fn cut(found: &Found, (w, h): (usize, usize)) -> Option<Rim> {
    let m = margins(&found.polygon(), w, h);
    let sides = [Rim::Left, Rim::Top, Rim::Right, Rim::Bottom];
    let most = (0..4).min_by(|&a, &b| m[a].total_cmp(&m[b]))?;
    (m[most] < -AT_THE_RIM * found.pose.px_per_mm()).then_some(sides[most])
}

/// Left, top, right and bottom of a polygon.
fn around(polygon: &[Point]) -> [f64; 4] {
    polygon.iter().fold([f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY], |b, p| {
        [b[0].min(p.x), b[1].min(p.y), b[2].max(p.x), b[3].max(p.y)]
    })
}

/// The order in which a person reads boxes (left, top, right, bottom): a box stands in a row if it overlaps the row's first one by
/// half of the lower of the two.
pub fn reading_order(boxes: &[[f64; 4]]) -> Vec<usize> {
    let mut left: Vec<usize> = (0..boxes.len()).collect();
    left.sort_by(|&a, &b| boxes[a][1].total_cmp(&boxes[b][1]));
    let mut order = Vec::with_capacity(boxes.len());
    while let Some(&first) = left.first() {
        let [_, top, _, bottom] = boxes[first];
        let beside = |i: &usize| {
            let [_, t, _, b] = boxes[*i];
            bottom.min(b) - top.max(t) > 0.5 * (bottom - top).min(b - t)
        };
        let mut row: Vec<usize> = left.iter().copied().filter(|i| *i == first || beside(i)).collect();
        left.retain(|i| !row.contains(i));
        row.sort_by(|&a, &b| (boxes[a][0] + boxes[a][2]).total_cmp(&(boxes[b][0] + boxes[b][2])));
        order.extend(row);
    }
    order
}

/// The share of the smaller of two prints that both cover.
fn shared(a: &Found, b: &Found) -> f64 {
    let (a, b) = (a.outline.corners().0, b.outline.corners().0);
    let least = a.area().abs().min(b.area().abs()).max(1e-9);
    common(&a, &b) / least
}

/// The area that two convex quadrilaterals share: the one clipped by each side of the other (Sutherland and Hodgman 1974,
/// doi 10.1145/360767.360802), measured by the shoelace formula.
fn common(a: &Quad, b: &Quad) -> f64 {
    let mut shape = a.0.to_vec();
    for i in 0..4 {
        let (from, to) = (b.0[i], b.0[(i + 1) % 4]);
        let inside = |p: Point| (to - from).cross(p - from) * b.area().signum();
        let mut next = Vec::with_capacity(shape.len() + 1);
        for (k, &p) in shape.iter().enumerate() {
            let q = shape[(k + 1) % shape.len()];
            let (dp, dq) = (inside(p), inside(q));
            if dp >= 0.0 {
                next.push(p);
            }
            if dp * dq < 0.0 {
                next.push(p.lerp(q, dp / (dp - dq)));
            }
        }
        shape = next;
    }
    let twice: f64 = (0..shape.len()).map(|k| shape[k].cross(shape[(k + 1) % shape.len()])).sum();
    twice.abs() / 2.0
}

/// A polygon grown by so many pixels away from its centre.
pub fn grown(polygon: &[Point], by: f64) -> Vec<Point> {
    let n = polygon.len().max(1) as f64;
    let centre = polygon.iter().fold(Point::default(), |a, &p| a + p) * (1.0 / n);
    polygon.iter().map(|&p| p + (p - centre).unit() * by).collect()
}

/// A reduced frame with the bed painted over what lies in the polygons (frame pixels).
pub fn blanked(proxy: &Picture, step: f64, bed: &Field, polygons: &[Vec<Point>]) -> Picture {
    let mut out = proxy.clone();
    let (w, h) = (proxy.width(), proxy.height());
    for y in 0..h {
        for polygon in polygons {
            for (from, to) in spans(polygon, (y as f64 + 0.5) * step) {
                let at = |x: f64| (x / step + 0.5).clamp(0.0, w as f64) as usize;
                for x in at(from)..at(to) {
                    let p = point((x as f64 + 0.5) * step, (y as f64 + 0.5) * step);
                    let v = bed.at(p.x, p.y);
                    (0..3).for_each(|c| out.0[c].data[y * w + x] = v[c]);
                }
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_are_read_from_top_to_bottom_and_each_from_left_to_right() {
        let b = |x: f64, y: f64, w: f64, h: f64| [x, y, x + w, y + h];
        assert_eq!(reading_order(&[b(60.0, 3.0, 50.0, 80.0), b(0.0, 10.0, 50.0, 80.0)]), [1, 0]);
        // Two rows whose prints lie unevenly, the lower left one higher than the lower right one.
        let boxes =
            [b(100.0, 98.0, 50.0, 80.0), b(0.0, 90.0, 50.0, 80.0), b(110.0, 0.0, 50.0, 80.0), b(5.0, 12.0, 50.0, 70.0)];
        assert_eq!(reading_order(&boxes), [3, 2, 1, 0]);
        // One high print with two low ones beside it: the upper one shares its row.
        assert_eq!(
            reading_order(&[b(60.0, 50.0, 40.0, 40.0), b(60.0, 0.0, 40.0, 40.0), b(0.0, 0.0, 50.0, 90.0)]),
            [2, 1, 0]
        );
        assert!(reading_order(&[]).is_empty());
    }

    /// Closed forms: a square shifted by half shares half; turned by 45 degrees about its centre it shares a regular octagon of
    /// 2 (sqrt 2 - 1) of its area; one beside shares nothing.
    #[test]
    fn shared_areas_are_those_of_geometry() {
        let square = Quad::rectangle(10.0, 10.0);
        let by = |x: f64, y: f64| square.map(|p| p + point(x, y));
        assert!((common(&square, &by(5.0, 0.0)) - 50.0).abs() < 1e-9);
        assert!((common(&square, &by(7.0, 6.0)) - 12.0).abs() < 1e-9);
        assert_eq!(common(&square, &by(10.5, 0.0)), 0.0);
        let c = point(5.0, 5.0);
        let (s, k) = std::f64::consts::FRAC_PI_4.sin_cos();
        let turned = square.map(|p| c + point((p - c).x * k - (p - c).y * s, (p - c).x * s + (p - c).y * k));
        assert!((common(&square, &turned) - 200.0 * (2f64.sqrt() - 1.0)).abs() < 1e-9);
        assert!((common(&by(5.0, 0.0).rolled(2), &square) - 50.0).abs() < 1e-9);
    }
}
