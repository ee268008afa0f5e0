//! The strip of profiles along one side of a rectangle, and the steps in it.

use crate::edge::{HALF, Profile, Reader, Step, profile, steps, with_contact};
use geometry::{Homography, Point, Ray};
use pixels::Field;

/// Which rectangle is looked for: its profiles start in the border, whose paper is even, and go away from it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Which {
    /// The print's outer edge: from the border outward.
    Outer,
    /// The window's edge: from the border inward.
    Window,
}

/// How closely to look.
#[derive(Clone, Copy, Debug)]
pub struct Reach {
    /// How far (mm) into the border the profiles start.
    pub border: f64,
    /// How far (mm) past the base line they go.
    pub beyond: f64,
    /// Places along each side.
    pub places: usize,
    /// Degree of the side's curve.
    pub degree: usize,
    /// Distance between the samples of a profile, frame pixels.
    pub step_px: f64,
}

impl Reach {
    /// The reach with room enough on a coarse frame of `scale` pixels a millimetre, of a `border` (mm) four fifths at the most.
    ///
    /// A step is told by the quiet paper beside it: with less than [`ROOM`] to either side its own blur is all that there is.
    pub fn at_least(self, border: f64, scale: f64) -> Self {
        let room = ROOM / scale.max(1e-6);
        Self { border: self.border.max(room.min(0.8 * border)), beyond: self.beyond.max(room), ..self }
    }
}

/// Pixels of paper beside an edge: an edge with its sharpening's halo is four wide.
const ROOM: f64 = 8.0;

/// Profiles across a side at places along it.
pub struct Strip {
    /// Place along the side (-1 to 1) and the profile there.
    pub places: Vec<(f64, Profile)>,
    /// Outward in the frame (+1) or inward (-1) along a profile.
    pub sign: f64,
    /// Distance between samples, mm.
    pub step: f64,
    /// Neighbours on either side that each profile is averaged with.
    pub blended: usize,
    /// Samples in each of the two means that a step is the difference of.
    pub half: usize,
}

/// Steps found along a side: the place, its steps in order of position, and the share of its profile in the frame.
pub type Found = (f64, Vec<Step>, f32);

impl Strip {
    /// Reads the strip across the side from `a` to `b` (print mm) under `frame_from_print`.
    pub fn read(
        reader: &Reader<'_>,
        bed: &Field,
        frame_from_print: &Homography,
        (a, b): (Point, Point),
        which: Which,
        reach: Reach,
    ) -> Self {
        let along = b - a;
        let length = along.norm();
        let outward = -along.unit().quarter_turn();
        let scale = frame_from_print.scale_at(a.lerp(b, 0.5));
        // No finer than 15 micrometres: paper edges are not sharper than that.
        let step = (reach.step_px / scale).max(0.015);
        let sign = if which == Which::Outer { 1.0 } else { -1.0 };
        // A profile needs the two means of a step on either side, and no more samples than a side of any use has.
        let count = (((reach.border + reach.beyond) / step) as usize).clamp(1, MOST_SAMPLES);
        // Corners are rounded by up to 3 mm; the window's by less.
        let margin = if which == Which::Outer { 3.5 } else { 1.5 } / length;
        let width = (1.0 - 2.0 * margin) / reach.places as f64;
        // One tap per pixel along the side up to 24: past that noise no longer decides.
        let taps = ((width * length * scale) as usize).clamp(3, 24);
        let places = (0..reach.places)
            .map(|k| {
                let t0 = margin + width * k as f64;
                let tap = |i: usize| {
                    let t = t0 + width * (i as f64 + 0.5) / taps as f64;
                    frame_from_print.ray(a.lerp(b, t) - outward * (reach.border * sign), outward * (step * sign))
                };
                let rays: Vec<Ray> = (0..taps).map(tap).collect();
                let p = profile(reader, bed, (-reach.border, step, count), &rays);
                (2.0 * (t0 + width / 2.0) - 1.0, p)
            })
            .collect();
        Self { places, sign, step, blended: 0, half: HALF }
    }

    /// The strip with each profile averaged with `radius` neighbours on either side, weights falling linearly.
    ///
    /// A side runs along the strip, so an edge stays while noise falls. Steps of it are looked for between means of `half`
    /// samples.
    pub fn blend(&self, radius: usize, half: usize) -> Self {
        let n = self.places.len();
        let places = (0..n)
            .map(|k| {
                let (t, p) = &self.places[k];
                let mut values = vec![[0f32; 3]; p.values.len()];
                let mut weights = vec![0f32; p.values.len()];
                for j in k.saturating_sub(radius)..(k + radius + 1).min(n) {
                    let w = (radius + 1 - j.abs_diff(k)) as f32;
                    for (i, v) in self.places[j].1.values.iter().enumerate().filter(|(_, v)| !v[0].is_nan()) {
                        (0..3).for_each(|c| values[i][c] += w * v[c]);
                        weights[i] += w;
                    }
                }
                let mean = values.iter().zip(&weights);
                let values = mean.map(|(v, w)| if *w > 0.0 { v.map(|v| v / w) } else { [f32::NAN; 3] }).collect();
                (*t, Profile { values, ..*p })
            })
            .collect();
        Self { places, blended: radius, half, ..*self }
    }

    /// Length of its profiles, mm.
    pub fn range(&self) -> f64 {
        self.places.first().map_or(0.0, |(_, p)| p.values.len() as f64 * self.step)
    }

    /// The steps of every profile.
    pub fn steps(&self) -> Vec<Found> {
        let find = |(t, p): &(f64, Profile)| {
            let s = if p.good > 0.9 { steps(p, self.half) } else { Vec::new() };
            // Only the outer edge lies on the bed; a thin line beside the window is part of the picture.
            let s = if self.sign > 0.0 && self.half == HALF { with_contact(p, &s) } else { s };
            (*t, s, p.good)
        };
        self.places.iter().map(find).collect()
    }
}

/// Samples of a profile at the most: 5 mm at the finest step.
const MOST_SAMPLES: usize = 400;
