//! Runs the reader on bytes.
#![allow(dead_code, reason = "each test program uses its own part")]
#![allow(clippy::unwrap_used, reason = "only tests use it, and a failed unwrap is a failed test")]

use plugin_api::{Intake, Options, ReadContext, Reader, SeriesDefaults, Source};
use plugin_json::Json;
use record::{Draft, Facts, Finding, SourceId};
use std::io::Cursor;

/// What came of a file.
pub(crate) struct Read {
    /// The draft; none when the file was refused.
    pub(crate) draft: Option<Draft>,
    pub(crate) findings: Vec<Finding>,
}

impl Read {
    /// `code file:row:column label`, one line each, in the order of filing.
    pub(crate) fn said(&self) -> String {
        self.findings
            .iter()
            .map(|finding| {
                let place = finding.place.as_ref().map(ToString::to_string).unwrap_or_default();
                format!("{} {place}: {}\n", finding.code, finding.message)
            })
            .collect()
    }

    /// Codes of the findings.
    pub(crate) fn codes(&self) -> Vec<&str> {
        self.findings.iter().map(|f| f.code.as_str()).collect()
    }
}

/// Reads bytes as the file `r.json`.
pub(crate) fn read(bytes: &[u8]) -> Read {
    let open = || Ok(Box::new(Cursor::new(bytes)) as Box<dyn std::io::BufRead>);
    read_source(&Source::new(SourceId(0), "r.json", bytes.len() as u64, &open))
}

pub(crate) fn read_source(source: &Source<'_>) -> Read {
    let mut intake = Intake::new(SourceId(0));
    let (options, defaults, facts) = (Options::default(), SeriesDefaults::default(), Facts::default());
    let cx = ReadContext { options: &options, defaults: &defaults, facts: &facts };
    let result = Json.read(source, &mut intake, &cx);
    let taken = intake.finish();
    assert_eq!(result.is_ok(), taken.whole.is_some(), "a record, or a refusal");
    if result.is_err() {
        assert!(taken.findings.iter().any(|f| f.severity == record::Severity::Error), "a refusal is said");
    }
    Read { draft: taken.whole.map(|whole| *whole), findings: taken.findings }
}
