//! Which public function is held against which sources.

use super::Held;
use std::collections::BTreeMap;

/// Every public function of the computation whose figures can be held against something outside.
pub const FUNCTIONS: &[&str] = &[
    "decision::Decision::specific_risk",
    "decision::decide",
    "decision::false_accept_at_acceptance_limit",
    "decision::global_risks",
    "decision::guard_band_for",
    "decision::probability_of_conformity",
    "decision::proof_of_excess",
    "special::beta_quantile",
    "special::beta_tails",
    "special::erf",
    "special::erfc",
    "special::gamma_quantile",
    "special::gamma_tails",
    "special::integrate",
    "special::ln_gamma",
    "special::ln_normal_lower",
    "special::normal_density",
    "special::normal_quantile",
    "special::normal_tails",
    "special::student_t_quantile",
    "special::student_t_tails",
    "standard::IdealWaveform::current_a",
    "statistics::ControlChart::of",
    "statistics::Trend::crossing",
    "statistics::Trend::fit",
    "statistics::chance_of_a_failure",
    "statistics::chance_of_no_failure",
    "statistics::exact_interval",
    "statistics::fisher_exact",
    "statistics::grubbs",
    "statistics::interval",
    "statistics::probit_threshold",
    "statistics::rising_step_threshold",
    "statistics::shots_needed",
    "statistics::up_and_down_threshold",
    "uncertainty::Budget::combined",
    "uncertainty::Budget::combined_second_order",
    "uncertainty::Formula::gradient",
    "uncertainty::InputUncertainty",
    "uncertainty::MonteCarlo::simulate",
    "uncertainty::Random::block",
    "uncertainty::cross_check",
    "uncertainty::dof_from_reliability",
    "uncertainty::expanded",
    "uncertainty::expanded_with_k",
    "uncertainty::numerical_tolerance",
    "uncertainty::observed",
    "uncertainty::simultaneous",
    "waveform::figures",
];

/// How a function stands against one source.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sources {
    /// The source.
    pub source: String,
    /// How far it can be trusted.
    pub status: String,
    /// Figures held against it.
    pub checks: usize,
    /// Figures that differ.
    pub differ: usize,
}

/// Each public function with its sources, in order; a function without any has an empty list.
pub fn sources_by_function(held: &[Held]) -> Vec<(&'static str, Vec<Sources>)> {
    let mut counted: BTreeMap<(&str, &str, &str), (usize, usize)> = BTreeMap::new();
    for one in held {
        let count = counted.entry((one.function, &one.source, &one.status)).or_default();
        count.0 += 1;
        count.1 += usize::from(!one.agrees);
    }
    let of = |function: &&'static str| {
        let sources = counted.iter().filter(|((name, ..), _)| name == function);
        let sources = sources.map(|((_, source, status), (checks, differ))| Sources {
            source: (*source).to_owned(),
            status: (*status).to_owned(),
            checks: *checks,
            differ: *differ,
        });
        (*function, sources.collect())
    };
    FUNCTIONS.iter().map(of).collect()
}
