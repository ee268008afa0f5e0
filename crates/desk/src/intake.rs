//! Taking in from the page: one import at a time, in the background; its progress, its end, and how it is stopped.

use super::wire::intake::{ImportStage, Imported, Importing, Imports, Unread};
use super::wire::request::TakeRequest;
use super::wire::{Did, Event};
use super::{Desk, held};
use base::files::name_of;
use base::wording::count;
use finish::Event as Finishing;
use project::{Error, Project, Result, Stop, Take, TakeEvent, Taken};
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

/// Shortest time between two events of one stage: four a second are as many as a person reads, and no flood for a page.
const TELL_AFTER: Duration = Duration::from_millis(250);

/// The import that runs, and the last one.
#[derive(Default)]
pub struct Intake {
    now: Option<Importing>,
    last: Option<Imported>,
    stop: Stop,
    told: Option<Instant>,
}

impl Intake {
    fn imports(&self) -> Imports {
        Imports { now: self.now.clone(), last: self.last.clone() }
    }

    /// Goes on to `done` of `of`; the event to tell, unless one was told a moment ago and nothing but a number has changed.
    fn goes_on(&mut self, stage: ImportStage, done: usize, of: usize, frame: Option<&Path>) -> Option<Imports> {
        let now = self.now.as_mut()?;
        let fresh = now.stage != stage || done == of;
        let frame = frame.map(name_of).or(now.frame.take().filter(|_| now.stage == stage));
        *now = Importing { stage, done, of, frame, ..now.clone() };
        if !fresh && self.told.is_some_and(|t| t.elapsed() < TELL_AFTER) {
            return None;
        }
        self.told = Some(Instant::now());
        Some(self.imports())
    }

    /// The frame in hand changed.
    fn in_hand(&mut self, path: &Path) -> Option<Imports> {
        let (done, of) = self.now.as_ref().map(|n| (n.done, n.of))?;
        self.goes_on(ImportStage::Finishing, done, of, Some(path))
    }
}

impl Desk {
    /// The import that runs, and how the last one ended.
    pub fn imports(&self) -> Imports {
        held(&self.intake).imports()
    }

    /// Takes a folder of frames in, in the background; events say how it goes.
    ///
    /// # Errors
    /// There is no such folder, an import is running, or this desk only reads.
    pub fn take(self: &Arc<Self>, asked: TakeRequest) -> Result<Did> {
        self.may_write()?;
        let folder = asked.folder.clone();
        if !folder.exists() {
            return Err(Error::Refused(format!("There is nothing at {}. Enter the full path.", folder.display())));
        }
        let stop = Stop::default();
        {
            let mut intake = held(&self.intake);
            if let Some(now) = &intake.now {
                return Err(Error::Refused(format!(
                    "{} is being imported. Wait until it is done, or stop it.",
                    now.folder
                )));
            }
            let folder = folder.display().to_string();
            let waiting = ImportStage::Waiting;
            let now = Importing { folder, stage: waiting, done: 0, of: 0, frame: None, stopping: false };
            *intake = Intake { now: Some(now), stop: stop.clone(), ..Intake::default() };
        }
        let request = Take {
            inputs: vec![asked.folder],
            copy: asked.copy,
            box_name: asked.box_name.unwrap_or_default(),
            sleeve: asked.sleeve.unwrap_or_default(),
            stop,
            ..Take::default()
        };
        self.tell_imports();
        let desk = Arc::clone(self);
        std::thread::spawn(move || desk.take_now(&request));
        self.done(&self.project(), format!("Importing {}", folder.display()))
    }

    /// Stops the import: the frames in work are still entered, no other is begun.
    ///
    /// # Errors
    /// No import is running.
    pub fn stop_take(&self) -> Result<Did> {
        {
            let mut intake = held(&self.intake);
            intake.stop.stop();
            let Some(now) = &mut intake.now else { return Err(Error::Refused("No import is running.".into())) };
            now.stopping = true;
        }
        self.tell_imports();
        self.done(&self.project(), "Stopping the import: the frame in hand is finished first".into())
    }

    fn tell_imports(&self) {
        self.tell(&Event::Importing(Box::new(self.imports())));
    }

    /// Takes frames in and waits; `hear` gets each event.
    pub(super) fn take_with(&self, request: &Take, hear: &(dyn Fn(&TakeEvent) + Sync)) -> Result<Taken> {
        let _writing = held(&self.finishing);
        // A connection of its own: the page reads on while frames are finished.
        let mut project = Project::open(&self.folder)?;
        project::take(&mut project, request, &self.frames, &|event| hear(&event))
    }

