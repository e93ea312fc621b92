//! What the counts of each required series say by themselves: exact binomial limits, and the chance to miss an effect.

use crate::assessment::{ChanceToMiss, CountStatistics, Coverage, JudgedObservation, Verdict};
use crate::special::{Confidence, Probability};
use crate::standard::number;
use crate::statistics::{Side, Trials, chance_of_no_failure, exact_interval};
use record::{Decimal, Observation, ObservationId, Record};
use std::collections::{BTreeMap, BTreeSet};

/// Effects for which the chance to miss is told: at one shot in 100, in 20, in 10.
const PER_SHOT: [Decimal; 3] = [
    Decimal::from_parts(1, 0, 0, false, 2),
    Decimal::from_parts(5, 0, 0, false, 2),
    Decimal::from_parts(1, 0, 0, false, 1),
];

/// Statistics for the coverage of a state: an entry for each pair of counts, fewest shots first.
///
/// A shot failed where an observation at it lies outside the demand. Observations that name no shot count as one
/// failed shot each, up to the number of shots. Series without a shot say nothing.
pub(crate) fn statistics(
    record: &Record,
    coverage: &[Coverage],
    observations: &[JudgedObservation],
) -> Vec<CountStatistics> {
    let outside: BTreeSet<&ObservationId> =
        observations.iter().filter(|o| o.verdict == Some(Verdict::Fail)).map(|o| &o.observation).collect();
    let by_id: BTreeMap<&ObservationId, &Observation> = if outside.is_empty() {
        BTreeMap::new()
    } else {
        record.observations.iter().map(|o| (&o.id, o)).collect()
    };
    let mut counted: BTreeMap<(u32, u32), usize> = BTreeMap::new();
    for row in coverage.iter().filter(|row| row.counted > 0) {
        let mut shots = BTreeSet::new();
        let mut unnamed = 0usize;
        for id in row.observations.iter().filter(|id| outside.contains(id)) {
            match by_id.get(id).map(|observation| (&observation.series, observation.shot)) {
                Some((series, Some(shot))) => _ = shots.insert((series, shot)),
                _ => unnamed += 1,
            }
        }
        let failures = u32::try_from(shots.len() + unnamed).unwrap_or(u32::MAX).min(row.counted);
        *counted.entry((row.counted, failures)).or_default() += 1;
    }
    let entry = |((shots, failures), required_series)| entry(shots, failures, required_series);
    counted.into_iter().filter_map(entry).collect()
}

fn entry(shots: u32, failures: u32, required_series: usize) -> Option<CountStatistics> {
    let trials = Trials::new(failures.into(), shots.into()).ok()?;
    let confidence = Confidence::ninety_five();
    // With no failure the lower limit is 0 whatever the confidence: all of the risk belongs to the upper one.
    let side = if failures == 0 { Side::Upper } else { Side::Both };
    let limits = exact_interval(trials, confidence, side);
    let miss = |per_shot: Decimal| {
        let probability = Probability::new(number(per_shot)).ok()?;
        Some(ChanceToMiss { per_shot, chance: chance_of_no_failure(probability, shots.into()) })
    };
    Some(CountStatistics {
        shots,
        failures,
        required_series,
        low: limits.low,
        high: limits.high,
        confidence: confidence.as_decimal(),
        chances_to_miss: PER_SHOT.into_iter().filter_map(miss).collect(),
    })
}
