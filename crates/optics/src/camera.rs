//! The camera: a pinhole with a position, an attitude, a lens that bends and darkens, and a plane of focus.

use crate::space::turned;
use crate::{FNumber, Vec3, closeup, vec3};
use geometry::{Angle, Homography, Length, Lens, Point, point};

/// A camera over the bed. Its optical axis meets the bed at the world's origin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Camera {
    /// Frame width, pixels.
    pub width: f64,
    /// Frame height, pixels.
    pub height: f64,
    /// Distance between pixel centres on the sensor.
    pub pitch: Length,
    /// Focal length.
    pub focal: Length,
    /// From the centre of projection along the axis to the bed.
    pub distance: Length,
    /// Lean about the world's x axis, `Rx`.
    pub tilt_x: Angle,
    /// Lean about the world's y axis, `Ry`.
    pub tilt_y: Angle,
    /// Turn about the axis, `Rz`.
    pub roll: Angle,
    /// Principal point and distortion.
    pub lens: Lens,
    /// f-number as set.
    pub f_number: FNumber,
    /// Exit over entrance pupil; 1 for a symmetric lens.
    pub pupil: f64,
    /// Height above the bed of the plane in focus.
    pub focus_height: Length,
    /// Field angle at the frame's corner in the `cos^4` law of [`Camera::vignette`]; 0 for none.
    pub corner_angle: Angle,
}

impl Camera {
    /// A level camera with a straight lens that sees `field_width` of the bed from `distance`, on a sensor `sensor_width`
    /// wide.
    ///
    /// The focal length follows from `s_i = d * sensor / field` and Gauss' equation. f/8, focused on the bed.
    ///
    /// ```
    /// use geometry::Length;
    /// let camera = optics::Camera::over(6000.0, 4000.0, Length::mm(36.0), Length::mm(150.0), Length::mm(500.0));
    /// assert!((camera.px_per_mm() - 40.0).abs() < 1e-9);
    /// ```
    pub fn over(width: f64, height: f64, sensor_width: Length, field_width: Length, distance: Length) -> Self {
        let s_i = distance.to_mm() * sensor_width.to_mm() / field_width.to_mm();
        Self {
            width,
            height,
            pitch: sensor_width * (1.0 / width),
            focal: Length::mm(s_i * distance.to_mm() / (s_i + distance.to_mm())),
            distance,
            tilt_x: Angle::default(),
            tilt_y: Angle::default(),
            roll: Angle::default(),
            lens: Lens::straight(width, height),
            f_number: FNumber(8.0),
            pupil: 1.0,
            focus_height: Length::default(),
            corner_angle: Angle::default(),
        }
    }

    /// The same rig with another pixel count: field and attitude stay, pixels grow or shrink. The width rules the scale;
    /// another shape of frame sees more or less at top and bottom.
    pub fn resized(&self, width: f64, height: f64) -> Self {
        let k = width / self.width;
        let offset = self.lens.centre - point(self.width / 2.0, self.height / 2.0);
        Self {
            width,
            height,
            pitch: self.pitch * (1.0 / k),
            lens: Lens { centre: point(width / 2.0, height / 2.0) + offset * k, unit: self.lens.unit * k, ..self.lens },
            ..*self
        }
    }

    /// Distance from the lens to the plane of focus, along the axis.
    pub fn focus_distance(&self) -> Length {
        self.distance - self.focus_height
    }

    /// Magnification in the plane of focus; 0 where the focal length is too long to focus at all.
    pub fn magnification(&self) -> f64 {
        closeup::magnification(self.focal, self.focus_distance()).unwrap_or(0.0)
    }

    /// Image distance in pixels: the `f` of the pinhole.
    pub fn focal_px(&self) -> f64 {
        self.focal.to_mm() * (1.0 + self.magnification()) / self.pitch.to_mm()
    }

    /// Frame pixels per millimetre of bed where the axis meets it, for a level camera (tilt stretches one axis by
    /// 1/cos).
    pub fn px_per_mm(&self) -> f64 {
        self.focal_px() / self.distance.to_mm()
    }

