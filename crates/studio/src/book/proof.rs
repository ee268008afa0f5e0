//! Reads a book's certificate again, for whoever looks at the book.

use super::{PPI_ASKED, PPI_LEAST};
use serde::Deserialize;
use std::path::{Path, PathBuf};

/// What a certificate proves.
#[derive(Debug, Deserialize)]
pub(crate) struct Proof {
    pub pages: usize,
    pub trim_mm: [f64; 2],
    pub condition: Option<String>,
    pub paper_white: bool,
    pub pictures: Vec<Proved>,
}

/// What it proves of a picture.
#[derive(Debug, Deserialize)]
pub(crate) struct Proved {
    pub name: String,
    pub page: usize,
    pub ppi: f64,
    pub bare_with_ink_px: u64,
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

/// Where the picture of a spread lies beside a book: `book.spread-01.svg`.
pub(crate) fn spread_file(book: &Path, n: usize) -> PathBuf {
    book.with_extension(format!("spread-{:02}.svg", n + 1))
}
