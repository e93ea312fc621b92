//! The one function that makes a [`Record`] of a [`Draft`].

use crate::series_times::time_findings;
use crate::*;
use std::collections::hash_map::{Entry, HashMap};
use std::collections::{BTreeMap, BTreeSet};

/// A checked record: its parts refer to one another correctly, and what did not is a finding.
///
/// Only [`check`] makes one.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Record {
    /// Original files; origins refer to them by position.
    pub sources: Vec<SourceFile>,
    /// Facts of the job.
    pub facts: Facts,
    /// Origin of each job fact: path in the record (`/item/serial`) to place.
    pub origins: BTreeMap<String, Origin>,
    /// Series, in the order in which they were read.
    pub series: Vec<Series>,
    /// Observations, in the order in which they were read.
    pub observations: Vec<Observation>,
    /// Verifications with their traces.
    pub verifications: Vec<Verification>,
    /// Rows that could not be read.
    pub unread: Vec<UnreadRow>,
    /// Values under names that the model does not know, kept as written.
    pub passed_through: BTreeMap<String, String>,
    /// Findings of readers and of the check, in the order in which they are shown.
    pub findings: Vec<Finding>,
}

impl Record {
    /// Where a place in an original file is, in words a user knows.
    pub fn place(&self, origin: &Origin) -> Place {
        source::place(&self.sources, origin)
    }

    /// The place of a job fact by its path, where it is known; the longest known part of the path counts.
    pub fn place_of(&self, path: &str) -> Option<Place> {
        source::origin_of(&self.origins, path).map(|origin| self.place(origin))
    }

    /// The state that the headline verdict belongs to: the one the plan names, else the first (as received).
    pub fn judged_state(&self) -> Option<&StateId> {
        self.facts.plan.judged_state.as_ref().or_else(|| self.facts.states.first().map(|s| &s.id))
    }

    /// Whether the facts without which a paper is no test report are all there: item, laboratory, method.
    pub fn missing_identity(&self) -> Vec<&'static str> {
        let facts = &self.facts;
        let mut missing = Vec::new();
        if facts.item.name.is_none() && facts.item.type_designation.is_none() {
            missing.push("item");
        }
        if facts.laboratory.name.is_none() {
            missing.push("laboratory");
        }
        if facts.method.standard.is_none() {
            missing.push("method");
        }
        missing
    }
}

/// A record together with what the check found; `Err` in [`check`] means that no record can be made.
pub type Checked = Result<Record, Vec<Finding>>;

/// Codes of the findings that the check raises.
pub mod codes {
    use crate::CodeDoc;

