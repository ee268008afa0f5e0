//! The book: which prints, page and press; writes the files, the certificate and the hand-off record.
//!
//! Files are written atomically, the book last. An existing file that Fallside did not make is not changed.

mod certificate;
mod files;
mod pages;
mod proof;
mod said;
mod settings;

use crate::selection::{Plates, Which, leave_out_damaged, plates};
use base::Exit;
use base::files::exclusive;
use base::files::write::{self as disk, write_beside};
use base::wording::count;
use certificate::Certificate;
use files::{Places, new, ours, write};
use pages::{Chosen, bound, first};
use project::{DATABASE, Error, Project, Result};
use publish::Privacy;
use publish::book::leaves::Leaf;
use publish::book::{self, beside as small, imposed};
use publish::privacy::{Allow, Word};
use said::{concerns, says};
use std::path::{Path, PathBuf};

pub use certificate::json_schema;
pub use proof::{Proof, Proved, spread_file};
pub use publish::book::Sheet;
pub use publish::book::cover::{Cover, FLAPS};
pub use publish::book::imposed::{Imposition, SIGNATURES, Stock, THICKNESS, THICKNESSES, Turn};
pub use publish::book::pages::SCALES;
pub(crate) use settings::in_turns;
use settings::turned;

/// Below this a printed picture looks soft at reading distance; printers of books ask for 300, and 240 is the least they take gladly.
pub(crate) const PPI_ASKED: f64 = 300.0;
/// Below this pixels show.
const PPI_LEAST: f64 = 150.0;

/// Sides of a page that can be asked for, mm: from a card to more than any bindery takes (ours).
pub const SIDES_MM: std::ops::Range<f64> = 40.0..2000.0;
/// First dots that can be asked for, shares of full ink: far beyond the few per cent of any press (common practice, no source).
pub const FIRST_DOTS: std::ops::RangeInclusive<f64> = 0.0..=0.2;
/// A dummy's size unless another is asked for, a share of the book's own: small enough to leaf through in the hand (ours).
pub const DUMMY: f64 = 0.5;

/// What book to make.
#[derive(Clone, Debug)]
pub struct Request {
    /// A project, or a folder of results.
    pub folder: PathBuf,
    /// Which prints.
    pub which: Which,
    /// The file to write.
    pub out: PathBuf,
    /// The light that casts the shadows; none leaves them as they were finished.
    pub light: Option<finish::light::ShadowLight>,
    /// The page.
    pub sheet: Sheet,
    /// The author's list of pages; without one, prints are arranged by `layout`.
    pub pages: Option<PathBuf>,
    /// Only write a list of pages here, from `layout`.
    pub write_layout: Option<PathBuf>,
    /// Arrangements in turn: `single`, `back`, `facing`, `row=3`, `grid=2x2`, `blank`.
    pub layout: Vec<String>,
    /// Size on the page over true size.
    pub scale: f64,
    /// Most pixels to the inch.
    pub ppi: f64,
    /// First printable dot, a share of full ink.
    pub first_dot: f64,
    /// Ink limit, a share of one full ink.
    pub ink_limit: f64,
    /// The printer's ICC profile.
    pub printer: Option<PathBuf>,
    /// Keep RGB for the press to convert.
    pub keep_rgb: bool,
    /// Title and author; empty for none.
    pub title: String,
    /// Author.
    pub author: String,
    /// Captions under the prints.
    pub captions: bool,
    /// Numbers on pages of prints, texts and the list of plates.
    pub page_numbers: bool,
    /// Crop marks and a slug line round every page.
    pub crop_marks: bool,
    /// Also a cover.
    pub cover: Option<Cover>,
    /// Pages come in multiples of this.
    pub signature: usize,
    /// Fonts for what the book's own lacks, in their order.
    pub fonts: Vec<PathBuf>,
    /// After these, fonts of this machine.
    pub machine_fonts: bool,
    /// The day that the file is dated, `2026-11-25`; today unless said.
    pub day: Option<String>,
    /// Also a dummy at this share of the size.
    pub dummy: Option<f64>,
    /// Also a proof sheet.
    pub proof: bool,
    /// Also the pages imposed on sheets to fold and stitch.
    pub zine: Option<Imposition>,
    /// Also a working deck.
    pub deck: bool,
    /// Also a soft proof.
    pub soft_proof: bool,
    /// Also a picture of every spread.
    pub spreads: bool,
    /// Print those marked private, too.
    pub with_private: bool,
}

