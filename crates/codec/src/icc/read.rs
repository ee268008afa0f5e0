//! Turns profile bytes and stored samples into a frame with an exact encoding.

use super::plain::{self, Plain};
use moxcms::{ColorProfile, DataColorSpace, Layout, RenderingIntent, ToneReprCurve, TransformOptions};
use pixels::{Encoding, Frame, Primaries, Samples, Tone};
use rayon::prelude::*;

/// The encoding that a matrix profile describes: its colorants as primaries, its curve as tone.
///
/// `None` where the bytes are no profile, or one that works by tables or with a different curve per channel; [`crate::read`]
/// converts frames of such profiles to linear light instead.
pub fn encoding(profile: &[u8]) -> Option<Encoding> {
    match parse(profile, false) {
        Ok(Meaning::Exact(e)) => Some(e),
        _ => None,
    }
}

/// What a profile asks for.
enum Meaning {
    /// One curve and a matrix: the samples keep their codes.
    Exact(Encoding),
    /// A matrix, with one curve per channel: codes become linear 16-bit.
    Curves([Box<ToneReprCurve>; 3], Primaries),
    /// Tables: a transform to a wide linear encoding.
    Tables(Box<ColorProfile>),
}

/// Stored samples' own description.
pub(crate) struct Source<'a> {
    /// Embedded profile.
    pub profile: Option<&'a [u8]>,
    /// True where the file held one channel.
    pub gray: bool,
    /// For the note on an assumed encoding.
    pub sixteen_bit: bool,
}

impl Source<'_> {
    /// The frame of `samples` with the encoding of the profile, or sRGB where there is none or none that can be used.
    pub(crate) fn frame(&self, width: usize, height: usize, samples: Samples, notes: &mut Vec<String>) -> Frame {
        let frame = |samples, encoding| Frame { width, height, samples, encoding };
        let srgb = || Encoding::new(Tone::srgb(), Primaries::srgb());
        let Some(bytes) = self.profile else {
            if self.sixteen_bit {
                notes.push("The file has no colour profile; its 16-bit values were taken as sRGB.".into());
            }
            return frame(samples, srgb());
        };
        let mut assume = |why: &str| {
            notes.push(format!("The embedded colour profile {why}; sRGB was assumed."));
            srgb()
        };
        match parse(bytes, self.gray) {
            Ok(Meaning::Exact(encoding)) => frame(samples, encoding),
            Ok(Meaning::Curves(curves, primaries)) => {
                let straight = linearised(samples, &curves);
                notes.push(
                    "The colour profile has a curve per channel; the frame was converted to linear, 16-bit.".into(),
                );
                frame(straight, Encoding::new(Tone::linear(), primaries))
            }
            Ok(Meaning::Tables(profile)) => match through_tables(&profile, &samples, width) {
                Some(done) => {
                    notes.push(
                        "The colour profile uses tables; the frame was converted to linear, 16-bit, wide RGB.".into(),
                    );
                    frame(done, Encoding::new(Tone::linear(), wide()))
                }
                None => {
                    let encoding = assume("could not be applied");
                    frame(samples, encoding)
                }
            },
            Err(why) => {
                let encoding = assume(why);
                frame(samples, encoding)
            }
        }
    }
}

fn parse(bytes: &[u8], gray: bool) -> Result<Meaning, &'static str> {
    if plain::clock_is_before_1970() {
        return match plain::read(bytes).ok_or("cannot be read while the clock of this machine is before 1970")? {
            Plain::Gray(curve) if gray => Ok(Meaning::Exact(Encoding::new(tone(&curve), Primaries::srgb()))),
            Plain::Gray(_) => Err("is for grey, the picture is in colour"),
            Plain::Rgb(curves, primaries) => matrix(curves, primaries),
        };
    }
    // The parser is well fuzzed, but a profile is the least trusted part of a file.
    let parsed = std::panic::catch_unwind(|| ColorProfile::new_from_slice(bytes));
    let profile = parsed.ok().and_then(Result::ok).ok_or("is damaged")?;
    match profile.color_space {
        DataColorSpace::Gray => {
            let curve = profile.gray_trc.as_ref().filter(|_| gray).ok_or("is for grey, the picture is in colour")?;
            // Grey has no primaries; with equal channels any set whose white is D50 will do.
            Ok(Meaning::Exact(Encoding::new(tone(curve), Primaries::srgb())))
        }
        DataColorSpace::Rgb => rgb(profile),
        _ => Err("is not for RGB"),
    }
}

