//! A day at the bench: the form of a job made, filled in a real browser, read, and held against what was painted.
//!
//! `xtask/judges/bench_form.js` works the page as a person would; here the saved forms go the rest of the way. It is
//! shown as ignored without the judges, as in `judges.rs`.
#![allow(clippy::print_stderr, reason = "a test program talks to the person at the terminal")]

use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode, Output};

use libtest_mimic::{Arguments, Failed, Trial};
use serde_json::Value;

/// Parts of the script, each a test of its own: it fails by its exit code.
const PARTS: &[(&str, &str)] = &[
    ("two windows, one counts", "two"),
    ("without storage nothing is counted", "refused"),
    ("a full device is said, and nothing is painted that is not stored", "full"),
    ("keyboard and foot switch suffice", "keys"),
    ("touch suffices, targets are large, axe finds nothing", "look"),
    ("killed at random moments, nothing painted is lost (BENCH_KILLS=20 for more)", "killed"),
];

fn main() -> ExitCode {
    let arguments = Arguments::from_args();
    let judges = std::env::var_os("FULGURITE_JUDGES").map(PathBuf::from);
    if judges.is_none() && std::env::var_os("CI").is_some_and(|value| !value.is_empty()) {
        eprintln!("FULGURITE_JUDGES is not set: CI runs `cargo xtask test`, which sets the judges up");
        return ExitCode::FAILURE;
    }
    let skip = judges.is_none();
    let judges = judges.unwrap_or_default();
    let mut trials = Vec::new();
    for &(name, part) in PARTS {
        let judges = judges.clone();
        trials.push(
            Trial::test(name, move || Bench::new(&judges)?.part(part).map(drop)).with_ignored_flag(skip),
        );
    }
    for (name, hand) in [
        ("the whole plan with keys alone becomes the record that was painted", "keys"),
        ("the whole plan with a finger alone becomes the record that was painted", "touch"),
    ] {
        let judges = judges.clone();
        trials.push(Trial::test(name, move || whole(&judges, hand)).with_ignored_flag(skip));
    }
    let (asked, judges_again, for_rows) = (judges.clone(), judges.clone(), judges.clone());
    trials.push(
        Trial::test("a whole day becomes the record that was painted", move || day(&asked))
            .with_ignored_flag(skip),
    );
    trials.push(
        Trial::test("rows copied from paper carry the mark", move || paper(&judges)).with_ignored_flag(skip),
    );
    let asked = judges_again;
    trials.push(
        Trial::test("a form that is served keeps its journal on the server's disk", move || served(&asked))
            .with_ignored_flag(skip),
    );
    trials.push(
        Trial::test("rows of a sheet give the record that the bench gives", move || same(&for_rows))
            .with_ignored_flag(skip),
    );
    libtest_mimic::run(&arguments, trials).exit_code()
}

/// A job without work done yet, its form, and a folder for what the browser saves.
struct Bench {
    folder: tempfile::TempDir,
    judges: PathBuf,
}

impl Bench {
    fn new(judges: &Path) -> Result<Self, Failed> {
        let folder = tempfile::tempdir()?;
        let job = folder.path().join("job");
        let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/demo/lock-gate");
        std::fs::create_dir_all(job.join("pictures"))?;
        for entry in std::fs::read_dir(demo.join("pictures"))? {
            let entry = entry?;
            std::fs::copy(entry.path(), job.join("pictures").join(entry.file_name()))?;
        }
        std::fs::write(
            job.join("job.toml"),
            before_the_work(&std::fs::read_to_string(demo.join("job.toml"))?),
        )?;
        let bench = Self { folder, judges: judges.to_owned() };
        let made = bench.program(&["form", "job", "--out", "bench.html"])?;
        if made.status.success() { Ok(bench) } else { Err(told(&made).into()) }
    }

    fn program(&self, arguments: &[&str]) -> Result<Output, Failed> {
        Ok(Command::new(env!("CARGO_BIN_EXE_fulgurite"))
            .args(arguments)
            .current_dir(self.folder.path())
            .output()?)
    }

    fn part(&self, part: &str) -> Result<String, Failed> {
        self.script("bench_form.js", part)
    }

