//! A watch that is killed at random moments while jobs are dropped: every input ends in exactly one place with exactly
//! one line. `FULGURITE_WATCH_KILLS` sets the number of kills, `FULGURITE_WATCH_SEED` other moments.
#![allow(clippy::unwrap_used, reason = "a test that can not go on has failed")]
#![allow(clippy::print_stderr, reason = "a test program talks to the person at the terminal")]

use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

fn watch(drop: &Path, out: &Path, more: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_fulgurite"));
    command.arg("watch").arg(drop).arg("--out").arg(out).args(["--to", "csv,xml"]);
    if !more.contains(&"--retry") {
        command.args(["--retry", "0.2"]);
    }
    command.args(more).stdin(Stdio::null());
    command
}

fn run(drop: &Path, out: &Path, more: &[&str]) -> Output {
    watch(drop, out, more).output().unwrap()
}

fn log(rows: usize) -> String {
    let mut log = String::from("Point,Mode,Polarity,Voltage [kV],Discharges\n");
    for row in 0..rows {
        writeln!(log, "P,contact,{},{},10", if row % 2 == 0 { '+' } else { '-' }, 2 + 2 * (row % 4)).unwrap();
    }
    log
}

fn names(folder: &Path) -> Vec<String> {
    let Ok(entries) = std::fs::read_dir(folder) else { return Vec::new() };
    entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect()
}

/// Lines that are whole: one that lacks its end was not written.
fn lines(out: &Path) -> Vec<Value> {
    let text = std::fs::read_to_string(out.join("results.jsonl")).unwrap_or_default();
    let whole = text.rfind('\n').map_or(0, |end| end + 1);
    text[..whole].lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

fn name_of(id: &str) -> String {
    id.split_once('-').unwrap().1.to_owned()
}

/// Where each input is: in the drop folder, taken, done or refused.
fn places(drop: &Path) -> BTreeMap<String, Vec<&'static str>> {
    let mut found: BTreeMap<String, Vec<&'static str>> = BTreeMap::new();
    let waiting = names(drop).into_iter().filter(|n| !n.ends_with(".ready"));
    for name in waiting.filter(|n| !["done", "refused", ".taken"].contains(&n.as_str())) {
        found.entry(name).or_default().push("waiting");
    }
    for id in names(&drop.join(".taken")).into_iter().filter(|id| id.contains('-')) {
        for name in names(&drop.join(".taken").join(id)).into_iter().filter(|n| n != ".ready") {
            found.entry(name).or_default().push("taken");
        }
    }
    // `next-number` of the taken folder is a file: it has no entries.
    for place in ["done", "refused"] {
        for id in names(&drop.join(place)) {
            found.entry(name_of(&id)).or_default().push(place);
        }
    }
    found
}

/// Drops inputs as senders do: renamed in when whole, written where they stand bit by bit, or with a marker.
fn feed(drop: &Path, dropped: &Mutex<BTreeSet<String>>, stop: &AtomicBool) {
    for number in 0.. {
        if stop.load(Ordering::Relaxed) {
            return;
        }
        let name = match number % 4 {
            0 => {
                let name = format!("renamed-{number}.csv");
                std::fs::write(drop.join(format!("{name}.part")), log(60)).unwrap();
                std::fs::rename(drop.join(format!("{name}.part")), drop.join(&name)).unwrap();
                name
            }
            1 => {
                let name = format!("slow-{number}.csv");
                let text = log(60);
                for end in [text.len() / 3, text.len() / 2, text.len()] {
                    // Written from the start each time: the first part alone would be a log of fewer rows.
                    std::fs::write(drop.join(&name), &text[..end]).unwrap();
                    std::thread::sleep(Duration::from_millis(15));
                }
                name
            }
            2 => {
                let name = format!("folder-{number}");
                std::fs::create_dir(drop.join(&name)).unwrap();
                std::fs::write(drop.join(&name).join("log.csv"), log(60)).unwrap();
                let job = "[[points]]\nid = \"P\"\n\n[[logs]]\nfiles = \"log.csv\"\n";
                std::fs::write(drop.join(&name).join("job.toml"), job).unwrap();
                std::fs::write(drop.join(format!("{name}.ready")), "").unwrap();
                name
            }
            _ => {
                let name = format!("broken-{number}.csv");
                std::fs::write(drop.join(&name), "this is no log\n").unwrap();
                name
            }
        };
        dropped.lock().unwrap().insert(name);
        std::thread::sleep(Duration::from_millis(12));
    }
}

fn kill(mut child: Child) {
    assert!(child.try_wait().unwrap().is_none(), "the watch ended by itself");
    child.kill().unwrap();
    child.wait().unwrap();
}

