//! The file as a whole: search, two writers, reading beside a writer, backup, damage, a full disk, older forms.

use catalogue::{Catalogue, Error, Fact, FrameId, NewFrame, Order, PartOf, PrintId};
use std::path::Path;

fn open(folder: &Path) -> Catalogue {
    Catalogue::open(&folder.join("fallside.db")).unwrap()
}

fn ids(it: &Catalogue, line: &str) -> Vec<i64> {
    it.search(line, Order::Number, 0, 0).unwrap().ids.into_iter().map(|p| p.0).collect()
}

/// Four prints with words of several languages.
fn box_of_four(it: &mut Catalogue) {
    let words: [&[(Fact, &str)]; 4] = [
        &[
            (Fact::Place, "Çeşme harbour"),
            (Fact::Exposed, "2009-07?"),
            (Fact::Film, "bw, expired"),
            (Fact::Box, "Shoebox 3"),
            (Fact::Sleeve, "12"),
        ],
        &[
            (Fact::Place, "Århus"),
            (Fact::Exposed, "200X"),
            (Fact::People, "Zoë; Łukasz"),
            (Fact::Box, "Shoebox 3"),
            (Fact::Sleeve, "2"),
        ],
        &[(Fact::Title, "The harbour at night"), (Fact::Exposed, "2013/.."), (Fact::Privacy, "private")],
        &[(Fact::Inscription, "for Ada, don’t lose it"), (Fact::Subject, "dog; black and white")],
    ];
    for facts in words {
        it.change("A print", |w| {
            let print = w.mint()?;
            facts.iter().try_for_each(|(f, v)| w.say(print, *f, v))
        })
        .unwrap();
    }
}

#[test]
fn one_line_finds_by_words_fields_dates_and_what_is_missing() {
    let folder = tempfile::tempdir().unwrap();
    let mut it = open(folder.path());
    box_of_four(&mut it);
    for (line, found) in [
        ("", &[1, 2, 3, 4][..]),
        ("harbour", &[1, 3]),
        ("place:harbour", &[1]),
        ("cesme", &[1]),
        ("ÇEŞ", &[1]),
        ("arhus", &[2]),
        ("zoe", &[2]),
        ("place:harbour date:2009..2012 film:\"bw\"", &[1]),
        ("date:2005", &[2]),
        ("date:2009", &[1, 2]),
        ("date:2020..", &[3]),
        ("date:..1999", &[]),
        ("date:2009-07-14", &[1, 2]),
        ("harbour -place:harbour", &[3]),
        ("-privacy:private", &[1, 2, 4]),
        ("lacks:date", &[4]),
        ("has:box", &[1, 2]),
        ("box:shoe sleeve:12", &[1]),
        ("subject:\"black and white\"", &[4]),
        ("subject:\"white black\"", &[]),
        ("P0003", &[3]),
        ("id:2", &[2]),
        ("don't", &[4]),
        ("don’t lose", &[4]),
        ("verdict:look", &[]),
        ("-verdict:look", &[1, 2, 3, 4]),
        ("back:none", &[1, 2, 3, 4]),
        ("\" ; -- *", &[1, 2, 3, 4]),
    ] {
        assert_eq!(ids(&it, line), found, "{line}");
    }
    let by_date: Vec<i64> = it.search("", Order::Date, 0, 0).unwrap().ids.into_iter().map(|p| p.0).collect();
    assert_eq!(by_date, [2, 1, 3, 4]);
    assert_eq!(it.offered(Fact::People, "l", 5).unwrap(), Vec::<String>::new());
    assert_eq!(it.offered(Fact::Box, "sh", 5).unwrap(), ["Shoebox 3"]);
    let holders: Vec<(String, i64)> = it.holders().unwrap().into_iter().map(|h| (h.sleeve, h.prints)).collect();
    assert_eq!(holders, [("2".to_owned(), 1), ("12".to_owned(), 1)]);
}

