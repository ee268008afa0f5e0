//! The appearance of a finished print, read from its small picture, to distinguish prints and to detect blank backs.

use super::{Project, Result};
use catalogue::colour::{MainColours, main_colours, of_linear};
use codec::Limits;
use finish::read_report;
use finish::report::Report;
use geometry::{Homography, Quad, point};
use pixels::Plane;
use print::fingerprint::{Face, PER_MM};
use std::path::Path;

/// The face of the print that a report tells of; `None` where it has no picture or its format no window.
pub(super) fn face(place: &Path) -> Option<Face> {
    face_of(&read_report(place)?, place)
}

/// As [`face`], of a report at hand; `place` is where its file lies.
pub(super) fn face_of(report: &Report, place: &Path) -> Option<Face> {
    let print = report.print.as_ref()?;
    let format = print::format::known().into_iter().find(|f| f.name == print.format)?;
    let light = light(report, place, format.outer)?;
    Some(Face::new(&light, [format.inset.0, format.inset.1, format.window.0, format.window.1]))
}

/// `blank` or `marked`: whether anything is on a back; empty where it cannot be told.
pub(super) fn marks(report: &Report, place: &Path) -> &'static str {
    let size = report.print.as_ref().map(|p| (p.size_mm[0], p.size_mm[1]));
    match size.and_then(|s| light(report, place, s)) {
        Some(light) if print::marks::share(&light, PER_MM) < print::marks::BLANK => "blank",
        Some(_) => "marked",
        None => "",
    }
}

/// The main colours of the picture that the report at `place` tells of; none where it cannot be read.
pub(super) fn colours(place: &Path) -> MainColours {
    read_report(place).map(|report| colours_of(&report, place)).unwrap_or_default()
}

/// As [`colours`], of a report at hand: of samples across the window, or across the middle of a print without one.
pub(super) fn colours_of(report: &Report, place: &Path) -> MainColours {
    // Enough that a tenth of the picture is a hundred samples.
    const ACROSS: usize = 32;
    let read = || {
        let (print, canvas) = (report.print.as_ref()?, report.canvas.as_ref()?);
        let preview = report.previews.as_ref().and_then(|p| p.after.as_ref()).unwrap_or(&canvas.mount);
        let preview = base::files::is_below(place.parent()?.parent()?, &place.parent()?.join(preview))?;
        let frame = codec::read(&preview, &Limits::default()).ok()?.frame;
        let scale = frame.width as f64 / canvas.width_px as f64;
        let corners = canvas.print_px.map(|[x, y]| point(x * scale, y * scale));
        let format = print::format::known().into_iter().find(|f| f.name == print.format);
        let (w, h) = format.as_ref().map_or((print.size_mm[0], print.size_mm[1]), |f| f.outer);
        let (left, top, wide, high) = format
            .as_ref()
            .map_or((0.1 * w, 0.1 * h, 0.8 * w, 0.8 * h), |f| (f.inset.0, f.inset.1, f.window.0, f.window.1));
        let frame_from_print = Homography::from_points(&Quad::rectangle(w, h).0, &corners)?;
        let mut samples = vec![];
        for i in 0..ACROSS * ACROSS {
            let (u, v) = ((i % ACROSS) as f64 + 0.5, (i / ACROSS) as f64 + 0.5);
            let p = point(left + u / ACROSS as f64 * wide, top + v / ACROSS as f64 * high);
            let p = frame_from_print.apply(p);
            if p.x >= 0.0 && p.y >= 0.0 && (p.x as usize) < frame.width && (p.y as usize) < frame.height {
                let light = frame.linear(p.x as usize, p.y as usize);
                samples.push(of_linear([f64::from(light[0]), f64::from(light[1]), f64::from(light[2])]));
            }
        }
        Some(main_colours(&samples))
    };
    read().unwrap_or_default()
}

/// Learns the main colours of fronts that came in before colours were kept, at most `most` of them; gives how many are left. Reading
/// one costs about 20 ms.
///
/// # Errors
/// The catalogue cannot be read or written.
pub fn learn_colours(project: &mut Project, most: usize) -> Result<usize> {
    let due = project.catalogue().frames_without_colours()?;
    let some = &due[..most.min(due.len())];
    let mut known = vec![];
    for frame in some {
        let report = frame.result.as_ref().and_then(|r| project.inside(&r.report));
        let mut found = report.as_deref().map(colours).unwrap_or_default();
        if found.is_empty() {
            // Its picture cannot be read: a colour of no share is near none, and it is not asked again.
            found.push(([0.0; 3], 0.0));
        }
        known.push((frame.id, found));
    }
    project.catalogue.learn_colours(&known)?;
    Ok(due.len() - some.len())
}

/// Linear light over the print's outer rectangle at [`PER_MM`].
///
/// The preview is reduced from the mount, 1200 pixels long, so a print has 8 to 15 pixels to a millimetre in it: twice what
/// is asked, for a hundredth of the time that the mount takes to read.
fn light(report: &Report, place: &Path, outer: (f64, f64)) -> Option<Plane> {
    let canvas = report.canvas.as_ref()?;
    let preview = report.previews.as_ref().and_then(|p| p.after.as_ref()).unwrap_or(&canvas.mount);
    // A report from somebody else may name files anywhere.
    let preview = base::files::is_below(place.parent()?.parent()?, &place.parent()?.join(preview))?;
    let frame = codec::read(&preview, &Limits::default()).ok()?.frame;
    let scale = frame.width as f64 / canvas.width_px as f64;
    let corners = canvas.print_px.map(|[x, y]| point(x * scale, y * scale));
    let (w, h) = ((outer.0 * PER_MM).round(), (outer.1 * PER_MM).round());
    let frame_from_face = Homography::from_points(&Quad::rectangle(w, h).0, &corners)?;
    // Green alone: the densest-sampled channel, and near enough to lightness.
    let green = Plane::from_fn(frame.width, frame.height, |x, y| frame.linear(x, y)[1]);
    // A mean over about one sample's area keeps detail finer than the samples from showing as something else.
    let px_per_sample = scale * canvas.px_per_mm / PER_MM;
    let soft = pixels::filter::box_mean(&green, ((px_per_sample - 1.0) / 2.0).round().max(0.0) as usize);
    Some(Plane::from_fn(w as usize, h as usize, |x, y| {
        let p = frame_from_face.apply(point(x as f64 + 0.5, y as f64 + 0.5));
        soft.bilinear(p.x, p.y)
    }))
}
