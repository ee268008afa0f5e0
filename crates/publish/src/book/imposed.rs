//! Imposition: pages on sheets that are folded once, laid into each other and stitched through the fold, a signature at a time.
//!
//! A sheet carries four pages. In a signature of `n` pages its sheet `s`, counted from 0 at the outside, carries pages `n - 2s` and
//! `2s + 1` on its outer side, `2s + 2` and `n - 2s - 1` on its inner side. Inner sheets lie round the fold of outer ones and would stand out
//! at the fore edge: the fold of sheet `s` lies `s t` further out, `t` the paper's thickness. So its pages move by `s t` towards the fold,
//! and after one cut through all sheets every page has the same width. (Common practice of binderies; geometry.)

use super::sheet::{Area, Stroke, cut_and_fold};

/// Pages that a signature can have: more than 16 sheets do not lie flat when they are folded together (common practice).
pub const SIGNATURES: std::ops::RangeInclusive<usize> = 4..=64;
/// Thickness of paper that can be asked for, mm: from bible paper to board.
pub const THICKNESSES: std::ops::RangeInclusive<f64> = 0.02..=1.0;
/// Thickness of desk printers' paper of 80 g/m², mm (makers' data sheets state 0.10 to 0.11).
pub const THICKNESS: f64 = 0.1;

/// Paper that a desk printer or a copy shop has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stock {
    /// ISO 216.
    A4,
    /// ISO 216.
    A3,
    /// 8½ by 11 in.
    Letter,
    /// 11 by 17 in.
    Tabloid,
}

impl Stock {
    /// All there are, by their names.
    pub const ALL: [(&'static str, Self); 4] =
        [("A4", Self::A4), ("A3", Self::A3), ("letter", Self::Letter), ("tabloid", Self::Tabloid)];

    /// By its name.
    pub fn parse(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|(n, _)| n.eq_ignore_ascii_case(name.trim())).map(|(_, stock)| stock)
    }

    /// Its name.
    pub fn name(self) -> &'static str {
        Self::ALL.into_iter().find(|(_, stock)| *stock == self).map_or("", |(name, _)| name)
    }

    /// Width and height lying down, mm.
    pub fn size(self) -> [f64; 2] {
        match self {
            Self::A4 => [297.0, 210.0],
            Self::A3 => [420.0, 297.0],
            Self::Letter => [279.4, 215.9],
            Self::Tabloid => [431.8, 279.4],
        }
    }
}

/// Over which edge the printer, or a hand, turns a sheet for its second side.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turn {
    /// As a leaf of a book: left and right change places.
    ShortEdge,
    /// As a leaf of a wall calendar: top and foot change places, so the second side is printed upside down.
    LongEdge,
}

/// How pages are imposed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Imposition {
    /// The paper.
    pub stock: Stock,
    /// Size of the pages over the book's own; none: as large as fits, at most the book's own.
    pub scale: Option<f64>,
    /// Pages to a signature; none: all in one, or as few equal ones as can be.
    pub signature: Option<usize>,
    /// How sheets are turned over.
    pub turn: Turn,
    /// Thickness of the paper, mm.
    pub thickness: f64,
    /// Marks where to fold and to cut.
    pub marks: bool,
}

/// A page in its place on a side of a sheet, mm from the top left of the sheet as it is printed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slot {
    /// Its number from 1; beyond the book's last it is empty.
    pub page: usize,
    /// The trimmed page.
    pub at: Area,
    /// What of it and its bleed is printed: nothing beyond the fold.
    pub shown: Area,
    /// It is printed upside down.
    pub upside_down: bool,
}

/// A side of a sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct Printed {
    /// Left and right page.
    pub slots: [Slot; 2],
    /// Lines of its marks.
    pub marks: Vec<Stroke>,
}

/// Sheets in the order in which they are printed: the outer side of the first, its inner side, the next sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct Laid {
    /// Their sides.
    pub sides: Vec<Printed>,
    /// Size of the pages over the book's own.
    pub scale: f64,
    /// Pages of each signature.
    pub signatures: Vec<usize>,
    /// How far the innermost pages moved towards the fold, mm.
    pub creep: f64,
}

/// Lays `pages` pages of `trim` mm with a bleed on sheets.
///
/// # Errors
/// A sentence: the pages are too large for the paper; a signature that cannot be.
pub fn laid(pages: usize, trim: [f64; 2], bleed: f64, how: &Imposition) -> Result<Laid, String> {
    let [width, height] = how.stock.size();
    let most = (width / 2.0 / trim[0]).min(height / trim[1]);
    let scale = how.scale.unwrap_or(most.min(1.0));
    if scale > most + 1e-9 {
        return Err(format!(
            "Two pages of {} by {} mm do not fit on {} at {:.0} %: at most {:.0} % does. Take a larger paper, a smaller page (--trim), or \
             --zine-size fit.",
            trim[0],
            trim[1],
            how.stock.name(),
            scale * 100.0,
            (most * 100.0).floor()
        ));
    }
    let signatures = signatures(pages, how.signature)?;
    let sheet = Sheet { size: [width, height], page: trim.map(|v| v * scale), bleed: bleed * scale, how };
    let mut sides = vec![];
    let mut first = 0;
    for n in &signatures {
        for s in 0..n / 4 {
            let outer = [n - 2 * s, 2 * s + 1].map(|page| first + page);
            let inner = [2 * s + 2, n - 2 * s - 1].map(|page| first + page);
            let shift = s as f64 * how.thickness;
            sides.push(sheet.side(outer, shift, false));
            sides.push(sheet.side(inner, shift, how.turn == Turn::LongEdge));
        }
        first += n;
    }
    let thickest = signatures.iter().copied().max().unwrap_or(4);
    Ok(Laid { sides, scale, creep: (thickest / 4 - 1) as f64 * how.thickness, signatures })
}