    /// The f-number at work.
    pub fn working_f_number(&self) -> FNumber {
        closeup::working(self.f_number, self.magnification(), self.pupil)
    }

    /// The camera's axes in the world: right, down and forward as the image sees them.
    ///
    /// `R = Rx Ry Rz` turns the camera from straight down: right is `R x`, up `R y`, backward `R z`.
    pub fn axes(&self) -> [Vec3; 3] {
        let turn = |v| turned(v, self.tilt_x, self.tilt_y, self.roll);
        [turn(vec3(1.0, 0.0, 0.0)), turn(vec3(0.0, -1.0, 0.0)), turn(vec3(0.0, 0.0, -1.0))]
    }

    /// The centre of projection.
    pub fn position(&self) -> Vec3 {
        self.axes()[2] * -self.distance.to_mm()
    }

    /// The angle between the optical axis and the bed's normal.
    pub fn tilt(&self) -> Angle {
        Angle::rad((-self.axes()[2].z).clamp(-1.0, 1.0).acos())
    }

    /// The camera's arithmetic worked out once, for many points.
    pub fn view(&self) -> View {
        View { eye: self.position(), axes: self.axes(), f: self.focal_px(), lens: self.lens }
    }

    /// Where a point of the world falls in the frame, distortion included; `None` behind the lens.
    pub fn frame_from_world(&self, p: Vec3) -> Option<Point> {
        self.view().frame_from_world(p)
    }

    /// The point of the bed that a frame position shows, distortion removed; `None` above the horizon.
    pub fn bed_from_frame(&self, p: Point) -> Option<Point> {
        self.view().plane_from_frame(p, 0.0)
    }

    /// Bed (world x, y in mm) to the frame of the same camera with a straight lens.
    pub fn straight_from_bed(&self) -> Option<Homography> {
        let view = View { lens: Lens { k: [0.0; 3], p: [0.0; 2], ..self.lens }, ..self.view() };
        let bed = [point(-50.0, 50.0), point(50.0, 50.0), point(50.0, -50.0), point(-50.0, -50.0)];
        let frame: Option<Vec<Point>> = bed.iter().map(|p| view.frame_from_world(vec3(p.x, p.y, 0.0))).collect();
        Homography::from_points(&bed, &frame?)
    }

    /// Relative light at a frame position, `cos^4(atan(r tan(corner)))` with r = 1 at the frame's corner
    /// (natural vignetting with the corner's field angle as its one parameter).
    pub fn vignette(&self, p: Point) -> f64 {
        let r = p.distance(point(self.width / 2.0, self.height / 2.0)) / (self.width.hypot(self.height) / 2.0);
        let t = r * self.corner_angle.to_rad().tan();
        (1.0 + t * t).powi(-2)
    }

    /// Diameter of the defocus blur circle, frame pixels, of a point at `height` above the bed near the axis.
    pub fn defocus_px(&self, height: Length) -> f64 {
        let at = self.distance - height;
        closeup::blur_circle(self.focal, self.f_number, self.focus_distance(), at)
            .map_or(0.0, |c| c.to_mm() / self.pitch.to_mm())
    }

    /// Diameter of the Airy disc in frame pixels, at 550 nm.
    pub fn airy_px(&self) -> f64 {
        closeup::airy_diameter(self.working_f_number(), closeup::GREEN).to_mm() / self.pitch.to_mm()
    }

    /// Total depth of field for a blur circle of `pixels` pixels.
    pub fn depth_of_field(&self, pixels: f64) -> Length {
        closeup::depth_of_field(self.f_number, self.pitch * pixels, self.magnification().max(1e-9), self.pupil)
    }
}

/// A camera's projection with everything that does not change worked out.
#[derive(Clone, Copy, Debug)]
pub struct View {
    /// The centre of projection.
    pub eye: Vec3,
    /// Right, down, forward.
    pub axes: [Vec3; 3],
    f: f64,
    lens: Lens,
}

impl View {
    /// Where a point of the world falls in the frame; `None` behind the lens.
    pub fn frame_from_world(&self, p: Vec3) -> Option<Point> {
        let d = p - self.eye;
        let [x, y, z] = self.axes.map(|a| a.dot(d));
        (z > 0.0).then(|| self.lens.distort(self.lens.centre + point(x, y) * (self.f / z)))
    }

