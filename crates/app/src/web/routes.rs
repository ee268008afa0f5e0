//! The desk's routes: each asks the desk one thing and carries its answer. What they carry: `desk::wire`.

use super::News;
use super::answer::{answer, away, missing, refused};
use super::asked::{Asked, AskedFor};
use super::gate::{Gate, gate};
use super::guest::{self, Door};
use super::picture::{drawn, shown};
use super::serve::{self, Place, whole};
use super::{made, page};
use axum::Router;
use axum::extract::{DefaultBodyLimit, FromRequestParts, Path, State};
use axum::http::request::Parts;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use desk::Desk;
use desk::wire::request::{AccessRequest, CheckRequest, Nothing, PictureQuery};
use std::convert::Infallible;
use std::net::{Ipv4Addr, SocketAddr};
use std::sync::Arc;
use tokio_stream::StreamExt;
use tokio_stream::wrappers::BroadcastStream;

/// The port tried first where none is asked for, so that a tab of an earlier desk finds the new one and says what to do. Where it is
/// taken, any does.
const PORT: u16 = 4870;
/// Most bytes of a request: the numbers of ten thousand prints are a tenth of it.
const WISH: usize = 1 << 20;

#[derive(Clone)]
struct At {
    desk: Arc<Desk>,
    news: News,
    door: Arc<Door>,
}

/// The header in which the page says from which of its rooms it asks.
const ROOM: &str = "x-fallside-room";

/// What requests are answered from, in the room of the page that asks.
struct Here(At);

impl FromRequestParts<At> for Here {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, at: &At) -> Result<Self, Infallible> {
        let room = parts.headers.get(ROOM).and_then(|r| r.to_str().ok()).unwrap_or_default();
        Ok(Self(At { desk: at.desk.at(room), ..at.clone() }))
    }
}

/// Serves the desk until Ctrl+C. `open` hears the address once it can be opened; what it gives back is kept as long as the desk is open.
///
/// # Errors
/// The port is taken, or this machine gives none.
pub fn serve<T>(desk: Arc<Desk>, news: &News, place: Place, open: impl FnOnce(&str) -> T) -> Result<(), String> {
    let runtime = tokio::runtime::Runtime::new().map_err(|e| format!("The desk cannot be served: {e}."))?;
    let door = Arc::new(Door::new(Arc::clone(&desk), news.clone(), place));
    let port = place.port;
    let served = runtime.block_on(async {
        let listener = bound(port).await?;
        let port = listener.local_addr().map_err(|e| format!("The desk cannot be served: {e}."))?.port();
        let keeper = Gate::new(port)?;
        let address = keeper.address();
        let app = routes(At { desk, news: news.clone(), door: Arc::clone(&door) })
            .layer(DefaultBodyLimit::max(WISH))
            .layer(axum::middleware::from_fn(|request, next| whole(request, next, WISH)))
            .layer(axum::middleware::from_fn_with_state(keeper, gate));
        let _kept = open(&address);
        let (_never, open_for_good) = tokio::sync::watch::channel(false);
        let closed = async {
            let _ = tokio::signal::ctrl_c().await;
        };
        // Pages listen without end: the desk does not wait for them.
        tokio::select! {
            () = serve::serve(listener, app, open_for_good) => {}
            () = closed => {}
        }
        Ok(())
    });
    door.close();
    served
}

/// Listens at the port that was asked for, or else at the usual one if it is free.
async fn bound(port: Option<u16>) -> Result<tokio::net::TcpListener, String> {
    let at = |port: u16| tokio::net::TcpListener::bind(SocketAddr::from((Ipv4Addr::LOCALHOST, port)));
    let listener = match port {
        Some(port) => at(port).await,
        None => match at(PORT).await {
            Err(_) => at(0).await,
            there => there,
        },
    };
    let named = port.map_or("No port".to_owned(), |p| format!("Port {p}"));
    listener.map_err(|e| format!("{named} of this machine cannot be used: {e}. Leave out --port to use any free one."))
}

