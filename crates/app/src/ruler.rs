//! `fallside ruler`: the sheet to print and lay under the camera.

use crate::cli::Ruler;
use std::io::Write;
use studio::finish::Exit;

/// Makes the sheet and says what to do with it.
pub fn run(options: &Ruler) -> Exit {
    match studio::ruler::make(&options.request()) {
        Ok(answer) => {
            // A closed pipe is the reader's wish, not a fault.
            let _ = writeln!(std::io::stdout(), "{}", answer.says.join("\n"));
            Exit::AllDone
        }
        Err(e) => {
            crate::say(&e.to_string());
            Exit::NothingDone
        }
    }
}
