//! The print formats that can be drawn; their sizes are those of `optics::format`.

use geometry::Length;
use optics::Sheet;
use optics::format::{FORMATS, PrintFormat};
use optics::sheet::Borders;

/// A generic print format.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// 88 by 107 mm, wide border at the foot.
    SquareIntegral,
    /// 108 by 86 mm.
    WideIntegral,
    /// 54 by 86 mm.
    MiniIntegral,
    /// 72 by 86 mm.
    SquareMini,
    /// 83 by 108 mm, even border.
    PeelApart,
    /// 83 by 86 mm, even border.
    PeelApartSquare,
    /// 4 by 5 inches, even border.
    LargePeelApart,
}

impl Format {
    /// All of them.
    pub const ALL: [Self; 7] = [
        Self::SquareIntegral,
        Self::WideIntegral,
        Self::MiniIntegral,
        Self::SquareMini,
        Self::PeelApart,
        Self::PeelApartSquare,
        Self::LargePeelApart,
    ];

    /// Its line in the table of formats; a test holds the order of both to be the same.
    pub const fn line(self) -> &'static PrintFormat {
        &FORMATS[self as usize]
    }

    /// The name the project uses for it.
    pub const fn name(self) -> &'static str {
        self.line().name
    }

    /// Outer width and height, then left, right, top and bottom border, mm.
    pub const fn millimetres(self) -> [f64; 6] {
        let PrintFormat { outer: [w, h], window, inset: [left, top], .. } = *self.line();
        [w, h, left, w - window[0] - left, top, h - window[1] - top]
    }

    /// True where a wide border says which way is up.
    pub const fn has_foot(self) -> bool {
        matches!(self, Self::SquareIntegral | Self::WideIntegral | Self::MiniIntegral | Self::SquareMini)
    }

    /// A flat sheet of this format.
    pub fn sheet(self) -> Sheet {
        let [w, h, left, right, top, bottom] = self.millimetres().map(Length::mm);
        let borders = Some(Borders { left, right, top, bottom });
        Sheet { borders, thickness: Length::mm(self.line().thickness), ..Sheet::plain(w, h) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Window sizes of the design's table (`docs/references.md`, formats).
    #[test]
    fn windows_have_their_published_sizes() {
        let want = [(79.0, 79.0), (99.0, 62.0), (46.0, 62.0), (62.0, 62.0), (73.0, 95.0), (70.0, 73.0), (90.0, 115.0)];
        for (format, (w, h)) in Format::ALL.into_iter().zip(want) {
            let q = format.sheet().window().unwrap();
            let size = q.0[2] - q.0[0];
            assert!((size.x - w).abs() < 1e-9 && (-size.y - h).abs() < 1e-9, "{}", format.name());
        }
    }

    #[test]
    fn every_line_of_the_table_can_be_drawn_under_its_own_name() {
        assert_eq!(Format::ALL.len(), FORMATS.len());
        // The variants in kebab case are the names.
        let kebab = |f: Format| {
            let word = format!("{f:?}");
            let parts: String = word
                .chars()
                .flat_map(|c| [if c.is_uppercase() { "-" } else { "" }.to_owned(), c.to_lowercase().to_string()])
                .collect();
            parts.trim_start_matches('-').to_owned()
        };
        assert!(Format::ALL.iter().all(|f| f.name() == kebab(*f)));
        assert!(Format::ALL.iter().all(|f| {
            let [.., top, bottom] = f.millimetres();
            f.has_foot() == (bottom - top > 2.0)
        }));
    }
}
