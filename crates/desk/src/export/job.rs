//! What a wish of the page means to the commands, and what they answer.

use super::{BOOK, ExportRequest};
use crate::Desk;
use crate::wire::account::{Account, Checked};
use base::Failure;
use base::files::write::write_beside;
use base::wording::count;
use finish::light::ShadowLight;
use handoff::Event;
use handoff::book;
use handoff::book::Sheet;
use handoff::gallery;
use handoff::gallery::HERE;
use handoff::pack;
use handoff::share;
use handoff::share::making;
use handoff::share::privacy::Allow;
use project::{Error, Result};
use std::path::{Path, PathBuf};

/// What every archive needs, and gets from nobody else.
const EVERY_YEAR: &str = "Check it once a year, and its second copy on another disk with it.";

/// The command's own request.
pub(super) enum Job {
    Share(ExportRequest, share::Request),
    Gallery(ExportRequest, gallery::Request),
    Book(ExportRequest, Box<book::Request>),
    /// And the folder in the project for copies of the bag's texts.
    Pack(ExportRequest, pack::Request, PathBuf),
}

impl Job {
    /// What a wish means, into a folder.
    ///
    /// # Errors
    /// Its choices make no sense.
    pub fn of(desk: &Desk, wish: &ExportRequest, out: &Path) -> Result<Self> {
        let (folder, which, out) = (desk.folder.clone(), wish.which(), out.to_owned());
        let allow = |asked: bool| Allow { asked, ..Allow::default() };
        let by = |words: &Option<String>| -> Result<Option<ShadowLight>> {
            words.as_ref().map_or(Ok(None), |words| project::light_in(&desk.folder, words))
        };
        let mine = wish.clone();
        Ok(match wish {
            ExportRequest::Share { shape, pixels, kilobytes, one_scale, light, asked, .. } => {
                within(*kilobytes, share::LEAST_KB, "a picture")?;
                let settings = making::Settings {
                    shape: making::Shape::parse(shape).map_err(|e| unclear(shape, &e))?,
                    pixels: making::Pixels::parse(pixels).map_err(|e| unclear(pixels, &e))?,
                    kilobytes: *kilobytes,
                    ..making::Settings::default()
                };
                let (one_scale, light, allow) = (*one_scale, by(light)?, allow(*asked));
                Self::Share(mine, share::Request { folder, which, out, settings, one_scale, light, allow })
            }
            ExportRequest::Gallery { title, address, backs, light, newsletter, asked, .. } => {
                let light = by(light)?;
                let title = if title.trim().is_empty() { "Instant prints" } else { title.trim() };
                let address = if address.trim().is_empty() { HERE } else { address.trim() };
                within(*newsletter, gallery::LEAST_KB, "a newsletter")?;
                let request = gallery::Request {
                    folder,
                    which,
                    out,
                    title: title.to_owned(),
                    address: gallery::address(address)?,
                    backs: *backs,
                    newsletter: *newsletter,
                    light,
                    allow: allow(*asked),
                };
                Self::Gallery(mine, request)
            }
            ExportRequest::Book {
                title,
                author,
                trim_mm,
                layout,
                printer,
                first_dot,
                captions,
                light,
                proof,
                dummy,
                deck,
                ..
            } => {
                if !trim_mm.iter().all(|side| book::SIDES_MM.contains(side)) {
                    return Err(Error::Refused("Enter the page's width and height in mm, 40 to 2000 each.".into()));
                }
                let usual = book::Request::new(&folder, &out.join(BOOK));
                let first_dot = first_dot.map_or(usual.first_dot, |percent| percent / 100.0);
                if !book::FIRST_DOTS.contains(&first_dot) {
                    return Err(Error::Refused(
                        "Enter the press's minimum printable dot in percent, 0 to 20: ask the printer.".into(),
                    ));
                }
                let request = book::Request {
                    which,
                    light: by(light)?,
                    sheet: Sheet { trim: *trim_mm, ..Sheet::default() },
                    layout: layout.clone(),
                    printer: printer.clone(),
                    soft_proof: printer.is_some(),
                    spreads: true,
                    title: title.clone(),
                    author: author.clone(),
                    captions: *captions,
                    first_dot,
                    proof: *proof,
                    dummy: dummy.then_some(book::DUMMY),
                    deck: *deck,
                    ..usual
                };
                Self::Book(mine, Box::new(request))
            }
            ExportRequest::Pack { title, place, .. } => {
                if !place.is_absolute() {
                    return Err(Error::Refused(
                        "Enter the archive's folder: the full path of an empty folder, preferably on another disk."
                            .into(),
                    ));
                }
                let title = Some(title.trim()).filter(|t| !t.is_empty()).map(str::to_owned);
                Self::Pack(mine, pack::Request { folder, which, out: place.clone(), title }, out)
            }
        })
    }

