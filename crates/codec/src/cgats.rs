//! Chart values from text: CGATS.17 / ISO 28178 keyword files and plain tables.
//!
//! Fields are found by name, never by position (`SAMPLE_ID` or `SAMPLE_NAME`, `XYZ_X/Y/Z`, `LAB_L/A/B`; in a plain table
//! also `id`, `L a b`, `X Y Z`, and `row`, `col`). The grid comes from `row` and `col`, else from names such as `B3`: letters
//! count rows from the chart's top, numbers count columns from its left. Out of scope: charts that are no full grid (the
//! grey scale below an ISO 12641 target), spectra, and any illuminant but D50.

use pixels::{ChartValues, Swatch, ciede2000, lab_from_xyz, xyz_from_lab};
use std::collections::{BTreeSet, HashMap};

/// A chart's values are a few kilobytes; past this a file is something else.
const LIMIT_BYTES: usize = 4 << 20;
/// Above this greatest Y a file counts in percent, below it in shares: no chart's lightest patch is under 2 % or over 200 %.
const PERCENT_ABOVE: f64 = 2.0;
/// XYZ and Lab of one patch may differ by their rounding; two decimals of a black's XYZ are worth about 0.3. More means that
/// one of them is under another white.
const AGREE_DE: f64 = 1.0;

/// Why a file holds no chart values.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("line {line}: {says}")]
pub struct CgatsError {
    /// The line it is about, from 1.
    pub line: usize,
    /// What is wrong there, and what would mend it.
    pub says: String,
}

fn fail<T>(line: usize, says: impl Into<String>) -> Result<T, CgatsError> {
    Err(CgatsError { line: line.max(1), says: says.into() })
}

/// The chart values that a file's bytes hold.
///
/// # Errors
/// With the line: no colour fields, no patch names, a wrong or missing number, fewer sets or patches than promised, a patch
/// twice, XYZ and Lab that disagree, an illuminant other than D50.
pub fn chart_values(bytes: &[u8]) -> Result<ChartValues, CgatsError> {
    if bytes.len() > LIMIT_BYTES {
        return fail(
            1,
            format!("{} bytes are too many for a table of chart values, which has a few thousand", bytes.len()),
        );
    }
    let text = decoded(bytes);
    let lines: Vec<Line> = text.lines().enumerate().map(|(i, s)| Line { number: i + 1, text: s }).collect();
    let keyword_file = lines.iter().any(|l| l.words().first().is_some_and(|w| w == "BEGIN_DATA_FORMAT"));
    let table = if keyword_file { keyword_table(&lines)? } else { plain_table(&lines)? };
    values_from_table(&table)
}

struct Line<'a> {
    number: usize,
    text: &'a str,
}

impl Line<'_> {
    /// The line's words by blanks, without comments.
    fn words(&self) -> Vec<String> {
        split(self.text, |c| c.is_whitespace(), true)
    }
}

/// Rows of text under field names.
struct Table {
    fields: Vec<String>,
    fields_line: usize,
    rows: Vec<(usize, Vec<String>)>,
}

/// UTF-8, UTF-16 with its mark, or else one byte a character.
fn decoded(bytes: &[u8]) -> String {
    let wide = |from: fn([u8; 2]) -> u16| {
        String::from_utf16_lossy(&bytes[2..].chunks_exact(2).map(|p| from([p[0], p[1]])).collect::<Vec<_>>())
    };
    match bytes {
        [0xff, 0xfe, ..] => wide(u16::from_le_bytes),
        [0xfe, 0xff, ..] => wide(u16::from_be_bytes),
        _ => match std::str::from_utf8(bytes) {
            Ok(s) => s.trim_start_matches('\u{feff}').to_owned(),
            Err(_) => bytes.iter().map(|&b| char::from(b)).collect(),
        },
    }
    // Old files end lines with a carriage return alone.
    .replace("\r\n", "\n")
    .replace('\r', "\n")
}

/// Splits at separators outside double quotes; `""` inside quotes is a quote; `#` outside ends the line. `merge` drops empty
/// words.
fn split(text: &str, separator: impl Fn(char) -> bool, merge: bool) -> Vec<String> {
    let (mut words, mut word, mut quoted, mut was_quoted) = (Vec::new(), String::new(), false, false);
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        match c {
            '"' if quoted && chars.peek() == Some(&'"') => word.extend(chars.next()),
            '"' => (quoted, was_quoted) = (!quoted, true),
            '#' if !quoted && word.is_empty() => break,
            c if !quoted && separator(c) => {
                if !merge || !word.is_empty() || was_quoted {
                    words.push(std::mem::take(&mut word));
                }
                was_quoted = false;
            }
            c => word.push(c),
        }
    }
    if !word.is_empty() || was_quoted {
        words.push(word);
    }
    words.into_iter().map(|w| w.trim().to_owned()).collect()
}

