//! What a person does on the page. Each change is one entry of the journal, and every open page hears of it.

use super::wire::request::{
    EditRequest, FrontRequest, JoinRequest, LightRequest, RefinishRequest, RoleRequest, StackRequest, UndoRequest,
};
use super::wire::{Did, Event, Refinished};
use super::{Desk, held};
use base::wording::count;
use finish::light::ShadowLight;
use finish::recipe::ByHand;
use project::catalogue::{FrameId, PrintId};
use project::{Error, Project, Result};

impl Desk {
    /// Changes an edit.
    ///
    /// # Errors
    /// There is no such print or edit, or its new name is taken.
    pub fn edit(&self, asked: &EditRequest) -> Result<Did> {
        let (name, ids) = (asked.name(), ids(asked.ids()));
        let many = named(&ids);
        let did = match asked {
            EditRequest::Put { .. } => format!("Added {many} to the edit {name}"),
            EditRequest::Take { .. } => format!("Removed {many} from the edit {name}"),
            EditRequest::Move { at, .. } => format!("Moved {many} to place {}", at.saturating_add(1)),
            EditRequest::Order { .. } => format!("Ordered the edit {name}"),
            EditRequest::Make { .. } => format!("Made the edit {name}"),
            EditRequest::Rename { to, .. } => format!("Renamed {name} to {to}"),
            EditRequest::Drop { .. } => format!("Deleted the edit {name}"),
        };
        self.act(did.clone(), |p| {
            let order = match asked {
                EditRequest::Move { at, .. } => moved(p, name, &ids, *at)?,
                _ => ids.clone(),
            };
            p.change(&did, |w| match asked {
                EditRequest::Put { at, .. } => w.put_in(name, None, &ids, *at),
                EditRequest::Take { .. } => w.take_out(name, &ids),
                EditRequest::Move { .. } | EditRequest::Order { .. } => w.set_order(name, &order),
                EditRequest::Make { .. } => w.edit(name, None).map(drop),
                EditRequest::Rename { to, .. } => w.rename_edit(name, to),
                EditRequest::Drop { .. } => w.drop_edit(name),
            })
        })
    }

    /// Puts prints into a stack, takes them out, or proposes stacks.
    ///
    /// # Errors
    /// There is no such print, fewer than two are to form a stack, or one is in no stack.
    pub fn stack(&self, asked: &StackRequest) -> Result<Did> {
        self.may_write()?;
        let mut project = self.project();
        let did = match asked {
            StackRequest::Put { ids: prints } => project::stack(&mut project, &ids(prints)),
            StackRequest::Lift { ids: prints } => project::lift(&mut project, &ids(prints)),
            StackRequest::Propose {} => project::propose(&mut project),
        }?;
        self.done(&project, did)
    }

    /// Moves a frame to another print, or to a new one.
    ///
    /// # Errors
    /// There is no such frame or print; a print's only frame cannot leave it.
    pub fn join(&self, JoinRequest { frame, print }: JoinRequest) -> Result<Did> {
        let id = FrameId(frame);
        let name = self.frame_name(id)?;
        match print {
            Some(print) => {
                let print = PrintId(print);
                self.act(format!("Moved {name} to {print}"), |p| project::pair(p, id, print))
            }
            None => {
                let held = self.project().catalogue().frame(id)?;
                let of = held.and_then(|f| f.print).map(|p| self.project().catalogue().print(p)).transpose()?.flatten();
                if of.is_some_and(|p| p.frames.len() < 2) {
                    return Err(Error::Refused(
                        "It is the only frame of its print. Move it to another print instead.".into(),
                    ));
                }
                self.act(format!("Made a separate print of {name}"), |p| project::split(p, id).map(drop))
            }
        }
    }

    /// Chooses a print's front.
    ///
    /// # Errors
    /// Print or frame is not there.
    pub fn front(&self, FrontRequest { print, frame }: FrontRequest) -> Result<Did> {
        let name = self.frame_name(FrameId(frame))?;
        let did = format!("Chose {name} as the front of {}", PrintId(print));
        self.act(did.clone(), |p| {
            p.change(&did, |w| w.choose_front(PrintId(print), FrameId(frame), "a person chose it", "person"))
        })
    }

