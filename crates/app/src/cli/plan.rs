//! Options of `fallside plan`, and the request they produce.

use super::AimWord;
use clap::{Args, ValueEnum};
use rig::plan::{Backs, Request, Units, quantity};
use std::path::PathBuf;

pub const ABOUT: &str = "\
Plan a rig before building it. Give what you know; the rest is calculated: field and resolution, camera height, depth of \
field and aperture, how level the camera must be, where the flash stands and how to set it, the shadow, what the gloss \
reflects, the hours and gigabytes for the box, and whether the stand would tip.

Give a unit where a number could mean two things: 70mm or 2.76in, 36x24, 6000x4000, 1/200s, 300lx. Missing values take usual \
defaults, which are listed at the end. If a wish cannot be met, the plan gives the nearest rig, the reason, and the trade-off.";

pub const EXAMPLE: &str = "\
Example: a square print for a book, with the rig card to pin above the desk:

    fallside plan --format square-integral --sensor 36x24 --pixels 6000x4000 \\
        --lens 70mm-macro --flash-gn 26 --ambient 100lx --card rig.html

    Camera       957 ppi on the print (38 pixels per mm); the aim can show 300.
                 Lay the print sideways, its top towards the frame's left: ...
    ...
    The rig card is rig.html. Open it and print it.

Exit codes: 0 every wish and the aim are met; 1 some are not, and the plan says which and what would help; 2 a number is \
invalid, or two contradict each other.";

/// Options of `plan`.
#[derive(Args, Debug)]
pub struct Plan {
    /// Intended use of the prints
    #[arg(long, value_enum, default_value = "book")]
    pub aim: AimWord,
    /// Print format: square-integral, wide-integral, ...
    #[arg(long, value_name = "FORMAT")]
    pub format: Option<String>,
    /// Outer size of an original that is not a print format
    #[arg(long, value_name = "100x150mm", value_parser = quantity::size)]
    pub print: Option<[f64; 2]>,
    /// Height of the highest lifted edge
    #[arg(long, value_name = "3mm", value_parser = quantity::length)]
    pub curl: Option<f64>,
    /// Sensor size, width x height of the frame
    #[arg(long, value_name = "36x24", value_parser = quantity::size)]
    pub sensor: Option<[f64; 2]>,
    /// Frame size in pixels, width x height
    #[arg(long, value_name = "6000x4000", value_parser = quantity::pixels)]
    pub pixels: Option<[f64; 2]>,
    /// Focal length; add -macro for a macro lens
    #[arg(long, value_name = "70mm-macro", value_parser = quantity::lens)]
    pub lens: Option<(f64, bool)>,
    /// Closest focus distance of the lens, from the sensor
    #[arg(long, value_name = "25cm", value_parser = quantity::length)]
    pub closest_focus: Option<f64>,
    /// Diameter of the front of the lens
    #[arg(long, hide_short_help = true, value_name = "60mm", value_parser = quantity::length)]
    pub lens_front: Option<f64>,
    /// Required resolution on the print
    #[arg(long, value_name = "600ppi", value_parser = quantity::ppi)]
    pub ppi: Option<f64>,
    /// Required width of the bed in the frame
    #[arg(long, value_name = "160mm", value_parser = quantity::length)]
    pub field: Option<f64>,
    /// Required height from sensor to bed
    #[arg(long, value_name = "45cm", value_parser = quantity::length)]
    pub height: Option<f64>,
    /// Required aperture
    #[arg(long, value_name = "f/8", value_parser = quantity::f_number)]
    pub aperture: Option<f64>,
    /// Required ISO
    #[arg(long, value_name = "100", value_parser = quantity::iso)]
    pub iso: Option<f64>,
    /// Guide number of the flash, metres at ISO 100
    #[arg(long, value_name = "26", value_parser = quantity::guide)]
    pub flash_gn: Option<f64>,
    /// Shortest exposure time with flash
    #[arg(long, hide_short_help = true, value_name = "1/200s", value_parser = quantity::time)]
    pub sync: Option<f64>,
    /// Required exposure time
    #[arg(long, value_name = "1/125s", value_parser = quantity::time)]
    pub shutter: Option<f64>,
    /// Side of the frame that the light stands on: left, upper-left, ...
    #[arg(long, value_name = "SIDE", value_parser = quantity::side)]
    pub light_from: Option<f64>,
    /// Elevation angle of the light above the bed
    #[arg(long, value_name = "45deg", value_parser = quantity::angle)]
    pub elevation: Option<f64>,
    /// Distance from the centre of the print to the light
    #[arg(long, value_name = "1.2m", value_parser = quantity::length)]
    pub light_distance: Option<f64>,
    /// Largest light distance that the room allows
    #[arg(long, value_name = "2m", value_parser = quantity::length)]
    pub light_reach: Option<f64>,
    /// Size of the light source, or its diameter if round
    #[arg(long, value_name = "70x50mm", value_parser = face)]
    pub source: Option<Face>,
    /// Ambient light on the bed
    #[arg(long, value_name = "150lx", value_parser = quantity::lux)]
    pub ambient: Option<f64>,
    /// Continuous light on the bed, to compare with flash
    #[arg(long, hide_short_help = true, value_name = "1000lx", value_parser = quantity::lux)]
    pub lamp: Option<f64>,
    /// Length of the board that is shimmed level
    #[arg(long, hide_short_help = true, value_name = "400mm", value_parser = quantity::length)]
    pub board: Option<f64>,
    /// Mass of camera and lens
    #[arg(long, value_name = "1.5kg", value_parser = quantity::mass)]
    pub camera_mass: Option<f64>,
    /// Mass of the stand's arm
    #[arg(long, hide_short_help = true, value_name = "800g", value_parser = quantity::mass)]
    pub arm_mass: Option<f64>,
    /// Distance from the column to the lens axis
    #[arg(long, value_name = "35cm", value_parser = quantity::length)]
    pub arm_reach: Option<f64>,
    /// Depth of the stand's base along the arm
    #[arg(long, value_name = "50cm", value_parser = quantity::length)]
    pub base: Option<f64>,
    /// Mass of base and column
    #[arg(long, value_name = "8kg", value_parser = quantity::mass)]
    pub base_mass: Option<f64>,
    /// Prints in the box, for hours and gigabytes
    #[arg(long, value_name = "140", value_parser = quantity::prints)]
    pub prints: Option<f64>,
    /// Which backs are photographed too
    #[arg(long, value_enum, default_value = "none")]
    pub backs: BacksWord,
    /// Units for lengths in the output
    #[arg(long, value_enum, default_value = "mm")]
    pub units: UnitsWord,
    /// Also write the rig card, one page to print, to this file
    #[arg(long, value_name = "FILE")]
    pub card: Option<PathBuf>,
    /// Print the plan as JSON
    #[arg(long)]
    pub json: bool,
}

