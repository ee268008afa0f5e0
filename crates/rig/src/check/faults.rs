//! Problems of a rig: what is wrong, by how much, in which direction, and the correction.

use super::answer::{AmbientFacts, BlankFacts, Fault, LightChange, RulerFacts, Step, VeilFound};
use super::blank::SHAPELESS;
use super::levelling::{edges_to_raise, level};
use super::ruler::PLACES;
use super::settings::Settings;
use crate::plan::Answer as Plan;
use crate::plan::quantity::side_name;
use base::wording::{count, degrees, length, list, percent, stops, stops_measured, two};
use finish::finding::{Aim, Code};
use finish::limit::limit;
use optics::small_lamp::{stops_lost, times_farther};

/// Everything that faults are read from.
pub(super) struct Case<'a> {
    pub aim: Aim,
    pub ruler: Option<&'a RulerFacts>,
    /// A later ruler frame.
    pub later: Option<&'a RulerFacts>,
    pub blank: Option<&'a BlankFacts>,
    pub ambient: Option<&'a AmbientFacts>,
    pub veils: &'a [VeilFound],
    pub settings: &'a Settings,
    pub plan: Option<&'a Plan>,
}

/// A limit of the check's own, by aim: web, book, archive.
pub struct Own {
    /// As in the fault's code.
    pub code: &'static str,
    /// What is measured.
    pub quantity: &'static str,
    /// Unit.
    pub unit: &'static str,
    /// True where smaller is worse.
    pub wants_more: bool,
    /// Web, book, archive.
    pub by_aim: [f64; 3],
    /// Why.
    pub why: &'static str,
}

/// Limits that no finished frame's verdict has; the others are those of `docs/reference/limits.md`, at their first step.
pub static OWN: [Own; 6] = [
    Own {
        code: "light.room",
        quantity: "ambient light below the flash",
        unit: "stops",
        wants_more: true,
        by_aim: [8.0; 3],
        why: "At eight stops, ambient light is 0.4 % of the picture. Common practice, no source.",
    },
    Own {
        code: "focus.corner",
        quantity: "MTF50 of a corner relative to the centre",
        unit: "share",
        wants_more: true,
        by_aim: [0.65, 0.8, 0.85],
        why: "A good copy lens at a working aperture keeps nine tenths in its corners (common practice, no source). \
              Prints are in the centre, and rendered frames of a perfectly even lens measure 0.97 to 1.03.",
    },
    Own {
        code: "camera.moved",
        quantity: "change of scale between two ruler frames",
        unit: "%",
        wants_more: false,
        by_aim: [0.5, 0.3, 0.2],
        why: "0.2 % is the scale tolerance of finished prints; at 400 mm it is 0.8 mm of height.",
    },
    Own {
        code: "camera.height",
        quantity: "difference of scale from the plan",
        unit: "%",
        wants_more: false,
        by_aim: [3.0; 3],
        why: "Heights and fields are read off a stand to about 3 %; the plan treats two wishes within the same \
              tolerance as one.",
    },
    Own {
        code: "camera.aperture",
        quantity: "difference of the aperture from the plan or from the other frames",
        unit: "stops",
        wants_more: false,
        by_aim: [0.3; 3],
        why: "Apertures are set in thirds of a stop; marks are rounded by less than a tenth.",
    },
    Own {
        code: "bed.dirty",
        quantity: "specks per square decimetre of bed",
        unit: "specks",
        wants_more: false,
        by_aim: [20.0, 8.0, 4.0],
        why: "Eight is one about every 3.5 cm; specks on the bed move to the next prints. Our judgement, no source.",
    },
];

fn own(code: &str, aim: Aim) -> f64 {
    let limits = OWN.iter().find(|o| o.code == code).map_or([0.0; 3], |o| o.by_aim);
    limits[match aim {
        Aim::Web => 0,
        Aim::Book => 1,
        Aim::Archive => 2,
    }]
}

/// A fault with how grave it is: its value over its limit, or the other way round.
struct Weighed(f64, Fault);

