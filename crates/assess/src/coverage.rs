//! Required series against the discharges applied in one state of the item.

use crate::assessment::{Coverage, CoverageState, Required, Uncounted, Verdict};
use crate::standard::Standard;
use record::{Application, PointId, RunKind, Series};
use std::collections::BTreeMap;

/// What was applied against what is required; and the series that count towards nothing, with the reason.
pub(crate) fn coverage(
    standard: &Standard,
    plan: &[Required],
    series: &[&Series],
) -> (Vec<Coverage>, Vec<Uncounted>) {
    let mut rows: Vec<Coverage> = (0..plan.len())
        .map(|required| Coverage {
            required,
            counted: 0,
            sparks: Some(0),
            state: CoverageState::Missing,
            series: Vec::new(),
            worst: None,
            observations: Vec::new(),
            verdict: Verdict::Undetermined,
        })
        .collect();
    let mut uncounted = Vec::new();
    let mut at_point: BTreeMap<&PointId, Vec<usize>> = BTreeMap::new();
    for (place, required) in plan.iter().enumerate() {
        at_point.entry(&required.point).or_default().push(place);
    }
    for series in series {
        let of_point = at_point.get(&series.point).map_or(&[][..], Vec::as_slice);
        match counts_for(standard, plan, of_point, series) {
            Ok(required) => {
                let row = &mut rows[required];
                let applied = if series.application == Application::Air
                    && !standard.rules.air_approach_without_spark_counts.value
                {
                    series.sparks.unwrap_or(0)
                } else {
                    series.count
                };
                row.counted = row.counted.saturating_add(applied);
                row.sparks = match (row.sparks, series.sparks) {
                    (Some(sum), Some(sparks)) => Some(sum.saturating_add(sparks)),
                    _ => None,
                };
                row.series.push(series.id.clone());
            }
            Err(why) => uncounted.push(Uncounted { series: series.id.clone(), why }),
        }
    }
    let together = together(plan, &rows);
    for row in &mut rows {
        let required = &plan[row.required];
        let enough_together = required
            .shared
            .is_some_and(|shared| together.get(&shared.group).is_some_and(|sum| *sum >= shared.count));
        row.state = match row.counted.cmp(&required.count) {
            _ if row.counted == 0 => CoverageState::Missing,
            std::cmp::Ordering::Less if enough_together => CoverageState::Complete,
            std::cmp::Ordering::Less => CoverageState::Short,
            std::cmp::Ordering::Equal => CoverageState::Complete,
            std::cmp::Ordering::Greater => CoverageState::Exceeded,
        };
        if required.application != Application::Air || row.series.is_empty() {
            row.sparks = None;
        }
    }
    (rows, uncounted)
}

/// Discharges that count, summed over the series that share a number.
pub(crate) fn together(plan: &[Required], rows: &[Coverage]) -> BTreeMap<u32, u32> {
    let mut sums: BTreeMap<u32, u32> = BTreeMap::new();
    for row in rows {
        if let Some(shared) = plan.get(row.required).and_then(|required| required.shared) {
            let sum = sums.entry(shared.group).or_default();
            *sum = sum.saturating_add(row.counted);
        }
    }
    sums
}

/// The required series that a series counts towards, of those at its point, or why it counts towards none.
fn counts_for(
    standard: &Standard,
    plan: &[Required],
    of_point: &[usize],
    series: &Series,
) -> Result<usize, String> {
    match series.kind {
        RunKind::Compliance => {}
        RunKind::Exploratory => return Err("exploratory".into()),
        RunKind::Threshold => return Err("threshold search".into()),
    }
    if standard.rules.single_discharges.value && series.single == Some(false) {
        return Err("bursts, not single discharges".into());
    }
    let fits = |required: &Required| {
        required.application == series.application
            && required.polarity == series.polarity
            && required.voltage_kv == series.voltage_kv
    };
    let fitting = || of_point.iter().map(|place| (*place, &plan[*place])).filter(|(_, r)| fits(r));
    let Some((_, first)) = fitting().next() else { return Err("not planned".into()) };
    let place = fitting().find(|(_, r)| r.mode.is_none() || r.mode == series.mode).map(|(place, _)| place);
    let Some(place) = place else {
        return Err(match &series.mode {
            Some(mode) => format!("mode {mode} is not planned"),
            None => format!(
                "the mode is not stated (planned: {})",
                first.mode.as_ref().map(ToString::to_string).unwrap_or_default()
            ),
        });
    };
    if let Some(interval) = series.interval_s
        && interval < plan[place].interval_s
    {
        return Err(format!("interval {interval}, at least {} is required", plan[place].interval_s));
    }
    Ok(place)
}
