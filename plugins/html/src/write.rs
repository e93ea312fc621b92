//! The report as a page for any browser.

use crate::{Controls, html};
use pages::view::{Subject, document};
use pages::{Engine, TemplateSet};
use plugin_api::{Artifact, Reported, WriteContext, WriteInput, Writer};
use record::CodeDoc;
use std::io::Read;
use std::sync::{Arc, OnceLock};

/// Name of the format.
const NAME: &str = "html";

/// Writes the report as one HTML file.
#[derive(Debug, Default)]
pub struct HtmlWriter {
    /// The built-in template in the language first asked for, kept for the next job.
    kept: OnceLock<Loaded>,
}

/// What a template set is turned into once.
#[derive(Debug)]
struct Loaded {
    template: String,
    language: String,
    set: TemplateSet,
    engine: Arc<Engine>,
}

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
        self.make(input, cx).map_err(|finding| cx.refuse(*finding))
    }
}

impl HtmlWriter {
    fn make(&self, input: &WriteInput<'_>, cx: &mut WriteContext) -> Result<Vec<Artifact>, pages::Refusal> {
        let own;
        let plain = input.template_files.is_empty();
        let loaded = match self.kept.get() {
            Some(kept) if plain && kept.language == input.language && kept.template == input.template => kept,
            kept => {
                let set = TemplateSet::chosen(input.template, input.template_files)?;
                let engine = match plain {
                    true => Engine::built_in(input.template, input.language)?,
                    false => Arc::new(Engine::new(&set, input.language)?),
                };
                let made = Loaded {
                    template: input.template.to_owned(),
                    language: input.language.to_owned(),
                    set,
                    engine,
                };
                if plain && kept.is_none() {
                    self.kept.get_or_init(|| made)
                } else {
                    own = made;
                    &own
                }
            }
        };
        let subject = Subject {
            record: input.record,
            assessment: input.assessment,
            changes: input.changes,
            standard: input.standard,
            program: input.program,
        };
        let mut open = |id| {
            let mut bytes = Vec::new();
            let read = input.originals.open(id).and_then(|mut r| r.read_to_end(&mut bytes));
            read.map(|_| bytes).map_err(|e| e.to_string())
        };
        let (document, view) = document(&loaded.engine, &subject, &mut open)?;
        view.notes.into_iter().for_each(|note| cx.say(note));
        let controls = Controls::of(loaded.engine.words());
        let look = &loaded.set.manifest().look;
        let text = html(&document, &view.pictures, look, loaded.set.style()?, &controls);
        let name = format!("{}{}.html", input.stem, loaded.set.suffix());
        Ok(vec![Artifact::bytes(name, "text/html", NAME, text.into_bytes())])
    }
}
