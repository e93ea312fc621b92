//! Plug-ins outside the program: the examples, the beginnings of `plugin new`, many files through one reader, and the
//! walk in plugins/examples/README.md, replayed word for word.

#![cfg(unix)]
#![allow(clippy::unwrap_used, reason = "a test that can not go on has failed")]
#![allow(clippy::print_stdout, reason = "figures for the person who asked for them")]

#[path = "harness/folder.rs"]
mod folder;

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::time::{Duration, Instant};

fn examples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../plugins/examples").canonicalize().unwrap()
}

/// The program, with settings of its own below a folder.
fn program(work: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_fulgurite"));
    command.env("XDG_CONFIG_HOME", work.join("settings")).current_dir(work);
    command
}

fn said(output: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr))
}

/// Each example is short, and stands its own fixtures and the rude ones.
#[test]
fn the_examples_are_short_and_stand_the_check() {
    let work = tempfile::tempdir().unwrap();
    let mut seen = 0;
    for entry in std::fs::read_dir(examples()).unwrap() {
        let folder = entry.unwrap().path();
        if !folder.join("plugin.toml").is_file() {
            continue;
        }
        seen += 1;
        for file in std::fs::read_dir(&folder).unwrap().map(|file| file.unwrap().path()) {
            if file.is_file() {
                let lines = std::fs::read_to_string(&file).unwrap().lines().count();
                assert!(lines < 60, "{}: {lines} lines", file.display());
            }
        }
        let output = program(work.path()).args(["plugin", "check"]).arg(&folder).output().unwrap();
        assert_eq!(output.status.code(), Some(0), "{}", said(&output));
        assert!(said(&output).contains("all in order"));
    }
    assert_eq!(seen, 3);
}

/// What `plugin new` makes stands the check untouched; in Rust, once it is built, without a network.
#[test]
fn each_beginning_stands_the_check_untouched() {
    let work = tempfile::tempdir().unwrap();
    for language in ["python", "shell", "rust"] {
        let output = program(work.path())
            .args(["plugin", "new", "our-bench", "--language", language, "--out", language])
            .output();
        let output = output.unwrap();
        assert_eq!(output.status.code(), Some(0), "{}", said(&output));
        if language == "rust" {
            let early = program(work.path()).args(["plugin", "check", language]).output().unwrap();
            assert_eq!(early.status.code(), Some(2));
            assert!(said(&early).contains("build it first"), "{}", said(&early));
            let built = Command::new(env!("CARGO"))
                .args(["build", "--release", "--offline", "--quiet"])
                .env_remove("CARGO_TARGET_DIR")
                .current_dir(work.path().join(language))
                .output()
                .unwrap();
            assert!(built.status.success(), "{}", said(&built));
        }
        let output = program(work.path()).args(["plugin", "check", language]).output().unwrap();
        assert_eq!(output.status.code(), Some(0), "{language}: {}", said(&output));
        // A second time into the same folder: what is there already is the same, and nothing is lost.
        std::fs::write(work.path().join(language).join("plugin.toml"), "mine").unwrap();
        let again = program(work.path())
            .args(["plugin", "new", "our-bench", "--language", language, "--out", language])
            .output();
        assert_eq!(again.unwrap().status.code(), Some(2));
        assert_eq!(std::fs::read(work.path().join(language).join("plugin.toml")).unwrap(), b"mine");
    }
}

/// A check that a plug-in does not stand says so: a fixture that comes to something else, and a false account.
#[test]
fn a_plug_in_that_is_wrong_does_not_stand_the_check() {
    let work = tempfile::tempdir().unwrap();
    let folder = work.path().join("wrong");
    folder::copy(&examples().join("fixed-width-log"), &folder).unwrap();
    let reader = std::fs::read_to_string(folder.join("reader.py")).unwrap();
    for (from, to, told) in [
        ("voltage[1:]", "voltage[1:] + \"0\"", "fixture two-series: row"),
        ("account[\"used\"] += 1", "account[\"used\"] += 2", "accounts for other rows"),
        (
            "for ask in map(json.loads, sys.stdin):",
            "for ask in [json.loads(sys.stdin.readline())]:",
            "ended before its answer did",
        ),
    ] {
        assert!(reader.contains(from));
        std::fs::write(folder.join("reader.py"), reader.replace(from, to)).unwrap();
        let output = program(work.path()).args(["plugin", "check"]).arg(&folder).output().unwrap();
        assert_eq!(output.status.code(), Some(3), "{}", said(&output));
        assert!(said(&output).contains(told), "{told}: {}", said(&output));
    }
}

