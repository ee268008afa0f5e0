//! The light: even, of one colour, and unchanged since the blank?

use super::{Case, Concern};
use crate::finding::{Code, Finding, Severity};
use crate::limit::limit;
use crate::measured::Side;
use base::wording::{length, stops, stops_measured, two};
use optics::small_lamp::{stops_lost, times_farther};

/// The concerns of this file, which are valid on white paper only, in the order of the findings.
pub(super) const OF_PAPER: &[Concern] = &[fall_off, mixed, stale_blank];

fn fall_off(case: &Case) -> Option<Finding> {
    let value = case.m.fall_off_stops?;
    let target = limit(Code::LightFallOff, None).steps(case.aim)[0].unwrap_or(value);
    let mut finding = case.finding(Code::LightFallOff, None, value, |limit| {
        let towards = case
            .m
            .light_azimuth_deg
            .map(|a| format!(" and is brightest towards the {}", Side::towards(a).word()))
            .unwrap_or_default();
        (
            format!(
                "The light falls off by {} across the print{towards}; the limit {} is {}.",
                stops_measured(value),
                case.aim.phrase(),
                stops_measured(limit)
            ),
            farther(case.m.light_distance_mm, times_farther(value, target)),
        )
    })?;
    // A blank knows the light, so evening is sure and only its noise is left.
    if case.m.evened_by_blank {
        finding.severity = Severity::Note;
    }
    Some(finding)
}

/// The move that takes the flash `ratio` times as far, and the light that it costs.
fn farther(distance_mm: Option<f64>, ratio: f64) -> String {
    let nice = |mm: f64| (mm / 50.0).round() * 50.0;
    match distance_mm {
        Some(from) => {
            let to = nice(from * ratio).max(nice(from) + 50.0);
            format!(
                "Move the flash from about {} to about {} and open {}.",
                length(from),
                length(to),
                stops(stops_lost(from, to))
            )
        }
        None => {
            format!(
                "Move the flash to about {} times its distance and open {}.",
                two(ratio),
                stops(stops_lost(1.0, ratio))
            )
        }
    }
}

fn mixed(case: &Case) -> Option<Finding> {
    let value = case.m.mixed_delta_e?;
    case.finding(Code::LightMixed, None, value, |limit| {
        (
            format!(
                "Two lights of different colour reach the bed: its colour changes by {} ΔE across the print; the \
                     limit {} is {}.",
                two(value),
                case.aim.phrase(),
                two(limit)
            ),
            "Switch off the room lights or draw the curtain; a frame with the flash off shows the light that is left."
                .into(),
        )
    })
}

fn stale_blank(case: &Case) -> Option<Finding> {
    let value = case.m.blank_change_stops?;
    case.finding(Code::BlankStale, None, value, |_| {
        (
            format!(
                "The light has moved since the blank: its pattern on the bed differs by {}.",
                stops_measured(value)
            ),
            "Take a new blank, now and whenever the flash, the stand or the bed is touched.".into(),
        )
    })
}
