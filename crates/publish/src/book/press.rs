//! The printing condition: the printer's ICC profile, and conversion to its inks and back.
//!
//! Media-relative colorimetric with black point compensation (ISO 18619): the mount's white is the paper, and the print's
//! deepest black the condition's. The absolute intent would print the mount's white as a tint.

use lcms2::{
    ColorSpaceSignature, DisallowCache, Flags, Intent, PixelFormat, Profile, ProfileClassSignature, ThreadContext,
    Transform,
};

type Change<A, B> = Transform<A, B, ThreadContext, DisallowCache>;

/// The registry of characterised printing conditions, as PDF/X names it (ISO 15930-7, 6.3).
pub const REGISTRY: &str = "http://www.color.org";

/// Names of printing conditions in that registry: offset on coated, uncoated and newsprint paper (ISO 12647-2 and 12647-3), and the
/// reference conditions of ISO/PAS 15339-2. From memory of the registry, so only the ones in wide use: a wrong name would promise a press
/// something, while a condition that is not here is described in words, which is always right.
const REGISTERED: &[&str] = &[
    "FOGRA27",
    "FOGRA28",
    "FOGRA29",
    "FOGRA30",
    "FOGRA39",
    "FOGRA40",
    "FOGRA41",
    "FOGRA42",
    "FOGRA43",
    "FOGRA44",
    "FOGRA45",
    "FOGRA46",
    "FOGRA47",
    "FOGRA48",
    "FOGRA49",
    "FOGRA50",
    "FOGRA51",
    "FOGRA52",
    "IFRA26",
    "IFRA30",
    "JC200103",
    "JCN2002",
    "JCW2003",
    "CGATS TR 001",
    "CGATS TR 002",
    "CGATS TR 003",
    "CGATS TR 005",
    "CGATS TR 006",
    "CGATS21-2-CRPC1",
    "CGATS21-2-CRPC2",
    "CGATS21-2-CRPC3",
    "CGATS21-2-CRPC4",
    "CGATS21-2-CRPC5",
    "CGATS21-2-CRPC6",
    "CGATS21-2-CRPC7",
];

/// The registered condition that a profile's own description names: the whole name, spelled with or without its spaces.
fn registered(description: &str) -> Option<&'static str> {
    let plain = |text: &str| text.to_uppercase().replace([' ', '_'], "");
    let said = plain(description);
    let names = |name: &&&str| {
        let name = plain(name);
        said.match_indices(&name).any(|(at, _)| {
            // FOGRA39 is not FOGRA390; the L of FOGRA39L names a revision of its data.
            !said[at + name.len()..].starts_with(|c: char| c.is_ascii_digit())
        })
    };
    REGISTERED.iter().find(names).copied()
}

/// A printing condition.
pub struct Press {
    /// The profile as its file holds it.
    pub icc: Vec<u8>,
    /// What the profile calls itself.
    pub name: String,
    /// The registered name of its printing condition, where it names one.
    pub registered: Option<&'static str>,
    forth: Change<[u16; 3], [u16; 4]>,
    back: Change<[u8; 4], [u8; 3]>,
    on_paper: Change<[u8; 4], [u8; 3]>,
}

impl std::fmt::Debug for Press {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Press({})", self.name)
    }
}

