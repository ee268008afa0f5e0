//! Tests of lists of pages: what lines mean, that nothing is lost, and what is said of mistakes.

use super::*;
use proptest::prelude::*;

fn one(line: &str) -> Entry {
    let list = PageList::read(line).unwrap_or_else(|e| panic!("{line}: {e:?}"));
    let entries: Vec<Entry> = list.entries().map(|(_, e)| e.clone()).collect();
    assert_eq!(entries.len(), 1, "{line}");
    entries[0].clone()
}

fn page(prints: Vec<Print>) -> Entry {
    Entry::Page(Held { grid: None, prints })
}

/// The form as its page in docs/reference describes it, each line by hand.
#[test]
fn lines_mean_what_they_say() {
    let print = Print::new;
    assert_eq!((one("blank"), one("  title  # ours"), one("plates\r\n")), (Entry::Blank, Entry::Title, Entry::Plates));
    assert_eq!(one("\u{feff}colophon"), Entry::Colophon);
    assert_eq!(one("page P0004"), page(vec![print("P0004")]));
    assert_eq!(one("page \"the ferry, \"\"again\"\"\"#x"), page(vec![print("the ferry, \"again\"")]));
    // A word of ours between quotation marks is a name.
    assert_eq!(one("page \"blank\""), page(vec![print("blank")]));
    let two = vec![
        Print { percent: Some(120.0), ..print("P4") },
        Print { percent: Some(50.0), caption: Some(false), ..print("P5") },
    ];
    assert_eq!(one("page P4 at 120%,P5 at 50 % no caption"), page(two));
    let placed = Print { from: [Some(Edge::Near(30.5)), Some(Edge::Far(-3.0))], caption: Some(true), ..print("P7") };
    assert_eq!(one("page P7 left 30.5mm foot -3 mm caption"), page(vec![placed]));
    let detail = Print { detail: Some([20.0, 45.0, 40.0, 30.5]), percent: Some(300.0), ..print("P4") };
    for line in [
        "detail 40x30.5mm from 20 45 at 300%",
        "at 300% detail 40×30.5 mm from 20mm 45 mm",
        "detail 40mmx30.5mm from 20 45 at 300%",
    ] {
        assert_eq!(one(&format!("page P4 {line}")), page(vec![detail.clone()]), "{line}");
    }
    assert_eq!(one("text \"my imprint.md\" foot"), Entry::Text("my imprint.md".into(), Setting::Foot));
    let grid = Held { grid: Some([2, 3]), prints: vec![print("P1"), print("P2")] };
    assert_eq!(one("spread grid 2x3 P1, P2 | blank"), Entry::Spread([grid, Held::default()]));
    assert_eq!(one("page P1 back"), page(vec![Print { back: true, ..print("P1") }]));
    assert_eq!(PageList::read("\n  # nothing\n\n").unwrap().entries().count(), 0);
}

/// What is wrong, and what may stand there instead; every wrong line is named.
#[test]
fn a_mistake_is_named_with_its_line_and_what_may_stand_there() {
    for (line, says) in [
        ("leaf P1", "“leaf” does not begin a page. A line begins with page, spread, blank"),
        ("\"page\" P1", "does not begin a page"),
        ("page", "A print should stand here: its number, such as P0004"),
        ("page at 120%", "Instead there is “at”"),
        ("page P1 P2", "“P2” is not understood here. After a print may stand: back, at 120%"),
        ("page P1,", "A print should stand here"),
        ("page P1 at big", "from 25% to 1000%, such as 120%. Instead there is “big”"),
        ("page P1 at 120", "in percent"),
        ("page P1 at 5000%", "from 25% to 1000%"),
        ("page P1 at nan%", "from 25% to 1000%"),
        (
            "page P1 left",
            "After “left” stands a length in mm from -50 to 5080, such as 30mm, with a point for a decimal. The line ends too soon",
        ),
        ("page P1 left 3,5", "with a point for a decimal. Instead there is “3”"),
        ("page P1 left inf", "Instead there is “inf”"),
        ("page P1 left 3 right 4", "The place across the page of P1 is said twice"),
        ("text", "After “text” stands the name of a file in Markdown"),
        ("text a.md b.md", "“b.md” is not understood here. After the file of a text may stand: foot, or centred"),
        ("page P1 back back", "The back of P1 is said twice"),
        ("page P1 no", "After “no” can only stand “caption”"),
        ("page P1 detail 0x4 from 1 1", "A detail is written with its size"),
        ("page P1 detail 4x4 at 1", "Instead there is “at”"),
        ("page P1 detail 4x4 from -1 1", "0 mm or more"),
        ("page grid 2 P1", "A grid has columns and rows from 1 to 12"),
        ("page grid 13x1 P1", "from 1 to 12"),
        ("page grid 1x1 P1, P2", "A grid of 1 by 1 holds 1 prints, and here are 2"),
        ("spread P1", "A spread needs “|”"),
        ("spread P1 | P2 | P3", "“|” is not understood here"),
        ("blank page", "“page” stands after “blank”, where the line should end"),
        ("page \"P1", "does not end with one"),
    ] {
        let wrong = PageList::read(&format!("title\n{line}\nblank\nhm\n")).expect_err(line);
        assert_eq!(wrong.iter().map(|w| w.line).collect::<Vec<_>>(), [2, 4], "{line}");
        assert!(wrong[0].says.contains(says), "{line}: {}", wrong[0].says);
    }
}

