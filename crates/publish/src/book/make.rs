//! Makes the book: pictures as they become ready, then their pages, then the end of the file.

use super::in_order::in_order;
use super::layout::{self, Piece, Placed, Stand};
use super::leaves::{Leaf, What, numbered};
use super::pdf::{About, Mark, Pdf, Space};
use super::picture::{How, Ink, Kept, Ready, Wanted, ready};
use super::press::Press;
use super::sheet::{Area, CENTRED, CLEAR, LEADING, MARK, ROUND, Sheet, Side, TOP, cut_and_fold};
use super::small::Smalls;
use super::text_pages::{self, COLUMN, Text};
use super::typesetting::{Faces, Fonts, Line, Run, Style};
use super::words;
use crate::Plate;
use crate::plate::AS_SHOT;
use pdf_writer::Ref;
use std::io::Write;
use std::ops::Range;

/// Sizes of type, points.
pub(super) const CAPTION: f64 = 9.5;
const SMALL: f64 = 9.0;
const TITLE: f64 = 26.0;
const AUTHOR: f64 = 13.0;
const HEADING: f64 = 15.0;
/// Size of the line beside crop marks, points.
const SLUG: f64 = 7.0;
/// From a plate's number to its caption, mm: three figures and a space.
const NUMBER: f64 = 7.0;

/// Everything that shapes a book.
#[derive(Clone, Debug)]
pub struct Settings {
    /// The page.
    pub sheet: Sheet,
    /// Its pages, in order.
    pub leaves: Vec<Leaf>,
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
    /// Numbers on pages of prints, texts and the list of plates.
    pub page_numbers: bool,
    /// Crop marks round every page, and a line that says what it is.
    pub crop_marks: bool,
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
        How { ppi: self.ppi, ink, first_dot: self.first_dot, limit: self.limit, smalls: self.smalls }
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

impl Made {
    /// One picture of each plate, in order: all of its front, where the book shows that.
    pub fn fronts(&self) -> Vec<&Kept> {
        let front = |plate| {
            let whole = self.pictures.iter().find(|k| k.plate == plate && !k.back && k.detail.is_none());
            whole.or_else(|| self.pictures.iter().find(|k| k.plate == plate && !k.back))
        };
        (0..self.page_of.len()).filter_map(front).collect()
    }
}

/// A book that was made.
pub struct Made {
    /// Its pages.
    pub pages: Vec<Page>,
    /// Its pictures.
    pub pictures: Vec<Kept>,
    /// Where each picture's bytes lie in the file.
    pub streams: Vec<Range<u64>>,
    /// The numbers of its pictures.
    pub space: Space,
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
    let numbers = page_numbers(plates, s, &mut faces).map_err(refuse)?;
    // Report the most common error before an hour of work, not after: prints that do not fit.
    hung(s, &numbers, &pieces(plates, s, &captions, None)).map_err(refuse)?;

    let how = s.how(press.as_ref());
    let about = About { title: s.file_title(), author: s.author.clone(), day: s.day, id: s.id };
    let mut pdf = Pdf::new(out, s.sheet, 1.0, press.as_ref(), about.clone())?;
    if s.crop_marks {
        pdf.leave_round(ROUND);
    }
    let (wanted, shown) = wanted(plates, s);
    let (pictures, written) = pictures(&wanted, &how, &mut pdf, hear)?;
    let (refs, streams): (Vec<Ref>, Vec<Range<u64>>) = written.into_iter().unzip();
    let space = how.ink.space();

