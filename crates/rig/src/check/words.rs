//! Formats the result as text for a terminal with 80 columns, problems first.

use super::answer::{Answer, Beside, BlankFacts, ChartFacts, ClassMet, EdgeFacts, Judged, RulerFacts, Value};
use super::faults::figure;
use crate::plan::quantity::side_name;
use crate::plan::words::{WIDTH, block, wrap};
use base::wording::{count, degrees, length, percent, stops_measured, two};

/// The whole answer in words.
pub fn text(a: &Answer) -> String {
    let mut out = String::new();
    let mut say = |line: &str, indent: usize| {
        for part in wrap(line, WIDTH - indent) {
            out.push_str(&format!("{:indent$}{part}\n", ""));
        }
    };
    match a.faults.len() {
        0 if a.frames.iter().any(|f| f.measured) => say(&format!("Nothing is wrong {}.", a.aim.phrase()), 0),
        0 => {}
        n => say(&format!("{} {}:", count(n, "thing is wrong", "things are wrong"), a.aim.phrase()), 0),
    }
    for f in &a.faults {
        say(&format!("- {}", f.says), 0);
        say(&f.remedy, 2);
    }
    let parts: [(&str, Vec<String>); 7] = [
        ("Frames", frames(a)),
        ("Camera", a.ruler.as_ref().map(camera).unwrap_or_default()),
        ("Sharpness", a.ruler.as_ref().map(sharpness).unwrap_or_default()),
        ("Light", a.blank.as_ref().map(light).unwrap_or_default()),
        ("Bed", a.blank.as_ref().map(bed).unwrap_or_default()),
        ("Room", room(a)),
        ("Colour", a.chart.as_ref().map(colour).unwrap_or_default()),
    ];
    for (label, lines) in parts.iter().filter(|(_, lines)| !lines.is_empty()) {
        out.push('\n');
        out.push_str(&block(label, lines));
    }
    if !a.plan.is_empty() {
        out.push_str("\nBeside the plan                   planned    measured\n");
        a.plan.iter().for_each(|b| out.push_str(&beside(b)));
    }
    if !a.standards.is_empty() {
        out.push_str("\nBeside the standards (* known through another text, ? in doubt or a draft)\n");
        a.standards.iter().for_each(|j| out.push_str(&judged(j)));
    }
    for note in &a.notes {
        out.push('\n');
        out.push_str(&(wrap(note, WIDTH).join("\n") + "\n"));
    }
    out
}

/// "0.71° ± 0.002".
fn with(v: Value, say: impl Fn(f64) -> String) -> String {
    match v.error {
        Some(e) => format!("{} ± {}", say(v.value), two(e)),
        None => say(v.value),
    }
}

fn frames(a: &Answer) -> Vec<String> {
    let name = |p: &str| {
        std::path::Path::new(p).file_name().map_or(p.to_owned(), |n| base::wording::plain(&n.to_string_lossy()))
    };
    let used = a.frames.iter().filter(|f| f.measured);
    let mut lines: Vec<String> = used.map(|f| format!("{}: {}", name(&f.path), f.role.word())).collect();
    let left = a.frames.iter().filter(|f| !f.measured).count();
    if left > 0 {
        lines.push(format!("{} not measured", count(left, "other", "others")));
    }
    lines
}

fn camera(r: &RulerFacts) -> Vec<String> {
    vec![
        format!("Leans {}", with(r.tilt_deg, degrees))
            + &format!(
                ": about the image's x axis {}, about its y axis {}; the sheet lies turned by {}.",
                with(r.tilt_x_deg, degrees),
                with(r.tilt_y_deg, degrees),
                with(r.rotation_deg, degrees)
            ),
        format!("{} pixels per mm ({} ppi).", with(r.px_per_mm, figure), with(r.ppi, |v| format!("{v:.1}"))),
        format!(
            "Lens: k1 {}, k2 {} (half diagonals), distortion at most {}; principal point {} right, {} down of the middle, px.",
            with(r.k1, |v| format!("{v:.5}")),
            with(r.k2, |v| format!("{v:.5}")),
            percent(r.distortion.value),
            with(r.principal_px[0], |v| format!("{v:.1}")),
            with(r.principal_px[1], |v| format!("{v:.1}"))
        ),
        format!("Lateral colour at worst: red {}, blue {} px.", with(r.lateral_px[0], two), with(r.lateral_px[1], two)),
    ]
}

