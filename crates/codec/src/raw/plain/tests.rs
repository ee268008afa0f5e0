//! Negatives written here by the standard's rules; where a general TIFF library reads the same file, it is the witness.

use crate::ifd::{self, Ifd, Value};
use crate::{Error, Format, Limits, Unpacked, unpack};
use libdeflater::{CompressionLvl, Compressor};
use pixels::Samples;
use std::path::PathBuf;

const W: usize = 52;
const H: usize = 38;

/// A file of one directory: what lies in its strips or tiles, and its fields.
struct Negative {
    folder: tempfile::TempDir,
    chunks: Vec<Vec<u8>>,
    fields: Ifd,
}

impl Negative {
    fn new(photometric: u16, channels: u16, bits: u16) -> Self {
        let mut fields = Ifd::default();
        fields
            .set(ifd::SUBFILE_TYPE, Value::Long(vec![0]))
            .set(ifd::WIDTH, Value::Long(vec![W as u32]))
            .set(ifd::HEIGHT, Value::Long(vec![H as u32]))
            .set(ifd::BITS, Value::Short(vec![bits; channels.into()]))
            .set(ifd::COMPRESSION, Value::Short(vec![1]))
            .set(ifd::PHOTOMETRIC, Value::Short(vec![photometric]))
            .set(ifd::SAMPLES, Value::Short(vec![channels]))
            .set(ifd::DNG_VERSION, Value::Byte(vec![1, 4, 0, 0]));
        Self { folder: tempfile::tempdir().unwrap(), chunks: vec![], fields }
    }

    fn mosaic(mut self, rows: u16, columns: u16, colours: &[u8]) -> Self {
        self.fields.set(ifd::CFA_REPEAT, Value::Short(vec![rows, columns]));
        self.fields.set(ifd::CFA_PATTERN, Value::Byte(colours.to_vec()));
        self
    }

    fn deflated(mut self) -> Self {
        self.fields.set(ifd::COMPRESSION, Value::Short(vec![8]));
        let mut deflate = Compressor::new(CompressionLvl::default());
        for chunk in &mut self.chunks {
            let mut out = vec![0; deflate.zlib_compress_bound(chunk.len())];
            let n = deflate.zlib_compress(chunk, &mut out).unwrap();
            out.truncate(n);
            *chunk = out;
        }
        self
    }

    /// The whole picture's bytes in strips of so many rows.
    fn strips(mut self, bytes: &[u8], rows: usize) -> Self {
        self.fields.set(ifd::ROWS_PER_STRIP, Value::Long(vec![rows as u32]));
        self.chunks = bytes.chunks(bytes.len() / H * rows).map(<[u8]>::to_vec).collect();
        self
    }

    /// Writes the file; places and lengths as short numbers where asked.
    fn write(&mut self, short: bool) -> PathBuf {
        let mut out = b"II\x2A\0\0\0\0\0".to_vec();
        let (mut at, mut n) = (vec![], vec![]);
        for chunk in &self.chunks {
            at.push(out.len() as u32);
            n.push(chunk.len() as u32);
            out.extend(chunk);
        }
        out.resize(out.len().next_multiple_of(2), 0);
        let numbers = |v: Vec<u32>| {
            if short { Value::Short(v.into_iter().map(|n| n as u16).collect()) } else { Value::Long(v) }
        };
        self.fields.set(ifd::STRIP_OFFSETS, numbers(at)).set(ifd::STRIP_COUNTS, numbers(n));
        let place = out.len() as u32;
        out[4..8].copy_from_slice(&place.to_le_bytes());
        out.extend(self.fields.bytes(place));
        let path = self.folder.path().join("a.dng");
        std::fs::write(&path, out).unwrap();
        path
    }
}

fn float(i: usize) -> f32 {
    ((i as f32 * 0.37).sin() + 1.0) / 2.0
}

fn whole(i: usize) -> u16 {
    (64 + i * 31 % 4000) as u16
}

fn bytes_of(values: impl Iterator<Item = u16>) -> Vec<u8> {
    values.flat_map(u16::to_le_bytes).collect()
}

/// Rows of 32-bit numbers as the floating-point predictor stores them (technical note 3 of 2005): high bytes first, all of a row
/// together, each byte less the one before.
fn predicted(values: &[f32], row: usize) -> Vec<u8> {
    let mut out = vec![];
    for line in values.chunks(row) {
        let planes: Vec<u8> = (0..4).flat_map(|k| line.iter().map(move |v| v.to_be_bytes()[k])).collect();
        out.push(planes[0]);
        out.extend(planes.windows(2).map(|w| w[1].wrapping_sub(w[0])));
    }
    out
}

