//! `fallside gallery`: makes a static website, and reports what it contains and what was left out.

use crate::cli::gallery::Gallery;
use crate::out::{json, line as out};
use crate::say;
use crate::share::{bar, hear, tell_words};
use base::Exit;
use handoff::gallery::{Answer, gallery, told};

/// Makes the site and reports the result.
pub fn run(options: &Gallery) -> Exit {
    let request = match options.request() {
        Ok(request) => request,
        Err(line) => {
            say(&line);
            return Exit::NothingDone;
        }
    };
    let bar = bar("prints");
    let answer = gallery(&request, &|event| hear(&bar, event));
    bar.finish_and_clear();
    match answer {
        Ok(answer) => {
            if options.json {
                json(&serde_json::to_string_pretty(&answer).unwrap_or_default());
            } else if answer.prints > 0 {
                tell(&answer);
            }
            answer.exit()
        }
        Err(e) => {
            say(&e.to_string());
            Exit::NothingDone
        }
    }
}

fn tell(answer: &Answer) {
    out(&told(answer));
    tell_words(&answer.reshoot, &answer.private, &answer.difference);
    if !answer.alt_missing.is_empty() {
        out(&format!("No alt text yet: {}. Add it with fallside describe --alt.", answer.alt_missing.join(", ")));
    }
    if let Some(bytes) = answer.newsletter_bytes {
        out(&format!("The newsletter is {} kB.", bytes.div_ceil(1000)));
    }
    out(&format!("Open {}", answer.index.display()));
}
