//! `fallside share` as a photographer uses it: whole prints on white, words that stay, sizes, folders with other files in them.

use crate::small_project::copy::{copied, files};
use crate::small_project::{describe, fallside, project, said};
use pixels::Samples;
use serde_json::Value;
use std::path::Path;

fn json(words: &[&dyn AsRef<std::ffi::OsStr>], out: &Path) -> Value {
    let mut all: Vec<&dyn AsRef<std::ffi::OsStr>> = vec![&"share", &"--in"];
    let folder = project();
    all.push(&folder);
    all.extend(words);
    all.extend([&"--out" as &dyn AsRef<std::ffi::OsStr>, &out, &"--json"]);
    let o = fallside(&all);
    assert!(o.status.success(), "{}", said(&o));
    serde_json::from_slice(&o.stdout).unwrap()
}

fn picture(path: &Path) -> (usize, usize, Vec<u8>) {
    let frame = codec::read(path, &codec::Limits::default()).unwrap().frame;
    let Samples::U8(rgb) = frame.samples else { panic!("a share has eight bits") };
    (frame.width, frame.height, rgb)
}

/// Rows and columns from the edge that are 255 all over: left, top, right, bottom.
fn white(w: usize, h: usize, rgb: &[u8]) -> [usize; 4] {
    let column = |x: usize| (0..h).all(|y| rgb[3 * (y * w + x)..3 * (y * w + x) + 3] == [255; 3]);
    let row = |y: usize| rgb[3 * y * w..3 * (y + 1) * w].iter().all(|v| *v == 255);
    [
        (0..w).take_while(|x| column(*x)).count(),
        (0..h).take_while(|y| row(*y)).count(),
        (0..w).rev().take_while(|x| column(*x)).count(),
        (0..h).rev().take_while(|y| row(*y)).count(),
    ]
}

#[test]
fn a_print_lies_whole_in_the_middle_of_pure_white() {
    let out = tempfile::tempdir().unwrap();
    for (shape, pixels, size) in
        [("4:5", "600", [480, 600]), ("16:9", "640", [640, 360]), ("1:1", "420x420", [420, 420])]
    {
        let answer = json(&[&"--edit", &"tight", &"--shape", &shape, &"--pixels", &pixels], out.path());
        let shares = answer["shares"].as_array().unwrap();
        assert_eq!(shares.len(), 3, "{answer:#}");
        for share in shares {
            let (w, h, rgb) = picture(&out.path().join(share["file"].as_str().unwrap()));
            assert_eq!([w, h], size, "{share}");
            let print: Vec<f64> = share["print_px"].as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect();
            // Centred on the print to half a pixel, whatever its shadow does.
            assert!((print[0] + print[2] - w as f64).abs() <= 1.0 && (print[1] + print[3] - h as f64).abs() <= 1.0);
            // What is not white begins at the print's edges or, with its shadow, before them; never at the sheet's.
            let [l, t, r, b] = white(w, h, &rgb);
            assert!(l.min(t).min(r).min(b) >= 8, "{share}: white {l} {t} {r} {b}");
            assert!(l as f64 <= print[0] + 1.0 && (w - r) as f64 >= print[2] - 1.0, "{share}: {l} {r}");
        }
    }
}

#[test]
fn at_one_scale_a_mini_is_as_much_smaller_as_it_is() {
    let out = tempfile::tempdir().unwrap();
    let answer = json(&[&"--edit", &"tight", &"--shape", &"1:1", &"--pixels", &"600", &"--one-scale"], out.path());
    let scales: Vec<f64> =
        answer["shares"].as_array().unwrap().iter().map(|s| s["px_per_mm"].as_f64().unwrap()).collect();
    assert!(scales.iter().all(|s| (s / scales[0] - 1.0).abs() < 1e-9), "{scales:?}");
    let width = |i: usize| {
        let p = &answer["shares"][i]["print_px"];
        p[2].as_f64().unwrap() - p[0].as_f64().unwrap()
    };
    // 54 mm of a mini to 88 of a square: the formats' own sizes.
    assert!((width(0) / width(1) - 54.0 / 88.0).abs() < 0.01, "{} {}", width(0), width(1));
}

