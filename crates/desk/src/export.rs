//! Exports from the desk: what the commands do, in the background and one at a time, each into a new folder.
//!
//! ```text
//! handed-on/2026-11-26-share-tight/        the files, made by the same functions as the command's
//! handed-on/2026-11-26-share-tight.json    what was asked for and what came of it; it is not handed on
//! ```

mod account;
mod job;
mod made;
mod ready;
mod work;

use crate::wire::HANDED_ON;
pub use made::MadeFile;

use super::wire::request::ExportRequest;
use super::wire::{Did, Ended, HandedOn, Hands, Making};
use super::{Desk, held};
use base::Failure;
use base::wording::capital;
use handoff::selection::Which;
use project::{Error, Result};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use work::Work;

/// The book's file.
const BOOK: &str = "book.pdf";

impl ExportRequest {
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
            Self::Share { .. } => "pictures",
            Self::Gallery { .. } => "a website",
            Self::Book { .. } => "a book",
            Self::Pack { .. } => "an archive",
        }
    }

    /// The edit; none: every print.
    pub fn edit(&self) -> Option<&str> {
        let (Self::Share { edit, .. } | Self::Gallery { edit, .. } | Self::Book { edit, .. } | Self::Pack { edit, .. }) =
            self;
        edit.as_deref()
    }

    fn which(&self) -> Which {
        self.edit().map_or(Which::All, |edit| Which::Edit(edit.to_owned()))
    }

    /// "pictures of tight".
    fn says(&self) -> String {
        let of = self.edit().unwrap_or("all prints");
        format!("{} of {of}", self.name())
    }

    /// The folder's name on a day: "2026-11-26-share-tight".
    fn folder(&self, day: &str) -> String {
        let edit = self.edit().unwrap_or("all").to_lowercase();
        let words = edit.split(|c: char| !c.is_ascii_alphanumeric()).filter(|w| !w.is_empty());
        let edit: String = words.collect::<Vec<_>>().join("-").chars().take(40).collect();
        let edit = if edit.is_empty() { "edit" } else { edit.trim_matches('-') };
        format!("{day}-{}-{edit}", self.kind())
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
    pub fn hand_on(self: &Arc<Self>, wish: ExportRequest) -> Result<Did> {
        self.begin(Work::New(wish))
    }

    /// Makes a site or an archive again in its place, with the choices it was made with: only what changed is made.
    ///
    /// # Errors
    /// There is none of that name, it is of another form, its disk is away, or as handing on.
    pub fn hand_on_again(self: &Arc<Self>, name: &str) -> Result<Did> {
        let before = account::known(&self.folder, name)?;
        if !before.wish.grows() {
            let says = format!("{} is exported to a new folder each time.", capital(before.wish.name()));
            return Err(Error::Refused(says));
        }
        if before.whole && matches!(before.wish, ExportRequest::Pack { .. }) {
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
        if !matches!(before.wish, ExportRequest::Pack { .. }) {
            return Err(Error::Refused("Only an archive can be checked.".into()));
        }
        at_its_place(&before.lies(&self.folder, name))?;
        if copy.as_ref().is_some_and(|copy| !copy.is_absolute()) {
            return Err(Error::Refused("Enter the full path of the second copy.".into()));
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

    fn wish(edit: Option<&str>) -> ExportRequest {
        ExportRequest::Gallery {
            edit: edit.map(str::to_owned),
            title: String::new(),
            address: String::new(),
            backs: false,
            light: None,
            newsletter: None,
            asked: false,
        }
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
        let read: ExportRequest = serde_json::from_str(text).unwrap();
        assert!(
            matches!(&read, ExportRequest::Share { one_scale: true, asked: false, kilobytes: None, .. }),
            "{read:?}"
        );
        assert_eq!(read.says(), "pictures of tight");
        let again: ExportRequest = serde_json::from_str(&serde_json::to_string(&read).unwrap()).unwrap();
        assert_eq!(again, read);
        for (text, names) in [
            (r#"{"edit":null,"form":"film"}"#, "film"),
            (r#"{"edit":null,"form":"pack","place":"/a","shape":"1:1"}"#, "shape"),
        ] {
            let refused = serde_json::from_str::<ExportRequest>(text).unwrap_err().to_string();
            assert!(refused.contains(names), "{refused}");
        }
    }
}
