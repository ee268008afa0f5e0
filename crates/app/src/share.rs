//! `fallside share`: makes shares, and reports what they contain and what was left out.

use crate::cli::share::Share;
use crate::out::{json, line as out};
use crate::say;
use base::Exit;
use base::wording::count;
use handoff::Event;
use handoff::share::{Answer, share};
use indicatif::{ProgressBar, ProgressStyle};

/// Makes the shares and reports the result.
pub fn run(options: &Share) -> Exit {
    let request = match options.request() {
        Ok(request) => request,
        Err(line) => {
            say(&line);
            return Exit::NothingDone;
        }
    };
    let bar = bar("prints");
    let answer = share(&request, &|event| hear(&bar, event));
    bar.finish_and_clear();
    match answer {
        Ok(answer) => {
            if options.json {
                json(&serde_json::to_string_pretty(&answer).unwrap_or_default());
            } else {
                tell(&answer, options);
            }
            answer.exit()
        }
        Err(e) => {
            say(&e.to_string());
            Exit::NothingDone
        }
    }
}

fn tell(answer: &Answer, options: &Share) {
    if answer.shares.is_empty() {
        return;
    }
    out(&format!("{} in {}.", count(answer.shares.len(), "share", "shares"), options.out.display()));
    for share in answer.shares.iter().filter(|s| !s.notes.is_empty()) {
        out(&format!("{}: {}", share.file, share.notes.join(" ")));
    }
    tell_words(&answer.reshoot, &answer.private, &answer.difference);
    let missing = answer.shares.iter().filter(|s| s.alt_is_made).count();
    if missing > 0 {
        let prints = count(missing, "print has", "prints have");
        out(&format!("{prints} no alt text yet; alt-text.txt lists them."));
    }
}

/// Prints made in spite of a reshoot verdict, prints left out, and differences, of a share or a gallery.
pub fn tell_words(reshoot: &[String], private: &[String], difference: &[String]) {
    reshoot.iter().for_each(|line| out(line));
    if !private.is_empty() {
        out(&format!("Left out because they are private: {}.", private.join(", ")));
    }
    difference.iter().for_each(|line| out(line));
}

/// A progress bar that counts `what`, such as "prints".
pub fn bar(what: &str) -> ProgressBar {
    let bar = ProgressBar::new(0);
    if let Ok(style) = ProgressStyle::with_template(&format!("{{bar:32}} {{pos}} of {{len}} {what}, {{eta}} left")) {
        bar.set_style(style.progress_chars("━╸ "));
    }
    bar
}

/// Shows an event while prints are handed on.
pub fn hear(bar: &ProgressBar, event: Event) {
    match event {
        Event::Done { done, of } => {
            bar.set_length(of as u64);
            bar.set_position(done as u64);
        }
        Event::Problem(line) => bar.suspend(|| say(&line)),
    }
}
