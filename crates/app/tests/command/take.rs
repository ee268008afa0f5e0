//! `fallside take` and the commands on a project: a whole evening, its links as its truth says, found, described, undone.
//!
//! The evening lies in `FALLSIDE_TRUTH`, or in `../shared/truth` beside the repository; where it is not, this test says so.

use serde_json::Value;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;

fn fallside(words: &[&str], project: &Path) -> Value {
    let o = Command::new(env!("CARGO_BIN_EXE_fallside"))
        .args(words)
        .arg("--in")
        .arg(project)
        .arg("--json")
        .output()
        .unwrap();
    let told = String::from_utf8_lossy(&o.stderr).into_owned();
    assert!(o.status.success(), "{words:?}: {told}");
    // One value, or a line for each event, of which the last is the answer.
    let text = String::from_utf8_lossy(&o.stdout).into_owned();
    let last = text.lines().last().unwrap_or_default();
    serde_json::from_str(&text)
        .or_else(|_| serde_json::from_str(last))
        .unwrap_or_else(|e| panic!("{words:?}: {e}: {text}"))
}

fn evening() -> Option<PathBuf> {
    let beside = || Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/truth");
    let truth = std::env::var_os("FALLSIDE_TRUTH").map_or_else(beside, PathBuf::from).join("evening");
    truth.is_dir().then_some(truth)
}

/// Frames of one print by its truth: the print's own name, and the stems of the files that show it.
fn prints(truth: &Value) -> BTreeMap<String, Vec<String>> {
    let mut all = BTreeMap::<String, Vec<String>>::new();
    for frame in truth["frames"].as_array().unwrap() {
        // A bed taken by mistake shows no print.
        let Some(print) = frame["print"].as_str() else { continue };
        let stem = Path::new(frame["card"].as_str().unwrap()).file_stem().unwrap().to_string_lossy().into_owned();
        all.entry(print.to_owned()).or_default().push(stem);
    }
    all
}

#[test]
fn an_evening_is_linked_as_its_truth_says() {
    let Some(evening) = evening() else {
        println!("take: no truth/evening here, so nothing was tested");
        return;
    };
    let truth: Value = serde_json::from_slice(&std::fs::read(evening.join("sitting.json")).unwrap()).unwrap();
    let project = tempfile::tempdir().unwrap();
    fallside(&["take", evening.join("card").to_str().unwrap(), "--box", "Shoebox 3"], project.path());
    let listed = fallside(&["list", "frames"], project.path());
    let mut ours = BTreeMap::<String, Vec<String>>::new();
    for frame in listed.as_array().or_else(|| listed["frames"].as_array()).unwrap_or_else(|| panic!("{listed:#}")) {
        if let Some(print) =
            frame["print"].as_str().map(str::to_owned).or(frame["print"].as_i64().map(|n| n.to_string()))
        {
            let name = frame["name"].as_str().or(frame["path"].as_str()).unwrap_or_else(|| panic!("{frame}"));
            ours.entry(print).or_default().push(Path::new(name).file_stem().unwrap().to_string_lossy().into_owned());
        }
    }
    let sets = |m: BTreeMap<String, Vec<String>>| {
        let mut sets: Vec<Vec<String>> = m
            .into_values()
            .map(|mut v| {
                v.sort();
                v
            })
            .collect();
        sets.sort();
        sets
    };
    assert_eq!(sets(ours.clone()), sets(prints(&truth)));
    twins_lie_on_one_another(&truth, &ours, project.path());
}

/// Near-twins by the truth, and no others, are proposed as a stack; what a person says of them stays, also when the catalogue is made anew
/// from the sidecars.
fn twins_lie_on_one_another(truth: &Value, ours: &BTreeMap<String, Vec<String>>, project: &Path) {
    let number = |stem: &String| ours.iter().find(|(_, stems)| stems.contains(stem)).map(|(print, _)| print.clone());
    let frames = prints(truth);
    let mut pictures = BTreeMap::<[&str; 2], Vec<String>>::new();
    for print in truth["prints"].as_array().unwrap() {
        let key = ["format", "picture"].map(|k| print[k].as_str().unwrap());
        let shown = frames.get(print["id"].as_str().unwrap()).and_then(|f| number(&f[0]));
        pictures.entry(key).or_default().extend(shown);
    }
    let twins: Vec<Vec<String>> = pictures.into_values().filter(|p| p.len() > 1).collect();
    assert!(!twins.is_empty(), "the truth has no twins: nothing was tested");
    let lie = |stacks: &Value| -> Vec<Vec<String>> {
        let text = |p: &Value| p.as_str().map_or_else(|| p.to_string(), str::to_owned);
        stacks.as_array().unwrap().iter().map(|s| s["prints"].as_array().unwrap().iter().map(text).collect()).collect()
    };
    fallside(&["stack", "propose"], project);
    assert_eq!(lie(&fallside(&["list", "stacks"], project)), twins);
    let (one, other) = (twins[0][0].as_str(), twins[0][1].as_str());
    let laid = fallside(&["stack", "put", one, other], project);
    assert_eq!((lie(&laid), &laid[0]["proposed"]), (twins.clone(), &Value::Bool(false)));
    assert_eq!(fallside(&["stack", "lift", other], project), serde_json::json!([]), "one alone is no stack");
    assert_eq!(
        fallside(&["stack", "propose"], project),
        serde_json::json!([]),
        "what was lifted out is not proposed again"
    );
    fallside(&["undo"], project);
    assert_eq!(fallside(&["list", "stacks"], project), laid, "undone, they lie as they lay");
    let found = fallside(&["find", "stack:1"], project);
    assert_eq!(found.as_array().map(Vec::len), Some(2), "{found:#}");
    fallside(&["rebuild"], project);
    assert_eq!(fallside(&["list", "stacks"], project), laid, "made anew, they lie as they lay");
}
