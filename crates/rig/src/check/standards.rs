//! Tolerance classes of the standards: one table with the source of each number.

use super::answer::{ClassMet, Judged, Value};

/// A measured figure that a standard judges.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Figure {
    /// Pixels per inch on the original.
    Sampling,
    /// Worst MTF10 over the half-sampling frequency.
    Efficiency,
    /// Greatest response at the half-sampling frequency.
    HalfSampling,
    /// MTF50 over the half-sampling frequency, the lowest zone.
    Mtf50Low,
    /// The same, the highest zone.
    Mtf50High,
    /// The greatest response.
    Sharpening,
    /// Red and blue against green.
    Misregistration,
    /// Radial distortion.
    Distortion,
    /// Greatest deviation of L* on greys.
    Noise,
    /// Least deviation of L* on greys.
    NoiseFloor,
    /// (max - min) / mean of the code values of equal greys at middle and corners.
    Uneven2016,
    /// Deviation of L* over mean of equal greys.
    Uneven2023,
    /// Range of L* over the field.
    UnevenLightness,
    /// Greatest error of L* on neutrals.
    Tone,
    /// Greatest lightness term of CIEDE2000 on neutrals.
    Tone2000,
    /// Greatest colour error on neutrals, without lightness.
    WhiteBalance,
    /// Greatest difference between two bands on neutrals, 8-bit counts.
    WhiteBalanceCounts,
    /// Slope of L* between the two lightest neutrals, where too little is the fault.
    GainHighlightsLow,
    /// The same, where too much is.
    GainHighlightsHigh,
    /// The least slope of L* between neighbouring neutrals.
    GainLow,
    /// The greatest.
    GainHigh,
    /// Mean CIEDE2000.
    ColourMean,
    /// Its 90th percentile.
    Colour90,
    /// Mean CIEDE2000 with `S_L = 1`.
    EvenMean,
    /// Its largest.
    EvenWorst,
}

/// What a class asks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Asks {
    /// Less than.
    Below(f64),
    /// At most.
    AtMost(f64),
    /// More than.
    Above(f64),
    /// At least.
    AtLeast(f64),
}

/// Where a number is known from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Known {
    /// The standard's own text was read.
    Read,
    /// Another text quotes it.
    Secondary,
    /// Another text quotes it and is in doubt, or the standard is a draft.
    Unsure,
}

impl Known {
    /// As the answer says it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Read => "read",
            Self::Secondary => "secondary",
            Self::Unsure => "unsure",
        }
    }
}

/// A figure's name, unit and formula.
pub struct Meaning {
    /// As in the answer.
    pub code: &'static str,
    /// In words.
    pub name: &'static str,
    /// Unit; empty for plain numbers.
    pub unit: &'static str,
    /// How the standards compute it, and how it was here.
    pub formula: &'static str,
}

impl Figure {
    /// Every figure, in the order they are told.
    pub const ALL: [Self; 25] = [
        Self::Sampling,
        Self::Efficiency,
        Self::HalfSampling,
        Self::Mtf50Low,
        Self::Mtf50High,
        Self::Sharpening,
        Self::Misregistration,
        Self::Distortion,
        Self::Noise,
        Self::NoiseFloor,
        Self::Uneven2016,
        Self::Uneven2023,
        Self::UnevenLightness,
        Self::Tone,
        Self::Tone2000,
        Self::WhiteBalance,
        Self::WhiteBalanceCounts,
        Self::GainHighlightsLow,
        Self::GainHighlightsHigh,
        Self::GainLow,
        Self::GainHigh,
        Self::ColourMean,
        Self::Colour90,
        Self::EvenMean,
        Self::EvenWorst,
    ];

