//! The plan against worked examples, and against itself: there and back, more is never worse, nothing panics.

use super::framing::magnification_at_height;
use super::lighting::{distance_for, fall_off, spread};
use super::*;
use crate::light::region;
use crate::{Light, closeup, mirror};
use proptest::prelude::*;

fn near(a: f64, b: f64, tolerance: f64) {
    assert!((a - b).abs() <= tolerance, "{a} is not {b} within {tolerance}");
}
const fn mm(v: f64) -> Length {
    Length::mm(v)
}

/// A square print under a 24 MP camera, for a book.
fn square() -> Wish {
    Wish {
        print: (mm(88.0), mm(107.0)),
        lift: mm(3.0),
        sensor: (mm(36.0), mm(24.0)),
        pixels: (6000.0, 4000.0),
        focal: Some(mm(70.0)),
        close_lens: true,
        closest: None,
        lens_front: mm(60.0),
        ppi: None,
        field: None,
        height: None,
        aperture: None,
        iso: None,
        azimuth: None,
        elevation: None,
        light_distance: None,
        light_reach: None,
        source: Shape::Rectangle { width: mm(70.0), height: mm(50.0) },
        guide: Some(GuideNumber::metres(26.0, 100.0)),
        sync: 1.0 / 200.0,
        shutter: None,
        ambient: None,
        lamp: Lux(1000.0),
        asked: Asked {
            ppi: 300.0,
            fall_off: Stops::new(0.25),
            tilt: Angle::deg(0.2),
            margin: mm(6.0),
            ambient: Stops::new(8.0),
        },
    }
}

/// O8 (derived, `docs/references.md`, close-up optics): 36 by 24 mm over 160 by 107 mm, m = 0.2243: a 60 mm lens stands
/// 327.5 mm over the bed and its sensor 401 mm, a 90 mm lens 491.3 and 601. The table rounds m by the shorter side.
#[test]
fn the_rig_of_the_worked_example() {
    for (f, lens, total) in [(60.0, 327.5, 401.0), (90.0, 491.3, 601.0)] {
        let wish = Wish { field: Some(mm(36.0 * 107.0 / 24.0)), focal: Some(mm(f)), ..square() };
        let plan = solve(&wish).unwrap();
        near(plan.framing.magnification, 0.2243, 5e-5);
        near(plan.framing.lens_height.to_mm(), lens, 0.06);
        near(plan.framing.height.to_mm(), total, 0.5);
        // And from the height back to the field.
        let back = Wish { field: None, height: Some(plan.framing.height), ..wish };
        near(solve(&back).unwrap().framing.field.0.to_mm(), 160.5, 1e-6);
    }
}

/// O4 (OpenStax-type exercise, physicsforums 577761) turned round: 50 mm over a total of 225 mm is half life size, the
/// smaller of the two images that stand at that distance (the other is the exercise's double size).
#[test]
fn the_height_gives_the_scale() {
    near(magnification_at_height(mm(50.0), mm(225.0)).unwrap(), 0.5, 1e-12);
    near(magnification_at_height(mm(50.0), mm(200.0)).unwrap(), 1.0, 1e-12);
    assert_eq!(magnification_at_height(mm(50.0), mm(199.0)), None);
}

/// G1 to G4 stand in `exposure`; close up and aslant (derived, `docs/references.md`, lighting): the f-number in the guide
/// number is the one at work, N = GN / (d (1 + m)), and a flat sheet 45 degrees aslant takes the root of two more.
#[test]
fn the_flash_is_worked_close_up_and_aslant() {
    let wish = Wish { light_distance: Some(mm(1000.0)), aperture: Some(FNumber(8.0)), ..square() };
    let plan = solve(&wish).unwrap();
    let (m, flash) = (plan.framing.magnification, plan.exposing.flash.unwrap());
    near(flash.full_power_set.0, 26.0 / (1.0 + m), 1e-9);
    near(flash.power, (8.0 * (1.0 + m) / 26.0f64).powi(2) * 2f64.sqrt(), 1e-9);
    near(plan.exposing.slant.value(), 0.5, 1e-9);
    // A flash of the guide number asked for takes half power.
    let strong = Wish { guide: Some(plan.exposing.guide_wanted), ..wish };
    near(solve(&strong).unwrap().exposing.flash.unwrap().power, 0.5, 1e-9);
}

