//! Files that a decoder cannot survive, through the built command: each costs one line, and the rest of the box is finished.

use crate::served::Desk;
use crate::{served, small_project};
use serde_json::json;
use std::path::Path;
use std::process::{Command, Output};
use std::time::{Duration, Instant};

fn fallside(words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_fallside")).args(words).output().unwrap()
}

fn said(o: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&o.stdout), String::from_utf8_lossy(&o.stderr))
}

fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

/// A box of an ISO base media file (ISO/IEC 14496-12, 4.2): its size, its kind, what it holds.
fn iso_box(kind: &[u8; 4], size: Option<u32>, body: &[u8]) -> Vec<u8> {
    let size = size.unwrap_or(8 + body.len() as u32);
    [&size.to_be_bytes(), kind.as_slice(), body].concat()
}

/// A little-endian TIFF of one directory at 8 (TIFF 6.0 section 2): tag, type, count, value.
fn directory(fields: &[(u16, u16, u32, u32)], next: u32) -> Vec<u8> {
    let mut out = b"II\x2A\0\x08\0\0\0".to_vec();
    out.extend((fields.len() as u16).to_le_bytes());
    for (tag, kind, count, value) in fields {
        out.extend([tag.to_le_bytes(), kind.to_le_bytes()].concat());
        out.extend([count.to_le_bytes(), value.to_le_bytes()].concat());
    }
    out.extend(next.to_le_bytes());
    out
}

/// What ends a decoder: endless loops, memory without bound, sizes that nothing stands for.
fn hostile() -> Vec<(&'static str, Vec<u8>)> {
    let ftyp = iso_box(b"ftyp", None, b"crx \0\0\0\x01crx ");
    let loops = [ftyp.clone(), iso_box(b"moov", None, &iso_box(b"free", Some(0), b""))].concat();
    assert_eq!(loops.len(), 36);
    let tail = [ftyp, iso_box(b"moov", Some(400), &iso_box(b"free", None, b"1234")), vec![0; 6000]].concat();
    // Version 1.4, sub-directories and the next directory at the directory itself.
    let version = (50706, 1, 4, 0x0401);
    let itself = directory(&[(330, 4, 1, 8), version], 8);
    // 60,000 x 4,900 px of a mosaic, in one strip of nine bytes.
    let giant = directory(
        &[
            (256, 4, 1, 60_000),
            (257, 4, 1, 4_900),
            (258, 3, 1, 16),
            (259, 3, 1, 7),
            (262, 3, 1, 32803),
            (273, 4, 1, 8),
            (277, 3, 1, 1),
            (278, 4, 1, 4_900),
            (279, 4, 1, 9),
            version,
        ],
        0,
    );
    vec![("loop.cr3", loops), ("tail.cr3", tail), ("itself.dng", itself), ("giant.dng", giant)]
}

/// A healthy JPEG of a gradient.
fn jpeg(width: u16, height: u16) -> Vec<u8> {
    let n = usize::from(width) * usize::from(height) * 3;
    let rgb: Vec<u8> = (0..n).map(|i| 120 + (i / 97 % 80) as u8).collect();
    let mut bytes = vec![];
    jpeg_encoder::Encoder::new(&mut bytes, 90).encode(&rgb, width, height, jpeg_encoder::ColorType::Rgb).unwrap();
    bytes
}

#[test]
fn a_file_that_ends_a_decoder_costs_one_line() {
    let top = tempfile::tempdir().unwrap();
    let (card, out, project) = (top.path().join("card"), top.path().join("out"), top.path().join("project"));
    std::fs::create_dir(&card).unwrap();
    let bad = hostile();
    for (name, bytes) in &bad {
        std::fs::write(card.join(name), bytes).unwrap();
    }
    for name in ["F1.jpg", "F2.jpg"] {
        std::fs::write(card.join(name), jpeg(300 + u16::from(name == "F2.jpg"), 200)).unwrap();
    }
    for words in [
        vec!["finish", text(&card), "--out", text(&out)],
        vec!["take", text(&card), "--in", text(&project)],
        vec!["check", text(&card)],
    ] {
        let begun = Instant::now();
        let o = fallside(&words);
        assert!(begun.elapsed() < Duration::from_secs(60), "{words:?} took {:?}", begun.elapsed());
        assert_eq!(o.status.code(), Some(1), "{words:?}: {}", said(&o));
        for (name, _) in &bad {
            let about = said(&o).lines().filter(|l| l.contains(name)).count();
            assert_eq!(about, 1, "{words:?} {name}: {}", said(&o));
        }
        assert!(!said(&o).contains("internal error") && !said(&o).contains("panic"), "{}", said(&o));
    }
    for folder in [&out, &project] {
        let made = served::walk(folder);
        let reports = made.iter().filter(|p| text(p).ends_with(".report.json")).count();
        assert_eq!(reports, 2, "{folder:?}: {made:?}");
    }
}

