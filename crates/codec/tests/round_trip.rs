//! What is written is read back; general libraries agree on what was written.

use codec::jpeg::Subsampling;
use codec::tiff::Compression;
use codec::{Error, Format, Info, Limits, Metadata, icc, jpeg, png, probe, read, tiff, xmp};
use pixels::Samples;
use std::path::PathBuf;

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().unwrap()
}

/// A ramp with texture that no compressor finds trivial.
fn code(x: usize, y: usize, c: usize) -> u16 {
    ((x * 517 + y * 1033 + c * 21_845) ^ (x * y * 7 + c)) as u16
}

fn rows(width: usize) -> impl Fn(std::ops::Range<usize>) -> Vec<u16> + Sync {
    move |r| r.flat_map(|y| (0..width).flat_map(move |x| (0..3).map(move |c| code(x, y, c)))).collect()
}

fn info() -> Info {
    Info {
        px_per_mm: Some(38.2),
        icc: Some(icc::eci_rgb_v2()),
        xmp: Some(xmp::packet(&xmp::Packet { title: Some("Harbour & é".into()), ..Default::default() })),
        description: Some("A harbour, evening".into()),
        software: Some("Fallside test".into()),
        original: Some(Metadata {
            make: Some("Testbench".into()),
            model: Some("Testbench 24".into()),
            exposure_s: Some(1.0 / 200.0),
            f_number: Some(8.0),
            iso: Some(100),
            focal_length_mm: Some(60.0),
            taken: Some("2026:03:01 20:15:00".into()),
            flash_fired: Some(true),
            artist: Some("Ada Vale".into()),
            copyright: Some("© Ada Vale".into()),
            clock: clock(),
            ..Default::default()
        }),
    }
}

/// Digitised, offset and sub-seconds of the exposure (tags of DC-008, Exif 2.32).
fn clock() -> Vec<(u16, String)> {
    vec![(36868, "2026:03:01 20:15:01".into()), (36881, "+02:00".into()), (37521, "042".into())]
}

fn check_words(m: &Metadata) {
    assert_eq!(m.model.as_deref(), Some("Testbench 24"));
    assert_eq!(m.exposure_s, Some(0.005));
    assert_eq!(m.f_number, Some(8.0));
    assert_eq!(m.iso, Some(100));
    assert_eq!(m.focal_length_mm, Some(60.0));
    assert_eq!(m.taken.as_deref(), Some("2026:03:01 20:15:00"));
    assert_eq!(m.flash_fired, Some(true));
    assert_eq!((m.artist.as_deref(), m.copyright.as_deref()), (Some("Ada Vale"), Some("© Ada Vale")));
    assert_eq!(m.clock, clock());
    assert!((m.px_per_mm.unwrap() - 38.2).abs() < 1e-6, "{:?}", m.px_per_mm);
    assert!(String::from_utf8_lossy(m.xmp.as_ref().unwrap()).contains("Harbour &amp; é"));
}

#[test]
fn tiff_is_exact_in_both_packings() {
    let dir = folder();
    // Three sizes: one row, several strips, odd sizes.
    for (w, h) in [(1, 1), (700, 901), (333, 17)] {
        for packing in [Compression::Deflate, Compression::None] {
            let path = dir.path().join(format!("{w}x{h}-{packing:?}.tif"));
            tiff::write(&path, w, h, &info(), packing, rows(w)).unwrap();
            let first = std::fs::read(&path).unwrap();
            tiff::write(&path, w, h, &info(), packing, rows(w)).unwrap();
            assert!(first == std::fs::read(&path).unwrap(), "the same bytes twice");
            let back = read(&path, &Limits::default()).unwrap();
            assert_eq!((back.frame.width, back.frame.height, back.format), (w, h, Format::Tiff));
            assert!(back.frame.samples == Samples::U16(rows(w)(0..h)));
            assert!(back.notes.is_empty(), "{:?}", back.notes);
            assert_eq!(back.icc, info().icc);
            check_words(&back.metadata);
            let ours = pixels::Primaries::eci_rgb_v2().0;
            let theirs = back.frame.encoding.primaries.0;
            for (a, b) in ours.as_flattened().iter().zip(theirs.as_flattened()) {
                assert!((a - b).abs() < 3e-5, "{ours:?} {theirs:?}");
            }
            // L* 50 is 18.42 % of light (CIE 15:2018).
            assert!((back.frame.encoding.tone.table(16)[32768] - 0.184_19).abs() < 2e-5);
        }
    }
}

