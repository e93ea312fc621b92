//! Reads a saved form: its journal, folded, becomes series, observations and facts, each with its row.

use crate::base64::decode;
use crate::codes;
use crate::day::{Day, Event, Placed, SeriesKey, Work, fold};
use crate::entry::{Entry, Kind};
use crate::file::{FORM, FormFile, Planned};
use crate::kept::{Kept, kept};
use crate::lines::lines;
use crate::notes::{label, notes};
use crate::stated::{Stated, stated};
use plugin_api::wire::v1;
use plugin_api::{Intake, Probe, ReadContext, Reader, Reported, Source};
use record::{CodeDoc, Facts, Finding, Observation, Place, RowAccount, Series, SourceRole};
use serde::Deserialize;
use serde_json::{Map, Value, json};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::io::Read;

/// The largest form that is read: a day with many photos.
const MAX_BYTES: u64 = 512 << 20;

/// Reads saved forms.
#[derive(Clone, Copy, Debug, Default)]
pub struct FormReader;

impl Reader for FormReader {
    fn name(&self) -> &'static str {
        "form"
    }

    fn about(&self) -> &'static str {
        "a saved form of the bench, as the page made by `form` saves it"
    }

    fn codes(&self) -> &'static [CodeDoc] {
        codes::READ
    }

    fn role(&self) -> SourceRole {
        SourceRole::Form
    }

    fn probe(&self, head: &[u8], _: &str) -> Probe {
        let head = head.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(head);
        let holds = |words: &[u8]| head.windows(words.len()).any(|window| window == words);
        let object = head.iter().find(|byte| !b" \t\r\n".contains(byte)) == Some(&b'{');
        if object && holds(b"\"form\"") && holds(b"\"plan\"") && !holds(b"\"schema\"") {
            Probe::Yes
        } else {
            Probe::No
        }
    }

    fn read(&self, source: &Source<'_>, intake: &mut Intake, _: &ReadContext<'_>) -> Result<(), Reported> {
        let place = || Place { file: source.name.to_owned(), ..Place::default() };
        let unreadable = |why: String| {
            Finding::error(codes::UNREADABLE, why)
                .at(place())
                .help("copy the file again from the device that saved it")
        };
        let mut bytes = Vec::new();
        match source.open().and_then(|file| file.take(MAX_BYTES + 1).read_to_end(&mut bytes)) {
            Err(error) => return Err(intake.refuse(unreadable(format!("the file can't be read: {error}")))),
            Ok(size) if size as u64 > MAX_BYTES => {
                return Err(intake.refuse(unreadable(format!("larger than {} MiB", MAX_BYTES >> 20))));
            }
            Ok(_) => {}
        }
        let not_a_form = |why: String, row: Option<u64>| {
            Finding::error(codes::NOT_A_FORM, why)
                .at(Place { row, ..place() })
                .help("save the form again: the journal is still on the device")
        };
        let text = match std::str::from_utf8(&bytes) {
            Ok(text) => text.strip_prefix('\u{feff}').unwrap_or(text),
            Err(_) => return Err(intake.refuse(not_a_form("the file is not UTF-8".into(), None))),
        };
        let in_lines = lines(text);
        let first = if in_lines.is_some() { text.lines().next().unwrap_or_default() } else { text };
        version(first).map_err(|found| {
            intake.refuse(match found {
                Ok(other) => Finding::error(
                    codes::UNKNOWN_VERSION,
                    format!("form {other}; this program reads form {FORM}"),
                )
                .at(place())
                .help("read it with the version of the program that made it, or a later one"),
                Err(error) => not_a_form(format!("not a saved form: {error}"), Some(error.line() as u64)),
            })
        })?;
        let read = match in_lines {
            Some(read) => {
                read.map_err(|(row, why)| (row, why.split(" at line ").next().unwrap_or_default().to_owned()))
            }
            None => serde_json::from_str(text)
                .map(|file| (file, None))
                .map_err(|error| (error.line() as u64, error.to_string())),
        };
        let (file, cut_off): (FormFile<'_>, Option<u64>) = match read {
            Ok(read) => read,
            Err((row, why)) => {
                return Err(intake.refuse(not_a_form(format!("not a saved form: {why}"), Some(row))));
            }
        };
        if let Some(row) = cut_off {
            intake.say(
                Finding::warning(codes::LINE_CUT_OFF, "the last line is cut off; the page had not shown it as taken")
                    .at(Place { row: Some(row), ..place() })
                    .help("serve the form again: the page sends once more what was not stored, and the rest is put aside"),
            );
        }
        let facts = ground(&file, intake, source.name)?;
        let journal = entries(&file, text, intake, source.name)?;
        let first_state = facts.plan.judged_state.as_ref().or(facts.states.first().map(|s| &s.id));
        let day = fold(&journal, first_state.map(record::StateId::as_str));
        let plan = day.whole_plan(&file.plan);
        let work = Reading {
            name: source.name,
            source: intake.source(),
            photos: &file.photos,
            plan: &plan,
            day: &day,
        };
        let known: Vec<&str> = facts.states.iter().map(|state| state.id.as_str()).collect();
        let mut kept = kept(&journal, &day, &known);
        work.series(intake, &mut kept);
        work.observations(intake, &mut kept);
        let folder = format!("{}.photos/", source.name);
        let said = stated(&day, &facts, &folder);
        work.facts(intake, facts, said, &mut kept)?;
        work.photos(intake, &folder, &mut kept);
        notes(intake, source.name, &journal, &day, &plan);
        kept.say(intake, source.name);
        intake.entries(journal.iter().map(|placed| placed.entry.key.clone()));
        intake.understood("filled form, UTF-8");
        intake.understood(format!("form {FORM}, made by {}, {} entries", file.program, journal.len()));
        Ok(())
    }
}

