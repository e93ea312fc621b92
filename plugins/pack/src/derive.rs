//! What a pack says, held against itself: its record is read, checked and assessed again with the pack's own data.

use crate::bag_check::Bag;
use crate::bag_write::{ASSESSMENT_PATH, CONTENTS_PATH, Contents, RECORD_PATH, Role};
use crate::embedded::{Embedded, embedded_files};
use crate::other_version;
use crate::report::{Findings, Kind, Ledger, Problem};
use assess::standard::Standard;
use plugin_api::wire::{self, Difference, Differences, differences};
use record::Record;
use serde_json::Value;
use std::collections::BTreeSet;

/// Records and papers above this are not taken apart: a record of ten million rows is far below.
pub(crate) const MOST_BYTES: u64 = 1 << 30;
/// Differences shown of one file.
const MOST_SHOWN: usize = 40;

/// Files the checks of a pack's content that need nothing but the pack.
pub(crate) fn derive(bag: &mut Bag<'_>, ledger: &mut Ledger) {
    let parts = (
        bag.files.read(RECORD_PATH, MOST_BYTES),
        bag.files.read(ASSESSMENT_PATH, MOST_BYTES),
        bag.files.read(CONTENTS_PATH, MOST_BYTES),
    );
    let (record_bytes, assessment_bytes, contents) = match parts {
        (Ok(record), Ok(assessment), Ok(contents)) => (record, assessment, contents),
        (Err(problem), ..) | (_, Err(problem), _) | (.., Err(problem)) => {
            let mut findings = Findings::default();
            findings.fail(problem);
            ledger.done(Kind::Record, findings, "");
            return;
        }
    };
    // The check of the pack's parts has read it already.
    let Ok(contents) = serde_json::from_slice::<Contents>(&contents) else { return };
    let mut findings = Findings::default();
    let record = read_record(&record_bytes, other_version::made_it(&contents), &mut findings);
    let detail =
        record.as_ref().map(|r| format!("{} series, {} observations", r.series.len(), r.observations.len()));
    ledger.done(Kind::Record, findings, detail.unwrap_or_default());
    let Some(record) = record else { return };

    originals(bag, &contents, &record, ledger);
    verdict(bag, &contents, &record, &assessment_bytes, ledger);
    papers(bag, &contents, &record_bytes, &assessment_bytes, ledger);
}

/// Reads a record as a pack holds it; what is wrong with it goes to the findings. In a pack that another version made,
/// what only this one's checks find is noted, and no part of the record.
pub(crate) fn read_record(bytes: &[u8], other_version: bool, findings: &mut Findings) -> Option<Record> {
    let value: Value = match serde_json::from_slice(bytes) {
        Ok(value) => value,
        Err(error) => {
            findings.fail(Problem::new(RECORD_PATH, format!("is not JSON: {error}")));
            return None;
        }
    };
    let (draft, unknown) = match wire::v1::draft_from_value(value.clone()) {
        Ok(read) => read,
        Err(troubles) => {
            for trouble in troubles {
                let what = format!("{}: {}", trouble.path, trouble.message);
                findings.fail(Problem::new(RECORD_PATH, what));
            }
            return None;
        }
    };
    for path in unknown.keys() {
        findings.fail(Problem::new(RECORD_PATH, format!("`{path}` is not a key of a record")));
    }
    let stored = if other_version { draft.findings.clone() } else { Vec::new() };
    let record = match record::check(draft) {
        Ok(mut record) => {
            if other_version {
                other_version::set_gained_apart(&mut record, &stored, RECORD_PATH, findings);
            }
            record
        }
        Err(found) => {
            for finding in found.iter().filter(|f| f.severity == record::Severity::Error) {
                findings.fail(Problem::new(RECORD_PATH, finding.message.clone()));
            }
            return None;
        }
    };
    let again = wire::v1::record_to_json(&record);
    if again.as_bytes() != bytes {
        let found = differences(&value, &wire::v1::record_to_value(&record), MOST_SHOWN);
        if found.is_empty() && record.passed_through.is_empty() {
            // The same values in another form: a key that stands twice hides here, since readers take either.
            findings
                .fail(Problem::new(RECORD_PATH, "has another layout than ours, or a key that stands twice"));
        }
        file_differences(RECORD_PATH, "stored", "checked again", found, findings);
    }
    Some(record)
}

