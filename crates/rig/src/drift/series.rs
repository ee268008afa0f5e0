//! Builds series from observed frames, and derives what moved from steps in them.

use super::answer::{Drift, Event, Part, Quantity, Row, SCHEMA, Scatter};
use super::steps::{Point, Rule, Step, jitter, steps};
use super::{Frame, sentences};
use base::wording::round;
use finish::Role;
use finish::report::CameraWords;
use geometry::fit::median;
use print::flat_field::Change;

/// Compares every frame with the first blank, and names what moved.
pub(super) fn drift(frames: &[Frame], mut notes: Vec<String>) -> Result<Drift, String> {
    let shows_bed = |f: &&Frame| f.role == Role::Blank || f.role.holds_print();
    let frames: Vec<&Frame> = frames.iter().filter(shows_bed).collect();
    let Some(first) = frames.iter().find(|f| f.role == Role::Blank) else {
        return Err(
            "There is no frame of the bare bed, which drift is measured against. Photograph the empty bed, or \
                    give such a frame with --blank."
                .into(),
        );
    };
    if frames.len() < 2 {
        return Err("Drift needs at least two frames.".into());
    }
    let scale = median(&mut frames.iter().filter_map(|f| f.seen.stand.map(|s| s.px_per_mm)).collect::<Vec<_>>());
    let slope = first.seen.squares.slope();
    let changes: Vec<Option<Change>> = frames.iter().map(|f| f.seen.squares.over(&first.seen.squares)).collect();
    let mut rows: Vec<Row> = frames.iter().zip(&changes).map(|(f, c)| row(f, c.as_ref(), first, scale)).collect();
    let curved = frames.iter().any(|f| f.seen.display_referred);
    if curved {
        unbend(&mut rows, slope);
        notes.push(
            "These files contain the camera's tone curve: frame and direction are reliable, but amounts in stops may be \
             off by a third. Raw files give exact amounts."
                .into(),
        );
    }
    let unseen: Vec<&str> = rows.iter().filter(|r| r.level_stops.is_none()).map(|r| r.frame.as_str()).collect();
    if !unseen.is_empty() {
        notes.push(format!("Too little unclipped bed is visible to compare {}.", base::wording::list(&unseen)));
    }
    let (events, scatter) = events(&rows, if curved { BEND * slope } else { 0.0 });
    let rows = rows.iter().map(rounded).collect();
    Ok(Drift { schema: SCHEMA.into(), reference: first.name.clone(), events, scatter, frames: rows, notes })
}

/// How much a camera's tone curve may change its own steepness over a stop near white, where the bed lies: an S-curve of usual
/// strength falls from 1.2 in the middle greys to 0.75 at nine tenths of white (computed for `0.55 x + 0.45 x^2 (3 - 2 x)`). A
/// frame at another level shows so much of the bed's own slope too little or too much.
const BEND: f64 = 0.45;

/// Slopes as they may be wrong by the tone curve: a frame darker or lighter than its neighbours does not speak for the light.
fn unbend(rows: &mut [Row], slope: f64) {
    let levels: Vec<Option<f64>> = rows.iter().map(|r| r.level_stops).collect();
    for (i, r) in rows.iter_mut().enumerate() {
        let near = &levels[i.saturating_sub(2)..(i + 3).min(levels.len())];
        let usual = median(&mut near.iter().flatten().copied().collect::<Vec<_>>());
        let bend = r.level_stops.map(|l| BEND * (l - usual).abs() * slope);
        r.slope_error_stops = r.slope_error_stops.zip(bend).map(|(e, b)| e.hypot(b));
    }
}

