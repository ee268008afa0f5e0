//! Sidecars: the catalogue data of a print, beside each of its masters, for other programs and for `rebuild`.

use catalogue::{Edtf, FACTS, Facts, Frame, Print, PrintId, Stacked};
use codec::sidecar::{Object, Sidecar};

/// The content of a sidecar that the catalogue needs in a rebuild.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Held {
    pub print: Option<PrintId>,
    pub facts: Facts,
    pub role: String,
    pub role_why: String,
    pub print_why: String,
    pub said: String,
    pub twins: Vec<String>,
    pub original: String,
    /// True where this frame is the print's chosen front.
    pub front: bool,
    pub front_why: String,
    pub front_by: String,
    /// Kind, place and name of each edit the print is in.
    pub edits: Vec<(String, i64, String)>,
    /// How the print lies, where anything was said.
    pub stacked: Option<Stacked>,
}

/// The sidecar of a frame's master; `shadow` is how its mount's shadow came about, as the report says it.
pub(super) fn write(print: &Print, frame: &Frame, shadow: &str) -> String {
    let f = &print.facts;
    let plain = is_plain(&f.date);
    let one = |yes: bool, text: &str| if yes { text.to_owned() } else { String::new() };
    let size = frame.result.as_ref().and_then(|r| r.size_mm).map(|[w, h]| format!("{w:.0} × {h:.0} mm"));
    let physical: Vec<&str> = [f.format.as_str(), size.as_deref().unwrap_or_default(), &f.film, &f.condition]
        .into_iter()
        .filter(|t| !t.is_empty())
        .collect();
    let kept: Vec<&str> = [f.box_name.as_str(), &f.sleeve].into_iter().filter(|t| !t.is_empty()).collect();
    let own = [
        ("Print", print.id.to_string()),
        ("Role", frame.role.clone()),
        ("RoleWhy", frame.role_why.clone()),
        ("PrintWhy", frame.print_why.clone()),
        ("Said", frame.said.clone()),
        ("Original", frame.path.clone()),
        ("Front", one(print.front == Some(frame.id), "yes")),
        ("FrontWhy", one(print.front == Some(frame.id), &print.front_why)),
        ("FrontBy", one(print.front == Some(frame.id), &print.front_by)),
        ("Shadow", shadow.to_owned()),
    ];
    let edits: Vec<String> = print.edits.iter().map(|e| format!("{} {} {}", e.kind, e.place, e.edit)).collect();
    let lies = |s: &Stacked| format!("{} {} {}", s.stack.map_or("alone".into(), |n| n.to_string()), s.place, s.by);
    let facts = FACTS.iter().filter_map(|l| Some((l.property?, f.kept(l))));
    let own = own.into_iter().chain(facts).chain([("Stacked", print.stacked.as_ref().map(lies).unwrap_or_default())]);
    let lists = [("Edits", edits), ("Twins", frame.twins.clone())];
    codec::sidecar::write(&Sidecar {
        title: f.title.clone(),
        alt: f.alt.clone(),
        keywords: f.subject.clone(),
        rights: f.rights.clone(),
        people: f.people.clone(),
        place: f.place.clone(),
        exposed: one(plain, &f.date),
        digitised: frame.taken.clone().unwrap_or_default(),
        tool: format!("Fallside {}", env!("CARGO_PKG_VERSION")),
        guid: format!("blake3:{}{}", frame.blake3, one(!frame.part.is_whole(), &format!("-{}", frame.part.number))),
        derived_from: Some((frame.name.clone(), format!("blake3:{}", frame.blake3))),
        object: Object {
            title: f.title.clone(),
            date: one(plain, &f.date),
            circa: one(!plain, &f.date),
            physical: physical.join(", "),
            content: f.inscription.clone(),
            source: kept.join(", "),
            number: print.id.to_string(),
        },
        own: own.filter(|(_, v)| !v.is_empty()).map(|(k, v)| (k.to_owned(), v)).collect(),
        own_lists: lists.into_iter().filter(|(_, v)| !v.is_empty()).map(|(k, v)| (k.to_owned(), v)).collect(),
    })
}

/// Dates that ISO 8601 knows without EDTF: a year, a month, a day.
fn is_plain(date: &str) -> bool {
    codec::sidecar::is_plain(date) && Edtf::parse(date).is_ok()
}

/// Reads a sidecar back. Words that have a place in a standard are taken from there, where another program may have changed
/// them; the rest from our own.
///
/// # Errors
/// The text is not a sidecar.
pub(super) fn read(text: &str) -> Result<Held, String> {
    let c = codec::sidecar::read(text)?;
    let own = |name: &str| c.own.get(name).cloned().unwrap_or_default();
    let list = |name: &str| c.own_lists.get(name).cloned().unwrap_or_default();
    let mut facts = Facts {
        title: c.title.clone(),
        alt: c.alt.clone(),
        date: c.exposed.clone(),
        place: c.place.clone(),
        people: c.people.clone(),
        subject: c.keywords.clone(),
        rights: c.rights.clone(),
        ..Facts::default()
    };
    for line in FACTS {
        let text = line.property.map(own).filter(|t| !t.is_empty());
        text.iter().for_each(|t| facts.set_kept(line, t));
    }
    Ok(Held {
        print: own("Print").parse().ok(),
        facts,
        role: own("Role"),
        role_why: own("RoleWhy"),
        print_why: own("PrintWhy"),
        said: own("Said"),
        twins: list("Twins"),
        original: own("Original"),
        front: own("Front") == "yes",
        front_why: own("FrontWhy"),
        front_by: own("FrontBy"),
        edits: list("Edits").iter().filter_map(|e| edit(e)).collect(),
        stacked: stacked(&own("Stacked")),
    })
}

