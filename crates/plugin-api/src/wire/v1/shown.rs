//! The record file as it is written: samples go from the record straight into the text, since those of a long waveform
//! are most of it, and a copy of them as text would be held beside both.

use super::facts::Facts;
use super::file::{Kept, SCHEMA};
use super::mirror::{Blank, Mirror};
use super::scalar::{Number, OriginText, Whole};
use super::series::{Finding, Observation, Series, SourceFile, UnreadRow, Verification};
use record::Record;
use serde::{Serialize, Serializer};
use std::collections::BTreeMap;
use std::fmt;

/// The same keys in the same order as [`super::RecordFile`].
#[derive(Serialize)]
pub(super) struct RecordShown<'a> {
    schema: u32,
    sources: Vec<SourceFile>,
    facts: Facts,
    origins: BTreeMap<&'a str, OriginText>,
    series: Vec<Series>,
    observations: Vec<Observation>,
    verifications: Vec<VerificationShown<'a>>,
    unread: Vec<UnreadRow>,
    passed_through: BTreeMap<&'a str, Kept>,
    findings: Vec<Finding>,
}

impl<'a> RecordShown<'a> {
    pub(super) fn of(record: &'a Record) -> Self {
        Self {
            schema: SCHEMA,
            sources: Mirror::show(&record.sources),
            facts: Mirror::show(&record.facts),
            origins: record.origins.iter().map(|(path, at)| (path.as_str(), OriginText::show(at))).collect(),
            series: Mirror::show(&record.series),
            observations: Mirror::show(&record.observations),
            verifications: record.verifications.iter().map(VerificationShown::of).collect(),
            unread: Mirror::show(&record.unread),
            passed_through: record
                .passed_through
                .iter()
                .map(|(path, text)| (path.as_str(), Kept(text.clone())))
                .collect(),
            findings: Mirror::show(&record.findings),
        }
    }
}

#[derive(Serialize)]
struct VerificationShown<'a> {
    /// All but the traces, which come last.
    #[serde(flatten)]
    facts: Verification,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    traces: Vec<TraceShown<'a>>,
}

impl<'a> VerificationShown<'a> {
    fn of(of: &'a record::Verification) -> Self {
        let facts = Verification {
            id: Mirror::show(&of.id),
            equipment: Mirror::show(&of.equipment),
            charge_kv: Mirror::show(&of.charge_kv),
            polarity: Mirror::show(&of.polarity),
            network_pf: Mirror::show(&of.network_pf),
            network_ohm: Mirror::show(&of.network_ohm),
            bandwidth_ghz: Mirror::show(&of.bandwidth_ghz),
            chain: Mirror::show(&of.chain),
            at: Mirror::show(&of.at),
            by: Mirror::show(&of.by),
            remark: Mirror::show(&of.remark),
            traces: Vec::new(),
        };
        Self { facts, traces: of.traces.iter().map(TraceShown::of).collect() }
    }
}

#[derive(Serialize)]
struct TraceShown<'a> {
    #[serde(skip_serializing_if = "Blank::blank")]
    name: String,
    #[serde(skip_serializing_if = "Blank::blank")]
    segment: Option<Whole>,
    time: TimeShown<'a>,
    current_a: SamplesShown<'a>,
    #[serde(skip_serializing_if = "Blank::blank")]
    over_range: Option<bool>,
    #[serde(skip_serializing_if = "Blank::blank")]
    step_a: Option<Number>,
    #[serde(skip_serializing_if = "Blank::blank")]
    a_per_v: Option<Number>,
    #[serde(skip_serializing_if = "Blank::blank")]
    origin: OriginText,
}

impl<'a> TraceShown<'a> {
    fn of(of: &'a record::Trace) -> Self {
        Self {
            name: Mirror::show(&of.name),
            segment: Mirror::show(&of.segment),
            time: match &of.time {
                record::TimeBase::Uniform { start_ns, step_ns } => {
                    TimeShown::Uniform { start_ns: Number::show(start_ns), step_ns: Number::show(step_ns) }
                }
                record::TimeBase::Listed(times) => TimeShown::Listed { times_ns: SamplesShown(times) },
            },
            current_a: SamplesShown(&of.current_a),
            over_range: Mirror::show(&of.over_range),
            step_a: Mirror::show(&of.step_a),
            a_per_v: Mirror::show(&of.a_per_v),
            origin: Mirror::show(&of.origin),
        }
    }
}

#[derive(Serialize)]
#[serde(untagged)]
enum TimeShown<'a> {
    Uniform { start_ns: Number, step_ns: Number },
    Listed { times_ns: SamplesShown<'a> },
}

/// Samples as [`super::series::Samples`] has them.
struct SamplesShown<'a>(&'a [f64]);

impl fmt::Display for SamplesShown<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, sample) in self.0.iter().enumerate() {
            if index > 0 {
                f.write_str(" ")?;
            }
            if sample.is_finite() { fmt::Display::fmt(sample, f)? } else { f.write_str("x")? }
        }
        Ok(())
    }
}

impl Serialize for SamplesShown<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}
