//! Small whole files of every kind, for a corpus to begin with.

mod directory;

use directory::{Endian, File};
use jpeg_encoder::{ColorType, Encoder, SamplingFactor};

/// The seeds of a target; none where the target begins with nothing.
pub fn of(target: &str) -> Vec<Vec<u8>> {
    match target {
        "tiff" => tiffs(),
        "dng" => negatives(),
        "whole" => [tiffs(), jpegs()].concat(),
        "exif" => {
            [Endian::Little, Endian::Big].map(|e| File::new(e).text(271, "maker").text(272, "model").bytes()).into()
        }
        "jpeg" => jpegs(),
        "icc" => vec![codec::icc::srgb(), codec::icc::eci_rgb_v2(), codec::icc::linear_srgb()],
        "wire" => wire(),
        "cgats" => texts(&[CGATS, "id,L,a,b\nA1,50,0,0\nA2,60,1,-1\n", "row\tcol\tX\tY\tZ\n1\t1\t40\t42\t35\n"]),
        "xmp" => vec![sidecar()],
        "edtf" => texts(&["2009", "2009-07-14T08:00:00Z", "200X", "Y170000002", "2009-24?", "../2011-02", "P1"]),
        "sitting" => texts(&[SITTING]),
        "json" => [texts(&WISHES), vec![report()]].concat(),
        "list" => texts(&LISTS),
        "bag" => vec![manifest()],
        _ => vec![],
    }
}

fn texts(all: &[&str]) -> Vec<Vec<u8>> {
    all.iter().map(|t| t.as_bytes().to_vec()).collect()
}

/// A keyword file after CGATS.17, laid out by hand.
const CGATS: &str = "CGATS.17\nNUMBER_OF_FIELDS 4\nBEGIN_DATA_FORMAT\nSAMPLE_ID XYZ_X XYZ_Y XYZ_Z\nEND_DATA_FORMAT\n\
    NUMBER_OF_SETS 2\nBEGIN_DATA\nA1 40 42 35\nA2 10 11 9\nEND_DATA\n";

const SITTING: &str = "schema = \"fallside.sitting/1\"\nowner = \"box seven\"\n[rig]\nf_number = 8.0\npx_per_mm = 11.05\n\
    [lens]\nk1 = 0.01\nk2 = 0.0\nk1_error = 0.001\nprincipal_point_px = [10.0, 10.0]\nframe_px = [20, 20]\n\
    [[roles]]\nfile = \"a.jpg\"\nrole = \"blank\"\nblake3 = \"00\"\n";

/// The first byte says which form: `0` is 48, a multiple of six, the report.
const WISHES: [&str; 5] = [
    r#"5{"edit":"tight","form":"share","ratio":"4:5","pixels":1080}"#,
    r#"5{"edit":null,"form":"gallery","title":"a"}"#,
    r#"5{"edit":null,"form":"book","trim_mm":[210.0,210.0],"layout":["single"],"captions":true}"#,
    r#"5{"edit":null,"form":"pack","place":"/media/a"}"#,
    r#"2{"outline_px":[[1.0,1.0],[9.0,1.0],[9.0,9.0],[1.0,9.0]],"role":"front"}"#,
];

/// The first byte says which kind of folder.
const LISTS: [&str; 4] = [
    "0begun ../keep.jpg\nbegun own.jpg\n",
    "1begun iiif/a/\nbegun iiif/../../outside/\nbegun prints/mine.html\n",
    "2begun frames/mine.jpg\nbegun /outside/\n",
    "1\n\n  \nbegun \nbegun iiif//\n",
];

fn manifest() -> Vec<u8> {
    let sum = "ab".repeat(64);
    let notes = "Fallside pack: files that are in their place, each with its SHA-512 and its bytes.";
    format!("{sum}  data/a.txt\n{sum} *data/%0A/../../outside.txt\n\0{sum} bagit.txt\n\0{notes}\n{sum} 1 data/a.txt\n\0Payload-Oxum: 1.1\n\x002026-01-02 a").into_bytes()
}

/// A whole report, of a drawn frame.
fn report() -> Vec<u8> {
    format!("0{}", include_str!("seeds/report.json")).into_bytes()
}

fn sidecar() -> Vec<u8> {
    let own = [("Print", "P7"), ("Date", "2009~"), ("Stacked", "S1 2 person")];
    let mut all = codec::sidecar::Sidecar {
        title: "a < b".into(),
        keywords: vec!["one".into(), "two".into()],
        people: vec!["A".into()],
        place: "B".into(),
        exposed: "2009-07".into(),
        derived_from: Some(("a.jpg".into(), "blake3:00".into())),
        own: own.map(|(k, v)| (k.to_owned(), v.to_owned())).into(),
        own_lists: [("Edits".to_owned(), vec!["tight 3 why".to_owned()])].into(),
        ..Default::default()
    };
    all.object.title = "t".into();
    all.object.circa = "2009~".into();
    codec::sidecar::write(&all).into_bytes()
}

