//! What is not ready to be handed on: one list before anything is made, each line with what mends it.
//!
//! Only what would leave is looked at: a private print stays at home, and a back counts where backs are shown.

use crate::book::PPI_ASKED;
use crate::earlier::print_of;
use crate::selection::{Plates, Which, gathered, may_lie_upside_down, name_apart};
use base::output_folder::{GALLERY, LIST, MADE_FROM, SHARES, first_line};
use base::wording::count;
use catalogue::{FrameId, PrintId};
use finish::Role;
use finish::finding::Verdict;
use finish::report::Report;
use project::{DATABASE, Project, Result};
use publish::share::{Pixels, Settings, wanted_over_there};
use publish::{Plate, Privacy};
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// Most prints that a line names: more is a list that nobody reads to its end.
const NAMED: usize = 200;
/// Millimetres to the inch.
const INCH: f64 = 25.4;

/// What the prints are handed on as.
#[derive(Clone, Debug)]
pub enum Purpose {
    /// Pictures to post.
    Share {
        /// Shape and size of the sheet.
        settings: Settings,
        /// One scale for the whole set: then a small print is meant to be small.
        one_scale: bool,
    },
    /// A site.
    Gallery {
        /// With the backs of prints that everyone may see.
        backs: bool,
    },
    /// A book.
    Book {
        /// Size on the page over true size.
        scale: f64,
        /// With backs.
        backs: bool,
    },
    /// An archive, which keeps private prints too.
    Pack,
}

/// What to look at.
#[derive(Clone, Debug)]
pub struct Request {
    /// A project, or a folder of results.
    pub folder: PathBuf,
    /// Which of its prints.
    pub which: Which,
    /// What for.
    pub purpose: Purpose,
    /// Folders that were handed on before and may hold prints that no longer belong there.
    pub earlier: Vec<PathBuf>,
}

/// What is missing, the most harmful first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Lack {
    /// Nobody has decided who may see it.
    Privacy,
    /// A folder handed on before holds what was taken out of the edit, or is private now.
    Leftover,
    /// Nobody knows which way is up.
    Turn,
    /// It is to be photographed again.
    Reshoot,
    /// It has no mount.
    Unfinished,
    /// Too few pixels for the size asked for.
    Pixels,
    /// Nobody has written what is seen.
    Alt,
}

/// The list.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Ready {
    /// How many prints would leave.
    pub prints: usize,
    /// Names of the private ones that stay at home.
    pub private: Vec<String>,
    /// What is missing; empty where all is ready.
    pub items: Vec<NotReady>,
}

/// A thing that is missing, of one or several prints.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct NotReady {
    /// Which.
    pub what: Lack,
    /// Of how many prints.
    pub count: usize,
    /// A sentence.
    pub says: String,
    /// What mends it on the command line.
    #[serde(rename = "do")]
    pub remedy: String,
    /// For too few pixels of a share: the longer side that all of them have pixels for.
    pub pixels: Option<usize>,
    /// The prints, the first 200 of them.
    pub prints: Vec<NotReadyPrint>,
}

/// A print of which something is missing.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct NotReadyPrint {
    /// Its number in the project.
    pub print: Option<i64>,
    /// Its name, as `P0004`.
    pub name: String,
    /// Its title.
    pub title: String,
    /// The frame that shows it.
    pub frame: Option<i64>,
    /// True where that shows its back.
    pub back: bool,
    /// The frame's file.
    pub file: String,
    /// Quarter turns clockwise that a person gave it, 0 to 3.
    pub turn: u8,
    /// Hash of what made its picture: another one is another picture.
    pub stamp: String,
    /// More about it, a sentence; empty where there is none.
    pub says: String,
}