fn row(frame: &Frame, change: Option<&Change>, first: &Frame, scale: f64) -> Row {
    let words = &frame.seen.look.exif;
    let mean = |s: &[f64; 3]| s.iter().sum::<f64>() / 3.0;
    let shift = frame.seen.pattern.shift_from(&first.seen.pattern).filter(|_| scale > 0.0);
    let stand = frame.seen.stand;
    Row {
        frame: frame.name.clone(),
        role: frame.role,
        taken: words.taken.clone(),
        level_stops: change.map(|c| mean(&c.stops) - settings(words, &first.seen.look.exif)),
        colour_stops: change.map(|c| [c.stops[0] - c.stops[1], c.stops[2] - c.stops[1]]),
        slope_stops: change.map(|c| c.slope),
        slope_error_stops: change.map(|c| c.slope_error),
        shift_mm: shift.map(|s| s.map(|v| v * frame.seen.step / scale)),
        tilt_deg: stand.map(|s| s.tilt_deg),
        tilt_error_deg: stand.map(|s| s.tilt_error_deg),
        px_per_mm: stand.map(|s| s.px_per_mm),
    }
}

/// Stops that aperture and ISO make a frame brighter than another: `log2(S / S0) - 2 log2(N / N0)`. Shutter times do not count,
/// as a flash is shorter than any.
fn settings(a: &CameraWords, b: &CameraWords) -> f64 {
    let ratio = |x: Option<f64>, y: Option<f64>| match (x, y) {
        (Some(x), Some(y)) if x > 0.0 && y > 0.0 => (x / y).log2(),
        _ => 0.0,
    };
    ratio(a.iso, b.iso) - 2.0 * ratio(a.f_number, b.f_number)
}

/// What is asked of each quantity: the smallest step named, the scatter frames have at least, and frames at each side.
const LEVEL: Rule = Rule { least: 0.05, scatter: 0.01, side: 3 };
/// 0.05 stop of blue against green is 3.5 % and moves b* of white by 2.3 (CIE 15), just over the 2 that FADGI 2023 allows its best
/// level for white balance; a flash wanders by less than that of itself.
const COLOUR: Rule = Rule { least: 0.05, scatter: 0.005, side: 3 };
/// From 0.02 stop on a blank is told to be stale. A slope does not jitter with the flash, so two frames bear it out.
const SLOPE: Rule = Rule { least: 0.02, scatter: 0.003, side: 2 };
/// One lifted edge fakes half a degree a millimetre: half a millimetre is what the flattest prints have.
const TILT: Rule = Rule { least: 0.25, scatter: 0.27, side: 4 };
/// Prints of a format are cut alike to 0.25 mm of 88, and a millimetre of curl enlarges by 0.17 %.
const SCALE: Rule = Rule { least: 0.004, scatter: 0.002, side: 3 };
/// A tenth of a millimetre is as well as the bed's pattern is placed.
const SHIFT: Rule = Rule { least: 0.3, scatter: 0.1, side: 2 };

fn points<const D: usize>(rows: &[Row], of: impl Fn(&Row) -> Option<([f64; D], f64)>) -> Vec<Point<D>> {
    rows.iter().enumerate().filter_map(|(at, r)| of(r).map(|(value, error)| Point { at, value, error })).collect()
}

/// A step of one quantity, ready to be joined with others of its frame.
struct Told {
    after: usize,
    before: usize,
    slide: bool,
    part: Part,
}

/// What moved, and the scatter. `bend`: slope that a tone curve may fake per stop of level.
fn events(rows: &[Row], bend: f64) -> (Vec<Event>, Scatter) {
    let level = points(rows, |r| r.level_stops.map(|v| ([v], 0.003)));
    let colour = points(rows, |r| r.colour_stops.map(|v| (v, 0.002)));
    let slope = points(rows, |r| Some((r.slope_stops?, r.slope_error_stops?)));
    let tilt = points(rows, |r| Some((r.tilt_deg?, r.tilt_error_deg?)));
    let shift = points(rows, |r| r.shift_mm.map(|v| (v, 0.05)));
    let scales = points(rows, |r| r.px_per_mm.map(|v| ([v.ln()], 0.001)));
    let mut told = vec![];
    told.extend(steps(&shift, &SHIFT).iter().map(|s| tell(s, Quantity::Shift, "mm")));
    told.extend(steps(&scales, &SCALE).iter().map(|s| tell(s, Quantity::Scale, "share")));
    told.extend(steps(&tilt, &TILT).iter().map(|s| tell(s, Quantity::Tilt, "deg")));
    told.extend(steps(&slope, &SLOPE).iter().map(|s| tell(s, Quantity::Slope, "stops")));
    told.extend(steps(&level, &LEVEL).iter().map(|s| tell(s, Quantity::Level, "stops")));
    told.extend(steps(&colour, &COLOUR).iter().map(|s| tell(s, Quantity::Colour, "stops")));
    let scatter = |n: usize, v: f64| (n >= 3).then(|| round(v, 1e4));
    let scatter = Scatter {
        level_stops: scatter(level.len(), jitter(&level)),
        colour_stops: scatter(colour.len(), jitter(&colour)),
        slope_stops: scatter(slope.len(), jitter(&slope)),
        tilt_deg: scatter(tilt.len(), jitter(&tilt)),
    };
    let power: Vec<Told> = told
        .iter()
        .filter(|t| t.part.quantity == Quantity::Level)
        .map(|t| Told { part: t.part.clone(), ..*t })
        .collect();
    told.retain(|t| {
        let faked = power.iter().filter(|p| near(p, t)).map(|p| bend * p.part.norm()).fold(0.0, f64::max);
        t.part.quantity != Quantity::Slope || t.part.norm() > faked
    });
    (joined(told, rows), scatter)
}

