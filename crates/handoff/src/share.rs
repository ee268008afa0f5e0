//! Shares: the chosen prints on white sheets of a shape, to post, with only the allowed words.

use crate::Event;
use crate::earlier;
use crate::selection::name_apart;
use crate::selection::{Plates, Which, plates};
use base::Exit;
use base::Failure;
use base::output_folder::{OutputFolder, SHARES, is_kind};
use base::wording::count;
use base::workers::{guarded, in_parallel, lock};
use catalogue::PrintId;
use finish::as_finished;
use project::{DATABASE, Error, Project};
use publish::privacy::{Allow, Said, Why, Word};
use publish::share::{Settings, make};
use publish::{Plate, mount::Mount, share};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

pub use publish::{privacy, share as making};

/// Least size of a file that can be asked for, kB: below it nothing of a print is left to see (ours).
pub const LEAST_KB: u32 = 10;

/// What to share, and how.
#[derive(Clone, Debug)]
pub struct Request {
    /// A project, or a folder of results.
    pub folder: PathBuf,
    /// Which of its prints.
    pub which: Which,
    /// Folder for the shares.
    pub out: PathBuf,
    /// Shape and size.
    pub settings: Settings,
    /// One scale for the whole set.
    pub one_scale: bool,
    /// The light that casts the shadows; none leaves them as they were finished.
    pub light: Option<finish::light::ShadowLight>,
    /// The words that may go out.
    pub allow: Allow,
}

/// A share that was made.
#[derive(Clone, Debug, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Shared {
    /// The print.
    pub print: String,
    /// Its file in the folder.
    pub file: String,
    /// Columns and rows.
    pub size_px: [usize; 2],
    /// Pixels for each millimetre of the print.
    pub px_per_mm: f64,
    /// Left, top, right and bottom of the print, pixels.
    pub print_px: [f64; 4],
    /// Bytes of the file.
    pub bytes: usize,
    /// JPEG quality, 1 to 100.
    pub quality: u8,
    /// What is seen, for who cannot see it.
    pub alt: String,
    /// True where nobody has written that text.
    pub alt_is_made: bool,
    /// Words that went with it.
    pub kept: Vec<String>,
    /// Words that stayed, and why.
    pub left_out: Vec<[String; 2]>,
    /// How its shadow came about.
    #[serde(default)]
    pub shadow: String,
    /// Sentences about anything otherwise than asked.
    pub notes: Vec<String>,
}

/// How it went.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Answer {
    /// The shares, in order.
    pub shares: Vec<Shared>,
    /// Prints that were left out because they are private.
    pub private: Vec<String>,
    /// A line for each print that is to be shot again: it is handed on as it is.
    pub reshoot: Vec<String>,
    /// The difference between what is known and what went out, in sentences.
    pub difference: Vec<String>,
    /// One line for each thing that went wrong.
    pub problems: Vec<String>,
}

impl Answer {
    /// How the process exits.
    pub fn exit(&self) -> Exit {
        match (self.shares.is_empty(), self.problems.is_empty()) {
            (true, _) => Exit::NothingDone,
            (_, true) => Exit::AllDone,
            _ => Exit::WithProblems,
        }
    }
}

/// Makes the shares. A print that cannot be shared is reported, and the others continue.
///
/// # Errors
/// There is nothing to share, the folder holds somebody else's files, or the disk refuses.
pub fn share(request: &Request, tell: &(dyn Fn(Event) + Sync)) -> Result<Answer, Error> {
    let mut plates = plates(&request.folder, &request.which)?;
    crate::relit::cast(&mut plates, request.light.as_ref());
    name_apart(&mut plates.plates);
    let (chosen, private) = allowed(&plates.plates, &request.allow);
    let all_private = || Error::Refused(format!("All of these prints are private: {}.", private.join(", ")));
    if chosen.is_empty() && !is_kind(&request.out, SHARES) {
        return Err(all_private());
    }
    let files: Vec<String> = (1..).zip(&chosen).map(|(n, (plate, _))| file_of(n, plate, request)).collect();
    let writes: Vec<String> = files.iter().cloned().chain([ALT_TEXT.to_owned()]).collect();
    let handed = OutputFolder::open(&request.out, SHARES, &plates.reads, &writes)?;
    let (removed, still_there) = remove_outdated(&handed, request, &chosen, &files, &plates.private);
    if chosen.is_empty() {
        handed.close()?;
        let lines = [removed, still_there].concat();
        return Err(Error::Refused([vec![all_private().to_string()], lines].concat().join(" ")));
    }
    let reshoot = to_reshoot(std::mem::take(&mut plates.reshoot), &private);
    let problems = [std::mem::take(&mut plates.missing), still_there].concat();
    let mut answer = Answer { private, reshoot, problems, ..Answer::default() };
    answer.problems.iter().for_each(|p| tell(Event::Problem(p.clone())));
    let scale = if request.one_scale { one_scale(&chosen, &request.settings) } else { None };
    let (made, failed) = (Mutex::new(vec![]), Mutex::new(vec![]));
    let done = AtomicUsize::new(0);
    let items: Vec<(usize, &(&Plate, Said))> = chosen.iter().enumerate().collect();
    in_parallel(&items, |(i, (plate, said))| {
        match guarded(|| one(&handed, &files[*i], plate, said, request, scale)) {
            Ok(shared) => lock(&made).push((*i, shared)),
            Err(e) => {
                let line = e.to_string();
                tell(Event::Problem(line.clone()));
                lock(&failed).push((*i, line));
            }
        }
        tell(Event::Done { done: done.fetch_add(1, Ordering::Relaxed) + 1, of: items.len() });
    });
    answer.shares = in_order(made);
    answer.problems.extend(in_order(failed));
    if !answer.shares.is_empty() {
        handed.put(ALT_TEXT, alt_text(&answer.shares).as_bytes())?;
    }
    handed.close()?;
    answer.difference = difference(&chosen);
    answer.difference.extend(plates.unsaid_note());
    answer.difference.extend(plates.turn_note(|name| answer.private.iter().any(|p| p == name)));
    answer.difference.extend(removed);
    let shared: Vec<&str> = answer.shares.iter().map(|s| s.print.as_str()).collect();
    let note = format!("{}, {}", request.settings.shape, count(shared.len(), "picture", "pictures"));
    let noted = record(&request.folder, "share", &request.out, &note, &plates, &shared)?;
    noted.into_iter().for_each(|line| tell(Event::Problem(line)));
    Ok(answer)
}

