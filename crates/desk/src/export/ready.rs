//! What is not ready for an export that a page describes, and what its prints would become.

use super::account;
use super::job::Job;
use crate::Desk;
use crate::wire::request::ExportRequest;
use handoff::book::Request as Book;
use handoff::pack;
use handoff::preview::{Form, Preview, preview};
use handoff::ready::{Purpose, Ready, Request, ready};
use project::Result;
use std::path::{Path, PathBuf};

impl Desk {
    /// What is not ready to be handed on so. Nothing is changed.
    ///
    /// # Errors
    /// The choices make no sense, or the catalogue cannot be read.
    pub fn ready(&self, wish: &ExportRequest) -> Result<Ready> {
        // An archive's folder need not be chosen yet.
        let job = (wish.kind() != "pack").then(|| Job::of(self, wish, Path::new(""))).transpose()?;
        let purpose = match job {
            Some(Job::Share(_, share)) => Purpose::Share { settings: share.settings, one_scale: share.one_scale },
            Some(Job::Gallery(_, gallery)) => Purpose::Gallery { backs: gallery.backs },
            Some(Job::Book(_, book)) => {
                let Book { scale, layout, .. } = *book;
                Purpose::Book { scale, backs: layout.iter().any(|l| l.trim() == "back") }
            }
            Some(Job::Pack(..)) | None => Purpose::Pack,
        };
        let earlier = self.earlier(wish)?;
        // By a reader of its own: the desk goes on meanwhile.
        ready(&Request { folder: self.folder.clone(), which: wish.which(), purpose, earlier })
    }

    /// The prints as what they would become. Nothing is changed; choices that make no sense are said in the answer.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn preview(&self, wish: &ExportRequest) -> Result<Preview> {
        if wish.kind() == "pack" {
            let (folder, which) = (self.folder.clone(), wish.which());
            return preview(Form::Pack(&pack::Request { folder, which, out: PathBuf::new(), title: None }));
        }
        match Job::of(self, wish, Path::new("")) {
            Ok(Job::Share(_, share)) => preview(Form::Share(&share)),
            Ok(Job::Gallery(_, gallery)) => preview(Form::Gallery(&gallery)),
            Ok(Job::Book(_, book)) => preview(Form::Book(&book)),
            Ok(Job::Pack(_, pack, _)) => preview(Form::Pack(&pack)),
            Err(why) => Ok(Preview { trouble: Some(why.to_string()), ..Preview::default() }),
        }
    }

    /// Folders of earlier exports of the same form and edit that are still there.
    fn earlier(&self, wish: &ExportRequest) -> Result<Vec<PathBuf>> {
        let past = account::past(&self.folder, &self.project())?;
        let same = past.into_iter().filter(|p| p.there && p.name.is_some() && p.form == wish.kind());
        Ok(same.filter(|p| p.edit.as_deref() == wish.edit()).map(|p| PathBuf::from(p.place)).collect())
    }
}
