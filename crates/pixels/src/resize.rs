//! Reduces a picture to a smaller size by area: each new pixel is the mean light of what it covers.

/// Reduces interleaved RGB rows of linear light, fed one after another, to `to` columns by rows: exact area weights, whole
/// pictures never kept.
pub struct Reducer {
    lines: Lines,
    columns: Columns,
    to: (usize, usize),
    out: Vec<f32>,
}

impl Reducer {
    /// From a size to a smaller (or the same) size, both in pixels and at least 1.
    pub fn new(from: (usize, usize), to: (usize, usize)) -> Self {
        let from = (from.0.max(1), from.1.max(1));
        let to = (to.0.clamp(1, from.0), to.1.clamp(1, from.1));
        let (lines, columns) = (Lines::new(from.1, to.1, 3 * from.0), Columns::new(from.0, to.0));
        Self { lines, columns, to, out: Vec::with_capacity(3 * to.0 * to.1) }
    }

    /// The size that fits `from` into a square of `most` pixels, never larger than it is.
    pub fn fit(from: (usize, usize), most: usize) -> (usize, usize) {
        let k = (most as f64 / from.0.max(from.1) as f64).min(1.0);
        let side = |n: usize| ((n as f64 * k).round() as usize).max(1);
        (side(from.0), side(from.1))
    }

    /// Takes the next row, `3 * from.0` values, each of which `light` makes light of.
    pub fn feed<T: Copy>(&mut self, line: &[T], light: impl Fn(T) -> f32) {
        // Lines are summed before columns are: fewer sums, and over neighbours in memory.
        let Self { lines, columns, out, .. } = self;
        lines.feed(line, light, |sum| columns.reduce(sum, out));
    }

    /// The reduced picture's size and interleaved values.
    pub fn finish(self) -> ((usize, usize), Vec<f32>) {
        (self.to, self.out)
    }
}

/// How so many lines become fewer, fed one after another: the part of a [`Reducer`]'s work that goes in order.
#[derive(Clone, Debug)]
pub struct Lines {
    from: usize,
    to: usize,
    fed: usize,
    done: usize,
    sum: Vec<f32>,
}

impl Lines {
    /// From so many lines of `length` values to fewer (or as many), both at least 1.
    pub fn new(from: usize, to: usize, length: usize) -> Self {
        Self { from, to, fed: 0, done: 0, sum: vec![0.0; length] }
    }

    /// Takes the next line, and gives a new one where it is complete.
    pub fn feed<T: Copy>(&mut self, line: &[T], light: impl Fn(T) -> f32, give: impl FnOnce(&[f32])) {
        // In units of 1 / to of an old line everything is whole: new line i covers [i from, (i + 1) from), old line y
        // [y to, (y + 1) to).
        let (start, end, edge) = (self.fed * self.to, (self.fed + 1) * self.to, (self.done + 1) * self.from);
        let share = 1.0 / self.from as f32;
        let inside = (end.min(edge) - start) as f32 * share;
        self.sum.iter_mut().zip(line).for_each(|(s, v)| *s += light(*v) * inside);
        self.fed += 1;
        if end >= edge {
            give(&self.sum);
            self.done += 1;
            let rest = (end - edge) as f32 * share;
            self.sum.iter_mut().zip(line).for_each(|(s, v)| *s = light(*v) * rest);
        }
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
        // As in lines: new pixel i covers [i from, (i + 1) from), old pixel x [x to, (x + 1) to).
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
        let mut out = Vec::with_capacity(3 * self.spans.len());
        self.reduce(line, &mut out);
        out
    }

    /// The same, behind what `out` holds.
    fn reduce(&self, line: &[f32], out: &mut Vec<f32>) {
        let (pixels, _) = line.as_chunks::<3>();
        for s in &self.spans {
            let covered = &pixels[s.first..=s.last];
            let mut sum = covered[0].map(|v| v * s.parts[0]);
            if let [_, inside @ .., last] = covered {
                let mut all = [0.0; 3];
                inside.iter().for_each(|px| (0..3).for_each(|c| all[c] += px[c]));
                (0..3).for_each(|c| sum[c] += all[c] * self.whole + last[c] * s.parts[1]);
            }
            out.extend(sum);
        }
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
            r.feed(&(0..w).flat_map(|x| [value(x, y); 3]).collect::<Vec<_>>(), |v| v);
        }
        let ((tw, th), out) = r.finish();
        assert_eq!((tw, th, out.len()), (3, 2, 18));
        let mean = out.iter().step_by(3).sum::<f32>() / 6.0;
        let whole = (0..h).flat_map(|y| (0..w).map(move |x| (x, y))).map(|(x, y)| value(x, y)).sum::<f32>() / 35.0;
        assert!((mean - whole).abs() < 1e-4, "{mean} {whole}");
        assert_eq!(Reducer::fit((6000, 4000), 1200), (1200, 800));
    }
}
