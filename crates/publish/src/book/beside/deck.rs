//! The working deck: every print as a true-size card to cut out, with its number and a machine-readable mark, to arrange on a
//! table.

use super::{say, whole};
use crate::Plate;
use crate::book::make::{Fault, Made};
use crate::book::pdf::{About, Mark, Pdf, Space};
use crate::book::sheet::{Area, Sheet};
use crate::book::typesetting::{Faces, Style};
use qrcodegen::{QrCode, QrCodeEcc};
use std::io::Write;

/// A sheet of cards: A4 (ISO 216), mm, what stands beside every desk.
pub const A4: [f64; 2] = [210.0, 297.0];
/// Margin that desk printers leave, mm, and space between cards.
const MARGIN: f64 = 8.0;
const BETWEEN: f64 = 6.0;
/// The strip below the print that carries number and mark, mm.
const STRIP: f64 = 14.0;
/// Side of the mark: 21 modules of half a millimetre, six dots of a 300 dpi printer each.
const CODE: f64 = 10.5;

/// Writes the deck.
///
/// # Errors
/// A print is larger than the sheet; as writing goes.
pub fn deck<W: Write>(plates: &[Plate], made: &Made, out: W) -> Result<(), Fault> {
    let mut faces = made.faces.fresh();
    let about = About { title: format!("{}: working deck", made.about.title), ..made.about.clone() };
    let sheet = Sheet { trim: A4, bleed: 0.0, safe: MARGIN, gutter: MARGIN };
    let mut pdf = Pdf::new(out, sheet, 1.0, None, about)?;
    let fronts = made.fronts();
    let sizes: Vec<(&str, [f64; 2])> = fronts.iter().map(|k| (k.name.as_str(), k.print_mm)).collect();
    let mut marks = vec![];
    let mut sheet = 0;
    for (k, (on, Area { x, y, w, h })) in fronts.into_iter().zip(dealt(&sizes).map_err(Fault::Refused)?) {
        if on > sheet {
            pdf.page(&std::mem::take(&mut marks), None)?;
            sheet = on;
        }
        let picture = pdf.picture([k.seen.width, k.seen.height], &k.seen.deflated, Space::Srgb)?;
        let area = whole(k, [x, y]);
        marks.push(Mark::Picture(picture, Area { w: area.w * k.seen.shows[0], h: area.h * k.seen.shows[1], ..area }));
        card(&mut faces, &mut marks, &plates[k.plate], k.plate + 1, Area { x, y, w, h })?;
    }
    if !marks.is_empty() {
        pdf.page(&marks, None)?;
    }
    pdf.finish(&faces)?;
    Ok(())
}

/// Where the cards of prints of these names and sizes lie, mm: the sheet's number from 0, and the card with its strip.
///
/// # Errors
/// A sentence: a print is larger than the sheet.
pub fn dealt(prints: &[(&str, [f64; 2])]) -> Result<Vec<(usize, Area)>, String> {
    let mut cards = vec![];
    let (mut sheet, mut x, mut y, mut row) = (0, MARGIN, MARGIN, 0.0_f64);
    for (name, [w, h]) in prints.iter().map(|(name, [w, h])| (name, [*w, h + STRIP])) {
        if w > A4[0] - 2.0 * MARGIN || h > A4[1] - 2.0 * MARGIN {
            return Err(format!("{name} is larger than a card on an A4 sheet can be: leave out the deck."));
        }
        if x + w > A4[0] - MARGIN {
            (x, y, row) = (MARGIN, y + row + BETWEEN, 0.0);
        }
        if y + h > A4[1] - MARGIN {
            (sheet, x, y, row) = (sheet + 1, MARGIN, MARGIN, 0.0);
        }
        cards.push((sheet, Area { x, y, w, h }));
        x += w + BETWEEN;
        row = row.max(h);
    }
    Ok(cards)
}

/// Strip, mark and the corners to cut by.
fn card(faces: &mut Faces, marks: &mut Vec<Mark>, plate: &Plate, number: usize, at: Area) -> Result<(), Fault> {
    let top = at.foot() - STRIP;
    // The shadow ends under the strip: it is no part of a card.
    marks.push(Mark::Fill(Area { y: top, h: STRIP + 1.0, ..at }, 0.0));
    code(marks, &plate.name, [at.x + 1.5, top + (STRIP - CODE) / 2.0])?;
    let x = at.x + 1.5 + CODE + 3.0;
    say(faces, marks, &format!("{number}  {}", plate.name), 10.0, [x, top + 6.0])?;
    let room = at.right() - x - 1.0;
    let title = faces.lines(&plate.words.title, Style::Roman, 8.0, room).map_err(Fault::Refused)?;
    if let Some(first) = title.first().filter(|t| !t.is_empty()) {
        // Words from the right end at the card's edge.
        let left =
            if first.is_rtl() { room - faces.width(first, Style::Roman, 8.0).map_err(Fault::Refused)? } else { 0.0 };
        say(faces, marks, first, 8.0, [x + left, top + 11.0])?;
    }
    for (cx, sx) in [(at.x, -1.0), (at.right(), 1.0)] {
        for (cy, sy) in [(at.y, -1.0), (at.foot(), 1.0)] {
            marks.push(Mark::Line([cx + sx, cy], [cx + 2.6 * sx, cy]));
            marks.push(Mark::Line([cx, cy + sy], [cx, cy + 2.6 * sy]));
        }
    }
    Ok(())
}

/// A matrix code (ISO/IEC 18004) that holds the print's name.
fn code(marks: &mut Vec<Mark>, name: &str, [x, y]: [f64; 2]) -> Result<(), Fault> {
    let code = QrCode::encode_text(name, QrCodeEcc::Medium)
        .map_err(|_| Fault::Refused(format!("The name {name} is too long for a mark on a card.")))?;
    let n = code.size();
    let side = CODE / f64::from(n);
    for j in 0..n {
        // Dark modules that touch are one bar: fewer marks, and no hairlines between them.
        let mut i = 0;
        while i < n {
            let from = i;
            while i < n && code.get_module(i, j) {
                i += 1;
            }
            if i > from {
                let at = Area {
                    x: x + f64::from(from) * side,
                    y: y + f64::from(j) * side,
                    w: f64::from(i - from) * side,
                    h: side,
                };
                marks.push(Mark::Fill(at, 1.0));
            }
            i += 1;
        }
    }
    Ok(())
}
