//! Options that share and gallery have in common: which prints, and which of their words may be published.

use clap::{ArgGroup, Args};
use handoff::selection::Which;
use handoff::share::privacy::{Allow, Word};
use std::path::PathBuf;

/// The project or folder, and which of its prints to hand on.
#[derive(Args, Debug)]
#[command(group = ArgGroup::new("which").required(true).args(["edit", "find", "all"]))]
pub struct Prints {
    /// A project, or a folder of results
    #[arg(long = "in", value_name = "DIR", default_value = ".")]
    pub folder: PathBuf,
    #[command(flatten)]
    pub chosen: Chosen,
    #[command(flatten)]
    pub shadow_light: super::ShadowIn,
}

/// Which prints.
#[derive(Args, Debug)]
pub struct Chosen {
    /// The prints of an edit, in its order
    #[arg(long, value_name = "NAME")]
    pub edit: Option<String>,
    /// The prints that a search finds
    #[arg(long, value_name = "LINE", conflicts_with = "edit")]
    pub find: Option<String>,
    /// All prints
    #[arg(long, conflicts_with_all = ["edit", "find"])]
    pub all: bool,
}

impl Chosen {
    /// The selection for these options.
    pub fn which(&self) -> Which {
        match (&self.edit, &self.find) {
            (Some(name), _) => Which::Edit(name.clone()),
            (_, Some(line)) => Which::Found(line.clone()),
            _ => Which::All,
        }
    }
}

/// Which words may be published.
#[derive(Args, Debug)]
pub struct Said {
    /// Fields to publish, separated by commas: title, alt, date, place, people, subject, inscription, film, rights, note
    #[arg(long, value_name = "WORDS", value_delimiter = ',', value_parser = Word::parse,
          default_value = "title,alt,date,place,people,subject,film,rights")]
    pub keep: Vec<Word>,
    /// I have permission: also publish people and place of prints marked “ask”
    #[arg(long)]
    pub asked: bool,
}

impl Said {
    /// What these options allow.
    pub fn allow(&self) -> Allow {
        Allow { keep: self.keep.clone(), asked: self.asked }
    }
}
