//! Where the sides of a dark border end: what tells the print's far side from the rim of its own shadow.
//!
//! A border as dark as a hard shadow makes one dark shape with it, whose sides are as straight as the print's. But the shadow is
//! the print moved aside, so that the shape has notches: a lit side stops where the print's corner is, before it meets the line
//! of the shadow's rim. Which of the two lines at a notch is the print's, the window tells: it lies at a known distance.

use crate::agree::APART;
use crate::edge::Reader;
use crate::outline::{Outline, Side, Tip};

/// The least share of the bed's light that a border must lack to be taken for a shadow: a lit grey border does not.
const DARK: f64 = 0.6;
/// How far (mm) before its corner a side may end for its rounded corner alone: with a radius of 2 mm, half a millimetre within the
/// edge, 0.7 mm.
const ROUND: f64 = 1.0;
/// Farther (mm) no shadow reaches that is as dark as a border: past it something else lies over the side.
const REACH: f64 = 12.0;
/// Standard error (mm) of an end that may be rounded a little; its blur adds a third of a pixel.
const END: f64 = 0.15;

/// Gives up the sides that end in a notch while their neighbour, which the window confirms, ends before them; notes in the
/// outline where that neighbour ended. Where the window confirms neither, both are doubted by as much. True where a side was
/// given up or an end noted.
pub fn give_up_rims(outline: &mut Outline, reader: &Reader<'_>) -> bool {
    let middle = outline.outer.rect.centre();
    let pixel = 1.0 / outline.frame_from_print.scale_at(middle).max(1e-6);
    let least = ROUND.hypot(2.0 * pixel);
    let dark: Vec<Option<f64>> = (0..4).map(|i| darkness(outline, reader, i, pixel)).collect();
    let confirmed: Vec<bool> = (0..4).map(|i| confirmed(outline, i, pixel)).collect();
    let mut tips = Vec::new();
    let mut lost = [false; 4];
    for corner in 0..4 {
        for (side, other, at_end) in [((corner + 3) % 4, corner, true), (corner, (corner + 3) % 4, false)] {
            let Some(short) = dark[side].and_then(|dark| short(outline, reader, (side, at_end), dark, pixel)) else {
                continue;
            };
            let stray = !confirmed[other] && outline.outer.sides[other].sure();
            if confirmed[side] && (short > least && stray || !outline.outer.sides[other].sure()) {
                let (a, b) = outline.outer.rect.side(side);
                let (from, back) = (outline.outer.corner(corner), if at_end { a - b } else { b - a });
                tips.push(Tip { corner, side, at: from + back.unit() * short, error: END.hypot(0.3 * pixel) });
                lost[other] |= stray;
            } else if short > least && stray {
                let rival = &mut outline.outer.sides[other].rival;
                *rival = rival.max(short / 2.0);
            }
        }
    }
    for (side, _) in outline.outer.sides.iter_mut().zip(lost).filter(|(_, lost)| *lost) {
        *side = Side::missing(side.seen);
    }
    outline.tips = tips;
    !outline.tips.is_empty()
}

/// True where a side lies from its window's side as the format has it.
fn confirmed(outline: &Outline, i: usize, pixel: f64) -> bool {
    let (outer, window) = (&outline.outer.sides[i], &outline.window.sides[i]);
    let apart = (outer.curve.at(0.0) - window.curve.at(0.0)).abs();
    outer.sure() && window.sure() && apart < APART.hypot(pixel)
}

/// The share of the outer light that a sure side's border lacks, where that is as much as a shadow's.
fn darkness(outline: &Outline, reader: &Reader<'_>, i: usize, pixel: f64) -> Option<f64> {
    if !outline.outer.sides[i].sure() {
        return None;
    }
    let mut all: Vec<f64> = (-6..=6).filter_map(|k| contrast(outline, reader, i, f64::from(k) / 10.0, pixel)).collect();
    let dark = geometry::fit::median(&mut all);
    (all.len() > 6 && dark > DARK).then_some(dark)
}

/// How much darker (share of the outer light) it is just within side `i` than just outside it, at `t`.
fn contrast(outline: &Outline, reader: &Reader<'_>, i: usize, t: f64, pixel: f64) -> Option<f64> {
    let (a, b) = outline.outer.rect.side(i);
    let outward = -(b - a).unit().quarter_turn();
    let on = outline.outer.at(i, t);
    let light = |sign: f64| -> Option<f64> {
        (0..4)
            .map(|k| {
                // Clear of the edge's blur and halo, and no deeper than a millimetre and a half.
                let depth = 0.2 + 1.5 * pixel + 0.25 * f64::from(k);
                let at = outline.frame_from_print.apply(on + outward * (sign * depth));
                reader.at(at).map(|v| f64::from(v.iter().sum::<f32>()))
            })
            .sum()
    };
    let (within, outside) = (light(-1.0)?, light(1.0)?);
    Some((outside - within) / outside.max(within).max(1e-6))
}

/// How far (mm) before the corner at its end (or start) a side's step stops; `None` where it is not seen near there.
fn short(outline: &Outline, reader: &Reader<'_>, (side, at_end): (usize, bool), dark: f64, pixel: f64) -> Option<f64> {
    let (a, b) = outline.outer.rect.side(side);
    let length = (b - a).norm();
    let corner = outline.outer.corner(if at_end { (side + 1) % 4 } else { side });
    let t = |back: f64| {
        let along = (corner - a).dot((b - a).unit()) + if at_end { -back } else { back };
        2.0 * along / length - 1.0
    };
    let step = 0.2f64.max(0.5 * pixel);
    let at = |k: usize| contrast(outline, reader, side, t(k as f64 * step), pixel).unwrap_or(0.0) - 0.5 * dark;
    let there: Vec<f64> = (0..=(REACH / step) as usize + 1).map(at).collect();
    // Two places together, so that one speck is no side.
    let first = there.windows(2).position(|w| w[0] > 0.0 && w[1] > 0.0)?;
    // Between the last place without the side and the first with it, where half its step is met.
    let before = if first > 0 { there[first] / (there[first] - there[first - 1]).max(1e-6) } else { 0.0 };
    Some((first as f64 - before.clamp(0.0, 1.0)) * step)
}