/// What is wrong, the gravest first.
pub(super) fn faults(case: &Case) -> Vec<Fault> {
    let checks =
        [tilt, moved, height, aperture, corner, near, bumped, mixed, room, veil, clipped, dark, show_through, dirty];
    let mut all: Vec<Weighed> = checks.iter().filter_map(|c| c(case)).collect();
    all.sort_by(|a, b| b.0.total_cmp(&a.0));
    all.into_iter().map(|w| w.1).collect()
}

/// The first step of a limit that finished frames have too.
fn first(code: Code, part: Option<&str>, aim: Aim) -> Option<f64> {
    limit(code, part).steps(aim).into_iter().flatten().next()
}

fn fault(code: &str, value: f64, limit: f64, unit: &str, says: String, remedy: String) -> Fault {
    Fault { code: code.into(), value, error: None, limit, unit: unit.into(), direction: None, step: None, says, remedy }
}

fn step(what: &str, by: f64, unit: &str) -> Option<Step> {
    Some(Step { what: what.into(), by, unit: unit.into() })
}

/// The board that is shimmed, mm: the plan's, or a usual one.
fn board(case: &Case) -> f64 {
    case.plan.map_or(400.0, |p| p.focus.board_mm)
}

fn tilt(case: &Case) -> Option<Weighed> {
    let r = case.ruler?;
    let most = first(Code::CameraTilt, None, case.aim)?;
    let (value, error) = (r.tilt_deg.value, r.tilt_deg.error.unwrap_or(0.0));
    if value < most || value < 3.0 * error {
        return None;
    }
    let (x, y) = (r.tilt_x_deg.value, r.tilt_y_deg.value);
    let edges = edges_to_raise(x, y);
    let sides: Vec<&str> = edges.iter().map(|e| e.0).collect();
    let says = format!(
        "The camera leans {} from square to the board; the limit {} is {}.",
        degrees(value),
        case.aim.phrase(),
        degrees(most)
    );
    let mut f = fault("camera.tilt", value, most, "deg", says, level(x, y, board(case)));
    f.error = r.tilt_deg.error;
    f.direction = Some(list(&sides));
    f.step = edges.first().and_then(|e| step("board", board(case) * e.1.to_radians().tan(), "mm"));
    Some(Weighed(value / most, f))
}

fn moved(case: &Case) -> Option<Weighed> {
    let (a, b) = (case.ruler?, case.later?);
    let most = own("camera.moved", case.aim);
    let change = 100.0 * (b.px_per_mm.value / a.px_per_mm.value - 1.0);
    let error = 100.0 * a.px_per_mm.error.unwrap_or(0.0).hypot(b.px_per_mm.error.unwrap_or(0.0)) / a.px_per_mm.value;
    let lean = (b.tilt_x_deg.value - a.tilt_x_deg.value).hypot(b.tilt_y_deg.value - a.tilt_y_deg.value);
    let lean_most = first(Code::CameraTilt, None, case.aim)?;
    // The lens over the bed is the image distance over the scale. Focused anew the image distance is `f (1 + m)` of the new
    // scale, else it is still that of the first frame: the two differ by the share `m`, and their middle is within half of it.
    let still = (a.focal_px + b.focal_px) / 2.0;
    let down = a.focal_px / a.px_per_mm.value - still / b.px_per_mm.value;
    if change.abs() > most && change.abs() > 3.0 * error {
        let (word, back) = if down > 0.0 { ("lower", "Raise") } else { ("higher", "Lower") };
        let says = format!(
            "The camera moved during the sitting: {} pixels per mm at the start, {} at the end, so it is now {} {word}.",
            figure(a.px_per_mm.value),
            figure(b.px_per_mm.value),
            length(down.abs())
        );
        let remedy = format!("{back} the camera by {}, fix it, and take blank and ruler again.", length(down.abs()));
        let mut f = fault("camera.moved", change, most, "%", says, remedy);
        f.error = Some(error);
        f.direction = Some(word.into());
        f.step = step("camera", down.abs(), "mm");
        return Some(Weighed(change.abs() / most, f));
    }
    (lean > lean_most).then(|| {
        let (x, y) = (b.tilt_x_deg.value - a.tilt_x_deg.value, b.tilt_y_deg.value - a.tilt_y_deg.value);
        let says = format!("The lean of the camera changed by {} from start to end.", degrees(lean));
        let remedy = format!("{} Then take blank and ruler again.", level(x, y, board(case)));
        let mut f = fault("camera.moved", lean, lean_most, "deg", says, remedy);
        f.direction = Some(list(&edges_to_raise(x, y).iter().map(|e| e.0).collect::<Vec<_>>()));
        Weighed(lean / lean_most, f)
    })
}

