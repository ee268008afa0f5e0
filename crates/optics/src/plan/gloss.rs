//! Gloss: what the print mirrors into the lens, the card that covers it, and how much curl it takes before the light shows.

use super::{Concern, Extent, Framing, Lighting, Wish};
use crate::mirror::{bow_of_slope, curl_budget, mirror_point, mirrored_outline, slope_of_bow};
use crate::{Light, vec3};
use geometry::{Angle, Length, Point};

/// Reflections.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gloss {
    /// Where on the bed a flat print would mirror the middle of the light.
    pub glare: Point,
    /// From the print's edge to the nearest part of the mirrored light; negative inside the print.
    pub clear: Length,
    /// At this distance and azimuth a flat print mirrors the light from this elevation up; `None` where it does from the
    /// least looked at.
    pub flat_below: Option<Angle>,
    /// The same for a print curled as much as these.
    pub curled_below: Option<Angle>,
    /// The steepest slope of the print before the light shows.
    pub slope: Angle,
    /// The edge lift that makes this slope over the print's longer side.
    pub lift_most: Length,
    /// Size of a dark card at the lens that covers all a curled print mirrors.
    pub card: Extent,
    /// How far the card may reach towards the light before it shades the print; no more than it needs.
    pub card_to_light: Length,
    /// Height of the card over the bed.
    pub card_height: Length,
    /// Diameter of the hole for the lens.
    pub hole: Length,
    /// What the print mirrors of a ceiling at [`CEILING`]: keep lamps and windows out of it.
    pub ceiling: Extent,
}

/// A room's ceiling over a table: 2.4 m less 0.75 m.
pub const CEILING: Length = Length::mm(1650.0);
/// Air left between the light's way and whatever stands beside it.
const AIR: Length = Length::mm(10.0);
/// Half of a camera body's width. Common practice, no source.
const BODY: Length = Length::mm(65.0);
/// Air between lens and card, all round.
const RING: Length = Length::mm(2.0);

/// Works out the reflections.
pub(super) fn gloss(wish: &Wish, framing: &Framing, lighting: &Lighting, concerns: &mut Vec<Concern>) -> Gloss {
    let h = framing.lens_height;
    let eye = vec3(0.0, 0.0, h.to_mm());
    let laid = framing.lay.laid(wish.print);
    let long = Length::mm(laid.0.to_mm().max(laid.1.to_mm()));
    let light = &lighting.light;
    let view = Angle::rad((long.to_mm() / 2.0 / h.to_mm()).atan());
    let slope = slope_of_bow(wish.lift, long);
    let budget = curl_budget(Angle::deg(90.0) - wish.elevation(), light.half_angle(), view);
    let curled = Angle::deg(90.0) - light.half_angle() - view - slope * 2.0;
    let seen = |e: Angle| clear_of(&at_elevation(light, e), h, laid).to_mm() < 0.0;
    let card = mirrored(laid, h, h, slope);
    let passes = reach_at(light, h, laid);
    let past_body = reach_at(light, framing.height, laid);
    let needed = along(card, light.azimuth());
    let gloss = Gloss {
        glare: mirror_point(light.position, eye),
        clear: clear_of(light, h, laid),
        flat_below: first_seen(seen),
        curled_below: (curled.to_deg() > LOWEST).then_some(curled),
        slope: if budget.to_rad() > 0.0 { budget } else { Angle::default() },
        lift_most: bow_of_slope(if budget.to_rad() > 0.0 { budget } else { Angle::default() }, long),
        card,
        card_to_light: passes.map_or(needed, |p| if p - AIR < needed { p - AIR } else { needed }),
        card_height: h,
        hole: wish.lens_front + RING * 2.0,
        ceiling: mirrored(laid, h, CEILING, slope),
    };
    let lens_shades = passes.is_some_and(|p| p < wish.lens_front * 0.5 + AIR);
    if lens_shades || past_body.is_some_and(|p| p < BODY + AIR) {
        concerns.push(Concern::CameraInWay { passes: passes.unwrap_or_default() });
    }
    if gloss.clear.to_mm() < 0.0 {
        concerns.push(Concern::Veils { below: gloss.flat_below });
    } else if gloss.lift_most < wish.lift {
        concerns.push(Concern::CurlVeils { lift: wish.lift, most: gloss.lift_most, below: gloss.curled_below });
    }
    gloss
}

/// The lowest and highest elevations looked at.
const LOWEST: f64 = 5.0;
const HIGHEST: f64 = 89.0;

fn at_elevation(light: &Light, elevation: Angle) -> Light {
    Light::at(light.azimuth(), elevation, light.distance(), light.shape)
}

/// The lowest elevation at which `seen`; `None` where already the lowest is, the highest where none is.
fn first_seen(seen: impl Fn(Angle) -> bool) -> Option<Angle> {
    if seen(Angle::deg(LOWEST)) {
        return None;
    }
    let (mut low, mut high) = (LOWEST, HIGHEST);
    // Twelve halvings: a fiftieth of a degree.
    for _ in 0..12 {
        let mid = (low + high) / 2.0;
        if seen(Angle::deg(mid)) { high = mid } else { low = mid }
    }
    Some(Angle::deg(low))
}

/// From the print's edge to the nearest part of the light mirrored in a level print.
fn clear_of(light: &Light, lens: Length, laid: Extent) -> Length {
    let eye = vec3(0.0, 0.0, lens.to_mm());
    let off = |p: Point| (p.x.abs() - laid.0.to_mm() / 2.0).max(p.y.abs() - laid.1.to_mm() / 2.0);
    let rim = mirrored_outline(light, eye).into_iter().map(off).fold(f64::INFINITY, f64::min);
    Length::mm(rim.min(off(mirror_point(light.position, eye))))
}

/// Half of a rectangle's extent along a direction.
fn along(extent: Extent, direction: Angle) -> Length {
    let (s, c) = direction.to_rad().sin_cos();
    Length::mm((c.abs() * extent.0.to_mm() + s.abs() * extent.1.to_mm()) / 2.0)
}

/// How far from the axis, towards the light, its rays to the print's far edge pass a height: nothing may reach farther
/// there without shading the print. `None` where no part of the light stands higher.
pub fn reach_at(light: &Light, height: Length, laid: Extent) -> Option<Length> {
    let (s, c) = light.azimuth().to_rad().sin_cos();
    let far = -along(laid, light.azimuth()).to_mm();
    let passes = |x: f64, z: f64| far + (x - far) * height.to_mm() / z;
    let above = light.outline().into_iter().filter(|v| v.z > height.to_mm());
    above.map(|v| passes(v.x * c + v.y * s, v.z)).min_by(f64::total_cmp).map(Length::mm)
}

/// What a print with edges sloping by `slope` mirrors of a plane at `height`: from its edge at x the ray leaves at
/// `atan(x / H) + 2 slope` from the vertical, so it arrives at `x + h tan(...)`.
fn mirrored(laid: Extent, lens: Length, height: Length, slope: Angle) -> Extent {
    let side = |length: Length| {
        let x = length.to_mm() / 2.0;
        // Past 80 degrees the print mirrors the walls, which no card covers.
        let angle = ((x / lens.to_mm()).atan() + 2.0 * slope.to_rad()).min(80f64.to_radians());
        Length::mm(2.0 * (x + height.to_mm() * angle.tan()))
    };
    (side(laid.0), side(laid.1))
}
