//! What a valid result needs, and whether it was shown.

use crate::assessment::{EvidenceItem, EvidenceKind, EvidenceState};
use crate::place::Places;
use crate::standard::{ClimateLimit, Given, Span, Standard, Status};
use record::{Application, ClimateReading, Date, Equipment, Generator, Moment, Origin, Series, Stated, Tip};
use std::collections::BTreeSet;

/// What one state's series need to be valid.
pub(crate) fn evidence(places: &Places<'_>, standard: &Standard, series: &[&Series]) -> Vec<EvidenceItem> {
    let work = Work { places, standard, series, days: days(places, series) };
    let mut items = vec![work.calibration(), work.setup_verification()];
    items.extend(work.climate());
    items.push(work.charge_removal());
    items.extend(work.tips());
    items.push(work.network());
    items
}

/// Whether the tip fitted for a series is the one that its kind of discharge needs. A tip that is wrong or
/// not stated elsewhere says nothing about this series.
pub(crate) fn tip_fits(generator: &Generator, standard: &Standard, series: &Series) -> bool {
    let (stated, wanted) = if series.application == Application::Air {
        (generator.air_tip, &standard.rules.air_tip)
    } else {
        (generator.contact_tip, &standard.rules.contact_tip)
    };
    !standard.evidence.tip.value || series.tip.or(stated) == Some(wanted.value)
}

/// The days on which discharges were applied: from the series where they have times, else from the job.
fn days(places: &Places<'_>, series: &[&Series]) -> Vec<Date> {
    let facts = &places.record.facts;
    let mut days: BTreeSet<Date> = BTreeSet::new();
    for series in series {
        for moment in [&series.started, &series.ended].into_iter().flatten() {
            days.insert(moment.date());
        }
        for shot in &series.shots {
            if let Some(at) = &shot.at {
                days.insert(at.date());
            }
        }
    }
    let undated = series.iter().any(|s| s.started.is_none() && s.shots.iter().all(|shot| shot.at.is_none()));
    if days.is_empty() || undated {
        days.extend([facts.work_started, facts.work_ended].into_iter().flatten());
    }
    days.into_iter().collect()
}

struct Work<'a> {
    places: &'a Places<'a>,
    standard: &'a Standard,
    series: &'a [&'a Series],
    days: Vec<Date>,
}