    fn take_now(&self, request: &Take) {
        let goes_on = |step: Option<Imports>| {
            step.into_iter().for_each(|now| self.tell(&Event::Importing(Box::new(now))));
        };
        let at = |stage, done, of, frame: Option<&Path>| goes_on(held(&self.intake).goes_on(stage, done, of, frame));
        let hear = |event: &TakeEvent| match event {
            TakeEvent::Reading { path, done, of } => at(ImportStage::Reading, *done, *of, Some(path)),
            TakeEvent::InHand { path } => goes_on(held(&self.intake).in_hand(path)),
            TakeEvent::Finishing(Finishing::Looked { done, of }) => at(ImportStage::Looking, *done, *of, None),
            TakeEvent::Finishing(Finishing::Begins { of, .. }) => at(ImportStage::Finishing, 0, *of, None),
            TakeEvent::Finishing(Finishing::Done { done, of, .. }) => at(ImportStage::Finishing, *done, *of, None),
            TakeEvent::Saved { .. } => self.tell(&Event::Changed),
            TakeEvent::Finishing(_) => {}
        };
        let folder = request.inputs.first().cloned().unwrap_or_default();
        let ended = ended(&folder, self.take_with(request, &hear), request.stop.is_asked());
        *held(&self.intake) = Intake { last: Some(ended), ..Intake::default() };
        self.tell_imports();
        self.tell(&Event::Changed);
    }
}

/// How an import ended, for a person.
fn ended(folder: &Path, taken: Result<Taken>, stopped: bool) -> Imported {
    let none = Imported { folder: folder.display().to_string(), ..Imported::default() };
    let taken = match taken {
        Ok(taken) => taken,
        Err(e) => return Imported { says: format!("The import ended early. {e}"), trouble: true, ..none },
    };
    let short = |path: &Path| path.strip_prefix(folder).unwrap_or(path).display().to_string();
    let about_all = taken.problems.into_iter().map(|says| Unread { file: None, says });
    let files = taken.unread.into_iter().map(|u| Unread { file: Some(short(&u.path)), says: u.says });
    let unread: Vec<Unread> = about_all.chain(files).collect();
    let (frames, known, left) = (taken.frames.len(), taken.known, taken.left);
    let stopped = stopped && left > 0;
    let mut says = vec![match (frames, known) {
        (0, 0) if unread.is_empty() && left == 0 => "Nothing to import.".to_owned(),
        (0, 0) => "Nothing was imported.".to_owned(),
        (0, known) => format!("Nothing new: {} already in the project.", count(known, "frame is", "frames are")),
        (frames, 0) => format!("{} imported.", count(frames, "frame", "frames")),
        (frames, known) => format!("{} imported, {known} known before.", count(frames, "frame", "frames")),
    }];
    if stopped {
        says.push(format!(
            "Stopped: {} left untouched. Import the folder again to go on.",
            count(left, "frame is", "frames are")
        ));
    }
    if !unread.is_empty() {
        says.push(format!("{} could not be read.", count(unread.len(), "file", "files")));
    }
    let trouble = !unread.is_empty();
    Imported { frames, known, left, stopped, says: says.join(" "), trouble, unread, ..none }
}

#[cfg(test)]
mod tests {
    use super::*;
    use base::Exit;

    fn taken(frames: i64, known: usize, left: usize, unread: Vec<project::Unread>) -> Taken {
        let frames = (0..frames).map(project::catalogue::FrameId).collect();
        Taken { frames, known, problems: vec![], unread, left, exit: Exit::AllDone }
    }

    #[test]
    fn the_end_of_an_import_says_what_came_in_what_is_left_and_what_could_not_be_read() {
        let card = Path::new("/card");
        let torn = project::Unread { path: card.join("DCIM/F2.jpg"), says: "The file is cut off.".into() };
        let end = ended(card, Ok(taken(3, 0, 4, vec![torn])), true);
        assert_eq!(
            end.says,
            "3 frames imported. Stopped: 4 frames are left untouched. Import the folder again to go on. 1 file could not be read."
        );
        assert_eq!(end.unread, [Unread { file: Some("DCIM/F2.jpg".into()), says: "The file is cut off.".into() }]);
        assert!(end.stopped && end.trouble);
        // What ends it altogether is trouble too, and is told by itself.
        let early = ended(card, Err(Error::Refused("The disk is full.".into())), false);
        assert!(early.trouble && early.says == "The import ended early. The disk is full.");
        // Asked to stop after the last frame was begun: nothing is left, so it ended as any other.
        assert!(!ended(card, Ok(taken(3, 0, 0, vec![])), true).stopped);
        assert_eq!(
            ended(card, Ok(taken(0, 9, 0, vec![])), false).says,
            "Nothing new: 9 frames are already in the project."
        );
    }
}
