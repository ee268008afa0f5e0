//! Head and shoulders of nobody, eyes lowered, by a window.

use super::canvas::{Canvas, V};
use crate::noise::{fbm, smooth, value};

#[derive(Clone, Copy, PartialEq)]
enum Part {
    Skin,
    Hair,
    Cloth,
}

struct Sitter {
    seed: u32,
    yaw: (f32, f32),
    nod: (f32, f32),
    skin: V,
    hair: V,
    cloth: V,
    key: V,
    back: V,
    long: f32,
}

/// The smaller of two distances, rounded where they meet.
fn join(a: f32, b: f32, k: f32) -> f32 {
    let h = (k - (a - b).abs()).max(0.0) / k;
    a.min(b) - h * h * k * 0.25
}

fn ball(p: V, c: V, r: V) -> f32 {
    let q = p - c;
    let a = V(q.0 / r.0, q.1 / r.1, q.2 / r.2);
    let b = V(a.0 / r.0, a.1 / r.1, a.2 / r.2);
    let k = a.norm();
    k * (k - 1.0) / b.norm().max(1e-6)
}

fn rod(p: V, a: V, b: V, ra: f32, rb: f32) -> f32 {
    let (d, q) = (b - a, p - a);
    let t = (q.dot(d) / d.dot(d)).clamp(0.0, 1.0);
    (q - d * t).norm() - ra - (rb - ra) * t
}

impl Sitter {
    fn new(seed: u32) -> Self {
        let r = |k: u32| value(seed ^ k, 0.5, 0.5);
        let side = if r(1) > 0.5 { 1.0 } else { -1.0 };
        let (yaw, nod) = (-side * (0.95 + 0.4 * r(2)), 0.10 + 0.16 * r(3));
        let skins = [V(0.56, 0.36, 0.26), V(0.42, 0.255, 0.17), V(0.25, 0.135, 0.085), V(0.60, 0.41, 0.31)];
        let hairs = [V(0.035, 0.022, 0.015), V(0.085, 0.045, 0.022), V(0.02, 0.018, 0.018), V(0.14, 0.085, 0.040)];
        let cloths = [V(0.30, 0.28, 0.25), V(0.07, 0.09, 0.12), V(0.20, 0.075, 0.06), V(0.10, 0.12, 0.085)];
        let backs = [V(0.10, 0.085, 0.07), V(0.075, 0.09, 0.085), V(0.13, 0.12, 0.11)];
        Self {
            seed,
            yaw: yaw.sin_cos(),
            nod: nod.sin_cos(),
            skin: skins[(r(4) * 3.99) as usize],
            hair: hairs[(r(5) * 3.99) as usize],
            cloth: cloths[(r(6) * 3.99) as usize],
            key: V(-side * 0.80, 0.30, 0.42).unit(),
            back: backs[(r(7) * 2.99) as usize],
            long: 0.60 + 0.5 * r(8),
        }
    }

    /// World to the head's own axes: it turns and nods about the neck.
    fn head_space(&self, p: V) -> V {
        let q = p - V(0.0, -0.45, 0.12);
        let (s, c) = self.yaw;
        let q = V(c * q.0 + s * q.2, q.1, c * q.2 - s * q.0);
        let (s, c) = self.nod;
        V(q.0, c * q.1 - s * q.2, c * q.2 + s * q.1) + V(0.0, -0.45, 0.12)
    }

