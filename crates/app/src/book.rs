//! `fallside book`: prints on paper.

use crate::cli::book::Book;
use base::Exit;
use indicatif::{ProgressBar, ProgressStyle};

/// Makes the book and prints a summary.
pub fn run(options: &Book) -> Exit {
    let request = match options.request() {
        Ok(request) => request,
        Err(line) => {
            crate::say(&line);
            return Exit::NothingDone;
        }
    };
    let bar = ProgressBar::new(0);
    if let Ok(style) = ProgressStyle::with_template("{bar:32} {pos} of {len} prints, {eta} left") {
        bar.set_style(style.progress_chars("━╸ "));
    }
    let answer = handoff::book::book(&request, &|done, of| {
        bar.set_length(of as u64);
        bar.set_position(done as u64);
    });
    bar.finish_and_clear();
    match answer {
        Ok(answer) => {
            answer.problems.iter().for_each(|p| crate::say(p));
            let files: Vec<String> = answer.files.iter().map(|f| f.display().to_string()).collect();
            answer.says.iter().chain(&files).for_each(|line| crate::out::line(line));
            answer.exit
        }
        Err(e) => {
            crate::say(&e.to_string());
            Exit::NothingDone
        }
    }
}
