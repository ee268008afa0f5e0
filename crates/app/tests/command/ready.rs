//! What is not ready to be handed on: each thing is named with what mends it, and goes from the list once it is mended.

use crate::drawn::shoot;
use crate::served::Desk;
use crate::small_project::{describe, fallside, said, scene_of};
use scene::{Format, Rig, Scene, Subject};
use serde_json::{Value, json};
use std::path::Path;

/// An integral print, a peel-apart one whose borders are alike, and a private one; the first two of them described.
fn make(project: &Path) {
    let card = project.join("card");
    shoot(&card, "F0.png", &Scene::blank(Rig::default(), 5), 0, 8.0);
    shoot(&card, "F1.png", &scene_of(Format::SquareIntegral, Subject::Lake, 7), 1, 8.0);
    shoot(&card, "F2.png", &scene_of(Format::PeelApart, Subject::Beach, 8), 2, 8.0);
    shoot(&card, "F3.png", &scene_of(Format::SquareIntegral, Subject::Street, 9), 3, 8.0);
    let o = fallside(&[&"take", &card, &"--in", &project]);
    assert!(o.status.code().is_some_and(|c| c < 2), "{}", said(&o));
    describe(project, "P0001", &[("--alt", "Two boats lie in the mud."), ("--privacy", "open")]);
    describe(project, "P0003", &[("--privacy", "private")]);
    let o = fallside(&[&"edit", &"add", &"tight", &"P0001", &"P0002", &"P0003", &"--in", &project]);
    assert!(o.status.success(), "{}", said(&o));
}

/// The list, and how the command ended.
fn ready(project: &Path, more: &[&str]) -> (Value, Option<i32>) {
    let mut words: Vec<&dyn AsRef<std::ffi::OsStr>> = vec![&"ready", &"--in", &project, &"--edit", &"tight", &"--json"];
    more.iter().for_each(|w| words.push(w));
    let o = fallside(&words);
    (serde_json::from_slice(&o.stdout).unwrap_or_else(|e| panic!("{e}: {}", said(&o))), o.status.code())
}

/// What is missing, and of which prints.
fn missing(list: &Value) -> Vec<(String, Vec<String>)> {
    let names = |item: &Value| {
        item["prints"].as_array().unwrap().iter().map(|p| p["name"].as_str().unwrap().to_owned()).collect()
    };
    let items = list["items"].as_array().unwrap();
    items.iter().map(|i| (i["what"].as_str().unwrap().to_owned(), names(i))).collect()
}

fn line(what: &str, prints: &[&str]) -> (String, Vec<String>) {
    (what.to_owned(), prints.iter().map(|p| (*p).to_owned()).collect())
}

