//! Small ugly frames, drawn from a seed: what no photographer would send and some do.

/// A source of numbers from a seed (Marsaglia's xorshift with Vigna's multiplier, constants as published in 2014).
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        // A state of zero would stay zero.
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 11
    }
    /// Below one.
    pub fn share(&mut self) -> f32 {
        self.next() as f32 / (1u64 << 53) as f32
    }
    /// From `low` up to and without `high`.
    pub fn between(&mut self, low: f32, high: f32) -> f32 {
        low + (high - low) * self.share()
    }
    /// Below `n`.
    pub fn below(&mut self, n: usize) -> usize {
        (self.next() % n.max(1) as u64) as usize
    }
    fn colour(&mut self) -> [f32; 3] {
        [0; 3].map(|_| self.between(0.0, 255.0))
    }
}

/// A picture in code values, 0 to 255.
#[derive(Clone, Debug)]
pub struct Drawn {
    pub width: usize,
    pub height: usize,
    pub data: Vec<[f32; 3]>,
}

/// What a frame is of. Each is one way in which a picture can be hard.
pub const KINDS: [&str; 12] = [
    "one colour",
    "noise",
    "texture",
    "gradient",
    "grid",
    "slanted squares",
    "prints",
    "hands",
    "text",
    "clipped",
    "black",
    "stripes",
];

/// A frame of a kind and a size.
pub fn draw(kind: usize, width: usize, height: usize, seed: u64) -> Drawn {
    let mut dice = Dice::new(seed ^ ((kind as u64) << 48));
    let paper = dice.between(150.0, 255.0);
    let mut d = Drawn { width, height, data: vec![[paper; 3]; width * height] };
    match KINDS[kind % KINDS.len()] {
        "one colour" => d.data.fill(dice.colour()),
        "noise" => d.grain(&mut dice, 128.0),
        "texture" => {
            let strength = dice.between(2.0, 60.0);
            d.grain(&mut dice, strength);
            d.soften();
            let sharp = dice.between(0.5, 6.0);
            d.sharpen(sharp);
        }
        "gradient" => {
            let (a, b) = (dice.colour(), dice.colour());
            let (x, y) = (dice.between(-1.0, 1.0), dice.between(-1.0, 1.0));
            d.each(|u, v, p| {
                let t = 0.5 + 0.5 * (x * (u - 0.5) + y * (v - 0.5));
                (0..3).for_each(|c| p[c] = a[c] * (1.0 - t) + b[c] * t);
            });
        }
        "grid" => {
            let (columns, rows) = (1 + dice.below(16), 1 + dice.below(12));
            let gap = dice.between(0.0, 0.5);
            let colours: Vec<[f32; 3]> = (0..columns * rows).map(|_| dice.colour()).collect();
            let turn = dice.between(-0.8, 0.8);
            let (sin, cos) = turn.sin_cos();
            d.each(|u, v, p| {
                let (x, y) = ((u - 0.5) * 1.4, (v - 0.5) * 1.4);
                let (x, y) = ((x * cos - y * sin + 0.5) * columns as f32, (x * sin + y * cos + 0.5) * rows as f32);
                let inside = x >= 0.0 && y >= 0.0 && (x as usize) < columns && (y as usize) < rows;
                if inside && x.fract() > gap && y.fract() > gap {
                    *p = colours[y as usize * columns + x as usize];
                }
            });
        }
        "slanted squares" => {
            // The ruler's own kind of mark at its own slant, with middles that are no code of a sheet.
            let side = dice.between(14.0, 60.0);
            let pitch = side * dice.between(1.3, 2.0);
            let slant = dice.between(0.0, 0.2);
            let (sin, cos) = slant.sin_cos();
            let holes = dice.below(1000) as u64;
            let (w, h) = (width as f32, height as f32);
            d.each(|u, v, p| {
                let (x, y) = (u * w, v * h);
                let (i, j) = ((x / pitch).floor(), (y / pitch).floor());
                let (x, y) = (x - (i + 0.5) * pitch, y - (j + 0.5) * pitch);
                let (x, y) = ((x * cos - y * sin) / side * 2.0, (x * sin + y * cos) / side * 2.0);
                let hole = ((x * 2.2 + 1.5) as u64 + 3 * (y * 2.2 + 1.5) as u64 + i as u64 * 7 + j as u64 * 11) ^ holes;
                let middle = x.abs() < 0.65 && y.abs() < 0.65 && hole.is_multiple_of(2);
                if x.abs() < 1.0 && y.abs() < 1.0 && !middle {
                    *p = [12.0; 3];
                }
            });
            let grain = dice.between(0.0, 6.0);
            d.grain(&mut dice, grain);
        }
        "prints" => (0..1 + dice.below(10)).for_each(|_| d.print(&mut dice)),
        "hands" => {
            d.print(&mut dice);
            let skin = [dice.between(120.0, 230.0), dice.between(80.0, 170.0), dice.between(60.0, 150.0)];
            (0..1 + dice.below(9)).for_each(|_| d.blob(&mut dice, skin));
        }
        "text" => {
            let line = dice.between(3.0, 30.0);
            let (w, h) = (width as f32, height as f32);
            let salt = dice.next();
            d.each(|u, v, p| {
                let (x, y) = (u * w / line, v * h / line);
                let glyph = ((x * 1.7) as u64).wrapping_mul(31) ^ ((y as u64) << 20) ^ salt;
                if y.fract() < 0.6 && (glyph.wrapping_mul(0x9E37_79B9_7F4A_7C15) >> 60) > 5 {
                    *p = [20.0; 3];
                }
            });
        }
        "clipped" => {
            d.data.fill([255.0; 3]);
            d.print(&mut dice);
            d.grain(&mut dice, 1.0);
        }
        "black" => {
            d.data.fill([0.0; 3]);
            let n = dice.below(4);
            (0..n).for_each(|_| d.blob(&mut dice, [40.0, 2.0, 0.0]));
        }
        _ => {
            let (n, across) = (dice.between(1.0, 200.0), dice.share() > 0.5);
            d.each(|u, v, p| {
                if ((if across { u } else { v }) * n).fract() < 0.5 {
                    *p = [30.0, 60.0, 90.0];
                }
            });
        }
    }
    if dice.below(3) == 0 {
        let (grain, sharp) = (dice.between(0.0, 12.0), dice.between(0.0, 3.0));
        d.grain(&mut dice, grain);
        d.soften();
        d.sharpen(sharp);
    }
    d
}

