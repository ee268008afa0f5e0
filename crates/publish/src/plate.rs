//! A finished print to hand on, with its true size and description.

use geometry::Quad;
use std::fmt::{Debug, Formatter};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// What a plate says of a shadow that is its print's own.
pub(crate) const AS_SHOT: &str = "as shot";

/// A finished print: a picture of it on pure white, with its shadow.
#[derive(Clone, Debug, PartialEq)]
pub struct Plate {
    /// Its own name, fit for a file and an address: `P0004`, or its frame's name.
    pub name: String,
    /// The mount: the print on pure white, 16-bit TIFF.
    pub mount: PathBuf,
    /// BLAKE3 of the mount as it was finished, hex, where it is known.
    pub blake3: Option<String>,
    /// The share that was made with it, a JPEG, where there is one.
    pub share: Option<PathBuf>,
    /// Columns and rows of the mount.
    pub size_px: [usize; 2],
    /// Pixels of the mount for each millimetre of the print: exact, the same both ways.
    pub px_per_mm: f64,
    /// The print's corners on the mount, clockwise from the upright print's top left, pixels.
    pub print_px: Quad,
    /// The print format's generic name.
    pub format: String,
    /// Changes whenever the mount does: the hash of the recipe that made it.
    pub stamp: String,
    /// What is said of it.
    pub words: Words,
    /// How the shadow on the mount came about: `as shot`, or the light that it was cast by.
    pub shadow: String,
    /// Makes another mount in its place whenever it is read, where it is to have another shadow.
    pub remade: Option<Remade>,
    /// The print's back, where it was photographed and is not blank.
    pub back: Option<Box<Plate>>,
}

/// A mount while it is read: a file that may go when this does.
pub type Held = Box<dyn AsRef<Path> + Send>;

/// Makes a mount when it is read, so that no more of them are on the disk than are read at a time.
#[derive(Clone)]
pub struct Remade(Arc<dyn Fn() -> Result<Held, String> + Send + Sync>);

impl Remade {
    /// By what makes it, or says why it cannot.
    pub fn new(make: impl Fn() -> Result<Held, String> + Send + Sync + 'static) -> Self {
        Self(Arc::new(make))
    }
}

impl Debug for Remade {
    fn fmt(&self, f: &mut Formatter<'_>) -> std::fmt::Result {
        f.write_str("Remade")
    }
}

impl PartialEq for Remade {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.0, &other.0)
    }
}

/// What is said of a print. Empty where nothing was said.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Words {
    /// A short name.
    pub title: String,
    /// What is seen, for who cannot see it.
    pub alt: String,
    /// When it was exposed, EDTF level 1.
    pub date: String,
    /// Where.
    pub place: String,
    /// Who is in it.
    pub people: Vec<String>,
    /// What it shows.
    pub subject: Vec<String>,
    /// What is written on it, word for word.
    pub inscription: String,
    /// The film, as its owner calls it.
    pub film: String,
    /// Who may use it.
    pub rights: String,
    /// Who may see it.
    pub privacy: Privacy,
    /// Anything else.
    pub note: String,
}

/// Who may see a print, the most open first.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum Privacy {
    /// Everyone, as far as anyone said.
    #[default]
    Open,
    /// Ask first.
    Ask,
    /// Nobody else.
    Private,
}

impl Plate {
    /// The file of its mount, to be read while this is held.
    pub(crate) fn mount_file(&self) -> Result<Held, String> {
        match &self.remade {
            Some(remade) => (remade.0)(),
            None => Ok(Box::new(self.mount.clone())),
        }
    }

    /// Width and height of the print itself, millimetres.
    pub fn print_mm(&self) -> [f64; 2] {
        let [a, b, c, d] = self.print_px.0;
        let side = |p: geometry::Point, q: geometry::Point| p.distance(q) / self.px_per_mm;
        [(side(a, b) + side(d, c)) / 2.0, (side(a, d) + side(b, c)) / 2.0]
    }

    /// Width and height of the mount, millimetres.
    pub fn mount_mm(&self) -> [f64; 2] {
        self.size_px.map(|n| n as f64 / self.px_per_mm)
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use geometry::point;

    /// A square-integral print at ten pixels to the millimetre, nothing said of it.
    pub(crate) fn plate() -> Plate {
        let corners = [point(100.0, 80.0), point(980.0, 80.0), point(980.0, 1150.0), point(100.0, 1150.0)];
        Plate {
            name: "P0001".into(),
            mount: PathBuf::new(),
            blake3: None,
            share: None,
            size_px: [1080, 1270],
            px_per_mm: 10.0,
            print_px: Quad(corners),
            format: "square-integral".into(),
            stamp: String::new(),
            words: Words::default(),
            shadow: "as shot".into(),
            remade: None,
            back: None,
        }
    }

    /// A mount that is made when it is read is there while it is held, and not after.
    #[test]
    fn a_mount_made_for_reading_goes_afterwards() {
        let folder = tempfile::tempdir().unwrap();
        let place = folder.path().to_owned();
        let make = move || -> Result<Held, String> {
            let file = tempfile::NamedTempFile::new_in(&place).map_err(|e| e.to_string())?;
            Ok(Box::new(file.into_temp_path()))
        };
        let there = || std::fs::read_dir(folder.path()).unwrap().count();
        let plate = Plate { remade: Some(Remade::new(make)), ..plate() };
        for _ in 0..2 {
            let held = plate.mount_file().unwrap();
            assert!((*held).as_ref().is_file() && there() == 1);
            drop(held);
            assert_eq!(there(), 0);
        }
        let own = Plate { mount: folder.path().join("m.tif"), remade: None, ..plate };
        assert_eq!((*own.mount_file().unwrap()).as_ref(), folder.path().join("m.tif"));
    }

    #[test]
    fn a_print_has_its_true_size() {
        assert_eq!(plate().print_mm(), [88.0, 107.0]);
        assert_eq!(plate().mount_mm(), [108.0, 127.0]);
    }
}
