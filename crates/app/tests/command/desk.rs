//! The desk as another program sees it: who may come in, what may be read, the stand's verdicts, a second desk, a sudden end.

use crate::served::{Desk, frames, walk};
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::io::{BufRead, BufReader};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

#[test]
fn only_this_machines_own_page_comes_in() {
    let top = tempfile::tempdir().unwrap();
    std::fs::write(top.path().join("secret.txt"), "not for the page").unwrap();
    let desk = Desk::open(&top.path().join("project"));
    let (host, cookie) = (desk.host(), desk.cookie());
    // The token opens the page once, and becomes a cookie that no script can read.
    let first = desk.ask(&format!("GET /?t={}", desk.token), &[("Host", &host)], "");
    assert_eq!(first.status, 200);
    assert!(first.head.contains("httponly; samesite=strict"), "{}", first.head);
    let home = desk.get("/");
    assert_eq!(home.status, 200);
    let policy = home.head.lines().find(|l| l.starts_with("content-security-policy:")).unwrap().to_owned();
    for rule in
        ["default-src 'none'", "script-src 'self'", "connect-src 'self'", "frame-ancestors 'none'", "base-uri 'none'"]
    {
        assert!(policy.contains(rule), "{policy}");
    }
    assert!(!policy.contains("unsafe"), "{policy}");
    let wrong = format!("fallside-{}=0", desk.port);
    // Without it, with another, from another site, under another name: nothing.
    let refused: [(&str, Vec<(&str, &str)>); 7] = [
        ("GET /api/desk", vec![("Host", &host)]),
        ("GET /?t=00000000000000000000000000000000", vec![("Host", &host)]),
        ("GET /api/desk", vec![("Host", &host), ("Cookie", &wrong)]),
        ("GET /api/desk", vec![("Host", "desk.example"), ("Cookie", &cookie)]),
        ("GET /api/desk", vec![("Host", &host), ("Cookie", &cookie), ("Origin", "http://desk.example")]),
        ("GET /api/desk", vec![("Host", &host), ("Cookie", &cookie), ("Origin", "null")]),
        ("POST /api/undo", vec![("Host", &host), ("Cookie", &cookie)]),
    ];
    for (line, headers) in &refused {
        let answer = desk.ask(line, headers, "");
        assert_eq!(answer.status, 403, "{line} {headers:?}");
        assert!(answer.json()["says"].as_str().is_some_and(|s| s.ends_with('.')), "{line}");
    }
    // No way leads to a file that is not the page's own.
    for way in [
        "/assets/../../secret.txt",
        "/assets/..%2f..%2fsecret.txt",
        "/assets/%2e%2e/%2e%2e/secret.txt",
        "/assets//etc/passwd",
        "/assets/..%5c..%5csecret.txt",
        "/picture/..%2f..%2fsecret.txt/mount",
        "/picture/1/..%2f..%2fsecret.txt",
        "/secret.txt",
        "/../secret.txt",
        "/assets/%00",
        "/fallside.db",
        "/print/../../secret.txt",
        "/assets/..;/secret.txt",
        "/made/a/secret.txt",
        "/made/../secret.txt",
        "/made/a/../../../secret.txt",
        "/made/a/..%2f..%2f..%2fsecret.txt",
        "/made/%2e%2e/secret.txt",
        "/made/..%2f../secret.txt",
        "/made//etc/passwd",
        "/made/a/%2fetc%2fpasswd",
        "/made/a/p.jpg%00.txt",
        "/made/",
        "/api/hand/..%2f..%2fsecret",
    ] {
        let answer = desk.get(way);
        assert!((400..500).contains(&answer.status), "{way}: {}", answer.status);
        let text = String::from_utf8_lossy(&answer.body).into_owned();
        assert!(!text.contains("not for the page") && !text.contains("root:"), "{way}: {text}");
        assert!(answer.json()["says"].is_string(), "{way}: {text}");
    }
    // Only this machine is served: no other of its addresses answers.
    let others = std::fs::read_to_string("/proc/net/fib_trie").unwrap_or_default();
    let mut addresses: Vec<&str> = others.lines().filter_map(|l| l.trim().strip_prefix("|-- ")).collect();
    addresses.retain(|a| !a.starts_with("127.") && !a.ends_with(".0") && !a.ends_with(".255"));
    for address in addresses.iter().filter_map(|a| a.parse::<std::net::IpAddr>().ok()) {
        let there = TcpStream::connect_timeout(&(address, desk.port).into(), Duration::from_millis(300));
        assert!(there.is_err(), "{address} answers");
    }
}

