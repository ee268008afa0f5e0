//! Many small frames of one rig, each of another print, to measure what grows with their number.

use codec::{Info, Metadata, icc, jpeg};
use geometry::{Angle, point};
use optics::Pose;
use pixels::Samples;
use scene::{Format, Picture, Print, Rig, Scene, Subject};
use std::path::Path;
use std::sync::atomic::{AtomicU64, Ordering};

/// Columns and rows: a print is found in it, and its finish takes a fraction of a second.
const SIZE: (usize, usize) = (480, 320);
/// One in so many is the bare bed.
const BLANK: u64 = 100;
const FORMATS: [Format; 3] = [Format::SquareIntegral, Format::WideIntegral, Format::MiniIntegral];

/// Writes `count` frames into `folder`, ten seconds apart on the camera's clock, the first of them the bare bed.
pub fn tiny(folder: &Path, count: u64) -> Result<String, String> {
    std::fs::create_dir_all(folder).map_err(|e| format!("{}: {e}", folder.display()))?;
    let next = AtomicU64::new(0);
    let draw = || -> Result<(), String> {
        loop {
            match next.fetch_add(1, Ordering::Relaxed) {
                n if n < count => frame(folder, n)?,
                _ => return Ok(()),
            }
        }
    };
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    std::thread::scope(|scope| {
        let all: Vec<_> = (0..threads).map(|_| scope.spawn(draw)).collect();
        all.into_iter().try_for_each(|t| t.join().map_err(|_| "a frame could not be drawn".to_owned())?)
    })?;
    Ok(format!("{count} frames written into {}.", folder.display()))
}

fn frame(folder: &Path, n: u64) -> Result<(), String> {
    let subject = Subject::ALL[n as usize % Subject::ALL.len()];
    let print = Print::new(FORMATS[n as usize % FORMATS.len()], Picture::new(subject, n), n);
    let turn = 90.0 + (n % 7) as f64 * 0.3 - 1.0;
    let scene = match n % BLANK {
        0 => Scene::blank(Rig::default(), n),
        _ => Scene::of(Rig::default(), print, Pose { centre: point(-1.0, 1.0), rotation: Angle::deg(turn) }, n),
    };
    let drawn = scene::render(&scene, SIZE.0, SIZE.1).frame;
    let rgb: Vec<u8> = match drawn.samples {
        Samples::U8(rgb) => rgb,
        Samples::U16(wide) => wide.iter().map(|v| (v / 257) as u8).collect(),
    };
    let (s, place) = (10 * n, folder.join(format!("F{n:04}.jpg")));
    let original = Metadata {
        f_number: Some(8.0),
        iso: Some(100),
        taken: Some(format!("2026:11:{:02} {:02}:{:02}:{:02}", 1 + s / 86_400, s / 3600 % 24, s / 60 % 60, s % 60)),
        ..Metadata::default()
    };
    let info = Info { icc: Some(icc::srgb()), original: Some(original), ..Info::default() };
    jpeg::write(&place, SIZE.0, SIZE.1, &rgb, 92, jpeg::Subsampling::Full, &info).map_err(|e| e.to_string())
}
