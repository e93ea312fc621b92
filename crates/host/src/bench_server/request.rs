//! A request as it comes over the wire: the head within limits of size and time, the body within those of its route.

use std::io::Read;
use std::net::{Shutdown, TcpStream};
use std::time::{Duration, Instant};

/// Largest head of a request, in bytes.
const MAX_HEAD: usize = 16 << 10;
const MAX_HEADERS: usize = 64;

/// Why a request is not served.
#[derive(Debug)]
pub(crate) struct Refusal {
    pub(crate) status: u16,
    pub(crate) why: &'static str,
}

impl Refusal {
    pub(crate) const fn new(status: u16, why: &'static str) -> Self {
        Self { status, why }
    }
}

/// The head of a request.
#[derive(Debug)]
pub(crate) struct Head {
    pub(crate) method: String,
    /// Path without the query.
    pub(crate) path: String,
    headers: Vec<(String, String)>,
    /// What came behind the head already.
    behind: Vec<u8>,
}

impl Head {
    /// Reads a head; none where the other side only opened the connection.
    pub(crate) fn read(mut stream: &TcpStream, until: Instant) -> Result<Option<Self>, Refusal> {
        let mut bytes = Vec::new();
        let mut chunk = [0u8; 4096];
        loop {
            if let Some(head) = Self::parse(&bytes)? {
                return Ok(Some(head));
            }
            if bytes.len() > MAX_HEAD {
                return Err(Refusal::new(431, "the head of the request is too long"));
            }
            let size = read_some(&mut stream, &mut chunk, until)?;
            if size == 0 {
                return if bytes.is_empty() {
                    Ok(None)
                } else {
                    Err(Refusal::new(400, "the request was cut off"))
                };
            }
            bytes.extend_from_slice(chunk.get(..size).unwrap_or_default());
        }
    }

    fn parse(bytes: &[u8]) -> Result<Option<Self>, Refusal> {
        let bad = Refusal::new(400, "not a request of HTTP");
        let mut slots = [httparse::EMPTY_HEADER; MAX_HEADERS];
        let mut request = httparse::Request::new(&mut slots);
        let length = match request.parse(bytes) {
            Ok(httparse::Status::Complete(length)) => length,
            Ok(httparse::Status::Partial) => return Ok(None),
            Err(httparse::Error::TooManyHeaders) => return Err(Refusal::new(431, "too many headers")),
            Err(_) => return Err(bad),
        };
        let (Some(method), Some(target)) = (request.method, request.path) else { return Err(bad) };
        if length > MAX_HEAD {
            return Err(Refusal::new(431, "the head of the request is too long"));
        }
        let mut headers = Vec::new();
        for header in request.headers.iter() {
            let Ok(value) = std::str::from_utf8(header.value) else { return Err(bad) };
            headers.push((header.name.to_ascii_lowercase(), value.trim().to_owned()));
        }
        Ok(Some(Self {
            method: method.to_owned(),
            path: target.split('?').next().unwrap_or_default().to_owned(),
            headers,
            behind: bytes.get(length..).unwrap_or_default().to_vec(),
        }))
    }

    /// The value of a header; none where it is missing. Twice is refused: the two could differ.
    pub(crate) fn header(&self, name: &str) -> Result<Option<&str>, Refusal> {
        let mut found = self.headers.iter().filter(|(key, _)| key == name);
        match (found.next(), found.next()) {
            (Some(_), Some(_)) => Err(Refusal::new(400, "a header stands twice")),
            (one, _) => Ok(one.map(|(_, value)| value.as_str())),
        }
    }

    /// The body, of at most `most` bytes. Its length must be stated beforehand.
    pub(crate) fn body(&self, mut stream: &TcpStream, most: u64, until: Instant) -> Result<Vec<u8>, Refusal> {
        if self.header("transfer-encoding")?.is_some() {
            return Err(Refusal::new(411, "the length of the body must be stated"));
        }
        let length: u64 = match self.header("content-length")? {
            None => 0,
            // Digits only: a sign would be another number to another reader.
            Some(text) if text.bytes().all(|byte| byte.is_ascii_digit()) => {
                text.parse().map_err(|_| Refusal::new(400, "the length of the body is no number"))?
            }
            Some(_) => return Err(Refusal::new(400, "the length of the body is no number")),
        };
        if length > most {
            return Err(Refusal::new(413, "the body is too large"));
        }
        let mut body = self.behind.clone();
        let mut chunk = [0u8; 16 << 10];
        while (body.len() as u64) < length {
            let size = read_some(&mut stream, &mut chunk, until)?;
            if size == 0 {
                return Err(Refusal::new(400, "the body was cut off"));
            }
            body.extend_from_slice(chunk.get(..size).unwrap_or_default());
        }
        if body.len() as u64 > length {
            return Err(Refusal::new(400, "more came than the length says"));
        }
        Ok(body)
    }
}

fn read_some(stream: &mut &TcpStream, chunk: &mut [u8], until: Instant) -> Result<usize, Refusal> {
    let late = Refusal::new(408, "the request took too long");
    let left = until.saturating_duration_since(Instant::now());
    if left.is_zero() || stream.set_read_timeout(Some(left)).is_err() {
        return Err(late);
    }
    stream.read(chunk).map_err(|_| late)
}

/// Takes in what is still on its way, for a moment, and lets go.
pub(crate) fn drain(mut stream: &TcpStream) {
    let _ = stream.shutdown(Shutdown::Write);
    let until = Instant::now() + Duration::from_secs(2);
    let mut chunk = [0u8; 16 << 10];
    let mut left = 4 << 20;
    while left > 0 {
        match read_some(&mut stream, &mut chunk, until) {
            Ok(0) | Err(_) => break,
            Ok(size) => left -= size.min(left),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parsed(text: &str) -> Head {
        Head::parse(text.as_bytes()).unwrap().unwrap()
    }

    #[test]
    fn a_head_is_read_with_its_path_and_headers() {
        let head = parsed("POST /t/entries?x=1 HTTP/1.1\r\nHost: a:1\r\nContent-Length: 2\r\n\r\n{}");
        assert_eq!((head.method.as_str(), head.path.as_str()), ("POST", "/t/entries"));
        assert_eq!(head.header("host").unwrap(), Some("a:1"));
        assert_eq!(head.behind, b"{}");
    }

    #[test]
    fn what_could_be_read_in_two_ways_is_refused() {
        let twice = parsed("GET / HTTP/1.1\r\nHost: a\r\nHost: b\r\n\r\n");
        assert_eq!(twice.header("host").unwrap_err().status, 400);
        assert!(Head::parse(b"GET /\r\nno head").is_err());
        assert!(Head::parse(b"GET / HTTP/1.1\r\nHost: a\r\n").unwrap().is_none());
    }
}
