//! Who may come in: this machine's own page, with the run's token.

use super::answer::refused;
use super::refusal_page;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

/// What the page may do: its own scripts, styles, pictures and letters, and nobody else's (Content Security Policy Level 3).
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; \
    connect-src 'self'; frame-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";
/// What the browser shows for a moment on its way in. A way here that began in a file counts as one from another site, on which no cookie
/// of a strict site goes (RFC 6265bis, SameSite): this page begins another, from the desk itself.
const WAY_IN: &str = "<!doctype html><meta charset=\"utf-8\"><meta http-equiv=\"refresh\" content=\"0; url=/\">\
    <title>Fallside</title><p><a href=\"/\">Open the desk</a>";
/// The header that the page sends with every change, which no other site can send here unasked (Fetch, CORS-safelisted headers).
const MARK: &str = "x-fallside";

/// A token of 128 bits from the system's random source.
///
/// # Errors
/// The system gives none.
pub fn token() -> Result<String, String> {
    let mut bytes = [0u8; 16];
    getrandom::fill(&mut bytes).map_err(|e| format!("The system provides no random numbers for the token: {e}."))?;
    Ok(bytes.iter().map(|b| format!("{b:02x}")).collect())
}

/// The run's secret and the port it is served at.
#[derive(Clone, Debug)]
pub struct Gate {
    pub token: String,
    pub port: u16,
}

impl Gate {
    /// A gate with a new token.
    pub fn new(port: u16) -> Result<Self, String> {
        Ok(Self { token: token()?, port })
    }

    /// The name of the desk's cookie. A browser keeps one set of cookies for all ports of a machine, so each port has a name of its own.
    pub fn cookie(&self) -> String {
        format!("fallside-{}", self.port)
    }

    /// The address to open.
    pub fn address(&self) -> String {
        format!("http://127.0.0.1:{}/?t={}", self.port, self.token)
    }

    fn names_us(&self, host: Option<&str>) -> bool {
        ["127.0.0.1", "localhost"].iter().any(|h| host == Some(&format!("{h}:{}", self.port)))
    }

    fn is_ours(&self, origin: &str) -> bool {
        origin.strip_prefix("http://").is_some_and(|host| self.names_us(Some(host)))
    }
}

/// True where a cookie of this name has this value.
pub fn carries(headers: &HeaderMap, cookie: &str, token: &str) -> bool {
    let cookies = headers.get_all(header::COOKIE).iter().filter_map(|c| c.to_str().ok());
    let mut pairs = cookies.flat_map(|c| c.split(';')).filter_map(|c| c.trim().split_once('='));
    pairs.any(|(name, value)| name == cookie && same(value, token))
}

/// A header's text.
pub fn text(headers: &HeaderMap, name: header::HeaderName) -> Option<&str> {
    headers.get(name).and_then(|v| v.to_str().ok())
}

/// True where a request would change something and does not carry the page's own mark.
pub fn unmarked(request: &Request) -> bool {
    let changes = request.method() != Method::GET && request.method() != Method::HEAD;
    changes && request.headers().get(MARK).is_none_or(|v| v != "1")
}

/// Equality in a time that does not tell where the first difference is.
pub fn same(a: &str, b: &str) -> bool {
    a.len() == b.len() && a.bytes().zip(b.bytes()).fold(0, |d, (a, b)| d | (a ^ b)) == 0
}

/// Lets a request in or not.
pub async fn gate(State(gate): State<Gate>, request: Request, next: Next) -> Response {
    let for_a_person = refusal_page::wanted(&request);
    sealed(
        match turned_away(&gate, &request) {
            Some(response) => response,
            None => next.run(request).await,
        },
        for_a_person,
    )
}

/// A response with what a browser must hold to. A refusal that `for_a_person` is shown as a page.
pub fn sealed(mut response: Response, for_a_person: bool) -> Response {
    // What the library refuses by itself is said as everything else here is.
    let said = response.headers().get(header::CONTENT_TYPE).is_some_and(|t| t == "application/json");
    if response.status().is_client_error() && !said {
        let says = "The request was not understood.";
        response = refused(response.status(), says, "Go back to the table.");
    }
    if for_a_person {
        response = refusal_page::instead(response, &token().unwrap_or_default());
    }
    let headers = response.headers_mut();
    for (name, value) in [
        ("content-security-policy", POLICY),
        ("x-content-type-options", "nosniff"),
        ("referrer-policy", "no-referrer"),
        ("cross-origin-resource-policy", "same-origin"),
        ("cross-origin-opener-policy", "same-origin"),
    ] {
        headers.entry(name).or_insert(HeaderValue::from_static(value));
    }
    headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    response
}

/// What to answer at once; `None` to let the request in.
fn turned_away(gate: &Gate, request: &Request) -> Option<Response> {
    let headers = request.headers();
    let away = |says: &str, remedy: &str| Some(refused(StatusCode::FORBIDDEN, says, remedy));
    if !gate.names_us(text(headers, header::HOST)) {
        return away("The desk answers only on this computer.", "Open the address that `fallside desk` wrote.");
    }
    if headers.contains_key(header::ORIGIN) && !text(headers, header::ORIGIN).is_some_and(|o| gate.is_ours(o)) {
        return away("This request came from another website.", "Close that website's page.");
    }
    let given = request.uri().query().unwrap_or_default().split('&').find_map(|p| p.strip_prefix("t="));
    if given.is_some_and(|t| same(t, &gate.token)) && request.method() == Method::GET {
        let cookie = format!("{}={}; HttpOnly; SameSite=Strict; Path=/", gate.cookie(), gate.token);
        let head = [(header::CONTENT_TYPE, "text/html; charset=utf-8".to_owned()), (header::SET_COOKIE, cookie)];
        return Some((head, WAY_IN).into_response());
    }
    if !carries(headers, &gate.cookie(), &gate.token) {
        return away(
            "This page was not opened from this desk.",
            "Open the address that `fallside desk` wrote when it was last started. Earlier addresses, bookmarks and tabs end with \
             the desk that they belong to. If the desk is closed, run `fallside desk` in the project's folder.",
        );
    }
    if unmarked(request) {
        return away("This request did not come from the desk's page.", "Do it on the page.");
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_this_machine_is_named() {
        let gate = Gate::new(4870).unwrap();
        assert_eq!(gate.token.len(), 32);
        assert_ne!(gate.token, Gate::new(4870).unwrap().token);
        assert!(gate.names_us(Some("127.0.0.1:4870")) && gate.names_us(Some("localhost:4870")));
        for host in
            [None, Some("127.0.0.1"), Some("127.0.0.1:80"), Some("desk.example:4870"), Some("localhost:4870.example")]
        {
            assert!(!gate.names_us(host), "{host:?}");
        }
        assert!(
            gate.is_ours("http://localhost:4870") && !gate.is_ours("null") && !gate.is_ours("https://localhost:4870")
        );
    }
}
