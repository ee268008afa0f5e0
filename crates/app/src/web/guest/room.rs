//! What another device can ask: its page, the stand, the picture that lies there, and a mark on it. There is nothing else here.

use super::super::answer::{missing, refused};
use super::super::gate::{carries, sealed, text, unmarked};
use super::super::routes::{Marked, Size, away, drawn, shown};
use super::super::{News, page, serve as carry};
use super::key::{Key, Tried};
use axum::extract::{DefaultBodyLimit, Path, Query, Request, State};
use axum::http::{StatusCode, header};
use axum::middleware::{Next, from_fn, from_fn_with_state};
use axum::response::sse::{KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use axum::{Json, Router};
use desk::{Desk, Event};
use serde::Deserialize;
use serde_json::{Value, json};
use std::net::{SocketAddr, TcpListener};
use std::sync::Arc;
use tokio::sync::watch;
use tokio_stream::StreamExt;
use tokio_stream::wrappers::BroadcastStream;

/// Most bytes of what a device may send: a code, or a mark on a file's name.
const WISH: usize = 1024;

/// What the device's requests are answered from.
#[derive(Clone)]
pub struct Room {
    desk: Arc<Desk>,
    news: News,
    key: Arc<Key>,
    host: String,
    /// The cookie of whoever came in: each port's has a name of its own, since a browser keeps one set for all ports of a machine.
    cookie: String,
    shut: Arc<watch::Sender<bool>>,
}

impl Room {
    /// A room served at an address.
    pub fn new(desk: Arc<Desk>, news: News, key: Arc<Key>, address: SocketAddr) -> Self {
        let cookie = format!("fallside-guest-{}", address.port());
        Self { desk, news, key, host: address.to_string(), cookie, shut: Arc::new(watch::Sender::new(false)) }
    }

    /// Closes the way in where nobody has written the code in time.
    pub fn close_if_over(&self) {
        if self.key.is_over() {
            self.close();
        }
    }

    /// Answers what is being asked, and nothing after it.
    fn close(&self) {
        self.shut.send_replace(true);
        self.news.tell(&Event::Changed);
    }
}

/// Serves the room until it is shut by wrong codes, or its runtime ends.
pub async fn serve(listener: TcpListener, room: Room) {
    let shut = room.shut.subscribe();
    let listening = listener.set_nonblocking(true).and_then(|()| tokio::net::TcpListener::from_std(listener));
    if let Ok(listener) = listening {
        // The last wrong code is answered, and nothing after it.
        carry::serve(listener, routes(room), shut).await;
    }
}

fn routes(room: Room) -> Router {
    let inside = Router::new()
        .route("/api/stand", get(stand))
        .route("/api/mark", post(mark))
        .route("/picture/{frame}/{kind}", get(picture))
        .route("/events", get(events))
        .route_layer(from_fn_with_state(room.clone(), known));
    Router::new()
        .route("/", get(page::guest))
        .route("/assets/{*name}", get(page::guest_asset))
        .route("/api/code", post(code))
        .merge(inside)
        .fallback(|| async { missing("There is nothing at this address for another device.") })
        .with_state(room.clone())
        .layer(DefaultBodyLimit::max(WISH))
        .layer(from_fn(|request, next| carry::whole(request, next, WISH)))
        .layer(from_fn_with_state(room, gate))
}

fn away_with(says: &str, remedy: &str) -> Response {
    refused(StatusCode::FORBIDDEN, says, remedy)
}

/// Lets in what was asked of this very address, by its own page.
async fn gate(State(room): State<Room>, request: Request, next: Next) -> Response {
    let headers = request.headers();
    let host = text(headers, header::HOST) == Some(room.host.as_str());
    let origin = text(headers, header::ORIGIN).and_then(|o| o.strip_prefix("http://"));
    let foreign = headers.contains_key(header::ORIGIN) && origin != Some(room.host.as_str());
    sealed(if !host || foreign {
        away_with("This page answers at its own address alone.", "Open the address that the desk shows.")
    } else if unmarked(&request) {
        away_with("This did not come from the stand's page.", "Do it on the page.")
    } else {
        next.run(request).await
    })
}

/// Lets in whoever wrote the code.
async fn known(State(room): State<Room>, request: Request, next: Next) -> Response {
    if room.key.fits(|token| carries(request.headers(), &room.cookie, token)) {
        return next.run(request).await;
    }
    refused(StatusCode::UNAUTHORIZED, "Another device needs the desk's code.", "Write the code that the desk shows.")
}

#[derive(Deserialize)]
struct Code {
    code: String,
}

async fn code(State(room): State<Room>, Json(w): Json<Code>) -> Response {
    match room.key.try_code(&w.code) {
        Tried::In(token) => {
            room.news.tell(&Event::Changed);
            let cookie = format!("{}={token}; HttpOnly; SameSite=Strict; Path=/", room.cookie);
            ([(header::SET_COOKIE, cookie)], Json(json!({ "did": "You are in." }))).into_response()
        }
        Tried::Wrong(0) | Tried::Shut => {
            room.close();
            away_with("That is not the code, and was the last try.", "Ask for a new code at the desk.")
        }
        Tried::Wrong(left) => {
            let tries = if left == 1 { "1 try is left.".to_owned() } else { format!("{left} tries are left.") };
            away_with("That is not the code.", &format!("Look at the desk again: {tries}"))
        }
        Tried::Over => {
            room.close();
            away_with("That code holds no more.", "Ask for a new one at the desk.")
        }
        Tried::Spent => away_with("A device is in already.", "Close the way in at the desk, and ask for a new code."),
    }
}

async fn stand(State(room): State<Room>) -> Response {
    away(move || {
        let mut stand = serde_json::to_value(room.desk.stand()).unwrap_or_default();
        // That a folder is watched is the stand's; where it lies is this machine's.
        if stand["folder"].is_string() {
            stand["folder"] = Value::String(String::new());
        }
        Json(stand).into_response()
    })
    .await
}

async fn mark(State(room): State<Room>, Json(w): Json<Marked>) -> Response {
    away(move || match w.on(&room.desk) {
        // What could be undone is the desk's to know.
        done if done.status().is_success() => Json(json!({ "did": "Marked." })).into_response(),
        refused => refused,
    })
    .await
}

/// The picture of what lies at the stand, and of no other frame.
async fn picture(
    State(room): State<Room>,
    Path((frame, kind)): Path<(i64, String)>,
    Query(size): Query<Size>,
) -> Response {
    drawn(move || match room.desk.stand().last {
        Some(last) if last.frame == Some(frame) => shown(&room.desk, frame, &kind, &size),
        _ => missing("It does not lie at the stand now."),
    })
    .await
}

/// That something happened at the stand; what, the page asks.
async fn events(State(room): State<Room>) -> Response {
    let told = BroadcastStream::new(room.news.listen()).filter_map(|event| {
        let event: Value = serde_json::from_str(&event.unwrap_or_else(|_| r#"{"kind":"changed"}"#.into())).ok()?;
        let told = match event["kind"].as_str()? {
            "verdict" => json!({ "kind": "verdict", "last": { "verdict": event["last"]["verdict"] } }),
            "changed" | "settled" => json!({ "kind": "changed" }),
            _ => return None,
        };
        Some(Ok::<_, std::convert::Infallible>(axum::response::sse::Event::default().data(told.to_string())))
    });
    Sse::new(told).keep_alive(KeepAlive::default()).into_response()
}
