//! What was handed on: an account beside each folder, and what the catalogue remembers.

use super::HANDED_ON;
use crate::wire::account::Account;
use crate::wire::{BookSeen, HandedOn, PastHand, Printed};
use base::Failure;
use base::files::write::write_beside;
use handoff::book::{Proof, spread_file};
use project::{Error, Project, Result};
use std::path::{Path, PathBuf};

/// Where a hand-off's account lies.
fn place(project: &Path, name: &str) -> PathBuf {
    project.join(HANDED_ON).join(format!("{name}.json"))
}

/// Writes a hand-off's account.
pub(super) fn write(project: &Path, name: &str, account: &Account) -> Result<()> {
    let json = serde_json::to_string_pretty(account).unwrap_or_default() + "\n";
    Ok(write_beside(&place(project, name), json.as_bytes())?)
}

/// Takes a hand-off's account away; one that stays says that it is not whole.
pub(super) fn away(project: &Path, name: &str) {
    let _ = std::fs::remove_file(place(project, name));
}

/// Everything handed on, the latest first: what lies in the project, and what commands made elsewhere.
pub(super) fn past(folder: &Path, project: &Project) -> Result<Vec<PastHand>> {
    let (mut all, mut ours) = (vec![], vec![whole(&folder.join(HANDED_ON))]);
    for entry in std::fs::read_dir(folder.join(HANDED_ON)).into_iter().flatten().flatten() {
        let file = entry.file_name().to_string_lossy().into_owned();
        let Some(name) = file.strip_suffix(".json") else { continue };
        // What is no account is no hand-off.
        let Ok(account) = account(folder, name) else { continue };
        let (lies, seen) = (account.lies(folder, name), folder.join(HANDED_ON).join(name));
        ours.push(whole(&lies));
        all.push(PastHand {
            name: Some(name.to_owned()),
            seen: account.whole && seen.is_dir(),
            again: account.wish.grows(),
            there: lies.is_dir(),
            whole: account.whole,
            at: account.at,
            form: account.wish.kind().to_owned(),
            edit: account.wish.edit().map(str::to_owned),
            count: account.count,
            place: lies.display().to_string(),
        });
    }
    for h in project.catalogue().hand_offs()? {
        let place = whole(&folder.join(&h.place));
        if ours.iter().any(|o| place.starts_with(o)) {
            continue;
        }
        all.push(PastHand {
            name: None,
            seen: false,
            again: false,
            there: place.exists(),
            whole: true,
            at: h.at,
            form: h.kind,
            edit: None,
            count: h.prints.len(),
            place: h.place,
        });
    }
    all.sort_by(|a, b| b.at.cmp(&a.at));
    Ok(all)
}

fn whole(path: &Path) -> PathBuf {
    path.canonicalize().unwrap_or_else(|_| path.to_owned())
}

/// A hand-off with everything that is to be seen of it.
pub(super) fn read(folder: &Path, name: &str) -> Result<Option<HandedOn>> {
    let lies = folder.join(HANDED_ON).join(name);
    if !super::made::is_name(name) || !lies.is_dir() || !place(folder, name).is_file() {
        return Ok(None);
    }
    let account = account(folder, name)?;
    if !account.whole {
        return Ok(None);
    }
    let book = (account.wish.kind() == "book").then(|| book(&lies)).transpose()?;
    let lies = whole(&account.lies(folder, name));
    let again = account.wish.grows();
    Ok(Some(HandedOn { name: name.to_owned(), place: lies.display().to_string(), again, account, book }))
}

/// The account of a hand-off that lies in the project, whole or not.
pub(super) fn known(folder: &Path, name: &str) -> Result<Account> {
    if !super::made::is_name(name) || !place(folder, name).is_file() {
        return Err(Error::Refused("There is no such export here.".into()));
    }
    account(folder, name)
}

fn account(folder: &Path, name: &str) -> Result<Account> {
    Ok(parsed(&place(folder, name))?)
}

fn parsed<T: serde::de::DeserializeOwned>(place: &Path) -> std::result::Result<T, Failure> {
    let bytes = base::files::regular::read(place).map_err(|e| Failure::reading(&e))?;
    serde_json::from_slice(&bytes).map_err(|e| Failure::new(format!("{} cannot be read: {e}.", place.display())))
}

/// What is to be seen of a book.
fn book(lies: &Path) -> Result<BookSeen> {
    let file = lies.join(super::BOOK);
    let proof: Proof = parsed(&file.with_extension("certificate.json"))?;
    let picture = |p: &handoff::book::Proved| Printed {
        name: p.name.clone(),
        page: p.page,
        ppi: p.ppi,
        says: p.says().to_owned(),
        bare_with_ink: p.bare_with_ink_px + p.rim_with_ink_px,
    };
    let spreads = (0..=proof.pages / 2).filter_map(|n| {
        let at = spread_file(&file, n);
        at.is_file().then(|| at.file_name().map(|f| f.to_string_lossy().into_owned())).flatten()
    });
    Ok(BookSeen {
        spreads: spreads.collect(),
        plan: "book.flat-plan.svg".into(),
        places: publish::book::beside::spread_places(proof.pages, proof.trim_mm),
        pages: proof.pages,
        trim_mm: proof.trim_mm,
        condition: proof.condition.clone(),
        paper_white: proof.paper_white,
        pictures: proof.pictures.iter().map(picture).collect(),
    })
}
