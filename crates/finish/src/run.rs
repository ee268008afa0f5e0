//! The order of a run: gather, look, give roles, finish, write the page.

use crate::Role;
use crate::assignment::{Planned, plan};
use crate::finding::Aim;
use crate::first_look::look_at_all;
use crate::job::Work;
use crate::judge::judge;
use crate::measured::Measured;
use crate::memory_budget::{Budget, bytes_for, quarter_of_memory};
use crate::named_files::References;
use crate::outcome::{Ordered, Tell};
use crate::report::Report;
use crate::results;
use crate::sitting_state::Memory;
use crate::sources::{Gathered, Source, gather};
use crate::store::Store;
use crate::{Answer, Entry, Event, Outcome, Request};
use base::Exit;
use base::Failure;
use base::files::Originals;
use base::workers::{guarded, in_parallel, lock};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

/// Finishes the frames of `request` with `work` and reports events to `tell`.
pub fn finish(request: &Request, work: &dyn Work, tell: Tell) -> Answer {
    let found = match &request.project {
        Some(project) => known(&project.sources),
        None => gather(&request.inputs, &request.out),
    };
    found.says.iter().for_each(|s| tell(Event::Says(s.clone())));
    let mut problems = found.problems;
    problems.iter().for_each(|p| tell(Event::Problem(p.clone())));
    if let Some(name) = unknown(&request.settings.formats) {
        let known: Vec<String> = print::format::known().into_iter().map(|f| f.name).collect();
        return refuse(
            tell,
            format!("There is no format {name}. Use {}, or give a size with --plain.", known.join(", ")),
        );
    }
    let folders = found.folders.clone();
    let mut originals = originals(request, &found.sources, &folders);
    if let Err(e) = originals.refuse_folder(&request.out) {
        return refuse(tell, e.to_string());
    }
    if found.sources.is_empty() {
        if problems.is_empty() {
            let named: Vec<String> = request.inputs.iter().map(|p| p.display().to_string()).collect();
            problems.push(format!("There are no pictures in {}.", named.join(", ")));
            tell(Event::Problem(problems[0].clone()));
        }
        return Answer { problems, ..Answer::nothing(String::new()) };
    }
    for back in strays(&request.backs, &found.sources) {
        problems.push(format!("{}: given as a back, but it is not among the frames to finish.", back.display()));
        tell(Event::Problem(problems[problems.len() - 1].clone()));
    }
    let mut references = match References::read(request) {
        Ok(references) => references,
        Err(line) => return refuse(tell, line),
    };
    // A project folder contains results of many sittings, so a sitting there is defined by its own frames only.
    let remembers = request.project.is_none();
    let read = if remembers { Memory::read(&found.folders, &request.out) } else { Ok(Default::default()) };
    let (memory, says) = match read {
        Ok(read) => read,
        Err(line) => return refuse(tell, line),
    };
    says.into_iter().for_each(|line| tell(Event::Says(line)));
    let store = match Store::open(&request.out, &originals, remembers) {
        Ok(store) => store,
        Err(e) => return refuse(tell, e.to_string()),
    };
    // Reading uses one core: given blanks are read in parallel with the first looks, unless an earlier run makes this unnecessary.
    let (frames, failed) = std::thread::scope(|scope| {
        if !store.has_looks() {
            scope.spawn(|| {
                let prepared = || {
                    references.prepare(work);
                    Ok(())
                };
                // The frame that needs the blank reports its error.
                let _ = guarded(prepared);
            });
        }
        look_at_all(found.sources, &store, request.project.is_some(), work, tell)
    });
    let unusable = references.leave_out_unusable(&frames, work);
    unusable.iter().for_each(|line| tell(Event::Problem(line.clone())));
    problems.extend(unusable);
    let (jobs, run) = plan(request, &store, &references, &memory, &frames, work, tell);
    // Only now are all output names known.
    jobs.iter().flat_map(|j| j.job.reads()).for_each(|r| originals.add_file(r));
    let writes = || jobs.iter().flat_map(|j| j.job.outputs.all()).flat_map(|o| [&o.place, &o.part]);
    if let Err(e) = writes().try_for_each(|place| originals.refuse(place)) {
        return refuse(tell, e.to_string());
    }
    let names = jobs.iter().map(|j| (j.stem.as_str(), j.job.blake3.as_str()));
    if remembers && let Err(e) = store.claims.clone().note(&request.out, folders.iter().map(PathBuf::as_path), names) {
        return refuse(tell, e.to_string());
    }
    let mut entries = finish_all(request, &store, jobs, failed, work, tell);
    entries.sort_by_key(|(order, e)| (*order, e.part.map(|p| p.number)));
    let entries: Vec<Entry> = entries.into_iter().map(|(_, e)| e).collect();
    if remembers && let Err(e) = memory.sitting(request, &run, &entries).write(&request.out) {
        tell(Event::Problem(e.to_string()));
        problems.push(e.to_string());
    }
    let unused = references.unused(&entries);
    unused.iter().for_each(|line| tell(Event::Problem(line.clone())));
    problems.extend(unused);
    let page = match page(request, &entries) {
        Ok(page) => page,
        Err(e) => {
            tell(Event::Problem(e.to_string()));
            problems.push(e.to_string());
            None
        }
    };
    let exit = exit_of(&entries, &problems);
    Answer { entries, problems, page, exit }
}

