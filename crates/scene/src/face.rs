//! What a print's face reflects: border, window, back or chart, at a size fit for the frame.

use crate::noise::{Rng, fbm, normal_at};
use crate::{Print, Side, chart};
use geometry::Quad;
use rayon::prelude::*;

/// A picture laid over print millimetres.
#[derive(Clone, Debug)]
pub struct Texture {
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// Reflectance, row 0 at the top.
    pub data: Vec<[f32; 3]>,
    left: f32,
    top: f32,
    per_mm: f32,
}

impl Texture {
    /// A texture from its left and top in print mm, `per_mm` cells per millimetre, computed cell by cell from the cell's
    /// centre in print mm.
    fn paint(area: &Quad, per_mm: f64, f: impl Fn(f32, f32) -> [f32; 3] + Sync) -> Self {
        let mut t = Self::over(area, per_mm);
        let (w, left, top, step) = (t.width, t.left, t.top, 1.0 / t.per_mm);
        t.data.par_chunks_mut(w).enumerate().for_each(|(j, row)| {
            let y = top - (j as f32 + 0.5) * step;
            row.iter_mut().enumerate().for_each(|(i, v)| *v = f(left + (i as f32 + 0.5) * step, y));
        });
        t
    }

    fn over(area: &Quad, per_mm: f64) -> Self {
        let size = area.0[2] - area.0[0];
        let (width, height) = ((size.x * per_mm).ceil().max(1.0) as usize, (-size.y * per_mm).ceil().max(1.0) as usize);
        let (left, top) = (area.0[0].x as f32, area.0[0].y as f32);
        Self { width, height, data: vec![[0.0; 3]; width * height], left, top, per_mm: per_mm as f32 }
    }

    /// Bilinear, level past the edges.
    pub fn at(&self, x: f32, y: f32) -> [f32; 3] {
        let u = ((x - self.left) * self.per_mm - 0.5).clamp(0.0, (self.width - 1) as f32);
        let v = ((self.top - y) * self.per_mm - 0.5).clamp(0.0, (self.height - 1) as f32);
        let (i, j) = (u as usize, v as usize);
        let (i1, j1) = ((i + 1).min(self.width - 1), (j + 1).min(self.height - 1));
        let (fx, fy) = (u - i as f32, v - j as f32);
        let (a, b) = (self.data[j * self.width + i], self.data[j * self.width + i1]);
        let (c, d) = (self.data[j1 * self.width + i], self.data[j1 * self.width + i1]);
        std::array::from_fn(|k| {
            let top = a[k] + (b[k] - a[k]) * fx;
            let low = c[k] + (d[k] - c[k]) * fx;
            top + (low - top) * fy
        })
    }
}

/// A face ready to be looked up.
#[derive(Clone, Debug)]
pub struct Face {
    /// Border, back or chart.
    pub ground: Texture,
    /// The picture, where there is a window.
    pub window: Option<(Texture, Quad)>,
}

/// Finest picture drawn, cells per mm: an instant print holds some ten line pairs per millimetre at best.
const FINEST: f64 = 14.0;

impl Face {
    /// The face of a print as a frame of `px_per_mm` needs it.
    pub fn new(print: &Print, px_per_mm: f64) -> Self {
        let per_mm = px_per_mm.clamp(1.0, FINEST);
        let outer = print.sheet.outer();
        match print.side {
            Side::Chart => Self { ground: Texture::paint(&outer, per_mm, chart::reflectance), window: None },
            // Its ink is drawn mark by mark; under it is plain paper.
            Side::Ruler(_) => {
                Self { ground: Texture::paint(&outer, 0.1, |_, _| [crate::ruler::PAPER as f32; 3]), window: None }
            }
            Side::Back => Self { ground: back(print, &outer, per_mm), window: None },
            Side::Front => {
                // Borders are smooth: three cells to a millimetre show all they have.
                let ground = Texture::paint(&outer, per_mm.min(3.0), |x, y| border(print, x, y));
                Self { ground, window: print.sheet.window().map(|q| (picture(print, &q, per_mm), q)) }
            }
        }
    }
}

