//! One frame through the work: until prints are found here, every readable frame counts as a bare bed.

use crate::job::{Finished, FrameError, FrameJob, Look, Work};
use crate::report::{CameraWords, FrameFacts, Previews, Report};
use codec::{Decoded, Info, Limits, Metadata, jpeg};
use pixels::{Frame, colour::srgb_encode};
use std::path::Path;

/// Longer side of a preview, pixels: half a desk screen, so that frame and mount stand side by side.
const PREVIEW_PX: usize = 1200;

/// The real work.
#[derive(Clone, Copy, Debug, Default)]
pub struct Frames;

impl Work for Frames {
    fn look(&self, path: &Path) -> Result<Look, FrameError> {
        let decoded = codec::read(path, &Limits::default())?;
        let frame = &decoded.frame;
        let small = frame.reduce((frame.width.min(frame.height) / 200).max(1));
        let green = &small.0[1].data;
        let mean_level = green.iter().map(|&v| f64::from(v)).sum::<f64>() / green.len().max(1) as f64;
        Ok(Look {
            width: frame.width,
            height: frame.height,
            mean_level,
            exif: words(&decoded.metadata),
            ..Look::default()
        })
    }

    fn finish(&self, job: &FrameJob) -> Result<Finished, FrameError> {
        let decoded = codec::read(&job.path, &Limits::default())?;
        preview(&decoded.frame, &job.outputs.before.part)?;
        let mut report = Report::of(facts(job, &decoded), job.recipe.clone());
        report.previews = Some(Previews { before: job.outputs.before.name.clone(), after: None });
        report.notes = decoded.notes;
        Ok(Finished { report })
    }
}

fn facts(job: &FrameJob, decoded: &Decoded) -> FrameFacts {
    FrameFacts {
        path: job.path_in_report.clone(),
        blake3: job.blake3.clone(),
        width_px: decoded.frame.width,
        height_px: decoded.frame.height,
        role: job.role,
        role_reason: job.role_reason.clone(),
        encoding: if decoded.frame.encoding.display_referred { "camera" } else { "linear-srgb" }.into(),
        bits: Some(decoded.frame.bits()),
        exif: words(&decoded.metadata),
    }
}

/// The camera's words as a report holds them.
fn words(m: &Metadata) -> CameraWords {
    let camera = [m.make.as_deref(), m.model.as_deref()].into_iter().flatten().collect::<Vec<_>>().join(" ");
    CameraWords {
        camera: (!camera.is_empty()).then_some(camera),
        lens: m.lens.clone(),
        taken: m.taken.as_deref().map(|t| t.replacen(':', "-", 2).replace(' ', "T")),
        exposure_s: m.exposure_s,
        f_number: m.f_number,
        iso: m.iso.map(f64::from),
        focal_mm: m.focal_length_mm,
        orientation: m.orientation.map(u32::from),
    }
}

/// The frame as stored, reduced, in its own primaries.
fn preview(frame: &Frame, path: &Path) -> Result<(), FrameError> {
    let small = frame.reduce(frame.width.max(frame.height).div_ceil(PREVIEW_PX));
    let (w, h) = (small.width(), small.height());
    let code = |v: f32| (srgb_encode(f64::from(v.clamp(0.0, 1.0))) * 255.0).round() as u8;
    let rgb: Vec<u8> = (0..w * h).flat_map(|i| [0, 1, 2].map(|c| code(small.0[c].data[i]))).collect();
    let info = Info { icc: Some(codec::icc::srgb()), ..Info::default() };
    Ok(jpeg::write(path, w, h, &rgb, 85, jpeg::Subsampling::Full, &info)?)
}
