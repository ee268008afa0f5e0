//! The desk: a project as its page sees it, and everything that a person can do on the page.
//!
//! Requests and answers are the types of [`wire`]; `app` carries them over HTTP. Reading never waits for finishing: frames are
//! taken in through a connection of their own. One desk at a time may change a project; a second one says so and only reads.

mod act;
mod describe;
mod export;
mod folders;
mod intake;
mod picture;
mod read;
mod rig_room;
mod stack_rows;
mod stand;
pub mod wire;

pub use export::MadeFile;
pub use picture::{Sight, WIDTHS};
pub use read::Order;
pub use wire::account::json_schema as hand_schema;
pub use wire::{Ear, Event, Last};

pub use base::files::MARK as OWN;
use finish::frame::Frames;
use project::catalogue::{FrameId, Hold, Rooms};
use project::{DATABASE, Error, Project, Result, Task, catch_up};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// A project open on the desk, as one room of its page sees it.
pub struct Desk {
    shared: Arc<Shared>,
    /// The room: `table`, `print/17`, `hand`; the command line's has no name. Undo takes back what was done in it.
    room: String,
}

/// What all rooms have in common.
pub struct Shared {
    folder: PathBuf,
    project: Mutex<Project>,
    /// Why nothing can be changed, where nothing can.
    reads_only: Option<String>,
    /// Held as long as this desk is open.
    _hold: Option<Hold>,
    /// One at a time writes finished files.
    finishing: Mutex<()>,
    frames: Frames,
    ear: Box<Ear>,
    stand: Mutex<stand::Sitting>,
    handing: Mutex<export::Handing>,
    intake: Mutex<intake::Intake>,
    room_light: Mutex<rig_room::RoomLight>,
}

impl std::ops::Deref for Desk {
    type Target = Shared;

    fn deref(&self) -> &Shared {
        &self.shared
    }
}

/// Longest name of a room.
const ROOM: usize = 40;

impl Desk {
    /// The desk as a room of the page sees it. A name that no room can have is no room.
    pub fn at(&self, room: &str) -> Arc<Self> {
        let word = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '/';
        let known = room.len() <= ROOM && room.chars().all(word) && !room.starts_with("take");
        let room = if known { room.to_owned() } else { String::new() };
        Arc::new(Self { shared: Arc::clone(&self.shared), room })
    }

    /// The rooms whose changes undo takes back here. What was said on the command line is taken back on the table.
    fn rooms(&self) -> Rooms {
        let own = self.room.clone();
        Rooms::These(if own.is_empty() || own == "table" { vec!["table".into(), String::new()] } else { vec![own] })
    }

    /// Opens the project in `folder` (which is begun where there is none); `ear` hears what happens. Where another desk has it
    /// open, this one only reads, and says why.
    ///
    /// # Errors
    /// The project cannot be opened.
    pub fn open(folder: &Path, ear: Box<Ear>) -> Result<Arc<Self>> {
        let writer = Project::open_or_begin(folder);
        let held = writer.and_then(|p| p.hold(Task::Desk).map(|h| (p, h)));
        let (project, hold, reads_only) = match held {
            Ok((project, hold)) => (project, Some(hold), None),
            Err(Error::Held(why)) => (Project::open_to_read(folder)?, None, Some(why)),
            Err(_) if folder.join(DATABASE).exists() && !Project::is_writable(folder) => {
                let why = format!("You do not have permission to write to {}.", folder.display());
                (Project::open_to_read(folder)?, None, Some(why))
            }
            Err(other) => return Err(other),
        };
        let (mut project, frames) = (project, Frames::default());
        if hold.is_some() {
            // What cannot be caught up now stays due: the next undo, or the next desk, tries again.
            let _ = catch_up(&mut project, &frames);
        }
        let watched = project.catalogue().about(stand::WATCHED)?;
        let learns = hold.is_some();
        let shared = Shared {
            folder: folder.to_owned(),
            project: Mutex::new(project),
            reads_only,
            _hold: hold,
            finishing: Mutex::new(()),
            frames,
            ear,
            stand: Mutex::new(stand::Sitting::remembering(watched.as_deref())),
            handing: Mutex::default(),
            intake: Mutex::default(),
            room_light: Mutex::default(),
        };
        let desk = Arc::new(Self { shared: Arc::new(shared), room: String::new() });
        if learns {
            desk.learn_colours();
        }
        Ok(desk)
    }

    /// Why nothing can be changed here, where nothing can.
    pub fn reads_only(&self) -> Option<&str> {
        self.reads_only.as_deref()
    }

    /// True for a frame of a private print.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn is_private(&self, frame: i64) -> Result<bool> {
        let project = self.project();
        let it = project.catalogue();
        let of = it.frame(FrameId(frame))?.and_then(|f| f.print);
        let print = of.map(|id| it.print(id)).transpose()?.flatten();
        Ok(print.is_some_and(|p| p.facts.privacy == "private"))
    }

    fn project(&self) -> MutexGuard<'_, Project> {
        let mut project = held(&self.project);
        project.set_room(&self.room);
        project
    }

    /// Refuses where this desk only reads.
    fn may_write(&self) -> Result<()> {
        match &self.reads_only {
            Some(why) => Err(Error::Held(why.clone())),
            None => Ok(()),
        }
    }

    fn tell(&self, event: &Event) {
        (self.ear)(event);
    }
}

fn held<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
