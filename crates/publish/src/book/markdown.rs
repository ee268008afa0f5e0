//! Text of a book from Markdown (CommonMark): headings, paragraphs, emphasis, lists and quotations; what a book of prints needs and no more.

use super::typesetting::Style;
use pulldown_cmark::{Event, HeadingLevel, Parser, Tag, TagEnd};

/// Most words of one text: a long essay, not a novel (ours).
const MOST_WORDS: usize = 200_000;

/// What a block of text is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A chapter's name.
    Chapter,
    /// A smaller heading.
    Heading,
    /// A paragraph.
    Paragraph,
    /// A quotation.
    Quote,
    /// An item of a list, and what stands before it.
    Item(String),
    /// A pause between paragraphs.
    Pause,
}

/// A word in its style.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Word {
    /// Pieces of it, each in one style: “*ferry*,” has two.
    pub pieces: Vec<(String, bool)>,
    /// A new line begins after it.
    pub breaks: bool,
}

/// A block of text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Block {
    /// What it is.
    pub kind: Kind,
    /// Its words.
    pub words: Vec<Word>,
}

/// The style of a piece of a word: emphasis is italic.
pub(super) fn style(emphasised: bool) -> Style {
    if emphasised { Style::Italic } else { Style::Roman }
}

/// Reads a text.
///
/// # Errors
/// Line and what a book cannot set: pictures, HTML; a text that is too long.
pub fn read(text: &str) -> Result<Vec<Block>, (usize, String)> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut reader = Reader::default();
    for (event, at) in Parser::new(text).into_offset_iter() {
        let line = || 1 + text[..at.start].matches('\n').count();
        reader.take(event).map_err(|says| (line(), says))?;
    }
    reader.close();
    let words: usize = reader.blocks.iter().map(|b| b.words.len()).sum();
    if words > MOST_WORDS {
        return Err((1, format!("The text has {words} words; a book of prints holds {MOST_WORDS}.")));
    }
    Ok(reader.blocks)
}

#[derive(Default)]
struct Reader {
    blocks: Vec<Block>,
    /// The block that is being read.
    open: Option<Block>,
    /// The last word ended: the next text begins another.
    apart: bool,
    emphasis: usize,
    quotes: usize,
    /// Numbers of the lists that are open; none for one without.
    lists: Vec<Option<u64>>,
    /// What stands before the next block.
    mark: Option<String>,
}

impl Reader {
    fn take(&mut self, event: Event) -> Result<(), String> {
        match event {
            Event::Start(tag) => self.start(tag)?,
            Event::End(end) => self.end(end),
            Event::Text(text) | Event::Code(text) => self.text(&text),
            Event::SoftBreak => self.apart = true,
            Event::HardBreak => {
                if let Some(word) = self.open.as_mut().and_then(|b| b.words.last_mut()) {
                    word.breaks = true;
                }
                self.apart = true;
            }
            Event::Rule => {
                self.close();
                self.blocks.push(Block { kind: Kind::Pause, words: vec![] });
            }
            // A comment is no text.
            Event::Html(html) | Event::InlineHtml(html) if !html.trim_start().starts_with("<!--") => {
                return Err("HTML cannot be set in a book: write the text without it.".into());
            }
            _ => {}
        }
        Ok(())
    }

    fn start(&mut self, tag: Tag) -> Result<(), String> {
        match tag {
            Tag::Paragraph | Tag::CodeBlock(_) => self.begin(),
            Tag::Heading { level, .. } => {
                self.close();
                let kind = if level == HeadingLevel::H1 { Kind::Chapter } else { Kind::Heading };
                self.open = Some(Block { kind, words: vec![] });
            }
            Tag::BlockQuote(_) => {
                self.close();
                self.quotes += 1;
            }
            Tag::List(first) => {
                self.close();
                self.lists.push(first);
            }
            Tag::Item => {
                self.close();
                let mark = match self.lists.last_mut() {
                    Some(Some(n)) => {
                        *n += 1;
                        format!("{}.", *n - 1)
                    }
                    _ => "–".into(),
                };
                self.mark = Some(mark);
            }
            // Emphasis is italic, of both degrees: the book has two styles of one face.
            Tag::Emphasis | Tag::Strong => self.emphasis += 1,
            Tag::Image { .. } => {
                return Err(
                    "A picture cannot stand in a text: put the print on a page of its own, with page or spread.".into(),
                );
            }
            _ => {}
        }
        Ok(())
    }

