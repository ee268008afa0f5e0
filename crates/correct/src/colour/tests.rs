//! Charts planted with a known colour error, which the fit must find and no more.

use super::*;
use crate::colour::model::terms;
use geometry::Quad;
use pixels::colour::{srgb_decode, srgb_encode};
use pixels::{D50, Swatch, ciede2000};
use print::chart::Patch;

/// A number from 0 to 1 that looks random.
fn hash(i: u64) -> f64 {
    let mut x = i.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ 0x1234_5678_9abc;
    x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    ((x ^ (x >> 31)) >> 11) as f64 / (1u64 << 53) as f64
}

/// Linear sRGB of patch `i`: a grey scale first, as charts have it, then colours from 3 to 88 per cent.
fn colour(i: u64) -> [f64; 3] {
    let step = |k: u64| 0.03 * (3.38 * hash(k)).exp();
    match [0.88, 0.58, 0.36, 0.19, 0.09, 0.033].get(i as usize) {
        Some(&grey) => [grey; 3],
        None => [step(i * 3), step(i * 3 + 1), step(i * 3 + 2)],
    }
}

/// A chart of `n` patches as `camera` shows true colours (linear sRGB), in levels, with `noise` (one part in it) added.
fn chart(n: u64, noise: f64, seed: u64, camera: impl Fn([f64; 3]) -> [f64; 3]) -> (ChartReading, ChartValues) {
    let swatch = |i: u64| Swatch { id: format!("P{i}"), xyz: Primaries::srgb().xyz(colour(i)) };
    let patch = |i: u64| {
        // The sum of four even numbers is nearly normal; 12/4 makes its variance one.
        let normal = |b: u64| ((0..4).map(|k| hash(seed * 7919 + i * 12 + b * 4 + k)).sum::<f64>() - 2.0) * 3f64.sqrt();
        let seen = camera(colour(i));
        let mean = std::array::from_fn(|b| seen[b] * (1.0 + noise * normal(b as u64)));
        Patch { quad: Quad::rectangle(1.0, 1.0), mean, bed: camera(BED), spread: 0.01, clipped: 0.0 }
    };
    let reading = ChartReading { rows: 1, cols: n as usize, patches: (0..n).map(patch).collect(), turns: 0 };
    (reading, ChartValues { grid: None, swatches: (0..n).map(swatch).collect() })
}

const BED: [f64; 3] = [0.86, 0.88, 0.9];

/// Mean CIEDE2000 of colours the chart did not hold, as `fit` shows them.
fn unseen(fit: &ColourFit, camera: impl Fn([f64; 3]) -> [f64; 3]) -> f64 {
    let transform = fit.absolute(&Primaries::srgb());
    let light = |v: f64| fit.look.as_ref().map_or(v, |l| l.light(v));
    let off = |i: u64| {
        let (seen, bed) = (camera(colour(i)), camera(BED));
        let got = transform.apply(std::array::from_fn(|b| (light(seen[b]) / light(bed[b])) as f32)).map(f64::from);
        let lab = |rgb| lab_from_xyz(Primaries::srgb().xyz(rgb));
        ciede2000(lab(got), lab(colour(i)))
    };
    (1000..1200).map(off).sum::<f64>() / 200.0
}

fn fit(reading: &ChartReading, values: &ChartValues, may_have_look: bool) -> ColourFit {
    ColourFit::from_chart(reading, values, &Primaries::srgb(), may_have_look).unwrap()
}

fn gains([r, g, b]: [f64; 3]) -> [f64; 3] {
    [0.92 * r, g, 1.1 * b].map(|v| 0.8 * v)
}

fn crosstalk(c: [f64; 3]) -> [f64; 3] {
    matrix::apply(&[[0.62, 0.25, 0.05], [0.14, 0.70, 0.12], [0.02, 0.22, 0.60]], c)
}

/// A logistic S on the code scale: not of the fit's own family.
fn logistic(v: f64) -> f64 {
    let s = |x: f64| 1.0 / (1.0 + (-4.0 * (x - 0.45)).exp());
    srgb_decode((s(srgb_encode(v)) - s(0.0)) / (s(1.0) - s(0.0)))
}

#[test]
fn a_wrong_balance_is_found_and_nothing_else_is_imagined() {
    for seed in 0..12 {
        let (reading, values) = chart(24, 0.004, seed, gains);
        let found = fit(&reading, &values, true);
        let plain = ColourFit::from_bed(&Primaries::srgb(), Primaries::srgb().xyz(BED));
        let (with, without) = (unseen(&found, gains), unseen(&plain, gains));
        assert!(without < 1e-3 && with < 0.25, "seed {seed}: {:?} {with} against {without}", found.kind);
        assert!(found.kind == Kind::Balance && found.look.is_none(), "seed {seed}: {:?}", found.kind);
        let lab = |rgb| lab_from_xyz(Primaries::srgb().xyz(rgb));
        assert!(ciede2000(found.bed_lab(), lab(BED)) < 0.5);
    }
}

#[test]
fn a_sensors_crosstalk_needs_a_matrix() {
    let (reading, values) = chart(24, 0.002, 1, crosstalk);
    let found = fit(&reading, &values, true);
    let report = found.report.clone().unwrap();
    assert_eq!((found.kind, found.look.is_none()), (Kind::Matrix, true));
    assert!(report.in_sample.mean < 0.2 && report.left_out.mean < 0.3 && report.balance_left_out > 3.0, "{report:?}");
    assert!(report.in_sample.mean <= report.in_sample.p90 && report.in_sample.p90 <= report.in_sample.worst);
    assert!(unseen(&found, crosstalk) < 0.2);
}

