//! The surface of the print and the bed under it: reflections, curl, show-through.

use super::{Case, Concern};
use crate::finding::{Code, Finding, Severity};
use base::wording::{length, percent, share, two};

/// The concerns of this file, in the order of the findings.
pub(super) const CONCERNS: &[Concern] = &[veil, curl];
/// Those that are valid on white paper only.
pub(super) const OF_PAPER: &[Concern] = &[show_through];

fn veil(case: &Case) -> Option<Finding> {
    let value = case.m.veil?;
    case.finding(Code::Veil, None, value, |_| {
        let remedy = "Look at the window from the lens: shade what it mirrors with a black card, or move the print 3 cm to the side.";
        (format!("The window mirrors something bright over {} of the picture.", share(value)), remedy.into())
    })
}

fn curl(case: &Case) -> Option<Finding> {
    let value = case.m.curl_mm?;
    // The bend of a strongly blurred edge cannot be measured.
    if super::camera::focus(case).is_some_and(|f| f.severity != Severity::Note) {
        return None;
    }
    case.finding(Code::Curl, None, value, |_| {
        // Focus at a third to half of the lift shares the depth of field between bed and highest edge.
        let focus = format!("Focus about {} above the bed", length(0.4 * value));
        let aperture = case
            .m
            .f_number
            .map(|n| format!(" and close from f/{} to f/{}", two(n), two(next_stop(n))))
            .unwrap_or_else(|| " and close the aperture by 1 stop".to_owned());
        let give = case.m.curl_sigma_mm.map(|s| format!(" (± {})", length(s))).unwrap_or_default();
        (
            format!("The print lifts {} off the bed{give}.", length(value)),
            format!(
                "{focus}{aperture}. Do not press it flat; if its layers part or crack, ask a photograph conservator."
            ),
        )
    })
}

/// The aperture one stop smaller, as lenses mark it (5.6, 8, 11, 16: powers of √2 rounded).
fn next_stop(n: f64) -> f64 {
    const MARKED: [f64; 9] = [1.4, 2.0, 2.8, 4.0, 5.6, 8.0, 11.0, 16.0, 22.0];
    MARKED.into_iter().find(|m| *m > n * 1.2).unwrap_or(n * std::f64::consts::SQRT_2)
}

pub(super) fn not_paper(case: &Case) -> Option<Finding> {
    let value = case.m.bed_returns?;
    case.finding(Code::BedNotPaper, None, value, |_| {
        (
            format!(
                "The print does not lie on white paper: the bed reflects {} of what the print's white does. The print \
                 is straightened as well as on paper, but its light is not evened, its colour is the camera's, and its \
                 shadow shows the grain of the bed.",
                percent(value)
            ),
            "For a mount on white, lay a sheet of white paper under the print and take the frame again.".into(),
        )
    })
}

fn show_through(case: &Case) -> Option<Finding> {
    let value = case.m.show_through?;
    case.finding(Code::BedShowThrough, None, value, |limit| {
        (
            format!(
                "Something under the bed shows through with {} contrast; the limit {} is {}.",
                percent(value),
                case.aim.phrase(),
                percent(limit)
            ),
            "Put a second sheet or a white board under the paper.".into(),
        )
    })
}
