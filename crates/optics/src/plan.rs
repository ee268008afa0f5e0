//! The plan: from what is known of a rig, everything else, before any picture is taken.
//!
//! [`Wish`] holds what is known and what is wanted; what is `None` is solved for. [`solve`] answers with the rig that does
//! it, or with the nearest one that can stand, and a [`Concern`] for each wish that it could not keep: nothing is given up
//! in silence. The order is that of building a stand: light (its direction and size decide the shadow, the shadow the
//! margin), framing, focus, exposure, gloss.
//!
//! The lens is a thin one with pupil ratio 1; its distances are from the principal planes, taken as one. Real lenses differ
//! by a few centimetres: the field is the thing to set, the height where to begin.

mod concern;
pub mod exposing;
pub mod focus;
pub mod forecast;
pub mod framing;
pub mod gloss;
pub mod lighting;
pub mod stand;
pub mod ways;

pub use concern::{Clash, Concern, Mended, Said};
pub use exposing::Exposing;
pub use focus::Focus;
pub use framing::{Framing, Lay};
pub use gloss::Gloss;
pub use lighting::{Lighting, Top};
pub use ways::Way;

use crate::shadow::EdgeShadow;
use crate::{FNumber, GuideNumber, Lux, Shape};
use geometry::{Angle, Length, Stops};

/// A width and a height.
pub type Extent = (Length, Length);

/// What the prints' use asks for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Asked {
    /// Pixels per inch of print that the use can show.
    pub ppi: f64,
    /// Most fall-off across the print.
    pub fall_off: Stops,
    /// Most lean of the camera.
    pub tilt: Angle,
    /// Least bed between print and frame edge.
    pub margin: Length,
    /// How far under the flash the room's light must lie.
    pub ambient: Stops,
}

/// What is known and what is wanted. Every number is positive and finite; whoever fills it sees to that.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wish {
    /// Outer size of the upright print.
    pub print: Extent,
    /// Height of its most lifted edge over the bed.
    pub lift: Length,
    /// Size of the sensor as the frame lies.
    pub sensor: Extent,
    /// Pixels across and down.
    pub pixels: (f64, f64),
    /// Focal length; chosen where it is not known.
    pub focal: Option<Length>,
    /// True for a lens made to focus down to life size.
    pub close_lens: bool,
    /// The closest focus marked on the lens, from the sensor to the print.
    pub closest: Option<Length>,
    /// Diameter of the lens's front, for the hole in the card.
    pub lens_front: Length,
    /// Pixels per inch of print.
    pub ppi: Option<f64>,
    /// Width of bed that the frame's long side shows.
    pub field: Option<Length>,
    /// Height of the sensor over the bed.
    pub height: Option<Length>,
    /// f-number to set.
    pub aperture: Option<FNumber>,
    /// Film-speed setting; solved where the flash has to pay for distance.
    pub iso: Option<f64>,
    /// Where the light stands, counter-clockwise from image right as seen in the image.
    pub azimuth: Option<Angle>,
    /// The light's height over the bed as an angle; 45 degrees or the nearest below that does not veil where it is free.
    pub elevation: Option<Angle>,
    /// From the middle of the print to the light.
    pub light_distance: Option<Length>,
    /// The farthest that the room lets the light stand.
    pub light_reach: Option<Length>,
    /// The light's face.
    pub source: Shape,
    /// The flash.
    pub guide: Option<GuideNumber>,
    /// Shortest time at which the shutter is wholly open, seconds.
    pub sync: f64,
    /// Exposure time, seconds.
    pub shutter: Option<f64>,
    /// The room's own light on the bed.
    pub ambient: Option<Lux>,
    /// Light on the bed from a lamp, for the comparison with flash.
    pub lamp: Lux,
    /// What the use asks for.
    pub asked: Asked,
}

/// The shadow at the two edges it falls from, and how dark it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shadow {
    /// A print lying flat: the edge is its own thickness.
    pub flat: EdgeShadow,
    /// The most lifted edge.
    pub lifted: EdgeShadow,
    /// Direction in which it falls, counter-clockwise from image right in the frame as shot.
    pub falls: Angle,
    /// Darkness where the whole light is hidden, 0 to 1: what is left there is the room's light alone.
    pub depth: f64,
}

/// Everything worked out.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// Scale, field and height.
    pub framing: Framing,
    /// Depth of field, aperture, levelling.
    pub focus: Focus,
    /// Where the light stands and how even it is.
    pub lighting: Lighting,
    /// Flash, shutter and the room's light.
    pub exposing: Exposing,
    /// The shadow.
    pub shadow: Shadow,
    /// Reflections.
    pub gloss: Gloss,
    /// One shot or several, flash or lamp.
    pub ways: Vec<Way>,
    /// Wishes that could not be kept, and things to mind.
    pub concerns: Vec<Concern>,
}

