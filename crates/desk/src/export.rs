//! Handing on from the desk: what the commands do, in the background and one at a time, each into a new folder of its own.
//!
//! ```text
//! handed-on/2026-11-26-share-tight/        the files, made by the same functions as the command's
//! handed-on/2026-11-26-share-tight.json    what was asked for and what came of it; it is not handed on
//! ```

mod account;
mod job;
mod made;
mod work;

pub use account::{Account, json_schema};
pub use made::MadeFile;

use super::wire::{Did, Ended, HandedOn, Hands, Making};
use super::{Desk, held};
use base::Failure;
use base::wording::capital;
use handoff::selection::Which;
use project::{Error, Result};
use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use work::Work;

/// The project's folder of what was handed on.
pub const HANDED_ON: &str = "handed-on";
/// The book's file.
const BOOK: &str = "book.pdf";

/// What is handed on, and as what.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct HandWish {
    /// The edit; every print where none is named.
    pub edit: Option<String>,
    /// As what.
    #[serde(flatten)]
    pub form: Form,
}

/// What prints are handed on as, with the choices that matter; what is not said is as the command has it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(tag = "form", rename_all = "lowercase")]
pub enum Form {
    /// Pictures to post.
    Share {
        /// Width to height, as `4:5`.
        shape: String,
        /// The longer side, as `2160`, or both.
        pixels: String,
        /// Most size of a file.
        #[serde(default)]
        kilobytes: Option<u32>,
        /// One scale for the whole set.
        #[serde(default)]
        one_scale: bool,
        /// Whoever is to be asked was asked.
        #[serde(default)]
        asked: bool,
    },
    /// A site of plain files.
    Gallery {
        /// Its title.
        title: String,
        /// Where it will be read, for other viewers; this machine where that is empty.
        #[serde(default)]
        address: String,
        /// Backs too, of prints that everyone may see.
        #[serde(default)]
        backs: bool,
        /// Also a newsletter of at most so many kB.
        #[serde(default)]
        newsletter: Option<u32>,
        /// Whoever is to be asked was asked.
        #[serde(default)]
        asked: bool,
    },
    /// Prints on paper.
    Book {
        /// Its title.
        #[serde(default)]
        title: String,
        /// Its author.
        #[serde(default)]
        author: String,
        /// Width and height of a page after the cut, mm.
        trim_mm: [f64; 2],
        /// Arrangements in turn, as `single`.
        layout: Vec<String>,
        /// The printer's ICC profile of press and paper.
        #[serde(default)]
        printer: Option<PathBuf>,
        /// First dot that the press prints, per cent of full ink; the usual one where it is not said.
        #[serde(default)]
        first_dot: Option<f64>,
        /// Words under the prints.
        captions: bool,
        /// Also a proof sheet for the printer.
        #[serde(default)]
        proof: bool,
        /// Also a dummy at half size.
        #[serde(default)]
        dummy: bool,
        /// Also a deck of cards to deal.
        #[serde(default)]
        deck: bool,
    },
    /// An archive: originals, results and words in a bag, read again when it is packed.
    Pack {
        /// What it holds, in the photographer's words.
        #[serde(default)]
        title: String,
        /// The bag: a whole path outside the project, best on another disk.
        place: PathBuf,
    },
}

impl Form {
    /// As the catalogue calls it.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Share { .. } => "share",
            Self::Gallery { .. } => "gallery",
            Self::Book { .. } => "book",
            Self::Pack { .. } => "pack",
        }
    }

    /// True where only what changed is made when it is made again: what is no longer chosen is taken away, and an archive keeps all.
    fn grows(&self) -> bool {
        matches!(self, Self::Gallery { .. } | Self::Pack { .. })
    }

    fn name(&self) -> &'static str {
        match self {
            Self::Share { .. } => "pictures to post",
            Self::Gallery { .. } => "a site",
            Self::Book { .. } => "a book",
            Self::Pack { .. } => "an archive",
        }
    }
}

impl HandWish {
    fn which(&self) -> Which {
        self.edit.clone().map_or(Which::All, Which::Edit)
    }

    /// "pictures to post of tight".
    fn says(&self) -> String {
        let of = self.edit.as_deref().unwrap_or("all prints");
        format!("{} of {of}", self.form.name())
    }

    /// The folder's name on a day: "2026-11-26-share-tight".
    fn folder(&self, day: &str) -> String {
        let edit = self.edit.as_deref().unwrap_or("all").to_lowercase();
        let words = edit.split(|c: char| !c.is_ascii_alphanumeric()).filter(|w| !w.is_empty());
        let edit: String = words.collect::<Vec<_>>().join("-").chars().take(40).collect();
        let edit = if edit.is_empty() { "edit" } else { edit.trim_matches('-') };
        format!("{day}-{}-{edit}", self.form.kind())
    }
}

