//! A report with 400 series from record to bytes, beside a bare use of the PDF library that puts the same words on
//! the same number of pages: no template, no line breaking, no shaping. Read the figures as ratios.
#![allow(
    clippy::unwrap_used,
    clippy::print_stderr,
    reason = "a bench stops at what it can't use, and says what it made"
)]
#![allow(missing_docs, reason = "criterion's macros make public items")]

mod bare;
mod job;

use criterion::{Criterion, criterion_group, criterion_main};
use job::{Job, model, pages_of, rows, whole};
use pages::{Engine, TemplateSet};
use plugin_pdf::{Book, PdfWriter, Settings, pdf};
use std::hint::black_box;

fn report(c: &mut Criterion) {
    let job = Job::of(50);
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
