//! Parses the search line: words, and words after a field name.
//!
//! `harbour people:ada date:2009..2012 film:"black and white" verdict:look -private`. Every part must match; a minus before a
//! part excludes what it finds. Words match from their beginning, so that a line can be searched while it is typed;
//! in quotation marks they must match as a complete phrase. `OR` between two parts: either. A word on its own also finds what it
//! can mean: a date as people write it, a verdict, a format.

use crate::colour::Colour;
use crate::error::{Error, Result};
use crate::fact::FACTS;
use crate::kinds::PrintId;
use dates::{self, Understood};
use dates::{OPEN_FROM, OPEN_TO};

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
    /// Nobody has written what is seen on it, or when, where and who.
    Undescribed,
    /// A main colour near this one.
    Colour(Colour),
    /// A main colour near one of this print's.
    ColourOf(PrintId),
    /// A search kept by this name.
    Saved(String),
    /// At least one of these.
    Any(Vec<Part>),
    /// Each of these.
    All(Vec<Part>),
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
    /// The rig: a sitting's number, or its camera.
    Rig,
    /// Described or not.
    Is,
    /// A colour by name or code, or a print with such colours.
    Colour,
    /// A search kept by name.
    Saved,
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
    ("date", Field::Date, "a date as people write it, or from..to"),
    ("digitised", Field::Digitised, "a date, or from..to"),
    ("is", Field::Is, "described or undescribed"),
    ("colour", Field::Colour, "a colour's name, #1e3f5c, or a print whose colours are sought"),
    ("rig", Field::Rig, "a sitting's number, from fallside list sittings, or its camera"),
    ("saved", Field::Saved, "a search that was saved by this name"),
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
    /// assert!(Query::parse("weather:red").is_err());
    /// ```
    ///
    /// # Errors
    /// A field is not known, or a date is none; the error says what would do.
    pub fn parse(line: &str) -> Result<Self> {
        let mut tokens = split(line);
        let (mut groups, mut joined): (Vec<Vec<Part>>, bool) = (vec![], false);
        while !tokens.is_empty() {
            // Half typed, or doubled: it joins nothing yet.
            if tokens[0].is_or() {
                tokens.remove(0);
                joined = !groups.is_empty();
                continue;
            }
            let (found, taken) = phrase(&tokens)?;
            tokens.drain(..taken);
            let Some(part) = found else { continue };
            match groups.last_mut().filter(|_| joined) {
                Some(group) => group.push(part),
                None => groups.push(vec![part]),
            }
            joined = false;
        }
        // One question of the database holds so many safely, and nobody types more.
        if groups.iter().any(|g| g.len() > MOST_OR) {
            return Err(Error::refused(format!("At most {MOST_OR} parts can be joined with OR.")));
        }
        let any = |mut g: Vec<Part>| match g.len() {
            1 => g.remove(0),
            _ => Part { not: false, asks: Asks::Any(g) },
        };
        Ok(Self { parts: groups.into_iter().map(any).collect() })
    }
}

/// Most parts of one OR.
const MOST_OR: usize = 40;
/// Most words of a date in a search: "between early spring 1998 and late autumn 2004" has eight.
const DATE_WORDS: usize = 8;

/// The part that begins here, and how many pieces it takes: a few words may be one date.
fn phrase(tokens: &[Token]) -> Result<(Option<Part>, usize)> {
    let bare = tokens.iter().take_while(|t| t.is_bare()).count();
    for (words, asks) in
        [(&["not", "yet", "described"][..], Asks::Undescribed), (&["not", "described"], Asks::Undescribed)]
    {
        let same = |(t, w): (&Token, &&str)| t.text.eq_ignore_ascii_case(w);
        if bare >= words.len() && tokens.iter().zip(words).all(same) {
            return Ok((Some(Part { not: false, asks }), words.len()));
        }
    }
    for n in (1..=bare.min(DATE_WORDS)).rev() {
        let text: Vec<&str> = tokens[..n].iter().map(|t| t.text.as_str()).collect();
        let text = text.join(" ");
        let Some((from, to)) = spoken_days(&text).filter(|_| !is_number(&text)) else { continue };
        let either = vec![
            Part { not: false, asks: Asks::Words { column: None, text, whole: false } },
            Part { not: false, asks: Asks::Days(from, to) },
        ];
        return Ok((Some(Part { not: tokens[0].not, asks: Asks::Any(either) }), n));
    }
    let first = &tokens[0];
    Ok((part(Token { field: first.field.clone(), text: first.text.clone(), ..*first })?, 1))
}

