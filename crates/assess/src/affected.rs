//! Which verdicts stand when a piece of equipment is found wrong afterwards.

use crate::assessment::{Assessment, Verdict};
use crate::job::assess;
use crate::standard::Standard;
use crate::word::words;
use record::{Date, Decimal, Equipment, EquipmentId, EquipmentRole, Kilovolts, Moment, Record, RunKind};

words!(
    /// What becomes of a verdict.
    Standing {
        /// It stands.
        Stands = "stands",
        /// What it rests on can't be said any more.
        Unknown = "unknown",
        /// It can't be upheld.
        Falls = "falls",
    }
);

/// How far a generator's charge voltage was off: what was really applied is the setting times (1 + percent / 100).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FoundBy {
    /// Per cent of the setting; negative when low.
    pub percent: Decimal,
}

impl FoundBy {
    /// Reads `low by 7 %`, `high by 3.5 %`, `-7 %` or `+3.5`.
    ///
    /// # Errors
    /// Why the text can't be read.
    pub fn parse(text: &str) -> Result<Self, String> {
        let words = text.trim().trim_end_matches('%').trim();
        let (sign, number) = if let Some(rest) = words.strip_prefix("low by") {
            (Decimal::NEGATIVE_ONE, rest)
        } else if let Some(rest) = words.strip_prefix("high by") {
            (Decimal::ONE, rest)
        } else if let Some(rest) = words.strip_prefix('-') {
            (Decimal::NEGATIVE_ONE, rest)
        } else if let Some(rest) = words.strip_prefix('+') {
            (Decimal::ONE, rest)
        } else {
            return Err(format!("`{text}` does not say low or high: write `low by 7 %` or `high by 7 %`"));
        };
        let size = record::parse_decimal(number.trim()).map_err(|why| why.to_string())?;
        if size < Decimal::ZERO || size >= Decimal::ONE_HUNDRED {
            return Err(format!("{size} is not between 0 and 100"));
        }
        Ok(Self { percent: sign * size })
    }

    /// The voltage really applied at a setting.
    pub fn applied(self, setting: Kilovolts) -> Decimal {
        let factor = Decimal::ONE + self.percent / Decimal::ONE_HUNDRED;
        (setting.as_kv() * factor).normalize()
    }
}

impl std::fmt::Display for FoundBy {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let word = if self.percent < Decimal::ZERO { "low" } else { "high" };
        write!(f, "{word} by {} %", self.percent.abs())
    }
}

/// What the news about a piece of equipment does to one record.
#[derive(Clone, Debug, PartialEq)]
pub struct Affected {
    /// What the equipment was used for.
    pub role: Option<EquipmentRole>,
    /// Days on which it was used, from the day in question on; empty where the record has no dates.
    pub days: Vec<Date>,
    /// The verdict as it was.
    pub before: Verdict,
    /// What becomes of it.
    pub standing: Standing,
    /// The verdict that can be stated now.
    pub after: Verdict,
    /// Why.
    pub why: String,
}

/// What becomes of the verdict on a record when equipment is in doubt from a day on; none where the record
/// does not name it, or used it before that day only.
pub fn affected(
    record: &Record,
    standard: Option<&Standard>,
    equipment: &EquipmentId,
    from: Date,
    found: Option<FoundBy>,
) -> Option<Affected> {
    let facts = &record.facts;
    let generator = facts.generator.equipment.as_ref() == Some(equipment);
    let own = facts.equipment.iter().find(|e| e.id == *equipment);
    let verified = record.verifications.iter().any(|v| {
        let chain = v.chain.iter().filter_map(|element| element.equipment.as_ref());
        v.equipment.iter().chain(chain).any(|id| id == equipment)
    });
    if !generator && own.is_none() && !verified {
        return None;
    }
    let days = days(record);
    let days: Vec<Date> = match days.as_slice() {
        [] => Vec::new(),
        all => {
            let since: Vec<Date> = all.iter().copied().filter(|day| *day >= from).collect();
            if since.is_empty() {
                return None;
            }
            since
        }
    };
    let before = assess(record, standard);
    let role = own.and_then(|e| e.role).or(generator.then_some(EquipmentRole::Generator));
    let (standing, after, why) = match (before.verdict(), role) {
        (Verdict::Undetermined, _) => {
            (Standing::Stands, Verdict::Undetermined, "undetermined before and after".to_owned())
        }
        (_, Some(EquipmentRole::Generator)) => by_generator(record, standard, &before, found),
        (_, Some(EquipmentRole::Climate)) => by_climate(record, standard, &before, equipment, from),
        (verdict, Some(EquipmentRole::Oscilloscope | EquipmentRole::Target | EquipmentRole::Attenuator)) => {
            let rests = standard.is_some_and(|s| s.evidence.waveform.value);
            if rests {
                let why = "the verdict rests on waveforms measured with it";
                (Standing::Unknown, Verdict::Undetermined, why.to_owned())
            } else {
                let why = "waveforms measured in house are a bonus, the verdict does not rest on them";
                (Standing::Stands, verdict, why.to_owned())
            }
        }
        (Verdict::Fail, Some(EquipmentRole::Meter)) => {
            let why = "a failure stands beside doubts about the checks of the set-up";
            (Standing::Stands, Verdict::Fail, why.to_owned())
        }
        (_, Some(EquipmentRole::Meter)) => (
            Standing::Unknown,
            Verdict::Undetermined,
            "readings of set-up checks may have been taken with it; the record does not say which".to_owned(),
        ),
        (_, Some(EquipmentRole::Monitor)) => (
            Standing::Unknown,
            Verdict::Undetermined,
            "what was seen rests on it: somebody who knows how it was wrong has to judge".to_owned(),
        ),
        (_, Some(EquipmentRole::Other) | None) => (
            Standing::Unknown,
            Verdict::Undetermined,
            "the record does not say what it was used for".to_owned(),
        ),
    };
    Some(Affected { role, days, before: before.verdict(), standing, after, why })
}