    /// Every code with its explanation.
    pub const ALL: &[CodeDoc] = &[
        CodeDoc {
            code: DUPLICATE_NAME,
            means: "Two entries of the same kind carry the same name.",
            matters: "Whatever refers to the name could mean either of them.",
            example: "two [[points]] with id = \"P1\" in job.toml",
            remedy: "Give one of them another name, and use it in the logs that mean it.",
        },
        CodeDoc {
            code: UNKNOWN_POINT,
            means: "A log names a point that the job does not describe.",
            matters: "Discharges at a point that is not in the plan count for nothing, and nobody can tell where they went.",
            example: "a log row with point `P12` when job.toml describes P1 to P8",
            remedy: "Add the point to job.toml, or mend the name in the mapping or the log.",
        },
        CodeDoc {
            code: UNKNOWN_STATE,
            means: "A series or the plan names a modification state that the job does not describe.",
            matters: "A verdict belongs to one state of the item; a series in an unknown state supports no verdict.",
            example: "state = \"M2\" under [[logs]] when job.toml describes as-received and M1",
            remedy: "Add the state under [[states]], or mend the name.",
        },
        CodeDoc {
            code: UNKNOWN_NAME,
            means: "Something refers to a function, mode or piece of equipment that the job does not describe.",
            matters: "The reference leads nowhere, so what depends on it can't be shown or checked.",
            example: "a demand for function `display` when [[functions]] has none of that name",
            remedy: "Add the entry, or mend the name.",
        },
        CodeDoc {
            code: OBSERVATION_WITHOUT_ROW,
            means: "An observation names a log row that holds no discharge.",
            matters: "What was seen must belong to a discharge to be judged.",
            example: "at = { file = \"logs/contact.csv\", row = 99 } when the log has 40 rows",
            remedy: "Count the physical lines of the log from 1 and correct the row.",
        },
        CodeDoc {
            code: TOO_MANY_SPARKS,
            means: "A series reports more sparks than approaches.",
            matters: "One of the two numbers is wrong, and the count decides whether the requirement is met.",
            example: "10 approaches, 11 sparks",
            remedy: "Look at the original log and correct it or rule on it.",
        },
        CodeDoc {
            code: SERIES_BEFORE_STATE,
            means: "A series in a state of the item was applied before the item came into that state.",
            matters: "A verdict belongs to one state; one of the two statements is wrong, and the series may belong to another.",
            example: "state M1 since 2026-03-12T10:20, a series in M1 at 09:40 of that day",
            remedy: "Mend the state or the time in the log, or `since` under [[states]].",
        },
        CodeDoc {
            code: FASTER_THAN_STATED,
            means: "The times of a series leave less time between its discharges than the interval stated for it.",
            matters: "Standards ask for a least interval, and an item that is hit again too soon may react otherwise. Which of the two is right, only the bench knows.",
            example: "10 discharges from 09:05:00 to 09:05:04 with interval_s = 1",
            remedy: "Mend the interval, the count or the times.",
        },
        CodeDoc {
            code: CHAIN_INCOMPLETE,
            means: "The measuring chain of a verification can't be worked out: what one of its elements does is not stated, or none has a transfer impedance.",
            matters: "Without it, samples in volts can't be turned into amperes.",
            example: "chain = [{ equipment = \"A-1\", attenuation_db = 20 }] without the target",
            remedy: "State transfer_v_per_a of the target and the attenuation of every other element, from their certificates.",
        },
        CodeDoc {
            code: CHAIN_CONTRADICTS,
            means: "Two statements about a measuring chain don't agree: two values for one element, or the chain and the conversion that a waveform was read with.",
            matters: "Every current depends on the conversion, and the program would have to choose one of them without grounds.",
            example: "scale_a_per_v = 10 beside a chain of 2 V/A and 20 dB, which comes to 5 A/V",
            remedy: "Take the one that is wrong out of job.toml.",
        },
    ];

    /// A measuring chain that can't be worked out.
    pub const CHAIN_INCOMPLETE: &str = "record/chain-incomplete";
    /// Two statements about a measuring chain that don't agree.
    pub const CHAIN_CONTRADICTS: &str = "record/chain-contradicts";

    /// A series before the state that it is in.
    pub const SERIES_BEFORE_STATE: &str = "record/series-before-state";
    /// Less time between discharges than is stated.
    pub const FASTER_THAN_STATED: &str = "record/faster-than-stated";
    /// Two entries with the same name.
    pub const DUPLICATE_NAME: &str = "record/duplicate-name";
    /// A series at a point that the job does not describe.
    pub const UNKNOWN_POINT: &str = "record/unknown-point";
    /// A state that the job does not describe.
    pub const UNKNOWN_STATE: &str = "record/unknown-state";
    /// A function, mode or equipment that the job does not describe.
    pub const UNKNOWN_NAME: &str = "record/unknown-name";
    /// An observation whose row holds no discharge.
    pub const OBSERVATION_WITHOUT_ROW: &str = "record/observation-without-row";
    /// More sparks than approaches.
    pub const TOO_MANY_SPARKS: &str = "record/too-many-sparks";
}

