//! Sentences of an assessment: which sentence it is and the values in it, in English here and in the paper's language
//! wherever its file has words for the sentence.

use crate::word::words;
use record::Date;
use std::fmt;

words!(
    /// A sentence about evidence, or about what would settle a verdict.
    Saying {
        /// Words of the record, as they are.
        AsWritten = "as-written",
        /// A calibration that holds for every day of the work.
        Calibrated = "calibrated",
        /// The same, with few days left.
        CalibratedBarely = "calibrated-barely",
        /// A calibration that does not hold for every day.
        CalibrationExpired = "calibration-expired",
        /// A calibration of an unknown test day.
        CalibrationWithoutDay = "calibration-without-day",
        /// A calibration that found the equipment outside its tolerances.
        CalibrationOutside = "calibration-outside",
        /// A calibration that was not accredited.
        CalibrationNotAccredited = "calibration-not-accredited",
        /// Nobody says whether a calibration was accredited.
        CalibrationAccreditationOpen = "calibration-accreditation-open",
        /// No calibration.
        CalibrationNone = "calibration-none",
        /// The day of a calibration is not stated.
        CalibrationStartOpen = "calibration-start-open",
        /// The end of a calibration is not stated.
        CalibrationEndOpen = "calibration-end-open",
        /// Nobody says which generator was used.
        GeneratorUnknown = "generator-unknown",
        /// The generator is not among the equipment.
        GeneratorNotListed = "generator-not-listed",
        /// No equipment of a role is named.
        RoleUnnamed = "role-unnamed",
        /// What to do: state the generator.
        StateGenerator = "state-generator",
        /// What to do: describe the generator.
        DescribeGenerator = "describe-generator",
        /// What to do: state a calibration.
        StateCalibration = "state-calibration",
        /// What to do: have the generator assessed or repeat.
        AssessGenerator = "assess-generator",
        /// What to do: name equipment of a role.
        NameRole = "name-role",
        /// What to do: state a calibration of other equipment.
        StateOtherCalibration = "state-other-calibration",
        /// Waveforms within limits.
        WaveformsWithin = "waveforms-within",
        /// Waveforms that can't be compared.
        WaveformsOpen = "waveforms-open",
        /// Waveforms outside.
        WaveformsOutside = "waveforms-outside",
        /// No waveform.
        WaveformsNone = "waveforms-none",
        /// What to do: verify the waveform.
        VerifyWaveform = "verify-waveform",
        /// The item is earthed.
        Earthed = "earthed",
        /// Nobody says whether it was earthed.
        EarthedOpen = "earthed-open",
        /// Not earthed, and nobody says how charge was removed.
        ChargeOpen = "charge-open",
        /// What to do: state the earthing.
        StateEarthed = "state-earthed",
        /// What to do: state how charge was removed.
        StateCharge = "state-charge",
        /// A wrong tip.
        TipWrong = "tip-wrong",
        /// A tip that is not stated.
        TipOpen = "tip-open",
        /// The right tip.
        TipRight = "tip-right",
        /// What to do: repeat with the tip.
        RepeatTip = "repeat-tip",
        /// What to do: state the tip.
        StateTip = "state-tip",
        /// The plan does not choose a network.
        NetworkNotChosen = "network-not-chosen",
        /// What to do: choose a network.
        ChooseNetwork = "choose-network",
        /// The right network.
        NetworkRight = "network-right",
        /// Another network than required.
        NetworkWrong = "network-wrong",
        /// The network is not stated.
        NetworkOpen = "network-open",
        /// What to do: repeat with the network.
        RepeatNetwork = "repeat-network",
        /// What to do: state the network.
        StateNetwork = "state-network",
        /// Climate limits that bind nothing that was done.
        ClimateNotBinding = "climate-not-binding",
        /// Climate readings within limits.
        ClimateWithin = "climate-within",
        /// A climate reading outside.
        ClimateOutside = "climate-outside",
        /// A quantity without a reading on a day.
        ClimateOpen = "climate-open",
        /// The test day is not known.
        ClimateDayOpen = "climate-day-open",
        /// The longest time to a reading.
        ClimateGap = "climate-gap",
        /// Readings without a time.
        ClimateUndated = "climate-undated",
        /// What to do: repeat inside the limits.
        RepeatClimate = "repeat-climate",
        /// What to do: state readings.
        StateClimate = "state-climate",
        /// A quantity on a day.
        QuantityOn = "quantity-on",
        /// The set-up was verified.
        SetupVerified = "setup-verified",
        /// It was not, as far as is stated.
        SetupOpen = "setup-open",
        /// What to do: state a check.
        StateSetup = "state-setup",
        /// What to do: state when a check was made.
        StateSetupTime = "state-setup-time",
        /// What to do: mend and repeat.
        MendSetup = "mend-setup",
        /// What to do: correct, justify or mend.
        CorrectSetup = "correct-setup",
        /// A check with its reading.
        CheckReading = "check-reading",
        /// A check with its reading inside a limit.
        CheckInside = "check-inside",
        /// A check with its reading outside all limits.
        CheckOutside = "check-outside",
        /// A check that failed on a day.
        CheckBadOn = "check-bad-on",
        /// A check that failed, of unknown day.
        CheckBad = "check-bad",
        /// Found not in order.
        NotInOrder = "not-in-order",
        /// A reading outside stated limits.
        ReadingOutside = "reading-outside",
        /// A limit with its name.
        LimitNamed = "limit-named",
        /// Two ends.
        Between = "between",
        /// A lower end.
        AtLeast = "at-least",
        /// An upper end.
        AtMost = "at-most",
        /// A value whose standing is not sound.
        Marked = "marked",
        /// What to do: apply discharges.
        ApplyMore = "apply-more",
        /// What to do: apply series of a state.
        ApplyInState = "apply-in-state",
        /// What to do: repeat series.
        RepeatSeries = "repeat-series",
        /// Series that the plan does not need.
        SeriesNotNeeded = "series-not-needed",
        /// One series with a number of discharges.
        OneSeries = "one-series",
        /// Several series with their discharges.
        SeveralSeries = "several-series",
        /// The same, more than are named.
        ManySeries = "many-series",
        /// What to do: repeat, watched.
        RepeatWatched = "repeat-watched",
        /// What to do: state whether the item was watched.
        StateWatched = "state-watched",
        /// What to do: state the interval.
        StateInterval = "state-interval",
        /// The plan does not say which polarities.
        PlanPolarityOpen = "plan-polarity-open",
        /// The plan asks for one polarity without a basis.
        PlanPolarityBasis = "plan-polarity-basis",
        /// The plan names no points.
        PlanWithoutPoints = "plan-without-points",
        /// A point without a kind of discharge.
        PlanPointOpen = "plan-point-open",
        /// A point needs a voltage that the plan does not have.
        PlanVoltageOpen = "plan-voltage-open",
        /// The plan has too few points.
        PlanPointsFew = "plan-points-few",
        /// The plan chooses a network that the standard does not have.
        PlanNetworkOther = "plan-network-other",
        /// The plan does not choose a network.
        PlanNetworkOpen = "plan-network-open",
        /// The plan asks for too few discharges.
        PlanDischargesFew = "plan-discharges-few",
        /// The plan names neither level nor voltages.
        PlanLevelOpen = "plan-level-open",
        /// A level that the standard does not have.
        PlanLevelUnknown = "plan-level-unknown",
        /// An open level without voltages.
        PlanLevelWithout = "plan-level-without",
        /// What to do: settle the plan.
        SettlePlan = "settle-plan",
        /// What to do: correct a row or rule on it.
        CorrectRow = "correct-row",
        /// What to do: add the data of a standard.
        AddStandard = "add-standard",
        /// What to do: state the method.
        StateMethod = "state-method",
        /// What to do: state the discharge that an observation coincided with.
        StateCoincidence = "state-coincidence",
        /// What to do: state a demand.
        StateDemand = "state-demand",
        /// What to do: state a demand in the standard's words.
        StateDemandWord = "state-demand-word",
        /// What to do: state facts of an observation.
        StateFacts = "state-facts",
        /// Currents are the samples.
        ReadFromSamples = "read-from-samples",
        /// Currents are those of a fitted parabola.
        ReadFromParabola = "read-from-parabola",
        /// The time between samples.
        TimeStep = "time-step",
        /// What the time between samples does to the rise time.
        StepLengthens = "step-lengthens",
        /// What the chain's bandwidth does to the rise time.
        BandwidthLengthens = "bandwidth-lengthens",
        /// A share in percent.
        Share = "share",
        /// A share below one in percent.
        ShareBelow = "share-below",
    }
);

