//! The desk's routes: each asks the desk one thing and carries its answer. What they carry: `desk::wire`.

use super::News;
use super::answer::{answer, missing, refused, trouble};
use super::asked::{Asked, AskedFor};
use super::gate::{Gate, gate};
use super::guest::{self, Door};
use super::serve::{self, whole};
use super::{made, page};
use axum::Router;
use axum::extract::{DefaultBodyLimit, Path, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use desk::Desk;
use desk::wire::request::{AccessRequest, CheckRequest, Nothing, PictureQuery};
use project::Error;
use std::net::{Ipv4Addr, SocketAddr};
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::Semaphore;
use tokio_stream::StreamExt;
use tokio_stream::wrappers::BroadcastStream;

/// Most bytes of a request: the numbers of ten thousand prints are a tenth of it.
const WISH: usize = 1 << 20;

/// Where the desk is served.
#[derive(Clone, Copy, Debug)]
pub struct Place {
    /// The port on this machine alone; 0 for any.
    pub port: u16,
    /// This machine's address on the network, for another device when one is asked in; found where it is absent.
    pub guests_at: Option<Ipv4Addr>,
    /// How long another device's code holds.
    pub code_holds: Duration,
}

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

async fn events(State(at): State<At>) -> Response {
    let told = BroadcastStream::new(at.news.listen()).map(|event| {
        // A page that lagged behind looks at everything again.
        let text = event.unwrap_or_else(|_| r#"{"kind":"changed"}"#.to_owned());
        Ok::<_, std::convert::Infallible>(Event::default().data(text))
    });
    Sse::new(told).keep_alive(KeepAlive::default()).into_response()
}
