//! Who may ask for what, and what is done about it.

use super::BenchPage;
use super::journal_file::{Added, JournalFile};
use super::request::{Head, Refusal};
use super::response::Response;
use serde_json::{Value, json};
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

/// How long a window that says nothing stays the one that writes. It says something every two seconds.
const LEASE: Duration = Duration::from_secs(6);
/// The largest body without a photo and with one, in bytes.
const MOST: u64 = 256 << 10;
const MOST_WITH_PHOTO: u64 = 24 << 20;

/// A place of the site.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Route {
    Page,
    Journal,
    Photos,
    Trial,
    Claim,
    Release,
    Entries,
}

impl Route {
    /// The largest body that it takes.
    pub(crate) fn most(self) -> u64 {
        match self {
            Self::Page | Self::Journal | Self::Photos => 0,
            Self::Trial | Self::Claim | Self::Release => MOST,
            Self::Entries => MOST_WITH_PHOTO,
        }
    }
}

/// The window that writes.
struct Lease {
    writer: String,
    until: Instant,
}

struct Kept {
    journal: JournalFile,
    lease: Option<Lease>,
}

/// A form, its journal, and the window that writes.
pub(crate) struct Site {
    page: BenchPage,
    kept: Mutex<Kept>,
}

impl Site {
    pub(crate) fn new(page: BenchPage, journal: JournalFile) -> Self {
        Self { page, kept: Mutex::new(Kept { journal, lease: None }) }
    }

    /// Lets a request in: the token, the name under which this machine is asked for, the page that it comes from.
    pub(crate) fn gate(&self, head: &Head) -> Result<Route, Refusal> {
        let host = head.header("host")?.ok_or(Refusal::new(400, "no host is named"))?;
        let path = match &self.page.token {
            None => {
                // Another name that leads to the loopback is a trick of somebody's page.
                let name = host
                    .rsplit_once(':')
                    .filter(|(_, port)| port.bytes().all(|b| b.is_ascii_digit()))
                    .map_or(host, |(name, _)| name);
                if !["localhost", "127.0.0.1", "[::1]"].contains(&name) {
                    return Err(Refusal::new(403, "this form is served under localhost only"));
                }
                head.path.as_str()
            }
            Some(token) => {
                let (given, rest) = head.path.trim_start_matches('/').split_once('/').unwrap_or(("", ""));
                if !same(given.as_bytes(), token.as_bytes()) {
                    return Err(Refusal::new(403, "the token in the address is missing or wrong"));
                }
                head.path.get(head.path.len() - rest.len() - 1..).unwrap_or_default()
            }
        };
        let own = format!("http://{host}");
        if head.header("origin")?.is_some_and(|origin| !origin.eq_ignore_ascii_case(&own)) {
            return Err(Refusal::new(403, "asked for by another site"));
        }
        let route = match path {
            "/" => Route::Page,
            "/journal" => Route::Journal,
            "/photos" => Route::Photos,
            "/trial" => Route::Trial,
            "/claim" => Route::Claim,
            "/release" => Route::Release,
            "/entries" => Route::Entries,
            _ => return Err(Refusal::new(404, "there is nothing here")),
        };
        // A browser says from where a request comes. The page itself may be opened from anywhere: it tells nothing.
        let site = head.header("sec-fetch-site")?.unwrap_or("same-origin");
        if route != Route::Page && site != "same-origin" {
            return Err(Refusal::new(403, "asked for by another site"));
        }
        let reads = matches!(route, Route::Page | Route::Journal | Route::Photos);
        if head.method != if reads { "GET" } else { "POST" } {
            return Err(Refusal::new(405, "not in this way"));
        }
        if !reads && head.header("content-type")?.is_none_or(|kind| !kind.starts_with("application/json")) {
            return Err(Refusal::new(415, "JSON is expected"));
        }
        Ok(route)
    }

