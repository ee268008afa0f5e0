//! Options of the commands on a project: take, list, find, describe, pair, unpair, edit, undo, redo, rebuild, backup, check.

use super::AimWord;
use base::wording::capital;
use clap::{Arg, ArgMatches, Args, Command, FromArgMatches, Subcommand, ValueEnum};
use finish::recipe::Settings;
use project::Take as Request;
use project::catalogue::{FACTS, FactLine, Order, fields};
use std::path::PathBuf;

pub const TAKE: &str = "\
Take frames into a project: finish them into its folder and add them to its catalogue.

The project is a folder, created if missing. Originals stay where they are and are identified by path and hash; --copy copies \
them into the project. Each frame is finished as by `fallside finish`. A front becomes a new print, unless it shows a print \
that is already there: then it is a reshoot. A second exposure of the same scene is another print. A back goes with the front \
before it. Known frames are left alone, so the same card can be taken again, and an interrupted take continues where it \
stopped.";

pub const TAKE_EXAMPLE: &str = "\
Example: one evening's card, from the third box, sleeve 12:

    fallside take /media/card --in ~/instant-archive --box \"Shoebox 3\" --sleeve 12

    F0009.jpg  P0004  reshoot  The print is overexposed by 0.8 stop.
    F0011.jpg  P0005  back: it follows F0010.dng and has its size

Exit codes: 0 all frames are taken; 1 some failed, each with a line that says why; 2 nothing was taken.";

/// The help of `find`.
pub fn find() -> String {
    let names: Vec<&str> = fields().map(|f| f.0).chain(["lacks"]).collect();
    format!(
        "Find prints by words and fields.

Words match from their beginning; accents and capitals are ignored. A word on its own also finds what it can mean: a date (2009, \
summer 2009), a verdict (reshoot), a format (square). Put a field name before a colon: {}. Quotation marks keep words together. OR \
between two parts finds either. A minus excludes what follows it; put -- first, as in the example. With --save, the search is kept by a \
name, and saved:NAME finds it again.",
        names.join(", ")
    )
}

pub const FIND_EXAMPLE: &str = "\
Examples:

    fallside find harbour
    fallside find place:harbour date:2009..2012 'film:\"black and white\"' verdict:look
    fallside find -- lacks:place -privacy:private
    fallside find summer 2009 OR 'not yet described' colour:red --save 'to do'
    fallside find saved:to";

pub const DESCRIBE: &str = "\
Describe prints: set one or several fields of one or several prints. An empty value clears the field. Without any field, the \
prints are shown.

Write dates as you say them: 14.7.2009, July 2009, 'summer 2009?', about 2009, 1990s, early 1990s, 1998-2004, '98, Christmas 2003, \
before 2001, between 1998 and 2004. They are kept as EDTF (ISO 8601-2), with your words beside them; EDTF itself works too. A date \
that can mean two things, such as 03/04/2005, is asked about. A value that is not understood is left out with a line that says why, \
and the other fields are written; --table does the same for each row of a table.";

pub const PRIVACY_HELP: &str = "\
Decide once for a project what it means that a print says nothing of who may see it: open, ask or private. Until then, such prints are \
handed on without names and places. Without a word, the decision is shown.";

pub const PRIVACY_EXAMPLE: &str = "\
Example:

    fallside privacy open --in ~/instant-archive";

pub const DESCRIBE_EXAMPLE: &str = "\
Example:

    fallside describe P0004 P0005 --date '2009-07?' --place 'The harbour' --people 'Ada; Bo'";

/// The project that a command works on.
#[derive(Args, Debug)]
pub struct In {
    /// The project's folder
    #[arg(long = "in", value_name = "DIR", default_value = ".")]
    pub folder: PathBuf,
    /// Print the result as JSON
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
    /// Box that holds the prints
    #[arg(long = "box", value_name = "NAME", default_value = "")]
    pub box_name: String,
    /// Sleeve in the box
    #[arg(long, value_name = "NAME", default_value = "", requires = "box_name")]
    pub sleeve: String,
    /// Intended use of the prints; sets the limits for the verdict
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
    /// Reference values of the chart: CGATS.17 or a plain table
    #[arg(long, value_name = "FILE")]
    pub chart_values: Option<PathBuf>,
    /// Treat each frame as one print, whatever else it shows
    #[arg(long)]
    pub one: bool,
    /// Memory limit for frames in progress, MB
    #[arg(long, value_name = "MB", value_parser = clap::value_parser!(u64).range(100..))]
    pub memory: Option<u64>,
}

