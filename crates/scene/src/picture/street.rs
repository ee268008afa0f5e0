//! A street at dusk with its lamps, wet from rain.

use super::canvas::{Canvas, V};
use crate::noise::{cell as dice, fbm, smooth, value};

const WALL: f32 = 5.4;
const KERB: f32 = 3.7;
const EYE: V = V(0.6, 1.55, 0.0);
const LAMP: V = V(2.6, 1.62, 0.72);

struct Street {
    seed: u32,
    low: V,
    high: V,
    lamps: Vec<V>,
}

impl Street {
    fn new(seed: u32) -> Self {
        let warm = value(seed ^ 1, 0.5, 0.5);
        let lamps = (0..9).map(|i| V(if i % 2 == 0 { -4.1 } else { 4.1 }, 4.4, 7.0 + 8.5 * i as f32)).collect();
        Self {
            seed,
            low: V(0.78, 0.42, 0.26).mix(V(0.56, 0.40, 0.44), warm),
            high: V(0.055, 0.095, 0.20).mix(V(0.075, 0.085, 0.16), warm),
            lamps,
        }
    }

    fn sky(&self, d: V) -> V {
        let up = d.1.max(0.0);
        let clouds = smooth(0.5, 0.75, fbm(self.seed ^ 2, d.0 * 2.2 / (up + 0.3), 1.4 / (up + 0.2), 5, 0.55));
        let base = self.low.mix(self.high, 1.0 - (-5.0 * up).exp());
        base.mix(self.low * 0.5 + V(0.05, 0.05, 0.08), clouds * 0.5 * (-2.0 * up).exp())
    }

    /// A lamp's light on a point.
    fn pools(&self, p: V, n: V) -> V {
        self.lamps.iter().fold(V::default(), |sum, &l| {
            let d = l - p;
            let r2 = d.dot(d);
            sum + LAMP * (2.2 * (n.dot(d) / r2.sqrt() + 0.15).max(0.0) / (r2 + 0.6))
        })
    }

    fn house(&self, side: f32, z: f32) -> (f32, f32, f32) {
        let length = 8.5;
        let i = (z / length + if side > 0.0 { 0.4 } else { 0.0 }).floor();
        let k = self.seed ^ if side > 0.0 { 11 } else { 12 };
        (i, 6.8 + 6.5 * dice(k, i, 1.0), z / length + if side > 0.0 { 0.4 } else { 0.0 } - i)
    }

    fn facade(&self, side: f32, p: V) -> V {
        let (i, tall, along) = self.house(side, p.2);
        let k = self.seed ^ if side > 0.0 { 21 } else { 22 };
        let hue = dice(k, i, 2.0);
        let wall = V(0.30, 0.17, 0.12)
            .mix(V(0.36, 0.33, 0.28), smooth(0.3, 0.6, hue))
            .mix(V(0.20, 0.23, 0.26), smooth(0.8, 0.9, hue));
        let grime = fbm(k ^ 3, p.2 * 1.3, p.1 * 0.7, 5, 0.6);
        let courses = 0.9 + 0.1 * smooth(0.1, 0.25, (p.1 * 9.0).fract());
        let n = V(-side, 0.0, 0.0);
        let light = self.pools(p, n) + self.high * 1.1 + self.low * (0.10 + 0.1 * smooth(3.0, 9.0, p.1));
        let mut c = (wall * ((0.55 + 0.8 * grime) * courses)).by(light);
        let storey = 2.9;
        let (wz, wy) = (p.2 / 2.15, (p.1 - 0.4) / storey);
        let (fz, fy) = (wz.fract(), wy.fract());
        let (iz, iy) = (wz.floor(), wy.floor());
        let shop = iy < 1.0;
        let (half, low, top) = if shop { (0.43, 0.10, 0.80) } else { (0.24, 0.24, 0.80) };
        let pane = smooth(0.012, -0.012, (fz - 0.5).abs() - half)
            * smooth(-0.012, 0.012, fy - low)
            * smooth(0.012, -0.012, fy - top);
        if pane > 0.0 && p.1 < tall - 0.7 && p.1 > 0.0 {
            let bars =
                if shop { 1.0 } else { smooth(0.012, 0.03, (fz - 0.5).abs()) * smooth(0.01, 0.025, (fy - 0.58).abs()) };
            let on = dice(k ^ 5, iz, iy) < if shop { 0.6 } else { 0.26 };
            let tint = dice(k ^ 6, iz, iy);
            let glass = if on {
                let warm = V(1.9, 1.18, 0.50).mix(V(1.5, 1.35, 1.0), smooth(0.7, 0.9, tint));
                let inside = 0.45 + 0.75 * fbm(k ^ 7, p.2 * 3.1, p.1 * 3.4, 3, 0.6);
                let curtain = 0.35 + 0.65 * smooth(0.5, 0.95, (fz - 0.5).abs() / half * (0.6 + 0.8 * tint));
                warm * (inside * if shop { 0.95 } else { 0.35 + 0.65 * (1.0 - curtain) })
            } else {
                self.sky(V(side * 0.3, 0.5, 0.6).unit()) * (0.25 + 0.2 * tint)
            };
            c = c.mix(glass * (0.25 + 0.75 * bars), pane);
        }
        let sill =
            smooth(0.02, 0.0, (fy - low + 0.02).abs() - 0.012) * smooth(0.02, 0.0, (fz - 0.5).abs() - half - 0.05);
        c = c.mix(V(0.38, 0.36, 0.33).by(light), sill * 0.6);
        let cornice = smooth(0.5, 0.35, tall - p.1) + 0.7 * smooth(0.05, 0.0, (p.1 - 3.35).abs() - 0.08);
        c = c.mix(wall.by(light) * 1.5, cornice.min(1.0) * 0.6);
        let join = smooth(0.010, 0.004, along.min(1.0 - along));
        c * (1.0 - 0.6 * join)
    }

