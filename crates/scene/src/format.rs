//! The print formats, as data.

use geometry::Length;
use optics::Sheet;
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

    /// The name the project uses for it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::SquareIntegral => "square-integral",
            Self::WideIntegral => "wide-integral",
            Self::MiniIntegral => "mini-integral",
            Self::SquareMini => "square-mini",
            Self::PeelApart => "peel-apart",
            Self::PeelApartSquare => "peel-apart-square",
            Self::LargePeelApart => "large-peel-apart",
        }
    }

    /// Outer width and height, then left, right, top and bottom border, mm: nominal sizes of size guides
    /// (`docs/references.md`, formats); borders of even formats split what the window leaves.
    pub const fn millimetres(self) -> [f64; 6] {
        match self {
            Self::SquareIntegral => [88.0, 107.0, 4.5, 4.5, 6.5, 21.5],
            Self::WideIntegral => [108.0, 86.0, 4.5, 4.5, 6.0, 18.0],
            Self::MiniIntegral => [54.0, 86.0, 4.0, 4.0, 7.0, 17.0],
            Self::SquareMini => [72.0, 86.0, 5.0, 5.0, 6.5, 17.5],
            Self::PeelApart => [83.0, 108.0, 5.0, 5.0, 6.5, 6.5],
            Self::PeelApartSquare => [83.0, 86.0, 6.5, 6.5, 6.5, 6.5],
            Self::LargePeelApart => [102.0, 127.0, 6.0, 6.0, 6.0, 6.0],
        }
    }

    /// True where a wide border says which way is up.
    pub const fn has_foot(self) -> bool {
        matches!(self, Self::SquareIntegral | Self::WideIntegral | Self::MiniIntegral | Self::SquareMini)
    }

    /// A flat sheet of this format.
    pub fn sheet(self) -> Sheet {
        let [w, h, left, right, top, bottom] = self.millimetres().map(Length::mm);
        let borders = Some(Borders { left, right, top, bottom });
        // An integral print is a sandwich of some 0.55 mm, a peel-apart print a paper of some 0.35 (by feel, no source).
        let thickness = Length::mm(if self.has_foot() { 0.55 } else { 0.35 });
        Sheet { borders, thickness, ..Sheet::plain(w, h) }
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
            assert_eq!((size.x, -size.y), (w, h), "{}", format.name());
        }
    }
}
