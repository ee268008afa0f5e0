//! Options of `fallside book`.

use clap::Args;
use handoff::book::{
    Cover, FIRST_DOTS, FLAPS, Imposition, Request, SCALES, SIDES_MM, SIGNATURES, Sheet, Stock, THICKNESS, THICKNESSES,
    Turn,
};
use handoff::selection::Which;
use std::path::PathBuf;

pub const ABOUT: &str = "\
Make a press-ready book: finished prints at true size on white pages.

The white is the paper itself: no pixel of it carries ink, and a certificate beside the file proves it. Shadows end at the \
first dot that the press can print. With the printer's ICC profile, the file is PDF/X-4 in the press's inks; without one it is \
sRGB, for screens and RGB printers. Nothing is cropped, and nothing is enlarged unless you use --enlarge. A print that does \
not fit its page is reported.

--layout is a list of page arrangements, used in turn; the last one repeats: single (a print on the right-hand page, the left \
one empty), back (a print opposite its back), facing (two prints across a spread), row=3, grid=2x2, blank (an empty page).

--write-layout book.txt writes the pages as a list that you can read and change, one line a page or spread: which prints, how \
large, where, with or without caption, details, empty pages. --pages book.txt makes the book of it.

The flat plan (every spread on one page) and the certificate are always written beside the book. On request: a dummy, a zine \
(pages on sheets of A4, A3, letter or tabloid, to print on both sides, fold and stitch), a proof sheet for the printer, a soft proof, and a deck of cards to cut out and arrange on a table.";

pub const EXAMPLE: &str = "\
Example:

    fallside book --in ~/instant-archive --edit sequence --trim 240x240mm --printer press.icc --first-dot 3% \\
        --layout single,facing --title \"The harbour years\" --author \"Ada Vale\" --out book.pdf --proof

    24 prints, 44 pages of 240 by 240 mm.
    Every print at true size, 400 pixels per inch or more.
    PDF/X-4 in the inks of Coated offset.
    Bare paper: 0 of 21.3 million pixels with ink, 0 on a picture's edge. The faintest tint in a shadow is 3.1 %.

Exit codes: 0 no problems; 1 made, but something needs a look; 2 nothing was made.";

