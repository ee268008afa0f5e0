//! Layout: places prints on pages at true size, in a few standard arrangements.
//!
//! Pure arithmetic in millimetres. A print is centred without its shadow, a little above the geometric centre (the optical centre).
//! Prints and their shadows stay out of the safe zone and the gutter. A print that does not fit is an error, because nothing is cropped or
//! reduced without being asked.

use super::sheet::{Area, Sheet, Side};

/// Share of the free height that lies above a print: the optical centre. Common practice of book designers (from memory)
/// places it a tenth to a twelfth of the free height above the middle.
const ABOVE: f64 = 0.46;
/// Space between two prints of a row or grid, outline to outline, beyond the shadow between them, mm.
const BETWEEN: f64 = 8.0;
/// Space from a print's shadow to its caption, mm.
const CAPTION_GAP: f64 = 5.0;

/// How prints are arranged on pages.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Arrangement {
    /// One print on a right page, the left page empty.
    Single,
    /// A print across from its back; without a back as [`Arrangement::Single`].
    Back,
    /// Two prints, facing each other across a spread.
    Facing,
    /// So many prints beside each other on one page.
    Row(usize),
    /// Columns and rows on one page.
    Grid(usize, usize),
    /// A page of nothing.
    Blank,
}

impl Arrangement {
    /// As it is written: `single`, `back`, `facing`, `row=3`, `grid=2x3`, `blank`.
    pub fn parse(text: &str) -> Option<Self> {
        let number = |t: &str| t.parse::<usize>().ok().filter(|n| (1..=12).contains(n));
        Some(match text.trim().split_once('=') {
            None => match text.trim() {
                "single" => Self::Single,
                "back" => Self::Back,
                "facing" => Self::Facing,
                "blank" => Self::Blank,
                _ => return None,
            },
            Some(("row", n)) => Self::Row(number(n)?),
            Some(("grid", n)) => n.split_once('x').and_then(|(a, b)| Some(Self::Grid(number(a)?, number(b)?)))?,
            Some(_) => return None,
        })
    }
}

/// What the layout knows of a print: sizes in millimetres as they are in the book.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// Its name, for what is said of it.
    pub name: String,
    /// The print itself.
    pub size: [f64; 2],
    /// How far its shadow goes beyond it: left, top, right, foot.
    pub reach: [f64; 4],
    /// The height its caption takes.
    pub caption: f64,
    /// Its back.
    pub back: Option<Box<Piece>>,
}

/// A print in its place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placed {
    /// Which of the pieces.
    pub piece: usize,
    /// Its back and not its front.
    pub back: bool,
    /// The print itself, its shadow beyond.
    pub at: Area,
    /// Top left of its caption, where it has one.
    pub caption: Option<[f64; 2]>,
}

/// Prints on one page; none on an empty one.
pub type Prints = Vec<Placed>;

/// Arranges the pieces on pages that begin with number `first`: the arrangements in turn, the last of them again and again.
///
/// # Errors
/// A sentence for the first print that does not fit, with the size it needs.
pub fn arrange(sheet: &Sheet, pieces: &[Piece], turn: &[Arrangement], first: usize) -> Result<Vec<Prints>, String> {
    let mut pages: Vec<Prints> = vec![];
    let mut next = 0;
    let mut turn = turn.iter().copied();
    let mut last = Arrangement::Single;
    while next < pieces.len() {
        let arrangement = turn.next().unwrap_or(last);
        if arrangement != Arrangement::Blank {
            last = arrangement;
        }
        let side = |pages: &[Prints]| Side::of(first + pages.len());
        match arrangement {
            Arrangement::Blank => pages.push(vec![]),
            Arrangement::Single | Arrangement::Back => {
                let back = pieces[next].back.as_deref().filter(|_| arrangement == Arrangement::Back);
                // The left page may be empty already: a blank one, or the back of the title.
                let faces_empty = back.is_none() && pages.last().is_none_or(Vec::is_empty);
                if side(&pages) == Side::Right && !faces_empty {
                    pages.push(vec![]);
                }
                if side(&pages) == Side::Left {
                    pages.push(match back {
                        Some(back) => vec![alone(sheet, Side::Left, next, back, true)?],
                        None => vec![],
                    });
                }
                pages.push(vec![alone(sheet, Side::Right, next, &pieces[next], false)?]);
                next += 1;
            }
            Arrangement::Facing => {
                if side(&pages) == Side::Right {
                    pages.push(vec![]);
                }
                for side in [Side::Left, Side::Right] {
                    if let Some(piece) = pieces.get(next) {
                        pages.push(vec![alone(sheet, side, next, piece, false)?]);
                        next += 1;
                    }
                }
            }
            Arrangement::Row(n) | Arrangement::Grid(n, _) => {
                let rows = if let Arrangement::Grid(_, rows) = arrangement { rows } else { 1 };
                let some = &pieces[next..(next + n * rows).min(pieces.len())];
                pages.push(grid(sheet, side(&pages), next, some, n)?);
                next += some.len();
            }
        }
    }
    Ok(pages)
}

