//! A part of a record, as a reader outside the program hands it over: what it found in one file.

use super::facts::Facts;
use super::file::{Unknown, typed};
use super::mirror::{At, Mirror, Trouble};
use super::scalar::OriginText;
use super::series::{Observation, Series, Trace, times_fit};
use record::Origin;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::BTreeMap;

/// What a reader found in one file; several parts add up. Source 0 of each origin is that file.
#[derive(Clone, Debug, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(default, rename = "Part")]
pub struct PartFile {
    /// Facts of the job that stand in the file.
    #[serde(skip_serializing_if = "super::mirror::Blank::blank")]
    pub facts: Facts,
    /// Origin of each of these facts, by its path below `facts` (`/item/serial`).
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub origins: BTreeMap<String, OriginText>,
    /// Series of discharges.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub series: Vec<Series>,
    /// Observations.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub observations: Vec<Observation>,
    /// Recorded discharge currents.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub traces: Vec<Trace>,
}

/// A part as values of the model.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Part {
    /// Facts of the job.
    pub facts: record::Facts,
    /// Their origins.
    pub origins: BTreeMap<String, Origin>,
    /// Series.
    pub series: Vec<record::Series>,
    /// Observations.
    pub observations: Vec<record::Observation>,
    /// Waveforms.
    pub traces: Vec<record::Trace>,
}

/// Reads a part. Keys that are not known come back with their values.
///
/// # Errors
/// Everything that is wrong, each with its JSON pointer.
pub fn part_of_record_from_value(value: Value) -> Result<(Part, Unknown), Vec<Trouble>> {
    let (wire, unknown): (PartFile, Unknown) = typed(value, &[]).map_err(|trouble| vec![trouble])?;
    let mut at = At::default();
    let at = &mut at;
    let facts = at.within("facts", |at| wire.facts.read(at));
    let mut origins = BTreeMap::new();
    at.within("origins", |at| {
        for (path, text) in wire.origins {
            if let Some(origin) = at.within(&path, |at| text.read(at)) {
                origins.insert(path, origin);
            }
        }
    });
    let series = at.within("series", |at| wire.series.read(at));
    let observations = at.within("observations", |at| wire.observations.read(at));
    let traces: Option<Vec<record::Trace>> = at.within("traces", |at| wire.traces.read(at));
    at.within("traces", |at| {
        for (index, trace) in traces.iter().flatten().enumerate() {
            at.within(&index.to_string(), |at| times_fit(trace, at));
        }
    });
    match (facts, series, observations, traces) {
        (Some(facts), Some(series), Some(observations), Some(traces)) if at.troubles.is_empty() => {
            Ok((Part { facts, origins, series, observations, traces }, unknown))
        }
        _ => Err(std::mem::take(&mut at.troubles)),
    }
}

/// Shows a part, with the keys that say nothing left out.
pub fn part_of_record_to_value(part: &Part) -> Value {
    let wire = PartFile {
        facts: Mirror::show(&part.facts),
        origins: part.origins.iter().map(|(path, at)| (path.clone(), OriginText::show(at))).collect(),
        series: Mirror::show(&part.series),
        observations: Mirror::show(&part.observations),
        traces: Mirror::show(&part.traces),
    };
    // Numbers are text in here: nothing can fail to serialise.
    serde_json::to_value(wire).unwrap_or(Value::Null)
}
