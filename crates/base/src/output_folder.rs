//! A hand-off folder and the files that Fallside wrote into it: no other file is ever overwritten or removed.
//!
//! A hidden file in the folder lists each of our files with its BLAKE3. Its line is written before the file itself, so after an
//! interruption the next run recognises every file as ours.

use crate::Failure;
use crate::files::write::write_beside;
use crate::files::{Originals, exclusive, is_plain_file, to_write, write};
use crate::workers::lock;
use catalogue::Hold;
use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsStr;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Mutex;

/// The list. Its first line says what the folder is.
pub const LIST: &str = ".fallside-files";

/// An open hand-off folder.
pub struct OutputFolder {
    root: PathBuf,
    first: String,
    /// Hashes that each of our paths has had; the last is the latest.
    files: Mutex<BTreeMap<String, Vec<String>>>,
    list: Mutex<std::fs::File>,
    _alone: Hold,
}

/// Ending of a line's path that says what the file of that path was made from.
pub const MADE_FROM: &str = "#made-from";

/// What became of a file that is no longer wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Removal {
    /// It was there and is removed.
    Removed,
    /// It was not there.
    Absent,
    /// Somebody changed it, or it cannot be removed: it is still there.
    Kept,
}

/// Kind of folder: shares.
pub const SHARES: &str = "shares";
/// Kind of folder: a gallery.
pub const GALLERY: &str = "gallery";
/// Kind of folder: the demonstration box.
pub const DEMONSTRATION: &str = "demonstration";

/// The first line of a folder's list, which says what the folder is.
pub fn first_line(kind: &str) -> String {
    format!("Fallside {kind}: files written here, each with its BLAKE3.")
}

/// True for a folder that this kind of hand-off was written into.
pub fn is_kind(root: &Path, kind: &str) -> bool {
    let first = first_line(kind);
    root.join(LIST).is_file() && ours(root, &first).is_ok_and(|list| list.is_some())
}

/// True for a path that this kind of hand-off can contain.
fn is_made(kind: &str, path: &str) -> bool {
    let parts: Vec<&str> = path.split('/').collect();
    match (kind, parts[..].as_ref()) {
        (SHARES, [name]) => *name == "alt-text.txt" || name.strip_suffix(MADE_FROM).unwrap_or(name).ends_with(".jpg"),
        (GALLERY, [name]) => {
            ["index.html", "manifest.json", "newsletter.html"].contains(&name.strip_suffix(MADE_FROM).unwrap_or(name))
        }
        (GALLERY, ["look", name]) => ["look.css", "look.js", "fonts-licence.txt"].contains(name),
        (GALLERY, ["prints", name]) => name.ends_with(".html"),
        (GALLERY, ["iiif", name, last]) => !name.is_empty() && ["", "info.json"].contains(last),
        (DEMONSTRATION, [name]) => *name == "chart.txt",
        (DEMONSTRATION, ["frames", name]) => name.ends_with(".jpg"),
        _ => false,
    }
}

/// True for a picture folder that contains only what a gallery makes: pictures of one name, their list, and our parts.
fn is_only_ours(folder: &Path) -> bool {
    let Ok(entries) = std::fs::read_dir(folder) else { return false };
    entries.into_iter().all(|entry| {
        let Ok(entry) = entry else { return false };
        let name = entry.file_name().to_string_lossy().into_owned();
        match entry.file_type() {
            Ok(t) if t.is_dir() => is_only_ours(&entry.path()),
            Ok(t) if t.is_file() => ["default.jpg", "info.json"].contains(&name.as_str()) || write::is_part(&name),
            _ => false,
        }
    })
}

