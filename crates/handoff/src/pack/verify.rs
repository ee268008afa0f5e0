//! Verifies a bag: reads every file, reports all damage, compares copies.

use super::bag::{CHECKED, DECLARATION, INFO, MANIFEST, TAG_MANIFEST, hex, is_ours, lines, payload, sha512};
use crate::Event;
use base::Failure;
use base::files::write::write_beside;
use base::files::{composed, is_below};
use base::wording::count;
use base::workers::lock;
use sha2::{Digest, Sha512};
use std::collections::{BTreeMap, BTreeSet};
use std::io::Read;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

/// What is wrong with a bag at one path.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Damage {
    /// Path in the bag.
    pub path: String,
    /// What is wrong with it.
    pub what: String,
}

/// How a bag was found.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Condition {
    /// The bag.
    pub bag: PathBuf,
    /// Files read.
    pub files: usize,
    /// Everything wrong, by path.
    pub damage: Vec<Damage>,
    /// When it was packed, as it says.
    pub packed: Option<String>,
    /// When it was last found good before now.
    pub last_good: Option<String>,
    /// Why this check could not be noted in the bag, of a good one on a medium that takes no writing.
    pub unnoted: Option<String>,
    /// Checksums by path.
    sums: BTreeMap<String, String>,
}

/// How a bag and its copies were found.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Verified {
    /// The bag, then its copies.
    pub bags: Vec<Condition>,
    /// What comparing the copies tells, one sentence each.
    pub compared: Vec<String>,
}

impl Condition {
    /// "/media/archive: good. 96 files read, packed 2026-11-02, last found good 2026-11-25."
    pub fn says(&self) -> String {
        let files = count(self.files, "file", "files");
        let packed = self.packed.as_ref().map_or(String::new(), |d| format!(", packed {d}"));
        let last = self.last_good.as_ref().map_or(String::new(), |d| format!(", last found good {d}"));
        let bag = self.bag.display();
        match self.damage.len() {
            0 => format!("{bag}: good. {files} read{packed}{last}."),
            n => format!("{bag}: damaged. {files} read, {}{packed}{last}.", count(n, "damage", "damages")),
        }
    }

    /// Everything wrong with it, a line each.
    pub fn problems(&self) -> Vec<String> {
        let unnoted = self.unnoted.iter().map(|why| format!("The date of this check could not be recorded: {why}"));
        self.damage.iter().map(|d| format!("{}: {}", d.path, d.what)).chain(unnoted).collect()
    }
}

impl Verified {
    /// Everything wrong, a line each; where there are copies, each with its bag.
    pub fn problems(&self) -> Vec<String> {
        let place = |bag: &Condition| match self.bags.len() {
            1 => String::new(),
            _ => format!("{}: ", bag.bag.display()),
        };
        let all = self.bags.iter().flat_map(|b| b.problems().into_iter().map(move |p| format!("{}{p}", place(b))));
        all.chain(self.compared.iter().cloned()).collect()
    }

    /// True where every bag is whole and all hold the same.
    pub fn good(&self) -> bool {
        self.bags.iter().all(|b| b.damage.is_empty()) && self.compared.is_empty()
    }
}

/// Reads a bag and its copies again, whole.
///
/// # Errors
/// A folder that is no bag.
pub fn verify(bag: &Path, copies: &[PathBuf], tell: &(dyn Fn(Event) + Sync)) -> Result<Verified, Failure> {
    let all = std::iter::once(bag).chain(copies.iter().map(PathBuf::as_path));
    let bags: Vec<Condition> = all.map(|b| examine(b, tell)).collect::<Result<_, _>>()?;
    let compared = bags[1..].iter().flat_map(|copy| compare(&bags[0], copy)).collect();
    Ok(Verified { bags, compared })
}

