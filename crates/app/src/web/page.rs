//! The page inside this program: what `scripts/web build` left in `web/dist`.

use super::answer::missing;
use axum::extract::Path;
use axum::http::header;
use axum::response::{IntoResponse, Response};

#[derive(rust_embed::RustEmbed)]
#[folder = "../../web/dist"]
#[allow_missing = true]
struct Page;

/// What is shown where the page was not built into this program.
const UNBUILT: &str = "<!doctype html><meta charset=\"utf-8\"><title>Fallside</title>\
    <p>This program was built without its page. Run <code>scripts/web build</code>, then build it again.";

/// The page itself, whatever room of it was asked for.
pub async fn room() -> Response {
    match Page::get("index.html") {
        Some(file) => ([(header::CONTENT_TYPE, "text/html; charset=utf-8")], file.data).into_response(),
        None => ([(header::CONTENT_TYPE, "text/html; charset=utf-8")], UNBUILT).into_response(),
    }
}

/// The page of another device: a code first, then the stand.
pub async fn guest() -> Response {
    match Page::get("guest.html") {
        Some(file) => ([(header::CONTENT_TYPE, "text/html; charset=utf-8")], file.data).into_response(),
        None => ([(header::CONTENT_TYPE, "text/html; charset=utf-8")], UNBUILT).into_response(),
    }
}

/// A file of another device's page: the desk's own script is none.
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
