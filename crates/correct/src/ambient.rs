//! Takes the room's own light out of a frame: what the same camera sees with the flash off is subtracted in linear light.
//!
//! Light adds. With `R` the print's reflectance, `F` the flash's light, `A` the room's and `G` what the gloss mirrors of the room, a
//! frame reads `R F + R A + G` and the frame without the flash, at the same exposure, `R A + G`: their difference is `R F`, whatever
//! `R`, `A` and `G` are. Noise adds too: the variance of the difference is the sum of both, so a room far under the flash costs little.

use pixels::{Encoding, Frame, Plane, Samples, Tone};
use rayon::prelude::*;

/// A reading from here on may be clipped: the last 8-bit code but one still decodes to 0.991, and compression lands clipped light
/// there too.
const CLIPPED: f32 = 0.99;

/// `on` without what `off` shows, as 16-bit linear light in the primaries of `on`; `None` where the two differ in size or primaries.
///
/// A clipped reading stays at full scale: how much light it had is not known, and it must still be seen to be clipped. What noise takes
/// under black is black.
pub fn subtract(on: &Frame, off: &Frame) -> Option<Frame> {
    let same = (on.width, on.height) == (off.width, off.height) && on.encoding.primaries == off.encoding.primaries;
    if !same {
        return None;
    }
    let row = 3 * on.width;
    let mut out = vec![0u16; row * on.height];
    let (light, dark) = (on.encoding.tone.table(on.bits()), off.encoding.tone.table(off.bits()));
    let code = |samples: &Samples, k: usize| match samples {
        Samples::U8(s) => usize::from(s[k]),
        Samples::U16(s) => usize::from(s[k]),
    };
    out.par_chunks_mut(row.max(1)).enumerate().for_each(|(y, line)| {
        for (i, o) in line.iter_mut().enumerate() {
            let k = y * row + i;
            let v = light[code(&on.samples, k)];
            let left = if v >= CLIPPED { 1.0 } else { v - dark[code(&off.samples, k)] };
            *o = (left.clamp(0.0, 1.0) * 65535.0 + 0.5) as u16;
        }
    });
    let encoding = Encoding { tone: Tone::linear(), ..on.encoding.clone() };
    Some(Frame { width: on.width, height: on.height, samples: Samples::U16(out), encoding })
}

/// Gives a shadow the depth that the flash alone would have given it, where the room fills `fill` of the bed's light.
///
/// With darkness `d = 1 - (S F + A) / (F + A)`, `S` the flash's share that arrives and `fill = A / (F + A)`, the flash's own darkness is
/// `1 - S = d / (1 - fill)`.
pub fn unfill(darkness: &mut Plane, fill: f64) {
    let gain = (1.0 / (1.0 - fill.clamp(0.0, 0.9))) as f32;
    darkness.data.iter_mut().for_each(|d| *d = (*d * gain).min(1.0));
}

#[cfg(test)]
mod tests {
    use super::*;
    use pixels::Primaries;
    use pixels::colour::{srgb_decode, srgb_encode};

    fn coded(light: &[f64]) -> Frame {
        let code = |v: &f64| (srgb_encode(*v) * 255.0).round() as u8;
        let samples = Samples::U8(light.iter().map(code).collect());
        let encoding = Encoding { display_referred: true, ..Encoding::new(Tone::srgb(), Primaries::srgb()) };
        Frame { width: light.len() / 3, height: 1, samples, encoding }
    }

    /// Light adds: the sum of two lights without one of them is the other, to the codes' own rounding (IEC 61966-2-1).
    #[test]
    fn flash_and_room_less_the_room_is_the_flash() {
        let (flash, room) = ([0.02, 0.3, 0.6, 0.11, 0.05, 0.8], [0.01, 0.08, 0.12, 0.002, 0.0, 0.05]);
        let both: Vec<f64> = flash.iter().zip(&room).map(|(f, r)| f + r).collect();
        let alone = subtract(&coded(&both), &coded(&room)).unwrap();
        for (x, want) in flash.chunks_exact(3).enumerate() {
            for (got, want) in alone.linear(x, 0).iter().zip(want) {
                // Half a code of 8 bits of either, at the sum's own slope: 1 / 255 / 2 times at most 2.3, and the room's.
                assert!((f64::from(*got) - want).abs() < 0.0065, "{got} {want}");
            }
        }
        assert!(alone.encoding.display_referred, "a JPEG's look is still the camera's");
    }

    #[test]
    fn clipped_light_stays_clipped_and_noise_under_black_is_black() {
        let alone = subtract(&coded(&[1.0, 0.01, 0.5]), &coded(&[0.2, 0.05, 0.1])).unwrap();
        let [r, g, b] = alone.linear(0, 0);
        assert_eq!((r, g), (1.0, 0.0));
        let exact = srgb_decode((srgb_encode(0.5) * 255.0f64).round() / 255.0)
            - srgb_decode((srgb_encode(0.1) * 255.0f64).round() / 255.0);
        // A 16-bit code.
        assert!((f64::from(b) - exact).abs() < 1.0 / 65535.0);
    }

    /// A shadow that keeps 0.3 of the flash under a room of an eighth of it, by the sum of both lights.
    #[test]
    fn a_filled_shadow_gets_its_depth_back() {
        let (flash, room) = (1.0, 0.125);
        let seen = 1.0 - (0.3 * flash + room) / (flash + room);
        let mut shadow = Plane::filled(2, 1, seen as f32);
        unfill(&mut shadow, room / (flash + room));
        assert!((shadow.data[0] - 0.7).abs() < 1e-6, "{}", shadow.data[0]);
    }

    #[test]
    fn frames_of_two_sizes_are_not_subtracted() {
        assert!(subtract(&coded(&[0.5; 6]), &coded(&[0.1; 3])).is_none());
    }
}