fn examine(bag: &Path, tell: &(dyn Fn(Event) + Sync)) -> Result<Condition, Failure> {
    let text = |name: &str| base::files::regular::text(&bag.join(name));
    let Ok(declaration) = text("bagit.txt") else {
        return Err(Failure::new(format!("{} is not a bag: it has no bagit.txt.", bag.display()))
            .with_remedy("If packing was interrupted, run the same fallside pack command again."));
    };
    let mut damage = Vec::new();
    let mut wrong = |path: &str, what: String| damage.push(Damage { path: path.into(), what });
    if declaration.trim_start_matches('\u{feff}') != DECLARATION {
        wrong("bagit.txt", "it does not say BagIt 1.0 in UTF-8".into());
    }
    let manifest = text(MANIFEST).unwrap_or_default();
    if manifest.is_empty() {
        wrong(MANIFEST, "it is missing or unreadable, and nothing can be checked without it".into());
    }
    tag_files(bag, &mut wrong);
    let sums: BTreeMap<String, String> = lines(&manifest).collect();
    // A hostile manifest must not lead out of the bag (RFC 8493 section 5).
    let inside = |p: &str| p.starts_with("data/") && !p.split('/').any(|part| part == ".." || part == ".");
    let (listed, odd): (Vec<_>, Vec<_>) = sums.iter().partition(|(p, _)| inside(p));
    odd.iter()
        .for_each(|(p, _)| wrong(p, "the manifest names a path outside the payload, which was not opened".into()));
    let there = on_disk(bag, &sums);
    let unlisted = there.iter().filter(|(listed, _)| !sums.contains_key(*listed));
    unlisted.for_each(|(_, p)| wrong(p, "it is not listed in the manifest".into()));
    let info = text(INFO).unwrap_or_default();
    let label = |name: &str| info.lines().find_map(|l| l.strip_prefix(name)).map(|v| v.trim().to_owned());
    let (read, mut found) = read_all(bag, &listed, &there, tell);
    found.append(&mut damage);
    if let Some(oxum) = label("Payload-Oxum:").filter(|o| *o != format!("{}.{}", read, listed.len())) {
        // Every cause but one has been told by its file; the count is told where nothing else is.
        if found.is_empty() {
            found.push(Damage {
                path: INFO.into(),
                what: format!("it gives {oxum}, but the payload has {read}.{}", listed.len()),
            });
        }
    }
    found.sort();
    let last_good = text(CHECKED).ok().and_then(|t| t.split_whitespace().next().map(str::to_owned));
    let unnoted = found.is_empty().then(|| note(bag, &manifest).err()).flatten().map(|e| e.to_string());
    Ok(Condition {
        bag: bag.to_owned(),
        files: listed.len(),
        damage: found,
        packed: label("Bagging-Date:"),
        last_good,
        unnoted,
        sums,
    })
}

/// Checks what the tag manifest lists.
fn tag_files(bag: &Path, wrong: &mut impl FnMut(&str, String)) {
    let Ok(manifest) = base::files::regular::text(&bag.join(TAG_MANIFEST)) else {
        // A bag of somebody else's need not have one (RFC 8493 section 2.2.1); ours has.
        if is_ours(bag) {
            wrong(
                TAG_MANIFEST,
                "it is missing or cannot be read, and without it nobody can tell whether the other lists were changed"
                    .into(),
            );
        }
        return;
    };
    for (name, sum) in lines(&manifest) {
        if name.contains("..") || name.starts_with('/') {
            wrong(TAG_MANIFEST, format!("it names a path outside the bag, {name}, which was not opened"));
            continue;
        }
        match is_below(bag, &bag.join(&name)).map_or_else(|| Err(missing()), |place| base::files::regular::read(&place))
        {
            Ok(bytes) if sha512(&bytes) == sum => {}
            Ok(_) => wrong(&name, "it has changed since it was packed".into()),
            Err(_) => wrong(&name, "it is missing or cannot be read".into()),
        }
    }
}

