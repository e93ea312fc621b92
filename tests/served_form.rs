//! A served form asked in ways in which no browser of ours asks: by the wrong people, too much at once, and killed.
#![allow(clippy::unwrap_used, reason = "a test that can not go on has failed")]

use serde_json::{Value, json};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

struct Server {
    child: Child,
    /// Host and port, and the path with the token.
    host: String,
    base: String,
}

impl Server {
    fn start(journal: &Path, listen: &str) -> Self {
        let job: PathBuf = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/demo/lock-gate");
        let mut child = Command::new(env!("CARGO_BIN_EXE_fulgurite"))
            .arg("form")
            .arg(job)
            .args(["--serve", "--listen", listen, "--journal"])
            .arg(journal)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
        let address = line.trim().strip_prefix("http://").unwrap_or_else(|| panic!("no address: {line}"));
        let (host, path) = address.split_once('/').unwrap();
        Self { child, host: host.to_owned(), base: format!("/{path}") }
    }

    fn connect(&self) -> TcpStream {
        let port = self.host.rsplit_once(':').unwrap().1.parse::<u16>().unwrap();
        TcpStream::connect(("127.0.0.1", port)).unwrap()
    }

    /// Sends a request as it stands and gives back status and body.
    fn raw(&self, request: &str) -> (u16, String) {
        let mut stream = self.connect();
        let _ = stream.write_all(request.as_bytes());
        let mut answer = Vec::new();
        let _ = stream.read_to_end(&mut answer);
        let answer = String::from_utf8_lossy(&answer).into_owned();
        let status = answer.split(' ').nth(1).and_then(|s| s.parse().ok()).unwrap_or(0);
        (status, answer.split_once("\r\n\r\n").map(|(_, body)| body.to_owned()).unwrap_or_default())
    }

    fn get(&self, path: &str, more: &str) -> (u16, String) {
        self.raw(&format!("GET {path} HTTP/1.1\r\nHost: {}\r\n{more}\r\n", self.host))
    }

    fn post(&self, path: &str, body: &Value, more: &str) -> (u16, String) {
        let body = body.to_string();
        self.raw(&format!(
            "POST {}{path} HTTP/1.1\r\nHost: {}\r\nContent-Type: application/json\r\n{more}Content-Length: {}\r\n\r\n{body}",
            self.base,
            self.host,
            body.len()
        ))
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn entry(n: u64) -> Value {
    json!({ "n": n, "key": format!("k-{n}"), "at": "2026-03-12T09:30:00.000+01:00", "kind": "note", "text": "x" })
}

fn adding(writer: &str, entries: &[Value]) -> Value {
    json!({ "writer": writer, "entries": entries })
}

#[test]
fn on_the_loopback_only_this_machine_under_its_own_name_is_served() {
    let folder = tempfile::tempdir().unwrap();
    let server = Server::start(&folder.path().join("a.form.jsonl"), "127.0.0.1:0");
    assert_eq!(server.base, "/");
    let (status, page) = server.get("/", "");
    assert_eq!(status, 200);
    assert!(page.contains("connect-src 'self'") && page.contains("name=\"served\""));
    // A name of somebody's own that leads to this machine.
    let (status, _) = server.raw("GET /journal HTTP/1.1\r\nHost: bench.example\r\n\r\n");
    assert_eq!(status, 403);
    // Pages of others.
    assert_eq!(server.get("/journal", "Origin: http://elsewhere.example\r\n").0, 403);
    assert_eq!(server.get("/journal", "Sec-Fetch-Site: cross-site\r\n").0, 403);
    assert_eq!(server.post("entries", &adding("w", &[entry(1)]), "Origin: null\r\n").0, 403);
    assert_eq!(server.get("/journal", &format!("Origin: http://{}\r\n", server.host)).0, 200);
    // What a form without leave can send: no JSON.
    let plain = server.raw(&format!(
        "POST /entries HTTP/1.1\r\nHost: {}\r\nContent-Type: text/plain\r\nContent-Length: 2\r\n\r\n{{}}",
        server.host
    ));
    assert_eq!(plain.0, 415);
    assert_eq!(server.get("/entries", "").0, 405);
    assert_eq!(server.get("/../../etc/passwd", "").0, 404);
    assert_eq!(server.raw("nonsense\r\n\r\n").0, 400);
    assert_eq!(std::fs::read_to_string(folder.path().join("a.form.jsonl")).unwrap().lines().count(), 1);
}

#[test]
fn open_to_the_network_nothing_is_told_without_the_token() {
    let folder = tempfile::tempdir().unwrap();
    let journal = folder.path().join("a.form.jsonl");
    let server = Server::start(&journal, "0.0.0.0:0");
    assert_eq!(server.base.len(), 28, "{}", server.base);
    for path in ["/", "/journal", "/photos", "//journal", &format!("/{}/journal", "0".repeat(26))] {
        assert_eq!(server.get(path, "").0, 403, "{path}");
    }
    assert_eq!(server.get(&server.base, "").0, 200);
    assert_eq!(server.get(&format!("{}journal", server.base), "").0, 200);
    let base = server.base.clone();
    drop(server);
    let again = Server::start(&journal, "0.0.0.0:0");
    assert_eq!(again.base, base, "a server that was started again has the same token");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let token = std::fs::metadata(folder.path().join(".a.form.jsonl.token")).unwrap();
        assert_eq!(token.permissions().mode() & 0o077, 0, "nobody else on this machine reads it");
    }
}

#[test]
fn bodies_that_are_too_large_or_of_no_stated_length_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let server = Server::start(&folder.path().join("a.form.jsonl"), "127.0.0.1:0");
    let head =
        format!("POST /entries HTTP/1.1\r\nHost: {}\r\nContent-Type: application/json\r\n", server.host);
    assert_eq!(server.raw(&format!("{head}Content-Length: 99999999999\r\n\r\n")).0, 413);
    assert_eq!(server.raw(&format!("{head}Content-Length: +5\r\n\r\n12345")).0, 400);
    assert_eq!(server.raw(&format!("{head}Transfer-Encoding: chunked\r\n\r\n0\r\n\r\n")).0, 411);
    assert_eq!(server.raw(&format!("{head}Content-Length: 1\r\nContent-Length: 2\r\n\r\n1")).0, 400);
    assert_eq!(
        server
            .raw(&format!("GET / HTTP/1.1\r\nHost: {}\r\nX: {}\r\n\r\n", server.host, "x".repeat(40_000)))
            .0,
        431
    );
    let long = json!({ "writer": "w", "entries": [{ "n": 1, "key": "k", "at": "t", "kind": "note", "text": "x".repeat(300_000) }] });
    assert_eq!(server.post("entries", &long, "").0, 400);
    let claim = json!({ "writer": "w".repeat(300_000) });
    assert_eq!(server.post("claim", &claim, "").0, 413);
}

