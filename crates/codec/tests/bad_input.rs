//! Every kind of bad file gives its own clear error: never a panic, never a half picture, never memory without bound.

use codec::jpeg::Subsampling;
use codec::tiff::Compression;
use codec::{Error, Format, Info, Limits, jpeg, png, probe, read, tiff};
use pixels::Samples;
use proptest::prelude::*;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().unwrap()
}

fn put(dir: &tempfile::TempDir, name: &str, bytes: &[u8]) -> PathBuf {
    let path = dir.path().join(name);
    fs::write(&path, bytes).unwrap();
    path
}

/// One line that names the file and ends as a sentence.
fn says(path: &Path) -> (Error, String) {
    let e = read(path, &Limits::default()).map(|d| d.notes).unwrap_err();
    let line = e.to_string();
    assert!(line.starts_with(&path.display().to_string()) && !line.contains('\n') && line.ends_with('.'), "{line}");
    assert_eq!(e.path(), path);
    (e, line)
}

fn ramp(r: std::ops::Range<usize>) -> Vec<u16> {
    r.flat_map(|y| (0..90).flat_map(move |x| [x * 700, y as u16 * 900, x * y as u16])).collect()
}

fn eight(r: std::ops::Range<usize>) -> Vec<u8> {
    ramp(r).into_iter().map(|v| (v >> 8) as u8).collect()
}

/// Good files of every kind, made once: name and bytes.
static GOOD: LazyLock<Vec<(&str, Vec<u8>)>> = LazyLock::new(|| {
    let dir = folder();
    let at = |n: &str| dir.path().join(n);
    let info = Info { px_per_mm: Some(20.0), icc: Some(codec::icc::eci_rgb_v2()), ..Info::default() };
    tiff::write(&at("a.tif"), 90, 70, &info, Compression::Deflate, ramp).unwrap();
    tiff::write(&at("plain.tif"), 90, 70, &info, Compression::None, ramp).unwrap();
    png::write(&at("a.png"), 90, 70, &info, eight).unwrap();
    png::write(&at("sixteen.png"), 90, 70, &info, ramp).unwrap();
    jpeg::write(&at("a.jpg"), 90, 70, &eight(0..70), 90, Subsampling::Quarter, &info).unwrap();
    let mut names = vec!["a.tif", "plain.tif", "a.png", "sixteen.png", "a.jpg"];
    #[cfg(feature = "raw")]
    {
        let m = codec::raw::Mosaic {
            width: 90,
            height: 70,
            pattern: [[0, 1], [1, 2]],
            black: [[64.0; 2]; 2],
            white: 4095.0,
            as_shot: [2.0, 1.0, 1.5],
            colours: None,
            samples: (0..6300).map(|i| (i % 4096) as u16).collect(),
            metadata: Default::default(),
        };
        codec::dng::write(&at("a.dng"), &m).unwrap();
        names.push("a.dng");
    }
    names.into_iter().map(|n| (n, fs::read(at(n)).unwrap())).collect()
});

#[test]
fn empty_missing_folder_and_text() {
    let dir = folder();
    assert!(matches!(says(&put(&dir, "a.jpg", b"")).0, Error::Empty { .. }));
    assert!(matches!(says(&dir.path().join("none.jpg")).0, Error::Unreadable { .. }));
    let (e, line) = says(dir.path());
    assert!(matches!(e, Error::Unreadable { .. }) && line.contains("folder"), "{line}");
    let (e, line) = says(&put(&dir, "notes.jpg", "Box 7, summer; é\n".repeat(400).as_bytes()));
    assert!(matches!(e, Error::NotAPicture { .. }) && line.contains("text"), "{line}");
    let noise: Vec<u8> = (0..5000u32).map(|i| (i.wrapping_mul(2_654_435_761) >> 13) as u8).collect();
    assert!(matches!(says(&put(&dir, "noise.dng", &noise)).0, Error::NotAPicture { .. }));
    for (bytes, word) in [
        (&b"P6\n4 4\n255\n0123456789"[..], "anymap"),
        (b"<?xml version=\"1.0\"?>\n<svg xmlns=\"x\"/>", "SVG"),
        (b"\x76\x2F\x31\x01\x02\0\0\0", "OpenEXR"),
        (b"#?RADIANCE\nFORMAT=32-bit_rle_rgbe\n", "HDR"),
        (b"BM\x46\0\0\0\x01\0\0\0\x36\0\0\0\x28\0\0\0", "BMP"),
        (b"qoif\0\0\0\x01", "QOI"),
    ] {
        let (e, line) = says(&put(&dir, "odd", bytes));
        assert!(matches!(e, Error::Unsupported { .. }) && line.contains(word), "{line}");
    }
    assert!(matches!(says(&put(&dir, "a.gif", b"GIF89a\x01\0\x01\0\0\0\0")).0, Error::Unsupported { .. }));
}

