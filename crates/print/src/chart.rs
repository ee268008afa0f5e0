//! Finds a colour chart, reads its patches and lays them against its known values.
//!
//! A chart is a lattice of flat, matte, mostly different patches, two by two or more, with gaps of one colour or none. It
//! may lie at any multiple of a quarter turn give or take 30 degrees, under slight tilt. Out of scope: charts of one row.

mod arrange;
mod lattice;
mod patches;
#[cfg(test)]
mod tests;

pub use arrange::arrange;

use crate::chart::lattice::Lattice;
use crate::chart::patches::{Region, Tones, regions};
use geometry::fit::{median, spread};
use geometry::{Homography, Point, Quad, point};
use pixels::{Field, Frame, Picture};

/// Flatness limits tried, as steps per pixel of the cube root of light over that of the brightest: low ones part patches from
/// gaps of nearly their own tone, high ones forgive noise and texture. Each doubles the one before.
const FLATNESS: [f32; 4] = [0.008, 0.016, 0.032, 0.064];
/// Long side, pixels, of the picture that is searched: patches of a 14 by 10 chart still span twenty, and noise is averaged.
const SEARCH_PX: usize = 1000;
/// The central share of a patch, by length, that is read: clear of blur, of gap light and of a lens's bend.
const READ_SHARE: f64 = 0.6;
/// Samples along each side of the part that is read: 1024 in all bring 2 % of noise under 0.1 %.
const SAMPLES: usize = 32;
/// Samples of a patch, three pixels apart where a patch spans a hundred: their noise is independent.
pub const READINGS: usize = SAMPLES * SAMPLES;
/// Light from which a sample counts as clipped: half a code of 8 bits under full scale.
const CLIPPED: f32 = 0.995;
/// Score from which a frame is taken for a chart with no other word.
pub const CHART_SCORE: f64 = 0.5;

/// Where a chart's patches lie in a frame.
#[derive(Clone, Debug)]
pub struct ChartPlace {
    /// Rows as the frame shows them.
    pub rows: usize,
    /// Columns as the frame shows them.
    pub cols: usize,
    /// Takes cell units (cell (row r, column c) spans x from c to c + 1, y from r to r + 1) to frame pixels.
    pub frame_from_cell: Homography,
    /// Width and height of a patch, in cells.
    pub patch_cells: [f64; 2],
    /// Cells seen as patches by themselves; the others lie where the lattice says.
    pub seen: usize,
    /// How much it is like a chart, 0 to 1 (see [`looks_like_chart`]).
    pub score: f64,
}

/// One patch as read.
#[derive(Clone, Debug, PartialEq)]
pub struct Patch {
    /// The patch in frame pixels, clockwise from its top left in the frame.
    pub quad: Quad,
    /// Mean linear light of its central part, outliers left out, in the frame's own primaries.
    pub mean: [f64; 3],
    /// What the bare bed would read there; 1 where no field was given.
    pub bed: [f64; 3],
    /// Robust standard deviation of its samples over its mean, in green.
    pub spread: f64,
    /// Share of its samples with a clipped channel.
    pub clipped: f64,
}

impl Patch {
    /// Light relative to the bed.
    pub fn relative(&self) -> [f64; 3] {
        std::array::from_fn(|b| self.mean[b] / self.bed[b].max(1e-9))
    }
}

/// A chart as read, row by row.
#[derive(Clone, Debug, PartialEq)]
pub struct ChartReading {
    /// Rows.
    pub rows: usize,
    /// Columns.
    pub cols: usize,
    /// `rows * cols` patches, row by row.
    pub patches: Vec<Patch>,
    /// Quarter turns, clockwise as seen, that bring the frame to the upright chart; 0 until arranged against values.
    pub turns: usize,
}

/// Why there is no reading.
#[derive(Clone, Debug, PartialEq)]
pub enum ChartError {
    /// No lattice of flat patches.
    NotFound,
    /// Another number of patches than the values have.
    OtherGrid {
        /// Rows and columns in the frame.
        seen: (usize, usize),
        /// Patches in the values.
        known: usize,
    },
    /// The patches fit the values only in a mirror.
    Mirrored,
    /// The patches fit the values in no turn; the share of their variation that the best turn explains.
    NoMatch(f64),
}

impl std::error::Error for ChartError {}

impl std::fmt::Display for ChartError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NotFound => {
                write!(f, "no colour chart found: lay the whole chart flat in the frame, clear of its edges")
            }
            Self::OtherGrid { seen: (r, c), known } => {
                write!(
                    f,
                    "the frame shows {r} by {c} patches and the values are for {known}: use the values of this chart"
                )
            }
            Self::Mirrored => write!(
                f,
                "the chart is seen in a mirror: use the frame as the camera wrote it; where nothing was flipped, the names of the values count rows and columns the other way round"
            ),
            Self::NoMatch(share) => write!(
                f,
                "the patches do not follow the values (the best turn explains {:.0} % of them): use the values of this chart, and see that the whole chart lies in the frame",
                share * 100.0
            ),
        }
    }
}

