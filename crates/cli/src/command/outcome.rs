//! From the results of jobs to an exit code.

use crate::arguments::FailOn;
use crate::exit::Exit;
use assess::Verdict;
use host::{JobResult, JobStatus};

pub(super) fn exit(results: &[JobResult], fail_on: &[FailOn]) -> Exit {
    results
        .iter()
        .map(|result| {
            let stop = result.assessment.as_ref().is_some_and(|a| match a.verdict() {
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
        })
        .max()
        .unwrap_or(Exit::Done)
}
