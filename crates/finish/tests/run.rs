//! Whole runs over a stand-in for one frame's work: what is gathered, redone, left, refused, and with which exit.

use base::Exit;
use base::Failure;
use finish::Role;
use finish::finding::{Aim, Code, Verdict};
use finish::job::{Finished, FrameJob, Judged, Look, Output, Work};
use finish::judge::judge;
use finish::measured::{Measured, Side};
use finish::report::{Canvas, FrameFacts, Previews, PrintFacts, Report};
use finish::{Answer, Event, Outcome, Request, finish};
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Mutex;

/// Work that reads a frame's text as its story: `blank`, `back`, `chart`, `dark`, `broken`, `fault`, `cropped`, or a print.
#[derive(Default)]
struct Stage {
    finished: Mutex<Vec<String>>,
    looked: Mutex<Vec<String>>,
    jobs: Mutex<BTreeMap<String, FrameJob>>,
    /// Bytes of each result file.
    bulk: usize,
}

fn story(path: &Path) -> Result<String, Failure> {
    std::fs::read_to_string(path).map_err(|e| Failure::reading(&e))
}

fn name(path: &Path) -> String {
    path.file_name().unwrap().to_string_lossy().into_owned()
}

impl Work for Stage {
    fn look(&self, path: &Path) -> Result<Look, Failure> {
        self.looked.lock().unwrap().push(name(path));
        let text = story(path)?;
        let is = |word: &str| f64::from(u8::from(text.contains(word)));
        if text.contains("broken") {
            return Err(
                Failure::new("The file ends before its picture does.").with_remedy("Copy it from the card again.")
            );
        }
        Ok(Look {
            width: 60,
            height: 40,
            mean_level: if text.contains("dark") { 0.001 } else { 0.5 },
            chart_score: is("chart"),
            print_score: 1.0 - is("blank"),
            window_score: 1.0 - is("back"),
            ..Look::default()
        })
    }

    fn finish(&self, job: &FrameJob, _judged: &Judged) -> Result<Finished, Failure> {
        self.finished.lock().unwrap().push(name(&job.path));
        self.jobs.lock().unwrap().insert(name(&job.path), job.clone());
        let text = story(&job.path)?;
        let write = |o: &Output| {
            std::fs::write(&o.part, vec![b'x'; self.bulk.max(1)])
                .map_err(|e| Failure::writing(&o.place, &e))
                .map(|()| o.name.clone())
        };
        let frame = FrameFacts {
            path: job.path_in_report.clone(),
            blake3: job.blake3.clone(),
            width_px: 60,
            height_px: 40,
            role: job.role,
            role_reason: job.role_reason.clone(),
            encoding: "srgb".into(),
            bits: Some(8),
            exif: job.look.exif.clone(),
        };
        let mut report = Report::of(frame, job.recipe.clone());
        let before = write(&job.outputs.before)?;
        let mut previews = Previews { before, after: None };
        if job.role.holds_print() {
            let square = [[10.0, 5.0], [40.0, 5.0], [40.0, 35.0], [10.0, 35.0]];
            previews.after = Some(write(&job.outputs.after)?);
            report.canvas = Some(Canvas {
                master: write(&job.outputs.master)?,
                mount: write(&job.outputs.mount)?,
                srgb_png: job.outputs.srgb_png.as_ref().map(write).transpose()?,
                share: Some(write(&job.outputs.share)?),
                width_px: 50,
                height_px: 50,
                px_per_mm: 0.4,
                print_px: square,
                encoding: Some("eciRGBv2".into()),
            });
            report.print = Some(PrintFacts {
                format: "square-integral".into(),
                confidence: 0.9,
                outline_px: square,
                window_px: Some(square),
                upright_corner: 0,
                upright_known: true,
                size_mm: [88.0, 107.0],
                curl_mm: None,
                curl_sigma_mm: None,
                outline_sigma_mm: Some(0.02),
                prints_in_frame: Some(1),
                number_in_frame: None,
            });
            // A fault of ours after some results are already half written.
            assert!(!text.contains("fault"), "an index ran out");
            let cropped = if text.contains("cropped") { vec![Side::Left] } else { vec![] };
            report = report.judged(judge(&Measured { prints: 1, cropped, ..Measured::default() }, job.settings.aim));
        }
        report.previews = Some(previews);
        Ok(Finished { report })
    }
}

