//! Colours that a person can search for, and when a picture's colour is near one.
//!
//! Colours are CIELAB (ISO/CIE 11664-4). Instant prints are muted and fade, so a colour with a hue is near another of nearly the same
//! hue, whatever its strength; one without a hue (black, white, grey) is near others without one of nearly the same lightness.

use std::f64::consts::TAU;

/// A colour that is sought, in hundredths of CIELAB units.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Colour([i32; 3]);

/// Chroma from which a colour has a hue: below, people call it grey.
const HUED: f64 = 9.0;
/// How far a hue may lie from the sought one, degrees: neighbouring names (red, orange, yellow) lie about 45° apart.
const NEAR_DEG: f64 = 25.0;
/// How far a lightness may lie from a sought one without hue.
const NEAR_L: f64 = 18.0;
/// Least share of the picture: a tenth is seen from across a table.
const SHARE: f64 = 0.1;

/// The main colours of a picture, the largest first: CIELAB, each with its share.
pub type MainColours = Vec<([f64; 3], f64)>;

/// Names, each with sRGB as CSS Color 4 has it (from memory). "Pink" and "brown" are muted reds there as well.
const NAMES: &[(&str, [u8; 3])] = &[
    ("red", [255, 0, 0]),
    ("orange", [255, 165, 0]),
    ("yellow", [255, 255, 0]),
    ("green", [0, 128, 0]),
    ("teal", [0, 128, 128]),
    ("blue", [30, 80, 220]),
    ("purple", [128, 0, 128]),
    ("pink", [255, 192, 203]),
    ("brown", [165, 42, 42]),
    ("black", [0, 0, 0]),
    ("grey", [128, 128, 128]),
    ("gray", [128, 128, 128]),
    ("white", [255, 255, 255]),
];

impl Colour {
    /// A colour of CIELAB.
    pub fn new(lab: [f64; 3]) -> Self {
        Self(lab.map(|v| (v * 100.0).round() as i32))
    }

    /// A colour by its name or the beginning of one, or as `#1e3f5c`.
    ///
    /// ```
    /// use catalogue::colour::Colour;
    /// assert!(Colour::parse("#1e3f5c").is_ok() && Colour::parse("loud").is_err());
    /// ```
    ///
    /// # Errors
    /// It is neither; a sentence names the names.
    pub fn parse(text: &str) -> Result<Self, String> {
        if let Some(rgb) = text.strip_prefix('#').and_then(code) {
            return Ok(Self::new(lab(rgb)));
        }
        let found = NAMES.iter().find(|(name, _)| name.starts_with(text));
        found.map(|(_, rgb)| Self::new(lab(*rgb))).ok_or_else(|| {
            let names: Vec<&str> = NAMES.iter().map(|n| n.0).filter(|n| *n != "gray").collect();
            format!(
                "“{text}” is not a colour: write {}, a code such as #1e3f5c, or a print's number.",
                names.join(", ")
            )
        })
    }

    /// A condition over `c.l`, `c.a`, `c.b` and `c.share` that is true where such a colour is near.
    pub(crate) fn near(self, mut bind: impl FnMut(f64) -> String) -> String {
        let [l, a, b] = self.0.map(|v| f64::from(v) / 100.0);
        let share = bind(SHARE);
        let hued = bind(HUED * HUED);
        if a.hypot(b) < HUED {
            let (least, most) = (bind(l - NEAR_L), bind(l + NEAR_L));
            return format!("c.share >= {share} AND c.a * c.a + c.b * c.b < {hued} AND c.l BETWEEN {least} AND {most}");
        }
        // The cosine between two hues is their product over both lengths.
        let (a, b) = (a / a.hypot(b), b / a.hypot(b));
        let cos = (NEAR_DEG * TAU / 360.0).cos();
        let (a, b, cos2) = (bind(a), bind(b), bind(cos * cos));
        let dot = format!("(c.a * {a} + c.b * {b})");
        format!(
            "c.share >= {share} AND c.a * c.a + c.b * c.b >= {hued} AND {dot} > 0
             AND {dot} * {dot} >= {cos2} * (c.a * c.a + c.b * c.b)"
        )
    }
}

