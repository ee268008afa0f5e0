//! Makes the book: pictures as they become ready, then their pages, then the end of the file.

use super::layout::{self, Arrangement, Piece};
use super::pdf::{About, Mark, Pdf};
use super::picture::{How, Ink, Kept, Ready, Wanted, ready};
use super::press::Press;
use super::sheet::{Area, Sheet, Side};
use super::small::Smalls;
use super::typesetting::{Faces, Fonts, Line, Run, Style};
use super::words;
use crate::Plate;
use crate::plate::AS_SHOT;
use pdf_writer::Ref;
use std::collections::BTreeMap;
use std::io::Write;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc::sync_channel;

/// Sizes of type, points, and the distance of lines, mm.
pub(super) const CAPTION: f64 = 9.5;
pub(super) const LEADING: f64 = 4.4;
const SMALL: f64 = 9.0;
const TITLE: f64 = 26.0;
const AUTHOR: f64 = 13.0;
const HEADING: f64 = 15.0;
/// From a plate's number to its caption, mm: three figures and a space.
pub(super) const NUMBER: f64 = 7.0;

/// Everything that shapes a book.
#[derive(Clone, Debug)]
pub struct Settings {
    /// The page.
    pub sheet: Sheet,
    /// Arrangements in turn; the last goes on.
    pub turn: Vec<Arrangement>,
    /// Size on the page over true size.
    pub scale: f64,
    /// Most pixels to the inch that are kept.
    pub ppi: f64,
    /// First printable dot, a share of full ink.
    pub first_dot: f64,
    /// Ink limit, a share of one full ink.
    pub limit: f64,
    /// The printer's profile.
    pub printer: Option<Vec<u8>>,
    /// Keep RGB, tagged, for the press to convert.
    pub keep_rgb: bool,
    /// Title; may be empty.
    pub title: String,
    /// Author; may be empty.
    pub author: String,
    /// Captions under the prints.
    pub captions: bool,
    /// Pages come in multiples of this.
    pub signature: usize,
    /// Which small pictures are kept for what goes beside the book.
    pub smalls: Smalls,
    /// Fonts for what the book's own lacks.
    pub fonts: Fonts,
    /// Year, month, day that the file is dated.
    pub day: (u16, u8, u8),
    /// Sixteen bytes that stand for prints and settings.
    pub id: [u8; 16],
}

impl Settings {
    /// The printing condition.
    ///
    /// # Errors
    /// The printer's profile is not for a press.
    pub fn press(&self) -> Result<Option<Press>, Fault> {
        let press = self.printer.clone().map(Press::new).transpose();
        press.map_err(|e| Fault::Refused(format!("The printer's profile: {e}")))
    }

    /// How pictures are made ready for the press, if there is one.
    pub fn how<'a>(&self, press: Option<&'a Press>) -> How<'a> {
        let ink = match press {
            Some(press) if !self.keep_rgb => Ink::Press(press),
            Some(_) => Ink::Eci,
            None => Ink::Srgb,
        };
        let (scale, ppi) = (self.scale, self.ppi);
        How { ppi, scale, ink, first_dot: self.first_dot, limit: self.limit, smalls: self.smalls }
    }

    /// The title that the file has, also where the book has none.
    pub fn file_title(&self) -> String {
        if self.title.is_empty() { "Instant prints".into() } else { self.title.clone() }
    }
}

