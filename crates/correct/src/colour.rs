//! Fits colour from a chart and judges it; without a chart, balances on the bed.
//!
//! Light relative to the bed (the frame divided by what the bare bed would read there) becomes XYZ by the simplest model that
//! the chart justifies: a gain a channel, a 3 by 3 matrix, or a root polynomial, each with or without a camera's tone curve
//! undone first. A richer model is taken only where it predicts patches it was not shown clearly better, so that a chart
//! never brings noise into a frame whose colour was right already.

mod model;
#[cfg(test)]
mod tests;
mod tone_curve;

pub use model::Kind;
pub use tone_curve::ToneCurve;

use crate::colour::model::{Fit, Sample, Shape};
use pixels::{ChartValues, Matrix3, Primaries, lab_from_xyz, matrix, xyz_from_lab};
use print::chart::ChartReading;

/// L* of a bed nobody has measured, neutral: plain uncoated white paper without much brightener measures L* 94 to 97 under
/// 45/0 (common practice, no source). Larger lifts the master, smaller dims it; the mount does not change.
pub const PAPER_LIGHTNESS: f64 = 95.5;

/// A patch with more than this share of clipped samples tells nothing.
const CLIPPED_SHARE: f64 = 0.02;
/// Relative spread inside a patch at which it counts half: dirt, sheen or a misplaced lattice.
const SPREAD_HALF: f64 = 0.10;
/// A richer model must lower the mean leave-one-out CIEDE2000 by this much, which is what one may begin to see …
const WORTH_DE: f64 = 0.10;
/// … and by twice the standard error of that gain over the patches, so that chance does not choose.
const WORTH_ERRORS: f64 = 2.0;
/// Fewest usable patches.
const LEAST_PATCHES: usize = 4;

/// How well a fit meets its chart, in CIEDE2000.
#[derive(Clone, Debug, PartialEq)]
pub struct Differences {
    /// Mean.
    pub mean: f64,
    /// 90th percentile.
    pub p90: f64,
    /// Largest.
    pub worst: f64,
    /// The patch that has it.
    pub worst_id: String,
}

/// What a chart fit found.
#[derive(Clone, Debug, PartialEq)]
pub struct ColourReport {
    /// Patches used, of those in the chart.
    pub used: (usize, usize),
    /// Under the fit.
    pub in_sample: Differences,
    /// Each patch under the fit to the others.
    pub left_out: Differences,
    /// A gain a channel alone, for comparison: each patch under the fit to the others.
    pub balance_left_out: f64,
}

/// Why a chart gives no fit.
#[derive(Clone, Debug, PartialEq)]
pub enum ColourError {
    /// Usable patches, of those read.
    TooFew(usize, usize),
    /// The patches and the values do not pair up: arrange the reading first.
    Unpaired,
}

impl std::error::Error for ColourError {}

impl std::fmt::Display for ColourError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::TooFew(used, all) => write!(
                f,
                "only {used} of {all} chart patches can be used, the others are clipped or dirty: expose the chart as the prints, with no channel clipped"
            ),
            Self::Unpaired => write!(f, "the chart's patches do not pair with its values"),
        }
    }
}

/// How a sitting's light becomes colour.
#[derive(Clone, Debug)]
pub struct ColourFit {
    /// The camera's tone curve to undo, on decoded light, before anything is divided or fitted.
    pub look: Option<ToneCurve>,
    /// The kind of model.
    pub kind: Kind,
    /// XYZ (D50, perfect diffuser Y = 1) from light relative to the bed: r, g, b, sqrt(rg), sqrt(gb), sqrt(rb).
    pub xyz_from_terms: [[f64; 6]; 3],
    /// XYZ of the bed.
    pub bed_xyz: [f64; 3],
    /// How well the chart is met; none without a chart.
    pub report: Option<ColourReport>,
}

/// Linear RGB of some encoding from light relative to the bed: the fast end of a [`ColourFit`].
#[derive(Clone, Debug, PartialEq)]
pub struct Transform {
    rows: [[f32; 6]; 3],
    roots: bool,
}

