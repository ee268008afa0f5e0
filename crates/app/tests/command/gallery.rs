//! `fallside gallery` as a photographer uses it: a site from disk, made again only where it changed, with nothing private in it.

use crate::small_project::copy::files;
use crate::small_project::{describe, fallside, project, said};
use serde_json::Value;
use std::collections::BTreeMap;
use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::time::SystemTime;

/// One test at a time changes words of the project.
static WORDS: Mutex<()> = Mutex::new(());

fn gallery(out: &Path, more: &[&dyn AsRef<OsStr>]) -> Value {
    let folder = project();
    let mut all: Vec<&dyn AsRef<OsStr>> =
        vec![&"gallery", &"--in", &folder, &"--title", &"The <harbour> years", &"--out", &out, &"--json"];
    all.extend(more);
    let o = fallside(&all);
    assert!(o.status.success(), "{}", said(&o));
    serde_json::from_slice(&o.stdout).unwrap()
}

fn times(root: &Path) -> BTreeMap<PathBuf, SystemTime> {
    let time = |p: &PathBuf| std::fs::metadata(p).unwrap().modified().unwrap();
    files(root).into_iter().map(|p| (p.clone(), time(&p))).collect()
}

fn attributes<'a>(html: &'a str, name: &str) -> Vec<&'a str> {
    let key = format!(" {name}=\"");
    html.split(key.as_str()).skip(1).filter_map(|rest| rest.split('"').next()).collect()
}

#[test]
fn every_link_is_relative_and_leads_somewhere() {
    let _words = WORDS.lock();
    let out = tempfile::tempdir().unwrap();
    let answer = gallery(out.path(), &[&"--edit", &"tight"]);
    assert_eq!((answer["prints"].as_u64(), &answer["private"]), (Some(3), &serde_json::json!(["P0003"])));
    let pages: Vec<PathBuf> =
        files(out.path()).into_iter().filter(|p| p.extension().is_some_and(|e| e == "html")).collect();
    assert_eq!(pages.len(), 4);
    for page in &pages {
        let html = std::fs::read_to_string(page).unwrap();
        let beside = page.parent().unwrap();
        let mut links = [attributes(&html, "href"), attributes(&html, "src"), attributes(&html, "data-base")].concat();
        for set in attributes(&html, "srcset") {
            links.extend(set.split(", ").filter_map(|part| part.split(' ').next()));
        }
        assert!(links.len() > 6);
        for link in links.into_iter().filter(|l| !l.starts_with('#') && !l.starts_with("data:")) {
            assert!(!link.contains("//") && !link.starts_with('/'), "{}: {link}", page.display());
            assert!(beside.join(link).exists(), "{}: {link} leads nowhere", page.display());
        }
        // Every picture has its size and says what is seen.
        let images: Vec<&str> = html.split("<img ").skip(1).filter_map(|r| r.split('>').next()).collect();
        assert!(!images.is_empty());
        for image in images.iter().map(|i| format!(" {i}")) {
            for name in ["width", "height", "alt"] {
                assert!(attributes(&image, name).first().is_some_and(|v| !v.is_empty()), "{image}");
            }
        }
        assert!(html.contains("&lt;harbour&gt;") && !html.contains("<harbour>"));
    }
    let first = std::fs::read_to_string(out.path().join("prints/P0004.html")).unwrap();
    assert!(first.contains("rel=\"next\" href=\"P0001.html\"") && !first.contains("rel=\"prev\""));
}

/// IIIF Image API 3.0 section 5.7 and its implementation notes: the tiles that an `info.json` promises are the files there are.
#[test]
fn tiles_are_those_that_info_json_promises() {
    let _words = WORDS.lock();
    let out = tempfile::tempdir().unwrap();
    gallery(out.path(), &[&"--find", &"id:P0001", &"--address", &"https://example.org/a"]);
    let folder = out.path().join("iiif/P0001");
    let info: Value = serde_json::from_slice(&std::fs::read(folder.join("info.json")).unwrap()).unwrap();
    assert_eq!(info["id"], "https://example.org/a/iiif/P0001");
    let n = |v: &Value| v.as_u64().unwrap();
    let (w, h, tile) = (n(&info["width"]), n(&info["height"]), n(&info["tiles"][0]["width"]));
    let mut wanted = vec![("full/max".to_owned(), [w, h])];
    for size in info["sizes"].as_array().unwrap() {
        let (w, h) = (n(&size["width"]), n(&size["height"]));
        wanted.push((format!("full/{w},{h}"), [w, h]));
    }
    for s in info["tiles"][0]["scaleFactors"].as_array().unwrap().iter().map(n) {
        for y in (0..h).step_by((tile * s) as usize) {
            for x in (0..w).step_by((tile * s) as usize) {
                let (wr, hr) = ((tile * s).min(w - x), (tile * s).min(h - y));
                let size = [wr.div_ceil(s), hr.div_ceil(s)];
                wanted.push((format!("{x},{y},{wr},{hr}/{},{}", size[0], size[1]), size));
            }
        }
    }
    for (path, size) in &wanted {
        let file = folder.join(path).join("0/default.jpg");
        let head = codec::probe(&file).unwrap_or_else(|e| panic!("{path}: {e}"));
        assert_eq!([head.width as u64, head.height as u64], *size, "{path}");
    }
    let there = files(&folder).iter().filter(|p| p.ends_with("default.jpg")).count();
    assert_eq!(there, wanted.len(), "no file that nobody asks for");
    // White to the edge, with the print in the middle.
    let frame = codec::read(&folder.join("full/max/0/default.jpg"), &codec::Limits::default()).unwrap().frame;
    let pixels::Samples::U8(rgb) = frame.samples else { panic!("eight bits") };
    let row = |y: usize| &rgb[3 * y * frame.width..3 * (y + 1) * frame.width];
    assert!(row(0).iter().chain(row(frame.height - 1)).all(|v| *v == 255));
}

