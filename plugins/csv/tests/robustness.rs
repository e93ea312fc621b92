//! Any bytes at all: findings, never a panic; every row is accounted for.
#![allow(clippy::unwrap_used, reason = "a test stops at what it can't use")]

mod common;

use common::Job;
use plugin_api::{Intake, Probe, ReadContext, Reader, Source, Taken};
use plugin_csv::CsvLogs;
use proptest::prelude::*;
use record::{Severity, SourceId};
use serde_json::json;
use std::cell::Cell;
use std::io::{self, BufRead, BufReader, Cursor, Read};
use std::path::Path;

/// The logs of the fixtures with their jobs.
fn logs() -> Vec<(String, Vec<u8>, Job)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures");
    let mut folders: Vec<_> = std::fs::read_dir(root).unwrap().map(|e| e.unwrap().path()).collect();
    folders.sort();
    folders
        .into_iter()
        .map(|folder| {
            let text = |name: &str| std::fs::read_to_string(folder.join(name)).ok();
            let (defaults, facts) = text("job.toml").map(|t| common::job(&t)).unwrap_or_default();
            let options = text("options.toml").map(|t| common::options(&t)).unwrap_or_default();
            let name = folder.file_name().unwrap().to_string_lossy().into_owned();
            (name, std::fs::read(folder.join("input.csv")).unwrap(), Job { options, defaults, facts })
        })
        .collect()
}

/// What must hold whatever the bytes are.
fn sound(what: &str, bytes: &[u8], done: bool, taken: &Taken) {
    let errors = taken.findings.iter().filter(|f| f.severity == Severity::Error).count();
    if !done {
        assert!(errors > 0, "{what}: refused in silence");
        return;
    }
    let account = taken.account.unwrap();
    assert!(account.balances(), "{what}: {account:?}");
    assert_eq!(errors, taken.unread.len(), "{what}: an error for each row set aside");
    if std::str::from_utf8(bytes).is_ok() && !bytes.contains(&b'\r') {
        let ended = bytes.last().is_none_or(|b| *b == b'\n');
        let lines = bytes.iter().filter(|b| **b == b'\n').count() + usize::from(!ended);
        assert_eq!(account.total, lines as u64, "{what}: rows of the file");
    }
    for series in taken.series.iter() {
        let rows = series.origin.rows.unwrap();
        assert!(rows.first >= 1 && rows.last >= rows.first && rows.last <= account.total, "{what}: {rows:?}");
        assert!(series.shots.is_empty() || series.shots.len() as u32 == series.count, "{what}");
    }
}

#[test]
fn every_prefix_of_every_log_is_read_or_refused() {
    for (name, bytes, job) in logs() {
        for end in 0..=bytes.len().min(4096) {
            let (done, taken) = common::read("input.csv", &bytes[..end], &job);
            sound(&format!("{name} up to {end}"), &bytes[..end], done, &taken);
        }
    }
}

