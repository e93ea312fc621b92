//! The program's own reference cases: figures published or computed elsewhere against what it computes.
//!
//! The cases are data (`shared/reference/<topic>/*.toml`), built into the program, so that a laboratory can
//! run them on its own machine (ISO/IEC 17025:2017 7.11.2).

mod waveform;

/// One figure held against its source.
#[derive(Clone, Debug, PartialEq)]
pub struct Held {
    /// Topic.
    pub topic: String,
    /// Name of the case.
    pub case: String,
    /// The public function that was asked.
    pub function: &'static str,
    /// Where the expected figure comes from.
    pub source: String,
    /// How far that source can be trusted.
    pub status: String,
    /// The expected figure, with its digits.
    pub expected: String,
    /// What was computed.
    pub got: String,
    /// Whether the two agree within the last printed digit, or the stated tolerance.
    pub agrees: bool,
}

/// Files of reference cases that are built in: name and text.
const FILES: &[(&str, &str)] = &[(
    "shared/reference/waveform/sampled-record.toml",
    include_str!("../../../shared/reference/waveform/sampled-record.toml"),
)];

/// Runs every case.
///
/// # Errors
/// A file of cases that can't be read, with the reason.
pub fn run_all() -> Result<Vec<Held>, String> {
    let mut all = Vec::new();
    for (name, text) in FILES {
        let file: toml::Table = text.parse().map_err(|error| format!("{name}: {error}"))?;
        let topic = text_of(&file, "topic").ok_or_else(|| format!("{name}: no topic"))?;
        let held = match topic {
            "waveform" => waveform::run(&file),
            other => Err(format!("no runner for the topic `{other}`")),
        };
        all.extend(held.map_err(|error| format!("{name}: {error}"))?);
    }
    Ok(all)
}

fn text_of<'a>(table: &'a toml::Table, key: &str) -> Option<&'a str> {
    table.get(key)?.as_str()
}

/// Whether a figure, rounded to the digits of a printed one, prints the same.
fn prints_as(expected: &str, got: f64) -> (String, bool) {
    let digits = expected.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    let shown = format!("{got:.digits$}");
    let agrees = shown == expected;
    (shown, agrees)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_reference_case_agrees() {
        let all = run_all().unwrap();
        let wrong: Vec<&Held> = all.iter().filter(|h| !h.agrees).collect();
        assert!(wrong.is_empty(), "{wrong:#?}");
        assert!(all.len() >= 30);
    }

    #[test]
    fn a_figure_that_prints_otherwise_is_seen() {
        assert!(!prints_as("14.921292488", 14.921_292_487).1);
        assert!(prints_as("14.921292488", 14.921_292_488_4).1);
    }
}
