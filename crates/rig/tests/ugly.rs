//! Frames that nobody would finish go the whole road, from the file to the report and the check, and none ends in a fault of ours.

#[path = "../../finish/tests/ugly/draw.rs"]
mod draw;

use base::Exit;
use codec::{Info, png};
use draw::{Dice, KINDS};
use finish::frame::Frames;
use finish::{Request, finish};
use rig::check;
use rig::check::check;
use std::path::Path;

/// A box with one frame of every kind; the first are a pixel high, wide, or both.
fn draw_box(card: &Path, seed: u64) {
    std::fs::create_dir_all(card).unwrap();
    let mut dice = Dice::new(seed);
    for (kind, name) in KINDS.iter().enumerate() {
        let (w, h) = match kind {
            0 => (1, 1),
            1 => (1, 200),
            2 => (300, 1),
            _ => (20 + dice.below(180), 20 + dice.below(180)),
        };
        let d = draw::draw(kind, w, h, seed);
        let path = card.join(format!("{}.png", name.replace(' ', "-")));
        png::write::<u8>(&path, w, h, &Info::default(), |rows| d.rows(rows)).unwrap();
    }
}

#[test]
fn a_box_of_ugly_frames_has_a_report_for_each() {
    for seed in 1..3 {
        let top = tempfile::tempdir().unwrap();
        let (card, out) = (top.path().join("card"), top.path().join("out"));
        draw_box(&card, seed);
        let request = Request { inputs: vec![card.clone()], out: out.clone(), ..Request::default() };
        let answer = finish(&request, &Frames::default(), &|_| {});
        assert_eq!(
            answer.exit,
            Exit::AllDone,
            "seed {seed}: {:?}",
            answer.entries.iter().filter(|e| e.outcome.report().is_none()).collect::<Vec<_>>()
        );
        for entry in &answer.entries {
            let report = entry.outcome.report().unwrap();
            let word = report.verdict.word();
            // What judges a print says nothing of a frame without one.
            assert!(
                report.frame.role.holds_print() || ["used", "unusable", "look"].contains(&word),
                "{}: {word}",
                entry.stem
            );
            assert!(report.frame.role.holds_print() || report.service.is_some(), "{}", entry.stem);
        }
        let checked = check(&check::Request { inputs: vec![card], ..check::Request::default() });
        let faults: Vec<&String> = checked.problems.iter().filter(|p| p.contains("internal error")).collect();
        assert!(faults.is_empty(), "seed {seed}: {faults:?}");
    }
}
