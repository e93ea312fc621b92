//! Threshold from an up-and-down sequence: one step down after a failure, one step up after a pass.

use super::levels::{FailureRate, KilovoltLimits, NoThreshold, Shot, magnitude};
use super::probit::probit_threshold;
use crate::special::{Confidence, OutOfDomain};
use crate::standard::number;
use crate::statistics::Trials;
use record::Decimal;

/// Shots of which each follows from the one before it.
#[derive(Clone, Debug, PartialEq)]
pub struct UpAndDown {
    shots: Vec<Shot>,
    step: Decimal,
}

impl UpAndDown {
    /// Refuses fewer than two shots, voltages that are no magnitudes, steps that are not all equal, and a step in the
    /// wrong direction.
    pub fn new(shots: Vec<Shot>) -> Result<Self, OutOfDomain> {
        for shot in &shots {
            magnitude(shot.level)?;
        }
        let (Some(first), Some(second)) = (shots.first(), shots.get(1)) else {
            return Err(OutOfDomain::new("an up-and-down sequence", shots.len(), "of at least two shots"));
        };
        let step = (second.level.as_kv() - first.level.as_kv()).abs();
        for pair in shots.windows(2) {
            if let [before, after] = pair {
                let change = after.level.as_kv() - before.level.as_kv();
                let wanted = if before.failed { -step } else { step };
                if step.is_zero() || change != wanted {
                    let allowed = "one equal step down after a failure and one up after a pass";
                    return Err(OutOfDomain::new(
                        "a change of voltage in an up-and-down sequence",
                        change,
                        allowed,
                    ));
                }
            }
        }
        Ok(Self { shots, step })
    }

    /// The step between voltages, in kilovolts.
    pub const fn step_kv(&self) -> Decimal {
        self.step
    }
}

/// The voltage at which half of all shots make the item fail.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UpAndDownThreshold {
    /// The voltage, in kilovolts.
    pub threshold_kv: f64,
    /// Whether failures were counted; else passes, the rarer of the two.
    pub counted_failures: bool,
    /// How many of them.
    pub counted: u64,
    /// Standard deviation of the threshold from shot to shot, in kilovolts, or why it can't be had from these steps.
    pub spread_kv: Result<f64, NoThreshold>,
    /// Limits for the voltage, or why there are none.
    pub limits: Result<KilovoltLimits, NoThreshold>,
}

impl UpAndDownThreshold {
    /// The method, for a report.
    pub const METHOD: &'static str = "up-and-down, estimate of Dixon and Mood (J. Am. Stat. Assoc. 43 (1948) 109); \
        limits from the profile likelihood of a normal distribution of the threshold (rough below about 40 shots)";
}

/// Estimates the threshold after W. J. Dixon and A. M. Mood: the mean level of the rarer outcome, half a step away from
/// it; the spread 1.620 step (M + 0.029) where M, the variance of those levels in steps, is above 0.3.
///
/// # Errors
/// [`NoThreshold::NeverFailed`] or [`NoThreshold::AlwaysFailed`].
pub fn up_and_down_threshold(
    sequence: &UpAndDown,
    confidence: Confidence,
) -> Result<UpAndDownThreshold, NoThreshold> {
    let failures = sequence.shots.iter().filter(|shot| shot.failed).count();
    let passes = sequence.shots.len() - failures;
    if failures == 0 {
        return Err(NoThreshold::NeverFailed);
    }
    if passes == 0 {
        return Err(NoThreshold::AlwaysFailed);
    }
    let counted_failures = failures <= passes;
    let counted = if counted_failures { failures } else { passes };
    let levels = || {
        sequence.shots.iter().filter(|shot| shot.failed == counted_failures).map(|shot| shot.level.as_kv())
    };
    let lowest = levels().min().unwrap_or_default();
    let steps = || levels().map(|level| number((level - lowest) / sequence.step));
    let n = counted as f64;
    let mean = steps().sum::<f64>() / n;
    let variance = steps().map(|step| (step - mean) * (step - mean)).sum::<f64>() / n;
    let step_kv = number(sequence.step);
    let half = if counted_failures { -0.5 } else { 0.5 };
    let spread_kv = if variance > 0.3 {
        Ok(1.620 * step_kv * (variance + 0.029))
    } else {
        Err(NoThreshold::StepsTooWide)
    };
    let one = |shot: &Shot| {
        Trials::new(u64::from(shot.failed), 1).map(|trials| FailureRate { level: shot.level, trials })
    };
    let limits = sequence
        .shots
        .iter()
        .map(one)
        .collect::<Result<Vec<_>, _>>()
        .and_then(|rates| probit_threshold(&rates, confidence))
        // Neither can happen: the sequence holds magnitudes, and each shot is one.
        .unwrap_or(Err(NoThreshold::NoShots))
        .map(|fitted| fitted.limits);
    Ok(UpAndDownThreshold {
        threshold_kv: number(lowest) + step_kv * (mean + half),
        counted_failures,
        counted: counted as u64,
        spread_kv,
        limits,
    })
}