struct Desk {
    top: tempfile::TempDir,
    stage: Stage,
    said: Mutex<Vec<String>>,
}

impl Desk {
    fn with(frames: &[(&str, &str)]) -> Self {
        let desk = Self { top: tempfile::tempdir().unwrap(), stage: Stage::default(), said: Mutex::default() };
        std::fs::create_dir(desk.card()).unwrap();
        frames.iter().for_each(|(name, text)| desk.put(name, text));
        desk
    }
    fn card(&self) -> PathBuf {
        self.top.path().join("card")
    }
    fn out(&self) -> PathBuf {
        self.top.path().join("out")
    }
    fn put(&self, name: &str, text: &str) {
        std::fs::write(self.card().join(name), format!("{name} {text}")).unwrap();
    }
    fn request(&self) -> Request {
        Request { inputs: vec![self.card()], out: self.out(), ..Request::default() }
    }
    fn run(&self, request: &Request) -> Answer {
        self.stage.finished.lock().unwrap().clear();
        self.stage.looked.lock().unwrap().clear();
        finish(request, &self.stage, &|event| {
            if let Event::Says(line) | Event::Problem(line) = event {
                self.said.lock().unwrap().push(line);
            }
        })
    }
    fn finished(&self) -> Vec<String> {
        let mut names = self.stage.finished.lock().unwrap().clone();
        names.sort();
        names
    }
    fn job(&self, name: &str) -> FrameJob {
        self.stage.jobs.lock().unwrap()[name].clone()
    }
    /// Every file under the result folder, by its path there.
    fn results(&self) -> BTreeMap<String, Vec<u8>> {
        fn walk(top: &Path, folder: &Path, all: &mut BTreeMap<String, Vec<u8>>) {
            for entry in std::fs::read_dir(folder).unwrap().map(Result::unwrap) {
                let path = entry.path();
                if path.is_dir() {
                    walk(top, &path, all);
                } else {
                    all.insert(
                        path.strip_prefix(top).unwrap().to_string_lossy().into_owned(),
                        std::fs::read(&path).unwrap(),
                    );
                }
            }
        }
        let mut all = BTreeMap::new();
        walk(&self.out(), &self.out(), &mut all);
        all
    }
}

#[test]
fn a_box_is_finished_and_a_second_run_has_nothing_to_do() {
    let desk = Desk::with(&[("F1.jpg", "blank"), ("F2.jpg", "a"), ("F10.jpg", "b cropped"), ("F11.jpg", "back")]);
    let answer = desk.run(&desk.request());
    assert_eq!(answer.exit, Exit::AllDone);
    let names: Vec<_> = answer.entries.iter().map(|e| e.stem.as_str()).collect();
    assert_eq!(names, ["F1", "F2", "F10", "F11"]);
    assert_eq!(answer.verdicts(), [2, 0, 1]);
    let first = desk.results();
    for file in
        ["index.html", "reports/F2.report.json", "masters/F2.master.tif", "mounts/F2.mount.tif", "shares/F2.jpg"]
    {
        assert!(first.contains_key(file), "{file} is missing among {:?}", first.keys());
    }
    assert!(!first.contains_key("masters/F1.master.tif") && !first.keys().any(|k| k.ends_with(".part")));
    assert!(answer.entries[0].outcome.report().unwrap().print.is_none());

    let again = desk.run(&desk.request());
    assert_eq!((again.exit, desk.finished()), (Exit::AllDone, vec![]));
    assert_eq!(desk.stage.looked.lock().unwrap().len(), 0, "looks are remembered");
    assert!(again.entries.iter().all(|e| matches!(e.outcome, Outcome::Already(_))));
    assert_eq!(first, desk.results(), "the same inputs and recipe give the same bytes");
}

