//! How many shots a claim needs, and what a number of shots can be expected to show.

use crate::special::{Confidence, Fraction, OutOfDomain, Probability, beta_tails};

/// How much the risk may be above the one agreed and still count as equal to it, relative: 0.9^2 and 0.81 are the
/// same number in decimals and not in binary.
pub const RELATIVE_TIE: f64 = 1e-12;

/// Probability that `shots` shots show at least one failure, where each fails with the given probability.
pub fn chance_of_a_failure(per_shot: Probability, shots: u64) -> f64 {
    if shots == 0 {
        return 0.0;
    }
    -libm::expm1(shots as f64 * libm::log1p(-per_shot.get()))
}

/// Probability that `shots` shots show no failure at all: the chance to miss it.
pub fn chance_of_no_failure(per_shot: Probability, shots: u64) -> f64 {
    if shots == 0 {
        return 1.0;
    }
    libm::exp(shots as f64 * libm::log1p(-per_shot.get()))
}

/// The fewest shots after which, with at most `allowed` failures seen, a failure probability per shot below
/// `below` may be claimed with the given confidence.
///
/// The claim stands where an item with exactly that probability would show so few failures with a chance of at most
/// 1 - confidence (equal within [`RELATIVE_TIE`] counts as at most). With no failure allowed this is the smallest
/// whole number not below ln(1 - confidence) / ln(1 - p). Refuses 0 and 1, and needs beyond 2^50 shots.
pub fn shots_needed(below: Probability, confidence: Confidence, allowed: u64) -> Result<u64, OutOfDomain> {
    const MOST: u64 = 1 << 50;
    let p = below.get();
    let refused = |allowed| Err(OutOfDomain::new("a failure probability to claim", p, allowed));
    if p <= 0.0 || p >= 1.0 {
        return refused("above 0 and below 1");
    }
    if allowed >= MOST {
        return Err(OutOfDomain::new("a number of allowed failures", allowed, "below 2^50"));
    }
    let most_risk = confidence.risk() * (1.0 + RELATIVE_TIE);
    let enough = |shots: u64| chance_of_at_most(allowed, shots, p) <= most_risk;
    let (mut short, mut long) = (allowed, allowed.saturating_add(1));
    while !enough(long) {
        short = long;
        long = long.saturating_mul(2);
        if long > MOST {
            return refused("large enough to be shown with fewer than 2^50 shots");
        }
    }
    while long - short > 1 {
        let middle = short + (long - short) / 2;
        if enough(middle) {
            long = middle;
        } else {
            short = middle;
        }
    }
    Ok(long)
}

/// Probability of at most `failures` failures in more shots than that.
fn chance_of_at_most(failures: u64, shots: u64, p: f64) -> f64 {
    if failures == 0 {
        return libm::exp(shots as f64 * libm::log1p(-p));
    }
    beta_tails(failures as f64 + 1.0, (shots - failures) as f64, Fraction::of(p)).upper
}
