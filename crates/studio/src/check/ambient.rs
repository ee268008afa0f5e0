//! The room's light: a frame with the flash off beside the bare bed with it.

use super::answer::{AmbientFacts, Value};
use crate::frame::sight::Sight;
use crate::report::CameraWords;
use pixels::{Picture, lab_from_xyz};

/// Stops by which two frames' exposures differ, by what the camera wrote; `None` where it wrote too little. The second is the
/// brighter where it is positive.
pub(super) fn exposure_between(a: &CameraWords, b: &CameraWords) -> Option<f64> {
    let light = |w: &CameraWords| Some((w.exposure_s? / w.f_number?.powi(2) * w.iso.unwrap_or(100.0)).log2());
    Some(light(b)? - light(a)?).filter(|v: &f64| v.is_finite())
}

/// Mean light of the middle third of a frame each way, per channel, and the standard error of its sum as a share.
fn middle(p: &Picture) -> ([f64; 3], f64) {
    let (w, h) = (p.width(), p.height());
    let mut sum = [0.0; 3];
    let (mut n, mut squares) = (0.0, 0.0);
    for y in h / 3..h - h / 3 {
        for x in w / 3..w - w / 3 {
            let v = p.get(x, y).map(f64::from);
            (0..3).for_each(|c| sum[c] += v[c]);
            let s = v.iter().sum::<f64>();
            (n, squares) = (n + 1.0, squares + s * s);
        }
    }
    let n = f64::max(n, 1.0);
    let mean = sum.map(|v| v / n);
    let all = mean.iter().sum::<f64>().max(1e-12);
    (mean, (squares / n - all * all).max(0.0).sqrt() / all / n.sqrt())
}

/// The room beside the flash: `dark` has the flash off, `flash` is the bare bed with it.
///
/// A frame of the blank's exposure holds `room`, the blank `room + flash`, so the flash alone is their difference and the room
/// lies `log2(flash / room)` under it. An exposure that differs by the camera's own words is brought to the blank's.
pub(super) fn facts(
    path: String,
    dark: &Sight,
    flash_path: String,
    flash: &Picture,
    stops_brighter: f64,
) -> AmbientFacts {
    let (room, noise) = middle(&dark.proxy);
    let room = room.map(|v| v / stops_brighter.exp2());
    let (both, _) = middle(flash);
    // Half a code of 8 bits near black: what lies under it is not told.
    let floor = 0.5 / 255.0 / 12.92;
    let alone: [f64; 3] = std::array::from_fn(|c| (both[c] - room[c]).max(1e-9));
    let below = std::array::from_fn(|c| (alone[c] / room[c].max(floor)).log2());
    let (all_room, all_flash) = (room.iter().sum::<f64>(), alone.iter().sum::<f64>());
    let primaries = &dark.frame.encoding.primaries;
    // The colour of a paper lit by the room alone, after the flash's own white balance, at the paper's luminance.
    let ratio: [f64; 3] = std::array::from_fn(|c| room[c] / alone[c]);
    let level = ratio.iter().sum::<f64>() / 3.0;
    let lab = lab_from_xyz(primaries.xyz(ratio.map(|r| 0.87 * r / level.max(1e-12))));
    AmbientFacts {
        path,
        flash: flash_path,
        below_stops: below,
        below: Value::with((all_flash / all_room.max(3.0 * floor)).log2(), noise / std::f64::consts::LN_2),
        share: all_room / (all_room + all_flash).max(1e-12),
        tint_delta_e: pixels::ciede2000([50.0, lab[1], lab[2]], [50.0, 0.0, 0.0]),
    }
}
