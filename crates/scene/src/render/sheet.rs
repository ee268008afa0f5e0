//! One sheet on the stage: where each pixel falls on it, how it is lit, what its gloss mirrors.

use super::edge::{Edge, inside};
use super::inked::Marks;
use super::lattice::{Lamp, Lattice, MARGIN, STEP, frame_of_node};
use crate::Side;
use crate::face::Face;
use crate::rig::Placed;
use geometry::{Point, point};
use optics::shadow::{self, Silhouette};
use optics::{Pose, Vec3, mirror};
use rayon::prelude::*;

/// One lattice node of a sheet.
#[derive(Clone, Copy, Default)]
pub struct SheetNode {
    /// Print coordinates on the top face, and on the bottom face's form.
    pub top: [f32; 2],
    pub bottom: [f32; 2],
    /// Flash light relative to the origin's, with the slope of the sheet.
    pub flash: f32,
    /// Gloss of the flash in window and border, in units of a white's light under the flash at the origin.
    pub gloss: [f32; 2],
    /// Gloss of the ceiling panel in window and border, the panel's colour left out.
    pub panel: [f32; 2],
    /// Height over the bed, mm.
    pub height: f32,
}

impl SheetNode {
    pub fn lerp(&self, o: &Self, t: f32) -> Self {
        let l = |a: f32, b: f32| a + (b - a) * t;
        let l2 = |a: [f32; 2], b: [f32; 2]| [l(a[0], b[0]), l(a[1], b[1])];
        Self {
            top: l2(self.top, o.top),
            bottom: l2(self.bottom, o.bottom),
            flash: l(self.flash, o.flash),
            gloss: l2(self.gloss, o.gloss),
            panel: l2(self.panel, o.panel),
            height: l(self.height, o.height),
        }
    }
}

/// A sheet ready to be shaded.
pub struct SheetStage {
    pub face: Face,
    /// First lattice node and size of the sheet's part of the lattice.
    pub from: (usize, usize),
    pub size: (usize, usize),
    pub nodes: Vec<SheetNode>,
    pub silhouette: Silhouette,
    /// The top face's outline in few points for the sky it hides; empty where the edges are straight and walls will do.
    pub coarse: Vec<Vec3>,
    pub lamp: shadow::Face,
    pub pose: Pose,
    /// Half width and height, mm.
    pub half: [f32; 2],
    pub radius: f32,
    /// Window: centre and half sizes, mm, and corner radius.
    pub window: Option<([f32; 2], [f32; 2], f32)>,
    pub edge: Edge,
    /// The ink of a ruler sheet.
    pub marks: Option<Marks>,
    /// Farthest that its shadow or its hiding of the sky reaches over the bed, mm.
    pub reach: f64,
    /// From a place of the bed, how far towards the light (world mm) the sheet can still shade it, and how far aside
    /// (the light's own width, and half of the gap between two looks along the way).
    pub shade: Point,
    pub spread: f64,
    /// Flash light on each side's wall, and that side's wall height at its ends and middle.
    pub wall_light: [f32; 4],
    pub wall: [f32; 3],
}

impl SheetStage {
    pub fn new(placed: &Placed, lattice: &Lattice, lamp: &Lamp) -> Self {
        let (print, pose) = (&placed.print, placed.pose);
        let (sheet, rig) = (&print.sheet, &lattice.scene.rig);
        let surface = sheet.surface();
        let (from, size) = part(lattice, &surface, &pose);
        let eye = pose.print_from_world(lattice.view.eye);
        let light = pose.print_from_world(rig.light.position);
        let spread = rig.light.half_angle();
        let on = if lattice.scene.flash() { 1.0 } else { 0.0 };
        let rough = [print.window_roughness, print.border_roughness];
        let node = |i: usize, j: usize| {
            let ray = pose.print_direction(lattice.view.ray(frame_of_node(i, j)));
            let hit = |depth: f64| surface.hit(eye, ray, depth).unwrap_or(point(1e4, 1e4));
            let (top, bottom) = (hit(0.0), hit(sheet.thickness.to_mm()));
            let (p, n) = (surface.at(top), surface.normal(top));
            let (p_world, n_world) = (pose.world_from_print(p), pose.world_direction(n));
            let flash = lamp.at(p_world, n_world);
            // A roughness of 1 is a matte face: no lobe at all.
            let shine = |r: f64| {
                if r >= 1.0 { 0.0 } else { (on * flash * mirror::gloss(n, light - p, eye - p, r, spread)) as f32 }
            };
            let panel = |r: f64| {
                rig.panel
                    .filter(|_| r < 1.0)
                    .map_or(0.0, |panel| (panel.level * panel.seen(p_world, n_world, lattice.view.eye, r)) as f32)
            };
            SheetNode {
                top: [top.x as f32, top.y as f32],
                bottom: [bottom.x as f32, bottom.y as f32],
                flash: flash as f32,
                gloss: rough.map(shine),
                panel: rough.map(panel),
                height: p.z as f32,
            }
        };
        let (w, h) = size;
        let nodes = (0..w * h).into_par_iter().map(|k| node(from.0 + k % w, from.1 + k / w)).collect();
        let silhouette = surface.silhouette(&pose);
        let bowed = if silhouette.top.len() > 4 { 8 } else { 0 };
        let coarse =
            (0..bowed).map(|i| pose.world_from_print(surface.outline(i / 2, (i % 2) as f64 / 2.0, 0.0))).collect();
        let towards = rig.light.position.plan() - pose.centre;
        let high = surface.highest().to_mm();
        let low_light = (rig.light.elevation().to_rad() - rig.light.half_angle().to_rad()).max(0.1);
        let half = [(sheet.width.to_mm() / 2.0) as f32, (sheet.height.to_mm() / 2.0) as f32];
        let window = sheet.window().map(|q| {
            let (c, d) = (q.centre(), (q.0[2] - q.0[0]) * 0.5);
            // Windows of integral prints have softly rounded corners, peel-apart masks nearly square ones.
            let round = print.format.map_or(0.2, |f| if f.has_foot() { 0.8 } else { 0.25 });
            ([c.x as f32, c.y as f32], [d.x as f32, -d.y as f32], round)
        });
        let wall_light = std::array::from_fn(|side| {
            let mid = surface.outline(side, 0.5, sheet.thickness.to_mm() / 2.0);
            let out = [(0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, 0.0)][side];
            let n = optics::vec3(out.0, out.1, 0.0);
            lamp.at(pose.world_from_print(mid), pose.world_direction(n)) as f32
        });
        // A cut edge shows paper or the plastic's own colour, a little darker than the border.
        let wall = print.border.rgb.map(|v| (0.75 * v + 0.02) as f32);
        let centre_px = truth_scale(lattice, &surface, &pose);
        let turn = pose.rotation + rig.camera.roll;
        Self {
            face: Face::new(print, lattice.px_per_mm),
            from,
            size,
            nodes,
            silhouette,
            coarse,
            lamp: shadow::Face::new(&rig.light),
            pose,
            half,
            radius: sheet.corner_radius.to_mm() as f32,
            window,
            edge: Edge::new(turn, centre_px),
            marks: match print.side {
                Side::Ruler(paper) => Some(Marks::new(paper, turn, centre_px)),
                _ => None,
            },
            reach: (high / low_light.tan() * 1.15).max(4.0 * high) + 0.5,
            shade: towards.unit() * (high / low_light.tan() * 1.1 + 0.2),
            spread: high * 0.25 + 0.2 + high / low_light.tan() * aside(&rig.light).max(1.0 / 7.0),
            wall_light,
            wall,
        }
    }

