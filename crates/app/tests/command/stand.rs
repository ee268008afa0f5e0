//! The stand in a hurry and in trouble: two hundred frames as fast as a hand lays them, the desk killed at any moment, a full disk.

use crate::served::{Desk, frames, walk};
use serde_json::{Value, json};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Duration;

/// What the catalogue lists, read by another process.
fn list(project: &Path, what: &str) -> Vec<Value> {
    let o = Command::new(env!("CARGO_BIN_EXE_fallside"))
        .args(["list", what, "--json", "--in"])
        .arg(project)
        .output()
        .unwrap();
    assert!(o.status.success(), "{}", String::from_utf8_lossy(&o.stderr));
    serde_json::from_slice(&o.stdout).unwrap()
}

fn text(value: &Value) -> String {
    value.as_str().unwrap_or_default().to_owned()
}

/// A JPEG with a comment (ISO/IEC 10918-1, B.2.4.5): another file of the same picture.
fn marked(jpeg: &[u8], mark: u16) -> Vec<u8> {
    let [a, b] = mark.to_be_bytes();
    [&jpeg[..2], &[0xFF, 0xFE, 0, 4, a, b], &jpeg[2..]].concat()
}

/// A frame at a third of its size: what is tried is the order of things, not the pictures.
fn small(path: &Path) -> Vec<u8> {
    let frame = codec::read(path, &codec::Limits::default()).unwrap().frame;
    let light = frame.reduce(3);
    let (w, h) = (light.width(), light.height());
    let code = |v: f32| (pixels::colour::srgb_encode(f64::from(v.clamp(0.0, 1.0))) * 255.0).round() as u8;
    let rgb: Vec<u8> = (0..w * h).flat_map(|i| light.get(i % w, i / w).map(code)).collect();
    let to = path.with_extension("small.jpg");
    codec::jpeg::write(&to, w, h, &rgb, 90, codec::jpeg::Subsampling::Full, &codec::Info::default()).unwrap();
    std::fs::read(to).unwrap()
}

/// Files come twenty a second, which no hand does, and the verdicts fall behind: none is lost, each is taken once, in order.
#[test]
fn two_hundred_frames_in_a_hurry_are_all_taken_in_order() {
    let top = tempfile::tempdir().unwrap();
    let drawn = frames(&top.path().join("box"));
    // Four prints that nothing is wrong with.
    let seen: Vec<Vec<u8>> = drawn[3..7].iter().map(|p| small(p)).collect();
    let (project, tether) = (top.path().join("project"), top.path().join("tether"));
    std::fs::create_dir(&tether).unwrap();
    let desk = Desk::open(&project);
    let heard = desk.listen();
    assert_eq!(desk.post("/api/stand", &json!({ "folder": tether, "sleeve": "1", "box": "A" })).status, 200);
    let names: Vec<String> = (0..200).map(|i| format!("L{i:04}.jpg")).collect();
    for (i, name) in names.iter().enumerate() {
        let bytes = marked(&seen[i / 4 % 4], i as u16);
        let place = tether.join(name);
        std::fs::write(&place, &bytes[..bytes.len() / 3]).unwrap();
        std::thread::sleep(Duration::from_millis(20));
        std::fs::write(&place, &bytes).unwrap();
        std::thread::sleep(Duration::from_millis(30));
    }
    let mut settled = vec![];
    while settled.len() < names.len() {
        let event = heard.recv_timeout(Duration::from_secs(60));
        let event = event.unwrap_or_else(|e| panic!("silent for a minute after {} frames: {e}", settled.len()));
        if event["kind"] == "settled" {
            settled.push(text(&event["name"]));
        }
    }
    assert_eq!(settled, names);
    let taken = list(&project, "frames");
    assert_eq!(taken.iter().map(|f| text(&f["name"])).collect::<Vec<_>>(), names);
    assert!(taken.iter().all(|f| f["print"].is_string() && f["result"]["verdict"].is_string()));
}

