//! Paper white is no ink: where the mount is white nothing is printed, and a shadow ends in a way that this press can print.
//!
//! A press has a first printable dot, `d`: a tint below it is lost, so a shadow that fades smoothly in the file ends on
//! paper in a line where it crosses `d`. Here no tint of the surround is between zero and `d`. Below `d`, a tint `t` is made of whole
//! dots: cells that have either `d` or nothing, with a share `s` of cells that have `d`:
//!
//! `s(u) = 2 u² - u³`, `u = t / d`, so `s(0) = 0`, `s'(0) = 0`, `s(1) = 1`, `s'(1) = 1`
//!
//! At the first dot the mean tint continues with the same slope; at paper white its slope is zero. (Hermite cubic; the conditions
//! are the design, `docs/science/paper-white.md`.)

/// How the paper's side of a picture is made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Paper {
    /// The smallest 8-bit code that prints; 0 where the press holds every tint.
    least: u8,
    /// Side of a cell, pixels: about one dot of the screen.
    cell: usize,
}

/// What a pixel is, told by where it lies and what the mount holds there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// The print itself: nothing is done to it but the conversion.
    Print,
    /// Its shadow on the paper.
    Shadow,
    /// Bare paper.
    Bare,
}

impl Paper {
    /// For a first printable dot, a share of full ink as the picture's numbers count it.
    pub fn new(first_dot: f64, cell: usize) -> Self {
        Self { least: (first_dot * 255.0).ceil() as u8, cell: cell.max(1) }
    }

    /// The share of cells that carry the first dot for a tint of `u` first dots, both 0 to 1.
    pub fn share(u: f64) -> f64 {
        let u = u.clamp(0.0, 1.0);
        u * u * (2.0 - u)
    }

    /// The 8-bit inks (0 none, 255 full) of a pixel for its tints (65535 full).
    #[inline]
    pub fn inks<const N: usize>(&self, part: Part, tints: [u16; N], x: usize, y: usize) -> [u8; N] {
        match part {
            Part::Bare => [0; N],
            Part::Print => dithered(tints, x, y),
            Part::Shadow => self.shadow(tints, x, y),
        }
    }

    fn shadow<const N: usize>(&self, tints: [u16; N], x: usize, y: usize) -> [u8; N] {
        let first = 257 * u16::from(self.least);
        // One threshold a cell for all inks, so that the dots of a grey lie on each other.
        let cell = noise((x / self.cell) as u32 ^ 0x5EED, (y / self.cell) as u32);
        let threshold = f64::from(cell) / 4_294_967_296.0;
        let codes = dithered(tints, x, y);
        std::array::from_fn(|c| match tints[c] {
            t if t >= first => codes[c].max(self.least),
            t if threshold < Self::share(f64::from(t) / f64::from(first)) => self.least,
            _ => 0,
        })
    }
}

/// 16 bits rounded to 8 once: up or down at random, so that the mean stays. Eight bits of noise are enough to round eight bits by.
fn dithered<const N: usize>(tints: [u16; N], x: usize, y: usize) -> [u8; N] {
    let grain = noise(x as u32, y as u32);
    // In 256ths of a code: 65535 is 255 codes.
    std::array::from_fn(|c| (((u32::from(tints[c]) * 65280 + 32767) / 65535 + (grain >> (8 * c) & 255)) >> 8) as u8)
}

/// A fixed noise: the same place always has the same 32 bits. Integer hash with the constants of MurmurHash3's finaliser (public
/// domain), which mixes every bit into every other.
fn noise(x: u32, y: u32) -> u32 {
    let mut h = x.wrapping_mul(0x9E37_79B1) ^ y.wrapping_mul(0x85EB_CA77).rotate_left(13);
    h ^= h >> 16;
    h = h.wrapping_mul(0x85EB_CA6B);
    h ^= h >> 13;
    h = h.wrapping_mul(0xC2B2_AE35);
    h ^ h >> 16
}

/// What was found on the paper's side of one picture, read from its final bytes.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Certificate {
    /// Pixels of bare paper.
    pub bare: u64,
    /// Those of them with any ink: 0, or the certificate does not hold.
    pub bare_with_ink: u64,
    /// Pixels of the picture's outermost rows and columns with any ink: 0, or a box edge prints.
    pub rim_with_ink: u64,
    /// Pixels of shadow.
    pub shadow: u64,
    /// The smallest tint of the shadow that is not nothing, as a share of full ink.
    pub first_tint: Option<f64>,
    /// The largest step between neighbours where bare paper meets shadow, as a share of full ink.
    pub largest_step: f64,
    /// The most ink a pixel has, all inks together, as a share of one full ink.
    pub most_ink: f64,
    /// Share of pixels over the ink limit.
    pub over_limit: f64,
}

