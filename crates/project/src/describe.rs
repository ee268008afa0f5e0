//! Changes that people make to prints: assign and detach frames, split prints, fill edits.

use super::{Error, Project, Result, better_front};
use catalogue::{Frame, FrameId, PrintId, named};

/// Assigns a frame to a print, as a back, a reshoot or according to its role; undone in one step.
///
/// # Errors
/// There is no such frame or print.
pub fn pair(project: &mut Project, frame: FrameId, print: PrintId) -> Result<()> {
    let frame = held(project, frame)?;
    let chosen = match project.catalogue().print(print)? {
        Some(held) if frame.role != "back" => better_front(&held, &frame),
        _ => None,
    };
    project.change(&format!("{} put with {print}", frame.name), |w| {
        w.join(frame.id, Some(print), "a person said so")?;
        match &chosen {
            Some(choice) => w.choose_front(print, choice.frame, &choice.why, "rule"),
            None => Ok(()),
        }
    })
}

/// Takes a frame away from its print: a back becomes loose.
///
/// # Errors
/// There is no such frame.
pub fn pair_off(project: &mut Project, frame: FrameId) -> Result<()> {
    let frame = held(project, frame)?;
    let Some(print) = frame.print else {
        return Err(Error::Refused(format!("{} has no print.", frame.name)));
    };
    let next = another_front(project, print, frame.id)?;
    project.change(&format!("{} taken from {print}", frame.name), |w| {
        w.join(frame.id, None, "a person said so")?;
        match next {
            Some(next) => w.choose_front(print, next, "the best that is left", "rule"),
            None => Ok(()),
        }
    })
}

/// Makes a frame a separate print, if it was wrongly taken for a reshoot.
///
/// # Errors
/// There is no such frame.
pub fn split(project: &mut Project, frame: FrameId) -> Result<PrintId> {
    let frame = held(project, frame)?;
    let next = frame.print.map(|p| another_front(project, p, frame.id)).transpose()?.flatten();
    let format = frame.result.as_ref().map(|r| r.format.clone()).unwrap_or_default();
    project.change(&format!("{} is a print of its own", frame.name), |w| {
        let print = w.mint()?;
        w.join(frame.id, Some(print), "a person said so")?;
        if frame.role != "back" {
            w.choose_front(print, frame.id, "its only front", "rule")?;
        }
        w.say(print, catalogue::Fact::Format, &format)?;
        if let (Some(old), Some(next)) = (frame.print, next) {
            w.choose_front(old, next, "the best that is left", "rule")?;
        }
        Ok(print)
    })
}

/// The front to choose once `gone` is no longer the print's, where it was the chosen one.
fn another_front(project: &Project, print: PrintId, gone: FrameId) -> Result<Option<FrameId>> {
    let Some(mut print) = project.catalogue().print(print)?.filter(|p| p.front == Some(gone)) else {
        return Ok(None);
    };
    print.frames.retain(|f| f.id != gone && f.role != "back");
    print.front = None;
    print.front_by.clear();
    let mut best: Option<FrameId> = None;
    for frame in print.frames.clone() {
        if better_front(&print, &frame).is_some() {
            best = Some(frame.id);
            print.front = best;
        }
    }
    Ok(best)
}

fn held(project: &Project, frame: FrameId) -> Result<Frame> {
    project.catalogue().frame(frame)?.ok_or_else(|| Error::Refused("There is no such frame.".into()))
}

/// Puts prints into an edit at a place from 0, or at its end.
///
/// # Errors
/// A print is not there, or the edit is of another kind.
pub fn edit(
    project: &mut Project,
    name: &str,
    kind: Option<&str>,
    prints: &[PrintId],
    at: Option<usize>,
) -> Result<()> {
    project.change(&format!("Into the edit {name}: {}", named(prints)), |w| w.put_in(name, kind, prints, at))
}