#[test]
fn a_second_desk_says_so_and_only_reads() {
    let top = tempfile::tempdir().unwrap();
    let first = Desk::open(top.path());
    let mut second = Desk::open(top.path());
    let mut said = String::new();
    second.told.read_line(&mut said).unwrap();
    assert!(said.contains("read-only") && said.contains("a desk, process"), "{said}");
    assert_eq!(second.get("/api/desk").json()["reads_only"], true);
    let answer = second.post("/api/edit", &json!({ "do": "make", "name": "For Ada" }));
    assert_eq!(answer.status, 409, "{}", answer.json());
    let made = first.post("/api/edit", &json!({ "do": "make", "name": "For Ada" }));
    assert_eq!((made.status, made.json()["did"].as_str()), (200, Some("Made the edit For Ada")));
    assert_eq!(second.get("/api/desk").json()["edits"][0]["name"], "For Ada", "the reader sees what the first does");
    // What cannot be understood is answered in words.
    let odd = first.get("/api/prints?q=plase:quay").json();
    assert!(odd["says"].as_str().is_some_and(|s| s.contains("place")), "{odd}");
    for (path, body) in [
        ("/api/edit", json!({ "do": "put", "name": "tight", "ids": [77] })),
        ("/api/refinish", json!({ "frame": 12, "turn": 1 })),
        ("/api/role", json!({ "frame": 12, "role": "back" })),
        ("/api/stand", json!({ "folder": "/nowhere/at/all" })),
        ("/api/take", json!({ "folder": "/nowhere/at/all" })),
    ] {
        let answer = first.post(path, &body);
        assert_eq!(answer.status, 409, "{path}: {}", answer.json());
        assert!(answer.json()["says"].as_str().is_some_and(|s| s.len() > 10), "{path}");
    }
}

/// What a page cannot have meant is refused with the name of the field, and changes nothing.
#[test]
fn a_request_that_is_not_understood_names_its_field() {
    let top = tempfile::tempdir().unwrap();
    let desk = Desk::open(top.path());
    let before = desk.get("/api/desk").json();
    for (path, body, field) in [
        ("/api/describe", json!({ "ids": ["1"], "facts": {} }), "ids[0]"),
        ("/api/describe", json!({ "ids": [1] }), "facts"),
        ("/api/edit", json!({ "do": "put", "name": "tight", "ids": [1], "kind": null }), "kind"),
        ("/api/edit", json!({ "do": "fling", "name": "tight" }), "fling"),
        ("/api/edit", json!({ "do": "move", "name": "tight", "ids": [1] }), "at"),
        ("/api/stack", json!({ "do": "put" }), "ids"),
        ("/api/role", json!({ "frame": 1, "role": "lid" }), "lid"),
        ("/api/refinish", json!({ "frame": 1, "turn": -1 }), "turn"),
        ("/api/stand", json!({ "folder": "/x", "sleve": "3" }), "sleve"),
        ("/api/plan", json!({ "light-distance": "120cm" }), "light-distance"),
        ("/api/plan", json!({ "lens": 70 }), "lens"),
        ("/api/undo", json!({ "all": true }), "all"),
        ("/api/hand", json!({ "edit": null, "form": "share", "shape": "1:1", "pixels": "800", "scale": 1 }), "scale"),
    ] {
        let answer = desk.post(path, &body);
        assert_eq!(answer.status, 422, "{path} {body}");
        assert!(answer.json()["says"].as_str().is_some_and(|s| s.contains(field)), "{path}: {}", answer.json());
    }
    let odd = desk.get("/api/prints?q=&form=0");
    assert!(odd.status == 422 && odd.json()["says"].as_str().unwrap().contains("form"), "{}", odd.json());
    assert_eq!(desk.get("/api/desk").json(), before);
}

/// The schema names every call and the server answers all of them: what is asked wrongly is refused by the call, not as unknown.
#[test]
fn every_call_of_the_schema_has_a_route() {
    let top = tempfile::tempdir().unwrap();
    let desk = Desk::open(top.path());
    for call in crate::served::wire::schema()["desk"].as_array().unwrap() {
        let path = call["path"].as_str().unwrap().replace("{id}", "1").replace("{name}", "none");
        let answer = match call["method"].as_str().unwrap() {
            "GET" => desk.get(&path),
            _ => desk.post(&path, &json!({ "nobody": "knows" })),
        };
        let text = String::from_utf8_lossy(&answer.body).into_owned();
        assert!(answer.status != 405 && !text.contains("nothing at this address"), "{path}: {} {text}", answer.status);
    }
}

