//! The fields of a print: one table that commands, search and sidecars use.

use crate::edtf::Edtf;
use crate::error::{Error, Result};
use schemars::JsonSchema;
use serde::Serialize;

/// A fact about a print, in people's words.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Fact {
    /// A short name.
    Title,
    /// What is seen, for who cannot see it.
    Alt,
    /// A print format's generic name.
    Format,
    /// The film, as its owner calls it.
    Film,
    /// The batch code on the back.
    Batch,
    /// When it was exposed, EDTF level 1.
    Exposed,
    /// Where.
    Place,
    /// Who is in it.
    People,
    /// What it shows, as keywords.
    Subject,
    /// What is written on it, word for word.
    Inscription,
    /// Its state.
    Condition,
    /// Who may use it.
    Rights,
    /// Who may see it: `open`, `ask` or `private`.
    Privacy,
    /// Anything else.
    Note,
    /// The box it lies in.
    Box,
    /// The sleeve in the box.
    Sleeve,
}

/// How a fact is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// Words.
    Words,
    /// Several words or names, a semicolon between them.
    List,
    /// An EDTF date.
    Date,
    /// One of a few words.
    Choice,
}

/// A fact's line in the table.
#[derive(Clone, Copy, Debug, Serialize, JsonSchema)]
pub struct FactLine {
    /// The fact.
    #[serde(skip)]
    pub fact: Fact,
    /// Its word, in commands, search and JSON.
    pub word: &'static str,
    /// How it is written.
    pub kind: Kind,
    /// What it is, for help.
    pub help: &'static str,
}

/// The words of privacy, the most open first.
pub const PRIVACY: [&str; 3] = ["open", "ask", "private"];

const fn line(fact: Fact, word: &'static str, kind: Kind, help: &'static str) -> FactLine {
    FactLine { fact, word, kind, help }
}

/// Every fact, in the order of a sheet.
pub const FACTS: [FactLine; 16] = [
    line(Fact::Title, "title", Kind::Words, "short title"),
    line(Fact::Alt, "alt", Kind::Words, "alt text: what the picture shows, for people who cannot see it"),
    line(Fact::Exposed, "date", Kind::Date, "date of exposure: 2009, 2009-07?, 200X, 2009-21, 2009/2011"),
    line(Fact::Place, "place", Kind::Words, "where"),
    line(Fact::People, "people", Kind::List, "people in the picture, separated by semicolons"),
    line(Fact::Subject, "subject", Kind::List, "subjects, separated by semicolons"),
    line(Fact::Inscription, "inscription", Kind::Words, "inscription, word for word"),
    line(Fact::Format, "format", Kind::Words, "print format"),
    line(Fact::Film, "film", Kind::Words, "film, in your own words"),
    line(Fact::Batch, "batch", Kind::Words, "batch code printed on the back"),
    line(Fact::Condition, "condition", Kind::Words, "condition: faded, cracked, stuck"),
    line(Fact::Rights, "rights", Kind::Words, "who may use it"),
    line(Fact::Privacy, "privacy", Kind::Choice, "who may see it: open, ask or private"),
    line(Fact::Note, "note", Kind::Words, "note"),
    line(Fact::Box, "box", Kind::Words, "box that holds it"),
    line(Fact::Sleeve, "sleeve", Kind::Words, "sleeve in the box"),
];

impl Fact {
    /// Its line in the table.
    pub fn line(self) -> &'static FactLine {
        // Every fact has a line: held by a test.
        FACTS.iter().find(|l| l.fact == self).unwrap_or(&FACTS[0])
    }
    /// Its word.
    pub fn word(self) -> &'static str {
        self.line().word
    }
    /// The fact of a word.
    ///
    /// # Errors
    /// There is no such fact; the error names those there are.
    pub fn of(word: &str) -> Result<Self> {
        let found = FACTS.iter().find(|l| l.word.eq_ignore_ascii_case(word));
        found.map(|l| l.fact).ok_or_else(|| {
            let all: Vec<&str> = FACTS.iter().map(|l| l.word).collect();
            Error::refused(format!("There is no field “{word}”. Fields are {}.", all.join(", ")))
        })
    }

    /// Its column in the table of prints; `None` for box and sleeve, which have tables of their own.
    pub(crate) fn column(self) -> Option<&'static str> {
        match self {
            Self::Exposed => Some("exposed"),
            Self::Box | Self::Sleeve => None,
            _ => Some(self.word()),
        }
    }

    /// The value as it is kept: trimmed, lists one to a line, dates and choices checked.
    pub(crate) fn checked(self, value: &str) -> Result<String> {
        // Carriage returns come from pasted text and mean nothing more than the line they end.
        let value = value.replace("\r\n", "\n").replace('\r', "\n");
        let value = value.trim();
        match self.line().kind {
            _ if value.is_empty() => Ok(String::new()),
            Kind::Words => Ok(value.to_owned()),
            Kind::List => Ok(list(value).join("\n")),
            Kind::Date => Ok(Edtf::parse(value)?.text().to_owned()),
            Kind::Choice => PRIVACY
                .iter()
                .find(|p| p.eq_ignore_ascii_case(value))
                .map(|p| (*p).to_owned())
                .ok_or_else(|| Error::refused(format!("Privacy is open, ask or private, not “{value}”."))),
        }
    }
}

/// The items of a list: split at semicolons and line ends, trimmed, without empty ones and repetitions.
pub fn list(value: &str) -> Vec<String> {
    let mut items: Vec<String> = vec![];
    for item in value.split([';', '\n']).map(str::trim).filter(|i| !i.is_empty()) {
        if !items.iter().any(|i| i == item) {
            items.push(item.to_owned());
        }
    }
    items
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_fact_has_one_line_and_one_word() {
        for l in &FACTS {
            assert_eq!(l.fact.line().word, l.word);
            assert_eq!(Fact::of(&l.word.to_uppercase()).unwrap(), l.fact);
        }
        let error = Fact::of("plaice").unwrap_err().to_string();
        assert!(error.contains("place") && error.contains("sleeve"), "{error}");
    }

    #[test]
    fn values_are_kept_clean() {
        assert_eq!(Fact::People.checked(" Ada ;Bo;; Ada\nCy").unwrap(), "Ada\nBo\nCy");
        assert_eq!(Fact::Privacy.checked("Ask").unwrap(), "ask");
        assert_eq!(Fact::Exposed.checked(" 2009-07? ").unwrap(), "2009-07?");
        assert!(Fact::Exposed.checked("summer").is_err() && Fact::Privacy.checked("secret").is_err());
        assert_eq!(Fact::Inscription.checked("line one\r\nline two ").unwrap(), "line one\nline two");
        assert_eq!(Fact::Exposed.checked("  ").unwrap(), "");
    }
}
