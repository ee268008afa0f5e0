//! Parses the search line: words, and words after a field name.
//!
//! `harbour people:ada date:2009..2012 film:"black and white" verdict:look -private`. Every part must match; a minus before a
//! part excludes what it finds. Words match from their beginning, so that a line can be searched while it is typed;
//! in quotation marks they must match as a complete phrase.

use crate::edtf::{Edtf, OPEN_FROM, OPEN_TO};
use crate::error::{Error, Result};
use crate::fact::FACTS;
use crate::kinds::PrintId;

/// A search line understood.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Query {
    /// Its parts.
    pub parts: Vec<Part>,
}

/// One part of a search line.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Part {
    /// True where what it finds is taken away.
    pub not: bool,
    /// What it asks.
    pub asks: Asks,
}

/// What a part asks.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Asks {
    /// Words, in one field or any.
    Words {
        /// The column of words; `None` for any.
        column: Option<&'static str>,
        /// The words.
        text: String,
        /// True where they must stand together and whole.
        whole: bool,
    },
    /// The date's days meet these days.
    Days(i64, i64),
    /// A value that must be equal or begin so.
    Value(Field, String),
    /// The print's own number.
    Number(PrintId),
    /// A field that says something, or nothing.
    Says(Field, bool),
}

/// A field of the search line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Field {
    /// A column of words.
    Words(&'static str),
    /// The date exposed.
    Date,
    /// The date digitised.
    Digitised,
    /// The format.
    Format,
    /// The front's verdict.
    Verdict,
    /// A finding's code, on any frame.
    Finding,
    /// Privacy.
    Privacy,
    /// An edit's name or kind.
    Edit,
    /// none, blank or back.
    Back,
    /// A stack's number.
    Stack,
    /// The number.
    Id,
    /// Has: a field says something.
    Has,
    /// Lacks: a field says nothing.
    Lacks,
}

/// The fields by their words, with what may follow: those of the index of words first.
pub fn fields() -> impl Iterator<Item = (&'static str, Field, &'static str)> {
    let words = FACTS.iter().filter_map(|l| Some((l.word, Field::Words(l.word), l.search?)));
    words.chain(OTHERS.iter().copied())
}

/// The fields that are searched by rules of their own.
const OTHERS: &[(&str, Field, &str)] = &[
    ("frame", Field::Words("frame"), "a file's name"),
    ("date", Field::Date, "an EDTF date, or from..to"),
    ("digitised", Field::Digitised, "a date, or from..to"),
    ("format", Field::Format, "a print format"),
    ("verdict", Field::Verdict, "keep, look or reshoot"),
    ("finding", Field::Finding, "a code, such as veil"),
    ("privacy", Field::Privacy, "open, ask or private"),
    ("edit", Field::Edit, "its name or kind"),
    ("back", Field::Back, "none, blank or back"),
    ("stack", Field::Stack, "a stack's number, from fallside list stacks"),
    ("id", Field::Id, "a print number, such as P0042"),
    ("has", Field::Has, "a field that is not empty"),
];

impl Query {
    /// Understands a search line.
    ///
    /// ```
    /// use catalogue::Query;
    /// assert_eq!(Query::parse("place:harbour date:2009..2012 -verdict:reshoot").unwrap().parts.len(), 3);
    /// assert!(Query::parse("colour:red").is_err());
    /// ```
    ///
    /// # Errors
    /// A field is not known, or a date is none; the error says what would do.
    pub fn parse(line: &str) -> Result<Self> {
        let parts = split(line).into_iter().filter_map(|t| part(t).transpose()).collect::<Result<_>>()?;
        Ok(Self { parts })
    }
}

/// A part as written: a minus, a field, a text, quotation marks.
#[derive(Debug, Default, PartialEq)]
struct Token {
    not: bool,
    field: Option<String>,
    text: String,
    whole: bool,
}

/// Splits at spaces outside quotation marks. An open quotation ends with the line, because somebody may still be typing.
fn split(line: &str) -> Vec<Token> {
    let mut tokens = vec![];
    let mut chars = line.chars().peekable();
    loop {
        while chars.next_if(|c| c.is_whitespace()).is_some() {}
        if chars.peek().is_none() {
            return tokens;
        }
        let mut token = Token { not: chars.next_if_eq(&'-').is_some(), ..Token::default() };
        while let Some(c) = chars.next_if(|c| !c.is_whitespace()) {
            match c {
                '"' | '“' | '”' | '„' => {
                    token.whole = true;
                    for c in chars.by_ref().take_while(|c| !['"', '“', '”'].contains(c)) {
                        token.text.push(c);
                    }
                    break;
                }
                ':' if token.field.is_none() && is_word(&token.text) => {
                    token.field = Some(std::mem::take(&mut token.text));
                }
                c => token.text.push(c),
            }
        }
        tokens.push(token);
    }
}

