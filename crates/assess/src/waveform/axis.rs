//! The time axis of a trace, checked.

use super::codes;
use super::flags::Flags;
use super::shown::shown;
use record::{TimeBase, Trace};

/// Steps that differ from the median by more than this share of it are uneven.
const UNEVEN: f64 = 0.01;

/// A rising time axis.
pub(super) struct Axis<'a> {
    time: &'a TimeBase,
    /// Median time between samples, in nanoseconds, greater than 0.
    pub(super) step_ns: f64,
}

impl<'a> Axis<'a> {
    /// The time axis of a trace, when it rises and has a time for each sample; otherwise a finding, and why.
    pub(super) fn check(trace: &'a Trace, flags: &mut Flags<'_>) -> Result<Self, String> {
        let samples = trace.current_a.len();
        let step_ns = match &trace.time {
            TimeBase::Uniform { start_ns, step_ns } => {
                if !(start_ns.is_finite() && step_ns.is_finite() && *step_ns > 0.0) {
                    return Err(flags.error(
                        codes::BAD_TIME,
                        format!("the time between samples is {} ns", shown(*step_ns)),
                        None,
                        "state the sample interval",
                    ));
                }
                *step_ns
            }
            TimeBase::Listed(times) => {
                if times.len() != samples {
                    return Err(flags.error(
                        codes::BAD_TIME,
                        format!("{} times stand beside {samples} samples", times.len()),
                        None,
                        "export the record again",
                    ));
                }
                listed(times, flags)?
            }
        };
        Ok(Self { time: &trace.time, step_ns })
    }

    /// Time of a sample, in nanoseconds.
    pub(super) fn at(&self, index: usize) -> f64 {
        match self.time {
            TimeBase::Uniform { start_ns, step_ns } => start_ns + index as f64 * step_ns,
            TimeBase::Listed(times) => times.get(index).copied().unwrap_or(f64::NAN),
        }
    }

    /// Number of the first sample at or after a time, out of `samples`.
    pub(super) fn first_from(&self, t_ns: f64, samples: usize) -> usize {
        let (mut low, mut high) = (0, samples);
        while low < high {
            let middle = low + (high - low) / 2;
            if self.at(middle) < t_ns { low = middle + 1 } else { high = middle }
        }
        low
    }
}

fn listed(times: &[f64], flags: &mut Flags<'_>) -> Result<f64, String> {
    if let Some(index) = times.iter().position(|time| !time.is_finite()) {
        let message = format!("the time of sample {} is not a number", index + 1);
        return Err(flags.error(codes::BAD_TIME, message, Some(index), "export the record again"));
    }
    let mut steps: Vec<f64> = times.windows(2).map(|pair| pair[1] - pair[0]).collect();
    if let Some(index) = steps.iter().position(|step| *step < 0.0) {
        let (before, after) = (shown(times[index]), shown(times[index + 1]));
        let message = format!("time runs backwards: {after} ns follows {before} ns");
        return Err(flags.error(
            codes::TIME_BACKWARDS,
            message,
            Some(index + 1),
            "look whether two records were joined in one file",
        ));
    }
    let equal = steps.iter().filter(|step| **step == 0.0).count();
    if equal > 0 {
        let first = steps.iter().position(|step| *step == 0.0).map(|index| index + 1);
        let message = format!("{equal} of {} samples have the time of the sample before them", times.len());
        return Err(flags.error(
            codes::TIME_ROUNDED,
            message,
            first,
            "export the time with more digits, or state the sample interval (`sample_interval_ns`)",
        ));
    }
    let widest =
        steps.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1)).map(|(index, step)| (index, *step));
    let narrowest = steps.iter().copied().fold(f64::INFINITY, f64::min);
    let step = median(&mut steps);
    if let Some((index, widest)) = widest
        && (widest > step * (1.0 + UNEVEN) || narrowest < step * (1.0 - UNEVEN))
    {
        let message = format!(
            "the time between samples is uneven: {narrowest:.6} ns to {widest:.6} ns, usually {step:.6} ns"
        );
        flags.warning(
            codes::UNEVEN_STEP,
            message,
            Some(index + 1),
            "samples are missing or the time was rounded; the figures are interpolated across the gaps",
        );
    }
    Ok(step)
}

/// The median, the upper one of two; 0 for nothing. The values are reordered.
pub(super) fn median(values: &mut [f64]) -> f64 {
    if values.is_empty() {
        return 0.0;
    }
    let middle = values.len() / 2;
    *values.select_nth_unstable_by(middle, f64::total_cmp).1
}
