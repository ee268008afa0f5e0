//! Measures the shadow that a print casts, on a canvas at a fixed scale.

use super::Seen;
use super::beside::Neighbours;
use super::loaded_frame::LoadedFrame;
use correct::canvas::{Canvas, Warp};
use geometry::{Point, point};
use pixels::{Frame, Picture, Plane};
use print::shadow::{self, Cast, Ground, Shade, Station};
use rayon::prelude::*;

/// Bed searched for shadow beyond the print's edge, mm: the shadow of an edge lifted 6 mm under a light 30 degrees high ends
/// within it (h / tan e = 10.4 mm, and softness).
pub(crate) const SEARCH: f64 = 18.0;
/// Scale at which the shadow is measured, pixels per mm: a contact shadow of 0.3 mm is three of them. At 12 the shadow differs
/// from the truth by a thousandth less and takes half as long again.
pub(crate) const WORKING: f64 = 10.0;

/// A print's shadow, and the canvas it was measured on.
pub(super) struct Shadow {
    pub shade: Shade,
    pub cast: Cast,
    /// Profiles at the left, top, right and bottom.
    pub profiles: [Vec<Station>; 4],
    pub canvas: Canvas,
    /// Radius of the print's corners, mm.
    pub corner_mm: f64,
}

/// Measures the shadow on a canvas of its own scale.
pub(super) fn shadow(sight: &LoadedFrame, seen: &Seen, warp: &Warp, size: (f64, f64)) -> Shadow {
    let native = seen.found.pose.px_per_mm();
    let ground = Canvas::around(size, [SEARCH; 4], WORKING.min(native));
    let mut ratio = surround(sight, seen, &warp.of_bed(), &ground, native);
    if let Some(neighbours) = Neighbours::of(seen) {
        leave_out(&mut ratio, &ground, &neighbours);
    }
    let edge = warp.edge(&seen.found, &ground);
    let square = edge.plane();
    let luma = sight.frame.encoding.primaries.0[1].map(|v| v as f32);
    // A sharp lens mixes print and bed over about two pixels of the frame.
    let blur_mm = 2.5 / native;
    let g = Ground { ratio: &ratio, luma, cover: &square, print: ground.print, px_per_mm: ground.px_per_mm, blur_mm };
    let format = &seen.found.format;
    let corner_mm = if format.has_window() { shadow::corner_radius(&g, format.border()) } else { 0.0 };
    let cover = edge.rounded(corner_mm * ground.px_per_mm).plane();
    let g = Ground { cover: &cover, ..g };
    let mut shade = shadow::shade(&g);
    // The shadow outside the frame is unknown.
    shade.darkness.data.iter_mut().zip(&ratio.0[0].data).filter(|(_, v)| v.is_nan()).for_each(|(d, _)| *d = 0.0);
    let profiles = shadow::profiles(&g, &shade);
    let cast = shadow::weigh(&g, &shade, &profiles);
    Shadow { shade, cast, profiles, canvas: ground, corner_mm }
}

/// Block size in pixels for the test whether bed belongs to a neighbour: well under a millimetre, the clearance of a neighbour's edge.
const BLOCK: usize = 4;

/// Marks the area and the shadow of neighbours as unknown.
fn leave_out(ratio: &mut Picture, ground: &Canvas, neighbours: &Neighbours) {
    let (w, h) = (ground.width, ground.height);
    let blocks = (w.div_ceil(BLOCK), h.div_ceil(BLOCK));
    let own = |k: usize| {
        let middle = |i: usize| (i * BLOCK) as f64 + BLOCK as f64 / 2.0;
        neighbours.own(ground.print_from_canvas(middle(k % blocks.0), middle(k / blocks.0)), SEARCH)
    };
    let own: Vec<bool> = (0..blocks.0 * blocks.1).into_par_iter().map(own).collect();
    for plane in &mut ratio.0 {
        for (k, v) in plane.data.iter_mut().enumerate() {
            if own[k / w / BLOCK * blocks.0 + k % w / BLOCK] {
                *v = f32::NAN;
            }
        }
    }
}