impl Work<'_> {
    fn item(
        &self,
        kind: EvidenceKind,
        rule: &Given<bool>,
        state: EvidenceState,
        text: impl Into<String>,
        path: &str,
    ) -> EvidenceItem {
        EvidenceItem {
            kind,
            required: rule.value,
            state,
            text: text.into(),
            remedy: None,
            clause: rule.clause.clone(),
            status: rule.status,
            origins: self.places.fact(path).into_iter().collect(),
        }
    }

    fn span_of_days(&self) -> String {
        match (self.days.first(), self.days.last()) {
            (Some(first), Some(last)) if first == last => first.to_string(),
            (Some(first), Some(last)) => format!("{first} to {last}"),
            _ => "the test day".into(),
        }
    }

    fn calibration(&self) -> EvidenceItem {
        let rule = &self.standard.evidence.calibration;
        let facts = &self.places.record.facts;
        let kind = EvidenceKind::Calibration;
        let remedy = |text: String| Some(text);
        let Some(id) = &facts.generator.equipment else {
            let mut item = self.item(
                kind,
                rule,
                EvidenceState::NotStated,
                "the record does not say which generator was used",
                "/generator/equipment",
            );
            item.remedy = remedy("state the generator (generator.equipment) and its calibration".into());
            return item;
        };
        let Some(index) = facts.equipment.iter().position(|e| e.id == *id) else {
            let mut item = self.item(
                kind,
                rule,
                EvidenceState::NotStated,
                format!("generator {id} is not among the equipment, so its calibration is not stated"),
                "/generator/equipment",
            );
            item.remedy = remedy(format!("describe {id} under [[equipment]] with its calibration"));
            return item;
        };
        let generator = &facts.equipment[index];
        let (state, text) = self.calibration_state(generator);
        let mut item = self.item(kind, rule, state, text, &format!("/equipment/{index}"));
        if state == EvidenceState::NotStated {
            item.remedy = remedy(format!(
                "state for generator {id} an accredited calibration that is valid on {} (calibrated_on, calibration_due, accredited)",
                self.span_of_days()
            ));
        } else if state == EvidenceState::Violated {
            item.remedy = remedy(format!(
                "have generator {id} calibrated and its state on {} assessed, or repeat with a generator in calibration",
                self.span_of_days()
            ));
        }
        item
    }

    fn calibration_state(&self, generator: &Equipment) -> (EvidenceState, String) {
        use EvidenceState::{NotStated, Shown, Violated};
        let id = &generator.id;
        if generator.in_tolerance == Some(false) {
            return (Violated, format!("the calibration found generator {id} outside its tolerances"));
        }
        if generator.accredited == Some(false) {
            return (Violated, format!("the calibration of generator {id} was not accredited"));
        }
        let (Some(calibrated), Some(due)) = (generator.calibrated_on, generator.calibration_due) else {
            let what = match (generator.calibrated_on, generator.calibration_due) {
                (None, None) => "no calibration is stated",
                (None, _) => "the day of the calibration is not stated",
                _ => "the end of the calibration is not stated",
            };
            return (NotStated, format!("generator {id}: {what}"));
        };
        let (Some(first), Some(last)) = (self.days.first(), self.days.last()) else {
            return (
                NotStated,
                format!("generator {id}: calibrated {calibrated} to {due}, but the test day is not stated"),
            );
        };
        if *first < calibrated || *last > due {
            return (
                Violated,
                format!(
                    "generator {id}: calibration valid {calibrated} to {due}, discharges applied on {}",
                    self.span_of_days()
                ),
            );
        }
        if generator.accredited.is_none() {
            return (
                NotStated,
                format!("generator {id}: it is not stated whether the calibration was accredited"),
            );
        }
        let margin = last.until(due).map(|span| span.get_days()).unwrap_or_default();
        let soon =
            if margin <= 30 { format!(" ({margin} d after the last test day)") } else { String::new() };
        (
            Shown,
            format!(
                "generator {id}: accredited calibration {calibrated}, valid to {due}{soon}; discharges applied on {}",
                self.span_of_days()
            ),
        )
    }

    fn setup_verification(&self) -> EvidenceItem {
        let evidence = &self.standard.evidence;
        let rule = &evidence.setup_verification;
        let kind = EvidenceKind::SetupVerification;
        let facts = &self.places.record.facts;
        let counts: Vec<(usize, &record::SetupCheck)> = facts
            .setup_checks
            .iter()
            .enumerate()
            .filter(|(_, check)| evidence.setup_kinds.value.contains(&check.kind))
            .collect();
        let kinds: Vec<&str> = evidence.setup_kinds.value.iter().map(|k| k.as_str()).collect();
        let none = || {
            let mut item = self.item(
                kind,
                rule,
                EvidenceState::NotStated,
                format!("no verification of the set-up before use is stated for {}", self.span_of_days()),
                "/setup_checks",
            );
            item.remedy = Some(format!(
                "state a check of the set-up made before the first discharge of the day ({})",
                kinds.join(", ")
            ));
            item
        };
        let mut origins: Vec<Origin> = Vec::new();
        let mut said = Vec::new();
        let mut verified: BTreeSet<Date> = BTreeSet::new();
        for (index, check) in counts {
            let path = format!("/setup_checks/{index}");
            let verdict = self.check_in_order(check);
            let name = check.what.clone().unwrap_or_else(|| check.kind.to_string());
            match verdict {
                Ok(Some(text)) => {
                    if let Some(at) = &check.at
                        && self.days.contains(&at.date())
                        && self.before_first_discharge(at)
                    {
                        verified.insert(at.date());
                        said.push(text);
                        origins.extend(self.places.fact(&path));
                    }
                }
                Ok(None) => {}
                Err(text) => {
                    let mut item =
                        self.item(kind, rule, EvidenceState::Violated, format!("{name}: {text}"), &path);
                    item.remedy =
                        Some("mend the set-up, verify it, and repeat the discharges applied with it".into());
                    return item;
                }
            }
        }
        let missing: Vec<String> =
            self.days.iter().filter(|day| !verified.contains(day)).map(Date::to_string).collect();
        if verified.is_empty() || self.days.is_empty() {
            return none();
        }
        if !missing.is_empty() {
            let mut item = none();
            item.text =
                format!("no verification of the set-up before use is stated for {}", missing.join(", "));
            return item;
        }
        said.dedup();
        let mut item = self.item(
            kind,
            rule,
            EvidenceState::Shown,
            format!("set-up verified before use on {}: {}", self.span_of_days(), said.join("; ")),
            "/setup_checks",
        );
        item.origins = origins;
        item
    }

    /// `Ok(text)` when in order, `Ok(None)` when nothing can be said, `Err(text)` when not in order.
    fn check_in_order(&self, check: &record::SetupCheck) -> Result<Option<String>, String> {
        let name = check.what.clone().unwrap_or_else(|| check.kind.to_string());
        if let (Some(reading), Some(unit)) = (check.reading, &check.unit) {
            let shown = format!("{name} {reading} {unit}");
            let outside = check.least.is_some_and(|least| reading < least)
                || check.most.is_some_and(|most| reading > most);
            if outside {
                let end =
                    |value: Option<record::Decimal>| value.map_or_else(|| "open".into(), |v| v.to_string());
                return Err(format!(
                    "{reading} {unit} is outside {} to {} {unit}",
                    end(check.least),
                    end(check.most)
                ));
            }
            if check.in_order == Some(false) {
                return Err("found not in order".into());
            }
            let limited = check.least.is_some() || check.most.is_some();
            return Ok((limited || check.in_order == Some(true)).then_some(shown));
        }
        match check.in_order {
            Some(true) => Ok(Some(name)),
            Some(false) => Err("found not in order".into()),
            None => Ok(None),
        }
    }

    /// Whether a check was made before the first discharge of its day.
    fn before_first_discharge(&self, at: &Moment) -> bool {
        let day = at.date();
        self.series
            .iter()
            .filter_map(|s| s.started.as_ref().or_else(|| s.shots.first().and_then(|shot| shot.at.as_ref())))
            .filter(|started| started.date() == day)
            .all(|started| at.local() <= started.local())
    }

    fn climate(&self) -> Vec<EvidenceItem> {
        let rule = &self.standard.evidence.climate;
        let mut items = Vec::new();
        for limit in &self.standard.climate {
            let bound: Vec<&&Series> =
                self.series.iter().filter(|s| limit.applies_to.value.contains(&s.application)).collect();
            if bound.is_empty() {
                let names: Vec<&str> = limit.applies_to.value.iter().map(|a| a.as_str()).collect();
                items.push(self.item(
                    EvidenceKind::Climate,
                    rule,
                    EvidenceState::NotNeeded,
                    format!("the climate limits bind {} discharge, which was not applied", names.join(", ")),
                    "/climate",
                ));
                continue;
            }
            items.push(self.climate_within(limit, &bound));
        }
        items
    }

    fn climate_within(&self, limit: &ClimateLimit, bound: &[&&Series]) -> EvidenceItem {
        let rule = &self.standard.evidence.climate;
        let owned: Vec<&Series> = bound.iter().map(|s| **s).collect();
        let days = days(self.places, &owned);
        let readings = &self.places.record.facts.climate;
        let mut origins = Vec::new();
        let mut said = Vec::new();
        let mut missing = Vec::new();
        let mut outside = Vec::new();
        for day in &days {
            let of_day: Vec<(usize, &ClimateReading)> = readings
                .iter()
                .enumerate()
                .filter(|(_, r)| r.at.as_ref().is_some_and(|at| at.date() == *day))
                .collect();
            let mut one = |name: &str,
                           unit: &str,
                           span: Option<(String, String)>,
                           values: Vec<(usize, String, bool)>| {
                let Some((least, most)) = span else { return };
                if values.is_empty() {
                    missing.push(format!("{name} on {day}"));
                    return;
                }
                for (index, value, inside) in &values {
                    if !inside {
                        outside
                            .push(format!("{name} {value} {unit} on {day}, limits {least} to {most} {unit}"));
                        origins.extend(self.places.fact(&format!("/climate/{index}")));
                    }
                }
                let all: Vec<&str> = values.iter().map(|(_, value, _)| value.as_str()).collect();
                said.push(format!("{name} {} {unit} ({least} to {most})", all.join(", ")));
            };
            one("temperature", "°C", ends(limit.temperature_c.as_ref(), |v| v.as_celsius()), {
                pick(&of_day, limit.temperature_c.as_ref(), |r| r.temperature_c, |v| v.as_celsius())
            });
            one("relative humidity", "%", ends(limit.humidity_percent.as_ref(), |v| v.as_percent()), {
                pick(&of_day, limit.humidity_percent.as_ref(), |r| r.humidity_percent, |v| v.as_percent())
            });
            one("pressure", "hPa", ends(limit.pressure_hpa.as_ref(), |v| v.as_hpa()), {
                pick(&of_day, limit.pressure_hpa.as_ref(), |r| r.pressure_hpa, |v| v.as_hpa())
            });
        }
        let kind = EvidenceKind::Climate;
        if !outside.is_empty() {
            let mut item = self.item(kind, rule, EvidenceState::Violated, outside.join("; "), "/climate");
            item.origins = origins;
            item.remedy = Some("repeat the discharges bound by the climate inside the limits".into());
            return item;
        }
        if days.is_empty() || !missing.is_empty() {
            let what = if days.is_empty() { "the test day".to_owned() } else { missing.join(", ") };
            let mut item =
                self.item(kind, rule, EvidenceState::NotStated, format!("not stated: {what}"), "/climate");
            item.remedy = Some(format!("state the room's {what}"));
            return item;
        }
        self.item(kind, rule, EvidenceState::Shown, said.join("; "), "/climate")
    }

    fn charge_removal(&self) -> EvidenceItem {
        let rule = &self.standard.evidence.charge_removal_unearthed;
        let facts = &self.places.record.facts;
        let kind = EvidenceKind::ChargeRemoval;
        match (&facts.item.earthed, &facts.charge_removal) {
            (Stated::Stated(true), _) => {
                self.item(kind, rule, EvidenceState::NotNeeded, "the item is earthed", "/item/earthed")
            }
            (_, Stated::Stated(removal)) => {
                self.item(kind, rule, EvidenceState::Shown, removal.method.clone(), "/charge_removal")
            }
            (Stated::NotApplicable { reason }, _) | (_, Stated::NotApplicable { reason }) => {
                self.item(kind, rule, EvidenceState::NotNeeded, reason.clone(), "/item/earthed")
            }
            (Stated::NotStated, Stated::NotStated) => {
                let mut item = self.item(
                    kind,
                    rule,
                    EvidenceState::NotStated,
                    "it is not stated whether the item was earthed",
                    "/item/earthed",
                );
                item.remedy = Some(
                    "state whether the item was earthed (item.earthed); if not, how charge was removed"
                        .into(),
                );
                item
            }
            (Stated::Stated(false), Stated::NotStated) => {
                let mut item = self.item(
                    kind,
                    rule,
                    EvidenceState::NotStated,
                    "the item was not earthed, and it is not stated how charge was removed before each discharge",
                    "/charge_removal",
                );
                item.remedy = Some("state how charge was removed (charge_removal.method)".into());
                item
            }
        }
    }

    fn tips(&self) -> Vec<EvidenceItem> {
        let rule = &self.standard.evidence.tip;
        let rules = &self.standard.rules;
        let mut items = Vec::new();
        for air in [false, true] {
            let series: Vec<&&Series> =
                self.series.iter().filter(|s| (s.application == Application::Air) == air).collect();
            if series.is_empty() {
                continue;
            }
            let wanted = if air { &rules.air_tip } else { &rules.contact_tip };
            let generator = &self.places.record.facts.generator;
            let (stated, key, name) = if air {
                (generator.air_tip, "air_tip", "air discharge")
            } else {
                (generator.contact_tip, "contact_tip", "contact discharge")
            };
            let path = format!("/generator/{key}");
            let fitted: Vec<(Option<Tip>, &Origin)> =
                series.iter().map(|s| (s.tip.or(stated), &s.origin)).collect();
            if let Some((Some(tip), origin)) =
                fitted.iter().find(|(tip, _)| tip.is_some_and(|t| t != wanted.value))
            {
                let mut item = self.item(
                    EvidenceKind::Tip,
                    rule,
                    EvidenceState::Violated,
                    format!("{name}: {tip} tip, the standard asks for {} ({})", wanted.value, wanted.status),
                    &path,
                );
                item.origins.push((*origin).clone());
                item.remedy = Some(format!("repeat with the {} tip", wanted.value));
                items.push(item);
            } else if fitted.iter().any(|(tip, _)| tip.is_none()) {
                let mut item = self.item(
                    EvidenceKind::Tip,
                    rule,
                    EvidenceState::NotStated,
                    format!("the tip used for {name} is not stated"),
                    &path,
                );
                item.remedy = Some(format!("state the tip used for {name} (generator.{key})"));
                items.push(item);
            } else {
                items.push(self.item(
                    EvidenceKind::Tip,
                    rule,
                    EvidenceState::Shown,
                    format!("{name}: {} tip{}", wanted.value, mark(wanted.status)),
                    &path,
                ));
            }
        }
        items
    }

    fn network(&self) -> EvidenceItem {
        let rule = &self.standard.evidence.network;
        let rules = &self.standard.rules;
        let generator = &self.places.record.facts.generator;
        let wanted = format!(
            "{} / {}{}",
            rules.network_pf.value,
            rules.network_ohm.value,
            mark(rules.network_pf.status.max(rules.network_ohm.status))
        );
        let kind = EvidenceKind::Network;
        match (generator.network_pf, generator.network_ohm) {
            (Some(pf), Some(ohm)) if pf == rules.network_pf.value && ohm == rules.network_ohm.value => {
                self.item(kind, rule, EvidenceState::Shown, format!("{pf} / {ohm}"), "/generator/network_pf")
            }
            (Some(pf), Some(ohm)) => {
                let mut item = self.item(
                    kind,
                    rule,
                    EvidenceState::Violated,
                    format!("{pf} / {ohm}, the standard asks for {wanted}"),
                    "/generator/network_pf",
                );
                item.remedy = Some(format!("repeat with the network {wanted}"));
                item
            }
            _ => {
                let mut item = self.item(
                    kind,
                    rule,
                    EvidenceState::NotStated,
                    "the generator's network is not stated",
                    "/generator/network_pf",
                );
                item.remedy = Some(
                    "state the network that was fitted (generator.network_pf, generator.network_ohm)".into(),
                );
                item
            }
        }
    }
}

/// Both ends of a limit, as text; the second carries the mark of a value that is not sound.
fn ends<T: Copy>(span: Option<&Given<Span<T>>>, get: fn(T) -> record::Decimal) -> Option<(String, String)> {
    span.map(|given| {
        (get(given.value.least).to_string(), format!("{}{}", get(given.value.most), mark(given.status)))
    })
}

/// The mark that a value carries wherever it is shown, unless it was seen or computed.
fn mark(status: Status) -> String {
    if status.is_sound() { String::new() } else { format!(", {status}") }
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