    /// The node at a lattice place, inside its part.
    pub fn node(&self, i: usize, j: usize) -> &SheetNode {
        &self.nodes[j * self.size.0 + i]
    }

    /// True where a lattice row `j` and its successor belong to this sheet's part.
    pub fn rows(&self) -> std::ops::Range<usize> {
        self.from.1..self.from.1 + self.size.1 - 1
    }
    /// The same for columns.
    pub fn columns(&self) -> std::ops::Range<usize> {
        self.from.0..self.from.0 + self.size.0 - 1
    }

    /// Share of the window where gloss adds more than a hundredth of a white's light.
    pub fn veil_share(&self) -> f64 {
        let Some((centre, half, _)) = self.window else { return 0.0 };
        let (mut all, mut veiled) = (0usize, 0usize);
        for n in &self.nodes {
            if (n.top[0] - centre[0]).abs() < half[0] && (n.top[1] - centre[1]).abs() < half[1] {
                all += 1;
                veiled += usize::from(n.gloss[0] + n.panel[0] > 0.01);
            }
        }
        veiled as f64 / all.max(1) as f64
    }

    /// True where the sheet may stand between a bed position and the light: the way to the light, as far as it stays
    /// below the sheet's highest point, comes near its plan.
    pub fn may_shade(&self, p: Point) -> bool {
        (0..5).any(|i| self.distance(p + self.shade * (f64::from(i) / 4.0)) < self.spread)
    }

    /// Distance of a bed position from the sheet's plan, mm; negative under it.
    pub fn distance(&self, p: Point) -> f64 {
        let q = self.pose.print_from_world(optics::vec3(p.x, p.y, 0.0));
        -f64::from(inside(q.x as f32, q.y as f32, self.half, self.radius))
    }
}

/// Tangent of half the angle that a light spans to the sides, seen from the origin.
fn aside(light: &optics::Light) -> f64 {
    let (_, across, _) = light.frame();
    across.norm() / light.position.plan().norm().max(1e-6)
}

/// The part of the lattice that a sheet may fall on.
fn part(lattice: &Lattice, surface: &optics::Surface, pose: &Pose) -> ((usize, usize), (usize, usize)) {
    let (mut low, mut high) = ((f64::INFINITY, f64::INFINITY), (f64::NEG_INFINITY, f64::NEG_INFINITY));
    for side in 0..4 {
        for i in 0..=8 {
            for depth in [0.0, 1.0] {
                let p = pose.world_from_print(surface.outline(side, f64::from(i) / 8.0, depth));
                let f = lattice.view.frame_from_world(p).unwrap_or_default();
                low = (low.0.min(f.x), low.1.min(f.y));
                high = (high.0.max(f.x), high.1.max(f.y));
            }
        }
    }
    let ny = lattice.ny;
    let clip = |v: f64, n: usize| (((v + MARGIN as f64) / STEP as f64).floor().max(0.0) as usize).min(n - 1);
    let (i0, j0) = (clip(low.0 - 3.0, lattice.nx), clip(low.1 - 3.0, ny));
    let (i1, j1) = (clip(high.0 + 3.0, lattice.nx) + 1, clip(high.1 + 3.0, ny) + 1);
    ((i0, j0), ((i1.min(lattice.nx - 1) - i0 + 1).max(2), (j1.min(ny - 1) - j0 + 1).max(2)))
}

/// Frame pixels per millimetre at the sheet's centre.
fn truth_scale(lattice: &Lattice, surface: &optics::Surface, pose: &Pose) -> f64 {
    let at = |d: Point| lattice.view.frame_from_world(pose.world_from_print(surface.at(d))).unwrap_or_default();
    (at(point(0.5, 0.0)).distance(at(point(-0.5, 0.0))) + at(point(0.0, 0.5)).distance(at(point(0.0, -0.5)))) / 2.0
}
