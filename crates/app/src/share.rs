//! `fallside share`: makes shares, and says what went out with them and what did not.

use crate::cli::share::Share;
use crate::out::{json, line as out};
use crate::say;
use base::Exit;
use base::wording::count;
use handoff::Event;
use handoff::share::{Answer, share};
use indicatif::{ProgressBar, ProgressStyle};

/// Shares, and says how it went.
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
        out(&format!("{prints} no text yet for who cannot see it: alt-text.txt names them."));
    }
}

/// What went out as it is and should not have to, and what stayed behind, of a share or a gallery.
pub fn tell_words(reshoot: &[String], private: &[String], difference: &[String]) {
    reshoot.iter().for_each(|line| out(line));
    if !private.is_empty() {
        out(&format!("Private, and left out: {}.", private.join(", ")));
    }
    difference.iter().for_each(|line| out(line));
}

/// A bar of `what`, as "prints".
pub fn bar(what: &str) -> ProgressBar {
    let bar = ProgressBar::new(0);
    if let Ok(style) = ProgressStyle::with_template(&format!("{{bar:32}} {{pos}} of {{len}} {what}, {{eta}} left")) {
        bar.set_style(style.progress_chars("━╸ "));
    }
    bar
}

/// What happens while prints are handed on.
pub fn hear(bar: &ProgressBar, event: Event) {
    match event {
        Event::Done { done, of } => {
            bar.set_length(of as u64);
            bar.set_position(done as u64);
        }
        Event::Problem(line) => bar.suspend(|| say(&line)),
    }
}
