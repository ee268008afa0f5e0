//! A book's cover and marks, by arithmetic: the spine from pages and paper, boxes from trim, bleed and the space for marks.

use crate::demo_box::results;
use crate::small_project::{fallside, said};
use serde_json::Value;
use std::path::Path;

/// The numbers of a box in a file whose pages are written plainly, mm; each page's.
fn boxes(place: &Path, name: &str) -> Vec<[f64; 4]> {
    let bytes = std::fs::read(place).unwrap();
    let text = String::from_utf8_lossy(&bytes).into_owned();
    let one = |t: &str| {
        let all: Vec<f64> =
            t.split(']').next().unwrap().split_whitespace().map(|v| v.parse::<f64>().unwrap() * 25.4 / 72.0).collect();
        [all[0], all[1], all[2], all[3]]
    };
    text.split(&format!("/{name} [")).skip(1).map(one).collect()
}

fn near(is: [f64; 4], want: [f64; 4]) {
    assert!(is.iter().zip(want).all(|(a, b)| (a - b).abs() < 0.002), "{is:?} {want:?}");
}

#[test]
fn the_spine_follows_from_pages_and_paper() {
    let folder = tempfile::tempdir().unwrap();
    let [out, cover] = ["book.pdf", "book.cover.pdf"].map(|n| folder.path().join(n));
    let results = results();
    let run = |words: &[&str]| {
        let mut all: Vec<&dyn AsRef<std::ffi::OsStr>> =
            vec![&"book", &"--in", &results, &"--dated", &"2026-11-25", &"--title", &"A box", &"--out", &out];
        words.iter().for_each(|w| all.push(w));
        fallside(&all)
    };
    let o = run(&["--cover", "--paper-thickness", "0.9", "--flaps", "90"]);
    assert!(o.status.code().is_some_and(|c| c <= 1), "{}", said(&o));
    let certificate: Value =
        serde_json::from_slice(&std::fs::read(out.with_extension("certificate.json")).unwrap()).unwrap();
    let pages = certificate["pages"].as_f64().unwrap();
    // Half as many leaves as pages, two layers of board of 0.35 mm; 10 mm for marks and 3 mm of bleed on each side.
    let width = 2.0 * (90.0 + 240.0) + pages / 2.0 * 0.9 + 0.7;
    near(boxes(&cover, "TrimBox")[0], [13.0, 13.0, 13.0 + width, 253.0]);
    near(boxes(&cover, "BleedBox")[0], [10.0, 10.0, 16.0 + width, 256.0]);
    near(boxes(&cover, "MediaBox")[0], [0.0, 0.0, 26.0 + width, 266.0]);
    assert!(said(&o).contains("37.3 by 25.9 mm are clear for the barcode"), "{}", said(&o));
    let first = std::fs::read(&cover).unwrap();
    run(&["--cover", "--paper-thickness", "0.9", "--flaps", "90"]);
    assert!(first == std::fs::read(&cover).unwrap());
    // The printer's own measure counts, and a print of the book stands on the front.
    let name = certificate["pictures"][0]["name"].as_str().unwrap();
    let o = run(&["--cover", name, "--spine", "12"]);
    assert!(o.status.code().is_some_and(|c| c <= 1), "{}", said(&o));
    near(boxes(&cover, "TrimBox")[0], [13.0, 13.0, 13.0 + 492.0, 253.0]);
    let o = run(&["--cover", "P9999"]);
    assert!(o.status.code() == Some(2) && said(&o).contains("P9999 is not in the book"), "{}", said(&o));
}

#[test]
fn crop_marks_stand_outside_the_bleed() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("book.pdf");
    let o = fallside(&[
        &"book",
        &"--in",
        &results(),
        &"--dated",
        &"2026-11-25",
        &"--crop-marks",
        &"--page-numbers",
        &"--out",
        &out,
    ]);
    assert!(o.status.code().is_some_and(|c| c <= 1), "{}", said(&o));
    let media = boxes(&out, "MediaBox");
    assert!(media.len() >= 4);
    media.into_iter().for_each(|m| near(m, [0.0, 0.0, 266.0, 266.0]));
    boxes(&out, "BleedBox").into_iter().for_each(|b| near(b, [10.0, 10.0, 256.0, 256.0]));
    boxes(&out, "TrimBox").into_iter().for_each(|t| near(t, [13.0, 13.0, 253.0, 253.0]));
}
