//! Marks at the stand: a verdict was seen, or a print is to be photographed again after all. They last as long as the sleeve.

use super::super::{Desk, held};
use super::{Again, Sitting};
use crate::wire::request::{Mark, MarkRequest};
use crate::wire::{Did, Event};
use finish::Role;
use project::catalogue::{PrintId, named};
use project::{Error, Result};

impl Desk {
    /// Marks the frame that came last at the stand.
    ///
    /// # Errors
    /// Another frame came meanwhile, or its print has no number yet.
    pub fn mark(&self, asked: &MarkRequest) -> Result<Did> {
        let did = held(&self.stand).mark(&asked.name, asked.mark)?;
        self.tell(&Event::Changed);
        let (undo, redo) = self.project().catalogue().can_undo_redo_in(&self.rooms())?;
        Ok(Did { did, undo, redo })
    }
}

/// What the list says of a print that a person put on it.
const SAID: &str = "Marked to be photographed again.";

impl Sitting {
    fn mark(&mut self, name: &str, mark: Mark) -> Result<String> {
        let refused = |says: &str| Error::Refused(says.into());
        if mark == Mark::Noticed {
            return match self.notice(name) {
                true => Ok("Seen".into()),
                false => Err(refused("Something else went wrong since: read that first.")),
            };
        }
        let last = self.last.as_ref().filter(|l| l.name == name);
        let last = last.ok_or_else(|| refused("A newer frame has arrived: mark that one."))?;
        if mark == Mark::Seen {
            self.seen = Some(name.to_owned());
            return Ok(format!("Seen: {name}"));
        }
        // A frame is taken again with all prints in it.
        let lie = if self.parts.is_empty() { std::slice::from_ref(last) } else { self.parts.as_slice() };
        let numbered: Vec<(i64, String)> = lie.iter().filter_map(|l| l.print.zip(l.label.clone())).collect();
        if numbered.len() < last.of.max(1) {
            return Err(refused("The frame shows no print, or is still being saved."));
        }
        let front = last.role == Role::Front;
        let label = named(&numbered.iter().map(|(print, _)| PrintId(*print)).collect::<Vec<_>>());
        let are = if numbered.len() > 1 { "are" } else { "is" };
        for (print, label) in numbered {
            self.reshoot.retain(|r| r.0 != print);
            if mark == Mark::Enough {
                // Its back may be turned up now, where backs are taken.
                if front && self.watch.backs {
                    self.owed.insert(print);
                }
                continue;
            }
            // A print that is to be taken again stays as it lies.
            self.owed.remove(&print);
            self.reshoot.push((print, Again { label, name: name.to_owned(), sentence: SAID.into() }));
        }
        Ok(match mark {
            Mark::Enough => format!("Not photographing {label} again"),
            _ => format!("{label} {are} to be photographed again"),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::super::Last;
    use super::*;
    use crate::wire::request::WatchRequest;

    fn sitting(print: Option<i64>) -> Sitting {
        let last = Last {
            frame: print,
            print,
            label: print.map(|p| format!("P000{p}")),
            name: "F1.jpg".into(),
            of: 1,
            verdict: finish::finding::Verdict::Keep,
            sentence: String::new(),
            remedy: None,
            picture: None,
            role: Role::Front,
            turn_unknown: false,
        };
        let watch = WatchRequest { backs: true, ..WatchRequest::default() };
        Sitting { last: Some(last), owed: print.into_iter().collect(), watch, ..Sitting::default() }
    }

    #[test]
    fn a_print_is_put_on_the_list_and_taken_off_it() {
        let mut s = sitting(Some(4));
        s.mark("F1.jpg", Mark::Again).unwrap();
        s.mark("F1.jpg", Mark::Again).unwrap();
        assert_eq!(
            (s.reshoot.len(), s.reshoot[0].1.label.as_str(), s.owed.len()),
            (1, "P0004", 0),
            "once, and no back yet"
        );
        s.mark("F1.jpg", Mark::Enough).unwrap();
        assert_eq!((s.reshoot.len(), s.owed.clone()), (0, [4].into()));
        s.mark("F1.jpg", Mark::Seen).unwrap();
        assert_eq!(s.told().seen.as_deref(), Some("F1.jpg"));
    }

    #[test]
    fn only_what_lies_there_is_marked() {
        let mut s = sitting(None);
        assert!(s.mark("F2.jpg", Mark::Seen).is_err(), "another frame");
        assert!(s.mark("F1.jpg", Mark::Again).is_err(), "no number yet");
        assert!(Sitting::default().mark("F1.jpg", Mark::Seen).is_err(), "nothing yet");
    }
}
