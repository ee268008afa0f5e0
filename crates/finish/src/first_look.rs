//! The first look at every file: what it shows, and which of several files of one exposure to use.

use crate::job::{Look, Reference, Work};
use crate::outcome::{Ordered, Tell};
use crate::sources::Source;
use crate::store::Store;
use crate::{Entry, Event, Outcome, names};
use base::files::name_of;
use base::workers::{guarded, in_parallel, lock};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

/// A frame after its first look.
pub(crate) struct Frame {
    pub order: usize,
    pub path: PathBuf,
    pub stem: String,
    pub blake3: String,
    pub look: Look,
    pub notes: Vec<String>,
}

impl Frame {
    pub fn reference(&self) -> Reference {
        Reference { path: self.path.clone(), blake3: self.blake3.clone() }
    }
}

pub(crate) fn look_at_all(
    sources: Vec<Source>,
    store: &Store,
    by_hash: bool,
    work: &dyn Work,
    tell: Tell,
) -> (Vec<Frame>, Vec<Ordered>) {
    let paths: Vec<&Path> = sources.iter().map(|s| s.path.as_path()).collect();
    let stems = if by_hash { names::own(&paths) } else { names::stems(&paths) };
    let of = sources.len();
    let held = store.looks();
    let known = |blake3: &str| store.look(&held, blake3);
    let items: Vec<(usize, Source, String)> =
        sources.into_iter().zip(stems).enumerate().map(|(i, (s, n))| (i, s, n)).collect();
    let done = Mutex::new((0, vec![]));
    // A look takes about as much memory as decoding. Sizes are not known yet, so the limit is a number of files: two.
    in_parallel(&items, |(order, source, stem)| {
        let seen = look_at(*order, source, stem, &known, work);
        let mut done = lock(&done);
        done.0 += 1;
        tell(Event::Looked { done: done.0, of });
        done.1.push(seen);
    });
    let mut all = done.into_inner().unwrap_or_else(PoisonError::into_inner).1;
    all.sort_by_key(|(order, _)| *order);
    let (mut frames, mut failed) = (vec![], vec![]);
    for (order, seen) in all {
        match seen {
            Ok(frame) if by_hash => frames.push(Frame { stem: names::with_hash(&frame.stem, &frame.blake3), ..frame }),
            Ok(frame) => match store.claims.name(&store.out, &frame.stem, &frame.blake3) {
                Ok(stem) => {
                    if stem != frame.stem {
                        let (name, taken) = (name_of(&frame.path), &frame.stem);
                        tell(Event::Says(format!(
                            "{name}: the name {taken} belongs to another original here, so these results are called {stem}."
                        )));
                    }
                    frames.push(Frame { stem, ..frame });
                }
                Err(e) => {
                    let Frame { path, stem, .. } = frame;
                    failed.push((order, Entry { path, stem, part: None, outcome: Outcome::Failed(e.to_string()) }));
                }
            },
            Err(entry) => failed.push((order, entry)),
        }
    }
    let looks = frames.iter().map(|f| (f.blake3.clone(), f.look.clone())).collect();
    if let Err(e) = store.keep_looks(looks, &held) {
        tell(Event::Says(e.to_string()));
    }
    (frames, failed)
}

fn look_at(
    order: usize,
    source: &Source,
    stem: &str,
    known: &(dyn Fn(&str) -> Option<Look> + Sync),
    work: &dyn Work,
) -> (usize, Result<Frame, Entry>) {
    let mut first_error = None;
    let mut notes = vec![];
    for (i, path) in std::iter::once(&source.path).chain(&source.twins).enumerate() {
        let looked =
            work.may_look(path).and_then(|()| base::files::hash(path)).and_then(|blake3| match known(&blake3) {
                Some(look) => Ok((blake3, look)),
                None => guarded(|| work.look(path)).and_then(|look| {
                    base::files::unchanged(path, &blake3)?;
                    Ok((blake3, look))
                }),
            });
        match looked {
            Ok((blake3, look)) => {
                for left in &source.twins[i..] {
                    notes.push(format!("{} is not used: this file of the same exposure is.", name_of(left)));
                }
                let frame = Frame { order, path: path.clone(), stem: stem.to_owned(), blake3, look, notes };
                return (order, Ok(frame));
            }
            Err(e) => {
                notes.push(format!("{} could not be used: {}", name_of(path), e.says));
                first_error.get_or_insert(e);
            }
        }
    }
    let line = first_error.map(|e| e.to_string()).unwrap_or_default();
    (order, Err(Entry { path: source.path.clone(), stem: stem.to_owned(), part: None, outcome: Outcome::Failed(line) }))
}