    /// Does what is asked.
    pub(crate) fn serve(&self, route: Route, body: &[u8], say: &dyn Fn(&str)) -> Response {
        let asked: Value = serde_json::from_slice(body).unwrap_or_default();
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        let failed = |error: &std::io::Error| {
            let full =
                matches!(error.kind(), std::io::ErrorKind::StorageFull | std::io::ErrorKind::QuotaExceeded);
            say(&format!("not stored: {error}"));
            Response::json(if full { 507 } else { 500 }, &json!({ "problem": error.to_string() }))
        };
        match route {
            Route::Page => Response::page(&self.page.html),
            Route::Journal => {
                let entries: Value = serde_json::from_str(&kept.journal.entries()).unwrap_or_default();
                Response::json(200, &json!({ "file": kept.journal.name(), "entries": entries }))
            }
            Route::Photos => match kept.journal.photos() {
                Ok(photos) => Response::json(200, &json!(photos)),
                Err(error) => failed(&error),
            },
            Route::Trial => {
                let text = asked.get("text").and_then(Value::as_str).unwrap_or_default();
                match kept.journal.trial(text) {
                    Ok(text) => Response::json(200, &json!({ "text": text })),
                    Err(error) => failed(&error),
                }
            }
            Route::Claim => {
                let Some(writer) = asked.get("writer").and_then(Value::as_str) else { return no_writer() };
                let steal = asked.get("steal").and_then(Value::as_bool).unwrap_or(false);
                let granted = steal || !kept.held_by_another(writer);
                if granted {
                    kept.lease = Some(Lease { writer: writer.to_owned(), until: Instant::now() + LEASE });
                }
                Response::json(200, &json!({ "granted": granted }))
            }
            Route::Release => {
                let Some(writer) = asked.get("writer").and_then(Value::as_str) else { return no_writer() };
                if kept.lease.as_ref().is_some_and(|lease| lease.writer == writer) {
                    kept.lease = None;
                }
                Response::json(200, &json!({}))
            }
            Route::Entries => kept.entries(&asked, body.len() as u64, failed),
        }
    }
}

fn no_writer() -> Response {
    Response::json(400, &json!({ "problem": "the window does not say which it is" }))
}

impl Kept {
    fn held_by_another(&self, writer: &str) -> bool {
        self.lease.as_ref().is_some_and(|lease| lease.writer != writer && lease.until > Instant::now())
    }

    fn entries(
        &mut self,
        asked: &Value,
        size: u64,
        failed: impl Fn(&std::io::Error) -> Response,
    ) -> Response {
        let Some(writer) = asked.get("writer").and_then(Value::as_str) else { return no_writer() };
        if self.held_by_another(writer) {
            return Response::json(409, &json!({ "problem": "another-window" }));
        }
        let wrong = |why: &str| Response::json(400, &json!({ "problem": why }));
        let Some(entries) = asked.get("entries").and_then(Value::as_array) else {
            return wrong("no entries");
        };
        let photo = match asked.get("photo") {
            None | Some(Value::Null) if size > MOST && entries.len() < 2 => {
                return wrong("an entry is too large");
            }
            None | Some(Value::Null) => None,
            Some(photo) => {
                match (photo.get("file").and_then(Value::as_str), photo.get("base64").and_then(Value::as_str))
                {
                    (Some(file), Some(base64)) => Some((file, base64)),
                    _ => return wrong("a photo without name or content"),
                }
            }
        };
        let text = |entry: &Value, key: &str| entry.get(key).is_some_and(Value::is_string);
        let mut expected = entries.first().and_then(|entry| entry.get("n")).and_then(Value::as_u64);
        for entry in entries {
            let whole = ["key", "at", "kind"].iter().all(|key| text(entry, key));
            if !whole || expected.is_none() || entry.get("n").and_then(Value::as_u64) != expected {
                return wrong("an entry lacks its number, key, time or kind");
            }
            expected = expected.and_then(|n| n.checked_add(1));
        }
        match self.journal.add(entries, photo) {
            Ok(Added::Stored(count)) => {
                if let Some(lease) = self.lease.as_mut().filter(|lease| lease.writer == writer) {
                    lease.until = Instant::now() + LEASE;
                }
                Response::json(200, &json!({ "stored": count }))
            }
            Ok(Added::Conflict(count)) => {
                Response::json(409, &json!({ "problem": "numbers-taken", "stored": count }))
            }
            Ok(Added::Full) => Response::json(413, &json!({ "problem": "journal-full" })),
            Err(error) => failed(&error),
        }
    }
}

/// Compares without telling by the time it takes where the first difference lies.
fn same(one: &[u8], other: &[u8]) -> bool {
    one.len() == other.len() && one.iter().zip(other).fold(0, |differs, (a, b)| differs | (a ^ b)) == 0
}