/// True where a text can be read as a sidecar.
pub fn is_sidecar(text: &str) -> bool {
    read(text).is_ok()
}

/// Reads a sidecar's file; `None` where there is none.
///
/// # Errors
/// It is there and cannot be read, or is no sidecar.
pub(super) fn read_file(place: &std::path::Path) -> Result<Option<Held>, String> {
    match base::files::regular::text(place) {
        Ok(text) => read(&text).map(Some),
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => Ok(None),
        Err(e) => Err(format!("it could not be read: {e}.")),
    }
}

/// Renames an unreadable sidecar, so that its text is not overwritten; returns the new path.
///
/// # Errors
/// It cannot be renamed.
pub(super) fn set_aside(place: &std::path::Path) -> Result<std::path::PathBuf, base::Failure> {
    // More than anybody damages by hand; the last name is refused rather than written over.
    let free = (1..10_000).map(|n| place.with_extension(format!("unread-{n}.xmp"))).find(|p| !p.exists());
    let kept = free.ok_or_else(|| base::Failure::new(format!("{} cannot be set aside.", place.display())))?;
    std::fs::rename(place, &kept).map_err(|e| base::Failure::writing(place, &e))?;
    Ok(kept)
}

fn edit(text: &str) -> Option<(String, i64, String)> {
    let mut parts = text.splitn(3, ' ');
    Some((parts.next()?.to_owned(), parts.next()?.parse().ok()?, parts.next()?.to_owned()))
}

fn stacked(text: &str) -> Option<Stacked> {
    let mut parts = text.split(' ');
    let stack = parts.next()?;
    let stack = if stack == "alone" { None } else { Some(stack.parse().ok()?) };
    let (place, by) = (parts.next()?.parse().ok()?, parts.next()?);
    ["rule", "person"].contains(&by).then(|| Stacked { stack, place, by: by.to_owned() })
}

#[cfg(test)]
mod tests {
    use super::*;
    use catalogue::{FrameId, InEdit};

    #[test]
    fn everything_said_comes_back() {
        let facts = Facts {
            title: "Low water".into(),
            date: "2009-07?".into(),
            dated: "July 2009, I think".into(),
            people: vec!["Ada".into(), "Bo & Cy".into()],
            inscription: "for Ada,\n  don’t lose it".into(),
            box_name: "Shoebox 3".into(),
            sleeve: "12".into(),
            privacy: "ask".into(),
            ..Facts::default()
        };
        let frame = Frame {
            id: FrameId(3),
            blake3: "00aa".into(),
            name: "F1.jpg".into(),
            part: Default::default(),
            path: "/card/F1.jpg".into(),
            twins: vec!["/card/F1.dng".into()],
            taken: Some("2026-01-02T03:04:05".into()),
            role: "front".into(),
            role_why: "a print with its window is on the bed".into(),
            print: Some(PrintId(42)),
            print_why: "no print like it was here before".into(),
            sitting: None,
            said: "{\"shadow\":0.5}".into(),
            result: None,
        };
        let print = Print {
            id: PrintId(42),
            facts: facts.clone(),
            digitised: None,
            front: Some(FrameId(3)),
            front_why: "its only front".into(),
            front_by: "rule".into(),
            frames: vec![],
            edits: vec![InEdit { edit: "the long book".into(), kind: "sequence".into(), place: 4 }],
            stacked: Some(Stacked { stack: Some(3), place: 1, by: "person".into() }),
            hand_offs: vec![],
            added: String::new(),
        };
        let text = write(&print, &frame, "mirrored (15°, 44.9° high, 3.8° wide; expected error 6.1 %)");
        assert!(text.contains("mirrored (15°, 44.9° high, 3.8° wide; expected error 6.1 %)"), "{text}");
        let held = read(&text).unwrap();
        assert_eq!((held.print, held.facts, held.front), (Some(PrintId(42)), facts, true));
        assert_eq!(held.edits, [("sequence".to_owned(), 4, "the long book".to_owned())]);
        assert_eq!(held.stacked, Some(Stacked { stack: Some(3), place: 1, by: "person".into() }));
        assert_eq!(stacked("alone 0 person"), Some(Stacked { stack: None, place: 0, by: "person".into() }));
        assert_eq!((stacked(""), stacked("3 x person"), stacked("3 1 nobody")), (None, None, None));
        assert_eq!((held.role.as_str(), held.said.as_str()), ("front", "{\"shadow\":0.5}"));
        assert_eq!((held.original.as_str(), held.twins.len()), ("/card/F1.jpg", 1));
    }

    #[test]
    fn only_plain_dates_go_where_plain_dates_are_read() {
        for (date, plain) in [
            ("2009", true),
            ("2009-07", true),
            ("2009-07-14", true),
            ("2009-21", false),
            ("2009?", false),
            ("200X", false),
            ("", false),
            ("2009/2011", false),
        ] {
            assert_eq!(is_plain(date), plain, "{date}");
        }
    }
}
