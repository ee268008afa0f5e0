//! The certificate of a book, written beside it.

use super::Request;
use publish::book::typesetting::{Faces, Source};
use publish::book::{self, Made, Settings};
use serde::Serialize;

/// Name and version of the certificate's form.
pub(super) const SCHEMA: &str = "fallside.book/1";

/// The certificate of a book: what its file holds where the paper should be bare, picture by picture.
#[derive(Debug, Serialize, schemars::JsonSchema)]
pub struct Certificate {
    /// `fallside.book/1`.
    schema: &'static str,
    /// The book's file name.
    file: String,
    /// BLAKE3 of the file, hex.
    blake3: String,
    /// Number of pages.
    pages: usize,
    /// Width and height after the cut, mm.
    trim_mm: [f64; 2],
    /// Printed beyond the cut, mm.
    bleed_mm: f64,
    /// The printing condition as its profile names it; none in RGB.
    condition: Option<String>,
    /// `inks`, `ecirgb-v2` or `srgb`.
    numbers: &'static str,
    /// First printable dot that shadows were shaped for, share of full ink.
    first_dot: f64,
    /// Ink limit, all inks together, as a share of one full ink.
    ink_limit: f64,
    /// True where no bare paper and no picture's rim has ink.
    paper_white: bool,
    /// The fonts that set its words.
    fonts: Vec<FaceUsed>,
    /// Picture by picture, as they stand in the book.
    pictures: Vec<Picture>,
}

/// A font that set words of the book.
#[derive(Debug, Serialize, schemars::JsonSchema)]
pub(super) struct FaceUsed {
    /// Its family.
    pub(super) family: String,
    /// Its name in the PDF.
    name: String,
    /// `book` (part of Fallside), `named` (with `--font`) or `machine` (found on the machine that made the book).
    pub(super) from: &'static str,
    /// Name of its file.
    pub(super) file: Option<String>,
    /// BLAKE3 of its file, hex: the same fonts give the same bytes.
    blake3: Option<String>,
    /// Glyphs used of it.
    glyphs: usize,
}

impl FaceUsed {
    pub(super) fn all(faces: &Faces) -> Vec<Self> {
        let used = faces.all.iter().filter(|f| f.is_used());
        used.map(|f| {
            let read = f.source != Source::Own;
            Self {
                family: f.family.clone(),
                name: f.name.clone(),
                from: match f.source {
                    Source::Own => "book",
                    Source::Named => "named",
                    Source::Machine => "machine",
                },
                file: read.then(|| f.file.clone()),
                blake3: read.then(|| blake3::hash(f.bytes()).to_hex().to_string()),
                glyphs: f.used().count(),
            }
        })
        .collect()
    }
}

/// One picture of the book.
#[derive(Debug, Serialize, schemars::JsonSchema)]
struct Picture {
    /// The print.
    name: String,
    /// Its page, from 1.
    page: usize,
    /// Its back.
    back: bool,
    /// Size on the page over true size.
    scale: f64,
    /// The part of the print that is shown, mm of the print: left, top, width, height; none where all of it is.
    detail_mm: Option<[f64; 4]>,
    /// Columns and rows in the file.
    size_px: [usize; 2],
    /// The print itself on the page, mm: left, top (from the trimmed page's corner), width, height.
    print_mm: [f64; 4],
    /// The picture on the page, mm, the same way.
    picture_mm: [f64; 4],
    /// How its shadow came about.
    shadow: String,
    /// How far the shadow goes beyond the print, mm: left, top, right, foot.
    shadow_mm: [f64; 4],
    /// Pixels to the inch in the file.
    ppi: f64,
    /// Pixels to the inch of the mount at this size.
    ppi_of_mount: f64,
    /// Pixels of bare paper, and those of them with any ink.
    bare_px: u64,
    /// Must be 0.
    bare_with_ink_px: u64,
    /// Must be 0: pixels on the picture's outermost rows and columns with any ink.
    rim_with_ink_px: u64,
    /// Smallest tint of the shadow, share of full ink.
    first_tint: Option<f64>,
    /// Largest step between neighbours where bare paper meets shadow, share of full ink.
    largest_step: f64,
    /// The most ink on a pixel, share of one full ink.
    most_ink: f64,
    /// Share of pixels over the ink limit.
    over_limit: f64,
}

impl Certificate {
    pub(super) fn of(r: &Request, s: &Settings, made: &Made, hash: &str) -> Self {
        let mm = |v: f64| (v * 1000.0).round() / 1000.0;
        let share = |v: f64| (v * 1e5).round() / 1e5;
        let mut pictures = vec![];
        for (n, page) in made.pages.iter().enumerate() {
            for thing in &page.things {
                let book::make::Thing::Picture(i, whole, print) = thing else { continue };
                let (k, c) = (&made.pictures[*i], &made.pictures[*i].certificate);
                pictures.push(Picture {
                    name: k.name.clone(),
                    page: n + 1,
                    back: k.back,
                    scale: k.scale,
                    detail_mm: k.detail,
                    size_px: k.size_px,
                    print_mm: [print.x, print.y, print.w, print.h].map(mm),
                    picture_mm: [whole.x, whole.y, whole.w, whole.h].map(mm),
                    shadow: k.shadow.clone(),
                    shadow_mm: k.reach.map(mm),
                    ppi: (k.ppi[1] * 10.0).round() / 10.0,
                    ppi_of_mount: (k.ppi[0] * 10.0).round() / 10.0,
                    bare_px: c.bare,
                    bare_with_ink_px: c.bare_with_ink,
                    rim_with_ink_px: c.rim_with_ink,
                    first_tint: c.first_tint.map(share),
                    largest_step: share(c.largest_step),
                    most_ink: share(c.most_ink),
                    over_limit: share(c.over_limit),
                });
            }
        }
        Self {
            schema: SCHEMA,
            file: base::files::name_of(&r.out),
            blake3: hash.to_owned(),
            pages: made.pages.len(),
            trim_mm: r.sheet.trim,
            bleed_mm: r.sheet.bleed,
            condition: made.press.as_ref().map(|p| p.name.clone()),
            numbers: match (&made.press, r.keep_rgb) {
                (Some(_), false) => "inks",
                (Some(_), true) => "ecirgb-v2",
                (None, _) => "srgb",
            },
            first_dot: s.first_dot,
            ink_limit: s.limit,
            paper_white: made.pictures.iter().all(|k| k.certificate.holds()),
            fonts: FaceUsed::all(&made.faces),
            pictures,
        }
    }
}

/// The certificate's JSON Schema.
pub fn json_schema() -> String {
    serde_json::to_string_pretty(&schemars::schema_for!(Certificate)).unwrap_or_default() + "\n"
}
