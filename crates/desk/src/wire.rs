//! The desk's wire: every JSON that its pages send and receive, in one place.
//!
//! [`request`] holds what a page sends, this file what it receives, [`calls`] which path takes which. `cargo xtask gen` writes the
//! page's TypeScript types (`web/src/wire.generated.ts`) and the JSON Schema (`docs/reference/desk.schema.json`) from them; the
//! page is compiled against the types, and the answers of the real server and of the tests' invented desk are checked against the
//! schema. To add a call: its types here, one line in `calls.rs`, one route in `crates/app/src/web/routes.rs`.

pub mod account;
mod calls;
mod checked_rig;
pub mod intake;
mod lift;
pub mod request;
mod schema;

pub use intake::TakenIn;
pub use lift::{Lift, LightHow, LightSeen, NamedLight};
pub use schema::json_schema;

pub use checked_rig::CheckedRig;
use finish::finding::{Severity, Verdict};
use finish::{Corners, Role};
use rig::plan;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The project's folder of what was handed on.
pub(crate) const HANDED_ON: &str = "handed-on";

/// Receives the desk's events.
pub type Ear = dyn Fn(&Event) + Send + Sync;

/// Something happened.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Event {
    /// The catalogue changed: a page asks again for what it shows.
    Changed,
    /// Progress of work in the background.
    Working {
        /// What is being done.
        name: String,
        /// Steps done.
        done: usize,
        /// Steps in all.
        of: usize,
    },
    /// A verdict at the stand.
    Verdict(Box<Stand>),
    /// A frame of the stand is saved: its pictures are made and its print has a number.
    Settled(Box<Last>),
    /// An export ended, with or without success.
    Handed(Box<Ended>),
    /// How an import goes, or how it ended.
    Importing(Box<intake::Imports>),
    /// Something could not be done.
    Trouble {
        /// A sentence.
        says: String,
        /// True at the stand, whose page has it in the place of the verdict.
        at_stand: bool,
    },
}

/// What the paired device hears: less than the desk's own page.
#[derive(Clone, Copy, Debug, Serialize, JsonSchema)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum DeviceEvent {
    /// The stand changed: the page asks for it again.
    Changed,
    /// A verdict at the stand.
    Verdict {
        /// The verdict, for its sound.
        verdict: Verdict,
    },
}

/// Why a request was refused: the body of every answer with a status of 400 or more.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Refusal {
    /// What is wrong.
    pub says: String,
    /// What to do about it; empty where nothing is to be done.
    #[serde(rename = "do")]
    pub remedy: String,
}

/// What the paired device is told after it did something.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct DeviceDid {
    /// What was done.
    pub did: String,
}

/// What a change answers.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Did {
    /// What was done.
    pub did: String,
    /// What undo would undo.
    pub undo: Option<String>,
    /// What redo would do.
    pub redo: Option<String>,
}

/// What describing prints answers.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Described {
    /// What was done.
    #[serde(flatten)]
    pub did: Did,
    /// What was not written; everything else was.
    pub kept_back: Vec<KeptBack>,
}

/// A value that was not written.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct KeptBack {
    /// The fact.
    pub fact: &'static str,
    /// The value.
    pub value: String,
    /// Why.
    pub says: String,
    /// What stands there, where it was changed in another place meanwhile.
    pub theirs: Option<String>,
    /// What the value can mean, where that is to be chosen.
    pub choices: Vec<DateChoice>,
    /// The prints.
    pub ids: Vec<i64>,
}

/// A date as it was understood.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct DateRead {
    /// In EDTF; none where nothing is written, it is not understood, or it is to be chosen.
    pub edtf: Option<String>,
    /// What was understood, in words; or why nothing was.
    pub says: String,
    /// What it can mean, where that is to be chosen.
    pub choices: Vec<DateChoice>,
}

/// A meaning of a date.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct DateChoice {
    /// In EDTF.
    pub edtf: String,
    /// In words.
    pub says: String,
}

/// What several prints say of a fact.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Together {
    /// The fact.
    pub fact: &'static str,
    /// What all of them say: items of a list, or one text.
    pub all: Vec<String>,
    /// What some of them say, the most used first.
    pub some: Vec<Count>,
    /// How many say nothing.
    pub empty: usize,
}

/// A search kept by name.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct SavedSearch {
    /// Its name.
    pub name: String,
    /// The search.
    pub line: String,
}

/// What finishing a frame again answers.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Refinished {
    /// What was done.
    #[serde(flatten)]
    pub did: Did,
    /// The frame as it is now.
    pub frame: Option<Frame>,
}

