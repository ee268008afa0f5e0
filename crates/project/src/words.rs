//! Words for one print or many: set, filled in where nothing is said, added to lists, or taken out of them.
//!
//! What cannot be written is kept back and told; everything else is written, in one change that is undone in one step. A text that was
//! written while somebody else changed the same field is kept back as well: neither text is lost.

use super::{Error, Project, Result};
use catalogue::{Fact, PrintId, Writer, dates, list};

/// What to do with a field.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum How {
    /// The value takes the place of what is said; an empty one takes it back.
    Set,
    /// Only where nothing is said.
    Fill,
    /// Adds items to a list.
    Add,
    /// Takes items out of a list.
    Remove,
}

/// A wish for one field.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wish {
    /// The field.
    pub fact: Fact,
    /// What to do.
    pub how: How,
    /// The value, or the items with semicolons between them.
    pub value: String,
    /// What the person saw there, where that is known: any of these may be replaced.
    pub seen: Option<Vec<String>>,
}

/// A value that was not written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeptBack {
    /// The field.
    pub fact: Fact,
    /// The value.
    pub value: String,
    /// Why, a sentence.
    pub why: String,
    /// What stands there now, where somebody else changed it meanwhile.
    pub theirs: Option<String>,
    /// What the value could mean, where it is to be chosen: EDTF and the same in words.
    pub choices: Vec<(String, String)>,
    /// The prints.
    pub prints: Vec<PrintId>,
}

/// Writes words of prints. Gives what was kept back.
///
/// # Errors
/// There is no such print, or the catalogue or a sidecar cannot be written.
pub fn write(project: &mut Project, says: &str, prints: &[PrintId], wishes: &[Wish]) -> Result<Vec<KeptBack>> {
    write_rows(project, says, &[(prints.to_vec(), wishes.to_vec())])
}

/// As [`write`], for several rows of prints with wishes of their own, in one change.
///
/// # Errors
/// As [`write`].
pub fn write_rows(project: &mut Project, says: &str, rows: &[(Vec<PrintId>, Vec<Wish>)]) -> Result<Vec<KeptBack>> {
    rows.iter().try_for_each(|(prints, _)| there(project, prints))?;
    let mut kept = vec![];
    project.change(says, |w| {
        for (prints, wishes) in rows {
            let mut wishes: Vec<&Wish> = wishes.iter().collect();
            // A box before its sleeve, and a date before its words: the order of the table.
            wishes.sort_by_key(|w| catalogue::FACTS.iter().position(|l| l.fact == w.fact));
            for wish in wishes {
                match bad(wish) {
                    Some(bad) => kept.push(KeptBack { prints: prints.clone(), ..bad }),
                    None => one(w, wish, prints, &mut kept)?,
                }
            }
        }
        Ok(())
    })?;
    Ok(kept)
}

fn there(project: &Project, prints: &[PrintId]) -> Result<()> {
    let known = project.catalogue().facts(prints)?.len();
    if known < prints.len() {
        let missing = prints.iter().find(|p| project.catalogue().print(**p).is_ok_and(|p| p.is_none()));
        let name = missing.map_or_else(|| "one of them".into(), PrintId::to_string);
        return Err(Error::Refused(format!("There is no print {name}.")));
    }
    Ok(())
}

/// What is wrong with a value, whatever the print.
fn bad(wish: &Wish) -> Option<KeptBack> {
    if !matches!(wish.how, How::Set | How::Fill) {
        return None;
    }
    let back = |why: String, choices| KeptBack {
        fact: wish.fact,
        value: wish.value.clone(),
        why,
        theirs: None,
        choices,
        prints: vec![],
    };
    if wish.fact == Fact::Exposed
        && let dates::Understood::Ask(says, all) = dates::understand(&wish.value, dates::this_year())
    {
        let choices = all.into_iter().map(|r| (r.edtf.text().to_owned(), r.says)).collect();
        return Some(back(says, choices));
    }
    wish.fact.check(&wish.value).err().map(|e| back(e.to_string(), vec![]))
}