#[test]
fn every_input_ends_in_one_place_with_one_line_however_often_the_watch_is_killed() {
    let number = |name: &str, default| std::env::var(name).map_or(default, |text| text.parse().unwrap());
    let kills: u64 = number("FULGURITE_WATCH_KILLS", 4);
    let mut random: u64 = number("FULGURITE_WATCH_SEED", 2026);
    let work = tempfile::tempdir().unwrap();
    let (drop, out) = (work.path().join("drop"), work.path().join("out"));
    std::fs::create_dir(&drop).unwrap();
    let (dropped, stop) = (Mutex::new(BTreeSet::new()), AtomicBool::new(false));
    let rule = ["--settle", "0.25", "--threads", "2", "--quiet"];
    let (mut taken, mut half_lines) = (0, 0);
    std::thread::scope(|scope| {
        scope.spawn(|| feed(&drop, &dropped, &stop));
        for kill_number in 0..kills {
            let child =
                watch(&drop, &out, &rule).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
            // Knuth's MMIX generator: moments from 100 ms to 900 ms.
            random = random.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            std::thread::sleep(Duration::from_millis(100 + (random >> 33) % 800));
            kill(child);
            let known: Vec<String> = dropped.lock().unwrap().iter().cloned().collect();
            let found = places(&drop);
            for name in known {
                let at = found.get(&name).map(Vec::as_slice).unwrap_or_default();
                assert_eq!(at.len(), 1, "kill {kill_number}: {name} is in {at:?}");
            }
            taken += found.values().flatten().filter(|place| **place == "taken").count();
            let text = std::fs::read_to_string(out.join("results.jsonl")).unwrap_or_default();
            half_lines += usize::from(!text.is_empty() && !text.ends_with('\n'));
            let ids: Vec<String> = lines(&out).iter().map(|l| l["id"].as_str().unwrap().to_owned()).collect();
            assert_eq!(ids.iter().collect::<BTreeSet<_>>().len(), ids.len(), "a line stands twice");
        }
        stop.store(true, Ordering::Relaxed);
    });
    let last = run(&drop, &out, &[&rule[..], &["--once"]].concat());
    assert_eq!(last.status.code(), Some(1), "{}", String::from_utf8_lossy(&last.stderr));

    let dropped = dropped.into_inner().unwrap();
    let found = places(&drop);
    assert_eq!(found.keys().cloned().collect::<BTreeSet<_>>(), dropped, "inputs lost or made up");
    let lines = lines(&out);
    assert_eq!(lines.len(), dropped.len(), "one line an input");
    let mut answered = BTreeSet::new();
    for line in &lines {
        let id = line["id"].as_str().unwrap();
        let name = name_of(id);
        assert!(answered.insert(name.clone()), "{name} has two lines");
        let refused = name.starts_with("broken-");
        assert_eq!(line["status"], if refused { "refused" } else { "done" }, "{line}");
        assert_eq!(found[&name], [if refused { "refused" } else { "done" }]);
        assert_eq!(line["rows"]["used"], if refused { 0 } else { 60 }, "{name} was read before it was whole");
        for output in line["outputs"].as_array().unwrap() {
            let path = PathBuf::from(output["path"].as_str().unwrap());
            assert!(path.starts_with(out.join(id)));
            assert_eq!(std::fs::metadata(&path).unwrap().len(), output["bytes"].as_u64().unwrap());
        }
        assert_eq!(line["outputs"].as_array().unwrap().len(), if refused { 0 } else { 2 });
    }
    let aside = walkdir::WalkDir::new(&out).into_iter().map(Result::unwrap);
    let aside: Vec<_> =
        aside.filter(|e| e.file_name().to_string_lossy().starts_with(".fulgurite-")).collect();
    assert!(aside.is_empty(), "left aside: {aside:?}");
    assert_eq!(
        names(&drop.join(".taken")).iter().filter(|n| n.contains("-0") || n.starts_with('0')).count(),
        0
    );
    eprintln!(
        "{kills} kills, {} inputs, {} lines; {taken} inputs were taken and {half_lines} lines half written at a kill",
        dropped.len(),
        lines.len()
    );
}

#[test]
fn what_lacks_its_marker_or_is_on_its_way_keeps_waiting() {
    let work = tempfile::tempdir().unwrap();
    let (drop, out) = (work.path().join("drop"), work.path().join("out"));
    std::fs::create_dir(&drop).unwrap();
    for name in ["a.csv", "b.csv", "c.csv.part", ".hidden.csv"] {
        std::fs::write(drop.join(name), log(8)).unwrap();
    }
    std::fs::write(drop.join("a.csv.ready"), "").unwrap();
    let marked = run(&drop, &out, &["--whole", "marked", "--once", "--poll", "0.05"]);
    assert_eq!(marked.status.code(), Some(0), "{}", String::from_utf8_lossy(&marked.stderr));
    assert_eq!(names(&drop.join("done")), ["000001-a.csv"]);
    let settled = run(&drop, &out, &["--settle", "0.1", "--once", "--poll", "0.05"]);
    assert_eq!(settled.status.code(), Some(0));
    let mut waiting = names(&drop);
    waiting.sort();
    assert_eq!(waiting, [".hidden.csv", ".taken", "c.csv.part", "done", "refused"]);
    assert_eq!(lines(&out).len(), 2);

    // The same name again is another input.
    std::fs::write(drop.join("a.csv"), log(4)).unwrap();
    assert_eq!(run(&drop, &out, &["--settle", "0.1", "--once"]).status.code(), Some(0));
    let used: Vec<u64> = lines(&out).iter().map(|l| l["rows"]["used"].as_u64().unwrap()).collect();
    assert_eq!(used, [8, 8, 4]);
}

