//! The judge: turns measurements into findings, each with a sentence and a remedy.

mod camera;
mod framing;
mod light;
mod rig;
mod surface;

use crate::finding::{Aim, Code, Finding, Severity};
use crate::limit::limit;
use crate::measured::Measured;

/// Every concern that the measured numbers raise for an aim, worst first.
pub fn judge(measured: &Measured, aim: Aim) -> Vec<Finding> {
    let case = Case { m: measured, aim };
    if measured.prints == 0 {
        return framing::no_print(&case).into_iter().collect();
    }
    let raised =
        |concerns: &[&[Concern]]| concerns.concat().iter().filter_map(|concern| concern(&case)).collect::<Vec<_>>();
    let mut findings = raised(&[framing::CONCERNS, camera::CONCERNS, surface::CONCERNS]);
    match surface::not_paper(&case) {
        // Wood has grain and colour, and a black board is dark: judged as white paper, these would look like problems of the light.
        Some(not_paper) if not_paper.severity > Severity::Note => findings.push(not_paper),
        note => {
            findings.extend(note.into_iter().chain(raised(&[camera::OF_PAPER, light::OF_PAPER, surface::OF_PAPER])))
        }
    }
    findings.extend(rig::changes(&case));
    findings.sort_by_key(|f| std::cmp::Reverse(f.severity));
    findings
}

/// Looks at one concern.
type Concern = fn(&Case) -> Option<Finding>;

/// Input of the function for one concern.
struct Case<'a> {
    m: &'a Measured,
    aim: Aim,
}

impl Case<'_> {
    /// A finding if `value` exceeds a step of `code`; `words` gets that limit and makes the sentence and the remedy.
    fn finding(
        &self,
        code: Code,
        part: Option<&'static str>,
        value: f64,
        words: impl FnOnce(f64) -> (String, String),
    ) -> Option<Finding> {
        let table = limit(code, part);
        let (severity, limit) = table.judge(self.aim, value)?;
        let (says, action) = words(limit);
        Some(Finding {
            code,
            severity,
            value: four(value),
            limit,
            unit: table.unit.to_owned(),
            part: part.map(str::to_owned),
            says,
            action,
        })
    }
}

