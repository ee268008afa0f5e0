//! Where each change was made: a room of the desk's page, or a take-in. Undo in a room takes back what was done there, and what entered by
//! itself is undone only as a whole and by name.

use crate::error::Result;
use crate::kinds::PrintId;
use crate::store::Catalogue;
use crate::write::Writer;
use rusqlite::{Connection, OptionalExtension, params};
use serde_json::Value as Json;

/// How the rooms of take-ins begin: "take 41".
const TAKE: &str = "take";

/// Rooms whose changes are meant.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Rooms {
    /// Every change, wherever it was made.
    All,
    /// Those of these rooms; the command line's has no name.
    These(Vec<String>),
}

impl Rooms {
    /// As a condition on the table `entry`.
    pub(crate) fn sql(&self) -> String {
        match self {
            Self::All => "1".into(),
            Self::These(rooms) => {
                let quoted: Vec<String> = rooms.iter().map(|r| format!("'{}'", r.replace('\'', "''"))).collect();
                format!("room IN ({})", quoted.join(", "))
            }
        }
    }
}

/// Frames that were taken in together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TakenIn {
    /// The room of its changes: the name to undo it by.
    pub room: String,
    /// Where the frames came from.
    pub from: String,
    /// When it began, UTC.
    pub at: String,
    /// How many frames it entered.
    pub frames: usize,
}

impl Catalogue {
    /// The room in which changes are made now.
    pub fn room(&self) -> &str {
        &self.room
    }

    /// Makes the following changes in a room; gives the one before.
    pub fn set_room(&mut self, room: &str) -> String {
        std::mem::replace(&mut self.room, room.to_owned())
    }

    /// A new name for a take-in from a place.
    ///
    /// # Errors
    /// The catalogue cannot be written.
    pub fn begin_take(&mut self, from: &str) -> Result<String> {
        self.transaction(|tx| {
            // The number of the entry that comes next; nobody else has that.
            let next: i64 = tx.query_row(
                "SELECT MAX(COALESCE((SELECT MAX(id) FROM entry), 0),
                            COALESCE((SELECT MAX(CAST(substr(key, 6) AS INTEGER)) FROM project WHERE key LIKE 'take %'), 0)) + 1",
                [],
                |r| r.get(0),
            )?;
            let room = format!("{TAKE} {next}");
            Writer { db: tx }.about(&room, from)?;
            Ok(room)
        })
    }

    /// The last take-ins that can be undone as a whole, the newest first.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn taken_in(&self, most: usize) -> Result<Vec<TakenIn>> {
        let mut query = self.db.prepare_cached(
            "SELECT e.room, COALESCE((SELECT value FROM project WHERE key = e.room), ''), MIN(e.at), COUNT(*)
             FROM entry e JOIN change c ON c.entry = e.id
             WHERE e.state = 'done' AND e.room LIKE 'take %' AND c.what = 'frame' AND c.before IS NULL
             GROUP BY e.room ORDER BY MAX(e.id) DESC LIMIT ?1",
        )?;
        let rows = query.query_map([most as i64], |r| {
            Ok(TakenIn { room: r.get(0)?, from: r.get(1)?, at: r.get(2)?, frames: r.get::<_, i64>(3)? as usize })
        })?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }

    /// The last thing that somebody did anywhere, and where, in words.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn last_done(&self) -> Result<Option<(String, String)>> {
        let query =
            "SELECT says, room FROM entry WHERE state = 'done' AND room NOT LIKE 'take%' ORDER BY id DESC LIMIT 1";
        let row = self.db.query_row(query, [], |r| Ok((r.get(0)?, r.get::<_, String>(1)?))).optional()?;
        Ok(row.map(|(says, room)| (says, place(&room))))
    }
}

/// Where a room is, as a person says it.
fn place(room: &str) -> String {
    match room.split_once('/') {
        Some(("print", id)) if id.parse::<i64>().is_ok() => {
            format!("on the sheet of {}", PrintId(id.parse().unwrap_or_default()))
        }
        _ if room.starts_with(TAKE) => "while frames were taken in".into(),
        _ => match room {
            "table" | "" => "on the table".into(),
            "hand" => "in the export room".into(),
            _ => "elsewhere".into(),
        },
    }
}

/// Why a change cannot be taken back or made again by itself: what was done since to the same. Changes of the room `but` do not count.
pub(crate) fn blocker(
    db: &Connection,
    entry: i64,
    (table, row, images): (&str, i64, Images),
    but: Option<&str>,
) -> Result<Option<String>> {
    let mut query = db.prepare_cached(
        "SELECT e.says, e.room, c.before, c.after FROM change c JOIN entry e ON e.id = c.entry
         WHERE c.what = ?1 AND c.row = ?2 AND e.state = 'done' AND e.id > ?3 AND e.room IS NOT ?4 ORDER BY e.id",
    )?;
    let mut rows = query.query(params![table, row, entry, but])?;
    while let Some(found) = rows.next()? {
        let image = |i: usize| -> Result<Option<Json>> {
            let text: Option<String> = found.get(i)?;
            Ok(text.and_then(|t| serde_json::from_str(&t).ok()))
        };
        if overlap(images, (&image(2)?, &image(3)?)) {
            return Ok(Some(in_the_way(&found.get::<_, String>(0)?, &found.get::<_, String>(1)?)));
        }
    }
    // A print that would go: what refers to it.
    if table != "print" || (images.0.is_some() && images.1.is_some()) {
        return Ok(None);
    }
    let mut query = db.prepare_cached(
        "SELECT e.says, e.room FROM change c JOIN entry e ON e.id = c.entry
         WHERE e.state = 'done' AND e.id > ?1 AND e.room IS NOT ?2 AND c.what IN ('frame', 'chosen', 'handed', 'stacked')
           AND json_extract(c.after, '$.print') = ?3 ORDER BY e.id LIMIT 1",
    )?;
    let found = query.query_row(params![entry, but, row], |r| Ok((r.get::<_, String>(0)?, r.get::<_, String>(1)?)));
    Ok(found.optional()?.map(|(says, room)| in_the_way(&says, &room)))
}

fn in_the_way(says: &str, room: &str) -> String {
    format!("It cannot be undone by itself, because of what was done since {}: “{says}”. Undo that first.", place(room))
}

/// A row before and after.
type Images<'a> = (&'a Option<Json>, &'a Option<Json>);

/// Whether two changes of one row touch the same: one makes or removes the row, or both set one column.
fn overlap(one: Images, other: Images) -> bool {
    let columns = |(before, after): Images| -> Option<Vec<String>> {
        let (before, after) = (before.as_ref()?.as_object()?, after.as_ref()?.as_object()?);
        Some(after.keys().filter(|k| before.get(*k) != after.get(*k)).cloned().collect())
    };
    match (columns(one), columns(other)) {
        (Some(one), Some(other)) => one.iter().any(|c| other.contains(c)),
        _ => true,
    }
}
