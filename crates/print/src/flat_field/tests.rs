//! The bed's light on planted frames.

use super::*;

/// A repeatable number in 0..1 for a place.
fn noise(x: usize, y: usize, salt: u32) -> f64 {
    let mut h = (x as u32).wrapping_mul(0x9E37_79B1) ^ (y as u32).wrapping_mul(0x85EB_CA77) ^ salt;
    h = (h ^ (h >> 15)).wrapping_mul(0x846C_A68B);
    (h >> 8) as f64 / (1u32 << 24) as f64
}

const W: usize = 600;
const H: usize = 400;

/// Inverse square and cosine law (`cos^3 / h^2` for a lamp over a plane, IES definition 9.1.2), behind a `cos^4` lens,
/// over an even ambient of a fifth; the frame is 150 mm wide. The lamp stands 700 mm off at 45 degrees, towards
/// `azimuth` in the image.
fn lit(x: f64, y: f64, azimuth: f64, gain: f64) -> [f64; 3] {
    let mm = 150.0 / W as f64;
    let (px, py) = ((x - W as f64 / 2.0) * mm, (y - H as f64 / 2.0) * mm);
    let reach = 700.0 / std::f64::consts::SQRT_2;
    let (lx, ly) = (reach * azimuth.to_radians().cos(), reach * azimuth.to_radians().sin());
    let d2 = (px - lx).powi(2) + (py - ly).powi(2) + reach * reach;
    let flash = (700.0f64 * 700.0 / d2).powf(1.5);
    let lens = (1.0 + (px * px + py * py) / (350.0 * 350.0)).powi(-2);
    [0.92, 1.0, 1.05].map(|c| gain * 0.7 * lens * (0.8 * flash + 0.2 * c))
}

fn picture(f: impl Fn(usize, usize) -> [f64; 3] + Sync) -> Picture {
    Picture([0, 1, 2].map(|b| Plane::from_fn(W, H, |x, y| f(x, y)[b] as f32)))
}

/// Bed with grain and a desk showing through, and a grey print with its shadow over the middle half.
fn scene(x: usize, y: usize, azimuth: f64, gain: f64) -> [f64; 3] {
    let desk = 1.0 + 0.012 * ((x as f64 + 0.3 * y as f64) / 7.0).sin();
    let grain = 1.0 + 0.02 * (noise(x, y, 1) - 0.5);
    let shade = match (x, y) {
        (120..480, 90..310) => 0.55 + 0.3 * noise(x / 20, y / 20, 2),
        (120..486, 90..316) => 0.15,
        _ => 1.0,
    };
    let l = lit(x as f64 + 0.5, y as f64 + 0.5, azimuth, gain);
    l.map(|l| l * desk * grain * shade)
}

fn is_bed(x: usize, y: usize) -> bool {
    !((115..490).contains(&x) && (85..320).contains(&y))
}

/// The greatest deviation of `field` (at two frame pixels per picture pixel) from the planted light, as a share.
fn worst(field: &Field, azimuth: f64, gain: f64) -> f64 {
    let places = (0..60).flat_map(|i| (0..40).map(move |j| (i as f64 * 10.0 + 5.0, j as f64 * 10.0 + 5.0)));
    places
        .map(|(x, y)| {
            let (got, want) = (field.at(2.0 * x, 2.0 * y), lit(x, y, azimuth, gain));
            (0..3).map(|b| (got[b] as f64 / want[b] - 1.0).abs()).fold(0.0, f64::max)
        })
        .fold(0.0, f64::max)
}

#[test]
fn a_blank_gives_its_light_without_its_dust() {
    let dirty = |x: usize, y: usize| {
        let hair = x.abs_diff(y + 60) < 2;
        let speck = (x % 97).abs_diff(40) < 2 && (y % 89).abs_diff(30) < 2;
        let l = lit(x as f64 + 0.5, y as f64 + 0.5, 210.0, 1.0);
        l.map(|l| l * if hair || speck { 0.4 } else { 1.0 } * (1.0 + 0.012 * (x as f64 / 7.0).sin()))
    };
    let blank = from_blank(&picture(dirty), 2.0);
    assert!(worst(&blank.light, 210.0, 1.0) < 0.005, "{}", worst(&blank.light, 210.0, 1.0));
    assert!((blank.lamp.azimuth_deg - 210.0).abs() < 1.5, "{:?}", blank.lamp);
    assert!(blank.texture.grid.0[0].data.iter().all(|v| (0.97..1.03).contains(v)));
}

