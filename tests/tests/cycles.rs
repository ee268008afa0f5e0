//! No two modules of a crate import each other, directly or in a ring: a module can be read with what lies below it.
//!
//! Siblings are compared at every level: a module counts with everything inside it. A parent and its child may name each other,
//! as Rust's own `mod` and `pub use` make them do. Unit tests at the foot of a file do not count.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// A module's path within its crate, `["plan", "card"]`; the crate root is empty.
type Module = Vec<String>;

/// Every module of a crate, with its source.
fn modules(src: &Path) -> BTreeMap<Module, String> {
    let mut found = BTreeMap::new();
    let mut folders = vec![src.to_owned()];
    while let Some(folder) = folders.pop() {
        for path in std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()) {
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "rs") {
                found.insert(module_of(src, &path), std::fs::read_to_string(&path).unwrap());
            }
        }
    }
    found
}

fn module_of(src: &Path, file: &Path) -> Module {
    let parts = file.strip_prefix(src).unwrap().with_extension("");
    let parts: Module = parts.iter().map(|p| p.to_string_lossy().into_owned()).collect();
    if parts == ["lib"] || parts == ["main"] { vec![] } else { parts }
}

/// The code without comments, and without the unit tests.
fn code(text: &str) -> String {
    let text = text.split("#[cfg(test)]\nmod tests").next().unwrap();
    text.lines().map(|l| l.split("//").next().unwrap()).collect::<Vec<_>>().join("\n")
}

/// Every path of two or more names that the code writes, those of a `use` spelt out.
fn paths(code: &str) -> Vec<Module> {
    let mut found = vec![];
    let mut rest = code;
    while let Some(start) = rest.find(|c: char| c.is_alphabetic() || c == '_') {
        rest = &rest[start..];
        let path_end = rest.find(|c: char| !(c.is_alphanumeric() || c == '_' || c == ':')).unwrap_or(rest.len());
        let word = &rest[..path_end];
        let is_tree = rest[path_end..].starts_with('{') && word.ends_with("::");
        if is_tree {
            let inside = &rest[path_end + 1..path_end + closing(&rest[path_end..])];
            expand(word, inside, &mut found);
            rest = &rest[path_end + inside.len() + 2..];
        } else {
            found.push(split(word));
            rest = &rest[path_end..];
        }
    }
    found.retain(|p| p.len() > 1);
    found
}

fn split(word: &str) -> Module {
    word.split("::").filter(|w| !w.is_empty()).map(str::to_owned).collect()
}

/// Where the brace that opens `text` is closed.
fn closing(text: &str) -> usize {
    let mut depth = 0;
    for (i, c) in text.char_indices() {
        depth += i32::from(c == '{') - i32::from(c == '}');
        if depth == 0 {
            return i;
        }
    }
    text.len()
}

/// The paths of a tree `prefix::{inside}`.
fn expand(prefix: &str, inside: &str, found: &mut Vec<Module>) {
    let (mut depth, mut from) = (0, 0);
    for (i, c) in inside.char_indices().chain([(inside.len(), ',')]) {
        depth += i32::from(c == '{') - i32::from(c == '}');
        if depth > 0 || c != ',' {
            continue;
        }
        let part = inside[from..i].trim();
        from = (i + 1).min(inside.len());
        match part.split_once('{') {
            Some((more, inner)) => expand(&format!("{prefix}{more}"), inner.trim_end_matches('}'), found),
            None => found.push(split(&format!("{prefix}{}", part.split(' ').next().unwrap()))),
        }
    }
}

/// The module that a path written in `within` leads to; `None` where it leads out of the crate.
fn target(path: &[String], within: &Module, all: &BTreeMap<Module, String>) -> Option<Module> {
    let mut names = path;
    let mut module = within.clone();
    let begins = |name: &str| names_first(path) == name;
    if begins("crate") {
        module.clear();
        names = &names[1..];
    } else if begins("super") || begins("self") {
        while let Some((first, rest)) = names.split_first().filter(|(f, _)| *f == "super" || *f == "self") {
            if first == "super" {
                module.pop();
            }
            names = rest;
        }
    } else if !all.contains_key(&[within.as_slice(), &path[..1]].concat()) {
        return None;
    }
    for name in names {
        module.push(name.clone());
        if !all.contains_key(&module) {
            module.pop();
            break;
        }
    }
    Some(module)
}

fn names_first(path: &[String]) -> &str {
    path.first().map_or("", String::as_str)
}

/// Which siblings each module uses: both are named by their full paths, which differ in the last name only.
fn uses(all: &BTreeMap<Module, String>) -> BTreeMap<Module, BTreeSet<Module>> {
    let mut graph: BTreeMap<Module, BTreeSet<Module>> = BTreeMap::new();
    for (module, text) in all {
        for used in paths(&code(text)).iter().filter_map(|p| target(p, module, all)) {
            let shared = module.iter().zip(&used).take_while(|(a, b)| a == b).count();
            if shared < module.len() && shared < used.len() {
                graph.entry(module[..=shared].to_vec()).or_default().insert(used[..=shared].to_vec());
            }
        }
    }
    graph
}

/// Everything that can be reached from a module.
fn reached(from: &Module, graph: &BTreeMap<Module, BTreeSet<Module>>) -> BTreeSet<Module> {
    let mut seen = BTreeSet::new();
    let mut open = vec![from.clone()];
    while let Some(module) = open.pop() {
        for next in graph.get(&module).into_iter().flatten() {
            if seen.insert(next.clone()) {
                open.push(next.clone());
            }
        }
    }
    seen
}

/// The modules of a crate that lie in a ring.
fn rings(all: &BTreeMap<Module, String>) -> Vec<String> {
    let graph = uses(all);
    graph.keys().filter(|m| reached(m, &graph).contains(*m)).map(|m| m.join("::")).collect()
}

#[test]
fn no_two_modules_of_a_crate_import_each_other() {
    let crates = Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap().join("crates");
    let folders: Vec<PathBuf> = std::fs::read_dir(crates).unwrap().map(|e| e.unwrap().path()).collect();
    assert!(folders.len() > 10, "the walk found {} crates", folders.len());
    let found: Vec<String> = folders
        .iter()
        .flat_map(|f| {
            let name = f.file_name().unwrap().to_string_lossy().into_owned();
            rings(&modules(&f.join("src"))).into_iter().map(move |m| format!("{name}: {m}"))
        })
        .collect();
    assert_eq!(found, Vec::<String>::new(), "these modules import each other in a ring");
}

#[test]
fn a_ring_is_found_and_a_ladder_is_none() {
    let crate_of = |files: &[(&str, &str)]| -> BTreeMap<Module, String> {
        files.iter().map(|(m, text)| (split(m), (*text).to_owned())).collect()
    };
    let ring = crate_of(&[("", "mod a; mod b;"), ("a", "use crate::b::{X, y::Z};"), ("b", "fn f() { super::a::g() }")]);
    assert_eq!(rings(&ring), ["a", "b"]);
    let ladder = crate_of(&[
        ("", "mod a; mod b;"),
        ("a", "use crate::b::X; mod c;"),
        ("b", "// crate::a"),
        ("a::c", "use super::W;"),
    ]);
    assert_eq!(rings(&ladder), Vec::<String>::new());
    let nested = crate_of(&[("", ""), ("a", ""), ("b", "use crate::a::c;"), ("a::c", "use {crate::b::X};")]);
    assert_eq!(rings(&nested), ["a", "b"]);
}
