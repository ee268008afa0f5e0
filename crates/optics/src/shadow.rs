//! Shadow: the umbra and penumbra of a lifted edge, and the visible part of a light behind a sheet.

use crate::{Light, Shape, Vec3};
use geometry::{Angle, Length, Point};

/// The shadow of a straight edge `lift` above the bed, measured square to the edge from its foot.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EdgeShadow {
    /// Height of the edge above the bed, thickness included.
    pub lift: Length,
    /// Elevation of the light's centre in the plane square to the edge.
    pub elevation: Angle,
    /// Half the angle the light spans in that plane.
    pub half_angle: Angle,
}

impl EdgeShadow {
    /// The shadow of an edge whose outward normal lies `turn` away from the direction the shadow falls:
    /// in the plane square to the edge `tan e' = tan e / cos(turn)`. `None` on the lit side.
    pub fn new(lift: Length, elevation: Angle, half_angle: Angle, turn: Angle) -> Option<Self> {
        let c = turn.to_rad().cos();
        (c > 1e-6).then(|| Self { lift, elevation: Angle::rad((elevation.to_rad().tan() / c).atan()), half_angle })
    }
    fn reach(&self, elevation: Angle) -> Length {
        self.lift * (1.0 / elevation.to_rad().tan())
    }
    /// Where full shadow ends: `h / tan(e + a)`.
    pub fn umbra(&self) -> Length {
        self.reach(self.elevation + self.half_angle)
    }
    /// Where half the light is seen: `h / tan e`.
    pub fn centre(&self) -> Length {
        self.reach(self.elevation)
    }
    /// Where the last of the shadow ends: `h / tan(e - a)`.
    pub fn end(&self) -> Length {
        self.reach(self.elevation - self.half_angle)
    }
    /// Width of the penumbra.
    pub fn softness(&self) -> Length {
        self.end() - self.umbra()
    }
    /// Share of the light seen from `x` beyond the edge's foot: `(e + a - atan(h / x)) / 2a`, cut to 0..1.
    ///
    /// ```
    /// use geometry::{Angle, Length};
    /// use optics::shadow::EdgeShadow;
    /// let edge = EdgeShadow::new(Length::mm(1.0), Angle::deg(45.0), Angle::deg(5.0), Angle::deg(0.0)).unwrap();
    /// // Half of the light is seen from where its centre is on the edge: an edge of 1 mm under 45 degrees.
    /// assert!((edge.visible(Length::mm(1.0)) - 0.5).abs() < 1e-9);
    /// assert_eq!(edge.visible(Length::mm(0.1)), 0.0);
    /// ```
    pub fn visible(&self, x: Length) -> f64 {
        let hidden_to = self.lift.to_mm().atan2(x.to_mm());
        ((self.elevation + self.half_angle).to_rad() - hidden_to).clamp(0.0, 2.0 * self.half_angle.to_rad())
            / (2.0 * self.half_angle.to_rad()).max(1e-12)
    }
    /// Darkness at `x`, 0 none to 1 black, where `ambient` is the light from elsewhere over the flash's.
    pub fn depth(&self, x: Length, ambient: f64) -> f64 {
        (1.0 - self.visible(x)) / (1.0 + ambient)
    }
    /// The lift that puts the shadow's centre at `x`.
    pub fn lift_for(centre: Length, elevation: Angle) -> Length {
        centre * elevation.to_rad().tan()
    }
}

/// The face of a light as coordinates: -1 to 1 across and up.
#[derive(Clone, Copy, Debug)]
pub struct Face {
    centre: Vec3,
    normal: Vec3,
    /// Half side over its squared length.
    across: Vec3,
    up: Vec3,
}

impl Face {
    /// The face of `light`; a round one as the square of its area.
    pub fn new(light: &Light) -> Self {
        let (normal, across, up) = light.frame();
        let k = match light.shape {
            Shape::Rectangle { .. } => 1.0,
            Shape::Disc { .. } | Shape::Sphere { .. } => std::f64::consts::PI.sqrt() / 2.0,
        };
        let scaled = |v: Vec3| v * (1.0 / (k * v.dot(v)).max(1e-30));
        Self { centre: light.position, normal, across: scaled(across), up: scaled(up) }
    }
}

/// The edge of a slab: four sides of points, top and bottom face.
#[derive(Clone, Debug)]
pub struct Silhouette {
    /// Top face, side after side (top, right, bottom, left of the upright print), each side without its last point.
    pub top: Vec<Vec3>,
    /// Bottom face, the same points.
    pub bottom: Vec<Vec3>,
    /// Where each side begins, and the number of points.
    pub starts: [usize; 5],
}

impl Silhouette {
    /// True where `p` lies outside side `i` in plan (sides clockwise as the image sees them, world y up).
    fn faces(&self, i: usize, p: Point) -> bool {
        let (a, b) = self.ends(i);
        (b.plan() - a.plan()).cross(p - a.plan()) > 0.0
    }