impl Take {
    /// The request for these options.
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
            part_of: None,
            stop: project::Stop::default(),
        }
    }
}

/// What `list` lists.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum ListWord {
    /// Every print
    Prints,
    /// Frames without a print that should have one
    Loose,
    /// Every frame
    Frames,
    /// Boxes and sleeves
    Boxes,
    /// Sittings
    Sittings,
    /// Edits with their prints
    Edits,
    /// Stacks with their prints
    Stacks,
    /// What was handed on: shares, galleries, books, archives
    HandOffs,
    /// Searches kept by name
    Searches,
    /// Changes, the latest first
    History,
}

/// Orders of prints.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum OrderWord {
    /// By number
    Number,
    /// By date of exposure
    Date,
    /// By box and sleeve
    Box,
    /// By format
    Format,
    /// Reshoot first
    Verdict,
    /// By place
    Place,
    /// By date of digitisation
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
    /// Order of prints
    #[arg(long, value_enum, default_value = "number")]
    pub order: OrderWord,
    #[command(flatten)]
    pub project: In,
}

/// Options of `find`.
#[derive(Args, Debug)]
pub struct Find {
    /// What to search for: words and fields
    #[arg(required = true, value_name = "WORDS")]
    pub line: Vec<String>,
    /// Keep this search by a name
    #[arg(long, value_name = "NAME")]
    pub save: Option<String>,
    /// Order of the prints
    #[arg(long, value_enum, default_value = "number")]
    pub order: OrderWord,
    #[command(flatten)]
    pub project: In,
}

/// Options of `describe`.
#[derive(Args, Debug)]
pub struct Describe {
    /// Print numbers, such as P0042
    #[arg(required_unless_present = "table", value_name = "PRINTS")]
    pub prints: Vec<String>,
    /// A table with one row per print: CSV whose first row names the columns, `print` and fields
    #[arg(long, value_name = "FILE", conflicts_with = "prints")]
    pub table: Option<PathBuf>,
    /// Add the given people or subjects to those that are there, instead of replacing them
    #[arg(long, conflicts_with = "remove")]
    pub add: bool,
    /// Remove the given people or subjects, and leave the others
    #[arg(long)]
    pub remove: bool,
    #[command(flatten)]
    pub facts: FactWords,
    #[command(flatten)]
    pub project: In,
}

