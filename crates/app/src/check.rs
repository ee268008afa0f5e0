//! Runs `fallside check`: prints text or JSON.

use crate::cli::check::Check;
use crate::{out, say};
use base::Exit;
use rig::check::{IN_PROJECT, Request, check, read_plan, text, write_answer};

/// Checks the rig and prints the result.
pub fn run(options: &Check) -> Exit {
    if let Some(folder) = &options.drift {
        return crate::cli::drift::run(folder, &options.blank, options.json);
    }
    let plan = match options.plan.as_ref().map(|p| read_plan(p).map_err(|e| format!("{}: {e}", p.display()))) {
        Some(Err(line)) => {
            say(&line);
            return Exit::NothingDone;
        }
        plan => plan.and_then(Result::ok),
    };
    let answer = check(&Request {
        inputs: options.inputs.clone(),
        rulers: options.ruler.clone(),
        blanks: options.blank.clone(),
        chart: options.chart.clone(),
        chart_values: options.chart_values.clone(),
        ambient: options.ambient.clone(),
        plan,
        bar_mm: options.bar_mm,
        aim: options.aim.into(),
    });
    answer.problems.iter().for_each(|line| say(line));
    if answer.exit == Exit::NothingDone {
        return answer.exit;
    }
    match options.json {
        true => out::json(&serde_json::to_string_pretty(&answer).unwrap_or_default()),
        false => out::text(&text(&answer)),
    }
    let kept = options.project.as_ref().map(|folder| folder.join(IN_PROJECT));
    if options.project.as_ref().is_some_and(|folder| !folder.join(project::DATABASE).exists()) {
        say("The result was not kept: the folder of --in is no project. Give the folder that fallside take wrote.");
        return Exit::WithProblems;
    }
    for place in options.out.iter().chain(&kept) {
        let Err(e) = write_answer(place, &answer) else { continue };
        say(&e.to_string());
        return Exit::WithProblems;
    }
    answer.exit
}
