//! What is photographed, and with what.

use crate::{Ground, Print, Sensor, dust::Speck};
use geometry::{Angle, Length, Stops};
use optics::{Ambient, Camera, Light, Panel, Pose, Shape};

/// What a frame is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// A print, picture up.
    Front,
    /// A print, back up.
    Back,
    /// The bare bed.
    Blank,
    /// The colour chart.
    Chart,
    /// The ruler sheet.
    Ruler,
    /// The bare bed by ambient light alone.
    FlashOff,
}

/// What went wrong on purpose.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    /// A corner or side lies outside the frame.
    Cropped,
    /// The window mirrors something bright.
    Veiled,
    /// The print is bowed strongly.
    Curled,
    /// The plane of focus lies elsewhere.
    OutOfFocus,
    /// The camera leans.
    Tilted,
    /// Too little light.
    Underexposed,
}

/// What lies under the print: white paper as a rule.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bed {
    /// Reflectance.
    pub rgb: [f64; 3],
    /// Strength of its fibre texture: standard deviation of reflectance, relative.
    pub fibre: f64,
    /// How much the desk under it shows through: amplitude, relative.
    pub show_through: f64,
    /// Direction of the desk's grain, counter-clockwise from image right.
    pub grain: Angle,
    /// Which sheet of paper on which desk, where frames of a sitting share one; else each scene has its own.
    pub sheet: Option<u64>,
    /// What it is made of; its grain runs along `grain`.
    pub ground: Ground,
}

/// Camera, light, bed and sensor of a sitting.
#[derive(Clone, Debug, PartialEq)]
pub struct Rig {
    /// The camera. Its pixel count is replaced by the size asked of the renderer.
    pub camera: Camera,
    /// The flash.
    pub light: Light,
    /// Its colour, about 1 each.
    pub flash_rgb: [f64; 3],
    /// Flash light returned by the room, in stops relative to the flash itself.
    pub room_bounce: Stops,
    /// The room's own light.
    pub ambient: Ambient,
    /// A bright ceiling panel that glossy windows may mirror.
    pub panel: Option<Panel>,
    /// The paper.
    pub bed: Bed,
    /// The sensor and what the camera makes of it.
    pub sensor: Sensor,
}

/// A print and where it lies.
#[derive(Clone, Debug, PartialEq)]
pub struct Placed {
    /// The print.
    pub print: Print,
    /// Its place and turn.
    pub pose: Pose,
}

/// All that a frame shows.
#[derive(Clone, Debug, PartialEq)]
pub struct Scene {
    /// Seeds noise, textures and dust.
    pub seed: u64,
    /// With what.
    pub rig: Rig,
    /// What lies on the bed; later ones lie over earlier ones.
    pub sheets: Vec<Placed>,
    /// Dust on sensor, bed and prints.
    pub dust: Vec<Speck>,
    /// What the frame is for.
    pub role: Role,
    /// What is wrong with it.
    pub faults: Vec<Fault>,
}

impl Default for Bed {
    /// A smooth neutral white drawing paper.
    fn default() -> Self {
        Self {
            rgb: [0.885, 0.900, 0.905],
            fibre: 0.004,
            show_through: 0.0,
            grain: Angle::deg(20.0),
            sheet: None,
            ground: Ground::Paper,
        }
    }
}

impl Default for Rig {
    /// A 36 mm wide sensor over a 165 mm field from 420 mm; one small soft box at upper left, 0.9 m away; a dim room.
    fn default() -> Self {
        let mut camera = Camera::over(3000.0, 2000.0, Length::mm(36.0), Length::mm(165.0), Length::mm(420.0));
        // A slow lens at f/8 darkens little: 14 degrees leave 0.886 in the corner.
        camera.corner_angle = Angle::deg(14.0);
        let shape = Shape::Rectangle { width: Length::mm(64.0), height: Length::mm(46.0) };
        Self {
            camera,
            light: Light::at(Angle::deg(135.0), Angle::deg(45.0), Length::mm(900.0), shape),
            flash_rgb: [1.01, 1.0, 0.99],
            room_bounce: Stops::new(-6.0),
            ambient: Ambient { level: Stops::new(-7.5), rgb: [1.15, 1.0, 0.75] },
            panel: None,
            bed: Bed::default(),
            sensor: Sensor::default(),
        }
    }
}

impl Scene {
    /// The bare bed under a rig.
    pub fn blank(rig: Rig, seed: u64) -> Self {
        Self { seed, rig, sheets: Vec::new(), dust: Vec::new(), role: Role::Blank, faults: Vec::new() }
    }
    /// The bare bed without the flash, at the exposure of the sitting.
    pub fn flash_off(rig: Rig, seed: u64) -> Self {
        Self { role: Role::FlashOff, ..Self::blank(rig, seed) }
    }
    /// One print under a rig.
    pub fn of(rig: Rig, print: Print, pose: Pose, seed: u64) -> Self {
        let role = if print.side == crate::Side::Back { Role::Back } else { Role::Front };
        Self { sheets: vec![Placed { print, pose }], role, ..Self::blank(rig, seed) }
    }
    /// The colour chart under a rig.
    pub fn chart(rig: Rig, pose: Pose, seed: u64) -> Self {
        Self { sheets: vec![Placed { print: Print::chart(), pose }], role: Role::Chart, ..Self::blank(rig, seed) }
    }
    /// The ruler sheet of a paper under a rig.
    pub fn ruler(rig: Rig, paper: geometry::ruler::Paper, pose: Pose, seed: u64) -> Self {
        let print = crate::ruler::sheet(paper);
        Self { sheets: vec![Placed { print, pose }], role: Role::Ruler, ..Self::blank(rig, seed) }
    }
    /// What the paper and the desk under it are drawn from.
    pub fn paper(&self) -> u64 {
        self.rig.bed.sheet.unwrap_or(self.seed)
    }
    /// True where the flash fires.
    pub fn flash(&self) -> bool {
        self.role != Role::FlashOff
    }
}
