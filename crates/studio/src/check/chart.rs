//! Facts of a chart frame under the colour that Fallside sets by it, and what the standards judge in them.

use super::answer::{ChartFacts, Judged, Value};
use super::standards::Figure;
use crate::frame::chart::{Read, read};
use crate::frame::sight::Sight;
use crate::job::FrameError;
use correct::colour::ColourFit;
use pixels::{Lightness, ciede2000, ciede2000_with, lab_from_xyz};
use print::bed::Blank;
use print::chart::{ChartReading, Patch};
use std::path::Path;
use std::sync::Arc;

/// Chroma of known L*a*b* up to which a patch counts as neutral: printed greys stray by 2 or 3.
const NEUTRAL: f64 = 4.0;
/// Neutrals darker than this tell tone no more: flare and noise rule there.
const DARK: f64 = 10.0;

/// Measures a chart frame.
///
/// # Errors
/// No chart, half a chart, a mirrored one, or values of another: a sentence.
pub(super) fn facts(
    path: String,
    sight: &Sight,
    values: &Path,
    blanks: &[Arc<Blank>],
) -> Result<ChartFacts, FrameError> {
    let Read { reading, values } = read(sight, values, blanks)?.map_err(FrameError::new)?;
    whole(&reading, (sight.frame.width, sight.frame.height))?;
    let encoding = &sight.frame.encoding;
    let fit = ColourFit::from_chart(&reading, &values, &encoding.primaries, encoding.display_referred)
        .map_err(|e| FrameError::new(e.to_string()))?;
    let patches: Vec<Compared> = reading
        .patches
        .iter()
        .zip(&values.swatches)
        .filter(|(p, _)| p.clipped < 0.02)
        .map(|(p, s)| Compared::of(p, lab_from_xyz(s.xyz), &fit))
        .collect();
    let report = fit.report.as_ref().ok_or_else(|| FrameError::new("The chart gives no fit."))?;
    let even: Vec<f64> = patches.iter().map(|p| ciede2000_with(p.seen, p.known, Lightness::Even)).collect();
    let mut greys: Vec<&Compared> = patches.iter().filter(|p| p.neutral()).collect();
    greys.sort_by(|a, b| b.known[0].total_cmp(&a.known[0]));
    let most = |f: &dyn Fn(&Compared) -> f64| greys.iter().map(|p| f(p)).max_by(f64::total_cmp);
    Ok(ChartFacts {
        path,
        patches: report.used.0,
        of: report.used.1,
        delta_e_mean: report.in_sample.mean,
        delta_e_p90: report.in_sample.p90,
        delta_e_worst: report.in_sample.worst,
        worst_patch: report.in_sample.worst_id.clone(),
        unseen_mean: report.left_out.mean,
        unseen_p90: report.left_out.p90,
        unseen_worst: report.left_out.worst,
        even_mean: even.iter().sum::<f64>() / even.len().max(1) as f64,
        even_worst: even.iter().copied().fold(0.0, f64::max),
        neutrals: greys.len(),
        tone: most(&|p| (p.seen[0] - p.known[0]).abs()),
        tone_2000: most(&|p| ciede2000([p.seen[0], 0.0, 0.0], [p.known[0], 0.0, 0.0])),
        white_balance: most(&|p| chroma_difference(p.seen, p.known)),
        white_balance_as_shot: as_shot(&greys, sight),
        gain: gain(&greys),
        noise: most(&|p| p.noise),
    })
}

/// A patch as measured under the fit, beside its own colour.
struct Compared {
    seen: [f64; 3],
    known: [f64; 3],
    /// Light over the bed's level, the camera's balance and the paper's tint left in.
    as_shot: [f64; 3],
    noise: f64,
}

