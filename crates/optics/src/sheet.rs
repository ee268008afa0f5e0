//! The sheet: a thin slab with a window, lying flat or curled on the bed.

use crate::shadow::Silhouette;
use crate::{Vec3, vec3};
use geometry::{Angle, Length, Point, Quad, point};

/// How a sheet leaves the flat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Curl {
    /// Not at all.
    Flat,
    /// A cylinder about an axis in the sheet that keeps the length of its middle layer: edges up for a positive lift, arched (middle up) for a
    /// negative one.
    Cylinder {
        /// Height of the farthest corner over the middle.
        lift: Length,
        /// Direction of the axis, counter-clockwise from the print's X.
        axis: Angle,
    },
    /// Two opposite edges up, the other two down.
    Saddle {
        /// Height of the left and right edges over the centre.
        lift: Length,
        /// How far top and bottom edges lie below the centre, as a share of `lift`; negative where they bend the same way: a
        /// dish, or with a negative lift a dome.
        ratio: f64,
    },
    /// One corner up.
    Corner {
        /// Height of the corner.
        lift: Length,
        /// True for a corner on the right.
        right: bool,
        /// True for a corner at the top.
        top: bool,
    },
}

impl Curl {
    /// Size of the lift, whatever its direction.
    pub fn lift(&self) -> Length {
        match *self {
            Self::Flat => Length::default(),
            Self::Cylinder { lift, .. } | Self::Saddle { lift, .. } | Self::Corner { lift, .. } => lift.abs(),
        }
    }
}

/// Widths of a print's border.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Borders {
    /// Left.
    pub left: Length,
    /// Right.
    pub right: Length,
    /// Top.
    pub top: Length,
    /// Bottom: the wide one of integral prints.
    pub bottom: Length,
}

/// A print or any small flat original, as a body.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sheet {
    /// Outer width, upright.
    pub width: Length,
    /// Outer height, upright.
    pub height: Length,
    /// Border around the window; `None` where there is no window (a back, a chart).
    pub borders: Option<Borders>,
    /// Thickness.
    pub thickness: Length,
    /// Radius of the outer corners.
    pub corner_radius: Length,
    /// Curl.
    pub curl: Curl,
}

/// Where a sheet lies on the bed.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Pose {
    /// World position of its centre.
    pub centre: Point,
    /// Turn, counter-clockwise as seen in the image.
    pub rotation: Angle,
}

impl Pose {
    /// World from print.
    pub fn world_from_print(&self, v: Vec3) -> Vec3 {
        let (s, c) = self.rotation.to_rad().sin_cos();
        vec3(self.centre.x + c * v.x - s * v.y, self.centre.y + s * v.x + c * v.y, v.z)
    }
    /// A world direction as the print sees it.
    pub fn print_direction(&self, v: Vec3) -> Vec3 {
        let (s, c) = self.rotation.to_rad().sin_cos();
        vec3(c * v.x + s * v.y, c * v.y - s * v.x, v.z)
    }
    /// A world point as the print sees it.
    pub fn print_from_world(&self, v: Vec3) -> Vec3 {
        self.print_direction(v - vec3(self.centre.x, self.centre.y, 0.0))
    }
    /// A direction of the print in the world.
    pub fn world_direction(&self, v: Vec3) -> Vec3 {
        let (s, c) = self.rotation.to_rad().sin_cos();
        vec3(c * v.x - s * v.y, s * v.x + c * v.y, v.z)
    }
}

impl Sheet {
    /// A flat sheet without a window, 0.3 mm thick.
    pub fn plain(width: Length, height: Length) -> Self {
        Self {
            width,
            height,
            borders: None,
            thickness: Length::mm(0.3),
            corner_radius: Length::default(),
            curl: Curl::Flat,
        }
    }

