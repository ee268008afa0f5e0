//! Carries requests: bounds on how many come in at once and on how long one may take to say what it wants.

use super::answer::refused;
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::extract::Request;
use axum::http::{Method, StatusCode};
use axum::middleware::Next;
use axum::response::Response;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use std::net::Ipv4Addr;
use std::pin::pin;
use std::sync::Arc;
use std::time::{Duration, SystemTime, UNIX_EPOCH};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Semaphore, watch};

/// Where the desk is served.
#[derive(Clone, Copy, Debug)]
pub struct Place {
    /// The port on this machine alone, 0 for any; the usual one, if it is free, where it is absent.
    pub port: Option<u16>,
    /// This machine's address on the network, for another device when one is asked in; found where it is absent.
    pub guests_at: Option<Ipv4Addr>,
    /// How long another device's code holds.
    pub code_holds: Duration,
}

/// How long a request's head may take to arrive. A browser of this machine sends it in a millisecond, a phone in a second.
const HEAD: Duration = Duration::from_secs(5);
/// How long a wish may take to arrive: a megabyte over a weak radio network.
const BODY: Duration = Duration::from_secs(10);
/// Connections at once: a browser opens six for a page, and pages that listen keep one each. Below what a system lets a program open.
const MOST: usize = 400;
/// How long to wait where the system gives no more connections for now.
const PAUSE: Duration = Duration::from_millis(200);

/// Serves until `closed` says true; what is being answered then is answered to its end.
pub async fn serve(listener: TcpListener, app: Router, closed: watch::Receiver<bool>) {
    let places = Arc::new(Semaphore::new(MOST));
    let mut end = closed.clone();
    let accept = async {
        loop {
            let Ok(place) = Arc::clone(&places).acquire_owned().await else { return };
            match listener.accept().await {
                Ok((stream, _)) => {
                    let (app, closed) = (app.clone(), closed.clone());
                    tokio::spawn(async move {
                        connection(stream, app, closed).await;
                        drop(place);
                    });
                }
                Err(_) => tokio::time::sleep(PAUSE).await,
            }
        }
    };
    tokio::select! {
        () = accept => {}
        _ = end.wait_for(|closed| *closed) => {}
    }
}

async fn connection(stream: TcpStream, app: Router, mut closed: watch::Receiver<bool>) {
    // Answers are small and waited for.
    let _ = stream.set_nodelay(true);
    let mut server = http1::Builder::new();
    // The library cannot write a date before 1970; an answer without one is allowed (RFC 9110 section 6.6.1).
    server.timer(TokioTimer::new()).header_read_timeout(HEAD).auto_date_header(SystemTime::now() >= UNIX_EPOCH);
    let mut served = pin!(server.serve_connection(TokioIo::new(stream), TowerToHyperService::new(app)));
    // However a connection ends, whoever asked knows it.
    tokio::select! {
        _ = served.as_mut() => return,
        _ = closed.wait_for(|closed| *closed) => served.as_mut().graceful_shutdown(),
    }
    let _ = served.await;
}

/// Reads a wish whole before anything is done with it: at most `most` bytes, and no longer than a wish takes.
pub async fn whole(request: Request, next: Next, most: usize) -> Response {
    if matches!(*request.method(), Method::GET | Method::HEAD) {
        return next.run(request).await;
    }
    let (head, body) = request.into_parts();
    match tokio::time::timeout(BODY, to_bytes(body, most)).await {
        Ok(Ok(bytes)) => next.run(Request::from_parts(head, Body::from(bytes))).await,
        Ok(Err(_)) => {
            refused(StatusCode::PAYLOAD_TOO_LARGE, "The request is too long or incomplete.", "Do it in several parts.")
        }
        Err(_) => refused(StatusCode::REQUEST_TIMEOUT, "The request took too long to arrive.", "Try again."),
    }
}
