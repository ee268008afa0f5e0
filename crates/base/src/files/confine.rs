//! Confines paths that were read from a file to the folder that the file describes.

use std::path::{Component, Path, PathBuf};

/// True for a path made of plain names only: not absolute, without `.` or `..`, empty or odd parts.
///
/// ```
/// use base::files::is_plain;
/// assert!(is_plain("masters/a.tif") && !is_plain("../a.tif") && !is_plain("/etc/hosts"));
/// ```
pub fn is_plain(path: &str) -> bool {
    let text = path.strip_suffix('/').unwrap_or(path);
    !text.is_empty()
        && !text.contains(['\\', '\0'])
        // `Path::components` skips a dot in the middle.
        && text.split('/').all(|part| !matches!(part, "" | "." | ".."))
        && Path::new(text).components().all(|c| matches!(c, Component::Normal(_)))
}

/// The canonical path of an existing file; `None` if it does not exist, or is outside `root` once links are followed.
#[cfg(test)]
fn inside(root: &Path, path: &str) -> Option<PathBuf> {
    is_plain(path).then(|| is_below(root, &root.join(path)))?
}

/// The canonical path of `place`, if it exists and is below `root` once links are followed.
pub fn is_below(root: &Path, place: &Path) -> Option<PathBuf> {
    let (real, root) = (place.canonicalize().ok()?, root.canonicalize().ok()?);
    (real != root && real.starts_with(&root)).then_some(real)
}

/// A path in `root` that may be written or removed, whether it exists or not: its folder is in `root` once links are followed, and
/// the path itself is not a link. `None` for any other.
pub fn to_write(root: &Path, path: &str) -> Option<PathBuf> {
    if !is_plain(path) {
        return None;
    }
    let place = root.join(path.strip_suffix('/').unwrap_or(path));
    let root_is = root.canonicalize().ok()?;
    // The nearest existing folder decides: nothing below it exists that could lead elsewhere.
    let mut folder = place.parent()?;
    while std::fs::symlink_metadata(folder).is_err() {
        folder = folder.parent()?;
    }
    let is_link = std::fs::symlink_metadata(&place).is_ok_and(|m| m.is_symlink());
    (!is_link && folder.canonicalize().ok()?.starts_with(root_is)).then_some(place)
}

/// True for a file with one name that is not a link: writing to it changes no other file.
pub fn is_plain_file(place: &Path) -> bool {
    #[cfg(unix)]
    let one_name = |m: &std::fs::Metadata| std::os::unix::fs::MetadataExt::nlink(m) == 1;
    #[cfg(not(unix))]
    let one_name = |_: &std::fs::Metadata| true;
    std::fs::symlink_metadata(place).is_ok_and(|m| m.is_file() && one_name(&m))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_plain_paths_below_the_folder_are_taken() {
        let top = tempfile::tempdir().unwrap();
        let root = top.path().join("root");
        std::fs::create_dir_all(root.join("a")).unwrap();
        std::fs::write(root.join("a/f"), "x").unwrap();
        std::fs::write(top.path().join("secret"), "x").unwrap();
        assert!(inside(&root, "a/f").is_some() && inside(&root, "a/").is_some() && inside(&root, "a/g").is_none());
        assert!(to_write(&root, "a/g").is_some() && to_write(&root, "new/g/").is_some());
        for way in ["", "/", ".", "..", "../secret", "a/../../secret", "/etc/passwd", "a//f", "a/./f", "a\\f", "a\0f"] {
            assert!(inside(&root, way).is_none() && to_write(&root, way).is_none(), "{way:?}");
        }
    }

    #[cfg(unix)]
    #[test]
    fn links_lead_nowhere() {
        let top = tempfile::tempdir().unwrap();
        let root = top.path().join("root");
        std::fs::create_dir_all(&root).unwrap();
        std::fs::create_dir_all(top.path().join("other")).unwrap();
        std::fs::write(top.path().join("other/f"), "x").unwrap();
        std::os::unix::fs::symlink(top.path().join("other"), root.join("link")).unwrap();
        for way in ["link", "link/", "link/f", "link/new"] {
            assert!(inside(&root, way).is_none() && to_write(&root, way).is_none(), "{way}");
        }
    }
}
