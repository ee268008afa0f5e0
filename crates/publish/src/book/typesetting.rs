//! Typesetting: words as glyphs of a chain of faces, in both directions, broken into lines.
//!
//! The chain is the book's own serif, then the fonts that the photographer named, then those of the machine. A base and its marks come
//! from one face. What no face has is found for all words at once.

mod face;
mod machine;
mod order;

pub use face::{Data, Face, Glyph, Outlines, Source};
pub use order::Line;

use face::Shaped;
use machine::Machine;
use order::{Paragraph, collapsed, seen};
use rustybuzz::Script as Shape;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use unicode_bidi::Level;
use unicode_properties::{GeneralCategory, GeneralCategoryGroup, UnicodeGeneralCategory};
use unicode_script::{Script, UnicodeScript};
use unicode_segmentation::UnicodeSegmentation;

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

/// Fonts for what the book's own serif lacks.
#[derive(Clone, Debug, Default)]
pub struct Fonts {
    /// Font files in their order: the file's name and its bytes.
    pub named: Vec<(String, Arc<Vec<u8>>)>,
    /// Also those of this machine.
    pub machine: bool,
}

/// A run of glyphs from one face, from left to right.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// Which face.
    pub face: usize,
    /// Where it begins, thousandths of the type size from the left end of its line.
    pub at: f64,
    /// Glyphs as the subset face numbers them.
    pub glyphs: Vec<Glyph>,
    /// The text that they stand for, where they do not say it one by one.
    pub text: Option<String>,
}

impl Run {
    /// Where it ends, as [`Run::at`].
    pub fn end(&self) -> f64 {
        self.at + self.glyphs.iter().map(|g| g.advance).sum::<f64>()
    }
}

/// Part of a line in one face, one script and one direction.
struct Piece {
    face: usize,
    script: Script,
    level: Level,
    text: String,
}

/// The faces of the book.
pub struct Faces {
    /// Roman, italic, and what stands in where they lack a glyph.
    pub all: Vec<Face>,
    /// True until the machine's fonts were asked.
    machine: bool,
    /// How many fonts the machine has.
    asked: usize,
    /// Which face sets a cluster.
    known: BTreeMap<(bool, String), Option<usize>>,
}

impl Faces {
    /// The book's serif, and fonts for what it lacks.
    ///
    /// # Errors
    /// A font that was named cannot be used.
    pub fn new(fonts: &Fonts) -> Result<Self, String> {
        let own = [ROMAN, ITALIC].into_iter();
        let mut all: Vec<Face> = own.filter_map(|d| Face::new(Data::Own(d), 0, Source::Own, "").ok()).collect();
        for (file, data) in &fonts.named {
            let face = Face::new(Data::Read(data.clone()), 0, Source::Named, file);
            all.push(face.map_err(|why| format!("The font {file} {why}: give another one with --font."))?);
        }
        Ok(Self { all, machine: fonts.machine, asked: 0, known: BTreeMap::new() })
    }

    /// The same chain, nothing used of it.
    pub fn fresh(&self) -> Self {
        let all = self.all.iter().map(Face::fresh).collect();
        Self { all, machine: self.machine, asked: self.asked, known: self.known.clone() }
    }

    /// Families that set what the book's own lacks.
    pub fn others(&self) -> Vec<&str> {
        let others = self.all.iter().filter(|f| f.source != Source::Own && f.is_used());
        let mut names: Vec<&str> = others.map(|f| f.family.as_str()).collect();
        names.dedup();
        names
    }

