//! Options of `gallery`.

use super::hand::{Prints, Said};
use clap::Args;
use handoff::gallery::{HERE, LEAST_KB, Request};
use std::path::PathBuf;

pub const ABOUT: &str = "\
Make a gallery: a static website that opens from disk and from any web host.

It has a wall of all prints at one scale, a page for each print, and zoomable pictures. It works without scripts and requests \
nothing from other servers. Once you have calibrated the screen with a ruler, each page can show its print at true size. Other \
viewers read the pictures and their list by IIIF (Image API 3.0 level 0, Presentation 3.0): give the site's address with \
--address.

Run the command again after a change: only changed pages and pictures are made, and prints that are no longer chosen are \
removed. Private prints are left out and listed. For prints marked “ask”, the people, the place and every text that names them \
are left out. Only files written by Fallside are ever overwritten.";

pub const EXAMPLE: &str = "\
Example:

    fallside gallery --edit \"sequence\" --title \"The harbour years\" --address https://example.org/harbour/ --out ~/site

Exit codes: 0 the site is complete; 1 some prints are missing, each with a line that says why; 2 nothing was made.";

/// Options of `gallery`.
#[derive(Args, Debug)]
pub struct Gallery {
    #[command(flatten)]
    pub prints: Prints,
    /// Folder for the site; created if missing
    #[arg(short, long, value_name = "FOLDER")]
    pub out: PathBuf,
    /// Title of the site
    #[arg(long, value_name = "WORDS", default_value = "Instant prints")]
    pub title: String,
    /// Web address of the site, for IIIF viewers
    #[arg(long, value_name = "URL", default_value = HERE)]
    pub address: String,
    /// Also show the backs of prints whose privacy is open
    #[arg(long)]
    pub backs: bool,
    /// Also newsletter.html: one file with embedded pictures, up to this many kB
    #[arg(long, value_name = "KB", num_args = 0..=1, default_missing_value = "1000", value_parser = clap::value_parser!(u32).range(i64::from(LEAST_KB)..))]
    pub newsletter: Option<u32>,
    #[command(flatten)]
    pub said: Said,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

impl Gallery {
    /// The request for these options.
    ///
    /// # Errors
    /// There is no such light.
    pub fn request(&self) -> Result<Request, String> {
        Ok(Request {
            folder: self.prints.folder.clone(),
            which: self.prints.chosen.which(),
            out: self.out.clone(),
            title: self.title.clone(),
            address: self.address.clone(),
            backs: self.backs,
            newsletter: self.newsletter,
            light: self.prints.shadow_light.light(&self.prints.folder)?,
            allow: self.said.allow(),
        })
    }
}
