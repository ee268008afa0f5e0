//! An import that is stopped, on drawn frames and with the real work: what is taken is whole, the rest is untouched, and going on ends
//! where an import that nobody stopped ends.

use codec::{Info, Limits, Metadata, png};
use finish::frame::Frames;
use geometry::{Angle, point};
use optics::Pose;
use pixels::Samples;
use project::catalogue::Frame;
use project::{Project, Stop, Take, TakeEvent, Taken, take};
use scene::{Format, Picture, Print, Rig, Scene, Subject};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Mutex;

/// As small as frames may be for a print to be found: seven pixels to the millimetre.
const SIZE: (usize, usize) = (1200, 800);

fn draw(card: &Path, name: &str, minute: u32, scene: &Scene) {
    let (w, h) = SIZE;
    let drawn = scene::render(scene, w, h).frame;
    let Samples::U8(code) = &drawn.samples else { panic!("eight bits were asked for") };
    let original = Metadata {
        f_number: Some(8.0),
        iso: Some(100),
        focal_length_mm: Some(scene.rig.camera.focal.to_mm()),
        taken: Some(format!("2026:11:07 20:{minute:02}:00")),
        ..Metadata::default()
    };
    let info = Info { icc: Some(codec::icc::srgb()), original: Some(original), ..Info::default() };
    png::write(&card.join(name), w, h, &info, |rows| code[rows.start * w * 3..rows.end * w * 3].to_vec()).unwrap();
}

/// A bare bed and four prints.
fn card(top: &Path) -> PathBuf {
    let card = top.join("card");
    std::fs::create_dir(&card).unwrap();
    draw(&card, "F0.png", 0, &Scene::blank(Rig::default(), 5));
    let prints = [
        (Format::SquareIntegral, Subject::Lake),
        (Format::WideIntegral, Subject::Beach),
        (Format::SquareIntegral, Subject::Street),
        (Format::MiniIntegral, Subject::Snow),
    ];
    for (i, (format, subject)) in (1..).zip(prints) {
        let seed = 6 + u64::from(i);
        let print = Print::new(format, Picture::new(subject, seed), seed);
        let pose = Pose { centre: point(-1.0, 1.0), rotation: Angle::deg(90.6) };
        draw(&card, &format!("F{i}.png"), i, &Scene::of(Rig::default(), print, pose, seed));
    }
    card
}

/// Every file below a folder with the BLAKE3 of its bytes, by its path from there.
fn files(folder: &Path) -> BTreeMap<String, String> {
    let mut all = BTreeMap::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(at) = folders.pop() {
        for entry in std::fs::read_dir(&at).into_iter().flatten().map(Result::unwrap) {
            let path = entry.path();
            if path.is_dir() {
                folders.push(path);
            } else {
                let hash = blake3::hash(&std::fs::read(&path).unwrap()).to_hex().to_string();
                all.insert(path.strip_prefix(folder).unwrap().to_string_lossy().into_owned(), hash);
            }
        }
    }
    all
}

fn names(frames: &[Frame]) -> BTreeSet<String> {
    frames.iter().map(|f| f.name.clone()).collect()
}

/// Imports the card, one frame at a time: a frame larger than the memory allowed runs alone. It is asked to stop once `holds` does of the
/// frames in hand. Answers with what came of it and the names of the frames that were in hand.
fn import(project: &mut Project, card: &Path, holds: impl Fn(&[String]) -> bool + Sync) -> (Taken, Vec<String>) {
    let stop = Stop::default();
    let request = Take { inputs: vec![card.to_owned()], memory: Some(1), stop: stop.clone(), ..Take::default() };
    let begun = Mutex::new(vec![]);
    let taken = take(project, &request, &Frames::default(), &|event| {
        let mut begun = begun.lock().unwrap();
        if let TakeEvent::InHand { path } = event {
            begun.push(path.file_name().unwrap().to_string_lossy().into_owned());
        }
        if holds(&begun) {
            stop.stop();
        }
    });
    (taken.unwrap(), begun.into_inner().unwrap())
}

