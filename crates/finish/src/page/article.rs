//! One frame on the page: before, after, and its words.

use super::marks::mark;
use crate::Corners;
use crate::finding::{Finding, Severity, Verdict};
use crate::lift_drawing::LiftDrawing;
use crate::report::{PrintFacts, Report};
use crate::{Entry, Outcome};
use base::wording::{capital, count, degrees, length, percent, stops_measured, two};
use publish::text::escape;

pub(super) fn article(entry: &Entry) -> String {
    match &entry.outcome {
        Outcome::Failed(line) => failed(entry, line),
        Outcome::Finished(report) | Outcome::Already(report) => finished(entry, report),
    }
}

fn name_of(entry: &Entry) -> String {
    // One of several prints in a frame has a name of its own.
    if entry.part.is_some() {
        return escape(&entry.stem);
    }
    escape(&base::files::name_of(&entry.path))
}

fn failed(entry: &Entry, line: &str) -> String {
    format!(
        "<article class=\"failed\" tabindex=\"-1\"><header>{}<h3><b>Not finished</b> <span>{}</span></h3></header><p>{}</p></article>\n",
        mark(None),
        name_of(entry),
        escape(line)
    )
}

fn finished(entry: &Entry, report: &Report) -> String {
    let holds_print = report.shows_print();
    let judged = holds_print || !report.findings.is_empty();
    let role = report.frame.role.word();
    let word = match report.verdict {
        Verdict::Unusable => format!("{role}, unusable"),
        _ if judged => report.verdict.word().to_owned(),
        _ => role.to_owned(),
    };
    let picture = mark(Some(report.verdict).filter(|_| judged));
    format!(
        "<article class=\"{class}\" tabindex=\"-1\" id=\"f-{id}\">\n<header>{picture}<h3><b>{word}</b> <span>{name}</span></h3></header>\n{before}{after}<div class=\"words\">\n{findings}{facts}</div>\n</article>\n",
        class = report.verdict.word(),
        id = escape(&entry.stem.replace(' ', "_")),
        word = capital(&word),
        name = name_of(entry),
        before = before(report),
        after = after(report),
        findings = findings(report),
        facts = facts(report),
    )
}

/// A path in a report, which lies in `reports/`, as seen from the page one folder up.
fn from_page(name: &str) -> String {
    let path = name.strip_prefix("../").map_or_else(|| format!("reports/{name}"), str::to_owned);
    // Names hold letters, digits, blanks and -_. only (`finish::names`); of these a blank alone needs care in an address.
    escape(&path.replace('%', "%25").replace(' ', "%20"))
}

fn before(report: &Report) -> String {
    let Some(previews) = &report.previews else { return String::new() };
    let (w, h) = (report.frame.width_px, report.frame.height_px);
    let drawing = report.print.as_ref().map(|p| outline(p, w, h)).unwrap_or_default();
    let what = match &report.print {
        Some(p) => format!("The frame as taken, the outline of the {} drawn on it.", p.format),
        None => "The frame as taken.".to_owned(),
    };
    format!(
        "<figure class=\"frame\"><div style=\"aspect-ratio:{w}/{h}\"><img src=\"{}\" alt=\"{}\" width=\"{w}\" height=\"{h}\" loading=\"lazy\">{drawing}</div></figure>\n",
        from_page(&previews.before),
        escape(&what)
    )
}

/// The outline and window drawn on the frame; the upright print's top side is the heavy one.
fn outline(print: &PrintFacts, w: usize, h: usize) -> String {
    let points = |c: &Corners| c.iter().map(|[x, y]| format!("{x:.1},{y:.1}")).collect::<Vec<_>>().join(" ");
    let window = print
        .window_px
        .as_ref()
        .map(|c| format!("<polygon class=\"window\" points=\"{}\"/>", points(c)))
        .unwrap_or_default();
    let k = print.upright_corner % 4;
    let ([x1, y1], [x2, y2]) = (print.outline_px[k], print.outline_px[(k + 1) % 4]);
    let top = if print.upright_known {
        format!("<path class=\"top\" d=\"M{x1:.1} {y1:.1}L{x2:.1} {y2:.1}\"/>")
    } else {
        String::new()
    };
    let o = points(&print.outline_px);
    format!(
        "<svg viewBox=\"0 0 {w} {h}\" aria-hidden=\"true\" focusable=\"false\"><polygon class=\"under\" points=\"{o}\"/><polygon points=\"{o}\"/>{window}{top}</svg>"
    )
}

