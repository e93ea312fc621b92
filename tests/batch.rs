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
