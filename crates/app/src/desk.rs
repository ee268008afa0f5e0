//! Runs `fallside desk`, `fallside stand` in a terminal, and `fallside mend`.

use crate::browse::browse;
use crate::cli::desk::{Desk as Options, Mend as MendOptions, Stand as StandOptions};
use crate::{out, say, web};
use base::Exit;
use desk::wire::request::{RefinishRequest, WatchRequest};
use desk::{Desk, Event, Last};
use project::catalogue::{Fact, Order, PrintId};
use project::words::{How, Wish};
use project::{Error, Project, Result};
use std::path::Path;

fn ended(result: Result<Exit>) -> Exit {
    result.unwrap_or_else(|e| {
        say(&e.to_string());
        match e {
            Error::Owed(_) => Exit::WithProblems,
            _ => Exit::NothingDone,
        }
    })
}

/// `fallside desk`.
pub fn run(options: &Options) -> Exit {
    ended(run_desk(options))
}

fn run_desk(options: &Options) -> Result<Exit> {
    if options.demo {
        demo(&options.folder)?;
    }
    let news = web::News::new();
    let ear = news.clone();
    let desk = Desk::open(&options.folder, Box::new(move |event| ear.tell(event)))?;
    if let Some(why) = desk.reads_only() {
        say(&format!("{why} Until then this desk is read-only."));
    }
    let open = |address: &str| {
        out::line(address);
        say("The desk is open, on this machine only. Close it with Ctrl+C.");
        // The file that redirects the browser is removed when the desk closes.
        (!options.quiet).then(|| browse(address, &options.folder.join(desk::OWN))).flatten()
    };
    let code_holds = std::time::Duration::from_secs_f64(60.0 * options.code_minutes);
    let place = web::Place { port: options.port, guests_at: options.guests_at, code_holds };
    web::serve(desk, &news, place, open).map_err(Error::Refused)?;
    Ok(Exit::AllDone)
}

/// Fills an empty project with the demonstration box.
fn demo(folder: &Path) -> Result<()> {
    let mut project = Project::open_or_begin(folder)?;
    if !project.catalogue().search("", Order::Number, 0, 1)?.ids.is_empty() {
        return Ok(());
    }
    let drawn = finish::demo::draw(&folder.join("demo"), None, &|line| say(&line))?;
    let request = project::Take {
        inputs: drawn.inputs,
        chart_values: drawn.chart_values,
        box_name: "Demonstration box".into(),
        sleeve: "1".into(),
        ..project::Take::default()
    };
    let speaker = crate::progress::Speaker::new(false);
    project::take(&mut project, &request, &finish::frame::Frames::default(), &|event| match event {
        project::TakeEvent::Finishing(finish::Event::Done { entry, done, of, .. }) => {
            speaker.progress(entry, done, of);
        }
        project::TakeEvent::Finishing(event) => speaker.hear(event),
        project::TakeEvent::Saved { .. } | project::TakeEvent::Reading { .. } | project::TakeEvent::InHand { .. } => {}
    })?;
    speaker.stop();
    caption(&mut project)
}

/// Titles and years of the demonstration box, as somebody who knows it would write them.
fn caption(project: &mut Project) -> Result<()> {
    let wish = |fact, value: String| Wish { fact, how: How::Set, value, seen: None };
    let mut rows = vec![];
    for (name, title, year) in finish::demo::captions() {
        let of: Vec<PrintId> = project.catalogue().frames_named(&name)?.iter().filter_map(|f| f.print).collect();
        rows.push((of, vec![wish(Fact::Title, title.into()), wish(Fact::Exposed, year.to_string())]));
    }
    rows.retain(|(of, _)| !of.is_empty());
    project::words::write_rows(project, "Captioned the demonstration box", &rows).map(drop)
}

/// `fallside stand`.
pub fn stand(options: &StandOptions) -> Exit {
    ended(run_stand(options))
}