fn code(text: &str) -> Option<[u8; 3]> {
    if text.len() != 6 || !text.is_ascii() {
        return None;
    }
    let two = |i: usize| u8::from_str_radix(&text[i..i + 2], 16).ok();
    Some([two(0)?, two(2)?, two(4)?])
}

/// CIELAB of an 8-bit sRGB colour (IEC 61966-2-1, white D65).
pub fn lab(rgb: [u8; 3]) -> [f64; 3] {
    let linear = rgb.map(|v| {
        let v = f64::from(v) / 255.0;
        if v <= 0.04045 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
    });
    of_linear(linear)
}

/// CIELAB of linear sRGB light, relative to its white.
pub fn of_linear([r, g, b]: [f64; 3]) -> [f64; 3] {
    // Rows of the matrix of IEC 61966-2-1, each divided by its white (0.9505, 1, 1.089).
    let x = (0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505;
    let y = 0.2126 * r + 0.7152 * g + 0.0722 * b;
    let z = (0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.089;
    // ISO/CIE 11664-4: cube root, and a line below (6/29)³.
    let f = |t: f64| if t > 0.008_856 { t.cbrt() } else { t * 903.3 / 116.0 + 16.0 / 116.0 };
    [116.0 * f(y) - 16.0, 500.0 * (f(x) - f(y)), 200.0 * (f(y) - f(z))]
}

/// The main colours of some samples, the largest share first: each with its share. Samples fall into boxes of CIELAB; the fullest
/// boxes and what lies beside them make a colour.
pub fn main_colours(samples: &[[f64; 3]]) -> MainColours {
    // A box of 20 units holds what people call one colour; five colours cover nearly every picture.
    const BOX: f64 = 20.0;
    const MOST: usize = 5;
    let mut boxes = std::collections::BTreeMap::<[i32; 3], ([f64; 3], usize)>::new();
    for lab in samples.iter().filter(|s| s.iter().all(|v| v.is_finite())) {
        let held = boxes.entry(lab.map(|v| (v / BOX).round() as i32)).or_default();
        held.0.iter_mut().zip(lab).for_each(|(sum, v)| *sum += v);
        held.1 += 1;
    }
    let mut all: Vec<([f64; 3], f64)> =
        boxes.into_values().map(|(sum, n)| (sum.map(|v| v / n as f64), n as f64 / samples.len() as f64)).collect();
    all.sort_by(|a, b| b.1.total_cmp(&a.1));
    all.truncate(MOST);
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    /// CIELAB of sRGB's red, green and white under D65, as tables on the web have them (from memory).
    #[test]
    fn lab_is_that_of_tables() {
        for (rgb, wanted) in [
            ([255, 0, 0], [53.2, 80.1, 67.2]),
            ([0, 128, 0], [46.2, -51.7, 49.9]),
            ([255, 255, 255], [100.0, 0.0, 0.0]),
            ([0, 0, 0], [0.0, 0.0, 0.0]),
        ] {
            let got = lab(rgb);
            assert!(got.iter().zip(wanted).all(|(g, w)| (g - w).abs() < 0.15), "{rgb:?}: {got:?}");
        }
    }

    #[test]
    fn main_colours_are_those_of_the_picture() {
        let (red, grey) = (lab([150, 60, 55]), lab([128, 128, 128]));
        let samples: Vec<[f64; 3]> = (0..100).map(|i| if i < 30 { red } else { grey }).collect();
        let found = main_colours(&samples);
        assert_eq!(found.len(), 2);
        assert!((found[0].1 - 0.7).abs() < 1e-9 && (found[1].0[1] - red[1]).abs() < 1e-9, "{found:?}");
        assert!(Colour::parse("re").is_ok() && Colour::parse("#12345").is_err() && Colour::parse("#ééé").is_err());
        assert!(main_colours(&[]).is_empty());
    }
}
