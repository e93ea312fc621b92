//! What follows from a record: the types of an assessment.

use crate::phrase::Phrase;
use crate::word::words;
use record::{
    Application, Class, Decimal, Kilovolts, ModeId, ObservationId, Origin, PointId, Polarity, Seconds,
    SeriesId, StateId,
};
use std::collections::BTreeMap;

words!(
    /// What can be said about conformity.
    Verdict {
        /// The requirement is met, for the stated item, state, modes, points and levels only.
        Pass = "pass",
        /// Neither conformity nor nonconformity can be stated.
        Undetermined = "undetermined",
        /// The requirement is not met.
        Fail = "fail",
    }
);

words!(
    /// The rule that a reason applies; each is a row of the table of verdicts.
    Rule {
        /// An outcome outside the demand at or below the required level.
        OutcomeOutsideDemand = "outcome-outside-demand",
        /// The same, at a severity that is not known or may have been above the requirement.
        FailureAtUnknownSeverity = "failure-at-unknown-severity",
        /// A log row that could not be read.
        RowUnread = "row-unread",
        /// A log row that could not be read and on which a named person has ruled.
        RowRuled = "row-ruled",
        /// An outcome that has no effect on the verdict.
        OutcomeWithoutEffect = "outcome-without-effect",
        /// An outcome within the demand.
        OutcomeWithinDemand = "outcome-within-demand",
        /// Facts of an observation without which it can't be held against the demand.
        ObservationFactsMissing = "observation-facts-missing",
        /// It is not said whether an observation coincided with a discharge, or with which.
        CoincidenceNotStated = "coincidence-not-stated",
        /// A function without a demand.
        DemandNotStated = "demand-not-stated",
        /// A demand in words that the standard's vocabulary does not have.
        DemandUnknownWord = "demand-unknown-word",
        /// A required series is missing or short.
        SeriesShort = "series-short",
        /// A required series was not watched all the time, or nobody says whether it was.
        SeriesNotWatched = "series-not-watched",
        /// Nobody says in as many words that the item was watched; the log has a result beside each discharge.
        WatchedByResults = "watched-by-results",
        /// Fewer discharges in the whole job than the standard asks for.
        TotalShort = "total-short",
        /// The time between discharges is not stated.
        IntervalNotStated = "interval-not-stated",
        /// Only part of the plan was run in this state.
        PlanInPart = "plan-in-part",
        /// A named person says why part of the plan suffices.
        PlanInPartJustified = "plan-in-part-justified",
        /// The plan can't be worked out from the record.
        PlanUnknown = "plan-unknown",
        /// Required evidence is violated.
        EvidenceViolated = "evidence-violated",
        /// Required evidence is not stated.
        EvidenceNotStated = "evidence-not-stated",
        /// A departure from the method.
        Deviation = "deviation",
        /// The method is not stated, or its data are not known.
        MethodUnknown = "method-unknown",
        /// Nothing stands against it.
        MeetsPlan = "meets-plan",
    }
);

/// Why a verdict is what it is: a rule, the facts it was applied to, and the reasons behind it.
#[derive(Clone, Debug, PartialEq)]
pub struct Reason {
    /// The rule.
    pub rule: Rule,
    /// The verdict that the rule leads to; none where it has no effect.
    pub effect: Option<Verdict>,
    /// The reason in words, with the values in it.
    pub text: String,
    /// The values by name, for wording the reason in other languages.
    pub values: BTreeMap<&'static str, String>,
    /// Where the facts were read.
    pub origins: Vec<Origin>,
    /// Reasons behind this one.
    pub because: Vec<Reason>,
    /// What would settle it, in sentences: what to state of the job, and what of an observation.
    pub asks: Vec<(Asks, Phrase)>,
    /// The reason as a sentence with values, where the rule has more than one sentence of its own.
    pub said: Option<Phrase>,
}

/// What a reason asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Asks {
    /// Whatever the rule needs first.
    First,
    /// Facts of an observation beside it.
    Facts,
}

impl Asks {
    /// Name of the value that carries the sentence in English.
    fn name(self) -> &'static str {
        match self {
            Self::First => "ask",
            Self::Facts => "ask_facts",
        }
    }
}

