//! The chosen prints as what they become, before anything is made: sheets to post, prints on a site's wall, the spreads of a book, cards.
//!
//! Only numbers: who draws it puts each print's mount where it stands. The layout is the one that makes the files.

use crate::selection::{Plates, gathered};
use crate::{book, gallery, pack, share};
use catalogue::Row;
use project::{DATABASE, Project, Result};
use publish::book::beside::{A4, dealt};
use publish::book::planned::planned;
use publish::book::words::caption;
use publish::privacy::{Allow, Word};
use publish::share::{Pixels, Settings, wanted_over_there};
use publish::{Plate, Privacy};
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// Most sheets that are shown: more is nobody's preview.
const SHOWN: usize = 400;
/// Size of the words beneath a print on a wall, mm: as a caption of the book.
const WORDS: f64 = 3.35;

/// What becomes of which prints.
#[derive(Clone, Copy, Debug)]
pub enum Form<'a> {
    /// Pictures to post.
    Share(&'a share::Request),
    /// A site.
    Gallery(&'a gallery::Request),
    /// A book.
    Book(&'a book::Request),
    /// An archive.
    Pack(&'a pack::Request),
}

/// The prints as what they become.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct Preview {
    /// Sheets to post, prints on a wall, or spreads of a book, in order; the first 400 of them.
    pub sheets: Vec<SheetSeen>,
    /// How many there are.
    pub of: usize,
    /// Pages of a book.
    pub pages: usize,
    /// Cards of a deck, where one was asked for.
    pub cards: Vec<SheetSeen>,
    /// The edit's prints, in order; empty where no edit is meant.
    pub order: Vec<i64>,
    /// Why there is nothing to see.
    pub trouble: Option<String>,
}

/// One sheet.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct SheetSeen {
    /// Width and height: mm, or pixels of a picture to post.
    pub size: [f64; 2],
    /// Numbers of a book's pages, from 1; of a spread the left one first. Page 1 stands at the right.
    pub pages: Vec<usize>,
    /// What it is, where it holds no prints.
    pub name: Option<String>,
    /// Its prints.
    pub prints: Vec<PlacedPrint>,
    /// Its words.
    pub lines: Vec<LineSeen>,
}

/// A print in its place. All lengths in the sheet's unit, from its top left corner.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct PlacedPrint {
    /// Its number in the project.
    pub print: Option<i64>,
    /// Its name, as `P0004`.
    pub name: String,
    /// Its title.
    pub title: String,
    /// The frame whose mount is shown.
    pub frame: Option<i64>,
    /// Hash of what made its picture.
    pub stamp: String,
    /// True where its back is shown.
    pub back: bool,
    /// The print itself: left, top, width, height.
    pub at: [f64; 4],
    /// Its mount, the same way.
    pub mount: [f64; 4],
}

/// A line of words.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LineSeen {
    /// The words.
    pub text: String,
    /// Where its baseline begins: its right end with `from_right`.
    pub at: [f64; 2],
    /// Size of the type.
    pub size: f64,
    /// In italics.
    pub italic: bool,
    /// `at` is its right end.
    pub from_right: bool,
    /// Its paragraph runs from right to left.
    pub rtl: bool,
}