impl Face {
    /// Reflectance at print coordinates, mm: the picture inside the window's rectangle, the ground elsewhere.
    pub fn at(&self, x: f64, y: f64) -> [f32; 3] {
        match &self.window {
            Some((picture, q)) if x > q.0[0].x && x < q.0[1].x && y < q.0[0].y && y > q.0[2].y => {
                picture.at(x as f32, y as f32)
            }
            _ => self.ground.at(x as f32, y as f32),
        }
    }
}

/// The window's picture with the film's grain.
fn picture(print: &Print, area: &Quad, per_mm: f64) -> Texture {
    let mut t = Texture::over(area, per_mm);
    t.data = print.picture.draw(t.width, t.height);
    // Dye clouds are a few hundredths of a millimetre: coarser cells average them away in proportion to their side.
    let strength = (0.03 * per_mm / FINEST) as f32;
    let (w, seed) = (t.width, print.seed);
    t.data.par_chunks_mut(w).enumerate().for_each(|(j, row)| {
        for (i, v) in row.iter_mut().enumerate() {
            let n = |c: u64| normal_at(((j * w + i) as u64 * 4 + c) ^ seed << 20);
            let common = n(3);
            for (c, v) in v.iter_mut().enumerate() {
                *v *= 1.0 + strength * (0.8 * common + 0.6 * n(c as u64));
            }
        }
    });
    t
}

/// A border's reflectance: its colour, yellowed unevenly from the edges with age.
fn border(print: &Print, x: f32, y: f32) -> [f32; 3] {
    let seed = print.seed as u32;
    let (hw, hh) = (print.sheet.width.to_mm() as f32 / 2.0, print.sheet.height.to_mm() as f32 / 2.0);
    let edge = ((hw - x.abs()).min(hh - y.abs()) / 6.0).clamp(0.0, 1.0);
    let blotch = fbm(seed ^ 0xb0, x * 0.05, y * 0.05, 4, 0.55);
    let old = print.age as f32 * (0.35 + 0.5 * blotch + 0.35 * (1.0 - edge));
    let fine = 1.0 + 0.006 * (fbm(seed ^ 0xb1, x * 0.9, y * 0.9, 2, 0.5) - 0.5);
    let stain = [1.0 - 0.03 * old, 1.0 - 0.07 * old, 1.0 - 0.2 * old];
    std::array::from_fn(|c| print.border.rgb[c] as f32 * stain[c] * fine)
}

/// A back: grey card or black plastic, a printed batch code and a line or two in pencil that say nothing.
fn back(print: &Print, area: &Quad, per_mm: f64) -> Texture {
    let seed = print.seed as u32;
    let mut rng = Rng::new(print.seed ^ 0xbac);
    let black = print.format.is_some_and(|f| f.has_foot()) && rng.chance(0.6);
    let ground: [f32; 3] = if black { [0.035, 0.034, 0.036] } else { [0.62, 0.61, 0.57] };
    let mut t = Texture::paint(area, per_mm, |x, y| {
        let n = 1.0
            + 0.05 * (fbm(seed ^ 0xba, x * 0.12, y * 0.12, 4, 0.5) - 0.5)
            + 0.04 * (fbm(seed ^ 0xbb, x * 2.1, y * 2.1, 2, 0.5) - 0.5);
        ground.map(|g| g * n)
    });
    let size = area.0[2] - area.0[0];
    let ink = if black { [0.32, 0.32, 0.31] } else { [0.16, 0.16, 0.17] };
    let code: Vec<u8> = (0..8).map(|_| (rng.bits() % 10) as u8).collect();
    let mut pen = Pen { texture: &mut t, ink, width: 0.28, opacity: 0.85 };
    let left = area.0[0].x as f32 + 0.16 * size.x as f32;
    let line = (area.0[2].y + 0.10 * -size.y) as f32;
    code.iter().enumerate().for_each(|(i, d)| pen.digit(*d, left + 2.3 * i as f32, line, 2.6));
    let mut pen = Pen { ink: if black { [0.5; 3] } else { [0.2, 0.2, 0.24] }, width: 0.35, opacity: 0.4, ..pen };
    for k in 0..1 + rng.bits() % 2 {
        let y = (area.0[0].y + size.y * (0.3 + 0.12 * k as f64)) as f32;
        pen.scrawl(&mut rng, left, y, 0.5 * size.x as f32);
    }
    t
}