/// True for steps that may be one: places between which both may lie overlap (frames that do not show a quantity widen its
/// own), or are neighbours.
fn near(a: &Told, b: &Told) -> bool {
    a.slide == b.slide
        && (a.after <= b.before && b.after <= a.before && (a.slide || a.before - a.after > 1 || b.before - b.after > 1)
            || !a.slide && a.after.abs_diff(b.after) <= 1)
}

fn tell<const D: usize>(step: &Step<D>, quantity: Quantity, unit: &str) -> Told {
    let directed = matches!(quantity, Quantity::Slope | Quantity::Shift);
    let towards = directed.then(|| step.size[D - 1].atan2(step.size[0]).to_degrees().rem_euclid(360.0));
    let part = Part {
        quantity,
        size: step.size.iter().map(|v| round(*v, 1e4)).collect(),
        error: round(step.error, 1e4),
        unit: unit.into(),
        towards_deg: towards.map(|a| round(a, 10.0)),
    };
    Told { after: step.after, before: step.before, slide: step.slide, part }
}

/// Steps of one frame, or of neighbours, are one event, placed where its first quantity places it: pattern, scale and slope
/// scatter least and come first.
fn joined(mut told: Vec<Told>, rows: &[Row]) -> Vec<Event> {
    let mut groups: Vec<(usize, Event)> = vec![];
    while !told.is_empty() {
        let first = told.remove(0);
        let (with, rest): (Vec<_>, Vec<_>) = told.into_iter().partition(|t| near(t, &first));
        told = rest;
        let names = (rows[first.after].frame.as_str(), rows[first.before].frame.as_str());
        let parts: Vec<Part> = std::iter::once(first.part).chain(with.into_iter().map(|t| t.part)).collect();
        groups.push((first.after, sentences::event(names, first.slide, parts)));
    }
    groups.sort_by_key(|(at, _)| *at);
    groups.into_iter().map(|(_, e)| e).collect()
}