    fn face(&self, p: V) -> f32 {
        let m = V(p.0.abs(), p.1, p.2);
        let mut d = ball(p, V(0.0, 0.14, 0.07), V(0.455, 0.50, 0.53));
        d = join(d, ball(p, V(0.0, -0.17, -0.11), V(0.335, 0.42, 0.375)), 0.16);
        d = join(d, ball(p, V(0.0, -0.49, -0.31), V(0.125, 0.105, 0.12)), 0.17);
        d = join(d, ball(m, V(0.21, -0.09, -0.33), V(0.15, 0.15, 0.14)), 0.15);
        d = join(d, rod(m, V(0.05, 0.145, -0.475), V(0.24, 0.13, -0.40), 0.05, 0.045), 0.09);
        let socket = ball(m, V(0.165, 0.045, -0.545), V(0.10, 0.07, 0.09));
        d = -join(-d, socket, 0.10);
        d = join(d, ball(m, V(0.162, 0.035, -0.415), V(0.085, 0.075, 0.075)), 0.03);
        d = join(d, rod(p, V(0.0, 0.08, -0.455), V(0.0, -0.105, -0.530), 0.034, 0.047), 0.08);
        d = join(d, ball(m, V(0.052, -0.13, -0.49), V(0.042, 0.035, 0.05)), 0.05);
        d = join(d, ball(p, V(0.0, -0.258, -0.430), V(0.115, 0.028, 0.05)), 0.06);
        d = join(d, ball(p, V(0.0, -0.320, -0.418), V(0.10, 0.034, 0.052)), 0.05);
        join(d, ball(m, V(0.445, -0.02, 0.06), V(0.05, 0.13, 0.09)), 0.04)
    }

    fn hair_at(&self, p: V) -> f32 {
        let mut d = ball(p, V(0.0, 0.20, 0.13), V(0.545, 0.535, 0.575));
        let low = ball(p, V(0.0, -0.36 * self.long, 0.24), V(0.55, 0.46 + 0.30 * self.long, 0.36));
        d = join(d, low, 0.22);
        // The opening of the face; a parting gives it a point.
        let open = ball(V(p.0 + 0.06, p.1, p.2), V(0.0, -0.20, -0.58), V(0.405, 0.615, 0.52));
        d = -join(-d, open, 0.05);
        // Far off, the strands cannot matter.
        if d > 0.15 {
            return d - 0.06;
        }
        let a = p.0.atan2(p.2);
        let strand = fbm(self.seed ^ 20, a * 9.0 + p.1 * 0.6, p.1 * 1.5, 4, 0.6);
        let lock = fbm(self.seed ^ 21, a * 3.0, p.1 * 1.3, 3, 0.5);
        d - 0.045 * (strand - 0.5) - 0.07 * (lock - 0.5)
    }

    fn body(&self, p: V) -> f32 {
        let m = V(p.0.abs(), p.1, p.2);
        let mut d = ball(p, V(0.0, -1.66, 0.22), V(0.72, 0.62, 0.42));
        d = join(d, ball(m, V(0.62, -1.50, 0.20), V(0.28, 0.33, 0.30)), 0.25);
        let collar = rod(p, V(0.0, -0.95, 0.16), V(0.0, -1.1, 0.18), 0.27, 0.36);
        d = join(d, collar, 0.12);
        if d > 0.1 {
            return d - 0.03;
        }
        let knit = fbm(self.seed ^ 30, p.0 * 24.0, p.1 * 9.0, 2, 0.5) - 0.5;
        d - 0.014 * knit - 0.03 * (fbm(self.seed ^ 31, p.0 * 3.0, p.1 * 4.0 + p.2, 3, 0.5) - 0.5)
    }

    fn scene(&self, p: V) -> (f32, Part) {
        let reach = (p - V(0.0, -0.15, 0.1)).norm();
        let body = if p.1 < -0.55 { self.body(p) } else { 0.4 };
        if reach > 1.6 && p.1 > -0.6 {
            return (reach - 1.4, Part::Hair);
        }
        let q = self.head_space(p);
        let neck = rod(p, V(0.0, -0.38, 0.12), V(0.0, -1.05, 0.20), 0.205, 0.225);
        let skin = join(self.face(q), neck, 0.10);
        let hair = self.hair_at(q);
        let mut best = (skin, Part::Skin);
        if hair < best.0 {
            best = (hair, Part::Hair);
        }
        if body < best.0 {
            best = (body, Part::Cloth);
        }
        (best.0 * 0.72, best.1)
    }

    fn normal(&self, p: V) -> V {
        let e = 0.004;
        let d = |v: V| self.scene(p + v).0 - self.scene(p - v).0;
        V(d(V(e, 0.0, 0.0)), d(V(0.0, e, 0.0)), d(V(0.0, 0.0, e))).unit()
    }

