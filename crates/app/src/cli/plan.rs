//! Words of `fallside plan`, and the request they mean.

use super::AimWord;
use clap::{Args, ValueEnum};
use rig::plan::{Backs, Request, Units, quantity};
use std::path::PathBuf;

pub const ABOUT: &str = "\
Plan a rig before building it. Say what you know; the rest is worked out: field and resolution, camera height, depth of \
field and aperture, how level the camera must be, where the flash stands and how it is set, the shadow, what the gloss \
mirrors, the box's hours and gigabytes, and whether the stand would tip.

Every number has a unit where it could mean two things: 70mm or 2.76in, 36x24, 6000x4000, 1/200s, 300lx. What is not said is \
taken as usual and named at the end. A wish that cannot be kept is answered with the nearest rig, the reason, and what pays for it.";

pub const EXAMPLE: &str = "\
Example: a square print for a book, with the rig card to pin above the desk:

    fallside plan --format square-integral --sensor 36x24 --pixels 6000x4000 \\
        --lens 70mm-macro --flash-gn 26 --ambient 100lx --card rig.html

    Camera       957 ppi on the print (38 pixels per mm); the aim can show 300.
                 Lay the print sideways, its top towards the frame's left: ...
    ...
    The rig card is rig.html: open it and print it.

Exit codes: 0 every wish and the aim are kept; 1 some are not, and the plan says which and what mends it; 2 a number could not \
be understood, or two contradict each other.";

/// Options of `plan`.
#[derive(Args, Debug)]
pub struct Plan {
    /// What the prints are for
    #[arg(long, value_enum, default_value = "book")]
    pub aim: AimWord,
    /// Print format: square-integral, wide-integral, ...
    #[arg(long, value_name = "FORMAT")]
    pub format: Option<String>,
    /// Outer size of an original that is no print format
    #[arg(long, value_name = "100x150mm", value_parser = quantity::size)]
    pub print: Option<[f64; 2]>,
    /// Height of the most lifted edge
    #[arg(long, value_name = "3mm", value_parser = quantity::length)]
    pub curl: Option<f64>,
    /// Sensor, as the frame lies
    #[arg(long, value_name = "36x24", value_parser = quantity::size)]
    pub sensor: Option<[f64; 2]>,
    /// Pixels across and down
    #[arg(long, value_name = "6000x4000", value_parser = quantity::pixels)]
    pub pixels: Option<[f64; 2]>,
    /// Focal length; -macro for a lens made for close work
    #[arg(long, value_name = "70mm-macro", value_parser = quantity::lens)]
    pub lens: Option<(f64, bool)>,
    /// Closest focus marked on the lens, from the sensor
    #[arg(long, value_name = "25cm", value_parser = quantity::length)]
    pub closest_focus: Option<f64>,
    /// Diameter of the lens's front
    #[arg(long, hide_short_help = true, value_name = "60mm", value_parser = quantity::length)]
    pub lens_front: Option<f64>,
    /// Resolution wanted on the print
    #[arg(long, value_name = "600ppi", value_parser = quantity::ppi)]
    pub ppi: Option<f64>,
    /// Width of bed wanted in the frame
    #[arg(long, value_name = "160mm", value_parser = quantity::length)]
    pub field: Option<f64>,
    /// Height wanted from sensor to bed
    #[arg(long, value_name = "45cm", value_parser = quantity::length)]
    pub height: Option<f64>,
    /// Aperture wanted
    #[arg(long, value_name = "f/8", value_parser = quantity::f_number)]
    pub aperture: Option<f64>,
    /// ISO wanted
    #[arg(long, value_name = "100", value_parser = quantity::iso)]
    pub iso: Option<f64>,
    /// Guide number of the flash, metres at ISO 100
    #[arg(long, value_name = "26", value_parser = quantity::guide)]
    pub flash_gn: Option<f64>,
    /// Shortest exposure time with flash
    #[arg(long, hide_short_help = true, value_name = "1/200s", value_parser = quantity::time)]
    pub sync: Option<f64>,
    /// Exposure time wanted
    #[arg(long, value_name = "1/125s", value_parser = quantity::time)]
    pub shutter: Option<f64>,
    /// Where the light stands in the frame: left, upper-left, ...
    #[arg(long, value_name = "SIDE", value_parser = quantity::side)]
    pub light_from: Option<f64>,
    /// The light's height over the bed as an angle
    #[arg(long, value_name = "45deg", value_parser = quantity::angle)]
    pub elevation: Option<f64>,
    /// From the middle of the print to the light
    #[arg(long, value_name = "1.2m", value_parser = quantity::length)]
    pub light_distance: Option<f64>,
    /// The farthest that the room lets the light stand
    #[arg(long, value_name = "2m", value_parser = quantity::length)]
    pub light_reach: Option<f64>,
    /// The light's face, or its diameter if round
    #[arg(long, value_name = "70x50mm", value_parser = face)]
    pub source: Option<Face>,
    /// The room's own light on the bed
    #[arg(long, value_name = "150lx", value_parser = quantity::lux)]
    pub ambient: Option<f64>,
    /// A lamp's light on the bed, to compare with flash
    #[arg(long, hide_short_help = true, value_name = "1000lx", value_parser = quantity::lux)]
    pub lamp: Option<f64>,
    /// Length of the board that is shimmed level
    #[arg(long, hide_short_help = true, value_name = "400mm", value_parser = quantity::length)]
    pub board: Option<f64>,
    /// Camera and lens
    #[arg(long, value_name = "1.5kg", value_parser = quantity::mass)]
    pub camera_mass: Option<f64>,
    /// The stand's arm
    #[arg(long, hide_short_help = true, value_name = "800g", value_parser = quantity::mass)]
    pub arm_mass: Option<f64>,
    /// From the column to the lens's axis
    #[arg(long, value_name = "35cm", value_parser = quantity::length)]
    pub arm_reach: Option<f64>,
    /// The stand's base along the arm
    #[arg(long, value_name = "50cm", value_parser = quantity::length)]
    pub base: Option<f64>,
    /// Base and column
    #[arg(long, value_name = "8kg", value_parser = quantity::mass)]
    pub base_mass: Option<f64>,
    /// Prints in the box, for hours and gigabytes
    #[arg(long, value_name = "140", value_parser = quantity::prints)]
    pub prints: Option<f64>,
    /// Which backs are taken too
    #[arg(long, value_enum, default_value = "none")]
    pub backs: BacksWord,
    /// Units that lengths are written in
    #[arg(long, value_enum, default_value = "mm")]
    pub units: UnitsWord,
    /// Write the rig card, one page to print, here
    #[arg(long, value_name = "FILE")]
    pub card: Option<PathBuf>,
    /// The plan as JSON on standard output
    #[arg(long)]
    pub json: bool,
}

/// Which backs are taken too.
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

/// Values may begin with a minus, so that one gets its own answer instead of being taken for an option.
pub fn negative(arg: clap::Arg) -> clap::Arg {
    if arg.get_action().takes_values() { arg.allow_hyphen_values(true) } else { arg }
}

/// A light's face: one or two lengths, mm.
#[derive(Clone, Debug)]
pub struct Face(Vec<f64>);

fn face(text: &str) -> Result<Face, String> {
    quantity::face(text).map(Face)
}

impl Plan {
    /// The request these words mean.
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

    /// The units to write in.
    pub fn units(&self) -> Units {
        match self.units {
            UnitsWord::Mm => Units::Metric,
            UnitsWord::In => Units::Inches,
            UnitsWord::Both => Units::Both,
        }
    }
}
