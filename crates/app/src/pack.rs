//! `fallside pack` and `fallside verify`: the archive, made and checked.

use crate::cli::{Pack, Verify};
use crate::out::line as out;
use crate::share::{bar, hear};
use base::Exit;
use handoff::pack::{Condition, Request, Verified};

/// Packs the archive and reports the result.
pub fn run(options: &Pack) -> Exit {
    let request = Request {
        folder: options.within.as_ref().unwrap_or(&options.folder).clone(),
        which: options.chosen.which(),
        out: options.out.clone(),
        title: options.title.clone(),
    };
    let bar = bar("files");
    let answer = handoff::pack::pack(&request, &|event| hear(&bar, event));
    bar.finish_and_clear();
    match answer {
        Ok(answer) => {
            out(&format!("{} in {}.", answer.says(), options.out.display()));
            out(&format!("Verify it now and once a year: fallside verify {}", options.out.display()));
            if answer.problems.is_empty() { Exit::AllDone } else { Exit::WithProblems }
        }
        Err(e) => {
            crate::say(&e.to_string());
            Exit::NothingDone
        }
    }
}

/// Verifies the archive and reports the result.
pub fn verify(options: &Verify) -> Exit {
    let bar = bar("files");
    let verified = handoff::pack::verify(&options.bag, &options.copy, &|event| hear(&bar, event));
    bar.finish_and_clear();
    let verified = match verified {
        Ok(verified) => verified,
        Err(e) => {
            crate::say(&e.to_string());
            return Exit::NothingDone;
        }
    };
    if options.json {
        crate::out::json(&json(&verified));
    } else {
        verified.bags.iter().for_each(tell);
        verified.compared.iter().for_each(|line| out(line));
        if verified.bags.len() > 1 && verified.compared.is_empty() {
            out("The copies are identical.");
        }
    }
    if verified.good() { Exit::AllDone } else { Exit::WithProblems }
}

fn tell(c: &Condition) {
    out(&c.says());
    c.problems().iter().for_each(|line| out(&format!("  {line}")));
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