/// A rig is planned from what a person types, and what the newest front measured stands beside it.
#[test]
fn the_rig_room_shows_what_the_newest_front_measured() {
    let top = tempfile::tempdir().unwrap();
    let drawn = frames(&top.path().join("box"));
    let project = top.path().join("project");
    let desk = Desk::open(&project);
    let heard = desk.listen();
    let asked = json!({ "format": "square-integral", "sensor": "36x24", "pixels": "6000x4000", "lens": "70mm-macro",
        "flash_gn": "26", "ambient": "60lx", "light_from": "left", "elevation": "35deg", "light_distance": "120cm" });
    let plan = |body: &Value| desk.post("/api/plan", body).json();
    let before = plan(&asked);
    assert!(before["measured"].is_null() && before["answer"]["possible"].is_boolean(), "{before:#}");
    // The same numbers as the command's.
    let words = [
        "--format",
        "square-integral",
        "--sensor",
        "36x24",
        "--pixels",
        "6000x4000",
        "--lens",
        "70mm-macro",
        "--flash-gn",
        "26",
        "--ambient",
        "60lx",
        "--light-from",
        "left",
        "--elevation",
        "35deg",
        "--light-distance",
        "120cm",
    ];
    let o = Command::new(env!("CARGO_BIN_EXE_fallside")).arg("plan").args(words).arg("--json").output().unwrap();
    assert_eq!(before["answer"], serde_json::from_slice::<Value>(&o.stdout).unwrap());
    let unclear = plan(&json!({ "light_distance": "120" }));
    assert!(unclear["trouble"].is_null() && unclear["answer"].is_object(), "the plan goes on: {unclear}");
    assert_eq!(unclear["fields"][0]["field"], "light_distance", "{unclear}");
    assert!(unclear["fields"][0]["says"].as_str().is_some_and(|s| s.starts_with("120 what?")), "{unclear}");
    // The whole box is taken in: prints, and the frames of the rig.
    assert_eq!(desk.post("/api/take", &json!({ "folder": top.path().join("box/frames"), "box": "A" })).status, 200);
    let event = heard.iter().find(|e| e["kind"] == "importing" && !e["last"].is_null()).unwrap();
    assert_eq!(event["last"]["frames"].as_u64().unwrap() as usize, drawn.len());
    let reports: Vec<Value> = walk(&project)
        .into_iter()
        .filter(|p| p.to_string_lossy().ends_with(".report.json"))
        .map(|p| serde_json::from_slice(&std::fs::read(p).unwrap()).unwrap())
        .collect();
    let of =
        |r: &Value| Path::new(r["frame"]["path"].as_str().unwrap()).file_name().unwrap().to_string_lossy().into_owned();
    let measured = plan(&asked)["measured"].clone();
    let report = reports.iter().find(|r| measured["name"] == json!(of(r))).unwrap_or_else(|| panic!("{measured:#}"));
    assert_eq!(report["frame"]["role"], "front");
    assert_eq!(measured["px_per_mm"], report["camera"]["px_per_mm"]);
    assert_eq!(measured.get("fall_off_stops"), report["light"].get("fall_off_stops"));
    assert_eq!(measured.get("shadow_width_mm"), report["light"].get("shadow_width_mm"));
    let tilt = |axis: &str| report["camera"][axis].as_f64().unwrap();
    let lean = tilt("tilt_x_deg").hypot(tilt("tilt_y_deg"));
    assert!((measured["lean_deg"].as_f64().unwrap() - lean).abs() < 1e-9, "{measured:#} {report:#}");
    // The room's light comes a little later, and is what the command measures on the same two frames.
    let began = std::time::Instant::now();
    let below = loop {
        if let Some(below) = plan(&asked)["measured"]["ambient_below_stops"].as_f64() {
            break below;
        }
        assert!(began.elapsed() < Duration::from_secs(60), "the room's light is never known");
        std::thread::sleep(Duration::from_millis(200));
    };
    let listed =
        Command::new(env!("CARGO_BIN_EXE_fallside")).args(["list", "frames", "--json", "--in"]).arg(&project).output();
    let listed: Vec<Value> = serde_json::from_slice(&listed.unwrap().stdout).unwrap();
    let file = |role: &str| {
        let newest = listed.iter().rfind(|f| f["role"] == role).unwrap();
        top.path().join("box/frames").join(newest["name"].as_str().unwrap())
    };
    let o = Command::new(env!("CARGO_BIN_EXE_fallside"))
        .arg("check")
        .args([file("ambient"), file("blank")])
        .arg("--json")
        .output();
    let check: Value = serde_json::from_slice(&o.unwrap().stdout).unwrap();
    assert_eq!(check["ambient"]["below"]["value"].as_f64(), Some(below), "{:#}", check["ambient"]);
}

