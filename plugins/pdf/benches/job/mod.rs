//! The jobs that the benches make reports of, and what they count in them.

use assess::standard::{Standard, built_in};
use assess::{Assessment, assess};
use pages::Engine;
use pages::model::{Block, Document, Pictures, plain};
use pages::view::{Subject, document};
use plugin_api::wire::v1;
use plugin_api::{Body, Opener, OriginalFiles, WriteContext, WriteInput, Writer};
use plugin_pdf::PdfWriter;
use record::{Record, SourceId};
use serde_json::{Value, json};
use std::io::{self, Read};
use std::sync::Arc;

const VOLTAGES: [&str; 4] = ["2", "4", "6", "8"];

/// A job of this many points, 4 voltages and both polarities, with everything applied: 8 rows of results a point.
fn record(points: usize) -> Record {
    let named: Vec<Value> = (1..=points)
        .map(|n| json!({"id": format!("P{n}"), "description": format!("housing screw no. {n}"), "applications": ["contact"]}))
        .collect();
    let mut series = Vec::new();
    for point in 1..=points {
        for kv in VOLTAGES {
            for polarity in ["positive", "negative"] {
                let row = series.len() + 2;
                series.push(json!({
                    "id": format!("contact#{row}"), "point": format!("P{point}"), "application": "contact",
                    "polarity": polarity, "voltage_kv": kv, "count": 10, "interval_s": "1", "kind": "compliance",
                    "monitoring": "continuous", "started": format!("2026-03-12T{:02}:{:02}:00", 1 + row / 60 % 22, row % 60),
                    "tested_by": "I. Marsh", "origin": format!("0:{row}"),
                }));
            }
        }
    }
    let value = json!({
        "schema": 1,
        "sources": [{"name": "contact.csv", "role": "log", "bytes": 1, "sha256": "0".repeat(64)}],
        "facts": {
            "invented": "Invented data: no such laboratory, person or item exists.",
            "laboratory": {"name": "Old Pumphouse Laboratory"},
            "item": {"name": "Lock-gate level sensor", "serial": "0017", "earthed": true},
            "method": {"standard": "iec-61000-4-2-ed2"},
            "plan": {"contact_kv": VOLTAGES, "polarity": "both"},
            "points": named,
        },
        "series": series,
    });
    let (draft, _) = v1::draft_from_value(value).unwrap();
    record::check(draft).unwrap()
}

struct NoOriginals;

impl OriginalFiles for NoOriginals {
    fn open(&self, _: SourceId) -> io::Result<Box<dyn Read + Send + '_>> {
        Err(io::ErrorKind::NotFound.into())
    }
    fn opener(&self, _: SourceId) -> io::Result<Opener> {
        Err(io::ErrorKind::NotFound.into())
    }
}

/// What a report is made of.
pub(crate) struct Job {
    record: Arc<Record>,
    assessment: Assessment,
    standard: Standard,
}

impl Job {
    /// The job of this many points.
    pub(crate) fn of(points: usize) -> Self {
        let (id, text) = built_in()[0];
        let standard = Standard::parse(id, text).unwrap();
        let record = Arc::new(record(points));
        let assessment = assess(&record, Some(&standard));
        Self { record, assessment, standard }
    }
}

/// Record and assessment to bytes, as the program does it for each job after the first.
pub(crate) fn whole(writer: &PdfWriter, job: &Job) -> Vec<u8> {
    let input = WriteInput {
        record: &job.record,
        assessment: &job.assessment,
        changes: None,
        standard: Some(&job.standard),
        standard_file: None,
        stem: "report",
        artifacts: &[],
        originals: &NoOriginals,
        language: "en",
        template: "report",
        template_files: &[],
        program: "bench",
    };
    let Ok(mut made) = writer.write(&input, &mut WriteContext::default()) else {
        panic!("the report was refused")
    };
    match made.remove(0).body {
        Body::Bytes(bytes) => bytes,
        Body::Stream(_) | Body::Source(_) => panic!("a report is bytes"),
    }
}

/// The page model of a job.
pub(crate) fn model(job: &Job, engine: &Engine) -> (Document, Pictures) {
    let subject = Subject {
        record: &job.record,
        assessment: &job.assessment,
        changes: None,
        standard: Some(&job.standard),
        program: "bench",
    };
    let (document, view) = document(engine, &subject, &mut |_| Err("none".to_owned())).unwrap();
    (document, view.pictures)
}

/// How many pages a PDF has.
pub(crate) fn pages_of(bytes: &[u8]) -> usize {
    let text = String::from_utf8_lossy(bytes);
    let counts = text.match_indices("/Count ").filter_map(|(at, word)| {
        let digits: String = text.get(at + word.len()..)?.chars().take_while(char::is_ascii_digit).collect();
        digits.parse().ok()
    });
    // The outline counts its entries under the same key, below zero where they are closed.
    counts.max().unwrap()
}

/// The words of a document, row by row and cell by cell.
pub(crate) fn rows(blocks: &[Block], into: &mut Vec<Vec<String>>) {
    for block in blocks {
        match block {
            Block::Section { blocks, .. } | Block::Aside { blocks, .. } => rows(blocks, into),
            Block::Heading { runs, .. } | Block::Paragraph { runs, .. } => into.push(vec![plain(runs)]),
            Block::List { items, .. } => {
                for item in items {
                    into.push(vec![plain(&item.runs)]);
                    rows(&item.lists, into);
                }
            }
            Block::Facts { entries, .. } => {
                into.extend(entries.iter().map(|fact| vec![plain(&fact.name), plain(&fact.value)]));
            }
            Block::Table(table) => {
                let all = table.head.iter().chain(&table.body);
                into.extend(all.map(|row| row.cells.iter().map(|cell| plain(&cell.runs)).collect()));
            }
            Block::Figure { caption, .. } => into.push(vec![plain(caption)]),
        }
    }
}