fn sharpness(r: &RulerFacts) -> Vec<String> {
    let mut lines = vec!["MTF50, MTF10 in cycles per pixel, efficiency, greatest response:".to_owned()];
    let edge = |e: &EdgeFacts| {
        format!(
            "{}, {}, {:.0} %, {:.2}",
            e.mtf50.map_or("–".into(), |v| with(v, |v| format!("{v:.3}"))),
            e.mtf10.map_or("–".into(), |v| format!("{:.3}", v.value)),
            e.efficiency.value * 100.0,
            e.sharpening.value
        )
    };
    for z in &r.zones {
        let ways = [("across", z.across), ("down", z.down)];
        lines.extend(ways.iter().filter_map(|(w, e)| Some(format!("{} {w}: {}", z.place, edge(e.as_ref()?)))));
        lines.extend(z.why.iter().map(|w| format!("{}: {w}", z.place)));
    }
    if let Some(f) = r.flatness {
        let each: Vec<String> = f.iter().map(|v| percent(v.value)).collect();
        lines.push(format!("Corners over the middle, clockwise from top left: {}.", each.join(", ")));
    }
    if let Some(paper) = r.noise.first() {
        lines.push(format!("Noise of the paper {} L*.", with(paper.lightness, two)));
    }
    lines
}

fn light(b: &BlankFacts) -> Vec<String> {
    let mut lines = vec![format!("Falls off by {} over the frame", stops_measured(b.fall_off_stops))];
    if let Some(p) = b.fall_off_print_stops {
        lines[0] += &format!(", {} over a print in its middle", stops_measured(p));
    }
    lines[0] += ".";
    if let (Some(lamp), Some(lens)) = (b.lamp_stops, b.vignette_stops) {
        lines.push(format!(
            "Of this, the lamp causes {} and the lens {} in a corner.",
            stops_measured(lamp),
            with(lens, stops_measured)
        ));
    }
    if let Some(a) = b.light_azimuth_deg {
        let mut line = format!(
            "The light is towards the {} ({} clockwise from right)",
            side_name(a.value),
            with(a, |v| format!("{v:.1}°"))
        );
        if let Some(d) = b.light_distance_mm {
            line += &format!(", {} away ± {}", length(d.value), length(d.error.unwrap_or(0.0)));
        }
        if let Some(e) = b.elevation_taken_deg {
            let how = if b.light_elevation_deg.is_some() { "seen" } else { "taken" };
            line += &format!(", at {:.0}° over the bed ({how})", e.value);
        }
        lines.push(line + ".");
    }
    if let Some(c) = &b.change {
        lines.push(format!("Until the last blank it changed by {} across the frame.", stops_measured(c.slope_stops)));
    }
    lines
}

fn bed(b: &BlankFacts) -> Vec<String> {
    let room = b.head_room_stops.map(two);
    vec![
        format!(
            "Under full scale by {} stops in red, green, blue; {} of it clips.",
            room.join(", "),
            percent(b.clipped)
        ),
        format!("Colour differs by {} ΔE over the frame.", two(b.colour_delta_e)),
        format!(
            "Texture {}, what shows through {}, {}{}.",
            percent(b.texture),
            percent(b.show_through),
            count(b.specks, "speck", "specks"),
            b.specks_per_dm2.map_or(String::new(), |d| format!(" ({} per square decimetre)", two(d)))
        ),
    ]
}

