//! Reads a record file: JSON, then the canonical form, each value that is wrong named with its place.

use crate::decode::{Decoded, decode};
use crate::{Json, MAX_BYTES, codes, spot};
use plugin_api::wire::v1;
use plugin_api::{Intake, Probe, ReadContext, Reader, Reported, Source};
use record::{CodeDoc, Draft, Finding, Place};
use serde_json::Value;
use std::collections::BTreeMap;
use std::io::Read;

impl Reader for Json {
    fn name(&self) -> &'static str {
        "json"
    }

    fn about(&self) -> &'static str {
        "a whole record in the canonical JSON, as `convert --to json` writes it"
    }

    fn codes(&self) -> &'static [CodeDoc] {
        codes::ALL
    }

    fn probe(&self, head: &[u8], file_name: &str) -> Probe {
        let head = head.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(head);
        let start = head.iter().find(|byte| !b" \t\r\n".contains(byte));
        let holds = |words: &[u8]| head.windows(words.len()).any(|window| window == words);
        match start {
            Some(b'{') if holds(b"\"schema\"") && (holds(b"\"sources\"") || holds(b"\"facts\"")) => {
                Probe::Yes
            }
            Some(b'{' | b'[') => Probe::Maybe,
            // In another encoding, or empty: the reader says so better than that nobody reads the file.
            _ if file_name.to_ascii_lowercase().ends_with(".json") => Probe::Maybe,
            _ => Probe::No,
        }
    }

    fn read(&self, source: &Source<'_>, intake: &mut Intake, _: &ReadContext<'_>) -> Result<(), Reported> {
        let bytes = match all_bytes(source) {
            Ok(bytes) => bytes,
            Err(finding) => return Err(intake.refuse(*finding)),
        };
        let decoded = match decode(source.name, &bytes) {
            Ok(decoded) => decoded,
            Err(finding) => return Err(intake.refuse(*finding)),
        };
        let file = File { name: source.name, decoded };
        let draft = file.record(intake)?;
        intake.understood("JSON, UTF-8");
        intake.understood(format!("record, schema {}", v1::SCHEMA));
        intake.whole(draft);
        Ok(())
    }
}

fn all_bytes(source: &Source<'_>) -> Result<Vec<u8>, Box<Finding>> {
    let place = Place { file: source.name.to_owned(), ..Place::default() };
    let too_large = |place: Place| {
        let finding = Finding::error(codes::TOO_LARGE, format!("larger than {} MiB", MAX_BYTES >> 20))
            .at(place)
            .help("look at what the file is; waveforms can be files of a job folder instead");
        Box::new(finding)
    };
    if source.bytes > MAX_BYTES {
        return Err(too_large(place));
    }
    let mut bytes = Vec::with_capacity(usize::try_from(source.bytes).unwrap_or_default());
    // The stated size may be wrong, or the file may grow.
    let read = source.open().and_then(|open| open.take(MAX_BYTES + 1).read_to_end(&mut bytes));
    match read {
        Ok(_) if bytes.len() as u64 > MAX_BYTES => Err(too_large(place)),
        Ok(_) => Ok(bytes),
        Err(error) => {
            let finding = Finding::error(codes::UNREADABLE, format!("the file can't be read: {error}"))
                .at(place)
                .help("look at the file and its rights, and try again");
            Err(Box::new(finding))
        }
    }
}

/// Most values that are wrong which one run names.
const MOST_SHOWN: usize = 100;

/// A pointer with `*` for the places in lists.
fn without_numbers(pointer: &str) -> String {
    let step = |step: &str| match step.bytes().all(|b| b.is_ascii_digit()) {
        true if !step.is_empty() => "*".to_owned(),
        _ => step.to_owned(),
    };
    pointer.split('/').map(step).collect::<Vec<_>>().join("/")
}

struct File<'a> {
    name: &'a str,
    decoded: Decoded<'a>,
}

