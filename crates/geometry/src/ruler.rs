//! The ruler sheet's geometry in millimetres: slanted squares with a code each, neutral steps, scale bars.
//!
//! Sheet coordinates: millimetres from the middle of the paper lying landscape, x right, y down. A lattice of black squares,
//! each turned by [`SLANT`] clockwise as seen, covers the paper, so that whatever part of it a frame shows has slanted edges
//! at its middle and in its corners (ISO 12233 asks for edges about 5 degrees off the pixel grid), and their sides measure
//! place and scale. Nine white or black cells in a square's middle say which square of which paper it is; since every square
//! differs, a part of the sheet is enough to know where it is, how it is turned, and whether it is seen in a mirror.

use crate::{Angle, Point, Quad, point};

/// Distance between the middles of neighbouring squares: a field 100 mm wide still holds six.
pub const PITCH: f64 = 16.0;
/// Side of a square: as long as the lattice allows with white beside each edge for the edge response to settle.
pub const SQUARE: f64 = 10.0;
/// Turn of the squares, clockwise as seen: about 5 degrees, as ISO 12233 has it.
pub const SLANT: Angle = Angle::deg(5.0);
/// Side of one cell of a square's code: nine pixels at 8 px/mm, and 3.3 mm of plain ink are left before each edge.
pub const CODE_CELL: f64 = 1.1;
/// Side of a neutral step, which lies straight.
pub const STEP: f64 = 10.0;
/// Length of each scale bar: the longest round one that letter paper takes both ways, and a common ruler can measure.
pub const BAR: f64 = 150.0;
/// Shares of the bar that a printer may miss by: past a tenth the sheet was scaled to the page on purpose.
pub const BAR_RANGE: [f64; 2] = [0.9, 1.1];

/// Lattice places (column, row, from the middle) of the neutral steps and their reflectance relative to bare paper.
///
/// Near the middle, so that every field has them; from pale to dark in steps of about 10 L*.
pub const STEPS: [(i32, i32, f64); 8] = [
    (-1, -1, 0.78),
    (1, -1, 0.60),
    (-1, 1, 0.45),
    (1, 1, 0.33),
    (-2, 0, 0.23),
    (2, 0, 0.155),
    (0, -2, 0.10),
    (0, 2, 0.06),
];

/// The papers that a sheet is laid out for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// ISO 216 A4, 297 by 210 mm.
    A4,
    /// US letter (ANSI A), 11 by 8.5 in.
    Letter,
}

impl Paper {
    /// Every paper.
    pub const ALL: [Self; 2] = [Self::A4, Self::Letter];

    /// The word for it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::A4 => "a4",
            Self::Letter => "letter",
        }
    }
    /// Width and height lying landscape, mm.
    pub const fn size(self) -> (f64, f64) {
        match self {
            Self::A4 => (297.0, 210.0),
            Self::Letter => (279.4, 215.9),
        }
    }
    /// Columns and rows of the lattice on either side of its middle: 10 mm or more of bare paper are left at the sides,
    /// which printers do not reach, and room for a bar and words at the foot.
    pub const fn reach(self) -> (i32, i32) {
        match self {
            Self::A4 => (8, 5),
            Self::Letter => (7, 5),
        }
    }
}

/// What stands at a lattice place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Cell {
    /// A slanted square with its nine code bits, row by row from its top left, least first; 1 is white.
    Square(u16),
    /// A neutral step of this reflectance relative to bare paper.
    Step(f64),
}

/// A rectangle of one tone, to be laid over what came before.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mark {
    /// Its middle, sheet mm.
    pub centre: Point,
    /// Half its width and height.
    pub half: (f64, f64),
    /// Its turn, clockwise as seen.
    pub turn: Angle,
    /// Reflectance relative to bare paper: 0 solid ink, 1 bare paper.
    pub tone: f64,
}

/// A ruler sheet as it lies on the bed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sheet {
    /// The paper it is laid out for.
    pub paper: Paper,
    /// True size over nominal size: the printer's own scale.
    pub scale: f64,
}

