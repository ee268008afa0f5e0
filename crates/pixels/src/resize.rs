//! Reduces a picture to a smaller size by area: each new pixel is the mean light of what it covers.

/// Reduces interleaved RGB rows of linear light, fed one after another, to `to` columns by rows: exact area weights, whole
/// rows never kept.
pub struct Reducer {
    from: (usize, usize),
    to: (usize, usize),
    /// Row being gathered.
    row: Vec<f32>,
    fed: usize,
    out: Vec<f32>,
}

impl Reducer {
    /// From a size to a smaller (or the same) size, both in pixels and at least 1.
    pub fn new(from: (usize, usize), to: (usize, usize)) -> Self {
        let to = (to.0.clamp(1, from.0.max(1)), to.1.clamp(1, from.1.max(1)));
        Self { from, to, row: vec![0.0; 3 * to.0], fed: 0, out: Vec::with_capacity(3 * to.0 * to.1) }
    }

    /// The size that fits `from` into a square of `most` pixels, never larger than it is.
    pub fn fit(from: (usize, usize), most: usize) -> (usize, usize) {
        let k = (most as f64 / from.0.max(from.1) as f64).min(1.0);
        let side = |n: usize| ((n as f64 * k).round() as usize).max(1);
        (side(from.0), side(from.1))
    }

    /// Takes the next row, `3 * from.0` values.
    pub fn feed(&mut self, line: &[f32]) {
        self.feed_across(&across(line, self.to.0));
    }

    /// Takes the next row already reduced [`across`].
    pub fn feed_across(&mut self, across: &[f32]) {
        let scale = self.to.1 as f64 / self.from.1 as f64;
        // The row covers [a, b) of the new rows.
        let (a, b) = (self.fed as f64 * scale, (self.fed + 1) as f64 * scale);
        self.fed += 1;
        let done = self.out.len() / (3 * self.to.0);
        let edge = (done + 1) as f64;
        let last = self.fed == self.from.1;
        let inside = (b.min(edge) - a) as f32;
        self.row.iter_mut().zip(across).for_each(|(r, v)| *r += v * inside);
        // Rounding must not leave the last row open.
        if b >= edge - 1e-9 || last {
            self.out.extend_from_slice(&self.row);
            let rest = (b - edge).max(0.0) as f32;
            self.row.iter_mut().zip(across).for_each(|(r, v)| *r = v * rest);
        }
    }

    /// The reduced picture's size and interleaved values.
    pub fn finish(self) -> ((usize, usize), Vec<f32>) {
        (self.to, self.out)
    }
}

/// A row of interleaved RGB reduced to `to` columns, the part of a [`Reducer`]'s work that rows can share out.
pub fn across(line: &[f32], to: usize) -> Vec<f32> {
    let (pixels, _) = line.as_chunks::<3>();
    let from = pixels.len();
    // In units of 1 / to of an old pixel everything is whole: new pixel i covers [i from, (i + 1) from), old pixel x
    // [x to, (x + 1) to).
    let share = 1.0 / from as f32;
    let mut out = Vec::with_capacity(3 * to);
    for i in 0..to {
        let (start, end) = (i * from, (i + 1) * from);
        let (first, last) = (start / to, (end - 1) / to);
        let part = |x: usize| ((end.min((x + 1) * to) - start.max(x * to)) as f32) * share;
        let mut sum = pixels[first].map(|v| v * part(first));
        let whole = to as f32 * share;
        if first < last {
            for px in &pixels[first + 1..last] {
                (0..3).for_each(|c| sum[c] += px[c] * whole);
            }
            let rest = part(last);
            (0..3).for_each(|c| sum[c] += pixels[last][c] * rest);
        }
        out.extend(sum);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn area_means_keep_the_whole() {
        let (w, h) = (7, 5);
        let mut r = Reducer::new((w, h), (3, 2));
        let value = |x: usize, y: usize| (x * x + 3 * y) as f32;
        for y in 0..h {
            r.feed(&(0..w).flat_map(|x| [value(x, y); 3]).collect::<Vec<_>>());
        }
        let ((tw, th), out) = r.finish();
        assert_eq!((tw, th, out.len()), (3, 2, 18));
        let mean = out.iter().step_by(3).sum::<f32>() / 6.0;
        let whole = (0..h).flat_map(|y| (0..w).map(move |x| (x, y))).map(|(x, y)| value(x, y)).sum::<f32>() / 35.0;
        assert!((mean - whole).abs() < 1e-4, "{mean} {whole}");
        assert_eq!(Reducer::fit((6000, 4000), 1200), (1200, 800));
    }
}