    fn script(&self, script: &str, part: &str) -> Result<String, Failed> {
        let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../xtask/judges").join(script);
        let output = Command::new("node")
            .env("NODE_PATH", self.judges.join("node_modules"))
            .env("FULGURITE", env!("CARGO_BIN_EXE_fulgurite"))
            .arg(script)
            .args(["bench.html", "out", part])
            .current_dir(self.folder.path())
            .output()?;
        if output.status.success() { Ok(told(&output)) } else { Err(told(&output).into()) }
    }

    fn job_text(&self) -> Result<String, Failed> {
        Ok(std::fs::read_to_string(self.folder.path().join("job/job.toml"))?)
    }

    fn json(&self, path: &str) -> Result<Value, Failed> {
        Ok(serde_json::from_str(&std::fs::read_to_string(self.folder.path().join(path))?)?)
    }
}

/// The demonstration job as it was before anybody applied a discharge, its generator in date for ever.
fn before_the_work(text: &str) -> String {
    let gone =
        ["[[logs]]", "[logs.", "[[observations]]", "[[verifications]]", "[[climate]]", "[[setup_checks]]"];
    let mut kept = String::from("forms = [\"filled/*.json*\", \"filled/*.csv\"]\n");
    let mut skip = false;
    for line in text.lines() {
        if line.starts_with('[') {
            skip = gone.iter().any(|head| line.starts_with(head));
        }
        if !skip && !line.starts_with("work_") {
            kept += line;
            kept.push('\n');
        }
    }
    kept.replace("calibration_due = 2026-03-14", "calibration_due = 2099-03-14")
}

fn told(output: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr))
}

fn list<'a>(value: &'a Value, key: &str) -> &'a [Value] {
    value.get(key).and_then(Value::as_array).map_or(&[], Vec::as_slice)
}

/// The plan worked through: every series that the page painted as taken is in the record, and none else.
fn day(judges: &Path) -> Result<(), Failed> {
    let bench = Bench::new(judges)?;
    bench.part("day")?;
    let form = bench.json("out/day.form.json")?;
    let painted = bench.json("out/day.painted.json")?;
    let made = bench.program(&["convert", "out/day.form.json", "--to", "json,pdf,pack", "--out", "made"])?;
    if !made.status.success() {
        return Err(told(&made).into());
    }
    let record = bench.json("made/day.form.json")?;
    let plan = list(&form, "plan");
    let series = list(&record, "series");
    let rows = list(&painted, "rows");
    assert_eq!((rows.len(), series.len()), (plan.len(), plan.len()), "one series for each row painted");
    for row in rows {
        let id = row.get(0).and_then(Value::as_str).unwrap_or_default();
        let entry = list(&form, "journal").iter().find(|e| e["kind"] == "done" && e["series"] == id);
        let entry =
            entry.ok_or_else(|| format!("series {id} was painted as done and is not in the journal"))?;
        let planned = plan.iter().find(|p| p["id"] == id).ok_or("no such series in the plan")?;
        let found = series.iter().find(|s| s["id"] == entry["key"]);
        let found =
            found.ok_or_else(|| format!("series {id} was painted as done and is not in the record"))?;
        for key in ["point", "application", "polarity", "voltage_kv", "mode", "count", "interval_s", "tip"] {
            assert_eq!(found[key], planned[key], "{key} of series {id}");
        }
        assert_eq!(found["monitoring"], "continuous");
    }
    let observations = list(&record, "observations");
    assert_eq!(observations.len(), 1);
    assert_eq!(observations[0]["seen"], "service connection dropped and came back");
    assert_eq!(observations[0]["restored"], "by-itself");
    let said = String::from_utf8_lossy(&made.stdout).into_owned();
    assert!(said.contains("PASS"), "{said}");
    let interrupted = list(&record, "findings").iter().filter(|f| f["code"] == "form/interrupted").count();
    assert_eq!(interrupted, 1, "the reload in the middle of a series is in the record");
    // The same form inside a job folder comes to the same series.
    std::fs::create_dir_all(bench.folder.path().join("job/filled"))?;
    std::fs::copy(
        bench.folder.path().join("out/day.form.json"),
        bench.folder.path().join("job/filled/day.form.json"),
    )?;
    let made = bench.program(&["convert", "job", "--to", "json", "--out", "made-job"])?;
    assert!(made.status.success(), "{}", told(&made));
    let of_job = bench.json("made-job/job.json")?;
    let ids = |record: &Value| list(record, "series").iter().map(|s| s["id"].clone()).collect::<Vec<_>>();
    assert_eq!(ids(&of_job), ids(&record));
    Ok(())
}

