//! Edits: wide, tight and sequence, each an ordered list of prints.

use crate::error::{Error, Result};
use crate::kinds::PrintId;
use crate::write::Writer;
use rusqlite::{OptionalExtension, params};

/// The kinds of edit, in the order a photographer makes them.
pub const KINDS: [&str; 3] = ["wide", "tight", "sequence"];

impl Writer<'_> {
    /// The edit with this name, created if missing. An edit named after a kind has that kind; others are wide by default.
    ///
    /// # Errors
    /// The name is empty, the kind is unknown, or the edit exists with another kind.
    pub fn edit(&self, name: &str, kind: Option<&str>) -> Result<i64> {
        let name = name.trim();
        if name.is_empty() {
            return Err(Error::refused("An edit needs a name."));
        }
        if let Some(kind) = kind.filter(|k| !KINDS.contains(k)) {
            return Err(Error::refused(format!("An edit is wide, tight or a sequence, not “{kind}”.")));
        }
        let found: Option<(i64, String)> = self
            .db
            .query_row("SELECT id, kind FROM edit WHERE name = ?1", [name], |r| Ok((r.get(0)?, r.get(1)?)))
            .optional()?;
        match (found, kind) {
            (Some((_, held)), Some(kind)) if held != kind => {
                Err(Error::refused(format!("The edit “{name}” already exists, and its kind is {held}.")))
            }
            (Some((id, _)), _) => Ok(id),
            (None, kind) => {
                let own = KINDS.iter().find(|k| k.eq_ignore_ascii_case(name)).copied();
                let kind = kind.or(own).unwrap_or(KINDS[0]);
                self.db.execute("INSERT INTO edit (name, kind) VALUES (?1, ?2)", params![name, kind])?;
                Ok(self.db.last_insert_rowid())
            }
        }
    }

    fn held_edit(&self, name: &str) -> Result<i64> {
        let found = self.db.query_row("SELECT id FROM edit WHERE name = ?1", [name.trim()], |r| r.get(0)).optional()?;
        found.ok_or_else(|| Error::refused(format!("There is no edit “{}”.", name.trim())))
    }

    /// The prints of an edit in order.
    fn order_of(&self, edit: i64) -> Result<Vec<PrintId>> {
        let mut query = self.db.prepare_cached("SELECT print FROM chosen WHERE edit = ?1 ORDER BY place, id")?;
        let prints = query.query_map([edit], |r| r.get(0).map(PrintId))?.collect::<rusqlite::Result<_>>()?;
        Ok(prints)
    }

    /// Adds prints to an edit (created if missing), at position `at` from 0 or at the end; prints already in it move there.
    ///
    /// # Errors
    /// A print is not there.
    pub fn put_in(&self, name: &str, kind: Option<&str>, prints: &[PrintId], at: Option<usize>) -> Result<()> {
        let edit = self.edit(name, kind)?;
        let held = self.order_of(edit)?;
        let moved: Vec<PrintId> = unique(prints);
        let before = |at: usize| held[..at.min(held.len())].iter().filter(|p| !moved.contains(p)).count();
        let mut order: Vec<PrintId> = held.iter().copied().filter(|p| !moved.contains(p)).collect();
        // The position is as shown on the page, with the moved prints still in their old places.
        let at = at.map_or(order.len(), before);
        order.splice(at..at, moved);
        self.lay_out(edit, &held, &order)
    }

    /// Moves a print of an edit to the place `to`, from 0, that it is to have.
    ///
    /// # Errors
    /// There is no such edit, or the print is not in it.
    pub fn move_in(&self, name: &str, print: PrintId, to: usize) -> Result<()> {
        let edit = self.held_edit(name)?;
        let held = self.order_of(edit)?;
        if !held.contains(&print) {
            return Err(Error::refused(format!("{print} is not in “{}”.", name.trim())));
        }
        let mut order: Vec<PrintId> = held.iter().copied().filter(|p| *p != print).collect();
        order.insert(to.min(order.len()), print);
        self.lay_out(edit, &held, &order)
    }

    /// Gives an edit exactly these prints in this order.
    ///
    /// # Errors
    /// There is no such edit, or a print is not there.
    pub fn set_order(&self, name: &str, prints: &[PrintId]) -> Result<()> {
        let edit = self.held_edit(name)?;
        let held = self.order_of(edit)?;
        self.lay_out(edit, &held, &unique(prints))
    }

    /// Takes prints out of an edit.
    ///
    /// # Errors
    /// There is no such edit.
    pub fn take_out(&self, name: &str, prints: &[PrintId]) -> Result<()> {
        let edit = self.held_edit(name)?;
        let held = self.order_of(edit)?;
        let order: Vec<PrintId> = held.iter().copied().filter(|p| !prints.contains(p)).collect();
        self.lay_out(edit, &held, &order)
    }

    /// Gives an edit another name.
    ///
    /// # Errors
    /// There is no such edit, or the name is taken.
    pub fn rename_edit(&self, name: &str, to: &str) -> Result<()> {
        let edit = self.held_edit(name)?;
        let taken =
            self.db.query_row("SELECT 1 FROM edit WHERE name = ?1 AND id <> ?2", params![to.trim(), edit], |_| Ok(()));
        if to.trim().is_empty() || taken.optional()?.is_some() {
            return Err(Error::refused("That name is empty, or another edit has it."));
        }
        self.db.execute("UPDATE edit SET name = ?1 WHERE id = ?2", params![to.trim(), edit])?;
        Ok(())
    }

    /// Deletes an edit; its prints stay.
    ///
    /// # Errors
    /// There is no such edit.
    pub fn drop_edit(&self, name: &str) -> Result<()> {
        let edit = self.held_edit(name)?;
        self.db.execute("DELETE FROM chosen WHERE edit = ?1", [edit])?;
        self.db.execute("DELETE FROM edit WHERE id = ?1", [edit])?;
        Ok(())
    }

    /// Writes an order: only rows whose place differs are touched.
    fn lay_out(&self, edit: i64, held: &[PrintId], order: &[PrintId]) -> Result<()> {
        let mut out = self.db.prepare_cached("DELETE FROM chosen WHERE edit = ?1 AND print = ?2")?;
        for gone in held.iter().filter(|p| !order.contains(p)) {
            out.execute(params![edit, gone.0])?;
        }
        let mut put = self.db.prepare_cached(
            "INSERT INTO chosen (edit, print, place) VALUES (?1, ?2, ?3)
             ON CONFLICT (edit, print) DO UPDATE SET place = ?3 WHERE place <> ?3",
        )?;
        for (place, print) in order.iter().enumerate() {
            self.there(*print)?;
            put.execute(params![edit, print.0, place as i64])?;
        }
        Ok(())
    }
}

fn unique(prints: &[PrintId]) -> Vec<PrintId> {
    let mut seen = std::collections::HashSet::new();
    prints.iter().copied().filter(|p| seen.insert(*p)).collect()
}
