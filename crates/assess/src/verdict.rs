//! The verdict on each modification state of the item, by the table of rules, with its reasons.

use crate::assessment::*;
use crate::coverage::coverage;
use crate::evidence::{evidence, tip_fits};
use crate::observed::Observed;
use crate::place::Places;
use crate::standard::Standard;
use crate::unread::unread_rows;
use record::{Class, Monitoring, Origin, Series, SeriesId, SourceId, StateId, Stated};
use std::collections::{BTreeMap, BTreeSet};

/// One state's verdict in the making.
pub(crate) struct StateWork<'a> {
    pub(crate) places: &'a Places<'a>,
    pub(crate) standard: &'a Standard,
    pub(crate) plan: &'a [Required],
    pub(crate) plan_problems: &'a [Reason],
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
        let evidence = evidence(self.places, self.standard, &series);
        let generator_known = evidence.iter().all(|item| {
            !matches!(item.kind, EvidenceKind::Calibration | EvidenceKind::Network)
                || !item.required
                || item.state == EvidenceState::Shown
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
        let mut settle = Vec::new();
        self.mark_rows(&mut rows, &judged, &series);
        let failed = reasons.iter().any(|r| r.effect == Some(Verdict::Fail));
        for reason in &reasons {
            if let Some(ask) = reason.values.get("ask") {
                settle.push(Settlement { what: ask.clone(), minutes: None });
            }
        }
        let of_state: BTreeSet<SourceId> = series.iter().map(|s| s.origin.source).collect();
        unread_rows(record, &of_state, &mut reasons, &mut settle);
        reasons.extend(self.plan_problems.iter().cloned());
        for problem in self.plan_problems {
            settle.push(Settlement { what: format!("settle the plan: {}", problem.text), minutes: None });
        }
        self.shortfall(&rows, &series, &mut reasons, &mut settle);
        self.watched(&rows, &series, &mut reasons, &mut settle);
        self.intervals(&rows, &series, &mut reasons, &mut settle);
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
                    format!("{}: {}", item.kind, item.text),
                )
                .value("kind", item.kind)
                .at(item.origins.iter().cloned()),
            );
            if effect && let Some(remedy) = &item.remedy {
                settle.push(Settlement { what: remedy.clone(), minutes: None });
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
        if failed || verdict != Verdict::Undetermined {
            settle.clear();
        }
        dedup_in_order(&mut settle);
        let failure_observed = reasons.iter().any(|r| r.rule == Rule::FailureAtUnknownSeverity);
        self.row_verdicts(&mut rows, &judged, &evidence, &series);
        let points = self.points(&rows, &judged, &series);
        let functions = self.functions(&judged, unseen);
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
        };
        (state, judged)
    }

    /// Notes in each required series what was observed in it.
    fn mark_rows(&self, rows: &mut [Coverage], judged: &[JudgedObservation], series: &[&Series]) {
        let record = self.places.record;
        let mut row_of: BTreeMap<&SeriesId, usize> = BTreeMap::new();
        for (index, row) in rows.iter().enumerate() {
            for id in &row.series {
                if let Some(found) = series.iter().find(|s| s.id == *id) {
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
            let watched = row.series.iter().all(|id| {
                series.iter().any(|s| s.id == *id && s.monitoring == Stated::Stated(Monitoring::Continuous))
            });
            row.worst = watched.then_some(Class::A);
        }
    }

    fn shortfall(
        &self,
        rows: &[Coverage],
        series: &[&Series],
        reasons: &mut Vec<Reason>,
        settle: &mut Vec<Settlement>,
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
                    let minutes = rows
                        .iter()
                        .filter(|r| r.state == CoverageState::Missing)
                        .map(|r| self.plan[r.required].minutes(self.plan[r.required].count))
                        .sum();
                    reasons.push(
                        Reason::new(Rule::PlanInPart, Some(Verdict::Undetermined), text)
                            .value("run", run)
                            .value("required", rows.len())
                            .at(series
                                .first()
                                .map(|s| s.origin.clone())
                                .or_else(|| self.places.fact("/states"))),
                    );
                    settle.push(Settlement {
                        what: format!(
                            "apply the {missing} series not run in state {}, or have a named person justify the part that was run",
                            self.state.map(ToString::to_string).unwrap_or_default()
                        ),
                        minutes: Some(minutes),
                    });
                }
            }
        }
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
            let owed = required.count.saturating_sub(row.counted);
            let origins = row
                .series
                .iter()
                .filter_map(|id| series.iter().find(|s| s.id == *id).map(|s| s.origin.clone()))
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
            settle.push(Settlement {
                what: format!("apply {owed} more discharges: {}", required.label()),
                minutes: Some(required.minutes(owed)),
            });
        }
    }

    fn watched(
        &self,
        rows: &[Coverage],
        series: &[&Series],
        reasons: &mut Vec<Reason>,
        settle: &mut Vec<Settlement>,
    ) {
        if !self.standard.evidence.monitoring.value {
            return;
        }
        for row in rows {
            let required = &self.plan[row.required];
            for id in &row.series {
                let Some(series) = series.iter().find(|s| s.id == *id) else { continue };
                let trouble = match &series.monitoring {
                    Stated::Stated(Monitoring::Continuous) => None,
                    Stated::Stated(Monitoring::Interrupted) => Some((
                        "the item was not watched all the time",
                        "repeat the series with the item watched",
                    )),
                    Stated::NotStated => Some((
                        "it is not stated that the item was watched, or what it did",
                        "state whether the item was watched throughout (monitoring), or what was seen",
                    )),
                    Stated::NotApplicable { .. } => None,
                };
                if let Some((what, ask)) = trouble {
                    let place = self.places.record.place(&series.origin);
                    reasons.push(
                        Reason::new(
                            Rule::SeriesNotWatched,
                            Some(Verdict::Undetermined),
                            format!("{}: {what} ({place})", required.label()),
                        )
                        .value("series", required.label())
                        .at([series.origin.clone()]),
                    );
                    settle.push(Settlement {
                        what: format!("{}: {ask} ({place})", required.label()),
                        minutes: None,
                    });
                }
            }
        }
    }

    fn intervals(
        &self,
        rows: &[Coverage],
        series: &[&Series],
        reasons: &mut Vec<Reason>,
        settle: &mut Vec<Settlement>,
    ) {
        for row in rows {
            let required = &self.plan[row.required];
            for id in &row.series {
                let Some(series) = series.iter().find(|s| s.id == *id) else { continue };
                if series.interval_s.is_none() {
                    let place = self.places.record.place(&series.origin);
                    reasons.push(
                        Reason::new(
                            Rule::IntervalNotStated,
                            Some(Verdict::Undetermined),
                            format!(
                                "{}: the time between discharges is not stated ({place})",
                                required.label()
                            ),
                        )
                        .at([series.origin.clone()]),
                    );
                    settle.push(Settlement {
                        what: format!("state the time between discharges (interval_s) of {}", place.file),
                        minutes: None,
                    });
                }
            }
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
        for row in rows {
            let required = &self.plan[row.required];
            let own =
                judged.iter().filter(|j| row.observations.contains(&j.observation)).filter_map(|j| j.verdict);
            let generator = &self.places.record.facts.generator;
            let sound = row.series.iter().all(|id| {
                series.iter().filter(|s| s.id == *id).all(|s| {
                    let watched = matches!(
                        s.monitoring,
                        Stated::Stated(Monitoring::Continuous) | Stated::NotApplicable { .. }
                    );
                    s.interval_s.is_some()
                        && (watched || !self.standard.evidence.monitoring.value)
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
        let by_id: BTreeMap<_, _> = record.observations.iter().map(|o| (&o.id, o)).collect();
        for outcome in judged {
            let seen_in = by_id.get(&outcome.observation).and_then(|o| o.series.as_ref());
            let Some(found) = seen_in.and_then(|id| series.iter().find(|s| s.id == *id)) else { continue };
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

fn dedup_in_order(list: &mut Vec<Settlement>) {
    let mut seen = BTreeSet::new();
    list.retain(|s| seen.insert(s.what.clone()));
}