/// `docs/references.md` (lighting): f/8 at ISO 100 is 160 lux seconds at work; the room's 1 % is 6.64 stops; a shutter
/// changes the room's light alone.
#[test]
fn the_room_lies_under_the_flash_by_the_exposure_sum() {
    let wish = Wish { ambient: Some(Lux(300.0)), aperture: Some(FNumber(8.0)), ..square() };
    let plan = solve(&wish).unwrap();
    let e = &plan.exposing;
    near(e.dose, 250.0 * (8.0 * (1.0 + plan.framing.magnification)).powi(2) / e.iso, 1e-9);
    near(e.ambient_below.unwrap().value(), (e.dose / (300.0 / 200.0)).log2(), 1e-12);
    near((e.ambient_most.0 / 200.0 / e.dose).log2(), -8.0, 1e-9);
    let slow = solve(&Wish { shutter: Some(1.0 / 100.0), ..wish }).unwrap();
    near(e.ambient_below.unwrap().value() - slow.exposing.ambient_below.unwrap().value(), 1.0, 1e-9);
    assert_eq!(e.flash, slow.exposing.flash);
}

/// Derived (`docs/references.md`, lighting): across 107 mm along the light (max - min) / mean is 73, 38, 23 % with one
/// lamp at 300, 600, 1000 mm and 45 degrees, and 6.7, 1.8, 0.64 % with two opposite.
#[test]
fn one_light_and_two() {
    let lamp =
        |side: f64, d: f64| Light::at(Angle::deg(side), Angle::deg(45.0), mm(d), Shape::Sphere { diameter: mm(1.0) });
    for (d, one, two) in [(300.0, 73.0, 6.7), (600.0, 38.0, 1.8), (1000.0, 23.0, 0.64)] {
        near(spread(&[lamp(0.0, d)], mm(107.0)) * 100.0, one, 0.6);
        near(spread(&[lamp(0.0, d), lamp(180.0, d)], mm(107.0)) * 100.0, two, 0.05);
    }
}

/// Calculated rules of thumb (`docs/references.md`, lighting): one light 45 degrees high falls off by 0.67 stop over
/// 110 mm at 0.5 m and by 0.34 at 1 m; at 60 degrees by about 0.7 of that.
#[test]
fn fall_off_by_the_rules_of_thumb() {
    let strip = region(mm(110.0), mm(0.01));
    let lamp = |e: f64, d: f64| Light::at(Angle::default(), Angle::deg(e), mm(d), Shape::Sphere { diameter: mm(1.0) });
    near(fall_off(&[lamp(45.0, 500.0)], &strip).value(), 0.67, 0.01);
    near(fall_off(&[lamp(45.0, 1000.0)], &strip).value(), 0.34, 0.006);
    let ratio = fall_off(&[lamp(60.0, 1000.0)], &strip).value() / fall_off(&[lamp(45.0, 1000.0)], &strip).value();
    near(ratio, 0.7, 0.03);
    near(distance_for(&[lamp(45.0, 700.0)], &strip, Stops::new(0.34)).unwrap().to_mm(), 1000.0, 20.0);
}

/// Calculated rules of thumb (`docs/references.md`, close-up optics): at m = 0.20 and f/8, one 4.4 micrometre pixel of blur
/// leaves 2.1 mm of depth, at 0.27 1.2, at 0.33 0.9; f/11 has 1.4 times as much.
#[test]
fn depth_by_the_rules_of_thumb() {
    for (m, depth) in [(0.20, 2.1), (0.27, 1.2), (0.33, 0.9)] {
        let wish = Wish {
            sensor: (mm(0.0044 * 8000.0), mm(0.0044 * 6000.0)),
            pixels: (8000.0, 6000.0),
            print: (mm(60.0), mm(40.0)),
            field: Some(mm(0.0044 * 8000.0 / m)),
            aperture: Some(FNumber(8.0)),
            ..square()
        };
        let plan = solve(&wish).unwrap();
        near(plan.focus.depth_pixel.to_mm(), depth, 0.06);
        let eleven = solve(&Wish { aperture: Some(FNumber(11.0)), ..wish }).unwrap();
        near(eleven.focus.depth_pixel.to_mm() / plan.focus.depth_pixel.to_mm(), 1.4, 0.03);
    }
}

