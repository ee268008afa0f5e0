//! Writes the picture of a print at every size, complete and in tiles: static files at the paths of IIIF Image API 3.0, level 0.
//!
//! The mount is read once. Each size is made from the one above in linear light, two by two, and encoded with dither at its end.

use super::sheet::Sheet;
use super::{Picture, Shown};
use crate::area::eight;
use crate::mount::{Mount, Rows};
use crate::{Error, Plate, Result};
use codec::jpeg::{self, Subsampling};
use codec::{Info, icc};
use pixels::colour::srgb_encode;
use pixels::encoder::Encoder;
use rayon::prelude::*;
use std::path::Path;

/// Side of a tile, pixels.
pub const TILE: usize = 512;
/// Quality at the full size, whose pixels are far finer than the eye: colour is halved both ways. The smaller sizes are looked at
/// pixel by pixel and keep all of it.
const CLOSE: u8 = 88;
const SHOWN: u8 = 90;

/// Writes the picture of a plate into `folder`, which is its own, and gives its facts.
///
/// # Errors
/// The mount cannot be read or does not match its report, or writing fails.
pub fn write(plate: &Plate, folder: &Path) -> Result<Picture> {
    let mount = Mount::read(plate)?;
    let sheet = Sheet::new(&mount, plate.px_per_mm);
    let (w, h) = sheet.size();
    let picture = Picture { name: plate.name.clone(), size: [w, h], px_per_mm: plate.px_per_mm };
    let encoder = Encoder::new(srgb_encode);
    let levels = picture.levels().len();
    let (mut rgb, mut half) = level(&sheet, &encoder);
    drop(mount);
    for n in 0..levels {
        put(&picture, n, &rgb, folder)?;
        if n + 1 < levels {
            (rgb, half) = level(&half, &encoder);
        }
    }
    Ok(picture)
}

/// Linear light, whole.
struct Light {
    size: (usize, usize),
    light: Vec<f32>,
}

impl Rows for Light {
    fn size(&self) -> (usize, usize) {
        self.size
    }
    fn row(&self, y: usize, from: usize, light: &mut [f32]) {
        let start = 3 * (y * self.size.0 + from);
        light.copy_from_slice(&self.light[start..start + light.len()]);
    }
}

/// A size as 8-bit sRGB, and the light of half of it: means of two by two, or of what there is at a ragged edge.
fn level(rows: &impl Rows, encoder: &Encoder) -> (Vec<u8>, Light) {
    let (w, h) = rows.size();
    let small = (w.div_ceil(2), h.div_ceil(2));
    let mut rgb = vec![0u8; 3 * w * h];
    let mut light = vec![0.0f32; 3 * small.0 * small.1];
    let pairs = rgb.par_chunks_mut(2 * 3 * w).zip(light.par_chunks_mut(3 * small.0));
    pairs.enumerate().for_each_init(
        || vec![0.0f32; 3 * w],
        |line, (j, (rgb, half))| {
            let share = if 2 * j + 1 < h { 0.5 } else { 1.0 };
            for (i, rgb) in rgb.chunks_exact_mut(3 * w).enumerate() {
                let y = 2 * j + i;
                rows.row(y, 0, line);
                let line = line.as_chunks::<3>().0;
                for (x, (out, px)) in rgb.as_chunks_mut::<3>().0.iter_mut().zip(line).enumerate() {
                    *out = if *px == [1.0; 3] { [255; 3] } else { px.map(|l| eight(l, encoder, x, y)) };
                }
                for (out, pair) in half.as_chunks_mut::<3>().0.iter_mut().zip(line.chunks(2)) {
                    let mean = |c: usize| if let [a, b] = pair { (a[c] + b[c]) * 0.5 } else { pair[0][c] };
                    (0..3).for_each(|c| out[c] += mean(c) * share);
                }
            }
        },
    );
    (rgb, Light { size: small, light })
}

