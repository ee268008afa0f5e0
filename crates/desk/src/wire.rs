//! What the desk answers, as the page reads it.

use finish::Corners;
use serde::Serialize;
use std::collections::BTreeMap;

/// Whoever hears what happens at the desk.
pub type Ear = dyn Fn(&Event) + Send + Sync;

/// Something happened.
#[derive(Clone, Debug, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Event {
    /// The catalogue is not what it was.
    Changed,
    /// Frames are being taken in.
    Working {
        /// What is being done.
        name: String,
        /// So many are done.
        done: usize,
        /// Of so many.
        of: usize,
    },
    /// A verdict at the stand.
    Verdict(Box<Stand>),
    /// A frame of the stand is saved: its pictures are made, its print is known.
    Settled(Box<Last>),
    /// Handing on has ended, well or not.
    Handed(Box<Ended>),
    /// Something could not be done.
    Trouble {
        /// A sentence.
        says: String,
    },
}

/// What a change answers.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Did {
    /// What was done.
    pub did: String,
    /// What undo would undo.
    pub undo: Option<String>,
    /// What redo would do.
    pub redo: Option<String>,
}

/// The project as a whole.
#[derive(Clone, Debug, Serialize)]
pub struct State {
    /// Its folder's name.
    pub project: String,
    /// True where nothing can be changed.
    pub reads_only: bool,
    /// Why.
    pub why: Option<String>,
    /// How many prints.
    pub prints: i64,
    /// How many of each verdict.
    pub verdicts: BTreeMap<String, i64>,
    /// Edits, in order.
    pub edits: Vec<Edit>,
    /// Boxes with their sleeves.
    pub boxes: Vec<BoxOf>,
    /// Formats there are.
    pub formats: Vec<Count>,
    /// What undo would undo.
    pub undo: Option<String>,
    /// What redo would do.
    pub redo: Option<String>,
    /// What can be said of a print.
    pub facts: Vec<Fact>,
    /// Fields of the search line.
    pub fields: Vec<&'static str>,
}

/// An edit's name and size.
#[derive(Clone, Debug, Serialize)]
pub struct Edit {
    /// Its name.
    pub name: String,
    /// `wide`, `tight` or `sequence`, or `own`: one that a person named.
    pub kind: String,
    /// How many prints.
    pub count: usize,
}

/// A box.
#[derive(Clone, Debug, Serialize)]
pub struct BoxOf {
    /// Its name.
    #[serde(rename = "box")]
    pub name: String,
    /// Its sleeves.
    pub sleeves: Vec<String>,
    /// How many prints.
    pub count: i64,
}

/// How many of a kind.
#[derive(Clone, Debug, Serialize)]
pub struct Count {
    /// The kind.
    pub name: String,
    /// How many.
    pub count: i64,
}

/// Something that can be said of a print.
#[derive(Clone, Debug, Serialize)]
pub struct Fact {
    /// Its word.
    pub word: &'static str,
    /// As a label.
    pub label: String,
    /// `text`, `date`, `list` or `choice`.
    pub kind: &'static str,
    /// What can be chosen.
    pub choices: Vec<&'static str>,
}

/// Prints found.
#[derive(Clone, Debug, Serialize)]
pub struct Prints {
    /// How many in all.
    pub total: usize,
    /// How many prints that is, where stacks lie closed.
    pub prints: usize,
    /// What is wrong with the line, if anything.
    pub says: Option<String>,
    /// The part asked for.
    pub rows: Vec<Listed>,
}

/// A print in a list.
#[derive(Clone, Debug, Serialize)]
pub struct Listed {
    /// It.
    #[serde(flatten)]
    pub row: Row,
    /// How many frames it has.
    pub frames: i64,
    /// The stack that it lies in.
    pub stack: Option<Pile>,
}

/// A print's stack, as the table shows it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Pile {
    /// The stack's number.
    pub id: i64,
    /// How many prints it has.
    pub of: usize,
    /// The print's place in it, from 1.
    pub place: usize,
    /// How many of it lie under this one; 0 where it lies open.
    pub under: usize,
    /// True where nobody has said anything to it.
    pub proposed: bool,
}

