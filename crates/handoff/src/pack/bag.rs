//! A bag on disk (RFC 8493): manifest lines, tag files, and the state left by an interrupted run.

use super::Entries;
use super::contents::Inventory;
use base::Failure;
use base::files::write;
use base::files::write::sync_folder;
use base::files::write::write_beside;
use base::files::{exclusive, is_below, is_plain, is_plain_file, to_write};
use base::workers::lock;
use catalogue::Hold;
use finish::read_report;
use sha2::{Digest, Sha512};
use std::collections::BTreeMap;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Mutex;

/// Says that a folder is a bag (section 2.1.1): exactly these two lines.
pub(super) const DECLARATION: &str = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n";
/// The manifest of the payload.
pub const MANIFEST: &str = "manifest-sha512.txt";
pub(super) const TAG_MANIFEST: &str = "tagmanifest-sha512.txt";
pub(super) const INFO: &str = "bag-info.txt";
/// Notes of the run that packs; gone once the bag is whole.
const PACKING: &str = "packing.txt";
/// Its first line: somebody's own packing list is called the same.
const NOTES: &str = "Fallside pack: files that are in their place, each with its SHA-512 and its bytes.";
/// When the bag was last found good; no tag manifest lists it, since it changes.
pub(super) const CHECKED: &str = "last-good-check.txt";

/// A file of a bag.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Entry {
    /// SHA-512, lower-case hex.
    pub sha512: String,
    pub bytes: u64,
}

/// A bag being packed.
pub(super) struct Bag {
    pub root: PathBuf,
    known: Mutex<Entries>,
    notes: Mutex<std::fs::File>,
    _alone: Hold,
}

impl Bag {
    /// Begins a bag, or goes on with one of ours. A folder with anything else in it is refused, and so is another box's bag.
    pub fn begin(root: &Path, results: &Path, of: &Inventory) -> Result<Self, Failure> {
        let real = |p: &Path| p.canonicalize().unwrap_or_else(|_| p.to_owned());
        if real(root).starts_with(real(results)) || real(results).starts_with(real(root)) {
            let says = format!("{} and {} are inside each other.", root.display(), results.display());
            return Err(Failure::new(says).with_remedy("Choose a separate folder with --out."));
        }
        of.reads.refuse_folder(root)?;
        earlier(root)?;
        let texts = [PACKING, MANIFEST, TAG_MANIFEST, INFO, CHECKED, "bagit.txt", super::READ_ME, super::PRINTS];
        let mut writes = texts.into_iter().chain(of.items.iter().map(|i| i.to.as_str()));
        writes.try_for_each(|path| meets_nothing(root, path, of))?;
        std::fs::create_dir_all(root).map_err(|e| Failure::writing(root, &e))?;
        let alone = exclusive::fill(root)?;
        // Read again under the lock: another run may just have finished.
        let known = earlier(root)?;
        same_box(root, of)?;
        let begun = || -> std::io::Result<std::fs::File> {
            // The notes come first and complete: without them a folder that was begun is nobody's.
            if !root.join(PACKING).exists() {
                write::replace(&root.join(PACKING), format!("{NOTES}\n").as_bytes())?;
            }
            let mut notes = std::fs::OpenOptions::new().append(true).open(root.join(PACKING))?;
            // A line cut short by a crash must not swallow the next.
            notes.write_all(b"\n")?;
            std::fs::create_dir_all(root.join("data"))?;
            // From here until it is complete, it is not a valid bag.
            for tag in ["bagit.txt", TAG_MANIFEST] {
                match std::fs::remove_file(root.join(tag)) {
                    Err(e) if e.kind() != std::io::ErrorKind::NotFound => return Err(e),
                    _ => {}
                }
            }
            Ok(notes)
        };
        let notes = begun().map_err(|e| Failure::writing(root, &e))?;
        // Parts that a kill left half written.
        let half = |p: &String| p.rsplit('/').next().is_some_and(write::is_part);
        payload(root)?.iter().filter(|p| half(p)).for_each(|p| {
            let _ = std::fs::remove_file(root.join(p));
        });
        write::sweep(root, |_| true);
        let (empty, notes) = (Mutex::new(BTreeMap::new()), Mutex::new(notes));
        let bag = Self { root: root.to_owned(), known: empty, notes, _alone: alone };
        known.into_iter().try_for_each(|(path, entry)| bag.note(&path, entry))?;
        Ok(bag)
    }

