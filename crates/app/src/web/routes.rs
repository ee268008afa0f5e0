//! The desk's routes: each asks the desk one thing and carries its answer.

use super::News;
use super::answer::{answer, missing, refused, trouble};
use super::gate::{Gate, gate};
use super::guest::{self, Door};
use super::serve::{self, whole};
use super::{made, page};
use axum::extract::{DefaultBodyLimit, Path, Query, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use axum::{Json, Router};
use desk::{Desk, EditWish, HandWish, Mark, Mend, Order, StackWish, Watch};
use project::{Error, Take};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::net::{Ipv4Addr, SocketAddr};
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::Semaphore;
use tokio_stream::StreamExt;
use tokio_stream::wrappers::BroadcastStream;

/// Most bytes of a wish: ten thousand prints' numbers are a tenth of it.
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
            format!("Port {port} of this machine cannot be used: {e}. Leave --port away for a free one.")
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
        .route("/api/prints", get(prints))
        .route("/api/print/{id}", get(print))
        .route("/api/offers", get(offers))
        .route("/api/describe", post(describe))
        .route("/api/edit", post(edit))
        .route(
            "/api/join",
            post(|State(at): State<At>, Json(w): Json<Join>| ask(at, move |d| answer(d.join(w.frame, w.print)))),
        )
        .route(
            "/api/front",
            post(|State(at): State<At>, Json(w): Json<Front>| ask(at, move |d| answer(d.front(w.print, w.frame)))),
        )
        .route(
            "/api/role",
            post(|State(at): State<At>, Json(w): Json<Role>| ask(at, move |d| answer(d.role(w.frame, &w.role)))),
        )
        .route("/api/refinish", post(refinish))
        .route("/api/undo", post(|State(at): State<At>| ask(at, |d| answer(d.undo()))))
        .route("/api/redo", post(|State(at): State<At>| ask(at, |d| answer(d.redo()))))
        .route("/api/stand", get(|State(at): State<At>| ask(at, |d| answer(Ok(d.stand())))).post(stand))
        .route(
            "/api/stack",
            post(|State(at): State<At>, Json(w): Json<Stack>| ask(at, move |d| answer(d.stack(w.what.into(), &w.ids)))),
        )
        .route("/api/mark", post(|State(at): State<At>, Json(w): Json<Marked>| ask(at, move |d| w.on(d))))
        .route("/api/guest", get(|State(at): State<At>| guest::told(at.door)).post(guest))
        .route("/api/take", post(take))
        .route("/api/plan", post(plan))
        .route("/api/hand", get(|State(at): State<At>| ask(at, |d| answer(d.hands()))).post(hand_on))
        .route("/api/hand/{name}", get(handed_on))
        .route("/api/hand/{name}/again", post(hand_on_again))
        .route("/api/hand/{name}/check", post(check_archive))
        .route("/made/{name}/{*path}", get(made_file))
        .route("/picture/{frame}/{kind}", get(picture))
        .route("/events", get(events))
        .route("/assets/{*name}", get(page::asset))
        .route("/", get(page::room))
        .route("/table", get(page::room))
        .route("/print/{id}", get(page::room))
        .route("/stand", get(page::room))
        .route("/rig", get(page::room))
        .route("/hand", get(page::room))
        .route("/hand/{name}", get(page::room))
        .fallback(|| async { missing("There is nothing at this address.") })
        .with_state(at)
}

async fn ask(at: At, what: impl FnOnce(&Arc<Desk>) -> Response + Send + 'static) -> Response {
    away(move || what(&at.desk)).await
}

/// Asks the desk away from the threads that carry requests: it may have to read or finish pictures.
pub async fn away(what: impl FnOnce() -> Response + Send + 'static) -> Response {
    let asked = tokio::task::spawn_blocking(what).await;
    asked.unwrap_or_else(|_| {
        let says = "Fallside stopped on this, which is its own fault.";
        refused(StatusCode::INTERNAL_SERVER_ERROR, says, "Nothing is lost. Do something else first, and report it.")
    })
}