impl Reason {
    /// A reason in words.
    pub fn new(rule: Rule, effect: Option<Verdict>, text: impl Into<String>) -> Self {
        Self {
            rule,
            effect,
            text: text.into(),
            values: BTreeMap::new(),
            origins: Vec::new(),
            because: Vec::new(),
            asks: Vec::new(),
            said: None,
        }
    }
    /// A reason whose words are a sentence.
    pub(crate) fn of(rule: Rule, effect: Option<Verdict>, said: Phrase) -> Self {
        let mut reason = Self::new(rule, effect, said.to_string());
        reason.said = Some(said);
        reason
    }
    /// Adds what would settle it.
    #[must_use]
    pub fn asking(mut self, asks: Asks, what: Phrase) -> Self {
        self.values.insert(asks.name(), what.to_string());
        self.asks.push((asks, what));
        self
    }
    /// Adds a value by name.
    #[must_use]
    pub fn value(mut self, name: &'static str, value: impl ToString) -> Self {
        self.values.insert(name, value.to_string());
        self
    }
    /// Adds places; the same place once only.
    #[must_use]
    pub fn at(mut self, origins: impl IntoIterator<Item = Origin>) -> Self {
        for origin in origins {
            if !self.origins.contains(&origin) {
                self.origins.push(origin);
            }
        }
        self
    }
    /// Adds a reason behind this one.
    #[must_use]
    pub fn because(mut self, reason: Reason) -> Self {
        self.because.push(reason);
        self
    }
}

/// A series that the plan requires.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Required {
    /// Where.
    pub point: PointId,
    /// How.
    pub application: Application,
    /// Sign.
    pub polarity: Polarity,
    /// Magnitude of the voltage.
    pub voltage_kv: Kilovolts,
    /// Mode, where the plan names modes.
    pub mode: Option<ModeId>,
    /// Least number of discharges; an even share where several series share a number.
    pub count: u32,
    /// The number that it shares with other series, where the standard's belongs to several.
    pub shared: Option<Shared>,
    /// Least time between them.
    pub interval_s: Seconds,
}

/// A number of discharges that several series have to reach together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shared {
    /// Series with the same number here share it.
    pub group: u32,
    /// The number that they have to reach together.
    pub count: u32,
}

impl Required {
    /// The series in words: `P1 contact +8 kV`.
    pub fn label(&self) -> String {
        let mode = self.mode.as_ref().map(|m| format!(" in mode {m}")).unwrap_or_default();
        format!("{} {} {}{}{mode}", self.point, self.application, self.polarity.sign(), self.voltage_kv)
    }
    /// Time that a number of discharges takes at the interval, in minutes.
    pub fn minutes(&self, discharges: u32) -> record::Decimal {
        let seconds = self.interval_s.as_s() * record::Decimal::from(discharges);
        (seconds / record::Decimal::from(60)).round_dp(2).normalize()
    }
}

words!(
    /// How the discharges applied compare with those required.
    CoverageState {
        /// Nothing was applied.
        Missing = "missing",
        /// Fewer than required.
        Short = "short",
        /// As many as required.
        Complete = "complete",
        /// More than required.
        Exceeded = "exceeded",
    }
);

/// A required series against what was applied in one state of the item.
#[derive(Clone, Debug, PartialEq)]
pub struct Coverage {
    /// Position in [`Assessment::plan`].
    pub required: usize,
    /// Discharges that count.
    pub counted: u32,
    /// Air: sparks among them, where every series says so.
    pub sparks: Option<u32>,
    /// How the two compare.
    pub state: CoverageState,
    /// Series that count.
    pub series: Vec<SeriesId>,
    /// Worst class observed in them; `a` when nothing was observed.
    pub worst: Option<Class>,
    /// Observations in them.
    pub observations: Vec<ObservationId>,
    /// What can be said about this series alone.
    pub verdict: Verdict,
}

/// A series of the record that counts towards nothing, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Uncounted {
    /// The series.
    pub series: SeriesId,
    /// Why it does not count.
    pub why: String,
}

/// An observation held against the demand.
#[derive(Clone, Debug, PartialEq)]
pub struct JudgedObservation {
    /// The observation.
    pub observation: ObservationId,
    /// State of the item in which it was made, where that is known.
    pub state: Option<StateId>,
    /// Class that follows from its facts, or the written one where they don't suffice.
    pub class: Option<Class>,
    /// Whether the class follows from facts (else it is the written letter).
    pub class_from_facts: bool,
    /// What was accepted: the words of the demand.
    pub accepted: Vec<String>,
    /// What follows; none when the observation has no effect on the verdict.
    pub verdict: Option<Verdict>,
    /// The rule that was applied.
    pub rule: Rule,
    /// In words.
    pub text: String,
}

