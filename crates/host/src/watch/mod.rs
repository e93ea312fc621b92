//! Watches a folder into which others drop jobs: each is taken once it is whole, converted once, answered with one line,
//! and moved to those that are done or refused; a kill at any moment loses and doubles nothing.
//!
//! An input passes through three names, each step one rename: `DROP/NAME` (waiting), `DROP/.taken/ID/NAME` (taken, still
//! waiting for its answer), `DROP/done/ID` or `DROP/refused/ID`. Its line is written to `OUT/results.jsonl` and
//! synchronised before the last step; a run that finds a taken input looks for its line first.

mod answers;
mod drop_folder;
mod ending;
mod wake;

use crate::convert::{ConvertRequest, JobResult, JobStatus, convert_job};
use crate::journal;
use crate::listed::job_at;
use crate::output;
use crate::plugins::Plugins;
use crate::result_line::result_line_with_findings;
use crate::{HostError, JournalLock};
use answers::Answers;
use drop_folder::{DropFolder, Taken};
use ending::{EndAtDrop, Ending};
use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError, mpsc};
use std::time::Duration;
use wake::Wake;

/// When an input counts as whole.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WholeRule {
    /// Once no name, size or modification time in it has changed for this long, or its marker is there.
    Settled(Duration),
    /// Only once its marker is there: an empty file `NAME.ready` beside it.
    Marked,
}

/// What to watch, and what to make of it.
pub struct WatchRequest<'a> {
    /// The folder into which jobs are dropped: each entry of it is one job.
    pub drop: PathBuf,
    /// What is made of a job; `out` is the folder of all outputs, `replace` is not looked at.
    pub convert: ConvertRequest<'a>,
    /// When an input counts as whole.
    pub whole: WholeRule,
    /// Look this often, instead of waiting for the system to tell of a change: for network shares.
    pub poll: Option<Duration>,
    /// How many jobs at a time.
    pub threads: usize,
    /// End when nothing is left that waits, instead of watching on.
    pub once: bool,
    /// Wait so long before what could not be written is tried again.
    pub retry: Duration,
}

/// What became of one input.
#[derive(Debug)]
pub enum Watched {
    /// It has its line, and lies in done or refused.
    Answered {
        /// Number and name of the input.
        id: String,
        /// What it came to.
        result: Box<JobResult>,
    },
    /// It keeps waiting since something could not be read or written; it is tried again.
    Waiting {
        /// Number and name of the input, or its name in the drop folder.
        id: String,
        /// Why.
        why: String,
    },
}

/// Counts of a watch that ended.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct WatchCounts {
    /// Inputs that were moved to done.
    pub done: u64,
    /// Inputs that were moved to refused.
    pub refused: u64,
    /// Inputs that were taken and could not be answered.
    pub left: u64,
}

/// What is done with a result before its line is written: where it fails, the input keeps waiting.
pub type Keep<'a> = &'a (dyn Fn(&JobResult) -> Result<(), HostError> + Sync);

/// Watches; with `once` until nothing waits any more, else for ever.
///
/// # Errors
/// When the drop folder or the output folder can't be used, or another run holds one of them.
pub fn watch(
    plugins: &Plugins,
    request: &WatchRequest<'_>,
    keep: Keep<'_>,
    tell: &(dyn Fn(Watched) + Sync),
) -> Result<WatchCounts, HostError> {
    for name in &request.convert.formats {
        plugins.writer(name)?;
    }
    // Before anything is made: a folder that appears in the drop folder would be taken for a job.
    if let (Some(out), Ok(drop)) = (real_path(&request.convert.out), request.drop.canonicalize())
        && out.starts_with(drop)
    {
        return Err(HostError::OutputInDrop { path: request.convert.out.clone() });
    }
    let _out_lock: JournalLock = journal::hold(&request.convert.out)?;
    let mut folder = DropFolder::open(&request.drop)?;
    let left_over = folder.left_over()?;
    let ids: Vec<String> = left_over.iter().map(|taken| taken.id.clone()).collect();
    let (answers, known) = Answers::open(&request.convert.out, &ids)?;
    folder.numbers_from(known.highest)?;
    let (wake, trouble) = Wake::new(&request.drop, request.poll);
    if let Some(why) = trouble {
        tell(Watched::Waiting { id: request.drop.display().to_string(), why });
    }
    let work = Work {
        plugins,
        request,
        keep,
        tell,
        folder: folder.places(),
        answers: Mutex::new(answers),
        answered: known.status,
        counts: Mutex::new(WatchCounts::default()),
        ending: Ending::default(),
    };
    // Nothing queues up: beside those being converted at most one more is taken, and waits for the next free thread.
    let (hand_out, inputs) = mpsc::sync_channel::<Taken>(0);
    let inputs = Arc::new(Mutex::new(inputs));
    std::thread::scope(|scope| {
        // Gone with this block, whatever ends it: then the threads end too, and try nothing again.
        let hand_out = hand_out;
        let _end = EndAtDrop(&work.ending);
        for _ in 0..request.threads.max(1) {
            let (inputs, work) = (Arc::clone(&inputs), &work);
            scope.spawn(move || {
                loop {
                    let input = inputs.lock().unwrap_or_else(PoisonError::into_inner).recv();
                    let Ok(input) = input else { break };
                    work.one(&input);
                }
            });
        }
        // The threads' alone: with the last of them it goes, and what is handed out finds nobody.
        drop(inputs);
        let hand = |taken: Taken| {
            hand_out.send(taken).map_err(|_| HostError::NoThreads {
                source: std::io::Error::other("the threads that convert have ended"),
            })
        };
        for taken in left_over {
            hand(taken)?;
        }
        loop {
            let seen = folder.scan(request.whole)?;
            let mut not_taken = 0;
            for name in seen.whole {
                match folder.take(&name) {
                    Ok(taken) => hand(taken)?,
                    Err(error) => {
                        not_taken += 1;
                        tell(Watched::Waiting {
                            id: name.to_string_lossy().into_owned(),
                            why: crate::result_line::with_causes(&error),
                        });
                    }
                }
            }
            if request.once && !seen.some_settling {
                work.leave(not_taken);
                break;
            }
            wake.wait(seen.some_settling.then_some(match request.whole {
                WholeRule::Settled(time) => time,
                WholeRule::Marked => wake::QUIET,
            }));
        }
        Ok::<(), HostError>(())
    })?;
    Ok(work.counts.into_inner().unwrap_or_else(PoisonError::into_inner))
}

