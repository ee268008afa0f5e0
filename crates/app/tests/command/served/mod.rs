//! A desk that runs, and how to ask it as another program does.
#![allow(dead_code, reason = "each test uses its part")]

pub mod wire;

use serde_json::Value;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

/// A desk that runs, ended with the test.
pub struct Desk {
    pub child: Child,
    pub port: u16,
    pub token: String,
    pub told: BufReader<std::process::ChildStderr>,
}

impl Drop for Desk {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// What came back: the status, the head, the body.
pub struct Answer {
    pub status: u16,
    pub head: String,
    pub body: Vec<u8>,
}

impl Answer {
    pub fn json(&self) -> Value {
        serde_json::from_slice(&self.body).unwrap_or_else(|e| panic!("{e}: {}", String::from_utf8_lossy(&self.body)))
    }
}

impl Desk {
    pub fn open(project: &Path) -> Self {
        Self::open_with(project, &[])
    }

    /// A desk with further words.
    pub fn open_with(project: &Path, words: &[&str]) -> Self {
        let mut command = Command::new(env!("CARGO_BIN_EXE_fallside"));
        command.args(["desk", "--quiet"]).args(words).arg(project);
        Self::run(command)
    }

    /// The desk that a command opens.
    pub fn run(mut command: Command) -> Self {
        let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        let mut address = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut address).unwrap();
        let told = BufReader::new(child.stderr.take().unwrap());
        let rest = address.trim().strip_prefix("http://127.0.0.1:").unwrap_or_else(|| panic!("{address:?}"));
        let (port, token) = rest.split_once("/?t=").unwrap();
        let (port, token) = (port.parse().unwrap(), token.to_owned());
        Self { child, port, token, told }
    }

    /// One request, its head as written here.
    pub fn ask(&self, line: &str, headers: &[(&str, &str)], body: &str) -> Answer {
        ask(&self.host(), line, headers, body)
    }

    /// The cookie as the browser sends it.
    pub fn cookie(&self) -> String {
        format!("fallside-{}={}", self.port, self.token)
    }

    pub fn host(&self) -> String {
        format!("127.0.0.1:{}", self.port)
    }

    /// As the page asks. The answer is held to the wire's schema.
    pub fn get(&self, path: &str) -> Answer {
        let cookie = self.cookie();
        let answer = self.ask(&format!("GET {path}"), &[("Host", &self.host()), ("Cookie", &cookie)], "");
        as_the_wire_says("desk", "GET", path, &answer);
        answer
    }

    pub fn post(&self, path: &str, body: &Value) -> Answer {
        let cookie = self.cookie();
        let headers = [
            ("Host", self.host()),
            ("Cookie", cookie),
            ("X-Fallside", "1".into()),
            ("Content-Type", "application/json".into()),
            ("Origin", format!("http://{}", self.host())),
        ];
        let headers: Vec<(&str, &str)> = headers.iter().map(|(n, v)| (*n, v.as_str())).collect();
        let answer = self.ask(&format!("POST {path}"), &headers, &body.to_string());
        as_the_wire_says("desk", "POST", path, &answer);
        answer
    }

    /// As [`Desk::post`], of a desk that may be gone at any moment.
    pub fn try_post(&self, path: &str, body: &Value) -> Option<Answer> {
        TcpStream::connect(("127.0.0.1", self.port)).ok()?;
        std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| self.post(path, body))).ok()
    }

    /// What the desk tells its page from now on.
    pub fn listen(&self) -> Receiver<Value> {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        let head = format!("GET /events HTTP/1.1\r\nHost: {}\r\nCookie: {}\r\n\r\n", self.host(), self.cookie());
        stream.write_all(head.as_bytes()).unwrap();
        let (send, heard) = channel();
        std::thread::spawn(move || {
            let lines = BufReader::new(stream).lines().map_while(Result::ok);
            let mut events = lines.filter_map(|l| serde_json::from_str::<Value>(l.strip_prefix("data: ")?).ok());
            events.all(|event| {
                let faults = wire::event_faults("event", &event);
                assert!(faults.is_empty(), "{faults:#?}");
                send.send(event).is_ok()
            })
        });
        heard
    }

    /// Asks again until the answer is as wanted.
    pub fn until(&self, path: &str, wanted: impl Fn(&Value) -> bool) -> Value {
        let began = Instant::now();
        loop {
            let answer = self.get(path).json();
            if wanted(&answer) {
                return answer;
            }
            assert!(began.elapsed() < Duration::from_secs(120), "{path}: {answer:#}");
            std::thread::sleep(Duration::from_millis(50));
        }
    }
}

/// Holds an answer with JSON to the wire's schema.
pub fn as_the_wire_says(at: &str, method: &str, path: &str, answer: &Answer) {
    if path.starts_with("/api/") {
        let faults = wire::faults(at, method, path, answer.status, &answer.json());
        assert!(faults.is_empty(), "{faults:#?}");
    }
}

/// One request to an address, its head as written here.
pub fn ask(address: &str, line: &str, headers: &[(&str, &str)], body: &str) -> Answer {
    let mut stream = TcpStream::connect(address).unwrap();
    stream.set_read_timeout(Some(Duration::from_secs(60))).unwrap();
    let mut text = format!("{line} HTTP/1.1\r\nConnection: close\r\nContent-Length: {}\r\n", body.len());
    headers.iter().for_each(|(name, value)| text += &format!("{name}: {value}\r\n"));
    stream.write_all(format!("{text}\r\n{body}").as_bytes()).unwrap();
    let mut all = vec![];
    stream.read_to_end(&mut all).unwrap();
    let end = all.windows(4).position(|w| w == b"\r\n\r\n").unwrap();
    let head = String::from_utf8_lossy(&all[..end]).to_lowercase();
    let status = head.split(' ').nth(1).unwrap().parse().unwrap();
    let mut body = all[end + 4..].to_vec();
    if head.contains("transfer-encoding: chunked") {
        body = unchunked(&body);
    }
    Answer { status, head, body }
}

/// The chunks of RFC 9112, 7.1, put together.
fn unchunked(mut body: &[u8]) -> Vec<u8> {
    let mut whole = vec![];
    while let Some(end) = body.windows(2).position(|w| w == b"\r\n") {
        let n = usize::from_str_radix(&String::from_utf8_lossy(&body[..end]), 16).unwrap();
        whole.extend_from_slice(&body[end + 2..end + 2 + n]);
        body = &body[end + 4 + n..];
        if n == 0 {
            break;
        }
    }
    whole
}

/// A project of small drawn frames: the demonstration box's first prints.
pub fn frames(folder: &Path) -> Vec<std::path::PathBuf> {
    let o = Command::new(env!("CARGO_BIN_EXE_fallside"))
        .args(["demo", "--small", "--only-draw", "--out"])
        .arg(folder)
        .output()
        .unwrap();
    assert!(o.status.success(), "{}", String::from_utf8_lossy(&o.stderr));
    let mut all: Vec<_> = std::fs::read_dir(folder.join("frames")).unwrap().map(|e| e.unwrap().path()).collect();
    all.sort();
    all
}

/// Every file below a folder.
pub fn walk(folder: &Path) -> Vec<std::path::PathBuf> {
    let mut all = vec![];
    for path in std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()) {
        if path.is_dir() { all.extend(walk(&path)) } else { all.push(path) }
    }
    all
}