words!(
    /// Whether something that a valid result needs was shown.
    EvidenceState {
        /// Shown and in order.
        Shown = "shown",
        /// Shown and not in order.
        Violated = "violated",
        /// Nobody said.
        NotStated = "not-stated",
        /// Not needed here.
        NotNeeded = "not-needed",
    }
);

words!(
    /// What a valid result needs.
    EvidenceKind {
        /// Calibration of the generator in date.
        Calibration = "calibration",
        /// Verification of the set-up before use.
        SetupVerification = "setup-verification",
        /// Climate inside the limits.
        Climate = "climate",
        /// Charge removal from an item that is not earthed.
        ChargeRemoval = "charge-removal",
        /// The tip that belongs to the kind of discharge.
        Tip = "tip",
        /// The generator's network.
        Network = "network",
        /// Readings of set-up checks against the standard's limits.
        SetupLimits = "setup-limits",
        /// Waveforms measured in house.
        Waveform = "waveform",
    }
);

/// One thing that a valid result needs, for one state of the item.
#[derive(Clone, Debug, PartialEq)]
pub struct EvidenceItem {
    /// What.
    pub kind: EvidenceKind,
    /// Kinds of discharge that it is about; none where it is about all.
    pub applications: Vec<Application>,
    /// Whether the standard's data require it.
    pub required: bool,
    /// Whether it was shown.
    pub state: EvidenceState,
    /// In sentences, with values and limits.
    pub said: Vec<Phrase>,
    /// What would settle it, where it is not in order.
    pub remedy: Option<Phrase>,
    /// The facts that would have to be stated, as paths in the record; none where stating does not help.
    pub ask: Vec<String>,
    /// Series that would have to be repeated, where only that helps.
    pub repeat: Vec<SeriesId>,
    /// Clause of the standard.
    pub clause: String,
    /// How the requirement is known.
    pub status: crate::standard::Status,
    /// Where the facts were read.
    pub origins: Vec<Origin>,
}

impl EvidenceItem {
    /// What was shown or is lacking, in English.
    pub fn text(&self) -> String {
        crate::phrase::joined(&self.said)
    }
}

/// Something that would settle an undetermined verdict.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Settlement {
    /// What to do or to state.
    pub what: Phrase,
    /// Time that the discharges take at their interval, in minutes; none for a matter of paper.
    pub minutes: Option<record::Decimal>,
    /// The same for a program.
    pub act: Act,
}

/// What has to be done to settle a verdict.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Act {
    /// State facts of the job, named by their paths in the record.
    State {
        /// The paths.
        paths: Vec<String>,
    },
    /// State a fact of series.
    StateSeries {
        /// The series.
        series: Vec<SeriesId>,
        /// The fact: `monitoring` or `interval_s`.
        fact: &'static str,
    },
    /// State facts of an observation.
    StateObservation {
        /// The observation.
        observation: ObservationId,
    },
    /// Correct a row of a log, or have a named person rule on it.
    Rule {
        /// The file.
        file: String,
        /// The row, from 1.
        row: u64,
    },
    /// Apply discharges: position in [`Assessment::plan`] and number.
    Apply {
        /// What to apply.
        owed: Vec<(usize, u32)>,
    },
    /// Set series aside (as exploratory) and apply discharges in their place.
    Repeat {
        /// The series set aside.
        series: Vec<SeriesId>,
        /// What to apply.
        owed: Vec<(usize, u32)>,
    },
}

impl Act {
    /// The kind of act in a word.
    pub fn word(&self) -> &'static str {
        match self {
            Self::State { .. } | Self::StateSeries { .. } | Self::StateObservation { .. } => "state",
            Self::Rule { .. } => "rule",
            Self::Apply { .. } => "apply",
            Self::Repeat { .. } => "repeat",
        }
    }
}

/// What can be said about one point or one function in one state.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PartVerdict {
    /// Name of the point or function.
    pub name: String,
    /// What can be said.
    pub verdict: Verdict,
    /// Worst class observed.
    pub worst: Option<Class>,
    /// Series required.
    pub required: usize,
    /// Series complete.
    pub complete: usize,
}

