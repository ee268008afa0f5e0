//! Roles and verdicts by the built command: prints are judged, frames without one are used or unusable, and the counts speak of prints.

use crate::drawn::shoot;
use geometry::{Angle, point};
use optics::Pose;
use scene::{Format, Picture, Print, Rig, Scene, Subject};
use serde_json::Value;
use std::path::Path;
use std::process::Command;

fn report(out: &Path, stem: &str) -> Value {
    serde_json::from_slice(&std::fs::read(out.join(format!("reports/{stem}.report.json"))).unwrap()).unwrap()
}

fn of(subject: Subject, seed: u64) -> Scene {
    let print = Print::new(Format::SquareIntegral, Picture::new(subject, seed), seed);
    Scene::of(Rig::default(), print, Pose { centre: point(-1.0, 1.0), rotation: Angle::deg(90.6) }, seed)
}

#[test]
fn frames_without_a_print_are_used_or_say_why_not() {
    let top = tempfile::tempdir().unwrap();
    let (card, out) = (top.path().join("card"), top.path().join("out"));
    let mut hot = Rig::default();
    // Two and a half times as much light: the whole bed is over full scale.
    hot.sensor.level *= 2.5;
    let middle = Pose { centre: point(0.0, 0.0), rotation: Angle::deg(0.5) };
    shoot(&card, "F0.png", &Scene::flash_off(Rig::default(), 4), 0, 8.0);
    shoot(&card, "F1.png", &Scene::blank(Rig::default(), 5), 1, 8.0);
    shoot(&card, "F2.png", &Scene::chart(Rig::default(), middle, 6), 2, 8.0);
    shoot(&card, "F3.png", &of(Subject::Lake, 7), 3, 8.0);
    shoot(&card, "F4.png", &of(Subject::Colours, 8), 4, 8.0);
    shoot(&card, "F5.png", &Scene::blank(hot, 9), 5, 8.0);
    let run = |values: Option<&Path>| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_fallside"));
        command.arg("finish").arg(&card).arg("--out").arg(&out);
        values.iter().for_each(|v| {
            command.arg("--chart-values").arg(v);
        });
        let o = command.output().unwrap();
        assert_eq!(o.status.code(), Some(0), "{}", String::from_utf8_lossy(&o.stderr));
        String::from_utf8_lossy(&o.stderr).into_owned()
    };
    let said = run(None);
    let word = |stem: &str| {
        let r = report(&out, stem);
        format!("{} {}", r["frame"]["role"].as_str().unwrap(), r["verdict"].as_str().unwrap())
    };
    assert_eq!(
        ["F0", "F1", "F2", "F5"].map(word),
        ["ambient used", "blank used", "chart unusable", "blank unusable"],
        "{said}"
    );
    for print in ["F3", "F4"] {
        let r = report(&out, print);
        assert_eq!(
            (&r["frame"]["role"], &r["print"]["format"]),
            (&"front".into(), &"square-integral".into()),
            "{said}"
        );
        assert!(r.get("service").is_none() && ["keep", "look", "reshoot"].contains(&r["verdict"].as_str().unwrap()));
    }
    assert!(report(&out, "F2")["service"].as_str().unwrap().contains("--chart-values"));
    assert!(report(&out, "F5")["service"].as_str().unwrap().contains("clipped"));
    // Two prints, and two frames of the rig that serve nobody.
    let last = said.lines().last().unwrap();
    let count = |word: &str| {
        let part = last.split(['.', ',']).find(|p| p.trim().ends_with(word)).unwrap_or("0");
        part.trim().split(' ').next().unwrap().parse::<usize>().unwrap()
    };
    assert_eq!(count("keep") + count("look") + count("reshoot"), 2, "{last}");
    assert_eq!(count("unusable"), 2, "{last}");
    let page = std::fs::read_to_string(out.join("index.html")).unwrap();
    assert!(
        page.contains("id=\"unusable\"")
            && page.contains("Colour chart, unusable")
            && page.contains("Its values are not known")
    );
    let values = top.path().join("chart.txt");
    std::fs::write(&values, scene::chart::cgats()).unwrap();
    run(Some(&values));
    assert_eq!(word("F2"), "chart used");
}
