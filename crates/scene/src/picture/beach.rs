//! A beach with people far away.

use super::canvas::{Canvas, V};
use crate::noise::{Rng, fbm, smooth, value};

struct Beach {
    seed: u32,
    horizon: f32,
    /// Where the last wave runs out, below the horizon.
    edge: f32,
    people: Vec<Person>,
    sky_low: V,
    sky_high: V,
}

struct Person {
    u: f32,
    foot: f32,
    size: f32,
    shirt: V,
    legs: V,
    stride: f32,
}

impl Beach {
    fn new(seed: u32, aspect: f32) -> Self {
        let mut rng = Rng::new(u64::from(seed));
        let horizon = rng.between(0.08, 0.30) as f32;
        let shirts =
            [V(0.55, 0.10, 0.08), V(0.62, 0.60, 0.55), V(0.10, 0.20, 0.38), V(0.60, 0.42, 0.10), V(0.08, 0.08, 0.09)];
        let group = rng.between(-0.6, 0.6);
        let people = (0..rng.pick(&[3, 4, 5]))
            .map(|i| {
                let below = if i < 3 { rng.between(0.285, 0.31) } else { rng.between(0.25, 0.40) };
                let child = rng.chance(0.35);
                Person {
                    u: (group + if i < 3 { rng.between(-0.10, 0.10) } else { rng.between(-1.0, 1.0) }) as f32 * aspect,
                    foot: horizon - below as f32,
                    // Seen from a dune some 3 m over the sand: people stand about half as high as the horizon.
                    size: below as f32 * if child { 0.36 } else { 0.54 },
                    shirt: rng.pick(&shirts),
                    legs: rng.pick(&[V(0.30, 0.19, 0.13), V(0.06, 0.07, 0.11), V(0.26, 0.22, 0.16)]),
                    stride: rng.between(-0.16, 0.16) as f32,
                }
            })
            .collect();
        let dull = value(seed ^ 1, 0.5, 0.5);
        Self {
            seed,
            horizon,
            edge: 0.26,
            people,
            sky_low: V(0.74, 0.76, 0.74).mix(V(0.80, 0.72, 0.62), dull),
            sky_high: V(0.20, 0.36, 0.56).mix(V(0.36, 0.42, 0.50), dull),
        }
    }

    fn sky(&self, u: f32, h: f32) -> V {
        let up = h.max(0.0) * 0.6;
        let base = self.sky_low.mix(self.sky_high, 1.0 - (-3.2 * up).exp());
        let (x, y) = (u / (up + 0.22), 1.0 / (up + 0.22));
        let body = fbm(self.seed ^ 2, x * 0.8, y * 2.0, 6, 0.55);
        let shade = fbm(self.seed ^ 2, x * 0.8 + 0.12, y * 2.0 + 0.10, 5, 0.55);
        let lit = V(0.93, 0.91, 0.87) * (1.02 + 1.4 * (body - shade));
        base.mix(lit, smooth(0.50, 0.72, body) * 0.85)
    }

    fn shore(&self, u: f32) -> f32 {
        self.edge + 0.055 * (fbm(self.seed ^ 10, u * 1.4, 0.5, 4, 0.5) - 0.5)
    }

