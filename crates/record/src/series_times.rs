//! Times that contradict what else a record says of a series.

use crate::check::codes;
use crate::{Decimal, Draft, Finding, Moment, Series};
use std::collections::BTreeSet;

/// One finding for each log and kind: what is wrong with one of its rows is mostly wrong with all.
pub(crate) fn time_findings(draft: &Draft) -> Vec<Finding> {
    let (mut states_said, mut intervals_said) = (BTreeSet::new(), BTreeSet::new());
    let mut found = Vec::new();
    for series in &draft.series {
        let source = series.origin.source;
        if let Some(finding) = before_its_state(draft, series)
            && states_said.insert((source, &series.state))
        {
            found.push(finding);
        }
        if let Some(finding) = faster_than_stated(draft, series)
            && intervals_said.insert(source)
        {
            found.push(finding);
        }
    }
    found
}

fn before_its_state(draft: &Draft, series: &Series) -> Option<Finding> {
    let id = series.state.as_ref()?;
    let (index, state) = draft.facts.states.iter().enumerate().find(|(_, state)| state.id == *id)?;
    let (since, started) = (state.since.as_ref()?, series.started.as_ref()?);
    if milliseconds(started, since)? >= 0 {
        return None;
    }
    let finding = Finding::warning(
        codes::SERIES_BEFORE_STATE,
        format!("a series in state `{id}` was applied at {started}, before that state began ({since})"),
    )
    .at(draft.place(&series.origin))
    .help("mend the state or the time of the row, or `since` of the state");
    Some(match draft.place_of(&format!("/states/{index}/since")) {
        Some(place) => finding.with_related(place, "the state began here"),
        None => finding,
    })
}

/// Intervals are limits downwards: discharges that came slower than stated harm nothing, and somebody may have looked
/// at something in between.
fn faster_than_stated(draft: &Draft, series: &Series) -> Option<Finding> {
    let stated = series.interval_s?;
    let (started, ended) = (series.started.as_ref()?, series.ended.as_ref()?);
    let between = Decimal::from(series.count.checked_sub(1).filter(|n| *n > 0)?);
    let whole = milliseconds(ended, started)?;
    // Written to the second, a time may be off by almost one; written to the minute, by almost a minute.
    let to_the_minute = [started, ended].iter().all(|at| at.local_ms().rem_euclid(60_000) == 0);
    let off = if to_the_minute { 60_000 } else { 1_000 };
    let least = stated.as_s().checked_mul(between)?.checked_mul(Decimal::from(1_000))?;
    if series.single == Some(false) || whole <= 0 || Decimal::from(whole.saturating_add(off)) >= least {
        return None;
    }
    let seconds = (Decimal::from(whole) / Decimal::from(1_000) / between).round_dp(2).normalize();
    let finding = Finding::warning(
        codes::FASTER_THAN_STATED,
        format!(
            "{} discharges from {started} to {ended} leave {seconds} s between two, the interval stated is {stated}",
            series.count
        ),
    );
    Some(finding.at(draft.place(&series.origin)).help("mend the interval, the count or the times"))
}

/// Milliseconds from `earlier` to `later`, where both are written alike.
fn milliseconds(later: &Moment, earlier: &Moment) -> Option<i64> {
    match (later.instant_ms(), earlier.instant_ms()) {
        (Some(later), Some(earlier)) => later.checked_sub(earlier),
        (None, None) => later.local_ms().checked_sub(earlier.local_ms()),
        _ => None,
    }
}
