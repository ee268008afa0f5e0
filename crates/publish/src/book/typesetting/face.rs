//! One face: what it holds, how it shapes text, and which of its glyphs were used.

use rustybuzz::{BufferClusterLevel, BufferFlags, Direction, Face as Shaper, Script, UnicodeBuffer};
use std::collections::BTreeMap;
use std::sync::Arc;
use subsetter::GlyphRemapper;
use ttf_parser::{GlyphId, Permissions, name_id};

/// Where a face comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    /// Part of the program.
    Own,
    /// Named by the photographer.
    Named,
    /// Found among the fonts of this machine.
    Machine,
}

/// The bytes of a font file.
#[derive(Clone)]
pub enum Data {
    /// Part of the program.
    Own(&'static [u8]),
    /// Read from a file.
    Read(Arc<Vec<u8>>),
}

impl Data {
    /// The bytes.
    pub fn bytes(&self) -> &[u8] {
        match self {
            Self::Own(bytes) => bytes,
            Self::Read(bytes) => bytes,
        }
    }
}

/// How a face draws: which of the two forms of CID font it becomes (ISO 32000-1, 9.7.4.2).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outlines {
    /// Quadratic curves of a `glyf` table.
    TrueType,
    /// Cubic curves of a `CFF ` table.
    Cff,
}

/// A glyph in its place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Glyph {
    /// Its number in the subset face.
    pub id: u16,
    /// Width that the face gives it, thousandths of the type size.
    pub width: f64,
    /// Width that it takes here, kerning included.
    pub advance: f64,
    /// How far it is moved to the right and up from its place: marks on their bases.
    pub moved: [f64; 2],
}

/// A shaped glyph that is not yet part of the book.
pub struct Shaped {
    glyph: GlyphId,
    /// First byte of the text that it stands for.
    pub cluster: usize,
    width: f64,
    /// As [`Glyph::advance`].
    pub advance: f64,
    moved: [f64; 2],
}

/// One face and what was used of it.
pub struct Face {
    data: Data,
    /// Its number in a collection of faces.
    index: u32,
    /// Its PostScript name, for the file.
    pub name: String,
    /// Its family, for people.
    pub family: String,
    /// Where it comes from.
    pub source: Source,
    /// Name of its file; empty for the program's own.
    pub file: String,
    outlines: Outlines,
    used: GlyphRemapper,
    /// What each used glyph stands for, and its width.
    glyphs: BTreeMap<u16, (String, f64)>,
}

