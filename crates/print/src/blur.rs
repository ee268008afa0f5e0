//! How sharp a print's edges are.

use crate::edge::Reader;
use crate::find::Found;
use crate::outline::Sides;
use pixels::{Field, Frame};

/// 10 to 90 per cent width of the sharpest edge of outline and window, frame pixels; `None` where no edge is strong enough.
///
/// Each side's profile is the mean of profiles laid on its fitted curve, so that neither bow nor lean widens it.
pub fn edge_width(frame: &Frame, bed: &Field, found: &Found) -> Option<f64> {
    let reader = Reader::new(frame);
    let mut best: Option<f64> = None;
    for sides in [&found.outline.outer, &found.outline.window] {
        for i in (0..4).filter(|&i| sides.sides[i].sure()) {
            if let Some(w) = side_width(&reader, bed, found, sides, i) {
                best = Some(best.map_or(w, |b| b.min(w)));
            }
        }
    }
    best
}

/// The width of one side's edge, frame pixels: read finely, and twice as widely as long as it fills the profile.
fn side_width(reader: &Reader<'_>, bed: &Field, found: &Found, sides: &Sides, i: usize) -> Option<f64> {
    let mut unit = 0.25;
    let mut width = width_by(reader, bed, found, sides, i, unit)?;
    // Past two fifths of a profile its ends bend with the edge, and its levels are not those of paper.
    while width > 0.4 * SAMPLES as f64 * unit {
        unit *= 2.0;
        if SAMPLES as f64 / 2.0 * unit > WIDEST * found.pose.px_per_mm() {
            break;
        }
        let Some(wider) = width_by(reader, bed, found, sides, i, unit) else { break };
        width = width.max(wider);
    }
    Some(width)
}

/// How far (mm) a profile may reach to either side: three quarters of the narrowest border, 4 mm.
const WIDEST: f64 = 3.0;
/// How far (share of the bed's light) the two levels of an edge differ at the least: grain bends a fainter one. An edge's own step
/// over a few pixels would leave out the very edges that are softest.
const STRONG: f64 = 0.15;
/// Samples of a profile.
const SAMPLES: usize = 65;

/// The same by profiles of samples `unit` frame pixels apart.
fn width_by(reader: &Reader<'_>, bed: &Field, found: &Found, sides: &Sides, i: usize, unit: f64) -> Option<f64> {
    let map = &found.outline.frame_from_print;
    let (a, b) = sides.rect.side(i);
    let outward = -(b - a).unit().quarter_turn();
    const N: usize = SAMPLES;
    let mut sum = [0f64; N];
    let mut used = 0.0;
    for k in 0..48 {
        let t = -0.85 + 1.7 * f64::from(k) / 47.0;
        let p = sides.at(i, t);
        let at = map.apply(p);
        let away = (map.apply(p + outward) - at).unit();
        let light: Option<Vec<f64>> = (0..N)
            .map(|j| {
                let q = at + away * ((j as f64 - 32.0) * unit);
                let level = bed.at(q.x, q.y);
                reader.at(q).map(|v| (0..3).map(|c| f64::from(v[c] / level[c].max(1e-6))).sum::<f64>() / 3.0)
            })
            .collect();
        let Some(light) = light else { continue };
        let (inner, outer) = (light[..12].iter().sum::<f64>() / 12.0, light[N - 12..].iter().sum::<f64>() / 12.0);
        if (outer - inner).abs() < STRONG {
            continue;
        }
        (0..N).for_each(|j| sum[j] += (light[j] - inner) / (outer - inner));
        used += 1.0;
    }
    // A dozen places make a mean.
    if used < 12.0 {
        return None;
    }
    let mean: Vec<f64> = sum.iter().map(|s| s / used).collect();
    // Where a line of shadow runs along the edge, the profile leaves its two levels and comes back as steeply as the shadow is
    // deep, however soft the lens: only a plain step tells a width. Noise and mild sharpening swing
    // past the levels by less than a seventh of the step (chosen by reason, not measured).
    if mean.iter().any(|v| !(-0.15..1.15).contains(v)) {
        return None;
    }
    let cross = |level: f64| {
        (1..N)
            .find(|&j| mean[j - 1] < level && mean[j] >= level)
            .map(|j| (j as f64 - 1.0 + (level - mean[j - 1]) / (mean[j] - mean[j - 1]).max(1e-9)) * unit)
    };
    let (low, high) = (cross(0.1)?, cross(0.9)?);
    // Bilinear reading widens an edge of a pixel by about a quarter; that is left in, on the safe side.
    (high > low).then_some(high - low)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::find;
    use crate::flat_field;
    use crate::format::known;
    use crate::hints::Hints;
    use pixels::{Encoding, Primaries, Samples, Tone};

    /// A square print of 72 by 86 mm at 14 px a millimetre, grey border on white, whose edges are logistic curves of scale `s` px.
    fn frame(s: f64) -> Frame {
        let (width, height) = (1300, 1500);
        let up = |x: f64, at: f64| 1.0 / (1.0 + (-(x - at) / s).exp());
        let between = |x: f64, a: f64, b: f64| up(x, a) * (1.0 - up(x, b));
        let code = |k: usize| {
            let (x, y) = ((k % width) as f64 + 0.5 - 140.0, (k / width) as f64 + 0.5 - 140.0);
            let on = between(x, 0.0, 72.0 * 14.0) * between(y, 0.0, 86.0 * 14.0);
            let in_window = between(x, 5.0 * 14.0, 67.0 * 14.0) * between(y, 6.5 * 14.0, 68.5 * 14.0);
            let light = 0.85 - 0.3 * on - 0.4 * in_window;
            (pixels::colour::srgb_encode(light) * 65_535.0) as u16
        };
        let samples = (0..width * height).flat_map(|k| [code(k); 3]).collect();
        let encoding = Encoding::new(Tone::srgb(), Primaries::srgb());
        Frame { width, height, samples: Samples::U16(samples), encoding }
    }

    #[test]
    fn the_width_of_an_edge_is_measured_however_soft_it_is() {
        // A logistic curve rises from a tenth to nine tenths over 2 ln 9 of its scale (closed form).
        for s in [1.0, 2.5, 4.0] {
            let frame = frame(s);
            let proxy = frame.reduce(1);
            let (bed, _) = flat_field::guess(&proxy, 1.0);
            let found = find::find(&frame, &proxy, 1, &bed, &known(), &Hints::default()).expect("a print");
            let (width, true_width) = (edge_width(&frame, &bed, &found).unwrap(), 2.0 * 9f64.ln() * s);
            assert!((width / true_width - 1.0).abs() < 0.05, "{width} for {true_width}");
        }
    }
}
