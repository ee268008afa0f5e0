//! Writes a small catalogue of the present form as SQL text: `cargo run -p catalogue --example specimen > …/form-N.sql`.
//!
//! Run once when a form is released; its text is then committed and never made again.

use catalogue::{Catalogue, Fact, Finding, Finished, NewFrame, PartOf, PrintId};
use rusqlite::types::ValueRef;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("fallside.db");
    fill(&mut Catalogue::open(&path)?)?;
    print!("{}", dump(&rusqlite::Connection::open(&path)?)?);
    Ok(())
}

/// Three prints, one of them taken away again; a frame with a result; an exposure of two prints; words; a stack and an edit of two.
fn fill(it: &mut Catalogue) -> catalogue::Result<()> {
    let one = it.change("Took F0001.jpg", |w| {
        let print = w.mint()?;
        let sitting = w.sitting("Testbench 24", [6000, 4000], Some("2026-01-02T03:04:05"), 7200)?;
        let frame = w.add_frame(&NewFrame {
            blake3: "00aa".into(),
            name: "F0001.jpg".into(),
            path: "/card/F0001.jpg".into(),
            taken: Some("2026-01-02T03:04:05".into()),
            role: "front".into(),
            sitting: Some(sitting),
            ..NewFrame::default()
        })?;
        w.join(frame, Some(print), "a print not seen before")?;
        w.choose_front(print, frame, "the only front", "rule")?;
        let finding = Finding {
            code: "veil".into(),
            severity: "look".into(),
            value: Some(0.02),
            limit: Some(0.01),
            unit: "share".into(),
            says: "The window mirrors something bright.".into(),
            remedy: "Turn off the ceiling lamp.".into(),
        };
        let result = Finished {
            verdict: "look".into(),
            says: finding.says.clone(),
            format: "square-integral".into(),
            frame_px: [6000, 4000],
            report: "finished/reports/F0001-00aa.report.json".into(),
            recipe: "11bb".into(),
            findings: vec![finding],
            ..Finished::default()
        };
        w.record(frame, &result, "{}")?;
        w.keep_likeness(frame, &[1, 2, 3])?;
        Ok(print)
    })?;
    it.describe(&[one], &[(Fact::Place, "Çeşme harbour"), (Fact::Exposed, "2009-07?"), (Fact::People, "Ada; Bo")])?;
    let two = it.change("A print", |w| w.mint())?;
    it.change("A print", |w| w.mint())?;
    it.undo()?;
    it.change("Took F0002.jpg", |w| {
        for number in 1..=2 {
            let part = PartOf { number, of: 2 };
            let name = format!("F0002-{number}");
            let path = "/card/F0002.jpg".into();
            w.add_frame(&NewFrame {
                blake3: "00bb".into(),
                name,
                path,
                part,
                role: "front".into(),
                ..Default::default()
            })?;
        }
        Ok(())
    })?;
    it.describe(&[two], &[(Fact::Box, "Shoebox 3"), (Fact::Sleeve, "12")])?;
    it.change("Handed on: pack", |w| w.hand_off("pack", "pack-1", "", &[one]))?;
    it.change("Laid P0001 and P0002 on one another", |w| w.stack(&[one, two], "person"))?;
    it.change("Into the edit book: P0001", |w| w.put_in("book", Some("sequence"), &[PrintId(1)], None))?;
    it.change("Into the edit book: P0002", |w| w.put_in("book", None, &[PrintId(2)], Some(0)))
}

/// The database as SQL: its own statements and rows. The index of words keeps its tables to itself and is filled again.
fn dump(db: &rusqlite::Connection) -> rusqlite::Result<String> {
    let form: i64 = db.query_row("PRAGMA user_version", [], |r| r.get(0))?;
    let mut text = format!(
        "-- A small catalogue of form {form}, as the version that released it wrote it.\nPRAGMA foreign_keys = OFF;\nBEGIN;\n"
    );
    let mut masters = db.prepare(
        "SELECT type, name, sql FROM sqlite_master WHERE sql IS NOT NULL AND name NOT LIKE 'sqlite_%'
           AND NOT (type = 'table' AND name LIKE 'word\\_%' ESCAPE '\\')
         ORDER BY type = 'trigger', type = 'index', rowid",
    )?;
    let all: Vec<(String, String, String)> =
        masters.query_map([], |r| Ok((r.get(0)?, r.get(1)?, r.get(2)?)))?.collect::<rusqlite::Result<_>>()?;
    let (triggers, rest): (Vec<_>, Vec<_>) = all.into_iter().partition(|(kind, ..)| kind == "trigger");
    for (kind, name, sql) in &rest {
        text += &format!("{sql};\n");
        if kind == "table" && name != "word" {
            rows(db, name, "*", &mut text)?;
        }
    }
    // The rows above have counted by themselves; their counts are written once more, as they were.
    text += "DELETE FROM sqlite_sequence;\n";
    rows(db, "sqlite_sequence", "*", &mut text)?;
    rows(db, "word", "rowid, *", &mut text)?;
    for (_, _, sql) in &triggers {
        text += &format!("{sql};\n");
    }
    Ok(text + &format!("PRAGMA user_version = {form};\nCOMMIT;\n"))
}

fn rows(db: &rusqlite::Connection, table: &str, columns: &str, text: &mut String) -> rusqlite::Result<()> {
    let mut query = db.prepare(&format!("SELECT {columns} FROM {table}"))?;
    let names: Vec<String> = query.column_names().map(str::to_owned).collect();
    let mut found = query.query([])?;
    while let Some(row) = found.next()? {
        let values: Vec<String> =
            (0..names.len()).map(|i| row.get_ref(i).map(literal)).collect::<rusqlite::Result<_>>()?;
        *text += &format!("INSERT INTO {table} ({}) VALUES ({});\n", names.join(", "), values.join(", "));
    }
    Ok(())
}

fn literal(value: ValueRef) -> String {
    match value {
        ValueRef::Null => "NULL".into(),
        ValueRef::Integer(i) => i.to_string(),
        ValueRef::Real(r) => format!("{r:?}"),
        ValueRef::Text(t) => format!("'{}'", String::from_utf8_lossy(t).replace('\'', "''")),
        ValueRef::Blob(b) => format!("x'{}'", b.iter().map(|v| format!("{v:02x}")).collect::<String>()),
    }
}