#[test]
fn frames_join_leave_and_a_print_left_empty_goes() {
    let folder = tempfile::tempdir().unwrap();
    let mut it = open(folder.path());
    let frame =
        |n: &str| NewFrame { blake3: n.into(), name: format!("{n}.jpg"), role: "front".into(), ..NewFrame::default() };
    let (a, b) = it.change("Two", |w| Ok((w.add_frame(&frame("F1"))?, w.add_frame(&frame("F2"))?))).unwrap();
    let print = it
        .change("Print", |w| {
            let print = w.mint()?;
            w.join(a, Some(print), "new")?;
            w.choose_front(print, a, "the only one", "rule")?;
            Ok(print)
        })
        .unwrap();
    assert_eq!(it.loose_frames().unwrap().len(), 1);
    let other = it
        .change("Other", |w| {
            let p = w.mint()?;
            w.join(b, Some(p), "new")?;
            Ok(p)
        })
        .unwrap();
    assert!(it.change("Wrong", |w| w.choose_front(print, b, "", "person")).is_err());
    it.change("Reshoot", |w| w.join(b, Some(print), "the same print")).unwrap();
    assert!(it.print(other).unwrap().is_none());
    assert_eq!(it.print(print).unwrap().unwrap().frames.len(), 2);
    assert_eq!(ids(&it, "frame:F2"), [print.0]);
    it.undo().unwrap();
    assert_eq!(it.print(other).unwrap().unwrap().frames[0].id, b);
    assert_eq!(it.frames_named("f2").unwrap()[0].id, b);
    // One of two prints of an exposure is found by its own name, both by the file's, with and without its ending.
    let parts: Vec<_> = (1..=2)
        .map(|number| {
            let part = PartOf { number, of: 2 };
            let new = NewFrame { blake3: "cc".into(), name: format!("F7-{number}"), part, ..NewFrame::default() };
            it.change("Two prints", |w| w.add_frame(&new)).unwrap()
        })
        .collect();
    let numbers = |name: &str| it.frames_named(name).unwrap().iter().map(|f| f.id).collect::<Vec<_>>();
    assert_eq!((numbers("f7-2"), numbers("F7"), numbers("f7.JPG")), (vec![parts[1]], parts.clone(), parts.clone()));
    assert!(it.change("Nowhere", |w| w.join(FrameId(99), None, "")).is_err());
}

#[test]
fn edits_keep_their_order() {
    let folder = tempfile::tempdir().unwrap();
    let mut it = open(folder.path());
    box_of_four(&mut it);
    let p = |n: i64| PrintId(n);
    let order = |it: &Catalogue| it.edit("Book").unwrap().unwrap().prints.iter().map(|p| p.0).collect::<Vec<_>>();
    it.change("in", |w| w.put_in("Book", Some("sequence"), &[p(3), p(1), p(3)], None)).unwrap();
    assert_eq!(order(&it), [3, 1]);
    it.change("in", |w| w.put_in("book", None, &[p(4), p(2)], Some(1))).unwrap();
    assert_eq!(order(&it), [3, 4, 2, 1]);
    it.change("move", |w| w.move_in("book", p(1), 0)).unwrap();
    assert_eq!(order(&it), [1, 3, 4, 2]);
    it.change("move", |w| w.move_in("book", p(1), 2)).unwrap();
    assert_eq!(order(&it), [3, 4, 1, 2]);
    it.change("out", |w| w.take_out("book", &[p(4)])).unwrap();
    assert_eq!(order(&it), [3, 1, 2]);
    it.change("order", |w| w.set_order("book", &[p(2), p(1), p(3)])).unwrap();
    assert_eq!(order(&it), [2, 1, 3]);
    for _ in 0..3 {
        it.undo().unwrap();
    }
    assert_eq!(order(&it), [1, 3, 4, 2]);
    assert!(it.change("kind", |w| w.put_in("book", Some("wide"), &[p(1)], None)).is_err());
    assert!(
        it.change("no print", |w| w.put_in("book", None, &[p(77)], None)).unwrap_err().to_string().contains("P0077")
    );
    assert!(it.change("no edit", |w| w.move_in("none", p(1), 0)).is_err());
    assert_eq!(ids(&it, "edit:book"), [1, 2, 3, 4]);
    assert_eq!(ids(&it, "edit:sequence -P0004"), [1, 2, 3]);
}

/// Two programs write to one catalogue, 100 changes each, as two threads with connections of their own.
#[test]
fn two_writers_wait_for_each_other_and_lose_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("fallside.db");
    drop(open(folder.path()));
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                let mut it = Catalogue::open(&path).unwrap();
                for _ in 0..100 {
                    it.change("A print", |w| {
                        let p = w.mint()?;
                        w.say(p, Fact::Title, "one")
                    })
                    .unwrap();
                }
            });
        }
        scope.spawn(|| {
            let reader = Catalogue::open_to_read(&path).unwrap();
            for _ in 0..50 {
                assert!(reader.search("title:one", Order::Number, 0, 5).is_ok());
            }
        });
    });
    let it = open(folder.path());
    assert_eq!(ids(&it, "title:one").len(), 200);
    assert_eq!(it.check().unwrap(), Vec::<String>::new());
}