/// Options of `book`.
#[derive(Args, Debug)]
pub struct Book {
    /// A project, or a folder of results
    #[arg(long = "in", value_name = "DIR", default_value = ".")]
    pub folder: PathBuf,
    /// The prints of an edit, in its order
    #[arg(long, value_name = "NAME", group = "which")]
    pub edit: Option<String>,
    /// The prints that a search finds
    #[arg(long, value_name = "LINE", group = "which")]
    pub find: Option<String>,
    /// Every print
    #[arg(long, group = "which")]
    pub all: bool,
    /// The file to write
    #[arg(short, long, value_name = "FILE", default_value = "book.pdf")]
    pub out: PathBuf,
    /// Page size after trimming
    #[arg(long, value_name = "WxH", default_value = "240x240mm", value_parser = trim)]
    pub trim: [f64; 2],
    /// Bleed beyond the trim, mm
    #[arg(long, value_name = "MM", default_value = "3mm", value_parser = length)]
    pub bleed: f64,
    /// Safe margin to a trimmed edge, mm
    #[arg(long, value_name = "MM", default_value = "6.4mm", value_parser = length)]
    pub safe: f64,
    /// Safe margin to the spine, mm
    #[arg(long, value_name = "MM", default_value = "12mm", value_parser = length)]
    pub gutter: f64,
    /// Page arrangements in turn: single, back, facing, row=N, grid=CxR, blank
    #[arg(long, value_name = "LIST", default_value = "single", value_delimiter = ',')]
    pub layout: Vec<String>,
    /// The book's pages, from a list that you wrote: one line a page or spread
    #[arg(long, value_name = "FILE", conflicts_with_all = ["layout", "enlarge"])]
    pub pages: Option<PathBuf>,
    /// Only write such a list, from --layout, to change by hand; no book is made
    #[arg(long, value_name = "FILE", conflicts_with = "pages")]
    pub write_layout: Option<PathBuf>,
    /// Enlarge prints: multiple of true size
    #[arg(long, value_name = "TIMES", default_value_t = 1.0, value_parser = times)]
    pub enlarge: f64,
    /// The printer's ICC profile of press and paper (CMYK)
    #[arg(long, value_name = "ICC")]
    pub printer: Option<PathBuf>,
    /// Keep pictures in RGB; the press converts them
    #[arg(long, requires = "printer")]
    pub keep_rgb: bool,
    /// Smallest dot the press prints; ask the printer
    #[arg(long, value_name = "SHARE", default_value = "3%", value_parser = dot)]
    pub first_dot: f64,
    /// Total ink limit, all inks together
    #[arg(long, value_name = "SHARE", default_value = "300%", value_parser = ink)]
    pub ink_limit: f64,
    /// Maximum resolution of pictures, pixels per inch
    #[arg(long, value_name = "PPI", default_value_t = 400.0, value_parser = ppi)]
    pub ppi: f64,
    #[command(flatten)]
    pub shadow_light: super::ShadowIn,
    /// Title of the book
    #[arg(long, value_name = "WORDS", default_value = "")]
    pub title: String,
    /// Its author
    #[arg(long, value_name = "NAME", default_value = "")]
    pub author: String,
    /// No captions
    #[arg(long)]
    pub no_captions: bool,
    /// Page count is a multiple of this
    #[arg(long, value_name = "PAGES", default_value_t = 4, value_parser = clap::value_parser!(u16).range(1..=64))]
    pub signature: u16,
    /// Font (.ttf, .otf) for characters that the book's serif lacks; repeat it for several, the first has precedence
    #[arg(long, value_name = "FILE")]
    pub font: Vec<PathBuf>,
    /// Use no other fonts of this machine
    #[arg(long)]
    pub no_system_fonts: bool,
    /// Date of the file [default: today]
    #[arg(long, value_name = "DAY")]
    pub dated: Option<String>,
    /// Also a dummy, at half size by default
    #[arg(long, value_name = "SHARE", num_args = 0..=1, default_missing_value = "50%", value_parser = share)]
    pub dummy: Option<f64>,
    /// Also a proof sheet: the three most demanding prints, tints, scale bar
    #[arg(long)]
    pub proof: bool,
    /// Also a zine: pages imposed on sheets to print, fold and stitch: A4, A3, letter or tabloid
    #[arg(long, value_name = "PAPER", value_parser = stock)]
    pub zine: Option<Stock>,
    /// Size of the zine's pages: a share of the book's, or fit
    #[arg(long, value_name = "SHARE", requires = "zine", default_value = "100%", value_parser = zine_size)]
    pub zine_size: ZineSize,
    /// Pages to a signature of the zine, 4 to 64 [default: all in one, or as few equal ones as can be]
    #[arg(long, value_name = "PAGES", requires = "zine", value_parser = signature)]
    pub zine_signature: Option<usize>,
    /// The edge over which the printer turns sheets: short or long
    #[arg(long, value_name = "EDGE", requires = "zine", default_value = "short", value_parser = turn)]
    pub zine_turn: Turn,
    /// Marks where to fold and cut the zine
    #[arg(long, requires = "zine")]
    pub zine_marks: bool,
    /// Thickness of the paper, mm: for the spine, and for a zine's inner pages
    #[arg(long, value_name = "MM", default_value_t = THICKNESS, value_parser = thickness)]
    pub paper_thickness: f64,
    /// Page numbers on pages of prints, texts and the list of plates
    #[arg(long)]
    pub page_numbers: bool,
    /// Crop marks round every page, and a line that names it
    #[arg(long)]
    pub crop_marks: bool,
    /// Also a cover (back, spine, front), with a print of the book on its front where one is named
    #[arg(long, value_name = "PRINT", num_args = 0..=1, default_missing_value = "")]
    pub cover: Option<String>,
    /// Width of the spine, as the printer says it [default: from pages and --paper-thickness]
    #[arg(long, value_name = "MM", requires = "cover", value_parser = length)]
    pub spine: Option<f64>,
    /// Width of each flap of a jacket
    #[arg(long, value_name = "MM", requires = "cover", value_parser = flaps)]
    pub flaps: Option<f64>,
    /// Also a deck of true-size cards to cut out
    #[arg(long)]
    pub deck: bool,
    /// Also a soft proof: simulated inks and paper
    #[arg(long, requires = "printer", conflicts_with = "keep_rgb")]
    pub soft_proof: bool,
    /// Also a preview (SVG) of every spread
    #[arg(long)]
    pub spreads: bool,
    /// Include prints marked private
    #[arg(long)]
    pub with_private: bool,
}

impl Book {
    /// The request for these options.
    ///
    /// # Errors
    /// There is no such light.
    pub fn request(&self) -> Result<Request, String> {
        let which = match (&self.edit, &self.find) {
            (Some(name), _) => Which::Edit(name.clone()),
            (None, Some(line)) => Which::Found(line.clone()),
            (None, None) => Which::All,
        };
        Ok(Request {
            folder: self.folder.clone(),
            which,
            out: self.out.clone(),
            light: self.shadow_light.light(&self.folder)?,
            sheet: Sheet { trim: self.trim, bleed: self.bleed, safe: self.safe, gutter: self.gutter },
            pages: self.pages.clone(),
            write_layout: self.write_layout.clone(),
            layout: self.layout.clone(),
            scale: self.enlarge,
            ppi: self.ppi,
            first_dot: self.first_dot,
            ink_limit: self.ink_limit,
            printer: self.printer.clone(),
            keep_rgb: self.keep_rgb,
            title: self.title.clone(),
            author: self.author.clone(),
            captions: !self.no_captions,
            signature: self.signature.into(),
            fonts: self.font.clone(),
            machine_fonts: !self.no_system_fonts,
            day: self.dated.clone(),
            dummy: self.dummy,
            proof: self.proof,
            zine: self.zine.map(|stock| Imposition {
                stock,
                scale: self.zine_size.0,
                signature: self.zine_signature,
                turn: self.zine_turn,
                thickness: self.paper_thickness,
                marks: self.zine_marks,
            }),
            page_numbers: self.page_numbers,
            crop_marks: self.crop_marks,
            cover: self.cover.clone().map(|print| Cover {
                print: Some(print).filter(|p| !p.is_empty()),
                thickness: self.paper_thickness,
                spine: self.spine,
                flaps: self.flaps,
            }),
            deck: self.deck,
            soft_proof: self.soft_proof,
            spreads: self.spreads,
            with_private: self.with_private,
        })
    }
}

