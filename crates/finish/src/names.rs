//! Names of results: the frame's name, made unique if two frames share one.

use base::files::{alike, composed};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// One name per path, in order: the stem; where stems clash, the folder and the stem; where those clash, the ending too;
/// and at last a count.
pub fn stems(paths: &[&Path]) -> Vec<String> {
    let part = |p: Option<&std::ffi::OsStr>| p.map(|s| clean(&s.to_string_lossy())).unwrap_or_default();
    let stem = |p: &Path| part(p.file_stem());
    let folder = |p: &Path| part(p.parent().and_then(Path::file_name));
    let ending = |p: &Path| part(p.extension());
    let forms: [&dyn Fn(&Path) -> String; 3] =
        [&stem, &|p| format!("{}-{}", folder(p), stem(p)), &|p| format!("{}-{}-{}", folder(p), stem(p), ending(p))];
    let mut names: Vec<String> = paths.iter().map(|p| forms[0](p)).collect();
    for form in &forms[1..] {
        let counts = count(&names);
        for (name, path) in names.iter_mut().zip(paths) {
            if counts[&alike(name)] > 1 {
                *name = form(path);
            }
        }
    }
    let counts = count(&names);
    let mut used: BTreeMap<String, usize> = BTreeMap::new();
    for name in &mut names {
        let key = alike(name);
        if counts[&key] > 1 {
            let n = used.entry(key).or_insert(0);
            *n += 1;
            *name = format!("{name}-{n}");
        }
    }
    names
}

/// Names for the prints of a frame with several: its name with a number, and more dashes if another frame has that name.
pub fn parts(stem: &str, of: u32, taken: &BTreeSet<String>) -> Vec<String> {
    let with = |dashes: usize| (1..=of).map(move |n| format!("{stem}{}{n}", "-".repeat(dashes)));
    // As many frames as there are can stand in the way of as many names.
    let free = (1..=taken.len() + 1).find(|d| with(*d).all(|name| !taken.contains(&alike(&name))));
    with(free.unwrap_or(1)).collect()
}

/// Each path's own stem, whatever the others are called.
pub fn own(paths: &[&Path]) -> Vec<String> {
    paths.iter().map(|p| clean(&p.file_stem().map(|s| s.to_string_lossy()).unwrap_or_default())).collect()
}

/// A name that no other frame has: 40 bits of the hash tell apart a million frames of one name with a chance of one in two
/// that any two clash, and ten thousand with one in twenty thousand.
pub fn with_hash(stem: &str, blake3: &str) -> String {
    format!("{stem}-{}", blake3.get(..10).unwrap_or(blake3))
}

/// Counts names that some file system takes for one.
fn count(names: &[String]) -> BTreeMap<String, usize> {
    names.iter().fold(BTreeMap::new(), |mut m, n| {
        *m.entry(alike(n)).or_insert(0) += 1;
        m
    })
}

/// Replaces characters that are unsafe in a URL or a file name.
pub fn clean(name: &str) -> String {
    let kept: String =
        composed(name).chars().map(|c| if c.is_alphanumeric() || "-_. ".contains(c) { c } else { '_' }).collect();
    let kept = kept.trim_matches(['.', ' ']).to_owned();
    if kept.is_empty() { "frame".into() } else { kept }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(paths: &[&str]) -> Vec<String> {
        stems(&paths.iter().map(Path::new).collect::<Vec<_>>())
    }

    #[test]
    fn frames_keep_their_own_names_until_they_clash() {
        assert_eq!(names(&["/a/F1.jpg", "/a/F2.jpg"]), ["F1", "F2"]);
        assert_eq!(names(&["/001/photo.jpg", "/002/photo.jpg", "/x/F1.jpg"]), ["001-photo", "002-photo", "F1"]);
        assert_eq!(names(&["/a/p.jpg", "/a/p.tif"]), ["a-p-jpg", "a-p-tif"]);
        assert_eq!(names(&["/1/a/p.jpg", "/2/a/P.jpg"]), ["a-p-jpg-1", "a-P-jpg-2"]);
        // é as one character and as two: some disks take them for one name.
        assert_eq!(names(&["/1/caf\u{e9}.jpg", "/2/cafe\u{301}.jpg"]), ["1-caf\u{e9}", "2-caf\u{e9}"]);
    }

    #[test]
    fn prints_of_a_frame_are_numbered_and_take_no_other_frames_name() {
        let taken = ["f7", "f7-2", "f8"].map(str::to_owned).into();
        assert_eq!(parts("F8", 2, &taken), ["F8-1", "F8-2"]);
        assert_eq!(parts("F7", 2, &taken), ["F7--1", "F7--2"]);
    }

    #[test]
    fn odd_characters_do_not_reach_the_disk() {
        assert_eq!(names(&["/a/wh?t#is.this.jpg", "/a/...jpg"]), ["wh_t_is.this", "frame"]);
    }
}
