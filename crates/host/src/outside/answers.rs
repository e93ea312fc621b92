//! What a reader's answer comes to: its lines, held against the file, become facts and findings.

use super::artifacts;
use super::broke::Broke;
use super::codes;
use super::origins::Rows;
use plugin_api::wire::stdio::{self, Answer, FindingLine, SetAsideLine};
use plugin_api::wire::v1::{self, Part};
use plugin_api::{Intake, Reported, SeriesDefaults};
use record::{Facts, Finding, Origin, Place, RowAccount, Severity, SourceId};
use serde_json::{Map, Value};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// Most values that are wrong which one run names.
const MOST_SHOWN: usize = 100;

/// The lines of an answer as they come.
#[derive(Debug, Default)]
pub(super) struct Lines {
    /// Each part with the number of its line.
    parts: Vec<(u64, Value)>,
    findings: Vec<(FindingLine, Severity)>,
    aside: Vec<SetAsideLine>,
    understood: Vec<String>,
    account: Option<RowAccount>,
}

impl Lines {
    pub(super) fn take(
        &mut self,
        number: u64,
        answer: Answer,
        work: &Path,
        left: &mut u64,
    ) -> Result<(), Broke> {
        match answer {
            Answer::Record(line) => {
                let value = match (line.record, line.file) {
                    (Some(value), _) => value,
                    (None, Some(file)) => {
                        stdio::strict(&artifacts::read(work, &file, left)?).map_err(|why| {
                            Broke::new(codes::BAD_LINE, format!("gave the file `{file}`: {why}"))
                        })?
                    }
                    (None, None) => Value::Null,
                };
                self.parts.push((number, value));
            }
            Answer::Finding(line, severity) => self.findings.push((line, severity)),
            Answer::SetAside(line) => self.aside.push(line),
            Answer::Understood(line) => self.understood.push(line.what),
            Answer::Account(account) => {
                if self.account.replace(account).is_some() {
                    return Err(Broke::new(codes::BAD_LINE, "accounted for its rows twice"));
                }
            }
            Answer::Progress(_) => {}
            Answer::Done(_) => {}
        }
        Ok(())
    }
}

/// What is known about the file whose answer it is.
pub(super) struct About<'a> {
    /// The plug-in.
    pub(super) plugin: &'a str,
    /// The file's name within the job.
    pub(super) file: &'a str,
    pub(super) bytes: &'a [u8],
    /// Whether the file has rows, which must be accounted for.
    pub(super) rows: bool,
    pub(super) defaults: &'a SeriesDefaults,
}

