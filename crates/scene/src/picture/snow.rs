//! Bare trees in snow and fog, nearly white.

use super::canvas::{Canvas, V, norm2};
use crate::noise::{Rng, fbm, smooth, value};

const FOG: V = V(0.83, 0.85, 0.86);

fn ground_line(seed: u32, u: f32) -> f32 {
    -0.34 + 0.10 * (fbm(seed ^ 1, u * 0.9, 0.5, 3, 0.5) - 0.5)
}

fn air(seed: u32, u: f32, v: f32, cell: f32) -> V {
    let h = ground_line(seed, u);
    let sky = FOG * (0.94 + 0.10 * smooth(-0.3, 1.0, v) + 0.07 * (fbm(seed ^ 2, u * 0.8, v * 1.1, 4, 0.5) - 0.5));
    let mut c = sky;
    // A far wood, hardly there.
    for (k, distance, tall) in [(3u32, 0.93, 0.30), (4, 0.84, 0.22)] {
        let top = h
            + tall * (0.35 + 0.9 * fbm(seed ^ k, u * 3.0, 0.2, 5, 0.62))
            + 0.05 * (fbm(seed ^ k, u * 60.0, 0.7, 2, 0.5) - 0.5);
        let cover = smooth(0.05, -0.05, v - top);
        let dark = V(0.38, 0.41, 0.43) * (0.8 + 0.4 * fbm(seed ^ (k + 10), u * 50.0, v * 9.0, 3, 0.6));
        c = c.mix(dark.mix(FOG, distance), cover);
    }
    let below = h - v;
    if below > -cell {
        let z = 0.5 / below.max(0.01);
        let drift =
            fbm(seed ^ 5, u * z * 0.9, z * 1.7, 5, 0.5) - fbm(seed ^ 5, u * z * 0.9 + 0.14, z * 1.7 + 0.05, 5, 0.5);
        let crust = fbm(seed ^ 6, u * z * 14.0, z * 22.0, 3, 0.6) - 0.5;
        let snow = V(0.86, 0.875, 0.90) * (0.93 + 0.65 * drift + 0.035 * crust);
        let blades =
            smooth(0.74, 0.82, fbm(seed ^ 7, u * z * 6.0, z * 0.9 + v * 3.0, 4, 0.7)) * smooth(0.03, 0.3, below);
        let snow = snow.mix(V(0.34, 0.30, 0.22), blades * 0.35);
        let steps = footprints(seed, u * z, z);
        let snow = snow * (1.0 - 0.28 * steps);
        c = c.mix(snow.mix(FOG, (-5.5 * below).exp() * 0.85), smooth(-cell, cell, below));
    }
    c
}

/// A line of footprints from the foot of the picture to the trees.
fn footprints(seed: u32, x: f32, z: f32) -> f32 {
    let stride = 0.085;
    let i = (z / stride).floor();
    let track = 0.18 * (z * 1.3 + 5.0 * value(seed ^ 8, 0.5, 0.5)).sin() - 0.1;
    let foot = track + if i as i32 % 2 == 0 { 0.022 } else { -0.022 };
    let (dx, dz) = ((x - foot) / 0.017, (z / stride - i - 0.5) / 0.30);
    smooth(1.15, 0.7, norm2(dx, dz)) * smooth(3.0, 1.2, z)
}

/// A stroke of a branch.
struct Branch {
    from: (f32, f32),
    to: (f32, f32),
    width: f32,
}

fn grow(rng: &mut Rng, out: &mut Vec<Branch>, from: (f32, f32), angle: f32, length: f32, width: f32, left: u32) {
    let bend = rng.between(-0.16, 0.16) as f32;
    let (mut at, mut a) = (from, angle);
    for k in 0..3 {
        let w = width * (1.0 - 0.12 * k as f32);
        let to = (at.0 + a.sin() * length / 3.0, at.1 + a.cos() * length / 3.0);
        out.push(Branch { from: at, to, width: w });
        at = to;
        a += bend;
        if left > 0 && k < 2 && rng.chance(0.75) {
            let side = if rng.chance(0.5) { 1.0 } else { -1.0 };
            let turn = side * rng.between(0.45, 0.95) as f32;
            let long = length * rng.between(0.5, 0.72) as f32;
            grow(rng, out, at, a + turn, long, w * 0.52, left - 1);
        }
    }
    if left > 0 {
        for side in [-1.0f32, 1.0] {
            let turn = side * rng.between(0.12, 0.5) as f32;
            let long = length * rng.between(0.66, 0.82) as f32;
            grow(rng, out, at, a * 0.92 + turn, long, width * 0.62, left - 1);
        }
    }
}