/// What is being handed on, and how the last one ended.
#[derive(Debug, Default)]
pub(super) struct Handing {
    making: Option<Making>,
    ended: Option<Ended>,
}

impl Desk {
    /// Begins to hand prints on, in the background; how it goes and how it ended is told.
    ///
    /// # Errors
    /// The choices make no sense; something is being handed on already; this desk only reads.
    pub fn hand_on(self: &Arc<Self>, wish: HandWish) -> Result<Did> {
        self.begin(Work::New(wish))
    }

    /// Makes a site or an archive again in its place, with the choices it was made with: only what changed is made.
    ///
    /// # Errors
    /// There is none of that name, it is of another form, its disk is away, or as handing on.
    pub fn hand_on_again(self: &Arc<Self>, name: &str) -> Result<Did> {
        let before = account::known(&self.folder, name)?;
        if !before.wish.form.grows() {
            let says = format!("{} is made into a new folder each time.", capital(before.wish.form.name()));
            return Err(Error::Refused(says));
        }
        if before.whole && matches!(before.wish.form, Form::Pack { .. }) {
            at_its_place(&before.lies(&self.folder, name))?;
        }
        self.begin(Work::Again { name: name.to_owned(), before })
    }

    /// Reads an archive again, whole, and its second copy where one is named; what was found stands in its account.
    ///
    /// # Errors
    /// There is none of that name, it is no archive, its disk is away, the copy's path is not whole, or as handing on.
    pub fn check_archive(self: &Arc<Self>, name: &str, copy: Option<PathBuf>) -> Result<Did> {
        let before = account::known(&self.folder, name)?;
        if !matches!(before.wish.form, Form::Pack { .. }) {
            return Err(Error::Refused("Only an archive is checked.".into()));
        }
        at_its_place(&before.lies(&self.folder, name))?;
        if copy.as_ref().is_some_and(|copy| !copy.is_absolute()) {
            return Err(Error::Refused("Say the whole path of the second copy.".into()));
        }
        self.begin(Work::Check { name: name.to_owned(), copy, before })
    }

    /// What is being handed on, what was, and how the last one ended.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn hands(&self) -> Result<Hands> {
        let mut past = account::past(&self.folder, &self.project())?;
        let handing = held(&self.handing);
        let free = handing.making.is_none() && self.reads_only.is_none();
        past.iter_mut().for_each(|p| p.again &= free);
        Ok(Hands { making: handing.making.clone(), ended: handing.ended.clone(), past })
    }

    /// A hand-off that lies in the project, with everything that is to be seen of it; `None` where there is none.
    ///
    /// # Errors
    /// What is known of it cannot be read.
    pub fn handed_on(&self, name: &str) -> Result<Option<HandedOn>> {
        let mut it = account::read(&self.folder, name)?;
        it.iter_mut().for_each(|it| it.again &= self.reads_only.is_none());
        Ok(it)
    }

    /// A file of a hand-off that lies in the project; `None` where there is no such file to be shown.
    pub fn made(&self, name: &str, path: &str) -> Option<MadeFile> {
        MadeFile::find(&self.folder.join(HANDED_ON), name, path)
    }
}

/// An archive's disk must be there.
fn at_its_place(bag: &Path) -> Result<()> {
    if bag.is_dir() {
        return Ok(());
    }
    let says = format!("The archive is not at {}.", bag.display());
    Err(Failure::new(says).with_remedy("Connect its disk, and try again.").into())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wish(edit: Option<&str>) -> HandWish {
        let form = Form::Gallery {
            title: String::new(),
            address: String::new(),
            backs: false,
            newsletter: None,
            asked: false,
        };
        HandWish { edit: edit.map(str::to_owned), form }
    }

    #[test]
    fn a_folder_is_named_for_any_disk() {
        for (edit, name) in [
            (None, "d-gallery-all"),
            (Some("tight"), "d-gallery-tight"),
            (Some("For Ada & Bo"), "d-gallery-for-ada-bo"),
            (Some("../../etc"), "d-gallery-etc"),
            (Some("夏"), "d-gallery-edit"),
        ] {
            assert_eq!(wish(edit).folder("d"), name);
        }
    }

    #[test]
    fn a_wish_is_read_as_the_page_writes_it() {
        let text = r#"{"edit":"tight","form":"share","shape":"4:5","pixels":"2160","one_scale":true}"#;
        let read: HandWish = serde_json::from_str(text).unwrap();
        assert!(matches!(&read.form, Form::Share { one_scale: true, asked: false, kilobytes: None, .. }), "{read:?}");
        assert_eq!(read.says(), "pictures to post of tight");
        let again: HandWish = serde_json::from_str(&serde_json::to_string(&read).unwrap()).unwrap();
        assert_eq!(again, read);
        assert!(serde_json::from_str::<HandWish>(r#"{"edit":null,"form":"film"}"#).is_err());
    }
}
