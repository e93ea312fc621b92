//! Threshold from failures counted at several voltages: a normal distribution of the threshold, by likelihood.

use super::levels::{FailureRate, KilovoltLimits, NoThreshold, magnitude};
use crate::special::{Confidence, OutOfDomain, Tail, ln_normal_lower, normal_quantile};

/// The voltage at which half of all shots make the item fail.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ProbitThreshold {
    /// The voltage, in kilovolts; where it is only known to lie between two voltages, their middle.
    pub threshold_kv: f64,
    /// The two voltages, in kilovolts, where nothing failed up to the first and everything from the second on.
    pub between_kv: Option<(f64, f64)>,
    /// Standard deviation of the threshold from shot to shot, in kilovolts; none where the shots don't show it.
    pub spread_kv: Option<f64>,
    /// Limits for the voltage.
    pub limits: KilovoltLimits,
}

impl ProbitThreshold {
    /// The method, for a report.
    pub const METHOD: &'static str = "normal distribution of the threshold (probit), maximum likelihood; limits from the profile likelihood";
}

/// One voltage: kilovolts, failures, passes.
type Level = (f64, f64, f64);

/// Estimates the threshold by maximum likelihood, with limits from the likelihood ratio (chi-square with one degree of
/// freedom; good for many shots, rough for few). The same voltage may be given more than once.
///
/// # Errors
/// Outer: a voltage that is no magnitude. Inner: why the shots give no threshold.
pub fn probit_threshold(
    rates: &[FailureRate],
    confidence: Confidence,
) -> Result<Result<ProbitThreshold, NoThreshold>, OutOfDomain> {
    let mut levels: Vec<Level> = Vec::new();
    for rate in rates {
        let at = magnitude(rate.level)?;
        let (failures, passes) = (rate.trials.failures() as f64, rate.trials.passes() as f64);
        match levels.iter_mut().find(|(level, ..)| *level == at) {
            Some((_, failed, passed)) => (*failed, *passed) = (*failed + failures, *passed + passes),
            None => levels.push((at, failures, passes)),
        }
    }
    levels.sort_by(|a, b| a.0.total_cmp(&b.0));
    Ok(estimate(&levels, confidence))
}

fn estimate(levels: &[Level], confidence: Confidence) -> Result<ProbitThreshold, NoThreshold> {
    let (Some(bottom), Some(top)) = (levels.first(), levels.last()) else {
        return Err(NoThreshold::NoShots);
    };
    let lowest_failure =
        levels.iter().find(|(_, failures, _)| *failures > 0.0).ok_or(NoThreshold::NeverFailed)?.0;
    let highest_pass =
        levels.iter().rev().find(|(.., passes)| *passes > 0.0).ok_or(NoThreshold::AlwaysFailed)?.0;
    if bottom.0 == top.0 {
        return Err(NoThreshold::StepsTooWide);
    }
    let (threshold_kv, between_kv, spread_kv, best) = if highest_pass <= lowest_failure {
        // A step function fits as well as anything: the spread may be as small as one likes.
        let best = levels.iter().map(saturated).sum();
        (0.5 * (highest_pass + lowest_failure), Some((highest_pass, lowest_failure)), None, best)
    } else {
        let (threshold, spread) = fit(levels)?;
        (threshold, None, Some(spread), at_slope(levels, threshold, 1.0 / spread).0)
    };
    let deviate = normal_quantile(Tail::Upper(0.5 * confidence.risk()));
    let least = best - 0.5 * deviate * deviate;
    let span = top.0 - bottom.0;
    let start = between_kv.unwrap_or((threshold_kv, threshold_kv));
    // A threshold below 0 kV is none: that side is then open.
    let low_kv = limit(levels, start.0, -span, least).filter(|low| *low > 0.0);
    let high_kv = limit(levels, start.1, span, least);
    let limits = KilovoltLimits { low_kv, high_kv, confidence };
    Ok(ProbitThreshold { threshold_kv, between_kv, spread_kv, limits })
}

/// Log-likelihood of the counts at one voltage by themselves.
fn saturated((_, failures, passes): &Level) -> f64 {
    let part = |count: f64| if count > 0.0 { count * libm::log(count / (failures + passes)) } else { 0.0 };
    part(*failures) + part(*passes)
}

/// Log-likelihood and its derivative by the slope, for a threshold and a slope (1 / spread).
fn at_slope(levels: &[Level], threshold: f64, slope: f64) -> (f64, f64) {
    let (mut ln_likelihood, mut derivative) = (0.0, 0.0);
    for (level, failures, passes) in levels {
        let distance = level - threshold;
        let z = slope * distance;
        if *failures > 0.0 {
            ln_likelihood += failures * ln_normal_lower(z);
            derivative += failures * distance * hazard(z);
        }
        if *passes > 0.0 {
            ln_likelihood += passes * ln_normal_lower(-z);
            derivative -= passes * distance * hazard(-z);
        }
    }
    (ln_likelihood, derivative)
}