/// Looks at everything that would leave.
///
/// # Errors
/// The folder is neither a project nor one of results; the edit is not there; the line is not understood.
pub fn ready(request: &Request) -> Result<Ready> {
    let mut all = gathered(&request.folder, &request.which)?;
    let project = request.folder.join(DATABASE).exists().then(|| Project::open_to_read(&request.folder)).transpose()?;
    let look = Look { request, all: &all, project: project.as_ref() };
    let leaving: Vec<usize> = (0..all.plates.len()).filter(|i| look.leaves(&all.plates[*i])).collect();
    let mut items = [
        look.privacy(&leaving)?,
        look.turn(&leaving)?,
        look.reshoot(&leaving)?,
        look.unfinished()?,
        look.pixels(&leaving)?,
        look.alt(&leaving)?,
    ]
    .into_iter()
    .flatten()
    .collect::<Vec<_>>();
    let private: Vec<String> =
        all.plates.iter().filter(|p| p.words.privacy == Privacy::Private).map(|p| p.name.clone()).collect();
    let private = if matches!(request.purpose, Purpose::Pack) { vec![] } else { private };
    let prints = leaving.len();
    name_apart(&mut all.plates);
    let names: BTreeSet<&str> = leaving.iter().map(|i| all.plates[*i].name.as_str()).collect();
    let after_privacy = items.iter().take_while(|i| i.what == Lack::Privacy).count();
    items.splice(after_privacy..after_privacy, leftover(&request.earlier, &names, &all.private));
    Ok(Ready { prints, private, items })
}

impl Ready {
    /// Line by line, as a terminal shows it.
    pub fn lines(&self) -> Vec<String> {
        let prints = count(self.prints, "print", "prints");
        if self.items.is_empty() {
            return vec![format!("{prints}: all ready.")];
        }
        let mut lines = vec![format!("{prints}, and {} to settle first:", count(self.items.len(), "thing", "things"))];
        for item in &self.items {
            lines.push(item.says.clone());
            lines.extend(item.prints.iter().map(|one| format!("    {}", one.line())));
            if item.count > item.prints.len() {
                lines.push(format!("    and {} more", item.count - item.prints.len()));
            }
            lines.push(format!("    {}", item.remedy));
        }
        lines
    }
}

impl NotReadyPrint {
    /// "P0004  Low tide  F4.jpg  …".
    fn line(&self) -> String {
        let side = if self.back { "its back".to_owned() } else { String::new() };
        let parts = [&self.name, &self.title, &side, &self.file, &self.says];
        parts.into_iter().filter(|p| !p.is_empty()).map(String::as_str).collect::<Vec<_>>().join("  ")
    }
}

struct Look<'a> {
    request: &'a Request,
    all: &'a Plates,
    project: Option<&'a Project>,
}

/// A side of a plate: which plate, and whether it is its back.
type Side = (usize, bool);

