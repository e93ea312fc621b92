//! Figures that a case's outputs must come to: `figures.json` in its folder, written by the program outside that worked them out.
//!
//! ```json
//! { "source": "closed form in Python (generate.py)",
//!   "figures": [{ "file": "out/job.assessment.json", "at": "/waveforms/0/figures/0/value", "value": 15.0, "within": 0.001 }] }
//! ```

use std::path::Path;

use serde::Deserialize;
use serde_json::Value;

use super::workplace::Tree;

/// The name within a case's folder.
pub(crate) const FILE: &str = "figures.json";

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Figures {
    source: String,
    figures: Vec<Figure>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Figure {
    /// An output in JSON.
    file: String,
    /// JSON pointer of a number, or of the text of one.
    at: String,
    value: f64,
    within: f64,
}

/// What differs from the figures, one line each; nothing where the case has none.
pub(crate) fn wrong(folder: &Path, written: &Tree) -> Result<Vec<String>, String> {
    let path = folder.join(FILE);
    if !path.exists() {
        return Ok(Vec::new());
    }
    let text = std::fs::read_to_string(&path).map_err(|error| format!("{FILE}: {error}"))?;
    let wanted: Figures = serde_json::from_str(&text).map_err(|error| format!("{FILE}: {error}"))?;
    if wanted.source.trim().is_empty() || wanted.figures.is_empty() {
        return Err(format!("{FILE}: names no source, or no figure"));
    }
    Ok(wanted.figures.iter().filter_map(|figure| figure.wrong(written)).collect())
}

impl Figure {
    fn wrong(&self, written: &Tree) -> Option<String> {
        let Self { file, at, value, within } = self;
        let found = written
            .get(file)
            .and_then(|bytes| serde_json::from_slice::<Value>(bytes).ok())
            .and_then(|whole| whole.pointer(at).cloned());
        let number = match &found {
            Some(Value::String(text)) => text.parse::<f64>().ok(),
            Some(other) => other.as_f64(),
            None => None,
        };
        match number {
            Some(number) if (number - value).abs() <= *within => None,
            Some(number) => Some(format!("{file}: {at} is {number}, not {value} within {within}")),
            None => Some(format!("{file}: {at} is no number: {found:?}")),
        }
    }
}
