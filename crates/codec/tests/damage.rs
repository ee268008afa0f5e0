//! JPEGs that are whole are read, whatever an encoder chose; those whose scan is damaged are refused, wherever it is.

use codec::{Error, Limits, read};
use jpeg_encoder::{ColorType, Encoder, SamplingFactor};
use proptest::prelude::*;
use std::sync::LazyLock;

const WIDTH: u16 = 403;
const HEIGHT: u16 = 299;

/// Texture, edges and a flat part, as a print on a bed has.
fn picture(channels: usize) -> Vec<u8> {
    let at = |x: usize, y: usize, c: usize| {
        if x < 60 || y < 30 {
            return 238;
        }
        let wave = ((x * x / 9 + y * y / 7) as f64 * 0.04 + c as f64).sin();
        let grain = ((x * 2_654_435 + y * 40_503 + c * 7) as u32).wrapping_mul(2_654_435_761) >> 27;
        (120.0 + 70.0 * wave) as u8 + grain as u8
    };
    let (w, h) = (usize::from(WIDTH), usize::from(HEIGHT));
    (0..h).flat_map(|y| (0..w).flat_map(move |x| (0..channels).map(move |c| at(x, y, c)))).collect()
}

/// Whole files by one general encoder in every way that it knows: name and bytes. (Its tables made for a picture leave out codes that
/// restarts need, so the two are not put together.)
static WHOLE: LazyLock<Vec<(String, Vec<u8>)>> = LazyLock::new(|| {
    use SamplingFactor::{F_1_1, F_1_2, F_2_1, F_2_2, F_4_1, F_4_2};
    let mut all = vec![];
    for progressive in [false, true] {
        for (optimised, restart) in [(false, 0), (true, 0), (false, 5), (false, 11)] {
            for sampling in [F_1_1, F_2_1, F_1_2, F_2_2, F_4_1, F_4_2] {
                // With these the encoder writes a scan a colour, which the decoder library reads without restarts alone.
                if restart > 0 && !progressive && matches!(sampling, F_4_1 | F_4_2) {
                    continue;
                }
                let mut bytes = vec![];
                let mut encoder = Encoder::new(&mut bytes, 88);
                encoder.set_sampling_factor(sampling);
                encoder.set_optimized_huffman_tables(optimised);
                encoder.set_progressive(progressive);
                if restart > 0 {
                    encoder.set_restart_interval(restart);
                }
                encoder.encode(&picture(3), WIDTH, HEIGHT, ColorType::Rgb).unwrap();
                all.push((format!("{progressive} {optimised} {restart} {sampling:?}"), bytes));
            }
            let mut bytes = vec![];
            let mut encoder = Encoder::new(&mut bytes, 88);
            encoder.set_optimized_huffman_tables(optimised);
            encoder.set_progressive(progressive);
            encoder.encode(&picture(1), WIDTH, HEIGHT, ColorType::Luma).unwrap();
            all.push((format!("{progressive} {optimised} grey"), bytes));
        }
    }
    all
});

fn ends(bytes: &[u8]) -> Result<codec::Decoded, Error> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.jpg");
    std::fs::write(&path, bytes).unwrap();
    read(&path, &Limits::default())
}

/// Where entropy-coded data lies: behind each scan header (marker FFDA, T.81 B.2.3) to the next marker that is no restart.
fn scans(bytes: &[u8]) -> Vec<std::ops::Range<usize>> {
    let mut all = vec![];
    let mut at = 2;
    while at + 4 < bytes.len() && bytes[at] == 0xFF {
        let marker = bytes[at + 1];
        let length = usize::from(u16::from_be_bytes([bytes[at + 2], bytes[at + 3]]));
        at += 2 + length;
        if marker == 0xDA {
            let from = at;
            while bytes[at] != 0xFF || matches!(bytes[at + 1], 0 | 0xD0..=0xD7) {
                at += 1;
            }
            all.push(from..at);
        }
    }
    all
}