#[test]
fn a_wrong_name_is_read_for_what_it_is() {
    let dir = folder();
    let (_, bytes) = GOOD.iter().find(|(n, _)| *n == "a.png").unwrap();
    let d = read(&put(&dir, "holiday.jpg", bytes), &Limits::default()).unwrap();
    assert_eq!(d.format, Format::Png);
    assert!(d.notes.iter().any(|n| n.contains("The name says JPEG") && n.contains("PNG")), "{:?}", d.notes);
}

#[test]
fn cut_files_are_refused_everywhere() {
    let dir = folder();
    for (name, bytes) in GOOD.iter() {
        for share in [0.02, 0.3, 0.6, 0.9, 0.98] {
            let path = put(&dir, name, &bytes[..(bytes.len() as f64 * share) as usize]);
            let (e, line) = says(&path);
            assert!(matches!(e, Error::Truncated { .. } | Error::Damaged { .. }), "{name} {share}: {line}");
        }
    }
    // A camera file cut short while it was copied: the commonest damage has its own word.
    for name in ["a.jpg", "plain.tif", "a.png"] {
        let (_, bytes) = GOOD.iter().find(|(n, _)| n == &name).unwrap();
        let mut short = bytes.clone();
        if name == "plain.tif" {
            continue; // its directory stands at the end
        }
        short.truncate(bytes.len() * 3 / 4);
        assert!(matches!(says(&put(&dir, name, &short)).0, Error::Truncated { .. }), "{name}");
    }
}

#[test]
fn one_pixel_is_a_picture() {
    let dir = folder();
    let path = dir.path().join("one.png");
    png::write(&path, 1, 1, &Info::default(), |_| vec![7u8, 8, 9]).unwrap();
    let d = read(&path, &Limits::default()).unwrap();
    assert_eq!((d.frame.width, d.frame.height, d.frame.samples), (1, 1, Samples::U8(vec![7, 8, 9])));
    let path = dir.path().join("one.jpg");
    jpeg::write(&path, 1, 1, &[90, 90, 90], 95, Subsampling::Full, &Info::default()).unwrap();
    assert_eq!(read(&path, &Limits::default()).unwrap().frame.width, 1);
}

#[test]
fn too_wide_is_refused_from_the_header() {
    let dir = folder();
    // A JPEG header alone, 65,500 px wide: refused before the missing pixels are noticed.
    let (_, jpeg) = GOOD.iter().find(|(n, _)| *n == "a.jpg").unwrap();
    let mut wide = jpeg.clone();
    let sof = wide.windows(2).position(|w| w == [0xFF, 0xC0]).unwrap();
    wide[sof + 7..sof + 9].copy_from_slice(&65_500u16.to_be_bytes());
    let (e, line) = says(&put(&dir, "wide.jpg", &wide));
    assert!(matches!(e, Error::TooLarge { .. }) && line.contains("65500") && line.contains("65000"), "{line}");
    assert_eq!(probe(&dir.path().join("wide.jpg")).unwrap().width, 65_500);
    // PNG and TIFF by their own limits.
    let few = Limits { max_pixels: 6000, ..Limits::default() };
    for (name, bytes) in GOOD.iter() {
        let e = read(&put(&dir, name, bytes), &few).unwrap_err();
        assert!(matches!(e, Error::TooLarge { .. }), "{e}");
        let little = Limits { max_bytes: 15_000, ..Limits::default() };
        let e = read(&put(&dir, name, bytes), &little).unwrap_err();
        assert!(matches!(e, Error::TooLarge { .. }), "{name} {e}");
    }
}

