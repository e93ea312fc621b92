//! Progress on a terminal, for runs that take a while.

use indicatif::{ProgressBar, ProgressStyle};
use std::io::IsTerminal;
use std::time::Duration;

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
