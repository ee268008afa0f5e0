//! Words that share and gallery have in common: which prints, and what may be said of them.

use clap::{ArgGroup, Args};
use handoff::selection::Which;
use handoff::share::allow::{Allow, Word};
use std::path::PathBuf;

/// Where the prints are that are handed on, and which.
#[derive(Args, Debug)]
#[command(group = ArgGroup::new("which").required(true).args(["edit", "find", "all"]))]
pub struct Prints {
    /// A project, or a folder of results
    #[arg(long = "in", value_name = "DIR", default_value = ".")]
    pub folder: PathBuf,
    #[command(flatten)]
    pub chosen: Chosen,
}

/// Which prints.
#[derive(Args, Debug)]
pub struct Chosen {
    /// The prints of an edit, in its order
    #[arg(long, value_name = "NAME")]
    pub edit: Option<String>,
    /// The prints a line of search finds
    #[arg(long, value_name = "LINE", conflicts_with = "edit")]
    pub find: Option<String>,
    /// All prints
    #[arg(long, conflicts_with_all = ["edit", "find"])]
    pub all: bool,
}

impl Chosen {
    /// Which these words mean.
    pub fn which(&self) -> Which {
        match (&self.edit, &self.find) {
            (Some(name), _) => Which::Edit(name.clone()),
            (_, Some(line)) => Which::Found(line.clone()),
            _ => Which::All,
        }
    }
}

/// Which words go out.
#[derive(Args, Debug)]
pub struct Said {
    /// Words that may go out, a comma between them: title, alt, date, place, people, subject, inscription, film, rights, note
    #[arg(long, value_name = "WORDS", value_delimiter = ',', value_parser = Word::parse,
          default_value = "title,alt,date,place,people,subject,film,rights")]
    pub keep: Vec<Word>,
    /// I have asked: people and place of prints marked “ask” may go out too
    #[arg(long)]
    pub asked: bool,
}

impl Said {
    /// What these words allow.
    pub fn allow(&self) -> Allow {
        Allow { keep: self.keep.clone(), asked: self.asked }
    }
}
