//! Words on the command line, and the request they mean.

pub mod book;
pub mod check;
pub mod desk;
pub mod drift;
pub mod gallery;
pub mod hand;
pub mod plan;
pub mod project;
pub mod share;

use clap::{Args, Parser, Subcommand, ValueEnum};
use finish::Request;
use finish::finding::Aim;
use finish::recipe::{MasterEncoding, Settings};
use std::path::PathBuf;

/// Finishes instant prints photographed on white paper: straight, true in scale and colour, set on pure white with their
/// own shadow, each with a verdict.
#[derive(Parser, Debug)]
#[command(name = "fallside", version, about, disable_help_subcommand = true)]
pub struct Cli {
    /// What to do; nothing to hear what there is to do in this folder.
    #[command(subcommand)]
    pub command: Option<Command>,
}

/// The commands.
#[derive(Subcommand, Debug)]
// One value per run of the program: its size is nothing to save on.
#[allow(clippy::large_enum_variant)]
pub enum Command {
    /// Finish frames: find each print, judge it, write master, mount, share and report, and one page for all
    #[command(long_about = FINISH, after_long_help = FINISH_EXAMPLE, after_help = "More, with an example: fallside finish --help")]
    Finish(Finish),
    /// Plan a rig before building it: camera, light, shadow, gloss, and a card to pin above the desk
    #[command(long_about = plan::ABOUT, after_long_help = plan::EXAMPLE, after_help = "More words, and an example: fallside plan --help", mut_args(plan::negative))]
    Plan(plan::Plan),
    /// Check a rig from its frames: what is wrong, by how much, and what to move
    #[command(long_about = check::ABOUT, after_long_help = check::EXAMPLE)]
    Check(check::Check),
    /// Make the ruler sheet: a PDF to print and lay under the camera
    #[command(long_about = RULER, after_long_help = RULER_EXAMPLE)]
    Ruler(Ruler),
    /// Take frames into a project: finish them and enter them in its catalogue
    #[command(long_about = project::TAKE, after_long_help = project::TAKE_EXAMPLE, after_help = "More words, and an example: fallside take --help")]
    Take(project::Take),
    /// List prints, frames, boxes, edits, or the journal of a project
    List(project::List),
    /// Find prints by words, fields and dates
    #[command(long_about = project::FIND, after_long_help = project::FIND_EXAMPLE, after_help = "Fields, and examples: fallside find --help")]
    Find(project::Find),
    /// Say when, where, who and what of prints; or show what is known
    #[command(long_about = project::DESCRIBE, after_long_help = project::DESCRIBE_EXAMPLE, after_help = "Dates, and an example: fallside describe --help")]
    Describe(project::Describe),
    /// Put a frame with the print it shows: a back, a reshoot
    Pair(project::Pair),
    /// Take a frame from its print, or make it a print of its own
    Unpair(project::Unpair),
    /// Choose prints: wide, tight, and in sequence
    Edit(project::Edit),
    /// Lay near-twins on one another, as one place on the table
    Stack(project::Stack),
    /// Undo the last thing done in a project, or do it again
    Undo(project::Undo),
    /// Copy a project's catalogue, while others work on
    Backup(project::Backup),
    /// Make a project's catalogue anew from its masters, reports and sidecars
    Rebuild(project::Rebuild),
    /// Make shares: prints on white sheets of a shape, to post
    #[command(long_about = share::ABOUT, after_long_help = share::EXAMPLE, after_help = "More, with examples: fallside share --help")]
    Share(share::Share),
    /// Make a gallery: a site of plain files, with pictures to go close to
    #[command(long_about = gallery::ABOUT, after_long_help = gallery::EXAMPLE, after_help = "More, with an example: fallside gallery --help")]
    Gallery(gallery::Gallery),
    /// Pack originals and results into an archive (a bag, RFC 8493) that anyone can read and check
    #[command(long_about = PACK, after_long_help = PACK_EXAMPLE)]
    Pack(Pack),
    /// Open the desk: the page on this machine where prints are judged, chosen and described
    #[command(long_about = desk::DESK, after_long_help = desk::DESK_EXAMPLE, after_help = "More words, and an example: fallside desk --help")]
    Desk(desk::Desk),
    /// Watch a folder: a verdict for each frame before the next print is down
    #[command(long_about = desk::STAND, after_long_help = desk::STAND_EXAMPLE, after_help = "More words, and an example: fallside stand --help")]
    Stand(desk::Stand),
    /// Say what a frame's outline, format, turn or shadow is, and finish it again so
    #[command(after_help = desk::MEND_EXAMPLE)]
    Mend(desk::Mend),
    /// Read an archive again, whole, and tell every damage; compare copies
    #[command(long_about = VERIFY, after_long_help = VERIFY_EXAMPLE)]
    Verify(Verify),
    /// Make a book for the press: prints at true size on paper that is white because it has no ink
    #[command(long_about = book::ABOUT, after_long_help = book::EXAMPLE, after_help = "Layouts, and an example: fallside book --help")]
    Book(book::Book),
    /// Draw a box of invented prints, finish it, and show it
    #[command(long_about = DEMO, after_long_help = DEMO_EXAMPLE)]
    Demo(Demo),
}