impl Request {
    /// A book of every print of `folder` as it is without further words: one print to a spread, in sRGB.
    pub fn new(folder: &Path, out: &Path) -> Self {
        Self {
            folder: folder.to_owned(),
            which: Which::All,
            out: out.to_owned(),
            light: None,
            sheet: Sheet::default(),
            pages: None,
            write_layout: None,
            layout: vec!["single".into()],
            scale: 1.0,
            ppi: 400.0,
            first_dot: 0.03,
            ink_limit: 3.0,
            printer: None,
            keep_rgb: false,
            title: String::new(),
            author: String::new(),
            captions: true,
            page_numbers: false,
            crop_marks: false,
            cover: None,
            signature: 4,
            fonts: vec![],
            machine_fonts: true,
            day: None,
            dummy: None,
            proof: false,
            zine: None,
            deck: false,
            soft_proof: false,
            spreads: false,
            with_private: false,
        }
    }
}

/// What was made.
#[derive(Debug)]
pub struct Answer {
    /// How it went.
    pub exit: Exit,
    /// Prints in it.
    pub prints: usize,
    /// Files, the book first.
    pub files: Vec<PathBuf>,
    /// What is to be said, a sentence each.
    pub says: Vec<String>,
    /// What a person should look at, a sentence each.
    pub problems: Vec<String>,
}

