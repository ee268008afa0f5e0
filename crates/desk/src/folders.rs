//! Folders of this machine to import from: their names, and how many frames each holds. Never a file's name, never a file's content; and
//! only what whoever runs the desk may read, since the desk runs as them.

use super::Desk;
use super::wire::intake::{Folder, Folders, FoldersQuery, Start, StartKind};
use base::files::{MARK, name_of};
use project::{Error, Result};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// How long folders are counted: longer than this a person waits for the list. What is not counted by then has no number.
const COUNTING: Duration = Duration::from_millis(900);
/// Most folders that are listed: more than anybody looks through; the rest is found by typing its path.
const MOST: usize = 1000;
/// Where a system mounts disks and cards: below these, one folder for each, or for each user and each disk.
const MOUNTED: [&str; 4] = ["/Volumes", "/media", "/run/media", "/mnt"];
/// The kernel's own trees, which hold no pictures and much to read.
const SYSTEM: [&str; 3] = ["/proc", "/sys", "/dev"];

impl Desk {
    /// A folder of this machine with the folders in it, each with how many frames it holds.
    ///
    /// # Errors
    /// There is no such folder, it may not be read, or this desk only reads.
    pub fn folders(&self, asked: &FoldersQuery) -> Result<Folders> {
        self.may_write()?;
        let starts = starts(self.imported_from()?);
        let at = match &asked.at {
            Some(at) => at.clone(),
            None => PathBuf::from(starts.first().map_or("/", |s| s.path.as_str())),
        };
        let refused = |says: String| Error::Refused(says);
        if !at.is_absolute() {
            return Err(refused(format!("{} is no full path. Begin it with /.", at.display())));
        }
        let real = at.canonicalize().map_err(|e| refused(why(&at, &e)))?;
        if !real.is_dir() {
            return Err(refused(format!("{} is a file. Choose the folder that it lies in.", at.display())));
        }
        let (found, hidden) = inside(&real).map_err(|e| refused(why(&at, &e)))?;
        let begun = Instant::now();
        let own = self.folder.join(project::FINISHED);
        let frames = frames(&real, &own);
        let counted = |path: &Path| (begun.elapsed() < COUNTING).then(|| self::frames(path, &own));
        let folder = |path: &PathBuf| Folder { name: name_of(path), path: text(path), frames: counted(path) };
        let folders: Vec<Folder> = found.iter().take(MOST).map(folder).collect();
        let says = match (found.len().saturating_sub(MOST), hidden) {
            (0, 0) => String::new(),
            (0, n) => format!(
                "{} not shown: you may not read {}.",
                base::wording::count(n, "folder is", "folders are"),
                them(n)
            ),
            (more, _) => format!("{more} more folders are not shown. Type the path of one."),
        };
        let above = real.parent().map(text);
        Ok(Folders { at: text(&real), above, frames, folders, starts, says })
    }

    /// Folders that were imported from, the newest first.
    fn imported_from(&self) -> Result<Vec<PathBuf>> {
        /// As many as are looked back to.
        const BACK: usize = 8;
        let takes = self.project().catalogue().taken_in(BACK)?;
        Ok(takes.into_iter().map(|t| PathBuf::from(t.from)).filter(|p| p.is_absolute() && p.is_dir()).collect())
    }
}

fn them(n: usize) -> &'static str {
    if n == 1 { "it" } else { "them" }
}

fn why(path: &Path, error: &std::io::Error) -> String {
    match error.kind() {
        std::io::ErrorKind::NotFound => format!("There is nothing at {}.", path.display()),
        std::io::ErrorKind::PermissionDenied => format!("You do not have permission to read {}.", path.display()),
        _ => format!("{} cannot be read: {error}.", path.display()),
    }
}

fn text(path: &Path) -> String {
    path.to_string_lossy().into_owned()
}

/// The folders in a folder, in natural order, and how many may not be read. Hidden ones, those that Fallside writes and those whose
/// names are not text are no folders of frames.
fn inside(folder: &Path) -> std::io::Result<(Vec<PathBuf>, usize)> {
    let (mut found, mut hidden) = (vec![], 0);
    for entry in std::fs::read_dir(folder)?.flatten() {
        let path = entry.path();
        let named = entry.file_name().to_str().is_some_and(|n| !n.starts_with('.'));
        if !named || !path.is_dir() || SYSTEM.iter().any(|s| path == Path::new(s)) {
            continue;
        }
        match std::fs::read_dir(&path) {
            Ok(_) if path.join(MARK).exists() => {}
            Ok(_) => found.push(path),
            Err(_) => hidden += 1,
        }
    }
    found.sort_by_cached_key(|p| natural(&name_of(p)));
    Ok((found, hidden))
}