/// Says each difference: where, and what stands on either side.
pub(crate) fn file_differences(
    place: &str,
    first: &str,
    second: &str,
    found: Differences,
    findings: &mut Findings,
) {
    for Difference { path, first: one, second: two } in &found.list {
        let what =
            format!("{path}: {first} {}, {second} {}", wire::shown(one.as_ref()), wire::shown(two.as_ref()));
        findings.fail(Problem::new(place, what));
    }
    if found.more > 0 {
        findings.fail(Problem::new(place, format!("differs at {} more places", found.more)));
    }
}

/// The original files in the pack must be those that the record was read from.
fn originals(bag: &Bag<'_>, contents: &Contents, record: &Record, ledger: &mut Ledger) {
    let mut findings = Findings::default();
    let (mut here, mut absent) = (0_usize, 0_usize);
    let mut seen = BTreeSet::new();
    // Of several sheets of a workbook each is a source; the file is held against each, and counted once.
    for source in &record.sources {
        let first = seen.insert(source.file());
        let entry =
            contents.files.iter().find(|f| f.role == Role::Source && f.original_name == source.file());
        let Some(entry) = entry else {
            if contents.absent.iter().any(|gone| gone.original_name == source.file()) {
                absent += usize::from(first);
            } else {
                findings.fail(Problem::new(
                    &source.name,
                    "the record was read from it, and it is not in the pack",
                ));
            }
            continue;
        };
        here += usize::from(first);
        let path = bag.files.find(&entry.path).unwrap_or(&entry.path).to_owned();
        let size = bag.files.size(&path);
        if size != source.bytes {
            let what = format!("has {size} bytes, the record was read from {}", source.bytes);
            findings.fail(Problem::new(&path, what));
        }
        if bag.sha256.get(&path) != Some(&source.sha256) {
            let what =
                format!("is not the file that the record was read from, whose SHA-256 is {}", source.sha256);
            findings.fail(Problem::new(&path, what));
        }
    }
    for entry in contents.files.iter().filter(|f| f.role == Role::Source) {
        if !record.sources.iter().any(|source| source.file() == entry.original_name) {
            findings.fail(Problem::new(
                &entry.path,
                "is filed as an original file, and the record does not name it",
            ));
        }
    }
    match (here, absent) {
        (0, 0) => ledger.not_done(Kind::Originals, findings, "the record names no original file"),
        (_, 0) => {
            ledger.done(Kind::Originals, findings, format!("{here} files"));
        }
        _ => ledger.not_done(
            Kind::Originals,
            findings,
            format!("{absent} of {} original files were not at hand when the pack was made", here + absent),
        ),
    }
}

/// The pack's own data of the standard that the record names. `Err` says why there are none to be used.
pub(crate) fn own_standard(
    texts: &[(String, String)],
    record: &Record,
) -> Result<Option<(usize, Standard)>, Problem> {
    let mut found = None;
    for (at, (path, text)) in texts.iter().enumerate() {
        let standard = Standard::parse(path, text).map_err(|list| {
            let why = list.first().map(|finding| finding.message.clone()).unwrap_or_default();
            Problem::new(path, format!("this build can't read these data of a standard: {why}"))
        })?;
        if record.facts.method.standard.as_deref() == Some(standard.id.as_str()) {
            if found.is_some() {
                return Err(Problem::new(path, "a second file with the data of the same standard"));
            }
            found = Some((at, standard));
        }
    }
    Ok(found)
}

