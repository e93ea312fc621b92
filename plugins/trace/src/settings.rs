//! What a job or a command line says about a record that the record does not say itself.

use crate::cells::{DecimalSign, Delimiter};
use crate::codes;
use crate::unit::{Kind, Unit, unit};
use plugin_api::{Intake, Options, Reported};
use record::{AmperesPerVolt, Finding, Place};

/// The settings, one line each.
pub(crate) const KEYS_WITH_WORDS: &[&str] = &[
    "scale_a_per_v: conversion of target, attenuator and cable together, for records in volts",
    "channel: header or number (from 1) of the column that holds the discharge current",
    "time_column: header or number (from 1) of the column that holds the time",
    "time_unit: s, ms, us, ns or ps, where the file does not state it",
    "value_unit: A, mA, kA, V or mV, where the file does not state it",
    "sample_interval_ns: time between samples; the time column is then not used",
    "start_ns: time of the first sample, where the file does not state it",
    "delimiter: comma, semicolon, tab, space or none",
    "decimal: point or comma",
    "values: codes (to be converted by the factors of the preamble) or scaled (already converted)",
];

/// How the values of a file with conversion factors are to be taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Values {
    Codes,
    Scaled,
}

/// The settings for one file.
#[derive(Clone, Debug, Default)]
pub(crate) struct Settings {
    pub(crate) scale_a_per_v: Option<(AmperesPerVolt, f64)>,
    /// The same by the measuring chain, for records in volts for which no setting states it.
    pub(crate) chain_a_per_v: Option<(AmperesPerVolt, f64)>,
    pub(crate) channel: Option<String>,
    pub(crate) time_column: Option<String>,
    pub(crate) time_unit: Option<Unit>,
    pub(crate) value_unit: Option<Unit>,
    pub(crate) sample_interval_ns: Option<f64>,
    pub(crate) start_ns: Option<f64>,
    pub(crate) delimiter: Option<Delimiter>,
    pub(crate) decimal: Option<DecimalSign>,
    pub(crate) values: Option<Values>,
}

impl Settings {
    /// The same settings beside what the job's measuring chain comes to.
    pub(crate) fn with_chain(self, scale: Option<AmperesPerVolt>) -> Self {
        let double = |scale: AmperesPerVolt| scale.as_a_per_v().to_string().parse().ok();
        Self { chain_a_per_v: scale.and_then(|scale| Some((scale, double(scale)?))), ..self }
    }

    /// Takes the settings out of a job's options; everything that is wrong is filed.
    pub(crate) fn from_options(file: &str, options: &Options, intake: &mut Intake) -> Result<Self, Reported> {
        let mut settings = Self::default();
        let mut wrong = Vec::new();
        for (key, value) in &options.value {
            let text = match value {
                serde_json::Value::String(text) => text.trim().to_owned(),
                other => other.to_string(),
            };
            if let Err((code, message)) = settings.take(key, &text) {
                let place = options.place(&format!("/{key}"));
                let place = place.unwrap_or_else(|| Place { file: file.to_owned(), ..Place::default() });
                let finding = Finding::error(code, message).at(place);
                wrong.push(KEYS_WITH_WORDS.iter().fold(finding, |finding, line| {
                    let known = line.split_once(':').is_some_and(|(known, _)| known == key);
                    if known || code == codes::UNKNOWN_SETTING { finding.help(*line) } else { finding }
                }));
            }
        }
        match wrong.pop() {
            None => Ok(settings),
            Some(last) => {
                wrong.into_iter().for_each(|finding| intake.say(finding));
                Err(intake.refuse(last))
            }
        }
    }

    fn take(&mut self, key: &str, text: &str) -> Result<(), (&'static str, String)> {
        let bad = |expected: &str| (codes::BAD_SETTING, format!("`{key}` is `{text}`, not {expected}"));
        match key {
            "scale_a_per_v" => {
                let scale = AmperesPerVolt::parse(text)
                    .map_err(|why| (codes::BAD_SETTING, format!("`{key}`: {why}")))?;
                let number = text.parse().ok().filter(|number: &f64| *number > 0.0);
                self.scale_a_per_v = Some((scale, number.ok_or_else(|| bad("greater than 0"))?));
            }
            "channel" => self.channel = Some(text.to_owned()),
            "time_column" => self.time_column = Some(text.to_owned()),
            "time_unit" => {
                let found = unit(text).filter(|unit| unit.kind == Kind::Time);
                self.time_unit = Some(found.ok_or_else(|| bad("a unit of time"))?);
            }
            "value_unit" => {
                let found = unit(text).filter(|unit| matches!(unit.kind, Kind::Current | Kind::Voltage));
                self.value_unit = Some(found.ok_or_else(|| bad("a unit of current or voltage"))?);
            }
            "sample_interval_ns" => {
                let found = number(text).filter(|number| *number > 0.0);
                self.sample_interval_ns = Some(found.ok_or_else(|| bad("a number greater than 0"))?);
            }
            "start_ns" => self.start_ns = Some(number(text).ok_or_else(|| bad("a number"))?),
            "delimiter" => {
                let found = Delimiter::ALL.into_iter().find(|delimiter| delimiter.word() == text);
                self.delimiter = Some(found.ok_or_else(|| bad("a delimiter"))?);
            }
            "decimal" => {
                let found =
                    [DecimalSign::Point, DecimalSign::Comma].into_iter().find(|sign| sign.word() == text);
                self.decimal = Some(found.ok_or_else(|| bad("a decimal sign"))?);
            }
            "values" => {
                self.values = Some(match text {
                    "codes" => Values::Codes,
                    "scaled" => Values::Scaled,
                    _ => return Err(bad("codes or scaled")),
                });
            }
            _ => return Err((codes::UNKNOWN_SETTING, format!("`{key}` is no setting of a record"))),
        }
        Ok(())
    }
}

/// A plain finite decimal number.
fn number(text: &str) -> Option<f64> {
    record::parse_decimal(text).ok()?;
    text.parse().ok().filter(|number: &f64| number.is_finite())
}