    /// Does it; `hear` is told how many prints are done, and of how many.
    ///
    /// # Errors
    /// As the command's own.
    pub fn run(self, hear: &(dyn Fn(usize, usize) + Sync)) -> Result<Account> {
        let told = |event: Event| match event {
            Event::Done { done, of } => hear(done, of),
            // Every line is in the answer too.
            Event::Problem(_) => {}
        };
        match self {
            Self::Share(wish, request) => {
                let answer = share::share(&request, &told)?;
                let alt_missing = answer.shares.iter().filter(|s| s.alt_is_made).map(|s| s.print.clone()).collect();
                Ok(Account {
                    count: answer.shares.len(),
                    says: [format!("{} made.", count(answer.shares.len(), "picture", "pictures"))]
                        .into_iter()
                        .chain(lit(request.light.as_ref()))
                        .collect(),
                    problems: [answer.reshoot, answer.problems].concat(),
                    private: answer.private,
                    difference: answer.difference,
                    alt_missing,
                    files: answer.shares.iter().map(|s| s.file.clone()).chain(["alt-text.txt".into()]).collect(),
                    shares: answer.shares,
                    ..Account::begun(wish)
                })
            }
            Self::Gallery(wish, request) => {
                let answer = gallery::gallery(&request, &told)?;
                Ok(Account {
                    count: answer.prints,
                    says: [gallery::told(&answer)].into_iter().chain(lit(request.light.as_ref())).collect(),
                    problems: [answer.reshoot, answer.problems].concat(),
                    private: answer.private,
                    difference: answer.difference,
                    alt_missing: answer.alt_missing,
                    files: vec!["index.html".into(), "manifest.json".into()],
                    ..Account::begun(wish)
                })
            }
            Self::Book(wish, request) => {
                let answer = book::book(&request, hear)?;
                let name = |f: &PathBuf| f.file_name().map(|n| n.to_string_lossy().into_owned());
                Ok(Account {
                    count: answer.prints,
                    says: answer.says.into_iter().chain(lit(request.light.as_ref())).collect(),
                    problems: answer.problems,
                    files: answer.files.iter().filter_map(name).collect(),
                    ..Account::begun(wish)
                })
            }
            Self::Pack(wish, request, texts) => packed(wish, &request, &texts, hear),
        }
    }
}

/// "Shadows cast by upper-left (225°, 45° high, 12° wide)."; those that stay as shot are among the problems.
fn lit(light: Option<&ShadowLight>) -> Option<String> {
    Some(match light? {
        ShadowLight::AsShot => return None,
        ShadowLight::Mirrored => "Shadows mirrored: each print's own light on its other side.".into(),
        ShadowLight::CastAnew(light) => format!("Shadows cast by one light: {}.", light.says()),
    })
}

/// Packs, reads all of it again, and keeps the bag's own texts in the project: what lies there is known when the disk is away.
fn packed(
    wish: ExportRequest,
    request: &pack::Request,
    texts: &Path,
    hear: &(dyn Fn(usize, usize) + Sync),
) -> Result<Account> {
    let half = |before: usize| {
        move |event: Event| {
            if let Event::Done { done, of } = event {
                hear(before * of + done, 2 * of);
            }
        }
    };
    let bag = &request.out;
    let answer = pack::pack(request, &half(0))?;
    let mut files = vec![];
    for path in [pack::READ_ME, pack::PRINTS, pack::MANIFEST].map(Path::new) {
        let name = path.file_name().unwrap_or_default();
        let gone = |e| format!("{}: {}", bag.join(path).display(), Failure::reading(&e).says);
        let bytes = std::fs::read(bag.join(path)).map_err(|e| {
            Failure::new(gone(e))
                .with_remedy("See that the disk is still there, and make it again into the same folder.")
        })?;
        write_beside(&texts.join(name), &bytes)?;
        files.push(name.to_string_lossy().into_owned());
    }
    let verified = pack::verify(bag, &[], &half(1))?;
    let found = if verified.good() { "found good" } else { "found damaged" };
    Ok(Account {
        count: answer.prints,
        says: vec![format!("{}. Read again afterwards and {found}.", answer.says()), EVERY_YEAR.into()],
        problems: [verified.problems(), answer.problems].concat(),
        files,
        ..Account::begun(wish)
    })
}

/// Reads an archive again, and its second copy where there is one.
///
/// # Errors
/// A folder is no bag.
pub(super) fn checked(bag: &Path, copy: Option<&PathBuf>, hear: &(dyn Fn(usize, usize) + Sync)) -> Result<Checked> {
    let verified = pack::verify(bag, copy.map_or(&[], std::slice::from_ref), &|event| {
        if let Event::Done { done, of } = event {
            hear(done, of);
        }
    })?;
    let day = base::clock::today();
    let found = verified.bags.iter().map(pack::Condition::says);
    let says = found.chain([format!("Read on {day}.")]).collect();
    Ok(Checked { says, problems: verified.problems() })
}

/// Refuses a size that nothing fits into.
fn within(kilobytes: Option<u32>, least: u32, what: &str) -> Result<()> {
    match kilobytes {
        Some(k) if k < least => Err(Error::Refused(format!("Enter {least} kB or more for {what}."))),
        _ => Ok(()),
    }
}

/// "“4-5”: say width to height, …".
fn unclear(text: &str, says: &str) -> Error {
    Error::Refused(format!("“{text}”: {says}."))
}
