//! Settings of a book from what was asked for.

use super::Request;
use crate::selection::Plates;
use base::Failure;
use project::{Error, Result};
use publish::book::leaves::{Leaf, What, in_turn};
use publish::book::typesetting::Fonts;
use publish::book::{Arrangement, Settings, Smalls};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The small pictures for the files beside the book.
fn smalls(r: &Request) -> Smalls {
    if r.soft_proof {
        Smalls::Paper
    } else if r.dummy.is_some() || r.deck || r.spreads {
        Smalls::Screen
    } else {
        Smalls::Plan
    }
}

/// The pages of a book whose prints are arranged in turn.
pub(super) fn turned(r: &Request, chosen: &Plates) -> Result<Vec<Leaf>> {
    let mut turn = vec![];
    for word in &r.layout {
        turn.push(Arrangement::parse(word).ok_or_else(|| {
            let says = "is not a page arrangement. Use single, back, facing, row=3, grid=2x2 or blank.";
            Error::Refused(format!("“{word}” {says}"))
        })?);
    }
    let backs: Vec<bool> = chosen.plates.iter().map(|p| p.back.is_some()).collect();
    Ok(in_turn(&backs, &turn, r.scale))
}

/// Settings of a book whose prints are arranged in turn.
///
/// # Errors
/// As [`settings`].
pub(crate) fn in_turns(r: &Request, chosen: &Plates) -> Result<Settings> {
    settings(r, chosen, turned(r, chosen)?)
}

/// Settings of a book of these pages.
///
/// # Errors
/// A file that cannot be read; what does not go together; a date that is none.
pub(super) fn settings(r: &Request, chosen: &Plates, leaves: Vec<Leaf>) -> Result<Settings> {
    let refused = |t: String| Error::Refused(t);
    let bytes = |path: &Path| {
        base::files::regular::read(path)
            .map_err(|e| Error::from(Failure::new(format!("{}: {}", path.display(), Failure::reading(&e).says))))
    };
    let printer = r.printer.as_deref().map(bytes).transpose()?;
    let font = |path: &PathBuf| Ok::<_, Error>((base::files::name_of(path), Arc::new(bytes(path)?)));
    let named = r.fonts.iter().map(font).collect::<Result<Vec<_>>>()?;
    if r.keep_rgb && printer.is_none() {
        return Err(refused(
            "--keep-rgb needs --printer: the file names the press profile to which RGB will be converted.".into(),
        ));
    }
    if r.soft_proof && (printer.is_none() || r.keep_rgb) {
        return Err(refused("A soft proof simulates the inks of a press: give --printer, without --keep-rgb.".into()));
    }
    let day = match &r.day {
        Some(text) => text.clone(),
        None => base::clock::today(),
    };
    let parts: Vec<u16> = day.split('-').filter_map(|p| p.parse().ok()).collect();
    let day = match parts[..] {
        [y @ 1000..=9999, m @ 1..=12, d @ 1..=31] => (y, m as u8, d as u8),
        _ => return Err(refused(format!("“{day}” is not a date. Write it as 2026-11-25."))),
    };
    let mut id = blake3::Hasher::new();
    let pages: Vec<&What> = leaves.iter().map(|l| &l.what).collect();
    let about = (
        &r.sheet,
        &pages,
        r.ppi,
        r.first_dot,
        r.ink_limit,
        r.keep_rgb,
        r.captions,
        r.signature,
        r.crop_marks,
        r.page_numbers,
    );
    id.update(format!("{about:?} {:?} {:?} {day:?}", r.title, r.author).as_bytes());
    for plate in &chosen.plates {
        id.update(format!("{} {} {:?}", plate.name, plate.stamp, plate.words).as_bytes());
    }
    id.update(printer.as_deref().unwrap_or_default());
    for (_, font) in &named {
        id.update(font);
    }
    let mut sixteen = [0; 16];
    sixteen.copy_from_slice(&id.finalize().as_bytes()[..16]);
    Ok(Settings {
        sheet: r.sheet,
        leaves,
        ppi: r.ppi,
        first_dot: r.first_dot,
        limit: r.ink_limit,
        printer,
        keep_rgb: r.keep_rgb,
        title: r.title.trim().to_owned(),
        author: r.author.trim().to_owned(),
        captions: r.captions,
        page_numbers: r.page_numbers,
        crop_marks: r.crop_marks,
        signature: r.signature,
        smalls: smalls(r),
        fonts: Fonts { named, machine: r.machine_fonts },
        day,
        id: sixteen,
    })
}