/// A reader of the example's kind that writes down each of its starts, in a file that is no part of the program.
fn counting_reader(work: &Path) -> PathBuf {
    let folder = work.join("counting");
    folder::copy(&examples().join("fixed-width-log"), &folder).unwrap();
    let reader = std::fs::read_to_string(folder.join("reader.py")).unwrap();
    let counting = reader.replace(
        "sys.stdin.readline()",
        "import os\nopen(os.environ[\"FULGURITE_PLUGIN\"] + \"/.starts\", \"a\").write(\"x\")\nsys.stdin.readline()",
    );
    assert_ne!(reader, counting);
    std::fs::write(folder.join("reader.py"), counting).unwrap();
    let output = program(work).args(["plugin", "trust"]).arg(&folder).output().unwrap();
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    folder
}

/// Many logs through the Python reader in one batch: one start for each worker, and what that costs beside the
/// reader that is built in. `FULGURITE_PLUGIN_FILES=1000` for more.
#[test]
fn one_start_for_each_worker_serves_many_files() {
    const WORKERS: usize = 2;
    let files: usize =
        std::env::var("FULGURITE_PLUGIN_FILES").ok().and_then(|files| files.parse().ok()).unwrap_or(40);
    let work = tempfile::tempdir().unwrap();
    let plugin = counting_reader(work.path());
    let (mut foreign, mut plain) = (Vec::new(), Vec::new());
    for file in 0..files {
        let mut fixed = String::from("POINT   MODE    KV      SEEN\n");
        let mut table = String::from("point;mode;kV;result\n");
        for row in 0..200 {
            let sign = if row < 100 { '+' } else { '-' };
            writeln!(fixed, "P{:<7}contact {sign}8.0    ok", file % 9).unwrap();
            writeln!(table, "P{};contact;{sign}8.0;ok", file % 9).unwrap();
        }
        for (list, name, text) in [(&mut foreign, "fwl", fixed), (&mut plain, "csv", table)] {
            let path = work.path().join(format!("log-{file:04}.{name}"));
            std::fs::write(&path, text).unwrap();
            list.push(path);
        }
    }
    let run = |logs: &[PathBuf], out: &str| {
        let begun = Instant::now();
        let output = program(work.path())
            .args(["convert", "--to", "json", "--quiet", "--out", out, "--plugin"])
            .arg(&plugin)
            .args(logs)
            .env("RAYON_NUM_THREADS", WORKERS.to_string())
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(0), "{}", said(&output));
        begun.elapsed()
    };
    let outside = run(&foreign, "outside");
    let inside = run(&plain, "inside");
    let starts = std::fs::read(plugin.join(".starts")).unwrap().len();
    assert!((1..=WORKERS).contains(&starts), "{starts} starts for {files} files by {WORKERS} workers");
    let made = |out: &str| {
        let mut shots = 0;
        for entry in std::fs::read_dir(work.path().join(out)).unwrap() {
            let path = entry.unwrap().path();
            let name = format!("{}.json", path.file_name().unwrap().to_string_lossy());
            if let Ok(text) = std::fs::read_to_string(path.join(name)) {
                let record: serde_json::Value = serde_json::from_str(&text).unwrap();
                for series in record["series"].as_array().unwrap() {
                    assert_eq!(series["voltage_kv"], "8.0");
                    shots += series["count"].as_u64().unwrap();
                }
            }
        }
        shots
    };
    assert_eq!((made("outside"), made("inside")), (files as u64 * 200, files as u64 * 200));
    let each = |took: Duration| took.as_secs_f64() * 1000.0 / files as f64;
    println!(
        "{files} files of 200 rows, {WORKERS} workers: outside {:.2} s ({:.1} ms a file, {starts} starts), built in {:.2} s ({:.1} ms a file)",
        outside.as_secs_f64(),
        each(outside),
        inside.as_secs_f64(),
        each(inside)
    );
}