/// Exposures gathered by the caller.
fn known(sources: &[Source]) -> Gathered {
    let folders = sources.iter().filter_map(|s| s.path.parent().map(Path::to_owned)).collect();
    Gathered { sources: sources.to_vec(), folders, ..Gathered::default() }
}

fn page(request: &Request, entries: &[Entry]) -> Result<Option<PathBuf>, Failure> {
    match request.project {
        Some(_) => Ok(None),
        None => crate::page::write(&request.out, entries, request.settings.aim).map(Some),
    }
}

fn refuse(tell: Tell, line: String) -> Answer {
    tell(Event::Problem(line.clone()));
    Answer::nothing(line)
}

fn exit_of(entries: &[Entry], problems: &[String]) -> Exit {
    let failed = entries.iter().filter(|e| matches!(e.outcome, Outcome::Failed(_))).count();
    match (failed == entries.len(), failed + problems.len()) {
        (true, _) => Exit::NothingDone,
        (false, 0) => Exit::AllDone,
        (false, _) => Exit::WithProblems,
    }
}

/// The first of these names that is not a format.
fn unknown(names: &[String]) -> Option<&String> {
    let known = print::format::known();
    names.iter().find(|n| known.iter().all(|f| f.name != **n))
}

/// The given files that are not among the sources.
fn strays<'a>(named: &'a [PathBuf], sources: &[Source]) -> Vec<&'a PathBuf> {
    let real = |p: &Path| p.canonicalize().ok();
    let held: BTreeSet<PathBuf> = match named.is_empty() {
        true => BTreeSet::new(),
        false => sources.iter().filter_map(|s| real(&s.path)).collect(),
    };
    named.iter().filter(|n| real(n).is_none_or(|n| !held.contains(&n))).collect()
}

/// All input files known before the first look.
fn originals(request: &Request, sources: &[Source], folders: &[PathBuf]) -> Originals {
    let mut originals = Originals::default();
    sources.iter().flat_map(|s| std::iter::once(&s.path).chain(&s.twins)).for_each(|f| originals.add_file(f));
    // A folder named with a bare file's name is empty and means here.
    let here = |f: &Path| if f.as_os_str().is_empty() { PathBuf::from(".") } else { f.to_owned() };
    folders.iter().for_each(|f| originals.add_folder(&here(f)));
    request.inputs.iter().filter(|f| f.is_dir()).for_each(|f| originals.add_folder(f));
    let named = [&request.chart, &request.chart_values, &request.ambient].into_iter().flatten();
    named.chain(&request.blanks).chain(&request.backs).chain(&request.counters).for_each(|f| originals.add_file(f));
    originals
}

