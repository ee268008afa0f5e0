//! How much darker or brighter a bent print is than a flat one, from its bend, and from its border where that can be measured.
//!
//! A matte sheet is lit with the cosine between its normal and the light. With slopes `p = (z_x, z_y)`, the light's horizontal direction
//! `u` and its elevation `e`, the light of the bent sheet over that of the flat one is
//! `s = (1 - cot e (p . u)) / sqrt(1 + |p|^2)` (Lambert's law). The bend model of [`crate::pose::Pose`] is a quadratic, whose slopes are
//! linear: `p = H q`, `q` the place from the print's centre. To first order `ln s = g . q` with `g = -cot e H u`: a plane. The bend's
//! outline says `g` up to the light's elevation and the error of `H`; a border of one colour shows the same plane directly. The two are
//! weighed by their errors, and the border may move the answer only as far as the bend's own error bar reaches: two standard errors.

use crate::pose::Pose;
use geometry::solve::LeastSquares;
use geometry::{Point, point};

/// Cotangent of the light's elevation before anything is known of it, and its spread: copy stands are lit from 45 degrees, 35 to 55 is
/// usual (common practice, no source).
const COT: (f64, f64) = (1.0, 0.3);
/// How much a border's light changes from the middle to a side for other reasons than its bend, as a share: age, and the sheen of a
/// half-gloss border, which grows towards the light (our judgement, no source).
const BORDER: f64 = 0.02;
/// Curvature, the same both ways, that an unknown lens's distortion adds to a bend or takes from it, 1/mm (standard deviation). A half per
/// cent of distortion at 80 mm off the axis bows a side as a dish of about this does; one of a lens that a ruler frame measured is a sixth.
const LENS: [f64; 2] = [6e-4, 1e-4];
/// A bend of less lift (mm) is left: finders call flat prints bent by up to half of it.
pub const LEAST_LIFT: f64 = 0.8;
/// Shading under this share from the middle to a corner is left: nobody sees it.
const LEAST: f64 = 0.02;

/// The light of a bent print over that of the flat one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shading {
    /// Slope of `ln s`, per mm to the right and down of the print's centre.
    pub slope: Point,
    /// Standard error of either, per mm.
    pub slope_sigma: Point,
    /// `H` as the outline has it, for the second order: the second derivatives xx, xy, yy, 1/mm, y down.
    pub bend: [f64; 3],
    /// Gain of `ln s` per mm of height over the print's middle: nearer to a small lamp is brighter.
    pub rise: f64,
    /// Print size, mm.
    pub size: (f64, f64),
    /// True where the border was measured too.
    pub by_border: bool,
}

impl Shading {
    /// `ln s` at a print point (mm from the top left).
    pub fn ln_at(&self, p: Point) -> f64 {
        let q = p - point(self.size.0 / 2.0, self.size.1 / 2.0);
        let [a, b, c] = self.bend;
        let slope = point(a * q.x + b * q.y, b * q.x + c * q.y);
        self.slope.dot(q) - slope.dot(slope) / 2.0 + self.rise * slope.dot(q) / 2.0
    }

    /// The greatest change from the middle to a corner, as a share, and its standard error.
    pub fn most(&self) -> (f64, f64) {
        let (w, h) = (self.size.0 / 2.0, self.size.1 / 2.0);
        let most = self.slope.x.abs() * w + self.slope.y.abs() * h;
        (most, (self.slope_sigma.x * w).hypot(self.slope_sigma.y * h))
    }
}

/// The light on a print.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Light {
    /// Where it stands, radians on the upright print, 0 right, from right towards down.
    pub azimuth: f64,
    /// Its distance from the print, mm, where it is known.
    pub distance_mm: Option<f64>,
    /// True where a ruler frame measured the lens.
    pub lens_known: bool,
}

/// Why a print's shading is left as it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Left {
    /// It is flat, or too little bent to matter.
    Flat,
    /// The bend is not known well enough.
    Vague,
    /// Nothing says where the light stands.
    NoLight,
    /// The border's light contradicts the bend.
    Contradicted,
}

