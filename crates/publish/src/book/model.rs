//! An invented printing condition for trials and tests: four inks by a simple model, tabulated as an ICC profile.
//!
//! The 16 overprints of four inks are mixed by Demichel's shares in the `1/n` power of their XYZ (H. E. J. Neugebauer, 1937;
//! J. A. C. Yule and W. J. Nielsen, 1951). The solids are invented, near those of coated offset. It is not the profile of a real printer.

/// Yule-Nielsen factor: how far light spreads in the paper. 1.6 to 2 is quoted for coated papers (common practice, from memory).
const N: f64 = 1.7;
/// XYZ of bare paper, media-relative: the white of the connection space (ICC.1:2022, 6.3.4).
const WHITE: [f64; 3] = [0.9642, 1.0, 0.8249];
/// XYZ of bare paper itself: a slightly yellow sheet of L* 95.
const PAPER: [f64; 3] = [0.845, 0.876, 0.700];
/// Lab of the solids on paper: cyan, magenta, yellow, black.
const SOLIDS: [[f64; 3]; 4] = [[57.0, -37.0, -50.0], [50.0, 75.0, -4.0], [92.0, -5.0, 95.0], [17.0, 0.0, 0.0]];
/// Light that comes back from the top of any layer, as a share of white.
const SURFACE: f64 = 0.004;
/// Nodes each way of the table to inks, and of that from inks.
const TO_INKS: usize = 17;
const FROM_INKS: usize = 9;

/// Lab (media-relative) of inks from 0 to 1: cyan, magenta, yellow, black.
pub fn printed(inks: [f64; 4]) -> [f64; 3] {
    mixed(&overprints(), inks)
}

/// XYZ of each overprint, in the `1/n` power.
fn overprints() -> [[f64; 3]; 16] {
    let solids = SOLIDS.map(pixels::xyz_from_lab);
    std::array::from_fn(|over| {
        let mut colour = WHITE;
        for i in (0..4).filter(|i| over >> i & 1 == 1) {
            (0..3).for_each(|c| colour[c] = (colour[c] * solids[i][c] / WHITE[c]).max(SURFACE * WHITE[c]));
        }
        colour.map(|v| v.powf(1.0 / N))
    })
}

fn mixed(overprints: &[[f64; 3]; 16], inks: [f64; 4]) -> [f64; 3] {
    let mut sum = [0.0; 3];
    for (over, colour) in overprints.iter().enumerate() {
        let share: f64 = (0..4).map(|i| if over >> i & 1 == 1 { inks[i] } else { 1.0 - inks[i] }).product();
        (0..3).for_each(|c| sum[c] += share * colour[c]);
    }
    pixels::lab_from_xyz(sum.map(|v| v.powf(N)))
}

/// Inks for a Lab: black takes over the grey below L* 60, the other three are found by descent.
fn separated(overprints: &[[f64; 3]; 16], want: [f64; 3]) -> [f64; 4] {
    let k = ((60.0 - want[0]) / 60.0).clamp(0.0, 1.0).powf(1.5) * 0.9;
    let far = |v: [f64; 3]| {
        let p = mixed(overprints, [v[0], v[1], v[2], k]);
        (0..3).map(|i| (p[i] - want[i]).powi(2)).sum::<f64>()
    };
    let mut at = [((100.0 - want[0]) / 100.0).clamp(0.0, 1.0); 3];
    let (mut best, mut step) = (far(at), 0.25);
    while step > 0.001 {
        let before = best;
        for (i, sign) in (0..3).flat_map(|i| [(i, -1.0), (i, 1.0)]) {
            let mut next = at;
            next[i] = (next[i] + sign * step).clamp(0.0, 1.0);
            let d = far(next);
            if d < best {
                (at, best) = (next, d);
            }
        }
        if best >= before {
            step /= 2.0;
        }
    }
    [at[0], at[1], at[2], k]
}

