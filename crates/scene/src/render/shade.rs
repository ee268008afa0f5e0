//! Light leaving the scene towards each pixel of a strip, before lens and sensor.

use super::edge::inside;
use super::lattice::{STEP, cell_of};
use super::sheet::{SheetNode, SheetStage};
use super::stage::{BedNode, Stage};
use geometry::{Point, point};
use optics::{Vec3, light, vec3};

/// A strip of rows with a margin all around: three planes and, where focus matters, height over the bed.
pub struct Strip {
    pub width: usize,
    pub rows: usize,
    pub planes: [Vec<f32>; 3],
    pub height: Vec<f32>,
}

/// What reaches a place of the bed past the sheets: share of the flash seen, share of the sky seen, and flash light
/// returned by the walls of prints.
#[derive(Clone, Copy)]
struct Reaching([f32; 3]);

impl Reaching {
    const ALL: Self = Self([1.0, 1.0, 0.0]);
    fn lerp(self, o: Self, t: f32) -> Self {
        Self(std::array::from_fn(|i| self.0[i] + (o.0[i] - self.0[i]) * t))
    }
}

/// Side of the cells on which the sheets' influence on the bed is worked out first, pixels.
const CELL: isize = 4;
/// A cell whose corners differ by less is filled straight between them; the penumbra's own steps are far smaller.
const EVEN: f32 = 0.004;

