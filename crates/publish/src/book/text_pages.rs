//! Pages of text: one column on the book's baseline grid, without widows and orphans.
//!
//! A column holds about 66 characters, which reads best (common practice of book designers). It begins where the list of plates begins, an
//! eighth of the page down, and ends one and a half times as far from the foot: the lower margin is the larger one, as under a print.

use super::markdown::{Block, Kind, Word, style};
use super::sheet::{Area, CENTRED, LEADING, Sheet, Side, TOP};
use super::typesetting::{Faces, Style};

/// Size of the text and of headings, points. Ten points on a grid of 4.4 mm (12.5 points) is the usual distance of lines, a quarter more.
const TEXT: f64 = 10.0;
const CHAPTER: f64 = 15.0;
/// Width of the column, mm: 66 characters of this face at this size, each 0.43 of the size on average (measured).
pub(super) const COLUMN: f64 = 100.0;
/// The lower margin over the upper one.
const FOOT: f64 = 1.5;
/// Lines that a chapter's name stands lower than a text (common practice).
const SINK: usize = 6;
/// A new paragraph's first line and a quotation begin so far in, mm: one line's height, a square.
const INDENT: f64 = LEADING;

/// Where a text stands.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Setting {
    /// In the column, from its top.
    #[default]
    Column,
    /// At the foot of the page, paragraphs apart: an imprint.
    Foot,
    /// Centred lines, as the book's own title stands: a half-title, a title, a dedication.
    Centred,
}

/// A text of the book.
#[derive(Clone, Debug, PartialEq)]
pub struct Text {
    /// Its blocks.
    pub blocks: Vec<Block>,
    /// Where it stands.
    pub setting: Setting,
}

impl Text {
    /// All its words.
    pub fn words(&self) -> String {
        let words = self.blocks.iter().flat_map(|b| &b.words);
        words.flat_map(|w| &w.pieces).map(|(text, _)| text.as_str()).collect::<Vec<_>>().join(" ")
    }

    /// What it is called in the file's bookmarks: its first heading.
    pub fn name(&self) -> Option<String> {
        let heading = self.blocks.iter().find(|b| matches!(b.kind, Kind::Chapter | Kind::Heading))?;
        let word = |w: &Word| w.pieces.iter().map(|(text, _)| text.as_str()).collect::<String>();
        Some(heading.words.iter().map(word).collect::<Vec<_>>().join(" "))
    }
}

/// A piece of a line: its words, style, size in points, start of its baseline.
pub type Set = (String, Style, f64, [f64; 2]);

/// A line before it has its place: pieces with their distance from the column's left, and size.
#[derive(Clone, Debug, Default)]
struct Line {
    pieces: Vec<(String, Style, f64)>,
    size: f64,
    width: f64,
}

/// Lines that belong together, and how many empty ones stand before them where they do not begin a page.
#[derive(Debug)]
struct Stack {
    lines: Vec<Line>,
    before: usize,
    chapter: bool,
    /// It stays with the next one: a heading.
    stays: bool,
}

