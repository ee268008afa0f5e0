//! Charts and things that are none, drawn here.

use super::*;
use pixels::{ChartValues, Plane, Primaries, Swatch};
use rayon::prelude::*;

/// A drawn frame: what lies at a place given in its own units, under a light that falls off, with grain.
struct Scene<'a> {
    size: (usize, usize),
    frame_from_thing: Homography,
    /// Colour at a place of the thing; `None` where the bed shows.
    thing: &'a (dyn Fn(Point) -> Option<[f32; 3]> + Sync),
    noise: f32,
}

/// The drawn frames, pixels.
const SIZE: (usize, usize) = (1060, 700);
const BED: [f32; 3] = [0.86, 0.88, 0.87];

/// A number from -0.5 to 0.5 that looks random.
fn hash(i: u64) -> f32 {
    let mut x = i.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ 0x5bf0_3635;
    x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    ((x ^ (x >> 31)) >> 40) as f32 / (1u64 << 24) as f32 - 0.5
}

/// The light at a frame position: nearly a stop from corner to corner.
fn light(p: Point, (w, h): (usize, usize)) -> f32 {
    (1.0 - 0.25 * p.x / w as f64 - 0.15 * p.y / h as f64) as f32
}

impl Scene<'_> {
    fn draw(&self) -> Picture {
        let back = self.frame_from_thing.inverse().unwrap();
        let (w, h) = self.size;
        let at = |x: usize, y: usize| {
            // Four samples over a pixel and a half stand for the lens.
            let mut sum = [0.0f32; 3];
            for (dx, dy) in [(-0.4, -0.4), (0.4, -0.4), (-0.4, 0.4), (0.4, 0.4)] {
                let c = (self.thing)(back.apply(point(x as f64 + 0.5 + dx, y as f64 + 0.5 + dy))).unwrap_or(BED);
                (0..3).for_each(|b| sum[b] += c[b] / 4.0);
            }
            let lit = light(point(x as f64, y as f64), self.size);
            // Grain as of light: its square grows with the light.
            let grain = |b: usize, v: f32| self.noise * v.max(0.0).sqrt() * hash(((y * w + x) * 3 + b) as u64);
            std::array::from_fn::<f32, 3, _>(|b| sum[b] * lit + grain(b, sum[b] * lit))
        };
        let all: Vec<[f32; 3]> = (0..w * h).into_par_iter().map(|i| at(i % w, i / w)).collect();
        Picture([0, 1, 2].map(|b| Plane { width: w, height: h, data: all.iter().map(|c| c[b]).collect() }))
    }
}

/// A drawn chart of unit cells.
#[derive(Clone)]
struct Chart {
    rows: usize,
    cols: usize,
    /// Share of the pitch that is gap.
    gap: f64,
    /// Colour of the gaps and of a margin about them, in cells.
    ground: Option<[f32; 3]>,
    margin: f64,
    seed: u64,
}

impl Chart {
    fn new(rows: usize, cols: usize) -> Self {
        Self { rows, cols, gap: 0.15, ground: Some([0.11, 0.115, 0.12]), margin: 0.2, seed: 1 }
    }

    /// A grey scale along the top, colours below.
    fn colour(&self, r: usize, c: usize) -> [f32; 3] {
        if r == 0 {
            let t = c as f32 / (self.cols - 1) as f32;
            return [0.8 * (-3.2 * t).exp(); 3];
        }
        let k = self.seed * 10_007 + (r * self.cols + c) as u64 * 3;
        [0, 1, 2].map(|b| 0.03 * (3.3 * (hash(k + b) + 0.5)).exp())
    }

    fn at(&self, p: Point) -> Option<[f32; 3]> {
        let (m, w, h) = (self.margin, self.cols as f64, self.rows as f64);
        let inside = p.x >= 0.0 && p.y >= 0.0 && p.x < w && p.y < h;
        let in_patch = |v: f64| (v.fract() - 0.5).abs() < (1.0 - self.gap) / 2.0;
        if inside && in_patch(p.x) && in_patch(p.y) {
            return Some(self.colour(p.y as usize, p.x as usize));
        }
        self.ground.filter(|_| p.x >= -m && p.y >= -m && p.x < w + m && p.y < h + m)
    }