/// The frame divided by its bare bed around the print, on the working canvas; NaN outside the frame, 1 well inside the print, where it
/// is not used.
fn surround(sight: &LoadedFrame, seen: &Seen, bed_way: &Warp, ground: &Canvas, native: f64) -> Picture {
    let view = View::new(&sight.frame, bed_way, ground, native);
    let [left, top, right, bottom] = ground.print;
    let deep = 3.0 * ground.px_per_mm;
    let rows_under = (top + deep) as usize..(bottom - deep).max(0.0) as usize;
    let columns_under = (left + deep) as usize..(right - deep).max(0.0) as usize;
    let gain = |p: Point| -> [f32; 3] {
        let (bed, texture) =
            (seen.light.bed.at(p.x, p.y), seen.light.texture.as_ref().map_or([1.0; 3], |t| t.at(p.x, p.y)));
        std::array::from_fn(|c| 1.0 / (bed[c] * texture[c]).max(1e-6))
    };
    // Each working pixel is the mean of what it covers: samples a pixel of the view apart or closer.
    let fine = (native / view.factor / ground.px_per_mm).ceil().max(1.0) as usize;
    let line = |y: usize, out: &mut [[f32; 3]]| {
        let place = |x: usize| bed_way.frame(ground.print_from_canvas(x as f64, y as f64 + 0.5));
        let down = (bed_way.frame(ground.print_from_canvas(0.0, y as f64 + 1.0)) - place(0)) * 2.0;
        let mut from = (place(0), gain(place(0)));
        for x0 in (0..ground.width).step_by(KNOT) {
            let to = (place(x0 + KNOT), gain(place(x0 + KNOT)));
            let across = (to.0 - from.0) * (1.0 / KNOT as f64);
            for x in x0..(x0 + KNOT).min(ground.width) {
                if rows_under.contains(&y) && columns_under.contains(&x) {
                    out[x] = [1.0; 3];
                    continue;
                }
                let t = (x - x0) as f64 + 0.5;
                let centre = from.0 + across * t;
                let part = |k: usize| (2 * k + 1) as f64 / (2 * fine) as f64 - 0.5;
                let mut sum = [0f32; 3];
                for (i, j) in (0..fine * fine).map(|k| (k % fine, k / fine)) {
                    let v = view.at(centre + across * part(i) + down * part(j));
                    (0..3).for_each(|c| sum[c] += v[c]);
                }
                let share = (t / KNOT as f64) as f32;
                let reading = sum.map(|s| s / (fine * fine) as f32);
                let gain = std::array::from_fn(|c| from.1[c] + (to.1[c] - from.1[c]) * share);
                out[x] = shadow::lit_share(reading, gain);
            }
            from = to;
        }
    };
    let mut rows = vec![[f32::NAN; 3]; ground.width * ground.height];
    rows.par_chunks_mut(ground.width).enumerate().for_each(|(y, out)| line(y, out));
    Picture(std::array::from_fn(|c| Plane {
        width: ground.width,
        height: ground.height,
        data: rows.iter().map(|v| v[c]).collect(),
    }))
}

/// Working pixels between exact evaluations of the way to the frame and of the bed's light: over a millimetre and a half
/// both are straight to a thousandth.
const KNOT: usize = 16;

/// The part of a frame that a canvas shows, reduced by a whole number to about the canvas's own scale.
struct View {
    picture: Picture,
    /// The top left pixel of the part, frame pixels.
    from: Point,
    /// Frame pixels per pixel.
    factor: f64,
}

impl View {
    fn new(frame: &Frame, bed_way: &Warp, canvas: &Canvas, native: f64) -> Self {
        // Never much coarser than the canvas: ten parts in twelve of its scale.
        let factor = (1.2 * native / canvas.px_per_mm).floor().max(1.0) as usize;
        let (w, h) = (canvas.width as f64, canvas.height as f64);
        let ends = [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)].map(|(x, y)| bed_way.frame(canvas.print_from_canvas(x, y)));
        // Two pixels more on every side for the interpolation.
        let span = |of: fn(&Point) -> f64, size: usize| {
            let (low, high) = ends.iter().map(of).fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(v), h.max(v)));
            let from = (low - 2.0 * factor as f64).clamp(0.0, (size - factor) as f64) as usize;
            let to = (high + 2.0 * factor as f64).clamp(0.0, size as f64) as usize;
            (from, ((to.max(from) - from) / factor).max(1))
        };
        let ((x, columns), (y, rows)) = (span(|p| p.x, frame.width), span(|p| p.y, frame.height));
        let picture = frame.read(x, y, columns, rows, factor);
        Self { picture, from: point(x as f64, y as f64), factor: factor as f64 }
    }

    /// The light at a frame position, bilinear; NaN outside.
    fn at(&self, p: Point) -> [f32; 3] {
        let (x, y) = ((p.x - self.from.x) / self.factor - 0.5, (p.y - self.from.y) / self.factor - 0.5);
        let (w, h) = (self.picture.width(), self.picture.height());
        if !(x >= 0.0 && y >= 0.0 && x < (w - 1) as f64 && y < (h - 1) as f64) {
            return [f32::NAN; 3];
        }
        let (i, j) = (x as usize, y as usize);
        let (fx, fy) = ((x - i as f64) as f32, (y - j as f64) as f32);
        let k = j * w + i;
        self.picture.0.each_ref().map(|p| {
            let d = &p.data;
            let top = d[k] + (d[k + 1] - d[k]) * fx;
            let bottom = d[k + w] + (d[k + w + 1] - d[k + w]) * fx;
            top + (bottom - top) * fy
        })
    }
}