/// Finds a chart in a linear proxy whose pixels are `step` frame pixels wide. `grid` is its rows and columns, in either
/// order, where they are known.
///
/// # Errors
/// [`ChartError::NotFound`], or [`ChartError::OtherGrid`] where the lattice is larger than `grid`.
pub fn find_chart(proxy: &Picture, step: f64, grid: Option<(usize, usize)>) -> Result<ChartPlace, ChartError> {
    let (tones, shrink) = Tones::of(proxy, SEARCH_PX);
    let steepness = tones.steepness();
    let mut sets: Vec<Vec<Region>> = FLATNESS.iter().map(|&limit| regions(&tones, &steepness, limit)).collect();
    // One limit may show a dark row and another a pale one: together they show the whole.
    sets.push(sets.concat());
    let best = sets.iter().filter_map(|s| best_lattice(s, &tones)).max_by(|a, b| merit(a).total_cmp(&merit(b)));
    let Some((score, mut lattice)) = best else { return Err(ChartError::NotFound) };
    if let Some((rows, cols)) = grid {
        let seen = (lattice.rows, lattice.cols);
        lattice = lattice.with_grid(rows, cols).ok_or(ChartError::OtherGrid { seen, known: rows * cols })?;
    }
    let scale = Homography::scale_then_move(shrink * step, 0.0, 0.0);
    Ok(ChartPlace {
        rows: lattice.rows,
        cols: lattice.cols,
        frame_from_cell: scale.then_after(&lattice.picture_from_cell),
        patch_cells: lattice.patch_cells,
        seen: lattice.cells.len(),
        score,
    })
}

/// How much a frame's proxy looks like a colour chart, 0 to 1; from [`CHART_SCORE`] on it may be taken for one.
///
/// A chart's patches are seen one by one in a true lattice of eight or more, are flat, and mostly differ. A print has its
/// picture instead; panes or bricks in it are no lattice of different flat colours.
pub fn looks_like_chart(proxy: &Picture) -> f64 {
    find_chart(proxy, 1.0, None).map_or(0.0, |c| c.score)
}

/// The most chart-like lattice of the regions, with its score.
fn best_lattice(regions: &[Region], tones: &Tones) -> Option<(f64, Lattice)> {
    let all = lattice::lattices(regions).into_iter().map(|l| (score(regions, &l, tones), l));
    all.max_by(|a, b| merit(a).total_cmp(&merit(b)))
}

/// Among lattices that score alike the one with more cells seen is more of the chart.
fn merit((score, lattice): &(f64, Lattice)) -> f64 {
    score + 1e-3 * lattice.cells.len() as f64
}

/// 0 at `none`, 1 at `full`, straight between.
fn ramp(v: f64, none: f64, full: f64) -> f64 {
    ((v - none) / (full - none)).clamp(0.0, 1.0)
}

/// The least of six likenesses, each a ramp from what pictures show to what charts show (found by trial on drawn charts,
/// window fronts, brick walls, tiles and small prints laid in rows).
fn score(regions: &[Region], lattice: &Lattice, tones: &Tones) -> f64 {
    let colours: Vec<[f32; 3]> = lattice.cells.iter().map(|c| regions[c.region].tone).collect();
    let distinct = distinct_share(&colours);
    let greens = colours.iter().map(|c| f64::from(c[1]));
    let range = greens.clone().fold(0.0, f64::max) - greens.fold(1.0, f64::min);
    let seen = lattice.cells.len() as f64 / (lattice.rows * lattice.cols) as f64;
    let uneven = median(&mut lattice.cells.iter().map(|c| regions[c.region].unevenness(tones)).collect::<Vec<_>>());
    [
        ramp(seen, 0.5, 0.8),
        ramp(lattice.misfit, 0.10, 0.04),
        ramp(distinct, 0.35, 0.65),
        ramp(range, 0.10, 0.25),
        // 0.03 of the cube root of light is about 3 L*: what a lamp near a chart does to one patch is a tenth of it.
        ramp(uneven, 0.08, 0.03),
        ramp(lattice.cells.len() as f64, 5.0, 9.0),
    ]
    .into_iter()
    .fold(1.0, f64::min)
}

/// Share of the colours that are farther than a clear step from every one counted before.
fn distinct_share(colours: &[[f32; 3]]) -> f64 {
    // 0.03 of the cube root of light is about 3 L*: neighbours on a 24-step grey scale still count.
    const STEP: f32 = 0.03;
    let mut kept: Vec<[f32; 3]> = Vec::new();
    for c in colours {
        let apart = |k: &[f32; 3]| (0..3).map(|b| (c[b] - k[b]).abs()).fold(0.0, f32::max) > STEP;
        if kept.iter().all(apart) {
            kept.push(*c);
        }
    }
    kept.len() as f64 / colours.len().max(1) as f64
}