    let pieces = pieces(plates, s, &captions, Some((&pictures, &shown)));
    let placed = hung(s, &numbers, &pieces).map_err(refuse)?;
    let page_of = page_of(plates.len(), s, &numbers);
    let mut binder =
        Binder { plates, s, pictures: &pictures, page_of: &page_of, press: press.as_ref(), faces: &mut faces };
    let mut pages: Vec<Page> = vec![];
    let mut stands = 0;
    for (leaf, prints) in s.leaves.iter().zip(&placed) {
        let n = leaf.stands().len();
        let hung = Hanging { prints, shown: &shown[stands..stands + n], captions: &captions[stands..stands + n] };
        binder.leaf(&mut pages, leaf, &hung).map_err(|e| refuse(leaf.says(&e)))?;
        stands += n;
    }
    // Empty pages up to a whole signature: the last leaf keeps its place before them.
    pages.resize_with(pages.len().next_multiple_of(s.signature.max(1)), Page::default);
    let drawn: Vec<(Ref, [f64; 2])> = refs.into_iter().map(|r| (r, [1.0; 2])).collect();
    for (i, page) in pages.iter().enumerate() {
        let mut marks = page.marks(&drawn);
        if s.crop_marks {
            marks.extend(slug(s, i + 1, press.as_ref(), &mut faces).map_err(refuse)?);
        }
        pdf.page(&marks, page.name.as_deref())?;
    }
    pdf.finish(&faces)?;
    Ok(Made { pages, pictures, streams, space, faces, press, about, page_of })
}

/// Marks at the corners of the trim, outside the bleed, and a line below that names book, page, day and printing condition.
fn slug(s: &Settings, number: usize, press: Option<&Press>, faces: &mut Faces) -> Result<Vec<Mark>, String> {
    let [w, h] = s.sheet.trim;
    let cuts = cut_and_fold(&s.sheet.page(), s.sheet.bleed, &[]);
    let mut marks: Vec<Mark> = cuts.into_iter().map(|[from, to]| Mark::Line(from, to)).collect();
    let (year, month, day) = s.day;
    let condition = press.map_or("sRGB", |p| &p.name);
    let says = format!("{}, page {number}. {year:04}-{month:02}-{day:02}. {condition}. {w} × {h} mm.", s.file_title());
    let runs = faces.set(&says, Style::Roman)?;
    // Beside the mark at the foot, on a line with its end.
    let beyond = s.sheet.bleed + CLEAR + MARK;
    marks.push(Mark::Words(runs, SLUG, [beyond, h + beyond - 1.0]));
    Ok(marks)
}

/// The number of each leaf's first page, and of the page after the last. A list of plates is as long whatever numbers stand in it.
pub(super) fn page_numbers(plates: &[Plate], s: &Settings, faces: &mut Faces) -> Result<Vec<usize>, String> {
    let unknown = vec![0; plates.len()];
    numbered(&s.leaves, |leaf, first| match leaf.what {
        What::Plates => {
            let mut pages = vec![Page::default(); first - 1];
            list(&mut pages, plates, s, &unknown, faces).map_err(|e| leaf.says(&e))?;
            Ok(pages.len() + 1 - first)
        }
        What::Text(ref text) => {
            text_pages::set(text, &s.sheet, first, faces).map(|p| p.len()).map_err(|e| leaf.says(&e))
        }
        _ => Ok(1),
    })
}

/// Prints in their places, leaf by leaf.
pub(super) fn hung(s: &Settings, numbers: &[usize], pieces: &[Piece]) -> Result<Vec<layout::Prints>, String> {
    let mut stands = 0;
    let place = |(leaf, number): (&Leaf, &usize)| match &leaf.what {
        What::Prints(page) => {
            let some = &pieces[stands..stands + page.stands.len()];
            stands += some.len();
            layout::placed(&s.sheet, Side::of(*number), page, some).map_err(|e| leaf.says(&e))
        }
        _ => Ok(vec![]),
    };
    s.leaves.iter().zip(numbers).map(place).collect()
}

/// Number of the page that each plate stands on: the first with all of its front, or else the first with any of it.
pub(super) fn page_of(plates: usize, s: &Settings, numbers: &[usize]) -> Vec<usize> {
    let mut page_of = vec![0; plates];
    for whole in [true, false] {
        for (leaf, number) in s.leaves.iter().zip(numbers) {
            for stand in leaf.stands().iter().filter(|t| !whole || (!t.back && t.detail.is_none())) {
                if page_of[stand.plate] == 0 {
                    page_of[stand.plate] = *number;
                }
            }
        }
    }
    page_of
}

/// The book's stands, page by page.
fn stands(s: &Settings) -> impl Iterator<Item = &Stand> {
    s.leaves.iter().flat_map(Leaf::stands)
}

/// What stands: a plate or its back.
fn stood<'a>(plates: &'a [Plate], stand: &Stand) -> &'a Plate {
    let plate = &plates[stand.plate];
    plate.back.as_deref().filter(|_| stand.back).unwrap_or(plate)
}

