//! What was named on the command line and is of no use: told on the terminal, left out of the recipe, exit code 1. And results that are
//! no longer what was finished: named by whoever hands them on.

use crate::drawn::shoot;
use crate::small_project::{fallside, said};
use geometry::{Angle, point};
use optics::Pose;
use scene::{Format, Picture, Print, Rig, Scene, Subject};
use serde_json::Value;
use std::ffi::OsStr;
use std::path::{Path, PathBuf};

fn print(subject: Subject, seed: u64) -> Scene {
    let print = Print::new(Format::SquareIntegral, Picture::new(subject, seed), seed);
    Scene::of(Rig::default(), print, Pose { centre: point(-1.0, 1.0), rotation: Angle::deg(90.6) }, seed)
}

/// A bare bed of half the size of the other frames.
fn small_blank(path: &Path) {
    let (w, h) = (600, 400);
    let drawn = scene::render(&Scene::blank(Rig::default(), 5), w, h).frame;
    let pixels::Samples::U8(code) = drawn.samples else { panic!("eight bits were asked for") };
    let row = |rows: std::ops::Range<usize>| code[rows.start * w * 3..rows.end * w * 3].to_vec();
    codec::png::write(path, w, h, &codec::Info::default(), row).unwrap();
}

fn report(out: &Path, stem: &str) -> Value {
    let path = out.join(format!("reports/{stem}.report.json"));
    serde_json::from_slice(&std::fs::read(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))).unwrap()
}

struct Box {
    top: tempfile::TempDir,
}

impl Box {
    fn new() -> Self {
        let top = tempfile::tempdir().unwrap();
        shoot(&top.path().join("card"), "F1.png", &print(Subject::Lake, 7), 1, 8.0);
        std::fs::write(top.path().join("letter.txt"), "Dear all, the prints are in the blue box.\n").unwrap();
        Self { top }
    }
    fn path(&self, name: &str) -> PathBuf {
        self.top.path().join(name)
    }
    /// Finishes the card with these words more; twice, since what is finished already must be told again.
    fn finish(&self, words: &[&dyn AsRef<OsStr>]) -> String {
        let (card, out) = (self.path("card"), self.path("out"));
        let mut all: Vec<&dyn AsRef<OsStr>> = vec![&"finish", &card, &"--out", &out];
        all.extend_from_slice(words);
        let first = fallside(&all);
        assert_eq!(first.status.code(), Some(1), "{}", said(&first));
        let again = fallside(&all);
        assert_eq!(again.status.code(), Some(1), "{}", said(&again));
        assert!(said(&again).contains("already finished"), "{}", said(&again));
        said(&first)
    }
}

#[test]
fn values_that_are_none_are_told() {
    let b = Box::new();
    let said = b.finish(&[&"--chart-values", &b.path("letter.txt")]);
    assert!(said.contains("letter.txt") && said.contains("not chart values"), "{said}");
    assert!(report(&b.path("out"), "F1")["recipe"]["inputs"].get("chart_values").is_none());
}

#[test]
fn a_chart_that_shows_none_and_values_without_a_chart_are_told() {
    let b = Box::new();
    let values = b.path("chart.txt");
    std::fs::write(&values, scene::chart::cgats()).unwrap();
    let words = b.finish(&[&"--chart-values", &values]);
    assert!(words.contains("chart.txt") && words.contains("no frame shows a colour chart"), "{words}");
    // The bare bed shows no chart, whatever anyone says.
    shoot(b.top.path(), "bed.png", &Scene::blank(Rig::default(), 5), 0, 8.0);
    let words = b.finish(&[&"--chart-values", &values, &"--chart", &b.path("bed.png")]);
    assert!(words.contains("bed.png: given as the chart, but"), "{words}");
    // A chart that is no picture.
    let words = b.finish(&[&"--chart-values", &values, &"--chart", &b.path("letter.txt")]);
    assert!(words.contains("letter.txt") && words.contains("not used as the chart"), "{words}");
}

