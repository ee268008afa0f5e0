//! Options of desk, stand and mend.

use super::project::In;
use clap::Args;
use std::path::PathBuf;

pub const DESK: &str = "\
Open a project on the desk: a page in the browser, served by this program to this machine only.

The page has four rooms: the table, where thousands of prints lie and are chosen; the sheet, which shows one print beside its \
frame to correct and describe it; the stand, where verdicts arrive while you shoot; and the rig. Every change is saved at once \
and can be undone. The address contains an access token that is valid while the desk is open; keep it private.

Nothing is served to the network unless you ask for it at the stand: a code then lets one phone or tablet open that page only.

Only one desk at a time can change a project. A second one says so and is read-only.";

pub const DESK_EXAMPLE: &str = "\
Examples:

    fallside desk ~/instant-archive
    fallside desk --demo /tmp/desk        # a project filled with the demonstration box

Exit codes: 0 the desk was closed; 2 it did not open.";

pub const STAND: &str = "\
Watch the folder that receives the camera's pictures, and print a verdict on each frame: keep, look or reshoot, with the reason \
and the remedy. Frames are taken into the project as they arrive. Half-written files are waited for. Nothing in the watched \
folder is changed.";

pub const STAND_EXAMPLE: &str = "\
Example: the camera's own program saves frames to ~/tether; the sleeve holds forty prints:

    fallside stand ~/tether --in ~/instant-archive --box \"Shoebox 3\" --sleeve 12 --of 40

    F0017.jpg  keep     P0017  No problems found.
    F0018.jpg  reshoot  P0018  The print is overexposed by 0.8 stop. Lower the flash by 2/3 stop.

Stop it with Ctrl+C. A camera hangs above prints and hands: strap it, and weigh down the base.";

pub const MEND_EXAMPLE: &str = "\
Example: give the outline of a print in frame pixels, clockwise from the print's top left corner:

    fallside mend F0017.jpg --outline 812,640,3320,652,3309,3700,801,3689 --in ~/instant-archive";

/// Options of `desk`.
#[derive(Args, Debug)]
pub struct Desk {
    /// The project's folder; created if missing
    #[arg(value_name = "DIR", default_value = ".")]
    pub folder: PathBuf,
    /// If the project is empty, draw the demonstration box and take it in
    #[arg(long)]
    pub demo: bool,
    /// Port; 0 picks a free one [default: 4870 if it is free]
    #[arg(long, value_name = "N")]
    pub port: Option<u16>,
    /// Print the address without opening a browser
    #[arg(long)]
    pub quiet: bool,
    /// This machine's network address, for a phone at the stand; detected by default, but there may be several networks
    #[arg(long, value_name = "ADDRESS")]
    pub guests_at: Option<std::net::Ipv4Addr>,
    /// Minutes until an unused pairing code for a phone expires
    #[arg(long, value_name = "MINUTES", default_value_t = 10.0, value_parser = minutes)]
    pub code_minutes: f64,
}

/// From a second to a day.
fn minutes(text: &str) -> Result<f64, String> {
    let minutes = text.parse().ok().filter(|m| (1.0 / 60.0..=1440.0).contains(m));
    minutes.ok_or_else(|| "give minutes, up to 1440".to_owned())
}

/// Options of `stand`.
#[derive(Args, Debug)]
pub struct Stand {
    /// The folder that receives the frames
    #[arg(value_name = "FOLDER")]
    pub watched: PathBuf,
    #[command(flatten)]
    pub project: In,
    /// Box that the prints come from
    #[arg(long = "box", value_name = "NAME", default_value = "")]
    pub box_name: String,
    /// Sleeve in the box
    #[arg(long, value_name = "NAME", default_value = "", requires = "box_name")]
    pub sleeve: String,
    /// Number of prints in the sleeve
    #[arg(long, value_name = "N")]
    pub of: Option<usize>,
    /// The back of every print is photographed too
    #[arg(long)]
    pub backs: bool,
    /// Treat each frame as one print, whatever else it shows
    #[arg(long)]
    pub one: bool,
}

/// Four corners, x and y.
pub type Corners = [[f64; 2]; 4];

/// Four corners as `x,y` four times.
fn corners(word: &str) -> Result<Corners, String> {
    let numbers: Vec<f64> = word
        .split(',')
        .map(|n| n.trim().parse().map_err(|_| format!("{n:?} is not a number")))
        .collect::<Result<_, _>>()?;
    let (pairs, rest) = numbers.as_chunks::<2>();
    let corners = Corners::try_from(pairs).ok().filter(|_| rest.is_empty());
    corners.ok_or(format!("an outline is eight numbers separated by commas; {} were given", numbers.len()))
}

/// Options of `mend`.
#[derive(Args, Debug)]
#[group(id = "said", required = true, multiple = true, args = ["outline", "format", "turn", "shadow", "light"])]
pub struct Mend {
    /// File name of the frame
    #[arg(value_name = "FRAME")]
    pub frame: String,
    #[command(flatten)]
    pub project: In,
    /// Corners in frame pixels: x,y four times, clockwise from the top left of the upright print
    #[arg(long, value_name = "X,Y,...", value_parser = corners, allow_hyphen_values = true)]
    pub outline: Option<Corners>,
    /// Print format
    #[arg(long, value_name = "NAME")]
    pub format: Option<String>,
    /// Quarter turns clockwise from the detected orientation
    #[arg(long, value_name = "0..3", value_parser = clap::value_parser!(u8).range(0..4))]
    pub turn: Option<u8>,
    /// Strength of the shadow: 0 none, 1 as shot, 2 twice as dark
    #[arg(long, value_name = "0..2")]
    pub shadow: Option<f64>,
    /// Light that casts the shadow: as-shot, mirrored, a name, or AZ,EL,SIZE in degrees
    #[arg(long, value_name = "LIGHT", allow_hyphen_values = true)]
    pub light: Option<String>,
}