/// A print as the table shows it.
#[derive(Clone, Debug, Serialize)]
#[allow(missing_docs)]
pub struct Row {
    pub id: i64,
    pub label: String,
    pub format: Option<String>,
    pub verdict: Option<String>,
    /// The print, mm.
    pub size_mm: Option<[f64; 2]>,
    /// The mount, mm.
    pub canvas_mm: Option<[f64; 2]>,
    /// The front's frame, and what changes with its picture.
    pub frame: Option<i64>,
    pub picture: Option<String>,
    #[serde(rename = "box")]
    pub box_name: Option<String>,
    pub sleeve: Option<String>,
    pub exposed: Option<String>,
    pub place: Option<String>,
    pub title: Option<String>,
    pub edits: Vec<String>,
    pub back: bool,
    pub back_frame: Option<i64>,
    pub back_picture: Option<String>,
    /// The picture in words.
    pub alt: String,
}

/// A print on its sheet.
#[derive(Clone, Debug, Serialize)]
#[allow(missing_docs)]
pub struct Print {
    #[serde(flatten)]
    pub row: Row,
    pub facts: BTreeMap<&'static str, String>,
    pub frames: Vec<Frame>,
    pub history: Vec<Done>,
    pub made: Vec<Made>,
    pub likenesses: Vec<Like>,
}

/// A frame of a print.
#[derive(Clone, Debug, Serialize)]
#[allow(missing_docs)]
pub struct Frame {
    pub id: i64,
    pub name: String,
    /// Which of the prints in its exposure it shows, and of how many.
    pub part: [i64; 2],
    /// The exposure's file.
    pub file: String,
    pub role: String,
    pub verdict: Option<String>,
    pub chosen: bool,
    pub why: Option<String>,
    pub taken: Option<String>,
    pub findings: Vec<Finding>,
    /// Corners in frame pixels, clockwise from the upright print's top left.
    pub outline: Option<Corners>,
    pub size_px: [i64; 2],
    pub canvas_px: Option<[i64; 2]>,
    /// The print's corners on the mount.
    pub print_px: Option<Corners>,
    pub px_per_mm: Option<f64>,
    pub picture: Option<String>,
    pub format: Option<String>,
    pub confidence: Option<f64>,
    pub turn_known: bool,
    pub turn: u8,
    pub shadow: f64,
}

/// A measured concern.
#[derive(Clone, Debug, Serialize)]
#[allow(missing_docs)]
pub struct Finding {
    pub code: String,
    pub severity: String,
    pub says: String,
    #[serde(rename = "do")]
    pub remedy: String,
    pub value: Option<f64>,
    pub limit: Option<f64>,
    pub unit: String,
}

/// Something done to a print.
#[derive(Clone, Debug, Serialize)]
#[allow(missing_docs)]
pub struct Done {
    pub when: String,
    pub says: String,
}

/// Something made from a print.
#[derive(Clone, Debug, Serialize)]
#[allow(missing_docs)]
pub struct Made {
    pub what: String,
    pub when: String,
    pub place: String,
}

/// A print that looks like this one.
#[derive(Clone, Debug, Serialize)]
#[allow(missing_docs)]
pub struct Like {
    pub id: i64,
    pub why: String,
}

/// The stand as it is.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Stand {
    /// The folder watched.
    pub folder: Option<String>,
    /// The verdict that came last.
    pub last: Option<Last>,
    /// Prints that came.
    pub count: usize,
    /// Seconds from print to print, the median of the last.
    pub pace_s: Option<f64>,
    /// What is left of the sleeve.
    pub left: Option<Left>,
    /// Prints to shoot again.
    pub reshoot: Vec<Again>,
    /// A back that is owed.
    pub owed: Option<String>,
    /// The box.
    #[serde(rename = "box")]
    pub box_name: Option<String>,
    /// The sleeve.
    pub sleeve: Option<String>,
    /// True where verdicts sound.
    pub sound: bool,
    /// The frame whose verdict somebody said they have seen.
    pub seen: Option<String>,
}

