//! The report as a page for any browser.

use crate::html;
use pages::TemplateSet;
use pages::view::{Subject, document};
use plugin_api::{Artifact, Reported, WriteContext, WriteInput, Writer};
use record::CodeDoc;
use std::io::Read;

/// Name of the format.
const NAME: &str = "html";
/// The template set that reports are made of.
const TEMPLATE: &str = "report";

/// Writes the report as one HTML file.
#[derive(Debug, Default)]
pub struct HtmlWriter;

impl Writer for HtmlWriter {
    fn name(&self) -> &'static str {
        NAME
    }

    fn about(&self) -> &'static str {
        "the report for any browser: one file, nothing loaded from anywhere"
    }

    /// Codes of the template engine, which this writer answers for.
    fn codes(&self) -> &'static [CodeDoc] {
        pages::codes::CODES
    }

    fn write(&self, input: &WriteInput<'_>, cx: &mut WriteContext) -> Result<Vec<Artifact>, Reported> {
        make(input, cx).map_err(|finding| cx.refuse(*finding))
    }
}

fn make(input: &WriteInput<'_>, cx: &mut WriteContext) -> Result<Vec<Artifact>, pages::Refusal> {
    let mut set = TemplateSet::built_in(TEMPLATE)?;
    if !input.template_files.is_empty() {
        set = set.overlay(input.template_files.iter().cloned())?;
    }
    let subject = Subject {
        record: input.record,
        assessment: input.assessment,
        standard: input.standard,
        program: input.program,
    };
    let mut open = |id| {
        let mut bytes = Vec::new();
        let read = input.originals.open(id).and_then(|mut r| r.read_to_end(&mut bytes));
        read.map(|_| bytes).map_err(|e| e.to_string())
    };
    let (document, view) = document(&set, input.language, &subject, &mut open)?;
    view.notes.into_iter().for_each(|note| cx.say(note));
    let text = html(&document, &view.pictures, &set.manifest().look, set.style()?);
    Ok(vec![Artifact::bytes(format!("{}.html", input.stem), "text/html", NAME, text.into_bytes())])
}
