//! What a hand on the page does: each is one entry of the journal, and is told to every page that listens.

use super::wire::{Did, Event, Frame};
use super::{Desk, held};
use base::wording::count;
use finish::Corners;
use finish::Event as Finishing;
use finish::recipe::ByHand;
use project::catalogue::{Fact, FrameId, PrintId};
use project::{Error, Project, Result, Take, TakeEvent};
use std::collections::BTreeMap;
use std::sync::Arc;

/// What is done to an edit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum EditWish {
    /// Prints join it, at a place or at its end.
    Put(Option<usize>),
    /// Prints leave it.
    Take,
    /// Prints of it go to a place, counted without them.
    Move(usize),
    /// It gets this order.
    Order,
    /// It is made.
    Make,
    /// It gets another name.
    Rename(String),
    /// It is dropped.
    Drop,
}

/// What is done to stacks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StackWish {
    /// Prints are laid on one another.
    Put,
    /// Prints are lifted out.
    Lift,
    /// Near-twins are proposed, whichever there are.
    Propose,
}

/// What a person says of a frame. What is absent stays as it was said before.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Mend {
    /// Corners in frame pixels, in the order in which the sheet has them: from the upright print's top left.
    pub outline: Option<Corners>,
    /// The format.
    pub format: Option<String>,
    /// Quarter turns clockwise from how it was found.
    pub turn: Option<u8>,
    /// The shadow kept.
    pub shadow: Option<f64>,
}

impl Desk {
    /// Says something of prints; an empty value takes a fact back.
    ///
    /// # Errors
    /// A print or a fact is not there, or a value is not understood.
    pub fn describe(&self, prints: &[i64], facts: &BTreeMap<String, String>) -> Result<Did> {
        let ids = ids(prints);
        let facts: Vec<(Fact, &str)> =
            facts.iter().map(|(word, value)| Ok((Fact::of(word)?, value.as_str()))).collect::<project::Result<_>>()?;
        let words: Vec<&str> = facts.iter().map(|f| f.0.word()).collect();
        let did = format!("Described {}: {}", named(&ids), words.join(", "));
        self.act(did.clone(), |p| {
            p.change(&did, |w| ids.iter().try_for_each(|id| facts.iter().try_for_each(|(f, v)| w.say(*id, *f, v))))
        })
    }

    /// Does something to an edit.
    ///
    /// # Errors
    /// A print or the edit is not there, or its new name is taken.
    pub fn edit(&self, name: &str, wish: &EditWish, prints: &[i64]) -> Result<Did> {
        let ids = ids(prints);
        let many = named(&ids);
        let did = match wish {
            EditWish::Put(_) => format!("Put {many} in the edit {name}"),
            EditWish::Take => format!("Took {many} out of the edit {name}"),
            EditWish::Move(to) => format!("Moved {many} to place {}", to + 1),
            EditWish::Order => format!("Ordered the edit {name}"),
            EditWish::Make => format!("Made the edit {name}"),
            EditWish::Rename(to) => format!("Renamed {name} to {to}"),
            EditWish::Drop => format!("Dropped the edit {name}"),
        };
        self.act(did.clone(), |p| {
            let order = match wish {
                EditWish::Move(to) => moved(p, name, &ids, *to)?,
                _ => ids.clone(),
            };
            p.change(&did, |w| match wish {
                EditWish::Put(at) => w.put_in(name, None, &ids, *at),
                EditWish::Take => w.take_out(name, &ids),
                EditWish::Move(_) | EditWish::Order => w.set_order(name, &order),
                EditWish::Make => w.edit(name, None).map(drop),
                EditWish::Rename(to) => w.rename_edit(name, to),
                EditWish::Drop => w.drop_edit(name),
            })
        })
    }

    /// Lays prints on one another, or lifts them out.
    ///
    /// # Errors
    /// A print is not there, fewer than two are laid together, or one lies in no stack.
    pub fn stack(&self, wish: StackWish, prints: &[i64]) -> Result<Did> {
        self.may_write()?;
        let ids = ids(prints);
        let mut project = self.project();
        let did = match wish {
            StackWish::Put => project::stack(&mut project, &ids),
            StackWish::Lift => project::lift(&mut project, &ids),
            StackWish::Propose => project::propose(&mut project),
        }?;
        self.done(&project, did)
    }

