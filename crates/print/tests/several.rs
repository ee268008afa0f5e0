//! Prints that lie together in one frame, on scenes drawn with known truth: each is found where it lies, in reading order.

use geometry::{Angle, Length, Point, point};
use optics::{Camera, Pose};
use print::format::known;
use print::hints::Hints;
use print::several::{Lying, Why, look};
use print::{Rim, flat_field};
use scene::{Format, Output, Picture, Placed, Print, Rig, Scene, Subject};

/// A field of 300 by 200 mm from 760 mm, under the usual flash: four small prints lie in it.
fn rig() -> Rig {
    let camera = Camera::over(3000.0, 2000.0, Length::mm(36.0), Length::mm(300.0), Length::mm(760.0));
    let mut rig = Rig { camera, ..Rig::default() };
    rig.sensor.output = Output::Srgb8;
    rig
}

fn mini(seed: u64, x: f64, y: f64, turn: f64) -> Placed {
    let subject = Subject::ALL[seed as usize % Subject::ALL.len()];
    let print = Print::new(Format::MiniIntegral, Picture::new(subject, seed), seed);
    Placed { print, pose: Pose { centre: point(x, y), rotation: Angle::deg(turn) } }
}

fn scene(sheets: Vec<Placed>, seed: u64) -> Scene {
    Scene { sheets, role: scene::Role::Front, ..Scene::blank(rig(), seed) }
}

/// What is found, and the true centres of the prints in the frame.
fn found(scene: &Scene) -> (Lying, Vec<Point>) {
    let shot = scene::render(scene, 1500, 1000);
    let step = 1;
    let proxy = shot.frame.reduce(step);
    let (bed, _) = flat_field::guess(&proxy, step as f64);
    let hints = Hints { focal_px: Some(scene.rig.camera.focal_px() / 2.0), ..Hints::default() };
    let lying = look(&shot.frame, &proxy, step, &bed, &known(), &hints);
    (lying, shot.truth.prints.iter().map(|p| p.outer_px.centre()).collect())
}

/// Each print within a millimetre (5 px) of where it was drawn, in this order of the scene's sheets.
fn in_order(lying: &Lying, truth: &[Point], order: &[usize]) {
    let told: Vec<String> = lying
        .prints
        .iter()
        .map(|f| format!("{} {:.2} at {:?}", f.format.name, f.confidence, f.outline.corners().0.centre()))
        .collect();
    assert_eq!(lying.prints.len(), order.len(), "{told:#?} for {truth:?}");
    for (f, i) in lying.prints.iter().zip(order) {
        assert_eq!(f.format.name, "mini-integral", "{told:#?}");
        assert!(f.outline.corners().0.centre().distance(truth[*i]) < 5.0, "{told:#?} for {truth:?}");
    }
}

#[test]
fn two_prints_side_by_side_are_found_from_left_to_right() {
    let (lying, truth) = found(&scene(vec![mini(3, 45.0, 4.0, 1.5), mini(4, -40.0, -3.0, -2.0)], 31));
    in_order(&lying, &truth, &[1, 0]);
    assert!(lying.others.is_empty());
}

#[test]
fn four_prints_are_found_row_by_row() {
    let sheets = || {
        vec![
            mini(1, -60.0, 49.0, 0.8),
            mini(2, 15.0, 47.5, 181.0),
            mini(5, -55.0, -48.0, -1.2),
            mini(6, 20.0, -49.0, 0.3),
        ]
    };
    for seed in [41, 42] {
        let (lying, truth) = found(&scene(sheets(), seed));
        // y is up in the scene and down in the frame: the first two are the upper row.
        in_order(&lying, &truth, &[0, 1, 2, 3]);
    }
}

#[test]
fn a_print_that_leaves_the_frame_is_told_and_not_taken() {
    let (lying, truth) = found(&scene(vec![mini(7, -40.0, 2.0, 1.0), mini(8, 135.0, -4.0, 0.5)], 51));
    in_order(&lying, &truth, &[0]);
    assert_eq!(lying.others.iter().map(|o| o.why).collect::<Vec<_>>(), [Why::Cut(Rim::Right)]);
}

#[test]
fn of_two_that_overlap_the_upper_one_is_taken() {
    let (lying, truth) = found(&scene(vec![mini(9, -10.0, 2.0, 1.0), mini(10, 35.0, -4.0, 0.5)], 61));
    in_order(&lying, &truth, &[1]);
    assert_eq!(lying.others.iter().map(|o| o.why).collect::<Vec<_>>(), [Why::Overlaps]);
}

/// A print alone is found as before, and nothing else is looked for.
#[test]
fn one_print_stays_one() {
    let (lying, truth) = found(&scene(vec![mini(11, -10.0, 2.0, 88.0)], 71));
    in_order(&lying, &truth, &[0]);
    assert!(lying.others.is_empty());
}
