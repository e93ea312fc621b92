//! From the result of a job to an exit code.

use crate::arguments::FailOn;
use crate::exit::Exit;
use assess::Verdict;
use host::{JobResult, JobStatus};

pub(super) fn exit(result: &JobResult, fail_on: &[FailOn]) -> Exit {
    let stop = result.outcome.as_ref().is_some_and(|outcome| match outcome.verdict {
        Verdict::Pass => false,
        Verdict::Fail => fail_on.contains(&FailOn::Fail),
        Verdict::Undetermined => fail_on.contains(&FailOn::Undetermined),
    });
    match result.status {
        JobStatus::PluginBroke => Exit::PluginBroke,
        JobStatus::NotWritten => Exit::CouldNotRun,
        JobStatus::Refused | JobStatus::Partly => Exit::DataErrors,
        JobStatus::Done if stop => Exit::DataErrors,
        JobStatus::Done => Exit::Done,
    }
}
