//! What two assessments come to, side by side: verdicts, required series, and the voltages gained or lost.

use crate::{Assessment, CoverageState, Verdict};
use std::collections::BTreeMap;

/// What can be said about one required series, in one state of the item.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SeriesResult {
    /// How the discharges applied compare with those required.
    pub coverage: CoverageState,
    /// Discharges that count.
    pub counted: u32,
    /// Discharges required.
    pub required: u32,
    /// Worst class observed.
    pub worst: Option<record::Class>,
    /// What can be said.
    pub verdict: Verdict,
}

/// A required series whose result differs; `None` on the side whose plan does not have it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SeriesChange {
    /// The series in words: `P1 contact +8 kV`.
    pub label: String,
    /// In the earlier assessment.
    pub before: Option<SeriesResult>,
    /// In the later one.
    pub after: Option<SeriesResult>,
}

/// The verdict on a state of the item; `None` on the side that does not have the state.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StateChange {
    /// The state; none for a job that names no states.
    pub state: Option<String>,
    /// In the earlier assessment.
    pub before: Option<Verdict>,
    /// In the later one.
    pub after: Option<Verdict>,
}

/// Two assessments side by side. Series are those of each headline's state.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Comparison {
    /// The headline verdicts.
    pub verdicts: (Verdict, Verdict),
    /// States whose verdict differs.
    pub states: Vec<StateChange>,
    /// Required series whose result differs.
    pub series: Vec<SeriesChange>,
    /// Series that are met now and were not before.
    pub gained: Vec<String>,
    /// Series that were met before and are not now.
    pub lost: Vec<String>,
}

impl Comparison {
    /// Whether nothing differs.
    pub fn is_empty(&self) -> bool {
        self.verdicts.0 == self.verdicts.1 && self.states.is_empty() && self.series.is_empty()
    }
}

/// A fact that two records state differently.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FactChange {
    /// Where it stands in the canonical JSON (`/facts/item/serial`).
    pub path: String,
    /// What the earlier record says there, as JSON; none where it says nothing.
    pub before: Option<String>,
    /// What the later one says.
    pub after: Option<String>,
}

/// The report that an amended one is compared with.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Earlier {
    /// Its number.
    pub number: Option<String>,
    /// Its revision.
    pub revision: Option<String>,
    /// Identity of its evidence pack.
    pub pack: Option<String>,
    /// Rules by which it was judged when its pack was made; both sides of the comparison are judged by today's.
    pub rules_version: Option<u64>,
}

/// What an amended report changes (ISO/IEC 17025:2017 7.8.8.1: any change of information is identified).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Changes {
    /// The report that is amended.
    pub earlier: Earlier,
    /// Facts that differ.
    pub facts: Vec<FactChange>,
    /// How many more differ than are listed.
    pub more_facts: u64,
    /// Results that differ.
    pub results: Comparison,
}

/// Compares the results of two assessments, the earlier one first.
pub fn compare(before: &Assessment, after: &Assessment) -> Comparison {
    let (old, new) = (series_results(before), series_results(after));
    // In the order of the later plan, what it no longer has after it.
    let mut labels: Vec<&String> = new.iter().map(|(label, _)| label).collect();
    labels.extend(old.iter().map(|(label, _)| label).filter(|label| !new.iter().any(|(l, _)| l == *label)));
    let (old, new): (BTreeMap<_, _>, BTreeMap<_, _>) =
        (old.iter().cloned().collect(), new.iter().cloned().collect());
    let met = |result: Option<&SeriesResult>| result.is_some_and(|r| r.verdict == Verdict::Pass);
    let mut comparison = Comparison {
        verdicts: (before.verdict(), after.verdict()),
        states: state_changes(before, after),
        series: Vec::new(),
        gained: Vec::new(),
        lost: Vec::new(),
    };
    for label in labels {
        let (one, two) = (old.get(label), new.get(label));
        match (met(one), met(two)) {
            (false, true) => comparison.gained.push(label.clone()),
            (true, false) => comparison.lost.push(label.clone()),
            _ => {}
        }
        if one != two {
            let change = SeriesChange { label: label.clone(), before: one.cloned(), after: two.cloned() };
            comparison.series.push(change);
        }
    }
    comparison
}

fn series_results(assessment: &Assessment) -> Vec<(String, SeriesResult)> {
    let Some(state) = assessment.headline() else { return Vec::new() };
    state
        .coverage
        .iter()
        .filter_map(|coverage| {
            let required = assessment.plan.get(coverage.required)?;
            let result = SeriesResult {
                coverage: coverage.state,
                counted: coverage.counted,
                required: required.count,
                worst: coverage.worst,
                verdict: coverage.verdict,
            };
            Some((required.label(), result))
        })
        .collect()
}

fn state_changes(before: &Assessment, after: &Assessment) -> Vec<StateChange> {
    let verdicts = |of: &Assessment| -> Vec<(Option<String>, Verdict)> {
        of.states.iter().map(|s| (s.state.as_ref().map(|id| id.as_str().to_owned()), s.verdict)).collect()
    };
    let (old, new) = (verdicts(before), verdicts(after));
    let find = |list: &[(Option<String>, Verdict)], name: &Option<String>| {
        list.iter().find(|(known, _)| known == name).map(|(_, verdict)| *verdict)
    };
    let mut names: Vec<Option<String>> = new.iter().map(|(name, _)| name.clone()).collect();
    names.extend(old.iter().map(|(name, _)| name.clone()).filter(|name| find(&new, name).is_none()));
    names
        .into_iter()
        .map(|name| StateChange { before: find(&old, &name), after: find(&new, &name), state: name })
        .filter(|change| change.before != change.after)
        .collect()
}
