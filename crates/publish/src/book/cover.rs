//! The cover: back, spine and front on one sheet, with flaps where it is a jacket, at the printer's measures.
//!
//! The spine is as wide as the block is thick: half as many leaves as pages, each as thick as the paper, and the cover's own two layers.
//! A title runs down the spine, readable when the book lies on its back (ISO 6357). The barcode's clear area is that of an EAN-13 symbol
//! at its nominal size with its quiet zones, 37.29 by 25.93 mm (ISO/IEC 15420; GS1 General Specifications, 5.2).

use super::sheet::{Area, Sheet};

/// Thickness of a cover's board, mm, counted twice: 300 g/m² (makers' data sheets state 0.3 to 0.4).
pub const BOARD: f64 = 0.35;
/// A narrower spine carries no words, mm: it turns a millimetre off its place when it is glued (common practice: 5 to 6 mm).
pub const NARROWEST: f64 = 6.0;
/// Width and height kept clear for the barcode, mm.
pub const CLEAR: [f64; 2] = [37.29, 25.93];
/// Its distance from the spine and the foot, mm: beyond the fold and the cut's tolerance (common practice).
const CLEAR_FROM: f64 = 10.0;
/// Flaps that can be asked for, mm: wide enough to hold, narrower than any page.
pub const FLAPS: std::ops::RangeInclusive<f64> = 30.0..=300.0;

/// How the cover is made.
#[derive(Clone, Debug, PartialEq)]
pub struct Cover {
    /// A print on its front, by its name; only words without one.
    pub print: Option<String>,
    /// Thickness of the book's paper, mm.
    pub thickness: f64,
    /// The spine's width as the printer says it, mm; computed without.
    pub spine: Option<f64>,
    /// Width of each flap, mm; none for a cover without flaps.
    pub flaps: Option<f64>,
}

/// The parts of a cover, mm from the trimmed sheet's top left.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Parts {
    /// All of it, trimmed.
    pub sheet: Sheet,
    /// The back.
    pub back: Area,
    /// The spine.
    pub spine: Area,
    /// The front.
    pub front: Area,
    /// The barcode's clear area on the back.
    pub clear: Area,
}

impl Parts {
    /// Where the sheet folds, from the left.
    pub fn folds(&self) -> Vec<f64> {
        let flaps = [self.back.x, self.front.right()];
        let inner = [self.spine.x, self.spine.right()];
        inner.into_iter().chain(flaps.into_iter().filter(|x| *x > 1e-9 && *x < self.sheet.trim[0] - 1e-9)).collect()
    }
}

/// Width of the spine of so many pages, mm.
pub fn spine(pages: usize, thickness: f64) -> f64 {
    pages.div_ceil(2) as f64 * thickness + 2.0 * BOARD
}

/// The parts of the cover of a book of `pages` pages.
pub fn parts(pages: usize, page: &Sheet, how: &Cover) -> Parts {
    let ([w, h], flap) = (page.trim, how.flaps.unwrap_or(0.0));
    let spine = how.spine.unwrap_or_else(|| spine(pages, how.thickness));
    let at = |x: f64, w: f64| Area { x, y: 0.0, w, h };
    let back = at(flap, w);
    let clear =
        Area { x: back.right() - CLEAR_FROM - CLEAR[0], y: h - CLEAR_FROM - CLEAR[1], w: CLEAR[0], h: CLEAR[1] };
    Parts {
        sheet: Sheet { trim: [2.0 * (flap + w) + spine, h], ..*page },
        back,
        spine: at(flap + w, spine),
        front: at(flap + w + spine, w),
        clear,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 120 pages are 60 leaves of 0.12 mm, 7.2 mm, and two layers of board.
    #[test]
    fn a_spine_is_as_wide_as_its_leaves_and_board() {
        assert!((spine(120, 0.12) - (7.2 + 0.7)).abs() < 1e-12);
        assert_eq!(spine(121, 0.12), spine(122, 0.12));
        let how = Cover { print: None, thickness: 0.12, spine: None, flaps: Some(80.0) };
        let page = Sheet::default();
        let jacket = parts(120, &page, &how);
        // 80 + 240 + 7.9 + 240 + 80.
        assert!((jacket.sheet.trim[0] - 647.9).abs() < 1e-9 && jacket.sheet.trim[1] == 240.0);
        assert!((jacket.spine.x - 320.0).abs() < 1e-9 && (jacket.front.x - 327.9).abs() < 1e-9);
        assert_eq!(jacket.folds().len(), 4);
        let plain = parts(120, &page, &Cover { spine: Some(9.0), flaps: None, ..how });
        assert_eq!((plain.sheet.trim, plain.folds()), ([489.0, 240.0], vec![240.0, 249.0]));
        assert!(plain.back.holds(&plain.clear) && (plain.clear.right() - 230.0).abs() < 1e-9);
    }
}
