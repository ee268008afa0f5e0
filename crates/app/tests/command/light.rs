//! A light of one's choice, as a photographer asks for it: the master stays, the print's pixels stay, the shadow falls to the other side,
//! and every record says how it came about.

use crate::demo_box::results;
use crate::small_project::{fallside, said};
use serde_json::Value;
use std::path::{Path, PathBuf};

/// Frame F0105 of the demonstration box and its blank, and a folder for results.
fn finished(light: &str, out: &Path) -> Value {
    let frames = crate::demo_box::demo().join("frames");
    let of = |stem: &str| -> PathBuf {
        let files = std::fs::read_dir(&frames).unwrap().map(|e| e.unwrap().path());
        files.into_iter().find(|p| p.file_stem().is_some_and(|s| s == stem)).unwrap()
    };
    results();
    let (frame, blank) = (of("F0105"), of("F0102"));
    let o = fallside(&[&"finish", &frame, &"--blank", &blank, &"--out", &out, &"--light", &light]);
    assert!(o.status.code().is_some_and(|c| c < 2), "{}", said(&o));
    report(out)
}

fn report(out: &Path) -> Value {
    serde_json::from_slice(&std::fs::read(out.join("reports").join("F0105.report.json")).unwrap()).unwrap()
}

/// The green band of a 16-bit file of results, and its columns.
fn green(out: &Path, report: &Value, which: &str) -> (usize, Vec<u16>) {
    let path = out.join("reports").join(report["canvas"][which].as_str().unwrap());
    let frame = codec::read(&path, &codec::Limits::default()).unwrap().frame;
    let pixels::Samples::U16(v) = frame.samples else { panic!("sixteen bits") };
    (frame.width, v.chunks_exact(3).map(|p| p[1]).collect())
}

/// Mean of the paper within three millimetres beyond the left and beyond the right edge, 0 to 1.
fn beside(report: &Value, (width, green): &(usize, Vec<u16>)) -> [f64; 2] {
    let (px, mm) = (&report["canvas"]["print_px"], report["canvas"]["px_per_mm"].as_f64().unwrap());
    let at = |k: usize, c: usize| px[k][c].as_f64().unwrap();
    let (left, right, top, foot) = (at(0, 0), at(1, 0), at(0, 1), at(2, 1));
    let mean = |from: f64, to: f64| {
        let mut all = vec![];
        for y in (top + 10.0 * mm) as usize..(foot - 10.0 * mm) as usize {
            all.extend((from as usize..to as usize).map(|x| f64::from(green[y * width + x]) / 65535.0));
        }
        all.iter().sum::<f64>() / all.len() as f64
    };
    [mean(left - 3.0 * mm, left - 0.4 * mm), mean(right + 0.4 * mm, right + 3.0 * mm)]
}

