//! Whether the bed is white paper, or wood, stone, cloth or black board.

use pixels::{Field, Picture, Plane};

/// What the bed returns of the light, as a share of what the brightest of the frame returns, in the band where it returns least:
/// about 1 on white paper, a third on wood, a twentieth on black. `proxy` is the frame reduced by `step`, `bed` its light on the bed.
///
/// Under the same light a ratio of readings is a ratio of reflectances. The brightest is the print's white border; where nothing on
/// the print is brighter than the bed, the bed itself.
pub fn returned(proxy: &Picture, step: f64, bed: &Field) -> f64 {
    let over = brightest(proxy, |x, y, v| {
        let b = bed.at((x + 0.5) * step, (y + 0.5) * step);
        std::array::from_fn(|c| v[c] / b[c].max(1e-6))
    });
    1.0 / f64::from(over.into_iter().fold(1.0, f32::max))
}

/// Under this share the bed is no paper: grey paper returns six tenths of what a white border does, wood and stone half or less.
pub const PAPER: f64 = 0.5;

/// The light to see a print by whose bed is no paper: even, without colour of its own, and as strong as the brightest of the frame.
/// `proxy` is the frame reduced by `step`.
pub fn instead(proxy: &Picture, step: f64) -> Field {
    let white = brightest(proxy, |_, _, v| v).into_iter().fold(1e-3, f32::max);
    let grid = Picture([0; 3].map(|_| Plane::filled(1, 1, white)));
    Field { grid, step: step * proxy.width() as f64 }
}

/// What of `value` at each place and reading only the brightest places of a frame pass, per band.
fn brightest(proxy: &Picture, value: impl Fn(f64, f64, [f32; 3]) -> [f32; 3]) -> [f32; 3] {
    let (w, h) = (proxy.width(), proxy.height());
    let stride = ((w * h) as f64 / 2e4).sqrt().max(1.0) as usize;
    let mut all: [Vec<f32>; 3] = Default::default();
    for y in (stride / 2..h).step_by(stride) {
        for x in (stride / 2..w).step_by(stride) {
            let v = value(x as f64, y as f64, proxy.get(x, y));
            (0..3).for_each(|c| all[c].push(v[c]));
        }
    }
    all.map(|mut v| {
        v.sort_by(f32::total_cmp);
        v.get((v.len() as f64 * BRIGHTEST) as usize).copied().unwrap_or(1.0)
    })
}

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
        assert_eq!(instead(&proxy, 1.0).at(50.0, 50.0), [0.8; 3]);
        // A dark print on paper says nothing against the paper.
        let dark = Picture([0; 3].map(|_| Plane::from_fn(200, 100, |x, _| if x < 60 { 0.1 } else { 0.8 })));
        let white = Field { grid: Picture([0; 3].map(|_| Plane::filled(1, 1, 0.8))), step: 200.0 };
        assert!((returned(&dark, 1.0, &white) - 1.0).abs() < 1e-6);
    }
}