/// Four figures: as fine as a scale is known.
pub(super) fn figure(v: f64) -> String {
    let digits = (3 - v.abs().max(1e-9).log10().floor() as i32).clamp(0, 6) as usize;
    format!("{v:.digits$}")
}

fn height(case: &Case) -> Option<Weighed> {
    let (r, plan) = (case.ruler?, case.plan?);
    let scale = super::beside::scale(r, plan)?;
    let most = own("camera.height", case.aim);
    let off = 100.0 * (scale.measured / scale.planned - 1.0);
    if off.abs() < most {
        return None;
    }
    let (word, back) = if scale.up_mm > 0.0 { ("lower", "Raise") } else { ("higher", "Lower") };
    let says = format!(
        "The camera is {} {word} than planned: {} pixels per mm, planned {}.",
        length(scale.up_mm.abs()),
        figure(scale.measured),
        figure(scale.planned)
    );
    let mut f = fault(
        "camera.height",
        off,
        most,
        "%",
        says,
        format!("{back} the camera by {} and focus again.", length(scale.up_mm.abs())),
    );
    f.direction = Some(word.into());
    f.step = step("camera", scale.up_mm.abs(), "mm");
    Some(Weighed(off.abs() / most, f))
}

fn aperture(case: &Case) -> Option<Weighed> {
    let most = own("camera.aperture", case.aim);
    let odd = case.settings.odd_aperture(case.plan.map(|p| p.focus.f_number))?;
    if odd.stops.abs() < most {
        return None;
    }
    let (word, back) = if odd.stops > 0.0 { ("closed", "Open") } else { ("open", "Close") };
    let says = format!(
        "{} at f/{}, {} at f/{}: {} too far {word}.",
        odd.who,
        two(odd.found),
        odd.against,
        two(odd.wanted),
        stops(odd.stops.abs())
    );
    let remedy = format!("{back} the aperture to f/{} and take the frames again.", two(odd.wanted));
    let mut f = fault("camera.aperture", odd.stops, most, "stops", says, remedy);
    f.direction = Some(word.into());
    f.step = step("aperture", odd.stops.abs(), "stops");
    Some(Weighed(odd.stops.abs() / most, f))
}

fn corner(case: &Case) -> Option<Weighed> {
    let flat = case.ruler?.flatness?;
    let least = own("focus.corner", case.aim);
    let soft: Vec<usize> =
        (0..4).filter(|&i| flat[i].value + 3.0 * flat[i].error.unwrap_or(0.0).min(0.03) < least).collect();
    let worst = soft.iter().copied().min_by(|&a, &b| flat[a].value.total_cmp(&flat[b].value))?;
    let names: Vec<&str> = soft.iter().map(|&i| PLACES[i + 1]).collect();
    let pair = match soft[..] {
        [0, 1] => Some("top"),
        [1, 2] => Some("right"),
        [2, 3] => Some("bottom"),
        [0, 3] => Some("left"),
        _ => None,
    };
    let remedy = match (pair, soft.len()) {
        (Some(side), _) => format!(
            "The plane of focus is tilted: level camera and board first. If the {side} stays soft, the lens or its \
             mount is tilted."
        ),
        (_, 4) => {
            "The field of focus is curved or the aperture too wide: close by 1 stop, or focus a third of the way \
                   out."
                .into()
        }
        _ => {
            "A single soft corner is caused by the lens: close by 1 stop and check that the lens sits straight in its \
              mount; if that does not help, have it inspected."
                .into()
        }
    };
    let says = format!(
        "The {} of the frame {} soft: {} of the sharpness in the centre; the minimum {} is {}.",
        list(&names),
        if names.len() == 1 { "is" } else { "are" },
        percent(flat[worst].value),
        case.aim.phrase(),
        percent(least)
    );
    let mut f = fault("focus.corner", flat[worst].value, least, "share", says, remedy);
    f.error = flat[worst].error;
    f.direction = Some(if soft.len() == 4 { "all".into() } else { names.join(" and ") });
    Some(Weighed(least / flat[worst].value.max(1e-3), f))
}