impl Compared {
    fn of(patch: &Patch, known: [f64; 3], fit: &ColourFit) -> Self {
        // The camera's tone curve is undone before anything is divided.
        let undone = |v: f64| fit.look.as_ref().map_or(v, |l| l.light(v));
        let lab = |scale: f64| {
            let light = std::array::from_fn(|b| undone(patch.mean[b] * scale) / undone(patch.bed[b]).max(1e-9));
            lab_from_xyz(xyz(fit, light))
        };
        let level = patch.bed.iter().sum::<f64>() / 3.0;
        Self {
            seen: lab(1.0),
            known,
            as_shot: patch.mean.map(|v| v / level.max(1e-9)),
            // L* of one deviation more light.
            noise: (lab(1.0 + patch.spread)[0] - lab(1.0)[0]).abs(),
        }
    }
    fn neutral(&self) -> bool {
        self.known[1].hypot(self.known[2]) < NEUTRAL && self.known[0] > DARK
    }
}

/// XYZ of light over the bed under the fit.
fn xyz(fit: &ColourFit, [r, g, b]: [f64; 3]) -> [f64; 3] {
    let root = |v: f64, w: f64| (v.max(0.0) * w.max(0.0)).sqrt();
    let terms = [r, g, b, root(r, g), root(g, b), root(r, b)];
    fit.xyz_from_terms.map(|row| row.iter().zip(terms).map(|(m, t)| m * t).sum())
}

/// CIEDE2000 without its lightness term: the colours at one lightness.
fn chroma_difference(a: [f64; 3], b: [f64; 3]) -> f64 {
    ciede2000([50.0, a[1], a[2]], [50.0, b[1], b[2]])
}

/// The greatest colour error of the neutrals as the camera balanced them.
fn as_shot(greys: &[&Compared], sight: &Sight) -> Option<f64> {
    let primaries = &sight.frame.encoding.primaries;
    let of = |p: &&Compared| chroma_difference(lab_from_xyz(primaries.xyz(p.as_shot)), p.known);
    greys.iter().map(of).max_by(f64::total_cmp)
}

/// Least and greatest `dL* measured / dL* known` between neighbouring neutrals at least 2 L* apart (Metamorfoze and ISO 19264-1
/// call it gain modulation; the formula is from memory).
fn gain(greys: &[&Compared]) -> Option<[f64; 2]> {
    let slopes: Vec<f64> = greys
        .windows(2)
        .filter(|w| w[0].known[0] - w[1].known[0] > 2.0)
        .map(|w| (w[0].seen[0] - w[1].seen[0]) / (w[0].known[0] - w[1].known[0]))
        .collect();
    let least = slopes.iter().copied().min_by(f64::total_cmp)?;
    Some([least, slopes.iter().copied().max_by(f64::total_cmp)?])
}

/// A chart whose patches leave the frame is half a chart.
fn whole(reading: &ChartReading, (w, h): (usize, usize)) -> Result<(), FrameError> {
    let inside = |p: &Patch| p.quad.0.iter().all(|c| c.x >= 0.0 && c.y >= 0.0 && c.x <= w as f64 && c.y <= h as f64);
    let seen = reading.patches.iter().filter(|p| inside(p)).count();
    if seen == reading.patches.len() {
        return Ok(());
    }
    Err(FrameError::new(format!("Only {seen} of the chart's {} patches lie in the frame.", reading.patches.len()))
        .with_remedy("Lay the whole chart in the frame, clear of its edges, and take it again."))
}

/// What the standards judge in it.
pub(super) fn judged(c: &ChartFacts) -> Vec<Judged> {
    [
        (Figure::Tone, c.tone),
        (Figure::Tone2000, c.tone_2000),
        (Figure::WhiteBalance, c.white_balance),
        (Figure::ColourMean, Some(c.delta_e_mean)),
        (Figure::Colour90, Some(c.delta_e_p90)),
        (Figure::EvenMean, Some(c.even_mean)),
        (Figure::EvenWorst, Some(c.even_worst)),
    ]
    .into_iter()
    .filter_map(|(figure, value)| figure.judge(Value::bare(value?)))
    .collect()
}