    fn sea(&self, u: f32, below: f32) -> V {
        let z = 0.3 / below.max(0.003);
        let x = u * z;
        let swell = fbm(self.seed ^ 11, x * 1.1, z * 5.0, 4, 0.55) - 0.5;
        let chop = fbm(self.seed ^ 12, x * 6.0, z * 16.0, 3, 0.6) - 0.5;
        let tilt = 0.5 + 1.2 * swell + 0.6 * chop;
        let shallow = smooth(0.05, self.edge, below);
        let water = V(0.045, 0.115, 0.15).mix(V(0.17, 0.26, 0.23), shallow);
        let c = water.mix(self.sky(u, 0.15 + 0.5 * tilt.abs()) * 0.9, (0.62 - 0.75 * tilt).clamp(0.08, 0.8));
        // Breakers: a few long crests that foam where the noise lets them.
        let mut foam: f32 = 0.0;
        for (k, at, thick) in [(0u32, 0.085f32, 0.010f32), (1, 0.135, 0.017), (2, 0.195, 0.030)] {
            let line = at + 0.035 * (fbm(self.seed ^ (20 + k), u * 1.8, 0.5, 4, 0.55) - 0.5);
            let d = below - line;
            let alive = smooth(0.42, 0.56, fbm(self.seed ^ (30 + k), u * 1.5, 0.5, 3, 0.5));
            let torn = fbm(self.seed ^ (40 + k), u * 16.0, below * 90.0, 4, 0.65);
            foam = foam.max(
                alive * smooth(-0.004, 0.003, d) * smooth(thick, 0.2 * thick, d) * smooth(0.30, 0.55, torn + 0.25),
            );
        }
        let lace = smooth(0.52, 0.66, fbm(self.seed ^ 50, u * 7.0, below * 34.0, 5, 0.66)) * smooth(0.16, 0.26, below);
        c.mix(V(0.90, 0.90, 0.87), foam.max(0.75 * lace))
    }

    fn sand(&self, u: f32, below: f32, cell: f32) -> V {
        let z = 0.6 / below;
        let x = u * z;
        let edge = self.shore(u);
        let wet = smooth(edge + 0.16, edge + 0.03, below + 0.05 * (fbm(self.seed ^ 60, u * 2.0, 0.5, 3, 0.5) - 0.5));
        let fine = (0.010 / (cell * z)).clamp(0.0, 1.0);
        let ripple =
            fbm(self.seed ^ 61, x * 3.0, z * 9.0, 5, 0.6) - fbm(self.seed ^ 61, x * 3.0 + 0.10, z * 9.0 + 0.16, 5, 0.6);
        let pits = fbm(self.seed ^ 62, x * 16.0, z * 22.0, 3, 0.6) - 0.5;
        let grain = fbm(self.seed ^ 63, x * 90.0, z * 110.0, 2, 0.7) - 0.5;
        let dry = V(0.52, 0.43, 0.315) * (0.92 + 1.5 * ripple * (1.0 - wet) + 0.22 * pits + 0.30 * fine * grain);
        let damp = V(0.235, 0.185, 0.135) * (0.95 + 0.12 * pits);
        let mirror = self.sky(u, 1.4 * below - 0.1) * 0.75;
        let film = smooth(edge + 0.10, edge + 0.01, below);
        let c = dry.mix(damp.mix(mirror, 0.16 + 0.44 * film), wet);
        let weed = smooth(0.70, 0.78, fbm(self.seed ^ 64, x * 5.0, z * 16.0, 4, 0.65))
            * smooth(0.03, 0.0, (below - edge - 0.2).abs() - 0.03);
        let prints = self.tracks(x, z) * (1.0 - wet);
        c.mix(V(0.07, 0.06, 0.045), weed * 0.8) * (1.0 - 0.30 * prints)
    }

    fn tracks(&self, x: f32, z: f32) -> f32 {
        let stride = 0.10;
        let i = (z / stride).floor();
        let way = 0.3 * (z * 0.8 + 4.0 * value(self.seed ^ 65, 0.5, 0.5)).sin();
        let foot = way + if i as i32 % 2 == 0 { 0.026 } else { -0.026 };
        smooth(1.2, 0.7, ((x - foot) / 0.016).hypot((z / stride - i - 0.5) / 0.26))
    }