    /// Outer corners in print coordinates: top-left, top-right, bottom-right, bottom-left.
    pub fn outer(&self) -> Quad {
        let (x, y) = (self.width.to_mm() / 2.0, self.height.to_mm() / 2.0);
        Quad([point(-x, y), point(x, y), point(x, -y), point(-x, -y)])
    }

    /// Window corners in print coordinates, the same order.
    pub fn window(&self) -> Option<Quad> {
        let b = self.borders?;
        let (x, y) = (self.width.to_mm() / 2.0, self.height.to_mm() / 2.0);
        let (l, r) = (-x + b.left.to_mm(), x - b.right.to_mm());
        let (t, d) = (y - b.top.to_mm(), -y + b.bottom.to_mm());
        Some(Quad([point(l, t), point(r, t), point(r, d), point(l, d)]))
    }

    /// The sheet's form worked out once, for many points.
    pub fn surface(&self) -> Surface {
        Surface::new(self)
    }
}

/// A sheet's form: where each of its points lies and faces, in print axes over the bed.
#[derive(Clone, Copy, Debug)]
pub struct Surface {
    sheet: Sheet,
    form: Form,
    /// Height of the form's zero.
    base: f64,
}

#[derive(Clone, Copy, Debug)]
enum Form {
    Flat,
    /// Signed radius of the layer half way down, and the unit vector across the axis.
    Cylinder(f64, Point),
    /// Lift over half width and height, and the ratio.
    Saddle(f64, f64, f64, f64),
    /// Lift, half width and height with the corner's signs.
    Corner(f64, f64, f64),
}

/// A sheet laid by hand keeps a little air under it, mm.
const GAP: f64 = 0.02;

impl Surface {
    fn new(sheet: &Sheet) -> Self {
        let (x, y) = (sheet.width.to_mm() / 2.0, sheet.height.to_mm() / 2.0);
        let form = match sheet.curl {
            Curl::Flat => Form::Flat,
            Curl::Cylinder { lift, axis } => {
                let across = Point::at_angle(axis.to_rad()).quarter_turn();
                let reach = (across.x * x).abs() + (across.y * y).abs();
                radius(lift.to_mm(), reach, sheet.thickness.to_mm() / 2.0)
                    .map_or(Form::Flat, |r| Form::Cylinder(r, across))
            }
            Curl::Saddle { lift, ratio } => Form::Saddle(lift.to_mm(), x, y, ratio),
            Curl::Corner { lift, right, top } => {
                Form::Corner(lift.to_mm(), if right { x } else { -x }, if top { y } else { -y })
            }
        };
        let mut s = Self { sheet: *sheet, form, base: 0.0 };
        let mut low = s.at(Point::default()).z;
        for i in 0..=16 {
            let t = i as f64 / 16.0;
            for side in 0..4 {
                let (a, b) = sheet.outer().side(side);
                low = low.min(s.at(a.lerp(b, t)).z);
            }
        }
        s.base = GAP + sheet.thickness.to_mm() - low;
        s
    }

    /// The point of the top face at print coordinates; past the edges the form goes on.
    pub fn at(&self, p: Point) -> Vec3 {
        match self.form {
            Form::Flat => vec3(p.x, p.y, self.base),
            Form::Cylinder(r, across) => {
                let v = p.dot(across);
                // Past a quarter turn the form would come back on itself: a print never goes there, its surroundings may.
                let phi = (v / r).clamp(-1.2, 1.2);
                // The layer half way down keeps its length; the top face lies half a thickness along the normal.
                let top = r - self.sheet.thickness.to_mm() / 2.0;
                let q = p + across * (top * phi.sin() + (v - r * phi) * phi.cos() - v);
                vec3(q.x, q.y, self.base + top * (1.0 - phi.cos()) + (v - r * phi) * phi.sin())
            }
            Form::Saddle(l, a, b, k) => vec3(p.x, p.y, self.base + l * ((p.x / a).powi(2) - k * (p.y / b).powi(2))),
            Form::Corner(l, a, b) => vec3(p.x, p.y, self.base + l * ((p.x / a + p.y / b) / 2.0).max(0.0).powi(2)),
        }
    }