#[derive(Deserialize)]
struct Found {
    #[serde(default)]
    q: String,
    #[serde(default)]
    order: String,
    #[serde(default)]
    from: usize,
    #[serde(default = "usual")]
    count: usize,
    /// The stacks that lie open, by number; absent where no print is to lie on another.
    stacks: Option<String>,
}

/// Rows in one answer, unless said.
fn usual() -> usize {
    300
}

async fn prints(State(at): State<At>, Query(f): Query<Found>) -> Response {
    let numbers = |text: &String| text.split(',').filter_map(|n| n.parse().ok()).collect::<Vec<i64>>();
    let open = f.stacks.as_ref().map(numbers);
    ask(at, move |d| answer(d.laid(&f.q, &Order::of(&f.order), open.as_deref(), f.from, f.count))).await
}

async fn print(State(at): State<At>, Path(id): Path<i64>) -> Response {
    ask(at, move |d| match d.print(id) {
        Ok(None) => missing(&format!("There is no print {id}.")),
        other => answer(other),
    })
    .await
}

#[derive(Deserialize)]
struct Offer {
    fact: String,
    #[serde(default)]
    start: String,
}

async fn offers(State(at): State<At>, Query(o): Query<Offer>) -> Response {
    ask(at, move |d| answer(d.offers(&o.fact, &o.start))).await
}

#[derive(Deserialize)]
struct Describe {
    ids: Vec<i64>,
    facts: BTreeMap<String, String>,
}

async fn describe(State(at): State<At>, Json(w): Json<Describe>) -> Response {
    ask(at, move |d| answer(d.describe(&w.ids, &w.facts))).await
}

#[derive(Deserialize)]
struct Edit {
    #[serde(rename = "do")]
    what: String,
    name: String,
    #[serde(default)]
    ids: Vec<i64>,
    at: Option<usize>,
    to: Option<String>,
}

async fn edit(State(at): State<At>, Json(w): Json<Edit>) -> Response {
    let wish = match (w.what.as_str(), w.to) {
        ("put", _) => EditWish::Put(w.at),
        ("take", _) => EditWish::Take,
        ("move", _) => EditWish::Move(w.at.unwrap_or(usize::MAX - 1)),
        ("order", _) => EditWish::Order,
        ("make", _) => EditWish::Make,
        ("rename", Some(to)) => EditWish::Rename(to),
        ("drop", _) => EditWish::Drop,
        _ => return refused(StatusCode::BAD_REQUEST, "Nothing is known to be done so to an edit.", ""),
    };
    ask(at, move |d| answer(d.edit(&w.name, &wish, &w.ids))).await
}

#[derive(Deserialize)]
struct Stack {
    #[serde(rename = "do")]
    what: StackWord,
    #[serde(default)]
    ids: Vec<i64>,
}

#[derive(Clone, Copy, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum StackWord {
    Put,
    Lift,
    Propose,
}

impl From<StackWord> for StackWish {
    fn from(word: StackWord) -> Self {
        match word {
            StackWord::Put => Self::Put,
            StackWord::Lift => Self::Lift,
            StackWord::Propose => Self::Propose,
        }
    }
}

#[derive(Deserialize)]
struct Join {
    frame: i64,
    print: Option<i64>,
}

#[derive(Deserialize)]
struct Front {
    print: i64,
    frame: i64,
}

#[derive(Deserialize)]
struct Role {
    frame: i64,
    role: String,
}

#[derive(Deserialize)]
struct Refinish {
    frame: i64,
    outline: Option<[[f64; 2]; 4]>,
    format: Option<String>,
    turn: Option<u8>,
    shadow: Option<f64>,
}

async fn refinish(State(at): State<At>, Json(w): Json<Refinish>) -> Response {
    let wish = Mend { outline: w.outline, format: w.format, turn: w.turn, shadow: w.shadow };
    ask(at, move |d| match d.mend(w.frame, &wish) {
        Ok((did, frame)) => Json(serde_json::json!({
            "did": did.did, "undo": did.undo, "redo": did.redo, "frame": frame,
        }))
        .into_response(),
        Err(e) => trouble(&e),
    })
    .await
}