/// Glare examples stand in `mirror`; here the plan's own answer: the light mirrored clear of the print, and the elevation
/// at which it is not any more, by equal angles at the print's corner.
#[test]
fn the_light_shows_from_the_elevation_said() {
    let point = Shape::Sphere { diameter: mm(0.1) };
    let wish = Wish { source: point, light_distance: Some(mm(600.0)), azimuth: Some(Angle::deg(180.0)), ..square() };
    let plan = solve(&wish).unwrap();
    let (h, x) = (plan.framing.lens_height.to_mm(), 53.5);
    let p = mirror::mirror_point(plan.lighting.light.position, vec3_at(h));
    near(plan.gloss.glare.x, p.x, 1e-9);
    near(plan.gloss.clear.to_mm(), -p.x - x, 0.05);
    // At the last safe elevation the ray from the lens to the edge and on to the light makes equal angles.
    let e = plan.gloss.flat_below.unwrap().to_rad();
    let (lx, lz) = (600.0 * e.cos(), 600.0 * e.sin());
    near(((lx - x) / lz).atan().to_degrees(), (x / h).atan().to_degrees(), 0.05);
}

fn vec3_at(h: f64) -> crate::Vec3 {
    crate::vec3(0.0, 0.0, h)
}

/// Shadow sizes stand in `shadow`; here: a light on the diagonal throws the shadow of both far edges shorter by the
/// diagonal's cosine, and turning the picture upright turns the fall with it.
#[test]
fn the_shadow_falls_to_the_lower_right_of_the_finished_picture() {
    for print in [(mm(88.0), mm(107.0)), (mm(108.0), mm(86.0))] {
        let plan = solve(&Wish { print, ..square() }).unwrap();
        let upright = plan.shadow.falls + plan.lighting.top.turn();
        let (sin, cos) = upright.to_rad().sin_cos();
        assert!(cos > 0.7 && sin < -0.7, "{} degrees", upright.to_deg());
        near(plan.shadow.lifted.centre().to_mm(), 3.0 * 45f64.to_radians().cos(), 1e-6);
    }
    // Light from the frame's right over a print that can only lie sideways: it is laid so that right becomes above.
    let plan = solve(&Wish { azimuth: Some(Angle::deg(0.0)), ..square() }).unwrap();
    assert_eq!(plan.framing.lay, Lay::Sideways);
    assert_eq!(plan.lighting.top, Top::Right);
    near(plan.lighting.upright_azimuth.to_deg(), 90.0, 1e-9);
}

/// A sheet of 88 by 107 mm in a 3:2 frame lies sideways; how much that gains follows from the two fits.
#[test]
fn the_print_lies_the_way_that_gains_pixels() {
    let plan = solve(&square()).unwrap();
    let f = &plan.framing;
    assert_eq!(f.lay, Lay::Sideways);
    let m = f.margin_wanted.to_mm();
    let (side, up) = (24.0 / (88.0 + 2.0 * m), 24.0 / (107.0 + 2.0 * m));
    near(f.magnification, side.min(36.0 / (107.0 + 2.0 * m)), 1e-12);
    near(f.gain, (side / up).powi(2) - 1.0, 1e-9);
    near(f.margin.to_mm(), m, 1e-9);
}

/// 1,500 prints, fronts alone, 8 to 12.5 hours; a 24 MP raw file 30 to 55 MB (`docs/references.md`, rates). 500 prints a
/// minute each are 8 h 20, about 10 h with breaks.
#[test]
fn the_box_ahead() {
    let plan = solve(&square()).unwrap();
    let f = forecast::forecast(1500.0, 0.0, (6000.0, 4000.0), square().print, &plan.framing);
    near(f.hours.0, 8.3, 0.05);
    near(f.hours.1, 12.5, 0.01);
    near(f.frames_gb.0 / 1.5, 30.0, 1.0);
    near(f.frames_gb.1 / 1.5, 55.0, 1.0);
    near(500.0 / 60.0 * f.hours_with_breaks.0 / f.hours.0, 10.0, 0.01);
    let backs = forecast::forecast(1500.0, 1.0, (6000.0, 4000.0), square().print, &plan.framing);
    near(backs.hours.0 / f.hours.0, 1.6, 1e-9);
}

