//! The ruler sheet as a file to print: a page that carries its own geometry.

mod page;

use base::Failure;
use base::files::write::write_beside;
use base::files::{exclusive, write};
use geometry::ruler::{self, BAR, BAR_RANGE, Cell, STEPS, Sheet};
use serde::Serialize;
use std::path::PathBuf;

pub use geometry::ruler::Paper;

/// Name and version of the geometry that a sheet carries.
const SCHEMA: &str = "fallside.ruler/1";

/// What sheet to make.
#[derive(Clone, Debug, PartialEq)]
pub struct Request {
    /// The paper it will be printed on.
    pub paper: Paper,
    /// What the bar of a sheet printed without this word measured, mm; `None` before anybody measured.
    pub bar_mm: Option<f64>,
    /// The file to write.
    pub out: PathBuf,
}

/// What was made.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// The file.
    pub path: PathBuf,
    /// How much larger than nominal the sheet was drawn, so that a printer that misses by as much prints it true.
    pub drawn: f64,
    /// What to do now, a sentence each.
    pub says: Vec<String>,
}

/// Makes the sheet.
///
/// # Errors
/// A bar length that no printing gives, a file there that is no ruler sheet of ours, or a place that cannot be written.
pub fn make(request: &Request) -> Result<Answer, Failure> {
    let drawn = drawn(request.bar_mm)?;
    refuse_foreign(&request.out)?;
    let _alone = exclusive::write_file(&request.out)?;
    write::sweep_of(&request.out);
    write_beside(&request.out, &document(request.paper, request.bar_mm, drawn))?;
    let mut says = vec![
        format!("Print {} at its own size (100 %, no fitting to the page) on matt paper.", request.out.display()),
        format!("Then measure the bar at its foot: it should be {BAR:.1} mm from end to end."),
    ];
    says.push(match request.bar_mm {
        None => "If it is not, make the sheet again with --bar-mm and the measured length.".into(),
        Some(mm) => {
            format!(
                "If it is still not, make it again with --bar-mm and {mm} times the measured length, divided by \
                     {BAR}."
            )
        }
    });
    Ok(Answer { path: request.out.clone(), drawn, says })
}

/// Refuses a file that is there and is no ruler sheet: each of ours says so in the geometry that it carries.
fn refuse_foreign(place: &std::path::Path) -> Result<(), Failure> {
    let ours = |held: &[u8]| {
        let mark = format!("\"schema\": \"{SCHEMA}\"");
        held.starts_with(b"%PDF-") && held.windows(mark.len()).any(|w| w == mark.as_bytes())
    };
    if std::fs::symlink_metadata(place).is_err() || base::files::regular::read(place).is_ok_and(|held| ours(&held)) {
        return Ok(());
    }
    let says =
        format!("{} already exists and is not a ruler sheet made by Fallside, so it was not changed.", place.display());
    Err(Failure::new(says).with_remedy("Choose another name with --out."))
}

/// How much larger to draw for a bar that measured so much.
fn drawn(bar_mm: Option<f64>) -> Result<f64, Failure> {
    let Some(mm) = bar_mm else { return Ok(1.0) };
    let [low, high] = BAR_RANGE.map(|r| r * BAR);
    if mm >= low && mm <= high {
        return Ok(BAR / mm);
    }
    let says = format!("A bar of {BAR} mm cannot have been printed {mm} mm long.");
    let remedy = format!(
        "Measure the long bar at the foot of the sheet in millimetres: {low} to {high} is possible. If it is outside \
         this range, print again at 100 %."
    );
    Err(Failure::new(says).with_remedy(remedy))
}

/// The whole file. The same words give the same bytes.
fn document(paper: Paper, bar_mm: Option<f64>, drawn: f64) -> Vec<u8> {
    let geometry = Geometry::of(paper, drawn);
    let json = serde_json::to_string_pretty(&geometry).unwrap_or_default();
    page::document(paper, bar_mm, drawn, &json)
}

/// The sheet's geometry as it is written into the file. Lengths in mm as they are when the sheet is printed true; places from
/// the middle of the paper lying landscape, x right, y down; turns clockwise as seen.
#[derive(Debug, Serialize)]
struct Geometry {
    schema: &'static str,
    unit: &'static str,
    axes: &'static str,
    paper: &'static str,
    paper_mm: [f64; 2],
    /// Size in this file over true size.
    drawn: f64,
    pitch_mm: f64,
    square_mm: f64,
    slant_deg: f64,
    /// First and last column and row.
    columns: [i32; 2],
    rows: [i32; 2],
    code_cell_mm: f64,
    code_order: &'static str,
    /// Row by row; `null` where a neutral step stands.
    codes: Vec<Vec<Option<u16>>>,
    step_mm: f64,
    steps: Vec<Step>,
    bars: Vec<Bar>,
}