#[test]
fn the_shadow_falls_where_the_chosen_light_sends_it() {
    let top = tempfile::tempdir().unwrap();
    let (shot, left, right) = (top.path().join("shot"), top.path().join("left"), top.path().join("right"));
    let as_shot = finished("as-shot", &shot);
    assert_eq!(as_shot["shadow"]["how"], "as shot");
    assert!(as_shot["recipe"]["settings"].get("light").is_none(), "nothing asked for changes no recipe");
    // A light at the left darkens the paper at the right, and the other way round.
    let by_left = finished("left", &left);
    let by_right = finished("0,40,6", &right);
    let [l, r] = beside(&by_left, &green(&left, &by_left, "mount"));
    assert!(l > 0.999 && r < 0.98, "{l} {r}");
    let [l, r] = beside(&by_right, &green(&right, &by_right, "mount"));
    assert!(l < 0.98 && r > 0.999, "{l} {r}");
    // The record names the light and its error, in report and recipe.
    assert_eq!(by_left["shadow"]["how"], "cast anew");
    assert_eq!(by_left["shadow"]["name"], "left");
    assert!(by_left["shadow"]["expected_error"].as_f64().unwrap() > 0.0);
    assert_eq!(by_left["recipe"]["settings"]["light"]["azimuth_deg"], 180.0);
    assert_eq!(by_right["shadow"]["elevation_deg"], 40.0);
    // Each edge has heights and errors, and says what told them.
    for edge in by_left["lift"]["edges"].as_array().unwrap() {
        let n = edge["along_mm"].as_array().unwrap().len();
        assert!(n > 8 && edge["sigma_mm"].as_array().unwrap().len() == n, "{edge}");
        assert!(["shadow", "bend"].contains(&edge["told_by"].as_str().unwrap()));
    }
    // Nothing of the print changes: inside, master and mount are the same pixels under every light.
    let inside = |out: &Path, r: &Value, which: &str| {
        let (w, v) = green(out, r, which);
        let px = &r["canvas"]["print_px"];
        let at = |k: usize, c: usize| px[k][c].as_f64().unwrap() as usize;
        // Its last three pixels, from an edge that may be bowed by a millimetre, are another matter.
        let rim = 3 + r["canvas"]["px_per_mm"].as_f64().unwrap() as usize;
        let (x0, y0) = (at(0, 0) + rim, at(0, 1) + rim);
        let (x1, y1) = (at(2, 0) - rim, at(2, 1) - rim);
        (y0..y1).flat_map(|y| v[y * w + x0..y * w + x1].to_vec()).collect::<Vec<u16>>()
    };
    for which in ["master", "mount"] {
        assert!(inside(&shot, &as_shot, which) == inside(&left, &by_left, which), "{which}");
    }
}

#[test]
fn shares_are_cast_by_one_light_and_say_so() {
    let top = tempfile::tempdir().unwrap();
    let share = |light: &str, out: &Path| -> Value {
        let o = fallside(&[
            &"share",
            &"--in",
            &results(),
            &"--all",
            &"--pixels",
            &"500",
            &"--out",
            &out,
            &"--json",
            &"--light",
            &light,
        ]);
        assert!(o.status.code().is_some_and(|c| c < 2), "{}", said(&o));
        serde_json::from_slice(&o.stdout).unwrap()
    };
    let (a, b) = (top.path().join("a"), top.path().join("b"));
    let (shot, cast) = (share("as-shot", &a), share("upper-left", &b));
    let of = |v: &Value| -> Vec<String> {
        v["shares"].as_array().unwrap().iter().map(|s| s["shadow"].as_str().unwrap().to_owned()).collect()
    };
    assert!(of(&shot).iter().all(|s| s == "as shot"), "{:?}", of(&shot));
    let named = of(&cast).iter().filter(|s| s.starts_with("cast anew (upper-left, 225°, 45° high, 12° wide")).count();
    // Those that stay as shot are named, each with its reason.
    let problems = cast["problems"].as_array().unwrap();
    let stay = problems.iter().filter(|p| p.as_str().unwrap().contains("stays as shot")).count();
    assert!(named > 5 && named + stay == of(&cast).len(), "{cast:#}");
    let file = shot["shares"][0]["file"].as_str().unwrap();
    assert!(std::fs::read(a.join(file)).unwrap() != std::fs::read(b.join(file)).unwrap());
}

#[test]
fn what_is_no_light_is_refused_with_what_is() {
    let top = tempfile::tempdir().unwrap();
    for (light, word) in [("north", "upper-left"), ("10,5,2", "20 to 85"), ("10,45", "225,45,12")] {
        let o = fallside(&[&"finish", &top.path(), &"--out", &top.path().join("out"), &"--light", &light]);
        assert_eq!(o.status.code(), Some(2), "{}", said(&o));
        assert!(said(&o).contains(word), "{}", said(&o));
    }
}