/// A print lying flat still stands this far above the bed with its top edge: an integral print is a packet of layers.
/// Common practice, no source; a thicker one lengthens the flat print's shadow in proportion.
pub const THICKNESS: Length = Length::mm(0.5);

/// Where a copy stand's light usually stands (US Navy photography course): high enough for an even light, low enough not
/// to be mirrored.
const USUAL: f64 = 45.0;
/// Below this a light rakes: every fibre of the bed has its own shadow. Common practice, no source.
const LOWEST: f64 = 25.0;

impl Wish {
    fn elevation(&self) -> Angle {
        self.elevation.unwrap_or(Angle::deg(USUAL))
    }
}

/// Solves for what is not known.
///
/// # Errors
/// Two of the wishes contradict each other.
pub fn solve(wish: &Wish) -> Result<Plan, Clash> {
    let usual = powered(wish)?;
    let in_sight = |plan: &Plan| {
        let seen =
            |c: &Concern| matches!(c, Concern::Veils { .. } | Concern::CurlVeils { .. } | Concern::CameraInWay { .. });
        plan.concerns.iter().any(seen)
    };
    if wish.elevation.is_some() || !in_sight(&usual) {
        return Ok(usual);
    }
    // A free elevation comes down by 5 degrees until the light is out of sight; if that never helps it stays.
    let mut elevation = USUAL - 5.0;
    while elevation >= LOWEST {
        let lower = powered(&Wish { elevation: Some(Angle::deg(elevation)), ..*wish })?;
        if !in_sight(&lower) {
            return Ok(lower);
        }
        elevation -= 5.0;
    }
    Ok(usual)
}

/// The plan with the flash's power minded.
fn powered(wish: &Wish) -> Result<Plan, Clash> {
    let first = once(wish)?;
    // A flash too weak for its distance may be brought nearer; that changes the light's size, so the shadow and margin.
    match first.exposing.bring_to {
        Some(distance) => {
            let nearer = Wish { light_distance: Some(distance), ..*wish };
            let mut plan = once(&nearer)?;
            let weak = first.concerns.into_iter().filter(|c| matches!(c, Concern::FlashWeak { .. }));
            plan.concerns.retain(|c| !matches!(c, Concern::FlashWeak { .. }));
            plan.concerns.extend(weak);
            plan.lighting.given = false;
            Ok(plan)
        }
        None => Ok(first),
    }
}

fn once(wish: &Wish) -> Result<Plan, Clash> {
    let mut concerns = vec![];
    let lay = framing::lay(wish, framing::margin(wish, Angle::default()));
    let lighting = lighting::lighting(wish, lay, &mut concerns);
    let margin = framing::margin(wish, lighting.light.half_angle());
    let framing = framing::framing(wish, margin, &mut concerns)?;
    let focus = focus::focus(wish, &framing, &mut concerns);
    let exposing = exposing::exposing(wish, &framing, &focus, &lighting, &mut concerns);
    let focus = if exposing.set == focus.set { focus } else { focus::at(wish, &framing, exposing.set, &mut vec![]) };
    let shadow = shadow(wish, &lighting, &exposing);
    let gloss = gloss::gloss(wish, &framing, &lighting, &mut concerns);
    let ways = ways::ways(wish, &framing, &focus, &exposing);
    Ok(Plan { framing, focus, lighting, exposing, shadow, gloss, ways, concerns })
}

/// The shadow square to the edge that faces away from the light most.
fn shadow(wish: &Wish, lighting: &Lighting, exposing: &Exposing) -> Shadow {
    let falls = lighting.light.azimuth() + Angle::deg(180.0);
    // Edges lie along x and y: the turn from the nearest axis is at most 45 degrees, so there is always a shadow.
    let quarter = 90.0f64.to_radians();
    let turn = falls.to_rad() - (falls.to_rad() / quarter).round() * quarter;
    let edge = |lift: Length| EdgeShadow {
        lift,
        elevation: Angle::rad((lighting.light.elevation().to_rad().tan() / turn.cos()).atan()),
        half_angle: lighting.light.half_angle(),
    };
    let room = exposing.ambient_below.map_or(0.0, |s| (-s).factor());
    // A print that lies flatter than it is thick still has its own edge.
    let lifted = if wish.lift < THICKNESS { THICKNESS } else { wish.lift };
    Shadow { flat: edge(THICKNESS), lifted: edge(lifted), falls, depth: 1.0 / (1.0 + room) }
}

#[cfg(test)]
mod tests;
