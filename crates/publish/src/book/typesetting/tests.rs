//! Tests of typesetting, with test faces of Hebrew, Arabic and Japanese (tests/faces).

use super::*;

const HEBREW: &[u8] = include_bytes!("../../../../../tests/faces/hebrew.ttf");
const ARABIC: &[u8] = include_bytes!("../../../../../tests/faces/arabic.ttf");
const JAPANESE: &[u8] = include_bytes!("../../../../../tests/faces/japanese.otf");

fn own() -> Faces {
    Faces::new(&Fonts::default()).unwrap()
}

fn many() -> Faces {
    let named = [("hebrew.ttf", HEBREW), ("arabic.ttf", ARABIC), ("japanese.otf", JAPANESE)];
    let named = named.map(|(name, data)| (name.to_owned(), Arc::new(data.to_vec()))).to_vec();
    Faces::new(&Fonts { named, machine: false }).unwrap()
}

/// The text that runs say from left to right, each glyph or cluster by itself.
fn said(faces: &Faces, runs: &[Run]) -> Vec<String> {
    let mut out = vec![];
    let mut runs: Vec<&Run> = runs.iter().collect();
    runs.sort_by(|a, b| a.at.total_cmp(&b.at));
    for run in runs {
        match &run.text {
            Some(text) => out.push(text.clone()),
            None => out.extend(run.glyphs.iter().map(|g| {
                faces.all[run.face].used().find(|(id, ..)| *id == g.id).map_or(String::new(), |(_, t, _)| t.to_owned())
            })),
        }
    }
    out
}

#[test]
fn words_of_many_languages_have_glyphs() {
    let mut faces = own();
    for text in [
        "Ærø, façade, Łódź, Đà Nẵng, İstanbul",
        "Θεσσαλονίκη",
        "Київ, Санкт-Петербург",
        "“Quai”, 12 – 14 × 9 ½",
        "soft\u{AD}hyphen, thin\u{2009}space",
        // Letters made of their parts (NFD).
        "Lo\u{301}dz\u{301} and e\u{301}",
    ] {
        let runs = faces.set(text, Style::Roman).unwrap();
        assert!(runs.iter().flat_map(|r| &r.glyphs).all(|g| g.id != 0), "{text}");
        // Nothing is lost: each glyph or run says its part, in this order.
        let plain: String = text.chars().filter(|c| *c != '\u{AD}').collect();
        assert_eq!(said(&faces, &runs).concat(), plain);
    }
}

/// Every character that is missing is named at once, with its code point and its places, before anything is made.
#[test]
fn all_missing_characters_are_named_in_one_message() {
    let mut faces = own();
    let says = faces.need([("the title", "港 ש"), ("P0001", "港町 😀"), ("P0002", "the quay")]).unwrap_err();
    let parts = [
        "4 characters",
        "“港” (U+6E2F) in P0001, the title",
        "U+05E9) in the title",
        "U+753A) in P0001",
        "U+1F600) in P0001",
    ];
    for part in parts {
        assert!(says.contains(part), "{part}: {says}");
    }
    assert!(says.contains("Alegreya") && says.contains("--font") && !says.contains("P0002"), "{says}");
    let says = faces.set("港", Style::Italic).unwrap_err();
    assert!(says.contains("A character") && says.contains("U+6E2F"), "{says}");
}

/// In one book: each script comes from the first face of the chain that has it, figures from the book's own.
#[test]
fn several_scripts_are_set_from_a_chain_of_faces() {
    let mut faces = many();
    let families = |faces: &mut Faces, text: &str| -> Vec<String> {
        let mut used: Vec<String> = vec![];
        for run in faces.set(text, Style::Roman).unwrap() {
            let family = faces.all[run.face].family.clone();
            if used.last() != Some(&family) {
                used.push(family);
            }
        }
        used
    };
    assert_eq!(families(&mut faces, "Jaffa (יפו) 1968"), ["Alegreya", "Frank Ruhl Libre", "Alegreya"]);
    assert_eq!(families(&mut faces, "ميناء يافا"), ["Amiri"]);
    assert_eq!(families(&mut faces, "港の朝"), ["Shippori Mincho"]);
    // Kanji and kana of one face are one run.
    assert_eq!(faces.set("港の朝、カメラ。", Style::Roman).unwrap().len(), 1);
    assert_eq!(families(&mut faces, "Θεσσαλονίκη, Київ"), ["Alegreya"]);
    assert_eq!(faces.others(), ["Frank Ruhl Libre", "Amiri", "Shippori Mincho"]);
    assert!(faces.fresh().others().is_empty());
}

