//! Outside judges on the summary and its schema: xmllint, lxml and PyPI xmlschema, and a script of our own on lxml
//! that holds the summary against record and assessment. What is not at hand shows as ignored.

#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
#[path = "../../../crates/plugin-api/tests/sample/mod.rs"]
mod sample;

use libtest_mimic::{Arguments, Failed, Trial};
use plugin_api::wire::v1;
use record::Record;
use sample::judges::{ask, python, starts};
use std::path::{Path, PathBuf};

fn main() {
    let absent = python().is_none() || !starts("xmllint");
    let trial =
        |name: &str, run: fn() -> Result<(), Failed>| Trial::test(name, run).with_ignored_flag(absent);
    let trials = vec![
        trial("the_schema_accepts_every_fixture", fixtures),
        trial("the_schema_accepts_made_up_summaries", made_up),
        trial("the_schema_rejects_broken_variants", broken),
        trial("record_and_assessment_agree_with_the_summary", agree),
        trial("the_comparing_script_does_judge", objects),
    ];
    libtest_mimic::run(&Arguments::from_args(), trials).exit();
}

fn here(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

fn schema() -> PathBuf {
    here("../../shared/schemas/summary-1.xsd")
}

fn lock_gate() -> Record {
    sample::record_of(&std::fs::read_to_string(here("fixtures/lock-gate/input.json")).unwrap())
}

fn summary(record: &Record) -> String {
    String::from_utf8(sample::written(&plugin_xml::Xml, record).0.remove(0).1).unwrap()
}

/// What each judge says of each text: xmllint, lxml, xmlschema; and all their words.
fn judged(texts: &[String]) -> (Vec<[bool; 3]>, String) {
    let place = tempfile::tempdir().unwrap();
    let files: Vec<PathBuf> = (0..texts.len()).map(|n| place.path().join(format!("{n}.xml"))).collect();
    for (file, text) in files.iter().zip(texts) {
        std::fs::write(file, text).unwrap();
    }
    let mut arguments = vec![here("tests/outside/valid.py"), schema()];
    arguments.extend(files.iter().cloned());
    let (_, said) = ask(python().unwrap(), &arguments);
    let mut words = said.clone();
    let verdicts = files.iter().map(|file| {
        let line =
            said.lines().find(|line| line.starts_with(&format!("{} ", file.display()))).unwrap_or_default();
        let path = [Path::new("--noout"), Path::new("--nonet"), Path::new("--schema"), &schema(), file]
            .map(Path::to_owned);
        let (lint, said) = ask("xmllint", &path);
        if !lint {
            words += &said;
        }
        [lint, line.contains("lxml=True"), line.contains("xmlschema=True")]
    });
    (verdicts.collect(), words)
}

fn all_accept(texts: &[String]) -> Result<(), Failed> {
    let (verdicts, said) = judged(texts);
    if verdicts.iter().flatten().all(|good| *good) { Ok(()) } else { Err(said.into()) }
}

fn fixtures() -> Result<(), Failed> {
    let entries = std::fs::read_dir(here("fixtures")).unwrap();
    let texts: Vec<String> = entries
        .map(|entry| std::fs::read_to_string(entry.unwrap().path().join("expected/job.xml")).unwrap())
        .collect();
    all_accept(&texts)
}

fn records() -> impl Iterator<Item = Record> {
    (0..60).map(|seed| record::check(sample::draft(&sample::draw::noise(seed, 8000))).unwrap())
}

fn made_up() -> Result<(), Failed> {
    all_accept(&records().map(|record| summary(&record)).collect::<Vec<_>>())
}

/// One place of the demo's summary changed at a time: what stands there, and what is put instead.
const BROKEN: &[(&str, &str)] = &[
    (" version=\"1\" kind", " version=\"2\" kind"),
    ("kind=\"test-report\"", "kind=\"certificate\""),
    ("urn:fulgurite:summary:1", "urn:fulgurite:summary:2"),
    (" rules-version=\"2\"", ""),
    ("<report number", "<rapport number"),
    (" <client>", " <customer/>\n <client>"),
    ("issued-on=\"2026-03-20\"", "issued-on=\"20.03.2026\""),
    ("started=\"2026-03-12T09:11:00+01:00\"", "started=\"09:11\""),
    ("sha-256=\"", "sha-256=\"x"),
    ("length-mm=\"180\"", "length-mm=\"180 mm\""),
    ("width-mm=\"120.5\"", "width-mm=\"120,5\""),
    ("voltage-kv=\"4\"", "voltage-kv=\"-4\""),
    ("voltage-kv=\"4\"", "voltage-kv=\"4000\""),
    ("humidity-percent=\"41\"", "humidity-percent=\"141\""),
    ("application=\"contact\"", "application=\"touch\""),
    ("polarity=\"positive\"", "polarity=\"+\""),
    ("worst-class=\"b\"", "worst-class=\"B\""),
    ("effect=\"fail\"", "effect=\"failed\""),
    ("failure-observed=\"false\">fail</verdict>", "failure-observed=\"false\">passed</verdict>"),
    ("<coverage required=\"1\"", "<coverage required=\"99\""),
    ("<required number=\"2\"", "<required number=\"1\""),
    ("counted=\"9\"", "counted=\"-9\""),
    ("count=\"9\"", "count=\"9.5\""),
    ("<text xml:lang=\"en\">", "<text>"),
    ("row=\"3\"", "row=\"0\""),
    ("<earthed value=\"true\"/>", "<earthed value=\"perhaps\"/>"),
    ("value=\"29.827737\"", "value=\"29.8 A\""),
    ("a-per-v=\"40\"", "a-per-v=\"40 A/V\""),
    ("transfer-v-per-a=\"0.5\"", "transfer-v-per-a=\"-0.5\""),
    ("<measuring-chain verification=\"V1\"", "<measuring-chain"),
    ("<chain-element equipment", "<attenuator equipment"),
    ("<findings errors=\"1\"", "<findings"),
    ("<verdict state", "<verdict colour=\"red\" state"),
    ("</summary>", "<extra/></summary>"),
    (" <laboratory>", " <laboratory>oak"),
    ("<item-state id=\"as-received\"/>", "<item-state/>"),
];

fn broken() -> Result<(), Failed> {
    let whole = summary(&lock_gate());
    let mut texts = Vec::new();
    for (from, to) in BROKEN {
        let changed = whole.replacen(from, to, 1);
        if changed == whole {
            return Err(format!("`{from}` is not in the summary").into());
        }
        texts.push(changed);
    }
    // Two elements in the other order.
    let report = whole.find("<report").zip(whole.find("<laboratory")).unwrap();
    let client = whole.find("<client").unwrap();
    let parts = [&whole[..report.0], &whole[report.1..client], &whole[report.0..report.1], &whole[client..]];
    texts.push(parts.concat());
    let (verdicts, said) = judged(&texts);
    for (number, verdict) in verdicts.iter().enumerate() {
        if *verdict != [false; 3] {
            let what = BROKEN.get(number).map_or("order", |(_, to)| *to);
            return Err(format!("`{what}` was accepted: {verdict:?}\n{said}").into());
        }
    }
    Ok(())
}

fn compared(record: &Record, summary: &str) -> (bool, String) {
    let place = tempfile::tempdir().unwrap();
    let files = ["summary.xml", "record.json", "assessment.json"].map(|name| place.path().join(name));
    std::fs::write(&files[0], summary).unwrap();
    std::fs::write(&files[1], v1::record_to_json(record)).unwrap();
    let assessment = v1::assessment_to_value(&sample::assessment_of(record));
    std::fs::write(&files[2], assessment.to_string()).unwrap();
    let arguments: Vec<PathBuf> = std::iter::once(here("tests/outside/compare.py")).chain(files).collect();
    ask(python().unwrap(), &arguments)
}

fn agree() -> Result<(), Failed> {
    for record in std::iter::once(lock_gate()).chain(records()) {
        let (good, said) = compared(&record, &summary(&record));
        if !good {
            return Err(said.into());
        }
    }
    Ok(())
}

/// One value changed, in a way that the schema allows, and it must object.
fn objects() -> Result<(), Failed> {
    let record = lock_gate();
    let whole = summary(&record);
    for (from, to) in [
        ("sha-256=\"", "sha-256=\"0"),
        ("serial=\"0017\"", "serial=\"17\""),
        ("counted=\"9\"", "counted=\"10\""),
        ("voltage-kv=\"8\" mode", "voltage-kv=\"6\" mode"),
        ("row=\"10\"", "row=\"11\""),
        (">fail</verdict>", ">pass</verdict>"),
        ("value=\"29.827737\"", "value=\"29.827738\""),
        ("<data-lost not-applicable", "<data-lost value"),
        (" sparks=\"3\"", ""),
        ("back after 2 s", "back after 3 s"),
        (
            "<measuring-chain verification=\"V1\" a-per-v=\"40\"",
            "<measuring-chain verification=\"V1\" a-per-v=\"40.1\"",
        ),
        (" a-per-v=\"40\" within", " within"),
        ("attenuation-ratio=\"20\"", "attenuation-db=\"20\""),
    ] {
        let changed = whole.replacen(from, to, 1);
        if changed == whole {
            return Err(format!("`{from}` is not in the summary").into());
        }
        if compared(&record, &changed).0 {
            return Err(format!("`{to}` was not seen").into());
        }
    }
    Ok(())
}
