//! The running processes of one plug-in: one for each thread that needs it, each used for many requests.

use super::broke::Broke;
use super::process::{Greeting, Process};
use super::{Identity, OutsidePlugin, codes};
use record::Finding;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};

/// A plug-in and its idle processes.
#[derive(Debug)]
pub struct Pool {
    pub(super) plugin: OutsidePlugin,
    idle: Mutex<Vec<Process>>,
    started: AtomicUsize,
}

impl Pool {
    pub(super) fn new(plugin: OutsidePlugin) -> Self {
        Self { plugin, idle: Mutex::new(Vec::new()), started: AtomicUsize::new(0) }
    }

    /// The plug-in.
    pub fn plugin(&self) -> &OutsidePlugin {
        &self.plugin
    }

    /// How often it was started so far.
    pub fn started(&self) -> usize {
        self.started.load(Ordering::Relaxed)
    }

    fn idle(&self) -> std::sync::MutexGuard<'_, Vec<Process>> {
        // A thread that panics leaves nothing half done in here.
        self.idle.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Runs one piece of work with a process of its own; one that broke is ended and not used again.
    pub(super) fn with<T>(&self, work: impl FnOnce(&mut Process) -> Result<T, Broke>) -> Result<T, Broke> {
        let waiting = self.idle().pop();
        let mut process = match waiting {
            Some(process) => process,
            None => {
                // What was trusted is what runs, also when it is needed an hour later.
                if Identity::of(&self.plugin.folder, &self.plugin.manifest).ok().as_ref()
                    != Some(&self.plugin.identity)
                {
                    return Err(Broke::new(
                        codes::CHANGED,
                        "changed while the program ran, and was not started",
                    )
                    .help("look at what changed, run `fulgurite plugin trust DIR`, and run again"));
                }
                self.started.fetch_add(1, Ordering::Relaxed);
                Process::start(&self.plugin, Greeting::USUAL)?
            }
        };
        match work(&mut process) {
            Ok(value) => {
                self.idle().push(process);
                Ok(value)
            }
            Err(broke) => Err(broke.said(process.end_now())),
        }
    }

    /// Ends all of its processes; what was not in order about that is said.
    pub fn end(&self) -> Vec<Finding> {
        let idle = std::mem::take(&mut *self.idle());
        let left = idle.into_iter().map(Process::end).filter(|ended| ended.left_behind).count();
        if left == 0 {
            return Vec::new();
        }
        let name = &self.plugin.manifest.name;
        vec![
            Finding::warning(
                codes::LEFT_BEHIND,
                format!("plug-in `{name}` left a process behind when it ended; it was ended too"),
            )
            .help("report it to whoever maintains the plug-in: it should end what it starts"),
        ]
    }
}

impl Drop for Pool {
    fn drop(&mut self) {
        self.end();
    }
}
