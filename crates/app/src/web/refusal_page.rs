//! A refusal as a page: what a person sees who opened an old address, a bookmark, or one that is not there.
//!
//! It is for what a browser opens to show. Calls of the page's own get JSON. The page holds the refusal's own words and nothing of the
//! project, for whoever sees it was not let in.

use super::answer::Words;
use axum::extract::Request;
use axum::http::{Method, StatusCode, header};
use axum::response::{IntoResponse, Response};

/// First parts of paths that only a program asks for.
const CALLS: [&str; 2] = ["/api/", "/events"];

/// The page's own ground, ink and trouble tone, as `web/src/style/desk.css` has them; the page cannot load that file.
const STYLE: &str = "\
    :root { color-scheme: light dark; --ground: #E8E8E8; --ink: #1A1A1A; --accent: #1E3F5C; --trouble: #6E331A } \
    @media (prefers-color-scheme: dark) { :root { --ground: #1C1C1C; --ink: #E4E4E4; --accent: #9DBBD3; --trouble: #DE9B78 } } \
    body { margin: 0; padding: 12vh 6vw; background: var(--ground); color: var(--ink); font: 1.25rem/1.4 sans-serif } \
    main { max-width: 36rem } h1 { color: var(--trouble); font-size: 2.2rem; line-height: 1.15 } \
    a { color: var(--accent); display: inline-block; padding: .3rem 0; margin-right: 1.5rem } code { font-size: 1em; font-weight: bold }";

/// True where a browser asks for something to show: a page (RFC 9110, 12.5.1: what it accepts says so), and no call.
pub fn wanted(request: &Request) -> bool {
    let accept = request.headers().get(header::ACCEPT).and_then(|a| a.to_str().ok());
    let page = accept.is_some_and(|a| a.contains("text/html"));
    page && request.method() == Method::GET && !CALLS.iter().any(|c| request.uri().path().starts_with(c))
}

/// The page in the place of a refusal in JSON; any other response as it is. `once`: a word that nobody can guess, which lets in the page's
/// own style (Content Security Policy Level 3, nonce). Without one the page has no style, and is still read.
pub fn instead(response: Response, once: &str) -> Response {
    let Some(words) = response.extensions().get::<Words>().cloned() else { return response };
    let status = response.status();
    let policy = format!(
        "default-src 'none'; style-src 'nonce-{once}'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    );
    let head = [
        (header::CONTENT_TYPE, "text/html; charset=utf-8".to_owned()),
        (header::CONTENT_SECURITY_POLICY, policy),
        (header::VARY, "accept".to_owned()),
    ];
    (status, head, page(status, &words, once)).into_response()
}

fn page(status: StatusCode, words: &Words, once: &str) -> String {
    let (says, remedy) = (escaped(&words.says), with_commands(&escaped(&words.remedy)));
    // Who was not let in tries again once they are.
    let link = match status {
        StatusCode::FORBIDDEN => "<a href=\"\">Try again</a>",
        _ => "<a href=\"/\">Go to the start page</a>",
    };
    format!(
        "<!doctype html><html lang=\"en\"><head><meta charset=\"utf-8\">\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"><title>Fallside: {says}</title>\
         <style nonce=\"{once}\">{STYLE}</style></head>\
         <body><main><h1>{says}</h1><p>{remedy}</p><p>{link}</p></main></body></html>"
    )
}

/// A text in HTML (its section 13.1.2 names the characters that would be read as markup).
fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

/// Commands between backticks as code.
fn with_commands(text: &str) -> String {
    let mut parts = text.split('`');
    let first = parts.next().unwrap_or_default().to_owned();
    let rest: String =
        parts.enumerate().map(|(i, p)| if i % 2 == 0 { format!("<code>{p}</code>") } else { p.to_owned() }).collect();
    first + &rest
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_text_and_commands_are_code() {
        let words = Words { says: "a <b> & \"c\"".into(), remedy: "Run `fallside desk` there.".into() };
        let page = page(StatusCode::FORBIDDEN, &words, "0");
        assert!(page.contains("<h1>a &lt;b&gt; &amp; &quot;c&quot;</h1>"), "{page}");
        assert!(page.contains("Run <code>fallside desk</code> there."), "{page}");
    }
}