impl Drawn {
    fn each(&mut self, mut f: impl FnMut(f32, f32, &mut [f32; 3])) {
        let (w, h) = (self.width as f32, self.height as f32);
        for (k, p) in self.data.iter_mut().enumerate() {
            f((k % self.width) as f32 / w, (k / self.width) as f32 / h, p);
        }
    }

    fn grain(&mut self, dice: &mut Dice, strength: f32) {
        self.data.iter_mut().for_each(|p| {
            let v = dice.between(-strength, strength);
            p.iter_mut().for_each(|c| *c += v);
        });
    }

    /// Each pixel becomes the mean of three by three.
    fn soften(&mut self) {
        let was = self.data.clone();
        let (w, h) = (self.width, self.height);
        for (k, p) in self.data.iter_mut().enumerate() {
            let (x, y) = (k % w, k / w);
            let (xs, ys) = (x.saturating_sub(1)..(x + 2).min(w), y.saturating_sub(1)..(y + 2).min(h));
            let n = (xs.len() * ys.len()) as f32;
            *p = [0, 1, 2].map(|c| {
                ys.clone().flat_map(|j| xs.clone().map(move |i| j * w + i)).map(|i| was[i][c]).sum::<f32>() / n
            });
        }
    }

    /// An unsharp mask of this amount over the mean of three by three.
    fn sharpen(&mut self, amount: f32) {
        let was = self.data.clone();
        self.soften();
        self.data.iter_mut().zip(&was).for_each(|(p, w)| (0..3).for_each(|c| p[c] = w[c] + amount * (w[c] - p[c])));
    }

    /// A print of any size anywhere, its window full of colours.
    fn print(&mut self, dice: &mut Dice) {
        let (w, h) = (self.width as f32, self.height as f32);
        let size = dice.between(0.1, 1.1) * w.min(h);
        let (cx, cy, turn) = (dice.share() * w, dice.share() * h, dice.between(-3.2, 3.2));
        let (sin, cos) = turn.sin_cos();
        let (border, a, b) = (dice.between(150.0, 255.0), dice.colour(), dice.colour());
        // A square integral print: 88 by 107 mm with a window of 79 mm, 4.5 mm in from three sides.
        let (half, foot) = (size / 2.0, 107.0 / 88.0);
        for (k, p) in self.data.iter_mut().enumerate() {
            let (x, y) = ((k % self.width) as f32 - cx, (k / self.width) as f32 - cy);
            let (x, y) = ((x * cos - y * sin) / half, (x * sin + y * cos) / half);
            if x.abs() < 1.0 && y > -foot && y < foot {
                let inside = x.abs() < 79.0 / 88.0 && y > -foot + 0.1 && y < -foot + 0.1 + 2.0 * 79.0 / 88.0;
                *p = if inside { if (x * 3.0).sin() * (y * 4.0).cos() > 0.0 { a } else { b } } else { [border; 3] };
            } else if (-1.0..1.1).contains(&x) && y > -foot && y < foot + 0.06 {
                p.iter_mut().for_each(|c| *c *= 0.7);
            }
        }
    }

    /// An ellipse, as of a finger.
    fn blob(&mut self, dice: &mut Dice, colour: [f32; 3]) {
        let (cx, cy, turn) = (dice.share(), dice.share(), dice.between(0.0, 3.2));
        let (a, b) = (dice.between(0.05, 0.6), dice.between(0.02, 0.15));
        let (sin, cos) = turn.sin_cos();
        self.each(|u, v, p| {
            let (x, y) = (u - cx, v - cy);
            let (x, y) = ((x * cos - y * sin) / a, (x * sin + y * cos) / b);
            if x * x + y * y < 1.0 {
                *p = colour;
            }
        });
    }

    /// The code values as 8-bit samples.
    pub fn rows(&self, rows: std::ops::Range<usize>) -> Vec<u8> {
        let part = &self.data[rows.start * self.width..rows.end * self.width];
        part.iter().flatten().map(|v| v.round().clamp(0.0, 255.0) as u8).collect()
    }
}
