//! `fallside pack` and `fallside verify`: the archive, made and checked.

use crate::cli::{Pack, Verify};
use indicatif::{ProgressBar, ProgressStyle};
use std::io::Write;
use studio::finish::Exit;
use studio::pack::{Condition, Event, Request, Verified};
use studio::words::count;

/// Packs, and says how it went.
pub fn run(options: &Pack) -> Exit {
    let request = Request {
        folder: options.within.as_ref().unwrap_or(&options.folder).clone(),
        which: options.chosen.which(),
        out: options.out.clone(),
        title: options.title.clone(),
    };
    let bar = bar();
    let answer = studio::pack::pack(&request, &|event| hear(&bar, event));
    bar.finish_and_clear();
    if answer.exit != Exit::NothingDone {
        let files = count(answer.files, "file", "files");
        let already =
            if answer.already > 0 { format!(", {} of them already there", answer.already) } else { String::new() };
        let gigabytes = answer.bytes as f64 / 1e9;
        out(&format!("{files}{already}, {gigabytes:.2} GB in {}.", options.out.display()));
        out(&format!("Check it now and once a year: fallside verify {}", options.out.display()));
    }
    answer.exit
}

/// Verifies, and says what was found.
pub fn verify(options: &Verify) -> Exit {
    let bar = bar();
    let verified = studio::pack::verify(&options.bag, &options.copy, &|event| hear(&bar, event));
    bar.finish_and_clear();
    let verified = match verified {
        Ok(verified) => verified,
        Err(e) => {
            crate::say(&e.to_string());
            return Exit::NothingDone;
        }
    };
    if options.json {
        out(&json(&verified));
    } else {
        verified.bags.iter().for_each(tell);
        verified.compared.iter().for_each(|line| out(line));
        if verified.bags.len() > 1 && verified.compared.is_empty() {
            out("The copies hold the same.");
        }
    }
    if verified.good() { Exit::AllDone } else { Exit::WithProblems }
}

fn tell(c: &Condition) {
    let files = count(c.files, "file", "files");
    let packed = c.packed.as_ref().map_or(String::new(), |d| format!(", packed {d}"));
    let last = c.last_good.as_ref().map_or(String::new(), |d| format!(", last found good {d}"));
    if c.damage.is_empty() {
        out(&format!("{}: good. {files} read{packed}{last}.", c.bag.display()));
    } else {
        let harms = count(c.damage.len(), "damage", "damages");
        out(&format!("{}: damaged. {files} read, {harms}{packed}{last}.", c.bag.display()));
        c.damage.iter().for_each(|d| out(&format!("  {}: {}", d.path, d.what)));
    }
    if let Some(why) = &c.unnoted {
        out(&format!("  The date of this check could not be noted: {why}"));
    }
}

fn json(v: &Verified) -> String {
    let bags: Vec<serde_json::Value> = v
        .bags
        .iter()
        .map(|c| {
            let damage: Vec<_> = c.damage.iter().map(|d| serde_json::json!({"path": d.path, "what": d.what})).collect();
            serde_json::json!({
                "bag": c.bag, "good": c.damage.is_empty(), "files": c.files, "damage": damage,
                "packed": c.packed, "last_good": c.last_good,
            })
        })
        .collect();
    serde_json::json!({"schema": "fallside.verify/1", "good": v.good(), "bags": bags, "compared": v.compared})
        .to_string()
}

fn bar() -> ProgressBar {
    let bar = ProgressBar::new(0);
    if let Ok(style) = ProgressStyle::with_template("{bar:32} {pos} of {len} files, {eta} left") {
        bar.set_style(style.progress_chars("━╸ "));
    }
    bar
}

fn hear(bar: &ProgressBar, event: Event) {
    match event {
        Event::Done { done, of } => {
            bar.set_length(of as u64);
            bar.set_position(done as u64);
        }
        Event::Problem(line) => bar.suspend(|| crate::say(&line)),
    }
}

/// A closed pipe is the reader's wish, not a fault.
fn out(line: &str) {
    let _ = writeln!(std::io::stdout(), "{line}");
}