#[derive(Debug, Serialize)]
struct Step {
    column: i32,
    row: i32,
    /// Relative to bare paper, as drawn; a printer's greys differ.
    reflectance: f64,
}

#[derive(Debug, Serialize)]
struct Bar {
    from: [f64; 2],
    to: [f64; 2],
}

impl Geometry {
    fn of(paper: Paper, drawn: f64) -> Self {
        let (sheet, (w, h), (x, y)) = (Sheet::new(paper), paper.size(), paper.reach());
        let code = |col, row| match ruler::cell(paper, col, row) {
            Cell::Square(code) => Some(code),
            Cell::Step(_) => None,
        };
        Self {
            schema: SCHEMA,
            unit: "mm",
            axes: "from the middle of the paper lying landscape, x right, y down; turns clockwise as seen",
            paper: paper.name(),
            paper_mm: [w, h],
            drawn,
            pitch_mm: ruler::PITCH,
            square_mm: ruler::SQUARE,
            slant_deg: ruler::SLANT.to_deg(),
            columns: [-x, x],
            rows: [-y, y],
            code_cell_mm: ruler::CODE_CELL,
            code_order: "three by three cells in the square's middle, row by row from its top left, least bit first; 1 is white",
            codes: (-y..=y).map(|row| (-x..=x).map(|col| code(col, row)).collect()).collect(),
            step_mm: ruler::STEP,
            steps: STEPS.iter().map(|&(column, row, reflectance)| Step { column, row, reflectance }).collect(),
            bars: sheet.bars().iter().map(|(a, b)| Bar { from: [a.x, a.y], to: [b.x, b.y] }).collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(paper: Paper, bar: Option<f64>) -> String {
        String::from_utf8_lossy(&document(paper, bar, drawn(bar).unwrap())).into_owned()
    }

    #[test]
    fn the_same_words_give_the_same_bytes_and_each_paper_its_own_page() {
        assert_eq!(document(Paper::A4, None, 1.0), document(Paper::A4, None, 1.0));
        // ISO 216 A4 and US letter in points of 1/72 in.
        assert!(text(Paper::A4, None).contains("/MediaBox [0 0 841.8898 595.2756]"));
        assert!(text(Paper::Letter, None).contains("/MediaBox [0 0 792 612]"));
    }

    #[test]
    fn the_file_carries_its_geometry() {
        let file = text(Paper::A4, Some(149.2));
        let from = file.find("{\n  \"schema\"").unwrap();
        let to = file[from..].find("\nendstream").unwrap() + from;
        let value: serde_json::Value = serde_json::from_str(&file[from..to]).unwrap();
        assert_eq!(value["schema"], "fallside.ruler/1");
        assert!((value["drawn"].as_f64().unwrap() - 150.0 / 149.2).abs() < 1e-12);
        assert_eq!(value["codes"].as_array().unwrap().len(), 11);
        assert_eq!(value["codes"][0].as_array().unwrap().len(), 17);
        assert_eq!(value["codes"][5][8], u64::from(ruler::code(Paper::A4, 0, 0)));
        assert!(value["codes"][4][7].is_null() && value["codes"][6][9].is_null());
    }

    #[test]
    fn bars_that_no_printer_makes_are_refused() {
        for bad in [0.0, -149.0, 14.92, 1492.0, f64::NAN, f64::INFINITY] {
            assert!(drawn(Some(bad)).unwrap_err().remedy.is_some(), "{bad}");
        }
        assert!((drawn(Some(149.2)).unwrap() - 1.005362).abs() < 1e-6);
    }

    #[test]
    fn a_file_that_is_no_pdf_is_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        let out = folder.path().join("F0001.jpg");
        std::fs::write(&out, b"a frame").unwrap();
        let request = Request { paper: Paper::A4, bar_mm: None, out: out.clone() };
        assert!(make(&request).is_err());
        assert_eq!(std::fs::read(&out).unwrap(), b"a frame");
        let theirs = Request { out: folder.path().join("letter.pdf"), ..request.clone() };
        std::fs::write(&theirs.out, b"%PDF-1.7 a letter").unwrap();
        assert!(make(&theirs).is_err());
        assert_eq!(std::fs::read(&theirs.out).unwrap(), b"%PDF-1.7 a letter");
        let request = Request { out: folder.path().join("ruler.pdf"), ..request };
        assert_eq!(make(&request).unwrap().drawn, 1.0);
        assert!(make(&request).is_ok(), "a sheet may be made again");
        assert!(make(&Request { out: folder.path().join("no/such/folder.pdf"), ..request }).is_err());
    }
}
