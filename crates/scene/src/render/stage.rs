//! What does not change from pixel to pixel, and what changes so slowly that a coarse lattice holds it.

use super::lattice::{Lamp, Lattice, MARGIN, STEP, frame_of_node};
use super::sheet::SheetStage;
use crate::bed::{self, Fibre};
use crate::dust::{Lies, Mark, Speck};
use crate::ground::Weave;
use crate::rig::Scene;
use geometry::{Point, point};
use optics::camera::View;
use optics::{Camera, Vec3, vec3};
use rayon::prelude::*;

/// One lattice node of the bed.
#[derive(Clone, Copy, Default)]
pub struct BedNode {
    /// World x and y, mm.
    pub x: f32,
    /// World y.
    pub y: f32,
    /// Flash light relative to the origin's.
    pub flash: f32,
    /// The desk's show-through, a factor.
    pub grain: f32,
    /// Light of the ceiling panel, relative to the flash at the origin.
    pub panel: f32,
}

/// A scene at a frame size, ready to be shaded.
pub struct Stage<'a> {
    pub scene: &'a Scene,
    pub camera: Camera,
    pub view: View,
    pub width: usize,
    pub height: usize,
    /// Lattice columns.
    pub nx: usize,
    pub bed: Vec<BedNode>,
    pub sheets: Vec<SheetStage>,
    pub fibre: Fibre,
    pub ground: Weave,
    /// Flash colour; black when it is off.
    pub flash: [f32; 3],
    /// Light from everywhere: the room's own and what it returns of the flash.
    pub ambient: [f32; 3],
    /// Colour of the ceiling panel.
    pub panel_rgb: [f32; 3],
    /// From light to the sensor's full scale in green.
    pub exposure: f32,
    pub px_per_mm: f64,
    /// Dust as the frame sees it.
    pub marks: Vec<Mark>,
}

impl<'a> Stage<'a> {
    pub fn new(scene: &'a Scene, width: usize, height: usize) -> Self {
        let rig = &scene.rig;
        let camera = rig.camera.resized(width as f64, height as f64);
        let view = camera.view();
        let lamp = Lamp::new(&rig.light);
        let nx = (width + 2 * MARGIN).div_ceil(STEP) + 2;
        let ny = (height + 2 * MARGIN).div_ceil(STEP) + 2;
        let node = |i: usize, j: usize| {
            let p = view.plane_from_frame(frame_of_node(i, j), 0.0).unwrap_or_default();
            let grain = bed::show_through(&rig.bed, p.x, p.y, scene.paper());
            let flash = lamp.at(vec3(p.x, p.y, 0.0), Vec3::UP) as f32;
            let panel = rig.panel.map_or(0.0, |panel| panel.light(vec3(p.x, p.y, 0.0), Vec3::UP)) as f32;
            BedNode { x: p.x as f32, y: p.y as f32, flash, grain, panel }
        };
        let bed: Vec<BedNode> = (0..nx * ny).into_par_iter().map(|k| node(k % nx, k / nx)).collect();
        let px_per_mm = camera.px_per_mm();
        let on = if scene.flash() { 1.0 } else { 0.0 };
        let room = rig.room_bounce.factor();
        let own = rig.ambient.rgb_light();
        let with_flash: [f64; 3] = std::array::from_fn(|c| own[c] + room * rig.flash_rgb[c]);
        let mut stage = Self {
            scene,
            camera,
            view,
            width,
            height,
            nx,
            bed,
            sheets: Vec::new(),
            fibre: Fibre::new(&rig.bed, px_per_mm, scene.paper()),
            ground: Weave::new(&rig.bed, px_per_mm, scene.paper()),
            flash: rig.flash_rgb.map(|c| (c * on) as f32),
            ambient: std::array::from_fn(|c| (own[c] + on * room * rig.flash_rgb[c]) as f32),
            panel_rgb: rig.panel.map_or([0.0; 3], |p| p.rgb.map(|v| v as f32)),
            exposure: 1.0,
            px_per_mm,
            marks: Vec::new(),
        };
        stage.exposure = (rig.sensor.level / stage.brightest(with_flash[1]).max(1e-9)) as f32;
        let lattice = Lattice { scene, view: &stage.view, nx, ny, px_per_mm };
        stage.sheets = scene.sheets.iter().map(|s| SheetStage::new(s, &lattice, &lamp)).collect();
        stage.marks = scene.dust.iter().filter_map(|d| stage.mark(d)).collect();
        stage
    }

    /// A speck of dust in the frame; `None` where a print lies over it.
    fn mark(&self, speck: &Speck) -> Option<Mark> {
        let at = match speck.at {
            Lies::Sensor(p) => point(p.x * self.width as f64, p.y * self.height as f64),
            Lies::Bed(p) => {
                let bare = self.sheets.iter().all(|s| s.distance(p) > 0.0);
                bare.then(|| self.view.frame_from_world(vec3(p.x, p.y, 0.0)))??
            }
            Lies::Print(i, p) => {
                let placed = self.scene.sheets.get(i)?;
                let surface = placed.print.sheet.surface();
                self.view.frame_from_world(placed.pose.world_from_print(surface.at(p)))?
            }
        };
        Some(Mark::new(speck, at, self.px_per_mm))
    }

    /// Green light of the empty bed at its brightest in the frame, flash on, with the lens' vignette.
    fn brightest(&self, ambient: f64) -> f64 {
        let rig = &self.scene.rig;
        let inside = |p: Point| p.x >= 0.0 && p.y >= 0.0 && p.x <= self.width as f64 && p.y <= self.height as f64;
        let at = |k: usize| {
            let p = frame_of_node(k % self.nx, k / self.nx);
            let panel = self.bed[k].panel * self.panel_rgb[1];
            let e = f64::from(self.bed[k].flash) * rig.flash_rgb[1] + ambient + f64::from(panel);
            if inside(p) { e * rig.bed.rgb[1] * self.camera.vignette(p) } else { 0.0 }
        };
        (0..self.bed.len()).map(at).fold(0.0, f64::max)
    }

    /// What the brightest bed reads in its strongest channel after white balance; above 1 it clips.
    pub fn bed_level(&self) -> f64 {
        let rig = &self.scene.rig;
        (0..3).map(|c| rig.sensor.level * rig.bed.rgb[c] / rig.bed.rgb[1] * rig.sensor.wb_error[c]).fold(0.0, f64::max)
    }

    /// Per sheet, the share of its window that is veiled.
    pub fn veil_shares(&self) -> Vec<f64> {
        self.sheets.iter().map(SheetStage::veil_share).collect()
    }
}