/// Sets a text on pages that begin with number `first`.
///
/// # Errors
/// A character that no font has; a page too small.
pub fn set(text: &Text, sheet: &Sheet, first: usize, faces: &mut Faces) -> Result<Vec<Vec<Set>>, String> {
    let live = sheet.live(Side::Left);
    let width = live.w.min(COLUMN);
    let stacks = stacks(text, width, faces)?;
    let top = (sheet.trim[1] * TOP).max(live.y);
    let room = ((sheet.trim[1] - (FOOT * top).max(sheet.trim[1] - live.foot()) - top) / LEADING) as usize + 1;
    if room < 8 {
        return Err("The page is too small for a text: fewer than 8 lines fit.".into());
    }
    let pages = flowed(&stacks, room);
    let last = pages.len();
    if text.setting != Setting::Column && last > 1 {
        return Err(format!(
            "This text takes {last} pages, and only one can be {}.",
            if text.setting == Setting::Foot { "at the foot" } else { "centred" }
        ));
    }
    let place = |(i, page): (usize, Vec<(usize, &Line)>)| {
        let live = sheet.live(Side::of(first + i));
        let area = Area { x: live.x + (live.w - width) / 2.0, y: top, w: width, h: live.h };
        let lines = page.last().map_or(0, |(row, _)| row + 1);
        let base = match text.setting {
            Setting::Column => top,
            Setting::Foot => {
                sheet.trim[1] - (FOOT * top).max(sheet.trim[1] - live.foot()) - lines.saturating_sub(1) as f64 * LEADING
            }
            Setting::Centred => sheet.trim[1] * CENTRED,
        };
        let one = |(row, line): (usize, &Line)| {
            let x = if text.setting == Setting::Centred { (sheet.trim[0] - line.width) / 2.0 } else { area.x };
            let y = base + row as f64 * LEADING;
            line.pieces.iter().map(|(t, style, dx)| (t.clone(), *style, line.size, [x + dx, y])).collect::<Vec<_>>()
        };
        page.into_iter().flat_map(one).collect()
    };
    Ok(pages.into_iter().enumerate().map(place).collect())
}

/// Lines of each block.
fn stacks(text: &Text, width: f64, faces: &mut Faces) -> Result<Vec<Stack>, String> {
    let mut stacks: Vec<Stack> = vec![];
    let mut before = 0;
    let mut last: Option<&Kind> = None;
    for block in &text.blocks {
        let apart = text.setting != Setting::Column;
        let follows = matches!(block.kind, Kind::Paragraph) && matches!(last, Some(Kind::Paragraph));
        let (size, indent, inset, mark) = match &block.kind {
            Kind::Pause => {
                before = 1;
                last = None;
                continue;
            }
            Kind::Chapter => (CHAPTER, 0.0, 0.0, None),
            Kind::Heading => (TEXT, 0.0, 0.0, None),
            Kind::Paragraph => (TEXT, if follows && !apart { INDENT } else { 0.0 }, 0.0, None),
            Kind::Quote => (TEXT, INDENT, INDENT, None),
            Kind::Item(mark) => (TEXT, INDENT, INDENT, Some(mark)),
        };
        let heading = matches!(block.kind, Kind::Heading);
        let same = last.is_some_and(|l| std::mem::discriminant(l) == std::mem::discriminant(&block.kind));
        let gap = match block.kind {
            _ if stacks.is_empty() => 0,
            Kind::Paragraph if follows && !apart => 0,
            Kind::Item(_) if same => 0,
            Kind::Paragraph if matches!(last, Some(Kind::Heading)) => 0,
            Kind::Chapter => 2,
            _ => 1,
        };
        let mut lines = broken(&block.words, heading, size, [indent, inset], width, faces)?;
        if let (Some(mark), Some(line)) = (mark, lines.first_mut()) {
            line.pieces.insert(0, (mark.clone(), Style::Roman, 0.0));
        }
        let stays = matches!(block.kind, Kind::Chapter | Kind::Heading);
        let after_chapter = if matches!(last, Some(Kind::Chapter)) { 2 } else { 0 };
        stacks.push(Stack {
            lines,
            before: gap.max(before).max(after_chapter),
            chapter: block.kind == Kind::Chapter && text.setting == Setting::Column,
            stays,
        });
        before = 0;
        last = Some(&block.kind);
    }
    Ok(stacks)
}