/// The verdict on a print: that of its front.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum PrintVerdict {
    /// Good for its aim.
    Keep,
    /// A person should look.
    Look,
    /// Take it again.
    Reshoot,
}

/// A value by the word that the catalogue keeps; `None` for a word that it does not know.
pub(super) fn by_word<T: serde::de::DeserializeOwned>(word: &str) -> Option<T> {
    serde_json::from_value(word.into()).ok()
}

/// The project as a whole.
#[derive(Clone, Debug, Serialize, JsonSchema)]
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
    pub verdicts: Verdicts,
    /// Edits, in order.
    pub edits: Vec<Edit>,
    /// Boxes with their sleeves.
    pub boxes: Vec<BoxOf>,
    /// Every format, with how many prints have it.
    pub formats: Vec<Count>,
    /// Searches kept by name.
    pub searches: Vec<SavedSearch>,
    /// What it means that a print says nothing of who may see it; none until somebody has decided.
    pub unsaid: Option<request::Unsaid>,
    /// How many prints say nothing of it.
    pub unsaid_prints: i64,
    /// What undo would undo.
    pub undo: Option<String>,
    /// What redo would do.
    pub redo: Option<String>,
    /// The last imports that can be undone as a whole, the newest first.
    pub takes: Vec<TakenIn>,
    /// What can be said of a print.
    pub facts: Vec<Fact>,
    /// Fields of the search line.
    pub fields: Vec<&'static str>,
    /// Lights that a shadow can be cast by, the project's own first.
    pub lights: Vec<NamedLight>,
}

/// How many prints have each verdict.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, JsonSchema)]
#[allow(missing_docs)]
pub struct Verdicts {
    pub keep: i64,
    pub look: i64,
    pub reshoot: i64,
}

/// Which round of choosing an edit is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum EditKind {
    /// Worth considering.
    Wide,
    /// In the book.
    Tight,
    /// In their order.
    Sequence,
    /// An edit that a person named.
    Own,
}

/// How a fact is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum FactKind {
    /// Any text.
    Text,
    /// A date in EDTF.
    Date,
    /// Several words with commas between them.
    List,
    /// One of `choices`.
    Choice,
}

/// An edit's name and size.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Edit {
    /// Its name.
    pub name: String,
    /// Which round it is.
    pub kind: EditKind,
    /// How many prints.
    pub count: usize,
}

/// A box.
#[derive(Clone, Debug, Serialize, JsonSchema)]
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
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Count {
    /// The kind.
    pub name: String,
    /// How many.
    pub count: i64,
}

/// Something that can be said of a print.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Fact {
    /// Its word.
    pub word: &'static str,
    /// As a label.
    pub label: String,
    /// How it is written.
    pub kind: FactKind,
    /// What can be chosen.
    pub choices: Vec<&'static str>,
}

/// Prints found. Where stacks are closed, a stack takes one place.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Prints {
    /// Number of places.
    pub total: usize,
    /// Number of prints in these places.
    pub prints: usize,
    /// What is wrong with the search, if anything.
    pub says: Option<String>,
    /// The part asked for.
    pub rows: Vec<Row>,
}

/// A print on the table.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Row {
    /// What the table and the sheet both show.
    #[serde(flatten)]
    pub print: Summary,
    /// How many frames it has.
    pub frames: i64,
    /// Its stack.
    pub stack: Option<Pile>,
}

/// A print's place in its stack.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Pile {
    /// The stack's number.
    pub id: i64,
    /// How many prints it has.
    pub of: usize,
    /// The print's place in it, from 1.
    pub place: usize,
    /// How many prints of it are hidden under this one; 0 where the stack is open.
    pub under: usize,
    /// True where Fallside proposed it and nobody has confirmed it.
    pub proposed: bool,
}