impl About<'_> {
    /// Puts the answer into the intake.
    ///
    /// # Errors
    /// The file was refused, or the plug-in broke; the reason is filed.
    pub(super) fn file(&self, lines: Lines, intake: &mut Intake) -> Result<(), Reported> {
        let Lines { parts, findings, aside, understood, account } = lines;
        let rows = Rows::of(self.bytes);
        let mut whole = Part::default();
        let mut troubles = Vec::new();
        let mut facts_in = None;
        for (number, value) in parts {
            match self.part(number, value, intake) {
                Ok(part) => {
                    if part.facts != Facts::default()
                        && let Some(first) = facts_in.replace(number)
                    {
                        let what =
                            format!("gave facts in line {first} of its answer and again in line {number}");
                        let broke = Broke::new(codes::BAD_LINE, what)
                            .help("give all facts of a file in one line, or by one file");
                        return Err(intake.break_off(broke.finding(self.plugin, Some(self.file))));
                    }
                    join(&mut whole, part);
                }
                Err(found) => troubles.extend(found),
            }
        }
        if !troubles.is_empty() {
            return Err(refuse(troubles, intake));
        }
        let held = rows
            .hold_part(&whole)
            .and_then(|()| self.hold_places(&rows, &findings, &aside))
            .and_then(|set_aside| if self.rows { rows.account(account, &set_aside, &whole) } else { Ok(()) });
        if let Err(broke) = held {
            return Err(intake.break_off(broke.finding(self.plugin, Some(self.file))));
        }
        name_and_attach(&mut whole);
        for line in aside {
            let last = line.last_row.unwrap_or(line.row);
            let mut finding =
                Finding::error(&format!("{}/{}", self.plugin, line.code), line.message).at(Place {
                    file: self.file.to_owned(),
                    row: Some(line.row),
                    column: line.column,
                    label: line.label,
                });
            finding.help = line.help;
            intake.set_aside(line.row..=last, rows.text(line.row, last), finding);
        }
        let mut refused = None;
        for (line, severity) in findings {
            let finding = self.finding(line, severity);
            if severity == Severity::Error {
                refused = Some(intake.refuse(finding));
            } else {
                intake.say(finding);
            }
        }
        if let Some(reported) = refused {
            return Err(reported);
        }
        for what in understood {
            intake.understood(what);
        }
        if let Some(account) = account {
            intake.account(account);
        }
        let id = intake.source();
        self.hand_over(whole, id, intake);
        Ok(())
    }

    fn finding(&self, line: FindingLine, severity: Severity) -> Finding {
        let mut finding = Finding::new(severity, &format!("{}/{}", self.plugin, line.code), line.message)
            .at(Place { file: self.file.to_owned(), row: line.row, column: line.column, label: line.label });
        finding.help = line.help;
        finding.clause = line.clause;
        finding
    }

    /// Holds the places of findings and of rows set aside against the file; gives those rows, each of which is there.
    fn hold_places(
        &self,
        rows: &Rows<'_>,
        findings: &[(FindingLine, Severity)],
        aside: &[SetAsideLine],
    ) -> Result<BTreeSet<u64>, Broke> {
        for (line, _) in findings {
            if let Some(row) = line.row {
                rows.hold(row, row, line.column, "a finding")?;
            }
        }
        let mut seen = BTreeSet::new();
        for line in aside {
            let last = line.last_row.unwrap_or(line.row);
            rows.hold(line.row, last, line.column, "a row that it set aside")?;
            if let Some(row) = (line.row..=last).find(|row| !seen.insert(*row)) {
                return Err(Broke::new(codes::FALSE_ACCOUNT, format!("set row {row} aside twice")));
            }
        }
        Ok(seen)
    }

    /// One part as values of the model; what the job says of rows that don't say it themselves is filled in first.
    fn part(&self, number: u64, mut value: Value, intake: &mut Intake) -> Result<Part, Vec<Finding>> {
        for series in value.get_mut("series").and_then(Value::as_array_mut).into_iter().flatten() {
            if let Some(series) = series.as_object_mut() {
                fill(series, self.defaults);
                fill_name(series, self.file);
            }
        }
        for observation in value.get_mut("observations").and_then(Value::as_array_mut).into_iter().flatten() {
            if let Some(observation) = observation.as_object_mut() {
                fill_name(observation, self.file);
            }
        }
        let shown = value.clone();
        match v1::part_of_record_from_value(value) {
            Ok((part, unknown)) => {
                for (pointer, value) in unknown {
                    let key = pointer.rsplit('/').next().unwrap_or_default();
                    let finding = Finding::warning(
                        v1::codes::UNKNOWN_KEY,
                        format!("`{key}` is not a key of a record here; its value {value} is not used"),
                    );
                    let place = self.place(number, &shown, &pointer);
                    intake.say(finding.at(place).help(format!(
                        "report it to whoever maintains plug-in `{}`",
                        self.plugin
                    )));
                }
                Ok(part)
            }
            Err(troubles) => Err(troubles
                .into_iter()
                .map(|trouble| {
                    let mut finding = Finding::error(trouble.code, trouble.message)
                        .at(self.place(number, &shown, &trouble.path));
                    finding.help = trouble.help;
                    finding.help(format!(
                        "plug-in `{}` gave this value: look at the file there, and report it to whoever maintains the plug-in",
                        self.plugin
                    ))
                })
                .collect()),
        }
    }

    /// The place in the file that a value of a part came from, named by its JSON pointer.
    fn place(&self, number: u64, part: &Value, pointer: &str) -> Place {
        let mut origin = None;
        let mut end = pointer.len();
        while origin.is_none() && end > 0 {
            let path = format!("{}/origin", pointer.get(..end).unwrap_or_default());
            origin = part.pointer(&path).and_then(Value::as_str).map(str::to_owned);
            end = pointer.get(..end).and_then(|path| path.rfind('/')).unwrap_or(0);
        }
        let mut parts = origin.as_deref().unwrap_or_default().split(':').skip(1);
        let row = parts.next().and_then(|rows| rows.split('-').next()?.parse().ok());
        let column = row.and_then(|_: u64| parts.next()?.parse().ok());
        let label = Some(format!("{pointer} in line {number} of `{}`", self.plugin));
        Place { file: self.file.to_owned(), row, column, label }
    }

    fn hand_over(&self, mut part: Part, id: SourceId, intake: &mut Intake) {
        let of_file = |origin: &mut Origin| origin.source = id;
        part.origins.values_mut().for_each(of_file);
        for series in &mut part.series {
            of_file(&mut series.origin);
        }
        for observation in &mut part.observations {
            of_file(&mut observation.origin);
            observation.completed_at.iter_mut().for_each(of_file);
        }
        for trace in &mut part.traces {
            of_file(&mut trace.origin);
        }
        if part.facts != Facts::default() {
            intake.facts(part.facts, part.origins);
        }
        intake.series(part.series);
        intake.observations(part.observations);
        part.traces.into_iter().for_each(|trace| intake.trace(trace));
    }
}

