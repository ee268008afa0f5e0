//! Encodings: what code values mean.

use crate::adapt::{D50, D65, adaptation};
use crate::matrix::{IDENTITY, Matrix3, apply, diagonal, inverse, product};
use std::sync::Arc;

/// Red, green and blue primaries as their XYZ columns relative to D50 (ICC profile connection space, Y of white = 1).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Primaries(pub [[f64; 3]; 3]);

impl Primaries {
    /// From the chromaticities (x, y) of red, green and blue and the XYZ of their white (Y = 1), adapted to [`D50`] by the
    /// Bradford transform; `None` where the three lie on a line or on y = 0.
    ///
    /// Each column is a primary's `(x/y, 1, (1-x-y)/y)` scaled so that the three add up to the white
    /// (SMPTE RP 177-1993).
    pub fn from_chromaticities(rgb: [[f64; 2]; 3], white: [f64; 3]) -> Option<Self> {
        let columns = rgb.map(|[x, y]| [x / y, 1.0, (1.0 - x - y) / y]);
        let m: Matrix3 = std::array::from_fn(|i| std::array::from_fn(|j| columns[j][i]));
        let scale = apply(&inverse(&m)?, white);
        scale.iter().all(|s| s.is_finite() && *s != 0.0).then_some(())?;
        Some(Self(product(&adaptation(white, D50), &product(&m, &diagonal(scale)))))
    }

    /// sRGB (IEC 61966-2-1:1999), adapted from D65.
    pub fn srgb() -> Self {
        Self::known([[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]], D65)
    }

    /// ROMM RGB (ISO 22028-2), whose own white is D50.
    pub fn romm() -> Self {
        Self::known([[0.7347, 0.2653], [0.1596, 0.8404], [0.0366, 0.0001]], D50)
    }

    /// eciRGB version 2 (ISO 22028-4), whose own white is D50. The standard gives the primaries as XYZ to three digits; these
    /// are their chromaticities.
    pub fn eci_rgb_v2() -> Self {
        Self::known(
            [[650.0 / 970.0, 320.0 / 970.0], [178.0 / 848.0, 602.0 / 848.0], [136.0 / 971.0, 78.0 / 971.0]],
            D50,
        )
    }

    /// A standard's own primaries, which span colour; the identity stands where they would not.
    fn known(rgb: [[f64; 2]; 3], white: [f64; 3]) -> Self {
        Self::from_chromaticities(rgb, white).unwrap_or(Self(IDENTITY))
    }

    /// XYZ (D50) of a linear RGB.
    pub fn xyz(&self, rgb: [f64; 3]) -> [f64; 3] {
        apply(&self.0, rgb)
    }

    /// The linear RGB of an XYZ (D50) is this matrix times it; `None` for primaries that do not span colour.
    pub fn rgb_from_xyz(&self) -> Option<Matrix3> {
        inverse(&self.0)
    }
}

/// A tone curve, code value (0 to 1) to scene-linear light, tabulated for 8 and 16 bits.
#[derive(Clone)]
pub struct Tone {
    eight: Arc<[f32]>,
    sixteen: Arc<[f32]>,
    /// True where light is proportional to code.
    pub linear: bool,
}

impl std::fmt::Debug for Tone {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Tone(half = {})", self.sixteen[32768])
    }
}

impl Tone {
    /// Tabulates `f`, which takes code 0..1 to light.
    pub fn from_fn(f: impl Fn(f64) -> f64) -> Self {
        let table = |n: usize| (0..=n).map(|i| f(i as f64 / n as f64) as f32).collect::<Arc<[f32]>>();
        Self { eight: table(255), sixteen: table(65535), linear: false }
    }
    /// Light equal to code.
    pub fn linear() -> Self {
        Self { linear: true, ..Self::from_fn(|v| v) }
    }
    /// The sRGB curve (IEC 61966-2-1).
    pub fn srgb() -> Self {
        Self::from_fn(srgb_decode)
    }
    /// This curve, then `f` from light to light.
    pub fn then(&self, f: impl Fn(f64) -> f64) -> Self {
        let map = |t: &[f32]| t.iter().map(|&v| f(f64::from(v)) as f32).collect();
        Self { eight: map(&self.eight), sixteen: map(&self.sixteen), linear: false }
    }
    /// From a table for 16 bits; `None` where it has another length than 65536. The table for 8 bits is every 257th of it.
    pub fn from_table(sixteen: Vec<f32>) -> Option<Self> {
        (sixteen.len() == 65536).then_some(())?;
        let eight = sixteen.iter().step_by(257).copied().collect();
        Some(Self { eight, sixteen: sixteen.into(), linear: false })
    }
    /// The table for 8 (256 entries) or 16 bits (65536 entries).
    pub fn table(&self, bits: u32) -> &[f32] {
        if bits == 8 { &self.eight } else { &self.sixteen }
    }
}

