//! Tries a plug-in: its own fixtures first, then a host and inputs that are rude to it.

use super::manifest::Kind;
use super::pool::Pool;
use super::process::{Greeting, Process};
use super::reader::OutsideReader;
use super::writer::OutsideWriter;
use super::{OutsidePlugin, strays};
use crate::HostError;
use crate::original::Originals;
use crate::output::WholeFile;
use plugin_api::wire::v1::{self, Part};
use plugin_api::{
    Body, Intake, Options, ReadContext, Reader, SeriesDefaults, Source, WriteContext, WriteInput, Writer,
};
use record::{Draft, Facts, Finding, Record, SourceId};
use serde_json::{Value, json};
use std::io::{self, BufRead, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// One thing that was tried.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tried {
    /// What, in one line.
    pub what: String,
    /// What was wrong; none when it went well.
    pub wrong: Option<String>,
}

/// Where a plug-in's own fixtures lie, below its folder.
const FIXTURES: &str = "fixtures";

/// What a fixture of a reader must come to.
const EXPECTED: &str = "expected.json";

/// Tries a plug-in; starts it many times. With `bless`, what its fixtures come to now is what is expected from then on.
///
/// # Errors
/// When its fixtures can't be read or written.
pub fn try_plugin(plugin: &OutsidePlugin, bless: bool) -> Result<Vec<Tried>, HostError> {
    let mut trial = Trial { plugin, tried: Vec::new() };
    let pool = Arc::new(Pool::new(plugin.clone()));
    let fixtures = trial.fixtures()?;
    match plugin.manifest.kind {
        Kind::Reader => {
            let reader = OutsideReader::new(Arc::clone(&pool));
            trial.read_fixtures(&reader, &fixtures, bless)?;
            trial.rude_inputs(&reader, &fixtures)?;
        }
        Kind::Writer => {
            let writer = OutsideWriter::new(Arc::clone(&pool));
            trial.write_fixtures(&writer, &fixtures, bless)?;
            trial.odd_records(&writer);
        }
    }
    trial.enter(
        "one process did all of that",
        match pool.started() {
            0 | 1 => None,
            more => Some(format!("it was started {more} times: it breaks and has to be started again")),
        },
    );
    trial.enter("leaves no process behind", pool.end().into_iter().map(|finding| finding.message).next());
    trial.rude_host();
    Ok(trial.tried)
}

struct Trial<'a> {
    plugin: &'a OutsidePlugin,
    tried: Vec<Tried>,
}

