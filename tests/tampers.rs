//! Packs changed in what they say, with every checksum made anew: which check finds each change, and what none can find.
//!
//! A forger is taken to know BagIt and to have this program. What is not a whole new pack is found by deriving the
//! verdict again, by reading the originals again, by writing the papers again or by the record inside the PDF. A pack
//! made whole from changed originals is as good as any other: only a signature tells it from the laboratory's own.

#![allow(clippy::unwrap_used, reason = "a test that can not go on has failed")]
#![allow(clippy::print_stdout, clippy::print_stderr, reason = "the figures of the test are to be read")]

#[path = "harness/folder.rs"]
mod folder;

use std::collections::{BTreeMap, BTreeSet};
use std::io::{Cursor, Read, Write};
use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;
use sha2::{Digest, Sha256, Sha512};

/// The files of a pack by their path in the bag.
type Files = BTreeMap<String, Vec<u8>>;

const RECORD: &str = "data/record.json";
const ASSESSMENT: &str = "data/assessment.json";
const CONTENTS: &str = "data/contents.json";

fn run(arguments: &[&str]) -> (i32, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_fulgurite")).args(arguments).output().unwrap();
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    (
        output.status.code().unwrap(),
        if text.is_empty() { String::from_utf8_lossy(&output.stderr).into() } else { text },
    )
}

fn path(path: &Path) -> &str {
    path.to_str().unwrap()
}

/// Makes the pack of a job folder.
fn packed(job: &Path, out: &Path) -> PathBuf {
    let (exit, text) = run(&["convert", path(job), "--to", "pack", "--quiet", "--out", path(out)]);
    assert_eq!(exit, 0, "{text}");
    out.join(format!("{}.evidence.zip", job.file_name().unwrap().to_str().unwrap()))
}