#[test]
fn one_window_writes_and_numbers_never_overwrite() {
    let folder = tempfile::tempdir().unwrap();
    let journal = folder.path().join("a.form.jsonl");
    let server = Server::start(&journal, "127.0.0.1:0");
    let claim =
        |writer: &str, steal: bool| server.post("claim", &json!({ "writer": writer, "steal": steal }), "").1;
    assert!(claim("one", false).contains("true"));
    assert!(claim("two", false).contains("false"));
    assert_eq!(server.post("entries", &adding("one", &[entry(1), entry(2)]), "").0, 200);
    assert_eq!(server.post("entries", &adding("two", &[entry(3)]), "").0, 409);
    assert!(claim("two", true).contains("true"));
    assert_eq!(server.post("entries", &adding("one", &[entry(3)]), "").0, 409);
    assert_eq!(server.post("entries", &adding("two", &[entry(3)]), "").0, 200);
    // The answer was lost on the way, and the window asks again.
    assert_eq!(server.post("entries", &adding("two", &[entry(3)]), "").0, 200);
    assert_eq!(server.post("entries", &adding("two", &[entry(5)]), "").0, 409);
    assert_eq!(server.post("entries", &adding("two", &[json!({ "n": 4 })]), "").0, 400);
    assert_eq!(std::fs::read_to_string(&journal).unwrap().lines().count(), 4);
    let second = Command::new(env!("CARGO_BIN_EXE_fulgurite"))
        .arg("form")
        .arg(Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/demo/lock-gate"))
        .args(["--serve", "--listen", "127.0.0.1:0", "--journal"])
        .arg(&journal)
        .output()
        .unwrap();
    assert_eq!(second.status.code(), Some(2), "a second server of one journal is refused");
}

#[test]
fn killed_at_any_moment_the_file_holds_whatever_was_answered_for() {
    let folder = tempfile::tempdir().unwrap();
    let journal = folder.path().join("a.form.jsonl");
    let mut answered = 0u64;
    for round in 0..5u64 {
        let mut server = Server::start(&journal, "127.0.0.1:0");
        let id = server.child.id();
        let killer = std::thread::spawn(move || {
            // Moments without a pattern, the same in every run.
            std::thread::sleep(std::time::Duration::from_millis(40 + (round * 97) % 160));
            Command::new("kill").args(["-9", &id.to_string()]).status().unwrap();
        });
        let port = server.host.rsplit_once(':').unwrap().1.parse::<u16>().unwrap();
        while let Ok(mut stream) = TcpStream::connect(("127.0.0.1", port)) {
            let body = adding("w", &[entry(answered + 1)]).to_string();
            let request = format!(
                "POST /entries HTTP/1.1\r\nHost: {}\r\nContent-Type: application/json\r\nContent-Length: {}\r\n\r\n{body}",
                server.host,
                body.len()
            );
            let mut answer = String::new();
            if stream.write_all(request.as_bytes()).is_err() || stream.read_to_string(&mut answer).is_err() {
                break;
            }
            if answer.starts_with("HTTP/1.1 200") {
                answered += 1;
            } else {
                // Cut off by the kill. What was stored without being heard is the same entry when it is sent again:
                // any other answer would mean that the file holds something else.
                assert!(!answer.contains('\n'), "{answer}");
                break;
            }
        }
        killer.join().unwrap();
        let _ = server.child.wait();
        let text = std::fs::read_to_string(&journal).unwrap();
        let held = text.split_inclusive('\n').skip(1).filter(|line| line.ends_with('\n')).count() as u64;
        assert!(held >= answered && held <= answered + 1, "{held} held, {answered} answered for");
    }
    assert!(answered > 20, "{answered}");
}
