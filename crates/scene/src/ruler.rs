//! The ruler sheet as a thing to lay on the bed: matte paper with black ink, drawn edge by edge.

use crate::picture::{Picture, Subject};
use crate::{Border, Print, Side};
use geometry::Length;
use geometry::ruler::Paper;
use optics::Sheet;

/// Reflectance of the paper, neutral: plain office paper without its brightener.
pub const PAPER: f64 = 0.86;
/// Reflectance of solid ink over that of the paper: a density of about 1.35, as laser printers lay it down.
pub const INK: f64 = 0.045;
/// Thickness of 80 g paper, mm.
pub const THICKNESS: f64 = 0.1;

/// The sheet of a paper size, printed true.
pub fn sheet(paper: Paper) -> Print {
    let (w, h) = paper.size();
    Print {
        format: None,
        sheet: Sheet { thickness: Length::mm(THICKNESS), ..Sheet::plain(Length::mm(w), Length::mm(h)) },
        side: Side::Ruler(paper),
        border: Border::colour(PAPER, PAPER, PAPER),
        age: 0.0,
        picture: Picture::new(Subject::Night, 0),
        window_roughness: 1.0,
        border_roughness: 1.0,
        seed: 0,
    }
}

/// Reflectance of a mark's tone: between solid ink and bare paper by area, as printed dots average.
pub fn reflectance(tone: f64) -> f64 {
    PAPER * (INK + (1.0 - INK) * tone)
}