/// Checks that the parts of a draft refer to one another correctly and makes a record of it.
///
/// Observations that a job file completed are joined with the log's own, those without a series are
/// attached to the series whose rows hold theirs. Findings are sorted as they are shown.
///
/// # Errors
/// All findings, when one of them makes the record ambiguous (two entries with the same name).
pub fn check(draft: Draft) -> Checked {
    let mut work = Work { draft, findings: Vec::new() };
    work.names();
    for index in 0..work.draft.verifications.len() {
        work.findings.extend(chain_findings(&work.draft, index));
    }
    work.series();
    work.findings.extend(time_findings(&work.draft));
    work.observations();
    work.identities();
    let Work { mut draft, findings } = work;
    let fatal = findings.iter().any(|f| f.severity == Severity::Error);
    for finding in findings {
        if !draft.findings.contains(&finding) {
            draft.findings.push(finding);
        }
    }
    draft.findings.sort_by(|a, b| a.sort_key().cmp(&b.sort_key()));
    if fatal {
        return Err(draft.findings);
    }
    Ok(Record {
        sources: draft.sources,
        facts: draft.facts,
        origins: draft.origins,
        series: draft.series,
        observations: draft.observations,
        verifications: draft.verifications,
        unread: draft.unread,
        passed_through: draft.passed_through,
        findings: draft.findings,
    })
}

struct Work {
    draft: Draft,
    findings: Vec<Finding>,
}

impl Work {
    fn place(&self, origin: &Origin) -> Place {
        self.draft.place(origin)
    }

    fn place_of(&self, path: &str) -> Option<Place> {
        self.draft.place_of(path)
    }

    fn at(&self, finding: Finding, path: &str) -> Finding {
        match self.place_of(path) {
            Some(place) => finding.at(Place { label: Some(spoken_path(path)), ..place }),
            None => finding,
        }
    }

    fn names(&mut self) {
        let facts = &self.draft.facts;
        let lists: [(&str, Vec<String>); 6] = [
            ("points", facts.points.iter().map(|p| p.id.to_string()).collect()),
            ("states", facts.states.iter().map(|s| s.id.to_string()).collect()),
            ("modes", facts.modes.iter().map(|m| m.id.to_string()).collect()),
            ("functions", facts.functions.iter().map(|f| f.id.to_string()).collect()),
            ("equipment", facts.equipment.iter().map(|e| e.id.to_string()).collect()),
            ("verifications", self.draft.verifications.iter().map(|v| v.id.to_string()).collect()),
        ];
        let mut found = Vec::new();
        for (list, names) in &lists {
            let mut first: BTreeMap<&str, usize> = BTreeMap::new();
            for (index, name) in names.iter().enumerate() {
                match first.get(name.as_str()) {
                    None => {
                        first.insert(name, index);
                    }
                    Some(earlier) => {
                        let mut finding = Finding::error(
                            codes::DUPLICATE_NAME,
                            format!("two entries under `{list}` are named `{name}`"),
                        )
                        .help("give one of them another name");
                        finding = self.at(finding, &format!("/{list}/{index}"));
                        if let Some(place) = self.place_of(&format!("/{list}/{earlier}")) {
                            finding = finding.with_related(place, "first used here");
                        }
                        found.push(finding);
                    }
                }
            }
        }
        let mut unknown = |what: &str, name: &str, path: String, known: Vec<String>| {
            found.push(
                self.at(
                    Finding::warning(codes::UNKNOWN_NAME, format!("no {what} is named `{name}`"))
                        .help(one_of(what, &known)),
                    &path,
                ),
            );
        };
        let names_of = |list: &str| -> Vec<String> {
            lists.iter().find(|(name, _)| *name == list).map(|(_, names)| names.clone()).unwrap_or_default()
        };
        for (index, demand) in facts.demands.iter().enumerate() {
            if let Some(function) = &demand.function
                && !facts.functions.iter().any(|f| f.id == *function)
            {
                unknown(
                    "function",
                    function.as_str(),
                    format!("/demands/{index}/function"),
                    names_of("functions"),
                );
            }
            if let Some(mode) = &demand.mode
                && !facts.modes.iter().any(|m| m.id == *mode)
            {
                unknown("mode", mode.as_str(), format!("/demands/{index}/mode"), names_of("modes"));
            }
        }
        for (index, mode) in facts.plan.modes.iter().enumerate() {
            if !facts.modes.iter().any(|m| m.id == *mode) {
                unknown("mode", mode.as_str(), format!("/plan/modes/{index}"), names_of("modes"));
            }
        }
        if let Some(equipment) = &facts.generator.equipment
            && !facts.equipment.iter().any(|e| e.id == *equipment)
        {
            unknown("equipment", equipment.as_str(), "/generator/equipment".into(), names_of("equipment"));
        }
        if let Some(state) = &facts.plan.judged_state
            && !facts.states.iter().any(|s| s.id == *state)
        {
            found.push(
                self.at(
                    Finding::error(codes::UNKNOWN_STATE, format!("no state is named `{state}`"))
                        .help(one_of("state", &names_of("states"))),
                    "/plan/judged_state",
                ),
            );
        }
        self.findings.extend(found);
    }