#[test]
fn outputs_that_cannot_be_written_leave_the_input_waiting() {
    let work = tempfile::tempdir().unwrap();
    let (drop, out) = (work.path().join("drop"), work.path().join("out"));
    std::fs::create_dir_all(&out).unwrap();
    std::fs::create_dir(&drop).unwrap();
    std::fs::write(drop.join("a.csv"), log(8)).unwrap();
    // A file stands where the first input's folder would be.
    std::fs::write(out.join("000001-a.csv"), "").unwrap();
    let stopped = run(&drop, &out, &["--settle", "0.05", "--once"]);
    assert_eq!(stopped.status.code(), Some(2), "{}", String::from_utf8_lossy(&stopped.stderr));
    assert!(String::from_utf8_lossy(&stopped.stderr).contains("keeps waiting"));
    assert_eq!(lines(&out).len(), 0);
    assert_eq!(places(&drop)["a.csv"], ["taken"]);
    std::fs::remove_file(out.join("000001-a.csv")).unwrap();
    assert_eq!(run(&drop, &out, &["--settle", "0.05", "--once"]).status.code(), Some(0));
    assert_eq!((lines(&out).len(), places(&drop)["a.csv"].clone()), (1, vec!["done"]));
}

#[test]
fn what_cannot_be_taken_keeps_waiting_and_is_no_success() {
    let work = tempfile::tempdir().unwrap();
    let (drop, out) = (work.path().join("drop"), work.path().join("out"));
    std::fs::create_dir(&drop).unwrap();
    // With its number before it, the name is longer than the 255 bytes that most file systems keep.
    let long = format!("{}.csv", "a".repeat(248));
    std::fs::write(drop.join(&long), log(8)).unwrap();
    let stopped = run(&drop, &out, &["--settle", "0.05", "--once"]);
    assert_eq!(stopped.status.code(), Some(2), "{}", String::from_utf8_lossy(&stopped.stderr));
    assert!(drop.join(&long).exists());
    assert_eq!(lines(&out).len(), 0);
    let said = String::from_utf8_lossy(&stopped.stdout).into_owned();
    assert!(said.contains("1 still waiting"), "{said}");
}

#[test]
fn a_watch_whose_folder_is_gone_ends_though_an_input_waits_to_be_tried_again() {
    let work = tempfile::tempdir().unwrap();
    let (drop, out) = (work.path().join("drop"), work.path().join("out"));
    std::fs::create_dir_all(&out).unwrap();
    std::fs::create_dir(&drop).unwrap();
    std::fs::write(drop.join("a.csv"), log(8)).unwrap();
    std::fs::write(out.join("000001-a.csv"), "").unwrap();
    let mut command = watch(&drop, &out, &["--settle", "0.05", "--poll", "0.05", "--retry", "3600"]);
    let mut child = command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
    let within = |what: &mut dyn FnMut() -> bool| {
        let until = std::time::Instant::now() + Duration::from_secs(20);
        while std::time::Instant::now() < until {
            if what() {
                return true;
            }
            std::thread::sleep(Duration::from_millis(20));
        }
        false
    };
    assert!(within(&mut || places(&drop).get("a.csv").is_some_and(|at| at == &["taken"])));
    std::fs::rename(&drop, work.path().join("elsewhere")).unwrap();
    let ended = within(&mut || child.try_wait().unwrap().is_some());
    if !ended {
        kill(child);
        panic!("the watch did not end");
    }
    assert_eq!(child.wait().unwrap().code(), Some(2));
}

#[test]
fn one_watch_at_a_time_and_no_outputs_among_the_inputs() {
    let work = tempfile::tempdir().unwrap();
    let (drop, out) = (work.path().join("drop"), work.path().join("out"));
    std::fs::create_dir(&drop).unwrap();
    let inside = run(&drop, &drop.join("out"), &["--once"]);
    assert_eq!(inside.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&inside.stderr).contains("lies in the folder that is watched"));
    assert!(!drop.join("out").exists(), "it would be taken for a job");
    let first = watch(&drop, &out, &[]).stdout(Stdio::null()).spawn().unwrap();
    let until = std::time::Instant::now() + Duration::from_secs(10);
    while !drop.join(".taken/next-number").exists() && std::time::Instant::now() < until {
        std::thread::sleep(Duration::from_millis(10));
    }
    let second = run(&drop, &work.path().join("other"), &["--once"]);
    kill(first);
    assert_eq!(second.status.code(), Some(2), "{}", String::from_utf8_lossy(&second.stderr));
}