impl Transform {
    /// The colour of light relative to the bed (after [`ColourFit::look`]).
    #[inline]
    pub fn apply(&self, [r, g, b]: [f32; 3]) -> [f32; 3] {
        let linear = self.rows.map(|m| m[0] * r + m[1] * g + m[2] * b);
        if !self.roots {
            return linear;
        }
        let root = |v: f32, w: f32| (v.max(0.0) * w.max(0.0)).sqrt();
        let t = [root(r, g), root(g, b), root(r, b)];
        std::array::from_fn(|i| linear[i] + self.rows[i][3] * t[0] + self.rows[i][4] * t[1] + self.rows[i][5] * t[2])
    }
}

impl ColourFit {
    /// Fits an arranged reading (see `print::chart::arrange`) to its values. `primaries` are the frame's own; `may_have_look`
    /// where the frame is display-referred, so that a tone curve is looked for.
    ///
    /// # Errors
    /// [`ColourError::TooFew`], [`ColourError::Unpaired`].
    pub fn from_chart(
        reading: &ChartReading,
        values: &ChartValues,
        primaries: &Primaries,
        may_have_look: bool,
    ) -> Result<Self, ColourError> {
        if reading.patches.len() != values.swatches.len() {
            return Err(ColourError::Unpaired);
        }
        let samples = samples(reading, values);
        let ids: Vec<&str> =
            samples.iter().zip(&values.swatches).filter(|(s, _)| s.weight > 0.0).map(|(_, v)| v.id.as_str()).collect();
        let too_few = || ColourError::TooFew(ids.len(), samples.len());
        if ids.len() < LEAST_PATCHES {
            return Err(too_few());
        }
        let mut candidates = shapes(may_have_look).into_iter();
        let plainest = candidates.next().and_then(|s| s.fit(primaries, &samples, f64::INFINITY)).ok_or_else(too_few)?;
        let balance_left_out = mean(&plainest.left_out);
        let fit = candidates.fold(plainest, |kept, shape| {
            // A model cannot foretell patches better than it meets those it is fitted to.
            let bar = mean(&kept.left_out) - WORTH_DE;
            shape.fit(primaries, &samples, bar).filter(|richer| worth(&kept, richer)).unwrap_or(kept)
        });
        let report = ColourReport {
            used: (ids.len(), samples.len()),
            in_sample: differences(&fit.in_sample, &ids),
            left_out: differences(&fit.left_out, &ids),
            balance_left_out,
        };
        let look = fit.shape.look(&fit.parameters);
        let rows = fit.shape.rows(&fit.parameters, primaries);
        Ok(Self { report: Some(report), ..Self::new(look, fit.shape.kind, rows) })
    }

    /// Balances on a bed of known colour, trusting the frame's primaries.
    pub fn from_bed(primaries: &Primaries, bed_xyz: [f64; 3]) -> Self {
        let gains = primaries.rgb_from_xyz().map_or([bed_xyz[1]; 3], |m| matrix::apply(&m, bed_xyz));
        let rows = primaries.0.map(|p| [p[0] * gains[0], p[1] * gains[1], p[2] * gains[2], 0.0, 0.0, 0.0]);
        Self::new(None, Kind::Balance, rows)
    }

    /// Balances on a bed that nobody has measured: neutral, [`PAPER_LIGHTNESS`].
    pub fn from_paper(primaries: &Primaries) -> Self {
        Self::from_bed(primaries, xyz_from_lab([PAPER_LIGHTNESS, 0.0, 0.0]))
    }

    fn new(look: Option<ToneCurve>, kind: Kind, xyz_from_terms: [[f64; 6]; 3]) -> Self {
        // The bed's own terms are all 1.
        Self { look, kind, xyz_from_terms, bed_xyz: xyz_from_terms.map(|r| r.iter().sum()), report: None }
    }

