//! Packs a job: record, assessment, what the other writers made, the original files, schemas and standards data.

use crate::bag_write::{AbsentFile, CHANGES_ENDING, PackFile, PackPlan, Role, write_pack};
use crate::codes::{CODES, ORIGINAL_MISSING};
use crate::content::{Content, Each};
use pages::TemplateSet;
use plugin_api::{
    Artifact, Body, Opener, Reported, Stage, StreamBody, WriteContext, WriteInput, Writer, wire,
};
use record::{CodeDoc, Finding, Place, SourceId};
use std::collections::BTreeSet;
use std::io::{self, Write};
use std::sync::Arc;

const NAME: &str = "pack";

/// The form of the XML summary; it goes with every summary that is packed.
const SUMMARY_SCHEMAS: [(&str, &str); 2] = [
    ("summary-1.xsd", include_str!("../../../shared/schemas/summary-1.xsd")),
    ("xml-namespace.xsd", include_str!("../../../shared/schemas/xml-namespace.xsd")),
];

/// The viewer of packs, one page; `cargo xtask viewer` makes it.
const VIEWER: &str = include_str!("../viewer/viewer.html");

/// Writes `STEM.evidence.zip`.
#[derive(Clone, Copy, Debug, Default)]
pub struct PackWriter;

impl Writer for PackWriter {
    fn name(&self) -> &'static str {
        NAME
    }

    fn about(&self) -> &'static str {
        "evidence pack for whoever must trust the result in ten years: everything of the job with checksums, as a \
         BagIt bag in a zip"
    }

    fn codes(&self) -> &'static [CodeDoc] {
        CODES
    }

    fn stage(&self) -> Stage {
        Stage::Package
    }

    fn wants(&self) -> &'static [&'static str] {
        &["pdf", "html", "xml", "csv"]
    }

    fn write(&self, input: &WriteInput<'_>, cx: &mut WriteContext) -> Result<Vec<Artifact>, Reported> {
        let plan = Arc::new(plan(input, cx));
        let body: StreamBody = Arc::new(move |out| match write_pack(&plan, out) {
            Ok(_) => Ok(()),
            Err(error) => Err(io::Error::other(error)),
        });
        Ok(vec![Artifact {
            path: format!("{}.evidence.zip", input.stem),
            media_type: "application/zip",
            format: NAME,
            body: Body::Stream(body),
        }])
    }
}

