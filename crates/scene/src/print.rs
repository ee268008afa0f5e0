//! A print: its body, border, picture, age and gloss.

use crate::picture::Subject;
use crate::{Format, Picture, chart};
use geometry::Length;
use geometry::ruler::Paper;
use optics::{Curl, Sheet};

/// Which face is up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// The picture.
    Front,
    /// The back.
    Back,
    /// The colour chart of [`crate::chart`].
    Chart,
    /// The ruler sheet of [`crate::ruler`].
    Ruler(Paper),
}

/// A border's reflectance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Border {
    /// Reflectance, linear sRGB primaries.
    pub rgb: [f64; 3],
}

impl Border {
    /// Slightly warm white: lower than good paper, as borders are.
    pub const WHITE: Self = Self { rgb: [0.832, 0.826, 0.795] };
    /// Black.
    pub const BLACK: Self = Self { rgb: [0.031, 0.030, 0.032] };
    /// Any colour.
    pub const fn colour(r: f64, g: f64, b: f64) -> Self {
        Self { rgb: [r, g, b] }
    }
}

/// One print.
#[derive(Clone, Debug, PartialEq)]
pub struct Print {
    /// Its format; `None` for the chart.
    pub format: Option<Format>,
    /// Its body.
    pub sheet: Sheet,
    /// Which face is up.
    pub side: Side,
    /// The border.
    pub border: Border,
    /// Yellowing and unevenness of the border, 0 new to 1 old.
    pub age: f64,
    /// The picture in the window.
    pub picture: Picture,
    /// Roughness of the window's coat (0.03 a mirror-like gloss, 0.06 a used one).
    pub window_roughness: f64,
    /// Roughness of the border; 1 is matte, without any gloss.
    pub border_roughness: f64,
    /// Seeds border, grain, back and writing.
    pub seed: u64,
}

impl Print {
    /// The colour chart of [`crate::chart`] as a thing to lay on the bed.
    pub fn chart() -> Self {
        let (w, h) = chart::size();
        Self {
            format: None,
            sheet: Sheet { thickness: Length::mm(0.5), ..Sheet::plain(Length::mm(w), Length::mm(h)) },
            side: Side::Chart,
            border: Border::colour(chart::CARD, chart::CARD, chart::CARD),
            age: 0.0,
            picture: Picture::new(Subject::Night, 0),
            window_roughness: 1.0,
            border_roughness: 1.0,
            seed: 0,
        }
    }
    /// A flat print with a white border.
    pub fn new(format: Format, picture: Picture, seed: u64) -> Self {
        Self {
            format: Some(format),
            sheet: Sheet { corner_radius: Length::mm(if format.has_foot() { 1.0 } else { 0.2 }), ..format.sheet() },
            side: Side::Front,
            border: Border::WHITE,
            age: 0.1,
            picture,
            window_roughness: 0.05,
            border_roughness: 0.21,
            seed,
        }
    }
    /// The same print curled.
    pub fn curled(mut self, curl: Curl) -> Self {
        self.sheet.curl = curl;
        self
    }
    /// The same print with another border.
    pub fn bordered(mut self, border: Border) -> Self {
        self.border = border;
        self
    }
    /// The same print face down.
    pub fn turned_over(mut self) -> Self {
        self.side = Side::Back;
        self.sheet.borders = None;
        self
    }
}