/// What is made here is what the commands make; nothing but it can be read, and each kind may do only what shows it.
#[test]
fn prints_are_handed_on_and_seen_as_they_were_made() {
    let top = tempfile::tempdir().unwrap();
    let project = top.path().join("project");
    frames(&top.path().join("box"));
    let fallside = |args: &[&str]| {
        let o = Command::new(env!("CARGO_BIN_EXE_fallside")).args(args).current_dir(top.path()).output().unwrap();
        assert!(o.status.code().is_some_and(|c| c < 2), "{args:?}: {}", String::from_utf8_lossy(&o.stderr));
    };
    fallside(&["take", "box/frames", "--in", "project"]);
    let desk = Desk::open(&project);
    let rows = desk.get("/api/prints?q=&order=number").json();
    let ids: Vec<i64> = rows["rows"].as_array().unwrap().iter().take(3).filter_map(|r| r["id"].as_i64()).collect();
    desk.post(
        "/api/describe",
        &json!({ "ids": [ids[0]], "facts": { "alt": "Two boats lie in the mud.", "note": "mine" } }),
    );
    desk.post("/api/describe", &json!({ "ids": [ids[2]], "facts": { "privacy": "private" } }));
    assert_eq!(desk.post("/api/edit", &json!({ "do": "put", "name": "tight", "ids": ids })).status, 200);

    // What makes no sense is said at once, in the command's words.
    for wish in [
        json!({ "edit": "tight", "form": "share", "shape": "4-5", "pixels": "2160" }),
        json!({ "edit": "tight", "form": "book", "trim_mm": [24, 24], "layout": ["single"], "captions": true }),
        json!({ "edit": null, "form": "pack", "place": "archive" }),
        json!({ "edit": "tight", "form": "gallery", "title": "x", "address": "example.org" }),
        json!({ "edit": "tight", "form": "gallery", "title": "x", "newsletter": 5 }),
    ] {
        let answer = desk.post("/api/hand", &wish);
        assert_eq!(answer.status, 409, "{}", answer.json());
    }
    assert_eq!(desk.post("/api/hand", &json!({ "edit": "tight", "form": "film" })).status, 422);
    // What is found out while making is told, and leaves nothing behind.
    let made = |wish: &Value| {
        assert_eq!(desk.post("/api/hand", wish).status, 200, "{wish}");
        desk.until("/api/hand", |h| h["making"].is_null() && !h["ended"].is_null())["ended"].clone()
    };
    let book = |trim: i64, printer: Value| {
        json!({ "edit": "tight", "form": "book", "title": "Low water", "trim_mm": [trim, trim], "layout": ["single"],
                "captions": true, "printer": printer })
    };
    for (wish, says) in [
        (book(60, Value::Null), "too small for P0001"),
        (book(240, json!(top.path().join("none.icc"))), "none.icc"),
        (json!({ "edit": "loose", "form": "gallery", "title": "x" }), "There is no edit called"),
        (json!({ "edit": null, "form": "pack", "place": project.join("bag") }), "are inside each other"),
    ] {
        let ended = made(&wish);
        assert!(ended["name"].is_null() && ended["says"].as_str().is_some_and(|s| s.contains(says)), "{ended}");
    }
    assert_eq!(std::fs::read_dir(project.join("handed-on")).unwrap().count(), 0);

    // An account that a killed desk left half written is removed; a part of somebody else's stays.
    let at = |name: &str| project.join("handed-on").join(name);
    let (ours, foreign) = (at(".fallside-2026-11-01-share.json-aB3dE6.part"), at("letter.part"));
    [&ours, &foreign].iter().for_each(|p| std::fs::write(p, "half").unwrap());

    // A share: the command makes the same bytes.
    let share = made(&json!({ "edit": "tight", "form": "share", "shape": "1:1", "pixels": "800", "one_scale": true }));
    let name = share["name"].as_str().unwrap_or_else(|| panic!("{share}")).to_owned();
    assert!(!ours.exists() && foreign.exists());
    std::fs::remove_file(foreign).unwrap();
    fallside(&[
        "share",
        "--in",
        "project",
        "--edit",
        "tight",
        "--shape",
        "1:1",
        "--pixels",
        "800",
        "--one-scale",
        "--out",
        "to-post",
    ]);
    let seen = desk.get(&format!("/api/hand/{name}")).json();
    let shares = seen["shares"].as_array().unwrap();
    assert_eq!((shares.len(), seen["private"].as_array().unwrap().len()), (2, 1), "{seen:#}");
    assert_eq!(
        (&shares[0]["alt"], &shares[0]["left_out"][0]),
        (&json!("Two boats lie in the mud."), &json!(["note", "not allowed"]))
    );
    assert_eq!(seen["alt_missing"].as_array().unwrap().len(), 1);
    for file in shares.iter().filter_map(|s| s["file"].as_str()) {
        let answer = desk.get(&format!("/made/{name}/{file}"));
        assert_eq!(answer.status, 200, "{file}");
        assert!(answer.head.contains("content-type: image/jpeg") && answer.head.contains("sandbox"), "{}", answer.head);
        assert!(
            answer.body == std::fs::read(top.path().join("to-post").join(file)).unwrap(),
            "{file} is not the command's"
        );
    }
    assert!(String::from_utf8_lossy(&desk.get(&format!("/made/{name}/alt-text.txt")).body).contains("Two boats"));
    // Its list, the account beside it and everything else of the project stay unread.
    for way in
        [".fallside-files", "..%2f..%2ffallside.db", "%2e%2e/%2e%2e/fallside.db", &format!("..%2f{name}.json"), ""]
    {
        assert_eq!(desk.get(&format!("/made/{name}/{way}")).status, 404, "{way}");
    }

    // A gallery: its page may run its own script alone, and only while that is ours.
    let gallery = made(&json!({ "edit": "tight", "form": "gallery", "title": "Low water",
        "address": "https://example.org/low-water", "newsletter": 900 }));
    let name = gallery["name"].as_str().unwrap_or_else(|| panic!("{gallery}")).to_owned();
    let page = desk.get(&format!("/made/{name}/index.html"));
    let policy = page.head.lines().find(|l| l.starts_with("content-security-policy:")).unwrap().to_owned();
    let home = format!("http://{}/made/{name}/", desk.host());
    for rule in
        ["default-src 'none'".into(), format!("script-src {home}look/look.js;"), "frame-ancestors 'self'".into()]
    {
        assert!(policy.contains(&rule), "{policy}");
    }
    assert!(!policy.contains("connect-src") && !policy.contains("unsafe-eval"), "{policy}");
    assert!(String::from_utf8_lossy(&page.body).contains("Low water"));
    let manifest = desk.get(&format!("/made/{name}/manifest.json")).json();
    assert_eq!(manifest["id"], "https://example.org/low-water/manifest.json");
    let letter = desk.get(&format!("/made/{name}/newsletter.html")).body;
    assert!((1..=900_000).contains(&letter.len()), "{} bytes", letter.len());
    a_site_is_made_again_in_its_place(&desk, &project, &name, &ids);
    let script = format!("/made/{name}/look/look.js");
    assert_eq!(desk.get(&script).status, 200);
    std::fs::write(project.join("handed-on").join(&name).join("look/look.js"), "fetch('/api/desk')").unwrap();
    assert_eq!(desk.get(&script).status, 404);
    let stopped = again(&desk, &name);
    assert!(
        stopped["name"].is_null() && stopped["says"].as_str().unwrap().contains("changed since Fallside wrote it"),
        "{stopped}"
    );
    std::fs::remove_file(project.join("handed-on").join(&name).join("look/look.js")).unwrap();
    assert_eq!(again(&desk, &name)["name"], json!(name));
    // Not without the run's token, and not for another site.
    let (host, cookie) = (desk.host(), desk.cookie());
    let index = format!("GET /made/{name}/index.html");
    assert_eq!(desk.ask(&index, &[("Host", &host)], "").status, 403);
    let other = [("Host", host.as_str()), ("Cookie", &cookie), ("Origin", "http://desk.example")];
    assert_eq!(desk.ask(&index, &other, "").status, 403);

    // A book: the file itself, its flat plan, a picture of every spread; what goes beside it, where it was asked for.
    let mut wish = book(240, Value::Null);
    for word in ["proof", "dummy", "deck"] {
        wish[word] = json!(true);
    }
    let ended = made(&wish);
    let name = ended["name"].as_str().unwrap_or_else(|| panic!("{ended}")).to_owned();
    let seen = desk.get(&format!("/api/hand/{name}")).json();
    assert_eq!((&seen["book"]["paper_white"], &seen["book"]["condition"]), (&json!(true), &Value::Null), "{seen:#}");
    let spreads = seen["book"]["spreads"].as_array().unwrap();
    assert_eq!(spreads.len() as u64, seen["book"]["pages"].as_u64().unwrap() / 2 + 1);
    let pdf = desk.get(&format!("/made/{name}/book.pdf"));
    assert!(pdf.status == 200 && pdf.body.starts_with(b"%PDF-"), "{}", pdf.head);
    for file in ["book.proof-sheet.pdf", "book.dummy.pdf", "book.deck.pdf"] {
        assert!(seen["files"].as_array().unwrap().contains(&json!(file)), "{seen:#}");
        assert_eq!(desk.get(&format!("/made/{name}/{file}")).status, 200, "{file}");
    }
    assert_eq!(desk.post(&format!("/api/hand/{name}/again"), &json!({})).status, 409, "a book is made anew");
    assert_eq!(pdf.body, std::fs::read(project.join("handed-on").join(&name).join("book.pdf")).unwrap());
    for file in [spreads[1].as_str().unwrap(), "book.flat-plan.svg"] {
        let svg = desk.get(&format!("/made/{name}/{file}"));
        assert!(
            svg.status == 200 && svg.head.contains("image/svg+xml") && svg.body.starts_with(b"<svg"),
            "{file}: {}",
            svg.head
        );
    }

    // An archive: elsewhere, a whole bag; what it says of itself is seen here.
    let bag = top.path().join("disk/archive");
    let ended = made(&json!({ "edit": null, "form": "pack", "title": "Low water", "place": bag }));
    let archive = ended["name"].as_str().unwrap_or_else(|| panic!("{ended}")).to_owned();
    let seen = desk.get(&format!("/api/hand/{archive}")).json();
    assert_eq!(seen["place"], json!(bag.canonicalize().unwrap()), "{seen:#}");
    assert_eq!((&seen["count"], &seen["problems"]), (&rows["total"], &json!([])), "{seen:#}");
    assert!(seen["says"][0].as_str().unwrap().ends_with("Read again afterwards and found good."), "{seen:#}");
    for (file, in_bag) in [("READ-ME-FIRST.txt", "data/"), ("prints.csv", "data/"), ("manifest-sha512.txt", "")]
        .map(|(f, i)| (f, format!("{i}{f}")))
    {
        assert_eq!(
            desk.get(&format!("/made/{archive}/{file}")).body,
            std::fs::read(bag.join(in_bag)).unwrap(),
            "{file}"
        );
    }
    fallside(&["verify", "disk/archive"]);
    // Made again it holds the same files; with its disk away, that is said and nothing is changed.
    let bag_away = top.path().join("away");
    let pictures = || {
        let manifest = std::fs::read_to_string(bag.join("manifest-sha512.txt")).unwrap();
        manifest.lines().filter(|l| l.ends_with(".jpg") || l.ends_with(".tif")).map(str::to_owned).collect::<Vec<_>>()
    };
    let before = pictures();
    assert_eq!(again(&desk, &archive)["name"], json!(archive));
    assert!(!before.is_empty() && pictures() == before);
    std::fs::rename(&bag, &bag_away).unwrap();
    let answer = desk.post(&format!("/api/hand/{archive}/again"), &json!({}));
    assert!(answer.json()["says"].as_str().is_some_and(|s| s.contains("archive is not at")), "{}", answer.json());
    std::fs::rename(&bag_away, &bag).unwrap();
    // Read again beside its second copy, which has lost a byte: that is told, and where the whole file lies.
    let copy = top.path().join("second");
    walk(&bag).iter().for_each(|from| {
        let to = copy.join(from.strip_prefix(&bag).unwrap());
        std::fs::create_dir_all(to.parent().unwrap()).unwrap();
        std::fs::copy(from, to).unwrap();
    });
    let packed = desk.get(&format!("/api/hand/{archive}")).json()["says"].clone();
    let checked = |copy: &Path| {
        assert_eq!(desk.post(&format!("/api/hand/{archive}/check"), &json!({ "copy": copy })).status, 200);
        desk.until("/api/hand", |h| h["making"].is_null() && !h["ended"].is_null());
        let now = desk.get(&format!("/api/hand/{archive}")).json();
        assert_eq!(now["says"], packed, "what packing told stays told");
        now["checked"].clone()
    };
    let good = checked(&copy);
    assert!(good["says"].as_array().unwrap()[..2].iter().all(|s| s.as_str().unwrap().contains(": good. ")), "{good:#}");
    assert!(good["says"][0].as_str().unwrap().contains("last found good"), "{good:#}");
    assert_eq!(good["problems"], json!([]));
    let hit = walk(&copy.join("data/originals"))[0].clone();
    let mut bytes = std::fs::read(&hit).unwrap();
    bytes.truncate(bytes.len() - 1);
    std::fs::write(&hit, bytes).unwrap();
    let damaged = checked(&copy);
    let problems = damaged["problems"].as_array().unwrap();
    let lost = hit.file_name().unwrap().to_str().unwrap();
    assert!(damaged["says"][1].as_str().unwrap().contains(": damaged. "), "{damaged:#}");
    assert!(problems[0].as_str().unwrap().contains(lost) && problems.len() == 2, "{damaged:#}");
    assert!(problems[1].as_str().unwrap().contains("copy them back"), "{damaged:#}");
    assert_eq!(checked(&bag)["problems"], json!([]));
    assert_eq!(desk.post(&format!("/api/hand/{archive}/check"), &json!({ "copy": "second" })).status, 409);
    assert_eq!(desk.post(&format!("/api/hand/{name}/check"), &json!({ "copy": null })).status, 409);
    assert_eq!(desk.get(&format!("/api/hand/{archive}")).status, 200);
    // What a sudden end left is told for what it is, and not shown.
    let cut = project.join("handed-on/2026-11-02-gallery-tight");
    std::fs::create_dir(&cut).unwrap();
    let account = std::fs::read_to_string(project.join("handed-on").join(format!("{name}.json"))).unwrap();
    let cut_short = account.replace("\"whole\": true", "\"whole\": false");
    assert_ne!(cut_short, account);
    std::fs::write(cut.with_extension("json"), cut_short).unwrap();
    let past = desk.get("/api/hand").json()["past"].clone();
    let unfinished: Vec<&Value> = past.as_array().unwrap().iter().filter(|p| p["whole"] == false).collect();
    assert!(unfinished.len() == 1 && unfinished[0]["seen"] == false && unfinished[0]["again"] == false, "{past:#}");
    assert_eq!(desk.get("/api/hand/2026-11-02-gallery-tight").status, 404);
    std::fs::remove_file(cut.with_extension("json")).unwrap();

    // All of it is remembered, with what the command handed on elsewhere; a second desk only looks.
    let second = Desk::open(&project);
    let past = second.get("/api/hand").json()["past"].clone();
    let mut forms: Vec<&str> = past.as_array().unwrap().iter().filter_map(|p| p["form"].as_str()).collect();
    forms.sort_unstable();
    assert_eq!(forms, ["book", "gallery", "pack", "share", "share"], "{past:#}");
    assert_eq!(past.as_array().unwrap().iter().filter(|p| p["edit"] == "tight" && p["there"] == true).count(), 3);
    assert_eq!(second.get(&format!("/made/{name}/book.pdf")).status, 200);
    assert_eq!(second.post("/api/hand", &book(240, Value::Null)).status, 409);
    assert_eq!(second.post(&format!("/api/hand/{archive}/again"), &json!({})).status, 409);
    assert!(past.as_array().unwrap().iter().all(|p| p["again"] == false), "{past:#}");
    let listed = Command::new(env!("CARGO_BIN_EXE_fallside"))
        .args(["list", "hand-offs", "--in"])
        .arg(&project)
        .output()
        .unwrap();
    // One made again is noted each time that something changed.
    let text = String::from_utf8_lossy(&listed.stdout);
    let places: BTreeSet<&str> = text.split_whitespace().filter(|word| word.contains("handed-on/")).collect();
    assert_eq!(places.len(), 3, "{text}");
}

