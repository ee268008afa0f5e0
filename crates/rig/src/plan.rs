//! The plan of a rig: from a few numbers to a complete rig.
//!
//! [`plan`] takes a [`Request`], fills missing values with defaults (and lists them), checks that every number is possible, and lets
//! `optics::plan` solve it. The [`Answer`] is plain data; [`text`] formats it, and [`card`] draws the page to pin above the desk.

mod answer;
mod card;
mod check;
mod compose;
mod concerns;
pub mod quantity;
mod units;
pub(crate) mod words;

pub use answer::{Answer, SCHEMA, json_schema};
pub use card::{card, write_card};
pub use units::Units;
pub use words::{Part, heading, parts, text};

use finish::finding::{Aim, Code};
use finish::limit::limit;
use geometry::{Angle, Length, Stops};
use optics::plan::{Asked, Wish};
use optics::{FNumber, GuideNumber, Lux, Shape};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What is known of the rig and what is wanted of it. Everything may be left out.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default)]
pub struct Request {
    /// What the prints are for.
    pub aim: Aim,
    /// A print format by its generic name.
    pub format: Option<String>,
    /// Outer size in mm of an original that is no print format.
    pub print_mm: Option<[f64; 2]>,
    /// Height in mm of the most lifted edge.
    pub curl_mm: Option<f64>,
    /// Sensor, mm, as the frame lies.
    pub sensor_mm: Option<[f64; 2]>,
    /// Pixels across and down.
    pub pixels: Option<[f64; 2]>,
    /// Focal length, mm.
    pub lens_mm: Option<f64>,
    /// True for a lens made for close work, down to life size.
    pub close_lens: bool,
    /// Closest focus marked on the lens, from the sensor, mm.
    pub closest_focus_mm: Option<f64>,
    /// Diameter of the lens's front, mm.
    pub lens_front_mm: Option<f64>,
    /// Pixels per inch wanted on the print.
    pub ppi: Option<f64>,
    /// Width of bed wanted along the frame's long side, mm.
    pub field_mm: Option<f64>,
    /// Height wanted from sensor to bed, mm.
    pub height_mm: Option<f64>,
    /// f-number wanted.
    pub f_number: Option<f64>,
    /// ISO wanted.
    pub iso: Option<f64>,
    /// Guide number of the flash, m at ISO 100.
    pub guide_m: Option<f64>,
    /// Shortest exposure time with flash, seconds.
    pub sync_s: Option<f64>,
    /// Exposure time wanted, seconds.
    pub shutter_s: Option<f64>,
    /// Where the light stands in the image: degrees from right, clockwise as seen.
    pub light_azimuth_deg: Option<f64>,
    /// The light's height over the bed as an angle.
    pub light_elevation_deg: Option<f64>,
    /// From the middle of the print to the light, mm.
    pub light_distance_mm: Option<f64>,
    /// The farthest that the room lets the light stand, mm.
    pub light_reach_mm: Option<f64>,
    /// The light's face, mm: width and height, or one diameter.
    pub source_mm: Option<Vec<f64>>,
    /// The room's light on the bed, lux.
    pub ambient_lux: Option<f64>,
    /// Light on the bed from a lamp, for the comparison with flash, lux.
    pub lamp_lux: Option<f64>,
    /// The board the prints lie on, mm along the side that is shimmed.
    pub board_mm: Option<f64>,
    /// Camera and lens, kg.
    pub camera_kg: Option<f64>,
    /// The arm, kg.
    pub arm_kg: Option<f64>,
    /// From the column to the lens's axis, mm.
    pub arm_reach_mm: Option<f64>,
    /// The stand's base along the arm, mm.
    pub base_mm: Option<f64>,
    /// Base and column, kg.
    pub base_kg: Option<f64>,
    /// Prints in the box.
    pub prints: Option<f64>,
    /// Which backs are taken too.
    pub backs: Option<Backs>,
}

/// Which backs are taken too.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Backs {
    /// None.
    None,
    /// Those with writing: about 60 % of one family's prints had some.
    Written,
    /// All.
    All,
}