/// Which backs are photographed too.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum BacksWord {
    /// None
    None,
    /// Those with writing, about 60 %
    Written,
    /// All
    All,
}

/// Units of written lengths.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum UnitsWord {
    /// Millimetres and metres
    Mm,
    /// Inches and feet
    In,
    /// Both
    Both,
}

/// Lets values begin with a minus, so that a negative number gets its own message instead of "unknown option".
pub fn negative(arg: clap::Arg) -> clap::Arg {
    if arg.get_action().takes_values() { arg.allow_hyphen_values(true) } else { arg }
}

/// Size of a light source: one or two lengths, mm.
#[derive(Clone, Debug)]
pub struct Face(Vec<f64>);

fn face(text: &str) -> Result<Face, String> {
    quantity::face(text).map(Face)
}

impl Plan {
    /// The request for these options.
    pub fn request(&self) -> Request {
        Request {
            aim: self.aim.into(),
            format: self.format.clone(),
            print_mm: self.print,
            curl_mm: self.curl,
            sensor_mm: self.sensor,
            pixels: self.pixels,
            lens_mm: self.lens.map(|l| l.0),
            close_lens: self.lens.is_some_and(|l| l.1),
            closest_focus_mm: self.closest_focus,
            lens_front_mm: self.lens_front,
            ppi: self.ppi,
            field_mm: self.field,
            height_mm: self.height,
            f_number: self.aperture,
            iso: self.iso,
            guide_m: self.flash_gn,
            sync_s: self.sync,
            shutter_s: self.shutter,
            light_azimuth_deg: self.light_from,
            light_elevation_deg: self.elevation,
            light_distance_mm: self.light_distance,
            light_reach_mm: self.light_reach,
            source_mm: self.source.as_ref().map(|f| f.0.clone()),
            ambient_lux: self.ambient,
            lamp_lux: self.lamp,
            board_mm: self.board,
            camera_kg: self.camera_mass,
            arm_kg: self.arm_mass,
            arm_reach_mm: self.arm_reach,
            base_mm: self.base,
            base_kg: self.base_mass,
            prints: self.prints,
            backs: Some(match self.backs {
                BacksWord::None => Backs::None,
                BacksWord::Written => Backs::Written,
                BacksWord::All => Backs::All,
            }),
        }
    }

    /// The output units.
    pub fn units(&self) -> Units {
        match self.units {
            UnitsWord::Mm => Units::Metric,
            UnitsWord::In => Units::Inches,
            UnitsWord::Both => Units::Both,
        }
    }
}
