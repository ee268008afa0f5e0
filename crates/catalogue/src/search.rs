//! Search: turns a parsed line into one database query.

use crate::colour::Colour;
use crate::error::{Error, Result};
use crate::kinds::{PrintId, Row};
use crate::query::{Asks, Field, Part, Query};
use crate::read::{BACK, FROM_PRINT};
use crate::store::Catalogue;
use rusqlite::{params_from_iter, types::Value};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::HashSet;

/// The order of what is found.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Order {
    /// By number, as they came.
    #[default]
    Number,
    /// By date exposed, undated ones last.
    Date,
    /// By box, sleeve, number.
    Box,
    /// By format.
    Format,
    /// Reshoot first, then look, then keep.
    Verdict,
    /// By place, those without one last.
    Place,
    /// By when the chosen front was taken.
    Taken,
}

/// What a search found.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Found {
    /// Every print found, in order.
    pub ids: Vec<PrintId>,
    /// Rows of the part asked for.
    pub rows: Vec<Row>,
}

impl Catalogue {
    /// Searches by a line as it is typed and gives all numbers, and rows from `from`, at most `most`. An empty line finds
    /// every print.
    ///
    /// # Errors
    /// The line names a field that is not there, or the catalogue cannot be read.
    pub fn search(&self, line: &str, order: Order, from: usize, most: usize) -> Result<Found> {
        let ids = self.find(&Query::parse(line)?, order)?;
        let part = ids.get(from..).unwrap_or_default();
        let rows = self.rows(&part[..most.min(part.len())])?;
        Ok(Found { ids, rows })
    }

    /// The numbers of the prints that a query finds.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn find(&self, query: &Query, order: Order) -> Result<Vec<PrintId>> {
        let known: Vec<Part> = query.parts.iter().map(|p| self.looked_up(p, 0)).collect::<Result<_>>()?;
        let mut parts: Vec<&Part> = vec![];
        let mut seen = HashSet::new();
        parts.extend(known.iter().filter(|p| seen.insert(*p)));
        let (long, short): (Vec<&Part>, Vec<&Part>) = parts.into_iter().partition(|p| is_long(p));
        let mut groups = short.chunks(AT_ONCE);
        let mut ids = self.find_all_of(groups.next().unwrap_or_default(), order)?;
        for group in groups {
            self.keep(&mut ids, group)?;
        }
        for part in long {
            let pieces = pieces(part);
            let pieces: Vec<&Part> = pieces.iter().collect();
            // What all pieces find is what the part finds.
            let mut found = ids.clone();
            for group in pieces.chunks(AT_ONCE) {
                self.keep(&mut found, group)?;
            }
            let found: HashSet<PrintId> = found.into_iter().collect();
            ids.retain(|id| found.contains(id) != part.not);
        }
        Ok(ids)
    }

    /// A part with saved searches and prints' colours put in the place of their names.
    fn looked_up(&self, part: &Part, deep: usize) -> Result<Part> {
        // A saved search may name another; more than this is a circle.
        const DEEPEST: usize = 8;
        let all = |parts: &[Part], deep| parts.iter().map(|p| self.looked_up(p, deep)).collect::<Result<Vec<Part>>>();
        let asks = match &part.asks {
            Asks::Saved(name) if deep > DEEPEST => {
                return Err(Error::refused(format!("The saved search “{name}” leads back to itself.")));
            }
            Asks::Saved(name) => Asks::All(all(&Query::parse(&self.saved(name)?)?.parts, deep + 1)?),
            Asks::Any(parts) => Asks::Any(all(parts, deep)?),
            Asks::All(parts) => Asks::All(all(parts, deep)?),
            Asks::ColourOf(id) => {
                let near = self.colours_of(*id)?.into_iter().map(|c| Part { not: false, asks: Asks::Colour(c) });
                Asks::Any(near.collect())
            }
            other => other.clone(),
        };
        Ok(Part { not: part.not, asks })
    }

    /// Keeps of `ids` those that all of these parts find.
    fn keep(&self, ids: &mut Vec<PrintId>, parts: &[&Part]) -> Result<()> {
        if !ids.is_empty() {
            let found: HashSet<PrintId> = self.find_all_of(parts, Order::Number)?.into_iter().collect();
            ids.retain(|id| found.contains(id));
        }
        Ok(())
    }

    fn find_all_of(&self, parts: &[&Part], order: Order) -> Result<Vec<PrintId>> {
        let mut values = vec![];
        let mut conditions: Vec<String> = parts.iter().map(|p| condition(p, &mut values)).collect();
        conditions.push("1".into());
        let order = match order {
            Order::Number => "p.id",
            Order::Date => "p.exposed_from IS NULL, p.exposed_from, p.exposed_to, p.id",
            Order::Box => "b.name IS NULL, b.name, s.name IS NULL, length(s.name), s.name, p.id",
            Order::Format => "p.format = '', p.format, p.id",
            Order::Place => "p.place = '', p.place COLLATE NOCASE, p.id",
            Order::Taken => "f.taken IS NULL, f.taken, p.id",
            Order::Verdict => {
                "CASE r.verdict WHEN 'reshoot' THEN 0 WHEN 'look' THEN 1 WHEN 'keep' THEN 2 ELSE 3 END, p.id"
            }
        };
        let text = format!("SELECT p.id FROM {FROM_PRINT} WHERE {} ORDER BY {order}", conditions.join(" AND "));
        let mut statement = self.db.prepare_cached(&text)?;
        let ids = statement.query_map(params_from_iter(values), |r| r.get(0).map(PrintId))?;
        Ok(ids.collect::<rusqlite::Result<_>>()?)
    }
}

