//! Words of the commands on a project: take, list, find, describe, pair, unpair, edit, undo, redo, rebuild, backup, check.

use super::AimWord;
use clap::{Args, Subcommand, ValueEnum};
use finish::recipe::Settings;
use project::Take as Request;
use project::catalogue::Order;
use std::path::PathBuf;

pub const TAKE: &str = "\
Take frames into a project: finish them into its folder and enter them in its catalogue.

The project is a folder; it is made if it is not there. Originals stay where they are and are known by their place and their \
hash; with --copy they are copied in. Each frame is finished as `fallside finish` does it. A front is a new print, unless it \
shows one that is there already: then it is a reshoot of it. A second exposure of the same scene is another print. A back goes \
with the front before it. Frames that are known are left alone, so the same card can be taken again; a take that was \
interrupted goes on where it stopped.";

pub const TAKE_EXAMPLE: &str = "\
Example: an evening's card, from the third box, sleeve 12:

    fallside take /media/card --in ~/instant-archive --box \"Shoebox 3\" --sleeve 12

    F0009.jpg  P0004  reshoot  The print is overexposed by 0.8 stop.
    F0011.jpg  P0005  back: it follows F0010.dng and has its size

Exit codes: 0 everything is taken in; 1 some frame could not be, and has its line; 2 nothing could be.";

pub const FIND: &str = "\
Find prints by one line of words and fields.

Words match from their beginning, without regard to accents and capitals. A field comes before a colon: title, alt, place, people, \
subject, inscription, film, batch, condition, rights, note, box, sleeve, frame, date, digitised, format, verdict, finding, \
privacy, edit, stack, back, id, has, lacks. Words in quotation marks stand together. A minus takes away what follows it finds; after it \
put -- first, as in the example.";

pub const FIND_EXAMPLE: &str = "\
Examples:

    fallside find harbour
    fallside find place:harbour date:2009..2012 'film:\"black and white\"' verdict:look
    fallside find -- lacks:place -privacy:private";

pub const DESCRIBE: &str = "\
Say something of prints: words for one fact or several, of one print or several at once. An empty value takes a fact back.

Dates are EDTF (ISO 8601-2), level 1: 2009, 2009-07, 2009-07-14, 2009-21 (spring; 22 summer, 23 autumn, 24 winter), 200X, \
2009? (not sure), 2009~ (about), 2009/2011 (from, to), ../2009 (before). Without any fact the prints are shown.";

pub const DESCRIBE_EXAMPLE: &str = "\
Example:

    fallside describe P0004 P0005 --date '2009-07?' --place 'The harbour' --people 'Ada; Bo'";

/// The project that a command is about.
#[derive(Args, Debug)]
pub struct In {
    /// The project's folder; the current one unless said
    #[arg(long = "in", value_name = "DIR", default_value = ".")]
    pub folder: PathBuf,
    /// Answer in JSON on standard output
    #[arg(long)]
    pub json: bool,
}

/// Options of `take`.
#[derive(Args, Debug)]
pub struct Take {
    /// Folders and files of frames
    #[arg(required = true, value_name = "FRAMES")]
    pub inputs: Vec<PathBuf>,
    #[command(flatten)]
    pub project: In,
    /// Copy the originals into the project
    #[arg(long)]
    pub copy: bool,
    /// The box that the prints lie in
    #[arg(long = "box", value_name = "NAME", default_value = "")]
    pub box_name: String,
    /// Their sleeve in the box
    #[arg(long, value_name = "NAME", default_value = "", requires = "box_name")]
    pub sleeve: String,
    /// What the prints are for; sets the limits of the verdict
    #[arg(long, value_enum, default_value = "book")]
    pub aim: AimWord,
    /// This frame shows the bare bed (repeatable)
    #[arg(long, value_name = "FILE")]
    pub blank: Vec<PathBuf>,
    /// This frame shows the back of a print (repeatable)
    #[arg(long, value_name = "FILE")]
    pub back: Vec<PathBuf>,
    /// This frame shows the colour chart
    #[arg(long, value_name = "FILE", requires = "chart_values")]
    pub chart: Option<PathBuf>,
    /// The chart's values: CGATS.17, or a plain table
    #[arg(long, value_name = "FILE")]
    pub chart_values: Option<PathBuf>,
    /// Take each frame for one print, whatever else lies in it
    #[arg(long)]
    pub one: bool,
    /// Most memory for frames in work, MB
    #[arg(long, value_name = "MB", value_parser = clap::value_parser!(u64).range(100..))]
    pub memory: Option<u64>,
}

impl Take {
    /// The request these words mean.
    pub fn request(&self) -> Request {
        Request {
            inputs: self.inputs.clone(),
            copy: self.copy,
            box_name: self.box_name.clone(),
            sleeve: self.sleeve.clone(),
            blanks: self.blank.clone(),
            backs: self.back.clone(),
            chart: self.chart.clone(),
            chart_values: self.chart_values.clone(),
            settings: Settings { aim: self.aim.into(), one: self.one, ..Settings::default() },
            memory: self.memory.map(|mb| mb << 20),
        }
    }
}