fn picture(path: &std::path::Path) -> crate::Decoded {
    match unpack(path, &Limits::default()).unwrap() {
        Unpacked::Picture(decoded) => decoded,
        Unpacked::Sensor { .. } => panic!("a picture was expected"),
    }
}

fn codes(decoded: &crate::Decoded) -> &[u16] {
    match &decoded.frame.samples {
        Samples::U16(s) => s,
        Samples::U8(_) => panic!("16 bits"),
    }
}

#[test]
fn floating_point_without_colour_is_what_a_general_library_reads() {
    let values: Vec<f32> = (0..W * H).map(float).collect();
    let mut negative = Negative::new(1, 1, 32).strips(&predicted(&values, W), 9).deflated();
    negative.fields.set(ifd::PREDICTOR, Value::Short(vec![3])).set(ifd::SAMPLE_FORMAT, Value::Short(vec![3]));
    let path = negative.write(false);
    let mut library = tiff::decoder::Decoder::new(std::fs::File::open(&path).unwrap()).unwrap();
    let tiff::decoder::DecodingResult::F32(theirs) = library.read_image().unwrap() else { panic!("32-bit numbers") };
    assert_eq!(theirs, values);
    let d = picture(&path);
    assert_eq!((d.format, d.frame.width, d.frame.height), (Format::Dng, W, H));
    assert!(d.frame.encoding.tone.linear && d.notes[0].contains("is monochrome"), "{:?}", d.notes);
    for (px, v) in codes(&d).chunks_exact(3).zip(&values) {
        assert_eq!(px, [(v * 65535.0 + 0.5) as u16; 3]);
    }
}

#[test]
fn a_floating_point_mosaic_keeps_its_readings() {
    let values: Vec<f32> = (0..W * H).map(float).collect();
    let negative = Negative::new(32803, 1, 32).mosaic(2, 2, &[1, 0, 2, 1]);
    let mut negative = negative.strips(&predicted(&values, W), H).deflated();
    negative.fields.set(ifd::PREDICTOR, Value::Short(vec![3])).set(ifd::SAMPLE_FORMAT, Value::Short(vec![3]));
    let m = crate::raw::read_mosaic(&negative.write(false), &Limits::default()).unwrap();
    assert_eq!((m.width, m.height, m.pattern), (W, H, [[1, 0], [2, 1]]));
    for (s, v) in m.samples.iter().zip(&values) {
        let light = (f32::from(*s) - m.black[0][0]) / (m.white - m.black[0][0]);
        assert!((light - v).abs() < 1e-5, "{light} {v}");
    }
}

/// Half of 1, 1 and a subnormal in 16 and 24 bits: IEEE 754 binary16 (0x3C00 is 1), DNG 1.7 for 24 (bias 63).
#[test]
fn short_floating_point_numbers_are_read() {
    assert_eq!([0x3C00, 0x3800, 0xC000, 0x0001].map(|b| super::widened(b, 5, 10)), [1.0, 0.5, -2.0, 2f32.powi(-24)]);
    assert_eq!([0x3F_0000, 0x3E_0000, 0x3F_8000].map(|b| super::widened(b, 7, 16)), [1.0, 0.5, 1.5]);
    assert!(super::widened(0x7C01, 5, 10).is_nan() && super::widened(0x7C00, 5, 10).is_infinite());
    let bytes: Vec<u8> = (0..W * H).flat_map(|i| if i % 2 == 0 { [0, 0x38] } else { [0, 0x3C] }).collect();
    let mut negative = Negative::new(34892, 1, 16).strips(&bytes, H);
    negative.fields.set(ifd::SAMPLE_FORMAT, Value::Short(vec![3]));
    let d = picture(&negative.write(false));
    assert_eq!(codes(&d)[..6], [32768, 32768, 32768, 65535, 65535, 65535]);
}

#[test]
fn deflated_and_short_listed_mosaics_are_bit_exact() {
    let values: Vec<u16> = (0..W * H).map(whole).collect();
    let check = |path: PathBuf| {
        let m = crate::raw::read_mosaic(&path, &Limits::default()).unwrap();
        assert_eq!((m.pattern, m.black, m.white), ([[0, 1], [1, 2]], [[64.0; 2]; 2], 4095.0));
        assert!(m.samples == values);
    };
    let new = || {
        let mut n = Negative::new(32803, 1, 16).mosaic(2, 2, &[0, 1, 1, 2]);
        n.fields.set(50714, Value::Short(vec![64])).set(50717, Value::Short(vec![4095]));
        n
    };
    check(new().strips(&bytes_of(values.iter().copied()), 7).write(true));
    check(new().strips(&bytes_of(values.iter().copied()), 7).deflated().write(false));
    // Horizontal differences (TIFF 6.0 section 14), each row by itself.
    let differences = values.chunks(W).flat_map(|row| {
        std::iter::once(row[0]).chain(row.windows(2).map(|w| w[1].wrapping_sub(w[0]))).collect::<Vec<_>>()
    });
    let mut predicted = new().strips(&bytes_of(differences), 5).deflated();
    predicted.fields.set(ifd::PREDICTOR, Value::Short(vec![2]));
    check(predicted.write(false));
}

