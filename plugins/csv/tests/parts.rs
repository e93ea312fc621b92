//! A large log read by several threads gives what one thread gives: series, observations, rows set aside, findings
//! and the account, in the same order, whatever happens between the parts.
#![allow(clippy::unwrap_used, reason = "a test stops at what it can't use")]

mod common;

use common::Job;
use plugin_api::{Intake, ReadContext, Reader, Source, Taken, Workers};
use plugin_csv::CsvLogs;
use record::SourceId;
use serde_json::json;
use std::fmt::Write;
use std::io::{BufRead, Cursor};
use std::sync::atomic::{AtomicUsize, Ordering};

/// So many threads; counts the pieces that were handed to it.
struct Threads(usize, AtomicUsize);

impl Workers for Threads {
    fn threads(&self) -> usize {
        self.0
    }

    fn each(&self, count: usize, work: &(dyn Fn(usize) + Sync)) {
        self.1.fetch_add(count, Ordering::Relaxed);
        let next = AtomicUsize::new(0);
        std::thread::scope(|scope| {
            for _ in 0..self.0 {
                scope.spawn(|| {
                    loop {
                        let index = next.fetch_add(1, Ordering::Relaxed);
                        if index >= count {
                            break;
                        }
                        work(index);
                    }
                });
            }
        });
    }
}

fn read(text: &[u8], job: &Job, threads: usize) -> (bool, Taken, usize) {
    let open = || Ok(Box::new(Cursor::new(text)) as Box<dyn BufRead>);
    let workers = Threads(threads, AtomicUsize::new(0));
    // Files below a megabyte are read in one piece; here smaller ones have to do.
    let source =
        Source::new(SourceId(0), "log.csv", text.len().max(1 << 20) as u64, &open).with_workers(&workers);
    let mut intake = Intake::new(SourceId(0));
    let cx = ReadContext { options: &job.options, defaults: &job.defaults, facts: &job.facts };
    let done = CsvLogs.read(&source, &mut intake, &cx).is_ok();
    (done, intake.finish(), workers.1.into_inner())
}

#[track_caller]
fn same(what: &str, text: &[u8], job: &Job, parts: bool) -> Taken {
    let (done, one, pieces) = read(text, job, 1);
    assert_eq!(pieces, 0, "{what}: one thread");
    for threads in [2, 3] {
        let (also, several, pieces) = read(text, job, threads);
        assert_eq!(pieces > 1, parts, "{what}: {pieces} parts of {} bytes", text.len());
        assert_eq!(done, also, "{what}");
        assert_eq!(one.account, several.account, "{what}");
        assert_eq!(one.unread, several.unread, "{what}");
        assert_eq!(one.findings, several.findings, "{what}");
        assert_eq!(one.understood, several.understood, "{what}");
        if !done {
            // What was read of a file that is refused is not used.
            continue;
        }
        let differ = one.series.iter().zip(several.series.iter()).find(|(a, b)| a != b);
        assert_eq!(differ, None, "{what}");
        assert_eq!(one.series.len(), several.series.len(), "{what}");
        assert_eq!(one.observations, several.observations, "{what}");
    }
    one
}

/// Rows of a log with a row for each discharge, `more` making each row its own.
fn shots(rows: u32, in_a_series: u32, more: impl Fn(u32, &mut String)) -> String {
    let mut text = String::from("Point,Application,U [kV],Pol,Shot,Time,Result,Remark\n");
    for row in 0..rows {
        let (set, shot) = (row / in_a_series, row % in_a_series + 1);
        let (kv, sign) = ([2, 4, 6, 8][set as usize % 4], ["+", "-"][set as usize / 4 % 2]);
        let (hour, minute, second) = (row / 3600 % 24, row / 60 % 60, row % 60);
        let mut line = format!(
            "P{},contact,{kv},{sign},{shot},2026-03-12 {hour:02}:{minute:02}:{second:02},ok,",
            set % 7
        );
        more(row, &mut line);
        let _ = writeln!(text, "{line}");
    }
    text
}

fn plain(_: u32, _: &mut String) {}

#[test]
fn series_end_where_they_end_in_one_piece() {
    let text = shots(9_000, 10, plain);
    let taken = same("ten a series", text.as_bytes(), &Job::default(), true);
    assert_eq!(taken.series.len(), 900);
    // A series that is longer than a part: the parts can't be read apart, and are read in turn.
    let taken = same("one long series", shots(9_000, 6_000, plain).as_bytes(), &Job::default(), true);
    assert_eq!(taken.series.len(), 2);
    let crlf = text.replace('\n', "\r\n");
    same("CRLF", crlf.as_bytes(), &Job::default(), true);
    same("CR", text.replace('\n', "\r").as_bytes(), &Job::default(), true);
    same("no last line end", text.trim_end().as_bytes(), &Job::default(), true);
    let utf16: Vec<u8> =
        "\u{feff}".chars().chain(text.chars()).flat_map(|c| (c as u16).to_le_bytes()).collect();
    same("UTF-16", &utf16, &Job::default(), true);
}