#[test]
fn single_changed_bytes_are_read_or_refused() {
    // A fixed start value (xorshift64), so that a failure can be had again.
    let mut state = 0x9e37_79b9_7f4a_7c15_u64;
    let mut random = move || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        state
    };
    const TELLING: &[u8] = b"\0\t\n\r\x1a \"#'()+,-./0123456789:;=E|eN\x80\x92\xb5\xc3\xe2\xef\xff";
    for (name, bytes, job) in logs() {
        if bytes.is_empty() {
            continue;
        }
        for round in 0..150 {
            let mut changed = bytes.clone();
            let at = random() as usize % changed.len();
            let byte = TELLING[random() as usize % TELLING.len()];
            match random() % 3 {
                0 => changed[at] = byte,
                1 => changed.insert(at, byte),
                _ => {
                    changed.remove(at);
                }
            }
            let (done, taken) = common::read("input.csv", &changed, &job);
            sound(&format!("{name}, round {round}"), &changed, done, &taken);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn any_bytes_are_read_or_refused(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        let (done, taken) = common::read("x.csv", &bytes, &Job::default());
        sound("bytes", &bytes, done, &taken);
        CsvLogs.probe(&bytes, "x.csv");
    }

    #[test]
    fn any_cells_are_read_or_refused(cells in proptest::collection::vec("[\\PC\n\"]{0,8}", 0..60)) {
        let mut text = String::from("Point,Mode,kV,Pol,n,Time,Obs,Lasted,Interval\n");
        for row in cells.chunks(9) {
            text.push_str(&row.join(","));
            text.push('\n');
        }
        let (done, taken) = common::read("x.csv", text.as_bytes(), &Job::default());
        sound("cells", text.as_bytes(), done, &taken);
    }

    #[test]
    fn any_number_and_time_are_read_or_set_aside(
        voltage in "[-+±(]{0,2}[0-9., '’]{0,8}[eE]?[-+]?[0-9]{0,3}[ )a-zA-Z-]{0,4}",
        time in "[0-9]{0,4}[-./ ][0-9A-Za-z]{0,3}[-./ ][0-9]{0,4}[ T]?[0-9:.]{0,9}[ +Zapm-]{0,3}[0-9:]{0,6}",
    ) {
        let text = format!("Point|Mode|kV|Pol|n|Time\nP|contact|{voltage}|+|1|{time}\n");
        for date in [json!({}), json!({"date": "d-mmm-yy"}), json!({"date": "serial"}), json!({"decimal": "comma", "thousands": "point"})] {
            let (done, taken) = common::read("x.csv", text.as_bytes(), &Job::with(date));
            sound(&text, text.as_bytes(), done, &taken);
        }
    }
}

/// A file that breaks after some bytes.
struct Broken<'a>(Cursor<&'a [u8]>);

impl Read for Broken<'_> {
    fn read(&mut self, to: &mut [u8]) -> io::Result<usize> {
        match self.0.read(to)? {
            0 => Err(io::Error::other("the share went away")),
            n => Ok(n),
        }
    }
}

type Open<'a> = dyn Fn() -> io::Result<Box<dyn BufRead + 'a>> + 'a;

fn read_with<'a>(open: &'a Open<'a>) -> (bool, Taken) {
    let source = Source::new(SourceId(0), "x.csv", 0, open);
    let mut intake = Intake::new(SourceId(0));
    let job = Job::default();
    let cx = ReadContext { options: &job.options, defaults: &job.defaults, facts: &job.facts };
    let done = CsvLogs.read(&source, &mut intake, &cx).is_ok();
    (done, intake.finish())
}

const LOG: &[u8] = b"Point,Mode,kV,Pol,n\nP1,contact,4,+,10\nP1,contact,4,-,10\n";

#[test]
fn a_disk_that_breaks_refuses_the_file() {
    for bad in 0..4 {
        let opened = Cell::new(0);
        let open = || {
            let this = opened.replace(opened.get() + 1);
            Ok(if this == bad {
                Box::new(BufReader::new(Broken(Cursor::new(LOG)))) as Box<dyn BufRead>
            } else {
                Box::new(Cursor::new(LOG))
            })
        };
        let (done, taken) = read_with(&open);
        assert!(
            opened.get() <= bad || (!done && taken.findings[0].code == "csv/unreadable"),
            "opening {bad}"
        );
    }
    let (done, taken) = read_with(&|| Err(io::Error::other("gone")));
    assert!(!done && taken.findings[0].code == "csv/unreadable");
}

#[test]
fn a_file_that_changes_while_it_is_read_is_no_panic() {
    let others: [&[u8]; 4] = [b"", b"\xff\xfe\xfd", b"a\nb", b"Point,Mode,kV,Pol,n\nP1,con\xe9,4,+,10\n"];
    for other in others {
        for from in 1..4 {
            let opened = Cell::new(0);
            let open = || {
                let this = opened.replace(opened.get() + 1);
                Ok(Box::new(Cursor::new(if this < from { LOG } else { other })) as Box<dyn BufRead>)
            };
            let (done, taken) = read_with(&open);
            assert!(done || !taken.findings.is_empty());
        }
    }
}

#[test]
fn a_row_of_more_than_a_megabyte_is_given_up() {
    let mut text = LOG.to_vec();
    text.extend(b"\"P1,contact,4,+,10\n");
    text.resize(3 << 20, b'\n');
    let (done, taken) = common::read("x.csv", &text, &Job::default());
    assert!(!done);
    let finding = taken.findings.iter().find(|f| f.code == "csv/record-too-long").unwrap();
    assert_eq!(finding.place.as_ref().unwrap().row, Some(4));
    assert!(!finding.help.is_empty());
}

