//! Reads the certificate of a book, for showing it.

use super::{PPI_ASKED, PPI_LEAST};
use serde::Deserialize;
use std::path::{Path, PathBuf};

/// What a certificate proves.
#[derive(Debug, Deserialize)]
pub struct Proof {
    /// Pages.
    pub pages: usize,
    /// Size after trimming, mm.
    pub trim_mm: [f64; 2],
    /// Name of the printing condition; absent in RGB.
    pub condition: Option<String>,
    /// True where bare paper gets no ink.
    pub paper_white: bool,
    /// Its pictures in order.
    pub pictures: Vec<Proved>,
}

/// What it proves of a picture.
#[derive(Debug, Deserialize)]
pub struct Proved {
    /// The print.
    pub name: String,
    /// Page, from 1.
    pub page: usize,
    /// Pixels per inch at the size it is printed.
    pub ppi: f64,
    /// Pixels of bare paper that got ink.
    pub bare_with_ink_px: u64,
    /// Pixels of the rim, where the shadow ends, that got ink.
    pub rim_with_ink_px: u64,
}

impl Proved {
    /// What its pixels to the inch mean; nothing where they are enough.
    pub fn says(&self) -> &'static str {
        match self.ppi {
            few if few < PPI_LEAST => "its pixels will show",
            few if few < PPI_ASKED => "printers ask for 300",
            _ => "",
        }
    }
}

/// Path of the picture of a spread beside a book: `book.spread-01.svg`.
pub fn spread_file(book: &Path, n: usize) -> PathBuf {
    book.with_extension(format!("spread-{:02}.svg", n + 1))
}