fn rgb(profile: ColorProfile) -> Result<Meaning, &'static str> {
    // Tables go before the matrix where both are there (ICC.1:2022 section 8.10 and table 25).
    if profile.lut_a_to_b_colorimetric.is_some() || profile.lut_a_to_b_perceptual.is_some() {
        return Ok(Meaning::Tables(Box::new(profile)));
    }
    if !profile.is_matrix_shaper() {
        return Err("has neither tables nor a matrix");
    }
    let primaries = Primaries(profile.colorant_matrix().v);
    let (Some(r), Some(g), Some(b)) = (profile.red_trc, profile.green_trc, profile.blue_trc) else {
        return Err("lacks a tone curve");
    };
    matrix([r, g, b], primaries)
}

fn matrix(curves: [ToneReprCurve; 3], primaries: Primaries) -> Result<Meaning, &'static str> {
    if !primaries.0.as_flattened().iter().all(|v| v.is_finite()) {
        return Err("is damaged");
    }
    let [r, g, b] = &curves;
    if r == g && g == b {
        Ok(Meaning::Exact(Encoding::new(tone(r), primaries)))
    } else {
        Ok(Meaning::Curves(curves.map(Box::new), primaries))
    }
}

fn tone(curve: &ToneReprCurve) -> Tone {
    // A hundredth of an 8-bit step: such a curve was meant to be straight.
    let straight = (0..=16).all(|i| (evaluate(curve, f64::from(i) / 16.0) - f64::from(i) / 16.0).abs() < 4e-5);
    if straight { Tone::linear() } else { Tone::from_fn(|x| evaluate(curve, x)) }
}

/// Code to light by a profile's curve (ICC.1:2022 sections 10.6 curveType and 10.18 parametricCurveType), clipped to 0..1.
fn evaluate(curve: &ToneReprCurve, x: f64) -> f64 {
    let y = match curve {
        ToneReprCurve::Lut(table) => match table.as_slice() {
            [] => x,
            // A single entry is a power, in 8.8 fixed point.
            [gamma] => x.powf(f64::from(*gamma) / 256.0),
            table => {
                let at = x * (table.len() - 1) as f64;
                let i = (at as usize).min(table.len() - 2);
                let t = at - i as f64;
                (f64::from(table[i]) * (1.0 - t) + f64::from(table[i + 1]) * t) / 65535.0
            }
        },
        ToneReprCurve::Parametric(p) => {
            let p: Vec<f64> = p.iter().map(|&v| v.into()).collect();
            let power = |a: f64, b: f64, g: f64| (a * x + b).max(0.0).powf(g);
            match p.as_slice() {
                [g] => x.powf(*g),
                [g, a, b] => power(*a, *b, *g),
                [g, a, b, c] => power(*a, *b, *g) + c,
                [g, a, b, c, d] => {
                    if x >= *d {
                        power(*a, *b, *g)
                    } else {
                        c * x
                    }
                }
                [g, a, b, c, d, e, f] => {
                    if x >= *d {
                        power(*a, *b, *g) + e
                    } else {
                        c * x + f
                    }
                }
                _ => x,
            }
        }
    };
    if y.is_finite() { y.clamp(0.0, 1.0) } else { 0.0 }
}

fn linearised(samples: Samples, curves: &[Box<ToneReprCurve>; 3]) -> Samples {
    let table = |n: usize, c: &ToneReprCurve| -> Vec<u16> {
        (0..=n).map(|i| (evaluate(c, i as f64 / n as f64) * 65535.0).round() as u16).collect()
    };
    match samples {
        Samples::U8(s) => {
            let t = curves.each_ref().map(|c| table(255, c));
            Samples::U16(s.par_iter().enumerate().map(|(i, &v)| t[i % 3][usize::from(v)]).collect())
        }
        Samples::U16(mut s) => {
            let t = curves.each_ref().map(|c| table(65535, c));
            s.par_chunks_mut(3).for_each(|px| px.iter_mut().zip(&t).for_each(|(v, t)| *v = t[usize::from(*v)]));
            Samples::U16(s)
        }
    }
}

/// Primaries wide enough for any real surface: ROMM RGB (ISO 22028-2), D50.
fn wide() -> Primaries {
    Primaries::romm()
}

