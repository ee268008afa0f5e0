//! Mosaics with any repeat, such as six by six: the position of each colour, and a picture from it.

use rayon::prelude::*;

/// The colours under a sensor's filters, 0 red, 1 green, 2 blue, repeating from the picture area's corner.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Pattern {
    pub width: usize,
    pub height: usize,
    pub colours: Vec<u8>,
}

impl Pattern {
    /// The colour at a pixel.
    pub fn at(&self, x: usize, y: usize) -> u8 {
        self.colours[y % self.height * self.width + x % self.width]
    }

    /// The pattern as it lies from `(x, y)` on.
    pub fn shifted(&self, x: usize, y: usize) -> Self {
        let places = (0..self.height).flat_map(|j| (0..self.width).map(move |i| (i, j)));
        let colours = places.map(|(i, j)| self.at(i + x, j + y)).collect();
        Self { colours, ..*self }
    }

    /// True for two greens across from each other, a red and a blue.
    pub fn is_usual(&self) -> bool {
        let mut seen = self.colours.clone();
        seen.sort_unstable();
        (self.width, self.height) == (2, 2)
            && seen == [0, 1, 1, 2]
            && self.colours[0] != self.colours[1]
            && self.colours[0] != self.colours[2]
    }

    /// The colours of a repeat of two by two.
    pub fn two_by_two(&self) -> [[u8; 2]; 2] {
        std::array::from_fn(|y| std::array::from_fn(|x| self.at(x, y)))
    }

    /// True where it holds red, green and blue and nothing else, each near every pixel.
    pub fn is_complete(&self) -> bool {
        let whole = self.width > 0 && self.height > 0 && self.colours.len() == self.width * self.height;
        whole && self.width <= 8 && self.height <= 8 && self.colours.iter().all(|c| *c < 3) && {
            let near = |x: usize, y: usize, c: u8| !self.around(x, y, c, REACH, 1.0).is_empty();
            (0..self.height).all(|y| (0..self.width).all(|x| (0..3).all(|c| near(x, y, c))))
        }
    }

    /// Places of a colour around a pixel of a phase, at most `reach` away, and their weights: a bell of `spread` pixels.
    fn around(&self, x: usize, y: usize, colour: u8, reach: isize, spread: f32) -> Vec<(isize, isize, f32)> {
        let phase = |at: usize, by: isize, n: usize| (at as isize + by).rem_euclid(n as isize) as usize;
        let places = (-reach..=reach).flat_map(|j| (-reach..=reach).map(move |i| (i, j)));
        places
            .filter(|&(i, j)| self.at(phase(x, i, self.width), phase(y, j, self.height)) == colour)
            .map(|(i, j)| (i, j, (-((i * i + j * j) as f32) / (2.0 * spread * spread)).exp()))
            .collect()
    }
}

/// How far green is looked for, px, and its bell: a six-by-six mosaic has green beside every pixel.
const GREEN_REACH: isize = 2;
const GREEN_SPREAD: f32 = 0.7;
/// The same for the differences of red and blue from green, which change slowly; each lies within three pixels.
const REACH: isize = 3;
const SPREAD: f32 = 1.2;

