//! Decision rules: simple acceptance, a guard band, four outcomes.

use super::conformity::{Conformity, probability_of_conformity};
use super::limits::{Measured, ToleranceLimits, between};
use crate::special::OutOfDomain;
use record::Decimal;

/// What happens on a boundary, for a report.
pub const EQUALITY_RULE: &str = "compared as exact decimals; a value exactly on a tolerance, acceptance or rejection \
    limit counts as on the passing side of it";

/// How a measured value is judged; the width of the guard band is w = r U.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DecisionRule {
    /// Pass within the tolerance limits, fail outside (ILAC-G8:09/2019 4.2.1; JCGM 106:2012 8.2).
    Simple,
    /// Pass within the limits moved inwards by w, fail outside (ILAC-G8 4.2.2); a negative r moves them outwards.
    Binary {
        /// Width of the guard band in expanded uncertainties.
        r: Decimal,
    },
    /// Pass within the limits moved inwards by w; conditional pass up to the limits; conditional fail up to w beyond
    /// them; fail farther out (ILAC-G8 4.2.3).
    FourWay {
        /// Width of the guard band in expanded uncertainties, not negative.
        r: Decimal,
    },
}

impl std::fmt::Display for DecisionRule {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Simple => f.write_str("simple acceptance"),
            Self::Binary { r } => write!(f, "binary with guard band w = {} U", r.normalize()),
            Self::FourWay { r } => write!(f, "non-binary with guard band w = {} U", r.normalize()),
        }
    }
}

/// The outcome of a decision, best first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Outcome {
    /// Conforms.
    Pass,
    /// Within the limits, but closer to them than the guard band.
    ConditionalPass,
    /// Outside the limits, but closer to them than the guard band.
    ConditionalFail,
    /// Does not conform.
    Fail,
}

impl std::fmt::Display for Outcome {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Pass => "pass",
            Self::ConditionalPass => "conditional pass",
            Self::ConditionalFail => "conditional fail",
            Self::Fail => "fail",
        })
    }
}

/// A decision with all that it follows from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Decision {
    /// The rule.
    pub rule: DecisionRule,
    /// The outcome.
    pub outcome: Outcome,
    /// Width of the guard band, in the unit of the value.
    pub guard_band: Decimal,
    /// Lower acceptance limit.
    pub accept_from: Option<Decimal>,
    /// Upper acceptance limit.
    pub accept_to: Option<Decimal>,
    /// The guard band is so wide that no value can pass.
    pub nothing_passes: bool,
    /// Probabilities that the true value lies within, below and above the tolerance limits.
    pub conformity: Conformity,
}

impl Decision {
    /// The risk that this decision is wrong, for this value: of nonconformity where it is a pass or conditional pass,
    /// of conformity where it is a fail or conditional fail (specific risk, JCGM 106 9.3).
    pub fn specific_risk(&self) -> f64 {
        match self.outcome {
            Outcome::Pass | Outcome::ConditionalPass => self.conformity.below + self.conformity.above,
            Outcome::ConditionalFail | Outcome::Fail => self.conformity.within,
        }
    }
}

/// Judges a measured value. Refuses a negative guard band for four outcomes, and numbers whose product has no place in a
/// decimal.
pub fn decide(
    measured: Measured,
    limits: ToleranceLimits,
    rule: DecisionRule,
) -> Result<Decision, OutOfDomain> {
    let r = match rule {
        DecisionRule::Simple => Decimal::ZERO,
        DecisionRule::Binary { r } => r,
        DecisionRule::FourWay { r } if r >= Decimal::ZERO => r,
        DecisionRule::FourWay { r } => {
            return Err(OutOfDomain::new(
                "a guard band for four outcomes",
                r,
                "0 or more expanded uncertainties",
            ));
        }
    };
    let Some(guard_band) = r.checked_mul(measured.expanded()) else {
        return Err(OutOfDomain::new("a guard band", r, "small enough for a decimal when multiplied by U"));
    };
    let accepted = limits.inwards(guard_band);
    let value = measured.value();
    let outcome = if between(value, accepted) {
        Outcome::Pass
    } else if !matches!(rule, DecisionRule::FourWay { .. }) {
        Outcome::Fail
    } else if between(value, limits.inwards(Decimal::ZERO)) {
        Outcome::ConditionalPass
    } else if between(value, limits.inwards(-guard_band)) {
        Outcome::ConditionalFail
    } else {
        Outcome::Fail
    };
    let (accept_from, accept_to) = accepted;
    Ok(Decision {
        rule,
        outcome,
        guard_band,
        accept_from,
        accept_to,
        nothing_passes: accept_from.zip(accept_to).is_some_and(|(from, to)| from > to),
        conformity: probability_of_conformity(measured, limits),
    })
}
