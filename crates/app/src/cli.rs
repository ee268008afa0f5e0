//! Command-line arguments and the requests they produce.

pub mod book;
pub mod check;
pub mod desk;
pub mod drift;
pub mod gallery;
pub mod hand;
pub mod plan;
pub mod project;
pub mod ready;
pub mod share;

use clap::{Args, Parser, Subcommand, ValueEnum};
use finish::Request;
use finish::finding::Aim;
use finish::recipe::{MasterEncoding, Settings};
use std::path::PathBuf;

/// Finish instant prints photographed on white paper: straight, true in scale and colour, on pure white with their own
/// shadow, each with a verdict.
#[derive(Parser, Debug)]
#[command(name = "fallside", version, disable_help_subcommand = true)]
pub struct Cli {
    /// The command; without one, the next step for the current folder is printed.
    #[command(subcommand)]
    pub command: Option<Command>,
}

/// The commands.
#[derive(Subcommand, Debug)]
// One value per run of the program, so its size does not matter.
#[allow(clippy::large_enum_variant)]
pub enum Command {
    /// Finish frames: find and judge each print, write its master, mount, share and report, and one page for all
    #[command(long_about = FINISH, after_long_help = FINISH_EXAMPLE, after_help = "Details and an example: fallside finish --help")]
    Finish(Finish),
    /// Plan a rig before building it: camera, light, shadow, gloss, and a card to pin above the desk
    #[command(long_about = plan::ABOUT, after_long_help = plan::EXAMPLE, after_help = "Details and an example: fallside plan --help", mut_args(plan::negative))]
    Plan(plan::Plan),
    /// Check a rig from its frames: what is wrong, by how much, and what to move
    #[command(long_about = check::ABOUT, after_long_help = check::EXAMPLE)]
    Check(check::Check),
    /// Make the ruler sheet: a PDF to print and photograph
    #[command(long_about = RULER, after_long_help = RULER_EXAMPLE)]
    Ruler(Ruler),
    /// Take frames into a project: finish them and add them to its catalogue
    #[command(long_about = project::TAKE, after_long_help = project::TAKE_EXAMPLE, after_help = "Details and an example: fallside take --help")]
    Take(project::Take),
    /// List the prints, frames, boxes, edits or history of a project
    List(project::List),
    /// Find prints by words, fields and dates
    #[command(long_about = project::find(), after_long_help = project::FIND_EXAMPLE, after_help = "Fields and examples: fallside find --help")]
    Find(project::Find),
    /// Describe prints (date, place, people, ...), or show what is recorded
    #[command(long_about = project::DESCRIBE, after_long_help = project::DESCRIBE_EXAMPLE, after_help = "Date formats and an example: fallside describe --help")]
    Describe(project::Describe),
    /// Decide once for a project what it means that a print says nothing of who may see it
    #[command(long_about = project::PRIVACY_HELP, after_long_help = project::PRIVACY_EXAMPLE)]
    Privacy(project::Privacy),
    /// Assign a frame, such as a back or a reshoot, to the print it shows
    Pair(project::Pair),
    /// Detach a frame from its print, or make it a print of its own
    Unpair(project::Unpair),
    /// Choose prints: a wide edit, a tight edit, a sequence
    Edit(project::Edit),
    /// Stack near-identical prints, so that they take one place on the table
    Stack(project::Stack),
    /// Name lights of a project, to cast shadows by: list, name, delete
    #[command(long_about = project::LIGHT, after_long_help = project::LIGHT_EXAMPLE)]
    Light(project::Light),
    /// Undo the last change to a project, or redo it
    Undo(project::Undo),
    /// Back up a project's catalogue, even while it is in use
    Backup(project::Backup),
    /// Rebuild a project's catalogue from its masters, reports and sidecars
    Rebuild(project::Rebuild),
    /// List what is not ready to be handed on, each with what mends it
    #[command(long_about = ready::ABOUT, after_long_help = ready::EXAMPLE, after_help = "Details and examples: fallside ready --help")]
    Ready(ready::Ready),
    /// Make shares: prints on white sheets of a chosen shape, to post
    #[command(long_about = share::ABOUT, after_long_help = share::EXAMPLE, after_help = "Details and examples: fallside share --help")]
    Share(share::Share),
    /// Make a gallery: a static website with zoomable pictures
    #[command(long_about = gallery::ABOUT, after_long_help = gallery::EXAMPLE, after_help = "Details and an example: fallside gallery --help")]
    Gallery(gallery::Gallery),
    /// Pack originals and results into an archive (a bag, RFC 8493) that anyone can read and verify
    #[command(long_about = PACK, after_long_help = PACK_EXAMPLE)]
    Pack(Pack),
    /// Open the desk: a local web page for judging, choosing and describing prints
    #[command(long_about = desk::DESK, after_long_help = desk::DESK_EXAMPLE, after_help = "Details and examples: fallside desk --help")]
    Desk(desk::Desk),
    /// Watch a folder: a verdict on each frame before the next print is in place
    #[command(long_about = desk::STAND, after_long_help = desk::STAND_EXAMPLE, after_help = "Details and an example: fallside stand --help")]
    Stand(desk::Stand),
    /// Correct a frame's outline, format, turn or shadow, and finish it again
    #[command(after_help = desk::MEND_EXAMPLE)]
    Mend(desk::Mend),
    /// Verify an archive: read every file, report all damage, compare copies
    #[command(long_about = VERIFY, after_long_help = VERIFY_EXAMPLE)]
    Verify(Verify),
    /// Make a press-ready book: prints at true size on paper that stays free of ink
    #[command(long_about = book::ABOUT, after_long_help = book::EXAMPLE, after_help = "Layouts and an example: fallside book --help")]
    Book(book::Book),
    /// Draw a box of invented prints and finish it
    #[command(long_about = DEMO, after_long_help = DEMO_EXAMPLE)]
    Demo(Demo),
}