/// A plug-in that changes while the program runs is not started again.
#[test]
fn a_plug_in_that_changes_in_the_middle_of_a_run_is_not_started_again() {
    let work = tempfile::tempdir().unwrap();
    let plugin = counting_reader(work.path());
    let reader = std::fs::read_to_string(plugin.join("reader.py")).unwrap();
    // It changes itself at its first file, and ends: the second file needs a new start.
    let changing = reader.replace(
        "    series, seen, account",
        "    open(os.environ[\"FULGURITE_PLUGIN\"] + \"/reader.py\", \"a\").write(\"# another\\n\")\n    sys.exit(1)\n    series, seen, account",
    );
    assert_ne!(reader, changing);
    std::fs::write(plugin.join("reader.py"), changing).unwrap();
    assert!(program(work.path()).args(["plugin", "trust"]).arg(&plugin).status().unwrap().success());
    for name in ["a.fwl", "b.fwl"] {
        std::fs::write(work.path().join(name), "POINT   MODE    KV\nP1      contact +8.0\n").unwrap();
    }
    let output = program(work.path())
        .args(["convert", "a.fwl", "b.fwl", "--to", "json", "--out", "out", "--plugin"])
        .arg(&plugin)
        .env("RAYON_NUM_THREADS", "1")
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(3), "{}", said(&output));
    assert!(
        said(&output).contains("plugin/died") && said(&output).contains("plugin/changed"),
        "{}",
        said(&output)
    );
    assert_eq!(std::fs::read(plugin.join(".starts")).unwrap().len(), 1);
}

/// A batch is done again when the plug-in is another one, and not otherwise.
#[test]
fn an_unchanged_batch_is_done_again_when_its_plug_in_is_another() {
    let work = tempfile::tempdir().unwrap();
    let plugin = counting_reader(work.path());
    for name in ["a.fwl", "b.fwl"] {
        std::fs::write(work.path().join(name), "POINT   MODE    KV\nP1      contact +8.0\n").unwrap();
    }
    let starts = || std::fs::read(plugin.join(".starts")).map_or(0, |starts| starts.len());
    let run = || {
        let output = program(work.path())
            .args(["convert", "a.fwl", "b.fwl", "--to", "json", "--out", "out", "--replace", "--plugin"])
            .arg(&plugin)
            .env("RAYON_NUM_THREADS", "1")
            .output()
            .unwrap();
        (output.status.code(), said(&output))
    };
    assert_eq!(run().0, Some(0));
    assert_eq!(starts(), 1);
    assert!(run().1.contains("not changed since an earlier run"));
    assert_eq!(starts(), 1);
    let reader = std::fs::read_to_string(plugin.join("reader.py")).unwrap();
    std::fs::write(plugin.join("reader.py"), format!("{reader}# another\n")).unwrap();
    let refused = run();
    assert_eq!(refused.0, Some(2), "{}", refused.1);
    assert!(refused.1.contains("changed since it was trusted"), "{}", refused.1);
    assert!(program(work.path()).args(["plugin", "trust"]).arg(&plugin).status().unwrap().success());
    assert_eq!(run().0, Some(0));
    assert_eq!(starts(), 2);
}

/// A pack whose record was read by a plug-in is checked without it as far as that goes, and wholly with it.
#[test]
fn a_pack_is_verified_with_and_without_the_plug_in_that_read_it() {
    let work = tempfile::tempdir().unwrap();
    let plugin = counting_reader(work.path());
    std::fs::write(work.path().join("a.fwl"), "POINT   MODE    KV\nP1      contact +8.0\n").unwrap();
    let made = program(work.path())
        .args(["convert", "a.fwl", "--to", "pack", "--out", "out", "--plugin"])
        .arg(&plugin)
        .output()
        .unwrap();
    assert_eq!(made.status.code(), Some(0), "{}", said(&made));
    let without = program(work.path()).args(["verify", "out/a.evidence.zip"]).output().unwrap();
    assert_eq!(without.status.code(), Some(0), "{}", said(&without));
    assert!(said(&without).contains("it was read by the plug-in fixed-width-log 1.0"), "{}", said(&without));
    let with = program(work.path())
        .args(["verify", "out/a.evidence.zip", "--plugin"])
        .arg(&plugin)
        .output()
        .unwrap();
    assert_eq!(with.status.code(), Some(0), "{}", said(&with));
    assert!(said(&with).contains("record read again from the original files: 1 files"), "{}", said(&with));
}

