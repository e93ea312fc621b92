//! From the bytes of a waveform file to its figures, beside numpy reading and measuring the same file.
//!
//! `FULGURITE_NUMPY=/path/to/python` names a Python with numpy; without it numpy's share is not measured. Read the
//! figures as a ratio: the machine sets the rest.
#![allow(clippy::unwrap_used, reason = "a bench stops at what it can't use")]
#![allow(clippy::print_stdout, reason = "the ratio is what the bench is for")]
#![allow(missing_docs, reason = "criterion's macros make public items")]

use assess::waveform::{Options as Wanted, figures};
use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use plugin_api::{Intake, Options, ReadContext, Reader, SeriesDefaults, Source};
use plugin_trace::TraceReader;
use record::{Facts, SourceId};
use std::fmt::Write;
use std::hint::black_box;
use std::io::{BufRead, Cursor};
use std::time::Instant;

const SAMPLES: u32 = 400_000;

/// A double exponential of 10 A, 0.5 ps between samples.
fn record() -> String {
    let mut text = String::from("time_s,current_A\n");
    for k in 0..SAMPLES {
        let t = f64::from(k) * 0.000_5 - 20.0;
        let current = if t < 0.0 { 0.0 } else { 11.69 * ((-0.02 * t).exp() - (-0.5 * t).exp()) };
        writeln!(text, "{:.7e},{current:.8}", t * 1e-9).unwrap();
    }
    text
}

fn ours(text: &str) -> f64 {
    let open = || Ok(Box::new(Cursor::new(text.as_bytes())) as Box<dyn BufRead>);
    let source = Source::new(SourceId(0), "record.csv", text.len() as u64, &open);
    let (options, defaults, facts) = (Options::default(), SeriesDefaults::default(), Facts::default());
    let cx = ReadContext { options: &options, defaults: &defaults, facts: &facts };
    let mut intake = Intake::new(SourceId(0));
    TraceReader.read(&source, &mut intake, &cx).unwrap();
    let taken = intake.finish();
    let found = figures(taken.traces.first().unwrap(), &Wanted::default());
    found.peak_current_a.value().unwrap() + found.rise_time_ns.value().unwrap()
}

fn bench(c: &mut Criterion) {
    let text = record();
    let mut group = c.benchmark_group("waveform file to figures");
    group.sample_size(10).throughput(Throughput::Bytes(text.len() as u64));
    group.bench_function("ours", |b| b.iter(|| black_box(ours(&text))));
    group.finish();
    beside_numpy(&text);
}

/// The best of some runs each, in one go.
fn beside_numpy(text: &str) {
    let Some(python) = std::env::var_os("FULGURITE_NUMPY") else {
        println!("SKIPPED: numpy (FULGURITE_NUMPY names no Python)");
        return;
    };
    let megabytes = text.len() as f64 / 1e6;
    let best = (0..7)
        .map(|_| {
            let start = Instant::now();
            black_box(ours(text));
            start.elapsed().as_secs_f64()
        })
        .fold(f64::INFINITY, f64::min);
    let folder = std::env::temp_dir().join(format!("fulgurite-bench-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let file = folder.join("record.csv");
    std::fs::write(&file, text).unwrap();
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/benches/figures.py");
    let told = std::process::Command::new(python).arg(script).arg(&file).output().unwrap();
    std::fs::remove_dir_all(&folder).unwrap();
    let told = String::from_utf8_lossy(&told.stdout).into_owned();
    let numpy: f64 = told.trim().parse().unwrap();
    println!(
        "ours {:.0} MB/s, numpy {:.0} MB/s: {:.1} times as fast ({megabytes:.1} MB, best of 7)",
        megabytes / best,
        megabytes / numpy,
        numpy / best
    );
}

criterion_group!(benches, bench);
criterion_main!(benches);