/// The list of a folder; `None` if the folder is empty or missing.
///
/// # Errors
/// It contains somebody else's files or another kind of hand-off.
fn ours(root: &Path, first: &str) -> Result<Option<String>, Failure> {
    let refused = |says: String| {
        Err(Failure::new(says).with_remedy("Choose an empty folder, or one that the same command wrote."))
    };
    let list = root.join(LIST);
    if std::fs::symlink_metadata(&list).is_ok_and(|m| !m.is_file()) {
        return refused(format!("{} is a link.", list.display()));
    }
    let text = crate::files::regular::text(&list).ok();
    let lock = OsStr::new(exclusive::FOLDER);
    let foreign = std::fs::read_dir(root).is_ok_and(|mut d| d.any(|e| e.is_ok_and(|e| e.file_name() != lock)));
    match &text {
        None if root.is_file() => refused(format!("{} is a file.", root.display())),
        None if foreign => refused(format!("{} contains something that Fallside did not write.", root.display())),
        Some(text) if text.lines().next() != Some(first) => {
            refused(format!("{} was written by another command.", root.display()))
        }
        _ => Ok(text),
    }
}

fn list_has_other_names(root: &Path) -> bool {
    let list = root.join(LIST);
    list.exists() && !is_plain_file(&list)
}

/// Refuses a path that is, or links to, an input file, or that leads out of the folder.
fn meets_nothing(root: &Path, path: &str, reads: &Originals) -> Result<(), Failure> {
    let place = root.join(path);
    reads.refuse(&place)?;
    place.parent().into_iter().try_for_each(|folder| reads.refuse_folder(folder))?;
    match root.is_dir() && to_write(root, path).is_none() {
        true => Err(leads_out(&place, root)),
        false => Ok(()),
    }
}

fn leads_out(place: &Path, root: &Path) -> Failure {
    Failure::new(format!("{} leads out of {}.", place.display(), root.display()))
        .with_remedy("Move it elsewhere and run the same command again.")
}

fn changed(place: &Path) -> Failure {
    Failure::new(format!("{} was changed since Fallside wrote it.", place.display()))
        .with_remedy("Move it elsewhere and run the same command again.")
}

impl OutputFolder {
    /// Opens and locks a folder for a kind of hand-off, such as "gallery"; creates it if missing. `reads` are the input files of the
    /// command, `writes` the paths that it will write: if any of them is the same file, nothing is written.
    ///
    /// # Errors
    /// It contains somebody else's files, another kind of hand-off, or input files; another run fills it; it is not writable.
    pub fn open(root: &Path, kind: &str, reads: &Originals, writes: &[String]) -> Result<Self, Failure> {
        let first = first_line(kind);
        reads.refuse_folder(root)?;
        ours(root, &first)?;
        writes.iter().try_for_each(|path| meets_nothing(root, path, reads))?;
        std::fs::create_dir_all(root).map_err(|e| Failure::writing(root, &e))?;
        let alone = exclusive::fill(root)?;
        // Read again under the lock: another run may just have finished.
        let held = ours(root, &first)?;
        let begun = || -> std::io::Result<std::fs::File> {
            if list_has_other_names(root) {
                // Hard links, of a snapshot for example: appending must not change the other copy.
                write::replace(&root.join(LIST), held.as_deref().unwrap_or_default().as_bytes())?;
            }
            let mut list = std::fs::OpenOptions::new().create(true).append(true).open(root.join(LIST))?;
            // A line that was cut short by a kill must not run into the next.
            list.write_all(if held.is_none() { format!("{first}\n") } else { "\n".into() }.as_bytes())?;
            Ok(list)
        };
        let list = begun().map_err(|e| Failure::writing(root, &e))?;
        let mut files = BTreeMap::<String, Vec<String>>::new();
        for (hash, path) in held.iter().flat_map(|t| t.lines().skip(1)).filter_map(|l| l.split_once(' ')) {
            // Somebody else may have edited the list: accept only what this kind of hand-off makes.
            if is_made(kind, path) {
                files.entry(path.to_owned()).or_default().push(hash.to_owned());
            }
        }
        let it = Self { root: root.to_owned(), first, files: Mutex::new(files), list: Mutex::new(list), _alone: alone };
        it.sweep();
        Ok(it)
    }