/// The profile: ICC version 2.4, class prtr, CMYK to and from Lab by 16-bit tables (ICC.1:2001-04, 6.5.8 lut16Type).
pub fn profile() -> Vec<u8> {
    let overprints = overprints();
    let grid = |i: usize, n: usize| i as f64 / (n - 1) as f64;
    let mut to = vec![];
    for i in 0..TO_INKS.pow(3) {
        let [l, a, b] = [i / TO_INKS / TO_INKS, i / TO_INKS % TO_INKS, i % TO_INKS].map(|j| grid(j, TO_INKS));
        // The first table of a channel takes code 0xFF00, L* 100, to the last node; a* and b* span -128 to 128.
        let inks = separated(&overprints, [l * 100.0, (a - 0.5) * 256.0, (b - 0.5) * 256.0]);
        to.extend(inks.map(|v| (v * 65535.0).round() as u16));
    }
    let mut from = vec![];
    for i in 0..FROM_INKS.pow(4) {
        let step = |k: u32| grid(i / FROM_INKS.pow(k) % FROM_INKS, FROM_INKS);
        let [l, a, b] = mixed(&overprints, [step(3), step(2), step(1), step(0)]);
        let code = [l * 652.8, (a + 128.0) * 256.0, (b + 128.0) * 256.0];
        from.extend(code.map(|v| v.round().clamp(0.0, 65535.0) as u16));
    }
    let (to, from) = (table(3, 4, TO_INKS, &to), table(4, 3, FROM_INKS, &from));
    let names = "Fallside ink model, for trying";
    let mut description =
        [b"desc\0\0\0\0".as_slice(), &(names.len() as u32 + 1).to_be_bytes(), names.as_bytes()].concat();
    // The terminating zero, and the empty Unicode and script parts.
    description.extend([0; 1 + 4 + 4 + 2 + 1 + 67]);
    let fixed = |v: f64| ((v * 65536.0).round() as i32).to_be_bytes();
    let white = [b"XYZ \0\0\0\0".to_vec(), PAPER.into_iter().flat_map(fixed).collect()].concat();
    let rights = b"text\0\0\0\0No rights reserved (CC0-1.0)\0".to_vec();
    let parts = [description, rights, white, from, to];
    // All three intents share their tables.
    let tags: [(&[u8; 4], usize); 9] = [
        (b"desc", 0),
        (b"cprt", 1),
        (b"wtpt", 2),
        (b"A2B0", 3),
        (b"A2B1", 3),
        (b"A2B2", 3),
        (b"B2A0", 4),
        (b"B2A1", 4),
        (b"B2A2", 4),
    ];
    assemble(&parts, &tags)
}

/// A lut16Type with straight curves.
fn table(inputs: u8, outputs: u8, nodes: usize, grid: &[u16]) -> Vec<u8> {
    let mut t = [b"mft2\0\0\0\0".as_slice(), &[inputs, outputs, nodes as u8, 0]].concat();
    for i in 0..9 {
        t.extend(if i % 4 == 0 { 65536_i32 } else { 0 }.to_be_bytes());
    }
    t.extend([1, 0, 0, 2_u8]);
    for channel in 0..inputs {
        for i in 0..256_u32 {
            let code = f64::from(i) / 255.0 * 65535.0;
            // To inks, the first channel is L*, full at 0xFF00.
            let code = if inputs == 3 && channel == 0 { code * 65535.0 / 65280.0 } else { code };
            t.extend((code.round().min(65535.0) as u16).to_be_bytes());
        }
    }
    t.extend(grid.iter().flat_map(|v| v.to_be_bytes()));
    for _ in 0..outputs {
        t.extend([0, 0, 0xFF, 0xFF_u8]);
    }
    t
}

fn assemble(parts: &[Vec<u8>], tags: &[(&[u8; 4], usize)]) -> Vec<u8> {
    let mut places = vec![];
    let mut body = vec![];
    let start = 128 + 4 + 12 * tags.len();
    for part in parts {
        places.push((start + body.len(), part.len()));
        body.extend(part);
        body.resize(body.len().next_multiple_of(4), 0);
    }
    let mut out = vec![0; 128];
    out[0..4].copy_from_slice(&((start + body.len()) as u32).to_be_bytes());
    out[8..12].copy_from_slice(&[2, 0x40, 0, 0]);
    out[12..24].copy_from_slice(b"prtrCMYKLab ");
    // A fixed date: the same model has the same bytes.
    out[24..36].copy_from_slice(&[0x07, 0xEA, 0, 1, 0, 1, 0, 0, 0, 0, 0, 0]);
    out[36..40].copy_from_slice(b"acsp");
    // The illuminant of the connection space, D50.
    for (i, v) in WHITE.into_iter().enumerate() {
        out[68 + 4 * i..72 + 4 * i].copy_from_slice(&((v * 65536.0).round() as i32).to_be_bytes());
    }
    out.extend((tags.len() as u32).to_be_bytes());
    for (name, part) in tags {
        let (at, length) = places[*part];
        out.extend_from_slice(*name);
        out.extend((at as u32).to_be_bytes());
        out.extend((length as u32).to_be_bytes());
    }
    out.extend(body);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_ink_is_paper_and_full_inks_are_the_solids() {
        let white = printed([0.0; 4]);
        assert!((white[0] - 100.0).abs() < 0.01 && white[1].abs() < 0.1 && white[2].abs() < 0.1, "{white:?}");
        for (i, solid) in SOLIDS.iter().enumerate() {
            let mut inks = [0.0; 4];
            inks[i] = 1.0;
            assert!(pixels::ciede2000(printed(inks), *solid) < 1.5, "{i}: {:?}", printed(inks));
        }
    }

    #[test]
    fn half_a_dot_prints_darker_than_half() {
        // Yule and Nielsen: with n over 1 a tint gains; by Murray and Davies a black half tint would have Y of about 0.51.
        let y = pixels::xyz_from_lab(printed([0.0, 0.0, 0.0, 0.5]))[1];
        assert!(y > 0.3 && y < 0.45, "{y}");
    }
}
