//! Findings about a trace, with the row of the sample where the rows are known.

use record::{Finding, Place, Severity, Trace};

/// Findings about one trace, collected.
pub(super) struct Flags<'a> {
    trace: &'a Trace,
    findings: Vec<Finding>,
}

impl<'a> Flags<'a> {
    pub(super) fn new(trace: &'a Trace) -> Self {
        Self { trace, findings: Vec::new() }
    }

    pub(super) fn into_findings(self) -> Vec<Finding> {
        self.findings
    }

    /// The record allows no figures; gives back the message as the reason.
    pub(super) fn error(&mut self, code: &str, message: String, sample: Option<usize>, help: &str) -> String {
        self.push(Severity::Error, code, &message, sample, help);
        message
    }

    /// Figures are given, with a reservation.
    pub(super) fn warning(&mut self, code: &str, message: String, sample: Option<usize>, help: &str) {
        self.push(Severity::Warning, code, &message, sample, help);
    }

    /// Worth knowing.
    pub(super) fn note(&mut self, code: &str, message: String, help: &str) {
        self.push(Severity::Note, code, &message, None, help);
    }

    fn push(&mut self, severity: Severity, code: &str, message: &str, sample: Option<usize>, help: &str) {
        let mut finding = Finding::new(severity, code, message).at(self.place(sample));
        if !help.is_empty() {
            finding = finding.help(help);
        }
        self.findings.push(finding);
    }

    /// The file, and the row of a sample where every row between the first and the last holds one sample.
    fn place(&self, sample: Option<usize>) -> Place {
        let samples = self.trace.current_a.len() as u64;
        let row = sample.and_then(|index| {
            let rows = self.trace.origin.rows?;
            let one_a_row = rows.last.checked_sub(rows.first)?.checked_add(1)? == samples;
            one_a_row.then(|| rows.first + index as u64)
        });
        let label = (self.trace.segment > 1).then(|| format!("segment {}", self.trace.segment));
        Place { file: self.trace.name.clone(), row, column: None, label }
    }
}