fn days(record: &Record) -> Vec<Date> {
    let facts = &record.facts;
    let mut days: Vec<Date> = record
        .series
        .iter()
        .flat_map(|s| {
            let shots = s.shots.iter().filter_map(|shot| shot.at.as_ref());
            [&s.started, &s.ended].into_iter().flatten().chain(shots).map(Moment::date)
        })
        .collect();
    let undated = record.series.iter().any(|s| s.started.is_none() && s.shots.iter().all(|x| x.at.is_none()));
    if days.is_empty() || undated {
        days.extend([facts.work_started, facts.work_ended].into_iter().flatten());
    }
    days.sort();
    days.dedup();
    days
}

fn by_generator(
    record: &Record,
    standard: Option<&Standard>,
    before: &Assessment,
    found: Option<FoundBy>,
) -> (Standing, Verdict, String) {
    let verdict = before.verdict();
    let failed = verdict == Verdict::Fail;
    let Some(found) = found else {
        let why = if failed {
            "a failure was observed; the severity that was really applied is not known any more"
        } else {
            "the severity that was really applied is not known any more"
        };
        return (Standing::Unknown, Verdict::Undetermined, why.to_owned());
    };
    let tolerance = standard.map(|s| &s.rules.voltage_tolerance_percent);
    if let Some(tolerance) = tolerance.filter(|t| found.percent.abs() <= t.value) {
        let mark =
            if tolerance.status.is_sound() { String::new() } else { format!(", {}", tolerance.status) };
        let why = format!("{found} lies within the {} % of the generator{mark}", tolerance.value);
        return (Standing::Stands, verdict, why);
    }
    let top = before.plan.iter().map(|r| r.voltage_kv).max();
    let Some(top) = top else {
        return (Standing::Unknown, Verdict::Undetermined, "no level is planned".to_owned());
    };
    let applied = found.applied(top);
    if !failed && found.percent < Decimal::ZERO {
        let why = format!(
            "{top} set, {applied} kV really applied: the required level was not reached; immunity is shown up to what was applied"
        );
        return (Standing::Falls, Verdict::Undetermined, why);
    }
    if !failed {
        let why = format!(
            "{top} set, {applied} kV really applied: at least the required level; the item met more than was asked"
        );
        return (Standing::Stands, Verdict::Pass, why);
    }
    // A failure stands when one of those observed happened at or below the level required there.
    for outcome in before.observations.iter().filter(|o| o.verdict == Some(Verdict::Fail)) {
        let series = record
            .observations
            .iter()
            .find(|o| o.id == outcome.observation)
            .and_then(|o| o.series.as_ref())
            .and_then(|id| record.series.iter().find(|s| s.id == *id));
        let Some(series) = series.filter(|s| s.kind == RunKind::Compliance) else { continue };
        let required =
            before.plan.iter().filter(|r| r.application == series.application).map(|r| r.voltage_kv).max();
        let really = found.applied(series.voltage_kv);
        if required.is_some_and(|required| really <= required.as_kv()) {
            let why = format!(
                "a failure was observed at {} set, {really} kV really applied, not above the required {}",
                series.voltage_kv,
                required.map(|r| r.to_string()).unwrap_or_default()
            );
            return (Standing::Stands, Verdict::Fail, why);
        }
    }
    let why =
        format!("failure observed, but above the required level: {top} set, {applied} kV really applied");
    (Standing::Falls, Verdict::Undetermined, why)
}

/// Readings taken with the instrument since the day in question don't count any more.
fn by_climate(
    record: &Record,
    standard: Option<&Standard>,
    before: &Assessment,
    equipment: &EquipmentId,
    from: Date,
) -> (Standing, Verdict, String) {
    let mut again = record.clone();
    let only =
        again.facts.equipment.iter().filter(|e: &&Equipment| e.role == Some(EquipmentRole::Climate)).count()
            == 1;
    let readings = again.facts.climate.len();
    again.facts.climate.retain(|reading| {
        let named = reading.instrument.as_deref().map(|text| text.contains(equipment.as_str()));
        let with_it = named.unwrap_or(only);
        let since = reading.at.as_ref().is_none_or(|at| at.date() >= from);
        !(with_it && since)
    });
    let lost = readings - again.facts.climate.len();
    let after = assess(&again, standard).verdict();
    if after == before.verdict() {
        let why = format!("without the {lost} readings taken with it the verdict is the same");
        return (Standing::Stands, after, why);
    }
    let why = format!("{lost} climate readings were taken with it, and the verdict rests on them");
    (Standing::Unknown, after, why)
}