fn finish_all(
    request: &Request,
    store: &Store,
    jobs: Vec<Planned>,
    failed: Vec<Ordered>,
    work: &dyn Work,
    tell: Tell,
) -> Vec<Ordered> {
    let of = jobs.len() + failed.len();
    // A frame lit from the other side that is joined with none is a print like any other.
    let serves = |j: &&Planned| j.job.role != Role::Counter || j.job.recipe.second_of.is_some();
    let count = |role: Role| jobs.iter().filter(|j| j.job.role == role).filter(serves).count();
    let others =
        [Role::Back, Role::Blank, Role::Chart, Role::Ruler, Role::Counter, Role::Ambient].map(|r| (r, count(r)));
    tell(Event::Begins {
        prints: jobs.iter().filter(|j| j.job.role.holds_print() && j.job.recipe.second_of.is_none()).count(),
        others: others.into_iter().filter(|(_, n)| *n > 0).collect(),
        already: jobs.iter().filter(|j| j.already.is_some()).count(),
        of,
    });
    let done: Mutex<Vec<Ordered>> = Mutex::new(vec![]);
    let add = |order: usize, entry: Entry, report: Option<PathBuf>| {
        let mut done = lock(&done);
        tell(Event::Done { entry: &entry, done: done.len() + 1, of, report });
        done.push((order, entry));
    };
    failed.into_iter().for_each(|(order, entry)| add(order, entry, None));
    let budget = Budget::new(request.memory.unwrap_or_else(quarter_of_memory));
    let stop: Mutex<Option<Failure>> = Mutex::new(None);
    let finish_part = |planned: &Planned| {
        let entry = |outcome| Entry {
            path: planned.job.path.clone(),
            stem: planned.stem.clone(),
            part: planned.job.recipe.part,
            outcome,
        };
        let place = planned.job.outputs.report.place.clone();
        if let Some(report) = &planned.already {
            return add(planned.order, entry(Outcome::Already(Box::new(report.clone()))), Some(place));
        }
        if lock(&stop).is_some() {
            return add(planned.order, entry(Outcome::Failed("Not started: the run stopped.".into())), None);
        }
        match finish_one(planned, work, request.settings.aim, tell) {
            Ok(report) => add(planned.order, entry(Outcome::Finished(Box::new(report))), Some(place)),
            Err(e) => {
                results::clear(&planned.job.outputs);
                add(planned.order, entry(Outcome::Failed(e.to_string())), None);
                if e.stops_the_run {
                    lock(&stop).get_or_insert(e);
                }
            }
        }
    };
    // The prints of one frame are finished one after the other, so that the frame is read once.
    in_parallel(&by_frame(jobs), |parts| {
        let idle = parts.iter().all(|p| p.already.is_some());
        let held = (!idle).then(|| budget.take(parts[0].job.frames_held() * bytes_for(&parts[0].job.look)));
        parts.iter().for_each(finish_part);
        drop(held);
        let stems: Vec<&str> = parts.iter().map(|p| p.stem.as_str()).collect();
        if lock(&stop).is_none() {
            store.clear_division(&parts[0].of_frame, &parts[0].job.blake3, &stems);
        }
    });
    done.into_inner().unwrap_or_else(PoisonError::into_inner)
}

/// Groups the work by frame, and records for each print whether another print of its frame follows.
fn by_frame(jobs: Vec<Planned>) -> Vec<Vec<Planned>> {
    let mut frames: Vec<Vec<Planned>> = vec![];
    for job in jobs {
        match frames.last_mut().filter(|f| f[0].order == job.order) {
            Some(frame) => frame.push(job),
            None => frames.push(vec![job]),
        }
    }
    for parts in &mut frames {
        let mut more = false;
        for part in parts.iter_mut().rev() {
            part.job.more = more;
            more |= part.already.is_none();
        }
    }
    frames
}

fn finish_one(planned: &Planned, work: &dyn Work, aim: Aim, tell: Tell) -> Result<Report, Failure> {
    let judged = |report: &Report| tell(Event::Judged { path: &planned.job.path, stem: &planned.stem, report });
    let mut report = guarded(|| work.finish(&planned.job, &judged))?.report;
    planned.job.unchanged()?;
    if planned.job.role == Role::Blank && !planned.empty_is_meant {
        let mut findings = std::mem::take(&mut report.findings);
        findings.extend(judge(&Measured::default(), aim));
        report = report.judged(findings);
    }
    report.add_run_notes(&planned.notes);
    results::seal(&planned.job.outputs, &mut report)?;
    results::settle(&planned.job.outputs, &report)?;
    Ok(report)
}
