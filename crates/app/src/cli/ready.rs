//! Options of `ready`.

use super::hand::Chosen;
use clap::{ArgGroup, Args, ValueEnum};
use handoff::ready::{Purpose, Request};
use handoff::share::making::{Pixels, Settings, Shape};
use std::path::PathBuf;

pub const ABOUT: &str = "\
List what is not ready to be handed on, before anything is made: prints that say nothing of who may see them, prints that an earlier \
export still shows though they left the edit or are private now, prints of which nobody knows which way is up, fronts and backs to be \
photographed again, too few pixels for the size, no alt text. Each line ends with what mends it.

Only what would leave is looked at. Nothing is written.";

pub const EXAMPLE: &str = "\
Examples:

    fallside ready --edit tight --for share --shape 4:5 --pixels 2160 --out ~/to-post
    fallside ready --edit sequence --for book && fallside book --edit sequence --out ~/book.pdf

Exit codes: 0 all is ready; 1 something is to be settled first; 2 the prints could not be read.";

/// What the prints are for.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum ForWord {
    /// Pictures to post
    Share,
    /// A website
    Gallery,
    /// A book
    Book,
    /// An archive
    Pack,
}

/// Options of `ready`.
#[derive(Args, Debug)]
#[command(group = ArgGroup::new("which").required(true).args(["edit", "find", "all"]))]
pub struct Ready {
    /// A project, or a folder of results
    #[arg(long = "in", value_name = "DIR", default_value = ".")]
    pub folder: PathBuf,
    #[command(flatten)]
    pub chosen: Chosen,
    /// What the prints are for
    #[arg(long = "for", value_enum, value_name = "FORM", default_value = "share")]
    pub purpose: ForWord,
    /// The folder that will be written, or was before: what no longer belongs there is listed (repeatable)
    #[arg(short, long, value_name = "FOLDER")]
    pub out: Vec<PathBuf>,
    /// Aspect ratio of a share's sheet
    #[arg(long, value_name = "W:H", value_parser = Shape::parse)]
    pub shape: Option<Shape>,
    /// Longer side of a share's sheet (1350) or both sides (1080x1350)
    #[arg(long, value_name = "PX", value_parser = Pixels::parse)]
    pub pixels: Option<Pixels>,
    /// Shares at one scale, so that small formats look small
    #[arg(long)]
    pub one_scale: bool,
    /// Size on a book's page over true size
    #[arg(long, value_name = "FACTOR", default_value_t = 1.0, value_parser = scale)]
    pub scale: f64,
    /// Backs are shown too
    #[arg(long)]
    pub backs: bool,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

fn scale(text: &str) -> Result<f64, String> {
    text.parse()
        .ok()
        .filter(|v: &f64| v.is_finite() && *v > 0.0)
        .ok_or_else(|| "give a number above 0, such as 1.5".into())
}

impl Ready {
    /// The request for these options.
    pub fn request(&self) -> Request {
        let usual = Settings::default();
        let settings =
            Settings { shape: self.shape.unwrap_or(usual.shape), pixels: self.pixels.unwrap_or(usual.pixels), ..usual };
        let purpose = match self.purpose {
            ForWord::Share => Purpose::Share { settings, one_scale: self.one_scale },
            ForWord::Gallery => Purpose::Gallery { backs: self.backs },
            ForWord::Book => Purpose::Book { scale: self.scale, backs: self.backs },
            ForWord::Pack => Purpose::Pack,
        };
        Request { folder: self.folder.clone(), which: self.chosen.which(), purpose, earlier: self.out.clone() }
    }
}
