//! Undo in a room takes back what was done there; what entered by itself goes only as a whole, and never from under something that was
//! done since. What must hold is what a person expects of the word "undo", written here as the state before and after.

use catalogue::{Catalogue, Fact, NewFrame, PrintId, Rooms};

fn room(name: &str) -> Rooms {
    Rooms::These(vec![name.into()])
}

fn take(it: &mut Catalogue, take: &str, name: &str) -> PrintId {
    let before = it.set_room(take);
    let frame = NewFrame { blake3: name.into(), name: name.into(), role: "front".into(), ..NewFrame::default() };
    let print = it.change(&format!("Took {name}"), |w| {
        let (print, id) = (w.mint()?, w.add_frame(&frame)?);
        w.join(id, Some(print), "")?;
        Ok(print)
    });
    it.set_room(&before);
    print.unwrap()
}

fn say(it: &mut Catalogue, at: &str, print: PrintId, fact: Fact, word: &str) {
    let before = it.set_room(at);
    it.describe(&[print], &[(fact, word)]).unwrap();
    it.set_room(&before);
}

fn title(it: &Catalogue, print: PrintId) -> String {
    it.print(print).unwrap().map(|p| p.facts.title).unwrap_or_default()
}

#[test]
fn undo_takes_back_what_was_done_in_the_room_and_never_a_frame_that_came() {
    let mut it = Catalogue::in_memory().unwrap();
    let first = it.begin_take("/card").unwrap();
    let one = take(&mut it, &first, "F1");
    say(&mut it, "table", one, Fact::Title, "Boats");
    say(&mut it, "print/1", one, Fact::Place, "Harbour");
    // A frame comes at the stand meanwhile.
    let sleeve = it.begin_take("the stand").unwrap();
    assert_ne!(first, sleeve);
    let two = take(&mut it, &sleeve, "F2");
    assert_eq!(it.undo_in(&room("table")).unwrap().unwrap().says, "Described P0001: title");
    assert!(title(&it, one).is_empty() && it.print(one).unwrap().unwrap().facts.place == "Harbour");
    assert!(it.print(two).unwrap().is_some(), "the frame stays");
    assert!(it.undo_in(&room("table")).unwrap().is_none(), "nothing else was done there");
    assert_eq!(it.last_done().unwrap().unwrap().1, "on the sheet of P0001");
    // A frame that comes drops nothing that was undone.
    take(&mut it, &sleeve, "F3");
    assert_eq!(it.can_undo_redo_in(&room("table")).unwrap().1.as_deref(), Some("Described P0001: title"));
    it.redo_in(&room("table")).unwrap();
    assert_eq!(title(&it, one), "Boats");
    assert_eq!(it.check().unwrap(), Vec::<String>::new());
}

#[test]
fn what_was_done_since_to_the_same_is_not_overwritten() {
    let mut it = Catalogue::in_memory().unwrap();
    let card = it.begin_take("/card").unwrap();
    let one = take(&mut it, &card, "F1");
    say(&mut it, "table", one, Fact::Title, "Boats");
    say(&mut it, "print/1", one, Fact::Title, "Two boats");
    let refused = it.undo_in(&room("table")).unwrap_err().to_string();
    assert!(refused.contains("on the sheet of P0001") && refused.contains("Described P0001: title"), "{refused}");
    assert_eq!(title(&it, one), "Two boats");
    it.undo_in(&room("print/1")).unwrap();
    it.undo_in(&room("table")).unwrap();
    assert!(title(&it, one).is_empty());
    // Nor is it redone over something that was said since.
    say(&mut it, "print/1", one, Fact::Title, "Pears");
    assert!(it.redo_in(&room("table")).is_err());
    assert_eq!(title(&it, one), "Pears");
}

#[test]
fn a_take_in_is_undone_as_a_whole() {
    let mut it = Catalogue::in_memory().unwrap();
    let (card, sleeve) = (it.begin_take("/card").unwrap(), it.begin_take("the stand").unwrap());
    let here: Vec<PrintId> = ["F1", "F2", "F3"].iter().map(|f| take(&mut it, &card, f)).collect();
    let other = take(&mut it, &sleeve, "F4");
    let named: Vec<_> = it.taken_in(9).unwrap().into_iter().map(|t| (t.from, t.frames)).collect();
    assert_eq!(named, [("the stand".to_owned(), 1), ("/card".to_owned(), 3)]);
    // Words that were written since are not lost with it.
    say(&mut it, "table", here[1], Fact::Title, "Boats");
    let refused = it.undo_all_of(&card).unwrap_err().to_string();
    assert!(refused.contains("Described P0002: title"), "{refused}");
    assert!(here.iter().all(|p| it.print(*p).unwrap().is_some()), "nothing of it is undone");
    it.undo_in(&room("table")).unwrap();
    // Nor a place in an edit.
    it.set_room("table");
    it.change("Into the edit wide", |w| w.put_in("wide", None, &[here[2]], None)).unwrap();
    let refused = it.undo_all_of(&card).unwrap_err().to_string();
    assert!(refused.contains("Into the edit wide"), "{refused}");
    it.undo_in(&room("table")).unwrap();
    assert_eq!(it.undo_all_of(&card).unwrap().len(), 3);
    assert!(here.iter().all(|p| it.print(*p).unwrap().is_none()) && it.print(other).unwrap().is_some());
    assert!(it.undo_all_of(&card).unwrap().is_empty());
    assert_eq!(it.taken_in(9).unwrap().len(), 1);
    assert_eq!(it.check().unwrap(), Vec::<String>::new());
}
