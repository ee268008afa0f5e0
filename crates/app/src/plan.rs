//! Runs `fallside plan`: prints text or JSON, and writes the rig card.

use crate::cli::plan::Plan;
use crate::say;
use base::Exit;
use clap::Parser;
use std::collections::BTreeMap;

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

/// What the page's rig room asks: the words of the command, and its answer with the card.
pub fn asked(words: &BTreeMap<String, String>) -> serde_json::Value {
    let said = words.iter().filter(|(_, value)| !value.is_empty());
    let line = said.flat_map(|(word, value)| [format!("--{word}"), value.clone()]);
    let trouble = |says: String| serde_json::json!({ "text": "", "answer": null, "card": null, "trouble": says });
    let options = match Asked::try_parse_from(std::iter::once("plan".to_owned()).chain(line)) {
        Ok(asked) => asked.plan,
        // The first line says what is wrong; the rest is about the command line.
        Err(e) => {
            let text = e.to_string();
            let first = text.lines().next().unwrap_or_default().trim_start_matches("error: ").to_owned();
            return trouble(first);
        }
    };
    match rig::plan::plan(&options.request(), options.units()) {
        Ok(answer) => serde_json::json!({
            "text": rig::plan::text(&answer, options.units()),
            "card": rig::plan::card(&answer, options.units()),
            "trouble": null,
            "answer": answer,
        }),
        Err(problem) => trouble(problem.to_string()),
    }
}

/// The words of `plan`, read on their own.
#[derive(Parser)]
#[command(disable_help_flag = true, disable_version_flag = true)]
struct Asked {
    #[command(flatten)]
    plan: Plan,
}
