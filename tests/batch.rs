//! A batch that is killed at any moment and started again ends like one that was left in peace, and a batch of
//! which nothing has changed is not done again.

#![allow(clippy::unwrap_used, reason = "a test that can not go on has failed")]

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const JOBS: usize = 60;
const KILLS: u32 = 20;

/// Jobs in three layouts of logs; in every seventh a row can't be read.
fn jobs(below: &Path) {
    for job in 0..JOBS {
        let folder = below.join(format!("{}", 2010 + job / 20)).join(format!("job-{job:03}"));
        std::fs::create_dir_all(&folder).unwrap();
        std::fs::write(folder.join("job.toml"), "[[points]]\nid = \"P\"\n\n[[logs]]\nfiles = \"log.csv\"\n")
            .unwrap();
        let mut log = String::from(match job % 3 {
            0 => "Point,Mode,Polarity,Voltage [kV],Discharges\n",
            1 => "Point;Mode;Voltage [kV];Discharges\n",
            _ => "No\tPoint\tMode\tPolarity\tVoltage [V]\n",
        });
        for row in 0..40 {
            let kv = 2 + 2 * (row % 4);
            let polarity = if row % 2 == 0 { '+' } else { '-' };
            let bad = if job % 7 == 0 && row == 20 { "?" } else { "" };
            match job % 3 {
                0 => writeln!(log, "P,contact,{polarity},{kv}{bad},10"),
                1 => writeln!(log, "P;contact;{polarity}{kv},5{bad};10"),
                _ => writeln!(log, "{}\tP\tcontact\t{polarity}\t{kv}000{bad}", row + 1),
            }
            .unwrap();
        }
        std::fs::write(folder.join("log.csv"), log).unwrap();
    }
}

fn convert(jobs: &Path, out: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_fulgurite"));
    command.arg("convert").arg(jobs).args(["--to", "json,xml,csv", "--out"]).arg(out);
    command
}

fn tree(top: &Path) -> BTreeMap<String, Vec<u8>> {
    walkdir::WalkDir::new(top)
        .min_depth(1)
        .into_iter()
        .map(Result::unwrap)
        .filter(|entry| entry.file_type().is_file())
        .map(|entry| {
            let name = entry.path().strip_prefix(top).unwrap().to_string_lossy().into_owned();
            (name, std::fs::read(entry.path()).unwrap())
        })
        .collect()
}

#[test]
fn a_batch_killed_twenty_times_ends_like_one_left_in_peace() {
    let work = tempfile::tempdir().unwrap();
    let input = work.path().join("logs");
    jobs(&input);
    let out = work.path().join("out");

    let start = Instant::now();
    let undisturbed = convert(&input, &out).output().unwrap();
    let took = start.elapsed();
    assert_eq!(undisturbed.status.code(), Some(1), "nine jobs have a row set aside");
    let expected = tree(&out);
    assert!(expected.len() > JOBS * 4, "{} files", expected.len());
    std::fs::rename(&out, work.path().join("undisturbed")).unwrap();

    let mut killed = 0;
    for moment in 1..=KILLS {
        // Spread over the time that what is left of the batch may take; each run goes on from the one before.
        let wait =
            took.mul_f64(f64::from(moment * 7 % KILLS) / f64::from(KILLS) / 6.0) + Duration::from_millis(3);
        let mut child = convert(&input, &out).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        std::thread::sleep(wait);
        killed += u32::from(child.try_wait().unwrap().is_none());
        child.kill().unwrap();
        child.wait().unwrap();
    }
    assert!(killed >= KILLS / 2, "only {killed} runs were still at work when they were killed");
    let last = convert(&input, &out).output().unwrap();
    assert_eq!(last.status.code(), Some(1));
    assert_eq!(last.stderr, undisturbed.stderr, "findings of jobs that were not done again are shown again");
    let found = tree(&out);
    assert_eq!(found.keys().collect::<Vec<_>>(), expected.keys().collect::<Vec<_>>());
    assert!(found == expected, "a file differs");
}

#[test]
fn only_what_changed_is_done_again() {
    let work = tempfile::tempdir().unwrap();
    let input = work.path().join("logs");
    jobs(&input);
    let out = work.path().join("out");
    let run = |extra: &[&str]| {
        let made = convert(&input, &out).args(["--message-format", "json"]).args(extra).output().unwrap();
        let text = String::from_utf8(made.stdout).unwrap();
        let last: serde_json::Value = serde_json::from_str(text.lines().last().unwrap()).unwrap();
        (last["remembered"].as_u64().unwrap(), last["rows"].clone())
    };
    let jobs = JOBS as u64;
    let (first, rows) = run(&[]);
    assert_eq!(first, 0);
    assert_eq!(rows["total"], (JOBS * 41) as u64);
    assert_eq!(rows["set_aside"], 9);
    assert_eq!(run(&[]), (jobs, rows.clone()));
    let log = input.join("2010/job-003/log.csv");
    std::fs::write(&log, std::fs::read_to_string(&log).unwrap() + "P,contact,+,8,10\n").unwrap();
    assert_eq!(run(&["--replace"]).0, jobs - 1);
    std::fs::remove_file(out.join("job-004/job-004.xml")).unwrap();
    assert_eq!(run(&[]).0, jobs - 1);
    assert_eq!(run(&["--lang", "en", "--afresh"]).0, 0);
}

/// A log with a hint line, units below the header and decimal commas; one row can't be read.
const LOG: &str = "sep=;\nMeasured by hand\nPoint;Mode;Voltage;Discharges\n;;kV;\nP;contact;+4,5;10\nP;contact;-4,5?;10\nP;contact;+8;10\n";

