//! What a page sends, read as the type that the wire names. A request that is not understood is refused with the name of its field.

use super::answer::refused;
use axum::body::Bytes;
use axum::extract::{FromRequest, FromRequestParts, Query, Request};
use axum::http::request::Parts;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::Response;
use serde::de::DeserializeOwned;

/// The body of a POST.
pub struct Asked<T>(pub T);

impl<S: Send + Sync, T: DeserializeOwned> FromRequest<S> for Asked<T> {
    type Rejection = Response;

    async fn from_request(request: Request, state: &S) -> Result<Self, Response> {
        if !is_json(request.headers()) {
            let says = "The request is not JSON.";
            return Err(refused(
                StatusCode::UNSUPPORTED_MEDIA_TYPE,
                says,
                "Send it with Content-Type: application/json.",
            ));
        }
        let too_long =
            |_| refused(StatusCode::PAYLOAD_TOO_LARGE, "The request is too long.", "Do it in several parts.");
        let body = Bytes::from_request(request, state).await.map_err(too_long)?;
        read(&body).map(Self).map_err(|says| not_understood(&says))
    }
}

/// The words after `?` of a GET.
pub struct AskedFor<T>(pub T);

impl<S: Send + Sync, T: DeserializeOwned> FromRequestParts<S> for AskedFor<T> {
    type Rejection = Response;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Response> {
        let read = Query::<T>::try_from_uri(&parts.uri);
        read.map(|Query(asked)| Self(asked)).map_err(|e| not_understood(&e.body_text()))
    }
}

/// `application/json`, with or without a character set (RFC 9110, 8.3.1).
fn is_json(headers: &HeaderMap) -> bool {
    let kind = headers.get(header::CONTENT_TYPE).and_then(|k| k.to_str().ok()).unwrap_or_default();
    kind.split(';').next().unwrap_or_default().trim().eq_ignore_ascii_case("application/json")
}

/// A body as its type, or which field is wrong and how: "ids[1]: invalid type: string "x", expected i64".
fn read<T: DeserializeOwned>(body: &[u8]) -> Result<T, String> {
    let mut json = serde_json::Deserializer::from_slice(body);
    let value: T = serde_path_to_error::deserialize(&mut json).map_err(|e| match e.path().to_string().as_str() {
        "." => e.inner().to_string(),
        field => format!("{field}: {}", e.inner()),
    })?;
    json.end().map_err(|e| e.to_string())?;
    Ok(value)
}

fn not_understood(why: &str) -> Response {
    let says = format!("The request was not understood: {why}.");
    refused(StatusCode::UNPROCESSABLE_ENTITY, &says, "Reload the page. Programs: see docs/reference/desk.schema.json.")
}

#[cfg(test)]
mod tests {
    use super::*;
    use desk::wire::request::{DescribeRequest, EditRequest, PlanRequest};

    #[test]
    fn the_field_that_is_wrong_is_named() {
        let wrong = |says: Result<(), String>, name: &str| {
            let says = says.unwrap_err();
            assert!(says.contains(name), "{says}");
        };
        wrong(read::<DescribeRequest>(br#"{"ids":[1,"x"],"facts":{}}"#).map(drop), "ids[1]");
        wrong(read::<DescribeRequest>(br#"{"ids":[1]}"#).map(drop), "`facts`");
        wrong(read::<DescribeRequest>(br#"{"ids":[1],"facts":{},"kind":null}"#).map(drop), "`kind`");
        wrong(read::<EditRequest>(br#"{"do":"move","name":"tight","ids":[1]}"#).map(drop), "`at`");
        wrong(read::<EditRequest>(br#"{"do":"fling","name":"tight"}"#).map(drop), "`fling`");
        wrong(read::<PlanRequest>(br#"{"lens":70}"#).map(drop), "lens");
        wrong(read::<PlanRequest>(br#"{} {}"#).map(drop), "trailing");
    }
}
