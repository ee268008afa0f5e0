//! The book before a picture is made ready: which print stands where on which page, and the words beside it.
//!
//! The same layout as the book's own. How far shadows reach is known only when the pictures are ready: where a shadow needs more
//! room, a row stands up to that much wider in the book.

use super::layout::Prints;
use super::leaves::What;
use super::make::{CAPTION, Settings, caption_lines, captions, faces, hung, page_numbers, pieces, title_lines};
use super::text_pages;
use super::typesetting::{self, POINTS, Style};
use crate::Plate;

/// A line of words.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// The words.
    pub text: String,
    /// Where its baseline begins, mm: its right end where it runs from the right.
    pub at: [f64; 2],
    /// It begins at the right.
    pub from_right: bool,
    /// Its paragraph runs from right to left.
    pub rtl: bool,
    /// Size of the type, mm.
    pub size: f64,
    /// In italics.
    pub italic: bool,
}

/// A page before it is made.
#[derive(Clone, Debug, Default)]
pub struct PlannedPage {
    /// Its prints.
    pub prints: Prints,
    /// Its words, but for those of the list of plates and the colophon.
    pub lines: Vec<Line>,
    /// What it is, where it holds no plates.
    pub name: Option<&'static str>,
}

/// All pages of a book.
///
/// # Errors
/// A sentence: a page too small for a print, a character that no font has.
pub fn planned(plates: &[Plate], s: &Settings) -> Result<Vec<PlannedPage>, String> {
    if let Some(fault) = s.sheet.fault() {
        return Err(fault);
    }
    let mut faces = faces(plates, s)?;
    let captions = captions(plates, s, &mut faces)?;
    let numbers = page_numbers(plates, s, &mut faces)?;
    let placed = hung(s, &numbers, &pieces(plates, s, &captions, None))?;
    let mut pages: Vec<PlannedPage> = vec![];
    let mut stands = 0;
    let named = |name| PlannedPage { name: Some(name), ..PlannedPage::default() };
    for (leaf, (prints, next)) in s.leaves.iter().zip(placed.into_iter().zip(&numbers[1..])) {
        match &leaf.what {
            What::Blank => pages.push(PlannedPage::default()),
            What::Title => {
                let lines = title_lines(s, &mut faces)?;
                let lines = lines.into_iter().map(|(t, style, pt, at)| line(&t, style, pt, at, false)).collect();
                pages.push(PlannedPage { lines, ..named("Title") });
            }
            What::Prints(page) => {
                let mut lines = vec![];
                for p in &prints {
                    let Some(at) = p.caption else { continue };
                    let said = caption_lines(p.plate + 1, &captions[stands + p.stand], &p.at, at);
                    lines.extend(said.into_iter().map(|(text, style, at, rtl)| line(&text, style, CAPTION, at, rtl)));
                }
                stands += page.stands.len();
                pages.push(PlannedPage { prints, lines, name: None });
            }
            What::Text(text) => {
                for set in text_pages::set(text, &s.sheet, pages.len() + 1, &mut faces)? {
                    let lines =
                        set.into_iter().map(|(t, style, pt, at)| line(&t.as_str().into(), style, pt, at, false));
                    let lines = lines.collect();
                    pages.push(PlannedPage { lines, ..PlannedPage::default() });
                }
            }
            What::Plates => pages.resize_with(next - 1, || named("List of plates")),
            What::Colophon => pages.push(named("Colophon")),
        }
    }
    pages.resize_with(pages.len().next_multiple_of(s.signature.max(1)), PlannedPage::default);
    Ok(pages)
}

fn line(text: &typesetting::Line, style: Style, points: f64, at: [f64; 2], from_right: bool) -> Line {
    let (rtl, italic) = (text.is_rtl(), matches!(style, Style::Italic));
    Line { text: text.to_string(), at, from_right, rtl, size: points / POINTS, italic }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::leaves::in_turn;
    use crate::book::{Arrangement, Sheet, Smalls};
    use crate::plate::tests::plate;

    fn settings(turn: Vec<Arrangement>) -> Settings {
        Settings {
            sheet: Sheet::default(),
            leaves: in_turn(&[false; 2], &turn, 1.0),
            ppi: 400.0,
            first_dot: 0.0,
            limit: 3.0,
            printer: None,
            keep_rgb: false,
            title: "Low water".into(),
            author: String::new(),
            captions: true,
            page_numbers: false,
            crop_marks: false,
            signature: 4,
            smalls: Smalls::Plan,
            fonts: Default::default(),
            day: (2026, 11, 25),
            id: [0; 16],
        }
    }

    /// By hand: a title and its empty back, then two plates alone on right pages, the list on a right page, the colophon, and empty
    /// leaves to whole fours.
    #[test]
    fn pages_come_as_in_the_book() {
        let plates = [plate(), plate()];
        let pages = planned(&plates, &settings(vec![Arrangement::Single])).unwrap();
        let prints: Vec<usize> = pages.iter().map(|p| p.prints.len()).collect();
        assert_eq!(prints, [0, 0, 1, 0, 1, 0, 0, 0]);
        let names: Vec<Option<&str>> = pages.iter().map(|p| p.name).collect();
        assert_eq!((names[0], names[6], names[7]), (Some("Title"), Some("List of plates"), Some("Colophon")));
        let at = pages[2].prints[0].at;
        assert_eq!((at.w, at.h, at.x + at.w / 2.0), (88.0, 107.0, 120.0));
        // The number stands at the print's left edge under it, in 9.5 points of 1/72 inch.
        let number = &pages[4].lines[0];
        assert_eq!((number.text.as_str(), number.at[0]), ("2", at.x));
        assert!(number.at[1] > at.foot() && (number.size - 9.5 * 25.4 / 72.0).abs() < 1e-3, "{number:?}");
        assert_eq!(pages[0].lines[0].text, "Low water");
        let small = Settings { sheet: Sheet { trim: [90.0, 90.0], ..Sheet::default() }, ..settings(vec![]) };
        assert!(planned(&plates, &small).unwrap_err().contains("too small"));
    }
}
