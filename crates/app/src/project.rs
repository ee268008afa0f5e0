//! Runs the commands on a project: opens it, queries or changes it, and prints text or JSON.

use crate::cli::project::{
    Backup, Describe, Edit, EditStep, Find, In, Light, List, ListWord, Pair, Privacy, Rebuild, Stack, StackStep, Take,
    Undo, Unpair,
};
use crate::progress::Speaker;
use crate::{out, say};
use base::Exit;
use finish::Event;
use finish::frame::Frames;
use project::catalogue;
use project::catalogue::{Catalogue, Fact, Frame, Order, Print, PrintId, Rooms, Row, named};
use project::words::{How, KeptBack, Wish, write, write_rows};
use project::{Error, Project, Result, TakeEvent};
use serde::Serialize;

/// Prints an error and gives the exit code.
fn ended(result: Result<Exit>) -> Exit {
    result.unwrap_or_else(|e| {
        say(&e.to_string());
        match e {
            project::Error::Owed(_) => Exit::WithProblems,
            _ => Exit::NothingDone,
        }
    })
}

/// Prints a result: JSON on request, otherwise text.
fn answer(project: &In, value: &impl Serialize, words: impl FnOnce() -> Vec<String>) -> Exit {
    match project.json {
        true => out::json(&serde_json::to_string_pretty(value).unwrap_or_default()),
        false => words().iter().for_each(|line| out::line(line)),
    }
    Exit::AllDone
}

fn reader(project: &In) -> Result<Project> {
    Project::open_to_read(&project.folder)
}

fn writer(project: &In) -> Result<Writer> {
    Project::open(&project.folder).map(Writer)
}

/// A project open for writing. When it closes, it reports which sidecars were set aside.
struct Writer(Project);

impl std::ops::Deref for Writer {
    type Target = Project;
    fn deref(&self) -> &Project {
        &self.0
    }
}

impl std::ops::DerefMut for Writer {
    fn deref_mut(&mut self) -> &mut Project {
        &mut self.0
    }
}

impl Drop for Writer {
    fn drop(&mut self) {
        self.0.asides().iter().for_each(|line| say(line));
    }
}

/// `fallside take`.
pub fn take(options: &Take) -> Exit {
    ended(run_take(options))
}

fn run_take(options: &Take) -> Result<Exit> {
    let mut project = Writer(Project::open_or_begin(&options.project.folder)?);
    let speaker = Speaker::new(false);
    speaker.calm();
    let json = options.project.json;
    let hear = |event: TakeEvent| match event {
        // A frame is reported when it is saved, not when it is finished.
        TakeEvent::Finishing(Event::Done { entry, done, of, .. }) => speaker.progress(entry, done, of),
        TakeEvent::Finishing(event) => speaker.hear(event),
        TakeEvent::Saved { frame, print, why } if json => {
            let line = serde_json::json!({ "frame": frame, "print": print, "why": why });
            out::json(&line.to_string());
        }
        TakeEvent::Saved { frame, print, why } => speaker.tell(&saved(frame, print, why)),
        TakeEvent::Reading { .. } | TakeEvent::InHand { .. } => {}
    };
    let taken = project::take(&mut project, &options.request(), &Frames::default(), &hear)?;
    speaker.stop();
    taken.lines().iter().filter(|_| json).for_each(|p| say(p));
    let mut words = vec![base::wording::count(taken.frames.len(), "frame taken", "frames taken")];
    if taken.known > 0 {
        words.push(format!("{} already known", taken.known));
    }
    say(&format!("{}.", words.join(", ")));
    Ok(taken.exit)
}

/// "F0009.jpg  P0004  reshoot  The print is overexposed."
fn saved(frame: &Frame, print: Option<PrintId>, why: &str) -> String {
    let verdict = frame.result.as_ref().map(|r| format!("  {}  {}", r.verdict, r.says)).unwrap_or_default();
    let marks = frame.result.as_ref().filter(|r| r.marks == "blank").map(|_| "blank ").unwrap_or_default();
    match (print, frame.role.as_str()) {
        (Some(print), "back") => format!("{}  {print}  {marks}back: {why}", frame.name),
        (Some(print), _) if why.starts_with("no print like it") => format!("{}  {print}{verdict}", frame.name),
        (Some(print), _) => format!("{}  {print}{verdict}  ({why})", frame.name),
        (None, role) if why.is_empty() => format!("{}  {role}{verdict}", frame.name),
        (None, role) => format!("{}  {role} without a print: {why}", frame.name),
    }
}

/// `fallside list`.
pub fn list(options: &List) -> Exit {
    ended(run_list(options))
}

