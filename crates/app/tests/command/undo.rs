//! What is mended and taken back: the same recipe gives the same bytes, whatever was said in between, and nothing stays half undone.

use crate::drawn::shoot;
use crate::served;
use crate::small_project::{fallside, said};
use geometry::{Angle, Length, point};
use optics::{Camera, Pose};
use scene::{Format, Output as Sensor, Picture, Placed, Print, Rig, Scene, Subject};
use std::collections::BTreeMap;
use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;
use std::time::Duration;

fn well(words: &[&dyn AsRef<OsStr>]) -> String {
    let o = fallside(words);
    assert_eq!(o.status.code(), Some(0), "{}", said(&o));
    said(&o)
}

fn print(format: Format, subject: Subject, seed: u64, turn: f64) -> Scene {
    let print = Print::new(format, Picture::new(subject, seed), seed);
    Scene::of(Rig::default(), print, Pose { centre: point(-1.0, 1.0), rotation: Angle::deg(turn) }, seed)
}

/// Two small prints side by side in one frame.
fn two() -> Scene {
    let camera = Camera::over(3000.0, 2000.0, Length::mm(36.0), Length::mm(165.0), Length::mm(420.0));
    let mut rig = Rig { camera, ..Rig::default() };
    rig.sensor.output = Sensor::Srgb8;
    let mini = |seed: u64, x: f64| Placed {
        print: Print::new(Format::MiniIntegral, Picture::new(Subject::Lake, seed), seed),
        pose: Pose { centre: point(x, 0.0), rotation: Angle::deg(0.8) },
    };
    Scene { sheets: vec![mini(3, 34.0), mini(4, -36.0)], role: scene::Role::Front, ..Scene::blank(rig, 31) }
}

/// A project with everything that a frame can be finished with: a bare bed and a blank named outside, a chart and its values, a back, two
/// prints in one frame, a lesser twin of a frame.
fn project() -> &'static Path {
    static PROJECT: OnceLock<tempfile::TempDir> = OnceLock::new();
    let top = PROJECT.get_or_init(|| {
        let top = tempfile::tempdir().unwrap();
        let card = top.path().join("card");
        let middle = Pose { centre: point(0.0, 0.0), rotation: Angle::deg(0.5) };
        shoot(&card, "F1.png", &Scene::blank(Rig::default(), 5), 1, 8.0);
        shoot(&card, "F2.png", &Scene::chart(Rig::default(), middle, 6), 2, 8.0);
        shoot(&card, "F3.png", &print(Format::SquareIntegral, Subject::Lake, 7, 90.6), 3, 8.0);
        shoot(&card, "F4.png", &print(Format::WideIntegral, Subject::Beach, 8, 0.7), 4, 8.0);
        shoot(&card, "F5.png", &print(Format::MiniIntegral, Subject::Snow, 10, 181.0), 5, 8.0);
        shoot(&card, "F6.png", &two(), 6, 8.0);
        std::fs::write(card.join("F4.jpg"), "a lesser twin").unwrap();
        let values = top.path().join("chart.txt");
        std::fs::write(&values, scene::chart::cgats()).unwrap();
        well(&[&"take", &card, &"--in", &top.path().join("p"), &"--chart-values", &values]);
        top
    });
    Box::leak(top.path().join("p").into_boxed_path())
}

/// A copy of the project beside it, so that its originals are found as they were.
fn copy(name: &str) -> PathBuf {
    let to = project().with_file_name(name);
    for file in served::walk(project()) {
        let place = to.join(file.strip_prefix(project()).unwrap());
        std::fs::create_dir_all(place.parent().unwrap()).unwrap();
        std::fs::copy(file, place).unwrap();
    }
    to
}