    /// What an earlier run put at a path, if it is still that long.
    pub fn known(&self, path: &str) -> Option<Entry> {
        let entry = lock(&self.known).get(path).cloned()?;
        let there = std::fs::metadata(self.root.join(path)).ok()?;
        (there.len() == entry.bytes).then_some(entry)
    }

    /// The place of a file to be written.
    ///
    /// # Errors
    /// It leads out of the bag.
    pub fn place(&self, path: &str) -> Result<PathBuf, Failure> {
        to_write(&self.root, path).ok_or_else(|| leads_out(&self.root, path))
    }

    /// Notes a file that is in its place.
    pub fn note(&self, path: &str, entry: Entry) -> Result<(), Failure> {
        let line = format!("{} {} {}\n", entry.sha512, entry.bytes, encoded(path));
        lock(&self.notes).write_all(line.as_bytes()).map_err(|e| Failure::writing(&self.root.join(PACKING), &e))?;
        lock(&self.known).insert(path.to_owned(), entry);
        Ok(())
    }

    /// Writes a small file of the payload.
    pub fn put(&self, path: &str, bytes: &[u8]) -> Result<(), Failure> {
        write_beside(&self.place(path)?, bytes)?;
        self.note(path, Entry { sha512: sha512(bytes), bytes: bytes.len() as u64 })
    }

    pub fn entries(&self) -> Entries {
        lock(&self.known).clone()
    }

    /// Writes the tag files, the declaration last, and says what the bag holds.
    pub fn finish(self, title: Option<&str>) -> Result<Entries, Failure> {
        let entries = self.entries();
        let strange = payload(&self.root)?.into_iter().find(|p| !entries.contains_key(p));
        if let Some(path) = strange {
            return Err(Failure::new(format!("{} does not belong to this bag.", self.root.join(path).display()))
                .with_remedy("Move it elsewhere and run the same command again."));
        }
        let manifest: String = entries.iter().map(|(p, e)| format!("{}  {}\n", e.sha512, encoded(p))).collect();
        let info = info(&entries, title);
        let tags = [("bagit.txt", DECLARATION), (INFO, &info), (MANIFEST, &manifest)];
        let tag_manifest: String = tags.iter().map(|(n, t)| format!("{}  {n}\n", sha512(t.as_bytes()))).collect();
        for (name, text) in [(MANIFEST, &manifest), (INFO, &info), (TAG_MANIFEST, &tag_manifest)] {
            write_beside(&self.root.join(name), text.as_bytes())?;
        }
        sync_folder(&self.root);
        write_beside(&self.root.join("bagit.txt"), DECLARATION.as_bytes())?;
        let _ = std::fs::remove_file(self.root.join(CHECKED));
        // Left over it would only be read again.
        let _ = std::fs::remove_file(self.root.join(PACKING));
        Ok(entries)
    }
}

fn leads_out(root: &Path, path: &str) -> Failure {
    Failure::new(format!("{} leads out of {}. Nothing was written.", root.join(path).display(), root.display()))
        .with_remedy("Move it elsewhere and run the same command again.")
}

/// Refuses a path that is, or leads to, a file that is read, or that leads out of the bag.
fn meets_nothing(root: &Path, path: &str, of: &Inventory) -> Result<(), Failure> {
    let place = root.join(path);
    of.reads.refuse(&place)?;
    place.parent().into_iter().try_for_each(|folder| of.reads.refuse_folder(folder))?;
    if !is_plain(path) || root.is_dir() && to_write(root, path).is_none() {
        return Err(leads_out(root, path));
    }
    Ok(())
}

