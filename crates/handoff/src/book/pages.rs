//! The author's list of pages: written for the first time from arrangements, read again, and tied to the chosen prints.

use super::Request;
use crate::selection::{NAMED, Plates, Which};
use base::Failure;
use base::wording::{count, some};
use catalogue::PrintId;
use project::{Error, Result};
use publish::Plate;
use publish::book::layout::{Hung, Stand};
use publish::book::leaves::{Leaf, What};
use publish::book::markdown::{self, Block};
use publish::book::pages::{Entry, Held, LONGEST, MOST_PAGES, PageList, Print};
use publish::book::text_pages::Text;
use std::collections::BTreeSet;
use std::io::Read;
use std::path::{Path, PathBuf};

/// Most mistakes that one refusal names.
const MISTAKES: usize = 10;

/// The prints that were chosen, before any of them was left out.
pub(super) struct Chosen {
    /// Name and file of each.
    prints: Vec<(String, String)>,
    /// A line for each that was asked for and has no mount.
    missing: Vec<String>,
    /// Names of those that nobody may see.
    pub private: BTreeSet<String>,
}

impl Chosen {
    pub fn of(chosen: &Plates) -> Self {
        let file = |p: &Plate| base::files::name_of(&p.mount).split('.').next().unwrap_or_default().to_owned();
        Self {
            prints: chosen.plates.iter().map(|p| (p.name.clone(), file(p))).collect(),
            missing: chosen.missing.clone(),
            private: BTreeSet::new(),
        }
    }

    /// The name of the print that a line means.
    fn meant(&self, word: &str) -> std::result::Result<&str, String> {
        let number = word.parse::<PrintId>().map(|id| id.to_string());
        let is = |name: &str| name.eq_ignore_ascii_case(word) || number.as_deref().is_ok_and(|n| n == name);
        if let Some((name, _)) = self.prints.iter().find(|(name, _)| is(name)) {
            return Ok(name);
        }
        let files: Vec<&str> = self.prints.iter().filter(|(_, file)| file == word).map(|(n, _)| n.as_str()).collect();
        match files[..] {
            [one] => Ok(one),
            [] => Err(format!("There is no print “{word}” among the chosen ones. {}", self.there())),
            _ => Err(format!("“{word}” may be {}: write its number.", base::wording::list(&files))),
        }
    }

    /// "There are 24, from P0001 to P0031."
    fn there(&self) -> String {
        match (self.prints.first(), self.prints.last(), self.prints.len()) {
            (Some((first, _)), Some(_), 1) => format!("There is only {first}."),
            (Some((first, _)), Some((last, _)), n) => format!("There are {n}, from {first} to {last}."),
            _ => "There are none.".into(),
        }
    }

    /// Why a print of this name was left out before anything was made.
    fn gone(&self, word: &str) -> Option<String> {
        let line = self.missing.iter().find(|m| m.strip_prefix(word).is_some_and(|rest| rest.starts_with([' ', ':'])));
        line.map(|l| l.trim_end_matches('.').to_owned())
    }
}

/// Pages tied to prints.
pub(super) struct Bound {
    pub leaves: Vec<Leaf>,
    /// What is to be said.
    pub says: Vec<String>,
    /// What a person should look at.
    pub problems: Vec<String>,
}

