//! Reflection: where the glossy print mirrors the room, and how much bow it may have before it does.

use crate::{Light, Vec3, vec3};
use geometry::{Angle, Length, Point, point};

/// Where the level print plane (z = 0) mirrors `lamp` into a lens at `eye`:
/// `P = L + (C' - L) z_L / (z_L + z_C)` with `C'` the lens mirrored below the plane.
pub fn mirror_point(lamp: Vec3, eye: Vec3) -> Point {
    let below = vec3(eye.x, eye.y, -eye.z);
    (lamp + (below - lamp) * (lamp.z / (lamp.z + eye.z))).plan()
}

/// The outline of the mirrored face of a light on the level print plane.
pub fn mirrored_outline(light: &Light, eye: Vec3) -> Vec<Point> {
    light.outline().into_iter().map(|v| mirror_point(v, eye)).collect()
}

/// The steepest local slope before a light shows in the gloss: `(phi - source - view) / 2`.
///
/// `from_vertical` is the light's angle from the bed's normal, `source` half its angular size, `view` the view's angle
/// from the normal at the print's edge. A slope turns the mirror ray by twice itself.
pub fn curl_budget(from_vertical: Angle, source: Angle, view: Angle) -> Angle {
    (from_vertical - source - view) * 0.5
}

/// Slope at the edge of a circular bow over a width: `2 atan(2 bow / width)`.
pub fn slope_of_bow(bow: Length, width: Length) -> Angle {
    Angle::rad(2.0 * (2.0 * bow.to_mm() / width.to_mm()).atan())
}

/// The bow over a width whose edge slope is `slope`.
pub fn bow_of_slope(slope: Angle, width: Length) -> Length {
    width * ((slope.to_rad() / 2.0).tan() / 2.0)
}

/// Unpolarised reflectance of a smooth surface of refractive index 1.5 at an angle whose cosine is `cosine`
/// (Schlick 1994, doi 10.1111/1467-8659.1330233; 4 % at normal incidence).
///
/// ```
/// // Glass of index 1.5 mirrors 4 % of what meets it square on.
/// assert!((optics::mirror::fresnel(1.0) - 0.04).abs() < 1e-3);
/// ```
pub fn fresnel(cosine: f64) -> f64 {
    const NORMAL: f64 = 0.04;
    NORMAL + (1.0 - NORMAL) * (1.0 - cosine.clamp(0.0, 1.0)).powi(5)
}

/// Gloss of a coat under a light, in units of a perfect white diffuser lit the same.
///
/// Microfacets with the distribution of Walter et al., *Microfacet Models for Refraction* (EGSR 2007):
/// `pi F D / (4 cos_v)` with `D = a^2 / (pi ((n.h)^2 (a^2 - 1) + 1)^2)`, shadowing left out (under 1 % at the slopes of a
/// print). `spread` is the light's angular radius: it widens the lobe as an added slope of half of it.
pub fn gloss(n: Vec3, to_light: Vec3, to_eye: Vec3, roughness: f64, spread: Angle) -> f64 {
    let (l, v) = (to_light.unit(), to_eye.unit());
    let h = (l + v).unit();
    let a2 = roughness.powi(2) + (spread.to_rad() / 2.0).powi(2);
    let nh = n.dot(h).max(0.0);
    let t = nh * nh * (a2 - 1.0) + 1.0;
    fresnel(v.dot(h)) * a2 / (t * t) / (4.0 * n.dot(v).max(0.05))
}

/// A bright level rectangle overhead: a ceiling lamp, a window's sky light.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Panel {
    /// Height above the bed.
    pub height: Length,
    /// One corner, world x and y in mm.
    pub from: Point,
    /// The opposite corner.
    pub to: Point,
    /// What its full reflection adds, as a share of the light a perfect white gives off where the axis meets the bed.
    pub level: f64,
    /// Colour, about 1 each.
    pub rgb: [f64; 3],
}

impl Panel {
    /// How much of the panel a glossy point mirrors into the eye, 0 to 1: the panel's outline softened by the coat's
    /// roughness (a Gaussian of that slope, mirrored).
    pub fn seen(&self, p: Vec3, n: Vec3, eye: Vec3, roughness: f64) -> f64 {
        let out = (p - eye).unit().mirrored(n);
        if out.z <= 1e-6 {
            return 0.0;
        }
        let t = (self.height.to_mm() - p.z) / out.z;
        let hit = p + out * t;
        // A slope error turns the ray by twice itself; roughness is root 2 times the slope's standard deviation.
        let soft = (t * roughness * std::f64::consts::SQRT_2).max(1e-6);
        let inside = |v: f64, a: f64, b: f64| step((v - a.min(b)) / soft) - step((v - a.max(b)) / soft);
        inside(hit.x, self.from.x, self.to.x) * inside(hit.y, self.from.y, self.to.y)
    }