fn trim(text: &str) -> Result<[f64; 2], String> {
    let parse = || {
        let (w, h) = text.trim().trim_end_matches("mm").split_once(['x', '×'])?;
        let both = [w.trim().trim_end_matches("mm").parse::<f64>().ok()?, h.trim().parse::<f64>().ok()?];
        both.iter().all(|v| SIDES_MM.contains(v)).then_some(both)
    };
    parse().ok_or_else(|| "give width x height in mm, such as 240x240mm".to_owned())
}

fn length(text: &str) -> Result<f64, String> {
    let mm = text.trim().trim_end_matches("mm").trim().parse::<f64>().ok().filter(|v| (0.0..=200.0).contains(v));
    mm.ok_or_else(|| "give a length in mm from 0 to 200, such as 3mm".to_owned())
}

fn percent(text: &str, low: f64, high: f64) -> Result<f64, String> {
    let share = text.trim().strip_suffix('%').and_then(|t| t.trim().parse::<f64>().ok()).map(|v| v / 100.0);
    let share = share.or_else(|| text.trim().parse::<f64>().ok()).filter(|v| (low..=high).contains(v));
    share.ok_or_else(|| format!("give a percentage from {:.0}% to {:.0}%", low * 100.0, high * 100.0))
}

fn dot(text: &str) -> Result<f64, String> {
    percent(text, *FIRST_DOTS.start(), *FIRST_DOTS.end())
}

fn ink(text: &str) -> Result<f64, String> {
    percent(text, 1.0, 4.0)
}

fn share(text: &str) -> Result<f64, String> {
    percent(text, 0.1, 1.0)
}

/// Size of a zine's pages; none for as large as fits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ZineSize(Option<f64>);

fn zine_size(text: &str) -> Result<ZineSize, String> {
    match text.trim() {
        "fit" => Ok(ZineSize(None)),
        // A page cannot be larger in the zine than in the book: its pictures have the book's pixels.
        other => percent(other, 0.1, 1.0).map(|v| ZineSize(Some(v))).map_err(|e| format!("{e}, or fit")),
    }
}

fn stock(text: &str) -> Result<Stock, String> {
    Stock::parse(text).ok_or_else(|| "give A4, A3, letter or tabloid".to_owned())
}

fn signature(text: &str) -> Result<usize, String> {
    let pages = text.trim().parse::<usize>().ok().filter(|n| SIGNATURES.contains(n) && n % 4 == 0);
    pages.ok_or_else(|| "give pages from 4 to 64 in steps of 4".to_owned())
}

fn turn(text: &str) -> Result<Turn, String> {
    match text.trim() {
        "short" => Ok(Turn::ShortEdge),
        "long" => Ok(Turn::LongEdge),
        _ => Err("give short or long, as the printer's own dialog calls it".to_owned()),
    }
}

fn thickness(text: &str) -> Result<f64, String> {
    let mm = text.trim().trim_end_matches("mm").trim().parse::<f64>().ok().filter(|v| THICKNESSES.contains(v));
    mm.ok_or_else(|| {
        format!("give a thickness in mm from {} to {}, such as 0.1", THICKNESSES.start(), THICKNESSES.end())
    })
}

fn flaps(text: &str) -> Result<f64, String> {
    let mm = length(text).ok().filter(|v| FLAPS.contains(v));
    mm.ok_or_else(|| format!("give a width in mm from {} to {}", FLAPS.start(), FLAPS.end()))
}

fn times(text: &str) -> Result<f64, String> {
    let times = text.trim().parse::<f64>().ok().filter(|v| SCALES.contains(v));
    times.ok_or_else(|| "give a multiple of true size, from 0.25 to 10".to_owned())
}

fn ppi(text: &str) -> Result<f64, String> {
    let ppi = text.trim().parse::<f64>().ok().filter(|v| (72.0..=2400.0).contains(v));
    ppi.ok_or_else(|| "give pixels per inch, from 72 to 2400".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn measures_are_read_with_and_without_their_units() {
        assert_eq!(
            (trim("240x240mm"), trim("148 x 210"), trim("240mm x 300mm")),
            (Ok([240.0; 2]), Ok([148.0, 210.0]), Ok([240.0, 300.0]))
        );
        assert!(trim("240").is_err() && trim("4x4").is_err() && trim("axb").is_err() && trim("nanxnan").is_err());
        assert_eq!((length("3mm"), length("6.4"), length("-1").is_err()), (Ok(3.0), Ok(6.4), true));
        assert_eq!((dot("3%"), dot("0.03"), dot("30%").is_err(), ink("280 %")), (Ok(0.03), Ok(0.03), true, Ok(2.8)));
    }
}