/// Ties a list of pages to the prints that are left of the chosen ones, and puts these in the order of their pages. Prints on no page are
/// left out and named; the place of a print that was left out stays empty, and is named.
///
/// # Errors
/// The file cannot be read; lines that are not understood; prints that nobody chose; no print on any page.
pub(super) fn bound(r: &Request, place: &Path, chosen: &mut Plates, all: &Chosen) -> Result<Bound> {
    let file = base::files::name_of(place);
    let text = text(place)?;
    let list = PageList::read(&text).map_err(|wrong| refused(&file, wrong.into_iter().map(|w| (w.line, w.says))))?;
    if list.entries().count() > MOST_PAGES {
        return Err(Error::Refused(format!("{file} has more than {MOST_PAGES} pages and spreads.")));
    }
    let mut order: Vec<usize> = vec![];
    for print in list.entries().flat_map(|(_, e)| prints(e)) {
        let at = all.meant(&print.name).ok().and_then(|name| chosen.plates.iter().position(|p| p.name == name));
        order.extend(at.filter(|i| !order.contains(i)));
    }
    if order.is_empty() && list.entries().flat_map(|(_, e)| prints(e)).all(|p| all.meant(&p.name).is_ok()) {
        return Err(Error::Refused(format!("No print stands on any page of {file}.")));
    }
    let left: Vec<String> =
        (0..chosen.plates.len()).filter(|i| !order.contains(i)).map(|i| chosen.plates[i].name.clone()).collect();
    let mut binder =
        Binder { r, file: &file, place, texts: vec![], all, wrong: vec![], problems: vec![], plates: vec![] };
    binder.plates = order.iter().map(|i| chosen.plates[*i].clone()).collect();
    let leaves: Vec<Leaf> = list.entries().flat_map(|(line, entry)| binder.leaves(line, entry)).collect();
    if !binder.wrong.is_empty() {
        return Err(refused(&file, binder.wrong));
    }
    let Binder { plates, texts, mut problems, .. } = binder;
    texts.iter().for_each(|t| chosen.reads.add_file(t));
    chosen.plates = plates;
    if !chosen.prints.is_empty() {
        chosen.prints = order.iter().map(|i| chosen.prints[*i]).collect();
    }
    let mut says = vec![];
    match (&r.which, left.len()) {
        (_, 0) => {}
        // All prints of a project are nobody's choice for a book.
        (Which::All, n) => {
            says.push(format!("{} on no page of {file}.", count(n, "other print is", "other prints are")))
        }
        _ => problems.push(format!(
            "{}: chosen, but on no page of {file}.",
            some(&left.iter().map(String::as_str).collect::<Vec<_>>(), NAMED)
        )),
    }
    Ok(Bound { leaves, says, problems })
}

/// Makes leaves of lines.
struct Binder<'a> {
    r: &'a Request,
    file: &'a str,
    place: &'a Path,
    /// Files of texts that were read.
    texts: Vec<PathBuf>,
    all: &'a Chosen,
    /// In the order of their pages.
    plates: Vec<Plate>,
    /// What is wrong, with its line.
    wrong: Vec<(usize, String)>,
    problems: Vec<String>,
}