const FINISH: &str = "\
Finish frames of instant prints photographed on white paper under one flash.

Give it the folder from the memory card. It detects which frames show a front, a back, the bare bed (blank), a colour \
chart, or the bed with the flash off, and uses the blanks and the chart nearest in time. It finds and measures each print, \
judges it for the aim, straightens it with one resample, and sets it on pure white with its own shadow. If a frame shows \
several prints, each is finished separately, as F0007-1, F0007-2 and so on, from left to right and from top to bottom. If a \
frame fails, one line says why and the other frames continue. Run the command again after an interruption: only missing or \
changed results are made.

Originals are opened read-only.";

const FINISH_EXAMPLE: &str = "\
Example: one evening's card, for a book, with reference values for the chart that was photographed first:

    fallside finish /media/card --out ~/box-07-finished --chart-values ~/chart.txt

    12 prints, 2 bare bed, 1 colour chart, 1 flash off
    F0005.jpg  reshoot  The print leaves the frame at the right by 8.6 mm or more.
    ...
    9 keep, 2 look, 1 reshoot. Open /home/ada/box-07-finished/index.html

Result folders: masters (16-bit TIFF, faithful), mounts (16-bit TIFF, on white), shares (JPEG to send), reports (JSON), \
previews (for the page).

Exit codes: 0 every frame is finished, whatever its verdict; 1 finished, except for some files or folders; 2 nothing was \
done.";

const RULER: &str = "\
Make the ruler sheet: slanted squares, neutral steps and scale bars on a one-page PDF.

Photograph the sheet where the prints will lie. The frame shows how far the camera leans, how many pixels there are per \
millimetre, how the lens distorts, and how sharp the frame is from centre to corners. The sheet may extend beyond the frame.

Printers do not print at true size. Print the sheet at 100 % and measure the bar at its foot with a real ruler. If the bar \
is not 150.0 mm long, make the sheet again with --bar-mm.";

const RULER_EXAMPLE: &str = "\
Example: the printed bar is 149.2 mm long:

    fallside ruler --paper a4 --bar-mm 149.2 --out ruler.pdf";

const PACK: &str = "\
Pack prints, their originals and their descriptions into an archive that stays readable for twenty years. Pack a project, \
one edit of it, or a folder of results.

The archive is a plain folder (a bag, RFC 8493, with SHA-512 checksums): byte-for-byte originals, masters, mounts, reports, \
sidecars, a list of checksums, and a text that explains the files to a stranger and gives the description of each print. It \
becomes a valid bag only when its last file is written. Run the same command again after an interruption or when there are \
new results: files that are already there are only compared.";

const PACK_EXAMPLE: &str = "\
Example:

    fallside pack --in ~/instant-archive --all --out /media/archive/2026
    fallside pack ~/box-07-finished --out /media/archive/box-07 --title \"Shoebox 7, the harbour years\"

Exit codes: 0 everything is packed; 1 packed, but an original is missing or changed; 2 nothing was packed.";