#[test]
fn what_happens_between_rows_happens_in_order() {
    let text = shots(9_000, 10, |row, line| match row % 97 {
        3 => line.push_str("fan, looked at"),
        11 => *line = format!("# note {row}"),
        17 => *line = line.replacen("contact", "contakt", 1),
        23 => line.clear(),
        29 => *line = line.replacen(",ok,", ",reset,by itself", 1),
        31 => *line = "stopped for lunch".to_owned(),
        37 => *line = "Point,Application,U [kV],Pol,Shot,Time,Result,Remark".to_owned(),
        41 => *line = line.replacen(",1,", ",7,", 1),
        43 => line.push_str("\"tip worn,\nchanged\""),
        _ => {}
    });
    let taken = same("a bit of everything", text.as_bytes(), &Job::default(), true);
    assert!(taken.unread.len() > 150 && taken.observations.len() > 50, "{} unread", taken.unread.len());
    let mut footer = shots(9_000, 10, plain);
    footer.push_str("total,9000\nsigned,I. Marsh\n");
    let taken = same("footer", footer.as_bytes(), &Job::default(), true);
    assert_eq!(taken.account.unwrap().footer, 2);
    let mut open = shots(9_000, 10, plain);
    open.push_str("P1,contact,4,+,1,2026-03-13 10:00:00,ok,\"never closed\nP1,contact,4,+,2\n");
    same("a quote that is never closed", open.as_bytes(), &Job::default(), true);
    let quoted = shots(9_000, 10, |row, line| {
        let _ = write!(line, "\"row {row}\nof \"\"many\"\"\"");
    });
    same("quotes and line ends in every row", quoted.as_bytes(), &Job::default(), true);
}

/// A row for each set, semicolons, decimal commas here and there.
fn sets(rows: u32, voltage: impl Fn(u32) -> String) -> String {
    let mut text = String::from("Point;Application;U [kV];Pol;n;Date;Result\n");
    for row in 0..rows {
        let (hour, minute, second) = (row / 3600 % 24, row / 60 % 60, row % 60);
        let _ = writeln!(
            text,
            "P{};air;{};+;10;12.03.2026 {hour:02}:{minute:02}:{second:02};ok",
            row % 8,
            voltage(row)
        );
    }
    text
}

#[test]
fn the_decimal_sign_is_that_of_the_whole_file() {
    let whole = |row: u32| (row % 4 * 2 + 2).to_string();
    same("whole numbers", sets(9_000, whole).as_bytes(), &Job::default(), true);
    let late = |row: u32| if row == 7_000 { "2,5".to_owned() } else { whole(row) };
    same("a comma late", sets(9_000, late).as_bytes(), &Job::default(), true);
    let unsure = |row: u32| match row {
        3_000 => "1,234".to_owned(),
        8_000 => "2,5".to_owned(),
        _ => whole(row),
    };
    let taken = same("unsure, then a comma", sets(9_000, unsure).as_bytes(), &Job::default(), true);
    assert!(taken.series.iter().any(|series| series.voltage_kv.to_string() == "1.234 kV"));
    let mixed = |row: u32| match row {
        4_000 => "2,5".to_owned(),
        8_000 => "2.5".to_owned(),
        _ => whole(row),
    };
    let taken = same("both", sets(9_000, mixed).as_bytes(), &Job::default(), true);
    assert!(taken.findings.iter().any(|finding| finding.code == "csv/mixed-decimal-signs"));
    let undecided = |row: u32| if row == 8_000 { "1,234".to_owned() } else { whole(row) };
    same("never sure", sets(9_000, undecided).as_bytes(), &Job::default(), true);
}

#[test]
fn a_log_whose_rows_need_those_before_is_read_in_one_piece() {
    let above = sets(9_000, |row| if row % 3 == 0 { "4".to_owned() } else { String::new() });
    same("blanks repeat the cell above", above.as_bytes(), &Job::with(json!({ "blanks": "above" })), false);
    let mut counter = String::from("Point,Application,kV,Pol,Counter\n");
    for row in 1..20_000 {
        let _ = writeln!(counter, "P{},contact,4,+,{}", row % 5, row * 10);
    }
    same("a counter", counter.as_bytes(), &Job::with(json!({ "counter_start": 0 })), false);
}

#[test]
fn a_log_is_given_up_at_the_same_row() {
    let text = sets(12_000, |row| if row > 1_500 { "four".to_owned() } else { "4".to_owned() });
    let taken = same("mostly unreadable", text.as_bytes(), &Job::default(), true);
    assert!(taken.findings.iter().any(|finding| finding.code == "csv/mostly-unreadable"));
    let mut doubled = sets(6_000, |_| "4".to_owned());
    let again = doubled.clone();
    doubled.push_str(again.split_once('\n').unwrap().1);
    let taken = same("rows twice", doubled.as_bytes(), &Job::default(), true);
    assert!(taken.findings.iter().any(|finding| finding.code == "csv/duplicate-rows"));
}