fn through_tables(profile: &ColorProfile, samples: &Samples, width: usize) -> Option<Samples> {
    let target = ColorProfile::new_from_slice(&super::linear(&wide(), "linear wide RGB")).ok()?;
    let options = TransformOptions { rendering_intent: RenderingIntent::RelativeColorimetric, ..Default::default() };
    let transform = profile.create_transform_16bit(Layout::Rgb, &target, Layout::Rgb, options).ok()?;
    let mut out = vec![
        0u16;
        match samples {
            Samples::U8(s) => s.len(),
            Samples::U16(s) => s.len(),
        }
    ];
    let row = 3 * width;
    let done = out.par_chunks_mut(row).enumerate().try_for_each(|(y, line)| {
        let here = y * row..(y + 1) * row;
        match samples {
            // 257 = 65535 / 255 stretches 8 bits to 16 exactly.
            Samples::U8(s) => {
                let wide: Vec<u16> = s[here].iter().map(|&v| u16::from(v) * 257).collect();
                transform.transform(&wide, line)
            }
            Samples::U16(s) => transform.transform(&s[here], line),
        }
    });
    done.ok().map(|()| Samples::U16(out))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::icc;

    /// moxcms, a general colour library, reads our profiles as we mean them and agrees with our reading of its own.
    #[test]
    fn profiles_mean_the_same_to_a_general_library() {
        let eci = encoding(&icc::eci_rgb_v2()).unwrap();
        let srgb = encoding(&icc::srgb()).unwrap();
        assert!(encoding(&icc::linear_srgb()).unwrap().tone.linear);
        assert!(encoding(&icc::linear_eci_rgb()).unwrap().tone.linear);
        for (ours, profile) in [(&eci, icc::eci_rgb_v2()), (&srgb, icc::srgb())] {
            let theirs = ColorProfile::new_from_slice(&profile).unwrap();
            let options =
                TransformOptions { rendering_intent: RenderingIntent::RelativeColorimetric, ..Default::default() };
            let target = ColorProfile::new_from_slice(&icc::linear(&wide(), "wide")).unwrap();
            let transform = theirs.create_transform_f32(Layout::Rgb, &target, Layout::Rgb, options).unwrap();
            for rgb in [[0.2f32, 0.5, 0.9], [1.0, 1.0, 1.0], [0.9, 0.4, 0.1], [0.02, 0.03, 0.05]] {
                let mut got = [0.0; 3];
                transform.transform(&rgb, &mut got).unwrap();
                let tone = ours.tone.table(16);
                let light = rgb.map(|v| f64::from(tone[(v * 65535.0).round() as usize]));
                let want = pixels::matrix::apply(&wide().rgb_from_xyz().unwrap(), ours.primaries.xyz(light));
                for (a, b) in got.iter().zip(want) {
                    assert!((f64::from(*a) - b).abs() < 5e-4, "{rgb:?}: {got:?} {want:?}");
                }
            }
        }
    }

    /// Curves by hand after ICC.1:2022 10.6 and 10.18.
    #[test]
    fn curves_follow_the_standard() {
        let lut = |v: &[u16]| ToneReprCurve::Lut(v.to_vec());
        assert_eq!(evaluate(&lut(&[]), 0.3), 0.3);
        assert!((evaluate(&lut(&[512]), 0.5) - 0.25).abs() < 1e-12, "a power of 2 in 8.8");
        assert!((evaluate(&lut(&[0, 0, 65535]), 0.75) - 0.5).abs() < 1e-12);
        let srgb = ToneReprCurve::Parametric(vec![2.4, 1.0 / 1.055, 0.055 / 1.055, 1.0 / 12.92, 0.04045]);
        for c in [0.0, 0.02, 0.04045, 0.3, 1.0] {
            assert!((evaluate(&srgb, c) - pixels::colour::srgb_decode(c)).abs() < 1e-6);
        }
        let offset = ToneReprCurve::Parametric(vec![2.0, 1.0, 0.0, 0.5, 0.25, 0.125, 0.0625]);
        assert!((evaluate(&offset, 0.5) - 0.375).abs() < 1e-12 && (evaluate(&offset, 0.1) - 0.1125).abs() < 1e-7);
    }

    #[test]
    fn a_profile_with_three_curves_makes_the_frame_linear() {
        let mut profile = ColorProfile::new_srgb();
        profile.green_trc = Some(moxcms::curve_from_gamma(1.8));
        let bytes = profile.encode().unwrap();
        let mut notes = Vec::new();
        let source = Source { profile: Some(&bytes), gray: false, sixteen_bit: false };
        let frame = source.frame(1, 1, Samples::U8(vec![128, 128, 0]), &mut notes);
        let px = frame.linear(0, 0);
        assert!((f64::from(px[0]) - 0.2159).abs() < 2e-4, "{px:?}");
        assert!((f64::from(px[1]) - (128.0f64 / 255.0).powf(1.8)).abs() < 2e-4, "{px:?}");
        assert!(frame.encoding.tone.linear && notes.len() == 1);
        // Nonsense is sRGB, and said.
        notes.clear();
        let frame =
            Source { profile: Some(&bytes[..200]), ..source }.frame(1, 1, Samples::U8(vec![255; 3]), &mut notes);
        assert!(!frame.encoding.tone.linear && notes[0].contains("sRGB was assumed"), "{notes:?}");
    }
}
