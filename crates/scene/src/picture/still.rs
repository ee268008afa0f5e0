//! A bowl of fruit and a bottle on a table by a window.

use super::canvas::{Canvas, V, norm2};
use crate::noise::{fbm, smooth, value};

#[derive(Clone, Copy, PartialEq)]
enum Thing {
    Table,
    Wall,
    Bowl,
    Fruit(usize),
    Bottle,
    Cloth,
}

struct Table {
    seed: u32,
    fruit: Vec<(V, f32, V)>,
    bottle: V,
    sun: V,
    wall: V,
    cloth: V,
}

fn min(a: (f32, Thing), b: (f32, Thing)) -> (f32, Thing) {
    if a.0 < b.0 { a } else { b }
}

impl Table {
    fn new(seed: u32) -> Self {
        let r = |k: u32| value(seed ^ k, 0.5, 0.5);
        let skins = [
            V(0.52, 0.085, 0.045),
            V(0.62, 0.30, 0.035),
            V(0.50, 0.42, 0.06),
            V(0.30, 0.36, 0.06),
            V(0.58, 0.18, 0.06),
        ];
        let fruit = (0..6)
            .map(|i| {
                let a = i as f32 * 1.257 + 2.0 * r(100);
                let (d, y) = if i < 5 { (0.29, 0.475) } else { (0.03, 0.70) };
                let size = 0.19 + 0.035 * r(110 + i);
                (
                    V(-0.35 + d * a.cos(), y + 0.03 * r(120 + i), 0.2 + d * a.sin()),
                    size,
                    skins[(r(130 + i) * 4.99) as usize],
                )
            })
            .chain([(V(0.55, 0.20, -0.42), 0.20, skins[(r(140) * 4.99) as usize])])
            .collect();
        let walls = [V(0.30, 0.29, 0.26), V(0.22, 0.27, 0.28), V(0.34, 0.27, 0.21)];
        let cloths = [V(0.62, 0.60, 0.55), V(0.20, 0.27, 0.36), V(0.55, 0.42, 0.30)];
        Self {
            seed,
            fruit,
            bottle: V(0.50 + 0.12 * r(150), 0.0, 0.42),
            sun: V(-0.80, 0.52 + 0.15 * r(151), -0.30).unit(),
            wall: walls[(r(152) * 2.99) as usize],
            cloth: cloths[(r(153) * 2.99) as usize],
        }
    }

    fn scene(&self, p: V) -> (f32, Thing) {
        let wrinkle =
            0.018 * fbm(self.seed ^ 160, p.0 * 2.2, p.2 * 2.2, 3, 0.5) + 0.006 * (p.0 * 6.0 + 2.0 * p.2).sin();
        let edge = (p.0 + 0.15).abs().max((p.2 + 0.1) * 0.9) - 1.15;
        let cloth = ((p.1 - wrinkle).abs() - 0.004).max(edge) * 0.8;
        let mut s = min((p.1, Thing::Table), (1.9 - p.2, Thing::Wall));
        s = min(s, (cloth, Thing::Cloth));
        let q = V(p.0 + 0.35, p.1, p.2 - 0.2);
        let r = norm2(q.0, q.2);
        // A shell of a sphere cut at the rim, on a foot.
        let shell = ((norm2(r, q.1 - 0.68) - 0.62).abs() - 0.022).max(q.1 - 0.44);
        let foot = (r - 0.24).max((q.1 - 0.05).abs() - 0.05) - 0.01;
        s = min(s, (shell.min(foot) * 0.9, Thing::Bowl));
        for (i, (c, size, _)) in self.fruit.iter().enumerate() {
            let d = p - *c;
            if d.dot(d) < 0.6 {
                let dimple = 0.03 * (-(norm2(d.0, d.2) / 0.06).powi(2)).exp() * smooth(0.0, 0.1, d.1);
                s = min(s, (V(d.0, d.1 * 1.06, d.2).norm() - size + dimple, Thing::Fruit(i)));
            } else {
                s = min(s, (d.norm() - size - 0.02, Thing::Fruit(i)));
            }
        }
        min(s, (self.bottle(p), Thing::Bottle))
    }