/// One print on a page.
fn alone(sheet: &Sheet, side: Side, index: usize, piece: &Piece, back: bool) -> Result<Placed, String> {
    let [w, h] = piece.size;
    let at = Area { x: (sheet.trim[0] - w) / 2.0, y: (sheet.trim[1] - h) * ABOVE, w, h };
    // A print that stands clear but for the centring moves into the live area: the spine is not the page's middle.
    let live = sheet.live(side);
    let needs = at.grown(piece.reach);
    let at = settled(&at, &needs, &live);
    let needs = at.grown(piece.reach);
    if !live.holds(&needs) {
        return Err(too_small(&piece.name, [needs.w, needs.h], &live));
    }
    // The caption stands under the shadow's end, at the print's left edge.
    let caption = (piece.caption > 0.0 && !back).then_some([at.x, needs.foot() + CAPTION_GAP]);
    if let Some([_, y]) = caption
        && y + piece.caption > live.foot() + 1e-3
    {
        return Err(too_small(&piece.name, [needs.w, needs.h + CAPTION_GAP + piece.caption], &live));
    }
    Ok(Placed { piece: index, back, at, caption })
}

/// `at` moved as little as may be so that `needs` lies in `live`, where it can.
fn settled(at: &Area, needs: &Area, live: &Area) -> Area {
    let shift = |from: f64, to: f64, low: f64, high: f64| {
        let over = (to - high).max(0.0);
        let under = (low - from).max(0.0);
        if over > 0.0 && under > 0.0 { 0.0 } else { under - over }
    };
    Area {
        x: at.x + shift(needs.x, needs.right(), live.x, live.right()),
        y: at.y + shift(needs.y, needs.foot(), live.y, live.foot()),
        ..*at
    }
}

