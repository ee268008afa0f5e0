//! Answers in JSON, and refusals as the page shows them.

use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::{Extension, Json};
use desk::wire::Refusal;
use project::{Error, catalogue};
use serde::Serialize;

/// The words of a refusal, kept beside its JSON so that they can be written on a page instead.
#[derive(Clone, Debug)]
pub struct Words {
    pub says: String,
    pub remedy: String,
}

/// A refusal: what is wrong, and what to do.
pub fn refused(status: StatusCode, says: &str, remedy: &str) -> Response {
    let words = Words { says: says.to_owned(), remedy: remedy.to_owned() };
    let json = Json(Refusal { says: words.says.clone(), remedy: words.remedy.clone() });
    (status, Extension(words), json).into_response()
}

/// What is not there.
pub fn missing(says: &str) -> Response {
    refused(StatusCode::NOT_FOUND, says, "Go back to the table.")
}

/// An answer, or the refusal in its place.
pub fn answer<T: Serialize>(result: Result<T, Error>) -> Response {
    match result {
        Ok(value) => Json(value).into_response(),
        Err(e) => trouble(&e),
    }
}

/// An error of the project as a refusal. The remedy follows in a sentence of its own.
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

/// Asks the desk away from the threads that carry requests: it may have to read or finish pictures.
pub async fn away(what: impl FnOnce() -> Response + Send + 'static) -> Response {
    let asked = tokio::task::spawn_blocking(what).await;
    asked.unwrap_or_else(|_| {
        let says = "Fallside failed on this request because of a bug.";
        refused(
            StatusCode::INTERNAL_SERVER_ERROR,
            says,
            "Nothing is lost. Please report it, and continue with something else.",
        )
    })
}