const FINISH: &str = "\
Finish frames of instant prints lying on white paper under one flash.

Give it the folder that came off the card. It tells by itself which frames show a front, a back, the bare bed (blank), a \
colour chart, or the bed with the flash off, and uses the blanks and the chart nearest in time. Each print is found, \
measured, judged for its aim, straightened with one resample and set on pure white with the shadow it had. Several prints \
in one frame are each finished by themselves, as F0007-1, F0007-2 and so on, from left to right and from top to bottom. A frame that \
fails gets one line and the others go on. Run it again after an interruption: only what is missing or changed is done.

Originals are opened for reading only.";

const FINISH_EXAMPLE: &str = "\
Example: an evening's card, for a book, with the values of the chart that was photographed first:

    fallside finish /media/card --out ~/box-07-finished --chart-values ~/chart.txt

    12 prints, 2 bare bed, 1 colour chart, 1 flash off
    F0005.jpg  reshoot  The print leaves the frame at the right by 8.6 mm or more.
    ...
    9 keep, 2 look, 1 reshoot. Open /home/ada/box-07-finished/index.html

Result folders: masters (16-bit TIFF, faithful), mounts (16-bit TIFF, on white), shares (JPEG to send), reports (JSON), \
previews (for the page).

Exit codes: 0 every frame is finished, whatever its verdict; 1 done, but some file or folder could not be; 2 nothing \
could be done.";

const RULER: &str = "\
Make the ruler sheet: slanted squares, neutral steps and scale bars on one page of PDF.

Photographed where the prints will lie, it tells how the camera leans, how many pixels a millimetre has, how the lens \
bends, and how sharp the frame is from its middle to its corners. Whatever part of it fills the frame is enough.

Printers do not print true size. Print it at 100 %, measure the bar at its foot with a real ruler, and where it is not \
150.0 mm make the sheet again with --bar-mm.";

const RULER_EXAMPLE: &str = "\
Example: the printer made the bar 149.2 mm long:

    fallside ruler --paper a4 --bar-mm 149.2 --out ruler.pdf";

const PACK: &str = "\
Pack prints with their originals and words into an archive for twenty years: those of a project, all or an edit's, or a \
folder of results.

The archive is a plain folder: originals byte for byte, masters, mounts, reports, sidecars, a text that explains all of it to \
a stranger and says of each print what you said, and a list of checksums (a bag after RFC 8493, SHA-512). It is no bag until its last file is in place. Run the same \
words again after an interruption, or when there are new results: what is there already is only compared.";

const PACK_EXAMPLE: &str = "\
Example:

    fallside pack --in ~/instant-archive --all --out /media/archive/2026
    fallside pack ~/box-07-finished --out /media/archive/box-07 --title \"Shoebox 7, the harbour years\"

Exit codes: 0 all is packed; 1 packed, but an original is missing or changed; 2 nothing could be packed.";

const VERIFY: &str = "\
Read every file of an archive again and compare it with its checksum. The first damage is told at once, all of it at the end. \
With --copy another copy is read too: what differs, which copy is the stale one, and from which a damaged file can be had whole.

A good archive notes the date in last-good-check.txt. Nothing else is written.";

const VERIFY_EXAMPLE: &str = "\
Example:

    fallside verify /media/archive/box-07 --copy /media/second/box-07

Exit codes: 0 good; 1 damaged, or the copies differ; 2 it could not be read, or is no bag.";

const DEMO: &str = "\
Draw a box of invented prints as a camera on a copy stand would take them, with the troubles of a real evening, finish \
it, and say where its page is. Nothing is fetched; the pictures are computed.";

