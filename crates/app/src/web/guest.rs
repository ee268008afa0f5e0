//! Another device: one phone or tablet of the same network may use the stand's page, for this run only.
//!
//! Nothing listens on the network before a person opens access at the desk. Then this machine's one address there does, on threads
//! of its own, and the first device that enters the code is paired; no other can. Five wrong codes close access, as do the desk and
//! the end of the run. Closing disconnects the paired device.

mod pairing_code;
mod room;

use super::News;
use super::answer::away;
use super::answer::trouble;
use super::serve::Place;
use axum::Json;
use axum::response::{IntoResponse, Response};
use desk::wire::Access;
use desk::wire::request::AccessWish;
use desk::{Desk, Event};
use pairing_code::Key;
use project::Error;
use std::net::{Ipv4Addr, SocketAddr, SocketAddrV4, TcpListener, UdpSocket};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;
use tokio::runtime::Runtime;

/// The port tried first, so that a firewall need be told only once. Any would do; where it is taken, any does.
const PORT: u16 = 4871;
/// How long closing waits for a picture that is just being made.
const LAST_WORDS: Duration = Duration::from_millis(300);
/// An address that nobody has (RFC 5737, TEST-NET-1): asking for the way to it sends nothing.
const NOWHERE: (Ipv4Addr, u16) = (Ipv4Addr::new(192, 0, 2, 1), 9);

/// The way in, closed at first.
pub struct Door {
    desk: Arc<Desk>,
    news: News,
    place: Place,
    way: Mutex<Option<Way>>,
}

/// A way in that is open.
struct Way {
    address: SocketAddr,
    key: Arc<Key>,
    /// Everything that answers on the network runs here and ends with it.
    runtime: Option<Runtime>,
}

impl Drop for Way {
    fn drop(&mut self) {
        // Where waiting is allowed `close` has waited already.
        self.runtime.take().into_iter().for_each(Runtime::shutdown_background);
    }
}

impl Door {
    /// A closed door.
    pub fn new(desk: Arc<Desk>, news: News, place: Place) -> Self {
        Self { desk, news, place, way: Mutex::default() }
    }

    fn way(&self) -> MutexGuard<'_, Option<Way>> {
        self.way.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Opens a way in with a new code; one that was open is closed.
    fn open(&self) -> Result<(), String> {
        if let Some(why) = self.desk.reads_only() {
            return Err(format!("{why} Its stand is there."));
        }
        self.close();
        let listener = listen(self.place.guests_at.map_or_else(address, Ok)?)?;
        let cannot = |e: std::io::Error| format!("No other device can connect: {e}.");
        let address = listener.local_addr().map_err(cannot)?;
        let key = Arc::new(Key::new(self.place.code_holds)?);
        let runtime =
            tokio::runtime::Builder::new_multi_thread().worker_threads(1).enable_all().build().map_err(cannot)?;
        let room = room::Room::new(Arc::clone(&self.desk), self.news.clone(), Arc::clone(&key), address);
        runtime.spawn(expire(self.place.code_holds, room.clone()));
        runtime.spawn(room::serve(listener, room));
        *self.way() = Some(Way { address, key, runtime: Some(runtime) });
        Ok(())
    }

    /// Closes the way in: when this returns its address answers nobody, and whoever was in is out.
    pub fn close(&self) {
        let runtime = self.way().take().and_then(|mut way| way.runtime.take());
        runtime.into_iter().for_each(|r| r.shutdown_timeout(LAST_WORDS));
    }

    fn access(&self) -> Access {
        let way = self.way();
        let Some(way) = way.as_ref() else { return Access::default() };
        if way.key.is_shut() {
            let says =
                format!("Access was closed after {} wrong codes. Open it again for a new code.", pairing_code::TRIES);
            return Access { says: Some(says), ..Access::default() };
        }
        if way.key.is_over() {
            let says =
                "The code expired before it was used, and access was closed. Open it again for a new code.".into();
            return Access { says: Some(says), ..Access::default() };
        }
        let code = way.key.code();
        Access { open: true, address: Some(format!("http://{}", way.address)), is_in: code.is_none(), code, says: None }
    }
}

/// Closes the way in where nobody has written the code in time.
async fn expire(holds: Duration, room: room::Room) {
    tokio::time::sleep(holds).await;
    room.close_if_over();
}

/// Answers the desk's page.
pub async fn access(door: Arc<Door>) -> Response {
    Json(door.access()).into_response()
}

/// Does what the desk's page wants.
pub async fn asked(door: Arc<Door>, wish: AccessWish) -> Response {
    away(move || {
        let done = match wish {
            AccessWish::Open => door.open(),
            AccessWish::Close => {
                door.close();
                Ok(())
            }
        };
        door.news.tell(&Event::Changed);
        match done {
            Ok(()) => Json(door.access()).into_response(),
            Err(says) => trouble(&Error::Refused(says)),
        }
    })
    .await
}

/// This machine's address on its network, as the system would go out from it. Nothing is sent.
fn address() -> Result<Ipv4Addr, String> {
    let find = || -> std::io::Result<SocketAddr> {
        let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0))?;
        socket.connect(NOWHERE)?;
        socket.local_addr()
    };
    match find() {
        Ok(SocketAddr::V4(found)) if !found.ip().is_unspecified() => Ok(*found.ip()),
        _ => Err("This computer is not on a network. Connect it to the network of the device, and try again.".into()),
    }
}

/// Listens on one address, and on no public one: whoever reaches that may be anybody.
fn listen(at: Ipv4Addr) -> Result<TcpListener, String> {
    if !at.is_private() && !at.is_link_local() && !at.is_loopback() {
        return Err(format!("{at} is not an address of a private network: no other device may connect there."));
    }
    let bound = TcpListener::bind(SocketAddrV4::new(at, PORT)).or_else(|_| TcpListener::bind(SocketAddrV4::new(at, 0)));
    bound.map_err(|e| format!("{at} cannot be used: {e}. Give this computer's address with --guests-at."))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_network_of_ones_own_is_listened_on() {
        // A documentation address (RFC 5737) and a public one.
        for public in [Ipv4Addr::new(203, 0, 113, 7), Ipv4Addr::new(8, 8, 8, 8), Ipv4Addr::UNSPECIFIED] {
            assert!(listen(public).is_err(), "{public}");
        }
        assert!(listen(Ipv4Addr::LOCALHOST).is_ok());
    }
}
