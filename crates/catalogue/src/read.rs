//! Queries: prints in full and as rows, frames, boxes, sittings, edits, hand-offs.

use crate::colour::Colour;
use crate::error::Result;
use crate::fact::{FACTS, Fact, Facts};
use crate::kinds::{
    Brief, Edit, Finding, Finished, Frame, FrameId, HandOff, Holder, InEdit, PartOf, Print, PrintId, Row, Sitting,
    Tally,
};
use crate::store::Catalogue;
use dates::day_text;
use rusqlite::{OptionalExtension, Params, Row as Sql, params};

/// Prints with the result of their front and their holders: what rows and search are made of.
pub(crate) const FROM_PRINT: &str = "print p LEFT JOIN frame f ON f.id = p.front LEFT JOIN result r ON r.frame = f.id
     LEFT JOIN box b ON b.id = p.box LEFT JOIN sleeve s ON s.id = p.sleeve";

/// Whether a print has a back, and whether anything is on it.
pub(crate) const BACK: &str = "COALESCE((SELECT CASE WHEN MAX(q.marks <> 'blank') THEN 'back' ELSE 'blank' END
     FROM frame k LEFT JOIN result q ON q.frame = k.id WHERE k.print = p.id AND k.role = 'back' HAVING COUNT(*) > 0), 'none')";