/// What is shown of a print wherever it is shown.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[allow(missing_docs)]
pub struct Summary {
    pub id: i64,
    pub label: String,
    pub format: Option<String>,
    pub verdict: Option<PrintVerdict>,
    /// The print, mm.
    pub size_mm: Option<[f64; 2]>,
    /// The mount, mm.
    pub canvas_mm: Option<[f64; 2]>,
    /// The front's frame.
    pub frame: Option<i64>,
    /// A hash of the front's picture, for its address; none where there is no picture yet.
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
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[allow(missing_docs)]
pub struct Print {
    #[serde(flatten)]
    pub print: Summary,
    pub facts: BTreeMap<&'static str, String>,
    pub frames: Vec<Frame>,
    pub history: Vec<Done>,
    pub made: Vec<Made>,
    pub likenesses: Vec<Like>,
}

/// A frame of a print.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[allow(missing_docs)]
pub struct Frame {
    pub id: i64,
    pub name: String,
    /// Which of the prints in its exposure it shows, and of how many.
    pub part: [i64; 2],
    /// The exposure's file.
    pub file: String,
    pub role: Role,
    pub verdict: Option<Verdict>,
    /// True for the print's front.
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
    /// True where the picture's top is known.
    pub turn_known: bool,
    /// Quarter turns clockwise that a person gave it, 0 to 3.
    pub turn: u8,
    /// Depth of the shadow: 0 none, 1 as shot, 2 twice as dark.
    pub shadow: f64,
    /// The light that was chosen for its shadow.
    pub light: LightSeen,
    /// How its mount's shadow came about, in words.
    pub cast: Option<String>,
    /// Why the shadow stayed as shot where another light was chosen.
    pub cast_why: Option<String>,
    /// How high the print's edges stand above the bed.
    pub lift: Option<Lift>,
}

/// A measured concern.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[allow(missing_docs)]
pub struct Finding {
    pub code: String,
    pub severity: Severity,
    pub says: String,
    #[serde(rename = "do")]
    pub remedy: String,
    pub value: Option<f64>,
    pub limit: Option<f64>,
    pub unit: String,
}

/// Something done to a print.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[allow(missing_docs)]
pub struct Done {
    pub when: String,
    pub says: String,
}

/// Something made from a print.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[allow(missing_docs)]
pub struct Made {
    pub what: String,
    pub when: String,
    pub place: String,
}

/// A print that looks like this one.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[allow(missing_docs)]
pub struct Like {
    pub id: i64,
    pub why: String,
}

/// What was watched last at the stand, to be offered again.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Watched {
    /// The folder.
    pub folder: String,
    /// The box.
    #[serde(rename = "box")]
    pub box_name: Option<String>,
    /// The sleeve.
    pub sleeve: Option<String>,
    /// How many prints it holds.
    pub of: Option<usize>,
    /// True where every back was photographed too.
    pub backs: bool,
    /// True where each frame was taken for one print.
    pub one: bool,
}

/// Something that went wrong at the stand. It has the place of the verdict until it is read, over, or a frame is judged.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Amiss {
    /// Counts up: another number is another trouble.
    pub number: u64,
    /// The file; none where it is the folder.
    pub name: Option<String>,
    /// What went wrong, a sentence.
    pub says: String,
    /// What to do.
    #[serde(rename = "do")]
    pub remedy: String,
    /// True where somebody has read it, and it is not over.
    pub seen: bool,
    /// Other files of which the same was not read yet.
    pub others: Vec<String>,
}

/// The stand as it is.
#[derive(Clone, Debug, Default, Serialize, JsonSchema)]
pub struct Stand {
    /// The folder watched.
    pub folder: Option<String>,
    /// The verdict that came last.
    pub last: Option<Last>,
    /// Number of prints photographed.
    pub count: usize,
    /// Seconds from print to print, the median of the last.
    pub pace_s: Option<f64>,
    /// What is left of the sleeve.
    pub left: Option<Left>,
    /// Prints to shoot again.
    pub reshoot: Vec<Again>,
    /// A sentence where a back is still to be photographed.
    pub owed: Option<String>,
    /// The box.
    #[serde(rename = "box")]
    pub box_name: Option<String>,
    /// The sleeve.
    pub sleeve: Option<String>,
    /// True where verdicts are heard as sounds.
    pub sound: bool,
    /// The frame whose verdict somebody marked as seen, here or on the paired device.
    pub seen: Option<String>,
    /// What went wrong.
    pub amiss: Option<Amiss>,
    /// What was watched last, also before the desk was opened; none on the paired device.
    pub remembered: Option<Watched>,
}

/// A verdict.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[allow(missing_docs)]
pub struct Last {
    /// Absent until its pictures are made.
    pub frame: Option<i64>,
    pub print: Option<i64>,
    pub label: Option<String>,
    pub name: String,
    /// How many prints of its frame were judged so far, where it holds several.
    pub of: usize,
    pub verdict: Verdict,
    pub sentence: String,
    #[serde(rename = "do")]
    pub remedy: Option<String>,
    pub picture: Option<String>,
    pub role: Role,
    /// True where nothing on the print says which way is up, and nobody has said it yet.
    pub turn_unknown: bool,
}