/// Right-to-left words begin at the right: seen from the left, the last letter comes first (UAX #9, L2), figures keep their order.
#[test]
fn right_to_left_words_are_seen_from_the_right() {
    let mut faces = many();
    let runs = faces.set("יפו 1968", Style::Roman).unwrap();
    assert_eq!(said(&faces, &runs).concat(), "1968 ופי");
    // Runs come in reading order: the name first, which stands at the right.
    let places: Vec<f64> = runs.iter().map(|r| r.at).collect();
    assert!(places.len() > 1 && places[0] > *places.last().unwrap(), "{places:?}");
    let runs = faces.set("Jaffa יפו", Style::Roman).unwrap();
    assert_eq!(said(&faces, &runs).concat(), "Jaffa ופי");
    // A bracket is mirrored (UAX #9, L4): the one that opens is drawn as the face's other one.
    let runs = faces.set("(יפו)", Style::Roman).unwrap();
    let outlines = |faces: &Faces, runs: &[Run]| -> Vec<Option<String>> {
        let mut runs: Vec<&Run> = runs.iter().collect();
        runs.sort_by(|a, b| a.at.total_cmp(&b.at));
        runs.into_iter().flat_map(|r| r.glyphs.iter().map(|g| faces.all[r.face].outline(g.id))).collect()
    };
    let seen = outlines(&faces, &runs);
    let plain = faces.set("()", Style::Roman).unwrap();
    let plain = outlines(&faces, &plain);
    assert_eq!((&seen[0], &seen[4]), (&plain[0], &plain[1]));
    assert_eq!(said(&faces, &runs).concat(), ")ופי(");
}

/// Arabic letters join: the same letter has another glyph at the beginning, in the middle, at the end and alone, and none of the joined
/// ones is the glyph that the face's own `cmap` gives.
#[test]
fn arabic_letters_join() {
    let face = Face::new(Data::Own(ARABIC), 0, Source::Named, "").unwrap();
    let arab = Shape::from_iso15924_tag(rustybuzz::ttf_parser::Tag::from_bytes(b"Arab"));
    let mut cut = Face::new(Data::Own(ARABIC), 0, Source::Named, "").unwrap();
    // Seen from the left: final, medial, initial form of heh.
    let shaped = face.shape("ههه", true, arab);
    let joined = cut.take("ههه", &shaped);
    let alone = face.shape("ه", true, arab);
    let alone = cut.take("ه", &alone);
    let id = |(glyphs, _): &(Vec<Glyph>, Option<String>)| glyphs[0].id;
    let ids: BTreeSet<u16> = joined.iter().chain(&alone).map(id).collect();
    assert_eq!((joined.len(), ids.len()), (3, 4), "{joined:?} {alone:?}");
}

/// What is drawn as one glyph says all its letters, and what the same glyph stands for elsewhere stays apart (ActualText).
#[test]
fn glyphs_say_all_their_characters() {
    let mut faces = many();
    for (text, seen) in [
        ("ffi fi", "ffi fi"),
        ("لا", "ال"),
        ("می\u{200C}خواهم", "مهاو\u{200C}خیم"),
        ("a\u{2011}b a\u{205F}b", "a-b a b"),
    ] {
        let runs = faces.set(text, Style::Roman).unwrap();
        assert_eq!(said(&faces, &runs).concat(), seen, "{runs:?}");
    }
}