    /// Placed in the middle of a frame, `share` of its height across, turned and tilted.
    fn place(&self, (w, h): (usize, usize), share: f64, deg: f64, tilt: f64) -> Homography {
        let s = share * h as f64 / (self.rows as f64).hypot(self.cols as f64);
        let (sin, cos) = deg.to_radians().sin_cos();
        let centre = Homography::scale_then_move(1.0, -(self.cols as f64) / 2.0, -(self.rows as f64) / 2.0);
        let turn =
            Homography([[s * cos, -s * sin, w as f64 / 2.0], [s * sin, s * cos, h as f64 / 2.0], [0.0, 0.0, 1.0]]);
        let (cx, cy) = (w as f64 / 2.0, h as f64 / 2.0);
        let lean = Homography([
            [1.0 + tilt * cx / w as f64, 0.0, 0.0],
            [tilt * cy / w as f64, 1.0, 0.0],
            [tilt / w as f64, 0.0, 1.0],
        ]);
        lean.then_after(&turn).then_after(&centre)
    }

    fn values(&self) -> ChartValues {
        let cells = (0..self.rows).flat_map(|r| (0..self.cols).map(move |c| (r, c)));
        let swatch = |(r, c): (usize, usize)| Swatch {
            id: format!("{r}/{c}"),
            xyz: Primaries::srgb().xyz(self.colour(r, c).map(f64::from)),
        };
        ChartValues { grid: Some((self.rows, self.cols)), swatches: cells.map(swatch).collect() }
    }

    fn draw(&self, share: f64, deg: f64, tilt: f64) -> Picture {
        let place = self.place(SIZE, share, deg, tilt);
        Scene { size: SIZE, frame_from_thing: place, thing: &|p| self.at(p), noise: 0.02 }.draw()
    }
}

/// The bed of the drawn light, which a blank would give.
fn bed() -> Field {
    let ((w, h), step) = (SIZE, 20);
    let at = |x: usize, y: usize| light(point((x * step) as f64 + 10.0, (y * step) as f64 + 10.0), (w, h));
    let plane = Plane::from_fn(w / step, h / step, at);
    Field { grid: Picture([plane.clone(), plane.clone(), plane]), step: step as f64 }
}

/// Finds, reads and arranges the drawn chart, and compares every patch with what was drawn.
fn check(chart: &Chart, share: f64, deg: f64, tilt: f64) {
    let picture = chart.draw(share, deg, tilt);
    let says = format!("{} by {}, gap {}, {deg} degrees", chart.rows, chart.cols, chart.gap);
    let place = find_chart(&picture, 1.0, None).unwrap_or_else(|e| panic!("{says}: {e}"));
    let mut seen = [place.rows, place.cols];
    let mut want = [chart.rows, chart.cols];
    seen.sort();
    want.sort();
    assert_eq!(seen, want, "{says}");
    let reading = arrange(&place.read_proxy(&picture, 1.0, Some(&bed())), &chart.values());
    let reading = reading.unwrap_or_else(|e| panic!("{says}: {e}"));
    let truth = chart.place(SIZE, share, deg, tilt);
    for (i, patch) in reading.patches.iter().enumerate() {
        let (r, c) = (i / chart.cols, i % chart.cols);
        let off = patch.quad.centre().distance(truth.apply(point(c as f64 + 0.5, r as f64 + 0.5)));
        assert!(off < 2.5, "{says}: patch {i} is {off} px off");
        let (got, want) = (patch.relative(), chart.colour(r, c).map(f64::from));
        (0..3).for_each(|b| assert!((got[b] / want[b] - 1.0).abs() < 0.02, "{says}: patch {i} {got:?} {want:?}"));
        assert!(patch.clipped < 1e-9 && patch.spread < 0.1);
    }
    if chart.rows * chart.cols >= 12 {
        assert!(looks_like_chart(&picture) >= CHART_SCORE, "{says}");
    }
}

#[test]
fn grids_of_many_sizes_are_found_and_read() {
    for (rows, cols) in [(2, 4), (3, 4), (4, 6), (6, 4), (5, 7), (8, 12), (10, 14)] {
        check(&Chart { seed: rows as u64, ..Chart::new(rows, cols) }, 0.9, 3.0, 0.0);
    }
}

