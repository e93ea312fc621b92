//! Serves the form for the bench to tablets that can't keep a record themselves, and keeps their journal in a file.
//!
//! Plain HTTP, for a local network whose users are trusted: whoever can listen on the way reads and repeats what is
//! sent, the token included. The token keeps out those who can only reach the port. One form, one journal, one window
//! that writes. Nothing here knows what an entry means; it is kept as it came, in order, and on disk before it is
//! answered for.

mod journal_file;
mod request;
mod response;
mod routes;
mod token;

pub use journal_file::{JournalFile, JournalProblem, Torn};
pub use token::kept_token;

use request::{Head, Refusal};
use response::Response;
use routes::Site;
use std::io;
use std::net::{IpAddr, SocketAddr, TcpListener, TcpStream, UdpSocket};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

/// Connections served at the same time; more than a tablet with two windows ever needs.
const CONNECTIONS: usize = 24;
/// Time for the head of a request, and for its body.
const HEAD_TIME: Duration = Duration::from_secs(10);
const BODY_TIME: Duration = Duration::from_secs(90);

/// What is served.
pub struct BenchPage {
    /// The page.
    pub html: Vec<u8>,
    /// Secret part of the address; none on the loopback.
    pub token: Option<String>,
}

/// A server that listens already.
pub struct BenchServer {
    listener: TcpListener,
    site: Arc<Site>,
}

impl BenchServer {
    /// Listens at an address. Without a token only the loopback is listened at.
    ///
    /// # Errors
    /// When the address can't be had, or would open a form without a token to the network.
    pub fn listen(address: SocketAddr, page: BenchPage, journal: JournalFile) -> io::Result<Self> {
        if page.token.is_none() && !address.ip().is_loopback() {
            return Err(io::Error::new(
                io::ErrorKind::PermissionDenied,
                "a form that is open to the network needs a token",
            ));
        }
        let listener = TcpListener::bind(address)?;
        Ok(Self { listener, site: Arc::new(Site::new(page, journal)) })
    }

    /// The address at which it listens.
    ///
    /// # Errors
    /// What the system said.
    pub fn address(&self) -> io::Result<SocketAddr> {
        self.listener.local_addr()
    }

    /// Answers until the process ends. `say` gets a line about whatever the person at the PC should know.
    pub fn run(self, say: impl Fn(&str) + Send + Sync + 'static) {
        let (open, say) = (Arc::new(AtomicUsize::new(0)), Arc::new(say));
        for stream in self.listener.incoming() {
            let Ok(stream) = stream else {
                // The system is short of something, for instance of file handles: it passes.
                std::thread::sleep(Duration::from_millis(50));
                continue;
            };
            let before = open.fetch_add(1, Ordering::SeqCst);
            let leaving = Leaving(Arc::clone(&open));
            if before >= CONNECTIONS {
                continue;
            }
            let stream = Arc::new(stream);
            let (own, site, say) = (Arc::clone(&stream), Arc::clone(&self.site), Arc::clone(&say));
            let thread = std::thread::Builder::new().spawn(move || {
                let _leaving = leaving;
                answer(&own, &site, &*say);
            });
            if thread.is_err() {
                // No thread is to be had now; the page asks again. Not waited for: others want to be heard too.
                let busy = Refusal::new(503, "the PC that serves this form is short of threads");
                let _ = stream.set_write_timeout(Some(Duration::from_millis(200)));
                let _ = Response::refusal(&busy).send(&stream);
            }
        }
    }
}

/// Counts a connection out, however its thread ends.
struct Leaving(Arc<AtomicUsize>);

impl Drop for Leaving {
    fn drop(&mut self) {
        self.0.fetch_sub(1, Ordering::SeqCst);
    }
}

/// One request and its answer; then the connection closes.
fn answer(stream: &TcpStream, site: &Site, say: &dyn Fn(&str)) {
    let _ = stream.set_nodelay(true);
    let _ = stream.set_write_timeout(Some(Duration::from_secs(20)));
    let head = match Head::read(stream, Instant::now() + HEAD_TIME) {
        Ok(Some(head)) => head,
        Ok(None) => return,
        Err(refusal) => return refuse(stream, &refusal),
    };
    let served = site.gate(&head).and_then(|route| {
        let body = head.body(stream, route.most(), Instant::now() + BODY_TIME)?;
        Ok(site.serve(route, &body, say))
    });
    match served {
        Ok(response) => {
            let _ = response.send(stream);
        }
        Err(refusal) => refuse(stream, &refusal),
    }
}

/// Says no, and takes in a little of what is still coming, so that the answer is not lost to a reset.
fn refuse(stream: &TcpStream, refusal: &Refusal) {
    let _ = Response::refusal(refusal).send(stream);
    request::drain(stream);
}

/// The address of this machine as others of its network see it, where the system can say so. Nothing is sent.
pub fn address_in_network() -> Option<IpAddr> {
    let socket = UdpSocket::bind((std::net::Ipv4Addr::UNSPECIFIED, 0)).ok()?;
    // An address that is reserved for documentation: it only makes the system choose a way out.
    socket.connect(("192.0.2.1", 9)).ok()?;
    socket.local_addr().ok().map(|address| address.ip()).filter(|ip| !ip.is_unspecified())
}
