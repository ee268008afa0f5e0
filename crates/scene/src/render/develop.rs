//! From light to a file's code values: lens blur, vignette, sensor, mosaic, white balance, tone and sharpening.

use super::blur;
use super::shade::Strip;
use super::stage::Stage;
use crate::noise::mix;
use crate::rig::Scene;
use crate::sensor::{Output, Sensor};
use geometry::{Length, point};
use pixels::colour::srgb_encode;

/// Rows and columns the sensor's later steps look past a pixel: two for the mosaic, three for sharpening.
const LATER: usize = 5;

/// How a scene's light becomes code values.
pub struct Develop {
    sensor: Sensor,
    gains: [f32; 3],
    /// Focus: kernels by sixteenths of a pixel where the blur changes over the frame, else one kernel.
    kernels: Vec<Vec<f32>>,
    even: bool,
    curve: Vec<f32>,
    sharpening: f32,
    seed: u64,
}

/// The reading of full scale in a raw file of this sensor.
pub fn white_level(sensor: &Sensor) -> u16 {
    ((1u32 << sensor.bits.clamp(10, 16)) - 1) as u16
}

impl Develop {
    pub fn new(scene: &Scene, stage: &Stage) -> Self {
        let sensor = scene.rig.sensor;
        let high = scene.sheets.iter().map(|s| s.print.sheet.surface().highest().to_mm()).fold(0.0, f64::max);
        let ends = [0.0, high / 2.0, high].map(|h| sigma_at(stage, &sensor, h as f32));
        let soft = sensor.soft_px.iter().fold(0.0, |a: f64, v| a.max(*v)) as f32;
        let (low, top) = ends.iter().fold((f32::MAX, 0.0f32), |(a, b), &s| (a.min(s), b.max(s)));
        let top = top.hypot(soft);
        // A twentieth of a pixel of blur is not to be seen.
        let even = top - low < 0.05;
        let kernels = if even {
            vec![blur::kernel(low)]
        } else {
            (0..=(top.min(blur::REACH as f32 / 3.2) * 16.0).ceil() as usize)
                .map(|i| blur::kernel(i as f32 / 16.0))
                .collect()
        };
        let (contrast, sharpening) = match sensor.output {
            Output::Camera8 { contrast, sharpening } => (contrast, sharpening),
            _ => (0.0, 0.0),
        };
        let curve = match sensor.output {
            Output::Linear16 => Vec::new(),
            _ => (0..=65535u32)
                .map(|i| {
                    let e = srgb_encode(f64::from(i) / 65535.0);
                    ((1.0 - contrast) * e + contrast * e * e * (3.0 - 2.0 * e)) as f32
                })
                .collect(),
        };
        Self {
            sensor,
            gains: sensor.gains(scene.rig.flash_rgb).map(|g| g as f32),
            kernels,
            even,
            curve,
            sharpening: sharpening as f32,
            seed: mix(scene.seed ^ 0x5e45),
        }
    }

    /// Code values 0 to 1 of a strip of rows, interleaved RGB; raw readings go to `raw`.
    pub fn strip(&self, stage: &Stage, y0: usize, rows: usize, raw: Option<&mut [u16]>) -> Vec<f32> {
        let reach = self.kernels.last().map_or(0, |k| k.len() - 1);
        let margin = (reach + LATER).min(super::lattice::MARGIN);
        let mut s = stage.shade(y0 as isize - margin as isize, rows + 2 * margin, margin);
        stage.dust(&mut s, y0 as isize - margin as isize, margin, false);
        self.blur(stage, &mut s, margin as isize, y0 as isize);
        let mut s = trimmed(&s, margin - LATER);
        let (x0, y0) = (-(LATER as isize), y0 as isize - LATER as isize);
        stage.dust(&mut s, y0, LATER, true);
        self.read(stage, &mut s, x0, y0);
        if let Some(raw) = raw {
            self.write_raw(&s, raw, x0, y0);
        }
        if self.sensor.mosaic {
            demosaic(&mut s, x0, y0);
        }
        self.tone(&mut s);
        if self.sharpening > 0.0 {
            sharpen(&mut s, self.sharpening);
        }
        interleaved(&trimmed(&s, LATER))
    }

