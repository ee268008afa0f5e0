//! Finds the frames in folders and files, in natural order.

use base::files::name_of;
use base::files::regular;
use std::cmp::Ordering;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// One exposure: its best file, and other files of the same name that are not used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Source {
    /// The file to use.
    pub path: PathBuf,
    /// Other files of the same exposure, best first.
    pub twins: Vec<PathBuf>,
}

/// What the inputs hold.
#[derive(Clone, Debug, Default)]
pub struct Gathered {
    /// Exposures, folders in the order given, files in natural order.
    pub sources: Vec<Source>,
    /// Folders that files are read from.
    pub folders: Vec<PathBuf>,
    /// Lines about what was left out.
    pub says: Vec<String>,
    /// Lines about what could not be read.
    pub problems: Vec<String>,
}

/// Extensions of raw files, the best source for an exposure.
const RAW: &[&str] = &[
    "dng", "3fr", "arw", "cr2", "cr3", "erf", "fff", "iiq", "kdc", "mef", "mos", "mrw", "nef", "nrw", "orf", "pef",
    "raf", "raw", "rw2", "rwl", "sr2", "srf", "srw", "x3f",
];
/// Extensions of developed pictures, the most faithful first.
const DEVELOPED: &[&str] = &["tif", "tiff", "png", "jpg", "jpeg"];

/// Reads the inputs: the files of a folder and, on a card, those of `DCIM` and its numbered folders; hidden files and `out` are
/// skipped. A file given directly is used whatever its name.
pub fn gather(inputs: &[PathBuf], out: &Path) -> Gathered {
    let mut found = Gathered::default();
    let out = out.canonicalize().unwrap_or_else(|_| out.to_owned());
    for input in inputs {
        match std::fs::metadata(input) {
            Err(e) => found.problems.push(line(input, &e)),
            Ok(m) if m.is_dir() => folder(input, &out, &mut found),
            Ok(_) if let Err(e) = regular::check(input) => found.problems.push(line(input, &e)),
            Ok(_) => {
                found.folders.extend(input.parent().map(Path::to_owned));
                found.sources.push(Source { path: input.clone(), twins: vec![] });
            }
        }
    }
    for source in &mut found.sources {
        source.twins.retain(|twin| named_in_text(twin, &mut found.problems));
    }
    found.sources.retain(|source| named_in_text(&source.path, &mut found.problems));
    let mut seen = std::collections::BTreeSet::new();
    found.sources.retain(|s| seen.insert(s.path.canonicalize().unwrap_or_else(|_| s.path.clone())));
    found
}

/// True for a path that reports, catalogues and archives can hold, which are text. A path of other bytes would not be found again: it is
/// named and left out.
fn named_in_text(path: &Path, problems: &mut Vec<String>) -> bool {
    if path.to_str().is_none() {
        problems.push(format!(
            "{}: the name of this file or of a folder above it is not text in UTF-8. It is left out. Give it another name and run the \
             same command again.",
            path.display()
        ));
    }
    path.to_str().is_some()
}

/// True for a file whose name suggests a frame.
pub fn is_picture(path: &Path) -> bool {
    let hidden = path.file_name().is_none_or(|n| n.to_string_lossy().starts_with('.'));
    !hidden && rank(path).is_some()
}

fn line(path: &Path, error: &std::io::Error) -> String {
    format!("{}: {}", path.display(), base::Failure::reading(error))
}