/// The rules of JSON Schema (draft 2020-12) that the generated schema uses: `$ref`, `anyOf`, `oneOf`, `const`, `type`,
/// `required`, `properties`, `items`, `minItems`, `maxItems`. Gives the places that break one.
fn breaks(schema: &Value, root: &Value, value: &Value, at: &str) -> Vec<String> {
    let fits = |s: &Value| breaks(s, root, value, at).is_empty();
    let mut found = vec![];
    let mut wrong = |rule: &str| found.push(format!("{at}: {rule}"));
    if let Some(path) = schema["$ref"].as_str() {
        return breaks(
            root.pointer(path.trim_start_matches('#')).expect("a reference leads somewhere"),
            root,
            value,
            at,
        );
    }
    if schema["anyOf"].as_array().is_some_and(|all| !all.iter().any(fits)) {
        wrong("anyOf");
    }
    if schema["oneOf"].as_array().is_some_and(|all| all.iter().filter(|s| fits(s)).count() != 1) {
        wrong("oneOf");
    }
    if schema.get("const").is_some_and(|c| c != value) {
        wrong("const");
    }
    let is = |kind: &Value| match kind.as_str() {
        Some("object") => value.is_object(),
        Some("array") => value.is_array(),
        Some("string") => value.is_string(),
        Some("number") => value.is_number(),
        Some("integer") => value.is_i64() || value.is_u64(),
        Some("boolean") => value.is_boolean(),
        Some("null") => value.is_null(),
        other => panic!("the check does not know the type {other:?}"),
    };
    let kinds = schema["type"].as_array().cloned().or_else(|| schema["type"].as_str().map(|t| vec![t.into()]));
    if kinds.is_some_and(|kinds| !kinds.iter().any(is)) {
        wrong("type");
    }
    let missing = |name: &&Value| value.get(name.as_str().unwrap()).is_none();
    if value.is_object() && schema["required"].as_array().is_some_and(|r| r.iter().any(|n| missing(&n))) {
        wrong("required");
    }
    let length = value.as_array().map_or(0, Vec::len) as u64;
    if schema["minItems"].as_u64().is_some_and(|n| length < n)
        || schema["maxItems"].as_u64().is_some_and(|n| length > n)
    {
        wrong("items");
    }
    let inner =
        schema["properties"].as_object().into_iter().flatten().filter_map(|(k, s)| Some((k.clone(), s, value.get(k)?)));
    let items = value.as_array().into_iter().flatten().enumerate().filter(|_| schema.get("items").is_some());
    let items = items.map(|(i, v)| (i.to_string(), &schema["items"], v));
    found.extend(inner.chain(items).flat_map(|(k, s, v)| breaks(s, root, v, &format!("{at}/{k}"))));
    found
}

#[test]
fn reports_keep_to_their_schema() {
    let schema: Value = serde_json::from_str(&finish::report::json_schema()).unwrap();
    let desk = Desk::with(&[("F1.jpg", "blank"), ("F2.jpg", "a"), ("F3.jpg", "b cropped"), ("F4.jpg", "back")]);
    desk.run(&desk.request());
    let mut judged = 0;
    for (name, bytes) in desk.results().iter().filter(|(n, _)| n.ends_with(".report.json")) {
        let report: Value = serde_json::from_slice(bytes).unwrap();
        assert_eq!(breaks(&schema, &schema, &report, name), Vec::<String>::new());
        let broken = |key: &str, value: Value| {
            let mut report = report.clone();
            report[key] = value;
            !breaks(&schema, &schema, &report, name).is_empty()
        };
        assert!(
            broken("verdict", "perhaps".into()) && broken("findings", "none".into()) && broken("frame", Value::Null)
        );
        judged += 1;
    }
    assert_eq!(judged, 4);
}

