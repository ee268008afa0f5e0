//! `fallside plan` as a photographer runs it: words, JSON, the card, wishes that cannot be, and numbers that are none.

use std::process::{Command, Output};

fn plan(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_fallside")).arg("plan").args(arguments).output().unwrap()
}

fn said(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn complained(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

const RIG: [&str; 10] = [
    "--format",
    "square-integral",
    "--sensor",
    "36x24",
    "--pixels",
    "6000x4000",
    "--lens",
    "70mm-macro",
    "--flash-gn",
    "26",
];

#[test]
fn the_bare_word_plans_the_usual_rig() {
    let output = plan(&[]);
    assert_eq!(output.status.code(), Some(0), "{}", complained(&output));
    let text = said(&output);
    for part in ["Camera ", "Focus ", "Light ", "Exposure ", "Shadow ", "Gloss ", "Assumed "] {
        assert!(text.lines().any(|l| l.starts_with(part)), "{part}\n{text}");
    }
    assert!(text.lines().all(|l| l.chars().count() <= 80));
}

#[test]
fn inches_and_millimetres_plan_the_same_rig() {
    let metric = plan(&[&RIG[..], &["--light-distance", "1016mm", "--json"]].concat());
    let mut inches = RIG;
    (inches[3], inches[7]) = ("1.4173228x0.9448819in", "2.7559055in-macro");
    let inches = plan(&[&inches[..], &["--light-distance", "40in", "--json"]].concat());
    let height = |o: &Output| -> f64 {
        let answer: serde_json::Value = serde_json::from_str(&said(o)).unwrap();
        answer["camera"]["height_mm"].as_f64().unwrap()
    };
    assert!((height(&metric) - height(&inches)).abs() < 0.001, "{}", complained(&inches));
}

#[test]
fn json_names_its_schema_and_its_numbers_their_units() {
    let output = plan(&[&RIG[..], &["--json", "--prints", "140", "--backs", "written"]].concat());
    let answer: serde_json::Value = serde_json::from_str(&said(&output)).unwrap();
    assert_eq!(answer["schema"], "fallside.plan/1");
    assert_eq!(answer["possible"], true);
    assert_eq!(answer["forecast"]["backs"], 84.0);
    // G-family (derived, docs/references.md, lighting): N = GN / (d (1 + m)).
    let number = |a: &str, b: &str| answer[a][b].as_f64().unwrap();
    let by_hand = 26.0 / (number("light", "distance_mm") / 1000.0 * (1.0 + number("camera", "magnification")));
    assert!((number("exposure", "full_power_f_number") - by_hand).abs() < 1e-4);
}

#[test]
fn a_wish_that_cannot_be_is_answered_with_the_nearest_and_exits_with_one() {
    let output = plan(&[&RIG[..], &["--light-distance", "45cm", "--aim", "archive"]].concat());
    assert_eq!(output.status.code(), Some(1));
    let text = said(&output);
    assert!(text.contains("Falls short  The light falls off by") && text.contains("Move it to"), "{text}");
}

#[test]
fn numbers_that_are_none_get_one_clear_error_and_exit_with_two() {
    let cases: [(&[&str], &str); 15] = [
        (&["--lens", "70"], "Write 70mm"),
        (&["--lens", "0mm"], "not greater than zero"),
        (&["--lens", "-70mm"], "not greater than zero"),
        (&["--height", "NaN"], "not a length"),
        (&["--height", "99999999cm"], "must be between"),
        (&["--light-distance", "40"], "Write 40mm"),
        (&["--sensor", "4x5"], "4x5in"),
        (&["--sensor", "36"], "36x24mm"),
        (&["--pixels", "24MP"], "6000x4000"),
        (&["--shutter", "200"], "Write 1/200s"),
        (&["--ambient", "300"], "300lx"),
        (&["--sensor", "36x24", "--pixels", "4000x6000"], "different shapes"),
        (&["--ppi", "600", "--field", "160mm"], "contradict"),
        (&["--format", "postcard"], "There is no format"),
        (&["--elevation", "120"], "must be between"),
    ];
    for (arguments, part) in cases {
        let output = plan(arguments);
        let text = complained(&output);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        assert!(text.contains(part), "{arguments:?}: {text}");
        assert!(said(&output).is_empty() && !text.contains("panic") && !text.contains("internal error"), "{text}");
    }
}

#[test]
fn the_card_is_written_and_no_original_ever_is() {
    let top = tempfile::tempdir().unwrap();
    let (card, frame) = (top.path().join("rig.html"), top.path().join("F1.jpg"));
    std::fs::write(&frame, b"an original").unwrap();
    let output = plan(&[&RIG[..], &["--card", card.to_str().unwrap()]].concat());
    assert_eq!(output.status.code(), Some(0), "{}", complained(&output));
    assert!(std::fs::read_to_string(&card).unwrap().contains("Rig for square-integral prints"));
    let refused = plan(&["--card", frame.to_str().unwrap()]);
    assert_eq!(refused.status.code(), Some(1));
    assert_eq!(std::fs::read(&frame).unwrap(), b"an original");
    // A name alone is a file in this folder.
    let here = Command::new(env!("CARGO_BIN_EXE_fallside"))
        .args(["plan", "--card", "here.html"])
        .current_dir(top.path())
        .output()
        .unwrap();
    assert_eq!(here.status.code(), Some(0), "{}", complained(&here));
    assert!(top.path().join("here.html").exists());
}
