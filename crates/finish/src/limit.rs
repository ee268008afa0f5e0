//! The limits: when a concern is a note, a look or a reshoot, for each aim, with the reason for each number.
//!
//! The judge reads this table, and `docs/reference/limits.md` is generated from it.

use crate::finding::{Aim, Code, Severity};
use print::flat_field::paper::PAPER;

/// Thresholds of the three severities; `None` if the code never has that severity.
pub type Steps = [Option<f64>; 3];

/// One concern's limits.
#[derive(Clone, Copy, Debug)]
pub struct Limit {
    /// Which concern.
    pub code: Code,
    /// `bed` or `print` where the code applies to both; which part of the rig.
    pub part: Option<&'static str>,
    /// What is measured.
    pub quantity: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// True where smaller is worse.
    pub wants_more: bool,
    /// Note, look, reshoot for the web.
    pub web: Steps,
    /// For a book.
    pub book: Steps,
    /// For an archive.
    pub archive: Steps,
    /// Why these numbers.
    pub why: &'static str,
}

impl Limit {
    /// The steps of an aim.
    pub fn steps(&self, aim: Aim) -> Steps {
        match aim {
            Aim::Web => self.web,
            Aim::Book => self.book,
            Aim::Archive => self.archive,
        }
    }

    /// The worst severity that `value` reaches, and the step it passed.
    pub fn judge(&self, aim: Aim, value: f64) -> Option<(Severity, f64)> {
        let passed = |step: f64| if self.wants_more { value < step } else { value > step };
        let [note, look, reshoot] = self.steps(aim);
        [(Severity::Reshoot, reshoot), (Severity::Look, look), (Severity::Note, note)]
            .into_iter()
            .find_map(|(severity, step)| step.filter(|&s| passed(s)).map(|s| (severity, s)))
    }
}

/// The limit of a code (and part).
///
/// ```
/// use finish::finding::{Aim, Code};
/// let veil = finish::limit::limit(Code::Veil, None);
/// assert!(veil.judge(Aim::Book, 0.0).is_none());
/// ```
pub fn limit(code: Code, part: Option<&str>) -> &'static Limit {
    // Every code is in the table: a test walks them all.
    LIMITS.iter().find(|l| l.code == code && l.part == part).unwrap_or(&LIMITS[0])
}

const fn steps(note: f64, look: f64, reshoot: f64) -> Steps {
    [Some(note), Some(look), Some(reshoot)]
}
const fn no_reshoot(note: f64, look: f64) -> Steps {
    [Some(note), Some(look), None]
}
const fn from_look(look: f64) -> Steps {
    [None, Some(look), None]
}
const fn only_note(note: f64) -> Steps {
    [Some(note), None, None]
}
const fn only_reshoot(limit: f64) -> Steps {
    [None, None, Some(limit)]
}