/// A file beyond a plug-in's limit is refused before it is started.
#[test]
fn a_file_beyond_the_limit_is_refused() {
    let work = tempfile::tempdir().unwrap();
    let plugin = counting_reader(work.path());
    let toml = std::fs::read_to_string(plugin.join("plugin.toml")).unwrap();
    std::fs::write(
        plugin.join("plugin.toml"),
        toml.replace("timeout_s = 30", "timeout_s = 30\ninput_limit_mib = 1"),
    )
    .unwrap();
    assert!(program(work.path()).args(["plugin", "trust"]).arg(&plugin).status().unwrap().success());
    let log = format!("POINT   MODE    KV\n{}", "P1      contact +8.0\n".repeat(60_000));
    std::fs::write(work.path().join("large.fwl"), log).unwrap();
    let output = program(work.path())
        .args(["convert", "large.fwl", "--to", "json", "--out", "out", "--plugin"])
        .arg(&plugin)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(1), "{}", said(&output));
    assert!(said(&output).contains("plugin/input-too-large"), "{}", said(&output));
    assert!(!plugin.join(".starts").exists() && !work.path().join("out").exists());
}

/// The walk: blocks with a file's name behind their language are written, and of `console` blocks each line behind a
/// dollar sign is run and what follows must be what it says.
#[test]
fn the_walk_is_what_happens() {
    let text = std::fs::read_to_string(examples().join("README.md")).unwrap();
    let work = tempfile::tempdir().unwrap();
    let bin = Path::new(env!("CARGO_BIN_EXE_fulgurite")).parent().unwrap();
    let path = std::env::join_paths(
        std::iter::once(bin.to_owned()).chain(std::env::split_paths(&std::env::var_os("PATH").unwrap())),
    )
    .unwrap();
    let bless = std::env::var_os("BLESS").is_some();
    let mut blessed = String::new();
    let mut lines = text.lines().peekable();
    let mut ran = 0;
    while let Some(line) = lines.next() {
        let _ = writeln!(blessed, "{line}");
        let Some(info) = line.strip_prefix("```").filter(|info| !info.is_empty()) else { continue };
        let block: Vec<&str> = lines.by_ref().take_while(|line| *line != "```").collect();
        if let Some((_, file)) = info.split_once(' ') {
            let file = work.path().join(file);
            std::fs::create_dir_all(file.parent().unwrap()).unwrap();
            std::fs::write(file, format!("{}\n", block.join("\n"))).unwrap();
        }
        if info != "console" {
            let _ = writeln!(blessed, "{}\n```", block.join("\n"));
            continue;
        }
        let mut rest = block.as_slice();
        while let Some((command, after)) = rest.split_first() {
            let command = command.strip_prefix("$ ").expect("a console block begins with a command");
            let end = after.iter().position(|line| line.starts_with("$ ")).unwrap_or(after.len());
            let (expected, next) = after.split_at(end);
            rest = next;
            let output = Command::new("sh")
                .args(["-c", &format!("{command} 2>&1")])
                .current_dir(work.path())
                .env("PATH", &path)
                .env("XDG_CONFIG_HOME", work.path().join("settings"))
                .output()
                .unwrap();
            ran += 1;
            let found = said(&output).replace(&*work.path().to_string_lossy(), "[HERE]");
            let _ = writeln!(blessed, "{}", format!("$ {command}\n{found}").trim_end());
            if !bless {
                assert_eq!(found.trim_end(), expected.join("\n").trim_end(), "after `{command}`");
            }
        }
        blessed.push_str("```\n");
    }
    assert!(ran > 6, "{ran} commands");
    if bless {
        std::fs::write(examples().join("README.md"), blessed).unwrap();
    }
}
