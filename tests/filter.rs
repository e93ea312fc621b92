//! The filter: a line out for each line in, in their order, with the outputs that `convert` makes; alone, under GNU
//! parallel, and with the register, which holds a record once however often it is entered.
#![allow(clippy::unwrap_used, reason = "a test that can not go on has failed")]
#![allow(clippy::print_stderr, reason = "a test program talks to the person at the terminal")]

use serde_json::Value;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};

fn program() -> Command {
    Command::new(env!("CARGO_BIN_EXE_fulgurite"))
}

/// Job folders of different sizes, so that later ones are ready before earlier ones; every fifth is broken.
fn jobs(below: &Path, count: usize) -> Vec<String> {
    (0..count)
        .map(|number| {
            let name = format!("archive/{}/job-{number}", 2010 + number % 3);
            let folder = below.join(&name);
            std::fs::create_dir_all(&folder).unwrap();
            let log_file = if number % 5 == 4 { "missing.csv" } else { "log.csv" };
            let mut job = format!("[[points]]\nid = \"P\"\n\n[[logs]]\nfiles = \"{log_file}\"\n");
            write!(job, "\n[item]\nname = \"Sensor {number}\"\nserial = \"S-{number}\"\n").unwrap();
            write!(job, "\n[[equipment]]\nid = \"G-{}\"\nserial = \"E{number}\"\n", number % 2).unwrap();
            write!(job, "\n[[references]]\nkind = \"order\"\nvalue = \"O-{number}\"\n").unwrap();
            std::fs::write(folder.join("job.toml"), job).unwrap();
            let mut log = String::from("Point,Mode,Polarity,Voltage [kV],Discharges\n");
            for row in 0..if number % 4 == 0 { 800 } else { 4 } {
                writeln!(log, "P,contact,+,{},10", 2 + 2 * (row % 4)).unwrap();
            }
            std::fs::write(folder.join("log.csv"), log).unwrap();
            name
        })
        .collect()
}

fn filter(below: &Path, lines: &str, out: &str, more: &[&str]) -> Vec<Value> {
    let mut command = program();
    command.current_dir(below).args(["filter", "--to", "csv,xml", "--out", out]).args(more);
    let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().unwrap();
    let mut stdin = child.stdin.take().unwrap();
    let text = lines.to_owned();
    let writer = std::thread::spawn(move || stdin.write_all(text.as_bytes()).unwrap());
    let output = child.wait_with_output().unwrap();
    writer.join().unwrap();
    assert_eq!(output.status.code(), Some(0), "every line was answered");
    String::from_utf8(output.stdout).unwrap().lines().map(|l| serde_json::from_str(l).unwrap()).collect()
}

fn tree(top: &Path) -> BTreeMap<String, Vec<u8>> {
    let files = walkdir::WalkDir::new(top).into_iter().map(Result::unwrap);
    let files = files.filter(|entry| entry.file_type().is_file());
    let name = |path: &Path| path.strip_prefix(top).unwrap().to_string_lossy().into_owned();
    files.map(|entry| (name(entry.path()), std::fs::read(entry.path()).unwrap())).collect()
}

#[test]
fn a_line_for_each_line_in_their_order_with_the_outputs_of_convert() {
    let work = tempfile::tempdir().unwrap();
    let names = jobs(work.path(), 20);
    let mut text: String = names.iter().map(|name| format!("{name}\n")).collect();
    text += "\n../elsewhere\r\narchive/none\narchive/2010/job-0/job.toml";
    // Left by a run that was killed; another run is still at work in the second.
    let folder = work.path().join("out/archive/2010/job-0");
    let (ended, at_work) = (folder.join(".fulgurite-ended"), folder.join(".fulgurite-at-work"));
    for aside in [&ended, &at_work] {
        std::fs::create_dir_all(aside).unwrap();
        std::fs::write(aside.join("in-use"), "").unwrap();
    }
    let held = std::fs::File::open(at_work.join("in-use")).unwrap();
    held.lock().unwrap();
    let answers = filter(work.path(), &text, "out", &["--threads", "3"]);
    assert!(!ended.exists() && at_work.exists());
    std::fs::remove_dir_all(&at_work).unwrap();

    let lines: Vec<&str> = answers.iter().map(|a| a["line"].as_str().unwrap()).collect();
    let expected: Vec<&str> = text.split('\n').map(|line| line.trim_end_matches('\r')).collect();
    assert_eq!(lines, expected);
    let status = |number: usize| answers[number]["status"].as_str().unwrap();
    for number in 0..20 {
        assert_eq!(status(number), if number % 5 == 4 { "refused" } else { "done" });
    }
    for number in 20..23 {
        assert_eq!(status(number), "refused");
    }
    assert_eq!(answers[20]["findings"][0]["code"], "job/no-job-path");
    assert_eq!(answers[4]["findings"][0]["code"], "job/no-file-matches");
    assert_eq!(status(23), "done", "a job.toml stands for its folder");

    for (number, name) in names.iter().enumerate().filter(|(number, _)| number % 5 != 4) {
        let alone = work.path().join("alone").join(number.to_string());
        let mut convert = program();
        convert.arg("convert").arg(work.path().join(name)).args(["--to", "csv,xml", "--quiet", "--out"]);
        assert!(convert.arg(&alone).output().unwrap().status.success());
        assert_eq!(tree(&alone), tree(&work.path().join("out").join(name)), "{name}");
    }
}

