//! Discharges, observations, waveforms, sources and findings in the canonical form.

use super::mirror::{At, Blank, Mirror, mirror};
use super::scalar::{Maybe, Nth, Number, OriginText, Sha256Text, Whole, Word};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

mirror!(
    /// One discharge of a series.
    Shot = record::Shot {
        /// Row of the log.
        row: Option<Nth>,
        /// When.
        at: Option<String>,
        /// Air discharge: whether a spark was seen.
        spark: Option<bool>,
    }
);
mirror!(
    /// Equal discharges at one point.
    Series = record::Series {
        /// Name within the record.
        id: String,
        /// Where.
        point: String,
        /// How.
        application: Word<record::Application>,
        /// Sign of the voltage.
        polarity: Word<record::Polarity>,
        /// Magnitude of the voltage.
        voltage_kv: Number,
        /// How many discharges (air: approaches) were applied.
        count: Option<Whole>,
        /// Air discharge: how many made a spark.
        sparks: Option<Whole>,
        /// Time between discharges.
        interval_s: Option<Number>,
        /// Single discharges or bursts.
        single: Option<bool>,
        /// Modification state.
        state: Option<String>,
        /// Operating mode.
        mode: Option<String>,
        /// What the series was applied for.
        kind: Word<record::RunKind>,
        /// Whether the item was watched.
        monitoring: Option<Maybe<Word<record::Monitoring>>>,
        /// Tip that was fitted.
        tip: Option<Word<record::Tip>>,
        /// When the first discharge was applied.
        started: Option<String>,
        /// When the last discharge was applied.
        ended: Option<String>,
        /// Who applied it.
        tested_by: Option<String>,
        /// Reference of a records system.
        external_reference: Option<String>,
        /// Remark in the log.
        remark: Option<String>,
        /// Single discharges.
        shots: Vec<Shot>,
        /// Where it was read.
        origin: OriginText,
    }
);
mirror!(
    /// A row of a log.
    RowReference = record::RowReference {
        /// The log's name.
        file: String,
        /// The row.
        row: Option<Nth>,
    }
);
mirror!(
    /// What the item did.
    Observation = record::Observation {
        /// Name within the record.
        id: String,
        /// The series it belongs to.
        series: Option<String>,
        /// The discharge within the series, from 1.
        shot: Option<Nth>,
        /// The log row that the laboratory named for it.
        at: Option<RowReference>,
        /// The function that was affected.
        function: Option<String>,
        /// What was seen.
        seen: Option<String>,
        /// The class that somebody wrote down.
        written_class: Option<Word<record::Class>>,
        /// Whether the operating state changed.
        state_changed: Option<Maybe<bool>>,
        /// Whether stored data were lost.
        data_lost: Option<Maybe<bool>>,
        /// Who or what restored the function.
        restored: Option<Maybe<Word<record::Restoration>>>,
        /// How long the effect lasted.
        lasted_s: Option<Number>,
        /// Whether it was over before the next discharge.
        before_next: Option<Maybe<bool>>,
        /// Whether it coincided with a discharge.
        coincident: Option<Maybe<bool>>,
        /// Whether the item itself was affected.
        affected: Option<Maybe<Word<record::Affected>>>,
        /// Remark.
        remark: Option<String>,
        /// Where it was read.
        origin: OriginText,
        /// Where the laboratory completed it.
        completed_at: Option<OriginText>,
    }
);
mirror!(
    /// What became of the rows of a file.
    RowAccount = record::RowAccount {
        /// All rows.
        total: Option<Whole>,
        /// Rows that became facts.
        used: Option<Whole>,
        /// Rows set aside.
        set_aside: Option<Whole>,
        /// Lines before the table.
        preamble: Option<Whole>,
        /// Lines after the table.
        footer: Option<Whole>,
        /// Empty lines.
        blank: Option<Whole>,
    }
);
mirror!(
    /// An original file.
    SourceFile = record::SourceFile {
        /// Name within the job.
        name: String,
        /// What it is.
        role: Word<record::SourceRole>,
        /// Size in bytes.
        bytes: Option<Whole>,
        /// SHA-256 of its bytes.
        sha256: Sha256Text,
        /// The part of the file that it is, such as the sheet of a workbook.
        part: Option<RawText>,
        /// The plug-in that read it.
        read_by: Option<String>,
        /// How it was understood.
        understood_as: Vec<RawText>,
        /// What became of its rows.
        account: Option<RowAccount>,
    }
);
mirror!(
    /// A row that could not be read.
    UnreadRow = record::UnreadRow {
        /// Position in `sources`.
        source: Option<Whole>,
        /// The row; the first where a quoted field goes over several.
        row: Option<Nth>,
        /// Its last row.
        last_row: Option<Nth>,
        /// The row as it stands in the file.
        text: RawText,
        /// Code of the finding that says why.
        code: RawText,
        /// Why.
        why: RawText,
    }
);
mirror!(
    /// Where a finding is.
    Place = record::Place {
        /// File.
        file: RawText,
        /// Physical line.
        row: Option<Whole>,
        /// Field number or character column.
        column: Option<Whole>,
        /// What the user would call it.
        label: Option<RawText>,
    }
);

