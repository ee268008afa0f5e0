//! A gallery: the chosen prints as a static website; after a change only the changed files are made.

use crate::Event;
use crate::earlier;
use crate::selection::name_apart;
use crate::selection::{Which, plates};
use crate::share::{allowed, difference, in_order, record, to_reshoot};
use base::Exit;
use base::Failure;
use base::output_folder::{GALLERY, OutputFolder};
use base::wording::count;
use base::workers::{guarded, in_parallel, lock};
use finish::as_finished;
use project::Error;
use publish::gallery::{self as making, Picture, SCRIPT, STYLE, Shown, Site};
use publish::privacy::{Allow, Said};
use publish::{Plate, Privacy};
use serde::Serialize;
use std::collections::BTreeSet;
use std::path::PathBuf;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Default address of a gallery: this machine, as served by a simple local server. IIIF requires a full address, and this one refers
/// to nobody else.
pub const HERE: &str = "http://localhost:8000/";
/// Least size of a newsletter that can be asked for, kB: its page without pictures takes several (ours).
pub const LEAST_KB: u32 = 20;
/// Changes when the same mount would be made into other pictures.
const FORM: &str = "2";

/// What to show, and how.
#[derive(Clone, Debug)]
pub struct Request {
    /// A project, or a folder of results.
    pub folder: PathBuf,
    /// Which of its prints.
    pub which: Which,
    /// Folder for the site.
    pub out: PathBuf,
    /// Its title.
    pub title: String,
    /// Where it will be read; [`HERE`] unless said.
    pub address: String,
    /// Shows backs too, of prints that everyone may see.
    pub backs: bool,
    /// Also a newsletter, at most so many thousand bytes.
    pub newsletter: Option<u32>,
    /// The light that casts the shadows; none leaves them as they were finished.
    pub light: Option<finish::light::ShadowLight>,
    /// The words that may go out.
    pub allow: Allow,
}

/// How it went.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Answer {
    /// Prints shown.
    pub prints: usize,
    /// Pictures made now.
    pub made: usize,
    /// Pictures that were there.
    pub already: usize,
    /// Pages and lists written now.
    pub written: usize,
    /// Files and folders of prints no longer shown, taken away.
    pub gone: usize,
    /// The page to open.
    pub index: PathBuf,
    /// Bytes of the newsletter, where there is one.
    pub newsletter_bytes: Option<usize>,
    /// Prints that were left out because they are private.
    pub private: Vec<String>,
    /// A line for each print that is to be shot again: it is handed on as it is.
    pub reshoot: Vec<String>,
    /// Prints of which nobody has written what is seen.
    pub alt_missing: Vec<String>,
    /// The difference between what is known and what went out, in sentences.
    pub difference: Vec<String>,
    /// One line for each thing that went wrong.
    pub problems: Vec<String>,
}

impl Answer {
    /// How the process exits.
    pub fn exit(&self) -> Exit {
        match (self.prints, self.problems.is_empty()) {
            (0, _) => Exit::NothingDone,
            (_, true) => Exit::AllDone,
            _ => Exit::WithProblems,
        }
    }
}

/// Makes the site. A print whose picture cannot be made is reported and left out.
///
/// # Errors
/// There is nothing to show, the folder holds somebody else's files, or the disk refuses.
pub fn gallery(request: &Request, tell: &(dyn Fn(Event) + Sync)) -> Result<Answer, Error> {
    let site = Site { title: request.title.clone(), address: address(&request.address)? };
    let mut plates = plates(&request.folder, &request.which)?;
    crate::relit::cast(&mut plates, request.light.as_ref());
    name_apart(&mut plates.plates);
    let (chosen, private) = allowed(&plates.plates, &request.allow);
    if chosen.is_empty() {
        let earlier = earlier::site_still_shows(&request.out);
        return Err(Error::Refused(format!("All of these prints are private: {}.{earlier}", private.join(", "))));
    }
    let handed = OutputFolder::open(&request.out, GALLERY, &plates.reads, &writes(&chosen, request))?;
    let reshoot = to_reshoot(std::mem::take(&mut plates.reshoot), &private);
    let mut answer = Answer {
        reshoot,
        private,
        problems: std::mem::take(&mut plates.missing),
        index: request.out.join("index.html"),
        ..Answer::default()
    };
    answer.problems.iter().for_each(|p| tell(Event::Problem(p.clone())));
    let shown = pictures(&handed, &chosen, request, &mut answer, tell);
    if shown.is_empty() {
        return Ok(answer);
    }
    let files = files(&handed, &site, &shown, request, &mut answer)?;
    for (path, bytes) in &files {
        answer.written += usize::from(handed.put(path, bytes)?);
    }
    let folders = shown.iter().flat_map(|s| s.pictures()).map(|p| folder_of(&p.name));
    let wanted: BTreeSet<String> = files.iter().map(|(path, _)| path.clone()).chain(folders).collect();
    let (gone, kept) = handed.keep_only(&wanted);
    answer.gone = gone;
    for path in kept {
        let line = earlier::still_there(&handed.place(&path), "it belongs to nothing that is shown now");
        tell(Event::Problem(line.clone()));
        answer.problems.push(line);
    }
    handed.close()?;
    answer.prints = shown.len();
    answer.alt_missing = shown.iter().filter(|s| s.said.alt_is_made).map(|s| s.plate.name.clone()).collect();
    answer.difference = difference(&chosen);
    answer.difference.extend(plates.unsaid_note());
    answer.difference.extend(plates.turn_note(|name| answer.private.iter().any(|p| p == name)));
    let names: Vec<&str> = shown.iter().map(|s| s.plate.name.as_str()).collect();
    if answer.made + answer.written + answer.gone > 0 {
        let noted = record(&request.folder, "gallery", &request.out, &request.title, &plates, &names)?;
        noted.into_iter().for_each(|line| tell(Event::Problem(line)));
    }
    Ok(answer)
}

