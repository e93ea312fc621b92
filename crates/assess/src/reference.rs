//! The program's own reference cases: figures published or computed elsewhere against what it computes.
//!
//! The cases are data (`shared/reference/<topic>/*.toml`), built into the program, so that a laboratory can
//! run them on its own machine (ISO/IEC 17025:2017 7.11.2).

mod agree;
mod case;
mod decision;
mod files;
mod functions;
mod inputs;
mod special;
mod statistics;
mod uncertainty;
mod values;
mod waveform;

pub use functions::{FUNCTIONS, Sources, sources_by_function};

/// One figure held against its source.
#[derive(Clone, Debug, PartialEq)]
pub struct Held {
    /// Topic.
    pub topic: String,
    /// Name of the case.
    pub case: String,
    /// The figure, as the case names it.
    pub figure: String,
    /// The public function that was asked.
    pub function: &'static str,
    /// Document, program or arithmetic that the expected figure comes from.
    pub source: String,
    /// Where in the source.
    pub clause: Option<String>,
    /// How far that source can be trusted: `seen`, `memory` or `computed`.
    pub status: String,
    /// The expected figure, with its digits.
    pub expected: String,
    /// How closely it must be met, in words.
    pub tolerance: String,
    /// What was computed, with as many digits.
    pub got: String,
    /// Whether the two agree within the last printed digit, or the stated tolerance.
    pub agrees: bool,
    /// What a reader should know about the expected figure.
    pub note: Option<String>,
}

/// A figure that was computed for a case, and by which public function.
struct Computed {
    function: &'static str,
    figure: String,
    got: Got,
}

impl Computed {
    fn number(function: &'static str, figure: impl Into<String>, got: f64) -> Self {
        Self { function, figure: figure.into(), got: Got::Number(got) }
    }

    fn words(function: &'static str, figure: impl Into<String>, got: impl ToString) -> Self {
        Self { function, figure: figure.into(), got: Got::Words(got.to_string()) }
    }
}

/// What was computed.
enum Got {
    Number(f64),
    Words(String),
}

/// Runs every case.
///
/// # Errors
/// A file of cases that can't be read, with the reason.
pub fn run_all() -> Result<Vec<Held>, String> {
    let mut all = Vec::new();
    for (name, text) in files::CASES {
        let held = case::run_file(text).map_err(|error| format!("{name}: {error}"))?;
        all.extend(held);
    }
    Ok(all)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;
    use std::sync::LazyLock;

    static ALL: LazyLock<Vec<Held>> = LazyLock::new(|| run_all().unwrap());

    #[test]
    fn every_reference_case_agrees() {
        let all = &*ALL;
        let wrong: Vec<&Held> = all.iter().filter(|h| !h.agrees).collect();
        assert!(wrong.is_empty(), "{} of {}: {wrong:#?}", wrong.len(), all.len());
    }

    #[test]
    fn reference_cases_hold_many_functions_against_many_sources() {
        let all = &*ALL;
        let pairs: BTreeSet<_> = all.iter().map(|held| (held.function, held.source.as_str())).collect();
        let sources: BTreeSet<_> = pairs.iter().map(|(_, source)| source).collect();
        assert!(pairs.len() >= 60, "{}", pairs.len());
        assert!(sources.len() >= 15, "{sources:?}");
    }

    #[test]
    fn a_case_names_only_public_functions_that_are_listed() {
        for held in &*ALL {
            assert!(FUNCTIONS.contains(&held.function), "{} is not in the list", held.function);
            assert!(["seen", "memory", "computed"].contains(&held.status.as_str()), "{held:?}");
        }
    }
}