/// Density over lower tail of the normal distribution.
fn hazard(z: f64) -> f64 {
    libm::exp(-0.5 * z * z - 0.918_938_533_204_672_7 - ln_normal_lower(z))
}

/// Largest log-likelihood for a threshold, over slopes from 0 up; concave in the slope.
fn profile(levels: &[Level], threshold: f64) -> f64 {
    let (at_zero, rising) = at_slope(levels, threshold, 0.0);
    if rising <= 0.0 {
        return at_zero;
    }
    let farthest = levels.iter().map(|(level, ..)| (level - threshold).abs()).fold(0.0, f64::max);
    let (mut flat, mut steep) = (0.0, 1.0 / farthest);
    // Beyond that slope every shot is decided; where the likelihood still rises it has reached its limit.
    while at_slope(levels, threshold, steep).1 > 0.0 {
        if steep * farthest > 1e8 {
            return at_slope(levels, threshold, steep).0;
        }
        (flat, steep) = (steep, 2.0 * steep);
    }
    for _ in 0..100 {
        let middle = 0.5 * (flat + steep);
        if at_slope(levels, threshold, middle).1 > 0.0 {
            flat = middle
        } else {
            steep = middle
        }
        if steep - flat <= 1e-15 * steep {
            break;
        }
    }
    at_slope(levels, threshold, 0.5 * (flat + steep)).0
}

/// The threshold at which the profile falls to `least`, going from `start` in steps of `span`; none where it never does.
fn limit(levels: &[Level], start: f64, span: f64, least: f64) -> Option<f64> {
    let (mut inside, mut step) = (start, span);
    let mut outside = loop {
        let candidate = start + step;
        if profile(levels, candidate) < least {
            break candidate;
        }
        if (step / span) > 1e6 {
            return None;
        }
        inside = candidate;
        step *= 2.0;
    };
    for _ in 0..200 {
        let middle = 0.5 * (inside + outside);
        if middle == inside || middle == outside {
            break;
        }
        if profile(levels, middle) < least { outside = middle } else { inside = middle }
    }
    Some(0.5 * (inside + outside))
}

/// Threshold and spread of largest likelihood, by Fisher's scoring; for shots whose outcomes overlap.
fn fit(levels: &[Level]) -> Result<(f64, f64), NoThreshold> {
    let shots: f64 = levels.iter().map(|(_, failures, passes)| failures + passes).sum();
    let centre =
        levels.iter().map(|(level, failures, passes)| level * (failures + passes)).sum::<f64>() / shots;
    let likelihood = |[intercept, slope]: [f64; 2]| -> f64 {
        let one = |(level, failures, passes): &Level| {
            let z = intercept + slope * (level - centre);
            let part = |count: f64, z: f64| if count > 0.0 { count * ln_normal_lower(z) } else { 0.0 };
            part(*failures, z) + part(*passes, -z)
        };
        levels.iter().map(one).sum()
    };
    let mut at = [0.0, 0.0];
    let mut value = likelihood(at);
    for _ in 0..200 {
        let (mut score, mut information) = ([0.0; 2], [0.0; 3]);
        for (level, failures, passes) in levels {
            let x = level - centre;
            let z = at[0] + at[1] * x;
            let (up, down) = (hazard(z), hazard(-z));
            let residual = failures * up - passes * down;
            let weight = (failures + passes) * up * down;
            score = [score[0] + residual, score[1] + residual * x];
            information =
                [information[0] + weight, information[1] + weight * x, information[2] + weight * x * x];
        }
        let determinant = information[0] * information[2] - information[1] * information[1];
        let mut step = [
            (information[2] * score[0] - information[1] * score[1]) / determinant,
            (information[0] * score[1] - information[1] * score[0]) / determinant,
        ];
        if !step.iter().all(|part| part.is_finite()) {
            return Err(NoThreshold::StepsTooWide);
        }
        // The likelihood is concave: a step too long is halved until it gains.
        let mut moved = [at[0] + step[0], at[1] + step[1]];
        let mut halvings = 0;
        while likelihood(moved) < value && halvings < 60 {
            step = step.map(|part| 0.5 * part);
            moved = [at[0] + step[0], at[1] + step[1]];
            halvings += 1;
        }
        let done = step[0].abs() <= 1e-14 * (1.0 + at[0].abs()) && step[1].abs() <= 1e-14 * at[1].abs();
        (at, value) = (moved, likelihood(moved));
        if done || halvings == 60 {
            break;
        }
    }
    if at[1] <= 0.0 {
        return Err(NoThreshold::NotRising);
    }
    Ok((centre - at[0] / at[1], 1.0 / at[1]))
}