/// The desk is killed at any moment of an evening: while frames arrive and words are said. It opens again, and what it has
/// answered is there.
#[test]
fn a_desk_that_is_killed_fifty_times_has_all_it_answered() {
    let top = tempfile::tempdir().unwrap();
    let drawn = frames(&top.path().join("box"));
    let (project, tether) = (top.path().join("project"), top.path().join("tether"));
    std::fs::create_dir(&tether).unwrap();
    // Any number would do: the moments only have to differ.
    let mut seed = 11u64;
    let mut said: Option<String> = None;
    let mut arrived = drawn[4..].iter();
    // A print to say something of from the first.
    let desk = Desk::open(&project);
    let heard = desk.listen();
    for path in &drawn[..4] {
        std::fs::copy(path, tether.join(path.file_name().unwrap())).unwrap();
    }
    assert_eq!(desk.post("/api/stand", &json!({ "folder": tether })).status, 200);
    let settled = heard.iter().filter(|e| e["kind"] == "settled").take(4).count();
    assert_eq!(settled, 4);
    drop(desk);
    for round in 0..50 {
        let mut desk = Desk::open(&project);
        assert_eq!(desk.post("/api/stand", &json!({ "folder": tether })).status, 200);
        if let Some(path) = arrived.next() {
            std::fs::copy(path, tether.join(path.file_name().unwrap())).unwrap();
        }
        seed = seed.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
        let mut child = std::mem::replace(&mut desk.child, Command::new("true").spawn().unwrap());
        let end = std::thread::spawn(move || {
            std::thread::sleep(Duration::from_millis((seed >> 33) % 900));
            let _ = child.kill();
            let _ = child.wait();
        });
        let first =
            list(&project, "prints").first().and_then(|p| text(&p["id"]).trim_start_matches('P').parse::<i64>().ok());
        // One change after the other, until the desk is gone.
        for turn in 0.. {
            let Some(print) = first else { break };
            let title = format!("Round {round}, turn {turn}");
            match desk.try_post("/api/describe", &json!({ "ids": [print], "facts": { "title": title } })) {
                Some(answer) if answer.status == 200 => said = Some(title),
                _ => break,
            }
        }
        end.join().unwrap();
        let prints = list(&project, "prints");
        if let (Some(title), Some(print)) = (&said, prints.first()) {
            let there = text(&print["title"]);
            // The last change may have been saved and its answer cut off; never an earlier one.
            let (a, b) = (turn_of(&there), turn_of(title));
            assert!(a >= b, "round {round}: “{title}” was answered, “{there}” is there");
        }
        for frame in list(&project, "frames") {
            for file in ["report", "master", "mount"] {
                let Some(name) = frame["result"][file].as_str() else { continue };
                assert!(std::fs::metadata(project.join(name)).is_ok_and(|m| m.len() > 0), "round {round}: no {name}");
            }
        }
    }
    assert!(said.is_some(), "nothing was ever said");
    // What had arrived is taken in by the next desk, and nothing half-written is left.
    let desk = Desk::open(&project);
    assert_eq!(desk.post("/api/stand", &json!({ "folder": tether })).status, 200);
    let began = std::time::Instant::now();
    while list(&project, "frames").len() < drawn.len() && began.elapsed() < Duration::from_secs(120) {
        std::thread::sleep(Duration::from_millis(200));
    }
    let mut names: Vec<String> = list(&project, "frames").iter().map(|f| text(&f["name"])).collect();
    names.sort();
    let mut all: Vec<String> = drawn.iter().map(|p| p.file_name().unwrap().to_string_lossy().into_owned()).collect();
    all.sort();
    assert_eq!(names, all);
    let half: Vec<PathBuf> = walk(&project).into_iter().filter(|p| p.to_string_lossy().ends_with(".part")).collect();
    assert!(half.is_empty(), "{half:?}");
}

/// Round and turn of a title; before all of them where it is none.
fn turn_of(title: &str) -> (i64, i64) {
    let numbers: Vec<i64> = title.split(|c: char| !c.is_ascii_digit()).filter_map(|n| n.parse().ok()).collect();
    (numbers.first().copied().unwrap_or(-1), numbers.get(1).copied().unwrap_or(-1))
}

/// On a disk of a few megabytes: the desk says that it is full, keeps what it has, and goes on when there is room.
#[test]
fn a_full_disk_is_told_and_nothing_is_lost() {
    let top = tempfile::tempdir().unwrap();
    let drawn = frames(&top.path().join("box"));
    let (disk, tether) = (top.path().join("disk"), top.path().join("tether"));
    [&disk, &tether].iter().for_each(|f| std::fs::create_dir(f).unwrap());
    // A disk of its own in a mount namespace of its own (Linux): gone with the desk.
    let mut command = Command::new("unshare");
    command.args(["--mount", "--map-root-user", "sh", "-c"]);
    command.arg("mount -t tmpfs -o size=24m none \"$1\" && exec \"$2\" desk --quiet \"$1\"");
    command.args(["sh".as_ref(), disk.as_os_str(), env!("CARGO_BIN_EXE_fallside").as_ref()]);
    let may = Command::new("unshare").args(["--mount", "--map-root-user", "true"]).status();
    if !may.is_ok_and(|s| s.success()) {
        eprintln!("This system gives no mount namespaces: a full disk is not tried here.");
        return;
    }
    let desk = Desk::run(command);
    assert_eq!(desk.post("/api/stand", &json!({ "folder": tether })).status, 200);
    let heard = desk.listen();
    let mut told = None;
    for path in &drawn {
        std::fs::copy(path, tether.join(path.file_name().unwrap())).unwrap();
        // A frame is settled, or there is trouble.
        let event = heard.iter().find(|e| e["kind"] == "trouble" || e["kind"] == "settled").expect("the desk is gone");
        if event["kind"] == "trouble" {
            told = event["says"].as_str().map(str::to_owned);
            break;
        }
    }
    let told = told.expect("24 MB hold all of a box");
    assert!(told.contains("disk is full"), "{told}");
    // What was told as saved is whole, and words can be said or are refused in a sentence.
    let rows = desk.get("/api/prints?q=&order=number").json();
    for row in rows["rows"].as_array().unwrap() {
        let sheet = desk.get(&format!("/api/print/{}", row["id"])).json();
        let frame = &sheet["frames"][0]["id"];
        let picture = desk.get(&format!("/picture/{frame}/mount?w=320"));
        assert_eq!(picture.status, 200, "{sheet}");
    }
    assert!(!rows["rows"].as_array().unwrap().is_empty());
}