/// Makes a hand-off again in its place; how that ended.
fn again(desk: &Desk, name: &str) -> Value {
    let answer = desk.post(&format!("/api/hand/{name}/again"), &json!({}));
    assert_eq!(answer.status, 200, "{}", answer.json());
    desk.until("/api/hand", |h| h["making"].is_null() && !h["ended"].is_null())["ended"].clone()
}

/// Only what changed is made; what is refused leaves the site as it was; what was cut short is finished.
fn a_site_is_made_again_in_its_place(desk: &Desk, project: &Path, name: &str, ids: &[i64]) {
    let says = |ended: &Value| ended["says"].as_str().unwrap_or_default().to_owned();
    let unchanged = again(desk, name);
    assert!(unchanged["name"] == name && says(&unchanged).contains("2 prints; nothing has changed"), "{unchanged}");
    let words = |id: i64, fact: &str, value: &str| {
        assert_eq!(desk.post("/api/describe", &json!({ "ids": [id], "facts": { fact: value } })).status, 200);
    };
    words(ids[1], "alt", "A gull on a post.");
    let changed = again(desk, name);
    assert!(says(&changed).contains("no picture had to be made again"), "{changed}");
    let wall = || String::from_utf8_lossy(&desk.get(&format!("/made/{name}/index.html")).body).into_owned();
    assert!(wall().contains("A gull on a post."));
    // A print that became private leaves, with its pictures.
    words(ids[1], "privacy", "private");
    let fewer = again(desk, name);
    assert!(says(&fewer).contains("1 print;") && !wall().contains("A gull"), "{fewer}");
    words(ids[0], "privacy", "private");
    let refused = again(desk, name);
    assert!(refused["name"].is_null() && says(&refused).contains("are private"), "{refused}");
    assert!(wall().contains("Two boats") && desk.get(&format!("/api/hand/{name}")).status == 200);
    // With its folder taken away, what is known of it stays.
    let (lies, away) = (project.join("handed-on").join(name), project.join("away"));
    std::fs::rename(&lies, &away).unwrap();
    assert!(again(desk, name)["name"].is_null() && lies.with_extension("json").is_file() && !lies.exists());
    std::fs::rename(&away, &lies).unwrap();
    ids[..2].iter().for_each(|&id| words(id, "privacy", ""));
    // As a program that was ended leaves it.
    let account = project.join("handed-on").join(format!("{name}.json"));
    let text = std::fs::read_to_string(&account).unwrap();
    std::fs::write(&account, text.replace("\"whole\": true", "\"whole\": false")).unwrap();
    let past = desk.get("/api/hand").json()["past"].clone();
    let row = past.as_array().unwrap().iter().find(|p| p["name"] == name).unwrap().clone();
    assert_eq!((&row["whole"], &row["seen"], &row["again"]), (&json!(false), &json!(false), &json!(true)));
    assert!(says(&again(desk, name)).contains("1 picture made, 1 unchanged"), "{:?}", desk.get("/api/hand").json());
    assert_eq!(desk.get(&format!("/api/hand/{name}")).json()["again"], true);
    let none = desk.post("/api/hand/2026-01-01-gallery-none/again", &json!({}));
    assert!(none.status == 409 && none.json()["says"].as_str().unwrap().contains("no such export"));
}

