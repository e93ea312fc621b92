//! Measurement uncertainty after the GUM (JCGM 100:2008), and its cross-check by Monte Carlo (JCGM 101:2008).
//!
//! A budget lists what a figure depends on, each with its uncertainty as stated; it gives the combined standard
//! uncertainty, effective degrees of freedom, a coverage factor from Student's t and the expanded uncertainty, and says
//! which rules it used. Nothing is filled in: an input whose uncertainty is not stated is not in the budget.

mod bad_budget;
mod budget;
mod correlation;
mod coverage;
mod formula;
mod input;
mod monte_carlo;
mod observations;
mod random;
mod syntax;

pub use bad_budget::BadBudget;
pub use budget::{Budget, Combined, Contribution};
pub use coverage::{Coverage, DofRule, Expanded, WHOLE_NUMBER_TIE, expanded, expanded_with_k};
pub use formula::{BadFormula, Formula};
pub use input::{Distribution, Input, InputUncertainty, dof_from_reliability};
pub use monte_carlo::{
    CoverageInterval, CrossCheck, MonteCarlo, Simulated, cross_check, numerical_tolerance,
};
pub use observations::{Observed, observed, simultaneous};
pub use random::{GENERATOR, Random};
