//! Ambient light: compares a frame with the flash off with the bare bed under the flash.

use super::answer::{AmbientFacts, Value};
use finish::frame::loaded_frame::LoadedFrame;
use finish::report::CameraWords;
use pixels::colour::{srgb_decode, srgb_encode};
use pixels::{Picture, lab_from_xyz};

/// Stops by which two frames' exposures differ, by what the camera wrote; `None` where it wrote too little. The second is the
/// brighter where it is positive.
pub(super) fn exposure_between(a: &CameraWords, b: &CameraWords) -> Option<f64> {
    let light = |w: &CameraWords| Some((w.exposure_s? / w.f_number?.powi(2) * w.iso.unwrap_or(100.0)).log2());
    Some(light(b)? - light(a)?).filter(|v: &f64| v.is_finite())
}

/// Blocks across and down in the middle third of a frame, whose disagreement says how well its light is known.
const BLOCKS: usize = 6;

/// Mean light of each block of the middle third of a frame each way, per channel.
fn middle(p: &Picture) -> Vec<[f64; 3]> {
    let (w, h) = (p.width(), p.height());
    let ends = |k: usize, n: usize| n / 3 + k * (n - 2 * (n / 3)) / BLOCKS;
    let block = |k: usize| {
        let (i, j) = (k % BLOCKS, k / BLOCKS);
        let (mut sum, mut n) = ([0.0; 3], 0.0);
        for (x, y) in (ends(j, h)..ends(j + 1, h)).flat_map(|y| (ends(i, w)..ends(i + 1, w)).map(move |x| (x, y))) {
            let v = p.get(x, y);
            (0..3).for_each(|c| sum[c] += f64::from(v[c]));
            n += 1.0;
        }
        sum.map(|v| v / f64::max(n, 1.0))
    };
    (0..BLOCKS * BLOCKS).map(block).collect()
}

fn mean(blocks: &[[f64; 3]]) -> [f64; 3] {
    std::array::from_fn(|c| blocks.iter().map(|b| b[c]).sum::<f64>() / blocks.len().max(1) as f64)
}

/// Contrast of the curve that a camera may have drawn its JPEG with, as `e -> (1 - c) e + c e^2 (3 - 2 e)` over the sRGB code
/// `e`: cameras' pictures go from none to about 0.6, whose root mean square this is (our judgement, no source).
const CONTRAST: f64 = 0.35;
/// The camera's words of an exposure are nominal: a third of a stop is rounded by up to a twelfth either way (ISO 2720 lists the
/// steps; from memory).
const NOMINAL_STOPS: f64 = 0.05;

/// The light of a reading if the camera drew its picture with [`CONTRAST`].
fn under_contrast(reading: f64) -> f64 {
    let code = srgb_encode(reading);
    let (mut low, mut high) = (0.0f64, 1.0f64);
    for _ in 0..40 {
        let e = (low + high) / 2.0;
        if (1.0 - CONTRAST) * e + CONTRAST * e * e * (3.0 - 2.0 * e) < code { low = e } else { high = e }
    }
    srgb_decode(low)
}

/// What a reading may be off by for the half code to which the file rounds it or its black is set, as light.
fn half_code(reading: f64, bits: u32, coded: bool) -> f64 {
    let half = 0.5 / (f64::from(bits.min(16)).exp2() - 1.0);
    if !coded {
        return half;
    }
    let code = srgb_encode(reading);
    srgb_decode((code + half).min(1.0)) - srgb_decode(code)
}

/// Standard deviation of how far the room lies under the flash, stops: from the blocks' disagreement, the file's rounding near
/// black, the camera's nominal exposures where they differ, and, where nothing undid it, the camera's own tone curve, which
/// bends a ratio of so many stops far more than the rest.
fn error(blocks: &[f64], readings: [f64; 2], between: f64, bits: u32, unknown_curve: bool) -> f64 {
    let n = blocks.len().max(2) as f64;
    let middle = blocks.iter().sum::<f64>() / n;
    let apart = (blocks.iter().map(|b| (b - middle).powi(2)).sum::<f64>() / (n - 1.0) / n).sqrt();
    let [room, both] = readings;
    let rounding = half_code(room, bits, bits <= 8) / room.max(1e-9) / std::f64::consts::LN_2;
    let below = |room: f64, both: f64| ((both - room).max(1e-9) / room.max(1e-9)).log2();
    let curve = if unknown_curve { below(under_contrast(room), under_contrast(both)) - below(room, both) } else { 0.0 };
    let nominal = if between.abs() > 0.05 { NOMINAL_STOPS } else { 0.0 };
    [apart, rounding, curve, nominal].iter().fold(0.0, |a: f64, b| a.hypot(*b))
}