    /// First and last point of a side's top edge.
    pub fn ends(&self, side: usize) -> (Vec3, Vec3) {
        (self.top[self.starts[side]], self.top[self.starts[side + 1] % self.top.len()])
    }

    /// Share of the light's face that is seen from `p`, past the slab.
    ///
    /// The slab's outline as seen from `p` (top edges of the sides that face it, bottom edges of the others) is projected
    /// from `p` on the light's plane, cut there to the directions that go towards the light, and its overlap with the face
    /// is summed edge by edge: exact for a slab of straight edges, with no noise. Only directions from below to above
    /// count, as light on a bed does.
    pub fn visible(&self, face: &Face, p: Vec3) -> f64 {
        let to_centre = face.centre - p;
        let k = to_centre.dot(face.normal);
        if k >= 0.0 {
            return 0.0;
        }
        let plane = face.normal * (1.0 / k);
        let x_row = face.across - plane * to_centre.dot(face.across);
        let y_row = face.up - plane * to_centre.dot(face.up);
        let mut sum = 0.0;
        let mut cut = Cut::default();
        let n = self.top.len();
        for side in 0..4 {
            let edge = if self.faces(side, p.plan()) { &self.top } else { &self.bottom };
            for i in self.starts[side]..=self.starts[side + 1] {
                let d = edge[if i == n { 0 } else { i }] - p;
                sum += cut.next([x_row.dot(d), y_row.dot(d), plane.dot(d)]);
            }
        }
        (1.0 - (sum + cut.close()).abs() / 4.0).clamp(0.0, 1.0)
    }
}

/// Walks a closed outline in homogeneous coordinates, drops what lies behind the eye, and sums the area it shares with the
/// square -1..1.
#[derive(Default)]
struct Cut {
    last: Option<[f64; 3]>,
    first: Option<[f64; 3]>,
    pen: Option<(f64, f64)>,
    start: Option<(f64, f64)>,
}

impl Cut {
    /// Nearest depth kept, as a share of the light's distance: a thousandth of a micrometre at 1 m.
    const NEAR: f64 = 1e-9;

    fn next(&mut self, v: [f64; 3]) -> f64 {
        let mut sum = 0.0;
        if let Some(u) = self.last {
            if (u[2] > Self::NEAR) != (v[2] > Self::NEAR) {
                let t = (Self::NEAR - u[2]) / (v[2] - u[2]);
                sum += self.draw([u[0] + (v[0] - u[0]) * t, u[1] + (v[1] - u[1]) * t, Self::NEAR]);
            }
        } else {
            self.first = Some(v);
        }
        if v[2] > Self::NEAR {
            sum += self.draw(v);
        }
        self.last = Some(v);
        sum
    }

    fn draw(&mut self, v: [f64; 3]) -> f64 {
        let to = (v[0] / v[2], v[1] / v[2]);
        let from = *self.pen.get_or_insert(to);
        self.start.get_or_insert(to);
        self.pen = Some(to);
        under(from, to)
    }

    fn close(&mut self) -> f64 {
        let mut sum = self.first.map_or(0.0, |v| self.next(v));
        if let (Some(from), Some(to)) = (self.pen, self.start) {
            sum += under(from, to);
        }
        sum
    }
}

