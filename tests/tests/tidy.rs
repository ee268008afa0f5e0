//! Order in the source is a test: module docs, crate arrows, the map, generated files, licences, file sizes, no stubs.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap().to_owned()
}

/// Files under `folder` with an ending, leaving out what is built or fetched.
fn files(folder: &Path, ending: &str) -> Vec<PathBuf> {
    let mut found = vec![];
    for entry in std::fs::read_dir(folder).unwrap().map(Result::unwrap) {
        let (path, name) = (entry.path(), entry.file_name().to_string_lossy().into_owned());
        if name.starts_with('.') || name.starts_with("target") || name == "node_modules" {
            continue;
        } else if path.is_dir() {
            found.extend(files(&path, ending));
        } else if path.extension().is_some_and(|e| e == ending) {
            found.push(path);
        }
    }
    found.sort();
    found
}

fn sources() -> Vec<(String, String)> {
    let all: Vec<_> = ["crates", "fuzz", "tests", "xtask"].iter().flat_map(|f| files(&root().join(f), "rs")).collect();
    assert!(all.len() > 30, "the walk over the source found {} files", all.len());
    all.iter()
        .map(|p| (p.strip_prefix(root()).unwrap().to_string_lossy().into_owned(), std::fs::read_to_string(p).unwrap()))
        .collect()
}

#[test]
fn every_module_opens_with_a_doc_line() {
    let silent: Vec<_> =
        sources().into_iter().filter(|(_, text)| !text.starts_with("//! ")).map(|(name, _)| name).collect();
    assert_eq!(silent, Vec::<String>::new(), "these open without `//! `");
}

#[test]
fn files_stay_small_enough_to_read() {
    // From docs/decisions: a file of more than 800 lines holds more than one subject.
    let long: Vec<_> = sources()
        .into_iter()
        .map(|(name, text)| (name, text.lines().count()))
        .filter(|(_, lines)| *lines > 800)
        .collect();
    assert_eq!(long, Vec::<(String, usize)>::new());
}

#[test]
fn pictures_stay_small_and_are_shown() {
    // 200 kB: two pictures of a README load in a blink, and a few hundred versions of them still make a light repository.
    let readme = std::fs::read_to_string(root().join("README.md")).unwrap();
    let pictures: Vec<_> = files(&root().join("docs/pictures"), "jpg");
    assert!(!pictures.is_empty(), "scripts/pictures makes them");
    for picture in pictures {
        let name = picture.strip_prefix(root()).unwrap().to_string_lossy().into_owned();
        let size = std::fs::metadata(&picture).unwrap().len();
        if name.starts_with("docs/pictures/rooms/") {
            // A sheet of a dozen rooms, drawn when they change and looked at beside the last one: as much as two pictures and a half.
            assert!(size <= 500_000, "{name}: {size} bytes");
            continue;
        }
        assert!(size <= 200_000, "{name}: {size} bytes");
        assert!(readme.contains(&format!("({name})")), "README.md does not show {name}");
    }
}

#[test]
fn nothing_is_left_for_later() {
    // Spelt in two halves, so that this file does not find itself.
    let marks = [concat!("TO", "DO"), concat!("FIX", "ME"), concat!("unimplemented", "!"), concat!("to", "do!(")];
    let left: Vec<_> = sources()
        .into_iter()
        .filter_map(|(name, text)| marks.iter().find(|m| text.contains(**m)).map(|m| format!("{name}: {m}")))
        .collect();
    assert_eq!(left, Vec::<String>::new());
}

/// Which of our crates each crate may use: only downward (ARCHITECTURE.md).
const ARROWS: &[(&str, &[&str])] = &[
    ("dates", &[]),
    ("geometry", &[]),
    ("optics", &["geometry"]),
    ("pixels", &["geometry"]),
    ("catalogue", &["dates"]),
    ("publish", &["codec", "pixels", "geometry", "dates"]),
    ("codec", &["pixels"]),
    ("print", &["optics", "pixels", "geometry"]),
    ("correct", &["print", "pixels", "geometry"]),
    ("scene", &["optics", "pixels", "geometry"]),
    ("base", &["codec", "catalogue"]),
    ("finish", &["base", "optics", "print", "correct", "codec", "scene", "catalogue", "publish", "pixels", "geometry"]),
    ("rig", &["finish", "base", "optics", "print", "correct", "codec", "publish", "pixels", "geometry"]),
    ("project", &["finish", "base", "print", "codec", "catalogue", "pixels", "geometry"]),
    ("handoff", &["project", "finish", "base", "catalogue", "publish", "geometry"]),
    (
        "desk",
        &["handoff", "project", "rig", "finish", "base", "print", "correct", "codec", "catalogue", "publish", "pixels"],
    ),
    ("app", &["desk", "handoff", "project", "rig", "finish", "base"]),
];