/// Every file of the payload by its path as the manifest writes it: a disk may have stored the name in another Unicode form (RFC 8493
/// section 6.1 warns of it, from memory). A path that the manifest does not have stands for itself.
fn on_disk(bag: &Path, sums: &BTreeMap<String, String>) -> BTreeMap<String, String> {
    let there = payload(bag).unwrap_or_default();
    let exact: BTreeSet<&String> = there.iter().filter(|p| sums.contains_key(*p)).collect();
    let listed: BTreeMap<String, &String> =
        sums.keys().filter(|p| !exact.contains(p)).map(|p| (composed(p), p)).collect();
    let name = |path: &String| match listed.get(&composed(path)) {
        Some(listed) if !exact.contains(path) => (*listed).clone(),
        _ => path.clone(),
    };
    there.iter().map(|path| (name(path), path.clone())).collect()
}

/// Reads every listed file, two at a time, and gives their bytes and what is wrong; the first damage is told when it is met.
fn read_all(
    bag: &Path,
    listed: &[(&String, &String)],
    there: &BTreeMap<String, String>,
    tell: &(dyn Fn(Event) + Sync),
) -> (u64, Vec<Damage>) {
    let (next, done) = (AtomicUsize::new(0), AtomicUsize::new(0));
    let found: Mutex<(u64, Vec<Damage>)> = Mutex::default();
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                while let Some((path, sum)) = listed.get(next.fetch_add(1, Ordering::Relaxed)) {
                    // A link leads elsewhere: what lies there is not in the bag.
                    let place = bag.join(there.get(*path).unwrap_or(path));
                    let read = match std::fs::symlink_metadata(&place) {
                        Ok(m) if !m.is_file() || is_below(bag, &place).is_none() => Err(not_here()),
                        _ => digest(&place),
                    };
                    let mut all = lock(&found);
                    let what = match read {
                        Ok((bytes, now)) => {
                            all.0 += bytes;
                            (now != **sum).then(|| "it has changed since it was packed".to_owned())
                        }
                        Err(e) if e.kind() == std::io::ErrorKind::NotFound => Some("it is missing".into()),
                        Err(e) => Some(format!("it cannot be read: {e}")),
                    };
                    if let Some(what) = what {
                        if all.1.is_empty() {
                            tell(Event::Problem(format!("{path}: {what}.")));
                        }
                        all.1.push(Damage { path: (*path).clone(), what });
                    }
                    tell(Event::Done { done: done.fetch_add(1, Ordering::Relaxed) + 1, of: listed.len() });
                }
            });
        }
    });
    found.into_inner().unwrap_or_else(std::sync::PoisonError::into_inner)
}

fn missing() -> std::io::Error {
    std::io::ErrorKind::NotFound.into()
}

fn not_here() -> std::io::Error {
    std::io::Error::other("it is not a regular file of the bag, so it was not opened")
}

fn digest(path: &Path) -> std::io::Result<(u64, String)> {
    let mut file = base::files::regular::open(path)?;
    let (mut sum, mut bytes, mut buffer) = (Sha512::new(), 0, vec![0; 1 << 20]);
    loop {
        match file.read(&mut buffer)? {
            0 => return Ok((bytes, hex(&sum.finalize()))),
            n => {
                sum.update(&buffer[..n]);
                bytes += n as u64;
            }
        }
    }
}

/// Notes in the bag that it was found good today. It lies outside payload and tag manifest, which say nothing of time.
fn note(bag: &Path, manifest: &str) -> Result<(), Failure> {
    let line = format!(
        "{} every file was read and matches its checksum; manifest sha512 {}\n",
        base::clock::today(),
        sha512(manifest.as_bytes())
    );
    write_beside(&bag.join(CHECKED), line.as_bytes())
}