/// The shading of a print with this pose in a light, whose border reads `border`: places (mm from the top left) and light over bed.
///
/// # Errors
/// Why it is left.
pub fn estimate(pose: &Pose, light: Option<Light>, border: &[(Point, f64)]) -> Result<Shading, Left> {
    let lift = pose.lift();
    if lift < LEAST_LIFT {
        return Err(Left::Flat);
    }
    let light = light.ok_or(Left::NoLight)?;
    let u = Point::at_angle(light.azimuth);
    let lens = LENS[usize::from(light.lens_known)];
    // The pose's y runs up.
    let [a, b, c] = pose.curl;
    let bend = [a, -b, c];
    let [sa, sb, sc] = pose.curl_sigma;
    let hu = point(bend[0] * u.x + bend[1] * u.y, bend[1] * u.x + bend[2] * u.y);
    let told = hu * -COT.0;
    let (w, h) = (pose.size.0 / 2.0, pose.size.1 / 2.0);
    let outline = point(
        (COT.0 * (sa.hypot(lens) * u.x).hypot(sb * u.y)).hypot(COT.1 * hu.x),
        (COT.0 * (sb * u.x).hypot(sc.hypot(lens) * u.y)).hypot(COT.1 * hu.y),
    );
    // At 45 degrees a place `z` higher is `z sin e` nearer, and light goes with the square of that.
    let rise = light.distance_mm.map_or(0.0, |d| std::f64::consts::SQRT_2 / d);
    let mut found = Shading { slope: told, slope_sigma: outline, bend, rise, size: pose.size, by_border: false };
    if let Some((seen, noise)) = plane(border, pose.size) {
        let sides = point(noise.x.hypot(BORDER / w), noise.y.hypot(BORDER / h));
        let apart = seen - told;
        if apart.x.abs() > 3.0 * outline.x.hypot(sides.x) || apart.y.abs() > 3.0 * outline.y.hypot(sides.y) {
            return Err(Left::Contradicted);
        }
        let weigh = |told: f64, st: f64, seen: f64, ss: f64| {
            let both = 1.0 / (1.0 / (st * st).max(1e-14) + 1.0 / (ss * ss).max(1e-14));
            let mean = both * (told / (st * st).max(1e-14) + seen / (ss * ss).max(1e-14));
            // Never beyond what the bend's error bar covers.
            (mean.clamp(told - 2.0 * st, told + 2.0 * st), both.sqrt())
        };
        let (x, sx) = weigh(told.x, outline.x, seen.x, sides.x);
        let (y, sy) = weigh(told.y, outline.y, seen.y, sides.y);
        found = Shading { slope: point(x, y), slope_sigma: point(sx, sy), by_border: true, ..found };
    }
    let (most, sigma) = found.most();
    if most < LEAST {
        return Err(Left::Flat);
    }
    if most < 2.0 * sigma {
        return Err(Left::Vague);
    }
    Ok(found)
}

