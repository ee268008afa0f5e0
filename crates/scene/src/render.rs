//! The renderer: a stage worked out once, then strips of rows shaded, blurred and read by the sensor in parallel.

pub(crate) mod blur;
mod develop;
mod edge;
mod inked;
mod lattice;
mod shade;
mod sheet;
mod stage;

use crate::rig::Scene;
use crate::truth::{self, Truth};
use pixels::{Encoding, Frame, Plane, Primaries, Samples, Tone};
use rayon::prelude::*;
use stage::Stage;

use crate::sensor::Output;

/// A rendered frame with what is true of it.
#[derive(Clone, Debug)]
pub struct Shot {
    /// The picture as the camera's file would hold it.
    pub frame: Frame,
    /// The raw readings, where the sensor has a colour mosaic.
    pub mosaic: Option<Mosaic>,
    /// What is true.
    pub truth: Truth,
}

/// Raw readings of an RGGB mosaic: red at even columns of even rows.
#[derive(Clone, Debug, PartialEq)]
pub struct Mosaic {
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// `width * height` readings from `black` to `white`.
    pub samples: Vec<u16>,
    /// Reading of no light.
    pub black: u16,
    /// Reading of full scale.
    pub white: u16,
    /// What a neutral surface under the flash reads, over its green, by the camera's white balance.
    pub neutral: [f64; 3],
}

/// Rows of one strip: each is shaded with some ten rows more above and below, so thin strips waste work and thick ones
/// memory (a strip 3000 px wide takes some 5 MB).
const STRIP: usize = 112;
/// Reading of no light in a raw file.
const BLACK: u16 = 512;

/// Draws a scene at a size. Deterministic: the same scene and size give the same bytes, on any number of cores.
pub fn render(scene: &Scene, width: usize, height: usize) -> Shot {
    let (width, height) = (width.max(1), height.max(1));
    let stage = Stage::new(scene, width, height);
    let develop = develop::Develop::new(scene, &stage);
    let row = 3 * width;
    let mut raw = scene.rig.sensor.mosaic.then(|| vec![0u16; width * height]);
    let mut rest = raw.as_deref_mut();
    let mut raw_strips: Vec<Option<&mut [u16]>> = Vec::new();
    for y in (0..height).step_by(STRIP) {
        raw_strips.push(rest.take().map(|r| {
            let (a, b) = r.split_at_mut(STRIP.min(height - y) * width);
            rest = Some(b);
            a
        }));
    }
    let samples = match scene.rig.sensor.output {
        Output::Linear16 => {
            let mut out = vec![0u16; row * height];
            out.par_chunks_mut(row * STRIP).zip(raw_strips).enumerate().for_each(|(k, (out, raw))| {
                let code = develop.strip(&stage, k * STRIP, out.len() / row, raw);
                out.iter_mut().zip(&code).for_each(|(o, v)| *o = (v * 65535.0 + 0.5) as u16);
            });
            Samples::U16(out)
        }
        Output::Srgb8 | Output::Camera8 { .. } => {
            let mut out = vec![0u8; row * height];
            out.par_chunks_mut(row * STRIP).zip(raw_strips).enumerate().for_each(|(k, (out, raw))| {
                let code = develop.strip(&stage, k * STRIP, out.len() / row, raw);
                out.iter_mut().zip(&code).for_each(|(o, v)| *o = (v * 255.0 + 0.5) as u8);
            });
            Samples::U8(out)
        }
    };
    let encoding = match scene.rig.sensor.output {
        Output::Linear16 => Encoding::new(Tone::linear(), Primaries::srgb()),
        _ => Encoding { display_referred: true, ..Encoding::new(Tone::srgb(), Primaries::srgb()) },
    };
    let gains = scene.rig.sensor.gains(scene.rig.flash_rgb);
    let mosaic = raw.map(|samples| Mosaic {
        width,
        height,
        samples,
        black: BLACK,
        white: develop::white_level(&scene.rig.sensor),
        neutral: gains.map(|g| gains[1] / g),
    });
    let truth = truth::of(scene, &stage.camera, &stage.veil_shares(), stage.bed_level());
    Shot { frame: Frame { width, height, samples, encoding }, mosaic, truth }
}

/// The true shadow map: green light of the bed with the prints over that of the empty bed, at each pixel's centre, no
/// blur and no noise. Where a print covers the pixel the value is what the bed under it would show.
pub fn shadow(scene: &Scene, width: usize, height: usize) -> Plane {
    let (stage, mut plane) = (Stage::new(scene, width, height), Plane::filled(width, height, 1.0));
    plane.data.par_chunks_mut(width.max(1) * STRIP).enumerate().for_each(|(k, out)| {
        out.copy_from_slice(&stage.shadow((k * STRIP) as isize, out.len() / width));
    });
    plane
}

/// The true response of a rendered frame to detail of a frequency (cycles per pixel across and down): its lens blur of
/// `blur_px`, in focus, times the pixel's own area, `sinc(fx) sinc(fy)`; noise, mosaic and sharpening left out.
pub fn response(blur_px: f64, across: f64, down: f64) -> f64 {
    let kernel = blur::kernel(blur_px as f32);
    let one = |f: f64| {
        let x = std::f64::consts::PI * f;
        let pixel = if x == 0.0 { 1.0 } else { x.sin() / x };
        let taps = kernel.iter().enumerate().skip(1).map(|(i, k)| 2.0 * f64::from(*k) * (2.0 * x * i as f64).cos());
        pixel * (f64::from(kernel[0]) + taps.sum::<f64>())
    };
    (one(across) * one(down)).abs()
}

/// The true coverage: the share of each pixel that the prints' top faces cover.
pub fn coverage(scene: &Scene, width: usize, height: usize) -> Plane {
    let stage = Stage::new(scene, width, height);
    Plane::from_fn(width, height, |x, y| stage.coverage(x as isize, y as isize))
}
