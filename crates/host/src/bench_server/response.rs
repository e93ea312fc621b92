//! An answer: status, kind, body, and what keeps a page to itself.

use super::request::Refusal;
use serde_json::{Value, json};
use std::io::{self, Write};
use std::net::TcpStream;

/// An answer.
pub(crate) struct Response {
    status: u16,
    kind: &'static str,
    body: Vec<u8>,
}

impl Response {
    pub(crate) fn page(html: &[u8]) -> Self {
        Self { status: 200, kind: "text/html; charset=utf-8", body: html.to_vec() }
    }

    pub(crate) fn json(status: u16, value: &Value) -> Self {
        Self { status, kind: "application/json", body: value.to_string().into_bytes() }
    }

    pub(crate) fn refusal(refusal: &Refusal) -> Self {
        Self::json(refusal.status, &json!({ "problem": refusal.why }))
    }

    pub(crate) fn send(&self, mut stream: &TcpStream) -> io::Result<()> {
        let head = format!(
            "HTTP/1.1 {} {}\r\nContent-Type: {}\r\nContent-Length: {}\r\nConnection: close\r\nCache-Control: no-store\r\n\
             X-Content-Type-Options: nosniff\r\nX-Frame-Options: DENY\r\nReferrer-Policy: no-referrer\r\n\
             Cross-Origin-Resource-Policy: same-origin\r\n\r\n",
            self.status,
            reason(self.status),
            self.kind,
            self.body.len()
        );
        stream.write_all(head.as_bytes())?;
        stream.write_all(&self.body)?;
        stream.flush()
    }
}

fn reason(status: u16) -> &'static str {
    match status {
        200 => "OK",
        400 => "Bad Request",
        403 => "Forbidden",
        404 => "Not Found",
        405 => "Method Not Allowed",
        408 => "Request Timeout",
        409 => "Conflict",
        411 => "Length Required",
        413 => "Content Too Large",
        415 => "Unsupported Media Type",
        431 => "Request Header Fields Too Large",
        503 => "Service Unavailable",
        507 => "Insufficient Storage",
        _ => "Internal Server Error",
    }
}
