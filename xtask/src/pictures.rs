//! The README's pictures, made from a finished demonstration box: frames as shot beside their mounts, and the page.

use codec::{Info, Limits, icc, jpeg};
use pixels::colour::srgb_encode;
use pixels::resize::Reducer;
use std::path::Path;

/// Frames of the box shown beside their mounts: a white border on white paper, and a black one.
const SHOWN: [&str; 2] = ["F0104", "F0108"];
/// Height of a frame on its sheet, and width of the page, pixels: sharp on a README's column of about 900.
const HEIGHT: usize = 480;
const PAGE_WIDTH: usize = 1200;
/// Between and around pictures, pixels, and the neutral grey that the page itself has there.
const GAP: usize = 20;
const GROUND: u8 = 0xE8;
/// No picture in the repository is larger, bytes.
const MOST: u64 = 200_000;

/// An 8-bit sRGB picture.
struct Sheet {
    width: usize,
    height: usize,
    rgb: Vec<u8>,
}

/// Makes every picture from `demo`, the folder of `fallside demo`, and `screen`, a picture of its page, into `out`.
pub fn pictures(demo: &Path, screen: &Path, out: &Path) -> Result<String, String> {
    let previews = demo.join("finished/previews");
    let read = |name: String| Sheet::read(&previews.join(name), |_, h| h as f64 / HEIGHT as f64);
    let pair = |stem: &str| Ok(vec![read(format!("{stem}.before.jpg"))?, read(format!("{stem}.after.jpg"))?]);
    let rows = SHOWN.iter().map(|s| pair(s)).collect::<Result<Vec<_>, String>>()?;
    let page = Sheet::read(screen, |w, _| w as f64 / PAGE_WIDTH as f64)?;
    std::fs::create_dir_all(out).map_err(|e| format!("{}: {e}", out.display()))?;
    Sheet::laid_out(&rows).write(&out.join("frames-and-mounts.jpg"))?;
    page.write(&out.join("page.jpg"))?;
    Ok(format!("2 pictures written into {}.", out.display()))
}

impl Sheet {
    /// A picture file reduced in linear light; `factor` tells from its size how many times smaller.
    fn read(path: &Path, factor: impl Fn(usize, usize) -> f64) -> Result<Self, String> {
        let frame = codec::read(path, &Limits::default()).map_err(|e| e.to_string())?.frame;
        let (w, h) = (frame.width, frame.height);
        let k = factor(w, h).max(1.0);
        let size = |n: usize| ((n as f64 / k).round() as usize).max(1);
        let mut reducer = Reducer::new((w, h), (size(w), size(h)));
        for y in 0..h {
            reducer.feed(&(0..w).flat_map(|x| frame.linear(x, y)).collect::<Vec<_>>(), |v| v);
        }
        let ((width, height), light) = reducer.finish();
        let code = |l: f32| (srgb_encode(f64::from(l.clamp(0.0, 1.0))) * 255.0).round() as u8;
        Ok(Self { width, height, rgb: light.into_iter().map(code).collect() })
    }

    /// Rows of pictures on the neutral ground, each row from the left.
    fn laid_out(rows: &[Vec<Sheet>]) -> Self {
        let across = |row: &Vec<Sheet>| row.iter().map(|s| s.width + GAP).sum::<usize>() + GAP;
        let down = |row: &Vec<Sheet>| row.iter().map(|s| s.height).max().unwrap_or(0) + GAP;
        let width = rows.iter().map(across).max().unwrap_or(0);
        let height = rows.iter().map(down).sum::<usize>() + GAP;
        let mut sheet = Self { width, height, rgb: vec![GROUND; 3 * width * height] };
        let mut y = GAP;
        for row in rows {
            let mut x = GAP;
            for picture in row {
                sheet.lay(picture, x, y);
                x += picture.width + GAP;
            }
            y += down(row);
        }
        sheet
    }

    fn lay(&mut self, picture: &Sheet, x: usize, y: usize) {
        for (j, line) in picture.rgb.chunks_exact(3 * picture.width).enumerate() {
            let at = 3 * ((y + j) * self.width + x);
            self.rgb[at..at + line.len()].copy_from_slice(line);
        }
    }

    /// Writes a JPEG at the best of a few qualities that keeps it small.
    fn write(&self, path: &Path) -> Result<(), String> {
        let info = Info { icc: Some(icc::srgb()), ..Info::default() };
        for quality in [92, 86, 80, 72] {
            jpeg::write(path, self.width, self.height, &self.rgb, quality, jpeg::Subsampling::Full, &info)
                .map_err(|e| e.to_string())?;
            if std::fs::metadata(path).map_err(|e| e.to_string())?.len() <= MOST {
                return Ok(());
            }
        }
        Err(format!("{} stays over {MOST} bytes.", path.display()))
    }
}
