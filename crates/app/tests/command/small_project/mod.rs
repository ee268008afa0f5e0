//! A small project, drawn and taken in once for all tests of a file: an open print, one to ask about, a private one, a mini of
//! which nothing is said.

#[allow(dead_code)]
pub mod copy;

use crate::drawn::shoot;
use geometry::{Angle, point};
use optics::Pose;
use scene::{Format, Picture, Print, Rig, Scene, Subject};
use std::ffi::OsStr;
use std::path::Path;
use std::process::{Command, Output};
use std::sync::OnceLock;

/// Runs the command.
pub fn fallside(words: &[&dyn AsRef<OsStr>]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_fallside"));
    words.iter().for_each(|w| {
        command.arg(w);
    });
    command.output().unwrap()
}

/// All it said.
pub fn said(o: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&o.stdout), String::from_utf8_lossy(&o.stderr))
}

/// The project.
pub fn project() -> &'static Path {
    static PROJECT: OnceLock<tempfile::TempDir> = OnceLock::new();
    PROJECT
        .get_or_init(|| {
            let top = tempfile::tempdir().unwrap();
            make(top.path());
            top
        })
        .path()
}

/// A print nearly upright under the usual rig.
pub fn scene_of(format: Format, subject: Subject, seed: u64) -> Scene {
    let print = Print::new(format, Picture::new(subject, seed), seed);
    Scene::of(Rig::default(), print, Pose { centre: point(-1.0, 1.0), rotation: Angle::deg(90.6) }, seed)
}

fn make(project: &Path) {
    let card = project.join("card");
    shoot(&card, "F0.png", &Scene::blank(Rig::default(), 5), 0, 8.0);
    shoot(&card, "F1.png", &scene_of(Format::SquareIntegral, Subject::Lake, 7), 1, 8.0);
    shoot(&card, "F2.png", &scene_of(Format::WideIntegral, Subject::Beach, 8), 2, 8.0);
    shoot(&card, "F3.png", &scene_of(Format::SquareIntegral, Subject::Street, 9), 3, 8.0);
    shoot(&card, "F4.png", &scene_of(Format::MiniIntegral, Subject::Snow, 10), 4, 8.0);
    let o = fallside(&[&"take", &card, &"--in", &project]);
    assert!(o.status.code().is_some_and(|c| c < 2), "{}", said(&o));
    describe(
        project,
        "P0001",
        &[
            ("--title", "Low water <1>"),
            ("--alt", "Two boats lie in the mud."),
            ("--date", "2009-07?"),
            ("--privacy", "open"),
        ],
    );
    describe(
        project,
        "P0001",
        &[("--place", "The Old Harbour"), ("--people", "Ada Brook; Bo"), ("--note", "never again")],
    );
    describe(project, "P0002", &[("--title", "Ada at the window"), ("--people", "Ada Brook"), ("--privacy", "ask")]);
    describe(project, "P0002", &[("--place", "Mill Lane"), ("--subject", "a window"), ("--date", "2010-21")]);
    describe(project, "P0003", &[("--title", "Nobody's business"), ("--privacy", "private")]);
    let o = fallside(&[&"edit", &"add", &"tight", &"P0004", &"P0001", &"P0002", &"P0003", &"--in", &project]);
    assert!(o.status.success(), "{}", said(&o));
}

/// Says something of a print.
pub fn describe(project: &Path, print: &str, facts: &[(&str, &str)]) {
    let mut words: Vec<&dyn AsRef<OsStr>> = vec![&"describe", &print, &"--in", &project];
    facts.iter().for_each(|(k, v)| {
        words.push(k);
        words.push(v);
    });
    let o = fallside(&words);
    assert!(o.status.success(), "{}", said(&o));
}