/// Every finished file with the hash of its bytes: BLAKE3 by the published library.
fn finished(project: &Path) -> BTreeMap<PathBuf, String> {
    let hash = |f: &PathBuf| blake3::hash(&std::fs::read(f).unwrap()).to_hex().to_string();
    let all = served::walk(&project.join("finished"));
    let hidden = |f: &PathBuf| f.strip_prefix(project).unwrap().iter().any(|p| p.to_string_lossy().starts_with('.'));
    all.into_iter().filter(|f| !hidden(f)).map(|f| (f.strip_prefix(project).unwrap().to_owned(), hash(&f))).collect()
}

/// The files that differ.
fn changed(a: &BTreeMap<PathBuf, String>, b: &BTreeMap<PathBuf, String>) -> Vec<PathBuf> {
    let all: std::collections::BTreeSet<&PathBuf> = a.keys().chain(b.keys()).collect();
    all.into_iter().filter(|k| a.get(*k) != b.get(*k)).cloned().collect()
}

/// Numbers without order, the same at every run (Knuth's multiplicative generator, MMIX).
struct Chance(u64);

impl Chance {
    fn of(&mut self, n: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % n
    }
}

/// Something that a person may say of a frame, drawn by chance.
fn anything(chance: &mut Chance, frame: &str) -> Vec<String> {
    let outline = |x: i64, y: i64| {
        let (w, h) = (520 + x, 620 + y);
        format!("--outline={},{},{},{},{},{},{},{}", 330 + x, 90 + y, 330 + w, 92 + y, 328 + w, 90 + h, 331 + x, 88 + h)
    };
    match chance.of(if frame.starts_with("F6") { 2 } else { 4 }) {
        0 => vec![format!("--turn={}", 1 + chance.of(3))],
        1 => vec![format!("--shadow={}", ["0", "0.35", "1.7"][chance.of(3)])],
        2 => vec!["--format=square-integral".into()],
        _ => vec![outline(chance.of(30) as i64, chance.of(30) as i64)],
    }
}

#[test]
fn the_same_recipe_gives_the_same_bytes_whatever_was_said_in_between() {
    let p = copy("property");
    let before = finished(&p);
    assert!(before.len() > 5 * 7, "{before:?}");
    let mut chance = Chance(20_261_130);
    let frames = ["F3.png", "F4.png", "F5.png", "F6-1", "F6-2"];
    for round in 0..10 {
        let frame = frames[round % frames.len()];
        let many = 1 + chance.of(2);
        let mut after = vec![];
        for _ in 0..many {
            let words = anything(&mut chance, frame);
            let mut all: Vec<&dyn AsRef<OsStr>> = vec![&"mend", &frame, &"--in", &p];
            all.extend(words.iter().map(|w| w as &dyn AsRef<OsStr>));
            let o = fallside(&all);
            // What cannot be is refused and changes nothing.
            assert!(o.status.success() || said(&o).contains('.'), "{}", said(&o));
            let files = finished(&p);
            // No sidecar is left without its master.
            let alone = files.keys().filter(|f| f.extension().is_some_and(|e| e == "xmp"));
            let alone: Vec<_> = alone.filter(|f| !files.contains_key(&f.with_extension("tif"))).collect();
            assert!(alone.is_empty(), "round {round}: {alone:?}");
            after.push((files, o.status.success()));
        }
        let done = after.iter().filter(|(_, did)| *did).count();
        for _ in 0..done {
            well(&[&"undo", &"--in", &p]);
        }
        let back = finished(&p);
        assert_eq!(changed(&before, &back), Vec::<PathBuf>::new(), "round {round}, {frame}");
        // And there again.
        for _ in 0..done {
            well(&[&"undo", &"--redo", &"--in", &p]);
        }
        if let Some((there, _)) = after.iter().rfind(|(_, did)| *did) {
            assert_eq!(changed(there, &finished(&p)), Vec::<PathBuf>::new(), "round {round}, {frame}, done again");
            assert!(!changed(&before, there).is_empty(), "round {round}: something was mended");
        }
        for _ in 0..done {
            well(&[&"undo", &"--in", &p]);
        }
    }
    assert_eq!(changed(&before, &finished(&p)), Vec::<PathBuf>::new());
}

