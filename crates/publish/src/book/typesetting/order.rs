//! The order of text in both directions: lines of a paragraph with the level of every character (UAX #9).

use std::ops::{Deref, Range};
use unicode_bidi::{Level, ParagraphBidiInfo};
use unicode_linebreak::{BreakOpportunity, linebreaks};

/// A line of text in reading order, with what its paragraph says of its direction.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Line {
    text: String,
    /// Level of each byte: odd ones run from right to left.
    levels: Vec<Level>,
    rtl: bool,
}

impl Line {
    /// True where its paragraph runs from right to left.
    pub fn is_rtl(&self) -> bool {
        self.rtl
    }

    /// Level of the character at a byte.
    pub fn level(&self, at: usize) -> Level {
        self.levels.get(at).copied().unwrap_or_else(Level::ltr)
    }

    fn push(&mut self, c: char, level: Level) {
        self.text.push(c);
        self.levels.resize(self.text.len(), level);
    }
}

impl Deref for Line {
    type Target = str;
    fn deref(&self) -> &str {
        &self.text
    }
}

impl From<&str> for Line {
    fn from(text: &str) -> Self {
        Paragraph::new(text).line(0..text.len())
    }
}

impl From<&String> for Line {
    fn from(text: &String) -> Self {
        text.as_str().into()
    }
}

impl From<&Line> for Line {
    fn from(line: &Line) -> Self {
        line.clone()
    }
}

/// A paragraph with its order resolved.
pub struct Paragraph<'a> {
    text: &'a str,
    order: ParagraphBidiInfo<'a>,
}

impl<'a> Paragraph<'a> {
    /// A paragraph whose direction is that of its first letter (UAX #9, rules P2 and P3).
    pub fn new(text: &'a str) -> Self {
        Self { text, order: ParagraphBidiInfo::new(text, None) }
    }

    /// Where it may break (UAX #14), and whether it must; the last place is its end.
    pub fn breaks(&self) -> impl Iterator<Item = (usize, bool)> + use<'a> {
        linebreaks(self.text).map(|(at, kind)| (at, kind == BreakOpportunity::Mandatory))
    }

    /// A line of it, without white space at its end and without what only steers the order. A soft hyphen shows where the line ends with it.
    pub fn line(&self, range: Range<usize>) -> Line {
        let part = &self.text[range.clone()];
        let hyphen = part.ends_with('\u{AD}') && range.end < self.text.len();
        let part = part.trim_end();
        let mut line = Line { rtl: self.order.paragraph_level.is_rtl(), ..Line::default() };
        if part.is_empty() {
            return line;
        }
        let levels = self.order.reordered_levels(range.start..range.start + part.len());
        for (at, c) in part.char_indices() {
            let level = levels[range.start + at];
            if c.is_whitespace() && c.is_control() {
                line.push(' ', level);
            } else if !c.is_control() && !steers(c) {
                line.push(c, level);
            }
        }
        if hyphen {
            let level = line.levels.last().copied().unwrap_or(self.order.paragraph_level);
            line.push('-', level);
        }
        line
    }
}

/// Characters that steer order and breaks and are never seen.
fn steers(c: char) -> bool {
    matches!(c, '\u{AD}' | '\u{61C}' | '\u{200B}' | '\u{200E}' | '\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2060}'
        | '\u{2066}'..='\u{2069}' | '\u{FEFF}')
}

/// Text with runs of plain spaces and tabs as one space, as a page sets it.
pub fn collapsed(text: &str) -> String {
    let words = text.split([' ', '\t', '\r']).filter(|w| !w.is_empty());
    words.collect::<Vec<_>>().join(" ")
}

/// Pieces in the order in which they are seen, from left to right (UAX #9, rule L2).
pub fn seen<T>(pieces: Vec<T>, level: impl Fn(&T) -> Level) -> Vec<T> {
    let levels: Vec<Level> = pieces.iter().map(level).collect();
    let mut pieces: Vec<Option<T>> = pieces.into_iter().map(Some).collect();
    ParagraphBidiInfo::reorder_visual(&levels).into_iter().filter_map(|i| pieces[i].take()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// As it is seen, character by character.
    fn shown(line: &Line) -> String {
        let all: Vec<(usize, char)> = line.char_indices().collect();
        seen(all, |(at, _)| line.level(*at)).into_iter().map(|(_, c)| c).collect()
    }

    /// UAX #9, section 3.4 (rule L2): the examples of reordering, "car" and its fellows, with Hebrew letters for the capitals.
    #[test]
    fn order_is_that_of_the_standards_examples() {
        let hebrew = |text: &str| -> String {
            let letter = |c: char| char::from_u32(0x5D0 + u32::from(c as u8 - b'A')).unwrap_or(c);
            text.chars().map(|c| if c.is_ascii_uppercase() { letter(c) } else { c }).collect()
        };
        for (memory, display, rtl) in [
            ("car means CAR.", "car means RAC.", false),
            // Of a paragraph at level 1, which a mark says here.
            ("\u{200F}car MEANS CAR.", ".RAC SNAEM car", true),
            ("he said \"\u{2067}car MEANS CAR\u{2069}.\"", "he said \"RAC SNAEM car.\"", false),
            (
                "DID YOU SAY '\u{2066}he said \"\u{2067}car MEANS CAR\u{2069}\"\u{2069}'?",
                "?'he said \"RAC SNAEM car\"' YAS UOY DID",
                true,
            ),
        ] {
            let line = Line::from(&hebrew(memory));
            assert_eq!((shown(&line), line.is_rtl()), (hebrew(display), rtl), "{memory}");
        }
    }

    /// The direction of a line is its paragraph's, whatever the line begins with (UAX #9, P2), and a soft hyphen shows where a line ends.
    #[test]
    fn a_line_keeps_the_direction_of_its_paragraph() {
        let text = "\u{5D0}\u{5D1} one two";
        let paragraph = Paragraph::new(text);
        let line = paragraph.line(5..text.len());
        assert!(line.is_rtl() && &*line == "one two");
        assert!(!Line::from("one two").is_rtl());
        let soft = "soft\u{AD}hyphen";
        let paragraph = Paragraph::new(soft);
        assert_eq!((&*paragraph.line(0..6), &*paragraph.line(0..soft.len())), ("soft-", "softhyphen"));
        assert!(paragraph.breaks().any(|b| b == (6, false)));
    }

    /// Japanese breaks between characters, but not before a full stop or a small kana (UAX #14, classes ID, CL and CJ).
    #[test]
    fn japanese_breaks_between_characters() {
        let text = "港の朝。";
        let places: Vec<usize> = Paragraph::new(text).breaks().map(|(at, _)| at).collect();
        assert_eq!(places, [3, 6, 12]);
    }
}
