//! Small pictures beside the large ones: for the flat plan, the dummy, the deck and the soft proof.

use super::flate;
use pixels::colour::{srgb_decode, srgb_encode};
use pixels::resize::Reducer;

/// Which small pictures are made of each.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Smalls {
    /// Those of the flat plan.
    Plan,
    /// Also those of a screen's size, for dummy, deck and spreads.
    Screen,
    /// Also those as they will look on the paper itself, for the soft proof.
    Paper,
}

impl Smalls {
    /// Pixels to the inch of the page in the largest.
    pub(super) fn ppi(self) -> f64 {
        if self == Self::Plan { THUMB_PPI } else { 120.0 }
    }
}

/// Pixels to the inch of the page in those of the flat plan, whose pages are 150 pixels high.
const THUMB_PPI: f64 = 32.0;

/// A small sRGB picture.
#[derive(Clone, Debug)]
pub struct Small {
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// The share of the whole picture's width and height that it shows: whole blocks of pixels only.
    pub shows: [f64; 2],
    /// Rows deflated, each after a predictor's byte, as PDF and PNG hold them.
    pub deflated: Vec<u8>,
}

/// A small picture in the making.
pub(super) struct Block<P> {
    width: usize,
    height: usize,
    /// The share of the whole that it shows.
    shows: [f64; 2],
    pub pixels: Vec<P>,
}

impl<const N: usize> Block<[f32; N]> {
    /// Means of whole blocks, `side` by `side`, of what `value` makes of each code of a picture of `width` columns.
    pub fn means(picture: &[[u8; N]], [w, h]: [usize; 2], side: usize, value: impl Fn(f64) -> f32) -> Self {
        let table: Vec<f32> = (0..256).map(|v| value(f64::from(v))).collect();
        let side = side.clamp(1, w.min(h));
        let (width, height) = (w / side, h / side);
        let shows = [(width * side) as f64 / w as f64, (height * side) as f64 / h as f64];
        let mut means = vec![[0.0; N]; width * height];
        for (y, row) in picture.chunks_exact(w).take(height * side).enumerate() {
            let line = &mut means[y / side * width..][..width];
            for (mean, some) in line.iter_mut().zip(row.chunks_exact(side)) {
                some.iter().for_each(|p| (0..N).for_each(|c| mean[c] += table[p[c] as usize]));
            }
        }
        let share = 1.0 / (side * side) as f32;
        Self { width, height, shows, pixels: means.into_iter().map(|p| p.map(|v| v * share)).collect() }
    }
}

impl<P: Copy> Block<P> {
    pub fn map<Q>(&self, f: impl Fn(P) -> Q) -> Block<Q> {
        self.with(self.pixels.iter().map(|p| f(*p)).collect())
    }

    pub fn with<Q>(&self, pixels: Vec<Q>) -> Block<Q> {
        Block { width: self.width, height: self.height, shows: self.shows, pixels }
    }
}

impl Block<[u8; 3]> {
    /// As the flat plan shows it, of one of `ppi` pixels to the inch: made smaller in linear light.
    pub fn thumb(&self, ppi: f64) -> Self {
        let k = THUMB_PPI / ppi;
        let to = [self.width, self.height].map(|n| ((n as f64 * k).round() as usize).max(1));
        let table: Vec<f32> = (0..256).map(|v| srgb_decode(f64::from(v) / 255.0) as f32).collect();
        let mut reducer = Reducer::new((self.width, self.height), (to[0], to[1]));
        for row in self.pixels.chunks(self.width) {
            reducer.feed(row.as_flattened(), |v| table[usize::from(v)]);
        }
        let code = |v: &f32| (srgb_encode(f64::from(*v).min(1.0)) * 255.0).round() as u8;
        let codes: Vec<u8> = reducer.finish().1.iter().map(code).collect();
        Self { width: to[0], height: to[1], shows: self.shows, pixels: codes.as_chunks::<3>().0.to_vec() }
    }

    pub fn packed(&self) -> Small {
        let deflated = flate::rows(self.pixels.as_flattened(), 3 * self.width);
        Small { width: self.width, height: self.height, shows: self.shows, deflated }
    }
}