/// The pictures that the book needs, each once, and which of them each stand shows.
fn wanted<'a>(plates: &'a [Plate], s: &Settings) -> (Vec<Wanted<'a>>, Vec<usize>) {
    let mut all: Vec<Wanted> = vec![];
    let mut shown = vec![];
    for t in stands(s) {
        let same = |w: &Wanted| (w.plate, w.back, w.scale, w.detail) == (t.plate, t.back, t.scale, t.detail);
        shown.push(all.iter().position(same).unwrap_or(all.len()));
        if shown.last() == Some(&all.len()) {
            let Stand { plate, back, scale, detail, .. } = *t;
            all.push(Wanted { plate, back, of: stood(plates, t), scale, detail });
        }
    }
    (all, shown)
}

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
    for leaf in &s.leaves {
        if let What::Text(text) = &leaf.what {
            words.push((text.name().map_or("a text".into(), |name| format!("the text “{name}”")), text.words()));
        }
    }
    if let Some(press) = s.press().map_err(|e| e.to_string())? {
        words.push(("the name of the printer's profile".into(), press.name));
    }
    faces.need(words.iter().map(|(place, text)| (place.as_str(), text.as_str())))?;
    Ok(faces)
}

/// Lines of a print's caption with their styles.
pub(super) type Caption = Vec<(Line, Style)>;

