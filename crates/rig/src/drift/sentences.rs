//! Formats drift as sentences.

use super::answer::{Drift, Event, Kind, Part, Quantity};
use base::wording::{count, degrees, length, percent, stops_measured, two};

/// An event in words. `names`: the frames before and after it (of a slide: its first and last).
pub(super) fn event(names: (&str, &str), slide: bool, parts: Vec<Part>) -> Event {
    let has = |q: Quantity| parts.iter().any(|p| p.quantity == q);
    let kind = if has(Quantity::Shift) || has(Quantity::Scale) || has(Quantity::Tilt) {
        Kind::Camera
    } else if has(Quantity::Slope) {
        Kind::Light
    } else if has(Quantity::Level) {
        Kind::Flash
    } else {
        Kind::Colour
    };
    let how: Vec<String> = parts.iter().map(part).collect();
    let what = match (kind, has(Quantity::Scale) || has(Quantity::Tilt)) {
        (Kind::Camera, true) => "camera moved",
        (Kind::Camera, false) => "camera or the bed moved",
        (Kind::Light, _) => "light moved",
        (Kind::Flash, _) => "flash changed",
        (Kind::Colour, _) => "light's colour changed",
    };
    let says = if slide {
        format!("From {} to {} the {what} gradually: {}.", names.0, names.1, how.join(", "))
    } else {
        format!("After {} the {what}: {}.", names.0, how.join(", "))
    };
    let action = if slide { sliding(kind) } else { moved(kind, names.1) };
    Event { kind, after: names.0.into(), before: names.1.into(), slide, says, action, parts }
}

fn moved(kind: Kind, from: &str) -> String {
    match kind {
        Kind::Camera => format!(
            "Square the camera to the bed again, and take a new blank and a new ruler frame: those before {from} are no \
             longer valid."
        ),
        Kind::Light => format!(
            "Take a new blank: frames from {from} on are evened by a later blank, or by the bed around each print. Then \
             secure the flash stand."
        ),
        Kind::Flash => {
            "Each print is evened by the bed around it, so nothing is lost. Check whether the power dial of the flash \
             was turned or its battery is low."
                .into()
        }
        Kind::Colour => format!(
            "Take a new chart: colours from {from} on depend on the bed only. A flash changes colour with its power; a \
             room light may have been switched on."
        ),
    }
}

fn sliding(kind: Kind) -> String {
    match kind {
        Kind::Camera => "Tighten the clamps of the stand, and take a new blank and a new ruler frame.".into(),
        Kind::Light => "Secure the flash stand, and take a blank every twenty prints.".into(),
        Kind::Flash => "Let the flash warm up or change its battery; each print is evened by the bed around it.".into(),
        Kind::Colour => "Let the flash warm up, keep daylight out, and also take a chart at the end.".into(),
    }
}

fn part(p: &Part) -> String {
    let (size, at) = (p.norm(), |i: usize| p.size.get(i).copied().unwrap_or_default());
    let towards = p.towards_deg.map(side).unwrap_or_default();
    let error = |v: f64| format!("(± {})", two(v));
    match p.quantity {
        Quantity::Level => {
            format!("{} {} {}", stops_measured(size), if at(0) > 0.0 { "brighter" } else { "darker" }, error(p.error))
        }
        Quantity::Slope => {
            format!("brighter towards the {towards} by {} across the frame {}", stops_measured(size), error(p.error))
        }
        Quantity::Colour => {
            let (i, name) = if at(0).abs() > at(1).abs() { (0, "red") } else { (1, "blue") };
            let more = if at(i) > 0.0 { "more" } else { "less" };
            format!("{} {more} {name} against green {}", stops_measured(at(i).abs()), error(p.error))
        }
        Quantity::Tilt => {
            // Axes and signs as in a report: +x lifts the camera's top side, +y lowers its right.
            let lean = |v: f64, [up, down]: [&str; 2]| {
                (v.abs() > size / 3.0)
                    .then(|| format!("{} up by {}", if v > 0.0 { up } else { down }, degrees(v.abs())))
            };
            let sides =
                [lean(at(0), ["its top side", "its bottom side"]), lean(at(1), ["its left side", "its right side"])];
            let sides: Vec<String> = sides.into_iter().flatten().collect();
            format!("{} {}", sides.join(" and "), error(p.error))
        }
        Quantity::Scale => {
            let (way, other) = if at(0) > 0.0 { ("larger", "nearer") } else { ("smaller", "farther") };
            format!("prints are {} {way} ({other}) (± {})", percent(size), percent(p.error))
        }
        Quantity::Shift => format!("the bed is {} farther towards the {towards} {}", length(size), error(p.error)),
    }
}

/// One of eight directions in the image.
fn side(azimuth_deg: f64) -> &'static str {
    let names = ["right", "bottom right", "bottom", "bottom left", "left", "top left", "top", "top right"];
    names[((azimuth_deg / 45.0).round() as i64).rem_euclid(8) as usize]
}

impl Drift {
    /// The answer as lines of text.
    pub fn text(&self) -> String {
        let mut lines = vec![format!(
            "{} compared with the bare bed of {}.",
            count(self.frames.len().saturating_sub(1), "frame", "frames"),
            self.reference
        )];
        if let (Some(level), Some(colour)) = (self.scatter.level_stops, self.scatter.colour_stops) {
            lines.push(format!(
                "From flash to flash the light varies by {} and its colour by {}; finish evens both by the bed around \
                 each print.",
                stops_measured(level),
                stops_measured(colour)
            ));
        }
        if self.events.is_empty() {
            lines.push("Nothing moved.".into());
        }
        for e in &self.events {
            lines.push(e.says.clone());
            lines.push(format!("  {}", e.action));
        }
        lines.extend(self.notes.iter().cloned());
        lines.join("\n") + "\n"
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_quantity_is_said_with_its_way_and_its_error() {
        let make = |quantity, size: &[f64], towards_deg| Part {
            quantity,
            size: size.to_vec(),
            error: 0.01,
            unit: String::new(),
            towards_deg,
        };
        let says = [
            part(&make(Quantity::Level, &[-0.3], None)),
            part(&make(Quantity::Colour, &[0.01, -0.04], None)),
            part(&make(Quantity::Slope, &[-0.06, 0.06], Some(135.0))),
            part(&make(Quantity::Tilt, &[0.0, -0.8], None)),
            part(&make(Quantity::Scale, &[-0.012], None)),
            part(&make(Quantity::Shift, &[0.0, -2.0], Some(270.0))),
        ];
        assert_eq!(
            says,
            [
                "0.3 stop darker (± 0.01)",
                "0.04 stop less blue against green (± 0.01)",
                "brighter towards the bottom left by 0.085 stop across the frame (± 0.01)",
                "its right side up by 0.8° (± 0.01)",
                "prints are 1.2 % smaller (farther) (± 1 %)",
                "the bed is 2 mm farther towards the top (± 0.01)",
            ]
        );
    }

    #[test]
    fn directions_are_those_of_the_image() {
        assert_eq!([0.0, 90.0, 181.0, 268.0, 315.0].map(side), ["right", "bottom", "left", "top", "top right"]);
    }
}