/// A frame is whole: its results are there and can be read, and it is linked, if it shows a print.
fn assert_whole(project: &Project, frame: &Frame) {
    let result = frame.result.as_ref().unwrap_or_else(|| panic!("{} has no result", frame.name));
    let at = |path: &str| project.folder().join(path);
    let report = std::fs::read(at(&result.report)).unwrap();
    let report: serde_json::Value = serde_json::from_slice(&report).unwrap();
    assert_eq!(report["frame"]["blake3"].as_str(), Some(frame.blake3.as_str()), "{}", frame.name);
    let pictures = [&result.master, &result.mount, &result.share, &result.before, &result.after];
    for picture in pictures.into_iter().flatten() {
        codec::read(&at(picture), &Limits::default()).unwrap_or_else(|e| panic!("{picture}: {e}"));
    }
    assert_eq!(frame.print.is_some(), frame.role == "front", "{}: {}", frame.name, frame.print_why);
    assert_eq!(result.master.is_some() && result.mount.is_some(), frame.role == "front", "{}", frame.name);
}

#[test]
fn a_stopped_import_leaves_what_is_taken_whole_and_the_rest_untouched() {
    let top = tempfile::tempdir().unwrap();
    let card = card(top.path());
    let originals = files(&card);
    let mut project = Project::open_or_begin(&top.path().join("stopped")).unwrap();

    // Asked while the second frame is in hand: that one is still finished.
    let (taken, begun) = import(&mut project, &card, |begun| begun.len() == 2);
    assert_eq!((begun.len(), taken.frames.len(), taken.known, taken.left), (2, 2, 0, 3), "{taken:?}");
    assert!(taken.problems.is_empty() && taken.unread.is_empty(), "what is left is no trouble: {taken:?}");
    let frames = project.catalogue().all_frames().unwrap();
    assert_eq!(names(&frames), begun.iter().cloned().collect(), "what was begun is entered, and nothing else");
    frames.iter().for_each(|f| assert_whole(&project, f));
    assert!(project.catalogue().loose_frames().unwrap().iter().all(|f| f.role != "front"));
    for left in originals.keys().filter(|n| !begun.contains(n)) {
        let stem = left.trim_end_matches(".png");
        assert!(project.catalogue().frames_by_hash(&originals[left]).unwrap().is_empty(), "{left} is entered");
        let made: Vec<String> = files(project.folder()).into_keys().filter(|f| f.contains(stem)).collect();
        assert!(made.is_empty(), "{left} was left, yet there is {made:?}");
    }
    assert_eq!(files(&card), originals, "the card is as it was");

    // Going on: the rest comes in, and all is as where nobody stopped it.
    let (rest, begun_later) = import(&mut project, &card, |_| false);
    assert_eq!((rest.frames.len(), rest.known, rest.left), (3, 2, 0), "{rest:?}");
    assert!(begun_later.iter().all(|n| !begun.contains(n)), "what is whole is not made again: {begun_later:?}");
    let mut whole = Project::open_or_begin(&top.path().join("whole")).unwrap();
    assert_eq!(import(&mut whole, &card, |_| false).0.frames.len(), 5);
    let told = |project: &Project| -> BTreeMap<String, (String, String, String, Option<String>)> {
        let master = |f: &Frame| f.result.as_ref()?.master.as_ref().map(|m| project.folder().join(m));
        let hash = |path: PathBuf| blake3::hash(&std::fs::read(path).unwrap()).to_hex().to_string();
        let of = |f: &Frame| {
            let result = f.result.as_ref().unwrap();
            (f.role.clone(), result.verdict.clone(), result.format.clone(), master(f).map(hash))
        };
        project.catalogue().all_frames().unwrap().iter().map(|f| (f.name.clone(), of(f))).collect()
    };
    assert_eq!(told(&project), told(&whole));
    assert_eq!(files(&card), originals, "the card is as it was");
}

#[test]
fn an_import_stopped_before_a_frame_is_begun_takes_nothing() {
    let top = tempfile::tempdir().unwrap();
    let card = card(top.path());
    let originals = files(&card);
    let mut project = Project::open_or_begin(&top.path().join("project")).unwrap();
    // Asked with the first event: while files are read.
    let (taken, begun) = import(&mut project, &card, |_| true);
    assert_eq!((begun.len(), taken.frames.len(), taken.left), (0, 0, 5), "{taken:?}");
    assert!(project.catalogue().all_frames().unwrap().is_empty());
    let made: Vec<String> =
        files(project.folder()).into_keys().filter(|f| f.contains("F0") || f.contains("F1")).collect();
    assert!(made.is_empty(), "{made:?}");
    assert_eq!(files(&card), originals, "the card is as it was");
}