/// A sentence with its values; [`fmt::Display`] is the English one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Phrase {
    /// Which sentence.
    pub saying: Saying,
    /// The values by the names of their places in the sentence.
    pub values: Vec<(&'static str, Value)>,
    /// The English sentence with `{name}` places for the values.
    pub pattern: &'static str,
    english: String,
}

/// A value in a sentence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Value {
    /// Words of the record, a name or a key: the same in every language.
    Text(String),
    /// A number with a point for a decimal sign.
    Number(String),
    /// A day.
    Day(Date),
    /// A word that the papers have in their languages.
    Word {
        /// The table of words.
        group: &'static str,
        /// The key in it.
        key: String,
        /// The English word.
        english: String,
    },
    /// A required series by its label.
    Series(String),
    /// A sentence in a sentence.
    Phrase(Box<Phrase>),
    /// Several, with commas between.
    List(Vec<Value>),
    /// Several, with semicolons between.
    Clauses(Vec<Value>),
    /// The first and the last of some days; the same day once.
    Days(Date, Date),
    /// The work's days, of which none is known.
    NoDay,
}

impl Value {
    /// A word that stands for itself in files: `sharp`, `generator`.
    pub(crate) fn word(group: &'static str, word: impl fmt::Display) -> Self {
        Self::Word { group, key: word.to_string(), english: word.to_string() }
    }
    /// A word with an English name that is no key.
    pub(crate) fn named(group: &'static str, key: &str, english: &str) -> Self {
        Self::Word { group, key: key.to_owned(), english: english.to_owned() }
    }
    /// A number.
    pub(crate) fn number(number: impl fmt::Display) -> Self {
        Self::Number(number.to_string())
    }
}

