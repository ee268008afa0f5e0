//! The book's pages imposed on sheets to print at a desk, fold and stitch: a zine, or a dummy with the book's own pictures.

use super::copied;
use crate::book::imposed::Laid;
use crate::book::make::{Fault, Made};
use crate::book::pdf::{About, Mark, Pdf, Set, Turned};
use crate::book::sheet::Sheet;
use std::io::{Read, Seek, Write};

/// Writes the sheets. Pictures are copied from the finished `book`, as they stand there.
///
/// # Errors
/// The book cannot be read again; as writing goes.
pub fn zine<R: Read + Seek, W: Write>(
    made: &Made,
    page: Sheet,
    laid: &Laid,
    paper: [f64; 2],
    book: &mut R,
    out: W,
) -> Result<(), Fault> {
    let about = About { title: format!("{}: zine", made.about.title), ..made.about.clone() };
    let sheet = Sheet { trim: paper, bleed: 0.0, safe: 0.0, gutter: 0.0 };
    let mut pdf = Pdf::new(out, sheet, 1.0, made.press.as_ref(), about)?;
    let mut refs = vec![];
    for i in 0..made.pictures.len() {
        refs.push((copied(made, i, book, &mut pdf)?, [1.0; 2]));
    }
    let mut forms = vec![];
    for of in &made.pages {
        let marks = of.marks(&refs);
        // Nothing is set for an empty page.
        forms.push(if marks.is_empty() { None } else { Some(pdf.form(&marks, page)?) });
    }
    for side in &laid.sides {
        let set = |s: &crate::book::imposed::Slot| {
            let form = (*forms.get(s.page - 1)?)?;
            Some(Set {
                form,
                page,
                at: s.at,
                shown: s.shown,
                turned: if s.upside_down { Turned::Half } else { Turned::No },
            })
        };
        let sets: Vec<Set> = side.slots.iter().filter_map(set).collect();
        let lines: Vec<Mark> = side.marks.iter().map(|[from, to]| Mark::Line(*from, *to)).collect();
        pdf.sheet_with(&sets, &lines)?;
    }
    pdf.finish(&made.faces)?;
    Ok(())
}