/// Every path that may be written.
fn writes(chosen: &[(&Plate, Said)], request: &Request) -> Vec<String> {
    let pages = PAGES.iter().map(|p| (*p).to_owned()).chain(request.newsletter.map(|_| NEWSLETTER.to_owned()));
    let plates = chosen.iter().flat_map(|(plate, _)| std::iter::once(*plate).chain(plate.back.as_deref()));
    let pictures = plates.flat_map(|p| [folder_of(&p.name), info_of(&p.name), page_of(&p.name)]);
    pages.chain(pictures).collect()
}

/// An address as IIIF asks for one: whole, without a question or a place in a page, ending in a slash.
pub fn address(text: &str) -> Result<String, Error> {
    let rest = text.strip_prefix("https://").or_else(|| text.strip_prefix("http://"));
    let sound =
        rest.is_some_and(|r| !r.is_empty() && !r.starts_with('/') && !r.contains(['?', '#', '"', '<', '>', ' ']));
    if !sound {
        return Err(Error::Refused(format!(
            "“{text}” is not the address of a site. Give the full address, such as https://example.org/prints/."
        )));
    }
    Ok(format!("{}/", text.trim_end_matches('/')))
}

/// Pages, lists and what they need, whatever is shown.
const PAGES: [&str; 5] = ["index.html", "manifest.json", "look/look.css", "look/look.js", "look/fonts-licence.txt"];
const NEWSLETTER: &str = "newsletter.html";

fn folder_of(name: &str) -> String {
    format!("iiif/{name}/")
}

fn info_of(name: &str) -> String {
    format!("iiif/{name}/info.json")
}

fn page_of(name: &str) -> String {
    format!("prints/{name}.html")
}

/// Makes every picture that is not there yet; the prints that have theirs, in order.
fn pictures<'a>(
    handed: &OutputFolder,
    chosen: &'a [(&'a Plate, Said)],
    request: &Request,
    answer: &mut Answer,
    tell: &(dyn Fn(Event) + Sync),
) -> Vec<Shown<'a>> {
    let (shown, failed) = (Mutex::new(vec![]), Mutex::new(vec![]));
    let (done, made, already) = (AtomicUsize::new(0), AtomicUsize::new(0), AtomicUsize::new(0));
    let items: Vec<(usize, &(&Plate, Said))> = chosen.iter().enumerate().collect();
    in_parallel(&items, |(i, (plate, said))| {
        let picture = |plate: &Plate| -> Result<Picture, Failure> {
            let (picture, new) = guarded(|| picture(handed, plate))?;
            if new { &made } else { &already }.fetch_add(1, Ordering::Relaxed);
            Ok(picture)
        };
        let back = plate.back.as_deref().filter(|_| request.backs && plate.words.privacy == Privacy::Open);
        let both = picture(plate).and_then(|front| Ok((front, back.map(picture).transpose()?)));
        match both {
            Ok((front, back)) => lock(&shown).push((*i, Shown { plate, said, front, back })),
            Err(e) => {
                let line = format!("{}: {e}", plate.name);
                tell(Event::Problem(line.clone()));
                lock(&failed).push((*i, line));
            }
        }
        tell(Event::Done { done: done.fetch_add(1, Ordering::Relaxed) + 1, of: items.len() });
    });
    answer.made = made.into_inner();
    answer.already = already.into_inner();
    answer.problems.extend(in_order(failed));
    in_order(shown)
}

