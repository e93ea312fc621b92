//! `watch`: a folder into which others drop jobs.

use super::making::{request, standards_of, threads};
use super::register::Keeper;
use crate::exit::{CommandResult, Exit};
use crate::plugins::plugins;
use crate::render::text::{BAD, styled};
use crate::render::{Output, jobs};
use crate::unattended::{Watch, Whole};
use host::{JobResult, WatchRequest, Watched, WholeRule, watch};

pub(crate) fn run(given: &Watch, output: &Output) -> CommandResult {
    let standards = standards_of(&given.making)?;
    // What is in an input's own folder of outputs is its own: the watch replaces it.
    let Some(convert) = request(&given.making, &standards, &[], &[], true, output)? else {
        return Ok(Exit::CouldNotRun);
    };
    let keeper = Keeper::open(given.making.register.as_deref())?;
    let program = convert.program.clone();
    let request = WatchRequest {
        drop: given.drop.clone(),
        convert,
        whole: match given.whole {
            Whole::Settled => WholeRule::Settled(given.settle),
            Whole::Marked => WholeRule::Marked,
        },
        poll: given.poll,
        threads: threads(&given.at_a_time),
        once: given.once,
        retry: given.retry,
    };
    if !output.quiet && !output.as_json() {
        output.print(&format!(
            "watching {}; results in {}\n",
            given.drop.display(),
            given.making.out.join("results.jsonl").display()
        ))?;
    }
    let keep = |result: &JobResult| keeper.keep(result, &program).map_err(|error| error.into_host());
    let tell = |watched: Watched| match watched {
        Watched::Answered { id, result } => {
            output.findings(Some(&id), &result.findings);
            if !output.quiet {
                // The line is on disk: whether somebody reads it here as well does not matter.
                let _ = output.print(&jobs::one(output, &result));
            }
        }
        Watched::Waiting { id, why } => {
            let text = if output.as_json() {
                serde_json::json!({ "waiting": id, "error": why }).to_string()
            } else {
                format!("{}: {id} keeps waiting: {why}", styled(BAD, "error"))
            };
            output.say(&format!("{text}\n"));
        }
    };
    let counts = watch(&plugins(), &request, &keep, &tell)?;
    if !output.quiet && !output.as_json() {
        output.print(&format!(
            "{} done, {} refused, {} still waiting\n",
            counts.done, counts.refused, counts.left
        ))?;
    }
    Ok(match counts {
        counts if counts.left > 0 => Exit::CouldNotRun,
        counts if counts.refused > 0 => Exit::DataErrors,
        _ => Exit::Done,
    })
}
