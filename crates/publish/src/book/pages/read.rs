//! Reads a line of a list of pages.

use super::{Entry, Held, Print, SCALES};
use crate::book::layout::Edge;
use crate::book::text_pages::Setting;

/// Words that mean something in a list of pages: a print of such a name stands between quotation marks.
pub const WORDS: &[&str] = &[
    "page", "spread", "blank", "text", "centred", "title", "plates", "colophon", "grid", "back", "detail", "from",
    "at", "left", "right", "top", "foot", "caption", "no",
];
/// What may follow a print.
const AFTER_PRINT: &str = "After a print may stand: back, at 120%, detail 40x30mm from 20mm 45mm, left 30mm or right 30mm, top 30mm or foot \
                           30mm, caption or no caption; then a comma and the next print.";
/// Lengths that a line can give, mm: from a wide bleed outside the page to the longest page that a PDF can have.
const LENGTHS: std::ops::RangeInclusive<f64> = -50.0..=5080.0;
/// Columns and rows of a grid, as `--layout grid=2x3` has them.
const GRID: std::ops::RangeInclusive<usize> = 1..=12;

/// A word of a line, or a mark between words.
#[derive(Clone, Debug, PartialEq)]
struct Token {
    text: String,
    /// It stood between quotation marks: never a word of ours.
    quoted: bool,
    /// Where it ends, bytes.
    end: usize,
}

impl Token {
    fn is(&self, word: &str) -> bool {
        !self.quoted && self.text == word
    }
}

/// What a line describes, and the bytes before and after the words that do.
pub(super) fn line(text: &str) -> Result<(Option<Entry>, [usize; 2]), String> {
    let (tokens, start) = tokens(text)?;
    let Some(last) = tokens.last() else { return Ok((None, [start; 2])) };
    let around = [start, last.end];
    let mut words = Words { tokens: &tokens, next: 0 };
    let entry = words.entry()?;
    Ok((Some(entry), around))
}

/// The tokens of a line, and where the first begins.
fn tokens(text: &str) -> Result<(Vec<Token>, usize), String> {
    let mut out = vec![];
    let mut first = None;
    let mut chars = text.char_indices().peekable();
    while let Some((at, c)) = chars.next() {
        // An editor's mark of byte order is no word.
        if c.is_whitespace() || c == '\u{feff}' {
            continue;
        }
        if c == '#' {
            break;
        }
        first.get_or_insert(at);
        let (mut word, mut end, quoted) = (String::new(), at + c.len_utf8(), c == '"');
        if quoted {
            loop {
                match chars.next() {
                    Some((_, '"')) if chars.next_if(|(_, c)| *c == '"').is_some() => word.push('"'),
                    Some((at, '"')) => {
                        end = at + 1;
                        break;
                    }
                    Some((_, c)) if c != '\n' => word.push(c),
                    _ => return Err("A name begins with a quotation mark and does not end with one.".into()),
                }
            }
        } else {
            word.push(c);
            let stops = |c: char| c.is_whitespace() || c == '\u{feff}' || matches!(c, ',' | '|' | '"' | '#');
            while let Some((at, c)) = chars.next_if(|(_, c)| !matches!(word.as_str(), "," | "|") && !stops(*c)) {
                word.push(c);
                end = at + c.len_utf8();
            }
        }
        out.push(Token { text: word, quoted, end });
    }
    Ok((out, first.unwrap_or(0)))
}

/// Reads tokens in turn.
struct Words<'a> {
    tokens: &'a [Token],
    next: usize,
}