    fn lit(&self, p: V, towards: V) -> f32 {
        let (mut t, mut shade) = (0.03f32, 1.0f32);
        for _ in 0..20 {
            let s = self.scene(p + towards * t).0;
            shade = shade.min(0.5 + 0.5 * s / (0.22 * t + 0.01));
            if shade <= 0.0 || t > 1.6 {
                break;
            }
            t += s.clamp(0.03, 0.2);
        }
        smooth(0.0, 1.0, shade)
    }

    /// The room behind, far out of focus: a bright window with its bars and a curtain, dim walls.
    fn room(&self, u: f32, v: f32) -> V {
        let side = self.key.0.signum();
        let x = u * side - 0.42;
        let pane = smooth(0.52, 0.36, x.abs()) * smooth(-0.95, -0.70, v);
        let bars = 1.0 - 0.42 * smooth(0.10, 0.0, (x + 0.02).abs()) - 0.36 * smooth(0.10, 0.0, (v - 0.34).abs());
        let trees = smooth(0.35, 0.65, fbm(self.seed ^ 40, u * 1.6, v * 1.6, 3, 0.5)) * smooth(0.35, -0.5, v);
        let outside = V(1.55, 1.58, 1.55).mix(V(0.62, 0.78, 0.50), 0.7 * trees) * bars.max(0.3);
        let folds = 0.75 + 0.35 * fbm(self.seed ^ 41, u * 7.0, v * 0.6, 3, 0.5);
        let curtain = smooth(0.14, 0.0, (x.abs() - 0.50).abs() - 0.12) * smooth(-0.98, -0.85, v);
        let wall = self.back * (0.75 + 0.5 * fbm(self.seed ^ 42, u * 0.8, v * 0.8, 3, 0.45))
            + V(0.10, 0.10, 0.095) * (-2.0 * (x * x + v * v)).exp();
        wall.mix(V(0.62, 0.58, 0.50) * folds, curtain * 0.8).mix(outside, pane)
    }

    fn look(&self, u: f32, v: f32) -> V {
        let eye = V(0.0, -0.22, -4.6);
        let d = V(u * 0.285 + 0.02 * self.key.0, v * 0.285 - 0.03, 1.0).unit();
        let mut t = 3.2;
        let mut found = None;
        for _ in 0..70 {
            let (s, part) = self.scene(eye + d * t);
            if s < 0.003 {
                found = Some(part);
                break;
            }
            t += s;
            if t > 6.6 {
                break;
            }
        }
        let Some(part) = found else { return self.room(u, v) };
        let p = eye + d * t;
        let n = self.normal(p);
        let (ndl, open) = (n.dot(self.key), self.lit(p + n * 0.012, self.key));
        let fill = V(0.27, 0.265, 0.26) * (0.55 + 0.25 * n.1 - 0.35 * n.2 + 0.25 * n.0 * self.key.0);
        let rim_from = V(-self.key.0 * 0.9, 0.35, 0.75).unit();
        let edge = (1.0 + d.dot(n)).clamp(0.0, 1.0);
        let rim = V(0.9, 0.82, 0.70) * (n.dot(rim_from).max(0.0) * edge * edge * 0.9);
        let warm = V(2.3, 2.25, 2.15);
        match part {
            Part::Skin => self.skin_light(p, n, d, ndl, open, fill) + self.skin.by(rim) * 0.8,
            Part::Hair => {
                let q = self.head_space(p);
                let a = q.0.atan2(q.2);
                let strand = fbm(self.seed ^ 22, a * 30.0 + q.1 * 2.0, q.1 * 3.0, 3, 0.6);
                let along = V(-q.0 * 0.4, -1.0, 0.1).unit();
                let h = (self.key - d).unit();
                let gloss = (1.0 - along.dot(h).powi(2)).max(0.0).powf(22.0) * open;
                let c = self.hair * (0.45 + 1.1 * strand);
                c.by(warm) * ((ndl * 0.6 + 0.4).max(0.0) * (0.25 + 0.75 * open))
                    + c.by(fill) * 1.3
                    + (self.hair * 1.6 + V(0.02, 0.02, 0.02)).by(warm) * (0.7 * gloss * (0.3 + strand))
                    + rim * (0.20 + 0.5 * strand)
            }
            Part::Cloth => {
                let knit = 0.78 + 0.44 * fbm(self.seed ^ 32, p.0 * 40.0, p.1 * 40.0, 2, 0.5);
                (self.cloth * knit).by(warm * (ndl.max(0.0) * open) + fill) + self.cloth.by(rim) * 0.5
            }
        }
    }

