//! From standard, level and points to the series that are required.

use crate::assessment::{Reason, Required, Rule, Shared, Verdict};
use crate::phrase::{Phrase, Value, say};
use crate::place::Places;
use crate::standard::{CountsPer, Given, Level, Standard, Status, TotalOf};
use record::{Application, Kilovolts, ModeId, Plan, PointId, Polarity, PolarityRule};
use std::collections::{BTreeMap, BTreeSet};

/// The series required, and why some of them can't be worked out.
pub(crate) fn required(places: &Places<'_>, standard: &Standard) -> (Vec<Required>, Vec<Reason>) {
    let facts = &places.record.facts;
    let plan = &facts.plan;
    let mut problems = Vec::new();
    let mut unknown = |said: Phrase, path: &str| {
        problems.push(
            Reason::of(Rule::PlanUnknown, Some(Verdict::Undetermined), said)
                .value("path", path)
                .at(places.fact(path)),
        );
    };
    let polarities: &[Polarity] = match plan.polarity {
        Some(PolarityRule::Both) => &[Polarity::Positive, Polarity::Negative],
        Some(PolarityRule::Positive) => &[Polarity::Positive],
        Some(PolarityRule::Negative) => &[Polarity::Negative],
        None => {
            unknown(
                say!(PlanPolarityOpen, "the plan does not say which polarities are required"),
                "/plan/polarity",
            );
            &[]
        }
    };
    if matches!(plan.polarity, Some(PolarityRule::Positive | PolarityRule::Negative))
        && plan.polarity_basis.is_none()
    {
        unknown(
            say!(PlanPolarityBasis, "the plan asks for one polarity and does not say on what basis"),
            "/plan/polarity",
        );
    }
    if facts.points.iter().all(|point| point.excluded.is_some()) {
        unknown(say!(PlanWithoutPoints, "the plan names no points"), "/points");
    }
    let ladder = Ladder::new(plan, standard);
    if let Err(said) = &ladder {
        unknown(said.clone(), "/plan");
    }
    let modes: Vec<Option<ModeId>> =
        if plan.modes.is_empty() { vec![None] } else { plan.modes.iter().cloned().map(Some).collect() };
    if let Some(said) = network_problem(plan, standard) {
        unknown(said, "/plan/network_pf");
    }
    let mut series = Vec::new();
    for (index, point) in facts.points.iter().enumerate() {
        if point.excluded.is_some() {
            continue;
        }
        if point.applications.is_empty() {
            unknown(
                say!(
                    PlanPointOpen,
                    "point {point} does not say how discharges are applied",
                    point = point.id.as_str(),
                ),
                &format!("/points/{index}"),
            );
        }
        for application in &point.applications {
            let Ok(ladder) = &ladder else { continue };
            let voltages = ladder.voltages(*application);
            if voltages.is_empty() {
                unknown(
                    say!(
                        PlanVoltageOpen,
                        "the plan has no voltage for {kind} discharge, which point {point} needs",
                        kind = Value::word("application", application),
                        point = point.id.as_str(),
                    ),
                    &format!("/points/{index}"),
                );
            }
            let interval_s = plan.interval_s.unwrap_or(standard.counting(*application).2.value);
            for voltage_kv in voltages {
                for mode in &modes {
                    for polarity in polarities {
                        series.push(Required {
                            point: point.id.clone(),
                            application: *application,
                            polarity: *polarity,
                            voltage_kv: *voltage_kv,
                            mode: mode.clone(),
                            count: 0,
                            shared: None,
                            interval_s,
                        });
                    }
                }
            }
        }
    }
    for said in share(plan, standard, &mut series) {
        unknown(said, "/plan/discharges");
    }
    for total in standard.totals.iter().filter(|total| total.of == TotalOf::Points) {
        let points: BTreeSet<&PointId> = series
            .iter()
            .filter(|required| total.applies_to.value.contains(&required.application))
            .map(|required| &required.point)
            .collect();
        if points.len() < total.least.value as usize {
            let kinds = total.applies_to.value.iter().map(|a| Value::word("application", a)).collect();
            unknown(
                say!(
                    PlanPointsFew,
                    "the plan has {count} points for {kinds} discharge, {standard} asks for at least {least} ({status})",
                    count = Value::number(points.len()),
                    kinds = Value::List(kinds),
                    standard = standard.full_name(),
                    least = Value::number(total.least.value),
                    status = Value::word("status", total.least.status),
                ),
                "/points",
            );
        }
    }
    (series, problems)
}

