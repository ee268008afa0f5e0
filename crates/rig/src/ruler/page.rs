//! The page of the sheet: marks as paths in millimetres, text, a matrix code, and the geometry as attached file and XMP.

use super::pdf::{Pdf, number, string};
use geometry::ruler::{BAR, Mark, Paper, Sheet};
use geometry::{Angle, Point, point};
use pixels::colour::srgb_encode;
use qrcodegen::{QrCode, QrCodeEcc};
use std::fmt::Write;

/// Points of 1/72 in to the millimetre (ISO 32000-1, 8.3.2.3).
const POINTS: f64 = 72.0 / 25.4;
/// Side of the matrix code, mm: 25 modules of 0.4 mm, five dots of a 300 dpi printer.
const CODE: f64 = 10.0;

/// The whole file.
pub fn document(paper: Paper, bar_mm: Option<f64>, drawn: f64, json: &str) -> Vec<u8> {
    let (w, h) = paper.size();
    let mut pdf = Pdf::new();
    // Standard 14 fonts need no embedding (9.6.2.2); the sheet's measure does not hang on its words.
    let plain = pdf.object("<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding >>");
    let bold = pdf.object("<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica-Bold /Encoding /WinAnsiEncoding >>");
    let content = pdf.stream("", content(paper, bar_mm, drawn).as_bytes());
    let size = format!("/Params << /Size {} >>", json.len());
    let file = pdf.stream(&format!("/Type /EmbeddedFile /Subtype /application#2Fjson {size}"), json.as_bytes());
    let attached = pdf.object(&format!(
        "<< /Type /Filespec /F (ruler.json) /UF (ruler.json) /Desc (Geometry of this sheet) /EF << /F {file} 0 R >> >>"
    ));
    let metadata = pdf.stream("/Type /Metadata /Subtype /XML", xmp(paper, drawn).as_bytes());
    // Pages and page name each other: the page is the next object, its parent the one after.
    let parent = metadata + 2;
    let page = pdf.object(&format!(
        "<< /Type /Page /Parent {parent} 0 R /MediaBox [0 0 {} {}] /Contents {content} 0 R /Resources << /Font << /F1 {plain} 0 R /F2 {bold} 0 R >> >> >>",
        number(w * POINTS),
        number(h * POINTS)
    ));
    let pages = pdf.object(&format!("<< /Type /Pages /Kids [{page} 0 R] /Count 1 >>"));
    // No scaling to the page, as far as a reader heeds it (12.2).
    let root = pdf.object(&format!(
        "<< /Type /Catalog /Pages {pages} 0 R /Metadata {metadata} 0 R /Lang (en) /ViewerPreferences << /PrintScaling /None /DisplayDocTitle true >> /Names << /EmbeddedFiles << /Names [(ruler.json) {attached} 0 R] >> >> >>"
    ));
    pdf.finish(root)
}

fn content(paper: Paper, bar_mm: Option<f64>, drawn: f64) -> String {
    let (w, h) = paper.size();
    let mut out = String::new();
    // From here on coordinates are the sheet's own millimetres, y down.
    let k = number(POINTS);
    let _ = writeln!(out, "{k} 0 0 -{k} {} {} cm", number(w / 2.0 * POINTS), number(h / 2.0 * POINTS));
    let sheet = Sheet { scale: drawn, ..Sheet::new(paper) };
    sheet.marks().iter().for_each(|m| mark(&mut out, m));
    words(&mut out, paper, bar_mm);
    matrix_code(&mut out, paper, drawn);
    out
}

/// A mark as a filled path. Greys are given as sRGB codes, which is how readers take `DeviceGray` where they know no better.
fn mark(out: &mut String, m: &Mark) {
    let right = Point::at_angle(m.turn.to_rad());
    let down = right.quarter_turn();
    let corner = |u: f64, v: f64| m.centre + right * (u * m.half.0) + down * (v * m.half.1);
    let _ = write!(out, "{} g ", number(srgb_encode(m.tone)));
    for (i, (u, v)) in [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)].into_iter().enumerate() {
        let p = corner(u, v);
        let _ = write!(out, "{} {} {} ", number(p.x), number(p.y), if i == 0 { "m" } else { "l" });
    }
    out.push_str("h f\n");
}