/// A verdict.
#[derive(Clone, Debug, Serialize)]
#[allow(missing_docs)]
pub struct Last {
    /// Absent until its pictures are made.
    pub frame: Option<i64>,
    pub print: Option<i64>,
    pub label: Option<String>,
    pub name: String,
    /// How many prints of its frame were judged so far, where it holds several.
    pub of: usize,
    pub verdict: String,
    pub sentence: String,
    #[serde(rename = "do")]
    pub remedy: Option<String>,
    pub picture: Option<String>,
    pub role: String,
}

/// What is left of a sleeve.
#[derive(Clone, Copy, Debug, Serialize)]
#[allow(missing_docs)]
pub struct Left {
    pub prints: usize,
    pub minutes: f64,
}

/// A print to shoot again.
#[derive(Clone, Debug, Serialize)]
#[allow(missing_docs)]
pub struct Again {
    pub label: String,
    pub name: String,
    pub sentence: String,
}

/// What is handed on and was.
#[derive(Clone, Debug, Serialize)]
pub struct Hands {
    /// What is being made now.
    pub making: Option<Making>,
    /// How the last one of this run ended, where none is being made.
    pub ended: Option<Ended>,
    /// Everything handed on, the latest first.
    pub past: Vec<PastHand>,
}

/// What is being made.
#[derive(Clone, Debug, Serialize)]
#[allow(missing_docs)]
pub struct Making {
    pub name: String,
    pub done: usize,
    pub of: usize,
}

/// How handing on ended.
#[derive(Clone, Debug, Serialize)]
pub struct Ended {
    /// The hand-off; `None` where nothing was made.
    pub name: Option<String>,
    /// A sentence.
    pub says: String,
    /// What to do.
    #[serde(rename = "do")]
    pub remedy: Option<String>,
}

/// Something that was handed on.
#[derive(Clone, Debug, Serialize)]
pub struct PastHand {
    /// Its name, where the project keeps its account.
    pub name: Option<String>,
    /// True where it can be seen here.
    pub seen: bool,
    /// True where it can be made again in its place now.
    pub again: bool,
    /// True where its files lie where they were put.
    pub there: bool,
    /// False while it is being made, and where that was cut short.
    pub whole: bool,
    /// When, UTC.
    pub at: String,
    /// As what: `share`, `gallery`, `book`, `pack`.
    pub form: String,
    /// The edit, where that is known.
    pub edit: Option<String>,
    /// How many prints.
    pub count: usize,
    /// Where it lies.
    pub place: String,
}

/// A hand-off with everything that is to be seen of it.
#[derive(Clone, Debug, Serialize)]
pub struct HandedOn {
    /// Its name.
    pub name: String,
    /// Where it lies.
    pub place: String,
    /// True where it is made again in its place.
    pub again: bool,
    /// What was asked for and what came of it.
    #[serde(flatten)]
    pub account: super::export::Account,
    /// What is to be seen of a book.
    pub book: Option<BookSeen>,
}

/// What is to be seen of a book.
#[derive(Clone, Debug, Serialize)]
pub struct BookSeen {
    /// Pictures of its spreads, in order.
    pub spreads: Vec<String>,
    /// Its flat plan.
    pub plan: String,
    /// Where each spread stands on the plan: left, top, width and height as shares of the plan's own.
    pub places: Vec<[f64; 4]>,
    /// How many pages.
    pub pages: usize,
    /// A page after the cut, mm.
    pub trim_mm: [f64; 2],
    /// The printing condition; none in RGB.
    pub condition: Option<String>,
    /// True where no bare paper has ink.
    pub paper_white: bool,
    /// Its pictures, as they stand in it.
    pub pictures: Vec<Printed>,
}

/// A picture of a book.
#[derive(Clone, Debug, Serialize)]
#[allow(missing_docs)]
pub struct Printed {
    pub name: String,
    pub page: usize,
    /// Pixels to the inch on the page.
    pub ppi: f64,
    /// What that means, where it is few.
    pub says: String,
    /// Pixels of bare paper that have ink.
    pub bare_with_ink: u64,
}