impl Look<'_> {
    fn leaves(&self, plate: &Plate) -> bool {
        matches!(self.request.purpose, Purpose::Pack) || plate.words.privacy != Privacy::Private
    }

    /// Fronts, and the backs that are shown.
    fn sides(&self, leaving: &[usize]) -> Vec<Side> {
        let shown = |i: &usize| match self.request.purpose {
            Purpose::Gallery { backs } => backs && self.all.plates[*i].words.privacy == Privacy::Open,
            Purpose::Book { backs, .. } => backs,
            Purpose::Share { .. } => false,
            Purpose::Pack => true,
        };
        let back = |i: &usize| (shown(i) && self.all.plates[*i].back.is_some()).then_some((*i, true));
        leaving.iter().flat_map(|i| std::iter::once((*i, false)).chain(back(i))).collect()
    }

    fn report(&self, (i, back): Side) -> Option<&Report> {
        let plate = &self.all.plates[i];
        let plate = if back { plate.back.as_deref()? } else { plate };
        self.all.reports.get(&plate.mount)
    }

    fn privacy(&self, leaving: &[usize]) -> Result<Option<NotReady>> {
        if matches!(self.request.purpose, Purpose::Pack) {
            return Ok(None);
        }
        let unsaid = leaving.iter().filter(|i| self.all.unsaid.contains(&self.all.plates[**i].name));
        let found: Vec<Side> = unsaid.map(|i| (*i, false)).collect();
        let says = count(found.len(), "print says", "prints say");
        let them = if found.len() == 1 { "it" } else { "them" };
        self.item(
            Lack::Privacy,
            &found,
            format!("{says} nothing of who may see {them}, so names and places stay behind."),
            "Decide once for this project: fallside privacy open, ask or private.".into(),
        )
    }

    fn turn(&self, leaving: &[usize]) -> Result<Option<NotReady>> {
        let shown = self.sides(leaving).into_iter().filter(|(_, back)| {
            // An archive keeps every back, and nobody looks at it upright.
            !(*back && matches!(self.request.purpose, Purpose::Pack))
        });
        let found: Vec<Side> = shown.filter(|s| self.report(*s).is_some_and(may_lie_upside_down)).collect();
        let says = count(found.len(), "print", "prints");
        self.item(
            Lack::Turn,
            &found,
            format!("{says} may lie upside down: nothing there says which way is up."),
            "Say it of each: fallside mend FRAME --turn 0 where it is upright as it lies, or 1, 2, 3 for so many quarter turns \
             clockwise."
                .into(),
        )
    }

    fn reshoot(&self, leaving: &[usize]) -> Result<Option<NotReady>> {
        let again = |s: &Side| self.report(*s).is_some_and(|r| r.verdict == Verdict::Reshoot);
        let found: Vec<Side> = self.sides(leaving).into_iter().filter(again).collect();
        let says = count(found.len(), "print is", "prints are");
        let item = self.item(
            Lack::Reshoot,
            &found,
            format!("{says} to be photographed again."),
            "Photograph it again and take the new frame in: the print keeps its number and its words.".into(),
        )?;
        Ok(item.map(|item| {
            self.with(item, &found, |look, side| {
                look.report(side).and_then(|r| r.findings.first()).map(|f| f.says.clone()).unwrap_or_default()
            })
        }))
    }

    fn pixels(&self, leaving: &[usize]) -> Result<Option<NotReady>> {
        let of = |i: usize| &self.all.plates[i];
        match &self.request.purpose {
            Purpose::Share { settings, one_scale: false } => {
                let over = |i: usize| wanted_over_there(of(i), settings);
                let found: Vec<Side> = leaving.iter().filter(|i| over(**i) > 1.0).map(|i| (*i, false)).collect();
                let most = found.iter().map(|s| over(s.0)).fold(1.0, f64::max);
                // Whole tens are what a person types.
                let enough = |long: usize| ((long as f64 / most / 10.0).floor() * 10.0) as usize;
                let pixels = match settings.pixels {
                    Pixels::Long(long) => Some(enough(long)),
                    Pixels::Sheet(_) => None,
                };
                let [w, h] = settings.pixels.size(settings.shape);
                let remedy = match pixels {
                    Some(n) => format!("Ask for fewer, with --pixels {n}; or photograph them from nearer."),
                    None => "Ask for a smaller sheet; or photograph them from nearer.".into(),
                };
                let has = count(found.len(), "print has", "prints have");
                let item =
                    self.item(Lack::Pixels, &found, format!("{has} too few pixels for a sheet of {w} × {h}."), remedy)?;
                let less = |_: &Self, (i, _): Side| format!("Enough for {:.0} % of that size.", 100.0 / over(i));
                Ok(item.map(|item| NotReady { pixels, ..self.with(item, &found, less) }))
            }
            Purpose::Book { scale, .. } => {
                let ppi = |i: usize| of(i).px_per_mm * INCH / scale;
                let found: Vec<Side> = leaving.iter().filter(|i| ppi(**i) < PPI_ASKED).map(|i| (*i, false)).collect();
                let has = count(found.len(), "print has", "prints have");
                let item = self.item(
                    Lack::Pixels,
                    &found,
                    format!("{has} fewer than {PPI_ASKED:.0} pixels per inch on the page, which printers ask for."),
                    "Photograph them from nearer, or print them smaller with --scale.".into(),
                )?;
                Ok(item.map(|item| self.with(item, &found, |_, (i, _)| format!("{:.0} pixels per inch.", ppi(i)))))
            }
            _ => Ok(None),
        }
    }

    fn alt(&self, leaving: &[usize]) -> Result<Option<NotReady>> {
        // Nobody reads it on paper.
        if matches!(self.request.purpose, Purpose::Book { .. }) || self.project.is_none() {
            return Ok(None);
        }
        let silent = leaving.iter().filter(|i| self.all.plates[**i].words.alt.trim().is_empty());
        let found: Vec<Side> = silent.map(|i| (*i, false)).collect();
        let says = count(found.len(), "print", "prints");
        self.item(
            Lack::Alt,
            &found,
            format!("Nobody has written what is seen on {says}: people who cannot see get no alt text."),
            "Write it once, and it is used everywhere: fallside describe P0001 --alt \"…\"".into(),
        )
    }

    fn unfinished(&self) -> Result<Option<NotReady>> {
        let lines = &self.all.missing;
        if lines.is_empty() {
            return Ok(None);
        }
        let mut prints = vec![];
        for line in lines.iter().take(NAMED) {
            let name = line.split([' ', ':']).next().unwrap_or_default().to_owned();
            let print = number(&name).filter(|_| self.project.is_some());
            prints.push(match print {
                Some(id) => self.one(id, false, name)?,
                None => NotReadyPrint { name, ..NotReadyPrint::default() },
            });
        }
        let has = count(lines.len(), "print has", "prints have");
        Ok(Some(NotReady {
            what: Lack::Unfinished,
            count: lines.len(),
            says: format!("{has} no finished picture and stay behind."),
            remedy: "Finish a front of each first; fallside list frames names them.".into(),
            pixels: None,
            prints,
        }))
    }

    /// A line of the list; none where nothing was found.
    fn item(&self, what: Lack, found: &[Side], says: String, remedy: String) -> Result<Option<NotReady>> {
        if found.is_empty() {
            return Ok(None);
        }
        let mut prints = vec![];
        for side in found.iter().take(NAMED) {
            prints.push(self.side(*side)?);
        }
        Ok(Some(NotReady { what, count: found.len(), says, remedy, pixels: None, prints }))
    }

    /// The same, with a sentence for each print.
    fn with(&self, mut item: NotReady, found: &[Side], says: impl Fn(&Self, Side) -> String) -> NotReady {
        item.prints.iter_mut().zip(found).for_each(|(one, side)| one.says = says(self, *side));
        item
    }

    fn side(&self, side: Side) -> Result<NotReadyPrint> {
        let (plate, report) = (&self.all.plates[side.0], self.report(side));
        let file = report.map(|r| r.frame.path.rsplit(['/', '\\']).next().unwrap_or_default().to_owned());
        let turn = report.and_then(|r| r.recipe.by_hand.as_ref()?.turn).unwrap_or(0);
        let title = plate.words.title.clone();
        let one = match self.all.prints.get(side.0) {
            Some(PrintId(id)) => self.one(*id, side.1, plate.name.clone())?,
            None => NotReadyPrint { name: plate.name.clone(), back: side.1, ..NotReadyPrint::default() },
        };
        Ok(NotReadyPrint { title, turn, file: file.unwrap_or_default(), ..one })
    }

    /// A print of the project with the frame that shows it.
    fn one(&self, id: i64, back: bool, name: String) -> Result<NotReadyPrint> {
        let print = self.project.map(|p| p.catalogue().print(PrintId(id))).transpose()?.flatten();
        let frame = print.as_ref().and_then(|p| {
            let of = |id: FrameId| p.frames.iter().find(|f| f.id == id);
            if back { p.frames.iter().rfind(|f| f.role == Role::Back.word()) } else { p.front.and_then(of) }
        });
        Ok(NotReadyPrint {
            print: Some(id),
            name,
            title: print.as_ref().map(|p| p.facts.title.clone()).unwrap_or_default(),
            frame: frame.map(|f| f.id.0),
            back,
            stamp: frame.and_then(|f| f.result.as_ref()).map(|r| r.recipe.clone()).unwrap_or_default(),
            ..NotReadyPrint::default()
        })
    }
}

