//! Encodings: what code values mean.

use std::sync::Arc;

/// Red, green and blue primaries as their XYZ columns relative to D50 (ICC profile connection space, Y of white = 1).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Primaries(pub [[f64; 3]; 3]);

impl Primaries {
    /// IEC 61966-2-1 sRGB adapted from D65 to D50 by the Bradford transform.
    pub fn srgb() -> Self {
        Self([
            [0.436_005_3, 0.385_073_8, 0.143_114_7],
            [0.222_469_1, 0.716_895_2, 0.060_631_5],
            [0.013_930_0, 0.097_106_8, 0.714_344_7],
        ])
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
