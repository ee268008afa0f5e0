//! The journal, played at random: whatever was done is undone step by step to what was before, and done again to what was after.

use catalogue::{Catalogue, Fact, FrameId, NewFrame, PrintId};
use proptest::prelude::*;

/// Everything that the journal covers, as text.
fn picture(it: &Catalogue) -> String {
    let ids = it.search("", catalogue::Order::Number, 0, 0).unwrap().ids;
    let prints: Vec<_> = ids.iter().map(|id| it.print(*id).unwrap()).collect();
    let frames: Vec<_> = it.all_frames().unwrap();
    let found: Vec<_> = ["harbour", "box:one", "place:a", "has:date", "edit:wide", "frame:F1"]
        .iter()
        .map(|line| it.search(line, catalogue::Order::Date, 0, 3).unwrap())
        .collect();
    format!("{prints:?} {frames:?} {:?} {:?} {found:?}", it.edits().unwrap(), it.hand_offs().unwrap())
}

#[derive(Clone, Debug)]
enum Step {
    Mint,
    Frame(u8),
    Say(u8, usize, u8),
    Join(u8, Option<u8>),
    Front(u8, u8),
    PutIn(usize, Vec<u8>, Option<usize>),
    TakeOut(usize, u8),
    HandOff(u8),
    Undo,
    Redo,
}

fn step() -> impl Strategy<Value = Step> {
    prop_oneof![
        Just(Step::Mint),
        (0..6_u8).prop_map(Step::Frame),
        (1..6_u8, 0..15_usize, 0..4_u8).prop_map(|(p, f, v)| Step::Say(p, f, v)),
        (1..5_u8, proptest::option::of(1..6_u8)).prop_map(|(f, p)| Step::Join(f, p)),
        (1..6_u8, 1..5_u8).prop_map(|(p, f)| Step::Front(p, f)),
        (0..2_usize, proptest::collection::vec(1..6_u8, 1..4), proptest::option::of(0..4_usize))
            .prop_map(|(e, p, at)| Step::PutIn(e, p, at)),
        (0..2_usize, 1..6_u8).prop_map(|(e, p)| Step::TakeOut(e, p)),
        (1..6_u8).prop_map(Step::HandOff),
        Just(Step::Undo),
        Just(Step::Redo),
    ]
}

/// Does a step; a refusal is an answer too, and must change nothing.
fn play(it: &mut Catalogue, step: &Step) {
    let print = |n: u8| PrintId(i64::from(n));
    let edit = |e: usize| ["wide", "book"][e];
    let done = it.change("a step", |w| match step {
        Step::Mint => w.mint().map(drop),
        Step::Frame(n) => w
            .add_frame(&NewFrame {
                blake3: n.to_string(),
                name: format!("F{n}.jpg"),
                role: "front".into(),
                ..NewFrame::default()
            })
            .map(drop),
        Step::Say(p, f, v) => {
            let fact = catalogue::FACTS[*f].fact;
            let value = match (fact, v) {
                (_, 0) => "",
                (Fact::Exposed, _) => ["2009-07?", "200X", "../2011"][usize::from(*v) - 1],
                (Fact::Privacy, _) => ["open", "ask", "private"][usize::from(*v) - 1],
                _ => ["the harbour", "one; two", "Ærø “a”\nb"][usize::from(*v) - 1],
            };
            w.say(print(*p), fact, value)
        }
        Step::Join(f, p) => w.join(FrameId(i64::from(*f)), p.map(print), "so"),
        Step::Front(p, f) => w.choose_front(print(*p), FrameId(i64::from(*f)), "best", "person"),
        Step::PutIn(e, p, at) => w.put_in(edit(*e), None, &p.iter().map(|p| print(*p)).collect::<Vec<_>>(), *at),
        Step::TakeOut(e, p) => w.take_out(edit(*e), &[print(*p)]),
        Step::HandOff(p) => w.hand_off("pack", "out", "", &[print(*p)]).map(drop),
        Step::Undo | Step::Redo => Ok(()),
    });
    match step {
        Step::Undo => drop(it.undo().unwrap()),
        Step::Redo => drop(it.redo().unwrap()),
        _ => drop(done),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]
    #[test]
    fn undoing_all_and_redoing_all_comes_back(steps in proptest::collection::vec(step(), 1..24)) {
        let mut it = Catalogue::in_memory().unwrap();
        let mut pictures = vec![picture(&it)];
        for step in &steps {
            play(&mut it, step);
        }
        let last = picture(&it);
        prop_assert_eq!(it.check().unwrap(), Vec::<String>::new());
        while it.undo().unwrap().is_some() {
            pictures.push(picture(&it));
            prop_assert_eq!(it.check().unwrap(), Vec::<String>::new());
        }
        prop_assert_eq!(&picture(&it), &pictures[0]);
        // Forward again through the very same pictures, and on to what steps undone before the end would give.
        for expected in pictures[1..].iter().rev().skip(1) {
            prop_assert!(it.redo().unwrap().is_some());
            prop_assert_eq!(&picture(&it), expected);
        }
        if pictures.len() > 1 {
            prop_assert!(it.redo().unwrap().is_some());
            prop_assert_eq!(picture(&it), last);
        }
    }
}

