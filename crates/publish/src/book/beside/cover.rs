//! The cover as a file of its own: one sheet with crop marks, and marks where it folds.

use super::{say, whole};
use crate::book::cover::{self, Cover, NARROWEST};
use crate::book::make::{Fault, Made, Settings, title_lines};
use crate::book::pdf::{About, Mark, Pdf, Set, Turned};
use crate::book::sheet::{Sheet, Side};
use crate::book::typesetting::{POINTS, Style};
use std::io::{Read, Seek, SeekFrom, Write};

/// Space round the bleed for marks, mm, and the length of a mark.
const ROUND: f64 = 10.0;
const MARK: f64 = 5.0;

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
    // With a print, title and author stand above it; by themselves they stand as on the title page.
    let up = if how.print.is_some() { s.sheet.trim[1] * (0.38 - 0.12) } else { 0.0 };
    if let Some(name) = &how.print {
        let found = made.pictures.iter().position(|k| k.name == *name && !k.back && k.detail.is_none());
        let i = found
            .ok_or_else(|| Fault::Refused(format!("{name} is not in the book whole, so it cannot be on its cover.")))?;
        let (k, stream) = (&made.pictures[i], &made.streams[i]);
        book.seek(SeekFrom::Start(stream.start))?;
        let mut bytes = vec![0; (stream.end - stream.start) as usize];
        book.read_exact(&mut bytes)?;
        let [w, h] = k.print_mm;
        // Under the title, in the middle of what is left above the safe zone.
        let at = [parts.front.x + (parts.front.w - w) / 2.0, s.sheet.trim[1] - s.sheet.safe - k.reach[3] - h - LOW];
        let live = s.sheet.live(Side::Right);
        let under =
            title_lines(s, &mut made.faces).map_err(Fault::Refused)?.last().map_or(live.y, |l| l.3[1] - up + UNDER);
        if at[1] - k.reach[1] < under || w + k.reach[0] + k.reach[2] > live.w {
            return Err(Fault::Refused(format!("{name} does not fit under the title on the front of the cover.")));
        }
        let id = pdf.picture(k.size_px, &bytes, made.space)?;
        marks.push(Mark::Picture(id, whole(k, at)));
    }
    for (text, style, size, [x, y]) in title_lines(s, &mut made.faces).map_err(Fault::Refused)? {
        let runs = made.faces.set(&text, style).map_err(Fault::Refused)?;
        marks.push(Mark::Words(runs, size, [parts.front.x + x, y - up]));
    }
    marks.extend(around(&parts));
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
        say(&mut made.faces, &mut words, &named, size, [s.sheet.trim[1] * 0.12, base])?;
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

/// Crop marks at the corners and marks above and below where the sheet folds, outside the bleed.
fn around(parts: &cover::Parts) -> Vec<Mark> {
    let ([w, h], b) = (parts.sheet.trim, parts.sheet.bleed);
    let mut marks = vec![];
    for (y, out) in [(0.0, -1.0), (h, 1.0)] {
        for x in [0.0, w].into_iter().chain(parts.folds()) {
            marks.push(Mark::Line([x, y + out * (b + 1.0)], [x, y + out * (b + 1.0 + MARK)]));
        }
        for (x, side) in [(0.0, -1.0), (w, 1.0)] {
            marks.push(Mark::Line([x + side * (b + 1.0), y], [x + side * (b + 1.0 + MARK), y]));
        }
    }
    marks
}
