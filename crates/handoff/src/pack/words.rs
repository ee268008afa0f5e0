//! Descriptions of the packed prints as plain text.

use super::in_bag;
use super::shot::Shot;
use catalogue::{Edit, Fact, Facts, Print};
use std::collections::HashMap;
use std::fmt::Write;

/// The catalogue's words of the packed prints.
pub(super) struct Words {
    pub prints: Vec<Print>,
    pub edits: Vec<Edit>,
}

impl Words {
    /// A sheet (CSV, RFC 4180) with a line for each print.
    pub fn csv(&self, shots: &[Shot]) -> String {
        let original = originals(shots);
        let facts = Facts::default().pairs().into_iter().map(|(f, _)| f.word().to_owned());
        let head = std::iter::once("print".to_owned()).chain(facts);
        let mut out = line(head.chain(["digitised", "original", "master", "mount"].map(str::to_owned)));
        for print in &self.prints {
            let front = print.frames.iter().find(|f| Some(f.id) == print.front);
            let made = front.and_then(|f| f.result.as_ref());
            let file = |path: Option<&String>| path.map(|p| in_bag(p).to_owned()).unwrap_or_default();
            let shot = front.and_then(|f| original.get(f.blake3.as_str()));
            let said = print.facts.pairs().into_iter().map(|(_, value)| value);
            let files = [
                print.digitised.clone().unwrap_or_default(),
                shot.map(|to| in_bag(to).to_owned()).unwrap_or_default(),
                file(made.and_then(|m| m.master.as_ref())),
                file(made.and_then(|m| m.mount.as_ref())),
            ];
            out += &line(std::iter::once(print.id.to_string()).chain(said).chain(files));
        }
        out
    }

    /// The prints and the edits, for the bag's first text.
    pub fn text(&self, shots: &[Shot]) -> String {
        let mut out = String::from("The prints\n----------\n\n");
        let original = originals(shots);
        for print in &self.prints {
            one(&mut out, print, &original);
        }
        if !self.edits.is_empty() {
            out.push_str("The edits, each in its order\n----------------------------\n\n");
            for edit in &self.edits {
                let prints: Vec<String> = edit.prints.iter().map(ToString::to_string).collect();
                let _ = writeln!(out, "{} ({})\n  {}\n", edit.name, edit.kind, prints.join(" "));
            }
        }
        out
    }
}

fn one(out: &mut String, print: &Print, original: &HashMap<&str, &str>) {
    let title = if print.facts.title.is_empty() { String::new() } else { format!("  {}", print.facts.title) };
    let _ = writeln!(out, "{}{title}", print.id);
    for (fact, value) in print.facts.pairs() {
        if fact != Fact::Title && !value.is_empty() {
            // A value of several lines goes on under its first.
            let _ = writeln!(out, "  {:11} {}", fact.word(), value.replace('\n', "\n              "));
        }
    }
    for frame in &print.frames {
        let original = original.get(frame.blake3.as_str()).map_or("not here", |to| in_bag(to));
        let chosen = if Some(frame.id) == print.front { ", the chosen one" } else { "" };
        let _ = writeln!(out, "  {:11} {original}{chosen}", frame.role);
    }
    out.push('\n');
}

/// Where each original lies in the bag, by its hash.
fn originals(shots: &[Shot]) -> HashMap<&str, &str> {
    shots.iter().filter_map(|s| Some((s.report.frame.blake3.as_str(), s.original.as_deref()?))).collect()
}

/// A field that a spreadsheet would take for a formula begins with an apostrophe: one with =, +, -, @, a tab or a carriage return
/// first (OWASP, "CSV Injection").
fn guarded(field: String) -> String {
    match field.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        true => format!("'{field}"),
        false => field,
    }
}

/// RFC 4180 section 2: fields with a comma, a quote or a line's end stand in quotes, a quote in them is doubled.
fn line(fields: impl Iterator<Item = String>) -> String {
    let quoted = |f: String| {
        if f.contains([',', '"', '\n', '\r']) { format!("\"{}\"", f.replace('"', "\"\"")) } else { f }
    };
    fields.map(guarded).map(quoted).collect::<Vec<_>>().join(",") + "\r\n"
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 4180 section 2, rules 5 to 7.
    #[test]
    fn fields_are_quoted_where_they_must_be() {
        let fields = ["aaa", "b \r\nbb", "b\"bb", "c, d"].map(str::to_owned);
        assert_eq!(line(fields.into_iter()), "aaa,\"b \r\nbb\",\"b\"\"bb\",\"c, d\"\r\n");
    }

    /// OWASP, "CSV Injection": the six signs that begin a formula.
    #[test]
    fn no_field_begins_a_formula() {
        let fields = ["=1+1", "+1", "-1", "@a", "\tb", "\rc", "a=b"].map(str::to_owned);
        assert_eq!(line(fields.into_iter()), "'=1+1,'+1,'-1,'@a,'\tb,\"'\rc\",a=b\r\n");
    }
}
