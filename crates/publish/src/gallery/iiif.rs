//! Files for other viewers: IIIF Image API 3.0 (level 0) and Presentation API 3.0.

use super::{Picture, Shown, Site, TILE};
use serde_json::{Value, json};

/// Address of a picture's service.
fn service(site: &Site, picture: &Picture) -> String {
    format!("{}iiif/{}", site.address, picture.name)
}

/// `info.json` of a picture.
pub fn info(site: &Site, picture: &Picture) -> String {
    let levels = picture.levels();
    let sizes: Vec<Value> = levels[1..].iter().rev().map(|[w, h]| json!({ "width": w, "height": h })).collect();
    let scales: Vec<usize> = (0..levels.len()).map(|n| 1 << n).collect();
    pretty(&json!({
        "@context": "http://iiif.io/api/image/3/context.json",
        "id": service(site, picture),
        "type": "ImageService3",
        "protocol": "http://iiif.io/api/image",
        "profile": "level0",
        "width": picture.size[0],
        "height": picture.size[1],
        "sizes": sizes,
        "tiles": [{ "width": TILE, "height": TILE, "scaleFactors": scales }],
    }))
}

/// `manifest.json` of a gallery: a canvas for each picture, in order.
pub fn manifest(site: &Site, shown: &[Shown]) -> String {
    let canvases: Vec<Value> = shown
        .iter()
        .flat_map(|s| s.pictures().enumerate().map(move |(side, picture)| canvas(site, s, picture, side == 1)))
        .collect();
    let mut whole = json!({
        "@context": "http://iiif.io/api/presentation/3/context.json",
        "id": format!("{}manifest.json", site.address),
        "type": "Manifest",
        "label": in_their_own(&site.title),
        "behavior": ["individuals"],
        "items": canvases,
    });
    if let Some(first) = shown.first() {
        whole["thumbnail"] = json!([thumbnail(site, &first.front)]);
    }
    pretty(&whole)
}

fn canvas(site: &Site, shown: &Shown, picture: &Picture, back: bool) -> Value {
    let id = format!("{}canvas/{}", site.address, picture.name);
    let [width, height] = picture.size;
    let label = if back { format!("{}, its back", shown.title()) } else { shown.title().to_owned() };
    let body = json!({
        "id": format!("{}/full/max/0/default.jpg", service(site, picture)),
        "type": "Image", "format": "image/jpeg", "width": width, "height": height,
        "service": [{ "id": service(site, picture), "type": "ImageService3", "profile": "level0" }],
    });
    let mut canvas = json!({
        "id": id, "type": "Canvas", "label": in_their_own(&label), "width": width, "height": height,
        "thumbnail": [thumbnail(site, picture)],
        "items": [{
            "id": format!("{id}/page"), "type": "AnnotationPage",
            "items": [{
                "id": format!("{id}/picture"), "type": "Annotation", "motivation": "painting",
                "body": body, "target": id,
            }],
        }],
    });
    if !back {
        canvas["summary"] = in_their_own(&shown.said.alt);
        let pairs: Vec<Value> = facts(shown)
            .into_iter()
            .map(|(label, value)| json!({ "label": english(label), "value": value_of(label, &value) }))
            .collect();
        canvas["metadata"] = Value::Array(pairs);
        let rights = &shown.said.words.rights;
        if !rights.is_empty() {
            canvas["requiredStatement"] = json!({ "label": english("Rights"), "value": in_their_own(rights) });
        }
    }
    canvas
}

/// What is said of a print, as pairs of a heading and words.
pub(super) fn facts(shown: &Shown) -> Vec<(&'static str, String)> {
    let w = &shown.said.words;
    let [width, height] = shown.plate.print_mm();
    let format = shown.plate.format.replace('-', " ");
    let size = format!("{width:.0} × {height:.0} mm");
    let all = [
        ("When", dates::says(&w.date)),
        ("Where", w.place.clone()),
        ("Who", w.people.join(", ")),
        ("What", w.subject.join(", ")),
        ("Written on it", w.inscription.clone()),
        ("Film", w.film.clone()),
        ("Note", w.note.clone()),
        ("Print", [format, size].into_iter().filter(|t| !t.is_empty()).collect::<Vec<_>>().join(", ")),
        ("Shadow", Some(&shown.plate.shadow).filter(|s| *s != crate::plate::AS_SHOT).cloned().unwrap_or_default()),
        ("Number", shown.plate.name.clone()),
    ];
    all.into_iter().filter(|(_, v)| !v.is_empty()).collect()
}

fn thumbnail(site: &Site, picture: &Picture) -> Value {
    let levels = picture.levels();
    let last = levels.len() - 1;
    let [w, h] = levels[last];
    json!({
        "id": format!("{}/{}", service(site, picture), picture.whole(last)),
        "type": "Image", "format": "image/jpeg", "width": w, "height": h,
    })
}

/// Facts that this crate puts into words; the others are as a person wrote them.
pub(super) const OURS: [&str; 3] = ["When", "Print", "Shadow"];

fn value_of(label: &str, value: &str) -> Value {
    if OURS.contains(&label) { english(value) } else { in_their_own(value) }
}

/// Words of ours.
fn english(text: &str) -> Value {
    json!({ "en": [text] })
}

/// Words of a person, in a language that nobody said (Presentation 3.0, "Language of Property Values": `none`).
fn in_their_own(text: &str) -> Value {
    json!({ "none": [text] })
}

fn pretty(value: &Value) -> String {
    // A value of our own making has no key that could not be written.
    let mut text = serde_json::to_string_pretty(value).unwrap_or_default();
    text.push('\n');
    text
}
