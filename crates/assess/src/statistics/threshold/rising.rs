//! Threshold from several searches that rise step by step until the item fails.

use super::levels::{KilovoltLimits, NoThreshold, magnitude};
use crate::special::{Confidence, Fraction, OutOfDomain, ln_binomial_probability};
use record::Kilovolts;

/// One search: voltages that rise step by step, and the one at which the item failed first.
#[derive(Clone, Debug, PartialEq)]
pub struct RisingRun {
    last_passed_kv: Option<f64>,
    failed_kv: Option<f64>,
}

impl RisingRun {
    /// Takes the voltages that the item passed, in order, and the next one if it failed there. Refuses voltages that
    /// don't rise, and a search without any.
    pub fn new(passed: &[Kilovolts], failed: Option<Kilovolts>) -> Result<Self, OutOfDomain> {
        let mut last: Option<f64> = None;
        for level in passed.iter().chain(failed.as_ref()) {
            let level = magnitude(*level)?;
            if last.is_some_and(|last| level <= last) {
                return Err(OutOfDomain::new("a step of a rising search", level, "above the step before it"));
            }
            last = Some(level);
        }
        if last.is_none() {
            return Err(OutOfDomain::new("a rising search", "no steps", "of at least one step"));
        }
        let last_passed_kv = passed.last().map(|level| magnitude(*level)).transpose()?;
        Ok(Self { last_passed_kv, failed_kv: failed.map(magnitude).transpose()? })
    }
}

/// The voltage that half of such searches exceed before the item fails.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RisingThreshold {
    /// Number of searches.
    pub runs: u64,
    /// The median lies above this voltage, in kilovolts; none where the middle searches failed at their first step.
    pub above_kv: Option<f64>,
    /// The median lies at or below this voltage, in kilovolts; none where the middle searches ended without failure.
    pub up_to_kv: Option<f64>,
    /// Middle between the two, in kilovolts, where both are there.
    pub threshold_kv: Option<f64>,
    /// Limits for the median of all such searches, or why there are none.
    pub limits: Result<KilovoltLimits, NoThreshold>,
}

impl RisingThreshold {
    /// The method, for a report.
    pub const METHOD: &'static str = "median of rising-step searches; limits from order statistics (sign test), \
        each search known to one step";
}

/// The median threshold of searches that each rise until the item fails.
///
/// No distribution is assumed, only that searches are independent and alike. Each search tells only that its threshold
/// lies above the last voltage passed and at or below the one that failed; the lower limit is taken from the former,
/// the upper from the latter, so that the limits hold at least as often as stated.
pub fn rising_step_threshold(runs: &[RisingRun], confidence: Confidence) -> RisingThreshold {
    // A missing lower end sorts first, a missing upper end last.
    let sorted = |mut ends: Vec<f64>| {
        ends.sort_by(f64::total_cmp);
        ends
    };
    let lows = sorted(runs.iter().map(|run| run.last_passed_kv.unwrap_or(f64::NEG_INFINITY)).collect());
    let highs = sorted(runs.iter().map(|run| run.failed_kv.unwrap_or(f64::INFINITY)).collect());
    let (above_kv, up_to_kv) = (middle(&lows), middle(&highs));
    let threshold_kv = above_kv.zip(up_to_kv).map(|(above, up_to)| 0.5 * (above + up_to));
    let limits = limits(&lows, &highs, confidence);
    RisingThreshold { runs: runs.len() as u64, above_kv, up_to_kv, threshold_kv, limits }
}

fn finite(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}

fn middle(sorted: &[f64]) -> Option<f64> {
    let upper = sorted.get(sorted.len() / 2)?;
    let lower = sorted.get(sorted.len().checked_sub(1)? / 2)?;
    finite(0.5 * (lower + upper))
}

fn limits(lows: &[f64], highs: &[f64], confidence: Confidence) -> Result<KilovoltLimits, NoThreshold> {
    if lows.is_empty() {
        return Err(NoThreshold::NoShots);
    }
    if highs.iter().all(|high| high.is_infinite()) {
        return Err(NoThreshold::NeverFailed);
    }
    let n = lows.len() as f64;
    let half = Fraction::of(0.5);
    // The largest rank whose order statistic lies above the median with at most half the risk.
    let (mut rank, mut below) = (0_usize, 0.0);
    for count in 0..lows.len() {
        below += libm::exp(ln_binomial_probability(count as f64, n, half));
        if 2.0 * below > confidence.risk() * (1.0 + super::super::RELATIVE_TIE) {
            break;
        }
        rank = count + 1;
    }
    let Some(low) = rank.checked_sub(1).and_then(|index| lows.get(index)) else {
        return Err(NoThreshold::TooFewRuns { needed: runs_needed(confidence) });
    };
    let high =
        lows.len().checked_sub(rank).and_then(|index| highs.get(index)).copied().unwrap_or(f64::INFINITY);
    Ok(KilovoltLimits { low_kv: finite(*low), high_kv: finite(high), confidence })
}

/// The fewest runs of which the first and the last have the confidence: 2 / 2^n at most the risk.
fn runs_needed(confidence: Confidence) -> u64 {
    let (mut runs, mut risk) = (1, 1.0);
    while risk > confidence.risk() * (1.0 + super::super::RELATIVE_TIE) {
        runs += 1;
        risk *= 0.5;
    }
    runs
}
