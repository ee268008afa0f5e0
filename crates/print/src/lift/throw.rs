//! The shadow that a lifted print throws under a light of one's choice.

use super::{DIMMED, Lift, sky};
use geometry::{Angle, Length, Point, point};
use optics::shadow::{Face, Silhouette};
use optics::{Light, Shape, Vec3, vec3};

/// A light to cast the shadow by.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CastLight {
    /// Where it comes from, degrees on the canvas (0 right, 90 down).
    pub azimuth_deg: f64,
    /// Above the bed, degrees.
    pub elevation_deg: f64,
    /// What a side of its square face spans, degrees.
    pub size_deg: f64,
    /// How far away it is, mm.
    pub distance_mm: f64,
    /// The point of the bed that these are seen from, print mm (origin top left, y down).
    pub from_mm: Point,
}

/// A light on the side opposite to the frame's own, and like it.
pub fn mirrored(lift: &Lift) -> CastLight {
    let own = &lift.light;
    CastLight {
        azimuth_deg: (own.azimuth_deg + 180.0).rem_euclid(360.0),
        elevation_deg: own.elevation_deg,
        size_deg: own.size_deg,
        distance_mm: distance(lift),
        from_mm: lift.frame_middle_mm,
    }
}

/// How far a light is taken to be, mm: as far as the frame's own; where that shows no end, as far as most stand.
pub fn distance(lift: &Lift) -> f64 {
    lift.light.distance_mm.unwrap_or(1000.0).clamp(250.0, 20_000.0)
}

/// The shadow of a lifted print, place by place.
#[derive(Clone, Debug)]
pub struct Throw {
    silhouette: Silhouette,
    face: Face,
    size: (f64, f64),
    fill: f64,
    foot: Point,
    /// From the canvas to the bed: how far a bed point is drawn towards the camera's foot, as a factor.
    down: f64,
    /// Heights along the left, top, right and bottom: place (mm) and height (mm).
    heights: [Vec<(f64, f64)>; 4],
}

impl Throw {
    /// The shadow of a print of `size` mm whose corners have a radius, `fill` of the bed's light coming from the room.
    pub fn new(lift: &Lift, size: (f64, f64), corner_mm: f64, light: &CastLight, fill: f64) -> Self {
        let foot = lift.camera_foot_mm;
        // The canvas shows things as they are seen on the plane of the print's corners.
        let plane = (0..4).map(|s| lift.sides[s].heights.first().zip(lift.sides[s].heights.last()));
        let ends: Vec<f64> = plane.flatten().flat_map(|(a, b)| [a.height_mm, b.height_mm]).collect();
        let plane = ends.iter().sum::<f64>() / ends.len().max(1) as f64;
        let reach = (lift.camera_height_mm - plane).max(1.0);
        // Clockwise as seen: top, right, bottom, left.
        let walk = [(1, false), (2, false), (3, true), (0, true)];
        let mut ring: Vec<(Point, f64)> = vec![];
        let mut starts = [0; 5];
        for (k, (side, back)) in walk.into_iter().enumerate() {
            let mut line: Vec<(Point, f64)> =
                lift.sides[side].heights.iter().map(|h| (h.seen_mm, h.height_mm)).collect();
            if back {
                line.reverse();
            }
            ring.extend(rounded(&line, corner_mm));
            starts[k + 1] = ring.len();
        }
        let world = |p: Point, z: f64| -> Vec3 {
            let true_place = foot + (p - foot) * ((lift.camera_height_mm - z) / reach);
            vec3(true_place.x, -true_place.y, z)
        };
        let top = ring.iter().map(|(p, h)| world(*p, *h)).collect();
        let bottom = ring.iter().map(|(p, h)| {
            let v = world(*p, *h);
            vec3(v.x, v.y, (v.z - lift.thickness_mm).max(0.0))
        });
        let silhouette = Silhouette { top, bottom: bottom.collect(), starts };
        let heights =
            std::array::from_fn(|s| lift.sides[s].heights.iter().map(|h| (h.along_mm, h.height_mm)).collect());
        let down = lift.camera_height_mm / reach;
        Self { silhouette, face: face(light), size, fill, foot, down, heights }
    }

    /// Share of the light's face that the bed sees at a place of the canvas, print mm.
    pub fn visible(&self, p: Point) -> f64 {
        let bed = self.foot + (p - self.foot) * self.down;
        self.silhouette.visible(&self.face, vec3(bed.x, -bed.y, 0.0))
    }

    /// Share of the bare bed's light at a place of the canvas that sees the share `visible` of the light.
    ///
    /// In the shadow the room's light is dimmed near the edge, which hides part of the room; on lit bed the flash's light that the
    /// edge throws back makes up for that.
    pub fn share(&self, p: Point, visible: f64) -> f64 {
        let (w, h) = self.size;
        let near = point(p.x.clamp(0.0, w), p.y.clamp(0.0, h));
        let room = 1.0 - DIMMED * (1.0 - sky(p.distance(near), self.height(near))) * (1.0 - visible);
        (1.0 - self.fill) * visible + self.fill * room
    }