/// The first table of a keyword file.
fn keyword_table(lines: &[Line]) -> Result<Table, CgatsError> {
    let mut table = Table { fields: Vec::new(), fields_line: 1, rows: Vec::new() };
    let (mut promised_fields, mut promised_sets) = (None, None);
    let mut place = Place::Keywords;
    for line in lines {
        let mut words = line.words();
        let Some(first) = words.first().cloned() else { continue };
        match (place, first.as_str()) {
            (Place::Format, "END_DATA_FORMAT") => place = Place::Keywords,
            (Place::Data, "END_DATA") => {
                place = Place::Done;
                break;
            }
            (Place::Format, _) => {
                table.fields_line = if table.fields.is_empty() { line.number } else { table.fields_line };
                table.fields.append(&mut words);
            }
            (Place::Data, _) => table.rows.push((line.number, words)),
            (_, "BEGIN_DATA_FORMAT") => {
                (place, table.fields_line) = (Place::Format, line.number);
                table.fields.extend(words.drain(1..));
            }
            (_, "BEGIN_DATA") if table.fields.is_empty() => {
                return fail(line.number, "BEGIN_DATA comes before any field is named in BEGIN_DATA_FORMAT");
            }
            (_, "BEGIN_DATA") => place = Place::Data,
            (_, "NUMBER_OF_FIELDS") => promised_fields = Some((line.number, count(line, &words)?)),
            (_, "NUMBER_OF_SETS") => promised_sets = Some((line.number, count(line, &words)?)),
            (_, "WEIGHTING_FUNCTION" | "ILLUMINATION_NAME" | "ILLUMINANT") => d50_or_fail(line, &words)?,
            _ => {}
        }
    }
    let last = lines.last().map_or(1, |l| l.number);
    match place {
        Place::Done => {}
        Place::Data => return fail(last, "the file ends before END_DATA: part of the chart is missing"),
        Place::Format => return fail(last, "the file ends before END_DATA_FORMAT"),
        Place::Keywords => return fail(last, "no BEGIN_DATA: the file has field names but no values"),
    }
    if let Some((line, n)) = promised_fields
        && n != table.fields.len()
    {
        return fail(line, format!("NUMBER_OF_FIELDS says {n}, BEGIN_DATA_FORMAT names {}", table.fields.len()));
    }
    if let Some((_, sets)) = promised_sets {
        unwrap_sets(&mut table, sets);
    }
    check_rows(&table)?;
    if let Some((line, n)) = promised_sets
        && n != table.rows.len()
    {
        let part = if table.rows.len() < n { ": part of the chart is missing" } else { "" };
        return fail(line, format!("NUMBER_OF_SETS says {n}, the data hold {}{part}", table.rows.len()));
    }
    Ok(table)
}

#[derive(Clone, Copy)]
enum Place {
    Keywords,
    Format,
    Data,
    Done,
}

fn count(line: &Line, words: &[String]) -> Result<usize, CgatsError> {
    match words.get(1).and_then(|w| w.parse().ok()) {
        Some(n) => Ok(n),
        None => fail(line.number, format!("{} needs a whole number", words[0])),
    }
}

/// Accepts a keyword that names no illuminant, or D50.
fn d50_or_fail(line: &Line, words: &[String]) -> Result<(), CgatsError> {
    let text = words[1..].join(" ").to_uppercase();
    let other = ["D55", "D65", "D75", "ILLUMINANT A", "ILLUMINANT, A"].iter().find(|n| text.contains(**n));
    match other {
        Some(n) if !text.contains("D50") => fail(line.number, format!("the values are for {n}; D50 is needed")),
        _ => Ok(()),
    }
}

/// Some writers wrap a set over several lines: joins them where the total is right and the lines are not.
fn unwrap_sets(table: &mut Table, sets: usize) {
    let n = table.fields.len();
    let total: usize = table.rows.iter().map(|r| r.1.len()).sum();
    if sets.checked_mul(n) != Some(total) || table.rows.iter().all(|r| r.1.len() == n) {
        return;
    }
    let words: Vec<(usize, String)> =
        table.rows.drain(..).flat_map(|(line, words)| words.into_iter().map(move |w| (line, w))).collect();
    table.rows = words.chunks(n).map(|set| (set[0].0, set.iter().map(|w| w.1.clone()).collect())).collect();
}