    /// The unit normal of the top face.
    pub fn normal(&self, p: Point) -> Vec3 {
        match self.form {
            Form::Flat => Vec3::UP,
            Form::Cylinder(r, across) => {
                let phi = (p.dot(across) / r).clamp(-1.2, 1.2);
                let s = -phi.sin();
                vec3(s * across.x, s * across.y, phi.cos())
            }
            Form::Saddle(l, a, b, k) => vec3(-2.0 * l * p.x / (a * a), 2.0 * k * l * p.y / (b * b), 1.0).unit(),
            Form::Corner(l, a, b) => {
                let u = ((p.x / a + p.y / b) / 2.0).max(0.0);
                vec3(-l * u / a, -l * u / b, 1.0).unit()
            }
        }
    }

    /// The point `depth` below the top face, along its normal.
    pub fn below(&self, p: Point, depth: f64) -> Vec3 {
        self.at(p) - self.normal(p) * depth
    }

    /// Print coordinates where a ray meets the face `depth` below the top, by Newton's method from the level plane there.
    ///
    /// `eye` and `ray` in print axes. `None` where the ray never comes down.
    pub fn hit(&self, eye: Vec3, ray: Vec3, depth: f64) -> Option<Point> {
        if ray.z >= -1e-9 {
            return None;
        }
        let plane = |z: f64| (eye + ray * ((z - eye.z) / ray.z)).plan();
        let mut p = plane(self.base - depth);
        // The map from print to where its point lands on the ray's plane is the identity plus slope times parallax; the
        // fixed point closes by that factor (under 0.2) each round.
        for _ in 0..24 {
            let v = self.below(p, depth);
            let e = plane(v.z) - v.plan();
            p = p + e;
            if e.norm() < 1e-9 {
                break;
            }
        }
        Some(p)
    }

    /// Highest point of the top face over the bed.
    pub fn highest(&self) -> Length {
        let outer = self.sheet.outer();
        let corners = outer.0.iter().map(|&c| self.at(c).z);
        Length::mm(corners.fold(self.at(Point::default()).z, f64::max))
    }

    /// A point of the outline: side `side` (top, right, bottom, left), `t` of the way, `depth` below the top face.
    pub fn outline(&self, side: usize, t: f64, depth: f64) -> Vec3 {
        let (a, b) = self.sheet.outer().side(side);
        self.below(a.lerp(b, t), depth)
    }

    /// The slab's edges in the world, for shadows: a straight side is one chord, a bowed one as many as keep the chords
    /// within 0.006 mm of it (n chords stray by bow / n^2).
    pub fn silhouette(&self, pose: &Pose) -> Silhouette {
        let count = |side: usize| {
            let (a, b) = (self.outline(side, 0.0, 0.0), self.outline(side, 1.0, 0.0));
            let bow = |t: f64| (self.outline(side, t, 0.0) - (a + (b - a) * t)).norm();
            let most = [0.25, 0.5, 0.75].into_iter().map(bow).fold(0.0, f64::max);
            // A bow that begins half way along (a lifted corner's) bends twice as hard where it bends.
            ((2.0 * most / 0.006).sqrt().ceil() as usize).clamp(1, 40)
        };
        let counts: [usize; 4] = std::array::from_fn(count);
        let mut starts = [0; 5];
        (0..4).for_each(|i| starts[i + 1] = starts[i] + counts[i]);
        let ring = |depth: f64| {
            (0..4)
                .flat_map(|side| (0..counts[side]).map(move |i| (side, i as f64 / counts[side] as f64)))
                .map(|(side, t)| pose.world_from_print(self.outline(side, t, depth)))
                .collect()
        };
        Silhouette { top: ring(0.0), bottom: ring(self.sheet.thickness.to_mm()), starts }
    }
}

