//! Terminal output: messages on standard error, results on standard output.
//!
//! Nearly every line contains file names and other people's text. Control characters in them could move the cursor, recolour or hide
//! text, so [`base::wording::plain`] escapes each one. If a result cannot be written, for example because the disk is full, the
//! failure is recorded and the process ends with the exit code for problems.

use base::wording::{is_unsafe, plain};
use std::io::{ErrorKind, Write};
use std::sync::{Mutex, PoisonError};

/// Why a result could not be written: the first reason.
static LOST: Mutex<Option<String>> = Mutex::new(None);

/// Prints one message on standard error. A closed pipe is not an error: the reader has stopped reading.
pub fn say(text: &str) {
    let _ = writeln!(std::io::stderr(), "{}", plain(text));
}

/// Prints one line of a result.
pub fn line(text: &str) {
    put(&format!("{}\n", plain(text)));
}

/// Prints a result of several lines. It contains no name with a line break.
pub fn text(text: &str) {
    let lines: Vec<String> = text.split('\n').map(plain).collect();
    put(&lines.join("\n"));
}

/// Prints a JSON result and a line break. JSON requires escapes for controls below U+0020 only; this also escapes those above.
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
    // A closed pipe is not an error: the reader has stopped reading.
    if let Err(e) = written.or_else(|e| if e.kind() == ErrorKind::BrokenPipe { Ok(()) } else { Err(e) }) {
        let why = match e.kind() {
            ErrorKind::StorageFull | ErrorKind::QuotaExceeded => "the disk is full".into(),
            _ => e.to_string(),
        };
        LOST.lock().unwrap_or_else(PoisonError::into_inner).get_or_insert(why);
    }
}

/// Why a result could not be written, if one was not.
pub fn lost() -> Option<String> {
    LOST.lock().unwrap_or_else(PoisonError::into_inner).clone()
}