impl Stage<'_> {
    /// Shades the pixels of rows `y0 .. y0 + rows` and columns `-margin .. width + margin`.
    pub fn shade(&self, y0: isize, rows: usize, margin: usize) -> Strip {
        let width = self.width + 2 * margin;
        let x0 = -(margin as isize);
        let reach = self.reaching(x0, y0, width, rows);
        let mut planes = [0; 3].map(|_| vec![0.0f32; width * rows]);
        let mut height = vec![0.0f32; width * rows];
        let bed_rgb = self.scene.rig.bed.rgb.map(|v| v as f32);
        for j in 0..rows {
            let y = y0 + j as isize;
            let (cy, ty) = cell_of(y);
            let line = self.bed_line(cy, ty);
            let sheets: Vec<(&SheetStage, Vec<SheetNode>)> = self
                .sheets
                .iter()
                .filter(|s| s.rows().contains(&cy))
                .map(|s| (s, sheet_line(s, cy - s.from.1, ty)))
                .collect();
            for i in 0..width {
                let (cx, tx) = cell_of(x0 + i as isize);
                let node = lerp_bed(&line[cx], &line[cx + 1], tx);
                let k = j * width + i;
                let [seen, sky, back] = reach[k].0;
                let paper = node.grain * self.fibre.at(node.x, node.y);
                let ground = self.ground.at(node.x, node.y);
                let mut rgb: [f32; 3] = std::array::from_fn(|c| {
                    let room = self.ambient[c] + self.panel_rgb[c] * node.panel;
                    let e = self.flash[c] * (node.flash * seen + back) + room * sky;
                    bed_rgb[c] * ground[c] * paper * e
                });
                for (sheet, line) in &sheets {
                    if sheet.columns().contains(&cx) {
                        let at = cx - sheet.from.0;
                        height[k] = self.lay(sheet, &line[at].lerp(&line[at + 1], tx), node.panel, &mut rgb, height[k]);
                    }
                }
                (0..3).for_each(|c| planes[c][k] = rgb[c]);
            }
        }
        Strip { width, rows, planes, height }
    }

    /// Lays one sheet's light over what lies under it; returns the height of what is seen.
    fn lay(&self, sheet: &SheetStage, n: &SheetNode, panel: f32, rgb: &mut [f32; 3], under: f32) -> f32 {
        let [x, y] = n.top;
        let depth = inside(x, y, sheet.half, sheet.radius);
        // Half a pixel's diagonal past the outline there is nothing of the top face; the wall shows a little farther.
        let near = 1.0 / sheet.edge.px;
        let bottom = if depth > near {
            1.0
        } else {
            sheet.edge.cover(inside(n.bottom[0], n.bottom[1], sheet.half, sheet.radius))
        };
        let top = if depth > near { 1.0 } else { sheet.edge.cover(depth) };
        if top.max(bottom) <= 0.0 {
            return under;
        }
        let wall = bottom.max(top) - top;
        if wall > 0.0 {
            let light = sheet.wall_light[side_of(n.bottom, sheet.half)];
            for (c, v) in rgb.iter_mut().enumerate() {
                let lit = sheet.wall[c] * (self.flash[c] * light + 0.5 * self.ambient[c]);
                *v = *v * (1.0 - wall / (1.0 - top).max(1e-6)) + lit * wall / (1.0 - top).max(1e-6);
            }
        }
        let face = self.face_light(sheet, n, panel);
        (0..3).for_each(|c| rgb[c] += (face[c] - rgb[c]) * top);
        under + (n.height - under) * top
    }

    /// Light of the top face: reflectance under flash and ambient, and the gloss over it.
    fn face_light(&self, sheet: &SheetStage, n: &SheetNode, overhead: f32) -> [f32; 3] {
        let [x, y] = n.top;
        let mut albedo = [0.0f32; 3];
        let mut window = 0.0;
        if let (Some((texture, _)), Some((centre, half, radius))) = (&sheet.face.window, sheet.window) {
            window = sheet.edge.cover(inside(x - centre[0], y - centre[1], half, radius));
            if window > 0.0 {
                albedo = texture.at(x, y).map(|v| v * window);
            }
        }
        if window < 1.0 {
            let ground = match &sheet.marks {
                Some(marks) => [marks.at(x, y); 3],
                None => sheet.face.ground.at(x, y),
            };
            (0..3).for_each(|c| albedo[c] += ground[c] * (1.0 - window));
        }
        let mix = |v: [f32; 2]| v[1] + (v[0] - v[1]) * window;
        let (gloss, panel) = (mix(n.gloss), mix(n.panel));
        std::array::from_fn(|c| {
            let lit = albedo[c] * (self.flash[c] * n.flash + self.ambient[c] + self.panel_rgb[c] * overhead);
            lit + self.flash[c] * gloss + self.panel_rgb[c] * panel
        })
    }

    /// Green light of the bed with the sheets over that without them, for rows from `y0`.
    pub fn shadow(&self, y0: isize, rows: usize) -> Vec<f32> {
        let reach = self.reaching(0, y0, self.width, rows);
        let mut out = vec![1.0; self.width * rows];
        for (j, line) in out.chunks_exact_mut(self.width).enumerate() {
            let (cy, ty) = cell_of(y0 + j as isize);
            let bed = self.bed_line(cy, ty);
            for (i, v) in line.iter_mut().enumerate() {
                let (cx, tx) = cell_of(i as isize);
                let n = lerp_bed(&bed[cx], &bed[cx + 1], tx);
                let [seen, sky, back] = reach[j * self.width + i].0;
                let room = self.ambient[1] + self.panel_rgb[1] * n.panel;
                let bare = self.flash[1] * n.flash + room;
                *v = (self.flash[1] * (n.flash * seen + back) + room * sky) / bare.max(1e-9);
            }
        }
        out
    }

    /// Share of a pixel that top faces cover.
    pub fn coverage(&self, x: isize, y: isize) -> f32 {
        let ((cx, tx), (cy, ty)) = (cell_of(x), cell_of(y));
        let bare: f32 = self
            .sheets
            .iter()
            .filter(|s| s.rows().contains(&cy) && s.columns().contains(&cx))
            .map(|s| {
                let (i, j) = (cx - s.from.0, cy - s.from.1);
                let row = |j: usize| s.node(i, j).lerp(s.node(i + 1, j), tx);
                let [x, y] = row(j).lerp(&row(j + 1), ty).top;
                1.0 - s.edge.cover(inside(x, y, s.half, s.radius))
            })
            .product();
        1.0 - bare
    }

    fn bed_line(&self, cy: usize, t: f32) -> Vec<BedNode> {
        let (a, b) = (&self.bed[cy * self.nx..][..self.nx], &self.bed[(cy + 1) * self.nx..][..self.nx]);
        a.iter().zip(b).map(|(a, b)| lerp_bed(a, b, t)).collect()
    }

    /// The bed position that a frame position shows, from the lattice.
    fn bed_at(&self, x: f32, y: f32) -> Point {
        let cell = |v: f32| {
            let k = ((v + super::lattice::MARGIN as f32) / STEP as f32).max(0.0);
            (k as usize, k - k.floor())
        };
        let ((i, tx), (j, ty)) = (cell(x), cell(y));
        let (i, j) = (i.min(self.nx - 2), j.min(self.bed.len() / self.nx - 2));
        let row = |j: usize| lerp_bed(&self.bed[j * self.nx + i], &self.bed[j * self.nx + i + 1], tx);
        let n = lerp_bed(&row(j), &row(j + 1), ty);
        point(f64::from(n.x), f64::from(n.y))
    }

    /// What reaches the bed at each pixel of the strip: on a coarse grid near the sheets, refined where it bends.
    fn reaching(&self, x0: isize, y0: isize, width: usize, rows: usize) -> Vec<Reaching> {
        let mut out = vec![Reaching::ALL; width * rows];
        if self.sheets.is_empty() {
            return out;
        }
        let (gx, gy) = (x0.div_euclid(CELL), y0.div_euclid(CELL));
        let nx = (x0 + width as isize).div_euclid(CELL) - gx + 2;
        let ny = (y0 + rows as isize).div_euclid(CELL) - gy + 2;
        let corner = |i: isize, j: isize| ((gx + i) * CELL, (gy + j) * CELL);
        let grid: Vec<(Reaching, bool)> = (0..ny * nx)
            .map(|k| {
                let (x, y) = corner(k % nx, k / nx);
                self.reaching_at(self.bed_at(x as f32, y as f32), None)
            })
            .collect();
        let at = |i: isize, j: isize| grid[(j * nx + i) as usize];
        for j in 0..ny - 1 {
            for i in 0..nx - 1 {
                let corners = [at(i, j), at(i + 1, j), at(i, j + 1), at(i + 1, j + 1)];
                if corners.iter().any(|c| c.1) {
                    let (x, y) = corner(i, j);
                    self.fill_cell(&mut out, (x, y), corners.map(|c| c.0), (x0, y0, width, rows));
                }
            }
        }
        out
    }

    fn fill_cell(
        &self,
        out: &mut [Reaching],
        (x, y): (isize, isize),
        corners: [Reaching; 4],
        (x0, y0, width, rows): (isize, isize, usize, usize),
    ) {
        let differs = |c: usize| {
            let v = corners.map(|r| r.0[c]);
            v.iter().fold(f32::MIN, |a, &b| a.max(b)) - v.iter().fold(f32::MAX, |a, &b| a.min(b))
        };
        // The sky counts little beside the flash, and what walls return is soft: both may bend more within a cell.
        let (bends, seen) = (differs(1).max(differs(2)) > 3.0 * EVEN, differs(0));
        for py in y.max(y0)..(y + CELL).min(y0 + rows as isize) {
            for px in x.max(x0)..(x + CELL).min(x0 + width as isize) {
                let (u, v) = ((px - x) as f32 + 0.5, (py - y) as f32 + 0.5);
                let k = (py - y0) as usize * width + (px - x0) as usize;
                let t = 1.0 / CELL as f32;
                let straight = corners[0].lerp(corners[1], u * t).lerp(corners[2].lerp(corners[3], u * t), v * t);
                let (x, y) = (px as f32 + 0.5, py as f32 + 0.5);
                out[k] = if seen > EVEN {
                    self.reaching_pixel(x, y, seen > 0.15)
                } else if bends {
                    self.reaching_at(self.bed_at(x, y), Some(straight.0[0])).0
                } else {
                    straight
                };
            }
        }
    }

    /// At one pixel; four points where the shadow is as hard as a pixel.
    fn reaching_pixel(&self, x: f32, y: f32, hard: bool) -> Reaching {
        if !hard {
            return self.reaching_at(self.bed_at(x, y), None).0;
        }
        let mut sum = [0.0f32; 3];
        for (dx, dy) in [(-0.25, -0.25), (0.25, -0.25), (-0.25, 0.25), (0.25, 0.25)] {
            let r = self.reaching_at(self.bed_at(x + dx, y + dy), None).0;
            (0..3).for_each(|c| sum[c] += 0.25 * r.0[c]);
        }
        Reaching(sum)
    }

    /// At one place of the bed, with the share of the flash seen where it is known already; the second value is true where
    /// any sheet is near enough to matter.
    fn reaching_at(&self, p: Point, known: Option<f32>) -> (Reaching, bool) {
        let mut all = Reaching::ALL;
        let mut near = false;
        for s in &self.sheets {
            let distance = s.distance(p);
            // Far under a sheet nothing is seen: a lifted edge shifts by less than a tenth of its height.
            if distance > s.reach || distance < -3.0 {
                continue;
            }
            near = true;
            let p = s.outside(p, distance, self.px_per_mm);
            let [seen, sky, back] = s.influence(p, distance, known.is_none());
            all.0 = [all.0[0] * seen, all.0[1] * sky, all.0[2] + back];
        }
        all.0[0] = known.unwrap_or(all.0[0]);
        (all, near)
    }
}

