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

/// A distance from a trimmed edge, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Edge {
    /// From the left, or from the top.
    Near(f64),
    /// From the right, or from the foot.
    Far(f64),
}

/// A print on a page, before it has a place.
#[derive(Clone, Debug, PartialEq)]
pub struct Stand {
    /// Which of the plates.
    pub plate: usize,
    /// Its back and not its front.
    pub back: bool,
    /// Size on the page over true size.
    pub scale: f64,
    /// Only this part of it, mm of the print itself: left, top, width, height.
    pub detail: Option<[f64; 4]>,
    /// Where it stands across and down; centred where nothing is said.
    pub from: [Option<Edge>; 2],
    /// With a caption or without; as the book has it where nothing is said.
    pub caption: Option<bool>,
}

impl Stand {
    /// A whole print, centred.
    pub fn new(plate: usize, back: bool, scale: f64) -> Self {
        Self { plate, back, scale, detail: None, from: [None; 2], caption: None }
    }
}

/// A page of prints before they have their places.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Hung {
    /// Its prints.
    pub stands: Vec<Stand>,
    /// Prints to a row where they hang in rows; none for a print by itself.
    pub columns: Option<usize>,
}

/// What the layout knows of a print that stands on a page: sizes in millimetres as they are in the book.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// Its name, for what is said of it.
    pub name: String,
    /// The print itself, or the part of it that is shown.
    pub size: [f64; 2],
    /// How far its shadow goes beyond it: left, top, right, foot.
    pub reach: [f64; 4],
    /// The height its caption takes.
    pub caption: f64,
}

/// A print in its place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placed {
    /// Which of the page's prints.
    pub stand: usize,
    /// Which of the plates.
    pub plate: usize,
    /// Its back and not its front.
    pub back: bool,
    /// The print itself, its shadow beyond.
    pub at: Area,
    /// Top left of its caption, where it has one.
    pub caption: Option<[f64; 2]>,
}

/// Prints on one page; none on an empty one.
pub type Prints = Vec<Placed>;

/// Hangs plates on pages that begin with number `first`: the arrangements in turn, the last of them again and again. `backs`: which of
/// the plates have a back.
pub fn turns(backs: &[bool], turn: &[Arrangement], scale: f64, first: usize) -> Vec<Hung> {
    let mut pages: Vec<Hung> = vec![];
    let mut next = 0;
    let mut turn = turn.iter().copied();
    let mut last = Arrangement::Single;
    let one = |plate: usize, back: bool| Hung { stands: vec![Stand::new(plate, back, scale)], columns: None };
    while next < backs.len() {
        let arrangement = turn.next().unwrap_or(last);
        if arrangement != Arrangement::Blank {
            last = arrangement;
        }
        let side = |pages: &[Hung]| Side::of(first + pages.len());
        match arrangement {
            Arrangement::Blank => pages.push(Hung::default()),
            Arrangement::Single | Arrangement::Back => {
                let back = backs[next] && arrangement == Arrangement::Back;
                // The left page may be empty already: a blank one, or the back of the title.
                let faces_empty = !back && pages.last().is_none_or(|p| p.stands.is_empty());
                if side(&pages) == Side::Right && !faces_empty {
                    pages.push(Hung::default());
                }
                if side(&pages) == Side::Left {
                    pages.push(if back { one(next, true) } else { Hung::default() });
                }
                pages.push(one(next, false));
                next += 1;
            }
            Arrangement::Facing => {
                if side(&pages) == Side::Right {
                    pages.push(Hung::default());
                }
                for _ in 0..2 {
                    if next < backs.len() {
                        pages.push(one(next, false));
                        next += 1;
                    }
                }
            }
            Arrangement::Row(n) | Arrangement::Grid(n, _) => {
                let rows = if let Arrangement::Grid(_, rows) = arrangement { rows } else { 1 };
                let some = next..(next + n * rows).min(backs.len());
                next = some.end;
                pages.push(Hung { stands: some.map(|i| Stand::new(i, false, scale)).collect(), columns: Some(n) });
            }
        }
    }
    pages
}