/// Makes the book. `hear` is told how many pictures are done, and of how many.
///
/// # Errors
/// No such prints; a page too small; a profile that is none of a press; a character no font has; a mount that is gone; a file of
/// somebody else's in the way; a disk that cannot be written. Then no file was changed.
pub fn book(request: &Request, hear: &(dyn Fn(usize, usize) + Sync)) -> Result<Answer> {
    let places = Places::of(request);
    match &request.write_layout {
        Some(place) => new(place)?,
        None => places.all().try_for_each(|p| ours(p))?,
    }
    let mut chosen = plates(&request.folder, &request.which)?;
    let mut all = Chosen::of(&chosen);
    let mut problems = std::mem::take(&mut chosen.missing);
    problems.append(&mut chosen.reshoot);
    let before: Vec<String> = chosen.plates.iter().map(|p| p.name.clone()).collect();
    problems.extend(private(&mut chosen, request.with_private));
    all.private = before.into_iter().filter(|name| chosen.plates.iter().all(|p| p.name != *name)).collect();
    problems.extend(chosen.turn_note(|name| chosen.plates.iter().all(|p| p.name != name)));
    if chosen.plates.is_empty() {
        return Err(Error::Refused("All chosen prints are marked private. Add --with-private to include them.".into()));
    }
    problems.extend(leave_out_damaged(&mut chosen));
    if chosen.plates.is_empty() {
        return Err(Error::Refused(format!("There are no finished prints for the book. {}", problems.join(" "))));
    }
    if let Some(place) = &request.write_layout {
        return first_list(request, place, &chosen, problems);
    }
    let mut said = vec![];
    let leaves = match &request.pages {
        Some(place) => {
            let bound = bound(request, place, &mut chosen, &all)?;
            problems.extend(bound.problems);
            said = bound.says;
            bound.leaves
        }
        None => turned(request, &chosen)?,
    };
    if let Some(name) = request.cover.as_ref().and_then(|c| c.print.as_ref()) {
        let whole = leaves.iter().flat_map(Leaf::stands).filter(|t| !t.back && t.detail.is_none());
        if !whole.into_iter().any(|t| chosen.plates[t.plate].name == *name) {
            return Err(Error::Refused(format!("{name} is not in the book whole, so it cannot be on its cover.")));
        }
    }
    crate::relit::cast(&mut chosen, request.light.as_ref());
    problems.append(&mut chosen.missing);
    places.refuse(request, &mut chosen.reads)?;
    let settings = settings::settings(request, &chosen, leaves)?;
    if let Some(how) = &request.zine {
        // Before an hour of work, not after: whether the pages fit on the paper.
        imposed::laid(1, request.sheet.trim, request.sheet.bleed, how).map_err(Error::Refused)?;
    }
    let _alone = exclusive::write_file(&places.book)?;
    disk::sweep_of(&places.book);
    let mut made = write(&places.book, |out| book::make(&chosen.plates, &settings, out, hear))?;
    let mut files = vec![];
    // The book is in its place before what tells of it; the rest is small.
    files.push(places.book.clone());
    write_beside(&places.plan, small::flat_plan(&made.value, request.sheet).as_bytes())?;
    let certificate = Certificate::of(request, &settings, &made.value, &made.hash);
    let json = serde_json::to_string_pretty(&certificate).unwrap_or_default();
    write_beside(&places.certificate, (json + "\n").as_bytes())?;
    files.extend([places.plan.clone(), places.certificate.clone()]);
    if let Some(scale) = request.dummy {
        write(&places.dummy, |out| small::again(&made.value, request.sheet, scale, false, out))?;
        files.push(places.dummy.clone());
    }
    if request.soft_proof {
        write(&places.soft, |out| small::again(&made.value, request.sheet, 1.0, true, out))?;
        files.push(places.soft.clone());
    }
    if request.spreads {
        for (n, svg) in (0..).map_while(|n| small::spread(&made.value, request.sheet, n).map(|svg| (n, svg))) {
            let place = spread_file(&places.book, n);
            write_beside(&place, svg.as_bytes())?;
        }
    }
    if request.proof {
        write(&places.proof, |out| small::proof(&chosen.plates, &made.value.pictures, &settings, out))?;
        files.push(places.proof.clone());
    }
    if let Some(how) = &request.zine {
        said.push(zine(request, how, &made.value, &places)?);
        files.push(places.zine.clone());
    }
    if let Some(how) = &request.cover {
        said.push(cover(request, how, &mut made.value, &settings, &places)?);
        files.push(places.cover.clone());
    }
    if request.deck {
        write(&places.deck, |out| small::deck(&chosen.plates, &made.value, out))?;
        files.push(places.deck.clone());
    }
    problems.extend(concerns(request, &made.value));
    let noted = note(request, &chosen, &made.hash)?;
    let exit = if problems.is_empty() { Exit::AllDone } else { Exit::WithProblems };
    Ok(Answer {
        exit,
        prints: chosen.plates.len(),
        files,
        says: says(request, &made.value).into_iter().chain(said).chain(noted).collect(),
        problems,
    })
}

/// Writes the book's pages on sheets to fold; says how to print them.
fn zine(r: &Request, how: &Imposition, made: &book::Made, places: &Places) -> Result<String> {
    let laid = imposed::laid(made.pages.len(), r.sheet.trim, r.sheet.bleed, how).map_err(Error::Refused)?;
    let failed = |e: std::io::Error| Error::from(base::Failure::new(format!("{}: {e}", places.book.display())));
    let mut book = std::io::BufReader::new(base::files::regular::open(&places.book).map_err(failed)?);
    write(&places.zine, |out| small::zine(made, r.sheet, &laid, how.stock.size(), &mut book, out))?;
    let signatures: Vec<String> = laid.signatures.iter().map(usize::to_string).collect();
    let edge = if how.turn == Turn::ShortEdge { "short" } else { "long" };
    let creep = match laid.creep {
        0.0 => String::new(),
        mm => format!(" For the paper's thickness the innermost pages stand {mm:.1} mm nearer to the fold."),
    };
    Ok(format!(
        "Zine: {} of {}, printed on both sides and turned over the {edge} edge, without scaling; {} of {} pages, at {:.1} % of the \
         book's size.{creep}",
        count(laid.sides.len() / 2, "sheet", "sheets"),
        how.stock.name(),
        count(laid.signatures.len(), "signature", "signatures"),
        signatures.join(", "),
        laid.scale * 100.0,
    ))
}

