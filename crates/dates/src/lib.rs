//! Dates as people write them ("summer 2009?", "14.7.2009", "before 2001"), understood as EDTF.
//!
//! Everything is read that has one meaning; what has several ("03/04/2005") is asked, with the meanings to choose from. EDTF itself
//! is read as it stands. Written forms: the Library of Congress's EDTF specification (4 February 2019), level 1; a season with a mark
//! of doubt is written as that text allows. Decades with a mark become an interval of years, because no level has another form.

mod calendar;
mod edtf;
mod meaning;
mod parse;
mod says;
mod tokens;

pub use edtf::{Edtf, EdtfError, OPEN_FROM, OPEN_TO, day_text};
pub use says::says;

/// A date understood.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reading {
    /// The date.
    pub edtf: Edtf,
    /// The same in words: "summer 2009, perhaps".
    pub says: String,
}

/// What a text says about a date.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Understood {
    /// Nothing is written.
    Nothing,
    /// It has one meaning.
    Date(Reading),
    /// It has several meanings: a sentence, and what can be chosen.
    Ask(String, Vec<Reading>),
    /// It is not understood: a sentence says why, and what would be.
    No(String),
}

/// Examples for a message.
const EXAMPLES: &str =
    "Write for example July 2009, 14.7.2009, summer 2009?, about 2009, 1990s, 1998–2004, before 2001, or EDTF.";

/// The year now, to know what '98 can mean.
pub fn this_year() -> i64 {
    let since = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).unwrap_or_default();
    crate::edtf::civil((since.as_secs() / 86_400) as i64).0
}

/// Reads a date as a person writes it. `this_year` is the latest year that two figures can mean.
///
/// ```
/// use dates::{Understood, understand};
/// let Understood::Date(read) = understand("summer 2009?", 2026) else { panic!() };
/// assert_eq!((read.edtf.text(), read.says.as_str()), ("2009-22?", "summer 2009, perhaps"));
/// assert!(matches!(understand("03/04/2005", 2026), Understood::Ask(..)));
/// ```
pub fn understand(text: &str, this_year: i64) -> Understood {
    let text = text.trim();
    if text.is_empty() {
        return Understood::Nothing;
    }
    // People write 200x as well as 200X.
    if let Ok(edtf) = Edtf::parse(text).or_else(|_| Edtf::parse(&text.to_uppercase())) {
        return Understood::Date(reading(edtf));
    }
    let (found, why) = parse::meanings(text, this_year);
    let mut readings: Vec<Reading> = vec![];
    for edtf in found.iter().filter_map(|f| Edtf::parse(f).ok()) {
        if !readings.iter().any(|r| r.edtf == edtf) {
            readings.push(reading(edtf));
        }
    }
    match readings.len() {
        0 => {
            Understood::No(why.unwrap_or_else(|| format!("“{}” is not understood as a date. {EXAMPLES}", short(text))))
        }
        1 => Understood::Date(readings.remove(0)),
        _ => {
            let all: Vec<&str> = readings.iter().map(|r| r.says.as_str()).collect();
            Understood::Ask(format!("“{}” can be {}.", short(text), any_of(&all)), readings)
        }
    }
}

/// What `understand` gives for a command or a field that wants one date or none: the date and the words as written, where they are
/// not the date itself.
///
/// # Errors
/// It is not understood, or has several meanings; a sentence says which.
pub fn one(text: &str, this_year: i64) -> Result<Option<Edtf>, String> {
    match understand(text, this_year) {
        Understood::Nothing => Ok(None),
        Understood::Date(read) => Ok(Some(read.edtf)),
        Understood::No(says) => Err(says),
        Understood::Ask(says, all) => {
            let all: Vec<&str> = all.iter().map(|r| r.edtf.text()).collect();
            Err(format!("{says} Write {}.", any_of(&all)))
        }
    }
}

/// Words of a message: "a, b or c".
///
/// ```
/// assert_eq!(dates::any_of(&["open", "ask", "private"]), "open, ask or private");
/// ```
pub fn any_of(words: &[&str]) -> String {
    match words {
        [most @ .., last] if !most.is_empty() => format!("{} or {last}", most.join(", ")),
        _ => words.join(""),
    }
}

fn reading(edtf: Edtf) -> Reading {
    let says = says(edtf.text());
    Reading { edtf, says }
}

/// The beginning of a text, for a message.
fn short(text: &str) -> String {
    // A line of a terminal holds so much beside the sentence around it.
    const MOST: usize = 40;
    let start: String = text.chars().take(MOST).collect();
    if start.len() < text.len() { format!("{start}…") } else { start }
}

#[cfg(test)]
mod tests;