#[test]
fn one_page_is_changed_and_the_others_keep_their_bytes() {
    let text = "# my book\r\n\r\n  page P1   # the ferry\r\nblank\t\r\nspread P2|P3";
    let mut list = PageList::read(text).unwrap();
    assert!(list.replace(3, Entry::Blank) && !list.replace(1, Entry::Blank) && !list.replace(9, Entry::Blank));
    assert_eq!(list.text(), "# my book\r\n\r\n  blank   # the ferry\r\nblank\t\r\nspread P2|P3");
    assert!(list.remove(4) && !list.remove(9) && !list.remove(0));
    list.insert(99, Entry::Plates, "at\nthe end");
    list.insert(1, Entry::Title, "");
    assert_eq!(
        list.text(),
        "title\r\n# my book\r\n\r\n  blank   # the ferry\r\nspread P2|P3\r\nplates    # at the end\r\n"
    );
    assert_eq!(PageList::read(&list.text()), Ok(list));
}

fn any_print() -> impl Strategy<Value = Print> {
    let name = prop_oneof!["P[0-9]{4}", "[a-z\" ,|#%]{1,8}", "(page|at|no|from)", "[^\\p{C}\n]{1,6}"];
    let mm = || (-500..50_000_i32).prop_map(|v| f64::from(v) / 10.0);
    let edge =
        || proptest::option::of((any::<bool>(), mm()).prop_map(|(n, v)| if n { Edge::Near(v) } else { Edge::Far(v) }));
    let percent = proptest::option::of((250..10_000_u32).prop_map(|v| f64::from(v) / 10.0));
    let size = || (1..5000_u32).prop_map(|v| f64::from(v) / 10.0);
    let detail = proptest::option::of([size(), size(), size(), size()]);
    (name, any::<bool>(), percent, detail, [edge(), edge()], any::<Option<bool>>())
        .prop_map(|(name, back, percent, detail, from, caption)| Print { name, back, percent, detail, from, caption })
}

fn any_held() -> impl Strategy<Value = Held> {
    let row = proptest::collection::vec(any_print(), 0..4).prop_map(|prints| Held { grid: None, prints });
    let grid = (1..5_usize, 1..4_usize, proptest::collection::vec(any_print(), 1..2))
        .prop_map(|(c, r, prints)| Held { grid: Some([c, r]), prints });
    prop_oneof![row, grid]
}

fn any_entry() -> impl Strategy<Value = Entry> {
    prop_oneof![
        Just(Entry::Blank),
        Just(Entry::Title),
        Just(Entry::Plates),
        Just(Entry::Colophon),
        ("[^\\p{C}\n]{1,9}", prop_oneof![Just(Setting::Column), Just(Setting::Foot), Just(Setting::Centred)])
            .prop_map(|(file, setting)| Entry::Text(file, setting)),
        any_held().prop_map(Entry::Page),
        [any_held(), any_held()].prop_map(Entry::Spread),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    /// Any page is read as it was written, and a file that nothing was changed in has the same bytes.
    #[test]
    fn what_is_written_is_read_and_what_is_read_is_written(
        pages in proptest::collection::vec((any_entry(), "[ \t]{0,3}", "[ \t]{0,3}(#[^\n]{0,9})?\r?\n"), 0..6)
    ) {
        let text: String = pages.iter().map(|(e, before, after)| format!("{before}{e}{after}")).collect();
        let list = PageList::read(&text).map_err(|e| TestCaseError::fail(format!("{text}: {e:?}")))?;
        prop_assert_eq!(list.text(), text);
        let read: Vec<Entry> = list.entries().map(|(_, e)| e.clone()).collect();
        prop_assert_eq!(read, pages.into_iter().map(|(e, ..)| e).collect::<Vec<_>>());
    }

    /// Nothing that somebody sends ends in a panic or loses a byte, and a page is changed without touching another line.
    #[test]
    fn any_text_is_refused_or_kept(
        text in "((page|spread|blank|grid|at|no|\"|#|,|\\||2x2|[0-9]{1,3}%?|mm|P1|left|\u{feff}|[^\n]) ?|\r?\n){0,40}"
    ) {
        if let Ok(mut list) = PageList::read(&text) {
            prop_assert_eq!(list.text(), text.clone());
            let lines: Vec<usize> = list.entries().map(|(n, _)| n).collect();
            for n in lines {
                prop_assert!(list.replace(n, Entry::Colophon));
                let (old, new) = (text.clone(), list.text());
                let changed = old.split('\n').zip(new.split('\n')).enumerate().filter(|(_, (a, b))| a != b);
                prop_assert!(changed.map(|(i, _)| i + 1).all(|i| i <= n));
            }
            prop_assert!(PageList::read(&list.text()).is_ok());
        }
    }
}
