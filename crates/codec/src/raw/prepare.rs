//! Turns sensor readings into balanced, evened light, still one colour per pixel.

use super::Mosaic;
use pixels::Field;

/// Where an even bed comes to lie when a flat field is divided out, of full scale: a third of a stop of room for the
/// lights on a glossy print, and most of the 16 bits in use.
pub const BED: f32 = 0.8;

/// Gains scaled so that the smallest is 1: the full scale of every channel is then reached by its own saturation, and a
/// clip at full scale is neutral.
pub(super) fn gains(balance: [f32; 3]) -> [f32; 3] {
    let ok = balance.iter().all(|g| g.is_finite() && *g > 0.0);
    let balance = if ok { balance } else { [1.0; 3] };
    let least = balance.iter().copied().fold(f32::INFINITY, f32::min);
    balance.map(|g| g / least)
}

/// Balanced and evened readings of row `y`, 0 to 1, written from `out[0]` to `out[width - 1]`.
///
/// value = min(clip, (reading - black) / (white - black) x gain x BED / flat). `clip` is the level at which the first
/// channel saturates there, the same for all three, so that blown highlights stay neutral.
pub(super) fn row(m: &Mosaic, gains: [f32; 3], flat: Option<&Field>, y: usize, out: &mut [f32]) {
    let line = &m.samples[y * m.width..(y + 1) * m.width];
    let span: [f32; 2] = std::array::from_fn(|p| 1.0 / (m.white - m.black[y & 1][p]).max(1.0));
    let light = |x: usize| (f32::from(line[x]) - m.black[y & 1][x & 1]).max(0.0) * span[x & 1];
    match flat {
        None => {
            for (x, v) in out.iter_mut().enumerate() {
                *v = (light(x) * gains[m.colour(x, y)]).min(1.0);
            }
        }
        Some(field) => {
            let field = field.row(y as f64 + 0.5);
            for (x, v) in out.iter_mut().enumerate() {
                let bed = field.at(x as f64 + 0.5);
                // A bed under a thousandth of full scale is no bed: such places stay as they are.
                let scale: [f32; 3] = std::array::from_fn(|c| gains[c] * BED / bed[c].max(1e-3));
                let clip = scale[0].min(scale[1]).min(scale[2]).min(1.0);
                *v = (light(x) * scale[m.colour(x, y)]).min(clip);
            }
        }
    }
}
