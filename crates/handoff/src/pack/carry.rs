//! Copies one file into a bag: reads it once, hashes it on the way, and writes it atomically.

use super::bag::{Bag, Entry, hex};
use super::contents::Item;
use base::Failure;
use base::files::write;
use sha2::{Digest, Sha512};
use std::fs::File;
use std::io::{Read, Write};
use std::path::Path;

/// Bytes read at a time: enough that a spinning disk need not seek between reading and writing all the time.
const PIECE: usize = 4 << 20;

impl Bag {
    /// Puts a file in its place; true if it was already there.
    ///
    /// # Errors
    /// The source cannot be read or is not what its report says; or the disk refuses, which ends the run.
    pub(super) fn carry(&self, item: &Item) -> Result<bool, Failure> {
        let before = self.known(&item.to);
        let place = self.place(&item.to)?;
        let folder = place.parent().unwrap_or(&self.root);
        std::fs::create_dir_all(folder).map_err(|e| Failure::writing(folder, &e))?;
        let open = || base::files::regular::open(&item.from).map_err(|e| Failure::reading(&e));
        if let Some(before) = before {
            // What is there is as good as what would be written, if the source still is what it was.
            let mut hashes = Hashes::default();
            hashes.read(open()?, |_| Ok(()))?;
            let now = hashes.done(item)?;
            if now == before {
                return Ok(true);
            }
            // An archive keeps its originals: another of that name is another box's.
            if item.blake3.is_some() && now.sha512 != before.sha512 {
                return Err(Failure::new(format!(
                    "{} contains another original of this name, which is kept.",
                    place.display()
                ))
                .with_remedy("Pack this box into a separate folder."));
            }
        }
        self.write(item, open()?, &place).map(|()| false)
    }

    fn write(&self, item: &Item, source: File, place: &Path) -> Result<(), Failure> {
        let refused = |e: std::io::Error| Failure::writing(place, &e);
        let mut part = write::part(place).map_err(refused)?;
        let mut hashes = Hashes::default();
        hashes.read(source, |piece| part.write_all(piece).map_err(refused))?;
        let entry = hashes.done(item)?;
        write::settle(part, place).map_err(refused)?;
        self.note(&item.to, entry)
    }
}

/// Both hashes of a file, made while it is read.
#[derive(Default)]
struct Hashes {
    sha512: Sha512,
    blake3: blake3::Hasher,
    bytes: u64,
}

impl Hashes {
    fn read(&mut self, mut source: File, mut then: impl FnMut(&[u8]) -> Result<(), Failure>) -> Result<(), Failure> {
        let mut buffer = vec![0; PIECE];
        loop {
            let n = source.read(&mut buffer).map_err(|e| Failure::reading(&e))?;
            if n == 0 {
                return Ok(());
            }
            self.sha512.update(&buffer[..n]);
            self.blake3.update(&buffer[..n]);
            self.bytes += n as u64;
            then(&buffer[..n])?;
        }
    }

    /// What was read, if it is what the report says.
    fn done(self, item: &Item) -> Result<Entry, Failure> {
        let blake3 = self.blake3.finalize().to_hex();
        if item.blake3.as_ref().is_some_and(|b| *b != blake3.as_str()) {
            return Err(match item.original {
                true => Failure::new("This file is not the original that was finished, so it is not packed.")
                    .with_remedy("Finish it again, or restore the original."),
                false => {
                    Failure::new("This file is damaged or was changed since it was finished, so it is not packed.")
                        .with_remedy("Finish its frame again, or restore the file from a copy.")
                }
            });
        }
        Ok(Entry { sha512: hex(&self.sha512.finalize()), bytes: self.bytes })
    }
}