fn verdict(bag: &mut Bag<'_>, contents: &Contents, record: &Record, stored: &[u8], ledger: &mut Ledger) {
    let mut findings = Findings::default();
    let value: Value = match serde_json::from_slice(stored) {
        Ok(value) => value,
        Err(error) => {
            findings.fail(Problem::new(ASSESSMENT_PATH, format!("is not JSON: {error}")));
            ledger.done(Kind::Verdict, findings, "");
            return;
        }
    };
    let Some(rules) = value.get("rules_version").and_then(Value::as_u64) else {
        findings.fail(Problem::new(ASSESSMENT_PATH, "does not say by which rules it was made"));
        ledger.done(Kind::Verdict, findings, "");
        return;
    };
    if rules != u64::from(assess::RULES_VERSION) {
        let reason = format!(
            "made under rules {rules}, which this build no longer has or does not have yet (it has {}): integrity \
             checked, verdict not re-derived",
            assess::RULES_VERSION
        );
        ledger.not_done(Kind::Verdict, findings, reason);
        return;
    }
    let mut texts = Vec::new();
    for entry in contents.files.iter().filter(|f| f.role == Role::Standard) {
        match bag.files.read(&entry.path, MOST_BYTES) {
            Ok(bytes) => texts.push((entry.path.clone(), String::from_utf8_lossy(&bytes).into_owned())),
            Err(problem) => findings.fail(problem),
        }
    }
    let standard = match own_standard(&texts, record) {
        Ok(found) => found.map(|(_, standard)| standard),
        Err(problem) => {
            findings.fail(problem);
            ledger.done(Kind::Verdict, findings, "");
            return;
        }
    };
    let derived = assess::assess(record, standard.as_ref());
    let again = wire::v1::assessment_to_value(&derived);
    let mut found = differences(&value, &again, usize::MAX);
    let same = found.is_empty();
    let worded = match other_version::made_it(contents) {
        true => other_version::set_wordings_apart(&mut found.list, ASSESSMENT_PATH, &mut findings),
        false => String::new(),
    };
    found.more = found.list.len().saturating_sub(MOST_SHOWN);
    found.list.truncate(MOST_SHOWN);
    file_differences(ASSESSMENT_PATH, "stored", "derived", found, &mut findings);
    if same && format!("{again:#}\n").as_bytes() != stored {
        findings
            .fail(Problem::new(ASSESSMENT_PATH, "has another layout than ours, or a key that stands twice"));
    }
    let data = match &derived.standard {
        Some(used) => format!("the pack's own data of {} (version {})", used.name, used.version),
        None => "no standard's data".to_owned(),
    };
    ledger.done(
        Kind::Verdict,
        findings,
        format!("{}, by rules {rules} and {data}{worded}", derived.verdict()),
    );
}

/// The record, the assessment and the summary that the reports carry must be those of the pack.
fn papers(bag: &mut Bag<'_>, contents: &Contents, record: &[u8], assessment: &[u8], ledger: &mut Ledger) {
    let mut findings = Findings::default();
    let reports: Vec<_> = contents
        .files
        .iter()
        .filter(|f| f.role == Role::Paper && f.path.to_ascii_lowercase().ends_with(".pdf"))
        .collect();
    if reports.is_empty() {
        return ledger.not_done(Kind::Embedded, findings, "there is no PDF in the pack");
    }
    let mut compared = Vec::new();
    let mut without = Vec::new();
    for report in reports {
        let bytes = match bag.files.read(&report.path, MOST_BYTES) {
            Ok(bytes) => bytes,
            Err(problem) => {
                findings.fail(problem);
                continue;
            }
        };
        let files = match embedded_files(&bytes) {
            Ok(files) => files,
            Err(what) => {
                findings.fail(Problem::new(&report.path, what));
                continue;
            }
        };
        let mut holds_record = false;
        for file in &files {
            let summary;
            let (place, expected): (&str, &[u8]) = if file.name.ends_with(".assessment.json") {
                (ASSESSMENT_PATH, assessment)
            } else if file.name.ends_with(".json") {
                holds_record = true;
                (RECORD_PATH, record)
            } else {
                let named = |f: &&crate::bag_write::ContentsEntry| {
                    f.role == Role::Summary && f.original_name.rsplit('/').next() == Some(file.name.as_str())
                };
                let Some(entry) = contents.files.iter().find(named) else {
                    findings.note(Problem::new(
                        &report.path,
                        format!("holds `{}`, which has no like in the pack", crate::names::shown(&file.name)),
                    ));
                    continue;
                };
                match bag.files.read(&entry.path, MOST_BYTES) {
                    Ok(bytes) => summary = bytes,
                    Err(problem) => {
                        findings.fail(problem);
                        continue;
                    }
                }
                (&entry.path, &summary)
            };
            compare_embedded(&report.path, file, place, expected, &mut findings);
            compared.push(file.name.clone());
        }
        if !holds_record {
            without.push(report.path.clone());
        }
    }
    if without.is_empty() {
        ledger.done(Kind::Embedded, findings, format!("{}, byte for byte", compared.join(", ")));
    } else {
        let reason = format!("{} holds no record to compare", without.join(", "));
        ledger.not_done(Kind::Embedded, findings, reason);
    }
}

fn compare_embedded(report: &str, file: &Embedded, place: &str, expected: &[u8], findings: &mut Findings) {
    let name = crate::names::shown(&file.name);
    match file.compare(expected) {
        Ok(true) => {}
        Ok(false) => {
            findings.fail(Problem::new(report, format!("the `{name}` inside it is not the pack's {place}")))
        }
        Err(what) => findings.fail(Problem::new(report, format!("the `{name}` inside it {what}"))),
    }
}
