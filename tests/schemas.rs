//! Every example of the schemas, and files broken in one place each, before judges that know nothing of ours:
//! xmllint and xmlschema for XML, jsonschema for JSON, SQLite for the register.
//!
//! The examples in `shared/schemas/examples` are what the program makes of the job there; `BLESS=1` writes them anew.
#![allow(clippy::unwrap_used, reason = "a test that can not go on has failed")]
#![allow(clippy::print_stderr, reason = "a test program talks to the person at the terminal")]

use serde_json::{Value, json};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

fn schema(name: &str) -> PathBuf {
    top().join("shared/schemas").join(name)
}

fn examples() -> PathBuf {
    schema("examples")
}

fn program(folder: &Path) -> Command {
    let mut program = Command::new(env!("CARGO_BIN_EXE_fulgurite"));
    program.current_dir(folder).env_remove("HOME").env_remove("XDG_CONFIG_HOME").env_remove("APPDATA");
    program
}

/// What the program makes of the examples' job: name of the example and content.
fn made() -> Vec<(&'static str, String)> {
    let work = tempfile::tempdir().unwrap();
    let job = work.path().join("small");
    std::fs::create_dir(&job).unwrap();
    for name in ["job.toml", "log.csv", "log.mapping.toml"] {
        std::fs::copy(examples().join("small").join(name), job.join(name)).unwrap();
    }
    let mut filter = program(work.path());
    filter.args(["filter", "--to", "json,xml", "--out", "out"]);
    filter.stdin(Stdio::piped()).stdout(Stdio::piped());
    let mut child = filter.spawn().unwrap();
    std::io::Write::write_all(&mut child.stdin.take().unwrap(), b"small\nmissing\n").unwrap();
    let lines = String::from_utf8(child.wait_with_output().unwrap().stdout).unwrap();
    // The same job without the last row of its log: what `compare` says of the two.
    let later = work.path().join("later");
    std::fs::create_dir(&later).unwrap();
    for name in ["job.toml", "log.csv", "log.mapping.toml"] {
        let text = std::fs::read_to_string(job.join(name)).unwrap();
        std::fs::write(later.join(name), if name == "log.csv" { without_last_row(&text) } else { text })
            .unwrap();
    }
    let compared = program(work.path()).args(["compare", "small", "later", "--json"]).output().unwrap();
    let compared = String::from_utf8(compared.stdout).unwrap();
    let out = |name: &str| std::fs::read_to_string(work.path().join("out/small").join(name)).unwrap();
    vec![
        ("summary.xml", out("small.xml")),
        ("record.json", out("small.json")),
        ("assessment.json", out("small.assessment.json")),
        ("result.jsonl", lines),
        ("changes.json", compared),
    ]
}

fn without_last_row(log: &str) -> String {
    log.trim_end().rsplit_once('\n').unwrap().0.to_owned() + "\n"
}

#[test]
fn the_examples_are_what_the_program_makes() {
    for (name, text) in made() {
        let path = examples().join(name);
        if std::env::var_os("BLESS").is_some() {
            std::fs::write(&path, &text).unwrap();
        }
        assert_eq!(std::fs::read_to_string(&path).unwrap(), text, "{name}: BLESS=1 writes it anew");
    }
}

/// TOML as the JSON that it stands for, dates as their text.
fn toml_as_json(path: &Path) -> Value {
    fn value(of: &toml::Value) -> Value {
        match of {
            toml::Value::Datetime(date) => date.to_string().into(),
            toml::Value::Array(items) => items.iter().map(value).collect(),
            toml::Value::Table(table) => table.iter().map(|(k, v)| (k.clone(), value(v))).collect(),
            other => serde_json::to_value(other).unwrap(),
        }
    }
    let table: toml::Table = toml::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    value(&toml::Value::Table(table))
}