    fn series(&mut self) {
        let known_points: BTreeSet<&PointId> = self.draft.facts.points.iter().map(|p| &p.id).collect();
        let known_states: BTreeSet<&StateId> = self.draft.facts.states.iter().map(|s| &s.id).collect();
        let (mut points_said, mut states_said) = (BTreeSet::new(), BTreeSet::new());
        let mut found = Vec::new();
        for series in &self.draft.series {
            let source = series.origin.source;
            if !known_points.contains(&series.point) && points_said.insert((source, &series.point)) {
                let names: Vec<String> = known_points.iter().map(|p| p.to_string()).collect();
                found.push(
                    Finding::warning(
                        codes::UNKNOWN_POINT,
                        format!("point `{}` is not described in the job", series.point),
                    )
                    .at(self.place(&series.origin))
                    .help(one_of("point", &names)),
                );
            }
            if let Some(state) = &series.state
                && !known_states.contains(state)
                && states_said.insert((source, state))
            {
                let names: Vec<String> = known_states.iter().map(|s| s.to_string()).collect();
                found.push(
                    Finding::warning(
                        codes::UNKNOWN_STATE,
                        format!("state `{state}` is not described in the job"),
                    )
                    .at(self.place(&series.origin))
                    .help(one_of("state", &names)),
                );
            }
            if series.sparks.is_some_and(|sparks| sparks > series.count) {
                found.push(
                    Finding::warning(
                        codes::TOO_MANY_SPARKS,
                        format!(
                            "{} sparks are reported for {} approaches",
                            series.sparks.unwrap_or_default(),
                            series.count
                        ),
                    )
                    .at(self.place(&series.origin))
                    .help("look at the original log: one of the two numbers is wrong"),
                );
            }
        }
        self.findings.extend(found);
    }

    /// Series and observations are referred to by name: no two may carry the same.
    fn identities(&mut self) {
        let draft = &self.draft;
        let series = draft.series.iter().map(|s| (s.id.as_str(), &s.origin));
        let observations = draft.observations.iter().map(|o| (o.id.as_str(), &o.origin));
        let mut found = self.same_names("series", series);
        found.extend(self.same_names("observations", observations));
        self.findings.extend(found);
    }