/// The plan worked through with keys alone or a finger alone: what the table painted is the record, row by row.
fn whole(judges: &Path, hand: &str) -> Result<(), Failed> {
    let bench = Bench::new(judges)?;
    eprint!("{}", bench.script("bench_whole_day.js", hand)?);
    let form = bench.json(&format!("out/{hand}.form.json"))?;
    let painted = bench.json(&format!("out/{hand}.painted.json"))?;
    let made = bench.program(&[
        "convert",
        &format!("out/{hand}.form.json"),
        "--to",
        "json,html,pack",
        "--out",
        "made",
    ])?;
    assert!(made.status.success(), "{}", told(&made));
    let record = bench.json(&format!("made/{hand}.form.json"))?;
    let (rows, series) = (list(&painted, "rows"), list(&record, "series"));
    let word = |row: &Value, key: &str| row[key].as_str().unwrap_or_default().to_owned();
    let taken: Vec<&Value> = rows.iter().filter(|row| word(row, "stands").starts_with('\u{2713}')).collect();
    assert_eq!(rows.len(), list(&form, "plan").len() + 1, "the plan, and one series beside it");
    assert_eq!(taken.len() + 1, rows.len(), "one series was skipped");
    assert_eq!(taken.len(), series.len());
    let undone: Vec<&Value> =
        list(&form, "journal").iter().filter(|e| e["kind"] == "undo").map(|e| &e["of"]).collect();
    assert_eq!(undone.len(), 1);
    for row in taken {
        let entry = list(&form, "journal")
            .iter()
            .find(|e| e["kind"] == "done" && e["series"] == row["id"] && !undone.contains(&&e["n"]))
            .ok_or_else(|| format!("{row} was painted as done and is not in the journal"))?;
        let found = series
            .iter()
            .find(|s| s["id"] == entry["key"])
            .ok_or_else(|| format!("{row} was painted as done and is not in the record"))?;
        assert_eq!((&found["point"], &found["application"]), (&row["point"], &row["application"]));
        let sign = if found["polarity"] == "positive" { '+' } else { '\u{2212}' };
        assert_eq!(word(row, "voltage"), format!("{sign}{} kV", word(found, "voltage_kv")));
        let clock = word(found, "ended").get(11..16).unwrap_or_default().to_owned();
        let (count, stands) = (&found["count"], word(row, "stands"));
        assert!(stands.starts_with(&format!("\u{2713} {count} at {clock}")), "{stands}: {found}");
        let noted = list(&record, "observations").iter().filter(|o| o["series"] == found["id"]).count();
        assert_eq!(stands.contains(&format!("{noted} noted")), noted > 0, "{stands}");
        let shots = list(found, "shots");
        let sparks = shots.iter().filter(|shot| shot["spark"] == true).count();
        if !shots.is_empty() && found["application"] == "air" {
            assert_eq!((shots.len(), &found["sparks"]), (10, &Value::from(sparks)));
            assert_eq!(sparks, 7, "every third approach gave no spark");
        }
    }
    let counted = series.iter().filter(|s| list(s, "shots").len() == 10).count();
    assert_eq!(counted, 2, "two series were counted one by one, over a reload each");
    let (events, observations) = (list(&painted, "events"), list(&record, "observations"));
    assert_eq!((events.len(), observations.len()), (2, 2));
    for (event, observation) in events.iter().zip(observations) {
        assert!(event.as_str().unwrap_or_default().ends_with(&word(observation, "seen")), "{event}");
    }
    let codes: Vec<String> = list(&record, "findings").iter().map(|f| word(f, "code")).collect();
    for (code, times) in [
        ("form/interrupted", 2),
        ("form/skipped", 1),
        ("form/taken-back", 1),
        ("form/out-of-turn", 1),
        ("form/outside-plan", 1),
        ("form/remark", 1),
    ] {
        assert_eq!(codes.iter().filter(|found| *found == code).count(), times, "{code}: {codes:?}");
    }
    Ok(())
}

