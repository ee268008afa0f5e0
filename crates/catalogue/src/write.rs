//! Changes: each is one transaction and one entry of the journal.

use crate::colour::MainColours;
use crate::error::{Error, Result};
use crate::fact::{FACTS, Fact, Facts};
use crate::kinds::{Finished, FrameId, NewFrame, PrintId};
use crate::store::Catalogue;
use dates::Edtf;
use rusqlite::{Connection, OptionalExtension, Transaction, TransactionBehavior, params};

/// The moment of a change, UTC, as SQLite tells it.
const NOW: &str = "strftime('%Y-%m-%dT%H:%M:%SZ', 'now')";

impl Catalogue {
    /// Makes one change: everything in `work` is one entry of the journal, described by `says`, and undone in one step. An error rolls it
    /// back. Without any change there is no entry.
    ///
    /// # Errors
    /// The catalogue cannot be written, or `work` gave up.
    pub fn change<T>(&mut self, says: &str, work: impl FnOnce(&Writer) -> Result<T>) -> Result<T> {
        let room = self.room().to_owned();
        self.transaction(|tx| {
            let text = format!("INSERT INTO entry (at, says, state, room) VALUES ({NOW}, ?1, 'done', ?2)");
            tx.execute(&text, [says, &room])?;
            let entry = tx.last_insert_rowid();
            tx.execute("INSERT INTO open_entry (id) VALUES (?1)", [entry])?;
            let done = work(&Writer { db: tx })?;
            tx.execute("DELETE FROM open_entry", [])?;
            if tx.execute("DELETE FROM entry WHERE id = ?1 AND id NOT IN (SELECT entry FROM change)", [entry])? == 0 {
                // A new change after an undo discards what was undone in the same room.
                tx.execute("UPDATE entry SET state = 'dropped' WHERE state = 'undone' AND room = ?1", [&room])?;
            }
            Ok(done)
        })
    }

    /// A transaction that ends with every changed print's words indexed.
    pub(crate) fn transaction<T>(&mut self, work: impl FnOnce(&Transaction) -> Result<T>) -> Result<T> {
        if self.reads_only() {
            return Err(Error::ReadOnly);
        }
        // Immediate: a writer waits for its turn at the beginning, never half way.
        let tx = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let done = work(&tx)?;
        reindex(&tx)?;
        tx.commit()?;
        Ok(done)
    }

    /// Records the results of finishing a frame. This is not a journal entry, because it mirrors files on disk.
    ///
    /// # Errors
    /// The catalogue cannot be written.
    pub fn record(&mut self, frame: FrameId, result: &Finished, recipe_json: &str) -> Result<()> {
        self.transaction(|tx| Writer { db: tx }.record(frame, result, recipe_json))
    }

    /// Keeps a print's likeness, to know it again.
    ///
    /// # Errors
    /// The catalogue cannot be written.
    pub fn keep_likeness(&mut self, frame: FrameId, lattice: &[u8]) -> Result<()> {
        self.transaction(|tx| Writer { db: tx }.keep_likeness(frame, lattice))
    }

    /// Keeps the main colours of frames.
    ///
    /// # Errors
    /// The catalogue cannot be written.
    pub fn learn_colours(&mut self, known: &[(FrameId, MainColours)]) -> Result<()> {
        self.transaction(|tx| known.iter().try_for_each(|(frame, main)| Writer { db: tx }.keep_colours(*frame, main)))
    }

    /// Prints whose sidecars must be written, each with the turn to give back to [`Catalogue::sidecars_written`].
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn sidecars_due(&self) -> Result<Vec<(PrintId, i64)>> {
        let mut query = self.db.prepare_cached("SELECT print, turn FROM unwritten ORDER BY print")?;
        let rows = query.query_map([], |r| Ok((PrintId(r.get(0)?), r.get(1)?)))?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }

    /// These sidecars are written. A print that has changed since stays due.
    ///
    /// # Errors
    /// The catalogue cannot be written.
    pub fn sidecars_written(&mut self, done: &[(PrintId, i64)]) -> Result<()> {
        self.transaction(|tx| {
            let mut out = tx.prepare_cached("DELETE FROM unwritten WHERE print = ?1 AND turn = ?2")?;
            done.iter().try_for_each(|(print, turn)| out.execute(params![print.0, turn]).map(drop))?;
            Ok(())
        })
    }