#[test]
fn a_reader_writes_nothing_and_sees_that_others_did() {
    let folder = tempfile::tempdir().unwrap();
    let mut it = open(folder.path());
    let mut reader = Catalogue::open_to_read(&folder.path().join("fallside.db")).unwrap();
    assert!(matches!(reader.change("x", |w| w.mint()), Err(Error::ReadOnly)));
    let before = reader.changes_elsewhere().unwrap();
    it.change("A print", |w| w.mint()).unwrap();
    assert_ne!(reader.changes_elsewhere().unwrap(), before);
    assert_eq!(ids(&reader, ""), [1]);
    assert!(matches!(Catalogue::open_to_read(&folder.path().join("none.db")), Err(Error::Missing(_))));
}

#[test]
fn a_backup_is_whole_and_opens() {
    let folder = tempfile::tempdir().unwrap();
    let mut it = open(folder.path());
    box_of_four(&mut it);
    let copy = folder.path().join("copy.db");
    it.backup(&copy).unwrap();
    let held = Catalogue::open(&copy).unwrap();
    assert_eq!(ids(&held, "harbour"), [1, 3]);
    assert_eq!(held.check().unwrap(), Vec::<String>::new());
    assert!(it.backup(&folder.path().join("no/such/folder.db")).is_err());
}

#[test]
fn what_is_no_catalogue_or_a_damaged_one_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("fallside.db");
    std::fs::write(&path, vec![b'x'; 5000]).unwrap();
    let error = Catalogue::open(&path).unwrap_err().to_string();
    assert!(error.contains("fallside.db") && error.contains("rebuild"), "{error}");
    std::fs::remove_file(&path).unwrap();
    let mut it = open(folder.path());
    box_of_four(&mut it);
    it.backup(&folder.path().join("whole.db")).unwrap();
    drop(it);
    // A page in the middle overwritten: the check must find it.
    let mut bytes = std::fs::read(folder.path().join("whole.db")).unwrap();
    let middle = bytes.len() / 2 / 4096 * 4096;
    bytes[middle..middle + 4096].fill(0x5a);
    std::fs::write(&path, bytes).unwrap();
    let said = Catalogue::open(&path).and_then(|it| it.check());
    assert!(said.is_err() || said.is_ok_and(|lines| !lines.is_empty()));
}

#[test]
fn a_full_disk_is_said_and_loses_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("fallside.db");
    let mut it = open(folder.path());
    box_of_four(&mut it);
    // SQLite itself can be told that no page more is to be had: what it then says is what it says of a full disk.
    let long = "a word ".repeat(400_000);
    it.limit_pages_for_tests(4).unwrap();
    let error = it.describe(&[PrintId(1)], &[(Fact::Note, &long)]).unwrap_err();
    assert!(matches!(error, Error::Full), "{error}");
    assert!(error.to_string().contains("this change was not saved"));
    drop(it);
    let it = Catalogue::open(&path).unwrap();
    assert_eq!(it.check().unwrap(), Vec::<String>::new());
    assert_eq!(ids(&it, "harbour"), [1, 3]);
}

