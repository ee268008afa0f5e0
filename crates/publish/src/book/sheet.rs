//! A page of the book in millimetres: trim, binding, and the area for prints.
//!
//! Positions are measured from the trimmed page's top-left corner, x right, y down.

/// Distance of the lines of captions, lists and texts, mm.
pub(super) const LEADING: f64 = 4.4;
/// Share of the page's height above the first line of texts and of the list of plates: an eighth, so that the lower margin is the larger one.
pub(super) const TOP: f64 = 0.12;
/// Share of the page's height above centred words: a little over the middle, where the eye puts it (common practice).
pub(super) const CENTRED: f64 = 0.38;
/// Space round the bleed for marks, mm: what printers' programs expect (common practice).
pub(super) const ROUND: f64 = 10.0;
/// Length of a mark and its distance from the bleed, mm.
pub(super) const MARK: f64 = 5.0;
pub(super) const CLEAR: f64 = 1.0;

/// A line from one point to another, mm.
pub type Stroke = [[f64; 2]; 2];

/// Marks where to cut, beyond the corners of what is trimmed, and where it folds, above and below; `bleed` mm and a little from it.
pub(super) fn cut_and_fold(trimmed: &Area, bleed: f64, folds: &[f64]) -> Vec<Stroke> {
    let away = bleed + CLEAR;
    let (left, right) = (trimmed.x, trimmed.right());
    let mut lines = vec![];
    for (edge, out) in [(trimmed.y, -1.0), (trimmed.foot(), 1.0)] {
        for x in [left, right].into_iter().chain(folds.iter().copied()) {
            lines.push([[x, edge + out * away], [x, edge + out * (away + MARK)]]);
        }
        for (x, sideways) in [(left, -1.0), (right, 1.0)] {
            lines.push([[x + sideways * away, edge], [x + sideways * (away + MARK), edge]]);
        }
    }
    lines
}

/// A rectangle, millimetres.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Area {
    /// Left.
    pub x: f64,
    /// Top.
    pub y: f64,
    /// Width.
    pub w: f64,
    /// Height.
    pub h: f64,
}

impl Area {
    /// Right.
    pub fn right(&self) -> f64 {
        self.x + self.w
    }

    /// Foot.
    pub fn foot(&self) -> f64 {
        self.y + self.h
    }

    /// Larger by so much at its left, top, right and foot.
    pub fn grown(&self, [left, top, right, foot]: [f64; 4]) -> Self {
        Self { x: self.x - left, y: self.y - top, w: self.w + left + right, h: self.h + top + foot }
    }

    /// True where the two share more than a thousandth of a millimetre.
    pub fn meets(&self, other: &Area) -> bool {
        let e = 1e-3;
        self.x + e < other.right()
            && other.x + e < self.right()
            && self.y + e < other.foot()
            && other.y + e < self.foot()
    }

    /// True where `other` lies inside, to a thousandth of a millimetre.
    pub fn holds(&self, other: &Area) -> bool {
        let e = 1e-3;
        other.x >= self.x - e
            && other.y >= self.y - e
            && other.right() <= self.right() + e
            && other.foot() <= self.foot() + e
    }
}

/// Which page of a spread.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// The left page: even numbers.
    Left,
    /// The right page: odd numbers.
    Right,
}

impl Side {
    /// The side of a page by its number, from 1: a book opens with a right page.
    pub fn of(number: usize) -> Self {
        if number % 2 == 1 { Self::Right } else { Self::Left }
    }
}

/// The page: its size and its zones, millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sheet {
    /// Width and height after the cut.
    pub trim: [f64; 2],
    /// What is printed beyond the cut, on every side.
    pub bleed: f64,
    /// Nothing stands nearer to a cut edge.
    pub safe: f64,
    /// Nothing stands nearer to the spine.
    pub gutter: f64,
}

impl Default for Sheet {
    /// A square book. Bleed 3 mm and a safe zone of 6.4 mm (a quarter inch) are what printers of books ask for, and 9.5 mm (three
    /// eighths of an inch) from the spine is their least; 12 mm leaves the print clear of the curve into it.
    fn default() -> Self {
        Self { trim: [240.0, 240.0], bleed: 3.0, safe: 6.4, gutter: 12.0 }
    }
}

impl Sheet {
    /// The page after the cut.
    pub fn page(&self) -> Area {
        Area { x: 0.0, y: 0.0, w: self.trim[0], h: self.trim[1] }
    }

    /// Where prints with their shadows and words may stand.
    pub fn live(&self, side: Side) -> Area {
        let (left, right) = match side {
            Side::Left => (self.safe, self.gutter),
            Side::Right => (self.gutter, self.safe),
        };
        self.page().grown([-left, -self.safe, -right, -self.safe])
    }

    /// What keeps the zones from being zones; `None` where all is well.
    pub fn fault(&self) -> Option<String> {
        let live = self.live(Side::Right);
        let all = [self.bleed, self.safe, self.gutter, self.trim[0], self.trim[1]];
        if all.iter().any(|v| !v.is_finite() || *v < 0.0) {
            return Some("Trim, bleed, safe zone and gutter must be 0 mm or more.".into());
        }
        // Acrobatics aside: PDF's own limit is 14,400 units of 1/72 inch a side (ISO 32000-1, annex C), 5080 mm.
        if self.trim.iter().any(|v| v + 2.0 * self.bleed > 5080.0) {
            return Some("A PDF page is at most 5080 mm per side.".into());
        }
        (live.w < 20.0 || live.h < 20.0).then(|| {
            format!("A page of {} by {} mm leaves nothing inside its safe zone and gutter.", self.trim[0], self.trim[1])
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_gutter_is_at_the_spine() {
        let sheet = Sheet { trim: [200.0, 240.0], bleed: 3.0, safe: 6.0, gutter: 14.0 };
        assert_eq!(sheet.live(Side::Right), Area { x: 14.0, y: 6.0, w: 180.0, h: 228.0 });
        assert_eq!(sheet.live(Side::Left), Area { x: 6.0, y: 6.0, w: 180.0, h: 228.0 });
        assert_eq!((Side::of(1), Side::of(2)), (Side::Right, Side::Left));
    }

    #[test]
    fn impossible_pages_are_told() {
        let sheet = |w, h| Sheet { trim: [w, h], ..Sheet::default() };
        assert_eq!(sheet(240.0, 240.0).fault(), None);
        assert!(sheet(20.0, 240.0).fault().is_some() && sheet(f64::NAN, 1.0).fault().is_some());
        assert!(sheet(6000.0, 240.0).fault().is_some());
    }
}
