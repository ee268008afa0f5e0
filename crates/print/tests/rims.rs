//! A black border beside its own black shadow, whose rim is as straight as a side: the print is where the window says.

use geometry::{Point, point};
use pixels::{Encoding, Frame, Primaries, Samples, Tone};
use print::find::{self, Found};
use print::flat_field;
use print::format::known;
use print::hints::Hints;

/// Frame pixels per millimetre.
const SCALE: f64 = 6.0;
/// Turn of the print in the frame, radians.
const TURN: f64 = 0.04;
/// The upright print's top left in the frame, px.
const AT: Point = Point { x: 260.0, y: 90.0 };

fn frame_from_print(p: Point) -> Point {
    let (s, c) = TURN.sin_cos();
    AT + point(p.x * c - p.y * s, p.x * s + p.y * c) * SCALE
}

fn print_from_frame(p: Point) -> Point {
    let (d, (s, c)) = ((p - AT) * (1.0 / SCALE), TURN.sin_cos());
    point(d.x * c + d.y * s, d.y * c - d.x * s)
}

/// A square integral print with a black border, whose shadow is the print moved by `shadow` mm: flat code values, with the
/// grain of a posted picture. Of its window the top and left side show.
fn frame(shadow: Point) -> Frame {
    let (width, height) = (1100, 860);
    let code = |x: f64, y: f64| {
        let p = print_from_frame(point(x, y));
        let on = |p: Point| (0.0..88.0).contains(&p.x) && (0.0..107.0).contains(&p.y);
        let picture = (4.5..83.5).contains(&p.x) && (6.5..85.5).contains(&p.y);
        match (on(p), picture) {
            (true, true) if p.x + p.y < 75.0 => 170.0,
            (true, _) => 41.0,
            _ if on(p - shadow) => 41.0,
            _ => 215.0,
        }
    };
    let mut dice = 1u32;
    let samples = (0..width * height)
        .flat_map(|k| {
            let (x, y) = ((k % width) as f64, (k / width) as f64);
            let taps = (0..9).map(|j| code(x + f64::from(j % 3) / 3.0 + 0.17, y + f64::from(j / 3) / 3.0 + 0.17));
            // A linear congruential generator (Numerical Recipes): grain of 3 levels.
            dice = dice.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let grain = f64::from(dice >> 16) / 65_536.0 * 6.0 - 3.0;
            [(taps.sum::<f64>() / 9.0 + grain) as u8; 3]
        })
        .collect();
    let encoding = Encoding::new(Tone::srgb(), Primaries::srgb());
    Frame { width, height, samples: Samples::U8(samples), encoding }
}

fn found(frame: &Frame) -> Found {
    let proxy = frame.reduce(1);
    let (bed, _) = flat_field::guess(&proxy, 1.0);
    find::find(frame, &proxy, 1, &bed, &known(), &Hints::default()).expect("a print")
}

/// Distance (mm) of the worst corner from where it was drawn.
fn worst(found: &Found) -> f64 {
    let corners = [point(0.0, 0.0), point(88.0, 0.0), point(88.0, 107.0), point(0.0, 107.0)].map(frame_from_print);
    let seen = found.outline.corners().0.0;
    seen.iter().zip(corners).map(|(a, b)| a.distance(b) / SCALE).fold(0.0, f64::max)
}

#[test]
fn a_black_print_is_found_apart_from_its_black_shadow() {
    for shadow in [point(2.0, 3.0), point(3.0, 2.0), point(1.5, 1.5)] {
        let found = found(&frame(shadow));
        let off = worst(&found);
        assert_eq!(found.format.name, "square-integral");
        // Placed by the window and by where lit sides end, so to about a third of a millimetre, and it says so.
        assert!(off < 0.5, "{shadow:?}: {off} mm off, sigma {}", found.sigma_mm);
        assert!(off < 2.0 * found.sigma_mm, "{shadow:?}: {off} mm off, sigma {}", found.sigma_mm);
    }
}

#[test]
fn a_black_print_without_a_shadow_keeps_all_its_sides() {
    let found = found(&frame(point(0.0, 0.0)));
    assert!(found.outline.outer.sides.iter().all(print::outline::Side::sure));
    assert!(worst(&found) < 0.05, "{}", worst(&found));
}
