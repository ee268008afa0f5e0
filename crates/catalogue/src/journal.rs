//! The journal: changes that can be undone and redone, also after a restart.
//!
//! Triggers record every row that a change touches, before and after, so the code that makes a change cannot forget it. Undo restores
//! the changed columns in reverse order; redo changes them again.

use crate::error::{Error, Result};
use crate::kinds::{Entry, PrintId};
use crate::rooms::{Rooms, blocker};
use crate::schema::columns;
use crate::store::Catalogue;
use rusqlite::{Connection, OptionalExtension, Row, params, params_from_iter, types::Value};
use serde_json::Value as Json;

impl Catalogue {
    /// Undoes the last change; `None` if there is none.
    ///
    /// # Errors
    /// The catalogue cannot be written.
    pub fn undo(&mut self) -> Result<Option<Entry>> {
        self.undo_in(&Rooms::All)
    }

    /// Undoes the last change made in some rooms; `None` if there is none.
    ///
    /// # Errors
    /// A change of another room depends on it, or the catalogue cannot be written.
    pub fn undo_in(&mut self, rooms: &Rooms) -> Result<Option<Entry>> {
        self.step("done", "undone", "DESC", rooms, back)
    }

    /// Redoes what was undone last; `None` if there is nothing, or another change was made since.
    ///
    /// # Errors
    /// The catalogue cannot be written.
    pub fn redo(&mut self) -> Result<Option<Entry>> {
        self.redo_in(&Rooms::All)
    }

    /// Redoes what was undone last in some rooms; `None` as in [`Catalogue::redo`].
    ///
    /// # Errors
    /// A change of another room was made since to the same, or the catalogue cannot be written.
    pub fn redo_in(&mut self, rooms: &Rooms) -> Result<Option<Entry>> {
        self.step("undone", "done", "ASC", rooms, forth)
    }

    /// Undoes everything of one room at once; its entries, the latest first. It cannot be redone: the room is a take-in, and its frames
    /// can be taken in again.
    ///
    /// # Errors
    /// A change of another room depends on it, or the catalogue cannot be written. Then nothing is undone.
    pub fn undo_all_of(&mut self, room: &str) -> Result<Vec<Entry>> {
        let done = self.transaction(|tx| {
            tx.execute_batch("PRAGMA defer_foreign_keys = ON")?;
            let rooms = Rooms::These(vec![room.to_owned()]);
            let query = format!(
                "SELECT id, at, says, state FROM entry WHERE state = 'done' AND {} ORDER BY id DESC",
                rooms.sql()
            );
            let entries: Vec<Entry> = tx.prepare(&query)?.query_map([], entry_of)?.collect::<rusqlite::Result<_>>()?;
            for entry in &entries {
                undo_one(tx, entry, Some(room), back)?;
                tx.execute("UPDATE entry SET state = 'dropped' WHERE id = ?1", [entry.id])?;
            }
            Ok(entries)
        });
        done.map_err(depended_on)
    }

    fn step(
        &mut self,
        from: &str,
        to: &str,
        order: &str,
        rooms: &Rooms,
        apply: fn(&Connection, &Change) -> Result<()>,
    ) -> Result<Option<Entry>> {
        let stepped = self.transaction(|tx| {
            let query = format!(
                "SELECT id, at, says, state FROM entry WHERE state = ?1 AND {} ORDER BY id {order} LIMIT 1",
                rooms.sql()
            );
            let Some(mut entry) = tx.query_row(&query, [from], entry_of).optional()? else { return Ok(None) };
            // References may be broken in between but must be valid at the end.
            tx.execute_batch("PRAGMA defer_foreign_keys = ON")?;
            undo_one(tx, &entry, None, apply)?;
            tx.execute("UPDATE entry SET state = ?1 WHERE id = ?2", params![to, entry.id])?;
            entry.state = to.to_owned();
            Ok(Some(entry))
        });
        stepped.map_err(depended_on)
    }

    /// The journal, the latest entry first.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn history(&self, most: usize) -> Result<Vec<Entry>> {
        let mut query = self.db.prepare_cached("SELECT id, at, says, state FROM entry ORDER BY id DESC LIMIT ?1")?;
        let entries = query.query_map([most as i64], entry_of)?.collect::<rusqlite::Result<_>>()?;
        Ok(entries)
    }

    /// Changes to a print, its frames, and its positions in edits and stacks, the latest first.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn history_of(&self, print: PrintId, most: usize) -> Result<Vec<Entry>> {
        let mut query = self.db.prepare_cached(
            "SELECT id, at, says, state FROM entry WHERE state = 'done' AND id IN (
                 SELECT entry FROM change WHERE (what = 'print' AND row = ?1)
                    OR (what = 'frame' AND row IN (SELECT id FROM frame WHERE print = ?1))
                    OR (what IN ('chosen', 'handed', 'stacked') AND json_extract(COALESCE(after, before), '$.print') = ?1))
             ORDER BY id DESC LIMIT ?2",
        )?;
        let entries = query.query_map(params![print.0, most as i64], entry_of)?.collect::<rusqlite::Result<_>>()?;
        Ok(entries)
    }

    /// Descriptions of the next undo and redo.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn can_undo_redo(&self) -> Result<(Option<String>, Option<String>)> {
        self.can_undo_redo_in(&Rooms::All)
    }

    /// The same, in some rooms.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn can_undo_redo_in(&self, rooms: &Rooms) -> Result<(Option<String>, Option<String>)> {
        let says = |state: &str, order: &str| {
            let rooms = rooms.sql();
            let query = format!("SELECT says FROM entry WHERE state = ?1 AND {rooms} ORDER BY id {order} LIMIT 1");
            self.db.query_row(&query, [state], |r| r.get(0)).optional()
        };
        Ok((says("done", "DESC")?, says("undone", "ASC")?))
    }
}

