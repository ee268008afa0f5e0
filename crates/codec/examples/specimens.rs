//! Writes one file of every kind with planted values, and `expect.json` that says what they are, for independent readers.

use codec::jpeg::Subsampling;
use codec::raw::{CameraColours, Mosaic};
use codec::tiff::Compression;
use codec::{Info, Metadata, dng, icc, jpeg, png, tiff, xmp};
use serde_json::json;
use std::ops::Range;
use std::path::PathBuf;

const WIDTH: usize = 402;
const HEIGHT: usize = 611;
/// Pixels per millimetre: 970.28 per inch, a fraction that no whole number of dots per inch can say.
const PX_PER_MM: f64 = 38.2;

/// The planted code value; `tests/outside/codec.py` computes the same.
fn code(x: usize, y: usize, c: usize) -> u16 {
    ((x * 131 + y * 57 + c * 20_011) % 65_536) as u16
}

fn sixteen(rows: Range<usize>) -> Vec<u16> {
    rows.flat_map(|y| (0..WIDTH).flat_map(move |x| (0..3).map(move |c| code(x, y, c)))).collect()
}

fn eight(rows: Range<usize>) -> Vec<u8> {
    sixteen(rows).into_iter().map(|v| (v >> 8) as u8).collect()
}

fn smooth() -> Vec<u8> {
    (0..HEIGHT)
        .flat_map(|y| (0..WIDTH).flat_map(move |x| [(x / 2) as u8, (y / 3) as u8, ((x + y) / 5) as u8]))
        .collect()
}

fn original() -> Metadata {
    Metadata {
        make: Some("Testbench".into()),
        model: Some("Testbench 24".into()),
        lens: Some("Planted 60 mm".into()),
        exposure_s: Some(1.0 / 160.0),
        f_number: Some(7.1),
        iso: Some(200),
        focal_length_mm: Some(60.0),
        flash_fired: Some(true),
        taken: Some("2026:02:14 19:05:33".into()),
        clock: vec![(36868, "2026:02:14 19:05:34".into()), (36881, "-05:00".into()), (37521, "7".into())],
        artist: Some("Ada Vale".into()),
        copyright: Some("Ada Vale 2026".into()),
        ..Metadata::default()
    }
}

fn mosaic() -> Mosaic {
    let samples = (0..WIDTH * HEIGHT).map(|i| 512 + (code(i % WIDTH, i / WIDTH, 0) >> 3)).collect();
    // XYZ to linear sRGB (IEC 61966-2-1), with red and blue less sensitive than green.
    let m = [[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]];
    let seen = [0.43, 1.0, 0.62];
    let camera_from_xyz = std::array::from_fn(|r| m[r].map(|v: f64| v * seen[r]));
    Mosaic {
        width: WIDTH,
        height: HEIGHT,
        pattern: [[0, 1], [1, 2]],
        black: [[512.0; 2]; 2],
        white: 16383.0,
        as_shot: seen.map(|s| (1.0 / s) as f32),
        colours: Some(CameraColours { camera_from_xyz, white: pixels::D65 }),
        samples,
        metadata: original(),
    }
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let dir = PathBuf::from(std::env::args().nth(1).ok_or("usage: specimens OUTDIR")?);
    std::fs::create_dir_all(&dir)?;
    let title = "Harbour <dusk> & \"é\"";
    let packet = xmp::packet(&xmp::Packet {
        title: Some(title.into()),
        description: Some("A harbour that never was".into()),
        creators: vec!["Nobody".into()],
        keywords: vec!["sea".into(), "evening & quiet".into()],
        creator_tool: Some("Fallside specimen".into()),
        date_created: Some("2004-07".into()),
        derived_from: Some(("F0001.dng".into(), "blake3:0123".into())),
        rating: Some(4),
        ..Default::default()
    });
    let info = |profile: Option<Vec<u8>>| Info {
        px_per_mm: Some(PX_PER_MM),
        icc: profile,
        xmp: Some(packet.clone()),
        description: Some("A harbour that never was".into()),
        software: Some("Fallside specimen".into()),
        original: Some(original()),
    };
    let eci = info(Some(icc::eci_rgb_v2()));
    let srgb = info(Some(icc::srgb()));
    tiff::write(&dir.join("master.tif"), WIDTH, HEIGHT, &eci, Compression::Deflate, sixteen)?;
    tiff::write(&dir.join("plain.tif"), WIDTH, HEIGHT, &eci, Compression::None, sixteen)?;
    png::write(&dir.join("eight.png"), WIDTH, HEIGHT, &srgb, eight)?;
    png::write(&dir.join("unmarked.png"), WIDTH, HEIGHT, &info(None), eight)?;
    png::write(&dir.join("sixteen.png"), WIDTH, HEIGHT, &eci, sixteen)?;
    jpeg::write(&dir.join("share.jpg"), WIDTH, HEIGHT, &smooth(), 95, Subsampling::Full, &srgb)?;
    dng::write(&dir.join("mosaic.dng"), &mosaic())?;
    for (name, profile) in [
        ("srgb.icc", icc::srgb()),
        ("eci.icc", icc::eci_rgb_v2()),
        ("linear-srgb.icc", icc::linear_srgb()),
        ("linear-eci.icc", icc::linear_eci_rgb()),
    ] {
        std::fs::write(dir.join(name), profile)?;
    }
    let expect = json!({
        "width": WIDTH, "height": HEIGHT, "px_per_mm": PX_PER_MM, "title": title,
        "description": "A harbour that never was", "software": "Fallside specimen",
        "make": "Testbench", "model": "Testbench 24", "lens": "Planted 60 mm",
        "exposure": "1/160", "f_number": 7.1, "iso": 200, "focal_mm": 60, "taken": "2026:02:14 19:05:33",
        "keywords": ["sea", "evening & quiet"],
    });
    std::fs::write(dir.join("expect.json"), serde_json::to_string_pretty(&expect)?)?;
    Ok(())
}
