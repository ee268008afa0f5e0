//! Which original owns a result name: results of a second original with the same name never replace those of the first.
//!
//! `.fallside/box.json` records the original of each name before anything is written under it. Folders from before this list existed
//! are recognised by their reports.

use crate::names::with_hash;
use crate::results::{FOLDERS, PAGE, outputs, read_report};
use base::Failure;
use base::files::MARK;
use base::files::write::write_beside;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

pub(crate) const FILE: &str = "box.json";
const SCHEMA: &str = "fallside.box/1";
/// Text in the footer of every page made by Fallside, earlier versions included.
const PAGE_MARK: &str = "Each frame has a report in <code>reports</code>, a faithful master in";

/// The box that a folder of results belongs to.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(crate) struct Claims {
    schema: String,
    /// Folders that the originals were read from, as given.
    folders: BTreeSet<String>,
    /// BLAKE3 of the original that each name stands for.
    names: BTreeMap<String, String>,
}

impl Default for Claims {
    fn default() -> Self {
        Self { schema: SCHEMA.into(), folders: BTreeSet::new(), names: BTreeMap::new() }
    }
}

impl Claims {
    /// Reads the claims of a folder of results.
    pub fn read(out: &Path) -> Self {
        let text = base::files::regular::text(&out.join(MARK).join(FILE)).unwrap_or_default();
        serde_json::from_str::<Self>(&text).ok().filter(|c| c.schema == SCHEMA).unwrap_or_default()
    }

    /// The name for an original's results: `stem` if that is free or its own, otherwise a name with its hash.
    ///
    /// # Errors
    /// Both names are taken.
    pub fn name(&self, out: &Path, stem: &str, blake3: &str) -> Result<String, Failure> {
        let own = with_hash(stem, blake3);
        [stem, &own].into_iter().find(|name| self.is_free(out, name, blake3)).map(str::to_owned).ok_or_else(|| {
            Failure::new(format!("Results called {stem} and {own} already exist and belong to another original."))
                .with_remedy("Choose another folder with --out.")
        })
    }

    /// True if there are no results under a name, or they belong to this original.
    fn is_free(&self, out: &Path, name: &str, blake3: &str) -> bool {
        let files = outputs(out, name, true);
        let owner = read_report(&files.report.place).map(|r| r.frame.blake3);
        match owner.as_ref().or(self.names.get(name)) {
            Some(owner) if owner == blake3 => true,
            // A name recorded for an original without results is free again.
            _ => files.all().all(|o| std::fs::symlink_metadata(&o.place).is_err()),
        }
    }

    /// Records the owners of names before anything is written under them.
    pub fn note<'a>(
        mut self,
        out: &Path,
        folders: impl Iterator<Item = &'a Path>,
        names: impl Iterator<Item = (&'a str, &'a str)>,
    ) -> Result<(), Failure> {
        self.folders.extend(folders.map(|f| f.to_string_lossy().into_owned()));
        self.names.extend(names.map(|(name, blake3)| (name.to_owned(), blake3.to_owned())));
        let place = out.join(MARK).join(FILE);
        let text = serde_json::to_string_pretty(&self).unwrap_or_default() + "\n";
        if base::files::regular::text(&place).is_ok_and(|held| held == text) {
            Ok(())
        } else {
            write_beside(&place, text.as_bytes())
        }
    }
}

/// True for a folder with results written by Fallside.
fn is_ours(out: &Path) -> bool {
    let has_report = || {
        let reports = std::fs::read_dir(out.join("reports")).into_iter().flatten().flatten();
        reports.map(|e| e.path()).any(|p| p.to_string_lossy().ends_with(".report.json") && read_report(&p).is_some())
    };
    let list = out.join(MARK).join(FILE);
    let begun = || out.join(MARK).is_dir() && out.join("reports").is_dir();
    list.is_file() || begun() || has_report()
}

/// Refuses a folder that is not ours if it contains names of results, and a page that is not ours.
///
/// # Errors
/// Somebody else's file would be overwritten.
pub(crate) fn refuse_foreign(out: &Path, with_page: bool) -> Result<(), Failure> {
    let refused = |name: &str, why: &str| {
        Err(Failure::new(format!("{} {why}. Nothing was written.", out.join(name).display()))
            .with_remedy("Choose another folder with --out, or move it elsewhere."))
    };
    if !is_ours(out) {
        for name in FOLDERS {
            let place = out.join(name);
            let empty = std::fs::read_dir(&place).is_ok_and(|mut d| d.next().is_none());
            if std::fs::symlink_metadata(&place).is_ok() && !empty {
                return refused(name, "exists and was not made by Fallside");
            }
        }
    }
    let page = out.join(PAGE);
    let theirs = std::fs::symlink_metadata(&page).is_ok()
        && !base::files::regular::read(&page).is_ok_and(|held| String::from_utf8_lossy(&held).contains(PAGE_MARK));
    if with_page && theirs {
        return refused(PAGE, "exists and is not a page made by Fallside");
    }
    Ok(())
}