/// How the voltages of the plan's level are known: the weakest of those that are used; none where the plan
/// has voltages of its own.
pub(crate) fn level_status(plan: &Plan, standard: &Standard) -> Option<Status> {
    if !(plan.contact_kv.is_empty() && plan.air_kv.is_empty() && plan.indirect_kv.is_empty()) {
        return None;
    }
    let level = standard.level(plan.level.as_deref()?)?;
    [&level.contact_kv, &level.air_kv, &level.indirect_kv].into_iter().flatten().map(|g| g.status).max()
}

/// Why the generator's network can't be held against the standard, where it has several.
fn network_problem(plan: &Plan, standard: &Standard) -> Option<Phrase> {
    let named = standard.networks.iter().map(|n| format!("{} / {}", n.pf, n.ohm)).collect::<Vec<_>>();
    match (plan.network_pf, plan.network_ohm) {
        (None, None) if standard.networks.is_empty() => None,
        (Some(pf), Some(ohm)) => {
            let allowed = if standard.networks.is_empty() {
                pf == standard.rules.network_pf.value && ohm == standard.rules.network_ohm.value
            } else {
                standard.networks.iter().any(|n| n.pf == pf && n.ohm == ohm)
            };
            (!allowed).then(|| {
                let known = if named.is_empty() {
                    format!("{} / {}", standard.rules.network_pf.value, standard.rules.network_ohm.value)
                } else {
                    named.join(", ")
                };
                say!(
                    PlanNetworkOther,
                    "the plan asks for the network {network}; {standard} has {known}",
                    network = format!("{pf} / {ohm}"),
                    standard = standard.full_name(),
                    known = known,
                )
            })
        }
        _ => Some(say!(
            PlanNetworkOpen,
            "the plan does not say which network is to be used (plan.network_pf, plan.network_ohm); {standard} has {known}",
            standard = standard.full_name(),
            known = named.join(", "),
        )),
    }
}

/// Sets the number of discharges of each series from what the standard's number belongs to; returns what is
/// wrong with the plan's own number.
///
/// A number for each point whatever the polarity, say, is shared out evenly, and the series that share it are
/// held against it together.
fn share(plan: &Plan, standard: &Standard, series: &mut [Required]) -> Vec<Phrase> {
    let mut said = Vec::new();
    let mut groups: BTreeMap<(CountsPer, bool, String), Vec<usize>> = BTreeMap::new();
    for (index, required) in series.iter().enumerate() {
        let (_, per, _) = standard.counting(required.application);
        let (point, polarity, kv) = (&required.point, required.polarity, required.voltage_kv);
        let kind = required.application;
        let key = match per.value {
            CountsPer::PointPolarityLevel => format!("{point}/{kind}/{polarity}/{kv}"),
            CountsPer::PointLevel => format!("{point}/{kind}/{kv}"),
            CountsPer::PointPolarity => format!("{point}/{kind}/{polarity}"),
            CountsPer::Point => format!("{point}/{kind}"),
            CountsPer::Job => String::new(),
        };
        // A mode is a condition of its own: what was applied in one does not count in another.
        let key = format!("{key}/{}", required.mode.as_ref().map(ToString::to_string).unwrap_or_default());
        let air = required.application == Application::Air;
        groups.entry((per.value, air, key)).or_default().push(index);
    }
    for (group, members) in (0u32..).zip(groups.values()) {
        let Some(first) = members.first().and_then(|index| series.get(*index)) else { continue };
        let (least, _, _) = standard.counting(first.application);
        let count = plan.discharges.unwrap_or(least.value);
        if count < least.value {
            let few = say!(
                PlanDischargesFew,
                "the plan asks for {count} discharges, {standard} for at least {least} ({status})",
                count = Value::number(count),
                standard = standard.full_name(),
                status = Value::word("status", least.status),
                least = Value::number(least.value),
            );
            if !said.contains(&few) {
                said.push(few);
            }
        }
        let size = u32::try_from(members.len()).unwrap_or(u32::MAX).max(1);
        let each = count.div_ceil(size);
        for index in members {
            if let Some(required) = series.get_mut(*index) {
                required.count = each;
                required.shared = (size > 1).then_some(Shared { group, count });
            }
        }
    }
    said
}

