//! The desk's page, served to this machine alone.
//!
//! Every request must name this server as its host, carry the run's token in a cookie, and, where it changes anything, come
//! from the page itself. Nothing is read but the project's own pictures, what was handed on
//! from it, and the page inside this program.

mod answer;
mod asked;
mod gate;
mod guest;
mod made;
mod page;
mod picture;
mod refusal_page;
mod routes;
mod serve;

pub use routes::serve;
pub use serve::Place;

use desk::Event;
use tokio::sync::broadcast;

/// What happens at the desk, for every page that listens.
#[derive(Clone, Debug)]
pub struct News(broadcast::Sender<String>);

/// Events that a slow page may lag behind before it is told to look again.
const BACKLOG: usize = 256;

impl News {
    /// Nobody listens yet.
    pub fn new() -> Self {
        Self(broadcast::channel(BACKLOG).0)
    }

    /// Tells everybody.
    pub fn tell(&self, event: &Event) {
        // With nobody listening there is nobody to tell.
        let _ = self.0.send(serde_json::to_string(event).unwrap_or_default());
    }

    fn listen(&self) -> broadcast::Receiver<String> {
        self.0.subscribe()
    }
}
