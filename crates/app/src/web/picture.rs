//! Pictures of frames, a few at a time.

use super::answer::{away, missing, trouble};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use desk::Desk;
use desk::wire::request::PictureQuery;
use project::Error;
use tokio::sync::Semaphore;

/// Pictures made at once, for all pages and devices: each may hold a decoded frame, 24 million pixels of which are 150 MB, and one alone
/// keeps the machine's cores busy.
static DRAWING: Semaphore = Semaphore::const_new(3);

/// Makes a picture when its turn comes. A request that was cancelled meanwhile loses its turn.
pub async fn drawn(what: impl FnOnce() -> Response + Send + 'static) -> Response {
    let turn = DRAWING.acquire().await;
    away(move || {
        let response = what();
        drop(turn);
        response
    })
    .await
}

/// A picture of a frame.
pub fn shown(desk: &Desk, frame: i64, kind: &str, size: &PictureQuery) -> Response {
    let mount = match kind {
        "mount" => true,
        "frame" => false,
        _ => return missing("There is no such picture."),
    };
    let sight = match desk.sight(frame, mount) {
        Ok(Some(sight)) => sight,
        Ok(None) => return missing("There is no such picture."),
        Err(e) => return trouble(&e),
    };
    match sight.jpeg(size.w, desk.reads_only().is_none()) {
        // The address carries a hash of what is shown. A browser keeps nothing of a private print.
        Ok(bytes) => {
            let kept = match desk.is_private(frame) {
                Ok(false) => "private, max-age=31536000, immutable",
                _ => "no-store",
            };
            ([(header::CONTENT_TYPE, "image/jpeg"), (header::CACHE_CONTROL, kept)], bytes).into_response()
        }
        Err(e) => trouble(&Error::File(e)),
    }
}