fn unpacked(pack: &[u8]) -> Files {
    let mut zip = zip::ZipArchive::new(Cursor::new(pack)).unwrap();
    let mut files = Files::new();
    for at in 0..zip.len() {
        let mut entry = zip.by_index(at).unwrap();
        let name = entry.name().unwrap().into_owned();
        let mut bytes = Vec::new();
        entry.read_to_end(&mut bytes).unwrap();
        files.insert(name.split_once('/').unwrap().1.to_owned(), bytes);
    }
    files
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Packs files with their counts and every checksum made anew.
fn repacked(mut files: Files) -> Vec<u8> {
    let payload: Vec<(&String, &Vec<u8>)> = files.iter().filter(|(p, _)| p.starts_with("data/")).collect();
    let oxum = format!("{}.{}", payload.iter().map(|(_, b)| b.len()).sum::<usize>(), payload.len());
    let list = |files: &[(&String, &Vec<u8>)], digest: &dyn Fn(&[u8]) -> String| -> Vec<u8> {
        files
            .iter()
            .map(|(path, bytes)| format!("{}  {path}\n", digest(bytes)))
            .collect::<String>()
            .into_bytes()
    };
    let sha256 = |bytes: &[u8]| hex(&Sha256::digest(bytes));
    let sha512 = |bytes: &[u8]| hex(&Sha512::digest(bytes));
    let manifests = (list(&payload, &sha256), list(&payload, &sha512));
    let info: String = String::from_utf8(files["bag-info.txt"].clone())
        .unwrap()
        .lines()
        .map(|line| {
            if line.starts_with("Payload-Oxum:") {
                format!("Payload-Oxum: {oxum}\n")
            } else {
                format!("{line}\n")
            }
        })
        .collect();
    files.insert("bag-info.txt".to_owned(), info.into_bytes());
    files.insert("manifest-sha256.txt".to_owned(), manifests.0);
    files.insert("manifest-sha512.txt".to_owned(), manifests.1);
    let tags: Vec<(&String, &Vec<u8>)> = files
        .iter()
        .filter(|(p, _)| {
            !p.starts_with("data/") && !p.starts_with("tagmanifest") && !p.starts_with("signatures/")
        })
        .collect();
    let tag_manifests = (list(&tags, &sha256), list(&tags, &sha512));
    files.insert("tagmanifest-sha256.txt".to_owned(), tag_manifests.0);
    files.insert("tagmanifest-sha512.txt".to_owned(), tag_manifests.1);
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (path, bytes) in files {
        zip.start_file(format!("pack/{path}"), zip::write::SimpleFileOptions::default()).unwrap();
        zip.write_all(&bytes).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

/// A pack without papers and summaries, which a forger would leave out.
fn without_papers(mut files: Files) -> Files {
    files.retain(|path, _| !path.starts_with("data/papers/") && !path.starts_with("data/summary/"));
    let mut contents: Value = serde_json::from_slice(&files[CONTENTS]).unwrap();
    contents["files"]
        .as_array_mut()
        .unwrap()
        .retain(|file| files.contains_key(file["path"].as_str().unwrap()));
    files.insert(CONTENTS.to_owned(), pretty(&contents));
    files
}

fn pretty(value: &Value) -> Vec<u8> {
    format!("{value:#}\n").into_bytes()
}

/// Pointers of all values that are no lists or objects.
fn leaves(value: &Value, at: &str, out: &mut Vec<String>) {
    let step = |key: &str| format!("{at}/{}", key.replace('~', "~0").replace('/', "~1"));
    match value {
        Value::Object(object) => object.iter().for_each(|(key, value)| leaves(value, &step(key), out)),
        Value::Array(list) => {
            (0..).zip(list).for_each(|(at, value): (usize, _)| leaves(value, &step(&at.to_string()), out))
        }
        _ => out.push(at.to_owned()),
    }
}

/// Another value of the same kind: a digit changed, a word swapped for one that means more or less.
fn other(value: &Value) -> Value {
    match value {
        Value::Bool(flag) => Value::Bool(!flag),
        Value::Number(number) => Value::from(number.as_u64().unwrap_or(0) + 1),
        Value::Null => Value::String("stated".to_owned()),
        Value::String(text) => Value::String(other_text(text)),
        other => other.clone(),
    }
}

fn other_text(text: &str) -> String {
    const SWAPPED: [(&str, &str); 12] = [
        ("pass", "fail"),
        ("fail", "pass"),
        ("undetermined", "pass"),
        ("positive", "negative"),
        ("negative", "positive"),
        ("contact", "air"),
        ("air", "contact"),
        ("a", "b"),
        ("b", "a"),
        ("c", "a"),
        ("d", "a"),
        ("operator", "self"),
    ];
    if let Some((_, other)) = SWAPPED.iter().find(|(one, _)| *one == text) {
        return (*other).to_owned();
    }
    match text.rfind(|c: char| c.is_ascii_digit()) {
        // A later day, a higher voltage, one discharge more: the last digit turned.
        Some(at) => {
            let digit = text.as_bytes()[at];
            let next = if digit == b'9' { b'8' } else { digit + 1 };
            format!("{}{}{}", &text[..at], next as char, &text[at + 1..])
        }
        None => format!("{text} x"),
    }
}

/// At most `most` of a list, evenly.
fn spread<T: Clone>(list: &[T], most: usize) -> Vec<T> {
    let step = list.len().div_ceil(most).max(1);
    list.iter().step_by(step).cloned().collect()
}

/// A change with the name of its group.
struct Tamper {
    group: &'static str,
    what: String,
    files: Files,
}

/// Changes of one value in a file of JSON.
fn in_json(
    group: &'static str,
    file: &str,
    files: &Files,
    most: usize,
    skip: &dyn Fn(&str) -> bool,
) -> Vec<Tamper> {
    let value: Value = serde_json::from_slice(&files[file]).unwrap();
    let mut all = Vec::new();
    leaves(&value, "", &mut all);
    all.retain(|pointer| !skip(pointer));
    spread(&all, most)
        .into_iter()
        .map(|pointer| {
            let mut changed = value.clone();
            let place = changed.pointer_mut(&pointer).unwrap();
            *place = other(place);
            let mut files = files.clone();
            files.insert(file.to_owned(), pretty(&changed));
            Tamper { group, what: format!("{file} {pointer}"), files }
        })
        .collect()
}

/// Changes of the original files, with size and checksum in the record made to fit.
fn in_sources(files: &Files, most: usize) -> Vec<Tamper> {
    let mut tampers = Vec::new();
    let logs: Vec<&String> = files.keys().filter(|path| path.starts_with("data/sources/logs/")).collect();
    let mut edits: Vec<(String, String, Vec<u8>)> = Vec::new();
    for log in logs {
        let text = String::from_utf8_lossy(&files[log]).into_owned();
        let lines: Vec<&str> = text.split_inclusive('\n').collect();
        for at in 0..lines.len() {
            if lines[at].bytes().filter(u8::is_ascii_digit).count() < 4 {
                continue;
            }
            let rest = |with: &str| -> Vec<u8> {
                let line = |n: usize| if n == at { with } else { lines[n] };
                (0..lines.len()).map(line).collect::<String>().into_bytes()
            };
            edits.push((log.clone(), format!("row {} removed", at + 1), rest("")));
            edits.push((log.clone(), format!("row {} twice", at + 1), rest(&format!("{0}{0}", lines[at]))));
        }
    }
    for (log, what, bytes) in spread(&edits, most) {
        let mut files = files.clone();
        let mut record: Value = serde_json::from_slice(&files[RECORD]).unwrap();
        let name = log.strip_prefix("data/sources/").unwrap();
        let source =
            record["sources"].as_array_mut().unwrap().iter_mut().find(|s| s["name"] == name).unwrap();
        source["bytes"] = Value::from(bytes.len());
        source["sha256"] = Value::from(hex(&Sha256::digest(&bytes)));
        files.insert(RECORD.to_owned(), pretty(&record));
        files.insert(log.clone(), bytes);
        tampers.push(Tamper { group: "originals", what: format!("{log} {what}"), files });
    }
    tampers
}

/// Limits and counts of the standard's data, each moved.
fn in_standard(files: &Files, most: usize) -> Vec<Tamper> {
    let file = files.keys().find(|path| path.starts_with("data/standards/")).unwrap().clone();
    let text = String::from_utf8(files[&file].clone()).unwrap();
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    // Where a line states a value: the first digit of it.
    let digit = |line: &str| {
        let from = line.find("value = ")?;
        line[from..].find(|c: char| c.is_ascii_digit()).map(|at| from + at)
    };
    let values: Vec<usize> = (0..lines.len()).filter(|at| digit(lines[*at]).is_some()).collect();
    assert!(!values.is_empty(), "{file} states no value");
    spread(&values, most)
        .into_iter()
        .map(|changed_line| {
            let mut text = String::new();
            for (at, line) in lines.iter().enumerate() {
                match digit(line).filter(|_| at == changed_line) {
                    Some(digit) => {
                        let next = if &line[digit..=digit] == "9" { "8" } else { "9" };
                        text += &format!("{}{next}{}", &line[..digit], &line[digit + 1..]);
                    }
                    None => text += line,
                }
            }
            let mut files = files.clone();
            files.insert(file.clone(), text.into_bytes());
            Tamper { group: "standard", what: format!("{file} line {}", changed_line + 1), files }
        })
        .collect()
}

/// Papers and summaries that say something else than the record.
fn in_papers(files: &Files) -> Vec<Tamper> {
    let mut tampers = Vec::new();
    let papers: Vec<&String> =
        files.keys().filter(|p| p.starts_with("data/papers/") || p.starts_with("data/summary/")).collect();
    for paper in papers {
        let bytes = &files[paper];
        for part in 1..=4_usize {
            let from = bytes.len() * part / 5;
            let Some(at) = (from..bytes.len()).find(|at| bytes[*at].is_ascii_digit()) else { continue };
            let mut changed = bytes.clone();
            changed[at] = if changed[at] == b'9' { b'8' } else { changed[at] + 1 };
            let mut files = files.clone();
            files.insert(paper.clone(), changed);
            tampers.push(Tamper { group: "papers", what: format!("{paper} byte {}", at + 1), files });
        }
    }
    tampers
}

/// Verifies; gives the exit code and the ids of the checks that failed or differ.
fn verified(pack: &[u8], folder: &Path, more: &[&str]) -> (i32, BTreeSet<String>, String) {
    let file = folder.join("tampered.zip");
    std::fs::write(&file, pack).unwrap();
    let mut arguments = vec!["verify", path(&file), "--json"];
    arguments.extend(more);
    let (exit, text) = run(&arguments);
    let value: Value = serde_json::from_str(&text).unwrap_or_else(|_| panic!("{text}"));
    let found = value["checks"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|check| check["state"] == "failed" || (check["state"] == "differs" && check["id"] != "form"))
        .map(|check| check["id"].as_str().unwrap().to_owned())
        .collect();
    (exit, found, text)
}

fn demo(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/demo").join(name)
}

#[test]
fn every_change_of_a_part_is_found() {
    let folder = tempfile::tempdir().unwrap();
    let pack = std::fs::read(packed(&demo("lock-gate"), folder.path())).unwrap();
    let (exit, found, text) = verified(&pack, folder.path(), &[]);
    assert_eq!((exit, found.len()), (0, 0), "{text}");
    let whole = unpacked(&pack);
    let bare = without_papers(whole.clone());
    let (exit, found, text) = verified(&repacked(bare.clone()), folder.path(), &[]);
    assert_eq!((exit, found.len()), (0, 0), "{text}");

    // Which reader it was is no fact of the job, and an older version is allowed; the words of the rules' version are
    // looked at below.
    let nothing = |_: &str| false;
    let readers = |pointer: &str| pointer.ends_with("/read_by");
    let rules = |pointer: &str| pointer == "/rules_version";
    let mut tampers = in_json("record, no papers", RECORD, &bare, 70, &readers);
    tampers.extend(in_json("record", RECORD, &whole, 15, &nothing));
    tampers.extend(in_json("assessment", ASSESSMENT, &bare, 60, &rules));
    tampers.extend(in_sources(&bare, 50));
    tampers.extend(in_standard(&bare, 25));
    tampers.extend(in_papers(&whole));
    assert!(tampers.len() >= 200, "only {} changes", tampers.len());
    let mut table: BTreeMap<(&str, String), usize> = BTreeMap::new();
    let mut unseen = Vec::new();
    let mut shown_only = 0;
    for Tamper { group, what, files } in &tampers {
        let (exit, found, text) = verified(&repacked(files.clone()), folder.path(), &[]);
        let by = found.iter().cloned().collect::<Vec<_>>().join(" + ");
        // A limit that the verdict does not rest on: said, and no reason to refuse the pack.
        let shown = *group == "standard" && exit == 0 && found.contains("standard");
        shown_only += usize::from(shown);
        if exit != 1 && !shown {
            unseen.push(format!("{what}: {text}"));
        }
        *table.entry((group, by)).or_default() += 1;
    }
    for ((group, by), count) in &table {
        println!("{count:4}  {group}: {by}");
    }
    println!("{} changes, {shown_only} of them shown as a difference without a failed check", tampers.len());
    assert!(unseen.is_empty(), "{} unseen:\n{}", unseen.len(), unseen.join("\n"));
}

#[test]
fn rules_that_this_build_does_not_have_are_said_and_not_guessed() {
    let folder = tempfile::tempdir().unwrap();
    let pack = std::fs::read(packed(&demo("lock-gate"), folder.path())).unwrap();
    let mut files = without_papers(unpacked(&pack));
    let mut assessment: Value = serde_json::from_slice(&files[ASSESSMENT]).unwrap();
    assessment["rules_version"] = Value::from(9_999);
    files.insert(ASSESSMENT.to_owned(), pretty(&assessment));
    let (exit, _, text) = verified(&repacked(files), folder.path(), &[]);
    assert_eq!(exit, 0, "{text}");
    let value: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(value["verdict_derived_again"], false);
    assert!(text.contains("made under rules 9999") && text.contains("verdict not re-derived"), "{text}");
}

/// A later version may find more, and word its own sentences better. Nothing else may differ in an older pack.
#[test]
fn only_what_a_later_version_gained_may_differ_in_an_older_pack() {
    let folder = tempfile::tempdir().unwrap();
    let job = folder.path().join("job").join("lock-gate-settled");
    folder::copy(&demo("lock-gate-settled"), &job).unwrap();
    let facts = std::fs::read_to_string(job.join("job.toml")).unwrap();
    let later = facts.replacen("since = 2026-03-17T15:00", "since = 2026-03-19T09:20", 1);
    assert_ne!(facts, later);
    std::fs::write(job.join("job.toml"), later).unwrap();
    let pack = std::fs::read(packed(&job, &folder.path().join("out"))).unwrap();
    let whole = without_papers(unpacked(&pack));
    let with = |program: &str, finding: bool, words: (&str, &str)| {
        let mut files = whole.clone();
        let mut contents: Value = serde_json::from_slice(&files[CONTENTS]).unwrap();
        contents["program"] = program.into();
        files.insert(CONTENTS.to_owned(), pretty(&contents));
        // Readers of another version, too: what they say of the files is not compared then.
        let record = String::from_utf8(files[RECORD].clone())
            .unwrap()
            .replace(concat!(" ", env!("CARGO_PKG_VERSION"), "\""), " 0.1.0\"");
        let mut record: Value = serde_json::from_str(&record).unwrap();
        let findings = record["findings"].as_array_mut().unwrap();
        assert!(findings.iter().any(|found| found["code"] == "record/series-before-state"));
        if !finding {
            findings.retain(|found| found["code"] != "record/series-before-state");
        }
        files.insert(RECORD.to_owned(), pretty(&record));
        let assessment = String::from_utf8(files[ASSESSMENT].clone()).unwrap();
        assert!(assessment.contains(words.0), "{}", words.0);
        files.insert(ASSESSMENT.to_owned(), assessment.replace(words.0, words.1).into_bytes());
        verified(&repacked(files), folder.path(), &[])
    };
    let former = ("bandwidth lengthens the rise time by", "bandwidth lengthens it by");
    let here = concat!("fulgurite ", env!("CARGO_PKG_VERSION"));
    let (exit, found, text) = with("fulgurite 0.1.0", false, former);
    assert_eq!((exit, found.len()), (0, 0), "{text}");
    assert!(text.contains("this version's checks find more: logs/contact.csv:2"), "{text}");
    assert!(text.contains("worded otherwise: stored"), "{text}");
    let of = |found: &BTreeSet<String>| found.iter().map(String::as_str).collect::<Vec<_>>().join(" ");
    // This very version has both.
    let (exit, found, text) = with(here, false, former);
    assert_eq!((exit, of(&found).as_str()), (1, "record verdict"), "{text}");
    // Words that were never the program's, and numbers.
    for words in
        [("rise time by about 0.6 %", "rise time by about 0.1 %"), ("parabola fitted", "line fitted")]
    {
        let (exit, found, text) = with("fulgurite 0.1.0", true, words);
        assert_eq!((exit, of(&found).as_str()), (1, "verdict"), "{text}");
    }
}

#[test]
fn a_pack_forged_whole_is_told_by_its_signature_alone() {
    let folder = tempfile::tempdir().unwrap();
    let lab = packed(&demo("lock-gate"), folder.path());
    // The job with its failure written out of the log: the same program makes a pack of it in which all agrees.
    let job = folder.path().join("forged").join("lock-gate");
    folder::copy(&demo("lock-gate"), &job).unwrap();
    let (_, text) = run(&["assess", path(&job), "--json"]);
    let before: Value = serde_json::from_str(&text).unwrap();
    let changed = forge(&job);
    let forged = packed(&job, &folder.path().join("out"));
    let bytes = std::fs::read(&forged).unwrap();
    let (exit, found, text) = verified(&bytes, folder.path(), &[]);
    assert_eq!((exit, found.len()), (0, 0), "an unsigned consistent forgery can't be found: {text}");
    println!("{changed}; verdict of the laboratory's pack: {}", before["verdict"]);

    if Command::new("ssh-keygen").arg("-?").output().is_err() {
        eprintln!("the part on signatures was skipped: ssh-keygen is not there");
        return;
    }
    for name in ["lab", "forger"] {
        let made = Command::new("ssh-keygen")
            .args(["-q", "-t", "ed25519", "-N", "", "-f"])
            .arg(folder.path().join(name))
            .output()
            .unwrap();
        assert!(made.status.success());
    }
    let public = std::fs::read_to_string(folder.path().join("lab.pub")).unwrap();
    let signers = folder.path().join("signers");
    std::fs::write(&signers, format!("o.heron@example.invalid {public}")).unwrap();
    let sign = |pack: &Path, key: &str, out: &str| {
        let (key, out) = (folder.path().join(key), folder.path().join(out));
        let (exit, text) =
            run(&["sign", path(pack), "--key", path(&key), "--role", "authorised", "--out", path(&out)]);
        assert_eq!(exit, 0, "{text}");
        std::fs::read(out).unwrap()
    };
    let signed = sign(&lab, "lab", "signed.zip");
    let more = ["--signers", path(&signers)];
    assert_eq!(verified(&signed, folder.path(), &more).0, 0);
    // Unsigned, signed by the forger, or with the laboratory's signature from the other pack.
    let own = sign(&forged, "forger", "own.zip");
    let mut moved = unpacked(&bytes);
    moved.extend(unpacked(&signed).into_iter().filter(|(path, _)| path.starts_with("signatures/")));
    for pack in [bytes, own, repacked(moved)] {
        let (exit, found, text) = verified(&pack, folder.path(), &more);
        assert_eq!((exit, found.contains("signature")), (1, true), "{text}");
    }
}

/// What an amended pack states to change can be checked only beside the pack that it amends.
#[test]
fn stated_changes_are_held_against_the_amended_pack() {
    let folder = tempfile::tempdir().unwrap();
    let older = packed(&demo("lock-gate"), folder.path());
    let (_, _, text) = verified(&std::fs::read(&older).unwrap(), folder.path(), &["--depth", "full"]);
    let identity = serde_json::from_str::<Value>(&text).unwrap()["identity"].as_str().unwrap().to_owned();
    let job = folder.path().join("job").join("lock-gate-settled");
    folder::copy(&demo("lock-gate-settled"), &job).unwrap();
    let facts = std::fs::read_to_string(job.join("job.toml")).unwrap();
    let amends = format!("[report]\namends = \"OPL-26-0117\"\namends_pack = \"{identity}\"");
    std::fs::write(job.join("job.toml"), facts.replacen("[report]", &amends, 1)).unwrap();
    let out = folder.path().join("out");
    let (exit, text) = run(&[
        "convert",
        path(&job),
        "--to",
        "pack",
        "--quiet",
        "--older",
        path(&older),
        "--out",
        path(&out),
    ]);
    assert_eq!(exit, 0, "{text}");
    let pack = std::fs::read(out.join("lock-gate-settled.evidence.zip")).unwrap();
    let beside = ["--older", path(&older)];
    let (exit, found, text) = verified(&pack, folder.path(), &beside);
    assert_eq!((exit, found.len()), (0, 0), "{text}");
    assert!(text.contains("what it states to change is what differs"), "{text}");

    let whole = unpacked(&pack);
    let file = whole.keys().find(|path| path.ends_with(".changes.json")).unwrap().clone();
    let changed = |files: &Files, change: &dyn Fn(&mut Value)| {
        let mut value: Value = serde_json::from_slice(&files[&file]).unwrap();
        change(&mut value);
        let mut files = files.clone();
        files.insert(file.clone(), pretty(&value));
        repacked(files)
    };
    // A result hidden: the papers show it, and without papers the older pack does.
    let hide = |value: &mut Value| value["results"] = Value::Array(Vec::new());
    let (exit, found, text) = verified(&changed(&whole, &hide), folder.path(), &[]);
    assert!(exit == 1 && found.contains("written-again"), "{text}");
    let mut bare = without_papers(whole.clone());
    bare.insert(file.clone(), whole[&file].clone());
    let mut contents: Value = serde_json::from_slice(&whole[CONTENTS]).unwrap();
    contents["files"].as_array_mut().unwrap().retain(|one| bare.contains_key(one["path"].as_str().unwrap()));
    bare.insert(CONTENTS.to_owned(), pretty(&contents));
    let (exit, found, text) = verified(&changed(&bare, &hide), folder.path(), &beside);
    assert!(exit == 1 && found.contains("chain"), "{text}");
    // Alone it can't be seen, and that is said.
    let (exit, _, text) = verified(&changed(&bare, &hide), folder.path(), &[]);
    assert!(exit == 0 && text.contains("what it states to change was not checked"), "{text}");
    // About another pack than the record's.
    let other = |value: &mut Value| value["earlier"]["pack"] = Value::String("0".repeat(64));
    let (exit, _, text) = verified(&changed(&bare, &other), folder.path(), &[]);
    assert!(exit == 1 && text.contains("is about another pack"), "{text}");
}

/// Takes the words of an upset out of the contact log; says what was done.
fn forge(job: &Path) -> String {
    let log = job.join("logs/contact.csv");
    let text = std::fs::read_to_string(&log).unwrap();
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    // Row 13 is where the demonstration job fails; it is replaced by the row before it, renumbered by nobody.
    let changed: String = (0..lines.len()).filter(|at| *at != 12).map(|at| lines[at]).collect();
    assert_ne!(changed, text);
    std::fs::write(&log, changed).unwrap();
    "row 13 of logs/contact.csv removed".to_owned()
}