/// The table.
pub static LIMITS: &[Limit] = &[
    Limit {
        code: Code::FramingMargin,
        part: None,
        quantity: "bed between print and frame edge",
        unit: "mm",
        wants_more: true,
        web: no_reshoot(5.0, 2.0),
        book: no_reshoot(6.0, 3.0),
        archive: no_reshoot(10.0, 5.0),
        why: "Under a light 45° high, an edge lifted by 1 mm casts a shadow 0.8 to 1.2 mm wide, an edge lifted by 3 mm \
              up to 3.7 mm (h / tan(e - a), light half-angle a = 6°). A margin of 3 mm holds the shadow of a nearly flat \
              print; 10 mm holds that of a curled print and leaves bed for evening the light. The print itself is \
              complete, so this never asks for a reshoot.",
    },
    Limit {
        code: Code::FramingCropped,
        part: None,
        quantity: "print outside the frame",
        unit: "mm",
        wants_more: false,
        web: only_reshoot(0.0),
        book: only_reshoot(0.0),
        archive: only_reshoot(0.0),
        why: "The border is part of the object, and what was not photographed cannot be finished.",
    },
    Limit {
        code: Code::FramingCovered,
        part: None,
        quantity: "share of the print under a finger or an object",
        unit: "share",
        wants_more: false,
        web: [None, Some(0.0005), Some(0.003)],
        book: [None, Some(0.0005), Some(0.003)],
        archive: [None, Some(0.0002), Some(0.001)],
        why: "0.3 % of a square print is 28 mm², the width of a fingertip along its edge. A sixth of that can also be a \
              smear or a stain on the border, so a person decides.",
    },
    Limit {
        code: Code::CameraTilt,
        part: None,
        quantity: "lean of the camera from square to the bed",
        unit: "deg",
        wants_more: false,
        web: no_reshoot(0.5, 3.0),
        book: no_reshoot(0.2, 2.0),
        archive: no_reshoot(0.1, 0.5),
        why: "Straightening corrects the shape, so only focus is affected: 1° moves the far edges of an 88 × 107 mm \
              print by 0.93 mm, and at f/8 and a fifth of life size a total depth of 2.1 mm is sharp to one 4.4 µm \
              pixel, 4.2 mm to two. 0.1° is the target when a stand is set up.",
    },
    Limit {
        code: Code::FocusSoft,
        part: None,
        quantity: "width of the sharpest edge, 10 to 90 %",
        unit: "mm",
        wants_more: false,
        web: steps(0.25, 0.45, 0.90),
        book: steps(0.17, 0.30, 0.60),
        archive: steps(0.09, 0.17, 0.35),
        why: "For a blur of Gaussian shape, contrast falls to a tenth at 0.875 / width line pairs per mm: 0.17 mm is 85 \
              % of the 5.9 line pairs that 300 pixels per inch can hold (ISO 19264-1 level A), and 0.09 mm is the same \
              at 600. In print, 0.3 mm still looks sharp at reading distance (about 3 line pairs per mm); in a share \
              1080 pixels wide, 0.2 mm is two pixels.",
    },
    Limit {
        code: Code::ExposureClipped,
        part: Some("bed"),
        quantity: "share of the bed at full scale in any channel",
        unit: "share",
        wants_more: false,
        web: no_reshoot(0.01, 0.30),
        book: no_reshoot(0.005, 0.10),
        archive: steps(0.001, 0.02, 0.30),
        why: "The bed becomes white anyway, but where it is at full scale the light cannot be measured or evened, and a \
              white border cannot be told from it. If a tenth is clipped, nine tenths are left to measure. Common \
              practice, no source.",
    },
    Limit {
        code: Code::ExposureClipped,
        part: Some("print"),
        quantity: "share of the print at full scale in any channel",
        unit: "share",
        wants_more: false,
        web: steps(0.001, 0.02, 0.10),
        book: steps(0.0005, 0.005, 0.05),
        archive: steps(0.0001, 0.001, 0.01),
        why: "At full scale there is no tone: preservation practice counts any channel at 255 as clipped. Specks of \
              0.05 % are dust and glints; 5 % is a whole side of the border or a sky.",
    },
    Limit {
        code: Code::ExposureLow,
        part: None,
        quantity: "bed below the file's white",
        unit: "stops",
        wants_more: false,
        web: steps(1.2, 2.0, 3.5),
        book: steps(1.0, 1.5, 2.5),
        archive: steps(0.7, 1.0, 2.0),
        why: "Every stop of underexposure halves the light, so noise in the shadows doubles where read noise dominates; \
              an 8-bit file also loses half its steps. A bed two thirds of a stop below white is a good exposure.",
    },
    Limit {
        code: Code::LightFallOff,
        part: None,
        quantity: "brightest to darkest light across the print",
        unit: "stops",
        wants_more: false,
        web: no_reshoot(0.50, 1.50),
        book: no_reshoot(0.25, 1.00),
        archive: no_reshoot(0.10, 0.50),
        why: "Evening corrects the fall-off but not its noise: half a stop less light means a fifth more relative \
              noise. 1 stop is the fall-off of a bare flash half a metre away across a square print; 0.1 stop is within \
              the 7 % that nobody corrects by eye. With a blank the light is known, and this is only a note.",
    },
    Limit {
        code: Code::LightMixed,
        part: None,
        quantity: "colour difference across the bed",
        unit: "dE",
        wants_more: false,
        web: no_reshoot(3.0, 8.0),
        book: no_reshoot(2.0, 4.0),
        archive: steps(1.0, 3.0, 8.0),
        why: "White balance tolerances: FADGI 2023 allows 2 at its highest and 4 at its third level, ISO 19264-1 3 at level A, \
              5 at level C, all as chroma differences on grey.",
    },
    Limit {
        code: Code::Veil,
        part: None,
        quantity: "share of the window under a reflection",
        unit: "share",
        wants_more: false,
        web: steps(0.004, 0.02, 0.15),
        book: steps(0.002, 0.01, 0.08),
        archive: steps(0.001, 0.005, 0.03),
        why: "One hundredth of a square window is 62 mm², a glint the size of a fingernail: visible at once on paper. \
              What a reflection covers is lost; 8 % is a person's face. Sizes are our judgement, no source.",
    },
    Limit {
        code: Code::Curl,
        part: None,
        quantity: "lift off the bed",
        unit: "mm",
        wants_more: false,
        web: no_reshoot(2.0, 6.0),
        book: no_reshoot(1.2, 4.0),
        archive: no_reshoot(0.8, 2.5),
        why: "At f/8 and a fifth of life size, a total depth of 2.1 mm is sharp to one 4.4 µm pixel and 4.2 mm to two; \
              the curl model is valid to 4 mm. Curl also enlarges the print, by 0.17 % per mm under a camera 600 mm \
              away.",
    },
    Limit {
        code: Code::BedShowThrough,
        part: None,
        quantity: "contrast of what shows through the bed",
        unit: "share",
        wants_more: false,
        web: no_reshoot(0.01, 0.04),
        book: no_reshoot(0.005, 0.02),
        archive: no_reshoot(0.003, 0.01),
        why: "2 % is a difference of 0.8 L* near white, just visible on a smooth background; it also disturbs the \
              measurement of shadow and outline. 0.5 % is the required evenness of an evened bed.",
    },
    Limit {
        code: Code::BedNotPaper,
        part: None,
        quantity: "light reflected by the bed relative to the print's white",
        unit: "share",
        wants_more: true,
        web: no_reshoot(0.6, PAPER),
        book: no_reshoot(0.6, PAPER),
        archive: no_reshoot(0.6, PAPER),
        why: "White paper reflects as much as a border, cream paper three quarters of it in blue, grey paper six \
              tenths; wood, stone and cloth reflect half or less, a black board a twentieth (computed from usual \
              reflectances, common practice, no source). The print is straightened on any of them, so this never asks \
              for a reshoot.",
    },
    Limit {
        code: Code::OutlineUnsure,
        part: None,
        quantity: "uncertainty of the outline",
        unit: "mm",
        wants_more: false,
        web: no_reshoot(0.20, 0.40),
        book: no_reshoot(0.12, 0.25),
        archive: no_reshoot(0.08, 0.15),
        why: "An outline 0.25 mm too far in or out shows as a bright or dark line three pixels wide at 300 pixels per \
              inch.",
    },
    Limit {
        code: Code::NoPrint,
        part: None,
        quantity: "prints on the bed",
        unit: "prints",
        wants_more: true,
        web: from_look(1.0),
        book: from_look(1.0),
        archive: from_look(1.0),
        why: "An empty bed may be intended (a blank) or not (the flash fired early), so a person decides.",
    },
    Limit {
        code: Code::TwoPrints,
        part: None,
        quantity: "prints on the bed",
        unit: "prints",
        wants_more: false,
        web: from_look(1.0),
        book: from_look(1.0),
        archive: from_look(1.0),
        why: "One is finished, the others are not, so a person decides whether that was intended.",
    },
    Limit {
        code: Code::TurnUnknown,
        part: None,
        quantity: "prints that may lie upside down",
        unit: "prints",
        wants_more: false,
        web: only_note(0.0),
        book: only_note(0.0),
        archive: only_note(0.0),
        why: "The frame is as good either way up, so it need not be taken again and the hand at the stand is not stopped; before the \
              print is handed on, a person says which way is up.",
    },
    Limit {
        code: Code::LeftOut,
        part: None,
        quantity: "things in the frame that are not finished",
        unit: "prints",
        wants_more: false,
        web: from_look(0.0),
        book: from_look(0.0),
        archive: from_look(0.0),
        why: "The complete prints are finished but this is not, so a person decides whether that was intended.",
    },
    Limit {
        code: Code::BlankStale,
        part: None,
        quantity: "change of the light pattern since the blank",
        unit: "stops",
        wants_more: false,
        web: no_reshoot(0.05, 0.30),
        book: no_reshoot(0.02, 0.15),
        archive: no_reshoot(0.01, 0.05),
        why: "Moving a print 10 mm towards a light 1 m away changes it by 0.03 stop, so 0.02 means that something \
              moved; 0.15 stop is 10 %, visible as a gradient across the print.",
    },
    Limit {
        code: Code::RigChanged,
        part: Some("scale"),
        quantity: "frame pixels per millimetre compared with the sitting",
        unit: "share",
        wants_more: false,
        web: only_note(0.015),
        book: only_note(0.015),
        archive: only_note(0.015),
        why: "Prints are cut to within 0.25 mm of 88 mm, and a curl of 6 mm enlarges by 1 %: beyond 1.5 % the height of \
              the camera changed. The scale of each print is measured, so nothing is lost, but blank and ruler frames \
              from the other height are no longer valid.",
    },
    Limit {
        code: Code::RigChanged,
        part: Some("tilt"),
        quantity: "lean of the camera compared with the sitting",
        unit: "deg",
        wants_more: false,
        web: only_note(2.0),
        book: only_note(2.0),
        archive: only_note(2.0),
        why: "A lifted edge looks like a lean: 3 mm looks like 1.6°. Only a larger lean that is also more than three \
              times its uncertainty means that the camera was bumped; the median of many prints detects smaller changes \
              (drift).",
    },
    Limit {
        code: Code::RigChanged,
        part: Some("aperture"),
        quantity: "aperture compared with the sitting",
        unit: "stops",
        wants_more: false,
        web: only_note(0.2),
        book: only_note(0.2),
        archive: only_note(0.2),
        why: "Apertures are set in thirds of a stop; a different aperture changes vignetting and sharpness compared \
              with blank and ruler.",
    },
    Limit {
        code: Code::RigChanged,
        part: Some("focal-length"),
        quantity: "focal length compared with the sitting",
        unit: "share",
        wants_more: false,
        web: only_note(0.01),
        book: only_note(0.01),
        archive: only_note(0.01),
        why: "A prime lens records one number; a zoom that was touched has a different distortion from the ruler frame.",
    },
    Limit {
        code: Code::RigChanged,
        part: Some("flash"),
        quantity: "light on the bed compared with the sitting",
        unit: "stops",
        wants_more: false,
        web: only_note(0.25),
        book: only_note(0.25),
        archive: only_note(0.25),
        why: "A flash repeats to within a few hundredths of a stop; a third is one click of its dial, or a flash that \
              was not ready. Each print is evened by the bed around it, so this is for information only.",
    },
];