    /// Blurs a strip that reaches `margin` pixels past the frame's rows from `y0`.
    fn blur(&self, stage: &Stage, s: &mut Strip, margin: isize, y0: isize) {
        if self.even {
            return blur::even(s, &self.kernels[0]);
        }
        let last = self.kernels.len() - 1;
        let place = |k: usize, of: usize| (2.0 * (k as f64 + 0.5) / of as f64 - 1.0).clamp(-1.0, 1.0);
        let softness = |n: usize| {
            let at = |i: usize, first: isize| (i as isize + first).max(0) as usize;
            let (x, y) = (at(n % s.width, -margin), at(n / s.width, y0 - margin));
            self.sensor.softness(place(x, stage.width), place(y, stage.height)) as f32
        };
        let width = |(n, &h): (usize, &f32)| {
            let sigma = sigma_at(stage, &self.sensor, h).hypot(softness(n));
            ((sigma * 16.0).round() as usize).min(last) as u16
        };
        let widths: Vec<u16> = s.height.iter().enumerate().map(width).collect();
        blur::uneven(s, &widths, &self.kernels);
    }

    /// Vignette, exposure, sensitivity, noise.
    fn read(&self, stage: &Stage, s: &mut Strip, x0: isize, y0: isize) {
        let quiet = self.sensor.full_well.is_infinite();
        let darkening = stage.camera.vignette(point(0.0, 0.0)).powf(-0.5) - 1.0;
        let (mid, corner) = (
            point(stage.camera.width / 2.0, stage.camera.height / 2.0),
            stage.camera.width.hypot(stage.camera.height) / 2.0,
        );
        let unit = (darkening / (corner * corner)) as f32;
        for j in 0..s.rows {
            let down = ((y0 + j as isize) as f64 + 0.5 - mid.y) as f32;
            for i in 0..s.width {
                let (x, y) = (x0 + i as isize, y0 + j as isize);
                // The law of `Camera::vignette`, with what is the same for all pixels taken out.
                let across = (x as f64 + 0.5 - mid.x) as f32;
                let fall = 1.0 + unit * (across * across + down * down);
                let k = stage.exposure / (fall * fall);
                let n = j * s.width + i;
                let only = self.sensor.mosaic.then(|| colour_at(x, y));
                for c in 0..3 {
                    if only.is_some_and(|o| o != c) {
                        continue;
                    }
                    let light = s.planes[c][n] * k * self.sensor.sensitivity[c] as f32;
                    let counter = self.seed.wrapping_add(((y + 64) as u64 * 200_003 + (x + 64) as u64) * 3 + c as u64);
                    s.planes[c][n] = if quiet { light.clamp(0.0, 1.0) } else { self.sensor.read(light, counter) };
                }
            }
        }
    }

    fn write_raw(&self, s: &Strip, raw: &mut [u16], x0: isize, y0: isize) {
        let width = s.width - 2 * LATER;
        let scale = f32::from(white_level(&self.sensor) - super::BLACK);
        for (j, line) in raw.chunks_exact_mut(width).enumerate() {
            for (i, v) in line.iter_mut().enumerate() {
                let n = (j + LATER) * s.width + i + LATER;
                let c = colour_at(x0 + (i + LATER) as isize, y0 + (j + LATER) as isize);
                *v = super::BLACK + (s.planes[c][n] * scale).round() as u16;
            }
        }
    }

    /// White balance, clip, tone curve.
    fn tone(&self, s: &mut Strip) {
        for (c, plane) in s.planes.iter_mut().enumerate() {
            for v in plane {
                let light = (*v * self.gains[c]).clamp(0.0, 1.0);
                *v = if self.curve.is_empty() { light } else { self.curve[(light * 65535.0 + 0.5) as usize] };
            }
        }
    }
}

