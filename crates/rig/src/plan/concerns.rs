//! Texts of the problems of a plan: what is wrong, what to do, and by how much.

use super::answer::{StandPlan, Told};
use super::units::{Units, f_stop, power, thousands, time};
use base::wording::capital;
use base::wording::{degrees, stops, stops_measured, two};
use geometry::{Length, Stops};
use optics::plan::{Clash, Concern, Mended, Plan, Said};

fn said(s: &Said, u: Units) -> String {
    match s {
        Said::Ppi(v) => format!("{v:.0} ppi"),
        Said::Field(l) => format!("a field {} wide", u.len(*l)),
        Said::Height(h, f) => format!("a {} lens with the sensor {} above the bed", u.len(*f), u.len(*h)),
    }
}

/// Two wishes that contradict each other.
pub(super) fn clash(c: &Clash, u: Units) -> String {
    format!(
        "{} and {} contradict each other: the first gives {:.0} ppi on the print, the second {:.0}. Leave one out.",
        capital(&said(&c.one.0, u)),
        said(&c.other.0, u),
        c.one.1,
        c.other.1
    )
}

/// One concern in words.
pub(super) fn told(c: &Concern, plan: &Plan, u: Units) -> Told {
    let (code, says, remedy) = words(c, plan, u);
    Told { code: code.into(), breaks_a_wish: c.breaks_a_wish(), says, remedy }
}

/// A stand whose margin is too small.
pub(super) fn tips(s: &StandPlan, u: Units) -> Option<Told> {
    let margin = s.margin.filter(|m| *m < s.margin_asked)?;
    let reach = s.arm_reach_most_mm.map(|r| format!(", or shorten the arm to {}", u.set(r))).unwrap_or_default();
    Some(Told {
        code: "stand.tips".into(),
        breaks_a_wish: true,
        says: format!(
            "The base outweighs camera and arm {} times; at least {} is required.",
            two(margin),
            two(s.margin_asked)
        ),
        remedy: format!(
            "Weigh the base down to {} kg{reach}, and strap the camera. The stand maker's rated load decides.",
            two(s.base_kg_wanted)
        ),
    })
}