fn folder(path: &Path, out: &Path, found: &mut Gathered) {
    let entries = match std::fs::read_dir(path).and_then(Iterator::collect::<Result<Vec<_>, _>>) {
        Ok(entries) => entries,
        Err(e) => return found.problems.push(line(path, &e)),
    };
    found.folders.push(path.to_owned());
    let (mut files, mut folders) = (vec![], vec![]);
    for entry in entries.iter().filter(|e| !e.file_name().to_string_lossy().starts_with('.')) {
        let place = entry.path();
        // Follows links: a linked folder of frames counts as a folder.
        match std::fs::metadata(&place) {
            Ok(m) if m.is_dir() => folders.push(place),
            Ok(m) if m.is_file() && rank(&place).is_some() => files.push(place),
            // Opening shows what it is; a regular file that cannot be opened fails as a frame.
            Ok(m) if !m.is_file() && rank(&place).is_some() => {
                let e = regular::check(&place).err();
                found.problems.extend(e.map(|e| line(&place, &e)));
            }
            Ok(_) => {}
            Err(e) => found.problems.push(line(&place, &e)),
        }
    }
    found.sources.extend(pair_twins(files));
    folders.sort_by(|a, b| natural(a, b));
    let is_card = name_of(path).eq_ignore_ascii_case("dcim");
    let (enter, left): (Vec<_>, Vec<_>) = folders
        .into_iter()
        .filter(|f| f.canonicalize().map_or(true, |c| c != out) && !f.join(base::files::MARK).exists())
        .partition(|f| name_of(f).eq_ignore_ascii_case("dcim") || (is_card && card_folder(&name_of(f))));
    enter.iter().for_each(|f| folder(f, out, found));
    if !left.is_empty() {
        let names: Vec<String> = left.iter().map(|f| name_of(f)).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        found.says.push(format!(
            "{}: subfolders are not searched ({}). Give them as arguments to finish them too.",
            path.display(),
            base::wording::list(&names)
        ));
    }
}

/// A card's numbered folder: three digits and five letters, digits or underscores (DCF 2.0, JEITA CP-3461, from memory).
fn card_folder(name: &str) -> bool {
    name.len() == 8
        && name.bytes().take(3).all(|b| b.is_ascii_digit())
        && name.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'_')
}

/// 0 for raw, then developed pictures by faithfulness; `None` for anything else.
fn rank(path: &Path) -> Option<usize> {
    let ending = path.extension()?.to_string_lossy().to_ascii_lowercase();
    if RAW.contains(&ending.as_str()) {
        return Some(0);
    }
    DEVELOPED.iter().position(|d| *d == ending).map(|i| i + 1)
}

/// Groups the files of a folder into exposures: files with the same name and different extensions are one exposure. Two files of one
/// extension are two exposures, though their names differ only by case (`DSC_2.jpg`, `dsc_2.JPG`).
pub fn pair_twins(mut files: Vec<PathBuf>) -> Vec<Source> {
    files.sort_by(|a, b| natural(a, b));
    let mut exposures: Vec<Vec<PathBuf>> = vec![];
    let mut of: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for file in files {
        let alike = of.entry(lower(file.file_stem())).or_default();
        let free = |i: &&usize| exposures[**i].iter().all(|f| lower(f.extension()) != lower(file.extension()));
        let own_name = |i: &&usize| exposures[**i].iter().any(|f| f.file_stem() == file.file_stem());
        let place = alike.iter().filter(free).find(own_name).or_else(|| alike.iter().find(free));
        match place {
            Some(i) => exposures[*i].push(file),
            None => {
                alike.push(exposures.len());
                exposures.push(vec![file]);
            }
        }
    }
    let source = |mut files: Vec<PathBuf>| {
        files.sort_by_key(|f| rank(f));
        let path = files.remove(0);
        Source { path, twins: files }
    };
    exposures.into_iter().map(source).collect()
}

fn lower(part: Option<&std::ffi::OsStr>) -> String {
    part.map(|p| p.to_string_lossy().to_lowercase()).unwrap_or_default()
}

/// Natural order: runs of digits compare as numbers, so frame 2 comes before frame 10.
pub fn natural(a: &Path, b: &Path) -> Ordering {
    let (a, b) = (a.to_string_lossy().to_lowercase(), b.to_string_lossy().to_lowercase());
    let (mut x, mut y) = (a.as_str(), b.as_str());
    loop {
        match (x.chars().next(), y.chars().next()) {
            (None, None) => return a.cmp(&b),
            (None, _) => return Ordering::Less,
            (_, None) => return Ordering::Greater,
            (Some(p), Some(q)) if p.is_ascii_digit() && q.is_ascii_digit() => {
                let (m, rest_x) = number(x);
                let (n, rest_y) = number(y);
                match m.len().cmp(&n.len()).then_with(|| m.cmp(n)) {
                    Ordering::Equal => (x, y) = (rest_x, rest_y),
                    other => return other,
                }
            }
            (Some(p), Some(q)) => match p.cmp(&q) {
                Ordering::Equal => (x, y) = (&x[p.len_utf8()..], &y[q.len_utf8()..]),
                other => return other,
            },
        }
    }
}

