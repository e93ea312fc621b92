//! The shortest list of what would settle an undetermined verdict.
//!
//! What has to be repeated takes the place of what would only have to be completed or stated for the same
//! discharges; what is owed is listed once, in the order of the plan.

use crate::assessment::{Act, Coverage, CoverageState, Required, Settlement};
use crate::coverage::together;
use crate::phrase::{Phrase, Value, say};
use crate::standard::{Standard, Total, TotalOf};
use record::{Decimal, Polarity, Series, SeriesId};
use std::collections::{BTreeMap, BTreeSet};

/// What has to be done at the bench, collected while the verdict is made.
pub(crate) struct Bench<'a> {
    plan: &'a [Required],
    standard: &'a Standard,
    /// Words for the case that only part of the plan was run in this state.
    pub(crate) in_part: Option<Phrase>,
    /// Whether a named person says why that part suffices.
    pub(crate) justified: bool,
    repeats: Vec<(Phrase, BTreeSet<SeriesId>)>,
}

impl<'a> Bench<'a> {
    pub(crate) fn new(plan: &'a [Required], standard: &'a Standard) -> Self {
        Self { plan, standard, in_part: None, justified: false, repeats: Vec::new() }
    }

    /// Series that have to be repeated, and in which way.
    pub(crate) fn repeat(&mut self, how: Phrase, series: impl IntoIterator<Item = SeriesId>) {
        match self.repeats.iter_mut().find(|(known, _)| *known == how) {
            Some((_, list)) => list.extend(series),
            None => self.repeats.push((how, series.into_iter().collect())),
        }
    }

    /// The list: what is only to be written first, then what is to be done at the bench.
    pub(crate) fn shortest(
        self,
        paper: Vec<Settlement>,
        rows: &[Coverage],
        series: &[&Series],
    ) -> Vec<Settlement> {
        let set_aside: BTreeSet<&SeriesId> = self.repeats.iter().flat_map(|(_, list)| list).collect();
        let mut list: Vec<Settlement> = Vec::new();
        for mut settlement in paper {
            if let Act::StateSeries { series, .. } = &mut settlement.act {
                series.retain(|id| !set_aside.contains(id));
                if series.is_empty() {
                    continue;
                }
            }
            if !list.iter().any(|known| known.what == settlement.what) {
                list.push(settlement);
            }
        }
        let mut owed = self.owed(rows, series, &set_aside);
        let mut row_of: BTreeMap<&SeriesId, usize> = BTreeMap::new();
        for row in rows {
            row_of.extend(row.series.iter().map(|id| (id, row.required)));
        }
        for (how, of) in &self.repeats {
            let touched: BTreeSet<usize> = of.iter().filter_map(|id| row_of.get(id).copied()).collect();
            let again: Vec<(usize, u32)> =
                touched.into_iter().filter_map(|row| owed.remove(&row).map(|count| (row, count))).collect();
            let what = say!(
                RepeatSeries,
                "{how}: {series}",
                how = how.clone(),
                series = self.named(&again, of.len()),
            );
            let minutes = Some(self.minutes(&again));
            let series = of.iter().cloned().collect();
            list.push(Settlement { what, minutes, act: Act::Repeat { series, owed: again } });
        }
        if let Some(what) = &self.in_part {
            let missing: Vec<(usize, u32)> = rows
                .iter()
                .filter(|row| row.state == CoverageState::Missing)
                .filter_map(|row| owed.remove(&row.required).map(|count| (row.required, count)))
                .collect();
            let minutes = Some(self.minutes(&missing));
            list.push(Settlement { what: what.clone(), minutes, act: Act::Apply { owed: missing } });
        }
        for (row, count) in owed {
            let Some(required) = self.plan.get(row) else { continue };
            list.push(Settlement {
                what: say!(
                    ApplyMore,
                    "apply {count} more discharges: {series}",
                    count = Value::number(count),
                    series = Value::Series(required.label()),
                ),
                minutes: Some(required.minutes(count)),
                act: Act::Apply { owed: vec![(row, count)] },
            });
        }
        list
    }