impl Trial<'_> {
    fn enter(&mut self, what: impl Into<String>, wrong: Option<String>) {
        self.tried.push(Tried { what: what.into(), wrong });
    }

    /// The folders of fixtures, in the order of their names.
    fn fixtures(&mut self) -> Result<Vec<PathBuf>, HostError> {
        let folder = self.plugin.folder.join(FIXTURES);
        let fail = |source| HostError::ReadInput { path: folder.clone(), source };
        let mut found = Vec::new();
        match std::fs::read_dir(&folder) {
            Ok(entries) => {
                for entry in entries {
                    let entry = entry.map_err(fail)?;
                    if entry.path().is_dir() {
                        found.push(entry.path());
                    }
                }
            }
            Err(error) if error.kind() == io::ErrorKind::NotFound => {}
            Err(source) => return Err(fail(source)),
        }
        found.sort();
        let none = found.is_empty().then(|| {
            format!(
                "no folder in `{FIXTURES}`: give one with a small input, and run `plugin check DIR --bless`"
            )
        });
        self.enter("has fixtures of its own", none);
        Ok(found)
    }

    fn read_fixtures(
        &mut self,
        reader: &OutsideReader,
        fixtures: &[PathBuf],
        bless: bool,
    ) -> Result<(), HostError> {
        for fixture in fixtures {
            let name = name_of(fixture);
            let Some(input) = input_of(fixture)? else {
                self.enter(
                    format!("fixture {name}"),
                    Some("it holds no file whose name begins with `input`".into()),
                );
                continue;
            };
            let bytes = std::fs::read(&input)
                .map_err(|source| HostError::ReadInput { path: input.clone(), source })?;
            let first = read(reader, &name_of(&input), &bytes);
            let text = format!("{:#}\n", first.value);
            let path = fixture.join(EXPECTED);
            if bless {
                whole(&path, text.as_bytes())?;
            }
            let wrong = match std::fs::read_to_string(&path) {
                _ if first.broke.is_some() => first.broke.clone(),
                Ok(expected) if same_text(&expected, &text) => None,
                Ok(expected) => Some(difference(&expected, &text)),
                Err(_) => Some(format!("no {EXPECTED}: `plugin check DIR --bless` writes it; read it then")),
            };
            self.enter(format!("fixture {name}"), wrong);
            let again = read(reader, &name_of(&input), &bytes);
            let same = again.value == first.value;
            self.enter(
                format!("fixture {name}, a second time by the same process"),
                (!same).then(|| "the answer is another one".to_owned()),
            );
            self.enter(format!("fixture {name} is recognised"), {
                let known = reader.probe(&bytes, &name_of(&input)) != plugin_api::Probe::No;
                (!known).then(|| "by neither `begins_with` nor `extensions`".to_owned())
            });
        }
        Ok(())
    }

    /// Inputs that are not what was meant: refused or set aside, but the plug-in must not break.
    fn rude_inputs(&mut self, reader: &OutsideReader, fixtures: &[PathBuf]) -> Result<(), HostError> {
        let mut inputs: Vec<(String, Vec<u8>)> = vec![
            ("an empty file".into(), Vec::new()),
            ("a file of one empty row".into(), b"\n".to_vec()),
            ("one row of 4 MiB".into(), vec![b'x'; 4 << 20]),
            ("bytes that are no UTF-8".into(), b"\xfd\xfe 8.0 \xe9\nrow \xb5 two\n".to_vec()),
            ("quotes, backslashes and control characters".into(), b"a\"b\\c;\x01\x1b[2J\t<&>'\n".to_vec()),
            ("the head of the format, and nonsense".into(), self.head_and_nonsense()),
        ];
        for fixture in fixtures {
            let Some(input) = input_of(fixture)? else { continue };
            let bytes = std::fs::read(&input)
                .map_err(|source| HostError::ReadInput { path: input.clone(), source })?;
            let name = name_of(fixture);
            inputs.push((
                format!("fixture {name}, cut in the middle"),
                bytes.get(..bytes.len() / 2).unwrap_or_default().to_vec(),
            ));
            let dos: Vec<u8> =
                String::from_utf8_lossy(&bytes).replace("\r\n", "\n").replace('\n', "\r\n").into_bytes();
            inputs.push((format!("fixture {name} with CR LF"), dos));
        }
        for (what, bytes) in inputs {
            let broke = read(reader, "a 'rude\" name.txt", &bytes).broke;
            self.enter(what, broke);
        }
        Ok(())
    }

    fn head_and_nonsense(&self) -> Vec<u8> {
        let head = self.plugin.manifest.begins_with.first().cloned().unwrap_or_default();
        format!("{head}\n\n;;;;,,,\nNaN inf -0 1e999 0x1F\n{}\n", "P1 ".repeat(2000)).into_bytes()
    }

    fn write_fixtures(
        &mut self,
        writer: &OutsideWriter,
        fixtures: &[PathBuf],
        bless: bool,
    ) -> Result<(), HostError> {
        for fixture in fixtures {
            let name = name_of(fixture);
            let path = fixture.join("record.json");
            let bytes =
                std::fs::read(&path).map_err(|source| HostError::ReadInput { path: path.clone(), source })?;
            let record = match record_of(&bytes) {
                Ok(record) => record,
                Err(why) => {
                    self.enter(format!("fixture {name}"), Some(why));
                    continue;
                }
            };
            let first = write(writer, &record, "job");
            let folder = fixture.join("expected");
            if bless && let Ok(files) = &first {
                let _ = std::fs::remove_dir_all(&folder);
                for (path, bytes) in files {
                    whole(&path.split('/').fold(folder.clone(), |at, part| at.join(part)), bytes)?;
                }
            }
            let wrong = match &first {
                Err(why) => Some(why.clone()),
                Ok(files) => compared(&folder, files),
            };
            self.enter(format!("fixture {name}"), wrong);
            let same = write(writer, &record, "job") == first;
            self.enter(
                format!("fixture {name}, a second time by the same process"),
                (!same).then(|| "the files are others".to_owned()),
            );
        }
        Ok(())
    }

    /// Records that are legal and odd.
    fn odd_records(&mut self, writer: &OutsideWriter) {
        let empty = record::check(Draft::default());
        let mut draft = Draft::default();
        draft.facts.item.serial = Some("=1+1 \"quoted\", 'and' <b>; \u{fc}\u{4e2d}\n\\".to_owned());
        let odd = record::check(draft);
        for (what, record, stem) in [
            ("an empty record", empty, "job"),
            ("odd characters in facts and in the job's name", odd, "job 1 (\u{fc}) it's"),
        ] {
            let wrong = match record {
                Ok(record) => write(writer, &Arc::new(record), stem).err(),
                Err(_) => Some("the record could not be made".to_owned()),
            };
            self.enter(what, wrong);
        }
    }

    /// A host that is not what a plug-in expects.
    fn rude_host(&mut self) {
        let features = Greeting { features: &["a-feature-of-tomorrow"], ..Greeting::USUAL };
        let wrong = match Process::start(self.plugin, features) {
            Err(broke) => Some(broke.finding(&self.plugin.manifest.name, None).message),
            Ok(process) => ending(process),
        };
        self.enter("a hello with a feature that it does not know, and then the end of its input", wrong);
        let other = Greeting { protocol: 99, features: &[] };
        let wrong = match Process::start(self.plugin, other) {
            // It ended, or said which protocol it speaks: both are an answer.
            Err(broke) if broke.is_time_out() => Some("it neither answered nor ended".to_owned()),
            Err(_) => None,
            Ok(process) => ending(process),
        };
        self.enter("a hello with another protocol: it says its own, or ends", wrong);
        let wrong = match Process::start(self.plugin, Greeting::USUAL) {
            Err(broke) => Some(broke.finding(&self.plugin.manifest.name, None).message),
            Ok(mut process) => {
                let kind = if self.plugin.manifest.kind == Kind::Reader { "read" } else { "write" };
                process.tell_and_leave(&format!("{{\"type\":\"{kind}\",\"request\":1,"));
                let work = process.work().to_owned();
                let group = process.group();
                process.end_now();
                match (work.exists(), strays::living(group, &work)) {
                    (true, _) => Some("its working folder is still there".to_owned()),
                    (_, Some(count)) if count > 0 => Some("a process of it is still there".to_owned()),
                    _ => None,
                }
            }
        };
        self.enter("killed in the middle of a request: nothing of it stays", wrong);
    }
}