impl<'a> Words<'a> {
    fn peek(&self) -> Option<&'a Token> {
        self.tokens.get(self.next)
    }

    fn take(&mut self) -> Option<&'a Token> {
        let token = self.peek();
        self.next += usize::from(token.is_some());
        token
    }

    /// Takes the next word if it is this one.
    fn takes(&mut self, word: &str) -> bool {
        let is = self.peek().is_some_and(|t| t.is(word));
        self.next += usize::from(is);
        is
    }

    fn entry(&mut self) -> Result<Entry, String> {
        let Some(first) = self.take() else { return Err("The line is empty.".into()) };
        let entry = match first.text.as_str() {
            _ if first.quoted => return Err(begins(&first.text)),
            "blank" => Entry::Blank,
            "title" => Entry::Title,
            "plates" => Entry::Plates,
            "colophon" => Entry::Colophon,
            "text" => self.text()?,
            "page" => Entry::Page(self.held()?),
            "spread" => {
                let left = self.held()?;
                if !self.takes("|") {
                    return Err(format!(
                        "A spread needs “|” between its left and its right page, as in: spread P0004 | P0005.{}",
                        self.instead()
                    ));
                }
                Entry::Spread([left, self.held()?])
            }
            other => return Err(begins(other)),
        };
        match self.peek() {
            None => Ok(entry),
            Some(more) if matches!(entry, Entry::Page(_) | Entry::Spread(_)) => {
                Err(format!("“{}” is not understood here. {AFTER_PRINT}", more.text))
            }
            Some(more) => Err(format!("“{}” stands after “{}”, where the line should end.", more.text, first.text)),
        }
    }

    fn text(&mut self) -> Result<Entry, String> {
        let token = self.take();
        let named = |t: &&Token| {
            !t.text.is_empty() && (t.quoted || !(WORDS.contains(&t.text.as_str()) || t.is(",") || t.is("|")))
        };
        let file = token.filter(named).ok_or_else(|| {
            format!("After “text” stands the name of a file in Markdown, such as: text essay.md.{}", instead(token))
        })?;
        let setting = match self.peek() {
            None => Setting::Column,
            Some(t) if t.is("foot") => Setting::Foot,
            Some(t) if t.is("centred") => Setting::Centred,
            Some(t) => {
                return Err(format!(
                    "“{}” is not understood here. After the file of a text may stand: foot, or centred.",
                    t.text
                ));
            }
        };
        self.next += usize::from(setting != Setting::Column);
        Ok(Entry::Text(file.text.clone(), setting))
    }

    fn held(&mut self) -> Result<Held, String> {
        if self.takes("blank") {
            return Ok(Held::default());
        }
        let grid = if self.takes("grid") { Some(self.grid()?) } else { None };
        let mut prints = vec![self.print()?];
        while self.takes(",") {
            prints.push(self.print()?);
        }
        match grid {
            Some([columns, rows]) if prints.len() > columns * rows => Err(format!(
                "A grid of {columns} by {rows} holds {} prints, and here are {}.",
                columns * rows,
                prints.len()
            )),
            None if prints.len() > *GRID.end() => Err(format!(
                "A row holds at most {} prints, and here are {}. Write a grid, such as: page grid 4x4 …",
                GRID.end(),
                prints.len()
            )),
            _ => Ok(Held { grid, prints }),
        }
    }

    fn grid(&mut self) -> Result<[usize; 2], String> {
        let read = |t: &Token| {
            let (a, b) = t.text.split_once(['x', '×'])?;
            let both = [a.parse().ok()?, b.parse().ok()?];
            both.iter().all(|n| GRID.contains(n)).then_some(both)
        };
        let token = self.take();
        token.and_then(read).ok_or_else(|| {
            format!(
                "A grid has columns and rows from 1 to {}, as in: page grid 2x3 P0004, P0005.{}",
                GRID.end(),
                instead(token)
            )
        })
    }

    fn print(&mut self) -> Result<Print, String> {
        let token = self.take();
        let name = token.filter(|t| t.quoted || !(WORDS.contains(&t.text.as_str()) || t.is(",") || t.is("|")));
        let Some(name) = name.filter(|t| !t.text.is_empty()) else {
            return Err(format!(
                "A print should stand here: its number, such as P0004, or its file's name, between quotation marks if it has spaces.{}",
                instead(token)
            ));
        };
        let mut print = Print::new(&name.text);
        while let Some(word) = self.peek().filter(|t| !t.is(",") && !t.is("|")) {
            self.next += 1;
            self.about(&mut print, word)?;
        }
        Ok(print)
    }

    /// One thing that is said of a print.
    fn about(&mut self, print: &mut Print, word: &Token) -> Result<(), String> {
        let twice =
            |is: bool, what: &str| if is { Err(format!("{what} of {} is said twice.", print.name)) } else { Ok(()) };
        match word.text.as_str() {
            _ if word.quoted => return Err(format!("“{}” is not understood here. {AFTER_PRINT}", word.text)),
            "back" => {
                twice(print.back, "The back")?;
                print.back = true;
            }
            "at" => {
                twice(print.percent.is_some(), "The size")?;
                print.percent = Some(self.percent()?);
            }
            "detail" => {
                twice(print.detail.is_some(), "The detail")?;
                print.detail = Some(self.detail()?);
            }
            "left" | "right" | "top" | "foot" => {
                let axis = usize::from(matches!(word.text.as_str(), "top" | "foot"));
                twice(print.from[axis].is_some(), ["The place across the page", "The place down the page"][axis])?;
                let mm = self.length(&word.text)?;
                let near = matches!(word.text.as_str(), "left" | "top");
                print.from[axis] = Some(if near { Edge::Near(mm) } else { Edge::Far(mm) });
            }
            "caption" => {
                twice(print.caption.is_some(), "The caption")?;
                print.caption = Some(true);
            }
            "no" => {
                twice(print.caption.is_some(), "The caption")?;
                if !self.takes("caption") {
                    return Err(format!("After “no” can only stand “caption”.{}", self.instead()));
                }
                print.caption = Some(false);
            }
            other => return Err(format!("“{other}” is not understood here. {AFTER_PRINT}")),
        }
        Ok(())
    }

    fn percent(&mut self) -> Result<f64, String> {
        let token = self.take();
        let number = token.and_then(|t| if t.quoted { None } else { Some(t.text.as_str()) }).unwrap_or_default();
        let has = number.ends_with('%') || self.takes("%");
        let percent = number.trim_end_matches('%').parse::<f64>().ok();
        percent.filter(|v| has && SCALES.contains(&(v / 100.0))).ok_or_else(|| {
            format!(
                "After “at” stands the size in percent of true size, from {:.0}% to {:.0}%, such as 120%.{}",
                SCALES.start() * 100.0,
                SCALES.end() * 100.0,
                instead(token)
            )
        })
    }

    fn detail(&mut self) -> Result<[f64; 4], String> {
        let token = self.take();
        let form =
            "A detail is written with its size and where it begins on the print, as in: detail 40x30mm from 20mm 45mm.";
        let size = |t: &Token| {
            let (w, h) = t.text.trim_end_matches("mm").split_once(['x', '×'])?;
            let both = [number(w.trim_end_matches("mm"))?, number(h)?];
            both.iter().all(|v| *v > 0.0).then_some(both)
        };
        let [w, h] = token.filter(|t| !t.quoted).and_then(size).ok_or_else(|| format!("{form}{}", instead(token)))?;
        self.takes("mm");
        if !self.takes("from") {
            return Err(format!("{form}{}", self.instead()));
        }
        let (x, y) = (self.length("from")?, self.length("from")?);
        if x < 0.0 || y < 0.0 {
            return Err("A detail begins on the print: 0 mm or more from its left and top.".into());
        }
        Ok([x, y, w, h])
    }

    /// A length, with or without its unit, which may stand apart.
    fn length(&mut self, after: &str) -> Result<f64, String> {
        let token = self.take();
        let mm = token.filter(|t| !t.quoted).and_then(|t| number(t.text.trim_end_matches("mm")));
        // A decimal comma would silently name another print.
        let comma =
            self.peek().zip(self.tokens.get(self.next + 1)).zip(token).is_some_and(|((comma, after), number)| {
                let follows = comma.end == number.end + 1 && after.end == comma.end + after.text.len();
                comma.is(",") && follows && after.text.starts_with(|c: char| c.is_ascii_digit())
            });
        let mm = mm.filter(|_| !comma);
        self.takes("mm");
        mm.ok_or_else(|| {
            format!(
                "After “{after}” stands a length in mm from {} to {}, such as 30mm, with a point for a decimal.{}",
                LENGTHS.start(),
                LENGTHS.end(),
                instead(token)
            )
        })
    }

    /// What stands where something else should.
    fn instead(&self) -> String {
        instead(self.peek())
    }
}

fn number(text: &str) -> Option<f64> {
    text.parse::<f64>().ok().filter(|v| LENGTHS.contains(v))
}

fn instead(token: Option<&Token>) -> String {
    token.map_or_else(|| " The line ends too soon.".to_owned(), |t| format!(" Instead there is “{}”.", t.text))
}

fn begins(word: &str) -> String {
    format!(
        "“{word}” does not begin a page. A line begins with page, spread, blank, text, title, plates or colophon; a comment with #."
    )
}