/// Draws lines on a texture, print mm.
struct Pen<'a> {
    texture: &'a mut Texture,
    ink: [f32; 3],
    width: f32,
    opacity: f32,
}

impl Pen<'_> {
    fn line(&mut self, a: [f32; 2], b: [f32; 2]) {
        let t = &mut *self.texture;
        let (s, r) = (t.per_mm, self.width / 2.0 + 1.0 / t.per_mm);
        let col = |x: f32| ((x - t.left) * s).clamp(0.0, t.width as f32) as usize;
        let row = |y: f32| ((t.top - y) * s).clamp(0.0, t.height as f32) as usize;
        let columns = col(a[0].min(b[0]) - r)..(col(a[0].max(b[0]) + r) + 1).min(t.width);
        for j in row(a[1].max(b[1]) + r)..(row(a[1].min(b[1]) - r) + 1).min(t.height) {
            for i in columns.clone() {
                let p = [t.left + (i as f32 + 0.5) / s, t.top - (j as f32 + 0.5) / s];
                let d = [b[0] - a[0], b[1] - a[1]];
                let u = ((p[0] - a[0]) * d[0] + (p[1] - a[1]) * d[1]) / (d[0] * d[0] + d[1] * d[1]).max(1e-9);
                let u = u.clamp(0.0, 1.0);
                let far = (p[0] - a[0] - u * d[0]).hypot(p[1] - a[1] - u * d[1]);
                let k = self.opacity * ((self.width / 2.0 - far) * s + 0.5).clamp(0.0, 1.0);
                let v = &mut t.data[j * t.width + i];
                (0..3).for_each(|c| v[c] += (self.ink[c] - v[c]) * k);
            }
        }
    }

    /// A figure of seven strokes, as on a stamp.
    fn digit(&mut self, d: u8, x: f32, y: f32, h: f32) {
        const STROKES: [u8; 10] = [0x77, 0x24, 0x5d, 0x6d, 0x2e, 0x6b, 0x7b, 0x25, 0x7f, 0x6f];
        let (w, m) = (h * 0.55, y + h / 2.0);
        let ends = [
            ([x, y + h], [x + w, y + h]),
            ([x, m], [x, y + h]),
            ([x + w, m], [x + w, y + h]),
            ([x, m], [x + w, m]),
            ([x, y], [x, m]),
            ([x + w, y], [x + w, m]),
            ([x, y], [x + w, y]),
        ];
        for (i, (a, b)) in ends.into_iter().enumerate() {
            if STROKES[d as usize % 10] >> i & 1 == 1 {
                self.line(a, b);
            }
        }
    }

    /// Loops of a quick hand: looks written, says nothing.
    fn scrawl(&mut self, rng: &mut Rng, x: f32, y: f32, width: f32) {
        let (mut at, mut last) = (0.0f32, [x, y]);
        let slant = rng.between(0.15, 0.45) as f32;
        while at < width {
            let (up, step) = (rng.between(0.5, 2.6) as f32, rng.between(1.0, 2.0) as f32);
            if rng.chance(0.14) {
                at += 2.2;
                last = [x + at, y];
                continue;
            }
            for k in 1..=8 {
                let t = k as f32 / 8.0 * std::f32::consts::TAU;
                let lift = up * (0.5 - 0.5 * t.cos());
                let next = [x + at + step * (k as f32 / 8.0) + 0.45 * t.sin() + slant * lift, y + lift];
                self.line(last, next);
                last = next;
            }
            at += step;
        }
    }
}