#[test]
fn a_log_that_is_mostly_unreadable_is_refused() {
    let text = [LOG, "P1,contact,four,+,10\n".repeat(10_001).as_bytes()].concat();
    let (done, taken) = common::read("x.csv", &text, &Job::default());
    assert!(!done && taken.findings.iter().any(|f| f.code == "csv/mostly-unreadable"));
    assert!(taken.unread.len() <= 10_001);
    // As many readable rows as unreadable ones: each row counts for itself.
    let mixed = "P1,contact,four,+,10\nP1,contact,4,+,10\n".repeat(10_001);
    let (done, taken) = common::read("x.csv", &[LOG, mixed.as_bytes()].concat(), &Job::default());
    assert!(done && taken.unread.len() == 10_001 && taken.account.unwrap().balances());
}

#[test]
fn the_decimal_sign_may_show_anywhere() {
    let mut text = String::from("Point;Application;kV;Pol;n\nP1;contact;1,234;+;10\n");
    text.push_str(&"P1;contact;4;-;10\n".repeat(5000));
    let (done, taken) = common::read("x.csv", text.as_bytes(), &Job::default());
    assert!(!done && taken.findings.iter().any(|f| f.code == "csv/which-decimal-sign"));
    text.push_str("P1;contact;2,5;+;10\n");
    let (done, taken) = common::read("x.csv", text.as_bytes(), &Job::default());
    assert!(done);
    assert_eq!(taken.series.iter().next().unwrap().voltage_kv.to_string(), "1.234 kV");
    assert!(taken.understood.iter().any(|line| line.starts_with("decimal sign: comma (row 5003")));
}

/// A megabyte of anything takes no more than a moment: the bound is wide, and what it guards against (work
/// that grows with the square of the length) is far beyond it even in an unoptimised build.
#[test]
fn a_hostile_megabyte_takes_no_more_than_a_moment() {
    let head = "Point,Application,kV,Pol,n,Remark\n";
    let wide =
        format!("Point,Application,kV,Pol{}\n", (0..900).map(|n| format!(",x{n}")).collect::<String>());
    let wide_row = format!("P1,contact,4,+{}\n", (0..900).map(|n| format!(",{n}")).collect::<String>());
    let row = "P1,contact,4,+,10,\n";
    let fill = |head: &str, part: &str| {
        let mut text = head.to_owned();
        while text.len() < 1_000_000 {
            text.push_str(part);
        }
        text.into_bytes()
    };
    for (what, bytes) in [
        ("padding characters", fill(head, "\x1a a\0 b")),
        ("quotes", fill(head, "\"")),
        ("quotes and commas", fill(head, "\",\"")),
        ("quotes and line ends", fill(head, "\"\n")),
        ("closed quotes over lines", fill(head, "\"a\n\"\n")),
        ("commas", fill(head, ",")),
        ("line ends", fill(head, "\r")),
        ("short lines", fill(head, "a\n")),
        ("marks", fill(head, "\u{feff}")),
        ("remarks that change", fill(head, "P1,contact,4,+,1,a\nP1,contact,4,+,1,b\n")),
        ("a wide table", fill(&wide, &wide_row)),
        ("a long preamble", fill("", "a,b\n")),
        ("a header without end", fill("", "Point,kV,")),
        ("signs", fill(head, "P1,contact,+/-4,,1,\n")),
        ("rows", fill(head, row)),
        ("comments", fill(head, "# x\n")),
        ("headers", fill(head, head)),
        (
            "long numbers",
            fill(head, "P1,contact,1111111111111111111111111111111111111111111111111111111111,+,1,\n"),
        ),
    ] {
        let start = std::time::Instant::now();
        let (done, taken) = common::read("x.csv", &bytes, &Job::default());
        let took = start.elapsed();
        sound(what, &bytes, done, &taken);
        assert!(took.as_secs() < 20, "{what}: {took:?}");
    }
}

#[test]
fn a_log_is_known_by_its_header() {
    for (name, bytes, _) in logs() {
        if name.starts_with("part-") {
            assert_eq!(CsvLogs.probe(&bytes, "a.txt"), Probe::Yes, "{name}");
        }
    }
    assert_eq!(CsvLogs.probe(b"", "a.csv"), Probe::No);
}
