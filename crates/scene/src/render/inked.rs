//! Marks on a ruler sheet, each pixel by the area that each mark covers of it.

use super::edge::Edge;
use crate::ruler;
use geometry::Angle;
use geometry::ruler::{Paper, Sheet};

/// A mark ready to be looked up, print mm (x right, y up).
#[derive(Clone, Copy)]
struct Inked {
    centre: [f32; 2],
    half: [f32; 2],
    /// Cosine and sine of its turn, counter-clockwise.
    axis: [f32; 2],
    edge: Edge,
    reflectance: f32,
}

/// A sheet's marks, sorted into square bins.
pub struct Marks {
    bins: Vec<Vec<Inked>>,
    columns: usize,
    half: [f32; 2],
}

/// Side of a bin, mm: half the lattice, so that a bin holds a square with its code or less.
const BIN: f32 = 8.0;
/// A mark is kept in bins this far past its own reach, mm: more than a pixel of any frame that shows it.
const SPARE: f32 = 1.0;

impl Marks {
    /// The marks of a paper's sheet, seen at `px_per_mm` with the sheet turned by `turn` counter-clockwise in the frame.
    pub fn new(paper: Paper, turn: Angle, px_per_mm: f64) -> Self {
        let (w, h) = paper.size();
        let half = [w as f32 / 2.0, h as f32 / 2.0];
        let (columns, rows) = ((w as f32 / BIN) as usize + 1, (h as f32 / BIN) as usize + 1);
        let mut marks = Self { bins: vec![Vec::new(); columns * rows], columns, half };
        for m in Sheet::new(paper).marks() {
            let own = -m.turn;
            let inked = Inked {
                centre: [m.centre.x as f32, -m.centre.y as f32],
                half: [m.half.0 as f32, m.half.1 as f32],
                axis: [own.to_rad().cos() as f32, own.to_rad().sin() as f32],
                edge: Edge::new(turn + own, px_per_mm),
                reflectance: ruler::reflectance(m.tone) as f32,
            };
            marks.keep(inked, rows);
        }
        marks
    }

    fn keep(&mut self, m: Inked, rows: usize) {
        let reach: [f32; 2] =
            std::array::from_fn(|k| m.half[k] * m.axis[0].abs() + m.half[1 - k] * m.axis[1].abs() + SPARE);
        let bin = |v: f32, n: usize| ((v / BIN).max(0.0) as usize).min(n - 1);
        let (x, y) = (m.centre[0] + self.half[0], self.half[1] - m.centre[1]);
        for j in bin(y - reach[1], rows)..=bin(y + reach[1], rows) {
            for i in bin(x - reach[0], self.columns)..=bin(x + reach[0], self.columns) {
                self.bins[j * self.columns + i].push(m);
            }
        }
    }

    /// Mean reflectance of the pixel whose centre shows this place, print mm.
    pub fn at(&self, x: f32, y: f32) -> f32 {
        let mut light = ruler::PAPER as f32;
        let (i, j) = (((x + self.half[0]) / BIN).max(0.0) as usize, ((self.half[1] - y) / BIN).max(0.0) as usize);
        let k = j * self.columns + i.min(self.columns - 1);
        for m in self.bins.get(k).into_iter().flatten() {
            let (dx, dy) = (x - m.centre[0], y - m.centre[1]);
            let (u, v) = (dx * m.axis[0] + dy * m.axis[1], dy * m.axis[0] - dx * m.axis[1]);
            let cover = m.edge.cover(m.half[0] - u.abs()) * m.edge.cover(m.half[1] - v.abs());
            light += (m.reflectance - light) * cover;
        }
        light
    }
}