#[test]
fn what_bends_with_hue_needs_roots() {
    // Each channel gains with the geometric mean of its neighbours: no matrix does that, and exposure scales it.
    let bent = |c: [f64; 3]| {
        let t = terms(c);
        [0.8 * c[0] + 0.15 * t[3], 0.7 * c[1] + 0.25 * t[4], 0.75 * c[2] + 0.2 * t[5]]
    };
    let (reading, values) = chart(60, 0.002, 2, bent);
    let found = fit(&reading, &values, false);
    assert_eq!(found.kind, Kind::RootPolynomial);
    let (t, c) = (found.absolute(&Primaries::srgb()), [0.3, 0.2, 0.6f32]);
    let (once, twice) = (t.apply(c), t.apply(c.map(|v| 2.0 * v)));
    (0..3).for_each(|b| assert!((twice[b] - 2.0 * once[b]).abs() < 1e-6));
    assert!(unseen(&found, bent) < 0.5, "{}", unseen(&found, bent));
}

#[test]
fn a_cameras_curve_is_undone_before_the_matrix() {
    for (name, linear, kind) in
        [("balance", gains as fn([f64; 3]) -> [f64; 3], Kind::Balance), ("matrix", crosstalk, Kind::Matrix)]
    {
        let camera = |c| linear(c).map(logistic);
        let (reading, values) = chart(24, 0.003, 3, camera);
        let found = fit(&reading, &values, true);
        assert_eq!(found.kind, kind, "{name}");
        let without = unseen(&fit(&reading, &values, false), camera);
        assert!(
            found.look.is_some() && unseen(&found, camera) < 0.45 && without > 1.5,
            "{name}: {} {without}",
            unseen(&found, camera)
        );
        // The same colour then holds for what the camera keeps straight (its raw file).
        let straight = ColourFit { look: None, ..found.clone() };
        assert!(unseen(&straight, linear) < 0.5, "{name}: {}", unseen(&straight, linear));
    }
}

#[test]
fn an_outlier_and_a_clipped_patch_do_not_bend_the_fit() {
    let (mut reading, values) = chart(24, 0.002, 4, gains);
    reading.patches[7].mean = reading.patches[7].mean.map(|v| v * 1.6);
    reading.patches[9].mean = [1.0; 3];
    reading.patches[9].clipped = 1.0;
    let found = fit(&reading, &values, true);
    let report = found.report.clone().unwrap();
    assert_eq!((report.used, report.in_sample.worst_id.as_str()), ((23, 24), "P7"));
    assert!(unseen(&found, gains) < 0.4, "{}", unseen(&found, gains));
    reading.patches.iter_mut().skip(3).for_each(|p| p.clipped = 0.5);
    let e = ColourFit::from_chart(&reading, &values, &Primaries::srgb(), true).unwrap_err();
    assert_eq!(e, ColourError::TooFew(3, 24));
    reading.patches.pop();
    assert!(ColourFit::from_chart(&reading, &values, &Primaries::srgb(), true).is_err());
}

#[test]
fn the_bed_is_white_in_the_mount_and_itself_in_the_master() {
    let (reading, values) = chart(24, 0.002, 5, crosstalk);
    for found in [fit(&reading, &values, false), ColourFit::from_paper(&Primaries::romm())] {
        for target in [Primaries::srgb(), Primaries::eci_rgb_v2()] {
            let white = found.media_relative(&target).apply([1.0; 3]);
            (0..3).for_each(|b| assert!((white[b] - 1.0).abs() < 2e-6, "{white:?}"));
            let xyz = target.xyz(found.absolute(&target).apply([1.0; 3]).map(f64::from));
            (0..3).for_each(|b| assert!((xyz[b] - found.bed_xyz[b]).abs() < 2e-6));
        }
    }
    let paper = ColourFit::from_paper(&Primaries::srgb());
    let lab = paper.bed_lab();
    assert!((lab[0] - PAPER_LIGHTNESS).abs() < 1e-9 && lab[1].abs() < 1e-9 && lab[2].abs() < 1e-9);
    // A balanced frame of right primaries passes through unchanged.
    let same = paper.media_relative(&Primaries::srgb()).apply([0.2, 0.5, 0.7]);
    (0..3).for_each(|b| assert!((same[b] - [0.2f32, 0.5, 0.7][b]).abs() < 1e-6, "{same:?}"));
    assert_eq!(D50[1], 1.0);
}

/// Terms of degree two (Finlayson, Mackiewicz and Hurlbert 2015): red, green, blue, then the roots of rg, gb, rb.
#[test]
fn root_terms_are_the_papers() {
    let want = [0.2, 0.4, 0.8, 0.282843, 0.565685, 0.4];
    let (got, twice) = (terms([0.2, 0.4, 0.8]), terms([0.4, 0.8, 1.6]));
    (0..6).for_each(|i| assert!((got[i] - want[i]).abs() < 1e-6 && (twice[i] - 2.0 * got[i]).abs() < 1e-12));
}

#[test]
fn a_look_rises_whatever_its_terms() {
    for slope in [vec![], vec![0.0, 0.0], vec![-2.0, 2.1], vec![-9.0, 24.0, -28.0, 14.0], vec![400.0, -900.0]] {
        let look = ToneCurve::new(&slope);
        assert!(look.light(0.0) == 0.0 && (look.light(1.0) - 1.0).abs() < 1e-12, "{slope:?}");
        assert!((1..=255).all(|i| look.code(f64::from(i) / 255.0) >= look.code(f64::from(i - 1) / 255.0)));
    }
    assert!((ToneCurve::new(&[0.0]).light(0.3) - 0.3).abs() < 1e-12);
}