/// Signed area between a segment and y = -1, inside the square -1..1.
fn under((x0, y0): (f64, f64), (x1, y1): (f64, f64)) -> f64 {
    let (a, b) = (x0.clamp(-1.0, 1.0), x1.clamp(-1.0, 1.0));
    if a == b || (y0 <= -1.0 && y1 <= -1.0) {
        return 0.0;
    }
    if y0 >= 1.0 && y1 >= 1.0 {
        return 2.0 * (b - a);
    }
    let slope = (y1 - y0) / (x1 - x0);
    let (ya, yb) = (y0 + slope * (a - x0) + 1.0, y0 + slope * (b - x0) + 1.0);
    // The integral of a straight line cut to 0..2.
    let whole = |v: f64| {
        if v <= 0.0 {
            0.0
        } else if v < 2.0 {
            v * v / 2.0
        } else {
            2.0 * v - 2.0
        }
    };
    let mean = if (yb - ya).abs() < 1e-9 { ya.clamp(0.0, 2.0) } else { (whole(yb) - whole(ya)) / (yb - ya) };
    mean * (b - a)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Curl, Pose, Sheet, vec3};

    fn near(a: f64, b: f64, tolerance: f64) {
        assert!((a - b).abs() <= tolerance, "{a} is not {b} within {tolerance}");
    }

    /// Rules of thumb, calculated (`docs/references.md`, lighting): e = 45, a = 6 degrees; lift 0.5, 1, 3, 6 mm.
    #[test]
    fn shadows_end_where_the_rule_says() {
        for (lift, umbra, end) in [(0.5, 0.40, 0.62), (1.0, 0.81, 1.23), (3.0, 2.4, 3.7), (6.0, 4.9, 7.4)] {
            let s = EdgeShadow::new(Length::mm(lift), Angle::deg(45.0), Angle::deg(6.0), Angle::default()).unwrap();
            near(s.umbra().to_mm(), umbra, 0.05);
            near(s.end().to_mm(), end, 0.05);
            near(s.centre().to_mm(), lift, 1e-9);
            near(s.visible(s.centre()), 0.5, 1e-9);
            near(s.visible(s.end() + Length::mm(0.01)), 1.0, 1e-9);
            near(s.depth(s.umbra(), 0.25), 0.8, 1e-9);
            near(EdgeShadow::lift_for(s.centre(), s.elevation).to_mm(), lift, 1e-9);
        }
        assert!(EdgeShadow::new(Length::mm(1.0), Angle::deg(45.0), Angle::deg(6.0), Angle::deg(120.0)).is_none());
    }

    fn flat(thickness: f64) -> Silhouette {
        let mut sheet = Sheet::plain(Length::mm(88.0), Length::mm(107.0));
        sheet.thickness = Length::mm(thickness);
        sheet.curl = Curl::Flat;
        sheet.surface().silhouette(&Pose::default())
    }

    fn lamp(azimuth: f64, elevation: f64) -> Light {
        let shape = Shape::Rectangle { width: Length::mm(70.0), height: Length::mm(50.0) };
        Light::at(Angle::deg(azimuth), Angle::deg(elevation), Length::mm(800.0), shape)
    }

    /// Far from corners a flat slab is a straight edge: the penumbra begins and ends at h / tan(e + a) and h / tan(e - a).
    #[test]
    fn a_slab_casts_the_edge_shadow() {
        let slab = flat(1.0);
        let h = slab.top[0].z;
        let light = lamp(180.0, 45.0);
        let face = Face::new(&light);
        let x = |d: f64| slab.visible(&face, vec3(44.0 + d, 0.0, 0.0));
        // Angles seen from the edge itself.
        let (_, _, up) = light.frame();
        let seen = |s: f64| {
            let v = light.position + up * s - vec3(44.0, 0.0, h);
            h * v.plan().norm() / v.z
        };
        let (umbra, end) = (seen(1.0), seen(-1.0));
        assert!(x(umbra - 0.005) < 1e-6 && x(umbra + 0.01) > 1e-3, "{} {}", x(umbra - 0.005), x(umbra + 0.01));
        assert!(x(end + 0.005) > 1.0 - 1e-6 && x(end - 0.01) < 1.0 - 1e-3);
        let from_edge = light.position - vec3(44.0, 0.0, h);
        let elevation = Angle::rad(from_edge.z.atan2(from_edge.plan().norm()));
        let rule = EdgeShadow::new(Length::mm(h), elevation, light.half_angle(), Angle::default()).unwrap();
        // The rule takes the light's two edges as equally far away from its centre in angle: good to half a per cent.
        near(rule.end().to_mm(), end, 0.005 * end);
        near(rule.umbra().to_mm(), umbra, 0.005 * umbra);
        near(slab.visible(&face, vec3(-44.0 - 0.3, 0.0, 0.0)), 1.0, 1e-12);
        near(slab.visible(&face, vec3(44.0 + 30.0, 90.0, 0.0)), 1.0, 1e-12);
    }

    /// Against a plain count of rays through the slab's six faces.
    #[test]
    fn a_slab_hides_what_a_ray_count_says() {
        let slab = flat(2.0);
        let light = lamp(215.0, 40.0);
        let face = Face::new(&light);
        let (_, a, b) = light.frame();
        let (low, high) = (slab.bottom[0].z, slab.top[0].z);
        let blocked = |p: Vec3, q: Vec3| {
            // Slab method on an axis-aligned box.
            let (lo, hi) = (vec3(-44.0, -53.5, low), vec3(44.0, 53.5, high));
            let d = q - p;
            let (mut t0, mut t1) = (0.0f64, 1.0f64);
            for (o, d, l, h) in [(p.x, d.x, lo.x, hi.x), (p.y, d.y, lo.y, hi.y), (p.z, d.z, lo.z, hi.z)] {
                let (u, v) = ((l - o) / d, (h - o) / d);
                (t0, t1) = (t0.max(u.min(v)), t1.min(u.max(v)));
            }
            t0 < t1
        };
        for p in [
            (45.0, 10.0),
            (45.5, 20.0),
            (46.0, 54.5),
            (44.8, 54.3),
            (10.0, 55.2),
            (43.5, 55.0),
            (45.6, -52.9),
            (-44.2, 53.9),
        ] {
            let p = vec3(p.0, p.1, 0.0);
            let k = 200;
            let mut seen = 0;
            for i in 0..k {
                for j in 0..k {
                    let at = |i: usize| 2.0 * (i as f64 + 0.5) / k as f64 - 1.0;
                    seen += usize::from(!blocked(p, light.position + a * at(i) + b * at(j)));
                }
            }
            near(slab.visible(&face, p), seen as f64 / (k * k) as f64, 0.006);
        }
    }
}
