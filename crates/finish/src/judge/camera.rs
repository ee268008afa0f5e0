//! The camera: square to the bed, in focus, correctly exposed?

use super::{Case, Concern};
use crate::finding::{Code, Finding};
use crate::measured::Side;
use base::wording::{degrees, length, percent, stops, stops_measured};

/// A lean under twice its own uncertainty is not distinguishable from none.
const SIGMAS: f64 = 2.0;

/// The concerns of this file, in the order of the findings.
pub(super) const CONCERNS: &[Concern] = &[tilt, focus, clipped_print, clipped_bed];
/// Those that are valid on white paper only.
pub(super) const OF_PAPER: &[Concern] = &[low];

fn tilt(case: &Case) -> Option<Finding> {
    let (x, y) = (case.m.tilt_x_deg?, case.m.tilt_y_deg?);
    let total = x.hypot(y);
    if total < SIGMAS * case.m.tilt_sigma_deg.unwrap_or(0.0) {
        return None;
    }
    case.finding(Code::CameraTilt, None, total, |limit| {
        // World axes: x to the image's right, y to its top, z up to the camera; right-handed turns. A turn about +x lifts
        // the camera's top side, a turn about +y lowers its right side. The low side is the one to raise.
        let low = [
            (x.abs(), if x > 0.0 { Side::Bottom } else { Side::Top }),
            (y.abs(), if y > 0.0 { Side::Right } else { Side::Left }),
        ];
        // A lesser lean of under a third of the whole is left to the next look.
        let parts: Vec<String> = low
            .iter()
            .filter(|(v, _)| *v > total / 3.0)
            .map(|(v, side)| {
                format!(
                    "towards the {} of the frame by {} ({} over 10 cm)",
                    side.word(),
                    degrees(*v),
                    length(100.0 * v.to_radians().tan())
                )
            })
            .collect();
        (
            format!("The camera leans {}; the limit {} is {}.", degrees(total), case.aim.phrase(), degrees(limit)),
            format!("Raise the camera's side {}.", parts.join(", and its side ")),
        )
    })
}

pub(super) fn focus(case: &Case) -> Option<Finding> {
    let (edge, scale) = (case.m.edge_px?, case.m.px_per_mm?);
    let mm = edge / scale;
    case.finding(Code::FocusSoft, None, mm, |limit| {
        (
            format!(
                "The sharpest edge is {} wide on the print; the limit {} is {}.",
                length(mm),
                case.aim.phrase(),
                length(limit)
            ),
            "Focus again on the print's border at full magnification, and let the stand settle before the flash."
                .into(),
        )
    })
}

fn worst(shares: [f64; 3]) -> (f64, &'static str) {
    let names = ["red", "green", "blue"];
    let i = (0..3).max_by(|&a, &b| shares[a].total_cmp(&shares[b])).unwrap_or(0);
    (shares[i], names[i])
}

fn clipped_print(case: &Case) -> Option<Finding> {
    let (value, channel) = worst(case.m.clipped_print?);
    case.finding(Code::ExposureClipped, Some("print"), value, |_| {
        (
            format!("{} of the print is at full scale in {channel}: its lightest tones are lost.", percent(value)),
            format!("Close the aperture or lower the flash by {} and take the frame again.", stops(correction(case))),
        )
    })
}

fn clipped_bed(case: &Case) -> Option<Finding> {
    let (value, channel) = worst(case.m.clipped_bed?);
    case.finding(Code::ExposureClipped, Some("bed"), value, |_| {
        (
            format!("{} of the bed is at full scale in {channel}: the light there cannot be measured.", percent(value)),
            format!("Close the aperture or lower the flash by {}.", stops(correction(case))),
        )
    })
}

/// Stops to close when something clips: how far over is not measurable, so one step that frees a bed at white with a third
/// of a stop to spare, and twice that where most of it clips.
fn correction(case: &Case) -> f64 {
    let most = case.m.clipped_bed.is_some_and(|s| worst(s).0 > 0.5);
    if most { 1.0 } else { 2.0 / 3.0 }
}

fn low(case: &Case) -> Option<Finding> {
    let below = case.m.bed_below_white_stops?;
    case.finding(Code::ExposureLow, None, below, |_| {
        // A bed half a stop under white leaves room for a glossy border's sheen.
        const AIM: f64 = 0.5;
        (
            format!("The bed is {} below white, so the shadows of the print are noisy.", stops_measured(below)),
            format!("Open the aperture or raise the flash by {}.", stops(below - AIM)),
        )
    })
}
