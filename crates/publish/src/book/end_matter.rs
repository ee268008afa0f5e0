//! The list of plates and the colophon, which end a book.

use super::make::{LEADING, Page, SMALL, Settings, begun, line, stands};
use super::picture::Kept;
use super::press::Press;
use super::sheet::{Area, Side};
use super::text_pages::COLUMN;
use super::typesetting::{Faces, Line, Style};
use super::words;
use crate::Plate;
use crate::plate::AS_SHOT;

/// Size of the list's heading, points.
const HEADING: f64 = 15.0;

/// Adds the pages of the list of plates: each plate's number, words and page.
///
/// # Errors
/// A character that no font has.
pub(super) fn list(
    pages: &mut Vec<Page>,
    plates: &[Plate],
    s: &Settings,
    page_of: &[usize],
    faces: &mut Faces,
) -> Result<(), String> {
    let mut page = Page { name: Some("Plates".into()), ..Page::default() };
    let top = s.sheet.trim[1] * 0.12;
    let area = |side: Side| {
        let live = s.sheet.live(side);
        let w = live.w.min(COLUMN);
        Area { x: live.x + (live.w - w) / 2.0, y: live.y, w, h: live.h }
    };
    let mut column = area(Side::of(pages.len() + 1));
    let mut y = top.max(column.y + 6.0);
    page.things.push(line(faces, "Plates", Style::Roman, HEADING, [column.x, y])?);
    y += 11.0;
    let shadows = plates.iter().any(|p| p.shadow != AS_SHOT);
    for (i, plate) in plates.iter().enumerate() {
        let text = words::listed(plate, shadows);
        let broken =
            faces.lines(&text, Style::Roman, SMALL, column.w - 22.0).map_err(|e| format!("{}: {e}", plate.name))?;
        if y + broken.len() as f64 * LEADING > column.foot() - 4.0 {
            pages.push(std::mem::take(&mut page));
            column = area(Side::of(pages.len() + 1));
            y = top.max(column.y + 6.0);
        }
        let number = (i + 1).to_string();
        let w = faces.width(&number, Style::Roman, SMALL)?;
        page.things.push(line(faces, &number, Style::Roman, SMALL, [column.x + 7.0 - w, y])?);
        let of = page_of[i].to_string();
        let w = faces.width(&of, Style::Italic, SMALL)?;
        page.things.push(line(faces, &of, Style::Italic, SMALL, [column.right() - w, y])?);
        for text in broken {
            // Words from the right end where the page numbers' column begins.
            let rtl = text.is_rtl();
            let begin = if rtl { column.right() - 12.0 } else { column.x + 10.0 };
            page.things.push(begun(faces, text, Style::Roman, SMALL, [begin, y], rtl)?);
            y += LEADING;
        }
        y += 1.2;
    }
    pages.push(page);
    Ok(())
}

/// How the book was made, at the foot of its last page.
///
/// # Errors
/// A page too small for it.
pub(super) fn colophon(
    plates: &[Plate],
    s: &Settings,
    pictures: &[Kept],
    press: Option<&Press>,
    side: Side,
    faces: &mut Faces,
) -> Result<Page, String> {
    let mut page = Page { name: Some("Colophon".into()), ..Page::default() };
    let live = s.sheet.live(side);
    let w = live.w.min(COLUMN);
    let mut lines = vec![];
    for paragraph in said(plates, s, pictures, press, &faces.others()) {
        if !lines.is_empty() {
            lines.push(Line::default());
        }
        lines.extend(faces.lines(&paragraph, Style::Roman, SMALL, w)?);
    }
    // It ends where the prints' page ends: at the foot.
    let mut y = live.foot() - 8.0 - (lines.len() - 1) as f64 * LEADING;
    if y < live.y {
        return Err(format!("The page is too small for the colophon: {} lines do not fit.", lines.len()));
    }
    let x = live.x + (live.w - w) / 2.0;
    for text in lines {
        if !text.is_empty() {
            page.things.push(line(faces, &text, Style::Roman, SMALL, [x, y])?);
        }
        y += LEADING;
    }
    Ok(page)
}

/// How it was made, a paragraph each.
fn said(plates: &[Plate], s: &Settings, pictures: &[Kept], press: Option<&Press>, others: &[&str]) -> Vec<String> {
    let count = plates.len();
    let prints = if count == 1 { "One instant print".to_owned() } else { format!("{count} instant prints") };
    let anew = pictures.iter().filter(|k| k.shadow != AS_SHOT).count();
    let shadow = match anew {
        0 => "the shadow it cast there",
        n if n == pictures.len() => {
            "the shadow that it would cast under another light, computed from how high its edges stood"
        }
        _ => "the shadow it cast there, or with the one that it would cast under another light",
    };
    let made = format!(
        "{prints}: {}. Each was photographed on white paper under one flash and set on white with {shadow}. Borders, \
         marks and colours belong to the prints.",
        words::formats(plates)
    );
    let least = pictures.iter().map(|k| k.ppi[1]).fold(f64::MAX, f64::min);
    let mut scales: Vec<f64> = stands(s).map(|t| t.scale).collect();
    scales.dedup();
    let size = match scales[..] {
        [1.0] => format!("Every print is shown at its true size, at {least:.0} pixels per inch or more."),
        [scale] => {
            format!("The prints are shown at {scale} times their true size, at {least:.0} pixels per inch or more.")
        }
        _ => format!(
            "The prints are shown at true size or as large as their pages say, at {least:.0} pixels per inch or more."
        ),
    };
    let bare: u64 = pictures.iter().map(|k| k.certificate.bare).sum();
    let mut white = format!(
        "The white around them is the paper: there is no ink on any of its {:.1} million pixels, as counted in the file.",
        bare as f64 / 1e6
    );
    if s.first_dot > 0.0 {
        white += &format!(
            " Their shadows end with the first dot that this press holds, {} %.",
            (s.first_dot * 1000.0).round() / 10.0
        );
    }
    let condition = press.map(|p| format!("Printing condition: {}.", p.name));
    let (y, m, d) = s.day;
    let day = dates::says(&format!("{y:04}-{m:02}-{d:02}"));
    let also = if others.is_empty() { String::new() } else { format!(", and in {}", others.join(", ")) };
    let set = format!(
        "Set in Alegreya by Juan Pablo del Peral (SIL Open Font License){also}. Made with {}, {day}.",
        super::pdf::CREATOR
    );
    [Some(made), Some(format!("{size} {white}")), condition, Some(set)].into_iter().flatten().collect()
}