/// A bad file lies where frames arrive, before the desk opens and after: the stand goes on to the next frame each time.
#[test]
fn the_stand_survives_what_ends_a_decoder() {
    let top = tempfile::tempdir().unwrap();
    let (project, tether) = (top.path().join("project"), top.path().join("tether"));
    std::fs::create_dir(&tether).unwrap();
    let bad = hostile();
    std::fs::write(tether.join(bad[0].0), &bad[0].1).unwrap();
    for round in 0..2u16 {
        let desk = Desk::open(&project);
        let heard = desk.listen();
        assert_eq!(desk.post("/api/stand", &json!({ "folder": tether })).status, 200);
        let (name, bytes) = &bad[2 + usize::from(round)];
        std::fs::write(tether.join(name), bytes).unwrap();
        let good = format!("F{round}.jpg");
        std::fs::write(tether.join(&good), jpeg(300 + round, 200)).unwrap();
        let mut events = std::iter::from_fn(|| heard.recv_timeout(Duration::from_secs(60)).ok());
        assert!(events.any(|e| e["kind"] == "settled" && e["name"] == good.as_str()), "{good} was not taken");
    }
}

/// The word is the program's own: nobody gets anything else from it.
#[test]
fn the_decoding_word_does_nothing_for_a_person() {
    for words in [vec!["decode-one-picture"], vec!["decode-one-picture", "picture", "1", "1", "1"]] {
        let o = Command::new(env!("CARGO_BIN_EXE_fallside")).args(&words).stdin(std::process::Stdio::null()).output();
        let o = o.unwrap();
        assert_eq!(o.status.code(), Some(2), "{}", said(&o));
        assert!(said(&o).contains("starts itself with this argument"), "{}", said(&o));
    }
}

