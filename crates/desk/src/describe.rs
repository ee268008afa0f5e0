//! Words of prints: what several say together, what a date means while it is typed, and what is written.

use super::act::{ids, named};
use super::wire::request::{DateQuery, DescribeRequest, PrivacyRequest, SaveRequest, SharedRequest};
use super::wire::{Count, DateChoice, DateRead, Described, Did, KeptBack, Together};
use super::{Desk, Event};
use project::catalogue::dates::{Understood, this_year, understand};
use project::catalogue::{FACTS, Fact, Facts, Kind, list};
use project::words::{How, Wish, write};
use project::{Error, Result};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Most different values of a fact that are listed: a person reads no more.
const VALUES: usize = 40;

impl Desk {
    /// What a date means.
    pub fn date(&self, asked: &DateQuery) -> DateRead {
        let none = |says: String| DateRead { edtf: None, says, choices: vec![] };
        match understand(&asked.text, this_year()) {
            Understood::Nothing => none(String::new()),
            Understood::No(says) => none(says),
            Understood::Date(read) => {
                DateRead { edtf: Some(read.edtf.text().to_owned()), says: read.says, choices: vec![] }
            }
            Understood::Ask(says, all) => {
                let choice =
                    |r: project::catalogue::dates::Reading| DateChoice { edtf: r.edtf.text().to_owned(), says: r.says };
                DateRead { choices: all.into_iter().map(choice).collect(), ..none(says) }
            }
        }
    }

    /// What several prints say, together.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn shared(&self, asked: &SharedRequest) -> Result<Vec<Together>> {
        let facts = self.project().catalogue().facts(&ids(&asked.ids))?;
        Ok(FACTS.iter().map(|line| together(line.fact, &facts)).collect())
    }

    /// Writes facts of prints; an empty value deletes a fact. What cannot be written is told, and everything else is written.
    ///
    /// # Errors
    /// There is no such print or fact, or nothing could be written.
    pub fn describe(&self, asked: &DescribeRequest) -> Result<Described> {
        self.may_write()?;
        let ids = ids(&asked.ids);
        let wishes = wishes(asked)?;
        let mut words: Vec<&str> = wishes.iter().map(|w| w.fact.word()).collect();
        words.dedup();
        let did = format!("Described {}: {}", named(&ids), words.join(", "));
        let mut project = self.project();
        let kept = write(&mut project, &did, &ids, &wishes)?;
        let all_kept =
            !kept.is_empty() && kept.iter().map(|k| k.prints.len()).sum::<usize>() >= wishes.len() * ids.len();
        let did = if all_kept { "Nothing was written yet".into() } else { did };
        let kept_back = kept.into_iter().map(|k| KeptBack {
            fact: k.fact.word(),
            value: k.value,
            says: k.why,
            theirs: k.theirs,
            choices: k.choices.into_iter().map(|(edtf, says)| DateChoice { edtf, says }).collect(),
            ids: k.prints.iter().map(|p| p.0).collect(),
        });
        Ok(Described { kept_back: kept_back.collect(), did: self.done(&project, did)? })
    }

    /// Keeps a search by a name, or drops it.
    ///
    /// # Errors
    /// The name is empty, the search is not understood, or the catalogue cannot be written.
    pub fn save_search(&self, asked: &SaveRequest) -> Result<Did> {
        let did = match asked.line.trim() {
            "" => format!("Dropped the search {}", asked.name.trim()),
            _ => format!("Saved the search {}", asked.name.trim()),
        };
        self.act(did.clone(), |p| p.change(&did, |w| w.save_search(&asked.name, &asked.line)))
    }

    /// Decides what it means that a print says nothing of who may see it.
    ///
    /// # Errors
    /// The catalogue cannot be written.
    pub fn decide_unsaid(&self, asked: PrivacyRequest) -> Result<Did> {
        let word = serde_json::to_value(asked.unsaid).unwrap_or_default().as_str().unwrap_or_default().to_owned();
        self.act(format!("Decided: where nothing is said, a print is {word}"), |p| p.decide_unsaid_privacy(&word))
    }

    /// Learns in the background the colours of prints that came in before colours were kept.
    pub(super) fn learn_colours(self: &Arc<Self>) {
        // So many are kept in one change; a desk that is closed meanwhile loses no more.
        const AT_ONCE: usize = 20;
        let desk = Arc::clone(self);
        std::thread::spawn(move || {
            // A connection of its own: nobody waits while pictures are read.
            let Ok(mut project) = project::Project::open(&desk.folder) else { return };
            let mut before = usize::MAX;
            loop {
                let left = project::learn_colours(&mut project, AT_ONCE);
                match left {
                    Ok(left) if left > 0 && left < before => before = left,
                    _ => break,
                }
            }
            if before < usize::MAX {
                desk.tell(&Event::Changed);
            }
        });
    }
}

fn wishes(asked: &DescribeRequest) -> Result<Vec<Wish>> {
    let mut all = vec![];
    for (how, facts) in [(How::Set, &asked.facts), (How::Fill, &asked.fill)] {
        for (word, value) in facts {
            let seen = (how == How::Set).then(|| asked.seen.get(word).cloned()).flatten();
            all.push(Wish { fact: Fact::of(word)?, how, value: value.clone(), seen });
        }
    }
    for (how, lists) in [(How::Add, &asked.add), (How::Remove, &asked.remove)] {
        for (word, items) in lists {
            let fact = Fact::of(word)?;
            if fact.line().kind != Kind::List {
                return Err(Error::Refused(format!("“{word}” is not a list: give it a new value instead.")));
            }
            all.push(Wish { fact, how, value: items.join("\n"), seen: None });
        }
    }
    Ok(all)
}

/// What prints say of a fact, together.
fn together(fact: Fact, prints: &[Facts]) -> Together {
    let line = fact.line();
    let (mut counts, mut empty) = (BTreeMap::<String, i64>::new(), 0);
    for facts in prints {
        let value = facts.kept(line);
        let items = if line.kind == Kind::List { list(&value) } else { vec![value] };
        let items: Vec<String> = items.into_iter().filter(|i| !i.is_empty()).collect();
        empty += usize::from(items.is_empty());
        items.into_iter().for_each(|i| *counts.entry(i).or_default() += 1);
    }
    let (all, mut some): (Vec<_>, Vec<_>) = counts.into_iter().partition(|(_, n)| *n as usize == prints.len());
    some.sort_by_key(|s| std::cmp::Reverse(s.1));
    some.truncate(VALUES);
    Together {
        fact: line.word,
        all: all.into_iter().map(|(text, _)| text).collect(),
        some: some.into_iter().map(|(name, count)| Count { name, count }).collect(),
        empty,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_prints_share_and_what_differs_is_told_apart() {
        let said = |people: &[&str], place: &str| Facts {
            people: people.iter().map(|p| (*p).to_owned()).collect(),
            place: place.into(),
            ..Facts::default()
        };
        let prints = [said(&["Ada", "Bo"], "Quay"), said(&["Ada"], "Hill"), said(&["Bo", "Ada"], "")];
        let people = together(Fact::People, &prints);
        assert_eq!((people.all, people.empty), (vec!["Ada".to_owned()], 0));
        assert_eq!(people.some, [Count { name: "Bo".into(), count: 2 }]);
        let place = together(Fact::Place, &prints);
        assert_eq!((place.all.len(), place.some.len(), place.empty), (0, 2, 1));
        assert_eq!(together(Fact::Title, &prints).empty, 3);
    }
}