/// A project with frame F0105 of the demonstration box, and that frame's name.
fn project(top: &Path) -> (PathBuf, String) {
    let frames = crate::demo_box::demo().join("frames");
    let of = |stem: &str| -> PathBuf {
        let files = std::fs::read_dir(&frames).unwrap().map(|e| e.unwrap().path());
        files.into_iter().find(|p| p.file_stem().is_some_and(|s| s == stem)).unwrap()
    };
    let (project, frame) = (top.join("project"), of("F0105"));
    let o = fallside(&[&"take", &frame, &of("F0102"), &"--in", &project]);
    assert!(o.status.code().is_some_and(|c| c < 2), "{}", said(&o));
    (project, frame.file_name().unwrap().to_str().unwrap().to_owned())
}

/// Every finished file with its bytes.
fn files(project: &Path) -> std::collections::BTreeMap<PathBuf, Vec<u8>> {
    let mut all = std::collections::BTreeMap::new();
    let mut folders = vec![project.join("finished")];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            match path.is_dir() {
                true => folders.push(path),
                false => drop(all.insert(path.clone(), std::fs::read(&path).unwrap())),
            }
        }
    }
    all
}

/// A print's light is chosen by name, recorded in report and sidecar, and taken back to the same bytes; the depth and the light that were
/// said of a frame are what the desk shows and what a hand-off uses.
#[test]
fn a_print_s_light_is_named_chosen_recorded_and_undone() {
    let top = tempfile::tempdir().unwrap();
    let (p, frame) = project(top.path());
    let before = files(&p);
    let good = |words: &[&dyn AsRef<std::ffi::OsStr>]| -> Value {
        let o = fallside(words);
        assert_eq!(o.status.code(), Some(0), "{}", said(&o));
        serde_json::from_slice(&o.stdout).unwrap_or(Value::Null)
    };
    let named = good(&[&"light", &"North window", &"200,40,20", &"--in", &p, &"--json"]);
    assert_eq!((named[0]["name"].as_str(), named[0]["azimuth_deg"].as_f64()), (Some("North window"), Some(200.0)));
    let mended = good(&[&"mend", &frame, &"--light", &"north window", &"--in", &p, &"--json"]);
    assert_eq!(
        (&mended["frame"]["light"]["name"], &mended["frame"]["light"]["how"]),
        (&"North window".into(), &"cast-anew".into())
    );
    let says = mended["frame"]["cast"].as_str().unwrap();
    assert!(says.starts_with("cast anew (North window, 200°, 40° high, 20° wide; expected error"), "{says}");
    assert!(mended["frame"]["lift"]["says"].as_str().unwrap().contains("left"), "{mended:#}");
    let now = files(&p);
    let sidecar = now
        .iter()
        .find(|(path, _)| path.to_string_lossy().contains("F0105") && path.extension().is_some_and(|e| e == "xmp"));
    assert!(String::from_utf8_lossy(sidecar.unwrap().1).contains(says), "the sidecar says it too");
    // The master shows the same of print and bed; where the new shadow is longer it shows more bed around it.
    let picture = |all: &std::collections::BTreeMap<PathBuf, Vec<u8>>, end: &str| -> (usize, [usize; 2], Vec<u16>) {
        let named = |end: &str| {
            all.iter()
                .find(|(f, _)| f.to_string_lossy().contains("F0105") && f.to_string_lossy().ends_with(end))
                .unwrap()
        };
        let report: Value = serde_json::from_slice(named(".report.json").1).unwrap();
        let file = top.path().join("one.tif");
        std::fs::write(&file, named(end).1).unwrap();
        let frame = codec::read(&file, &codec::Limits::default()).unwrap().frame;
        let corner = [0, 1].map(|c| report["canvas"]["print_px"][0][c].as_f64().unwrap() as usize);
        let pixels::Samples::U16(v) = frame.samples else { panic!("sixteen bits") };
        (frame.width, corner, v)
    };
    let differ = |end: &str| -> usize {
        let ((w0, c0, v0), (w1, c1, v1)) = (picture(&before, end), picture(&now, end));
        assert!(c1[0] >= c0[0] && c1[1] >= c0[1] && w1 >= w0, "no bed is lost");
        let at = |i: usize| [i / 3 % w0 + c1[0] - c0[0], i / 3 / w0 + c1[1] - c0[1]];
        (0..v0.len())
            .filter(|&i| {
                let [x, y] = at(i);
                v0[i] != v1[3 * (y * w1 + x) + i % 3]
            })
            .count()
    };
    assert_eq!(differ(".master.tif"), 0, "the master stays");
    assert!(differ(".mount.tif") > 1000, "the mount does not");
    // A second word of the frame leaves the first.
    let shallow = good(&[&"mend", &frame, &"--shadow", &"0.5", &"--in", &p, &"--json"]);
    assert_eq!((shallow["frame"]["shadow"].as_f64(), shallow["frame"]["cast"].as_str()), (Some(0.5), Some(says)));
    // Another light for a hand-off keeps the depth that was said of the print.
    let share = |light: &str, out: &str| -> Vec<u8> {
        let out = top.path().join(out);
        let v = good(&[
            &"share",
            &"--in",
            &p,
            &"--all",
            &"--pixels",
            &"800",
            &"--out",
            &out,
            &"--json",
            &"--light",
            &light,
        ]);
        let share = &v["shares"][0];
        assert!(share["shadow"].as_str().unwrap().starts_with("cast anew (North window"), "{v:#}");
        std::fs::read(out.join(share["file"].as_str().unwrap())).unwrap()
    };
    let (own, again) = (share("as-shot", "own"), share("North window", "again"));
    let level = |bytes: &[u8]| {
        let f = top.path().join("one.jpg");
        std::fs::write(&f, bytes).unwrap();
        let f = codec::read(&f, &codec::Limits::default()).unwrap().frame;
        (0..f.height)
            .flat_map(|y| (0..f.width).map(move |x| (x, y)))
            .map(|(x, y)| f64::from(f.linear(x, y)[1]))
            .sum::<f64>()
            / (f.width * f.height) as f64
    };
    let (a, b) = (level(&own), level(&again));
    assert!((a - b).abs() < 2e-4, "the same light and depth from the frame and from its mount: {a} {b}");
    // Two hand-offs and two words.
    for _ in 0..4 {
        good(&[&"undo", &"--in", &p]);
    }
    let back = files(&p);
    let others = before.iter().filter(|(f, v)| back.get(*f) != Some(*v)).map(|f| f.0).collect::<Vec<_>>();
    assert_eq!(others, Vec::<&PathBuf>::new(), "all as it was");
    // As shot, said of a frame that is as shot, changes nothing.
    good(&[&"mend", &frame, &"--light", &"as-shot", &"--in", &p]);
    let again = files(&p);
    let made = |f: &&PathBuf| f.extension().is_none_or(|e| e != "xmp");
    assert!(
        before.keys().filter(made).all(|f| again[f] == before[f]),
        "the sidecar alone notes that something was said"
    );
    good(&[&"light", &"north window", &"--delete", &"--in", &p]);
    let o =
        fallside(&[&"share", &"--in", &p, &"--all", &"--out", &top.path().join("none"), &"--light", &"north window"]);
    assert!(o.status.code() == Some(2) && said(&o).contains("no light called"), "{}", said(&o));
}

