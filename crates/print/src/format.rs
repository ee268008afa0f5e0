//! Print formats as the finder looks for them: the known ones (`optics::format`), and those a user adds.

use geometry::{Point, Quad, point};
use optics::format::{FORMATS, PrintFormat};

/// One print format: outer size, window and where the window sits.
#[derive(Clone, Debug, PartialEq)]
pub struct Format {
    /// The generic name.
    pub name: String,
    /// Outer width and height, mm.
    pub outer: (f64, f64),
    /// Window width and height, mm.
    pub window: (f64, f64),
    /// The window's left and top distance from the outer edge, mm.
    pub inset: (f64, f64),
}

impl Format {
    /// A format of this geometry.
    pub fn new(name: &str, outer: (f64, f64), window: (f64, f64), inset: (f64, f64)) -> Self {
        Self { name: name.into(), outer, window, inset }
    }

    /// True where a border is clearly wider at the foot, so that the print says which way is up.
    pub fn has_foot(&self) -> bool {
        // Two millimetres: four times the usual cutting spread.
        self.bottom() - self.inset.1 > 2.0
    }

    /// True where a border lies around a window; a plain original is all picture.
    pub fn has_window(&self) -> bool {
        self.window.0 < self.outer.0 && self.window.1 < self.outer.1
    }

    /// The narrowest border, mm; for a plain original a tenth of its short side, which is looked at in its stead.
    pub fn border(&self) -> f64 {
        if !self.has_window() {
            return 0.1 * self.outer.0.min(self.outer.1);
        }
        let right = self.outer.0 - self.window.0 - self.inset.0;
        self.inset.0.min(self.inset.1).min(right).min(self.bottom())
    }

    /// The border below the window, mm.
    pub fn bottom(&self) -> f64 {
        self.outer.1 - self.window.1 - self.inset.1
    }

    /// The outer rectangle in print millimetres: origin top left, y down.
    pub fn outer_quad(&self) -> Quad {
        Quad::rectangle(self.outer.0, self.outer.1)
    }

    /// The window's rectangle in print millimetres.
    pub fn window_quad(&self) -> Quad {
        let at: Point = point(self.inset.0, self.inset.1);
        Quad::rectangle(self.window.0, self.window.1).map(|p| p + at)
    }
}

/// The formats that ship with Fallside.
///
/// ```
/// let formats = print::format::known();
/// assert!(formats.iter().any(|f| f.name == "square-integral" && f.has_foot()));
/// ```
pub fn known() -> Vec<Format> {
    let format = |f: &PrintFormat| Format::new(f.name, f.outer.into(), f.window.into(), f.inset.into());
    FORMATS.iter().map(format).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn windows_lie_inside_and_feet_are_told() {
        for f in known() {
            assert!(f.window_quad().0.iter().all(|p| f.outer_quad().contains(*p)), "{}", f.name);
            assert_eq!(f.has_foot(), f.name.contains("integral") || f.name.contains("mini"), "{}", f.name);
        }
    }

    #[test]
    fn a_plain_original_is_all_picture() {
        let plain = Format::new("plain", (100.0, 150.0), (100.0, 150.0), (0.0, 0.0));
        assert!(!plain.has_window() && !plain.has_foot());
        assert_eq!(plain.border(), 10.0);
        assert_eq!(known().iter().map(|f| f.border()).fold(f64::INFINITY, f64::min), 4.0);
    }
}
