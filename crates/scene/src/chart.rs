//! Our own colour chart: 4 by 6 matte patches of known reflectance on dark card.

use geometry::{Quad, point};
use pixels::colour::Primaries;

/// Rows from the chart's top.
pub const ROWS: usize = 4;
/// Columns from its left.
pub const COLUMNS: usize = 6;
/// Side of a patch, mm.
pub const PATCH: f64 = 14.0;
/// Distance from one patch's edge to the next patch's.
pub const GAP: f64 = 2.5;
/// Card around the patches, mm.
pub const MARGIN: f64 = 4.0;
/// Reflectance of the card between.
pub const CARD: f64 = 0.09;

/// Reflectance of each patch, linear sRGB primaries: a grey row from paper white to a matte black, saturated hues around
/// the circle, deep ones, and the middle tones that pictures of people and land are made of. Invented.
pub const PATCHES: [[f64; 3]; ROWS * COLUMNS] = [
    [0.86, 0.86, 0.84],
    [0.61, 0.61, 0.60],
    [0.40, 0.40, 0.40],
    [0.22, 0.22, 0.22],
    [0.10, 0.10, 0.10],
    [0.038, 0.038, 0.039],
    [0.46, 0.06, 0.05],
    [0.62, 0.24, 0.045],
    [0.70, 0.50, 0.06],
    [0.30, 0.45, 0.07],
    [0.08, 0.30, 0.10],
    [0.06, 0.27, 0.26],
    [0.07, 0.20, 0.42],
    [0.06, 0.07, 0.30],
    [0.17, 0.06, 0.25],
    [0.42, 0.08, 0.26],
    [0.50, 0.15, 0.15],
    [0.17, 0.07, 0.035],
    [0.58, 0.36, 0.24],
    [0.34, 0.19, 0.12],
    [0.72, 0.60, 0.44],
    [0.20, 0.32, 0.46],
    [0.22, 0.28, 0.13],
    [0.60, 0.70, 0.72],
];

/// Outer size of the chart, mm.
pub fn size() -> (f64, f64) {
    let side = |n: usize| n as f64 * PATCH + (n - 1) as f64 * GAP + 2.0 * MARGIN;
    (side(COLUMNS), side(ROWS))
}

/// Corners of patch `i` (row by row from the top left) in the chart's own mm, as a print's.
pub fn patch(i: usize) -> Quad {
    let (w, h) = size();
    let x = -w / 2.0 + MARGIN + (i % COLUMNS) as f64 * (PATCH + GAP);
    let y = h / 2.0 - MARGIN - (i / COLUMNS) as f64 * (PATCH + GAP);
    Quad([point(x, y), point(x + PATCH, y), point(x + PATCH, y - PATCH), point(x, y - PATCH)])
}

/// Reflectance at a place of the chart, mm.
pub fn reflectance(x: f32, y: f32) -> [f32; 3] {
    let (w, h) = size();
    let (u, v) = (f64::from(x) + w / 2.0 - MARGIN, h / 2.0 - f64::from(y) - MARGIN);
    let (i, j) = ((u / (PATCH + GAP)).floor(), (v / (PATCH + GAP)).floor());
    let on = |t: f64, k: f64, n: usize| k >= 0.0 && k < n as f64 && t - k * (PATCH + GAP) < PATCH;
    let rgb = if on(u, i, COLUMNS) && on(v, j, ROWS) { PATCHES[j as usize * COLUMNS + i as usize] } else { [CARD; 3] };
    rgb.map(|v| v as f32)
}

/// The chart's values as CGATS.17 text (ISO 28178): XYZ of reflectance relative to D50 with Y of a perfect diffuser 100,
/// and L*a*b*.
pub fn cgats() -> String {
    let mut out = String::from(
        "CGATS.17\nORIGINATOR\t\"Fallside scene\"\nDESCRIPTOR\t\"4 by 6 matte chart, reflectance, D50, 2 degree observer\"\n\
         NUMBER_OF_FIELDS\t7\nBEGIN_DATA_FORMAT\nSAMPLE_ID\tXYZ_X\tXYZ_Y\tXYZ_Z\tLAB_L\tLAB_A\tLAB_B\nEND_DATA_FORMAT\n",
    );
    out += &format!("NUMBER_OF_SETS\t{}\nBEGIN_DATA\n", PATCHES.len());
    for (i, rgb) in PATCHES.iter().enumerate() {
        let xyz = xyz(*rgb);
        let lab = lab(xyz);
        let name = format!("{}{}", (b'A' + (i / COLUMNS) as u8) as char, i % COLUMNS + 1);
        let values: Vec<String> = xyz.iter().chain(&lab).map(|v| format!("{v:.4}")).collect();
        out += &format!("{name}\t{}\n", values.join("\t"));
    }
    out + "END_DATA\n"
}

/// XYZ relative to D50, perfect white 100, of linear sRGB reflectance.
pub fn xyz(rgb: [f64; 3]) -> [f64; 3] {
    Primaries::srgb().xyz(rgb).map(|v| 100.0 * v)
}

/// CIE 1976 L*a*b* of such XYZ.
fn lab(xyz: [f64; 3]) -> [f64; 3] {
    pixels::lab::lab_from_xyz(xyz.map(|v| v / 100.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// sRGB white and mid grey in L*a*b* are 100 and 0, 0; 18 % is L* 49.50 (CIE 15, from the formula).
    #[test]
    fn values_are_the_reflectances() {
        let white = lab(xyz([1.0; 3]));
        assert!((white[0] - 100.0).abs() < 0.01 && white[1].abs() < 0.02 && white[2].abs() < 0.02, "{white:?}");
        assert!((lab(xyz([0.18; 3]))[0] - 49.496).abs() < 0.01);
        let text = cgats();
        assert!(
            text.starts_with("CGATS.17\n")
                && text.lines().filter(|l| l.starts_with(['A', 'B', 'C', 'D'])).count() >= 24
        );
    }

    #[test]
    fn patches_lie_where_they_say() {
        for (i, want) in PATCHES.iter().enumerate() {
            let c = patch(i).centre();
            let got = reflectance(c.x as f32, c.y as f32);
            assert!((0..3).all(|k| (f64::from(got[k]) - want[k]).abs() < 1e-6));
        }
        assert_eq!(reflectance(0.0, 0.0)[0], CARD as f32);
    }
}
