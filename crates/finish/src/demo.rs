//! The demonstration box: frames that Fallside draws itself, and the request that finishes them.

use crate::Request;
use base::Failure;
use base::files::Originals;
use base::output_folder::{DEMONSTRATION, OutputFolder};
use codec::{Info, Metadata, jpeg};
use pixels::{Frame, Samples};
use scene::demo::{DemoShot, SIZE, shots};
use std::io::Read;
use std::path::Path;

/// Any number would do; this one is the year of the box's first print.
const SEED: u64 = 1991;
/// JPEG quality as used by cameras: almost no loss.
const QUALITY: u8 = 94;

/// Draws the box into `out/frames` at `size` (columns, rows; the whole 6 megapixels where `None`) and returns the request
/// that finishes it into `out/finished`.
///
/// # Errors
/// The folder holds something else, a frame was changed, or one cannot be written.
pub fn draw(out: &Path, size: Option<(usize, usize)>, tell: &dyn Fn(String)) -> Result<Request, Failure> {
    let frames = out.join("frames");
    let shots = shots(SEED);
    let files: Vec<String> = shots.iter().map(|s| format!("frames/{}", s.name)).chain([VALUES.to_owned()]).collect();
    recognise(out, &files);
    let handed = OutputFolder::open(out, DEMONSTRATION, &Originals::default(), &files)?;
    handed.refuse_changed(&files)?;
    tell(format!("Drawing {} frames of an invented box.", shots.len()));
    for (i, shot) in shots.iter().enumerate() {
        let (w, h) = size.unwrap_or(SIZE);
        let drawn = scene::render(&shot.scene, w, h).frame;
        let words = words(shot, i);
        let bytes = jpeg::encode(w, h, &eight_bit(&drawn), QUALITY, jpeg::Subsampling::Half, Some(&words))?;
        handed.put(&files[i], &bytes)?;
        tell(format!("{} of {}: {}  {}", i + 1, shots.len(), shot.name, shot.caption));
    }
    handed.put(VALUES, scene::chart::cgats().as_bytes())?;
    handed.close()?;
    let values = Some(out.join(VALUES));
    Ok(Request { inputs: vec![frames], out: out.join("finished"), chart_values: values, ..Request::default() })
}

/// What the family would write under each print: its frame's file, its title and its year.
pub fn captions() -> Vec<(String, &'static str, u16)> {
    shots(SEED).into_iter().filter_map(|shot| Some((shot.name, shot.caption, shot.year?))).collect()
}

/// The values of the chart.
const VALUES: &str = "chart.txt";
/// Camera name in each frame of the box; no other camera has this name.
const CAMERA: &str = "Drawn copy-stand camera";
/// Camera metadata is in the first bytes of a JPEG, before the picture.
const HEAD: u64 = 4096;

/// Lists the files of a box drawn by an earlier version, which kept no list: only if the folder contains nothing else, every frame is
/// from our camera, and the chart values are ours.
fn recognise(out: &Path, files: &[String]) {
    let names = |folder: &Path| -> Vec<String> {
        let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
        entries.map(|e| e.file_name().to_string_lossy().into_owned()).collect()
    };
    let top = names(out);
    let known = top.iter().all(|n| ["frames", VALUES, "finished"].contains(&n.as_str()));
    let drawn = |name: &String| {
        let mut head = vec![];
        let read = std::fs::File::open(out.join(name)).and_then(|f| f.take(HEAD).read_to_end(&mut head));
        read.is_ok() && head.windows(CAMERA.len()).any(|w| w == CAMERA.as_bytes())
    };
    let frames: Vec<String> = names(&out.join("frames")).iter().map(|n| format!("frames/{n}")).collect();
    let values = out.join(VALUES);
    let ours = frames.iter().all(|f| files.contains(f) && drawn(f))
        && (!values.exists()
            || base::files::regular::read(&values).is_ok_and(|held| held == scene::chart::cgats().as_bytes()));
    if top.is_empty() || !known || !ours || frames.is_empty() {
        return;
    }
    let there = frames.iter().map(String::as_str).chain(values.exists().then_some(VALUES));
    // A folder that cannot be listed is treated as somebody else's.
    let _ = OutputFolder::recognise(out, DEMONSTRATION, there);
}

fn eight_bit(frame: &Frame) -> Vec<u8> {
    match &frame.samples {
        Samples::U8(s) => s.clone(),
        // 257 takes 65535 to 255 exactly.
        Samples::U16(s) => s.iter().map(|v| ((u32::from(*v) + 128) / 257) as u8).collect(),
    }
}

/// Metadata as a camera would write it: one frame every 25 seconds, with or without flash.
fn words(shot: &DemoShot, i: usize) -> Info {
    let seconds = 20 * 3600 + 25 * i;
    let original = Metadata {
        model: Some(CAMERA.into()),
        exposure_s: Some(1.0 / 160.0),
        f_number: Some(8.0),
        iso: Some(100),
        flash_fired: Some(shot.scene.flash()),
        taken: Some(format!("2026:11:07 {:02}:{:02}:{:02}", seconds / 3600, seconds / 60 % 60, seconds % 60)),
        orientation: Some(1),
        ..Metadata::default()
    };
    Info { icc: Some(codec::icc::srgb()), original: Some(original), ..Info::default() }
}
