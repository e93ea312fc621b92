//! Did a modification change how often the item fails? Fisher's exact test of two counts.

use super::Trials;
use crate::special::{Fraction, ln_binomial_probability};

/// Tables whose probability is within this relative distance of the observed one's count as equally probable, so that
/// rounding does not drop the mirror image of the observed table.
pub const FISHER_TIE: f64 = 1e-9;

/// Fisher's exact test of the same point before and after a change. Each value is the probability, if nothing changed
/// and given the totals, of a table at least as far from balance as the observed one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BeforeAfter {
    /// Counts before the change.
    pub before: Trials,
    /// Counts after it.
    pub after: Trials,
    /// In either direction: all tables that are at most as probable as the observed one (see [`FISHER_TIE`]).
    pub either: f64,
    /// Towards fewer failures after the change.
    pub fewer_after: f64,
    /// Towards more failures after the change.
    pub more_after: f64,
}

/// Fisher's exact test (R. A. Fisher, "The Design of Experiments", 1935).
pub fn fisher_exact(before: Trials, after: Trials) -> BeforeAfter {
    let failures = before.failures() + after.failures();
    let shots = before.shots() + after.shots();
    let fewest = failures.saturating_sub(after.shots());
    let most = failures.min(before.shots());
    let observed = ln_table(before.failures(), before.shots(), after.shots(), failures, shots);
    let tie = observed + libm::log1p(FISHER_TIE);
    let (mut either, mut fewer_after, mut more_after) = (0.0, 0.0, 0.0);
    for failed_before in fewest..=most {
        let ln_probability = ln_table(failed_before, before.shots(), after.shots(), failures, shots);
        let probability = libm::exp(ln_probability);
        if ln_probability <= tie {
            either += probability;
        }
        if failed_before >= before.failures() {
            fewer_after += probability;
        }
        if failed_before <= before.failures() {
            more_after += probability;
        }
    }
    let capped = |probability: f64| probability.min(1.0);
    BeforeAfter {
        before,
        after,
        either: capped(either),
        fewer_after: capped(fewer_after),
        more_after: capped(more_after),
    }
}

/// ln of the hypergeometric probability, as a quotient of binomial ones with the common share: no large factorials.
fn ln_table(failed_before: u64, before: u64, after: u64, failures: u64, shots: u64) -> f64 {
    let [k, n, m, r, total] = [failed_before, before, after, failures, shots].map(|count| count as f64);
    if failures == 0 || failures == shots {
        return 0.0;
    }
    let share = Fraction { part: r / total, rest: (total - r) / total };
    ln_binomial_probability(k, n, share) + ln_binomial_probability(r - k, m, share)
        - ln_binomial_probability(r, total, share)
}
