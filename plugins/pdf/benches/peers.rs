//! A report of 12 pages from record to bytes beside the bare PDF library, ReportLab and Typst, and what thousands of
//! series cost.
//!
//! What each draws:
//! - ours, and "krilla, the same drawing": PDF/A-3a and PDF/UA-1 with tags, outline, links, running lines, plots, four
//!   embedded fonts. The second starts from pages with every glyph placed, so it is the library (and our calls of it)
//!   for the very same bytes: what no way of setting this report over this library can beat.
//! - "krilla, the words in one font": the same words at even places, tagged and archival, with advances straight from
//!   the font; no kerning, running lines, plots, links or nested structure.
//! - "ReportLab, words only": the words in paragraphs and tables, in a font that is not embedded; no tags, outline,
//!   plots or archival form. "ReportLab, with fonts and plots": two of the report's fonts embedded, its plots, a
//!   running line and an outline as well; still no tags, links, kerning or archival form; 10 pages.
//! - Typst: the words in paragraphs and tables, tagged, its own fonts embedded; no outline, plots or archival form.
//!
//! `python3 -m venv V && V/bin/pip install reportlab==5.1.0 typst==0.15.2`, then
//! `FULGURITE_PEERS=V/bin/python cargo bench -p plugin-pdf --bench peers`. Without the variable the two Python
//! engines are left out, and said to be. Times are those on a processor, of one thread; read ratios all the same.
#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a bench stops at what it can't use, asks the clock, and says what it found"
)]

mod bare;
mod job;
mod plots;

use job::{Job, model, pages_of, rows, whole};
use pages::{Engine, TemplateSet};
use plugin_pdf::{Book, Laid, PdfWriter, Settings};
use rustix::time::{ClockId, clock_gettime};
use serde_json::json;
use std::io::Write;
use std::process::{Command, Stdio};

/// That of the program.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// Points of the job whose report has 12 pages.
const POINTS: usize = 8;

/// Milliseconds that this thread needs a processor, so that other work of the machine does not count.
fn timed<T>(work: impl FnOnce() -> T) -> (f64, T) {
    let now = || {
        let now = clock_gettime(ClockId::ThreadCPUTime);
        now.tv_sec as f64 * 1e3 + now.tv_nsec as f64 / 1e6
    };
    let start = now();
    let made = work();
    (now() - start, made)
}

/// Median of the milliseconds that this many runs took, and what the last one made.
fn median(runs: usize, mut make: impl FnMut() -> Vec<u8>) -> (f64, Vec<u8>) {
    median_of(runs, || timed(&mut make))
}

/// The same, where each run says its own time.
fn median_of(runs: usize, mut make: impl FnMut() -> (f64, Vec<u8>)) -> (f64, Vec<u8>) {
    let mut made = make().1;
    let mut times: Vec<f64> = (0..runs)
        .map(|_| {
            let (ms, bytes) = make();
            made = bytes;
            ms
        })
        .collect();
    times.sort_by(f64::total_cmp);
    (times[runs / 2], made)
}

/// Tells the bench to time the first report of a process, and to say nothing else.
const FIRST: &str = "FULGURITE_FIRST";

/// Median of the milliseconds that the first report of a process takes, with templates and fonts read and whatever
/// else is done once.
fn first() -> f64 {
    let mut times: Vec<f64> = (0..11)
        .map(|_| {
            let mut itself = Command::new(std::env::current_exe().unwrap());
            let told = itself.env(FIRST, "1").output().unwrap();
            assert!(told.status.success());
            String::from_utf8(told.stdout).unwrap().trim().parse().unwrap()
        })
        .collect();
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}

fn main() {
    if std::env::var_os(FIRST).is_some() {
        let job = Job::of(POINTS);
        println!("{}", timed(|| whole(&PdfWriter::default(), &job)).0);
        return;
    }
    let writer = PdfWriter::default();
    let set = TemplateSet::built_in("report").unwrap();
    let engine = Engine::new(&set, "en").unwrap();
    let book = Book::load(&set).unwrap();
    let bare = bare::Bare::new(include_bytes!("../../../templates/fonts/report-sans-regular.ttf"));

    let job = Job::of(POINTS);
    let (ours, made) = median(41, || whole(&writer, &job));
    let cold = first();
    let pages = pages_of(&made);
    let (document, pictures) = model(&job, &engine);
    let mut words = Vec::new();
    rows(&document.blocks, &mut words);
    // What the library alone needs for this very report: every glyph, rule, plot, link and tag, all of them placed.
    let settings = Settings {
        look: &set.manifest().look,
        issued: None,
        identity: "report",
        producer: "bench",
        attached: &[],
    };
    let (same, same_made) = median_of(41, || {
        let laid = Laid::out(&document, &pictures, &book, &settings).unwrap();
        timed(|| laid.paint().unwrap())
    });
    assert!(same_made == made, "the same drawing is the same file");
    let (plainly, plain_made) = median(41, || bare.pdf(&words, pages));
    println!(
        "a report of {pages} pages: {} rows, {} cells; medians of times on a processor, with templates and fonts read before",
        words.len(),
        words.iter().map(Vec::len).sum::<usize>()
    );
    let line = |name: &str, ms: f64, bytes: usize| {
        println!(
            "{name:<42} {ms:>8.1} ms {bytes:>9} bytes   {:.2} x the library's speed for the same drawing, {:.2} x for the words",
            same / ms,
            plainly / ms
        );
    };
    line("ours, from record to bytes", ours, made.len());
    line("ours, the first of a process", cold, made.len());
    line("krilla, the same drawing", same, same_made.len());
    line("krilla, the words in one font", plainly, plain_made.len());
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
            let given = json!({"rows": words, "plots": plots::of(&pictures), "fonts": plots::fonts()});
            child.stdin.take().unwrap().write_all(given.to_string().as_bytes()).unwrap();
            let told = child.wait_with_output().unwrap();
            assert!(told.status.success());
            for said in String::from_utf8(told.stdout).unwrap().lines() {
                let parts: Vec<&str> = said.split('\t').collect();
                let (ms, bytes) = (parts[1].parse().unwrap(), parts[3].parse().unwrap());
                line(&format!("{} ({} pages)", parts[0], parts[2]), ms, bytes);
                println!(
                    "{:<42} ours is {:.1} x as fast, the first of a process {:.1} x",
                    "",
                    ms / ours,
                    ms / cold
                );
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