#[test]
fn a_bare_bed_of_another_size_is_told_unusable_and_in_no_recipe() {
    let b = Box::new();
    let bed = b.path("small.png");
    small_blank(&bed);
    let words = b.finish(&[&"--blank", &bed]);
    assert!(words.contains("small.png") && words.contains("600 × 400"), "{words}");
    let front = report(&b.path("out"), "F1");
    assert!(front["recipe"]["inputs"].get("blanks").is_none(), "{}", front["recipe"]);
    assert_eq!(front["light"]["evened_by"], "fitted");
    // Among the frames, found by itself: its verdict says it.
    small_blank(&b.path("card/F0.png"));
    let out = b.path("out2");
    fallside(&[&"finish", &b.path("card"), &"--out", &out]);
    let bed = report(&out, "F0");
    assert_eq!((&bed["frame"]["role"], &bed["verdict"]), (&"blank".into(), &"unusable".into()), "{bed}");
    assert!(bed["service"].as_str().unwrap().contains("1200 × 800"), "{bed}");
    assert!(report(&out, "F1")["recipe"]["inputs"].get("blanks").is_none());
}

#[test]
fn a_flash_off_frame_that_is_no_picture_is_told() {
    let b = Box::new();
    let words = b.finish(&[&"--flash-off", &b.path("letter.txt")]);
    assert!(words.contains("letter.txt") && words.contains("flash off"), "{words}");
    assert!(report(&b.path("out"), "F1")["recipe"]["inputs"].get("ambient").is_none());
}

#[test]
fn a_damaged_result_is_named_by_whoever_hands_it_on() {
    let top = tempfile::tempdir().unwrap();
    let (card, out) = (top.path().join("card"), top.path().join("out"));
    shoot(&card, "F1.png", &print(Subject::Lake, 7), 1, 8.0);
    shoot(&card, "F2.png", &print(Subject::Beach, 8), 2, 8.0);
    let o = fallside(&[&"finish", &card, &"--out", &out]);
    assert_eq!(o.status.code(), Some(0), "{}", said(&o));
    // Every file that a report names has its hash there: BLAKE3 by the published library.
    let front = report(&out, "F1");
    let files = front["files"].as_array().unwrap();
    assert_eq!(files.len(), 5, "master, mount, share and two previews: {files:?}");
    for file in files {
        let bytes = std::fs::read(out.join("reports").join(file["path"].as_str().unwrap())).unwrap();
        assert_eq!(file["blake3"], blake3::hash(&bytes).to_hex().as_str(), "{file}");
    }
    // A bit of a picture turns over, as on a failing disk.
    let mount = out.join("mounts/F1.mount.tif");
    let mut bytes = std::fs::read(&mount).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    std::fs::write(&mount, bytes).unwrap();

    let o = fallside(&[&"pack", &out, &"--out", &top.path().join("bag")]);
    assert_eq!(o.status.code(), Some(1), "{}", said(&o));
    assert!(said(&o).contains("F1.mount.tif") && said(&o).contains("damaged"), "{}", said(&o));
    assert!(!top.path().join("bag/data/mounts/F1.mount.tif").exists());
    assert!(top.path().join("bag/data/mounts/F2.mount.tif").exists());
    let o = fallside(&[&"gallery", &"--in", &out, &"--all", &"--title", &"T", &"--out", &top.path().join("site")]);
    assert_eq!(o.status.code(), Some(1), "{}", said(&o));
    assert!(said(&o).contains("F1.mount.tif") && !top.path().join("site/iiif/F1").exists(), "{}", said(&o));
    let o = fallside(&[&"share", &"--in", &out, &"--all", &"--out", &top.path().join("shares")]);
    assert_eq!(o.status.code(), Some(1), "{}", said(&o));
    assert!(said(&o).contains("F1.mount.tif"), "{}", said(&o));
    let o = fallside(&[&"book", &"--in", &out, &"--all", &"--out", &top.path().join("book.pdf")]);
    assert_eq!(o.status.code(), Some(1), "{}", said(&o));
    assert!(said(&o).contains("F1.mount.tif") && said(&o).contains("damaged"), "{}", said(&o));
}