#[test]
fn a_size_in_kilobytes_is_kept_or_refused() {
    let out = tempfile::tempdir().unwrap();
    let answer = json(&[&"--all", &"--kilobytes", &"60"], out.path());
    for share in answer["shares"].as_array().unwrap() {
        let file = out.path().join(share["file"].as_str().unwrap());
        let bytes = std::fs::metadata(&file).unwrap().len();
        assert!(bytes <= 60_000 && bytes > 15_000, "{share}: {bytes}");
        let (w, h, rgb) = picture(&file);
        assert!(white(w, h, &rgb).into_iter().min().unwrap() >= 4);
    }
    let o = fallside(&[
        &"share",
        &"--in",
        &project(),
        &"--all",
        &"--pixels",
        &"900x900",
        &"--kilobytes",
        &"10",
        &"--out",
        &out.path(),
    ]);
    assert_eq!(o.status.code(), Some(2), "{}", said(&o));
    assert!(said(&o).contains("does not fit into 10 kB"), "{}", said(&o));
}

#[test]
fn words_go_out_as_allowed_and_the_rest_is_told() {
    let out = tempfile::tempdir().unwrap();
    let answer = json(&[&"--edit", &"tight"], out.path());
    assert_eq!(answer["private"], serde_json::json!(["P0003"]));
    let file = |out: &Path, name: &str| {
        let files: Vec<_> = std::fs::read_dir(out).unwrap().map(|e| e.unwrap().path()).collect();
        files.into_iter().find(|f| f.to_string_lossy().ends_with(&format!("{name}-4x5.jpg"))).unwrap()
    };
    let xmp = |name: &str| {
        let bytes = codec::probe(&file(out.path(), name)).unwrap().metadata.xmp.unwrap();
        codec::sidecar::read(std::str::from_utf8(&bytes).unwrap()).unwrap()
    };
    let open = xmp("P0001");
    assert_eq!((open.title.as_str(), open.alt.as_str()), ("Low water <1>", "Two boats lie in the mud."));
    assert_eq!(
        (open.people.len(), open.place.as_str(), open.object.circa.as_str()),
        (2, "The Old Harbour", "2009-07?")
    );
    let ask = std::fs::read(file(out.path(), "P0002")).unwrap();
    for name in ["Ada", "Mill Lane", "never again", "F2.png", "Testbench"] {
        assert!(!ask.windows(name.len()).any(|w| w == name.as_bytes()), "{name} went out");
    }
    assert_eq!(xmp("P0002").keywords, ["a window"]);
    let told = answer["difference"].to_string();
    for word in ["note of P0001", "place of P0002; people of P0002", "title of P0002", "camera"] {
        assert!(told.contains(word), "{word}: {told}");
    }
    let text = std::fs::read_to_string(out.path().join("alt-text.txt")).unwrap();
    assert!(text.contains("Two boats lie in the mud.") && !text.contains("Mill Lane") && !text.contains("Nobody's"));
    let missing = text.split("No alt text yet").nth(1).unwrap_or_default();
    assert!(missing.contains("P0002") && missing.contains("P0004") && !missing.contains("    P0001"), "{text}");
    // With the words named and the question asked.
    let asked = tempfile::tempdir().unwrap();
    json(&[&"--edit", &"tight", &"--asked", &"--keep", &"people"], asked.path());
    let bytes = codec::probe(&file(asked.path(), "P0002")).unwrap().metadata.xmp.unwrap();
    let told = codec::sidecar::read(std::str::from_utf8(&bytes).unwrap()).unwrap();
    assert_eq!((told.people, told.place.as_str(), told.title.as_str()), (vec!["Ada Brook".to_owned()], "", ""));
    // The catalogue knows what was handed on.
    let o = fallside(&[&"list", &"hand-offs", &"--in", &project(), &"--json"]);
    let list: Value = serde_json::from_slice(&o.stdout).unwrap();
    assert!(
        list.as_array().unwrap().iter().any(|h| h["kind"] == "share" && h["prints"].as_array().unwrap().len() == 3),
        "{list:#}"
    );
}