/// Moments about the base's edge: 1.5 kg 350 mm out against 8 kg over half of 600 mm (arithmetic).
#[test]
fn what_tips() {
    let s = stand::Stand { camera_kg: 1.5, arm_kg: 0.0, reach: mm(350.0), base: mm(600.0), base_kg: Some(8.0) };
    near(s.margin().unwrap(), 2400.0 / 525.0, 1e-9);
    let just = stand::Stand { base_kg: Some(s.base_kg_wanted()), ..s };
    near(just.margin().unwrap(), stand::MARGIN, 1e-12);
    near(stand::Stand { reach: s.reach_most().unwrap(), ..s }.margin().unwrap(), stand::MARGIN, 1e-12);
    near(s.pull(mm(600.0)).unwrap(), 8.0 * 9.80665 / 2.0, 1e-9);
}

/// A large soft light near by shows in curled prints at 45 degrees; left free it comes down until it does not.
#[test]
fn a_free_elevation_keeps_out_of_sight() {
    let large = Wish { source: Shape::Disc { diameter: mm(600.0) }, light_distance: Some(mm(600.0)), ..square() };
    let free = solve(&large).unwrap();
    let fixed = solve(&Wish { elevation: Some(Angle::deg(45.0)), ..large }).unwrap();
    assert!(fixed.concerns.iter().any(|c| matches!(c, Concern::CurlVeils { .. })), "{:?}", fixed.concerns);
    assert!(!free.concerns.iter().any(|c| matches!(c, Concern::CurlVeils { .. })), "{:?}", free.concerns);
    assert!(free.lighting.light.elevation().to_deg() < 44.0);
}

/// Similar triangles: a point 1 m aside and 1 m up, seen from a print's far edge 50 mm beyond the middle, passes a height of
/// 400 mm at -50 + 0.4 * 1050 = 370 mm.
#[test]
fn the_card_leaves_the_light_its_way() {
    let speck =
        Light::at(Angle::default(), Angle::deg(45.0), mm(2f64.sqrt() * 1000.0), Shape::Sphere { diameter: mm(0.01) });
    near(gloss::reach_at(&speck, mm(400.0), (mm(100.0), mm(80.0))).unwrap().to_mm(), 370.0, 0.1);
    assert!(gloss::reach_at(&speck, mm(1100.0), (mm(100.0), mm(80.0))).is_none());
    let steep =
        solve(&Wish { elevation: Some(Angle::deg(80.0)), light_distance: Some(mm(1500.0)), ..square() }).unwrap();
    assert!(steep.concerns.iter().any(|c| matches!(c, Concern::CameraInWay { .. })), "{:?}", steep.concerns);
    let near_by = solve(&Wish { light_distance: Some(mm(80.0)), ..square() }).unwrap();
    assert!(near_by.concerns.iter().any(|c| matches!(c, Concern::LightInWay { .. })), "{:?}", near_by.concerns);
}

