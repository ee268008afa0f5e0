//! What is true of a rendered frame.

use crate::rig::{Fault, Placed, Role, Scene};
use crate::{Side, chart};
use geometry::{Angle, Length, Point, Quad, Stops, point};
use optics::camera::View;
use optics::{Camera, Vec3};

/// The truth of one frame, in the conventions of the project's reports: pixels, x right, y down, azimuths from +x towards
/// +y.
#[derive(Clone, Debug, PartialEq)]
pub struct Truth {
    /// Frame width, pixels.
    pub width: usize,
    /// Frame height, pixels.
    pub height: usize,
    /// What the frame is for.
    pub role: Role,
    /// What is wrong with it.
    pub faults: Vec<Fault>,
    /// The camera's lean about the world's x axis.
    pub tilt_x: Angle,
    /// About the world's y axis.
    pub tilt_y: Angle,
    /// Frame pixels per millimetre of bed on the axis.
    pub px_per_mm: f64,
    /// Direction to the light in the image: 0 right, 90 degrees down.
    pub light_azimuth: Angle,
    /// Direction the shadow falls.
    pub shadow_azimuth: Angle,
    /// Elevation of the light over the bed.
    pub light_elevation: Angle,
    /// Half the angle the light spans in elevation.
    pub light_half_angle: Angle,
    /// Fall-off of the flash over the frame's bed, brightest to darkest.
    pub fall_off: Stops,
    /// The prints (or the chart), in the order they lie.
    pub prints: Vec<PrintTruth>,
    /// Share of the brightest channel's bed at which a reading clips: above 1 the bed is clipped somewhere.
    pub bed_level: f64,
}

/// The truth of one print in a frame.
#[derive(Clone, Debug, PartialEq)]
pub struct PrintTruth {
    /// Format name, `chart` for the chart, `ruler` for the ruler sheet.
    pub format: &'static str,
    /// Which face is up.
    pub side: Side,
    /// Corners of the top face's outer rectangle before rounding: top-left, top-right, bottom-right, bottom-left of the
    /// *upright* print.
    pub outer_px: Quad,
    /// Corners of the window, the same order.
    pub window_px: Option<Quad>,
    /// The four sides of the top face, 33 points each, from top-left.
    pub outline_px: [Vec<Point>; 4],
    /// The four sides of the bottom face.
    pub back_outline_px: [Vec<Point>; 4],
    /// Size, mm.
    pub size: (Length, Length),
    /// Turn of the print, counter-clockwise as seen in the image.
    pub rotation: Angle,
    /// Frame pixels per millimetre at the print's centre, mean of both directions.
    pub px_per_mm: f64,
    /// Lift of the curl.
    pub curl: Length,
    /// Height of the outer corners' top face over the bed.
    pub corner_height: [Length; 4],
    /// Share of the window where gloss adds more than a hundredth of a white's light.
    pub veil_share: f64,
    /// Smallest distance of the outline from the frame's edge, mm; negative where it is cropped.
    pub margin: Length,
    /// Fall-off of the flash over the print.
    pub fall_off: Stops,
}

/// The truth of a scene at a frame size; `veils` holds each sheet's veiled share of its window.
pub fn of(scene: &Scene, camera: &Camera, veils: &[f64], bed_level: f64) -> Truth {
    let (azimuth, view) = (-scene.rig.light.azimuth().to_rad(), camera.view());
    let corners = frame_on_bed(camera);
    Truth {
        width: camera.width as usize,
        height: camera.height as usize,
        role: scene.role,
        faults: scene.faults.clone(),
        tilt_x: camera.tilt_x,
        tilt_y: camera.tilt_y,
        px_per_mm: camera.px_per_mm(),
        light_azimuth: wrapped(azimuth),
        shadow_azimuth: wrapped(azimuth + std::f64::consts::PI),
        light_elevation: scene.rig.light.elevation(),
        light_half_angle: scene.rig.light.half_angle(),
        fall_off: corners.map_or(Stops::default(), |q| scene.rig.light.fall_off(&q)),
        prints: scene
            .sheets
            .iter()
            .enumerate()
            .map(|(i, s)| print(s, camera, &view, scene, veils.get(i).copied().unwrap_or(0.0)))
            .collect(),
        bed_level,
    }
}

