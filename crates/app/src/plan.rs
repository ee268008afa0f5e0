//! Runs `fallside plan`: words out, JSON out, the card to its file.

use crate::cli::plan::Plan;
use crate::say;
use std::io::Write;
use studio::finish::Exit;

/// Plans, writes and says.
pub fn run(options: &Plan) -> Exit {
    let answer = match studio::plan::plan(&options.request(), options.units()) {
        Ok(answer) => answer,
        Err(problem) => {
            say(&problem.to_string());
            return Exit::NothingDone;
        }
    };
    let text = if options.json {
        serde_json::to_string_pretty(&answer).unwrap_or_default() + "\n"
    } else {
        studio::plan::text(&answer, options.units())
    };
    // A closed pipe is the reader's wish, not a fault.
    let _ = write!(std::io::stdout(), "{text}");
    if let Some(place) = &options.card {
        match studio::plan::write_card(place, &answer, options.units()) {
            Ok(()) => say(&format!("The rig card is {}: open it and print it.", place.display())),
            Err(e) => {
                say(&e.to_string());
                return Exit::WithProblems;
            }
        }
    }
    if answer.possible { Exit::AllDone } else { Exit::WithProblems }
}