impl Binder<'_> {
    fn leaves(&mut self, line: usize, entry: &Entry) -> Vec<Leaf> {
        let list = self.file;
        let leaf = |what, opens_spread| Leaf { what, opens_spread, said_at: Some(format!("{list}, line {line}")) };
        match entry {
            Entry::Blank => vec![leaf(What::Blank, false)],
            Entry::Title => vec![leaf(What::Title, false)],
            Entry::Plates => vec![leaf(What::Plates, false)],
            Entry::Text(file, setting) => match self.text(file) {
                Ok(blocks) => vec![leaf(What::Text(Text { blocks, setting: *setting }), false)],
                Err(says) => {
                    self.wrong.push((line, says));
                    vec![]
                }
            },
            Entry::Colophon => vec![leaf(What::Colophon, false)],
            Entry::Page(held) => {
                let mut page = leaf(What::Blank, false);
                page.what = self.held(line, held);
                vec![page]
            }
            Entry::Spread(both) => {
                let mut pages = [leaf(What::Blank, true), leaf(What::Blank, false)];
                pages.iter_mut().zip(both).for_each(|(page, held)| page.what = self.held(line, held));
                pages.into()
            }
        }
    }

    /// A text in a file beside the list, or in a folder below.
    fn text(&mut self, file: &str) -> std::result::Result<Vec<Block>, String> {
        let beside = base::files::write::folder_of(self.place);
        let place = if base::files::is_plain(file) { Some(beside.join(file)) } else { None };
        let place = place.ok_or_else(|| {
            format!(
                "“{file}” is not the name of a file beside {} or in a folder there, and no other is read.",
                self.file
            )
        })?;
        if std::fs::metadata(&place).is_err() {
            return Err(format!("There is no file {} beside {}.", file, self.file));
        }
        // What a link leads to counts, not where the link lies.
        let real = base::files::is_below(beside, &place)
            .ok_or_else(|| format!("“{file}” lies outside the folder of {}, so it is not read.", self.file))?;
        let text = text(&real).map_err(|e| e.to_string())?;
        self.texts.push(real);
        markdown::read(&text).map_err(|(line, says)| format!("{file}, line {line}: {says}"))
    }

    fn held(&mut self, line: usize, held: &Held) -> What {
        let stands: Vec<Stand> = held.prints.iter().filter_map(|p| self.stand(line, p)).collect();
        let columns = held.grid.map(|[columns, _]| columns).or((held.prints.len() > 1).then_some(held.prints.len()));
        if stands.is_empty() { What::Blank } else { What::Prints(Hung { stands, columns }) }
    }

    /// A print on its page; `None` where there is none to show, which is noted.
    fn stand(&mut self, line: usize, print: &Print) -> Option<Stand> {
        let all = self.all;
        let name = match all.meant(&print.name) {
            Ok(name) => name,
            Err(says) => {
                match all.gone(&print.name) {
                    Some(why) => self.empty(line, &why),
                    None => self.wrong.push((line, says)),
                }
                return None;
            }
        };
        let Some(plate) = self.plates.iter().position(|p| p.name == name) else {
            let why = if all.private.contains(name) { "is marked private" } else { "cannot be used" };
            self.empty(line, &format!("{name} {why}"));
            return None;
        };
        let of = &self.plates[plate];
        let shown = if print.back { of.back.as_deref() } else { Some(of) };
        let Some(shown) = shown else {
            self.wrong.push((line, format!("{name} has no back: none was photographed, or it is blank.")));
            return None;
        };
        let [w, h] = shown.print_mm();
        // A tenth of a millimetre: measures of a print are rounded when they are written down.
        let over = |d: [f64; 4]| d[0] + d[2] > w + 0.1 || d[1] + d[3] > h + 0.1;
        if print.detail.is_some_and(over) {
            self.wrong
                .push((line, format!("The detail is larger than what {name} has: the print is {w:.1} by {h:.1} mm.")));
            return None;
        }
        Some(Stand {
            plate,
            back: print.back,
            scale: print.percent.map_or(self.r.scale, |p| p / 100.0),
            detail: print.detail,
            from: print.from,
            caption: print.caption,
        })
    }

    fn empty(&mut self, line: usize, why: &str) {
        self.problems.push(format!("{}, line {line}: {why}, so its place is empty.", self.file));
    }
}

fn prints(entry: &Entry) -> Vec<&Print> {
    match entry {
        Entry::Page(held) => held.prints.iter().collect(),
        Entry::Spread([left, right]) => left.prints.iter().chain(&right.prints).collect(),
        _ => vec![],
    }
}

/// The text of a list, or of a text in it: a regular file of a decent length.
fn text(place: &Path) -> Result<String> {
    let failed = |says: String| Error::from(Failure::new(format!("{}: {says}", place.display())));
    let mut bytes = vec![];
    base::files::regular::open(place)
        .and_then(|f| f.take(LONGEST + 1).read_to_end(&mut bytes))
        .map_err(|e| failed(Failure::reading(&e).says))?;
    if bytes.len() as u64 > LONGEST {
        return Err(failed("it is larger than 1 MB, which no list of pages and no text of a book is.".into()));
    }
    String::from_utf8(bytes).map_err(|e| {
        let line = 1 + e.as_bytes()[..e.utf8_error().valid_up_to()].iter().filter(|b| **b == b'\n').count();
        failed(format!("line {line} is not UTF-8 text. Save the file as plain text in UTF-8."))
    })
}

