//! Measurements of a bare bed, and the figures that the standards judge.

use super::answer::{BlankFacts, FallOffMap, Judged, LightChange, SpeckFacts, Value};
use super::standards::Figure;
use correct::colour::PAPER_LIGHTNESS;
use finish::frame::loaded_frame::LoadedFrame;
use finish::frame::measure::colour_difference;
use pixels::{Field, Frame, lab_from_xyz, xyz_from_lab};
use print::flat_field::dirt::{self, Surface};
use print::flat_field::lamp_and_vignette::{Known, Parts, parts};
use print::flat_field::{self, Blank};

/// Cells of the map along the frame's long side: a centimetre or so of bed each.
const MAP: usize = 16;
/// Specks told one by one.
const TOLD: usize = 12;
/// Places along a side where the bed is compared with itself.
const PLACES: usize = 16;
/// Samples that settle a share of a hundredth to a fiftieth of itself.
const CLIP_SAMPLES: f64 = 3e5;
/// Full scale, less half a code of 8 bits: a bed is so even that the code below it holds a good part of it.
const FULL: f32 = 0.9955;
/// Light from which a place may be at full scale in part: what is told of it there is carried on from elsewhere.
const NEAR_FULL: f32 = 0.985;
/// With more of the bed than this at full scale, what is left shows no shape that could be carried on.
pub(super) const SHAPELESS: f64 = 0.8;

/// A blank as measured.
pub(super) struct Bare {
    pub blank: Blank,
    pub parts: Option<Parts>,
    pub size: (usize, usize),
    surface: Surface,
    colour: f64,
    /// Share of the bed at full scale in the band that has most of it.
    clipped: f64,
}

/// Measures a bare bed.
pub(super) fn measure(sight: &LoadedFrame, known: &Known) -> Bare {
    let step = sight.step as f64;
    let blank = flat_field::from_blank(&sight.proxy, step);
    let size = (sight.frame.width, sight.frame.height);
    let surface = dirt::surface(&sight.frame, &blank.light, known.px_per_mm);
    let colour = {
        let told = |(x, y): &(f64, f64)| blank.light.at(*x, *y).iter().all(|v| *v < NEAR_FULL);
        let places: Vec<(f64, f64)> = places(size).into_iter().filter(told).collect();
        colour_difference(&blank.light, &sight.frame.encoding.primaries, size, &places)
    };
    let clipped = clipped(&sight.frame);
    Bare { parts: parts(&sight.proxy, step, known), blank, size, surface, colour, clipped }
}

/// Share of the bed at full scale, in the band that has most of it.
fn clipped(frame: &Frame) -> f64 {
    let stride = ((frame.width * frame.height) as f64 / CLIP_SAMPLES).sqrt().max(1.0) as usize;
    let (mut hit, mut all) = ([0.0; 3], 0.0);
    for y in (stride / 2..frame.height).step_by(stride) {
        for x in (stride / 2..frame.width).step_by(stride) {
            all += 1.0;
            frame.linear(x, y).iter().zip(&mut hit).filter(|(v, _)| **v > FULL).for_each(|(_, h)| *h += 1.0);
        }
    }
    hit.into_iter().fold(0.0, f64::max) / f64::max(all, 1.0)
}

/// A grid of frame positions, corners included.
fn places(size: (usize, usize)) -> Vec<(f64, f64)> {
    let at = |k: usize, n: usize| n as f64 * k as f64 / PLACES as f64;
    (0..=PLACES).flat_map(|j| (0..=PLACES).map(move |i| (i, j))).map(|(i, j)| (at(i, size.0), at(j, size.1))).collect()
}

/// A print of `print_mm` in the frame's middle, as frame positions of its corners and sides.
fn print_places(size: (usize, usize), print_mm: [f64; 2], px_per_mm: f64) -> Vec<(f64, f64)> {
    let (cx, cy) = (size.0 as f64 / 2.0, size.1 as f64 / 2.0);
    let at = |k: usize, mm: f64| (k as f64 / 8.0 - 0.5) * mm * px_per_mm;
    (0..=8)
        .flat_map(|j| (0..=8).map(move |i| (i, j)))
        .map(|(i, j)| (cx + at(i, print_mm[0]), cy + at(j, print_mm[1])))
        .collect()
}

/// A blank's facts; `print_mm` as the print lies in the frame.
pub(super) fn facts(path: String, b: &Bare, known: &Known, print_mm: [f64; 2]) -> BlankFacts {
    let light = &b.blank.light;
    let lit = |(x, y): &(f64, f64)| light.at(*x, *y).map(f64::from);
    let brightest: [f64; 3] = std::array::from_fn(|c| places(b.size).iter().map(|p| lit(p)[c]).fold(0.0, f64::max));
    let area_dm2 = known.px_per_mm.map(|s| b.size.0 as f64 * b.size.1 as f64 / (s * s) / 1e4);
    let parts = b.parts.as_ref();
    let on_print =
        known.px_per_mm.map(|s| flat_field::fall_off_stops(light, print_places(b.size, print_mm, s).into_iter()));
    let speck = |s: &dirt::Speck| SpeckFacts {
        at_px: [s.at.x, s.at.y],
        length_mm: known.px_per_mm.map(|p| s.length / p),
        contrast: s.contrast,
    };
    BlankFacts {
        path,
        fall_off_stops: flat_field::fall_off_stops(light, places(b.size).into_iter()),
        fall_off_print_stops: on_print,
        print_mm: on_print.map(|_| print_mm),
        map: map(light, b.size),
        lamp_stops: parts.map(|p| p.lamp_stops),
        vignette_stops: parts.map(|p| p.vignette_stops.into()),
        light_azimuth_deg: parts.map(|p| p.azimuth_deg.into()),
        light_elevation_deg: parts.filter(|p| p.elevation_seen).map(|p| p.elevation_deg.into()),
        elevation_taken_deg: parts.map(|p| p.elevation_deg.into()),
        light_distance_mm: parts.and_then(|p| p.distance_mm).map(Value::from),
        head_room_stops: brightest.map(|v| -v.max(1e-6).log2()),
        clipped: b.clipped,
        colour_delta_e: b.colour,
        warmer_towards_deg: warmer(light, b.size),
        texture: b.surface.texture,
        show_through: b.surface.show_through,
        noise: b.surface.noise,
        specks: b.surface.specks.len(),
        specks_per_dm2: area_dm2.map(|a| b.surface.specks.len() as f64 / a),
        largest: b.surface.specks.iter().take(TOLD).map(speck).collect(),
        change: None,
    }
}