/// Light that a wall has from the bed before it, relative to the flash on the bed: half of what a bright bed returns
/// (the half sky that a wall sees of it), less what its own shadow takes.
const FROM_BED: f32 = 0.35;

impl SheetStage {
    /// A place just under the edge is moved out of it: the bed's share of an edge pixel is its outer part.
    fn outside(&self, p: Point, distance: f64, px_per_mm: f64) -> Point {
        let px = 1.0 / px_per_mm;
        if distance > 0.25 * px || distance < -1.5 * px {
            return p;
        }
        let d = 0.02;
        let slope = point(
            self.distance(p + point(d, 0.0)) - self.distance(p - point(d, 0.0)),
            self.distance(p + point(0.0, d)) - self.distance(p - point(0.0, d)),
        );
        p + slope.unit() * (0.25 * px - distance)
    }

    /// Share of flash seen, share of sky seen, and flash light returned by the walls, at a place of the bed.
    fn influence(&self, p: Point, distance: f64, flash: bool) -> [f32; 3] {
        let at = vec3(p.x, p.y, 0.0);
        let seen = if flash && self.may_shade(p) { self.silhouette.visible(&self.lamp, at) } else { 1.0 };
        let (mut hidden, returned) = self.walls(p, distance);
        if !self.coarse.is_empty() {
            // Lambert's formula over a whole sky's pi.
            hidden = light::polygon(&self.coarse, at, Vec3::UP) / std::f64::consts::PI;
        }
        [seen as f32, (1.0 - hidden).clamp(0.0, 1.0) as f32, returned as f32]
    }