impl Face {
    /// Face number `index` of a font file.
    ///
    /// # Errors
    /// Why it cannot be used in a book, a clause without a subject.
    pub fn new(data: Data, index: u32, source: Source, file: &str) -> Result<Self, &'static str> {
        let face = ttf_parser::Face::parse(data.bytes(), index).map_err(|_| "is not a TrueType or OpenType font")?;
        let outlines = match (face.tables().glyf, face.tables().cff) {
            (Some(_), _) => Outlines::TrueType,
            (None, Some(_)) => Outlines::Cff,
            (None, None) => return Err("has no outlines that a PDF can embed"),
        };
        // OS/2 fsType: the licence that the face states (OpenType specification, "OS/2").
        if face.permissions() == Some(Permissions::Restricted) || !face.is_subsetting_allowed() {
            return Err("does not permit embedding");
        }
        let named = |id| face.names().into_iter().filter(|n| n.name_id == id).find_map(|n| n.to_string());
        let name: String = named(name_id::POST_SCRIPT_NAME).unwrap_or_default();
        let name: String = name.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').collect();
        let name = if name.is_empty() { "Unnamed".into() } else { name };
        let family = named(name_id::TYPOGRAPHIC_FAMILY).or_else(|| named(name_id::FAMILY));
        let family = family.filter(|f| !f.trim().is_empty()).unwrap_or_else(|| name.clone());
        let (used, glyphs, file) = (GlyphRemapper::new(), BTreeMap::new(), file.to_owned());
        Ok(Self { data, index, name, family, source, file, outlines, used, glyphs })
    }

    /// The same face, nothing used of it.
    pub fn fresh(&self) -> Self {
        let (name, family, file) = (self.name.clone(), self.family.clone(), self.file.clone());
        let (used, glyphs) = (GlyphRemapper::new(), BTreeMap::new());
        Self { data: self.data.clone(), name, family, file, used, glyphs, ..*self }
    }

    /// The font file.
    pub fn bytes(&self) -> &[u8] {
        self.data.bytes()
    }

    /// True where any glyph of it was used.
    pub fn is_used(&self) -> bool {
        !self.glyphs.is_empty()
    }

    /// How it draws.
    pub fn outlines(&self) -> Outlines {
        self.outlines
    }

    fn parsed(&self) -> Option<ttf_parser::Face<'_>> {
        ttf_parser::Face::parse(self.bytes(), self.index).ok()
    }

    /// True where it can set a whole cluster (a base with its marks).
    pub fn holds(&self, cluster: &str) -> bool {
        self.parsed().is_some_and(|face| holds(&face, cluster)) || self.composes(cluster)
    }

    /// True where shaping finds glyphs for it all the same: a letter made of its parts, or the parts as one letter.
    fn composes(&self, cluster: &str) -> bool {
        let Some(face) = self.parsed() else { return false };
        let shaped = self.shape(cluster, false, Script::from_iso15924_tag(ttf_parser::Tag::from_bytes(b"Zyyy")));
        !shaped.is_empty() && shaped.iter().all(|g| g.glyph.0 != 0 && face.glyph_bounding_box(g.glyph).is_some())
    }

    /// The subset face as PDF embeds it.
    ///
    /// # Errors
    /// The face is damaged.
    pub fn cut(&self) -> Result<Vec<u8>, String> {
        let cut = subsetter::subset(self.bytes(), self.index, &self.used)
            .map_err(|e| format!("The font {} cannot be subset: {e:?}", self.family))?;
        if self.outlines == Outlines::TrueType {
            return Ok(cut);
        }
        // A CIDFontType0C stream is the table of outlines alone (ISO 32000-1, 9.9).
        let table =
            ttf_parser::RawFace::parse(&cut, 0).ok().and_then(|f| f.table(ttf_parser::Tag::from_bytes(b"CFF ")));
        table.map(<[u8]>::to_vec).ok_or_else(|| format!("The font {} has no outlines left.", self.family))
    }

    /// Used glyphs in order: number, text, width in thousandths.
    pub fn used(&self) -> impl Iterator<Item = (u16, &str, f64)> {
        self.glyphs.iter().map(|(id, (text, width))| (*id, text.as_str(), *width))
    }

    /// The outline of a used glyph as the path of a drawing (SVG 1.1, 8.3), thousandths of the type size, y up.
    pub fn outline(&self, id: u16) -> Option<String> {
        let old = self.used.remapped_gids().nth(id.into())?;
        let face = self.parsed()?;
        let mut path = Outline { path: String::new(), k: 1000.0 / f32::from(face.units_per_em()) };
        face.outline_glyph(GlyphId(old), &mut path)?;
        Some(path.path)
    }

    /// Bounding box, ascent, descent, cap height in thousandths; slant in degrees.
    pub fn measures(&self) -> ([f64; 4], f64, f64, f64, f64) {
        let Some(face) = self.parsed() else { return ([0.0; 4], 0.0, 0.0, 0.0, 0.0) };
        let k = 1000.0 / f64::from(face.units_per_em());
        let b = face.global_bounding_box();
        let of = |v: i16| f64::from(v) * k;
        let caps = face.capital_height().map_or(650.0, of);
        let slant = f64::from(face.italic_angle());
        ([b.x_min, b.y_min, b.x_max, b.y_max].map(of), of(face.ascender()), of(face.descender()), caps, slant)
    }

    /// Shapes text of one script and direction; its glyphs from left to right.
    pub fn shape(&self, text: &str, rtl: bool, script: Option<Script>) -> Vec<Shaped> {
        let Some(shaper) = Shaper::from_slice(self.bytes(), self.index) else { return vec![] };
        let k = 1000.0 / f64::from(shaper.units_per_em());
        let mut buffer = UnicodeBuffer::new();
        buffer.push_str(text);
        buffer.set_direction(if rtl { Direction::RightToLeft } else { Direction::LeftToRight });
        if let Some(script) = script {
            buffer.set_script(script);
        }
        // Marks keep the place of their own characters, and what only joins or parts others has no glyph.
        buffer.set_cluster_level(BufferClusterLevel::MonotoneCharacters);
        buffer.set_flags(BufferFlags::REMOVE_DEFAULT_IGNORABLES);
        let shaped = rustybuzz::shape(&shaper, &[], buffer);
        let of = |v: i32| f64::from(v) * k;
        let both = shaped.glyph_infos().iter().zip(shaped.glyph_positions());
        both.map(|(info, place)| {
            let glyph = GlyphId(info.glyph_id as u16);
            Shaped {
                glyph,
                cluster: info.cluster as usize,
                width: shaper.glyph_hor_advance(glyph).map_or(0.0, |w| f64::from(w) * k),
                advance: of(place.x_advance),
                moved: [of(place.x_offset), of(place.y_offset)],
            }
        })
        .collect()
    }

    /// Makes shaped glyphs part of the book. Each cluster comes with the text that its glyphs do not say by themselves, if there is any.
    pub fn take(&mut self, text: &str, shaped: &[Shaped]) -> Vec<(Vec<Glyph>, Option<String>)> {
        let mut starts: Vec<usize> = shaped.iter().map(|g| g.cluster).collect();
        starts.sort_unstable();
        let mut out = vec![];
        for cluster in shaped.chunk_by(|a, b| a.cluster == b.cluster) {
            let from = cluster[0].cluster;
            let to = starts.get(starts.partition_point(|s| *s <= from)).copied().unwrap_or(text.len());
            // What precedes the first glyph has none of its own and belongs to it.
            let from = if starts.first() == Some(&from) { 0 } else { from };
            let says = &text[from..to];
            let mut glyphs = vec![];
            let mut alone = cluster.len() == 1;
            for (i, shaped) in cluster.iter().enumerate() {
                let id = self.used.remap(shaped.glyph.0);
                let says = if i == 0 { says } else { "" };
                let (stands_for, _) = self.glyphs.entry(id).or_insert_with(|| (says.to_owned(), shaped.width));
                if stands_for.is_empty() {
                    says.clone_into(stands_for);
                }
                alone &= stands_for == says;
                glyphs.push(Glyph { id, width: shaped.width, advance: shaped.advance, moved: shaped.moved });
            }
            out.push((glyphs, (!alone).then(|| says.to_owned())));
        }
        out
    }
}

/// True where a face has a glyph for each character of a cluster, and draws what is to be seen.
pub fn holds(face: &ttf_parser::Face, cluster: &str) -> bool {
    let has = |c: char| {
        let glyph = face.glyph_index(c).filter(|g| g.0 != 0);
        glyph.is_some_and(|g| c.is_whitespace() || face.glyph_bounding_box(g).is_some())
    };
    cluster.chars().filter(|c| !is_silent(*c)).all(has)
}

/// Characters that join, part or vary others and have no shape of their own (Unicode, Default_Ignorable_Code_Point; those that words use).
pub fn is_silent(c: char) -> bool {
    matches!(c, '\u{AD}' | '\u{34F}' | '\u{61C}' | '\u{180B}'..='\u{180F}' | '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}'
        | '\u{2060}'..='\u{206F}' | '\u{FE00}'..='\u{FE0F}' | '\u{FEFF}' | '\u{E0100}'..='\u{E01EF}')
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