fn check_rows(table: &Table) -> Result<(), CgatsError> {
    let n = table.fields.len();
    match table.rows.iter().find(|(_, words)| words.len() != n) {
        Some((line, words)) => fail(*line, format!("{} values for {n} fields", words.len())),
        None => Ok(()),
    }
}

/// A header line and a line for each patch, separated by semicolons, tabs, commas or blanks.
fn plain_table(lines: &[Line]) -> Result<Table, CgatsError> {
    let mut lines = lines.iter().filter(|l| !l.words().is_empty());
    let Some(header) = lines.next() else { return fail(1, "the file is empty") };
    let separator = [';', '\t', ','].into_iter().find(|&c| header.text.contains(c));
    let cut = |line: &Line| match separator {
        Some(c) => split(line.text, |x| x == c, false),
        None => line.words(),
    };
    let table =
        Table { fields: cut(header), fields_line: header.number, rows: lines.map(|l| (l.number, cut(l))).collect() };
    Columns::of(&table)?;
    check_rows(&table)?;
    Ok(table)
}

/// Where a table's useful fields stand.
struct Columns {
    id: Option<usize>,
    row_col: Option<[usize; 2]>,
    xyz: Option<[usize; 3]>,
    lab: Option<[usize; 3]>,
}

impl Columns {
    fn of(table: &Table) -> Result<Self, CgatsError> {
        let names: Vec<String> =
            table.fields.iter().map(|f| f.to_uppercase().replace(['*', ' ', '_', '-'], "")).collect();
        let find = |choices: &[&str]| choices.iter().find_map(|c| names.iter().position(|n| n == c));
        let three = |c: [&[&str]; 3]| Some([find(c[0])?, find(c[1])?, find(c[2])?]);
        let it = Self {
            id: find(&["SAMPLEID", "SAMPLENAME", "SAMPLELOC", "ID", "NAME", "PATCH", "SAMPLE", "NO"]),
            row_col: find(&["ROW"]).zip(find(&["COL", "COLUMN"])).map(|(r, c)| [r, c]),
            xyz: three([&["XYZX", "X"], &["XYZY", "Y"], &["XYZZ", "Z"]]),
            lab: three([&["LABL", "L"], &["LABA", "A"], &["LABB", "B"]]),
        };
        if it.xyz.is_none() && it.lab.is_none() {
            return fail(
                table.fields_line,
                "neither XYZ_X, XYZ_Y, XYZ_Z nor LAB_L, LAB_A, LAB_B (in a plain table: X, Y, Z or L, a, b) are all among the fields",
            );
        }
        if it.id.is_none() && it.row_col.is_none() {
            return fail(table.fields_line, "no field names the patches: SAMPLE_ID, SAMPLE_NAME, or row and col");
        }
        Ok(it)
    }
}

struct Entry {
    line: usize,
    id: String,
    cell: Option<(usize, usize)>,
    xyz: [f64; 3],
}

fn values_from_table(table: &Table) -> Result<ChartValues, CgatsError> {
    let columns = Columns::of(table)?;
    if table.rows.is_empty() {
        return fail(table.fields_line, "the table has no patches");
    }
    let largest_y =
        |[_, y, _]: [usize; 3]| table.rows.iter().filter_map(|(_, words)| number(&words[y])).fold(0.0, f64::max);
    let unit = if columns.xyz.map_or(0.0, largest_y) > PERCENT_ABOVE { 100.0 } else { 1.0 };
    let mut entries = Vec::with_capacity(table.rows.len());
    for (line, words) in &table.rows {
        entries.push(entry(*line, words, table, &columns, unit)?);
    }
    let mut seen = HashMap::new();
    for e in &entries {
        if let Some(first) = seen.insert(&e.id, e.line) {
            return fail(e.line, format!("patch {} was given on line {first} already", e.id));
        }
    }
    arranged(entries)
}

