//! The rig card: one page to print and pin above the desk, on A4 or letter, with nothing fetched.
//!
//! Side view and top view have the same scale, the frame has its own. The numbers to set are bold beside the part they belong to,
//! the settings are large at the top, and the cautions are at the foot with who decides.

mod draw;
mod frame;
mod views;

use super::answer::Answer;
use super::units::{Units, f_stop, power, thousands, time};
use super::words::{card_cut, guide_words, lay, place};
use base::Failure;
use base::wording::capital;
use base::wording::{degrees, stops_measured, two};
use publish::text::escape;
use std::path::Path;

/// What a card's file holds near its beginning, so that nothing else is ever overwritten by one.
const MARK: &str = r#"<meta name="description" content="fallside rig card">"#;

/// Writes the card.
///
/// # Errors
/// The name is none of a web page's, another file has it, or it cannot be written.
pub fn write_card(place: &Path, a: &Answer, units: Units) -> Result<(), Failure> {
    let ending = place.extension().map(|e| e.to_string_lossy().to_lowercase());
    if !matches!(ending.as_deref(), Some("html" | "htm")) {
        return Err(Failure::new(format!(
            "A rig card is a web page: give it a name such as rig.html, not {}.",
            place.display()
        )));
    }
    // Only a card of ours may be replaced.
    if place.exists() && !base::files::regular::text(place).is_ok_and(|held| held.contains(MARK)) {
        return Err(Failure::new(format!(
            "{} already exists and is not a rig card, so it was not changed. Choose another name.",
            place.display()
        )));
    }
    let _alone = base::files::exclusive::write_file(place)?;
    base::files::write::sweep_of(place);
    base::files::write::write_beside(place, card(a, units).as_bytes())
}

/// The card as one self-contained page.
pub fn card(a: &Answer, units: Units) -> String {
    format!(
        r#"<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
{MARK}
<title>Rig card: {format}</title>
<style>{fonts}{style}</style>
</head>
<body>
<main>
<header><h1>{title}</h1><p>{kit}</p></header>
<ul class="settings">{settings}</ul>
<div class="views">
<figure>{side}<figcaption>From the side, {scale}. Dotted: where a flat print mirrors the light.</figcaption></figure>
<figure>{top}<figcaption>From above, {scale}, as the frame shows it.</figcaption></figure>
</div>
<div class="low">
<figure>{frame}<figcaption>The frame, {frame_scale}, with the shadow of an edge lifted {lift}.</figcaption></figure>
<dl>{facts}</dl>
</div>
{short}<section class="cautions"><h2>Before you begin</h2><ul>{cautions}</ul></section>
<footer>{foot}</footer>
</main>
</body>
</html>
"#,
        format = escape(&a.print.format),
        fonts = publish::typefaces::css(),
        style = include_str!("card/card.css"),
        title = escape(&title(a, units)),
        kit = escape(&kit(a, units)),
        settings = settings(a, units),
        side = views::side(a, units),
        top = views::top(a, units),
        scale = views::scale_words(a),
        frame = frame::frame(a, units),
        frame_scale = frame::scale_words(a),
        lift = escape(&units.set(a.print.curl_mm)),
        facts = facts(a, units),
        short = short(a),
        cautions = CAUTIONS.map(|(what, says)| format!("<li><b>{what}</b> {says}</li>")).concat(),
        foot = escape(&foot(a)),
    )
}

fn title(a: &Answer, units: Units) -> String {
    let what = match a.print.format.as_str() {
        "plain" => format!("originals of {}", units.area(a.print.width_mm, a.print.height_mm)),
        format => format!("{format} prints"),
    };
    format!("Rig for {what}, {}", a.aim.phrase())
}

fn kit(a: &Answer, units: Units) -> String {
    let c = &a.camera;
    let flash =
        a.exposure.guide_m.map(|g| format!(", flash of guide number {}", guide_words(g, units))).unwrap_or_default();
    format!(
        "{} mm lens, sensor {} × {} mm, {} × {} pixels{flash}",
        super::units::three(c.focal_mm),
        two(c.sensor_mm[0]),
        two(c.sensor_mm[1]),
        c.pixels[0],
        c.pixels[1]
    )
}

fn settings(a: &Answer, units: Units) -> String {
    let e = &a.exposure;
    let mut all = vec![
        (f_stop(a.focus.f_number), "aperture"),
        (time(e.shutter_s), "exposure time"),
        (format!("{:.0}", e.iso), "ISO"),
    ];
    all.push(match e.power {
        Some(p) => (power(p), "flash, to begin with"),
        None => (guide_words(e.guide_wanted_m, units), "guide number for half power"),
    });
    all.push((units.set(a.focus.focus_height_mm), "focus above the bed"));
    all.push((degrees(a.focus.level_deg), "level within"));
    all.iter().map(|(value, what)| format!("<li>{}<small>{what}</small></li>", escape(value))).collect()
}