/// One frame after the other, half-written at first, is judged as the same frames taken at once are; each once, in order.
#[test]
fn the_stand_judges_what_arrives_as_take_does() {
    let top = tempfile::tempdir().unwrap();
    let drawn = frames(&top.path().join("box"));
    let at_once = top.path().join("at-once");
    let o = Command::new(env!("CARGO_BIN_EXE_fallside"))
        .arg("take")
        .arg(top.path().join("box/frames"))
        .args(["--box", "A", "--sleeve", "1", "--in"])
        .arg(&at_once)
        .output()
        .unwrap();
    assert!(o.status.success(), "{}", String::from_utf8_lossy(&o.stderr));
    let (project, tether) = (top.path().join("project"), top.path().join("tether"));
    std::fs::create_dir(&tether).unwrap();
    let desk = Desk::open(&project);
    let wish = json!({ "folder": tether, "box": "A", "sleeve": "1", "of": 20, "backs": false, "sound": true });
    assert_eq!(desk.post("/api/stand", &wish).status, 200);
    let mut names = vec![];
    for path in &drawn {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let bytes = std::fs::read(path).unwrap();
        let place = tether.join(&name);
        std::fs::write(&place, &bytes[..bytes.len() / 2]).unwrap();
        std::thread::sleep(Duration::from_millis(150));
        std::fs::write(&place, &bytes).unwrap();
        let stand = desk.until("/api/stand", |s| s["last"]["name"] == name.as_str() && !s["last"]["frame"].is_null());
        names.push(name);
        assert!(stand["last"]["sentence"].as_str().is_some_and(|s| s.len() > 10), "{stand}");
    }
    let list = |project: &Path| -> Vec<(String, String, Value, String)> {
        let o = Command::new(env!("CARGO_BIN_EXE_fallside"))
            .args(["list", "frames", "--json", "--in"])
            .arg(project)
            .output()
            .unwrap();
        let all: Value = serde_json::from_slice(&o.stdout).unwrap();
        let text = |v: &Value| v.as_str().unwrap_or_default().to_owned();
        let frames = all.as_array().unwrap().iter();
        frames
            .map(|f| (text(&f["name"]), text(&f["role"]), f["print"].clone(), text(&f["result"]["verdict"])))
            .collect()
    };
    let (one_by_one, at_once) = (list(&project), list(&at_once));
    assert_eq!(
        one_by_one.iter().map(|f| f.0.clone()).collect::<Vec<_>>(),
        names,
        "none is lost, and the order is kept"
    );
    let differ: Vec<_> = one_by_one.iter().zip(&at_once).filter(|(a, b)| (&a.1, &a.2) != (&b.1, &b.2)).collect();
    assert!(differ.is_empty(), "{differ:#?}");

    // On the sheet: an outline is drawn, seen at once, and undone with its pictures.
    let rows = desk.get("/api/prints?q=&order=number").json();
    let print = &rows["rows"][0];
    let sheet = desk.get(&format!("/api/print/{}", print["id"])).json();
    let frame = &sheet["frames"][0];
    let outline: Vec<[f64; 2]> = serde_json::from_value(frame["outline"].clone()).unwrap();
    let (id, was) = (frame["id"].clone(), frame["picture"].clone());
    let mut drawn = outline.clone();
    drawn[0][0] += 1.0;
    let answer = desk.post("/api/refinish", &json!({ "frame": id, "outline": drawn })).json();
    assert!(answer["did"].as_str().is_some_and(|d| d.starts_with("Drew the outline")), "{answer}");
    assert_ne!(answer["frame"]["picture"], was);
    assert_eq!(answer["frame"]["confidence"], 1.0);
    let turned = desk.post("/api/refinish", &json!({ "frame": id, "turn": 1 })).json();
    let [w, h] = [0, 1].map(|i| turned["frame"]["canvas_px"][i].as_i64().unwrap());
    let [ow, oh] = [0, 1].map(|i| answer["frame"]["canvas_px"][i].as_i64().unwrap());
    assert!((w > h) != (ow > oh), "a quarter turn lays it on its side: {w} x {h} from {ow} x {oh}");
    // As measured: the outline that the program found, with the turn that was set.
    let measured = desk.post("/api/refinish", &json!({ "frame": id, "as_measured": true })).json();
    let back: Vec<[f64; 2]> = serde_json::from_value(measured["frame"]["outline"].clone()).unwrap();
    let off = |a: &[f64; 2], b: &[f64; 2]| (a[0] - b[0]).hypot(a[1] - b[1]);
    // It begins at another corner, for it is turned.
    assert!(outline.iter().all(|a| back.iter().any(|b| off(a, b) < 1e-6)), "{back:?} {outline:?}");
    // While a frame is finished again, another print is read as quickly as ever.
    let slowest = std::thread::scope(|scope| {
        let mending = scope.spawn(|| desk.post("/api/refinish", &json!({ "frame": id, "shadow": 0.5 })));
        let (mut slowest, mut reads) = (Duration::ZERO, 0);
        while !mending.is_finished() {
            let began = std::time::Instant::now();
            assert_eq!(desk.get(&format!("/api/print/{}", rows["rows"][1]["id"])).status, 200);
            slowest = slowest.max(began.elapsed());
            reads += 1;
        }
        let mended = mending.join().unwrap();
        assert_eq!(mended.status, 200, "{}", mended.json());
        (slowest, reads)
    });
    // Many reads went on beside it; one alone waited for all of it before.
    assert!(slowest.1 > 5, "{slowest:?}");
    for _ in 0..4 {
        desk.post("/api/undo", &json!({}));
    }
    let again = desk.get(&format!("/api/print/{}", print["id"])).json();
    assert_eq!(again["frames"][0]["picture"], was, "undone, the pictures are the old ones");
    let picture = desk.get(&format!("/picture/{id}/mount?w=320"));
    assert_eq!((picture.status, &picture.body[..2]), (200, &[0xFF, 0xD8][..]));
    assert!(picture.head.contains("image/jpeg"));
}