fn words(c: &Concern, plan: &Plan, u: Units) -> (&'static str, String, String) {
    match c {
        Concern::Crops { wanted_ppi, nearest_ppi, said: wish } => (
            "framing.crops",
            match wish {
                Said::Ppi(v) => format!("At {v:.0} ppi the frame would crop the print."),
                _ => format!("With {} the frame would crop the print: that is {wanted_ppi:.0} ppi.", said(wish, u)),
            },
            format!(
                "The nearest that shows the whole print with its margin is {nearest_ppi:.0} ppi, which is planned here. \
                 For more, use a camera with more pixels, or several frames shifted by half pixels."
            ),
        ),
        Concern::MarginShort { left, wanted } => (
            "framing.margin",
            format!("{} of bed is left around the print; shadow, placement and handling need {}.", u.len(*left), u.len(*wanted)),
            format!("Raise the camera until the frame shows {} more.", u.len((*wanted - *left) * 2.0)),
        ),
        Concern::ShortOfAim { asked_ppi, ppi } => (
            "camera.resolution",
            format!("The print gets {ppi:.0} ppi; the aim can use {asked_ppi:.0}."),
            short_of_aim(*asked_ppi, *ppi, plan),
        ),
        Concern::TooClose { wanted, closest, wanted_ppi } => (
            "lens.closest",
            format!("{wanted_ppi:.0} ppi needs the print {} from the sensor; the lens focuses down to {}.", u.len(*wanted), u.len(*closest)),
            "Planned from its closest focus. A macro lens or an extension tube gets closer.".into(),
        ),
        Concern::MayNotFocus { magnification, needs } => (
            "lens.close",
            format!(
                "The image on the sensor is {} of life size; an ordinary lens may not focus this close.",
                base::wording::share(*magnification)
            ),
            format!("Check the closest focus marked on it: it must be {} or less. Give it with --closest-focus.", u.len(*needs)),
        ),
        Concern::HeightTooLow { wanted, least } => (
            "camera.height",
            format!("A {} lens cannot form an image over {}: the minimum is four focal lengths.", u.len(*least * 0.25), u.len(*wanted)),
            format!("Planned without that height. Use a height of {} or more, or a shorter lens.", u.len(*least)),
        ),
        Concern::CurlTooDeep { lift, most } => (
            "focus.curl",
            format!("No aperture is sharp enough for the aim over a curl of {}; the maximum is {}.", u.len(*lift), u.len(*most)),
            "Planned at the sharpest aperture. Take two frames focused at two heights, or choose a less demanding aim.".into(),
        ),
        Concern::ApertureSoft { wanted, range } => (
            "focus.aperture",
            format!("At {} the ends of the curl are softer than the aim allows.", f_stop(wanted.0)),
            range.map_or("No aperture is sharp enough.".into(), |(a, b)| {
                format!("Set {} or anything up to {}.", f_stop(a.0), f_stop(b.0))
            }),
        ),
        Concern::FallOff { fall_off: f, asked, needs, reach } => ("light.fall-off", fall_off_says(*f, *asked), fall_off(needs, *reach, plan, u)),
        Concern::FlashWeak { .. } => flash_weak(c, u),
        Concern::FlashStrong { stops: over } => (
            "flash.strong",
            format!("Even at 1/128 power the flash is {} too bright.", stops(over.value())),
            format!("Move it away, close the aperture, or put a grey filter of {} over it.", stops(over.value())),
        ),
        Concern::OverSync { wanted, sync } => (
            "flash.sync",
            format!("At {} the shutter is never fully open; its sync time is {}.", time(*wanted), time(*sync)),
            format!("Planned at {}. To reduce ambient light, dim the room or use more flash power.", time(*sync)),
        ),
        Concern::RoomBright { below, asked, most, needs, sync } => (
            "ambient",
            format!("The ambient light is {} below the flash; {} is required.", stops_measured(below.value()), two(asked.value())),
            if *needs < sync * 0.999 {
                format!(
                    "Darken the room to {} lx{}. A shutter time of {} would be enough by itself, but the flash allows \
                     {} at the shortest.",
                    round_light(most.0),
                    outshine(plan, asked.value() - below.value()),
                    time(*needs),
                    time(*sync)
                )
            } else {
                format!("Set the shutter to {}, or darken the room to {} lx.", time(*needs), round_light(most.0))
            },
        ),
        Concern::Veils { below } => (
            "gloss.light",
            "The print reflects the light into the lens.".into(),
            below.map_or("Move the light farther aside.".into(), |e| {
                format!("Keep the light below {} at this distance.", degrees(e.to_deg()))
            }),
        ),
        Concern::CurlVeils { lift, most, below } => (
            "gloss.curl",
            format!("A curl of {} reflects the light into the lens; the maximum here is {}.", u.len(*lift), u.len(*most)),
            below.map_or("Raise the camera with a longer lens, or polarise light and lens, which costs 3⅓ to 4 stops.".into(), |e| {
                format!(
                    "Lower the light below {}, use a smaller source, or polarise light and lens, which costs 3⅓ to 4 \
                     stops.",
                    degrees(e.to_deg())
                )
            }),
        ),
        Concern::LightInWay { distance, least } => (
            "light.near",
            format!("At {} the light touches the bed or hangs over the print.", u.len(*distance)),
            format!("{} is the nearest distance possible for its size.", u.len(*least)),
        ),
        Concern::CameraInWay { .. } => (
            "light.shaded",
            "The lens or the camera blocks the light and shades the print.".into(),
            "Lower the light, or place it farther aside.".into(),
        ),
        Concern::ShadowEndless => (
            "shadow.endless",
            "The light is so low or so large that the shadow runs out of the frame.".into(),
            "Raise the light, or use a smaller source.".into(),
        ),
    }
}

/// Whether the pixels or the framing hold the resolution down.
fn short_of_aim(asked: f64, ppi: f64, plan: &Plan) -> String {
    let tightest = plan.framing.margin.to_mm() <= plan.framing.margin_wanted.to_mm() + 0.1;
    if tightest {
        format!(
            "No framing of the whole print gives more; it would take {} times as many pixels each way.",
            two(asked / ppi)
        )
    } else {
        "Lower the camera, or leave the field and the height to the plan.".into()
    }
}

