//! A report of 12 pages from record to bytes beside the bare PDF library, ReportLab and Typst, each of which sets the
//! same words, and what thousands of series cost.
//!
//! `python3 -m venv V && V/bin/pip install reportlab==5.1.0 typst==0.15.2`, then
//! `FULGURITE_PEERS=V/bin/python cargo bench -p plugin-pdf --bench peers`. Without the variable the two Python
//! engines are left out, and said to be. Read ratios, not times; `taskset -c 1` keeps all of it on one core.
#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a bench stops at what it can't use, asks the clock, and says what it found"
)]

mod bare;
mod job;

use job::{Job, model, pages_of, rows, whole};
use pages::{Engine, TemplateSet};
use plugin_pdf::PdfWriter;
use std::io::Write;
use std::process::{Command, Stdio};
use std::time::Instant;

/// Points of the job whose report has 12 pages.
const POINTS: usize = 8;

/// Median of the milliseconds that this many runs took, and what the last one made.
fn median(runs: usize, mut make: impl FnMut() -> Vec<u8>) -> (f64, Vec<u8>) {
    let mut made = make();
    let mut times: Vec<f64> = (0..runs)
        .map(|_| {
            let start = Instant::now();
            made = make();
            start.elapsed().as_secs_f64() * 1000.0
        })
        .collect();
    times.sort_by(f64::total_cmp);
    (times[runs / 2], made)
}

fn main() {
    let writer = PdfWriter::default();
    let set = TemplateSet::built_in("report").unwrap();
    let engine = Engine::new(&set, "en").unwrap();
    let bare = bare::Bare::new(include_bytes!("../../../templates/fonts/report-sans-regular.ttf"));

    let job = Job::of(POINTS);
    let (ours, made) = median(41, || whole(&writer, &job));
    let pages = pages_of(&made);
    let mut words = Vec::new();
    rows(&model(&job, &engine).0.blocks, &mut words);
    let (plainly, plain_made) = median(41, || bare.pdf(&words, pages));
    println!(
        "the same words on {pages} pages: {} rows, {} cells",
        words.len(),
        words.iter().map(Vec::len).sum::<usize>()
    );
    let line = |name: &str, ms: f64, bytes: usize| {
        println!(
            "{name:<28} {ms:>8.1} ms {:>9} bytes   {:.2} x the speed of the bare library",
            bytes,
            plainly / ms
        );
    };
    line("ours, from record to bytes", ours, made.len());
    line("krilla, bare", plainly, plain_made.len());
    match std::env::var_os("FULGURITE_PEERS") {
        None => println!("ReportLab and Typst left out: FULGURITE_PEERS names no Python"),
        Some(python) => {
            let script = concat!(env!("CARGO_MANIFEST_DIR"), "/benches/peers.py");
            let mut child = Command::new(python)
                .arg(script)
                .stdin(Stdio::piped())
                .stdout(Stdio::piped())
                .spawn()
                .unwrap();
            child.stdin.take().unwrap().write_all(serde_json::to_string(&words).unwrap().as_bytes()).unwrap();
            let told = child.wait_with_output().unwrap();
            assert!(told.status.success());
            for said in String::from_utf8(told.stdout).unwrap().lines() {
                let parts: Vec<&str> = said.split('\t').collect();
                let (ms, bytes) = (parts[1].parse().unwrap(), parts[3].parse().unwrap());
                line(&format!("{} ({} pages)", parts[0], parts[2]), ms, bytes);
                println!("{:<28} ours is {:.1} x as fast", "", ms / ours);
            }
        }
    }

    println!("\nfrom record to bytes, by the number of series");
    for points in [78, 156, 312, 625] {
        let job = Job::of(points);
        let (ms, made) = median(5, || whole(&writer, &job));
        let series = points * 8;
        println!(
            "{series:>5} series: {ms:>8.1} ms, {:.3} ms a series, {} pages, {} bytes",
            ms / series as f64,
            pages_of(&made),
            made.len()
        );
    }
}
