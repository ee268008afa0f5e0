//! Words of desk, stand and mend.

use super::project::In;
use clap::Args;
use std::path::PathBuf;

pub const DESK: &str = "\
Open a project on the desk: a page in the browser, served by this program to this machine alone.

On the page: the table, where thousands of prints lie and are chosen; the sheet, where one print is seen beside its frame, mended \
and described; the stand, where verdicts arrive as the camera shoots; and the rig. Everything is kept at once and can be undone. \
The address carries a token that holds as long as the desk is open; keep it to yourself.

Nothing is served to the network, unless you ask at the stand: then one phone or tablet is let in to that page alone, by a code.

A project can be changed by one desk at a time: a second one says so and only reads.";

pub const DESK_EXAMPLE: &str = "\
Examples:

    fallside desk ~/instant-archive
    fallside desk --demo /tmp/desk        # a project filled with the demonstration box

Exit codes: 0 the desk was closed; 2 it could not be opened.";

pub const STAND: &str = "\
Watch the folder that the camera's pictures arrive in, and say the verdict on each: keep, look or reshoot, with the sentence and \
the move that mends it. Frames are taken into the project as they come; half-written files are waited for; nothing in the folder \
is changed.";

pub const STAND_EXAMPLE: &str = "\
Example: the camera's own program puts frames into ~/tether; forty prints are in the sleeve:

    fallside stand ~/tether --in ~/instant-archive --box \"Shoebox 3\" --sleeve 12 --of 40

    F0017.jpg  keep     P0017  No problems found.
    F0018.jpg  reshoot  P0018  The print is overexposed by 0.8 stop. Lower the flash by 2/3 stop.

End it with Ctrl+C. A camera over prints and fingers: strap it, and weigh the base.";

pub const MEND_EXAMPLE: &str = "\
Example: the outline of a print on white paper, in pixels of the frame, from the print's top left clockwise:

    fallside mend F0017.jpg --outline 812,640,3320,652,3309,3700,801,3689 --in ~/instant-archive";

/// Options of `desk`.
#[derive(Args, Debug)]
pub struct Desk {
    /// The project's folder; it is begun if it is not there
    #[arg(value_name = "DIR", default_value = ".")]
    pub folder: PathBuf,
    /// Draw the demonstration box and take it in, if the project is empty
    #[arg(long)]
    pub demo: bool,
    /// The port; any free one unless said
    #[arg(long, value_name = "N", default_value_t = 0)]
    pub port: u16,
    /// Only write the address; do not open a browser
    #[arg(long)]
    pub quiet: bool,
    /// This machine's address on the network, for a phone let in to the stand; found unless said (there may be several networks)
    #[arg(long, value_name = "ADDRESS")]
    pub guests_at: Option<std::net::Ipv4Addr>,
    /// Minutes that the code for a phone holds, until somebody has written it
    #[arg(long, value_name = "MINUTES", default_value_t = 10.0, value_parser = minutes)]
    pub code_minutes: f64,
}

/// From a second to a day.
fn minutes(text: &str) -> Result<f64, String> {
    let minutes = text.parse().ok().filter(|m| (1.0 / 60.0..=1440.0).contains(m));
    minutes.ok_or_else(|| "say minutes, up to 1440".to_owned())
}

/// Options of `stand`.
#[derive(Args, Debug)]
pub struct Stand {
    /// The folder that frames arrive in
    #[arg(value_name = "FOLDER")]
    pub watched: PathBuf,
    #[command(flatten)]
    pub project: In,
    /// The box that the prints come from
    #[arg(long = "box", value_name = "NAME", default_value = "")]
    pub box_name: String,
    /// Their sleeve
    #[arg(long, value_name = "NAME", default_value = "", requires = "box_name")]
    pub sleeve: String,
    /// How many prints it holds
    #[arg(long, value_name = "N")]
    pub of: Option<usize>,
    /// Every print's back is photographed too
    #[arg(long)]
    pub backs: bool,
    /// Take each frame for one print, whatever else lies in it
    #[arg(long)]
    pub one: bool,
}

/// Four corners, x and y.
pub type Corners = [[f64; 2]; 4];

/// Four corners as `x,y` four times.
fn corners(word: &str) -> Result<Corners, String> {
    let numbers: Vec<f64> = word
        .split(',')
        .map(|n| n.trim().parse().map_err(|_| format!("{n:?} is no number")))
        .collect::<Result<_, _>>()?;
    let (pairs, rest) = numbers.as_chunks::<2>();
    let corners = Corners::try_from(pairs).ok().filter(|_| rest.is_empty());
    corners.ok_or(format!("an outline is eight numbers with commas between them, and these are {}", numbers.len()))
}

/// Options of `mend`.
#[derive(Args, Debug)]
#[group(id = "said", required = true, multiple = true, args = ["outline", "format", "turn", "shadow"])]
pub struct Mend {
    /// The frame, by its file's name
    #[arg(value_name = "FRAME")]
    pub frame: String,
    #[command(flatten)]
    pub project: In,
    /// Its corners in pixels of the frame: x,y four times, clockwise from the upright print's top left
    #[arg(long, value_name = "X,Y,...", value_parser = corners, allow_hyphen_values = true)]
    pub outline: Option<Corners>,
    /// Its format
    #[arg(long, value_name = "NAME")]
    pub format: Option<String>,
    /// Quarter turns clockwise from how it was found
    #[arg(long, value_name = "0..3", value_parser = clap::value_parser!(u8).range(0..4))]
    pub turn: Option<u8>,
    /// The shadow kept: 0 none, 1 as shot, 2 twice as deep
    #[arg(long, value_name = "0..2")]
    pub shadow: Option<f64>,
}