fn room(a: &Answer) -> Vec<String> {
    let mut lines = vec![];
    if let Some(r) = &a.ambient {
        let each = r.below_stops.map(|v| format!("{v:.1}")).join(", ");
        lines.push(format!(
            "{} below the flash (red, green, blue: {each}), {} of the light; a full shadow is tinted by {} ΔE.",
            with(r.below, stops_measured),
            percent(r.share),
            two(r.tint_delta_e)
        ));
    }
    lines.extend(
        a.veils.iter().map(|v| format!("{} of the window in {} is under a reflection.", percent(v.share), v.path)),
    );
    lines
}

fn colour(c: &ChartFacts) -> Vec<String> {
    let mut lines = vec![
        format!(
            "{} of {} patches: ΔE2000 {} on average, 90 % under {}, worst {} ({}).",
            c.patches,
            c.of,
            with(c.delta_e_mean, two),
            two(c.delta_e_p90),
            two(c.delta_e_worst),
            c.worst_patch
        ),
        format!(
            "Leave-one-out (each patch predicted from the others): {}, {}, {}.",
            with(c.unseen_mean, two),
            two(c.unseen_p90),
            two(c.unseen_worst)
        ),
    ];
    if let (Some(tone), Some(wb)) = (c.tone, c.white_balance) {
        lines.push(format!(
            "On {}: tone within {} L*, white balance within {} ΔE{}{}.",
            count(c.neutrals, "neutral", "neutrals"),
            with(tone, two),
            with(wb, two),
            c.white_balance_as_shot.map_or(String::new(), |v| format!(" ({} as shot)", two(v))),
            c.noise.map_or(String::new(), |v| format!(", noise {} L*", with(v, two)))
        ));
    }
    if let Some([least, most]) = c.gain {
        let say = |v: f64| format!("{v:.2}");
        lines.push(format!("Gain between neighbouring greys {} to {}.", with(least, say), with(most, say)));
    }
    lines
}

fn beside(b: &Beside) -> String {
    let say = |v: f64| figure(v);
    let unit = if b.unit.is_empty() { String::new() } else { format!(" {}", b.unit) };
    let mark = if b.differs { "!" } else { " " };
    let mut out = format!("{mark} {:30} {:>9} {:>11}{unit}\n", b.figure, say(b.planned), say(b.measured.value));
    for line in b.remedy.iter().flat_map(|r| wrap(r, WIDTH - 4)) {
        out.push_str(&format!("    {line}\n"));
    }
    out
}

/// A figure with, for each standard, the strictest class it meets and by how much it misses the next.
fn judged(j: &Judged) -> String {
    let unit = if j.unit.is_empty() { String::new() } else { format!(" {}", j.unit) };
    let error = j.value.error.map_or(String::new(), |e| format!(" ± {}", two(e)));
    let mut out = format!("  {}: {}{error}{unit}\n", j.name, figure(j.value.value));
    let mut standards: Vec<&str> = j.classes.iter().map(|c| c.standard.as_str()).collect();
    standards.dedup();
    for standard in standards {
        let of: Vec<&ClassMet> = j.classes.iter().filter(|c| c.standard == standard).collect();
        let mark = match of.iter().map(|c| c.known.as_str()).max() {
            Some("unsure") => "?",
            Some("secondary") => "*",
            _ => "",
        };
        let met = of.iter().find(|c| c.meets).map(|c| format!("meets {}", c.class));
        let missed = of.iter().take_while(|c| !c.meets).last();
        let missed = missed.map(|c| format!("misses {} ({}{unit}) by {}", c.class, c.asks, two(c.misses_by)));
        let both: Vec<String> = met.into_iter().chain(missed).collect();
        for (i, line) in wrap(&both.join("; "), WIDTH - 24).iter().enumerate() {
            let head = if i == 0 { format!("{standard}{mark}") } else { String::new() };
            out.push_str(&format!("    {head:20}{line}\n"));
        }
    }
    out
}