/// Lays the prints out. What stands in the way is said in the answer.
///
/// # Errors
/// The folder is neither a project nor one of results; the edit is not there; the line is not understood.
pub fn preview(form: Form) -> Result<Preview> {
    let (folder, which) = match form {
        Form::Share(r) => (&r.folder, &r.which),
        Form::Gallery(r) => (&r.folder, &r.which),
        Form::Book(r) => (&r.folder, &r.which),
        Form::Pack(r) => (&r.folder, &r.which),
    };
    let mut all = gathered(folder, which)?;
    if !matches!(form, Form::Pack(_)) {
        stay(&mut all);
    }
    let project = folder.join(DATABASE).exists().then(|| Project::open_to_read(folder)).transpose()?;
    let rows = project.as_ref().map(|p| p.catalogue().rows(&all.prints)).transpose()?.unwrap_or_default();
    let order = match (&project, which) {
        (Some(project), crate::selection::Which::Edit(_)) => crate::selection::chosen(project, which)?,
        _ => vec![],
    };
    let wall = Wall { all: &all, rows: rows.into_iter().map(|r| (r.id.0, r)).collect() };
    let made = match form {
        Form::Share(r) => wall.shares(&r.settings, r.one_scale),
        Form::Gallery(r) => wall.gallery(&r.allow),
        Form::Pack(_) => wall.gallery(&Allow { keep: Word::ALL.to_vec(), asked: true }),
        Form::Book(r) => wall.book(r),
    };
    let mut preview = made.unwrap_or_else(|why| Preview { trouble: Some(why), ..Preview::default() });
    preview.order = order.into_iter().map(|id| id.0).collect();
    preview.of = preview.sheets.len();
    preview.sheets.truncate(SHOWN);
    preview.cards.truncate(SHOWN);
    Ok(preview)
}

/// Private prints stay at home.
fn stay(all: &mut Plates) {
    let keep: Vec<bool> = all.plates.iter().map(|p| p.words.privacy != Privacy::Private).collect();
    all.keep(&keep);
}

struct Wall<'a> {
    all: &'a Plates,
    rows: BTreeMap<i64, Row>,
}