impl Backs {
    /// The share of prints that is turned over.
    fn share(self) -> f64 {
        match self {
            Self::None => 0.0,
            // `docs/references.md`, rates: one family's account; another box may hold none or all.
            Self::Written => 0.6,
            Self::All => 1.0,
        }
    }
}

/// Why there is no plan: what was said cannot be, and what to say instead.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct Problem(pub String);

/// Plans a rig; lengths inside sentences are written in `units`, numbers are always in those their names say.
///
/// # Errors
/// A number that no stand can have, an unknown format, or two wishes that contradict each other.
pub fn plan(request: &Request, units: Units) -> Result<Answer, Problem> {
    let known = check::known(request, units)?;
    let plan = optics::plan::solve(&known.wish).map_err(|clash| Problem(concerns::clash(&clash, units)))?;
    Ok(compose::answer(request, &known, &plan, units))
}

/// What the aim asks of a rig: limits from the one table that judges frames, so that plan and verdict agree.
fn asked(aim: Aim) -> Asked {
    let note = |code| limit(code, None).steps(aim)[0].unwrap_or(f64::INFINITY);
    Asked {
        // A share 1080 pixels across shows a print of 107 mm at about 200 pixels per inch; a book prints at 300; 600 is
        // what preservation guidance asks for originals under A5 (`docs/references.md`).
        ppi: match aim {
            Aim::Web => 200.0,
            Aim::Book => 300.0,
            Aim::Archive => 600.0,
        },
        fall_off: Stops::new(note(Code::LightFallOff)),
        tilt: Angle::deg(note(Code::CameraTilt)),
        margin: Length::mm(note(Code::FramingMargin)),
        // Eight stops leave 0.4 % of the room in the picture. Common practice, no source.
        ambient: Stops::new(8.0),
    }
}

/// A request made whole: the wish, and what was taken for granted.
struct Known {
    wish: Wish,
    format: String,
    taken: Vec<(&'static str, String)>,
    board: Length,
}

fn shape(face: &[f64]) -> Shape {
    match *face {
        [width, height, ..] => Shape::Rectangle { width: Length::mm(width), height: Length::mm(height) },
        [diameter] => Shape::Disc { diameter: Length::mm(diameter) },
        [] => Shape::Rectangle { width: Length::mm(70.0), height: Length::mm(50.0) },
    }
}

fn wish(r: &Request, print: [f64; 2], sensor: [f64; 2], pixels: [f64; 2]) -> Wish {
    let mm = |v: Option<f64>| v.map(Length::mm);
    let pair = |v: [f64; 2]| (Length::mm(v[0]), Length::mm(v[1]));
    Wish {
        print: pair(print),
        lift: Length::mm(r.curl_mm.unwrap_or(3.0)),
        sensor: pair(sensor),
        pixels: (pixels[0], pixels[1]),
        focal: mm(r.lens_mm),
        close_lens: r.close_lens,
        closest: mm(r.closest_focus_mm),
        lens_front: Length::mm(r.lens_front_mm.unwrap_or(60.0)),
        ppi: r.ppi,
        field: mm(r.field_mm),
        height: mm(r.height_mm),
        aperture: r.f_number.map(FNumber),
        iso: r.iso,
        // Image azimuths run clockwise, the model's counter-clockwise.
        azimuth: r.light_azimuth_deg.map(|a| Angle::deg(-a)),
        elevation: r.light_elevation_deg.map(Angle::deg),
        light_distance: mm(r.light_distance_mm),
        light_reach: mm(r.light_reach_mm),
        source: shape(r.source_mm.as_deref().unwrap_or_default()),
        guide: r.guide_m.map(|v| GuideNumber::metres(v, 100.0)),
        sync: r.sync_s.unwrap_or(1.0 / 200.0),
        shutter: r.shutter_s,
        ambient: r.ambient_lux.map(Lux),
        lamp: Lux(r.lamp_lux.unwrap_or(1000.0)),
        asked: asked(r.aim),
    }
}

#[cfg(test)]
mod tests;