#[test]
fn only_what_changed_is_done_again() {
    let desk = Desk::with(&[("F1.jpg", "blank"), ("F2.jpg", "a"), ("F3.jpg", "b")]);
    desk.run(&desk.request());
    desk.put("F3.jpg", "b, taken again");
    desk.run(&desk.request());
    assert_eq!(desk.finished(), ["F3.jpg"]);
    std::fs::remove_file(desk.out().join("mounts/F2.mount.tif")).unwrap();
    desk.run(&desk.request());
    assert_eq!(desk.finished(), ["F2.jpg"], "a missing result is made again");
    let mut archive = desk.request();
    archive.settings.aim = Aim::Archive;
    desk.run(&archive);
    assert_eq!(desk.finished(), ["F1.jpg", "F2.jpg", "F3.jpg"], "another recipe is other work");
    desk.put("F1.jpg", "blank, another");
    desk.run(&archive);
    assert_eq!(desk.finished(), ["F1.jpg", "F2.jpg", "F3.jpg"], "prints depend on their blank");
}

#[test]
fn an_interrupted_run_goes_on_and_sweeps_up() {
    let desk = Desk::with(&[("F1.jpg", "a"), ("F2.jpg", "b")]);
    desk.run(&desk.request());
    // As a kill between two renames leaves it: no report, a part.
    std::fs::remove_file(desk.out().join("reports/F2.report.json")).unwrap();
    std::fs::write(desk.out().join("masters/.F2.master.tif.part"), b"half").unwrap();
    let answer = desk.run(&desk.request());
    assert_eq!((answer.exit, desk.finished()), (Exit::AllDone, vec!["F2.jpg".to_owned()]));
    assert!(!desk.results().keys().any(|k| k.ends_with(".part")));
}

#[test]
fn one_bad_frame_is_one_line_and_the_run_goes_on() {
    let desk = Desk::with(&[("F1.jpg", "a"), ("F2.jpg", "broken"), ("F3.jpg", "fault"), ("F4.jpg", "b")]);
    let hook = std::panic::take_hook();
    std::panic::set_hook(Box::new(|_| {}));
    let answer = desk.run(&desk.request());
    std::panic::set_hook(hook);
    assert_eq!(answer.exit, Exit::WithProblems);
    let lines: Vec<_> = answer
        .entries
        .iter()
        .filter_map(|e| match &e.outcome {
            Outcome::Failed(line) => Some(line.as_str()),
            _ => None,
        })
        .collect();
    assert_eq!(lines[0], "The file ends before its picture does. Copy it from the card again.");
    assert!(lines[1].contains("internal error: an index ran out"), "{}", lines[1]);
    let results = desk.results();
    assert!(!results.keys().any(|k| k.contains("F3") || k.ends_with(".part")), "{:?}", results.keys());
    let page = String::from_utf8(results["index.html"].clone()).unwrap();
    assert!(page.contains("Copy it from the card again."));
}

#[test]
fn nothing_to_do_and_nothing_done_exit_with_two() {
    let desk = Desk::with(&[]);
    let answer = desk.run(&desk.request());
    assert_eq!(answer.exit, Exit::NothingDone);
    assert!(answer.problems[0].starts_with("There are no pictures in "), "{:?}", answer.problems);
    desk.put("F1.jpg", "broken");
    assert_eq!(desk.run(&desk.request()).exit, Exit::NothingDone);
    let missing = Request { inputs: vec!["/no/such/box".into()], out: desk.out(), ..Request::default() };
    assert_eq!(desk.run(&missing).exit, Exit::NothingDone);
    desk.put("F2.jpg", "a");
    let both = Request { inputs: vec!["/no/such/box".into(), desk.card()], out: desk.out(), ..Request::default() };
    assert_eq!(desk.run(&both).exit, Exit::WithProblems);
}

