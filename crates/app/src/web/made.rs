//! Files that were handed on, shown as they are: each kind with a policy of its own, the strictest that shows it.

use axum::body::{Body, Bytes};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use desk::MadeFile;
use std::io::Read;
use tokio::sync::mpsc;
use tokio_stream::wrappers::ReceiverStream;

/// Bytes read at once: a book may have hundreds of millions.
const PIECE: usize = 256 * 1024;
/// Pieces read ahead of whoever fetches them.
const AHEAD: usize = 4;

/// A file as an answer; `home` is the address of its hand-off, which ends in a slash.
pub fn answer(made: MadeFile, home: &str) -> Response {
    let head = [
        (header::CONTENT_TYPE, made.kind.to_owned()),
        (header::CONTENT_LENGTH, made.len.to_string()),
        (header::CONTENT_SECURITY_POLICY, policy(made.kind, home)),
    ];
    (head, body(made)).into_response()
}

/// What a file of a kind may do (Content Security Policy Level 3): never ask for anything outside its own hand-off.
fn policy(kind: &str, home: &str) -> String {
    let nothing = "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'self'";
    match kind.split(';').next().unwrap_or_default() {
        // The gallery: its one script, which is served only if it is ours; its sizes in style attributes; its letters inside its
        // style sheet; ways from page to page inside the frame and no others.
        "text/html" => format!(
            "{nothing}; script-src {home}look/look.js; style-src {home}look/look.css; style-src-attr 'unsafe-inline'; \
             img-src {home} data:; font-src data:; sandbox allow-scripts allow-same-origin"
        ),
        "image/svg+xml" => format!("{nothing}; img-src data:; sandbox"),
        // The browser's own reader of PDF shows it as an object on a page of its own, with that page's style.
        "application/pdf" => format!("{nothing}; object-src 'self'; style-src 'unsafe-inline'"),
        _ => format!("{nothing}; sandbox"),
    }
}

/// The file piece by piece, read on a thread that may wait.
fn body(mut made: MadeFile) -> Body {
    let (send, pieces) = mpsc::channel::<std::io::Result<Bytes>>(AHEAD);
    tokio::task::spawn_blocking(move || {
        let mut left = made.len;
        while left > 0 {
            let mut piece = vec![0; PIECE.min(usize::try_from(left).unwrap_or(PIECE))];
            let read = made.file.read_exact(&mut piece);
            left -= piece.len() as u64;
            let ended = read.is_err();
            // Whoever fetched it went away, or the file became shorter meanwhile.
            if send.blocking_send(read.map(|()| piece.into())).is_err() || ended {
                return;
            }
        }
    });
    Body::from_stream(ReceiverStream::new(pieces))
}
