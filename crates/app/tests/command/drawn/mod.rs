//! Frames drawn for tests of the command, as a camera would have written them.

use codec::{Info, Metadata, png};
use pixels::Samples;
use scene::Scene;
use std::path::Path;

/// Seven pixels to the millimetre: the ruler's codes are read and a print is found.
const SIZE: (usize, usize) = (1200, 800);

/// Draws a frame; `minute` is when it was taken, `f_number` what the camera wrote.
pub fn shoot(folder: &Path, name: &str, scene: &Scene, minute: u32, f_number: f64) {
    shoot_as(folder, name, scene, minute, f_number, <[u8]>::to_vec);
}

/// The same with each row of pixels as `row` makes it of what was drawn.
pub fn shoot_as(folder: &Path, name: &str, scene: &Scene, minute: u32, f_number: f64, row: impl Fn(&[u8]) -> Vec<u8>) {
    std::fs::create_dir_all(folder).unwrap();
    let drawn = scene::render(scene, SIZE.0, SIZE.1).frame;
    let Samples::U8(code) = &drawn.samples else { panic!("eight bits were asked for") };
    let code: Vec<u8> = code.chunks_exact(3 * SIZE.0).flat_map(row).collect();
    let original = Metadata {
        f_number: Some(f_number),
        iso: Some(100),
        focal_length_mm: Some(scene.rig.camera.focal.to_mm()),
        focal_length_35_mm: Some(scene.rig.camera.focal_px() / 3000.0 * 36.0),
        taken: Some(format!("2026:11:07 20:{minute:02}:00")),
        ..Metadata::default()
    };
    let info = Info { icc: Some(codec::icc::srgb()), original: Some(original), ..Info::default() };
    let (w, h) = SIZE;
    png::write(&folder.join(name), w, h, &info, |rows| code[rows.start * w * 3..rows.end * w * 3].to_vec()).unwrap();
}