/// The days of a date as people write it. Where it can mean several, all of them: a search may show one print too many.
fn spoken_days(text: &str) -> Option<(i64, i64)> {
    match dates::understand(text, dates::this_year()) {
        Understood::Date(read) => Some(read.edtf.days()),
        Understood::Ask(_, all) => {
            let days = || all.iter().map(|r| r.edtf.days());
            Some((days().map(|d| d.0).min()?, days().map(|d| d.1).max()?))
        }
        Understood::No(_) | Understood::Nothing => None,
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

impl Token {
    /// `OR`, in capitals: in small letters it is a word.
    fn is_or(&self) -> bool {
        !self.not && !self.whole && self.field.is_none() && (self.text == "OR" || self.text == "|")
    }
    /// A word on its own, which may be part of a date.
    fn is_bare(&self) -> bool {
        !self.whole && self.field.is_none() && !self.is_or() && !self.text.is_empty()
    }
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
        None => bare(text, whole),
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

/// A word on its own: in any field, and as a verdict or a format. Fewer letters than three begin too many of them.
fn bare(text: String, whole: bool) -> Asks {
    let value = text.to_lowercase();
    let words = Asks::Words { column: None, text, whole };
    if whole || value.len() < 3 || !value.chars().all(|c| c.is_ascii_alphabetic() || c == '-') {
        return words;
    }
    if ["undescribed"].contains(&value.as_str()) {
        return Asks::Undescribed;
    }
    let verdict = ["keep", "look", "reshoot"].iter().any(|v| v.starts_with(&value));
    let mut any = vec![words, Asks::Value(Field::Format, value.clone())];
    any.extend(verdict.then_some(Asks::Value(Field::Verdict, value)));
    Asks::Any(any.into_iter().map(|asks| Part { not: false, asks }).collect())
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
            Field::Has | Field::Lacks | Field::Id | Field::Is | Field::Colour | Field::Saved => {
                return Err(Error::refused(format!("“{value}” is not a field that can be empty.")));
            }
            inner => Asks::Says(inner, field == Field::Has),
        },
        Field::Is => match among(field, value, &["described", "undescribed"], "A print")? {
            Asks::Value(_, v) if "undescribed".starts_with(&v) => Asks::Undescribed,
            _ => Asks::All(vec![Part { not: true, asks: Asks::Undescribed }]),
        },
        Field::Colour if is_number(text.trim()) => Asks::ColourOf(number(text)?),
        Field::Colour => match Colour::parse(&value) {
            Ok(colour) => Asks::Colour(colour),
            Err(says) => return Err(Error::refused(says)),
        },
        Field::Saved => Asks::Saved(text.trim().to_owned()),
        Field::Verdict => among(field, value, &["keep", "look", "reshoot"], "A verdict")?,
        Field::Privacy => among(field, value, &crate::fact::PRIVACY, "Privacy")?,
        Field::Back => among(field, value, &["none", "blank", "back"], "A back")?,
        Field::Format | Field::Finding | Field::Edit | Field::Stack | Field::Rig => Asks::Value(field, value),
    })
}

/// One of a few known values, or the beginning of one, because somebody may still be typing.
fn among(field: Field, value: String, known: &[&str], what: &str) -> Result<Asks> {
    if known.iter().any(|k| k.starts_with(&value)) {
        return Ok(Asks::Value(field, value));
    }
    Err(Error::refused(format!("{what} is {}, not “{value}”.", dates::any_of(known))))
}

/// The field of a word; `lacks` is the other side of `has`.
fn field_of(name: &str) -> Result<Field> {
    let name = name.to_lowercase();
    let name = if name == "color" { "colour".to_owned() } else { name };
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
    let one = |t: &str| -> Result<(i64, i64)> {
        spoken_days(t).ok_or_else(|| match dates::one(t, dates::this_year()) {
            Err(says) => Error::refused(says),
            Ok(_) => Error::refused("A date is missing."),
        })
    };
    if text.contains('/') {
        return one(text);
    }
    match text.split_once("..") {
        None => one(text),
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
        day => dates::day_text(day),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Edtf;
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
        assert_eq!(asks_of("on Kai"), [words(None, "on", false), bare("Kai".into(), false)]);
        assert_eq!(bare("x2".into(), false), words(None, "x2", false));
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
        let error = Query::parse("weather:red").unwrap_err().to_string();
        assert!(!error.contains("Did you mean") && error.contains("Fields: title,"), "{error}");
        assert!(Query::parse("date:soon").unwrap_err().to_string().contains("July 2009"));
        assert!(Query::parse("verdict:good").unwrap_err().to_string().contains("keep, look or reshoot"));
        assert!(Query::parse("lacks:id").is_err());
    }

    #[test]
    fn a_few_words_can_be_one_date() {
        let days = |text: &str| Asks::Days(Edtf::parse(text).unwrap().days().0, Edtf::parse(text).unwrap().days().1);
        let either = |line: &str| match asks_of(line).as_slice() {
            [Asks::Any(parts)] => parts.iter().map(|p| p.asks.clone()).collect::<Vec<_>>(),
            other => panic!("{line}: {other:?}"),
        };
        assert_eq!(either("2009"), [words(None, "2009", false), days("2009")]);
        assert_eq!(either("summer 2009"), [words(None, "summer 2009", false), days("2009-22")]);
        assert_eq!(either("before 2001")[1], days("/2000"));
        assert_eq!(asks_of("harbour summer 2009 look").len(), 3);
        assert_eq!(asks_of("date:\"summer 2009\" date:1990s"), [days("2009-22"), days("199X")]);
        // Both days that it can mean are found.
        let (from, to) = (days("2005-03-04"), days("2005-04-03"));
        let (Asks::Days(from, _), Asks::Days(_, to)) = (from, to) else { panic!() };
        assert_eq!(asks_of("date:03/04/2005"), [Asks::Days(from, to)]);
    }

    #[test]
    fn or_joins_its_two_neighbours() {
        let parts = Query::parse("harbour OR quay verdict:look").unwrap().parts;
        assert!(parts.len() == 2 && matches!(&parts[0].asks, Asks::Any(two) if two.len() == 2), "{parts:?}");
        // Half typed: no error, and nothing joined.
        assert_eq!(Query::parse("OR x1 OR").unwrap().parts, Query::parse("x1").unwrap().parts);
        assert_eq!(Query::parse("x1 or x2").unwrap().parts.len(), 3);
        let long = vec!["x1"; 60].join(" OR ");
        assert!(Query::parse(&long).unwrap_err().to_string().contains("joined"));
        assert_eq!(
            (asks_of("not yet described"), asks_of("is:und")),
            (vec![Asks::Undescribed], vec![Asks::Undescribed])
        );
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