/// The desk and `take` are killed at any moment; the project opens, its catalogue is whole, and what was shown as saved is there.
#[test]
fn a_sudden_end_loses_nothing_that_was_saved() {
    let top = tempfile::tempdir().unwrap();
    let drawn = frames(&top.path().join("box"));
    let project = top.path().join("project");
    // Any number would do: the moments only have to differ.
    let mut seed = 7u64;
    let mut saved = std::collections::BTreeSet::new();
    for round in 0..50 {
        let mut child = Command::new(env!("CARGO_BIN_EXE_fallside"))
            .arg("take")
            .arg(top.path().join("box/frames"))
            .args(["--json", "--in"])
            .arg(&project)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let out = BufReader::new(child.stdout.take().unwrap());
        let reader = std::thread::spawn(move || out.lines().map_while(Result::ok).collect::<Vec<_>>());
        seed = seed.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
        std::thread::sleep(Duration::from_millis(20 + (seed >> 33) % 700));
        let _ = child.kill();
        let _ = child.wait();
        let lines = reader.join().unwrap();
        saved.extend(lines.iter().filter_map(|l| {
            let line: Value = serde_json::from_str(l).ok()?;
            line["frame"]["name"].as_str().map(str::to_owned)
        }));
        if !project.join("fallside.db").exists() {
            continue;
        }
        let o = Command::new(env!("CARGO_BIN_EXE_fallside"))
            .args(["list", "frames", "--json", "--in"])
            .arg(&project)
            .output()
            .unwrap();
        assert!(o.status.success(), "round {round}: {}", String::from_utf8_lossy(&o.stderr));
        let there: Value = serde_json::from_slice(&o.stdout).unwrap();
        for frame in there.as_array().unwrap() {
            for file in ["report", "master", "mount"] {
                let Some(name) = frame["result"][file].as_str() else { continue };
                let whole = std::fs::metadata(project.join(name)).is_ok_and(|m| m.len() > 0);
                assert!(whole, "round {round}: {} has no {name}", frame["name"]);
            }
        }
        let names: Vec<&str> = there.as_array().unwrap().iter().filter_map(|f| f["name"].as_str()).collect();
        for name in &saved {
            assert!(names.contains(&name.as_str()), "round {round}: {name} was shown as saved");
        }
    }
    // And at last it comes to its end.
    let o = Command::new(env!("CARGO_BIN_EXE_fallside"))
        .arg("take")
        .arg(top.path().join("box/frames"))
        .arg("--in")
        .arg(&project)
        .output()
        .unwrap();
    assert!(o.status.code().is_some_and(|c| c < 2), "{}", String::from_utf8_lossy(&o.stderr));
    let desk = Desk::open(&project);
    assert!(desk.get("/api/desk").json()["prints"].as_i64().unwrap() > 5);
    let half = walk(&project).into_iter().filter(|p| p.to_string_lossy().ends_with(".part")).collect::<Vec<_>>();
    assert!(half.is_empty(), "{half:?}");
    assert!(drawn.iter().all(|f| f.exists()), "originals stay");
}