/// Where red over blue grows, from the frame's sides.
fn warmer(light: &Field, (w, h): (usize, usize)) -> Option<f64> {
    let at = |x: f64, y: f64| {
        let v = light.at(x * w as f64, y * h as f64).map(f64::from);
        (v[0] / v[2].max(1e-9)).ln()
    };
    let (x, y) = (at(1.0, 0.5) - at(0.0, 0.5), (at(0.5, 1.0) - at(0.5, 0.0)) * w as f64 / h.max(1) as f64);
    (x.hypot(y) > 1e-3).then(|| y.atan2(x).to_degrees().rem_euclid(360.0))
}

fn map(light: &Field, size: (usize, usize)) -> FallOffMap {
    let cell = (size.0.max(size.1) as f64 / MAP as f64).max(1.0);
    let (columns, rows) = [size.0, size.1].map(|n| ((n as f64 / cell).round() as usize).max(1)).into();
    let at = |i: usize, j: usize| {
        let (x, y) =
            ((i as f64 + 0.5) * size.0 as f64 / columns as f64, (j as f64 + 0.5) * size.1 as f64 / rows as f64);
        light.at(x, y).iter().map(|v| f64::from(*v)).sum::<f64>()
    };
    let cells: Vec<Vec<f64>> = (0..rows).map(|j| (0..columns).map(|i| at(i, j)).collect()).collect();
    let most = cells.iter().flatten().copied().fold(1e-9, f64::max);
    // To a ten-thousandth of a stop; the noughts of the brightest carry no sign.
    let stops = |v: &f64| ((v / most).max(1e-9).log2() * 1e4).round() / 1e4 + 0.0;
    FallOffMap { columns, rows, stops: cells.iter().map(|r| r.iter().map(stops).collect()).collect() }
}

/// How the light changed from `first` to `last`; `None` where the frames differ in size.
pub(super) fn change(path: String, first: &Bare, last: &Bare, sight: &LoadedFrame) -> Option<LightChange> {
    if first.size != last.size {
        return None;
    }
    let mut light = first.blank.light.clone();
    let level = flat_field::level(&mut light, &sight.proxy, sight.step as f64, |_, _| true);
    let slope = |b: &Bare| {
        let l = &b.blank.lamp;
        geometry::Point::at_angle(l.azimuth_deg.to_radians()) * l.slope_per_px
    };
    let (a, b) = (slope(first), slope(last));
    let (from, to) = (first.blank.lamp.azimuth_deg, last.blank.lamp.azimuth_deg);
    Some(LightChange {
        path,
        slope_stops: level.slope_stops,
        towards_deg: (b - a).angle().to_degrees().rem_euclid(360.0),
        level_stops: level.stops,
        turned_deg: (to - from + 180.0).rem_euclid(360.0) - 180.0,
        slope_ratio: b.norm() / a.norm().max(1e-12),
    })
}

/// What the standards judge in it: the bed as equal greys, at the lightness of white paper.
pub(super) fn judged(b: &Bare) -> Vec<Judged> {
    let light = &b.blank.light;
    let tone = |(x, y): (f64, f64)| light.at(x, y).iter().map(|v| f64::from(*v)).sum::<f64>() / 3.0;
    let all: Vec<f64> = places(b.size).into_iter().map(tone).collect();
    let mean = all.iter().sum::<f64>() / all.len() as f64;
    // Half a patch inside the frame, as a target's patches lie.
    let (w, h) = (b.size.0 as f64, b.size.1 as f64);
    let five = [(0.5, 0.5), (0.05, 0.05), (0.95, 0.05), (0.95, 0.95), (0.05, 0.95)].map(|(x, y)| tone((x * w, y * h)));
    let codes = five.map(|v| v.max(0.0).powf(1.0 / 2.2));
    let range = |v: &[f64]| {
        v.iter().copied().fold(f64::NEG_INFINITY, f64::max) - v.iter().copied().fold(f64::INFINITY, f64::min)
    };
    let white = xyz_from_lab([PAPER_LIGHTNESS, 0.0, 0.0]);
    let lightness: Vec<f64> = all.iter().map(|v| lab_from_xyz(white.map(|x| x * v / mean))[0]).collect();
    let middle = lightness.iter().sum::<f64>() / lightness.len() as f64;
    let deviation = (lightness.iter().map(|l| (l - middle).powi(2)).sum::<f64>() / lightness.len() as f64).sqrt();
    [
        (Figure::Uneven2016, 100.0 * range(&codes) / (codes.iter().sum::<f64>() / 5.0)),
        (Figure::Uneven2023, 100.0 * deviation / middle),
        (Figure::UnevenLightness, range(&lightness)),
    ]
    .into_iter()
    .filter_map(|(figure, value)| figure.judge(Value::bare(value)))
    .collect()
}