impl Catalogue {
    /// A print with all that is known of it.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn print(&self, id: PrintId) -> Result<Option<Print>> {
        let facts: Vec<String> = FACTS.iter().map(|l| l.fact.sql()).collect();
        let text = format!(
            "SELECT f.taken, p.front, p.front_why, p.front_by, p.added, {} FROM print p LEFT JOIN frame f ON f.id = p.front
                  LEFT JOIN box b ON b.id = p.box LEFT JOIN sleeve s ON s.id = p.sleeve WHERE p.id = ?1",
            facts.join(", ")
        );
        let read = |r: &Sql| {
            let mut facts = Facts::default();
            for (i, line) in FACTS.iter().enumerate() {
                facts.set_kept(line, &r.get::<_, String>(5 + i)?);
            }
            Ok(Print {
                id,
                facts,
                digitised: r.get(0)?,
                front: r.get::<_, Option<i64>>(1)?.map(FrameId),
                front_why: r.get(2)?,
                front_by: r.get(3)?,
                frames: vec![],
                edits: vec![],
                stacked: None,
                hand_offs: vec![],
                added: r.get(4)?,
            })
        };
        let Some(mut print) = self.db.prepare_cached(&text)?.query_row([id.0], read).optional()? else {
            return Ok(None);
        };
        print.frames = self.frames("WHERE print = ?1 ORDER BY id", [id.0])?;
        let mut edits = self.db.prepare_cached(
            "SELECT e.name, e.kind, c.place FROM chosen c JOIN edit e ON e.id = c.edit WHERE c.print = ?1 ORDER BY e.id",
        )?;
        let row = |r: &Sql| Ok(InEdit { edit: r.get(0)?, kind: r.get(1)?, place: r.get(2)? });
        print.edits = edits.query_map([id.0], row)?.collect::<rusqlite::Result<_>>()?;
        print.stacked = self.stacked(id)?;
        print.hand_offs = self.hand_offs()?.into_iter().filter(|h| h.prints.contains(&id)).collect();
        Ok(Some(print))
    }

    /// What is said of these prints, in this order; numbers that are not there are left out.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn facts(&self, ids: &[PrintId]) -> Result<Vec<Facts>> {
        let facts: Vec<String> = FACTS.iter().map(|l| l.fact.sql()).collect();
        let text = format!(
            "SELECT {} FROM print p LEFT JOIN box b ON b.id = p.box LEFT JOIN sleeve s ON s.id = p.sleeve WHERE p.id = ?1",
            facts.join(", ")
        );
        let mut query = self.db.prepare_cached(&text)?;
        let mut all = Vec::with_capacity(ids.len());
        for id in ids {
            let read = |r: &Sql| {
                let mut facts = Facts::default();
                for (i, line) in FACTS.iter().enumerate() {
                    facts.set_kept(line, &r.get::<_, String>(i)?);
                }
                Ok(facts)
            };
            all.extend(query.query_row([id.0], read).optional()?);
        }
        Ok(all)
    }

    /// The main colours of a print's front.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn colours_of(&self, id: PrintId) -> Result<Vec<Colour>> {
        let mut query = self.db.prepare_cached(
            "SELECT c.l, c.a, c.b FROM colour c JOIN print p ON p.front = c.frame WHERE p.id = ?1 ORDER BY c.place",
        )?;
        let rows = query.query_map([id.0], |r| Ok(Colour::new([r.get(0)?, r.get(1)?, r.get(2)?])))?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }

    /// Frames with a picture whose colours are not known yet.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn frames_without_colours(&self) -> Result<Vec<Frame>> {
        self.frames(
            "WHERE role = 'front' AND id IN (SELECT frame FROM result WHERE mount IS NOT NULL)
               AND id NOT IN (SELECT frame FROM colour) ORDER BY id",
            [],
        )
    }

    /// How many prints say nothing of who may see them.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn without_privacy(&self) -> Result<i64> {
        Ok(self.db.query_row("SELECT COUNT(*) FROM print WHERE privacy = ''", [], |r| r.get(0))?)
    }

    /// Prints that nobody may see: those that say so and, if saying nothing means the same, those too.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn private(&self, unsaid_too: bool) -> Result<Vec<PrintId>> {
        let text = "SELECT id FROM print WHERE privacy = 'private' OR (?1 AND privacy = '') ORDER BY id";
        let mut rows = self.db.prepare_cached(text)?;
        let ids = rows.query_map([unsaid_too], |r| r.get(0).map(PrintId))?.collect::<rusqlite::Result<_>>()?;
        Ok(ids)
    }

    /// The highest number that was ever given.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn highest_number(&self) -> Result<PrintId> {
        let text = "SELECT COALESCE((SELECT seq FROM sqlite_sequence WHERE name = 'print'), 0)";
        Ok(self.db.query_row(text, [], |r| r.get(0).map(PrintId))?)
    }

    /// Rows of these prints, in this order; numbers that are not there are left out.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn rows(&self, ids: &[PrintId]) -> Result<Vec<Row>> {
        let text = format!(
            "SELECT p.id, p.title, p.format, p.exposed, p.exposed_from, p.place, COALESCE(b.name, ''),
                    COALESCE(s.name, ''), r.verdict, COALESCE(r.says, ''), p.front, r.after, r.canvas_width_px,
                    r.canvas_height_px, r.px_per_mm, (SELECT COUNT(*) FROM frame k WHERE k.print = p.id), {BACK},
                    (SELECT group_concat(e.name, char(10)) FROM chosen c JOIN edit e ON e.id = c.edit WHERE c.print = p.id),
                    r.width_mm, r.height_mm, r.recipe, t.id, u.recipe
             FROM {FROM_PRINT}
                  LEFT JOIN frame t ON t.id = (SELECT MAX(k.id) FROM frame k WHERE k.print = p.id AND k.role = 'back')
                  LEFT JOIN result u ON u.frame = t.id
             WHERE p.id = ?1"
        );
        let mut query = self.db.prepare_cached(&text)?;
        let read = |r: &Sql| {
            Ok(Row {
                id: PrintId(r.get(0)?),
                title: r.get(1)?,
                format: r.get(2)?,
                date: r.get(3)?,
                from: r.get::<_, Option<i64>>(4)?.map(day_text),
                place: r.get(5)?,
                box_name: r.get(6)?,
                sleeve: r.get(7)?,
                verdict: r.get(8)?,
                says: r.get(9)?,
                front: r.get::<_, Option<i64>>(10)?.map(FrameId),
                picture: r.get(11)?,
                canvas_px: pair(r.get(12)?, r.get(13)?),
                px_per_mm: r.get(14)?,
                frames: r.get(15)?,
                back: r.get(16)?,
                edits: r.get::<_, Option<String>>(17)?.iter().flat_map(|t| t.lines()).map(str::to_owned).collect(),
                size_mm: pair(r.get(18)?, r.get(19)?),
                stamp: r.get(20)?,
                back_frame: r.get::<_, Option<i64>>(21)?.map(FrameId),
                back_stamp: r.get(22)?,
            })
        };
        let mut rows = Vec::with_capacity(ids.len());
        for id in ids {
            rows.extend(query.query_row([id.0], read).optional()?);
        }
        Ok(rows)
    }

    /// How many prints there are of each kind.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn tally(&self) -> Result<Tally> {
        let by = |what: &str| -> Result<Vec<(String, i64)>> {
            let text = format!("SELECT {what}, COUNT(*) FROM {FROM_PRINT} GROUP BY 1 HAVING {what} <> '' ORDER BY 1");
            let mut query = self.db.prepare_cached(&text)?;
            let rows = query.query_map([], |r| Ok((r.get(0)?, r.get(1)?)))?;
            Ok(rows.collect::<rusqlite::Result<_>>()?)
        };
        let prints = self.db.query_row("SELECT COUNT(*) FROM print", [], |r| r.get(0))?;
        Ok(Tally { prints, verdicts: by("r.verdict")?, formats: by("p.format")? })
    }

    /// A frame by its number.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn frame(&self, id: FrameId) -> Result<Option<Frame>> {
        Ok(self.frames("WHERE id = ?1", [id.0])?.pop())
    }

    /// The frames of a file by its hash: one for each print that it shows, in reading order.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn frames_by_hash(&self, blake3: &str) -> Result<Vec<Frame>> {
        self.frames("WHERE blake3 = ?1 ORDER BY part", [blake3])
    }

    /// Frames by their name, with or without its ending, or by the name of the file that they show a print of; there may be
    /// several.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn frames_named(&self, name: &str) -> Result<Vec<Frame>> {
        self.frames(
            "WHERE name = ?1 COLLATE NOCASE OR (instr(?1, '.') = 0 AND substr(name, 1, length(?1) + 1) = ?1 || '.' COLLATE NOCASE)
                OR (parts > 1 AND name COLLATE NOCASE IN (?1 || '-' || part, ?2 || '-' || part))
             ORDER BY id",
            [name, name.rsplit_once('.').map_or(name, |(stem, _)| stem)],
        )
    }

    /// Every frame, in the order they came.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn all_frames(&self) -> Result<Vec<Frame>> {
        self.frames("ORDER BY id", [])
    }

    /// The frames of a sitting, in the order they came; those of none where it is `None`.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn frames_of_sitting(&self, sitting: Option<i64>) -> Result<Vec<Frame>> {
        self.frames("WHERE sitting IS ?1 ORDER BY id", [sitting])
    }

    /// The sitting that came last.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn latest_sitting(&self) -> Result<Option<i64>> {
        Ok(self.db.query_row("SELECT id FROM sitting ORDER BY id DESC LIMIT 1", [], |r| r.get(0)).optional()?)
    }

    /// Goes through the frames of a sitting, those of none where it is `None`, the latest first, as long as `go_on` says. What was
    /// made of them is not read: a sitting may have thousands, and each new frame asks.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn look_back(&self, sitting: Option<i64>, mut go_on: impl FnMut(Brief) -> bool) -> Result<()> {
        let mut query = self.db.prepare_cached(
            "SELECT id, blake3, path, taken, role, part, parts FROM frame WHERE sitting IS ?1 ORDER BY id DESC",
        )?;
        let mut rows = query.query([sitting])?;
        while let Some(r) = rows.next()? {
            let brief = Brief {
                id: FrameId(r.get(0)?),
                blake3: r.get(1)?,
                path: r.get(2)?,
                taken: r.get(3)?,
                role: r.get(4)?,
                part: PartOf { number: r.get(5)?, of: r.get(6)? },
            };
            if !go_on(brief) {
                break;
            }
        }
        Ok(())
    }

    /// Frames of which a person said something, and frames finished by what a person said.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn frames_by_hand(&self) -> Result<Vec<Frame>> {
        self.frames(
            "WHERE id IN (SELECT r.frame FROM result r LEFT JOIN recipe k ON k.hash = r.recipe
                          WHERE instr(k.json, '\"by_hand\"') > 0)
                OR (said <> '' AND id IN (SELECT frame FROM result)) ORDER BY id",
            [],
        )
    }

    /// Fronts and backs that have no print: loose ones.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn loose_frames(&self) -> Result<Vec<Frame>> {
        self.frames("WHERE print IS NULL AND role IN ('front', 'back', 'counter') ORDER BY id", [])
    }

    fn frames(&self, which: &str, params: impl Params) -> Result<Vec<Frame>> {
        let text = format!(
            "SELECT id, blake3, name, path, twins, taken, role, role_why, print, print_why, sitting, said,
                    part, parts FROM frame {which}"
        );
        let read = |r: &Sql| {
            Ok(Frame {
                id: FrameId(r.get(0)?),
                blake3: r.get(1)?,
                name: r.get(2)?,
                path: r.get(3)?,
                twins: r.get::<_, String>(4)?.lines().map(str::to_owned).collect(),
                taken: r.get(5)?,
                role: r.get(6)?,
                role_why: r.get(7)?,
                print: r.get::<_, Option<i64>>(8)?.map(PrintId),
                print_why: r.get(9)?,
                sitting: r.get(10)?,
                said: r.get(11)?,
                part: PartOf { number: r.get(12)?, of: r.get(13)? },
                result: None,
            })
        };
        let mut query = self.db.prepare_cached(&text)?;
        let mut frames: Vec<Frame> = query.query_map(params, read)?.collect::<rusqlite::Result<_>>()?;
        for frame in &mut frames {
            frame.result = self.result(frame.id)?;
        }
        Ok(frames)
    }

    fn result(&self, id: FrameId) -> Result<Option<Finished>> {
        let text = "SELECT verdict, says, format, confidence, width_mm, height_mm, width_px, height_px, px_per_mm,
                           canvas_width_px, canvas_height_px, marks, report, master, mount, srgb_png, share, before, after,
                           recipe FROM result WHERE frame = ?1";
        let read = |r: &Sql| {
            Ok(Finished {
                verdict: r.get(0)?,
                says: r.get(1)?,
                format: r.get(2)?,
                confidence: r.get(3)?,
                size_mm: pair(r.get(4)?, r.get(5)?),
                frame_px: [r.get(6)?, r.get(7)?],
                px_per_mm: r.get(8)?,
                canvas_px: pair(r.get(9)?, r.get(10)?),
                marks: r.get(11)?,
                report: r.get(12)?,
                master: r.get(13)?,
                mount: r.get(14)?,
                srgb_png: r.get(15)?,
                share: r.get(16)?,
                before: r.get(17)?,
                after: r.get(18)?,
                recipe: r.get(19)?,
                findings: vec![],
            })
        };
        let Some(mut result) = self.db.prepare_cached(text)?.query_row([id.0], read).optional()? else {
            return Ok(None);
        };
        let mut query = self.db.prepare_cached(
            "SELECT code, severity, value, limit_value, unit, says, remedy FROM finding WHERE frame = ?1 ORDER BY place",
        )?;
        let read = |r: &Sql| {
            Ok(Finding {
                code: r.get(0)?,
                severity: r.get(1)?,
                value: r.get(2)?,
                limit: r.get(3)?,
                unit: r.get(4)?,
                says: r.get(5)?,
                remedy: r.get(6)?,
            })
        };
        result.findings = query.query_map([id.0], read)?.collect::<rusqlite::Result<_>>()?;
        Ok(Some(result))
    }

    /// A recipe's text by its hash.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn recipe(&self, hash: &str) -> Result<Option<String>> {
        Ok(self.db.query_row("SELECT json FROM recipe WHERE hash = ?1", [hash], |r| r.get(0)).optional()?)
    }

    /// The likenesses of all frames that have one, with their print and format.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn likenesses(&self) -> Result<Vec<(FrameId, PrintId, Vec<u8>)>> {
        let mut query = self.db.prepare_cached(
            "SELECT f.id, f.print, l.lattice FROM likeness l JOIN frame f ON f.id = l.frame
             WHERE f.print IS NOT NULL ORDER BY f.id",
        )?;
        let rows = query.query_map([], |r| Ok((FrameId(r.get(0)?), PrintId(r.get(1)?), r.get(2)?)))?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }

    /// The likenesses of the frames of a format, as it was found, with their print.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn likenesses_of(&self, format: &str) -> Result<Vec<(FrameId, PrintId, Vec<u8>)>> {
        let mut query = self.db.prepare_cached(
            "SELECT f.id, f.print, l.lattice FROM likeness l JOIN frame f ON f.id = l.frame JOIN result r ON r.frame = f.id
             WHERE f.print IS NOT NULL AND r.format = ?1 ORDER BY f.id",
        )?;
        let rows = query.query_map([format], |r| Ok((FrameId(r.get(0)?), PrintId(r.get(1)?), r.get(2)?)))?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }

    /// Boxes and sleeves with how many prints lie in each, by name.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn holders(&self) -> Result<Vec<Holder>> {
        let mut query = self.db.prepare_cached(
            "SELECT b.name, COALESCE(s.name, ''), COUNT(*) FROM print p JOIN box b ON b.id = p.box
             LEFT JOIN sleeve s ON s.id = p.sleeve GROUP BY b.id, s.id ORDER BY b.name, length(s.name), s.name",
        )?;
        let rows = query.query_map([], |r| Ok(Holder { box_name: r.get(0)?, sleeve: r.get(1)?, prints: r.get(2)? }))?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }

    /// Sittings in the order they came.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn sittings(&self) -> Result<Vec<Sitting>> {
        let mut query = self.db.prepare_cached(
            "SELECT t.id, t.camera, t.width_px, t.height_px, t.began, t.ended,
                    (SELECT COUNT(*) FROM frame f WHERE f.sitting = t.id) FROM sitting t ORDER BY t.id",
        )?;
        let rows = query.query_map([], |r| {
            Ok(Sitting {
                id: r.get(0)?,
                camera: r.get(1)?,
                frame_px: [r.get(2)?, r.get(3)?],
                began: r.get(4)?,
                ended: r.get(5)?,
                frames: r.get(6)?,
            })
        })?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }

    /// Every edit with its prints in order.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn edits(&self) -> Result<Vec<Edit>> {
        let mut query = self.db.prepare_cached("SELECT id, name, kind FROM edit ORDER BY id")?;
        let edits: Vec<(i64, String, String)> =
            query.query_map([], |r| Ok((r.get(0)?, r.get(1)?, r.get(2)?)))?.collect::<rusqlite::Result<_>>()?;
        let of = |(id, name, kind)| Ok(Edit { name, kind, prints: self.in_order("chosen", "edit", id)? });
        edits.into_iter().map(of).collect()
    }

    /// An edit by its name.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn edit(&self, name: &str) -> Result<Option<Edit>> {
        Ok(self.edits()?.into_iter().find(|e| e.name.eq_ignore_ascii_case(name.trim())))
    }

    /// Every hand-off, the latest first.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn hand_offs(&self) -> Result<Vec<HandOff>> {
        let mut query = self.db.prepare_cached("SELECT id, at, kind, place, note FROM hand_off ORDER BY id DESC")?;
        let read = |r: &Sql| {
            Ok(HandOff {
                id: r.get(0)?,
                at: r.get(1)?,
                kind: r.get(2)?,
                place: r.get(3)?,
                note: r.get(4)?,
                prints: vec![],
            })
        };
        let mut all: Vec<HandOff> = query.query_map([], read)?.collect::<rusqlite::Result<_>>()?;
        for one in &mut all {
            one.prints = self.in_order("handed", "hand_off", one.id)?;
        }
        Ok(all)
    }

    fn in_order(&self, table: &str, of: &str, id: i64) -> Result<Vec<PrintId>> {
        let text = format!("SELECT print FROM {table} WHERE {of} = ?1 ORDER BY place, id");
        let mut query = self.db.prepare_cached(&text)?;
        let prints = query.query_map([id], |r| r.get(0).map(PrintId))?.collect::<rusqlite::Result<_>>()?;
        Ok(prints)
    }

    /// What has been said of other prints for a fact, the most frequent first, beginning with `start`: to offer while
    /// somebody types.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn offered(&self, fact: Fact, start: &str, most: usize) -> Result<Vec<String>> {
        let text = match (fact, fact.column()) {
            (_, Some(column)) => format!("SELECT {column} FROM print WHERE {column} <> ''"),
            (Fact::Sleeve, None) => "SELECT s.name FROM print p JOIN sleeve s ON s.id = p.sleeve".into(),
            (_, None) => "SELECT b.name FROM print p JOIN box b ON b.id = p.box".into(),
        };
        let mut query = self.db.prepare_cached(&text)?;
        let mut counts = std::collections::BTreeMap::<String, usize>::new();
        let start = start.to_lowercase();
        for value in query.query_map(params![], |r| r.get::<_, String>(0))? {
            let value = value?;
            let items =
                if fact.line().kind == crate::fact::Kind::List { crate::fact::list(&value) } else { vec![value] };
            for item in items.into_iter().filter(|i| i.to_lowercase().starts_with(&start)) {
                *counts.entry(item).or_default() += 1;
            }
        }
        let mut all: Vec<(String, usize)> = counts.into_iter().collect();
        all.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
        Ok(all.into_iter().take(most).map(|(value, _)| value).collect())
    }
}

fn pair<T>(a: Option<T>, b: Option<T>) -> Option<[T; 2]> {
    Some([a?, b?])
}
