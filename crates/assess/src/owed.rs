//! What is still owed for another edition, level or product standard, from a record made for the first one.

use crate::assessment::{Act, Assessment, CoverageState, Verdict};
use crate::bench_plan::{BenchPlan, HandWork, made};
use crate::job::assess;
use crate::standard::{PolarityDemand, Standard};
use record::{PolarityRule, Record};
use std::collections::BTreeMap;

/// What another standard or level asks for.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Other {
    /// Level of the other standard; none keeps the plan's own voltages or level.
    pub level: Option<String>,
    /// Words of the other standard's vocabulary that are accepted; none keeps the record's demands.
    pub accepted: Vec<String>,
}

/// What is owed.
#[derive(Clone, Debug, PartialEq)]
pub struct Owed {
    /// The record as it is judged under the other data.
    pub assessment: Assessment,
    /// Series still to be applied, in order.
    pub plan: BenchPlan,
    /// Required series that what was applied covers already.
    pub covered: usize,
    /// What else is to be stated or settled on paper.
    pub paper: Vec<String>,
    /// What was changed in the plan to hold it against the other data.
    pub changes: Vec<String>,
}

/// Holds a record against the data of another standard, and lists what is still owed with reasons.
pub fn owed(record: &Record, standard: &Standard, other: &Other, hand: HandWork) -> Owed {
    let mut again = record.clone();
    let mut changes = Vec::new();
    let facts = &mut again.facts;
    facts.method.standard = Some(standard.id.clone());
    if let Some(level) = &other.level {
        facts.plan.level = Some(level.clone());
        let own = [&mut facts.plan.contact_kv, &mut facts.plan.air_kv, &mut facts.plan.indirect_kv];
        for list in own {
            list.clear();
        }
        changes.push(format!("level {level} in place of the record's plan"));
    }
    if standard.rules.polarity.value == PolarityDemand::Both
        && facts.plan.polarity != Some(PolarityRule::Both)
    {
        facts.plan.polarity = Some(PolarityRule::Both);
        changes.push(format!("both polarities: {} asks for them", standard.full_name()));
    }
    if facts.plan.discharges.is_some_and(|own| own < standard.rules.discharges.value) {
        facts.plan.discharges = None;
        changes.push(format!("{} discharges in place of the plan's fewer", standard.rules.discharges.value));
    }
    if facts.plan.interval_s.is_some_and(|own| own < standard.rules.interval_s.value) {
        facts.plan.interval_s = None;
        changes
            .push(format!("{} between discharges in place of the plan's", standard.rules.interval_s.value));
    }
    if standard.networks.is_empty() && facts.plan.network_pf.is_some() {
        facts.plan.network_pf = None;
        facts.plan.network_ohm = None;
        changes.push("the standard's own network in place of the plan's".into());
    }
    if !other.accepted.is_empty() {
        for demand in &mut facts.demands {
            demand.accepted = other.accepted.clone();
        }
        changes.push(format!("accepted outcomes: {}", other.accepted.join(", ")));
    }
    let assessment = assess(&again, Some(standard));
    let mut wanted: BTreeMap<usize, (u32, String)> = BTreeMap::new();
    let mut paper = Vec::new();
    let mut covered = 0;
    if let Some(state) = assessment.headline() {
        let uncounted: BTreeMap<_, _> = state.uncounted.iter().map(|u| (&u.series, u.why.as_str())).collect();
        for settlement in &state.settle {
            match &settlement.act {
                Act::Apply { owed } => {
                    for (row, count) in owed {
                        let why = why_owed(&again, &assessment, *row, &uncounted);
                        wanted.insert(*row, (*count, why));
                    }
                }
                Act::Repeat { owed, .. } => {
                    let why = settlement.what.to_string().split(':').next().unwrap_or_default().to_owned();
                    wanted.extend(owed.iter().map(|(row, count)| (*row, (*count, why.clone()))));
                }
                Act::State { .. }
                | Act::StateSeries { .. }
                | Act::StateObservation { .. }
                | Act::Rule { .. } => {
                    paper.push(settlement.what.to_string());
                }
            }
        }
        if state.verdict == Verdict::Fail {
            // A failed job has no list of what would settle it; what was not applied is owed all the same.
            for row in &state.coverage {
                let Some(required) = assessment.plan.get(row.required) else { continue };
                let lacking = required.count.saturating_sub(row.counted);
                if matches!(row.state, CoverageState::Missing | CoverageState::Short) && lacking > 0 {
                    let why = why_owed(&again, &assessment, row.required, &uncounted);
                    wanted.insert(row.required, (lacking, why));
                }
            }
        }
        covered = state.coverage.iter().filter(|row| !wanted.contains_key(&row.required)).count();
    }
    let wanted = wanted.into_iter().map(|(row, (count, why))| (row, count, Some(why))).collect();
    let plan = made(&again, standard, hand, &assessment.plan, assessment.plan_problems.clone(), wanted);
    Owed { assessment, plan, covered, paper, changes }
}

fn why_owed(
    record: &Record,
    assessment: &Assessment,
    row: usize,
    uncounted: &BTreeMap<&record::SeriesId, &str>,
) -> String {
    let Some(required) = assessment.plan.get(row) else { return String::new() };
    let counted = assessment
        .headline()
        .and_then(|s| s.coverage.iter().find(|c| c.required == row))
        .map_or(0, |c| c.counted);
    if counted > 0 {
        return format!("{counted} of {} applied", required.count);
    }
    let here = |s: &&record::Series| {
        s.point == required.point && s.application == required.application && s.polarity == required.polarity
    };
    let same = record.series.iter().filter(here).filter(|s| s.voltage_kv == required.voltage_kv);
    if let Some(why) = same.filter_map(|s| uncounted.get(&s.id)).next() {
        return format!("applied, but {why}");
    }
    if record.series.iter().any(|s| here(&s)) {
        return "not applied at this voltage".into();
    }
    "not applied there".into()
}
