//! What a chore answers: findings with file and line, and one line that says what was looked at.

use std::path::PathBuf;

/// Something to mend, and where.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Finding {
    /// Path from the top of the repository.
    pub(crate) file: PathBuf,
    /// Line, counted from 1.
    pub(crate) line: usize,
    /// What is wrong and what to do.
    pub(crate) message: String,
}

impl Finding {
    /// A finding in `file` at `line` (from 1).
    pub(crate) fn new(file: impl Into<PathBuf>, line: usize, message: impl Into<String>) -> Self {
        Self { file: file.into(), line, message: message.into() }
    }
}

/// What a chore that could run found.
#[derive(Debug, Default)]
pub(crate) struct Report {
    pub(crate) findings: Vec<Finding>,
    /// What was looked at, for the last line; empty when the tools that ran have said it.
    pub(crate) summary: String,
}

impl Report {
    /// Nothing found; `summary` says what was looked at.
    pub(crate) fn sound(summary: impl Into<String>) -> Self {
        Self { findings: Vec::new(), summary: summary.into() }
    }
}

/// A chore's answer; `Err` when it could not run, or when a tool that it ran failed and has said why.
pub(crate) type Answer = Result<Report, String>;

/// Prints an answer; true when nothing was found.
pub(crate) fn tell(chore: &str, answer: &Answer) -> bool {
    match answer {
        Ok(report) => {
            for Finding { file, line, message } in &report.findings {
                println!("{}:{line}: {message}", file.display());
            }
            let found = report.findings.len();
            match (found, report.summary.as_str()) {
                (0, "") => println!("{chore}: nothing found"),
                (0, summary) => println!("{chore}: {summary}"),
                (_, "") => println!("{chore}: {found} to mend"),
                (_, summary) => println!("{chore}: {found} to mend; {summary}"),
            }
            found == 0
        }
        Err(reason) => {
            println!("{chore}: {reason}");
            false
        }
    }
}

/// Line (from 1) of the first line of `text` that, without leading blanks, starts with `start`; 1 when none does.
pub(crate) fn line_of(text: &str, start: &str) -> usize {
    text.lines().position(|line| line.trim_start().starts_with(start)).map_or(1, |index| index + 1)
}