    /// Puts a frame with a print, or makes it a print of its own.
    ///
    /// # Errors
    /// Frame or print is not there; a print's only frame cannot be set apart.
    pub fn join(&self, frame: i64, print: Option<i64>) -> Result<Did> {
        let id = FrameId(frame);
        let name = self.frame_name(id)?;
        match print {
            Some(print) => {
                let print = PrintId(print);
                self.act(format!("Joined {name} to {print}"), |p| project::pair(p, id, print))
            }
            None => {
                let held = self.project().catalogue().frame(id)?;
                let of = held.and_then(|f| f.print).map(|p| self.project().catalogue().print(p)).transpose()?.flatten();
                if of.is_some_and(|p| p.frames.len() < 2) {
                    return Err(Error::Refused(
                        "It is the only frame of its print. Join it to another print instead.".into(),
                    ));
                }
                self.act(format!("Set {name} apart as a print of its own"), |p| project::split(p, id).map(drop))
            }
        }
    }

    /// Chooses a print's front.
    ///
    /// # Errors
    /// Print or frame is not there.
    pub fn front(&self, print: i64, frame: i64) -> Result<Did> {
        let name = self.frame_name(FrameId(frame))?;
        let did = format!("Chose {name} as the front of {}", PrintId(print));
        self.act(did.clone(), |p| {
            p.change(&did, |w| w.choose_front(PrintId(print), FrameId(frame), "a person chose it", "person"))
        })
    }

    /// Says what a frame is for.
    ///
    /// # Errors
    /// The frame is not there, or there is no such role.
    pub fn role(&self, frame: i64, role: &str) -> Result<Did> {
        let id = FrameId(frame);
        let name = self.frame_name(id)?;
        if serde_json::from_value::<finish::Role>(role.into()).is_err() {
            return Err(Error::Refused(format!("There is no role called “{role}”.")));
        }
        let did = format!("Called {name} a {role}");
        self.act(did.clone(), |p| p.change(&did, |w| w.give_role(id, role, "a person said so")))
    }

    /// Undoes the last thing done.
    ///
    /// # Errors
    /// The catalogue or a sidecar cannot be written, or a frame cannot be finished again as it was.
    pub fn undo(&self) -> Result<Did> {
        self.step(false, "Undone", "Nothing to undo.")
    }

    /// Does again what was undone last.
    ///
    /// # Errors
    /// As [`Desk::undo`].
    pub fn redo(&self) -> Result<Did> {
        self.step(true, "Done again", "Nothing to do again.")
    }

    fn step(&self, forth: bool, did: &str, nothing: &str) -> Result<Did> {
        self.may_write()?;
        let _writing = held(&self.finishing);
        let mut project = self.project();
        // What was said of a frame may have come or gone with it: its pictures follow.
        let entry = project::step(&mut project, forth, &self.frames)?;
        let says = entry.map_or(nothing.to_owned(), |e| format!("{did}: {}", e.says));
        self.done(&project, says)
    }

    /// Finishes a frame again with what a person says of it, at once.
    ///
    /// # Errors
    /// The frame is not there, its original is not, or the outline is none.
    pub fn mend(&self, frame: i64, wish: &Mend) -> Result<(Did, Option<Frame>)> {
        let id = FrameId(frame);
        let name = self.frame_name(id)?;
        self.may_write()?;
        let did = match wish {
            Mend { outline: Some(_), .. } => format!("Drew the outline of {name}"),
            Mend { format: Some(format), .. } => format!("Called {name} {format}"),
            Mend { turn: Some(turn), .. } => format!("Turned {name} {}", quarters(*turn)),
            Mend { shadow: Some(shadow), .. } => format!("Set the shadow of {name} to {shadow}"),
            Mend { .. } => return Err(Error::Refused("Nothing was said of it.".into())),
        };
        let did = {
            let _writing = held(&self.finishing);
            let mut project = self.project();
            let by_hand = over(&project, id, wish)?;
            project::mend(&mut project, id, &by_hand, &did, &self.frames)?;
            self.done(&project, did)?
        };
        Ok((did, self.frame(frame)?))
    }

    /// Takes frames in, in the background; what becomes of it is told as it goes.
    ///
    /// # Errors
    /// Nothing lies there, or this desk only reads.
    pub fn take(self: &Arc<Self>, request: Take) -> Result<Did> {
        self.may_write()?;
        let folder = request.inputs.first().cloned().unwrap_or_default();
        if !folder.exists() {
            return Err(Error::Refused(format!("There is nothing at {}. Write its whole path.", folder.display())));
        }
        let desk = Arc::clone(self);
        std::thread::spawn(move || desk.take_now(&request));
        self.done(&self.project(), format!("Taking in {}", folder.display()))
    }