/// The leading digits without leading zeros, and the rest.
fn number(s: &str) -> (&str, &str) {
    let end = s.find(|c: char| !c.is_ascii_digit()).unwrap_or(s.len());
    (s[..end].trim_start_matches('0'), &s[end..])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn frames_come_in_the_order_a_person_counts() {
        let mut names = ["F10.jpg", "F9.jpg", "f1.jpg", "F010.png", "a.jpg", "F9b.jpg"].map(PathBuf::from).to_vec();
        names.sort_by(|a, b| natural(a, b));
        let names: Vec<_> = names.iter().map(|p| p.to_string_lossy().into_owned()).collect();
        assert_eq!(names, ["a.jpg", "f1.jpg", "F9.jpg", "F9b.jpg", "F10.jpg", "F010.png"]);
    }

    #[test]
    fn the_raw_file_stands_for_its_twins() {
        let files = ["b.jpg", "a.JPG", "a.dng", "a.tif"].map(PathBuf::from).to_vec();
        let sources = pair_twins(files);
        assert_eq!(sources[0].path, Path::new("a.dng"));
        assert_eq!(sources[0].twins, [PathBuf::from("a.tif"), PathBuf::from("a.JPG")]);
        assert_eq!(sources[1], Source { path: "b.jpg".into(), twins: vec![] });
    }

    #[test]
    fn two_files_of_one_kind_are_two_exposures() {
        let names = |files: &[&str]| -> Vec<Vec<String>> {
            let sources = pair_twins(files.iter().map(PathBuf::from).collect());
            let all = sources.iter().map(|s| std::iter::once(&s.path).chain(&s.twins).map(|p| name_of(p)).collect());
            all.collect()
        };
        assert_eq!(names(&["DSC_2.jpg", "dsc_2.JPG"]), [["DSC_2.jpg"], ["dsc_2.JPG"]]);
        let all = names(&["DSC_2.jpg", "dsc_2.JPG", "dsc_2.NEF", "DSC_2.nef"]);
        assert_eq!(all, [["DSC_2.nef", "DSC_2.jpg"], ["dsc_2.NEF", "dsc_2.JPG"]]);
        assert_eq!(names(&["IMG_1.NEF", "img_1.jpg"]), [["IMG_1.NEF", "img_1.jpg"]]);
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn a_name_that_is_no_text_is_told_and_left_out() {
        use std::os::unix::ffi::OsStrExt;
        let top = tempfile::tempdir().unwrap();
        let odd = |bytes: &[u8]| top.path().join(std::ffi::OsStr::from_bytes(bytes));
        for name in [&b"one-\xff.jpg"[..], b"one-\xfe.jpg", b"two.jpg", b"two.tif"] {
            std::fs::write(odd(name), b"").unwrap();
        }
        let found = gather(&[top.path().to_owned()], Path::new("/nowhere"));
        assert_eq!(found.sources, [Source { path: odd(b"two.tif"), twins: vec![odd(b"two.jpg")] }]);
        assert_eq!(found.problems.len(), 2, "{:?}", found.problems);
        assert!(found.problems.iter().all(|p| p.contains("not text in UTF-8")), "{:?}", found.problems);
    }

    #[test]
    fn a_card_is_entered_and_other_folders_are_named() {
        let top = tempfile::tempdir().unwrap();
        for file in ["DCIM/100ABCDE/1.jpg", "DCIM/notes/2.jpg", "other/3.jpg", "4.jpg", ".5.jpg", "read.txt"] {
            let path = top.path().join(file);
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(path, b"").unwrap();
        }
        let found = gather(&[top.path().to_owned()], Path::new("/nowhere/out"));
        let names: Vec<_> = found.sources.iter().map(|s| name_of(&s.path)).collect();
        assert_eq!(names, ["4.jpg", "1.jpg"]);
        assert_eq!(found.says.len(), 2, "{:?}", found.says);
        assert!(found.says.iter().any(|s| s.contains("(other)")) && found.says.iter().any(|s| s.contains("(notes)")));
        assert!(found.problems.is_empty());
    }

    #[test]
    fn what_is_not_there_is_one_line() {
        let found = gather(&["/no/such/box".into()], Path::new("/out"));
        assert_eq!(found.problems, ["/no/such/box: There is no such file."]);
    }
}