#[derive(Deserialize)]
struct Sleeve {
    folder: Option<PathBuf>,
    #[serde(rename = "box")]
    box_name: Option<String>,
    sleeve: Option<String>,
    of: Option<usize>,
    #[serde(default)]
    backs: bool,
    #[serde(default = "yes")]
    sound: bool,
}

fn yes() -> bool {
    true
}

async fn stand(State(at): State<At>, Json(w): Json<Sleeve>) -> Response {
    let watch = Watch {
        folder: w.folder,
        box_name: w.box_name.unwrap_or_default(),
        sleeve: w.sleeve.unwrap_or_default(),
        of: w.of,
        one: false,
        backs: w.backs,
        sound: w.sound,
    };
    ask(at, move |d| answer(d.watch(watch))).await
}

/// A mark on what lies at the stand.
#[derive(Deserialize)]
pub struct Marked {
    name: String,
    mark: Mark,
}

impl Marked {
    /// Makes it.
    pub fn on(&self, desk: &Desk) -> Response {
        answer(desk.mark(&self.name, self.mark))
    }
}

#[derive(Deserialize)]
struct Ask {
    #[serde(rename = "do")]
    what: guest::Wish,
}

async fn guest(State(at): State<At>, Json(w): Json<Ask>) -> Response {
    guest::asked(at.door, w.what).await
}

#[derive(Deserialize)]
struct TakeIn {
    folder: PathBuf,
    #[serde(rename = "box")]
    box_name: Option<String>,
    sleeve: Option<String>,
    #[serde(default)]
    copy: bool,
}

async fn take(State(at): State<At>, Json(w): Json<TakeIn>) -> Response {
    let request = Take {
        inputs: vec![w.folder],
        copy: w.copy,
        box_name: w.box_name.unwrap_or_default(),
        sleeve: w.sleeve.unwrap_or_default(),
        ..Take::default()
    };
    ask(at, move |d| answer(d.take(request))).await
}

async fn plan(State(at): State<At>, Json(words): Json<BTreeMap<String, String>>) -> Response {
    ask(at, move |_| Json(crate::plan::asked(&words)).into_response()).await
}

async fn hand_on(State(at): State<At>, Json(wish): Json<HandWish>) -> Response {
    ask(at, move |d| answer(d.hand_on(wish))).await
}

async fn hand_on_again(State(at): State<At>, Path(name): Path<String>) -> Response {
    ask(at, move |d| answer(d.hand_on_again(&name))).await
}

#[derive(Deserialize)]
struct Check {
    copy: Option<std::path::PathBuf>,
}

async fn check_archive(State(at): State<At>, Path(name): Path<String>, Json(w): Json<Check>) -> Response {
    ask(at, move |d| answer(d.check_archive(&name, w.copy))).await
}

async fn handed_on(State(at): State<At>, Path(name): Path<String>) -> Response {
    ask(at, move |d| match d.handed_on(&name) {
        Ok(None) => missing("There is no such hand-off here."),
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

/// How wide a picture is to be.
#[derive(Deserialize)]
pub struct Size {
    #[serde(default = "small")]
    w: usize,
}

/// The width of a picture, unless said.
fn small() -> usize {
    320
}

async fn picture(State(at): State<At>, Path((frame, kind)): Path<(i64, String)>, Query(s): Query<Size>) -> Response {
    drawn(move || shown(&at.desk, frame, &kind, &s)).await
}

/// Pictures made at once, for all pages and devices: each may hold a decoded frame, 24 million pixels of which are 150 MB, and one alone
/// keeps the machine's cores busy.
static DRAWING: Semaphore = Semaphore::const_new(3);

/// Makes a picture when its turn comes. Whoever went away meanwhile loses the turn.
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
pub fn shown(desk: &Desk, frame: i64, kind: &str, size: &Size) -> Response {
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