#[test]
fn only_what_changed_is_made_again() {
    let _words = WORDS.lock();
    let out = tempfile::tempdir().unwrap();
    let first = gallery(out.path(), &[&"--edit", &"tight", &"--newsletter", &"200"]);
    assert_eq!(first["made"], 3);
    let before = times(out.path());
    let again = gallery(out.path(), &[&"--edit", &"tight", &"--newsletter", &"200"]);
    assert_eq!((&again["made"], &again["written"], &again["gone"]), (&0.into(), &0.into(), &0.into()), "{again:#}");
    let after = times(out.path());
    let hidden = |p: &&PathBuf| p.ends_with(".fallside-files");
    assert!(before.iter().all(|(p, t)| hidden(&p) || after.get(p) == Some(t)) && before.len() == after.len());
    // New words: pages, no pictures.
    describe(project(), "P0004", &[("--title", "A mini")]);
    let words = gallery(out.path(), &[&"--edit", &"tight", &"--newsletter", &"200"]);
    describe(project(), "P0004", &[("--title", "")]);
    assert_eq!(words["made"], 0);
    assert!(words["written"].as_u64().unwrap() > 1);
    // Fewer prints: theirs are taken away, and nothing of anybody else.
    std::fs::write(out.path().join("CNAME"), "mine").unwrap();
    let fewer = gallery(out.path(), &[&"--find", &"id:P0001"]);
    assert!(fewer["gone"].as_u64().unwrap() >= 4, "{fewer:#}");
    assert!(!out.path().join("iiif/P0004").exists() && !out.path().join("newsletter.html").exists());
    assert!(out.path().join("CNAME").exists() && out.path().join("iiif/P0001/info.json").exists());
}

#[test]
fn what_is_private_is_nowhere_in_the_site() {
    let _words = WORDS.lock();
    let out = tempfile::tempdir().unwrap();
    let answer = gallery(out.path(), &[&"--all", &"--newsletter", &"120"]);
    for file in files(out.path()) {
        let bytes = std::fs::read(&file).unwrap();
        for name in ["Nobody's", "Nobody&#39;s", "P0003", "Mill Lane", "Ada at", "never again", "F2.png"] {
            assert!(!bytes.windows(name.len()).any(|w| w == name.as_bytes()), "{}: {name}", file.display());
        }
    }
    assert_eq!(answer["alt_missing"], serde_json::json!(["P0002", "P0004"]));
    let letter = std::fs::read_to_string(out.path().join("newsletter.html")).unwrap();
    assert!(letter.len() <= 120_000 && letter.len() > 30_000, "{}", letter.len());
    assert_eq!(letter.matches("data:image/jpeg;base64,").count(), 3);
    assert!(!letter.contains("http") && !letter.contains("<script") && letter.contains("Two boats lie in the mud."));
}

#[test]
fn a_folder_of_results_will_do_and_bad_words_are_told() {
    let _words = WORDS.lock();
    let top = tempfile::tempdir().unwrap();
    let out = top.path().join("site");
    let results = top.path().join("results");
    assert!(fallside(&[&"finish", &project().join("card"), &"--out", &results]).status.code().is_some_and(|c| c < 2));
    let o = fallside(&[&"gallery", &"--in", &results, &"--all", &"--out", &out]);
    assert!(o.status.success() && out.join("prints/F1.html").exists(), "{}", said(&o));
    let refuse = |words: &[&dyn AsRef<OsStr>], says: &str| {
        let o = fallside(words);
        assert_eq!(o.status.code(), Some(2), "{}", said(&o));
        assert!(said(&o).contains(says), "{says}: {}", said(&o));
    };
    refuse(&[&"gallery", &"--in", &results, &"--all", &"--out", &results], "did not write");
    refuse(&[&"share", &"--in", &results, &"--all", &"--out", &out], "another command");
    refuse(
        &[&"gallery", &"--in", &results, &"--all", &"--address", &"example.org", &"--out", &out],
        "not the address of a site",
    );
    refuse(&[&"gallery", &"--in", &top.path(), &"--all", &"--out", &out], "neither a project nor a folder of results");
    refuse(&[&"gallery", &"--in", &results, &"--all", &"--newsletter", &"20", &"--out", &out], "newsletter");
    // A mount that is gone has its line, and the others go on; one of another size too.
    std::fs::remove_file(results.join("mounts/F1.mount.tif")).unwrap();
    std::fs::copy(results.join("mounts/F4.mount.tif"), results.join("mounts/F2.mount.tif")).unwrap();
    let o = fallside(&[&"gallery", &"--in", &results, &"--all", &"--out", &top.path().join("other")]);
    assert_eq!(o.status.code(), Some(1), "{}", said(&o));
    assert!(
        said(&o).contains("F1: its mount is missing") && said(&o).contains("F2.mount.tif is damaged or was changed"),
        "{}",
        said(&o)
    );
    assert!(top.path().join("other/prints/F4.html").exists() && !top.path().join("other/prints/F2.html").exists());
}