impl Wall<'_> {
    /// Each print in the middle of a sheet of its own, as large as its margin lets it be.
    fn shares(&self, settings: &Settings, one_scale: bool) -> std::result::Result<Preview, String> {
        let size = settings.pixels.size(settings.shape).map(|n| n as f64);
        // Sheet pixels for each of the mount's. A sheet shrinks with its print unless both of its sides were asked for.
        let over = |plate: &Plate| match settings.pixels {
            Pixels::Long(_) => wanted_over_there(plate, settings),
            Pixels::Sheet(_) => wanted_over_there(plate, settings).min(1.0),
        };
        let least = self.all.plates.iter().map(|p| over(p) * p.px_per_mm).fold(f64::MAX, f64::min);
        let sheet = |(i, plate): (usize, &Plate)| {
            let scale = if one_scale { least / plate.px_per_mm } else { over(plate) };
            let [w, h] = plate.print_mm().map(|mm| mm * plate.px_per_mm * scale);
            let at = [(size[0] - w) / 2.0, (size[1] - h) / 2.0, w, h];
            SheetSeen { size, prints: vec![self.placed(i, false, at)], ..SheetSeen::default() }
        };
        Ok(Preview { sheets: self.all.plates.iter().enumerate().map(sheet).collect(), ..Preview::default() })
    }

    /// Every mount at one scale, with the words that go out.
    fn gallery(&self, allow: &Allow) -> std::result::Result<Preview, String> {
        let sheet = |(i, plate): (usize, &Plate)| {
            let [left, top, w, h] = on_mount(plate);
            let words = allow.of(plate).map(|s| s.words).unwrap_or_default();
            let [first, second] = caption(&words);
            let line = |(n, text): (usize, String)| LineSeen {
                text,
                at: [0.0, n as f64],
                size: WORDS,
                italic: n > 0,
                from_right: false,
                rtl: false,
            };
            SheetSeen {
                size: plate.mount_mm(),
                prints: vec![self.placed(i, false, [left, top, w, h])],
                lines: [first, second].into_iter().filter(|t| !t.is_empty()).enumerate().map(line).collect(),
                ..SheetSeen::default()
            }
        };
        Ok(Preview { sheets: self.all.plates.iter().enumerate().map(sheet).collect(), ..Preview::default() })
    }

    /// Its spreads, and the cards of its deck.
    fn book(&self, request: &book::Request) -> std::result::Result<Preview, String> {
        let settings = book::in_turns(request, self.all).map_err(|e| e.to_string())?;
        // As in the book itself: of a print that says nothing of who may see it, names and places stay behind.
        let careful = Allow { keep: Word::ALL.to_vec(), asked: false };
        let mut plates = self.all.plates.clone();
        for plate in plates.iter_mut().filter(|p| self.all.unsaid.contains(&p.name)) {
            plate.words = careful.of(plate).map(|s| s.words).unwrap_or_default();
        }
        if plates.is_empty() {
            return Ok(Preview::default());
        }
        let pages = planned(&plates, &settings)?;
        let [w, h] = request.sheet.trim;
        let mut sheets: Vec<SheetSeen> = vec![];
        for (i, page) in pages.iter().enumerate() {
            // The first page stands at the right of its spread, alone.
            let right = i % 2 == 0;
            if !right || i == 0 {
                sheets.push(SheetSeen { size: [2.0 * w, h], ..SheetSeen::default() });
            }
            let Some(sheet) = sheets.last_mut() else { continue };
            let x = if right { w } else { 0.0 };
            sheet.pages.push(i + 1);
            sheet.name = sheet.name.take().or(page.name.map(str::to_owned));
            sheet
                .prints
                .extend(page.prints.iter().map(|p| self.placed(p.plate, p.back, [x + p.at.x, p.at.y, p.at.w, p.at.h])));
            sheet.lines.extend(page.lines.iter().map(|l| LineSeen {
                text: l.text.clone(),
                at: [x + l.at[0], l.at[1]],
                size: l.size,
                italic: l.italic,
                from_right: l.from_right,
                rtl: l.rtl,
            }));
        }
        let cards = if request.deck { self.cards(&plates, request.scale)? } else { vec![] };
        Ok(Preview { sheets, pages: pages.len(), cards, ..Preview::default() })
    }

    fn cards(&self, plates: &[Plate], scale: f64) -> std::result::Result<Vec<SheetSeen>, String> {
        let sizes: Vec<_> = plates.iter().map(|p| (p.name.as_str(), p.print_mm().map(|mm| mm * scale))).collect();
        let mut sheets: Vec<SheetSeen> = vec![];
        for (i, (sheet, at)) in dealt(&sizes)?.into_iter().enumerate() {
            if sheet == sheets.len() {
                sheets.push(SheetSeen { size: A4, ..SheetSeen::default() });
            }
            let ([w, h], Some(sheet)) = (sizes[i].1, sheets.last_mut()) else { continue };
            sheet.prints.push(self.placed(i, false, [at.x, at.y, w, h]));
            let text = format!("{}  {}", i + 1, plates[i].name);
            // Beside the mark, in 10 points, as on the card.
            sheet.lines.push(LineSeen {
                text,
                at: [at.x + 15.0, at.y + h + 6.0],
                size: 3.5,
                italic: false,
                from_right: false,
                rtl: false,
            });
        }
        Ok(sheets)
    }

    /// A plate whose print stands at `at`.
    fn placed(&self, i: usize, back: bool, at: [f64; 4]) -> PlacedPrint {
        let front = &self.all.plates[i];
        let plate = front.back.as_deref().filter(|_| back).unwrap_or(front);
        let row = self.all.prints.get(i).and_then(|id| self.rows.get(&id.0));
        let (frame, stamp) = match row {
            Some(row) if back => (row.back_frame, row.back_stamp.clone()),
            Some(row) => (row.front, row.stamp.clone()),
            None => (None, None),
        };
        let [left, top, w, _] = on_mount(plate);
        let k = at[2] / w;
        let [mount_w, mount_h] = plate.mount_mm();
        PlacedPrint {
            print: self.all.prints.get(i).map(|id| id.0),
            name: front.name.clone(),
            title: front.words.title.clone(),
            frame: frame.map(|f| f.0),
            stamp: stamp.unwrap_or_default(),
            back,
            at,
            mount: [at[0] - k * left, at[1] - k * top, k * mount_w, k * mount_h],
        }
    }
}

/// The print on its mount, mm: left, top, width, height.
fn on_mount(plate: &Plate) -> [f64; 4] {
    let least = |of: fn(geometry::Point) -> f64| plate.print_px.0.into_iter().map(of).fold(f64::MAX, f64::min);
    let [w, h] = plate.print_mm();
    [least(|p| p.x) / plate.px_per_mm, least(|p| p.y) / plate.px_per_mm, w, h]
}