fn words(out: &mut String, paper: Paper, bar_mm: Option<f64>) {
    let (_, h) = paper.size();
    let nominal = Sheet::new(paper);
    let (left, _) = nominal.half();
    let (bar, _) = nominal.bars()[0];
    let name = match paper {
        Paper::A4 => "A4",
        Paper::Letter => "US letter",
    };
    let top = -h / 2.0 + 10.5;
    text(out, "F2", 4.0, point(-left, top), &format!("Ruler sheet, {name}"));
    let lay = "Lay it flat where the prints will lie, so that its squares fill the frame. Whatever part of it the frame shows is enough.";
    text(out, "F1", 2.8, point(-left, top + 5.0), lay);
    let foot = bar.y + 4.6;
    let measure = format!(
        "Printers do not print true size. Print at 100 %, then measure this bar from end to end with a real ruler: it should be {BAR:.1} mm."
    );
    text(out, "F1", 2.8, point(-left, foot), &measure);
    let then = match bar_mm {
        None => {
            "If it is not, make the sheet again with  fallside ruler --bar-mm  and the length that you read.".into()
        }
        Some(mm) => format!(
            "Made with --bar-mm {mm}. If the bar is still not {BAR:.1} mm, make it again with {mm} times the length that you read, divided by {BAR}."
        ),
    };
    text(out, "F1", 2.8, point(-left, foot + 3.6), &then);
}

/// A line of words from its left end on its base line; the text matrix turns y up again.
fn text(out: &mut String, font: &str, size: f64, at: Point, words: &str) {
    let _ = writeln!(
        out,
        "BT 0 g /{font} {} Tf 1 0 0 -1 {} {} Tm {} Tj ET",
        number(size),
        number(at.x),
        number(at.y),
        string(words)
    );
}

/// What the sheet is, for any reader of ISO/IEC 18004 codes: schema, paper, and the scale it was drawn at.
fn matrix_code(out: &mut String, paper: Paper, drawn: f64) {
    let words = format!("fallside.ruler/1 {} {drawn:.5}", paper.name());
    // Under a hundred bytes fit any version, so there is always a code.
    let Ok(code) = QrCode::encode_text(&words, QrCodeEcc::Low) else { return };
    let nominal = Sheet::new(paper);
    let module = CODE / f64::from(code.size());
    let (_, foot) = nominal.half();
    let (right, _) = nominal.half();
    // Four modules stay bare around it, as the standard asks.
    let from = point(right - CODE, foot + 4.0 * module + 0.4);
    for y in 0..code.size() {
        for x in 0..code.size() {
            if code.get_module(x, y) {
                let centre = from + point(f64::from(x) + 0.5, f64::from(y) + 0.5) * module;
                // A hair over, so that neighbours meet without a seam.
                let half = module / 2.0 * 1.02;
                mark(out, &Mark { centre, half: (half, half), turn: Angle::default(), tone: 0.0 });
            }
        }
    }
}

/// Title, description and the geometry's essence as XMP (ISO 16684-1). No date: the same words give the same file.
fn xmp(paper: Paper, drawn: f64) -> String {
    let name = paper.name();
    format!(
        "<?xpacket begin=\"\u{feff}\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n\
         <x:xmpmeta xmlns:x=\"adobe:ns:meta/\">\n\
         <rdf:RDF xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">\n\
         <rdf:Description rdf:about=\"\" xmlns:dc=\"http://purl.org/dc/elements/1.1/\" xmlns:xmp=\"http://ns.adobe.com/xap/1.0/\" dc:format=\"application/pdf\" xmp:CreatorTool=\"Fallside\">\n\
         <dc:title><rdf:Alt><rdf:li xml:lang=\"x-default\">Ruler sheet, {name}</rdf:li></rdf:Alt></dc:title>\n\
         <dc:description><rdf:Alt><rdf:li xml:lang=\"x-default\">fallside.ruler/1 {name} drawn {drawn:.5}; geometry in the attached ruler.json</rdf:li></rdf:Alt></dc:description>\n\
         </rdf:Description>\n</rdf:RDF>\n</x:xmpmeta>\n<?xpacket end=\"r\"?>\n"
    )
}
