//! Bare beds and charts with known truth, made by a general-purpose physically based renderer, which lie beside the repository in
//! `../shared/truth` (or where `FALLSIDE_TRUTH` says); none is copied here, and nothing was fitted to them.

use rig::check::{Request, check};
use serde_json::Value;
use std::path::{Path, PathBuf};

/// Where the frames with known truth lie; `None`, said aloud, where they do not.
fn rigs() -> Option<Vec<PathBuf>> {
    let said = std::env::var_os("FALLSIDE_TRUTH").map(PathBuf::from);
    let truth = said.unwrap_or_else(|| Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/truth"));
    let mut all: Vec<PathBuf> =
        std::fs::read_dir(truth.join("rigs")).into_iter().flatten().flatten().map(|e| e.path()).collect();
    all.sort();
    if all.is_empty() {
        eprintln!("no frames with known truth at {}: nothing was tested", truth.display());
        return None;
    }
    Some(all)
}

fn json(path: &Path) -> Value {
    serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap()
}

/// A TIFF of 32-bit floats in deflated strips without a predictor, little end first (TIFF 6.0): width, height, samples.
fn floats(path: &Path) -> (usize, usize, Vec<f32>) {
    let d = std::fs::read(path).unwrap();
    let at = |o: usize, n: usize| d[o..o + n].iter().rev().fold(0usize, |a, b| a << 8 | usize::from(*b));
    let first = at(4, 4);
    let tag = |tag: usize| -> Vec<usize> {
        let entry = (0..at(first, 2)).map(|i| first + 2 + 12 * i).find(|&e| at(e, 2) == tag);
        let Some(e) = entry else { return vec![] };
        let size = if at(e + 2, 2) == 3 { 2 } else { 4 };
        let n = at(e + 4, 4);
        let start = if n * size <= 4 { e + 8 } else { at(e + 8, 4) };
        (0..n).map(|i| at(start + size * i, size)).collect()
    };
    assert_eq!((tag(259), tag(317)), (vec![8], vec![]), "{}", path.display());
    let (w, h, rows, bands) = (tag(256)[0], tag(257)[0], tag(278)[0], tag(277)[0]);
    let mut out = vec![];
    for (k, (&offset, &n)) in tag(273).iter().zip(&tag(279)).enumerate() {
        let mut strip = vec![0u8; rows.min(h - k * rows) * w * bands * 4];
        libdeflater::Decompressor::new().zlib_decompress(&d[offset..offset + n], &mut strip).unwrap();
        out.extend(strip.chunks_exact(4).map(|b| f32::from_le_bytes(b.try_into().unwrap())));
    }
    assert_eq!(out.len(), w * h * bands);
    (w, h, out.chunks_exact(bands).map(|p| p.iter().sum::<f32>() / bands as f32).collect())
}

/// The bar of "The rig": light azimuth within 5 degrees, the map within 0.02 stop of illumination times vignette.
#[test]
fn lights_and_maps_are_the_rigs() {
    for rig in rigs().into_iter().flatten() {
        let facts = json(&rig.join("rig.json"));
        for side in ["A", "B"] {
            let blank = rig.join(format!("blank_{side}.jpg"));
            let light = &facts["parameters"]["lights"][side];
            if !blank.exists() {
                continue;
            }
            let answer = check(&Request { inputs: vec![], blanks: vec![blank.clone()], ..Request::default() });
            let b = answer.blank.unwrap_or_else(|| panic!("{:?}", answer.problems));
            let azimuth = b.light_azimuth_deg.unwrap();
            let off = (azimuth.value + light["azimuth_deg"].as_f64().unwrap() + 180.0).rem_euclid(360.0) - 180.0;
            let (w, h, illum) = floats(&rig.join(format!("illum_{side}.tif")));
            let (_, _, lens) = floats(&rig.join("vignette.tif"));
            let size = [
                facts["parameters"]["camera"]["width"].as_f64().unwrap(),
                facts["parameters"]["camera"]["height"].as_f64().unwrap(),
            ];
            let block = facts["blank"][side]["illum_downscale"].as_f64().unwrap_or(size[0] / w as f64).round();
            // Truth at the map's cells, straight between the blocks' middles.
            let truth = |i: usize, j: usize| {
                let (x, y) =
                    ((i as f64 + 0.5) * size[0] / b.map.columns as f64, (j as f64 + 0.5) * size[1] / b.map.rows as f64);
                let (u, v) =
                    ((x / block - 0.5).clamp(0.0, w as f64 - 1.001), (y / block - 0.5).clamp(0.0, h as f64 - 1.001));
                let (i, j) = (u as usize, v as usize);
                let (s, t) = (u - i as f64, v - j as f64);
                let at = |i: usize, j: usize| f64::from(illum[j * w + i] * lens[j * w + i]);
                (at(i, j) * (1.0 - s) + at(i + 1, j) * s) * (1.0 - t)
                    + (at(i, j + 1) * (1.0 - s) + at(i + 1, j + 1) * s) * t
            };
            let cells: Vec<(f64, f64)> = (0..b.map.rows)
                .flat_map(|j| (0..b.map.columns).map(move |i| (i, j)))
                .map(|(i, j)| (b.map.stops[j][i], truth(i, j).log2()))
                .collect();
            // A map has no level of its own.
            let level = cells.iter().map(|c| c.0 - c.1).sum::<f64>() / cells.len() as f64;
            let worst = cells.iter().map(|c| (c.0 - c.1 - level).abs()).fold(0.0, f64::max);
            let elevation = b.elevation_taken_deg.unwrap();
            eprintln!(
                "{}: azimuth off by {off:.2} ± {:.2}, map by {worst:.4} stop at worst; elevation {:.0} ± {:.0}, truth {:.0}; {} specks",
                blank.display(),
                azimuth.error.unwrap(),
                elevation.value,
                elevation.error.unwrap(),
                light["elevation_deg"].as_f64().unwrap(),
                b.specks
            );
            assert!(off.abs() < 5.0, "{}: azimuth {azimuth:?} off by {off}", blank.display());
            assert!(worst < 0.02, "{}: the map is off by {worst} stop", blank.display());
            // Their paper has fibre and no dirt.
            assert!(b.specks < 5, "{}: {} specks", blank.display(), b.specks);
        }
    }
}

/// The bar of "The rig": mean CIEDE2000 under 1; each patch by a fit that did not see it, which is the stricter reading.
#[test]
fn charts_are_met() {
    for rig in rigs().into_iter().flatten() {
        let answer = check(&Request {
            blanks: vec![rig.join("blank_A.jpg")],
            chart: Some(rig.join("checker_A.jpg")),
            chart_values: Some(rig.join("chart.txt")),
            ..Request::default()
        });
        let c = answer.chart.unwrap_or_else(|| panic!("{:?}", answer.problems));
        eprintln!("{}: {:.2} in the mean, {:.2} unseen", rig.display(), c.delta_e_mean.value, c.unseen_mean.value);
        assert!(c.delta_e_mean.value < 1.0 && c.unseen_mean.value < 1.0, "{}: {c:?}", rig.display());
        assert_eq!(c.patches, c.of);
    }
}