/// What a decoding process says: all options absent, then a tone of four places, then an error.
fn wire() -> Vec<Vec<u8>> {
    let number = |n: u64| n.to_ne_bytes();
    let header = [&[0, 0][..], &number(7), &number(5), &[0; 16]].concat();
    let tone: Vec<u8> = [0.0f64, 0.3, 0.6, 1.0].iter().flat_map(|v| v.to_ne_bytes()).collect();
    let encoding = [&[1, 0][..], &number(4), &tone, &[0; 72], &[1]].concat();
    let error = [&[3, 4][..], &number(1), b"a", &number(1), b"b"].concat();
    let mosaic = [&[2][..], &number(2), &number(2), &[0; 200]].concat();
    vec![header, encoding, error, mosaic]
}

fn jpegs() -> Vec<Vec<u8>> {
    let rgb: Vec<u8> = (0..3 * 40 * 24).map(|i: u32| (i.wrapping_mul(2_654_435_761) >> 26) as u8 + 90).collect();
    let mut all = vec![];
    for (progressive, restart, optimised) in [(false, 0, false), (false, 3, false), (true, 0, true), (true, 5, false)] {
        for (sampling, colour, pixels) in [
            (SamplingFactor::F_1_1, ColorType::Rgb, &rgb[..]),
            (SamplingFactor::F_2_2, ColorType::Rgb, &rgb[..]),
            (SamplingFactor::F_1_1, ColorType::Luma, &rgb[..40 * 24]),
        ] {
            let mut bytes = vec![];
            let mut encoder = Encoder::new(&mut bytes, 60);
            encoder.set_sampling_factor(sampling);
            encoder.set_progressive(progressive);
            encoder.set_optimized_huffman_tables(optimised);
            if restart > 0 {
                encoder.set_restart_interval(restart);
            }
            if encoder.encode(pixels, 40, 24, colour).is_ok() {
                all.push(bytes);
            }
        }
    }
    all
}

/// TIFFs of one directory (TIFF 6.0): stored and deflated, strips and tiles, both byte orders, 8, 16 and 32 bits, one and three
/// channels, big TIFF.
fn tiffs() -> Vec<Vec<u8>> {
    let mut all = vec![];
    for endian in [Endian::Little, Endian::Big, Endian::LittleBig] {
        for (bits, samples, format) in [(8, 3, 1), (16, 3, 1), (8, 1, 1), (16, 1, 1), (32, 3, 3), (16, 4, 1)] {
            for (tiled, deflated) in [(false, false), (false, true), (true, false)] {
                let photometric = if samples == 1 { 1 } else { 2 };
                let file = File::new(endian).picture(photometric, bits, samples, format, tiled, deflated);
                all.push(file.blob(34675, codec::icc::srgb()).bytes());
            }
        }
    }
    all
}

/// Negatives of DNG 1.4: mosaics, grey and linear readings, whole and floating-point, with their predictors, levels and areas.
fn negatives() -> Vec<Vec<u8>> {
    // A crop beyond all sums.
    let odd = File::new(Endian::Little).picture(1, 16, 1, 1, false, true).blob(50706, vec![1, 4, 0, 0]);
    let mut all = vec![odd.reals(50719, &[1e30, 0.0]).reals(50720, &[12.0, 12.0]).bytes()];
    for endian in [Endian::Little, Endian::Big] {
        for (photometric, bits, samples, format) in
            [(32803, 16, 1, 1), (32803, 32, 1, 3), (1, 8, 1, 1), (34892, 24, 3, 3), (34892, 16, 3, 1), (1, 16, 1, 3)]
        {
            for (tiled, deflated, predictor) in
                [(false, false, 1), (false, true, 2), (true, true, 3), (true, false, 34894), (false, true, 34893)]
            {
                let file = File::new(endian)
                    .picture(photometric, bits, samples, format, tiled, deflated)
                    .blob(50706, vec![1, 4, 0, 0])
                    .shorts(317, &[predictor])
                    .shorts(33421, &[2, 2])
                    .blob(33422, vec![0, 1, 1, 2])
                    .shorts(50713, &[1, 1])
                    .shorts(50714, &[3])
                    .shorts(50717, &[900])
                    .reals(50719, &[1.0, 1.0])
                    .shorts(50720, &[12, 12])
                    .shorts(50829, &[0, 0, 16, 16]);
                all.push(file.bytes());
            }
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use crate::TARGETS;

    #[test]
    fn every_target_has_seeds_that_fit() {
        for target in TARGETS {
            let seeds = super::of(target.name);
            assert!(!seeds.is_empty() && seeds.iter().all(|s| s.len() <= target.longest), "{}", target.name);
        }
    }
}
