//! Runs every test of the workspace, after setting up what the tests ask.

use std::fmt;

use crate::finding::{Answer, Report};
use crate::judges;
use crate::tree::{Tree, run as run_tool, run_heard};

/// Sets up the judges, then runs `cargo test --workspace` with the arguments given.
///
/// A judge that is missing is named and its tests are shown as ignored; under CI that is a failure.
pub(crate) fn run(tree: &Tree, arguments: &[String]) -> Answer {
    let missing = judges::set_up(tree)?;
    if tree.ci && !missing.is_empty() {
        return Err(format!("CI asks every judge, and these are missing: {}", missing.join("; ")));
    }
    scripts(tree)?;
    let mut cargo = tree.cargo();
    cargo.args(["test", "--workspace", "--no-fail-fast"]).args(arguments);
    judges::hand_over(tree, &mut cargo)?;
    let (heard, sound) = run_heard(&mut cargo)?;
    for judge in &missing {
        println!("not asked, since it is missing: {judge}");
    }
    let counts = Counts::of(&heard);
    if sound && counts.failed == 0 { Ok(Report::sound(counts.to_string())) } else { Err(counts.to_string()) }
}

/// Folders with tests of scripts of ours, for node's own runner.
const SCRIPT_TESTS: &[&str] = &["plugins/form/page/tests"];

/// Runs the tests of scripts; where node is missing it has been named among the judges.
fn scripts(tree: &Tree) -> Result<(), String> {
    if run_tool(tree.command("node").arg("--version")).is_err() {
        return Ok(());
    }
    for folder in SCRIPT_TESTS {
        run_tool(tree.command("node").arg("--test").arg(tree.root.join(folder)))
            .map_err(|error| format!("{folder}: {error}"))?;
    }
    Ok(())
}

/// Tests over all test programs.
#[derive(Debug, Default, PartialEq, Eq)]
pub(crate) struct Counts {
    pub(crate) passed: usize,
    pub(crate) failed: usize,
    skipped: usize,
}

impl Counts {
    /// Sums the closing lines of all test programs in what was printed.
    pub(crate) fn of(heard: &str) -> Self {
        let mut counts = Self::default();
        for line in heard.lines() {
            let Some((_, line)) = line.strip_prefix("test result: ").and_then(|line| line.split_once(". "))
            else {
                continue;
            };
            for part in line.split("; ") {
                let Some((number, word)) = part.split_once(' ') else { continue };
                let place = match word {
                    "passed" => &mut counts.passed,
                    "failed" => &mut counts.failed,
                    "ignored" => &mut counts.skipped,
                    _ => continue,
                };
                *place += number.parse::<usize>().unwrap_or(0);
            }
        }
        counts
    }
}

impl fmt::Display for Counts {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(formatter, "{} passed, {} failed, {} skipped", self.passed, self.failed, self.skipped)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tests_are_counted_over_all_programs() {
        let heard = "test result: ok. 3 passed; 0 failed; 2 ignored; 0 measured; 1 filtered out; finished in 0.00s\n\
             test a ... ok\ntest result: FAILED. 4 passed; 1 failed; 0 ignored; 0 measured\n";
        let counts = Counts::of(heard);
        assert_eq!(counts, Counts { passed: 7, failed: 1, skipped: 2 });
        assert_eq!(counts.to_string(), "7 passed, 1 failed, 2 skipped");
    }
}