#[test]
fn each_thing_is_named_until_it_is_mended() {
    let top = tempfile::tempdir().unwrap();
    make(top.path());
    let out = top.path().join("to-post");
    // A mount of 8 pixels to the millimetre has some 850 along an integral print: enough for 640, not for 4000.
    let (list, code) = ready(top.path(), &["--pixels", "640"]);
    let wanted = [line("privacy", &["P0002"]), line("turn", &["P0002"]), line("alt", &["P0002"])];
    assert_eq!((missing(&list), code), (wanted.to_vec(), Some(1)), "{list:#}");
    assert_eq!((&list["prints"], &list["private"]), (&json!(2), &json!(["P0003"])));
    let (large, _) = ready(top.path(), &["--pixels", "4000"]);
    let pixels = large["items"].as_array().unwrap().iter().find(|i| i["what"] == "pixels").unwrap();
    assert_eq!(pixels["count"], 2, "{pixels}");
    let enough = pixels["pixels"].as_u64().unwrap();
    let (fewer, _) = ready(top.path(), &["--pixels", &enough.to_string()]);
    assert!(!missing(&fewer).iter().any(|(what, _)| what == "pixels"), "{enough}: {fewer:#}");

    // The command that makes them names the print too; its verdict is keep.
    let o = fallside(&[&"share", &"--in", &top.path(), &"--edit", &"tight", &"--pixels", &"640", &"--out", &out]);
    assert!(o.status.success() && said(&o).contains("P0002: nothing on it says which way is up"), "{}", said(&o));
    assert!(!said(&o).contains("P0001: nothing"), "{}", said(&o));

    // On the desk the same list, with the frame to turn.
    let desk = Desk::open(top.path());
    let wish = json!({"form": "share", "edit": "tight", "shape": "4:5", "pixels": "640"});
    let told = desk.post("/api/ready", &wish).json();
    assert_eq!(missing(&told), wanted.to_vec(), "{told:#}");
    let one = &told["items"][1]["prints"][0];
    assert_eq!((&one["print"], &one["back"], &one["turn"]), (&json!(2), &json!(false), &json!(0)), "{one}");
    let turned = desk.post("/api/refinish", &json!({"frame": one["frame"], "turn": 0}));
    assert_eq!(turned.status, 200, "{}", turned.json());
    assert_eq!(turned.json()["frame"]["turn_known"], true);
    assert_eq!(desk.post("/api/privacy", &json!({"unsaid": "open"})).status, 200);
    let told = desk.post("/api/ready", &wish).json();
    assert_eq!(missing(&told), [line("alt", &["P0002"])], "{told:#}");
    // Nobody reads an alt text on paper; an archive whose folder is not chosen yet can be looked at.
    let book = json!({"form": "book", "edit": "tight", "trim_mm": [240, 240], "layout": ["single"], "captions": true});
    let book = desk.post("/api/ready", &book).json();
    assert_eq!(missing(&book), [line("pixels", &["P0001", "P0002"])], "{book:#}");
    let pack = desk.post("/api/ready", &json!({"form": "pack", "edit": "tight", "place": ""})).json();
    assert_eq!(missing(&pack), [line("alt", &["P0002", "P0003"])], "{pack:#}");
    drop(desk);

    // What leaves the edit, or becomes private, is still in the folder made before.
    describe(top.path(), "P0002", &[("--alt", "A beach."), ("--privacy", "private")]);
    let folder = out.to_string_lossy().into_owned();
    let (list, _) = ready(top.path(), &["--pixels", "640", "--out", &folder]);
    assert_eq!(missing(&list), [line("leftover", &["P0002"])], "{list:#}");
    let says = list["items"][0]["prints"][0]["says"].as_str().unwrap();
    assert!(says.starts_with("private now; 002-P0002-4x5.jpg in "), "{says}");
    std::fs::remove_file(out.join("002-P0002-4x5.jpg")).unwrap();
    let (list, code) = ready(top.path(), &["--pixels", "640", "--out", &folder]);
    assert_eq!((missing(&list), code), (vec![], Some(0)), "{list:#}");
    let o = fallside(&[&"ready", &"--in", &top.path(), &"--edit", &"nowhere"]);
    assert_eq!(o.status.code(), Some(2), "{}", said(&o));
}

/// Numbers of a list.
fn numbers(of: &Value) -> Vec<f64> {
    of.as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
}

