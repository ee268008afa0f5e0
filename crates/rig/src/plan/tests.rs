//! The plan as a whole: what is said, what fits a terminal, what is refused, and the card as one page.

use super::*;
use proptest::prelude::*;

fn square() -> Request {
    Request {
        format: Some("square-integral".into()),
        sensor_mm: Some([36.0, 24.0]),
        pixels: Some([6000.0, 4000.0]),
        lens_mm: Some(70.0),
        close_lens: true,
        guide_m: Some(26.0),
        ..Request::default()
    }
}

fn answer(request: &Request) -> Answer {
    plan(request, Units::Metric).unwrap()
}

#[test]
fn the_worked_rig_in_plain_numbers() {
    // O8 (derived, `docs/references.md`, close-up optics): 36 by 24 mm over 160 by 107 mm with 90 mm: 601 mm in all.
    let a = answer(&Request { lens_mm: Some(90.0), field_mm: Some(160.5), ..square() });
    assert!((a.camera.height_mm - 601.0).abs() < 0.6 && (a.camera.lens_height_mm - 491.3).abs() < 0.1);
    assert!((a.camera.magnification - 0.2243).abs() < 1e-4);
    assert!(a.possible && a.concerns.is_empty(), "{:?}", a.concerns);
    // Limits from the table that judges frames.
    assert_eq!((a.light.fall_off_asked_stops, a.camera.ppi_asked), (0.25, 300.0));
    // A degree of lean over 400 mm is 7 mm of shim (tangent).
    assert!((a.focus.shim_mm / 400.0 - a.focus.level_deg.to_radians().tan()).abs() < 1e-8);
    assert_eq!(a.schema, SCHEMA);
}

#[test]
fn nothing_said_is_planned_all_the_same_and_everything_assumed_is_named() {
    let a = answer(&Request::default());
    let named: Vec<&str> = a.taken.iter().map(|t| t.what.as_str()).collect();
    for what in ["format", "sensor", "pixels", "curl", "elevation", "source", "sync", "lamp", "board"] {
        assert!(named.contains(&what), "{named:?}");
    }
    assert!(a.camera.focal_chosen && a.light.distance_chosen);
    assert!(a.exposure.power.is_none() && a.exposure.guide_wanted_m > 0.0);
}

#[test]
fn every_line_fits_a_terminal_and_says_no_empty_number() {
    let wishes = [
        Request::default(),
        square(),
        Request {
            ambient_lux: Some(900.0),
            prints: Some(1500.0),
            backs: Some(Backs::All),
            base_kg: Some(1.0),
            ..square()
        },
        Request { light_distance_mm: Some(300.0), guide_m: Some(4.0), iso: Some(100.0), ..square() },
        Request { ppi: Some(5000.0), curl_mm: Some(30.0), light_elevation_deg: Some(80.0), ..square() },
        Request {
            aim: Aim::Archive,
            sensor_mm: Some([13.2, 8.8]),
            pixels: Some([1500.0, 1000.0]),
            ..Request::default()
        },
    ];
    for (i, wish) in wishes.iter().enumerate() {
        for units in [Units::Metric, Units::Inches, Units::Both] {
            let text = text(&plan(wish, units).unwrap(), units);
            for line in text.lines() {
                assert!(line.chars().count() <= 80, "{line}");
            }
            for word in ["NaN", "inf", "unknown", " 0 mm", "  ,", "{", "}"] {
                assert!(!text.contains(word), "wish {i}: {word}\n{text}");
            }
        }
    }
}