/// Every form that was ever released opens in this version. A new form adds an entry; none is ever taken away.
#[test]
fn catalogues_of_earlier_versions_open() {
    // One for every form that was ever released.
    let forms: &[(i64, &str)] = &[
        (1, include_str!("data/form-1.sql")),
        (2, include_str!("data/form-2.sql")),
        (3, include_str!("data/form-3.sql")),
        (4, include_str!("data/form-4.sql")),
        (5, include_str!("data/form-5.sql")),
    ];
    for &(form, text) in forms {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("fallside.db");
        rusqlite::Connection::open(&path).unwrap().execute_batch(text).unwrap();
        let mut it = Catalogue::open(&path).unwrap();
        assert_eq!(it.form().unwrap(), catalogue::FORM, "form {form}");
        assert_eq!(it.check().unwrap(), Vec::<String>::new(), "form {form}");
        let print = it.print(PrintId(1)).unwrap().unwrap();
        assert_eq!((print.facts.place.as_str(), print.facts.date.as_str()), ("Çeşme harbour", "2009-07?"));
        assert_eq!(print.frames[0].result.as_ref().unwrap().verdict, "look");
        assert_eq!(it.edit("book").unwrap().unwrap().prints, [PrintId(2), PrintId(1)]);
        assert_eq!(ids(&it, "cesme date:2009 verdict:look edit:book"), [1]);
        // An exposure of several prints is known since form 4; in any form the second one of a file can come in.
        assert_eq!(it.frames_by_hash("00bb").unwrap().len(), if form >= 4 { 2 } else { 0 }, "form {form}");
        let second = NewFrame {
            blake3: "00aa".into(),
            name: "F0001-2".into(),
            part: PartOf { number: 2, of: 2 },
            ..NewFrame::default()
        };
        let id = it.change("A second print", |w| w.add_frame(&second)).unwrap();
        assert_eq!(it.change("Again", |w| w.add_frame(&second)).unwrap(), id, "form {form}");
        assert_eq!(it.frames_by_hash("00aa").unwrap().len(), 2, "form {form}");
        assert!(id.0 > it.frames_by_hash("00aa").unwrap()[0].id.0);
        it.undo().unwrap();
        assert_eq!(it.check().unwrap(), Vec::<String>::new(), "form {form}");
        // What later forms know can be said of it and found.
        it.describe(&[PrintId(1)], &[(Fact::Alt, "Two boats in the mud")]).unwrap();
        assert_eq!((ids(&it, "alt:boat"), ids(&it, "boats")), (vec![1], vec![1]), "form {form}");
        it.undo().unwrap();
        assert_eq!(ids(&it, "has:alt"), Vec::<i64>::new(), "form {form}");
        // Stacks are known since form 3, and can be laid in any.
        let stacks = it.stacks().unwrap();
        assert_eq!(stacks.len(), usize::from(form >= 3), "form {form}");
        it.change("Laid", |w| w.stack(&[PrintId(1), PrintId(2)], "person")).unwrap();
        assert_eq!(it.stacks().unwrap()[0].prints, [PrintId(1), PrintId(2)], "form {form}");
        if form < 3 {
            it.undo().unwrap();
        }
        // Its journal still undoes, and numbers go on where they were.
        assert_eq!(it.undo().unwrap().unwrap().says, "Into the edit book: P0002");
        assert_eq!(it.edit("book").unwrap().unwrap().prints, [PrintId(1)]);
        assert_eq!(it.change("A print", |w| w.mint()).unwrap(), PrintId(4));
    }
}

#[test]
fn a_catalogue_from_the_future_is_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("fallside.db");
    drop(open(folder.path()));
    rusqlite::Connection::open(&path).unwrap().execute_batch("PRAGMA user_version = 900").unwrap();
    let error = Catalogue::open(&path).unwrap_err();
    assert!(matches!(error, Error::Newer { found: 900, .. }), "{error}");
}

/// A catalogue restored by another tool keeps its changes as that tool left it; several may open it at once all the same.
#[test]
fn several_open_one_that_keeps_no_log_yet() {
    let folder = tempfile::tempdir().unwrap();
    for round in 0..20 {
        let path = folder.path().join(format!("{round}.db"));
        drop(Catalogue::open(&path).unwrap());
        let before: String = rusqlite::Connection::open(&path)
            .unwrap()
            .query_row("PRAGMA journal_mode = delete", [], |r| r.get(0))
            .unwrap();
        assert_eq!(before, "delete");
        std::thread::scope(|scope| {
            for _ in 0..6 {
                scope.spawn(|| Catalogue::open(&path).unwrap().change("A print", |w| w.mint()).unwrap());
            }
        });
        assert_eq!(Catalogue::open(&path).unwrap().tally().unwrap().prints, 6, "round {round}");
    }
}

/// Whoever comes in between: several make it at once, one was ended in the middle. A file of its name is a catalogue at any moment.
#[test]
fn a_catalogue_is_whole_from_its_first_moment() {
    let folder = tempfile::tempdir().unwrap();
    for round in 0..20 {
        let path = folder.path().join(format!("{round}.db"));
        std::fs::write(folder.path().join(format!(".{round}.db-1-0.part")), b"").unwrap();
        std::thread::scope(|scope| {
            for _ in 0..4 {
                scope.spawn(|| Catalogue::open(&path).unwrap().change("A print", |w| w.mint()).unwrap());
            }
            scope.spawn(|| {
                while !path.exists() {
                    std::thread::yield_now();
                }
                Catalogue::open_to_read(&path).unwrap().tally().unwrap()
            });
        });
        assert_eq!(Catalogue::open(&path).unwrap().tally().unwrap().prints, 4, "round {round}");
    }
    let left = std::fs::read_dir(folder.path()).unwrap().flatten().map(|e| e.file_name().into_string().unwrap());
    assert_eq!(left.filter(|n| n.contains(".part")).collect::<Vec<_>>(), Vec::<String>::new());
}