fn near(case: &Case) -> Option<Weighed> {
    let b = case.blank?;
    let most = first(Code::LightFallOff, None, case.aim)?;
    let value = b.fall_off_print_stops?;
    if value < most {
        return None;
    }
    let planned = case.plan.map(|p| p.light.distance_mm);
    let from = b.light_distance_mm.map(|d| d.value);
    let brightest =
        b.light_azimuth_deg.map_or(String::new(), |a| format!(", brightest towards the {}", side_name(a.value)));
    let says = format!(
        "The light falls off by {} across the print{brightest}; the limit {} is {}.",
        stops_measured(value),
        case.aim.phrase(),
        stops_measured(most)
    );
    let to = from.map(|d| planned.filter(|p| *p > d).unwrap_or(d * times_farther(value, most)));
    let remedy = match (from, to) {
        (Some(from), Some(to)) => format!(
            "Move the flash {} further, from about {} to {}{}, and open {}.",
            length(to - from),
            length(from),
            length(to),
            if planned == Some(to) { " as planned" } else { "" },
            stops(stops_lost(from, to))
        ),
        _ => format!(
            "Move the flash to about {} times its distance and open {}.",
            two(times_farther(value, most)),
            stops(stops_lost(1.0, times_farther(value, most)))
        ),
    };
    let mut f = fault("light.near", value, most, "stops", says, remedy);
    f.direction = Some("further".into());
    f.step = from.zip(to).and_then(|(a, b)| step("flash", b - a, "mm"));
    Some(Weighed(value / most, f))
}

/// Degrees by which a light may stand off its planned side: hands set a stand to about that.
const ASIDE: f64 = 10.0;

fn bumped(case: &Case) -> Option<Weighed> {
    let b = case.blank?;
    let most = first(Code::BlankStale, None, case.aim)?;
    if let Some(c) = b.change.as_ref().filter(|c| c.slope_stops > most) {
        return Some(shifted(c, most));
    }
    let (azimuth, plan) = (b.light_azimuth_deg?, case.plan?);
    let off = super::beside::turn(azimuth.value, plan.light.azimuth_deg);
    (off.abs() > ASIDE && off.abs() > 3.0 * azimuth.error.unwrap_or(0.0)).then(|| {
        let (way, back) =
            if off > 0.0 { ("clockwise", "counter-clockwise") } else { ("counter-clockwise", "clockwise") };
        let says = format!(
            "The light is {} {way} from its planned position: towards the {}, planned {}.",
            degrees(off.abs()),
            side_name(azimuth.value),
            side_name(plan.light.azimuth_deg)
        );
        let mut f = fault(
            "light.moved",
            off,
            ASIDE,
            "deg",
            says,
            format!("Turn it {} {back} round the frame.", degrees(off.abs())),
        );
        f.direction = Some(way.into());
        f.step = step("flash", off, "deg");
        Weighed(off.abs() / ASIDE, f)
    })
}

/// Degrees of turn under which a light went nearer or farther rather than round: a blank tells its side to about half of that.
const TURNED: f64 = 3.0;