#[test]
fn impossible_wishes_are_told_with_the_nearest() {
    let told = |request: &Request| {
        let a = answer(request);
        assert!(!a.possible);
        a.concerns.into_iter().filter(|c| c.breaks_a_wish).map(|c| (c.code, c.remedy)).collect::<Vec<_>>()
    };
    let find = |request: &Request, code: &str, part: &str| {
        let all = told(request);
        assert!(all.iter().any(|(c, r)| c == code && r.contains(part)), "{code}: {all:?}");
    };
    find(&Request { ppi: Some(3000.0), ..square() }, "framing.crops", "957 ppi");
    find(&Request { closest_focus_mm: Some(900.0), ..square() }, "lens.closest", "extension tube");
    find(&Request { height_mm: Some(250.0), ..square() }, "camera.height", "280 mm");
    find(&Request { shutter_s: Some(0.001), ..square() }, "flash.sync", "1/200 s");
    find(&Request { light_distance_mm: Some(400.0), ..square() }, "light.fall-off", "1/4 +⅔ power pays");
    find(&Request { light_reach_mm: Some(700.0), ..square() }, "light.fall-off", "room is too small");
    find(&Request { light_elevation_deg: Some(85.0), ..square() }, "gloss.light", "below 7");
    find(&Request { ambient_lux: Some(4000.0), ..square() }, "ambient", "118 lx".replace("118", "120").as_str());
    find(&Request { f_number: Some(45.0), ..square() }, "focus.aperture", "up to");
    find(&Request { base_kg: Some(1.0), ..square() }, "stand.tips", "Weigh the base down to");
    find(
        &Request { aim: Aim::Archive, pixels: Some([1500.0, 1000.0]), ..square() },
        "camera.resolution",
        "as many pixels",
    );
}

/// A flash a stop and two thirds short at 60 cm is short by the move as well: what pays counts both (inverse square).
#[test]
fn what_pays_counts_what_is_missing_already() {
    let weak = Request {
        guide_m: Some(4.0),
        iso: Some(100.0),
        f_number: Some(8.0),
        light_distance_mm: Some(600.0),
        ..square()
    };
    let a = answer(&weak);
    let fall_off = a.concerns.iter().find(|c| c.code == "light.fall-off").unwrap();
    // Power needed at 60 cm, (8 (1 + m) 0.6 / 4)^2 root 2, times the square of the distance's growth, times ISO 100.
    let needed = (8.0 * (1.0 + a.camera.magnification) * 0.6 / 4.0).powi(2) * 2f64.sqrt();
    let iso = 100.0 * needed * (a.light.distance_for_aim_mm.unwrap() / 600.0).powi(2);
    let said: f64 =
        fall_off.remedy.split("ISO ").nth(1).unwrap().split(' ').next().unwrap().replace(',', "").parse().unwrap();
    assert!(said >= iso * 0.95 && said <= iso * 1.35, "{iso}: {}", fall_off.remedy);
}

#[test]
fn what_cannot_be_is_refused_with_what_to_write() {
    let says = |request: Request| plan(&request, Units::Metric).unwrap_err().to_string();
    for (request, part) in [
        (Request { lens_mm: Some(0.0), ..square() }, "between 4 mm and 1000 mm"),
        (Request { lens_mm: Some(-70.0), ..square() }, "The focal length"),
        (Request { height_mm: Some(f64::NAN), ..square() }, "The camera's height"),
        (Request { light_distance_mm: Some(f64::INFINITY), ..square() }, "The light's distance"),
        (Request { curl_mm: Some(1e300), ..square() }, "The curl"),
        (Request { format: Some("postcard".into()), ..square() }, "square-integral"),
        (Request { format: Some("plain".into()), ..square() }, "--print"),
        (Request { print_mm: Some([10.0, 20.0]), ..square() }, "--format plain"),
        (Request { pixels: Some([4000.0, 6000.0]), ..square() }, "different shapes"),
        (Request { ppi: Some(600.0), field_mm: Some(160.0), ..square() }, "contradict"),
        (Request { field_mm: Some(160.0), height_mm: Some(900.0), ..square() }, "contradict"),
        (Request { light_distance_mm: Some(900.0), light_reach_mm: Some(800.0), ..square() }, "--light-reach"),
        (Request { closest_focus_mm: Some(200.0), close_lens: false, ..square() }, "four focal lengths"),
    ] {
        let text = says(request);
        assert!(text.contains(part) && text.ends_with('.'), "{text}");
    }
}