impl Sheet {
    /// A sheet printed true.
    pub const fn new(paper: Paper) -> Self {
        Self { paper, scale: 1.0 }
    }

    /// A sheet on which the long bar measures `bar_mm`; `None` where that is no likely printing of [`BAR`].
    pub fn measured(paper: Paper, bar_mm: f64) -> Option<Self> {
        let scale = bar_mm / BAR;
        (BAR_RANGE[0]..=BAR_RANGE[1]).contains(&scale).then_some(Self { paper, scale })
    }

    /// Every lattice place with what stands there, row by row.
    pub fn cells(&self) -> impl Iterator<Item = (i32, i32, Cell)> + use<> {
        let (paper, (x, y)) = (self.paper, self.paper.reach());
        (-y..=y).flat_map(move |row| (-x..=x).map(move |col| (col, row, cell(paper, col, row))))
    }

    /// The middle of a lattice place, true mm.
    pub fn place(&self, col: i32, row: i32) -> Point {
        point(f64::from(col), f64::from(row)) * (PITCH * self.scale)
    }

    /// The square at a lattice place, clockwise from its top left, true mm.
    pub fn square(&self, col: i32, row: i32) -> Quad {
        let (right, down) = axes(SLANT);
        let (c, h) = (self.place(col, row), SQUARE / 2.0 * self.scale);
        Quad([(-h, -h), (h, -h), (h, h), (-h, h)].map(|(u, v)| c + right * u + down * v))
    }

    /// The neutral steps: their middles, true mm, and reflectances relative to paper.
    pub fn steps(&self) -> impl Iterator<Item = (Point, f64)> + use<> {
        let sheet = *self;
        STEPS.into_iter().map(move |(col, row, tone)| (sheet.place(col, row), tone))
    }

    /// Half the width and height that the squares cover, true mm.
    pub fn half(&self) -> (f64, f64) {
        let (x, y) = self.paper.reach();
        let corner = SQUARE / 2.0 * (SLANT.to_rad().cos() + SLANT.to_rad().sin());
        ((f64::from(x) * PITCH + corner) * self.scale, (f64::from(y) * PITCH + corner) * self.scale)
    }

    /// The two scale bars, from end to end, true mm: the one at the foot that is to be measured, and one down the left.
    pub fn bars(&self) -> [(Point, Point); 2] {
        let (w, h) = self.paper.size();
        // A bar lies half way between the squares and the edge that printers reach (5 mm).
        let (hw, hh) = Sheet::new(self.paper).half();
        let (x, y) = (-(hw + w / 2.0 - 5.0) / 2.0, (hh + h / 2.0 - 12.0) / 2.0);
        let scaled = |x: f64, y: f64| point(x, y) * self.scale;
        [(scaled(-BAR / 2.0, y), scaled(BAR / 2.0, y)), (scaled(x, -BAR / 2.0), scaled(x, BAR / 2.0))]
    }

    /// Everything on the sheet but words, in the order it is laid down, true mm.
    pub fn marks(&self) -> Vec<Mark> {
        let mut out: Vec<Mark> = self.cells().flat_map(|(col, row, cell)| self.cell_marks(col, row, cell)).collect();
        let [across, down] = self.bars();
        out.extend(self.bar_marks(across, false));
        out.extend(self.bar_marks(down, true));
        out
    }

    fn cell_marks(&self, col: i32, row: i32, cell: Cell) -> Vec<Mark> {
        let (centre, k) = (self.place(col, row), self.scale);
        let square = |centre: Point, side: f64, turn: Angle, tone: f64| Mark {
            centre,
            half: (side / 2.0 * k, side / 2.0 * k),
            turn,
            tone,
        };
        match cell {
            Cell::Step(tone) => vec![square(centre, STEP, Angle::default(), tone)],
            Cell::Square(code) => {
                let dots = (0..9).filter(|i| code >> i & 1 == 1);
                let dots = dots.map(|i| square(centre + code_offset(i) * k, CODE_CELL, SLANT, 1.0));
                std::iter::once(square(centre, SQUARE, SLANT, 0.0)).chain(dots).collect()
            }
        }
    }

