//! Frames and words that are refused; rendered sheets are in `tests/ruler.rs`.

use super::*;
use pixels::{Encoding, Primaries, Samples, Tone};

fn frame(width: usize, height: usize, f: impl Fn(usize, usize) -> u8) -> Frame {
    let samples = (0..width * height).flat_map(|k| [f(k % width, k / width); 3]).collect();
    Frame { width, height, samples: Samples::U8(samples), encoding: Encoding::new(Tone::srgb(), Primaries::srgb()) }
}

#[test]
fn frames_without_a_sheet_say_so() {
    let ask = Ask::default();
    assert_eq!(measure(&frame(600, 400, |_, _| 230), &ask), Err(RulerError::NotFound));
    assert_eq!(measure(&frame(600, 400, |_, _| 0), &ask), Err(RulerError::NotFound));
    assert_eq!(measure(&frame(3, 2, |_, _| 230), &ask), Err(RulerError::NotFound));
    // Squares in a lattice, but straight ones.
    let straight =
        frame(640, 640, |x, y| if x % 64 > 20 && x % 64 < 60 && y % 64 > 20 && y % 64 < 60 { 20 } else { 230 });
    assert!(matches!(measure(&straight, &ask), Err(RulerError::NotFound | RulerError::Unknown)));
}

#[test]
fn values_that_cannot_be_are_refused_before_looking() {
    let f = frame(64, 64, |_, _| 230);
    for bar in [0.0, 15.0, f64::NAN, -150.0] {
        assert!(matches!(measure(&f, &Ask { bar_mm: Some(bar), ..Ask::default() }), Err(RulerError::BadBar(_))));
    }
    for focal in [0.0, -1.0, f64::INFINITY] {
        assert!(matches!(measure(&f, &Ask { focal_px: Some(focal), ..Ask::default() }), Err(RulerError::BadFocal(_))));
    }
}
