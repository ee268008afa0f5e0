//! Typesetting: shapes and measures text, breaks lines, and subsets the fonts to the used glyphs.

use rustybuzz::{Face as Shaper, UnicodeBuffer};
use std::collections::BTreeMap;
use subsetter::GlyphRemapper;

/// Alegreya by Juan Pablo del Peral, SIL Open Font License 1.1: Latin with its extensions, Greek, Cyrillic.
const ROMAN: &[u8] = include_bytes!("fonts/serif.ttf");
const ITALIC: &[u8] = include_bytes!("fonts/serif-italic.ttf");

/// Points of 1/72 in to the millimetre (ISO 32000-1, 8.3.2.3).
pub const POINTS: f64 = 72.0 / 25.4;

/// A style of type.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Style {
    /// Upright.
    Roman,
    /// Slanted.
    Italic,
}

/// A run of glyphs from one face.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// Which face.
    pub face: usize,
    /// Glyphs as the cut-down face numbers them.
    pub glyphs: Vec<Glyph>,
}

/// A glyph in its place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Glyph {
    /// Its number in the cut-down face.
    pub id: u16,
    /// What the face says it takes, thousandths of the type size.
    pub width: f64,
    /// What it takes here, kerning included.
    pub advance: f64,
}

/// One face and what was used of it.
pub struct Face {
    data: Vec<u8>,
    /// Its own name, for messages and for the file.
    pub name: String,
    used: GlyphRemapper,
    /// What each used glyph stands for, and its width.
    glyphs: BTreeMap<u16, (String, f64)>,
}

impl Face {
    fn new(data: Vec<u8>) -> Option<Self> {
        let name = {
            let face = ttf_parser::Face::parse(&data, 0).ok()?;
            let named =
                face.names().into_iter().find(|n| n.name_id == ttf_parser::name_id::POST_SCRIPT_NAME && n.is_unicode());
            named.and_then(|n| n.to_string()).unwrap_or_else(|| "Fallback".into())
        };
        let name = name.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').collect();
        Some(Self { data, name, used: GlyphRemapper::new(), glyphs: BTreeMap::new() })
    }

    fn holds(&self, c: char) -> bool {
        ttf_parser::Face::parse(&self.data, 0).is_ok_and(|f| f.glyph_index(c).is_some_and(|g| g.0 != 0))
    }

    /// True where any glyph of it was used.
    pub fn is_used(&self) -> bool {
        !self.glyphs.is_empty()
    }

    /// The cut-down face as a file.
    ///
    /// # Errors
    /// The face is damaged.
    pub fn cut(&self) -> Result<Vec<u8>, String> {
        subsetter::subset(&self.data, 0, &self.used)
            .map_err(|e| format!("The font {} cannot be cut down: {e:?}", self.name))
    }

    /// Used glyphs in order: number, text, width in thousandths.
    pub fn used(&self) -> impl Iterator<Item = (u16, &str, f64)> {
        self.glyphs.iter().map(|(id, (text, width))| (*id, text.as_str(), *width))
    }

    /// The outline of a used glyph as the path of a drawing (SVG 1.1, 8.3), thousandths of the type size, y up.
    pub fn outline(&self, id: u16) -> Option<String> {
        let old = self.used.remapped_gids().nth(id.into())?;
        let face = ttf_parser::Face::parse(&self.data, 0).ok()?;
        let mut path = Outline { path: String::new(), k: 1000.0 / f32::from(face.units_per_em()) };
        face.outline_glyph(ttf_parser::GlyphId(old), &mut path)?;
        Some(path.path)
    }

    /// Bounding box, ascent, descent, cap height in thousandths; slant in degrees.
    pub fn measures(&self) -> ([f64; 4], f64, f64, f64, f64) {
        let Ok(face) = ttf_parser::Face::parse(&self.data, 0) else { return ([0.0; 4], 0.0, 0.0, 0.0, 0.0) };
        let k = 1000.0 / f64::from(face.units_per_em());
        let b = face.global_bounding_box();
        let of = |v: i16| f64::from(v) * k;
        let caps = face.capital_height().map_or(650.0, of);
        let slant = f64::from(face.italic_angle());
        ([b.x_min, b.y_min, b.x_max, b.y_max].map(of), of(face.ascender()), of(face.descender()), caps, slant)
    }