#[test]
fn rows_set_aside_read_again_once_they_are_mended() {
    let utf16 = |text: &str| {
        std::iter::once(0xfeff).chain(text.encode_utf16()).flat_map(u16::to_le_bytes).collect::<Vec<u8>>()
    };
    for (name, bytes) in [("plain", LOG.as_bytes().to_vec()), ("utf-16", utf16(LOG))] {
        let work = tempfile::tempdir().unwrap();
        let log = work.path().join("log.csv");
        std::fs::write(&log, &bytes).unwrap();
        let out = work.path().join("out");
        let made = convert(&log, &out).output().unwrap();
        assert_eq!(made.status.code(), Some(1), "{name}: a row is set aside");
        let kept = out.join("log.set-aside/log.csv");
        let mended: Vec<u8> =
            std::fs::read(&kept).unwrap().into_iter().filter(|byte| *byte != b'?').collect();
        // A `?` in UTF-16 is two bytes; the other one goes too.
        let mended = if name == "plain" { mended } else { utf16(&LOG_OF_MENDED.replace('?', "")) };
        let kept_text = std::fs::read(&kept).unwrap();
        let wanted = if name == "plain" { LOG_OF_MENDED.as_bytes().to_vec() } else { utf16(LOG_OF_MENDED) };
        assert_eq!(kept_text, wanted, "{name}: hint, header and units stand above the row, byte for byte");
        std::fs::write(&kept, mended).unwrap();
        let again = work.path().join("again");
        let made = convert(&kept, &again).output().unwrap();
        assert_eq!(made.status.code(), Some(0), "{name}: {}", String::from_utf8_lossy(&made.stderr));
        let record: serde_json::Value =
            serde_json::from_slice(&std::fs::read(again.join("log.json")).unwrap()).unwrap();
        let series = record["series"].as_array().unwrap();
        assert_eq!(series.len(), 1, "{name}");
        assert_eq!(series[0]["polarity"], "negative", "{name}");
        assert_eq!(series[0]["voltage_kv"], "4.5", "{name}");
    }
}

/// What is kept of that log.
const LOG_OF_MENDED: &str = "sep=;\nPoint;Mode;Voltage;Discharges\n;;kV;\nP;contact;-4,5?;10\n";

#[test]
fn trees_of_loose_logs_are_read_and_what_an_ignore_file_names_is_passed_over() {
    let work = tempfile::tempdir().unwrap();
    let top = work.path().join("archive");
    let log = "Point,Mode,Voltage [kV],Polarity,Discharges\nP,contact,4,+,10\n";
    for name in
        ["2001/shots-a.csv", "2002/deep/shots-b.csv", "old/shots-c.csv", "2002/notes.tmp", ".hidden/x.csv"]
    {
        let path = top.join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, log).unwrap();
    }
    std::fs::write(top.join(".fulgurite-ignore"), "# kept for the auditor\nold/\n**/*.tmp\n").unwrap();
    let out = work.path().join("out");
    let without = convert(&top, &out).output().unwrap();
    assert_eq!(without.status.code(), Some(2), "no job.toml below it");
    let made = convert(&top, &out).args(["--loose", "--message-format", "json"]).output().unwrap();
    assert_eq!(made.status.code(), Some(0), "{}", String::from_utf8_lossy(&made.stderr));
    let text = String::from_utf8(made.stdout).unwrap();
    let lines: Vec<serde_json::Value> =
        text.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let jobs: Vec<&str> = lines.iter().filter_map(|line| line["job"].as_str()).collect();
    assert_eq!(jobs, ["shots-a", "shots-b"]);
    assert_eq!(lines.last().unwrap()["rows"]["used"], 2);
    std::fs::write(top.join(".fulgurite-ignore"), "old\n[z-a]\n").unwrap();
    let refused = convert(&top, &out).arg("--loose").output().unwrap();
    assert_eq!(refused.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&refused.stderr).contains("row 2"), "the pattern is named by its row");
}

#[test]
#[cfg(unix)]
fn odd_names_and_loops_of_links_stop_nothing() {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt;
    let work = tempfile::tempdir().unwrap();
    let top = work.path().join("archive");
    let log = "Point,Mode,Voltage [kV],Polarity,Discharges\nP,contact,4,+,10\n";
    let names: [&[u8]; 6] =
        [b"-rf", b"new\nline", b"two  spaces ", b"\xfcmlaut", b"CON", "\u{202e}cinu\u{301}".as_bytes()];
    for name in names {
        let folder = top.join(OsStr::from_bytes(name));
        std::fs::create_dir_all(&folder).unwrap();
        std::fs::write(folder.join("job.toml"), "[[points]]\nid = \"P\"\n\n[[logs]]\nfiles = \"*.csv\"\n")
            .unwrap();
        std::fs::write(folder.join("a log.csv"), log).unwrap();
        std::os::unix::fs::symlink(&top, folder.join("up")).unwrap();
    }
    std::os::unix::fs::symlink(&top, top.join("loop")).unwrap();
    let out = work.path().join("out");
    let made = convert(&top, &out).args(["--message-format", "json"]).output().unwrap();
    let said = String::from_utf8_lossy(&made.stderr);
    assert!(matches!(made.status.code(), Some(0 | 1)), "{:?} {said}", made.status);
    let text = String::from_utf8(made.stdout).unwrap();
    let last: serde_json::Value = serde_json::from_str(text.lines().last().unwrap()).unwrap();
    assert_eq!(last["jobs"], names.len());
    assert_eq!(last["counts"]["done"], names.len(), "{text}{said}");
    // Everything lies below the folder that was named, and each job has its own.
    assert_eq!(std::fs::read_dir(work.path()).unwrap().count(), 2);
    assert_eq!(std::fs::read_dir(&out).unwrap().count(), names.len() + 1, "and the journal");
}
