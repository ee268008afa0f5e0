//! The whole job against frames with known truth: finished by the built command, scored by a program that is not ours.
//!
//! The frames were made by a general-purpose physically based renderer and lie beside the repository in `../shared/truth`
//! (or where `FALLSIDE_TRUTH` says); none is copied here. Their own `score.py` measures reports and mounts, in the Python of
//! `scripts/judges`. The limits are those the issue "frames in, finished prints out" set before the first frame was seen.

use serde_json::Value;
use std::fmt::Write as _;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;

const FALLSIDE: &str = env!("CARGO_BIN_EXE_fallside");

/// A figure that `score.py` gives as a count, or as the median and the worst of all frames.
#[derive(Clone, Copy)]
enum Limit {
    /// Counted on no frame: the count, and the figure of a frame with the value that is counted.
    Never(&'static str, &'static str, u64),
    /// Over all frames, at most.
    Median(&'static str, f64),
    /// On every frame, at most.
    Worst(&'static str, f64),
    /// On every frame, at least.
    Least(&'static str, f64),
    /// A share of the frames, at least.
    Share(&'static str, f64),
}

use Limit::{Least, Median, Never, Share, Worst};

/// Counts of frames that must be 0 in every set.
const FOUND: [Limit; 3] =
    [Never("lost", "lost", 1), Never("format_wrong", "format_right", 0), Never("turn_wrong", "turn", 0)];
/// Each frame with the blank of its rig. Lengths in mm, scale as a share, azimuth in degrees, fade and white as shares.
const WITH_BLANK: &[Limit] = &[
    Median("outline", 0.06),
    Worst("outline", 0.35),
    Median("window", 0.06),
    Worst("scale", 0.003),
    Worst("shadow", 4.0),
    Least("white", 0.9999),
    Median("fade", 0.03),
    Worst("fade", 0.08),
    Median("dE", 1.7),
    Worst("dE", 3.2),
];
const WITHOUT_BLANK: &[Limit] =
    &[Median("outline", 0.06), Worst("outline", 0.35), Least("white", 0.9995), Median("dE", 2.5)];
/// Small, graded, sharpened frames of a stranger's disk.
const WILD: &[Limit] =
    &[Median("outline", 0.10), Worst("outline", 0.8), Share("within_2_sigma", 0.85), Share("within_3_sigma", 0.95)];
/// Beds that clip, domes, lifted corners.
const TAILS: &[Limit] = &[
    Median("outline", 0.06),
    Worst("outline", 0.35),
    Worst("shadow", 10.0),
    Least("white", 0.9999),
    Worst("fade", 0.08),
];
const WITH_CHART: &[Limit] = &[Median("dE", 1.7), Worst("dE", 3.2)];
/// A whole evening: verdicts too; its prints that lie wholly in the frame are held to `WHOLE_WORST_MM` as well.
const EVENING: &[Limit] = &[Never("verdict_wrong", "verdict_ok", 0), Median("outline", 0.15)];
const WHOLE_WORST_MM: f64 = 0.5;

#[test]
fn frames_with_known_truth_are_finished_as_well_as_the_issue_asks() {
    let Some(truth) = truth() else { return };
    let begun = Instant::now();
    let mut misses = vec![];
    for set in SETS {
        misses.extend(set.misses(&truth));
    }
    misses.extend(evening(&truth.join("evening")));
    let (n, s) = (misses.len(), begun.elapsed().as_secs());
    say(&format!("{n} {} in {s} s", if n == 1 { "miss" } else { "misses" }));
    assert!(misses.is_empty(), "\n{}", misses.join("\n"));
}

/// How a set of single frames is finished.
struct Set {
    name: &'static str,
    /// The folder among the frames with known truth; none for the frames at its top.
    of: &'static str,
    blank: bool,
    chart: bool,
    /// Each frame (1), or every third (3) to keep a test run at a few minutes.
    every: usize,
    limits: &'static [Limit],
}

const SETS: [Set; 5] = [
    Set { name: "as people take them", of: "wild", blank: false, chart: false, every: 1, limits: WILD },
    Set { name: "kinds that failed", of: "tails", blank: true, chart: false, every: 1, limits: TAILS },
    Set { name: "with a blank", of: "", blank: true, chart: false, every: 1, limits: WITH_BLANK },
    Set { name: "without a blank", of: "", blank: false, chart: false, every: 3, limits: WITHOUT_BLANK },
    Set { name: "with blank and chart", of: "", blank: true, chart: true, every: 3, limits: WITH_CHART },
];

impl Set {
    fn misses(&self, truth: &Path) -> Vec<String> {
        let out = scratch();
        let base = truth.join(self.of);
        let frames: Vec<PathBuf> = folders(&base.join("frames")).into_iter().step_by(self.every).collect();
        let mut misses: Vec<String> = frames.iter().filter_map(|f| self.finish(&base, f, out.path())).collect();
        let ids: Vec<String> = frames.iter().map(|f| name(f)).collect();
        let score = score(truth, &base, out.path(), &ids);
        let each = if self.every == 1 { "each frame" } else { "every third frame, to save time" };
        say(&format!("{}, {each} ({}): {}", self.name, ids.len(), summary(&score["total"])));
        if score["total"]["frames"] != ids.len() {
            misses.push(format!("score.py counts {} frames of {}", score["total"]["frames"], ids.len()));
        }
        misses.extend(missed(&score, FOUND.iter().chain(self.limits)));
        misses.into_iter().map(|m| format!("{}: {m}", self.name)).collect()
    }

    /// Finishes one frame; what the command said where it did not go well.
    fn finish(&self, truth: &Path, frame: &Path, out: &Path) -> Option<String> {
        let facts = json(&frame.join("truth.json"));
        let beside = |key: &str| frame.join(facts["files"][key].as_str().unwrap_or_else(|| panic!("{key}: {facts}")));
        let mut command = Command::new(FALLSIDE);
        command.arg("finish").arg(beside("jpeg")).arg("--srgb-png").arg("--out").arg(out.join(name(frame)));
        if self.blank {
            command.arg("--blank").arg(beside("blank"));
        }
        if self.chart {
            let rig = truth.join("rigs").join(facts["rig"].as_str().unwrap());
            command.arg("--chart").arg(beside("checker")).arg("--chart-values").arg(rig.join("chart.txt"));
        }
        ran(command).err().map(|said| format!("frame {}: {said}", name(frame)))
    }
}

/// The card of a whole evening, with no other word than where to put it.
fn evening(evening: &Path) -> Vec<String> {
    let out = scratch();
    let card = evening.join("card");
    let mut command = Command::new(FALLSIDE);
    command.arg("finish").arg(&card).arg("--out").arg(out.path().join("done"));
    let mut misses: Vec<String> = ran(command).err().into_iter().collect();
    let score = score(evening.parent().unwrap(), evening, out.path(), &[]);
    say(&format!("evening: {}", summary(&score["total"])));
    misses.extend(missed(&score, FOUND[..1].iter().chain(EVENING)));
    misses.extend(whole_prints(evening, &score));
    misses.extend(roles(evening, &out.path().join("done/reports")));
    misses.into_iter().map(|m| format!("evening: {m}")).collect()
}

/// Prints wholly in the frame whose outline is farther off than any may be.
fn whole_prints(evening: &Path, score: &Value) -> Vec<String> {
    let rows = score["rows"].as_array().unwrap().iter();
    let whole = |id: &str| {
        let facts = json(&evening.join("frames").join(id).join("truth.json"));
        let size = [&facts["camera"]["width"], &facts["camera"]["height"]].map(|v| v.as_f64().unwrap());
        let corners = facts["outer_corners_px"].as_array().cloned().unwrap_or_default();
        let inside = |p: &Value| (0..2).all(|i| (0.0..size[i]).contains(&p[i].as_f64().unwrap()));
        corners.len() == 4 && corners.iter().all(inside)
    };
    let off = rows.filter(|r| r["outline"].as_f64().is_some_and(|mm| mm > WHOLE_WORST_MM));
    off.filter(|r| whole(r["id"].as_str().unwrap()))
        .map(|r| format!("print {} is whole and its outline {} mm off, over {WHOLE_WORST_MM}", r["id"], r["outline"]))
        .collect()
}

/// Frames whose role is not the sitting's, or that were not read from the raw file where the card has one.
fn roles(evening: &Path, reports: &Path) -> Vec<String> {
    let order = json(&evening.join("sitting.json"))["capture_order"].as_array().unwrap().clone();
    assert!(order.len() > 5, "the sitting names {} frames", order.len());
    let mut misses = vec![];
    for entry in order {
        let (card, what) = (entry["card"].as_str().unwrap(), entry["what"].as_str().unwrap());
        let stem = Path::new(card).file_stem().unwrap().to_string_lossy().into_owned();
        let want = role(evening, what);
        let path = reports.join(format!("{stem}.report.json"));
        if !path.exists() {
            misses.push(format!("{stem} ({want}) has no report"));
            continue;
        }
        let report = json(&path);
        if report["frame"]["role"] != want.as_str() {
            misses.push(format!("{stem} is taken as {}, not {want}", report["frame"]["role"]));
        }
        let raw = evening.join(card).with_extension("dng").exists();
        let read = report["frame"]["path"].as_str().unwrap_or_default().ends_with(".dng");
        if raw != read {
            misses.push(format!("{stem}: a raw file is there: {raw}; was read: {read}"));
        }
    }
    misses
}

/// The role of a frame in our words: service frames by what they are, the others by their own truth.
fn role(evening: &Path, what: &str) -> String {
    match what {
        "ambient" => "ambient".into(),
        "checker" => "chart".into(),
        w if w.starts_with("blank") => "blank".into(),
        id => match json(&evening.join("frames").join(id).join("truth.json"))["sitting"]["role"].as_str().unwrap() {
            "empty" => "blank".into(),
            other => other.into(),
        },
    }
}

/// The limits that a score misses, in words.
fn missed<'a>(score: &Value, limits: impl Iterator<Item = &'a Limit>) -> Vec<String> {
    let total = &score["total"];
    let figure = |name: &str, which: &str| total[name][which].as_f64();
    // A figure that was not measured is a miss.
    let over = |name: &str, which: &str, most: f64| {
        let v = figure(name, which).unwrap_or(f64::INFINITY);
        let at = frames_past(score, name, |x| x <= most);
        (v > most).then(|| format!("{name}, {which}: {v:.4}, over {most}{at}"))
    };
    let judge = |limit: &Limit| match *limit {
        Never(count, figure, counted) => (total[count] != 0).then(|| {
            let rows = score["rows"].as_array().unwrap().iter().filter(|r| r[figure] == counted);
            let ids: Vec<String> = rows.map(|r| format!("{} ({})", r["id"], r["verdict"])).collect();
            format!("{count}: {} {}", total[count], ids.join(", "))
        }),
        Median(name, most) => over(name, "median", most),
        Worst(name, most) => over(name, "worst", most),
        Share(name, least) => {
            let v = total[name].as_f64().unwrap_or(0.0);
            (v < least).then(|| format!("{name}: {v:.3} of the frames, under {least}"))
        }
        Least(name, least) => {
            let v = figure(name, "worst").unwrap_or(0.0);
            let at = frames_past(score, name, |x| x >= least);
            (v < least).then(|| format!("{name}, worst: {v:.6}, under {least}{at}"))
        }
    };
    limits.filter_map(judge).collect()
}

/// The frames whose own figure is past a limit.
fn frames_past(score: &Value, figure: &str, good: impl Fn(f64) -> bool) -> String {
    let rows = score["rows"].as_array().unwrap().iter();
    let past = rows.filter_map(|r| r[figure].as_f64().filter(|v| !good(*v)).map(|v| (r["id"].as_str(), v)));
    past.fold(String::new(), |mut all, (id, v)| {
        let _ = write!(all, "{}{} {v:.4}", if all.is_empty() { "; past it: " } else { ", " }, id.unwrap_or("?"));
        all
    })
}

/// Medians and worsts on one line.
fn summary(total: &Value) -> String {
    let counts =
        ["lost", "format_wrong", "turn_wrong", "verdict_wrong"].map(|c| format!("{c} {}", total[c])).join(", ");
    let figures = ["outline", "window", "scale", "shadow", "white", "fade", "dE"].into_iter().filter_map(|f| {
        let v = &total[f];
        // White is judged in its fourth digit, so it is told in two more.
        let digits = if f == "white" { 6 } else { 4 };
        Some(format!("{f} {:.digits$} / {:.digits$}", v["median"].as_f64()?, v["worst"].as_f64()?))
    });
    format!("{counts}; median / worst: {}", figures.collect::<Vec<_>>().join(", "))
}

/// Scores results by the frames' own judge, prints its table, and gives what it measured.
fn score(tools: &Path, truth: &Path, results: &Path, ids: &[String]) -> Value {
    let file = results.join("score.json");
    let mut command = Command::new(python());
    command.arg(tools.join("score.py")).arg(truth).arg(results).arg("--json").arg(&file);
    if !ids.is_empty() {
        command.arg("--ids").arg(ids.join(","));
    }
    let output = command.output().unwrap();
    println!("{}", String::from_utf8_lossy(&output.stdout));
    assert!(output.status.success(), "score.py: {}", String::from_utf8_lossy(&output.stderr));
    json(&file)
}

/// Runs the command: an exit code other than 0 and what was said with it is an error.
fn ran(mut command: Command) -> Result<(), String> {
    let output = command.output().unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    if output.status.success() { Ok(()) } else { Err(format!("{}: {}", output.status, said.trim())) }
}

/// Where the frames are; where they are not, says so.
fn truth() -> Option<PathBuf> {
    let beside = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/truth");
    let told = std::env::var_os("FALLSIDE_TRUTH").map(PathBuf::from);
    let place = told.clone().unwrap_or(beside);
    if place.join("score.py").exists() {
        return place.canonicalize().ok();
    }
    assert!(told.is_none(), "FALLSIDE_TRUTH names {}, which holds no score.py", place.display());
    say("left out: there are no frames with known truth beside the repository (../shared/truth)");
    None
}

/// The judges' Python, in the folder that everything is built in.
fn python() -> PathBuf {
    let python = Path::new(FALLSIDE).ancestors().nth(2).unwrap().join("judges/bin/python");
    assert!(python.exists(), "{} is missing: run scripts/judges", python.display());
    python
}

/// A line on the terminal even where the test runner keeps what tests print to itself.
fn say(line: &str) {
    let mut terminal = std::io::stderr();
    writeln!(terminal, "truth: {line}").unwrap();
}

fn scratch() -> tempfile::TempDir {
    tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap()
}

fn json(path: &Path) -> Value {
    serde_json::from_slice(&std::fs::read(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))).unwrap()
}

fn name(path: &Path) -> String {
    path.file_name().unwrap().to_string_lossy().into_owned()
}

fn folders(parent: &Path) -> Vec<PathBuf> {
    let mut all: Vec<PathBuf> = std::fs::read_dir(parent).unwrap().map(|e| e.unwrap().path()).collect();
    all.retain(|p| p.join("truth.json").exists());
    all.sort();
    assert!(!all.is_empty(), "{} holds no frames", parent.display());
    all
}
