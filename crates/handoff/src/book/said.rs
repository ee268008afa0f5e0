//! What is said of a book that was made.

use super::certificate::FaceUsed;
use super::{PPI_ASKED, PPI_LEAST, Request};
use base::wording::{count, some};
use publish::book::typesetting::Faces;
use publish::book::{self, Kept, Made};

/// Most prints that one line names: more are no easier to find by it.
const SHOWN: usize = 4;

/// What a person should look at before the press runs.
pub(super) fn concerns(r: &Request, made: &Made) -> Vec<String> {
    let mut says = vec![];
    let named = |of: &dyn Fn(&Kept) -> bool| {
        made.pictures.iter().filter(|k| of(k)).map(|k| k.name.as_str()).collect::<Vec<_>>()
    };
    let broken = named(&|k| !k.certificate.holds());
    if !broken.is_empty() {
        says.push(format!("Paper white could not be proved for {}: do not print this file.", broken.join(", ")));
    }
    let pixels = named(&|k| k.ppi[1] < PPI_LEAST);
    let soft = named(&|k| (PPI_LEAST..PPI_ASKED).contains(&k.ppi[1]));
    for (names, what) in [(pixels, "its pixels will show"), (soft, "printers ask for 300")] {
        let least = made
            .pictures
            .iter()
            .filter(|k| names.contains(&k.name.as_str()))
            .map(|k| k.ppi[1])
            .fold(f64::MAX, f64::min);
        if !names.is_empty() {
            says.push(format!("{}: {least:.0} pixels per inch on the page; {what}.", some(&names, SHOWN)));
        }
    }
    let rim = named(&|k| k.at_rim);
    if !rim.is_empty() {
        says.push(format!(
            "{}: the shadow reaches the edge of the mount, so it was faded to paper white over the last 2 mm.",
            some(&rim, SHOWN)
        ));
    }
    // A thousandth of the pixels: a few specks over the limit dry as they are.
    let heavy = named(&|k| k.certificate.over_limit > 0.001);
    if made.press.is_some() && !r.keep_rgb && !heavy.is_empty() {
        let most = made.pictures.iter().map(|k| k.certificate.most_ink).fold(0.0, f64::max);
        says.push(format!(
            "{}: up to {:.0} % of ink, over the limit of {:.0} %. Ask the printer whether this is the right profile.",
            some(&heavy, SHOWN),
            most * 100.0,
            r.ink_limit * 100.0
        ));
    }
    says
}

pub(super) fn says(r: &Request, made: &Made) -> Vec<String> {
    let [w, h] = r.sheet.trim;
    let fronts = made.page_of.len();
    let mut says = vec![format!(
        "{}, {} of {w} by {h} mm.",
        count(fronts, "print", "prints"),
        count(made.pages.len(), "page", "pages")
    )];
    let least = made.pictures.iter().map(|k| k.ppi[1]).fold(f64::MAX, f64::min);
    let sizes = made.pictures.iter().map(|k| k.scale);
    let (low, high) = sizes.fold((f64::MAX, 0.0_f64), |(low, high), s| (low.min(s), high.max(s)));
    let size = match (low, high) {
        (1.0, 1.0) => "Every print at true size".to_owned(),
        (a, b) if a == b => format!("Every print at {a} times true size"),
        (a, b) => format!("Prints from {} to {} % of true size", a * 100.0, b * 100.0),
    };
    says.push(format!("{size}, {least:.0} pixels per inch or more."));
    says.push(match (&made.press, r.keep_rgb) {
        (Some(p), false) => format!("PDF/X-4 in the inks of {}.", p.name),
        (Some(p), true) => format!("PDF/X-4, pictures in eciRGBv2 to be converted for {}.", p.name),
        (None, _) => {
            "In sRGB, for screens and RGB printers. For PDF/X-4, give the printer's profile with --printer.".into()
        }
    });
    let c = |f: fn(&book::Certificate) -> u64| made.pictures.iter().map(|k| f(&k.certificate)).sum::<u64>();
    let first = made.pictures.iter().filter_map(|k| k.certificate.first_tint).fold(f64::MAX, f64::min);
    let first =
        if first <= 1.0 { format!(" The faintest tint in a shadow is {:.1} %.", first * 100.0) } else { String::new() };
    says.push(format!(
        "Bare paper: {} of {:.1} million pixels with ink, {} on a picture's edge.{first}",
        c(|c| c.bare_with_ink),
        c(|c| c.bare) as f64 / 1e6,
        c(|c| c.rim_with_ink)
    ));
    says.extend(shadows(made));
    says.extend(other_fonts(&made.faces));
    says
}

/// Which fonts set what the book's own serif lacks.
fn other_fonts(faces: &Faces) -> Option<String> {
    let others = FaceUsed::all(faces).into_iter().filter(|f| f.from != "book");
    let list: Vec<String> = others
        .map(|f| {
            let from = if f.from == "machine" { "a font of this machine" } else { "named" };
            format!("{} ({}, {from})", f.family, f.file.unwrap_or_default())
        })
        .collect();
    (!list.is_empty()).then(|| format!("Characters that the book's serif lacks are set in {}.", list.join(", ")))
}

/// Where the shadows fall, if not all to one side: prints that were turned after they were photographed look lit from elsewhere.
fn shadows(made: &Made) -> Option<String> {
    let side = |k: &Kept| {
        let [left, top, right, foot] = k.reach;
        let word = |less: f64, more: f64, a: &'static str, b: &'static str| if less > more { a } else { b };
        format!("{} {}", word(top, foot, "upper", "lower"), word(left, right, "left", "right"))
    };
    let mut counts = std::collections::BTreeMap::<String, usize>::new();
    made.fronts().into_iter().filter(|k| k.detail.is_none()).for_each(|k| *counts.entry(side(k)).or_default() += 1);
    let list: Vec<String> = counts.iter().map(|(side, n)| format!("{n} to the {side}")).collect();
    (counts.len() > 1).then(|| format!("The shadows do not all fall to the same side: {}.", list.join(", ")))
}
