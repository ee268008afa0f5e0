//! What the book's pages hold, in order: made from arrangements in turn, or by an author's list of pages.

use super::layout::{Arrangement, Hung, Stand, turns};
use super::sheet::Side;
use super::text_pages::Text;

/// A page of the book, or several of one kind.
#[derive(Clone, Debug, PartialEq)]
pub struct Leaf {
    /// What it holds.
    pub what: What,
    /// It is the left page of a spread.
    pub opens_spread: bool,
    /// Where its author wrote it, for what is said of it: `book.txt, line 7`.
    pub said_at: Option<String>,
}

/// What a page holds.
#[derive(Clone, Debug, PartialEq)]
pub enum What {
    /// Nothing.
    Blank,
    /// The book's title and author.
    Title,
    /// Prints.
    Prints(Hung),
    /// A text, as many pages as it takes.
    Text(Text),
    /// The list of plates, as many pages as it takes.
    Plates,
    /// How the book was made.
    Colophon,
}

impl From<What> for Leaf {
    fn from(what: What) -> Self {
        Self { what, opens_spread: false, said_at: None }
    }
}

impl Leaf {
    /// Its prints, in order.
    pub fn stands(&self) -> &[Stand] {
        if let What::Prints(page) = &self.what { &page.stands } else { &[] }
    }

    /// A sentence about it, with the place in the author's list.
    pub fn says(&self, what: &str) -> String {
        self.said_at.as_ref().map_or_else(|| what.to_owned(), |at| format!("{at}: {what}"))
    }
}

/// The pages of a book whose plates are arranged in turn: title, plates, list of plates, colophon. `backs`: which plates have a back.
pub fn in_turn(backs: &[bool], turn: &[Arrangement], scale: f64) -> Vec<Leaf> {
    let mut leaves = vec![What::Title.into(), What::Blank.into()];
    let hung = turns(backs, turn, scale, leaves.len() + 1);
    leaves.extend(hung.into_iter().map(|page| match page.stands.is_empty() {
        true => Leaf::from(What::Blank),
        false => What::Prints(page).into(),
    }));
    // The list begins on a right page.
    if Side::of(leaves.len() + 1) == Side::Left {
        leaves.push(What::Blank.into());
    }
    leaves.extend([What::Plates.into(), What::Colophon.into()]);
    leaves
}

/// The number of each leaf's first page, and of the page after the last; `pages` says how many a leaf takes that begins on a page.
///
/// # Errors
/// A spread begins on a right page; what `pages` says.
pub(super) fn numbered(
    leaves: &[Leaf],
    mut pages: impl FnMut(&Leaf, usize) -> Result<usize, String>,
) -> Result<Vec<usize>, String> {
    let mut numbers = vec![1];
    let mut next = 1;
    for leaf in leaves {
        if leaf.opens_spread && Side::of(next) == Side::Right {
            return Err(leaf.says(&format!(
                "A spread begins on a left page, but this would be page {next}, a right one. Write “blank” or another page before it."
            )));
        }
        next += pages(leaf, next)?;
        numbers.push(next);
    }
    Ok(numbers)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_spread_begins_on_a_left_page() {
        let spread = Leaf { opens_spread: true, said_at: Some("b.txt, line 3".into()), ..What::Blank.into() };
        let one = |_: &Leaf, _: usize| Ok(1);
        assert_eq!(numbered(&[What::Title.into(), spread.clone()], one), Ok(vec![1, 2, 3]));
        let says = numbered(&[What::Title.into(), What::Blank.into(), spread], one).unwrap_err();
        assert!(says.starts_with("b.txt, line 3: ") && says.contains("page 3, a right one"), "{says}");
    }
}