#[test]
fn results_never_go_where_originals_are() {
    let desk = Desk::with(&[("F1.jpg", "a")]);
    let before = std::fs::read_dir(desk.card()).unwrap().count();
    let inputs = [vec![desk.card()], vec![desk.card().join("F1.jpg")], vec![desk.card().join("../card/.")]];
    for inputs in inputs {
        let answer = desk.run(&Request { inputs, out: desk.card(), ..Request::default() });
        assert_eq!(answer.exit, Exit::NothingDone);
        assert!(answer.problems[0].contains("holds originals"), "{:?}", answer.problems);
    }
    assert_eq!(std::fs::read_dir(desk.card()).unwrap().count(), before);
    // A folder of results inside the folder of originals is not taken for originals.
    let inside = Request { inputs: vec![desk.card()], out: desk.card().join("DCIM"), ..Request::default() };
    assert_eq!(desk.run(&inside).exit, Exit::AllDone);
    assert_eq!(desk.run(&inside).entries.len(), 1);
}

#[test]
fn a_file_where_the_result_folder_should_be_is_said_plainly() {
    let desk = Desk::with(&[("F1.jpg", "a")]);
    std::fs::write(desk.out(), b"").unwrap();
    let answer = desk.run(&desk.request());
    assert_eq!(answer.exit, Exit::NothingDone);
    assert!(
        answer.problems[0].contains("could not be written") && answer.problems[0].lines().count() == 1,
        "{:?}",
        answer.problems
    );
}

#[test]
fn the_raw_file_is_used_its_twin_named_and_used_where_the_raw_file_fails() {
    let desk = Desk::with(&[("F1.dng", "a"), ("F1.jpg", "a"), ("F2.dng", "broken"), ("F2.jpg", "b")]);
    let answer = desk.run(&desk.request());
    assert_eq!((answer.exit, desk.finished()), (Exit::AllDone, vec!["F1.dng".to_owned(), "F2.jpg".to_owned()]));
    let notes = |i: usize| answer.entries[i].outcome.report().unwrap().notes.join(" ");
    assert!(notes(0).contains("F1.jpg is not used"), "{}", notes(0));
    assert!(notes(1).contains("F2.dng could not be used: The file ends before its picture does."), "{}", notes(1));
}

#[test]
fn every_print_gets_the_blanks_around_it_and_the_chart_only_with_values() {
    let frames = [
        ("F0.jpg", "dark"),
        ("F1.jpg", "blank 1"),
        ("F2.jpg", "chart"),
        ("F3.jpg", "a"),
        ("F4.jpg", "b"),
        ("F5.jpg", "blank 2"),
        ("F6.jpg", "c"),
    ];
    let desk = Desk::with(&frames);
    let answer = desk.run(&desk.request());
    let blanks = |frame: &str| desk.job(frame).blanks.iter().map(|b| name(&b.path)).collect::<Vec<_>>();
    assert_eq!(blanks("F4.jpg"), ["F5.jpg", "F1.jpg"], "the nearer first");
    assert_eq!(blanks("F3.jpg"), ["F1.jpg", "F5.jpg"]);
    assert_eq!(blanks("F6.jpg"), ["F5.jpg"]);
    assert_eq!(desk.job("F3.jpg").ambient.map(|a| name(&a.path)).as_deref(), Some("F0.jpg"));
    assert_eq!(desk.job("F3.jpg").chart, None);
    assert!(desk.said.lock().unwrap().iter().any(|l| l.contains("--chart-values")));
    // A bare bed between prints may be a print forgotten; the ones before and after all prints are meant.
    let report = |i: usize| answer.entries[i].outcome.report().unwrap().clone();
    assert_eq!((report(1).frame.role, report(1).verdict), (Role::Blank, Verdict::Used));
    assert_eq!((report(5).frame.role, report(5).verdict), (Role::Blank, Verdict::Look));
    assert_eq!(report(5).findings[0].code, Code::NoPrint);

    let values = desk.top.path().join("chart.txt");
    std::fs::write(&values, b"values").unwrap();
    let told = Request { chart_values: Some(values), blanks: vec![desk.card().join("F1.jpg")], ..desk.request() };
    desk.run(&told);
    assert_eq!(desk.job("F6.jpg").chart.map(|c| name(&c.path)).as_deref(), Some("F2.jpg"));
    assert_eq!(desk.job("F6.jpg").blanks.len(), 1);
    assert_eq!(name(&desk.job("F6.jpg").blanks[0].path), "F1.jpg", "a blank that was named is the blank");
}