    /// Sets what a frame shows.
    ///
    /// # Errors
    /// There is no such frame.
    pub fn role(&self, RoleRequest { frame, role }: RoleRequest) -> Result<Did> {
        let id = FrameId(frame);
        let name = self.frame_name(id)?;
        let word = serde_json::to_value(role).unwrap_or_default().as_str().unwrap_or_default().to_owned();
        let did = format!("Set the role of {name} to {}", role.word());
        self.act(did.clone(), |p| p.change(&did, |w| w.give_role(id, &word, "a person said so")))
    }

    /// Undoes the last thing done in this room, or a take-in as a whole by its name.
    ///
    /// # Errors
    /// Something done elsewhere since depends on it, the catalogue or a sidecar cannot be written, or a frame cannot be finished again
    /// as it was.
    pub fn undo(&self, asked: &UndoRequest) -> Result<Did> {
        match &asked.take {
            Some(take) => self.undo_take(take),
            None => self.step(false, "Undone"),
        }
    }

    /// Repeats what was undone last in this room.
    ///
    /// # Errors
    /// As [`Desk::undo`].
    pub fn redo(&self) -> Result<Did> {
        self.step(true, "Redone")
    }

    fn undo_take(&self, take: &str) -> Result<Did> {
        self.may_write()?;
        let _writing = held(&self.finishing);
        let mut project = self.project();
        let undone = project.undo_take(take)?;
        let undone = undone.ok_or_else(|| Error::Refused("That import is undone already.".into()))?;
        let frames = count(undone.frames, "frame", "frames");
        let did = format!("Undone: the import of {frames} from {}. The files stay where they are", undone.from);
        self.done(&project, did)
    }

    fn step(&self, forth: bool, did: &str) -> Result<Did> {
        self.may_write()?;
        let _writing = held(&self.finishing);
        let mut project = self.project_apart()?;
        // What was said of a frame may have come or gone with it: its pictures follow.
        let says = match project::step(&mut project, forth, &self.rooms(), &self.frames)? {
            Some(entry) => format!("{did}: {}", entry.says),
            None if forth => "Nothing to redo here.".to_owned(),
            None => nothing_here(project.catalogue().last_done()?),
        };
        self.done(&project, says)
    }

    /// Finishes a frame again at once, with a person's corrections.
    ///
    /// # Errors
    /// The frame or its original is missing, or the outline is impossible.
    pub fn mend(&self, wish: &RefinishRequest) -> Result<Refinished> {
        let id = FrameId(wish.frame);
        let name = self.frame_name(id)?;
        self.may_write()?;
        let light = wish.light.as_ref().map(|words| project::light_in(&self.folder, words)).transpose()?;
        let light = light.map(|l| l.unwrap_or(ShadowLight::AsShot));
        let did = match wish {
            RefinishRequest { outline: Some(_), .. } => format!("Drew the outline of {name}"),
            RefinishRequest { format: Some(format), .. } => format!("Set the format of {name} to {format}"),
            RefinishRequest { turn: Some(turn), .. } => format!("Turned {name} {}", quarters(*turn)),
            RefinishRequest { shadow: Some(shadow), .. } => format!("Set the shadow of {name} to {shadow}"),
            RefinishRequest { as_measured: true, .. } => format!("Set the outline of {name} as measured"),
            RefinishRequest { .. } => match &light {
                Some(light) => format!("Set the light of {name}: {}", light.says()),
                None => return Err(Error::Refused("Give an outline, a format, a turn, a shadow or a light.".into())),
            },
        };
        let did = {
            let _writing = held(&self.finishing);
            let mut project = self.project_apart()?;
            let by_hand = over(&project, id, wish, light)?;
            let working = |done| Event::Working { name: format!("Finishing {name} again"), done, of: 1 };
            self.tell(&working(0));
            let mended = project::mend(&mut project, id, &by_hand, &did, &self.frames);
            self.tell(&working(1));
            // A shadow that stays as shot is said at once, and stands on the sheet.
            let stays = mended?.shadow.and_then(|s| s.why).filter(|_| wish.light.is_some());
            let did = self.done(&project, did)?;
            Did { did: stays.map_or_else(|| did.did.clone(), |why| format!("{name}: {why}")), ..did }
        };
        let frame = self.frame(wish.frame)?;
        frame.iter().for_each(|f| held(&self.stand).mended(f));
        Ok(Refinished { did, frame })
    }

