//! Planes of `f32` and pictures of three.

use rayon::prelude::*;

/// One band, row major.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Plane {
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// `width * height` values, row major.
    pub data: Vec<f32>,
}

impl Plane {
    /// A plane of one value.
    pub fn filled(width: usize, height: usize, value: f32) -> Self {
        Self { width, height, data: vec![value; width * height] }
    }

    /// A plane computed row by row in parallel: `f(x, y)` at each pixel.
    ///
    /// ```
    /// let ramp = pixels::Plane::from_fn(4, 2, |x, _| x as f32);
    /// assert_eq!(ramp.row(1), [0.0, 1.0, 2.0, 3.0]);
    /// ```
    pub fn from_fn(width: usize, height: usize, f: impl Fn(usize, usize) -> f32 + Sync) -> Self {
        let mut p = Self::filled(width, height, 0.0);
        if width > 0 {
            p.data.par_chunks_mut(width).enumerate().for_each(|(y, row)| {
                row.iter_mut().enumerate().for_each(|(x, v)| *v = f(x, y));
            });
        }
        p
    }

    /// Row `y`.
    pub fn row(&self, y: usize) -> &[f32] {
        &self.data[y * self.width..(y + 1) * self.width]
    }

    /// The value at a pixel. Panics outside the plane.
    pub fn get(&self, x: usize, y: usize) -> f32 {
        self.data[y * self.width + x]
    }

    /// The value at the nearest pixel inside.
    pub fn clamped(&self, x: isize, y: isize) -> f32 {
        self.get(x.clamp(0, self.width as isize - 1) as usize, y.clamp(0, self.height as isize - 1) as usize)
    }

    /// Bilinear value at continuous coordinates (pixel centres at +0.5), clamped at the edges.
    ///
    /// ```
    /// // The centre of the first pixel is at 0.5.
    /// let ramp = pixels::Plane::from_fn(4, 4, |x, _| x as f32);
    /// assert_eq!(ramp.bilinear(2.0, 2.0), 1.5);
    /// ```
    pub fn bilinear(&self, x: f64, y: f64) -> f32 {
        let (x, y) = (x - 0.5, y - 0.5);
        let (x0, y0) = (x.floor(), y.floor());
        let (fx, fy) = ((x - x0) as f32, (y - y0) as f32);
        let (i, j) = (x0 as isize, y0 as isize);
        let top = self.clamped(i, j) * (1.0 - fx) + self.clamped(i + 1, j) * fx;
        let bottom = self.clamped(i, j + 1) * (1.0 - fx) + self.clamped(i + 1, j + 1) * fx;
        top * (1.0 - fy) + bottom * fy
    }
}

/// Three planes of scene-linear light, red, green, blue in the primaries of the frame they came from.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Picture(pub [Plane; 3]);

impl Picture {
    /// Columns.
    pub fn width(&self) -> usize {
        self.0[0].width
    }
    /// Rows.
    pub fn height(&self) -> usize {
        self.0[0].height
    }
    /// The picture at `1 / factor` of its size, each pixel the mean of a block; a ragged rest is left out.
    pub fn reduce(&self, factor: usize) -> Self {
        let f = factor.max(1);
        let (w, h) = (self.width() / f, self.height() / f);
        let k = 1.0 / (f * f) as f32;
        Self(std::array::from_fn(|b| {
            Plane::from_fn(w, h, |x, y| {
                (0..f).map(|j| self.0[b].row(y * f + j)[x * f..(x + 1) * f].iter().sum::<f32>()).sum::<f32>() * k
            })
        }))
    }
    /// The three values at a pixel.
    pub fn get(&self, x: usize, y: usize) -> [f32; 3] {
        std::array::from_fn(|b| self.0[b].get(x, y))
    }
}