#[test]
fn under_gnu_parallel_the_same_lines_in_the_same_order() {
    if Command::new("parallel").arg("--version").output().is_err() {
        let ci = std::env::var_os("CI").is_some_and(|value| !value.is_empty());
        assert!(!ci, "GNU parallel is not installed, and CI asks for it");
        eprintln!("skipped: GNU parallel is not installed (Debian: parallel)");
        return;
    }
    let work = tempfile::tempdir().unwrap();
    let names = jobs(work.path(), 18);
    let text: String = names.iter().map(|name| format!("{name}\n")).collect();
    let alone = filter(work.path(), &text, "out", &[]);
    let first = tree(&work.path().join("out"));
    std::fs::remove_dir_all(work.path().join("out")).unwrap();

    std::fs::write(work.path().join("list.txt"), &text).unwrap();
    let mut parallel = Command::new("parallel");
    parallel.current_dir(work.path()).env("HOME", work.path());
    parallel.args(["--will-cite", "--pipe", "--keep-order", "--max-replace-args", "4", "--jobs", "2"]);
    parallel.args([
        env!("CARGO_BIN_EXE_fulgurite"),
        "filter",
        "--threads",
        "1",
        "--to",
        "csv,xml",
        "--out",
        "out",
    ]);
    parallel.stdin(std::fs::File::open(work.path().join("list.txt")).unwrap());
    let output = parallel.output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let text = String::from_utf8(output.stdout).unwrap();
    let spread: Vec<Value> = text.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(spread, alone);
    assert_eq!(tree(&work.path().join("out")), first);
}

/// 1,000 jobs by hand: `FULGURITE_DASK_JOBS=1000`.
#[test]
fn under_dask_with_a_worker_killed_the_same_lines_and_files() {
    let ci = std::env::var_os("CI").is_some_and(|value| !value.is_empty());
    let judges = std::env::var_os("FULGURITE_JUDGES").map(std::path::PathBuf::from);
    let inside = if cfg!(windows) { "Scripts/python.exe" } else { "bin/python" };
    let python = judges.map(|folder| folder.join(inside)).filter(|python| {
        let mut asked = Command::new(python);
        let asked = asked.args(["-c", "import dask.distributed"]).stderr(Stdio::null()).status();
        asked.is_ok_and(|status| status.success())
    });
    let Some(python) = python else {
        assert!(!ci, "no Dask among the judges: CI runs `cargo xtask test`, which sets them up");
        eprintln!("skipped: no Dask among the judges (`cargo xtask judges`)");
        return;
    };
    let count = std::env::var("FULGURITE_DASK_JOBS").map_or(24, |text| text.parse().unwrap());
    let work = tempfile::tempdir().unwrap();
    jobs(work.path(), count);
    let judge = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../xtask/judges/judge_dask.py");
    let mut asked = Command::new(python);
    let output = asked.arg(judge).arg(env!("CARGO_BIN_EXE_fulgurite")).arg(work.path()).output().unwrap();
    let told = String::from_utf8_lossy(&output.stdout);
    assert!(output.status.success(), "{told}\n{}", String::from_utf8_lossy(&output.stderr));
    assert!(told.contains(&format!("{count} jobs in")), "{told}");
    eprintln!("{told}");
}

fn found(below: &Path, more: &[&str]) -> Vec<String> {
    let mut command = program();
    let output =
        command.current_dir(below).args(["register", "find", "r.sqlite", "--json"]).args(more).output();
    let output = output.unwrap();
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    let text = String::from_utf8(output.stdout).unwrap();
    let objects = text.lines().map(|line| serde_json::from_str::<Value>(line).unwrap());
    objects.map(|object| object["item_serial"].as_str().unwrap_or_default().to_owned()).collect()
}

#[cfg(feature = "register")]
#[test]
fn the_register_holds_each_record_once_and_finds_it() {
    let work = tempfile::tempdir().unwrap();
    let names = jobs(work.path(), 10);
    let text: String = names.iter().map(|name| format!("{name}\n")).collect();
    for _ in 0..2 {
        filter(work.path(), &text, "out", &["--register", "r.sqlite", "--threads", "2"]);
    }
    // The batch enters the same records, which its journal would otherwise remember.
    for _ in 0..2 {
        let mut convert = program();
        convert.current_dir(work.path()).args(["convert", "archive", "--to", "csv", "--quiet"]);
        let output = convert.args(["--out", "batch", "--register", "r.sqlite"]).output().unwrap();
        assert_eq!(output.status.code(), Some(1), "two jobs are refused");
    }
    assert_eq!(found(work.path(), &[]).len(), 8);
    assert_eq!(found(work.path(), &["--serial", "S-3"]), ["S-3"]);
    assert_eq!(found(work.path(), &["--item", "sensor 7"]), ["S-7"]);
    assert_eq!(found(work.path(), &["--equipment", "G-1"]), ["S-1", "S-3", "S-5", "S-7"]);
    assert_eq!(found(work.path(), &["--equipment", "E6"]), ["S-6"]);
    assert_eq!(found(work.path(), &["--reference", "O-5", "--equipment", "G-1"]), ["S-5"]);
    assert_eq!(found(work.path(), &["--reference", "O-5", "--equipment", "G-0"]).len(), 0);
    assert_eq!(found(work.path(), &["--verdict", "undetermined"]).len(), 8);
    assert_eq!(found(work.path(), &["--verdict", "pass"]).len(), 0);
    let beside: Vec<_> = std::fs::read_dir(work.path())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.starts_with("r.sqlite"))
        .collect();
    assert_eq!(beside, ["r.sqlite"], "one file");
}
