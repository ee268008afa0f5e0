//! Writes frames of `scene::wild` as picture files with their truth, so that a built command can be scored on them.

use codec::{Info, icc, jpeg, png};
use pixels::Samples;
use scene::wild::Wild;
use scene::{PrintTruth, Shot};
use serde_json::{Value, json};
use std::path::Path;

/// Quality of the files: the loss of the frame's own compression is already in its pixels, and this adds next to none.
const QUALITY: u8 = 98;

/// Writes `count` frames from seed `from` into `folder/frames/NNN`; as PNG where `lossless`.
pub fn wild(folder: &Path, from: u64, count: u64, lossless: bool) -> Result<String, String> {
    for seed in from..from.saturating_add(count) {
        let frame = folder.join("frames").join(format!("{seed:03}"));
        write(&frame, seed, lossless)?;
    }
    Ok(format!("{count} frames written into {}.", folder.join("frames").display()))
}

fn write(folder: &Path, seed: u64, lossless: bool) -> Result<(), String> {
    let wild = Wild::of(seed);
    let shot = wild.shoot();
    let says = |e: &dyn std::fmt::Display| format!("{}: {e}", folder.display());
    std::fs::create_dir_all(folder).map_err(|e| says(&e))?;
    let Samples::U8(rgb) = &shot.frame.samples else { return Err(says(&"the frame has not 8 bits")) };
    let (w, h, info) = (shot.frame.width, shot.frame.height, Info { icc: Some(icc::srgb()), ..Info::default() });
    let name = if lossless { "photo.png" } else { "photo.jpg" };
    if lossless {
        png::write(&folder.join(name), w, h, &info, |rows| rgb[3 * w * rows.start..3 * w * rows.end].to_vec())
            .map_err(|e| says(&e))?;
    } else {
        jpeg::write(&folder.join(name), w, h, rgb, QUALITY, jpeg::Subsampling::Full, &info).map_err(|e| says(&e))?;
    }
    let truth = truth(seed, &wild, &shot, name).ok_or_else(|| says(&"the frame has no print"))?;
    let text = serde_json::to_string_pretty(&truth).map_err(|e| says(&e))?;
    std::fs::write(folder.join("truth.json"), text).map_err(|e| says(&e))
}

/// The truth in the shape that a scorer of such frames reads: corners in the order of the upright print, from its top left.
fn truth(seed: u64, wild: &Wild, shot: &Shot, name: &str) -> Option<Value> {
    let (t, p) = (&shot.truth, shot.truth.prints.first()?);
    let borders = wild.scene.sheets.first()?.print.sheet.borders?;
    let window = borders_and_window(p, &borders);
    Some(json!({
        "id": format!("{seed:03}"),
        "seed": seed,
        "files": { "jpeg": name, "shadow": "none" },
        "print": {
            "format": p.format,
            "outer_mm": [p.size.0.to_mm(), p.size.1.to_mm()],
            "window_mm": window,
            "borders_mm": {
                "left": borders.left.to_mm(), "right": borders.right.to_mm(),
                "top": borders.top.to_mm(), "bottom": borders.bottom.to_mm(),
            },
            "curl": format!("{:?}", wild.scene.sheets[0].print.sheet.curl),
            "curl_edge_lift_mm": p.curl.to_mm(),
            "thickness_mm": wild.scene.sheets[0].print.sheet.thickness.to_mm(),
            "subject": format!("{:?}", wild.scene.sheets[0].print.picture.subject),
        },
        "outer_corners_px": corners(&p.outer_px.0),
        "window_corners_px": p.window_px.map(|q| corners(&q.0)),
        "outline_px": p.outline_px.iter().map(|side| corners(side)).collect::<Vec<_>>(),
        "camera": {
            "width": t.width, "height": t.height,
            "px_per_mm_print_centre": [p.px_per_mm, p.px_per_mm],
            "tilt_x_deg": t.tilt_x.to_deg(), "tilt_y_deg": t.tilt_y.to_deg(),
        },
        "light": {
            // Counter-clockwise from image right; the truth counts clockwise.
            "shadow_falls_toward_deg": (-t.shadow_azimuth.to_deg()).rem_euclid(360.0),
            "elevation_deg": t.light_elevation.to_deg(),
        },
        "posting": format!("{:?}", wild.posting),
        "tags": wild.tags,
    }))
}

fn borders_and_window(p: &PrintTruth, b: &optics::sheet::Borders) -> [f64; 2] {
    [(p.size.0 - b.left - b.right).to_mm(), (p.size.1 - b.top - b.bottom).to_mm()]
}

fn corners(points: &[geometry::Point]) -> Vec<[f64; 2]> {
    points.iter().map(|p| [p.x, p.y]).collect()
}
