//! The work of handing on, in the background and one at a time: made, made again, read again.

use super::account;
use super::job::{self, Job};
use super::{ExportRequest, HANDED_ON, Handing, capital};
use crate::wire::account::Account;
use crate::wire::{Did, Ended, Event, Making};
use crate::{Desk, held};
use base::Failure;
use base::files::write;
use base::workers::guarded;
use project::{Error, Result};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Hand-offs of one name on one day: nobody makes more.
const ALIKE: usize = 1000;

/// What is to be done.
pub(super) enum Work {
    /// Made into a new folder.
    New(ExportRequest),
    /// Made again in its place.
    Again { name: String, before: Account },
    /// An archive read again, with its second copy.
    Check { name: String, copy: Option<PathBuf>, before: Account },
}

impl Work {
    fn wish(&self) -> &ExportRequest {
        match self {
            Self::New(wish) => wish,
            Self::Again { before, .. } | Self::Check { before, .. } => &before.wish,
        }
    }

    /// "Exporting a website of tight".
    fn says(&self) -> String {
        let verb = if let Self::Check { .. } = self { "Checking" } else { "Exporting" };
        format!("{verb} {}", self.wish().says())
    }
}

impl Desk {
    /// Begins in the background.
    ///
    /// # Errors
    /// The choices make no sense; something is being done already; this desk only reads.
    pub(super) fn begin(self: &Arc<Self>, work: Work) -> Result<Did> {
        self.may_write()?;
        // What can be known to be wrong is said at once.
        Job::of(self, work.wish(), Path::new(""))?;
        let did = work.says();
        {
            let mut handing = held(&self.handing);
            if let Some(now) = &handing.making {
                return Err(Error::Refused(format!("{}: wait until it is finished.", now.name)));
            }
            *handing = Handing { making: Some(Making { name: did.clone(), done: 0, of: 0 }), ended: None };
        }
        let desk = Arc::clone(self);
        std::thread::spawn(move || desk.work(&work));
        self.done(&self.project(), did)
    }

    fn work(&self, work: &Work) {
        // Accounts that a killed desk left half written. One thing is handed on at a time, and by one desk: nobody is writing one now.
        write::sweep(&self.folder.join(HANDED_ON), |_| true);
        let now = || match work {
            Work::New(wish) => {
                let day = base::clock::today();
                let name = new_folder(&self.folder.join(HANDED_ON), &wish.folder(&day))?;
                self.make(work, name, None)
            }
            Work::Again { name, before } => self.make(work, name.clone(), Some(before)),
            Work::Check { name, copy, before } => {
                let bag = before.lies(&self.folder, name);
                let found = job::checked(&bag, copy.as_ref(), &|done, of| self.heard(work, done, of))?;
                let says = found.says.clone();
                account::write(&self.folder, name, &Account { checked: Some(found), ..before.clone() })?;
                Ok((name.clone(), says))
            }
        };
        // A fault of ours ends this work and no other.
        let made = guarded(|| Ok(now())).map_err(Error::from).and_then(|made| made);
        let ended = match made {
            Ok((name, says)) => {
                let first = says.first().map_or("done.", String::as_str);
                Ended { name: Some(name), says: format!("{}: {first}", capital(&work.wish().says())), remedy: None }
            }
            Err(Error::File(e)) => Ended { name: None, says: e.says, remedy: e.remedy },
            Err(e) => Ended { name: None, says: e.to_string(), remedy: None },
        };
        *held(&self.handing) = Handing { making: None, ended: Some(ended.clone()) };
        self.tell(&Event::Handed(Box::new(ended)));
        self.tell(&Event::Changed);
    }

    /// Makes it in its folder, and gives the folder's name and how it went.
    fn make(&self, work: &Work, name: String, before: Option<&Account>) -> Result<(String, Vec<String>)> {
        let out = self.folder.join(HANDED_ON).join(&name);
        std::fs::create_dir_all(&out).map_err(|e| Failure::writing(&out, &e))?;
        // In a project that somebody sent it may be a link to a hand-off of another.
        if base::files::is_below(&self.folder.join(HANDED_ON), &out).is_none() {
            let says = format!("{} leads out of the project: nothing was made.", out.display());
            return Err(Failure::new(says).with_remedy("Move the link elsewhere.").into());
        }
        // Should this be the end of the program, what is there is told for what it is.
        account::write(&self.folder, &name, &Account::begun(work.wish().clone()))?;
        let made = Job::of(self, work.wish(), &out).and_then(|job| job.run(&|done, of| self.heard(work, done, of)));
        let stopped = match made {
            Ok(account) if account.count > 0 => {
                let account = Account { whole: true, ..account };
                account::write(&self.folder, &name, &account)?;
                return Ok((name, account.says));
            }
            Ok(account) => {
                let first = account.problems.into_iter().next().unwrap_or_default();
                Error::Refused(format!("Nothing was made. {first}"))
            }
            Err(e) => e,
        };
        let empty = swept(&out);
        match before {
            // What is refused leaves a site's pages and an archive as they were.
            Some(before) if matches!(stopped, Error::Refused(_)) => account::write(&self.folder, &name, before)?,
            None if empty => account::away(&self.folder, &name),
            _ => {}
        }
        Err(stopped)
    }

    fn heard(&self, work: &Work, done: usize, of: usize) {
        if let Some(making) = &mut held(&self.handing).making {
            // Threads tell in any order: it never goes back.
            (making.done, making.of) = (making.done.max(done), of);
        }
        self.tell(&Event::Working { name: work.says(), done, of });
    }
}

/// Makes a folder that was not there: the name itself, or with a number.
fn new_folder(top: &Path, name: &str) -> Result<String> {
    std::fs::create_dir_all(top).map_err(|e| Failure::writing(top, &e))?;
    for n in 1..ALIKE {
        let name = if n == 1 { name.to_owned() } else { format!("{name}-{n}") };
        let out = top.join(&name);
        if top.join(format!("{name}.json")).exists() {
            continue;
        }
        match std::fs::create_dir(&out) {
            Ok(()) => return Ok(name),
            Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => {}
            Err(e) => return Err(Failure::writing(&out, &e).into()),
        }
    }
    Err(Error::Refused(format!("{} holds too many exports of this name.", top.display())))
}

/// Takes a folder away in which nothing was made, and says so; one that holds anything stays.
fn swept(out: &Path) -> bool {
    let list = out.join(base::output_folder::LIST);
    let others = std::fs::read_dir(out).into_iter().flatten().flatten().any(|e| e.path() != list);
    if !others {
        // A folder that cannot be taken away is only empty.
        let _ = std::fs::remove_file(list);
        let _ = std::fs::remove_dir(out);
    }
    !others
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_that_is_there_is_never_used_again() {
        let top = tempfile::tempdir().unwrap();
        let names: Vec<String> = (0..3).map(|_| new_folder(top.path(), "a").unwrap()).collect();
        assert_eq!(names, ["a", "a-2", "a-3"]);
        // Its files are gone, what is known of it is not.
        std::fs::write(top.path().join("b.json"), "{}").unwrap();
        assert_eq!(new_folder(top.path(), "b").unwrap(), "b-2");
        // One that holds anything stays.
        std::fs::write(top.path().join("a/mine.txt"), "mine").unwrap();
        assert_eq!(["a", "a-2"].map(|n| swept(&top.path().join(n))), [false, true]);
        assert!(top.path().join("a/mine.txt").exists() && !top.path().join("a-2").exists());
    }
}
