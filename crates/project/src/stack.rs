//! Stacks of similar prints: made, undone, and proposed from what `take` found.

use super::link::SAME_SCENE;
use super::{Project, Result};
use base::wording::count;
use catalogue::{PrintId, named};

/// Lays prints on one another, with the stacks that they lie in. A proposal is kept so.
///
/// # Errors
/// A print is not there, or there are fewer than two.
pub fn stack(project: &mut Project, prints: &[PrintId]) -> Result<String> {
    let did = format!("Stacked {}", named(prints));
    project.change(&did, |w| w.stack(prints, "person"))?;
    Ok(did)
}

/// Lifts prints out of their stacks. No proposal lays them back.
///
/// # Errors
/// A print is not in a stack.
pub fn lift(project: &mut Project, prints: &[PrintId]) -> Result<String> {
    let did = format!("Took {} out of the stack", named(prints));
    project.change(&did, |w| w.lift(prints))?;
    Ok(did)
}

/// Proposes stacks for prints taken in before there were any: those that were found to be a second exposure of another's
/// scene. Whatever a person said stays.
///
/// # Errors
/// The catalogue cannot be written.
pub fn propose(project: &mut Project) -> Result<String> {
    let pairs = siblings(project)?;
    let before = project.catalogue().stacks()?.len();
    project.change("Proposed stacks of similar prints", |w| {
        pairs.iter().try_for_each(|(one, other)| w.stack(&[*other, *one], "rule").map(drop))
    })?;
    let new = project.catalogue().stacks()?.len().saturating_sub(before);
    Ok(match new {
        0 => "There are no more similar prints to stack".into(),
        n => format!("Proposed {} of similar prints", count(n, "stack", "stacks")),
    })
}

/// Prints that lie nowhere yet, each with the print whose scene it shows again.
fn siblings(project: &Project) -> Result<Vec<(PrintId, PrintId)>> {
    let it = project.catalogue();
    let mut pairs = vec![];
    for frame in it.all_frames()? {
        let Some((print, other)) = frame.print.zip(sibling_of(&frame.print_why)) else { continue };
        if print != other && it.stacked(print)?.is_none() && it.print(other)?.is_some() {
            pairs.push((print, other));
        }
    }
    Ok(pairs)
}

/// The print that a frame's reason names as its sibling.
fn sibling_of(why: &str) -> Option<PrintId> {
    why.strip_prefix(SAME_SCENE)?.split(',').next()?.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use catalogue::NewFrame;

    #[test]
    fn stacks_are_proposed_from_what_was_found() {
        let folder = tempfile::tempdir().unwrap();
        let mut project = Project::open_or_begin(folder.path()).unwrap();
        for (i, of) in [0, 1, 1, 9].into_iter().enumerate() {
            let why = match of {
                0 => "no print like it was here before".to_owned(),
                n => {
                    format!("{SAME_SCENE}{}, and is another exposure of it: its picture lies 2.0 mm aside", PrintId(n))
                }
            };
            let frame = NewFrame { blake3: i.to_string(), name: format!("F{i}.jpg"), ..NewFrame::default() };
            let made = project.change("A print", |w| {
                let print = w.mint()?;
                w.join(w.add_frame(&frame)?, Some(print), &why)
            });
            made.unwrap();
        }
        assert_eq!(propose(&mut project).unwrap(), "Proposed 1 stack of similar prints");
        let stacks = project.catalogue().stacks().unwrap();
        assert_eq!((stacks[0].prints.clone(), stacks[0].proposed), ([1, 2, 3].map(PrintId).to_vec(), true));
        // What a person lifts out is not proposed again.
        lift(&mut project, &[PrintId(3)]).unwrap();
        assert_eq!(propose(&mut project).unwrap(), "There are no more similar prints to stack");
        assert_eq!(project.catalogue().stacks().unwrap()[0].prints, [1, 2].map(PrintId));
    }
}