fn run_stand(options: &StandOptions) -> Result<Exit> {
    let (send, heard) = std::sync::mpsc::channel::<Event>();
    let send = std::sync::Mutex::new(send);
    let desk = Desk::open(
        &options.project.folder,
        Box::new(move |event| {
            // The receiver is gone: the stand is closing.
            let _ = send.lock().map(|s| s.send(event.clone()));
        }),
    )?;
    desk.watch(WatchRequest {
        folder: Some(options.watched.clone()),
        box_name: Some(options.box_name.clone()),
        sleeve: Some(options.sleeve.clone()),
        of: options.of,
        backs: options.backs,
        one: options.one,
        sound: false,
    })?;
    say(&format!("Watching {}. Stop with Ctrl+C.", options.watched.display()));
    for event in heard {
        match event {
            Event::Trouble { says, .. } => say(&says),
            Event::Settled(last) => tell(&desk, &last, options.project.json),
            Event::Changed | Event::Verdict(_) | Event::Working { .. } | Event::Handed(_) | Event::Importing(_) => {}
        }
    }
    Ok(Exit::AllDone)
}

/// Prints a verdict, once its print has a number.
fn tell(desk: &Desk, last: &Last, json: bool) {
    let stand = desk.stand();
    let line = if json {
        serde_json::json!({ "verdict": last, "stand": stand }).to_string()
    } else {
        let left = stand.left.map(|l| format!("{} left, about {:.0} minutes", l.prints, l.minutes.ceil()));
        let parts = [
            format!("{}  {:<7}  {}", last.name, last.verdict.word(), last.label.as_deref().unwrap_or(last.role.word())),
            last.sentence.clone(),
            last.remedy.clone().unwrap_or_default(),
            stand.owed.unwrap_or_default(),
            left.unwrap_or_default(),
        ];
        parts.into_iter().filter(|p| !p.is_empty()).collect::<Vec<_>>().join("  ")
    };
    match json {
        true => out::json(&line),
        false => out::line(&line),
    }
}

/// `fallside mend`.
pub fn mend(options: &MendOptions) -> Exit {
    ended(run_mend(options))
}

fn run_mend(options: &MendOptions) -> Result<Exit> {
    let desk = Desk::open(&options.project.folder, Box::new(|_| {}))?;
    let frame = {
        let reader = Project::open_to_read(&options.project.folder)?;
        let named = reader.catalogue().frames_named(&options.frame)?;
        match named.as_slice() {
            [one] => one.id.0,
            [] => {
                return Err(Error::Refused(format!(
                    "There is no frame called {}. To see all frames, run fallside list frames.",
                    options.frame
                )));
            }
            many => {
                let names: Vec<&str> = many.iter().map(|f| f.name.as_str()).collect();
                let (n, names) = (many.len(), base::wording::list(&names));
                return Err(Error::Refused(format!(
                    "{n} frames are called {}: {names}. Give one of these names.",
                    options.frame
                )));
            }
        }
    };
    let wanted = RefinishRequest {
        frame,
        outline: options.outline,
        format: options.format.clone(),
        turn: options.turn,
        shadow: options.shadow,
        light: options.light.clone(),
        as_measured: false,
    };
    let done = desk.mend(&wanted)?;
    match options.project.json {
        true => {
            let text = serde_json::to_string_pretty(&serde_json::json!({ "did": done.did, "frame": done.frame }));
            out::json(&text.unwrap_or_default());
        }
        false => say(&format!("{}.", done.did.did)),
    }
    Ok(Exit::AllDone)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_demonstration_box_carries_its_captions() {
        let top = tempfile::tempdir().unwrap();
        let drawn = finish::demo::draw(&top.path().join("demo"), Some((900, 600)), &|_| {}).unwrap();
        let mut project = Project::open_or_begin(&top.path().join("project")).unwrap();
        let frames = ["F0104.jpg", "F0111.jpg"].map(|name| drawn.inputs[0].join(name));
        let request = project::Take { inputs: frames.to_vec(), ..project::Take::default() };
        project::take(&mut project, &request, &finish::frame::Frames::default(), &|_| {}).unwrap();
        caption(&mut project).unwrap();
        let prints = project.catalogue().search("", Order::Number, 0, 9).unwrap().ids;
        let words: Vec<_> = prints.iter().map(|id| project.catalogue().print(*id).unwrap().unwrap().facts).collect();
        // What scene::demo says of these two.
        let said: Vec<_> = words.iter().map(|f| (f.title.clone(), f.date.clone())).collect();
        let told = |title: &str, year: &str| (title.to_owned(), year.to_owned());
        assert!(said.contains(&told("The point from the landing, our first evening", "1991")), "{said:?}");
        assert!(said.contains(&told("The orchard after the second snow", "1996")), "{said:?}");
    }
}
