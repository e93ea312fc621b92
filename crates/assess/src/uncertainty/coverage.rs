//! Coverage factor and expanded uncertainty, with the rule for degrees of freedom stated.

use super::Combined;
use crate::special::{Confidence, OutOfDomain, Tail, student_t_quantile};

/// How effective degrees of freedom enter Student's t.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DofRule {
    /// As computed, with their fraction.
    AsComputed,
    /// The next lower whole number: the larger, safer coverage factor.
    Truncated,
}

/// How far below a whole number degrees of freedom still count as that number, relative: 3.9999999999 from a single
/// input with 4 degrees of freedom is rounding, not a reason to use 3.
pub const WHOLE_NUMBER_TIE: f64 = 1e-9;

impl DofRule {
    /// The degrees of freedom used.
    pub fn apply(self, dof: f64) -> f64 {
        match self {
            Self::AsComputed => dof,
            Self::Truncated => libm::floor(dof * (1.0 + WHOLE_NUMBER_TIE)),
        }
    }
}

impl std::fmt::Display for DofRule {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::AsComputed => "effective degrees of freedom as computed, not rounded",
            Self::Truncated => "effective degrees of freedom truncated to the next lower whole number",
        })
    }
}

/// A coverage factor and what it follows from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coverage {
    /// The rule.
    pub rule: DofRule,
    /// Degrees of freedom used.
    pub dof: f64,
    /// Coverage factor.
    pub k: f64,
    /// Expanded uncertainty.
    pub expanded: f64,
}

/// An expanded uncertainty by the rule chosen, and what the other rule would have given.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Expanded {
    /// Coverage probability.
    pub probability: Confidence,
    /// By the rule chosen.
    pub used: Coverage,
    /// By the other rule.
    pub other: Coverage,
}

impl Expanded {
    /// Whether the rule shows in the coverage factor printed with three significant digits.
    pub fn rule_matters(&self) -> bool {
        format!("{:.2e}", self.used.k) != format!("{:.2e}", self.other.k)
    }
}

/// The expanded uncertainty with a coverage factor from Student's t (GUM G.6.4); none where the effective degrees of
/// freedom are not defined.
pub fn expanded(combined: &Combined, probability: Confidence, rule: DofRule) -> Option<Expanded> {
    let computed = combined.dof?;
    let by = |rule: DofRule| {
        let dof = rule.apply(computed);
        let k = student_t_quantile(dof, Tail::Upper(0.5 * probability.risk()));
        Coverage { rule, dof, k, expanded: k * combined.standard }
    };
    let other = match rule {
        DofRule::AsComputed => DofRule::Truncated,
        DofRule::Truncated => DofRule::AsComputed,
    };
    Some(Expanded { probability, used: by(rule), other: by(other) })
}

/// The expanded uncertainty with a coverage factor that was agreed, such as 2.
pub fn expanded_with_k(combined: &Combined, k: f64) -> Result<f64, OutOfDomain> {
    if k > 0.0 && k.is_finite() {
        Ok(k * combined.standard)
    } else {
        Err(OutOfDomain::new("a coverage factor", k, "above 0"))
    }
}
