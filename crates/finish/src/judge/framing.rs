//! Framing: is the print complete, alone, uncovered, and its outline certain?

use super::{Case, Concern};
use crate::finding::{Code, Finding};
use crate::measured::{LeftOut, Side};
use base::wording::{count, length, list, share};

/// The concerns of this file, in the order of the findings.
pub(super) const CONCERNS: &[Concern] = &[cropped, covered, margin, two_prints, left_out, outline, turn];

pub(super) fn no_print(case: &Case) -> Option<Finding> {
    case.finding(Code::NoPrint, None, 0.0, |_| {
        (
            "The bed is empty.".into(),
            "If this is a blank, it is used as one. If a print should be there, place it and take the frame again."
                .into(),
        )
    })
}

fn two_prints(case: &Case) -> Option<Finding> {
    case.finding(Code::TwoPrints, None, case.m.prints as f64, |_| {
        (
            format!(
                "{} are on the bed; only the most certain one is finished.",
                count(case.m.prints as usize, "print", "prints")
            ),
            "Take one frame for each print.".into(),
        )
    })
}

fn left_out(case: &Case) -> Option<Finding> {
    let all = &case.m.left_out;
    let name = |l: &LeftOut| match l {
        LeftOut::Cut(side) => format!("another print leaves the frame at the {}", side.word()),
        LeftOut::Overlaps => "two prints overlap".to_owned(),
        LeftOut::Unknown => "something else as large as a print is on the bed".to_owned(),
    };
    case.finding(Code::LeftOut, None, all.len() as f64, |_| {
        let names: Vec<String> = all.iter().map(name).collect();
        let text = list(&names.iter().map(String::as_str).collect::<Vec<_>>());
        let end = match all.as_slice() {
            [LeftOut::Overlaps] => "only the more certain one is finished",
            [_] => "it is not finished",
            _ => "they are not finished",
        };
        let mut chars = text.chars();
        let text: String = chars.next().map(|c| c.to_uppercase().chain(chars).collect()).unwrap_or_default();
        (
            format!("{text}: {end}."),
            "Lay the prints apart, each with 10 mm of bed around it in the frame, and take the frame again.".into(),
        )
    })
}

fn cropped(case: &Case) -> Option<Finding> {
    if case.m.cropped.is_empty() {
        return None;
    }
    let sides: Vec<&str> = case.m.cropped.iter().map(|s| s.word()).collect();
    // Where no known format tells how much is missing, any positive amount stands for "some".
    let value = case.m.overhang_mm.filter(|&v| v > 0.0).unwrap_or(0.1);
    let known = case.m.overhang_mm.filter(|&v| v > 0.0);
    case.finding(Code::FramingCropped, None, value, |_| {
        let amount = known.map(|v| format!(" by {} or more", length(v))).unwrap_or_default();
        let away: Vec<&str> = case.m.cropped.iter().map(|s| s.across().word()).collect();
        let shift = known.map_or("until all of it shows".to_owned(), |v| format!("by {}", length((v + 10.0).ceil())));
        let remedy = if opposite(&case.m.cropped) {
            "Raise the camera until the whole print shows with 10 mm of bed around it, and take the frame again."
                .to_owned()
        } else {
            format!("Move the print {shift} towards the {} of the frame and take it again.", list(&away))
        };
        (format!("The print leaves the frame at the {}{amount}.", list(&sides)), remedy)
    })
}

/// True where the print leaves the frame on two sides across from each other: moving it cannot help.
fn opposite(sides: &[Side]) -> bool {
    sides.iter().any(|s| sides.contains(&s.across()))
}

fn covered(case: &Case) -> Option<Finding> {
    let (covered, side) = case.m.covered?;
    case.finding(Code::FramingCovered, None, covered, |_| {
        let from = side.map(|s| format!(", reaching in from the {}", s.word())).unwrap_or_default();
        (
            format!("Something covers {} of the print{from}: perhaps a finger.", share(covered)),
            "Clear the print and take the frame again.".into(),
        )
    })
}

fn margin(case: &Case) -> Option<Finding> {
    if !case.m.cropped.is_empty() {
        return None;
    }
    let (mm, side) = case.m.margin_mm?;
    case.finding(Code::FramingMargin, None, mm, |limit| {
        let (near, far) = (side.word(), side.across().word());
        (
            format!(
                "Only {} of bed shows between the print and the {near} edge of the frame; the minimum {} is {}.",
                length(mm),
                case.aim.phrase(),
                length(limit)
            ),
            // 10 mm of clean paper hold the shadow of a curled print too (limit table, framing.margin).
            format!(
                "Move the print {} towards the {far} of the frame, or raise the camera.",
                length((10.0 - mm).ceil().max(1.0))
            ),
        )
    })
}

fn outline(case: &Case) -> Option<Finding> {
    // A confidence under a half says that another outline is as likely; it counts as the largest uncertainty there is.
    const AS_LIKELY_AS_NOT: f64 = 0.5;
    let doubtful = case.m.confidence.is_some_and(|c| c < AS_LIKELY_AS_NOT);
    let sigma = case.m.outline_sigma_mm.unwrap_or(0.0).max(if doubtful { 1.0 } else { 0.0 });
    case.finding(Code::OutlineUnsure, None, sigma, |_| {
        let says = match case.m.outline_sigma_mm {
            Some(s) if !doubtful => format!("The outline is uncertain by {}.", length(s)),
            _ => "The outline is a guess: it may not be the whole print.".to_owned(),
        };
        (
            says,
            "Check the outline drawn on the frame. A bed of a different tone than the border, or a lower light, \
                shows the edge better."
                .into(),
        )
    })
}

fn turn(case: &Case) -> Option<Finding> {
    case.finding(Code::TurnUnknown, None, f64::from(u8::from(case.m.turn_unknown)), |_| {
        (
            "Nothing on this print says which way is up: it is shown as it lay in the frame.".into(),
            "Turn it until it is upright, or say that it is, before it is handed on: on its sheet, or with fallside mend --turn."
                .into(),
        )
    })
}
