//! The command as a photographer runs it: bad files, exit codes, an interruption, originals untouched.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

fn fallside() -> Command {
    Command::new(env!("CARGO_BIN_EXE_fallside"))
}

fn run(arguments: &[&str]) -> Output {
    fallside().args(arguments).output().unwrap()
}

fn lines(output: &Output) -> Vec<String> {
    String::from_utf8_lossy(&output.stderr).lines().map(str::to_owned).collect()
}

fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

/// Every file under a folder with the BLAKE3 of its bytes.
fn hashes(folder: &Path) -> BTreeMap<PathBuf, String> {
    let mut all = BTreeMap::new();
    for entry in std::fs::read_dir(folder).unwrap().map(Result::unwrap) {
        let path = entry.path();
        if path.is_dir() {
            all.extend(hashes(&path));
        } else {
            all.insert(path.clone(), blake3::hash(&std::fs::read(&path).unwrap()).to_hex().to_string());
        }
    }
    all
}

/// A grey gradient as JPEG bytes.
fn jpeg(width: u16, height: u16, colour: jpeg_encoder::ColorType, channels: usize) -> Vec<u8> {
    let pixels: Vec<u8> =
        (0..usize::from(width) * usize::from(height) * channels).map(|i| 120 + (i / 97 % 80) as u8).collect();
    let mut bytes = vec![];
    jpeg_encoder::Encoder::new(&mut bytes, 90).encode(&pixels, width, height, colour).unwrap();
    bytes
}

fn png(width: u32, height: u32, colour: png::ColorType, depth: png::BitDepth) -> Vec<u8> {
    let mut bytes = vec![];
    let mut encoder = png::Encoder::new(&mut bytes, width, height);
    encoder.set_color(colour);
    encoder.set_depth(depth);
    let length =
        width as usize * height as usize * colour.samples() * if depth == png::BitDepth::Sixteen { 2 } else { 1 };
    encoder.write_header().unwrap().write_image_data(&vec![0xB0; length]).unwrap();
    bytes
}

/// The frame header (SOF0: marker FFC0, length, precision, height, width; ITU-T T.81 B.2.2) with another width.
fn with_width(mut bytes: Vec<u8>, width: u16) -> Vec<u8> {
    let at = bytes.windows(2).position(|w| w == [0xFF, 0xC0]).unwrap();
    bytes[at + 7..at + 9].copy_from_slice(&width.to_be_bytes());
    bytes
}

#[test]
fn each_bad_file_is_one_clear_line_and_the_good_ones_are_done() {
    use jpeg_encoder::ColorType::{Cmyk, Rgb};
    use png::{BitDepth, ColorType};
    let top = tempfile::tempdir().unwrap();
    let (card, out) = (top.path().join("card"), top.path().join("out"));
    std::fs::create_dir(&card).unwrap();
    let good = jpeg(300, 200, Rgb, 3);
    let bad: &[(&str, Vec<u8>)] = &[
        ("cut.jpg", good[..good.len() / 2].to_vec()),
        ("empty.jpg", vec![]),
        ("letter.jpg", b"Dear all, the prints are in the blue box.\n".to_vec()),
        ("wide.jpg", with_width(jpeg(300, 200, Rgb, 3), 65_500)),
        ("press.jpg", jpeg(300, 200, Cmyk, 4)),
        ("noise.dng", (0..4000u32).map(|i| (i.wrapping_mul(2_654_435_761) >> 24) as u8).collect()),
    ];
    let readable: &[(&str, Vec<u8>)] = &[
        ("good.jpg", good),
        ("named-wrongly.jpg", png(300, 200, ColorType::Rgb, BitDepth::Eight)),
        ("grey.png", png(300, 200, ColorType::Grayscale, BitDepth::Sixteen)),
        ("dot.png", png(1, 1, ColorType::Rgb, BitDepth::Eight)),
    ];
    bad.iter().chain(readable).for_each(|(name, bytes)| std::fs::write(card.join(name), bytes).unwrap());
    let before = hashes(&card);

    let output = run(&["finish", text(&card), "--out", text(&out)]);
    let said = lines(&output);
    assert_eq!(output.status.code(), Some(1), "{said:?}");
    for (name, _) in bad {
        let about: Vec<_> = said.iter().filter(|l| l.contains(name)).collect();
        assert_eq!(about.len(), 1, "{name}: {said:?}");
        assert!(about[0].contains("not finished") && about[0].ends_with('.'), "{}", about[0]);
        assert!(!about[0].contains("panic") && !about[0].contains("internal error"), "{}", about[0]);
    }
    for (name, _) in readable {
        assert!(!said.iter().any(|l| l.contains(name) && l.contains("internal error")), "{said:?}");
    }
    for name in ["good", "named-wrongly", "grey"] {
        assert!(out.join(format!("reports/{name}.report.json")).exists(), "{name}: {said:?}");
    }
    assert_eq!(hashes(&card), before, "originals changed");

    let again = run(&["finish", text(&card), "--out", text(&out), "--json"]);
    assert_eq!(again.status.code(), Some(1));
    let stdout = String::from_utf8(again.stdout).unwrap();
    assert_eq!(stdout.lines().count(), bad.len() + readable.len());
    for line in stdout.lines() {
        let line: serde_json::Value = serde_json::from_str(line).unwrap();
        assert_ne!(line["state"], "finished", "nothing had changed: {line}");
        if let Some(report) = line["report"].as_str().filter(|_| line["state"] == "already") {
            let report: serde_json::Value = serde_json::from_slice(&std::fs::read(report).unwrap()).unwrap();
            assert_eq!(line["role"], report["frame"]["role"], "{line}");
        }
    }
}