    /// Fifteen parts of 10 mm, black at both ends, between two fine lines.
    fn bar_marks(&self, (a, b): (Point, Point), upright: bool) -> Vec<Mark> {
        const PARTS: usize = 15;
        // Wide enough to see a ruler's lines against, and no square, so that nothing takes a part for one.
        const WIDTH: f64 = 2.0;
        const LINE: f64 = 0.15;
        let k = self.scale;
        let mark = |centre: Point, along: f64, wide: f64| Mark {
            centre,
            half: if upright { (wide / 2.0 * k, along / 2.0 * k) } else { (along / 2.0 * k, wide / 2.0 * k) },
            turn: Angle::default(),
            tone: 0.0,
        };
        let side = if upright { point(1.0, 0.0) } else { point(0.0, 1.0) };
        let parts = (0..PARTS).step_by(2).map(|i| a.lerp(b, (i as f64 + 0.5) / PARTS as f64));
        let lines = [-1.0, 1.0].map(|s| a.lerp(b, 0.5) + side * (s * (WIDTH - LINE) / 2.0 * k));
        parts.map(|c| mark(c, BAR / PARTS as f64, WIDTH)).chain(lines.map(|c| mark(c, BAR, LINE))).collect()
    }
}

/// What stands at a lattice place of a paper.
pub fn cell(paper: Paper, col: i32, row: i32) -> Cell {
    match STEPS.iter().find(|s| (s.0, s.1) == (col, row)) {
        Some(&(.., tone)) => Cell::Step(tone),
        None => Cell::Square(code(paper, col, row)),
    }
}

/// Where code bit `i` (0 to 8) lies from the middle of its square, nominal mm.
pub fn code_offset(i: usize) -> Point {
    let (right, down) = axes(SLANT);
    let at = |k: usize| (k as f64 - 1.0) * CODE_CELL;
    right * at(i % 3) + down * at(i / 3)
}

/// The directions of a thing turned clockwise as seen: along it and down it.
fn axes(turn: Angle) -> (Point, Point) {
    let right = Point::at_angle(turn.to_rad());
    (right, right.quarter_turn())
}

