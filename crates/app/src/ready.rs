//! `fallside ready`: lists what is not ready to be handed on.

use crate::cli::ready::Ready;
use crate::out::{json, line};
use crate::say;
use base::Exit;
use handoff::ready::ready;

/// Looks, and prints the list.
pub fn run(options: &Ready) -> Exit {
    let found = match ready(&options.request()) {
        Ok(found) => found,
        Err(e) => {
            say(&e.to_string());
            return Exit::NothingDone;
        }
    };
    if options.json {
        json(&serde_json::to_string_pretty(&found).unwrap_or_default());
    } else {
        found.lines().iter().for_each(|l| line(l));
    }
    if found.items.is_empty() { Exit::AllDone } else { Exit::WithProblems }
}