struct Work<'a> {
    plugins: &'a Plugins,
    request: &'a WatchRequest<'a>,
    keep: Keep<'a>,
    tell: &'a (dyn Fn(Watched) + Sync),
    folder: drop_folder::Places,
    answers: Mutex<Answers>,
    /// Inputs that an earlier run answered and did not move any more, with their status.
    answered: HashMap<String, String>,
    counts: Mutex<WatchCounts>,
    ending: Ending,
}

impl Work<'_> {
    fn one(&self, taken: &Taken) {
        if let Some(status) = self.answered.get(&taken.id) {
            let refused = !writes(JobStatus::ALL.into_iter().find(|s| s.as_str() == status));
            if self.until_it_works(taken, || self.folder.put_away(taken, refused)).is_some() {
                self.count(refused);
            }
            return;
        }
        let Some(mut result) = self.until_it_works(taken, || self.convert(taken)) else { return };
        // The line and the person see the path under which the input was dropped.
        result.input = self.request.drop.join(&taken.name);
        let mut line = result_line_with_findings(&result);
        line.insert("id".into(), taken.id.clone().into());
        let line = serde_json::Value::Object(line).to_string();
        let append = || self.answers.lock().unwrap_or_else(PoisonError::into_inner).append(&line);
        if self.until_it_works(taken, append).is_none() {
            return;
        }
        let refused = !writes(Some(result.status));
        if self.until_it_works(taken, || self.folder.put_away(taken, refused)).is_some() {
            self.count(refused);
            (self.tell)(Watched::Answered { id: taken.id.clone(), result: Box::new(result) });
        }
    }

    fn count(&self, refused: bool) {
        let mut counts = self.counts.lock().unwrap_or_else(PoisonError::into_inner);
        if refused { counts.refused += 1 } else { counts.done += 1 }
    }

    /// Reads, writes and keeps; what changes while it is read is read again.
    fn convert(&self, taken: &Taken) -> Result<JobResult, HostError> {
        let path = self.folder.taken(taken);
        let folder = self.request.convert.out.join(&taken.id);
        loop {
            let before = drop_folder::look(&path);
            output::remove_leftovers(&folder);
            // The folder is this input's alone: what is there is from a run that was killed.
            let request = ConvertRequest { replace: true, ..self.request.convert.again() };
            let mut result = convert_job(self.plugins, &job_at(&path), &request, &folder)?;
            if let Some(error) = result.not_written.take() {
                return Err(error);
            }
            if before.is_some() && drop_folder::look(&path) == before {
                (self.keep)(&result)?;
                return Ok(result);
            }
            if self.ending.within(self.request.retry.min(Duration::from_secs(1))) {
                let source = std::io::Error::other("it still changed while it was read, and the watch ends");
                return Err(HostError::ReadInput { path, source });
            }
        }
    }

    /// Inputs that the next run finds waiting.
    fn leave(&self, count: u64) {
        self.counts.lock().unwrap_or_else(PoisonError::into_inner).left += count;
    }

    /// Tries until the disk lets it; with `once`, or when the watch ends, a failure leaves the input waiting.
    fn until_it_works<T>(&self, taken: &Taken, act: impl Fn() -> Result<T, HostError>) -> Option<T> {
        loop {
            let error = match act() {
                Ok(done) => return Some(done),
                Err(error) => error,
            };
            let why = crate::result_line::with_causes(&error);
            (self.tell)(Watched::Waiting { id: taken.id.clone(), why });
            if self.request.once || self.ending.within(self.request.retry) {
                self.leave(1);
                return None;
            }
        }
    }
}

/// Where a path leads that need not be there yet: links on the way are followed as far as it is.
fn real_path(path: &Path) -> Option<PathBuf> {
    let path = std::path::absolute(path).ok()?;
    path.ancestors().find_map(|above| {
        let real = above.canonicalize().ok()?;
        Some(real.join(path.strip_prefix(above).ok()?))
    })
}

/// Whether a job that ended so has outputs.
fn writes(status: Option<JobStatus>) -> bool {
    matches!(status, Some(JobStatus::Done | JobStatus::Partly))
}