/// The plates that may go out with what may be said of them, and the names of those that may not.
pub(crate) fn allowed<'a>(plates: &'a [Plate], allow: &Allow) -> (Vec<(&'a Plate, Said)>, Vec<String>) {
    let (mut chosen, mut private) = (vec![], vec![]);
    for plate in plates {
        match allow.of(plate) {
            Some(said) => chosen.push((plate, said)),
            None => private.push(plate.name.clone()),
        }
    }
    (chosen, private)
}

/// Lines for the prints that are to be shot again, but for those that stay at home.
pub(crate) fn to_reshoot(mut lines: Vec<String>, private: &[String]) -> Vec<String> {
    lines.retain(|line| !private.iter().any(|name| line.starts_with(&format!("{name}:"))));
    lines
}

pub(crate) fn in_order<T>(of: Mutex<Vec<(usize, T)>>) -> Vec<T> {
    let mut of = of.into_inner().unwrap_or_else(std::sync::PoisonError::into_inner);
    of.sort_by_key(|(i, _)| *i);
    of.into_iter().map(|(_, t)| t).collect()
}

/// The scale at which the largest of the set still fits its sheet. A mount that cannot be read has its line later.
fn one_scale(chosen: &[(&Plate, Said)], settings: &Settings) -> Option<f64> {
    let least = Mutex::new(f64::MAX);
    in_parallel(chosen, |(plate, _)| {
        if let Ok(mount) = Mount::read(plate) {
            let scale = share::largest_px_per_mm(plate, &mount, settings);
            let mut least = lock(&least);
            *least = least.min(scale);
        }
    });
    let least = least.into_inner().unwrap_or_else(std::sync::PoisonError::into_inner);
    (least < f64::MAX).then_some(least)
}

/// The text beside the pictures.
const ALT_TEXT: &str = "alt-text.txt";

/// The file of a share. Those of an edit begin with their place in it, so that they are posted in its order.
fn file_of(place: usize, plate: &Plate, request: &Request) -> String {
    let file = format!("{}{}", plate.name, ending(request));
    match request.which {
        Which::Edit(_) => format!("{place:03}-{file}"),
        Which::All | Which::Found(_) => file,
    }
}

fn ending(request: &Request) -> String {
    format!("-{}.jpg", request.settings.shape.name())
}

/// Removes what earlier runs left in the folder and what may no longer be there: sentences about it, and those about what is still there.
fn remove_outdated(
    handed: &OutputFolder,
    request: &Request,
    chosen: &[(&Plate, Said)],
    files: &[String],
    private: &BTreeSet<String>,
) -> (Vec<String>, Vec<String>) {
    let words = chosen.iter().map(|(plate, said)| (plate.name.clone(), earlier::words_of(said))).collect();
    let run = earlier::Run {
        chosen_by: &earlier::chosen_by(&request.which),
        ending: &ending(request),
        files: &files.iter().cloned().collect(),
        words: &words,
        private,
    };
    earlier::remove_outdated(handed, &run)
}

fn one(
    handed: &OutputFolder,
    file: &str,
    plate: &Plate,
    said: &Said,
    request: &Request,
    scale: Option<f64>,
) -> Result<Shared, Failure> {
    let failed = |e: publish::Error| Failure::new(e.to_string());
    as_finished(&plate.mount, plate.blake3.as_deref())?;
    let mount = Mount::read(plate).map_err(failed)?;
    let made = make(plate, &mount, said, &request.settings, scale).map_err(failed)?;
    let from = earlier::made_from(&plate.name, &earlier::chosen_by(&request.which), &earlier::words_of(said));
    handed.note_made_from(file, &from)?;
    handed.put(file, &made.bytes)?;
    let kept = Word::ALL.into_iter().filter(|w| w.is_said(&said.words)).map(|w| w.word().to_owned()).collect();
    let left_out = said.left_out.iter().map(|(word, why)| [word.word(), why_word(*why)].map(str::to_owned)).collect();
    Ok(Shared {
        print: plate.name.clone(),
        file: file.to_owned(),
        size_px: made.size,
        px_per_mm: made.px_per_mm,
        print_px: made.print_px,
        bytes: made.bytes.len(),
        quality: made.quality,
        alt: said.alt.clone(),
        alt_is_made: said.alt_is_made,
        kept,
        left_out,
        shadow: plate.shadow.clone(),
        notes: made.notes,
    })
}

fn why_word(why: Why) -> &'static str {
    match why {
        Why::NotAllowed => "not allowed",
        Why::Ask => "ask first",
        Why::Names => "names a person or the place",
    }
}

