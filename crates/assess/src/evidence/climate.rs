//! The room's climate against the limits that bind the kinds of discharge applied.

use super::{Work, days, days_of, marked};
use crate::assessment::{EvidenceItem, EvidenceKind, EvidenceState};
use crate::phrase::{Phrase, Value, say};
use crate::standard::{ClimateLimit, Given, Span};
use record::{ClimateReading, Date, Moment, Series};

impl Work<'_> {
    /// Climate limits, each with whether the readings lie inside them.
    pub(super) fn climate(&self) -> Vec<EvidenceItem> {
        let rule = &self.standard.evidence.climate;
        let mut items = Vec::new();
        for limit in &self.standard.climate {
            let bound: Vec<&&Series> =
                self.series.iter().filter(|s| limit.applies_to.value.contains(&s.application)).collect();
            if bound.is_empty() {
                let kinds = kinds(limit);
                items.push(self.item(
                    EvidenceKind::Climate,
                    rule,
                    EvidenceState::NotNeeded,
                    say!(
                        ClimateNotBinding,
                        "the climate limits bind {kinds} discharge, which was not applied",
                        kinds = kinds,
                    ),
                    "/climate",
                ));
                continue;
            }
            items.push(self.climate_within(limit, &bound));
        }
        for (item, limit) in items.iter_mut().zip(&self.standard.climate) {
            item.applications.clone_from(&limit.applies_to.value);
        }
        items
    }

    fn climate_within(&self, limit: &ClimateLimit, bound: &[&&Series]) -> EvidenceItem {
        let rule = &self.standard.evidence.climate;
        let owned: Vec<&Series> = bound.iter().map(|s| **s).collect();
        let days = days(self.places, &owned);
        let readings = &self.places.record.facts.climate;
        let mut origins = Vec::new();
        let mut said: Vec<Phrase> = Vec::new();
        let mut missing: Vec<Phrase> = Vec::new();
        let mut outside: Vec<Phrase> = Vec::new();
        let mut outside_days: Vec<Date> = Vec::new();
        for day in &days {
            let of_day: Vec<(usize, &ClimateReading)> = readings
                .iter()
                .enumerate()
                .filter(|(_, r)| r.at.as_ref().is_some_and(|at| at.date() == *day))
                .collect();
            let mut one = |key: &str,
                           english: &str,
                           unit: &str,
                           span: Option<(Value, Value)>,
                           values: Vec<(usize, String, bool)>| {
                let Some((least, most)) = span else { return };
                let what = || Value::named("quantity", key, english);
                if values.is_empty() {
                    missing.push(say!(QuantityOn, "{what} on {day}", what = what(), day = *day));
                    return;
                }
                for (index, value, inside) in &values {
                    if !inside {
                        outside_days.push(*day);
                        outside.push(say!(
                            ClimateOutside,
                            "{what} {value} {unit} on {day}, limits {least} to {most} {unit}",
                            what = what(),
                            value = Value::number(value),
                            unit = unit,
                            day = *day,
                            least = least.clone(),
                            most = most.clone(),
                        ));
                        origins.extend(self.places.fact(&format!("/climate/{index}")));
                    }
                }
                let all = values.iter().map(|(_, value, _)| Value::number(value)).collect();
                said.push(say!(
                    ClimateWithin,
                    "{what} {values} {unit} ({least} to {most})",
                    what = what(),
                    values = Value::List(all),
                    unit = unit,
                    least = least,
                    most = most,
                ));
            };
            one(
                "temperature",
                "temperature",
                "°C",
                ends(limit.temperature_c.as_ref(), |v| v.as_celsius()),
                pick(&of_day, limit.temperature_c.as_ref(), |r| r.temperature_c, |v| v.as_celsius()),
            );
            one(
                "humidity",
                "relative humidity",
                "%",
                ends(limit.humidity_percent.as_ref(), |v| v.as_percent()),
                {
                    pick(&of_day, limit.humidity_percent.as_ref(), |r| r.humidity_percent, |v| v.as_percent())
                },
            );
            one("pressure", "pressure", "hPa", ends(limit.pressure_hpa.as_ref(), |v| v.as_hpa()), {
                pick(&of_day, limit.pressure_hpa.as_ref(), |r| r.pressure_hpa, |v| v.as_hpa())
            });
        }
        let kind = EvidenceKind::Climate;
        if !outside.is_empty() {
            let mut item = self.item(kind, rule, EvidenceState::Violated, outside, "/climate");
            item.origins = origins;
            item.remedy = Some(say!(
                RepeatClimate,
                "repeat inside the limits of the climate ({kinds})",
                kinds = kinds(limit),
            ));
            item.repeat = bound
                .iter()
                .filter(|s| {
                    let own = days_of(s);
                    own.is_empty() || own.iter().any(|day| outside_days.contains(day))
                })
                .map(|s| s.id.clone())
                .collect();
            return item;
        }
        if days.is_empty() || !missing.is_empty() {
            let what = || {
                if days.is_empty() {
                    return say!(ClimateDayOpen, "the test day").into();
                }
                Value::List(missing.iter().cloned().map(Value::from).collect())
            };
            let said = say!(ClimateOpen, "not stated: {what}", what = what());
            let mut item = self.item(kind, rule, EvidenceState::NotStated, said, "/climate");
            item.remedy = Some(say!(StateClimate, "state the room's {what}", what = what()));
            return item;
        }
        if let Some(gap) = longest_gap(bound, readings) {
            said.push(gap);
        }
        let undated = readings.iter().filter(|r| r.at.is_none()).count();
        if undated > 0 {
            said.push(say!(
                ClimateUndated,
                "{count} readings without a time are not used",
                count = Value::number(undated),
            ));
        }
        self.item(kind, rule, EvidenceState::Shown, said, "/climate")
    }
}