/// A field's name is letters only, so that 10:30 is a word.
fn is_word(text: &str) -> bool {
    !text.is_empty() && text.chars().all(char::is_alphabetic)
}

fn part(token: Token) -> Result<Option<Part>> {
    let Token { not, field, text, whole } = token;
    let asks = match field {
        None if text.trim().is_empty() => return Ok(None),
        None if is_number(&text) && !whole => Asks::Number(number(&text)?),
        None => Asks::Words { column: None, text, whole },
        Some(name) => {
            let field = field_of(&name)?;
            // A field without a value yet: somebody may still be typing.
            if text.trim().is_empty() && !whole {
                return Ok(None);
            }
            asks(field, &text, whole)?
        }
    };
    Ok(Some(Part { not, asks }))
}

/// A print's number. One of more digits than any print has is none's, and finds nothing.
fn number(text: &str) -> Result<PrintId> {
    let digits = text.trim().trim_start_matches(['P', 'p']);
    match digits.len() > 12 && digits.bytes().all(|b| b.is_ascii_digit()) {
        true => Ok(PrintId(i64::MAX)),
        false => text.parse(),
    }
}

/// `P0042`: a number with its letter is meant as one.
fn is_number(text: &str) -> bool {
    text.len() > 1 && text.starts_with(['P', 'p']) && text[1..].bytes().all(|b| b.is_ascii_digit())
}

fn asks(field: Field, text: &str, whole: bool) -> Result<Asks> {
    let value = text.trim().to_lowercase();
    Ok(match field {
        Field::Words(column) => Asks::Words { column: Some(column), text: text.to_owned(), whole },
        Field::Date => {
            let (from, to) = days(text)?;
            Asks::Days(from, to)
        }
        Field::Digitised => {
            let (from, to) = days(text)?;
            Asks::Value(Field::Digitised, format!("{} {}", bound(from), bound(to)))
        }
        Field::Id => Asks::Number(number(text)?),
        Field::Has | Field::Lacks => match field_of(&value)? {
            Field::Has | Field::Lacks | Field::Id => {
                return Err(Error::refused(format!("“{value}” is not a field that can be empty.")));
            }
            inner => Asks::Says(inner, field == Field::Has),
        },
        Field::Verdict => among(field, value, &["keep", "look", "reshoot"], "A verdict")?,
        Field::Privacy => among(field, value, &crate::fact::PRIVACY, "Privacy")?,
        Field::Back => among(field, value, &["none", "blank", "back"], "A back")?,
        Field::Format | Field::Finding | Field::Edit | Field::Stack => Asks::Value(field, value),
    })
}

/// One of a few known values, or the beginning of one, because somebody may still be typing.
fn among(field: Field, value: String, known: &[&str], what: &str) -> Result<Asks> {
    if known.iter().any(|k| k.starts_with(&value)) {
        return Ok(Asks::Value(field, value));
    }
    Err(Error::refused(format!("{what} is {}, not “{value}”.", crate::query::or(known))))
}

pub(crate) fn or(words: &[&str]) -> String {
    match words {
        [most @ .., last] if !most.is_empty() => format!("{} or {last}", most.join(", ")),
        _ => words.join(""),
    }
}

/// The field of a word; `lacks` is the other side of `has`.
fn field_of(name: &str) -> Result<Field> {
    let name = name.to_lowercase();
    if name == "lacks" {
        return Ok(Field::Lacks);
    }
    if let Some((_, field, _)) = fields().find(|(word, ..)| *word == name) {
        return Ok(field);
    }
    let words: Vec<&str> = fields().map(|(word, ..)| word).chain(["lacks"]).collect();
    let near = words.iter().map(|w| (distance(w, &name), *w)).min().filter(|(d, _)| *d <= 2);
    let near = near.map(|(_, w)| format!(" Did you mean {w}:?")).unwrap_or_default();
    Err(Error::refused(format!("There is no field “{name}:”.{near} Fields: {}.", words.join(", "))))
}