/// The version, where it is the one that is known; else the version found, or why there is none.
fn version(text: &str) -> Result<(), Result<u64, serde_json::Error>> {
    #[derive(Deserialize)]
    struct Version {
        form: u64,
    }
    match serde_json::from_str::<Version>(text) {
        Ok(Version { form }) if form == u64::from(FORM) => Ok(()),
        Ok(Version { form }) => Err(Ok(form)),
        Err(error) => Err(Err(error)),
    }
}

/// The facts that the form was made from.
fn ground(file: &FormFile<'_>, intake: &mut Intake, name: &str) -> Result<Facts, Reported> {
    match v1::facts_from_value(file.facts.clone(), &[]) {
        Ok((facts, _)) => Ok(facts),
        Err(troubles) => {
            let first = troubles.first().map(|t| format!("{}: {}", t.path, t.message)).unwrap_or_default();
            let finding =
                Finding::error(codes::NOT_A_FORM, format!("the facts in the form can't be read: {first}"))
                    .at(Place { file: name.to_owned(), ..Place::default() })
                    .help("save the form again, and don't edit the file");
            Err(intake.refuse(finding))
        }
    }
}

/// The entries with their rows. One that can't be read is set aside; numbers that don't run refuse the file.
fn entries(
    file: &FormFile<'_>,
    text: &str,
    intake: &mut Intake,
    name: &str,
) -> Result<Vec<Placed>, Reported> {
    let mut journal = Vec::with_capacity(file.journal.len());
    let (mut row, mut counted_to) = (1u64, 0usize);
    let mut account = RowAccount::default();
    for (raw, number) in file.journal.iter().zip(1u64..) {
        let raw = raw.get();
        // The entry is a part of the text: its place follows from where it lies in memory.
        let offset = (raw.as_ptr() as usize).saturating_sub(text.as_ptr() as usize).min(text.len());
        let between = text.as_bytes().get(counted_to..offset).unwrap_or_default();
        row += between.iter().filter(|byte| **byte == b'\n').count() as u64;
        counted_to = offset;
        let place = Place { file: name.to_owned(), row: Some(row), ..Place::default() };
        #[derive(Deserialize)]
        struct Number {
            n: u64,
        }
        if serde_json::from_str::<Number>(raw).map(|found| found.n).ok() != Some(number) {
            let finding =
                Finding::error(codes::OUT_OF_ORDER, format!("entry {number} is missing or out of order"))
                    .at(place)
                    .help("save the form again from the device, and don't edit the file");
            return Err(intake.refuse(finding));
        }
        let entry = serde_json::from_str::<Entry>(raw).map_err(|error| error.to_string());
        match entry.and_then(|entry| whole(&entry).map(|()| entry)) {
            Ok(entry) => {
                account.used += 1;
                journal.push(Placed { row, entry });
            }
            Err(why) => {
                account.set_aside += 1;
                let why = why.split(" at line ").next().unwrap_or(&why).to_owned();
                let finding = Finding::error(
                    codes::BAD_ENTRY,
                    format!("entry {number} can't be read: {why}"),
                )
                .at(place)
                .help("save the form again from the device; if it stays, rule on this row under [[rulings]]");
                intake.set_aside(row..=row, raw, finding);
            }
        }
    }
    // Rows add up only where each entry has a line of its own, as the page writes them.
    let lines = text.lines().count() as u64;
    let held = account.used + account.set_aside;
    let own_lines = held > 0 && file.journal.iter().all(|raw| !raw.get().contains('\n'));
    if own_lines && lines >= row && row >= held {
        account.preamble = row - held;
        account.footer = lines - row;
        account.total = lines;
        intake.account(account);
    }
    Ok(journal)
}