fn entry(line: usize, words: &[String], table: &Table, columns: &Columns, unit: f64) -> Result<Entry, CgatsError> {
    let cell = match columns.row_col {
        Some(at) => Some((whole(line, &words[at[0]])?, whole(line, &words[at[1]])?)),
        None => columns.id.and_then(|i| cell_from_name(&words[i])),
    };
    let id = match (columns.id, cell) {
        (Some(i), _) => words[i].clone(),
        (None, Some((r, c))) => format!("{r}/{c}"),
        (None, None) => String::new(),
    };
    let three = |at: [usize; 3], low: [f64; 3], high: [f64; 3]| -> Result<[f64; 3], CgatsError> {
        let mut v = [0.0; 3];
        for i in 0..3 {
            let (field, word) = (&table.fields[at[i]], &words[at[i]]);
            v[i] = match number(word) {
                Some(n) if (low[i]..=high[i]).contains(&n) => n,
                Some(n) => {
                    return fail(line, format!("{field} of patch {id} is {n}, outside {} to {}", low[i], high[i]));
                }
                None => return fail(line, format!("{field} of patch {id} is '{}', not a number", shown(word))),
            };
        }
        Ok(v)
    };
    // Fluorescent whites exceed the perfect diffuser a little; a black may measure a hair under zero.
    let xyz = match columns.xyz {
        Some(at) => Some(three(at, [-0.01 * unit; 3], [1.3 * unit; 3])?.map(|v| v / unit)),
        None => None,
    };
    let lab = match columns.lab {
        Some(at) => Some(three(at, [-1.0, -200.0, -200.0], [110.0, 200.0, 200.0])?),
        None => None,
    };
    let xyz = match (xyz, lab) {
        (Some(xyz), Some(lab)) => {
            let de = ciede2000(lab_from_xyz(xyz), lab);
            if de > AGREE_DE {
                return fail(
                    line,
                    format!("XYZ and Lab of patch {id} are CIEDE2000 {de:.1} apart; both must be for D50"),
                );
            }
            xyz
        }
        (Some(xyz), None) => xyz,
        (None, lab) => xyz_from_lab(lab.unwrap_or_default()),
    };
    Ok(Entry { line, id, cell, xyz })
}

/// A number with a decimal point, or with a decimal comma.
fn number(word: &str) -> Option<f64> {
    let n: f64 = match word.parse() {
        Ok(n) => n,
        Err(_) if word.matches(',').count() == 1 => word.replace(',', ".").parse().ok()?,
        Err(_) => return None,
    };
    n.is_finite().then_some(n)
}

fn whole(line: usize, word: &str) -> Result<usize, CgatsError> {
    match word.parse::<usize>() {
        Ok(n) if (1..=1000).contains(&n) => Ok(n),
        _ => fail(line, format!("'{}' is not a row or column; these are counted from 1", shown(word))),
    }
}

/// A word short enough for a message.
fn shown(word: &str) -> String {
    word.chars().take(24).collect()
}

/// Row and column, from 1, of a name made of letters and a number: `B3`, `b 03`, `3B`.
fn cell_from_name(name: &str) -> Option<(usize, usize)> {
    let is_digit = |c: char| c.is_ascii_digit();
    let clean: String = name.chars().filter(|c| !matches!(c, ' ' | '_' | '-')).collect();
    let letters: String = clean.chars().filter(char::is_ascii_alphabetic).collect();
    let digits = clean.trim_matches(|c: char| c.is_ascii_alphabetic());
    let one_run =
        clean.strip_prefix(letters.as_str()) == Some(digits) || clean.strip_suffix(letters.as_str()) == Some(digits);
    if !one_run || digits.is_empty() || !digits.chars().all(is_digit) || letters.is_empty() || letters.len() > 2 {
        return None;
    }
    // A to Z, then AA: letters as digits to the base 26.
    let row = letters.to_ascii_uppercase().bytes().fold(0, |n, b| n * 26 + usize::from(b - b'A') + 1);
    let col = digits.parse().ok().filter(|&c: &usize| c <= 1000)?;
    Some((row, col))
}