/// The number of a print's name: 4 of `P0004`.
fn number(name: &str) -> Option<i64> {
    name.strip_prefix('P')?.parse().ok()
}

/// Prints in folders handed on before that no longer belong there.
fn leftover(folders: &[PathBuf], wanted: &BTreeSet<&str>, private: &BTreeSet<String>) -> Option<NotReady> {
    let mut prints = vec![];
    for folder in folders {
        for (name, files) in prints_in(folder) {
            if wanted.contains(name.as_str()) {
                continue;
            }
            let why = if private.contains(&name) { "private now" } else { "no longer chosen" };
            prints.push(NotReadyPrint {
                print: number(&name),
                says: format!("{why}; {} in {}.", files.join(", "), folder.display()),
                name,
                ..NotReadyPrint::default()
            });
        }
    }
    let many = prints.len();
    (many > 0).then(|| NotReady {
        what: Lack::Leftover,
        count: many,
        says: format!(
            "{} of an earlier export {} no longer to be shown, and the files are still there.",
            count(many, "print", "prints"),
            if many == 1 { "is" } else { "are" }
        ),
        remedy: "Make the shares or the gallery again into the same folder, which takes them away, or delete the files named; \
                 and delete them where you published them."
            .into(),
        pixels: None,
        prints: prints.into_iter().take(NAMED).collect(),
    })
}