/// The verdict on one modification state of the item.
#[derive(Clone, Debug, PartialEq)]
pub struct StateVerdict {
    /// The state; none for a job that names no states.
    pub state: Option<StateId>,
    /// Verdict.
    pub verdict: Verdict,
    /// A failure was observed although the verdict is undetermined.
    pub failure_observed: bool,
    /// Every rule that applies, those that decide first.
    pub reasons: Vec<Reason>,
    /// What would settle an undetermined verdict.
    pub settle: Vec<Settlement>,
    /// Required series against series applied.
    pub coverage: Vec<Coverage>,
    /// Series that count towards nothing.
    pub uncounted: Vec<Uncounted>,
    /// Evidence.
    pub evidence: Vec<EvidenceItem>,
    /// Per point.
    pub points: Vec<PartVerdict>,
    /// Per function.
    pub functions: Vec<PartVerdict>,
    /// What the counts say by themselves: information, no part of the verdict.
    pub statistics: Vec<CountStatistics>,
}

/// What so many shots of one required series say about the share of shots that have an effect, whatever lies beneath:
/// information, never a verdict. Series are not pooled; series with equal counts share an entry.
#[derive(Clone, Debug, PartialEq)]
pub struct CountStatistics {
    /// Shots that count.
    pub shots: u32,
    /// Shots among them with an effect outside the demand.
    pub failures: u32,
    /// Required series with these counts.
    pub required_series: usize,
    /// Lower limit of the share; 0 where nothing failed.
    pub low: f64,
    /// Upper limit of the share.
    pub high: f64,
    /// Level of confidence of the two limits together, or of the upper one alone where nothing failed.
    pub confidence: Decimal,
    /// Chance that so many shots show no effect at all, for an item of which each shot has one with a given chance.
    pub chances_to_miss: Vec<ChanceToMiss>,
}

/// Chance that shots show nothing of an effect.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChanceToMiss {
    /// Chance of the effect at each shot.
    pub per_shot: Decimal,
    /// Chance that it is never seen.
    pub chance: f64,
}

/// A figure of a recorded waveform against its limit.
#[derive(Clone, Debug, PartialEq)]
pub struct JudgedFigure {
    /// Name of the figure: `first peak`, `rise time`, `current at 30 ns`.
    pub name: String,
    /// Its unit.
    pub unit: &'static str,
    /// The figure with the record's sign; none where it is not determinable.
    pub value: Option<f64>,
    /// Why it is not determinable.
    pub why_not: Option<String>,
    /// Nominal magnitude and limits at the charge voltage, where the standard has them for this network.
    pub nominal: Option<record::Decimal>,
    /// Least magnitude inside the limits.
    pub least: Option<record::Decimal>,
    /// Greatest magnitude inside the limits.
    pub most: Option<record::Decimal>,
    /// Whether it lies inside; none where that can't be said.
    pub within: Option<bool>,
    /// How the limit is known.
    pub status: Option<crate::standard::Status>,
    /// Clause of the limit.
    pub clause: Option<String>,
    /// The uncertainty that the laboratory states for it, and what its decision rule gives.
    pub uncertainty: Option<FigureDecision>,
}

/// A figure with its uncertainty, held against its limits by the rule that the laboratory states.
#[derive(Clone, Debug, PartialEq)]
pub struct FigureDecision {
    /// Expanded uncertainty in the figure's unit, to 3 significant digits for a reader; none where it can't be worked out.
    pub expanded: Option<Decimal>,
    /// Coverage factor.
    pub k: Option<Decimal>,
    /// Effective degrees of freedom of a budget; none where they are infinite or not defined.
    pub dof: Option<f64>,
    /// What it follows from, or why it can't be worked out, in one line.
    pub how: String,
    /// The rule, in words; none where no rule is stated.
    pub rule: Option<String>,
    /// What the rule gives.
    pub outcome: Option<crate::decision::Outcome>,
    /// Least and greatest value that the rule accepts.
    pub accepts: Option<(Decimal, Decimal)>,
    /// Probability that the true value lies within the limits, the uncertainty taken as normal.
    pub conformity: Option<f64>,
}

/// A figure that has no limits.
#[derive(Clone, Debug, PartialEq)]
pub struct FurtherFigure {
    /// What it is.
    pub name: &'static str,
    /// Its unit; empty for a ratio.
    pub unit: &'static str,
    /// The figure.
    pub value: Option<f64>,
    /// Why there is none.
    pub why_not: Option<String>,
}

