//! Words by command: dates as people write them, tables, lists that grow, searches by name, and what an unsaid privacy means.

use crate::small_project::copy::copied;
use crate::small_project::{fallside, said};
use serde_json::Value;
use std::path::Path;

fn facts(project: &Path, print: &str) -> Value {
    let o = fallside(&[&"describe", &print, &"--in", &project, &"--json"]);
    assert!(o.status.success(), "{}", said(&o));
    serde_json::from_slice::<Value>(&o.stdout).unwrap()[0]["facts"].clone()
}

/// One bad date blocks neither the other fields nor the other rows of a table; what is ambiguous is asked.
#[test]
fn one_bad_date_blocks_nothing() {
    let top = tempfile::tempdir().unwrap();
    let project = copied(top.path());
    let o = fallside(&[&"describe", &"P0004", &"--date", &"summer 2009?", &"--title", &"A mini", &"--in", &project]);
    assert_eq!(o.status.code(), Some(0), "{}", said(&o));
    let now = facts(&project, "P0004");
    assert_eq!((&now["date"], &now["dated"]), (&"2009-22?".into(), &"summer 2009?".into()));
    // The title is written, the date is not, and the exit code says so.
    let o = fallside(&[&"describe", &"P0004", &"--date", &"03/04/2005", &"--title", &"Two", &"--in", &project]);
    assert_eq!(o.status.code(), Some(1), "{}", said(&o));
    assert!(
        said(&o)
            .contains("P0004, date: “03/04/2005” can be 3 April 2005 or 4 March 2005. Write 2005-04-03 or 2005-03-04.")
    );
    let now = facts(&project, "P0004");
    assert_eq!((&now["title"], &now["date"]), (&"Two".into(), &"2009-22?".into()));
    let o = fallside(&[&"describe", &"P0004", &"--date", &"whenever", &"--in", &project]);
    assert_eq!(o.status.code(), Some(2), "{}", said(&o));
    // A table: a bad date, a print that is not there, and rows that are written.
    let table = top.path().join("words.csv");
    std::fs::write(
        &table,
        "print,date,place,people\nP0001,Christmas 2003,,\nP0002,the day it rained,\"Pier, north\",\nP0099,2009,,\nP0004,14.7.2009,,Ada; Bo\n",
    )
    .unwrap();
    let o = fallside(&[&"describe", &"--table", &table, &"--in", &project]);
    assert_eq!(o.status.code(), Some(1), "{}", said(&o));
    assert!(
        said(&o).contains("P0002, date: “the day it rained”") && said(&o).contains("Line 4: There is no print P0099.")
    );
    assert_eq!(facts(&project, "P0001")["date"], "2003-12-25~");
    assert_eq!(
        (&facts(&project, "P0002")["place"], &facts(&project, "P0004")["date"]),
        (&"Pier, north".into(), &"2009-07-14".into())
    );
    // One undo takes the table back.
    assert!(fallside(&[&"undo", &"--in", &project]).status.success());
    assert_eq!(
        (&facts(&project, "P0004")["date"], &facts(&project, "P0002")["place"]),
        (&"2009-22?".into(), &"Mill Lane".into())
    );
    // The words come back from the sidecars.
    std::fs::remove_file(project.join("fallside.db")).unwrap();
    let o = fallside(&[&"rebuild", &"--in", &project]);
    assert!(o.status.code().is_some_and(|c| c < 2), "{}", said(&o));
    let now = facts(&project, "P0004");
    assert_eq!((&now["date"], &now["dated"]), (&"2009-22?".into(), &"summer 2009?".into()));
}

#[test]
fn lists_grow_and_searches_are_kept() {
    let top = tempfile::tempdir().unwrap();
    let project = copied(top.path());
    let o = fallside(&[&"describe", &"P0001", &"P0004", &"--people", &"Cy", &"--add", &"--in", &project]);
    assert!(o.status.success(), "{}", said(&o));
    assert_eq!(facts(&project, "P0001")["people"], serde_json::json!(["Ada Brook", "Bo", "Cy"]));
    fallside(&[&"describe", &"P0001", &"--people", &"Bo", &"--remove", &"--in", &project]);
    assert_eq!(facts(&project, "P0001")["people"], serde_json::json!(["Ada Brook", "Cy"]));
    let o = fallside(&[&"describe", &"P0001", &"--title", &"x", &"--add", &"--in", &project]);
    assert!(o.status.code() == Some(2) && said(&o).contains("leave --title out"), "{}", said(&o));
    let found = |line: &[&str]| {
        let mut words: Vec<&dyn AsRef<std::ffi::OsStr>> = vec![&"find", &"--in", &project, &"--json"];
        line.iter().for_each(|w| words.push(w));
        let o = fallside(&words);
        assert!(o.status.success(), "{}", said(&o));
        let rows: Value = serde_json::from_slice(&o.stdout).unwrap();
        rows.as_array()
            .unwrap()
            .iter()
            .map(|r| r["id"].as_str().unwrap()[1..].parse::<i64>().unwrap())
            .collect::<Vec<_>>()
    };
    assert_eq!(found(&["July", "2009"]), [1]);
    assert_eq!(found(&["spring", "2010", "OR", "title:low", "--save", "both"]), [1, 2]);
    assert_eq!(found(&["saved:both"]), [1, 2]);
    assert_eq!(found(&["mini"]), [4]);
    // Each print's main colours were learnt when it came in: each is near its own.
    assert!(found(&["colour:P0001"]).contains(&1));
    let o = fallside(&[&"list", &"searches", &"--in", &project]);
    assert!(said(&o).contains("both  spring 2010 OR title:low"), "{}", said(&o));
}