fn draw(c: &mut Canvas, b: &Branch, ink: V, opacity: f32) {
    let (w, h) = (c.width as f32, c.height as f32);
    let place = |p: (f32, f32)| (p.0 * h / 2.0 + w / 2.0, (1.0 - p.1) * h / 2.0);
    let ((x0, y0), (x1, y1)) = (place(b.from), place(b.to));
    let half = b.width * h / 4.0;
    let (solid, half) = ((half / 0.5).min(1.0), half.max(0.5));
    let r = half + 1.0;
    let cut = |v: f32, n: f32| v.clamp(0.0, n) as usize;
    for j in cut(y0.min(y1) - r, h)..cut(y0.max(y1) + r + 1.0, h) {
        for i in cut(x0.min(x1) - r, w)..cut(x0.max(x1) + r + 1.0, w) {
            let (px, py) = (i as f32 + 0.5 - x0, j as f32 + 0.5 - y0);
            let (dx, dy) = (x1 - x0, y1 - y0);
            let t = ((px * dx + py * dy) / (dx * dx + dy * dy).max(1e-6)).clamp(0.0, 1.0);
            let far = (px - t * dx).hypot(py - t * dy);
            let cover = (half - far + 0.5).clamp(0.0, 1.0) * solid * opacity;
            let k = j * c.width + i;
            c.data[k] = c.data[k].mix(ink, cover);
        }
    }
}

pub fn paint(seed: u32, width: usize, height: usize) -> Canvas {
    let mut c = Canvas::paint(width, height, |u, v, cell| air(seed, u, v, cell));
    let mut rng = Rng::new(u64::from(seed));
    let aspect = width as f32 / height as f32;
    // Far trees first, each nearer one darker.
    let mut trees: Vec<f32> = (0..7).map(|_| rng.between(0.05, 0.62) as f32).collect();
    trees.push(rng.between(0.85, 1.0) as f32);
    trees.sort_by(f32::total_cmp);
    for (i, near) in trees.iter().enumerate() {
        let last = i + 1 == trees.len();
        let u = if last {
            (rng.pick(&[-1.0, 1.0]) * rng.between(0.28, 0.5)) as f32 * aspect
        } else {
            rng.between(-1.0, 1.0) as f32 * aspect
        };
        let foot = ground_line(seed, u) - 0.02 - 0.24 * near * near;
        let size = 0.16 + 0.34 * near;
        let mut branches = Vec::new();
        let depth = if last { 7 } else { 4 + (3.0 * near) as u32 };
        grow(&mut rng, &mut branches, (u, foot - 0.01), rng_lean(seed, i), size, 0.05 * size, depth);
        let ink = V(0.085, 0.080, 0.078).mix(FOG, (0.90 - 0.88 * near).max(0.0));
        branches.iter().for_each(|b| draw(&mut c, b, ink, 0.95));
    }
    fence(&mut c, seed, &mut rng, aspect);
    c
}

fn rng_lean(seed: u32, i: usize) -> f32 {
    0.16 * (value(seed ^ 9, i as f32 * 3.1, 0.5) - 0.5)
}

/// Fence posts that walk away into the fog, with two wires.
fn fence(c: &mut Canvas, seed: u32, rng: &mut Rng, aspect: f32) {
    let side = if value(seed ^ 14, 0.5, 0.5) > 0.5 { 1.0 } else { -1.0 };
    let mut last: Option<[(f32, f32); 2]> = None;
    for k in (0..11).rev() {
        let z = 1.0 + 0.62 * k as f32;
        let u = side * (0.05 + 0.92 * aspect / z);
        let foot = ground_line(seed, u) - 0.62 / z + 0.03;
        let tall = 0.34 / z;
        let fade = (0.16 * k as f32).min(0.93);
        let ink = V(0.16, 0.145, 0.13).mix(FOG, fade);
        let lean = rng.between(-0.03, 0.03) as f32;
        let top = (u + lean * tall, foot + tall);
        draw(c, &Branch { from: (u, foot), to: top, width: 0.045 / z }, ink, 1.0);
        draw(
            c,
            &Branch { from: (top.0 - 0.018 / z, top.1), to: (top.0 + 0.018 / z, top.1 + 0.004 / z), width: 0.028 / z },
            V(0.9, 0.91, 0.93),
            0.9,
        );
        let wires = [(u, foot + 0.85 * tall), (u, foot + 0.5 * tall)];
        if let Some(before) = last {
            for (a, b) in before.iter().zip(&wires) {
                let sag = (0.5 * (a.0 + b.0), 0.5 * (a.1 + b.1) - 0.012 / z);
                draw(c, &Branch { from: *a, to: sag, width: 0.006 / z }, ink, 0.8);
                draw(c, &Branch { from: sag, to: *b, width: 0.006 / z }, ink, 0.8);
            }
        }
        last = Some(wires);
    }
}