/// Pipes and devices under a frame's name, or named outright: said and passed over, not waited for.
#[cfg(unix)]
#[test]
fn what_is_no_regular_file_is_said_and_not_waited_for() {
    let top = tempfile::tempdir().unwrap();
    let (card, out, project) = (top.path().join("card"), top.path().join("out"), top.path().join("project"));
    std::fs::create_dir(&card).unwrap();
    let pipe = card.join("pipe.jpg");
    assert!(Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    std::os::unix::fs::symlink("/dev/zero", card.join("zero.png")).unwrap();
    std::os::unix::fs::symlink(&pipe, card.join("link.dng")).unwrap();
    std::fs::write(card.join("F1.jpg"), jpeg(300, 200)).unwrap();
    let (good, zero) = (card.join("F1.jpg"), card.join("zero.png"));
    for words in [
        vec!["finish", text(&card), "--out", text(&out)],
        vec!["take", text(&card), "--in", text(&project)],
        vec!["check", text(&card)],
    ] {
        let o = fallside(&words);
        assert_eq!(o.status.code(), Some(1), "{words:?}: {}", said(&o));
        for name in ["pipe.jpg", "zero.png", "link.dng"] {
            let all = said(&o);
            let about: Vec<&str> = all.lines().filter(|l| l.contains(name)).collect();
            assert!(about.len() == 1 && about[0].contains("not a regular file"), "{words:?} {name}: {all}");
        }
    }
    let values = top.path().join("values.txt");
    std::fs::write(&values, "no values").unwrap();
    let named = ["--blank", "--chart", "--chart-values", "--flash-off"];
    for (word, place) in named.into_iter().flat_map(|w| [(w, &pipe), (w, &zero)]) {
        let mut words = vec!["finish", text(&good), "--out", text(&out), word, text(place)];
        if word == "--chart" {
            words.extend(["--chart-values", text(&values)]);
        }
        let begun = Instant::now();
        let o = fallside(&words);
        assert!(begun.elapsed() < Duration::from_secs(30), "{words:?}");
        assert!(said(&o).contains("not a regular file") && o.status.code() != Some(0), "{words:?}: {}", said(&o));
    }
    for place in [&pipe, &zero] {
        let o = fallside(&["finish", text(place), "--out", text(&out)]);
        assert!(o.status.code() == Some(2) && said(&o).contains("not a regular file"), "{}", said(&o));
    }
    // A project's catalogue, and a sitting's list of a results folder.
    let odd = top.path().join("odd");
    std::fs::create_dir(&odd).unwrap();
    assert!(Command::new("mkfifo").arg(odd.join("fallside.db")).status().unwrap().success());
    let o = fallside(&["list", "prints", "--in", text(&odd)]);
    assert!(o.status.code() == Some(2) && said(&o).contains("not a regular file"), "{}", said(&o));
}

/// Healthy frames of any small size end in a verdict and not in a fault of ours, in `finish` and in `check`.
#[test]
fn tiny_frames_are_finished_and_checked() {
    let top = tempfile::tempdir().unwrap();
    let (card, out) = (top.path().join("card"), top.path().join("out"));
    std::fs::create_dir(&card).unwrap();
    let mut seed = 7u32;
    let mut next = |n: u32| {
        seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (seed >> 8) % n
    };
    for i in 0..60 {
        // Every size from 1 px, more small ones than large.
        let most = [8, 40, 120, 400][i % 4];
        let (w, h) = (1 + next(most) as u16, 1 + next(most) as u16);
        let (cell, low, kind) = (1 + next(30) as usize, next(200) as u8, next(4));
        let shade = |x: usize, y: usize, r: u32| match kind {
            0 => low + (x / cell + y / cell) as u8 % 2 * 55,
            1 => low + (r % 56) as u8,
            2 => (x * 255 / usize::from(w)) as u8,
            // Squares on white, as a chart or a ruler has.
            _ => 250 - 200 * u8::from(x % (2 * cell) < cell && y % (2 * cell) < cell),
        };
        let mut rgb = vec![];
        for (y, x) in (0..usize::from(h)).flat_map(|y| (0..usize::from(w)).map(move |x| (y, x))) {
            rgb.extend([shade(x, y, next(1 << 20)); 3]);
        }
        let mut bytes = vec![];
        jpeg_encoder::Encoder::new(&mut bytes, 90).encode(&rgb, w, h, jpeg_encoder::ColorType::Rgb).unwrap();
        std::fs::write(card.join(format!("T{i:03}-{w}x{h}.jpg")), bytes).unwrap();
    }
    let o = fallside(&["finish", text(&card), "--out", text(&out)]);
    let all = said(&o);
    assert!(!all.contains("internal error") && !all.contains("overflow"), "{all}");
    assert!(o.status.code().is_some_and(|c| c < 2), "{all}");
    let o = fallside(&["check", text(&card)]);
    let all = said(&o);
    assert!(!all.contains("internal error") && !all.contains("overflow"), "{all}");
    assert!(o.status.code().is_some_and(|c| c < 2), "{all}");
}

/// The example in the help is understood, a drawn outline is taken, and numbers that are no outline are refused at once.
#[test]
fn an_outline_by_hand_is_taken_or_refused_in_a_sentence() {
    let project = small_project::project();
    let mend = |frame: &str, outline: &str| fallside(&["mend", frame, "--outline", outline, "--in", text(project)]);
    let help = said(&fallside(&["mend", "--help"]));
    let example = help.lines().find(|l| l.trim().starts_with("fallside mend F")).unwrap();
    let words: Vec<&str> = example.split_whitespace().collect();
    let o = mend("F1.png", words[words.iter().position(|w| *w == "--outline").unwrap() + 1]);
    // Of a frame that is larger than the one here.
    assert!(said(&o).contains("far outside the frame, which is 1200 x 800 px"), "{}", said(&o));

    let made = served::walk(project);
    let report = made
        .iter()
        .find(|p| text(p).contains("/reports/F1-") && text(p).ends_with(".report.json"))
        .unwrap_or_else(|| panic!("{made:?}"));
    let report: serde_json::Value = serde_json::from_slice(&std::fs::read(report).unwrap()).unwrap();
    let corners: Vec<f64> = report["print"]["outline_px"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|c| [c[0].as_f64().unwrap(), c[1].as_f64().unwrap()])
        .collect();
    let line = |change: &dyn Fn(&mut Vec<String>)| {
        let mut all: Vec<String> = corners.iter().map(f64::to_string).collect();
        change(&mut all);
        all.join(",")
    };
    for (odd, says) in
        [("nan", "far outside"), ("inf", "far outside"), ("-1e9", "far outside"), ("1e300", "far outside")]
    {
        let begun = Instant::now();
        let o = mend("F1.png", &line(&|all| all[3] = odd.into()));
        assert!(o.status.code() == Some(2) && said(&o).contains(says), "{odd}: {}", said(&o));
        assert!(begun.elapsed() < Duration::from_secs(10), "{odd}");
    }
    let o = mend("F1.png", &line(&|all| [(2, 6), (3, 7)].iter().for_each(|(a, b)| all.swap(*a, *b))));
    assert!(o.status.code() == Some(2) && said(&o).contains("clockwise"), "{}", said(&o));
    for short in [line(&|all| drop(all.pop())), line(&|all| all[2] = "left".into())] {
        let o = mend("F1.png", &short);
        assert!(o.status.code() == Some(2) && said(&o).contains("number"), "{}", said(&o));
    }
    let o = mend("F1.png", &line(&|_| {}));
    assert_eq!(o.status.code(), Some(0), "{}", said(&o));
}
