//! The plain text of a bag: its contents, how they were made, and how to verify them, for a reader who does not know Fallside.

use super::bag::size;
use super::contents::Inventory;
use super::shot::Shot;
use super::{Entries, Request, in_bag};
use base::wording::count;
use std::fmt::Write;

/// Columns of a line: what any terminal and any sheet of paper shows.
const WIDE: usize = 78;

pub(super) fn text(request: &Request, inventory: &Inventory, entries: &Entries, problems: &[String]) -> String {
    let mut out = String::new();
    let title = request.title.as_deref().unwrap_or("Photographs of instant prints");
    let _ = writeln!(out, "{title}\n{}\n", "=".repeat(title.chars().count().min(WIDE)));
    let bytes: u64 = entries.values().map(|e| e.bytes).sum();
    let first = format!(
        "Packed {} by Fallside {}: {}, {} and {} in all, {}.",
        base::clock::today(),
        env!("CARGO_PKG_VERSION"),
        count(inventory.finished(), "finished print", "finished prints"),
        count(inventory.shots.len(), "frame", "frames"),
        count(entries.len(), "file", "files"),
        size(bytes)
    );
    paragraph(&mut out, &first);
    for p in ABOUT {
        paragraph(&mut out, p);
    }
    if !problems.is_empty() {
        out.push_str("What is missing\n---------------\n\n");
        problems.iter().for_each(|p| paragraph(&mut out, p));
    }
    if let Some(words) = &inventory.words {
        paragraph(&mut out, WORDS);
        out.push_str(&words.text(&inventory.shots));
    }
    out.push_str("The frames\n----------\n\n");
    inventory.shots.iter().for_each(|shot| frame(&mut out, shot));
    out
}

/// How the files were made and what they guarantee, one paragraph each.
const ABOUT: [&str; 7] = [
    "Each print, a small paper original, lay on white paper under one light from the side and was photographed from above. \
     You do not need Fallside to use these files: the pictures are TIFF and JPEG, and everything else is text.",
    "originals: the camera's files, byte for byte. They were never changed.",
    "masters: one picture per print, 16-bit TIFF with a colour profile and true resolution (printed at 100 %, it is as \
     large as the print). The light is evened, the print is straightened with one resampling, and the colour is balanced \
     on the paper or on a chart. Nothing is retouched: fading, dust and writing belong to the print. The paper around it \
     is unchanged.",
    "mounts: the same pixels of the print on pure white. The paper outside the shadow is exactly white (65535 of \
     65535). The shadow is the real shadow that the print cast on the paper, measured in the frame and applied as one \
     neutral layer; if a report gives a shadow value other than 1, it was made lighter or darker by that factor. Where a \
     report says \"mirrored\" or \"cast anew\", the shadow was computed instead, from the measured height of the print's \
     edges, for the light that the report names.",
    "shares and previews: small JPEG pictures made from the mounts, for viewing. index.html shows them all in any \
     browser; it loads only the files beside it.",
    "reports: one JSON text per frame: which original (with its BLAKE3 checksum), the measurements in pixels, \
     millimetres, degrees and stops, the findings, and the recipe with every parameter that made master and mount. A \
     report gives the path of its original on the photographer's disk; the list below gives its path in this archive.",
    "To check that nothing has changed: this folder is a bag (RFC 8493, BagIt 1.0). manifest-sha512.txt lists the \
     SHA-512 of every file below data. Verify it with any BagIt tool, or with `sha512sum -c manifest-sha512.txt` in the \
     folder above this one. Keep two copies in two places, on two kinds of medium, and verify them once a year (common \
     practice, no source).",
];

/// The paragraph about descriptions, if there are any.
const WORDS: &str = "Descriptions: prints.csv has one line for each print with all its fields, which are repeated \
                     below. Dates are written in EDTF level 1: 2009-07? is uncertain, 200X is a year from 2000 to 2009. \
                     Beside each master is a sidecar (XMP) with the same fields. Prints marked private or ask are \
                     included: get permission before you show them. In prints.csv, a value that a spreadsheet would read \
                     as a formula has an apostrophe before it.";

fn frame(out: &mut String, shot: &Shot) {
    let r = &shot.report;
    let name = r.frame.path.rsplit(['/', '\\']).next().unwrap_or_default();
    let original = shot.original.as_deref().map_or("not here", in_bag);
    let print =
        r.print.as_ref().map_or(String::new(), |p| format!(", {} {} x {} mm", p.format, p.size_mm[0], p.size_mm[1]));
    let _ = writeln!(out, "{name} ({}{print})", r.frame.role.word());
    if let Some(taken) = &r.frame.exif.taken {
        let _ = writeln!(out, "  taken     {}", taken.replace('T', " "));
    }
    let _ = writeln!(out, "  original  {original}");
    if let Some(c) = &r.canvas {
        let _ = writeln!(out, "  master    {}\n  mount     {}", in_bag(&c.master), in_bag(&c.mount));
        let how = r.shadow.as_ref().map_or_else(|| "as shot".to_owned(), |s| s.says());
        let _ =
            writeln!(out, "  scale     {:.4} pixels per mm, shadow {}, {how}", c.px_per_mm, r.recipe.chosen().shadow);
    }
    if r.shows_print() {
        let _ = writeln!(out, "  verdict   {}", r.verdict.word());
    }
    for f in &r.findings {
        let _ = writeln!(out, "            {}", f.says);
    }
    out.push('\n');
}

/// Writes a paragraph in lines of [`WIDE`] columns and an empty one.
fn paragraph(out: &mut String, text: &str) {
    let mut column = 0;
    for word in text.split_whitespace() {
        let n = word.chars().count();
        if column > 0 && column + 1 + n > WIDE {
            out.push('\n');
            column = 0;
        } else if column > 0 {
            out.push(' ');
            column += 1;
        }
        out.push_str(word);
        column += n;
    }
    out.push_str("\n\n");
}
