//! Whether the bed is white paper, or wood, stone, cloth or black board.

use geometry::Point;
use geometry::fit::median;
use geometry::polygon::spans;
use pixels::{Field, Frame, Picture, Plane};

/// What the bed returns of the light, as a share of what the brightest of the frame returns, in the band where it returns least:
/// about 1 on white paper, a third on wood, a twentieth on black. `proxy` is the frame reduced by `step`, `bed` its light on the bed.
///
/// Under the same light a ratio of readings is a ratio of reflectances. The brightest is the print's white border; where nothing on
/// the print is brighter than the bed, the bed itself.
pub fn returned(proxy: &Picture, step: f64, bed: &Field) -> f64 {
    1.0 / over((proxy.width(), proxy.height()), |x, y| ratio(proxy.get(x, y), bed, (x, y), step)).max(1.0)
}

/// The bed's light scaled so that the brightest of what lies in the frame is about 1: on white paper it stays as it is, on a
/// dark or coloured ground a border would otherwise be many times the ground, and past what a ratio is kept to.
pub fn reference(frame: &Frame, bed: &Field) -> Field {
    let brightest = over((frame.width, frame.height), |x, y| ratio(frame.linear(x, y), bed, (x, y), 1.0));
    // A border is up to a third lighter than a cream or grey paper without trouble.
    if brightest > 1.35 { scaled(bed, brightest) } else { bed.clone() }
}

/// Under this share the bed is no paper: grey paper returns six tenths of what a white border does, wood and stone half or less.
pub const PAPER: f64 = 0.5;

/// What the bed returns of the light as a share of what the borders of the prints with these outlines (frame pixels) return, in the
/// band where that is least; `None` where too little of a border is seen. Borders only: a lamp or a ceiling mirrored in the window is
/// brighter than any paper and says nothing about the bed.
fn returned_beside_borders(proxy: &Picture, step: f64, bed: &Field, outlines: &[Vec<Point>]) -> Option<f64> {
    let mut all: [Vec<f64>; 3] = Default::default();
    for outline in outlines.iter().filter(|o| o.len() > 2) {
        let centre = outline.iter().fold(Point::default(), |sum, p| sum + *p) * (1.0 / outline.len() as f64);
        let window: Vec<Point> = outline.iter().map(|p| centre.lerp(*p, 1.0 - 2.0 * BORDER)).collect();
        for y in 0..proxy.height() {
            let row = (y as f64 + 0.5) * step;
            let inner = spans(&window, row);
            for (from, to) in spans(outline, row) {
                // The places whose centres lie between the ends.
                let place = |x: f64| ((x / step - 0.5).ceil().max(0.0) as usize).min(proxy.width());
                for x in place(from)..place(to) {
                    let at = (x as f64 + 0.5) * step;
                    if !inner.iter().any(|s| (s.0..s.1).contains(&at)) {
                        let v = ratio(proxy.get(x, y), bed, (x, y), step);
                        (0..3).for_each(|c| all[c].push(f64::from(v[c])));
                    }
                }
            }
        }
    }
    let enough = all[0].len() >= FEWEST;
    enough.then(|| 1.0 / all.map(|mut v| median(&mut v)).into_iter().fold(1.0, f64::max))
}

/// Share of a print's width, and of its height, that is border on every known format: 4.5 mm of 108 at the least.
const BORDER: f64 = 0.04;
/// Places of a border, reduced, that settle their median: a border of two places round a print of a hundred.
const FEWEST: usize = 400;

/// The light to see prints with these outlines (frame pixels) by, where their bed `returns` so much of what the frame's brightest
/// does and its own light will not do; `proxy` is the frame reduced by `step`.
///
/// On no paper: even, without colour of its own, and as strong as the brightest of the frame. On grey and cream paper: the bed's,
/// and as strong as the borders', so that no border lighter than the paper is lost past white. Between [`LIGHTER`] and
/// [`WHITE`] the strength goes over, so that no frame of a sitting jumps.
pub fn instead(proxy: &Picture, step: f64, bed: &Field, returns: f64, outlines: &[Vec<Point>]) -> Option<Field> {
    if returns < PAPER {
        let white = over((proxy.width(), proxy.height()), |x, y| proxy.get(x, y)).max(1e-3) as f32;
        let grid = Picture([0; 3].map(|_| Plane::filled(1, 1, white)));
        return Some(Field { grid, step: step * proxy.width() as f64 });
    }
    // Nothing in the frame is brighter than white paper, so no border is: most frames end here.
    let beside = (returns < WHITE).then(|| returned_beside_borders(proxy, step, bed, outlines))??;
    let share = ((WHITE - beside) / (WHITE - LIGHTER)).clamp(0.0, 1.0);
    (share > 0.0).then(|| scaled(bed, 1.0 + (1.0 / beside - 1.0) * share))
}

/// A bed that returns this much is white paper: a border's sheen and what curl turns to the lamp is brighter by as much.
const WHITE: f64 = 0.93;
/// A bed that returns this much is darker than the print's border, by more than sheen and curl make.
const LIGHTER: f64 = 0.85;

