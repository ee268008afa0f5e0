//! The bench: whole frames finished, against the bare decode and encode of the same files with the same codecs.
//!
//! Every figure is the best of a few runs in one process, so that ratios hold where single times do not.

mod desk;

use base::Exit;
use codec::{Info, Limits, jpeg, tiff};
use finish::frame::Frames;
use finish::{Request, finish};
use handoff::selection::Which;
use pixels::{Frame, Samples};
use sha2::Digest;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// Runs of each figure; the best is quoted.
const RUNS: usize = 4;
/// 24 megapixels, and about 100: the small frame enlarged by whole pixels, 2 by 2.
const SMALL: (usize, usize) = (6000, 4000);

/// Draws a print and a blank, times them at both sizes and gives the table.
pub fn speed() -> Result<String, String> {
    let folder = tempfile::tempdir().map_err(|e| e.to_string())?;
    let shots = scene::demo::shots(1991);
    // The second frame of the box is its blank, the fourth its first print.
    let draw = |i: usize| eight(&scene::render(&shots[i].scene, SMALL.0, SMALL.1).frame);
    let (print, blank) = (draw(3), draw(1));
    let small = [("print.jpg", &print), ("blank.jpg", &blank)].map(|(name, rgb)| (folder.path().join(name), rgb));
    for (path, rgb) in &small {
        jpeg::write(path, SMALL.0, SMALL.1, rgb, 94, jpeg::Subsampling::Half, &srgb()).map_err(|e| e.to_string())?;
    }
    let large = [("large.tif", &print), ("large-blank.tif", &blank)].map(|(name, rgb)| (folder.path().join(name), rgb));
    for (path, rgb) in &large {
        enlarge(path, rgb).map_err(|e| e.to_string())?;
    }
    let (small, large) = (small.map(|s| s.0), large.map(|l| l.0));
    drop((print, blank));
    let a = figures(&small[0], &small[1], &folder.path().join("small"))?;
    let b = figures(&large[0], &large[1], &folder.path().join("large"))?;
    let ms = |d: Duration| d.as_millis();
    let line = |name: &str, f: &Figures| {
        format!(
            "{name:14} decode {:6} ms  encode {:6} ms  finish {:6} ms  finish / (decode + encode) {:5.2}  peak {:5} MB\n",
            ms(f.decode),
            ms(f.encode),
            ms(f.finish),
            f.finish.as_secs_f64() / (f.decode + f.encode).as_secs_f64(),
            f.peak_mb
        )
    };
    let ratio = b.finish.as_secs_f64() / a.finish.as_secs_f64();
    let archive = archive(&folder.path().join("small/0"), folder.path())?;
    let handing = crate::handing::handing(&folder.path().join("small/0"), &folder.path().join("handing"))?;
    let book = book(&folder.path().join("small/0"), folder.path())?;
    Ok(line("24 MP JPEG", &a)
        + &line("96 MP TIFF 16", &b)
        + &format!("large / small  {ratio:.2}\n")
        + &archive
        + &handing
        + &book
        + &desk::desk(&small[0], &small[1], a.decode, folder.path())?
        + &plan()?
        + &check(folder.path())?)
}

/// Packing and verifying a finished frame beside a plain copy and hash of the same files.
fn archive(results: &Path, folder: &Path) -> Result<String, String> {
    use handoff::Event;
    use handoff::pack::{Request, pack, verify};
    let silent = &|_: Event| {};
    let (mut packs, mut reads, mut copies, mut hashes) = (Duration::MAX, Duration::MAX, Duration::MAX, Duration::MAX);
    for run in 0..RUNS {
        let bag = folder.join(format!("bag-{run}"));
        packs = packs.min(timed(|| {
            let request = Request { folder: results.into(), which: Which::All, out: bag.clone(), title: None };
            let answer = pack(&request, silent).map_err(|e| e.to_string())?;
            if answer.problems.is_empty() { Ok(()) } else { Err(format!("not packed: {:?}", answer.problems)) }
        })?);
        reads = reads.min(timed(|| verify(&bag, &[], silent).map(drop).map_err(|e| e.to_string()))?);
        let plain = folder.join(format!("plain-{run}"));
        copies = copies.min(timed(|| copy_and_hash(&bag.join("data"), &plain).map_err(|e| e.to_string()))?);
        hashes = hashes.min(timed(|| hash_all(&plain).map_err(|e| e.to_string()))?);
    }
    let ms = |d: Duration| d.as_millis();
    let speed = |plain: Duration, ours: Duration| 100.0 * plain.as_secs_f64() / ours.as_secs_f64();
    Ok(format!(
        "pack           {} ms  plain copy and hash {} ms  {:.0} % of its speed\nverify         {} ms  plain hash {} ms  {:.0} % of its speed\n",
        ms(packs),
        ms(copies),
        speed(copies, packs),
        ms(reads),
        ms(hashes),
        speed(hashes, reads)
    ))
}

