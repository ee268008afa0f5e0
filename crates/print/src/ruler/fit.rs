//! Camera and lens from the sheet's edges: perspective, Brown-Conrady distortion and principal point in one least squares.

use super::edges::EdgePoint;
use super::{RulerError, Value};
use geometry::fit::spread;
use geometry::ruler::PITCH;
use geometry::solve::{covariance, levenberg_marquardt};
use geometry::{Homography, Lens, Point, point};
use std::collections::BTreeMap;

/// Millimetres and half diagonals are scaled so that every parameter is near 1.
const MM: f64 = 100.0;
/// What is known before looking, as standard deviations: first and second radial term in half diagonals (a macro lens bends
/// under 2 % in the corner), the principal point in half diagonals (a lens sits within a millimetre of its sensor's middle),
/// and the ink's spread in mm. They hold what a sheet under a straight lens cannot say, and are far wider than what it can.
const BEFORE: [(usize, f64); 5] = [(8, 0.2), (9, 0.02), (10, 0.03), (11, 0.03), (12, 0.2)];
/// Steps of the differences: a millionth of what matters.
const STEPS: [f64; N] = [1e-6; N];
const N: usize = 13;
/// Noise of one place of an edge assumed at first, pixels.
const NOISE: f64 = 0.05;
/// A place farther than this many robust standard deviations from the model is dust, or not the edge.
const OUTLIER: f64 = 4.0;

/// A sheet's place in a frame.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Sheet mm to the frame of the same camera with a straight lens.
    pub straight_from_sheet: Homography,
    /// The lens; `k` and centre in units of half the frame's diagonal.
    pub lens: Lens,
    /// How much farther out every edge lies than it was drawn, mm: the ink's spread (and what sharpening adds).
    pub growth_mm: f64,
    /// Root mean square distance of the edges from the model, pixels.
    pub rms_px: f64,
    /// The same of whole edges, their places' own noise averaged away: what the model does not explain, such as paper that
    /// does not lie flat.
    pub edge_rms_px: f64,
    /// Edge places used.
    pub places: usize,
    /// Standard errors of k1, k2, and the principal point's x and y in pixels.
    pub lens_error: [f64; 4],
    fit: Fit,
}

/// The fit's own numbers, kept so that errors can be carried on to whatever is derived.
#[derive(Clone, Debug, PartialEq)]
struct Fit {
    x: Vec<f64>,
    covariance: Vec<f64>,
    size: (f64, f64),
}

impl Place {
    /// Where a point of the sheet falls in the frame.
    pub fn frame(&self, sheet: Point) -> Point {
        self.lens.distort(self.straight_from_sheet.apply(sheet))
    }
    /// The point of the sheet that a frame position shows.
    pub fn sheet(&self, frame: Point) -> Option<Point> {
        Some(self.straight_from_sheet.inverse()?.apply(self.lens.straighten(frame)))
    }
}

/// How the camera stands to the sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stand {
    /// Lean about the world's x axis (image right), degrees.
    pub tilt_x_deg: Value,
    /// Lean about the world's y axis (image up), degrees.
    pub tilt_y_deg: Value,
    /// The sheet's turn in the world, degrees counter-clockwise as seen.
    pub rotation_deg: Value,
    /// Frame pixels per millimetre where the optical axis meets the sheet, for a level camera.
    pub px_per_mm: Value,
    /// How much longer the sheet was printed down than across, as a factor: a printer's feed is rarely true.
    pub stretch: Value,
}

fn lens(x: &[f64], size: (f64, f64)) -> Lens {
    let straight = Lens::straight(size.0, size.1);
    let centre = straight.centre + point(x[10], x[11]) * straight.unit;
    Lens { centre, k: [x[8], x[9], 0.0], ..straight }
}

fn homography(x: &[f64], size: (f64, f64)) -> Homography {
    let straight = Lens::straight(size.0, size.1);
    let unit = Homography([[x[0], x[1], x[2]], [x[3], x[4], x[5]], [x[6], x[7], 1.0]]);
    let frame = Homography::scale_then_move(straight.unit, straight.centre.x, straight.centre.y);
    frame.then_after(&unit).then_after(&Homography::scale_then_move(1.0 / MM, 0.0, 0.0))
}