/// Text that the program wrote, or copied from a file; it may be empty.
#[derive(Clone, Debug, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(transparent)]
pub struct RawText(pub String);

impl Blank for RawText {
    fn blank(&self) -> bool {
        false
    }
}
impl Mirror<String> for RawText {
    fn show(value: &String) -> Self {
        Self(value.clone())
    }
    fn read(self, _: &mut At) -> Option<String> {
        Some(self.0)
    }
}

/// A second place with its own words.
#[derive(Clone, Debug, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
pub struct Related {
    /// The place.
    pub place: Place,
    /// What it shows.
    pub text: String,
}
impl Mirror<(record::Place, String)> for Related {
    fn show(value: &(record::Place, String)) -> Self {
        Self { place: Place::show(&value.0), text: value.1.clone() }
    }
    fn read(self, at: &mut At) -> Option<(record::Place, String)> {
        Some((at.within("place", |at| self.place.read(at))?, self.text))
    }
}

mirror!(
    /// Something that a person must know.
    Finding = record::Finding {
        /// Stable name of the problem.
        code: RawText,
        /// How much it weighs.
        severity: Word<record::Severity>,
        /// What is wrong.
        message: RawText,
        /// Where it is.
        place: Option<Place>,
        /// A second place.
        related: Option<Related>,
        /// What to do.
        help: Vec<RawText>,
        /// The clause that makes it matter.
        clause: Option<String>,
    }
);

/// A finding as JSON, for keeping.
pub fn finding_to_value(finding: &record::Finding) -> serde_json::Value {
    serde_json::to_value(Finding::show(finding)).unwrap_or_default()
}

/// A finding that was kept; none if it is not one.
pub fn finding_from_value(value: serde_json::Value) -> Option<record::Finding> {
    serde_json::from_value::<Finding>(value).ok()?.read(&mut At::default())
}

/// The time axis of a trace, in nanoseconds: start and step, or a time for each sample.
#[derive(Clone, Debug, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(default)]
pub struct TimeBase {
    /// Time of the first sample, for equal steps.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub start_ns: Option<Number>,
    /// Time between samples, for equal steps.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub step_ns: Option<Number>,
    /// A time for each sample, separated by spaces.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub times_ns: Option<Samples>,
}
impl Blank for TimeBase {
    fn blank(&self) -> bool {
        false
    }
}
impl Mirror<record::TimeBase> for TimeBase {
    fn show(value: &record::TimeBase) -> Self {
        match value {
            record::TimeBase::Uniform { start_ns, step_ns } => Self {
                start_ns: Some(Number::show(start_ns)),
                step_ns: Some(Number::show(step_ns)),
                times_ns: None,
            },
            record::TimeBase::Listed(times) => {
                Self { times_ns: Some(Samples::show(times)), ..Self::default() }
            }
        }
    }
    fn read(self, at: &mut At) -> Option<record::TimeBase> {
        match self {
            Self { start_ns: Some(start_ns), step_ns: Some(step_ns), times_ns: None } => {
                let start_ns = at.within("start_ns", |at| start_ns.read(at))?;
                let step_ns: f64 = at.within("step_ns", |at| step_ns.read(at))?;
                if step_ns <= 0.0 {
                    return at.within("step_ns", |at| at.wrong("the time step must be greater than 0"));
                }
                Some(record::TimeBase::Uniform { start_ns, step_ns })
            }
            Self { start_ns: None, step_ns: None, times_ns: Some(times_ns) } => at.within("times_ns", |at| {
                let times = times_ns.read(at)?;
                let rising = times.iter().all(|t| t.is_finite())
                    && times.iter().zip(times.iter().skip(1)).all(|(one, next)| one < next);
                if rising {
                    Some(record::TimeBase::Listed(times))
                } else {
                    at.wrong("every sample needs a time, and the times must rise")
                }
            }),
            _ => at.wrong("either `start_ns` and `step_ns`, or `times_ns` alone"),
        }
    }
}