/// Puts entries into reading order where their cells make a full grid; an incomplete grid is an error.
fn arranged(mut entries: Vec<Entry>) -> Result<ChartValues, CgatsError> {
    let cells: Option<Vec<(usize, usize)>> = entries.iter().map(|e| e.cell).collect();
    let rows: BTreeSet<usize> = cells.iter().flatten().map(|c| c.0).collect();
    let cols: BTreeSet<usize> = cells.iter().flatten().map(|c| c.1).collect();
    // One letter for all is a prefix, not a row.
    let named = rows.len() > 1 && cols.len() > 1;
    if let (Some(cells), true) = (cells, named) {
        let have: BTreeSet<_> = cells.iter().copied().collect();
        let absent: Vec<String> = rows
            .iter()
            .flat_map(|&r| cols.iter().map(move |&c| (r, c)))
            .filter(|at| !have.contains(at))
            .map(|(r, c)| format!("{}{c}", letters(r)))
            .collect();
        let line = entries.last().map_or(1, |e| e.line);
        if !absent.is_empty() {
            let some = absent.iter().take(6).cloned().collect::<Vec<_>>().join(", ");
            return fail(
                line,
                format!(
                    "the chart has {} rows and {} columns and {} of its patches are missing: {some}{}",
                    rows.len(),
                    cols.len(),
                    absent.len(),
                    if absent.len() > 6 { " and others" } else { "" }
                ),
            );
        }
        if have.len() < entries.len() {
            return fail(line, "two patches have the same row and column");
        }
        entries.sort_by_key(|e| e.cell);
    }
    Ok(ChartValues {
        grid: named.then_some((rows.len(), cols.len())),
        swatches: entries.into_iter().map(|e| Swatch { id: e.id, xyz: e.xyz }).collect(),
    })
}

