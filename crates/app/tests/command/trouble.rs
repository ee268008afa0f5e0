//! What a person is told where things go wrong or are not there: an address that is not served, trouble at the stand, a program without a
//! command.

use crate::served::{Desk, frames};
use serde_json::json;
use std::process::Command;

/// A tab of an earlier desk, a bookmark or a mistyped address shows a person a page that says what to do; a program gets JSON (RFC 9110,
/// 12.5.1: who accepts text/html is shown it). Nobody is let in by that.
#[test]
fn an_address_that_is_not_served_shows_a_page_to_a_person() {
    let top = tempfile::tempdir().unwrap();
    let desk = Desk::open(top.path());
    let (host, cookie) = (desk.host(), desk.cookie());
    let browser = ("Accept", "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8");
    let old = format!("fallside-{}=00000000000000000000000000000000", desk.port);
    let stranger: &[(&str, &str)] = &[("Host", &host), ("Cookie", &old), browser];
    let known: &[(&str, &str)] = &[("Host", &host), ("Cookie", &cookie), browser];
    for (line, headers, status, does) in [
        ("GET /stand", stranger, 403, "<code>fallside desk</code>"),
        ("GET /print/3", stranger, 403, "<code>fallside desk</code>"),
        ("GET /?t=00000000000000000000000000000000", stranger, 403, "<code>fallside desk</code>"),
        ("GET /fallside.db", known, 404, "start page"),
        ("GET /print/a/b", known, 404, "start page"),
        ("GET /assets/none.js", known, 404, "start page"),
    ] {
        let answer = desk.ask(line, headers, "");
        let text = String::from_utf8_lossy(&answer.body).into_owned();
        assert_eq!(answer.status, status, "{line}");
        assert!(
            answer.head.contains("content-type: text/html") && text.starts_with("<!doctype html>"),
            "{line}: {text}"
        );
        assert!(text.contains("<h1>") && text.contains(does) && !text.contains(&desk.token), "{line}: {text}");
        let policy = answer.head.lines().find(|l| l.starts_with("content-security-policy:")).unwrap();
        assert!(policy.contains("default-src 'none'") && !policy.contains("unsafe"), "{policy}");
        assert!(!policy.contains("script-src") && policy.contains("frame-ancestors 'none'"), "{policy}");
        // The same, asked by a program.
        let plain: Vec<_> = headers.iter().copied().filter(|h| h.0 != "Accept").collect();
        let answer = desk.ask(line, &plain, "");
        assert!(answer.status == status && answer.json()["says"].is_string(), "{line}");
    }
    for line in ["GET /api/desk", "GET /events"] {
        let answer = desk.ask(line, stranger, "");
        assert!(answer.status == 403 && answer.json()["says"].is_string(), "{line}");
    }
}

/// Without a command the program says what there is to do here, and that there is a desk.
#[test]
fn the_program_alone_mentions_the_desk() {
    let top = tempfile::tempdir().unwrap();
    let alone = || {
        let o = Command::new(env!("CARGO_BIN_EXE_fallside")).current_dir(top.path()).output().unwrap();
        assert!(o.status.success());
        String::from_utf8_lossy(&o.stdout).into_owned()
    };
    let text = alone();
    assert!(text.contains("No frames here.") && text.contains("fallside desk"), "{text}");
    drop(Desk::open(top.path()));
    let text = alone();
    assert!(text.contains("This folder is a project.\nNext: fallside desk") && !text.contains("No frames"), "{text}");
}

/// What goes wrong at the stand has the place of the verdict: a truncated file, one that cannot be read, a folder that is gone. It goes
/// when it is over or read, and what was watched is offered by the next desk.
#[test]
fn trouble_at_the_stand_is_shown_until_it_is_over() {
    let top = tempfile::tempdir().unwrap();
    let drawn = frames(&top.path().join("box"));
    let tether = top.path().join("tether");
    std::fs::create_dir(&tether).unwrap();
    let desk = Desk::open(&top.path().join("project"));
    assert!(desk.get("/api/stand").json()["remembered"].is_null());
    let wish = json!({ "folder": tether, "box": "A", "sleeve": "3", "of": 20, "backs": false, "sound": true });
    assert_eq!(desk.post("/api/stand", &wish).status, 200);
    let front = drawn.iter().find(|p| p.extension().is_some_and(|e| e == "jpg" || e == "jpeg")).unwrap_or(&drawn[0]);
    let bytes = std::fs::read(front).unwrap();
    let place = tether.join(front.file_name().unwrap());
    let name = place.file_name().unwrap().to_string_lossy().into_owned();
    std::fs::write(&place, &bytes[..bytes.len() / 2]).unwrap();
    let amiss = desk.until("/api/stand", |s| !s["amiss"].is_null())["amiss"].clone();
    assert_eq!((amiss["name"].as_str(), &amiss["seen"]), (Some(name.as_str()), &json!(false)), "{amiss}");
    assert!(amiss["do"].as_str().is_some_and(|d| d.contains("photograph the print again")), "{amiss}");
    let text = amiss.to_string();
    assert!(!text.contains(&tether.display().to_string()), "no path is told: {text}");
    // Another number is another trouble; this one is read.
    assert_eq!(desk.post("/api/mark", &json!({ "name": "77", "mark": "noticed" })).status, 409);
    let number = amiss["number"].to_string();
    assert_eq!(desk.post("/api/mark", &json!({ "name": number, "mark": "noticed" })).status, 200);
    assert!(desk.get("/api/stand").json()["amiss"].is_null());
    // The same file, whole now, is taken after all.
    std::fs::write(&place, &bytes).unwrap();
    desk.until("/api/stand", |s| s["last"]["name"] == name.as_str() && !s["last"]["frame"].is_null());
    // A folder that goes, and comes back.
    let away = top.path().join("away");
    std::fs::rename(&tether, &away).unwrap();
    let gone = desk.until("/api/stand", |s| !s["amiss"].is_null())["amiss"].clone();
    assert!(gone["name"].is_null() && gone["says"] == "The watched folder is not there.", "{gone}");
    std::fs::rename(&away, &tether).unwrap();
    desk.until("/api/stand", |s| s["amiss"].is_null());
    // Undo at the table does not reach what came by itself; by its name it goes as a whole.
    let before = desk.get("/api/desk").json();
    assert!(before["undo"].is_null(), "{before}");
    let undone = desk.post("/api/undo", &json!({ "take": null })).json();
    assert!(undone["did"].as_str().unwrap().starts_with("Nothing to undo"), "{undone}");
    let take = before["takes"][0].clone();
    assert_eq!((&take["from"], take["frames"].as_u64()), (&json!("the stand, A, sleeve 3"), Some(1)), "{take}");
    let undone = desk.post("/api/undo", &json!({ "take": take["take"] })).json();
    assert!(undone["did"].as_str().unwrap().contains("1 frame from the stand"), "{undone}");
    let after = desk.get("/api/desk").json();
    assert_eq!((&after["prints"], &after["takes"]), (&json!(0), &json!([])));
    assert!(place.exists());
    drop(desk);
    let desk = Desk::open(&top.path().join("project"));
    let stand = desk.get("/api/stand").json();
    let kept = &stand["remembered"];
    let same = ["folder", "box", "sleeve", "of"].iter().all(|w| kept[w] == wish[w]);
    assert!(stand["folder"].is_null() && same, "{stand}");
}