/// Standard deviation of all blur at a height: lens and pixel, and a defocus disc of diameter d (d / 4 along any axis).
fn sigma_at(stage: &Stage, sensor: &Sensor, height: f32) -> f32 {
    (sensor.blur_px.powi(2) + (stage.camera.defocus_px(Length::mm(f64::from(height))) / 4.0).powi(2)).sqrt() as f32
}

/// Red 0, green 1 or blue 2 of an RGGB mosaic.
fn colour_at(x: isize, y: isize) -> usize {
    match (x.rem_euclid(2), y.rem_euclid(2)) {
        (0, 0) => 0,
        (1, 1) => 2,
        _ => 1,
    }
}

fn trimmed(s: &Strip, by: usize) -> Strip {
    let (width, rows) = (s.width - 2 * by, s.rows - 2 * by);
    let cut = |p: &Vec<f32>| (0..rows).flat_map(|j| p[(j + by) * s.width + by..][..width].iter().copied()).collect();
    Strip { width, rows, planes: [cut(&s.planes[0]), cut(&s.planes[1]), cut(&s.planes[2])], height: Vec::new() }
}

fn interleaved(s: &Strip) -> Vec<f32> {
    let [r, g, b] = &s.planes;
    r.iter().zip(g.iter().zip(b)).flat_map(|(r, (g, b))| [*r, *g, *b]).collect()
}

/// Linear interpolation of the mosaic with gradient correction, 5 by 5 (Malvar, He and Cutler, ICASSP 2004, doi
/// 10.1109/ICASSP.2004.1326587). Two rows and columns at the rim keep what they have.
fn demosaic(s: &mut Strip, x0: isize, y0: isize) {
    let (w, rows) = (s.width, s.rows);
    let mut cfa = vec![0.0f32; w * rows];
    for j in 0..rows {
        for i in 0..w {
            cfa[j * w + i] = s.planes[colour_at(x0 + i as isize, y0 + j as isize)][j * w + i];
        }
    }
    for j in 2..rows - 2 {
        for i in 2..w - 2 {
            let n = j * w + i;
            let at = |dx: isize, dy: isize| cfa[(n as isize + dy * w as isize + dx) as usize];
            let (here, far_x, far_y) = (at(0, 0), at(-2, 0) + at(2, 0), at(0, -2) + at(0, 2));
            let (near_x, near_y) = (at(-1, 0) + at(1, 0), at(0, -1) + at(0, 1));
            let diagonal = at(-1, -1) + at(1, -1) + at(-1, 1) + at(1, 1);
            let (x, y) = (x0 + i as isize, y0 + j as isize);
            let c = colour_at(x, y);
            if c == 1 {
                let across = (5.0 * here + 4.0 * near_x - diagonal - far_x + 0.5 * far_y) / 8.0;
                let down = (5.0 * here + 4.0 * near_y - diagonal - far_y + 0.5 * far_x) / 8.0;
                let red_row = y.rem_euclid(2) == 0;
                s.planes[0][n] = if red_row { across } else { down };
                s.planes[2][n] = if red_row { down } else { across };
            } else {
                s.planes[1][n] = (4.0 * here + 2.0 * (near_x + near_y) - far_x - far_y) / 8.0;
                s.planes[2 - c][n] = (6.0 * here + 2.0 * diagonal - 1.5 * (far_x + far_y)) / 8.0;
            }
        }
    }
}

/// Unsharp mask of 0.8 px on code values.
fn sharpen(s: &mut Strip, amount: f32) {
    let mut soft = Strip { width: s.width, rows: s.rows, planes: s.planes.clone(), height: Vec::new() };
    blur::even(&mut soft, &blur::kernel(0.8)[..3]);
    for (plane, soft) in s.planes.iter_mut().zip(&soft.planes) {
        plane.iter_mut().zip(soft).for_each(|(v, b)| *v = (*v + amount * (*v - b)).clamp(0.0, 1.0));
    }
}
