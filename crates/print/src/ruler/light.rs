//! Light over the frame, from the bare paper between the squares.

use super::{Place, spots};
use crate::edge::Reader;
use geometry::ruler::{PITCH, Sheet};
use geometry::solve::LeastSquares;
use geometry::{Lens, Point, point};
use pixels::Frame;

/// Side of the paper read between four squares, nominal mm: clear of them and their blur.
const SIDE: f64 = 4.0;
/// Samples along it.
const SAMPLES: usize = 12;
/// Light from which a sample counts as clipped: half a code of 8 bits under full scale.
const CLIPPED: f32 = 0.995;
/// Degree of the surface by the spots there are: two to each of its terms at least. The logarithm of a lamp's light over a
/// field it is three half diagonals from, and of a lens's vignette, is held to 0.1 % by the fourth (`docs/science/light.md`).
const DEGREES: [(usize, usize); 3] = [(30, 4), (20, 3), (12, 2)];

/// The light that bare paper returns over a frame, as a smooth surface.
#[derive(Clone, Debug, PartialEq)]
pub struct PaperLight {
    /// Per channel the coefficients of the light's logarithm, in powers of x and y from the frame's middle in half diagonals.
    terms: [Vec<f64>; 3],
    degree: usize,
    unit: Lens,
    /// Spots of paper it runs through.
    pub spots: usize,
    /// Root mean square distance of the spots from the surface, as a share of the light (green).
    pub rms: f64,
    /// Fall-off over the frame's middle, corners and what lies between: brightest to darkest, stops, per channel.
    pub fall_off_stops: [f64; 3],
}

impl PaperLight {
    /// Linear light of bare paper at a frame position, per channel.
    pub fn at(&self, p: Point) -> [f64; 3] {
        let row = powers(&self.unit, self.degree, p);
        std::array::from_fn(|c| self.terms[c].iter().zip(&row).map(|(a, b)| a * b).sum::<f64>().exp())
    }

    /// Fits the surface to what a frame shows of the sheet's paper; `None` where too little is seen or most of it is clipped.
    ///
    /// Paper is taken as equally white all over, and as matte: what the light does under the lens's vignette is what it is.
    pub(super) fn of(frame: &Frame, sheet: &Sheet, place: &Place) -> Option<Self> {
        let reader = Reader::new(frame);
        let (x, y) = sheet.paper.reach();
        let gaps = (-y..y).flat_map(|row| (-x..x).map(move |col| (col, row)));
        let seen: Vec<(Point, [f64; 3])> =
            gaps.filter_map(|(col, row)| spot(&reader, sheet, place, col, row)).collect();
        let degree = DEGREES.iter().find(|d| seen.len() >= d.0)?.1;
        let unit = Lens::straight(frame.width as f64, frame.height as f64);
        let rows: Vec<Vec<f64>> = seen.iter().map(|(p, _)| powers(&unit, degree, *p)).collect();
        let mut terms = [const { Vec::new() }; 3];
        for (c, t) in terms.iter_mut().enumerate() {
            let mut system = LeastSquares::new(rows[0].len());
            rows.iter().zip(&seen).for_each(|(row, (_, light))| system.add(row, light[c].ln(), 1.0));
            *t = system.solve(1e-12)?;
        }
        let mut out = Self { terms, degree, unit, spots: seen.len(), rms: 0.0, fall_off_stops: [0.0; 3] };
        let sum: f64 = seen.iter().map(|(p, v)| (v[1] / out.at(*p)[1].max(1e-9) - 1.0).powi(2)).sum();
        out.rms = (sum / seen.len() as f64).sqrt();
        out.fall_off_stops = out.fall_off((frame.width, frame.height));
        Some(out)
    }

    fn fall_off(&self, size: (usize, usize)) -> [f64; 3] {
        let far = spots(size)[3];
        let grid = (0..=16).flat_map(|j| (0..=16).map(move |i| point(f64::from(i) / 16.0, f64::from(j) / 16.0)));
        let light: Vec<[f64; 3]> = grid.map(|p| self.at(point(p.x * far.x, p.y * far.y))).collect();
        std::array::from_fn(|c| {
            let (low, high) = light.iter().fold((f64::INFINITY, 0.0f64), |(l, h), v| (l.min(v[c]), h.max(v[c])));
            (high / low.max(1e-9)).log2()
        })
    }
}

/// All products of powers of x and y up to a degree, in half diagonals from the frame's middle.
fn powers(unit: &Lens, degree: usize, p: Point) -> Vec<f64> {
    let q = (p - unit.centre) * (1.0 / unit.unit);
    let terms = (0..=degree).flat_map(|n| (0..=n).map(move |k| (n - k, k)));
    terms.map(|(i, j)| q.x.powi(i as i32) * q.y.powi(j as i32)).collect()
}

/// Mean light of the paper between four squares; `None` where it leaves the frame or clips.
fn spot(reader: &Reader<'_>, sheet: &Sheet, place: &Place, col: i32, row: i32) -> Option<(Point, [f64; 3])> {
    let half = PITCH / 2.0 * sheet.scale;
    let middle = sheet.place(col, row) + point(half, half);
    let mut sum = [0.0; 3];
    for k in 0..SAMPLES * SAMPLES {
        let at = |i: usize| ((i as f64 + 0.5) / SAMPLES as f64 - 0.5) * SIDE * sheet.scale;
        let light = reader.at(place.frame(middle + point(at(k % SAMPLES), at(k / SAMPLES))))?;
        if light.iter().any(|v| *v >= CLIPPED) {
            return None;
        }
        (0..3).for_each(|c| sum[c] += f64::from(light[c]) / (SAMPLES * SAMPLES) as f64);
    }
    sum.iter().all(|v| *v > 0.0).then(|| (place.frame(middle), sum))
}
