//! What the paired device can ask: its page, the stand, the picture of the last frame, and a mark on it. There is nothing else here.

use super::super::answer::away;
use super::super::answer::{missing, refused, trouble};
use super::super::asked::{Asked, AskedFor};
use super::super::gate::{carries, sealed, text, unmarked};
use super::super::picture::{drawn, shown};
use super::super::{News, page, refusal_page, serve as carry};
use super::pairing_code::{Key, Tried};
use axum::extract::{DefaultBodyLimit, Path, Request, State};
use axum::http::{StatusCode, header};
use axum::middleware::{Next, from_fn, from_fn_with_state};
use axum::response::sse::{KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use axum::{Json, Router};
use desk::wire::request::{CodeRequest, MarkRequest, PictureQuery};
use desk::wire::{DeviceDid, DeviceEvent};
use desk::{Desk, Event};
use serde_json::Value;
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
    let for_a_person = refusal_page::wanted(&request);
    let response = if !host || foreign {
        away_with("This page has another address.", "Open the address that the desk shows.")
    } else if unmarked(&request) {
        away_with("This request did not come from the stand's page.", "Do it on the page.")
    } else {
        next.run(request).await
    };
    sealed(response, for_a_person)
}

/// Lets in whoever wrote the code.
async fn known(State(room): State<Room>, request: Request, next: Next) -> Response {
    if room.key.fits(|token| carries(request.headers(), &room.cookie, token)) {
        return next.run(request).await;
    }
    refused(StatusCode::UNAUTHORIZED, "This device is not paired.", "Enter the code that the desk shows.")
}

fn did(did: &str) -> Json<DeviceDid> {
    Json(DeviceDid { did: did.to_owned() })
}

async fn code(State(room): State<Room>, Asked(w): Asked<CodeRequest>) -> Response {
    match room.key.try_code(&w.code) {
        Tried::In(token) => {
            room.news.tell(&Event::Changed);
            let cookie = format!("{}={token}; HttpOnly; SameSite=Strict; Path=/", room.cookie);
            ([(header::SET_COOKIE, cookie)], did("This device is paired.")).into_response()
        }
        Tried::Wrong(0) | Tried::Shut => {
            room.close();
            away_with("Wrong code, and no tries are left.", "Open access again at the desk for a new code.")
        }
        Tried::Wrong(left) => {
            let tries = if left == 1 { "1 try is left.".to_owned() } else { format!("{left} tries are left.") };
            away_with("Wrong code.", &format!("Check the code at the desk: {tries}"))
        }
        Tried::Over => {
            room.close();
            away_with("That code has expired.", "Open access again at the desk for a new code.")
        }
        Tried::Spent => away_with(
            "Another device is paired already.",
            "Close access at the desk, and open it again for a new code.",
        ),
    }
}

async fn stand(State(room): State<Room>) -> Response {
    away(move || {
        let mut stand = room.desk.stand();
        // The device may know that a folder is watched, and not its path on this machine.
        stand.folder = stand.folder.map(|_| String::new());
        stand.remembered = None;
        Json(stand).into_response()
    })
    .await
}

async fn mark(State(room): State<Room>, Asked(w): Asked<MarkRequest>) -> Response {
    away(move || match room.desk.mark(&w) {
        // What could be undone is for the desk alone.
        Ok(_) => did("Marked.").into_response(),
        Err(e) => trouble(&e),
    })
    .await
}

/// The picture of what lies at the stand, and of no other frame.
async fn picture(
    State(room): State<Room>,
    Path((frame, kind)): Path<(i64, String)>,
    AskedFor(size): AskedFor<PictureQuery>,
) -> Response {
    drawn(move || match room.desk.stand().last {
        Some(last) if last.frame == Some(frame) => shown(&room.desk, frame, &kind, &size),
        _ => missing("That frame is no longer the last one at the stand."),
    })
    .await
}

/// That something happened at the stand; the page then asks for the stand.
async fn events(State(room): State<Room>) -> Response {
    let told = BroadcastStream::new(room.news.listen()).filter_map(|event| {
        let event = event.map_or(Some(DeviceEvent::Changed), |text| for_device(&text))?;
        let text = serde_json::to_string(&event).unwrap_or_default();
        Some(Ok::<_, std::convert::Infallible>(axum::response::sse::Event::default().data(text)))
    });
    Sse::new(told).keep_alive(KeepAlive::default()).into_response()
}

/// What the device may hear of an event of the desk.
fn for_device(event: &str) -> Option<DeviceEvent> {
    let event: Value = serde_json::from_str(event).ok()?;
    match event["kind"].as_str()? {
        "verdict" => {
            let verdict = serde_json::from_value(event["last"]["verdict"].clone()).ok()?;
            Some(DeviceEvent::Verdict { verdict })
        }
        "changed" | "settled" => Some(DeviceEvent::Changed),
        "trouble" if event["at_stand"] == true => Some(DeviceEvent::Changed),
        _ => None,
    }
}
