//! The book: which prints, page and press; writes the files, the certificate and the hand-off record.
//!
//! Files are written atomically, the book last. An existing file that Fallside did not make is not changed.

mod proof;

use crate::selection::{Plates, Which, leave_out_damaged, plates};
use base::Exit;
use base::Failure;
use base::files::hash;
use base::files::write::write_beside;
use base::files::{Originals, exclusive, write};
use base::wording::count;
use project::{DATABASE, Error, Project, Result};
use publish::Privacy;
use publish::book::typesetting::{Faces, Fonts, Source};
use publish::book::{self, Arrangement, Fault, Kept, Made, Settings, Smalls, beside as small};
use publish::privacy::{Allow, Word};
use serde::Serialize;
use std::io::{BufWriter, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

pub use proof::{Proof, Proved, spread_file};
pub use publish::book::Sheet;

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
            signature: 4,
            fonts: vec![],
            machine_fonts: true,
            day: None,
            dummy: None,
            proof: false,
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
    places.all().try_for_each(|p| ours(p))?;
    let mut chosen = plates(&request.folder, &request.which)?;
    let mut problems = std::mem::take(&mut chosen.missing);
    problems.append(&mut chosen.reshoot);
    problems.extend(private(&mut chosen, request.with_private));
    problems.extend(chosen.turn_note(|name| chosen.plates.iter().all(|p| p.name != name)));
    if chosen.plates.is_empty() {
        return Err(Error::Refused("All chosen prints are marked private. Add --with-private to include them.".into()));
    }
    problems.extend(leave_out_damaged(&mut chosen));
    if chosen.plates.is_empty() {
        return Err(Error::Refused(format!("There are no finished prints for the book. {}", problems.join(" "))));
    }
    crate::relit::cast(&mut chosen, request.light.as_ref());
    problems.append(&mut chosen.missing);
    places.refuse(request, &mut chosen.reads)?;
    let settings = settings(request, &chosen)?;
    let _alone = exclusive::write_file(&places.book)?;
    write::sweep_of(&places.book);
    let made = write(&places.book, |out| book::make(&chosen.plates, &settings, out, hear))?;
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
        says: says(request, &made.value).into_iter().chain(noted).collect(),
        problems,
    })
}

/// Where everything goes.
struct Places {
    book: PathBuf,
    plan: PathBuf,
    certificate: PathBuf,
    dummy: PathBuf,
    soft: PathBuf,
    proof: PathBuf,
    deck: PathBuf,
    wanted: [bool; 4],
    /// Pictures of spreads that are there already.
    spreads: Vec<PathBuf>,
}

impl Places {
    fn of(r: &Request) -> Self {
        let place = |ending: &str| r.out.with_extension(ending);
        Self {
            book: r.out.clone(),
            plan: place("flat-plan.svg"),
            certificate: place("certificate.json"),
            dummy: place("dummy.pdf"),
            soft: place("soft-proof.pdf"),
            proof: place("proof-sheet.pdf"),
            deck: place("deck.pdf"),
            wanted: [r.dummy.is_some(), r.soft_proof, r.proof, r.deck],
            spreads: if r.spreads { spreads_of(&r.out) } else { vec![] },
        }
    }

    /// Those that will be written.
    fn all(&self) -> impl Iterator<Item = &PathBuf> {
        let asked = [&self.dummy, &self.soft, &self.proof, &self.deck].into_iter().zip(self.wanted);
        let asked = asked.filter(|(_, w)| *w).map(|(p, _)| p).chain(&self.spreads);
        [&self.book, &self.plan, &self.certificate].into_iter().chain(asked)
    }

    /// Refuses if any of them is, or links to, an input file.
    fn refuse(&self, r: &Request, reads: &mut Originals) -> Result<()> {
        r.printer.iter().chain(&r.fonts).for_each(|f| reads.add_file(f));
        Ok(self.all().try_for_each(|p| reads.refuse(p))?)
    }
}

/// The pictures of spreads beside a book, whoever made them.
fn spreads_of(book: &Path) -> Vec<PathBuf> {
    let stem = book.file_stem().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let head = format!("{stem}.spread-");
    let entries = std::fs::read_dir(write::folder_of(book)).into_iter().flatten().flatten();
    let names = entries.map(|e| e.file_name().to_string_lossy().into_owned());
    let folder = write::folder_of(book);
    names.filter(|n| n.starts_with(&head) && n.ends_with(".svg")).map(|n| folder.join(n)).collect()
}

