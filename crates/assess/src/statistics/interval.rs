//! Intervals for the probability of failure per shot.

use super::Trials;
use crate::special::{Confidence, Tail, beta_quantile, normal_quantile};

/// How the interval is found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum IntervalMethod {
    /// Exact, from the binomial distribution (C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404): covers
    /// the true probability at least as often as stated, whatever it is.
    ClopperPearson,
    /// Score interval of E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209: covers as often as stated on average.
    Wilson,
    /// Equal-tailed interval of Jeffreys' prior, beta(1/2, 1/2).
    Jeffreys,
    /// The same, reaching to 0 where nothing failed and to 1 where all did (L. D. Brown, T. T. Cai, A. DasGupta,
    /// Stat. Sci. 16 (2001) 101).
    JeffreysClosed,
}

impl std::fmt::Display for IntervalMethod {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::ClopperPearson => "exact binomial (Clopper-Pearson)",
            Self::Wilson => "Wilson score",
            Self::Jeffreys => "Jeffreys, equal tails",
            Self::JeffreysClosed => "Jeffreys, equal tails, closed at 0 and 1",
        })
    }
}

/// On which side the interval has a limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Both, each with half the risk.
    Both,
    /// Above only: "at most".
    Upper,
    /// Below only: "at least".
    Lower,
}

/// An interval for the probability of failure per shot.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// The counts.
    pub trials: Trials,
    /// Lower limit; 0 where there is none.
    pub low: f64,
    /// Upper limit; 1 where there is none.
    pub high: f64,
    /// On which side it has a limit.
    pub side: Side,
    /// Level of confidence.
    pub confidence: Confidence,
    /// How it was found.
    pub method: IntervalMethod,
}

/// The exact interval, which holds for any number of shots.
pub fn exact_interval(trials: Trials, confidence: Confidence, side: Side) -> Interval {
    interval(trials, confidence, side, IntervalMethod::ClopperPearson)
}

/// An interval by a named method.
pub fn interval(trials: Trials, confidence: Confidence, side: Side, method: IntervalMethod) -> Interval {
    let risk = if side == Side::Both { 0.5 * confidence.risk() } else { confidence.risk() };
    let low = if side == Side::Upper { 0.0 } else { lower_limit(trials, risk, method) };
    // The chance of a pass is 1 minus that of a failure: its lower limit is what is missing to the upper one.
    let high = if side == Side::Lower { 1.0 } else { upper_limit(trials, risk, method) };
    Interval { trials, low, high, side, confidence, method }
}

fn lower_limit(trials: Trials, risk: f64, method: IntervalMethod) -> f64 {
    let (failures, passes) = (trials.failures() as f64, trials.passes() as f64);
    match method {
        IntervalMethod::ClopperPearson if trials.failures() == 0 => 0.0,
        IntervalMethod::ClopperPearson => beta_quantile(failures, passes + 1.0, Tail::Lower(risk)).part,
        IntervalMethod::Wilson => wilson(trials, risk).0,
        IntervalMethod::JeffreysClosed if trials.failures() == 0 => 0.0,
        IntervalMethod::Jeffreys | IntervalMethod::JeffreysClosed => {
            beta_quantile(failures + 0.5, passes + 0.5, Tail::Lower(risk)).part
        }
    }
}

fn upper_limit(trials: Trials, risk: f64, method: IntervalMethod) -> f64 {
    let (failures, passes) = (trials.failures() as f64, trials.passes() as f64);
    match method {
        IntervalMethod::ClopperPearson if trials.passes() == 0 => 1.0,
        IntervalMethod::ClopperPearson => beta_quantile(failures + 1.0, passes, Tail::Upper(risk)).part,
        IntervalMethod::Wilson => wilson(trials, risk).1,
        IntervalMethod::JeffreysClosed if trials.passes() == 0 => 1.0,
        IntervalMethod::Jeffreys | IntervalMethod::JeffreysClosed => {
            beta_quantile(failures + 0.5, passes + 0.5, Tail::Upper(risk)).part
        }
    }
}

/// Roots of (share - p)^2 = z^2 p (1 - p) / n.
fn wilson(trials: Trials, risk: f64) -> (f64, f64) {
    let z = normal_quantile(Tail::Upper(risk));
    let square = z * z;
    let (failures, passes, n) = (trials.failures() as f64, trials.passes() as f64, trials.shots() as f64);
    let root = z * libm::sqrt(failures * passes / n + 0.25 * square);
    let high = (failures + 0.5 * square + root) / (n + square);
    // The product of the roots is failures^2 / (n (n + z^2)): no difference of equals where few failed.
    let low = failures * failures / (n * (n + square) * high);
    // Where none (all) failed the formula gives 0 (1) exactly; floating-point must too.
    (low, if trials.passes() == 0 { 1.0 } else { high })
}