/// Distances of the places from the model, pixels along their normals, outward.
fn distances(x: &[f64], places: &[EdgePoint], size: (f64, f64)) -> Vec<f64> {
    let (lens, map) = (lens(x, size), homography(x, size));
    let one = |p: &EdgePoint| {
        let on = lens.distort(map.apply(p.sheet + p.outward * x[12]));
        (p.frame - on).dot(p.normal)
    };
    places.iter().map(one).collect()
}

/// Fits the model to edge places. `start` takes sheet mm to the frame, roughly.
pub fn fit(places: &[EdgePoint], start: &Homography, frame: (usize, usize)) -> Result<Place, RulerError> {
    let size = (frame.0 as f64, frame.1 as f64);
    let straight = Lens::straight(size.0, size.1);
    let to_unit = Homography::scale_then_move(1.0, -straight.centre.x, -straight.centre.y);
    let to_unit = Homography::scale_then_move(1.0 / straight.unit, 0.0, 0.0).then_after(&to_unit);
    let h = to_unit.then_after(start).then_after(&Homography::scale_then_move(MM, 0.0, 0.0)).0;
    let mut x = vec![h[0][0], h[0][1], h[0][2], h[1][0], h[1][1], h[1][2], h[2][0], h[2][1], 0.0, 0.0, 0.0, 0.0, 0.0];
    let mut kept = places.to_vec();
    for _ in 0..2 {
        x = levenberg_marquardt(|x| residuals(x, &kept, size, NOISE), &x, &STEPS, 30).0;
        let far = distances(&x, &kept, size);
        let cut = OUTLIER * spread(&far).max(0.01);
        kept = kept.iter().zip(&far).filter(|(_, d)| d.abs() <= cut).map(|(p, _)| *p).collect();
        if kept.len() < 4 * N {
            return Err(RulerError::Unsteady);
        }
    }
    let far = distances(&x, &kept, size);
    let (noise, edge_rms_px) = noise(&kept, &far);
    let covariance = covariance(|x| residuals(x, &kept, size, noise), &x, &STEPS).ok_or(RulerError::Unsteady)?;
    let rms = (far.iter().map(|d| d * d).sum::<f64>() / far.len() as f64).sqrt();
    let error = |i: usize| covariance[i * N + i].max(0.0).sqrt();
    let lens_error = [error(8), error(9), error(10) * straight.unit, error(11) * straight.unit];
    if !rms.is_finite() || lens_error.iter().any(|e| !e.is_finite()) {
        return Err(RulerError::Unsteady);
    }
    Ok(Place {
        straight_from_sheet: homography(&x, size),
        lens: lens(&x, size),
        growth_mm: x[12],
        rms_px: rms,
        edge_rms_px,
        places: kept.len(),
        lens_error,
        fit: Fit { x, covariance, size },
    })
}

fn residuals(x: &[f64], places: &[EdgePoint], size: (f64, f64), noise: f64) -> Vec<f64> {
    let mut r: Vec<f64> = distances(x, places, size).iter().map(|d| d / noise).collect();
    r.extend(BEFORE.iter().map(|&(i, sd)| x[i] / sd));
    r
}

/// Standard deviation to give each place, so that errors come out right though places err together: from the means of whole
/// edges, and of like edges in blocks of three by three squares, where those scatter more than their places' own noise
/// explains. Also the scatter of the edges' means.
fn noise(places: &[EdgePoint], far: &[f64]) -> (f64, f64) {
    // Side of a block, mm.
    const BLOCK: f64 = 3.0 * PITCH;
    let block = |v: f64| (v / BLOCK).floor() as i64;
    let (edges, each) = scatter(places, far, |p| (p.edge, 0, 0));
    let (_, blocks) = scatter(places, far, |p| (p.edge % 4, block(p.sheet.x), block(p.sheet.y)));
    let rms = (far.iter().map(|d| d * d).sum::<f64>() / far.len().max(1) as f64).sqrt();
    // Rounding alone leaves a thousandth of a pixel.
    (rms.max(each).max(blocks).max(1e-3), edges)
}

