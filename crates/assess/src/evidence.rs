//! What a valid result needs, and whether it was shown.

mod climate;
mod setup;

use crate::assessment::{EvidenceItem, EvidenceKind, EvidenceState, JudgedTrace};
use crate::place::Places;
use crate::standard::{Given, Standard, Status};
use record::{Application, Date, Equipment, Generator, Moment, Origin, RunKind, Series, Stated, Tip};
use std::collections::{BTreeMap, BTreeSet};

/// What one state's series need to be valid.
///
/// Series of exploratory and threshold runs need no evidence: the verdict does not rest on them.
pub(crate) fn evidence(
    places: &Places<'_>,
    standard: &Standard,
    series: &[&Series],
    waveforms: &[JudgedTrace],
) -> Vec<EvidenceItem> {
    let series: Vec<&Series> = series.iter().copied().filter(|s| s.kind == RunKind::Compliance).collect();
    let work = Work { places, standard, series: &series, days: days(places, &series) };
    let mut items = vec![work.calibration()];
    items.extend(work.other_calibrations());
    items.push(work.setup_verification());
    items.extend(work.setup_limits());
    items.extend(work.climate());
    items.push(work.charge_removal());
    items.extend(work.tips());
    items.push(work.network());
    items.extend(work.waveforms(waveforms));
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
            ask: if state == EvidenceState::NotStated { vec![path.to_owned()] } else { Vec::new() },
            repeat: Vec::new(),
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
            item.ask = vec![format!("/equipment/{index}")];
        }
        item
    }

    /// Calibration of equipment in the further roles that the standard's data name.
    fn other_calibrations(&self) -> Vec<EvidenceItem> {
        let evidence = &self.standard.evidence;
        let facts = &self.places.record.facts;
        let mut items = Vec::new();
        for role in evidence.calibration_roles.iter().flat_map(|roles| &roles.value) {
            let of_role: Vec<usize> =
                (0..facts.equipment.len()).filter(|i| facts.equipment[*i].role == Some(*role)).collect();
            if of_role.is_empty() {
                let text = format!("no equipment of the role {role} is named");
                let mut item = self.item(
                    EvidenceKind::Calibration,
                    &evidence.calibration,
                    EvidenceState::NotStated,
                    text,
                    "/equipment",
                );
                item.remedy = Some(format!("name the {role} and its calibration under [[equipment]]"));
                items.push(item);
            }
            for index in of_role {
                let equipment = &facts.equipment[index];
                if facts.generator.equipment.as_ref() == Some(&equipment.id) {
                    continue;
                }
                let (state, text) = self.calibration_state(equipment);
                let path = format!("/equipment/{index}");
                let text = text.replacen("generator", role.as_str(), 1);
                let mut item =
                    self.item(EvidenceKind::Calibration, &evidence.calibration, state, text, &path);
                if state != EvidenceState::Shown {
                    item.ask = vec![path];
                    item.remedy = Some(format!(
                        "state for {role} {} an accredited calibration that is valid on {}",
                        equipment.id,
                        self.span_of_days()
                    ));
                }
                items.push(item);
            }
        }
        items
    }

    /// Waveforms measured in house: a bonus, unless the standard's data ask for them.
    fn waveforms(&self, waveforms: &[JudgedTrace]) -> Option<EvidenceItem> {
        let rule = &self.standard.evidence.waveform;
        if waveforms.is_empty() && !rule.value {
            return None;
        }
        let count = |word: Option<bool>| waveforms.iter().filter(|w| w.within == word).count();
        let (inside, outside) = (count(Some(true)), count(Some(false)));
        let text = format!("{inside} of {} generator waveforms within limits", waveforms.len());
        let (state, text) = match (inside, outside) {
            (0, 0) if waveforms.is_empty() => {
                (EvidenceState::NotStated, "no waveform is recorded".to_owned())
            }
            (_, 0) if inside == waveforms.len() => (EvidenceState::Shown, text),
            (_, 0) => {
                let open = waveforms.len() - inside;
                (EvidenceState::NotStated, format!("{text}, {open} can't be compared"))
            }
            (_, outside) => (EvidenceState::Violated, format!("{text}, {outside} outside")),
        };
        let mut item = self.item(EvidenceKind::Waveform, rule, state, text, "/verifications");
        let mut origins: Vec<Origin> = Vec::new();
        for waveform in waveforms.iter().filter(|w| outside == 0 || w.within == Some(false)) {
            if !origins.contains(&waveform.origin) {
                origins.push(waveform.origin.clone());
            }
        }
        if !origins.is_empty() {
            item.origins = origins;
        }
        if item.state != EvidenceState::Shown {
            item.remedy = Some("verify the generator's waveform and state it under [[verifications]]".into());
        }
        Some(item)
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
            let mut wrong: BTreeMap<record::SourceId, &Origin> = BTreeMap::new();
            let is_wrong = |tip: &Option<Tip>| tip.is_some_and(|t| t != wanted.value);
            for (_, origin) in fitted.iter().filter(|(tip, _)| is_wrong(tip)) {
                let first = wrong.entry(origin.source).or_insert(origin);
                if origin < first {
                    *first = origin;
                }
            }
            if let Some(tip) = fitted.iter().find_map(|(tip, _)| tip.filter(|t| *t != wanted.value)) {
                let mut item = self.item(
                    EvidenceKind::Tip,
                    rule,
                    EvidenceState::Violated,
                    format!("{name}: {tip} tip, the standard asks for {} ({})", wanted.value, wanted.status),
                    &path,
                );
                item.origins.extend(wrong.values().map(|origin| (*origin).clone()));
                item.remedy = Some(format!("repeat with the {} tip", wanted.value));
                item.repeat = series
                    .iter()
                    .filter(|s| s.tip.or(stated).is_some_and(|tip| tip != wanted.value))
                    .map(|s| s.id.clone())
                    .collect();
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
        let facts = &self.places.record.facts;
        let generator = &facts.generator;
        let kind = EvidenceKind::Network;
        let chosen = match (facts.plan.network_pf, facts.plan.network_ohm) {
            (Some(pf), Some(ohm)) => Some((pf, ohm)),
            _ if self.standard.networks.is_empty() => Some((rules.network_pf.value, rules.network_ohm.value)),
            _ => None,
        };
        let status = match self.standard.networks.iter().find(|n| Some((n.pf, n.ohm)) == chosen) {
            Some(network) => network.status,
            None => rules.network_pf.status.max(rules.network_ohm.status),
        };
        let Some((wanted_pf, wanted_ohm)) = chosen else {
            let mut item = self.item(
                kind,
                rule,
                EvidenceState::NotStated,
                "the plan does not say which of the standard's networks is to be used",
                "/plan/network_pf",
            );
            item.remedy =
                Some("state the network that the plan chooses (plan.network_pf, plan.network_ohm)".into());
            return item;
        };
        let wanted = format!("{wanted_pf} / {wanted_ohm}{}", mark(status));
        match (generator.network_pf, generator.network_ohm) {
            (Some(pf), Some(ohm)) if pf == wanted_pf && ohm == wanted_ohm => {
                self.item(kind, rule, EvidenceState::Shown, format!("{pf} / {ohm}"), "/generator/network_pf")
            }
            (Some(pf), Some(ohm)) => {
                let mut item = self.item(
                    kind,
                    rule,
                    EvidenceState::Violated,
                    format!("{pf} / {ohm}, {wanted} is required"),
                    "/generator/network_pf",
                );
                item.remedy = Some(format!("repeat with the network {wanted}"));
                item.repeat = self.series.iter().map(|s| s.id.clone()).collect();
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

/// The days on which a series was applied, where it says so.
fn days_of(series: &Series) -> BTreeSet<Date> {
    let shots = series.shots.iter().filter_map(|shot| shot.at.as_ref());
    [&series.started, &series.ended].into_iter().flatten().chain(shots).map(Moment::date).collect()
}

/// The mark that a value carries wherever it is shown, unless it was seen or computed.
fn mark(status: Status) -> String {
    if status.is_sound() { String::new() } else { format!(", {status}") }
}
