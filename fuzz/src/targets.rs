//! The readers.

use crate::Target;
use base::files::Originals;
use base::output_folder::{self, OutputFolder};
use serde::Serialize;
use serde::de::DeserializeOwned;
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use tempfile::TempDir;

const fn target(name: &'static str, longest: usize, run: fn(&[u8])) -> Target {
    Target { name, longest, run }
}

/// Longest texts: lists and settings of a box are some kilobytes.
const TEXT: usize = 8 << 10;
/// Longest pictures: directories, tables and several strips or scans.
const PICTURE: usize = 16 << 10;

pub const ALL: &[Target] = &[
    target("tiff", PICTURE, codec::fuzzed::tiff),
    target("dng", PICTURE, codec::fuzzed::dng),
    target("jpeg", PICTURE, codec::fuzzed::jpeg),
    target("exif", TEXT, codec::fuzzed::exif),
    target("icc", TEXT, codec::fuzzed::icc),
    target("whole", TEXT, codec::fuzzed::whole),
    target("wire", TEXT, codec::fuzzed::wire),
    target("cgats", TEXT, |bytes| drop(codec::cgats::chart_values(bytes))),
    target("xmp", TEXT, xmp),
    target("edtf", 64, edtf),
    target("sitting", TEXT, sitting),
    target("json", TEXT, json),
    target("list", TEXT, list),
    target("bag", TEXT, bag),
];

fn text(bytes: &[u8]) -> &str {
    str::from_utf8(bytes).unwrap_or_default()
}

fn xmp(bytes: &[u8]) {
    codec::fuzzed::xmp(text(bytes));
    let _ = project::is_sidecar(text(bytes));
}

fn edtf(bytes: &[u8]) {
    let _ = text(bytes).parse::<catalogue::PrintId>();
    let Ok(date) = catalogue::Edtf::parse(text(bytes)) else { return };
    let (from, to) = date.days();
    assert!(from <= to, "a date ends before it begins");
    let _ = (catalogue::day_text(from), catalogue::day_text(to));
    assert_eq!(catalogue::Edtf::parse(date.text()).map(|d| d.days()), Ok((from, to)), "a date does not come back");
}

/// The file of a sitting, in a folder of its own. What was read can be written and read again.
fn sitting(bytes: &[u8]) {
    let Some(folder) = folder() else { return };
    let place = folder.path().join(finish::sitting::NAME);
    let read = |text: &[u8]| fs::write(&place, text).is_ok().then(|| finish::sitting::Sitting::read(folder.path()));
    if let Some(Ok(Some(sitting))) = read(bytes) {
        let text = sitting.to_toml();
        match read(text.as_bytes()) {
            Some(Ok(Some(again))) => assert_eq!(again.to_toml(), text, "a sitting does not come back"),
            other => panic!("a sitting that was read cannot be written: {other:?}"),
        }
    }
}

/// Every written form in JSON, by the first byte.
fn json(bytes: &[u8]) {
    let Some((kind, bytes)) = bytes.split_first() else { return };
    match kind % 6 {
        0 => again::<finish::report::Report>(bytes),
        1 => again::<finish::recipe::Recipe>(bytes),
        2 => again::<finish::recipe::ByHand>(bytes),
        3 => again::<finish::job::Look>(bytes),
        4 => again::<rig::plan::Answer>(bytes),
        _ => again::<desk::wire::request::ExportRequest>(bytes),
    }
}

fn again<T: Serialize + DeserializeOwned>(bytes: &[u8]) {
    let Ok(read) = serde_json::from_slice::<T>(bytes) else { return };
    let once = serde_json::to_string(&read).unwrap_or_default();
    let twice = serde_json::from_str::<T>(&once).map(|v| serde_json::to_string(&v).unwrap_or_default());
    assert_eq!(twice.ok().as_deref(), Some(once.as_str()), "a written form does not come back");
}

/// A folder that was handed on, its list made of the bytes behind the first: nothing of somebody else's may go.
fn list(bytes: &[u8]) {
    let (Some((kind, lines)), Some(top)) = (bytes.split_first(), folder()) else { return };
    let outside = [top.path().join("outside/keep.jpg"), top.path().join("keep.jpg")];
    let root = top.path().join("handed");
    let inside = ["own.jpg", "iiif/a/note.txt", "prints/mine.html", "frames/mine.jpg"].map(|p| root.join(p));
    let own: Vec<_> = outside.iter().chain(&inside).collect();
    if own.iter().any(|p| put(p, b"somebody's own").is_none()) {
        return;
    }
    handed_on(&root, *kind, text(lines));
    for place in own {
        assert!(fs::read(place).is_ok_and(|b| b == b"somebody's own"), "{} is gone or changed", place.display());
    }
}

/// Opens a folder that was handed on with these lines in its list, clears it of all that is no longer wanted, and closes it.
fn handed_on(root: &Path, kind: u8, lines: &str) {
    let kind = [output_folder::SHARES, output_folder::GALLERY, output_folder::DEMONSTRATION][usize::from(kind) % 3];
    if fs::write(root.join(output_folder::LIST), format!("{}\n{lines}", output_folder::first_line(kind))).is_err() {
        return;
    }
    if let Ok(open) = OutputFolder::open(root, kind, &Originals::default(), &[]) {
        open.keep_only(&BTreeSet::new());
        let _ = open.close();
    }
}

/// An archive whose manifests are made of the bytes, cut at zeros: verified, and looked at as one that packing goes on with.
fn bag(bytes: &[u8]) {
    let Some(top) = folder() else { return };
    let (root, outside) = (top.path().join("bag"), top.path().join("outside.txt"));
    let mut parts = bytes.split(|b| *b == 0);
    let names = ["manifest-sha512.txt", "tagmanifest-sha512.txt", "packing.txt", "bag-info.txt", "last-good-check.txt"];
    let files = names.iter().map(|name| (*name, parts.next().unwrap_or_default()));
    let declared: &[u8] = b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n";
    let fixed = [("bagit.txt", declared), ("data/a.txt", b"a"), ("../outside.txt", b"somebody's own")];
    if files.chain(fixed).any(|(name, bytes)| put(&root.join(name), bytes).is_none()) {
        return;
    }
    let _ = handoff::pack::verify(&root, &[], &|_| {});
    let _ = handoff::pack::can_go_on(&root);
    assert!(fs::read(&outside).is_ok_and(|b| b == b"somebody's own"), "a file outside the archive changed");
}

fn folder() -> Option<TempDir> {
    // In memory where the system has such a folder: thousands of them a minute.
    let memory = Path::new("/dev/shm");
    if memory.is_dir() { tempfile::tempdir_in(memory) } else { tempfile::tempdir() }.ok()
}

fn put(place: &Path, bytes: &[u8]) -> Option<()> {
    fs::create_dir_all(place.parent()?).ok()?;
    fs::write(place, bytes).ok()
}