impl Press {
    /// From a printer's profile: an output profile of cyan, magenta, yellow and black.
    ///
    /// # Errors
    /// It is not an ICC profile, not for a printer, not CMYK, or lacks one of the two directions.
    pub fn new(icc: Vec<u8>) -> Result<Self, String> {
        let open = |data: &[u8]| Profile::new_icc_context(ThreadContext::new(), data);
        let printer = open(&icc).map_err(|_| "It is not an ICC profile, or it is damaged.".to_owned())?;
        let space = printer.color_space();
        if space != ColorSpaceSignature::CmykData {
            let word = match space {
                ColorSpaceSignature::RgbData => "RGB",
                ColorSpaceSignature::GrayData => "grey",
                _ => "other",
            };
            return Err(format!(
                "It is a profile of {word} colour, but a press prints cyan, magenta, yellow and black. Ask the printer \
                 for the CMYK profile of press and paper; without --printer the book is made in RGB."
            ));
        }
        if printer.device_class() != ProfileClassSignature::OutputClass {
            return Err("It is not an output profile (ICC class prtr), which PDF/X requires. Ask the printer for the \
                        profile of press and paper."
                .into());
        }
        let eci = codec::icc::eci_rgb_v2();
        let source = open(&eci).map_err(|e| e.to_string())?;
        let srgb = Profile::new_srgb_context(ThreadContext::new());
        let one_way = "It does not convert in both directions, to the inks and back.";
        let flags = || Flags::BLACKPOINT_COMPENSATION | Flags::HIGHRES_PRECALC | Flags::NO_CACHE;
        let context = ThreadContext::new();
        let forth = Change::new_flags_context(
            &context,
            &source,
            PixelFormat::RGB_16,
            &printer,
            PixelFormat::CMYK_16,
            Intent::RelativeColorimetric,
            flags(),
        )
        .map_err(|_| one_way)?;
        let back = Change::new_flags_context(
            &context,
            &printer,
            PixelFormat::CMYK_8,
            &srgb,
            PixelFormat::RGB_8,
            Intent::RelativeColorimetric,
            flags(),
        )
        .map_err(|_| one_way)?;
        let on_paper = Change::new_flags_context(
            &context,
            &printer,
            PixelFormat::CMYK_8,
            &srgb,
            PixelFormat::RGB_8,
            Intent::AbsoluteColorimetric,
            Flags::HIGHRES_PRECALC | Flags::NO_CACHE,
        )
        .map_err(|_| one_way)?;
        let name = printer.info(lcms2::InfoType::Description, lcms2::Locale::new("en_US"));
        let name = name.filter(|n| !n.trim().is_empty()).unwrap_or_else(|| "the printer's profile".into());
        let registered = registered(&name);
        Ok(Self { icc, name, registered, forth, back, on_paper })
    }

    /// eciRGBv2 codes to inks, 65535 full.
    pub fn inks(&self, eci: &[[u16; 3]]) -> Vec<[u16; 4]> {
        let mut out = vec![[0; 4]; eci.len()];
        self.forth.transform_pixels(eci, &mut out);
        out
    }

    /// Inks to sRGB as they will look beside the paper's white; with `paper`, in the paper's own colour.
    pub fn seen(&self, inks: &[[u8; 4]], paper: bool) -> Vec<[u8; 3]> {
        let mut out = vec![[0; 3]; inks.len()];
        let change = if paper { &self.on_paper } else { &self.back };
        change.transform_pixels(inks, &mut out);
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::model;

    #[test]
    fn a_registered_condition_is_known_by_its_whole_name() {
        assert_eq!(registered("Coated FOGRA39 (ISO 12647-2:2004)"), Some("FOGRA39"));
        assert_eq!(registered("Offset_cgats tr006"), Some("CGATS TR 006"));
        assert_eq!((registered("FOGRA391"), registered("Fallside ink model")), (None, None));
    }

    #[test]
    fn only_a_printers_profile_is_taken() {
        let says = Press::new(codec::icc::srgb()).unwrap_err();
        assert!(says.contains("RGB colour"), "{says}");
        assert!(Press::new(b"not a profile".to_vec()).unwrap_err().contains("not an ICC profile"));
    }

    #[test]
    fn inks_print_the_colour_they_were_made_for() {
        // The model's own equations are the witness: what the library's inks print, by Neugebauer, is the colour asked for.
        let press = Press::new(model::profile()).unwrap();
        assert!(press.name.contains("model"), "{}", press.name);
        let eci = pixels::Primaries::eci_rgb_v2();
        for code in [[0.9_f64, 0.9, 0.9], [0.6, 0.5, 0.4], [0.4, 0.5, 0.6], [0.75, 0.7, 0.5]] {
            let xyz = eci.xyz(code.map(pixels::encoding_eci::lstar_decode));
            let want = pixels::lab_from_xyz(xyz);
            let inks = press.inks(&[code.map(|v| (v * 65535.0) as u16)])[0].map(|v| f64::from(v) / 65535.0);
            let off = pixels::ciede2000(want, model::printed(inks));
            // Black point compensation lifts the darks a little, and tables of 17 nodes interpolate.
            assert!(off < 4.0, "{code:?}: {off}");
        }
        let white = press.inks(&[[65535; 3]])[0];
        assert!(white.iter().all(|v| *v < 66), "{white:?}");
        // Without ink: white beside the paper, the paper's own colour on it.
        assert_eq!(press.seen(&[[0; 4]], false)[0], [255; 3]);
        let paper = press.seen(&[[0; 4]], true)[0];
        assert!(paper[0] < 250 && paper[2] < paper[0], "{paper:?}");
    }
}