#[test]
fn three_colours_and_other_mosaics_become_pictures() {
    // Linear colour of one tone, 16-bit, deflated: 0.25, 0.5 and 1 of full scale.
    let tone = [16384, 32768, 65535];
    let bytes = bytes_of((0..3 * W * H).map(|i| tone[i % 3] as u16));
    let d = picture(&Negative::new(34892, 3, 16).strips(&bytes, H).deflated().write(false));
    assert!(codes(&d).chunks_exact(3).all(|px| px == [16384, 32768, 65535]));
    // Six by six, plainly stored: the library reads it, we make the picture.
    let six = ["GBGGRG", "RGRBGB", "GBGGRG", "GRGGBG", "BGBRGR", "GRGGBG"].concat();
    let colours: Vec<u8> = six.bytes().map(|c| b"RGB".iter().position(|k| *k == c).unwrap() as u8).collect();
    let bytes = bytes_of((0..W * H).map(|i| tone[usize::from(colours[i / W % 6 * 6 + i % W % 6])] as u16));
    for deflated in [false, true] {
        let negative = Negative::new(32803, 1, 16).mosaic(6, 6, &colours).strips(&bytes, H);
        let mut negative = if deflated { negative.deflated() } else { negative };
        let d = picture(&negative.write(false));
        assert!(d.notes[0].contains("6 x 6"), "{:?}", d.notes);
        for px in codes(&d).chunks_exact(3) {
            assert!((0..3).all(|c| px[c].abs_diff(tone[c] as u16) <= 2), "{px:?}");
        }
    }
}

#[test]
fn what_is_not_read_says_the_true_reason() {
    let bytes = bytes_of((0..W * H).map(whole));
    let says = |mut n: Negative| {
        let e = unpack(&n.write(false), &Limits::default()).map(drop).unwrap_err();
        assert!(matches!(e, Error::Unsupported { .. }), "{e}");
        let says = e.to_string();
        assert!(!says.contains("Convert it to DNG") && !says.contains("from the card"), "{says}");
        says
    };
    // Yellow, cyan and magenta.
    assert!(
        says(Negative::new(32803, 1, 16).mosaic(2, 2, &[5, 3, 4, 1]).strips(&bytes, H).deflated()).contains("mosaic")
    );
    let mut odd = Negative::new(32803, 1, 16).mosaic(2, 2, &[0, 1, 1, 2]).strips(&bytes, H).deflated();
    odd.fields.set(ifd::PREDICTOR, Value::Short(vec![77]));
    assert!(says(odd).contains("predictor 77"));
    let mut odd = Negative::new(32803, 1, 16).mosaic(2, 2, &[0, 1, 1, 2]).strips(&bytes, H);
    odd.fields.set(ifd::COMPRESSION, Value::Short(vec![34933]));
    assert!(says(odd).contains("34933"));
    // A deflated strip that is cut is damage.
    let mut cut = Negative::new(1, 1, 16).strips(&bytes, H).deflated();
    let half = cut.chunks[0].len() / 2;
    cut.chunks[0].truncate(half);
    let e = unpack(&cut.write(false), &Limits::default()).map(drop).unwrap_err();
    assert!(matches!(e, Error::Damaged { .. } | Error::Truncated { .. }), "{e}");
}

/// A crop whose origin and size are beyond all sums (type 12 of TIFF 6.0: eight bytes of IEEE 754) is none.
#[test]
fn a_crop_beyond_all_numbers_is_passed_over() {
    let pair = |x: f64, y: f64| {
        let bytes = [x.to_le_bytes(), y.to_le_bytes()].concat();
        Value::Raw { kind: 12, count: 2, bytes }
    };
    let mut file = Negative::new(1, 1, 16).strips(&bytes_of((0..W * H).map(whole)), 10);
    file.fields.set(super::CROP_ORIGIN, pair(1e30, 0.0)).set(super::CROP_SIZE, pair(12.0, 12.0));
    let decoded = picture(&file.write(false));
    assert_eq!((decoded.frame.width, decoded.frame.height), (W, H));
}