/// The prints of a folder that Fallside wrote, with their files that are still there.
pub(crate) fn prints_in(folder: &Path) -> BTreeMap<String, Vec<String>> {
    let mut found: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    let Ok(text) = base::files::regular::text(&folder.join(LIST)) else { return BTreeMap::new() };
    let mut lines = text.lines();
    let Some(kind) = lines.next() else { return BTreeMap::new() };
    let kind = [SHARES, GALLERY].into_iter().find(|k| first_line(k) == kind);
    let lines: Vec<(&str, &str)> = lines.filter_map(|l| l.split_once(' ')).collect();
    let told: BTreeMap<&str, &str> =
        lines.iter().filter_map(|(what, path)| Some((path.strip_suffix(MADE_FROM)?, *what))).collect();
    for (_, path) in &lines {
        let name = match kind {
            Some(SHARES) if path.ends_with(".jpg") && path.contains('-') => {
                Some(print_of(path, told.get(path).copied().unwrap_or_default()))
            }
            Some(GALLERY) => path.strip_prefix("prints/").and_then(|p| p.strip_suffix(".html")).map(str::to_owned),
            _ => None,
        };
        // The list may come from somebody else: a name is no path.
        let name = name.filter(|n| !n.contains(['/', '\\']));
        if let Some(name) = name.filter(|_| folder.join(path).is_file()) {
            found.entry(name).or_default().insert((*path).to_owned());
        }
    }
    found.into_iter().map(|(name, files)| (name, files.into_iter().collect())).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_no_longer_belongs_into_a_folder_is_named_with_its_files() {
        let top = tempfile::tempdir().unwrap();
        let list = format!(
            "{}\nx P0001-4x5.jpg\nx P0002-4x5.jpg\nx P0003-1.91x1.jpg\nx gone-4x5.jpg\nx ../P0009-4x5.jpg\nx alt-text.txt\n\
             P0001:tight:words 001-P0001-4x5.jpg#made-from\nx 001-P0001-4x5.jpg\n",
            first_line(SHARES)
        );
        std::fs::write(top.path().join(LIST), list).unwrap();
        for file in ["001-P0001-4x5.jpg", "P0001-4x5.jpg", "P0002-4x5.jpg", "P0003-1.91x1.jpg", "alt-text.txt"] {
            std::fs::write(top.path().join(file), "").unwrap();
        }
        let item =
            leftover(&[top.path().to_owned()], &BTreeSet::from(["P0001"]), &["P0002".to_owned()].into()).unwrap();
        assert_eq!(item.count, 2);
        let said: Vec<(&str, Option<i64>)> = item.prints.iter().map(|p| (p.name.as_str(), p.print)).collect();
        assert_eq!(said, [("P0002", Some(2)), ("P0003", Some(3))]);
        assert!(item.prints[0].says.starts_with("private now; P0002-4x5.jpg in "), "{}", item.prints[0].says);
        assert!(item.prints[1].says.starts_with("no longer chosen; P0003-1.91x1.jpg in "), "{}", item.prints[1].says);
        assert_eq!(
            leftover(&[top.path().to_owned()], &BTreeSet::from(["P0001", "P0002", "P0003"]), &BTreeSet::new()),
            None
        );
        // Another kind of folder, or none at all, holds nothing of ours.
        std::fs::write(top.path().join(LIST), "something else\nx P0001-4x5.jpg\n").unwrap();
        assert!(prints_in(top.path()).is_empty() && prints_in(&top.path().join("nowhere")).is_empty());
        std::fs::create_dir(top.path().join("prints")).unwrap();
        std::fs::write(top.path().join("prints/P0005.html"), "").unwrap();
        std::fs::write(top.path().join(LIST), format!("{}\nx prints/P0005.html\nx iiif/P0005/\n", first_line(GALLERY)))
            .unwrap();
        assert_eq!(prints_in(top.path()).into_keys().collect::<Vec<_>>(), ["P0005"]);
    }
}
