//! Turns a reading until it follows the known values, and refuses a mirror image.

use crate::chart::{ChartError, ChartReading};
use pixels::{ChartValues, Primaries, matrix};

/// The values explain at least this share of a true chart's variation; a wrong chart or a shuffled one explains far less.
const LEAST_EXPLAINED: f64 = 0.7;
/// A mirror image must leave less than this share of what the best turn leaves unexplained to be called one: charts that are
/// nearly their own mirror image stay upright.
const MIRROR_SHARE: f64 = 0.5;

/// The reading turned so that patch `i` is swatch `i` of `values`, the upright chart's.
///
/// Each of the four turns is judged by how far straight lines explain the logs of the light read by the logs of the known:
/// in level, red over green and blue over green, so that exposure, white balance and contrast do not matter.
///
/// # Errors
/// [`ChartError::OtherGrid`], [`ChartError::Mirrored`], [`ChartError::NoMatch`].
pub fn arrange(reading: &ChartReading, values: &ChartValues) -> Result<ChartReading, ChartError> {
    let known = values.swatches.len();
    let (rows, cols) = (reading.rows, reading.cols);
    let allowed: Vec<(usize, usize)> = match values.grid {
        Some(g) => vec![g],
        None => vec![(rows, cols), (cols, rows)],
    };
    let known_logs: Vec<[f64; 3]> = logs(values.swatches.iter().map(|s| camera_like(s.xyz)));
    let mut best: [Option<Turned>; 2] = [None, None];
    for mirrored in [false, true] {
        for turns in 0..4 {
            let (order, grid) = turned(rows, cols, turns, mirrored);
            if !allowed.contains(&grid) || order.len() != known {
                continue;
            }
            let read = logs(order.iter().map(|&i| reading.patches[i].relative()));
            let left = unexplained(&known_logs, &read);
            let slot = &mut best[usize::from(mirrored)];
            if slot.as_ref().is_none_or(|b| left < b.left) {
                *slot = Some(Turned { left, order, turns, grid });
            }
        }
    }
    let [upright, mirror] = best;
    let Some(Turned { left, order, turns, grid: (rows, cols) }) = upright else {
        return Err(ChartError::OtherGrid { seen: (rows, cols), known });
    };
    let mirror_left = mirror.map_or(f64::INFINITY, |m| m.left);
    if mirror_left < 1.0 - LEAST_EXPLAINED && mirror_left < MIRROR_SHARE * left {
        return Err(ChartError::Mirrored);
    }
    if left > 1.0 - LEAST_EXPLAINED {
        return Err(ChartError::NoMatch(1.0 - left));
    }
    let patches = order.into_iter().map(|i| reading.patches[i].clone()).collect();
    Ok(ChartReading { rows, cols, patches, turns })
}

/// A turn that was tried.
struct Turned {
    /// Share of the variation that it leaves unexplained.
    left: f64,
    order: Vec<usize>,
    turns: usize,
    grid: (usize, usize),
}

/// The order in which to take patches so that they stand as after `turns` quarter turns clockwise (and, mirrored, left for
/// right before that), with the rows and columns there.
fn turned(rows: usize, cols: usize, turns: usize, mirrored: bool) -> (Vec<usize>, (usize, usize)) {
    let (r, c) = if turns.is_multiple_of(2) { (rows, cols) } else { (cols, rows) };
    let source = |i: usize, j: usize| {
        let (y, x) = match turns {
            0 => (i, j),
            1 => (rows - 1 - j, i),
            2 => (rows - 1 - i, cols - 1 - j),
            _ => (j, cols - 1 - i),
        };
        y * cols + if mirrored { cols - 1 - x } else { x }
    };
    ((0..r * c).map(|k| source(k / c, k % c)).collect(), (r, c))
}

/// Linear sRGB of an XYZ: near enough to any camera's own red, green and blue to tell patches apart.
fn camera_like(xyz: [f64; 3]) -> [f64; 3] {
    Primaries::srgb().rgb_from_xyz().map_or(xyz, |m| matrix::apply(&m, xyz))
}

/// Level, red over green and blue over green, as logs.
fn logs(rgb: impl Iterator<Item = [f64; 3]>) -> Vec<[f64; 3]> {
    // Light under half a per cent is flare and noise; colours out of gamut may be negative.
    rgb.map(|c| c.map(|v| v.max(0.005).ln())).map(|[r, g, b]| [(r + g + b) / 3.0, r - g, b - g]).collect()
}

/// Share of the variation of `read` that rising straight lines of `known` leave, the three kinds of log together.
fn unexplained(known: &[[f64; 3]], read: &[[f64; 3]]) -> f64 {
    let n = known.len() as f64;
    let (mut left, mut all) = (0.0, 1e-12);
    for k in 0..3 {
        let mean = |v: &[[f64; 3]]| v.iter().map(|x| x[k]).sum::<f64>() / n;
        let (mk, mr) = (mean(known), mean(read));
        let sum =
            |f: &dyn Fn(f64, f64) -> f64| known.iter().zip(read).map(|(a, b)| f(a[k] - mk, b[k] - mr)).sum::<f64>();
        let (kk, kr, rr) = (sum(&|a, _| a * a), sum(&|a, b| a * b), sum(&|_, b| b * b));
        all += rr;
        left += rr - kr.max(0.0).powi(2) / kk.max(1e-12);
    }
    left / all
}