/// Words broken into lines: the first `indent` in, the others `inset`. The last line is never one short word.
fn broken(
    words: &[Word],
    italic: bool,
    size: f64,
    [indent, inset]: [f64; 2],
    width: f64,
    faces: &mut Faces,
) -> Result<Vec<Line>, String> {
    let space = faces.width("n n", Style::Roman, size)? - faces.width("nn", Style::Roman, size)?;
    let mut sizes = vec![];
    for word in words {
        let mut w = 0.0;
        for (text, emphasised) in &word.pieces {
            w += faces.width(text, style(*emphasised != italic), size)?;
        }
        sizes.push(w);
    }
    let mut rows: Vec<Vec<usize>> = vec![vec![]];
    let (mut x, mut broke) = (indent, false);
    for (i, w) in sizes.iter().enumerate() {
        let begins = rows.last().is_some_and(Vec::is_empty);
        let needs = if begins { *w } else { space + w };
        if broke || (!begins && x + needs > width) {
            rows.push(vec![]);
            x = inset + w;
        } else {
            x += needs;
        }
        if let Some(row) = rows.last_mut() {
            row.push(i);
        }
        broke = words[i].breaks;
    }
    // A short word alone takes the one before it along.
    if let [.., before, last] = &mut rows[..]
        && last.len() == 1
        && before.len() > 2
        && !words[before[before.len() - 1]].breaks
        && sizes[last[0]] < 4.0 * INDENT
        && let Some(word) = before.pop()
    {
        last.insert(0, word);
    }
    let mut lines = vec![];
    for (n, row) in rows.iter().enumerate() {
        let mut line = Line { size, ..Line::default() };
        let mut x = if n == 0 { indent } else { inset };
        for (k, i) in row.iter().enumerate() {
            x += if k > 0 { space } else { 0.0 };
            for (text, emphasised) in &words[*i].pieces {
                let style = style(*emphasised != italic);
                let w = faces.width(text, style, size)?;
                // Words of one style are one piece, so that their spaces are text.
                match line.pieces.last_mut() {
                    Some((before, s, _)) if *s == style && k > 0 && std::ptr::eq(text, &words[*i].pieces[0].0) => {
                        *before += " ";
                        *before += text;
                    }
                    _ => line.pieces.push((text.clone(), style, x)),
                }
                x += w;
            }
        }
        line.width = x;
        lines.push(line);
    }
    Ok(lines)
}