    fn end(&mut self, end: TagEnd) {
        match end {
            TagEnd::Paragraph | TagEnd::CodeBlock | TagEnd::Heading(_) | TagEnd::Item => self.close(),
            TagEnd::BlockQuote(_) => {
                self.close();
                self.quotes -= 1;
            }
            TagEnd::List(_) => {
                self.close();
                self.lists.pop();
            }
            TagEnd::Emphasis | TagEnd::Strong => self.emphasis -= 1,
            _ => {}
        }
    }

    fn begin(&mut self) {
        self.close();
        let kind = match self.mark.take() {
            Some(mark) => Kind::Item(mark),
            None if self.quotes > 0 => Kind::Quote,
            None => Kind::Paragraph,
        };
        self.open = Some(Block { kind, words: vec![] });
        self.apart = true;
    }

    fn close(&mut self) {
        self.blocks.extend(self.open.take().filter(|b| !b.words.is_empty()));
        self.apart = true;
    }

    fn text(&mut self, text: &str) {
        if self.open.is_none() {
            self.begin();
        }
        let emphasised = self.emphasis > 0;
        let Some(block) = &mut self.open else { return };
        let mut apart = self.apart;
        // A no-break space keeps its words together, as it should.
        for (i, part) in text.split([' ', '\t', '\n']).enumerate() {
            apart |= i > 0;
            if part.is_empty() {
                continue;
            }
            match block.words.last_mut().filter(|_| !apart) {
                Some(word) => word.pieces.push((part.to_owned(), emphasised)),
                None => block.words.push(Word { pieces: vec![(part.to_owned(), emphasised)], breaks: false }),
            }
            apart = false;
        }
        self.apart = text.ends_with([' ', '\t', '\n']);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(blocks: &[Block]) -> Vec<(Kind, String)> {
        let piece = |(t, e): &(String, bool)| if *e { format!("/{t}/") } else { t.clone() };
        let word = |w: &Word| w.pieces.iter().map(piece).collect::<String>() + if w.breaks { "⏎" } else { "" };
        blocks.iter().map(|b| (b.kind.clone(), b.words.iter().map(word).collect::<Vec<_>>().join(" "))).collect()
    }

    /// By the CommonMark specification (0.31): what each mark means.
    #[test]
    fn markdown_means_what_its_specification_says() {
        let text = "\u{feff}# The harbour\n\nOne *ferry*, **two**\nferries.  \nA line.\n\n> Said\n> so.\n\n3. three\n4. four\n\n- dash\n\n***\n\n<!-- not this -->\n\nEnd";
        let kinds = said(&read(text).unwrap());
        let want = [
            (Kind::Chapter, "The harbour"),
            (Kind::Paragraph, "One /ferry/, /two/ ferries.⏎ A line."),
            (Kind::Quote, "Said so."),
            (Kind::Item("3.".into()), "three"),
            (Kind::Item("4.".into()), "four"),
            (Kind::Item("–".into()), "dash"),
            (Kind::Pause, ""),
            (Kind::Paragraph, "End"),
        ];
        assert_eq!(kinds, want.map(|(k, t)| (k, t.to_owned())));
    }

    #[test]
    fn what_cannot_be_set_is_refused_with_its_line() {
        assert_eq!(read("a\n\nb ![x](../../etc/passwd)").unwrap_err().0, 3);
        assert!(read("<b>x</b>").unwrap_err().1.contains("HTML"));
    }
}