/// A mark stands over its base: moved by the face's own table, and taking no room.
#[test]
fn marks_stand_on_their_bases() {
    let mut faces = many();
    let runs = faces.set("שָׁלוֹם", Style::Roman).unwrap();
    assert!(runs.iter().all(|r| r.face == 2));
    let glyphs: Vec<&Glyph> = runs.iter().flat_map(|r| &r.glyphs).collect();
    assert!(glyphs.iter().any(|g| g.advance == 0.0 && g.moved != [0.0; 2]), "{glyphs:?}");
    let letters = faces.width("שלום", Style::Roman, 10.0).unwrap();
    let marked = faces.width("שָׁלוֹם", Style::Roman, 10.0).unwrap();
    assert!((letters - marked).abs() < 0.02 * letters, "{letters} {marked}");
}

#[test]
fn lines_are_as_wide_as_their_glyphs_and_break_between_words() {
    let mut faces = own();
    let one = faces.width("harbour", Style::Roman, 10.0).unwrap();
    assert!((faces.width("harbour", Style::Roman, 20.0).unwrap() - 2.0 * one).abs() < 1e-9);
    let joined = |lines: &[Line]| lines.iter().map(|l| l.to_string()).collect::<Vec<_>>().join(" ");
    let lines = faces.lines("the old harbour in the morning light", Style::Roman, 10.0, 25.0).unwrap();
    assert!(lines.len() > 1);
    assert_eq!(joined(&lines), "the old harbour in the morning light");
    for line in &lines {
        assert!(faces.width(line, Style::Roman, 10.0).unwrap() <= 25.0);
    }
    assert_eq!(faces.lines("Donaudampfschifffahrt", Style::Roman, 10.0, 5.0).unwrap().len(), 1);
    assert_eq!(faces.lines("one\n\ntwo", Style::Roman, 10.0, 50.0).unwrap().len(), 3);
    assert!(faces.lines("", Style::Roman, 10.0, 50.0).unwrap().is_empty());
    // A space that must not break does not (UAX #14, class GL).
    let lines = faces.lines("harbour 88\u{A0}mm", Style::Roman, 10.0, 18.0).unwrap();
    assert_eq!(lines.iter().map(|l| l.to_string()).collect::<Vec<_>>(), ["harbour", "88\u{A0}mm"]);
}

/// Japanese has no spaces and breaks between characters; right-to-left lines keep their paragraph's direction.
#[test]
fn lines_break_by_the_rules_of_their_script() {
    let mut faces = many();
    let lines = faces.lines("港の朝、古い写真。", Style::Roman, 10.0, 15.0).unwrap();
    assert!(lines.len() >= 2, "{lines:?}");
    for line in &lines {
        assert!(faces.width(line, Style::Roman, 10.0).unwrap() <= 15.0);
        // No line begins with a comma or a full stop (UAX #14, class CL).
        assert!(!line.starts_with(['、', '。']), "{lines:?}");
    }
    assert_eq!(lines.iter().map(|l| l.to_string()).collect::<String>(), "港の朝、古い写真。");
    let lines = faces.lines("הנמל הישן ביפו Jaffa harbour", Style::Roman, 10.0, 20.0).unwrap();
    assert!(lines.len() >= 2 && lines.iter().all(Line::is_rtl), "{lines:?}");
}

#[test]
fn a_face_is_cut_down_to_what_was_used() {
    let mut faces = many();
    faces.set("fine print", Style::Roman).unwrap();
    let cut = faces.all[0].cut().unwrap();
    assert!(cut.len() * 10 < ROMAN.len() && ttf_parser::Face::parse(&cut, 0).is_ok(), "{} bytes", cut.len());
    assert!(!faces.all[1].is_used());
    let text: String = faces.all[0].used().map(|(_, t, _)| t).collect();
    assert!(text.contains("fi") || text.contains('f'), "{text}");
    // Of cubic outlines only their table is left: a version, then the size of its header (Adobe Technical Note 5176, section 6).
    faces.set("港", Style::Roman).unwrap();
    let cut = faces.all[4].cut().unwrap();
    assert_eq!((faces.all[4].outlines(), cut[0], cut[2]), (Outlines::Cff, 1, 4));
}

#[test]
fn a_font_that_cannot_be_used_is_named() {
    let fonts = Fonts { named: vec![("photo.jpg".into(), Arc::new(vec![0xFF, 0xD8]))], machine: false };
    let says = Faces::new(&fonts).err().unwrap();
    assert!(says.contains("photo.jpg is not a TrueType or OpenType font"), "{says}");
}