/// Writes the cover; says its measures, for the printer to confirm.
fn cover(r: &Request, how: &Cover, made: &mut book::Made, s: &book::Settings, places: &Places) -> Result<String> {
    let parts = book::cover::parts(made.pages.len(), &r.sheet, how);
    let failed = |e: std::io::Error| Error::from(base::Failure::new(format!("{}: {e}", places.book.display())));
    let mut file = std::io::BufReader::new(base::files::regular::open(&places.book).map_err(failed)?);
    write(&places.cover, |out| small::cover(made, s, how, &mut file, out))?;
    let spine = match how.spine {
        Some(mm) => format!("a spine of {mm} mm as you gave it"),
        None => format!(
            "a spine of {:.1} mm for {} of {} mm paper and two layers of board of {} mm: ask the printer",
            parts.spine.w,
            count(made.pages.len().div_ceil(2), "leaf", "leaves"),
            how.thickness,
            book::cover::BOARD
        ),
    };
    let [w, h] = book::cover::CLEAR;
    let flaps = how.flaps.map(|mm| format!(", flaps of {mm} mm")).unwrap_or_default();
    Ok(format!(
        "Cover: {:.1} by {:.1} mm after trimming, with {spine}{flaps}. {w:.1} by {h:.1} mm are clear for the barcode on the back, 10 mm from \
         spine and foot.",
        parts.sheet.trim[0], parts.sheet.trim[1]
    ))
}

/// Writes a list of pages for the first time, and no book.
fn first_list(r: &Request, place: &Path, chosen: &Plates, problems: Vec<String>) -> Result<Answer> {
    let text = first(r.title.trim(), &turned(r, chosen)?, &chosen.plates)?;
    write_beside(place, text.as_bytes())?;
    let says = format!(
        "{} on {} of {}. Make the book of it with --pages.",
        count(chosen.plates.len(), "print", "prints"),
        count(text.lines().filter(|l| !l.is_empty() && !l.starts_with('#')).count(), "line", "lines"),
        base::files::name_of(place)
    );
    let exit = if problems.is_empty() { Exit::AllDone } else { Exit::WithProblems };
    Ok(Answer { exit, prints: chosen.plates.len(), files: vec![place.to_owned()], says: vec![says], problems })
}

/// Removes private prints unless they may be printed; returns a line for each, and for each print marked “ask”.
fn private(chosen: &mut Plates, with_private: bool) -> Vec<String> {
    let mut says: Vec<String> = chosen.unsaid_note().into_iter().collect();
    let mut keep = vec![];
    let careful = Allow { keep: Word::ALL.to_vec(), asked: false };
    for plate in chosen.plates.iter_mut().filter(|p| chosen.unsaid.contains(&p.name)) {
        if let Some(said) = careful.of(plate) {
            plate.words = said.words;
        }
    }
    for plate in &chosen.plates {
        let private = plate.words.privacy == Privacy::Private;
        keep.push(!private || with_private);
        match plate.words.privacy {
            Privacy::Private if !with_private => {
                says.push(format!("{} is marked private and was left out; --with-private includes it.", plate.name))
            }
            Privacy::Ask if chosen.unsaid.contains(&plate.name) => {}
            Privacy::Ask => says.push(format!("{} is marked “ask”: get permission before it is printed.", plate.name)),
            _ => {}
        }
    }
    chosen.keep(&keep);
    says
}

/// Writes the hand-off into the project's journal; a folder of results has none.
fn note(r: &Request, chosen: &Plates, hash: &str) -> Result<Option<String>> {
    if !r.folder.join(DATABASE).exists() {
        return Ok(None);
    }
    if !Project::is_writable(&r.folder) {
        return Ok(Some(crate::share::not_noted(&r.folder)));
    }
    let place = crate::share::place_in(&r.folder, &r.out);
    let mut project = Project::open(&r.folder)?;
    project.set_room("hand");
    let says = format!("Handed on: a book of {}", count(chosen.prints.len(), "print", "prints"));
    project.change(&says, |w| w.hand_off("book", &place, &format!("blake3 {hash}"), &chosen.prints))?;
    Ok(None)
}