    /// What the panel itself gives a small piece at `p` with unit normal `n`, as a share of the flash's light on the bed
    /// at the origin.
    ///
    /// Its full reflection is 4 % of its radiance L: `level = 0.04 pi L / E`, so `E_panel / E = level / 0.04 * F / pi` with
    /// F its projected solid angle (Lambert's formula).
    pub fn light(&self, p: Vec3, n: Vec3) -> f64 {
        let (a, b, z) = (self.from, self.to, self.height.to_mm());
        let corners = [vec3(a.x, a.y, z), vec3(b.x, a.y, z), vec3(b.x, b.y, z), vec3(a.x, b.y, z)];
        self.level / fresnel(1.0) * crate::light::polygon(&corners, p, n) / std::f64::consts::PI
    }

    /// The panel's mirror image on the level print plane, as its two opposite corners.
    pub fn mirrored(&self, eye: Vec3) -> [Point; 2] {
        let z = self.height.to_mm();
        [self.from, self.to].map(|c| mirror_point(vec3(c.x, c.y, z), eye))
    }
}

/// The standard normal's distribution function by the logistic curve `1 / (1 + exp(-1.702 x))` (within 0.01 of it; a soft
/// edge needs no more).
fn step(x: f64) -> f64 {
    1.0 / (1.0 + (-1.702 * x).exp())
}

/// The point of the print plane straight under the eye: where a camera sees itself.
pub fn own_reflection(eye: Vec3) -> Point {
    point(eye.x, eye.y)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Shape;

    fn near(a: f64, b: f64, tolerance: f64) {
        assert!((a - b).abs() <= tolerance, "{a} is not {b} within {tolerance}");
    }

    /// Glare examples, derived (`docs/references.md`, lighting): lens at 400 mm; lamp 600 mm away at 45 degrees glares at
    /// 206 mm, at 20 degrees from the normal at 85 mm.
    #[test]
    fn lamps_glare_where_the_mirror_says() {
        let eye = vec3(0.0, 0.0, 400.0);
        near(mirror_point(vec3(424.0, 0.0, 424.0), eye).x, 206.0, 0.5);
        near(mirror_point(vec3(205.0, 0.0, 564.0), eye).x, 85.0, 0.5);
        // Equal angles at the point itself.
        let (lamp, p) = (vec3(310.0, -120.0, 520.0), mirror_point(vec3(310.0, -120.0, 520.0), eye));
        let p = vec3(p.x, p.y, 0.0);
        let out = (p - eye).unit().mirrored(Vec3::UP);
        near(out.cross((lamp - p).unit()).norm(), 0.0, 1e-12);
    }

    /// Rules of thumb, calculated (`docs/references.md`, lighting): 45 degrees, 8 source, 5 view leave 16; bows of 2, 3,
    /// 6, 10 mm over 107 mm slope by 4.3, 6.4, 12.8, 21 degrees.
    #[test]
    fn the_curl_budget() {
        near(curl_budget(Angle::deg(45.0), Angle::deg(8.0), Angle::deg(5.0)).to_deg(), 16.0, 1e-9);
        for (bow, slope) in [(2.0, 4.3), (3.0, 6.4), (6.0, 12.8), (10.0, 21.0)] {
            let s = slope_of_bow(Length::mm(bow), Length::mm(107.0));
            near(s.to_deg(), slope, 0.25);
            near(bow_of_slope(s, Length::mm(107.0)).to_mm(), bow, 1e-9);
        }
    }

    /// Index 1.5: ((n - 1) / (n + 1))^2 = 4 % at normal incidence (Fresnel).
    #[test]
    fn four_per_cent_at_normal_incidence() {
        near(fresnel(1.0), (0.5f64 / 2.5).powi(2), 1e-12);
        near(fresnel(0.0), 1.0, 1e-12);
    }

    #[test]
    fn gloss_peaks_at_the_mirror_angle_and_a_panel_fills_its_mirror_image() {
        let eye = vec3(0.0, 0.0, 400.0);
        let lamp = vec3(300.0, 0.0, 300.0);
        let p = mirror_point(lamp, eye);
        let at = |x: f64| {
            let q = vec3(x, 0.0, 0.0);
            gloss(Vec3::UP, lamp - q, eye - q, 0.05, Angle::deg(1.0))
        };
        assert!(at(p.x) > 10.0 * at(p.x - 60.0) && at(p.x) > at(p.x + 5.0));
        let panel = Panel {
            height: Length::mm(2000.0),
            from: point(100.0, -200.0),
            to: point(500.0, 200.0),
            level: 0.05,
            rgb: [1.0; 3],
        };
        let [a, b] = panel.mirrored(eye);
        let seen = |x: f64| panel.seen(vec3(x, 0.0, 0.0), Vec3::UP, eye, 0.01);
        assert!(seen((a.x + b.x) / 2.0) > 0.95 && seen(a.x - 15.0) < 0.02);
        near(seen(a.x), 0.5, 0.02);
        let face =
            Light::at(Angle::deg(0.0), Angle::deg(45.0), Length::mm(600.0), Shape::Disc { diameter: Length::mm(80.0) });
        assert_eq!(mirrored_outline(&face, eye).len(), 24);
    }
}