/// The aperture and power that put the room so many stops further under, where flash and sharpness have them to give.
fn outshine(plan: &Plan, more: f64) -> String {
    let Some(power_now) = plan.exposing.flash.map(|f| f.power) else { return String::new() };
    let (share, n) = (power_now * more.exp2(), plan.exposing.set.0 * (more / 2.0).exp2());
    match plan.focus.range {
        Some((_, high)) if share <= 1.01 && n <= high.0 => format!(", or set {} with {}", f_stop(n), power(share)),
        _ => String::new(),
    }
}

fn round_light(v: f64) -> String {
    if v >= 100.0 { thousands((v / 10.0).round() * 10.0) } else { two(v) }
}

fn fall_off_says(f: Stops, asked: Stops) -> String {
    format!(
        "The light falls off by {} across the print; the limit for the aim is {}.",
        stops_measured(f.value()),
        stops_measured(asked.value())
    )
}

fn fall_off(needs: &Option<(Length, Stops)>, reach: bool, plan: &Plan, u: Units) -> String {
    let l = &plan.lighting;
    let two_lights = match l.two_need {
        Some(d) if d <= l.light.distance() => format!(
            "A second light opposite at this distance would reduce it to {}, with two half-dark shadows.",
            stops_measured(l.two_fall_off.value())
        ),
        _ => "A blank evens out the rest, at the cost of some noise.".into(),
    };
    match needs {
        Some((d, cost)) if reach => format!(
            "{} would be enough and cost {} of light, but the room is too small. {two_lights}",
            u.len(*d),
            stops(cost.value())
        ),
        Some((d, cost)) => {
            let pays = pays(plan.exposing.flash.map(|f| f.needs), plan.exposing.iso, plan.exposing.set.0, cost.value());
            format!("Move it to {}, which costs {}: {pays}. {two_lights}", u.len(*d), stops(cost.value()))
        }
        None => two_lights,
    }
}

/// What pays for so many stops of light: power while there is some, then ISO or aperture.
pub(super) fn pays(share: Option<f64>, iso: f64, f_number: f64, cost: f64) -> String {
    let all = share.unwrap_or(1.0) * cost.exp2();
    match share {
        // A hair over full power is full power.
        Some(_) if all <= 1.01 => format!("{} pays", power(all)),
        _ => {
            let opened = f_number * (-all.log2() / 2.0).exp2();
            let first = if share.is_some() { "full power with " } else { "" };
            format!("{first}ISO {} pays, or {}", speed(iso * all), f_stop(opened))
        }
    }
}

/// The next ISO speed as cameras are marked, in thirds of a stop (ISO 12232 rounds them so).
fn speed(iso: f64) -> String {
    const MARKS: [f64; 11] = [1.0, 1.25, 1.6, 2.0, 2.5, 3.2, 4.0, 5.0, 6.4, 8.0, 10.0];
    let ten = 10f64.powi(iso.log10().floor() as i32);
    // Two per cent under a mark is the mark.
    let mark = MARKS.into_iter().find(|m| m * 1.02 >= iso / ten).unwrap_or(10.0);
    thousands(mark * ten)
}

fn flash_weak(c: &Concern, u: Units) -> (&'static str, String, String) {
    let Concern::FlashWeak { stops: under, iso, aperture, distance, mended } = c else {
        return ("flash.weak", String::new(), String::new());
    };
    let pays = format!(
        "ISO {}, {}, or the flash at {} would each pay for it",
        speed(*iso),
        f_stop(aperture.0),
        u.len(*distance)
    );
    let says = format!(
        "At full power and ISO 100 the flash is {} short for this distance and aperture.",
        stops(under.value())
    );
    let short = format!("At full power the flash is {} short for this distance and aperture.", stops(under.value()));
    match mended {
        Mended::Iso => {
            ("flash.weak", says, format!("Planned at ISO {iso:.0}. A stronger flash gives less noise in the shadows."))
        }
        Mended::Aperture => ("flash.weak", short, format!("Planned with the aperture opened. {pays}.")),
        Mended::Distance => (
            "flash.weak",
            short,
            format!("Planned with the flash brought nearer, so its light falls off more. {pays}."),
        ),
        Mended::Nothing => ("flash.weak", short, format!("The frame would be too dark by this amount. {pays}.")),
    }
}
