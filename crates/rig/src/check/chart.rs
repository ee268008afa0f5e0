//! Measurements of a chart frame, with colour as set by Fallside, and the figures that the standards judge.

use super::answer::{ChartFacts, Judged, Value};
use super::see::sentence;
use super::standards::Figure;
use base::Failure;
use correct::colour::ColourFit;
use finish::frame::chart::{Read, read};
use finish::frame::loaded_frame::LoadedFrame;
use pixels::{Lightness, Primaries, ciede2000, ciede2000_with, lab_from_xyz, xyz_from_lab};
use print::chart::{Patch, READINGS};
use print::flat_field::Blank;
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
    sight: &LoadedFrame,
    values: &Path,
    blanks: &[Arc<Blank>],
) -> Result<ChartFacts, Failure> {
    let Read { reading, values } = read(sight, values, blanks)?.map_err(|e| Failure::new(sentence(&e)))?;
    let encoding = &sight.frame.encoding;
    let fit = ColourFit::from_chart(&reading, &values, &encoding.primaries, encoding.display_referred)
        .map_err(|e| Failure::new(e.to_string()))?;
    let patches: Vec<Compared> = reading
        .patches
        .iter()
        .zip(&values.swatches)
        .filter(|(p, _)| p.clipped < 0.02)
        .map(|(p, s)| Compared::of(p, lab_from_xyz(s.xyz), &fit))
        .collect();
    let report = fit.report.as_ref().ok_or_else(|| Failure::new("The chart gives no fit."))?;
    let even: Vec<f64> = patches.iter().map(|p| ciede2000_with(p.seen, p.known, Lightness::Even)).collect();
    let mut greys: Vec<&Compared> = patches.iter().filter(|p| p.neutral()).collect();
    greys.sort_by(|a, b| b.known[0].total_cmp(&a.known[0]));
    let most = |f: &dyn Fn(&Compared) -> Value| greys.iter().map(|p| f(p)).max_by(|a, b| a.value.total_cmp(&b.value));
    let seen: Vec<f64> = patches.iter().map(|p| ciede2000(p.seen, p.known)).collect();
    let slopes = gain(&greys);
    Ok(ChartFacts {
        path,
        patches: report.used.0,
        of: report.used.1,
        delta_e_mean: Value { value: report.in_sample.mean, ..mean(&seen) },
        delta_e_p90: report.in_sample.p90,
        delta_e_worst: report.in_sample.worst,
        worst_patch: report.in_sample.worst_id.clone(),
        unseen_mean: Value { value: report.left_out.mean, ..mean(&seen) },
        unseen_p90: report.left_out.p90,
        unseen_worst: report.left_out.worst,
        even_mean: mean(&even),
        even_worst: even.iter().copied().fold(0.0, f64::max),
        neutrals: greys.len(),
        tone: most(&|p| Value::with((p.seen[0] - p.known[0]).abs(), p.lightness_error())),
        tone_2000: most(&|p| {
            Value::with(ciede2000([p.seen[0], 0.0, 0.0], [p.known[0], 0.0, 0.0]), p.lightness_error())
        }),
        white_balance: most(&|p| Value::with(chroma_difference(p.seen, p.known), p.colour_error)),
        white_balance_counts: most(&counts),
        white_balance_as_shot: as_shot(&greys, sight),
        gain: extremes(&slopes),
        gain_highlights: slopes.first().copied(),
        // A deviation from n samples is known to 1 / root(2 n) of itself.
        noise: most(&|p| Value::with(p.noise, p.noise / (2.0 * READINGS as f64).sqrt())),
    })
}

/// A patch as measured under the fit, beside its own colour.
struct Compared {
    seen: [f64; 3],
    known: [f64; 3],
    /// Light over the bed's level, the camera's balance and the paper's tint left in.
    as_shot: [f64; 3],
    /// Deviation of L* of one sample.
    noise: f64,
    /// Standard error of the colour as read, CIEDE2000 without lightness.
    colour_error: f64,
}