fn after(report: &Report) -> String {
    let picture = report.previews.as_ref().and_then(|p| p.after.as_deref()).zip(report.canvas.as_ref());
    match picture {
        Some((after, canvas)) => format!(
            "<figure class=\"mount\"><img src=\"{}\" alt=\"{}\" width=\"{}\" height=\"{}\" loading=\"lazy\"></figure>\n",
            from_page(after),
            escape(&format!(
                "The finished print from {} on white with {}.",
                report.frame.path.rsplit('/').next().unwrap_or_default(),
                match report.shadow.as_ref().filter(|s| s.how != "as shot") {
                    None => "its own shadow".to_owned(),
                    Some(s) => format!("its shadow {}", s.says()),
                }
            )),
            canvas.width_px,
            canvas.height_px
        ),
        None => "<div class=\"mount none\"></div>\n".to_owned(),
    }
}

fn findings(report: &Report) -> String {
    if report.findings.is_empty() {
        return match report.shows_print() {
            true => "<p class=\"quiet\">No findings.</p>\n".to_owned(),
            false => {
                let service = report.service.as_deref().map(|s| format!(" {}", escape(s))).unwrap_or_default();
                format!("<p class=\"quiet\">{}.{service}</p>\n", capital(&escape(&report.frame.role_reason)))
            }
        };
    }
    let items: String = report.findings.iter().map(finding).collect();
    format!("<ul class=\"findings\">\n{items}</ul>\n")
}

/// The heights of its edges, drawn.
fn lift(report: &Report) -> String {
    let Some(facts) = &report.lift else { return String::new() };
    let Some(drawing) = LiftDrawing::of(facts) else { return String::new() };
    let svg = drawing.svg(&escape(&facts.says()));
    format!(
        "<figure class=\"lifted\">{svg}<figcaption>Height of each edge above the paper, outwards; dashed: from the sheet's form alone.</figcaption></figure>\n"
    )
}

fn finding(f: &Finding) -> String {
    let class = match f.severity {
        Severity::Note => "note",
        Severity::Look => "look",
        Severity::Reshoot => "reshoot",
    };
    let (value, limit) = (in_unit(f.value, &f.unit), in_unit(f.limit, &f.unit));
    format!(
        "<li class=\"{class}\"><p>{}</p><p class=\"do\">{}</p><p class=\"code\"><code>{}</code> {value}, limit {limit}</p></li>\n",
        escape(&f.says),
        escape(&f.action),
        f.code.word()
    )
}

fn in_unit(value: f64, unit: &str) -> String {
    match unit {
        "mm" => length(value),
        "deg" => degrees(value),
        "stops" => stops_measured(value),
        "share" => percent(value),
        "dE" => format!("{} ΔE", two(value)),
        "prints" => count(value as usize, "print", "prints"),
        other => format!("{} {other}", two(value)),
    }
}

/// Everything measured, shown when asked for.
fn facts(report: &Report) -> String {
    let rows: String =
        measures(report).iter().map(|(k, v)| format!("<div><dt>{k}</dt><dd>{}</dd></div>", escape(v))).collect();
    let notes: String = report.notes.iter().map(|n| format!("<p>{}</p>", escape(n))).collect();
    format!(
        "<details><summary>Measured</summary>\n{}<dl>{rows}</dl>{notes}<p class=\"files\">{}</p></details>\n",
        lift(report),
        files(report)
    )
}

