//! Words of `share`.

use super::hand::{Prints, Said};
use clap::Args;
use handoff::share::making::{Pixels, Settings, Shape};
use handoff::share::{LEAST_KB, Request};
use std::path::PathBuf;

pub const ABOUT: &str = "\
Make shares: each print with its own shadow on a sheet of pure white, in the shape that a place to post asks for.

Print and shadow are never cut. The sheet is centred on the print; its shadow weighs nothing. White is exactly white to the \
edge. Files are sRGB JPEG with their profile, and carry the words that were allowed and nothing else: no camera, no original, \
no checksum. Private prints are left out and named; of a print marked “ask”, people and place stay, and every word that names \
them. What is seen is written into alt-text.txt beside them.

Only files that Fallside wrote are ever overwritten.";

pub const EXAMPLE: &str = "\
Examples:

    fallside share --edit \"tight\" --shape 4:5 --out ~/to-post
    fallside share --all --shape 1:1 --pixels 1080 --kilobytes 300 --keep title,alt --one-scale --out ~/squares

Exit codes: 0 all are made; 1 some could not be, and have their line; 2 nothing was made.";

/// Options of `share`.
#[derive(Args, Debug)]
pub struct Share {
    #[command(flatten)]
    pub prints: Prints,
    /// Folder for the shares; made if it is not there
    #[arg(short, long, value_name = "FOLDER")]
    pub out: PathBuf,
    /// Width to height of the sheet: 1:1, 4:5, 3:2, 9:16, 16:9 or any
    #[arg(long, value_name = "W:H", value_parser = Shape::parse)]
    pub shape: Option<Shape>,
    /// Longer side of the sheet, as 1350, or both sides, as 1080x1350
    #[arg(long, value_name = "PX", value_parser = Pixels::parse, default_value = "2160")]
    pub pixels: Pixels,
    /// Most size of a file
    #[arg(long, value_name = "KB", value_parser = clap::value_parser!(u32).range(i64::from(LEAST_KB)..))]
    pub kilobytes: Option<u32>,
    /// Least white around the print, per cent of the sheet's shorter side
    #[arg(long, value_name = "PERCENT", default_value_t = 6.0, value_parser = margin)]
    pub margin: f64,
    /// One scale for the whole set, so that a mini looks mini
    #[arg(long)]
    pub one_scale: bool,
    #[command(flatten)]
    pub said: Said,
    /// Answer in JSON on standard output
    #[arg(long)]
    pub json: bool,
}

fn margin(text: &str) -> Result<f64, String> {
    let percent: f64 = text.parse().map_err(|_| "say a number from 0 to 40".to_owned())?;
    if (0.0..=40.0).contains(&percent) { Ok(percent) } else { Err("say a number from 0 to 40".into()) }
}

impl Share {
    /// The request these words mean.
    ///
    /// # Errors
    /// Shape and size contradict each other.
    pub fn request(&self) -> Result<Request, String> {
        let usual = Settings::default();
        let shape = match (self.shape, self.pixels) {
            // Both sides were said: a pixel either way is rounding.
            (Some(shape), Pixels::Sheet([w, h])) if (w as f64 - h as f64 * shape.ratio()).abs() > 1.0 => {
                return Err(format!("{w}x{h} px is not {shape}. Say one of the two."));
            }
            (Some(shape), _) => shape,
            (None, Pixels::Sheet([w, h])) => Shape::new(w as f64, h as f64),
            (None, Pixels::Long(_)) => usual.shape,
        };
        let settings = Settings { shape, pixels: self.pixels, margin: self.margin / 100.0, kilobytes: self.kilobytes };
        Ok(Request {
            folder: self.prints.folder.clone(),
            which: self.prints.chosen.which(),
            out: self.out.clone(),
            settings,
            one_scale: self.one_scale,
            allow: self.said.allow(),
        })
    }
}