/// A served form: the file that the server kept is read like a saved form, photo and all.
fn served(judges: &Path) -> Result<(), Failed> {
    let bench = Bench::new(judges)?;
    bench.part("served")?;
    let made = bench.program(&["convert", "job", "--to", "json", "--out", "made"])?;
    assert!(made.status.success(), "{}", told(&made));
    let record = bench.json("made/job.json")?;
    assert_eq!(list(&record, "series").len(), 5);
    let photos = list(&record["facts"], "attachments").iter().filter(|a| a["kind"] == "photo").count();
    let before = bench.job_text()?.matches("kind = \"photo\"").count();
    assert_eq!(photos, before + 1);
    let accounts: Vec<&Value> = list(&record, "sources").iter().filter(|s| s["role"] == "form").collect();
    assert_eq!(accounts.len(), 1);
    Ok(())
}

/// What a record holds of discharges and effects, without names and places of rows and without the mark of copying:
/// times to the minute, as a hand writes them.
fn held(record: &Value) -> (Vec<Value>, Vec<Value>) {
    let ids: Vec<Value> = list(record, "series").iter().map(|s| s["id"].clone()).collect();
    let plain = |value: &Value| {
        let mut value = value.clone();
        if let Some(object) = value.as_object_mut() {
            object.retain(|key, _| !["id", "origin", "remark"].contains(&key.as_str()));
            if let Some(ended) = object.get("ended").and_then(Value::as_str).map(|text| text[..16].to_owned())
            {
                object.insert("ended".into(), ended.into());
            }
            if let Some(series) = object.get("series").cloned() {
                let place = ids.iter().position(|id| *id == series);
                object.insert("series".into(), serde_json::json!(place));
            }
        }
        value
    };
    let all = |key: &str| list(record, key).iter().map(plain).collect();
    (all("series"), all("observations"))
}

/// The same two series at the bench, from paper in the form's table, and from paper in a table of rows: one record,
/// apart from the mark that they were copied, by whom and when.
fn same(judges: &Path) -> Result<(), Failed> {
    let bench = Bench::new(judges)?;
    let made = bench.program(&["convert", "job", "--to", "sheet-rows", "--out", "out"])?;
    assert!(made.status.success(), "{}", told(&made));
    bench.part("same")?;
    let mut found = Vec::new();
    for (input, output) in [
        ("out/direct.form.json", "direct.form.json"),
        ("out/copied.form.json", "copied.form.json"),
        ("job", "job.json"),
    ] {
        let made = bench.program(&["convert", input, "--to", "json", "--out", "made"])?;
        assert!(made.status.success(), "{}", told(&made));
        found.push(bench.json(&format!("made/{output}"))?);
    }
    let direct = held(&found[0]);
    assert_eq!((direct.0.len(), direct.1.len()), (2, 1));
    assert_eq!(direct, held(&found[1]), "by the form's table");
    assert_eq!(direct, held(&found[2]), "by a table of rows");
    for (record, mark) in [(&found[0], false), (&found[1], true), (&found[2], true)] {
        for one in list(record, "series").iter().chain(list(record, "observations")) {
            let remark = one["remark"].as_str().unwrap_or_default();
            assert_eq!(remark.contains("copied from paper sheet"), mark, "{remark}");
        }
        let said = list(record, "findings").iter().any(|f| f["code"] == "form/copied-from-paper");
        assert_eq!(said, mark);
    }
    Ok(())
}

/// Rows from paper: the mark, by whom and when; and a form that went on elsewhere holds the same series.
fn paper(judges: &Path) -> Result<(), Failed> {
    let bench = Bench::new(judges)?;
    bench.part("paper")?;
    let mut all = Vec::new();
    for name in ["paper", "paper-later"] {
        let file = format!("out/{name}.form.json");
        let made = bench.program(&["convert", &file, "--to", "json", "--out", "made"])?;
        assert!(made.status.success(), "{}", told(&made));
        let record = bench.json(&format!("made/{name}.form.json"))?;
        for series in list(&record, "series") {
            let remark = series["remark"].as_str().unwrap_or_default().to_owned();
            assert!(
                remark.contains("copied from paper sheet OPL-1") && remark.contains("by I. Marsh"),
                "{remark}"
            );
        }
        all.push(list(&record, "series").iter().map(|s| s["id"].clone()).collect::<Vec<_>>());
    }
    assert_eq!(all[0].len(), 2);
    assert_eq!(all[0], all[1], "the form that went on elsewhere holds the same series");
    Ok(())
}