#[test]
fn deflate_makes_a_white_surround_small() {
    let dir = folder();
    let path = dir.path().join("white.tif");
    tiff::write(&path, 700, 900, &info(), Compression::Deflate, |r| vec![65535; 3 * 700 * r.len()]).unwrap();
    let (packed, plain) = (std::fs::metadata(&path).unwrap().len(), 6 * 700 * 900);
    assert!(packed * 50 < plain, "{packed} of {plain}");
}

#[test]
fn png_is_exact_in_both_depths() {
    let dir = folder();
    let (w, h) = (501, 77);
    let path = dir.path().join("sixteen.png");
    png::write(&path, w, h, &info(), rows(w)).unwrap();
    let back = read(&path, &Limits::default()).unwrap();
    assert!(back.frame.samples == Samples::U16(rows(w)(0..h)));
    assert_eq!(back.icc, info().icc);
    check_words(&back.metadata);
    let eight = |r| rows(w)(r).into_iter().map(|v| (v >> 8) as u8).collect::<Vec<_>>();
    let path = dir.path().join("eight.png");
    png::write(&path, w, h, &Info { icc: None, ..info() }, eight).unwrap();
    let back = read(&path, &Limits::default()).unwrap();
    assert!(back.frame.samples == Samples::U8(eight(0..h)));
    assert!((back.frame.encoding.tone.table(8)[128] - 0.215_861).abs() < 1e-5, "sRGB 128 (IEC 61966-2-1)");
    assert!(back.notes.is_empty() && !back.frame.encoding.display_referred);
}

#[test]
fn jpeg_keeps_its_words_and_nearly_its_pixels() {
    let dir = folder();
    let (w, h) = (320, 200);
    let smooth: Vec<u8> =
        (0..h).flat_map(|y| (0..w).flat_map(move |x| [(x / 2) as u8, y as u8, ((x + y) / 3) as u8])).collect();
    for (sampling, tolerance) in [(Subsampling::Full, 4), (Subsampling::Half, 8), (Subsampling::Quarter, 10)] {
        let path = dir.path().join("a.jpg");
        let info = Info { icc: Some(icc::srgb()), ..info() };
        jpeg::write(&path, w, h, &smooth, 95, sampling, &info).unwrap();
        let back = read(&path, &Limits::default()).unwrap();
        let Samples::U8(s) = &back.frame.samples else { panic!("8 bits") };
        let worst = s.iter().zip(&smooth).map(|(a, b)| a.abs_diff(*b)).max().unwrap();
        assert!(worst <= tolerance, "{sampling:?} {worst}");
        assert!(back.frame.encoding.display_referred);
        assert_eq!(back.icc, info.icc);
        check_words(&back.metadata);
        assert_eq!(probe(&path).unwrap().metadata, back.metadata);
    }
}

#[test]
fn an_independent_reader_finds_the_exif() {
    // kamadak-exif, a general Exif library.
    let dir = folder();
    let (w, h) = (64, 48);
    let tif = dir.path().join("a.tif");
    tiff::write(&tif, w, h, &info(), Compression::Deflate, rows(w)).unwrap();
    let jpg = dir.path().join("a.jpg");
    jpeg::write(&jpg, w, h, &vec![90; 3 * w * h], 90, Subsampling::Full, &info()).unwrap();
    let pngs = dir.path().join("a.png");
    png::write(&pngs, w, h, &info(), rows(w)).unwrap();
    for path in [tif, jpg, pngs] {
        let file = std::fs::File::open(&path).unwrap();
        let exif = exif::Reader::new().read_from_container(&mut std::io::BufReader::new(file)).unwrap();
        let text = |tag| exif.get_field(tag, exif::In::PRIMARY).unwrap().display_value().to_string();
        assert_eq!(text(exif::Tag::ExposureTime), "1/200");
        assert_eq!(text(exif::Tag::DateTimeOriginal), "2026-03-01 20:15:00");
        assert_eq!(text(exif::Tag::Software), "\"Fallside test\"");
        assert_eq!(text(exif::Tag::XResolution), "970.28");
        assert_eq!(text(exif::Tag::ExifVersion), "2.32");
    }
}

#[test]
fn a_full_or_missing_folder_leaves_nothing() {
    let dir = folder();
    let path: PathBuf = dir.path().join("no/such/folder/a.tif");
    let failed = tiff::write(&path, 4, 4, &info(), Compression::Deflate, rows(4));
    assert!(matches!(failed, Err(Error::Write { .. })), "{failed:?}");
    let target = dir.path().join("kept.tif");
    std::fs::write(&target, "old").unwrap();
    // Zero rows cannot be a TIFF: the old file stays as it was and no passing file is left.
    assert!(tiff::write(&target, 0, 4, &info(), Compression::Deflate, rows(0)).is_err());
    assert_eq!(std::fs::read(&target).unwrap(), b"old");
    assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), 1);
}