/// The captions of the book's stands; none where there is to be none.
pub(super) fn captions(plates: &[Plate], s: &Settings, faces: &mut Faces) -> Result<Vec<Caption>, String> {
    let one = |stand: &Stand| -> Result<Caption, String> {
        let plate = &plates[stand.plate];
        if stand.back || !stand.caption.unwrap_or(s.captions) {
            return Ok(vec![]);
        }
        // As wide as the print, but never a column of single words.
        let width = (stand.detail.map_or(plate.print_mm()[0], |d| d[2]) * stand.scale).max(50.0);
        let [first, second] = words::caption(&plate.words);
        let first = if stand.detail.is_some() { words::detail(&first) } else { first };
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
    stands(s).map(one).collect()
}

/// What the layout needs to know of each stand. `made`: pictures, and which of them each stand shows; before there are any, shadows are
/// left out.
pub(super) fn pieces(
    plates: &[Plate],
    s: &Settings,
    captions: &[Caption],
    made: Option<(&[Kept], &[usize])>,
) -> Vec<Piece> {
    let piece = |(i, stand): (usize, &Stand)| {
        let kept = made.map(|(pictures, shown)| &pictures[shown[i]]);
        let of = stood(plates, stand);
        let size = stand.detail.map_or(of.print_mm(), |[_, _, w, h]| [w, h]).map(|v| v * stand.scale);
        Piece {
            name: plates[stand.plate].name.clone(),
            size: kept.map_or(size, |k| k.print_mm),
            reach: kept.map_or([0.0; 4], |k| k.reach),
            caption: captions[i].len() as f64 * LEADING,
        }
    };
    stands(s).enumerate().map(piece).collect()
}

/// A picture in the file: its number, and where its bytes lie.
type Written = (Ref, Range<u64>);

/// Makes pictures ready side by side and writes them in order.
fn pictures<W: Write + Send>(
    all: &[Wanted],
    how: &How,
    pdf: &mut Pdf<W>,
    hear: &(dyn Fn(usize, usize) + Sync),
) -> Result<(Vec<Kept>, Vec<Written>), Fault> {
    let (mut kept, mut written) = (vec![], vec![]);
    in_order(all, &|wanted| ready(wanted, how), |made| {
        let Ready { kept: picture, deflated } = made.map_err(Fault::Refused)?;
        written.push((pdf.picture(picture.size_px, &deflated, how.ink.space())?, pdf.last_picture()));
        kept.push(picture);
        hear(kept.len(), all.len());
        Ok::<_, Fault>(())
    })?;
    Ok((kept, written))
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
fn caption_begin(lines: &Caption, at: &Area, x: f64) -> ([f64; 2], bool) {
    let rtl = lines.first().is_some_and(|(line, _)| line.is_rtl());
    if rtl { ([at.right(), at.right() - NUMBER], true) } else { ([x, x + NUMBER], false) }
}

/// A line of words before it is set: its style, size in points and the start of its baseline.
type Unset = (Line, Style, f64, [f64; 2]);

/// Title and author, centred.
pub(super) fn title_lines(s: &Settings, faces: &mut Faces) -> Result<Vec<Unset>, String> {
    let mut lines = vec![];
    let live = s.sheet.live(Side::Right);
    let mut y = s.sheet.trim[1] * CENTRED;
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

/// The lines of a caption under a print: text and style, where each begins, and whether that is its right end. Its plate's number
/// comes first.
pub(super) fn caption_lines(
    number: usize,
    caption: &Caption,
    print: &Area,
    [x, y]: [f64; 2],
) -> Vec<(Line, Style, [f64; 2], bool)> {
    // The first baseline lies one capital height below the caption's top.
    let base = y + 2.4;
    let ([at_number, at_words], rtl) = caption_begin(caption, print, x);
    let words = caption.iter().enumerate().filter(|(_, (text, _))| !text.is_empty());
    let words = words.map(|(n, (text, style))| (text.clone(), *style, [at_words, base + n as f64 * LEADING], rtl));
    let number = (number.to_string().as_str().into(), Style::Roman, [at_number, base], rtl);
    std::iter::once(number).chain(words).collect()
}

/// Width of set words, mm.
fn wide(runs: &[Run], size: f64) -> f64 {
    runs.iter().map(Run::end).fold(0.0, f64::max) / 1000.0 * size / super::typesetting::POINTS
}

/// The prints of a leaf as they hang: which picture each shows, and its caption.
struct Hanging<'a> {
    prints: &'a [Placed],
    shown: &'a [usize],
    captions: &'a [Caption],
}

/// Makes pages of leaves.
struct Binder<'a> {
    plates: &'a [Plate],
    s: &'a Settings,
    pictures: &'a [Kept],
    page_of: &'a [usize],
    press: Option<&'a Press>,
    faces: &'a mut Faces,
}

impl Binder<'_> {
    /// Adds the pages of a leaf, numbered where the list of plates or a reader looks for a number.
    fn leaf(&mut self, pages: &mut Vec<Page>, leaf: &Leaf, hung: &Hanging) -> Result<(), String> {
        let first = pages.len();
        self.pages(pages, leaf, hung)?;
        if self.s.page_numbers && matches!(leaf.what, What::Prints(_) | What::Text(_) | What::Plates) {
            for (i, page) in pages.iter_mut().enumerate().skip(first) {
                self.number(page, i + 1)?;
            }
        }
        Ok(())
    }

    /// A page's number at its outer foot. A page whose print or words reach there has none (common practice).
    fn number(&mut self, page: &mut Page, number: usize) -> Result<(), String> {
        let text = number.to_string();
        let (side, w) = (Side::of(number), self.faces.width(&text, Style::Roman, SMALL)?);
        let live = self.s.sheet.live(side);
        let x = if side == Side::Left { live.x } else { live.right() - w };
        let own = Area { x, y: live.foot() - LEADING, w, h: LEADING };
        let covers = |thing: &Thing| match thing {
            Thing::Picture(_, whole, _) => whole.meets(&own),
            Thing::Words(_, area) => area.meets(&own),
            Thing::Mark(_) => false,
        };
        if !page.things.iter().any(covers) {
            page.things.push(line(self.faces, &text, Style::Roman, SMALL, [x, live.foot()])?);
        }
        Ok(())
    }

    fn pages(&mut self, pages: &mut Vec<Page>, leaf: &Leaf, hung: &Hanging) -> Result<(), String> {
        match &leaf.what {
            What::Blank => pages.push(Page::default()),
            What::Title => pages.push(self.title()?),
            What::Prints(_) => pages.push(self.prints(hung)?),
            What::Text(text) => self.text(pages, text)?,
            What::Plates => list(pages, self.plates, self.s, self.page_of, self.faces)?,
            What::Colophon => {
                let side = Side::of(pages.len() + 1);
                pages.push(colophon(self.plates, self.s, self.pictures, self.press, side, self.faces)?);
            }
        }
        Ok(())
    }

    fn title(&mut self) -> Result<Page, String> {
        let mut page = Page { name: Some("Title".into()), ..Page::default() };
        for (text, style, size, at) in title_lines(self.s, self.faces)? {
            page.things.push(line(self.faces, &text, style, size, at)?);
        }
        Ok(page)
    }

    fn text(&mut self, pages: &mut Vec<Page>, text: &Text) -> Result<(), String> {
        let mut name = text.name();
        for set in text_pages::set(text, &self.s.sheet, pages.len() + 1, self.faces)? {
            let mut page = Page { name: name.take(), ..Page::default() };
            for (words, style, size, at) in set {
                page.things.push(line(self.faces, &words, style, size, at)?);
            }
            pages.push(page);
        }
        Ok(())
    }

    fn prints(&mut self, hung: &Hanging) -> Result<Page, String> {
        let mut page = Page::default();
        for p in hung.prints {
            let picture = hung.shown[p.stand];
            let k = &self.pictures[picture];
            let whole = Area { x: p.at.x - k.beyond[0], y: p.at.y - k.beyond[1], w: k.size_mm[0], h: k.size_mm[1] };
            page.things.push(Thing::Picture(picture, whole, p.at));
            if let Some(at) = p.caption {
                for (text, style, at, rtl) in caption_lines(p.plate + 1, &hung.captions[p.stand], &p.at, at) {
                    page.things.push(begun(self.faces, text, style, CAPTION, at, rtl)?);
                }
            }
            if !p.back {
                let words = &self.plates[p.plate].words.title;
                let name = if words.is_empty() { &self.plates[p.plate].name } else { words };
                page.name.get_or_insert(format!("{} {name}", p.plate + 1));
            }
        }
        Ok(page)
    }
}

pub(super) fn list(
    pages: &mut Vec<Page>,
    plates: &[Plate],
    s: &Settings,
    page_of: &[usize],
    faces: &mut Faces,
) -> Result<(), String> {
    let mut page = Page { name: Some("Plates".into()), ..Page::default() };
    let top = s.sheet.trim[1] * TOP;
    let area = |side: Side| {
        let live = s.sheet.live(side);
        let w = live.w.min(COLUMN);
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
    let w = live.w.min(COLUMN);
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
    let mut scales: Vec<f64> = stands(s).map(|t| t.scale).collect();
    scales.dedup();
    let size = match scales[..] {
        [1.0] => format!("Every print is shown at its true size, at {least:.0} pixels per inch or more."),
        [scale] => {
            format!("The prints are shown at {scale} times their true size, at {least:.0} pixels per inch or more.")
        }
        _ => format!(
            "The prints are shown at true size or as large as their pages say, at {least:.0} pixels per inch or more."
        ),
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
