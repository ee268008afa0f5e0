//! A folder that is handed on, and what Fallside wrote into it: nothing else is ever overwritten or taken away.
//!
//! A hidden file in the folder lists every file of ours with its BLAKE3, a line before the file itself is written, so that an
//! interrupted run leaves nothing that the next would take for somebody else's.

use crate::finish::{held, write_beside};
use crate::job::FrameError;
use crate::safe::to_write;
use publish::Plate;
use std::collections::{BTreeMap, BTreeSet};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Mutex;

/// What happens while prints are handed on.
#[derive(Clone, Debug)]
pub enum Event {
    /// A print, or a file of a bag, is done.
    Done {
        /// So many are done.
        done: usize,
        /// Of so many.
        of: usize,
    },
    /// A line that a person should read now.
    Problem(String),
}

/// The list. Its first line says what the folder is.
pub(crate) const LIST: &str = ".fallside-files";

/// A folder being handed on.
pub(crate) struct Handed {
    root: PathBuf,
    first: String,
    /// Hashes that a path of ours has had; the last is the latest.
    files: Mutex<BTreeMap<String, Vec<String>>>,
    list: Mutex<std::fs::File>,
}

impl Handed {
    /// Opens a folder for a kind of hand-off, as "gallery"; makes it where it is not there.
    ///
    /// # Errors
    /// It holds somebody else's files or another kind of ours, or may not be written.
    pub fn open(root: &Path, kind: &str) -> Result<Self, FrameError> {
        let first = format!("Fallside {kind}: files written here, each with its BLAKE3.");
        let held = crate::regular::text(&root.join(LIST)).ok();
        let foreign = std::fs::read_dir(root).is_ok_and(|mut d| d.next().is_some());
        let choose = "Choose an empty folder, or one that the same command wrote.";
        match &held {
            None if root.is_file() => {
                return Err(FrameError::new(format!("{} is a file.", root.display())).with_remedy(choose));
            }
            None if foreign => {
                let says = format!("{} holds something that Fallside did not write.", root.display());
                return Err(FrameError::new(says).with_remedy(choose));
            }
            Some(text) if text.lines().next() != Some(&first) => {
                let says = format!("{} was written by another command.", root.display());
                return Err(FrameError::new(says).with_remedy(choose));
            }
            _ => {}
        }
        let begun = || -> std::io::Result<std::fs::File> {
            std::fs::create_dir_all(root)?;
            let mut list = std::fs::OpenOptions::new().create(true).append(true).open(root.join(LIST))?;
            // A line that a kill cut short must not swallow the next.
            list.write_all(if held.is_none() { format!("{first}\n") } else { "\n".into() }.as_bytes())?;
            Ok(list)
        };
        let list = begun().map_err(|e| FrameError::writing(root, &e))?;
        let mut files = BTreeMap::<String, Vec<String>>::new();
        for (hash, path) in held.iter().flat_map(|t| t.lines().skip(1)).filter_map(|l| l.split_once(' ')) {
            files.entry(path.to_owned()).or_default().push(hash.to_owned());
        }
        Ok(Self { root: root.to_owned(), first, files: Mutex::new(files), list: Mutex::new(list) })
    }

    /// The place of a path in the folder.
    pub fn place(&self, path: &str) -> PathBuf {
        self.root.join(path)
    }

    /// The last thing noted of a path.
    pub fn noted(&self, path: &str) -> Option<String> {
        held(&self.files).get(path).and_then(|h| h.last().cloned())
    }

    /// Notes a path of ours: a file's hash, or for a folder whatever tells what is in it.
    pub fn note(&self, path: &str, hash: &str) -> Result<(), FrameError> {
        let line = format!("{hash} {path}\n");
        let wrote = held(&self.list).write_all(line.as_bytes());
        wrote.map_err(|e| FrameError::writing(&self.root.join(LIST), &e))?;
        held(&self.files).entry(path.to_owned()).or_default().push(hash.to_owned());
        Ok(())
    }

    /// Writes a file, unless it is there already as it should be; true where it was written.
    ///
    /// # Errors
    /// A file of that name is there which Fallside did not write, or somebody changed it; or the disk refuses.
    pub fn put(&self, path: &str, bytes: &[u8]) -> Result<bool, FrameError> {
        let place = self.own(path)?;
        let hash = blake3::hash(bytes).to_hex().to_string();
        match std::fs::read(&place) {
            Ok(there) => {
                let found = blake3::hash(&there).to_hex().to_string();
                if found == hash {
                    if self.noted(path).as_deref() != Some(&hash) {
                        self.note(path, &hash)?;
                    }
                    return Ok(false);
                }
                if !held(&self.files).get(path).is_some_and(|ours| ours.contains(&found)) {
                    let says = format!("{} is not as Fallside left it.", place.display());
                    return Err(FrameError::new(says).with_remedy("Move it elsewhere and run the same command again."));
                }
            }
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => {
                let folder = place.parent().unwrap_or(&self.root);
                std::fs::create_dir_all(folder).map_err(|e| FrameError::writing(folder, &e))?;
            }
            Err(e) => return Err(FrameError::reading(&e)),
        }
        self.note(path, &hash)?;
        write_beside(&place, bytes)?;
        Ok(true)
    }

