//! Another device at the stand, as a program on the network sees it: closed until asked, one code, one guest, the stand alone.

use crate::served::{Answer, Desk, as_the_wire_says, ask, frames};
use serde_json::{Value, json};
use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::Duration;

/// Other addresses of this machine stand for its network: there may be none where tests run. One for each test.
const AT: [&str; 3] = ["127.0.0.2", "127.0.0.3", "127.0.0.4"];
/// The port that is tried first.
const PORT: u16 = 4871;

/// A device on the network.
struct Device {
    host: String,
    cookie: Option<String>,
}

impl Device {
    fn ask(&self, line: &str, body: &Value) -> Answer {
        let origin = format!("http://{}", self.host);
        let mut headers = vec![("Host", self.host.as_str())];
        if line.starts_with("POST") {
            headers.extend([("X-Fallside", "1"), ("Content-Type", "application/json"), ("Origin", &origin)]);
        }
        headers.extend(self.cookie.as_deref().map(|c| ("Cookie", c)));
        let body = if body.is_null() { String::new() } else { body.to_string() };
        ask(&self.host, line, &headers, &body)
    }

    fn get(&self, path: &str) -> Answer {
        let answer = self.ask(&format!("GET {path}"), &Value::Null);
        as_the_wire_says("device", "GET", path, &answer);
        answer
    }

    /// Writes a code.
    fn writes(&mut self, code: &str) -> Answer {
        let answer = self.ask("POST /api/code", &json!({ "code": code }));
        as_the_wire_says("device", "POST", "/api/code", &answer);
        let cookie = answer.head.lines().find_map(|l| l.strip_prefix("set-cookie: "));
        self.cookie = cookie.and_then(|c| c.split(';').next()).map(str::to_owned).or(self.cookie.take());
        answer
    }
}

/// Lets a device in: where it goes, and the code it must write.
fn let_in(desk: &Desk) -> (Device, String) {
    let told = desk.post("/api/guest", &json!({ "do": "open" }));
    let told = (told.status, told.json());
    assert_eq!((told.0, &told.1["open"], &told.1["in"]), (200, &json!(true), &json!(false)), "{told:?}");
    let host = told.1["address"].as_str().unwrap().strip_prefix("http://").unwrap().to_owned();
    assert!(AT.iter().any(|at| host.starts_with(&format!("{at}:"))), "{host}");
    (Device { host, cookie: None }, told.1["code"].as_str().unwrap().to_owned())
}

fn answers(host: &str) -> bool {
    TcpStream::connect_timeout(&host.parse().unwrap(), Duration::from_millis(500)).is_ok()
}

fn other_than(code: &str) -> String {
    format!("{:06}", (code.parse::<u32>().unwrap() + 1) % 1_000_000)
}

#[test]
fn nothing_listens_before_it_is_asked_and_five_wrong_codes_close_it() {
    let top = tempfile::tempdir().unwrap();
    let desk = Desk::open_with(&top.path().join("project"), &["--guests-at", AT[1]]);
    assert_eq!(
        desk.get("/api/guest").json(),
        json!({ "open": false, "address": null, "code": null, "in": false, "says": null })
    );
    for port in [desk.port, PORT] {
        assert!(!answers(&format!("{}:{port}", AT[1])), "{port} answers before anybody asked");
    }
    let (mut device, code) = let_in(&desk);
    for left in ["4 tries are left", "3 tries are left", "2 tries are left", "1 try is left"] {
        let answer = device.writes(&other_than(&code));
        assert_eq!(answer.status, 403);
        assert!(answer.json()["do"].as_str().is_some_and(|d| d.contains(left)), "{}", answer.json());
        assert_eq!(device.get("/api/stand").status, 401);
    }
    let last = device.writes(&other_than(&code));
    assert!(last.json()["says"].as_str().is_some_and(|s| s.contains("no tries are left")), "{}", last.json());
    let told = desk.until("/api/guest", |g| g["open"] == false);
    assert!(told["says"].as_str().is_some_and(|s| s.contains("5 wrong codes")) && told["code"].is_null(), "{told}");
    std::thread::sleep(Duration::from_millis(100));
    assert!(!answers(&device.host), "it answers after five wrong codes");
    // Asked anew, there is a new way in with a new code.
    let (mut device, code) = let_in(&desk);
    assert_eq!(device.writes(&code).status, 200);
}

#[test]
fn a_code_that_nobody_writes_in_time_closes_the_way_in() {
    let top = tempfile::tempdir().unwrap();
    // Three seconds instead of ten minutes.
    let desk = Desk::open_with(&top.path().join("project"), &["--guests-at", AT[2], "--code-minutes", "0.05"]);
    let (device, code) = let_in(&desk);
    assert_eq!(device.get("/api/stand").status, 401, "it answers while the code holds");
    std::thread::sleep(Duration::from_millis(3500));
    let told = desk.get("/api/guest").json();
    assert_eq!((&told["open"], &told["code"]), (&json!(false), &Value::Null), "{told}");
    assert!(told["says"].as_str().is_some_and(|s| s.contains("expired")), "{told}");
    assert!(!answers(&device.host), "it answers after the code has expired");
    // Whoever came in before stays in.
    let (mut second, code_2) = let_in(&desk);
    assert_ne!(code, code_2);
    assert_eq!(second.writes(&code_2).status, 200);
    std::thread::sleep(Duration::from_millis(3500));
    assert_eq!(second.get("/api/stand").status, 200);
}