    fn same_names<'d>(&self, what: &str, named: impl Iterator<Item = (&'d str, &'d Origin)>) -> Vec<Finding> {
        let mut first: HashMap<&str, &Origin> = HashMap::new();
        let mut found = Vec::new();
        for (name, origin) in named {
            match first.entry(name) {
                Entry::Vacant(place) => {
                    place.insert(origin);
                }
                Entry::Occupied(earlier) => found.push(
                    Finding::error(codes::DUPLICATE_NAME, format!("two {what} are named `{name}`"))
                        .at(self.place(origin))
                        .with_related(self.place(earlier.get()), "first used here")
                        .help("give one of them another name; a log's series are named after its file"),
                ),
            }
        }
        found
    }

    /// Attaches observations to series by row, and joins the log's words with the job's facts.
    fn observations(&mut self) {
        let by_name: BTreeMap<String, SourceId> = (0u32..)
            .zip(&self.draft.sources)
            .map(|(index, source)| (source.name.clone(), SourceId(index)))
            .collect();
        let mut rows: BTreeMap<(SourceId, u64), (SeriesId, u32)> = BTreeMap::new();
        for series in &self.draft.series {
            if series.shots.is_empty() {
                if let Some(range) = series.origin.rows {
                    for row in range.first..=range.last.min(range.first.saturating_add(1_000_000)) {
                        rows.entry((series.origin.source, row)).or_insert_with(|| (series.id.clone(), 0));
                    }
                }
            } else {
                for (index, shot) in (1u32..).zip(&series.shots) {
                    rows.insert((series.origin.source, shot.row), (series.id.clone(), index));
                }
            }
        }
        let mut all: Vec<Option<Observation>> =
            std::mem::take(&mut self.draft.observations).into_iter().map(Some).collect();
        // Rows for which a log has words of its own. Those that a statement has completed already keep their
        // row, so that a record that is read again and checked again stays as it is.
        let mut by_row: BTreeMap<(SourceId, u64), usize> = BTreeMap::new();
        for (index, observation) in all.iter().enumerate() {
            let Some(observation) = observation else { continue };
            if (observation.at.is_none() || observation.completed_at.is_some())
                && let Some(range) = observation.origin.rows
            {
                by_row.entry((observation.origin.source, range.first)).or_insert(index);
            }
        }
        for index in 0..all.len() {
            let Some(mut observation) = all[index].take() else { continue };
            let joined = observation.series.is_some() && observation.completed_at.is_some();
            let Some(at) = observation.at.clone().filter(|_| !joined) else {
                all[index] = Some(observation);
                continue;
            };
            let key = by_name.get(&at.file).map(|source| (*source, at.row));
            match key.and_then(|key| rows.get(&key).map(|found| (key, found))) {
                Some((key, (series, shot))) => {
                    observation.series = Some(series.clone());
                    if *shot > 0 {
                        observation.shot = observation.shot.or(Some(*shot));
                    }
                    let own = by_row.get(&key).copied();
                    match own.and_then(|own| all.get_mut(own)).and_then(Option::as_mut) {
                        // The log has words of its own for this row: the job's facts complete them.
                        Some(logged) if logged.at.is_none() => *logged = complete(logged, observation),
                        _ => all[index] = Some(observation),
                    }
                }
                None => {
                    if observation.series.is_none() {
                        let finding = Finding::warning(
                            codes::OBSERVATION_WITHOUT_ROW,
                            format!("row {} of `{}` holds no discharge", at.row, at.file),
                        )
                        .at(self.place(&observation.origin))
                        .help("count the physical lines of the log from 1, header included");
                        self.findings.push(finding);
                    }
                    all[index] = Some(observation);
                }
            }
        }
        self.draft.observations = all.into_iter().flatten().collect();
    }
}

/// The facts of `stated` on top of the words of `logged`; where both speak, the log's words stay as seen
/// and the statement's become the remark, so that neither is lost.
fn complete(logged: &Observation, stated: Observation) -> Observation {
    let remark = match (&logged.remark, &stated.remark, &stated.seen) {
        (own, None, None) => own.clone(),
        (own, remark, seen) => {
            let parts: Vec<&str> = [own, seen, remark].into_iter().flatten().map(String::as_str).collect();
            Some(parts.join("; "))
        }
    };
    Observation {
        id: logged.id.clone(),
        series: logged.series.clone().or(stated.series),
        shot: logged.shot.or(stated.shot),
        at: stated.at,
        function: stated.function.or_else(|| logged.function.clone()),
        seen: logged.seen.clone().or(stated.seen),
        written_class: stated.written_class.or(logged.written_class),
        state_changed: either(stated.state_changed, &logged.state_changed),
        data_lost: either(stated.data_lost, &logged.data_lost),
        restored: either(stated.restored, &logged.restored),
        lasted_s: stated.lasted_s.or(logged.lasted_s),
        before_next: either(stated.before_next, &logged.before_next),
        coincident: either(stated.coincident, &logged.coincident),
        affected: either(stated.affected, &logged.affected),
        remark,
        origin: logged.origin.clone(),
        completed_at: Some(stated.origin),
    }
}

fn either<T: Clone>(stated: Stated<T>, logged: &Stated<T>) -> Stated<T> {
    if stated.is_not_stated() { logged.clone() } else { stated }
}

fn one_of(what: &str, names: &[String]) -> String {
    if names.is_empty() {
        return format!("the job describes no {what} yet: add one");
    }
    let shown: Vec<String> = names.iter().take(12).map(|n| format!("`{n}`")).collect();
    let more = if names.len() > 12 { " ..." } else { "" };
    format!("known: {}{more}", shown.join(", "))
}