/// sRGB code to light, both 0 to 1 (IEC 61966-2-1:1999).
pub fn srgb_decode(c: f64) -> f64 {
    if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
}

/// sRGB light to code, both 0 to 1 (IEC 61966-2-1:1999).
///
/// ```
/// use pixels::colour::{srgb_decode, srgb_encode};
/// // IEC 61966-2-1: a fifth of the light is code 0.484.
/// assert!((srgb_encode(0.2) - 0.4845).abs() < 1e-4);
/// assert!((srgb_decode(srgb_encode(0.2)) - 0.2).abs() < 1e-12);
/// ```
pub fn srgb_encode(l: f64) -> f64 {
    if l <= 0.003_130_8 { 12.92 * l } else { 1.055 * l.powf(1.0 / 2.4) - 0.055 }
}

/// What a frame's numbers mean.
#[derive(Clone, Debug)]
pub struct Encoding {
    /// Code to light.
    pub tone: Tone,
    /// The frame's own primaries.
    pub primaries: Primaries,
    /// True where a camera's own look (a tone curve nobody wrote down) may lie between scene and code: any JPEG.
    pub display_referred: bool,
}

impl Encoding {
    /// A scene-referred encoding.
    pub fn new(tone: Tone, primaries: Primaries) -> Self {
        Self { tone, primaries, display_referred: false }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(got: Matrix3, want: Matrix3, tolerance: f64) {
        (0..9).for_each(|i| assert!((got[i / 3][i % 3] - want[i / 3][i % 3]).abs() <= tolerance, "{got:?} {want:?}"));
    }

    /// IEC 61966-2-1:1999 prints the matrix to four digits.
    #[test]
    fn srgb_derives_the_published_matrix() {
        let published = [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]];
        near(product(&adaptation(D50, D65), &Primaries::srgb().0), published, 5e-5);
        let back = [[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]];
        let inverse = product(&Primaries::srgb().rgb_from_xyz().unwrap(), &adaptation(D65, D50));
        near(inverse, back, 5e-4);
    }

    /// The seven-digit D50 matrix of a general colour library (docs/references.md, colour constants). It adapts between
    /// whites rounded otherwise (D65 Z 1.08883, D50 Z 0.82521), which moves its blue Z by 4e-4.
    #[test]
    fn srgb_at_d50_is_the_published_matrix() {
        let published =
            [[0.4360053, 0.3850738, 0.1431147], [0.2224691, 0.7168952, 0.0606315], [0.0139300, 0.0971068, 0.7143447]];
        near(Primaries::srgb().0, published, 5e-4);
    }

    /// ISO 22028-2 prints the ROMM matrix to four digits, ISO 22028-4 the eciRGB one to three (both as a general colour
    /// library quotes them).
    #[test]
    fn wide_spaces_derive_their_published_matrices() {
        let romm = [[0.7977, 0.1352, 0.0313], [0.2880, 0.7119, 0.0001], [0.0, 0.0, 0.8249]];
        near(Primaries::romm().0, romm, 1.5e-4);
        let eci = [[0.650, 0.178, 0.136], [0.320, 0.602, 0.078], [0.0, 0.068, 0.757]];
        near(Primaries::eci_rgb_v2().0, eci, 5e-4);
    }

    #[test]
    fn a_table_alone_gives_the_same_curve() {
        let tone = Tone::srgb();
        let back = Tone::from_table(tone.table(16).to_vec()).unwrap();
        assert!(back.table(8) == tone.table(8) && back.table(16) == tone.table(16));
        assert!(Tone::from_table(vec![0.0; 256]).is_none());
    }

    #[test]
    fn equal_rgb_is_the_white_exactly_and_a_line_is_refused() {
        for p in [Primaries::srgb(), Primaries::romm(), Primaries::eci_rgb_v2()] {
            let w = p.xyz([1.0; 3]);
            (0..3).for_each(|i| assert!((w[i] - D50[i]).abs() < 1e-12, "{w:?}"));
        }
        assert_eq!(Primaries::from_chromaticities([[0.2, 0.2], [0.3, 0.3], [0.4, 0.4]], D50), None);
        assert_eq!(Primaries::from_chromaticities([[0.2, 0.0], [0.3, 0.3], [0.4, 0.2]], D50), None);
    }
}
