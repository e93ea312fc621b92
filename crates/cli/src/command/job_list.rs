//! The list of a run's jobs: totals for the terminal, and a file of JSON lines or CSV.

use crate::exit::CommandError;
use crate::render::{Output, jobs};
use host::{JobResult, JobStatus, WholeFile, row_account_to_value};
use plugin_results::neutral;
use record::RowAccount;
use serde_json::json;
use std::path::Path;

const COLUMNS: [&str; 17] = [
    "job",
    "input",
    "status",
    "verdict",
    "failure observed",
    "bench data",
    "reason",
    "rows",
    "used",
    "set aside",
    "preamble",
    "footer",
    "blank",
    "errors",
    "warnings",
    "outputs",
    "output bytes",
];

enum Form {
    None,
    JsonLines(WholeFile),
    Csv(Box<csv::Writer<WholeFile>>),
}

/// Takes the jobs one by one; holds no more than counts.
pub(super) struct JobList {
    form: Form,
    counts: [usize; JobStatus::ALL.len()],
    rows: RowAccount,
    remembered: usize,
    trouble: Option<std::io::Error>,
}

impl JobList {
    /// A list that also goes to a file, whose ending says how: `.csv`, or JSON lines.
    pub(super) fn new(file: Option<&Path>) -> Result<Self, CommandError> {
        let form = match file {
            None => Form::None,
            Some(path) => {
                let whole = WholeFile::begin(path)?;
                if path.extension().is_some_and(|e| e.eq_ignore_ascii_case("csv")) {
                    let mut writer =
                        csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(whole);
                    writer.write_record(COLUMNS).map_err(std::io::Error::from)?;
                    Form::Csv(Box::new(writer))
                } else {
                    Form::JsonLines(whole)
                }
            }
        };
        Ok(Self {
            form,
            counts: [0; JobStatus::ALL.len()],
            rows: RowAccount::default(),
            remembered: 0,
            trouble: None,
        })
    }

    pub(super) fn add(&mut self, result: &JobResult) {
        for (count, status) in self.counts.iter_mut().zip(JobStatus::ALL) {
            *count += usize::from(status == result.status);
        }
        self.rows.add(result.rows);
        self.remembered += usize::from(result.remembered);
        if self.trouble.is_some() {
            return;
        }
        let written = match &mut self.form {
            Form::None => Ok(()),
            Form::JsonLines(file) => {
                std::io::Write::write_all(file, format!("{}\n", jobs::object(result)).as_bytes())
            }
            Form::Csv(writer) => writer.write_record(cells(result)).map_err(std::io::Error::from),
        };
        self.trouble = written.err();
    }

    /// Puts the file in its place.
    pub(super) fn write(&mut self) -> Result<(), CommandError> {
        if let Some(error) = self.trouble.take() {
            return Err(error.into());
        }
        match std::mem::replace(&mut self.form, Form::None) {
            Form::None => {}
            Form::JsonLines(file) => file.finish()?,
            Form::Csv(writer) => {
                writer.into_inner().map_err(|e| std::io::Error::other(e.to_string()))?.finish()?;
            }
        }
        Ok(())
    }

    /// Counts of jobs, and the account of all rows.
    pub(super) fn totals(&self, output: &Output) -> String {
        let jobs: usize = self.counts.iter().sum();
        let rows = self.rows;
        if output.as_json() {
            let counts: serde_json::Map<String, serde_json::Value> = JobStatus::ALL
                .iter()
                .zip(self.counts)
                .map(|(s, n)| (s.as_str().to_owned(), n.into()))
                .collect();
            let rows = row_account_to_value(rows);
            return format!(
                "{}\n",
                json!({ "jobs": jobs, "counts": counts, "remembered": self.remembered, "rows": rows })
            );
        }
        let mut counts: Vec<String> = JobStatus::ALL
            .iter()
            .zip(self.counts)
            .filter(|(_, count)| *count > 0)
            .map(|(status, count)| format!("{count} {}", status.as_str()))
            .collect();
        if self.remembered > 0 {
            counts.push(format!("{} of them not changed since an earlier run", self.remembered));
        }
        let mut text = format!("{jobs} jobs: {}\n", counts.join(", "));
        if rows.total > 0 {
            text += &format!("{rows}\n");
        }
        text
    }
}

fn cells(result: &JobResult) -> [String; COLUMNS.len()] {
    let outcome = result.outcome.as_ref();
    let yes =
        |value: Option<bool>| value.map_or_else(String::new, |v| if v { "yes" } else { "no" }.to_owned());
    let count = |severity| result.findings.iter().filter(|f| f.severity == severity).count().to_string();
    let rows = result.rows;
    [
        neutral(&result.name),
        neutral(&result.input.to_string_lossy()),
        result.status.as_str().to_owned(),
        outcome.map_or_else(String::new, |o| o.verdict.to_string()),
        yes(outcome.map(|o| o.failure_observed)),
        yes(outcome.map(|o| o.bench_data)),
        neutral(outcome.and_then(|o| o.reason.as_deref()).unwrap_or_default()),
        rows.total.to_string(),
        rows.used.to_string(),
        rows.set_aside.to_string(),
        rows.preamble.to_string(),
        rows.footer.to_string(),
        rows.blank.to_string(),
        count(record::Severity::Error),
        count(record::Severity::Warning),
        result.written.len().to_string(),
        result.written.iter().map(|w| w.bytes).sum::<u64>().to_string(),
    ]
}
