//! Stacks: groups of prints with nearly the same picture, proposed by a rule or made by a person.

use crate::error::{Error, Result};
use crate::kinds::{PrintId, Stack, Stacked};
use crate::store::Catalogue;
use crate::write::Writer;
use rusqlite::{OptionalExtension, params};
use std::collections::BTreeSet;

impl Catalogue {
    /// Every stack with its prints in order, by number.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn stacks(&self) -> Result<Vec<Stack>> {
        let mut query = self.db.prepare_cached(
            "SELECT stack, print, laid_by = 'rule' FROM stacked WHERE stack IS NOT NULL ORDER BY stack, place, id",
        )?;
        let mut stacks: Vec<Stack> = vec![];
        let mut rows = query.query([])?;
        while let Some(r) = rows.next()? {
            let (number, print, by_rule): (i64, i64, bool) = (r.get(0)?, r.get(1)?, r.get(2)?);
            if stacks.last().is_none_or(|s| s.number != number) {
                stacks.push(Stack { number, proposed: false, prints: vec![] });
            }
            if let Some(last) = stacks.last_mut() {
                last.prints.push(PrintId(print));
                last.proposed |= by_rule;
            }
        }
        Ok(stacks)
    }

    /// Where a print lies: in a stack, or by itself because somebody said so; `None` where nobody said anything.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn stacked(&self, print: PrintId) -> Result<Option<Stacked>> {
        let text = "SELECT stack, place, laid_by FROM stacked WHERE print = ?1";
        let read = |r: &rusqlite::Row| Ok(Stacked { stack: r.get(0)?, place: r.get(1)?, by: r.get(2)? });
        Ok(self.db.prepare_cached(text)?.query_row([print.0], read).optional()?)
    }
}

