//! The schema of the catalogue: an append-only list of migrations, and the triggers of the journal.

use crate::error::{Error, Result};
use rusqlite::Connection;

/// Every step from nothing to the present form, in order. A step that was released is never changed; new ones are added at
/// the end.
const STEPS: &[&str] = &[
    include_str!("schema/1.sql"),
    include_str!("schema/2.sql"),
    include_str!("schema/3.sql"),
    include_str!("schema/4.sql"),
    include_str!("schema/5.sql"),
];

/// Tables whose every change goes into the journal.
pub(crate) const JOURNALLED: &[&str] =
    &["box", "sleeve", "sitting", "print", "frame", "edit", "chosen", "hand_off", "handed", "stacked", "saved"];

/// The form that this version writes.
pub const FORM: i64 = STEPS.len() as i64;

/// Which prints' words a changed row touches: the table, and a query with `NEW` for the row.
const WORDS: &[(&str, &str)] = &[
    ("print", "SELECT NEW.id"),
    ("frame", "SELECT NEW.print WHERE NEW.print IS NOT NULL"),
    ("box", "SELECT id FROM print WHERE box = NEW.id"),
    ("sleeve", "SELECT id FROM print WHERE sleeve = NEW.id"),
    ("chosen", "SELECT NEW.print"),
    ("edit", "SELECT print FROM chosen WHERE edit = NEW.id"),
    ("stacked", "SELECT NEW.print"),
];

/// Brings a catalogue to the present form.
///
/// # Errors
/// It was written by a later version, or a step failed; then nothing of it is kept.
pub(crate) fn migrate(db: &mut Connection) -> Result<()> {
    let found: i64 = db.query_row("PRAGMA user_version", [], |r| r.get(0))?;
    if found > FORM {
        return Err(Error::Newer { found, known: FORM });
    }
    if found == FORM {
        return Ok(());
    }
    let tx = db.transaction_with_behavior(rusqlite::TransactionBehavior::Immediate)?;
    // Another program may have been quicker.
    let found: i64 = tx.query_row("PRAGMA user_version", [], |r| r.get(0))?;
    for step in STEPS.get(found.max(0) as usize..).unwrap_or_default() {
        tx.execute_batch(step)?;
    }
    triggers(&tx)?;
    tx.execute_batch(&format!("PRAGMA user_version = {FORM}"))?;
    tx.commit()?;
    Ok(())
}

/// Recreates the triggers of the journal from the current columns of the tables.
fn triggers(db: &Connection) -> Result<()> {
    for table in JOURNALLED {
        let image = |row: &str| -> Result<String> {
            let pairs: Vec<String> = columns(db, table)?.iter().map(|c| format!("'{c}', {row}.{c}")).collect();
            Ok(format!("json_object({})", pairs.join(", ")))
        };
        let (old, new) = (image("OLD")?, image("NEW")?);
        for (event, row, before, after) in [
            ("INSERT", "NEW", "NULL", new.as_str()),
            ("UPDATE", "NEW", old.as_str(), new.as_str()),
            ("DELETE", "OLD", old.as_str(), "NULL"),
        ] {
            db.execute_batch(&format!(
                "DROP TRIGGER IF EXISTS journal_{table}_{event};
                 CREATE TRIGGER journal_{table}_{event} AFTER {event} ON {table}
                 WHEN EXISTS (SELECT 1 FROM open_entry) BEGIN
                     INSERT INTO change (entry, what, row, before, after)
                     VALUES ((SELECT id FROM open_entry), '{table}', {row}.id, {before}, {after});
                 END;"
            ))?;
        }
    }
    for (table, query) in WORDS {
        for (event, rows) in [("INSERT", &["NEW"][..]), ("UPDATE", &["OLD", "NEW"]), ("DELETE", &["OLD"])] {
            // Not OR IGNORE: a trigger follows the conflict rule of the statement that fires it.
            let mark = |row: &&str| {
                let prints = query.replace("NEW", row);
                format!("INSERT INTO stale SELECT * FROM ({prints}) EXCEPT SELECT print FROM stale;")
            };
            let marks: String = rows.iter().map(mark).collect();
            db.execute_batch(&format!(
                "DROP TRIGGER IF EXISTS words_{table}_{event};
                 CREATE TRIGGER words_{table}_{event} AFTER {event} ON {table} BEGIN {marks} END;"
            ))?;
        }
    }
    Ok(())
}

/// The columns of a table, in order.
pub(crate) fn columns(db: &Connection, table: &str) -> Result<Vec<String>> {
    let mut statement = db.prepare_cached(&format!("SELECT name FROM pragma_table_info('{table}')"))?;
    let names = statement.query_map([], |r| r.get(0))?.collect::<rusqlite::Result<_>>()?;
    Ok(names)
}
