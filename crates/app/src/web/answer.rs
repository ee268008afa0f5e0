//! Answers in JSON, and troubles as the page says them.

use axum::Json;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use project::{Error, catalogue};
use serde::Serialize;

/// A trouble: what is so, and what to do.
pub fn refused(status: StatusCode, says: &str, remedy: &str) -> Response {
    (status, Json(serde_json::json!({ "says": says, "do": remedy }))).into_response()
}

/// What is not there.
pub fn missing(says: &str) -> Response {
    refused(StatusCode::NOT_FOUND, says, "Go back to the table.")
}

/// An answer, or the trouble in its place.
pub fn answer<T: Serialize>(result: Result<T, Error>) -> Response {
    match result {
        Ok(value) => Json(value).into_response(),
        Err(e) => trouble(&e),
    }
}

/// A trouble of the project. A sentence on what to do follows the one on what is so.
pub fn trouble(error: &Error) -> Response {
    let status = match error {
        Error::Held(_) | Error::Refused(_) | Error::Catalogue(catalogue::Error::Refused(_)) => StatusCode::CONFLICT,
        _ => StatusCode::INTERNAL_SERVER_ERROR,
    };
    match error {
        Error::File(e) => refused(status, &e.says, e.remedy.as_deref().unwrap_or_default()),
        other => refused(status, &other.to_string(), ""),
    }
}