#[test]
fn impossible_wishes_get_the_nearest_rig_and_say_so() {
    let broken = |wish: Wish| {
        let plan = solve(&wish).unwrap();
        (plan.concerns.iter().filter(|c| c.breaks_a_wish()).copied().collect::<Vec<_>>(), plan)
    };
    let (none, _) = broken(square());
    assert_eq!(none, []);
    let (c, plan) = broken(Wish { ppi: Some(2400.0), ..square() });
    assert!(matches!(c[..], [Concern::Crops { .. }]) && plan.framing.margin.to_mm() > 5.9, "{c:?}");
    let (c, plan) = broken(Wish { closest: Some(mm(800.0)), ..square() });
    assert!(matches!(c[0], Concern::TooClose { .. }), "{c:?}");
    near(plan.framing.height.to_mm(), 800.0, 1e-6);
    let (c, _) = broken(Wish { height: Some(mm(200.0)), ..square() });
    assert!(matches!(c[0], Concern::HeightTooLow { .. }), "{c:?}");
    let (c, plan) = broken(Wish { shutter: Some(1.0 / 1000.0), ..square() });
    assert!(matches!(c[..], [Concern::OverSync { .. }]), "{c:?}");
    near(plan.exposing.shutter, 1.0 / 200.0, 1e-12);
    let archive = Asked { ppi: 600.0, ..square().asked };
    let (c, _) = broken(Wish { lift: mm(9.0), asked: archive, ..square() });
    assert!(c.iter().any(|c| matches!(c, Concern::CurlTooDeep { .. })), "{c:?}");
    let (c, plan) = broken(Wish { light_reach: Some(mm(600.0)), ..square() });
    assert!(matches!(c[..], [Concern::FallOff { reach: true, .. }]), "{c:?}");
    near(plan.lighting.light.distance().to_mm(), 600.0, 1e-9);
    let (c, _) = broken(Wish { elevation: Some(Angle::deg(85.0)), ..square() });
    assert!(c.iter().any(|c| matches!(c, Concern::Veils { .. })), "{c:?}");
    let (c, _) = broken(Wish { ambient: Some(Lux(5000.0)), ..square() });
    assert!(c.iter().any(|c| matches!(c, Concern::RoomBright { .. })), "{c:?}");
    // A weak flash whose distance is free comes nearer, to just where full power does.
    let weak = Wish {
        guide: Some(GuideNumber::metres(4.0, 100.0)),
        iso: Some(100.0),
        aperture: Some(FNumber(8.0)),
        ..square()
    };
    let (c, plan) = broken(weak);
    assert!(c.iter().any(|c| matches!(c, Concern::FlashWeak { mended: concern::Mended::Distance, .. })), "{c:?}");
    near(plan.exposing.flash.unwrap().power, 1.0, 0.02);
    assert!(c.iter().any(|c| matches!(c, Concern::FallOff { .. })), "{c:?}");
    let clash = solve(&Wish { ppi: Some(600.0), field: Some(mm(160.0)), ..square() }).unwrap_err();
    near(clash.other.1, 952.5, 0.1);
}

/// Any rig at all, however foolish, within what the command line lets through.
fn any_wish() -> impl Strategy<Value = Wish> {
    let up = |a: f64, b: f64| (a.ln()..b.ln()).prop_map(f64::exp);
    let some = move |a, b| prop::option::of(up(a, b));
    let camera =
        (up(4.0, 150.0), 0.4f64..2.5, up(100.0, 30000.0), some(5.0, 1000.0), some(50.0, 5000.0), any::<bool>());
    let scale = (some(20.0, 5000.0), some(20.0, 3000.0), some(50.0, 5000.0));
    let sheet = (up(10.0, 1000.0), up(10.0, 1000.0), up(0.1, 50.0));
    let light =
        (prop::option::of(-360.0f64..360.0), 5.0f64..85.0, some(50.0, 20000.0), some(50.0, 20000.0), up(1.0, 2000.0));
    let exposure = (
        some(0.5, 500.0),
        up(1.0 / 8000.0, 10.0),
        some(1.0 / 8000.0, 60.0),
        some(0.01, 2e5),
        some(25.0, 1e5),
        some(0.7, 128.0),
    );
    (camera, scale, sheet, light, exposure).prop_map(|(c, s, p, l, e)| Wish {
        print: (mm(p.0), mm(p.1)),
        lift: mm(p.2),
        sensor: (mm(c.0), mm(c.0 * c.1)),
        pixels: (c.2, c.2 * c.1),
        focal: c.3.map(mm),
        closest: c.4.map(mm),
        close_lens: c.5,
        ppi: s.0,
        field: s.1.map(mm),
        height: s.2.map(mm),
        azimuth: l.0.map(Angle::deg),
        elevation: Some(Angle::deg(l.1)),
        light_distance: l.2.map(mm),
        light_reach: l.3.map(mm),
        source: Shape::Disc { diameter: mm(l.4) },
        guide: e.0.map(|v| GuideNumber::metres(v, 100.0)),
        sync: e.1,
        shutter: e.2,
        ambient: e.3.map(Lux),
        iso: e.4,
        aperture: e.5.map(FNumber),
        ..square()
    })
}

