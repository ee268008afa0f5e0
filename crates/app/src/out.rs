//! What reaches the terminal: sentences on standard error, answers on standard output.
//!
//! Names of files and words of other people stand in nearly every line. No control character of theirs reaches the terminal, where it
//! could move the cursor, recolour or hide text: [`base::wording::plain`] writes each as an escape that can be read. An answer that
//! could not be written, to a full disk for example, is remembered, and the process then ends with an exit code of problems.

use base::wording::{is_unsafe, plain};
use std::io::{ErrorKind, Write};
use std::sync::{Mutex, PoisonError};

/// Why an answer could not be written: the first reason.
static LOST: Mutex<Option<String>> = Mutex::new(None);

/// One sentence to standard error. A closed pipe is the reader's wish, not a fault.
pub fn say(text: &str) {
    let _ = writeln!(std::io::stderr(), "{}", plain(text));
}

/// One line of an answer.
pub fn line(text: &str) {
    put(&format!("{}\n", plain(text)));
}

/// An answer of several lines, which holds no name in which a line could end.
pub fn text(text: &str) {
    let lines: Vec<String> = text.split('\n').map(plain).collect();
    put(&lines.join("\n"));
}

/// An answer in JSON, ended by a line's end. JSON escapes controls under U+0020 only; those above are escaped here, as it allows.
pub fn json(text: &str) {
    let mut out = String::with_capacity(text.len() + 1);
    for c in text.trim_end().chars() {
        match c {
            '\n' => out.push(c),
            c if is_unsafe(c) => out.push_str(&format!("\\u{:04x}", u32::from(c))),
            c => out.push(c),
        }
    }
    out.push('\n');
    put(&out);
}

fn put(text: &str) {
    let mut out = std::io::stdout().lock();
    note(out.write_all(text.as_bytes()).and_then(|()| out.flush()));
}

fn note(written: std::io::Result<()>) {
    // A closed pipe is the reader's wish, not a fault.
    if let Err(e) = written.or_else(|e| if e.kind() == ErrorKind::BrokenPipe { Ok(()) } else { Err(e) }) {
        let why = match e.kind() {
            ErrorKind::StorageFull | ErrorKind::QuotaExceeded => "the disk is full".into(),
            _ => e.to_string(),
        };
        LOST.lock().unwrap_or_else(PoisonError::into_inner).get_or_insert(why);
    }
}

/// Why an answer could not be written, where one could not.
pub fn lost() -> Option<String> {
    LOST.lock().unwrap_or_else(PoisonError::into_inner).clone()
}