    /// Name, unit and formula.
    pub fn meaning(self) -> Meaning {
        let (code, name, unit, formula) = match self {
            Self::Sampling => (
                "sampling-frequency",
                "Sampling frequency",
                "ppi",
                "pixels between two features of a target divided by the measured inches",
            ),
            Self::Efficiency => (
                "sampling-efficiency",
                "Sampling efficiency",
                "%",
                "frequency at 10 % response divided by half-sampling, the worst of centre and corners",
            ),
            Self::HalfSampling => (
                "sfr-half-sampling",
                "Response at half-sampling",
                "",
                "response at 0.5 cycles per pixel, the highest of centre and corners",
            ),
            Self::Mtf50Low => (
                "sfr50-low",
                "SFR50, lowest",
                "%",
                "frequency at 50 % response divided by half-sampling, the lowest of centre and corners",
            ),
            Self::Mtf50High => (
                "sfr50-high",
                "SFR50, highest",
                "%",
                "frequency at 50 % response divided by half-sampling, the highest of centre and corners",
            ),
            Self::Sharpening => {
                ("sharpening", "Sharpening", "", "highest response up to half-sampling; 1 without sharpening")
            }
            Self::Misregistration => (
                "misregistration",
                "Colour misregistration",
                "px",
                "distance of red and blue edges from green, the worst of centre and corners",
            ),
            Self::Distortion => (
                "distortion",
                "Geometric distortion",
                "%",
                "radial distortion divided by the distance from the principal point, the worst in the frame",
            ),
            Self::Noise => ("noise", "Noise", "L*", "standard deviation of L* in grey areas, the highest"),
            Self::NoiseFloor => (
                "noise-floor",
                "Noise, least",
                "L*",
                "standard deviation of L* in grey areas, the lowest: too low means denoised",
            ),
            Self::Uneven2016 => (
                "uneven-codes",
                "Uneven light",
                "%",
                "(max - min) / mean of code values (gamma 2.2) of the bed at centre and corners, before evening",
            ),
            Self::Uneven2023 => (
                "uneven-deviation",
                "Uneven light, deviation",
                "%",
                "standard deviation divided by the mean of the bed's L* over the frame, before evening",
            ),
            Self::UnevenLightness => {
                ("uneven-lightness", "Uneven light, L*", "L*", "range of the bed's L* over the frame, before evening")
            }
            Self::Tone => ("tone", "Tone", "L*", "L* of neutral patches minus their reference, the largest"),
            Self::Tone2000 => {
                ("tone-2000", "Tone, CIEDE2000", "dL", "lightness term of CIEDE2000 on neutral patches, the largest")
            }
            Self::WhiteBalance => {
                ("white-balance", "White balance", "dE", "CIEDE2000 without lightness on neutral patches, the largest")
            }
            Self::WhiteBalanceCounts => (
                "white-balance-counts",
                "White balance, counts",
                "counts",
                "largest difference between two channels of neutral patches, 255 v^(1/2.2), excluding the tint of the \
                 patches",
            ),
            Self::GainHighlightsLow => (
                "gain-highlights-low",
                "Gain, highlights, at least",
                "",
                "dL* measured / dL* known between the two lightest neutrals (formula and what counts as highlight from \
                 memory)",
            ),
            Self::GainHighlightsHigh => (
                "gain-highlights-high",
                "Gain, highlights, at most",
                "",
                "dL* measured / dL* known between the two lightest neutrals (formula and what counts as highlight from \
                 memory)",
            ),
            Self::GainLow => (
                "gain-low",
                "Gain, least",
                "",
                "dL* measured / dL* known between neighbouring neutrals, the lowest (formula from memory)",
            ),
            Self::GainHigh => (
                "gain-high",
                "Gain, greatest",
                "",
                "dL* measured / dL* known between neighbouring neutrals, the highest (formula from memory)",
            ),
            Self::ColourMean => ("colour-mean", "Colour, mean", "dE", "mean CIEDE2000 of the patches"),
            Self::Colour90 => ("colour-90", "Colour, 90 %", "dE", "90th percentile of CIEDE2000 of the patches"),
            Self::EvenMean => ("colour-even-mean", "Colour, mean, S_L = 1", "dE", "mean CIEDE2000 with S_L = 1"),
            Self::EvenWorst => ("colour-even-worst", "Colour, worst, S_L = 1", "dE", "largest CIEDE2000 with S_L = 1"),
        };
        Meaning { code, name, unit, formula }
    }

    /// The figure beside its classes; `None` where no standard here judges it.
    pub fn judge(self, value: Value) -> Option<Judged> {
        let classes: Vec<ClassMet> =
            CLASSES.iter().filter(|c| c.figure == self).flat_map(|c| c.judge(value.value)).collect();
        let m = self.meaning();
        (!classes.is_empty()).then(|| Judged {
            figure: m.code.into(),
            name: m.name.into(),
            value,
            unit: m.unit.into(),
            formula: m.formula.into(),
            classes,
        })
    }
}

/// One standard's row for one figure: its classes from the strictest to the mildest.
pub struct Row {
    /// Which figure.
    pub figure: Figure,
    /// Which standard.
    pub standard: &'static str,
    /// Class, what it asks, and how that is known.
    pub classes: &'static [(&'static str, Asks, Known)],
}