#[test]
fn the_journal_outlives_the_program() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("fallside.db");
    let print = {
        let mut it = Catalogue::open(&path).unwrap();
        let print = it.change("A print", |w| w.mint()).unwrap();
        it.describe(&[print], &[(Fact::Place, "harbour")]).unwrap();
        it.describe(&[print], &[(Fact::Place, "station")]).unwrap();
        print
    };
    let place = |it: &Catalogue| it.print(print).unwrap().unwrap().facts.place;
    {
        let mut it = Catalogue::open(&path).unwrap();
        assert_eq!(it.undo().unwrap().unwrap().says, "Described P0001: place");
        assert_eq!(place(&it), "harbour");
    }
    let mut it = Catalogue::open(&path).unwrap();
    assert_eq!(it.can_undo_redo().unwrap().1.as_deref(), Some("Described P0001: place"));
    it.redo().unwrap();
    assert_eq!(place(&it), "station");
    assert!(it.redo().unwrap().is_none());
}

#[test]
fn what_is_new_drops_what_was_undone() {
    let mut it = Catalogue::in_memory().unwrap();
    let print = it.change("A print", |w| w.mint()).unwrap();
    it.describe(&[print], &[(Fact::Title, "one")]).unwrap();
    it.undo().unwrap();
    it.describe(&[print], &[(Fact::Title, "two")]).unwrap();
    assert!(it.redo().unwrap().is_none());
    let states: Vec<String> = it.history(9).unwrap().into_iter().map(|e| e.state).collect();
    assert_eq!(states, ["done", "dropped", "done"]);
}

#[test]
fn a_number_is_never_given_twice() {
    let mut it = Catalogue::in_memory().unwrap();
    let mint = |it: &mut Catalogue| it.change("A print", |w| w.mint()).unwrap();
    assert_eq!(mint(&mut it), PrintId(1));
    it.undo().unwrap();
    assert_eq!(mint(&mut it), PrintId(2));
    it.change("As before", |w| w.never_again(PrintId(40))).unwrap();
    assert_eq!(mint(&mut it), PrintId(41));
}

#[test]
fn a_change_that_gives_up_leaves_nothing() {
    let mut it = Catalogue::in_memory().unwrap();
    let error = it.change("Half", |w| {
        let print = w.mint()?;
        w.say(print, Fact::Exposed, "soon")
    });
    assert!(error.unwrap_err().to_string().contains("July 2009"));
    assert!(it.search("", catalogue::Order::Number, 0, 9).unwrap().ids.is_empty());
    assert!(it.history(9).unwrap().is_empty());
    it.change("Nothing", |_| Ok(())).unwrap();
    assert!(it.history(9).unwrap().is_empty(), "no change, no entry");
}
