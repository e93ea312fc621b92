//! What a valid result needs, and whether it was shown.

mod climate;
mod setup;

pub(crate) use setup::mend_setup;

use crate::assessment::{EvidenceItem, EvidenceKind, EvidenceState, JudgedTrace};
use crate::phrase::{Phrase, Value, say};
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
        said: impl Into<Vec<Phrase>>,
        path: &str,
    ) -> EvidenceItem {
        EvidenceItem {
            kind,
            applications: Vec::new(),
            required: rule.value,
            state,
            said: said.into(),
            remedy: None,
            ask: if state == EvidenceState::NotStated { vec![path.to_owned()] } else { Vec::new() },
            repeat: Vec::new(),
            clause: rule.clause.clone(),
            status: rule.status,
            origins: self.places.fact(path).into_iter().collect(),
        }
    }

    /// The days of the work, from the first to the last.
    fn span_of_days(&self) -> Value {
        match (self.days.first(), self.days.last()) {
            (Some(first), Some(last)) => Value::Days(*first, *last),
            _ => Value::NoDay,
        }
    }

    fn calibration(&self) -> EvidenceItem {
        let rule = &self.standard.evidence.calibration;
        let facts = &self.places.record.facts;
        let kind = EvidenceKind::Calibration;
        let Some(id) = &facts.generator.equipment else {
            let said = say!(GeneratorUnknown, "the record does not say which generator was used");
            let mut item = self.item(kind, rule, EvidenceState::NotStated, said, "/generator/equipment");
            item.remedy =
                Some(say!(StateGenerator, "state the generator (generator.equipment) and its calibration"));
            return item;
        };
        let Some(index) = facts.equipment.iter().position(|e| e.id == *id) else {
            let said = say!(
                GeneratorNotListed,
                "generator {id} is not among the equipment, so its calibration is not stated",
                id = id.as_str(),
            );
            let mut item = self.item(kind, rule, EvidenceState::NotStated, said, "/generator/equipment");
            item.remedy = Some(say!(
                DescribeGenerator,
                "describe {id} under [[equipment]] with its calibration",
                id = id.as_str(),
            ));
            return item;
        };
        let (state, said) = self.calibration_state(&facts.equipment[index], record::EquipmentRole::Generator);
        let mut item = self.item(kind, rule, state, said, &format!("/equipment/{index}"));
        let days = self.span_of_days();
        if state == EvidenceState::NotStated {
            item.remedy = Some(say!(
                StateCalibration,
                "state for generator {id} an accredited calibration that is valid on {days} (calibrated_on, calibration_due, accredited)",
                id = id.as_str(),
                days = days,
            ));
        } else if state == EvidenceState::Violated {
            item.remedy = Some(say!(
                AssessGenerator,
                "have generator {id} calibrated and its state on {days} assessed, or repeat with a generator in calibration",
                id = id.as_str(),
                days = days,
            ));
            item.ask = vec![format!("/equipment/{index}")];
        }
        item
    }

    /// Calibration of equipment in the further roles that the standard's data name.
    fn other_calibrations(&self) -> Vec<EvidenceItem> {
        let evidence = &self.standard.evidence;
        let rule = &evidence.calibration;
        let facts = &self.places.record.facts;
        let kind = EvidenceKind::Calibration;
        let mut items = Vec::new();
        for role in evidence.calibration_roles.iter().flat_map(|roles| &roles.value) {
            let of_role: Vec<usize> =
                (0..facts.equipment.len()).filter(|i| facts.equipment[*i].role == Some(*role)).collect();
            if of_role.is_empty() {
                let said = say!(
                    RoleUnnamed,
                    "no equipment of the role {role} is named",
                    role = Value::word("role", role)
                );
                let mut item = self.item(kind, rule, EvidenceState::NotStated, said, "/equipment");
                item.remedy = Some(say!(
                    NameRole,
                    "name the {role} and its calibration under [[equipment]]",
                    role = Value::word("role", role),
                ));
                items.push(item);
            }
            for index in of_role {
                let equipment = &facts.equipment[index];
                if facts.generator.equipment.as_ref() == Some(&equipment.id) {
                    continue;
                }
                let (state, said) = self.calibration_state(equipment, *role);
                let path = format!("/equipment/{index}");
                let mut item = self.item(kind, rule, state, said, &path);
                if state != EvidenceState::Shown {
                    item.ask = vec![path];
                    item.remedy = Some(say!(
                        StateOtherCalibration,
                        "state for {role} {id} an accredited calibration that is valid on {days}",
                        role = Value::word("role", role),
                        id = equipment.id.as_str(),
                        days = self.span_of_days(),
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
        let all = waveforms.len();
        let open = all - inside - outside;
        let within = || {
            say!(
                WaveformsWithin,
                "{inside} of {all} generator waveforms within limits",
                inside = Value::number(inside),
                all = Value::number(all),
            )
        };
        let (state, said) = match (inside, outside) {
            (0, 0) if waveforms.is_empty() => {
                (EvidenceState::NotStated, say!(WaveformsNone, "no waveform is recorded"))
            }
            (_, 0) if open == 0 => (EvidenceState::Shown, within()),
            (_, 0) => (
                EvidenceState::NotStated,
                say!(
                    WaveformsOpen,
                    "{within}, {open} can't be compared",
                    within = within(),
                    open = Value::number(open),
                ),
            ),
            (_, outside) => (
                EvidenceState::Violated,
                say!(
                    WaveformsOutside,
                    "{within}, {outside} outside",
                    within = within(),
                    outside = Value::number(outside),
                ),
            ),
        };
        let mut item = self.item(EvidenceKind::Waveform, rule, state, said, "/verifications");
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
            item.remedy = Some(say!(
                VerifyWaveform,
                "verify the generator's waveform and state it under [[verifications]]"
            ));
        }
        Some(item)
    }

    fn calibration_state(
        &self,
        equipment: &Equipment,
        role: record::EquipmentRole,
    ) -> (EvidenceState, Phrase) {
        use EvidenceState::{NotStated, Shown, Violated};
        let id = equipment.id.as_str();
        let role = || Value::word("role", role);
        if equipment.in_tolerance == Some(false) {
            let said = say!(
                CalibrationOutside,
                "the calibration found {role} {id} outside its tolerances",
                role = role(),
                id = id,
            );
            return (Violated, said);
        }
        if equipment.accredited == Some(false) {
            let said = say!(
                CalibrationNotAccredited,
                "the calibration of {role} {id} was not accredited",
                role = role(),
                id = id,
            );
            return (Violated, said);
        }
        let (Some(calibrated), Some(due)) = (equipment.calibrated_on, equipment.calibration_due) else {
            let said = match (equipment.calibrated_on, equipment.calibration_due) {
                (None, None) => {
                    say!(CalibrationNone, "{role} {id}: no calibration is stated", role = role(), id = id)
                }
                (None, _) => say!(
                    CalibrationStartOpen,
                    "{role} {id}: the day of the calibration is not stated",
                    role = role(),
                    id = id,
                ),
                _ => say!(
                    CalibrationEndOpen,
                    "{role} {id}: the end of the calibration is not stated",
                    role = role(),
                    id = id,
                ),
            };
            return (NotStated, said);
        };
        let (Some(first), Some(last)) = (self.days.first(), self.days.last()) else {
            let said = say!(
                CalibrationWithoutDay,
                "{role} {id}: calibrated {from} to {due}, but the test day is not stated",
                role = role(),
                id = id,
                from = calibrated,
                due = due,
            );
            return (NotStated, said);
        };
        let days = self.span_of_days();
        if *first < calibrated || *last > due {
            let said = say!(
                CalibrationExpired,
                "{role} {id}: calibration valid {from} to {due}, discharges applied on {days}",
                role = role(),
                id = id,
                from = calibrated,
                due = due,
                days = days,
            );
            return (Violated, said);
        }
        if equipment.accredited.is_none() {
            let said = say!(
                CalibrationAccreditationOpen,
                "{role} {id}: it is not stated whether the calibration was accredited",
                role = role(),
                id = id,
            );
            return (NotStated, said);
        }
        let margin = last.until(due).map(|span| span.get_days()).unwrap_or_default();
        let said = if margin <= 30 {
            say!(
                CalibratedBarely,
                "{role} {id}: accredited calibration {from}, valid to {due} ({margin} d after the last test day); discharges applied on {days}",
                role = role(),
                id = id,
                from = calibrated,
                due = due,
                margin = Value::number(margin),
                days = days,
            )
        } else {
            say!(
                Calibrated,
                "{role} {id}: accredited calibration {from}, valid to {due}; discharges applied on {days}",
                role = role(),
                id = id,
                from = calibrated,
                due = due,
                days = days,
            )
        };
        (Shown, said)
    }

    fn charge_removal(&self) -> EvidenceItem {
        let rule = &self.standard.evidence.charge_removal_unearthed;
        let facts = &self.places.record.facts;
        let kind = EvidenceKind::ChargeRemoval;
        let (state, said, remedy, path) = match (&facts.item.earthed, &facts.charge_removal) {
            (Stated::Stated(true), _) => {
                (EvidenceState::NotNeeded, say!(Earthed, "the item is earthed"), None, "/item/earthed")
            }
            (_, Stated::Stated(removal)) => {
                (EvidenceState::Shown, Phrase::as_written(&removal.method), None, "/charge_removal")
            }
            (Stated::NotApplicable { reason }, _) | (_, Stated::NotApplicable { reason }) => {
                (EvidenceState::NotNeeded, Phrase::as_written(reason), None, "/item/earthed")
            }
            (Stated::NotStated, Stated::NotStated) => (
                EvidenceState::NotStated,
                say!(EarthedOpen, "it is not stated whether the item was earthed"),
                Some(say!(
                    StateEarthed,
                    "state whether the item was earthed (item.earthed); if not, how charge was removed"
                )),
                "/item/earthed",
            ),
            (Stated::Stated(false), Stated::NotStated) => (
                EvidenceState::NotStated,
                say!(
                    ChargeOpen,
                    "the item was not earthed, and it is not stated how charge was removed before each discharge"
                ),
                Some(say!(StateCharge, "state how charge was removed (charge_removal.method)")),
                "/charge_removal",
            ),
        };
        let mut item = self.item(kind, rule, state, said, path);
        item.remedy = remedy;
        item
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
            let (stated, key, name, english) = if air {
                (generator.air_tip, "air_tip", "air", "air discharge")
            } else {
                (generator.contact_tip, "contact_tip", "contact", "contact discharge")
            };
            let how = || Value::named("discharge", name, english);
            let right = || Value::word("tip", wanted.value);
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
                    say!(
                        TipWrong,
                        "{how}: {tip} tip, the standard asks for {right} ({status})",
                        how = how(),
                        tip = Value::word("tip", tip),
                        right = right(),
                        status = Value::word("status", wanted.status),
                    ),
                    &path,
                );
                item.origins.extend(wrong.values().map(|origin| (*origin).clone()));
                item.remedy = Some(say!(RepeatTip, "repeat with the {right} tip", right = right()));
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
                    say!(TipOpen, "the tip used for {how} is not stated", how = how()),
                    &path,
                );
                item.remedy = Some(say!(
                    StateTip,
                    "state the tip used for {how} (generator.{key})",
                    how = how(),
                    key = key,
                ));
                items.push(item);
            } else {
                items.push(self.item(
                    EvidenceKind::Tip,
                    rule,
                    EvidenceState::Shown,
                    say!(
                        TipRight,
                        "{how}: {tip}",
                        how = how(),
                        tip = marked(
                            Value::named("tip", wanted.value.as_str(), &format!("{} tip", wanted.value)),
                            wanted.status,
                        ),
                    ),
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
                say!(
                    NetworkNotChosen,
                    "the plan does not say which of the standard's networks is to be used"
                ),
                "/plan/network_pf",
            );
            item.remedy = Some(say!(
                ChooseNetwork,
                "state the network that the plan chooses (plan.network_pf, plan.network_ohm)"
            ));
            return item;
        };
        let wanted = || marked(Value::Text(format!("{wanted_pf} / {wanted_ohm}")), status);
        match (generator.network_pf, generator.network_ohm) {
            (Some(pf), Some(ohm)) if pf == wanted_pf && ohm == wanted_ohm => {
                let said = say!(NetworkRight, "{network}", network = format!("{pf} / {ohm}"));
                self.item(kind, rule, EvidenceState::Shown, said, "/generator/network_pf")
            }
            (Some(pf), Some(ohm)) => {
                let mut item = self.item(
                    kind,
                    rule,
                    EvidenceState::Violated,
                    say!(
                        NetworkWrong,
                        "{network}, {wanted} is required",
                        network = format!("{pf} / {ohm}"),
                        wanted = wanted(),
                    ),
                    "/generator/network_pf",
                );
                item.remedy =
                    Some(say!(RepeatNetwork, "repeat with the network {wanted}", wanted = wanted()));
                item.repeat = self.series.iter().map(|s| s.id.clone()).collect();
                item
            }
            _ => {
                let mut item = self.item(
                    kind,
                    rule,
                    EvidenceState::NotStated,
                    say!(NetworkOpen, "the generator's network is not stated"),
                    "/generator/network_pf",
                );
                item.remedy = Some(say!(
                    StateNetwork,
                    "state the network that was fitted (generator.network_pf, generator.network_ohm)"
                ));
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

/// A value with the mark that it carries wherever it is shown, unless it was seen or computed.
fn marked(value: Value, status: Status) -> Value {
    if status.is_sound() {
        return value;
    }
    say!(Marked, "{value}, {status}", value = value, status = Value::word("status", status)).into()
}