impl Row {
    fn judge(&self, value: f64) -> Vec<ClassMet> {
        let one = |&(class, asks, known): &(&str, Asks, Known)| ClassMet {
            standard: self.standard.into(),
            class: class.into(),
            asks: asks.text(),
            meets: asks.meets(value),
            misses_by: if asks.meets(value) { 0.0 } else { (value - asks.bound()).abs() },
            known: known.word().into(),
        };
        self.classes.iter().map(one).collect()
    }
}

impl Asks {
    fn bound(self) -> f64 {
        let (Self::Below(v) | Self::AtMost(v) | Self::Above(v) | Self::AtLeast(v)) = self;
        v
    }
    /// True where a value keeps it.
    pub fn meets(self, value: f64) -> bool {
        match self {
            Self::Below(v) => value < v,
            Self::AtMost(v) => value <= v,
            Self::Above(v) => value > v,
            Self::AtLeast(v) => value >= v,
        }
    }
    /// As it is written.
    pub fn text(self) -> String {
        let sign = match self {
            Self::Below(_) => "<",
            Self::AtMost(_) => "≤",
            Self::Above(_) => ">",
            Self::AtLeast(_) => "≥",
        };
        format!("{sign} {}", self.bound())
    }
}

use Asks::{Above, AtLeast, AtMost, Below};
use Figure as F;
use Known::{Read, Secondary, Unsure};

/// FADGI, *Technical Guidelines for Digitizing Cultural Heritage Materials*, 2016, prints and photographs.
pub const FADGI_2016: &str = "FADGI 2016";
/// Its third edition, 2023.
pub const FADGI_2023: &str = "FADGI 2023";
/// ISO 19264-1:2021.
pub const ISO_19264: &str = "ISO 19264-1";
/// Metamorfoze 2.0, draft of June 2023.
pub const METAMORFOZE: &str = "Metamorfoze 2.0";

