//! How the bed's light in one frame differs from that in another frame of the same rig: strength, colour and direction.
//!
//! Square by square the logarithms of both frames are subtracted: paper fibre and the desk showing through, which both
//! frames have, cancel, and what is left is a ratio of lights, level but for a plane: `ln E / E0 = a_b + g x + h y`. A lamp
//! that is turned up changes `a`, one of another colour its bands apart, one that is moved tilts the plane.

use super::{Cell, Fit, Prior, cells};
use pixels::Picture;
use std::f64::consts::LN_2;

/// A frame's bed in squares of about 3 mm, kept to be compared when the frame itself is gone.
#[derive(Clone, Debug)]
pub struct Squares {
    cells: Vec<Cell>,
    size: (usize, usize),
}

/// The light on a frame's bed over that of another.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Change {
    /// Brighter (+) or darker at the frame's centre, stops: red, green, blue.
    pub stops: [f64; 3],
    /// Standard error of their mean, stops.
    pub stops_error: f64,
    /// Slope of the change towards +x and +y, stops over the frame's long side.
    pub slope: [f64; 2],
    /// Standard error of either, stops.
    pub slope_error: f64,
    /// Share of the frame's squares that both frames show as bed.
    pub share: f64,
}

/// Squares of bed that a plane must rest on at least, of some 2,400: with fewer one side of a print is all there is.
const LEAST: usize = 100;

impl Squares {
    /// The squares of a frame (reduced); `is_bed(x, y)` says of a pixel that neither print nor shadow covers it.
    pub fn of(frame: &Picture, is_bed: impl Fn(usize, usize) -> bool + Sync) -> Self {
        Self { cells: cells(frame, &is_bed), size: (frame.width(), frame.height()) }
    }

    /// Greatest slope of this bed's own light, stops over the frame's long side, mean of the bands.
    pub fn slope(&self) -> f64 {
        let fit = Fit::robust(&self.cells, vec![1.0; self.cells.len()], 2, None);
        fit.tone[1].hypot(fit.tone[2]) * self.long()
    }

    /// The frame's long side in half diagonals, for stops in place of natural logarithms.
    fn long(&self) -> f64 {
        let (w, h) = (self.size.0 as f64, self.size.1 as f64);
        w.max(h) / (w.hypot(h) / 2.0) / LN_2
    }

    /// This bed's light over another's; `None` where frames differ in size or too little bed is seen unclipped in both.
    pub fn over(&self, other: &Self) -> Option<Change> {
        if self.size != other.size {
            return None;
        }
        let ratio = |(a, b): (&Cell, &Cell)| Cell {
            ln: std::array::from_fn(|c| a.ln[c] - b.ln[c]),
            open: a.open && b.open,
            clipped: a.clipped || b.clipped,
            ..a.clone()
        };
        let cells: Vec<Cell> = self.cells.iter().zip(&other.cells).map(ratio).collect();
        let seen = cells.iter().filter(|c| c.open && !c.clipped).count();
        if seen < LEAST {
            return None;
        }
        let fit = Fit::robust(&cells, vec![1.0; cells.len()], 1, Some(Prior::level(0.5)));
        let long = self.long();
        let error = |k: usize| fit.covariance.get(k * 3 + k).map_or(f64::INFINITY, |v| v.max(0.0).sqrt());
        Some(Change {
            stops: std::array::from_fn(|b| (fit.tone[0] + fit.tint[b][0]) / LN_2),
            stops_error: error(0) / LN_2,
            slope: [fit.tone[1] * long, fit.tone[2] * long],
            slope_error: error(1).max(error(2)) * long,
            share: fit.weights.iter().filter(|w| **w > 0.3).count() as f64 / cells.len().max(1) as f64,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use pixels::Plane;

    /// Paper whose structure is the same in both frames, under a planted ratio of lights; a grey print over the middle.
    fn bed(gain: [f64; 3], slope: [f64; 2]) -> Picture {
        let (w, h) = (600usize, 400usize);
        Picture([0, 1, 2].map(|b| {
            Plane::from_fn(w, h, |x, y| {
                let (u, v) = ((x as f64 + 0.5 - 300.0) / 600.0, (y as f64 + 0.5 - 200.0) / 600.0);
                let desk = 1.0 + 0.02 * ((x as f64 * 0.7 + y as f64) / 9.0).sin();
                let print = if (150..450).contains(&x) && (90..310).contains(&y) { 0.5 } else { 1.0 };
                (0.5 * desk * print * (gain[b] + slope[0] * u + slope[1] * v).exp2()) as f32
            })
        }))
    }

    /// The ratio of two planted planes is that plane: exact, whatever the paper.
    #[test]
    fn a_planted_ratio_of_lights_comes_back() {
        let is_bed = |x: usize, y: usize| !((140..460).contains(&x) && (80..320).contains(&y));
        let blank = Squares::of(&bed([0.0; 3], [0.0; 2]), |_, _| true);
        let change = Squares::of(&bed([0.20, 0.10, 0.06], [0.08, -0.03]), is_bed).over(&blank).unwrap();
        for (got, want) in change.stops.iter().zip([0.20, 0.10, 0.06]) {
            assert!((got - want).abs() < 5e-4, "{change:?}");
        }
        assert!((change.slope[0] - 0.08).abs() < 1e-3 && (change.slope[1] + 0.03).abs() < 1e-3, "{change:?}");
        assert!(change.share > 0.4 && change.slope_error < 0.005, "{change:?}");
    }

    #[test]
    fn frames_of_other_size_or_without_bed_are_not_compared() {
        let blank = Squares::of(&bed([0.0; 3], [0.0; 2]), |_, _| true);
        let small = Squares::of(&bed([0.0; 3], [0.0; 2]).reduce(2), |_, _| true);
        assert_eq!(small.over(&blank), None);
        let covered = Squares::of(&bed([0.0; 3], [0.0; 2]), |x, _| x < 20);
        assert_eq!(covered.over(&blank), None);
        let clipped = Squares::of(&bed([1.2; 3], [0.0; 2]), |x, _| x < 120);
        assert_eq!(clipped.over(&blank), None);
    }
}
