//! The input files of a command, so that none of them is overwritten.

use crate::Failure;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Identifies a file whatever its name: device and inode.
#[cfg(unix)]
type Identity = (u64, u64);
/// On systems without these numbers in the standard library: the canonical path.
#[cfg(not(unix))]
type Identity = PathBuf;

#[cfg(unix)]
fn identity(path: &Path) -> Option<Identity> {
    use std::os::unix::fs::MetadataExt;
    // Follows links, as reading does.
    std::fs::metadata(path).ok().map(|m| (m.dev(), m.ino()))
}

#[cfg(not(unix))]
fn identity(path: &Path) -> Option<Identity> {
    path.canonicalize().ok()
}

/// The files that a command reads, and their folders.
#[derive(Clone, Debug, Default)]
pub struct Originals {
    files: BTreeMap<Identity, PathBuf>,
    folders: BTreeMap<Identity, PathBuf>,
}

impl Originals {
    /// These files; missing files are skipped.
    pub fn of<P: AsRef<Path>>(files: impl IntoIterator<Item = P>) -> Self {
        let mut all = Self::default();
        files.into_iter().for_each(|f| all.add(f.as_ref()));
        all
    }

    /// Adds a file and its folder.
    pub fn add(&mut self, file: &Path) {
        self.add_file(file);
        // `Path::parent` of a bare file name is empty and means the current folder.
        let folder = file.parent().map(|p| if p.as_os_str().is_empty() { Path::new(".") } else { p });
        folder.into_iter().for_each(|f| self.add_folder(f));
    }

    /// Adds a file in a folder that may be written to.
    pub fn add_file(&mut self, file: &Path) {
        self.files.extend(identity(file).map(|id| (id, file.to_owned())));
    }

    /// Adds a folder that holds originals.
    pub fn add_folder(&mut self, folder: &Path) {
        self.folders.extend(identity(folder).map(|id| (id, folder.to_owned())));
    }

    /// Refuses to overwrite an original, also through a link.
    ///
    /// # Errors
    /// `place` is one of the originals.
    pub fn refuse(&self, place: &Path) -> Result<(), Failure> {
        match identity(place).and_then(|id| self.files.get(&id)) {
            Some(original) => Err(Failure::new(format!(
                "{} is, or links to, the original {}, which must not be overwritten. Nothing was written.",
                place.display(),
                original.display()
            ))
            .with_remedy("Choose another place with --out.")),
            None => Ok(()),
        }
    }

    /// Refuses a folder of results that holds originals, also through a link.
    ///
    /// # Errors
    /// `folder` holds originals.
    pub fn refuse_folder(&self, folder: &Path) -> Result<(), Failure> {
        match identity(folder).and_then(|id| self.folders.get(&id)) {
            Some(_) => Err(Failure::new(format!("{} holds originals. Nothing was written.", folder.display()))
                .with_remedy("Choose another folder with --out.")),
            None => Ok(()),
        }
    }
}

#[cfg(all(test, unix))]
mod tests {
    use super::*;

    #[test]
    fn a_link_of_any_kind_is_the_original() {
        let top = tempfile::tempdir().unwrap();
        let at = |name: &str| top.path().join(name);
        std::fs::create_dir(at("card")).unwrap();
        std::fs::create_dir(at("out")).unwrap();
        std::fs::write(at("card/F1.jpg"), "x").unwrap();
        std::fs::hard_link(at("card/F1.jpg"), at("out/hard.jpg")).unwrap();
        std::os::unix::fs::symlink(at("card/F1.jpg"), at("out/soft.jpg")).unwrap();
        std::os::unix::fs::symlink(at("card"), at("out/folder")).unwrap();
        let originals = Originals::of([at("card/F1.jpg")]);
        for place in ["card/F1.jpg", "out/hard.jpg", "out/soft.jpg", "out/folder/F1.jpg"] {
            assert!(originals.refuse(&at(place)).is_err(), "{place}");
        }
        assert!(originals.refuse(&at("out/new.jpg")).is_ok() && originals.refuse(&at("card/F2.jpg")).is_ok());
        assert!(originals.refuse_folder(&at("out/folder")).is_err() && originals.refuse_folder(&at("out")).is_ok());
    }
}