/// A light that is no longer where it was at the first blank.
fn shifted(c: &LightChange, most: f64) -> Weighed {
    let shape = format!(
        "The light moved during the sitting: its pattern changed by {} across the frame.",
        stops_measured(c.slope_stops)
    );
    let distance = match c.slope_ratio {
        r if r > 1.05 => format!("{} times as near", two(r)),
        r if r < 0.95 => format!("{} times as far", two(1.0 / r)),
        _ => String::new(),
    };
    let turned = c.turned_deg.abs() > TURNED;
    let (way, says, remedy) = if turned {
        let (way, back) =
            if c.turned_deg > 0.0 { ("clockwise", "counter-clockwise") } else { ("counter-clockwise", "clockwise") };
        let by = degrees(c.turned_deg.abs());
        let also = if distance.is_empty() { distance } else { format!(", {distance}") };
        (
            way,
            format!("{shape} It went {by} {way} round the frame{also}."),
            format!("Turn the light back by {by} {back}, fix its stand, and take a new blank."),
        )
    } else {
        let way = if c.slope_ratio > 1.0 { "nearer" } else { "farther" };
        let it = if distance.is_empty() {
            String::new()
        } else {
            format!(" It is {distance}, or correspondingly lower or higher.")
        };
        (way, format!("{shape}{it}"), "Put the light back where it stood, fix its stand, and take a new blank.".into())
    };
    let mut f = fault("light.moved", c.slope_stops, most, "stops", says, remedy);
    f.direction = Some(way.into());
    f.step = turned.then(|| step("flash", c.turned_deg, "deg")).flatten();
    Weighed(c.slope_stops / most, f)
}

fn mixed(case: &Case) -> Option<Weighed> {
    let b = case.blank?;
    let most = first(Code::LightMixed, None, case.aim)?;
    (b.colour_delta_e > most).then(|| {
        let towards = b.warmer_towards_deg.map_or(String::new(), |a| format!(", warmest towards the {}", side_name(a)));
        let says = format!(
            "Two lights of different colour reach the bed: its colour changes by {} ΔE over the frame{towards}; the \
             limit {} is {}.",
            two(b.colour_delta_e),
            case.aim.phrase(),
            two(most)
        );
        let remedy = "Switch off the room lights or draw the curtain; a frame with the flash off shows the light that \
                      is left."
            .into();
        let mut f = fault("light.mixed", b.colour_delta_e, most, "dE", says, remedy);
        f.direction = b.warmer_towards_deg.map(|a| side_name(a).into());
        Weighed(b.colour_delta_e / most, f)
    })
}

fn room(case: &Case) -> Option<Weighed> {
    let a = case.ambient?;
    let least = case.plan.map_or(own("light.room", case.aim), |p| p.exposure.ambient_asked_stops);
    let missing = least - a.below.value;
    // A tenth of a stop is within what an 8-bit file tells of so little light.
    (missing > 0.1).then(|| {
        let says = format!(
            "The ambient light is only {} below the flash, which is {} of the picture; the minimum is {}.",
            stops_measured(a.below.value),
            percent(a.share),
            stops_measured(least)
        );
        let remedy =
            format!("Darken the room by {}, or shorten the exposure or raise the flash by as much.", stops(missing));
        let mut f = fault("light.room", a.below.value, least, "stops", says, remedy);
        f.error = a.below.error;
        f.direction = Some("brighter".into());
        f.step = step("room", missing, "stops");
        // Each stop missing doubles what the room leaves.
        Weighed(missing.exp2(), f)
    })
}

fn veil(case: &Case) -> Option<Weighed> {
    let most = first(Code::Veil, None, case.aim)?;
    let worst = case.veils.iter().max_by(|a, b| a.share.total_cmp(&b.share)).filter(|v| v.share > most)?;
    let says = format!(
        "The window of the print in {} mirrors something bright over {} of the picture{}.",
        worst.path,
        percent(worst.share),
        worst.towards_deg.map_or(String::new(), |a| format!(", towards the frame's {}", side_name(a)))
    );
    let card = case.plan.map_or("Put a black card with a hole for the lens below the camera".to_owned(), |p| {
        let g = &p.gloss;
        format!(
            "Put the planned black card, {:.0} × {:.0} mm with a hole of {:.0} mm for the lens, {} over the bed",
            g.card_mm[0],
            g.card_mm[1],
            g.hole_mm,
            length(g.card_height_mm)
        )
    });
    let mut f =
        fault("veil", worst.share, most, "share", says, format!("{card}, then look at the window from the lens."));
    f.direction = worst.towards_deg.map(|a| side_name(a).into());
    f.step = case.plan.and_then(|p| step("card", p.gloss.card_mm[0], "mm"));
    Some(Weighed(worst.share / most, f))
}

