//! The fields of a print: one table that the catalogue, commands, search and sidecars use.

use crate::dates;
use crate::error::{Error, Result};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

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
    /// That date in the words of whoever wrote it, where they are not EDTF.
    Dated,
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

/// What is said of a print. Empty where nothing was said.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(default)]
pub struct Facts {
    /// A short name.
    pub title: String,
    /// What is seen, for who cannot see it.
    pub alt: String,
    /// A print format's generic name.
    pub format: String,
    /// The film, as its owner calls it.
    pub film: String,
    /// The code printed on the back.
    pub batch: String,
    /// When it was exposed, EDTF level 1.
    pub date: String,
    /// That date in the words of whoever wrote it, where they are not EDTF.
    pub dated: String,
    /// Where.
    pub place: String,
    /// Who is in it.
    pub people: Vec<String>,
    /// What it shows.
    pub subject: Vec<String>,
    /// What is written on it, word for word.
    pub inscription: String,
    /// Its state.
    pub condition: String,
    /// Who may use it.
    pub rights: String,
    /// `open`, `ask` or `private`.
    pub privacy: String,
    /// Anything else.
    pub note: String,
    /// The box it lies in.
    #[serde(rename = "box")]
    pub box_name: String,
    /// Its sleeve in the box.
    pub sleeve: String,
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
    /// What a command takes for it, such as `WORDS`.
    #[serde(skip)]
    pub value_name: &'static str,
    /// What may follow its word in a search, where it is a column of the index of words.
    #[serde(skip)]
    pub search: Option<&'static str>,
    /// Its property in our own namespace of a sidecar; `None` for those that have a place in a standard.
    #[serde(skip)]
    pub property: Option<&'static str>,
    #[serde(skip)]
    field: FieldAccess,
}

/// Reads and writes a field as the catalogue keeps it: a list one item to a line.
#[derive(Clone, Copy, Debug)]
struct FieldAccess {
    get: fn(&Facts) -> String,
    set: fn(&mut Facts, &str),
}

macro_rules! words {
    ($field:ident) => {
        FieldAccess { get: |f| f.$field.clone(), set: |f, text| text.clone_into(&mut f.$field) }
    };
}

macro_rules! items {
    ($field:ident) => {
        FieldAccess {
            get: |f| f.$field.join("\n"),
            set: |f, text| f.$field = text.lines().map(str::to_owned).collect(),
        }
    };
}

/// The words of privacy, the most open first.
pub const PRIVACY: [&str; 3] = ["open", "ask", "private"];

const fn line(fact: Fact, word: &'static str, kind: Kind, field: FieldAccess, help: &'static str) -> FactLine {
    FactLine { fact, word, kind, help, value_name: "WORDS", search: Some("words"), property: None, field }
}

impl FactLine {
    const fn takes(self, value_name: &'static str) -> Self {
        Self { value_name, ..self }
    }
    const fn search(self, search: &'static str) -> Self {
        Self { search: Some(search), ..self }
    }
    /// It is searched by its own rules (a date, a format, a choice), and not as words.
    const fn not_words(self) -> Self {
        Self { search: None, ..self }
    }
    const fn property(self, property: &'static str) -> Self {
        Self { property: Some(property), ..self }
    }
}

