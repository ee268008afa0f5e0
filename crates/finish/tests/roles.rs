//! What a frame is, by its first look: a print whose picture is a colour chart, small prints in rows, the chart itself. The frames are
//! drawn by our renderer, which knows what lies in them.

use codec::{Info, png};
use finish::frame::Frames;
use finish::job::{Look, Work};
use geometry::{Angle, Length, point};
use optics::{Camera, Pose};
use pixels::Samples;
use scene::noise::Rng;
use scene::{Format, Picture, Placed, Print, Rig, Scene, Subject};

const SIZE: (usize, usize) = (1500, 1000);

fn look_at(scene: &Scene) -> Look {
    let top = tempfile::tempdir().unwrap();
    let place = top.path().join("F0001.png");
    let frame = scene::render(scene, SIZE.0, SIZE.1).frame;
    let Samples::U8(code) = &frame.samples else { panic!("eight bits were asked for") };
    png::write(&place, SIZE.0, SIZE.1, &Info::default(), |r| code[r.start * SIZE.0 * 3..r.end * SIZE.0 * 3].to_vec())
        .unwrap();
    Frames::default().look(&place).unwrap()
}

/// The half is the point of doubt that roles are given by.
fn is_print(look: &Look) -> bool {
    look.chart_score < 0.5 && look.print_score >= 0.5 && look.window_score >= 0.5
}

#[test]
fn a_print_that_pictures_a_chart_is_a_print() {
    for (i, format) in [Format::SquareIntegral, Format::WideIntegral, Format::PeelApart].into_iter().enumerate() {
        let print = Print::new(format, Picture::new(Subject::Colours, 3), 5);
        let turn = [90.8, 181.0, -0.6][i];
        let pose = Pose { centre: point(-2.0, 1.0), rotation: Angle::deg(turn) };
        let look = look_at(&Scene::of(Rig::default(), print, pose, 11));
        assert!(is_print(&look), "{format:?}: {look:?}");
        assert!(look.place.is_some(), "{format:?}");
    }
}

#[test]
fn the_chart_itself_stays_the_chart() {
    for (i, turn) in [0.6, 91.0, 178.0].into_iter().enumerate() {
        let pose = Pose { centre: point(3.0, -2.0), rotation: Angle::deg(turn) };
        let look = look_at(&Scene::chart(Rig::default(), pose, i as u64));
        assert!(look.chart_score >= 0.5, "{turn}: {look:?}");
    }
}

/// Ten small prints, two rows of five, as people lay them out to save time.
fn rows_of_small_prints(seed: u64) -> Scene {
    let mut rng = Rng::new(seed);
    let camera = Camera::over(3000.0, 2000.0, Length::mm(36.0), Length::mm(360.0), Length::mm(900.0));
    let rig = Rig { camera, ..Rig::default() };
    let place = |i: usize| point((i % 5) as f64 * 66.0 - 132.0, (i / 5) as f64 * 98.0 - 49.0);
    let sheets = (0..10).map(|i| {
        let subject = Subject::ALL[(i + seed as usize) % Subject::ALL.len()];
        let print = Print::new(Format::MiniIntegral, Picture::new(subject, rng.bits()), rng.bits());
        Placed { print, pose: Pose { centre: place(i), rotation: Angle::deg(rng.between(-0.5, 0.5)) } }
    });
    let sheets: Vec<Placed> = sheets.collect();
    Scene {
        sheets,
        ..Scene::of(
            rig,
            Print::new(Format::MiniIntegral, Picture::new(Subject::Lake, 1), 1),
            Pose { centre: point(0.0, 0.0), rotation: Angle::deg(0.0) },
            seed,
        )
    }
}

#[test]
fn small_prints_in_rows_are_no_chart() {
    for seed in 1..4 {
        let look = look_at(&rows_of_small_prints(seed));
        assert!(look.chart_score < 0.5 && look.print_score >= 0.5, "{seed}: {look:?}");
    }
}