    /// L*a*b* (D50) of the bed.
    pub fn bed_lab(&self) -> [f64; 3] {
        lab_from_xyz(self.bed_xyz)
    }

    /// Absolute colour in `target`: the bed keeps its own lightness and tint. For the master.
    pub fn absolute(&self, target: &Primaries) -> Transform {
        self.through(&matrix::IDENTITY, target)
    }

    /// Colour relative to the bed in `target`: the bed is exactly white. For the mount.
    ///
    /// Reflectance over the bed's reflectance, band by band, in linear sRGB whose bands are narrow enough for that.
    pub fn media_relative(&self, target: &Primaries) -> Transform {
        let bands = Primaries::srgb();
        let white = bands.rgb_from_xyz().map(|inverse| {
            let bed = matrix::apply(&inverse, self.bed_xyz).map(|v| 1.0 / v.max(1e-6));
            matrix::product(&bands.0, &matrix::product(&matrix::diagonal(bed), &inverse))
        });
        self.through(&white.unwrap_or(matrix::IDENTITY), target)
    }

    fn through(&self, xyz: &Matrix3, target: &Primaries) -> Transform {
        let m = target.rgb_from_xyz().map_or(*xyz, |inverse| matrix::product(&inverse, xyz));
        let rows = m
            .map(|row| std::array::from_fn(|j| (0..3).map(|k| row[k] * self.xyz_from_terms[k][j]).sum::<f64>() as f32));
        Transform { rows, roots: self.kind == Kind::RootPolynomial }
    }
}

/// From the plainest to the richest.
fn shapes(may_have_look: bool) -> Vec<Shape> {
    let looks: &[usize] = if may_have_look { &[0, 2, 4] } else { &[0] };
    let kinds = [Kind::Balance, Kind::Matrix, Kind::RootPolynomial];
    let mut all: Vec<Shape> =
        kinds.iter().flat_map(|&kind| looks.iter().map(move |&look_terms| Shape { kind, look_terms })).collect();
    all.sort_by_key(|s| s.parameters());
    all
}

/// True where the richer fit predicts unseen patches clearly better.
fn worth(kept: &Fit, richer: &Fit) -> bool {
    let gains: Vec<f64> = kept.left_out.iter().zip(&richer.left_out).map(|(a, b)| a - b).collect();
    let (n, gain) = (gains.len() as f64, mean(&gains));
    let variance = gains.iter().map(|g| (g - gain).powi(2)).sum::<f64>() / (n - 1.0).max(1.0);
    gain > WORTH_DE && gain > WORTH_ERRORS * (variance / n).sqrt()
}

fn samples(reading: &ChartReading, values: &ChartValues) -> Vec<Sample> {
    let pairs = reading.patches.iter().zip(&values.swatches);
    pairs
        .map(|(p, s)| {
            let usable = p.clipped <= CLIPPED_SHARE && p.mean.iter().all(|v| v.is_finite() && *v > 0.0);
            let weight = if usable { 1.0 / (1.0 + (p.spread / SPREAD_HALF).powi(2)) } else { 0.0 };
            Sample { mean: p.mean, bed: p.bed, lab: lab_from_xyz(s.xyz), xyz: s.xyz, weight }
        })
        .collect()
}

fn mean(v: &[f64]) -> f64 {
    v.iter().sum::<f64>() / v.len().max(1) as f64
}

fn differences(all: &[f64], ids: &[&str]) -> Differences {
    let mut sorted = all.to_vec();
    sorted.sort_by(f64::total_cmp);
    let rank = ((0.9 * sorted.len() as f64).ceil() as usize).clamp(1, sorted.len().max(1)) - 1;
    let worst = (0..all.len()).max_by(|&a, &b| all[a].total_cmp(&all[b]));
    Differences {
        mean: mean(all),
        p90: sorted.get(rank).copied().unwrap_or(0.0),
        worst: worst.map_or(0.0, |i| all[i]),
        worst_id: worst.map_or(String::new(), |i| ids[i].to_owned()),
    }
}
