//! The appearance of a finished print, read from its small picture, to distinguish prints and to detect blank backs.

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