/// Prints in rows and columns: feet of a row on one line, as prints stand on a shelf; columns as wide as their widest.
fn grid(sheet: &Sheet, side: Side, first: usize, some: &[Piece], columns: usize) -> Result<Prints, String> {
    let live = sheet.live(side);
    let rows: Vec<&[Piece]> = some.chunks(columns).collect();
    let wide = |c: usize| some.iter().skip(c).step_by(columns).map(|p| p.size[0]).fold(0.0, f64::max);
    let widths: Vec<f64> = (0..columns.min(some.len())).map(wide).collect();
    // Between outlines there is room for the shadow of the one and the light edge of the other.
    let most = |i: usize| some.iter().map(|p| p.reach[i]).fold(0.0, f64::max);
    let (gap_x, gap_y) = (BETWEEN + most(2) + most(0), BETWEEN + most(3) + most(1));
    let caption = |row: &[Piece]| {
        let c = row.iter().map(|p| p.caption).fold(0.0, f64::max);
        if c > 0.0 { c + CAPTION_GAP } else { 0.0 }
    };
    let heights: Vec<f64> = rows.iter().map(|r| r.iter().map(|p| p.size[1]).fold(0.0, f64::max)).collect();
    let w = widths.iter().sum::<f64>() + gap_x * (widths.len() - 1) as f64;
    let h = heights.iter().sum::<f64>() + gap_y * (rows.len() - 1) as f64;
    let words: f64 = rows[..rows.len() - 1].iter().map(|r| caption(r)).sum();
    let reach = [most(0), most(1), most(2), most(3)];
    let under = rows.last().map_or(0.0, |r| caption(r));
    let all = Area { x: (sheet.trim[0] - w) / 2.0, y: (sheet.trim[1] - h - words) * ABOVE, w, h: h + words };
    let whole = |a: &Area| a.grown(reach).grown([0.0, 0.0, 0.0, under]);
    let all = settled(&all, &whole(&all), &live);
    if !live.holds(&whole(&all)) {
        let needs = whole(&all);
        let names: Vec<&str> = some.iter().map(|p| p.name.as_str()).collect();
        return Err(too_small(&names.join(", "), [needs.w, needs.h], &live));
    }
    let mut placed = vec![];
    let mut y = all.y;
    for (r, row) in rows.iter().enumerate() {
        let foot = y + heights[r];
        let mut x = all.x;
        for (c, piece) in row.iter().enumerate() {
            let [w, h] = piece.size;
            let at = Area { x: x + (widths[c] - w) / 2.0, y: foot - h, w, h };
            let below = foot + row.iter().map(|p| p.reach[3]).fold(0.0, f64::max) + CAPTION_GAP;
            let caption = (piece.caption > 0.0).then_some([at.x, below]);
            placed.push(Placed { piece: first + r * columns + c, back: false, at, caption });
            x += widths[c] + gap_x;
        }
        y = foot + gap_y + caption(row);
    }
    Ok(placed)
}

