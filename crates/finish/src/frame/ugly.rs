//! Property test with ugly frames through look, find, measure and judge: no panic and no runaway scale.
//!
//! `FALLSIDE_UGLY=3000 cargo test --release -p finish --lib ugly` sets the number of seeds of each kind; `FALLSIDE_UGLY_FROM` the first
//! seed.

#[path = "../../tests/ugly/draw.rs"]
mod draw;

use super::*;
use crate::finding::Aim;
use draw::{Dice, Drawn, KINDS};
use pixels::{Encoding, Frame, Primaries, Samples, Tone};
use print::ruler::{Ask, measure as measure_ruler};
use proptest::prelude::*;

/// Frames that once ended in a "capacity overflow": edges that were no print's led the camera's pose to a place from which the print
/// was many times its size. Kind, width, height, seed.
const ONCE: [(&str, usize, usize, u64); 4] =
    [("gradient", 378, 504, 1005), ("black", 138, 468, 1026), ("stripes", 1099, 102, 1027), ("hands", 378, 504, 1046)];

fn sight_of(d: &Drawn) -> LoadedFrame {
    let frame = Frame {
        width: d.width,
        height: d.height,
        samples: Samples::U8(d.rows(0..d.height)),
        encoding: Encoding::new(Tone::srgb(), Primaries::srgb()),
    };
    let step = (d.width.max(d.height) as f64 / loaded_frame::PROXY).round().max(1.0) as usize;
    LoadedFrame {
        proxy: frame.reduce(step),
        frame,
        mosaic: None,
        step,
        words: Default::default(),
        original: Default::default(),
        focal_px: None,
        encoding: "srgb".into(),
        notes: Vec::new(),
    }
}

/// The whole road without a file, as a frame of every role and as the blank of itself.
fn road(d: &Drawn) {
    let sight = sight_of(d);
    let (look, _) = look_and_find(&sight);
    let scores = [look.chart_score, look.print_score, look.window_score, look.ruler_score, look.mean_level];
    assert!(scores.iter().all(|s| (0.0..=1.0).contains(s)), "{scores:?}");
    let _ = measure_ruler(&sight.frame, &Ask::default());
    let blank = Arc::new(flat_field::from_blank(&sight.proxy, sight.step as f64));
    let formats = loaded_frame::formats(&Default::default());
    let recipe = crate::recipe::Recipe::new(Role::Front, Default::default(), Default::default());
    for blanks in [&[][..], &[blank]] {
        let Some(seen) = loaded_frame::see(&sight, blanks, &formats, &Hints::default(), look.place.as_ref(), &[])
        else {
            continue;
        };
        let findings = judge(&measure::measure(&sight, &seen, &recipe), Aim::Archive);
        assert!(findings.iter().all(|f| f.value.is_finite() && f.limit.is_finite()), "{findings:?}");
        let outline = seen.found.outline.frame_from_print.scale_at(seen.found.format.outer_quad().centre());
        let pose = seen.found.pose.px_per_mm();
        // The printed formats measure 54 mm and more, and the finder allows half of one outside the frame.
        let most = 1.5 * d.width.max(d.height) as f64 / 54.0 * 1.5;
        assert!((pose / outline - 1.0).abs() < 0.1 && pose < most, "pose {pose} px/mm, outline {outline}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]
    #[test]
    fn no_small_frame_ends_in_a_panic(kind in 0..KINDS.len(), w in 1..260usize, h in 1..260usize, seed: u64) {
        road(&draw::draw(kind, w, h, seed));
    }
}

#[test]
fn frames_that_once_ended_in_a_panic_have_a_report() {
    for (kind, w, h, seed) in ONCE {
        let kind = KINDS.iter().position(|k| *k == kind).unwrap();
        road(&draw::draw(kind, w, h, seed));
    }
}

/// Sizes from a pixel to a photograph for the web, slender ones among them.
fn size(dice: &mut Dice) -> (usize, usize) {
    match dice.below(8) {
        0 => (1 + dice.below(40), 1 + dice.below(40)),
        1 => (1 + dice.below(6), 1 + dice.below(900)),
        2 => (1 + dice.below(900), 1 + dice.below(6)),
        3 => (378, 504),
        4 => (504, 378),
        5 => (600 + dice.below(600), 60 + dice.below(60)),
        _ => (60 + dice.below(500), 60 + dice.below(500)),
    }
}

#[test]
fn thousands_of_seeds_where_asked_for() {
    let number = |name: &str| std::env::var(name).ok().and_then(|v| v.parse::<u64>().ok());
    let from = number("FALLSIDE_UGLY_FROM").unwrap_or(0);
    let mut faults = vec![];
    for seed in from..from + number("FALLSIDE_UGLY").unwrap_or(0) {
        let mut dice = Dice::new(seed);
        for (kind, name) in KINDS.iter().enumerate() {
            let (w, h) = size(&mut dice);
            let d = draw::draw(kind, w, h, seed);
            let ended = std::panic::catch_unwind(|| road(&d));
            if ended.is_err() {
                eprintln!("{name} {w}x{h} seed {seed}");
                faults.push((*name, w, h, seed));
            }
        }
    }
    assert!(faults.is_empty(), "{faults:?}");
}
