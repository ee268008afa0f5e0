//! From profile bytes and stored samples to a frame whose encoding is exact.

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
                notes.push("The file has no colour profile; its 16-bit numbers were taken as sRGB.".into());
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
                notes.push("The colour profile has a curve per channel; the frame was made linear, 16-bit.".into());
                frame(straight, Encoding::new(Tone::linear(), primaries))
            }
            Ok(Meaning::Tables(profile)) => match through_tables(&profile, &samples, width) {
                Some(done) => {
                    notes.push(
                        "The colour profile works by tables; the frame was made linear, 16-bit, wide RGB.".into(),
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
    if !primaries.0.as_flattened().iter().all(|v| v.is_finite()) {
        return Err("is damaged");
    }
    if r == g && g == b {
        Ok(Meaning::Exact(Encoding::new(tone(&r), primaries)))
    } else {
        Ok(Meaning::Curves([r, g, b].map(Box::new), primaries))
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
