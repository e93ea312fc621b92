//! The files of reference cases that are built in.

macro_rules! built_in {
    ($($name:literal),+ $(,)?) => {
        &[$(($name, include_str!(concat!("../../../../shared/reference/", $name)))),+]
    };
}

/// Cases: name and text.
pub(super) const CASES: &[(&str, &str)] = built_in![
    "decision/conformity.toml",
    "decision/global-risk.toml",
    "decision/rules.toml",
    "special/closed-forms.toml",
    "special/tables.toml",
    "special/values.toml",
    "statistics/counts.toml",
    "statistics/thresholds.toml",
    "statistics/series.toml",
    "statistics/values.toml",
    "uncertainty/budgets.toml",
    "uncertainty/readings.toml",
    "uncertainty/simulation.toml",
    "waveform/closed-forms.toml",
    "waveform/ideal-current.toml",
    "waveform/sampled-record.toml",
];

/// Tables of values that cases refer to: name and text.
pub(super) const VALUES: &[(&str, &str)] = built_in!["special/values.csv", "statistics/values.csv"];