const fn row(figure: Figure, standard: &'static str, classes: &'static [(&'static str, Asks, Known)]) -> Row {
    Row { figure, standard, classes }
}

/// The table. Sources: FADGI 2016, p. 33 to 35 (read). FADGI 2023: the four-star column quoted by a public technical note, the
/// others by a Czech institutional methodology and a comparison of classes for bound collections; marks of doubt are theirs. ISO
/// 19264-1: the same comparison, the standard was not at hand. Metamorfoze 2.0: its public pages and the same comparison, a draft.
pub static CLASSES: &[Row] = &[
    row(
        F::Sampling,
        FADGI_2016,
        &[
            ("4 stars", AtLeast(600.0), Read),
            ("3 stars", AtLeast(400.0), Read),
            ("2 stars", AtLeast(200.0), Read),
            ("1 star", AtLeast(100.0), Read),
        ],
    ),
    row(F::Sampling, FADGI_2023, &[("4 stars", AtLeast(594.0), Secondary), ("3 stars", AtLeast(392.0), Secondary)]),
    row(
        F::Sampling,
        METAMORFOZE,
        &[("Full, under A5", AtLeast(600.0), Unsure), ("Full, A5 and over", AtLeast(300.0), Unsure)],
    ),
    row(
        F::Efficiency,
        FADGI_2016,
        &[
            ("4 stars", Above(90.0), Read),
            ("3 stars", Above(80.0), Read),
            ("2 stars", Above(70.0), Read),
            ("1 star", Above(60.0), Read),
        ],
    ),
    row(
        F::Efficiency,
        FADGI_2023,
        &[
            ("4 stars", Above(90.0), Secondary),
            ("3 stars", Above(80.0), Secondary),
            ("2 stars", Above(70.0), Secondary),
            ("1 star", Above(60.0), Secondary),
        ],
    ),
    row(
        F::Efficiency,
        ISO_19264,
        &[("A", AtLeast(85.0), Secondary), ("B", AtLeast(80.0), Secondary), ("C", AtLeast(70.0), Secondary)],
    ),
    row(F::Efficiency, METAMORFOZE, &[("Full, Light, Extra Light", AtLeast(85.0), Unsure)]),
    row(
        F::HalfSampling,
        FADGI_2016,
        &[("4 stars", Below(0.2), Read), ("3 stars", Below(0.3), Read), ("2 and 1 stars", Below(0.4), Read)],
    ),
    row(
        F::HalfSampling,
        FADGI_2023,
        &[
            ("4 stars", Below(0.2), Secondary),
            ("3 stars", Below(0.3), Unsure),
            ("2 stars", Below(0.4), Unsure),
            ("1 star", Below(0.5), Unsure),
        ],
    ),
    row(
        F::Mtf50Low,
        FADGI_2016,
        &[
            ("4 stars", AtLeast(40.0), Read),
            ("3 stars", AtLeast(35.0), Read),
            ("2 stars", AtLeast(30.0), Read),
            ("1 star", AtLeast(25.0), Read),
        ],
    ),
    row(
        F::Mtf50Low,
        FADGI_2023,
        &[
            ("4 stars", Above(45.0), Secondary),
            ("3 stars", Above(40.0), Unsure),
            ("2 stars", Above(35.0), Unsure),
            ("1 star", Above(30.0), Unsure),
        ],
    ),
    row(
        F::Mtf50High,
        FADGI_2016,
        &[
            ("4 stars", AtMost(65.0), Read),
            ("3 stars", AtMost(75.0), Read),
            ("2 stars", AtMost(85.0), Read),
            ("1 star", AtMost(95.0), Read),
        ],
    ),
    row(
        F::Mtf50High,
        FADGI_2023,
        &[
            ("4 stars", Below(65.0), Secondary),
            ("3 stars", Below(75.0), Unsure),
            ("2 stars", Below(85.0), Unsure),
            ("1 star", Below(95.0), Unsure),
        ],
    ),
    row(
        F::Sharpening,
        FADGI_2016,
        &[
            ("4 stars", AtMost(1.0), Read),
            ("3 stars", Below(1.1), Read),
            ("2 stars", Below(1.2), Read),
            ("1 star", Below(1.3), Read),
        ],
    ),
    row(
        F::Sharpening,
        FADGI_2023,
        &[("4 stars", Below(1.02), Secondary), ("3 stars", Below(1.05), Secondary), ("2 stars", Below(1.1), Secondary)],
    ),
    row(F::Sharpening, METAMORFOZE, &[("Full, Light, Extra Light", AtMost(1.05), Unsure)]),
    row(
        F::Misregistration,
        FADGI_2016,
        &[
            ("4 stars", Below(0.33), Read),
            ("3 stars", Below(0.50), Read),
            ("2 stars", Below(0.80), Read),
            ("1 star", Below(1.2), Read),
        ],
    ),
    row(
        F::Misregistration,
        FADGI_2023,
        &[("4 stars", Below(0.33), Secondary), ("3 stars", Below(0.5), Secondary), ("2 stars", Below(0.8), Secondary)],
    ),
    row(F::Misregistration, ISO_19264, &[("A", AtMost(0.4), Unsure)]),
    row(
        F::Misregistration,
        METAMORFOZE,
        &[("Full", AtMost(0.35), Unsure), ("Light, Extra Light", AtMost(0.50), Unsure)],
    ),
    row(F::Distortion, ISO_19264, &[("A", AtMost(1.5), Unsure)]),
    row(F::Distortion, METAMORFOZE, &[("Full, Light", AtMost(2.0), Unsure), ("Extra Light", AtMost(4.0), Unsure)]),
    row(
        F::Noise,
        FADGI_2016,
        &[
            ("4 stars", Below(1.0), Read),
            ("3 stars", Below(2.0), Read),
            ("2 stars", Below(3.0), Read),
            ("1 star", Below(4.0), Read),
        ],
    ),
    row(
        F::Noise,
        FADGI_2023,
        &[
            ("4 stars", Below(1.0), Secondary),
            ("3 stars", Below(2.0), Secondary),
            ("2 stars", Below(3.0), Secondary),
            ("1 star", Below(4.0), Secondary),
        ],
    ),
    row(
        F::Noise,
        ISO_19264,
        &[("A", AtMost(1.6), Secondary), ("B", AtMost(2.0), Secondary), ("C", AtMost(2.2), Secondary)],
    ),
    row(F::Noise, METAMORFOZE, &[("Full, Light", AtMost(1.6), Unsure), ("Extra Light", AtMost(2.0), Unsure)]),
    row(F::NoiseFloor, FADGI_2023, &[("all levels", Above(0.25), Secondary)]),
    row(
        F::Uneven2016,
        FADGI_2016,
        &[
            ("4 stars", Below(1.0), Read),
            ("3 stars", Below(3.0), Read),
            ("2 stars", Below(5.0), Read),
            ("1 star", Below(8.0), Read),
        ],
    ),
    row(
        F::Uneven2023,
        FADGI_2023,
        &[
            ("4 stars", Below(1.0), Secondary),
            ("3 stars", Below(3.0), Unsure),
            ("2 stars", Below(5.0), Unsure),
            ("1 star", Below(8.0), Secondary),
        ],
    ),
    row(
        F::UnevenLightness,
        METAMORFOZE,
        &[("Full, Light, field to A3", AtMost(3.0), Unsure), ("Extra Light, field to A3", AtMost(5.0), Unsure)],
    ),
    row(
        F::Tone,
        FADGI_2016,
        &[
            ("4 stars", AtMost(2.0), Read),
            ("3 stars", AtMost(4.0), Read),
            ("2 stars", AtMost(6.0), Read),
            ("1 star", AtMost(8.0), Read),
        ],
    ),
    row(
        F::Tone2000,
        FADGI_2023,
        &[
            ("4 stars", Below(1.5), Secondary),
            ("3 stars", Below(3.0), Secondary),
            ("2 stars", Below(4.5), Secondary),
            ("1 star", Below(6.0), Secondary),
        ],
    ),
    row(
        F::Tone,
        ISO_19264,
        &[("A", AtMost(2.0), Secondary), ("B", AtMost(3.0), Secondary), ("C", AtMost(4.0), Secondary)],
    ),
    row(F::Tone, METAMORFOZE, &[("Full, Light", AtMost(2.0), Unsure), ("Extra Light", AtMost(4.0), Unsure)]),
    row(
        F::WhiteBalance,
        FADGI_2023,
        &[
            ("4 stars", Below(2.0), Secondary),
            ("3 stars", Below(4.0), Secondary),
            ("2 stars", Below(6.0), Secondary),
            ("1 star", Below(8.0), Secondary),
        ],
    ),
    row(
        F::WhiteBalance,
        ISO_19264,
        &[("A", AtMost(3.0), Secondary), ("B", AtMost(4.0), Secondary), ("C", AtMost(5.0), Secondary)],
    ),
    row(F::WhiteBalance, METAMORFOZE, &[("Full, Light", AtMost(3.0), Unsure), ("Extra Light", AtMost(5.0), Unsure)]),
    row(
        F::WhiteBalanceCounts,
        FADGI_2016,
        &[
            ("4 stars", AtMost(3.0), Read),
            ("3 stars", AtMost(4.0), Read),
            ("2 stars", AtMost(6.0), Read),
            ("1 star", AtMost(8.0), Read),
        ],
    ),
    row(
        F::GainHighlightsLow,
        ISO_19264,
        &[("A", AtLeast(0.8), Secondary), ("B", AtLeast(0.7), Secondary), ("C", AtLeast(0.6), Secondary)],
    ),
    row(F::GainHighlightsLow, METAMORFOZE, &[("Full, Light, Extra Light", AtLeast(0.8), Unsure)]),
    row(
        F::GainHighlightsHigh,
        ISO_19264,
        &[("A", AtMost(1.1), Secondary), ("B", AtMost(1.2), Secondary), ("C", AtMost(1.3), Secondary)],
    ),
    row(F::GainHighlightsHigh, METAMORFOZE, &[("Full, Light, Extra Light", AtMost(1.1), Unsure)]),
    row(
        F::GainLow,
        ISO_19264,
        &[("A", AtLeast(0.7), Secondary), ("B", AtLeast(0.6), Secondary), ("C", AtLeast(0.3), Secondary)],
    ),
    row(F::GainLow, METAMORFOZE, &[("Full, Light", AtLeast(0.7), Unsure), ("Extra Light", AtLeast(0.6), Unsure)]),
    row(
        F::GainHigh,
        ISO_19264,
        &[("A", AtMost(1.3), Secondary), ("B", AtMost(1.4), Secondary), ("C", AtMost(1.6), Secondary)],
    ),
    row(F::GainHigh, METAMORFOZE, &[("Full, Light", AtMost(1.2), Unsure), ("Extra Light", AtMost(1.3), Unsure)]),
    row(
        F::ColourMean,
        FADGI_2016,
        &[
            ("4 stars", Below(2.0), Read),
            ("3 stars", Below(4.0), Read),
            ("2 stars", Below(6.0), Read),
            ("1 star", Below(10.0), Read),
        ],
    ),
    row(
        F::ColourMean,
        FADGI_2023,
        &[
            ("4 stars", Below(2.0), Secondary),
            ("3 stars", Below(3.5), Secondary),
            ("2 stars", Below(5.0), Secondary),
            ("1 star", Below(6.5), Secondary),
        ],
    ),
    row(
        F::Colour90,
        FADGI_2023,
        &[
            ("4 stars", Below(4.0), Secondary),
            ("3 stars", Below(7.0), Secondary),
            ("2 stars", Below(10.0), Secondary),
            ("1 star", Below(13.0), Secondary),
        ],
    ),
    row(
        F::EvenMean,
        ISO_19264,
        &[("A", AtMost(4.0), Secondary), ("B", AtMost(5.0), Secondary), ("C", AtMost(5.0), Secondary)],
    ),
    row(F::EvenMean, METAMORFOZE, &[("Full", AtMost(3.0), Unsure), ("Light", AtMost(4.0), Unsure)]),
    row(
        F::EvenWorst,
        ISO_19264,
        &[("A", AtMost(10.0), Secondary), ("B", AtMost(15.0), Secondary), ("C", AtMost(15.0), Secondary)],
    ),
    row(F::EvenWorst, METAMORFOZE, &[("Full", AtMost(7.0), Unsure), ("Light", AtMost(14.0), Unsure)]),
];

/// The reference page made from the table.
pub fn reference() -> String {
    let mut text = String::from(
        "# Tolerance classes\n\nMade from `crates/rig/src/check/standards.rs` by `cargo xtask gen`; do not edit. \
         `fallside check` compares measured figures with these classes and reports which class is met and by how much \
         the next one is missed. It computes no score.\n\nHow a number is known: *read* in the standard's own text; \
         *secondary*, quoted by another text; *unsure*, quoted with a mark of doubt, or of a draft. Check the standard \
         itself before you rely on the latter two. What the standards ask of files (format, encoding, bits) and of a \
         stated resolution is not judged here.\n\n| figure | standard | classes | known |\n|---|---|---|---|\n",
    );
    for figure in Figure::ALL {
        let m = figure.meaning();
        for row in CLASSES.iter().filter(|r| r.figure == figure) {
            let classes: Vec<String> = row.classes.iter().map(|(c, asks, _)| format!("{c} {}", asks.text())).collect();
            let mut known: Vec<&str> = row.classes.iter().map(|c| c.2.word()).collect();
            known.dedup();
            let unit = if m.unit.is_empty() { String::new() } else { format!(" ({})", m.unit) };
            text +=
                &format!("| {}{unit} | {} | {} | {} |\n", m.name, row.standard, classes.join("; "), known.join(", "));
        }
    }
    text += "\n## How each is computed\n\n";
    for figure in Figure::ALL {
        let m = figure.meaning();
        text += &format!("- **{}**: {}.\n", m.name, m.formula);
    }
    text += "\nFADGI 2016 gives white balance in counts of 8-bit values, and says itself that counts and L* are \"not \
             precisely matched\". The colour as set by the chart is judged. Errors of means show how much they vary from \
             chart to chart; errors of single patches show how accurately these were read.\n";
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn classes_grow_milder_in_order() {
        for row in CLASSES {
            for pair in row.classes.windows(2) {
                let (a, b) = (pair[0].1, pair[1].1);
                let milder = match a {
                    Below(_) | AtMost(_) => b.bound() >= a.bound(),
                    Above(_) | AtLeast(_) => b.bound() <= a.bound(),
                };
                assert!(milder, "{} {:?}", row.standard, row.figure);
            }
        }
        for figure in Figure::ALL {
            assert!(CLASSES.iter().any(|r| r.figure == figure), "{figure:?}");
        }
    }

    /// FADGI 2016: sampling efficiency over 80 % is three stars; 85.5 % misses four by 4.5.
    #[test]
    fn a_figure_meets_one_class_and_misses_the_next_by_so_much() {
        let judged = F::Efficiency.judge(Value::bare(85.5)).unwrap();
        let of = |class: &str| judged.classes.iter().find(|c| c.standard == FADGI_2016 && c.class == class).unwrap();
        assert!(of("3 stars").meets && !of("4 stars").meets);
        assert!((of("4 stars").misses_by - 4.5).abs() < 1e-12);
        assert_eq!(of("3 stars").known, "read");
        assert!(judged.classes.iter().any(|c| c.standard == ISO_19264 && c.known == "secondary"));
    }
}
