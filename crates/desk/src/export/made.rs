//! A file of a hand-off, opened for the page: nothing outside the hand-off's own folder, nothing hidden, no script but ours.

use publish::gallery::SCRIPT;
use std::io::Read;
use std::path::{Component, Path, PathBuf};

/// Kinds of file that are shown, by their endings, and what they are served as.
const KINDS: [(&str, &str); 11] = [
    ("html", "text/html; charset=utf-8"),
    ("css", "text/css; charset=utf-8"),
    ("js", "text/javascript; charset=utf-8"),
    ("json", "application/json"),
    ("txt", "text/plain; charset=utf-8"),
    ("csv", "text/csv; charset=utf-8"),
    ("jpg", "image/jpeg"),
    ("jpeg", "image/jpeg"),
    ("png", "image/png"),
    ("svg", "image/svg+xml"),
    ("pdf", "application/pdf"),
];

/// A file that may be shown.
#[derive(Debug)]
pub struct MadeFile {
    /// It, open for reading.
    pub file: std::fs::File,
    /// Its bytes.
    pub len: u64,
    /// Its kind, as HTTP says it.
    pub kind: &'static str,
}

impl MadeFile {
    /// The file at `path` in the folder `name` of `top`; `None` where there is none, or none to be shown.
    pub(super) fn find(top: &Path, name: &str, path: &str) -> Option<Self> {
        let root = top.join(name);
        if !is_name(name) || !std::fs::symlink_metadata(&root).ok()?.is_dir() {
            return None;
        }
        let place = inside(&root, path)?;
        let ending = place.extension()?.to_str()?.to_ascii_lowercase();
        let kind = KINDS.iter().find(|k| k.0 == ending)?.1;
        let mut file = std::fs::File::open(&place).ok()?;
        let about = file.metadata().ok()?;
        if !about.is_file() || (ending == "js" && !is_ours(&mut file)) {
            return None;
        }
        // The script was read to its end.
        let file = if ending == "js" { std::fs::File::open(&place).ok()? } else { file };
        Some(Self { file, len: about.len(), kind })
    }
}

/// True for a name as hand-offs are given.
pub(super) fn is_name(name: &str) -> bool {
    !name.is_empty() && name.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-')
}

/// True for a single name that is neither hidden nor leads anywhere.
fn is_plain(name: &str) -> bool {
    let mut parts = Path::new(name).components();
    let one = matches!((parts.next(), parts.next()), (Some(Component::Normal(n)), None) if n == name);
    one && !name.starts_with('.') && !name.contains(['\\', '\0', ':'])
}

/// The real place of a path in a folder; `None` where it leads out of it, by dots or by links.
fn inside(root: &Path, path: &str) -> Option<PathBuf> {
    if path.is_empty() || !path.split('/').all(is_plain) {
        return None;
    }
    let (place, root) = (root.join(path).canonicalize().ok()?, root.canonicalize().ok()?);
    place.starts_with(root).then_some(place)
}

/// True where a script is the gallery's own, byte for byte: no other script runs beside the desk.
fn is_ours(file: &mut std::fs::File) -> bool {
    let mut text = vec![];
    let most = SCRIPT.len() as u64 + 1;
    file.take(most).read_to_end(&mut text).is_ok() && text == SCRIPT.as_bytes()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_leads_out_of_its_folder() {
        let top = tempfile::tempdir().unwrap();
        let root = top.path().join("a");
        std::fs::create_dir_all(root.join("look")).unwrap();
        std::fs::create_dir_all(top.path().join("b")).unwrap();
        std::fs::create_dir_all(top.path().join("a; script-src *")).unwrap();
        for (file, text) in [
            ("a/p.jpg", "picture"),
            ("a/look/look.js", SCRIPT),
            ("a/look/other.js", "alert(1)"),
            ("a/.fallside-files", "list"),
            ("a/.hidden.txt", "hidden"),
            ("a; script-src */p.jpg", "picture"),
            ("a/run.exe", "program"),
            ("b/secret.txt", "secret"),
            ("secret.txt", "secret"),
        ] {
            std::fs::write(top.path().join(file), text).unwrap();
        }
        let find = |name: &str, path: &str| MadeFile::find(top.path(), name, path).map(|f| f.kind);
        assert_eq!(find("a", "p.jpg"), Some("image/jpeg"));
        assert_eq!(find("a", "look/look.js"), Some("text/javascript; charset=utf-8"));
        for (name, path) in [
            ("a", "../secret.txt"),
            ("a", "look/../../secret.txt"),
            ("a", "look/../p.jpg"),
            ("a", "/etc/passwd"),
            ("a", "..\\secret.txt"),
            ("a", "p.jpg\0"),
            ("a", "./p.jpg"),
            ("a", ""),
            ("a", "look"),
            ("a", "look//look.js"),
            ("a", "look/other.js"),
            ("a", ".fallside-files"),
            ("a", ".hidden.txt"),
            ("a", "run.exe"),
            ("..", "secret.txt"),
            (".", "secret.txt"),
            ("", "secret.txt"),
            ("a/../b", "secret.txt"),
            ("a; script-src *", "p.jpg"),
        ] {
            assert_eq!(find(name, path), None, "{name} {path:?}");
        }
    }

    #[cfg(unix)]
    #[test]
    fn links_lead_nowhere() {
        let top = tempfile::tempdir().unwrap();
        let real = top.path().join("a");
        std::fs::create_dir(&real).unwrap();
        std::fs::write(top.path().join("secret.txt"), "secret").unwrap();
        std::fs::write(real.join("p.txt"), "mine").unwrap();
        let link = |from: &Path, to: &Path| std::os::unix::fs::symlink(from, to);
        link(&top.path().join("secret.txt"), &real.join("out.txt")).unwrap();
        link(top.path(), &real.join("up")).unwrap();
        link(&real, &top.path().join("other")).unwrap();
        let find = |name: &str, path: &str| MadeFile::find(top.path(), name, path).is_some();
        assert!(find("a", "p.txt"));
        assert!(!find("a", "out.txt") && !find("a", "up/secret.txt") && !find("other", "p.txt"));
    }
}
