//! Seeded randomness: hashes, uniform and normal numbers, value noise and its sums.

/// A 64-bit mix: every input bit reaches every output bit (finaliser of SplitMix64, Steele, Lea and Flood 2014, doi
/// 10.1145/2660193.2660195).
pub const fn mix(mut z: u64) -> u64 {
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

/// Random numbers in a row.
#[derive(Clone, Debug)]
pub struct Rng(u64);

impl Rng {
    /// The same seed gives the same row.
    pub fn new(seed: u64) -> Self {
        Self(mix(seed.wrapping_add(0x9e37_79b9_7f4a_7c15)))
    }
    /// The next 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        mix(self.0)
    }
    /// Uniform in 0 to 1.
    pub fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }
    /// Uniform between two values.
    pub fn between(&mut self, a: f64, b: f64) -> f64 {
        a + (b - a) * self.unit()
    }
    /// True with probability `p`.
    pub fn chance(&mut self, p: f64) -> bool {
        self.unit() < p
    }
    /// One of a slice; panics on an empty one.
    pub fn pick<T: Copy>(&mut self, of: &[T]) -> T {
        of[(self.bits() % of.len() as u64) as usize]
    }
    /// Standard normal, by Irwin and Hall's sum of twelve.
    pub fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.unit()).sum::<f64>() - 6.0
    }
}

/// A standard normal number for a counter: four 16-bit uniforms summed (Irwin-Hall, cut at 3.46 standard deviations; fast
/// enough for every pixel of a frame).
pub fn normal_at(counter: u64) -> f32 {
    let h = mix(counter.wrapping_mul(0x9e37_79b9_7f4a_7c15).wrapping_add(0x632b_e59b_d9b4_e019));
    let sum = (h & 0xffff) + (h >> 16 & 0xffff) + (h >> 32 & 0xffff) + (h >> 48);
    // Each uniform has variance 65536^2 / 12; four have 65536^2 / 3.
    (sum as f32 - 131_070.0) * (1.732_050_8 / 65_536.0)
}

/// Side of the table of lattice values: noise repeats after so many cells, and the table stays in cache.
const SIDE: usize = 128;

/// Uniform numbers 0 to 1, made by the compiler.
static TABLE: [f32; SIDE * SIDE] = {
    let mut table = [0.0; SIDE * SIDE];
    let mut i = 0;
    while i < SIDE * SIDE {
        table[i] = (mix(i as u64 + 0x51ce) >> 40) as f32 / 16_777_216.0;
        i += 1;
    }
    table
};

/// Four neighbouring lattice values; every seed looks at the table from another place.
#[inline(always)]
fn corners(seed: u32, i: i32, j: i32) -> [f32; 4] {
    let s = seed.wrapping_mul(0x9e37_79b1) as usize;
    let (x, y) = ((i as usize).wrapping_add(s >> 25), (j as usize).wrapping_add(s >> 18));
    let at = |x: usize, y: usize| TABLE[(y % SIDE) * SIDE + x % SIDE];
    let (x1, y1) = (x.wrapping_add(1), y.wrapping_add(1));
    [at(x, y), at(x1, y), at(x, y1), at(x1, y1)]
}

/// Smooth value noise, 0 to 1, one cell per unit.
#[inline(always)]
pub fn value(seed: u32, x: f32, y: f32) -> f32 {
    let (i, j) = (floor(x), floor(y));
    let (u, v) = (fade(x - i as f32), fade(y - j as f32));
    let [a, b, c, d] = corners(seed, i, j);
    let (top, low) = (a + (b - a) * u, c + (d - c) * u);
    top + (low - top) * v
}

/// A uniform number 0 to 1 for each cell of a grid.
pub fn cell(seed: u32, x: f32, y: f32) -> f32 {
    corners(seed, floor(x), floor(y))[0]
}

/// The whole number at or below, without a call to the mathematics library: noise asks for it a billion times.
#[inline(always)]
pub(crate) fn floor(x: f32) -> i32 {
    let i = x as i32;
    i - i32::from(x < i as f32)
}

/// Sums of value noise, each octave twice as fine and `gain` times as strong, scaled to 0 to 1.
pub fn fbm(seed: u32, mut x: f32, mut y: f32, octaves: u32, gain: f32) -> f32 {
    let (mut sum, mut weight, mut total) = (0.0, 1.0, 0.0);
    for o in 0..octaves {
        sum += weight * value(seed.wrapping_add(o.wrapping_mul(0x9e37_79b9)), x, y);
        total += weight;
        weight *= gain;
        // Turn as well as shrink, so that the grid of one octave does not show through the next.
        (x, y) = (1.6 * x - 1.2 * y + 17.3, 1.2 * x + 1.6 * y - 9.1);
    }
    sum / total
}

/// Ridged sums: creases where the noise crosses its middle, 0 to 1.
pub fn ridged(seed: u32, mut x: f32, mut y: f32, octaves: u32, gain: f32) -> f32 {
    let (mut sum, mut weight, mut total) = (0.0, 1.0, 0.0);
    for o in 0..octaves {
        let v = 1.0 - (2.0 * value(seed.wrapping_add(o.wrapping_mul(0x85eb_ca6b)), x, y) - 1.0).abs();
        sum += weight * v * v;
        total += weight;
        weight *= gain;
        (x, y) = (1.6 * x - 1.2 * y + 3.7, 1.2 * x + 1.6 * y + 11.9);
    }
    sum / total
}

/// `3t^2 - 2t^3`.
#[inline(always)]
pub fn fade(t: f32) -> f32 {
    t * t * (3.0 - 2.0 * t)
}

/// 0 below `a`, 1 above `b`, smooth between; `a` may be above `b`.
pub fn smooth(a: f32, b: f32, v: f32) -> f32 {
    fade(((v - a) / (b - a)).clamp(0.0, 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn noise_has_no_steps_at_its_lattice() {
        for seed in 0..40 {
            for k in 0..30 {
                let (x, y) = (k as f32 - 7.0, 0.37 + k as f32 * 0.5);
                let e = 1e-4;
                assert!((value(seed, x - e, y) - value(seed, x + e, y)).abs() < 1e-3, "seed {seed}");
                assert!((value(seed, y, x - e) - value(seed, y, x + e)).abs() < 1e-3, "seed {seed}");
            }
        }
    }

    #[test]
    fn normal_numbers_have_their_moments() {
        let n = 200_000;
        let v: Vec<f64> = (0..n).map(|i| normal_at(i as u64) as f64).collect();
        let mean = v.iter().sum::<f64>() / n as f64;
        let var = v.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / n as f64;
        assert!(mean.abs() < 0.01 && (var - 1.0).abs() < 0.01, "{mean} {var}");
        let pairs = v.windows(2).map(|p| p[0] * p[1]).sum::<f64>() / n as f64;
        assert!(pairs.abs() < 0.01, "neighbours are independent: {pairs}");
    }

    #[test]
    fn noise_stays_between_nought_and_one_and_repeats() {
        for i in 0..1000 {
            let (x, y) = (i as f32 * 0.37 - 90.0, i as f32 * 0.11);
            for v in [value(3, x, y), fbm(3, x, y, 5, 0.5), ridged(3, x, y, 4, 0.5), cell(3, x, y)] {
                assert!((0.0..=1.0).contains(&v));
            }
            assert_eq!(fbm(3, x, y, 5, 0.5), fbm(3, x, y, 5, 0.5));
        }
        assert_ne!(Rng::new(1).bits(), Rng::new(2).bits());
    }
}