/// A change of one place: at a JSON pointer, to a value, or away.
type Change = (&'static str, Option<Value>);

/// Thirty and more ways to break an example, each in one place.
fn broken_json() -> Vec<(&'static str, Vec<Change>)> {
    let set = |at, value| (at, Some(value));
    let gone = |at| (at, None);
    vec![
        (
            "record",
            vec![
                gone("/schema"),
                set("/schema", json!(2)),
                set("/series/0/polarity", json!("plus")),
                set("/series/0/application", json!("nearby")),
                set("/series/0/voltage_kv", json!("four")),
                gone("/series/0/point"),
                set("/series", json!({})),
                set("/facts/item/serial", json!(17)),
                set("/facts/people/0/part", json!("tester")),
                set("/sources/0/sha256", json!("abc")),
            ],
        ),
        (
            "assessment",
            vec![
                gone("/rules_version"),
                set("/verdict", json!("maybe")),
                set("/states/0/verdict", json!("passed")),
                set("/plan/0/polarity", json!("+")),
                gone("/states/0/reasons"),
                set("/states/0/reasons/0/rule", json!("no such rule")),
                set("/states/0/evidence/0/status", json!("certain")),
                set("/plan/0/count", json!("ten")),
            ],
        ),
        (
            "result",
            vec![
                gone("/status"),
                set("/schema", json!(2)),
                set("/status", json!("finished")),
                set("/verdict", json!("ok")),
                set("/rows/used", json!(-1)),
                set("/outputs/0/bytes", json!("12")),
                set("/remembered", json!("no")),
            ],
        ),
        (
            "changes",
            vec![
                gone("/rules_version"),
                gone("/results/0/new"),
                set("/verdict/new", json!("better")),
                set("/results/0/old/counted", json!("ten")),
                set("/lost", json!("all")),
                set("/further_facts", json!(-1)),
            ],
        ),
        (
            "job",
            vec![
                gone("/logs/0/files"),
                set("/logs/0/files", json!([])),
                set("/logs/0/beside", json!("others")),
                set("/plan/contact_kv/0", json!("four kV")),
                set("/report/state", json!("finished")),
                gone("/points/0/id"),
                set("/observations", json!("none")),
            ],
        ),
        (
            "mapping",
            vec![
                set("/reader", json!("none")),
                set("/decimal", json!("komma")),
                set("/no_such_key", json!(1)),
            ],
        ),
        ("form", vec![gone("/form"), set("/form", json!(9))]),
    ]
}

fn changed(value: &Value, change: &Change) -> Value {
    let mut value = value.clone();
    let (parent, key) = change.0.rsplit_once('/').unwrap();
    match (value.pointer_mut(parent).unwrap_or_else(|| panic!("no {parent}")), &change.1) {
        (Value::Object(object), None) => assert!(object.remove(key).is_some(), "no {}", change.0),
        (Value::Object(object), Some(new)) => drop(object.insert(key.to_owned(), new.clone())),
        (Value::Array(list), Some(new)) => list[key.parse::<usize>().unwrap()] = new.clone(),
        (other, _) => panic!("{}: {other}", change.0),
    }
    value
}

/// A text of the summary, and what stands in its place.
const BROKEN_XML: &[(&str, &str)] = &[
    ("urn:fulgurite:summary:1", "urn:fulgurite:summary:2"),
    ("<item", "<thing/><item"),
    ("polarity=\"positive\"", "polarity=\"plus\""),
    ("</summary>", ""),
    ("<laboratory>", "<laboratory><laboratory>"),
    ("sha-256=\"", "sha-256=\"x"),
    ("<record ", "<record colour=\"red\" "),
];

const BROKEN_SQL: &[&str] = &[
    "UPDATE record SET verdict = 'maybe'",
    "UPDATE record SET sha256 = NULL",
    "INSERT INTO record (sha256, entered_at, job, input, program, rules_version, verdict, failure_observed, bench_data) SELECT sha256, '', '', '', '', 1, 'pass', 0, 0 FROM record",
    "INSERT INTO finding VALUES (99, 1, 'note', 'a/b', 'of a record that is not there', NULL, NULL, NULL)",
    "UPDATE record SET rules_version = 'two'",
];

const SOUND_SQL: &str = "INSERT INTO record (sha256, entered_at, job, input, program, rules_version, verdict, failure_observed, bench_data) VALUES ('00', '2026-03-12T09:30:00Z', 'j', 'i', 'p', 2, 'pass', 0, 0);";

#[test]
fn judges_accept_every_example_and_refuse_what_is_broken_in_one_place() {
    let ci = std::env::var_os("CI").is_some_and(|value| !value.is_empty());
    let inside = if cfg!(windows) { "Scripts/python.exe" } else { "bin/python" };
    let Some(python) = std::env::var_os("FULGURITE_JUDGES").map(|folder| PathBuf::from(folder).join(inside))
    else {
        assert!(!ci, "FULGURITE_JUDGES is not set: CI runs `cargo xtask test`, which sets the judges up");
        eprintln!("skipped: no judges (`cargo xtask judges`)");
        return;
    };
    let work = tempfile::tempdir().unwrap();
    let (mut list, mut broken) = (String::new(), 0);
    let mut ask = |expected: &str, schema_file: &str, name: String, text: &str| {
        let path = work.path().join(name);
        std::fs::write(&path, text).unwrap();
        list += &format!("{expected}\t{}\t{}\n", schema(schema_file).display(), path.display());
    };
    let read = |name: &str| std::fs::read_to_string(examples().join(name)).unwrap();
    for (of, changes) in broken_json() {
        let schema_file = format!("{of}-1.schema.json");
        let values: Vec<Value> = match of {
            "job" => vec![toml_as_json(&examples().join("small/job.toml"))],
            "mapping" => vec![toml_as_json(&examples().join("small/log.mapping.toml"))],
            "result" => {
                read("result.jsonl").lines().map(|line| serde_json::from_str(line).unwrap()).collect()
            }
            // Its first line says what it is; the entries follow.
            "form" => vec![serde_json::from_str(&read("form.json")).unwrap()],
            of => vec![serde_json::from_str(&read(&format!("{of}.json"))).unwrap()],
        };
        for (number, value) in values.iter().enumerate() {
            ask("yes", &schema_file, format!("{of}-{number}.json"), &value.to_string());
        }
        for (number, change) in changes.iter().enumerate() {
            broken += 1;
            let text = changed(&values[0], change).to_string();
            ask("no", &schema_file, format!("{of}-broken-{number}.json"), &text);
        }
    }
    // The demonstration's job file says more than the small one.
    for demo in ["lock-gate", "lock-gate-settled"] {
        let job = toml_as_json(&top().join("tests/demo").join(demo).join("job.toml"));
        ask("yes", "job-1.schema.json", format!("{demo}.json"), &job.to_string());
    }
    let xml = read("summary.xml");
    ask("yes", "summary-1.xsd", "summary.xml".into(), &xml);
    for (number, (from, to)) in BROKEN_XML.iter().enumerate() {
        broken += 1;
        assert!(xml.contains(from), "{from}");
        ask("no", "summary-1.xsd", format!("broken-{number}.xml"), &xml.replacen(from, to, 1));
    }
    ask("yes", "register-1.sql", "sound.sql".into(), SOUND_SQL);
    for (number, statement) in BROKEN_SQL.iter().enumerate() {
        broken += 1;
        ask("no", "register-1.sql", format!("broken-{number}.sql"), &format!("{SOUND_SQL}\n{statement};"));
    }
    assert!(broken >= 30, "only {broken} broken files");
    std::fs::write(work.path().join("list"), &list).unwrap();
    let mut judge = Command::new(python);
    let output =
        judge.arg(top().join("xtask/judges/judge_schemas.py")).arg(work.path().join("list")).output();
    let output = output.unwrap();
    let told = String::from_utf8_lossy(&output.stdout);
    assert!(output.status.success(), "{told}\n{}", String::from_utf8_lossy(&output.stderr));
    eprintln!("{broken} broken files: {told}");
}