impl Compared {
    fn of(patch: &Patch, known: [f64; 3], fit: &ColourFit) -> Self {
        // The camera's tone curve is undone before anything is divided.
        let undone = |v: f64| fit.look.as_ref().map_or(v, |l| l.light(v));
        let lab_of = |scale: [f64; 3]| {
            let light = std::array::from_fn(|b| undone(patch.mean[b] * scale[b]) / undone(patch.bed[b]).max(1e-9));
            lab_from_xyz(xyz(fit, light))
        };
        let lab = |scale: f64| lab_of([scale; 3]);
        let seen = lab(1.0);
        // One band more by the standard error of its mean.
        let one = 1.0 + patch.spread / (READINGS as f64).sqrt();
        let off = |b: usize| chroma_difference(lab_of(std::array::from_fn(|c| if c == b { one } else { 1.0 })), seen);
        let level = patch.bed.iter().sum::<f64>() / 3.0;
        Self {
            seen,
            known,
            as_shot: patch.mean.map(|v| v / level.max(1e-9)),
            // L* of one deviation more light.
            noise: (lab(1.0 + patch.spread)[0] - seen[0]).abs(),
            colour_error: (0..3).map(|b| off(b).powi(2)).sum::<f64>().sqrt(),
        }
    }
    /// Standard error of L* as read.
    fn lightness_error(&self) -> f64 {
        self.noise / (READINGS as f64).sqrt()
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
fn as_shot(greys: &[&Compared], sight: &LoadedFrame) -> Option<f64> {
    let primaries = &sight.frame.encoding.primaries;
    let of = |p: &&Compared| chroma_difference(lab_from_xyz(primaries.xyz(p.as_shot)), p.known);
    greys.iter().map(of).max_by(f64::total_cmp)
}

/// A mean with its standard error: a chart's patches are a sample of the colours that prints have.
fn mean(all: &[f64]) -> Value {
    let n = all.len().max(2) as f64;
    let mean = all.iter().sum::<f64>() / n;
    let variance = all.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0);
    Value::with(mean, (variance / n).sqrt())
}

/// The greatest difference between two bands in counts of 8 bits, `255 v^(1/2.2)` (FADGI 2016, appendix), less what the patch's own
/// tint makes of it, as printed greys are seldom quite neutral.
fn counts(p: &Compared) -> Value {
    let rgb_from_xyz = Primaries::srgb().rgb_from_xyz().unwrap_or_default();
    let bands = |lab: [f64; 3]| {
        pixels::matrix::apply(&rgb_from_xyz, xyz_from_lab(lab)).map(|v| 255.0 * v.max(0.0).powf(1.0 / 2.2))
    };
    let (seen, known) = (bands(p.seen), bands(p.known));
    let off = [(2, 0), (1, 0), (1, 2)].map(|(a, b)| ((seen[a] - seen[b]) - (known[a] - known[b])).abs());
    let most = off.into_iter().fold(0.0, f64::max);
    // A count is so many CIEDE2000 there as the whole difference is.
    let de = chroma_difference(p.seen, p.known).max(0.1);
    Value::with(most, p.colour_error * most.max(0.1) / de)
}

/// `dL* measured / dL* known` between neighbouring neutrals at least 2 L* apart, the lightest first (Metamorfoze and ISO 19264-1 call
/// it gain modulation; the formula is from memory).
fn gain(greys: &[&Compared]) -> Vec<Value> {
    let slope = |a: &Compared, b: &Compared| {
        let known = a.known[0] - b.known[0];
        Value::with((a.seen[0] - b.seen[0]) / known, a.lightness_error().hypot(b.lightness_error()) / known)
    };
    greys.windows(2).filter(|w| w[0].known[0] - w[1].known[0] > 2.0).map(|w| slope(w[0], w[1])).collect()
}

/// The least and the greatest.
fn extremes(all: &[Value]) -> Option<[Value; 2]> {
    let order = |a: &&Value, b: &&Value| a.value.total_cmp(&b.value);
    Some([*all.iter().min_by(order)?, *all.iter().max_by(order)?])
}

/// What the standards judge in it.
pub(super) fn judged(c: &ChartFacts) -> Vec<Judged> {
    let bare = |v: f64| Some(Value::bare(v));
    [
        (Figure::Tone, c.tone),
        (Figure::Tone2000, c.tone_2000),
        (Figure::GainHighlightsLow, c.gain_highlights),
        (Figure::GainHighlightsHigh, c.gain_highlights),
        (Figure::GainLow, c.gain.map(|g| g[0])),
        (Figure::GainHigh, c.gain.map(|g| g[1])),
        (Figure::WhiteBalance, c.white_balance),
        (Figure::WhiteBalanceCounts, c.white_balance_counts),
        (Figure::ColourMean, Some(c.delta_e_mean)),
        (Figure::Colour90, bare(c.delta_e_p90)),
        (Figure::EvenMean, Some(c.even_mean)),
        (Figure::EvenWorst, bare(c.even_worst)),
    ]
    .into_iter()
    .filter_map(|(figure, value)| figure.judge(value?))
    .collect()
}
