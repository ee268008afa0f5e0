//! Gives every pixel its two missing colours.
//!
//! Method: colour differences along rows and columns, blended by how quietly they change in each of the four directions
//! (Pekkucuksen and Altunbasak, "Gradient based threshold free color filter array interpolation", IEEE ICIP 2010, pages
//! 137-140), written from the paper. First estimates are gradient-corrected as in Hamilton and Adams 1997.

/// Rows and columns needed around a band: 1 and 3 for the last steps, 4 for the windows, 1 for the gradients, 2 for the
/// first estimates make 11; even, so that the pattern keeps its parity.
pub(super) const MARGIN: usize = 12;

/// A padded piece of mosaic. `colour[y & 1][x & 1]` counts from the piece's own corner.
pub(super) struct Piece {
    pub width: usize,
    pub height: usize,
    pub colour: [[u8; 2]; 2],
    pub data: Vec<f32>,
}

/// Red, green and blue of every pixel of the piece but its margin, row by row, handed to `emit` in reading order.
pub(super) fn demosaic(p: &Piece, mut emit: impl FnMut([f32; 3])) {
    let (w, h) = (p.width, p.height);
    let (across, down) = (differences(p, 1), differences(p, w));
    let (quiet_across, quiet_down) = (unrest(&across, w, 1), unrest(&down, w, w));
    let own = blended(p, &across, &down, &quiet_across, &quiet_down);
    let other = other_differences(p, &own);
    for y in MARGIN..h - MARGIN {
        for x in MARGIN..w - MARGIN {
            let at = y * w + x;
            emit(match p.colour_at(x, y) {
                1 => at_green(p, &own, &other, x, y),
                here => {
                    let green = p.data[at] + own[at];
                    let mut px = [green; 3];
                    px[here] = p.data[at];
                    px[2 - here] = green - other[at];
                    px
                }
            });
        }
    }
}

impl Piece {
    fn colour_at(&self, x: usize, y: usize) -> usize {
        usize::from(self.colour[y & 1][x & 1])
    }
}

/// Green minus the other colour of the line (a row for `step` 1, a column for `step` = width), estimated at every pixel:
/// the missing one is (a + b) / 2 + (2 c - c' - c'') / 4, its neighbours corrected by the curvature of the present one.
fn differences(p: &Piece, step: usize) -> Vec<f32> {
    let d = &p.data;
    let mut out = vec![0.0; d.len()];
    for y in 2..p.height - 2 {
        for x in 2..p.width - 2 {
            let i = y * p.width + x;
            let missing = 0.5 * (d[i - step] + d[i + step]) + 0.25 * (2.0 * d[i] - d[i - 2 * step] - d[i + 2 * step]);
            out[i] = if p.colour_at(x, y) == 1 { d[i] - missing } else { missing - d[i] };
        }
    }
    out
}

/// How much the differences change along the line at each pixel, summed over five pixels across the line.
fn unrest(diff: &[f32], w: usize, step: usize) -> Vec<f32> {
    let side = if step == 1 { w } else { 1 };
    let change: Vec<f32> = (0..diff.len())
        .map(|i| if i >= step && i + step < diff.len() { (diff[i - step] - diff[i + step]).abs() } else { 0.0 })
        .collect();
    let mut out = vec![0.0; diff.len()];
    for i in 2 * side..diff.len().saturating_sub(2 * side) {
        out[i] = change[i - 2 * side] + change[i - side] + change[i] + change[i + side] + change[i + 2 * side];
    }
    out
}

/// Green minus own colour at red and blue pixels: a mean difference over five pixels in each direction, the directions
/// weighted by the inverse square of the unrest in their 5 x 5 windows.
fn blended(p: &Piece, across: &[f32], down: &[f32], quiet_across: &[f32], quiet_down: &[f32]) -> Vec<f32> {
    // Below photon noise by far; keeps a perfectly flat place from dividing by zero.
    const FLOOR: f32 = 1e-9;
    // A Gaussian of one pixel instead of the paper's plain mean: colour that follows a fine wave keeps most of it (Kiku,
    // Monno, Tanaka and Okutomi, "Residual interpolation for color image demosaicking", IEEE ICIP 2013).
    const NEAR: [f32; 5] = [0.5703, 0.3459, 0.0772, 0.0063, 0.0002];
    let w = p.width;
    let mut out = vec![0.0; p.data.len()];
    // As far out as the next two steps read: 1 and 3.
    let rim = MARGIN - 4;
    for y in rim..p.height - rim {
        let first = usize::from(p.colour_at(rim, y) == 1);
        for x in (rim + first..w - rim).step_by(2) {
            let i = y * w + x;
            let (mut total, mut weights) = (0.0, 0.0);
            for (diff, unrest, step) in [(across, quiet_across, 1), (down, quiet_down, w)] {
                for back in [true, false] {
                    let at = |k: usize| if back { i - k * step } else { i + k * step };
                    let u: f32 = (0..5).map(|k| unrest[at(k)]).sum();
                    let mean: f32 = NEAR.iter().enumerate().map(|(k, n)| n * diff[at(k)]).sum();
                    let weight = 1.0 / (u * u + FLOOR);
                    total += weight * mean;
                    weights += weight;
                }
            }
            out[i] = total / weights;
        }
    }
    out
}

/// Green minus the opposite colour (blue at red, red at blue), from the twelve nearest pixels that have it: the paper's
/// 7 x 7 kernel, 10/32 at the diagonals and -1/32 at the knight's moves.
fn other_differences(p: &Piece, own: &[f32]) -> Vec<f32> {
    let w = p.width as isize;
    let near = [-w - 1, -w + 1, w - 1, w + 1];
    let far = [-3 * w - 1, -3 * w + 1, 3 * w - 1, 3 * w + 1, -w - 3, -w + 3, w - 3, w + 3];
    let mut out = vec![0.0; own.len()];
    // One pixel beyond the margin is read at green pixels.
    let rim = MARGIN - 1;
    for y in rim..p.height - rim {
        let first = usize::from(p.colour_at(rim, y) == 1);
        for x in (rim + first..p.width - rim).step_by(2) {
            let i = y * p.width + x;
            let sum = |offsets: &[isize]| offsets.iter().map(|o| own[(i as isize + o) as usize]).sum::<f32>();
            out[i] = (10.0 * sum(&near) - sum(&far)) / 32.0;
        }
    }
    out
}

/// Red and blue at a green pixel: green minus the mean difference of its four neighbours.
fn at_green(p: &Piece, own: &[f32], other: &[f32], x: usize, y: usize) -> [f32; 3] {
    let i = y * p.width + x;
    let green = p.data[i];
    let row_colour = p.colour_at(x + 1, y);
    let mut px = [green; 3];
    let (sides, ends) = ([i - 1, i + 1], [i - p.width, i + p.width]);
    let sum = |v: &[f32], at: [usize; 2]| v[at[0]] + v[at[1]];
    px[row_colour] = green - (sum(own, sides) + sum(other, ends)) / 4.0;
    px[2 - row_colour] = green - (sum(other, sides) + sum(own, ends)) / 4.0;
    px
}
