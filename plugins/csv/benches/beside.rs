//! A log of a million rows read into series, beside what others take to read the same file into typed rows: the csv
//! crate with serde here, polars and pandas through `beside.py`, all in one run.
//!
//! usage: cargo bench -p plugin-csv --bench beside [-- ROWS]
//! `FULGURITE_PYTHON` names a Python that has polars and pandas; without it they are left out, which is said. The
//! files are in memory for all; what is printed is the least time on a processor of several rounds, so that other work
//! of the machine does not count. For two threads that is the time of the longer one wherever both work, and the time
//! of the one wherever one works: what the clock would show on a machine that does nothing else. Series come in batches;
//! what it takes to join them into one list as well, which the host does once for all files of a job, has a line of its
//! own. All take their memory from the system's allocator.
#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a bench stops at what it can't use, and prints"
)]

mod logs;

use logs::{per_set, per_shot};
use plugin_api::{Intake, Options, ReadContext, Reader, SeriesDefaults, Source, Workers};
use plugin_csv::CsvLogs;
use record::{Facts, SourceId};
use rustix::time::{ClockId, clock_gettime};
use serde::Deserialize;
use std::hint::black_box;
use std::io::{BufRead, Cursor};
use std::path::Path;
use std::process::Command;
use std::sync::Mutex;
use std::time::Duration;

const ROUNDS: usize = 11;

/// So many threads of the system's, with the time that the longest of them had a processor.
struct Threads(usize, Mutex<Duration>);

impl Workers for Threads {
    fn threads(&self) -> usize {
        self.0
    }

    fn each(&self, count: usize, work: &(dyn Fn(usize) + Sync)) {
        // Each its share, so that what one has to do does not hang on when the machine lets it run.
        let longest = Mutex::new(Duration::ZERO);
        std::thread::scope(|scope| {
            for thread in 0..self.0 {
                let longest = &longest;
                scope.spawn(move || {
                    let before = on_processor();
                    (thread..count).step_by(self.0).for_each(work);
                    let took = on_processor() - before;
                    let mut longest = longest.lock().unwrap();
                    *longest = took.max(*longest);
                });
            }
        });
        *self.1.lock().unwrap() += longest.into_inner().unwrap();
    }
}

/// What reading with so many threads takes; `joined` as the host joins the series of all files of a job.
fn ours(text: &str, rows: u64, threads: usize, joined: bool) -> Duration {
    let open = || Ok(Box::new(Cursor::new(text.as_bytes())) as Box<dyn BufRead>);
    let workers = Threads(threads, Mutex::new(Duration::ZERO));
    let source = Source::new(SourceId(0), "log.csv", text.len() as u64, &open).with_workers(&workers);
    let mut intake = Intake::new(SourceId(0));
    let (options, defaults, facts) = (Options::default(), SeriesDefaults::default(), Facts::default());
    let cx = ReadContext { options: &options, defaults: &defaults, facts: &facts };
    CsvLogs.read(&source, &mut intake, &cx).unwrap();
    let taken = intake.finish();
    assert_eq!(taken.account.unwrap().used, rows);
    assert!(taken.series.iter().all(|series| series.origin.rows.is_some()));
    if joined {
        black_box(taken.series.into_vec().len());
    } else {
        black_box(taken.series.len());
    }
    workers.1.into_inner().unwrap()
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

fn serde_typed(text: &str, delimiter: u8) -> Duration {
    let reader = csv::ReaderBuilder::new().delimiter(delimiter).from_reader(text.as_bytes());
    let rows: Vec<Owned> =
        reader.into_records().map(|record| record.unwrap().deserialize(None).unwrap()).collect();
    black_box(rows.len());
    Duration::ZERO
}

/// Time that this thread has had a processor.
fn on_processor() -> Duration {
    // The clock, not the scheduler's account: that one is brought up to date at ticks, and parts are read between two.
    let now = clock_gettime(ClockId::ThreadCPUTime);
    Duration::new(now.tv_sec.unsigned_abs(), u32::try_from(now.tv_nsec).unwrap())
}

/// Something to do, which says how long others had a processor beside this thread.
type Work<'a> = &'a dyn Fn() -> Duration;

/// The least time that each takes in several rounds. They take turns, so that a machine whose speed changes from one
/// second to the next is as fast for one as for the other.
fn least<const N: usize>(all: [Work<'_>; N]) -> [Duration; N] {
    let mut least = [Duration::MAX; N];
    for _ in 0..ROUNDS {
        for (least, work) in least.iter_mut().zip(all) {
            let before = on_processor();
            let others = work();
            *least = (on_processor() - before + others).min(*least);
        }
    }
    least
}

fn main() {
    let rows: u64 = std::env::args().skip(1).find_map(|text| text.parse().ok()).unwrap_or(1_000_000);
    let python = std::env::var_os("FULGURITE_PYTHON");
    if python.is_none() {
        println!("FULGURITE_PYTHON is not set: polars and pandas are left out");
    }
    let folder = tempfile::tempdir().unwrap();
    for (name, text, delimiter) in
        [("row per shot", per_shot(rows), b','), ("row per set", per_set(rows), b';')]
    {
        println!("\n{name}: {rows} rows, {:.1} MB", text.len() as f64 / 1e6);
        let [theirs, one, two, joined] = least([
            &|| serde_typed(&text, delimiter),
            &|| ours(&text, rows, 1, false),
            &|| ours(&text, rows, 2, false),
            &|| ours(&text, rows, 2, true),
        ]);
        let line = |what: &str, took: Duration| {
            println!(
                "  {what:34} {:7.3} s  {:6.2} M rows/s  {:5.2} of csv with serde",
                took.as_secs_f64(),
                rows as f64 / took.as_secs_f64() / 1e6,
                theirs.as_secs_f64() / took.as_secs_f64()
            );
        };
        line("csv with serde, typed, one thread", theirs);
        line("fulgurite, series, one thread", one);
        line("fulgurite, series, two threads", two);
        line("  joined into one list as well", joined);
        println!("  two threads are {:.2} times one", one.as_secs_f64() / two.as_secs_f64());
        let Some(python) = &python else { continue };
        let file = folder.path().join("log.csv");
        std::fs::write(&file, &text).unwrap();
        let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("benches/beside.py");
        let said = Command::new(python)
            .arg(script)
            .arg(&file)
            .arg(char::from(delimiter).to_string())
            .env("POLARS_MAX_THREADS", "1")
            .output()
            .unwrap();
        assert!(said.status.success(), "{}", String::from_utf8_lossy(&said.stderr));
        for said in String::from_utf8(said.stdout).unwrap().lines() {
            let (what, seconds) = said.rsplit_once(' ').unwrap();
            line(what, Duration::from_secs_f64(seconds.parse().unwrap()));
        }
    }
}
