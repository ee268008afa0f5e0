//! A table of words: CSV (RFC 4180) whose first row names the columns `print` and fields of the catalogue.

use super::words::{How, Wish};
use super::{Error, Result};
use catalogue::{Fact, PrintId};

/// A row of a table: its line, and the print with what is said of it, or what is wrong.
pub type TableRow = (usize, std::result::Result<(PrintId, Vec<Wish>), String>);

/// The rows of a table. An empty field says nothing, so that a table never takes words away.
///
/// # Errors
/// There is no column `print`, or a column is no field.
pub fn table(text: &str) -> Result<Vec<TableRow>> {
    let text = text.trim_start_matches('\u{feff}');
    let head = text.lines().next().unwrap_or_default();
    // Spreadsheets write what their country uses.
    let separator = [',', ';', '\t'].into_iter().max_by_key(|s| head.matches(*s).count()).unwrap_or(',');
    let mut rows = rows(text, separator).into_iter();
    let (_, names) = rows.next().unwrap_or_default();
    let names: Vec<String> = names.iter().map(|n| n.trim().to_lowercase()).collect();
    let Some(print) = names.iter().position(|n| n == "print") else {
        return Err(Error::Refused("The first row of the table has no column “print”.".into()));
    };
    let facts: Vec<Option<Fact>> = names
        .iter()
        .enumerate()
        .map(|(i, n)| (i != print).then(|| Fact::of(n)).transpose())
        .collect::<catalogue::Result<_>>()?;
    let said = |cells: Vec<String>| {
        let id: PrintId = cells.get(print).map_or("", String::as_str).parse().map_err(|e| format!("{e}"))?;
        let wish = |(fact, value): (&Option<Fact>, &String)| {
            let fact = (*fact)?;
            (!value.trim().is_empty()).then(|| Wish { fact, how: How::Set, value: value.clone(), seen: None })
        };
        Ok((id, facts.iter().zip(&cells).filter_map(wish).collect()))
    };
    Ok(rows.filter(|(_, c)| c.iter().any(|c| !c.trim().is_empty())).map(|(line, cells)| (line, said(cells))).collect())
}

/// The cells of each row, with the line it begins in. A quotation mark inside quotation marks is written twice.
fn rows(text: &str, separator: char) -> Vec<(usize, Vec<String>)> {
    let (mut all, mut row, mut cell) = (vec![], vec![], String::new());
    let (mut line, mut begun, mut quoted) = (1, 1, false);
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        line += usize::from(c == '\n');
        match c {
            '"' if quoted && chars.next_if_eq(&'"').is_some() => cell.push('"'),
            '"' if quoted => quoted = false,
            '"' if cell.is_empty() => quoted = true,
            c if quoted => cell.push(c),
            '\r' => {}
            '\n' => {
                row.push(std::mem::take(&mut cell));
                all.push((begun, std::mem::take(&mut row)));
                begun = line;
            }
            c if c == separator => row.push(std::mem::take(&mut cell)),
            c => cell.push(c),
        }
    }
    if !cell.is_empty() || !row.is_empty() {
        row.push(cell);
        all.push((begun, row));
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The examples of RFC 4180 section 2: quotation marks, separators and line ends inside a cell.
    #[test]
    fn cells_are_read_as_the_rfc_has_them() {
        let cells = |t: &str| rows(t, ',').into_iter().map(|r| r.1).collect::<Vec<_>>();
        assert_eq!(cells("aaa,bbb\r\nzzz,yyy\r\n"), [["aaa", "bbb"], ["zzz", "yyy"]]);
        assert_eq!(cells("\"aaa\",\"b \r\nbb\",\"c\"\"c\""), [["aaa", "b \r\nbb", "c\"c"]]);
        assert_eq!(cells("a,,\n"), [["a", "", ""]]);
    }

    #[test]
    fn a_bad_row_leaves_the_others() {
        let rows = table("print;date;place\nP0001;summer 2009;Quay\n?;2009;\n\n2;;\"The; pier\"").unwrap();
        assert_eq!(rows.iter().map(|(n, r)| (*n, r.is_ok())).collect::<Vec<_>>(), [(2, true), (3, false), (5, true)]);
        let (id, wishes) = rows[2].1.clone().unwrap();
        assert_eq!((id, wishes.len(), wishes[0].value.as_str()), (PrintId(2), 1, "The; pier"));
        assert!(table("number,date").is_err() && table("print,plaice").is_err() && table("").is_err());
    }
}
