//! The demonstration box: frames that Fallside draws itself, and the request that finishes them.

use crate::finish::Request;
use crate::job::FrameError;
use codec::{Info, Metadata, jpeg};
use pixels::{Frame, Samples};
use scene::demo::{DemoShot, SIZE, shots};
use std::path::Path;

/// Any number would do; this one is the year of the box's first print.
const SEED: u64 = 1991;
/// As cameras write them: hardly a step lost.
const QUALITY: u8 = 94;

/// Draws the box into `out/frames` at `size` (columns, rows; the whole 6 megapixels where `None`) and returns the request
/// that finishes it into `out/finished`.
///
/// # Errors
/// A frame cannot be written.
pub fn draw(out: &Path, size: Option<(usize, usize)>, tell: &dyn Fn(String)) -> Result<Request, FrameError> {
    let frames = out.join("frames");
    std::fs::create_dir_all(&frames).map_err(|e| FrameError::writing(&frames, &e))?;
    let shots = shots(SEED);
    tell(format!("Drawing {} frames of a box that never was.", shots.len()));
    for (i, shot) in shots.iter().enumerate() {
        let (w, h) = size.unwrap_or(SIZE);
        let drawn = scene::render(&shot.scene, w, h).frame;
        let place = frames.join(&shot.name);
        jpeg::write(&place, w, h, &eight_bit(&drawn), QUALITY, jpeg::Subsampling::Half, &words(shot, i))?;
        tell(format!("{} of {}: {}  {}", i + 1, shots.len(), shot.name, shot.caption));
    }
    let values = out.join("chart.txt");
    std::fs::write(&values, scene::chart::cgats()).map_err(|e| FrameError::writing(&values, &e))?;
    Ok(Request { inputs: vec![frames], out: out.join("finished"), chart_values: Some(values), ..Request::default() })
}

fn eight_bit(frame: &Frame) -> Vec<u8> {
    match &frame.samples {
        Samples::U8(s) => s.clone(),
        // 257 takes 65535 to 255 exactly.
        Samples::U16(s) => s.iter().map(|v| ((u32::from(*v) + 128) / 257) as u8).collect(),
    }
}

/// What a camera would write: one frame every 25 seconds of an evening, its flash fired or not.
fn words(shot: &DemoShot, i: usize) -> Info {
    let seconds = 20 * 3600 + 25 * i;
    let original = Metadata {
        model: Some("Drawn copy-stand camera".into()),
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
