//! The `fallside` command: arguments, progress and exit codes. The rules of the craft are in the libraries.

mod book;
mod browse;
mod check;
mod cli;
mod desk;
mod gallery;
mod out;
mod pack;
mod plan;
mod progress;
mod project;
mod ready;
mod ruler;
mod share;
mod web;

use base::Exit;
use clap::Parser;
use cli::{Cli, Command};
use finish::finish;
use finish::frame::Frames;
use out::say;
use progress::Speaker;
use std::ffi::OsString;
use std::path::Path;
use std::process::ExitCode;

fn main() -> ExitCode {
    // An internal error is reported in one line: the run turns a panic in one frame into that frame's line, and the rest end here.
    std::panic::set_hook(Box::new(|_| {}));
    // Check this first: the process that decodes one picture is started once per picture and takes no other arguments.
    let mut words = std::env::args_os().skip(1);
    if words.next().is_some_and(|w| w == base::decoding::WORD) {
        return decode(&words.collect::<Vec<_>>());
    }
    base::decoding::apart();
    let run = std::panic::catch_unwind(|| match asked().command {
        None => here(),
        Some(Command::Finish(options)) => {
            let speaker = Speaker::new(options.json);
            speaker.calm();
            let answer = finish(&options.request(), &Frames::default(), &|event| speaker.hear(event));
            speaker.end(&answer);
            answer.exit
        }
        Some(Command::Plan(options)) => plan::run(&options),
        Some(Command::Check(options)) => check::run(&options),
        Some(Command::Ruler(options)) => ruler::run(&options),
        Some(Command::Take(options)) => project::take(&options),
        Some(Command::List(options)) => project::list(&options),
        Some(Command::Find(options)) => project::find(&options),
        Some(Command::Describe(options)) => project::describe(&options),
        Some(Command::Privacy(options)) => project::privacy(&options),
        Some(Command::Pair(options)) => project::pair(&options),
        Some(Command::Unpair(options)) => project::unpair(&options),
        Some(Command::Edit(options)) => project::edit(&options),
        Some(Command::Stack(options)) => project::stack(&options),
        Some(Command::Light(options)) => project::light(&options),
        Some(Command::Undo(options)) => project::undo(&options),
        Some(Command::Backup(options)) => project::backup(&options),
        Some(Command::Rebuild(options)) => project::rebuild(&options),
        Some(Command::Desk(options)) => desk::run(&options),
        Some(Command::Stand(options)) => desk::stand(&options),
        Some(Command::Mend(options)) => desk::mend(&options),
        Some(Command::Ready(options)) => ready::run(&options),
        Some(Command::Share(options)) => share::run(&options),
        Some(Command::Gallery(options)) => gallery::run(&options),
        Some(Command::Pack(options)) => pack::run(&options),
        Some(Command::Verify(options)) => pack::verify(&options),
        Some(Command::Book(options)) => book::run(&options),
        Some(Command::Demo(options)) => demo(&options),
    });
    let exit = run.unwrap_or_else(|_| {
        say("Fallside stopped because of an internal error. Originals are untouched; run the same command again to continue.");
        Exit::NothingDone
    });
    ExitCode::from(told(exit) as u8)
}

fn decode(words: &[OsString]) -> ExitCode {
    if base::decoding::serve(words) {
        return ExitCode::SUCCESS;
    }
    say("Fallside starts itself with this argument to decode one picture; it is not a command for people.");
    ExitCode::from(Exit::NothingDone as u8)
}

/// The exit code, and a line if an answer was not written.
fn told(exit: Exit) -> Exit {
    let Some(why) = out::lost() else { return exit };
    say(&format!("The output could not be written: {why}."));
    match exit {
        Exit::AllDone => Exit::WithProblems,
        other => other,
    }
}

/// Parses the command line. Error messages show control characters in the arguments as escapes.
fn asked() -> Cli {
    Cli::try_parse().unwrap_or_else(|e| {
        let odd = std::env::args_os().any(|a| a.to_string_lossy().contains(base::wording::is_unsafe));
        if !odd {
            e.exit();
        }
        // Plain text without colours: the line breaks are ours, and everything else is escaped by `say`.
        e.render().to_string().lines().for_each(say);
        std::process::exit(e.exit_code())
    })
}

fn here() -> Exit {
    let project = Path::new(::project::DATABASE).is_file();
    if project {
        out::line("This folder is a project.");
        out::line("Next: fallside desk opens it in the browser.");
    } else {
        finish::next_step::advice(Path::new(".")).iter().for_each(|line| out::line(line));
        out::line(
            "In the browser: fallside desk FOLDER opens a project, or begins one. To try it: fallside desk trial --demo",
        );
    }
    out::line("All commands: fallside --help");
    Exit::AllDone
}

fn demo(options: &cli::Demo) -> Exit {
    let size = options.small.then_some((1500, 1000));
    let request = match finish::demo::draw(&options.out, size, &|line| say(&line)) {
        Ok(request) => request,
        Err(e) => {
            say(&e.to_string());
            return Exit::NothingDone;
        }
    };
    if options.only_draw {
        return Exit::AllDone;
    }
    let speaker = Speaker::new(false);
    speaker.calm();
    let answer = finish(&request, &Frames::default(), &|event| speaker.hear(event));
    speaker.end(&answer);
    answer.exit
}