fn too_small(name: &str, [w, h]: [f64; 2], live: &Area) -> String {
    format!(
        "The page is too small for {name}: with shadow and caption it needs {w:.0} by {h:.0} mm, but there are {:.0} by \
         {:.0} mm inside the safe zone and gutter.",
        live.w, live.h
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn piece(w: f64, h: f64) -> Piece {
        Piece { name: format!("{w}x{h}"), size: [w, h], reach: [0.5, 0.5, 4.0, 5.0], caption: 8.0, back: None }
    }

    fn square() -> Sheet {
        Sheet::default()
    }

    #[test]
    fn a_print_is_centred_by_itself_and_stands_high() {
        let pages = arrange(&square(), &[piece(88.0, 107.0)], &[Arrangement::Single], 3).unwrap();
        // Page 3 is a right page and faces the title's empty back; a second print takes the next right page.
        assert_eq!(pages.iter().map(Vec::len).collect::<Vec<_>>(), [1]);
        let two = arrange(&square(), &vec![piece(88.0, 107.0); 2], &[Arrangement::Single], 3).unwrap();
        assert_eq!(two.iter().map(Vec::len).collect::<Vec<_>>(), [1, 0, 1]);
        let at = pages[0][0].at;
        assert_eq!((at.w, at.h), (88.0, 107.0));
        assert_eq!(at.x + at.w / 2.0, 120.0);
        assert!((at.y - 0.46 * 133.0).abs() < 1e-9 && at.y < (240.0 - 107.0) / 2.0);
        assert_eq!(pages[0][0].caption, Some([at.x, at.foot() + 5.0 + 5.0]));
    }

    #[test]
    fn shadow_counts_for_the_zones_and_not_for_the_centre() {
        // A print that just fits with its shadow moves off the middle; a millimetre more of shadow, and it does not fit.
        let sheet = Sheet { trim: [120.0, 240.0], bleed: 3.0, safe: 5.0, gutter: 10.0 };
        let mut p = piece(100.0, 100.0);
        let fits = arrange(&sheet, &[p.clone()], &[Arrangement::Facing], 2).unwrap();
        assert!((fits[0][0].at.x - 6.0).abs() < 1e-9, "{:?}", fits[0][0].at);
        assert!(sheet.live(Side::Left).holds(&fits[0][0].at.grown(p.reach)));
        p.reach[2] += 1.0;
        let says = arrange(&sheet, &[p], &[Arrangement::Facing], 2).unwrap_err();
        assert!(says.contains("too small") && says.contains("106 by 106") && says.contains("105 by 230"), "{says}");
    }

    #[test]
    fn pairs_face_each_other_at_one_height() {
        let pieces = [piece(88.0, 107.0), piece(88.0, 107.0), piece(108.0, 86.0)];
        let pages = arrange(&square(), &pieces, &[Arrangement::Facing], 3).unwrap();
        assert_eq!(pages.iter().map(Vec::len).collect::<Vec<_>>(), [0, 1, 1, 1]);
        assert_eq!((pages[1][0].piece, pages[2][0].piece, pages[3][0].piece), (0, 1, 2));
        assert_eq!(pages[1][0].at.y, pages[2][0].at.y);
    }

    #[test]
    fn rows_and_grids_never_touch_and_stand_on_a_line() {
        let pieces: Vec<Piece> =
            [(54.0, 86.0), (62.0, 72.0), (54.0, 86.0), (54.0, 86.0), (54.0, 60.0)].map(|(w, h)| piece(w, h)).to_vec();
        let pages = arrange(&square(), &pieces, &[Arrangement::Grid(3, 2)], 4).unwrap();
        assert_eq!(pages.len(), 1);
        let page = &pages[0];
        assert_eq!(page.len(), 5);
        assert_eq!(page[0].at.foot(), page[1].at.foot());
        assert_eq!(page[3].at.foot(), page[4].at.foot());
        for (i, a) in page.iter().enumerate() {
            let reach = a.at.grown(pieces[i].reach);
            assert!(square().live(Side::Left).holds(&reach), "{i}: {reach:?}");
            for b in &page[i + 1..] {
                let apart = b.at.x > reach.right() || b.at.y > reach.foot() || reach.x > b.at.right();
                assert!(apart, "{a:?} {b:?}");
            }
        }
        assert!(arrange(&square(), &pieces, &[Arrangement::Row(5)], 4).is_err());
    }

    #[test]
    fn a_back_stands_across_from_its_print() {
        let mut with = piece(88.0, 107.0);
        with.back = Some(Box::new(piece(88.0, 107.0)));
        let pages = arrange(&square(), &[with, piece(50.0, 50.0)], &[Arrangement::Back], 4).unwrap();
        assert_eq!(pages.iter().map(Vec::len).collect::<Vec<_>>(), [1, 1, 0, 1]);
        assert!(pages[0][0].back && pages[0][0].caption.is_none() && !pages[1][0].back);
        assert_eq!(pages[0][0].at, pages[1][0].at);
    }

    #[test]
    fn arrangements_come_in_turn_and_the_last_goes_on() {
        use Arrangement::{Blank, Facing, Row, Single};
        let turn: Vec<Arrangement> = "single, blank,row=2,facing".split(',').filter_map(Arrangement::parse).collect();
        assert_eq!(turn, [Single, Blank, Row(2), Facing]);
        let pieces = vec![piece(50.0, 60.0); 7];
        let pages = arrange(&square(), &pieces, &turn, 4).unwrap();
        // 4 empty, 5 print; 6 blank; 7 a row; 8 and 9, 10 and 11 face each other.
        assert_eq!(pages.iter().map(Vec::len).collect::<Vec<_>>(), [0, 1, 0, 2, 1, 1, 1, 1]);
        for wrong in ["", "row", "row=0", "row=x", "grid=2", "grid=2x99", "pile"] {
            assert_eq!(Arrangement::parse(wrong), None, "{wrong}");
        }
        // A turn of nothing but blank pages still ends.
        assert_eq!(arrange(&square(), &pieces[..1], &[Blank], 4).unwrap().len(), 2);
    }
}