/// Files every trouble; one of them is the proof.
fn refuse(troubles: Vec<Finding>, intake: &mut Intake) -> Reported {
    let more = troubles.len().saturating_sub(MOST_SHOWN);
    let mut troubles = troubles.into_iter().take(MOST_SHOWN);
    let first = troubles
        .next()
        .unwrap_or_else(|| Finding::error(v1::codes::BAD_VALUE, "the plug-in's record can't be read"));
    troubles.for_each(|finding| intake.say(finding));
    if more > 0 {
        intake.say(Finding::error(v1::codes::BAD_VALUE, format!("{more} more values are wrong or missing")));
    }
    intake.refuse(first)
}

fn join(whole: &mut Part, part: Part) {
    whole.series.extend(part.series);
    whole.observations.extend(part.observations);
    whole.traces.extend(part.traces);
    whole.origins.extend(part.origins);
    if part.facts != Facts::default() {
        whole.facts = part.facts;
    }
}

/// What the job says about rows that don't say it themselves.
fn fill(series: &mut Map<String, Value>, defaults: &SeriesDefaults) {
    let mut set = |key: &str, value: Option<Value>| {
        if let Some(value) = value
            && series.get(key).is_none_or(Value::is_null)
        {
            series.insert(key.to_owned(), value);
        }
    };
    let text = |text: &str| Value::String(text.to_owned());
    set("point", defaults.point.as_ref().map(|id| text(id.as_str())));
    set("kind", Some(text(defaults.kind.unwrap_or(record::RunKind::Compliance).as_str())));
    set("state", defaults.state.as_ref().map(|id| text(id.as_str())));
    set("mode", defaults.mode.as_ref().map(|id| text(id.as_str())));
    set("monitoring", defaults.monitoring.map(|word| text(word.as_str())));
    set("interval_s", defaults.interval_s.map(|seconds| text(&seconds.as_s().to_string())));
    set("single", defaults.single.map(Value::Bool));
    set("application", defaults.application.map(|word| text(word.as_str())));
    set("tested_by", defaults.tested_by.as_deref().map(text));
}

/// A name after file and row, as the program's own readers give, for what has none.
fn fill_name(entry: &mut Map<String, Value>, file: &str) {
    if entry.get("id").is_some_and(|id| !id.is_null()) {
        return;
    }
    let stem = file.rsplit_once('.').map_or(file, |(stem, _)| stem);
    let row = entry.get("origin").and_then(Value::as_str).and_then(|origin| origin.split(':').nth(1));
    let row = row.and_then(|rows| rows.split('-').next()).unwrap_or("0");
    entry.insert("id".to_owned(), Value::String(format!("{stem}#{row}")));
}

/// Attaches observations to the series, and the discharge, whose row is theirs.
fn name_and_attach(part: &mut Part) {
    let mut by_row: BTreeMap<u64, (record::SeriesId, Option<u32>)> = BTreeMap::new();
    for series in &part.series {
        for (number, shot) in (1u32..).zip(&series.shots) {
            by_row.insert(shot.row, (series.id.clone(), Some(number)));
        }
        if series.shots.is_empty()
            && let Some(rows) = series.origin.rows
        {
            for row in rows.first..=rows.last {
                by_row.entry(row).or_insert_with(|| (series.id.clone(), None));
            }
        }
    }
    for observation in &mut part.observations {
        if observation.series.is_none()
            && let Some(rows) = observation.origin.rows
            && let Some((series, shot)) = by_row.get(&rows.first)
        {
            observation.series = Some(series.clone());
            observation.shot = observation.shot.or(*shot);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_point_of_the_job_is_that_of_rows_without_one() {
        let defaults = SeriesDefaults { point: record::PointId::new("P7"), ..SeriesDefaults::default() };
        let (mut without, mut with) = (Map::new(), Map::new());
        with.insert("point".to_owned(), Value::from("P1"));
        for series in [&mut without, &mut with] {
            fill(series, &defaults);
        }
        assert_eq!((&without["point"], &with["point"]), (&Value::from("P7"), &Value::from("P1")));
    }
}
