//! `self-check`: the program's own reference cases.

mod paper;

use crate::arguments::SelfCheck;
use crate::exit::{CommandError, CommandResult, Exit};
use crate::render::Output;
use crate::render::text::{BAD, FAINT, GOOD, STRONG, styled};
use assess::reference::{Held, run_all, sources_by_function};
use plugin_api::Artifact;
use std::collections::{BTreeMap, BTreeSet};

pub(crate) fn run(given: &SelfCheck, output: &Output) -> CommandResult {
    let all = run_all().map_err(CommandError::Usage)?;
    let mut text = String::new();
    for held in all.iter().filter(|held| !held.agrees) {
        text += &format!(
            "{} {}: {}: {}: expected {} {}, got {}\n",
            styled(BAD, "differs"),
            held.function,
            held.case,
            held.figure,
            held.expected,
            held.tolerance,
            held.got
        );
    }
    text += &if given.list { by_function(&all) } else { by_topic(&all) };
    let failed = all.iter().filter(|held| !held.agrees).count();
    if let Some(folder) = &given.out {
        let page = paper::page(&all);
        let artifact = Artifact::bytes("self-check.html", "text/html", "self-check", page.into_bytes());
        for written in host::write_files(folder, vec![artifact], given.replace)? {
            text += &format!("{} {}\n", styled(GOOD, "wrote"), written.path.display());
        }
    }
    let pairs: BTreeSet<_> = all.iter().map(|held| (held.function, held.source.as_str())).collect();
    let sources: BTreeSet<_> = all.iter().map(|held| held.source.as_str()).collect();
    text += &format!("{} pairs of function and source, {} sources\n", pairs.len(), sources.len());
    // The last line is read by `cargo xtask reference-cases`.
    text += &format!("{} checks, {failed} failed\n", all.len());
    output.print(&text)?;
    Ok(if failed == 0 { Exit::Done } else { Exit::DataErrors })
}

/// A line for each topic.
fn by_topic(all: &[Held]) -> String {
    let mut topics: BTreeMap<&str, Vec<&Held>> = BTreeMap::new();
    for held in all {
        topics.entry(&held.topic).or_default().push(held);
    }
    let mut text = String::new();
    for (topic, held) in topics {
        let functions: BTreeSet<_> = held.iter().map(|one| one.function).collect();
        let sources: BTreeSet<_> = held.iter().map(|one| one.source.as_str()).collect();
        let failed = held.iter().filter(|one| !one.agrees).count();
        text += &format!(
            "{:<18} {:>5} checks, {failed} failed; {} functions against {} sources\n",
            styled(STRONG, format!("{topic:<18}")),
            held.len(),
            functions.len(),
            sources.len()
        );
    }
    text + &styled(FAINT, "--list names each function's sources, --out DIR writes a validation paper") + "\n"
}

/// Each public function with its sources.
fn by_function(all: &[Held]) -> String {
    let mut text = String::new();
    for (function, sources) in sources_by_function(all) {
        text += &format!("{}\n", styled(STRONG, function));
        if sources.is_empty() {
            text += "    no source outside the project\n";
        }
        for source in sources {
            let (checks, failed) = (source.checks, source.differ);
            text +=
                &format!("    {checks:>5} checks, {failed} failed  {} ({})\n", source.source, source.status);
        }
    }
    text
}