/// What is seen before is what is made: each print of a book on the page and at the place that its certificate has, in a share at that of
/// its file, and an edit ordered anew in its new order.
#[test]
fn prints_are_seen_where_they_will_stand() {
    let top = tempfile::tempdir().unwrap();
    make(top.path());
    let desk = Desk::open(top.path());
    assert_eq!(desk.post("/api/privacy", &json!({"unsaid": "open"})).status, 200);
    let out = top.path().join("book.pdf");
    for (layout, per) in [("single", 1), ("row=2", 2)] {
        // Two prints of these formats beside each other need more than a square page.
        let page = [300, 240];
        let wish = json!({"form": "book", "edit": "tight", "title": "Low water", "trim_mm": page, "layout": [layout],
                          "captions": true, "deck": true});
        let seen = desk.post("/api/preview", &wish).json();
        let o = fallside(&[
            &"book",
            &"--in",
            &top.path(),
            &"--edit",
            &"tight",
            &"--trim",
            &"300x240mm",
            &"--layout",
            &layout,
            &"--out",
            &out,
        ]);
        assert!(o.status.code().is_some_and(|c| c < 2), "{}", said(&o));
        let text = std::fs::read_to_string(out.with_extension("certificate.json")).unwrap();
        let made: Value = serde_json::from_str(&text).unwrap();
        assert_eq!(seen["pages"], made["pages"], "{layout}");
        let spreads = seen["sheets"].as_array().unwrap();
        assert_eq!(spreads[0]["pages"], json!([1]));
        assert_eq!(spreads[0]["lines"][0]["text"], "Low water");
        let on = |name: &str| {
            let holds = |s: &&Value| s["prints"].as_array().unwrap().iter().any(|p| p["name"] == name);
            let spread = spreads.iter().find(holds).unwrap();
            (spread, spread["prints"].as_array().unwrap().iter().find(|p| p["name"] == name).unwrap())
        };
        for picture in made["pictures"].as_array().unwrap() {
            let (spread, print) = on(picture["name"].as_str().unwrap());
            let (page, at, stands) =
                (picture["page"].as_u64().unwrap(), numbers(&print["at"]), numbers(&picture["print_mm"]));
            let right = page % 2 == 1;
            assert!(numbers(&spread["pages"]).contains(&(page as f64)), "{spread:#}");
            let x = at[0] - if right { 300.0 } else { 0.0 };
            // In a row the shadows between two prints are known only when they are made ready.
            let near = if per == 1 { 0.6 } else { 8.0 };
            for (seen, made) in [x, at[1], at[2], at[3]].into_iter().zip(&stands) {
                assert!((seen - made).abs() < near, "{layout} {print:#} {picture:#}");
            }
            // The mount reaches beyond its print on every side.
            let mount = numbers(&print["mount"]);
            assert!(mount[0] < at[0] && mount[1] < at[1] && mount[0] + mount[2] > at[0] + at[2], "{print:#}");
        }
        let cards: usize =
            seen["cards"].as_array().unwrap().iter().map(|s| s["prints"].as_array().unwrap().len()).sum();
        assert_eq!(cards, 2);
    }
    let share = json!({"form": "share", "edit": "tight", "shape": "4:5", "pixels": "600"});
    let seen = desk.post("/api/preview", &share).json();
    assert_eq!((seen["sheets"][0]["size"].clone(), &seen["of"]), (json!([480.0, 600.0]), &json!(2)));
    let folder = top.path().join("to-post");
    let o = fallside(&[
        &"share",
        &"--in",
        &top.path(),
        &"--edit",
        &"tight",
        &"--pixels",
        &"600",
        &"--out",
        &folder,
        &"--json",
    ]);
    let made: Value = serde_json::from_slice(&o.stdout).unwrap_or_else(|e| panic!("{e}: {}", said(&o)));
    for (sheet, share) in seen["sheets"].as_array().unwrap().iter().zip(made["shares"].as_array().unwrap()) {
        let (at, [l, t, r, b]) =
            (numbers(&sheet["prints"][0]["at"]), <[f64; 4]>::try_from(numbers(&share["print_px"])).unwrap());
        for (seen, made) in at.iter().zip([l, t, r - l, b - t]) {
            assert!((seen - made).abs() < 2.0, "{at:?} {share}");
        }
    }
    // Too small a page is said, and nothing is refused.
    let small = json!({"form": "book", "edit": "tight", "trim_mm": [80, 80], "layout": ["single"], "captions": true});
    let told = desk.post("/api/preview", &small);
    assert!(told.status == 200 && told.json()["trouble"].as_str().unwrap().contains("too small"), "{}", told.json());
    let order = |seen: &Value| seen["order"].clone();
    assert_eq!(order(&seen), json!([1, 2, 3]), "with the private one, which keeps its place");
    assert_eq!(desk.post("/api/edit", &json!({"do": "move", "name": "tight", "ids": [1], "at": 1})).status, 200);
    let seen = desk.post("/api/preview", &share).json();
    assert_eq!((order(&seen), &seen["sheets"][0]["prints"][0]["name"]), (json!([2, 1, 3]), &json!("P0002")));
}
