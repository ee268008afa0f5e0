//! A canvas of light, and the arithmetic painters share.

use rayon::prelude::*;
use std::ops::{Add, Mul, Sub};

/// A colour of light, or a direction.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct V(pub f32, pub f32, pub f32);

impl V {
    pub fn dot(self, o: Self) -> f32 {
        self.0 * o.0 + self.1 * o.1 + self.2 * o.2
    }
    pub fn norm(self) -> f32 {
        self.dot(self).sqrt()
    }
    pub fn unit(self) -> Self {
        self * (1.0 / self.norm().max(1e-9))
    }
    pub fn cross(self, o: Self) -> Self {
        V(self.1 * o.2 - self.2 * o.1, self.2 * o.0 - self.0 * o.2, self.0 * o.1 - self.1 * o.0)
    }
    /// Component by component.
    pub fn by(self, o: Self) -> Self {
        V(self.0 * o.0, self.1 * o.1, self.2 * o.2)
    }
    pub fn mix(self, o: Self, t: f32) -> Self {
        self + (o - self) * t
    }
    pub fn mirrored(self, n: Self) -> Self {
        self - n * (2.0 * self.dot(n))
    }
}
impl Add for V {
    type Output = V;
    fn add(self, o: V) -> V {
        V(self.0 + o.0, self.1 + o.1, self.2 + o.2)
    }
}
impl Sub for V {
    type Output = V;
    fn sub(self, o: V) -> V {
        V(self.0 - o.0, self.1 - o.1, self.2 - o.2)
    }
}
impl Mul<f32> for V {
    type Output = V;
    fn mul(self, k: f32) -> V {
        V(self.0 * k, self.1 * k, self.2 * k)
    }
}

/// Length of a plane vector, without the care for overflow that `hypot` takes.
pub fn norm2(x: f32, y: f32) -> f32 {
    (x * x + y * y).sqrt()
}

/// Light, row by row from the top.
pub struct Canvas {
    pub width: usize,
    pub height: usize,
    pub data: Vec<V>,
}

impl Canvas {
    /// Paints from `f(u, v, cell)`, `v` up from -1 to 1, `u` to the same scale, `cell` the side of a cell.
    pub fn paint(width: usize, height: usize, f: impl Fn(f32, f32, f32) -> V + Sync) -> Self {
        let mut data = vec![V::default(); width * height];
        let cell = 2.0 / height as f32;
        data.par_chunks_mut(width).enumerate().for_each(|(j, row)| {
            let v = 1.0 - (j as f32 + 0.5) * cell;
            row.iter_mut().enumerate().for_each(|(i, p)| *p = f(at(i, width, cell), v, cell));
        });
        Self { width, height, data }
    }

    /// The same at no more than `most` rows, with three more looks where neighbours differ by a third, enlarged to the size asked for:
    /// for painters that follow rays.
    pub fn traced(width: usize, height: usize, most: usize, f: impl Fn(f32, f32, f32) -> V + Sync) -> Self {
        // A small picture is seen small: half of its rows hold what the film's softness leaves.
        let k = (most as f32 / height as f32).min(0.52);
        let (w, h) = (((width as f32 * k) as usize).max(2), ((height as f32 * k) as usize).max(2));
        let first = Self::paint(w, h, &f);
        let cell = 2.0 / h as f32;
        let tone = |p: V| (p.dot(V(0.3, 0.6, 0.1)) + 0.02).max(1e-3);
        let rough = |i: usize, j: usize| {
            let here = tone(first.data[j * w + i]);
            [(1isize, 0isize), (-1, 0), (0, 1), (0, -1)].iter().any(|&(dx, dy)| {
                let (x, y) = ((i as isize + dx).clamp(0, w as isize - 1), (j as isize + dy).clamp(0, h as isize - 1));
                let there = tone(first.data[y as usize * w + x as usize]);
                (here / there).max(there / here) > 1.35
            })
        };
        let mut data = first.data.clone();
        data.par_chunks_mut(w).enumerate().for_each(|(j, row)| {
            let v = 1.0 - (j as f32 + 0.5) * cell;
            for (i, p) in row.iter_mut().enumerate() {
                if rough(i, j) {
                    let u = at(i, w, cell);
                    let looks = [(-0.35, -0.2), (0.35, -0.2), (0.0, 0.4)];
                    let sum = looks.iter().fold(*p, |a, (dx, dy)| a + f(u + dx * cell, v + dy * cell, cell));
                    *p = sum * 0.25;
                }
            }
        });
        Self { width: w, height: h, data }.enlarged(width, height)
    }

    fn enlarged(self, width: usize, height: usize) -> Self {
        if (width, height) == (self.width, self.height) {
            return self;
        }
        let (kx, ky) = (self.width as f32 / width as f32, self.height as f32 / height as f32);
        let mut data = vec![V::default(); width * height];
        data.par_chunks_mut(width).enumerate().for_each(|(j, row)| {
            row.iter_mut()
                .enumerate()
                .for_each(|(i, p)| *p = self.smooth((i as f32 + 0.5) * kx, (j as f32 + 0.5) * ky));
        });
        Self { width, height, data }
    }

    /// Bilinear with the weights eased, at cell coordinates.
    fn smooth(&self, x: f32, y: f32) -> V {
        let (x, y) = (x - 0.5, y - 0.5);
        let (i, j) = (x.floor(), y.floor());
        let (tx, ty) = (x - i, y - j);
        let get = |dx: isize, dy: isize| {
            let (x, y) = (
                (i as isize + dx).clamp(0, self.width as isize - 1),
                (j as isize + dy).clamp(0, self.height as isize - 1),
            );
            self.data[y as usize * self.width + x as usize]
        };
        get(0, 0).mix(get(1, 0), tx).mix(get(0, 1).mix(get(1, 1), tx), ty)
    }
}

fn at(i: usize, width: usize, cell: f32) -> f32 {
    (i as f32 + 0.5 - width as f32 / 2.0) * cell
}
