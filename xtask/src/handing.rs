//! The bench of handing on: a gallery of 500 prints, made and made again, from one finished print told of many times.

use codec::{Info, tiff};
use finish::report::Report;
use handoff::gallery::{Answer, HERE, Request, gallery};
use handoff::selection::Which;
use std::path::Path;
use std::time::{Duration, Instant};

/// Prints of the gallery that the bar is about.
const PRINTS: usize = 500;
/// Prints made at full size; the others take as long each.
const MADE: usize = 8;

/// Times galleries of a finished print in `results`, within `folder`, and gives their lines.
pub fn handing(results: &Path, folder: &Path) -> Result<String, String> {
    let report = std::fs::read_dir(results.join("reports"))
        .map_err(|e| e.to_string())?
        .flatten()
        .map(|e| e.path())
        .find(|p| p.to_string_lossy().ends_with(".report.json"))
        .ok_or("the finished print has no report")?;
    let report: Report =
        serde_json::from_slice(&std::fs::read(report).map_err(|e| e.to_string())?).map_err(|e| e.to_string())?;
    let full = told_often(&report, &results.join("mounts"), &folder.join("full"), MADE)?;
    let (made, first) = timed(|| make(&full, &folder.join("full-site")))?;
    let pixels = report.canvas.as_ref().map_or(0, |c| c.width_px * c.height_px);
    // Making again does not depend on how large the pictures are: a thumbnail of a mount will do for 500.
    let many =
        told_often(&small(&report, &folder.join("mounts"))?, &folder.join("mounts"), &folder.join("many"), PRINTS)?;
    make(&many, &folder.join("many-site"))?;
    let (again, second) = timed(|| make(&many, &folder.join("many-site")))?;
    if first.made != MADE || second.made + second.written > 0 || second.prints != PRINTS {
        return Err(format!("the galleries are not as they should be: {first:?} {second:?}"));
    }
    let each = made.as_secs_f64() / MADE as f64;
    Ok(format!(
        "gallery        {:.2} s a print of {:.1} MP, {:.1} min for {PRINTS}  again, unchanged {:.2} s\n",
        each,
        pixels as f64 / 1e6,
        each * PRINTS as f64 / 60.0,
        again.as_secs_f64()
    ))
}

fn timed<T>(work: impl FnOnce() -> Result<T, String>) -> Result<(Duration, T), String> {
    let start = Instant::now();
    let done = work()?;
    Ok((start.elapsed(), done))
}

fn make(results: &Path, out: &Path) -> Result<Answer, String> {
    let request = Request {
        folder: results.into(),
        which: Which::All,
        out: out.into(),
        title: "The bench".into(),
        address: HERE.into(),
        backs: false,
        newsletter: None,
        light: None,
        allow: Default::default(),
    };
    gallery(&request, &|_| {}).map_err(|e| e.to_string())
}

/// A folder of results that tells of one mount under many names.
fn told_often(report: &Report, mounts: &Path, folder: &Path, times: usize) -> Result<std::path::PathBuf, String> {
    let write = || -> std::io::Result<()> {
        for name in [".fallside", "reports", "mounts"] {
            std::fs::create_dir_all(folder.join(name))?;
        }
        for mount in std::fs::read_dir(mounts)?.flatten() {
            std::fs::copy(mount.path(), folder.join("mounts").join(mount.file_name()))?;
        }
        let text = serde_json::to_vec(report)?;
        (0..times).try_for_each(|n| std::fs::write(folder.join(format!("reports/B{n:04}.report.json")), &text))
    };
    write().map_err(|e| e.to_string())?;
    Ok(folder.to_owned())
}

/// The report of a small white mount with a grey print on it, written into `folder`.
fn small(report: &Report, folder: &Path) -> Result<Report, String> {
    let (w, h) = (300, 360);
    std::fs::create_dir_all(folder).map_err(|e| e.to_string())?;
    let info = Info { icc: Some(codec::icc::eci_rgb_v2()), ..Info::default() };
    let inside = |x: usize, y: usize| (40..260).contains(&x) && (40..320).contains(&y);
    tiff::write(&folder.join("small.mount.tif"), w, h, &info, tiff::Compression::Deflate, |rows| {
        rows.flat_map(|y| (0..w).flat_map(move |x| [if inside(x, y) { 30_000 } else { u16::MAX }; 3])).collect()
    })
    .map_err(|e| e.to_string())?;
    let mut report = report.clone();
    if let Some(canvas) = &mut report.canvas {
        canvas.mount = "../mounts/small.mount.tif".into();
        (canvas.width_px, canvas.height_px, canvas.px_per_mm) = (w, h, 2.5);
        canvas.print_px = [[40.0, 40.0], [260.0, 40.0], [260.0, 320.0], [40.0, 320.0]];
    }
    Ok(report)
}