fn one(w: &Writer, wish: &Wish, prints: &[PrintId], kept: &mut Vec<KeptBack>) -> catalogue::Result<()> {
    for id in prints {
        let now = w.said_of(*id, wish.fact)?;
        let wanted = match wish.how {
            How::Set => wish.value.clone(),
            How::Fill if now.is_empty() => wish.value.clone(),
            How::Fill => continue,
            How::Add => {
                let mut items = list(&now);
                let same = |items: &[String], item: &str| items.iter().any(|i| i.eq_ignore_ascii_case(item));
                for item in list(&wish.value) {
                    if !same(&items, &item) {
                        items.push(item);
                    }
                }
                items.join("\n")
            }
            How::Remove => {
                let gone = list(&wish.value);
                list(&now).into_iter().filter(|i| !gone.contains(i)).collect::<Vec<_>>().join("\n")
            }
        };
        let shown = now.replace('\n', "; ");
        let changed_meanwhile = wish.how == How::Set
            && wish.seen.as_ref().is_some_and(|seen| !seen.iter().any(|s| s.trim() == shown || s.trim() == now))
            && wish.fact.check(&wanted).is_ok_and(|w| w != now);
        let mut back = |why: String, theirs: Option<String>| {
            // Prints with the same reason are told together.
            match kept.iter_mut().find(|k| k.fact == wish.fact && k.why == why && k.theirs == theirs) {
                Some(held) => held.prints.push(*id),
                None => kept.push(KeptBack {
                    fact: wish.fact,
                    value: wish.value.clone(),
                    why,
                    theirs,
                    choices: vec![],
                    prints: vec![*id],
                }),
            }
        };
        if changed_meanwhile {
            back("It was changed in another place meanwhile.".into(), Some(shown));
            continue;
        }
        match w.say(*id, wish.fact, &wanted) {
            // Said before anything is written: the other prints and fields go on.
            Err(catalogue::Error::Refused(why)) => back(why, None),
            other => other?,
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wish(fact: Fact, how: How, value: &str) -> Wish {
        Wish { fact, how, value: value.into(), seen: None }
    }

    fn three() -> (tempfile::TempDir, Project, Vec<PrintId>) {
        let folder = tempfile::tempdir().unwrap();
        let mut project = Project::open_or_begin(folder.path()).unwrap();
        let ids = project.change("Three", |w| (0..3).map(|_| w.mint()).collect()).unwrap();
        (folder, project, ids)
    }

    fn people(project: &Project, ids: &[PrintId]) -> Vec<String> {
        project.catalogue().facts(ids).unwrap().iter().map(|f| f.people.join("; ")).collect()
    }

    #[test]
    fn a_bad_date_blocks_nothing_else() {
        let (_folder, mut project, ids) = three();
        let wishes = [
            wish(Fact::Exposed, How::Set, "the day it rained"),
            wish(Fact::Place, How::Set, "Harbour"),
            wish(Fact::Sleeve, How::Set, "12"),
        ];
        let kept = write(&mut project, "Described", &ids, &wishes).unwrap();
        assert_eq!(
            kept.iter().map(|k| (k.fact, k.prints.len())).collect::<Vec<_>>(),
            [
                (Fact::Exposed, 3),
                // Three prints without a box are three reasons, each with its number.
                (Fact::Sleeve, 1),
                (Fact::Sleeve, 1),
                (Fact::Sleeve, 1),
            ]
        );
        assert!(project.catalogue().facts(&ids).unwrap().iter().all(|f| f.place == "Harbour" && f.date.is_empty()));
        let asked = write(&mut project, "Described", &ids, &[wish(Fact::Exposed, How::Set, "03/04/2005")]).unwrap();
        assert_eq!(asked[0].choices.iter().map(|c| c.0.as_str()).collect::<Vec<_>>(), ["2005-04-03", "2005-03-04"]);
        assert!(write(&mut project, "Described", &[PrintId(99)], &[]).is_err());
    }

    #[test]
    fn words_for_many_add_and_remove() {
        let (_folder, mut project, ids) = three();
        write(&mut project, "Described", &ids[..1], &[wish(Fact::People, How::Set, "Ada; Bo")]).unwrap();
        write(&mut project, "Described", &ids, &[wish(Fact::People, How::Add, "Cy; ada")]).unwrap();
        assert_eq!(people(&project, &ids), ["Ada; Bo; Cy", "Cy; ada", "Cy; ada"]);
        write(&mut project, "Described", &ids, &[wish(Fact::People, How::Remove, "Cy; Bo")]).unwrap();
        assert_eq!(people(&project, &ids), ["Ada", "ada", "ada"]);
        write(&mut project, "Described", &ids[..1], &[wish(Fact::Place, How::Set, "Quay")]).unwrap();
        write(&mut project, "Described", &ids, &[wish(Fact::Place, How::Fill, "Harbour")]).unwrap();
        let places: Vec<String> = project.catalogue().facts(&ids).unwrap().into_iter().map(|f| f.place).collect();
        assert_eq!(places, ["Quay", "Harbour", "Harbour"]);
        // One step takes one change back.
        project.undo().unwrap();
        project.undo().unwrap();
        project.undo().unwrap();
        assert_eq!(people(&project, &ids), ["Ada; Bo; Cy", "Cy; ada", "Cy; ada"]);
    }

    #[test]
    fn what_another_wrote_meanwhile_is_not_written_over() {
        let (_folder, mut project, ids) = three();
        let id = &ids[..1];
        write(&mut project, "Described", id, &[wish(Fact::Title, How::Set, "Theirs")]).unwrap();
        let based =
            |seen: &str, value: &str| Wish { seen: Some(vec![seen.into()]), ..wish(Fact::Title, How::Set, value) };
        let kept = write(&mut project, "Described", id, &[based("", "Mine")]).unwrap();
        assert_eq!((kept[0].theirs.as_deref(), kept[0].value.as_str()), (Some("Theirs"), "Mine"));
        assert_eq!(project.catalogue().facts(id).unwrap()[0].title, "Theirs");
        // The same text is no conflict, and one that knows the other's text replaces it.
        assert_eq!(write(&mut project, "Described", id, &[based("", "Theirs")]).unwrap(), []);
        assert_eq!(write(&mut project, "Described", id, &[based("Theirs", "Mine")]).unwrap(), []);
        assert_eq!(project.catalogue().facts(id).unwrap()[0].title, "Mine");
    }
}