fn plan(input: &WriteInput<'_>, cx: &mut WriteContext) -> PackPlan<'static> {
    let facts = &input.record.facts;
    let mut files = vec![
        PackFile {
            role: Role::Record,
            name: "record.json".to_owned(),
            media_type: Some("application/json".to_owned()),
            sha256: None,
            content: content(input, &input.record_json()),
        },
        in_memory(
            Role::Assessment,
            "assessment.json",
            "application/json",
            pretty(&wire::v1::assessment_to_value(input.assessment)),
        ),
        in_memory(
            Role::Schema,
            "record-1.schema.json",
            "application/schema+json",
            pretty(&wire::v1::record_schema()),
        ),
        in_memory(Role::Viewer, "viewer.html", "text/html", VIEWER.as_bytes().to_vec()),
    ];
    if input.artifacts.iter().any(|artifact| artifact.format == "xml") {
        for (name, text) in SUMMARY_SCHEMAS {
            files.push(in_memory(Role::Schema, name, "application/xml", text.as_bytes().to_vec()));
        }
    }
    if let Some((name, text)) = input.standard_file {
        files.push(in_memory(Role::Standard, name, "application/toml", text.as_bytes().to_vec()));
    }
    for (name, bytes) in template(input) {
        let content = Box::new(bytes);
        files.push(PackFile { role: Role::Template, name, media_type: None, sha256: None, content });
    }
    for artifact in input.artifacts {
        // The record itself is packed above.
        if artifact.format != NAME && artifact.format != "json" {
            files.push(document(input, artifact));
        }
    }
    if let Some(changes) = input.changes {
        let name = format!("{}{CHANGES_ENDING}", input.stem);
        let text = pretty(&wire::v1::changes_to_value(changes));
        files.push(in_memory(Role::Summary, &name, "application/json", text));
    }
    let mut absent = Vec::new();
    let mut written = BTreeSet::new();
    for (at, source) in input.record.sources.iter().enumerate() {
        // A workbook of which several sheets were read is one file.
        if !written.insert(source.file()) {
            continue;
        }
        let place = Place { file: source.file().to_owned(), ..Place::default() };
        match input.originals.opener(SourceId(u32::try_from(at).unwrap_or(u32::MAX))) {
            Ok(opener) => files.push(PackFile {
                role: Role::Source,
                name: source.file().to_owned(),
                media_type: None,
                sha256: Some(source.sha256.clone()),
                content: Box::new(Original { size: source.bytes, opener }),
            }),
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                cx.say(
                    Finding::warning(
                        ORIGINAL_MISSING,
                        format!("`{}` is not at hand and not in the pack", source.file()),
                    )
                    .at(place)
                    .help("convert the job folder with its original files"),
                );
                absent.push(AbsentFile {
                    role: Role::Source,
                    original_name: source.file().to_owned(),
                    sha256: Some(source.sha256.clone()),
                    why: "the pack was made from a record whose original files were not at hand".to_owned(),
                });
            }
            Err(error) => files.push(PackFile {
                role: Role::Source,
                name: source.file().to_owned(),
                media_type: None,
                sha256: Some(source.sha256.clone()),
                content: Box::new(Unreadable { kind: error.kind(), what: error.to_string() }),
            }),
        }
    }
    let report = &facts.report;
    PackPlan {
        report_number: report.number.clone(),
        revision: report.revision.clone(),
        laboratory: facts.laboratory.name.clone(),
        description: Some(description(facts)),
        issue_date: report.issued_on.map(|date| date.to_string()),
        software: Some(input.program.to_owned()),
        plug_ins: plug_ins(input),
        language: Some(input.language.to_owned()),
        notice: facts.invented.clone(),
        amends: report.amends.clone(),
        amends_pack: report.amends_pack.clone(),
        amendment_reason: report.amendment_reason.clone(),
        files,
        absent,
    }
}

/// What the papers were laid out with: the program's template under the laboratory's own files. Fonts are left out:
/// each paper carries its own.
fn template(input: &WriteInput<'_>) -> Vec<(String, Vec<u8>)> {
    let own = input.template_files;
    if !input.artifacts.iter().any(|artifact| artifact.format == "pdf" || artifact.format == "html") {
        return own.to_vec();
    }
    match TemplateSet::chosen(input.template, own) {
        Ok(set) => set
            .files()
            .filter(|(path, _)| !path.starts_with("fonts/"))
            .map(|(path, bytes)| (path.to_owned(), bytes.to_vec()))
            .collect(),
        // The papers were made with it, so it can be used; were it not so, the laboratory's files are what there is.
        Err(_) => own.to_vec(),
    }
}

/// Who read the originals and who wrote the documents. The writers are parts of the program and have its version.
fn plug_ins(input: &WriteInput<'_>) -> Vec<String> {
    let version = input.program.rsplit(' ').next().unwrap_or(input.program);
    let writers = input.artifacts.iter().map(|artifact| artifact.format).chain([NAME]);
    let readers = input.record.sources.iter().filter_map(|source| source.read_by.clone());
    let all: BTreeSet<String> = readers.chain(writers.map(|name| format!("{name} {version}"))).collect();
    all.into_iter().collect()
}