/// Samples as decimal numbers separated by spaces, each the shortest that reads back as the same double;
/// `x` stands for a sample that could not be read.
#[derive(Clone, Debug, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(transparent)]
pub struct Samples(pub String);

impl Blank for Samples {
    fn blank(&self) -> bool {
        false
    }
}
impl Mirror<Vec<f64>> for Samples {
    fn show(value: &Vec<f64>) -> Self {
        let mut text = String::with_capacity(value.len() * 8);
        for sample in value {
            if !text.is_empty() {
                text.push(' ');
            }
            if sample.is_finite() { text += &sample.to_string() } else { text.push('x') }
        }
        Self(text)
    }
    fn read(self, at: &mut At) -> Option<Vec<f64>> {
        let mut samples = Vec::new();
        for word in self.0.split_ascii_whitespace() {
            match word.parse::<f64>() {
                Ok(number) if number.is_finite() => samples.push(number),
                _ if word == "x" => samples.push(f64::NAN),
                _ => return at.wrong(format!("`{word}` is not a sample")),
            }
        }
        Some(samples)
    }
}

mirror!(
    /// A recorded discharge current.
    Trace = record::Trace {
        /// File name within the job.
        name: String,
        /// Number of the segment.
        segment: Option<Whole>,
        /// Time axis.
        time: TimeBase,
        /// Current in amperes.
        current_a: Samples,
        /// Whether any sample was marked as over range.
        over_range: Option<bool>,
        /// Resolution of the current axis.
        step_a: Option<Number>,
        /// The conversion that was applied to volts.
        a_per_v: Option<Number>,
        /// Where it was read.
        origin: OriginText,
    }
);
/// Each listed time of a trace belongs to one sample.
pub(super) fn times_fit(trace: &record::Trace, at: &mut At) {
    if let record::TimeBase::Listed(times) = &trace.time
        && times.len() != trace.current_a.len()
    {
        let said = format!("{} times for {} samples", times.len(), trace.current_a.len());
        let _: Option<()> = at.within("time", |at| at.wrong(said));
    }
}

mirror!(
    /// An element of a measuring chain; what it does stands here or at its equipment, once.
    ChainElement = record::ChainElement {
        /// Inventory name of the equipment.
        equipment: Option<String>,
        /// Of the target: volts into the line for each ampere, at low frequency.
        transfer_v_per_a: Option<Number>,
        /// Of an attenuator or cable: by how much it lowers the voltage, in decibels.
        attenuation_db: Option<Number>,
        /// The same as voltage before it over voltage behind it.
        attenuation_ratio: Option<Number>,
        /// What it is, where it has no inventory name.
        remark: Option<String>,
    }
);

mirror!(
    /// A set of traces recorded under the same conditions.
    Verification = record::Verification {
        /// Name within the record.
        id: String,
        /// The generator.
        equipment: Option<String>,
        /// Magnitude of the charge voltage.
        charge_kv: Option<Number>,
        /// Sign of the charge voltage.
        polarity: Option<Word<record::Polarity>>,
        /// Capacitance of the network.
        network_pf: Option<Number>,
        /// Resistance of the network.
        network_ohm: Option<Number>,
        /// Bandwidth of the measuring chain.
        bandwidth_ghz: Option<Number>,
        /// Elements of the measuring chain, from the target on.
        chain: Vec<ChainElement>,
        /// When.
        at: Option<String>,
        /// By whom.
        by: Option<String>,
        /// Remark.
        remark: Option<String>,
        /// The traces.
        traces: Vec<Trace>,
    }
);
