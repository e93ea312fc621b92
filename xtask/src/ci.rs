//! All chores that a change must pass, one after the other, with the time of each.

use std::time::Instant;

use crate::VERBS;
use crate::finding::{Answer, Report, tell};
use crate::tree::Tree;

/// Runs every chore of the table that CI needs. A chore that finds something does not stop the others, so that one
/// run shows all there is to mend.
pub(crate) fn run(tree: &Tree, _: &[String]) -> Answer {
    tree.whole.set(true);
    let start = Instant::now();
    let mut times = Vec::new();
    let mut failed = Vec::new();
    for verb in VERBS {
        let Some(arguments) = verb.in_ci else { continue };
        println!("\n== {} {}", verb.name, arguments.join(" "));
        let arguments: Vec<String> = arguments.iter().map(|&argument| argument.to_owned()).collect();
        let begun = Instant::now();
        let sound = tell(verb.name, &(verb.run)(tree, &arguments));
        times.push((verb.name, begun.elapsed().as_secs(), sound));
        if !sound {
            failed.push(verb.name);
        }
    }
    println!();
    for (name, seconds, sound) in &times {
        println!("{name:<16} {seconds:>5} s  {}", if *sound { "sound" } else { "FAILED" });
    }
    let seconds = start.elapsed().as_secs();
    if failed.is_empty() {
        Ok(Report::sound(format!("all {} chores sound in {seconds} s", times.len())))
    } else {
        Err(format!(
            "{} of {} chores failed in {seconds} s: {}",
            failed.len(),
            times.len(),
            failed.join(", ")
        ))
    }
}