/// Colours of every pixel. Green is the weighted mean of the greens near by; red and blue follow by their differences from green,
/// whose weighted means are taken the same way (normalised convolution, Knutsson and Westin 1993). Plainer than what the usual
/// mosaic gets: fine detail is softer.
pub(super) fn demosaic(light: &[f32], width: usize, height: usize, pattern: &Pattern) -> Vec<[f32; 3]> {
    let phases = |colour: u8, reach, spread| -> Vec<Vec<(isize, isize, f32)>> {
        let places = (0..pattern.height).flat_map(|y| (0..pattern.width).map(move |x| (x, y)));
        places.map(|(x, y)| pattern.around(x, y, colour, reach, spread)).collect()
    };
    let mean = |near: &[(isize, isize, f32)], x: usize, y: usize, value: &dyn Fn(usize) -> f32| {
        let (mut sum, mut weights) = (0.0, 0.0);
        for &(i, j, weight) in near {
            let (u, v) = (x.wrapping_add_signed(i), y.wrapping_add_signed(j));
            if u < width && v < height {
                sum += weight * value(v * width + u);
                weights += weight;
            }
        }
        if weights > 0.0 { sum / weights } else { 0.0 }
    };
    let phase = |x: usize, y: usize| y % pattern.height * pattern.width + x % pattern.width;
    let near = phases(1, GREEN_REACH, GREEN_SPREAD);
    let mut green = vec![0.0; light.len()];
    green.par_chunks_mut(width).enumerate().for_each(|(y, row)| {
        for (x, g) in row.iter_mut().enumerate() {
            let own = light[y * width + x];
            *g = if pattern.at(x, y) == 1 { own } else { mean(&near[phase(x, y)], x, y, &|i| light[i]) };
        }
    });
    let others = [0, 2].map(|c| phases(c, REACH, SPREAD));
    let mut out = vec![[0.0; 3]; light.len()];
    out.par_chunks_mut(width).enumerate().for_each(|(y, row)| {
        for (x, px) in row.iter_mut().enumerate() {
            let at = y * width + x;
            px[1] = green[at];
            for (near, c) in others.iter().zip([0usize, 2]) {
                let own = usize::from(pattern.at(x, y)) == c;
                let difference = |i: usize| light[i] - green[i];
                px[c] = if own { light[at] } else { green[at] + mean(&near[phase(x, y)], x, y, &difference) };
            }
        }
    });
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A mosaic of six by six with green in every row and column, twenty of thirty-six.
    fn six() -> Pattern {
        let rows = ["GBGGRG", "RGRBGB", "GBGGRG", "GRGGBG", "BGBRGR", "GRGGBG"];
        let colour = |c: u8| match c {
            b'R' => 0,
            b'G' => 1,
            _ => 2,
        };
        Pattern { width: 6, height: 6, colours: rows.concat().bytes().map(colour).collect() }
    }

    /// Truth is the scene itself; the bar is the nearest pixel of each colour, 6 dB under what is asked.
    #[test]
    fn a_six_by_six_mosaic_gives_the_scene_back() {
        let p = six();
        assert!(p.is_complete() && !p.is_usual());
        let (w, h) = (120, 90);
        let scene = |x: usize, y: usize| {
            let wave = |k: f64| 0.5 + 0.3 * (x as f64 * 0.11 * k).sin() * (y as f64 * 0.08).cos();
            [wave(1.0) as f32, (0.9 * wave(1.1)) as f32, (0.7 * wave(0.9)) as f32]
        };
        let places = || (0..h).flat_map(|y| (0..w).map(move |x| (x, y)));
        let light: Vec<f32> = places().map(|(x, y)| scene(x, y)[usize::from(p.at(x, y))]).collect();
        let got = demosaic(&light, w, h, &p);
        let nearest = |x: usize, y: usize, c: usize| {
            let all = p.around(x % 6, y % 6, c as u8, REACH, 1.0);
            let inside =
                |&&(i, j, _): &&(isize, isize, f32)| x.wrapping_add_signed(i) < w && y.wrapping_add_signed(j) < h;
            let best = all.iter().filter(inside).max_by(|a, b| a.2.total_cmp(&b.2)).unwrap();
            light[y.wrapping_add_signed(best.1) * w + x.wrapping_add_signed(best.0)]
        };
        let db = |square: f64| -10.0 * (square / (3 * w * h) as f64).log10();
        let (mut ours, mut plain) = (0.0, 0.0);
        for ((x, y), px) in places().zip(&got) {
            for c in 0..3 {
                ours += f64::from(px[c] - scene(x, y)[c]).powi(2);
                plain += f64::from(nearest(x, y, c) - scene(x, y)[c]).powi(2);
            }
        }
        println!("six by six: {:.1} dB, nearest {:.1} dB", db(ours), db(plain));
        assert!(db(ours) > db(plain) + 6.0 && db(ours) > 40.0);
        // Grey stays grey where it is even, rim included.
        let flat = demosaic(&vec![0.4; w * h], w, h, &p);
        assert!(flat.iter().flatten().all(|v| (v - 0.4).abs() < 1e-5));
    }

    #[test]
    fn patterns_are_known_for_what_they_are() {
        let two = |c: [u8; 4]| Pattern { width: 2, height: 2, colours: c.to_vec() };
        assert!(two([0, 1, 1, 2]).is_usual() && two([1, 2, 0, 1]).is_usual());
        assert!(!two([0, 0, 1, 2]).is_usual() && !two([1, 1, 0, 2]).is_usual());
        assert!(!two([3, 1, 1, 2]).is_complete() && !two([0, 1, 1, 1]).is_complete());
        assert_eq!(two([0, 1, 1, 2]).shifted(1, 0).colours, [1, 0, 2, 1]);
        assert_eq!(six().shifted(6, 12), six());
    }
}
