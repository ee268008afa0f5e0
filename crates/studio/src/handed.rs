//! A folder that is handed on, and what Fallside wrote into it: nothing else is ever overwritten or taken away.
//!
//! A hidden file in the folder lists every file of ours with its BLAKE3, a line before the file itself is written, so that an
//! interrupted run leaves nothing that the next would take for somebody else's.

use crate::finish::{held, write_beside};
use crate::job::FrameError;
use crate::safe::{Originals, beside, is_plain_file, to_write, turn};
use catalogue::Hold;
use publish::Plate;
use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsStr;
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
    _alone: Hold,
}

/// The kinds of folder that are handed on.
pub(crate) const SHARES: &str = "shares";
pub(crate) const GALLERY: &str = "gallery";
pub(crate) const DEMONSTRATION: &str = "demonstration";

pub(crate) fn first_line(kind: &str) -> String {
    format!("Fallside {kind}: files written here, each with its BLAKE3.")
}

/// True for a path that a kind of hand-off may have.
fn is_made(kind: &str, path: &str) -> bool {
    let parts: Vec<&str> = path.split('/').collect();
    match (kind, parts[..].as_ref()) {
        (SHARES, [name]) => *name == "alt-text.txt" || name.ends_with(".jpg"),
        (GALLERY, [name]) => {
            ["index.html", "manifest.json", "newsletter.html", "newsletter.html#made-from"].contains(name)
        }
        (GALLERY, ["look", name]) => ["look.css", "look.js", "fonts-licence.txt"].contains(name),
        (GALLERY, ["prints", name]) => name.ends_with(".html"),
        (GALLERY, ["iiif", name, last]) => !name.is_empty() && ["", "info.json"].contains(last),
        (DEMONSTRATION, [name]) => *name == "chart.txt",
        (DEMONSTRATION, ["frames", name]) => name.ends_with(".jpg"),
        _ => false,
    }
}

/// True for a picture's folder in which nothing lies but what a gallery makes: pictures of one name, their list, and our parts.
fn is_only_ours(folder: &Path) -> bool {
    let Ok(entries) = std::fs::read_dir(folder) else { return false };
    entries.into_iter().all(|entry| {
        let Ok(entry) = entry else { return false };
        let name = entry.file_name().to_string_lossy().into_owned();
        match entry.file_type() {
            Ok(t) if t.is_dir() => is_only_ours(&entry.path()),
            Ok(t) if t.is_file() => ["default.jpg", "info.json"].contains(&name.as_str()) || beside::is_part(&name),
            _ => false,
        }
    })
}

