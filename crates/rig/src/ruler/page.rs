//! The page of the sheet: marks as paths in millimetres, text, a matrix code, and the geometry as attached file and XMP.

use geometry::ruler::{BAR, Mark, Paper, Sheet};
use geometry::{Angle, Point, point};
use pdf_writer::{Content, Finish, Name, Pdf, Rect, Ref, Str, TextStr};
use pixels::colour::srgb_encode;
use qrcodegen::{QrCode, QrCodeEcc};

/// Points of 1/72 in to the millimetre (ISO 32000-1, 8.3.2.3).
const POINTS: f64 = 72.0 / 25.4;
/// Names of the two fonts on the page.
const PLAIN: Name = Name(b"F1");
const BOLD: Name = Name(b"F2");
/// Name of the attached geometry.
const FILE: &[u8] = b"ruler.json";
/// Side of the matrix code, mm: 25 modules of 0.4 mm, five dots of a 300 dpi printer.
const CODE: f64 = 10.0;

/// The whole file, PDF 1.7 (ISO 32000-1:2008). Not compressed: the sheet is some 60 kB, and anyone can read it in an editor.
pub fn document(paper: Paper, bar_mm: Option<f64>, drawn: f64, json: &str) -> Vec<u8> {
    let (w, h) = paper.size();
    let [root, pages, page, content_id, plain, bold, file, attached, metadata] =
        std::array::from_fn(|i| Ref::new(i as i32 + 1));
    let mut pdf = Pdf::new();
    let mut catalog = pdf.catalog(root);
    catalog.pages(pages).metadata(metadata).lang(TextStr("en"));
    // No scaling to the page, as far as a reader heeds it (12.2).
    catalog.viewer_preferences().display_doc_title(true).pair(Name(b"PrintScaling"), Name(b"None"));
    catalog.names().embedded_files().names().insert(Str(FILE), attached);
    catalog.finish();
    pdf.pages(pages).kids([page]).count(1);
    let mut sheet = pdf.page(page);
    sheet.parent(pages).contents(content_id);
    sheet.media_box(Rect::new(0.0, 0.0, (w * POINTS) as f32, (h * POINTS) as f32));
    sheet.resources().fonts().pair(PLAIN, plain).pair(BOLD, bold);
    sheet.finish();
    // Standard 14 fonts need no embedding (9.6.2.2); the sheet's measure does not depend on its words.
    pdf.type1_font(plain).base_font(Name(b"Helvetica")).encoding_predefined(Name(b"WinAnsiEncoding"));
    pdf.type1_font(bold).base_font(Name(b"Helvetica-Bold")).encoding_predefined(Name(b"WinAnsiEncoding"));
    pdf.stream(content_id, &content(paper, bar_mm, drawn));
    let mut embedded = pdf.embedded_file(file, json.as_bytes());
    embedded.subtype(Name(b"application/json"));
    embedded.params().size(json.len() as i32);
    embedded.finish();
    let mut spec = pdf.file_spec(attached);
    spec.path(Str(FILE)).unic_file(TextStr("ruler.json")).description(TextStr("Geometry of this sheet"));
    spec.embedded_file(file);
    spec.finish();
    pdf.stream(metadata, &xmp(paper, drawn))
        .pair(Name(b"Type"), Name(b"Metadata"))
        .pair(Name(b"Subtype"), Name(b"XML"));
    // The same words give the same file: its identity is a hash of what it is made from.
    let id = blake3::hash(format!("{}{bar_mm:?}{drawn}{json}", paper.name()).as_bytes()).as_bytes()[..16].to_vec();
    pdf.set_file_id((id.clone(), id));
    pdf.finish()
}

