//! Formats the plan as text for a terminal with 80 columns: labels and sentences.

use super::answer::{Answer, LightPlan, WayPlan};
use super::concerns::pays;
use super::quantity::side_name;
use super::units::{Units, f_stop, power, range, thousands, time};
use base::wording::capital;
use base::wording::{count, degrees, percent, stops, stops_measured, two};

/// Columns of a terminal as it opens.
pub(crate) const WIDTH: usize = 80;
/// Columns of the labels.
const LABEL: usize = 13;

/// What the plan says of one thing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Part {
    /// Of what: "Camera".
    pub label: &'static str,
    /// Sentences, or groups of them that belong together.
    pub says: Vec<String>,
}

/// The whole plan in words for a terminal.
pub fn text(a: &Answer, units: Units) -> String {
    let mut out = heading(a, units) + "\n";
    for part in parts(a, units) {
        out.push('\n');
        out.push_str(&block(part.label, &part.says));
    }
    out.push_str(&format!("\n{}\n", wrap(CAUTION, WIDTH).join("\n")));
    out
}

/// What the plan says, thing by thing; what it says nothing of is left out.
pub fn parts(a: &Answer, units: Units) -> Vec<Part> {
    let taken: Vec<String> = a.taken.iter().map(|t| format!("{} {}", t.what, t.value)).collect();
    let assumed = format!("{}. Give your own values to replace them.", taken.join("; "));
    let all: [(&'static str, Vec<String>); 12] = [
        ("Falls short", concerns(a, true)),
        ("Note", concerns(a, false)),
        ("Camera", camera(a, units)),
        ("Focus", focus(a, units)),
        ("Light", light(a, units)),
        ("Exposure", exposure(a, units)),
        ("Shadow", shadow(a, units)),
        ("Gloss", gloss(a, units)),
        ("Other ways", ways(a, units)),
        ("Box", forecast(a)),
        ("Stand", stand(a, units)),
        ("Assumed", if taken.is_empty() { vec![] } else { vec![assumed] }),
    ];
    all.into_iter().filter(|(_, says)| !says.is_empty()).map(|(label, says)| Part { label, says }).collect()
}

/// The caution where the hand is about to act; the card has them all.
const CAUTION: &str = "A camera hangs above prints and hands: strap it, and weigh down the base. Do not look into the \
                       flash. The maker's leaflet decides. The rig card (--card) has these and more.";

/// "Square integral, 88 × 107 mm, for a book".
pub fn heading(a: &Answer, units: Units) -> String {
    format!("{}, {}, {}", capital(&a.print.format), units.area(a.print.width_mm, a.print.height_mm), a.aim.phrase())
}

/// A label beside sentences that each begin a line.
pub(crate) fn block(label: &str, lines: &[String]) -> String {
    let mut out = String::new();
    for (i, line) in lines.iter().enumerate() {
        for (j, part) in wrap(line, WIDTH - LABEL).iter().enumerate() {
            let head = if i == 0 && j == 0 { label } else { "" };
            out.push_str(&format!("{head:LABEL$}{part}\n"));
        }
    }
    out
}

/// Units that never begin a line: they stay with their number.
const UNITS: [&str; 14] = ["mm", "m", "in", "ft", "ppi", "lx", "s", "stop", "stops", "GB", "hours", "kg", "N", "%"];

/// Words in lines of at most `width` characters; a number keeps its unit.
pub(crate) fn wrap(text: &str, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = vec![];
    for word in glued(text) {
        match lines.last_mut() {
            Some(line) if line.chars().count() + word.chars().count() < width => *line = format!("{line} {word}"),
            _ => lines.push(word),
        }
    }
    lines
}

/// The words of a text, a unit together with the number before it.
fn glued(text: &str) -> Vec<String> {
    let mut words: Vec<String> = vec![];
    for word in text.split(' ') {
        let bare = word.trim_end_matches(['.', ',', ';', ':', ')']);
        match words.last_mut() {
            Some(last) if UNITS.contains(&bare) && last.ends_with(|c: char| c.is_ascii_digit() || "⅓⅔".contains(c)) =>
            {
                *last = format!("{last} {word}");
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}

fn concerns(a: &Answer, broken: bool) -> Vec<String> {
    a.concerns.iter().filter(|c| c.breaks_a_wish == broken).map(|c| format!("{} {}", c.says, c.remedy)).collect()
}

/// "Lay it sideways, its top to the frame's left: 44 % more pixels than upright."
pub(super) fn lay(a: &Answer) -> String {
    let p = &a.print;
    let gain = if p.pixels_gained > 0.005 {
        format!(": {} more pixels than {}", percent(p.pixels_gained), if p.sideways { "upright" } else { "sideways" })
    } else {
        String::new()
    };
    let way = if p.sideways { "sideways" } else { "upright" };
    format!("Lay the print {way}, its top towards the frame's {}{gain}.", p.top_towards.word())
}

fn camera(a: &Answer, units: Units) -> Vec<String> {
    let c = &a.camera;
    let lens = if c.focal_chosen { "a lens of about" } else { "the lens of" };
    vec![
        format!(
            "{:.0} ppi on the print ({} pixels per mm); the aim can use {:.0}.",
            c.ppi,
            two(c.px_per_mm),
            c.ppi_asked
        ),
        lay(a),
        format!(
            "With {lens} {} mm the sensor is {} above the bed, the lens {}.",
            if c.focal_chosen { two(c.focal_mm) } else { super::units::three(c.focal_mm) },
            units.set(c.height_mm),
            units.set(c.lens_height_mm)
        ),
        format!(
            "The frame shows {}, with at least {} of bed around the print.",
            units.area(c.field_mm[0], c.field_mm[1]),
            units.set(c.margin_mm)
        ),
    ]
}

fn focus(a: &Answer, units: Units) -> Vec<String> {
    let f = &a.focus;
    // Wider than f/2.8 no lens for close work opens: the lower end says nothing then.
    let span = f.f_number_range.map(|[low, high]| match low {
        v if v < 2.8 => format!("; sharp enough for the aim up to {}", f_stop(high)),
        _ => format!("; sharp enough for the aim from {} to {}", f_stop(low), f_stop(high)),
    });
    let mut lines = vec![
        format!(
            "{}, focused {} above the bed, half of a {} curl.",
            f_stop(f.f_number),
            units.set(f.focus_height_mm),
            units.set(a.print.curl_mm)
        ),
        format!(
            "Depth of field {} for the aim, {} to one pixel; curl may be {}.",
            units.set(f.depth_mm),
            units.set(f.depth_one_pixel_mm),
            units.set(f.curl_most_mm)
        ),
        format!("Curl and diffraction balance at {}{}.", f_stop(f.balanced_f_number), span.unwrap_or_default()),
        format!(
            "At {} (at work {}) the Airy disc spans {} pixels.",
            f_stop(f.f_number),
            f_stop(f.working_f_number),
            two(f.airy_px)
        ),
    ];
    lines.push(format!(
        "Level camera to board within {}: {} of shim under one edge of a {} board.",
        degrees(f.level_deg),
        units.set(f.shim_mm),
        units.set(f.board_mm)
    ));
    lines
}

/// "at the frame's lower-left, 45° up".
pub(super) fn place(l: &LightPlan) -> String {
    format!("at the frame's {}, {} up", side_name(l.azimuth_deg).replace('-', " "), degrees(l.elevation_deg))
}

fn light(a: &Answer, units: Units) -> Vec<String> {
    let l = &a.light;
    let mut lines = vec![
        format!(
            "One light {} from the print, {}: {} above the bed, {} aside.",
            units.set(l.distance_mm),
            place(l),
            units.set(l.height_mm),
            units.set(l.aside_mm)
        ),
        format!(
            "Fall-off {} across the print; the aim allows {}.",
            stops_measured(l.fall_off_stops),
            stops_measured(l.fall_off_asked_stops)
        ),
    ];
    // Where it falls short, that has been said already.
    if !l.distance_chosen
        && !a.concerns.iter().any(|c| c.code == "light.fall-off")
        && let (Some(d), Some(cost)) = (l.distance_for_aim_mm, l.cost_stops)
    {
        let under = l.fall_off_stops <= l.fall_off_asked_stops;
        let line = if cost > 0.05 && !under {
            let pays = pays(a.exposure.power, a.exposure.iso, a.focus.f_number, cost);
            Some(format!("The aim needs {}, which costs {}: {pays}.", units.set(d), stops(cost)))
        } else if cost < -0.05 && under {
            Some(format!("{} is enough for the aim and gains {}.", units.set(d), stops(-cost)))
        } else {
            None
        };
        lines.extend(line);
    }
    let two_need =
        l.two_lights_distance_mm.map(|d| format!(", and {} would be enough", units.set(d))).unwrap_or_default();
    lines.push(format!(
        "Two opposite lights: {}{two_need}, but with two half-dark shadows and two possible reflections.",
        match l.two_lights_fall_off_stops {
            v if v < 0.01 => "under 0.01 stop".into(),
            v => stops_measured(v),
        }
    ));
    lines
}

/// "f/8, 1/200 s, ISO 100, flash at 1/4 power".
pub(super) fn settings(a: &Answer) -> Vec<String> {
    let e = &a.exposure;
    let mut all = vec![f_stop(a.focus.f_number), time(e.shutter_s), format!("ISO {:.0}", e.iso)];
    all.extend(e.power.map(power));
    all
}

fn exposure(a: &Answer, units: Units) -> Vec<String> {
    let e = &a.exposure;
    let mut lines = vec![format!("{}.", settings(a).join(", "))];
    match (e.guide_m, e.full_power_f_number) {
        (Some(guide), Some(n)) => lines.push(format!(
            "Guide number {} alone gives {} at full power; the oblique angle costs {}, a diffuser 1 to 2 stops more. \
             Start here, then adjust by the bed: two thirds of a stop below white.",
            guide_words(guide, units),
            f_stop(n),
            stops_measured(e.slant_stops)
        )),
        _ => lines.push(format!(
            "A flash with guide number {} at ISO 100 would be enough at half power.",
            guide_words(e.guide_wanted_m, units)
        )),
    }
    let most = thousands(e.ambient_most_lux.max(1.0));
    match e.ambient_below_stops {
        Some(below) => {
            let shutter = e
                .shutter_for_ambient_s
                .filter(|&t| t >= e.sync_s)
                .map(|t| format!("; {} would still be enough", time(t)));
            lines.push(format!(
                "The ambient light is {} below the flash ({} required, {most} lx at most){}.",
                stops_measured(below),
                two(e.ambient_asked_stops),
                shutter.unwrap_or_default()
            ));
        }
        None => lines.push(format!(
            "Ambient light on the bed may be {most} lx at most, {} stops below the flash.",
            two(e.ambient_asked_stops)
        )),
    }
    lines.push(format!(
        "Light on the print {} lux seconds per frame: {} of a 50 lx gallery.",
        thousands(e.dose_lux_s),
        base::wording::duration(e.dose_lux_s / 50.0)
    ));
    lines
}

/// A guide number in the user's units: metres, or feet where inches are written.
pub(super) fn guide_words(metres: f64, units: Units) -> String {
    match units {
        Units::Inches => format!("{} ft", two(metres / 0.3048)),
        Units::Metric => format!("{} m", two(metres)),
        Units::Both => format!("{} m ({} ft)", two(metres), two(metres / 0.3048)),
    }
}

fn shadow(a: &Answer, units: Units) -> Vec<String> {
    let s = &a.shadow;
    let dark = match a.exposure.ambient_lux {
        Some(_) => format!("{} dark at its foot.", percent(s.depth)),
        None => "Only ambient light reaches its foot.".into(),
    };
    vec![
        format!(
            "Falls to the frame's {}; in the upright picture, to the {}.",
            side_name(s.azimuth_deg).replace('-', " "),
            side_name(s.upright_azimuth_deg).replace('-', " ")
        ),
        format!(
            "{} wide beside a flat edge, {} beside one lifted {}: soft over {}, gone at {}. {dark}",
            units.set(s.flat_width_mm),
            units.set(s.width_mm),
            units.set(a.print.curl_mm),
            units.set(s.softness_mm),
            units.set(s.end_mm)
        ),
    ]
}

fn gloss(a: &Answer, units: Units) -> Vec<String> {
    let g = &a.gloss;
    let keep = match (g.flat_below_deg, g.curled_below_deg) {
        (Some(flat), Some(curled)) => {
            format!(" Keep it below {} for flat prints, {} for these.", degrees(flat), degrees(curled))
        }
        (Some(flat), None) => {
            format!(" Keep it below {} for flat prints; curled prints show a reflection at any height.", degrees(flat))
        }
        _ => String::new(),
    };
    let clear = if g.clear_mm >= 0.0 { format!("{} clear of it", units.set(g.clear_mm)) } else { "on it".into() };
    vec![
        format!("A flat print reflects the light {clear}.{keep}"),
        format!(
            "Curl budget: {} before the light shows (a slope of {}), {} before it is soft.",
            units.set(g.curl_most_mm),
            degrees(g.slope_most_deg),
            units.set(a.focus.curl_most_mm)
        ),
        format!(
            "Dark card at the lens: {}, with a hole of {}{}.",
            units.area(g.card_mm[0], g.card_mm[1]),
            units.set(g.hole_mm),
            card_cut(a, units)
        ),
        format!(
            "Without it, keep lamps out of {} of a ceiling {} up.",
            units.area(g.ceiling_mm[0], g.ceiling_mm[1]),
            units.set(1650.0)
        ),
    ]
}

/// "; cut it to 120 mm on the light's side, or it shades the print", where it needs to be.
pub(super) fn card_cut(a: &Answer, units: Units) -> String {
    let g = &a.gloss;
    let (s, c) = a.light.azimuth_deg.to_radians().sin_cos();
    let needed = (c.abs() * g.card_mm[0] + s.abs() * g.card_mm[1]) / 2.0;
    match g.card_to_light_mm {
        v if v > needed - 1.0 => String::new(),
        v if v > g.hole_mm / 2.0 => format!("; cut it to {} on the light's side, or it shades the print", units.set(v)),
        _ => "; none on the light's side, or it shades the print".into(),
    }
}

fn ways(a: &Answer, _: Units) -> Vec<String> {
    let mut lines: Vec<String> = a.ways.iter().map(way).collect();
    if !lines.is_empty() {
        lines.push(
            "Check the colour of a lamp separately; ambient light mixes in, and nothing may move between \
                    exposures."
                .into(),
        );
    }
    lines
}

fn way(w: &WayPlan) -> String {
    let name = match (w.light.as_str(), w.shots) {
        ("flash", _) => "Flash, one frame".to_owned(),
        (_, 1) => "Lamp, one frame".to_owned(),
        (_, n) => format!("Lamp, {n} shifted frames"),
    };
    let useful =
        if w.useful_ppi < w.ppi * 0.98 { format!(" ({:.0} sharp over the curl)", w.useful_ppi) } else { String::new() };
    let colour = if w.whole_colour { "colour whole" } else { "colour interpolated" };
    let room = w.room_below_stops.map(|s| format!(", ambient light {} below", stops_measured(s))).unwrap_or_default();
    format!(
        "{name}: {:.0} ppi{useful}, {colour}, {}, {} lx s{room}.",
        w.ppi,
        time(w.seconds),
        thousands(two(w.dose_lux_s).parse().unwrap_or(w.dose_lux_s))
    )
}

fn forecast(a: &Answer) -> Vec<String> {
    let Some(f) = &a.forecast else { return vec![] };
    let pair = |v: [f64; 2]| (v[0], v[1]);
    let backs = if f.backs > 0.0 { format!(" and {} backs", thousands(f.backs)) } else { String::new() };
    vec![
        format!(
            "{}{backs}: {} at the stand, {} with breaks.",
            if f.prints < 2.0 { count(1, "print", "prints") } else { format!("{} prints", thousands(f.prints)) },
            range(pair(f.hours), "hours"),
            range(pair(f.hours_with_breaks), "").trim_end()
        ),
        format!(
            "Frames {}, finished files {}; three copies in two places need three times as much.",
            range(pair(f.frames_gb), "GB"),
            range(pair(f.finished_gb), "GB")
        ),
    ]
}

fn stand(a: &Answer, units: Units) -> Vec<String> {
    let Some(s) = &a.stand else { return vec![] };
    let first = match s.margin {
        Some(m) => format!(
            "The base outweighs {} kg of camera {} out {} times ({} required).",
            two(s.camera_kg),
            units.set(s.arm_reach_mm),
            two(m),
            two(s.margin_asked)
        ),
        None => format!(
            "{} kg of camera {} out needs a base of {} kg or more, {} deep.",
            two(s.camera_kg),
            units.set(s.arm_reach_mm),
            two(s.base_kg_wanted),
            units.set(s.base_mm)
        ),
    };
    let mut lines = vec![first];
    if let (Some(most), Some(pull)) = (s.arm_reach_most_mm, s.pull_n) {
        lines.push(format!(
            "The arm may reach {}. A level pull of {} N ({} kg) at the camera begins to tip it.",
            units.set(most),
            two(pull),
            two(pull / 9.80665)
        ));
    }
    lines
}