/// The text beside the pictures: alt texts to copy into a post, and the prints that have none yet.
fn alt_text(shares: &[Shared]) -> String {
    let mut text = String::from(
        "Alt text for people who cannot see the pictures: copy it into the alt text field of the post.\n\n",
    );
    shares.iter().for_each(|s| text.push_str(&format!("{}\n    {}\n\n", s.file, s.alt)));
    let missing: Vec<&str> = shares.iter().filter(|s| s.alt_is_made).map(|s| s.print.as_str()).collect();
    if !missing.is_empty() {
        text.push_str("No alt text yet. These texts are composed from the other fields:\n");
        missing.iter().for_each(|p| text.push_str(&format!("    {p}\n")));
        text.push_str("Write it once and it is used everywhere: fallside describe P0001 --alt \"…\"\n");
    }
    text
}

/// What was published and what was left out, in sentences.
pub(crate) fn difference(chosen: &[(&Plate, Said)]) -> Vec<String> {
    let mut lines = vec![];
    let kept = Word::ALL.into_iter().filter_map(|word| {
        let n = chosen.iter().filter(|(_, s)| word.is_said(&s.words)).count();
        (n > 0).then(|| format!("{} of {n}", word.word()))
    });
    let kept: Vec<String> = kept.collect();
    if !kept.is_empty() {
        lines.push(format!("Kept: {}.", kept.join(", ")));
    }
    let reasons = [
        (Why::NotAllowed, "Left out because it is not allowed"),
        (Why::Ask, "Left out until you have permission"),
        (Why::Names, "Left out because it names a person or the place"),
    ];
    for (why, says) in reasons {
        let words = Word::ALL.into_iter().filter_map(|word| {
            let of: Vec<&str> = chosen
                .iter()
                .filter(|(_, s)| s.left_out.contains(&(word, why)))
                .map(|(p, _)| p.name.as_str())
                .collect();
            (!of.is_empty()).then(|| format!("{} of {}", word.word(), of.join(", ")))
        });
        let words: Vec<String> = words.collect();
        if !words.is_empty() {
            lines.push(format!("{says}: {}.", words.join("; ")));
        }
    }
    lines.push("Never included: camera, lens, exposure, digitisation date, the original's name and checksum.".into());
    lines
}

/// Writes into a project's catalogue that prints were handed on; a folder of results has none.
pub(crate) fn record(
    folder: &Path,
    kind: &str,
    out: &Path,
    note: &str,
    plates: &Plates,
    handed: &[&str],
) -> Result<Option<String>, Error> {
    if !folder.join(DATABASE).exists() || handed.is_empty() {
        return Ok(None);
    }
    let pairs = plates.plates.iter().zip(&plates.prints);
    let prints: Vec<_> = pairs.filter(|(p, _)| handed.contains(&p.name.as_str())).map(|(_, id)| *id).collect();
    note_hand_off(folder, kind, out, note, &prints)
}

/// Notes in a project's catalogue that prints went to `out`; a line where the project may not be written.
pub(crate) fn note_hand_off(
    folder: &Path,
    kind: &str,
    out: &Path,
    note: &str,
    prints: &[PrintId],
) -> Result<Option<String>, Error> {
    if !Project::is_writable(folder) {
        return Ok(Some(not_noted(folder)));
    }
    let mut project = Project::open(folder)?;
    project.set_room("hand");
    let place = place_in(folder, out);
    let says = format!("Handed on: {kind}, {}", count(prints.len(), "print", "prints"));
    project.change(&says, |w| w.hand_off(kind, &place, note, prints))?;
    Ok(None)
}

/// The message for a read-only project: everything is made, but the catalogue has no record of it.
pub(crate) fn not_noted(folder: &Path) -> String {
    format!(
        "{} may not be written, so its catalogue does not record that these prints were handed on.",
        folder.display()
    )
}

/// A path as stored in the catalogue: relative to the project if inside it, so that the project can be moved.
pub(crate) fn place_in(folder: &Path, out: &Path) -> String {
    let real = |p: &Path| p.canonicalize().unwrap_or_else(|_| p.to_owned());
    let place = real(out);
    place.strip_prefix(real(folder)).unwrap_or(&place).display().to_string()
}