fn ending(process: Process) -> Option<String> {
    let ended = process.end();
    if ended.by_force {
        Some("it did not end within 2 s of the end of its input".to_owned())
    } else if ended.left_behind {
        Some("it left a process behind".to_owned())
    } else if !ended.in_order {
        Some("it ended with another exit code than 0 at the end of its input".to_owned())
    } else {
        None
    }
}

fn name_of(path: &Path) -> String {
    path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
}

/// The input of a reader's fixture: the file whose name begins so.
fn input_of(fixture: &Path) -> Result<Option<PathBuf>, HostError> {
    let fail = |source| HostError::ReadInput { path: fixture.to_owned(), source };
    let mut found = Vec::new();
    for entry in std::fs::read_dir(fixture).map_err(fail)? {
        let path = entry.map_err(fail)?.path();
        if path.is_file() && name_of(&path).starts_with("input") {
            found.push(path);
        }
    }
    found.sort();
    Ok(found.into_iter().next())
}

/// What a reader made of an input.
struct Came {
    value: Value,
    broke: Option<String>,
}

fn read(reader: &OutsideReader, name: &str, bytes: &[u8]) -> Came {
    let open = || Ok(Box::new(bytes) as Box<dyn BufRead>);
    let source = Source::new(SourceId(0), name, bytes.len() as u64, &open);
    let (options, defaults, facts) = (Options::default(), SeriesDefaults::default(), Facts::default());
    let cx = ReadContext { options: &options, defaults: &defaults, facts: &facts };
    let mut intake = Intake::new(SourceId(0));
    let result = reader.read(&source, &mut intake, &cx);
    let taken = intake.finish();
    let broke = matches!(&result, Err(reported) if reported.broke());
    let words =
        |findings: &[Finding]| findings.iter().map(|f| f.message.clone()).collect::<Vec<_>>().join("; ");
    let (facts, origins) = taken.stated.map(|stated| *stated).unwrap_or_default();
    let part = Part {
        facts,
        origins,
        series: taken.series.into_vec(),
        observations: taken.observations,
        traces: taken.traces,
    };
    let account = taken.account.map_or(Value::Null, crate::row_account_to_value);
    let unread: Vec<Value> = taken
        .unread
        .iter()
        .map(|row| json!({ "row": row.row, "last_row": row.last_row, "text": row.text, "code": row.code }))
        .collect();
    let value = json!({
        "refused": result.is_err(),
        "understood": taken.understood,
        "record": v1::part_of_record_to_value(&part),
        "set_aside": unread,
        "account": account,
        "findings": taken.findings.iter().map(v1::finding_to_value).collect::<Vec<_>>(),
    });
    Came { value, broke: broke.then(|| words(&taken.findings)) }
}