#[test]
fn cmyk_jpeg_says_what_to_do() {
    let dir = folder();
    let path = dir.path().join("press.jpg");
    let encoder = jpeg_encoder::Encoder::new_file(&path, 90).unwrap();
    encoder.encode(&[40u8; 4 * 64], 8, 8, jpeg_encoder::ColorType::Cmyk).unwrap();
    let (e, line) = says(&path);
    assert!(matches!(e, Error::Unsupported { .. }) && line.contains("CMYK") && line.contains("Convert"), "{line}");
}

#[test]
fn gray_becomes_three_equal_channels() {
    let dir = folder();
    let path = dir.path().join("gray.tif");
    let values: Vec<u16> = (0..77 * 5).map(|i| (i * 170) as u16).collect();
    let file = fs::File::create(&path).unwrap();
    ::tiff::encoder::TiffEncoder::new(file)
        .unwrap()
        .write_image::<::tiff::encoder::colortype::Gray16>(77, 5, &values)
        .unwrap();
    let d = read(&path, &Limits::default()).unwrap();
    let want: Vec<u16> = values.iter().flat_map(|v| [*v; 3]).collect();
    assert!(d.frame.samples == Samples::U16(want));
    let path = dir.path().join("gray.jpg");
    let encoder = jpeg_encoder::Encoder::new_file(&path, 100).unwrap();
    let gray: Vec<u8> = (0..64).map(|i| 2 * i).collect();
    encoder.encode(&gray, 8, 8, jpeg_encoder::ColorType::Luma).unwrap();
    let Samples::U8(s) = read(&path, &Limits::default()).unwrap().frame.samples else { panic!("8 bits") };
    for (px, g) in s.chunks_exact(3).zip(gray) {
        assert!(px[0] == px[1] && px[1] == px[2] && px[0].abs_diff(g) <= 2, "{px:?} {g}");
    }
}

#[test]
fn alpha_is_left_out_and_said() {
    let dir = folder();
    let path = dir.path().join("alpha.png");
    let file = fs::File::create(&path).unwrap();
    let mut encoder = ::png::Encoder::new(file, 2, 1);
    encoder.set_color(::png::ColorType::Rgba);
    encoder.write_header().unwrap().write_image_data(&[1, 2, 3, 0, 4, 5, 6, 128]).unwrap();
    let d = read(&path, &Limits::default()).unwrap();
    assert_eq!(d.frame.samples, Samples::U8(vec![1, 2, 3, 4, 5, 6]));
    assert!(d.notes.iter().any(|n| n.contains("transparency")));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Any bytes changed, any length cut: an answer in bounded memory, of the size the header states.
    #[test]
    fn hostile_bytes_never_panic(
        which in 0usize..6,
        changes in proptest::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 0..12),
        cut in proptest::option::of(any::<prop::sample::Index>()),
        head in any::<bool>(),
    ) {
        let (name, bytes) = &GOOD[which % GOOD.len()];
        let mut bytes = bytes.clone();
        for (at, value) in changes {
            // Half the cases aim at the first bytes, where headers and directories of most formats lie.
            let n = if head { bytes.len().min(400) } else { bytes.len() };
            let i = at.index(n);
            bytes[i] = value;
        }
        if let Some(c) = cut {
            bytes.truncate(c.index(bytes.len()));
        }
        let dir = folder();
        let path = put(&dir, name, &bytes);
        let limits = Limits { max_pixels: 1_000_000, max_bytes: 32 << 20, ..Limits::default() };
        let mut codes = vec![];
        let rows = codec::rows(&path, &limits).and_then(|r| {
            let n = 3 * r.width * r.height;
            r.each(|row| codes.extend_from_slice(row)).map(|()| n)
        });
        if let Ok(n) = &rows {
            prop_assert_eq!(codes.len(), *n);
        }
        if let Ok(d) = read(&path, &limits) {
            // What can be read whole can be read in rows, and is the same.
            prop_assert!(rows.is_ok());
            let same = match &d.frame.samples {
                Samples::U8(s) => s.iter().map(|v| 257 * u16::from(*v)).eq(codes.iter().copied()),
                Samples::U16(s) => *s == codes,
            };
            prop_assert!(same);
            let n = match &d.frame.samples { Samples::U8(s) => s.len(), Samples::U16(s) => s.len() };
            prop_assert_eq!(n, 3 * d.frame.width * d.frame.height);
            prop_assert!(d.frame.width * d.frame.height <= 1_000_000);
        }
        let _ = probe(&path);
        let _ = codec::is_whole(&path);
    }
}