#[test]
fn nothing_of_anybody_else_is_overwritten() {
    let top = tempfile::tempdir().unwrap();
    let folder = project();
    let refuse = |out: &Path, words: &[&dyn AsRef<std::ffi::OsStr>], says: &str| {
        let mut all: Vec<&dyn AsRef<std::ffi::OsStr>> = vec![&"share", &"--in", &folder, &"--out", &out];
        all.extend(words);
        let o = fallside(&all);
        assert_eq!(o.status.code(), Some(2), "{}", said(&o));
        assert!(said(&o).contains(says), "{says}: {}", said(&o));
    };
    std::fs::write(top.path().join("letter.txt"), "mine").unwrap();
    refuse(top.path(), &[&"--all"], "contains something that Fallside did not write");
    refuse(&top.path().join("letter.txt"), &[&"--all"], "is a file");
    assert_eq!(std::fs::read_dir(top.path()).unwrap().count(), 1);
    let out = top.path().join("out");
    refuse(&out, &[&"--edit", &"loose"], "no edit called");
    refuse(&out, &[&"--find", &"nothing-like-it"], "no finished print");
    refuse(&out, &[&"--find", &"id:P0003"], "private: P0003");
    refuse(&out, &[&"--all", &"--shape", &"4:5", &"--pixels", &"500x500"], "does not have the shape 4:5");
    refuse(&out, &[&"--all", &"--shape", &"round"], "width to height");
    refuse(&out, &[&"--all", &"--keep", &"title,faces"], "use one or more of title");
    refuse(&out, &[], "--all");
    assert!(!out.exists());
    json(&[&"--all"], &out);
    std::fs::write(out.join("P0001-4x5.jpg"), "mine").unwrap();
    let o = fallside(&[&"share", &"--in", &folder, &"--all", &"--out", &out]);
    assert_eq!(o.status.code(), Some(1), "{}", said(&o));
    assert!(said(&o).contains("changed since Fallside wrote it"), "{}", said(&o));
    assert_eq!(std::fs::read(out.join("P0001-4x5.jpg")).unwrap(), b"mine");
}

#[test]
fn what_became_private_or_left_the_edit_leaves_the_folder_of_shares() {
    let top = tempfile::tempdir().unwrap();
    let (folder, out) = (copied(top.path()), top.path().join("out"));
    let share = |words: &[&dyn AsRef<std::ffi::OsStr>]| {
        let mut all: Vec<&dyn AsRef<std::ffi::OsStr>> =
            vec![&"share", &"--in", &folder, &"--pixels", &"300", &"--out", &out];
        all.extend(words);
        let o = fallside(&all);
        (o.status.code(), said(&o))
    };
    let there = || {
        let names = files(&out).into_iter().map(|f| f.file_name().unwrap().to_string_lossy().into_owned());
        names.filter(|n| n.ends_with(".jpg")).collect::<Vec<_>>()
    };
    assert_eq!(share(&[&"--edit", &"tight"]).0, Some(0));
    // In the order of the edit.
    assert_eq!(there(), ["001-P0004-4x5.jpg", "002-P0001-4x5.jpg", "003-P0002-4x5.jpg"]);
    assert_eq!(share(&[&"--find", &"id:P0002", &"--shape", &"1:1"]).0, Some(0));
    // One becomes private, and one leaves the edit; the squares were chosen by a search.
    describe(&folder, "P0001", &[("--privacy", "private")]);
    let o = fallside(&[&"edit", &"remove", &"tight", &"P0004", &"--in", &folder]);
    assert!(o.status.success(), "{}", said(&o));
    let (code, told) = share(&[&"--edit", &"tight"]);
    assert_eq!((code, there()), (Some(0), vec!["001-P0002-4x5.jpg".to_owned(), "P0002-1x1.jpg".to_owned()]), "{told}");
    for line in ["Removed 002-P0001-4x5.jpg", "private now", "Removed 001-P0004-4x5.jpg", "no longer among"] {
        assert!(told.contains(line), "{line}: {told}");
    }
    // Its words change: the square still has the old ones.
    describe(&folder, "P0002", &[("--subject", "two windows")]);
    assert!(share(&[&"--edit", &"tight"]).1.contains("Removed P0002-1x1.jpg"), "{:?}", there());
    // The last one becomes private. Somebody retouched it: it is theirs to delete.
    describe(&folder, "P0002", &[("--privacy", "private")]);
    std::fs::write(out.join("001-P0002-4x5.jpg"), "retouched").unwrap();
    let (code, told) = share(&[&"--edit", &"tight"]);
    assert!(
        code == Some(2) && told.contains("private: P0001, P0002, P0003") && told.contains("Delete it yourself"),
        "{told}"
    );
    assert_eq!(there(), ["001-P0002-4x5.jpg"]);
}