/// The room beside the flash: `dark` has the flash off, `flash` is the bare bed with it.
///
/// A frame of the blank's exposure holds `room`, the blank `room + flash`, so the flash alone is their difference and the room
/// lies `log2(flash / room)` under it. An exposure that differs by the camera's own words is brought to the blank's.
pub(super) fn facts(
    path: String,
    dark: &LoadedFrame,
    flash_path: String,
    flash: &Picture,
    stops_brighter: f64,
) -> AmbientFacts {
    let (dark_blocks, flash_blocks) = (middle(&dark.proxy), middle(flash));
    let (dim, both) = (mean(&dark_blocks), mean(&flash_blocks));
    let room = dim.map(|v| v / stops_brighter.exp2());
    // Half a code of 8 bits near black: what lies under it is not told.
    let floor = 0.5 / 255.0 / 12.92;
    let alone: [f64; 3] = std::array::from_fn(|c| (both[c] - room[c]).max(1e-9));
    let below = std::array::from_fn(|c| (alone[c] / room[c].max(floor)).log2());
    let (all_room, all_flash) = (room.iter().sum::<f64>(), alone.iter().sum::<f64>());
    let primaries = &dark.frame.encoding.primaries;
    // The colour of a paper lit by the room alone, after the flash's own white balance, at the paper's luminance.
    let ratio: [f64; 3] = std::array::from_fn(|c| room[c] / alone[c]);
    let even = ratio.iter().sum::<f64>() / 3.0;
    let lab = lab_from_xyz(primaries.xyz(ratio.map(|r| 0.87 * r / even.max(1e-12))));
    let level = |v: &[f64; 3]| v.iter().sum::<f64>() / 3.0;
    let blocks: Vec<f64> =
        dark_blocks.iter().zip(&flash_blocks).map(|(d, f)| (level(f).max(1e-9) / level(d).max(floor)).log2()).collect();
    // Near black nothing else says what the camera's curve did; a raw file and one that a chart undid have none.
    let unknown_curve = dark.frame.encoding.display_referred && dark.encoding == "srgb";
    let error = error(&blocks, [level(&dim), level(&both)], stops_brighter, dark.frame.bits(), unknown_curve);
    AmbientFacts {
        path,
        flash: flash_path,
        below_stops: below,
        below: Value::with((all_flash / all_room.max(3.0 * floor)).log2(), error),
        share: all_room / (all_room + all_flash).max(1e-12),
        tint_delta_e: pixels::ciede2000([50.0, lab[1], lab[2]], [50.0, 0.0, 0.0]),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A room drawn through a camera's curve: the stated deviation must be of the size of what the curve does to the figure. The
    /// curve is the one that `scene::Output::Camera8` documents, with contrasts from none to 0.6.
    #[test]
    fn the_error_is_as_large_as_a_cameras_curve_makes_it() {
        let drawn = |light: f64, c: f64| {
            let e = srgb_encode(light);
            srgb_decode((1.0 - c) * e + c * e * e * (3.0 - 2.0 * e))
        };
        for stops in [4.0, 6.3, 7.9] {
            let (both, room) = (0.8, 0.8 * f64::exp2(-stops));
            let mut ratios = vec![];
            for c in [0.0, 0.15, 0.3, 0.45, 0.6] {
                let (b, r) = (drawn(both, c), drawn(room, c));
                let off = ((b - r) / r).log2() - ((both - room) / room).log2();
                let sigma = error(&[stops; 36], [r, b], 0.0, 8, true);
                assert!(off.abs() < 3.0 * sigma, "{stops} stops, contrast {c}: {off} of {sigma}");
                ratios.push(off / sigma);
            }
            // Neither a decoration nor a shrug: over the contrasts the root mean square is about one.
            let rms = (ratios.iter().map(|r| r * r).sum::<f64>() / ratios.len() as f64).sqrt();
            assert!((0.5..1.6).contains(&rms), "{stops}: {rms}");
        }
    }

    /// Where the curve is known: half a code of 8 bits beside a reading of four codes is an eighth, log2(1.125) = 0.17 stop;
    /// blocks that differ by a deviation of s say their mean to s / sqrt(n).
    #[test]
    fn rounding_and_disagreement_count_where_the_curve_is_known() {
        let four = 4.0 / 255.0 / 12.92;
        let e = error(&[7.0; 36], [four, 0.8], 0.0, 8, false);
        assert!((e - 0.125 / std::f64::consts::LN_2).abs() < 0.01, "{e}");
        let apart: Vec<f64> = (0..36).map(|k| 7.0 + if k % 2 == 0 { 0.3 } else { -0.3 }).collect();
        let e = error(&apart, [0.1, 0.8], 0.0, 16, false);
        assert!((e - 0.3 * (36.0f64 / 35.0).sqrt() / 6.0).abs() < 0.002, "{e}");
    }
}
