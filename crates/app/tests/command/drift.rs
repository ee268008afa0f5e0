//! Drift over a whole evening with known truth, drawn by a renderer that is not ours.

use rig::drift::{Kind, Quantity, Request, drift};
use serde_json::Value;
use std::io::Write as _;
use std::path::{Path, PathBuf};

/// The frame after which the light was moved, and which way, as `sitting.json` has them.
#[test]
fn the_evening_names_the_frame_after_which_the_light_moved() {
    let Some(evening) = evening() else { return };
    let sitting: Value = serde_json::from_slice(&std::fs::read(evening.join("sitting.json")).unwrap()).unwrap();
    assert_eq!(sitting["event"]["kind"], "light-moved");
    let begun = std::time::Instant::now();
    let answer = drift(&Request { folder: evening.join("card"), ..Request::default() });
    let found = answer.drift.unwrap_or_else(|| panic!("{:?}", answer.problems));
    say(&format!("{} in {} ms", found.text(), begun.elapsed().as_millis()));

    assert_eq!(found.events.len(), 1, "{}\n{}", found.text(), found.to_json());
    let event = &found.events[0];
    let (after, before) = neighbours(&sitting);
    assert_eq!(
        (event.kind, event.after.as_str(), event.before.as_str()),
        (Kind::Light, after.as_str(), before.as_str())
    );
    // Towards the light's own slope after the move less that before: inverse square and cosine (IES definition 9.1.2).
    let want = towards(&sitting);
    let slope = event.parts.iter().find(|p| p.quantity == Quantity::Slope).expect("the light's slope changed");
    let off = (slope.towards_deg.unwrap() - want + 540.0).rem_euclid(360.0) - 180.0;
    say(&format!("brighter towards {:.0} degrees, truth {want:.0}", slope.towards_deg.unwrap()));
    assert!(off.abs() < 45.0, "towards {:?}, truth {want}", slope.towards_deg);
}

/// File names of the last frame before the event and the first after it, in order of capture.
fn neighbours(sitting: &Value) -> (String, String) {
    let order = sitting["capture_order"].as_array().unwrap();
    let at = order.iter().position(|e| e["what"] == sitting["event"]["frame_id"]).unwrap();
    let name =
        |i: usize| Path::new(order[i]["card"].as_str().unwrap()).file_name().unwrap().to_string_lossy().into_owned();
    (name(at - 1), name(at))
}

/// Where in the image the bed became brighter, degrees from +x towards +y: the change of `grad ln E`, `E = h / d^3` for a small
/// lamp at height `h` and distance `d`, taken at the middle of the bed.
fn towards(sitting: &Value) -> f64 {
    let slope = |state: &str| {
        let light = &sitting["states"][state]["light"];
        let number = |v: &Value| v.as_f64().unwrap();
        let (a, e) = (number(&light["azimuth_deg"]).to_radians(), number(&light["elevation_deg"]).to_radians());
        let d = number(&light["distance_mm"]);
        // World y is up, image y is down.
        [3.0 * e.cos() / d * a.cos(), -3.0 * e.cos() / d * a.sin()]
    };
    let (a, b) = (slope("A"), slope("B"));
    (b[1] - a[1]).atan2(b[0] - a[0]).to_degrees().rem_euclid(360.0)
}

/// Where the evening is; where it is not, says so.
fn evening() -> Option<PathBuf> {
    let beside = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/truth");
    let told = std::env::var_os("FALLSIDE_TRUTH").map(PathBuf::from);
    let place = told.clone().unwrap_or(beside).join("evening");
    if place.join("sitting.json").exists() {
        return place.canonicalize().ok();
    }
    assert!(told.is_none(), "FALLSIDE_TRUTH has no evening: {}", place.display());
    say("left out: there is no evening with known truth beside the repository (../shared/truth)");
    None
}

/// A line on the terminal even where the test runner keeps what tests print to itself.
fn say(line: &str) {
    let mut terminal = std::io::stderr();
    writeln!(terminal, "drift: {line}").unwrap();
}
