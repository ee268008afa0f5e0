//! The desk under strain and among others: two desks in one browser, the way into the browser, connections that say nothing, many pictures
//! at once, private prints.

use crate::served::{Desk, walk};
use crate::small_project::project;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

/// The project of the tests, copied: a desk writes into it.
fn own(top: &Path) -> std::path::PathBuf {
    let to = top.join("project");
    for file in walk(project()) {
        let place = to.join(file.strip_prefix(project()).unwrap());
        std::fs::create_dir_all(place.parent().unwrap()).unwrap();
        std::fs::copy(file, place).unwrap();
    }
    to
}

/// RFC 6265 section 8.5: cookies are shared by all ports of a host, so a browser sends each desk the cookies of both.
#[test]
fn two_desks_in_one_browser_do_not_turn_each_other_away() {
    let top = tempfile::tempdir().unwrap();
    let desks = [Desk::open(&top.path().join("a")), Desk::open(&top.path().join("b"))];
    // As a browser keeps them: by name, the later over the earlier.
    let mut jar = std::collections::BTreeMap::new();
    for desk in &desks {
        let first = desk.ask(&format!("GET /?t={}", desk.token), &[("Host", &desk.host())], "");
        let set = first.head.lines().find_map(|l| l.strip_prefix("set-cookie: ")).unwrap().to_owned();
        let (name, value) = set.split(';').next().unwrap().split_once('=').unwrap();
        jar.insert(name.to_owned(), value.to_owned());
        // The page that sets it leads on by itself, to an address without the token.
        let page = String::from_utf8(first.body).unwrap();
        assert!(page.contains("url=/\"") && !page.contains(&desk.token), "{page}");
    }
    let all: Vec<String> = jar.iter().map(|(name, value)| format!("{name}={value}")).collect();
    for desk in &desks {
        let answer = desk.ask("GET /api/desk", &[("Host", &desk.host()), ("Cookie", &all.join("; "))], "");
        assert_eq!(answer.status, 200, "{}", answer.json());
    }
}

#[cfg(target_os = "linux")]
#[test]
fn the_browser_is_given_no_token_in_its_words() {
    use std::os::unix::fs::PermissionsExt;
    let top = tempfile::tempdir().unwrap();
    let (bin, told) = (top.path().join("bin"), top.path().join("told"));
    std::fs::create_dir(&bin).unwrap();
    // A browser that writes down its words, and the file's rights and text.
    let script = format!(
        "#!/bin/sh\nprintf '%s\\n' \"$@\" > {0}.part\nstat -c %a \"$1\" >> {0}.part\ncat \"$1\" >> {0}.part\nmv {0}.part {0}\n",
        told.display()
    );
    std::fs::write(bin.join("xdg-open"), script).unwrap();
    std::fs::set_permissions(bin.join("xdg-open"), PermissionsExt::from_mode(0o755)).unwrap();
    let mut command = Command::new(env!("CARGO_BIN_EXE_fallside"));
    let path = format!("{}:{}", bin.display(), std::env::var("PATH").unwrap_or_default());
    command.arg("desk").arg(top.path().join("project")).env("PATH", path);
    let desk = Desk::run(command);
    let began = Instant::now();
    while !told.exists() {
        assert!(began.elapsed() < Duration::from_secs(20), "no browser was started");
        std::thread::sleep(Duration::from_millis(20));
    }
    let text = std::fs::read_to_string(&told).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    assert!(lines[0].ends_with(".html") && !lines[0].contains(&desk.token), "{text}");
    assert_eq!(lines[1], "600", "its owner alone may read the file");
    assert!(lines[2].contains(&format!("url=http://127.0.0.1:{}/?t={}", desk.port, desk.token)), "{text}");
}

