//! Small version 4 matrix profiles, laid out by hand after ICC.1:2010 (4.3): exact curves, the same bytes every time.

use pixels::Primaries;

/// Profile connection white, D50, in s15Fixed16 (ICC.1:2022 section 7.2.16).
const D50: [i32; 3] = [0xF6D6, 0x10000, 0xD32D];

/// Bradford adaptation from D65 to D50 (IEC 61966-2-1 white to the connection space).
const D65_TO_D50: [f64; 9] = [
    1.047_811_2,
    0.022_886_6,
    -0.050_127_0,
    0.029_542_4,
    0.990_484_4,
    -0.017_049_1,
    -0.009_234_5,
    0.015_043_6,
    0.752_131_6,
];

/// A tone curve as the profile stores it.
enum Curve {
    Linear,
    /// Parametric type 3: g, a, b, c, d; (a x + b)^g from d up, c x below.
    Power([f64; 5]),
}

const SRGB: Curve = Curve::Power([2.4, 1.0 / 1.055, 0.055 / 1.055, 1.0 / 12.92, 0.04045]);
/// L* (CIE 15:2018): ((100 x + 16) / 116)^3 from x = 0.08 up, 100 x / kappa below, kappa = 24389/27.
const LSTAR: Curve = Curve::Power([3.0, 100.0 / 116.0, 16.0 / 116.0, 2700.0 / 24389.0, 0.08]);

/// sRGB (IEC 61966-2-1).
pub fn srgb() -> Vec<u8> {
    profile("sRGB (IEC 61966-2-1)", &Primaries::srgb(), &SRGB, Some(D65_TO_D50))
}

/// eciRGBv2 (ISO 22028-4), the master's encoding.
pub fn eci_rgb_v2() -> Vec<u8> {
    profile("eciRGBv2 (ISO 22028-4)", &Primaries::eci_rgb_v2(), &LSTAR, None)
}

/// sRGB primaries, light proportional to code.
pub fn linear_srgb() -> Vec<u8> {
    profile("linear sRGB", &Primaries::srgb(), &Curve::Linear, Some(D65_TO_D50))
}

/// eciRGBv2 primaries, light proportional to code.
pub fn linear_eci_rgb() -> Vec<u8> {
    profile("linear eciRGBv2", &Primaries::eci_rgb_v2(), &Curve::Linear, None)
}

/// Any primaries relative to D50, light proportional to code: a camera's own, for instance.
pub fn linear(primaries: &Primaries, name: &str) -> Vec<u8> {
    profile(name, primaries, &Curve::Linear, None)
}

fn profile(name: &str, primaries: &Primaries, curve: &Curve, adaptation: Option<[f64; 9]>) -> Vec<u8> {
    let columns = colorants(primaries);
    let mut tags: Vec<(&[u8; 4], Vec<u8>)> = vec![
        (b"desc", text(name)),
        (b"cprt", text("No rights reserved (CC0 1.0)")),
        (b"wtpt", xyz(D50)),
        (b"rXYZ", xyz(columns[0])),
        (b"gXYZ", xyz(columns[1])),
        (b"bXYZ", xyz(columns[2])),
        (b"rTRC", tone(curve)),
    ];
    if let Some(m) = adaptation {
        let mut tag = b"sf32\0\0\0\0".to_vec();
        tag.extend(m.iter().flat_map(|&v| fixed(v).to_be_bytes()));
        tags.push((b"chad", tag));
    }
    assemble(&tags)
}

/// Header (ICC.1 section 7.2), tag table, tags; green and blue share red's curve.
fn assemble(tags: &[(&[u8; 4], Vec<u8>)]) -> Vec<u8> {
    let count = tags.len() + 2;
    let mut table = Vec::new();
    let mut data: Vec<u8> = Vec::new();
    let start = 128 + 4 + 12 * count;
    for (name, tag) in tags {
        let shared: &[&[u8; 4]] = if *name == b"rTRC" { &[b"rTRC", b"gTRC", b"bTRC"] } else { &[*name] };
        for name in shared {
            table.extend_from_slice(*name);
            table.extend(((start + data.len()) as u32).to_be_bytes());
            table.extend((tag.len() as u32).to_be_bytes());
        }
        data.extend(tag);
        data.resize(data.len().next_multiple_of(4), 0);
    }
    let mut out = Vec::with_capacity(start + data.len());
    out.extend(((start + data.len()) as u32).to_be_bytes());
    out.extend([0; 4]);
    out.extend([4, 0x30, 0, 0]);
    out.extend(b"mntrRGB XYZ ");
    // A fixed date, 1 January 2026, so that the same version writes the same bytes.
    out.extend([2026u16, 1, 1, 0, 0, 0].iter().flat_map(|v| v.to_be_bytes()));
    out.extend(b"acsp");
    // Platform, flags, maker, model, attributes: none. Rendering intent: media-relative colorimetric (1).
    out.extend([0; 24]);
    out.extend(1u32.to_be_bytes());
    out.extend(D50.iter().flat_map(|v| v.to_be_bytes()));
    out.resize(128, 0);
    out.extend((count as u32).to_be_bytes());
    out.extend(table);
    out.extend(data);
    out
}

/// Columns in s15Fixed16; green takes up the rounding, so that equal channels give exactly D50.
fn colorants(primaries: &Primaries) -> [[i32; 3]; 3] {
    let column = |c: usize| -> [i32; 3] { std::array::from_fn(|row| fixed(primaries.0[row][c])) };
    let (r, b) = (column(0), column(2));
    [r, std::array::from_fn(|i| D50[i] - r[i] - b[i]), b]
}

fn fixed(v: f64) -> i32 {
    (v * 65536.0).round() as i32
}

fn xyz(v: [i32; 3]) -> Vec<u8> {
    let mut tag = b"XYZ \0\0\0\0".to_vec();
    tag.extend(v.iter().flat_map(|n| n.to_be_bytes()));
    tag
}

fn tone(curve: &Curve) -> Vec<u8> {
    match curve {
        Curve::Linear => b"curv\0\0\0\0\0\0\0\0".to_vec(),
        Curve::Power(p) => {
            let mut tag = b"para\0\0\0\0\0\x03\0\0".to_vec();
            tag.extend(p.iter().flat_map(|&v| fixed(v).to_be_bytes()));
            tag
        }
    }
}

/// multiLocalizedUnicodeType with one English record.
fn text(s: &str) -> Vec<u8> {
    let utf16: Vec<u8> = s.encode_utf16().flat_map(u16::to_be_bytes).collect();
    let mut tag = b"mluc\0\0\0\0\0\0\0\x01\0\0\0\x0CenUS".to_vec();
    tag.extend((utf16.len() as u32).to_be_bytes());
    tag.extend(28u32.to_be_bytes());
    tag.extend(utf16);
    tag
}