/// Privacy not yet said: names and places stay behind until somebody decides, once for the project.
#[test]
fn what_nobody_said_of_privacy_is_decided_once() {
    let top = tempfile::tempdir().unwrap();
    let project = copied(top.path());
    let o = fallside(&[&"describe", &"P0001", &"--privacy", &"", &"--in", &project]);
    assert!(o.status.success(), "{}", said(&o));
    let shared = |n: u32| {
        let out = top.path().join(format!("out-{n}"));
        let o = fallside(&[&"share", &"--in", &project, &"--find", &"id:1", &"--pixels", &"300", &"--out", &out]);
        assert!(o.status.code().is_some_and(|c| c < 2), "{}", said(&o));
        (said(&o), std::fs::read_to_string(out.join("alt-text.txt")).unwrap())
    };
    let answer = fallside(&[&"privacy", &"--in", &project, &"--json"]);
    let value: Value = serde_json::from_slice(&answer.stdout).unwrap();
    assert_eq!((&value["unsaid_means"], &value["prints_unsaid"]), (&Value::Null, &2.into()));
    let words = |says: &str| says.contains("fallside privacy open, ask or private");
    let (says, _) = shared(1);
    assert!(words(&says), "{says}");
    let gallery = |n: u32| {
        let out = top.path().join(format!("site-{n}"));
        let o = fallside(&[&"gallery", &"--in", &project, &"--find", &"id:1", &"--out", &out]);
        assert!(o.status.code().is_some_and(|c| c < 2), "{}", said(&o));
        let pages = crate::small_project::copy::files(&out);
        let texts = pages.iter().filter(|p| p.extension().is_some_and(|e| e == "html" || e == "json"));
        texts.map(|p| std::fs::read_to_string(p).unwrap()).collect::<String>()
    };
    let careful = gallery(1);
    assert!(!careful.contains("Old Harbour") && !careful.contains("Ada Brook"), "names and places stay behind");
    let o = fallside(&[&"privacy", &"open", &"--in", &project]);
    assert!(said(&o).contains("that means open"), "{}", said(&o));
    assert!(!words(&shared(2).0));
    assert!(gallery(2).contains("Old Harbour"));
    let o = fallside(&[&"privacy", &"secret", &"--in", &project]);
    assert_eq!(o.status.code(), Some(2), "{}", said(&o));
}

/// The rig room: a wrong field leaves the plan as it is, the card is the command's, the words outlive the desk, and the check is shown.
#[test]
fn the_rig_takes_what_people_type_and_shows_what_check_measured() {
    use crate::served::Desk;
    use serde_json::json;
    let top = tempfile::tempdir().unwrap();
    let project = copied(top.path());
    let o = fallside(&[&"check", &project.join("card/F0.png"), &"--in", &project]);
    assert!(o.status.code().is_some_and(|c| c < 2), "{}", said(&o));
    let o = fallside(&[&"check", &project.join("card/F0.png"), &"--in", &top.path()]);
    assert!(o.status.code() == Some(1) && said(&o).contains("no project"), "{}", said(&o));
    let desk = Desk::open(&project);
    let wish =
        json!({ "format": "square-integral", "lens": "50", "pixels": "24 MP", "light_distance": "far", "aim": "book" });
    let planned = desk.post("/api/plan", &wish).json();
    assert_eq!(planned["fields"][0]["field"], "light_distance", "{planned:#}");
    assert_eq!(planned["fields"].as_array().unwrap().len(), 1);
    assert_eq!(
        (&planned["answer"]["camera"]["focal_mm"], &planned["answer"]["camera"]["pixels"]),
        (&json!(50.0), &json!([6000.0, 4000.0]))
    );
    assert_eq!(planned["checked"]["frames"], 1);
    let falls = planned["checked"]["fall_off_stops"].as_f64().unwrap();
    let file: Value = serde_json::from_slice(&std::fs::read(project.join("check.json")).unwrap()).unwrap();
    let blank = &file["blank"];
    let by_check = blank["fall_off_print_stops"].as_f64().or(blank["fall_off_stops"].as_f64()).unwrap();
    assert!((falls - by_check).abs() < 1e-12);
    // No sentence of the plan speaks of the command's options.
    let odd = desk.post("/api/plan", &json!({ "format": "plain" })).json();
    let says = odd["trouble"].as_str().unwrap();
    assert!(says.contains("Print size") && !says.contains("--"), "{says}");
    // The card is the one that the command writes.
    let card = top.path().join("rig.html");
    let o = fallside(&[&"plan", &"--format", &"square-integral", &"--lens", &"50mm", &"--card", &card]);
    assert!(card.exists(), "{}", said(&o));
    let shown = desk.get("/card?format=square-integral&lens=50");
    assert_eq!(String::from_utf8_lossy(&shown.body), std::fs::read_to_string(&card).unwrap());
    let wrong = desk.get("/card?format=square-integral&lens=hat");
    assert_eq!((wrong.status, wrong.json()["says"].as_str().unwrap().starts_with("Lens: ")), (400, true));
    let kept = json!({ "words": { "lens": "50", "light_distance": "90 cm" } });
    assert_eq!(desk.post("/api/plan/words", &kept).status, 200);
    assert_eq!(desk.post("/api/plan/words", &json!({ "words": { "hat": "1" } })).status, 409);
    drop(desk);
    assert_eq!(Desk::open(&project).get("/api/plan/words").json(), kept);
}