impl fmt::Display for Value {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let joined = |f: &mut fmt::Formatter<'_>, list: &[Value], by: &str| {
            for (index, value) in list.iter().enumerate() {
                if index > 0 {
                    f.write_str(by)?;
                }
                value.fmt(f)?;
            }
            Ok(())
        };
        match self {
            Self::Text(text) | Self::Number(text) | Self::Series(text) => f.write_str(text),
            Self::Day(day) => day.fmt(f),
            Self::Word { english, .. } => f.write_str(english),
            Self::Phrase(phrase) => phrase.fmt(f),
            Self::List(list) => joined(f, list, ", "),
            Self::Clauses(list) => joined(f, list, "; "),
            Self::Days(first, last) if first == last => first.fmt(f),
            Self::Days(first, last) => write!(f, "{first} to {last}"),
            Self::NoDay => f.write_str("the test day"),
        }
    }
}

impl fmt::Display for Phrase {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.english)
    }
}

impl From<Phrase> for Value {
    fn from(phrase: Phrase) -> Self {
        Self::Phrase(Box::new(phrase))
    }
}

impl From<&str> for Value {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

impl From<String> for Value {
    fn from(text: String) -> Self {
        Self::Text(text)
    }
}

impl From<Date> for Value {
    fn from(day: Date) -> Self {
        Self::Day(day)
    }
}

impl From<Phrase> for Vec<Phrase> {
    fn from(phrase: Phrase) -> Self {
        vec![phrase]
    }
}

impl Phrase {
    /// A sentence whose English words are at hand: [`say`] makes them from the values.
    pub(crate) fn new(
        saying: Saying,
        pattern: &'static str,
        english: String,
        values: Vec<(&'static str, Value)>,
    ) -> Self {
        Self { saying, values, pattern, english }
    }
    /// Words of the record, as they are.
    pub(crate) fn as_written(words: impl Into<String>) -> Self {
        let words = words.into();
        Self::new(Saying::AsWritten, "{words}", words.clone(), vec![("words", Value::Text(words))])
    }
}

/// Several sentences as one text.
pub(crate) fn joined(phrases: &[Phrase]) -> String {
    let texts: Vec<&str> = phrases.iter().map(|phrase| phrase.english.as_str()).collect();
    texts.join("; ")
}

/// Makes a [`Phrase`]: the sentence's name, its English words with `{places}`, and the values of all places.
macro_rules! say {
    ($saying:ident, $english:literal $(, $name:ident = $value:expr)* $(,)?) => {{
        $(let $name: $crate::phrase::Value = $crate::phrase::Value::from($value);)*
        #[allow(clippy::useless_format, reason = "some sentences have no places")]
        let english = format!($english);
        $crate::phrase::Phrase::new(
            $crate::phrase::Saying::$saying,
            $english,
            english,
            vec![$((stringify!($name), $name)),*],
        )
    }};
}
pub(crate) use say;