impl ChartPlace {
    /// The chart's card in frame pixels: its lattice and a cell's width about it, as wide as the borders of charts come
    /// (common practice, no source).
    pub fn card(&self) -> Quad {
        let (w, h) = (self.cols as f64 + 1.0, self.rows as f64 + 1.0);
        Quad([point(-1.0, -1.0), point(w, -1.0), point(w, h), point(-1.0, h)]).map(|p| self.frame_from_cell.apply(p))
    }

    /// The lattice's own corners in frame pixels, without the card.
    pub fn grid(&self) -> Quad {
        Quad::rectangle(self.cols as f64, self.rows as f64).map(|p| self.frame_from_cell.apply(p))
    }

    /// Reads every patch from the full frame, and the bed there from `bed`.
    pub fn read_frame(&self, frame: &Frame, bed: Option<&Field>) -> ChartReading {
        self.read(bed, |p| inside(p, frame.width, frame.height).map(|(x, y)| frame.linear(x, y)))
    }

    /// Reads every patch from a proxy whose pixels are `step` frame pixels wide, and the bed there from `bed`.
    pub fn read_proxy(&self, proxy: &Picture, step: f64, bed: Option<&Field>) -> ChartReading {
        self.read(bed, |p| inside(p * (1.0 / step), proxy.width(), proxy.height()).map(|(x, y)| proxy.get(x, y)))
    }

    fn read(&self, bed: Option<&Field>, at: impl Fn(Point) -> Option<[f32; 3]>) -> ChartReading {
        let cells = (0..self.rows).flat_map(|r| (0..self.cols).map(move |c| (r, c)));
        let patches = cells.map(|(r, c)| self.read_patch(r, c, bed, &at)).collect();
        ChartReading { rows: self.rows, cols: self.cols, patches, turns: 0 }
    }

    fn read_patch(&self, row: usize, col: usize, bed: Option<&Field>, at: impl Fn(Point) -> Option<[f32; 3]>) -> Patch {
        let centre = point(col as f64 + 0.5, row as f64 + 0.5);
        let [w, h] = self.patch_cells;
        let frame = |u: f64, v: f64| self.frame_from_cell.apply(centre + point(u * w / 2.0, v * h / 2.0));
        let quad = Quad([frame(-1.0, -1.0), frame(1.0, -1.0), frame(1.0, 1.0), frame(-1.0, 1.0)]);
        let offset = |i: usize| READ_SHARE * ((i as f64 + 0.5) / SAMPLES as f64 * 2.0 - 1.0);
        let samples: Vec<[f32; 3]> =
            (0..SAMPLES * SAMPLES).filter_map(|k| at(frame(offset(k % SAMPLES), offset(k / SAMPLES)))).collect();
        let (mean, spread) = robust_mean(&samples);
        let clipped = samples.iter().filter(|s| s.iter().any(|&v| v >= CLIPPED)).count();
        let c = self.frame_from_cell.apply(centre);
        Patch {
            quad,
            mean,
            bed: bed.map_or([1.0; 3], |f| f.at(c.x, c.y).map(f64::from)),
            spread,
            // A patch that leaves the frame is as useless as a clipped one.
            clipped: 1.0 - (samples.len() - clipped) as f64 / (SAMPLES * SAMPLES) as f64,
        }
    }
}

/// The pixel that holds `p`.
fn inside(p: Point, width: usize, height: usize) -> Option<(usize, usize)> {
    let (x, y) = (p.x.floor(), p.y.floor());
    (x >= 0.0 && y >= 0.0 && x < width as f64 && y < height as f64).then_some((x as usize, y as usize))
}

/// The mean of the samples whose green lies within four robust deviations of its median (dust and scratches lie outside),
/// and that deviation over the median.
fn robust_mean(samples: &[[f32; 3]]) -> ([f64; 3], f64) {
    let mut greens: Vec<f64> = samples.iter().map(|s| f64::from(s[1])).collect();
    let deviation = spread(&greens);
    let middle = median(&mut greens);
    // At least a thousandth, so that a noiseless patch keeps its own samples.
    let cut = 4.0 * deviation.max(1e-3 * middle.abs() + 1e-9);
    let kept = samples.iter().filter(|s| (f64::from(s[1]) - middle).abs() <= cut);
    let (mut sum, mut n) = ([0.0; 3], 0.0f64);
    for s in kept {
        (0..3).for_each(|b| sum[b] += f64::from(s[b]));
        n += 1.0;
    }
    (sum.map(|v| v / n.max(1.0)), deviation / middle.abs().max(1e-9))
}
