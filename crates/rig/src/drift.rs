//! Drift: what moved during a sitting, after which frame, in which direction, and by how much.
//!
//! Every frame's bed is compared with that of the first blank: strength, colour and slope of the light, place and scale of the
//! bed. Steps in these series that are clearly larger than the scatter from frame to frame are reported, grouped by frame.
//! Frames are read uncorrected; a folder of results stands for the originals named in its reports.

mod answer;
mod gather;
mod sentences;
mod series;
mod steps;

pub use answer::{Drift, Event, Kind, Part, Quantity, Row, SCHEMA, Scatter, json_schema};

use base::Exit;
use base::workers::in_parallel;
use finish::Role;
use finish::frame::rig_observation::{Observed, observe};
use finish::roles::{RoleInput, in_time, roles};
use std::path::PathBuf;
use std::sync::Mutex;

/// What to look at.
#[derive(Clone, Debug, Default)]
pub struct Request {
    /// The folder of a sitting's frames, or of its finished results.
    pub folder: PathBuf,
    /// Frames said to be the bare bed; empty to find them.
    pub blanks: Vec<PathBuf>,
}

/// What became of it.
#[derive(Clone, Debug)]
pub struct Answer {
    /// What was found; absent where nothing could be compared.
    pub drift: Option<Drift>,
    /// Lines about what could not be read or compared.
    pub problems: Vec<String>,
    /// How it ended.
    pub exit: Exit,
}

impl Answer {
    fn nothing(problems: Vec<String>) -> Self {
        Self { drift: None, problems, exit: Exit::NothingDone }
    }
}

/// A frame of the sitting, in order of capture.
struct Frame {
    name: String,
    role: Role,
    seen: Observed,
}

/// Measures a sitting's drift.
pub fn drift(request: &Request) -> Answer {
    let gathered = match gather::gather(&request.folder) {
        Ok(g) => g,
        Err(problems) => return Answer::nothing(problems),
    };
    let mut problems = gathered.problems;
    let seen = Mutex::new(vec![]);
    let numbered: Vec<(usize, &PathBuf)> = gathered.files.iter().enumerate().collect();
    in_parallel(&numbered, |(i, path)| {
        let observed = base::workers::guarded(|| observe(path));
        seen.lock().unwrap_or_else(std::sync::PoisonError::into_inner).push((*i, observed));
    });
    let mut seen = seen.into_inner().unwrap_or_else(std::sync::PoisonError::into_inner);
    seen.sort_by_key(|(i, _)| *i);
    let mut read = vec![];
    for (i, observed) in seen {
        match observed {
            Ok(o) => read.push((&gathered.files[i], o)),
            Err(e) => problems.push(format!("{}: {e}", gathered.files[i].display())),
        }
    }
    let frames = in_order(request, read);
    match series::drift(&frames, gathered.notes) {
        Ok(drift) => {
            let exit = if problems.is_empty() { Exit::AllDone } else { Exit::WithProblems };
            Answer { drift: Some(drift), problems, exit }
        }
        Err(line) => {
            problems.push(format!("{}: {line}", request.folder.display()));
            Answer::nothing(problems)
        }
    }
}

/// Frames with their roles, in order of capture: by the camera's clock where all have it, else by name.
fn in_order(request: &Request, read: Vec<(&PathBuf, Observed)>) -> Vec<Frame> {
    let same =
        |a: &PathBuf, b: &PathBuf| a == b || matches!((a.canonicalize(), b.canonicalize()), (Ok(a), Ok(b)) if a == b);
    let told = |path: &PathBuf| request.blanks.iter().any(|b| same(b, path)).then_some(Role::Blank);
    let seen: Vec<RoleInput> = read.iter().map(|(p, o)| RoleInput { look: &o.look, told: told(p) }).collect();
    let roles: Vec<Role> = roles(&seen).into_iter().map(|g| g.role).collect();
    let order = in_time(&read.iter().map(|(_, o)| &o.look).collect::<Vec<_>>());
    let mut frames: Vec<Option<Frame>> = read
        .into_iter()
        .zip(roles)
        .map(|((path, seen), role)| {
            let name = base::files::name_of(path);
            Some(Frame { name, role, seen })
        })
        .collect();
    order.into_iter().filter_map(|i| frames[i].take()).collect()
}