/// The list of a folder; `None` where it is empty or not there.
///
/// # Errors
/// It holds somebody else's files or another kind of ours.
fn ours(root: &Path, first: &str) -> Result<Option<String>, FrameError> {
    let refused = |says: String| {
        Err(FrameError::new(says).with_remedy("Choose an empty folder, or one that the same command wrote."))
    };
    let list = root.join(LIST);
    if std::fs::symlink_metadata(&list).is_ok_and(|m| !m.is_file()) {
        return refused(format!("{} is a link.", list.display()));
    }
    let text = crate::regular::text(&list).ok();
    let lock = OsStr::new(turn::FOLDER);
    let foreign = std::fs::read_dir(root).is_ok_and(|mut d| d.any(|e| e.is_ok_and(|e| e.file_name() != lock)));
    match &text {
        None if root.is_file() => refused(format!("{} is a file.", root.display())),
        None if foreign => refused(format!("{} holds something that Fallside did not write.", root.display())),
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

/// Refuses a path in a folder that is, or leads to, something that is read, or that leads out of the folder.
fn meets_nothing(root: &Path, path: &str, reads: &Originals) -> Result<(), FrameError> {
    let place = root.join(path);
    reads.refuse(&place)?;
    place.parent().into_iter().try_for_each(|folder| reads.refuse_folder(folder))?;
    match root.is_dir() && to_write(root, path).is_none() {
        true => Err(leads_out(&place, root)),
        false => Ok(()),
    }
}

fn leads_out(place: &Path, root: &Path) -> FrameError {
    FrameError::new(format!("{} leads out of {}.", place.display(), root.display()))
        .with_remedy("Move it elsewhere and run the same command again.")
}

fn changed(place: &Path) -> FrameError {
    FrameError::new(format!("{} is not as Fallside left it.", place.display()))
        .with_remedy("Move it elsewhere and run the same command again.")
}

impl Handed {
    /// Opens a folder for a kind of hand-off, as "gallery", alone; makes it where it is not there. `reads` is what the command
    /// reads, `writes` the paths that it will write: nothing is written where any of them meets.
    ///
    /// # Errors
    /// It holds somebody else's files or another kind of ours, or what is read; somebody else fills it; it may not be written.
    pub fn open(root: &Path, kind: &str, reads: &Originals, writes: &[String]) -> Result<Self, FrameError> {
        let first = first_line(kind);
        reads.refuse_folder(root)?;
        ours(root, &first)?;
        writes.iter().try_for_each(|path| meets_nothing(root, path, reads))?;
        std::fs::create_dir_all(root).map_err(|e| FrameError::writing(root, &e))?;
        let alone = turn::fill(root)?;
        // Whoever was here before may just have finished.
        let held = ours(root, &first)?;
        let begun = || -> std::io::Result<std::fs::File> {
            if list_has_other_names(root) {
                // Of a snapshot, say: what is added must not stand there too.
                beside::replace(&root.join(LIST), held.as_deref().unwrap_or_default().as_bytes())?;
            }
            let mut list = std::fs::OpenOptions::new().create(true).append(true).open(root.join(LIST))?;
            // A line that a kill cut short must not swallow the next.
            list.write_all(if held.is_none() { format!("{first}\n") } else { "\n".into() }.as_bytes())?;
            Ok(list)
        };
        let list = begun().map_err(|e| FrameError::writing(root, &e))?;
        let mut files = BTreeMap::<String, Vec<String>>::new();
        for (hash, path) in held.iter().flat_map(|t| t.lines().skip(1)).filter_map(|l| l.split_once(' ')) {
            // Whoever else wrote into the list: only what this kind of hand-off makes was made by us.
            if is_made(kind, path) {
                files.entry(path.to_owned()).or_default().push(hash.to_owned());
            }
        }
        let it = Self { root: root.to_owned(), first, files: Mutex::new(files), list: Mutex::new(list), _alone: alone };
        it.sweep();
        Ok(it)
    }

    /// Lists files that an earlier version of ours wrote, which kept no list.
    pub fn recognise<'a>(root: &Path, kind: &str, paths: impl Iterator<Item = &'a str>) -> Result<(), FrameError> {
        let mut text = first_line(kind) + "\n";
        for path in paths {
            text += &format!("{} {path}\n", crate::finish::hash(&root.join(path))?);
        }
        write_beside(&root.join(LIST), text.as_bytes())
    }

    /// Removes what a killed run left half written in the folders of our files.
    fn sweep(&self) {
        let files = held(&self.files);
        let places = files.keys().filter_map(|path| to_write(&self.root, path));
        let mut folders: BTreeSet<PathBuf> = places.filter_map(|p| p.parent().map(Path::to_owned)).collect();
        folders.insert(self.root.clone());
        folders.iter().for_each(|folder| beside::sweep(folder, |_| true));
    }

    /// Refuses where a file of these paths is there that Fallside did not write, or that somebody changed.
    ///
    /// # Errors
    /// There is one.
    pub fn refuse_changed(&self, paths: &[String]) -> Result<(), FrameError> {
        paths.iter().try_for_each(|path| match crate::regular::read(&self.own(path)?) {
            Ok(there) if !self.wrote(path, &there) => Err(changed(&self.place(path))),
            Err(e) if e.kind() != std::io::ErrorKind::NotFound => Err(FrameError::reading(&e)),
            _ => Ok(()),
        })
    }

    /// True where the list has these bytes for a path.
    fn wrote(&self, path: &str, bytes: &[u8]) -> bool {
        let found = blake3::hash(bytes).to_hex().to_string();
        held(&self.files).get(path).is_some_and(|ours| ours.contains(&found))
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
        match crate::regular::read(&place) {
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
                std::fs::create_dir_all(folder).map_err(|e| FrameError::writing(folder, &e))?;
            }
            Err(e) => return Err(FrameError::reading(&e)),
        }
        self.note(path, &hash)?;
        beside::write_unsynced(&place, bytes)?;
        Ok(true)
    }

    /// The place of a path to be written or removed, which must not lead out of the folder.
    pub fn own(&self, path: &str) -> Result<PathBuf, FrameError> {
        to_write(&self.root, path).ok_or_else(|| leads_out(&self.place(path), &self.root))
    }

    /// A folder of ours, to be filled anew. `path` ends in a slash.
    ///
    /// # Errors
    /// One of that name is there which Fallside did not make, or the disk refuses.
    pub fn folder(&self, path: &str) -> Result<PathBuf, FrameError> {
        let place = self.own(path)?;
        if place.exists() {
            if self.noted(path).is_none() || !is_only_ours(&place) {
                let says = format!("{} holds something that is not of Fallside's making.", place.display());
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
                is_only_ours(&place) && std::fs::remove_dir_all(&place).is_ok()
            } else {
                crate::regular::read(&place).is_ok_and(ours) && std::fs::remove_file(&place).is_ok()
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
        if crate::regular::text(&place).is_ok_and(|t| t == text) {
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

    fn open(root: &Path, kind: &str) -> Result<Handed, FrameError> {
        Handed::open(root, kind, &Originals::default(), &[])
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
        assert_eq!(two.keep_only(&BTreeSet::new()), 1);
        two.close().unwrap();
        assert_eq!(std::fs::read(out.join("a.jpg")).unwrap(), b"mine");
        assert!(open(&out, GALLERY).is_err() && open(&out, SHARES).is_ok());
        assert!(open(top.path(), SHARES).is_err(), "it holds a folder that is nobody's");
        assert!(!out.join(turn::FOLDER).exists());
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
        assert_eq!(it.keep_only(&BTreeSet::new()), 0);
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
            assert!(Handed::open(&at(root), SHARES, &reads, &writes).is_err(), "{root}");
        }
        assert!(Handed::open(&at("out"), SHARES, &reads, &[]).is_ok());
        // A list that is a link would be written through.
        std::fs::create_dir(at("sent")).unwrap();
        std::fs::write(at("mine"), first_line(SHARES)).unwrap();
        std::os::unix::fs::symlink(at("mine"), at("sent").join(LIST)).unwrap();
        assert!(open(&at("sent"), SHARES).is_err());
    }
}
