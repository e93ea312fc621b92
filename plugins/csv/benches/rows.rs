//! Rows of a discharge log read into series, beside the csv crate with serde reading the same bytes into
//! typed structs. Read the figures as ratios: the machine sets the rest.
#![allow(clippy::unwrap_used, reason = "a bench stops at what it can't use")]
#![allow(missing_docs, reason = "criterion's macros make public items")]

mod logs;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use logs::{per_set, per_shot};
use plugin_api::{Intake, Options, ReadContext, Reader, SeriesDefaults, Source};
use plugin_csv::CsvLogs;
use record::{Facts, SourceId};
use serde::Deserialize;
use std::hint::black_box;
use std::io::{BufRead, Cursor};

const ROWS: u64 = 200_000;

fn ours(text: &str) -> usize {
    let open = || Ok(Box::new(Cursor::new(text.as_bytes())) as Box<dyn BufRead>);
    let source = Source::new(SourceId(0), "log.csv", text.len() as u64, &open);
    let mut intake = Intake::new(SourceId(0));
    let (options, defaults, facts) = (Options::default(), SeriesDefaults::default(), Facts::default());
    let cx = ReadContext { options: &options, defaults: &defaults, facts: &facts };
    CsvLogs.read(&source, &mut intake, &cx).unwrap();
    let taken = intake.finish();
    assert_eq!(taken.account.unwrap().used, ROWS);
    taken.series.len()
}

#[derive(Deserialize)]
#[allow(dead_code, reason = "what is read is the point")]
struct Owned {
    point: String,
    application: String,
    kv: String,
    sign: char,
    number: u32,
    time: String,
    result: String,
}

#[derive(Deserialize)]
#[allow(dead_code, reason = "what is read is the point")]
struct Borrowed<'r> {
    point: &'r str,
    application: &'r str,
    kv: &'r str,
    sign: char,
    number: u32,
    time: &'r str,
    result: &'r str,
}

fn reader(text: &str, delimiter: u8) -> csv::Reader<&[u8]> {
    csv::ReaderBuilder::new().delimiter(delimiter).from_reader(text.as_bytes())
}

fn serde_owned(text: &str, delimiter: u8) -> usize {
    let rows: Vec<Owned> = reader(text, delimiter)
        .into_records()
        .map(|record| record.unwrap().deserialize(None).unwrap())
        .collect();
    rows.len()
}

fn serde_borrowed(text: &str, delimiter: u8) -> u64 {
    let mut reader = reader(text, delimiter);
    let mut record = csv::StringRecord::new();
    let mut sum = 0;
    while reader.read_record(&mut record).unwrap() {
        let row: Borrowed<'_> = record.deserialize(None).unwrap();
        sum += u64::from(row.number) + row.time.len() as u64;
    }
    sum
}

fn rows(c: &mut Criterion) {
    for (name, text, delimiter) in [("per-shot", per_shot(ROWS), b','), ("per-set", per_set(ROWS), b';')] {
        let mut group = c.benchmark_group(name);
        group.throughput(Throughput::Elements(ROWS)).sample_size(10);
        group.bench_function("series", |b| b.iter(|| black_box(ours(&text))));
        group.bench_function("csv and serde, owned", |b| b.iter(|| black_box(serde_owned(&text, delimiter))));
        group.bench_function("csv and serde, borrowed", |b| {
            b.iter(|| black_box(serde_borrowed(&text, delimiter)));
        });
        group.finish();
    }
}

criterion_group!(benches, rows);
criterion_main!(benches);