fn run_list(options: &List) -> Result<Exit> {
    let project = reader(&options.project)?;
    let (at, it) = (&options.project, project.catalogue());
    Ok(match options.what {
        ListWord::Prints => rows(at, it, "", options.order.into())?,
        ListWord::Loose => frames(at, it.loose_frames()?),
        ListWord::Frames => frames(at, it.all_frames()?),
        ListWord::Boxes => {
            let all = it.holders()?;
            let line = |h: &catalogue::Holder| format!("{}  {}  {} prints", h.box_name, h.sleeve, h.prints);
            answer(at, &all, || all.iter().map(line).collect())
        }
        ListWord::Sittings => {
            let all = it.sittings()?;
            let line = |s: &catalogue::Sitting| {
                let (from, to) = (s.began.as_deref().unwrap_or("?"), s.ended.as_deref().unwrap_or("?"));
                format!("{}  {from} to {to}  {}  {} frames", s.id, s.camera, s.frames)
            };
            answer(at, &all, || all.iter().map(line).collect())
        }
        ListWord::Edits => {
            let all = it.edits()?;
            let line = |e: &catalogue::Edit| {
                let prints: Vec<String> = e.prints.iter().map(ToString::to_string).collect();
                format!("{}  {}  {}", e.name, e.kind, prints.join(" "))
            };
            answer(at, &all, || all.iter().map(line).collect())
        }
        ListWord::Stacks => stacks(at, it)?,
        ListWord::HandOffs => {
            let all = it.hand_offs()?;
            let line = |h: &catalogue::HandOff| format!("{}  {}  {}  {}", h.at, h.kind, h.place, named(&h.prints));
            answer(at, &all, || all.iter().map(line).collect())
        }
        ListWord::Searches => {
            let all: std::collections::BTreeMap<String, String> = it.saved_searches()?.into_iter().collect();
            answer(at, &all, || all.iter().map(|(name, line)| format!("{name}  {line}")).collect())
        }
        ListWord::History => {
            // As many as anybody will read at once.
            let all = it.history(200)?;
            let line = |e: &catalogue::Entry| {
                let state = if e.state == "done" { String::new() } else { format!(" ({})", e.state) };
                format!("{}  {}{state}", e.at, e.says)
            };
            answer(at, &all, || all.iter().map(line).collect())
        }
    })
}

fn frames(at: &In, all: Vec<Frame>) -> Exit {
    let line = |f: &Frame| {
        let print = f.print.map(|p| p.to_string()).unwrap_or_else(|| "-".into());
        let verdict = f.result.as_ref().map(|r| r.verdict.as_str()).unwrap_or("-");
        format!("{}  {}  {}  {print}  {verdict}", f.id.0, f.name, f.role)
    };
    answer(at, &all, || all.iter().map(line).collect())
}

/// `fallside find`.
pub fn find(options: &Find) -> Exit {
    let run = || {
        let line = options.line.join(" ");
        if let Some(name) = &options.save {
            writer(&options.project)?.change(&format!("Saved the search {name}"), |w| w.save_search(name, &line))?;
        }
        let project = reader(&options.project)?;
        rows(&options.project, project.catalogue(), &line, options.order.into())
    };
    ended(run())
}

fn rows(at: &In, it: &Catalogue, line: &str, order: Order) -> Result<Exit> {
    let found = it.search(line, order, 0, usize::MAX)?;
    let words = || {
        let mut lines: Vec<String> = found.rows.iter().map(row).collect();
        lines.push(base::wording::count(found.rows.len(), "print", "prints") + ".");
        lines
    };
    Ok(answer(at, &found.rows, words))
}

fn row(r: &Row) -> String {
    let verdict = r.verdict.as_deref().unwrap_or("-");
    let words: Vec<&str> =
        [r.title.as_str(), &r.date, &r.place, &r.box_name, &r.sleeve].into_iter().filter(|w| !w.is_empty()).collect();
    format!("{}  {verdict:7}  {:16}  {}", r.id, r.format, words.join(", "))
}

fn numbers(words: &[String]) -> Result<Vec<PrintId>> {
    Ok(words.iter().map(|w| w.parse::<PrintId>()).collect::<catalogue::Result<_>>()?)
}