/// An existing file must be ours: each of our files is marked in its first lines.
fn ours(place: &Path) -> Result<()> {
    if !place.exists() {
        let folder = place.parent().filter(|f| !f.as_os_str().is_empty());
        if let Some(folder) = folder.filter(|f| !f.is_dir()) {
            return Err(Failure::new(format!("There is no folder {}.", folder.display()))
                .with_remedy("Create it, or give another one.")
                .into());
        }
        return Ok(());
    }
    let mut head = vec![];
    let read = base::files::regular::open(place).and_then(|f| f.take(512).read_to_end(&mut head));
    let known = read.is_ok() && {
        let head = String::from_utf8_lossy(&head);
        head.contains(book::pdf::MARK.trim())
            || head.contains("Made by Fallside, safe to make again")
            || head.contains(SCHEMA)
    };
    if known {
        return Ok(());
    }
    let says = format!("{} already exists and was not made by Fallside, so it was not changed.", place.display());
    Err(Failure::new(says).with_remedy("Choose another name with --out.").into())
}

struct Written<T> {
    value: T,
    /// BLAKE3 of the file, hex.
    hash: String,
}

/// Writes a file atomically.
fn write<T>(
    place: &Path,
    make: impl FnOnce(&mut BufWriter<&std::fs::File>) -> std::result::Result<T, Fault>,
) -> Result<Written<T>> {
    let failed = |e: std::io::Error| Error::from(Failure::writing(place, &e));
    let file = write::part(place).map_err(failed)?;
    let value = {
        let mut out = BufWriter::with_capacity(1 << 20, file.as_file());
        let value = make(&mut out).map_err(|e| match e {
            Fault::Refused(says) => Error::Refused(says),
            Fault::Write(e) => failed(e),
        })?;
        out.flush().map_err(failed)?;
        value
    };
    let hash = hash(file.path())?;
    write::settle(file, place).map_err(failed)?;
    Ok(Written { value, hash })
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

/// The small pictures for the files beside the book.
fn smalls(r: &Request) -> Smalls {
    if r.soft_proof {
        Smalls::Paper
    } else if r.dummy.is_some() || r.deck || r.spreads {
        Smalls::Screen
    } else {
        Smalls::Plan
    }
}

pub(crate) fn settings(r: &Request, chosen: &Plates) -> Result<Settings> {
    let refused = |t: String| Error::Refused(t);
    let mut turn = vec![];
    for word in &r.layout {
        turn.push(Arrangement::parse(word).ok_or_else(|| {
            refused(format!("“{word}” is not a page arrangement. Use single, back, facing, row=3, grid=2x2 or blank."))
        })?);
    }
    let bytes = |path: &Path| {
        base::files::regular::read(path)
            .map_err(|e| Error::from(Failure::new(format!("{}: {}", path.display(), Failure::reading(&e).says))))
    };
    let printer = r.printer.as_deref().map(bytes).transpose()?;
    let font = |path: &PathBuf| Ok::<_, Error>((base::files::name_of(path), Arc::new(bytes(path)?)));
    let named = r.fonts.iter().map(font).collect::<Result<Vec<_>>>()?;
    if r.keep_rgb && printer.is_none() {
        return Err(refused(
            "--keep-rgb needs --printer: the file names the press profile to which RGB will be converted.".into(),
        ));
    }
    if r.soft_proof && (printer.is_none() || r.keep_rgb) {
        return Err(refused("A soft proof simulates the inks of a press: give --printer, without --keep-rgb.".into()));
    }
    let day = match &r.day {
        Some(text) => text.clone(),
        None => base::clock::today(),
    };
    let parts: Vec<u16> = day.split('-').filter_map(|p| p.parse().ok()).collect();
    let day = match parts[..] {
        [y @ 1000..=9999, m @ 1..=12, d @ 1..=31] => (y, m as u8, d as u8),
        _ => return Err(refused(format!("“{day}” is not a date. Write it as 2026-11-25."))),
    };
    let mut id = blake3::Hasher::new();
    let about = (&r.sheet, &turn, r.scale, r.ppi, r.first_dot, r.ink_limit, r.keep_rgb, r.captions, r.signature);
    id.update(format!("{about:?} {:?} {:?} {day:?}", r.title, r.author).as_bytes());
    for plate in &chosen.plates {
        id.update(format!("{} {} {:?}", plate.name, plate.stamp, plate.words).as_bytes());
    }
    id.update(printer.as_deref().unwrap_or_default());
    for (_, font) in &named {
        id.update(font);
    }
    let mut sixteen = [0; 16];
    sixteen.copy_from_slice(&id.finalize().as_bytes()[..16]);
    Ok(Settings {
        sheet: r.sheet,
        turn,
        scale: r.scale,
        ppi: r.ppi,
        first_dot: r.first_dot,
        limit: r.ink_limit,
        printer,
        keep_rgb: r.keep_rgb,
        title: r.title.trim().to_owned(),
        author: r.author.trim().to_owned(),
        captions: r.captions,
        signature: r.signature,
        smalls: smalls(r),
        fonts: Fonts { named, machine: r.machine_fonts },
        day,
        id: sixteen,
    })
}

/// What a person should look at before the press runs.
fn concerns(r: &Request, made: &Made) -> Vec<String> {
    let mut says = vec![];
    let named = |of: &dyn Fn(&Kept) -> bool| {
        made.pictures.iter().filter(|k| of(k)).map(|k| k.name.as_str()).collect::<Vec<_>>()
    };
    let broken = named(&|k| !k.certificate.holds());
    if !broken.is_empty() {
        says.push(format!("Paper white could not be proved for {}: do not print this file.", broken.join(", ")));
    }
    let pixels = named(&|k| k.ppi[1] < PPI_LEAST);
    let soft = named(&|k| (PPI_LEAST..PPI_ASKED).contains(&k.ppi[1]));
    for (names, what) in [(pixels, "its pixels will show"), (soft, "printers ask for 300")] {
        let least = made
            .pictures
            .iter()
            .filter(|k| names.contains(&k.name.as_str()))
            .map(|k| k.ppi[1])
            .fold(f64::MAX, f64::min);
        if !names.is_empty() {
            says.push(format!("{}: {least:.0} pixels per inch on the page; {what}.", listed(&names)));
        }
    }
    let rim = named(&|k| k.at_rim);
    if !rim.is_empty() {
        says.push(format!(
            "{}: the shadow reaches the edge of the mount, so it was faded to paper white over the last 2 mm.",
            listed(&rim)
        ));
    }
    // A thousandth of the pixels: a few specks over the limit dry as they are.
    let heavy = named(&|k| k.certificate.over_limit > 0.001);
    if made.press.is_some() && !r.keep_rgb && !heavy.is_empty() {
        let most = made.pictures.iter().map(|k| k.certificate.most_ink).fold(0.0, f64::max);
        says.push(format!(
            "{}: up to {:.0} % of ink, over the limit of {:.0} %. Ask the printer whether this is the right profile.",
            listed(&heavy),
            most * 100.0,
            r.ink_limit * 100.0
        ));
    }
    says
}

/// "P0001, P0002 and 12 more".
fn listed(names: &[&str]) -> String {
    const SHOWN: usize = 4;
    match names.len() {
        n if n > SHOWN + 1 => format!("{} and {} more", names[..SHOWN].join(", "), n - SHOWN),
        _ => names.join(", "),
    }
}

fn says(r: &Request, made: &Made) -> Vec<String> {
    let [w, h] = r.sheet.trim;
    let fronts = made.pictures.iter().filter(|k| !k.back).count();
    let mut says = vec![format!(
        "{}, {} of {w} by {h} mm.",
        count(fronts, "print", "prints"),
        count(made.pages.len(), "page", "pages")
    )];
    let least = made.pictures.iter().map(|k| k.ppi[1]).fold(f64::MAX, f64::min);
    let size = if r.scale == 1.0 { "true size".to_owned() } else { format!("{} times true size", r.scale) };
    says.push(format!("Every print at {size}, {least:.0} pixels per inch or more."));
    says.push(match (&made.press, r.keep_rgb) {
        (Some(p), false) => format!("PDF/X-4 in the inks of {}.", p.name),
        (Some(p), true) => format!("PDF/X-4, pictures in eciRGBv2 to be converted for {}.", p.name),
        (None, _) => {
            "In sRGB, for screens and RGB printers. For PDF/X-4, give the printer's profile with --printer.".into()
        }
    });
    let c = |f: fn(&book::Certificate) -> u64| made.pictures.iter().map(|k| f(&k.certificate)).sum::<u64>();
    let first = made.pictures.iter().filter_map(|k| k.certificate.first_tint).fold(f64::MAX, f64::min);
    let first =
        if first <= 1.0 { format!(" The faintest tint in a shadow is {:.1} %.", first * 100.0) } else { String::new() };
    says.push(format!(
        "Bare paper: {} of {:.1} million pixels with ink, {} on a picture's edge.{first}",
        c(|c| c.bare_with_ink),
        c(|c| c.bare) as f64 / 1e6,
        c(|c| c.rim_with_ink)
    ));
    says.extend(shadows(made));
    says.extend(other_fonts(&made.faces));
    says
}

/// Which fonts set what the book's own serif lacks.
fn other_fonts(faces: &Faces) -> Option<String> {
    let others = FaceUsed::all(faces).into_iter().filter(|f| f.from != "book");
    let list: Vec<String> = others
        .map(|f| {
            let from = if f.from == "machine" { "a font of this machine" } else { "named" };
            format!("{} ({}, {from})", f.family, f.file.unwrap_or_default())
        })
        .collect();
    (!list.is_empty()).then(|| format!("Characters that the book's serif lacks are set in {}.", list.join(", ")))
}

/// Where the shadows fall, if not all to one side: prints that were turned after they were photographed look lit from elsewhere.
fn shadows(made: &Made) -> Option<String> {
    let side = |k: &Kept| {
        let [left, top, right, foot] = k.reach;
        let word = |less: f64, more: f64, a: &'static str, b: &'static str| if less > more { a } else { b };
        format!("{} {}", word(top, foot, "upper", "lower"), word(left, right, "left", "right"))
    };
    let mut counts = std::collections::BTreeMap::<String, usize>::new();
    made.pictures.iter().filter(|k| !k.back).for_each(|k| *counts.entry(side(k)).or_default() += 1);
    let list: Vec<String> = counts.iter().map(|(side, n)| format!("{n} to the {side}")).collect();
    (counts.len() > 1).then(|| format!("The shadows do not all fall to the same side: {}.", list.join(", ")))
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

/// Name and version of the certificate's form.
pub const SCHEMA: &str = "fallside.book/1";

/// The certificate of a book: what its file holds where the paper should be bare, picture by picture.
#[derive(Debug, Serialize, schemars::JsonSchema)]
pub struct Certificate {
    /// `fallside.book/1`.
    schema: &'static str,
    /// The book's file name.
    file: String,
    /// BLAKE3 of the file, hex.
    blake3: String,
    /// Number of pages.
    pages: usize,
    /// Width and height after the cut, mm.
    trim_mm: [f64; 2],
    /// Printed beyond the cut, mm.
    bleed_mm: f64,
    /// The printing condition as its profile names it; none in RGB.
    condition: Option<String>,
    /// `inks`, `ecirgb-v2` or `srgb`.
    numbers: &'static str,
    /// First printable dot that shadows were shaped for, share of full ink.
    first_dot: f64,
    /// Ink limit, all inks together, as a share of one full ink.
    ink_limit: f64,
    /// True where no bare paper and no picture's rim has ink.
    paper_white: bool,
    /// The fonts that set its words.
    fonts: Vec<FaceUsed>,
    /// Picture by picture, as they stand in the book.
    pictures: Vec<Picture>,
}

/// A font that set words of the book.
#[derive(Debug, Serialize, schemars::JsonSchema)]
struct FaceUsed {
    /// Its family.
    family: String,
    /// Its name in the PDF.
    name: String,
    /// `book` (part of Fallside), `named` (with `--font`) or `machine` (found on the machine that made the book).
    from: &'static str,
    /// Name of its file.
    file: Option<String>,
    /// BLAKE3 of its file, hex: the same fonts give the same bytes.
    blake3: Option<String>,
    /// Glyphs used of it.
    glyphs: usize,
}

impl FaceUsed {
    fn all(faces: &Faces) -> Vec<Self> {
        let used = faces.all.iter().filter(|f| f.is_used());
        used.map(|f| {
            let read = f.source != Source::Own;
            Self {
                family: f.family.clone(),
                name: f.name.clone(),
                from: match f.source {
                    Source::Own => "book",
                    Source::Named => "named",
                    Source::Machine => "machine",
                },
                file: read.then(|| f.file.clone()),
                blake3: read.then(|| blake3::hash(f.bytes()).to_hex().to_string()),
                glyphs: f.used().count(),
            }
        })
        .collect()
    }
}

/// One picture of the book.
#[derive(Debug, Serialize, schemars::JsonSchema)]
struct Picture {
    /// The print.
    name: String,
    /// Its page, from 1.
    page: usize,
    /// Its back.
    back: bool,
    /// Columns and rows in the file.
    size_px: [usize; 2],
    /// The print itself on the page, mm: left, top (from the trimmed page's corner), width, height.
    print_mm: [f64; 4],
    /// The picture on the page, mm, the same way.
    picture_mm: [f64; 4],
    /// How its shadow came about.
    shadow: String,
    /// How far the shadow goes beyond the print, mm: left, top, right, foot.
    shadow_mm: [f64; 4],
    /// Pixels to the inch in the file.
    ppi: f64,
    /// Pixels to the inch of the mount at this size.
    ppi_of_mount: f64,
    /// Pixels of bare paper, and those of them with any ink.
    bare_px: u64,
    /// Must be 0.
    bare_with_ink_px: u64,
    /// Must be 0: pixels on the picture's outermost rows and columns with any ink.
    rim_with_ink_px: u64,
    /// Smallest tint of the shadow, share of full ink.
    first_tint: Option<f64>,
    /// Largest step between neighbours where bare paper meets shadow, share of full ink.
    largest_step: f64,
    /// The most ink on a pixel, share of one full ink.
    most_ink: f64,
    /// Share of pixels over the ink limit.
    over_limit: f64,
}

impl Certificate {
    fn of(r: &Request, s: &Settings, made: &Made, hash: &str) -> Self {
        let mm = |v: f64| (v * 1000.0).round() / 1000.0;
        let share = |v: f64| (v * 1e5).round() / 1e5;
        let mut pictures = vec![];
        for (n, page) in made.pages.iter().enumerate() {
            for thing in &page.things {
                let book::make::Thing::Picture(i, whole, print) = thing else { continue };
                let (k, c) = (&made.pictures[*i], &made.pictures[*i].certificate);
                pictures.push(Picture {
                    name: k.name.clone(),
                    page: n + 1,
                    back: k.back,
                    size_px: k.size_px,
                    print_mm: [print.x, print.y, print.w, print.h].map(mm),
                    picture_mm: [whole.x, whole.y, whole.w, whole.h].map(mm),
                    shadow: k.shadow.clone(),
                    shadow_mm: k.reach.map(mm),
                    ppi: (k.ppi[1] * 10.0).round() / 10.0,
                    ppi_of_mount: (k.ppi[0] * 10.0).round() / 10.0,
                    bare_px: c.bare,
                    bare_with_ink_px: c.bare_with_ink,
                    rim_with_ink_px: c.rim_with_ink,
                    first_tint: c.first_tint.map(share),
                    largest_step: share(c.largest_step),
                    most_ink: share(c.most_ink),
                    over_limit: share(c.over_limit),
                });
            }
        }
        Self {
            schema: SCHEMA,
            file: base::files::name_of(&r.out),
            blake3: hash.to_owned(),
            pages: made.pages.len(),
            trim_mm: r.sheet.trim,
            bleed_mm: r.sheet.bleed,
            condition: made.press.as_ref().map(|p| p.name.clone()),
            numbers: match (&made.press, r.keep_rgb) {
                (Some(_), false) => "inks",
                (Some(_), true) => "ecirgb-v2",
                (None, _) => "srgb",
            },
            first_dot: s.first_dot,
            ink_limit: s.limit,
            paper_white: made.pictures.iter().all(|k| k.certificate.holds()),
            fonts: FaceUsed::all(&made.faces),
            pictures,
        }
    }
}

/// The certificate's JSON Schema.
pub fn json_schema() -> String {
    serde_json::to_string_pretty(&schemars::schema_for!(Certificate)).unwrap_or_default() + "\n"
}