/// One option for each field of the catalogue.
#[derive(Debug)]
pub struct FactWords(Vec<(&'static str, String)>);

impl FactWords {
    /// The given fields by name, the box before the sleeve.
    pub fn said(&self) -> Vec<(&'static str, &str)> {
        self.0.iter().map(|(word, value)| (*word, value.as_str())).collect()
    }
}

impl Args for FactWords {
    fn augment_args(command: Command) -> Command {
        FACTS
            .iter()
            .fold(command, |c, l| c.arg(Arg::new(l.word).long(l.word).value_name(l.value_name).help(capital(l.help))))
    }
    fn augment_args_for_update(command: Command) -> Command {
        Self::augment_args(command)
    }
}

impl FromArgMatches for FactWords {
    fn from_arg_matches(found: &ArgMatches) -> Result<Self, clap::Error> {
        let said = |l: &FactLine| Some((l.word, found.get_one::<String>(l.word)?.clone()));
        Ok(Self(FACTS.iter().filter_map(said).collect()))
    }
    fn update_from_arg_matches(&mut self, found: &ArgMatches) -> Result<(), clap::Error> {
        *self = Self::from_arg_matches(found)?;
        Ok(())
    }
}

/// Options of `privacy`.
#[derive(Args, Debug)]
pub struct Privacy {
    /// What it means: open, ask or private
    #[arg(value_name = "WORD", value_parser = ["open", "ask", "private"])]
    pub word: Option<String>,
    #[command(flatten)]
    pub project: In,
}

/// Options of `pair`.
#[derive(Args, Debug)]
pub struct Pair {
    /// Frame: its file name or number, such as 17
    #[arg(value_name = "FRAME")]
    pub frame: String,
    /// The print it shows, such as P0042
    #[arg(value_name = "PRINT")]
    pub print: String,
    /// Make it the chosen frame of the print
    #[arg(long)]
    pub front: bool,
    #[command(flatten)]
    pub project: In,
}

/// Options of `unpair`.
#[derive(Args, Debug)]
pub struct Unpair {
    /// Frame: its file name or number, such as 17
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

pub const LIGHT: &str = "\
Name lights of a project, for --light of share, gallery, book and mend. Without a name, the project's lights are listed; with a name \
and three numbers, that light gets the name; --delete removes it. What was finished by a light keeps its numbers.";

pub const LIGHT_EXAMPLE: &str = "\
Example: a tall window at the upper left, and a gallery lit by it:

    fallside light window 215,35,20
    fallside gallery --all --light window --title \"Prints\" --out wall";

/// Options of `light`.
#[derive(Args, Debug)]
pub struct Light {
    /// Name of the light
    #[arg(value_name = "NAME")]
    pub name: Option<String>,
    /// Where it stands: azimuth (0 right, 90 below, 180 left, 270 above), height above the bed, width of its face, in degrees
    #[arg(value_name = "AZ,EL,SIZE", requires = "name", allow_hyphen_values = true)]
    pub light: Option<String>,
    /// Delete the name
    #[arg(long, requires = "name", conflicts_with = "light")]
    pub delete: bool,
    #[command(flatten)]
    pub project: In,
}

/// Options of `stack`.
#[derive(Args, Debug)]
pub struct Stack {
    #[command(subcommand)]
    pub step: StackStep,
}

/// Changes to stacks.
#[derive(Subcommand, Debug)]
pub enum StackStep {
    /// Stack prints, together with the stacks they are in; confirms a proposed stack
    Put {
        /// Print numbers, such as P0042
        #[arg(required = true, num_args = 2..)]
        prints: Vec<String>,
        #[command(flatten)]
        project: In,
    },
    /// Remove prints from their stacks; they are not proposed again
    Lift {
        /// Print numbers, such as P0042
        #[arg(required = true)]
        prints: Vec<String>,
        #[command(flatten)]
        project: In,
    },
    /// Propose stacks of prints that show the same scene
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
    /// Ordered
    Sequence,
}

impl KindWord {
    /// The word in the catalogue.
    pub fn word(self) -> &'static str {
        match self {
            Self::Wide => "wide",
            Self::Tight => "tight",
            Self::Sequence => "sequence",
        }
    }
}

/// Changes to an edit.
#[derive(Subcommand, Debug)]
pub enum EditStep {
    /// Add prints to an edit, created if missing
    Add {
        /// The edit's name
        name: String,
        /// Print numbers, such as P0042
        #[arg(required = true)]
        prints: Vec<String>,
        /// Insert at this position, from 1 [default: at the end]
        #[arg(long, value_name = "PLACE", value_parser = clap::value_parser!(u32).range(1..))]
        at: Option<u32>,
        /// Kind of a new edit
        #[arg(long, value_enum)]
        kind: Option<KindWord>,
        #[command(flatten)]
        project: In,
    },
    /// Remove prints from an edit
    Remove {
        /// The edit's name
        name: String,
        /// Print numbers, such as P0042
        #[arg(required = true)]
        prints: Vec<String>,
        #[command(flatten)]
        project: In,
    },
    /// Move a print to another position in an edit
    Move {
        /// The edit's name
        name: String,
        /// Print number, such as P0042
        print: String,
        /// New position, from 1
        #[arg(value_parser = clap::value_parser!(u32).range(1..))]
        place: u32,
        #[command(flatten)]
        project: In,
    },
    /// Set the prints of an edit and their order
    Order {
        /// The edit's name
        name: String,
        /// Print numbers, such as P0042
        #[arg(required = true)]
        prints: Vec<String>,
        #[command(flatten)]
        project: In,
    },
    /// Rename an edit
    Rename {
        /// The edit's name
        name: String,
        /// Its new name
        to: String,
        #[command(flatten)]
        project: In,
    },
    /// Delete an edit; its prints stay
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
    /// Redo what was undone last
    #[arg(long)]
    pub redo: bool,
    #[command(flatten)]
    pub project: In,
}

/// Options of `backup`.
#[derive(Args, Debug)]
pub struct Backup {
    /// File to write [default: the next number in the project's backups]
    #[arg(long, value_name = "FILE")]
    pub to: Option<PathBuf>,
    /// Also check the whole catalogue for damage
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
