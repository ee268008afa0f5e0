//! A book's list of pages: a plain text file, one line a page or spread, that a person writes by hand or a page of a program edits.
//!
//! ```text
//! # The harbour years
//! title
//! blank
//! page P0004                                  # at true size, centred a little high
//! spread P0007 at 150% | P0009 left 30mm top 60mm no caption
//! page grid 2x2 P0011, P0012, P0015, P0016
//! page P0004 detail 40x30mm from 20 45 at 300%
//! text essay.md
//! plates
//! colophon
//! ```
//!
//! Every line keeps its own bytes: what is not changed is written as it was read, comments, spaces and line ends included. The form is
//! described in `docs/reference/book-pages.md`.

mod read;
mod written;

use read::WORDS;

use super::layout::Edge;
use super::text_pages::Setting;
use std::ops::RangeInclusive;

/// Sizes that a print can have on a page over true size, as the whole book has (`fallside book --enlarge`).
pub const SCALES: RangeInclusive<f64> = 0.25..=10.0;
/// Longest list of pages, bytes: a line of 100 for each of ten thousand pages (ours).
pub const LONGEST: u64 = 1 << 20;
/// Most pages that a list may name: three times the thickest book that a bindery glues (ours).
pub const MOST_PAGES: usize = 3000;

/// A print as a line names it.
#[derive(Clone, Debug, PartialEq)]
pub struct Print {
    /// `P0004`, or its file's name.
    pub name: String,
    /// Its back.
    pub back: bool,
    /// Size in percent of true size, where it is said.
    pub percent: Option<f64>,
    /// Only this part, mm of the print: left, top, width, height.
    pub detail: Option<[f64; 4]>,
    /// Distance from the left or right, and from the top or foot of the trimmed page.
    pub from: [Option<Edge>; 2],
    /// With or without caption, where it is said.
    pub caption: Option<bool>,
}

impl Print {
    /// At true size, centred.
    pub fn new(name: &str) -> Self {
        Self { name: name.to_owned(), back: false, percent: None, detail: None, from: [None; 2], caption: None }
    }
}

/// What stands on one page.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Held {
    /// Columns and rows, where its prints hang in a grid.
    pub grid: Option<[usize; 2]>,
    /// Its prints: none on an empty page.
    pub prints: Vec<Print>,
}

/// What a line describes.
#[derive(Clone, Debug, PartialEq)]
pub enum Entry {
    /// An empty page.
    Blank,
    /// The title page.
    Title,
    /// A text in Markdown, as many pages as it takes: its file beside the list or below, and where it stands.
    Text(String, Setting),
    /// The list of plates, as many pages as it takes.
    Plates,
    /// How the book was made.
    Colophon,
    /// One page.
    Page(Held),
    /// A left page and the right one across.
    Spread([Held; 2]),
}

/// A line that cannot be understood.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wrong {
    /// Its number, from 1.
    pub line: usize,
    /// What is wrong, and what may stand there.
    pub says: String,
}

/// A line: its own bytes, and what they describe.
#[derive(Clone, Debug, PartialEq)]
struct Line {
    /// As it was read, its end included.
    text: String,
    /// Bytes before and after the words that describe the page.
    around: [usize; 2],
    entry: Option<Entry>,
}

/// A list of pages.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PageList {
    lines: Vec<Line>,
}

impl PageList {
    /// Reads a list.
    ///
    /// # Errors
    /// All lines that are not understood.
    pub fn read(text: &str) -> Result<Self, Vec<Wrong>> {
        let (mut lines, mut wrong) = (vec![], vec![]);
        for (i, line) in text.split_inclusive('\n').enumerate() {
            match read::line(line) {
                Ok((entry, around)) => lines.push(Line { text: line.to_owned(), around, entry }),
                Err(says) => wrong.push(Wrong { line: i + 1, says }),
            }
        }
        if wrong.is_empty() { Ok(Self { lines }) } else { Err(wrong) }
    }

    /// The file's text.
    pub fn text(&self) -> String {
        self.lines.iter().map(|l| l.text.as_str()).collect()
    }

    /// Its pages in order, each with the number of its line from 1.
    pub fn entries(&self) -> impl Iterator<Item = (usize, &Entry)> {
        self.lines.iter().enumerate().filter_map(|(i, l)| l.entry.as_ref().map(|e| (i + 1, e)))
    }

    /// Another page in the place of what line `number` (from 1) describes; its indent, comment and line end stay. False where there is no
    /// such page.
    pub fn replace(&mut self, number: usize, entry: Entry) -> bool {
        let Some(line) = number.checked_sub(1).and_then(|i| self.lines.get_mut(i)).filter(|l| l.entry.is_some()) else {
            return false;
        };
        let [before, after] = line.around;
        let words = entry.to_string();
        let end = before + words.len();
        line.text = [&line.text[..before], &words, &line.text[after..]].concat();
        (line.around, line.entry) = ([before, end], Some(entry));
        true
    }

    /// A page of its own before line `number` (from 1), or at the end; `comment` stands after it.
    pub fn insert(&mut self, number: usize, entry: Entry, comment: &str) {
        let words = entry.to_string();
        let end = self.line_end();
        // A line is one line, whatever a comment holds.
        let comment: String = comment.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
        let comment = if comment.is_empty() { comment } else { format!("    # {comment}") };
        let line = Line { around: [0, words.len()], text: format!("{words}{comment}{end}"), entry: Some(entry) };
        let at = number.saturating_sub(1).min(self.lines.len());
        if at > 0 && !self.lines[at - 1].text.ends_with('\n') {
            self.lines[at - 1].text += end;
        }
        self.lines.insert(at, line);
    }

    /// Takes line `number` (from 1) away. False where there is none.
    pub fn remove(&mut self, number: usize) -> bool {
        let there = (1..=self.lines.len()).contains(&number);
        if there {
            self.lines.remove(number - 1);
        }
        there
    }

    /// How the file ends its lines.
    fn line_end(&self) -> &'static str {
        if self.lines.first().is_some_and(|l| l.text.ends_with("\r\n")) { "\r\n" } else { "\n" }
    }
}

#[cfg(test)]
mod tests;
