//! The fonts of this machine: which of them sets given clusters best.

use super::face::{Data, Face, Source, holds};
use fontdb::{Database, FaceInfo, Source as File, Stretch, Style};
use std::path::PathBuf;
use std::sync::Arc;

/// Fewest clusters left out, upright, weight, width, monospaced, without serifs, family, file, number in it.
type Rank = (usize, (bool, u16, bool), (bool, bool), (String, PathBuf, u32));

/// All fonts in the system's folders and the user's own.
pub struct Machine {
    fonts: Database,
}

impl Machine {
    /// Lists the fonts.
    pub fn new() -> Self {
        let mut fonts = Database::new();
        fonts.load_system_fonts();
        Self { fonts }
    }

    /// How many there are.
    pub fn count(&self) -> usize {
        self.fonts.len()
    }

    /// The face that sets most of these clusters: among equals an upright one of regular weight and width with serifs, then by name. `None`
    /// where no face sets any of them.
    pub fn best(&self, clusters: &[&str]) -> Option<Face> {
        let mut ranked: Vec<_> = self.fonts.faces().filter_map(|info| self.rank(info, clusters)).collect();
        ranked.sort_by(|a, b| a.0.cmp(&b.0));
        ranked.into_iter().find_map(|(_, info)| read(info))
    }

    /// Lower is better.
    fn rank<'a>(&self, info: &'a FaceInfo, clusters: &[&str]) -> Option<(Rank, &'a FaceInfo)> {
        let (held, serif) = self.fonts.with_face_data(info.id, |data, index| {
            let face = ttf_parser::Face::parse(data, index).ok()?;
            let held = clusters.iter().filter(|c| holds(&face, c)).count();
            let os2 = face.raw_face().table(ttf_parser::Tag::from_bytes(b"OS/2")).unwrap_or_default();
            // PANOSE family 2 is text and display, its serif styles 2 to 10 have serifs (OpenType specification, "OS/2", from byte 32).
            let serif = matches!(os2.get(32..34), Some([2, 2..=10]));
            (held > 0).then_some((held, serif))
        })??;
        let far = (info.style != Style::Normal, info.weight.0.abs_diff(400), info.stretch != Stretch::Normal);
        let family = info.families.first().map(|f| f.0.clone()).unwrap_or_default();
        let rank = (usize::MAX - held, far, (info.monospaced, !serif), (family, place(info), info.index));
        Some((rank, info))
    }
}

fn place(info: &FaceInfo) -> PathBuf {
    match &info.source {
        File::File(path) | File::SharedFile(path, _) => path.clone(),
        File::Binary(_) => PathBuf::new(),
    }
}

fn read(info: &FaceInfo) -> Option<Face> {
    let path = place(info);
    let name = path.file_name()?.to_string_lossy().into_owned();
    let bytes = std::fs::read(&path).ok()?;
    Face::new(Data::Read(Arc::new(bytes)), info.index, Source::Machine, &name).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Of the fonts in a folder (tests/faces: one each of Hebrew, Arabic and Japanese) the one that sets most is taken, and none for what none has.
    #[test]
    fn the_font_that_sets_most_is_found() {
        let mut machine = Machine { fonts: Database::new() };
        machine.fonts.load_fonts_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/faces"));
        assert_eq!(machine.count(), 3);
        for (clusters, family) in [
            (vec!["\u{5D0}", "\u{5E9}\u{5B8}"], "Frank Ruhl Libre"),
            (vec!["\u{645}", "\u{6CC}"], "Amiri"),
            (vec!["港", "の", "\u{5D0}"], "Shippori Mincho"),
        ] {
            let face = machine.best(&clusters).unwrap();
            assert_eq!((face.family.as_str(), face.source), (family, Source::Machine));
            assert!(face.file.ends_with("tf"));
        }
        assert!(machine.best(&["\u{1F600}"]).is_none());
    }
}