/// Refuses a bag that holds originals, and none that this project or folder of results knows.
fn same_box(root: &Path, of: &Inventory) -> Result<(), Failure> {
    let reports = std::fs::read_dir(root.join("data/reports")).into_iter().flatten().flatten().map(|e| e.path());
    let held: Vec<_> = reports.filter(|p| is_below(root, p).is_some()).filter_map(|p| read_report(&p)).collect();
    let same = |r: &finish::report::Report| of.known.contains(&r.frame.blake3);
    if held.is_empty() || held.iter().any(same) {
        return Ok(());
    }
    Err(Failure::new(format!("{} is the archive of another box. Nothing was written.", root.display()))
        .with_remedy("Choose an empty folder with --out, or the archive of this box."))
}

/// The paths and sums that notes hold. The last line may have been cut short.
fn noted(notes: &str) -> impl Iterator<Item = (String, Entry)> {
    notes.lines().filter_map(|line| {
        let mut words = line.splitn(3, ' ');
        let sha512 = words.next().filter(|s| s.len() == 128)?.to_owned();
        let bytes = words.next()?.parse().ok()?;
        Some((decoded(words.next()?), Entry { sha512, bytes }))
    })
}

/// True for notes of ours: by their first line, or, as earlier versions wrote them, by every whole line.
fn is_notes(notes: &str) -> bool {
    let earlier = || {
        let (lines, said) = (notes.lines().filter(|l| !l.is_empty()).count(), noted(notes).count());
        said > 0 && said + 1 >= lines
    };
    notes.starts_with(NOTES) || earlier()
}

/// What earlier runs have put into the bag.
fn earlier(root: &Path) -> Result<Entries, Failure> {
    let read = |name: &str| {
        // A link leads elsewhere, and the notes are written on in their place.
        let itself = |p: &PathBuf| std::fs::symlink_metadata(p).is_ok_and(|m| m.is_file());
        let place = Some(root.join(name)).filter(|p| if name == PACKING { is_plain_file(p) } else { itself(p) });
        place.and_then(|p| base::files::regular::text(&p).ok())
    };
    let mut known = Entries::new();
    // A list from somebody else may name files anywhere.
    let payload = |path: &str| path.starts_with("data/") && is_plain(path);
    if let Some(manifest) = read(MANIFEST) {
        for (path, sha512) in lines(&manifest).filter(|(path, _)| payload(path)) {
            if let Some(Ok(there)) = is_below(root, &root.join(&path)).map(std::fs::metadata) {
                known.insert(path, Entry { sha512, bytes: there.len() });
            }
        }
    }
    let notes = read(PACKING).filter(|n| is_notes(n));
    known.extend(notes.iter().flat_map(|n| noted(n)).filter(|(path, _)| payload(path)));
    let nobodys = |name: String| name == exclusive::FOLDER || write::is_part(&name);
    let entries = || std::fs::read_dir(root).into_iter().flatten();
    let empty = entries().all(|e| e.is_ok_and(|e| nobodys(e.file_name().to_string_lossy().into_owned())));
    // Somebody's own packing list in a folder of ours would be taken for our notes.
    let foreign_notes = notes.is_none() && std::fs::symlink_metadata(root.join(PACKING)).is_ok();
    let ours = !foreign_notes && (notes.is_some() || read(INFO).is_some_and(|i| i.contains(AGENT)));
    if empty || ours {
        return Ok(known);
    }
    Err(Failure::new(format!("{} contains something else.", root.display()))
        .with_remedy("Choose an empty folder, or an archive that fallside pack started."))
}

/// True for a bag that Fallside packed, by what it says of itself or by the text that we put into every bag.
pub(super) fn is_ours(root: &Path) -> bool {
    let says = |name: &str, what: &str| base::files::regular::text(&root.join(name)).is_ok_and(|t| t.contains(what));
    says(INFO, AGENT) || says(super::READ_ME, "Fallside")
}

/// True where a folder is empty, or a bag of ours that packing could go on with.
pub fn can_go_on(root: &Path) -> bool {
    earlier(root).is_ok()
}

