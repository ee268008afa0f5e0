//! A static gallery: a wall of prints at one scale, a page for each print, and zoomable pictures.
//!
//! It works without scripts or a server, and loads nothing from elsewhere: links are relative, and typefaces are in the style
//! sheet. The pictures follow the IIIF Image API 3.0, level 0, so that other viewers find them too; a
//! Presentation 3.0 manifest lists them.

mod iiif;
mod language;
mod newsletter;
mod pages;
mod pyramid;
mod sheet;

pub use iiif::{info, manifest};
pub use newsletter::newsletter;
pub use pages::{index, page};
pub use pyramid::{TILE, write};

use crate::Plate;
use crate::privacy::Said;

/// The scripts: keys and the large view, which add to pages that are whole without them.
pub const SCRIPT: &str = include_str!("gallery/look.js");
/// The style sheet, without typefaces.
pub const STYLE: &str = include_str!("gallery/look.css");

/// A print's picture in a gallery: a white sheet centred on the print.
#[derive(Clone, Debug, PartialEq)]
pub struct Picture {
    /// Its name, in addresses.
    pub name: String,
    /// Columns and rows.
    pub size: [usize; 2],
    /// Its pixels for each millimetre of the print.
    pub px_per_mm: f64,
}

impl Picture {
    /// Width and height, millimetres.
    pub fn mm(&self) -> [f64; 2] {
        self.size.map(|n| n as f64 / self.px_per_mm)
    }

    /// Its sizes from the whole one downward, each half the one before, to the first that fits a tile; a ragged rest counts.
    pub fn levels(&self) -> Vec<[usize; 2]> {
        let mut levels = vec![self.size];
        while let Some(last) = levels.last().filter(|s| s[0].max(s[1]) > TILE) {
            levels.push(last.map(|n| n.div_ceil(2)));
        }
        levels
    }

    /// The whole picture at a level, below its own folder. The largest has no size in its address but `max`.
    pub(crate) fn whole(&self, level: usize) -> String {
        match self.levels().get(level) {
            Some([w, h]) if level > 0 => format!("full/{w},{h}/0/default.jpg"),
            _ => "full/max/0/default.jpg".into(),
        }
    }
}

/// A print as a gallery shows it.
#[derive(Clone, Debug)]
pub struct Shown<'a> {
    /// The print.
    pub plate: &'a Plate,
    /// What may be said of it.
    pub said: &'a Said,
    /// Its picture.
    pub front: Picture,
    /// The picture of its back.
    pub back: Option<Picture>,
}

impl Shown<'_> {
    /// What it is called: its title, or its number.
    pub fn title(&self) -> &str {
        let title = &self.said.words.title;
        if title.is_empty() { &self.plate.name } else { title }
    }

    /// Attributes of an element that holds this title: its direction, and what is known of its language.
    fn title_attributes(&self) -> String {
        language::attributes(&self.said.words.title)
    }

    /// Attributes of its picture: of the words that a person wrote for those who cannot see it.
    fn alt_attributes(&self) -> String {
        if self.said.alt_is_made { String::new() } else { language::attributes(&self.said.alt) }
    }
}

/// A gallery as a whole.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Site {
    /// Its title.
    pub title: String,
    /// Where it will be read, for the addresses that IIIF asks for; ends in a slash.
    pub address: String,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sizes of 6000 by 4000 as the tile arithmetic of the Image API gives them (docs/references.md, calculated).
    #[test]
    fn levels_halve_to_a_tile() {
        let picture = |size| Picture { name: "a".into(), size, px_per_mm: 10.0 };
        let want = [[6000, 4000], [3000, 2000], [1500, 1000], [750, 500], [375, 250]];
        assert_eq!(picture([6000, 4000]).levels(), want);
        assert_eq!(picture([1025, 3]).levels(), [[1025, 3], [513, 2], [257, 1]]);
        assert_eq!(picture([300, 200]).levels(), [[300, 200]]);
        assert_eq!(picture([300, 200]).mm(), [30.0, 20.0]);
    }
}