#[test]
fn nothing_possible_exits_with_two_and_says_why() {
    let top = tempfile::tempdir().unwrap();
    let (card, out) = (top.path().join("card"), top.path().join("out"));
    std::fs::create_dir(&card).unwrap();
    let cases: [(Vec<&str>, &str); 5] = [
        (vec!["finish", text(&card), "--format", "squarish", "--out", text(&out)], "There is no format squarish"),
        (vec!["finish", text(&card), "--out", text(&out)], "There are no pictures in"),
        (vec!["finish", "/no/such/box", "--out", text(&out)], "There is no such file"),
        (vec!["finish", text(&card), "--out", text(&card)], "holds originals"),
        (vec!["finish", text(&card)], "--out"),
    ];
    for (arguments, says) in cases {
        let output = run(&arguments);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        assert!(lines(&output).iter().any(|l| l.contains(says)), "{arguments:?}: {:?}", lines(&output));
    }
}

#[test]
fn a_back_that_is_not_among_the_frames_is_told() {
    let top = tempfile::tempdir().unwrap();
    let (front, back) = (top.path().join("1.jpg"), top.path().join("2.jpg"));
    for path in [&front, &back] {
        std::fs::write(path, jpeg(300, 200, jpeg_encoder::ColorType::Rgb, 3)).unwrap();
    }
    let with = |frames: &[&str], out: &str| {
        let out = top.path().join(out);
        run(&[&["finish", "--back", text(&back), "--out", text(&out)][..], frames].concat())
    };
    let stray = with(&[text(&front)], "a");
    assert_eq!(stray.status.code(), Some(1));
    assert_eq!(lines(&stray).iter().filter(|l| l.contains("not among the frames")).count(), 1, "{:?}", lines(&stray));
    assert_eq!(with(&[text(&front), text(&back)], "b").status.code(), Some(0));
}

#[test]
fn a_folder_that_may_not_be_read_is_one_line() {
    use std::os::unix::fs::PermissionsExt;
    let top = tempfile::tempdir().unwrap();
    let card = top.path().join("card");
    std::fs::create_dir(&card).unwrap();
    std::fs::set_permissions(&card, std::fs::Permissions::from_mode(0o000)).unwrap();
    if std::fs::read_dir(&card).is_ok() {
        // Root reads everything, so there is nothing to see.
        eprintln!("left out: this user may read every folder");
        return;
    }
    let output = run(&["finish", text(&card), "--out", text(&top.path().join("out"))]);
    std::fs::set_permissions(&card, std::fs::Permissions::from_mode(0o755)).unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(lines(&output).len(), 1, "{:?}", lines(&output));
}

#[test]
fn a_run_that_is_killed_goes_on_to_the_same_bytes() {
    let top = tempfile::tempdir().unwrap();
    let card = top.path().join("card");
    std::fs::create_dir(&card).unwrap();
    for i in 0..12u16 {
        std::fs::write(card.join(format!("F{i}.jpg")), jpeg(1200 + i, 800, jpeg_encoder::ColorType::Rgb, 3)).unwrap();
    }
    let (whole, broken) = (top.path().join("whole"), top.path().join("broken"));
    let uninterrupted = run(&["finish", text(&card), "--out", text(&whole)]);
    assert_eq!(uninterrupted.status.code(), Some(0), "{:?}", lines(&uninterrupted));

    let mut child =
        fallside().args(["finish", text(&card), "--out", text(&broken)]).stderr(Stdio::null()).spawn().unwrap();
    let some_done = || {
        std::fs::read_dir(broken.join("reports"))
            .map_or(0, |d| d.filter(|e| !e.as_ref().unwrap().file_name().to_string_lossy().starts_with('.')).count())
            > 2
    };
    while !some_done() && child.try_wait().unwrap().is_none() {
        std::thread::sleep(std::time::Duration::from_millis(1));
    }
    child.kill().unwrap();
    child.wait().unwrap();
    let output = run(&["finish", text(&card), "--out", text(&broken)]);
    assert_eq!(output.status.code(), Some(0));
    let under = |folder: &Path| -> BTreeMap<PathBuf, String> {
        let all = hashes(folder).into_iter().map(|(p, h)| (p.strip_prefix(folder).unwrap().to_owned(), h));
        // The page's title is the folder's name.
        all.filter(|(p, _)| !p.ends_with("index.html")).collect()
    };
    assert_eq!(under(&broken), under(&whole));
}

#[test]
fn the_bare_word_says_what_to_do_next() {
    let top = tempfile::tempdir().unwrap();
    std::fs::write(top.path().join("F1.jpg"), b"").unwrap();
    let output = fallside().current_dir(top.path()).output().unwrap();
    assert_eq!(output.status.code(), Some(0));
    let said = String::from_utf8(output.stdout).unwrap();
    assert!(said.starts_with("Here is 1 frame to finish.\nNext: fallside finish . --out "), "{said}");
}

#[test]
fn help_is_short_with_h_and_has_an_example_with_help() {
    let short = String::from_utf8(run(&["finish", "-h"]).stdout).unwrap();
    let long = String::from_utf8(run(&["finish", "--help"]).stdout).unwrap();
    assert!(short.lines().count() <= 40 && !short.contains("Example:"), "{short}");
    assert!(long.contains("Example:") && long.contains("Exit codes: 0"), "{long}");
}