    /// Shapes text that the face holds.
    fn shape(&mut self, text: &str) -> Vec<Glyph> {
        let Some(shaper) = Shaper::from_slice(&self.data, 0) else { return vec![] };
        let k = 1000.0 / f64::from(shaper.units_per_em());
        let mut buffer = UnicodeBuffer::new();
        buffer.push_str(text);
        buffer.guess_segment_properties();
        let shaped = rustybuzz::shape(&shaper, &[], buffer);
        let infos = shaped.glyph_infos();
        let mut out = vec![];
        for (i, (info, place)) in infos.iter().zip(shaped.glyph_positions()).enumerate() {
            let old = info.glyph_id as u16;
            let id = self.used.remap(old);
            let width = shaper.glyph_hor_advance(ttf_parser::GlyphId(old)).map_or(0.0, |w| f64::from(w) * k);
            // A glyph stands for the text from its cluster to the next one's.
            let from = info.cluster as usize;
            let to = infos[i + 1..].iter().map(|n| n.cluster as usize).find(|c| *c > from).unwrap_or(text.len());
            let first = i == 0 || infos[i - 1].cluster != info.cluster;
            let says = if first { text[from..to].to_owned() } else { String::new() };
            self.glyphs.entry(id).or_insert((says, width));
            out.push(Glyph { id, width, advance: f64::from(place.x_advance) * k });
        }
        out
    }
}

/// Writes an outline down.
struct Outline {
    path: String,
    k: f32,
}

impl Outline {
    fn put(&mut self, command: char, places: &[f32]) {
        self.path.push(command);
        for (i, v) in places.iter().enumerate() {
            let apart = if i > 0 { " " } else { "" };
            self.path += &format!("{apart}{:.0}", v * self.k);
        }
    }
}

impl ttf_parser::OutlineBuilder for Outline {
    fn move_to(&mut self, x: f32, y: f32) {
        self.put('M', &[x, y]);
    }
    fn line_to(&mut self, x: f32, y: f32) {
        self.put('L', &[x, y]);
    }
    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        self.put('Q', &[x1, y1, x, y]);
    }
    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        self.put('C', &[x1, y1, x2, y2, x, y]);
    }
    fn close(&mut self) {
        self.path.push('Z');
    }
}

/// The faces of the book.
pub struct Faces {
    /// Roman, italic, and what stands in where they lack a glyph.
    pub all: Vec<Face>,
}

impl Faces {
    /// The book's serif, and a font of the photographer's for what it lacks.
    ///
    /// # Errors
    /// The font cannot be used.
    pub fn new(fallback: Option<Vec<u8>>) -> Result<Self, String> {
        let mut all: Vec<Face> = [ROMAN, ITALIC].into_iter().filter_map(|d| Face::new(d.to_vec())).collect();
        if let Some(data) = fallback {
            let face = Face::new(data).ok_or("The fallback font is not a TrueType or OpenType font.")?;
            let cut = ttf_parser::Face::parse(&face.data, 0).ok().filter(|f| f.tables().glyf.is_some());
            cut.ok_or("The fallback font has no TrueType outlines: give another one (a .ttf file).")?;
            let allowed = ttf_parser::Face::parse(&face.data, 0).ok().and_then(|f| f.permissions());
            if allowed == Some(ttf_parser::Permissions::Restricted) {
                return Err(format!("The font {} does not permit embedding: give another one.", face.name));
            }
            all.push(face);
        }
        Ok(Self { all })
    }

    /// Text as runs of glyphs. Characters without an advance or a shape of their own (controls) are left out.
    ///
    /// # Errors
    /// A character that no face has, named.
    pub fn set(&mut self, text: &str, style: Style) -> Result<Vec<Run>, String> {
        let own = if style == Style::Roman { 0 } else { 1 };
        let order = [own, 1 - own, 2];
        let mut pieces: Vec<(usize, String)> = vec![];
        for c in text.chars().filter(|c| !c.is_control()) {
            let holder = |c: char| order.into_iter().find(|f| self.all.get(*f).is_some_and(|face| face.holds(c)));
            let (mut c, mut held) = (c, holder(c));
            if held.is_none() && is_silent(c) {
                continue;
            }
            if held.is_none() && c.is_whitespace() {
                (c, held) = (' ', holder(' '));
            }
            let face = held.ok_or_else(|| self.lacks(c, text))?;
            match pieces.last_mut() {
                Some((last, piece)) if *last == face => piece.push(c),
                _ => pieces.push((face, c.into())),
            }
        }
        Ok(pieces.into_iter().map(|(face, piece)| Run { face, glyphs: self.all[face].shape(&piece) }).collect())
    }