/// Root mean square of the groups' mean distances, and the deviation of single places that would scatter the means so.
fn scatter<K: Ord>(places: &[EdgePoint], far: &[f64], group: impl Fn(&EdgePoint) -> K) -> (f64, f64) {
    let mut groups: BTreeMap<K, (f64, f64)> = BTreeMap::new();
    for (p, d) in places.iter().zip(far) {
        let g = groups.entry(group(p)).or_default();
        *g = (g.0 + d, g.1 + 1.0);
    }
    let n = groups.len().max(1) as f64;
    let means: f64 = groups.values().map(|(sum, count)| (sum / count).powi(2)).sum();
    let singles: f64 = groups.values().map(|(sum, count)| sum * sum / count).sum();
    ((means / n).sqrt(), (singles / n).sqrt())
}

impl Place {
    /// How the camera stands, for a focal length (image distance) in pixels, with standard errors.
    pub fn stand(&self, focal_px: f64) -> Option<Stand> {
        let Fit { x, covariance, size } = &self.fit;
        let of = |x: &[f64]| stand(&homography(x, *size), lens(x, *size).centre, focal_px);
        let value = of(x)?;
        let slopes: Vec<[f64; 5]> = (0..N)
            .map(|j| {
                let (mut up, mut down) = (x.clone(), x.clone());
                up[j] += STEPS[j];
                down[j] -= STEPS[j];
                let (a, b) = (of(&up)?, of(&down)?);
                Some(std::array::from_fn(|i| (a[i] - b[i]) / (2.0 * STEPS[j])))
            })
            .collect::<Option<_>>()?;
        let error = |i: usize| {
            let each = (0..N * N).map(|k| slopes[k / N][i] * covariance[k] * slopes[k % N][i]);
            each.sum::<f64>().max(0.0).sqrt()
        };
        let [tilt_x_deg, tilt_y_deg, rotation_deg, px_per_mm, stretch] =
            std::array::from_fn(|i| Value { value: value[i], error: error(i) });
        Some(Stand { tilt_x_deg, tilt_y_deg, rotation_deg, px_per_mm, stretch })
    }
}