    /// Finds a face for every character of all these words, each with the place where they stand.
    ///
    /// # Errors
    /// All characters that no face has, with their places, in one message.
    pub fn need<'a>(&mut self, words: impl IntoIterator<Item = (&'a str, &'a str)>) -> Result<(), String> {
        let mut places: BTreeMap<String, BTreeSet<&str>> = BTreeMap::new();
        for (place, text) in words {
            let line = Line::from(collapsed(text).as_str());
            for (_, cluster, face) in self.clusters(&line, Style::Roman) {
                if face.is_none() {
                    places.entry(cluster).or_default().insert(place);
                }
            }
        }
        self.adopt(&mut places);
        if places.is_empty() { Ok(()) } else { Err(self.lacks(&places)) }
    }

    /// Adds faces of the machine until none of them helps any further.
    fn adopt(&mut self, missing: &mut BTreeMap<String, BTreeSet<&str>>) {
        if missing.is_empty() || !self.machine {
            return;
        }
        let machine = Machine::new();
        self.asked = machine.count();
        let scripts: BTreeSet<&str> = missing.keys().map(|c| script_of(c).short_name()).collect();
        for script in scripts {
            loop {
                let of: Vec<&str> =
                    missing.keys().map(String::as_str).filter(|c| script_of(c).short_name() == script).collect();
                let Some(face) = machine.best(&of) else { break };
                let held: Vec<String> = of.into_iter().filter(|c| face.holds(c)).map(str::to_owned).collect();
                if held.is_empty() {
                    break;
                }
                self.all.push(face);
                self.known.retain(|_, face| face.is_some());
                held.iter().for_each(|c| drop(missing.remove(c)));
            }
        }
    }

    fn lacks(&self, missing: &BTreeMap<String, BTreeSet<&str>>) -> String {
        let each: Vec<String> = missing
            .iter()
            .map(|(cluster, places)| {
                let codes: Vec<String> = cluster.chars().map(|c| format!("U+{:04X}", c as u32)).collect();
                format!("“{cluster}” ({}){}", codes.join(" "), listed(places))
            })
            .collect();
        let mut names: Vec<&str> = self.all.iter().map(|f| f.family.as_str()).collect();
        names.dedup();
        let machine =
            if self.asked > 0 { format!(" and in the {} fonts of this machine", self.asked) } else { String::new() };
        let (count, has) = match each.len() {
            1 => ("A character of the book has no font".to_owned(), "it"),
            n => (format!("{n} characters of the book have no font"), "them"),
        };
        format!(
            "{count}, so nothing was made: {}. Looked for in {}{machine}. Give a font that has {has} with --font FILE (as often as \
             needed), or change the words.",
            each.join("; "),
            names.join(", ")
        )
    }

    /// The first face of the chain that sets a cluster.
    fn face_of(&mut self, cluster: &str, style: Style) -> Option<usize> {
        let key = (style == Style::Roman, cluster.to_owned());
        if let Some(known) = self.known.get(&key) {
            return *known;
        }
        let own = usize::from(style == Style::Italic);
        let order = [own, 1 - own].into_iter().chain(2..self.all.len());
        let face = order.into_iter().find(|f| self.all.get(*f).is_some_and(|face| face.holds(cluster)));
        self.known.insert(key, face);
        face
    }

    /// Bases with their marks (UAX #29), each with its first byte and its face. A space or a hyphen that no face has is a plain one.
    fn clusters(&mut self, line: &Line, style: Style) -> Vec<(usize, String, Option<usize>)> {
        let mut found = vec![];
        for (at, cluster) in line.grapheme_indices(true) {
            let face = self.face_of(cluster, style);
            match plain(cluster).filter(|_| face.is_none()) {
                Some(plain) => found.push((at, plain.to_owned(), self.face_of(plain, style))),
                None => found.push((at, cluster.to_owned(), face)),
            }
        }
        found
    }

    /// A line in pieces of one face, script and direction, in reading order.
    fn pieces(&mut self, line: &Line, style: Style) -> Result<Vec<Piece>, String> {
        let mut found = self.clusters(line, style);
        if found.iter().any(|(.., face)| face.is_none()) {
            self.need([("", &**line)])?;
            found = self.clusters(line, style);
        }
        let faces: Vec<usize> = found.iter().filter_map(|(.., face)| *face).collect();
        let clusters: Vec<(usize, String)> = found.into_iter().map(|(at, cluster, _)| (at, cluster)).collect();
        let mut scripts: Vec<Script> = clusters.iter().map(|(_, c)| script_of(c)).collect();
        let mut pieces: Vec<Piece> = vec![];
        for (i, (at, cluster)) in clusters.iter().enumerate() {
            // Spaces and points are set with what they stand beside, in one face where it has them.
            let beside = match stands(cluster) {
                Stands::Alone => None,
                Stands::AfterThis => pieces.last().map(|p| p.face).or_else(|| next(&clusters, &faces, i)),
                Stands::BeforeNext => next(&clusters, &faces, i),
            };
            let face = beside.filter(|f| self.all[*f].holds(cluster)).unwrap_or(faces[i]);
            if shared(scripts[i]) {
                let before = (i > 0).then(|| scripts[i - 1]).filter(|s| !shared(*s));
                let after = || scripts[i..].iter().copied().find(|s| !shared(*s));
                scripts[i] = before.or_else(after).unwrap_or(Script::Common);
            }
            let level = line.level(*at);
            match pieces.last_mut() {
                Some(p) if (p.face, p.script, p.level) == (face, scripts[i], level) => p.text += cluster,
                _ => pieces.push(Piece { face, script: scripts[i], level, text: cluster.clone() }),
            }
        }
        Ok(pieces)
    }

    fn shape(&self, piece: &Piece) -> Vec<Shaped> {
        let tag: Option<[u8; 4]> = piece.script.short_name().as_bytes().try_into().ok();
        let script = tag.and_then(|t| Shape::from_iso15924_tag(rustybuzz::ttf_parser::Tag::from_bytes(&t)));
        self.all[piece.face].shape(&piece.text, piece.level.is_rtl(), script)
    }

    /// Words as runs of glyphs. Runs come in reading order, each in its place; within a run glyphs come from left to right.
    ///
    /// # Errors
    /// Characters that no face has, as [`Faces::need`].
    pub fn set(&mut self, words: impl Into<Line>, style: Style) -> Result<Vec<Run>, String> {
        let pieces = self.pieces(&words.into(), style)?;
        let shaped: Vec<Vec<Shaped>> = pieces.iter().map(|p| self.shape(p)).collect();
        let mut places = vec![0.0; pieces.len()];
        let mut right = 0.0;
        for i in seen((0..pieces.len()).collect(), |i| pieces[*i].level) {
            places[i] = right;
            right += shaped[i].iter().map(|g| g.advance).sum::<f64>();
        }
        let mut runs: Vec<Run> = vec![];
        for ((piece, shaped), mut at) in pieces.iter().zip(&shaped).zip(places) {
            for (glyphs, text) in self.all[piece.face].take(&piece.text, shaped) {
                let width: f64 = glyphs.iter().map(|g| g.advance).sum();
                // What goes on in the same face is one run, whatever its script: readers take a new run for a new word.
                let goes_on = |run: &Run| run.face == piece.face && (run.end() - at).abs() < 1e-6;
                match runs.last_mut().filter(|run| goes_on(run) && run.text.is_none() && text.is_none()) {
                    Some(run) => run.glyphs.extend(glyphs),
                    None => runs.push(Run { face: piece.face, at, glyphs, text }),
                }
                at += width;
            }
        }
        Ok(runs)
    }

    /// Text broken into lines no wider than `width` mm at `size` points, where Unicode allows it (UAX #14); what cannot be broken stands
    /// alone on its line.
    ///
    /// # Errors
    /// As [`Faces::set`].
    pub fn lines(&mut self, text: &str, style: Style, size: f64, width: f64) -> Result<Vec<Line>, String> {
        let most = width * POINTS / size * 1000.0;
        let mut lines = vec![];
        for text in text.lines() {
            let text = collapsed(text);
            let paragraph = Paragraph::new(&text);
            let (mut start, mut last) = (0, 0);
            for (at, must) in paragraph.breaks() {
                if last > start && self.thousandths(&paragraph.line(start..at), style)? > most {
                    lines.push(paragraph.line(start..last));
                    start = last;
                }
                last = at;
                if must {
                    lines.push(paragraph.line(start..at));
                    start = at;
                }
            }
            if text.is_empty() {
                lines.push(Line::default());
            }
        }
        Ok(lines)
    }

    /// The width of words, mm.
    ///
    /// # Errors
    /// As [`Faces::set`].
    pub fn width(&mut self, words: impl Into<Line>, style: Style, size: f64) -> Result<f64, String> {
        Ok(self.thousandths(&words.into(), style)? / 1000.0 * size / POINTS)
    }

    fn thousandths(&mut self, line: &Line, style: Style) -> Result<f64, String> {
        let pieces = self.pieces(line, style)?;
        Ok(pieces.iter().flat_map(|p| self.shape(p)).map(|g| g.advance).sum())
    }
}

