//! The verdict on each modification state of the item, by the table of rules, with its reasons.

use crate::assessment::*;
use crate::coverage::coverage;
use crate::evidence::{evidence, mend_setup, tip_fits};
use crate::observed::Observed;
use crate::phrase::{Phrase, Value, say};
use crate::place::Places;
use crate::settle::{Bench, short_totals};
use crate::standard::Standard;
use crate::unread::unread_rows;
use record::{Class, Monitoring, ObservationId, Origin, Series, SeriesId, SourceId, StateId, Stated};
use std::collections::{BTreeMap, BTreeSet};

/// One state's verdict in the making.
pub(crate) struct StateWork<'a> {
    pub(crate) places: &'a Places<'a>,
    pub(crate) standard: &'a Standard,
    pub(crate) plan: &'a [Required],
    pub(crate) plan_problems: &'a [Reason],
    pub(crate) waveforms: &'a [JudgedTrace],
    pub(crate) state: Option<&'a StateId>,
    /// Whether it is the item as received: the whole plan is due in any case.
    pub(crate) first: bool,
}

impl StateWork<'_> {
    /// The verdict, and what each observation made in this state comes to.
    pub(crate) fn judge(&self) -> (StateVerdict, Vec<JudgedObservation>) {
        let record = self.places.record;
        let series: Vec<&Series> = record.series.iter().filter(|s| s.state.as_ref() == self.state).collect();
        let (mut rows, uncounted) = coverage(self.standard, self.plan, &series);
        let evidence = evidence(self.places, self.standard, &series, self.waveforms);
        // The generator's calibration is the first; that of other equipment says nothing about the discharges.
        let generator_known = [EvidenceKind::Calibration, EvidenceKind::Network].iter().all(|kind| {
            let own = evidence.iter().find(|item| item.kind == *kind);
            own.is_none_or(|item| !item.required || item.state == EvidenceState::Shown)
        });
        let observed = Observed {
            places: self.places,
            standard: self.standard,
            plan: self.plan,
            state: self.state,
            plan_known: !self.plan_problems.iter().any(|problem| problem.rule == Rule::PlanUnknown),
            generator_known,
        };
        let (judged, mut reasons) = observed.judge(&series);
        let of_observations = reasons.len();
        let mut paper = Vec::new();
        self.mark_rows(&mut rows, &judged, &series);
        for reason in &reasons {
            let observation = reason.values.get("observation").and_then(|id| ObservationId::new(id));
            for (asks, what) in &reason.asks {
                match (asks, &observation) {
                    (Asks::First, _) => paper.push(ask_settlement(reason, what)),
                    (Asks::Facts, Some(observation)) => {
                        let act = Act::StateObservation { observation: observation.clone() };
                        paper.push(Settlement { what: what.clone(), minutes: None, act });
                    }
                    (Asks::Facts, None) => {}
                }
            }
        }
        let of_state: BTreeSet<SourceId> = series.iter().map(|s| s.origin.source).collect();
        unread_rows(record, &of_state, &mut reasons, &mut paper);
        reasons.extend(self.plan_problems.iter().cloned());
        for problem in self.plan_problems {
            let paths = problem.values.get("path").cloned().into_iter().collect();
            paper.push(Settlement {
                what: say!(
                    SettlePlan,
                    "settle the plan: {problem}",
                    problem =
                        problem.said.clone().map_or_else(|| Value::from(problem.text.as_str()), Value::from),
                ),
                minutes: None,
                act: Act::State { paths },
            });
        }
        let mut bench = Bench::new(self.plan, self.standard);
        self.shortfall(&rows, &series, &mut reasons, &mut bench);
        self.totals(&rows, &series, &mut reasons);
        self.watched(&rows, &series, &mut reasons, &mut bench, &mut paper);
        for item in &evidence {
            let (rule, effect) = match item.state {
                EvidenceState::Violated => (Rule::EvidenceViolated, item.required),
                EvidenceState::NotStated => (Rule::EvidenceNotStated, item.required),
                EvidenceState::Shown | EvidenceState::NotNeeded => continue,
            };
            reasons.push(
                Reason::new(
                    rule,
                    effect.then_some(Verdict::Undetermined),
                    format!("{}: {}", item.kind, item.text()),
                )
                .value("kind", item.kind)
                .at(item.origins.iter().cloned()),
            );
            if effect && let Some(remedy) = &item.remedy {
                if item.repeat.is_empty() || !item.ask.is_empty() {
                    paper.push(Settlement {
                        what: remedy.clone(),
                        minutes: None,
                        act: Act::State { paths: item.ask.clone() },
                    });
                }
                if !item.repeat.is_empty() {
                    let how = if item.ask.is_empty() { remedy.clone() } else { mend_setup() };
                    bench.repeat(how, item.repeat.iter().cloned());
                }
            }
        }
        self.deviations(&mut reasons);
        let strongest =
            |reasons: &[Reason]| reasons.iter().filter_map(|r| r.effect).max().unwrap_or(Verdict::Pass);
        let verdict = strongest(&reasons);
        // What coverage, evidence and plan allow to say, whatever was observed.
        let unseen = strongest(reasons.get(of_observations..).unwrap_or_default());
        if verdict == Verdict::Pass {
            reasons.push(self.meets_plan(&rows, &series));
        }
        // Those that decide first; the order of finding them is kept within each group.
        reasons.sort_by_key(|r| std::cmp::Reverse(r.effect));
        let settle =
            if verdict == Verdict::Undetermined { bench.shortest(paper, &rows, &series) } else { Vec::new() };
        let failure_observed = reasons.iter().any(|r| r.rule == Rule::FailureAtUnknownSeverity);
        self.row_verdicts(&mut rows, &judged, &evidence, &series);
        let points = self.points(&rows, &judged, &series);
        let functions = self.functions(&judged, unseen);
        let statistics = crate::counts::statistics(self.places.record, &rows, &judged);
        let state = StateVerdict {
            state: self.state.cloned(),
            verdict,
            failure_observed: failure_observed && verdict == Verdict::Undetermined,
            reasons,
            settle,
            coverage: rows,
            uncounted,
            evidence,
            points,
            functions,
            statistics,
        };
        (state, judged)
    }

    /// Notes in each required series what was observed in it.
    fn mark_rows(&self, rows: &mut [Coverage], judged: &[JudgedObservation], series: &[&Series]) {
        let record = self.places.record;
        let mut row_of: BTreeMap<&SeriesId, usize> = BTreeMap::new();
        let known = by_id(series);
        for (index, row) in rows.iter().enumerate() {
            for id in &row.series {
                if let Some(found) = known.get(id) {
                    row_of.insert(&found.id, index);
                }
            }
        }
        let by_id: BTreeMap<_, _> = record.observations.iter().map(|o| (&o.id, o)).collect();
        let mut marks = Vec::new();
        for outcome in judged {
            let Some(observation) = by_id.get(&outcome.observation) else { continue };
            if let Some(index) = observation.series.as_ref().and_then(|id| row_of.get(id)) {
                marks.push((*index, outcome.observation.clone(), outcome.class));
            }
        }
        for (index, id, class) in marks {
            rows[index].observations.push(id);
            rows[index].worst = rows[index].worst.max(class);
        }
        for row in rows.iter_mut().filter(|row| row.observations.is_empty() && !row.series.is_empty()) {
            let watched = row.series.iter().all(|id| known.get(id).is_some_and(|s| says_watched(s)));
            row.worst = watched.then_some(Class::A);
        }
    }

    fn shortfall(
        &self,
        rows: &[Coverage],
        series: &[&Series],
        reasons: &mut Vec<Reason>,
        bench: &mut Bench<'_>,
    ) {
        let record = self.places.record;
        let missing = rows.iter().filter(|r| r.state == CoverageState::Missing).count();
        let in_part = !self.first && missing > 0 && missing < rows.len();
        let justification = self.state.and_then(|state| {
            record.facts.partial_plan_justifications.iter().position(|j| j.state == *state)
        });
        if in_part {
            let run = rows.len() - missing;
            let text = format!("{run} of {} required series were run in this state", rows.len());
            match justification {
                Some(index) => {
                    let given = &record.facts.partial_plan_justifications[index];
                    reasons.push(
                        Reason::new(
                            Rule::PlanInPartJustified,
                            None,
                            format!("{text}; {} states why this suffices: {}", given.by, given.why),
                        )
                        .at(self.places.fact(&format!("/partial_plan_justifications/{index}"))),
                    );
                }
                None => {
                    reasons.push(
                        Reason::new(Rule::PlanInPart, Some(Verdict::Undetermined), text)
                            .value("run", run)
                            .value("required", rows.len())
                            .at(series
                                .first()
                                .map(|s| s.origin.clone())
                                .or_else(|| self.places.fact("/states"))),
                    );
                    bench.in_part = Some(say!(
                        ApplyInState,
                        "apply the {missing} series not run in state {state}, or have a named person justify the part that was run",
                        missing = Value::number(missing),
                        state = self.state.map(ToString::to_string).unwrap_or_default(),
                    ));
                }
            }
        }
        bench.justified = in_part && justification.is_some();
        let known = by_id(series);
        for row in rows {
            let short = match row.state {
                CoverageState::Short => true,
                CoverageState::Missing => !in_part,
                CoverageState::Complete | CoverageState::Exceeded => false,
            };
            if !short {
                continue;
            }
            let required = &self.plan[row.required];
            let origins = row
                .series
                .iter()
                .filter_map(|id| known.get(id).map(|s| s.origin.clone()))
                .chain(row.series.is_empty().then(|| self.places.fact("/plan")).flatten());
            reasons.push(
                Reason::new(
                    Rule::SeriesShort,
                    Some(Verdict::Undetermined),
                    format!("{}: {} of {} discharges applied", required.label(), row.counted, required.count),
                )
                .value("series", required.label())
                .value("applied", row.counted)
                .value("required", required.count)
                .at(origins),
            );
        }
    }

    /// Constraints over the whole job.
    fn totals(&self, rows: &[Coverage], series: &[&Series], reasons: &mut Vec<Reason>) {
        for (total, polarity, counted) in short_totals(self.plan, self.standard, rows, |row| row.counted) {
            let kinds: Vec<&str> = total.applies_to.value.iter().map(|a| a.as_str()).collect();
            let sign = polarity.map(|p| format!("{p} ")).unwrap_or_default();
            reasons.push(
                Reason::new(
                    Rule::TotalShort,
                    Some(Verdict::Undetermined),
                    format!(
                        "{counted} {sign}discharges over the whole job ({}), at least {} are required",
                        kinds.join(", "),
                        total.least.value
                    ),
                )
                .value("applied", counted)
                .value("required", total.least.value)
                .at(series.iter().map(|s| Origin::file(s.origin.source)).chain(self.places.fact("/plan"))),
            );
        }
    }

    /// Whether each series was watched, and at which interval its discharges came.
    fn watched(
        &self,
        rows: &[Coverage],
        series: &[&Series],
        reasons: &mut Vec<Reason>,
        bench: &mut Bench<'_>,
        paper: &mut Vec<Settlement>,
    ) {
        let watching = self.standard.evidence.monitoring.value;
        let by_id = by_id(series);
        let mut open: BTreeMap<(&'static str, SourceId), Vec<SeriesId>> = BTreeMap::new();
        let mut by_results: BTreeMap<SourceId, usize> = BTreeMap::new();
        for row in rows {
            let required = &self.plan[row.required];
            for id in &row.series {
                let Some(series) = by_id.get(id) else { continue };
                let place = self.places.record.place(&series.origin);
                let mut trouble = |rule: Rule, what: &str| {
                    reasons.push(
                        Reason::new(
                            rule,
                            Some(Verdict::Undetermined),
                            format!("{}: {what} ({place})", required.label()),
                        )
                        .value("series", required.label())
                        .at([series.origin.clone()]),
                    );
                };
                match &series.monitoring {
                    _ if !watching => {}
                    Stated::Stated(Monitoring::Continuous) | Stated::NotApplicable { .. } => {}
                    Stated::Stated(Monitoring::ResultEach) => {
                        *by_results.entry(series.origin.source).or_default() += 1;
                    }
                    Stated::Stated(Monitoring::Interrupted) => {
                        trouble(Rule::SeriesNotWatched, "the item was not watched all the time");
                        bench
                            .repeat(say!(RepeatWatched, "repeat with the item watched"), [series.id.clone()]);
                    }
                    Stated::NotStated => {
                        let what = "it is not stated that the item was watched, or what it did";
                        trouble(Rule::SeriesNotWatched, what);
                        open.entry(("monitoring", series.origin.source)).or_default().push(series.id.clone());
                    }
                }
                if series.interval_s.is_none() {
                    trouble(Rule::IntervalNotStated, "the time between discharges is not stated");
                    open.entry(("interval_s", series.origin.source)).or_default().push(series.id.clone());
                }
            }
        }
        for (source, count) in by_results {
            let file = self.places.record.place(&Origin::file(source)).file;
            reasons.push(
                Reason::new(
                    Rule::WatchedByResults,
                    None,
                    format!(
                        "{file}: a result stands beside each discharge of {count} series; it is taken as the statement that the item was watched"
                    ),
                )
                .value("file", &file)
                .value("series", count)
                .at([Origin::file(source)]),
            );
        }
        for ((fact, source), series) in open {
            let file = self.places.record.place(&Origin::file(source)).file;
            let what = match fact {
                "monitoring" => say!(
                    StateWatched,
                    "state whether the item was watched throughout (monitoring), or what was seen: {count} series of {file}",
                    count = Value::number(series.len()),
                    file = file,
                ),
                _ => say!(
                    StateInterval,
                    "state the time between discharges (interval_s): {count} series of {file}",
                    count = Value::number(series.len()),
                    file = file,
                ),
            };
            paper.push(Settlement { what, minutes: None, act: Act::StateSeries { series, fact } });
        }
    }

    fn deviations(&self, reasons: &mut Vec<Reason>) {
        for (index, deviation) in self.places.record.facts.method.deviations.iter().enumerate() {
            let why = deviation.reason.as_deref().unwrap_or("reason not stated");
            reasons.push(
                Reason::new(Rule::Deviation, None, format!("deviation: {} ({why})", deviation.what))
                    .at(self.places.fact(&format!("/method/deviations/{index}"))),
            );
        }
    }

    fn meets_plan(&self, rows: &[Coverage], series: &[&Series]) -> Reason {
        let discharges: u64 = rows.iter().map(|r| u64::from(r.counted)).sum();
        let logs: BTreeSet<SourceId> = series.iter().map(|s| s.origin.source).collect();
        let run = rows.iter().filter(|r| r.state != CoverageState::Missing).count();
        Reason::new(
            Rule::MeetsPlan,
            Some(Verdict::Pass),
            format!(
                "{run} of {} required series are complete ({discharges} discharges), every outcome is within the demand, and the required evidence is shown",
                rows.len()
            ),
        )
        .value("series", rows.len())
        .value("discharges", discharges)
        .at(logs.into_iter().map(Origin::file))
    }

    /// What can be said of each required series by itself: its own coverage, watching and outcomes, under
    /// the evidence that binds its kind of discharge.
    fn row_verdicts(
        &self,
        rows: &mut [Coverage],
        judged: &[JudgedObservation],
        evidence: &[EvidenceItem],
        series: &[&Series],
    ) {
        let known = by_id(series);
        for row in rows {
            let required = &self.plan[row.required];
            let own =
                judged.iter().filter(|j| row.observations.contains(&j.observation)).filter_map(|j| j.verdict);
            let generator = &self.places.record.facts.generator;
            let sound = row.series.iter().all(|id| {
                known.get(id).is_none_or(|s| {
                    s.interval_s.is_some()
                        && (is_watched(s) || !self.standard.evidence.monitoring.value)
                        && tip_fits(generator, self.standard, s)
                })
            });
            let complete = matches!(row.state, CoverageState::Complete | CoverageState::Exceeded);
            let shown = evidence.iter().all(|item| {
                let binds = match item.kind {
                    EvidenceKind::Climate => self
                        .standard
                        .climate
                        .iter()
                        .any(|c| c.applies_to.value.contains(&required.application)),
                    // Looked at above, for each series by itself.
                    EvidenceKind::Tip => false,
                    _ => true,
                };
                !item.required
                    || !binds
                    || matches!(item.state, EvidenceState::Shown | EvidenceState::NotNeeded)
            });
            let base = if complete && sound && shown { Verdict::Pass } else { Verdict::Undetermined };
            row.verdict = own.fold(base, Verdict::max);
        }
    }

    /// A point is as good as its required series and as what was seen at it in any series of the state.
    fn points(
        &self,
        rows: &[Coverage],
        judged: &[JudgedObservation],
        series: &[&Series],
    ) -> Vec<PartVerdict> {
        let record = self.places.record;
        let mut order = Vec::new();
        let mut parts: BTreeMap<&str, PartVerdict> = BTreeMap::new();
        for row in rows {
            let point = self.plan[row.required].point.as_str();
            let part = parts.entry(point).or_insert_with(|| {
                order.push(point);
                PartVerdict {
                    name: point.to_owned(),
                    verdict: Verdict::Pass,
                    worst: None,
                    required: 0,
                    complete: 0,
                }
            });
            part.required += 1;
            part.complete +=
                usize::from(matches!(row.state, CoverageState::Complete | CoverageState::Exceeded));
            part.verdict = part.verdict.max(row.verdict);
            part.worst = part.worst.max(row.worst);
        }
        let known = self::by_id(series);
        let by_id: BTreeMap<_, _> = record.observations.iter().map(|o| (&o.id, o)).collect();
        for outcome in judged {
            let seen_in = by_id.get(&outcome.observation).and_then(|o| o.series.as_ref());
            let Some(found) = seen_in.and_then(|id| known.get(id)) else { continue };
            if let (Some(part), Some(verdict)) = (parts.get_mut(found.point.as_str()), outcome.verdict) {
                part.verdict = part.verdict.max(verdict);
            }
        }
        order.into_iter().filter_map(|name| parts.remove(name)).collect()
    }

    /// A function of which nothing was seen is as good as coverage, evidence and plan allow.
    fn functions(&self, judged: &[JudgedObservation], unseen: Verdict) -> Vec<PartVerdict> {
        let record = self.places.record;
        record
            .facts
            .functions
            .iter()
            .map(|function| {
                let mut worst = None;
                let mut verdict = unseen;
                for outcome in judged {
                    let of_function = record.observations.iter().any(|o| {
                        o.id == outcome.observation && o.function.as_ref().is_none_or(|f| *f == function.id)
                    });
                    if of_function {
                        worst = worst.max(outcome.class);
                        verdict = outcome.verdict.map_or(verdict, |v| verdict.max(v));
                    }
                }
                PartVerdict { name: function.id.to_string(), verdict, worst, required: 0, complete: 0 }
            })
            .collect()
    }
}

/// The series by their names, which a record has once each.
fn by_id<'a>(series: &[&'a Series]) -> BTreeMap<&'a SeriesId, &'a Series> {
    series.iter().map(|s| (&s.id, *s)).collect()
}

/// Whether a series counts as watched: somebody says so, or the log has a result beside each discharge.
fn is_watched(series: &Series) -> bool {
    says_watched(series) || matches!(series.monitoring, Stated::NotApplicable { .. })
}

/// Whether something is stated from which it follows that nothing went unseen.
fn says_watched(series: &Series) -> bool {
    matches!(series.monitoring, Stated::Stated(Monitoring::Continuous | Monitoring::ResultEach))
}

fn ask_settlement(reason: &Reason, what: &Phrase) -> Settlement {
    let paths = match reason.rule {
        Rule::DemandNotStated | Rule::DemandUnknownWord => vec!["/demands".to_owned()],
        _ => Vec::new(),
    };
    let observation = reason.values.get("observation").and_then(|id| ObservationId::new(id));
    let act = match observation {
        Some(observation) if paths.is_empty() => Act::StateObservation { observation },
        _ => Act::State { paths },
    };
    Settlement { what: what.clone(), minutes: None, act }
}
