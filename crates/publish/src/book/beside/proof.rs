//! The proof sheet: the three most demanding prints, light tints, a scale bar, and space for notes, for the press and paper of the book.

use super::{say, whole};
use crate::Plate;
use crate::book::make::{Fault, Settings, faces};
use crate::book::pdf::{About, CREATOR, Mark, Pdf};
use crate::book::picture::{How, Kept, Wanted, ready};
use crate::book::sheet::{Area, Sheet};
use crate::book::small::Smalls;
use crate::book::typesetting::Faces;
use std::io::Write;

/// A3 lying down (ISO 216), mm: three prints side by side at true size.
const A3: [f64; 2] = [420.0, 297.0];
/// Side of a tint's patch, mm: a densitometer's aperture fits several times.
const PATCH: f64 = 16.0;
/// Length of the scale bar, mm.
const BAR: f64 = 200.0;

/// The three hardest pictures, each with its reason: the one whose shadow is the largest in the faintest tints, the one with the most
/// ink, the one whose colours lose the most.
pub fn hardest(pictures: &[Kept]) -> Vec<(usize, &'static str)> {
    let mut found: Vec<(usize, &'static str)> = vec![];
    let shadow = |k: &Kept| k.certificate.shadow as f64 / (k.size_px[0] * k.size_px[1]).max(1) as f64;
    let ink = |k: &Kept| k.certificate.most_ink + k.certificate.over_limit;
    type Measure<'a> = &'a dyn Fn(&Kept) -> f64;
    let measures: [(Measure, &'static str); 3] =
        [(&shadow, "the largest shadow"), (&ink, "the most ink"), (&|k| k.loss, "the colours that change the most")];
    for (measure, why) in measures {
        let fronts = pictures
            .iter()
            .enumerate()
            .filter(|(i, k)| !k.back && k.detail.is_none() && found.iter().all(|(f, _)| f != i));
        if let Some((i, _)) = fronts.max_by(|a, b| measure(a.1).total_cmp(&measure(b.1)).then(b.0.cmp(&a.0))) {
            found.push((i, why));
        }
    }
    found
}

/// Writes the proof sheet: pictures made ready again exactly as for the book.
///
/// # Errors
/// As the book.
pub fn proof<W: Write>(plates: &[Plate], pictures: &[Kept], s: &Settings, out: W) -> Result<(), Fault> {
    let press = s.press()?;
    let how = How { smalls: Smalls::Plan, ..s.how(press.as_ref()) };
    let mut faces = faces(plates, s).map_err(Fault::Refused)?;
    let name = s.file_title();
    let about = About { title: format!("{name}: proof sheet"), author: s.author.clone(), day: s.day, id: s.id };
    let sheet = Sheet { trim: A3, bleed: 0.0, safe: 10.0, gutter: 10.0 };
    let mut pdf = Pdf::new(out, sheet, 1.0, press.as_ref(), about)?;
    let mut marks = vec![];
    let (y, m, d) = s.day;
    let head = format!("Proof sheet. {name}. {CREATOR}, {y:04}-{m:02}-{d:02}.");
    say(&mut faces, &mut marks, &head, 11.0, [15.0, 16.0])?;
    let condition = press
        .as_ref()
        .map_or("Colour: sRGB, no printing condition given.".into(), |p| format!("Printing condition: {}.", p.name));
    say(&mut faces, &mut marks, &condition, 9.0, [15.0, 22.0])?;
    let mut x = 20.0;
    for (i, why) in hardest(pictures) {
        let k = &pictures[i];
        // What does not fit beside the others any more is left away: the sheet is of one size, and so are the prints.
        if x + k.print_mm[0] + k.reach[2] > A3[0] - 10.0 || k.print_mm[1] > 160.0 {
            continue;
        }
        let of = &plates[k.plate];
        let wanted = Wanted { plate: k.plate, back: k.back, of, scale: k.scale, detail: k.detail };
        let ready = ready(wanted, &how).map_err(Fault::Refused)?;
        let id = pdf.picture(k.size_px, &ready.deflated, how.ink.space())?;
        let at = [x, 32.0];
        marks.push(Mark::Picture(id, whole(k, at)));
        let below = at[1] + k.print_mm[1] + k.reach[3] + 5.0;
        say(&mut faces, &mut marks, &format!("Plate {}: {why}.", k.plate + 1), 9.0, [x, below])?;
        x += k.print_mm[0] + k.reach[2] + 18.0;
    }
    wedge(&mut faces, &mut marks, s.first_dot)?;
    bar(&mut faces, &mut marks)?;
    for i in 0..4 {
        let y = 222.0 + f64::from(i) * 9.0;
        marks.push(Mark::Line([265.0, y], [A3[0] - 15.0, y]));
    }
    say(&mut faces, &mut marks, "Seen by, on, under what light:", 8.0, [265.0, 214.0])?;
    pdf.page(&marks, None)?;
    pdf.finish(&faces)?;
    Ok(())
}

/// Black from nothing to 10 % in steps of 1 %, patches against bare paper: the first that can be seen is the first dot.
fn wedge(faces: &mut Faces, marks: &mut Vec<Mark>, first_dot: f64) -> Result<(), Fault> {
    let (x, y) = (15.0, 224.0);
    let first = format!(
        "Tints of black. The first that prints is the first dot; this file assumes {:.1} %.",
        first_dot * 100.0
    );
    say(faces, marks, &first, 9.0, [x, y - 4.0])?;
    for i in 0..=10 {
        let at = Area { x: x + f64::from(i) * (PATCH + 5.0), y, w: PATCH, h: PATCH };
        if i > 0 {
            marks.push(Mark::Fill(at, f64::from(i) / 100.0));
        }
        say(faces, marks, &format!("{i} %"), 8.0, [at.x, at.foot() + 5.0])?;
    }
    Ok(())
}

fn bar(faces: &mut Faces, marks: &mut Vec<Mark>) -> Result<(), Fault> {
    let (x, y) = (15.0, 272.0);
    marks.push(Mark::Line([x, y], [x + BAR, y]));
    for i in 0..=20 {
        let at = x + f64::from(i) * BAR / 20.0;
        marks.push(Mark::Line([at, y - if i % 5 == 0 { 4.0 } else { 2.0 }], [at, y]));
    }
    let words = format!("{BAR:.0} mm from end to end if this sheet was printed at true size. Measure it.");
    say(faces, marks, &words, 9.0, [x, y + 6.0])
}