/// Why a book could not be made.
#[derive(Debug, thiserror::Error)]
pub enum Fault {
    /// Something that was asked for cannot be; a sentence.
    #[error("{0}")]
    Refused(String),
    /// The disk.
    #[error("the file cannot be written: {0}")]
    Write(#[from] std::io::Error),
}

/// Something on a page, its picture by number.
#[derive(Clone, Debug)]
pub enum Thing {
    /// A picture and its area, and the print's own.
    Picture(usize, Area, Area),
    /// Anything else.
    Mark(Mark),
    /// Words and how wide they run, for whoever only draws their place.
    Words(Mark, Area),
}

/// A page of the book.
#[derive(Clone, Debug, Default)]
pub struct Page {
    /// What stands on it.
    pub things: Vec<Thing>,
    /// Its bookmark.
    pub name: Option<String>,
}

/// A book that was made.
pub struct Made {
    /// Its pages.
    pub pages: Vec<Page>,
    /// Its pictures.
    pub pictures: Vec<Kept>,
    /// Faces and what was used of them.
    pub faces: Faces,
    /// The printing condition.
    pub press: Option<Press>,
    /// What the file says of itself.
    pub about: About,
    /// Number of the page that each plate stands on, from 1.
    pub page_of: Vec<usize>,
}

/// Makes the book of `plates` into `out`. `hear` is told how many pictures are done, and of how many.
///
/// # Errors
/// [`Fault::Refused`] where the page, the profile, a font, a mount or a word stands in the way; [`Fault::Write`].
pub fn make<W: Write + Send>(
    plates: &[Plate],
    s: &Settings,
    out: W,
    hear: &(dyn Fn(usize, usize) + Sync),
) -> Result<Made, Fault> {
    let refuse = Fault::Refused;
    if let Some(fault) = s.sheet.fault() {
        return Err(refuse(fault));
    }
    let press = s.press()?;
    let mut faces = faces(plates, s).map_err(refuse)?;
    let captions = captions(plates, s, &mut faces).map_err(refuse)?;
    // Report the most common error before an hour of work, not after: prints that do not fit.
    layout::arrange(&s.sheet, &pieces(plates, s, &captions, &[]), &s.turn, FIRST).map_err(refuse)?;

    let how = s.how(press.as_ref());
    let about = About { title: s.file_title(), author: s.author.clone(), day: s.day, id: s.id };
    let mut pdf = Pdf::new(out, s.sheet, 1.0, press.as_ref(), about.clone())?;
    let (pictures, refs) = pictures(plates, s, &how, &mut pdf, hear)?;

    let pieces = pieces(plates, s, &captions, &pictures);
    let placed = layout::arrange(&s.sheet, &pieces, &s.turn, FIRST).map_err(refuse)?;
    let mut page_of = vec![0; plates.len()];
    for (i, page) in placed.iter().enumerate() {
        page.iter().filter(|p| !p.back).for_each(|p| page_of[p.piece] = FIRST + i);
    }
    let mut pages = front(s, &mut faces).map_err(refuse)?;
    for page in &placed {
        pages.push(plate_page(page, plates, &pictures, &captions, &mut faces).map_err(refuse)?);
    }
    end(&mut pages, plates, s, &pictures, &page_of, press.as_ref(), &mut faces).map_err(refuse)?;
    let drawn: Vec<(Ref, [f64; 2])> = refs.into_iter().map(|r| (r, [1.0; 2])).collect();
    for page in &pages {
        pdf.page(&page.marks(&drawn), page.name.as_deref())?;
    }
    pdf.finish(&faces)?;
    Ok(Made { pages, pictures, faces, press, about, page_of })
}

/// The first page that plates may stand on: after the title and its empty back.
pub(super) const FIRST: usize = 3;

impl Page {
    /// Its marks. `drawn` gives each picture's number in the file, and what share of its width and height that one shows.
    pub fn marks(&self, drawn: &[(Ref, [f64; 2])]) -> Vec<Mark> {
        self.things
            .iter()
            .map(|t| match t {
                Thing::Picture(i, area, _) => {
                    let (id, [w, h]) = drawn[*i];
                    Mark::Picture(id, Area { w: area.w * w, h: area.h * h, ..*area })
                }
                Thing::Mark(m) | Thing::Words(m, _) => m.clone(),
            })
            .collect()
    }
}

/// The faces for all words of the book and of what goes beside it.
///
/// # Errors
/// A font cannot be used; every character of the book that no font has, in one message.
pub fn faces(plates: &[Plate], s: &Settings) -> Result<Faces, String> {
    let mut faces = Faces::new(&s.fonts)?;
    let shadows = plates.iter().any(|p| p.shadow != AS_SHOT);
    let mut words = vec![("the title".to_owned(), s.title.clone()), ("the author's name".into(), s.author.clone())];
    for plate in plates {
        let [first, second] = words::caption(&plate.words);
        let all = [plate.name.clone(), first, second, words::listed(plate, shadows), plate.format.clone()];
        words.push((plate.name.clone(), all.join(" ")));
    }
    if let Some(press) = s.press().map_err(|e| e.to_string())? {
        words.push(("the name of the printer's profile".into(), press.name));
    }
    faces.need(words.iter().map(|(place, text)| (place.as_str(), text.as_str())))?;
    Ok(faces)
}

/// Lines of each plate's caption with their styles.
pub(super) type Caption = Vec<(Line, Style)>;

pub(super) fn captions(plates: &[Plate], s: &Settings, faces: &mut Faces) -> Result<Vec<Caption>, String> {
    let one = |plate: &Plate| -> Result<Caption, String> {
        if !s.captions {
            return Ok(vec![]);
        }
        // As wide as the print, but never a column of single words.
        let width = (plate.print_mm()[0] * s.scale).max(50.0);
        let [first, second] = words::caption(&plate.words);
        let mut lines = vec![];
        for (text, style) in [(first, Style::Roman), (second, Style::Italic)] {
            if !text.is_empty() {
                let broken =
                    faces.lines(&text, style, CAPTION, width - NUMBER).map_err(|e| format!("{}: {e}", plate.name))?;
                lines.extend(broken.into_iter().map(|l| (l, style)));
            }
        }
        if lines.is_empty() {
            // The number alone.
            lines.push((Line::default(), Style::Roman));
        }
        Ok(lines)
    };
    plates.iter().map(one).collect()
}

/// What the layout needs to know; without pictures, shadows are left out.
pub(super) fn pieces(plates: &[Plate], s: &Settings, captions: &[Caption], pictures: &[Kept]) -> Vec<Piece> {
    let piece = |i: usize, plate: &Plate, back: bool| {
        let kept = pictures.iter().find(|k| k.plate == i && k.back == back);
        Piece {
            name: plate.name.clone(),
            size: kept.map_or(plate.print_mm().map(|v| v * s.scale), |k| k.print_mm),
            reach: kept.map_or([0.0; 4], |k| k.reach),
            caption: if back { 0.0 } else { captions[i].len() as f64 * LEADING },
            back: None,
        }
    };
    let shows = s.turn.contains(&Arrangement::Back);
    let whole = |(i, plate): (usize, &Plate)| {
        let back = plate.back.as_deref().filter(|_| shows).map(|b| Box::new(piece(i, b, true)));
        Piece { back, ..piece(i, plate, false) }
    };
    plates.iter().enumerate().map(whole).collect()
}

/// Makes pictures ready side by side and writes them in order.
fn pictures<W: Write + Send>(
    plates: &[Plate],
    s: &Settings,
    how: &How,
    pdf: &mut Pdf<W>,
    hear: &(dyn Fn(usize, usize) + Sync),
) -> Result<(Vec<Kept>, Vec<Ref>), Fault> {
    let shows = s.turn.contains(&Arrangement::Back);
    let mut all: Vec<Wanted> = vec![];
    for (plate, of) in plates.iter().enumerate() {
        all.push(Wanted { plate, back: false, of });
        all.extend(of.back.as_deref().filter(|_| shows).map(|of| Wanted { plate, back: true, of }));
    }
    let (mut kept, mut refs) = (vec![], vec![]);
    in_order(&all, &|wanted| ready(wanted, how), |made| {
        let Ready { kept: picture, deflated } = made.map_err(Fault::Refused)?;
        refs.push(pdf.picture(picture.size_px, &deflated, how.ink.space())?);
        kept.push(picture);
        hear(kept.len(), all.len());
        Ok::<_, Fault>(())
    })?;
    Ok((kept, refs))
}

/// Makes something of all, side by side, and hands it on in order; the first fault ends it.
fn in_order<T: Copy + Sync, R: Send, E>(
    all: &[T],
    make: &(dyn Fn(T) -> R + Sync),
    mut take: impl FnMut(R) -> Result<(), E>,
) -> Result<(), E> {
    let workers = rayon::current_num_threads();
    let next = AtomicUsize::new(0);
    // What is ready waits for what is before it; nobody runs far ahead of a slow disk.
    let (send, receive) = sync_channel(workers);
    std::thread::scope(|scope| {
        for _ in 0..workers {
            let (send, next) = (send.clone(), &next);
            scope.spawn(move || {
                loop {
                    let i = next.fetch_add(1, Ordering::Relaxed);
                    // After a fault nobody listens any more.
                    let Some(one) = all.get(i) else { break };
                    if send.send((i, make(*one))).is_err() {
                        break;
                    }
                }
            });
        }
        drop(send);
        let (mut waiting, mut turn) = (BTreeMap::new(), 0);
        for (i, made) in receive {
            waiting.insert(i, made);
            while let Some(made) = waiting.remove(&turn) {
                take(made)?;
                turn += 1;
            }
        }
        Ok(())
    })
}

/// A line of words; its place is its baseline's start.
pub(super) fn line(
    faces: &mut Faces,
    text: impl Into<Line>,
    style: Style,
    size: f64,
    at: [f64; 2],
) -> Result<Thing, String> {
    let runs = faces.set(text, style)?;
    let w = wide(&runs, size);
    // Capital height of about two thirds of the size.
    let h = 0.65 * size / super::typesetting::POINTS;
    Ok(Thing::Words(Mark::Words(runs, size, at), Area { x: at[0], y: at[1] - h, w, h }))
}

/// A line of words that begins at `begin`: a baseline's start where it runs to the right, its right end where it runs to the left.
pub(super) fn begun(
    faces: &mut Faces,
    text: impl Into<Line>,
    style: Style,
    size: f64,
    begin: [f64; 2],
    rtl: bool,
) -> Result<Thing, String> {
    let text = text.into();
    let w = if rtl { faces.width(&text, style, size)? } else { 0.0 };
    line(faces, text, style, size, [begin[0] - w, begin[1]])
}

/// Where the number and the words of a caption begin, under a print at `at`; and whether they run from the right.
pub(super) fn caption_begin(lines: &Caption, at: &Area, x: f64) -> ([f64; 2], bool) {
    let rtl = lines.first().is_some_and(|(line, _)| line.is_rtl());
    if rtl { ([at.right(), at.right() - NUMBER], true) } else { ([x, x + NUMBER], false) }
}

/// A line of words before it is set: its style, size in points and the start of its baseline.
type Unset = (Line, Style, f64, [f64; 2]);

/// Title and author, centred.
pub(super) fn title_lines(s: &Settings, faces: &mut Faces) -> Result<Vec<Unset>, String> {
    let mut lines = vec![];
    let live = s.sheet.live(Side::Right);
    let mut y = s.sheet.trim[1] * 0.38;
    for (text, style, size, leading) in [(&s.title, Style::Roman, TITLE, 11.0), (&s.author, Style::Italic, AUTHOR, 6.5)]
    {
        if text.is_empty() {
            continue;
        }
        for broken in faces.lines(text, style, size, live.w)? {
            let w = faces.width(&broken, style, size)?;
            lines.push((broken, style, size, [(s.sheet.trim[0] - w) / 2.0, y]));
            y += leading;
        }
        y += 4.0;
    }
    Ok(lines)
}

/// Title page and its empty back.
fn front(s: &Settings, faces: &mut Faces) -> Result<Vec<Page>, String> {
    let mut page = Page { name: Some("Title".into()), ..Page::default() };
    for (text, style, size, at) in title_lines(s, faces)? {
        page.things.push(line(faces, &text, style, size, at)?);
    }
    Ok(vec![page, Page::default()])
}

/// Width of set words, mm.
fn wide(runs: &[Run], size: f64) -> f64 {
    runs.iter().map(Run::end).fold(0.0, f64::max) / 1000.0 * size / super::typesetting::POINTS
}

fn plate_page(
    placed: &layout::Prints,
    plates: &[Plate],
    pictures: &[Kept],
    captions: &[Caption],
    faces: &mut Faces,
) -> Result<Page, String> {
    let mut page = Page::default();
    for p in placed {
        let found = pictures.iter().position(|k| k.plate == p.piece && k.back == p.back);
        let Some(i) = found else { continue };
        let k = &pictures[i];
        let whole = Area { x: p.at.x - k.beyond[0], y: p.at.y - k.beyond[1], w: k.size_mm[0], h: k.size_mm[1] };
        page.things.push(Thing::Picture(i, whole, p.at));
        if let Some([x, y]) = p.caption {
            let number = (p.piece + 1).to_string();
            let lines = &captions[p.piece];
            let ([at_number, at_words], rtl) = caption_begin(lines, &p.at, x);
            page.things.push(begun(faces, &number, Style::Roman, CAPTION, [at_number, y + 2.4], rtl)?);
            for (n, (text, style)) in lines.iter().enumerate().filter(|(_, (t, _))| !t.is_empty()) {
                // The first baseline lies one capital height below the caption's top.
                let begin = [at_words, y + 2.4 + n as f64 * LEADING];
                page.things.push(begun(faces, text, *style, CAPTION, begin, rtl)?);
            }
        }
        if !p.back {
            let words = &plates[p.piece].words.title;
            let name = format!("{} {}", p.piece + 1, if words.is_empty() { &plates[p.piece].name } else { words });
            page.name.get_or_insert(name);
        }
    }
    Ok(page)
}

/// The list of plates, the colophon, and empty pages up to a whole signature.
fn end(
    pages: &mut Vec<Page>,
    plates: &[Plate],
    s: &Settings,
    pictures: &[Kept],
    page_of: &[usize],
    press: Option<&Press>,
    faces: &mut Faces,
) -> Result<(), String> {
    // The list begins on a right page.
    if Side::of(pages.len() + 1) == Side::Left {
        pages.push(Page::default());
    }
    list(pages, plates, s, page_of, faces)?;
    pages.push(colophon(plates, s, pictures, press, Side::of(pages.len() + 1), faces)?);
    while !pages.len().is_multiple_of(s.signature.max(1)) {
        // The colophon keeps its place before the last empty leaves.
        pages.push(Page::default());
    }
    Ok(())
}

pub(super) fn list(
    pages: &mut Vec<Page>,
    plates: &[Plate],
    s: &Settings,
    page_of: &[usize],
    faces: &mut Faces,
) -> Result<(), String> {
    let mut page = Page { name: Some("Plates".into()), ..Page::default() };
    let top = s.sheet.trim[1] * 0.12;
    let area = |side: Side| {
        let live = s.sheet.live(side);
        // A column that reads well is no wider than this.
        let w = live.w.min(130.0);
        Area { x: live.x + (live.w - w) / 2.0, y: live.y, w, h: live.h }
    };
    let mut column = area(Side::of(pages.len() + 1));
    let mut y = top.max(column.y + 6.0);
    page.things.push(line(faces, "Plates", Style::Roman, HEADING, [column.x, y])?);
    y += 11.0;
    let shadows = plates.iter().any(|p| p.shadow != AS_SHOT);
    for (i, plate) in plates.iter().enumerate() {
        let text = words::listed(plate, shadows);
        let broken =
            faces.lines(&text, Style::Roman, SMALL, column.w - 22.0).map_err(|e| format!("{}: {e}", plate.name))?;
        if y + broken.len() as f64 * LEADING > column.foot() - 4.0 {
            pages.push(std::mem::take(&mut page));
            column = area(Side::of(pages.len() + 1));
            y = top.max(column.y + 6.0);
        }
        let number = (i + 1).to_string();
        let w = faces.width(&number, Style::Roman, SMALL)?;
        page.things.push(line(faces, &number, Style::Roman, SMALL, [column.x + 7.0 - w, y])?);
        let of = page_of[i].to_string();
        let w = faces.width(&of, Style::Italic, SMALL)?;
        page.things.push(line(faces, &of, Style::Italic, SMALL, [column.right() - w, y])?);
        for text in broken {
            // Words from the right end where the page numbers' column begins.
            let rtl = text.is_rtl();
            let begin = if rtl { column.right() - 12.0 } else { column.x + 10.0 };
            page.things.push(begun(faces, text, Style::Roman, SMALL, [begin, y], rtl)?);
            y += LEADING;
        }
        y += 1.2;
    }
    pages.push(page);
    Ok(())
}

fn colophon(
    plates: &[Plate],
    s: &Settings,
    pictures: &[Kept],
    press: Option<&Press>,
    side: Side,
    faces: &mut Faces,
) -> Result<Page, String> {
    let mut page = Page { name: Some("Colophon".into()), ..Page::default() };
    let live = s.sheet.live(side);
    let w = live.w.min(105.0);
    let mut lines = vec![];
    for paragraph in said(plates, s, pictures, press, &faces.others()) {
        if !lines.is_empty() {
            lines.push(Line::default());
        }
        lines.extend(faces.lines(&paragraph, Style::Roman, SMALL, w)?);
    }
    // It ends where the prints' page ends: at the foot.
    let mut y = live.foot() - 8.0 - (lines.len() - 1) as f64 * LEADING;
    if y < live.y {
        return Err(format!("The page is too small for the colophon: {} lines do not fit.", lines.len()));
    }
    let x = live.x + (live.w - w) / 2.0;
    for text in lines {
        if !text.is_empty() {
            page.things.push(line(faces, &text, Style::Roman, SMALL, [x, y])?);
        }
        y += LEADING;
    }
    Ok(page)
}

/// How it was made, a paragraph each.
fn said(plates: &[Plate], s: &Settings, pictures: &[Kept], press: Option<&Press>, others: &[&str]) -> Vec<String> {
    let count = plates.len();
    let prints = if count == 1 { "One instant print".to_owned() } else { format!("{count} instant prints") };
    let anew = pictures.iter().filter(|k| k.shadow != AS_SHOT).count();
    let shadow = match anew {
        0 => "the shadow it cast there",
        n if n == pictures.len() => {
            "the shadow that it would cast under another light, computed from how high its edges stood"
        }
        _ => "the shadow it cast there, or with the one that it would cast under another light",
    };
    let made = format!(
        "{prints}: {}. Each was photographed on white paper under one flash and set on white with {shadow}. Borders, \
         marks and colours belong to the prints.",
        words::formats(plates)
    );
    let least = pictures.iter().map(|k| k.ppi[1]).fold(f64::MAX, f64::min);
    let size = if s.scale == 1.0 {
        format!("Every print is shown at its true size, at {least:.0} pixels per inch or more.")
    } else {
        format!("The prints are shown at {} times their true size, at {least:.0} pixels per inch or more.", s.scale)
    };
    let bare: u64 = pictures.iter().map(|k| k.certificate.bare).sum();
    let mut white = format!(
        "The white around them is the paper: there is no ink on any of its {:.1} million pixels, as counted in the file.",
        bare as f64 / 1e6
    );
    if s.first_dot > 0.0 {
        white += &format!(
            " Their shadows end with the first dot that this press holds, {} %.",
            (s.first_dot * 1000.0).round() / 10.0
        );
    }
    let condition = press.map(|p| format!("Printing condition: {}.", p.name));
    let (y, m, d) = s.day;
    let day = dates::says(&format!("{y:04}-{m:02}-{d:02}"));
    let also = if others.is_empty() { String::new() } else { format!(", and in {}", others.join(", ")) };
    let set = format!(
        "Set in Alegreya by Juan Pablo del Peral (SIL Open Font License){also}. Made with {}, {day}.",
        super::pdf::CREATOR
    );
    [Some(made), Some(format!("{size} {white}")), condition, Some(set)].into_iter().flatten().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_made_side_by_side_comes_in_order_until_the_first_fault() {
        let all: Vec<u64> = (0..60).collect();
        // Every seventh takes longest.
        let slow = |i: u64| {
            std::thread::sleep(std::time::Duration::from_micros(if i.is_multiple_of(7) { 3000 } else { 100 }));
            i * i
        };
        let mut got = vec![];
        let done: Result<(), ()> = in_order(&all, &slow, |v| {
            got.push(v);
            Ok(())
        });
        assert!(done.is_ok() && got == all.iter().map(|i| i * i).collect::<Vec<_>>());
        let mut taken = 0;
        let faulty = in_order(&all, &slow, |v| {
            taken += 1;
            if v == 25 { Err("the disk is full") } else { Ok(()) }
        });
        assert_eq!((faulty, taken), (Err("the disk is full"), 6));
    }
}
