//! What a person reads on the terminal; the only place that prints.

pub(crate) mod completeness;
mod finding;
pub(crate) mod jobs;
pub(crate) mod mapping;
pub(crate) mod plan;
pub(crate) mod standard;
pub(crate) mod text;
pub(crate) mod verdict;

use crate::arguments::{Common, MessageFormat};
use crate::exit::CommandError;
use record::Finding;
use std::io::Write;

/// Prints a line on standard error while a command goes on.
pub(crate) fn complain(line: &str) {
    let _ = anstream::stderr().lock().write_all(format!("{line}\n").as_bytes());
}

/// Where and how things are printed.
pub(crate) struct Output {
    form: MessageFormat,
    pub(crate) quiet: bool,
}

impl Output {
    pub(crate) fn new(common: &Common) -> Self {
        Self { form: common.message_format, quiet: common.quiet }
    }

    /// Whether what is printed is for programs.
    pub(crate) fn as_json(&self) -> bool {
        matches!(self.form, MessageFormat::Json)
    }

    /// Prints findings on standard error, under the name of their job where there are several.
    pub(crate) fn findings(&self, job: Option<&str>, findings: &[Finding]) {
        let mut stderr = anstream::stderr().lock();
        for finding in findings {
            let text = match self.form {
                MessageFormat::Full => finding::full(job, finding),
                MessageFormat::Short => finding::short(job, finding),
                MessageFormat::Json => finding::json(job, finding),
            };
            // Standard error that can't be written has nobody reading it.
            let _ = stderr.write_all(text.as_bytes());
        }
    }

    /// Prints why the program could not run.
    pub(crate) fn failure(&self, error: &CommandError) {
        if let CommandError::Findings(list) = error {
            self.findings(None, list);
            return;
        }
        self.error(error);
    }

    /// Prints an error with its causes.
    pub(crate) fn error(&self, error: &dyn std::error::Error) {
        let mut text = error.to_string();
        let mut source = error.source();
        while let Some(cause) = source {
            text += &format!(": {cause}");
            source = cause.source();
        }
        let text = match self.form {
            MessageFormat::Json => format!("{}\n", serde_json::json!({ "error": text })),
            MessageFormat::Full | MessageFormat::Short => {
                format!("{}error{}: {text}\n", text::BAD.render(), text::BAD.render_reset())
            }
        };
        let _ = anstream::stderr().lock().write_all(text.as_bytes());
    }

    /// Prints on standard error.
    pub(crate) fn say(&self, text: &str) {
        // Standard error that can't be written has nobody reading it.
        let _ = anstream::stderr().lock().write_all(text.as_bytes());
    }

    /// Prints on standard output.
    ///
    /// # Errors
    /// When it can't be written.
    pub(crate) fn print(&self, text: &str) -> std::io::Result<()> {
        let mut stdout = anstream::stdout().lock();
        stdout.write_all(text.as_bytes())?;
        stdout.flush()
    }
}