impl Truth {
    /// The truth of the same frame resized to `width` by `height` pixels.
    pub fn resized(mut self, width: usize, height: usize) -> Self {
        let (kx, ky) = (width as f64 / self.width as f64, height as f64 / self.height as f64);
        let move_point = |p: Point| point(p.x * kx, p.y * ky);
        let k = (kx + ky) / 2.0;
        (self.width, self.height, self.px_per_mm) = (width, height, self.px_per_mm * k);
        for p in &mut self.prints {
            p.outer_px = p.outer_px.map(move_point);
            p.window_px = p.window_px.map(|q| q.map(move_point));
            for side in p.outline_px.iter_mut().chain(&mut p.back_outline_px) {
                side.iter_mut().for_each(|v| *v = move_point(*v));
            }
            p.px_per_mm *= k;
        }
        self
    }
}

/// The bed's quad that a frame shows.
pub fn frame_on_bed(camera: &Camera) -> Option<Quad> {
    let [a, b, c, d] = Quad::rectangle(camera.width, camera.height).0.map(|p| camera.bed_from_frame(p));
    Some(Quad([a?, b?, c?, d?]))
}

fn wrapped(radians: f64) -> Angle {
    Angle::rad(radians.rem_euclid(std::f64::consts::TAU))
}

fn print(placed: &Placed, camera: &Camera, view: &View, scene: &Scene, veil_share: f64) -> PrintTruth {
    let (sheet, pose) = (&placed.print.sheet, &placed.pose);
    let surface = sheet.surface();
    let frame = |p: Vec3| view.frame_from_world(pose.world_from_print(p)).unwrap_or_default();
    let sides = |depth: f64| {
        std::array::from_fn(|side| (0..33).map(|i| frame(surface.outline(side, i as f64 / 32.0, depth))).collect())
    };
    let outline_px: [Vec<Point>; 4] = sides(0.0);
    let step = |d: Point| frame(surface.at(d * 0.5)).distance(frame(surface.at(d * -0.5)));
    let px_per_mm = (step(point(1.0, 0.0)) + step(point(0.0, 1.0))) / 2.0;
    let margin_px = outline_px
        .iter()
        .flatten()
        .map(|p| p.x.min(p.y).min(camera.width - p.x).min(camera.height - p.y))
        .fold(f64::INFINITY, f64::min);
    let on_bed = sheet.outer().map(|c| pose.world_from_print(surface.at(c)).plan());
    PrintTruth {
        format: match placed.print.side {
            Side::Chart => "chart",
            Side::Ruler(_) => "ruler",
            _ => placed.print.format.map_or("plain", |f| f.name()),
        },
        side: placed.print.side,
        outer_px: sheet.outer().map(|c| frame(surface.at(c))),
        window_px: sheet.window().map(|q| q.map(|c| frame(surface.at(c)))),
        back_outline_px: sides(sheet.thickness.to_mm()),
        outline_px,
        size: (sheet.width, sheet.height),
        rotation: pose.rotation,
        px_per_mm,
        curl: sheet.curl.lift(),
        corner_height: sheet.outer().0.map(|c| Length::mm(surface.at(c).z)),
        veil_share,
        margin: Length::mm(margin_px / px_per_mm),
        fall_off: scene.rig.light.fall_off(&on_bed),
    }
}

/// Frame corners of the chart's patch `i` in a frame that shows the chart as its first sheet.
pub fn chart_patch(scene: &Scene, camera: &Camera, i: usize) -> Option<Quad> {
    let placed = scene.sheets.first()?;
    let surface = placed.print.sheet.surface();
    Some(
        chart::patch(i)
            .map(|c| camera.frame_from_world(placed.pose.world_from_print(surface.at(c))).unwrap_or_default()),
    )
}