/// Writes one size: its tiles, and the whole of it.
fn put(picture: &Picture, n: usize, rgb: &[u8], folder: &Path) -> Result<()> {
    let [w, h] = picture.levels()[n];
    let scale = 1 << n;
    let (quality, colour) = if n == 0 { (CLOSE, Subsampling::Quarter) } else { (SHOWN, Subsampling::Full) };
    let whole = || -> Result<()> {
        let info =
            Info { px_per_mm: Some(picture.px_per_mm / scale as f64), icc: Some(icc::srgb()), ..Info::default() };
        let size = if n == 0 { "max".to_owned() } else { format!("{w},{h}") };
        let bytes = jpeg::encode(w, h, rgb, quality, colour, Some(&info))?;
        file(folder, "full", &size, &bytes)
    };
    let tiles: Vec<(usize, usize)> =
        (0..h.div_ceil(TILE)).flat_map(|m| (0..w.div_ceil(TILE)).map(move |n| (n, m))).collect();
    let tile = |&(i, m): &(usize, usize)| -> Result<()> {
        let (x, y) = (i * TILE, m * TILE);
        let (tw, th) = (TILE.min(w - x), TILE.min(h - y));
        let mut part = Vec::with_capacity(3 * tw * th);
        (y..y + th).for_each(|y| part.extend_from_slice(&rgb[3 * (y * w + x)..3 * (y * w + x + tw)]));
        // Without a profile a viewer on a screen of more colours would show them too strong.
        let info = Info { icc: Some(icc::srgb()), ..Info::default() };
        let bytes = jpeg::encode(tw, th, &part, quality, colour, Some(&info))?;
        file(folder, &region(picture.size, scale, [i, m]), &format!("{tw},{th}"), &bytes)
    };
    let (one, all) = rayon::join(whole, || tiles.par_iter().try_for_each(tile));
    one.and(all)
}

/// The region of tile (i, m) at a scale, in pixels of the whole: `x,y,w,h`.
fn region([width, height]: [usize; 2], scale: usize, [i, m]: [usize; 2]) -> String {
    let step = TILE * scale;
    let (x, y) = (i * step, m * step);
    format!("{x},{y},{},{}", step.min(width - x), step.min(height - y))
}

fn file(folder: &Path, region: &str, size: &str, bytes: &[u8]) -> Result<()> {
    let place = folder.join(region).join(size).join("0");
    let wrote = std::fs::create_dir_all(&place).and_then(|()| std::fs::write(place.join("default.jpg"), bytes));
    wrote.map_err(|e| Error::Write(place, e))
}

impl Shown<'_> {
    /// Its pictures, the front first.
    pub fn pictures(&self) -> impl Iterator<Item = &Picture> {
        std::iter::once(&self.front).chain(&self.back)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The Image API's own arithmetic on 6000 by 4000 with tiles of 512 (docs/references.md, calculated).
    #[test]
    fn regions_end_at_the_edge() {
        assert_eq!(region([6000, 4000], 1, [11, 7]), "5632,3584,368,416");
        assert_eq!(region([6000, 4000], 8, [0, 0]), "0,0,4096,4000");
        assert_eq!(region([6000, 4000], 8, [1, 0]), "4096,0,1904,4000");
        let picture = Picture { name: "a".into(), size: [6000, 4000], px_per_mm: 10.0 };
        let tiles = |[w, h]: [usize; 2]| w.div_ceil(TILE) * h.div_ceil(TILE);
        assert_eq!(picture.levels().into_iter().map(tiles).collect::<Vec<_>>(), [96, 24, 6, 2, 1]);
    }

    #[test]
    fn halves_keep_their_light_and_ragged_edges_are_whole() {
        let light: Vec<f32> = (0..5 * 3).flat_map(|i| [if i == 14 { 0.0 } else { 1.0 }; 3]).collect();
        let (rgb, half) = level(&Light { size: (5, 3), light }, &Encoder::new(srgb_encode));
        assert_eq!(half.size, (3, 2));
        // The last pixel is alone in its corner.
        assert_eq!(half.light.iter().step_by(3).copied().collect::<Vec<_>>(), [1.0, 1.0, 1.0, 1.0, 1.0, 0.0]);
        assert_eq!(rgb[..3], [255; 3]);
        assert!(rgb[3 * 14] < 3);
    }
}