fn content(paper: Paper, bar_mm: Option<f64>, drawn: f64) -> Vec<u8> {
    let (w, h) = paper.size();
    let mut out = Content::new();
    // From here on coordinates are the sheet's own millimetres, y down.
    let points = [POINTS, 0.0, 0.0, -POINTS, w / 2.0 * POINTS, h / 2.0 * POINTS];
    out.transform(points.map(|v| v as f32));
    let sheet = Sheet { scale: drawn, ..Sheet::new(paper) };
    sheet.marks().iter().for_each(|m| mark(&mut out, m));
    words(&mut out, paper, bar_mm);
    matrix_code(&mut out, paper, drawn);
    out.finish().to_vec()
}

/// A mark as a filled path. Greys are given as sRGB codes, which is how readers take `DeviceGray` where they know no better.
fn mark(out: &mut Content, m: &Mark) {
    let right = Point::at_angle(m.turn.to_rad());
    let down = right.quarter_turn();
    let corner = |u: f64, v: f64| m.centre + right * (u * m.half.0) + down * (v * m.half.1);
    let [first, rest @ ..] = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)].map(|(u, v)| corner(u, v));
    out.set_fill_gray(srgb_encode(m.tone) as f32).move_to(first.x as f32, first.y as f32);
    for p in rest {
        out.line_to(p.x as f32, p.y as f32);
    }
    out.close_path().fill_nonzero();
}

fn words(out: &mut Content, paper: Paper, bar_mm: Option<f64>) {
    let (_, h) = paper.size();
    let nominal = Sheet::new(paper);
    let (left, _) = nominal.half();
    let (bar, _) = nominal.bars()[0];
    let name = match paper {
        Paper::A4 => "A4",
        Paper::Letter => "US letter",
    };
    let top = -h / 2.0 + 10.5;
    text(out, BOLD, 4.0, point(-left, top), &format!("Ruler sheet, {name}"));
    let lay = "Lay it flat where the prints will lie, so that its squares fill the frame. Whatever part of it the frame shows is enough.";
    text(out, PLAIN, 2.8, point(-left, top + 5.0), lay);
    let foot = bar.y + 4.6;
    let measure = format!(
        "Printers do not print true size. Print at 100 %, then measure this bar from end to end with a real ruler: it should be {BAR:.1} mm."
    );
    text(out, PLAIN, 2.8, point(-left, foot), &measure);
    let then = match bar_mm {
        None => {
            "If it is not, make the sheet again with  fallside ruler --bar-mm  and the length that you read.".into()
        }
        Some(mm) => format!(
            "Made with --bar-mm {mm}. If the bar is still not {BAR:.1} mm, make it again with {mm} times the length that you read, divided by {BAR}."
        ),
    };
    text(out, PLAIN, 2.8, point(-left, foot + 3.6), &then);
}

/// A line of words from its left end on its base line; the text matrix turns y up again.
fn text(out: &mut Content, font: Name, size: f32, at: Point, words: &str) {
    // The standard encoding of the fonts has other characters than ASCII elsewhere than Unicode has them.
    let ascii: Vec<u8> = words.chars().map(|c| if c.is_ascii() { c as u8 } else { b'?' }).collect();
    out.begin_text().set_fill_gray(0.0).set_font(font, size);
    out.set_text_matrix([1.0, 0.0, 0.0, -1.0, at.x as f32, at.y as f32]).show(Str(&ascii)).end_text();
}

/// What the sheet is, for any reader of ISO/IEC 18004 codes: schema, paper, and the scale it was drawn at.
fn matrix_code(out: &mut Content, paper: Paper, drawn: f64) {
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

/// Title, description and the geometry's essence as XMP. No date: the same words give the same file.
fn xmp(paper: Paper, drawn: f64) -> Vec<u8> {
    let name = paper.name();
    codec::xmp::packet(&codec::xmp::Packet {
        title: Some(format!("Ruler sheet, {name}")),
        description: Some(format!("fallside.ruler/1 {name} drawn {drawn:.5}; geometry in the attached ruler.json")),
        creator_tool: Some("Fallside".into()),
        ..Default::default()
    })
}