/// The radius (with the lift's sign) at which a strip of half length `reach` lifts the end of its top face, `half` a
/// thickness off the layer that keeps its length, by `lift`: `(R - half)(1 - cos(reach / R)) = lift`. `None` for no lift
/// worth the name.
fn radius(lift: f64, reach: f64, half: f64) -> Option<f64> {
    if lift.abs() < 1e-6 {
        return None;
    }
    let sign = lift.signum();
    // Lift grows with the end's angle u = reach / R, up to u = 1.2 (half of the strip's reach in height).
    let (mut low, mut high) = (0.0, 1.2);
    for _ in 0..60 {
        let u = (low + high) / 2.0;
        if (reach / u - sign * half) * (1.0 - f64::cos(u)) < lift.abs() { low = u } else { high = u }
    }
    Some(reach / high * sign)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn curled(curl: Curl) -> Surface {
        let sheet = Sheet { curl, thickness: Length::mm(0.5), ..Sheet::plain(Length::mm(88.0), Length::mm(107.0)) };
        sheet.surface()
    }
    const ALL: [Curl; 6] = [
        Curl::Flat,
        Curl::Cylinder { lift: Length::mm(4.0), axis: Angle::deg(43.0) },
        Curl::Cylinder { lift: Length::mm(-2.2), axis: Angle::deg(90.0) },
        Curl::Cylinder { lift: Length::mm(3.0), axis: Angle::deg(0.0) },
        Curl::Saddle { lift: Length::mm(1.2), ratio: 0.7 },
        Curl::Corner { lift: Length::mm(2.5), right: true, top: true },
    ];

    #[test]
    fn the_lift_is_the_height_of_the_farthest_corner() {
        for curl in ALL {
            let s = curled(curl);
            let rest = 0.5 + GAP;
            let high = s.highest().to_mm() - rest;
            let want = match curl {
                Curl::Saddle { lift, ratio } => lift.to_mm() * (1.0 + ratio),
                _ => curl.lift().to_mm(),
            };
            // A saddle is highest at the middle of its sides, not at a corner.
            if !matches!(curl, Curl::Saddle { .. }) {
                assert!((high - want).abs() < 1e-6, "{curl:?}: {high}");
            }
            let floor =
                (0..4).flat_map(|i| (0..33).map(move |k| (i, k as f64 / 32.0))).map(|(i, t)| s.outline(i, t, 0.5).z);
            assert!(floor.fold(f64::INFINITY, f64::min) > 0.0);
        }
    }

    /// A cylinder keeps the length of its middle layer: steps along it are as long as in print coordinates.
    #[test]
    fn bending_does_not_stretch() {
        for curl in &ALL[..4] {
            let s = curled(*curl);
            for dir in [point(0.01, 0.0), point(0.0, 0.01), point(0.007, -0.004)] {
                let p = point(30.0, -40.0);
                let step = (s.below(p + dir, 0.25) - s.below(p, 0.25)).norm();
                assert!((step / dir.norm() - 1.0).abs() < 1e-6);
            }
        }
    }

    #[test]
    fn normals_are_square_to_the_surface_and_rays_find_their_point() {
        let eye = vec3(6.0, -4.0, 380.0);
        for curl in ALL {
            let s = curled(curl);
            for p in [point(40.0, 50.0), point(-30.0, 10.0), point(43.0, -52.0), point(-44.0, 53.5)] {
                let n = s.normal(p);
                let d = 1e-5;
                for t in [point(d, 0.0), point(0.0, d)] {
                    assert!((s.at(p + t) - s.at(p - t)).dot(n).abs() < 1e-9);
                }
                for depth in [0.0, 0.5] {
                    let found = s.hit(eye, s.below(p, depth) - eye, depth).unwrap();
                    assert!(found.distance(p) < 1e-7, "{curl:?} {found:?}");
                }
            }
        }
    }
}