/// A plate's picture, made unless it is there from the same mount; true where it was made.
fn picture(handed: &OutputFolder, plate: &Plate) -> Result<(Picture, bool), Failure> {
    let path = folder_of(&plate.name);
    let stamp = format!("{FORM}:{}", plate.stamp);
    let there = handed.own(&path)?.join("full/max/0/default.jpg").is_file();
    if let Some(picture) = handed.noted(&path).filter(|_| there).and_then(|n| held_picture(&plate.name, &stamp, &n)) {
        return Ok((picture, false));
    }
    as_finished(&plate.mount, plate.blake3.as_deref())?;
    let folder = handed.folder(&path)?;
    let picture = making::write(plate, &folder).map_err(|e| Failure::new(e.to_string()))?;
    let [w, h] = picture.size;
    handed.note(&path, &format!("{stamp}:{w}:{h}:{}", picture.px_per_mm))?;
    Ok((picture, true))
}

/// What is noted of a picture, where it was made from the same mount.
fn held_picture(name: &str, stamp: &str, noted: &str) -> Option<Picture> {
    let facts = noted.strip_prefix(stamp)?.strip_prefix(':')?;
    let mut facts = facts.split(':');
    let mut side = || facts.next()?.parse().ok();
    let size = [side()?, side()?];
    Some(Picture { name: name.to_owned(), size, px_per_mm: facts.next()?.parse().ok()? })
}

/// Everything but the pictures: pages, lists, style and script, by their paths.
fn files(
    handed: &OutputFolder,
    site: &Site,
    shown: &[Shown],
    request: &Request,
    answer: &mut Answer,
) -> Result<Vec<(String, Vec<u8>)>, Error> {
    let style = publish::typefaces::css() + STYLE;
    let texts = [
        making::index(site, shown),
        making::manifest(site, shown),
        style,
        SCRIPT.to_owned(),
        publish::typefaces::licences(),
    ];
    let mut files: Vec<(String, String)> = PAGES.iter().map(|p| (*p).to_owned()).zip(texts).collect();
    for (i, s) in shown.iter().enumerate() {
        files.push((page_of(&s.plate.name), making::page(site, shown, i)));
        files.extend(s.pictures().map(|p| (info_of(&p.name), making::info(site, p))));
    }
    if let Some(kilobytes) = request.newsletter {
        let text = newsletter(handed, site, shown, kilobytes)?;
        answer.newsletter_bytes = Some(text.len());
        files.push((NEWSLETTER.to_owned(), text));
    }
    Ok(files.into_iter().map(|(path, text)| (path, text.into_bytes())).collect())
}

/// The newsletter, read from the disk where everything that goes into it is as it was.
fn newsletter(handed: &OutputFolder, site: &Site, shown: &[Shown], kilobytes: u32) -> Result<String, Error> {
    let mut facts = format!("{FORM} {} {kilobytes}", site.title);
    shown.iter().for_each(|s| facts.push_str(&format!("\n{} {:?}", s.plate.stamp, s.said)));
    let stamp = blake3::hash(facts.as_bytes()).to_hex().to_string();
    let path = NEWSLETTER;
    if handed.made_from(path).as_deref() == Some(&stamp)
        && let Ok(text) = base::files::regular::text(&handed.place(path))
        && handed.noted(path).as_deref() == Some(blake3::hash(text.as_bytes()).to_hex().as_str())
    {
        return Ok(text);
    }
    let text = making::newsletter(site, shown, &handed.place("iiif"), kilobytes).map_err(|e| match e {
        publish::Error::Refused(line) => Error::Refused(line),
        other => Failure::new(other.to_string()).into(),
    })?;
    handed.note_made_from(path, &stamp)?;
    Ok(text)
}

/// How many pictures a run made, in words.
pub fn told(answer: &Answer) -> String {
    let prints = count(answer.prints, "print", "prints");
    match (answer.made, answer.written + answer.gone) {
        (0, 0) => format!("{prints}; nothing has changed."),
        (0, _) => {
            format!("{prints}; no picture had to be made again, {} written.", count(answer.written, "file", "files"))
        }
        (made, _) if answer.already == 0 => format!("{prints}; {} made.", count(made, "picture", "pictures")),
        (made, _) => format!("{prints}; {} made, {} unchanged.", count(made, "picture", "pictures"), answer.already),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_are_whole() {
        assert_eq!(address("https://example.org/prints").unwrap(), "https://example.org/prints/");
        assert_eq!(address(HERE).unwrap(), HERE);
        for bad in ["", "example.org", "ftp://example.org", "https://", "https:///x", "https://a/?b", "https://a b"] {
            assert!(address(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn a_picture_is_known_by_its_mount() {
        let known = held_picture("P1", "1:aa", "1:aa:600:400:18.1984").unwrap();
        assert_eq!((known.size, known.px_per_mm), ([600, 400], 18.1984));
        for other in ["1:ab:600:400:18", "1:aa", "begun", "1:aa:600", "2:aa:600:400:18"] {
            assert_eq!(held_picture("P1", "1:aa", other), None, "{other}");
        }
    }
}
