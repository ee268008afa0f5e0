//! The files beside the book: flat plan, spreads, dummy, soft proof, proof sheet, working deck.

mod cover;
mod deck;
mod plan;
mod proof;
mod spread;
mod zine;

pub use cover::cover;
pub use deck::{A4, dealt, deck};
pub use plan::{flat_plan, spread_places};
pub use proof::{hardest, proof};
pub use spread::spread;
pub use zine::zine;

use super::make::{Fault, Made};
use super::pdf::{About, Mark, Pdf, Space};
use super::sheet::{Area, Sheet};
use super::typesetting::{Faces, Line};
use pdf_writer::Ref;
use std::io::{Read, Seek, SeekFrom, Write};

/// The book's pages again, small pictures in sRGB: at `scale` of their size a dummy; with `paper`, on the colour of the paper
/// and with its inks as they will look there, a soft proof.
///
/// # Errors
/// As writing goes.
pub fn again<W: Write>(made: &Made, sheet: Sheet, scale: f64, paper: bool, out: W) -> Result<(), Fault> {
    let what = if paper { "soft proof" } else { "dummy" };
    let about = About { title: format!("{}: {what}", made.about.title), ..made.about.clone() };
    let mut pdf = Pdf::new(out, sheet, scale, None, about)?;
    let mut refs = vec![];
    for k in &made.pictures {
        let small = k.on_paper.as_ref().filter(|_| paper).unwrap_or(&k.seen);
        refs.push((pdf.picture([small.width, small.height], &small.deflated, Space::Srgb)?, small.shows));
    }
    let white = made.press.as_ref().filter(|_| paper).map(|p| p.seen(&[[0; 4]], true)[0].map(|v| f64::from(v) / 255.0));
    for page in &made.pages {
        let mut marks = vec![];
        if let Some(white) = white {
            let b = sheet.bleed;
            marks.push(Mark::Colour(sheet.page().grown([b; 4]), white));
        }
        marks.extend(page.marks(&refs));
        pdf.page(&marks, page.name.as_deref())?;
    }
    pdf.finish(&made.faces)?;
    Ok(())
}

/// Copies a picture of the finished `book` into another file, as it stands there.
fn copied<R: Read + Seek, W: Write>(made: &Made, i: usize, book: &mut R, pdf: &mut Pdf<W>) -> std::io::Result<Ref> {
    let stream = &made.streams[i];
    book.seek(SeekFrom::Start(stream.start))?;
    let mut bytes = vec![0; (stream.end - stream.start) as usize];
    book.read_exact(&mut bytes)?;
    pdf.picture(made.pictures[i].size_px, &bytes, made.space)
}

/// Words of a sheet of our own, starting at a place.
fn say(faces: &mut Faces, marks: &mut Vec<Mark>, text: impl Into<Line>, size: f64, at: [f64; 2]) -> Result<(), Fault> {
    let runs = faces.set(text, super::typesetting::Style::Roman).map_err(Fault::Refused)?;
    marks.push(Mark::Words(runs, size, at));
    Ok(())
}

/// Where a picture goes for its print to stand at `at`.
fn whole(k: &super::picture::Kept, at: [f64; 2]) -> Area {
    Area { x: at[0] - k.beyond[0], y: at[1] - k.beyond[1], w: k.size_mm[0], h: k.size_mm[1] }
}