    /// Discharges owed by required series, once those set aside don't count any more.
    fn owed(
        &self,
        rows: &[Coverage],
        series: &[&Series],
        set_aside: &BTreeSet<&SeriesId>,
    ) -> BTreeMap<usize, u32> {
        let count_of: BTreeMap<&SeriesId, &&Series> = series.iter().map(|s| (&s.id, s)).collect();
        let air_by_sparks = !self.standard.rules.air_approach_without_spark_counts.value;
        let mut kept: Vec<Coverage> = rows.to_vec();
        for row in &mut kept {
            let air = self.plan.get(row.required).is_some_and(|r| r.application == record::Application::Air);
            for id in row.series.iter().filter(|id| set_aside.contains(id)) {
                let lost = count_of
                    .get(id)
                    .map_or(0, |s| if air && air_by_sparks { s.sparks.unwrap_or(0) } else { s.count });
                row.counted = row.counted.saturating_sub(lost);
            }
        }
        let mut sums = together(self.plan, &kept);
        let mut owed: BTreeMap<usize, u32> = BTreeMap::new();
        for row in &mut kept {
            let Some(required) = self.plan.get(row.required) else { continue };
            if self.justified && row.state == CoverageState::Missing {
                continue;
            }
            let mut lacking = required.count.saturating_sub(row.counted);
            if let Some(shared) = required.shared {
                let sum = sums.entry(shared.group).or_default();
                let least = u32::from(row.counted == 0);
                lacking = lacking.min(shared.count.saturating_sub(*sum)).max(least);
                *sum = sum.saturating_add(lacking);
            }
            if lacking > 0 {
                row.counted = row.counted.saturating_add(lacking);
                owed.insert(row.required, lacking);
            }
        }
        // Constraints over the whole job: what is still lacking goes to the first series that it may go to,
        // those of one polarity before those of any.
        loop {
            let mut short = short_totals(self.plan, self.standard, &kept, |row| row.counted);
            short.sort_by_key(|(_, polarity, _)| polarity.is_none());
            let Some((total, polarity, counted)) = short.first() else { break };
            let lacking = total.least.value.saturating_sub(*counted);
            let first = kept.iter_mut().find(|row| {
                self.plan.get(row.required).is_some_and(|required| {
                    total.applies_to.value.contains(&required.application)
                        && polarity.is_none_or(|p| p == required.polarity)
                })
            });
            let Some(row) = first else { break };
            row.counted = row.counted.saturating_add(lacking);
            let count = owed.entry(row.required).or_default();
            *count = count.saturating_add(lacking);
        }
        owed
    }

    fn minutes(&self, owed: &[(usize, u32)]) -> Decimal {
        owed.iter().filter_map(|(row, count)| Some(self.plan.get(*row)?.minutes(*count))).sum()
    }

    fn named(&self, owed: &[(usize, u32)], series: usize) -> Phrase {
        let discharges: u64 = owed.iter().map(|(_, count)| u64::from(*count)).sum();
        match owed {
            [] => say!(
                SeriesNotNeeded,
                "{count} series that are not needed for the plan",
                count = Value::number(series),
            ),
            [(row, count)] => {
                let label = self.plan.get(*row).map(Required::label).unwrap_or_default();
                say!(
                    OneSeries,
                    "{series}, {count} discharges",
                    series = Value::Series(label),
                    count = Value::number(count),
                )
            }
            _ => {
                // By name, not by place in the plan: the order of points in a file says nothing.
                let mut labels: Vec<String> =
                    owed.iter().filter_map(|(row, _)| self.plan.get(*row).map(Required::label)).collect();
                labels.sort();
                labels.truncate(4);
                let series = Value::List(labels.into_iter().map(Value::Series).collect());
                let count = Value::number(discharges);
                match owed.len().saturating_sub(4) {
                    0 => say!(
                        SeveralSeries,
                        "{series}, {count} discharges in all",
                        series = series,
                        count = count,
                    ),
                    more => say!(
                        ManySeries,
                        "{series} and {more} more, {count} discharges in all",
                        series = series,
                        more = Value::number(more),
                        count = count,
                    ),
                }
            }
        }
    }
}

/// Constraints over the whole job that are not met: which, for which polarity, and what was counted.
pub(crate) fn short_totals<'s>(
    plan: &[Required],
    standard: &'s Standard,
    rows: &[Coverage],
    counted: fn(&Coverage) -> u32,
) -> Vec<(&'s Total, Option<Polarity>, u32)> {
    let mut short = Vec::new();
    for total in &standard.totals {
        let polarities: Vec<Option<Polarity>> = match total.of {
            TotalOf::Points => continue,
            TotalOf::Job => vec![None],
            TotalOf::Polarity => Polarity::ALL.iter().copied().map(Some).collect(),
        };
        for polarity in polarities {
            let mut planned = false;
            let mut sum = 0u32;
            for row in rows {
                let Some(required) = plan.get(row.required) else { continue };
                if total.applies_to.value.contains(&required.application)
                    && polarity.is_none_or(|p| p == required.polarity)
                {
                    planned = true;
                    sum = sum.saturating_add(counted(row));
                }
            }
            if planned && sum < total.least.value {
                short.push((total, polarity, sum));
            }
        }
    }
    short
}
