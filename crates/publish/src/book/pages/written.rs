//! Lines of a list of pages as they are written.

use super::{Entry, Held, Print, WORDS};
use crate::book::layout::Edge;
use crate::book::text_pages::Setting;
use std::fmt::{Display, Formatter, Result};

impl Display for Entry {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        match self {
            Self::Blank => f.write_str("blank"),
            Self::Title => f.write_str("title"),
            Self::Plates => f.write_str("plates"),
            Self::Colophon => f.write_str("colophon"),
            Self::Text(file, setting) => {
                write!(f, "text {}", name(file))?;
                f.write_str(match setting {
                    Setting::Column => "",
                    Setting::Foot => " foot",
                    Setting::Centred => " centred",
                })
            }
            Self::Page(held) => write!(f, "page {held}"),
            Self::Spread([left, right]) => write!(f, "spread {left} | {right}"),
        }
    }
}

impl Display for Held {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        if self.prints.is_empty() {
            return f.write_str("blank");
        }
        if let Some([columns, rows]) = self.grid {
            write!(f, "grid {columns}x{rows} ")?;
        }
        let prints: Vec<String> = self.prints.iter().map(Print::to_string).collect();
        f.write_str(&prints.join(", "))
    }
}

impl Display for Print {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        f.write_str(&name(&self.name))?;
        if self.back {
            f.write_str(" back")?;
        }
        if let Some([x, y, w, h]) = self.detail {
            write!(f, " detail {w}x{h}mm from {x}mm {y}mm")?;
        }
        if let Some(percent) = self.percent {
            write!(f, " at {percent}%")?;
        }
        for (edge, [near, far]) in self.from.iter().zip([["left", "right"], ["top", "foot"]]) {
            match edge {
                Some(Edge::Near(mm)) => write!(f, " {near} {mm}mm")?,
                Some(Edge::Far(mm)) => write!(f, " {far} {mm}mm")?,
                None => {}
            }
        }
        match self.caption {
            Some(true) => f.write_str(" caption"),
            Some(false) => f.write_str(" no caption"),
            None => Ok(()),
        }
    }
}

/// A name as a line holds it: between quotation marks where it could be taken for something else.
fn name(name: &str) -> String {
    let plain = !name.is_empty()
        && !name.contains(|c: char| c.is_whitespace() || c == '\u{feff}' || matches!(c, ',' | '|' | '"' | '#'))
        && !WORDS.contains(&name);
    if plain { name.to_owned() } else { format!("\"{}\"", name.replace('"', "\"\"")) }
}