impl Writer<'_> {
    /// Lays prints on one another, with the stacks that any of them lie in. `by` is `rule` or `person`; a rule leaves those
    /// alone that a person lifted out, and lays nothing where fewer than two are left.
    ///
    /// # Errors
    /// A print is not there, or a person lays fewer than two.
    pub fn stack(&self, prints: &[PrintId], by: &str) -> Result<Option<i64>> {
        let mut asked: BTreeSet<PrintId> = BTreeSet::new();
        let mut touched: BTreeSet<i64> = BTreeSet::new();
        for print in prints {
            self.there(*print)?;
            match self.stack_of(*print)? {
                Some(None) if by == "rule" => continue,
                held => touched.extend(held.flatten()),
            }
            asked.insert(*print);
        }
        let mut order: Vec<PrintId> = vec![];
        for stack in &touched {
            order.extend(self.in_stack(*stack)?);
        }
        let laid: BTreeSet<PrintId> = order.iter().copied().collect();
        order.extend(asked.difference(&laid));
        if order.len() < 2 {
            return if by == "rule" { Ok(None) } else { Err(Error::refused("A stack needs two prints.")) };
        }
        let number = match touched.first() {
            Some(number) => *number,
            None => self.db.query_row("SELECT COALESCE(MAX(stack), 0) + 1 FROM stacked", [], |r| r.get(0))?,
        };
        for (place, print) in order.iter().enumerate() {
            // A stack made by a person stays theirs when a rule adds another print.
            let keep = by == "rule" && laid.contains(print);
            let by = if keep { self.laid_by(*print)? } else { by.to_owned() };
            self.lay_in(*print, &Stacked { stack: Some(number), place: place as i64, by })?;
        }
        Ok(Some(number))
    }

    /// Lifts prints out of their stacks: they lie by themselves, and no rule lays them back. A print that is left alone in its
    /// stack lies as if it had never been in one.
    ///
    /// # Errors
    /// A print is not in a stack.
    pub fn lift(&self, prints: &[PrintId]) -> Result<()> {
        let mut touched: BTreeSet<i64> = BTreeSet::new();
        for print in prints.iter().collect::<BTreeSet<_>>() {
            let stack = self.stack_of(*print)?.flatten();
            touched.insert(stack.ok_or_else(|| Error::refused(format!("{print} is not in a stack.")))?);
            self.lay_in(*print, &Stacked { stack: None, place: 0, by: "person".into() })?;
        }
        touched.into_iter().try_for_each(|stack| self.no_stack_of_one(stack))
    }

    /// Takes away how a print lies, before it is taken away itself.
    pub(crate) fn unstacked(&self, print: PrintId) -> Result<()> {
        let stack = self.stack_of(print)?.flatten();
        self.db.execute("DELETE FROM stacked WHERE print = ?1", [print.0])?;
        stack.map_or(Ok(()), |stack| self.no_stack_of_one(stack))
    }

    fn no_stack_of_one(&self, stack: i64) -> Result<()> {
        self.db.execute(
            "DELETE FROM stacked WHERE stack = ?1 AND (SELECT COUNT(*) FROM stacked WHERE stack = ?1) = 1",
            [stack],
        )?;
        Ok(())
    }

    /// Sets the stack position of a print exactly, for a rebuild.
    ///
    /// # Errors
    /// The catalogue cannot be written.
    pub fn lay_in(&self, print: PrintId, lies: &Stacked) -> Result<()> {
        self.db
            .prepare_cached(
                "INSERT INTO stacked (print, stack, place, laid_by) VALUES (?1, ?2, ?3, ?4)
                 ON CONFLICT (print) DO UPDATE SET stack = ?2, place = ?3, laid_by = ?4
                 WHERE stack IS NOT ?2 OR place <> ?3 OR laid_by <> ?4",
            )?
            .execute(params![print.0, lies.stack, lies.place, lies.by])?;
        Ok(())
    }

    /// The stack of a print; `Some(None)` if a person removed it from its stack.
    fn stack_of(&self, print: PrintId) -> Result<Option<Option<i64>>> {
        let text = "SELECT stack FROM stacked WHERE print = ?1";
        Ok(self.db.prepare_cached(text)?.query_row([print.0], |r| r.get(0)).optional()?)
    }

    fn laid_by(&self, print: PrintId) -> Result<String> {
        Ok(self.db.query_row("SELECT laid_by FROM stacked WHERE print = ?1", [print.0], |r| r.get(0))?)
    }

    fn in_stack(&self, stack: i64) -> Result<Vec<PrintId>> {
        let mut query = self.db.prepare_cached("SELECT print FROM stacked WHERE stack = ?1 ORDER BY place, id")?;
        let prints = query.query_map([stack], |r| r.get(0).map(PrintId))?.collect::<rusqlite::Result<_>>()?;
        Ok(prints)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Order;

    fn prints(n: i64) -> (tempfile::TempDir, Catalogue) {
        let folder = tempfile::tempdir().unwrap();
        let mut it = Catalogue::open(&folder.path().join("fallside.db")).unwrap();
        for _ in 0..n {
            it.change("A print", |w| w.mint()).unwrap();
        }
        (folder, it)
    }

    fn ids(numbers: &[i64]) -> Vec<PrintId> {
        numbers.iter().map(|n| PrintId(*n)).collect()
    }

    fn lie(it: &Catalogue) -> Vec<Vec<i64>> {
        it.stacks().unwrap().iter().map(|s| s.prints.iter().map(|p| p.0).collect()).collect()
    }

    #[test]
    fn prints_are_laid_together_lifted_out_and_undone() {
        let (_folder, mut it) = prints(6);
        it.change("Laid", |w| w.stack(&ids(&[4, 2]), "person")).unwrap();
        it.change("Laid", |w| w.stack(&ids(&[5, 6]), "person")).unwrap();
        assert_eq!(lie(&it), [[2, 4], [5, 6]]);
        // Two stacks put together are one; what joins lies under what was there.
        it.change("Laid", |w| w.stack(&ids(&[1, 6, 4]), "person")).unwrap();
        assert_eq!(lie(&it), [[2, 4, 5, 6, 1]]);
        it.change("Lifted", |w| w.lift(&ids(&[5]))).unwrap();
        assert_eq!(lie(&it), [[2, 4, 6, 1]]);
        assert_eq!(it.stacked(PrintId(5)).unwrap().unwrap().stack, None);
        it.undo().unwrap();
        it.undo().unwrap();
        assert_eq!(lie(&it), [[2, 4], [5, 6]]);
        it.redo().unwrap();
        assert_eq!(lie(&it), [[2, 4, 5, 6, 1]]);
        // One alone is no stack.
        it.change("Lifted", |w| w.lift(&ids(&[1, 2, 4, 5]))).unwrap();
        assert_eq!((lie(&it), it.stacked(PrintId(6)).unwrap()), (Vec::<Vec<i64>>::new(), None));
        assert!(it.change("Lifted", |w| w.lift(&ids(&[6]))).is_err(), "it lies in no stack");
        assert!(it.change("Laid", |w| w.stack(&ids(&[3, 3]), "person")).is_err(), "one print is no stack");
        assert!(it.change("Laid", |w| w.stack(&ids(&[3, 9]), "person")).is_err(), "there is no such print");
        let says = it.history_of(PrintId(2), 9).unwrap();
        assert!(says.iter().any(|e| e.says == "Laid"), "{says:?}");
    }

    #[test]
    fn a_rule_proposes_and_leaves_alone_what_a_person_said() {
        let (_folder, mut it) = prints(5);
        it.change("Proposed", |w| w.stack(&ids(&[1, 2, 3]), "rule")).unwrap();
        assert!(it.stacks().unwrap()[0].proposed);
        it.change("Lifted", |w| w.lift(&ids(&[3]))).unwrap();
        assert_eq!(it.change("Proposed", |w| w.stack(&ids(&[2, 3]), "rule")).unwrap(), Some(1));
        assert_eq!(lie(&it), [[1, 2]], "3 was lifted out");
        assert_eq!(it.change("Proposed", |w| w.stack(&ids(&[3, 4]), "rule")).unwrap(), None);
        // A person keeps the proposal; a print that a rule lays on it later is a proposal again.
        it.change("Kept", |w| w.stack(&ids(&[1, 2]), "person")).unwrap();
        assert!(!it.stacks().unwrap()[0].proposed);
        it.change("Proposed", |w| w.stack(&ids(&[2, 5]), "rule")).unwrap();
        assert!(it.stacks().unwrap()[0].proposed);
        assert_eq!(it.stacked(PrintId(1)).unwrap().unwrap().by, "person");
    }

    #[test]
    fn members_are_found_by_their_stack() {
        let (_folder, mut it) = prints(5);
        it.change("Laid", |w| w.stack(&ids(&[2, 4]), "person")).unwrap();
        let found = |line: &str| -> Vec<i64> {
            it.search(line, Order::Number, 0, 0).unwrap().ids.iter().map(|p| p.0).collect()
        };
        assert_eq!(
            (found("stack:1"), found("has:stack"), found("lacks:stack")),
            (vec![2, 4], vec![2, 4], vec![1, 3, 5])
        );
        assert_eq!(found("stack:12"), Vec::<i64>::new());
    }
}