/// Names so that "10" follows "9", whatever their case.
fn natural(name: &str) -> Vec<(String, u64)> {
    let mut key = vec![(String::new(), 0u64)];
    for c in name.to_lowercase().chars() {
        let last = key.len() - 1;
        match c.to_digit(10) {
            Some(digit) => key[last].1 = key[last].1.saturating_mul(10).saturating_add(u64::from(digit)),
            None if key[last].1 > 0 => key.push((c.to_string(), 0)),
            None => key[last].0.push(c),
        }
    }
    key
}

/// How many frames an import of the folder would find and may read: those of a card's `DCIM` too, files of one exposure once.
fn frames(folder: &Path, own: &Path) -> usize {
    let readable = |s: &&finish::Source| base::files::regular::check(&s.path).is_ok();
    finish::gather(&[folder.to_owned()], own).sources.iter().filter(readable).count()
}

/// The home folder, then mounted cards and disks, then folders that were imported from.
fn starts(before: Vec<PathBuf>) -> Vec<Start> {
    let start = |kind, path: &Path| Start { kind, name: name_of(path), path: text(path) };
    let home = std::env::home_dir().filter(|h| h.is_dir()).map(|h| start(StartKind::Home, &h));
    let mut all: Vec<Start> = home.into_iter().collect();
    for disk in MOUNTED.iter().flat_map(|at| mounted(Path::new(at))) {
        let camera = disk.join("DCIM").is_dir();
        all.push(start(if camera { StartKind::Card } else { StartKind::Disk }, &disk));
    }
    // A card is what somebody who imports looks for.
    all.sort_by_key(|s| s.kind != StartKind::Card);
    for path in before {
        if all.iter().all(|s| Path::new(&s.path) != path) {
            all.push(start(StartKind::Before, &path));
        }
    }
    all
}

/// Disks that are mounted below a folder: on a device other than the folder's own, there or one level deeper.
fn mounted(at: &Path) -> Vec<PathBuf> {
    let Ok((folders, _)) = inside(at) else { return vec![] };
    folders.into_iter().flat_map(|f| if is_mount(&f) { vec![f] } else { deeper(&f) }).collect()
}

fn deeper(folder: &Path) -> Vec<PathBuf> {
    inside(folder).map(|(all, _)| all).unwrap_or_default().into_iter().filter(|f| is_mount(f)).collect()
}

#[cfg(unix)]
fn is_mount(path: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    let device = |p: &Path| std::fs::metadata(p).map(|m| m.dev()).ok();
    path.parent().is_some_and(|parent| device(path) != device(parent))
}

#[cfg(not(unix))]
fn is_mount(_path: &Path) -> bool {
    true
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Arc;

    fn desk(top: &Path) -> Arc<Desk> {
        Desk::open(&top.join("project"), Box::new(|_| {})).unwrap()
    }

    #[test]
    fn folders_are_listed_with_their_frames_and_nothing_else() {
        let top = tempfile::tempdir().unwrap();
        let card = top.path().join("card");
        std::fs::create_dir_all(card.join("DCIM/100ABCDE")).unwrap();
        for name in ["F1.jpg", "F1.dng", "F2.jpg", "notes.txt", ".F3.jpg"] {
            std::fs::write(card.join("DCIM/100ABCDE").join(name), "x").unwrap();
        }
        for name in ["box 10", "box 9", ".hidden"] {
            std::fs::create_dir_all(top.path().join(name)).unwrap();
        }
        let desk = desk(top.path());
        let list = |at: &Path| desk.folders(&FoldersQuery { at: Some(at.to_owned()) });
        let found = list(top.path()).unwrap();
        let names: Vec<(&str, Option<usize>)> = found.folders.iter().map(|f| (f.name.as_str(), f.frames)).collect();
        // Files of one name are one exposure (DCF 2.0); the project itself and hidden folders are not offered.
        assert_eq!(names, [("box 9", Some(0)), ("box 10", Some(0)), ("card", Some(2))]);
        let text = serde_json::to_string(&found).unwrap();
        assert!(!text.contains("F1") && !text.contains("notes"), "no file is named: {text}");
        assert_eq!(found.above.as_deref(), top.path().canonicalize().unwrap().parent().and_then(Path::to_str));
        let refused = |at: &Path| list(at).unwrap_err().to_string();
        assert!(refused(&card.join("DCIM/100ABCDE/notes.txt")).contains("is a file"));
        assert!(refused(&top.path().join("gone")).starts_with("There is nothing at"));
        assert!(refused(Path::new("card")).contains("no full path"));
    }
}