#[test]
fn originals_stay_as_they_are_even_where_they_could_not_be_changed() {
    let desk = Desk::with(&[("F1.jpg", "a"), ("F2.jpg", "blank")]);
    let state = || {
        let mut all: Vec<_> = std::fs::read_dir(desk.card())
            .unwrap()
            .map(|e| e.unwrap().path())
            .map(|p| (p.clone(), std::fs::read(&p).unwrap(), std::fs::metadata(&p).unwrap().modified().unwrap()))
            .collect();
        all.sort();
        all
    };
    let before = state();
    let lock = |readonly: bool| {
        for path in before.iter().map(|b| b.0.clone()).chain([desk.card()]) {
            let mut permissions = std::fs::metadata(&path).unwrap().permissions();
            permissions.set_readonly(readonly);
            std::fs::set_permissions(&path, permissions).unwrap();
        }
    };
    lock(true);
    let exit = desk.run(&desk.request()).exit;
    lock(false);
    assert_eq!(exit, Exit::AllDone);
    assert_eq!(before, state());
}

#[test]
fn frames_of_one_name_in_two_folders_keep_apart() {
    let desk = Desk::with(&[]);
    for folder in ["001", "002"] {
        std::fs::create_dir(desk.card().join(folder)).unwrap();
        desk.put(&format!("{folder}/photo.jpg"), "a");
    }
    let inputs = vec![desk.card().join("001"), desk.card().join("002")];
    let answer = desk.run(&Request { inputs, out: desk.out(), ..Request::default() });
    assert_eq!(answer.entries.iter().map(|e| e.stem.as_str()).collect::<Vec<_>>(), ["001-photo", "002-photo"]);
    let path = &answer.entries[0].outcome.report().unwrap().frame.path;
    assert_eq!(path, "../../card/001/photo.jpg");
}

#[test]
fn a_full_disk_stops_the_run_with_one_line_and_leaves_nothing_half_written() {
    let mut desk = Desk::with(&[("F1.jpg", "a"), ("F2.jpg", "b"), ("F3.jpg", "c"), ("F4.jpg", "d")]);
    std::fs::create_dir(desk.out()).unwrap();
    let mount =
        std::process::Command::new("mount").args(["-t", "tmpfs", "-o", "size=256k", "none"]).arg(desk.out()).output();
    if !mount.is_ok_and(|m| m.status.success()) {
        eprintln!("left out: a small disk can be made only by root");
        return;
    }
    desk.stage.bulk = 100_000;
    let answer = desk.run(&desk.request());
    let left = desk.results();
    std::process::Command::new("umount").arg(desk.out()).status().unwrap();
    assert_eq!(answer.exit, Exit::NothingDone);
    let failed = answer
        .entries
        .iter()
        .filter(|e| matches!(&e.outcome, Outcome::Failed(l) if l.contains("The disk is full")))
        .count();
    assert!((1..=2).contains(&failed), "only frames in work meet the full disk: {:?}", answer.entries);
    assert!(left.keys().all(|k| !k.ends_with(".part") && !k.starts_with("masters")), "{:?}", left.keys());
}