const DEMO_EXAMPLE: &str = "\
Example:

    fallside demo --out demo-out

    Open demo-out/finished/index.html";

/// Options of `finish`.
#[derive(Args, Debug)]
pub struct Finish {
    /// Folders and files of frames
    #[arg(required = true, value_name = "FRAMES")]
    pub inputs: Vec<PathBuf>,
    /// Folder for the results; made if it is not there
    #[arg(short, long, value_name = "FOLDER")]
    pub out: PathBuf,
    /// What the prints are for; sets the limits of the verdict
    #[arg(long, value_enum, default_value = "book")]
    pub aim: AimWord,
    /// This frame shows the bare bed (repeatable)
    #[arg(long, value_name = "FILE")]
    pub blank: Vec<PathBuf>,
    /// This frame shows the back of a print (repeatable)
    #[arg(long, value_name = "FILE")]
    pub back: Vec<PathBuf>,
    /// This frame shows the colour chart
    #[arg(long, value_name = "FILE", requires = "chart_values")]
    pub chart: Option<PathBuf>,
    /// The chart's values: CGATS.17, or a plain table
    #[arg(long, value_name = "FILE")]
    pub chart_values: Option<PathBuf>,
    /// This frame shows the bed with the flash off
    #[arg(long, value_name = "FILE")]
    pub flash_off: Option<PathBuf>,
    /// Depth of the shadow kept: 0 none, 1 as shot, up to 2
    #[arg(long, value_name = "DEPTH", default_value_t = 1.0, value_parser = shadow)]
    pub shadow: f64,
    /// Expect only this format (repeatable): square-integral, ...
    #[arg(long, value_name = "FORMAT")]
    pub format: Vec<String>,
    /// Outer size of a plain original that is no print format, as 100x150 in mm
    #[arg(long, value_name = "WxH", value_parser = size)]
    pub plain: Option<[f64; 2]>,
    /// Take each frame for one print, whatever else lies in it
    #[arg(long)]
    pub one: bool,
    /// Colour encoding of master and mount
    #[arg(long, value_enum, default_value = "ecirgb-v2")]
    pub encoding: EncodingWord,
    /// Longer side of the share picture, pixels
    #[arg(long, value_name = "PX", default_value_t = 1600, value_parser = clap::value_parser!(u32).range(64..=20000))]
    pub share: u32,
    /// Also write the mount as a full-size 8-bit sRGB PNG
    #[arg(long)]
    pub srgb_png: bool,
    /// Most memory for frames in work, MB; a quarter of the machine's unless said
    #[arg(long, value_name = "MB", value_parser = clap::value_parser!(u64).range(100..))]
    pub memory: Option<u64>,
    /// One line of JSON per frame on standard output
    #[arg(long)]
    pub json: bool,
}

/// Options of `ruler`.
#[derive(Args, Debug)]
pub struct Ruler {
    /// The paper it will be printed on
    #[arg(long, value_enum, default_value = "a4")]
    pub paper: PaperWord,
    /// What the bar of a sheet made without this word measures, mm
    #[arg(long, value_name = "MM", allow_negative_numbers = true)]
    pub bar_mm: Option<f64>,
    /// The file to write
    #[arg(short, long, value_name = "FILE", default_value = "ruler.pdf")]
    pub out: PathBuf,
}

/// Papers of the ruler sheet.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum PaperWord {
    /// ISO 216 A4, 297 by 210 mm
    A4,
    /// US letter, 11 by 8.5 in
    Letter,
}

/// The words of `pack`.
#[derive(Args, Debug)]
pub struct Pack {
    /// A project, or a folder of results
    #[arg(value_name = "FOLDER", default_value = ".")]
    pub folder: PathBuf,
    /// The same, as other commands say it
    #[arg(long = "in", value_name = "DIR", conflicts_with = "folder")]
    pub within: Option<PathBuf>,
    #[command(flatten)]
    pub chosen: hand::Chosen,
    /// The archive: an empty folder, or one that was begun
    #[arg(short, long, value_name = "FOLDER")]
    pub out: PathBuf,
    /// What it holds, in your words
    #[arg(long, value_name = "WORDS")]
    pub title: Option<String>,
}

/// The words of `verify`.
#[derive(Args, Debug)]
pub struct Verify {
    /// The archive
    #[arg(value_name = "ARCHIVE")]
    pub bag: PathBuf,
    /// Another copy of it; may be said more than once
    #[arg(long, value_name = "ARCHIVE")]
    pub copy: Vec<PathBuf>,
    /// The answer as JSON
    #[arg(long)]
    pub json: bool,
}

