//! Mosaics: written, read back by the decoder library, developed against planted scenes.
#![cfg(feature = "raw")]

use codec::raw::{CameraColours, Mosaic, read_mosaic};
use codec::{Error, Format, Limits, Metadata, dng, probe, read};
use pixels::{D65, Field, Frame, Picture, Plane, Primaries, Samples};

/// Sensor sensitivities of the planted camera: red and blue see less than green, as with every silicon sensor.
const SEEN: [f64; 3] = [0.43, 1.0, 0.62];

/// A camera whose balanced channels are linear sRGB: M = diag(SEEN) (XYZ of sRGB)^-1, by IEC 61966-2-1's published inverse.
fn colours() -> CameraColours {
    let m = [[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]];
    CameraColours { camera_from_xyz: std::array::from_fn(|r| m[r].map(|v| v * SEEN[r])), white: D65 }
}

/// A mosaic of the linear scene `f(x, y)`, 14-bit between black 512 and white 16383.
fn shoot(width: usize, height: usize, pattern: [[u8; 2]; 2], f: impl Fn(f64, f64) -> [f64; 3]) -> Mosaic {
    let at = |x: usize, y: usize| {
        let c = usize::from(pattern[y & 1][x & 1]);
        let light = (f(x as f64 + 0.5, y as f64 + 0.5)[c] * SEEN[c]).clamp(0.0, 1.0);
        (512.0 + light * (16383.0 - 512.0)).round() as u16
    };
    Mosaic {
        width,
        height,
        pattern,
        black: [[512.0; 2]; 2],
        white: 16383.0,
        as_shot: [0, 1, 2].map(|c| (1.0 / SEEN[c]) as f32),
        colours: Some(colours()),
        samples: (0..height).flat_map(|y| (0..width).map(move |x| (x, y))).map(|(x, y)| at(x, y)).collect(),
        metadata: Metadata {
            make: Some("Testbench".into()),
            model: Some("Testbench 24".into()),
            iso: Some(100),
            ..Default::default()
        },
    }
}

fn values(f: &Frame) -> Vec<f64> {
    let Samples::U16(s) = &f.samples else { panic!("16 bits") };
    s.iter().map(|&v| f64::from(v) / 65535.0).collect()
}

const RGGB: [[u8; 2]; 2] = [[0, 1], [1, 2]];

#[test]
fn dng_is_read_back_bit_exact() {
    let dir = tempfile::tempdir().unwrap();
    for (k, pattern) in [RGGB, [[2, 1], [1, 0]], [[1, 0], [2, 1]], [[1, 2], [0, 1]]].into_iter().enumerate() {
        let path = dir.path().join(format!("{k}.dng"));
        let m = shoot(302 + 2 * k, 201 + k, pattern, |x, y| [0.1 + x / 900.0, 0.5 + (x * y).sin() * 0.3, y / 300.0]);
        dng::write(&path, &m).unwrap();
        let back = read_mosaic(&path, &Limits::default()).unwrap();
        assert_eq!((back.width, back.height, back.pattern), (m.width, m.height, m.pattern));
        assert!(back.samples == m.samples);
        assert_eq!((back.black, back.white), (m.black, m.white));
        for (a, b) in back.as_shot.iter().zip(m.as_shot) {
            assert!((a - b).abs() < 1e-5);
        }
        assert_eq!(back.metadata.model, m.metadata.model);
        let header = probe(&path).unwrap();
        assert_eq!((header.format, header.width, header.height), (Format::Dng, m.width, m.height));
        assert!(codec::is_whole(&path));
        // Cut anywhere, it is refused.
        let bytes = std::fs::read(&path).unwrap();
        for share in [0.05, 0.5, 0.99] {
            std::fs::write(&path, &bytes[..(bytes.len() as f64 * share) as usize]).unwrap();
            let r = read(&path, &Limits::default());
            assert!(matches!(r, Err(Error::Truncated { .. } | Error::Damaged { .. })), "{share}: {r:?}");
            assert!(!codec::is_whole(&path), "{share}");
        }
    }
}

#[test]
fn balanced_camera_channels_have_the_primaries_of_srgb() {
    let m = shoot(16, 16, RGGB, |_, _| [0.5; 3]);
    for (a, b) in m.primaries().0.as_flattened().iter().zip(Primaries::srgb().0.as_flattened()) {
        // The published inverse has four digits.
        assert!((a - b).abs() < 3e-4, "{a} {b}");
    }
}

#[test]
fn smooth_colour_is_developed_exactly_and_without_seams() {
    // Linear in x and y: every step of the method is exact on it. 200 rows are more than three bands.
    let scene = |x: f64, y: f64| [0.2 + x / 1000.0, 0.3 + y / 1000.0, 0.5 - x / 2000.0];
    for pattern in [RGGB, [[1, 2], [0, 1]]] {
        let m = shoot(240, 200, pattern, scene);
        let f = m.develop(m.as_shot, None);
        assert!(f.encoding.tone.linear && !f.encoding.display_referred);
        // Gains are scaled to the least, green's 1.
        let v = values(&f);
        // The mirrored rim bends a slope; within it every value is exact, across band seams as well.
        for y in 12..188 {
            for x in 12..228 {
                let want = scene(x as f64 + 0.5, y as f64 + 0.5);
                for c in 0..3 {
                    // One sensor step is 6e-5; red and blue are amplified.
                    assert!((v[3 * (y * 240 + x) + c] - want[c]).abs() < 3e-4, "{x} {y} {c}");
                }
            }
        }
        let half = m.half();
        let (want, got) = (scene(61.0, 81.0), half.get(30, 40));
        // Within a 2 x 2 block red and blue sit half a pixel off its middle.
        (0..3).for_each(|c| assert!((f64::from(got[c]) - want[c]).abs() < 1.2e-3));
    }
}