    /// What a ray meets, with its distance; the road is answered by the caller.
    fn meet(&self, from: V, d: V) -> (V, f32) {
        let side = d.0.signum();
        let t = (side * WALL - from.0) / if d.0.abs() < 1e-5 { 1e-5 * side } else { d.0 };
        let p = from + d * t;
        let far = 95.0;
        if t > 0.0 && p.2 < far && p.1 < self.house(side, p.2).1 {
            let fog = 1.0 - (-0.011 * t).exp();
            return (self.facade(side, p).mix(self.low * 0.55, fog), t);
        }
        // The street's end: a dark row of roofs against the glow.
        let end = from.1 + d.1 / d.2.max(1e-3) * far;
        let roofs = 5.5 + 4.5 * fbm(self.seed ^ 30, d.0 / d.2.max(1e-3) * 30.0, 0.5, 3, 0.5);
        let roof = smooth(0.3, -0.3, end - roofs);
        (self.sky(d).mix(self.low * 0.33, roof), far)
    }

    /// Halos of lamps and of the lights of cars far away.
    fn glow(&self, from: V, d: V, stretch: f32) -> V {
        let mut sum = V::default();
        let spot = |at: V, size: f32, colour: V| {
            let to = at - from;
            let far = to.norm();
            let e = to * (1.0 / far) - d;
            let a = (e.0 * e.0 + e.2 * e.2 + e.1 * e.1 * stretch) * far * far / (size * size);
            colour * (1.0 / (1.0 + a * a)) + colour * (0.012 / (0.02 + a * 0.05))
        };
        for &l in &self.lamps {
            sum = sum + spot(l, 0.17, LAMP * 2.2) * (0.4 + 0.6 / (1.0 + 0.02 * l.2));
        }
        for (i, z) in [(0u32, 34.0f32), (1, 52.0), (2, 71.0)] {
            let x = if i % 2 == 0 { 1.5 } else { -1.7 };
            let tail = if x > 0.0 { V(2.2, 0.18, 0.08) } else { V(2.4, 2.2, 1.7) };
            for w in [-0.62, 0.62] {
                sum = sum + spot(V(x + w, 0.75, z), 0.10, tail);
            }
        }
        sum
    }

