//! The desk's routes: each asks the desk one thing and carries its answer. What they carry: `desk::wire`.

use super::News;
use super::answer::{answer, away, missing};
use super::asked::{Asked, AskedFor};
use super::gate::{Gate, gate};
use super::guest::{self, Door};
use super::picture::{drawn, shown};
use super::serve::{self, Place, whole};
use super::{made, page};
use axum::Router;
use axum::extract::{DefaultBodyLimit, Path, State};
use axum::http::{HeaderMap, header};
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use desk::Desk;
use desk::wire::request::{AccessRequest, CheckRequest, Nothing, PictureQuery};
use std::net::{Ipv4Addr, SocketAddr};
use std::sync::Arc;
use tokio_stream::StreamExt;
use tokio_stream::wrappers::BroadcastStream;

/// Most bytes of a request: the numbers of ten thousand prints are a tenth of it.
const WISH: usize = 1 << 20;

#[derive(Clone)]
struct At {
    desk: Arc<Desk>,
    news: News,
    door: Arc<Door>,
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
        let place = SocketAddr::from((Ipv4Addr::LOCALHOST, port));
        let listener = tokio::net::TcpListener::bind(place).await.map_err(|e| {
            format!("Port {port} of this machine cannot be used: {e}. Leave out --port to use any free one.")
        })?;
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

fn routes(at: At) -> Router {
    Router::new()
        .route("/api/desk", get(|State(at): State<At>| ask(at, |d| answer(d.state()))))
        .route("/api/prints", get(|State(at), AskedFor(w)| ask(at, move |d| answer(d.prints(&w)))))
        .route("/api/print/{id}", get(print))
        .route("/api/offers", get(|State(at), AskedFor(w)| ask(at, move |d| answer(d.offers(&w)))))
        .route("/api/describe", post(|State(at), Asked(w)| ask(at, move |d| answer(d.describe(&w)))))
        .route("/api/edit", post(|State(at), Asked(w)| ask(at, move |d| answer(d.edit(&w)))))
        .route("/api/stack", post(|State(at), Asked(w)| ask(at, move |d| answer(d.stack(&w)))))
        .route("/api/join", post(|State(at), Asked(w)| ask(at, move |d| answer(d.join(w)))))
        .route("/api/front", post(|State(at), Asked(w)| ask(at, move |d| answer(d.front(w)))))
        .route("/api/role", post(|State(at), Asked(w)| ask(at, move |d| answer(d.role(w)))))
        .route("/api/refinish", post(|State(at), Asked(w)| ask(at, move |d| answer(d.mend(&w)))))
        .route("/api/light", post(|State(at), Asked(w)| ask(at, move |d| answer(d.light(&w)))))
        .route("/api/undo", post(|State(at), Asked(Nothing {})| ask(at, |d| answer(d.undo()))))
        .route("/api/redo", post(|State(at), Asked(Nothing {})| ask(at, |d| answer(d.redo()))))
        .route("/api/take", post(|State(at), Asked(w)| ask(at, move |d| answer(d.take(w)))))
        .route(
            "/api/stand",
            get(|State(at): State<At>| ask(at, |d| answer(Ok(d.stand()))))
                .post(|State(at), Asked(w)| ask(at, move |d| answer(d.watch(w)))),
        )
        .route("/api/mark", post(|State(at), Asked(w)| ask(at, move |d| answer(d.mark(&w)))))
        .route("/api/guest", get(|State(at): State<At>| guest::access(at.door)).post(guest))
        .route("/api/plan", post(|State(at), Asked(w)| ask(at, move |d| answer(d.plan(&w)))))
        .route(
            "/api/hand",
            get(|State(at): State<At>| ask(at, |d| answer(d.hands())))
                .post(|State(at), Asked(w)| ask(at, move |d| answer(d.hand_on(w)))),
        )
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
        Ok::<_, std::convert::Infallible>(Event::default().data(text))
    });
    Sse::new(told).keep_alive(KeepAlive::default()).into_response()
}
