//! A frame of the ruler sheet: recognised at the first look, and measured there, since its lens serves all frames.

use super::loaded_frame::LoadedFrame;
use crate::job::{Look, Ruled};
use crate::recipe::LensFacts;
use crate::report::{CameraFacts, Report};
use base::wording::round;
use print::ruler::{Ask, Reading, measure, recognise};

/// If the frame shows the ruler sheet, the look records the measurements or why they failed.
pub(super) fn shown(sight: &LoadedFrame, look: &mut Look) {
    if recognise(&sight.frame).is_err() {
        return;
    }
    (look.ruler_score, look.chart_score) = (1.0, 0.0);
    match measure(&sight.frame, &Ask { focal_px: sight.focal_px, ..Ask::default() }) {
        Ok(reading) => look.ruled = Some(ruled(&reading)),
        Err(why) => look.ruler_fault = Some(why.to_string()),
    }
}

fn ruled(r: &Reading) -> Ruled {
    let lens = &r.place.lens;
    Ruled {
        lens: LensFacts {
            k1: round(lens.k[0], 1e6),
            k2: round(lens.k[1], 1e6),
            k1_error: round(r.place.lens_error[0], 1e6),
            principal_point_px: [round(lens.centre.x, 1e2), round(lens.centre.y, 1e2)],
            frame_px: [r.frame.0, r.frame.1],
        },
        tilt_deg: [round(r.stand.tilt_x_deg.value, 1e4), round(r.stand.tilt_y_deg.value, 1e4)],
        tilt_error_deg: round(r.stand.tilt_x_deg.error.max(r.stand.tilt_y_deg.error), 1e4),
        px_per_mm: round(r.stand.px_per_mm.value, 1e4),
        squares: r.squares,
    }
}

/// Writes the measurements of the sheet into the report of its frame.
pub(super) fn write_down(report: &mut Report, look: &Look) {
    if let Some(why) = &look.ruler_fault {
        report.notes.push(format!("The ruler sheet was not used: {why}."));
    }
    let Some(r) = &look.ruled else { return };
    report.camera = Some(CameraFacts {
        px_per_mm: r.px_per_mm,
        tilt_x_deg: Some(r.tilt_deg[0]),
        tilt_y_deg: Some(r.tilt_deg[1]),
        tilt_sigma_deg: Some(r.tilt_error_deg),
        rotation_deg: None,
    });
    report.notes.push(format!(
        "{} squares of the ruler sheet measure the lens: k1 {:.4} (± {:.4}), k2 {:.4}, in half diagonals.",
        r.squares, r.lens.k1, r.lens.k1_error, r.lens.k2
    ));
}
