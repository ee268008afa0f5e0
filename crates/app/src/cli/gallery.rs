//! Words of `gallery`.

use super::hand::{Prints, Said};
use clap::Args;
use handoff::gallery::{HERE, LEAST_KB, Request};
use std::path::PathBuf;

pub const ABOUT: &str = "\
Make a gallery: a site of plain files that opens from disk and from any host.

A wall of all prints at one scale, a page for each, and pictures to go close to. Nothing needs a script to be seen, nothing is \
asked of another machine. Each page can show its print at true size once a ruler was laid on the screen. Other viewers read \
the pictures and their list by IIIF (Image API 3.0 level 0, Presentation 3.0): say with --address where the site will be.

Run it again after a change: only what changed is made anew, and prints no longer chosen are taken away. Private prints are \
left out and named; of a print marked “ask”, people and place stay, and every word that names them. Only files that Fallside \
wrote are ever overwritten.";

pub const EXAMPLE: &str = "\
Example:

    fallside gallery --edit \"sequence\" --title \"The harbour years\" --address https://example.org/harbour/ --out ~/site

Exit codes: 0 the site is whole; 1 some print could not be shown, and has its line; 2 nothing was made.";

/// Options of `gallery`.
#[derive(Args, Debug)]
pub struct Gallery {
    #[command(flatten)]
    pub prints: Prints,
    /// Folder for the site; made if it is not there
    #[arg(short, long, value_name = "FOLDER")]
    pub out: PathBuf,
    /// Its title
    #[arg(long, value_name = "WORDS", default_value = "Instant prints")]
    pub title: String,
    /// Where it will be read, for other viewers
    #[arg(long, value_name = "URL", default_value = HERE)]
    pub address: String,
    /// Show backs too, of prints that everyone may see
    #[arg(long)]
    pub backs: bool,
    /// Also newsletter.html, one file with its pictures inside, of at most so many kB
    #[arg(long, value_name = "KB", num_args = 0..=1, default_missing_value = "1000", value_parser = clap::value_parser!(u32).range(i64::from(LEAST_KB)..))]
    pub newsletter: Option<u32>,
    #[command(flatten)]
    pub said: Said,
    /// Answer in JSON on standard output
    #[arg(long)]
    pub json: bool,
}

impl Gallery {
    /// The request these words mean.
    pub fn request(&self) -> Request {
        Request {
            folder: self.prints.folder.clone(),
            which: self.prints.chosen.which(),
            out: self.out.clone(),
            title: self.title.clone(),
            address: self.address.clone(),
            backs: self.backs,
            newsletter: self.newsletter,
            allow: self.said.allow(),
        }
    }
}