/// The letters that count `row` from 1.
fn letters(row: usize) -> String {
    let last = char::from(b'A' + ((row.max(1) - 1) % 26) as u8);
    if row > 26 { format!("{}{last}", letters((row - 1) / 26)) } else { last.to_string() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// A 2 by 2 chart in the layout of ANSI CGATS.17-2009 (as a public forum quotes it), written for this test.
    const CHART: &str = "CGATS.17\n# a comment\nORIGINATOR \"A \"\"quoted\"\" word # not a comment\"\nNUMBER_OF_FIELDS 4\n\
        BEGIN_DATA_FORMAT\nSAMPLE_ID\tLAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nNUMBER_OF_SETS 4\nBEGIN_DATA\n\
        A1 95.0 0.0 1.0\nA2 20 0 0 # dark\nB1 50 40 20\n\"B2\" 60 -30 10\nEND_DATA\n";

    fn check(text: &str) -> ChartValues {
        chart_values(text.as_bytes()).unwrap_or_else(|e| panic!("{e}"))
    }

    fn refused(text: &str, line: usize, word: &str) {
        let e = chart_values(text.as_bytes()).expect_err(word);
        assert!(e.line == line && e.says.contains(word), "{e}");
    }

    #[test]
    fn reads_a_keyword_file_by_field_name() {
        let v = check(CHART);
        assert_eq!(v.grid, Some((2, 2)));
        let lab = lab_from_xyz(v.swatches[3].xyz);
        assert!((lab[0] - 60.0).abs() < 1e-9 && (lab[1] + 30.0).abs() < 1e-9 && v.swatches[3].id == "B2");
        let turned = CHART
            .replace("SAMPLE_ID\tLAB_L LAB_A LAB_B", "LAB_B LAB_A\nLAB_L SAMPLE_NAME")
            .replace("A1 95.0 0.0 1.0", "1.0 0.0 95.0 A1")
            .replace("A2 20 0 0 #", "0 0 20 A2 #")
            .replace("B1 50 40 20", "20 40 50 B1")
            .replace("\"B2\" 60 -30 10", "10 -30 60 \"B2\"");
        assert_eq!(check(&turned), v);
    }

    #[test]
    fn dialects_read_alike() {
        let v = check(CHART);
        assert_eq!(check(&CHART.replace('\n', "\r\n")), v);
        assert_eq!(check(&CHART.replace('\n', "\r")), v);
        assert_eq!(check(&CHART.replace("A1 95.0 0.0 1.0", "A01\n95,0 0,0\n1,0")).swatches[0].xyz, v.swatches[0].xyz);
        let wide: Vec<u8> = [0xff, 0xfe].into_iter().chain(CHART.encode_utf16().flat_map(u16::to_le_bytes)).collect();
        assert_eq!(chart_values(&wide), Ok(v.clone()));
        let shuffled = CHART.replace("A1 95.0 0.0 1.0\nA2 20 0 0 # dark\n", "A2 20 0 0\nA1 95.0 0.0 1.0\n");
        assert_eq!(check(&shuffled), v);
        let latin = [CHART.as_bytes(), b"KEYWORD \"caf\xe9\"\n"].concat();
        assert_eq!(chart_values(&latin), Ok(v));
    }

    #[test]
    fn plain_tables_read_with_any_separator() {
        let v = check(CHART);
        for s in [" ", "\t", ",", ";", " ; "] {
            let text = "patch,L*,a*,b*\nA1,95,0,1\nA2,20,0,0\n\nB1,50,40,20\nB2,60,-30,10\n".replace(',', s);
            assert_eq!(check(&text), v, "{s:?}");
        }
        assert_eq!(check("id;L;a;b\nA1;95,0;0;1,0\nA2;20;0;0\nB1;50;40;20\nB2;60;-30;10").swatches, v.swatches);
        let shares = check("no X Y Z\n1 .48 .50 .41\n2 .1 .1 .1\n3 .2 .2 .3");
        let percent = check("no X Y Z\n1 48 50 41\n2 10 10 10\n3 20 20 30");
        assert_eq!(shares.grid, None);
        assert!((shares.swatches[0].xyz[1] - 0.5).abs() < 1e-12);
        assert!((0..3).all(|i| (shares.swatches[2].xyz[i] - percent.swatches[2].xyz[i]).abs() < 1e-12));
        let placed = check("col row L a b\n1 1 95 0 1\n1 2 50 40 20\n2 1 20 0 0\n2 2 60 -30 10");
        assert_eq!(placed.grid, Some((2, 2)));
        assert!((0..4).all(|i| placed.swatches[i].xyz == v.swatches[i].xyz));
    }

    #[test]
    fn each_fault_is_told_with_its_line() {
        refused("", 1, "empty");
        refused("just some words\nand more", 1, "LAB_L");
        refused(&CHART.replace("LAB_B", "LAB_Q"), 6, "LAB_B");
        refused(&CHART.replace("SAMPLE_ID", "COLOUR"), 6, "names the patches");
        refused(&CHART.replace("40 20", "4O 20"), 12, "'4O'");
        refused(&CHART.replace("95.0", "950"), 10, "outside");
        refused(&CHART.replace("95.0", "NaN"), 10, "not a number");
        refused(&CHART.replace("50 40 20", "50 40"), 12, "3 values for 4");
        refused(&CHART.replace("A2 20", "A1 20"), 11, "line 10");
        refused(&CHART.replace("SETS 4", "SETS 8"), 8, "missing");
        refused(&CHART.replace("END_DATA\n", "END\n"), 14, "END_DATA");
        refused(&CHART.replace("B2", "B3"), 13, "missing: A3, B2");
        refused(&CHART.replace("FIELDS 4", "FIELDS 7"), 4, "names 4");
        refused(&CHART.replace("# a comment", "ILLUMINATION_NAME \"D65\""), 2, "D65");
        refused("id X Y Z L a b\nA 95 100 108 100 0 0", 2, "apart");
        refused("id X Y Z\nA1 1e999 2 3", 2, "not a number");
    }

    #[test]
    fn names_make_cells() {
        for (name, cell) in [("A1", (1, 1)), ("d06", (4, 6)), ("AB 12", (28, 12)), ("3C", (3, 3))] {
            assert_eq!(cell_from_name(name), Some(cell), "{name}");
        }
        for name in ["", "7", "A", "A1B", "R1C2", "white", "A99999999999999999999999", "É1"] {
            assert_eq!(cell_from_name(name), None, "{name}");
        }
        assert_eq!(
            (letters(1), letters(26), letters(27), letters(28)),
            ("A".into(), "Z".into(), "AA".into(), "AB".into())
        );
    }

    proptest! {
        #[test]
        fn any_bytes_are_an_answer(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
            let _ = chart_values(&bytes);
        }

        #[test]
        fn any_damage_to_a_chart_is_an_answer(at in 0usize..400, with in proptest::collection::vec(any::<u8>(), 0..6)) {
            let mut bytes = CHART.as_bytes().to_vec();
            let at = at.min(bytes.len());
            bytes.splice(at..(at + with.len()).min(bytes.len()), with);
            let _ = chart_values(&bytes);
        }

        #[test]
        fn words_of_the_trade_in_any_order(words in proptest::collection::vec(prop_oneof![
            Just("BEGIN_DATA"), Just("END_DATA"), Just("BEGIN_DATA_FORMAT"), Just("END_DATA_FORMAT"), Just("SAMPLE_ID"),
            Just("LAB_L"), Just("LAB_A"), Just("LAB_B"), Just("NUMBER_OF_SETS"), Just("4"), Just("A1"), Just("\n"), Just("\"")
        ], 0..60)) {
            let _ = chart_values(words.join(" ").as_bytes());
        }
    }
}