    fn look(&self, u: f32, v: f32, cell: f32) -> V {
        let h = v - self.horizon;
        let mut c = if h > 0.0 { self.sky(u, h) } else { V::default() };
        let land = 0.075
            * smooth(0.1, 0.9, u * if value(self.seed ^ 3, 0.5, 0.5) > 0.5 { 1.0 } else { -1.0 })
            * (0.5 + fbm(self.seed ^ 4, u * 4.0, 0.5, 4, 0.55));
        if h > 0.0 {
            let hill = V(0.20, 0.25, 0.26).mix(self.sky_low, 0.45)
                * (0.9 + 0.2 * fbm(self.seed ^ 5, u * 16.0, h * 50.0, 3, 0.5));
            c = c.mix(hill, smooth(cell, -cell, h - land));
        } else {
            let below = -h;
            let edge = self.shore(u);
            let sand = self.sand(u, below.max(0.02), cell);
            let sea = self.sea(u, below);
            c = sea.mix(sand, smooth(edge - 0.004, edge + 0.004, below));
            let foam = smooth(0.012, 0.002, (below - edge + 0.004).abs())
                * smooth(0.3, 0.5, fbm(self.seed ^ 6, u * 26.0, 0.5, 3, 0.6));
            c = c.mix(V(0.88, 0.87, 0.84), foam * 0.85).mix(self.sky_low * 0.9, (-60.0 * below).exp() * 0.6);
        }
        for p in &self.people {
            c = p.over(c, u, v, cell);
        }
        c
    }
}

impl Person {
    /// Lays the person, the shadow and a faint mirror image over the sand.
    fn over(&self, c: V, u: f32, v: f32, cell: f32) -> V {
        let (x, y) = ((u - self.u) / self.size, (v - self.foot) / self.size);
        if x.abs() > 1.3 || !(-0.9..1.2).contains(&y) {
            return c;
        }
        let soft = cell / self.size;
        let mut c = c;
        // The sun stands low on the left: the shadow lies to the right and towards us.
        let (sx, sy) = (x + y * 1.5 * 0.9, -y * 2.6);
        if y < 0.02 {
            let dark = self.body(sx, sy.max(0.0), soft * 2.5).iter().fold(0.0f32, |a, (k, _)| a.max(*k));
            c = c * (1.0 - 0.45 * dark * smooth(-0.5, -0.1, y));
        }
        for (k, colour) in self.body(x, y, soft) {
            let shade = 0.55 + 0.55 * smooth(0.10, -0.10, x);
            c = c.mix(colour * shade, k);
        }
        c
    }

    fn body(&self, x: f32, y: f32, soft: f32) -> [(f32, V); 5] {
        let limb = |a: (f32, f32), b: (f32, f32), r: f32| {
            let (dx, dy) = (b.0 - a.0, b.1 - a.1);
            let t = (((x - a.0) * dx + (y - a.1) * dy) / (dx * dx + dy * dy)).clamp(0.0, 1.0);
            smooth(soft, -soft, (x - a.0 - t * dx).hypot(y - a.1 - t * dy) - r)
        };
        let s = self.stride;
        let skin = V(0.42, 0.26, 0.18);
        [
            (limb((-0.03, 0.48), (-0.03 - s, 0.02), 0.042).max(limb((0.03, 0.48), (0.03 + s, 0.02), 0.042)), self.legs),
            (limb((0.0, 0.55), (0.0, 0.78), 0.085), self.shirt),
            (
                limb((-0.09, 0.80), (-0.13 + s * 0.4, 0.50), 0.026).max(limb(
                    (0.09, 0.80),
                    (0.13 - s * 0.4, 0.50),
                    0.026,
                )),
                skin,
            ),
            (limb((0.0, 0.92), (0.0, 0.945), 0.052), skin * 0.9),
            (limb((0.0, 0.955), (0.006, 0.965), 0.050), V(0.08, 0.06, 0.045)),
        ]
    }
}

pub fn paint(seed: u32, width: usize, height: usize) -> Canvas {
    let beach = Beach::new(seed, width as f32 / height as f32);
    Canvas::traced(width, height, 800, |u, v, cell| beach.look(u, v, cell))
}
