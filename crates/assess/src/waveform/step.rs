//! The response of a measuring chain to a step: its two levels and its own rise time.
//!
//! For a record of a step (a fast pulser into the chain), not of a discharge: the chain's rise time says how much it
//! lengthens that of a discharge.

use super::axis::Axis;
use super::flags::Flags;
use record::Trace;

/// What a record of a step shows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StepResponse {
    /// Level before the step: the commonest value of the lower or upper half (IEEE 181, mode of the histogram).
    pub before: f64,
    /// Level after it.
    pub after: f64,
    /// Time of the crossing of 50 %, in nanoseconds.
    pub t50_ns: f64,
    /// From 10 % to 90 %, in nanoseconds.
    pub rise_10_90_ns: f64,
    /// From 20 % to 80 %, in nanoseconds.
    pub rise_20_80_ns: f64,
}

impl StepResponse {
    /// How the levels are found, for a report.
    pub const METHOD: &'static str = "levels: means of the fullest of 100 classes of the samples in each half of the range \
        and its neighbours; straight lines between samples";

    /// Bandwidth that belongs to the rise time, in gigahertz: 0.35 / rise time (rule from memory, Gaussian response).
    pub fn bandwidth_ghz(&self) -> f64 {
        0.35 / self.rise_10_90_ns
    }
}

/// The step in a record, rising or falling; otherwise why there is none.
pub fn step_response(trace: &Trace) -> Result<StepResponse, String> {
    let values = &trace.current_a;
    if let Some(index) = values.iter().position(|value| !value.is_finite()) {
        return Err(format!("sample {} is not a number", index + 1));
    }
    let mut flags = Flags::new(trace);
    let axis = Axis::check(trace, &mut flags)?;
    let (low, high) =
        values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(*v), high.max(*v)));
    let (Some(first), true) = (values.first(), high > low) else {
        return Err("the record shows no step".to_owned());
    };
    let (bottom, top) = (level(values, low, high, false), level(values, low, high, true));
    let rising = (first - bottom).abs() < (first - top).abs();
    let (before, after) = if rising { (bottom, top) } else { (top, bottom) };
    // In parts of the step, so that a falling one is the same.
    let share = |index: usize| values.get(index).map(|value| (value - before) / (after - before));
    let half = (0..values.len()).find(|index| share(*index).is_some_and(|share| share >= 0.5));
    let half = half.filter(|half| *half > 0).ok_or("the record does not begin before the step")?;
    let cross = |index: usize, part: f64| -> Option<f64> {
        let (from, to) = (share(index.checked_sub(1)?)?, share(index)?);
        let (start, end) = (axis.at(index - 1), axis.at(index));
        Some(start + (part - from) / (to - from) * (end - start))
    };
    let back = |part: f64| {
        let last_below = (0..half).rev().find(|index| share(*index).is_some_and(|share| share < part))?;
        cross(last_below + 1, part)
    };
    let ahead = |part: f64| {
        let reached = (half..values.len()).find(|index| share(*index).is_some_and(|share| share >= part))?;
        cross(reached, part)
    };
    let between = |low: f64, high: f64| {
        let (from, to) = (back(low), ahead(high));
        from.zip(to).map(|(from, to)| to - from).ok_or_else(|| "the step is not whole".to_owned())
    };
    Ok(StepResponse {
        before,
        after,
        t50_ns: cross(half, 0.5).ok_or("the step is not whole")?,
        rise_10_90_ns: between(0.1, 0.9)?,
        rise_20_80_ns: between(0.2, 0.8)?,
    })
}

/// The mean of the fullest class in one half of the range, and its neighbours.
fn level(values: &[f64], low: f64, high: f64, upper: bool) -> f64 {
    const CLASSES: usize = 100;
    let class = |value: f64| (((value - low) / (high - low) * CLASSES as f64) as usize).min(CLASSES - 1);
    let mut counts = [0usize; CLASSES];
    for value in values {
        if let Some(count) = counts.get_mut(class(*value)) {
            *count += 1;
        }
    }
    let half = if upper { CLASSES / 2..CLASSES } else { 0..CLASSES / 2 };
    let fullest = half
        .clone()
        .max_by_key(|index| (counts.get(*index).copied(), std::cmp::Reverse(*index)))
        .unwrap_or(half.start);
    let near = values.iter().filter(|value| class(**value).abs_diff(fullest) <= 1);
    let (sum, count) = near.fold((0.0, 0usize), |(sum, count), value| (sum + value, count + 1));
    sum / count.max(1) as f64
}