#[test]
fn whole_files_are_read_whatever_the_encoder_chose() {
    for (name, bytes) in WHOLE.iter() {
        let d = ends(bytes).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_eq!((d.frame.width, d.frame.height), (WIDTH.into(), HEIGHT.into()));
        assert!(d.notes.is_empty(), "{name}: {:?}", d.notes);
        // Bytes behind the end of the image, as telephones append, are nobody's damage.
        ends(&[bytes.as_slice(), &[0; 700], b"\xFF\xD8\xFF\xE0 something else"].concat()).unwrap();
        // Nor is a small JPEG inside a segment, as every camera writes.
        let small = &WHOLE[6].1;
        let length = (small.len() + 8).min(65_533);
        let thumbnail = [b"Exif\0\0", &small[..length - 8]].concat();
        let head = [&[0xFF, 0xE1][..], &(length as u16).to_be_bytes()].concat();
        ends(&[&bytes[..2], &head, &thumbnail, &bytes[2..]].concat()).unwrap_or_else(|e| panic!("{name}: {e}"));
    }
}

/// All one tone: an optimised table may make a flat block of zero bits alone, so that zeros are data.
#[test]
fn a_flat_picture_is_whole() {
    for (progressive, tone) in [false, true].into_iter().flat_map(|p| [0, 90, 255].map(|t| (p, t))) {
        let mut bytes = vec![];
        let mut encoder = Encoder::new(&mut bytes, 90);
        encoder.set_progressive(progressive);
        encoder.set_optimized_huffman_tables(true);
        encoder.encode(&vec![tone; 3 * 900 * 700], 900, 700, ColorType::Rgb).unwrap();
        ends(&bytes).unwrap();
    }
}

fn damaged(name: &str, what: &str, bytes: &[u8]) {
    let error = ends(bytes).map(|d| d.notes);
    assert!(matches!(error, Err(Error::Damaged { .. } | Error::Truncated { .. })), "{name}, {what}: {error:?}");
}

#[test]
fn markers_too_many_too_few_and_wrong_are_damage() {
    for (name, bytes) in WHOLE.iter() {
        let scans = scans(bytes);
        let longest = scans.iter().max_by_key(|s| s.len()).unwrap();
        let middle = (longest.start + longest.end) / 2;
        for marker in [0xD3, 0xD9, 0xC4] {
            damaged(name, "one too many", &[&bytes[..middle], &[0xFF, marker], &bytes[middle..]].concat());
        }
        let restarts: Vec<usize> =
            longest.clone().filter(|i| bytes[*i] == 0xFF && matches!(bytes[i + 1], 0xD0..=0xD7)).collect();
        if let Some(&at) = restarts.get(restarts.len() / 2) {
            damaged(name, "one gone", &[&bytes[..at], &bytes[at + 2..]].concat());
            let mut other = bytes.clone();
            other[at + 1] = 0xD0 + (other[at + 1] + 2) % 8;
            damaged(name, "another in its place", &other);
        }
        // An end that comes too early, as a repair program writes it.
        damaged(name, "an early end", &[&bytes[..middle], &[0xFF, 0xD9]].concat());
        damaged(name, "no end", &bytes[..bytes.len() - 2]);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1500))]

    /// A stretch of the scan cut out, or written over with zeros as a failing card does: never a picture.
    #[test]
    fn a_scan_that_is_cut_or_zeroed_anywhere_is_damage(
        which in any::<prop::sample::Index>(),
        from in any::<prop::sample::Index>(),
        length in 512usize..4096,
        zeroed in any::<bool>(),
    ) {
        let (name, bytes) = which.get(&WHOLE);
        let all = scans(bytes);
        let places: Vec<usize> = all.iter().cloned().flatten().collect();
        let start = *from.get(&places);
        let scan = all.iter().find(|s| s.contains(&start)).unwrap();
        let end = (start + length).min(scan.end);
        // The least that a card or a disk loses is a sector. Fewer bytes may by chance hold as many blocks as what was there.
        prop_assume!(end - start >= 512);
        let changed = if zeroed {
            let mut changed = bytes.clone();
            changed[start..end].fill(0);
            changed
        } else {
            [&bytes[..start], &bytes[end..]].concat()
        };
        let error = ends(&changed).map(|d| d.notes);
        prop_assert!(
            matches!(error, Err(Error::Damaged { .. } | Error::Truncated { .. })),
            "{name}, {start}..{end} of {scan:?}, zeroed {zeroed}: {error:?}"
        );
    }
}