fn rounded(r: &Row) -> Row {
    let two = |v: Option<[f64; 2]>, steps: f64| v.map(|v| v.map(|x| round(x, steps)));
    let one = |v: Option<f64>, steps: f64| v.map(|x| round(x, steps));
    Row {
        frame: r.frame.clone(),
        role: r.role,
        taken: r.taken.clone(),
        level_stops: one(r.level_stops, 1e4),
        colour_stops: two(r.colour_stops, 1e4),
        slope_stops: two(r.slope_stops, 1e4),
        slope_error_stops: one(r.slope_error_stops, 1e4),
        shift_mm: two(r.shift_mm, 1e3),
        tilt_deg: two(r.tilt_deg, 1e3),
        tilt_error_deg: one(r.tilt_error_deg, 1e3),
        px_per_mm: one(r.px_per_mm, 1e4),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drift::Kind;

    fn row(i: usize) -> Row {
        // A few thousandths either way, so that no two frames are quite alike.
        let w = |k: usize| ((i * k) % 7) as f64 / 7.0 - 0.43;
        Row {
            frame: format!("F{i}"),
            role: Role::Front,
            taken: None,
            level_stops: Some(0.02 * w(3)),
            colour_stops: Some([0.004 * w(5), 0.004 * w(2)]),
            slope_stops: Some([0.003 * w(4), 0.003 * w(3)]),
            slope_error_stops: Some(0.002),
            shift_mm: Some([0.05 * w(2), 0.05 * w(6)]),
            tilt_deg: Some([0.4 * w(3), 0.4 * w(5)]),
            tilt_error_deg: Some(0.2),
            px_per_mm: Some(20.0 * (1.0 + 0.001 * w(2))),
        }
    }

    #[test]
    fn a_sitting_in_which_nothing_moves_has_no_event() {
        let (events, scatter) = events(&(0..20).map(row).collect::<Vec<_>>(), 0.0);
        assert_eq!(events, []);
        assert!(scatter.level_stops.is_some_and(|v| v < 0.03), "{scatter:?}");
    }

    /// A light moved dims and tilts at once; that is one event, of the light.
    #[test]
    fn steps_of_one_frame_are_one_event() {
        let mut rows: Vec<Row> = (0..20).map(row).collect();
        for r in &mut rows[12..] {
            r.level_stops = r.level_stops.map(|v| v - 0.3);
            r.slope_stops = r.slope_stops.map(|[x, y]| [x - 0.08, y]);
        }
        let (events, _) = events(&rows, 0.0);
        assert_eq!(events.len(), 1, "{events:?}");
        let e = &events[0];
        assert_eq!((e.kind, e.after.as_str(), e.before.as_str()), (Kind::Light, "F11", "F12"));
        assert!(e.says.starts_with("After F11 the light moved: brighter towards the left by 0.08 stop"), "{}", e.says);
        assert!(e.says.contains("0.3 stop darker"), "{}", e.says);
    }

    /// A tone curve that is less steep at the new level shows less of the bed's own slope; that is no moved light.
    #[test]
    fn a_slope_that_the_level_explains_is_no_moved_light() {
        let mut rows: Vec<Row> = (0..20).map(row).collect();
        for r in &mut rows[12..] {
            r.level_stops = r.level_stops.map(|v| v - 0.4);
            r.slope_stops = r.slope_stops.map(|[x, y]| [x - 0.05, y]);
        }
        let kinds = |bend: f64| events(&rows, bend).0.iter().map(|e| e.kind).collect::<Vec<_>>();
        assert_eq!((kinds(0.0), kinds(0.45 * 0.4)), (vec![Kind::Light], vec![Kind::Flash]));
    }

    /// A curled print or two lean by degrees; the rig did not.
    #[test]
    fn a_curled_print_is_no_bumped_camera() {
        let mut rows: Vec<Row> = (0..20).map(row).collect();
        for i in [9, 10, 15] {
            rows[i].tilt_deg = Some([2.4, -1.1]);
            rows[i].tilt_error_deg = Some(0.9);
        }
        assert_eq!(events(&rows, 0.0).0, []);
        rows[10..].iter_mut().for_each(|r| r.tilt_deg = r.tilt_deg.map(|[x, y]| [x, y + 1.2]));
        let (events, _) = events(&rows, 0.0);
        // The curled print beside the step says nothing of which side it is on.
        let beside = ["F9", "F10"].contains(&events[0].after.as_str());
        assert!(events.len() == 1 && events[0].kind == Kind::Camera && beside, "{events:?}");
    }

    #[test]
    fn aperture_and_iso_are_no_drift_of_the_flash() {
        let words = |n: f64, iso: f64| CameraWords { f_number: Some(n), iso: Some(iso), ..CameraWords::default() };
        // f/8 to f/5.6 at ISO 100 to 200: one stop each (ISO 2720's scale; 5.6 is nominal for 5.657).
        assert!((settings(&words(5.6, 200.0), &words(8.0, 100.0)) - 2.0).abs() < 0.03);
        assert_eq!(settings(&CameraWords::default(), &words(8.0, 100.0)), 0.0);
    }
}
