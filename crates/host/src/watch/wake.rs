//! What wakes the watch: the system's word of a change, or the clock. A look at the folder decides; a word that gets
//! lost costs time, never an input.

use notify::{RecursiveMode, Watcher};
use std::path::Path;
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::Duration;

/// Without any word, look this often.
pub(super) const QUIET: Duration = Duration::from_secs(30);
/// Where the system tells nothing and nobody said how often to look.
const UNTOLD: Duration = Duration::from_secs(2);

pub(super) struct Wake {
    events: Option<(Receiver<()>, notify::RecommendedWatcher)>,
    every: Duration,
}

impl Wake {
    /// Asks the system to tell, unless it is to be polled; says why where it does not.
    pub(super) fn new(folder: &Path, poll: Option<Duration>) -> (Self, Option<String>) {
        if let Some(every) = poll {
            return (Self { events: None, every }, None);
        }
        let (send, events) = channel();
        let told = notify::recommended_watcher(move |_| {
            // Nobody listens any more: the watch has ended.
            let _ = send.send(());
        })
        .and_then(|mut watcher| watcher.watch(folder, RecursiveMode::NonRecursive).map(|()| watcher));
        match told {
            Ok(watcher) => (Self { events: Some((events, watcher)), every: QUIET }, None),
            Err(error) => {
                let why = format!("the system tells of no changes ({error}): looking every 2 s instead");
                (Self { events: None, every: UNTOLD }, Some(why))
            }
        }
    }

    /// Waits for a word, but no longer than it may take until something has settled.
    pub(super) fn wait(&self, settling: Option<Duration>) {
        let longest = settling.map_or(self.every, |time| {
            self.every.min((time / 4).clamp(Duration::from_millis(20), Duration::from_secs(1)))
        });
        match &self.events {
            Some((events, _)) => {
                if events.recv_timeout(longest) == Err(RecvTimeoutError::Disconnected) {
                    std::thread::sleep(longest);
                }
                // A burst of words is one; what comes from now on wakes again.
                while events.try_recv().is_ok() {}
            }
            None => std::thread::sleep(longest),
        }
    }
}
