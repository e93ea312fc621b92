//! A report with 400 series from record to bytes, beside a bare use of the PDF library that puts the same words on
//! the same number of pages: no template, no line breaking, no shaping. Read the figures as ratios.
#![allow(
    clippy::unwrap_used,
    clippy::print_stderr,
    reason = "a bench stops at what it can't use, and says what it made"
)]
#![allow(missing_docs, reason = "criterion's macros make public items")]

mod bare;

use assess::standard::{Standard, built_in};
use assess::{Assessment, assess};
use criterion::{Criterion, criterion_group, criterion_main};
use pages::model::{Block, Document, Pictures, plain};
use pages::view::{Subject, document};
use pages::{Engine, TemplateSet};
use plugin_api::wire::v1;
use plugin_api::{Body, Opener, OriginalFiles, WriteContext, WriteInput, Writer};
use plugin_pdf::{Book, PdfWriter, Settings, pdf};
use record::{Record, SourceId};
use serde_json::{Value, json};
use std::hint::black_box;
use std::io::{self, Read};

const POINTS: usize = 50;
const VOLTAGES: [&str; 4] = ["2", "4", "6", "8"];

/// A job of 50 points, 4 voltages and both polarities, with everything applied: 400 rows of results.
fn record() -> Record {
    let points: Vec<Value> = (1..=POINTS)
        .map(|n| json!({"id": format!("P{n}"), "description": format!("housing screw no. {n}"), "applications": ["contact"]}))
        .collect();
    let mut series = Vec::new();
    for point in 1..=POINTS {
        for kv in VOLTAGES {
            for polarity in ["positive", "negative"] {
                let row = series.len() + 2;
                series.push(json!({
                    "id": format!("contact#{row}"), "point": format!("P{point}"), "application": "contact",
                    "polarity": polarity, "voltage_kv": kv, "count": 10, "interval_s": "1", "kind": "compliance",
                    "monitoring": "continuous", "started": format!("2026-03-12T{:02}:{:02}:00", 8 + row / 60, row % 60),
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
            "points": points,
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

struct Job {
    record: Record,
    assessment: Assessment,
    standard: Standard,
}

/// Record and assessment to bytes, as the program does it for each job after the first.
fn whole(writer: &PdfWriter, job: &Job) -> Vec<u8> {
    let input = WriteInput {
        record: &job.record,
        assessment: &job.assessment,
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

fn model(job: &Job, engine: &Engine) -> (Document, Pictures) {
    let subject = Subject {
        record: &job.record,
        assessment: &job.assessment,
        standard: Some(&job.standard),
        program: "bench",
    };
    let (document, view) = document(engine, &subject, &mut |_| Err("none".to_owned())).unwrap();
    (document, view.pictures)
}

fn pages_of(bytes: &[u8]) -> usize {
    let text = String::from_utf8_lossy(bytes);
    let counts = text.match_indices("/Count ").filter_map(|(at, word)| {
        let digits: String = text.get(at + word.len()..)?.chars().take_while(char::is_ascii_digit).collect();
        digits.parse().ok()
    });
    // The outline counts its entries under the same key, below zero where they are closed.
    counts.max().unwrap()
}

/// The words of a document, row by row and cell by cell.
fn rows(blocks: &[Block], into: &mut Vec<Vec<String>>) {
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

fn report(c: &mut Criterion) {
    let (id, text) = built_in()[0];
    let standard = Standard::parse(id, text).unwrap();
    let record = record();
    let assessment = assess(&record, Some(&standard));
    let job = Job { record, assessment, standard };
    let writer = PdfWriter::default();
    let set = TemplateSet::built_in("report").unwrap();
    let (engine, book) = (Engine::new(&set, "en").unwrap(), Book::load(&set).unwrap());
    let (document, pictures) = model(&job, &engine);
    let settings = Settings {
        look: &set.manifest().look,
        issued: None,
        identity: "bench",
        producer: "bench",
        attached: &[],
    };

    let made = whole(&writer, &job);
    let pages = pages_of(&made);
    let mut words = Vec::new();
    rows(&document.blocks, &mut words);
    let cells: usize = words.iter().map(Vec::len).sum();
    let bare = bare::Bare::new(include_bytes!("../../../templates/fonts/report-sans-regular.ttf"));
    let plainly = bare.pdf(&words, pages);
    assert_eq!(pages_of(&plainly), pages);
    eprintln!(
        "{pages} pages, {} rows, {cells} cells; {} bytes from the record, {} bytes bare",
        words.len(),
        made.len(),
        plainly.len()
    );

    let mut group = c.benchmark_group("report of 400 series");
    group.sample_size(10);
    group.bench_function("record to PDF", |b| b.iter(|| black_box(whole(&writer, &job))));
    group.bench_function("record to page model", |b| b.iter(|| black_box(model(&job, &engine))));
    group.bench_function("page model to PDF", |b| {
        b.iter(|| black_box(pdf(&document, &pictures, &book, &settings).unwrap()));
    });
    group.bench_function("the same words by the bare library", |b| {
        b.iter(|| black_box(bare.pdf(&words, pages)))
    });
    group.finish();
}

criterion_group!(benches, report);
criterion_main!(benches);