#[test]
fn edges_keep_their_neutral() {
    // A dark, slightly blurred print edge at 7 degrees on bright paper, neutral: any colour is false colour.
    let scene = |x: f64, y: f64| {
        let d = (x - 60.0) * 0.9925 + (y - 60.0) * 0.1219;
        [0.08 + 0.75 / (1.0 + (-d / 0.5).exp()); 3]
    };
    let m = shoot(120, 120, RGGB, scene);
    let v = values(&m.develop(m.as_shot, None));
    let mut worst = 0.0f64;
    let mut square = 0.0;
    for y in 8..112 {
        for x in 8..112 {
            let px = &v[3 * (y * 120 + x)..][..3];
            let want = scene(x as f64 + 0.5, y as f64 + 0.5);
            worst = worst.max((px[0] - px[1]).abs()).max((px[2] - px[1]).abs());
            square += (0..3).map(|c| (px[c] - want[c]).powi(2)).sum::<f64>() / 3.0;
        }
    }
    let psnr = -10.0 * (square / (104.0f64 * 104.0)).log10();
    println!("worst false colour {worst:.4}, PSNR {psnr:.1} dB");
    assert!(worst < 0.06, "{worst}");
    assert!(psnr > 45.0, "{psnr}");
}

#[test]
fn coloured_detail_is_closer_than_bilinear() {
    // Slow and fast waves in all directions (a zone plate to half the limit of red and blue), each channel with its own strength.
    let scene = |x: f64, y: f64| {
        let wave = 0.5 + 0.5 * ((x * x + y * y) * 0.002).cos();
        [0.2 + 0.6 * wave, 0.25 + 0.5 * wave, 0.3 + 0.3 * wave]
    };
    let m = shoot(160, 160, RGGB, scene);
    let v = values(&m.develop(m.as_shot, None));
    let light = |x: usize, y: usize| {
        let c = m.colour(x, y);
        (f64::from(m.samples[y * 160 + x]) - 512.0) / (16383.0 - 512.0) / SEEN[c]
    };
    let (mut ours, mut bilinear, mut n) = (0.0, 0.0, 0.0);
    for y in 12..148 {
        for x in 12..148 {
            let want = scene(x as f64 + 0.5, y as f64 + 0.5);
            for c in 0..3 {
                let mut near = Vec::new();
                for (dx, dy) in (0..3).flat_map(|a| (0..3).map(move |b| (a, b))) {
                    let (i, j) = (x + dx - 1, y + dy - 1);
                    if m.colour(i, j) == c && (m.colour(x, y) != c || (i, j) == (x, y)) {
                        near.push(light(i, j));
                    }
                }
                bilinear += (near.iter().sum::<f64>() / near.len() as f64 - want[c]).powi(2);
                ours += (v[3 * (y * 160 + x) + c] - want[c]).powi(2);
                n += 1.0;
            }
        }
    }
    let db = |s: f64| -10.0 * (s / n).log10();
    println!("zone plate: ours {:.1} dB, bilinear {:.1} dB", db(ours), db(bilinear));
    assert!(db(ours) > db(bilinear) + 3.0);
}

#[test]
fn clipped_highlights_are_neutral() {
    // Ten times over: every filter saturates; and a ramp into it.
    let m = shoot(200, 64, RGGB, |x, _| [x / 20.0; 3]);
    let v = values(&m.develop(m.as_shot, None));
    for x in 4..196 {
        let px = &v[3 * (32 * 200 + x)..][..3];
        let spread = px.iter().copied().fold(0.0, f64::max) - px.iter().copied().fold(1.0, f64::min);
        assert!(spread < 0.03, "{x}: {px:?}");
    }
    assert!(v[3 * (32 * 200 + 150)..][..3].iter().all(|&c| c > 0.999));
    assert!(m.clipped_share().iter().all(|s| *s > 0.5));
}

#[test]
fn a_flat_field_makes_the_bed_even() {
    // Two thirds of a stop of fall-off and a warm light.
    let bed = |x: f64, y: f64| [0.75, 0.7, 0.6].map(|c| c * (1.0 - 0.35 * x / 300.0) * (1.0 - 0.1 * y / 200.0));
    let m = shoot(300, 200, RGGB, |x, y| {
        let b = bed(x, y);
        if (100.0..200.0).contains(&x) && (60.0..140.0).contains(&y) {
            [b[0] * 0.5, b[1] * 0.25, b[2] * 0.75]
        } else {
            b
        }
    });
    let step = 10.0;
    let grid = Picture(std::array::from_fn(|c| {
        Plane::from_fn(30, 20, |i, j| bed((i as f64 + 0.5) * step, (j as f64 + 0.5) * step)[c] as f32)
    }));
    let v = values(&m.develop(m.as_shot, Some(&Field { grid, step })));
    let px = |x: usize, y: usize| &v[3 * (y * 300 + x)..][..3];
    for (x, y) in [(5, 5), (290, 10), (150, 190), (30, 100), (250, 150)] {
        assert!(px(x, y).iter().all(|c| (c - 0.8).abs() < 0.002), "{:?}", px(x, y));
    }
    for (got, want) in px(150, 100).iter().zip([0.4, 0.2, 0.6]) {
        assert!((got - want).abs() < 0.002);
    }
}