/// What `list` lists.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum ListWord {
    /// Every print
    Prints,
    /// Frames that should show a print and have none
    Loose,
    /// Every frame
    Frames,
    /// Boxes and sleeves
    Boxes,
    /// Sittings
    Sittings,
    /// Edits with their prints
    Edits,
    /// Stacks of near-twins with their prints
    Stacks,
    /// What was handed on
    HandOffs,
    /// The journal, the latest first
    History,
}

/// Orders of prints.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum OrderWord {
    /// As they came
    Number,
    /// By date exposed
    Date,
    /// By box and sleeve
    Box,
    /// By format
    Format,
    /// Reshoot first
    Verdict,
    /// By place
    Place,
    /// By when they were photographed
    Taken,
}

impl From<OrderWord> for Order {
    fn from(word: OrderWord) -> Self {
        match word {
            OrderWord::Number => Self::Number,
            OrderWord::Date => Self::Date,
            OrderWord::Box => Self::Box,
            OrderWord::Format => Self::Format,
            OrderWord::Verdict => Self::Verdict,
            OrderWord::Place => Self::Place,
            OrderWord::Taken => Self::Taken,
        }
    }
}

/// Options of `list`.
#[derive(Args, Debug)]
pub struct List {
    /// What to list
    #[arg(value_enum, default_value = "prints")]
    pub what: ListWord,
    /// In which order, for prints
    #[arg(long, value_enum, default_value = "number")]
    pub order: OrderWord,
    #[command(flatten)]
    pub project: In,
}

/// Options of `find`.
#[derive(Args, Debug)]
pub struct Find {
    /// The search line; may be several words
    #[arg(required = true, value_name = "WORDS")]
    pub line: Vec<String>,
    /// In which order
    #[arg(long, value_enum, default_value = "number")]
    pub order: OrderWord,
    #[command(flatten)]
    pub project: In,
}

/// Options of `describe`.
#[derive(Args, Debug)]
pub struct Describe {
    /// Prints, as P0042
    #[arg(required = true, value_name = "PRINTS")]
    pub prints: Vec<String>,
    #[command(flatten)]
    pub facts: FactWords,
    #[command(flatten)]
    pub project: In,
}

/// One option for each fact.
#[derive(Args, Debug)]
pub struct FactWords {
    /// A short name
    #[arg(long, value_name = "WORDS")]
    pub title: Option<String>,
    /// What is seen, for who cannot see it
    #[arg(long, value_name = "WORDS")]
    pub alt: Option<String>,
    /// When it was exposed: 2009-07?, 200X, 2009-21, 2009/2011
    #[arg(long, value_name = "EDTF")]
    pub date: Option<String>,
    /// Where
    #[arg(long, value_name = "WORDS")]
    pub place: Option<String>,
    /// Who is in it, a semicolon between names
    #[arg(long, value_name = "NAMES")]
    pub people: Option<String>,
    /// What it shows, a semicolon between words
    #[arg(long, value_name = "WORDS")]
    pub subject: Option<String>,
    /// What is written on it, word for word
    #[arg(long, value_name = "WORDS")]
    pub inscription: Option<String>,
    /// The print format
    #[arg(long, value_name = "FORMAT")]
    pub format: Option<String>,
    /// The film, as you call it
    #[arg(long, value_name = "WORDS")]
    pub film: Option<String>,
    /// The code printed on the back
    #[arg(long, value_name = "CODE")]
    pub batch: Option<String>,
    /// Its state
    #[arg(long, value_name = "WORDS")]
    pub condition: Option<String>,
    /// Who may use it
    #[arg(long, value_name = "WORDS")]
    pub rights: Option<String>,
    /// Who may see it: open, ask or private
    #[arg(long, value_name = "WORD")]
    pub privacy: Option<String>,
    /// Anything else
    #[arg(long, value_name = "WORDS")]
    pub note: Option<String>,
    /// The box it lies in
    #[arg(long = "box", value_name = "NAME")]
    pub box_name: Option<String>,
    /// Its sleeve in the box
    #[arg(long, value_name = "NAME")]
    pub sleeve: Option<String>,
}

impl FactWords {
    /// The facts that were said, by their words, the box before the sleeve.
    pub fn said(&self) -> Vec<(&'static str, &str)> {
        let all = [
            ("title", &self.title),
            ("alt", &self.alt),
            ("date", &self.date),
            ("place", &self.place),
            ("people", &self.people),
            ("subject", &self.subject),
            ("inscription", &self.inscription),
            ("format", &self.format),
            ("film", &self.film),
            ("batch", &self.batch),
            ("condition", &self.condition),
            ("rights", &self.rights),
            ("privacy", &self.privacy),
            ("note", &self.note),
            ("box", &self.box_name),
            ("sleeve", &self.sleeve),
        ];
        all.into_iter().filter_map(|(word, value)| Some((word, value.as_deref()?))).collect()
    }
}