/// Pages of each signature, in fours.
fn signatures(pages: usize, asked: Option<usize>) -> Result<Vec<usize>, String> {
    let pages = pages.max(1).next_multiple_of(4);
    if let Some(n) = asked {
        if !SIGNATURES.contains(&n) || n % 4 != 0 {
            return Err(format!("A signature has 4 to 64 pages, in steps of 4, not {n}."));
        }
        let last = pages % n;
        let mut all = vec![n; pages / n];
        all.extend((last > 0).then_some(last));
        return Ok(all);
    }
    let count = pages.div_ceil(*SIGNATURES.end());
    let each = (pages / 4).div_ceil(count) * 4;
    let mut left = pages;
    Ok((0..count)
        .map(|_| {
            let n = each.min(left);
            left -= n;
            n
        })
        .filter(|n| *n > 0)
        .collect())
}

/// A sheet lying down, its fold in the middle.
struct Sheet<'a> {
    size: [f64; 2],
    /// Width and height of a trimmed page on it.
    page: [f64; 2],
    bleed: f64,
    how: &'a Imposition,
}

impl Sheet<'_> {
    /// A side whose pages stand `shift` mm nearer to the fold than they would on a sheet by itself.
    fn side(&self, pages: [usize; 2], shift: f64, upside_down: bool) -> Printed {
        let ([width, height], [w, h], b) = (self.size, self.page, self.bleed);
        let (fold, y) = (width / 2.0, (height - h) / 2.0);
        let slot = |page: usize, x: f64, from: f64, to: f64| Slot {
            page,
            at: Area { x, y, w, h },
            shown: Area {
                x: from.max(0.0),
                y: (y - b).max(0.0),
                w: to.min(width) - from.max(0.0),
                h: (h + 2.0 * b).min(height),
            },
            upside_down: false,
        };
        let left = fold + shift - w;
        let right = fold - shift;
        let mut slots = [slot(pages[0], left, left - b, fold), slot(pages[1], right, fold, right + w + b)];
        let mut marks = if self.how.marks { self.marks(left, right + w, y) } else { vec![] };
        if upside_down {
            let turned = |a: Area| Area { x: width - a.right(), y: height - a.foot(), ..a };
            slots = [slots[1], slots[0]].map(|s| Slot { at: turned(s.at), shown: turned(s.shown), upside_down, ..s });
            marks = marks.into_iter().map(|line| line.map(|[x, y]| [width - x, height - y])).collect();
        }
        Printed { slots, marks }
    }

    /// Where to fold: above and below the pages. Where to cut: beyond their corners, outside the bleed.
    fn marks(&self, left: f64, right: f64, top: f64) -> Vec<Stroke> {
        let [width, height] = self.size;
        let both = Area { x: left, y: top, w: right - left, h: self.page[1] };
        let lines = cut_and_fold(&both, self.bleed, &[width / 2.0]);
        // What would begin outside the paper is no mark; the rest ends at its edge.
        let within = |[x, y]: [f64; 2]| (0.0..=width).contains(&x) && (0.0..=height).contains(&y);
        let ends = |[x, y]: [f64; 2]| [x.clamp(0.0, width), y.clamp(0.0, height)];
        lines.into_iter().filter(|[from, _]| within(*from)).map(|[from, to]| [from, ends(to)]).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn how(turn: Turn, signature: Option<usize>) -> Imposition {
        Imposition { stock: Stock::A4, scale: None, signature, turn, thickness: 0.1, marks: true }
    }

    /// The slot that lies behind the middle of another on the same sheet of paper, once the printer turned it over, and whether both have
    /// their heads at the same end.
    fn behind<'a>(sheet: [f64; 2], turn: Turn, slot: &Slot, back: &'a Printed) -> (&'a Slot, bool) {
        let (x, y) = (slot.at.x + slot.at.w / 2.0, slot.at.y + slot.at.h / 2.0);
        let (x, y) = match turn {
            Turn::ShortEdge => (sheet[0] - x, y),
            Turn::LongEdge => (x, sheet[1] - y),
        };
        let found: Vec<&Slot> =
            back.slots.iter().filter(|s| x > s.at.x && x < s.at.right() && y > s.at.y && y < s.at.foot()).collect();
        assert_eq!(found.len(), 1);
        // Turned over the long edge, the top of the front is the foot of the back.
        let heads_meet = (slot.upside_down == found[0].upside_down) == (turn == Turn::ShortEdge);
        (found[0], heads_meet)
    }

    /// Folds and stacks paper, without the formula of the pages: each sheet is folded backwards at its middle, so that the right half of its
    /// outer side is in front; the next sheet lies inside. Leaf by leaf the pages are then read.
    fn read(laid: &Laid, turn: Turn) -> Vec<usize> {
        let sheet = Stock::A4.size();
        let mut pages = vec![];
        let mut sheets = laid.sides.chunks_exact(2);
        for n in &laid.signatures {
            let stack: Vec<&[Printed]> = sheets.by_ref().take(n / 4).collect();
            let right = |slots: &'_ [Slot; 2]| {
                let k = usize::from(slots[1].at.x > slots[0].at.x);
                (slots[k], slots[1 - k])
            };
            let mut second_half = vec![];
            for both in &stack {
                let (front, other) = right(&both[0].slots);
                let (inside, heads) = behind(sheet, turn, &front, &both[1]);
                assert!(heads);
                pages.extend([front.page, inside.page]);
                let (inside, heads) = behind(sheet, turn, &other, &both[1]);
                assert!(heads);
                second_half.push([inside.page, other.page]);
            }
            pages.extend(second_half.into_iter().rev().flatten());
        }
        pages
    }

    #[test]
    fn folded_and_stacked_the_pages_come_in_order() {
        for turn in [Turn::ShortEdge, Turn::LongEdge] {
            for pages in 1..=200 {
                for signature in [None, Some(4), Some(8), Some(16), Some(36), Some(64)] {
                    let laid = laid(pages, [148.0, 210.0], 0.0, &how(turn, signature)).unwrap();
                    assert!(laid.signatures.iter().all(|n| SIGNATURES.contains(n) && n % 4 == 0));
                    let order = read(&laid, turn);
                    let all = pages.next_multiple_of(4);
                    assert_eq!(order, (1..=all).collect::<Vec<_>>(), "{pages} pages, {signature:?}, {turn:?}");
                    assert!(
                        laid.sides
                            .iter()
                            .flat_map(|s| &s.slots)
                            .all(|s| s.upside_down == (s.upside_down && turn == Turn::LongEdge))
                    );
                }
            }
        }
    }

    /// In the closed signature sheet `s` lies on `s` thicknesses of paper: there each page begins at the outer fold and ends at one cut.
    #[test]
    fn after_one_cut_every_page_is_as_wide() {
        let laid = laid(32, [140.0, 200.0], 3.0, &how(Turn::ShortEdge, None)).unwrap();
        assert_eq!((laid.scale, laid.signatures.as_slice(), laid.sides.len()), (1.0, &[32][..], 16));
        assert!((laid.creep - 0.7).abs() < 1e-12);
        for (i, side) in laid.sides.iter().enumerate() {
            let lies = (i / 2) as f64 * 0.1;
            let fold = 297.0 / 2.0;
            let [left, right] = side.slots;
            for (from, to) in [(fold - left.at.right(), fold - left.at.x), (right.at.x - fold, right.at.right() - fold)]
            {
                assert!((lies + from).abs() < 1e-9 && (lies + to - 140.0).abs() < 1e-9, "{i}: {from} {to}");
            }
            // Neither page is printed over the other, and each has its bleed elsewhere.
            assert!((left.shown.right() - fold).abs() < 1e-9 && (right.shown.x - fold).abs() < 1e-9);
            assert!((left.at.x - left.shown.x - 3.0).abs() < 1e-9 && (left.at.y - 5.0).abs() < 1e-9);
            // The marks to cut by lie on the same line through the closed signature; two of them fold.
            let cuts =
                side.marks.iter().filter(|[a, b]| a[0] == b[0] && (lies + (a[0] - fold).abs() - 140.0).abs() < 1e-9);
            assert_eq!((cuts.count(), side.marks.iter().filter(|[a, b]| a[0] == fold && b[0] == fold).count()), (4, 2));
        }
    }

    #[test]
    fn pages_are_as_large_as_asked_or_refused() {
        let at =
            |stock, scale| laid(8, [240.0, 240.0], 3.0, &Imposition { stock, scale, ..how(Turn::ShortEdge, None) });
        // By hand: half of 297 mm is 148.5 mm, of 240 mm.
        assert!((at(Stock::A4, None).unwrap().scale - 148.5 / 240.0).abs() < 1e-12);
        assert!((at(Stock::Tabloid, None).unwrap().scale - 215.9 / 240.0).abs() < 1e-12);
        let says = at(Stock::A3, Some(1.0)).unwrap_err();
        assert!(says.contains("do not fit on A3 at 100 %: at most 87 %"), "{says}");
        assert!(at(Stock::A3, Some(0.5)).is_ok());
        for wrong in [0, 2, 6, 68] {
            assert!(laid(8, [100.0; 2], 0.0, &how(Turn::ShortEdge, Some(wrong))).is_err());
        }
        assert_eq!((Stock::parse("LETTER"), Stock::parse("a5")), (Some(Stock::Letter), None));
        // 100 pages: two signatures, not one of 64 and a rest.
        assert_eq!(signatures(100, None), Ok(vec![52, 48]));
    }
}