/// Parts, and words of one part, asked for at once: far below what the database takes (a thousand terms deep, SQLite's page on its
/// limits; 256 for a question of its full-text index). A longer line is asked piece by piece.
const AT_ONCE: usize = 50;

/// True for a part of more words than are asked for at once.
fn is_long(part: &Part) -> bool {
    matches!(&part.asks, Asks::Words { text, .. } if tokens(text).nth(AT_ONCE).is_some())
}

/// A part of many words as parts of few: each of its words. Words that must stand together are looked for in neighbouring runs, each
/// beginning with the last word of the one before.
fn pieces(part: &Part) -> Vec<Part> {
    let Asks::Words { column, text, whole } = &part.asks else { return vec![part.clone()] };
    let words: Vec<&str> = tokens(text).collect();
    let piece = |words: &[&str]| {
        let asks = Asks::Words { column: *column, text: words.join(" "), whole: *whole };
        Part { not: false, asks }
    };
    if *whole {
        return (0..words.len()).step_by(AT_ONCE - 1).map(|i| piece(&words[i..words.len().min(i + AT_ONCE)])).collect();
    }
    let mut seen = HashSet::new();
    let distinct: Vec<&str> = words.into_iter().filter(|w| seen.insert(*w)).collect();
    distinct.chunks(AT_ONCE).map(piece).collect()
}

/// Words of a text as the index splits them.
fn tokens(text: &str) -> impl Iterator<Item = &str> {
    text.split(|c: char| !is_token(c)).filter(|w| !w.is_empty())
}

fn condition(part: &Part, values: &mut Vec<Value>) -> String {
    if let Asks::Any(parts) | Asks::All(parts) = &part.asks {
        let (joint, none) = if matches!(part.asks, Asks::Any(_)) { (" OR ", "0") } else { (" AND ", "1") };
        let each: Vec<String> = parts.iter().map(|p| condition(p, values)).collect();
        let text = if each.is_empty() { none.into() } else { each.join(joint) };
        return format!("{}({text})", if part.not { "NOT " } else { "" });
    }
    let mut bind = |value: Value| {
        values.push(value);
        format!("?{}", values.len())
    };
    let text = match &part.asks {
        Asks::Words { column, text, whole } => match matching(*column, text, *whole) {
            // Only signs, no letter or figure: nothing to look for, nothing to leave out.
            None => return "1".into(),
            Some(m) => format!("p.id IN (SELECT rowid FROM word WHERE word MATCH {})", bind(Value::Text(m))),
        },
        Asks::Days(from, to) => {
            let (from, to) = (bind(Value::Integer(*from)), bind(Value::Integer(*to)));
            format!("(p.exposed_from IS NOT NULL AND p.exposed_from <= {to} AND p.exposed_to >= {from})")
        }
        Asks::Number(id) => format!("p.id = {}", bind(Value::Integer(id.0))),
        Asks::Value(field, value) => valued(*field, value, &mut bind),
        Asks::Undescribed => UNDESCRIBED.into(),
        Asks::Colour(colour) => near(colour, &mut bind),
        // Looked up before.
        Asks::Any(_) | Asks::All(_) | Asks::Saved(_) | Asks::ColourOf(_) => "0".into(),
        Asks::Says(field, says) => format!("({}) = {}", says_something(*field), i32::from(*says)),
    };
    if part.not { format!("NOT ({text})") } else { text }
}

/// Of which nobody has said what is seen, when, where or who. A format is found, and a box is where it lies: neither describes it.
const UNDESCRIBED: &str =
    "(p.title || p.alt || p.exposed || p.place || p.people || p.subject || p.inscription || p.note = '')";

/// One of the main colours of the front is near this one.
fn near(colour: &Colour, bind: &mut impl FnMut(Value) -> String) -> String {
    format!("EXISTS (SELECT 1 FROM colour c WHERE c.frame = p.front AND {})", colour.near(|v| bind(Value::Real(v))))
}

