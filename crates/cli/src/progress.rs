//! Progress of runs that take a while: a bar on a terminal, or lines of JSON for programs.

use indicatif::{ProgressBar, ProgressStyle};
use serde_json::json;
use std::io::IsTerminal;
use std::time::{Duration, Instant};

/// A bar for a number of jobs; silent when standard error is no terminal, or for a single job.
pub(crate) fn jobs(count: usize, quiet: bool) -> ProgressBar {
    if quiet || count < 2 || !std::io::stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new(count as u64);
    if let Ok(style) =
        ProgressStyle::with_template("{bar:30} {pos} of {len} jobs, {per_sec}, {eta} left  {msg}")
    {
        bar.set_style(style.progress_chars("━╸ "));
    }
    bar.enable_steady_tick(Duration::from_millis(120));
    bar
}

/// Progress for programs: a line of JSON on standard error at most every second, for runs that take longer.
pub(crate) struct Events {
    jobs: usize,
    done: usize,
    wanted: bool,
    start: Instant,
    last: Instant,
}

impl Events {
    /// The events of a run over a number of jobs.
    pub(crate) fn new(jobs: usize, wanted: bool) -> Self {
        let start = Instant::now();
        Self { jobs, done: 0, wanted: wanted && jobs > 1, start, last: start }
    }

    /// A job is done.
    pub(crate) fn job_done(&mut self) {
        self.done += 1;
        if !self.wanted || self.last.elapsed() < Duration::from_secs(1) {
            return;
        }
        self.last = Instant::now();
        let seconds = self.start.elapsed().as_secs_f64();
        let rate = self.done as f64 / seconds;
        let left = self.jobs.saturating_sub(self.done) as f64 / rate;
        let tenth = |number: f64| (number * 10.0).round() / 10.0;
        let event = json!({
            "event": "progress", "jobs": self.jobs, "done": self.done,
            "jobs_per_s": tenth(rate), "seconds": tenth(seconds), "seconds_left": tenth(left),
        });
        crate::render::complain(&event.to_string());
    }
}