impl File<'_> {
    fn record(mut self, intake: &mut Intake) -> Result<Draft, Reported> {
        let value = std::mem::take(&mut self.decoded.value);
        if value.get("schema").is_none() {
            let what = match &value {
                Value::Object(_) => "an object without `schema`",
                Value::Array(_) => "a list",
                _ => "a single value",
            };
            let finding = Finding::error(codes::NOT_A_RECORD, format!("the file holds {what}, not a record"))
                .at(self.place(""))
                .help("give a record that `convert --to json` wrote, or describe the data in a job folder");
            return Err(intake.refuse(finding));
        }
        let (mut draft, unknown) = match v1::draft_from_value(value) {
            Ok(read) => read,
            Err(troubles) => return Err(self.refuse(troubles, intake)),
        };
        for (path, text) in &mut draft.passed_through {
            let step = path.replace('~', "~0").replace('/', "~1");
            if let Some(raw) = self.raw(&format!("/passed_through/{step}")) {
                *text = raw.to_owned();
            }
        }
        // The same key in every entry of a list is said once.
        let mut places: BTreeMap<String, (String, usize)> = BTreeMap::new();
        for (path, value) in unknown {
            let raw = self.raw(&path).map_or_else(|| value.to_string(), str::to_owned);
            if let Some(kept) = draft.passed_through.get(&path)
                && *kept != raw
            {
                let finding = Finding::error(
                    codes::DUPLICATE_KEY,
                    format!("`{path}` stands in the file and, with another value, under `passed_through`"),
                )
                .at(self.key_place(&path))
                .help("find out which value is right and remove the other");
                return Err(intake.refuse(finding));
            }
            places.entry(without_numbers(&path)).or_insert_with(|| (path.clone(), 0)).1 += 1;
            draft.passed_through.insert(path, raw);
        }
        for (path, count) in places.into_values() {
            intake.say(self.unknown_key(&path, count));
        }
        if self.decoded.marked {
            let place = Place { file: self.name.to_owned(), row: Some(1), column: Some(1), label: None };
            intake.say(
                Finding::note(codes::BYTE_ORDER_MARK, "the byte order mark at the start was skipped")
                    .at(place)
                    .help("save the file without it for other programs"),
            );
        }
        Ok(draft)
    }

    /// Files every trouble; one of them is the proof.
    fn refuse(&self, troubles: Vec<v1::Trouble>, intake: &mut Intake) -> Reported {
        let more = troubles.len().saturating_sub(MOST_SHOWN);
        let mut findings = troubles.into_iter().take(MOST_SHOWN).map(|trouble| {
            let mut finding = Finding::error(trouble.code, trouble.message).at(self.place(&trouble.path));
            finding.help = trouble.help;
            if finding.help.is_empty() {
                finding.help.push(
                    match trouble.code {
                        v1::codes::MISSING_VALUE => "add the value",
                        _ => "correct the value, or leave the key out where the fact is not known",
                    }
                    .to_owned(),
                );
            }
            finding
        });
        // draft_from_value gives no empty list; were it to, the file would still be refused in words.
        let first = findings.next().unwrap_or_else(|| {
            Finding::error(codes::NOT_A_RECORD, "the file is not a record").at(self.place(""))
        });
        for finding in findings {
            intake.say(finding);
        }
        if more > 0 {
            intake.say(
                Finding::error(v1::codes::BAD_VALUE, format!("{more} more values are wrong or missing"))
                    .at(Place { file: self.name.to_owned(), ..Place::default() })
                    .help("correct the ones shown first: the others may have the same cause"),
            );
        }
        intake.refuse(first)
    }

    /// A key that a record does not have, at the first of `count` places.
    fn unknown_key(&self, path: &str, count: usize) -> Finding {
        let (parent, key) = path.rsplit_once('/').unwrap_or(("", path));
        let key = key.replace("~1", "/").replace("~0", "~");
        let more = match count {
            0 | 1 => String::new(),
            _ => format!(", nor at {} more places like it", count - 1),
        };
        let message = format!("`{key}` is not a key of a record here{more}");
        let finding = Finding::warning(v1::codes::UNKNOWN_KEY, message).at(self.key_place(path));
        match v1::nearest_key(parent, &key) {
            Some(near) => {
                finding.help(format!("did you mean `{near}`? The value is kept, but nothing reads it"))
            }
            None => finding.help("the value is kept, but nothing reads it"),
        }
    }

    /// The text of a value as it stands in the file.
    fn raw(&self, pointer: &str) -> Option<&str> {
        let found = self.decoded.outline.find(pointer);
        if found.whole_way { self.decoded.text.get(found.node.span.clone()) } else { None }
    }

    /// The place of a value, or of the nearest thing around it.
    fn place(&self, pointer: &str) -> Place {
        let at = self.decoded.outline.find(pointer).node.span.start;
        spot::place(self.name, self.decoded.text, at, Some(pointer))
    }

    /// The place of a key.
    fn key_place(&self, pointer: &str) -> Place {
        let found = self.decoded.outline.find(pointer);
        let at = found.key_at.unwrap_or(found.node.span.start);
        spot::place(self.name, self.decoded.text, at, Some(pointer))
    }
}