/// Tilt about x and y and rotation in degrees, pixels per millimetre on the axis, and stretch, from a homography (sheet mm to
/// straight frame), the principal point and the focal length in pixels.
///
/// With frame positions `u` from the principal point and `G` the inverse of `H`, the depth of what is seen goes as
/// `1 / Z ~ g31 u_x + g32 u_y + g33`, and for a plane with unit normal `n` as `1 / Z ~ n_x u_x / f + n_y u_y / f + n_z`. So
/// `n ~ (f g31, f g32, g33)`, towards the camera: the perspective row alone gives the tilt, whatever the printer did to the
/// sheet's proportions, and an error of 1 % in `f` is one of 1 % in the tilt. With the camera turned by `Rx(tilt_x)
/// Ry(tilt_y)`, `tan(tilt_y) = f g31 / g33` and `sin(tilt_x) = n_down`. The closed-form pose is not used: near square-on it
/// takes foreshortening for tilt, and a proportion wrong by 1 in 10,000 fakes 0.8 degrees.
///
/// `K^-1 H = (r1, r2, t) / t_z` gives the depth of the sheet's origin from the length of its first column, and with it the
/// scale at the axis; the ratio of the second column's length to the first's is the stretch (Hartley and Zisserman, ch. 8;
/// from memory).
fn stand(h: &Homography, centre: Point, f: f64) -> Option<[f64; 5]> {
    let h = Homography::scale_then_move(1.0, -centre.x, -centre.y).then_after(h);
    let g = h.inverse()?.0[2];
    let (a, b) = (f * g[0] / g[2], f * g[1] / g[2]);
    let norm = (a * a + b * b + 1.0).sqrt();
    let (tilt_y, tilt_x) = (a.atan(), (b / norm).asin());
    let column = |j: usize| [h.0[0][j] / f, h.0[1][j] / f, h.0[2][j]];
    let length = |v: [f64; 3]| v.iter().map(|x| x * x).sum::<f64>().sqrt();
    let (first, second) = (column(0), column(1));
    let axis = h.inverse()?.apply(Point::default());
    let depth = h.0[2][0] * axis.x + h.0[2][1] * axis.y + 1.0;
    // The sheet's x direction in the world: camera right, down, forward turned by Rx Ry.
    let ((sx, cx), (sy, cy)) = (tilt_x.sin_cos(), tilt_y.sin_cos());
    let [r, d, z] = first;
    let world = point(r * cy - z * sy, r * sx * sy - d * cx + z * sx * cy);
    let out = [
        tilt_x.to_degrees(),
        tilt_y.to_degrees(),
        world.angle().to_degrees(),
        f * length(first) / depth,
        length(second) / length(first),
    ];
    out.iter().all(|v| v.is_finite()).then_some(out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use geometry::Quad;

    /// Test vector T3 (`docs/references.md`, geometry), computed with OpenCV 5.0: f = 9000, an 88 by 107 mm rectangle 400 mm
    /// away and turned by +2 degrees about x with y down, which is a camera leaning by -2.
    #[test]
    fn the_references_tilted_rectangle_gives_its_tilt_back() {
        let seen = [
            point(2005.357199, 791.341507),
            point(3994.642801, 791.341507),
            point(3985.400341, 3197.427347),
            point(2014.599659, 3197.427347),
        ];
        let known = Quad::rectangle(88.0, 107.0).map(|p| p - point(44.0, 53.5));
        let h = Homography::from_points(&known.0, &seen).unwrap();
        let [tilt_x, tilt_y, rotation, scale, stretch] = stand(&h, point(3000.0, 2000.0), 9000.0).unwrap();
        assert!(
            (tilt_x + 2.0).abs() < 1e-4 && tilt_y.abs() < 1e-4 && rotation.abs() < 1e-4,
            "{tilt_x} {tilt_y} {rotation}"
        );
        assert!((scale - 22.5).abs() < 1e-4 && (stretch - 1.0).abs() < 1e-6, "{scale} {stretch}");
    }

    /// A sheet printed 0.5 % long one way: tilt stays, where the closed-form pose would be off by degrees.
    #[test]
    fn a_stretched_print_fakes_no_tilt() {
        let seen = [
            point(2005.357199, 791.341507),
            point(3994.642801, 791.341507),
            point(3985.400341, 3197.427347),
            point(2014.599659, 3197.427347),
        ];
        let known = Quad::rectangle(88.0, 107.0 / 1.005).map(|p| p - point(44.0, 53.5 / 1.005));
        let h = Homography::from_points(&known.0, &seen).unwrap();
        let [tilt_x, tilt_y, _, scale, stretch] = stand(&h, point(3000.0, 2000.0), 9000.0).unwrap();
        assert!((tilt_x + 2.0).abs() < 1e-4 && tilt_y.abs() < 1e-4, "{tilt_x}");
        assert!((scale - 22.5).abs() < 1e-4 && (stretch - 1.005).abs() < 1e-6, "{scale} {stretch}");
    }

    /// Turned by a quarter and leaning both ways: the closed forms of `Rx Ry` projected by hand.
    #[test]
    fn lean_both_ways_and_turn_come_apart() {
        let (tx, ty, turn, f, distance) = (1.3f64, -2.1f64, 95.0f64, 7000.0, 380.0);
        let ((sx, cx), (sy, cy)) = (tx.to_radians().sin_cos(), ty.to_radians().sin_cos());
        let (right, up, back) = ([cy, sx * sy, -cx * sy], [0.0, cx, sx], [sy, -sx * cy, cx * cy]);
        let project = |p: Point| {
            // Sheet y runs down; turned counter-clockwise in a world with y up.
            let (s, c) = turn.to_radians().sin_cos();
            let w = [p.x * c + p.y * s, p.x * s - p.y * c, 0.0];
            let d: [f64; 3] = std::array::from_fn(|i| w[i] - back[i] * distance);
            let dot = |a: [f64; 3]| a[0] * d[0] + a[1] * d[1] + a[2] * d[2];
            point(1500.0 + f * dot(right) / -dot(back), 1000.0 - f * dot(up) / -dot(back))
        };
        let known = Quad::rectangle(150.0, 100.0).map(|p| p - point(70.0, 40.0));
        let h = Homography::from_points(&known.0, &known.0.map(project)).unwrap();
        let got = stand(&h, point(1500.0, 1000.0), f).unwrap();
        for (g, w) in got.iter().zip([tx, ty, turn, f / distance, 1.0]) {
            assert!((g - w).abs() < 1e-6, "{got:?}");
        }
    }
}