fn facts(a: &Answer, units: Units) -> String {
    let (c, f, l, e, s, g) = (&a.camera, &a.focus, &a.light, &a.exposure, &a.shadow, &a.gloss);
    let room = match e.ambient_below_stops {
        Some(below) => format!(
            "{} below the flash; {} stops or more.",
            capital(&stops_measured(below)),
            two(e.ambient_asked_stops)
        ),
        None => format!("At most {} lx on the bed, flash off.", thousands(e.ambient_most_lux.max(1.0))),
    };
    let rows = [
        ("Print", lay(a)),
        ("On the print", format!("{:.0} ppi; the frame shows {}.", c.ppi, units.area(c.field_mm[0], c.field_mm[1]))),
        (
            "Level",
            format!(
                "At most {} of shim under one edge of a {} board.",
                capital(&units.set(f.shim_mm)),
                units.set(f.board_mm)
            ),
        ),
        ("Depth of field", format!("{} for the aim.", units.set(f.depth_mm))),
        ("Light", format!("{}; falls off {} across the print.", capital(&place(l)), stops_measured(l.fall_off_stops))),
        (
            "Shadow",
            format!(
                "{} wide beside an edge lifted {}, gone at {}.",
                units.set(s.width_mm),
                units.set(a.print.curl_mm),
                units.set(s.end_mm)
            ),
        ),
        (
            "Curl budget",
            format!(
                "{} before the light shows, {} before it is soft.",
                units.set(g.curl_most_mm),
                units.set(f.curl_most_mm)
            ),
        ),
        (
            "Dark card",
            format!(
                "{} at the lens, hole {}{}.",
                units.area(g.card_mm[0], g.card_mm[1]),
                units.set(g.hole_mm),
                card_cut(a, units)
            ),
        ),
        ("Room", room),
    ];
    let stand = a.stand.as_ref().map(|s| {
        let base = s.margin.map_or_else(
            || format!("A base of {} kg or more.", two(s.base_kg_wanted)),
            |m| format!("The base outweighs the camera {} times ({} required).", two(m), two(s.margin_asked)),
        );
        ("Stand", base)
    });
    rows.into_iter().chain(stand).map(|(what, says)| format!("<dt>{what}</dt><dd>{}</dd>", escape(&says))).collect()
}

/// What falls short, in the tone for trouble: two in words, how many more there are; the page is one.
fn short(a: &Answer) -> String {
    let all: Vec<_> = a.concerns.iter().filter(|c| c.breaks_a_wish).collect();
    if all.is_empty() {
        return String::new();
    }
    let lines: String =
        all.iter().take(2).map(|c| format!("<p>{} {}</p>", escape(&c.says), escape(&c.remedy))).collect();
    let more = match all.len() {
        0..=2 => String::new(),
        3 => "<p>And one more: see <code>fallside plan</code>.</p>".into(),
        n => format!("<p>And {} more: see <code>fallside plan</code>.</p>", n - 2),
    };
    format!("<section class=\"short\"><h2>Falls short</h2>{lines}{more}</section>\n")
}

fn foot(a: &Answer) -> String {
    let taken: Vec<String> = a.taken.iter().map(|t| format!("{} {}", t.what, t.value)).collect();
    let taken = if taken.is_empty() { String::new() } else { format!("Assumed: {}. ", taken.join("; ")) };
    format!(
        "{taken}Heights are calculated for a thin lens: set the field, then read the height. Take a bare-bed frame \
         before and after."
    )
}

/// The cautions that belong at a desk under a flash, each with who decides.
const CAUTIONS: [(&str, &str); 7] = [
    (
        "Eyes.",
        "Never look into the flash or fire it into a mirror. Diffuser on, light below eye level. The maker's leaflet decides.",
    ),
    (
        "Seizures.",
        "Never more than three flashes in any second, from a flash or a screen. Warn everyone in the room, and count in. The person concerned and their doctor decide.",
    ),
    (
        "Shock.",
        "A flash's capacitor holds a charge that can kill, unplugged too. Never open one; a qualified technician does.",
    ),
    (
        "Heat.",
        "Hot lamps off between prints and never left alone; do not catch one that falls. The maker's leaflet decides.",
    ),
    (
        "Overhead.",
        "A camera over glass and fingers: weigh or bolt the base, strap the camera, hands and prints away while anything above them moves. The stand maker's rated load decides.",
    ),
    ("Cables.", "Taped down, no drinks on the desk. An electrician decides."),
    (
        "Prints that leak, crack, part or show crystals.",
        "The paste in instant film is caustic: gloves, away from eyes and mouth, rinse with plenty of water; for eyes get medical help. Do not press, flex, glass or clean them: photograph as they are, then ask a photograph conservator.",
    ),
];