impl Ruler {
    /// The request these words mean.
    pub fn request(&self) -> rig::ruler::Request {
        let paper = match self.paper {
            PaperWord::A4 => rig::ruler::Paper::A4,
            PaperWord::Letter => rig::ruler::Paper::Letter,
        };
        rig::ruler::Request { paper, bar_mm: self.bar_mm, out: self.out.clone() }
    }
}

/// Options of `demo`.
#[derive(Args, Debug)]
pub struct Demo {
    /// Folder for frames and results
    #[arg(short, long, value_name = "FOLDER", default_value = "demo-out")]
    pub out: PathBuf,
    /// Draw small frames, 1.5 megapixels instead of 6: quicker, with less to see
    #[arg(long)]
    pub small: bool,
    /// Draw the frames and finish none: something to try take, stand and desk with
    #[arg(long)]
    pub only_draw: bool,
}

/// What the prints are for.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum AimWord {
    /// Screens
    Web,
    /// A printed book
    Book,
    /// A surrogate for the object
    Archive,
}

impl From<AimWord> for Aim {
    fn from(word: AimWord) -> Self {
        match word {
            AimWord::Web => Self::Web,
            AimWord::Book => Self::Book,
            AimWord::Archive => Self::Archive,
        }
    }
}

/// Encodings of master and mount.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum EncodingWord {
    /// eciRGBv2, ISO 22028-4
    EcirgbV2,
    /// ROMM RGB, ISO 22028-2
    Romm,
    /// sRGB, IEC 61966-2-1
    Srgb,
}

fn shadow(text: &str) -> Result<f64, String> {
    let depth: f64 = text.parse().map_err(|_| "say a number from 0 to 2".to_owned())?;
    if (0.0..=2.0).contains(&depth) { Ok(depth) } else { Err("say a number from 0 to 2".into()) }
}

fn size(text: &str) -> Result<[f64; 2], String> {
    let parse = || {
        let (w, h) = text.split_once(['x', '×'])?;
        let both = [w.trim().parse::<f64>().ok()?, h.trim().parse::<f64>().ok()?];
        both.iter().all(|v| (5.0..2000.0).contains(v)).then_some(both)
    };
    parse().ok_or_else(|| "say width x height in mm, as 100x150".to_owned())
}

impl Finish {
    /// The request these words mean.
    pub fn request(&self) -> Request {
        let encoding = match self.encoding {
            EncodingWord::EcirgbV2 => MasterEncoding::EciRgbV2,
            EncodingWord::Romm => MasterEncoding::Romm,
            EncodingWord::Srgb => MasterEncoding::Srgb,
        };
        Request {
            inputs: self.inputs.clone(),
            out: self.out.clone(),
            blanks: self.blank.clone(),
            backs: self.back.clone(),
            chart: self.chart.clone(),
            chart_values: self.chart_values.clone(),
            ambient: self.flash_off.clone(),
            settings: Settings {
                aim: self.aim.into(),
                shadow: self.shadow,
                encoding,
                share_px: self.share,
                srgb_png: self.srgb_png,
                formats: self.format.clone(),
                plain_mm: self.plain,
                one: self.one,
            },
            memory: self.memory.map(|mb| mb << 20),
            project: None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_words_are_consistent() {
        Cli::command().debug_assert();
    }

    #[test]
    fn short_help_fits_a_screen() {
        // A terminal as it opens: 80 columns, 24 lines at the least, 40 by habit; the longest command may take 40.
        for (name, most) in
            [("finish", 40), ("plan", 40), ("check", 40), ("ruler", 24), ("demo", 24), ("share", 40), ("gallery", 40)]
        {
            let mut command = Cli::command();
            let text = command.find_subcommand_mut(name).map(|c| c.render_help().to_string()).unwrap_or_default();
            let lines = text.lines().count();
            assert!(lines > 5 && lines <= most, "{name}: {lines} lines");
        }
    }

    #[test]
    fn sizes_and_depths_are_checked() {
        assert_eq!(size("100x150"), Ok([100.0, 150.0]));
        assert!(size("100").is_err() && size("1x1").is_err() && shadow("3").is_err() && shadow("dark").is_err());
        assert_eq!(shadow("0.5"), Ok(0.5));
    }
}