fn clipped(case: &Case) -> Option<Weighed> {
    let b = case.blank?;
    let most = first(Code::ExposureClipped, Some("bed"), case.aim)?;
    (b.clipped > most).then(|| {
        // A third of a stop under white is where a print's sheen still fits.
        const ROOM: f64 = 1.0 / 3.0;
        // The light's shape is carried on over what clips from what does not.
        let over =
            (b.clipped < SHAPELESS).then(|| -b.head_room_stops.iter().copied().fold(f64::INFINITY, f64::min).min(0.0));
        let by = over.map_or(1.0, |v| v + ROOM);
        let how = over.map_or("the frame cannot show how far over".into(), |v| {
            format!("its brightest about {} over", stops_measured(v))
        });
        let says = format!("{} of the bed is at full scale; {how}.", percent(b.clipped));
        let again = if over.is_some() { "" } else { ", then photograph the bed again" };
        let mut f = fault(
            "exposure.clipped",
            b.clipped,
            most,
            "share",
            says,
            format!("Close the aperture or lower the flash by {}{again}.", stops(by)),
        );
        f.direction = Some("brighter".into());
        f.step = step("exposure", -by, "stops");
        Weighed(b.clipped / most, f)
    })
}

fn dark(case: &Case) -> Option<Weighed> {
    let b = case.blank?;
    let most = first(Code::ExposureLow, None, case.aim)?;
    let under = b.head_room_stops.iter().copied().fold(f64::INFINITY, f64::min);
    (under > most).then(|| {
        let says =
            format!("The bed is {} below white, so the shadows of the prints will be noisy.", stops_measured(under));
        // Half a stop under white leaves room for a glossy border's sheen.
        let by = under - 0.5;
        let mut f = fault(
            "exposure.low",
            under,
            most,
            "stops",
            says,
            format!("Open the aperture or raise the flash by {}.", stops(by)),
        );
        f.direction = Some("darker".into());
        f.step = step("exposure", by, "stops");
        Weighed(under / most, f)
    })
}

fn show_through(case: &Case) -> Option<Weighed> {
    let b = case.blank?;
    let most = first(Code::BedShowThrough, None, case.aim)?;
    (b.show_through > most).then(|| {
        let says = format!(
            "Something under the bed shows through with {} contrast; the limit {} is {}.",
            percent(b.show_through),
            case.aim.phrase(),
            percent(most)
        );
        let f = fault(
            "bed.show_through",
            b.show_through,
            most,
            "share",
            says,
            "Put a second sheet or a white board under the paper.".into(),
        );
        Weighed(b.show_through / most, f)
    })
}

fn dirty(case: &Case) -> Option<Weighed> {
    let b = case.blank?;
    let most = own("bed.dirty", case.aim);
    let density = b.specks_per_dm2.filter(|d| *d > most)?;
    let largest = b.largest.first().and_then(|s| s.length_mm);
    let says = format!(
        "{} on the bed{}: {} per square decimetre; the limit {} is {}.",
        count(b.specks, "speck", "specks"),
        largest.map_or(String::new(), |mm| format!(", the largest {}", length(mm))),
        two(density),
        case.aim.phrase(),
        two(most)
    );
    let remedy =
        "Brush or change the paper, and blow the prints clean before you place them: specks on the bed move to \
                  the next print."
            .into();
    Some(Weighed(density / most, fault("bed.dirty", b.specks as f64, most, "specks", says, remedy)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `docs/references.md`: 1 degree over 400 mm is 6.98 mm; a camera that leans by +1 about x has its top side high.
    #[test]
    fn a_lean_names_the_edge_to_raise() {
        assert_eq!(edges_to_raise(1.0, 0.0), [("top", 1.0)]);
        assert_eq!(edges_to_raise(-0.3, 0.6), [("left", 0.6), ("bottom", 0.3)]);
        assert!(level(1.0, 0.0, 400.0).contains("frame's top 7 mm up"), "{}", level(1.0, 0.0, 400.0));
    }

    #[test]
    fn own_limits_grow_stricter_and_have_reasons() {
        for o in &OWN {
            let milder = o.by_aim.windows(2).all(|w| (w[0] >= w[1]) != o.wants_more || w[0] == w[1]);
            assert!(milder && o.why.len() > 40, "{}", o.code);
        }
    }
}