fn valued(field: Field, value: &str, bind: &mut impl FnMut(Value) -> String) -> String {
    if let Field::Format | Field::Rig | Field::Stack | Field::Digitised = field {
        return compared(field, value, bind);
    }
    let mut begins = |column: &str| {
        let value = bind(Value::Text(value.to_owned()));
        format!("lower(substr({column}, 1, length({value}))) = {value}")
    };
    match field {
        Field::Verdict => format!("COALESCE({}, 0)", begins("r.verdict")),
        Field::Privacy => begins("p.privacy"),
        Field::Back => begins(BACK),
        Field::Finding => format!(
            "EXISTS (SELECT 1 FROM frame k JOIN finding d ON d.frame = k.id WHERE k.print = p.id AND {})",
            begins("d.code")
        ),
        Field::Edit => {
            let (name, kind) = (begins("e.name"), begins("e.kind"));
            format!(
                "EXISTS (SELECT 1 FROM chosen c JOIN edit e ON e.id = c.edit WHERE c.print = p.id AND ({name} OR {kind}))"
            )
        }
        // Parsing gives these fields other questions.
        _ => "0".into(),
    }
}

/// Fields that are compared in ways of their own.
fn compared(field: Field, value: &str, bind: &mut impl FnMut(Value) -> String) -> String {
    match field {
        // Any of its words, so that "square" finds peel-apart-square too.
        Field::Format => {
            let value = bind(Value::Text(value.to_owned()));
            format!("instr('-' || p.format, '-' || {value}) > 0")
        }
        Field::Rig => {
            let number = bind(Value::Text(value.to_owned()));
            format!(
                "EXISTS (SELECT 1 FROM sitting t WHERE t.id = f.sitting
                   AND (CAST(t.id AS TEXT) = {number} OR instr(' ' || lower(t.camera), ' ' || {number}) > 0))"
            )
        }
        Field::Stack => {
            let number = bind(Value::Text(value.to_owned()));
            format!("EXISTS (SELECT 1 FROM stacked k WHERE k.print = p.id AND CAST(k.stack AS TEXT) = {number})")
        }
        Field::Digitised => {
            let (from, to) = value.split_once(' ').unwrap_or((value, value));
            let (from, to) = (bind(Value::Text(from.to_owned())), bind(Value::Text(to.to_owned())));
            format!("COALESCE(substr(f.taken, 1, 10) BETWEEN {from} AND {to}, 0)")
        }
        _ => "0".into(),
    }
}

/// An expression that is 1 where the field says something and 0 where it does not.
fn says_something(field: Field) -> String {
    match field {
        Field::Words("box") => "p.box IS NOT NULL".into(),
        Field::Words("sleeve") => "p.sleeve IS NOT NULL".into(),
        Field::Words("frame") => "EXISTS (SELECT 1 FROM frame k WHERE k.print = p.id)".into(),
        Field::Words(column) => format!("p.{column} <> ''"),
        Field::Date => "p.exposed <> ''".into(),
        Field::Digitised => "f.taken IS NOT NULL".into(),
        Field::Format => "p.format <> ''".into(),
        Field::Privacy => "p.privacy <> ''".into(),
        Field::Verdict => "r.verdict IS NOT NULL".into(),
        Field::Finding => "EXISTS (SELECT 1 FROM frame k JOIN finding d ON d.frame = k.id WHERE k.print = p.id)".into(),
        Field::Edit => "EXISTS (SELECT 1 FROM chosen c WHERE c.print = p.id)".into(),
        Field::Back => format!("{BACK} <> 'none'"),
        Field::Stack => "EXISTS (SELECT 1 FROM stacked k WHERE k.print = p.id AND k.stack IS NOT NULL)".into(),
        Field::Rig => "f.sitting IS NOT NULL".into(),
        Field::Id | Field::Has | Field::Lacks | Field::Is | Field::Colour | Field::Saved => "1".into(),
    }
}

/// The full-text question of some words: each from its beginning, or all together and whole; `None` where there is no word.
///
/// Words are split as the index splits them, at everything that is no letter or figure, and put in quotation marks, so
/// that no sign in them can mean anything to the index.
fn matching(column: Option<&str>, text: &str, whole: bool) -> Option<String> {
    let words: Vec<&str> = tokens(text).collect();
    if words.is_empty() {
        return None;
    }
    let within = column.map(|c| format!("{c} : ")).unwrap_or_default();
    if whole {
        return Some(format!("{within}\"{}\"", words.join(" ")));
    }
    let each: Vec<String> = words.iter().map(|w| format!("\"{w}\" *")).collect();
    Some(format!("{within}({})", each.join(" AND ")))
}

/// Letters, figures and the marks that belong to letters.
fn is_token(c: char) -> bool {
    c.is_alphanumeric() || ('\u{300}'..='\u{36f}').contains(&c)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_become_questions_that_no_sign_can_break() {
        assert_eq!(matching(None, "harb", false).unwrap(), "(\"harb\" *)");
        assert_eq!(matching(Some("film"), "black & white", true).unwrap(), "film : \"black white\"");
        assert_eq!(matching(Some("box"), "10:30\" OR *", false).unwrap(), "box : (\"10\" * AND \"30\" * AND \"OR\" *)");
        assert_eq!(matching(None, "-- \"", false), None);
    }
}
