//! Whether anything is written, stamped or printed on a back: the share of it that strokes cover.
//!
//! A stroke is darker or lighter than what lies within a few millimetres around it, by more than the back's own structure.
//! Limits: writing fainter than [`FAINTEST`] is not seen, and then the back is called blank though it is not; a back of
//! coarse card with dark fibres can be called marked though nobody wrote on it. The frame stays in the archive either way.

use pixels::Plane;
use pixels::filter::box_mean;

/// Half the width of the surroundings that a stroke stands out from, mm: wider than strokes, narrower than stains.
const AROUND: f64 = 1.5;
/// The rim that is left out, mm: folds, tabs and shadows lie there.
const RIM: f64 = 3.0;
/// Contrast of the faintest stroke, natural logarithm of light: soft pencil on grey card has about 0.15.
pub const FAINTEST: f64 = 0.07;
/// A stroke stands out by this many standard deviations of the back's structure. Five, so that among the 150,000 samples of
/// a back none is so by chance.
const OUT: f64 = 5.0;
/// Less than this share of strokes is a blank back: the code on a back, eight figures of 2.5 mm, covers about 0.001; five
/// specks of dust of 0.3 mm cover 0.00005.
pub const BLANK: f64 = 0.0003;

/// The share of a face, without its rim, that strokes cover: linear light at `per_mm` samples for each millimetre.
pub fn share(light: &Plane, per_mm: f64) -> f64 {
    let log = Plane { data: light.data.iter().map(|v| v.max(0.002).ln()).collect(), ..*light };
    let around = box_mean(&log, (AROUND * per_mm) as usize);
    let rim = (RIM * per_mm) as usize;
    let (right, bottom) = (light.width.saturating_sub(rim), light.height.saturating_sub(rim));
    let places = (rim..bottom).flat_map(|y| (rim..right).map(move |x| (x, y)));
    let detail: Vec<f64> = places.map(|(x, y)| f64::from(log.get(x, y) - around.get(x, y))).collect();
    if detail.is_empty() {
        return 0.0;
    }
    // Median absolute deviation, times 1.4826 for a normal distribution's deviation: strokes do not enter it.
    let mut size: Vec<f64> = detail.iter().map(|v| v.abs()).collect();
    let middle = size.len() / 2;
    let deviation = 1.4826 * *size.select_nth_unstable_by(middle, f64::total_cmp).1;
    let limit = FAINTEST.max(OUT * deviation);
    detail.iter().filter(|v| v.abs() > limit).count() as f64 / detail.len() as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Grey card with a little structure, and a line of a given length, half a millimetre wide.
    fn back(line_mm: f64, depth: f32) -> Plane {
        let per_mm = 4.0;
        Plane::from_fn(352, 428, |i, j| {
            // A fixed scatter of about one per cent.
            let grain = ((i * 7919 + j * 104_729) % 97) as f32 / 97.0 - 0.5;
            let on =
                j.abs_diff(200) < 1 + usize::from(j > 200) && (i as f64) > 60.0 && (i as f64) < 60.0 + line_mm * per_mm;
            0.5 * (1.0 + 0.03 * grain) * if on { 1.0 - depth } else { 1.0 }
        })
    }

    #[test]
    fn a_clean_back_is_blank_and_a_written_line_is_not() {
        assert_eq!(share(&back(0.0, 0.5), 4.0), 0.0);
        assert!(share(&back(50.0, 0.4), 4.0) > BLANK, "{}", share(&back(50.0, 0.4), 4.0));
        assert!(share(&back(50.0, 0.15), 4.0) > BLANK, "pencil");
        assert!(share(&back(1.0, 0.4), 4.0) < BLANK, "a speck");
    }
}