const VERIFY: &str = "\
Read every file of an archive and compare it with its checksum. The first damage is reported at once, the full list at the \
end. With --copy, another copy is read too: the report names the files that differ, the copy that is out of date, and the \
copy from which a damaged file can be restored.

A good archive records the date in last-good-check.txt. Nothing else is written.";

const VERIFY_EXAMPLE: &str = "\
Example:

    fallside verify /media/archive/box-07 --copy /media/second/box-07

Exit codes: 0 good; 1 damaged, or the copies differ; 2 unreadable, or not a bag.";

const DEMO: &str = "\
Draw a box of invented prints as a camera on a copy stand would record them, with the problems of a real evening. Finish \
the frames and print where the result page is. The pictures are computed; nothing is downloaded.";

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
    /// Folder for the results; created if missing
    #[arg(short, long, value_name = "FOLDER")]
    pub out: PathBuf,
    /// Intended use of the prints; sets the limits for the verdict
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
    /// Reference values of the chart: CGATS.17 or a plain table
    #[arg(long, value_name = "FILE")]
    pub chart_values: Option<PathBuf>,
    /// This frame was taken with the flash off, of the bare bed or of the print in place; of a print, the room's light is subtracted
    #[arg(long, value_name = "FILE")]
    pub flash_off: Option<PathBuf>,
    /// This frame shows a print lit from the opposite side (repeatable)
    #[arg(long, value_name = "FILE")]
    pub counter: Vec<PathBuf>,
    /// Divide out the shading of a curled print, and say why where it cannot be done [default: where the bend is known]
    #[arg(long, conflicts_with = "no_unbend")]
    pub unbend: bool,
    /// Leave the shading of a curled print as it is
    #[arg(long)]
    pub no_unbend: bool,
    /// Strength of the shadow: 0 none, 1 as shot, up to 2
    #[arg(long, value_name = "DEPTH", default_value_t = 1.0, value_parser = shadow)]
    pub shadow: f64,
    #[command(flatten)]
    pub shadow_light: ShadowBy,
    /// Accept only this print format (repeatable): square-integral, ...
    #[arg(long, value_name = "FORMAT")]
    pub format: Vec<String>,
    /// Outer size of an original that is not a print format, as 100x150 in mm
    #[arg(long, value_name = "WxH", value_parser = size)]
    pub plain: Option<[f64; 2]>,
    /// Treat each frame as one print, whatever else it shows
    #[arg(long)]
    pub one: bool,
    /// Colour encoding of master and mount
    #[arg(long, value_enum, default_value = "ecirgb-v2")]
    pub encoding: EncodingWord,
    /// Longer side of the share, pixels
    #[arg(long, value_name = "PX", default_value_t = 1600, value_parser = clap::value_parser!(u32).range(64..=20000))]
    pub share: u32,
    /// Also write the mount as a full-size 8-bit sRGB PNG
    #[arg(long)]
    pub srgb_png: bool,
    /// Memory limit for frames in progress, MB [default: a quarter of RAM]
    #[arg(long, value_name = "MB", value_parser = clap::value_parser!(u64).range(100..))]
    pub memory: Option<u64>,
    /// Print one line of JSON per frame
    #[arg(long)]
    pub json: bool,
}