#[test]
fn the_bed_around_a_print_tells_the_light_under_it() {
    for azimuth in [30.0, 210.0, 300.0] {
        let (field, q) = fit(&picture(|x, y| scene(x, y, azimuth, 1.0)), 2.0, is_bed);
        assert!(worst(&field, azimuth, 1.0) < 0.008, "{azimuth}: {} {q:?}", worst(&field, azimuth, 1.0));
        assert!((q.lamp.azimuth_deg - azimuth).abs() < 3.0, "{azimuth}: {q:?}");
        let (d, factor) = q.lamp.distance_mm(600.0 * 2.0 / 150.0, 0.2, None).unwrap();
        assert!(d / 700.0 < factor && 700.0 / d < factor, "{d} {factor}");
        assert!(q.error > 1e-5 && q.error < 0.01);
    }
}

#[test]
fn a_forgotten_strip_of_shadow_does_not_bend_the_field() {
    let loose = |x: usize, y: usize| !((120..480).contains(&x) && (90..310).contains(&y));
    let (field, _) = fit(&picture(|x, y| scene(x, y, 30.0, 1.0)), 2.0, loose);
    assert!(worst(&field, 30.0, 1.0) < 0.008);
}

#[test]
fn a_first_look_needs_no_mask() {
    for azimuth in [30.0, 120.0] {
        let (field, q) = guess(&picture(|x, y| scene(x, y, azimuth, 1.0)), 2.0);
        assert!(worst(&field, azimuth, 1.0) < 0.012, "{} {q:?}", worst(&field, azimuth, 1.0));
    }
    // A print of the bed's own tone but warmer, over more than half the frame and over one rim.
    let warm = |x: usize, y: usize| {
        let l = lit(x as f64 + 0.5, y as f64 + 0.5, 30.0, 1.0);
        if (60..600).contains(&x) && (60..340).contains(&y) { [l[0] * 1.0, l[1] * 0.98, l[2] * 0.93] } else { l }
    };
    let (field, _) = guess(&picture(warm), 2.0);
    assert!(worst(&field, 30.0, 1.0) < 0.012, "{}", worst(&field, 30.0, 1.0));
}

#[test]
fn a_blank_is_brought_to_the_flash_of_the_frame_and_says_when_it_does_not_fit() {
    let blank = from_blank(&picture(|x, y| lit(x as f64 + 0.5, y as f64 + 0.5, 30.0, 1.0)), 2.0);
    let mut light = blank.light.clone();
    let level_ = level(&mut light, &picture(|x, y| scene(x, y, 30.0, 1.07)), 2.0, is_bed);
    assert!((level_.stops - 1.07f64.log2()).abs() < 0.003 && level_.holds(), "{level_:?}");
    assert!(worst(&light, 30.0, 1.07) < 0.006);
    let mut light = blank.light.clone();
    let moved = level(&mut light, &picture(|x, y| scene(x, y, 110.0, 1.0)), 2.0, is_bed);
    assert!(!moved.holds() && moved.slope_stops > 0.2, "{moved:?}");
}

#[test]
fn structure_is_the_desk_and_neither_light_nor_print() {
    let p = picture(|x, y| scene(x, y, 30.0, 1.0));
    let (light, _) = fit(&p, 2.0, is_bed);
    // 1.2 % of a sine is 0.85 % rms; its period of 11 mm passes partly.
    let s = structure(&p, &light, 2.0, 8.0, is_bed);
    assert!(s > 0.005 && s < 0.013, "{s}");
    let whole = || (0..60).map(|k| (k as f64 * 20.0, 400.0));
    assert!(colour_range(&light, whole()) < 0.04);
    assert!(fall_off_stops(&light, whole()) > 0.2);
}