fn description(facts: &record::Facts) -> String {
    let item = &facts.item;
    let mut text = "Electrostatic discharge immunity test".to_owned();
    let named: Vec<&str> =
        [item.name.as_deref(), item.type_designation.as_deref()].into_iter().flatten().collect();
    if !named.is_empty() {
        text.push_str(" of ");
        text.push_str(&named.join(" "));
    }
    if let Some(serial) = &item.serial {
        text.push_str(", serial number ");
        text.push_str(serial);
    }
    text
}

fn in_memory(role: Role, name: &str, media_type: &str, bytes: Vec<u8>) -> PackFile<'static> {
    PackFile {
        role,
        name: name.to_owned(),
        media_type: Some(media_type.to_owned()),
        sha256: None,
        content: Box::new(bytes),
    }
}

pub(crate) fn pretty(value: &serde_json::Value) -> Vec<u8> {
    let mut text = format!("{value:#}").into_bytes();
    text.push(b'\n');
    text
}

/// What another writer made.
fn document(input: &WriteInput<'_>, artifact: &Artifact) -> PackFile<'static> {
    PackFile {
        role: role(artifact),
        name: artifact.path.clone(),
        media_type: Some(artifact.media_type.to_owned()),
        sha256: None,
        content: content(input, &artifact.body),
    }
}

/// Where the bytes of a file come from.
fn content(input: &WriteInput<'_>, body: &Body) -> Box<dyn Content> {
    let content: io::Result<Box<dyn Content>> = match body {
        Body::Bytes(bytes) => Ok(Box::new(bytes.clone())),
        Body::Stream(write) => Streamed::measured(write).map(|content| Box::new(content) as Box<dyn Content>),
        Body::Source(id) => {
            let size =
                usize::try_from(id.0).ok().and_then(|at| input.record.sources.get(at)).map_or(0, |s| s.bytes);
            input.originals.opener(*id).map(|opener| Box::new(Original { size, opener }) as Box<dyn Content>)
        }
    };
    content.unwrap_or_else(|error| Box::new(Unreadable { kind: error.kind(), what: error.to_string() }))
}

/// Papers are for people, summaries for programs, and a schema says so in its name.
fn role(artifact: &Artifact) -> Role {
    if artifact.path.ends_with(".xsd") || artifact.path.ends_with(".schema.json") {
        return Role::Schema;
    }
    match artifact.media_type.split(';').next().unwrap_or_default().trim() {
        "application/pdf" | "text/html" | "application/xhtml+xml" => Role::Paper,
        "application/xml" | "text/xml" | "text/csv" | "application/json" | "application/jsonl" => {
            Role::Summary
        }
        _ => Role::Other,
    }
}

/// An original file of the job.
struct Original {
    size: u64,
    opener: Opener,
}

impl Content for Original {
    fn size(&self) -> u64 {
        self.size
    }

    fn write_to(&self, out: &mut dyn Write) -> io::Result<()> {
        io::copy(&mut (self.opener)()?, out).map(|_| ())
    }
}

/// An artifact that is made while it is written.
struct Streamed {
    size: u64,
    write: StreamBody,
}

impl Streamed {
    /// Makes it once to learn its length.
    fn measured(write: &StreamBody) -> io::Result<Self> {
        let mut size = 0_u64;
        write(&mut Each(|bytes: &[u8]| {
            size += bytes.len() as u64;
            Ok(())
        }))?;
        Ok(Self { size, write: Arc::clone(write) })
    }
}

impl Content for Streamed {
    fn size(&self) -> u64 {
        self.size
    }

    fn write_to(&self, out: &mut dyn Write) -> io::Result<()> {
        (self.write)(out)
    }
}

/// What could not be opened: the pack fails when it comes to this file, and nothing is written.
struct Unreadable {
    kind: io::ErrorKind,
    what: String,
}

impl Content for Unreadable {
    fn size(&self) -> u64 {
        0
    }

    fn write_to(&self, _: &mut dyn Write) -> io::Result<()> {
        Err(io::Error::new(self.kind, self.what.clone()))
    }
}
