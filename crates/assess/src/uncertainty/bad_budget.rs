//! Why a budget can't be evaluated.

/// Why a budget can't be evaluated.
#[derive(Clone, Debug, PartialEq)]
pub enum BadBudget {
    /// Two inputs have the same name.
    TwiceNamed(String),
    /// A name that no input has.
    NoSuchInput(String),
    /// An input that the formula doesn't use, so that its uncertainty would count for nothing.
    NotInFormula(String),
    /// An estimate or sensitivity that is not a finite number.
    NotFinite(String),
    /// A correlation coefficient outside -1 to 1, or of an input with itself.
    NoCorrelation {
        /// One input.
        first: String,
        /// The other input.
        second: String,
        /// The coefficient.
        coefficient: f64,
    },
    /// Correlations that can't all be true at once.
    Contradictory,
    /// Monte Carlo: correlated inputs must be normal with infinitely many degrees of freedom.
    CorrelatedNotNormal(String),
    /// Second order: a budget of sensitivities has none.
    NoFormula,
    /// Second order: its terms are for independent inputs.
    CorrelatedSecondOrder,
    /// Monte Carlo: the formula gave no finite value in this trial (from 0).
    TrialNotFinite(u64),
    /// Monte Carlo: too few trials for the coverage probability, or more than memory allows.
    Trials(u64),
}

impl std::fmt::Display for BadBudget {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::TwiceNamed(name) => write!(f, "two inputs are named `{name}`"),
            Self::NoSuchInput(name) => write!(f, "no input is named `{name}`"),
            Self::NotInFormula(name) => write!(f, "the formula does not use the input `{name}`"),
            Self::NotFinite(name) => {
                write!(f, "the estimate or the sensitivity of `{name}` is not a finite number")
            }
            Self::NoCorrelation { first, second, coefficient } => {
                write!(f, "`{first}` and `{second}` can't have the correlation coefficient {coefficient}")
            }
            Self::Contradictory => f.write_str("the correlations can't all be true at once"),
            Self::CorrelatedNotNormal(name) => {
                write!(f, "`{name}` is correlated but not normal with infinite degrees of freedom")
            }
            Self::NoFormula => f.write_str("the budget has sensitivities only, no formula"),
            Self::CorrelatedSecondOrder => {
                f.write_str("the terms of second order are for independent inputs")
            }
            Self::TrialNotFinite(trial) => write!(f, "the formula gives no finite value in trial {trial}"),
            Self::Trials(trials) => {
                write!(f, "{trials} trials are too few for the coverage probability, or too many")
            }
        }
    }
}

impl std::error::Error for BadBudget {}