/// However many prints are handed on by one light, only those that are being read lie on the disk twice.
#[test]
fn mounts_cast_anew_come_and_go_one_by_one() {
    let (top, results) = (tempfile::tempdir().unwrap(), results());
    let scratch = top.path().join("scratch");
    std::fs::create_dir(&scratch).unwrap();
    let mut child = std::process::Command::new(env!("CARGO_BIN_EXE_fallside"))
        .args(["share", "--all", "--pixels", "400", "--light", "upper-left", "--in"])
        .arg(&results)
        .arg("--out")
        .arg(top.path().join("out"))
        .env("TMPDIR", &scratch)
        .stdout(std::process::Stdio::null())
        .stderr(std::process::Stdio::null())
        .spawn()
        .unwrap();
    let cast = |p: &Path| p.file_name().is_some_and(|n| n.to_string_lossy().starts_with("fallside-light-"));
    let lie = || -> usize {
        let mut all = vec![];
        let mut folders = vec![scratch.clone()];
        while let Some(folder) = folders.pop() {
            for path in std::fs::read_dir(folder).into_iter().flatten().flatten().map(|e| e.path()) {
                if path.is_dir() { folders.push(path) } else { all.push(path) }
            }
        }
        all.iter().filter(|p| cast(p) || p.parent().is_some_and(cast)).count()
    };
    let mut most = 0;
    let status = loop {
        most = most.max(lie());
        match child.try_wait().unwrap() {
            Some(status) => break status,
            None => std::thread::sleep(std::time::Duration::from_millis(2)),
        }
    };
    assert!(status.code().is_some_and(|c| c < 2), "{status}");
    let shares = std::fs::read_dir(top.path().join("out")).unwrap().count() - 1;
    let at_once = std::thread::available_parallelism().map_or(1, usize::from);
    assert!(most > 0 && most <= at_once && at_once < shares, "{most} mounts at once for {shares} shares");
    assert_eq!(lie(), 0, "none is left");
}

