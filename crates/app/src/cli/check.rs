//! Options of `fallside check`.

use super::AimWord;
use clap::Args;
use std::path::PathBuf;

pub const ABOUT: &str = "\
Check a rig from its frames: what is wrong, by how much, and what to move.

Give it the folder of a sitting, or single frames: the bare bed (blank), the ruler sheet, the colour chart, the bed with the \
flash off. It detects which is which. It compares each measurement with the limits of the aim, the tolerance classes of the \
standards, and the plan if there is one. Two blanks or two ruler frames show whether anything moved between them.

Originals are opened read-only.";

pub const EXAMPLE: &str = "\
Example: compare a sitting with its plan:

    fallside plan --lens 70mm-macro --flash-gn 26 --json > plan.json
    fallside check ~/sitting-12 --plan plan.json --bar-mm 149.2

    1 thing is wrong for a book:
    - The camera leans 0.7° from square to the board; 0.2° is the limit for a book.
      Put the board's edge at the frame's top 4.9 mm up (40 cm of board), ...

Exit codes: 0 everything was measured, whatever is wrong; 1 measured, except for some files; 2 nothing was measured.";

/// Options of `check`.
#[derive(Args, Debug)]
pub struct Check {
    /// Folders and files of frames
    #[arg(value_name = "FRAMES")]
    pub inputs: Vec<PathBuf>,
    /// Instead, report what moved during the sitting in this folder, and after which frame: camera, light, flash
    #[arg(long, value_name = "FOLDER", conflicts_with = "inputs")]
    pub drift: Option<PathBuf>,
    /// Intended use of the prints; sets the limits
    #[arg(long, value_enum, default_value = "book")]
    pub aim: AimWord,
    /// This frame shows the ruler sheet (repeatable)
    #[arg(long, value_name = "FILE")]
    pub ruler: Vec<PathBuf>,
    /// This frame shows the bare bed (repeatable)
    #[arg(long, value_name = "FILE")]
    pub blank: Vec<PathBuf>,
    /// This frame shows the colour chart
    #[arg(long, value_name = "FILE")]
    pub chart: Option<PathBuf>,
    /// Reference values of the chart: CGATS.17 or a plain table
    #[arg(long, value_name = "FILE")]
    pub chart_values: Option<PathBuf>,
    /// This frame shows the bed with the flash off
    #[arg(long, value_name = "FILE", alias = "flash-off")]
    pub ambient: Option<PathBuf>,
    /// A plan written by fallside plan --json
    #[arg(long, value_name = "FILE")]
    pub plan: Option<PathBuf>,
    /// Measured length of the ruler sheet's long bar, mm
    #[arg(long, value_name = "MM", allow_negative_numbers = true)]
    pub bar_mm: Option<f64>,
    /// Keep the result in this project: the desk's rig shows it beside the plan
    #[arg(long = "in", value_name = "DIR", conflicts_with = "drift")]
    pub project: Option<PathBuf>,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
    /// Write the result as JSON to this file
    #[arg(short, long, value_name = "FILE")]
    pub out: Option<PathBuf>,
}