/// Access to the stand from another device.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Access {
    /// True while the network's address answers.
    pub open: bool,
    /// The address to open on the device.
    pub address: Option<String>,
    /// The code to enter there; none once a device has used it.
    pub code: Option<String>,
    /// True while a device is paired.
    #[serde(rename = "in")]
    pub is_in: bool,
    /// Why access was closed without being asked to.
    pub says: Option<String>,
}

/// A rig as it was planned, and as it was measured last.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Planned {
    /// What is planned, in a line: format, size and aim.
    pub heading: String,
    /// What the plan says, thing by thing.
    pub parts: Vec<PlanPart>,
    /// The plan; none where a number could not be understood.
    pub answer: Option<plan::Answer>,
    /// What is wrong with the rig as a whole.
    pub trouble: Option<String>,
    /// Fields that were not understood: the plan takes what is usual for them.
    pub fields: Vec<FieldTrouble>,
    /// What the newest front of the current sitting measured.
    pub measured: Option<Measured>,
    /// What `fallside check` measured last, where its result lies in the project.
    pub checked: Option<CheckedRig>,
}

/// What the plan says of one thing.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct PlanPart {
    /// Of what: "Camera".
    pub label: String,
    /// Sentences.
    pub says: Vec<String>,
}

/// A field that was not understood.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct FieldTrouble {
    /// Its word in the request.
    pub field: String,
    /// What to write.
    pub says: String,
}

/// The plan's words as they were kept last; none where none were.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct KeptPlan {
    /// The words.
    pub words: Option<BTreeMap<String, String>>,
}

/// The rig as a frame shows it. What the frame could not measure is absent.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Measured {
    /// The frame.
    pub name: String,
    /// When it was taken, the camera's clock.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub taken: Option<String>,
    /// Pixels per millimetre on the print.
    pub px_per_mm: f64,
    /// The camera's lean about both axes together, degrees.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lean_deg: Option<f64>,
    /// Where the light stands in the frame, degrees clockwise from right.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub azimuth_deg: Option<f64>,
    /// Brightest to darkest across the print, stops.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fall_off_stops: Option<f64>,
    /// Width of the shadow, mm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shadow_width_mm: Option<f64>,
    /// How far the room's light is below the flash, stops: by the sitting's frame with the flash off and its bare bed. Measured in the
    /// background; a `changed` event says when it is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ambient_below_stops: Option<f64>,
}

/// What is left of a sleeve.
#[derive(Clone, Copy, Debug, Serialize, JsonSchema)]
#[allow(missing_docs)]
pub struct Left {
    pub prints: usize,
    pub minutes: f64,
}

/// A print to shoot again.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[allow(missing_docs)]
pub struct Again {
    pub label: String,
    pub name: String,
    pub sentence: String,
}

/// The export that is being made, and earlier ones.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Hands {
    /// What is being made now.
    pub making: Option<Making>,
    /// How the last one of this run ended, where none is being made.
    pub ended: Option<Ended>,
    /// Earlier exports, the latest first.
    pub past: Vec<PastHand>,
}

/// What is being made.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[allow(missing_docs)]
pub struct Making {
    pub name: String,
    pub done: usize,
    pub of: usize,
}

/// How an export ended.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Ended {
    /// The export; none where nothing was made.
    pub name: Option<String>,
    /// A sentence.
    pub says: String,
    /// What to do.
    #[serde(rename = "do")]
    pub remedy: Option<String>,
}

/// An earlier export.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct PastHand {
    /// Its name, where the project keeps a record of it.
    pub name: Option<String>,
    /// True where this page can show it.
    pub seen: bool,
    /// True where it can be updated in place now.
    pub again: bool,
    /// True where its files are still where they were written.
    pub there: bool,
    /// False while it is being made, and where that was interrupted.
    pub whole: bool,
    /// When, UTC.
    pub at: String,
    /// What it is.
    pub form: String,
    /// The edit, where that is known.
    pub edit: Option<String>,
    /// How many prints.
    pub count: usize,
    /// Its folder.
    pub place: String,
}

/// An export with everything that the page shows of it.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct HandedOn {
    /// Its name.
    pub name: String,
    /// Its folder.
    pub place: String,
    /// True where it can be updated in place.
    pub again: bool,
    /// What was asked for and what was made.
    #[serde(flatten)]
    pub account: account::Account,
    /// What the page shows of a book.
    pub book: Option<BookSeen>,
}

/// What the page shows of a book.
#[derive(Clone, Debug, Serialize, JsonSchema)]
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
#[derive(Clone, Debug, Serialize, JsonSchema)]
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