    /// Says something of prints; an empty value takes it back.
    ///
    /// # Errors
    /// A value is not as its fact must be, a print is not there, or the catalogue cannot be written.
    pub fn describe(&mut self, prints: &[PrintId], facts: &[(Fact, &str)]) -> Result<()> {
        let words: Vec<&str> = facts.iter().map(|(f, _)| f.word()).collect();
        self.change(&format!("Described {}: {}", named(prints), words.join(", ")), |w| {
            prints.iter().try_for_each(|p| facts.iter().try_for_each(|(fact, value)| w.say(*p, *fact, value)))
        })
    }
}

/// "P0004", "P0004 and P0005", "P0004 to P0009 (6 prints)": prints in a sentence.
pub fn named(prints: &[PrintId]) -> String {
    match prints {
        [] => "no print".into(),
        [one] => one.to_string(),
        [a, b] => format!("{a} and {b}"),
        [a, .., z] => format!("{a} to {z} ({} prints)", prints.len()),
    }
}

/// The changes that one entry of the journal can hold.
pub struct Writer<'a> {
    pub(crate) db: &'a Connection,
}

impl Writer<'_> {
    /// A new print with a number never used before.
    ///
    /// # Errors
    /// The catalogue cannot be written.
    pub fn mint(&self) -> Result<PrintId> {
        self.db.prepare_cached(&format!("INSERT INTO print (added) VALUES ({NOW})"))?.execute([])?;
        Ok(PrintId(self.db.last_insert_rowid()))
    }

    /// Creates a print with its earlier number, for a rebuild.
    ///
    /// # Errors
    /// The number is taken, or the catalogue cannot be written.
    pub fn restore(&self, id: PrintId) -> Result<()> {
        self.db.execute(&format!("INSERT INTO print (id, added) VALUES (?1, {NOW})"), [id.0])?;
        Ok(())
    }

    /// Keeps numbers up to `highest` from being given again.
    ///
    /// # Errors
    /// The catalogue cannot be written.
    pub fn never_again(&self, highest: PrintId) -> Result<()> {
        let set = "UPDATE sqlite_sequence SET seq = MAX(seq, ?1) WHERE name = 'print'";
        if self.db.execute(set, [highest.0])? == 0 {
            self.db.execute("INSERT INTO sqlite_sequence (name, seq) VALUES ('print', ?1)", [highest.0])?;
        }
        Ok(())
    }

    /// A value about the project.
    ///
    /// # Errors
    /// The catalogue cannot be written.
    pub fn about(&self, key: &str, value: &str) -> Result<()> {
        self.db.execute("INSERT OR REPLACE INTO project (key, value) VALUES (?1, ?2)", params![key, value])?;
        Ok(())
    }

    pub(crate) fn there(&self, id: PrintId) -> Result<()> {
        let found = self.db.prepare_cached("SELECT 1 FROM print WHERE id = ?1")?.exists([id.0])?;
        if found { Ok(()) } else { Err(Error::refused(format!("There is no print {id}."))) }
    }

    /// Says one fact of a print; an empty value takes it back.
    ///
    /// # Errors
    /// The value is not as its fact must be, there is no such print, or a sleeve is said of a print without a box.
    pub fn say(&self, id: PrintId, fact: Fact, value: &str) -> Result<()> {
        self.there(id)?;
        let typed = value.trim();
        let value = fact.checked(value)?;
        let set = |column: &str, value: &dyn rusqlite::ToSql| {
            let text = format!("UPDATE print SET {column} = ?1 WHERE id = ?2 AND {column} IS NOT ?1");
            self.db.prepare_cached(&text)?.execute(params![value, id.0]).map_err(Error::from)
        };
        match fact {
            Fact::Box => {
                let held: Option<i64> =
                    self.db.query_row("SELECT box FROM print WHERE id = ?1", [id.0], |r| r.get(0))?;
                let new = if value.is_empty() { None } else { Some(self.box_named(&value)?) };
                if held != new {
                    // A sleeve belongs to its box: another box has another sleeve.
                    set("sleeve", &None::<i64>)?;
                    set("box", &new)?;
                }
            }
            Fact::Sleeve => {
                let sleeve = if value.is_empty() { None } else { Some(self.sleeve_of(id, &value)?) };
                set("sleeve", &sleeve)?;
            }
            Fact::Exposed => {
                let date = (!value.is_empty()).then(|| Edtf::parse(&value)).transpose()?;
                let days = date.map(|d| d.days());
                set("exposed", &value)?;
                set("exposed_from", &days.map(|d| d.0))?;
                set("exposed_to", &days.map(|d| d.1))?;
                // Words beside a date are those that it was understood from.
                set("dated", &if typed == value { "" } else { typed })?;
            }
            _ => {
                if let Some(column) = fact.column() {
                    set(column, &value)?;
                }
            }
        }
        Ok(())
    }

    /// Sets all fields at once, for a rebuild.
    ///
    /// # Errors
    /// As [`Writer::say`].
    pub fn say_all(&self, id: PrintId, facts: &Facts) -> Result<()> {
        facts.pairs().into_iter().filter(|(_, v)| !v.is_empty()).try_for_each(|(f, v)| self.say(id, f, &v))
    }

    fn box_named(&self, name: &str) -> Result<i64> {
        let found = self.db.query_row("SELECT id FROM box WHERE name = ?1", [name], |r| r.get(0)).optional()?;
        if let Some(id) = found {
            return Ok(id);
        }
        self.db.execute("INSERT INTO box (name) VALUES (?1)", [name])?;
        Ok(self.db.last_insert_rowid())
    }

    fn sleeve_of(&self, id: PrintId, name: &str) -> Result<i64> {
        let in_box: Option<i64> = self.db.query_row("SELECT box FROM print WHERE id = ?1", [id.0], |r| r.get(0))?;
        let Some(in_box) = in_box else {
            return Err(Error::refused(format!("{id} has no box yet. Set its box first, then the sleeve.")));
        };
        let found = self
            .db
            .query_row("SELECT id FROM sleeve WHERE box = ?1 AND name = ?2", params![in_box, name], |r| r.get(0))
            .optional()?;
        if let Some(sleeve) = found {
            return Ok(sleeve);
        }
        self.db.execute("INSERT INTO sleeve (box, name) VALUES (?1, ?2)", params![in_box, name])?;
        Ok(self.db.last_insert_rowid())
    }

    /// A frame as it comes in. A frame that is already there (by its hash and its part) is left as it is.
    ///
    /// # Errors
    /// The catalogue cannot be written.
    pub fn add_frame(&self, frame: &NewFrame) -> Result<FrameId> {
        let known = "SELECT id FROM frame WHERE blake3 = ?1 AND part = ?2";
        let found = self.db.query_row(known, params![frame.blake3, frame.part.number], |r| r.get(0)).optional()?;
        if let Some(id) = found {
            return Ok(FrameId(id));
        }
        self.db
            .prepare_cached(&format!(
                "INSERT INTO frame (blake3, name, path, twins, taken, role, role_why, sitting, part, parts, added)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, {NOW})"
            ))?
            .execute(params![
                frame.blake3,
                frame.name,
                frame.path,
                frame.twins.join("\n"),
                frame.taken,
                frame.role,
                frame.role_why,
                frame.sitting,
                frame.part.number,
                frame.part.of
            ])?;
        Ok(FrameId(self.db.last_insert_rowid()))
    }

    fn set_frame(&self, frame: FrameId, column: &str, value: &dyn rusqlite::ToSql) -> Result<()> {
        let text = format!("UPDATE frame SET {column} = ?1 WHERE id = ?2");
        match self.db.prepare_cached(&text)?.execute(params![value, frame.0])? {
            0 => Err(Error::refused("There is no such frame.")),
            _ => Ok(()),
        }
    }

    /// Sets the current path of an original.
    ///
    /// # Errors
    /// There is no such frame.
    pub fn moved(&self, frame: FrameId, path: &str) -> Result<()> {
        self.set_frame(frame, "path", &path)
    }

    /// Sets the role of a frame and the reason.
    ///
    /// # Errors
    /// There is no such frame.
    pub fn give_role(&self, frame: FrameId, role: &str, why: &str) -> Result<()> {
        self.set_frame(frame, "role", &role)?;
        self.set_frame(frame, "role_why", &why)
    }

    /// What a person said of a frame, JSON that only its reader understands: corners, format, turn, shadow.
    ///
    /// # Errors
    /// There is no such frame.
    pub fn said(&self, frame: FrameId, json: &str) -> Result<()> {
        self.set_frame(frame, "said", &json)
    }

    /// Puts a frame with a print, or with none. A print left without its chosen front has none until one is chosen; a print
    /// left without frames and words is taken away, and its number is not given again.
    ///
    /// # Errors
    /// There is no such frame or print.
    pub fn join(&self, frame: FrameId, print: Option<PrintId>, why: &str) -> Result<()> {
        let before: Option<i64> = self
            .db
            .query_row("SELECT print FROM frame WHERE id = ?1", [frame.0], |r| r.get(0))
            .optional()?
            .ok_or_else(|| Error::refused("There is no such frame."))?;
        if let Some(print) = print {
            self.there(print)?;
        }
        self.set_frame(frame, "print", &print.map(|p| p.0))?;
        self.set_frame(frame, "print_why", &why)?;
        if before == print.map(|p| p.0) {
            return Ok(());
        }
        if let Some(before) = before.map(PrintId) {
            let lost = "UPDATE print SET front = NULL, front_why = '', front_by = '' WHERE id = ?1 AND front = ?2";
            self.db.execute(lost, params![before.0, frame.0])?;
            self.clear_away(before)?;
        }
        Ok(())
    }

    /// Deletes a print without frames, words and positions in edits.
    fn clear_away(&self, id: PrintId) -> Result<()> {
        // A print that nobody described still has the format that was found.
        let said = FACTS.iter().map(|l| l.fact).filter(|f| *f != Fact::Format).filter_map(Fact::column);
        let text = format!(
            "SELECT 1 FROM print WHERE id = ?1
               AND NOT EXISTS (SELECT 1 FROM frame WHERE print = ?1)
               AND NOT EXISTS (SELECT 1 FROM chosen WHERE print = ?1)
               AND NOT EXISTS (SELECT 1 FROM handed WHERE print = ?1)
               AND {} = ''",
            said.collect::<Vec<_>>().join(" || ")
        );
        let empty = self.db.prepare_cached(&text)?.exists([id.0])?;
        if empty {
            self.unstacked(id)?;
            self.db.execute("DELETE FROM print WHERE id = ?1", [id.0])?;
        }
        Ok(())
    }

    /// Sets the chosen frame of a print. `by` is `rule` or `person`.
    ///
    /// # Errors
    /// The frame is not one of the print's.
    pub fn choose_front(&self, print: PrintId, frame: FrameId, why: &str, by: &str) -> Result<()> {
        let text = "UPDATE print SET front = ?1, front_why = ?2, front_by = ?3
                    WHERE id = ?4 AND EXISTS (SELECT 1 FROM frame WHERE id = ?1 AND print = ?4)";
        match self.db.execute(text, params![frame.0, why, by, print.0])? {
            0 => Err(Error::refused(format!("That frame does not show {print}."))),
            _ => Ok(()),
        }
    }

    /// The sitting of a frame: frames of one camera and size, less than `gap_s` seconds apart, belong together.
    ///
    /// # Errors
    /// The catalogue cannot be written.
    pub fn sitting(&self, camera: &str, size: [i64; 2], taken: Option<&str>, gap_s: i64) -> Result<i64> {
        let near = self
            .db
            .query_row(
                "SELECT id FROM sitting WHERE camera = ?1 AND width_px = ?2 AND height_px = ?3
                   AND (?4 IS NULL AND began IS NULL
                        OR unixepoch(?4) BETWEEN unixepoch(began) - ?5 AND unixepoch(ended) + ?5)
                 ORDER BY id DESC LIMIT 1",
                params![camera, size[0], size[1], taken, gap_s],
                |r| r.get(0),
            )
            .optional()?;
        if let Some(id) = near {
            self.db.execute(
                "UPDATE sitting SET began = MIN(began, ?2), ended = MAX(ended, ?2)
                 WHERE id = ?1 AND (?2 < began OR ?2 > ended)",
                params![id, taken],
            )?;
            return Ok(id);
        }
        self.db.execute(
            "INSERT INTO sitting (camera, width_px, height_px, began, ended) VALUES (?1, ?2, ?3, ?4, ?4)",
            params![camera, size[0], size[1], taken],
        )?;
        Ok(self.db.last_insert_rowid())
    }

    /// As [`Catalogue::record`], within a change.
    ///
    /// # Errors
    /// The catalogue cannot be written.
    pub fn record(&self, frame: FrameId, r: &Finished, recipe_json: &str) -> Result<()> {
        self.db
            .prepare_cached(
                "INSERT OR REPLACE INTO result (frame, verdict, says, format, confidence, width_mm, height_mm, width_px,
                     height_px, px_per_mm, canvas_width_px, canvas_height_px, marks, report, master, mount, srgb_png,
                     share, before, after, recipe)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17, ?18, ?19, ?20, ?21)",
            )?
            .execute(params![
                frame.0,
                r.verdict,
                r.says,
                r.format,
                r.confidence,
                r.size_mm.map(|s| s[0]),
                r.size_mm.map(|s| s[1]),
                r.frame_px[0],
                r.frame_px[1],
                r.px_per_mm,
                r.canvas_px.map(|s| s[0]),
                r.canvas_px.map(|s| s[1]),
                r.marks,
                r.report,
                r.master,
                r.mount,
                r.srgb_png,
                r.share,
                r.before,
                r.after,
                r.recipe
            ])?;
        // What was made has changed, and its sidecar with it.
        let touched = "INSERT OR IGNORE INTO stale SELECT print FROM frame WHERE id = ?1 AND print IS NOT NULL";
        self.db.execute(touched, [frame.0])?;
        self.db.execute("DELETE FROM finding WHERE frame = ?1", [frame.0])?;
        let mut insert = self.db.prepare_cached(
            "INSERT INTO finding (frame, place, code, severity, value, limit_value, unit, says, remedy)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
        )?;
        for (i, f) in r.findings.iter().enumerate() {
            insert
                .execute(params![frame.0, i as i64, f.code, f.severity, f.value, f.limit, f.unit, f.says, f.remedy])?;
        }
        let keep = "INSERT OR IGNORE INTO recipe (hash, json) VALUES (?1, ?2)";
        self.db.execute(keep, params![r.recipe, recipe_json])?;
        Ok(())
    }

    /// As [`Catalogue::keep_likeness`], within a change.
    ///
    /// # Errors
    /// The catalogue cannot be written.
    pub fn keep_likeness(&self, frame: FrameId, lattice: &[u8]) -> Result<()> {
        let keep = "INSERT OR REPLACE INTO likeness (frame, lattice) VALUES (?1, ?2)";
        self.db.execute(keep, params![frame.0, lattice])?;
        Ok(())
    }

    /// Keeps the main colours of a frame's picture, the largest first, each with its share.
    ///
    /// # Errors
    /// The catalogue cannot be written.
    pub fn keep_colours(&self, frame: FrameId, colours: &[([f64; 3], f64)]) -> Result<()> {
        self.db.execute("DELETE FROM colour WHERE frame = ?1", [frame.0])?;
        let mut put = self
            .db
            .prepare_cached("INSERT INTO colour (frame, place, l, a, b, share) VALUES (?1, ?2, ?3, ?4, ?5, ?6)")?;
        for (place, ([l, a, b], share)) in colours.iter().enumerate() {
            put.execute(params![frame.0, place as i64, l, a, b, share])?;
        }
        Ok(())
    }

    /// A fact as it is kept: a list one item to a line.
    ///
    /// # Errors
    /// There is no such print.
    pub fn said_of(&self, id: PrintId, fact: Fact) -> Result<String> {
        self.there(id)?;
        let text = format!(
            "SELECT {} FROM print p LEFT JOIN box b ON b.id = p.box LEFT JOIN sleeve s ON s.id = p.sleeve WHERE p.id = ?1",
            fact.sql()
        );
        Ok(self.db.prepare_cached(&text)?.query_row([id.0], |r| r.get(0))?)
    }

    /// Writes down that prints were handed on.
    ///
    /// # Errors
    /// A print is not there, or the catalogue cannot be written.
    pub fn hand_off(&self, kind: &str, place: &str, note: &str, prints: &[PrintId]) -> Result<i64> {
        let add = format!("INSERT INTO hand_off (at, kind, place, note) VALUES ({NOW}, ?1, ?2, ?3)");
        self.db.execute(&add, params![kind, place, note])?;
        let id = self.db.last_insert_rowid();
        for (i, print) in prints.iter().enumerate() {
            self.there(*print)?;
            let add = "INSERT OR IGNORE INTO handed (hand_off, print, place) VALUES (?1, ?2, ?3)";
            self.db.execute(add, params![id, print.0, i as i64])?;
        }
        Ok(id)
    }
}

/// Indexes the words of every print that a change touched.
fn reindex(db: &Connection) -> Result<()> {
    let any = db.prepare_cached("SELECT 1 FROM stale")?.exists([])?;
    if !any {
        return Ok(());
    }
    let words = || FACTS.iter().filter(|l| l.search.is_some());
    let columns: Vec<&str> = words().map(|l| l.word).collect();
    let values: Vec<String> = words().map(|l| l.fact.sql()).collect();
    db.execute_batch(&format!(
        "DELETE FROM word WHERE rowid IN (SELECT print FROM stale);
         INSERT INTO word (rowid, frame, {})
         SELECT p.id, COALESCE((SELECT group_concat(f.name, ' ') FROM frame f WHERE f.print = p.id), ''), {}
         FROM print p JOIN stale ON stale.print = p.id
              LEFT JOIN box b ON b.id = p.box LEFT JOIN sleeve s ON s.id = p.sleeve;
         INSERT OR REPLACE INTO unwritten (print, turn)
         SELECT print, (SELECT COALESCE(MAX(turn), 0) + 1 FROM unwritten) FROM stale;
         DELETE FROM stale;",
        columns.join(", "),
        values.join(", ")
    ))?;
    Ok(())
}