    fn road(&self, p: V, d: V, t: f32) -> V {
        let inside = p.0.abs() < KERB;
        let grit = fbm(self.seed ^ 40, p.0 * 14.0, p.2 * 14.0, 3, 0.6);
        let puddle = smooth(0.46, 0.60, fbm(self.seed ^ 41, p.0 * 0.55, p.2 * 0.32, 4, 0.5));
        let slab =
            if inside { 1.0 } else { 0.75 + 0.25 * smooth(0.02, 0.05, (p.2 * 0.8).fract().min((p.0 * 1.3).fract())) };
        let base = if inside { V(0.045, 0.046, 0.050) } else { V(0.13, 0.125, 0.12) } * ((0.6 + 0.8 * grit) * slab);
        let n_rough = 0.025 * (1.0 - 0.8 * puddle);
        let bump = |k: u32| fbm(self.seed ^ k, p.0 * 9.0, p.2 * 5.0, 3, 0.6) - 0.5;
        let n = V(n_rough * bump(42), 1.0, 2.2 * n_rough * bump(43)).unit();
        let r = d.mirrored(n);
        let r = V(r.0, r.1.abs().max(0.01), r.2).unit();
        let fresnel = 0.03 + 0.9 * (1.0 - (-d.1).clamp(0.0, 1.0)).powi(4);
        let mirror = self.meet(p, r).0 + self.glow(p, r, 0.10 + 0.3 * puddle);
        let light = self.pools(p, V(0.0, 1.0, 0.0)) + self.high * 1.4;
        let edge = smooth(0.14, 0.05, (p.0.abs() - KERB).abs());
        let c = base.by(light).mix(mirror * 0.9, fresnel * (0.45 + 0.55 * puddle));
        let c = c * (1.0 - 0.55 * edge);
        c.mix(self.low * 0.45, 1.0 - (-0.009 * t).exp())
    }

    fn look(&self, u: f32, v: f32) -> V {
        let d = V(u * 0.52 - 0.04, (v + 0.08) * 0.52, 1.0).unit();
        let (mut c, mut t) = self.meet(EYE, d);
        if d.1 < 0.0 {
            let tg = EYE.1 / -d.1;
            if tg < t {
                let p = EYE + d * tg;
                t = tg;
                c = self.road(p, d, tg);
            }
        }
        // Posts, and one person walking away under an umbrella.
        for &l in &self.lamps {
            let s = (l.2 - EYE.2) / d.2;
            if s < t && s > 0.0 {
                let q = EYE + d * s;
                let post = smooth(0.065, 0.04, (q.0 - l.0).abs()) * smooth(4.5, 4.4, q.1) * smooth(-0.02, 0.02, q.1);
                let head = smooth(0.30, 0.24, (q.0 - l.0).abs() + 1.2 * (q.1 - 4.55).abs());
                c = c.mix(V(0.018, 0.018, 0.022), post.max(head * 0.7));
            }
        }
        let person = self.person(EYE + d * (13.0 / d.2));
        if 13.0 / d.2 < t + 0.6 {
            c = c.mix(V(0.014, 0.015, 0.02), person);
        }
        c + self.glow(EYE, d, 1.0)
    }

    fn person(&self, q: V) -> f32 {
        let x = q.0 + 4.35 - 1.2 * value(self.seed ^ 50, 0.5, 0.5);
        let y = q.1;
        let leg = |dx: f32, lean: f32| {
            smooth(0.02, -0.02, (x - dx - lean * (0.85 - y)).abs() - 0.075)
                * smooth(0.0, 0.03, y)
                * smooth(0.9, 0.85, y)
        };
        let coat = smooth(0.02, -0.02, x.abs() - 0.17 - 0.09 * smooth(1.4, 0.6, y))
            * smooth(0.55, 0.6, y)
            * smooth(1.52, 1.42, y);
        let head = smooth(0.13, 0.10, (x).hypot((y - 1.64) * 0.85));
        let dome = smooth(0.02, -0.02, (x - 0.1).hypot((y - 1.62) * 1.15) - 0.62)
            * smooth(1.74, 1.78, y + 0.05 * (x * 9.0).cos());
        leg(-0.08, 0.14).max(leg(0.09, -0.10)).max(coat).max(head).max(dome)
    }
}

pub fn paint(seed: u32, width: usize, height: usize) -> Canvas {
    let street = Street::new(seed);
    Canvas::traced(width, height, 720, |u, v, _| street.look(u, v))
}