/// Plates of the bench's book.
const PLATES: usize = 200;

/// A book of 200 plates for a press: the finished frame's mount, named by 200 reports.
fn book(results: &Path, folder: &Path) -> Result<String, String> {
    let failed = |e: std::io::Error| e.to_string();
    let many = folder.join("many");
    std::fs::create_dir_all(many.join(".fallside")).map_err(failed)?;
    for part in ["mounts", "reports"] {
        std::fs::create_dir_all(many.join(part)).map_err(failed)?;
        for entry in std::fs::read_dir(results.join(part)).map_err(failed)?.flatten() {
            let held = std::fs::read(entry.path()).map_err(failed)?;
            if part == "mounts" {
                std::fs::write(many.join(part).join(entry.file_name()), held).map_err(failed)?;
            } else if String::from_utf8_lossy(&held).contains("\"mount\"") {
                for n in 0..PLATES {
                    std::fs::write(many.join(part).join(format!("F{n:04}.report.json")), &held).map_err(failed)?;
                }
            }
        }
    }
    let press = folder.join("press.icc");
    std::fs::write(&press, publish::book::model::profile()).map_err(failed)?;
    let out = folder.join("book.pdf");
    let request = handoff::book::Request { printer: Some(press), ..handoff::book::Request::new(&many, &out) };
    forget_peak();
    let time = timed(|| {
        let answer = handoff::book::book(&request, &|_, _| {}).map_err(|e| e.to_string())?;
        if answer.exit == Exit::NothingDone { Err(format!("no book: {:?}", answer.problems)) } else { Ok(()) }
    })?;
    let size = std::fs::metadata(&out).map_err(failed)?.len();
    Ok(format!(
        "book           {PLATES} plates in the inks of a press: {:.1} s  peak {} MB  file {} MB\n",
        time.as_secs_f64(),
        peak() / 1024,
        size / 1_000_000
    ))
}

fn copy_and_hash(from: &Path, to: &Path) -> std::io::Result<()> {
    std::fs::create_dir_all(to)?;
    for entry in std::fs::read_dir(from)? {
        let (source, target) = {
            let e = entry?;
            (e.path(), to.join(e.file_name()))
        };
        if source.is_dir() {
            copy_and_hash(&source, &target)?;
        } else {
            std::fs::copy(&source, &target)?;
            std::fs::File::open(&target)?.sync_all()?;
            sha2::Sha512::digest(std::fs::read(&source)?);
        }
    }
    Ok(())
}

fn hash_all(folder: &Path) -> std::io::Result<()> {
    for entry in std::fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            hash_all(&path)?;
        } else {
            sha2::Sha512::digest(std::fs::read(&path)?);
        }
    }
    Ok(())
}

/// `fallside plan` beside the bare start of the same program, with the one that this bench was built with.
fn plan() -> Result<String, String> {
    let program = std::env::current_exe().map_err(|e| e.to_string())?.with_file_name("fallside");
    if !program.exists() {
        return Ok(
            "plan           not measured: build the command first (cargo build --release --package app)\n".into()
        );
    }
    let run = |word: &str| {
        best(|| {
            let mut command = std::process::Command::new(&program);
            command.arg(word).stdout(std::process::Stdio::null());
            command.status().map(drop).map_err(|e| e.to_string())
        })
    };
    let (plan, start) = (run("plan")?, run("--version")?);
    let ms = |d: Duration| d.as_secs_f64() * 1000.0;
    Ok(format!("plan           {:.1} ms  bare start {:.1} ms\n", ms(plan), ms(start)))
}

/// `check` of a frame of the ruler sheet beside its bare decode.
fn check(folder: &Path) -> Result<String, String> {
    let lies = optics::Pose { centre: geometry::point(1.0, -2.0), rotation: geometry::Angle::deg(1.5) };
    let scene = scene::Scene::ruler(scene::Rig::default(), geometry::ruler::Paper::A4, lies, 3);
    let path = folder.join("ruler.jpg");
    let rgb = eight(&scene::render(&scene, SMALL.0, SMALL.1).frame);
    jpeg::write(&path, SMALL.0, SMALL.1, &rgb, 94, jpeg::Subsampling::Half, &srgb()).map_err(|e| e.to_string())?;
    let (mut checks, mut decodes) = (Duration::MAX, Duration::MAX);
    for _ in 0..RUNS {
        let request = rig::check::Request { inputs: vec![path.clone()], ..Default::default() };
        checks = checks.min(timed(|| {
            let answer = rig::check::check(&request);
            if answer.ruler.is_some() { Ok(()) } else { Err(format!("not read: {:?}", answer.problems)) }
        })?);
        decodes = decodes.min(timed(|| codec::read(&path, &Limits::default()).map(drop).map_err(|e| e.to_string()))?);
    }
    Ok(format!(
        "check ruler    decode {:6} ms  check  {:6} ms  check / decode {:5.2}\n",
        decodes.as_millis(),
        checks.as_millis(),
        checks.as_secs_f64() / decodes.as_secs_f64()
    ))
}