/// Letters to insert, leave out or change to make one word the other (Levenshtein 1966, from memory).
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.chars().enumerate() {
        let mut corner = row[0];
        row[0] = i + 1;
        for (j, cb) in b.iter().enumerate() {
            let change = corner + usize::from(ca != *cb);
            corner = row[j + 1];
            row[j + 1] = change.min(corner + 1).min(row[j] + 1);
        }
    }
    row[b.len()]
}

/// The days of an EDTF date, or of `from..to` where either may be missing.
fn days(text: &str) -> Result<(i64, i64)> {
    let text = text.trim();
    let one = |t: &str| Edtf::parse(t).map(|d| d.days());
    if text.contains('/') {
        return Ok(one(text)?);
    }
    match text.split_once("..") {
        None => Ok(one(text)?),
        Some((from, to)) => {
            let from = if from.is_empty() { OPEN_FROM } else { one(from)?.0 };
            let to = if to.is_empty() { OPEN_TO } else { one(to)?.1 };
            Ok((from, to))
        }
    }
}

/// A day as text that sorts as the dates of frames do.
fn bound(day: i64) -> String {
    match day {
        OPEN_FROM => "0000".into(),
        OPEN_TO => "9999-99".into(),
        day => crate::edtf::day_text(day),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn asks_of(line: &str) -> Vec<Asks> {
        Query::parse(line).unwrap().parts.into_iter().map(|p| p.asks).collect()
    }

    fn words(column: Option<&'static str>, text: &str, whole: bool) -> Asks {
        Asks::Words { column, text: text.into(), whole }
    }

    #[test]
    fn the_issues_own_line_is_understood() {
        let asks = asks_of(r#"place:harbour date:2009..2012 film:"bw" verdict:look"#);
        assert_eq!(asks[0], words(Some("place"), "harbour", false));
        assert_eq!(asks[1], Asks::Days(Edtf::parse("2009").unwrap().days().0, Edtf::parse("2012").unwrap().days().1));
        assert_eq!(asks[2], words(Some("film"), "bw", true));
        assert_eq!(asks[3], Asks::Value(Field::Verdict, "look".into()));
    }

    #[test]
    fn words_minus_numbers_and_quotation_marks() {
        assert_eq!(asks_of("the harbour"), [words(None, "the", false), words(None, "harbour", false)]);
        assert!(Query::parse("-harbour").unwrap().parts[0].not);
        assert_eq!(asks_of("P0042"), [Asks::Number(PrintId(42))]);
        assert_eq!(asks_of("\"P0042\""), [words(None, "P0042", true)]);
        assert_eq!(asks_of("10:30"), [words(None, "10:30", false)]);
        assert_eq!(
            asks_of("lacks:place has:date"),
            [Asks::Says(Field::Words("place"), false), Asks::Says(Field::Date, true)]
        );
    }

    #[test]
    fn a_line_half_typed_is_no_error() {
        assert_eq!(asks_of("place:"), []);
        assert_eq!(
            asks_of("place:har film:\"black an"),
            [words(Some("place"), "har", false), words(Some("film"), "black an", true)]
        );
        assert_eq!(asks_of("verdict:lo"), [Asks::Value(Field::Verdict, "lo".into())]);
    }

    #[test]
    fn an_unknown_field_is_told_with_the_nearest() {
        let error = Query::parse("plaice:harbour").unwrap_err().to_string();
        assert!(
            error.contains("“plaice:”") && error.contains("Did you mean place:") && error.contains("sleeve"),
            "{error}"
        );
        let error = Query::parse("colour:red").unwrap_err().to_string();
        assert!(!error.contains("Did you mean") && error.contains("Fields: title,"), "{error}");
        assert!(Query::parse("date:soon").unwrap_err().to_string().contains("2009-07"));
        assert!(Query::parse("verdict:good").unwrap_err().to_string().contains("keep, look or reshoot"));
        assert!(Query::parse("lacks:id").is_err());
    }

    #[test]
    fn distances_of_words() {
        // The customary example.
        assert_eq!(distance("kitten", "sitting"), 3);
        assert_eq!(distance("", "abc"), 3);
        assert_eq!(distance("place", "place"), 0);
    }

    proptest! {
        #[test]
        fn no_line_makes_it_fall_over(line in "\\PC{0,40}") {
            let _ = Query::parse(&line);
        }
    }
}