/// The names under `[dependencies]` of a crate's manifest.
fn dependencies(name: &str) -> Vec<String> {
    let text = std::fs::read_to_string(root().join("crates").join(name).join("Cargo.toml")).unwrap();
    let section = text.split("\n[dependencies]\n").nth(1).unwrap_or_default();
    let lines = section.lines().take_while(|l| !l.starts_with('['));
    lines
        .filter_map(|l| l.split(['.', '=', ' ']).next())
        .filter(|n| !n.is_empty() && !n.starts_with('#'))
        .map(str::to_owned)
        .collect()
}

#[test]
fn crates_use_only_those_below_them() {
    let ours: BTreeMap<&str, &[&str]> = ARROWS.iter().copied().collect();
    for entry in std::fs::read_dir(root().join("crates")).unwrap().map(Result::unwrap) {
        let name = entry.file_name().to_string_lossy().into_owned();
        let allowed =
            ours.get(name.as_str()).unwrap_or_else(|| panic!("{name} has no arrows: say which crates it may use"));
        for used in dependencies(&name).iter().filter(|d| ours.contains_key(d.as_str())) {
            assert!(allowed.contains(&used.as_str()), "{name} uses {used}, which is not below it");
        }
    }
    assert!(dependencies("finish").contains(&"codec".to_owned()), "the manifests are read as meant");
}

#[test]
fn the_map_names_every_crate() {
    let map = std::fs::read_to_string(root().join("ARCHITECTURE.md")).unwrap();
    for (name, _) in ARROWS {
        assert!(map.contains(&format!("`crates/{name}`")), "ARCHITECTURE.md does not name crates/{name}");
    }
}

#[test]
fn links_in_the_documents_lead_somewhere() {
    for page in files(&root(), "md") {
        let text = std::fs::read_to_string(&page).unwrap();
        for link in text.split("](").skip(1).filter_map(|rest| rest.split(')').next()) {
            if link.starts_with("http") || link.starts_with('#') {
                continue;
            }
            let target = page.parent().unwrap().join(link.split('#').next().unwrap());
            assert!(target.exists(), "{}: {link} leads nowhere", page.display());
        }
    }
}

#[test]
fn source_files_named_in_the_documents_exist() {
    for page in files(&root(), "md") {
        let text = std::fs::read_to_string(&page).unwrap();
        let paths = text.split('`').filter(|t| t.starts_with("crates/") && t.ends_with(".rs") && !t.contains(' '));
        for path in paths {
            assert!(root().join(path).exists(), "{}: {path} does not exist", page.display());
        }
    }
}

#[test]
fn generated_files_are_current() {
    for (name, text) in xtask::generated() {
        let held = std::fs::read_to_string(root().join(name)).unwrap_or_default();
        assert!(held == text, "{name} is out of date: run `cargo xtask gen`");
    }
}

/// Licences that may be linked into a program given away as MIT or Apache-2.0.
const LICENCES: &[&str] = &[
    "MIT",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "Zlib",
    "ISC",
    "IJG",
    "CC0-1.0",
    "Unlicense",
    "Unicode-3.0",
    "0BSD",
    "BSL-1.0",
    "NCSA",
    "MIT-0",
    "bzip2-1.0.6",
];
/// Crates under another licence, with the reason they are used all the same.
const EXCEPTIONS: &[(&str, &str)] = &[
    // The reader of camera raw files, the only one that knows the common mirrorless cameras: used unchanged, from the
    // registry, behind the feature `raw` of `codec`, so that whoever may not link it can build without it.
    ("rawler", "LGPL-2.1"),
];

#[test]
fn every_licence_is_known() {
    // For this machine's own platform: what is linked here, and what is already fetched.
    let rustc = std::process::Command::new("rustc").arg("-vV").output().unwrap().stdout;
    let host =
        String::from_utf8(rustc).unwrap().lines().find_map(|l| l.strip_prefix("host: ").map(str::to_owned)).unwrap();
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".into());
    let out = std::process::Command::new(cargo)
        .args(["metadata", "--format-version", "1", "--locked", "--filter-platform", &host])
        .current_dir(root())
        .output()
        .unwrap();
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let metadata: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    let packages = metadata["packages"].as_array().unwrap();
    assert!(packages.len() > 20, "cargo metadata lists {} packages", packages.len());
    for package in packages {
        let (name, licence) = (package["name"].as_str().unwrap(), package["license"].as_str().unwrap_or("none said"));
        let exception = EXCEPTIONS.iter().any(|(n, l)| *n == name && *l == licence);
        assert!(exception || allowed(licence), "{name}: licence {licence} is not on the list");
    }
}

/// An SPDX expression that one of our licences satisfies: any alternative of which every part is on the list.
fn allowed(expression: &str) -> bool {
    let flat = expression.replace(['(', ')'], "").replace('/', " OR ");
    flat.split(" OR ").any(|choice| choice.split(" AND ").all(|part| LICENCES.contains(&part.trim())))
}

#[test]
fn licence_expressions_are_read_as_choices() {
    assert!(allowed("MIT OR GPL-3.0") && allowed("Apache-2.0/MIT") && allowed("(MIT OR Apache-2.0) AND Unicode-3.0"));
    assert!(!allowed("GPL-3.0") && !allowed("LGPL-2.1") && !allowed("none said"));
}