#[test]
fn any_turn_and_a_slight_tilt_are_followed() {
    for (i, deg) in [0.0, 8.0, -12.0, 84.0, 90.0, 97.0, 175.0, 188.0, 262.0, 270.0, 281.0].into_iter().enumerate() {
        check(&Chart::new(4, 6), 0.75, deg, if i % 2 == 0 { 0.06 } else { -0.04 });
    }
}

#[test]
fn gaps_of_any_colour_or_none() {
    for ground in [Some([0.02; 3]), Some([0.3; 3]), Some([0.85; 3]), None] {
        for gap in [0.08, 0.15, 0.35] {
            check(&Chart { gap, ground, seed: 9, ..Chart::new(4, 6) }, 0.85, 5.0, 0.03);
        }
    }
    for seed in [3, 4, 5] {
        check(&Chart { gap: 0.0, seed, ..Chart::new(5, 6) }, 0.85, -6.0, 0.03);
    }
}

#[test]
fn a_speck_of_dust_does_not_move_a_patch() {
    let chart = Chart::new(4, 6);
    let dusty = |p: Point| {
        let speck = point(2.5, 1.4).distance(p) < 0.06 || point(4.6, 2.5).distance(p) < 0.04;
        chart.at(p).map(|c| if speck { [0.01; 3] } else { c })
    };
    let place = chart.place(SIZE, 0.9, 2.0, 0.0);
    let picture = Scene { size: SIZE, frame_from_thing: place, thing: &dusty, noise: 0.02 }.draw();
    let found = find_chart(&picture, 1.0, Some((6, 4))).unwrap();
    let reading = arrange(&found.read_proxy(&picture, 1.0, Some(&bed())), &chart.values()).unwrap();
    for (r, c) in [(1, 2), (2, 4)] {
        let (got, want) = (reading.patches[r * 6 + c].relative(), chart.colour(r, c).map(f64::from));
        (0..3).for_each(|b| assert!((got[b] / want[b] - 1.0).abs() < 0.02, "{got:?} {want:?}"));
    }
}

#[test]
fn turns_are_told_and_a_mirror_image_or_a_strange_chart_is_refused() {
    let chart = Chart::new(4, 6);
    for (deg, turns) in [(0.0, 0), (90.0, 3), (180.0, 2), (270.0, 1)] {
        let picture = chart.draw(0.75, deg, 0.0);
        let reading = find_chart(&picture, 1.0, None).unwrap().read_proxy(&picture, 1.0, None);
        assert_eq!(arrange(&reading, &chart.values()).unwrap().turns, turns);
        let flipped =
            Picture([0, 1, 2].map(|b| Plane::from_fn(SIZE.0, SIZE.1, |x, y| picture.0[b].get(SIZE.0 - 1 - x, y))));
        let reading = find_chart(&flipped, 1.0, None).unwrap().read_proxy(&flipped, 1.0, None);
        assert_eq!(arrange(&reading, &chart.values()), Err(ChartError::Mirrored));
        let strange = Chart { seed: 77, ..chart.clone() }.values();
        let mut strange = ChartValues { grid: strange.grid, swatches: strange.swatches };
        strange.swatches.reverse();
        strange.swatches.rotate_left(5);
        assert!(matches!(arrange(&reading, &strange), Err(ChartError::NoMatch(_))));
        let larger = Chart::new(5, 6).values();
        assert!(matches!(arrange(&reading, &larger), Err(ChartError::OtherGrid { known: 30, .. })));
    }
    let unnamed = ChartValues { grid: None, ..chart.values() };
    let picture = chart.draw(0.75, 93.0, 0.0);
    let reading = find_chart(&picture, 1.0, None).unwrap().read_proxy(&picture, 1.0, None);
    let arranged = arrange(&reading, &unnamed).unwrap();
    assert_eq!((arranged.rows, arranged.cols, arranged.turns), (4, 6, 3));
}

#[test]
fn a_clipped_patch_says_so() {
    let chart = Chart::new(4, 6);
    let mut picture = chart.draw(0.8, 0.0, 0.0);
    picture.0.iter_mut().for_each(|p| p.data.iter_mut().for_each(|v| *v = (*v * 1.8).min(1.0)));
    let reading = find_chart(&picture, 1.0, None).unwrap().read_proxy(&picture, 1.0, None);
    assert!(reading.patches[0].clipped > 0.5 && reading.patches[5].clipped == 0.0);
}

