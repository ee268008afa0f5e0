//! The known print formats, as data: the finder, the plan and the renderer read this one table.
//!
//! Sizes in millimetres of an upright print, from the table in `docs/references.md` (formats): makers' published sizes as
//! quoted by guides; cutting spreads by about half a millimetre, so these are hypotheses to be confirmed by measurement.

/// One print format: outer size, window, where the window sits, and thickness.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PrintFormat {
    /// The generic name.
    pub name: &'static str,
    /// Outer width and height, mm.
    pub outer: [f64; 2],
    /// Window width and height, mm.
    pub window: [f64; 2],
    /// The window's left and top distance from the outer edge, mm.
    pub inset: [f64; 2],
    /// Thickness, mm.
    pub thickness: f64,
}

/// An integral print is a sandwich of about this thickness, mm (by feel, no source).
const SANDWICH: f64 = 0.55;
/// A peel-apart print is a paper of about this thickness, mm (by feel, no source).
const PAPER: f64 = 0.35;

const fn format(name: &'static str, outer: [f64; 2], window: [f64; 2], inset: [f64; 2], thickness: f64) -> PrintFormat {
    PrintFormat { name, outer, window, inset, thickness }
}

/// Every known format.
pub const FORMATS: &[PrintFormat] = &[
    format("square-integral", [88.0, 107.0], [79.0, 79.0], [4.5, 6.5], SANDWICH),
    format("wide-integral", [108.0, 86.0], [99.0, 62.0], [4.5, 6.0], SANDWICH),
    format("mini-integral", [54.0, 86.0], [46.0, 62.0], [4.0, 7.0], SANDWICH),
    format("square-mini", [72.0, 86.0], [62.0, 62.0], [5.0, 6.5], SANDWICH),
    format("peel-apart", [83.0, 108.0], [73.0, 95.0], [5.0, 6.5], PAPER),
    format("peel-apart-square", [83.0, 86.0], [70.0, 73.0], [6.5, 6.5], PAPER),
    format("large-peel-apart", [101.6, 127.0], [90.0, 115.0], [5.8, 6.0], PAPER),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_window_is_inside_its_print() {
        for f in FORMATS {
            assert!((0..2).all(|i| f.inset[i] > 0.0 && f.inset[i] + f.window[i] < f.outer[i]), "{f:?}");
        }
    }
}
