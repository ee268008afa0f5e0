//! The cover as a file of its own: one sheet with crop marks, and marks where it folds.

use super::{copied, say, whole};
use crate::book::cover::{self, Cover, NARROWEST};
use crate::book::make::{Fault, Made, Settings, title_lines};
use crate::book::pdf::{About, Mark, Pdf, Set, Turned};
use crate::book::sheet::{CENTRED, ROUND, Sheet, Side, TOP, cut_and_fold};
use crate::book::typesetting::{POINTS, Style};
use std::io::{Read, Seek, Write};

/// Writes the cover. The picture is copied from the finished `book`.
///
/// # Errors
/// No print of that name stands in the book; it does not fit; the book cannot be read again; as writing goes.
pub fn cover<R: Read + Seek, W: Write>(
    made: &mut Made,
    s: &Settings,
    how: &Cover,
    book: &mut R,
    out: W,
) -> Result<(), Fault> {
    let parts = cover::parts(made.pages.len(), &s.sheet, how);
    let about = About { title: format!("{}: cover", made.about.title), ..made.about.clone() };
    let mut pdf = Pdf::new(out, parts.sheet, 1.0, made.press.as_ref(), about)?;
    pdf.leave_round(ROUND);
    let mut marks = vec![];
    let titled = title_lines(s, &mut made.faces).map_err(Fault::Refused)?;
    // With a print, title and author stand above it; by themselves they stand as on the title page.
    let up = if how.print.is_some() { s.sheet.trim[1] * (CENTRED - TOP) } else { 0.0 };
    if let Some(name) = &how.print {
        let found = made.pictures.iter().position(|k| k.name == *name && !k.back && k.detail.is_none());
        let i = found
            .ok_or_else(|| Fault::Refused(format!("{name} is not in the book whole, so it cannot be on its cover.")))?;
        let k = &made.pictures[i];
        let [w, h] = k.print_mm;
        // Under the title, in the middle of what is left above the safe zone.
        let at = [parts.front.x + (parts.front.w - w) / 2.0, s.sheet.trim[1] - s.sheet.safe - k.reach[3] - h - LOW];
        let live = s.sheet.live(Side::Right);
        let under = titled.last().map_or(live.y, |l| l.3[1] - up + UNDER);
        if at[1] - k.reach[1] < under || w + k.reach[0] + k.reach[2] > live.w {
            return Err(Fault::Refused(format!("{name} does not fit under the title on the front of the cover.")));
        }
        let id = copied(made, i, book, &mut pdf)?;
        marks.push(Mark::Picture(id, whole(k, at)));
    }
    for (text, style, size, [x, y]) in titled {
        let runs = made.faces.set(&text, style).map_err(Fault::Refused)?;
        marks.push(Mark::Words(runs, size, [parts.front.x + x, y - up]));
    }
    let cuts = cut_and_fold(&parts.sheet.page(), parts.sheet.bleed, &parts.folds());
    marks.extend(cuts.into_iter().map(|[from, to]| Mark::Line(from, to)));
    let named =
        [s.title.as_str(), s.author.as_str()].into_iter().filter(|t| !t.is_empty()).collect::<Vec<_>>().join("   ");
    let mut sets = vec![];
    if parts.spine.w >= NARROWEST && !named.is_empty() {
        let page = Sheet { trim: [parts.spine.h, parts.spine.w], bleed: 0.0, safe: 0.0, gutter: 0.0 };
        // Half of the spine, at most 14 points: room beside the letters for a fold that is a little off.
        let size = (parts.spine.w * 0.5 * POINTS).min(14.0);
        let width = made.faces.width(&named, Style::Roman, size).map_err(Fault::Refused)?;
        let scale = ((parts.spine.h - 2.0 * ROUND) / width).min(1.0);
        let size = size * scale;
        let base = (parts.spine.w + 0.65 * size / POINTS) / 2.0;
        let mut words = vec![];
        say(&mut made.faces, &mut words, &named, size, [s.sheet.trim[1] * TOP, base])?;
        let form = pdf.form(&words, page)?;
        sets.push(Set { form, page, at: parts.spine, shown: parts.spine, turned: Turned::Quarter });
    }
    pdf.sheet_with(&sets, &marks)?;
    pdf.finish(&made.faces)?;
    Ok(())
}

/// Height that stays below a print on the front, and least height between the last line of words and it, mm.
const LOW: f64 = 20.0;
const UNDER: f64 = 6.0;