/// The longest time from a discharge to the nearest reading of its day, where that is more than an hour.
fn longest_gap(bound: &[&&Series], readings: &[ClimateReading]) -> Option<Phrase> {
    let at: Vec<_> = readings.iter().filter_map(|r| r.at.as_ref()).map(Moment::local).collect();
    let discharges = bound.iter().flat_map(|s| {
        let shots = s.shots.iter().filter_map(|shot| shot.at.as_ref());
        [&s.started, &s.ended].into_iter().flatten().chain(shots).map(Moment::local)
    });
    let minutes_to_nearest = |when: record::CivilTime| {
        let minutes =
            |a: record::CivilTime, b: record::CivilTime| a.duration_since(b).as_secs().unsigned_abs() / 60;
        at.iter().filter(|r| r.date() == when.date()).map(|r| minutes(*r, when)).min()
    };
    let longest = discharges.filter_map(minutes_to_nearest).max().filter(|minutes| *minutes > 60)?;
    Some(say!(
        ClimateGap,
        "up to {hours} h {minutes} min from a discharge to the nearest reading",
        hours = Value::number(longest / 60),
        minutes = format!("{:02}", longest % 60),
    ))
}

/// Both ends of a limit; the second carries the mark of a value that is not sound.
fn ends<T: Copy>(span: Option<&Given<Span<T>>>, get: fn(T) -> record::Decimal) -> Option<(Value, Value)> {
    span.map(|given| {
        let most = marked(Value::number(get(given.value.most)), given.status);
        (Value::number(get(given.value.least)), most)
    })
}

/// The kinds of discharge that a limit binds.
fn kinds(limit: &ClimateLimit) -> Value {
    Value::List(limit.applies_to.value.iter().map(|kind| Value::word("application", kind)).collect())
}

/// Readings of one quantity: position of the reading, value as text, whether inside the limits.
fn pick<T: Copy + PartialOrd>(
    readings: &[(usize, &ClimateReading)],
    span: Option<&Given<Span<T>>>,
    read: fn(&ClimateReading) -> Option<T>,
    get: fn(T) -> record::Decimal,
) -> Vec<(usize, String, bool)> {
    readings
        .iter()
        .filter_map(|(index, reading)| {
            let value = read(reading)?;
            Some((*index, get(value).to_string(), span.is_none_or(|given| given.value.holds(&value))))
        })
        .collect()
}