    /// The sky that the slab hides, and the flash light that its walls return, relative to the flash at the origin.
    ///
    /// A wall of height h, long against it, seen from distance x fills `(1 - cos atan(h/x)) / 2` of the cosine-weighted
    /// sky; ends count by the mean sine of the angles to them. Under a lifted edge the sky is hidden from the other side.
    fn walls(&self, p: Point, distance: f64) -> (f64, f64) {
        let (mut hidden, mut returned) = (0.0, 0.0);
        for side in 0..4 {
            let (a, b) = self.silhouette.ends(side);
            let along = (b.plan() - a.plan()).unit();
            let x = along.cross(p - a.plan());
            // Inside a side: it counts only from under the sheet, and only where it is the nearest.
            if x <= 0.0 && (distance >= 0.0 || x < distance - 1e-3) {
                continue;
            }
            let length = (b.plan() - a.plan()).dot(along);
            let t = (p - a.plan()).dot(along);
            let (first, last) = (self.silhouette.starts[side], self.silhouette.starts[side + 1]);
            let k = first + ((t / length).clamp(0.0, 0.999) * (last - first) as f64) as usize;
            let (high, low) = (self.silhouette.top[k].z, self.silhouette.bottom[k].z.max(1e-3));
            let slant = |v: f64| (v * v + x * x).sqrt();
            if x <= 0.0 {
                hidden += (1.0 - x / slant(low)) / 2.0;
                continue;
            }
            let fill = |h: f64| (1.0 - x / slant(h)) / 2.0;
            let ends = ((t / slant(t) + (length - t) / slant(length - t)) / 2.0).max(0.0);
            hidden += fill(high) * ends;
            returned += (fill(high) - fill(low)) * ends * f64::from((self.wall_light[side] + FROM_BED) * self.wall[1]);
        }
        (hidden, returned)
    }
}

/// The side (top, right, bottom, left) that a place near the outline belongs to.
fn side_of([x, y]: [f32; 2], half: [f32; 2]) -> usize {
    if x.abs() - half[0] > y.abs() - half[1] {
        if x > 0.0 { 1 } else { 3 }
    } else if y > 0.0 {
        0
    } else {
        2
    }
}

fn lerp_bed(a: &BedNode, b: &BedNode, t: f32) -> BedNode {
    let l = |a: f32, b: f32| a + (b - a) * t;
    BedNode {
        x: l(a.x, b.x),
        y: l(a.y, b.y),
        flash: l(a.flash, b.flash),
        grain: l(a.grain, b.grain),
        panel: l(a.panel, b.panel),
    }
}

fn sheet_line(s: &SheetStage, j: usize, t: f32) -> Vec<SheetNode> {
    (0..s.size.0).map(|i| s.node(i, j).lerp(s.node(i, j + 1), t)).collect()
}

impl Stage<'_> {
    /// Lays dust over a strip: on bed and prints before the lens' blur, on the sensor after it.
    pub fn dust(&self, s: &mut Strip, y0: isize, margin: usize, sensor: bool) {
        for mark in self.marks.iter().filter(|m| m.tone.is_none() == sensor) {
            let (low, high) = mark.bounds();
            let rows =
                (low.y as isize - y0).clamp(0, s.rows as isize)..(high.y as isize + 1 - y0).clamp(0, s.rows as isize);
            let x0 = margin as isize;
            let columns =
                (low.x as isize + x0).clamp(0, s.width as isize)..(high.x as isize + 1 + x0).clamp(0, s.width as isize);
            for j in rows {
                for i in columns.clone() {
                    let p = point((i - x0) as f64 + 0.5, (j + y0) as f64 + 0.5);
                    let k = mark.cover(p) * mark.opacity;
                    let n = j as usize * s.width + i as usize;
                    for c in 0..3 {
                        let own = mark.tone.map_or(0.0, |t| t * (self.flash[c] + self.ambient[c]));
                        s.planes[c][n] += (own - s.planes[c][n]) * k;
                    }
                }
            }
        }
    }
}