    /// The place of a path to be written or removed, which must not lead out of the folder.
    fn own(&self, path: &str) -> Result<PathBuf, FrameError> {
        to_write(&self.root, path).ok_or_else(|| {
            let place = self.place(path);
            FrameError::new(format!("{} leads out of {}.", place.display(), self.root.display()))
                .with_remedy("Move it elsewhere and run the same command again.")
        })
    }

    /// A folder of ours, to be filled anew. `path` ends in a slash.
    ///
    /// # Errors
    /// One of that name is there which Fallside did not make, or the disk refuses.
    pub fn folder(&self, path: &str) -> Result<PathBuf, FrameError> {
        let place = self.own(path)?;
        if place.exists() {
            if self.noted(path).is_none() {
                let says = format!("{} is not of Fallside's making.", place.display());
                return Err(FrameError::new(says).with_remedy("Move it elsewhere and run the same command again."));
            }
            std::fs::remove_dir_all(&place).map_err(|e| FrameError::writing(&place, &e))?;
        }
        self.note(path, "begun")?;
        std::fs::create_dir_all(&place).map_err(|e| FrameError::writing(&place, &e))?;
        Ok(place)
    }

    /// Takes away what is ours and no longer wanted, but no file that somebody changed; gives their number.
    pub fn keep_only(&self, wanted: &BTreeSet<String>) -> usize {
        let mut files = held(&self.files);
        let stale: Vec<String> = files.keys().filter(|p| !wanted.contains(*p)).cloned().collect();
        let mut gone = 0;
        for path in stale {
            // A line of the list that leads elsewhere was not written by us: what it names is left alone.
            let Some(place) = to_write(&self.root, &path) else {
                files.remove(&path);
                continue;
            };
            let ours = |bytes: Vec<u8>| files[&path].contains(&blake3::hash(&bytes).to_hex().to_string());
            let removed = if path.ends_with('/') {
                std::fs::remove_dir_all(&place).is_ok()
            } else {
                std::fs::read(&place).is_ok_and(ours) && std::fs::remove_file(&place).is_ok()
            };
            gone += usize::from(removed);
            if !place.exists() {
                files.remove(&path);
            }
        }
        gone
    }

    /// Writes the list anew, one line for each path.
    pub fn close(self) -> Result<(), FrameError> {
        let files = self.files.into_inner().unwrap_or_else(std::sync::PoisonError::into_inner);
        let lines = files.iter().filter_map(|(path, hashes)| Some(format!("{} {path}\n", hashes.last()?)));
        let text: String = std::iter::once(format!("{}\n", self.first)).chain(lines).collect();
        let place = self.root.join(LIST);
        if std::fs::read_to_string(&place).is_ok_and(|t| t == text) {
            Ok(())
        } else {
            write_beside(&place, text.as_bytes())
        }
    }
}

/// Gives every plate a name that is fit for any disk and any address, and its own.
pub(crate) fn name_apart(plates: &mut [Plate]) {
    let mut taken = BTreeSet::new();
    for plate in plates {
        let safe: String = plate.name.chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '-' }).collect();
        let safe = if safe.trim_matches('-').is_empty() { "print".to_owned() } else { safe };
        let mut name = safe.clone();
        let mut n = 2;
        // Disks that take A and a for one must not mix two prints up.
        while !taken.insert(name.to_lowercase()) {
            name = format!("{safe}-{n}");
            n += 1;
        }
        if let Some(back) = &mut plate.back {
            back.name = format!("{name}-back");
        }
        plate.name = name;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_somebody_else_wrote_or_changed_is_left_alone() {
        let top = tempfile::tempdir().unwrap();
        let out = top.path().join("out");
        let one = Handed::open(&out, "shares").unwrap();
        assert!(one.put("a.txt", b"1").unwrap() && !one.put("a.txt", b"1").unwrap() && one.put("a.txt", b"2").unwrap());
        drop(one);
        // Interrupted before it was closed: the list is all there.
        let two = Handed::open(&out, "shares").unwrap();
        assert!(two.put("a.txt", b"3").unwrap());
        std::fs::write(out.join("a.txt"), b"mine").unwrap();
        std::fs::write(out.join("b.txt"), b"mine").unwrap();
        assert!(two.put("a.txt", b"4").is_err() && two.put("b.txt", b"4").is_err());
        two.put("c.txt", b"5").unwrap();
        assert_eq!(two.keep_only(&BTreeSet::new()), 1);
        two.close().unwrap();
        assert_eq!(std::fs::read(out.join("a.txt")).unwrap(), b"mine");
        assert!(Handed::open(&out, "gallery").is_err() && Handed::open(&out, "shares").is_ok());
        assert!(Handed::open(top.path(), "shares").is_err(), "it holds a folder that is nobody's");
    }
}