const AGENT: &str = "Bag-Software-Agent: Fallside";

fn info(entries: &Entries, title: Option<&str>) -> String {
    let bytes: u64 = entries.values().map(|e| e.bytes).sum();
    // A label's value goes on in the next line only after a space; ours is one line.
    let title = title.unwrap_or("Instant prints: originals, masters, mounts and reports").replace(['\r', '\n'], " ");
    format!(
        "{AGENT} {}\nExternal-Description: {title}\nBagging-Date: {}\nBag-Size: {}\nPayload-Oxum: {bytes}.{}\n",
        env!("CARGO_PKG_VERSION"),
        base::clock::today(),
        size(bytes),
        entries.len()
    )
}

/// Formats a number of bytes for people.
pub(super) fn size(bytes: u64) -> String {
    let units = [(1e12, "TB"), (1e9, "GB"), (1e6, "MB"), (1e3, "kB")];
    let b = bytes as f64;
    units.iter().find(|(u, _)| b >= *u).map_or(format!("{bytes} bytes"), |(u, n)| format!("{:.1} {n}", b / u))
}

pub(super) fn sha512(bytes: &[u8]) -> String {
    hex(&Sha512::digest(bytes))
}

pub(super) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

/// The lines of a manifest: path and checksum.
pub(super) fn lines(manifest: &str) -> impl Iterator<Item = (String, String)> {
    manifest.lines().filter_map(|line| {
        let (sum, path) = line.split_once([' ', '\t'])?;
        let path = path.trim_start_matches([' ', '\t']).trim_start_matches('*');
        (!path.is_empty()).then(|| (decoded(path), sum.to_lowercase()))
    })
}

/// A path as a manifest writes it (section 2.1.3): these three characters and nothing else.
pub(super) fn encoded(path: &str) -> String {
    path.replace('%', "%25").replace('\n', "%0A").replace('\r', "%0D")
}

fn decoded(path: &str) -> String {
    let lower = [("%0A", "\n"), ("%0a", "\n"), ("%0D", "\r"), ("%0d", "\r"), ("%25", "%")];
    lower.iter().fold(path.to_owned(), |p, (from, to)| p.replace(from, to))
}

/// Every file below `data`, by its path in the bag.
pub(super) fn payload(root: &Path) -> Result<Vec<String>, Failure> {
    let mut out = Vec::new();
    let mut folders = vec![PathBuf::from("data")];
    while let Some(folder) = folders.pop() {
        let at = root.join(&folder);
        let failed = |e: std::io::Error| Failure::new(format!("{} could not be read: {e}.", at.display()));
        for entry in std::fs::read_dir(&at).map_err(failed)? {
            let entry = entry.map_err(failed)?;
            let path = folder.join(entry.file_name());
            match entry.file_type().map_err(failed)?.is_dir() {
                true => folders.push(path),
                false => out.push(super::slashed(&path)),
            }
        }
    }
    out.sort();
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 8493 section 2.1.3: LF, CR and % are encoded, nothing else is; any case, any white space, read back.
    #[test]
    fn manifest_lines_come_back() {
        for path in ["data/a b.tif", "data/100%.tif", "data/two\nlines\r.txt", "data/%0A.txt", "data/ä/é.tif"] {
            let sum = sha512(path.as_bytes());
            let line = format!("{}  {}\n", sum.to_uppercase(), encoded(path));
            assert_eq!(lines(&line).collect::<Vec<_>>(), [(path.to_owned(), sum.clone())], "{line}");
            assert_eq!(lines(&format!("{sum}\t*{}", encoded(path))).next().unwrap().0, path);
        }
        assert_eq!(encoded("data/ü%\n"), "data/ü%25%0A");
    }

    /// FIPS 180-4, the example for "abc".
    #[test]
    fn sha512_is_that_of_the_standard() {
        assert!(sha512(b"abc").starts_with("ddaf35a193617abacc417349ae204131"));
        assert_eq!(size(1_234_567), "1.2 MB");
    }
}
