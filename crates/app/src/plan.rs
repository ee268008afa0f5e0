//! Runs `fallside plan`: words out, JSON out, the card to its file.

use crate::cli::plan::Plan;
use crate::say;
use base::Exit;

/// Plans, writes and says.
pub fn run(options: &Plan) -> Exit {
    let answer = match rig::plan::plan(&options.request(), options.units()) {
        Ok(answer) => answer,
        Err(problem) => {
            say(&problem.to_string());
            return Exit::NothingDone;
        }
    };
    match options.json {
        true => crate::out::json(&serde_json::to_string_pretty(&answer).unwrap_or_default()),
        false => crate::out::text(&rig::plan::text(&answer, options.units())),
    }
    if let Some(place) = &options.card {
        match rig::plan::write_card(place, &answer, options.units()) {
            Ok(()) => say(&format!("The rig card is {}: open it and print it.", place.display())),
            Err(e) => {
                say(&e.to_string());
                return Exit::WithProblems;
            }
        }
    }
    if answer.possible { Exit::AllDone } else { Exit::WithProblems }
}