/// `fallside describe`.
pub fn describe(options: &Describe) -> Exit {
    let run = || {
        if let Some(table) = &options.table {
            return describe_table(options, table);
        }
        let prints = numbers(&options.prints)?;
        let said = options.facts.said();
        let at = &options.project;
        if said.is_empty() {
            return show(at, &reader(at)?, &prints);
        }
        let wish = |(word, value): &(&str, &str)| {
            let fact = Fact::of(word)?;
            let many = fact.line().kind == catalogue::Kind::List;
            let how = match (options.add, options.remove) {
                (true, _) if many => How::Add,
                (_, true) if many => How::Remove,
                (false, false) => How::Set,
                _ => {
                    let says =
                        format!("Only lists, people and subject, are added to or removed from: leave --{word} out.");
                    return Err(catalogue::Error::refused(says));
                }
            };
            Ok(Wish { fact, how, value: (*value).to_owned(), seen: None })
        };
        let wishes: Vec<Wish> = said.iter().map(wish).collect::<catalogue::Result<_>>()?;
        let mut project = writer(at)?;
        let words: Vec<&str> = said.iter().map(|(word, _)| *word).collect();
        let says = format!("Described {}: {}", named(&prints), words.join(", "));
        let kept = write(&mut project, &says, &prints, &wishes)?;
        let exit = show(at, &project, &prints)?;
        Ok(told(&kept, wishes.len() * prints.len(), exit))
    };
    ended(run())
}

/// Tells what was kept back: everything, some of it or nothing of `of` values.
fn told(kept: &[KeptBack], of: usize, exit: Exit) -> Exit {
    for k in kept {
        let choices: Vec<&str> = k.choices.iter().map(|c| c.0.as_str()).collect();
        let choose = if choices.is_empty() { String::new() } else { format!(" Write {}.", choices.join(" or ")) };
        say(&format!("{}, {}: {}{choose}", named(&k.prints), k.fact.word(), k.why));
    }
    match kept.iter().map(|k| k.prints.len()).sum::<usize>() {
        0 => exit,
        all if all >= of => Exit::NothingDone,
        _ => Exit::WithProblems,
    }
}

fn describe_table(options: &Describe, place: &std::path::Path) -> Result<Exit> {
    let at = &options.project;
    let text = base::files::regular::text(place)
        .map_err(|e| project::Error::Refused(format!("{} could not be read: {e}.", place.display())))?;
    let mut project = writer(at)?;
    let (mut good, mut of, mut bad) = (vec![], 0, 0);
    for (line, row) in project::table(&text)? {
        let known = row.and_then(|(id, wishes)| match project.catalogue().print(id) {
            Ok(Some(_)) => Ok((vec![id], wishes)),
            Ok(None) => Err(format!("There is no print {id}.")),
            Err(e) => Err(e.to_string()),
        });
        match known {
            Ok(row) => {
                of += row.1.len();
                good.push(row);
            }
            Err(why) => {
                say(&format!("Line {line}: {why}"));
                bad += 1;
            }
        }
    }
    let prints: Vec<PrintId> = good.iter().flat_map(|r| r.0.clone()).collect();
    let kept = write_rows(&mut project, &format!("Described {} from a table", named(&prints)), &good)?;
    let exit = show(at, &project, &prints)?;
    let exit = told(&kept, of, if of == 0 { Exit::NothingDone } else { exit });
    Ok(if bad > 0 && exit == Exit::AllDone { Exit::WithProblems } else { exit })
}

/// `fallside privacy`.
pub fn privacy(options: &Privacy) -> Exit {
    let run = || {
        let at = &options.project;
        if let Some(word) = &options.word {
            writer(at)?.decide_unsaid_privacy(word)?;
        }
        let project = reader(at)?;
        let (decided, unsaid) = (project.unsaid_privacy()?, project.catalogue().without_privacy()?);
        let value = serde_json::json!({ "unsaid_means": decided, "prints_unsaid": unsaid });
        Ok(answer(at, &value, || {
            let prints = base::wording::count(unsaid as usize, "print says", "prints say");
            vec![match decided {
                Some(word) => format!("{prints} nothing of who may see it; that means {word}."),
                None => format!(
                    "{prints} nothing of who may see it, and nobody has decided what that means: names and places stay behind. \
                     Decide with fallside privacy open, ask or private."
                ),
            }]
        }))
    };
    ended(run())
}

fn show(at: &In, project: &Project, prints: &[PrintId]) -> Result<Exit> {
    let mut all: Vec<Print> = vec![];
    for id in prints {
        let Some(print) = project.catalogue().print(*id)? else {
            return Err(project::Error::Refused(format!("There is no print {id}.")));
        };
        all.push(print);
    }
    Ok(answer(at, &all, || all.iter().flat_map(sheet).collect()))
}