/// Places the prints of a page, `pieces` in the same order. Those with a place of their own stand there, the others in rows.
///
/// # Errors
/// A sentence for the first print that does not fit, or for two that overlap.
pub fn placed(sheet: &Sheet, side: Side, page: &Hung, pieces: &[Piece]) -> Result<Prints, String> {
    let by_hand = |s: &Stand| s.from.iter().any(Option::is_some);
    let all: Vec<usize> = (0..page.stands.len()).collect();
    let (free, fixed): (Vec<usize>, Vec<usize>) = match page.columns {
        None => (vec![], all),
        Some(_) => all.into_iter().partition(|i| !by_hand(&page.stands[*i])),
    };
    let mut places = vec![];
    for i in &fixed {
        places.push(alone(sheet, side, *i, &pieces[*i], &page.stands[*i])?);
    }
    if let Some(columns) = page.columns.filter(|_| !free.is_empty()) {
        places.extend(grid(sheet, side, &free, pieces, columns)?);
    }
    places.sort_by_key(|p| p.0);
    let around = |(i, at, _): &(usize, Area, _)| at.grown(pieces[*i].reach);
    for (n, a) in places.iter().enumerate().filter(|_| !fixed.is_empty()) {
        if let Some(b) = places[n + 1..].iter().find(|b| around(a).meets(&around(b))) {
            let (a, b) = (&pieces[a.0].name, &pieces[b.0].name);
            return Err(format!("{a} and {b} overlap, counting their shadows. Move one of them, or make it smaller."));
        }
    }
    let place = |(stand, at, caption)| {
        let Stand { plate, back, .. } = page.stands[stand];
        Placed { stand, plate, back, at, caption }
    };
    Ok(places.into_iter().map(place).collect())
}

/// Which of the prints, its place and its caption's.
type Place = (usize, Area, Option<[f64; 2]>);