    fn lacks(&self, c: char, text: &str) -> String {
        let names: Vec<&str> = self.all.iter().map(|f| f.name.as_str()).collect();
        format!(
            "No font of the book has “{c}” (U+{:04X}), which is used in “{text}”. It has {}. Give a font that has it \
             with --font, or change the text.",
            c as u32,
            names.join(" and ")
        )
    }

    /// Text broken into lines no wider than `width` mm at `size` points; a longer word stands alone on its line.
    ///
    /// # Errors
    /// As [`Faces::set`].
    pub fn lines(&mut self, text: &str, style: Style, size: f64, width: f64) -> Result<Vec<String>, String> {
        let mut lines: Vec<String> = vec![];
        for paragraph in text.lines() {
            let mut line = String::new();
            for word in paragraph.split_whitespace() {
                let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
                if line.is_empty() || self.width(&longer, style, size)? <= width {
                    line = longer;
                } else {
                    lines.push(std::mem::replace(&mut line, word.to_owned()));
                }
            }
            lines.push(line);
        }
        Ok(lines)
    }

    /// The width of a line, mm.
    ///
    /// # Errors
    /// As [`Faces::set`].
    pub fn width(&mut self, text: &str, style: Style, size: f64) -> Result<f64, String> {
        let runs = self.set(text, style)?;
        let thousandths: f64 = runs.iter().flat_map(|r| &r.glyphs).map(|g| g.advance).sum();
        Ok(thousandths / 1000.0 * size / POINTS)
    }
}

/// Characters that join, part or vary others and have no shape of their own.
fn is_silent(c: char) -> bool {
    matches!(c, '\u{AD}' | '\u{200B}'..='\u{200F}' | '\u{2060}' | '\u{FE00}'..='\u{FE0F}' | '\u{FEFF}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_of_many_languages_have_glyphs() {
        let mut faces = Faces::new(None).unwrap();
        for text in [
            "Ærø, façade, Łódź, Đà Nẵng, İstanbul",
            "Θεσσαλονίκη",
            "Київ, Санкт-Петербург",
            "“Quai”, 12 – 14 × 9 ½",
            "soft\u{AD}hyphen, thin\u{2009}space",
        ] {
            let runs = faces.set(text, Style::Roman).unwrap();
            assert!(runs.iter().flat_map(|r| &r.glyphs).all(|g| g.id != 0), "{text}");
        }
        let says = faces.set("港", Style::Italic).unwrap_err();
        assert!(says.contains("U+6E2F") && says.contains("Alegreya") && says.contains("--font"), "{says}");
    }

    #[test]
    fn lines_are_as_wide_as_their_glyphs_and_break_between_words() {
        let mut faces = Faces::new(None).unwrap();
        let one = faces.width("harbour", Style::Roman, 10.0).unwrap();
        assert!((faces.width("harbour", Style::Roman, 20.0).unwrap() - 2.0 * one).abs() < 1e-9);
        let lines = faces.lines("the old harbour in the morning light", Style::Roman, 10.0, 25.0).unwrap();
        assert!(lines.len() > 1);
        assert_eq!(lines.join(" "), "the old harbour in the morning light");
        for line in &lines {
            assert!(faces.width(line, Style::Roman, 10.0).unwrap() <= 25.0);
        }
        assert_eq!(faces.lines("Donaudampfschifffahrt", Style::Roman, 10.0, 5.0).unwrap().len(), 1);
    }

    #[test]
    fn a_face_is_cut_down_to_what_was_used() {
        let mut faces = Faces::new(None).unwrap();
        faces.set("fine print", Style::Roman).unwrap();
        let cut = faces.all[0].cut().unwrap();
        assert!(cut.len() * 10 < ROMAN.len() && ttf_parser::Face::parse(&cut, 0).is_ok(), "{} bytes", cut.len());
        assert!(!faces.all[1].is_used());
        let text: String = faces.all[0].used().map(|(_, t, _)| t).collect();
        assert!(text.contains("fi") || text.contains('f'), "{text}");
    }
}
