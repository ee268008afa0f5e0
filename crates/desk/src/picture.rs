//! Pictures for the page, in the sizes it asks for: reduced in linear light, in sRGB, kept beside the project.

use super::read::short;
use base::Failure;
use base::files::MARK;
use codec::{Info, Limits, icc, jpeg};
use correct::mount::Encoder;
use finish::frame::make::{eight, in_srgb};
use pixels::colour::srgb_encode;
use pixels::resize::{Columns, Lines, Reducer};
use project::Project;
use project::catalogue::Frame;
use rayon::prelude::*;
use std::path::{Path, PathBuf};

/// Widths that are made, pixels.
pub const WIDTHS: [usize; 4] = [320, 640, 1280, 2560];
/// Longer side of the pictures that finishing makes for pages.
const PREVIEW: usize = 1200;
/// Rows reduced side by side.
const ROWS: usize = 64;
/// Folder of pictures made for the page, in the project's own folder of what can be made again.
const FOLDER: &str = "pictures";

/// What a picture is made from, and where it is kept.
#[derive(Clone, Debug)]
pub struct Sight {
    /// Files to make it from, the smallest first, with their longer sides where these are known.
    sources: Vec<(PathBuf, usize)>,
    /// Its name among the pictures, without its width.
    name: String,
    folder: PathBuf,
}

impl Sight {
    /// What there is of a frame: of its mount, or of the frame as it was shot.
    pub(super) fn of(project: &Project, frame: &Frame, mount: bool) -> Option<Self> {
        let result = frame.result.as_ref()?;
        let place = |p: &Option<String>| p.as_deref().and_then(|p| project.inside(p));
        let sources = if mount {
            let share = place(&result.share).map(|p| (p, 1600));
            let preview = place(&result.after).map(|p| (p, PREVIEW));
            [preview, share, place(&result.mount).map(|p| (p, usize::MAX))]
        } else {
            let original = Some(project.original(frame)).filter(|p| p.is_file()).map(|p| (p, usize::MAX));
            [place(&result.before).map(|p| (p, PREVIEW)), original, None]
        };
        let sources: Vec<_> = sources.into_iter().flatten().collect();
        let kind = if mount { "mount" } else { "frame" };
        let stamp = if mount { short(&result.recipe) } else { short(&frame.blake3) };
        // A catalogue that somebody sent may say anything: the name leads nowhere.
        let stamp: String = stamp.chars().filter(char::is_ascii_alphanumeric).collect();
        let folder = project.folder().join(MARK).join(FOLDER);
        (!sources.is_empty()).then(|| Self { sources, name: format!("{}-{stamp}-{kind}", frame.id.0), folder })
    }

    /// The picture as a JPEG, at most `width` pixels on its longer side; kept for the next time if `keep`.
    ///
    /// # Errors
    /// It cannot be read or made.
    pub fn jpeg(&self, width: usize, keep: bool) -> Result<Vec<u8>, Failure> {
        let width = WIDTHS.into_iter().find(|w| *w >= width).unwrap_or(WIDTHS[3]);
        let place = self.folder.join(format!("{}-{width}.jpg", self.name));
        if let Ok(bytes) = base::files::regular::read(&place) {
            return Ok(bytes);
        }
        // A preview is as good as a picture a fifteenth wider.
        let enough = |side: usize| side as f64 >= 0.93 * width as f64;
        let (source, side) = self.sources.iter().find(|s| enough(s.1)).unwrap_or(&self.sources[self.sources.len() - 1]);
        if *side <= width {
            return base::files::regular::read(source).map_err(|e| Failure::reading(&e));
        }
        let made = if keep { std::fs::create_dir_all(&self.folder).is_ok() } else { false };
        if made && reduce(source, width, &place).is_ok() {
            return base::files::regular::read(&place).map_err(|e| Failure::reading(&e));
        }
        // Where nothing can be kept the picture is made all the same.
        let aside = tempfile::tempdir().map_err(|e| Failure::writing(&self.folder, &e))?;
        let place = aside.path().join("picture.jpg");
        reduce(source, width, &place)?;
        base::files::regular::read(&place).map_err(|e| Failure::reading(&e))
    }
}

/// Writes a file's picture, reduced.
fn reduce(source: &Path, width: usize, place: &Path) -> Result<(), Failure> {
    let frame = codec::read(source, &Limits::default())?.frame;
    let from = (frame.width, frame.height);
    let size = Reducer::fit(from, width);
    let columns = Columns::new(from.0, size.0);
    let row = |y: usize| -> Vec<f32> {
        columns.reduced(&(0..frame.width).flat_map(|x| frame.linear(x, y)).collect::<Vec<_>>())
    };
    let mut lines = Lines::new(from.1, size.1, 3 * size.0);
    let mut light = Vec::with_capacity(3 * size.0 * size.1);
    for top in (0..frame.height).step_by(ROWS) {
        let rows: Vec<Vec<f32>> = (top..(top + ROWS).min(frame.height)).into_par_iter().map(row).collect();
        rows.iter().for_each(|row| lines.feed(row, |v| v, |sum| light.extend_from_slice(sum)));
    }
    in_srgb(&frame.encoding.primaries, &mut light);
    let rgb = eight(&light, size.0, &Encoder::new(srgb_encode));
    let info = Info { icc: Some(icc::srgb()), ..Info::default() };
    Ok(jpeg::write(place, size.0, size.1, &rgb, 86, jpeg::Subsampling::Full, &info)?)
}
