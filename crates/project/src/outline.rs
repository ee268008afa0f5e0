//! Validates an outline given by a person: finite numbers, near the frame, and a quadrilateral.

use finish::Corners;
use geometry::{Point, point};

/// How far a corner may lie outside the frame, as a share of its longer side: a print that leaves the frame by more than this shows
/// too little of itself to be finished.
const OUTSIDE: f64 = 0.5;
/// The shortest side in pixels: under this no edge can be measured.
const LEAST: f64 = 16.0;

/// Says what is wrong with `corners`, clockwise from the upright print's top left, in a frame of `width` by `height` px.
pub(super) fn check(corners: &Corners, (width, height): (usize, usize)) -> Result<(), String> {
    let (w, h) = (width as f64, height as f64);
    let room = OUTSIDE * w.max(h);
    let near = |v: f64, side: f64| v.is_finite() && (-room..=side + room).contains(&v);
    if let Some([x, y]) = corners.iter().find(|[x, y]| !near(*x, w) || !near(*y, h)) {
        return Err(format!("The corner {x},{y} is far outside the frame, which is {width} x {height} px."));
    }
    let corner: [Point; 4] = corners.map(|[x, y]| point(x, y));
    let short = (0..4).any(|i| corner[i].distance(corner[(i + 1) % 4]) < LEAST);
    if short {
        return Err(format!("Two corners of the outline are within {LEAST} px of each other."));
    }
    // Clockwise as seen, y down: every turn is to the right.
    let turn = |i: usize| {
        let (a, b, c) = (corner[i], corner[(i + 1) % 4], corner[(i + 2) % 4]);
        (b.x - a.x) * (c.y - b.y) - (b.y - a.y) * (c.x - b.x)
    };
    if (0..4).any(|i| turn(i) <= 0.0) {
        return Err("The corners are not in clockwise order.".into());
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_quadrangle_near_the_frame_is_an_outline() {
        let size = (3000, 2000);
        let good = [[812.0, 640.0], [2320.0, 652.0], [2309.0, 1700.0], [801.0, 1689.0]];
        assert_eq!(check(&good, size), Ok(()));
        let with = |i: usize, c: [f64; 2]| {
            let mut all = good;
            all[i] = c;
            check(&all, size).unwrap_err()
        };
        for v in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e9, -1e9] {
            assert!(with(1, [v, 652.0]).contains("3000 x 2000 px") && with(2, [2309.0, v]).contains("far outside"));
        }
        // A corner a little outside is a print that leaves the frame.
        assert_eq!(check(&[good[0], [3100.0, 652.0], [3090.0, 1700.0], good[3]], size), Ok(()));
        assert!(with(1, [813.0, 641.0]).contains("16 px"));
        let round = [good[3], good[2], good[1], good[0]];
        let crossed = [good[0], good[2], good[1], good[3]];
        let line = [[100.0, 100.0], [200.0, 100.0], [300.0, 100.0], [400.0, 100.0]];
        for bad in [round, crossed, line] {
            assert!(check(&bad, size).unwrap_err().contains("clockwise"), "{bad:?}");
        }
    }
}