    /// Height of the edge at a point of the print's rectangle: the side nearest to it.
    fn height(&self, p: Point) -> f64 {
        let (w, h) = self.size;
        let away = [p.x, p.y, w - p.x, h - p.y];
        let side = (0..4).min_by(|a, b| away[*a].total_cmp(&away[*b])).unwrap_or(0);
        let along = if side.is_multiple_of(2) { p.y } else { p.x };
        let line = &self.heights[side];
        let i = line.partition_point(|v| v.0 < along).clamp(1, line.len().max(2) - 1);
        let (Some(a), Some(b)) = (line.get(i - 1), line.get(i)) else { return 0.0 };
        a.1 + (b.1 - a.1) * ((along - a.0) / (b.0 - a.0).max(1e-9)).clamp(0.0, 1.0)
    }
}

/// The face of a light over the bed: a square.
fn face(light: &CastLight) -> Face {
    let (sa, ca) = light.azimuth_deg.to_radians().sin_cos();
    let (se, ce) = light.elevation_deg.to_radians().sin_cos();
    let from = vec3(light.from_mm.x, -light.from_mm.y, 0.0);
    let side = Length::mm(2.0 * light.distance_mm * (light.size_deg.to_radians() / 2.0).tan());
    Face::new(&Light {
        position: from + vec3(ce * ca, -ce * sa, se) * light.distance_mm,
        aim: from,
        shape: Shape::Rectangle { width: side, height: side },
    })
}

/// A side from end to end as the outline of a print with round corners has it, without its last point: its ends give way to the
/// halves of the arcs.
fn rounded(line: &[(Point, f64)], radius: f64) -> Vec<(Point, f64)> {
    let n = line.len();
    if n < 2 || radius <= 0.0 {
        return line[..n.saturating_sub(1)].to_vec();
    }
    let (first, last) = (line[0], line[n - 1]);
    let along = (last.0 - first.0).unit();
    // Clockwise with y down: inward is to the right.
    let inward = along.quarter_turn();
    let arc = |end: (Point, f64), sign: f64, deg: f64| {
        // From the middle of the arc (45 degrees) to where it meets the side (90).
        let (s, c) = Angle::deg(deg).to_rad().sin_cos();
        (end.0 + along * (sign * radius * (1.0 - c)) + inward * (radius * (1.0 - s)), end.1)
    };
    let mut out = vec![arc(first, 1.0, 45.0), arc(first, 1.0, 67.5), arc(first, 1.0, 90.0)];
    let length = (last.0 - first.0).norm();
    let within = |p: &&(Point, f64)| {
        ((p.0 - first.0).dot(along) - radius).min(length - radius - (p.0 - first.0).dot(along)) > 0.0
    };
    out.extend(line.iter().filter(within));
    out.extend([arc(last, -1.0, 90.0), arc(last, -1.0, 67.5)]);
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use optics::shadow::EdgeShadow;

    fn flat(height: f64) -> Lift {
        Lift::level((88.0, 107.0), height, 0.0, 0.1)
    }

    fn light(azimuth_deg: f64) -> CastLight {
        CastLight { azimuth_deg, elevation_deg: 45.0, size_deg: 12.0, distance_mm: 1e6, from_mm: point(44.0, 53.5) }
    }

    /// Beside a straight edge the share is `clip((e + a - atan(h / x)) / 2a)` (`EdgeShadow`, closed form), on the four sides in turn.
    #[test]
    fn a_straight_edge_hides_what_the_closed_form_says() {
        let lift = flat(2.0);
        let rule = EdgeShadow::new(Length::mm(2.0), Angle::deg(45.0), Angle::deg(6.0), Angle::default()).unwrap();
        let middle = [
            (180.0, point(88.0, 53.5), point(1.0, 0.0)),
            (0.0, point(0.0, 53.5), point(-1.0, 0.0)),
            (270.0, point(44.0, 107.0), point(0.0, 1.0)),
            (90.0, point(44.0, 0.0), point(0.0, -1.0)),
        ];
        for (azimuth, edge, out) in middle {
            let throw = Throw::new(&lift, (88.0, 107.0), 0.0, &light(azimuth), 0.1);
            for x in [0.2, 1.0, 1.7, 1.9, 2.0, 2.1, 2.4, 3.0] {
                // The flat face foreshortens what the rule takes by its angle: under two hundredths across 12 degrees.
                let off = throw.visible(edge + out * x) - rule.visible(Length::mm(x));
                assert!(off.abs() < 0.02, "{azimuth} {x}: {off}");
            }
            assert_eq!(throw.visible(edge + (point(44.0, 53.5) - edge) * 2.0 - out * 0.5), 1.0);
        }
    }

    /// In the shadow the room's share is dimmed by half of what the edge hides of the sky, `1 - (1 + x / sqrt(x^2 + h^2)) / 2`; on the
    /// side towards the light nothing is hidden.
    #[test]
    fn the_room_is_dimmed_in_the_shadow_alone() {
        let lift = flat(2.0);
        let throw = Throw::new(&lift, (88.0, 107.0), 0.0, &light(0.0), 0.2);
        assert_eq!(throw.share(point(88.0 + 1.5, 53.5), throw.visible(point(88.0 + 1.5, 53.5))), 1.0);
        // At 1.5 mm from an edge of 2 mm: cosine 0.6, a fifth of the sky hidden.
        let p = point(-1.5, 53.5);
        assert_eq!(throw.visible(p), 0.0);
        assert!((throw.share(p, 0.0) - 0.2 * (1.0 - 0.5 * 0.2)).abs() < 1e-6);
    }
}