fn routes(at: At) -> Router {
    Router::new()
        .route("/api/desk", get(|Here(at)| ask(at, |d| answer(d.state()))))
        .route("/api/prints", get(|State(at), AskedFor(w)| ask(at, move |d| answer(d.prints(&w)))))
        .route("/api/print/{id}", get(print))
        .route("/api/offers", get(|State(at), AskedFor(w)| ask(at, move |d| answer(d.offers(&w)))))
        .route("/api/date", get(|State(at), AskedFor(w)| ask(at, move |d| answer(Ok(d.date(&w))))))
        .route("/api/shared", post(|State(at), Asked(w)| ask(at, move |d| answer(d.shared(&w)))))
        .route("/api/search", post(|Here(at), Asked(w)| ask(at, move |d| answer(d.save_search(&w)))))
        .route("/api/privacy", post(|Here(at), Asked(w)| ask(at, move |d| answer(d.decide_unsaid(w)))))
        .route("/api/describe", post(|Here(at), Asked(w)| ask(at, move |d| answer(d.describe(&w)))))
        .route("/api/edit", post(|Here(at), Asked(w)| ask(at, move |d| answer(d.edit(&w)))))
        .route("/api/stack", post(|Here(at), Asked(w)| ask(at, move |d| answer(d.stack(&w)))))
        .route("/api/join", post(|Here(at), Asked(w)| ask(at, move |d| answer(d.join(w)))))
        .route("/api/front", post(|Here(at), Asked(w)| ask(at, move |d| answer(d.front(w)))))
        .route("/api/role", post(|Here(at), Asked(w)| ask(at, move |d| answer(d.role(w)))))
        .route("/api/refinish", post(|Here(at), Asked(w)| ask(at, move |d| answer(d.mend(&w)))))
        .route("/api/light", post(|Here(at), Asked(w)| ask(at, move |d| answer(d.light(&w)))))
        .route("/api/undo", post(|Here(at), Asked(w)| ask(at, move |d| answer(d.undo(&w)))))
        .route("/api/redo", post(|Here(at), Asked(Nothing {})| ask(at, |d| answer(d.redo()))))
        .route("/api/folders", get(|State(at), AskedFor(w)| ask(at, move |d| answer(d.folders(&w)))))
        .route(
            "/api/take",
            get(|State(at): State<At>| ask(at, |d| answer(Ok(d.imports()))))
                .post(|Here(at), Asked(w)| ask(at, move |d| answer(d.take(w)))),
        )
        .route("/api/take/stop", post(|Here(at), Asked(Nothing {})| ask(at, |d| answer(d.stop_take()))))
        .route(
            "/api/stand",
            get(|State(at): State<At>| ask(at, |d| answer(Ok(d.stand()))))
                .post(|Here(at), Asked(w)| ask(at, move |d| answer(d.watch(w)))),
        )
        .route("/api/mark", post(|Here(at), Asked(w)| ask(at, move |d| answer(d.mark(&w)))))
        .route("/api/guest", get(|State(at): State<At>| guest::access(at.door)).post(guest))
        .route("/api/plan", post(|State(at), Asked(w)| ask(at, move |d| answer(d.plan(&w)))))
        .route(
            "/api/plan/words",
            get(|State(at): State<At>| ask(at, |d| answer(d.plan_words())))
                .post(|State(at), Asked(w)| ask(at, move |d| answer(d.keep_plan_words(w)))),
        )
        .route("/card", get(|State(at), AskedFor(w)| ask(at, move |d| card(d.rig_card(&w)))))
        .route(
            "/api/hand",
            get(|State(at): State<At>| ask(at, |d| answer(d.hands())))
                .post(|State(at), Asked(w)| ask(at, move |d| answer(d.hand_on(w)))),
        )
        .route("/api/ready", post(|State(at), Asked(w)| ask(at, move |d| answer(d.ready(&w)))))
        .route("/api/preview", post(|State(at), Asked(w)| ask(at, move |d| answer(d.preview(&w)))))
        .route("/api/hand/{name}", get(handed_on))
        .route("/api/hand/{name}/again", post(hand_on_again))
        .route("/api/hand/{name}/check", post(check_archive))
        .route("/made/{name}/{*path}", get(made_file))
        .route("/picture/{frame}/{kind}", get(picture))
        .route("/events", get(events))
        .route("/assets/{*name}", get(page::asset))
        .fallback(page::room)
        .with_state(at)
}

async fn ask(at: At, what: impl FnOnce(&Arc<Desk>) -> Response + Send + 'static) -> Response {
    away(move || what(&at.desk)).await
}

/// The rig card: its style and its typeface lie inside it, and it fetches nothing.
fn card(made: std::result::Result<String, String>) -> Response {
    let policy = "default-src 'none'; style-src 'unsafe-inline'; font-src data:; img-src data:; base-uri 'none'; form-action 'none'; \
                  frame-ancestors 'self'";
    match made {
        Ok(page) => {
            ([(header::CONTENT_TYPE, "text/html; charset=utf-8"), (header::CONTENT_SECURITY_POLICY, policy)], page)
                .into_response()
        }
        Err(says) => refused(StatusCode::BAD_REQUEST, &says, "Mend it in the rig, then open the card again."),
    }
}

async fn print(State(at): State<At>, Path(id): Path<i64>) -> Response {
    ask(at, move |d| match d.print(id) {
        Ok(None) => missing(&format!("There is no print {id}.")),
        other => answer(other),
    })
    .await
}

async fn guest(State(at): State<At>, Asked(w): Asked<AccessRequest>) -> Response {
    guest::asked(at.door, w.wish).await
}

async fn hand_on_again(State(at): State<At>, Path(name): Path<String>, Asked(Nothing {}): Asked<Nothing>) -> Response {
    ask(at, move |d| answer(d.hand_on_again(&name))).await
}

async fn check_archive(State(at): State<At>, Path(name): Path<String>, Asked(w): Asked<CheckRequest>) -> Response {
    ask(at, move |d| answer(d.check_archive(&name, w.copy))).await
}

async fn handed_on(State(at): State<At>, Path(name): Path<String>) -> Response {
    ask(at, move |d| match d.handed_on(&name) {
        Ok(None) => missing("There is no such export here."),
        other => answer(other),
    })
    .await
}

async fn made_file(State(at): State<At>, Path((name, path)): Path<(String, String)>, headers: HeaderMap) -> Response {
    // The gate let this name in: it is this machine's.
    let host = headers.get(header::HOST).and_then(|h| h.to_str().ok()).unwrap_or_default().to_owned();
    ask(at, move |d| match d.made(&name, &path) {
        Some(file) => made::answer(file, &format!("http://{host}/made/{name}/")),
        None => missing("There is no such file."),
    })
    .await
}

async fn picture(
    State(at): State<At>,
    Path((frame, kind)): Path<(i64, String)>,
    AskedFor(s): AskedFor<PictureQuery>,
) -> Response {
    drawn(move || shown(&at.desk, frame, &kind, &s)).await
}

async fn events(State(at): State<At>) -> Response {
    let told = BroadcastStream::new(at.news.listen()).map(|event| {
        // A page that lagged behind looks at everything again.
        let text = event.unwrap_or_else(|_| r#"{"kind":"changed"}"#.to_owned());
        Ok::<_, Infallible>(Event::default().data(text))
    });
    Sse::new(told).keep_alive(KeepAlive::default()).into_response()
}