/// Whether an entry says what an entry of its kind must say.
fn whole(entry: &Entry) -> Result<(), String> {
    let lacks = |key: &str| Err(format!("a `{:?}` entry without `{key}`", entry.kind).to_lowercase());
    if record::Moment::parse(&entry.at).is_none() {
        return Err(format!("`{}` is not a time", entry.at));
    }
    match entry.kind {
        Kind::Said if entry.about.is_none() => lacks("about"),
        Kind::Said | Kind::Told if entry.values.is_none() => lacks("values"),
        Kind::Told | Kind::Happened if entry.event.is_none() => lacks("event"),
        Kind::Done | Kind::Shot | Kind::Skip | Kind::Next if entry.series.is_none() => lacks("series"),
        Kind::Done if entry.applied.is_none() => lacks("applied"),
        Kind::Done if entry.watched.is_none() => lacks("watched"),
        Kind::Outside if entry.series.is_none() => lacks("series"),
        Kind::Outside if entry.planned.is_none() => lacks("planned"),
        Kind::Outside if entry.why.is_none() => lacks("why"),
        Kind::Undo if entry.of.is_none() => lacks("of"),
        Kind::State if entry.state.is_none() => lacks("state"),
        Kind::Photo if entry.file.is_none() => lacks("file"),
        Kind::Note if entry.text.is_none() => lacks("text"),
        Kind::Signed if entry.name.is_none() => lacks("name"),
        _ => Ok(()),
    }
}

/// The work of reading one form.
pub(crate) struct Reading<'a> {
    pub(crate) name: &'a str,
    pub(crate) source: record::SourceId,
    /// Photos by name, as base64.
    pub(crate) photos: &'a BTreeMap<String, String>,
    /// The plan of the form, with what was added to it.
    pub(crate) plan: &'a [Planned],
    pub(crate) day: &'a Day<'a>,
}