/// One print in the middle of a page, or where its page's author put it.
fn alone(sheet: &Sheet, side: Side, index: usize, piece: &Piece, stand: &Stand) -> Result<Place, String> {
    let [w, h] = piece.size;
    let said = |axis: usize, size: f64, usual: f64| match stand.from[axis] {
        Some(Edge::Near(mm)) => mm,
        Some(Edge::Far(mm)) => sheet.trim[axis] - size - mm,
        None => usual,
    };
    let usual = Area { x: (sheet.trim[0] - w) / 2.0, y: (sheet.trim[1] - h) * ABOVE, w, h };
    let live = sheet.live(side);
    // A print that stands clear but for the centring moves into the live area: the spine is not the page's middle.
    let moved = settled(&usual, &usual.grown(piece.reach), &live);
    let at = Area { x: said(0, w, moved.x), y: said(1, h, moved.y), ..usual };
    let needs = at.grown(piece.reach);
    let by_hand = stand.from.iter().any(Option::is_some);
    // A detail has no border and no shadow: it may run to the trim and over it, as far as the bleed goes.
    let room = if stand.detail.is_some() && by_hand { sheet.page().grown([sheet.bleed; 4]) } else { live };
    if !room.holds(&needs) {
        return Err(if by_hand {
            outside(&piece.name, &needs, &room)
        } else {
            too_small(&piece.name, [needs.w, needs.h], &live)
        });
    }
    // The caption stands under the shadow's end, at the print's left edge.
    let caption = (piece.caption > 0.0).then_some([at.x, needs.foot() + CAPTION_GAP]);
    if let Some([_, y]) = caption
        && y + piece.caption > live.foot() + 1e-3
    {
        let whole = Area { h: needs.h + CAPTION_GAP + piece.caption, ..needs };
        return Err(if by_hand {
            outside(&format!("{} with its caption", piece.name), &whole, &live)
        } else {
            too_small(&piece.name, [whole.w, whole.h], &live)
        });
    }
    Ok((index, at, caption))
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
fn grid(sheet: &Sheet, side: Side, which: &[usize], pieces: &[Piece], columns: usize) -> Result<Vec<Place>, String> {
    let live = sheet.live(side);
    let some: Vec<&Piece> = which.iter().map(|i| &pieces[*i]).collect();
    let rows: Vec<&[&Piece]> = some.chunks(columns).collect();
    let wide = |c: usize| some.iter().skip(c).step_by(columns).map(|p| p.size[0]).fold(0.0, f64::max);
    let widths: Vec<f64> = (0..columns.min(some.len())).map(wide).collect();
    // Between outlines there is room for the shadow of the one and the light edge of the other.
    let most = |i: usize| some.iter().map(|p| p.reach[i]).fold(0.0, f64::max);
    let (gap_x, gap_y) = (BETWEEN + most(2) + most(0), BETWEEN + most(3) + most(1));
    let caption = |row: &[&Piece]| {
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
    let mut places = vec![];
    let mut y = all.y;
    for (r, row) in rows.iter().enumerate() {
        let foot = y + heights[r];
        let mut x = all.x;
        for (c, piece) in row.iter().enumerate() {
            let [w, h] = piece.size;
            let at = Area { x: x + (widths[c] - w) / 2.0, y: foot - h, w, h };
            let below = foot + row.iter().map(|p| p.reach[3]).fold(0.0, f64::max) + CAPTION_GAP;
            let caption = (piece.caption > 0.0).then_some([at.x, below]);
            places.push((which[r * columns + c], at, caption));
            x += widths[c] + gap_x;
        }
        y = foot + gap_y + caption(row);
    }
    Ok(places)
}

fn outside(name: &str, needs: &Area, room: &Area) -> String {
    format!(
        "{name} does not stand where it may: with its shadow it takes {:.1} to {:.1} mm across and {:.1} to {:.1} mm down, and there is \
         room from {:.1} to {:.1} mm across and from {:.1} to {:.1} mm down.",
        needs.x,
        needs.right(),
        needs.y,
        needs.foot(),
        room.x,
        room.right(),
        room.y,
        room.foot()
    )
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
        Piece { name: format!("{w}x{h}"), size: [w, h], reach: [0.5, 0.5, 4.0, 5.0], caption: 8.0 }
    }

    /// All pages of pieces without backs.
    fn arrange(sheet: &Sheet, pieces: &[Piece], turn: &[Arrangement], first: usize) -> Result<Vec<Prints>, String> {
        let pages = turns(&vec![false; pieces.len()], turn, 1.0, first);
        let place = |(i, page): (usize, &Hung)| {
            let some: Vec<Piece> = page.stands.iter().map(|s| pieces[s.plate].clone()).collect();
            placed(sheet, Side::of(first + i), page, &some)
        };
        pages.iter().enumerate().map(place).collect()
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
        assert_eq!((pages[1][0].plate, pages[2][0].plate, pages[3][0].plate), (0, 1, 2));
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
        let pages = turns(&[true, false], &[Arrangement::Back], 1.0, 4);
        assert_eq!(pages.iter().map(|p| p.stands.len()).collect::<Vec<_>>(), [1, 1, 0, 1]);
        assert!(pages[0].stands[0].back && !pages[1].stands[0].back);
        let print = Piece { caption: 0.0, ..piece(88.0, 107.0) };
        let at = |page: usize, side| placed(&square(), side, &pages[page], std::slice::from_ref(&print)).unwrap()[0];
        assert_eq!(at(0, Side::Left).at, at(1, Side::Right).at);
    }

    /// By hand: distances from the trimmed edges of a page of 240 mm; what leaves the live area or overlaps is refused.
    #[test]
    fn prints_stand_where_their_author_puts_them() {
        let from = |x, y| Stand { from: [x, y], ..Stand::new(0, false, 1.0) };
        let two = Hung {
            stands: vec![from(Some(Edge::Near(20.0)), Some(Edge::Near(30.0))), from(Some(Edge::Far(15.0)), None)],
            columns: Some(2),
        };
        let pieces = [piece(50.0, 60.0), piece(40.0, 50.0)];
        let page = placed(&square(), Side::Right, &two, &pieces).unwrap();
        assert_eq!(page[0].at, Area { x: 20.0, y: 30.0, w: 50.0, h: 60.0 });
        assert_eq!(page[1].at, Area { x: 185.0, y: 190.0 * 0.46, w: 40.0, h: 50.0 });
        // The shadow of the first ends 4 mm to its right: 74 mm.
        let near = |x| Hung {
            stands: vec![two.stands[0].clone(), from(Some(Edge::Near(x)), Some(Edge::Near(40.0)))],
            columns: Some(2),
        };
        assert!(placed(&square(), Side::Right, &near(74.6), &pieces).is_ok());
        assert!(placed(&square(), Side::Right, &near(74.4), &pieces).unwrap_err().contains("overlap"));
        let spine = Hung { stands: vec![from(Some(Edge::Near(8.0)), None)], columns: None };
        let says = placed(&square(), Side::Right, &spine, &pieces[..1]).unwrap_err();
        assert!(says.contains("7.5 to 62.0 mm across") && says.contains("from 12.0 to 233.6 mm across"), "{says}");
        assert!(placed(&square(), Side::Left, &spine, &pieces[..1]).is_ok());
        // A detail runs over the trim as far as the bleed goes, and no further.
        let bled = |x| {
            let stand = Stand { detail: Some([0.0, 0.0, 50.0, 60.0]), ..from(Some(Edge::Near(x)), None) };
            let bare = Piece { reach: [0.0; 4], caption: 0.0, ..piece(50.0, 60.0) };
            placed(&square(), Side::Right, &Hung { stands: vec![stand], columns: None }, &[bare])
        };
        assert!(bled(-3.0).is_ok() && bled(-3.1).is_err());
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