    /// Lists the files of an earlier version, which kept no list.
    pub fn recognise<'a>(root: &Path, kind: &str, paths: impl Iterator<Item = &'a str>) -> Result<(), Failure> {
        let mut text = first_line(kind) + "\n";
        for path in paths {
            text += &format!("{} {path}\n", crate::files::hash(&root.join(path))?);
        }
        write_beside(&root.join(LIST), text.as_bytes())
    }

    /// Removes parts that a killed run left in the folders of our files.
    fn sweep(&self) {
        let files = lock(&self.files);
        let places = files.keys().filter_map(|path| to_write(&self.root, path));
        let mut folders: BTreeSet<PathBuf> = places.filter_map(|p| p.parent().map(Path::to_owned)).collect();
        folders.insert(self.root.clone());
        folders.iter().for_each(|folder| write::sweep(folder, |_| true));
    }

    /// Checks that Fallside wrote the existing files at these paths and that nobody changed them.
    ///
    /// # Errors
    /// One is not ours or was changed.
    pub fn refuse_changed(&self, paths: &[String]) -> Result<(), Failure> {
        paths.iter().try_for_each(|path| match crate::files::regular::read(&self.own(path)?) {
            Ok(there) if !self.wrote(path, &there) => Err(changed(&self.place(path))),
            Err(e) if e.kind() != std::io::ErrorKind::NotFound => Err(Failure::reading(&e)),
            _ => Ok(()),
        })
    }

    /// True if the list has the hash of these bytes for a path.
    fn wrote(&self, path: &str, bytes: &[u8]) -> bool {
        let found = blake3::hash(bytes).to_hex().to_string();
        lock(&self.files).get(path).is_some_and(|ours| ours.contains(&found))
    }

    /// The full path of a path in the folder.
    pub fn place(&self, path: &str) -> PathBuf {
        self.root.join(path)
    }

    /// The latest entry for a path.
    pub fn noted(&self, path: &str) -> Option<String> {
        lock(&self.files).get(path).and_then(|h| h.last().cloned())
    }

    /// Lists a path as ours, with a file's hash or, for a folder, a key for its content.
    pub fn note(&self, path: &str, hash: &str) -> Result<(), Failure> {
        let line = format!("{hash} {path}\n");
        let wrote = lock(&self.list).write_all(line.as_bytes());
        wrote.map_err(|e| Failure::writing(&self.root.join(LIST), &e))?;
        lock(&self.files).entry(path.to_owned()).or_default().push(hash.to_owned());
        Ok(())
    }

    /// Writes a file unless it is already up to date; true if it was written.
    ///
    /// # Errors
    /// A file of that name exists that Fallside did not write or that somebody changed; or writing fails.
    pub fn put(&self, path: &str, bytes: &[u8]) -> Result<bool, Failure> {
        let place = self.own(path)?;
        let hash = blake3::hash(bytes).to_hex().to_string();
        match crate::files::regular::read(&place) {
            Ok(there) => {
                if blake3::hash(&there).to_hex().as_str() == hash {
                    if self.noted(path).as_deref() != Some(&hash) {
                        self.note(path, &hash)?;
                    }
                    return Ok(false);
                }
                if !self.wrote(path, &there) {
                    return Err(changed(&place));
                }
            }
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => {
                let folder = place.parent().unwrap_or(&self.root);
                std::fs::create_dir_all(folder).map_err(|e| Failure::writing(folder, &e))?;
            }
            Err(e) => return Err(Failure::reading(&e)),
        }
        self.note(path, &hash)?;
        write::write_unsynced(&place, bytes)?;
        Ok(true)
    }

    /// The full path of a path to write or remove, which must not lead out of the folder.
    pub fn own(&self, path: &str) -> Result<PathBuf, Failure> {
        to_write(&self.root, path).ok_or_else(|| leads_out(&self.place(path), &self.root))
    }

    /// Empties and creates one of our folders. `path` ends in a slash.
    ///
    /// # Errors
    /// A folder of that name exists that Fallside did not make, or writing fails.
    pub fn folder(&self, path: &str) -> Result<PathBuf, Failure> {
        let place = self.own(path)?;
        if place.exists() {
            if self.noted(path).is_none() || !is_only_ours(&place) {
                let says = format!("{} contains something that Fallside did not write.", place.display());
                return Err(Failure::new(says).with_remedy("Move it elsewhere and run the same command again."));
            }
            std::fs::remove_dir_all(&place).map_err(|e| Failure::writing(&place, &e))?;
        }
        self.note(path, "begun")?;
        std::fs::create_dir_all(&place).map_err(|e| Failure::writing(&place, &e))?;
        Ok(place)
    }

    /// The paths of our files and folders.
    pub fn paths(&self) -> Vec<String> {
        lock(&self.files).keys().filter(|path| !path.ends_with(MADE_FROM)).cloned().collect()
    }

    /// What a file of ours was made from, as [`Self::note_made_from`] was told.
    pub fn made_from(&self, path: &str) -> Option<String> {
        self.noted(&format!("{path}{MADE_FROM}"))
    }

    /// Lists what a file of ours is made from, in one word without spaces.
    ///
    /// # Errors
    /// Writing fails.
    pub fn note_made_from(&self, path: &str, what: &str) -> Result<(), Failure> {
        self.note(&format!("{path}{MADE_FROM}"), what)
    }

    /// Removes one of our files or folders, unless somebody changed it.
    pub fn remove(&self, path: &str) -> Removal {
        let mut files = lock(&self.files);
        let hashes = files.get(path).cloned().unwrap_or_default();
        // We did not write a line that leads elsewhere: leave its file alone.
        let Some(place) = to_write(&self.root, path) else {
            files.remove(path);
            return Removal::Absent;
        };
        let was_there = std::fs::symlink_metadata(&place).is_ok();
        if path.ends_with('/') {
            if is_only_ours(&place) {
                let _ = std::fs::remove_dir_all(&place);
            }
        } else if crate::files::regular::read(&place)
            .is_ok_and(|bytes| hashes.contains(&blake3::hash(&bytes).to_hex().to_string()))
        {
            let _ = std::fs::remove_file(&place);
        }
        if std::fs::symlink_metadata(&place).is_ok() {
            return Removal::Kept;
        }
        files.remove(path);
        files.remove(&format!("{path}{MADE_FROM}"));
        if was_there { Removal::Removed } else { Removal::Absent }
    }

    /// Removes our files that are no longer wanted, except those that somebody changed: how many were removed, and those still there.
    pub fn keep_only(&self, wanted: &BTreeSet<String>) -> (usize, Vec<String>) {
        let (mut gone, mut kept) = (0, vec![]);
        for path in self.paths().into_iter().filter(|path| !wanted.contains(path)) {
            match self.remove(&path) {
                Removal::Removed => gone += 1,
                Removal::Absent => {}
                Removal::Kept => kept.push(path),
            }
        }
        (gone, kept)
    }

    /// Rewrites the list, one line for each path.
    pub fn close(self) -> Result<(), Failure> {
        let files = self.files.into_inner().unwrap_or_else(std::sync::PoisonError::into_inner);
        let lines = files.iter().filter_map(|(path, hashes)| Some(format!("{} {path}\n", hashes.last()?)));
        let text: String = std::iter::once(format!("{}\n", self.first)).chain(lines).collect();
        let place = self.root.join(LIST);
        if crate::files::regular::text(&place).is_ok_and(|t| t == text) {
            Ok(())
        } else {
            write_beside(&place, text.as_bytes())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn open(root: &Path, kind: &str) -> Result<OutputFolder, Failure> {
        OutputFolder::open(root, kind, &Originals::default(), &[])
    }

    #[test]
    fn what_somebody_else_wrote_or_changed_is_left_alone() {
        let top = tempfile::tempdir().unwrap();
        let out = top.path().join("out");
        let one = open(&out, SHARES).unwrap();
        assert!(one.put("a.jpg", b"1").unwrap() && !one.put("a.jpg", b"1").unwrap() && one.put("a.jpg", b"2").unwrap());
        assert!(open(&out, SHARES).is_err_and(|e| e.says.contains("in use by another run, process")));
        drop(one);
        // Interrupted before it was closed: the list is all there.
        let two = open(&out, SHARES).unwrap();
        assert!(two.put("a.jpg", b"3").unwrap());
        std::fs::write(out.join("a.jpg"), b"mine").unwrap();
        std::fs::write(out.join("b.jpg"), b"mine").unwrap();
        assert!(two.put("a.jpg", b"4").is_err() && two.put("b.jpg", b"4").is_err());
        assert!(two.refuse_changed(&["c.jpg".into()]).is_ok() && two.refuse_changed(&["b.jpg".into()]).is_err());
        two.put("c.jpg", b"5").unwrap();
        assert_eq!(two.keep_only(&BTreeSet::new()), (1, vec!["a.jpg".to_owned()]));
        two.close().unwrap();
        assert_eq!(std::fs::read(out.join("a.jpg")).unwrap(), b"mine");
        assert!(open(&out, GALLERY).is_err() && open(&out, SHARES).is_ok());
        assert!(open(top.path(), SHARES).is_err(), "it holds a folder that is nobody's");
        assert!(!out.join(exclusive::FOLDER).exists());
    }

    #[test]
    fn a_list_names_nothing_but_what_its_kind_makes() {
        for (path, made) in
            [("iiif/P1/", true), ("iiif/P1/info.json", true), ("prints/P1.html", true), ("index.html", true)]
        {
            assert_eq!((is_made(GALLERY, path), is_made(SHARES, path)), (made, false), "{path}");
        }
        for path in ["iiif/", "iiif//", "pictures/", "CNAME", "prints/a/b.html", "../index.html", "look/mine.css", ""] {
            assert!(!is_made(GALLERY, path), "{path}");
        }
        let top = tempfile::tempdir().unwrap();
        let out = top.path().join("out");
        std::fs::create_dir_all(out.join("holiday")).unwrap();
        std::fs::create_dir_all(out.join("iiif/P1/full")).unwrap();
        std::fs::write(out.join("iiif/P1/full/mine.txt"), "mine").unwrap();
        std::fs::write(out.join(LIST), format!("{}\nbegun holiday/\nbegun iiif/P1/\n", first_line(GALLERY))).unwrap();
        let it = open(&out, GALLERY).unwrap();
        assert_eq!(it.keep_only(&BTreeSet::new()), (0, vec!["iiif/P1/".to_owned()]));
        assert!(out.join("holiday").exists() && out.join("iiif/P1/full/mine.txt").exists());
        assert!(it.folder("iiif/P1/").is_err());
    }

    #[cfg(unix)]
    #[test]
    fn what_is_read_is_never_written() {
        let top = tempfile::tempdir().unwrap();
        let at = |name: &str| top.path().join(name);
        for folder in ["card", "out"] {
            std::fs::create_dir(at(folder)).unwrap();
        }
        std::fs::write(at("card/a.jpg"), "original").unwrap();
        std::fs::write(at("out").join(LIST), first_line(SHARES)).unwrap();
        std::fs::hard_link(at("card/a.jpg"), at("out/a.jpg")).unwrap();
        std::os::unix::fs::symlink(at("card"), at("link")).unwrap();
        let reads = Originals::of([at("card/a.jpg")]);
        let writes = ["a.jpg".to_owned()];
        for root in ["card", "link", "out"] {
            assert!(OutputFolder::open(&at(root), SHARES, &reads, &writes).is_err(), "{root}");
        }
        assert!(OutputFolder::open(&at("out"), SHARES, &reads, &[]).is_ok());
        // A list that is a link would be written through.
        std::fs::create_dir(at("sent")).unwrap();
        std::fs::write(at("mine"), first_line(SHARES)).unwrap();
        std::os::unix::fs::symlink(at("mine"), at("sent").join(LIST)).unwrap();
        assert!(open(&at("sent"), SHARES).is_err());
    }
}