/// The nine code bits of a square: a hash of its paper and place, of which 3 to 6 bits are white, so that each square has
/// both inks to tell them apart by.
///
/// The mix is the finaliser of SplitMix64 (Steele, Lea and Flood 2014, doi 10.1145/2660193.2660195).
pub fn code(paper: Paper, col: i32, row: i32) -> u16 {
    let page = match paper {
        Paper::A4 => 1u64,
        Paper::Letter => 2,
    };
    let mut z = page << 32 | ((col + 64) as u64) << 16 | (row + 64) as u64;
    loop {
        z = z.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut m = z;
        m = (m ^ (m >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        m = (m ^ (m >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        m ^= m >> 31;
        let bits = (m & 0x1ff) as u16;
        if (3..=6).contains(&bits.count_ones()) {
            return bits;
        }
    }
}

/// The code of a square that a frame shows turned by `turns` quarter turns clockwise and, before that, mirrored left to
/// right where `mirrored`: bit `i` of the result is what the frame shows at its own place `i`.
pub fn turned_code(code: u16, turns: usize, mirrored: bool) -> u16 {
    let once = |c: u16, from: &dyn Fn(usize, usize) -> (usize, usize)| {
        (0..9).fold(0, |out, i| {
            let (x, y) = from(i % 3, i / 3);
            out | (c >> (3 * y + x) & 1) << i
        })
    };
    let mut c = if mirrored { once(code, &|x, y| (2 - x, y)) } else { code };
    for _ in 0..turns % 4 {
        // Clockwise as seen: what shows at (x, y) stood at (y, 2 - x).
        c = once(c, &|x, y| (y, 2 - x));
    }
    c
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn everything_lies_on_the_paper_clear_of_the_printers_edge_and_of_each_other() {
        for paper in Paper::ALL {
            let sheet = Sheet::new(paper);
            let (w, h) = paper.size();
            for m in sheet.marks() {
                let (right, down) = axes(m.turn);
                for (u, v) in [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)] {
                    let p = m.centre + right * (u * m.half.0) + down * (v * m.half.1);
                    assert!(p.x.abs() < w / 2.0 - 5.0 && p.y.abs() < h / 2.0 - 5.0, "{paper:?} {m:?}");
                }
            }
            let (hw, hh) = sheet.half();
            let [(a, b), (c, d)] = sheet.bars();
            assert!(a.y > hh + 2.0 && c.x < -hw - 1.2, "{a:?} {c:?}");
            assert!((a.distance(b) - BAR).abs() < 1e-9 && (c.distance(d) - BAR).abs() < 1e-9);
        }
    }

    #[test]
    fn a_measured_bar_scales_everything() {
        let sheet = Sheet::measured(Paper::A4, 149.2).unwrap();
        let (a, b) = sheet.bars()[0];
        assert!((a.distance(b) - 149.2).abs() < 1e-9);
        assert!((sheet.place(3, 0).x - 48.0 * 149.2 / 150.0).abs() < 1e-9);
        for bad in [0.0, -150.0, 15.0, 300.0, f64::NAN, f64::INFINITY] {
            assert_eq!(Sheet::measured(Paper::A4, bad), None);
        }
    }

    /// Of any nine squares in a block fewer than seven tenths are like those of any other place of both papers, turned or mirrored.
    #[test]
    fn a_small_part_is_known_from_every_other() {
        let window = |paper, col: i32, row: i32| -> Vec<Option<u16>> {
            let place = |k: i32| cell(paper, col + k % 3, row + k / 3);
            (0..9).map(|k| if let Cell::Square(c) = place(k) { Some(c) } else { None }).collect()
        };
        let corners = Paper::ALL.into_iter().flat_map(|p| {
            let (x, y) = p.reach();
            (-y..=y - 2).flat_map(move |r| (-x..=x - 2).map(move |c| (p, c, r)))
        });
        let all: Vec<_> = corners.map(|(p, c, r)| window(p, c, r)).collect();
        for turns in 0..4 {
            for mirrored in [false, true] {
                for (j, b) in all.iter().enumerate() {
                    let shown = shown(b, turns, mirrored);
                    for (i, a) in all.iter().enumerate().filter(|(i, _)| *i != j || turns > 0 || mirrored) {
                        // A square is taken for another where at most one bit differs.
                        let both = a.iter().zip(&shown).filter_map(|(x, y)| Some(((*x)?, (*y)?)));
                        let compared = both.clone().count();
                        let alike = both.filter(|(x, y)| (x ^ y).count_ones() <= 1).count();
                        assert!(10 * alike < 7 * compared.max(9), "{i} {j} {turns} {mirrored}: {alike} of {compared}");
                    }
                }
            }
        }
    }

    /// Three by three places as a frame shows them.
    fn shown(codes: &[Option<u16>], turns: usize, mirrored: bool) -> Vec<Option<u16>> {
        (0..9usize)
            .map(|k| {
                let (mut x, mut y) = (k % 3, k / 3);
                (0..turns).for_each(|_| (x, y) = (y, 2 - x));
                let x = if mirrored { 2 - x } else { x };
                codes[3 * y + x].map(|c| turned_code(c, turns, mirrored))
            })
            .collect()
    }

    #[test]
    fn four_quarter_turns_return_a_code() {
        let c = code(Paper::Letter, 2, -3);
        assert_eq!(turned_code(c, 4, false), c);
        assert_eq!(turned_code(turned_code(c, 1, false), 3, false), c);
        assert_eq!(turned_code(turned_code(c, 0, true), 0, true), c);
        // A lone white cell at the top left stands at the top right after a turn clockwise.
        assert_eq!(turned_code(1, 1, false), 1 << 2);
        assert_eq!(turned_code(1, 0, true), 1 << 2);
    }
}