#[test]
fn one_guest_sees_the_stand_and_nothing_else() {
    let top = tempfile::tempdir().unwrap();
    std::fs::write(top.path().join("secret.txt"), "not for a guest").unwrap();
    let drawn = frames(&top.path().join("box"));
    let (project, tether) = (top.path().join("project"), top.path().join("tether"));
    std::fs::create_dir(&tether).unwrap();
    let desk = Desk::open_with(&project, &["--guests-at", AT[0]]);
    assert_eq!(desk.post("/api/stand", &json!({ "folder": tether, "box": "A", "sleeve": "1" })).status, 200);
    // Two prints, so that one of them does not lie there any more.
    let mut fronts = vec![];
    for path in &drawn {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        std::fs::copy(path, tether.join(&name)).unwrap();
        let stand = desk.until("/api/stand", |s| s["last"]["name"] == name.as_str() && !s["last"]["frame"].is_null());
        if !stand["last"]["print"].is_null() {
            fronts.push(stand["last"].clone());
        }
        if fronts.len() == 2 {
            break;
        }
    }
    let [gone, lies] = fronts.as_slice() else { panic!("{fronts:?}") };
    let (mut device, code) = let_in(&desk);
    // Before the code: the page that asks for it, and no more. The desk's own script is not its.
    let home = String::from_utf8_lossy(&desk.get("/").body).into_owned();
    if let Some(script) = home.split('"').find(|part| part.starts_with("/assets/desk-")) {
        assert_eq!((desk.get(script).status, device.get(script).status), (200, 404), "{script}");
    }
    let page = device.get("/");
    assert!(page.status == 200 && page.head.contains("content-security-policy: default-src 'none'"), "{}", page.head);
    for closed in ["/api/stand", "/events", &format!("/picture/{}/mount", lies["frame"])] {
        assert_eq!(device.get(closed).status, 401, "{closed}");
    }
    let written = device.writes(&format!("{} {}", &code[..3], &code[3..]));
    assert_eq!(written.status, 200, "{}", written.json());
    let port = device.host.rsplit(':').next().unwrap().to_owned();
    let flags = written
        .head
        .lines()
        .find(|l| l.starts_with(&format!("set-cookie: fallside-guest-{port}=")))
        .unwrap()
        .to_owned();
    assert!(flags.ends_with("; httponly; samesite=strict; path=/"), "{flags}");
    assert!(!written.head.contains("access-control"), "no other site is told anything: {}", written.head);
    let told = desk.get("/api/guest").json();
    assert_eq!((&told["in"], &told["code"]), (&json!(true), &Value::Null));
    // The code is spent: a second device stays outside, whatever it carries.
    let mut second = Device { host: device.host.clone(), cookie: None };
    assert_eq!(second.writes(&code).status, 403);
    for cookie in [desk.cookie(), format!("fallside-guest-{port}={}", desk.token), format!("fallside-guest-{port}=")] {
        second.cookie = Some(cookie);
        assert_eq!(second.get("/api/stand").status, 401);
    }
    // What a guest may: see the stand, the print that lies there, and mark it.
    let stand = device.get("/api/stand").json();
    assert_eq!(
        (&stand["last"]["name"], &stand["folder"]),
        (&lies["name"], &json!("")),
        "where the folder lies is not told"
    );
    let picture = device.get(&format!("/picture/{}/mount?w=320", lies["frame"]));
    assert_eq!((picture.status, &picture.body[..2]), (200, &[0xFF, 0xD8][..]));
    assert_eq!(device.get(&format!("/picture/{}/mount?w=320", gone["frame"])).status, 404, "another frame");
    let mark = |device: &Device, name: &Value, mark: &str| {
        device.ask("POST /api/mark", &json!({ "name": name, "mark": mark }))
    };
    assert_eq!(mark(&device, &lies["name"], "seen").json(), json!({ "did": "Marked." }));
    assert_eq!(mark(&device, &lies["name"], "again").status, 200);
    assert_eq!(mark(&device, &gone["name"], "again").status, 409, "it does not lie there");
    assert_eq!(mark(&device, &lies["name"], "drop").status, 422);
    let seen = desk.get("/api/stand").json();
    assert_eq!(
        (&seen["seen"], &seen["reshoot"][0]["label"]),
        (&lies["name"], &lies["label"]),
        "the desk sees the marks"
    );
    // Everything else of the desk is not there for a guest.
    let print = &lies["print"];
    let routes = [
        ("GET /api/desk".to_owned(), Value::Null),
        ("GET /api/prints?q=&order=number".into(), Value::Null),
        (format!("GET /api/print/{print}"), Value::Null),
        ("GET /api/offers?fact=place".into(), Value::Null),
        ("GET /api/guest".into(), Value::Null),
        ("GET /table".into(), Value::Null),
        (format!("GET /print/{print}"), Value::Null),
        ("GET /rig".into(), Value::Null),
        ("GET /stand".into(), Value::Null),
        ("GET /assets/../../secret.txt".into(), Value::Null),
        ("GET /assets/..%2f..%2fsecret.txt".into(), Value::Null),
        ("GET /picture/..%2f..%2fsecret.txt/mount".into(), Value::Null),
        ("GET /fallside.db".into(), Value::Null),
        ("POST /api/stand".into(), json!({ "folder": tether })),
        ("POST /api/describe".into(), json!({ "ids": [print], "facts": { "place": "here" } })),
        ("POST /api/edit".into(), json!({ "do": "put", "name": "wide", "ids": [print] })),
        ("POST /api/join".into(), json!({ "frame": lies["frame"], "print": null })),
        ("POST /api/front".into(), json!({ "print": print, "frame": lies["frame"] })),
        ("POST /api/role".into(), json!({ "frame": lies["frame"], "role": "back" })),
        ("POST /api/refinish".into(), json!({ "frame": lies["frame"], "turn": 1 })),
        ("GET /api/folders".into(), Value::Null),
        (format!("GET /api/folders?at={}", top.path().display()), Value::Null),
        ("GET /api/take".into(), Value::Null),
        ("POST /api/take".into(), json!({ "folder": tether })),
        ("POST /api/take/stop".into(), json!({})),
        ("POST /api/plan".into(), json!({ "format": "square-integral" })),
        ("POST /api/guest".into(), json!({ "do": "open" })),
        ("POST /api/undo".into(), json!({})),
        ("POST /api/redo".into(), json!({})),
    ];
    let history = || desk.get(&format!("/api/print/{print}")).json()["history"].clone();
    let was = history();
    for (line, body) in &routes {
        let answer = device.ask(line, body);
        assert!([400, 404, 405].contains(&answer.status), "{line}: {}", answer.status);
        assert!(answer.json()["says"].as_str().is_some_and(|s| s.ends_with('.')), "{line}");
        assert!(!String::from_utf8_lossy(&answer.body).contains("not for a guest"), "{line}");
    }
    assert_eq!(history(), was, "nothing of it was done");
    // From another site, under another name, without the page's own mark: nothing.
    let cookie = device.cookie.clone().unwrap();
    let body = json!({ "name": lies["name"], "mark": "seen" }).to_string();
    let (host, origin) = (device.host.as_str(), format!("http://{}", device.host));
    let odd: [(&str, Vec<(&str, &str)>); 6] = [
        ("GET /api/stand", vec![("Host", "desk.example")]),
        ("GET /api/stand", vec![("Host", "127.0.0.1")]),
        ("GET /api/stand", vec![("Host", host), ("Origin", "http://desk.example")]),
        ("GET /api/stand", vec![("Host", host), ("Origin", "null")]),
        ("POST /api/mark", vec![("Host", host), ("Origin", &origin), ("Content-Type", "application/json")]),
        ("OPTIONS /api/mark", vec![("Host", host), ("Origin", "http://desk.example")]),
    ];
    for (line, headers) in odd {
        let headers: Vec<(&str, &str)> = headers.into_iter().chain([("Cookie", cookie.as_str())]).collect();
        assert_eq!(ask(host, line, &headers, &body).status, 403, "{line} {headers:?}");
    }
    // The desk itself does not answer to a guest's cookie.
    let own = desk.ask("GET /api/stand", &[("Host", &desk.host()), ("Cookie", &cookie)], "");
    assert_eq!(own.status, 403);
    // Closing ends whoever listens, at once, and the address answers nobody.
    let mut listens = TcpStream::connect(host).unwrap();
    listens.set_read_timeout(Some(Duration::from_secs(10))).unwrap();
    write!(listens, "GET /events HTTP/1.1\r\nHost: {host}\r\nCookie: {cookie}\r\n\r\n").unwrap();
    let mut heard = [0; 512];
    assert!(listens.read(&mut heard).unwrap() > 0, "it listens");
    assert_eq!(desk.post("/api/guest", &json!({ "do": "close" })).json()["open"], false);
    let rest = std::iter::from_fn(|| listens.read(&mut heard).ok().filter(|n| *n > 0)).count();
    assert!(rest < 5, "the line is cut");
    assert!(!answers(host), "it answers after it was closed");
    // And with the desk's own end.
    let (device, _) = let_in(&desk);
    assert!(answers(&device.host));
    drop(desk);
    assert!(!answers(&device.host));
}
