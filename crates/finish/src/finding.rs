//! Findings: one measured concern each, and the verdict that follows from them.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What the finished prints are for; it decides how much is too much.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Aim {
    /// Screens, about 1080 pixels across.
    Web,
    /// A printed book at up to the print's own size, 300 pixels per inch.
    #[default]
    Book,
    /// A surrogate for the object, 600 pixels per inch.
    Archive,
}

impl Aim {
    /// The aim in a sentence: "for a book".
    ///
    /// ```
    /// assert_eq!(finish::finding::Aim::Book.phrase(), "for a book");
    /// ```
    pub fn phrase(self) -> &'static str {
        match self {
            Self::Web => "for the web",
            Self::Book => "for a book",
            Self::Archive => "for an archive",
        }
    }
}

/// How much a finding matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// Good to know; nothing need be done.
    Note,
    /// A person should look.
    Look,
    /// Take the frame again.
    Reshoot,
}

/// The word on a frame: the first three judge a print, the last two say what a frame without a print is worth to the others.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// Good for its aim.
    Keep,
    /// A person should look.
    Look,
    /// Take it again.
    Reshoot,
    /// Of a bare bed, chart, ruler or flash-off frame: it serves the others.
    Used,
    /// Of such a frame: it cannot serve them; the report's `service` says why.
    Unusable,
}

impl Verdict {
    /// The worst severity among a print's findings; notes do not count.
    ///
    /// ```
    /// use finish::finding::Verdict;
    /// assert_eq!(Verdict::of(&[]), Verdict::Keep);
    /// ```
    pub fn of(findings: &[Finding]) -> Self {
        match findings.iter().map(|f| f.severity).max() {
            Some(Severity::Reshoot) => Self::Reshoot,
            Some(Severity::Look) => Self::Look,
            Some(Severity::Note) | None => Self::Keep,
        }
    }
    /// As a person says it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Keep => "keep",
            Self::Look => "look",
            Self::Reshoot => "reshoot",
            Self::Used => "used",
            Self::Unusable => "unusable",
        }
    }
    /// True where a person need not do anything.
    pub fn is_well(self) -> bool {
        matches!(self, Self::Keep | Self::Used)
    }
}

macro_rules! codes {
    ($($(#[doc = $doc:literal])+ $code:ident = $word:literal,)+) => {
        /// Which concern.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
        pub enum Code {
            $($(#[doc = $doc])+ #[serde(rename = $word)] $code,)+
        }

        impl Code {
            /// Every code, in the order of the reference page.
            pub const ALL: &[Self] = &[$(Self::$code),+];

            /// As written in a report.
            pub fn word(self) -> &'static str {
                match self {
                    $(Self::$code => $word,)+
                }
            }
        }
    };
}

codes! {
    /// Too little bed around the print.
    FramingMargin = "framing.margin",
    /// Part of the print is outside the frame.
    FramingCropped = "framing.cropped",
    /// Something lies over the print.
    FramingCovered = "framing.covered",
    /// The camera leans.
    CameraTilt = "camera.tilt",
    /// Out of focus or moved.
    FocusSoft = "focus.soft",
    /// Bed or print at full scale.
    ExposureClipped = "exposure.clipped",
    /// Too dark.
    ExposureLow = "exposure.low",
    /// The light is uneven across the print.
    LightFallOff = "light.fall-off",
    /// Two lights of different colour.
    LightMixed = "light.mixed",
    /// A reflection in the window.
    Veil = "veil",
    /// The print does not lie flat.
    Curl = "curl",
    /// Something shows through the paper of the bed.
    BedShowThrough = "bed.show-through",
    /// The bed is no white paper.
    BedNotPaper = "bed.not-paper",
    /// The outline is not certain.
    OutlineUnsure = "outline.unsure",
    /// Nothing on the print says which way is up.
    TurnUnknown = "turn.unknown",
    /// Nothing lies on the bed.
    NoPrint = "no-print",
    /// More than one print in a frame that is finished as one.
    TwoPrints = "two-prints",
    /// Something else lies in the frame and is not finished.
    LeftOut = "left-out",
    /// The light moved since the blank was taken.
    BlankStale = "blank.stale",
    /// Camera, lens or flash are not as in the rest of the sitting.
    RigChanged = "rig.changed",
}

/// One measured concern.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Finding {
    /// Which concern.
    pub code: Code,
    /// How much it matters for the aim.
    pub severity: Severity,
    /// What was measured.
    pub value: f64,
    /// The limit it passed.
    pub limit: f64,
    /// Unit of both: `mm`, `deg`, `stops`, `share`, `dE`, `prints`.
    pub unit: String,
    /// `bed` or `print` where a code applies to both; which part of the rig.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// The thing and the amount, in a sentence.
    pub says: String,
    /// What mends it, and by how much.
    #[serde(rename = "do")]
    pub action: String,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_is_written_as_its_word() {
        for code in Code::ALL {
            assert_eq!(serde_json::to_value(code).unwrap(), code.word());
        }
    }

    #[test]
    fn the_worst_severity_is_the_verdict() {
        let finding = |severity| Finding {
            code: Code::Curl,
            severity,
            value: 0.0,
            limit: 0.0,
            unit: "mm".into(),
            part: None,
            says: String::new(),
            action: String::new(),
        };
        assert_eq!(Verdict::of(&[]), Verdict::Keep);
        assert_eq!(Verdict::of(&[finding(Severity::Note)]), Verdict::Keep);
        assert_eq!(Verdict::of(&[finding(Severity::Note), finding(Severity::Look)]), Verdict::Look);
        assert_eq!(Verdict::of(&[finding(Severity::Reshoot), finding(Severity::Look)]), Verdict::Reshoot);
    }
}
