//! Progress of a run: a bar on a terminal, plain lines elsewhere, JSON on request.

use base::wording::{count, duration, plain};
use finish::Role;
use finish::{Answer, Entry, Event, Outcome};
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use serde::Serialize;
use std::io::IsTerminal;
use std::path::Path;
use std::sync::Mutex;
use std::time::{Duration, Instant};

/// Reports the progress of a run.
pub struct Speaker {
    json: bool,
    bar: ProgressBar,
    pace: Mutex<Pace>,
}

/// Time per frame finished in this run, to estimate the time left.
#[derive(Default)]
struct Pace {
    begun: Option<Instant>,
    finished: usize,
}

impl Pace {
    /// Seconds left for `left` frames at the pace so far.
    fn left(&self, left: usize) -> Option<f64> {
        let spent = self.begun?.elapsed().as_secs_f64();
        (self.finished > 0).then(|| spent / self.finished as f64 * left as f64)
    }
}

impl Speaker {
    /// Reports to standard error, and to standard output if `json` is set.
    pub fn new(json: bool) -> Self {
        let target =
            if std::io::stderr().is_terminal() { ProgressDrawTarget::stderr() } else { ProgressDrawTarget::hidden() };
        let bar = ProgressBar::with_draw_target(Some(0), target);
        if let Ok(style) = ProgressStyle::with_template("{msg}\n{bar:32} {prefix}") {
            bar.set_style(style.progress_chars("━╸ "));
        }
        Self { json, bar, pace: Mutex::default() }
    }

    /// A line above the bar.
    fn line(&self, text: &str) {
        if self.bar.is_hidden() {
            crate::say(text);
        } else {
            self.bar.println(plain(text));
        }
    }

    /// Reports an event of the run.
    pub fn hear(&self, event: Event) {
        match event {
            Event::Says(text) | Event::Problem(text) => self.line(&text),
            Event::Looked { done, of } => {
                self.bar.set_length(of as u64);
                self.bar.set_position(done as u64);
                self.bar.set_message("Looking at every frame once");
                self.bar.set_prefix(format!("{done} of {of}"));
            }
            Event::Begins { prints, others, already, of } => {
                let mut words = vec![count(prints, "print", "prints")];
                words.extend(others.iter().map(|(role, n)| format!("{n} {}", role.word())));
                self.line(&words.join(", "));
                if already > 0 {
                    self.line(&format!("{already} already finished and unchanged"));
                }
                self.bar.set_length(of as u64);
                self.bar.set_position(0);
                self.lock().begun = Some(Instant::now());
            }
            Event::Judged { .. } => {}
            Event::Done { entry, done, of, report } => self.done(entry, done, of, report.as_deref()),
        }
    }

    /// One more frame of a take: moves the bar, and prints a line if the frame failed. [`Speaker::tell`] reports saved frames.
    pub fn progress(&self, entry: &Entry, done: usize, of: usize) {
        self.bar.set_position(done as u64);
        self.bar.set_prefix(format!("{done} of {of}"));
        if matches!(entry.outcome, Outcome::Failed(_)) {
            self.line(&sentence(entry));
        }
    }

    /// Prints a line and shows it above the bar.
    pub fn tell(&self, text: &str) {
        self.bar.set_message(plain(text));
        self.line(text);
    }

    /// Removes the bar.
    pub fn stop(&self) {
        self.bar.finish_and_clear();
    }

    fn lock(&self) -> std::sync::MutexGuard<'_, Pace> {
        self.pace.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
    }

    fn done(&self, entry: &Entry, done: usize, of: usize, report: Option<&Path>) {
        if self.json {
            self.json_line(entry, report);
        }
        let left = {
            let mut pace = self.lock();
            if matches!(entry.outcome, Outcome::Finished(_)) {
                pace.finished += 1;
            }
            pace.left(of - done)
        };
        let words = sentence(entry);
        let time = left.filter(|_| done < of).map(|s| format!(", about {} left", duration(s))).unwrap_or_default();
        self.bar.set_position(done as u64);
        self.bar.set_prefix(format!("{done} of {of}{time}"));
        self.bar.set_message(plain(&words));
        // Unchanged frames share one line. Without a bar every other frame gets a line; with a bar only frames with findings do.
        let trouble = !matches!(&entry.outcome, Outcome::Already(_)) && !is_quiet(entry);
        match &entry.outcome {
            Outcome::Already(_) => {}
            _ if self.bar.is_hidden() => self.line(&format!("{done} of {of}{time}: {words}")),
            _ if trouble => self.line(&words),
            _ => {}
        }
    }

    fn json_line(&self, entry: &Entry, report: Option<&Path>) {
        let text = serde_json::to_string(&Line::of(entry, report)).unwrap_or_default();
        crate::out::json(&text);
    }

    /// Prints the summary.
    pub fn end(&self, answer: &Answer) {
        self.bar.finish_and_clear();
        let [keep, look, reshoot] = answer.verdicts();
        let failed = answer.entries.iter().filter(|e| matches!(e.outcome, Outcome::Failed(_))).count();
        if answer.entries.is_empty() {
            return;
        }
        let mut words = vec![format!("{keep} keep"), format!("{look} look"), format!("{reshoot} reshoot")];
        if answer.unusable() > 0 {
            words.push(format!("{} unusable", answer.unusable()));
        }
        if failed > 0 {
            words.push(format!("{failed} not finished"));
        }
        let page = answer.page.as_ref().map(|p| format!(" Open {}", p.display())).unwrap_or_default();
        self.line(&format!("{}.{page}", words.join(", ")));
    }

    /// Redraws the bar slowly while a long frame is in progress: nothing on screen should blink.
    pub fn calm(&self) {
        self.bar.enable_steady_tick(Duration::from_millis(500));
    }
}

fn is_quiet(entry: &Entry) -> bool {
    entry.outcome.report().is_some_and(|r| r.verdict.is_well())
}

/// "F0005.jpg  reshoot  The window mirrors the ceiling over a tenth of the picture."
fn sentence(entry: &Entry) -> String {
    let name = entry.path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    match &entry.outcome {
        Outcome::Failed(line) => format!("{name}  not finished  {line}"),
        Outcome::Finished(r) | Outcome::Already(r) => {
            let says = r.findings.first().map(|f| &f.says).or(r.service.as_ref());
            let worst = says.map(|s| format!("  {s}")).unwrap_or_default();
            let role = if r.shows_print() { String::new() } else { format!(" ({})", r.frame.role.word()) };
            format!("{name}  {}{role}{worst}", r.verdict.word())
        }
    }
}

/// One frame as `--json` writes it.
#[derive(Serialize)]
struct Line<'a> {
    frame: String,
    state: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    verdict: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    role: Option<Role>,
    findings: Vec<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    report: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    says: Option<&'a str>,
}

impl<'a> Line<'a> {
    fn of(entry: &'a Entry, report: Option<&Path>) -> Self {
        let r = entry.outcome.report();
        let (state, says) = match &entry.outcome {
            Outcome::Finished(_) => ("finished", None),
            Outcome::Already(_) => ("already", None),
            Outcome::Failed(line) => ("failed", Some(line.as_str())),
        };
        Self {
            frame: entry.path.display().to_string(),
            state,
            verdict: r.map(|r| r.verdict.word()),
            role: r.map(|r| r.frame.role),
            findings: r.map(|r| r.findings.iter().map(|f| f.code.word()).collect()).unwrap_or_default(),
            report: report.map(|p| p.display().to_string()),
            says,
        }
    }
}