fn record_of(bytes: &[u8]) -> Result<Arc<Record>, String> {
    let value = plugin_api::wire::stdio::strict(bytes).map_err(|why| format!("record.json: {why}"))?;
    let (draft, _) = v1::draft_from_value(value).map_err(|troubles| {
        let first = troubles.first();
        format!("record.json: {}", first.map_or_else(String::new, |t| format!("{}: {}", t.path, t.message)))
    })?;
    record::check(draft).map(Arc::new).map_err(|_| "record.json names something twice".to_owned())
}

type Files = Vec<(String, Vec<u8>)>;

fn write(writer: &OutsideWriter, record: &Arc<Record>, stem: &str) -> Result<Files, String> {
    let assessment = assess::assess(record, None);
    let originals = Originals::default();
    let input = WriteInput {
        record,
        assessment: &assessment,
        standard: None,
        standard_file: None,
        stem,
        artifacts: &[],
        originals: &originals,
        language: "en",
        template: "report",
        template_files: &[],
        program: "fulgurite",
        changes: None,
    };
    let mut cx = WriteContext::default();
    match writer.write(&input, &mut cx) {
        Ok(made) => Ok(made
            .into_iter()
            .map(|artifact| {
                let bytes = if let Body::Bytes(bytes) = artifact.body { bytes } else { Vec::new() };
                (artifact.path, bytes)
            })
            .collect()),
        Err(reported) => {
            let words: Vec<String> = cx.into_findings().into_iter().map(|finding| finding.message).collect();
            let kind = if reported.broke() { "" } else { "it refused: " };
            Err(format!("{kind}{}", words.join("; ")))
        }
    }
}

/// Files against those in a folder, both ways.
fn compared(folder: &Path, files: &Files) -> Option<String> {
    let mut left: Vec<String> = walkdir::WalkDir::new(folder)
        .into_iter()
        .flatten()
        .filter(|entry| entry.file_type().is_file())
        .filter_map(|entry| {
            let below = entry.path().strip_prefix(folder).ok()?;
            Some(below.components().map(|c| c.as_os_str().to_string_lossy()).collect::<Vec<_>>().join("/"))
        })
        .collect();
    for (path, bytes) in files {
        left.retain(|other| other != path);
        let expected = path.split('/').fold(folder.to_owned(), |at, part| at.join(part));
        match std::fs::read(&expected) {
            Ok(expected) if expected == *bytes => {}
            Ok(expected) => {
                let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
                return Some(format!("{path}: {}", difference(&text(&expected), &text(bytes))));
            }
            Err(_) => {
                return Some(format!("expected/{path} is not there: `plugin check DIR --bless` writes it"));
            }
        }
    }
    left.first().map(|path| format!("expected/{path} was not made"))
}

/// Line ends may be those of the system that the fixture was checked out on.
fn same_text(a: &str, b: &str) -> bool {
    a.lines().eq(b.lines())
}

/// The first row that differs.
fn difference(expected: &str, found: &str) -> String {
    let mut rows = expected.lines().zip(found.lines());
    match (1..).zip(rows.by_ref()).find(|(_, (a, b))| a != b) {
        Some((row, (a, b))) => format!("row {row}: expected `{}`, found `{}`", a.trim(), b.trim()),
        None => format!("expected {} rows, found {}", expected.lines().count(), found.lines().count()),
    }
}

fn whole(path: &Path, bytes: &[u8]) -> Result<(), HostError> {
    let mut file = WholeFile::begin(path)?;
    file.write_all(bytes).map_err(|source| HostError::WriteOutput { path: path.to_owned(), source })?;
    file.finish()
}
