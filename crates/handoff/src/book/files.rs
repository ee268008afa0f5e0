//! Where the files of a book go, and how they are written.

use super::{Request, certificate};
use base::Failure;
use base::files::{Originals, hash, write};
use project::{Error, Result};
use publish::book::{self, Fault};
use std::io::{BufWriter, Read, Write};
use std::path::{Path, PathBuf};

/// Where everything goes.
pub(super) struct Places {
    pub book: PathBuf,
    pub plan: PathBuf,
    pub certificate: PathBuf,
    pub dummy: PathBuf,
    pub soft: PathBuf,
    pub proof: PathBuf,
    pub deck: PathBuf,
    pub zine: PathBuf,
    pub cover: PathBuf,
    wanted: [bool; 6],
    /// Pictures of spreads that are there already.
    spreads: Vec<PathBuf>,
}

impl Places {
    pub fn of(r: &Request) -> Self {
        let place = |ending: &str| r.out.with_extension(ending);
        Self {
            book: r.out.clone(),
            plan: place("flat-plan.svg"),
            certificate: place("certificate.json"),
            dummy: place("dummy.pdf"),
            soft: place("soft-proof.pdf"),
            proof: place("proof-sheet.pdf"),
            deck: place("deck.pdf"),
            zine: place("zine.pdf"),
            cover: place("cover.pdf"),
            wanted: [r.dummy.is_some(), r.soft_proof, r.proof, r.deck, r.zine.is_some(), r.cover.is_some()],
            spreads: if r.spreads { spreads_of(&r.out) } else { vec![] },
        }
    }

    /// Those that will be written.
    pub fn all(&self) -> impl Iterator<Item = &PathBuf> {
        let asked =
            [&self.dummy, &self.soft, &self.proof, &self.deck, &self.zine, &self.cover].into_iter().zip(self.wanted);
        let asked = asked.filter(|(_, w)| *w).map(|(p, _)| p).chain(&self.spreads);
        [&self.book, &self.plan, &self.certificate].into_iter().chain(asked)
    }

    /// Refuses if any of them is, or links to, an input file.
    pub fn refuse(&self, r: &Request, reads: &mut Originals) -> Result<()> {
        r.printer.iter().chain(&r.fonts).chain(&r.pages).for_each(|f| reads.add_file(f));
        Ok(self.all().try_for_each(|p| reads.refuse(p))?)
    }
}

/// The pictures of spreads beside a book, whoever made them.
fn spreads_of(book: &Path) -> Vec<PathBuf> {
    let stem = book.file_stem().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let head = format!("{stem}.spread-");
    let entries = std::fs::read_dir(write::folder_of(book)).into_iter().flatten().flatten();
    let names = entries.map(|e| e.file_name().to_string_lossy().into_owned());
    let folder = write::folder_of(book);
    names.filter(|n| n.starts_with(&head) && n.ends_with(".svg")).map(|n| folder.join(n)).collect()
}

/// A list of pages may be somebody's work: an existing one is never written over.
pub(super) fn new(place: &Path) -> Result<()> {
    if std::fs::symlink_metadata(place).is_err() {
        return ours(place);
    }
    let says = format!("{} already exists. It may hold changes of yours, so it was not changed.", place.display());
    Err(Failure::new(says).with_remedy("Give --write-layout another name, or move that file away.").into())
}

/// An existing file must be ours: each of our files is marked in its first lines.
pub(super) fn ours(place: &Path) -> Result<()> {
    if !place.exists() {
        let folder = place.parent().filter(|f| !f.as_os_str().is_empty());
        if let Some(folder) = folder.filter(|f| !f.is_dir()) {
            return Err(Failure::new(format!("There is no folder {}.", folder.display()))
                .with_remedy("Create it, or give another one.")
                .into());
        }
        return Ok(());
    }
    let mut head = vec![];
    let read = base::files::regular::open(place).and_then(|f| f.take(512).read_to_end(&mut head));
    let known = read.is_ok() && {
        let head = String::from_utf8_lossy(&head);
        head.contains(book::pdf::MARK.trim())
            || head.contains("Made by Fallside, safe to make again")
            || head.contains(certificate::SCHEMA)
    };
    if known {
        return Ok(());
    }
    let says = format!("{} already exists and was not made by Fallside, so it was not changed.", place.display());
    Err(Failure::new(says).with_remedy("Choose another name with --out.").into())
}

/// A written file.
pub(super) struct Written<T> {
    /// What its making gave.
    pub value: T,
    /// BLAKE3 of the file, hex.
    pub hash: String,
}

/// Writes a file atomically.
pub(super) fn write<T>(
    place: &Path,
    make: impl FnOnce(&mut BufWriter<&std::fs::File>) -> std::result::Result<T, Fault>,
) -> Result<Written<T>> {
    let failed = |e: std::io::Error| Error::from(Failure::writing(place, &e));
    let file = write::part(place).map_err(failed)?;
    let value = {
        let mut out = BufWriter::with_capacity(1 << 20, file.as_file());
        let value = make(&mut out).map_err(|e| match e {
            Fault::Refused(says) => Error::Refused(says),
            Fault::Write(e) => failed(e),
        })?;
        out.flush().map_err(failed)?;
        value
    };
    let hash = hash(file.path())?;
    write::settle(file, place).map_err(failed)?;
    Ok(Written { value, hash })
}