/// Rounds to four significant figures, more than the accuracy of any of these values.
fn four(value: f64) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return 0.0;
    }
    let scale = 10f64.powi(3 - value.abs().log10().floor() as i32);
    (value * scale).round() / scale
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::Verdict;
    use crate::measured::{LeftOut, Side};
    use crate::recipe::{RigChange, RigPart};

    fn one(measured: Measured) -> Finding {
        let findings = judge(&Measured { prints: 1, ..measured }, Aim::Book);
        assert_eq!(findings.len(), 1, "{findings:?}");
        findings[0].clone()
    }

    #[test]
    fn on_wood_one_finding_says_so_and_nothing_blames_the_light() {
        let wood = Measured {
            bed_returns: Some(0.3),
            bed_below_white_stops: Some(2.5),
            show_through: Some(0.2),
            mixed_delta_e: Some(9.0),
            fall_off_stops: Some(1.5),
            ..Measured::default()
        };
        let finding = one(wood.clone());
        assert_eq!((finding.code, finding.severity), (Code::BedNotPaper, Severity::Look));
        // Grey paper is paper: a note, and the light is measured on it.
        let grey = judge(&Measured { prints: 1, bed_returns: Some(0.55), ..wood }, Aim::Book);
        assert!(grey.iter().any(|f| f.code == Code::BedNotPaper && f.severity == Severity::Note));
        assert!(grey.iter().any(|f| f.code == Code::LightFallOff), "{grey:?}");
    }

    #[test]
    fn a_good_frame_raises_nothing() {
        let m = Measured {
            prints: 1,
            margin_mm: Some((20.0, Side::Left)),
            tilt_x_deg: Some(0.05),
            tilt_y_deg: Some(-0.1),
            edge_px: Some(2.0),
            px_per_mm: Some(40.0),
            bed_below_white_stops: Some(0.4),
            fall_off_stops: Some(0.1),
            veil: Some(0.0),
            curl_mm: Some(0.3),
            ..Measured::default()
        };
        assert_eq!(judge(&m, Aim::Book), vec![]);
    }

    #[test]
    fn fall_off_names_the_new_distance_and_what_it_costs() {
        let f = one(Measured { fall_off_stops: Some(0.5), light_distance_mm: Some(450.0), ..Measured::default() });
        assert_eq!(f.code, Code::LightFallOff);
        assert_eq!(f.action, "Move the flash from about 45 cm to about 90 cm and open 2 stops.");
        assert!(f.says.contains("0.5 stop"), "{}", f.says);
        let f = one(Measured { fall_off_stops: Some(0.5), ..Measured::default() });
        assert_eq!(f.action, "Move the flash to about 2 times its distance and open 2 stops.");
    }

    #[test]
    fn a_lean_names_the_low_side() {
        let side = |x, y| one(Measured { tilt_x_deg: Some(x), tilt_y_deg: Some(y), ..Measured::default() });
        // Right-handed turns about x = image right, y = image up (truth conventions): +x lifts the top, +y lowers the right.
        assert!(side(0.7, 0.0).action.starts_with("Raise the camera's side towards the bottom of the frame"));
        assert!(side(-0.7, 0.0).action.starts_with("Raise the camera's side towards the top of the frame"));
        assert!(side(0.0, 0.7).action.starts_with("Raise the camera's side towards the right of the frame"));
        assert!(side(0.0, -0.7).action.starts_with("Raise the camera's side towards the left of the frame"));
        let both = side(-0.7, 0.5);
        assert!(both.action.contains("towards the right of the frame by 0.5°"), "{}", both.action);
        assert!(both.action.contains("1.2 mm"), "{}", both.action);
        assert!((both.value - 0.8602).abs() < 1e-9);
    }

    #[test]
    fn a_lean_within_its_own_doubt_is_not_reported() {
        let m = Measured {
            prints: 1,
            tilt_x_deg: Some(0.5),
            tilt_y_deg: Some(0.0),
            tilt_sigma_deg: Some(0.3),
            ..Measured::default()
        };
        assert_eq!(judge(&m, Aim::Book), vec![]);
    }

    #[test]
    fn cropped_covered_and_clipped_prints_are_shot_again() {
        let cropped = one(Measured { cropped: vec![Side::Bottom], overhang_mm: Some(6.0), ..Measured::default() });
        assert_eq!((cropped.severity, cropped.value), (Severity::Reshoot, 6.0));
        assert!(cropped.says.contains("bottom") && cropped.says.contains("6 mm"));
        let covered = one(Measured { covered: Some((0.02, Some(Side::Right))), ..Measured::default() });
        assert_eq!(covered.severity, Severity::Reshoot);
        let clipped = one(Measured { clipped_print: Some([0.2, 0.1, 0.0]), ..Measured::default() });
        assert_eq!((clipped.severity, clipped.part.as_deref()), (Severity::Reshoot, Some("print")));
    }

    #[test]
    fn a_cropped_print_says_nothing_of_its_margin() {
        let m = Measured {
            prints: 1,
            cropped: vec![Side::Left],
            margin_mm: Some((0.0, Side::Left)),
            ..Measured::default()
        };
        assert_eq!(judge(&m, Aim::Book).iter().map(|f| f.code).collect::<Vec<_>>(), vec![Code::FramingCropped]);
    }

    #[test]
    fn what_is_left_out_is_counted_and_named() {
        let cut = one(Measured { left_out: vec![LeftOut::Cut(Side::Right)], ..Measured::default() });
        assert_eq!((cut.severity, cut.value), (Severity::Look, 1.0));
        assert_eq!(cut.says, "Another print leaves the frame at the right: it is not finished.");
        let two = one(Measured { left_out: vec![LeftOut::Overlaps, LeftOut::Cut(Side::Top)], ..Measured::default() });
        assert_eq!(two.value, 2.0);
        assert!(two.says.ends_with("they are not finished."), "{}", two.says);
    }

    /// A frame is as good either way up: nobody takes it again, and nobody hands it on unasked.
    #[test]
    fn a_print_that_may_lie_upside_down_is_kept_and_says_so() {
        let finding = one(Measured { turn_unknown: true, ..Measured::default() });
        assert_eq!((finding.code, finding.severity, finding.value), (Code::TurnUnknown, Severity::Note, 1.0));
        assert_eq!(Verdict::of(&[finding]), Verdict::Keep);
    }

    #[test]
    fn an_empty_bed_is_one_finding_and_a_look() {
        let findings = judge(&Measured::default(), Aim::Web);
        assert_eq!(findings.iter().map(|f| f.code).collect::<Vec<_>>(), vec![Code::NoPrint]);
        assert_eq!(Verdict::of(&findings), Verdict::Look);
    }

    #[test]
    fn every_sentence_has_a_unit_and_ends_well_for_every_aim() {
        let worst = Measured {
            prints: 2,
            left_out: vec![LeftOut::Overlaps, LeftOut::Unknown],
            turn_unknown: true,
            margin_mm: Some((0.5, Side::Top)),
            cropped: vec![],
            overhang_mm: None,
            covered: Some((0.05, None)),
            tilt_x_deg: Some(4.0),
            tilt_y_deg: Some(-2.0),
            tilt_sigma_deg: Some(0.05),
            edge_px: Some(30.0),
            px_per_mm: Some(20.0),
            clipped_bed: Some([0.6, 0.1, 0.0]),
            clipped_print: Some([0.3, 0.0, 0.0]),
            bed_below_white_stops: Some(4.0),
            fall_off_stops: Some(2.0),
            light_distance_mm: Some(300.0),
            light_azimuth_deg: Some(180.0),
            evened_by_blank: false,
            mixed_delta_e: Some(12.0),
            blank_change_stops: Some(0.5),
            veil: Some(0.2),
            curl_mm: Some(7.0),
            curl_sigma_mm: Some(0.4),
            f_number: Some(8.0),
            show_through: Some(0.08),
            bed_returns: Some(0.9),
            outline_sigma_mm: Some(0.6),
            confidence: Some(0.4),
            rig: vec![RigChange { part: RigPart::Scale, was: 40.0, is: 38.0 }],
        };
        for aim in [Aim::Web, Aim::Book, Aim::Archive] {
            let mut findings = judge(&worst, aim);
            assert!(findings.is_sorted_by_key(|f| std::cmp::Reverse(f.severity)));
            assert!(findings.iter().all(|f| f.code != Code::Curl), "a blurred edge does not tell how it bends");
            let sharp = judge(&Measured { edge_px: None, ..worst.clone() }, aim);
            findings.extend(sharp.into_iter().filter(|f| f.code == Code::Curl));
            let wood = judge(&Measured { bed_returns: Some(0.1), ..worst.clone() }, aim);
            findings.extend(wood.into_iter().filter(|f| f.code == Code::BedNotPaper));
            assert_eq!(findings.len(), Code::ALL.len() - 1, "{aim:?}: all but no-print and cropped, clipped twice");
            for f in &findings {
                for text in [&f.says, &f.action] {
                    assert!(text.ends_with('.') && !text.contains("  ") && !text.contains("NaN"), "{text}");
                    assert!(!text.starts_with(char::is_lowercase), "{text}");
                }
            }
        }
    }
}