/// What sets a copy apart from the bag.
fn compare(bag: &Condition, copy: &Condition) -> Vec<String> {
    let mut says = Vec::new();
    let name = |c: &Condition| c.bag.display().to_string();
    let damaged = |c: &Condition, p: &str| c.damage.iter().any(|d| d.path == p);
    for (from, to) in [(bag, copy), (copy, bag)] {
        let mend = |d: &&Damage| to.sums.get(&d.path) == from.sums.get(&d.path) && to.sums.contains_key(&d.path);
        let can = from.damage.iter().filter(|d| mend(d) && !damaged(to, &d.path)).count();
        if can > 0 {
            says.push(format!("{} has {can} of the damaged files of {} intact: copy them back.", name(to), name(from)));
        }
    }
    let lacks = |a: &Condition, b: &Condition| a.sums.keys().filter(|p| !b.sums.contains_key(*p)).count();
    let differ = bag.sums.iter().filter(|(p, s)| copy.sums.get(*p).is_some_and(|o| o != *s)).count();
    let (copy_lacks, bag_lacks) = (lacks(bag, copy), lacks(copy, bag));
    if (differ, copy_lacks, bag_lacks) == (0, 0, 0) {
        return says;
    }
    // The later packing is the newer; on the same day, the one that lacks nothing.
    let stale = match bag.packed.cmp(&copy.packed) {
        std::cmp::Ordering::Less => Some(bag),
        std::cmp::Ordering::Greater => Some(copy),
        std::cmp::Ordering::Equal if copy_lacks > 0 && bag_lacks == 0 => Some(copy),
        std::cmp::Ordering::Equal if bag_lacks > 0 && copy_lacks == 0 => Some(bag),
        std::cmp::Ordering::Equal => None,
    };
    let which = stale.map_or("It is not known which one is newer.".into(), |s| format!("{} is out of date.", name(s)));
    says.push(format!(
        "{} and {} are different: {differ} files differ, {copy_lacks} are only in the first, {bag_lacks} only in the \
         second. {which}",
        name(bag),
        name(copy)
    ));
    says
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pack::bag::encoded;

    /// A bag as RFC 8493 section 2 has it, of other software unless it says that it is ours.
    fn bag(root: &Path, files: &[&str], info: &str) {
        std::fs::create_dir_all(root.join("data")).unwrap();
        let mut manifest = String::new();
        for name in files {
            std::fs::write(root.join("data").join(name), name).unwrap();
            manifest += &format!("{}  {}\n", sha512(name.as_bytes()), encoded(&format!("data/{name}")));
        }
        std::fs::write(root.join(MANIFEST), manifest).unwrap();
        std::fs::write(root.join("bagit.txt"), DECLARATION).unwrap();
        std::fs::write(root.join(INFO), info).unwrap();
    }

    fn damage(root: &Path) -> Vec<String> {
        verify(root, &[], &|_| {}).unwrap().bags[0].damage.iter().map(|d| format!("{}: {}", d.path, d.what)).collect()
    }

    /// é as U+00E9 and as e with U+0301 (Unicode Standard Annex 15, table 1): the same name to people, two names to a disk.
    #[test]
    fn a_name_in_another_unicode_form_is_the_same_file() {
        let top = tempfile::tempdir().unwrap();
        let (composed, apart) = ("caf\u{e9}.tif", "cafe\u{301}.tif");
        bag(top.path(), &[composed, "b.tif"], "");
        assert_eq!(damage(top.path()), Vec::<String>::new());
        let data = top.path().join("data");
        std::fs::rename(data.join(composed), data.join(apart)).unwrap();
        assert_eq!(damage(top.path()), Vec::<String>::new(), "as a copying disk stores it");
        std::fs::write(data.join(apart), "other").unwrap();
        assert!(damage(top.path()).iter().any(|d| d.contains("has changed")), "{:?}", damage(top.path()));
        std::fs::write(data.join(composed), composed).unwrap();
        assert_eq!(damage(top.path()).len(), 1, "the listed one is whole, the other is a stranger");
    }

    #[test]
    fn a_tag_manifest_of_ours_is_missed() {
        let top = tempfile::tempdir().unwrap();
        let (ours, other) = (top.path().join("ours"), top.path().join("other"));
        bag(&other, &["a.tif"], "Source-Organization: a museum\n");
        bag(&ours, &["a.tif"], "Bag-Software-Agent: Fallside 0.1.0\n");
        assert_eq!(damage(&other), Vec::<String>::new());
        let told = damage(&ours);
        assert!(told.len() == 1 && told[0].starts_with(TAG_MANIFEST), "{told:?}");
    }
}