/// A side that lay in its own shadow and is lit now keeps no darker line along its edge: the border's last two pixels are as light as the
/// border is a little further in.
#[test]
fn no_line_is_left_where_a_shadow_was() {
    let top = tempfile::tempdir().unwrap();
    let (shot, lit) = (top.path().join("shot"), top.path().join("lit"));
    let as_shot = finished("as-shot", &shot);
    let [l, r] = beside(&as_shot, &green(&shot, &as_shot, "mount"));
    let dark_left = l < r;
    let by_light = finished(if dark_left { "left" } else { "right" }, &lit);
    assert_eq!(by_light["shadow"]["how"], "cast anew");
    // The border's columns at a distance from its edge, over those further in, between the rows where all of them are border.
    let line = |out: &Path, report: &Value| -> f64 {
        let (width, v) = green(out, report, "mount");
        let px = &report["canvas"]["print_px"];
        let at = |k: usize, c: usize| px[k][c].as_f64().unwrap();
        let (top, foot) = (at(0, 1) + 0.2 * (at(2, 1) - at(0, 1)), at(0, 1) + 0.8 * (at(2, 1) - at(0, 1)));
        // The edge as it is seen, which is bowed.
        let scale = report["canvas"]["px_per_mm"].as_f64().unwrap();
        let side = &report["lift"]["edges"][if dark_left { 0 } else { 2 }]["seen_mm"];
        let seen: Vec<[f64; 2]> = serde_json::from_value(side.clone()).unwrap();
        let edge = |y: usize| -> f64 {
            let mm = (y as f64 + 0.5 - at(0, 1)) / scale;
            let i = seen.partition_point(|p| p[1] < mm).clamp(1, seen.len() - 1);
            let ([x0, y0], [x1, y1]) = (seen[i - 1], seen[i]);
            at(0, 0) + scale * (x0 + (x1 - x0) * (mm - y0) / (y1 - y0))
        };
        let column = |inset: f64| -> f64 {
            let rows = top as usize..foot as usize;
            let x = |y: usize| if dark_left { edge(y) + inset } else { edge(y) - inset } as usize;
            rows.clone().map(|y| f64::from(v[y * width + x(y)])).sum::<f64>() / rows.len() as f64
        };
        [1.0, 2.0].map(column).into_iter().fold(f64::INFINITY, f64::min)
            / [5.0, 6.0, 7.0].map(column).iter().sum::<f64>()
            * 3.0
    };
    let (was, is) = (line(&shot, &as_shot), line(&lit, &by_light));
    eprintln!("line along the edge: {was:.4} as shot, {is:.4} lit");
    assert!(was < 0.99, "there was a line to begin with: {was}");
    // A thousandth of an encoded value is unseen (a 16-bit file's grain is more).
    assert!(is > 0.995, "{is}");
}