/// Options of `ruler`.
#[derive(Args, Debug)]
pub struct Ruler {
    /// Paper to print it on
    #[arg(long, value_enum, default_value = "a4")]
    pub paper: PaperWord,
    /// Measured length of the bar on a sheet printed without this option, mm
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

/// Options of `pack`.
#[derive(Args, Debug)]
pub struct Pack {
    /// A project, or a folder of results
    #[arg(value_name = "FOLDER", default_value = ".")]
    pub folder: PathBuf,
    /// The same, in the form that other commands use
    #[arg(long = "in", value_name = "DIR", conflicts_with = "folder")]
    pub within: Option<PathBuf>,
    #[command(flatten)]
    pub chosen: hand::Chosen,
    /// The archive: an empty folder, or an archive to continue
    #[arg(short, long, value_name = "FOLDER")]
    pub out: PathBuf,
    /// Title of the archive
    #[arg(long, value_name = "WORDS")]
    pub title: Option<String>,
}

/// Options of `verify`.
#[derive(Args, Debug)]
pub struct Verify {
    /// The archive
    #[arg(value_name = "ARCHIVE")]
    pub bag: PathBuf,
    /// Another copy to compare (repeatable)
    #[arg(long, value_name = "ARCHIVE")]
    pub copy: Vec<PathBuf>,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

impl Ruler {
    /// The request for these options.
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
    /// Draw small frames: 1.5 megapixels instead of 6, quicker but less detailed
    #[arg(long)]
    pub small: bool,
    /// Draw the frames without finishing them, to try take, stand and desk
    #[arg(long)]
    pub only_draw: bool,
}

/// Intended use of the prints.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum AimWord {
    /// Screen
    Web,
    /// Printed book
    Book,
    /// Archival record of the object
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
    /// The primaries of ROMM RGB (ISO 22028-2) in linear light, without that standard's curve
    #[value(name = "linear-romm", alias = "romm")]
    Romm,
    /// sRGB, IEC 61966-2-1
    Srgb,
}

fn shadow(text: &str) -> Result<f64, String> {
    let depth: f64 = text.parse().map_err(|_| "give a number from 0 to 2".to_owned())?;
    if (0.0..=2.0).contains(&depth) { Ok(depth) } else { Err("give a number from 0 to 2".into()) }
}

/// The option of every command that makes pictures with a shadow.
#[derive(Args, Debug)]
pub struct ShadowBy {
    /// Light that casts the shadow: as-shot, mirrored, upper-left, ... or AZ,EL,SIZE
    ///
    /// AZ is where the light comes from in the upright picture (0 right, 90 below, 180 left, 270 above), EL its height above the print, SIZE the
    /// width of its face as seen from the print, all in degrees; named lights stand 45 degrees high and are 12 degrees wide. A print whose
    /// edges are not known well enough keeps its shadow as shot, and a line names it.
    #[arg(long, value_name = "LIGHT", default_value = "as-shot", value_parser = light, allow_hyphen_values = true)]
    light: Light,
}

impl ShadowBy {
    /// The light to cast the shadow by; none is as shot.
    pub fn light(&self) -> Option<finish::light::ShadowLight> {
        (*self.light).clone()
    }
}

/// The same for what is handed on from a project, which may have named lights of its own.
#[derive(Args, Debug)]
pub struct ShadowIn {
    /// Light that casts the shadows: as-shot, mirrored, upper-left, ... or AZ,EL,SIZE
    ///
    /// AZ is where the light comes from in the upright picture (0 right, 90 below, 180 left, 270 above), EL its height above the print, SIZE the
    /// width of its face as seen from the print, all in degrees; named lights stand 45 degrees high and are 12 degrees wide. A light that
    /// was named with fallside light has its name. A print whose edges are not known well enough keeps its shadow as shot, and a line names it.
    #[arg(long, value_name = "LIGHT", default_value = "as-shot", value_parser = light_words, allow_hyphen_values = true)]
    light: String,
}

impl ShadowIn {
    /// The light to cast the shadows of `folder` by; none is as they were finished.
    ///
    /// # Errors
    /// The folder has no light of that name.
    pub fn light(&self, folder: &std::path::Path) -> Result<Option<finish::light::ShadowLight>, String> {
        ::project::light_in(folder, &self.light).map_err(|e| e.to_string())
    }
}

/// Words that are a light anywhere, or may be the name of one in a project.
fn light_words(text: &str) -> Result<String, String> {
    match finish::light::parse(text) {
        Err(_) if finish::light::may_be_name(text) => Ok(text.to_owned()),
        other => other.map(|_| text.to_owned()),
    }
}

/// A light as its words have it: none is as shot. Behind a pointer, since an option of an option would be read as an option left out.
type Light = std::sync::Arc<Option<finish::light::ShadowLight>>;

fn light(text: &str) -> Result<Light, String> {
    finish::light::parse(text).map(std::sync::Arc::new)
}

fn size(text: &str) -> Result<[f64; 2], String> {
    let parse = || {
        let (w, h) = text.split_once(['x', '×'])?;
        let both = [w.trim().parse::<f64>().ok()?, h.trim().parse::<f64>().ok()?];
        both.iter().all(|v| (5.0..2000.0).contains(v)).then_some(both)
    };
    parse().ok_or_else(|| "give width x height in mm, such as 100x150".to_owned())
}

impl Finish {
    /// The request for these options.
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
            counters: self.counter.clone(),
            settings: Settings {
                aim: self.aim.into(),
                shadow: self.shadow,
                light: self.shadow_light.light(),
                encoding,
                share_px: self.share,
                srgb_png: self.srgb_png,
                formats: self.format.clone(),
                plain_mm: self.plain,
                one: self.one,
                unbend: match (self.unbend, self.no_unbend) {
                    (true, _) => Some(true),
                    (_, true) => Some(false),
                    _ => None,
                },
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