#[test]
fn connections_that_say_nothing_hold_nobody() {
    let top = tempfile::tempdir().unwrap();
    let desk = Desk::open(&top.path().join("project"));
    let half = |text: &str| {
        let mut stream = TcpStream::connect(("127.0.0.1", desk.port)).unwrap();
        stream.write_all(text.as_bytes()).unwrap();
        stream
    };
    let head = format!("GET / HTTP/1.1\r\nHost: {}\r\nX-Slow: ", desk.host());
    let mut open: Vec<TcpStream> = (0..200).map(|_| half(&head)).collect();
    open.extend((0..200).map(|_| half("")));
    // A wish whose body never comes.
    let wish = format!(
        "POST /api/undo HTTP/1.1\r\nHost: {0}\r\nCookie: {1}\r\nX-Fallside: 1\r\nOrigin: http://{0}\r\nContent-Length: 10\r\n\r\n",
        desk.host(),
        desk.cookie()
    );
    open.push(half(&wish));
    let began = Instant::now();
    assert_eq!(desk.get("/api/desk").status, 200);
    assert!(began.elapsed() < Duration::from_secs(12), "a page waited {:?}", began.elapsed());
    for mut stream in open {
        stream.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
        // Closed, with or without an answer, within the time that a request has.
        let mut rest = vec![];
        stream.read_to_end(&mut rest).unwrap_or_else(|e| panic!("after {:?}: {e}", began.elapsed()));
        assert!(rest.is_empty() || rest.starts_with(b"HTTP/1.1 4"), "{}", String::from_utf8_lossy(&rest));
    }
    assert!(began.elapsed() < Duration::from_secs(30), "{:?}", began.elapsed());
    assert_eq!(desk.get("/api/desk").status, 200);
}

/// The frame that stands for a print.
fn front(desk: &Desk, print: i64) -> i64 {
    let print = desk.get(&format!("/api/print/{print}")).json();
    print["frames"][0]["id"].as_i64().unwrap_or_else(|| panic!("{print:#}"))
}

#[test]
fn a_browser_keeps_no_picture_of_a_private_print() {
    let top = tempfile::tempdir().unwrap();
    let desk = Desk::open(&own(top.path()));
    for (print, kept) in [(1, true), (2, true), (3, false)] {
        for kind in ["mount", "frame"] {
            let picture = desk.get(&format!("/picture/{}/{kind}?w=320", front(&desk, print)));
            assert_eq!(picture.status, 200);
            let rule = picture.head.lines().find(|l| l.starts_with("cache-control:")).unwrap().to_owned();
            assert_eq!(rule.contains("immutable"), kept, "P000{print}: {rule}");
            assert_eq!(rule.contains("no-store"), !kept, "P000{print}: {rule}");
        }
    }
}

/// Most memory that a process has held, bytes (Linux, proc(5): VmHWM).
#[cfg(target_os = "linux")]
fn peak(pid: u32) -> u64 {
    let status = std::fs::read_to_string(format!("/proc/{pid}/status")).unwrap();
    let line = status.lines().find_map(|l| l.strip_prefix("VmHWM:")).unwrap();
    line.trim().trim_end_matches(" kB").trim().parse::<u64>().unwrap() * 1024
}

#[cfg(target_os = "linux")]
#[test]
fn many_pictures_at_once_take_the_memory_of_a_few() {
    let top = tempfile::tempdir().unwrap();
    let desk = Desk::open(&own(top.path()));
    let frame = front(&desk, 1);
    // One alone says what a picture takes; another size of it, so that what is kept does not answer.
    assert_eq!(desk.get(&format!("/picture/{frame}/mount?w=640")).status, 200);
    let before = peak(desk.child.id());
    let path = format!("/picture/{frame}/mount?w=2560");
    std::thread::scope(|scope| {
        for _ in 0..60 {
            scope.spawn(|| assert_eq!(desk.get(&path).status, 200));
        }
    });
    let more = peak(desk.child.id()) - before;
    eprintln!("60 pictures at once took {} MB more", more / 1_000_000);
    assert!(more < 200_000_000, "{} MB", more / 1_000_000);
}
