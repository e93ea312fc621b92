//! `self-check`: the program's own reference cases.

use crate::exit::{CommandError, CommandResult, Exit};
use crate::render::Output;
use crate::render::text::{BAD, FAINT, STRONG, styled};
use std::collections::BTreeMap;

pub(crate) fn run(output: &Output) -> CommandResult {
    let all = assess::reference::run_all().map_err(CommandError::Usage)?;
    let mut text = String::new();
    let mut by_function: BTreeMap<(&str, &str, &str), (usize, usize)> = BTreeMap::new();
    for held in &all {
        let count = by_function.entry((held.function, &held.source, &held.status)).or_default();
        count.0 += 1;
        count.1 += usize::from(!held.agrees);
        if !held.agrees {
            text += &format!(
                "{} {}: {}: expected {}, got {}\n",
                styled(BAD, "differs"),
                held.topic,
                held.case,
                held.expected,
                held.got
            );
        }
    }
    for ((function, source, status), (checks, failed)) in &by_function {
        text += &format!(
            "{}  {checks} checks, {failed} failed\n    {}\n",
            styled(STRONG, function),
            styled(FAINT, format!("{source} ({status})"))
        );
    }
    let failed = all.iter().filter(|held| !held.agrees).count();
    // The last line is read by `cargo xtask reference-cases`.
    text += &format!("{} checks, {failed} failed\n", all.len());
    output.print(&text)?;
    Ok(if failed == 0 { Exit::Done } else { Exit::DataErrors })
}