fn scaled(bed: &Field, by: f64) -> Field {
    let mut scaled = bed.clone();
    scaled.scale(|_, _| [by; 3]);
    scaled
}

fn ratio(v: [f32; 3], bed: &Field, (x, y): (usize, usize), step: f64) -> [f32; 3] {
    let b = bed.at((x as f64 + 0.5) * step, (y as f64 + 0.5) * step);
    std::array::from_fn(|c| v[c] / b[c].max(1e-6))
}

/// What only the brightest of `value` over a picture of this size pass, in the band where they are brightest.
fn over((w, h): (usize, usize), value: impl Fn(usize, usize) -> [f32; 3]) -> f64 {
    let stride = ((w * h) as f64 / PLACES).sqrt().max(1.0) as usize;
    let mut all: [Vec<f32>; 3] = Default::default();
    for y in (stride / 2..h).step_by(stride) {
        for x in (stride / 2..w).step_by(stride) {
            let v = value(x, y);
            (0..3).for_each(|c| all[c].push(v[c]));
        }
    }
    let brightest = all.map(|mut v| {
        v.sort_by(f32::total_cmp);
        v.get((v.len() as f64 * BRIGHTEST) as usize).copied().unwrap_or(1.0)
    });
    f64::from(brightest.into_iter().fold(0.0, f32::max))
}

/// Places looked at: three hundred of them are brighter, which settles their share to a seventeenth of itself.
const PLACES: f64 = 2e4;
/// Of a frame's places this share is darker than its white: a border of 4 mm round a print a third of the frame high covers two
/// hundredths of the frame, and a mirrored lamp less.
const BRIGHTEST: f64 = 0.985;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_border_much_brighter_in_blue_is_a_bed_that_returns_little() {
        // A bed of (0.6, 0.5, 0.44) with a border of 0.8 over a twentieth of the frame: 0.44 / 0.8 in blue.
        let plane = |bed: f32| Plane::from_fn(200, 100, |x, _| if x < 10 { 0.8 } else { bed });
        let proxy = Picture([plane(0.6), plane(0.5), plane(0.44)]);
        let bed = Field { grid: Picture([0.6, 0.5, 0.44].map(|v| Plane::filled(1, 1, v))), step: 200.0 };
        assert!((returned(&proxy, 1.0, &bed) - 0.55).abs() < 1e-6);
        // On no paper the print is seen by its own white, 0.8 in every band.
        assert_eq!(instead(&proxy, 1.0, &bed, 0.2, &[]).unwrap().at(50.0, 50.0), [0.8; 3]);
        // A dark print on paper says nothing against the paper.
        let dark = Picture([0; 3].map(|_| Plane::from_fn(200, 100, |x, _| if x < 60 { 0.1 } else { 0.8 })));
        let white = Field { grid: Picture([0; 3].map(|_| Plane::filled(1, 1, 0.8))), step: 200.0 };
        assert!((returned(&dark, 1.0, &white) - 1.0).abs() < 1e-6);
    }

    #[test]
    fn on_grey_paper_a_white_border_is_white_and_no_more() {
        // A bed of 0.55, a border of 0.8 and in the window a lamp of 2: the print is divided by 0.8, in the bed's own colour.
        let within =
            |half: (usize, usize)| move |x: usize, y: usize| x.abs_diff(100) < half.0 && y.abs_diff(50) < half.1;
        let (print, window) = (within((60, 40)), within((50, 30)));
        let frame = |border: f32| {
            let value = |x, y| match (print(x, y), window(x, y)) {
                (_, true) => 2.0,
                (true, _) => border,
                _ => 0.55,
            };
            Picture([0; 3].map(|_| Plane::from_fn(200, 100, value)))
        };
        let bed = Field { grid: Picture([0; 3].map(|_| Plane::filled(1, 1, 0.55))), step: 200.0 };
        let outline = [(41.0, 11.0), (160.0, 11.0), (160.0, 90.0), (41.0, 90.0)].map(|(x, y)| geometry::point(x, y));
        let outlines = [outline.to_vec()];
        let beside = returned_beside_borders(&frame(0.8), 1.0, &bed, &outlines);
        assert!((beside.unwrap() - 0.55 / 0.8).abs() < 1e-3, "{beside:?}");
        let seen_by = instead(&frame(0.8), 1.0, &bed, 0.6, &outlines).unwrap();
        assert!((seen_by.at(50.0, 50.0)[0] - 0.8).abs() < 1e-3, "{:?}", seen_by.at(50.0, 50.0));
        // A border a twentieth lighter than white paper, as sheen makes it, changes nothing, whatever the lamp does; nor does a frame
        // whose print is not known.
        assert!(instead(&frame(0.55 / 0.95), 1.0, &bed, 0.6, &outlines).is_none());
        assert!(returned_beside_borders(&frame(0.8), 1.0, &bed, &[]).is_none());
        assert!(instead(&frame(0.8), 1.0, &bed, 0.6, &[]).is_none());
    }
}