    /// The direction, not normalised, in which a frame position looks.
    pub fn ray(&self, p: Point) -> Vec3 {
        let u = (self.lens.straighten(p) - self.lens.centre) * (1.0 / self.f);
        self.axes[0] * u.x + self.axes[1] * u.y + self.axes[2]
    }

    /// Where a frame position meets the plane at height `z`; `None` where it looks away from it.
    pub fn plane_from_frame(&self, p: Point, z: f64) -> Option<Point> {
        let d = self.ray(p);
        let t = (z - self.eye.z) / d.z;
        (t.is_finite() && t > 0.0).then(|| (self.eye + d * t).plan())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reference() -> Camera {
        let mut c =
            Camera::over(6000.0, 4000.0, Length::mm(36.0), Length::mm(6000.0 * 400.0 / 9000.0), Length::mm(400.0));
        c.tilt_x = Angle::deg(-2.0);
        c
    }

    /// Test vector T3, computed with OpenCV 5.0 (`docs/references.md`, geometry): f = 9000, rvec (2 deg, 0, 0),
    /// t (0, 0, 400). Its y and z run against the world's, so its turn about x is the camera's lean with the sign changed.
    #[test]
    fn projects_as_the_reference_does() {
        let c = reference();
        assert!((c.focal_px() - 9000.0).abs() < 1e-6);
        let want = [
            (-44.0, 53.5, 2005.357199, 791.341507),
            (44.0, 53.5, 3994.642801, 791.341507),
            (44.0, -53.5, 3985.400341, 3197.427347),
            (-44.0, -53.5, 2014.599659, 3197.427347),
        ];
        for (x, y, u, v) in want {
            let p = c.frame_from_world(vec3(x, y, 0.0)).unwrap();
            assert!((p.x - u).abs() < 1e-6 && (p.y - v).abs() < 1e-6, "{p:?}");
            let straight = c.straight_from_bed().unwrap().apply(point(x, y));
            assert!(straight.distance(p) < 1e-6);
        }
        assert!((c.tilt().to_deg() - 2.0).abs() < 1e-9);
    }

    #[test]
    fn frame_and_bed_return_to_each_other_through_a_bent_lens() {
        let mut c = reference();
        c.tilt_y = Angle::deg(1.3);
        c.roll = Angle::deg(-0.4);
        c.lens.k = [0.02, -0.003, 0.0];
        for p in [point(10.0, 20.0), point(5990.0, 3980.0), point(3000.0, 100.0)] {
            let bed = c.bed_from_frame(p).unwrap();
            assert!(c.frame_from_world(vec3(bed.x, bed.y, 0.0)).unwrap().distance(p) < 1e-6);
        }
        let small = c.resized(600.0, 400.0);
        let far = vec3(30.0, -20.0, 1.0);
        let (a, b) = (c.frame_from_world(far).unwrap(), small.frame_from_world(far).unwrap());
        assert!((a * 0.1).distance(b) < 1e-6);
    }

    /// The cos^4 law at its own corner: 17.8 degrees leaves cos^4 = 0.822 (closed form).
    #[test]
    fn corners_darken_by_the_fourth_power_of_the_cosine() {
        let mut c = reference();
        c.corner_angle = Angle::deg(17.8);
        assert!((c.vignette(point(0.0, 0.0)) - 17.8f64.to_radians().cos().powi(4)).abs() < 1e-12);
        assert_eq!(c.vignette(point(3000.0, 2000.0)), 1.0);
    }

    #[test]
    fn depth_of_field_ends_where_the_blur_says() {
        let c = Camera::over(6000.0, 4000.0, Length::mm(36.0), Length::mm(165.0), Length::mm(400.0));
        let half = c.depth_of_field(2.0) * 0.5;
        let mean = (c.defocus_px(half) + c.defocus_px(-half)) / 2.0;
        assert!((mean - 2.0).abs() < 0.01, "{mean}");
    }
}
