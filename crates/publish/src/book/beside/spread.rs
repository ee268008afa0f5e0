//! A preview of a spread (SVG 1.1): its pages, with text as glyph outlines.

use crate::book::make::{Made, Thing};
use crate::book::pdf::Mark;
use crate::book::sheet::{Area, Sheet};
use crate::book::typesetting::{Faces, POINTS};
use crate::text::base64;
use std::fmt::Write;

/// Black type and lines, as they look on paper: full black of one ink is no darker (common practice, no source).
const INK: &str = "#1A1A1A";
/// The pages' fold.
const FOLD: &str = "#C9C9C9";

/// Spread `n` of the book in millimetres; the first one is page 1 alone at the right. `None` where there is none.
pub fn spread(made: &Made, sheet: Sheet, n: usize) -> Option<String> {
    let [w, h] = sheet.trim;
    let pages: Vec<usize> = [(2 * n).checked_sub(1), Some(2 * n)].into_iter().flatten().collect();
    let pages: Vec<usize> = pages.into_iter().filter(|p| *p < made.pages.len()).collect();
    if pages.is_empty() {
        return None;
    }
    let numbers: Vec<String> = pages.iter().map(|p| (p + 1).to_string()).collect();
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" width=\"{:.1}mm\" height=\"{h:.1}mm\" viewBox=\"0 0 {:.3} {h:.3}\">\n\
         <!-- Made by Fallside, safe to make again -->\n<title>{}</title>\n",
        2.0 * w,
        2.0 * w,
        numbers.join(" and "),
    );
    for page in &pages {
        // Page 1 is the book's first right page: even places here are right ones.
        let x = if page % 2 == 0 { w } else { 0.0 };
        let _ = writeln!(
            out,
            "<svg x=\"{x:.3}\" width=\"{w:.3}\" height=\"{h:.3}\" viewBox=\"0 0 {w:.3} {h:.3}\"><rect width=\"{w:.3}\" height=\"{h:.3}\" fill=\"#FFFFFF\"/>"
        );
        made.pages[*page].things.iter().for_each(|thing| draw(&mut out, made, thing));
        out += "</svg>\n";
    }
    if pages.len() == 2 {
        let _ = writeln!(out, "<path d=\"M{w:.3} 0V{h:.3}\" stroke=\"{FOLD}\" stroke-width=\"0.3\"/>");
    }
    Some(out + "</svg>\n")
}

fn draw(out: &mut String, made: &Made, thing: &Thing) {
    match thing {
        Thing::Picture(i, area, _) => {
            let small = &made.pictures[*i].seen;
            let data = base64(&super::plan::png(small));
            let [w, h] = [area.w * small.shows[0], area.h * small.shows[1]];
            let _ = writeln!(
                out,
                "<image x=\"{:.3}\" y=\"{:.3}\" width=\"{w:.3}\" height=\"{h:.3}\" preserveAspectRatio=\"none\" xlink:href=\"data:image/png;base64,{data}\"/>",
                area.x, area.y
            );
        }
        Thing::Mark(mark) | Thing::Words(mark, _) => self::mark(out, &made.faces, mark),
    }
}

fn mark(out: &mut String, faces: &Faces, mark: &Mark) {
    let rect = |out: &mut String, at: &Area, fill: &str| {
        let _ = writeln!(
            out,
            "<rect x=\"{:.3}\" y=\"{:.3}\" width=\"{:.3}\" height=\"{:.3}\" fill=\"{fill}\"/>",
            at.x, at.y, at.w, at.h
        );
    };
    match mark {
        Mark::Words(runs, size, [left, base]) => {
            // Thousandths of the type size to millimetres; a face's y goes up.
            let k = size / POINTS / 1000.0;
            let _ =
                write!(out, "<g transform=\"translate({left:.3} {base:.3}) scale({k:.6} {:.6})\" fill=\"{INK}\">", -k);
            for run in runs {
                let mut x = run.at;
                for glyph in &run.glyphs {
                    let path = faces.all.get(run.face).and_then(|f| f.outline(glyph.id)).unwrap_or_default();
                    if !path.is_empty() {
                        let _ = write!(
                            out,
                            "<path transform=\"translate({:.1} {:.1})\" d=\"{path}\"/>",
                            x + glyph.moved[0],
                            glyph.moved[1]
                        );
                    }
                    x += glyph.advance;
                }
            }
            *out += "</g>\n";
        }
        Mark::Fill(at, black) => {
            let code = ((1.0 - black) * 255.0).round();
            rect(out, at, &format!("rgb({code},{code},{code})"));
        }
        Mark::Colour(at, rgb) => {
            let [r, g, b] = rgb.map(|v| (v * 255.0).round());
            rect(out, at, &format!("rgb({r},{g},{b})"));
        }
        Mark::Line(from, to) => {
            // A quarter point, as in the file.
            let _ = writeln!(
                out,
                "<path d=\"M{:.3} {:.3}L{:.3} {:.3}\" stroke=\"{INK}\" stroke-width=\"{:.3}\"/>",
                from[0],
                from[1],
                to[0],
                to[1],
                0.25 / POINTS
            );
        }
        // The book's pages hold their pictures as things of their own.
        Mark::Picture(..) => {}
    }
}