fn sheet(print: &Print) -> Vec<String> {
    let mut lines = vec![print.id.to_string()];
    let facts = print.facts.pairs().into_iter().filter(|(_, v)| !v.is_empty());
    for (fact, value) in facts {
        let words = (0..).zip(value.split('\n'));
        lines.extend(words.map(|(n, words)| format!("  {:12} {words}", if n == 0 { fact.word() } else { "" })));
    }
    for frame in &print.frames {
        let chosen =
            if print.front == Some(frame.id) { format!("  (chosen: {})", print.front_why) } else { String::new() };
        let verdict = frame.result.as_ref().map(|r| r.verdict.as_str()).unwrap_or("-");
        lines.push(format!("  {:12} {}  {verdict}  {}{chosen}", frame.role, frame.name, frame.print_why));
    }
    let lies = print.stacked.as_ref().and_then(|s| Some((s.stack?, s.place + 1, s.by == "rule")));
    lines.extend(lies.map(|(stack, place, proposed)| {
        format!("  {:12} {stack}, place {place}{}", "stack", if proposed { ", proposed" } else { "" })
    }));
    lines.extend(print.edits.iter().map(|e| format!("  {:12} {}, place {}", e.kind, e.edit, e.place + 1)));
    lines
}

/// The frame with a name or a number.
fn frame_of(project: &Project, word: &str) -> Result<Frame> {
    let it = project.catalogue();
    let by_number = word.parse().ok().map(|n| it.frame(catalogue::FrameId(n))).transpose()?.flatten();
    if let Some(frame) = by_number {
        return Ok(frame);
    }
    let mut found = it.frames_named(word)?;
    let refused = |text: String| Err(project::Error::Refused(text));
    match found.len() {
        0 => refused(format!("There is no frame “{word}”. To see all frames, run fallside list frames.")),
        1 => Ok(found.remove(0)),
        n => {
            let ids: Vec<String> = found.iter().map(|f| format!("{} ({})", f.id.0, f.path)).collect();
            refused(format!("There are {n} frames “{word}”. Give the number of one: {}.", ids.join(", ")))
        }
    }
}

/// `fallside pair`.
pub fn pair(options: &Pair) -> Exit {
    let run = || {
        let mut project = writer(&options.project)?;
        let print: PrintId = options.print.parse()?;
        let frame = frame_of(&project, &options.frame)?;
        if frame.print != Some(print) {
            project::pair(&mut project, frame.id, print)?;
        }
        if options.front {
            project.change(&format!("{} stands for {print}", frame.name), |w| {
                w.choose_front(print, frame.id, "a person chose it", "person")
            })?;
        }
        show(&options.project, &project, &[print])
    };
    ended(run())
}

/// `fallside unpair`.
pub fn unpair(options: &Unpair) -> Exit {
    let run = || {
        let mut project = writer(&options.project)?;
        let frame = frame_of(&project, &options.frame)?;
        if options.own {
            let print = project::split(&mut project, frame.id)?;
            return show(&options.project, &project, &[print]);
        }
        project::pair_off(&mut project, frame.id)?;
        let frame = project.catalogue().frame(frame.id)?;
        Ok(answer(&options.project, &frame, || vec![format!("{} no longer belongs to a print.", options.frame)]))
    };
    ended(run())
}

/// `fallside edit`.
pub fn edit(options: &Edit) -> Exit {
    ended(run_edit(&options.step))
}

fn run_edit(step: &EditStep) -> Result<Exit> {
    let place = |p: u32| p as usize - 1;
    let (at, name) = match step {
        EditStep::Add { name, prints, at, kind, project } => {
            let prints = numbers(prints)?;
            project::edit(&mut *writer(project)?, name, kind.map(|k| k.word()), &prints, at.map(place))?;
            (project, name)
        }
        EditStep::Remove { name, prints, project } => {
            let prints = numbers(prints)?;
            writer(project)?
                .change(&format!("Out of the edit {name}: {}", named(&prints)), |w| w.take_out(name, &prints))?;
            (project, name)
        }
        EditStep::Move { name, print, place: to, project } => {
            let print: PrintId = print.parse()?;
            writer(project)?
                .change(&format!("Moved {print} to place {to} of {name}"), |w| w.move_in(name, print, place(*to)))?;
            (project, name)
        }
        EditStep::Order { name, prints, project } => {
            let prints = numbers(prints)?;
            writer(project)?.change(&format!("Put the edit {name} in order"), |w| w.set_order(name, &prints))?;
            (project, name)
        }
        EditStep::Rename { name, to, project } => {
            writer(project)?.change(&format!("Called the edit {name} {to}"), |w| w.rename_edit(name, to))?;
            (project, to)
        }
        EditStep::Drop { name, project } => {
            writer(project)?.change(&format!("Took the edit {name} away"), |w| w.drop_edit(name))?;
            (project, name)
        }
    };
    let edit = reader(at)?.catalogue().edit(name)?;
    Ok(answer(at, &edit, || match &edit {
        Some(e) => e.prints.iter().enumerate().map(|(i, p)| format!("{:3}  {p}", i + 1)).collect(),
        None => vec![],
    }))
}