/// A print of 88 by 107 units with its window, whose picture is `picture` (0 to 1 across and down).
fn print_of(picture: &(dyn Fn(f64, f64) -> [f32; 3] + Sync)) -> Picture {
    let thing = |p: Point| {
        if !(0.0..88.0).contains(&p.x) || !(0.0..107.0).contains(&p.y) {
            return None;
        }
        let (u, v) = ((p.x - 4.5) / 79.0, (p.y - 6.0) / 79.0);
        let window = (0.0..1.0).contains(&u) && (0.0..1.0).contains(&v);
        Some(if window { picture(u, v) } else { [0.83, 0.82, 0.8] })
    };
    let place = Homography([[5.6, -0.28, 315.0], [0.28, 5.6, 42.0], [0.0, 0.0, 1.0]]);
    Scene { size: SIZE, frame_from_thing: place, thing: &thing, noise: 0.02 }.draw()
}

#[test]
fn prints_blanks_and_grids_in_pictures_are_no_charts() {
    let cell = |u: f64, v: f64, nx: f64, ny: f64| {
        let pane = ((u * nx).fract() - 0.5).abs() < 0.33 && ((v * ny).fract() - 0.5).abs() < 0.33;
        (pane, hash((u * nx) as u64 * 131 + (v * ny) as u64))
    };
    let front = |u: f64, v: f64| {
        let (pane, h) = cell(u, v, 6.0, 7.0);
        if pane { [0.05 + 0.02 * h, 0.06 + 0.02 * h, 0.08 + 0.02 * h] } else { [0.45, 0.38, 0.3] }
    };
    let bricks = |u: f64, v: f64| {
        let shift = if (v * 12.0) as i32 % 2 == 0 { 0.0 } else { 0.5 };
        let mortar = (u * 5.0 + shift).fract() < 0.06 || (v * 12.0).fract() < 0.12;
        let h = hash((u * 5.0 + shift) as u64 + 97 * (v * 12.0) as u64);
        if mortar { [0.5; 3] } else { [0.25 + 0.1 * h, 0.1 + 0.04 * h, 0.07] }
    };
    let board = |u: f64, v: f64| if ((u * 8.0) as i32 + (v * 8.0) as i32) % 2 == 0 { [0.7; 3] } else { [0.05; 3] };
    let tiles = |u: f64, v: f64| {
        let (tile, h) = cell(u, v, 5.0, 5.0);
        if tile { [0.6 + 0.03 * h, 0.65 + 0.03 * h, 0.7] } else { [0.3; 3] }
    };
    let sky = |_: f64, v: f64| [0.2 + 0.3 * v as f32, 0.3 + 0.3 * v as f32, 0.6];
    let black = |_: f64, _: f64| [0.01; 3];
    let gravel = |u: f64, v: f64| [0.2 + 0.3 * hash((u * 60.0) as u64 * 977 + (v * 60.0) as u64); 3];
    type Drawing<'a> = &'a (dyn Fn(f64, f64) -> [f32; 3] + Sync);
    let pictures: [(&str, Drawing); 7] = [
        ("window front", &front),
        ("bricks", &bricks),
        ("chequered board", &board),
        ("tiles", &tiles),
        ("sky", &sky),
        ("black", &black),
        ("gravel", &gravel),
    ];
    for (name, picture) in pictures {
        let score = looks_like_chart(&print_of(picture));
        assert!(score < CHART_SCORE, "{name}: {score}");
    }
    let bare = |_: Point| None;
    let blank = Scene { size: SIZE, frame_from_thing: Homography::IDENTITY, thing: &bare, noise: 0.02 }.draw();
    assert_eq!(looks_like_chart(&blank), 0.0);
}

#[test]
fn the_smallest_and_strangest_pictures_are_answered() {
    for (w, h) in [(0, 0), (1, 1), (2, 2), (3, 900), (65, 2)] {
        let p = Picture([0, 1, 2].map(|_| Plane::filled(w, h, f32::NAN)));
        assert_eq!(looks_like_chart(&p), 0.0);
        let p = Picture([0, 1, 2].map(|b| Plane::from_fn(w, h, |x, y| hash((x * 7 + y * 31 + b) as u64))));
        assert_eq!(looks_like_chart(&p), 0.0);
    }
}