fn entry_of(row: &Row) -> rusqlite::Result<Entry> {
    Ok(Entry { id: row.get(0)?, at: row.get(1)?, says: row.get(2)?, state: row.get(3)? })
}

/// Changes the rows of an entry back or forth, unless something done since depends on them; changes of the room `of` do not count, for
/// they are undone too.
fn undo_one(
    db: &Connection,
    entry: &Entry,
    of: Option<&str>,
    apply: fn(&Connection, &Change) -> Result<()>,
) -> Result<()> {
    let mut changes = changes(db, entry.id)?;
    for change in &changes {
        if let Some(says) = blocker(db, entry.id, (&change.table, change.row, (&change.before, &change.after)), of)? {
            return Err(Error::refused(says));
        }
    }
    if entry.state == "done" {
        changes.reverse();
    }
    changes.iter().try_for_each(|change| apply(db, change))
}

/// A row that others refer to cannot go: in the words of what was to be undone.
fn depended_on(error: Error) -> Error {
    match &error {
        Error::Database(e) if e.sqlite_error_code() == Some(rusqlite::ErrorCode::ConstraintViolation) => {
            Error::refused("Something that was done since depends on it: undo that first.")
        }
        _ => error,
    }
}

/// One row changed.
struct Change {
    id: i64,
    table: String,
    row: i64,
    before: Option<Json>,
    after: Option<Json>,
}

fn changes(db: &Connection, entry: i64) -> Result<Vec<Change>> {
    let mut query =
        db.prepare_cached("SELECT id, what, row, before, after FROM change WHERE entry = ?1 ORDER BY id")?;
    let image = |text: Option<String>| text.map(|t| serde_json::from_str(&t)).transpose();
    let rows = query.query_map([entry], |r| {
        Ok((r.get(0)?, r.get(1)?, r.get(2)?, r.get::<_, Option<String>>(3)?, r.get::<_, Option<String>>(4)?))
    })?;
    rows.map(|row| {
        let (id, table, row, before, after) = row?;
        let unread = |_| Error::Damaged("The journal".into());
        Ok(Change { id, table, row, before: image(before).map_err(unread)?, after: image(after).map_err(unread)? })
    })
    .collect()
}

fn back(db: &Connection, change: &Change) -> Result<()> {
    match (&change.before, &change.after) {
        (Some(before), Some(after)) => update(db, change, after, before),
        (None, Some(_)) => {
            // Redo must restore the row as it is now.
            db.execute("UPDATE change SET after = ?1 WHERE id = ?2", params![image_now(db, change)?, change.id])?;
            delete(db, change)
        }
        (Some(before), None) => insert(db, change, before),
        (None, None) => Ok(()),
    }
}

fn forth(db: &Connection, change: &Change) -> Result<()> {
    match (&change.before, &change.after) {
        (Some(before), Some(after)) => update(db, change, before, after),
        (None, Some(after)) => insert(db, change, after),
        (Some(_), None) => delete(db, change),
        (None, None) => Ok(()),
    }
}

/// Sets the columns that differ between two images of a row to those of the second.
fn update(db: &Connection, change: &Change, from: &Json, to: &Json) -> Result<()> {
    let columns = columns(db, &change.table)?;
    let changed: Vec<&String> = columns.iter().filter(|c| from[c.as_str()] != to[c.as_str()]).collect();
    if changed.is_empty() {
        return Ok(());
    }
    let set: Vec<String> = changed.iter().enumerate().map(|(i, c)| format!("{c} = ?{}", i + 1)).collect();
    let text = format!("UPDATE {} SET {} WHERE id = ?{}", change.table, set.join(", "), changed.len() + 1);
    let values = changed.iter().map(|c| sql(&to[c.as_str()])).chain([Value::Integer(change.row)]);
    db.prepare_cached(&text)?.execute(params_from_iter(values))?;
    Ok(())
}

fn insert(db: &Connection, change: &Change, image: &Json) -> Result<()> {
    // A column that a later form added is not in an older image: it keeps its default.
    let columns: Vec<String> =
        columns(db, &change.table)?.into_iter().filter(|c| image.get(c.as_str()).is_some()).collect();
    let marks: Vec<String> = (1..=columns.len()).map(|i| format!("?{i}")).collect();
    let text = format!("INSERT INTO {} ({}) VALUES ({})", change.table, columns.join(", "), marks.join(", "));
    db.prepare_cached(&text)?.execute(params_from_iter(columns.iter().map(|c| sql(&image[c.as_str()]))))?;
    Ok(())
}

fn delete(db: &Connection, change: &Change) -> Result<()> {
    db.execute(&format!("DELETE FROM {} WHERE id = ?1", change.table), [change.row])?;
    Ok(())
}

fn image_now(db: &Connection, change: &Change) -> Result<Option<String>> {
    let pairs: Vec<String> = columns(db, &change.table)?.iter().map(|c| format!("'{c}', {c}")).collect();
    let text = format!("SELECT json_object({}) FROM {} WHERE id = ?1", pairs.join(", "), change.table);
    Ok(db.query_row(&text, [change.row], |r| r.get(0)).optional()?)
}

fn sql(value: &Json) -> Value {
    match value {
        Json::Null => Value::Null,
        Json::Bool(b) => Value::Integer(i64::from(*b)),
        Json::Number(n) => n.as_i64().map_or_else(|| Value::Real(n.as_f64().unwrap_or_default()), Value::Integer),
        Json::String(s) => Value::Text(s.clone()),
        other => Value::Text(other.to_string()),
    }
}
