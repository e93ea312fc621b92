//! How a plug-in broke: what the program says about it.

use record::{Finding, Place};

/// Why nothing of what a plug-in gave can be used.
#[derive(Clone, Debug)]
pub(crate) struct Broke {
    code: &'static str,
    message: String,
    help: Option<String>,
    /// The last lines of its standard error.
    said: Vec<String>,
}

impl Broke {
    pub(crate) fn new(code: &'static str, message: impl Into<String>) -> Self {
        Self { code, message: message.into(), help: None, said: Vec::new() }
    }

    #[must_use]
    pub(crate) fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    #[must_use]
    pub(crate) fn said(mut self, lines: Vec<String>) -> Self {
        self.said = lines;
        self
    }

    /// Whether it took too long.
    pub(crate) fn is_time_out(&self) -> bool {
        self.code == super::codes::TIMED_OUT
    }

    /// The finding, which names the plug-in and the file it was at.
    pub(crate) fn finding(self, plugin: &str, file: Option<&str>) -> Finding {
        let mut finding = Finding::error(self.code, format!("plug-in `{plugin}` {}", self.message));
        if let Some(file) = file {
            finding = finding.at(Place { file: file.to_owned(), ..Place::default() });
        }
        for line in self.said {
            finding = finding.help(format!("it said: {line}"));
        }
        let with = if file.is_some() { "file" } else { "record" };
        finding.help(self.help.unwrap_or_else(|| {
            format!("`fulgurite plugin check DIR` tries `{plugin}`; report it to whoever maintains the plug-in, with this {with}")
        }))
    }
}