impl Reading<'_> {
    fn place(&self, row: u64) -> Place {
        Place { file: self.name.to_owned(), row: Some(row), ..Place::default() }
    }

    fn origin_text(&self, first: u64, last: u64) -> String {
        if first == last {
            format!("{}:{first}", self.source.0)
        } else {
            format!("{}:{first}-{last}", self.source.0)
        }
    }

    /// The name of a series in the record: the key of the entry that made it, the same in every copy of the form.
    fn series_id(work: &Work<'_>, events: &[&Event<'_>]) -> Option<String> {
        let first = work.done.or(work.shots.first().copied()).or(events.first().map(|event| event.touched));
        first.map(|placed| placed.entry.key.clone())
    }

    fn events_of(&self, key: &SeriesKey) -> Vec<&Event<'_>> {
        let here =
            |event: &&Event<'_>| event.state == key.0 && event.series.as_deref() == Some(key.1.as_str());
        self.day.events.iter().filter(here).collect()
    }

    pub(crate) fn series(&self, intake: &mut Intake, kept: &mut Kept) {
        for (key, work) in &self.day.series {
            let events = self.events_of(key);
            let Some(id) = Self::series_id(work, &events) else { continue };
            let planned = self.plan.iter().find(|planned| planned.id == key.1);
            let Some(value) = self.series_value(key, work, &events, id, intake) else { continue };
            let row =
                work.rows().map_or_else(|| events.first().map_or(0, |e| e.touched.row), |rows| rows.last);
            match v1::part_from_value::<v1::Series, Series>(value.clone()) {
                Ok((series, unknown)) => {
                    if !unknown.is_empty() {
                        kept.add("values", row);
                    }
                    intake.series([series]);
                }
                Err(troubles) => {
                    let what = planned.map_or_else(|| key.1.clone(), label);
                    let why: Vec<String> = troubles
                        .iter()
                        .map(|t| format!("{}: {}", t.path.trim_start_matches('/'), t.message))
                        .collect();
                    let finding = Finding::error(codes::BAD_ENTRY, format!("{what}: {}", why.join("; ")))
                        .at(self.place(row))
                        .help("save the form again from the device; if it stays, rule on this row under [[rulings]]");
                    intake.set_aside(row..=row, value.to_string(), finding);
                }
            }
        }
    }

    fn series_value(
        &self,
        key: &SeriesKey,
        work: &Work<'_>,
        events: &[&Event<'_>],
        id: String,
        intake: &mut Intake,
    ) -> Option<Value> {
        let mut value = Map::new();
        let mut put = |name: &str, found: Value| {
            if !found.is_null() {
                value.insert(name.into(), found);
            }
        };
        put("id", id.into());
        put("kind", "compliance".into());
        let shots: Vec<Value> = work
            .shots
            .iter()
            .map(|placed| {
                let mut shot = json!({ "row": placed.row, "at": placed.entry.at });
                if let (Some(spark), Some(object)) = (placed.entry.spark, shot.as_object_mut()) {
                    object.insert("spark".into(), spark.into());
                }
                shot
            })
            .collect();
        let rows = work.rows().or_else(|| events.first().map(|e| record::Rows::one(e.touched.row)))?;
        put("origin", self.origin_text(rows.first, rows.last).into());
        let started = work.shots.first().map(|placed| placed.entry.at.clone());
        if let Some(done) = work.done {
            let entry = &done.entry;
            let applied = entry.applied.as_ref()?;
            put("point", json!(applied.point));
            put("application", json!(applied.application));
            put("polarity", json!(applied.polarity));
            put("voltage_kv", json!(applied.voltage_kv));
            put("count", json!(applied.count));
            put("interval_s", json!(applied.interval_s));
            put("single", json!(applied.single));
            put("mode", json!(applied.mode));
            put("state", json!(applied.state));
            put("tip", json!(applied.tip));
            put("sparks", json!(entry.sparks));
            put("monitoring", if entry.watched == Some(true) { "continuous" } else { "interrupted" }.into());
            match &entry.copied {
                Some(copied) => {
                    // The sheet asks for the time at the end.
                    put("ended", json!(copied.at));
                    put("tested_by", json!(copied.tested_by));
                    let by = entry.by.as_deref().unwrap_or("nobody named");
                    put(
                        "remark",
                        format!(
                            "copied from paper sheet {} row {}, filled on {}; by {by} at {}",
                            copied.sheet, copied.row, copied.day, entry.at
                        )
                        .into(),
                    );
                }
                None => {
                    put("started", json!(started));
                    put("ended", json!(entry.at));
                    put("tested_by", json!(entry.by));
                }
            }
        } else {
            let planned = self.plan.iter().find(|planned| planned.id == key.1);
            if work.shots.is_empty() && events.is_empty() {
                return None;
            }
            let Some(planned) = planned else {
                intake.say(
                    Finding::warning(
                        codes::NOT_ENDED,
                        format!("series `{}` is not in the form's plan", key.1),
                    )
                    .at(self.place(rows.first)),
                );
                return None;
            };
            put("point", json!(planned.point));
            put("application", json!(planned.application));
            put("polarity", json!(planned.polarity));
            put("voltage_kv", json!(planned.voltage_kv));
            put("count", json!(work.shots.len()));
            put("interval_s", json!(planned.interval_s));
            put("single", true.into());
            put("mode", json!(planned.mode));
            put("state", json!(key.0));
            put("tip", json!(planned.tip));
            put("started", json!(started));
            put("tested_by", json!(work.shots.first().and_then(|placed| placed.entry.by.clone())));
            let all_told =
                !work.shots.is_empty() && work.shots.iter().all(|placed| placed.entry.spark.is_some());
            if all_told {
                put(
                    "sparks",
                    json!(work.shots.iter().filter(|placed| placed.entry.spark == Some(true)).count()),
                );
            }
            put(
                "remark",
                "begun and not ended in the form; only discharges that were counted one by one are known"
                    .into(),
            );
            intake.say(
                Finding::warning(
                    codes::NOT_ENDED,
                    format!("{} was begun and not ended: {} counted", label(planned), work.shots.len()),
                )
                .at(self.place(rows.first))
                .help("apply the rest, or state what was applied"),
            );
        }
        put("shots", Value::Array(shots));
        let outside = self.day.outside.iter().find(|placed| placed.entry.series.as_deref() == Some(&key.1));
        if let Some(why) = outside.and_then(|placed| placed.entry.why.as_deref()) {
            let note = format!("outside the plan: {why}");
            let remark = match value.get("remark").and_then(Value::as_str) {
                Some(remark) => format!("{note}; {remark}"),
                None => note,
            };
            value.insert("remark".into(), remark.into());
        }
        Some(Value::Object(value))
    }

    pub(crate) fn observations(&self, intake: &mut Intake, kept: &mut Kept) {
        for event in &self.day.events {
            let entry = &event.touched.entry;
            let mut value = event.told.clone();
            value.retain(|_, found| !found.is_null() && found.as_str() != Some(""));
            value.insert("id".into(), entry.key.clone().into());
            value.insert("origin".into(), self.origin_text(event.touched.row, event.last_row).into());
            let key = event.series.clone().map(|id| (event.state.clone(), id));
            let work = key.and_then(|key| self.day.series.iter().find(|(known, _)| *known == key));
            if let Some((key, work)) = work
                && let Some(id) = Self::series_id(work, &self.events_of(key))
            {
                value.insert("series".into(), id.into());
            }
            if let Some(shot) = entry.shot.filter(|shot| *shot > 0) {
                value.insert("shot".into(), shot.into());
            }
            let time = match &entry.copied {
                Some(copied) => format!("copied from paper sheet {} row {}", copied.sheet, copied.row),
                None => format!("time taken {}", entry.at),
            };
            let remark = match value.get("remark").and_then(Value::as_str) {
                Some(remark) => format!("{remark}; {time}"),
                None => time,
            };
            value.insert("remark".into(), remark.into());
            match v1::part_from_value::<v1::Observation, Observation>(Value::Object(value.clone())) {
                Ok((observation, unknown)) => {
                    if !unknown.is_empty() {
                        kept.add("values", event.last_row);
                    }
                    intake.observations([observation]);
                }
                Err(troubles) => {
                    let why: Vec<String> = troubles
                        .iter()
                        .map(|t| format!("{}: {}", t.path.trim_start_matches('/'), t.message))
                        .collect();
                    let finding = Finding::error(
                        codes::BAD_ENTRY,
                        format!("what happened at {}: {}", entry.at, why.join("; ")),
                    )
                    .at(self.place(event.last_row))
                    .help("correct it in the form and save again, or rule on this row under [[rulings]]");
                    intake.set_aside(
                        event.last_row..=event.last_row,
                        Value::Object(value).to_string(),
                        finding,
                    );
                }
            }
        }
    }

    fn facts(
        &self,
        intake: &mut Intake,
        ground: Facts,
        said: Stated,
        kept: &mut Kept,
    ) -> Result<(), Reported> {
        let origins = said.origins(self.source);
        match v1::facts_from_value(Value::Object(said.value.clone()), &[]) {
            Ok((facts, unknown)) => {
                unknown
                    .keys()
                    .filter_map(|path| longest(&said, path))
                    .for_each(|row| kept.add("values", row));
                intake.ground(ground);
                intake.facts(facts, origins);
                Ok(())
            }
            Err(troubles) => {
                let mut proof = None;
                for trouble in troubles {
                    let row = longest(&said, &trouble.path);
                    let finding = Finding::error(
                        codes::BAD_ENTRY,
                        format!("{}: {}", trouble.path.trim_start_matches('/'), trouble.message),
                    )
                    .at(Place { row, ..self.place(0) })
                    .help("correct it in the form and save again");
                    proof = Some(intake.refuse(finding));
                }
                proof.map_or(Ok(()), Err)
            }
        }
    }

    fn photos(&self, intake: &mut Intake, folder: &str, kept: &mut Kept) {
        for placed in &self.day.photos {
            let entry = &placed.entry;
            let Some(file) = &entry.file else { continue };
            let bytes = self.photos.get(file).and_then(|text| decode(text));
            let sound = bytes.as_ref().is_some_and(|bytes| {
                let digest = || Sha256::digest(bytes).iter().map(|b| format!("{b:02x}")).collect::<String>();
                entry.bytes.is_none_or(|size| size == bytes.len() as u64)
                    && entry.sha256.as_ref().is_none_or(|sha| *sha == digest())
            });
            match bytes.filter(|_| sound) {
                Some(bytes) => intake.embedded(format!("{folder}{file}"), bytes),
                None => {
                    // Nothing prints the size and the checksum of a picture that is not there.
                    kept.add("photo", placed.row);
                    intake.say(
                        Finding::warning(
                            codes::PHOTO_DAMAGED,
                            format!(
                                "photo `{file}` is missing from the file, or is not the one that was taken"
                            ),
                        )
                        .at(self.place(placed.row))
                        .help("save the form again from the device"),
                    );
                }
            }
        }
    }
}

/// The row of the longest known part of a path.
fn longest(said: &Stated, path: &str) -> Option<u64> {
    let mut path = path;
    loop {
        if let Some(row) = said.rows.get(path) {
            return Some(*row);
        }
        path = &path[..path.rfind('/')?];
    }
}