struct Figures {
    decode: Duration,
    encode: Duration,
    finish: Duration,
    peak_mb: u64,
}

/// Decode, encode and finish, turn about, so that a machine that grows slower or faster does so for all three.
fn figures(frame: &Path, blank: &Path, out: &Path) -> Result<Figures, String> {
    let mut f = Figures { decode: Duration::MAX, encode: Duration::MAX, finish: Duration::MAX, peak_mb: 0 };
    for run in 0..RUNS {
        let out = out.join(run.to_string());
        forget_peak();
        f.finish = f.finish.min(timed(|| {
            let request = Request {
                inputs: vec![frame.into()],
                blanks: vec![blank.into()],
                out: out.clone(),
                ..Request::default()
            };
            let answer = finish(&request, &Frames::default(), &|_| {});
            if answer.exit == Exit::AllDone { Ok(()) } else { Err(format!("not finished: {:?}", answer.problems)) }
        })?);
        f.peak_mb = f.peak_mb.max(peak() / 1024);
        let read = |p: &Path| codec::read(p, &Limits::default()).map_err(|e| e.to_string());
        f.decode = f.decode.min(timed(|| read(frame).map(drop))?);
        let made: Vec<(PathBuf, Frame)> = ["masters", "mounts", "shares"]
            .iter()
            .flat_map(|f| std::fs::read_dir(out.join(f)).into_iter().flatten().flatten())
            .map(|e| read(&e.path()).map(|d| (e.path(), d.frame)))
            .collect::<Result<_, _>>()?;
        f.encode = f.encode.min(timed(|| made.iter().try_for_each(|(p, f)| again(&out.join("again"), p, f)))?);
    }
    Ok(f)
}

/// Writes a picture once more with the codec and settings that wrote it.
fn again(folder: &Path, like: &Path, frame: &Frame) -> Result<(), String> {
    std::fs::create_dir_all(folder).map_err(|e| e.to_string())?;
    let place = folder.join(like.file_name().unwrap_or_default());
    let (w, h) = (frame.width, frame.height);
    match &frame.samples {
        Samples::U16(s) => tiff::write(&place, w, h, &Info::default(), tiff::Compression::Deflate, |r| {
            s[3 * w * r.start..3 * w * r.end].to_vec()
        }),
        Samples::U8(s) => jpeg::write(&place, w, h, s, 92, jpeg::Subsampling::Full, &Info::default()),
    }
    .map_err(|e| e.to_string())
}

/// The best time of a few runs.
fn best(mut work: impl FnMut() -> Result<(), String>) -> Result<Duration, String> {
    (0..RUNS).try_fold(Duration::MAX, |least, _| Ok(least.min(timed(&mut work)?)))
}

fn timed(work: impl FnOnce() -> Result<(), String>) -> Result<Duration, String> {
    let start = Instant::now();
    work()?;
    Ok(start.elapsed())
}

fn srgb() -> Info {
    Info { icc: Some(codec::icc::srgb()), ..Info::default() }
}

fn eight(frame: &Frame) -> Vec<u8> {
    match &frame.samples {
        Samples::U8(s) => s.clone(),
        Samples::U16(s) => s.iter().map(|v| (v / 257) as u8).collect(),
    }
}

fn enlarge(path: &Path, rgb: &[u8]) -> Result<(), codec::Error> {
    let (w, h) = SMALL;
    tiff::write(path, 2 * w, 2 * h, &srgb(), tiff::Compression::Deflate, |rows| {
        rows.flat_map(|y| (0..2 * w).flat_map(move |x| (0..3).map(move |c| 3 * (y / 2 * w + x / 2) + c)))
            .map(|i| u16::from(rgb[i]) * 257)
            .collect()
    })
}

/// Starts the peak of memory anew (Linux; elsewhere it counts from the start).
fn forget_peak() {
    let _ = std::fs::write("/proc/self/clear_refs", "5");
}

/// Peak of resident memory, kB; 0 where the system does not tell.
fn peak() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    status
        .lines()
        .find_map(|l| l.strip_prefix("VmHWM:"))
        .and_then(|v| v.split_whitespace().next()?.parse().ok())
        .unwrap_or(0)
}