    /// Names a light of the project, or deletes a name. No picture changes, so there is nothing to undo.
    ///
    /// # Errors
    /// That is no name or no light, or its file cannot be written.
    pub fn light(&self, asked: &LightRequest) -> Result<Did> {
        self.may_write()?;
        let project = self.project();
        let did = match asked {
            LightRequest::Name { name, light } => {
                format!("Named a light: {}", project.name_light(name, light)?.says())
            }
            LightRequest::Drop { name } => {
                project.drop_light(name)?;
                format!("Deleted the light {}", name.trim())
            }
        };
        self.done(&project, did)
    }

    /// The project over a connection of its own: whoever reads, or changes something else, does not wait while frames are finished.
    fn project_apart(&self) -> Result<Project> {
        let mut project = Project::open(&self.folder)?;
        project.set_room(&self.room);
        Ok(project)
    }

    pub(super) fn act(&self, did: String, work: impl FnOnce(&mut Project) -> Result<()>) -> Result<Did> {
        self.may_write()?;
        let mut project = self.project();
        work(&mut project)?;
        self.done(&project, did)
    }

    pub(super) fn done(&self, project: &Project, did: String) -> Result<Did> {
        let (undo, redo) = project.catalogue().can_undo_redo_in(&self.rooms())?;
        self.tell(&Event::Changed);
        Ok(Did { did, undo, redo })
    }

    fn frame_name(&self, id: FrameId) -> Result<String> {
        let frame = self.project().catalogue().frame(id)?;
        frame.map(|f| f.name).ok_or_else(|| Error::Refused("There is no such frame.".into()))
    }
}

pub(super) fn ids(prints: &[i64]) -> Vec<PrintId> {
    prints.iter().map(|p| PrintId(*p)).collect()
}

/// "P0004", "6 prints".
pub(super) fn named(ids: &[PrintId]) -> String {
    match ids {
        [one] => one.to_string(),
        more => count(more.len(), "print", "prints"),
    }
}

/// There is nothing to undo in a room: where something is.
fn nothing_here(last: Option<(String, String)>) -> String {
    match last {
        Some((says, place)) => format!("Nothing to undo here. The last change was made {place}: {says}."),
        None => "Nothing to undo.".into(),
    }
}

fn quarters(turn: u8) -> &'static str {
    match turn % 4 {
        1 => "90° to the right",
        2 => "by 180°",
        3 => "90° to the left",
        _ => "back to how it was found",
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

/// Earlier corrections of a frame, with new ones over them.
fn over(project: &Project, id: FrameId, wish: &RefinishRequest, light: Option<ShadowLight>) -> Result<ByHand> {
    let refused = |says: &str| Error::Refused(says.into());
    let frame = project.catalogue().frame(id)?.ok_or_else(|| refused("There is no such frame."))?;
    let before = project::said(&frame);
    if wish.shadow.is_some_and(|s| !(0.0..=2.0).contains(&s)) {
        return Err(refused("The shadow's depth is 0 (none) to 2 (twice as dark as shot)."));
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
    let finished_by = report.as_ref().and_then(|r| r.recipe.settings.light.as_ref());
    if wish.as_measured {
        // The format was noted with the outline that goes.
        return Ok(ByHand { outline_px: None, format: None, ..before });
    }
    // An outline drawn over a print that was found is an outline of that format, unless another is said.
    let format = wish.format.clone().or(before.format).or(known.filter(|_| outline.is_some()));
    Ok(ByHand {
        outline_px: outline.or(before.outline_px),
        format: format.filter(|f| f != "plain"),
        turn: wish.turn.map(|t| t % 4).or(before.turn),
        shadow: wish.shadow.or(before.shadow),
        // As shot is worth a word only where the frame was finished by another light from the start.
        light: match light.or(before.light) {
            Some(ShadowLight::AsShot) => finished_by.map(|_| ShadowLight::AsShot),
            other => other,
        },
    })
}