impl JudgedFigure {
    /// The limits as values with the sign of the figure, the lesser first: those of a negative current are negative.
    pub fn signed_limits(&self) -> Option<(record::Decimal, record::Decimal)> {
        let (least, most) = self.least.zip(self.most)?;
        Some(if self.value.is_some_and(|value| value < 0.0) { (-most, -least) } else { (least, most) })
    }
}

/// A recorded waveform, its figures and its limits.
#[derive(Clone, Debug, PartialEq)]
pub struct JudgedTrace {
    /// The verification that it belongs to.
    pub verification: record::VerificationId,
    /// File name within the job.
    pub name: String,
    /// Segment of the file, from 1.
    pub segment: u32,
    /// Figures, in the order of the standard's limits.
    pub figures: Vec<JudgedFigure>,
    /// Figures without limits: second peak, its ratio to the first, charge.
    pub further: Vec<FurtherFigure>,
    /// How the figures were estimated: interpolation, peak estimator, time step and its effect.
    pub method: Vec<Phrase>,
    /// Whether every figure lies inside its limits; none where that can't be said.
    pub within: Option<bool>,
    /// Where the samples were read.
    pub origin: Origin,
}

/// The spread of the figures over the waveforms of one verification: information, never required.
#[derive(Clone, Debug, PartialEq)]
pub struct Repeatability {
    /// The verification.
    pub verification: record::VerificationId,
    /// The figures that three waveforms or more have.
    pub figures: Vec<Spread>,
    /// The test for outliers.
    pub method: &'static str,
}

/// The spread of one figure.
#[derive(Clone, Debug, PartialEq)]
pub struct Spread {
    /// The figure.
    pub name: String,
    /// Its unit.
    pub unit: &'static str,
    /// Number of waveforms that have it.
    pub readings: usize,
    /// Mean of the magnitudes.
    pub mean: f64,
    /// Their standard deviation.
    pub deviation: f64,
    /// Distance of the farthest from the mean, in standard deviations, and the critical one at 95 %; none without spread.
    pub farthest: Option<(f64, f64)>,
    /// Name and segment of the waveform that lies farther away than that.
    pub outlier: Option<(String, u32)>,
}

/// The standard's data that were used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StandardUsed {
    /// Id of the data file.
    pub id: String,
    /// Number and edition.
    pub name: String,
    /// Version of the data file.
    pub version: u32,
    /// How the least number of discharges is known, where the plan takes the standard's.
    pub count_status: crate::standard::Status,
    /// How the least time between discharges is known, where the plan takes the standard's.
    pub interval_status: crate::standard::Status,
    /// How the voltages of the level are known, where the plan names a level of the standard.
    pub level_status: Option<crate::standard::Status>,
    /// Ids of the standards that it is laid over, the nearest first.
    pub laid_over: Vec<String>,
    /// For a product standard: the edition of the basic standard that it dates.
    pub basic_edition: Option<crate::standard::Given<String>>,
}

/// Everything that follows from a record under a standard's data.
#[derive(Clone, Debug, PartialEq)]
pub struct Assessment {
    /// Which rules were applied; see [`crate::RULES_VERSION`].
    pub rules_version: u32,
    /// The standard's data.
    pub standard: Option<StandardUsed>,
    /// Identities whose absence makes the paper bench data and no test report.
    pub missing_identity: Vec<&'static str>,
    /// Required series, in the order of the plan.
    pub plan: Vec<Required>,
    /// Why the plan could not be worked out.
    pub plan_problems: Vec<Reason>,
    /// Observations.
    pub observations: Vec<JudgedObservation>,
    /// Verdict per state; the headline's state first.
    pub states: Vec<StateVerdict>,
    /// What plan, records and report must hold, item by item.
    pub completeness: Vec<crate::completeness::CompletenessItem>,
    /// Waveform figures against limits.
    pub waveforms: Vec<JudgedTrace>,
    /// Spread of the figures over the waveforms of a verification.
    pub repeatability: Vec<Repeatability>,
    /// Findings that the assessment raises.
    pub findings: Vec<record::Finding>,
}

impl Assessment {
    /// The verdict on the state to be judged.
    pub fn headline(&self) -> Option<&StateVerdict> {
        self.states.first()
    }

    /// The headline verdict; undetermined for a record without any state to judge.
    pub fn verdict(&self) -> Verdict {
        self.headline().map_or(Verdict::Undetermined, |state| state.verdict)
    }
}
