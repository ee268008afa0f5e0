//! Searches kept by a name.

use crate::error::{Error, Result};
use crate::query::Query;
use crate::store::Catalogue;
use crate::write::Writer;
use rusqlite::{OptionalExtension, params};

impl Catalogue {
    /// The searches kept, by name, each with its line.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn saved_searches(&self) -> Result<Vec<(String, String)>> {
        let mut query = self.db.prepare_cached("SELECT name, line FROM saved ORDER BY name")?;
        let rows = query.query_map([], |r| Ok((r.get(0)?, r.get(1)?)))?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }

    /// The line of a search kept. While its name is typed, the first one that begins so.
    ///
    /// # Errors
    /// None has that name; the error names those there are.
    pub fn saved(&self, name: &str) -> Result<String> {
        let text =
            "SELECT line FROM saved WHERE substr(name, 1, length(?1)) = ?1 COLLATE NOCASE ORDER BY length(name), name";
        let found = self.db.prepare_cached(text)?.query_row([name], |r| r.get(0)).optional()?;
        found.map_or_else(
            || {
                let all: Vec<String> = self.saved_searches()?.into_iter().map(|s| format!("“{}”", s.0)).collect();
                let there = if all.is_empty() { "none is".into() } else { format!("there is {}", all.join(", ")) };
                Err(Error::refused(format!("No search is saved as “{name}”: {there}.")))
            },
            Ok,
        )
    }
}

impl Writer<'_> {
    /// Keeps a search by a name; an empty line takes it back.
    ///
    /// # Errors
    /// The name is empty, or the line is not understood.
    pub fn save_search(&self, name: &str, line: &str) -> Result<()> {
        let (name, line) = (name.trim(), line.trim());
        if name.is_empty() || name.contains('"') {
            return Err(Error::refused("Give the search a name without quotation marks."));
        }
        if line.is_empty() {
            return match self.db.execute("DELETE FROM saved WHERE name = ?1", [name])? {
                0 => Err(Error::refused(format!("No search is saved as “{name}”."))),
                _ => Ok(()),
            };
        }
        Query::parse(line)?;
        self.db.execute(
            "INSERT INTO saved (name, line) VALUES (?1, ?2) ON CONFLICT (name) DO UPDATE SET line = ?2",
            params![name, line],
        )?;
        Ok(())
    }
}