    fn bottle(&self, p: V) -> f32 {
        let q = p - self.bottle;
        let r = norm2(q.0, q.2);
        let shoulder = smooth(0.95, 1.28, q.1);
        let radius = 0.215 + (0.066 - 0.215) * shoulder + 0.014 * smooth(1.60, 1.62, q.1) * smooth(1.70, 1.68, q.1);
        (r - radius).max(q.1 - 1.72).max(-q.1) * 0.75
    }

    fn normal(&self, p: V) -> V {
        let e = 0.0015;
        let d = |v: V| self.scene(p + v).0 - self.scene(p - v).0;
        V(d(V(e, 0.0, 0.0)), d(V(0.0, e, 0.0)), d(V(0.0, 0.0, e))).unit()
    }

    fn march(&self, from: V, d: V, far: f32) -> Option<(V, Thing)> {
        let mut t = 0.0;
        for _ in 0..90 {
            let p = from + d * t;
            let (s, thing) = self.scene(p);
            if s < 0.0012 {
                return Some((p, thing));
            }
            t += s;
            if t > far {
                return None;
            }
        }
        None
    }

    /// Light of a tall window: the nearer things pass the ray, the darker, sharply near the contact and softly far off.
    fn lit(&self, p: V) -> f32 {
        let (mut t, mut shade) = (0.02f32, 1.0f32);
        for _ in 0..32 {
            let s = self.scene(p + self.sun * t).0;
            shade = shade.min(0.5 + 0.5 * s / (0.11 * t + 0.004));
            if shade <= 0.0 {
                return 0.0;
            }
            t += s.clamp(0.015, 0.2);
            if t > 3.0 {
                break;
            }
        }
        smooth(0.0, 1.0, shade)
    }

    fn sky(&self, p: V, n: V) -> f32 {
        let mut hidden = 0.0;
        for i in 1..=5 {
            let h = 0.05 * i as f32;
            hidden += (h - self.scene(p + n * h).0).max(0.0) / h * 0.5f32.powi(i);
        }
        (1.0 - 1.0 * hidden).clamp(0.0, 1.0)
    }

    fn colour(&self, p: V, thing: Thing) -> (V, f32) {
        let seed = self.seed;
        match thing {
            Thing::Table => {
                let grain = fbm(
                    seed ^ 170,
                    p.0 * 1.2 + 0.3 * fbm(seed ^ 171, p.0 * 2.0, p.2 * 2.0, 2, 0.5),
                    p.2 * 14.0,
                    5,
                    0.6,
                );
                (V(0.20, 0.11, 0.055).mix(V(0.34, 0.20, 0.10), grain), 0.25)
            }
            Thing::Wall => (self.wall * (0.88 + 0.24 * fbm(seed ^ 172, p.0 * 1.5, p.1 * 1.5, 5, 0.55)), 0.0),
            Thing::Cloth => {
                let weave = 0.95 + 0.05 * fbm(seed ^ 174, p.0 * 60.0, p.2 * 60.0, 2, 0.5);
                let stripe = smooth(0.02, 0.012, ((p.0 + 0.15).abs() - 1.02).abs());
                ((self.cloth * weave).mix(V(0.42, 0.10, 0.08), stripe * 0.8), 0.0)
            }
            Thing::Bowl => {
                let q = V(p.0 + 0.35, p.1, p.2 - 0.2);
                let band = smooth(0.012, 0.004, (q.1 - 0.36).abs()) + 0.6 * smooth(0.008, 0.003, (q.1 - 0.31).abs());
                let glaze =
                    V(0.60, 0.58, 0.52) * (0.9 + 0.15 * fbm(seed ^ 173, q.0 * 8.0, q.1 * 8.0 + q.2 * 5.0, 3, 0.5));
                (glaze.mix(V(0.09, 0.14, 0.30), band.min(1.0) * 0.85), 1.0)
            }
            Thing::Fruit(i) => {
                let (c, size, skin) = self.fruit[i];
                let d = (p - c) * (1.0 / size);
                let a = d.2.atan2(d.0);
                let streak = fbm(seed ^ (180 + i as u32), a * 5.0, d.1 * 2.0, 4, 0.6);
                let blush = smooth(-0.2, 0.8, d.dot(V(-0.5, 0.5, -0.6)) + streak - 0.5);
                let speck = smooth(0.80, 0.86, value(seed ^ 190, a * 16.0, d.1 * 18.0));
                let pale = skin.mix(V(0.60, 0.50, 0.14), 0.55);
                let c = pale.mix(skin, blush) * (0.8 + 0.4 * streak);
                let top = smooth(0.28, 0.0, norm2(d.0, d.2)) * smooth(0.0, 0.3, d.1);
                (c.mix(V(0.60, 0.52, 0.25), speck * 0.35).mix(V(0.10, 0.07, 0.03), top * 0.7), 0.7)
            }
            Thing::Bottle => (V(0.012, 0.030, 0.014), 1.6),
        }
    }