#[test]
fn an_undo_whose_pictures_cannot_follow_undoes_nothing() {
    let p = copy("refused");
    let before = finished(&p);
    well(&[&"mend", &"F3.png", &"--turn", &"1", &"--in", &p]);
    let mended = finished(&p);
    // The other tests read the same originals: this project gets its own way to them, and loses one there.
    let own = p.with_file_name("own-card");
    std::fs::create_dir(&own).unwrap();
    for file in served::walk(&p.with_file_name("card")) {
        std::fs::copy(&file, own.join(file.file_name().unwrap())).unwrap();
    }
    let text = "UPDATE frame SET path = replace(path, '/card/', '/own-card/')";
    let moved = Command::new("sqlite3").arg(p.join("fallside.db")).arg(text).status();
    if !moved.is_ok_and(|s| s.success()) {
        eprintln!("left out: there is no sqlite3 here to move the originals with");
        return;
    }
    let (there, away) = (own.join("F3.png"), p.with_file_name("F3.away"));
    std::fs::rename(&there, &away).unwrap();
    let o = fallside(&[&"undo", &"--in", &p]);
    assert_eq!(o.status.code(), Some(2), "{}", said(&o));
    assert!(said(&o).contains("Nothing was undone"), "{}", said(&o));
    assert_eq!(pictures(&mended, &finished(&p)), Vec::<PathBuf>::new());
    let history = well(&[&"list", &"history", &"--in", &p]);
    assert!(!history.contains("(undone)"), "{history}");
    std::fs::rename(&away, &there).unwrap();
    well(&[&"undo", &"--in", &p]);
    assert_eq!(pictures(&before, &finished(&p)), Vec::<PathBuf>::new());
}

/// The files that differ, but for sidecars.
fn pictures(a: &BTreeMap<PathBuf, String>, b: &BTreeMap<PathBuf, String>) -> Vec<PathBuf> {
    changed(a, b).into_iter().filter(|f| f.extension().is_none_or(|e| e != "xmp")).collect()
}

#[test]
fn an_undo_that_was_ended_half_way_is_whole_after_the_next_desk() {
    let p = copy("ended");
    let before = finished(&p);
    well(&[&"mend", &"F3.png", &"--turn", &"1", &"--in", &p]);
    let mended = finished(&p);
    for wait in [5, 60, 150, 300, 450, 600, 750, 900] {
        let mut undo = Command::new(env!("CARGO_BIN_EXE_fallside"))
            .args(["undo", "--in"])
            .arg(&p)
            .stdout(std::process::Stdio::null())
            .stderr(std::process::Stdio::null())
            .spawn()
            .unwrap();
        std::thread::sleep(Duration::from_millis(wait));
        undo.kill().unwrap();
        undo.wait().unwrap();
        drop(served::Desk::open(&p));
        let history = well(&[&"list", &"history", &"--in", &p]);
        let undone = history.contains("(undone)");
        let wanted = if undone { &before } else { &mended };
        assert_eq!(changed(wanted, &finished(&p)), Vec::<PathBuf>::new(), "killed after {wait} ms: {history}");
        if undone {
            well(&[&"undo", &"--redo", &"--in", &p]);
        }
    }
}

#[test]
fn a_frame_that_lost_its_report_half_way_gets_the_same_one_again() {
    let p = copy("reportless");
    well(&[&"mend", &"F3.png", &"--turn", &"1", &"--in", &p]);
    let mended = finished(&p);
    let report = mended.keys().find(|f| f.to_string_lossy().contains("reports/F3")).unwrap();
    // As a kill leaves it between the old report and the new one; F3 is the third frame taken.
    let notes = p.join(".fallside/mending");
    std::fs::create_dir_all(&notes).unwrap();
    std::fs::rename(p.join(report), notes.join("3.json")).unwrap();
    drop(served::Desk::open(&p));
    assert_eq!(changed(&mended, &finished(&p)), Vec::<PathBuf>::new());
    assert_eq!(std::fs::read_dir(&notes).unwrap().count(), 0);
}