/// `fallside stack`.
pub fn stack(options: &Stack) -> Exit {
    let run = || {
        let (at, did) = match &options.step {
            StackStep::Put { prints, project } => (project, project::stack(&mut *writer(project)?, &numbers(prints)?)?),
            StackStep::Lift { prints, project } => (project, project::lift(&mut *writer(project)?, &numbers(prints)?)?),
            StackStep::Propose { project } => (project, project::propose(&mut *writer(project)?)?),
        };
        say(&format!("{did}."));
        stacks(at, reader(at)?.catalogue())
    };
    ended(run())
}

fn stacks(at: &In, it: &Catalogue) -> Result<Exit> {
    let all = it.stacks()?;
    let line = |s: &catalogue::Stack| {
        let prints: Vec<String> = s.prints.iter().map(ToString::to_string).collect();
        format!("{}  {}{}", s.number, prints.join(" "), if s.proposed { "  proposed" } else { "" })
    };
    Ok(answer(at, &all, || all.iter().map(line).collect()))
}

/// `fallside undo`.
pub fn undo(options: &Undo) -> Exit {
    let run = || {
        let mut project = writer(&options.project)?;
        let entry = project::step(&mut project, options.redo, &Rooms::All, &Frames::default())?;
        let word = if options.redo { "Redone" } else { "Undone" };
        Ok(answer(&options.project, &entry, || match &entry {
            Some(entry) => vec![format!("{word}: {}.", entry.says)],
            None => vec![format!("There is nothing to {}.", if options.redo { "redo" } else { "undo" })],
        }))
    };
    ended(run())
}

/// `fallside light`.
pub fn light(options: &Light) -> Exit {
    let run = || {
        match (&options.name, &options.light) {
            (Some(name), _) if options.delete => writer(&options.project)?.drop_light(name)?,
            (Some(name), Some(numbers)) => drop(writer(&options.project)?.name_light(name, numbers)?),
            _ => {}
        }
        let mut lights = Project::open_to_read(&options.project.folder)?.lights()?;
        if let (Some(name), false) = (&options.name, options.delete) {
            lights.retain(|l| l.is_called(name));
            if lights.is_empty() {
                return Err(Error::Refused(format!("This project has no light called “{name}”.")));
            }
        }
        Ok(answer(&options.project, &lights, || match lights.is_empty() {
            true => vec!["This project has no lights of its own. Name one: fallside light NAME AZ,EL,SIZE.".into()],
            false => lights.iter().map(finish::light::ChosenLight::says).collect(),
        }))
    };
    ended(run())
}

/// `fallside rebuild`.
pub fn rebuild(options: &Rebuild) -> Exit {
    let run = || {
        let rebuilt = project::rebuild(&options.project.folder)?;
        rebuilt.problems.iter().for_each(|p| say(p));
        let value = serde_json::json!({
            "frames": rebuilt.frames, "prints": rebuilt.prints, "sidecars": rebuilt.sidecars,
            "problems": rebuilt.problems, "old": rebuilt.old,
        });
        answer(&options.project, &value, || {
            let mut words = vec![format!(
                "The catalogue is rebuilt: {} prints, {} frames, from {} sidecars.",
                rebuilt.prints, rebuilt.frames, rebuilt.sidecars
            )];
            words.extend(rebuilt.old.iter().map(|o| format!("The old catalogue is kept as {o}.")));
            words
        });
        Ok(if rebuilt.problems.is_empty() { Exit::AllDone } else { Exit::WithProblems })
    };
    ended(run())
}

/// `fallside backup`.
pub fn backup(options: &Backup) -> Exit {
    let run = || {
        let project = reader(&options.project)?;
        let wrong = if options.check { project.catalogue().check()? } else { vec![] };
        wrong.iter().for_each(|line| say(line));
        if !wrong.is_empty() {
            return Err(project::Error::Refused(
                "The catalogue is damaged, so no backup was made. Restore an older backup, or run fallside rebuild."
                    .into(),
            ));
        }
        let place = project.backup(options.to.as_deref())?;
        let value = serde_json::json!({ "backup": place.display().to_string(), "checked": options.check });
        Ok(answer(&options.project, &value, || vec![format!("Catalogue backed up to {}.", place.display())]))
    };
    ended(run())
}