proptest! {
    // Each case solves a rig several times over: half as many as usual keep the suite short.
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn no_rig_panics_and_every_number_is_one(wish in any_wish()) {
        if let Ok(plan) = solve(&wish) {
            let (f, o, e) = (&plan.framing, &plan.focus, &plan.exposing);
            for v in [f.ppi, f.height.to_mm(), f.lens_height.to_mm(), o.set.0, o.blur.to_mm(), o.level.to_deg(), e.dose, e.iso] {
                prop_assert!(v.is_finite() && v > 0.0, "{v}: {wish:?}");
            }
            for v in [plan.lighting.fall_off.value(), plan.gloss.clear.to_mm(), f.gain, plan.shadow.lifted.end().to_mm()] {
                prop_assert!(v.is_finite(), "{v}: {wish:?}");
            }
            // The print is whole in the frame unless a wish cropped it, which is never granted.
            prop_assert!(f.margin.to_mm() > -1e-6 || f.focal * 4.0 > f.height, "{f:?}");
        }
    }

    /// Scale to height and back, for any lens.
    #[test]
    fn height_and_scale_return_to_each_other(f in 10.0f64..300.0, m in 0.005f64..1.0) {
        let total = closeup::object_distance_for(mm(f), m) + closeup::image_distance_for(mm(f), m);
        let back = magnification_at_height(mm(f), total).unwrap();
        prop_assert!((back / m - 1.0).abs() < 1e-6, "{back} {m}");
    }

    /// Every way of saying the same scale gives the same rig.
    #[test]
    fn ppi_field_and_height_agree(ppi in 150.0f64..800.0, f in 30.0f64..200.0) {
        let base = Wish { focal: Some(mm(f)), ..square() };
        let one = solve(&Wish { ppi: Some(ppi), ..base }).unwrap();
        let two = solve(&Wish { field: Some(one.framing.field.0), ..base }).unwrap();
        let three = solve(&Wish { height: Some(one.framing.height), ..base }).unwrap();
        for other in [two, three] {
            prop_assert!((other.framing.ppi / one.framing.ppi - 1.0).abs() < 1e-9);
            prop_assert!((other.framing.height.to_mm() / one.framing.height.to_mm() - 1.0).abs() < 1e-9);
        }
    }

    /// Farther is never more uneven, for one light on any side of a print (the farther light also looks smaller).
    #[test]
    fn distance_never_raises_fall_off(e in 10.0f64..80.0, az in 0.0f64..360.0, d in 250.0f64..5000.0, k in 1.01f64..4.0) {
        let shape = Shape::Rectangle { width: mm(70.0), height: mm(50.0) };
        let print = region(mm(107.0), mm(88.0));
        let light = Light::at(Angle::deg(az), Angle::deg(e), mm(d), shape);
        let (a, b) = (fall_off(&[light], &print), fall_off(&[light.moved_to(mm(d * k))], &print));
        prop_assert!(b.value() <= a.value() + 1e-9, "{} then {}", a.value(), b.value());
    }

    /// The distance asked for gives the fall-off asked for.
    #[test]
    fn the_distance_found_does_it(e in 15.0f64..75.0, wanted in 0.05f64..1.0) {
        let print = region(mm(107.0), mm(88.0));
        let shape = Shape::Disc { diameter: mm(60.0) };
        let light = Light::at(Angle::deg(225.0), Angle::deg(e), mm(1000.0), shape);
        let d = distance_for(&[light], &print, Stops::new(wanted)).unwrap();
        let found = fall_off(&[light.moved_to(d)], &print).value();
        prop_assert!((found / wanted - 1.0).abs() < 0.01, "{found} {wanted}");
    }

    /// Inside the range of apertures both ends of the curl are sharp enough; outside it they are not.
    #[test]
    fn the_range_of_apertures_is_where_it_is_sharp(lift in 0.3f64..6.0, n in 1.0f64..64.0) {
        let plan = solve(&Wish { lift: mm(lift), aperture: Some(FNumber(n)), guide: None, ..square() }).unwrap();
        let allowed = 2.0 * 25.4 / 300.0;
        if let Some((low, high)) = plan.focus.range {
            let inside = n > low.0 && n < high.0;
            prop_assert_eq!(inside, plan.focus.blur.to_mm() < allowed);
            prop_assert_eq!(inside, plan.focus.lift_most.to_mm() > lift);
        }
    }
}
