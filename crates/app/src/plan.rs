//! Runs `fallside plan`: prints text or JSON, and writes the rig card.

use crate::cli::plan::Plan;
use crate::say;
use base::Exit;

/// Makes the plan, prints it and writes the rig card.
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
            Ok(()) => say(&format!("The rig card is {}. Open it and print it.", place.display())),
            Err(e) => {
                say(&e.to_string());
                return Exit::WithProblems;
            }
        }
    }
    if answer.possible { Exit::AllDone } else { Exit::WithProblems }
}
