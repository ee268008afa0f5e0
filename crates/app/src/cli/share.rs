//! Options of `share`.

use super::hand::{Prints, Said};
use clap::Args;
use handoff::share::making::{Pixels, Settings, Shape};
use handoff::share::{LEAST_KB, Request};
use std::path::PathBuf;

pub const ABOUT: &str = "\
Make shares: each print with its own shadow on a sheet of pure white, in the shape that the place where you post asks for.

Print and shadow are never cropped. The print is centred on the sheet; the shadow does not affect the centring. White is exactly \
white up to the edge. Files are sRGB JPEG with an embedded profile. They carry the fields you allow and nothing else: no camera \
data, no original, no checksum. Private prints are left out and listed. For prints marked “ask”, the people, the place and every \
text that names them are left out. Alt text is also written to alt-text.txt beside the files.

Only files written by Fallside are ever overwritten.";

pub const EXAMPLE: &str = "\
Examples:

    fallside share --edit \"tight\" --shape 4:5 --out ~/to-post
    fallside share --all --shape 1:1 --pixels 1080 --kilobytes 300 --keep title,alt --one-scale --out ~/squares

Exit codes: 0 all are made; 1 some failed, each with a line that says why; 2 nothing was made.";

/// Options of `share`.
#[derive(Args, Debug)]
pub struct Share {
    #[command(flatten)]
    pub prints: Prints,
    /// Folder for the shares; created if missing
    #[arg(short, long, value_name = "FOLDER")]
    pub out: PathBuf,
    /// Aspect ratio of the sheet: 1:1, 4:5, 3:2, 9:16, 16:9 or any other
    #[arg(long, value_name = "W:H", value_parser = Shape::parse)]
    pub shape: Option<Shape>,
    /// Longer side of the sheet (1350) or both sides (1080x1350)
    #[arg(long, value_name = "PX", value_parser = Pixels::parse, default_value = "2160")]
    pub pixels: Pixels,
    /// Maximum file size
    #[arg(long, value_name = "KB", value_parser = clap::value_parser!(u32).range(i64::from(LEAST_KB)..))]
    pub kilobytes: Option<u32>,
    /// Minimum white around the print, per cent of the sheet's shorter side
    #[arg(long, value_name = "PERCENT", default_value_t = 6.0, value_parser = margin)]
    pub margin: f64,
    /// One scale for the whole set, so that small formats look small
    #[arg(long)]
    pub one_scale: bool,
    #[command(flatten)]
    pub said: Said,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

fn margin(text: &str) -> Result<f64, String> {
    let percent: f64 = text.parse().map_err(|_| "give a number from 0 to 40".to_owned())?;
    if (0.0..=40.0).contains(&percent) { Ok(percent) } else { Err("give a number from 0 to 40".into()) }
}

impl Share {
    /// The request for these options.
    ///
    /// # Errors
    /// Shape and size contradict each other, or there is no such light.
    pub fn request(&self) -> Result<Request, String> {
        let usual = Settings::default();
        let shape = match (self.shape, self.pixels) {
            // Both sides are given: a difference of one pixel is rounding.
            (Some(shape), Pixels::Sheet([w, h])) if (w as f64 - h as f64 * shape.ratio()).abs() > 1.0 => {
                return Err(format!("{w}x{h} px does not have the shape {shape}. Give only one of the two."));
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
            light: self.prints.shadow_light.light(&self.prints.folder)?,
            allow: self.said.allow(),
        })
    }
}
