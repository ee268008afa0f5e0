//! A stock of pictures drawn once, from which thousands of small prints are cut: another part, mirrored or not.

use super::{Picture, Subject};
use crate::noise::{Rng, mix};
use std::sync::OnceLock;

/// Side of a stock picture, cells. It takes a tenth of a second to draw, and a small frame's window has fewer.
const SIDE: usize = 320;
/// Pictures of each subject.
const EACH: usize = 2;
/// Rows above which a picture is drawn for itself: a cut enlarged more than two and a half times would be soft.
pub const LARGEST: usize = 640;

const SUBJECTS: usize = Subject::ALL.len() + Subject::HARD.len();

/// A stock picture at full, half, quarter and eighth size.
type Levels = Vec<Vec<[f32; 3]>>;

static STOCK: [OnceLock<Levels>; SUBJECTS * EACH] = [const { OnceLock::new() }; SUBJECTS * EACH];

fn levels(subject: Subject, which: usize) -> &'static Levels {
    let place = &STOCK[subject as usize * EACH + which];
    // Drawing shares its rows with the other cores: a core that waits for them may begin another frame, which asks for the
    // same picture. So no lock is held meanwhile; at worst it is drawn twice, with the same outcome.
    if place.get().is_none() {
        let _ = place.set(drawn(subject, which));
    }
    place.get_or_init(|| drawn(subject, which))
}

fn drawn(subject: Subject, which: usize) -> Levels {
    let seed = mix((subject as usize * EACH + which) as u64 ^ 0x570c);
    let mut all = vec![Picture::new(subject, seed).draw(SIDE, SIDE)];
    for k in 1..4 {
        let (from, n) = (&all[k - 1], SIDE >> k);
        let at = |i: usize, j: usize| from[j * 2 * n + i];
        let mean = |i: usize, j: usize, c: usize| {
            0.25 * (at(i, j)[c] + at(i + 1, j)[c] + at(i, j + 1)[c] + at(i + 1, j + 1)[c])
        };
        let small = (0..n * n).map(|k| std::array::from_fn(|c| mean(k % n * 2, k / n * 2, c))).collect();
        all.push(small);
    }
    all
}

/// A cut of a picture's subject that fills `width` by `height` cells; which one and which part comes from its seed.
pub fn cut(picture: &Picture, width: usize, height: usize) -> Vec<[f32; 3]> {
    let mut rng = Rng::new(picture.seed);
    let levels = levels(picture.subject, (rng.bits() % EACH as u64) as usize);
    let (long, share) = (width.max(height) as f64, rng.between(0.72, 1.0));
    // Shares of the stock picture that are seen, and where they begin.
    let (w, h) = (share * width as f64 / long, share * height as f64 / long);
    let (left, top) = (rng.unit() * (1.0 - w), rng.unit() * (1.0 - h));
    let mirrored = rng.chance(0.5);
    let cells = SIDE as f64 * share / long;
    // The coarsest level that still has a cell for each new one.
    let level = (cells.max(1.0).log2() as usize).min(levels.len() - 1);
    let (from, n) = (&levels[level], SIDE >> level);
    let place = |i: usize, count: usize, start: f64, size: f64| {
        let t = ((start + size * (i as f64 + 0.5) / count as f64) * n as f64 - 0.5).clamp(0.0, (n - 1) as f64);
        let k = (t as usize).min(n - 2);
        (k, (t - k as f64) as f32)
    };
    let columns: Vec<(usize, f32)> =
        (0..width).map(|i| place(if mirrored { width - 1 - i } else { i }, width, left, w)).collect();
    let mut out = Vec::with_capacity(width * height);
    for j in 0..height {
        let (y, v) = place(j, height, top, h);
        let (a, b) = (&from[y * n..][..n], &from[(y + 1) * n..][..n]);
        out.extend(columns.iter().map(|&(x, u)| -> [f32; 3] {
            std::array::from_fn(|c| {
                let top = a[x][c] + (a[x + 1][c] - a[x][c]) * u;
                let low = b[x][c] + (b[x + 1][c] - b[x][c]) * u;
                top + (low - top) * v
            })
        }));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cut_repeats_and_seeds_differ() {
        let picture = |seed| Picture { stock: true, ..Picture::new(Subject::Pebbles, seed) };
        let a = picture(3).draw(60, 80);
        assert_eq!(a.len(), 4800);
        assert_eq!(a, picture(3).draw(60, 80));
        assert_ne!(a, picture(4).draw(60, 80));
    }
}