/// What stands for a space or a hyphen of another width.
fn plain(cluster: &str) -> Option<&'static str> {
    match cluster {
        "\u{2010}" | "\u{2011}" => Some("-"),
        _ => cluster.chars().all(char::is_whitespace).then_some(" "),
    }
}

/// The script of a cluster: that of its first character.
fn script_of(cluster: &str) -> Script {
    cluster.chars().next().map_or(Script::Common, |c| c.script())
}

/// Scripts that belong to their neighbours.
fn shared(script: Script) -> bool {
    matches!(script, Script::Common | Script::Inherited | Script::Unknown)
}

/// Beside what a cluster stands.
enum Stands {
    /// A letter, a figure, a sign.
    Alone,
    /// A space or a point: beside what it follows.
    AfterThis,
    /// What opens a bracket or a quotation: beside what it precedes.
    BeforeNext,
}

fn stands(cluster: &str) -> Stands {
    let c = cluster.chars().next().unwrap_or(' ');
    let group = c.general_category_group();
    let rests = matches!(group, GeneralCategoryGroup::Separator | GeneralCategoryGroup::Punctuation);
    match c.general_category() {
        _ if !rests || !shared(c.script()) => Stands::Alone,
        GeneralCategory::OpenPunctuation | GeneralCategory::InitialPunctuation => Stands::BeforeNext,
        _ => Stands::AfterThis,
    }
}

/// The face of the next letter or figure.
fn next(clusters: &[(usize, String)], faces: &[usize], i: usize) -> Option<usize> {
    (i + 1..clusters.len()).find(|n| matches!(stands(&clusters[*n].1), Stands::Alone)).map(|n| faces[n])
}

/// " in P0001, P0002 and 3 more".
fn listed(places: &BTreeSet<&str>) -> String {
    const SHOWN: usize = 4;
    let named: Vec<&str> = places.iter().copied().filter(|p| !p.is_empty()).collect();
    match named.len() {
        0 => String::new(),
        n if n > SHOWN => format!(" in {} and {} more", named[..SHOWN].join(", "), n - SHOWN),
        _ => format!(" in {}", named.join(", ")),
    }
}

#[cfg(test)]
mod tests;
