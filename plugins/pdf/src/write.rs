//! The report as a file for signing and archiving.

use crate::{Attached, Book, CODES, Relation, Settings, pdf};
use pages::view::{Subject, document};
use pages::{Engine, TemplateSet};
use plugin_api::{Artifact, Body, Reported, WriteContext, WriteInput, Writer};
use record::{CodeDoc, Date};
use std::io::Read;
use std::sync::{Arc, OnceLock};

/// Name of the format.
const NAME: &str = "pdf";

/// What a template set is turned into once.
struct Loaded {
    template: String,
    language: String,
    set: TemplateSet,
    engine: Arc<Engine>,
    book: Book,
}

impl Loaded {
    fn new(set: TemplateSet, template: &str, language: &str, plain: bool) -> Result<Self, pages::Refusal> {
        let engine = match plain {
            true => Engine::built_in(template, language)?,
            false => Arc::new(Engine::new(&set, language)?),
        };
        let book = Book::load(&set)?;
        Ok(Self { template: template.to_owned(), language: language.to_owned(), set, engine, book })
    }
}

/// Writes the report as PDF.
#[derive(Default)]
pub struct PdfWriter {
    /// The built-in template in the language first asked for, kept for the next job.
    kept: OnceLock<Loaded>,
}

impl Writer for PdfWriter {
    fn name(&self) -> &'static str {
        NAME
    }

    fn about(&self) -> &'static str {
        "the report for signing and archiving: PDF/A-3a and PDF/UA-1, with record and summary inside"
    }

    fn codes(&self) -> &'static [CodeDoc] {
        CODES
    }

    fn wants(&self) -> &'static [&'static str] {
        &["json", "xml"]
    }

    fn write(&self, input: &WriteInput<'_>, cx: &mut WriteContext) -> Result<Vec<Artifact>, Reported> {
        let result = self.make(input, cx);
        result.map_err(|finding| cx.refuse(*finding))
    }
}

impl PdfWriter {
    fn make(&self, input: &WriteInput<'_>, cx: &mut WriteContext) -> Result<Vec<Artifact>, pages::Refusal> {
        let own;
        let plain = input.template_files.is_empty();
        let loaded = match self.kept.get() {
            Some(kept) if plain && kept.language == input.language && kept.template == input.template => kept,
            kept => {
                let set = TemplateSet::chosen(input.template, input.template_files)?;
                let made = Loaded::new(set, input.template, input.language, plain)?;
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
        let report = &input.record.facts.report;
        let identity = [&report.number, &report.revision].into_iter().flatten().cloned().collect::<Vec<_>>();
        let identity = if identity.is_empty() { input.stem.to_owned() } else { identity.join("/") };
        let issued = report.issued_on.filter(|_| report.state == Some(record::IssueState::Issued));
        let settings = Settings {
            look: &loaded.set.manifest().look,
            issued: issued.and_then(date),
            identity: &identity,
            producer: input.program,
            attached: &attached(input.artifacts),
        };
        let bytes = pdf(&document, &view.pictures, &loaded.book, &settings)?;
        let name = format!("{}{}.pdf", input.stem, loaded.set.suffix());
        Ok(vec![Artifact::bytes(name, "application/pdf", NAME, bytes)])
    }
}

fn date(date: Date) -> Option<(u16, u8, u8)> {
    Some((date.year().try_into().ok()?, date.month().try_into().ok()?, date.day().try_into().ok()?))
}

/// The record that the report was made from, and the summary that says the same for records systems.
fn attached(artifacts: &[Artifact]) -> Vec<Attached> {
    let mut out = Vec::new();
    for artifact in artifacts {
        let (relation, about) = match (artifact.format, artifact.path.ends_with(".assessment.json")) {
            ("json", false) => (Relation::Source, "The record that this report was made from"),
            ("json", true) => (Relation::Source, "The assessment of the record"),
            ("xml", _) => (Relation::Alternative, "Summary for records systems"),
            _ => continue,
        };
        let bytes = match &artifact.body {
            Body::Bytes(bytes) => bytes.clone(),
            Body::Stream(stream) => {
                let mut bytes = Vec::new();
                // Writing into memory can't fail; a stream that fails all the same is left out, since the
                // engine, which writes the same stream, says why.
                if stream(&mut bytes).is_err() {
                    continue;
                }
                bytes
            }
            Body::Source(_) => continue,
        };
        out.push(Attached {
            name: artifact.path.rsplit('/').next().unwrap_or(&artifact.path).to_owned(),
            media_type: artifact.media_type.to_owned(),
            about: about.to_owned(),
            relation,
            bytes: Arc::new(bytes),
        });
    }
    out
}