    fn skin_light(&self, p: V, n: V, d: V, ndl: f32, open: f32, fill: V) -> V {
        let q = self.head_space(p);
        let m = V(q.0.abs(), q.1, q.2);
        let near = |c: V, r: V| {
            let e = V((m.0 - c.0) / r.0, (m.1 - c.1) / r.1, (m.2 - c.2) / r.2);
            (-e.dot(e)).exp()
        };
        let front = smooth(-0.25, -0.40, q.2);
        let mottle = 0.94 + 0.12 * fbm(self.seed ^ 50, q.0 * 9.0, q.1 * 9.0 + q.2 * 4.0, 4, 0.55);
        let mut c = self.skin * mottle;
        c = c.by(V(1.0, 0.80, 0.78)
            .mix(V(1.0, 1.0, 1.0), 1.0 - 0.8 * near(V(0.23, -0.12, -0.38), V(0.13, 0.11, 0.2)) * front));
        let lips = front * near(V(0.0, -0.297, -0.5), V(0.105, 0.050, 0.2)) * smooth(0.155, 0.10, m.0);
        c = c.mix(self.skin.by(V(0.82, 0.40, 0.40)), smooth(0.35, 0.75, lips) * 0.85);
        let mouth = front * smooth(0.010, 0.003, (q.1 + 0.297 - 0.25 * m.0 * m.0).abs()) * smooth(0.12, 0.09, m.0);
        c = c * (1.0 - 0.62 * mouth);
        // Lowered lids: a line of lashes, a brow.
        let lash = front
            * smooth(0.011, 0.003, (q.1 + 0.018 - 3.7 * (m.0 - 0.163).powi(2)).abs())
            * smooth(0.085, 0.065, (m.0 - 0.165).abs());
        c = c.mix(self.hair * 0.5, lash * 0.88);
        let arch = q.1 - 0.165 + 0.9 * (m.0 - 0.15).powi(2);
        let brow = front * smooth(0.022, 0.006, arch.abs()) * smooth(0.135, 0.085, (m.0 - 0.165).abs());
        let hairs = 0.55 + 0.45 * fbm(self.seed ^ 51, q.0 * 90.0 + q.1 * 60.0, q.1 * 60.0, 2, 0.5);
        c = c.mix(self.hair * 0.8, brow * 0.72 * hairs);
        c = c * (1.0 - 0.30 * front * near(V(0.165, 0.075, -0.45), V(0.10, 0.035, 0.2)));
        // Light goes a little into skin and comes out red past the edge of shade.
        let wrap = |k: f32| ((ndl + k) / (1.0 + k)).max(0.0);
        let through = V(wrap(0.34), wrap(0.16), wrap(0.10));
        let light = V(2.3, 2.25, 2.15).by(through) * (0.12 + 0.88 * open);
        let h = (self.key - d).unit();
        let sheen = n.dot(h).max(0.0).powi(24) * open * 0.10;
        c.by(light + fill) + V(1.0, 0.98, 0.94) * sheen
    }
}

pub fn paint(seed: u32, width: usize, height: usize) -> Canvas {
    let sitter = Sitter::new(seed);
    let sharp = Canvas::traced(width, height, 340, |u, v, _| sitter.look(u, v));
    // A wide-open lens and a hand: soft, and light from the window creeps over everything.
    let soft = super::film::blurred(&sharp, height as f32 / 300.0);
    let veil =
        super::film::blurred(&Canvas::traced(width / 8 + 1, height / 8 + 1, 40, |u, v, _| sitter.room(u, v)), 8.0);
    let data = soft.data.iter().enumerate().map(|(k, &c)| {
        let (i, j) = (k % width / 8, k / width / 8);
        c * 0.93 + veil.data[j * veil.width + i] * 0.09
    });
    Canvas { width, height, data: data.collect() }
}
