//! Whether a watch is about to end: who waits before trying again then waits no longer.

use std::sync::{Condvar, Mutex, PoisonError};
use std::time::Duration;

#[derive(Debug, Default)]
pub(super) struct Ending {
    begun: Mutex<bool>,
    word: Condvar,
}

impl Ending {
    /// Waits so long, or until the watch ends; says whether it does.
    pub(super) fn within(&self, time: Duration) -> bool {
        let begun = self.begun.lock().unwrap_or_else(PoisonError::into_inner);
        *self.word.wait_timeout_while(begun, time, |begun| !*begun).unwrap_or_else(PoisonError::into_inner).0
    }

    fn begin(&self) {
        *self.begun.lock().unwrap_or_else(PoisonError::into_inner) = true;
        self.word.notify_all();
    }
}

/// Begins the end when it is dropped, whatever led there.
pub(super) struct EndAtDrop<'a>(pub(super) &'a Ending);

impl Drop for EndAtDrop<'_> {
    fn drop(&mut self) {
        self.0.begin();
    }
}