impl Certificate {
    /// Reads a picture: `ink(i)` the inks of pixel `i` (0 none, 255 full), `part` what it is.
    pub fn read<const N: usize>(width: usize, inks: &[[u8; N]], part: &[Part], limit: f64) -> Self {
        let mut c = Self::default();
        let height = inks.len() / width.max(1);
        let some = |p: &[u8; N]| p.iter().any(|v| *v > 0);
        // Totals are whole codes: those over the limit are those over its whole part.
        let limit = (255.0 * limit) as u32;
        let (mut first, mut step, mut most, mut over) = (u8::MAX, 0_u8, 0, 0_u64);
        for y in 0..height {
            for x in 0..width {
                let i = y * width + x;
                let (p, kind) = (&inks[i], part[i]);
                let total = p.iter().map(|v| u32::from(*v)).sum::<u32>();
                most = most.max(total);
                over += u64::from(total > limit);
                if (x == 0 || y == 0 || x + 1 == width || y + 1 == height) && some(p) {
                    c.rim_with_ink += 1;
                }
                match kind {
                    Part::Print => continue,
                    Part::Bare => {
                        c.bare += 1;
                        c.bare_with_ink += u64::from(some(p));
                    }
                    Part::Shadow => {
                        c.shadow += 1;
                        first = p.iter().copied().filter(|v| *v > 0).fold(first, u8::min);
                    }
                }
                // To the right and below, where one of the two is bare paper and neither is print.
                let right = (x + 1 < width).then_some(i + 1);
                let below = (y + 1 < height).then_some(i + width);
                for j in [right, below].into_iter().flatten().filter(|j| part[*j] != Part::Print) {
                    if kind != Part::Shadow || part[j] != Part::Shadow {
                        step = p.iter().zip(&inks[j]).map(|(a, b)| a.abs_diff(*b)).fold(step, u8::max);
                    }
                }
            }
        }
        c.first_tint = (first < u8::MAX).then(|| f64::from(first) / 255.0);
        c.largest_step = f64::from(step) / 255.0;
        c.most_ink = f64::from(most) / 255.0;
        c.over_limit = over as f64 / (inks.len().max(1)) as f64;
        c
    }

    /// True where no bare paper and no rim has ink.
    pub fn holds(&self) -> bool {
        self.bare_with_ink == 0 && self.rim_with_ink == 0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_share_meets_the_first_dot_and_paper_with_their_slopes() {
        let slope = |u: f64| (Paper::share(u + 1e-6) - Paper::share(u - 1e-6)) / 2e-6;
        assert_eq!((Paper::share(0.0), Paper::share(1.0)), (0.0, 1.0));
        assert!((slope(1.0 - 2e-6) - 1.0).abs() < 1e-4 && slope(2e-6).abs() < 1e-4);
        for i in 1..100_u8 {
            assert!(Paper::share(f64::from(i) / 100.0) > Paper::share(f64::from(i - 1) / 100.0));
        }
    }

    #[test]
    fn no_tint_of_the_shadow_lies_below_the_first_dot_and_means_stay() {
        let paper = Paper::new(0.03, 2);
        let least = (0.03_f32 * 255.0).ceil() / 255.0;
        for tint in [0.002_f32, 0.008, 0.016, 0.024, 0.031, 0.05, 0.3] {
            let code = (tint * 65535.0).round() as u16;
            let codes: Vec<[u8; 4]> =
                (0..400_usize * 400).map(|i| paper.inks(Part::Shadow, [code; 4], i % 400, i / 400)).collect();
            assert!(codes.iter().flatten().all(|c| *c == 0 || *c >= 8), "{tint}");
            for c in 0..4 {
                let mean = codes.iter().map(|p| f64::from(p[c])).sum::<f64>() / codes.len() as f64 / 255.0;
                let wanted =
                    if tint < least { f64::from(least) * Paper::share(f64::from(tint / least)) } else { tint.into() };
                assert!((mean - wanted).abs() < 0.0006, "{tint}: {mean}, wanted {wanted}");
            }
            // Dots of a grey lie on each other.
            assert!(tint >= least || codes.iter().all(|p| p.iter().all(|v| *v == p[0])));
        }
    }

    #[test]
    fn bare_paper_has_no_ink_whatever_the_conversion_says() {
        let paper = Paper::new(0.0, 1);
        assert!((0..1000).all(|x| paper.inks(Part::Bare, [1311; 3], x, 3) == [0; 3]));
        // A print's own pixels are dithered and keep their mean, its own white and black included.
        let codes = (0..40_000_usize).map(|i| paper.inks(Part::Print, [32964, 0, 65535], i % 200, i / 200));
        let mut sum = 0.0;
        for [v, white, black] in codes {
            sum += f64::from(v);
            assert_eq!((white, black), (0, 255));
        }
        assert!((sum / 4e4 - 0.503 * 255.0).abs() < 0.02, "{}", sum / 4e4);
        // Where every tint is held, the shadow's are only dithered.
        assert!((0..1000).all(|x| paper.inks(Part::Shadow, [128; 1], x, 9)[0] <= 1));
    }

    #[test]
    fn a_certificate_finds_every_planted_fault() {
        use Part::{Bare, Print, Shadow};
        let mut inks = vec![[0_u8; 4]; 25];
        let mut part = vec![Bare; 25];
        part[12] = Print;
        inks[12] = [255, 255, 255, 60];
        part[13] = Shadow;
        inks[13] = [8, 9, 0, 0];
        let good = Certificate::read(5, &inks, &part, 3.0);
        assert!(good.holds());
        assert_eq!((good.bare, good.shadow, good.first_tint), (23, 1, Some(8.0 / 255.0)));
        assert!((good.largest_step - 9.0 / 255.0).abs() < 1e-12 && (good.over_limit - 0.04).abs() < 1e-12);
        assert!((good.most_ink - 825.0 / 255.0).abs() < 1e-12);
        inks[7] = [0, 0, 0, 1];
        assert_eq!(Certificate::read(5, &inks, &part, 3.0).bare_with_ink, 1);
        inks[7] = [0; 4];
        inks[4] = [1, 0, 0, 0];
        assert!(!Certificate::read(5, &inks, &part, 3.0).holds());
    }
}
