//! `filter`: a path in, a line of JSON out, for programs that spread work over machines.

use super::making::{request, standards_of, threads};
use super::register::Keeper;
use crate::exit::{CommandResult, Exit};
use crate::plugins::plugins;
use crate::render::Output;
use crate::unattended::Filter;
use host::{JobResult, convert_listed, result_line_with_findings};
use serde_json::Value;
use std::io::BufRead;

pub(crate) fn run(given: &Filter, output: &Output) -> CommandResult {
    let standards = standards_of(&given.making)?;
    let Some(request) = request(&given.making, &standards, &[], &[], given.replace, output)? else {
        return Ok(Exit::CouldNotRun);
    };
    let keeper = Keeper::open(given.making.register.as_deref())?;
    let (mut printed, mut kept) = (Ok(()), Ok(()));
    // Each line is read when a thread is free for it, so that a program that waits for an answer gets it.
    let lines = std::io::BufReader::new(std::io::stdin()).split(b'\n');
    convert_listed(
        &plugins(),
        lines,
        &request,
        threads(&given.at_a_time),
        &mut |line: &str, result: JobResult| {
            if kept.is_ok() {
                kept = keeper.keep(&result, &request.program);
            }
            if printed.is_ok() && kept.is_ok() {
                let mut object = result_line_with_findings(&result);
                object.insert("line".into(), line.into());
                printed = output.print(&format!("{}\n", Value::Object(object)));
            }
        },
    )?;
    kept?;
    printed?;
    Ok(Exit::Done)
}