/// Options of `pair`.
#[derive(Args, Debug)]
pub struct Pair {
    /// The frame, by its file's name or its number, as 17
    #[arg(value_name = "FRAME")]
    pub frame: String,
    /// The print it shows, as P0042
    #[arg(value_name = "PRINT")]
    pub print: String,
    /// Make it the frame that stands for the print
    #[arg(long)]
    pub front: bool,
    #[command(flatten)]
    pub project: In,
}

/// Options of `unpair`.
#[derive(Args, Debug)]
pub struct Unpair {
    /// The frame, by its file's name or its number, as 17
    #[arg(value_name = "FRAME")]
    pub frame: String,
    /// Make it a print of its own
    #[arg(long)]
    pub own: bool,
    #[command(flatten)]
    pub project: In,
}

/// Options of `edit`.
#[derive(Args, Debug)]
pub struct Edit {
    #[command(subcommand)]
    pub step: EditStep,
}

/// Options of `stack`.
#[derive(Args, Debug)]
pub struct Stack {
    #[command(subcommand)]
    pub step: StackStep,
}

/// What is done to stacks.
#[derive(Subcommand, Debug)]
pub enum StackStep {
    /// Lay prints on one another, with the stacks that they lie in; keeps a proposed stack
    Put {
        /// Prints, as P0042
        #[arg(required = true, num_args = 2..)]
        prints: Vec<String>,
        #[command(flatten)]
        project: In,
    },
    /// Lift prints out of their stacks; they are not proposed again
    Lift {
        /// Prints, as P0042
        #[arg(required = true)]
        prints: Vec<String>,
        #[command(flatten)]
        project: In,
    },
    /// Propose stacks of prints that show one scene twice
    Propose {
        #[command(flatten)]
        project: In,
    },
}

/// Kinds of edit.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum KindWord {
    /// Worth considering
    Wide,
    /// In the book
    Tight,
    /// In their order
    Sequence,
}

impl KindWord {
    /// As the catalogue writes it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Wide => "wide",
            Self::Tight => "tight",
            Self::Sequence => "sequence",
        }
    }
}

/// What is done to an edit.
#[derive(Subcommand, Debug)]
pub enum EditStep {
    /// Put prints into an edit, made if it is not there
    Add {
        /// The edit's name
        name: String,
        /// Prints, as P0042
        #[arg(required = true)]
        prints: Vec<String>,
        /// Before the print that is in this place now, from 1; at the end unless said
        #[arg(long, value_name = "PLACE", value_parser = clap::value_parser!(u32).range(1..))]
        at: Option<u32>,
        /// The kind of a new edit
        #[arg(long, value_enum)]
        kind: Option<KindWord>,
        #[command(flatten)]
        project: In,
    },
    /// Take prints out of an edit
    Remove {
        /// The edit's name
        name: String,
        /// Prints, as P0042
        #[arg(required = true)]
        prints: Vec<String>,
        #[command(flatten)]
        project: In,
    },
    /// Move a print of an edit to a place
    Move {
        /// The edit's name
        name: String,
        /// The print, as P0042
        print: String,
        /// The place it gets, from 1
        #[arg(value_parser = clap::value_parser!(u32).range(1..))]
        place: u32,
        #[command(flatten)]
        project: In,
    },
    /// Give an edit exactly these prints in this order
    Order {
        /// The edit's name
        name: String,
        /// Prints, as P0042
        #[arg(required = true)]
        prints: Vec<String>,
        #[command(flatten)]
        project: In,
    },
    /// Give an edit another name
    Rename {
        /// The edit's name
        name: String,
        /// Its new name
        to: String,
        #[command(flatten)]
        project: In,
    },
    /// Take an edit away; its prints stay
    Drop {
        /// The edit's name
        name: String,
        #[command(flatten)]
        project: In,
    },
}

/// Options of `undo`.
#[derive(Args, Debug)]
pub struct Undo {
    /// Do again what was undone last
    #[arg(long)]
    pub redo: bool,
    #[command(flatten)]
    pub project: In,
}

/// Options of `backup`.
#[derive(Args, Debug)]
pub struct Backup {
    /// The file to write; the next number in the project's backups unless said
    #[arg(long, value_name = "FILE")]
    pub to: Option<PathBuf>,
    /// Check the catalogue as well, from end to end
    #[arg(long)]
    pub check: bool,
    #[command(flatten)]
    pub project: In,
}

/// Options of `rebuild`.
#[derive(Args, Debug)]
pub struct Rebuild {
    #[command(flatten)]
    pub project: In,
}
