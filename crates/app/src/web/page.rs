//! The page inside this program: what `scripts/web build` left in `web/dist`.

use super::answer::missing;
use axum::extract::Path;
use axum::http::{Method, Uri, header};
use axum::response::{IntoResponse, Response};

#[derive(rust_embed::RustEmbed)]
#[folder = "../../web/dist"]
#[allow_missing = true]
struct Page;

/// What is shown where the page was not built into this program.
const UNBUILT: &str = "<!doctype html><meta charset=\"utf-8\"><title>Fallside</title>\
    <p>This program was built without its page. Run <code>scripts/web build</code>, then build it again.";

/// First parts of paths that are not rooms of the page.
const NO_ROOMS: [&str; 6] = ["api", "assets", "card", "events", "made", "picture"];

/// The page itself, whichever room of it was asked for: the page knows its rooms. A room is one word, and may show one thing.
pub async fn room(method: Method, uri: Uri) -> Response {
    if method != Method::GET || !is_room(uri.path()) {
        return missing("There is nothing at this address.");
    }
    match Page::get("index.html") {
        Some(file) => ([(header::CONTENT_TYPE, "text/html; charset=utf-8")], file.data).into_response(),
        None => ([(header::CONTENT_TYPE, "text/html; charset=utf-8")], UNBUILT).into_response(),
    }
}

/// True for `/`, `/rig`, `/print/17`: never for what could be a file.
fn is_room(path: &str) -> bool {
    let mut parts = path.trim_start_matches('/').split('/');
    let room = parts.next().unwrap_or_default();
    let shown = parts.next();
    let word = |c: char| c.is_ascii_alphanumeric() || c == '-';
    room.chars().all(|c| c.is_ascii_lowercase())
        && !NO_ROOMS.contains(&room)
        && shown.is_none_or(|s| !room.is_empty() && !s.is_empty() && s.chars().all(word))
        && parts.next().is_none()
}

/// The page of the paired device: a code first, then the stand.
pub async fn guest() -> Response {
    match Page::get("guest.html") {
        Some(file) => ([(header::CONTENT_TYPE, "text/html; charset=utf-8")], file.data).into_response(),
        None => ([(header::CONTENT_TYPE, "text/html; charset=utf-8")], UNBUILT).into_response(),
    }
}

/// A file of the device's page, which is not the desk's own script.
pub async fn guest_asset(Path(name): Path<String>) -> Response {
    if name.starts_with("desk-") { missing("There is no such file.") } else { asset(Path(name)).await }
}

/// A file of the page. Its name carries a hash of what it holds.
pub async fn asset(Path(name): Path<String>) -> Response {
    let Some(file) = Page::get(&format!("assets/{name}")) else { return missing("There is no such file.") };
    let kind = match name.rsplit('.').next() {
        Some("js") => "text/javascript",
        Some("css") => "text/css",
        Some("woff2") => "font/woff2",
        Some("svg") => "image/svg+xml",
        _ => "application/octet-stream",
    };
    ([(header::CONTENT_TYPE, kind), (header::CACHE_CONTROL, "max-age=31536000, immutable")], file.data).into_response()
}

#[cfg(test)]
mod tests {
    use super::is_room;

    #[test]
    fn rooms_are_words_and_never_files() {
        for path in ["/", "/table", "/print/17", "/hand/2026-11-26-share-tight"] {
            assert!(is_room(path), "{path}");
        }
        for path in
            ["/fallside.db", "/print/a/b", "/api/nothing", "/made/", "/print/", "/print/..", "/assets", "/..", "/a%2fb"]
        {
            assert!(!is_room(path), "{path}");
        }
    }
}
