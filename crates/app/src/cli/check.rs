//! Words of `fallside check`.

use super::AimWord;
use clap::Args;
use std::path::PathBuf;

pub const ABOUT: &str = "\
Check a rig from its frames: what is wrong, by how much, and what to move.

Give it the folder of a sitting, or single frames: the bare bed (blank), the ruler sheet, the colour chart, the bed with the \
flash off. It tells by itself which is which. Each figure stands beside the limits of the aim, the tolerance classes of the \
standards, and the plan where there is one. Two blanks or two ruler frames tell whether anything moved between them.

Originals are opened for reading only.";

pub const EXAMPLE: &str = "\
Example: a sitting beside its plan:

    fallside plan --lens 70mm-macro --flash-gn 26 --json > plan.json
    fallside check ~/sitting-12 --plan plan.json --bar-mm 149.2

    1 thing is wrong for a book:
    - The camera leans 0.7° from square to the board; 0.2° is the limit for a book.
      Put the board's edge at the frame's top 4.9 mm up (40 cm of board), ...

Exit codes: 0 all was measured, whatever is wrong; 1 measured, but some file could not be; 2 nothing could be.";

/// Options of `check`.
#[derive(Args, Debug)]
pub struct Check {
    /// Folders and files of frames
    #[arg(value_name = "FRAMES")]
    pub inputs: Vec<PathBuf>,
    /// Tell instead what moved over the sitting in this folder, and after which frame: camera, light, flash
    #[arg(long, value_name = "FOLDER", conflicts_with = "inputs")]
    pub drift: Option<PathBuf>,
    /// What the prints are for; sets what counts as wrong
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
    /// The chart's values: CGATS.17, or a plain table
    #[arg(long, value_name = "FILE")]
    pub chart_values: Option<PathBuf>,
    /// This frame shows the bed with the flash off
    #[arg(long, value_name = "FILE", alias = "flash-off")]
    pub ambient: Option<PathBuf>,
    /// The plan that fallside plan --json wrote
    #[arg(long, value_name = "FILE")]
    pub plan: Option<PathBuf>,
    /// What the ruler sheet's long bar measures, mm
    #[arg(long, value_name = "MM", allow_negative_numbers = true)]
    pub bar_mm: Option<f64>,
    /// The answer as JSON on standard output
    #[arg(long)]
    pub json: bool,
    /// Write the answer as JSON to this file
    #[arg(short, long, value_name = "FILE")]
    pub out: Option<PathBuf>,
}