fn measures(report: &Report) -> Vec<(&'static str, String)> {
    let mut rows = vec![("Role", format!("{}: {}", report.frame.role.word(), report.frame.role_reason))];
    let mut add = |name, value: Option<String>| rows.extend(value.map(|v| (name, v)));
    let (print, camera, light) = (report.print.as_ref(), report.camera.as_ref(), report.light.as_ref());
    add("Print", print.and_then(|p| Some(format!("{} of {} in the frame", p.number_in_frame?, p.prints_in_frame?))));
    add("Format", print.map(|p| format!("{}, {} sure", p.format, percent(p.confidence))));
    add("Size", print.map(|p| format!("{} × {} mm", p.size_mm[0], p.size_mm[1])));
    add("Outline", print.and_then(|p| p.outline_sigma_mm).map(|v| format!("± {}", length(v))));
    let give = |p: &PrintFacts| p.curl_sigma_mm.map(|s| format!(" ± {}", length(s))).unwrap_or_default();
    add("Curl", print.and_then(|p| p.curl_mm.map(|mm| length(mm) + &give(p))));
    // 25.4 mm to the inch.
    add("Scale", camera.map(|c| format!("{:.2} px per mm, {:.0} per inch", c.px_per_mm, c.px_per_mm * 25.4)));
    add("Lean", camera.and_then(|c| Some(degrees(c.tilt_x_deg?.hypot(c.tilt_y_deg?)))));
    add("Fall-off", light.and_then(|l| l.fall_off_stops).map(stops_measured));
    add("Shadow", light.and_then(|l| l.shadow_width_mm).map(|v| format!("{} wide", length(v))));
    add("Edges", report.lift.as_ref().map(crate::report::LiftFacts::says));
    add("Mount's shadow", report.shadow.as_ref().map(crate::report::ShadowFacts::says));
    add("Sharpest edge", report.focus.as_ref().map(|f| format!("{} px, {}", two(f.edge_px), length(f.edge_mm))));
    add("Veil", report.veil.as_ref().map(|v| percent(v.window_share)));
    add("Room light", report.room.as_ref().map(room));
    add("Other side", report.counter.as_ref().map(counter));
    add("Shading", report.unbend.as_ref().map(crate::frame::bend::words));
    add("Colour", report.colour.as_ref().map(colour));
    rows
}

fn counter(c: &crate::report::CounterFacts) -> String {
    let veil = c.veil_before.map(|v| format!("; veil {} before", percent(v))).unwrap_or_default();
    format!("joined with {}, registered to {} px{veil}", c.frame, two(c.registered_px))
}

fn room(r: &crate::report::RoomFacts) -> String {
    let under = r.below_flash_stops.map(|s| format!("{} under the flash", stops_measured(s))).unwrap_or_default();
    let tint = r.colour_ab.map(|ab| {
        // No minus before a nought.
        let [a, b] = ab.map(|v| v.round() + 0.0);
        format!(", a* {a}, b* {b}")
    });
    let tint = tint.unwrap_or_default();
    match (r.subtracted, r.veil_before, r.veil_after) {
        (true, Some(before), Some(after)) => {
            format!("taken out: {under}{tint}; veil {} before, {} after", percent(before), percent(after))
        }
        (true, ..) => format!("taken out: {under}{tint}"),
        _ => format!("{under}{tint}"),
    }
}

fn colour(c: &crate::report::ColourFacts) -> String {
    match (c.delta_e_mean, c.delta_e_p90, c.delta_e_worst) {
        (Some(mean), Some(p90), Some(worst)) => {
            format!("by the chart: ΔE {} mean, {} at nine tenths, {} worst", two(mean), two(p90), two(worst))
        }
        _ => format!("by the {}", c.method),
    }
}

fn files(report: &Report) -> String {
    let link = |name: &str, word: &str| format!("<a href=\"{}\">{word}</a>", from_page(name));
    let canvas = report.canvas.iter().flat_map(|c| {
        [
            c.share.as_deref().map(|s| link(s, "share")),
            Some(link(&c.mount, "mount")),
            c.srgb_png.as_deref().map(|s| link(s, "mount as PNG")),
            Some(link(&c.master, "master")),
        ]
    });
    canvas.flatten().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_are_seen_from_the_page() {
        assert_eq!(from_page("../previews/F 1.after.jpg"), "previews/F%201.after.jpg");
        assert_eq!(from_page("F1.report.json"), "reports/F1.report.json");
    }
}