/// Lines on pages of `room` lines, each with its row. At least two lines of a paragraph stand together on either page, and a heading
/// with two lines of what follows.
fn flowed(stacks: &[Stack], room: usize) -> Vec<Vec<(usize, &Line)>> {
    let mut pages: Vec<Vec<(usize, &Line)>> = vec![vec![]];
    let mut row = 0;
    for (i, stack) in stacks.iter().enumerate() {
        let begins = pages.last().is_none_or(Vec::is_empty);
        if stack.chapter && !begins {
            pages.push(vec![]);
            row = 0;
        }
        row += match (stack.chapter, pages.last().is_none_or(Vec::is_empty)) {
            (true, _) => SINK,
            (false, true) => 0,
            (false, false) => stack.before,
        };
        let all = stack.lines.len();
        // A heading needs room for itself, the headings under it, and the first lines of what they stand over.
        let mut next = 0;
        for n in stacks[i + 1..].iter().take(if stack.stays { stacks.len() } else { 0 }) {
            // Three lines cannot be parted.
            next += n.before + if n.stays || n.lines.len() <= 3 { n.lines.len() } else { 2 };
            if !n.stays {
                break;
            }
        }
        if stack.stays && row + all + next > room && !pages.last().is_none_or(Vec::is_empty) {
            pages.push(vec![]);
            row = 0;
        }
        let mut done = 0;
        while done < all {
            let left = all - done;
            let free = room.saturating_sub(row);
            let mut here = left.min(free);
            if here < left {
                // No last line by itself on the next page, and no first line by itself on this one.
                if left - here == 1 {
                    here -= usize::from(here > 0);
                }
                if here < 2 {
                    here = 0;
                }
            }
            if let Some(page) = pages.last_mut() {
                page.extend(stack.lines[done..done + here].iter().enumerate().map(|(n, line)| (row + n, line)));
            }
            done += here;
            row += here;
            if done < all {
                pages.push(vec![]);
                row = 0;
            }
        }
    }
    pages
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::markdown::read;
    use proptest::prelude::*;

    fn stack(lines: usize, stays: bool) -> Stack {
        Stack { lines: vec![Line::default(); lines], before: usize::from(stays), chapter: false, stays }
    }

    proptest! {
        /// Whatever the paragraphs, no page begins with the last line of one and none ends with the first line of one; a heading is followed by
        /// its text; no line is lost and none stands below the column.
        #[test]
        fn no_widow_and_no_orphan(blocks in proptest::collection::vec((1..40_usize, any::<bool>()), 1..30), room in 8..60_usize) {
            let stacks: Vec<Stack> = blocks.iter().map(|(n, h)| if *h { stack(1, true) } else { stack(*n, false) }).collect();
            let pages = flowed(&stacks, room);
            let place = |line: &Line| {
                stacks.iter().enumerate().find_map(|(i, s)| s.lines.iter().position(|l| std::ptr::eq(l, line)).map(|n| (i, n))).unwrap()
            };
            let order: Vec<(usize, usize)> = pages.iter().flatten().map(|(_, l)| place(l)).collect();
            let all: Vec<(usize, usize)> = stacks.iter().enumerate().flat_map(|(i, s)| (0..s.lines.len()).map(move |n| (i, n))).collect();
            prop_assert_eq!(order, all);
            for (p, page) in pages.iter().enumerate() {
                prop_assert!(page.iter().all(|(row, _)| *row < room));
                prop_assert!(page.windows(2).all(|w| w[0].0 < w[1].0));
                let (Some((_, first)), Some((_, end))) = (page.first(), page.last()) else { continue };
                let ((i, n), (j, m)) = (place(first), place(end));
                prop_assert!(n == 0 || n + 1 < stacks[i].lines.len(), "a widow");
                let cut = m + 1 < stacks[j].lines.len();
                prop_assert!(!cut || m > 0, "an orphan");
                let chain = stacks[..=j].iter().rev().take_while(|s| s.stays).count() + stacks[j..].iter().take_while(|s| s.stays).count();
                // Headings upon headings may fill a page by themselves.
                prop_assert!(!stacks[j].stays || p + 1 == pages.len() || 2 * chain + 3 > room, "a heading alone at the foot");
            }
        }
    }

    /// A page of 240 mm: the column is 100 mm wide in the middle of the live area, its first baseline an eighth down, lines 4.4 mm apart.
    #[test]
    fn a_column_stands_on_the_grid_and_within_its_margins() {
        let sheet = Sheet::default();
        let words = "The ferry leaves the *old harbour* at seven in the morning light. ".repeat(60);
        let text = Text { blocks: read(&format!("{words}\n\n{words}")).unwrap(), setting: Setting::Column };
        let mut faces = Faces::new(&Default::default()).unwrap();
        let pages = set(&text, &sheet, 4, &mut faces).unwrap();
        assert!(pages.len() > 1);
        for (i, page) in pages.iter().enumerate() {
            let live = sheet.live(Side::of(4 + i));
            let left = live.x + (live.w - 100.0) / 2.0;
            for (text, style, size, [x, y]) in page {
                let row = (y - 28.8) / 4.4;
                assert!(
                    (row - row.round()).abs() < 1e-9 && *y >= 28.8 - 1e-9 && *y <= 240.0 - 1.5 * 28.8 + 1e-9,
                    "{y}"
                );
                let w = faces.width(text, *style, *size).unwrap();
                assert!(*x >= left - 1e-9 && x + w <= left + 100.0 + 0.1, "{text}: {x} {w}");
            }
        }
        let plain = |setting| Text { blocks: read("# A box\n\nfor A.").unwrap(), setting };
        let centred = set(&plain(Setting::Centred), &sheet, 1, &mut faces).unwrap();
        let (text, style, size, [x, _]) = centred[0][0].clone();
        assert!((x + faces.width(&text, style, size).unwrap() / 2.0 - 120.0).abs() < 1e-6);
        let foot = set(&plain(Setting::Foot), &sheet, 2, &mut faces).unwrap();
        assert!((foot[0].last().unwrap().3[1] - (240.0 - 1.5 * 28.8)).abs() < 1e-9);
        let long = Text { setting: Setting::Foot, ..text_of(&words) };
        assert!(set(&long, &sheet, 1, &mut faces).unwrap_err().contains("only one can be at the foot"));
    }

    fn text_of(words: &str) -> Text {
        Text { blocks: read(&words.repeat(2)).unwrap(), setting: Setting::Column }
    }
}
