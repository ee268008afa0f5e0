//! `fallside ruler`: the sheet to print and photograph.

use crate::cli::Ruler;
use base::Exit;

/// Makes the sheet and prints what to do with it.
pub fn run(options: &Ruler) -> Exit {
    match rig::ruler::make(&options.request()) {
        Ok(answer) => {
            answer.says.iter().for_each(|line| crate::out::line(line));
            Exit::AllDone
        }
        Err(e) => {
            crate::say(&e.to_string());
            Exit::NothingDone
        }
    }
}
