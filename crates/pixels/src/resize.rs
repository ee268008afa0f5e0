//! Reduces a picture to a smaller size by area: each new pixel is the mean light of what it covers.

/// Reduces interleaved RGB rows of linear light, fed one after another, to `to` columns by rows: exact area weights, whole
/// rows never kept.
pub struct Reducer {
    from: (usize, usize),
    to: (usize, usize),
    columns: Columns,
    /// Row being gathered.
    row: Vec<f32>,
    fed: usize,
    out: Vec<f32>,
}

impl Reducer {
    /// From a size to a smaller (or the same) size, both in pixels and at least 1.
    pub fn new(from: (usize, usize), to: (usize, usize)) -> Self {
        let to = (to.0.clamp(1, from.0.max(1)), to.1.clamp(1, from.1.max(1)));
        let columns = Columns::new(from.0.max(1), to.0);
        Self { from, to, columns, row: vec![0.0; 3 * to.0], fed: 0, out: Vec::with_capacity(3 * to.0 * to.1) }
    }

    /// The size that fits `from` into a square of `most` pixels, never larger than it is.
    pub fn fit(from: (usize, usize), most: usize) -> (usize, usize) {
        let k = (most as f64 / from.0.max(from.1) as f64).min(1.0);
        let side = |n: usize| ((n as f64 * k).round() as usize).max(1);
        (side(from.0), side(from.1))
    }

    /// Takes the next row, `3 * from.0` values.
    pub fn feed(&mut self, line: &[f32]) {
        let reduced = self.columns.reduced(line);
        self.feed_reduced(&reduced);
    }

    /// Takes the next row already reduced by [`Columns`].
    pub fn feed_reduced(&mut self, reduced: &[f32]) {
        let scale = self.to.1 as f64 / self.from.1 as f64;
        // The row covers [a, b) of the new rows.
        let (a, b) = (self.fed as f64 * scale, (self.fed + 1) as f64 * scale);
        self.fed += 1;
        let done = self.out.len() / (3 * self.to.0);
        let edge = (done + 1) as f64;
        let last = self.fed == self.from.1;
        let inside = (b.min(edge) - a) as f32;
        self.row.iter_mut().zip(reduced).for_each(|(r, v)| *r += v * inside);
        // Rounding must not leave the last row open.
        if b >= edge - 1e-9 || last {
            self.out.extend_from_slice(&self.row);
            let rest = (b - edge).max(0.0) as f32;
            self.row.iter_mut().zip(reduced).for_each(|(r, v)| *r = v * rest);
        }
    }

    /// The reduced picture's size and interleaved values.
    pub fn finish(self) -> ((usize, usize), Vec<f32>) {
        (self.to, self.out)
    }
}

/// How rows of so many columns become rows of fewer: the part of a [`Reducer`]'s work that rows can share out.
#[derive(Clone, Debug)]
pub struct Columns {
    spans: Vec<Span>,
    /// The weight of an old pixel that lies wholly in a new one.
    whole: f32,
}

/// The old pixels of a new one, `first` to `last`, and what the two count for.
#[derive(Clone, Copy, Debug)]
struct Span {
    first: usize,
    last: usize,
    parts: [f32; 2],
}

impl Columns {
    /// From so many columns to fewer (or as many), both at least 1.
    pub fn new(from: usize, to: usize) -> Self {
        // In units of 1 / to of an old pixel everything is whole: new pixel i covers [i from, (i + 1) from), old pixel x
        // [x to, (x + 1) to).
        let share = 1.0 / from as f32;
        let span = |i: usize| {
            let (start, end) = (i * from, (i + 1) * from);
            let (first, last) = (start / to, (end - 1) / to);
            let part = |x: usize| ((end.min((x + 1) * to) - start.max(x * to)) as f32) * share;
            Span { first, last, parts: [part(first), part(last)] }
        };
        Self { spans: (0..to).map(span).collect(), whole: to as f32 * share }
    }

    /// A row of interleaved RGB reduced.
    pub fn reduced(&self, line: &[f32]) -> Vec<f32> {
        let (pixels, _) = line.as_chunks::<3>();
        let mut out = Vec::with_capacity(3 * self.spans.len());
        for s in &self.spans {
            let covered = &pixels[s.first..=s.last];
            let mut sum = covered[0].map(|v| v * s.parts[0]);
            if let [_, inside @ .., last] = covered {
                for px in inside {
                    (0..3).for_each(|c| sum[c] += px[c] * self.whole);
                }
                (0..3).for_each(|c| sum[c] += last[c] * s.parts[1]);
            }
            out.extend(sum);
        }
        out
    }
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