#[test]
fn an_answer_returns_from_its_json() {
    let a = answer(&Request { prints: Some(140.0), base_kg: Some(8.0), ambient_lux: Some(100.0), ..square() });
    let text = serde_json::to_string(&a).unwrap();
    let back: Answer = serde_json::from_str(&text).unwrap();
    assert_eq!(serde_json::to_string(&back).unwrap(), text);
    assert!(json_schema().contains("\"power\"") && text.contains("\"schema\":\"fallside.plan/1\""));
}

#[test]
fn the_card_is_one_page_with_its_cautions_and_fetches_nothing() {
    let a = answer(&Request { print_mm: None, ..square() });
    let page = card(&a, Units::Both);
    for word in [
        "look into the flash",
        "three flashes",
        "capacitor",
        "Hot lamps",
        "fingers",
        "caustic",
        "photograph conservator",
    ] {
        assert!(page.contains(word), "the card does not speak of {word}");
    }
    assert_eq!(page.matches("<svg role=\"img\" aria-label=").count(), 3);
    // Every address in it is inside it.
    assert!(
        !page.contains("http")
            && !page.contains("src=\"")
            && page.matches("url(").count() == page.matches("url(data:").count() + 1
    );
    assert!(page.contains("filter=\"url(#soft)\""));
    assert!(!page.contains("NaN") && !page.contains("inf\""));
}

#[test]
fn a_card_replaces_a_card_and_nothing_else() {
    let top = tempfile::tempdir().unwrap();
    let a = answer(&square());
    let place = top.path().join("rig.html");
    write_card(&place, &a, Units::Metric).unwrap();
    write_card(&place, &a, Units::Inches).unwrap();
    let other = top.path().join("index.html");
    std::fs::write(&other, "<p>mine</p>").unwrap();
    assert!(write_card(&other, &a, Units::Metric).unwrap_err().to_string().contains("so it was not changed"));
    assert!(write_card(&top.path().join("F1.jpg"), &a, Units::Metric).unwrap_err().to_string().contains("rig.html"));
    assert_eq!(std::fs::read_to_string(&other).unwrap(), "<p>mine</p>");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// Whatever numbers come in, there is an answer whose words and card are whole, or one clear sentence.
    #[test]
    fn no_request_panics(
        v in prop::collection::vec(prop_oneof![
            8 => (-3f64..4.0).prop_map(|e| 10f64.powf(e)),
            1 => Just(f64::NAN), 1 => Just(0.0), 1 => Just(-5.0), 1 => Just(f64::INFINITY), 1 => Just(f64::MIN_POSITIVE),
        ], 20),
        said in prop::collection::vec(prop::bool::weighted(0.3), 20),
    ) {
        let pick = |i: usize| said[i].then_some(v[i]);
        let two = |i: usize| said[i].then_some([v[i], v[i + 1]]);
        let request = Request {
            print_mm: two(0), sensor_mm: two(2), pixels: two(4), curl_mm: pick(6), lens_mm: pick(7), close_lens: said[8],
            closest_focus_mm: pick(8), ppi: pick(9), field_mm: pick(10), height_mm: pick(11), f_number: pick(12), iso: pick(13),
            guide_m: pick(14), shutter_s: pick(15), light_elevation_deg: pick(16), light_distance_mm: pick(17),
            ambient_lux: pick(18), prints: pick(19), ..Request::default()
        };
        match plan(&request, Units::Both) {
            Ok(a) => {
                let (text, page) = (text(&a, Units::Both), card(&a, Units::Both));
                prop_assert!(!text.contains("NaN") && !page.contains("NaN") && !text.contains("inf "), "{}", text);
                prop_assert!(text.lines().all(|l| l.chars().count() <= 80));
            }
            Err(problem) => prop_assert!(problem.0.ends_with('.'), "{}", problem.0),
        }
    }
}