fn refused(file: &str, wrong: impl IntoIterator<Item = (usize, String)>) -> Error {
    let lines: Vec<String> = wrong.into_iter().map(|(line, says)| format!("{file}, line {line}: {says}")).collect();
    let more = lines.len().saturating_sub(MISTAKES);
    let mut says = lines[..lines.len().min(MISTAKES)].join("\n");
    if more > 0 {
        says += &format!("\nAnd {} more.", count(more, "line", "lines"));
    }
    Error::Refused(says)
}

/// The list of pages of a book whose plates are arranged in turn, as its author gets it.
///
/// # Errors
/// A print's name cannot stand in a line of text.
pub(super) fn first(title: &str, leaves: &[Leaf], plates: &[Plate]) -> Result<String> {
    if let Some(plate) = plates.iter().find(|p| p.name.chars().any(char::is_control)) {
        let says = format!(
            "{:?} cannot stand in a list of pages: its file's name has a line break or another control.",
            plate.name
        );
        return Err(Error::Refused(says));
    }
    let name = if title.is_empty() { "Pages of a book".to_owned() } else { format!("Pages of “{title}”") };
    let name: String = name.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    let head = format!(
        "# {name}: one line a page or a spread, in order. Change, move or add lines; after # is a comment.\n\
         # A print stands centred at true size, unless its line says more:\n\
         #     page {} at 120% left 30mm top 40mm no caption\n\
         # All that a line can say: docs/reference/book-pages.md.\n\n",
        plates.first().map_or("P0001", |p| p.name.as_str())
    );
    let mut list =
        PageList::read(&head).map_err(|_| Error::Refused("The title cannot stand in a list of pages.".into()))?;
    let mut i = 0;
    while i < leaves.len() {
        // The first leaf is page 1, a right page: every second after it is a left one.
        let pair = leaves.get(i + 1).filter(|_| i % 2 == 1).map(|right| [&leaves[i], right]);
        let pair = pair.filter(|both| both.iter().all(|l| matches!(l.what, What::Prints(_) | What::Blank)));
        let (entry, of): (Entry, &[Leaf]) = match pair.filter(|both| both.iter().any(|l| !l.stands().is_empty())) {
            Some(both) => (Entry::Spread(both.map(|l| held(l, plates))), &leaves[i..i + 2]),
            None => (single(&leaves[i], plates), &leaves[i..=i]),
        };
        let titles: Vec<&str> =
            of.iter().flat_map(Leaf::stands).map(|s| plates[s.plate].words.title.as_str()).collect();
        let comment = if titles.iter().all(|t| t.is_empty()) { String::new() } else { titles.join(" | ") };
        list.insert(usize::MAX, entry, &comment);
        i += of.len();
    }
    Ok(list.text())
}

fn single(leaf: &Leaf, plates: &[Plate]) -> Entry {
    match leaf.what {
        What::Blank => Entry::Blank,
        What::Title => Entry::Title,
        What::Plates => Entry::Plates,
        What::Colophon => Entry::Colophon,
        // Arrangements make no text.
        What::Text(_) => Entry::Blank,
        What::Prints(_) => Entry::Page(held(leaf, plates)),
    }
}

fn held(leaf: &Leaf, plates: &[Plate]) -> Held {
    let What::Prints(page) = &leaf.what else { return Held::default() };
    let print = |s: &Stand| Print {
        back: s.back,
        // Rounded to what a share in binary holds of a percentage: it reads back as the same share.
        percent: (s.scale != 1.0).then_some((s.scale * 1e10).round() / 1e8),
        detail: s.detail,
        from: s.from,
        caption: s.caption,
        ..Print::new(&plates[s.plate].name)
    };
    let n = page.stands.len();
    // A row that is full needs no word; one print by itself is no row.
    let grid = page.columns.filter(|c| n == 1 || *c != n).map(|c| [c, n.div_ceil(c)]);
    Held { grid, prints: page.stands.iter().map(print).collect() }
}