/// Every fact, in the order of a sheet. The box comes before its sleeve: a sleeve needs one.
pub const FACTS: &[FactLine] = {
    use Fact::*;
    use Kind::{Choice, Date, List, Words};
    &[
        line(Title, "title", Words, words!(title), "short title"),
        line(Alt, "alt", Words, words!(alt), "alt text: what the picture shows, for people who cannot see it"),
        line(
            Exposed,
            "date",
            Date,
            words!(date),
            "date of exposure: \"summer 2009?\", 14.7.2009, 1990s, \"before 2001\", or EDTF",
        )
        .takes("DATE")
        .not_words()
        .property("Date"),
        line(Dated, "dated", Words, words!(dated), "the date as written; set with --date, where it is not EDTF")
            .search("a word of the date as written")
            .property("Dated"),
        line(Place, "place", Words, words!(place), "where"),
        line(People, "people", List, items!(people), "people in the picture, separated by semicolons")
            .takes("NAMES")
            .search("names"),
        line(Subject, "subject", List, items!(subject), "subjects, separated by semicolons"),
        line(Inscription, "inscription", Words, words!(inscription), "inscription, word for word")
            .search("inscription")
            .property("Inscription"),
        line(Format, "format", Words, words!(format), "print format").takes("FORMAT").not_words().property("Format"),
        line(Film, "film", Words, words!(film), "film, in your own words").property("Film"),
        line(Batch, "batch", Words, words!(batch), "batch code printed on the back")
            .takes("CODE")
            .search("a code")
            .property("Batch"),
        line(Condition, "condition", Words, words!(condition), "condition: faded, cracked, stuck")
            .property("Condition"),
        line(Rights, "rights", Words, words!(rights), "who may use it"),
        line(Privacy, "privacy", Choice, words!(privacy), "who may see it: open, ask or private")
            .takes("WORD")
            .not_words()
            .property("Privacy"),
        line(Note, "note", Words, words!(note), "note").property("Note"),
        line(Box, "box", Words, words!(box_name), "box that holds it").takes("NAME").search("its name").property("Box"),
        line(Sleeve, "sleeve", Words, words!(sleeve), "sleeve in the box")
            .takes("NAME")
            .search("its name")
            .property("Sleeve"),
    ]
};

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
    /// ```
    /// use catalogue::Fact;
    /// assert_eq!(Fact::of("People").unwrap(), Fact::People);
    /// assert!(Fact::of("plaice").is_err());
    /// ```
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

    /// Its value in a query over `print p`, `box b` and `sleeve s`.
    pub(crate) fn sql(self) -> String {
        match self.column() {
            Some(column) => format!("p.{column}"),
            None => format!("COALESCE({}.name, '')", if self == Self::Box { "b" } else { "s" }),
        }
    }

    /// Whether a value may be said; gives it as it is kept.
    ///
    /// # Errors
    /// It is not as the fact must be.
    pub fn check(self, value: &str) -> Result<String> {
        self.checked(value)
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
            Kind::Date => match dates::one(value, dates::this_year()) {
                Ok(date) => Ok(date.map(|d| d.text().to_owned()).unwrap_or_default()),
                Err(says) => Err(Error::refused(says)),
            },
            Kind::Choice => PRIVACY
                .iter()
                .find(|p| p.eq_ignore_ascii_case(value))
                .map(|p| (*p).to_owned())
                .ok_or_else(|| Error::refused(format!("Privacy is open, ask or private, not “{value}”."))),
        }
    }
}

impl Facts {
    /// A fact as the catalogue keeps it: a list one item to a line.
    pub fn kept(&self, line: &FactLine) -> String {
        (line.field.get)(self)
    }

    /// Sets a fact from what the catalogue keeps.
    pub fn set_kept(&mut self, line: &FactLine, text: &str) {
        (line.field.set)(self, text);
    }

    /// Every fact with its value as it would be typed.
    pub fn pairs(&self) -> Vec<(Fact, String)> {
        let typed = |l: &FactLine| match l.kind {
            Kind::List => self.kept(l).replace('\n', "; "),
            Kind::Words | Kind::Date | Kind::Choice => self.kept(l),
        };
        FACTS.iter().map(|l| (l.fact, typed(l))).collect()
    }
}

/// The items of a list: split at semicolons and line ends, trimmed, without empty ones and repetitions.
///
/// ```
/// assert_eq!(catalogue::list(" Ada ;Bo;; Ada"), ["Ada", "Bo"]);
/// ```
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
        let mut facts = Facts::default();
        for l in FACTS {
            assert_eq!(l.fact.line().word, l.word);
            assert_eq!(Fact::of(&l.word.to_uppercase()).unwrap(), l.fact);
            facts.set_kept(l, l.word);
        }
        // Each has a field of its own.
        assert!(FACTS.iter().all(|l| facts.kept(l) == l.word), "{facts:?}");
        let error = Fact::of("plaice").unwrap_err().to_string();
        assert!(error.contains("place") && error.contains("sleeve"), "{error}");
    }

    #[test]
    fn values_are_kept_clean() {
        assert_eq!(Fact::People.checked(" Ada ;Bo;; Ada\nCy").unwrap(), "Ada\nBo\nCy");
        assert_eq!(Fact::Privacy.checked("Ask").unwrap(), "ask");
        assert_eq!(Fact::Exposed.checked(" 2009-07? ").unwrap(), "2009-07?");
        assert_eq!(Fact::Exposed.checked("summer 2009?").unwrap(), "2009-22?");
        assert!(Fact::Exposed.checked("summer").is_err() && Fact::Privacy.checked("secret").is_err());
        assert_eq!(Fact::Inscription.checked("line one\r\nline two ").unwrap(), "line one\nline two");
        assert_eq!(Fact::Exposed.checked("  ").unwrap(), "");
    }
}