    /// What a smooth surface mirrors: the window's bright panes, a dim room.
    fn room(&self, d: V) -> V {
        let w = V(-0.86, 0.42, -0.30).unit();
        let right = V(0.0, 1.0, 0.0).cross(w).unit();
        let (x, y, z) = (d.dot(right), d.1 - 0.42, d.dot(w));
        let pane = smooth(0.26, 0.22, x.abs()) * smooth(0.42, 0.37, y.abs()) * smooth(0.0, 0.2, z);
        let bars = smooth(0.012, 0.022, x.abs()) * smooth(0.014, 0.026, (y - 0.05).abs());
        V(1.5, 1.55, 1.6) * (pane * (0.25 + 0.75 * bars)) + V(0.045, 0.042, 0.038) * (1.0 + d.1)
    }

    fn look(&self, u: f32, v: f32) -> V {
        let eye = V(0.12, 1.30, -3.35);
        let d = V(u * 0.365, v * 0.365 - 0.215, 1.0).unit();
        let Some((p, thing)) = self.march(eye, d, 9.0) else { return self.wall * 0.3 };
        let n = self.normal(p);
        let (c, gloss) = self.colour(p, thing);
        let sky = self.sky(p, n);
        let sun = n.dot(self.sun).max(0.0) * self.lit(p + n * 0.006);
        let near = 1.0 / (1.0 + 0.13 * ((p.0 + 1.6).powi(2) + (p.2 + 0.3).powi(2)));
        let bounce = V(0.30, 0.22, 0.15) * (0.16 * (0.5 - 0.5 * n.1).max(0.0));
        let light =
            V(1.75, 1.68, 1.55) * (sun * near) + V(0.15, 0.15, 0.155) * (sky * (0.6 + 0.4 * n.1)) + bounce * sky;
        let r = d.mirrored(n);
        let fresnel = 0.04 + 0.96 * (1.0 + d.dot(n)).clamp(0.0, 1.0).powi(5);
        let mut out = c.by(light) + self.room(r) * (fresnel * gloss.min(1.3) * (0.3 + 0.7 * sky));
        if thing == Thing::Bottle {
            // Thick glass: light of the wall behind, greened, strongest where the glass is thin to the eye.
            let rim = (1.0 + d.dot(n)).clamp(0.0, 1.0);
            let through = self.wall.by(V(0.16, 0.42, 0.18)) * (0.30 * (1.0 - rim).powi(2));
            let wine = smooth(0.9, 0.6, p.1 - self.bottle.1);
            out = out + through * (1.0 - 0.75 * wine);
            let label = smooth(0.005, 0.0, (p.1 - 0.52).abs() - 0.2) * smooth(0.1, 0.2, -n.2);
            let paper = V(0.50, 0.46, 0.36) * (0.9 + 0.1 * fbm(self.seed ^ 195, p.0 * 30.0, p.1 * 30.0, 2, 0.5));
            let band = smooth(0.008, 0.004, ((p.1 - 0.52).abs() - 0.15).abs());
            out = out.mix(paper.mix(V(0.25, 0.06, 0.05), band).by(light), label);
        }
        out
    }
}

pub fn paint(seed: u32, width: usize, height: usize) -> Canvas {
    let table = Table::new(seed);
    Canvas::traced(width, height, 450, |u, v, _| table.look(u, v) * 1.45)
}
