//! The flat plan: every spread on one page, small, as a drawing (SVG 1.1).

use crate::book::make::{Made, Thing};
use crate::book::sheet::{Area, Sheet};
use crate::book::small::Small;
use crate::text::{base64, escape};
use std::fmt::Write;

/// Height of a page on the plan, in the drawing's own units (CSS pixels).
const HEIGHT: f64 = 150.0;
/// Spreads to a row: a plan of 200 pages is then about square.
const ROW: usize = 6;
/// Space round spreads; below them stand the page numbers.
const GAP: f64 = 26.0;
/// Neutral ground, ink and secondary ink.
const GROUND: &str = "#E8E8E8";
const INK: &str = "#1A1A1A";
const WORDS: &str = "#9A9A9A";

/// How spreads hang.
struct Wall {
    /// Width and height of a page.
    page: [f64; 2],
    spreads: usize,
    columns: usize,
}

impl Wall {
    fn of(pages: usize, trim: [f64; 2]) -> Self {
        let spreads = pages / 2 + 1;
        Self { page: [trim[0] * HEIGHT / trim[1], HEIGHT], spreads, columns: ROW.min(spreads) }
    }

    /// Width and height of the plan.
    fn size(&self) -> [f64; 2] {
        let ([pw, ph], rows) = (self.page, self.spreads.div_ceil(self.columns));
        [self.columns as f64 * (2.0 * pw + GAP) + GAP, rows as f64 * (ph + 1.6 * GAP) + 2.6 * GAP]
    }

    /// Left and top of a spread.
    fn place(&self, spread: usize) -> [f64; 2] {
        let [pw, ph] = self.page;
        let (column, row) = (spread % self.columns, spread / self.columns);
        [GAP + column as f64 * (2.0 * pw + GAP), 1.7 * GAP + row as f64 * (ph + 1.6 * GAP)]
    }
}

/// Where each spread stands on the plan: left, top, width and height as shares of the plan's own.
pub fn spread_places(pages: usize, trim: [f64; 2]) -> Vec<[f64; 4]> {
    let wall = Wall::of(pages, trim);
    let ([w, h], [pw, ph]) = (wall.size(), wall.page);
    let of = |n: usize| {
        let [x, y] = wall.place(n);
        [x / w, y / h, 2.0 * pw / w, ph / h]
    };
    (0..wall.spreads).map(of).collect()
}

/// The plan. The first page stands alone at the right of its spread.
pub fn flat_plan(made: &Made, sheet: Sheet) -> String {
    let k = HEIGHT / sheet.trim[1];
    let wall = Wall::of(made.pages.len(), sheet.trim);
    let ([pw, ph], [w, h]) = (wall.page, wall.size());
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" width=\"{w:.0}\" height=\"{h:.0}\" viewBox=\"0 0 {w:.1} {h:.1}\">\n\
         <!-- Made by Fallside, safe to make again -->\n<title>Flat plan: {title}</title>\n\
         <rect width=\"100%\" height=\"100%\" fill=\"{GROUND}\"/>\n\
         <text x=\"{GAP}\" y=\"{GAP}\" font-family=\"Alegreya, serif\" font-size=\"15\" fill=\"{INK}\">{title}, {n} pages of {tw} × {th} mm</text>\n<defs>\n",
        title = escape(&made.about.title),
        n = made.pages.len(),
        tw = sheet.trim[0],
        th = sheet.trim[1],
    );
    for (i, picture) in made.pictures.iter().enumerate() {
        let data = base64(&png(&picture.thumb));
        let _ = writeln!(
            out,
            "<image id=\"p{i}\" width=\"1\" height=\"1\" preserveAspectRatio=\"none\" xlink:href=\"data:image/png;base64,{data}\"/>"
        );
    }
    out += "</defs>\n";
    for (i, page) in made.pages.iter().enumerate() {
        let [left, y] = wall.place(i.div_ceil(2));
        let x = left + if i % 2 == 0 { pw } else { 0.0 };
        let _ = writeln!(
            out,
            "<g transform=\"translate({x:.2} {y:.2})\"><rect width=\"{pw:.2}\" height=\"{ph:.2}\" fill=\"#FFFFFF\"/>"
        );
        for thing in &page.things {
            match thing {
                Thing::Picture(p, a, _) => {
                    let _ = writeln!(
                        out,
                        "<use xlink:href=\"#p{p}\" transform=\"translate({:.2} {:.2}) scale({:.3} {:.3})\"/>",
                        a.x * k,
                        a.y * k,
                        a.w * k,
                        a.h * k
                    );
                }
                Thing::Words(_, a) => bar(&mut out, a, k),
                Thing::Mark(_) => {}
            }
        }
        let middle = pw / 2.0;
        let _ = writeln!(
            out,
            "<text x=\"{middle:.1}\" y=\"{:.1}\" text-anchor=\"middle\" font-family=\"Alegreya Sans, sans-serif\" font-size=\"11\" fill=\"#565656\">{}</text></g>",
            ph + 15.0,
            i + 1
        );
        // The fold.
        if i % 2 == 0 && i > 0 {
            let _ = writeln!(
                out,
                "<line x1=\"{x:.2}\" x2=\"{x:.2}\" y1=\"{y:.2}\" y2=\"{:.2}\" stroke=\"#C9C9C9\" stroke-width=\"0.7\"/>",
                y + ph
            );
        }
    }
    out + "</svg>\n"
}

/// A line of words as a bar: too small to read, its place is what counts.
fn bar(out: &mut String, a: &Area, k: f64) {
    let _ = writeln!(
        out,
        "<rect x=\"{:.2}\" y=\"{:.2}\" width=\"{:.2}\" height=\"{:.2}\" fill=\"{WORDS}\"/>",
        a.x * k,
        a.y * k,
        a.w * k,
        (a.h * k).max(0.8)
    );
}

/// A PNG (ISO/IEC 15948) of rows that were deflated with its predictors.
pub(super) fn png(small: &Small) -> Vec<u8> {
    let mut out = b"\x89PNG\r\n\x1a\n".to_vec();
    let mut chunk = |name: &[u8; 4], data: &[u8]| {
        out.extend((data.len() as u32).to_be_bytes());
        let body = [name.as_slice(), data].concat();
        out.extend_from_slice(&body);
        let mut crc = libdeflater::Crc::new();
        crc.update(&body);
        out.extend(crc.sum().to_be_bytes());
    };
    let size = [(small.width as u32).to_be_bytes(), (small.height as u32).to_be_bytes()].concat();
    chunk(b"IHDR", &[size.as_slice(), &[8, 2, 0, 0, 0]].concat());
    chunk(b"sRGB", &[1]);
    chunk(b"IDAT", &small.deflated);
    chunk(b"IEND", &[]);
    out
}