type Steps = Option<Given<Vec<Kilovolts>>>;

/// The voltages that the plan requires, rising, per kind of discharge.
struct Ladder {
    contact: Vec<Kilovolts>,
    air: Vec<Kilovolts>,
    indirect: Vec<Kilovolts>,
}

impl Ladder {
    fn new(plan: &Plan, standard: &Standard) -> Result<Self, Phrase> {
        let own = !(plan.contact_kv.is_empty() && plan.air_kv.is_empty() && plan.indirect_kv.is_empty());
        let mut own_indirect = Vec::new();
        let (contact, air) = match (&plan.level, own) {
            (_, true) => (plan.contact_kv.clone(), plan.air_kv.clone()),
            (None, false) => {
                return Err(say!(PlanLevelOpen, "the plan names neither a level nor voltages of its own"));
            }
            (Some(name), false) => {
                let Some(level) = standard.level(name) else {
                    let known: Vec<&str> = standard.levels.iter().map(|l| l.name.as_str()).collect();
                    return Err(say!(
                        PlanLevelUnknown,
                        "{standard} has no level `{level}`; it has {known}",
                        standard = standard.full_name(),
                        level = name.as_str(),
                        known = known.join(", "),
                    ));
                };
                if level.contact_kv.is_none() && level.air_kv.is_none() && level.indirect_kv.is_none() {
                    return Err(say!(
                        PlanLevelWithout,
                        "level {level} is open: the plan must state its voltages",
                        level = name.as_str(),
                    ));
                }
                let rules = &standard.rules;
                let steps = |own: &Steps, pick: fn(&Level) -> &Steps| match own {
                    Some(given) => given.value.clone(),
                    None => standard
                        .levels
                        .iter()
                        .filter_map(|l| pick(l).as_ref())
                        .flat_map(|g| g.value.clone())
                        .collect(),
                };
                let whole = |level: &Steps, lower: bool, steps: Vec<Kilovolts>| {
                    let Some(given) = level else { return Vec::new() };
                    let mut all = given.value.clone();
                    if let (true, Some(lowest)) = (lower, given.value.first()) {
                        all.extend(steps.into_iter().filter(|kv| kv < lowest));
                    }
                    all
                };
                let contact = whole(
                    &level.contact_kv,
                    rules.lower_levels_contact.value,
                    steps(&rules.contact_steps_kv, |l| &l.contact_kv),
                );
                let air = whole(
                    &level.air_kv,
                    rules.lower_levels_air.value,
                    steps(&rules.air_steps_kv, |l| &l.air_kv),
                );
                own_indirect =
                    level.indirect_kv.as_ref().map(|given| given.value.clone()).unwrap_or_default();
                (contact, air)
            }
        };
        let indirect = if !plan.indirect_kv.is_empty() {
            plan.indirect_kv.clone()
        } else if !own_indirect.is_empty() {
            own_indirect
        } else if standard.rules.indirect_uses_contact_level.value {
            contact.clone()
        } else {
            Vec::new()
        };
        let rising = |mut list: Vec<Kilovolts>| {
            list.sort();
            list.dedup();
            list
        };
        Ok(Self { contact: rising(contact), air: rising(air), indirect: rising(indirect) })
    }

    fn voltages(&self, application: Application) -> &[Kilovolts] {
        match application {
            Application::Contact => &self.contact,
            Application::Air => &self.air,
            Application::Hcp | Application::Vcp => &self.indirect,
        }
    }
}