/// Slope of the logarithm of a border's light per mm, and its standard error, by a robust plane; `None` where the border is too dark or too
/// little of it is seen to tell.
fn plane(border: &[(Point, f64)], (w, h): (f64, f64)) -> Option<(Point, Point)> {
    let middle = geometry::fit::median(&mut border.iter().map(|b| b.1).collect::<Vec<_>>());
    // A dark border's sheen is as bright as the border itself.
    if border.len() < 40 || middle < 0.4 {
        return None;
    }
    let (hw, hh) = (w / 2.0, h / 2.0);
    let rows: Vec<([f64; 3], f64)> =
        border.iter().map(|(p, v)| ([1.0, p.x / hw - 1.0, p.y / hh - 1.0], (v / middle).max(0.05).ln())).collect();
    let mut x = vec![0.0; 3];
    let mut noise = 0.05;
    let mut error = [0.0; 2];
    for _ in 0..8 {
        let mut system = LeastSquares::new(3);
        let rest = |x: &[f64], (row, y): &([f64; 3], f64)| y - row.iter().zip(x).map(|(a, b)| a * b).sum::<f64>();
        for r in &rows {
            // Tukey's weight: writing and stains are no light.
            let t = rest(&x, r) / (4.7 * noise);
            system.add(&r.0, r.1, if t.abs() < 1.0 { (1.0 - t * t).powi(2) } else { 0.0 });
        }
        x = system.solve(0.0)?;
        let all: Vec<f64> = rows.iter().map(|r| rest(&x, r)).collect();
        noise = geometry::fit::spread(&all).max(0.002);
        for (i, e) in error.iter_mut().enumerate() {
            let mut right = [0.0; 3];
            right[i + 1] = 1.0;
            // Stretches of a border err together: a dozen independent ones along each side.
            let kin = (border.len() as f64 / 48.0).max(1.0);
            *e = noise * (system.clone().with_right(&right).solve(0.0)?[i + 1] * kin).sqrt();
        }
    }
    Some((point(x[1] / hw, x[2] / hh), point(error[0] / hw, error[1] / hh)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use geometry::Lens;

    fn pose(curl: [f64; 3], sigma: f64) -> Pose {
        Pose {
            tilt_x: 0.0,
            tilt_y: 0.0,
            distance: 400.0,
            centre: point(0.0, 0.0),
            turn: 0.0,
            curl,
            lens: Lens::straight(6000.0, 4000.0),
            focal: 9000.0,
            size: (88.0, 107.0),
            rms: 0.01,
            tilt_sigma: 0.1,
            curl_sigma: [sigma; 3],
        }
    }

    fn from(azimuth: f64) -> Option<Light> {
        Some(Light { azimuth, distance_mm: None, lens_known: true })
    }

    /// Light of a matte parabolic sheet by Lambert's law, in closed form: edges up, axis up and down, light from `azimuth` at `elevation`.
    fn lambert(k: f64, x: f64, azimuth: f64, elevation: f64) -> f64 {
        let slope = k * x;
        (1.0 - slope * azimuth.cos() / elevation.tan()) / (1.0 + slope * slope).sqrt()
    }

    fn border(f: impl Fn(Point) -> f64) -> Vec<(Point, f64)> {
        (0..60)
            .flat_map(|i| {
                let t = f64::from(i) / 59.0;
                let (x, y) = (3.0 + 82.0 * t, 3.0 + 101.0 * t);
                [point(x, 3.0), point(x, 104.0), point(3.0, y), point(85.0, y)]
            })
            .map(|p| (p, f(p)))
            .collect()
    }

    /// The bend of a cylinder, light from the right at 38 degrees: the border corrects the elevation that nobody said.
    #[test]
    fn a_cylinders_shading_is_lamberts() {
        let (k, e) = (2.5e-3, 38f64.to_radians());
        let seen = border(|p| 0.8 * lambert(k, p.x - 44.0, 0.0, e));
        let found = estimate(&pose([k, 0.0, 0.0], 2e-4), from(0.0), &seen).unwrap();
        assert!(found.by_border);
        for x in [5.0, 20.0, 44.0, 70.0, 83.0] {
            let (got, want) = (found.ln_at(point(x, 50.0)), lambert(k, x - 44.0, 0.0, e).ln());
            // The third order of the logarithm at a slope of 0.1 (0.008), and the elevation's prior.
            assert!((got - want).abs() < 0.02, "{x}: {got} {want}");
        }
        // Without a border the elevation is 45 degrees, give or take a third of the effect.
        let blind = estimate(&pose([k, 0.0, 0.0], 2e-4), from(0.0), &[]).unwrap();
        let want = -k / e.tan();
        assert!((blind.slope.x - want).abs() < 2.0 * blind.slope_sigma.x, "{blind:?} {want}");
    }

    /// Light along the axis of a cylinder shades it by the second order alone.
    #[test]
    fn light_along_the_axis_leaves_nothing_to_divide() {
        let seen = border(|_| 0.8);
        let left = estimate(&pose([2.5e-3, 0.0, 0.0], 2e-4), from(std::f64::consts::FRAC_PI_2), &seen);
        assert_eq!(left, Err(Left::Flat));
    }

    #[test]
    fn a_flat_print_a_vague_bend_and_a_border_against_it_are_left() {
        let even = border(|_| 0.8);
        assert_eq!(estimate(&pose([2e-4, 0.0, 0.0], 1e-4), from(0.0), &even), Err(Left::Flat));
        assert_eq!(estimate(&pose([2e-3, 0.0, 0.0], 1.2e-3), from(0.0), &[]), Err(Left::Vague));
        assert_eq!(estimate(&pose([2e-3, 0.0, 0.0], 1e-4), None, &even), Err(Left::NoLight));
        let against = border(|p| 0.8 * (0.004 * (p.x - 44.0)).exp());
        assert_eq!(estimate(&pose([2e-3, 0.0, 0.0], 1e-4), from(0.0), &against), Err(Left::Contradicted));
    }

    /// The border says twice the bend: the answer stays within two standard errors of the bend.
    #[test]
    fn the_border_moves_the_answer_no_further_than_the_error_bar() {
        let k = 2e-3;
        let seen = border(|p| 0.8 * (-2.0 * k * (p.x - 44.0)).exp());
        let found = estimate(&pose([k, 0.0, 0.0], 3e-4), from(0.0), &seen).unwrap();
        let sigma = 3e-4f64.hypot(1e-4).hypot(0.3 * k);
        assert!(found.slope.x >= -k - 2.0 * sigma - 1e-9 && found.slope.x < -k - sigma, "{found:?}");
    }
}