/// The reference page made from the table.
pub fn reference() -> String {
    let mut text = String::from(
        "# Limits\n\nMade from `crates/finish/src/limit.rs` by `cargo xtask gen`; do not edit. A verdict is the worst severity \
         among a frame's findings; a note alone keeps the frame.\n\n| code | measured | unit | web: note, look, reshoot | book | \
         archive |\n|---|---|---|---|---|---|\n",
    );
    let cell = |steps: Steps| steps.map(|s| s.map_or("–".to_owned(), |v| v.to_string())).join(", ");
    for l in LIMITS {
        let part = l.part.map(|p| format!(" ({p})")).unwrap_or_default();
        let than = if l.wants_more { "less than" } else { "more than" };
        text += &format!(
            "| `{}`{part} | {}, {than} | {} | {} | {} | {} |\n",
            l.code.word(),
            l.quantity,
            l.unit,
            cell(l.web),
            cell(l.book),
            cell(l.archive)
        );
    }
    text += "\n## Why\n\n";
    for l in LIMITS {
        let part = l.part.map(|p| format!(" ({p})")).unwrap_or_default();
        text += &format!("- `{}`{part}: {}\n", l.code.word(), l.why);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_code_has_limits_that_grow_worse_in_order() {
        for code in Code::ALL {
            assert!(LIMITS.iter().any(|l| l.code == *code), "{} has no limit", code.word());
        }
        for l in LIMITS {
            for aim in [Aim::Web, Aim::Book, Aim::Archive] {
                let steps: Vec<f64> = l.steps(aim).into_iter().flatten().collect();
                let sorted = steps.windows(2).all(|w| if l.wants_more { w[0] > w[1] } else { w[0] < w[1] });
                assert!(sorted, "{} {aim:?} {steps:?}", l.code.word());
            }
            for i in 0..3 {
                let by_aim = [l.web[i], l.book[i], l.archive[i]];
                let stricter = by_aim.windows(2).all(|w| match (w[0], w[1]) {
                    (Some(a), Some(b)) => (a >= b) != l.wants_more || a == b,
                    (None, _) => true,
                    (Some(_), None) => false,
                });
                assert!(stricter, "{} step {i} {by_aim:?}", l.code.word());
            }
            assert!(l.why.len() > 40, "{} needs a reason", l.code.word());
        }
    }

    #[test]
    fn the_worst_step_passed_is_the_one_reported() {
        let veil = limit(Code::Veil, None);
        assert_eq!(veil.judge(Aim::Book, 0.001), None);
        assert_eq!(veil.judge(Aim::Book, 0.02), Some((Severity::Look, 0.01)));
        assert_eq!(veil.judge(Aim::Book, 0.2), Some((Severity::Reshoot, 0.08)));
        assert_eq!(limit(Code::FramingMargin, None).judge(Aim::Book, 1.2), Some((Severity::Look, 3.0)));
        assert_eq!(limit(Code::ExposureClipped, Some("print")).part, Some("print"));
    }
}