    /// Takes frames in and waits; `hear` hears of each.
    pub(super) fn take_with(&self, request: &Take, hear: &(dyn Fn(&TakeEvent) + Sync)) -> Result<project::Taken> {
        let _writing = held(&self.finishing);
        // A connection of its own: the page reads on while frames are finished.
        let mut project = Project::open(&self.folder)?;
        project::take(&mut project, request, &self.frames, &|event| hear(&event))
    }

    fn take_now(&self, request: &Take) {
        let name = "Taking in".to_owned();
        let hear = |event: &TakeEvent| match event {
            TakeEvent::Finishing(Finishing::Done { done, of, .. }) => {
                self.tell(&Event::Working { name: name.clone(), done: *done, of: *of });
            }
            TakeEvent::Finishing(Finishing::Problem(says)) => self.tell(&Event::Trouble { says: says.clone() }),
            TakeEvent::Saved { .. } => self.tell(&Event::Changed),
            TakeEvent::Finishing(_) => {}
        };
        match self.take_with(request, &hear) {
            Ok(taken) => {
                let of = taken.frames.len();
                self.tell(&Event::Working { name: name.clone(), done: of, of });
                taken.problems.iter().for_each(|says| self.tell(&Event::Trouble { says: says.clone() }));
            }
            Err(e) => self.tell(&Event::Trouble { says: e.to_string() }),
        }
        self.tell(&Event::Changed);
    }

    fn act(&self, did: String, work: impl FnOnce(&mut Project) -> Result<()>) -> Result<Did> {
        self.may_write()?;
        let mut project = self.project();
        work(&mut project)?;
        self.done(&project, did)
    }

    pub(super) fn done(&self, project: &Project, did: String) -> Result<Did> {
        let (undo, redo) = project.catalogue().can_undo_redo()?;
        self.tell(&Event::Changed);
        Ok(Did { did, undo, redo })
    }

    fn frame_name(&self, id: FrameId) -> Result<String> {
        let frame = self.project().catalogue().frame(id)?;
        frame.map(|f| f.name).ok_or_else(|| Error::Refused("There is no such frame.".into()))
    }
}

fn ids(prints: &[i64]) -> Vec<PrintId> {
    prints.iter().map(|p| PrintId(*p)).collect()
}

/// "P0004", "6 prints".
fn named(ids: &[PrintId]) -> String {
    match ids {
        [one] => one.to_string(),
        more => count(more.len(), "print", "prints"),
    }
}

fn quarters(turn: u8) -> &'static str {
    match turn % 4 {
        1 => "a quarter to the right",
        2 => "half round",
        3 => "a quarter to the left",
        _ => "back",
    }
}

/// An edit's order with some of its prints moved to a place, which is counted without them.
fn moved(project: &Project, name: &str, ids: &[PrintId], to: usize) -> Result<Vec<PrintId>> {
    let held = project.catalogue().edit(name)?.map(|e| e.prints).unwrap_or_default();
    let mut order: Vec<PrintId> = held.into_iter().filter(|p| !ids.contains(p)).collect();
    let to = to.min(order.len());
    order.splice(to..to, ids.iter().copied());
    Ok(order)
}

/// What was said of a frame before, with a wish over it.
fn over(project: &Project, id: FrameId, wish: &Mend) -> Result<ByHand> {
    let refused = |says: &str| Error::Refused(says.into());
    let frame = project.catalogue().frame(id)?.ok_or_else(|| refused("There is no such frame."))?;
    let before = project::said(&frame);
    if wish.shadow.is_some_and(|s| !(0.0..=2.0).contains(&s)) {
        return Err(refused("The shadow is between 0, none, and 2, twice as deep as shot."));
    }
    if let Some(name) = &wish.format
        && !print::format::known().iter().any(|f| f.name == *name)
    {
        return Err(refused("There is no such format."));
    }
    // The sheet's outline begins at the print's top left as it is turned now; what is kept begins where it was found.
    let turned = usize::from(before.turn.unwrap_or(0));
    let outline = wish.outline.map(|c| std::array::from_fn(|i| c[(i + turned) % 4]));
    let report = frame.result.as_ref().and_then(|r| project.report(r));
    let known = report.as_ref().and_then(|r| r.print.as_ref()).map(|p| p.format.clone());
    // An outline drawn over a print that was found is an outline of that format, unless another is said.
    let format = wish.format.clone().or(before.format).or(known.filter(|_| outline.is_some()));
    Ok(ByHand {
        outline_px: outline.or(before.outline_px),
        format: format.filter(|f| f != "plain"),
        turn: wish.turn.map(|t| t % 4).or(before.turn),
        shadow: wish.shadow.or(before.shadow),
    })
}
